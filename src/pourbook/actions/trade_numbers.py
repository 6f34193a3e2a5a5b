"""The numbers that a lot has outside the house: the GTIN of its bottles and cases, an SSCC for each case and pallet.

>>> from pourbook import Book, Draft, Item
>>> from pourbook.actions.happening import Happening
>>> book = Book.create(":memory:", house="Quillmere", company_prefix="9521234")
>>> how, lot = Happening("M. Aldane"), book.next_id("lot")
>>> _ = book.record(Draft(Item(lot, {}), 0, "M. Aldane"))
>>> dict(set_gtin(book, how, lot, Gtins(reference="567", case_indicator="1")).facts)
{'gtin': '9521234005674', 'case_gtin': '19521234005671'}
>>> number_cases(book, how, lot, 2, 6).ssccs
('095212340000000013', '095212340000000020')
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import Facts, Packed
from pourbook.book.trade_numbers import next_ssccs, units_of
from pourbook.codes.check_digits import check_digit
from pourbook.codes.gs1 import as_gtin, checked_gtin, gtin_of, shown_gtin
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, Refused
from pourbook.numerals import a_or_an

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.book.items import ItemView

__all__ = ["GtinSet", "Gtins", "UnitsNumbered", "number_cases", "number_pallets", "set_gtin"]


class Gtins(NamedTuple):
    """The trade item numbers of a product; empty where nothing is given.

    Attributes:
        gtin: of the bottle.
        reference: item reference that makes it with the company prefix, instead.
        case: GTIN of a case.
        case_indicator: 1 to 8, which makes it from the bottle's, instead.
    """

    gtin: str = ""
    reference: str = ""
    case: str = ""
    case_indicator: str = ""


class GtinSet(NamedTuple):
    """The facts `gtin` and `case_gtin` that a lot, by its id, was given, as far as they changed; what was recorded."""

    id: str
    facts: Mapping[str, str]
    recorded: "Recorded"


class UnitsNumbered(NamedTuple):
    """Cases or pallets of a lot that were numbered.

    Attributes:
        id: the lot.
        unit: "case" or "pallet".
        ssccs: their serial numbers.
        bottles: in each.
        cases: on each pallet; 0 for cases.
        packed: bottles in all cases, or on all pallets, that are numbered now.
        filled: bottles of the lot; None where that is not known.
        recorded: what the recording did.
    """

    id: str
    unit: str
    ssccs: tuple[str, ...]
    bottles: int
    cases: int
    packed: int
    filled: int | None
    recorded: "Recorded"


def set_gtin(book: "BookCore", how: "Happening", lot: str, given: Gtins) -> GtinSet:
    """Give a lot the GTIN of its bottles, of a case, or both; a new bottle GTIN also changes that of the case.

    Raises:
        PourbookError: nothing goes by the name of the lot.
        Refused: it is not a lot, or the house has no company prefix to make a GTIN from.
        Malformed: nothing was given, or both a GTIN and what makes one, or an invalid GTIN.
        Mistyped: its check digit does not agree.
    """
    if given.gtin and given.reference:
        raise Malformed("both a GTIN and an item reference", "give only one")
    with how.transaction(book):
        view = _lot(book, lot)
        known, facts = view.facts, {}
        if given.reference:
            facts["gtin"] = shown_gtin(gtin_of(_prefix(book, "GTIN"), given.reference))
        elif given.gtin:
            facts["gtin"] = shown_gtin(checked_gtin(given.gtin))
        bottle = as_gtin(facts.get("gtin") or known.get("gtin", ""))
        if given.case:
            facts["case_gtin"] = shown_gtin(checked_gtin(given.case))
        elif given.case_indicator:
            facts["case_gtin"] = _of_case(bottle, given.case_indicator)
        elif facts and (former := as_gtin(known.get("case_gtin", ""))):
            facts["case_gtin"] = _of_case(bottle, former[0])  # else it would be another product's case
        if not facts:
            raise Malformed("no GTIN was given", "give the GTIN, or --item with the item reference, or --case")
        return GtinSet(view.id, facts, how.record(book, Facts(view.id, facts)))


def _of_case(bottle: str, indicator: str) -> str:
    """The GTIN of a case: that of the bottle with another indicator and its check digit."""
    if not bottle or indicator not in tuple("12345678"):
        raise Malformed(
            f"indicator '{indicator}' cannot make a case GTIN", "give the bottle its GTIN, and an indicator from 1 to 8"
        )
    digits = indicator + bottle[1:13]
    return digits + check_digit(digits)


def number_cases(book: "BookCore", how: "Happening", lot: str, count: int, bottles: int) -> UnitsNumbered:
    """Number `count` cases of a lot, `bottles` in each: an SSCC for each, never issued twice.

    Raises:
        PourbookError: nothing goes by the name of the lot.
        Refused: it is not a lot, or the house has no company prefix.
    """
    return _numbered(book, how, lot, Packed("", "case", ("",) * count, "", bottles))


def number_pallets(
    book: "BookCore", how: "Happening", lot: str, count: int, cases: int, bottles: int
) -> UnitsNumbered:  # fmt: skip
    """Number `count` pallets of a lot, `cases` on each, `bottles` in each case; errors as for cases."""
    return _numbered(book, how, lot, Packed("", "pallet", ("",) * count, "", cases * bottles, cases))


def _numbered(book: "BookCore", how: "Happening", lot: str, packed: Packed) -> UnitsNumbered:
    with how.transaction(book):
        view, prefix = _lot(book, lot), _prefix(book, "SSCC")
        ssccs = next_ssccs(book.store, prefix, len(packed.ssccs))
        recorded = how.record(book, packed._replace(id=view.id, ssccs=ssccs, prefix=prefix))
        in_all = sum(one.bottles for one in units_of(book.store, view.id) if one.unit == packed.unit)
    filled = view.facts.get("bottles", "")
    bottles = int(filled) if filled.isdecimal() else None
    return UnitsNumbered(view.id, packed.unit, ssccs, packed.bottles, packed.cases, in_all, bottles, recorded)


def _lot(book: "BookCore", text: str) -> "ItemView":
    view = book.show(text)
    if view.kind != "lot":
        raise Refused(
            f"{hyphened(view.id)} is {a_or_an(view.kind)}; only a bottle lot leaves the house", "name the lot"
        )
    return view


def _prefix(book: "BookCore", what: str) -> str:
    prefix = book.settings["company_prefix"]
    if not prefix:
        raise Refused(
            f"the house has no GS1 company prefix, so no {what} is made",
            "set it: pourbook settings --set company_prefix=DIGITS; without one, cartons can carry our identifier and"
            " the lot mark: pourbook label LOT --template lot-carton-roll-100x60",
        )
    return prefix
