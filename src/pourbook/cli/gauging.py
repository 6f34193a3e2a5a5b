"""Verbs of measuring: gauge, and the instruments and vessels it is done with."""

from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, item_argument, recording
from pourbook.cli.output import show_json
from pourbook.cli.record import holds, new_item_id
from pourbook.errors import Ambiguous, Malformed, PourbookError, Refused
from pourbook.identifiers import hyphened, key_of

if TYPE_CHECKING:
    from pourbook.alcoholometry.gauging import Composition
    from pourbook.book.entries import Gauge
    from pourbook.book.reading import ItemView
    from pourbook.cellar.gauging import Readings
    from pourbook.quantities import Amount

__all__ = ["gauge_verb", "instrument_verb", "vessel_verb"]

_OVERFULL = 1.3


@click.command("gauge")
@item_argument("item")
@click.option("--amount", metavar="AMOUNT", help="Volume or mass that is there; 0 for empty.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the volume, in the vat; 20 °C by default.")
@click.option("--gross", metavar="WEIGHT", help="Weighed in air with its vessel, in place of --amount.")
@click.option("--tare", metavar="WEIGHT", help="Of the vessel; else the cask's tare_kg.")
@click.option("--dip", metavar="CM", help="Depth read, in place of --amount; needs --vessel.")
@click.option("--vessel", metavar="PLACE", help="The vat whose calibration table is used.")
@click.option("--strength", metavar="STRENGTH", help="True strength, from the laboratory or by distillation.")
@click.option("--hydrometer", metavar="READING", help="What the hydrometer showed: 61.2, or '122 proof'.")
@click.option("--density", metavar="NUMBER", help="What the density meter showed: kg/m³, or '0.9051 sg'.")
@click.option("--sample-temperature", metavar="TEMPERATURE", help="Of the sample read; 20 °C by default.")
@click.option("--extract", metavar="EXTRACT", help="Dissolved solids: '3.1 g/l', '310 mg/100 ml'.")
@click.option("--instrument", "instruments", multiple=True, metavar="NAME", help="Read with; may be repeated.")
@click.option("--provisional", type=click.Choice(("warm", "unmixed", "aerated")), help="Not to be relied on yet.")
@click.option("--at-source", is_flag=True, help="A vial's strength also stands for its source when it was drawn.")
@recording
def gauge_verb(
    door: Door, item: str, amount: str | None, temperature: str | None, gross: str | None, tare: str | None,
    dip: str | None, vessel: str | None, strength: str | None, hydrometer: str | None, density: str | None,
    sample_temperature: str | None, extract: str | None, instruments: tuple[str, ...], provisional: str | None,
    at_source: bool,
) -> None:  # fmt: skip
    """Record what was measured of an item.

    A gauge states what is there; the difference from the book is a gain or a loss. Amount alone
    keeps the strength, strength alone keeps the volume, extract that is not read keeps its mass. A
    hydrometer shows the apparent strength; the true one follows from the extract, read or known.

    \b
    Example:
      pourbook gauge C-000001-H --amount "198.5 l" --strength 61.2 --temperature 12
      pourbook gauge C-000001-H --gross "221.4 kg" --tare "43.1 kg" --hydrometer 59.8 --sample-temperature 14
      pourbook gauge V-000003-N --strength 61.4 --at-source
    """
    from pourbook.cellar.gauging import Readings, strength_read

    view = door.book.show(item)
    facts: dict[str, str | int] = {}
    solids = _extract(view, extract, facts)
    read = Readings(
        door.strength(strength),
        door.strength(hydrometer),
        _density(door, density),
        door.temperature(sample_temperature),
    )
    made_of = strength_read(read, solids)
    measured = _amount(door, view, amount, (gross, tare), (dip, vessel), facts)
    _note_instruments(door, instruments, facts)
    if provisional:
        facts["provisional"] = provisional
    gauge = _gauge(view, measured, read, made_of, solids if extract else None, facts)._replace(
        temperature_c=door.temperature(temperature)
    )
    if at_source:
        _at_source(door, gauge)
    else:
        recorded = door.record(gauge)
        warning = _unexpected(door, view, recorded.numbers[-1])
        door.tell(recorded, holds(door, view.id), id=view.id, facts=facts, warning=warning)
        if warning:
            click.echo(f"warning: {warning}", err=True)


def _unexpected(door: Door, view: "ItemView", entry: int) -> str:
    """A sentence where a cask's gauge lies far from what its earlier ones let expect."""
    from pourbook.cellar.filling import fillings, outlook

    if view.kind != "cask":
        return ""
    latest = fillings(door.book.store, [key_of(view.id)])[key_of(view.id)][-1:]
    if not latest or latest[0].readings[-1].entry != entry:
        return ""
    return outlook(latest[0], door.book.clock(), door.decimal_mark).warning


def _gauge(
    view: "ItemView", measured: "Amount | None", read: "Readings", made_of: "Composition | None",
    solids: float | None, facts: dict[str, str | int],
) -> "Gauge":  # fmt: skip
    """The entry: a true strength as typed; anything else as the fraction that follows from it."""
    from pourbook.alcoholometry.gauging import composition
    from pourbook.book.entries import Gauge
    from pourbook.cellar.gauging import strength_words

    words = strength_words(read, made_of)
    if words:
        facts["reading"] = words
    if solids is not None:
        found = made_of or composition(view.strength_20c or 0.0, solids)
        if read.true is not None:
            facts["reading"] = f"true strength {read.true.typed}"
        return Gauge(
            view.id,
            measured,
            None,
            facts=facts,
            mass_fraction=found.mass_fraction,
            extract_per_mass=found.extract_per_mass,
        )
    if read.true is not None:
        return Gauge(view.id, measured, read.true, facts=facts)
    return Gauge(view.id, measured, None, facts=facts, mass_fraction=None if made_of is None else made_of.mass_fraction)


def _extract(view: "ItemView", extract: str | None, facts: dict[str, str | int]) -> float:
    """Dissolved solids per litre: as determined now, or as the book knows them."""
    from pourbook.alcoholometry.readings import read_extract

    if extract is not None:
        facts["extract_read"] = extract
        return read_extract(extract)
    holding = view.holding
    return holding.extract_mg / view.volume_ml_20c if holding.extract_mg else 0.0


def _density(door: Door, text: str | None) -> float | None:
    from pourbook.cellar.gauging import specific_gravity
    from pourbook.numerals import number_and_rest

    if text is None:
        return None
    value, rest = number_and_rest(text, door.decimal_mark)
    if rest in ("sg", "sp gr", "specific gravity"):
        return specific_gravity(value)
    if rest in ("", "kg/m3", "kg/m³", "g/l"):
        return float(value)
    if rest in ("g/cm3", "g/cm³", "g/ml", "kg/l"):
        return float(value) * 1000
    raise Malformed(f"'{text}' is no density known here", "write kg/m³ alone, 'g/cm3' or 'sg' behind the number")


def _amount(
    door: Door, view: "ItemView", amount: str | None, weights: tuple[str | None, str | None],
    dips: tuple[str | None, str | None], facts: dict[str, str | int],
) -> "Amount | None":  # fmt: skip
    """What is there, by volume or mass, by weighing, or by a dip; None where it was not measured."""
    gross, dip = weights[0], dips[0]
    if sum(given is not None for given in (amount, gross, dip)) > 1:
        raise Malformed("the amount was given in two ways", "record the second as a gauge of its own")
    if gross is not None:
        return _weighed(door, view, gross, weights[1], facts)
    if dip is not None:
        return _dipped(door, dip, dips[1], facts)
    if amount is None:
        return None
    measured = door.amount(amount, allow_zero=True)
    _check_capacity(door, view, measured)
    return measured


def _check_capacity(door: Door, view: "ItemView", measured: "Amount") -> None:
    """Ask back where a cask would hold far more than it can: gallons typed as litres, or the wrong cask."""
    from pourbook.numerals import read_decimal

    capacity = view.facts.get("capacity_l")
    if capacity is None or measured.dimension != "volume" or door.options["confirm"]:
        return
    litres = float(measured.volume_ml) / 1000
    if litres > float(read_decimal(capacity)) * _OVERFULL:
        raise Ambiguous(
            f"'{measured.typed}' is {litres:.0f} l, and {hyphened(view.id)} has a capacity of {capacity} l",
            "is it the unit (gallons, litres) or the cask? If it is right, give --confirm",
        )


def _weighed(door: Door, view: "ItemView", gross: str, tare: str | None, facts: dict[str, str | int]) -> "Amount":
    from pourbook.cellar.gauging import net_weight

    known = view.facts.get("tare_kg")
    if tare is None and known is None:
        raise Malformed(f"the tare of {hyphened(view.id)} is not known", "give --tare, or: pourbook set ITEM tare_kg=…")
    if tare is None:
        tare = f"{known} kg".replace(".", door.decimal_mark)
        if view.holding.state:
            click.echo(f"warning: {known} kg is the dry tare; a cask soaked with spirit weighs more", err=True)
            facts["tare_is"] = "dry"
    facts["gross"], facts["tare"] = gross, tare
    return net_weight(door.amount(gross, "kg"), door.amount(tare, "kg"))


def _dipped(door: Door, dip: str, vessel: str | None, facts: dict[str, str | int]) -> "Amount":
    from pourbook.book.reading import facts as facts_at
    from pourbook.cellar.vessels import read_table
    from pourbook.numerals import read_decimal
    from pourbook.quantities import read_amount

    if vessel is None:
        raise Malformed("a dip says nothing without its vessel", "give --vessel")
    identifier = door.book.find(vessel)
    # The table that stood when the dip was read, not a later one.
    table = facts_at(door.book.store, key_of(identifier), door.moment(door.options["happened"])).get("dip_table")
    if table is None:
        raise Refused(f"{hyphened(identifier)} has no calibration table", "enter it: pourbook vessel NAME --table …")
    depth = float(read_decimal(dip, door.decimal_mark))
    facts["dip_cm"], facts["vessel"] = dip, identifier
    return read_amount(f"{read_table(table).volume_l(depth):.4f} l")


def _note_instruments(door: Door, names: tuple[str, ...], facts: dict[str, str | int]) -> None:
    """Which instruments, and which of them were overdue; a name the book does not know is kept as it is."""
    from pourbook.book.reading import facts as facts_at
    from pourbook.cellar.instruments import instrument_of, overdue
    from pourbook.times import day_shown

    moment = door.moment(door.options["happened"])
    known, late = [], []
    for name in names:
        try:
            identifier = door.book.find(name)
        except PourbookError:
            known.append(name)
            continue
        instrument = instrument_of(identifier, facts_at(door.book.store, key_of(identifier), moment))
        known.append(
            f"{instrument.name} ({identifier})" + (f", {instrument.certificate}" if instrument.certificate else "")
        )
        said = overdue(instrument, day_shown(moment, door.book.zone))
        if said:
            late.append(said)
            click.echo(f"warning: {said}", err=True)
    if known:
        facts["instrument"] = "; ".join(known)
    if late:
        facts["overdue"] = "; ".join(late)


def _at_source(door: Door, gauge: "Gauge") -> None:
    """A vial's strength stands for the vial and for what it was drawn from, when it was drawn."""
    from pourbook.book.bottles import drawn_from

    found = drawn_from(door.book.store, gauge.id)
    if found is None:
        raise Refused(f"{hyphened(gauge.id)} was not drawn from one item", "gauge the item itself with --happened")
    if gauge.amount is not None or (gauge.strength is None and gauge.mass_fraction is None):
        raise Malformed("--at-source carries a strength, and nothing else", "give a strength only")
    source, drawn_us = found
    recorded = door.record_drafts(
        door.draft(gauge, happened_us=drawn_us), door.draft(gauge._replace(id=source), happened_us=drawn_us)
    )
    door.tell(recorded, holds(door, gauge.id), holds(door, source), id=gauge.id, source=source)


@click.command("instrument")
@click.argument("name")
@click.option("--kind", metavar="KIND", help="hydrometer, density meter, balance, dip rod, pipette …")
@click.option("--unit", metavar="UNIT", help="In which it reads: % vol, proof, kg/m3, ml …")
@click.option("--resolution", metavar="NUMBER", help="Its least step, in that unit.")
@click.option("--mpe", metavar="NUMBER", help="Its maximum permissible error, in that unit.")
@click.option("--certificate", metavar="TEXT", help="Number of its last check.")
@click.option("--due", metavar="DATE", help="Day of its next check.")
@recording
def instrument_verb(
    door: Door, name: str, kind: str | None, unit: str | None, resolution: str | None, mpe: str | None,
    certificate: str | None, due: str | None,
) -> None:  # fmt: skip
    """Enter an instrument, or note a new check of it; without options, show it.

    A reading with an instrument whose check is overdue warns, and the record says so.

    \b
    Example:
      pourbook instrument "H-3" --kind hydrometer --unit "% vol" --resolution 0.1 --mpe 0.1 --due 2027-03-01
      pourbook instrument "H-3" --certificate "CAL 26-118" --due 2028-03-01
    """
    from pourbook.cellar.instruments import KINDS
    from pourbook.numerals import read_decimal
    from pourbook.times import is_date_only

    told = {
        "instrument": kind, "unit": unit, "resolution": resolution, "mpe": mpe, "certificate": certificate, "due": due,
    }  # fmt: skip
    facts = {fact: value for fact, value in told.items() if value}
    if kind and kind not in KINDS:
        raise Malformed(f"'{kind}' is no kind of instrument known here", f"choose from: {', '.join(KINDS)}")
    if due and not is_date_only(due):
        raise Malformed(f"'{due}' is not a day", "write it like 2027-03-01")
    for number in (resolution, mpe):
        if number:
            read_decimal(number, door.decimal_mark)
    _enter_or_note(door, "instrument", name, facts)


def _enter_or_note(door: Door, kind: str, name: str, facts: dict[str, str]) -> None:
    """A new item of the house that holds no liquid, new facts of one, or what is known of it."""
    from pourbook.book.entries import Facts, Item
    from pourbook.book.reading import named

    found = named(door.book.store, name, kind)
    if found and not facts:
        view = door.book.show(found)
        if door.json:
            show_json({"id": found, "kind": kind, "facts": view.facts})
        else:
            click.echo(f"{hyphened(found)}  " + "  ".join(f"{fact}: {value}" for fact, value in view.facts.items()))
        return
    if found:
        recorded = door.record(Facts(found, facts))
    else:
        with door.book.writing():
            found = new_item_id(door, kind, None)
            recorded = door.record(Item(found, {"ref": name, **facts}))
    door.tell(recorded, hyphened(found), id=found)


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
    from pourbook.cellar.vessels import read_table

    if table and table_file:
        raise Malformed("two tables at once", "give --table or --table-file")
    if table_file:
        with open(table_file, encoding="utf-8-sig") as file:
            rows = [line.replace(";", " ").replace(",", " ") for line in file]
        table = "; ".join(row.strip() for row in rows if row.strip() and row.strip()[0].isdigit())
    facts = {"capacity_l": capacity, "dip_table": read_table(table).written() if table else None}
    _enter_or_note(door, "place", name, {fact: value for fact, value in facts.items() if value})
