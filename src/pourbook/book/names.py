"""From whatever was scanned or typed to the item it means.

A name of the house comes first, in any case and spacing where that means one item alone; then whatever a scanner can
send: an identifier, a GTIN with its lot, the SSCC of a case or pallet, a link.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> lot = book.next_id("lot")
>>> _ = book.record(Draft(Item(lot, {"lot_mark": "L26-118", "gtin": "9521234005674"}), 0, "M. Aldane"))
>>> find(book.store, "]C10109521234005674" "10L26-118"), find(book.store, "l26-118")
('L000001C', 'L000001C')
>>> scanned(book.store, "]d1L000001C").state
'in the book'
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import facts, of_plans
from pourbook.book.numbering import elsewhere
from pourbook.book.store import Store
from pourbook.codes.identifiers import KINDS, hyphened, key_of, kind_of, of_key, read, read_or_none
from pourbook.errors import Ambiguous, Mistyped, PourbookError, Unknown
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.book.trade_numbers import Unit
    from pourbook.codes.scans import Scan

__all__ = [
    "Found", "beginning_with", "ever_with", "find", "has_refs", "instrument_names", "is_in_book", "is_reserved",
    "items_with", "named", "scanned", "unknown", "voided_opening", "with_fact", "with_ref",
]  # fmt: skip


# -- what was scanned or typed -----------------------------------------------------------


class Found(NamedTuple):
    """What a scan means to a book.

    Attributes:
        scan: what it says by itself.
        id: the item; empty where the book has none, or several.
        state: "in the book", "printed ahead", "packing voided", or "not in the book".
        lots: the lots that a GTIN alone may mean.
        unit: the case or pallet, where an SSCC names one.
        sent_to: the customer that has it; empty while it is in the house.
    """

    scan: "Scan"
    id: str
    state: str
    lots: tuple[str, ...] = ()
    unit: "Unit | None" = None
    sent_to: str = ""


def find(store: Store, text: str, *, suggest: bool = True) -> str:
    """The identifier of what was typed or scanned; what nobody is called has the nearest names as its remedy.

    Raises:
        Mistyped: an identifier whose check character does not agree.
        Unknown: nothing goes by that name.
        Ambiguous: several items go by that name, or several codes were run together.
    """
    try:
        return _own(store, text)
    except (Unknown, Mistyped) as refusal:
        try:
            found = scanned(store, text)
        except (Mistyped, Ambiguous):
            raise
        except PourbookError:
            if isinstance(refusal, Unknown) and suggest:
                raise _with_nearest(store, text, refusal) from None
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
            unknown = Unknown(
                f"'{scan.text}' is unknown: it is neither a code nor a name in the book",
                "scan it again, or check the name: pourbook find WORDS looks for it",
            )
            raise _with_nearest(store, scan.text, unknown)
        return Found(scan._replace(kind="id", id=own), own, "in the book")
    return _of_code(store, scan)


def _called(store: Store, text: str) -> str:
    """The item of an outside name, or empty."""
    try:
        return "" if read(text) else _own(store, text)
    except (Unknown, Mistyped):
        return ""
    except Ambiguous as refusal:
        raise Ambiguous(f"ambiguous: {refusal.message}", refusal.remedy) from None


def _of_code(store: Store, scan: "Scan") -> Found:
    from pourbook.book.bottles import cases_out  # only for what is known outside
    from pourbook.book.trade_numbers import lots_of, unit_of

    if scan.id:
        return Found(scan, scan.id, _state(store, scan))
    if scan.sscc and (unit := unit_of(store, scan.sscc)):
        sent_to = cases_out(store, unit.lot).get(scan.sscc, "")
        return Found(scan, unit.lot, "packing voided" if unit.gone else "in the book", unit=unit, sent_to=sent_to)
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
    if is_in_book(store, key):
        return "in the book"
    if is_reserved(store, key):
        return "printed ahead"
    raise unknown(store, key)


def unknown(store: Store, key: int) -> Unknown:
    """That no item has this number, and why."""
    named = hyphened(of_key(key))
    if ranges := elsewhere(store, of_key(key)):
        return Unknown(
            f"{named} is not in the book: its number lies outside this site's ranges, {ranges}",
            "look it up at its own site, or in the group's book",
        )
    if number := voided_opening(store, key):
        gone = f"{named} is no longer in the book: entry {number}, which opened it, was voided"
        return Unknown(gone, "enter it anew: it gets a new number")
    return Unknown(f"{named} is not in the book", "check the label, or enter it first")


def _own(store: Store, text: str) -> str:
    """As `find`, of an identifier, an outside name, or the lot mark on a bottle."""
    text = text.strip()
    identifier = read(text)
    if identifier is not None:
        if is_in_book(store, key_of(identifier)):
            return identifier
        if is_reserved(store, key_of(identifier)):
            raise Unknown(
                f"{hyphened(identifier)} is a label printed ahead and not yet in use",
                "assign it to what it labels",
            )
        raise unknown(store, key_of(identifier))
    alike = _alike(store, text)
    exactly = [one for one in alike if one.value == text]
    refs = [one for one in exactly if one.name == "ref"]
    found = {one.item: one for one in refs or exactly or alike}
    if len(found) == 1:
        return of_key(next(iter(found)))
    if exactly:
        names = ", ".join(hyphened(of_key(key)) for key in sorted(found))
        raise Ambiguous(f"'{text}' names {len(found)} items: {names}", "give the identifier instead")
    if found:
        names = ", ".join(f"{hyphened(of_key(key))} · {found[key].value}" for key in sorted(found))
        is_one_name = len({one.value for one in found.values()}) == 1
        raise Ambiguous(
            f"'{text}' names {len(found)} items, but for case and spacing: {names}",
            "give the identifier instead" if is_one_name else "type the name exactly, or give the identifier",
        )
    raise Unknown(f"nothing in the book is called '{text}'", "check the name: pourbook find WORDS looks for it")


class _Name(NamedTuple):
    """A name that an item bears: its key, whether it is its ref or its lot mark, and as it is written."""

    item: int
    name: str
    value: str


def _alike(store: Store, text: str) -> list[_Name]:
    """Refs of now, and lot marks of any time, that are this text but for case and spacing."""
    rows = store.query(
        "SELECT DISTINCT item, name, value FROM fact WHERE lookup = ? ORDER BY item, name, value", (lookup_form(text),)
    )
    names = map(_Name._make, rows)
    return [one for one in names if one.name != "ref" or facts(store, one.item).get("ref") == one.value]


def _with_nearest(store: Store, text: str, refusal: Unknown) -> Unknown:
    from pourbook.book.near_names import NAMES_OF_ITEMS, suggestion  # only where a name is not found

    is_name = text.strip() and not read_or_none(text)
    near = suggestion(store, NAMES_OF_ITEMS, text) if is_name else ""
    return Unknown(refusal.message, near + refusal.remedy) if near else refusal


# -- names and numbers -------------------------------------------------------------------


def named(store: Store, ref: str, kind: str) -> str:
    """The item of a kind that has this outside name now, in any case and spacing where it alone has; or empty."""
    text = ref.strip()
    alike = [one for one in _alike(store, text) if one.name == "ref" and kind_of(of_key(one.item)) == kind]
    found = [one for one in alike if one.value == text] or alike
    return of_key(found[0].item) if len(found) == 1 else ""


def with_ref(store: Store, ref: str) -> list[str]:
    """Items that have exactly this outside name now."""
    return sorted(of_key(one.item) for one in _alike(store, ref) if (one.name, one.value) == ("ref", ref))


def with_fact(store: Store, name: str, value: str) -> list[str]:
    """Items of which this is true now."""
    asked = f"SELECT DISTINCT item FROM fact WHERE name = ? AND value = ?{of_plans(name)}"
    rows = store.query(asked, (name, value))
    return sorted(of_key(key) for (key,) in rows if facts(store, key).get(name) == value)


def items_with(store: Store, name: str, kind: str) -> dict[str, str]:
    """Every item of a kind that has a fact now, with its value."""
    rows = store.query(
        f"SELECT item, value FROM fact WHERE name = ? AND item % ? = ?{of_plans(name)} ORDER BY item, happened, place",
        (name, len(KINDS), list(KINDS).index(kind)),
    )
    latest: dict[int, str] = dict(rows)
    return {of_key(key): value for key, value in latest.items() if value}


def ever_with(store: Store, wanted: Mapping[str, str]) -> list[str]:
    """Items of which each of these facts was true at some time."""
    one = "SELECT DISTINCT item FROM fact WHERE name = ? AND value = ?"
    question = " INTERSECT ".join([one] * len(wanted)) + " ORDER BY item"
    return [of_key(key) for (key,) in store.query(question, [text for pair in wanted.items() for text in pair])]


def has_refs(store: Store) -> bool:
    """Whether any item ever had an outside name."""
    return bool(store.query("SELECT 1 FROM fact WHERE lookup IS NOT NULL AND name = 'ref' LIMIT 1"))


def beginning_with(store: Store, text: str) -> list[str]:
    """Identifiers and outside names that begin with this text, a few of each."""
    wanted = text.upper().replace("-", "")
    names = [
        row[0]
        for row in store.query(
            "SELECT value FROM fact WHERE lookup >= ? AND lookup < ? GROUP BY lookup, value"
            " ORDER BY lookup, value LIMIT 20",
            (lookup_form(text), lookup_form(text) + "\U0010ffff"),
        )
    ]
    letters = {letter: kind for kind, letter in KINDS.items()}
    kind = letters.get(wanted[:1])
    keys = store.query("SELECT key FROM item WHERE kind = ? ORDER BY key LIMIT 100000", (kind,)) if kind else []
    found = (of_key(key) for (key,) in keys)
    return names + [identifier for identifier in found if identifier.startswith(wanted)][:20]


def is_in_book(store: Store, key: int) -> bool:
    """Whether an item has this number."""
    return bool(store.query("SELECT 1 FROM item WHERE key = ?", (key,)))


def is_reserved(store: Store, key: int) -> bool:
    """Whether a number was printed ahead and is not yet assigned."""
    return bool(store.query("SELECT 1 FROM reserved WHERE key = ?", (key,)))


def voided_opening(store: Store, key: int) -> int:
    """The entry that opened an item and was voided; zero where none was."""
    rows = store.query(
        "SELECT entry.number FROM mention JOIN entry ON entry.number = mention.entry"
        " WHERE mention.item = ? AND entry.kind = 'item' AND entry.gone <> 0 ORDER BY entry.number DESC LIMIT 1",
        (key,),
    )
    return rows[0][0] if rows else 0


def instrument_names(store: Store) -> list[str]:
    """What the instruments of the house are called."""
    keys = [key for (key,) in store.query("SELECT key FROM item WHERE kind = 'instrument' ORDER BY key")]
    return [facts(store, key).get("ref") or hyphened(of_key(key)) for key in keys]
