"""Cases and pallets of a lot, each with what stands on it.

>>> from pourbook import Book, Draft, Item
>>> from pourbook.actions.happening import Happening
>>> book, how = Book.create(":memory:", house="Quillmere", company_prefix="9521234"), Happening("M. Aldane")
>>> lot = book.next_id("lot")
>>> _ = book.record(Draft(Item(lot, {}), 0, "M. Aldane"))
>>> cases, (pallet,) = book.number_cases(how, lot, 3, 6).ssccs, book.number_pallets(how, lot, 1, 3, 6).ssccs
>>> _ = book.stack(how, pallet, cases[:2])
>>> found = packed(book, lot)
>>> [(one.unit.sscc == pallet, len(one.cases), one.bottles) for one in found.pallets], len(found.loose), found.bottles
([(True, 2, 12)], 1, 18)
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.bottles import with_customers
from pourbook.book.trade_numbers import Unit, on_pallets, unit_of, units_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["PackedLot", "PalletOf", "bottles_out", "packed", "pallet"]


class PalletOf(NamedTuple):
    """A pallet (`unit`) with the `cases` that stand on it, and the `bottles` in them; as numbered where none stands."""

    unit: Unit
    cases: tuple[Unit, ...]
    bottles: int


class PackedLot(NamedTuple):
    """A lot as it is packed: its `pallets`, and cases that stand `loose`."""

    pallets: tuple[PalletOf, ...]
    loose: tuple[Unit, ...]

    @property
    def bottles(self) -> int:
        """In all cases."""
        cases = [*self.loose, *(case for pallet in self.pallets for case in pallet.cases)]
        return sum(case.bottles for case in cases)


def packed(book: "BookCore", lot: str) -> PackedLot:
    """How a lot is packed.

    Raises:
        Unknown: no such item.
    """
    identifier = book.find(lot)
    on, units = on_pallets(book.store, identifier), units_of(book.store, identifier)
    cases = [one for one in units if one.unit == "case"]
    pallets = tuple(
        PalletOf(one, its := tuple(case for case in cases if on.get(case.sscc) == one.sscc),
                 sum(case.bottles for case in its) if its else one.bottles)
        for one in units if one.unit == "pallet"
    )  # fmt: skip
    return PackedLot(pallets, tuple(case for case in cases if case.sscc not in on))


def pallet(book: "BookCore", sscc: str) -> PalletOf | None:
    """The pallet with a serial number, as it stands; None where the house has none of that number."""
    unit = unit_of(book.store, sscc)
    if unit is None:
        return None
    return next((one for one in packed(book, unit.lot).pallets if one.unit.sscc == unit.sscc), None)


def bottles_out(book: "BookCore", lot: str) -> dict[str, int]:
    """Bottles of a lot that are with customers, by name.

    Raises:
        Unknown: no such item.
    """
    return {name: count for name, count in with_customers(book.store, book.find(lot)).values() if count}
