"""Verbs of what leaves the house: the GTIN of a lot, serial numbers for its cases and pallets."""

import click

from pourbook.cli.door import Door, recording
from pourbook.cli.options import item_argument

__all__ = ["cases_verb", "gtin_verb", "pallets_verb", "stack_verb"]


@click.command("gtin")
@item_argument("lot")
@click.argument("gtin", required=False)
@click.option("--item", "reference", metavar="DIGITS", help="Item reference, to make it from the company prefix.")
@click.option("--case", "case", metavar="GTIN", help="GTIN of a case of these bottles.")
@click.option("--case-indicator", metavar="DIGIT", help="1 to 8: make the case's GTIN from the bottle's.")
@recording
def gtin_verb(door: Door, lot: str, **given: str | None) -> None:
    """Give a lot the GTIN of its bottles, and of a case of them.

    Give the GTIN, whose check digit is verified, or the item reference that the house gave the
    product; the GTIN is then made with the company prefix. All bottles of a product have the
    same GTIN, whatever their lot.

    \b
    Example:
      pourbook gtin L-000001-C 9521234005674
      pourbook gtin L-000001-C --item 567 --case-indicator 1
    """
    from pourbook.actions.trade_numbers import Gtins
    from pourbook.documents.labels import gtin_shown

    gtins = Gtins(**{name: text for name, text in given.items() if text})
    door.show(gtin_shown(door.book.set_gtin(door.how, lot, gtins), door.style))


@click.command("cases")
@item_argument("lot")
@click.option("--count", required=True, type=click.IntRange(1, 10_000), metavar="NUMBER", help="Cases.")
@click.option("--bottles", required=True, type=click.IntRange(1, 1_000), metavar="NUMBER", help="In each case.")
@recording
def cases_verb(door: Door, lot: str, count: int, bottles: int) -> None:
    """Give each case of a lot a serial number (SSCC) that is never used twice.

    Prints the numbers, one per line; pourbook label prints a label for each.

    \b
    Example:
      pourbook cases L-000001-C --count 115 --bottles 6 > cases.txt
      pourbook label $(cat cases.txt) --template case-sscc-roll-105x148 -o cases.pdf
    """
    from pourbook.documents.labels import units_shown

    door.show(units_shown(door.book.number_cases(door.how, lot, count, bottles), door.style))


@click.command("pallets")
@item_argument("lot")
@click.option("--count", default=1, type=click.IntRange(1, 1_000), metavar="NUMBER", help="Pallets; default: 1.")
@click.option("--cases", required=True, type=click.IntRange(1, 10_000), metavar="NUMBER", help="On each pallet.")
@click.option("--bottles", required=True, type=click.IntRange(1, 1_000), metavar="NUMBER", help="In each case.")
@recording
def pallets_verb(door: Door, lot: str, count: int, cases: int, bottles: int) -> None:
    """Give each pallet of a lot a serial number (SSCC) that is never used twice.

    \b
    Example:
      pourbook pallets L-000001-C --count 2 --cases 55 --bottles 6
    """
    from pourbook.documents.labels import units_shown

    door.show(units_shown(door.book.number_pallets(door.how, lot, count, cases, bottles), door.style))


@click.command("stack")
@click.argument("pallet", required=False)
@click.argument("cases", nargs=-1)
@recording
def stack_verb(door: Door, pallet: str | None, cases: tuple[str, ...]) -> None:
    """Put cases on pallets, by the serial numbers on their labels.

    Without cases it reads lines, as a scanner sends them: a pallet, its cases, the next pallet. Each case is
    recorded at once. 'undo' takes the last one back, 'confirm' answers a question, 'done' ends. A case of
    another lot, one scanned twice and one that was sent are stopped.

    \b
    Example:
      pourbook stack
      pourbook stack 095212340000000099
      pourbook stack 095212340000000099 095212340000000013 095212340000000020
    """
    from pourbook.documents.packing import put_shown, stacked_shown

    if pallet is not None and cases:
        door.show(stacked_shown(door.book.stack(door.how, pallet, cases), door.style))
        return
    packing = door.book.packing_by_scan(door.how)
    if pallet is not None:
        first = packing.scan(pallet)
        if first.refused:
            raise first.refused
    door.take_lines(packing.scan, put_shown)
