"""The history of a cask: what is known of the wood, what happened to it, each fill in this book and what it gave.

>>> from pourbook import Book, Draft, Item, Move, Note, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, lot = book.next_id("cask"), book.next_id("lot")
>>> fill = Move("origin", cask, read_amount("200 l"), read_strength("63.5"), facts={"spirit": "malt spirit"})
>>> entries = (
...     Item(cask, {"previous": "red wine; fortified wine", "earlier_fills": "1"}), Item(lot, {}),
...     Note(cask, "dry, sulphured", "arrival"), Pour("fill", (fill,)), Pour("bottle", (Move(cask, lot, None),)),
... )
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> found = provenance(book, cask)
>>> found.previous, [one.text for one in found.events]
(('red wine', 'fortified wine'), ['dry, sulphured'])
>>> [(one.number, one.spirits, [(gave.item.id, round(gave.share, 3)) for gave in one.gave]) for one in found.fills]
[(2, ('malt spirit',), [('L000001C', 1.0)])]
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import pure_alcohol_ml, strength_20c, volume_ml
from pourbook.book.approvals import Stood, covering
from pourbook.book.contents import EVER, LINES
from pourbook.book.fillings import Filling, fillings
from pourbook.book.items import ItemView, by_kind, text_listed, views
from pourbook.book.journal import entry_of
from pourbook.book.lineages import Found, downstream, received
from pourbook.book.search import LedgerLine, ledger_lines, stated, told
from pourbook.book.tasting_search import has_notes
from pourbook.codes.identifiers import hyphened, key_of, kind_of, of_key
from pourbook.errors import Refused
from pourbook.gauging.evaporation import Evaporation, evaporation
from pourbook.lineage.ages import WoodAge
from pourbook.lineage.bases import WEIGH
from pourbook.lineage.graph import Inflow, Lineage, Seeds
from pourbook.lineage.shares import trace_forward
from pourbook.liquid import EMPTY, Liquid
from pourbook.numerals import a_or_an
from pourbook.queries.casks.choosing import spirit_of
from pourbook.queries.items.item_notes import ItemNote, item_notes
from pourbook.queries.tastings.notes import notes_of
from pourbook.queries.tastings.search import FoundNote, notes_around
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.opinions import Opinion, opinion
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = [
    "WOOD_FACTS", "CaskFill", "Gave", "Poured", "Provenance", "WoodChange", "provenance",
]  # fmt: skip

WOOD_FACTS = ("wood", "cooper", "toast", "char", "seasoning", "capacity_l")
"""What is known of the vessel itself, in the order in which it is shown."""

_GIVEN_TO = ("trial", "batch", "lot", "cask")


class WoodChange(NamedTuple):
    """A fact of the wood that changed: recharred, cut down.

    Attributes:
        entry: its number.
        happened_us: when.
        who: recorded it.
        name: of the fact.
        before: its value until then; empty where nothing was known.
        value: since then; empty where it is no longer stated.
    """

    entry: int
    happened_us: int
    who: str
    name: str
    before: str
    value: str


class Poured(NamedTuple):
    """A pour into a fill.

    Attributes:
        entry: its number.
        happened_us: when.
        source: an item, or the word for outside.
        spirit: what spirit, as far as it is known.
        liquid: what it brought.
    """

    entry: int
    happened_us: int
    source: str
    spirit: str
    liquid: Liquid


class Gave(NamedTuple):
    """What a fill gave to another item, however many pours on.

    Attributes:
        item: a trial, batch, lot or cask.
        share: the part, by pure alcohol, of all that was ever poured into the item.
        liquid: that part of it, extract left out: what it would be by itself at the strength of the fill.
        is_direct: whether it was poured from the cask itself.
        opinion: what was thought of a trial, batch or lot, by its own notes; None where it has none.
        approval: how its approval stands; "not approved" where nobody said anything, and of what is none such.
    """

    item: ItemView
    share: float
    liquid: Liquid
    is_direct: bool
    opinion: Opinion | None = None
    approval: Stood = "not approved"

    @property
    def volume_ml_20c(self) -> float:
        """Volume of that part at 20 °C."""
        return volume_ml(self.liquid)

    @property
    def strength_20c(self) -> float | None:
        """Its strength, % vol at 20 °C."""
        return strength_20c(self.liquid)

    @property
    def pure_alcohol_ml(self) -> float:
        """Volume of the pure alcohol in it, at 20 °C."""
        return pure_alcohol_ml(self.liquid)


class CaskFill(NamedTuple):
    """One fill, from the first pour into the empty cask until it was empty again.

    Attributes:
        number: how many times the cask had been filled with spirit, this one counted.
        poured: what went in, in order of time; empty where a gauge found liquid that nobody had recorded.
        begun_us: when.
        ended_us: when it was empty; None while it is not.
        filled: what lay in it once it was filled.
        last: what lies in it, or lay in it just before it was emptied.
        age: time in wood of the spirit, now or when it was emptied; unknown where nobody said what it brought.
        lost_ethanol_mg: pure ethanol that gauges found gone and recorded losses took; below zero where more was found.
        loss: what a year took, by its gauges; None where they are too few.
        samples: how many vials were drawn, and their volume at 20 °C in ml.
        gave: in the order of kinds and numbers.
    """

    number: int
    poured: tuple[Poured, ...]
    begun_us: int
    ended_us: int | None
    filled: Liquid
    last: Liquid
    age: WoodAge
    lost_ethanol_mg: int
    loss: Evaporation | None
    samples: tuple[int, float]
    gave: tuple[Gave, ...]

    @property
    def spirits(self) -> tuple[str, ...]:
        """What spirit, each named once."""
        return tuple(dict.fromkeys(filter(None, (one.spirit for one in self.poured))))


class Provenance(NamedTuple):
    """The history of a cask.

    Attributes:
        view: the cask at the moment asked about.
        previous: what it held before it came here, as typed, the oldest first.
        events: notes of its arrival, of inspections, treatments and repairs, in order of time.
        changes: of facts of the wood and of previous contents, in order of time.
        fills: in order of time.
        until_us: the moment up to which it goes.
        tastings: notes of what was found in it, and in glasses of what it holds, in order of time.
    """

    view: ItemView
    previous: tuple[str, ...]
    events: tuple[ItemNote, ...]
    changes: tuple[WoodChange, ...]
    fills: tuple[CaskFill, ...]
    until_us: int
    tastings: tuple[FoundNote, ...] = ()


def provenance(book: "BookCore", text: str, at_us: int | None = None) -> Provenance:
    """The history of a cask, until now or until a moment.

    Raises:
        Refused: it is not a cask.
        PourbookError: no such item.
    """
    store = book.store
    with store.snapshot():
        view = book.show(text, at_us)
        if view.kind != "cask":
            raise Refused(f"{hyphened(view.id)} is {a_or_an(view.kind)}, not a cask", "name a cask")
        key, until_us = key_of(view.id), EVER if at_us is None else at_us
        events = sorted((one for one in item_notes(store, key, at_us) if one.subject), key=lambda one: one.happened_us)
        return Provenance(
            view,
            text_listed(view.facts.get("previous", "")),
            tuple(events),
            tuple(_changes(store, key, until_us)),
            tuple(_fills(book, view, until_us)),
            book.clock() if at_us is None else at_us,
            notes_around(book, view.id, at_us) if has_notes(store) else (),
        )


def _changes(store: "Store", key: int, until_us: int) -> Iterator[WoodChange]:
    known: dict[str, str] = {}
    for one in stated(store, (*WOOD_FACTS, "previous"), (key,), until_us):
        before, known[one.name] = known.get(one.name, ""), one.value
        if not one.opens and before != one.value:
            who = entry_of(store, one.place).entry["who"]
            yield WoodChange(one.place, one.happened_us, who, one.name, before, one.value)


# -- fills -------------------------------------------------------------------------------


def _fill_lines(lines: Iterable[LedgerLine]) -> list[list[LedgerLine]]:
    """The ledger of a cask, cut into fills; the line that emptied it is the last of its fill."""
    found: list[list[LedgerLine]] = []
    held = 0
    for line in lines:
        if not held and line.after.mass_mg:
            found.append([])
        if held or line.after.mass_mg:
            found[-1].append(line)
        held = line.after.mass_mg
    return found


def _fills(book: "BookCore", view: ItemView, until_us: int) -> Iterator[CaskFill]:
    store, key = book.store, key_of(view.id)
    measured = fillings(store, (key,), until_us)[key]
    earlier = int(view.facts.get("earlier_fills", "0"))
    for number, lines in enumerate(_fill_lines(ledger_lines(store, (key,), until_us)), earlier + 1):
        begun_us, is_over = lines[0].happened_us, not lines[-1].after.mass_mg
        ended_us = lines[-1].happened_us if is_over else None
        held = [line for line in lines if line.after.mass_mg]
        states = frozenset(line.after.state for line in held)
        found = downstream(store, states, until_us)
        traced = trace_back(book, view.id, at_us=ended_us if is_over else None if until_us == EVER else until_us)
        yield CaskFill(
            number,
            tuple(_poured(store, view, lines)),
            begun_us,
            ended_us,
            next((line for line in reversed(held) if _is_filling(view, line, begun_us)), held[0]).after.liquid,
            held[-1].after.liquid,
            traced.age,
            _lost_ethanol_mg(lines),
            _loss(measured, begun_us, ended_us),
            _samples(found, states),
            tuple(_with_opinions(book, _gave(store, found, states, key, until_us), until_us)),
        )


def _is_filling(view: ItemView, line: LedgerLine, begun_us: int) -> bool:
    return told(line).get("to") == view.id and line.happened_us - begun_us <= DAY_US


def _poured(store: "Store", view: ItemView, lines: Sequence[LedgerLine]) -> Iterator[Poured]:
    before = EMPTY
    for line in lines:
        moved, after = told(line), line.after.liquid
        if moved.get("to") == view.id:
            spirit = spirit_of(store, view, moved, line.happened_us)
            yield Poured(line.line // LINES, line.happened_us, str(moved["from"]), spirit, after - before)
        before = after


def _lost_ethanol_mg(lines: Sequence[LedgerLine]) -> int:
    lost, before = 0, EMPTY
    for line in lines:
        moved, after = told(line), line.after.liquid
        if "item" in moved or moved["to"] == "loss":
            lost += before.ethanol_mg - after.ethanol_mg
        before = after
    return lost


def _loss(measured: Sequence[Filling], begun_us: int, ended_us: int | None) -> Evaporation | None:
    """By the longest run of gauges within a fill that nothing but small draws disturbed."""
    within = [
        one
        for one in measured
        if one.readings[0].happened_us >= begun_us and (ended_us is None or one.readings[0].happened_us < ended_us)
    ]
    for one in sorted(within, key=lambda filling: len(filling.readings), reverse=True):
        try:
            return evaporation(one.readings)
        except Refused:
            continue
    return None


# -- what a fill gave ----------------------------------------------------------------------


def _direct(lineage: Lineage, states: frozenset[int]) -> dict[int, list[Inflow]]:
    """Items that were poured into from these states themselves, with those pours."""
    own = {lineage.item_of[state] for state in states}
    found: dict[int, list[Inflow]] = {}
    for state in lineage.order:
        for flow in lineage.inflows[state]:
            if flow.source in states and lineage.item_of[state] not in own:
                found.setdefault(lineage.item_of[state], []).append(flow)
    return found


def _samples(found: Found, states: frozenset[int]) -> tuple[int, float]:
    direct = _direct(found.lineage, states)
    vials = [flows for key, flows in direct.items() if kind_of(of_key(key)) == "vial"]
    drawn = (found.left.get(flow.line, Liquid(*flow[4:])) for flows in vials for flow in flows)
    return len(vials), sum(map(volume_ml, drawn))


def _gave(store: "Store", found: Found, states: frozenset[int], cask: int, until_us: int) -> Iterator[Gave]:
    lineage = found.lineage
    reached = set(lineage.item_of.values())
    others = [key for key in reached - {cask} if kind_of(of_key(key)) in _GIVEN_TO]
    whole = received(store, reached, ("alcohol", "mass"), until_us)
    by_alcohol, by_mass = (
        trace_forward(lineage, Seeds(states), WEIGH[basis], {}, whole[basis]).items for basis in ("alcohol", "mass")
    )
    direct = _direct(lineage, states)
    seen = views(store, others, None if until_us == EVER else until_us)
    for key in sorted(others, key=by_kind):
        mass_mg, ethanol_mg = by_mass[key] * whole["mass"][key][0], by_alcohol[key] * whole["alcohol"][key][0]
        liquid = Liquid(round(mass_mg), min(round(ethanol_mg), round(mass_mg)))
        yield Gave(seen[key], by_alcohol[key], liquid, key in direct)


def _with_opinions(book: "BookCore", gave: Iterable[Gave], until_us: int) -> Iterator[Gave]:
    """What was thought of each, where the house writes notes at all, and how its approval stands."""
    store, at_us = book.store, None if until_us == EVER else until_us
    writes_notes = has_notes(store)
    for one in gave:
        notes = list(notes_of(book, one.item.id, at_us)) if writes_notes else []
        stands = covering(store, one.item.id, at_us).stands if one.item.kind in ("batch", "lot") else one.approval
        yield one._replace(opinion=opinion(notes) if notes else None, approval=stands)
