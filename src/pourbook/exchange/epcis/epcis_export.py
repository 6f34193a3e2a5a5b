"""A lineage as an EPCIS 2.0 document (JSON-LD), for another house, a customer, an authority.

What came from outside is an ObjectEvent (commissioning, with what is known of it as ILMD), every mixing a
TransformationEvent from fills into a fill (with what its vessel held before, and what allergens it brings), a gauge an
ObjectEvent of inspection, a loss one of destruction or sampling, a despatch one of shipping; cases and pallets are
AggregationEvents. Quantities are masses (KGM, GRM), which add up; `pourbook:contents` beside them says how much
ethanol and extract is in each, to the milligram. An entry that was voided or replaced is told again with its
declaration of error. The read point is the station of the entry, the business location where the goods lie
afterwards. Allergens, and lots of additives and water, stand in our own namespace: no word of the vocabulary for
them could be looked up.

Costs, notes and the names of people stay in the house. Figures are working figures; the legal gauge and the
movement documents follow the local authority and licensed practice.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere", uri="https://quillmere.example", clock=lambda: 0)
>>> cask = book.next_id("cask")
>>> filled = Move("origin", cask, 10**6, composition=Liquid(10**6, 500_000), facts={"spirit": "malt spirit"})
>>> _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(Pour("fill", (filled,)), 0, "M. Aldane"))
>>> [(event["type"], event["bizStep"]) for event in epcis_document(book, [cask])["epcisBody"]["eventList"]]
[('ObjectEvent', 'commissioning'), ('TransformationEvent', 'creating_class_instance'), ('ObjectEvent', 'stock_taking')]
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.volumes import strength_20c
from pourbook.book.items import facts
from pourbook.book.journal import entry_of
from pourbook.codes.identifiers import hyphened, key_of, kind_of, read_or_none
from pourbook.errors import Refused
from pourbook.exchange.epcis.epcis_hash import event_id
from pourbook.exchange.epcis.epcis_words import BROUGHT, CONTEXT, NAMESPACE, PREFIX, own, quantity_of
from pourbook.exchange.output.fills import Fill
from pourbook.exchange.output.happenings import Happening, Part, told_of, told_of_all
from pourbook.exchange.output.outside_names import Names, address_of, case_of
from pourbook.liquid import Liquid
from pourbook.times import written

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["TOLD_OF_ORIGINS", "epcis_document"]

_Event = dict[str, Any]
TOLD_OF_ORIGINS = (
    *("spirit", "distiller", "distilled", "wood_days", "woods", "pending", "supplier", "from_site", "about", "batch"),
    *("allergens", "epcis_class", "epcis_before", "epcis_event", "epcis_location", "epcis_sha256"),
)
"""What is told of what came from outside; costs and papers are not."""

_TOLD_OF_ITEMS = ("ref", "name", "spirit", "wood", "capacity_l", "lot_mark", "bottles", "size_ml")
_SAMPLED = ("sample", "tasting")
_OBSERVED = {
    "gauge": ("inspecting", "in_progress"),
    "stock": ("stock_taking", "in_progress"),
    "return": ("receiving", "returned"),
}


def epcis_document(
    book: "BookCore", items: Sequence[str] = (), *, forward: bool = False, at_us: int | None = None,
    start_us: int | None = None, customer: str = "",
) -> dict[str, Any]:  # fmt: skip
    """The lineage of items as of `at_us` (None: now), or without items all that happened from `start_us` to `at_us`.

    With `forward`, what the items went into. With `customer`, despatches to others are left out.

    Raises:
        Refused: the house has no web address of its own, nothing was ever poured into an item, nothing happened in
            that time, nothing was despatched to that customer, or a lineage is to be cut off at its beginning.
    """
    address = address_of(book)
    if items and start_us is not None:
        raise Refused("a lineage is exported from its beginning", "leave out --from, or leave out the items")
    with book.store.snapshot():
        told = told_of(book, items, forward=forward, at_us=at_us) if items else told_of_all(book, start_us, at_us)
        if not told:
            raise Refused("nothing happened in that time that could be told", "look at the times: --from and --at")
        if customer:
            _check_customer(told, customer)
        told = [one for one in told if not customer or one.what != "despatch" or one.facts.get("customer") == customer]
        events = _Writer(book, address, told, at_us).events()
    return {
        "@context": CONTEXT,
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": written(book.clock()),
        "sender": book.settings["house"],
        "epcisBody": {"eventList": events},
    }


def _check_customer(told: Sequence[Happening], customer: str) -> None:
    """Refuse a customer to whom nothing of what is told went."""
    known = sorted({str(one.facts.get("customer", "")) for one in told if one.what == "despatch"} - {""})
    if customer not in known:
        remedy = f"customers are: {', '.join(known)}" if known else "leave out --customer: nothing was despatched"
        raise Refused(f"nothing of it was despatched to '{customer}'", remedy)


class _Writer:
    """Turns what happened into events."""

    def __init__(self, book: "BookCore", address: str, told: Sequence[Happening], at_us: int | None) -> None:
        self._book = book
        self._at_us = at_us
        self._zone = book.zone
        self._told = told
        fills = {part.fill for one in told for part in (*one.taken, one.made) if part}
        lots = {fill.where for fill in fills if fill.inside and kind_of(fill.where) == "lot"}
        self._names = Names(address, {lot: facts(book.store, key_of(lot)) for lot in lots})

    def events(self) -> list[_Event]:
        """In order of time."""
        told = [(one, event) for one in self._told for event in self._events_of(one)]
        ids: dict[int, list[str]] = {}
        for one, event in told:
            if one.what != "stock":
                ids.setdefault(one.number, []).append(event["eventID"])
        for one, event in told:
            if one.gone:
                event["errorDeclaration"] = self._declaration(one, ids)
        return [event for _, event in told]

    def _declaration(self, one: Happening, ids: Mapping[int, list[str]]) -> _Event:
        """A replaced entry was wrong; a voided one did not happen."""
        correction = entry_of(self._book.store, one.gone).entry
        if "replaces" not in correction:
            return {"declarationTime": correction["recorded"], "reason": "did_not_occur"}
        better = {"correctiveEventIDs": ids[one.gone]} if one.gone in ids else {}
        return {"declarationTime": correction["recorded"], "reason": "incorrect_data", **better}

    def _events_of(self, one: Happening) -> Iterator[_Event]:
        makers: dict[str, Callable[[Happening], Iterator[_Event]]] = {
            "arrival": self._arrival, "mixing": self._mixing, "loss": self._loss, "despatch": self._despatch,
            "packing": self._packing,
        }  # fmt: skip
        for event in makers.get(one.what, self._observed)(one):
            event |= {own("entry"): one.number}
            if "verb" in one.entry["body"]:
                event |= {own("verb"): one.entry["body"]["verb"]}
            yield {"eventID": event_id(event, {PREFIX: NAMESPACE}), **event}

    # -- kinds of events -------------------------------------------------------------------

    def _arrival(self, one: Happening) -> Iterator[_Event]:
        assert one.made is not None
        liquid = one.made.liquid
        known = {own(name): one.facts[name] for name in TOLD_OF_ORIGINS if name in one.facts}
        strength = strength_20c(liquid) if liquid else None
        if strength:
            known[own("strength_20c")] = round(strength, 4)
        ilmd = {own("kind"): one.made.fill.where, **known}
        event = self._object(one, "ADD", "commissioning", "active", one.made) | {"ilmd": ilmd}
        if site := str(one.facts.get("from_site", "")):
            event |= self._under(str(one.facts.get("document", "")))
            event["sourceList"] = [{"type": "possessing_party", "source": self._names.party(site)}]
        yield event

    def _mixing(self, one: Happening) -> Iterator[_Event]:
        assert one.made is not None
        made = self._names.of(one.made.fill)
        # A bottle lot goes by one name, so what remained in it is not told as poured into itself.
        taken = [part for part in one.taken if self._names.of(part.fill) != made]
        outcome = one.made
        for rest in one.taken:
            if rest not in taken:
                outcome = outcome._replace(liquid=_less(outcome.liquid, rest.liquid))
                yield self._object(one, "OBSERVE", "stock_taking", "in_progress", rest, counted=False)
        first = one.begins and len(taken) == len(one.taken)
        yield {
            **self._common(one, "TransformationEvent"),
            "transformationID": self._names.mixing(one.made.fill),
            "inputQuantityList": [self._quantity(part) for part in taken],
            "outputQuantityList": [self._quantity(outcome, one)],
            **_steps(kind_of(one.made.fill.where), first=first),
            **({"ilmd": self._ilmd(one.made.fill, one.happened_us)} if one.begins else {}),
            own("contents"): [*(self._content(part) for part in taken), self._content(outcome)],
        }

    def _observed(self, one: Happening) -> Iterator[_Event]:
        """A gauge, stock or a return: nothing left a class."""
        assert one.made is not None
        step, disposition = _OBSERVED[one.what]
        yield self._object(one, "OBSERVE", step, disposition, one.made, counted=one.what == "return")

    def _loss(self, one: Happening) -> Iterator[_Event]:
        disposition = str(one.facts.get("disposition", "other"))
        step = "sampling" if disposition in _SAMPLED else "destroying"
        yield self._object(one, "DELETE", step, "destroyed", *one.taken) | {own("disposition"): disposition}

    def _despatch(self, one: Happening) -> Iterator[_Event]:
        event = self._object(one, "OBSERVE", "shipping", "in_transit", *one.taken)
        customer, document = str(one.facts.get("customer", "")), str(one.facts.get("document", ""))
        event |= self._under(document)
        if customer:
            event["destinationList"] = [{"type": "possessing_party", "destination": self._names.party(customer)}]
        yield event

    def _under(self, document: str) -> _Event:
        """The paper it goes with, if one is known."""
        papers = [{"type": "desadv", "bizTransaction": self._names.document(document)}]
        return {"bizTransactionList": papers} if document else {}

    def _packing(self, one: Happening) -> Iterator[_Event]:
        lot = self._names.of(one.taken[0].fill)
        for sscc in one.facts["ssccs"]:
            yield {
                **self._common(one, "AggregationEvent"),
                "action": "ADD",
                "parentID": case_of(sscc),
                "childQuantityList": [{"epcClass": lot, "quantity": one.facts["bottles"]}],
                "bizStep": "packing",
                "disposition": "in_progress",
            }

    # -- parts of events -------------------------------------------------------------------

    def _common(self, one: Happening, kind: str) -> _Event:
        moment = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=one.happened_us)
        offset = moment.astimezone(self._zone).strftime("%z")
        return {
            "type": kind,
            "eventTime": written(one.happened_us),
            "eventTimeZoneOffset": f"{offset[:3]}:{offset[3:5]}",
            "recordTime": one.entry["recorded"],
            **self._where(one),
        }

    def _where(self, one: Happening) -> _Event:
        """The station of the entry, and where the goods are afterwards, unless they left the house."""
        station = self._location(str(one.entry.get("where", "")))
        where = {"readPoint": {"id": station}} if station else {}
        item = "" if one.what in ("loss", "despatch") else one.item
        place = facts(self._book.store, key_of(item), one.happened_us).get("place", "") if item else ""
        return where | ({"bizLocation": {"id": self._location(place)}} if place else {})

    def _location(self, place: str) -> str:
        """The address of a place, by the name the house gave it."""
        if read_or_none(place):
            known = facts(self._book.store, key_of(place))
            place = known.get("ref") or known.get("name") or hyphened(place)
        return self._names.location(place) if place else ""

    def _object(
        self, one: Happening, action: str, step: str, disposition: str, part: Part, *, counted: bool = True
    ) -> _Event:
        return {
            **self._common(one, "ObjectEvent"),
            "action": action,
            "quantityList": [self._quantity(part, one if counted else None)],
            "bizStep": step,
            "disposition": disposition,
            own("contents"): [self._content(part)],
        }

    def _quantity(self, part: Part, one: Happening | None = None) -> _Event:
        """So many bottles of a lot, or so much by mass; no number where nobody knows one any more."""
        element: _Event = {"epcClass": self._names.of(part.fill)}
        bottles = _bottles(one, part.fill.where) if one else None
        if bottles is not None:
            element["quantity"] = bottles
        elif part.liquid is not None:
            element["quantity"], element["uom"] = quantity_of(part.liquid.mass_mg)
        return element

    def _content(self, part: Part) -> _Event:
        content: _Event = {own("of"): self._names.of(part.fill)}
        if part.liquid is not None:
            content |= {own(name): amount for name, amount in part.liquid._asdict().items()}
        if part.received is not None:
            content[own("received_mg")] = part.received.mass_mg
        return content | ({own("how"): "redistilled"} if part.redistilled else {})

    def _ilmd(self, fill: Fill, happened_us: int) -> _Event:
        """What was true of the item when the fill began, and what is known by now that it brings."""
        known, now = (facts(self._book.store, key_of(fill.where), at_us) for at_us in (happened_us, self._at_us))
        # What a vessel brings may have been found out, and stated, only later.
        known |= {name: now[name] for name in BROUGHT if name in now}
        about = {own("kind"): kind_of(fill.where), own("id"): hyphened(fill.where)}
        return about | {own(name): known[name] for name in (*_TOLD_OF_ITEMS, *BROUGHT) if name in known}


def _steps(kind: str, *, first: bool) -> _Event:
    """Commissioning happens once to a vial or a lot; liquid of a class may come into being again and again."""
    step = "commissioning" if first and kind in ("vial", "lot") else "creating_class_instance"
    return {"bizStep": step, "disposition": "active" if kind in ("vial", "lot") else "in_progress"}


def _bottles(one: Happening, lot: str) -> int | None:
    """How many bottles of a lot a happening concerns; None where it is not a lot, or nobody counted."""
    lines = one.entry["body"].get("lines", ()) if lot[0] == "L" else ()
    counts = (line.get("facts", {}).get("bottles") for line in lines if lot in (line["from"], line["to"]))
    counted = [count for count in counts if isinstance(count, int)]
    return sum(counted) if counted else None


def _less(liquid: Liquid | None, rest: Liquid | None) -> Liquid | None:
    return None if liquid is None or rest is None else liquid - rest
