"""What was printed: the log of label runs, and what became of numbers printed ahead.

>>> from pourbook import Book, Draft, Paper, Reserve
>>> book = Book.create(":memory:", house="Quillmere")
>>> facts = {"template": "vial-roll-30x15", "dpi": 203, "count": 1, "proof": "read back"}
>>> _ = book.record(
...     Draft(Reserve(("V000001R", "V000002P")), 0, "M. Aldane"),
...     Draft(Paper("label", ("V000001R",), facts), 0, "M. Aldane"),
... )
>>> [(run.entry, run.ids, run.facts["proof"]) for run in label_runs(book.store)]
[(3, ('V000001R',), 'read back')]
>>> [(roll.entry, roll.ids, roll.printed, roll.bound) for roll in rolls(book.store)]
[(2, ('V000001R', 'V000002P'), frozenset({'V000001R'}), frozenset())]
"""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.journal import parsed
from pourbook.codes.identifiers import key_of
from pourbook.paperwork.label_of import prints_before
from pourbook.paperwork.unit_label_of import UNIT_LABEL

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["PrintRun", "Roll", "label_runs", "rolls"]

_LABELS = ("label", UNIT_LABEL)


class PrintRun(NamedTuple):
    """A run of labels.

    Attributes:
        entry: its number in the journal.
        happened_us: when.
        who: by whom.
        reason: why, where that was said.
        ids: the items whose labels were printed.
        facts: template, dpi, count, file or printer, proof, and what stopped it where something did.
    """

    entry: int
    happened_us: int
    who: str
    reason: str
    ids: tuple[str, ...]
    facts: Mapping[str, Any]


class Roll(NamedTuple):
    """Numbers that were set aside together.

    Attributes:
        entry: number of the entry that reserved them.
        happened_us: when.
        who: by whom.
        ids: the numbers.
        printed: those of which a label was printed.
        bound: those that label an item by now.
    """

    entry: int
    happened_us: int
    who: str
    ids: tuple[str, ...]
    printed: frozenset[str]
    bound: frozenset[str]

    @property
    def lying(self) -> tuple[str, ...]:
        """Printed and on nothing yet: they lie in a drawer, or were spoilt."""
        return tuple(one for one in self.ids if one in self.printed and one not in self.bound)

    @property
    def unused(self) -> tuple[str, ...]:
        """Neither printed nor on anything."""
        return tuple(one for one in self.ids if one not in self.printed and one not in self.bound)


def label_runs(
    store: "Store", item: str = "", since_us: int | None = None, until_us: int | None = None
) -> Iterator[PrintRun]:
    """The print log, in the order it was recorded.

    Args:
        store: of the book.
        item: identifier of an item whose labels are asked for; all when empty.
        since_us: printed at that moment or later.
        until_us: printed before that moment.
    """
    for entry in _entries(store, "paper", item):
        body = entry["body"]
        happened_us = entry["happened_us"]
        late = until_us is not None and happened_us >= until_us
        if body["paper"] in _LABELS and not late and (since_us is None or happened_us >= since_us):
            run = entry["number"], happened_us, entry["who"], entry.get("reason", "")
            yield PrintRun(*run, tuple(body["items"]), body["facts"])


def rolls(store: "Store") -> Iterator[Roll]:
    """What became of numbers set aside, reservation by reservation."""
    free = {key for (key,) in store.query("SELECT key FROM reserved")}
    for entry in _entries(store, "reserve", ""):
        ids = tuple(entry["body"]["items"])
        bound = frozenset(one for one in ids if key_of(one) not in free)
        yield Roll(
            entry["number"], entry["happened_us"], entry["who"], ids, frozenset(prints_before(store, ids)), bound
        )


def _entries(store: "Store", kind: str, item: str) -> Iterator[dict[str, Any]]:
    """Entries of a kind in force, with when they happened in microseconds."""
    of_item = " AND number IN (SELECT entry FROM mention WHERE item = ?)" if item else ""
    for number, happened_us, text in store.query(
        f"SELECT number, happened, bytes FROM entry WHERE kind = ? AND gone = 0{of_item} ORDER BY number",
        (kind, key_of(item)) if item else (kind,),
    ):
        yield {**parsed(text), "number": number, "happened_us": happened_us}
