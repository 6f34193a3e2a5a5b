"""What lines moved, and what items held after them: the rows behind every balance.

Flows tell what was poured, the ledger what is held; in a sound book both agree.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(fill, 0, "M. Aldane"))
>>> [(flow.how, flow.received.mass_mg) for flow in flows_between(book.store, 0, 9)]
[('origin', 1000)]
>>> [touched.liquid.mass_mg for touched in touched_of(book.store, [key_of(cask)])]
[1000]
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import NamedTuple

from pourbook.book.contents import EVER, LINES, Holding
from pourbook.book.fold import own_state
from pourbook.book.store import Row, Store, chunks
from pourbook.codes.identifiers import key_of
from pourbook.lineage.graph import CARRY, UNEXPLAINED
from pourbook.liquid import EMPTY, Liquid

__all__ = [
    "Flow", "Touched", "across_the_border", "beyond_flows", "flows_between", "flows_into", "flows_of_items",
    "flows_of_states", "flows_out_of", "found_by_line", "held_before", "held_or_touched", "lines_before",
    "moved_by_line", "poured_into", "state_after", "states_of", "touched_between", "touched_of",
]  # fmt: skip

_FLOWS = (
    "SELECT flow.line, flow.source, flow.target, source.item, target.item, flow.how, flow.happened, flow.mass,"
    " flow.ethanol, flow.extract, flow.out_mass, flow.out_ethanol, flow.out_extract FROM flow"
    " LEFT JOIN state AS source ON source.id = flow.source LEFT JOIN state AS target ON target.id = flow.target"
)
_TOUCHED = "SELECT item, happened, place, line, mass, ethanol, extract, state, sealed FROM ledger"
_HELD_BEFORE = (
    "SELECT ledger.item, ledger.line, ledger.mass, ledger.ethanol, ledger.extract FROM item JOIN ledger"
    " ON ledger.item = item.key"
    " AND (ledger.happened, ledger.place) = (SELECT happened, place FROM ledger AS last WHERE last.item = item.key"
    " AND last.happened < ? ORDER BY happened DESC, place DESC LIMIT 1) WHERE ledger.mass > 0"
)


class Flow(NamedTuple):
    """What a line (by number) moved, as it left and as received.

    Attributes:
        source: state that it left; 0 for outside.
        target: state that it went into; 0 for outside.
        source_item: key of that item; None for outside.
        target_item: likewise.
        how: the word for outside, or `CARRY` for what stayed in its item; empty between items.
        happened_us: when.
    """

    line: int
    source: int
    target: int
    source_item: int | None
    target_item: int | None
    how: str
    happened_us: int
    received: Liquid
    left: Liquid

    @property
    def entry(self) -> int:
        """Number of the entry."""
        return self.line // LINES

    @property
    def is_gauged(self) -> bool:
        """Whether it is what a gauge found: it begins the state that a gauge opens."""
        return self.target == own_state(self.line)


class Touched(NamedTuple):
    """An item after a line that touched it, the line's key (moment, and place within it), and the holding then."""

    item: int
    key: tuple[int, int]
    line: int
    holding: Holding

    @property
    def liquid(self) -> Liquid:
        """The liquid it held then."""
        return self.holding.liquid


# -- flows -----------------------------------------------------------------------------------


def flows_between(store: Store, start_us: int, end_us: int) -> list[Flow]:
    """Every flow from one moment to just before another, carries included."""
    return _flows(store.query(f"{_FLOWS} WHERE flow.happened >= ? AND flow.happened < ?", (start_us, end_us)))


def across_the_border(store: Store, since_entry: int) -> dict[str, Liquid]:
    """What entries from one on moved in from outside and out, by the word for it, in all.

    >>> from pourbook import Book
    >>> across_the_border(Book.create(":memory:", house="Quillmere").store, 1)
    {}
    """
    rows = store.query(
        "SELECT how, sum(mass), sum(ethanol), sum(extract) FROM flow"
        " WHERE line >= ? AND how NOT IN ('', ?) GROUP BY how",
        (since_entry * LINES, CARRY),
    )
    return {how: Liquid(*liquid) for how, *liquid in rows}


def flows_of_states(store: Store, states: Collection[int], until_us: int = EVER) -> list[Flow]:
    """Every flow into and out of states, once, by state it leads to and line."""
    rows = {row for end in ("target", "source") for row in _rows(store, end, states, until_us)}
    return _flows(sorted(rows, key=lambda row: (row[2], row[0], row[1])))


def flows_out_of(store: Store, states: Collection[int], until_us: int = EVER) -> list[Flow]:
    """Every flow out of states, up to a moment."""
    return _flows(_rows(store, "source", states, until_us))


def flows_into(store: Store, state: int, until_us: int = EVER) -> list[Flow]:
    """Every flow into a state, and into the earlier states of its item that were carried into it, in order of time.

    Carries are left out. Nothing is read of what lies further back.
    """
    own = (
        "WITH RECURSIVE own(id) AS (SELECT CAST(? AS BIGINT) UNION"
        " SELECT flow.source FROM own JOIN flow ON flow.target = own.id WHERE flow.carry = 1)"
    )
    asked = f"{own} {_FLOWS} WHERE flow.target IN (SELECT id FROM own) AND flow.carry = 0 AND flow.happened <= ?"
    return _flows(store.query(f"{asked} ORDER BY flow.happened, flow.line", (state, until_us)))


def poured_into(store: Store, keys: Collection[int]) -> dict[int, list[Liquid]]:
    """What each source (an item, or the word for outside) ever gave to items, by key; in no order."""
    found: dict[int, list[Liquid]] = {}
    for marks, chunk in chunks(keys):
        for item, *liquid in store.query(
            "SELECT target.item, sum(coalesce(out_mass, mass)), sum(coalesce(out_ethanol, ethanol)),"
            " sum(coalesce(out_extract, extract)) FROM state AS target JOIN flow ON flow.target = target.id"
            f" LEFT JOIN state AS source ON source.id = flow.source WHERE target.item IN ({marks}) AND flow.carry = 0"
            " GROUP BY target.item, source.item, flow.how",
            chunk,
        ):
            found.setdefault(item, []).append(Liquid(*liquid))
    return found


def _rows(store: Store, end: str, states: Collection[int], until_us: int) -> Iterator[Row]:
    for marks, chunk in chunks(states):
        yield from store.query(f"{_FLOWS} WHERE flow.{end} IN ({marks}) AND flow.happened <= ?", (*chunk, until_us))


def flows_of_items(store: Store, keys: Collection[int]) -> list[Flow]:
    """Every flow into and out of items, once."""
    return flows_of_states(store, states_of(store, keys))


def _flows(rows: Iterable[Row]) -> list[Flow]:
    found = []
    for *ends, mass, ethanol, extract, out_mass, out_ethanol, out_extract in rows:
        received = Liquid(mass, ethanol, extract)
        left = received if out_mass is None else Liquid(out_mass, out_ethanol, out_extract)
        found.append(Flow._make((*ends, received, left)))
    return found


def moved_by_line(store: Store) -> Iterator[tuple[int, tuple[Liquid, Liquid]]]:
    """What every line that counts moved, as it left and as received, by number of the line; memory stays flat."""
    asked = (
        "SELECT line, mass, ethanol, extract, out_mass, out_ethanol, out_extract FROM flow"
        " WHERE how NOT IN (?, ?) ORDER BY line"
    )
    for line, mass, ethanol, extract, *left in store.stream(asked, (CARRY, UNEXPLAINED)):
        received = Liquid(mass, ethanol, extract)
        yield line, (received if left[0] is None else Liquid(*left), received)


def found_by_line(store: Store) -> Iterator[tuple[int, tuple[Liquid, Liquid]]]:
    """What every gauge that counts found, twice, by number of the line; memory stays flat."""
    asked = (
        "SELECT ledger.line, ledger.mass, ledger.ethanol, ledger.extract FROM ledger"
        f" JOIN entry ON entry.number = ledger.line / {LINES} WHERE entry.kind = 'gauge' ORDER BY ledger.line"
    )
    for line, *amounts in store.stream(asked):
        yield line, (Liquid(*amounts), Liquid(*amounts))


# -- states and what items held ---------------------------------------------------------------


def states_of(store: Store, keys: Collection[int]) -> list[int]:
    """Every state that items ever had."""
    return [
        state
        for marks, chunk in chunks(keys)
        for (state,) in store.query(f"SELECT id FROM state WHERE item IN ({marks}) ORDER BY id", chunk)
    ]


def state_after(store: Store, identifier: str, happened_us: int, line: int) -> int:
    """The state of an item after a line; 0 where the line did not touch it."""
    asked = "SELECT state FROM ledger WHERE item = ? AND happened = ? AND line = ?"
    rows = store.query(asked, (key_of(identifier), happened_us, line))
    return rows[0][0] if rows else 0


def touched_between(store: Store, start_us: int, end_us: int) -> list[Touched]:
    """What items held after each line from one moment to just before another, item by item."""
    asked = f"{_TOUCHED} WHERE happened >= ? AND happened < ? ORDER BY item, happened, place"
    return list(map(_touched, store.query(asked, (start_us, end_us))))


def held_or_touched(store: Store, start_us: int, end_us: int) -> list[int]:
    """Keys of the items that a line touched between two moments, and of those that held liquid before."""
    asked = "SELECT DISTINCT item FROM ledger WHERE happened >= ? AND happened < ? ORDER BY item"
    touched = [key for (key,) in store.query(asked, (start_us, end_us))]
    return list(dict.fromkeys((*touched, *held_before(store, start_us))))


def touched_of(store: Store, keys: Collection[int], until_us: int = EVER) -> list[Touched]:
    """What these items held after each line that touched them, item by item."""
    return [
        _touched(row)
        for marks, chunk in chunks(keys)
        for row in store.query(
            f"{_TOUCHED} WHERE item IN ({marks}) AND happened <= ? ORDER BY item, happened, place", (*chunk, until_us)
        )
    ]


def _touched(row: Row) -> Touched:
    item, happened, place, line, *held = row
    return Touched(item, (happened, place), line, Holding(*held))


def held_before(store: Store, moment_us: int) -> dict[int, Liquid]:
    """What each item held just before a moment, by key; empty ones are left out."""
    return {item: Liquid(*amounts) for item, _, *amounts in store.query(_HELD_BEFORE, (moment_us,))}


def lines_before(store: Store, moment_us: int) -> dict[int, int]:
    """The line that touched each item last before a moment, by key; of those that `held_before` names."""
    return {item: line for item, line, *_ in store.query(_HELD_BEFORE, (moment_us,))}


def beyond_flows(
    touched: Iterable[Touched], flows: Iterable[Flow], opening: Mapping[int, Liquid] | None = None
) -> Iterator[tuple[Touched, Liquid, Liquid]]:
    """Each line that touched an item, with what it held before and what the line changed beyond what it moved.

    The last is what a gauge found (also one that a pour implied). `touched` comes item by item, in order of time;
    `opening` is what items held before the first of those lines.
    """
    moved: dict[tuple[int, int | None], Liquid] = {}
    for flow in flows:
        if flow.how != CARRY:
            for item, more in ((flow.target_item, flow.received), (flow.source_item, EMPTY - flow.left)):
                moved[flow.line, item] = moved.get((flow.line, item), EMPTY) + more
    held = dict(opening or {})
    for one in touched:
        before = held.get(one.item, EMPTY)
        held[one.item] = one.liquid
        yield one, before, one.liquid - before - moved.get((one.line, one.item), EMPTY)
