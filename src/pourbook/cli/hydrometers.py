"""Calculators round the hydrometer: true strength of a reading, and what dissolved solids hide."""

from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import click

from pourbook import quantities
from pourbook.alcoholometry.apparent import (
    REFERENCE_C,
    apparent_strength_of,
    composition_from_hydrometer,
    density_of,
    percent_of,
    strength_of,
)
from pourbook.alcoholometry.density import SIXTY_F_C
from pourbook.cli.figures import (
    read_amount,
    read_decimal,
    read_extract,
    read_strength,
    read_temperature,
    shown,
)
from pourbook.cli.output import show_json
from pourbook.cli.typed import CAUTION, US_BASIS, json_option, show_lines
from pourbook.cli.us_figures import Compared, basis, load_tables, official_lines, tables_option, taken
from pourbook.errors import Ambiguous, Malformed, OutOfRange
from pourbook.quantities import Scale, Strength

if TYPE_CHECKING:
    from pourbook.alcoholometry.obscuration import Obscuration
    from pourbook.alcoholometry.official_tables import OfficialTables

__all__ = ["hydrometer_verb", "obscuration_verb"]

_UNITS: dict[str, Scale] = {
    "%": "vol20", "%vol": "vol20", "vol20": "vol20", "vol60f": "vol60f", "%vol60f": "vol60f", "proof": "proof60f",
}  # fmt: skip


# -- a reading -------------------------------------------------------------------------


@click.command("hydrometer")
@click.option("--reading", required=True, metavar="NUMBER", help="What the hydrometer shows.")
@click.option("--unit", metavar="UNIT", help="'% vol' (at 20 °C, the default), vol60f, or proof (at 60 °F).")
@click.option("--temperature", default="20", metavar="TEMPERATURE", help="Of the liquid: °C, or '72 F'.")
@click.option("--correction", default="0", metavar="NUMBER", help="Of the hydrometer, by its certificate: -0.03.")
@click.option("--thermometer-correction", default="0", metavar="NUMBER", help="In the degrees of the temperature.")
@click.option("--extract", metavar="EXTRACT", help="Dissolved solids of obscured spirit: '12 g/l'.")
@tables_option
@json_option
def hydrometer_verb(
    reading: str, unit: str | None, temperature: str, correction: str, thermometer_correction: str,
    extract: str | None, tables: str | None, json: bool,
) -> None:  # fmt: skip
    """True strength from a hydrometer's reading; glass and temperature are corrected.

    A proof hydrometer is graduated at 60 °F, one for % vol at 20 °C; its glass grows by 25
    millionths per °C. Without --extract the answer is true of plain spirit only. With --tables,
    the official table 1 is used for proof.

    \b
    Example:
      pourbook hydrometer --reading 86.8 --unit proof --temperature "72 F"
      pourbook hydrometer --reading 61.4 --temperature 14.5 --json
      pourbook hydrometer --reading 38.2 --temperature 22 --extract "12 g/l"
      pourbook hydrometer --reading 192.85 --unit proof --temperature "72.1 F" --correction=-0.03
          --thermometer-correction 0.05
    """
    official_tables = load_tables(tables)
    indicated = _indicated(reading, unit, correction)
    temperature_c = _corrected(temperature, thermometer_correction)
    g_per_l = 0.0 if extract is None else read_extract(extract)
    document = _true(indicated, temperature_c, g_per_l)
    official = _official(official_tables, indicated, temperature_c, document)
    document["us_basis"] = basis(official_tables, official)
    if json:
        show_json(document | ({"official": official} if official_tables else {}))
        return
    show_lines(_reading_lines(document) + official_lines(official))
    click.echo(f"US figures {document['us_basis']}", err=True)
    click.echo(CAUTION, err=True)


def _indicated(reading: str, unit: str | None, correction: str) -> Strength:
    """The reading with the instrument's correction, on its scale."""
    named = None if unit is None else _UNITS.get("".join(unit.lower().split()))
    if unit is not None and named is None:
        raise Malformed(f"'{unit}' is not a hydrometer's unit known here", "write '% vol', 'vol60f' or 'proof'")
    try:
        strength = read_strength(reading, named or "vol20")
    except OutOfRange as refusal:
        if named == "proof60f" or "proof" in reading.lower():
            raise OutOfRange(
                f"reading '{reading}' is outside 0 to 200 proof, where no density is defined by OIML R 22",
                "cool the sample towards 60 °F and read again, or use the official table 1",
            ) from refusal
        raise
    if named is not None and strength.scale != named:
        raise Ambiguous(f"reading '{reading}' and unit '{unit}' disagree", "write the number alone")
    value = strength.value + read_decimal(correction)
    most = 200 if strength.scale == "proof60f" else 100
    if not 0 <= value <= most:
        raise OutOfRange(f"reading {value} after correction is outside 0 to {most}", "check reading and correction")
    return strength._replace(value=value)


def _corrected(temperature: str, correction: str) -> float:
    """The temperature with the thermometer's correction, °C."""
    read = read_temperature(temperature, "C")
    corrected = f"{read.value + read_decimal(correction)} {read.unit}"
    return float(quantities.read_temperature(corrected).celsius)


def _true(indicated: Strength, temperature_c: float, g_per_l: float) -> dict[str, Any]:
    reference_c, percent = REFERENCE_C[indicated.scale], percent_of(indicated)
    try:
        found = composition_from_hydrometer(percent, temperature_c, reference_c, g_per_l)
    except OutOfRange as refusal:
        raise OutOfRange(
            f"no spirit shows '{indicated.typed}' on this hydrometer at {temperature_c:.1f} °C: {refusal.message}",
            "was the reading in proof or in % vol, and the temperature in °C or in °F?",
        ) from refusal
    document: dict[str, Any] = {
        "proof_60f": 2.0 * strength_of(found, SIXTY_F_C),
        "strength_20c": strength_of(found),
        "density_kg_m3": density_of(found, temperature_c),
        "temperature_c": temperature_c,
        "reading": float(indicated.value),
        "scale": indicated.scale,
        "reference_c": reference_c,
    }
    if g_per_l:
        document["extract_g_per_l"] = g_per_l
        document["apparent_proof_60f"] = 2.0 * apparent_strength_of(found, SIXTY_F_C)
        document["apparent_strength_20c"] = apparent_strength_of(found)
    return document


def _official(
    tables: "OfficialTables | None", indicated: Strength, temperature_c: float, document: dict[str, Any]
) -> Compared:
    """Proof by table 1 in the place of the computed one; with solids, the apparent proof."""
    if tables is None or indicated.scale != "proof60f":
        return {}
    from pourbook.alcoholometry.strength import strength_from_proof
    from pourbook.alcoholometry.us_gauging import fahrenheit

    name = "apparent_proof_60f" if "apparent_proof_60f" in document else "proof_60f"
    value = tables.value("1", float(indicated.value), fahrenheit(temperature_c))
    official = taken(document, {name: value})
    if value is not None and name == "proof_60f":
        document["strength_20c"] = strength_from_proof(float(value))
    return official


def _reading_lines(document: dict[str, Any]) -> list[tuple[str, str]]:
    strength, proof = document["strength_20c"], document["proof_60f"]
    lines = [
        ("true strength", f"{shown(strength, 3)} % vol at 20 °C"),
        ("true US proof", f"{shown(proof, 2)} at 60 °F, to the nearest tenth {shown(proof, 1)}"),
        ("density", f"{shown(document['density_kg_m3'], 3)} kg/m³ at {shown(document['temperature_c'], 2)} °C"),
    ]
    if "apparent_proof_60f" in document:
        apparent, apparent_proof = document["apparent_strength_20c"], document["apparent_proof_60f"]
        lines.append(("apparent", f"{shown(apparent, 3)} % vol at 20 °C, {shown(apparent_proof, 2)} proof at 60 °F"))
    return lines


# -- obscuration -----------------------------------------------------------------------


@click.command("obscuration")
@click.option("--true", "true_", metavar="STRENGTH", help="True strength, as of the distillate: '40', '80 proof'.")
@click.option("--apparent", metavar="STRENGTH", help="Apparent strength, by hydrometer: '38.9', '78 proof'.")
@click.option("--extract", metavar="EXTRACT", help="Dissolved solids: '5 g/l', '500 mg/100 ml'.")
@click.option("--residue", metavar="MASS", help="Dried residue of a sample, in place of --extract: '0.125 g'.")
@click.option("--sample", default="25 ml", metavar="VOLUME", help="That was evaporated; 25 ml by default.")
@json_option
def obscuration_verb(
    true_: str | None, apparent: str | None, extract: str | None, residue: str | None, sample: str, json: bool
) -> None:
    """What dissolved solids hide from a hydrometer: by density, and by the US rule.

    Of true strength, apparent strength and solids give two; the third follows by density. The rule
    of 27 CFR 30.31 and 30.32 is shown beside it: up to 400 mg in 100 ml nothing is added, from 400
    to 600 mg 0.4 degree of proof for each 100 mg at 80 to 100 proof, above it the spirit is distilled.

    \b
    Example:
      pourbook obscuration --residue "0.125 g" --apparent "86.8 proof"
      pourbook obscuration --true "80 proof" --apparent "78.2 proof"
      pourbook obscuration --true 40 --extract "20 g/l" --json
    """
    from pourbook.alcoholometry.obscuration import us_rule  # only here: start-up stays light

    found = _obscuration(true_, apparent, _solids(extract, residue, sample))
    rule = us_rule(found.solids_g_per_l * 100.0, found.apparent_proof_60f)
    by_rule = None if rule.add_proof is None else found.apparent_proof_60f + float(rule.add_proof)
    if json:
        show_json(_obscuration_document(found) | {"us_rule": {
            "add_proof": None if rule.add_proof is None else float(rule.add_proof),
            "true_proof_60f": by_rule, "says": rule.says,
        }, "us_basis": US_BASIS})  # fmt: skip
        return
    show_lines(_obscuration_lines(found, rule.add_proof, by_rule))
    click.echo(f"27 CFR: {rule.says}")
    click.echo(f"US figures {US_BASIS}", err=True)
    click.echo(CAUTION, err=True)


def _solids(extract: str | None, residue: str | None, sample: str) -> float | None:
    if extract is not None and residue is not None:
        raise Malformed("solids are given twice", "give one of --extract and --residue")
    if residue is None:
        return None if extract is None else read_extract(extract)
    from pourbook.alcoholometry.obscuration import solids_of_residue

    grams = read_amount(residue, allow_zero=True).mass_mg / Fraction(1000)
    return solids_of_residue(float(grams), float(read_amount(sample).volume_ml))


def _obscuration(true_: str | None, apparent: str | None, solids: float | None) -> "Obscuration":
    from pourbook.alcoholometry.obscuration import obscured, obscured_between, obscured_from

    if (true_ is None) + (apparent is None) + (solids is None) != 1:
        raise Malformed(
            "two of true strength, apparent strength and solids are needed, and no more",
            "give --apparent and --residue, for example",
        )
    truly = None if true_ is None else read_strength(true_)
    seen = None if apparent is None else read_strength(apparent)
    if truly is None and seen is not None and solids is not None:
        return obscured_from(percent_of(seen), solids, REFERENCE_C[seen.scale])
    if truly is not None and solids is not None:
        return obscured(percent_of(truly), solids, REFERENCE_C[truly.scale])
    assert truly is not None
    assert seen is not None
    return obscured_between(percent_of(truly), percent_of(seen), REFERENCE_C[truly.scale], REFERENCE_C[seen.scale])


def _obscuration_document(found: "Obscuration") -> dict[str, Any]:
    return {
        "solids_g_per_l": found.solids_g_per_l,
        "solids_mg_per_100ml": found.solids_g_per_l * 100.0,
        "strength_20c": found.true_20c,
        "apparent_strength_20c": found.apparent_20c,
        "obscuration_20c": found.hidden_20c,
        "proof_60f": found.true_proof_60f,
        "apparent_proof_60f": found.apparent_proof_60f,
        "obscuration_proof": found.hidden_proof,
    }


def _obscuration_lines(found: "Obscuration", add: Decimal | None, by_rule: float | None) -> list[tuple[str, str]]:
    return [
        ("solids", f"{shown(found.solids_g_per_l, 2)} g/l = {shown(found.solids_g_per_l * 100, 0)} mg/100 ml"),
        ("true", f"{shown(found.true_20c, 3)} % vol at 20 °C, {shown(found.true_proof_60f, 2)} proof at 60 °F"),
        (
            "apparent",
            f"{shown(found.apparent_20c, 3)} % vol at 20 °C, {shown(found.apparent_proof_60f, 2)} proof at 60 °F",
        ),
        ("obscuration", f"{shown(found.hidden_20c, 3)} % vol, {shown(found.hidden_proof, 2)} proof, by density"),
        (
            "by the US rule",
            "no figure, see below" if by_rule is None else f"{add} degree added, true proof {shown(by_rule, 1)}",
        ),
    ]
