"""What was printed: the log of label runs, and what became of reserved numbers.

>>> from pourbook import Book, Draft, Paper, Reserve
>>> book = Book.create(":memory:", house="Quillmere")
>>> facts = {"template": "vial-roll-30x15", "dpi": 203, "count": 1, "readback": "passed"}
>>> _ = book.record(
...     Draft(Reserve(("V000001R", "V000002P")), 0, "M. Aldane"),
...     Draft(Paper("label", ("V000001R",), facts), 0, "M. Aldane"),
... )
>>> [(run.entry, run.ids, run.facts["readback"]) for run in print_log(book)]
[(3, ('V000001R',), 'passed')]
>>> [(one.entry, one.printed, one.assigned, one.unused) for one in reserved(book)]
[(2, frozenset({'V000001R'}), frozenset(), ('V000002P',))]
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.journal import Logged, entry_of
from pourbook.book.label_prints import LABEL, UNIT_LABEL, label_prints, reserved_keys
from pourbook.book.names import is_reserved
from pourbook.book.search import in_force
from pourbook.codes.identifiers import key_of, read
from pourbook.errors import Malformed, Refused
from pourbook.queries.items.called import called

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = [
    "PrintRun", "Reservation", "numbers_left", "print_log", "printable", "ranges", "read_ranges", "reserved",
    "rest_of_run",
]  # fmt: skip

_LONGEST_RANGE = 30
_MOST_NUMBERED = 1000
"""Cartons numbered in one run, as many as there may be copies of a label."""


class PrintRun(NamedTuple):
    """A run of labels: its entry, when it happened, who printed it and the reason given, the ids of the items.

    `facts` are template, dpi, count, file or printer, readback, and what stopped it where something did; `called` is
    how a person knows the first and the last item at sight.
    """

    entry: int
    happened_us: int
    who: str
    reason: str
    ids: tuple[str, ...]
    facts: Mapping[str, Any]
    called: Mapping[str, str]


class Reservation(NamedTuple):
    """Ids reserved together in one entry: when it happened, by whom; those printed, those assigned to items.

    `called` is how a person knows the items of the first and the last at sight.
    """

    entry: int
    happened_us: int
    who: str
    ids: tuple[str, ...]
    printed: frozenset[str]
    assigned: frozenset[str]
    called: Mapping[str, str]

    @property
    def lying(self) -> tuple[str, ...]:
        """Printed and not assigned yet: they lie in a drawer, or were spoilt."""
        return tuple(one for one in self.ids if one in self.printed and one not in self.assigned)

    @property
    def unused(self) -> tuple[str, ...]:
        """Neither printed nor assigned."""
        return tuple(one for one in self.ids if one not in self.printed and one not in self.assigned)

    @property
    def free(self) -> tuple[str, ...]:
        """Not assigned yet."""
        return tuple(one for one in self.ids if one not in self.assigned)


def print_log(
    book: "BookCore", item: str = "", since_us: int | None = None, until_us: int | None = None
) -> tuple[PrintRun, ...]:
    """The runs of labels (of an item, if named), in the order they were recorded, from one moment until another.

    Raises:
        PourbookError: nothing goes by that name.
    """
    first, end = -(1 << 62) if since_us is None else since_us, 1 << 62 if until_us is None else until_us
    papers = in_force(book.store, "paper", item=printable(book, item) if item else "")
    runs = (_run(book, one) for one in papers if one.entry["body"]["paper"] in (LABEL, UNIT_LABEL))
    return tuple(run for run in runs if first <= run.happened_us < end)


def _run(book: "BookCore", logged: Logged) -> PrintRun:
    entry, body = logged.entry, logged.entry["body"]
    about = logged.number, logged.happened_us, entry["who"], entry.get("reason", "")
    return PrintRun(*about, tuple(body["items"]), body["facts"], _ends(book, body["items"]))


def _ends(book: "BookCore", ids: Sequence[str]) -> Mapping[str, str]:
    return called(book.store, {ids[0], ids[-1]})


def rest_of_run(book: "BookCore", entry: int) -> tuple[str, ...]:
    """What a run that stopped half-way did not print: identifiers or SSCCs. What is in doubt is not among them.

    Raises:
        Unknown: no such entry.
        Refused: it is not a run of labels that stopped.
    """
    logged = entry_of(book.store, entry)
    rest = logged.kind == "paper" and logged.entry["body"]["facts"].get("not_sent")
    if not rest:
        raise Refused(f"entry {entry} is not a label run that stopped half-way", "find it: pourbook print-log")
    return tuple(rest.split())


def numbers_left(book: "BookCore", entry: int) -> dict[str, Any]:
    """Of a run of numbered cartons that stopped: `numbered`, of how many, and the `numbers` left; empty for others."""
    facts = entry_of(book.store, entry).entry["body"].get("facts", {})
    return {"numbered": facts["numbered"], "numbers": read_ranges(facts["rest"])} if "rest" in facts else {}


def ranges(numbers: Sequence[int]) -> str:
    """Whole numbers in ascending order as a person writes them.

    >>> ranges((1, 2, 3, 7))
    '1-3, 7'
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


def read_ranges(text: str) -> tuple[int, ...]:
    """The same read back: each number once, in ascending order.

    Raises:
        Malformed: it is not whole numbers and ranges of them, from 1.

    >>> read_ranges("31-33, 7")
    (7, 31, 32, 33)
    """
    found: set[int] = set()
    for part in text.split(","):
        first, dash, last = (one.strip() for one in part.partition("-"))
        if (
            len(part) > _LONGEST_RANGE
            or not first.isdecimal()
            or not (last.isdecimal() if dash else True)
            or not 0 < int(first) <= int(last or first)
        ):
            raise Malformed(f"'{text}' is not a list of numbers", "write them like 31-33, 40")
        if int(last or first) > _MOST_NUMBERED:
            raise Malformed(f"'{text}' goes beyond {_MOST_NUMBERED}", "print it in several runs")
        found.update(range(int(first), int(last or first) + 1))
    return tuple(sorted(found))


def reserved(book: "BookCore") -> tuple[Reservation, ...]:
    """What became of reserved numbers, reservation by reservation."""
    free = reserved_keys(book.store)
    found = []
    for logged in in_force(book.store, "reserve"):
        ids = tuple(logged.entry["body"]["items"])
        assigned = frozenset(one for one in ids if key_of(one) not in free)
        printed = frozenset(label_prints(book.store, ids))
        about = logged.number, logged.happened_us, logged.entry["who"]
        found.append(Reservation(*about, ids, printed, assigned, _ends(book, ids)))
    return tuple(found)


def printable(book: "BookCore", text: str) -> str:
    """The identifier of an item, or of a number reserved for one.

    Raises:
        PourbookError: nothing goes by that name.
    """
    identifier = read(text)
    if identifier is not None and is_reserved(book.store, key_of(identifier)):
        return identifier
    return book.find(text)
