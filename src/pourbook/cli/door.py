"""What every verb shares: the book, the house's way of writing, who and when, and identifiers.

A verb gets a `Door`: it has the book, reads with `style`, acts with `how` (the options of recording verbs), and
shows the answer with `show`.
"""

import os
import sys
from collections.abc import Callable, Iterable
from functools import cached_property, wraps
from itertools import chain
from typing import TYPE_CHECKING, Any, TypeVar, cast

import click

from pourbook.cli.options import PAGE, options
from pourbook.cli.signer import signer_of_environment
from pourbook.errors import Malformed, NotShown, NotTaken, PourbookError, StoreError
from pourbook.texts import briefly, in_json, indented, visible

if TYPE_CHECKING:
    from types import TracebackType

    from pourbook.actions.happening import Happening
    from pourbook.actions.movement import Status
    from pourbook.book.entries import Second
    from pourbook.documents.shown import Listing, Shown
    from pourbook.house_style import HouseStyle
    from pourbook.quantities import Strength
    from pourbook.whole_book import Book

__all__ = [
    "Door",
    "login",
    "reading",
    "recording",
    "show_json",
    "user",
]  # fmt: skip

_Verb = TypeVar("_Verb", bound=Callable[..., Any])


_NO_FAILURE = (click.exceptions.Exit, click.Abort, click.UsageError, BrokenPipeError, NotTaken)
"""Ends of a verb that say by themselves what was recorded, or after which nobody asks."""


_IN_A_LIST = "\n    "


class Door:
    """The book and the options of the verb that was called.

    Attributes:
        options: when, who, reason, where, dry_run, confirm, second …, as far as the verb has them.
        json: whether one JSON document is asked for.
    """

    def __init__(self, path: str | None, options: dict[str, Any], *, json: bool) -> None:
        self._path = path
        self.options = options
        self.json = json

    @cached_property
    def book(self) -> "Book":
        """The book, opened when first needed."""
        if not self._path:
            raise StoreError("no book was named", "give --book PATH, or set POURBOOK_BOOK")
        from pourbook.whole_book import Book  # a calculator without a book does without it

        book = Book.open(self._path)
        book.signer = signer_of_environment()
        if book.copy_before_upgrade:
            said = f"the book was of format 2 and is upgraded; as it was before it lies in '{book.copy_before_upgrade}'"
            click.echo(said, err=True)
        return book

    @property
    def named_book(self) -> "Book | None":
        """The book, if one is named; a calculator does without it."""
        return self.book if self._path else None

    @property
    def kept(self) -> tuple[int, int] | None:
        """The first and the last entry that this verb recorded for good; None where it recorded none."""
        return self.book.kept if "book" in self.__dict__ else None

    def __enter__(self) -> "Door":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: "TracebackType | None"
    ) -> None:
        """Close the book, if it was opened; what failed once entries stood says which (`NotShown`)."""
        kept = self.kept
        if "book" in self.__dict__:
            if isinstance(error, PourbookError):
                error.message = self._named(error.message)
            self.book.close()
        is_failure = isinstance(error, Exception) and not isinstance(error, _NO_FAILURE)
        if kept and is_failure and not os.environ.get("POURBOOK_DEBUG"):
            assert isinstance(error, Exception)
            raise NotShown(kept, error) from error

    @cached_property
    def settings(self) -> dict[str, str]:
        """The house's settings."""
        return self.book.settings

    @cached_property
    def style(self) -> "HouseStyle":
        """How the house writes; plain points and units where no book is named."""
        from pourbook.house_style import HouseStyle

        return HouseStyle(self.settings if self._path else None)

    @cached_property
    def how(self) -> "Happening":
        """When, by whom, where and why: the options of a recording verb."""
        from pourbook.actions.happening import Happening

        when, options = self.options.get("when"), self.options
        return Happening(
            options.get("who") or user(),
            None if when is None else self.style.moment(when),
            options.get("where") or "",
            options.get("reason") or "",
            bool(options.get("confirm")),
            bool(options.get("dry_run")),
            login(),
            self._second(),
        )

    def _second(self) -> "Second | None":
        """The second person, with their own key."""
        who, key = (self.options.get(name) for name in _OF_SECOND)
        if not who and not key:
            return None
        if not who or not key:
            raise Malformed("a second person has a name and a key of their own", "give --second and --second-key")
        from pourbook.book.entries import Second
        from pourbook.cli.signer import signer_in

        return Second(who, signer_in(key, "POURBOOK_SECOND_PASSPHRASE"))

    @property
    def status(self) -> "Status":
        """Whose the liquid is, and its duty status, as far as the verb was told."""
        from pourbook.actions.movement import Status

        return Status(**{name: self.options.get(name) for name in _OF_STATUS})

    def take_lines(
        self, scan: Callable[[str], Any], shown_of: "Callable[[Any, HouseStyle], Shown]", lines: Iterable[str] = ()
    ) -> None:
        """Feed lines, else those of standard input, to a session; exit with 1 if something typed was not recorded."""
        for line in chain(lines or sys.stdin, ["done"]):
            answer = scan(line)
            shown = shown_of(answer, self.style)
            self.tell(shown.notes, shown.signal)
            if answer.done:
                break
        self.show(shown._replace(notes=()))
        if answer.in_hand.refused:
            raise click.exceptions.Exit(1)

    def tell(self, notes: Iterable[str], signal: str = "") -> None:
        """Say something beside the answer, on standard error; a signal is heard, and seen in the first line."""
        bell, colour = _SIGNALS[signal]
        if bell and sys.stderr.isatty():
            click.echo(bell, err=True, nl=False)
        for note in notes:
            said = visible(self._named(note))
            click.echo(click.style(said, fg=colour, bold=True) if colour and _has_colour() else said, err=True)
            colour = None

    def show(self, shown: "Shown") -> None:
        """Show an answer: one JSON document, or lines for people; notes and warnings go to standard error."""
        if self.json:
            show_json(shown.document)
        for line in () if self.json else shown.said:
            click.echo(visible(self._named(line) if self._records else line))
        self.tell((*shown.warnings, *(() if self.json else shown.notes)))

    def most(self, limit: int | None, *, everything: bool) -> int | None:
        """How many lines of a list are shown: on a terminal a page, elsewhere and as JSON all of it (None)."""
        if limit is not None or everything or self.json or not sys.stdout.isatty():
            return limit
        return PAGE

    def show_list(self, listing: "Listing", most: int | None, which: str) -> None:
        """Show a list as it is made; `most` lines of it, `which` says whether the first or the last."""
        if self.json:
            _write_json_list(listing)
            return
        count = -1  # the heads
        for lines in listing.lines():
            count += len(lines)
            click.echo("\n".join(map(visible, lines)))
        if count == most:
            shown = f"the {which} one is" if most == 1 else f"the {which} {most} are"
            self.tell((f"note: only {shown} shown; --all shows all, --limit N shows N",))

    @property
    def _records(self) -> bool:
        return "when" in self.options

    def _named(self, sentence: str) -> str:
        """A sentence with its items named as people know them, as far as the book can say; any other line as it is."""
        if "book" not in self.__dict__ or not _is_sentence(sentence):
            return sentence
        from pourbook.queries.items.called import named_in

        try:
            return named_in(self.book, sentence)
        except (PourbookError, ArithmeticError, LookupError, TypeError, ValueError):
            # a damaged book: what is wrong with it is said elsewhere
            return sentence

    def strength(self, text: str | None) -> "Strength | None":
        """A strength in the house's way of writing; None stays None."""
        return None if text is None else self.style.strength(text)


_SIGNALS = {"": ("", None), "good": ("", "green"), "repeated": ("\a", "yellow"), "wrong": ("\a\a\a", "red")}
"""Bell and colour; words say the same."""


def _has_colour() -> bool:
    """Whether a terminal shows colour: none where NO_COLOR is set, as many programs agree, or it is a dumb one."""
    return sys.stderr.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def _is_sentence(line: str) -> bool:
    """Whether it is neither an identifier alone, which scripts take, nor a row of a table."""
    return " " in line.strip() and "  " not in line.strip()


def show_json(document: Any) -> None:  # noqa: ANN401 (whatever JSON can hold)
    """One JSON document on standard output; numbers are not rounded for looks."""
    click.echo(in_json(indented(document)))


def _write_json_list(listing: "Listing") -> None:
    """The document with the list alone in it, as `show_json` would write it, item by item."""
    between = head = f'{{\n  "{listing.name}": ['
    for one in listing.of:
        sys.stdout.write(f"{between}{_IN_A_LIST}{in_json(indented(listing.document(one), _IN_A_LIST))}")
        between = ","
    click.echo(f"{head}]\n}}" if between == head else "\n  ]\n}")


def user() -> str:
    """Who is at the keyboard: POURBOOK_WHO, or the user logged in.

    Raises:
        Malformed: neither is known.
    """
    who = os.environ.get("POURBOOK_WHO")
    if who:
        return who
    if not (known := login()):
        raise Malformed("no person is named", "give --who, or set POURBOOK_WHO")
    return known


def login() -> str:
    """The login name of the user at the keyboard, as the operating system says; empty where it says none."""
    import getpass  # only where something is recorded

    try:
        return briefly(visible(getpass.getuser()), 100)
    except (OSError, KeyError, ImportError):
        return ""


_OF_RECORDING = ("when", "who", "reason", "where", "dry_run", "confirm")
_OF_STATUS = ("owner", "duty")
_OF_SECOND = ("second", "second_key")

# -- decorators ------------------------------------------------------------------------


def reading(verb: _Verb) -> _Verb:
    """A verb that reads: it gets a `door` and the options `--json`."""
    return _with_door(click.option("--json", is_flag=True, help="Print one JSON document.")(verb), ())


_recording_options = options(
    click.option("--when", metavar="TIME", help="When it happened; default: now."),
    click.option("--who", metavar="NAME", help="Who did it; default: POURBOOK_WHO, or the user logged in."),
    click.option("--reason", metavar="TEXT", help="Why; required for a correction."),
    click.option("--where", metavar="TEXT", help="Station where it was recorded."),
    click.option("--dry-run", is_flag=True, help="Show what would change and record nothing."),
    click.option("--confirm", is_flag=True, help="Record it even if the book queries it."),
    click.option("--json", is_flag=True, help="Print one JSON document."),
)


def recording(verb: _Verb) -> _Verb:
    """A verb that records: it gets a `door` and the options of recording."""
    return _with_door(_recording_options(verb), _OF_RECORDING)


def _with_door(verb: _Verb, shared: tuple[str, ...]) -> _Verb:
    @wraps(verb)
    def wrapped(**arguments: Any) -> Any:  # noqa: ANN401 (whatever the verb takes)
        options = {name: arguments.pop(name) for name in (*shared, *_OF_STATUS, *_OF_SECOND) if name in arguments}
        path = click.get_current_context().find_root().obj
        door = Door(path, options, json=bool(arguments.pop("json", False)))
        with door:
            return verb(door, **arguments)

    return cast("_Verb", wrapped)
