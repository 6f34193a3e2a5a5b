"""From whatever was scanned or typed to the item it means.

A name of the house comes first, then whatever a scanner can send: an identifier, a GTIN with its lot,
the SSCC of a case or pallet, a link.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> lot = book.next_id("lot")
>>> _ = book.record(Draft(Item(lot, {"lot_mark": "L26-118", "gtin": "9521234005674"}), 0, "M. Aldane"))
>>> find(book.store, "]C10109521234005674" "10L26-118"), scanned(book.store, "]d1L000001C").state
('L000001C', 'in the book')
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book import items as reading
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, key_of, read
from pourbook.errors import Ambiguous, Mistyped, PourbookError, Unknown

if TYPE_CHECKING:
    from pourbook.book.units import Unit
    from pourbook.codes.scans import Scan

__all__ = ["Found", "find", "scanned"]


class Found(NamedTuple):
    """What a scan means to a book.

    Attributes:
        scan: what it says by itself.
        id: the item; empty where the book has none, or several.
        state: "in the book", "printed ahead", "packing voided", or "not in the book".
        lots: the lots that a GTIN alone may mean.
        unit: the case or pallet, where an SSCC names one.
    """

    scan: "Scan"
    id: str
    state: str
    lots: tuple[str, ...] = ()
    unit: "Unit | None" = None


def find(store: Store, text: str) -> str:
    """The identifier of what was typed or scanned.

    Raises:
        Mistyped: an identifier whose check character does not agree.
        Unknown: nothing goes by that name.
        Ambiguous: several items go by that name, or several codes were run together.
    """
    try:
        return reading.find(store, text)
    except (Unknown, Mistyped) as refusal:
        try:
            found = scanned(store, text)
        except (Mistyped, Ambiguous):
            raise
        except PourbookError:
            raise refusal from None
        if found.id and found.state == "in the book":
            return found.id
        raise


def scanned(store: Store, text: str) -> Found:
    """What a scan means to the book.

    Raises:
        Malformed: nothing, or a malformed GS1 code.
        Mistyped: a check character or digit does not agree.
        Unknown: neither a code nor a name in the book; or an identifier that is not in the book.
        Ambiguous: several codes run together, or several items go by that name or lot.
    """
    from pourbook.codes.scans import Scan, parse  # a name that is known does without it

    if own := _called(store, text):
        return Found(Scan("id", id=own, text=text.strip()), own, "in the book")
    scan = parse(text)
    if scan.kind == "unknown":
        own = _called(store, scan.text)
        if not own:
            raise Unknown(
                f"'{scan.text}' is unknown: it is neither a code nor a name in the book",
                "scan it again, or check the name: pourbook stock lists all items",
            )
        return Found(scan._replace(kind="id", id=own), own, "in the book")
    return _of_code(store, scan)


def _called(store: Store, text: str) -> str:
    """The item of an outside name, or empty."""
    try:
        return "" if read(text) else reading.find(store, text)
    except (Unknown, Mistyped):
        return ""
    except Ambiguous as refusal:
        raise Ambiguous(f"ambiguous: {refusal.message}", refusal.remedy) from None


def _of_code(store: Store, scan: "Scan") -> Found:
    from pourbook.book.units import lots_of, unit_of  # only for what is known outside

    if scan.id:
        return Found(scan, scan.id, _state(store, scan))
    if scan.sscc and (unit := unit_of(store, scan.sscc)):
        return Found(scan, unit.lot, "packing voided" if unit.gone else "in the book", unit=unit)
    lots = tuple(lots_of(store, scan.gtin, scan.lot)) if scan.gtin or scan.lot else ()
    if scan.lot and len(lots) > 1:
        raise Ambiguous(
            f"lot {scan.lot} is ambiguous: it may be {' or '.join(map(hyphened, lots))}",
            "scan the identifier on the label instead",
        )
    return Found(scan, lots[0] if len(lots) == 1 else "", "in the book" if lots else "not in the book", lots)


def _state(store: Store, scan: "Scan") -> str:
    """Whether an identifier is in the book or printed ahead; else it is `Unknown`."""
    key = key_of(scan.id)
    if store.query("SELECT 1 FROM item WHERE key = ?", (key,)):
        return "in the book"
    if reading.is_reserved(store, key):
        return "printed ahead"
    raise Unknown(f"{hyphened(scan.id)} is unknown: it is not in the book", "check the label, or enter it first")
