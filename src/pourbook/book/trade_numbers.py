"""What a lot is known by outside the house: the GTIN of its bottles and cases, the SSCC of each case and pallet.

>>> from pourbook import Book, Draft, Item, Packed
>>> book = Book.create(":memory:", house="Quillmere", company_prefix="9521234")
>>> lot = book.next_id("lot")
>>> facts = {"lot_mark": "L26-118", "gtin": "9521234005674"}
>>> ssccs = next_ssccs(book.store, "9521234", 2)
>>> _ = book.record(
...     Draft(Item(lot, facts), 0, "M. Aldane"), Draft(Packed(lot, "case", ssccs, "9521234", 6), 0, "M. Aldane")
... )
>>> ssccs, next_ssccs(book.store, "9521234", 1)
(('095212340000000013', '095212340000000020'), ('095212340000000037',))
>>> unit_of(book.store, ssccs[1])[:4], lots_of(book.store, "09521234005674", "26-118")
(('095212340000000020', 'L000001C', 'case', 6), ['L000001C'])
"""

from collections.abc import Mapping
from typing import NamedTuple

from pourbook.book.items import facts
from pourbook.book.journal import Logged, entry_of
from pourbook.book.numbering import first_free, number_from, site_numbers
from pourbook.book.search import in_force
from pourbook.book.store import Store
from pourbook.codes.gs1 import as_gtin, gtin_spellings, sscc_of
from pourbook.codes.identifiers import key_of, kind_of, of_key
from pourbook.codes.lot_marks import printed, same

__all__ = ["Unit", "bottles_in", "lots_of", "next_ssccs", "on_pallets", "place_in_packing", "unit_of", "units_of"]


class Unit(NamedTuple):
    """A case or a pallet.

    Attributes:
        sscc: its serial number.
        lot: identifier of the lot in it.
        unit: "case" or "pallet".
        bottles: in it.
        cases: on it; 0 where they are not counted.
        packed_us: when it was packed.
        gone: the entry that voided its packing; 0 while it counts.
    """

    sscc: str
    lot: str
    unit: str
    bottles: int
    cases: int
    packed_us: int
    gone: int


def next_ssccs(store: Store, prefix: str, count: int) -> tuple[str, ...]:
    """The next serial numbers of a company prefix; take them in the transaction that records them."""
    ranges, numbers = site_numbers(store), [first_free(store, f"sscc {prefix}") - 1]
    for _ in range(count):
        numbers.append(number_from(ranges, "", numbers[-1] + 1))
    return tuple(sscc_of(prefix, number) for number in numbers[1:])


def unit_of(store: Store, sscc: str) -> Unit | None:
    """The case or pallet with this serial number; None where the house never issued it."""
    rows = store.query("SELECT item, entry FROM unit WHERE sscc = ?", (int(sscc),))
    return _unit(sscc, of_key(rows[0][0]), entry_of(store, rows[0][1])) if rows else None


def units_of(store: Store, lot: str) -> list[Unit]:
    """The cases and pallets of a lot that count, by serial number."""
    packings = store.query(
        "SELECT number FROM entry JOIN mention ON mention.entry = number"
        " WHERE mention.item = ? AND kind = 'packed' AND gone = 0 ORDER BY number",
        (key_of(lot),),
    )
    entries = [entry_of(store, number) for (number,) in packings]
    return [_unit(sscc, lot, packing) for packing in entries for sscc in packing.entry["body"]["ssccs"]]


def on_pallets(store: Store, lot: str) -> dict[str, str]:
    """The pallet that each case of a lot stands on, as far as that was recorded."""
    stacked = (one.entry["body"] for one in in_force(store, "stacked", item=lot))
    return {case: body["pallet"] for body in stacked for case in body["cases"]}


def bottles_in(store: Store, unit: Unit, on: Mapping[str, str]) -> int:
    """Bottles in a case or on a pallet: in the cases that stand `on` it; where none does, as it was numbered."""
    cases = [unit_of(store, case) for case, pallet in on.items() if pallet == unit.sscc]
    return sum(case.bottles for case in cases if case) if cases else unit.bottles


def place_in_packing(store: Store, sscc: str) -> tuple[int, int]:
    """Which of how many cases or pallets numbered together this one is, from 1."""
    ((entry,),) = store.query("SELECT entry FROM unit WHERE sscc = ?", (int(sscc),))
    ssccs = entry_of(store, entry).entry["body"]["ssccs"]
    return ssccs.index(sscc) + 1, len(ssccs)


def _unit(sscc: str, lot: str, packing: Logged) -> Unit:
    body = packing.entry["body"]
    return Unit(sscc, lot, body["unit"], body["bottles"], body.get("cases", 0), packing.happened_us, packing.gone)


def lots_of(store: Store, gtin: str = "", lot: str = "") -> list[str]:
    """The lots that a GTIN and a lot number may mean; either may be left out.

    A mark that agrees to the letter, as printed, comes before one that differs in case or its L. A lot is found by
    every mark it ever had, since bottles may bear it.
    """
    if gtin:
        keys = _with_gtin(store, gtin)
    else:
        rows = store.query("SELECT item, value FROM fact WHERE name = 'lot_mark'")
        keys = {key for key, mark in rows if same(mark, lot)}
    found = [(key, facts(store, key)) for key in keys]
    if gtin:
        found = [
            (key, known)
            for key, known in found
            if gtin in (as_gtin(known.get("gtin", "")), as_gtin(known.get("case_gtin", "")))
        ]
    marked = [(key, mark) for key, _ in found for mark in _marks(store, key)] if lot else []
    exact = {key for key, mark in marked if "".join(printed(mark).split()) == lot}
    loose = {key for key, mark in marked if same(mark, lot)} if lot else {key for key, _ in found}
    found_lots = (of_key(key) for key in sorted(exact or loose))
    return [identifier for identifier in found_lots if kind_of(identifier) == "lot"]


def _marks(store: Store, key: int) -> list[str]:
    """Every mark that a lot ever had."""
    rows = store.query("SELECT value FROM fact WHERE item = ? AND name = 'lot_mark' AND value <> ''", (key,))
    return [mark for (mark,) in rows]


def _with_gtin(store: Store, gtin: str) -> set[int]:
    spellings = gtin_spellings(gtin)
    marks = ",".join("?" * len(spellings))
    return {
        key
        for name in ("gtin", "case_gtin")
        for (key,) in store.query(f"SELECT item FROM fact WHERE name = '{name}' AND value IN ({marks})", spellings)
    }
