"""Calculators of spirit: they need no book; with one, they read and write as its house does."""

from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.options import options
from pourbook.errors import Ambiguous, FaultsFound, Malformed, OutOfRange

if TYPE_CHECKING:
    from pourbook.alcoholometry.official_tables import OfficialTables
    from pourbook.alcoholometry.spirit_body import BodyRead
    from pourbook.house_style import HouseStyle
    from pourbook.quantities import Scale, Strength

__all__ = [
    "amount_options", "body_read", "convert_verb", "density_verb", "hydrometer_verb", "load_tables", "obscuration_verb",
    "strength_verb", "tables_option",
]  # fmt: skip

_TEMPERATURE = click.option("--temperature", metavar="TEMPERATURE", help="Default: 20 °C; with a unit: '68 F'.")

tables_option = click.option(
    "--tables", metavar="FILE", help="Official US table values to use: table, proof, temperature_f, value."
)
"""The option of every verb whose figures have official tables."""


def load_tables(path: str | None) -> "OfficialTables | None":
    """The official values of a CSV file or a workbook's sheet `tables`; None where none was named.

    Raises:
        FaultsFound: every fault found, of form or of value.
        Malformed: the file cannot be read at all.
    """
    if path is None:
        return None
    # only where a file is named: start-up stays light
    from pourbook.alcoholometry.official_tables import COLUMNS, official_tables
    from pourbook.exchange.tables.columns import Faults
    from pourbook.exchange.tables.table_files import Columns, one_table, read_table

    faults = Faults()
    source = one_table(path, "tables")
    needed = tuple(name for name in COLUMNS if name != "temperature_f")
    rows = list(read_table(source, Columns(needed, ("temperature_f",)), faults).rows)
    try:
        faults.check("official tables")
    except FaultsFound as found:
        raise FaultsFound(f"the tables in '{source.name}' cannot be read: nothing was computed", found.faults) from None
    return official_tables(source.name, rows)


# -- a body of liquid ------------------------------------------------------------------


amount_options = options(
    click.option("--mass", metavar="MASS", help="With its unit: '81000 lb', '500 kg', '500 kg air'."),
    click.option("--tare", metavar="MASS", help="Of cask or vessel; --mass is then gross."),
    click.option("--volume", metavar="VOLUME", help="At the temperature: '1000 l', '53 gal'."),
    click.option("--strength", metavar="STRENGTH", help="% vol at 20 °C, or with a unit: '124 proof'."),
    click.option("--proof", metavar="NUMBER", help="US proof, instead of --strength."),
    click.option("--extract", metavar="EXTRACT", help="Dissolved solids: '20 g/l', '500 mg/100 ml'."),
    _TEMPERATURE,
    click.option(
        "--in-air/--in-vacuum", "in_air", default=None,
        help="How the mass was read; default: lb and oz in air, kg and g in vacuum.",
    ),
)  # fmt: skip
"""What `body_read` reads."""


def body_read(style: "HouseStyle", typed: dict[str, Any]) -> "BodyRead":
    """What the options of `amount_options` say."""
    from pourbook.alcoholometry.spirit_body import BodyRead  # only here: start-up stays light

    return BodyRead(
        **{name: style.amount(typed[name]) for name in ("mass", "tare", "volume") if typed[name] is not None},
        strength=_strength_or_proof(style, typed["strength"], typed["proof"]),
        extract_g_per_l=style.extract(typed["extract"]),
        temperature_c=style.celsius(typed["temperature"]),
        in_air=typed["in_air"],
    )


def _strength_or_proof(style: "HouseStyle", strength: str | None, proof: str | None) -> "Strength | None":
    if strength is not None and proof is not None:
        raise Malformed("strength and proof are both given", "give one of --strength and --proof")
    if proof is None:
        return None if strength is None else style.strength(strength)
    found = style.strength(proof, "proof60f")
    if found.scale != "proof60f":
        raise Malformed(f"'{found.typed}' is not a proof", f"give it as --strength '{found.typed}'")
    return found


# -- density, strength, conversion -----------------------------------------------------


@click.command("density")
@click.option("--strength", metavar="STRENGTH", help="% vol at 20 °C, or with a unit: '124 proof'.")
@click.option("--mass-fraction", metavar="NUMBER", help="Ethanol by mass, 0 to 1, instead of --strength.")
@_TEMPERATURE
@reading
def density_verb(door: Door, strength: str | None, mass_fraction: str | None, temperature: str | None) -> None:
    """Density of a mixture of ethanol and water at a temperature.

    \b
    Example:
      pourbook density --strength 62.4 --temperature 14
      pourbook density --mass-fraction 0.4 --temperature "60 F" --json
    """
    from pourbook.alcoholometry.conversion import mixture
    from pourbook.alcoholometry.strength import mass_fraction as fraction_of
    from pourbook.documents.calculators import mixture_shown

    if (strength is None) == (mass_fraction is None):
        raise Malformed("one of strength and mass fraction is needed", "give --strength or --mass-fraction")
    style = door.style
    fraction = float(style.number(mass_fraction or "")) if strength is None else fraction_of(style.strength(strength))
    door.show(mixture_shown(mixture(fraction, style.celsius(temperature)), style))


@click.command("strength")
@click.option("--density", required=True, metavar="DENSITY", help="kg/m³, or with a unit: '0.9001 g/cm3', '0.93 sg'.")
@click.option("--in-air/--in-vacuum", "in_air", default=None, help="How the density was read; default: in vacuum.")
@_TEMPERATURE
@reading
def strength_verb(door: Door, density: str, in_air: bool | None, temperature: str | None) -> None:
    """Strength of a mixture of ethanol and water from its density at a temperature.

    A specific gravity is that at 20 °C to water at 20 °C, unless it says otherwise: "0.9343 sg 60/60" (°F).
    In air means in air of 1.2 kg/m³ against weights of 8,000 kg/m³.

    \b
    Example:
      pourbook strength --density 900.1 --temperature 14
      pourbook strength --density 899.0 --in-air --temperature 14
      pourbook strength --density "0.9343 sg 60/60 air" --json
    """
    from pourbook.alcoholometry.conversion import mixture_of_density
    from pourbook.alcoholometry.density_readings import read_density
    from pourbook.documents.calculators import mixture_shown

    read = read_density(density, door.style.mark, in_air=in_air)
    found = mixture_of_density(read.kg_m3, read.sample_c(door.style.celsius(temperature) if temperature else None))
    door.show(mixture_shown(found, door.style))


@click.command("convert")
@amount_options
@tables_option
@reading
def convert_verb(door: Door, tables: str | None, **typed: Any) -> None:  # noqa: ANN401 (the options of an amount)
    """Mass, volume, pure alcohol, wine and proof gallons of a body of spirit.

    Give two of mass, volume and strength; with all three, they are checked against each other. lb and
    oz are read as weighed in air, as in the US tables; kg and g are mass in vacuum, as in a book.
    --in-air, --in-vacuum or a unit like "kg air" override this. The volume is at the temperature
    given. US figures are computed, unless --tables gives official values.

    \b
    Example:
      pourbook convert --mass "81000 lb" --proof 190
      pourbook convert --volume "53 gal" --strength "124 proof" --temperature "76 F"
      pourbook convert --volume "500 l" --strength 40 --extract "20 g/l" --json
      pourbook convert --mass "612 kg" --tare "112 kg" --strength 63.5 --in-air
    """
    from pourbook.alcoholometry.conversion import convert
    from pourbook.alcoholometry.spirit_body import body_of
    from pourbook.documents.calculators import converted_shown

    found = convert(body_of(body_read(door.style, typed)), load_tables(tables))
    door.show(converted_shown(found, door.style))


# -- hydrometer ------------------------------------------------------------------------

_UNITS: dict[str, "Scale"] = {
    "%": "vol20", "%vol": "vol20", "vol20": "vol20", "vol60f": "vol60f", "%vol60f": "vol60f", "proof": "proof60f",
}  # fmt: skip


@click.command("hydrometer")
@click.option("--reading", required=True, metavar="NUMBER", help="What the hydrometer shows.")
@click.option("--unit", metavar="UNIT", help="'% vol' (at 20 °C, the default), vol60f, or proof (at 60 °F).")
@click.option("--temperature", default="20 C", metavar="TEMPERATURE", help="Of the liquid: °C, or '72 F'.")
@click.option("--correction", default="0", metavar="NUMBER", help="Of the hydrometer, by its certificate: -0.03.")
@click.option("--thermometer-correction", default="0", metavar="NUMBER", help="In the same degrees as --temperature.")
@click.option("--extract", metavar="EXTRACT", help="Dissolved solids of obscured spirit: '12 g/l'.")
@tables_option
@reading
def hydrometer_verb(
    door: Door, reading: str, unit: str | None, temperature: str, correction: str, thermometer_correction: str,
    extract: str | None, tables: str | None,
) -> None:  # fmt: skip
    """True strength from a hydrometer's reading, corrected for glass and temperature.

    A proof hydrometer is graduated at 60 °F, one for % vol at 20 °C; its glass grows by 25
    millionths per °C. Without --extract the answer holds for plain spirit only. With --tables,
    the official table 1 is used for proof.

    \b
    Example:
      pourbook hydrometer --reading 86.8 --unit proof --temperature "72 F"
      pourbook hydrometer --reading 61.4 --temperature 14.5 --json
      pourbook hydrometer --reading 38.2 --temperature 22 --extract "12 g/l"
      pourbook hydrometer --reading 192.85 --unit proof --temperature "72.1 F" --correction=-0.03
          --thermometer-correction 0.05
    """
    from pourbook.alcoholometry.hydrometer_reading import corrected_reading, read_hydrometer
    from pourbook.documents.calculators import hydrometer_shown
    from pourbook.quantities import read_temperature

    style = door.style
    indicated = corrected_reading(_indicated(style, reading, unit), style.number(correction))
    warmth = style.temperature(temperature)
    celsius = read_temperature(f"{warmth.value + style.number(thermometer_correction)} {warmth.unit}").celsius
    found = read_hydrometer(indicated, float(celsius), style.extract(extract), load_tables(tables))
    door.show(hydrometer_shown(found, style))


def _indicated(style: "HouseStyle", reading: str, unit: str | None) -> "Strength":
    """The reading on its scale."""
    named = None if unit is None else _UNITS.get("".join(unit.lower().split()))
    if unit is not None and named is None:
        raise Malformed(f"'{unit}' is not a hydrometer's unit known here", "write '% vol', 'vol60f' or 'proof'")
    try:
        strength = style.strength(reading, named)
    except OutOfRange as refusal:
        if named == "proof60f" or "proof" in reading.lower():
            raise OutOfRange(
                f"reading '{reading}' is outside 0 to 200 proof, where no density is defined by OIML R 22",
                "cool the sample towards 60 °F and read again, or use the official table 1",
            ) from refusal
        raise
    if named is not None and strength.scale != named:
        raise Ambiguous(f"reading '{reading}' and unit '{unit}' disagree", "write the number alone")
    return strength


@click.command("obscuration")
@click.option("--true", "true_", metavar="STRENGTH", help="True strength, as of the distillate: '40', '80 proof'.")
@click.option("--apparent", metavar="STRENGTH", help="Apparent strength, by hydrometer: '38.9', '78 proof'.")
@click.option("--extract", metavar="EXTRACT", help="Dissolved solids: '5 g/l', '500 mg/100 ml'.")
@click.option("--residue", metavar="MASS", help="Dried residue of a sample, instead of --extract: '0.125 g'.")
@click.option("--sample", default="25 ml", metavar="VOLUME", help="Volume that was evaporated; default: 25 ml.")
@reading
def obscuration_verb(
    door: Door, true_: str | None, apparent: str | None, extract: str | None, residue: str | None, sample: str
) -> None:
    """What dissolved solids hide from a hydrometer: by density, and by the US rule.

    Of true strength, apparent strength and solids give two; the third follows by density. The rule
    of 27 CFR 30.31 and 30.32 is shown beside it: up to 400 mg in 100 ml nothing is added, from 400
    to 600 mg 0.4 degree of proof for each 100 mg at 80 to 100 proof, above that the spirit must be distilled.

    \b
    Example:
      pourbook obscuration --residue "0.125 g" --apparent "86.8 proof"
      pourbook obscuration --true "80 proof" --apparent "78.2 proof"
      pourbook obscuration --true 40 --extract "20 g/l" --json
    """
    from pourbook.alcoholometry.obscuration import obscuration, solids_of_residue
    from pourbook.documents.calculators import obscuration_shown

    style = door.style
    if extract is not None and residue is not None:
        raise Malformed("solids are given twice", "give one of --extract and --residue")
    solids = None if extract is None else style.extract(extract)
    if residue is not None:
        grams = style.amount(residue, allow_zero=True).mass_mg / 1000
        solids = solids_of_residue(float(grams), float(style.amount(sample).volume_ml))
    true, seen = (None if text is None else style.strength(text) for text in (true_, apparent))
    door.show(obscuration_shown(obscuration(true, seen, solids), style))
