"""The casks behind a glass: what a vial, a trial or a bottle is of, once every smaller glass is looked through.

A vial may be topped up from a second cask, decanted into another vial, or diluted; a trial may be poured into a
trial. What stands behind them is found by mass, as the trace finds it, and told as the volume that left each source.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> first, second, vial = book.next_id("cask"), "C000002F", book.next_id("vial")
>>> filled = [Move("origin", cask, read_amount("200 l"), read_strength("60")) for cask in (first, second)]
>>> drawn = [Move(cask, vial, read_amount(ml)) for cask, ml in ((first, "150 ml"), (second, "50 ml"))]
>>> _ = book.record(*(Draft(Item(item, {}), 0, "M. Aldane") for item in (first, second, vial)))
>>> _ = book.record(*(Draft(Pour("pour", (move,)), 0, "M. Aldane") for move in (*filled, *drawn)))
>>> [(one.source, round(one.share, 4)) for one in behind(book.store, vial)]
[('C000001H', 0.75), ('C000002F', 0.25)]
"""

from collections.abc import Collection
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.book.contents import EVER
from pourbook.book.lineages import Found, upstream_through, what_is_traced
from pourbook.codes.identifiers import GLASSES, key_of, kind_of, of_key
from pourbook.errors import Refused
from pourbook.lineage.graph import CARRY
from pourbook.liquid import Liquid

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["BLENDS", "Behind", "Part", "behind", "parts_of", "parts_taken", "sources_behind"]

BLENDS = ("vial", "trial", "batch", "lot")
"""What two blends are made of: casks alone."""


class Behind(NamedTuple):
    """A source of an item.

    Attributes:
        source: identifier, or "water" or "additive"; the glass itself for spirit that came into it from outside.
        share: its part of the item by mass, 0 to 1.
        ml_per_mg: volume at 20 °C of what left the source, for each milligram of it.
    """

    source: str
    share: float
    ml_per_mg: float


class Part(NamedTuple):
    """What a component brings into a blend from one source; volume at 20 °C, as it left the source."""

    component: str
    source: str
    volume_ml: float


def behind(
    store: "Store", identifier: str, through: Collection[str] = GLASSES, at_us: int | None = None
) -> tuple[Behind, ...]:
    """The sources of what an item holds, or held before it was emptied, looking through these kinds; largest first.

    Raises:
        Refused: nothing was ever poured into it.
    """
    holding, moment_us = what_is_traced(store, key_of(identifier), at_us, EVER)
    through = (*through, kind_of(identifier))  # its own earlier states are always looked through
    return _sources(upstream_through(store, (holding.state,), through, moment_us), holding.state, through)


def sources_behind(store: "Store", glass: str, *, outside: bool = False) -> tuple[str, ...]:
    """Casks, batches and lots behind a vial or trial, the largest first; none where it was never filled from one.

    With `outside`, vials that came from outside stand among them.
    """
    try:
        found = behind(store, glass)
    except Refused:
        return ()
    return tuple(one.source for one in found if one.source[0].isupper() and (outside or not _is_glass(one.source)))


def _is_glass(source: str) -> bool:
    return kind_of(source) in GLASSES


def parts_of(
    store: "Store", blend: str, through: Collection[str] = GLASSES, at_us: int | None = None
) -> tuple[Part, ...]:
    """What each component brought into a blend, from each source behind it, for all that the blend holds.

    In the order of pouring; of a component that came from several sources, the largest first.

    Raises:
        Refused: nothing was ever poured into it.
    """
    holding, moment_us = what_is_traced(store, key_of(blend), at_us, EVER)
    found = upstream_through(store, (holding.state,), (*through, kind_of(blend)), moment_us)
    lineage, key = found.lineage, key_of(blend)
    volumes: dict[tuple[str, str], float] = {}
    first_line: dict[str, int] = {}
    part = {holding.state: float(holding.mass_mg)}
    for state in reversed(lineage.order):
        if lineage.item_of[state] != key or state not in part:
            continue
        inflows = lineage.inflows[state]
        whole = sum(flow.mass_mg for flow in inflows)
        for flow in inflows:
            brought = part[state] * flow.mass_mg / whole
            if flow.how == CARRY:
                part[flow.source] = part.get(flow.source, 0.0) + brought
                continue
            component = of_key(lineage.item_of[flow.source]) if flow.source else flow.how
            first_line[component] = min(flow.line, first_line.get(component, flow.line))
            if flow.source and kind_of(component) in through:
                sources = _sources(found, flow.source, through)
            else:
                sources = (Behind(component, 1.0, _ml_per_mg(found, flow.line, Liquid(*flow[4:]))),)
            for source, share, ml_per_mg in sources:
                pair = component, source
                volumes[pair] = volumes.get(pair, 0.0) + brought * share * ml_per_mg
    parts = [Part(*pair, ml) for pair, ml in volumes.items()]
    return tuple(sorted(parts, key=lambda part: (first_line[part.component], -part.volume_ml)))


def parts_taken(store: "Store", source: str, volume_ml_20c: float) -> tuple[Part, ...]:
    """What a volume of an item brings into a blend: of a batch, as a heel, what is behind it; else itself."""
    if not source[0].isupper() or kind_of(source) != "batch":
        return (Part(source, source, volume_ml_20c),)
    holding, _ = what_is_traced(store, key_of(source), None, EVER)
    taken = volume_ml_20c / volume_ml(holding.liquid)
    return tuple(part._replace(volume_ml=part.volume_ml * taken) for part in parts_of(store, source, BLENDS))


def _sources(found: Found, start: int, through: Collection[str]) -> tuple[Behind, ...]:
    """Descending from a state by mass; what leaves an item that is not looked through is a source."""
    lineage = found.lineage
    part = {start: 1.0}
    masses: dict[str, float] = {}
    volumes: dict[str, float] = {}
    for state in reversed(lineage.order):
        if state not in part:
            continue
        inflows = lineage.inflows[state]
        whole = sum(flow.mass_mg for flow in inflows)
        for flow in inflows:
            brought = part[state] * flow.mass_mg / whole
            source = of_key(lineage.item_of[flow.source]) if flow.source else flow.how
            if flow.how == CARRY or (flow.source and kind_of(source) in through):
                part[flow.source] = part.get(flow.source, 0.0) + brought
                continue
            if source not in ("water", "additive") and not flow.source:
                source = of_key(lineage.item_of[state])
            masses[source] = masses.get(source, 0.0) + brought
            ml_per_mg = _ml_per_mg(found, flow.line, Liquid(*flow[4:]))
            volumes[source] = volumes.get(source, 0.0) + brought * ml_per_mg
    largest_first = sorted(masses, key=lambda source: -masses[source])
    return tuple(Behind(source, masses[source], volumes[source] / masses[source]) for source in largest_first)


def _ml_per_mg(found: Found, line: int, received: Liquid) -> float:
    liquid = found.left.get(line, received)
    return volume_ml(liquid) / liquid.mass_mg
