"""Fills: bodies of liquid of one composition, found in the histories of items.

A fill is what is in an item from the pour that began it to the first pour in after something was taken, or came
back. Its composition stays from then on, so a chain of fills says exactly what is an ancestor of what. A refilled
cask is another fill; gauges begin none. A fill is named after the entry that began it (the first one, where that
was corrected), so names stay.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, vial = book.next_id("cask"), book.next_id("vial")
>>> filled = Move("origin", cask, 1000, composition=Liquid(1000, 500))
>>> pours = Pour("fill", (filled,)), Pour("draw", (Move(cask, vial, 100),)), Pour("fill", (filled,))
>>> items = [Draft(Item(one, {}), 0, "M. Aldane") for one in (cask, vial)]
>>> _ = book.record(*items, *(Draft(pour, at, "M. Aldane") for at, pour in enumerate(pours)))
>>> histories = Histories(book.store, [cask])
>>> [fill.name for fill in histories.fills_of(cask)]
['C000001H-4', 'C000001H-6']
"""

from bisect import bisect_left
from collections.abc import Collection, Iterable
from operator import attrgetter
from typing import NamedTuple

from pourbook.book.contents import LINES, NOTHING, Holding
from pourbook.book.items import ledger
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of

__all__ = ["EVER", "Fill", "Histories", "Row"]

EVER = 1 << 62
_Moment = tuple[int, int]
"""Where a line stands: when it happened, and its place among those of one moment."""


class Fill(NamedTuple):
    """A body of liquid of one composition.

    `where` is an identifier or the word for outside; `place` the entry that began it, `line` that line of it, from 0.
    """

    where: str
    place: int
    line: int

    @property
    def name(self) -> str:
        """Unique in the book."""
        return f"{self.where}-{self.place}" + (f"-{self.line}" if self.line else "")

    @property
    def inside(self) -> bool:
        """Whether it is in an item of the house."""
        return self.where[0].isupper()


class Row(NamedTuple):
    """An item after a line that touched it at a moment: its fill (None before the first) and its holding.

    Once something was `taken` from the fill or came back, the next pour in begins another.
    """

    at: _Moment
    line: int
    fill: Fill | None
    holding: Holding
    taken: bool


_NEVER = Row((-1, -1), 0, None, NOTHING, taken=False)


class Histories:
    """The histories of items until a moment, each read once, when first asked for."""

    def __init__(self, store: Store, items: Iterable[str], until_us: int | None = None) -> None:
        self._store = store
        self._until = (EVER if until_us is None else until_us, EVER)
        self._rows: dict[str, list[Row]] = {}
        self._begun_on: dict[Fill, Fill] = {}
        for item in items:
            self.of(item)

    def of(self, item: str) -> list[Row]:
        """The history of an item."""
        if item not in self._rows:
            self._rows[item] = self._read(item)
        return self._rows[item]

    def before(self, item: str, at: _Moment) -> Row:
        """An item just before a moment."""
        rows = self.of(item)
        index = bisect_left(rows, at, key=attrgetter("at"))
        return rows[index - 1] if index else _NEVER

    def last(self, item: str) -> Row:
        """An item at the end."""
        return self.before(item, self._until)

    def fills_of(self, item: str) -> list[Fill]:
        """The fills of an item, in order."""
        return list(dict.fromkeys(row.fill for row in self.of(item) if row.fill and row.at <= self._until))

    def carried(self, fills: Collection[Fill], *, forward: bool) -> set[Fill]:
        """The fills that these were begun on top of, and so on; with `forward`, those begun on top of these."""
        step = {old: new for new, old in self._begun_on.items()} if forward else self._begun_on
        found: set[Fill] = set()
        for fill in fills:
            following = step.get(fill)
            while following is not None and following not in found:
                found.add(following)
                following = step.get(following)
        return found

    def _read(self, item: str) -> list[Row]:
        rows: list[Row] = []
        fill, state, taken = None, 0, False
        for row in ledger(self._store, key_of(item)):
            now = row.holding
            # A state with an odd number was opened by a gauge: the liquid is the same one as before.
            if now.state % 2 == 0 or not state if now.state != state else taken and not now.sealed:
                new = Fill(item, *divmod(row.place, LINES))
                if fill and rows[-1].holding.mass_mg:
                    self._begun_on[new] = fill
                fill, taken = new, False
            state, taken = now.state, taken or bool(now.sealed)
            rows.append(Row((row.happened_us, row.place), row.line, fill, now, taken))
        return rows
