"""Verbs of what gauges are done with: instruments and vessels of the house."""

import click

from pourbook.cli.door import Door, recording
from pourbook.cli.entering import enter_or_note
from pourbook.errors import Malformed

__all__ = ["instrument_verb", "vessel_verb"]


@click.command("instrument")
@click.argument("name")
@click.option("--kind", metavar="KIND", help="hydrometer, density meter, balance, dip rod, pipette …")
@click.option("--unit", metavar="UNIT", help="In which it reads: % vol, proof, kg/m3, ml …")
@click.option("--resolution", metavar="NUMBER", help="Its least step, in that unit.")
@click.option("--mpe", metavar="NUMBER", help="Its maximum permissible error, in that unit or in %.")
@click.option("--class", "accuracy_class", metavar="CLASS", help="Or its class: 'hydrometer II', 'balance II 0.1 kg'.")
@click.option("--factor", metavar="NUMBER", help="Of a flow meter: true volume for each volume it shows.")
@click.option("--certificate", metavar="TEXT", help="Number of its last check.")
@click.option("--due", metavar="DATE", help="Day of its next check.")
@recording
def instrument_verb(
    door: Door, name: str, kind: str | None, unit: str | None, resolution: str | None, mpe: str | None,
    accuracy_class: str | None, factor: str | None, certificate: str | None, due: str | None,
) -> None:  # fmt: skip
    """Enter an instrument, or note a new check of it; without options, show it.

    A reading with an instrument whose check is overdue warns, and the record says so. Where its
    permissible error is known, a gauge read with it shows its figures with their ±.

    \b
    Example:
      pourbook instrument "H-3" --kind hydrometer --unit "% vol" --resolution 0.1 --mpe 0.1 --due 2027-03-01
      pourbook instrument "H-3" --certificate "CAL 26-118" --due 2028-03-01
      pourbook instrument "Meter 1" --kind "flow meter" --unit l --mpe "0.5 %" --resolution 0.1 --factor 1.0023
    """
    from pourbook.gauging.gauge_uncertainty import checked_class
    from pourbook.gauging.house_instruments import KINDS, checked_factor
    from pourbook.numerals import number_and_rest, read_decimal
    from pourbook.times import is_date_only

    told = {
        "instrument": kind, "unit": unit, "resolution": resolution, "mpe": mpe, "class": accuracy_class,
        "meter_factor": factor, "certificate": certificate, "due": due,
    }  # fmt: skip
    facts = {fact: value for fact, value in told.items() if value}
    if kind and kind not in KINDS:
        raise Malformed(f"'{kind}' is no kind of instrument known here", f"choose from: {', '.join(KINDS)}")
    if due and not is_date_only(due):
        raise Malformed(f"'{due}' is not a day", "write it like 2027-03-01")
    if resolution:
        read_decimal(resolution, door.decimal_mark)
    if mpe and number_and_rest(mpe, door.decimal_mark)[1] not in ("", "%"):
        raise Malformed(f"'{mpe}' is no permissible error", "write a number in its --unit, or per cent of the reading")
    if accuracy_class:
        checked_class(accuracy_class)
    if factor:
        checked_factor(read_decimal(factor, door.decimal_mark))
    enter_or_note(door, "instrument", name, facts)


@click.command("vessel")
@click.argument("name")
@click.option("--capacity", metavar="LITRES", help="How much it can hold.")
@click.option("--table", metavar="PAIRS", help="Depth in cm and volume in l: '0 12.5; 50 480; 100 962.5'.")
@click.option("--table-file", type=click.Path(), metavar="FILE.csv", help="The same, two columns of a file.")
@recording
def vessel_verb(door: Door, name: str, capacity: str | None, table: str | None, table_file: str | None) -> None:
    """Enter a vat, tank or tanker with its calibration table, or a new table of it; else show it.

    The first pair states the dead volume. A gauge uses the table that stood when it was read.

    \b
    Example:
      pourbook vessel "Vat 2" --capacity 1200 --table "0 12.5; 50 480; 100 962.5"
      pourbook gauge B-000001-Y --dip 81.5 --vessel "Vat 2" --temperature 13 --strength 46.2
    """
    from pourbook.book.known_facts import checked_facts

    if table and table_file:
        raise Malformed("two tables at once", "give --table or --table-file")
    if table_file:
        with open(table_file, encoding="utf-8-sig") as file:
            apart = ";" if door.decimal_mark == "," else ";,"
            rows = [line.translate(dict.fromkeys(map(ord, apart), " ")) for line in file]
        table = "; ".join(row.strip() for row in rows if row.strip() and row.strip()[0].isdigit())
    facts = {fact: value for fact, value in (("capacity_l", capacity), ("dip_table", table)) if value}
    enter_or_note(door, "place", name, checked_facts(facts, door.decimal_mark))
