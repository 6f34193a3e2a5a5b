"""The verb of measuring: what was read of an item, by whatever instrument, as one gauge."""

from typing import TYPE_CHECKING, Any, NamedTuple

import click

from pourbook.cli.asking import ask, expected_of, held_then, in_ml
from pourbook.cli.door import Door, item_argument, recording
from pourbook.cli.leaving import DISPOSITIONS
from pourbook.cli.record import holds
from pourbook.cli.settling import strength_at_source
from pourbook.codes.identifiers import hyphened, key_of, of_key
from pourbook.errors import Malformed, Refused, Unknown

if TYPE_CHECKING:
    from pourbook.alcoholometry.volumes import Composition
    from pourbook.book.entries import Gauge
    from pourbook.book.items import ItemView
    from pourbook.book.recorded import Recorded
    from pourbook.gauging.gauge_uncertainty import AmountRead, Sureness
    from pourbook.gauging.house_instruments import Instrument
    from pourbook.gauging.readings import Readings
    from pourbook.quantities import Amount

__all__ = ["gauge_verb"]

_AIR = ("air_kg_m3", "weights_kg_m3")
_OF_A_GAUGE = tuple(word for word in DISPOSITIONS if word != "destruction")


class _Typed(NamedTuple):
    """The options by which an amount is said, as text."""

    amount: str | None
    gross: str | None
    tare: str | None
    dip: str | None
    vessel: str | None
    meter: str | None
    meter_start: str | None


@click.command("gauge")
@item_argument("item")
@click.option("--amount", metavar="AMOUNT", help="Volume or mass that is there; 0 for empty.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the volume, in the vat; 20 °C by default.")
@click.option("--gross", metavar="WEIGHT", help="Weighed in air with its vessel, in place of --amount.")
@click.option("--tare", metavar="WEIGHT", help="Of the vessel; else the cask's tare_kg.")
@click.option("--dip", metavar="CM", help="Depth read, in place of --amount; needs --vessel.")
@click.option("--vessel", metavar="PLACE", help="The vat whose calibration table is used.")
@click.option("--meter", metavar="VOLUME", help="All of it as a flow meter showed it, in place of --amount.")
@click.option("--meter-start", metavar="VOLUME", help="What the meter showed before.")
@click.option("--strength", metavar="STRENGTH", help="True strength, from the laboratory or by distillation.")
@click.option("--hydrometer", metavar="READING", help="What the hydrometer showed: 61.2, or '122 proof'.")
@click.option("--density", metavar="NUMBER", help="What the density meter showed: kg/m³, or '0.9051 sg'.")
@click.option("--sample-temperature", metavar="TEMPERATURE", help="Of the sample read; 20 °C by default.")
@click.option("--extract", metavar="EXTRACT", help="Dissolved solids: '3.1 g/l', '310 mg/100 ml'.")
@click.option("--instrument", "instruments", multiple=True, metavar="NAME", help="Read with; may be repeated.")
@click.option("--provisional", type=click.Choice(("warm", "unmixed", "aerated")), help="Not to be relied on yet.")
@click.option("--disposition", type=click.Choice(_OF_A_GAUGE), help="Where what is missing went; from a cask, the air.")
@click.option("--at-source", is_flag=True, help="A vial's strength also stands for its source when it was drawn.")
@recording
def gauge_verb(
    door: Door, item: str, temperature: str | None, strength: str | None, hydrometer: str | None,
    density: str | None, sample_temperature: str | None, extract: str | None, instruments: tuple[str, ...],
    provisional: str | None, disposition: str | None, at_source: bool, **typed: str | None,
) -> None:  # fmt: skip
    """Record what was measured of an item.

    A gauge states what is there; the difference from the book is a gain or a loss. Amount alone
    keeps the strength, strength alone keeps the volume, extract that is not read keeps its mass. A
    hydrometer shows the apparent strength; the true one follows from the extract, read or known. Read
    with instruments whose permissible error the book knows, its figures are shown with their ±.

    \b
    Example:
      pourbook gauge C-000001-H --amount "198.5 l" --strength 61.2 --temperature 12
      pourbook gauge C-000001-H --gross "221.4 kg" --tare "43.1 kg" --hydrometer 59.8 --sample-temperature 14
      pourbook gauge V-000003-N --strength 61.4 --at-source
      pourbook gauge B-000001-Y --meter "512.4 l" --instrument "Meter 1" --temperature 14
      pourbook gauge C-000002-F --amount "171 l" --disposition leak --reason "stave cracked"
    """
    from pourbook.gauging.gauge_uncertainty import sureness
    from pourbook.gauging.readings import Readings, strength_read

    view = door.book.show(item)
    facts: dict[str, str | int] = {}
    solids = _extract(door, view, extract, facts)
    read = Readings(
        door.strength(strength),
        door.strength(hydrometer),
        _density(door, density),
        door.temperature(sample_temperature),
    )
    made_of = strength_read(read, solids)
    words = _Typed(**typed)
    _check_alone(words, read, sample_temperature)
    shelf = _note_instruments(door, instruments, facts)
    measured, how = _amount(door, view, words, shelf, facts)
    vat_c = door.temperature(temperature)
    sure = sureness(read, how, shelf, solids, vat_c, view.strength_20c)
    facts |= {
        name: value
        for name, value in (("provisional", provisional), ("disposition", disposition), ("sure", _words(door, sure)))
        if value
    }
    _ask_back(door, view, measured, read, made_of, facts)
    gauge = _gauge(view, measured, read, made_of, solids if extract else None, facts)._replace(temperature_c=vat_c)
    if at_source:
        strength_at_source(door, gauge)
    else:
        _tell(door, view, door.record(gauge), facts, sure)


def _tell(door: Door, view: "ItemView", recorded: "Recorded", facts: dict[str, str | int], sure: "Sureness") -> None:
    """What is there now, how sure it is, and a warning where a cask's gauge was not to be expected."""
    warning = _unexpected(door, view, recorded.numbers[-1])
    sentences = [holds(door, view.id), *([str(facts["sure"])] if "sure" in facts else [])]
    document = {"uncertainty": _sure_document(sure), "taken_as_exact": list(sure.exact)}
    door.tell(recorded, *sentences, id=view.id, facts=facts, warning=warning, **document)
    for said in (*(f"no ±: {wanting}" for wanting in sure.wanting), *([f"warning: {warning}"] if warning else [])):
        click.echo(said, err=True)


def _words(door: Door, sure: "Sureness") -> str:
    """Every figure with its ±, and what that does not hold; empty where nothing is known of the instruments."""
    if not sure.figures:
        return ""
    exact = f", with {' and '.join(sure.exact)} as exact" if sure.exact else ""
    return f"{sure.words(door.decimal_mark)} (standard uncertainty of the instruments alone{exact})"


def _sure_document(sure: "Sureness") -> dict[str, Any]:
    from pourbook.cli.sureness import document_of

    return {name: {**document_of(figure), "shown": figure.shown()} for name, figure in sure.figures.items()}


def _unexpected(door: Door, view: "ItemView", entry: int) -> str:
    """A sentence where a cask's gauge lies far from what its earlier ones let expect."""
    from pourbook.queries.gauges.fillings import fillings, outlook

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
    from pourbook.alcoholometry.volumes import composition
    from pourbook.book.entries import Gauge
    from pourbook.gauging.readings import strength_words

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


def _extract(door: Door, view: "ItemView", extract: str | None, facts: dict[str, str | int]) -> float:
    """Dissolved solids per litre: as determined now, or as the book knows them."""
    from pourbook.alcoholometry.apparent import read_extract

    if extract is not None:
        facts["extract_read"] = extract
        return read_extract(extract, door.decimal_mark)
    holding = view.holding
    return holding.extract_mg / view.volume_ml_20c if holding.extract_mg else 0.0


def _density(door: Door, text: str | None) -> float | None:
    from pourbook.gauging.readings import specific_gravity
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
    door: Door, view: "ItemView", typed: _Typed, shelf: "list[Instrument]", facts: dict[str, str | int]
) -> "tuple[Amount | None, AmountRead | None]":
    """What is there, and how it was read: an amount, a weighing, a dip, a meter; None where it was not measured."""
    from pourbook.gauging.gauge_uncertainty import AmountRead

    if sum(given is not None for given in (typed.amount, typed.gross, typed.dip, typed.meter)) > 1:
        raise Malformed("the amount was given in two ways", "record the second as a gauge of its own")
    if typed.gross is not None:
        return _weighed(door, view, typed.gross, typed.tare, facts)
    if typed.dip is not None:
        return _dipped(door, typed.dip, typed.vessel, facts)
    if typed.meter is not None:
        measured = _metered(door, typed.meter, typed.meter_start, shelf, facts)
    elif typed.amount is not None:
        measured = door.amount(typed.amount, allow_zero=True)
    else:
        return None, None
    if measured.dimension == "volume":
        return measured, AmountRead("volume", float(measured.volume_ml))
    return measured, AmountRead("mass", float(measured.mass_mg), in_air=measured.dimension == "mass_air")


def _metered(
    door: Door, meter: str, start: str | None, shelf: "list[Instrument]", facts: dict[str, str | int]
) -> "Amount":
    """The volume that went through a flow meter, by its own factor."""
    from pourbook.numerals import EXACT

    through = door.amount(meter)
    facts["meter"] = meter
    if start is not None:
        facts["meter_start"] = start
        before = door.amount(start, allow_zero=True)
        through = through.less(before) if before.value else through
    if through.dimension != "volume":
        raise Malformed(f"'{meter}' is a mass; a flow meter shows volumes", "write it in l or gal, or give --gross")
    factor = next((one.factor for one in shelf if one.kind == "flow meter"), None)
    if factor is None or factor == 1:
        return through
    facts["meter_factor"] = f"{factor:f}"
    return through._replace(typed=f"{through.typed} × {factor:f}", value=EXACT.multiply(through.value, factor))


def _check_alone(typed: _Typed, read: "Readings", sample_temperature: str | None) -> None:
    """Ask back what says nothing without its partner: it would be left out unseen."""
    alone = (
        (typed.tare and typed.gross is None, "a tare without a gross weight", "give --gross"),
        (typed.vessel and typed.dip is None, "a vessel without a dip", "give --dip; where it lies: pourbook move"),
        (typed.meter_start and typed.meter is None, "where a meter began, and not where it ended", "give --meter"),
        (
            sample_temperature is not None and read.hydrometer is None and read.density_kg_m3 is None,
            "a sample's temperature, and nothing that was read at it",
            "give --hydrometer or --density; a true strength needs none, and --temperature is that of the vat",
        ),
    )
    for is_so, said, remedy in alone:
        if is_so:
            raise Malformed(f"{said} says nothing", remedy)


def _ask_back(
    door: Door, view: "ItemView", measured: "Amount | None", read: "Readings", made_of: "Composition | None",
    facts: dict[str, str | int],
) -> None:  # fmt: skip
    """Ask about an amount or a strength that can hardly be, however it was read."""
    from pourbook.alcoholometry import strength_20c
    from pourbook.alcoholometry.apparent import composition_of_liquid, strength_of
    from pourbook.gauging.slips import question, strength_question

    held, mark = held_then(door, view.id), door.decimal_mark
    if measured is not None:
        expected = expected_of(door, view.id, is_told="disposition" in facts)
        known = made_of or (composition_of_liquid(held) if held.mass_mg else None)
        ask(door, question(measured.typed, in_ml(measured, known), expected, mark), facts)
    if made_of is not None and facts.get("provisional") != "unmixed":
        typed = read.true or read.hydrometer
        ask(door, strength_question(typed, strength_of(made_of), strength_20c(held), mark), facts)


def _weighed(
    door: Door, view: "ItemView", gross: str, tare: str | None, facts: dict[str, str | int]
) -> "tuple[Amount, AmountRead]":
    from pourbook.book.items import facts as facts_at
    from pourbook.book.settings import DEFAULTS
    from pourbook.gauging.gauge_uncertainty import AmountRead
    from pourbook.gauging.readings import net_weight

    moment = door.moment(door.options["when"])
    known = facts_at(door.book.store, key_of(view.id), moment).get("tare_kg")
    if tare is None and known is None:
        raise Malformed(f"the tare of {hyphened(view.id)} is not known", "give --tare, or: pourbook set ITEM tare_kg=…")
    if tare is None:
        tare = f"{known} kg".replace(".", door.decimal_mark)
        if view.holding.state:
            click.echo(f"warning: {known} kg is the dry tare; a cask soaked with spirit weighs more", err=True)
            facts["tare_is"] = "dry"
    facts["gross"], facts["tare"] = gross, tare
    facts |= {name: door.settings[name] for name in _AIR if door.settings[name] != DEFAULTS[name]}
    shown, empty = door.amount(gross, "kg"), door.amount(tare, "kg")
    net = net_weight(shown, empty)
    tare_mg = float(empty.mass_mg)
    return net, AmountRead("mass", float(shown.mass_mg), lambda mass: mass - tare_mg, in_air=True, exact=("tare",))


def _dipped(door: Door, dip: str, vessel: str | None, facts: dict[str, str | int]) -> "tuple[Amount, AmountRead]":
    from pourbook.book.items import facts as facts_at
    from pourbook.gauging.calibration_tables import read_table
    from pourbook.gauging.gauge_uncertainty import AmountRead
    from pourbook.numerals import read_decimal
    from pourbook.quantities import read_amount

    if vessel is None:
        raise Malformed("a dip says nothing without its vessel", "give --vessel")
    identifier = door.book.find(vessel)
    # The table that stood when the dip was read, not a later one.
    written = facts_at(door.book.store, key_of(identifier), door.moment(door.options["when"])).get("dip_table")
    if written is None:
        raise Refused(f"{hyphened(identifier)} has no calibration table", "enter it: pourbook vessel NAME --table …")
    table, depth = read_table(written), float(read_decimal(dip, door.decimal_mark))
    facts["dip_cm"], facts["vessel"] = dip, identifier
    measured = read_amount(f"{table.volume_l(depth):.4f} l")._replace(typed=f"dip of {dip} cm")
    how = AmountRead("depth", depth, lambda cm: table.volume_l(cm) * 1000.0, exact=("calibration table",))
    return measured, how


def _note_instruments(door: Door, names: tuple[str, ...], facts: dict[str, str | int]) -> "list[Instrument]":
    """Which instruments, and which of them were overdue; a name the book does not know is kept as it is."""
    from pourbook.book.items import facts as facts_at
    from pourbook.gauging.house_instruments import instrument_of, overdue
    from pourbook.times import day_shown

    moment = door.moment(door.options["when"])
    known, late, shelf = [], [], []
    for name in names:
        try:
            identifier = door.book.find(name)
        except Unknown:
            _ask_of_instrument(door, name)
            known.append(name)
            continue
        instrument = instrument_of(identifier, facts_at(door.book.store, key_of(identifier), moment))
        shelf.append(instrument)
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
    return shelf


def _ask_of_instrument(door: Door, name: str) -> None:
    """Refuse a name that no instrument of the house has; a house that entered none writes them as text."""
    from difflib import get_close_matches

    from pourbook.book.items import facts as facts_at

    keys = [key for (key,) in door.book.store.query("SELECT key FROM item WHERE kind = 'instrument'")]
    shelf = [facts_at(door.book.store, key).get("ref") or hyphened(of_key(key)) for key in keys]
    if shelf and not door.options["confirm"]:
        lower = {one.lower(): one for one in shelf}
        near = [lower[one] for one in get_close_matches(name.lower(), lower, n=3)] or shelf[:8]
        raise Unknown(
            f"no instrument of the house is called '{name}'",
            f"was it {' or '.join(near)}? enter it: pourbook instrument '{name}' --kind …; --confirm keeps it as text",
        )
    click.echo(f"warning: '{name}' is no instrument of the book; it is kept as text, without a ±", err=True)
