"""A sample that came from outside: no cask of ours is behind it, but a supplier, their reference and a document.

>>> from pourbook import Book
>>> from pourbook.actions.casks import Filling, take_in_sample
>>> from pourbook.actions.happening import Happening
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> filling = Filling(
...     read_amount("200 ml"), read_strength("61"), facts={"supplier": "Tarn Bulk Spirit", "supplier_ref": "7/14"}
... )
>>> vial = take_in_sample(book, Happening("M. Aldane"), {"ref": "T 7"}, filling).item.id
>>> outside_sample(book.store, vial).called
'Tarn Bulk Spirit 7/14'
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.contents import EVER, LINES
from pourbook.book.search import ledger_lines, told
from pourbook.codes.identifiers import key_of, kind_of

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["OutsideSample", "outside_sample"]


class OutsideSample(NamedTuple):
    """How a sample came into the house.

    Attributes:
        entry: of the pour that brought it.
        happened_us: when it was received.
        facts: as recorded: supplier, supplier_ref, document, spirit, distiller, in_wood …
    """

    entry: int
    happened_us: int
    facts: Mapping[str, str | int]

    @property
    def called(self) -> str:
        """The supplier and what they call it; empty where neither was recorded."""
        return " ".join(str(self.facts[name]) for name in ("supplier", "supplier_ref") if name in self.facts)


def outside_sample(store: "Store", item: str) -> OutsideSample | None:
    """How a vial came into the house; None for what was drawn here, and for anything but a vial."""
    if kind_of(item) != "vial":
        return None
    for line in ledger_lines(store, (key_of(item),), EVER):
        moved = told(line)
        if moved.get("from") == "origin" and moved["to"] == item:
            return OutsideSample(line.line // LINES, line.happened_us, moved.get("facts", {}))
    return None
