"""From the events of another house to what arrives: its liquid, and what of it came from where.

Liquid mixes perfectly in every class of goods: what is taken has the shares of what is there. Shares are kept
by pure alcohol, by mass and by extract, as a trace counts them, and are not touched by a gauge. Time in wood
is that of the youngest part. A class that no event brings into being is taken as coming from outside.

>>> from pourbook.exchange.epcis.epcis_event import Event, Quantity
>>> from pourbook.exchange.tables.columns import Faults
>>> cask = (Quantity("x:cask", Decimal(200), "KGM", ""),)
>>> said = {"strength_20c": 60}
>>> made = Event(1, "", "ObjectEvent", 0, "ADD", "commissioning", "", (), (), cask, {}, said)
>>> sent = made._replace(number=2, happened_us=9, action="OBSERVE", step="shipping", known={})
>>> [(one.of, one.liquid.mass_mg, list(one.shares)) for one in arrivals((made, sent), "t.jsonld", Faults())]
[('x:cask', 200000000, ['x:cask'])]
"""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from pourbook.alcoholometry.strength import mass_fraction
from pourbook.alcoholometry.volumes import liquid_of, mass_mg_of_volume
from pourbook.errors import Fault
from pourbook.exchange.epcis.epcis_event import Content, Event, Quantity
from pourbook.exchange.epcis.epcis_words import BROUGHT, MASS_MG, VOLUME_ML
from pourbook.exchange.tables.columns import Faults
from pourbook.lineage.ages import WoodTime, brought, least, longer
from pourbook.liquid import EMPTY, Liquid
from pourbook.quantities import Strength, read_strength
from pourbook.times import DAY_US, written

__all__ = ["Arrival", "Share", "Source", "arrivals", "unused"]

_SPIRIT = ("origin", "unexplained", "")
"""What has an age; water and additives have none."""


class Source(NamedTuple):
    """A class, at the address `of`, that came from outside the other house or begins there.

    `event` (its identifier) brought it, `kind` is origin, water, additive …; either may be empty. `known` is what is
    said of it. Where no event had it `begun`, nobody says what it is made of.
    """

    of: str
    event: str
    kind: str
    known: Mapping[str, Any]
    begun: bool = True


class Share(NamedTuple):
    """A source's parts of the alcohol, mass and extract of a body of liquid.

    `wood` is its time in wood when the body was last touched (None: unknown), in casks of these `woods`.
    """

    alcohol: float
    mass: float
    extract: float
    wood: WoodTime | None
    woods: frozenset[str]


class Arrival(NamedTuple):
    """Liquid of the class `of`, sent at `sent_us` by the shipping event (None where a class was named).

    `shares` and `sources` are by the address of each source. `brought` is what the vessels it was ever in bring: the
    word (previous contents, allergens) and what was told.
    """

    of: str
    sent_us: int
    liquid: Liquid
    shares: Mapping[str, Share]
    sources: Mapping[str, Source]
    event: Event | None = None
    brought: frozenset[tuple[str, str]] = frozenset()


class _Body(NamedTuple):
    liquid: Liquid
    shares: Mapping[str, Share]
    since_us: int
    wood: str | None = None
    """What kind of wood it lies in; None where it lies in none."""
    brought: frozenset[tuple[str, str]] = frozenset()
    """What the vessels it was in bring, by the word for it."""

    def at(self, moment_us: int) -> "_Body":
        """As it is at a later moment: time in wood has gone on."""
        if self.wood is None:
            return self._replace(since_us=moment_us)
        shares = {
            of: share._replace(
                wood=share.wood and longer(share.wood, self.since_us, moment_us),
                woods=share.woods | {self.wood} - {""},
            )
            for of, share in self.shares.items()
        }
        return self._replace(shares=shares, since_us=moment_us)


def unused(events: Iterable[Event]) -> list[str]:
    """Classes made in bulk and never used: what may be arriving."""
    made = dict.fromkeys(one.of for event in events for one in _made(event) if one.bulk)
    taken = {one.of for event in events for one in event.inputs}
    return [of for of in made if of not in taken]


def arrivals(
    events: Sequence[Event], file: str, faults: Faults, strength: Strength | None = None, item: str = ""
) -> list[Arrival]:
    """What events (in order of time) ship in bulk, or all of one class; faults are listed.

    `strength` is that of what has none in the document; `item` the address of a shipping event, of its destination
    or of a class, empty for whatever is shipped.
    """
    shipped = [event for event in events if event.step == "shipping" and any(q.bulk for q in event.goods)]
    sent = [event for event in shipped if not item or item == event.id or item in event.to.split()]
    wanted = {one.of for event in sent for one in event.goods if one.bulk} if sent or not item else {item}
    needed = _lineage(events, wanted)
    mixing = _Mixing(file, faults, strength, events)
    for event in events:
        if event.kind == "TransformationEvent":
            if needed.intersection(one.of for one in (*_used(event), *_made(event))):
                mixing.transform(event)
        elif event.kind == "ObjectEvent":
            for one in event.goods:
                if one.of in needed:
                    mixing.apply(event, one, sent=one.bulk and event in sent)
    if not sent and item in mixing.bodies:
        mixing.send(item, mixing.bodies[item], mixing.bodies[item].since_us)
    return mixing.sent


def _lineage(events: Sequence[Event], wanted: Iterable[str]) -> set[str]:
    """Some classes and all that went into them."""
    needed, before = set(wanted), -1
    while len(needed) > before:
        before = len(needed)
        for event in reversed(events):
            if event.kind == "TransformationEvent" and needed.intersection(one.of for one in _made(event)):
                needed.update(one.of for one in _used(event))
    return needed


class _Mixing:
    """What is where, event by event."""

    def __init__(self, file: str, faults: Faults, strength: Strength | None, events: Sequence[Event]) -> None:
        self.bodies: dict[str, _Body] = {}
        self.sources: dict[str, Source] = {}
        self.sent: list[Arrival] = []
        self._file, self._faults = file, faults
        self._fraction = None if strength is None else mass_fraction(strength)
        self._made_us: dict[str, int] = {}
        for event in events:
            for one in _made(event):
                self._made_us.setdefault(one.of, event.happened_us)

    def _fault(self, event: Event, one: Quantity, problem: str, remedy: str) -> None:
        column = f"event {event.number}, $.epcisBody.eventList[{event.number - 1}]{one.path}"
        self._faults.add(Fault(self._file, 0, column, one.of, problem, remedy))

    def apply(self, event: Event, one: Quantity, *, sent: bool) -> None:
        """What an event other than a transformation did with a quantity."""
        if event.action == "ADD":
            self._arrive(event, one)
        elif sent:
            self.send(one.of, self._taken(event, one), event.happened_us, event)
        elif event.action == "DELETE" or (event.step == "shipping" and one.bulk):
            self._taken(event, one)
        elif event.step in ("inspecting", "stock_taking", "cycle_counting", "receiving"):
            self._observed(event, one)

    def send(self, of: str, body: _Body | None, moment_us: int, event: Event | None = None) -> None:
        """Add what is sent to `sent`."""
        if body is not None and body.liquid.mass_mg:
            body = body.at(moment_us)
            sources = {source: self.sources[source] for source in body.shares}
            self.sent.append(Arrival(of, moment_us, body.liquid, body.shares, sources, event, body.brought))

    # -- kinds of events -------------------------------------------------------------------

    def transform(self, event: Event) -> None:
        """What a transformation did."""
        outputs = _made(event)
        taken = [
            _arrived(body, event.contents.get(one.of)).at(event.happened_us)
            for one in _used(event)
            if (body := self._taken(event, one)) is not None
        ]
        if not taken:
            return
        mixed = _mixed(taken)
        if "kind" in event.known:
            wood = str(event.known.get("wood", "")) if event.known["kind"] == "cask" else None
        else:
            wood = self.bodies[outputs[0].of].wood if outputs[0].of in self.bodies else None
        brought = frozenset((name, str(event.known[name])) for name in BROUGHT if event.known.get(name))
        # An output that is only counted gets what the others leave.
        said = [self._amount(event, one, mixed.liquid) for one in outputs]
        rest_mg = max(mixed.liquid.mass_mg - sum(liquid.mass_mg for liquid in said if liquid), 0)
        part_mg = rest_mg // (said.count(None) or 1)
        divided = [mixed.liquid.scaled(part_mg) if liquid is None else liquid for liquid in said]
        made_mg = sum(liquid.mass_mg for liquid in divided)
        if _is_more(made_mg, mixed.liquid.mass_mg):
            problem = f"is {made_mg / 1e6:g} kg with the other outputs; only {mixed.liquid.mass_mg / 1e6:g} kg went in"
            self._fault(event, outputs[0], problem, "ask the sender what is missing, such as water")
        for one, liquid in zip(outputs, divided, strict=True):
            self._into(one.of, mixed._replace(liquid=liquid, wood=wood, brought=mixed.brought | brought))

    def _arrive(self, event: Event, one: Quantity) -> None:
        """From outside."""
        liquid = self._amount(event, one, None)
        if liquid is None:
            self._fault(event, one, "has no amount, or no known strength", _ASK)
            return
        wood_days = event.known.get("wood_days")
        kind = str(event.known.get("kind", ""))
        self.sources.setdefault(one.of, Source(one.of, event.id, kind, event.known, event.action == "ADD"))
        earned = None if wood_days is None else brought(int(wood_days) * DAY_US, event.happened_us)
        share = Share(1.0, 1.0, 1.0, earned if kind in _SPIRIT else None, frozenset())
        self._into(one.of, _Body(liquid, {one.of: share}, event.happened_us))

    def _observed(self, event: Event, one: Quantity) -> None:
        """A gauge: what is there; ancestry is not touched."""
        body = self.bodies.get(one.of)
        if body is None:
            if one.of not in self._made_us:
                self._arrive(event, one)
            return
        liquid = self._amount(event, one, body.liquid)
        if liquid is not None:
            self.bodies[one.of] = body.at(event.happened_us)._replace(liquid=liquid)

    # -- bodies ------------------------------------------------------------------------------

    def _into(self, of: str, new: _Body) -> None:
        held = self.bodies.get(of)
        if held is None or not held.liquid.mass_mg:
            self.bodies[of] = new
        else:
            self.bodies[of] = _mixed([held.at(new.since_us), new])._replace(wood=new.wood)

    def _taken(self, event: Event, one: Quantity) -> _Body | None:
        """What an event takes of a class; None for a fault or nothing."""
        if one.of not in self.bodies:
            made_us = self._made_us.get(one.of)
            if made_us is not None and made_us >= event.happened_us:
                when = written(event.happened_us), written(made_us)
                problem = f"is used at {when[0]} but made only at {when[1]}"
                self._fault(event, one, problem, "ask the sender for the right times")
                return None
            if made_us is None:
                self._arrive(event, one)
        held = self.bodies.get(one.of)
        if held is None:
            return None
        held = held.at(event.happened_us)
        liquid = self._amount(event, one, held.liquid) or held.liquid
        if _is_more(liquid.mass_mg, held.liquid.mass_mg):
            problem = f"gives {liquid.mass_mg / 1e6:g} kg but then holds only {held.liquid.mass_mg / 1e6:g} kg"
            self._fault(event, one, problem, "ask the sender what is missing, or which quantity is right")
        self.bodies[one.of] = held._replace(liquid=_rest(held.liquid, liquid))
        return held._replace(liquid=liquid, wood=None)

    def _amount(self, event: Event, one: Quantity, there: Liquid | None) -> Liquid | None:
        """A quantity as liquid: by the contents given, else by the strength of what is there, or as told."""
        content = event.contents.get(one.of)
        if content is not None and content.liquid is not None:
            return content.liquid
        if one.number is None or not one.unit:
            return None
        if there is not None and there.mass_mg:
            spirit = there.mass_mg - there.extract_mg
            fraction, extract = (there.ethanol_mg / spirit if spirit else 0.0), there.extract_mg / there.mass_mg
        else:
            told = self._told(event)
            if told is None:
                return None
            fraction, extract = told, 0.0
        if one.unit in MASS_MG:
            mass_mg = round(one.number * MASS_MG[one.unit])
        else:
            mass_mg = mass_mg_of_volume(float(one.number * VOLUME_ML[one.unit]), fraction, 20.0, extract)
        return there.scaled(mass_mg) if there is not None and there.mass_mg else liquid_of(mass_mg, fraction, 0)

    def _told(self, event: Event) -> float | None:
        """The mass fraction by the event, its kind or the importer."""
        if event.known.get("kind") == "water":
            return 0.0
        if "strength_20c" in event.known:
            return mass_fraction(read_strength(f"{Decimal(event.known['strength_20c']):f}"))
        return self._fraction


_ASK = "ask the sender for the quantity in mass or volume; give a missing strength with --strength"


def _is_more(said_mg: int, there_mg: int) -> bool:
    """Whether a mass exceeds what there is by more than 1 g and 0.5 %, which the book lets pass, too."""
    return said_mg - there_mg > max(1000, there_mg // 200)


def _used(event: Event) -> tuple[Quantity, ...]:
    """What goes into a transformation; between its events, liquid goes by the name of the group."""
    return event.inputs or (Quantity(event.group, None, "", ""),)


def _made(event: Event) -> tuple[Quantity, ...]:
    """What comes into being by an event."""
    if event.kind == "TransformationEvent":
        return event.outputs or (Quantity(event.group, None, "", ""),)
    return event.goods if event.action == "ADD" else ()


def _arrived(body: _Body, content: Content | None) -> _Body:
    """What was taken, as it arrived where it was poured."""
    if content is not None and content.received_mg is not None and body.liquid.mass_mg:
        body = body._replace(liquid=body.liquid.scaled(content.received_mg))
    if content is not None and content.redistilled:
        none = WoodTime(0, body.since_us)
        body = body._replace(shares={of: share._replace(wood=none) for of, share in body.shares.items()})
    return body


def _rest(held: Liquid, taken: Liquid) -> Liquid:
    rest = Liquid(*(max(0, has - gone) for has, gone in zip(held, taken, strict=True)))
    return EMPTY if rest.mass_mg < rest.ethanol_mg + rest.extract_mg else rest


def _mixed(bodies: Sequence[_Body]) -> _Body:
    """Bodies in one: every share is weighed by what its body brings; by mass where none brings any."""
    liquids = [body.liquid for body in bodies]
    masses = [liquid.mass_mg for liquid in liquids]
    wholes = [
        amounts if any(amounts) else masses
        for amounts in ([one.ethanol_mg for one in liquids], masses, [one.extract_mg for one in liquids])
    ]
    totals = [sum(amounts) or 1 for amounts in wholes]
    shares: dict[str, Share] = {}
    for index, body in enumerate(bodies):
        alcohol, mass, extract = (amounts[index] / total for amounts, total in zip(wholes, totals, strict=True))
        for of, share in body.shares.items():
            part = share._replace(
                alcohol=share.alcohol * alcohol, mass=share.mass * mass, extract=share.extract * extract
            )
            shares[of] = _joined(shares[of], part) if of in shares else part
    brought = frozenset[tuple[str, str]]().union(*(body.brought for body in bodies))
    return _Body(sum(liquids, EMPTY), shares, max(body.since_us for body in bodies), brought=brought)


def _joined(one: Share, other: Share) -> Share:
    sums = (one.alcohol + other.alcohol, one.mass + other.mass, one.extract + other.extract)
    return Share(*sums, least(one.wood, other.wood), one.woods | other.woods)
