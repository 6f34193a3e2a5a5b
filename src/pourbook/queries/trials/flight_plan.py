"""A design of trials against the book: which vial each component is, what is left in it, how honest its portions are.

>>> from fractions import Fraction
>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.mixtures.designs import Request, design
>>> from pourbook.mixtures.regions import Region
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> for vial, ref, held in (("V000001R", "ash", "60 ml"), ("V000002P", "heather", "20 ml")):
...     filled = Pour("fill", (Move("origin", vial, read_amount(held), read_strength("60")),))
...     _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item(vial, {"ref": ref}), filled)))
>>> region = Region(("ash", "heather"), ((Fraction(0), Fraction(1)),) * 2)
>>> request = Request(3, "quadratic")
>>> asked = FlightAsked(region, request, design(region, request), read_amount("12 ml"), read_amount("0.5 ml"))
>>> [(vial.component, vial.item, vial.needed_ml, round(vial.held_ml)) for vial in flight_plan(book, asked).vials]
[('ash', 'V000001R', 18.0, 60), ('heather', 'V000002P', 18.0, 20)]
>>> flight_plan(book, asked._replace(total=read_amount("40 ml")))
Traceback (most recent call last):
    ...
pourbook.errors.NotThere: 3 glasses of 40 ml: V-000002-P holds 20.0 ml of 60.0 ml
"""

from collections.abc import Mapping
from shlex import quote
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.bench.flights import Flight, flight, largest_total_ml, needed_ml
from pourbook.bench.trials import WATER
from pourbook.book.components import component_called
from pourbook.book.items import held
from pourbook.codes.identifiers import hyphened, key_of, read_or_none
from pourbook.errors import Malformed, NotThere, Refused, Unknown
from pourbook.mixtures.designs import judged
from pourbook.numerals import counted
from pourbook.queries.items.called import called
from pourbook.queries.trials.components import choice, component_or_item
from pourbook.uncertainty.portions import least_portion_ml

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.mixtures.designs import Design, Merit, Request
    from pourbook.mixtures.regions import Region
    from pourbook.quantities import Amount
    from pourbook.uncertainty.instrument_errors import InstrumentErrors
    from pourbook.uncertainty.propagation import Uncertain

__all__ = ["FlightAsked", "FlightPlan", "FlightVial", "flight_plan"]


class FlightAsked(NamedTuple):
    """A design that is to be poured.

    Attributes:
        region: its components, named as items are called, and their bounds.
        request: what was asked of it.
        design: its glasses, and on which day each is poured.
        total: of each glass.
        mark: what volumes are read to.
        by: what measures a component, by its name; those without one are not judged.
        uses: the item taken for a component; those without one are items by their own names.
    """

    region: "Region"
    request: "Request"
    design: "Design"
    total: "Amount"
    mark: "Amount"
    by: Mapping[str, "InstrumentErrors"] = {}
    uses: Mapping[str, str] = {}


class FlightVial(NamedTuple):
    """A component of a flight as an item of the book.

    Attributes:
        component: as the design names it.
        kind: the component of the house that it is; empty for none.
        item: the identifier of what is taken for it, or "water".
        needed_ml: of it for all glasses.
        held_ml: what it holds, at 20 °C; None for water.
        smallest: the smallest portion of it, with its uncertainty; None where no instrument was named.
        instrument: what measures it; empty where none was named.
        least_ml: the smallest portion that this measures honestly; None where it measures none so.
    """

    component: str
    kind: str
    item: str
    needed_ml: float
    held_ml: float | None
    smallest: "Uncertain | None" = None
    instrument: str = ""
    least_ml: float | None = None

    @property
    def left_ml(self) -> float | None:
        """What remains in it afterwards; None for water."""
        return None if self.held_ml is None else self.held_ml - self.needed_ml

    @property
    def is_honest(self) -> bool:
        """Whether its smallest portion is large enough for its instrument."""
        return self.smallest is None or (self.least_ml is not None and self.smallest.value >= self.least_ml - 1e-9)


class FlightPlan(NamedTuple):
    """What to pour for a design.

    Attributes:
        flight: its glasses in volumes.
        vials: what they are poured from.
        called: what each of these is called, by identifier.
        merit: what the glasses teach as poured; None where they cannot tell all terms.
    """

    flight: Flight
    vials: tuple[FlightVial, ...]
    called: Mapping[str, str]
    merit: "Merit | None"


def flight_plan(book: "BookCore", asked: FlightAsked) -> FlightPlan:
    """The glasses of a design from what the book holds.

    Raises:
        NotThere: the vials do not hold enough for all glasses: which of them, and what total works.
        OutOfRange: the total is no whole number of marks; a portion that its instrument cannot measure.
        Malformed: two components are one item.
        Refused: a component of the house of which there are several vials, or none, and no item is named for it.
        PourbookError: a component is neither an item nor a component of the house.
    """
    total_ml, mark_ml = asked.total.volume_ml, asked.mark.volume_ml
    found = flight(asked.region, asked.design.glasses, asked.design.blocks, total_ml, mark_ml)
    needs = needed_ml(found)
    vials = [_vial(book, asked, found, name, float(needs[name])) for name in found.components]
    for vial in vials:
        if same := [other.component for other in vials if other.item == vial.item and other is not vial]:
            item = hyphened(vial.item)
            raise Malformed(f"'{vial.component}' and '{same[0]}' are one item, {item}", "name each vial once")
    short = [
        f"{hyphened(vial.item)} holds {vial.held_ml:.1f} ml of {vial.needed_ml:.1f} ml"
        for vial in vials
        if vial.held_ml is not None and vial.held_ml < vial.needed_ml
    ]
    if short:
        largest = largest_total_ml(asked.region, found, {vial.component: vial.held_ml for vial in vials})
        would_do = f"a total of {float(largest):g} ml would do; or " if largest else ""
        told = f"{counted(len(found.glasses), 'glass', 'glasses')} of {float(total_ml):g} ml"
        raise NotThere(f"{told}: {'; '.join(short)}", f"{would_do}draw another sample, or choose fewer glasses")
    merit = judged(asked.region, asked.request, [glass.parts for glass in found.glasses], asked.design.blocks)
    names = called(book.store, [vial.item for vial in vials if vial.item != WATER])
    return FlightPlan(found, tuple(vials), names, merit)


def _vial(book: "BookCore", asked: FlightAsked, found: Flight, name: str, needed_ml: float) -> FlightVial:
    kind, item = _taken(book, name, asked.uses)
    held_ml = None if item == WATER else volume_ml(held(book.store, key_of(item)).liquid)
    vial, place, by = FlightVial(name, kind, item, needed_ml, held_ml), found.components.index(name), asked.by.get(name)
    portions = [float(glass.volumes_ml[place]) for glass in found.glasses if glass.volumes_ml[place]]
    if by is None or not portions:
        return vial
    smallest = by.reading(min(portions), f"pour of {name}")
    return vial._replace(smallest=smallest, instrument=by.name, least_ml=least_portion_ml(by, float(found.mark_ml)))


def _taken(book: "BookCore", name: str, uses: Mapping[str, str]) -> tuple[str, str]:
    """The kind of spirit that a component of a design is, if the house has one so named, and the item taken for it."""
    if name == WATER:
        return "", WATER
    if name not in uses:
        try:
            item = component_or_item(book, name)
        except Unknown as unknown:
            raise Unknown(unknown.message, f"say which vial is taken for it: --use {quote(name)}=VIAL") from None
        if read_or_none(item) is not None:
            return "", item
    try:
        kind = component_called(book.store, name)
    except Unknown:
        return "", book.find(uses[name])
    if name in uses:
        return kind.name, book.find(uses[name])
    item, question = choice(book, kind, "vial", ())
    if not item:
        raise Refused(question.said, question.remedy)
    return kind.name, item
