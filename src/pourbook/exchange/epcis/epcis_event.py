"""One event of an EPCIS 2.0 document read: form, words, times, units, identifiers.

The standard's JSON Schema lets nonsense through (a step that is no step, a negative quantity), so that
what is read is checked here, and that what `pourbook` wrote was not changed since. Every fault is listed
with its event and its JSON path.

>>> faults = Faults()
>>> reader = EventReader("tanker.jsonld", faults, 0, {})
>>> reader.event(0, {"type": "ObjectEvent", "action": "ADD", "eventTime": "1969-12-01T08:00:00Z",
...     "eventTimeZoneOffset": "+00:00", "bizStep": "blending"})
>>> len(faults)
1
"""

import json
import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, NamedTuple
from urllib.parse import unquote

from pourbook.book.rules import AHEAD_US
from pourbook.errors import Fault, Malformed, PourbookError
from pourbook.exchange.epcis.epcis_hash import event_id
from pourbook.exchange.epcis.epcis_words import (
    ACTIONS,
    BIZ_STEPS,
    COUNTS,
    DISPOSITIONS,
    FIELDS,
    MASS_MG,
    NAMESPACE,
    VOLUME_ML,
)
from pourbook.exchange.tables.columns import Faults
from pourbook.liquid import MOST_MG, Liquid
from pourbook.times import house_zone, read_time

__all__ = ["Content", "Event", "EventReader", "Place", "Quantity"]

_URI = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:[^\s<>\"{}|\\^`]+")
_OFFSET = re.compile(r"[+-](?:(?:0\d|1[0-3]):[0-5]\d|14:00)")
_ZONED = re.compile(r"(?:Z|[+-]\d{2}:\d{2})$")
_FULL_WORD = re.compile(r"https://ref\.gs1\.org/cbv/(?:BizStep|Disp)-(\w+)")
_LONGEST_SHOWN = 60


class Quantity(NamedTuple):
    """An amount of the class at the address `of`; `number` is None where it is not stated.

    `unit` is a Rec 20 code, empty for a count; `path` is its place in the event.
    """

    of: str
    number: Decimal | None
    unit: str
    path: str

    @property
    def bulk(self) -> bool:
        """Whether it is measured, not counted."""
        return bool(self.unit)


class Content(NamedTuple):
    """The liquid in a quantity (None: unknown); `received_mg` where less or more arrived; whether `redistilled`."""

    liquid: Liquid | None
    received_mg: int | None = None
    redistilled: bool = False


class Event(NamedTuple):
    """An event that counts.

    Attributes:
        number: in the list of events, from 1.
        id: its identifier; may be empty.
        kind: ObjectEvent, TransformationEvent …
        happened_us: when.
        action: ADD, OBSERVE, DELETE; empty for a transformation.
        step: business step; may be empty.
        group: the transformation that several events are part of; may be empty.
        inputs: of a transformation, as `outputs`; `goods` are those of any other event.
        contents: address of a class to the liquid of it that this event is about.
        known: what our own words say of the goods: spirit, distiller, wood …; and where they lie (`epcis_location`).
        to: addresses of where it was sent; may be empty.
    """

    number: int
    id: str
    kind: str
    happened_us: int
    action: str
    step: str
    group: str
    inputs: tuple[Quantity, ...]
    outputs: tuple[Quantity, ...]
    goods: tuple[Quantity, ...]
    contents: Mapping[str, Content]
    known: Mapping[str, Any]
    to: str = ""


class Place:
    """A place in the document, `sound` until a fault is found there."""

    def __init__(self, file: str, faults: Faults, event: int | None = None) -> None:
        """The document, or an event of it, counted from 0."""
        self._file, self._faults = file, faults
        self._column = "$" if event is None else f"event {event + 1}, $.epcisBody.eventList[{event}]"
        self.sound = True

    def fault(self, below: str, value: object, problem: str, remedy: str) -> None:
        """List a fault."""
        self.sound = False
        shown = value if isinstance(value, str) else "" if value is None else json.dumps(value, default=float)
        shown = shown if len(shown) <= _LONGEST_SHOWN else shown[: _LONGEST_SHOWN - 1] + "…"
        self._faults.add(Fault(self._file, 0, self._column + below, shown, problem, remedy))


class EventReader:
    """Reads events one by one."""

    def __init__(self, file: str, faults: Faults, now_us: int, namespaces: Mapping[str, str]) -> None:
        self._file, self._faults, self._namespaces = file, faults, namespaces
        self._latest_us = now_us + AHEAD_US
        self._own = tuple(f"{prefix}:" for prefix, uri in namespaces.items() if uri == NAMESPACE)
        self._utc = house_zone("UTC")

    def event(self, index: int, one: Any) -> Event | None:  # noqa: ANN401
        """An event; None where it has faults (they are listed) or its kind is unknown here."""
        at = Place(self._file, self._faults, index)
        kind = one.get("type") if isinstance(one, dict) else None
        if isinstance(kind, str) and ":" in kind:
            return None
        if not isinstance(kind, str) or kind not in FIELDS:
            at.fault(".type", kind, "is not a kind of event", f"use one of: {', '.join(FIELDS)}")
            return None
        self._check_fields(at, one, kind)
        happened_us = self._time(at, one)
        step, _ = self._word(at, one, "bizStep", BIZ_STEPS), self._word(at, one, "disposition", DISPOSITIONS)
        inputs, outputs, goods = (self._goods(at, one, names) for names in _SIDES[kind == "TransformationEvent"])
        sides = [any(one.get(name) for name in names) for names in _SIDES[True][:2]]
        if kind == "TransformationEvent" and "transformationID" not in one and not all(sides):
            at.fault("", None, "has no input or no output", "ask the sender for both, or for a transformationID")
        known = {self._bare(name): value for name, value in self._mapping(at, one, "ilmd").items()}
        if location := self._location(at, one):
            known.setdefault("epcis_location", location)
        contents = self._contents(at, one, (*inputs, *outputs, *goods))
        _check_known(at, known)
        self._check_unchanged(at, one)
        if not at.sound:
            return None
        group, told = one.get("transformationID", ""), one.get("destinationList")
        listed = [each for each in told if isinstance(each, dict)] if isinstance(told, list) else []
        to = " ".join(sorted({str(each.get("destination", "")) for each in listed} - {""}))
        identity = one.get("eventID", ""), kind, happened_us or 0, one.get("action", ""), step, group
        return Event(index + 1, *identity, inputs, outputs, goods, contents, known, to)

    # -- fields ----------------------------------------------------------------------------

    def _bare(self, name: str) -> str:
        """A word of our own without its prefix; any other as it is."""
        return next((name.removeprefix(prefix) for prefix in self._own if name.startswith(prefix)), name)

    def _check_fields(self, at: Place, one: dict[str, Any], kind: str) -> None:
        for name, value in one.items():
            if ":" not in name and name not in FIELDS[kind]:
                at.fault(f".{name}", value, f"is not a field of {kind}", "ask the sender to leave it out")
        if kind != "TransformationEvent" and one.get("action") not in ACTIONS:
            at.fault(".action", one.get("action"), "is not an action", f"use one of: {', '.join(ACTIONS)}")
        for name in ("eventID", "transformationID", "parentID"):
            if name in one:
                _check_uri(at, f".{name}", one[name])
        declared = self._mapping(at, one, "errorDeclaration")
        if "errorDeclaration" in one and "declarationTime" not in declared:
            at.fault(".errorDeclaration.declarationTime", None, "is missing", "ask the sender")

    def _mapping(self, at: Place, one: dict[str, Any], name: str) -> dict[str, Any]:
        value = one.get(name, {})
        if isinstance(value, dict):
            return value
        at.fault(f".{name}", value, "is not an object", "ask the sender")
        return {}

    def _location(self, at: Place, one: dict[str, Any]) -> str:
        """Where the goods are afterwards, else where it happened: a name if it is one of ours, else the address."""
        for name in ("bizLocation", "readPoint"):
            address = self._mapping(at, one, name).get("id", "")
            if name in one:
                _check_uri(at, f".{name}.id", address)
            if address and isinstance(address, str):
                return unquote(address.rpartition("/location/")[2])
        return ""

    def _time(self, at: Place, one: dict[str, Any]) -> int | None:
        text, offset = one.get("eventTime"), one.get("eventTimeZoneOffset")
        if not isinstance(offset, str) or not _OFFSET.fullmatch(offset):
            at.fault(".eventTimeZoneOffset", offset, "is not an offset from UTC", "write it like +01:00")
        try:
            if not isinstance(text, str) or not _ZONED.search(text):
                raise Malformed("is not a time with an offset", "write it like 2026-05-04T09:10:00Z")
            happened_us = read_time(re.sub(r"(\.\d{6})\d+", r"\1", text), self._utc)
        except PourbookError as refusal:
            at.fault(".eventTime", text, "is not a time with an offset", refusal.remedy)
            return None
        if happened_us > self._latest_us:
            at.fault(".eventTime", text, "is in the future", "ask the sender when it happened")
        return happened_us

    def _word(self, at: Place, one: dict[str, Any], field: str, words: frozenset[str]) -> str:
        """A word of the vocabulary; a private one must be an address."""
        word = one.get(field, "")
        if not isinstance(word, str):
            at.fault(f".{field}", word, "is not text", "ask the sender")
            return ""
        full = _FULL_WORD.fullmatch(word)
        bare = full[1] if full else word
        if bare and bare not in words and (full or word.startswith("urn:epcglobal:") or not _URI.fullmatch(word)):
            remedy = "use a word of the Core Business Vocabulary 2.0 or an address of the sender's own"
            at.fault(f".{field}", word, f"is not a {field} in the vocabulary", remedy)
        return bare

    # -- goods ------------------------------------------------------------------------------

    def _goods(self, at: Place, one: dict[str, Any], names: tuple[str, ...]) -> tuple[Quantity, ...]:
        found: list[Quantity] = []
        for name in names:
            elements = one.get(name, [])
            if not isinstance(elements, list):
                at.fault(f".{name}", elements, "is not a list", "ask the sender")
                continue
            listed = elements if name.endswith("uantityList") else [{"epcClass": element} for element in elements]
            read = (_quantity(at, f".{name}[{index}]", element) for index, element in enumerate(listed))
            found += filter(None, read)
        return tuple(found)

    def _contents(self, at: Place, one: dict[str, Any], goods: tuple[Quantity, ...]) -> dict[str, Content]:
        """The liquid of each class that the event is about."""
        found: dict[str, Content] = {}
        elements: Any = next((one[name] for name in one if self._bare(name) == "contents" and ":" in name), [])
        masses = [each for each in goods if each.unit in MASS_MG and each.number is not None]
        for index, element in enumerate(elements if isinstance(elements, list) else [elements]):
            told = {self._bare(name): value for name, value in element.items()} if isinstance(element, dict) else {}
            of, content = told.get("of"), _content(told)
            if not isinstance(of, str) or of in found or content is None:
                at.fault(f"['contents'][{index}]", element, "is not a possible liquid", "ask the sender to correct it")
                continue
            found[of] = content
            same = [one for one in masses if one.of == of]
            total_mg = round(sum((one.number or 0) * MASS_MG[one.unit] for one in same))
            if same and content.liquid and total_mg != content.liquid.mass_mg:
                problem = f"does not match the contents: {content.liquid.mass_mg} mg"
                at.fault(f"{same[-1].path}.quantity", same[-1].number, problem, "ask the sender which is right")
        return found

    def _check_unchanged(self, at: Place, one: dict[str, Any]) -> None:
        """An event of ours carries its own hash: one that was changed afterwards is noticed."""
        ours = any(self._bare(name) == "entry" and ":" in name for name in one)
        said = one.get("eventID")
        if at.sound and ours and isinstance(said, str) and said.startswith("ni:") and "sensorElementList" not in one:
            try:
                agrees = event_id(one, self._namespaces) == said
            except (AttributeError, KeyError, TypeError, ValueError):
                agrees = False
            if not agrees:
                problem = "does not match the event, which was changed"
                at.fault(".eventID", said, problem, "ask the sender to send it again")


_SIDES = {
    True: (("inputQuantityList", "inputEPCList"), ("outputQuantityList", "outputEPCList"), ()),
    False: ((), (), ("quantityList", "epcList", "childQuantityList", "childEPCs")),
}


def _quantity(at: Place, path: str, element: Any) -> Quantity | None:  # noqa: ANN401
    if not isinstance(element, dict):
        at.fault(path, element, "is not a quantity of a class", "use an object with epcClass, quantity and uom")
        return None
    of, number, unit = element.get("epcClass"), element.get("quantity"), element.get("uom", "")
    _check_uri(at, f"{path}.epcClass", of)
    if number is not None and not _is_number(number):
        at.fault(f"{path}.quantity", number, "is not a number", "write a JSON number without quotation marks")
    elif number is not None and not 0 <= number < MOST_MG:
        problem = "is below zero" if number < 0 else "is too large"
        at.fault(f"{path}.quantity", number, problem, "ask the sender how much it was")
    if not isinstance(unit, str) or unit not in ("", *COUNTS, *MASS_MG, *VOLUME_ML):
        remedy = f"use one of: {', '.join((*MASS_MG, *VOLUME_ML))}; leave it out for a count"
        at.fault(f"{path}.uom", unit, "is not a unit of mass or volume known here", remedy)
    if not at.sound:
        return None
    return Quantity(str(of), None if number is None else Decimal(number), "" if unit in COUNTS else unit, path)


def _check_known(at: Place, known: Mapping[str, Any]) -> None:
    days, strength = known.get("wood_days", 0), known.get("strength_20c", 0)
    if not _is_number(days, int) or not 0 <= days < 100_000:
        at.fault(".ilmd.wood_days", days, "is not a time in wood", "write whole days, or leave it out if unknown")
    if not _is_number(strength) or not 0 <= strength <= 100:
        at.fault(".ilmd.strength_20c", strength, "is not a strength in % vol", "write 0 to 100")


def _is_number(value: object, kind: Any = int | Decimal) -> bool:  # noqa: ANN401 (a type)
    return isinstance(value, kind) and not isinstance(value, bool)


def _check_uri(at: Place, path: str, value: object) -> None:
    if not isinstance(value, str) or not _URI.fullmatch(value):
        at.fault(path, value, "is not an address (URI)", "ask the sender")


def _content(told: Mapping[str, Any]) -> Content | None:
    """What our own words say of a quantity; None where it cannot be."""
    amounts = [told.get(name, 0) for name in (*Liquid._fields, "received_mg")]
    if not all(_is_number(amount, int) for amount in amounts):
        return None
    liquid = Liquid(*amounts[:3])
    if min(*amounts, liquid.water_mg) < 0 or max(amounts) >= MOST_MG:
        return None
    redistilled = told.get("how") == "redistilled"
    return Content(liquid if "mass_mg" in told else None, told.get("received_mg"), redistilled)
