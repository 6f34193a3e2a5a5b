"""Which shipments of another house were imported, and what of a document must not come in (again).

A batch keeps the address of its shipping event as the fact `epcis_sent`, so a shipment is known again in any file.

>>> from pourbook import Book
>>> from pourbook.liquid import EMPTY
>>> one = Arrival("https://quillmere.example/class/B000001Y-9", 0, EMPTY, {}, {})
>>> with Book.create(":memory:", house="Quillmere", uri="https://quillmere.example") as book:
...     refuse_taken_in(book, [one])
...     refuse_own(book, [one])
Traceback (most recent call last):
    ...
pourbook.errors.Refused: batch B-000001-Y is this house's own, not another house's spirit
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pourbook.book.items import ledger
from pourbook.book.names import ever_with, with_fact
from pourbook.codes.identifiers import hyphened, key_of, kind_of, read
from pourbook.errors import Refused
from pourbook.exchange.epcis.epcis_event import Event
from pourbook.exchange.epcis.epcis_mixing import Arrival
from pourbook.times import written

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["refuse_doubtful", "refuse_own", "refuse_taken_in", "refuse_withdrawn", "sent_as"]


def sent_as(arrival: Arrival) -> str:
    """What a shipment is known by: its event, or without one (or its identifier) class and time."""
    event = arrival.event
    return arrival.of if event is None else _known_by(event, arrival.of)


def _known_by(event: Event, of: str) -> str:
    return event.id or f"{of} {written(event.happened_us)}"


def refuse_taken_in(book: "BookCore", found: Sequence[Arrival]) -> None:
    """Refuse a shipment that came in before in any file or, where a class was named, anything of the class."""
    for one in found:
        name, value = ("epcis_class", one.of) if one.event is None else ("epcis_sent", sent_as(one))
        # A class may have come in by its name before the event that ships it was told.
        before = _standing(book, name, value, one.of) or _standing(book, "epcis_sent", one.of, one.of)
        if before:
            batch, entry = before
            what = one.of if one.event is None else f"the shipment of {one.of} at {written(one.sent_us)}"
            remedy = "if it arrived twice, give --again"
            if len(found) > 1:
                remedy = f"name the event of the new shipment, in quotes: --item 'ADDRESS'; {remedy}"
            raise Refused(f"{what} was imported before, as {batch} (entry {entry})", remedy)


def refuse_withdrawn(book: "BookCore", withdrawn: Sequence[Event], item: str) -> None:
    """Refuse a document that withdraws what was imported."""
    for event in withdrawn:
        if item and item != event.id and item not in event.to.split() and item not in [one.of for one in event.goods]:
            continue
        for one in event.goods:
            before = _standing(book, "epcis_sent", _known_by(event, one.of), one.of)
            if before:
                batch, entry = before
                raise Refused(
                    f"the sender withdrew the shipment imported as {batch} (entry {entry})",
                    f"void entry {entry}, then import what was shipped instead",
                )


def refuse_own(book: "BookCore", found: Sequence[Arrival]) -> None:
    """Refuse a class under this house's address."""
    address = book.settings["uri"].rstrip("/")
    for one in found:
        if address and one.of.startswith(f"{address}/"):
            name = one.of.rsplit("/", 1)[-1]
            id_ = read(name.split("-", 1)[0])
            what = f"{kind_of(id_)} {hyphened(id_)}" if id_ else f"'{name}'"
            raise Refused(f"{what} is this house's own, not another house's spirit", "record a return instead")


def refuse_doubtful(book: "BookCore", found: Sequence[Arrival], ref: str) -> None:
    """Refuse shipments to different destinations, and a ref that is in use or meant for several batches."""
    if len({one.event.to for one in found if one.event}) > 1:
        listed = "; ".join(
            f"{one.of}, {one.liquid.mass_mg / 1e6:.6g} kg, to {one.event.to or 'an unnamed destination'}, event"
            f" {one.event.id or one.event.number}"
            for one in found
            if one.event
        )
        raise Refused(
            f"the document has {len(found)} shipments to different destinations: {listed}",
            "name the event or the destination of the one that arrived, in quotes: --item 'ADDRESS'",
        )
    if ref and len(found) > 1:
        raise Refused(
            f"'{ref}' would be the name of {len(found)} batches",
            "leave out --ref and name each batch afterwards, or import one by one: --item ADDRESS",
        )
    if ref and with_fact(book.store, "ref", ref):
        raise Refused(f"'{ref}' is the name of another item", "choose another --ref")


def _standing(book: "BookCore", name: str, value: str, of: str) -> tuple[str, int] | None:
    """The batch of a class that was taken in and not voided, and the entry of its filling."""
    for batch in ever_with(book.store, {"epcis_class": of, name: value}):
        filled = next(iter(ledger(book.store, key_of(batch))), None)
        if filled is not None:
            return hyphened(batch), filled.entry
    return None
