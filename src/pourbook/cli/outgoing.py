"""Verbs of what leaves the house: the GTIN of a lot, serial numbers for its cases and pallets."""

from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, item_argument, recording
from pourbook.codes.identifiers import hyphened, kind_of
from pourbook.errors import Malformed, Refused
from pourbook.numerals import a_or_an

if TYPE_CHECKING:
    from pourbook.book.items import ItemView

__all__ = ["cases_verb", "gtin_verb", "pallets_verb"]

_WITHOUT = "cartons can carry our identifier and the lot mark: pourbook label LOT --template lot-carton-roll-100x60"


def _lot(door: Door, text: str) -> "ItemView":
    view = door.book.show(text)
    if view.kind != "lot":
        raise Refused(
            f"{hyphened(view.id)} is {a_or_an(kind_of(view.id))}; only a bottle lot leaves the house", "name the lot"
        )
    return view


def _prefix(door: Door, what: str) -> str:
    """The company prefix of the house.

    Raises:
        Refused: there is none, so that this cannot be made.
    """
    prefix = door.settings["company_prefix"]
    if not prefix:
        raise Refused(
            f"the house has no GS1 company prefix, so no {what} is made",
            f"set it: pourbook settings --set company_prefix=DIGITS; without one, {_WITHOUT}",
        )
    return prefix


@click.command("gtin")
@item_argument("lot")
@click.argument("gtin", required=False)
@click.option("--item", "reference", metavar="DIGITS", help="Item reference, to make it from the company prefix.")
@click.option("--case", "case", metavar="GTIN", help="GTIN of a case of these bottles.")
@click.option("--case-indicator", metavar="DIGIT", help="1 to 8: make that of the case from that of the bottle.")
@recording
def gtin_verb(
    door: Door, lot: str, gtin: str | None, reference: str | None, case: str | None, case_indicator: str | None
) -> None:
    """Give a lot the GTIN of its bottles, and of a case of them.

    Either the GTIN itself, whose check digit is verified, or the item reference that the house
    gave the product, from which it is made with the company prefix. All bottles of a product
    have the same GTIN, whatever their lot.

    \b
    Example:
      pourbook gtin L-000001-C 9521234005674
      pourbook gtin L-000001-C --item 567 --case-indicator 1
    """
    from pourbook.book.entries import Facts
    from pourbook.codes.gs1 import as_gtin, checked_gtin, gtin_of, shown_gtin

    view = _lot(door, lot)
    if gtin and reference:
        raise Malformed("a GTIN and an item reference", "give one of them")
    facts = {}
    if reference:
        facts["gtin"] = shown_gtin(gtin_of(_prefix(door, "GTIN"), reference))
    elif gtin:
        facts["gtin"] = shown_gtin(checked_gtin(gtin))
    if case:
        facts["case_gtin"] = shown_gtin(checked_gtin(case))
    elif case_indicator:
        bottle = as_gtin(facts.get("gtin") or view.facts.get("gtin", ""))
        facts["case_gtin"] = _of_case(bottle, case_indicator)
    elif "gtin" in facts and (former := as_gtin(view.facts.get("case_gtin", ""))):
        facts["case_gtin"] = _of_case(as_gtin(facts["gtin"]), former[0])  # else it would be another product's case
    if not facts:
        raise Malformed("no GTIN was given", "give the GTIN, or --item with the item reference, or --case")
    said = ", ".join(f"{name.replace('_', ' ').replace('gtin', 'GTIN')} {value}" for name, value in facts.items())
    door.tell(door.record(Facts(view.id, facts)), f"{hyphened(view.id)}: {said}", id=view.id, **facts)


def _of_case(bottle: str, indicator: str) -> str:
    """The GTIN of a case: that of the bottle with another indicator and its check digit."""
    from pourbook.codes.check_digits import check_digit

    if not bottle or indicator not in tuple("12345678"):
        raise Malformed(f"indicator '{indicator}' makes no GTIN of a case", "give the bottle its GTIN, and 1 to 8 here")
    digits = indicator + bottle[1:13]
    return digits + check_digit(digits)


@click.command("cases")
@item_argument("lot")
@click.option("--count", required=True, type=click.IntRange(1, 10_000), metavar="NUMBER", help="Cases.")
@click.option("--bottles", required=True, type=click.IntRange(1, 1_000), metavar="NUMBER", help="In each case.")
@recording
def cases_verb(door: Door, lot: str, count: int, bottles: int) -> None:
    """Number the cases of a lot: a serial number (SSCC) each, never given out twice.

    Prints the numbers, one a line; a label is printed by naming them.

    \b
    Example:
      pourbook cases L-000001-C --count 115 --bottles 6 > cases.txt
      pourbook label $(cat cases.txt) --template case-sscc-roll-105x148 -o cases.pdf
    """
    _pack(door, lot, "case", count, bottles, 0)


@click.command("pallets")
@item_argument("lot")
@click.option("--count", default=1, type=click.IntRange(1, 1_000), metavar="NUMBER", help="Pallets; 1 by default.")
@click.option("--cases", required=True, type=click.IntRange(1, 10_000), metavar="NUMBER", help="On each pallet.")
@click.option("--bottles", required=True, type=click.IntRange(1, 1_000), metavar="NUMBER", help="In each case.")
@recording
def pallets_verb(door: Door, lot: str, count: int, cases: int, bottles: int) -> None:
    """Number the pallets of a lot: a serial number (SSCC) each, never given out twice.

    \b
    Example:
      pourbook pallets L-000001-C --count 2 --cases 55 --bottles 6
    """
    _pack(door, lot, "pallet", count, cases * bottles, cases)


def _pack(door: Door, lot: str, unit: str, count: int, bottles: int, cases: int) -> None:
    from pourbook.book.entries import Packed
    from pourbook.book.units import next_ssccs, units_of

    view = _lot(door, lot)
    prefix = _prefix(door, "SSCC")
    with door.book.writing():
        ssccs = next_ssccs(door.book.store, prefix, count)
        recorded = door.record(Packed(view.id, unit, ssccs, prefix, bottles, cases))
        packed = sum(one.bottles for one in units_of(door.book.store, view.id) if one.unit == unit)
    filled = view.facts.get("bottles", "")
    if filled.isdecimal() and packed > int(filled):
        click.echo(f"note: {unit}s of {packed} bottles are numbered now; the lot has {filled}", err=True)
    door.tell(recorded, *ssccs, id=view.id, ssccs=list(ssccs), unit=unit, bottles=bottles, cases=cases or None)
