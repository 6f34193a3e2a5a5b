"""What every verb shares: the book, the house's way of writing, who and when, and identifiers.

A verb gets a `Door`: it reads amounts, strengths and times by the house's settings, makes drafts
with the options of recording verbs, and shows what was recorded.
"""

import os
from collections.abc import Callable, Iterable
from contextlib import nullcontext
from functools import cached_property, wraps
from typing import TYPE_CHECKING, Any, Literal, TypeVar, cast

import click

from pourbook.cli.output import show_json
from pourbook.errors import Malformed, StoreError
from pourbook.times import read_time, shown
from pourbook.words.figure_words import PENDING, strength_shown

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.entries import Draft, Entry
    from pourbook.book.holding import Holding
    from pourbook.book.items import ItemView
    from pourbook.book.recorded import Recorded
    from pourbook.documents.shown import Shown
    from pourbook.house_style import HouseStyle
    from pourbook.quantities import Amount, Strength
    from pourbook.surface import Book

__all__ = ["Door", "item_argument", "paper_trail", "reading", "recording", "status_options", "user"]

_Verb = TypeVar("_Verb", bound=Callable[..., Any])


class Door:
    """The book and the options of the verb that was called.

    Attributes:
        options: when, who, reason, where, dry_run, confirm, as far as the verb has them.
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
        from pourbook.surface import Book  # a calculator without a book does without it

        return Book.open(self._path)

    @property
    def named_book(self) -> "Book | None":
        """The book, if one is named; a calculator does without it."""
        return self.book if self._path else None

    def close(self) -> None:
        """Let go of the book, if it was opened."""
        if "book" in self.__dict__:
            self.book.close()

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
        )

    def show(self, shown: "Shown") -> None:
        """Show an answer: one JSON document, or lines for people; notes and warnings go to standard error."""
        if self.json:
            show_json(shown.document)
        for line in () if self.json else shown.said:
            click.echo(line)
        for line in (*shown.warnings, *(() if self.json else shown.notes)):
            click.echo(line, err=True)

    @property
    def decimal_mark(self) -> str:
        """The house's decimal mark."""
        return self.settings["decimal_mark"]

    # -- reading what was typed --------------------------------------------------------

    def amount(self, text: str, unit: str | None = None, *, allow_zero: bool = False) -> "Amount":
        """An amount in the house's way of writing."""
        from pourbook.quantities import read_amount

        default = unit or self.settings["volume_unit"]
        return read_amount(text, default, self.decimal_mark, allow_zero=allow_zero)

    def amount_or_all(self, text: str) -> "Amount | None":
        """An amount, or None for the word `all`."""
        return None if text.strip().lower() == "all" else self.amount(text)

    def strength(self, text: str | None) -> "Strength | None":
        """A strength in the house's way of writing; None stays None."""
        from pourbook.quantities import read_strength

        if text is None:
            return None
        scale = cast('Literal["vol20", "vol60f", "proof60f"]', self.settings["strength_scale"])
        return read_strength(text, scale, self.decimal_mark, None if self.settings["proof"] == "ask" else "us")

    def temperature(self, text: str | None) -> float:
        """A temperature in °C; 20 when nothing was typed."""
        from pourbook.quantities import read_temperature

        if text is None:
            return 20.0
        unit = cast('Literal["C", "F"]', self.settings["temperature_unit"])
        return float(read_temperature(text, unit, self.decimal_mark).celsius)

    def moment(self, text: str | None) -> int:
        """A time in the house's zone; now when nothing was typed."""
        return self.book.clock() if text is None else read_time(text, self.book.zone)

    def moment_or_none(self, text: str | None) -> int | None:
        """A time in the house's zone; None stays None."""
        return None if text is None else read_time(text, self.book.zone)

    # -- recording ---------------------------------------------------------------------

    def draft(self, entry: "Entry", *, happened_us: int | None = None, replaces: int = 0) -> "Draft":
        """A draft with the options of the verb."""
        from pourbook.book.entries import Draft

        return Draft(
            entry,
            self.moment(self.options.get("when")) if happened_us is None else happened_us,
            self.options.get("who") or user(),
            self.options.get("reason") or "",
            self.options.get("where") or "",
            replaces,
            bool(self.options.get("confirm")),
        )

    def record(self, *entries: "Entry") -> "Recorded":
        """Record entries that all happened now, or when the verb says."""
        return self.record_drafts(*(self.draft(entry) for entry in entries))

    def record_drafts(self, *drafts: "Draft") -> "Recorded":
        """Record drafts, all of them or none; owner and duty status go with the liquid."""
        stated = {name: self.options[name] for name in _OF_STATUS if self.options.get(name) is not None}
        return self.book.record(*with_status(drafts, stated))

    def tell(self, recorded: "Recorded", *sentences: str, **facts: Any) -> None:  # noqa: ANN401
        """Show what was recorded: sentences for people, or one document with these facts."""
        from pourbook.words.consequences import document_of

        dry_run = bool(self.options.get("dry_run"))
        if self.json:
            show_json({**facts, **document_of(recorded), "dry_run": dry_run})
            return
        for sentence in sentences:
            click.echo(sentence)
        tells_changes = dry_run or bool({"voided", "replaced"} & facts.keys())
        from pourbook.documents.recorded_shown import recorded_shown

        for line in recorded_shown(recorded, {}, (), self.style, dry_run=dry_run, is_correction=tells_changes).notes:
            click.echo(line, err=True)

    def strength_shown(self, view: "ItemView") -> str:
        """The strength of what an item holds, "63.50 % vol", and a mark where it is still pending."""
        return f"{strength_shown(view.strength_20c, self.decimal_mark)} % vol{self._mark(view.holding)}"

    def mark_pending(self, sources: Iterable[str]) -> str:
        """What stands behind a strength: a mark where that of a source is pending; water and the like have none."""
        return self._mark(*(self.book.show(source).holding for source in sources if source[:1].isupper()))

    def _mark(self, *holdings: "Holding") -> str:
        from pourbook.book.pending import pending_in

        return f" {PENDING}" if any(pending_in(self.book.store, holding) for holding in holdings) else ""

    def time_shown(self, moment_us: int) -> str:
        """A moment in house time."""
        return shown(moment_us, self.book.zone)


def user() -> str:
    """Who is at the keyboard: POURBOOK_WHO, or the user logged in.

    Raises:
        Malformed: neither is known.
    """
    who = os.environ.get("POURBOOK_WHO")
    if who:
        return who
    import getpass  # only where nobody is named

    try:
        return getpass.getuser()
    except (OSError, KeyError) as error:
        raise Malformed("nobody is named as the person who did it", "give --who, or set POURBOOK_WHO") from error


def with_status(drafts: "Iterable[Draft]", stated: dict[str, str]) -> "list[Draft]":
    """Drafts with the owner and duty status that a person stated of what liquid is poured into."""
    from pourbook.book.entries import TARGETS, Facts, Item, Pour
    from pourbook.codes.identifiers import LIQUID_KINDS, kind_of

    if not stated:
        return list(drafts)
    found: list[Draft] = []
    opened = {draft.entry.id for draft in drafts if isinstance(draft.entry, Item)}
    told = {name: value for name, value in stated.items() if value}
    for draft in drafts:
        entry = draft.entry
        if isinstance(entry, Pour) and not draft.replaces:
            targets = dict.fromkeys(move.target for move in entry.moves if move.target not in (*TARGETS, *opened))
            found += [draft._replace(entry=Facts(target, stated)) for target in targets]
        if isinstance(entry, Item) and kind_of(entry.id) in LIQUID_KINDS:
            entry = Item(entry.id, {**entry.facts, **told})
        found.append(draft._replace(entry=entry))
    return found


_OF_RECORDING = ("when", "who", "reason", "where", "dry_run", "confirm")
_OF_STATUS = ("owner", "duty")

# -- decorators ------------------------------------------------------------------------


def reading(verb: _Verb) -> _Verb:
    """A verb that reads: it gets a `door` and the options `--json`."""
    return _with_door(click.option("--json", is_flag=True, help="One JSON document.")(verb), ())


def recording(verb: _Verb) -> _Verb:
    """A verb that records: it gets a `door` and the options of recording."""
    for option in reversed(
        (
            click.option("--when", metavar="TIME", help="When it happened; default: now."),
            click.option("--who", metavar="NAME", help="Who did it; default: POURBOOK_WHO, or the user logged in."),
            click.option("--reason", metavar="TEXT", help="Why; required for a correction."),
            click.option("--where", metavar="TEXT", help="Station where it was recorded."),
            click.option("--dry-run", is_flag=True, help="Show what would change and record nothing."),
            click.option("--confirm", is_flag=True, help="Record it although the book queries it."),
            click.option("--json", is_flag=True, help="One JSON document."),
        )
    ):
        verb = option(verb)
    return _with_door(verb, _OF_RECORDING)


def status_options(verb: _Verb) -> _Verb:
    """A recording verb (above `recording`) that says whose the liquid is, and its duty status."""
    duty = "Duty status, 'suspended' for example; else that of all its sources."
    verb = click.option("--duty", metavar="TEXT", help=duty)(verb)
    return click.option("--owner", metavar="NAME", help="Whose it is; else the owner of all its sources.")(verb)


def paper_trail(verb: _Verb) -> _Verb:
    """A verb that moves a sample or a loss: to whom, what for, under which document."""
    for option in reversed(
        (
            click.option("--recipient", metavar="NAME", help="Who gets it."),
            click.option("--purpose", metavar="TEXT", help="What for: analysis, trial 26-A, competition …"),
            click.option("--document", metavar="TEXT", help="Sample note, destruction record, claim …"),
        )
    ):
        verb = option(verb)
    return verb


def _with_door(verb: _Verb, shared: tuple[str, ...]) -> _Verb:
    @wraps(verb)
    def wrapped(**arguments: Any) -> Any:  # noqa: ANN401 (whatever the verb takes)
        options = {name: arguments.pop(name) for name in (*shared, *_OF_STATUS) if name in arguments}
        path = click.get_current_context().find_root().obj
        door = Door(path, options, json=bool(arguments.pop("json", False)))
        try:
            # In a dry run the verb records and reads as ever, and shows what would be.
            with door.book.rehearsing() if options.get("dry_run") else nullcontext():
                return verb(door, **arguments)
        finally:
            door.close()

    return cast("_Verb", wrapped)


def _complete_item(ctx: click.Context, _parameter: click.Parameter, incomplete: str) -> list[str]:
    """Identifiers and names in the book that begin with what was typed (for the shell)."""
    path = ctx.find_root().params.get("path") or os.environ.get("POURBOOK_BOOK")
    if not path:
        return []
    from pourbook.book.items import beginning_with
    from pourbook.surface import Book

    with Book.open(path) as book:
        return beginning_with(book.store, incomplete)


def item_argument(name: str, *, many: bool = False, required: bool = True) -> Callable[[_Verb], _Verb]:
    """An argument that names an item (or several), with completion in the shell."""
    return click.argument(
        name, nargs=-1 if many else 1, required=required, shell_complete=_complete_item, metavar=name.upper()
    )
