"""The label of one case or pallet, and how often it was printed.

>>> from pourbook import Book, Draft, Item, Packed
>>> from pourbook.book.units import next_ssccs, unit_of
>>> book = Book.create(":memory:", house="Quillmere", company_prefix="9521234")
>>> lot, (sscc,) = book.next_id("lot"), next_ssccs(book.store, "9521234", 1)
>>> facts = {"lot_mark": "L26-118", "gtin": "9521234005674"}
>>> _ = book.record(
...     Draft(Item(lot, facts), 0, "M. Aldane"), Draft(Packed(lot, "case", (sscc,), "9521234", 6), 0, "M. Aldane")
... )
>>> label = unit_label_of(book, unit_of(book.store, sscc))
>>> label.id, label.gs1_unit, label.gs1_content, label.gs1_lot
('L-000001-C', '(00)095212340000000013', '(02)09521234005674 (37)6', '(10)L26-118')
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from pourbook.book.journal import parsed
from pourbook.codes.identifiers import key_of
from pourbook.errors import Refused
from pourbook.paperwork.label_of import label_of
from pourbook.paperwork.outside_marks import unit_texts

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store
    from pourbook.book.units import Unit
    from pourbook.labels.label import Label

__all__ = ["UNIT_LABEL", "unit_label_of", "unit_prints_before"]

UNIT_LABEL = "unit label"
"""What the journal calls a run of labels of cases or pallets; its fact `units` holds their SSCCs."""


def unit_label_of(book: "BookCore", unit: "Unit", print_mark: str = "") -> "Label":
    """The label of a case or pallet.

    Args:
        book: the book.
        unit: the case or pallet.
        print_mark: which print it is, from the second on; empty for the first.

    Raises:
        Refused: its packing was voided.
    """
    if unit.gone:
        raise Refused(f"the packing of {unit.sscc} was taken back by entry {unit.gone}", "pack it anew")
    label = label_of(book, unit.lot, print_mark)
    return replace(label, **unit_texts(unit, label))


def unit_prints_before(store: "Store", units: Iterable["Unit"]) -> Counter[str]:
    """How many times a label of each case or pallet was printed before, by SSCC."""
    found: Counter[str] = Counter()
    for lot in {unit.lot for unit in units}:
        rows = store.query(
            "SELECT entry.bytes FROM entry JOIN mention ON entry.number = mention.entry"
            " WHERE entry.kind = 'paper' AND mention.item = ?",
            (key_of(lot),),
        )
        for body in (parsed(row[0])["body"] for row in rows):
            if body["paper"] == UNIT_LABEL:
                found.update(set(body["facts"]["units"].split()))
    return found
