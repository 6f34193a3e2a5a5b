"""What an account is made from, read from the tables of a book in a handful of questions.

The ledger says what every item held, the flows say what moved: an account is sound where both tell
the same story.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(fill, 0, "M. Aldane"))
>>> rows = rows_of(book.store, 0, 9, ())
>>> [touched.liquid.mass_mg for touched in rows.touched], [flow.how for flow in rows.flows.values()]
([1000], ['origin'])
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.holding import LINES
from pourbook.book.items import chunks
from pourbook.book.journal import parsed
from pourbook.book.logged import line_of
from pourbook.lineage.graph import UNEXPLAINED
from pourbook.liquid import Liquid
from pourbook.queries.accounts.grouping import ALWAYS_US, Fact, Groups, Key, facts_for, kind_at

if TYPE_CHECKING:
    from pourbook.book.store import Row, Store

__all__ = ["FlowLine", "Rows", "Touched", "groups_of", "held_before", "rows_of"]

_HELD = (
    "SELECT ledger.item, ledger.mass, ledger.ethanol, ledger.extract FROM item JOIN ledger ON ledger.item = item.key"
    " AND (ledger.happened, ledger.place) = (SELECT happened, place FROM ledger AS last WHERE last.item = item.key"
    " AND last.happened < ? ORDER BY happened DESC, place DESC LIMIT 1) WHERE ledger.mass > 0"
)
_TOUCHED = (
    "SELECT item, happened, place, line, mass, ethanol, extract FROM ledger"
    " WHERE happened >= ? AND happened < ? ORDER BY item, happened, place"
)
_FLOWS = (
    "SELECT flow.line, source.item, target.item, flow.how, flow.mass, flow.ethanol, flow.extract,"
    " flow.out_mass, flow.out_ethanol, flow.out_extract FROM flow"
    " LEFT JOIN state AS source ON source.id = flow.source LEFT JOIN state AS target ON target.id = flow.target"
    " WHERE flow.happened >= ? AND flow.happened < ? AND flow.carry = 0 AND flow.how <> ?"
)
_GAUGED = (  # the state that a gauge opens (`pourbook.book.fold.own_state`) begins with what it found
    "SELECT line, mass, ethanol, extract FROM flow WHERE happened >= ? AND happened < ? AND target = line * 2 + 1"
)
_FACTS = (
    "SELECT fact.item, fact.happened, fact.place, fact.name, fact.value, entry.kind"
    " FROM fact JOIN entry ON entry.number = fact.place WHERE fact.name IN ({})"
    " ORDER BY fact.item, fact.happened, fact.place"
)


class Touched(NamedTuple):
    """An item after a line that touched it.

    Attributes:
        item: its key.
        key: where the line stands in the order of things.
        line: number of the line.
        liquid: what the item held then.
    """

    item: int
    key: Key
    line: int
    liquid: Liquid


class FlowLine(NamedTuple):
    """What a line moved.

    Attributes:
        line: its number.
        source: key of the item it left; None for outside.
        target: key of the item it went into; None for outside.
        how: the word for outside; empty between items.
        received: as it arrived.
        taken: as it left.
    """

    line: int
    source: int | None
    target: int | None
    how: str
    received: Liquid
    taken: Liquid

    @property
    def drawn(self) -> bool:
        """Whether it was drawn into a vial from something else."""
        return self.target is not None and kind_at(self.target) == "vial" and not self._from_vial

    @property
    def sampled(self) -> bool:
        """Whether it left a vial and the bench: for outside, or back into what is no trial."""
        return self._from_vial and (self.target is None or kind_at(self.target) in ("cask", "batch", "lot"))

    @property
    def _from_vial(self) -> bool:
        return self.source is not None and kind_at(self.source) == "vial"

    @property
    def left(self) -> bool:
        """Whether it left the house."""
        return self.target is None


class Rows(NamedTuple):
    """All that an account of a period is made from.

    Attributes:
        start_us: the first moment of the period.
        end_us: the first moment after it.
        opening: what each item held before the period, by key.
        closing: what each item held at its end.
        touched: every line that touched an item in the period, item by item in order of time.
        flows: what moved in the period, by number of the line.
        gauged: what gauges found, those too that a pour implied, by number of the line.
        entries: by number, those whose words an account needs: gauges, returns, what left the
            house, what changed on the way, samples.
        groups: which group each item belonged to.
    """

    start_us: int
    end_us: int
    opening: Mapping[int, Liquid]
    closing: Mapping[int, Liquid]
    touched: Sequence[Touched]
    flows: Mapping[int, FlowLine]
    gauged: Mapping[int, Liquid]
    entries: Mapping[int, Mapping[str, Any]]
    groups: Groups

    def line(self, number: int) -> Mapping[str, Any]:
        """A line as it stands in its entry; nothing where an account does not need it."""
        return line_of(self.entries.get(number // LINES, {}).get("body", {}), number)

    def told(self, line: int) -> Mapping[str, Any]:
        """Facts of a line."""
        facts: Mapping[str, Any] = self.line(line).get("facts", {})
        return facts


def rows_of(store: "Store", start_us: int, end_us: int, by: Sequence[str]) -> Rows:
    """Read what an account of a period by these groupings is made from."""
    touched = [
        Touched(item, (happened, place), line, Liquid(*amounts))
        for item, happened, place, line, *amounts in store.query(_TOUCHED, (start_us, end_us))
    ]
    flows = {row[0]: _flow(row) for row in store.query(_FLOWS, (start_us, end_us, UNEXPLAINED))}
    wanted = {row.line // LINES for row in touched if row.line not in flows or _has_words(flows[row.line])}
    return Rows(
        start_us,
        end_us,
        held_before(store, start_us),
        held_before(store, end_us),
        touched,
        flows,
        {line: Liquid(*amounts) for line, *amounts in store.query(_GAUGED, (start_us, end_us))},
        _entries(store, wanted),
        groups_of(store, by),
    )


def held_before(store: "Store", moment_us: int) -> dict[int, Liquid]:
    """What each item held just before a moment, by key; empty ones are left out."""
    return {item: Liquid(*amounts) for item, *amounts in store.query(_HELD, (moment_us,))}


def groups_of(store: "Store", by: Sequence[str]) -> Groups:
    """Which group every item belonged to at any time."""
    names = facts_for(by)
    rows = store.query(_FACTS.format(",".join("?" * len(names))), names) if names else ()
    facts: dict[int, list[Fact]] = {}
    for item, happened, place, name, value, kind in rows:
        fact = Fact(ALWAYS_US if kind == "item" else happened, place * LINES, name, value)
        facts.setdefault(item, []).append(fact)
    return Groups(by, {item: sorted(known) for item, known in facts.items()})


def _flow(row: "Row") -> FlowLine:
    line, source, target, how, *amounts = row
    received = Liquid(*amounts[:3])
    return FlowLine(line, source, target, how, received, received if amounts[3] is None else Liquid(*amounts[3:]))


def _has_words(flow: FlowLine) -> bool:
    return flow.left or flow.drawn or flow.sampled or flow.taken != flow.received


def _entries(store: "Store", numbers: Iterable[int]) -> dict[int, dict[str, Any]]:
    found = {}
    for marks, chunk in chunks(sorted(numbers)):
        for number, text in store.query(f"SELECT number, bytes FROM entry WHERE number IN ({marks})", chunk):
            found[number] = parsed(text)
    return found
