"""All that is under suspicion: items with their shares and where they are, cases, what left and to whom.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, vial = book.next_id("cask"), book.next_id("vial")
>>> fill = Move("origin", cask, 1000, composition=Liquid(1000, 400), facts={"distiller": "Corran Vale"})
>>> _ = book.record(
...     Draft(Item(cask, {}), 0, "M. Aldane"), Draft(Item(vial, {}), 0, "M. Aldane"),
...     Draft(Pour("fill", (fill,)), 0, "M. Aldane"), Draft(Pour("draw", (Move(cask, vial, 10),)), 1, "M. Aldane"),
... )
>>> found = affected(book.store, (Suspect("origin", "Corran Vale"),), EVER)
>>> [(one.item.id, one.now.mass, one.suspect_mg) for one in found.items]
[('C000001H', 1.0, 990), ('V000001R', 1.0, 10)]
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from pourbook.book.bottles import BottleCount, bottle_count
from pourbook.book.contents import EVER
from pourbook.book.flows import Flow, flows_of_states
from pourbook.book.items import ItemView, by_kind, views
from pourbook.book.journal import entry_of, line_of
from pourbook.book.lineages import downstream, received
from pourbook.book.recall_scope import Suspect
from pourbook.book.store import Store
from pourbook.book.trade_numbers import Unit, units_of
from pourbook.codes.identifiers import key_of, of_key
from pourbook.lineage.bases import WEIGH, Basis
from pourbook.lineage.graph import RETURN, Inflow, Lineage, Seeds
from pourbook.lineage.shares import Forward, trace_forward
from pourbook.liquid import Liquid
from pourbook.queries.recalls.suspects import Beginning, beginning

__all__ = ["NO_SHARES", "Affected", "AffectedItem", "Departure", "Shares", "affected"]


class Shares(NamedTuple):
    """A share by each basis: pure alcohol, mass, volume at 20 °C."""

    alcohol: float
    mass: float
    volume: float

    @property
    def greatest(self) -> float:
        """The greatest of them, which a threshold is compared with."""
        return max(self)


NO_SHARES = Shares(0.0, 0.0, 0.0)


class AffectedItem(NamedTuple):
    """An item that the suspicion reaches.

    Attributes:
        item: as it is at the moment asked for: place, facts, what it holds.
        is_suspect: whether the trace begins in it.
        ever: the part, of all that was ever poured into it, that is suspect; 1 where the trace begins in it.
        now: the part of what it holds; nothing when it is empty.
        bottles: of a lot that was bottled by count; None for anything else.
        units: cases and pallets of a lot.
    """

    item: ItemView
    is_suspect: bool
    ever: Shares
    now: Shares
    bottles: BottleCount | None = None
    units: tuple[Unit, ...] = ()

    @property
    def greatest(self) -> float:
        """The greatest share, ever or now, by any basis."""
        return max(self.ever.greatest, self.now.greatest)

    @property
    def suspect_mg(self) -> int:
        """Mass of suspect liquid in what it holds, to the milligram."""
        return round(self.now.mass * self.item.holding.mass_mg)


class Departure(NamedTuple):
    """Affected liquid that left the house, or came back.

    Attributes:
        item: identifier of what it left, or came back to.
        what: "despatch" or "return".
        entry: number of the entry.
        happened_us: when.
        who: recorded it.
        liquid: how much.
        part: of it by mass that is suspect.
        facts: customer, document, bottles …
    """

    item: str
    what: str
    entry: int
    happened_us: int
    who: str
    liquid: Liquid
    part: float
    facts: dict[str, Any]


class Affected(NamedTuple):
    """An answer.

    Attributes:
        suspects: what it begins with.
        begin: where that entered the liquid.
        threshold: items with smaller shares by every basis are left out.
        items: by kind and number.
        departures: in order of time.
        states: of those items, that hold or held suspect liquid, each with its item's key.
        flows: into and out of those states, and suspect pours that left the house.
    """

    suspects: tuple[Suspect, ...]
    begin: Beginning
    threshold: float
    items: tuple[AffectedItem, ...]
    departures: tuple[Departure, ...]
    states: dict[int, int]
    flows: tuple[Flow, ...] = ()

    @property
    def on_hand(self) -> tuple[AffectedItem, ...]:
        """Items that hold suspect liquid: what a recall puts on hold."""
        return tuple(one for one in self.items if one.now.greatest > 0 and one.now.greatest >= self.threshold)


def affected(store: Store, suspects: Sequence[Suspect], until_us: int = EVER, threshold: float = 0.0) -> Affected:
    """All that suspects (any of them is enough) reach up to a moment, in one snapshot of the store.

    Items with smaller shares than `threshold` are left out; 0 names any positive amount.

    Raises:
        PourbookError: a suspect is unknown, or touched no liquid.
    """
    begin = beginning(store, suspects, until_us)
    found = downstream(store, begin.since.keys() | begin.into, until_us)
    lineage = _cut(found.lineage, begin.since)
    of_basis = _traced(store, lineage, begin, until_us)
    reached = of_basis["mass"].states
    items = _items(store, lineage, of_basis, begin, until_us, threshold)
    keys = {key_of(one.item.id) for one in items}
    states = {state: item for state, item in lineage.item_of.items() if reached[state] > 0 and item in keys}
    every = flows_of_states(store, states.keys() | begin.out_of.values(), until_us)
    flows = tuple(one for one in every if one.target in states or one.source in states or one.line in begin.out_of)
    departures = _departures(store, begin, flows, states, reached)
    return Affected(tuple(suspects), begin, threshold, items, departures, states, flows)


def _cut(lineage: Lineage, since: Mapping[int, int]) -> Lineage:
    """Without what left a state before that became suspect."""

    def cut(flow: Inflow) -> Inflow:
        return flow._replace(source=0) if flow.happened_us < since.get(flow.source, flow.happened_us) else flow

    return lineage._replace(inflows={state: tuple(map(cut, flows)) for state, flows in lineage.inflows.items()})


def _traced(store: Store, lineage: Lineage, begin: Beginning, until_us: int) -> dict[Basis, Forward]:
    seeds = Seeds(frozenset(begin.since), begin.lines)
    items = set(lineage.item_of.values())
    latest = {key: view.holding.state for key, view in views(store, items, until_us).items() if view.holding.mass_mg}
    weights = received(store, sorted(items), tuple(WEIGH), until_us)
    return {basis: trace_forward(lineage, seeds, WEIGH[basis], latest, weights[basis]) for basis in WEIGH}


def _items(
    store: Store, lineage: Lineage, of_basis: Mapping[Basis, Forward], begin: Beginning, until_us: int, least: float
) -> tuple[AffectedItem, ...]:
    suspect = {lineage.item_of[state] for state in begin.since if state in lineage.item_of}
    reached = of_basis["mass"].states
    keys = {lineage.item_of[state] for state, part in reached.items() if part > 0}
    seen = views(store, sorted(keys, key=by_kind), until_us)

    def shares(key: int, times: str) -> Shares:
        parts = (getattr(of_basis[basis], times).get(key, 0.0) for basis in ("alcohol", "mass", "volume"))
        return Shares(*parts)

    every = (
        AffectedItem(
            view,
            key in suspect,
            Shares(1.0, 1.0, 1.0) if key in suspect else shares(key, "items"),
            shares(key, "now") if view.holding.mass_mg else NO_SHARES,
        )
        for key, view in seen.items()
    )
    return tuple(_packed(store, one, until_us) for one in every if one.greatest >= least)


def _packed(store: Store, one: AffectedItem, until_us: int) -> AffectedItem:
    if one.item.kind != "lot":
        return one
    units = tuple(unit for unit in units_of(store, one.item.id) if unit.packed_us <= until_us)
    return one._replace(bottles=bottle_count(store, one.item.id, until_us), units=units)


# -- what left the house, and came back ------------------------------------------------------


def _departures(
    store: Store,
    begin: Beginning,
    flows: Iterable[Flow],
    states: Mapping[int, int],
    reached: Mapping[int, float],
) -> tuple[Departure, ...]:
    found = []
    for flow in flows:
        if flow.how == RETURN and flow.target in states:
            found.append(_departure(store, flow, flow.target_item, reached[flow.target]))
        elif flow.how == "despatch" and begin.leaves_suspect(flow.line, flow.source, flow.happened_us, states):
            part = 1.0 if flow.line in begin.lines else reached[flow.source]
            found.append(_departure(store, flow, flow.source_item, part))
    return tuple(sorted(found, key=lambda one: (one.happened_us, one.entry)))


def _departure(store: Store, flow: Flow, item: int | None, part: float) -> Departure:
    logged = entry_of(store, flow.entry)
    told = line_of(logged.entry["body"], flow.line).get("facts", {})
    facts = {
        name: told[name]
        for name in (
            "customer", "address", "contact", "document", "bottles", "units", "purpose", "disposition", "place", "site",
        )
        if name in told
    }  # fmt: skip
    return Departure(
        of_key(item or 0), flow.how, flow.entry, flow.happened_us, logged.entry["who"], flow.received, part, facts
    )
