"""Spirit of another house that arrives in bulk with an EPCIS document: a batch with its ancestry.

What the document ships (or the class that is named) becomes a batch. Each source of the other house is one
line of its filling, with its part as whole milligrams; the line keeps its address, event and place at the other
house, distiller, supplier, dates, woods, lot, allergens and the document's digest; the batch keeps what the vessels
of the other house brought (allergens, previous contents). So shares, ages and origins of everything made
from it are right, and a trace leads to what the other house can be asked about.

Rounding to whole milligrams moves the share of a source by a milligram in the whole: 5 parts in 10^11 of a
tanker of 20 t. A part below a milligram counts as one, so that nothing is lost from sight.

A batch keeps the address of its shipping event as the fact `epcis_sent`, so a shipment is known again in any file.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.contents import LINES
from pourbook.book.entries import Draft, Item, Move, Pour
from pourbook.book.items import ledger
from pourbook.book.names import ever_with, with_ref
from pourbook.codes.identifiers import hyphened, key_of, kind_of, read
from pourbook.errors import Malformed, OutOfRange, Refused
from pourbook.exchange.epcis.epcis_event import Event
from pourbook.exchange.epcis.epcis_export import TOLD_OF_ORIGINS
from pourbook.exchange.epcis.epcis_mixing import Arrival, Share, Source, arrivals, unused
from pourbook.exchange.epcis.epcis_reading import Document, read_document
from pourbook.exchange.epcis.epcis_words import BROUGHT
from pourbook.exchange.intake.intake import NextId, TableIntake
from pourbook.exchange.tables.columns import Faults
from pourbook.exchange.tables.table_sources import Source as File
from pourbook.input_files import in_megabytes
from pourbook.lineage.ages import age_of
from pourbook.liquid import Liquid
from pourbook.times import Span, written

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.book.core import BookCore
    from pourbook.quantities import Strength

__all__ = ["Asked", "lines_of", "read_arrivals"]

_SOURCES = ("water", "additive")


MOST_BYTES = 100_000_000
"""Of a document, which is read whole."""


class Asked(NamedTuple):
    """What the importer says of a document; `ref` is the house's own name for what arrives.

    `item` is the address of the shipping event, of its destination or, without such an event, of the class;
    `strength` is that of sources without one in the document; `again` imports what was imported before.
    """

    ref: str = ""
    item: str = ""
    strength: "Strength | None" = None
    again: bool = False


def read_arrivals(book: "BookCore", source: File, digest: str, asked: Asked) -> TableIntake:
    """What an EPCIS document with this SHA-256 ships in bulk; refusals are those of `import_epcis`."""
    faults = Faults()
    with source.open() as file:
        content = file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise Malformed(
            f"'{source.name}' has more than {in_megabytes(MOST_BYTES)}",
            "ask the sender for one shipment",
            file=source.name,
        )
    document = read_document(source.name, content, faults, book.clock())
    faults.check("document")
    _refuse_withdrawn(book, document.withdrawn, asked.item)
    found = arrivals(document.events, source.name, faults, asked.strength, asked.item)
    faults.check("document")
    if not found:
        raise _nothing(document, asked.item)
    _refuse_own(book, found)
    if not asked.again:
        _refuse_taken_in(book, found)
    _refuse_doubtful(book, found, asked.ref)
    lines = [list(lines_of(one, digest, book.zone)) for one in found]

    def rows(next_id: NextId, who: str, when_us: int) -> Iterator[tuple[int, Draft]]:
        for one, moves in zip(found, lines, strict=True):
            if one.sent_us > when_us:
                raise OutOfRange(
                    f"it was sent at {written(one.sent_us)} and cannot arrive at {written(when_us)}",
                    "give the time it arrived: --when",
                )
            batch = next_id("batch")
            facts = {
                "epcis_class": one.of, "epcis_sent": _sent_as(one), "epcis_sender": document.sender, "ref": asked.ref,
                **{word: _brought(one, word) for word in BROUGHT},
            }  # fmt: skip
            yield 0, Draft(Item(batch, {name: text for name, text in facts.items() if text}), when_us, who)
            for first in range(0, len(moves), LINES):
                poured = tuple(move._replace(target=batch) for move in moves[first : first + LINES])
                yield 0, Draft(Pour("fill", poured), when_us, who)

    pours = sum(map(len, lines))
    return TableIntake("document", source.name, rows, items=len(found), pours=pours, notes=tuple(_untold(found)))


def _untold(found: Sequence[Arrival]) -> Iterator[str]:
    """How much of what arrived has no ancestry in the document."""
    for one in found:
        part = sum(share.alcohol for of, share in one.shares.items() if not one.sources[of].begun)
        if part > 0:
            part_shown = f"{100 * part:.3g} % of the alcohol of {one.of}"
            yield f"{part_shown} has no ancestry in the document: ask the sender for the earlier events"


def _nothing(document: Document, item: str) -> Refused:
    if item:
        return Refused(f"the document leaves nothing of '{item}'", "write its address as the document does")
    if document.withdrawn:
        (first, *_) = document.withdrawn
        return Refused(
            f"the sender declared the shipment of {written(first.happened_us)} an error: nothing arrives",
            "ask the sender what was shipped instead",
        )
    last = unused(document.events)
    shown = ", ".join(last[:5]) or "none"
    return Refused(
        f"the document ships nothing in bulk; classes made but not used: {shown}",
        "ask the sender for the shipping event, or name the class that arrived: --item ADDRESS",
    )


def _brought(arrival: Arrival, word: str) -> str:
    """What all vessels of the other house brought into it, each once."""
    return "; ".join(sorted({text for name, text in arrival.brought if name == word}))


# -- what must not come in, or not again --------------------------------------------------


def _sent_as(arrival: Arrival) -> str:
    """What a shipment is known by: its event, or without one (or its identifier) class and time."""
    event = arrival.event
    return arrival.of if event is None else _known_by(event, arrival.of)


def _known_by(event: Event, of: str) -> str:
    return event.id or f"{of} {written(event.happened_us)}"


def _refuse_taken_in(book: "BookCore", found: Sequence[Arrival]) -> None:
    """Refuse a shipment that came in before in any file or, where a class was named, anything of the class."""
    for one in found:
        name, value = ("epcis_class", one.of) if one.event is None else ("epcis_sent", _sent_as(one))
        # A class may have come in by its name before the event that ships it was told.
        before = _standing(book, name, value, one.of) or _standing(book, "epcis_sent", one.of, one.of)
        if before:
            batch, entry = before
            what = one.of if one.event is None else f"the shipment of {one.of} at {written(one.sent_us)}"
            remedy = "if it arrived twice, give --again"
            if len(found) > 1:
                remedy = f"name the event of the new shipment, in quotes: --item 'ADDRESS'; {remedy}"
            raise Refused(f"{what} was imported before, as {batch} (entry {entry})", remedy)


def _refuse_withdrawn(book: "BookCore", withdrawn: Sequence[Event], item: str) -> None:
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


def _refuse_own(book: "BookCore", found: Sequence[Arrival]) -> None:
    """Refuse a class under this house's address."""
    address = book.settings["uri"].rstrip("/")
    for one in found:
        if address and one.of.startswith(f"{address}/"):
            name = one.of.rsplit("/", 1)[-1]
            id_ = read(name.split("-", 1)[0])
            what = f"{kind_of(id_)} {hyphened(id_)}" if id_ else f"'{name}'"
            raise Refused(f"{what} is this house's own, not another house's spirit", "record a return instead")


def _refuse_doubtful(book: "BookCore", found: Sequence[Arrival], ref: str) -> None:
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
    if ref and with_ref(book.store, ref):
        raise Refused(f"'{ref}' is the name of another item", "choose another --ref")


def _standing(book: "BookCore", name: str, value: str, of: str) -> tuple[str, int] | None:
    """The batch of a class that was taken in and not voided, and the entry of its filling."""
    for batch in ever_with(book.store, {"epcis_class": of, name: value}):
        filled = next(iter(ledger(book.store, key_of(batch))), None)
        if filled is not None:
            return hyphened(batch), filled.entry
    return None


# -- what arrived ------------------------------------------------------------------------


def lines_of(arrival: Arrival, digest: str, zone: "tzinfo") -> Iterator[Move]:
    """What arrived as lines of a pour without its target, one for each source; times in wood are told by the calendar.

    Ethanol and extract follow their shares; the rest follows the share of the mass, unless a gauge of the other
    house made that impossible.
    """
    shares = arrival.shares
    mass, ethanol, extract = arrival.liquid
    ethanols = _cut(ethanol, [share.alcohol for share in shares.values()])
    extracts = _cut(extract, [share.extract for share in shares.values()])
    rest = [
        max(0.0, share.mass * mass - solved - solids)
        for share, solved, solids in zip(shares.values(), ethanols, extracts, strict=True)
    ]
    waters = _cut(mass - ethanol - extract, rest if any(rest) else [1.0] * len(rest))
    for index, rounded in enumerate(zip(waters, ethanols, extracts, strict=True)):
        largest = waters.index(max(waters))
        if not any(rounded) and waters[largest] > 1:  # a trace of unknown age is still one
            waters[index], waters[largest] = 1, waters[largest] - 1
    for (of, share), *parts in zip(shares.items(), waters, ethanols, extracts, strict=True):
        liquid = Liquid(sum(parts), *parts[1:])
        if liquid.mass_mg:
            source = arrival.sources[of]
            word = source.kind if source.kind in _SOURCES else "origin"
            facts = _facts(source, share, digest, zone)
            yield Move(word, "", liquid.mass_mg, composition=liquid, facts=facts)


def _cut(whole: int, parts: Sequence[float]) -> list[int]:
    """Whole numbers in proportion that add up to `whole`, each wrong by less than one."""
    total = sum(parts)
    reached, done, cut = 0.0, 0, []
    for part in parts:
        reached += part
        upto = min(whole, round(whole * (reached / total))) if total else 0
        cut.append(upto - done)
        done = upto
    if cut:
        cut[-1] += whole - done
    return cut


def _facts(source: Source, share: Share, digest: str, zone: "tzinfo") -> dict[str, str | int]:
    known = {name: _plain(source.known[name]) for name in TOLD_OF_ORIGINS if name in source.known}
    earlier = " ".join(str(known[name]) for name in ("epcis_class", "epcis_before") if name in known)
    woods = sorted({*str(known.get("woods", "")).split("; "), *share.woods} - {""})
    facts = known | {
        "spirit": known.get("spirit", "unexplained" if source.kind == "unexplained" else ""),
        "woods": "; ".join(woods),
        "epcis_class": source.of,
        "epcis_before": earlier,
        "epcis_event": source.event,
        "epcis_sha256": digest,
    }
    facts.pop("wood_days", None)
    if (age := age_of(share.wood, zone)) is not None:
        facts["in_wood"] = str(Span(age.years, 0, age.days))
    return {name: value for name, value in facts.items() if value != ""}


def _plain(value: Any) -> str | int:  # noqa: ANN401 (whatever JSON can hold)
    return value if isinstance(value, int) and not isinstance(value, bool) else str(value)
