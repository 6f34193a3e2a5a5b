"""The label of one case or pallet.

>>> from pourbook import Book, Draft, Item, Packed
>>> from pourbook.book.trade_numbers import next_ssccs, unit_of
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

from dataclasses import replace
from typing import TYPE_CHECKING

from pourbook.errors import Refused
from pourbook.paperwork.label_of import label_of
from pourbook.paperwork.outside_marks import unit_texts

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.trade_numbers import Unit
    from pourbook.labels.label import Label

__all__ = ["unit_label_of"]


def unit_label_of(book: "BookCore", unit: "Unit", print_mark: str = "") -> "Label":
    """The label of a case or pallet; `print_mark` says which print it is, from the second on.

    Raises:
        Refused: its packing was voided.
    """
    if unit.gone:
        raise Refused(f"entry {unit.gone} voided the packing of {unit.sscc}", "pack it again")
    label = label_of(book, unit.lot, print_mark)
    return replace(label, **unit_texts(unit, label))
