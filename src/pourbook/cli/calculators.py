"""Calculators that need no book: density, strength, and a body of spirit in every unit."""

from typing import TYPE_CHECKING, Any

import click

from pourbook.alcoholometry.density import SIXTY_F_C, density_kg_m3
from pourbook.alcoholometry.strength import (
    mass_fraction,
    mass_fraction_from_density,
    proof_from_strength,
    strength_from_mass_fraction,
)
from pourbook.cli.figures import read_decimal, read_strength, shown
from pourbook.cli.output import show_json
from pourbook.cli.typed import (
    CAUTION,
    Body,
    Typed,
    amount_options,
    body_of,
    celsius,
    density_question,
    json_option,
    show_lines,
)
from pourbook.cli.us_figures import Compared, basis, load_tables, official_lines, tables_option, taken
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.alcoholometry.official_tables import OfficialTables

__all__ = ["convert_verb", "density_verb", "strength_verb"]

_TEMPERATURE = click.option("--temperature", default="20", metavar="TEMPERATURE", help="°C, or with a unit: '68 F'.")


# -- density and strength --------------------------------------------------------------


def _answer(fraction: float, temperature_c: float) -> dict[str, float]:
    strength = strength_from_mass_fraction(fraction)
    return {
        "density_kg_m3": density_kg_m3(fraction, temperature_c),
        "temperature_c": temperature_c,
        "strength_20c": strength,
        "proof_60f": proof_from_strength(strength),
        "mass_fraction": fraction,
    }


def _show(answer: dict[str, float], *, json: bool) -> None:
    if json:
        show_json(answer)
        return
    show_lines(
        [
            ("density", f"{shown(answer['density_kg_m3'], 3)} kg/m³ at {answer['temperature_c']:g} °C"),
            ("strength", f"{shown(answer['strength_20c'], 3)} % vol at 20 °C"),
            ("US proof", f"{shown(answer['proof_60f'], 2)} at 60 °F"),
            ("ethanol by mass", f"{shown(answer['mass_fraction'] * 100, 3)} %"),
        ]
    )
    click.echo(CAUTION, err=True)


@click.command("density")
@click.option("--strength", metavar="STRENGTH", help="% vol at 20 °C, or with a unit: '124 proof'.")
@click.option("--mass-fraction", metavar="NUMBER", help="Ethanol by mass, 0 to 1, in place of --strength.")
@_TEMPERATURE
@json_option
def density_verb(strength: str | None, mass_fraction: str | None, temperature: str, json: bool) -> None:
    """Density of a mixture of ethanol and water at a temperature.

    \b
    Example:
      pourbook density --strength 62.4 --temperature 14
      pourbook density --mass-fraction 0.4 --temperature "60 F" --json
    """
    _show(_answer(_fraction(strength, mass_fraction), celsius(temperature)), json=json)


def _fraction(strength: str | None, by_mass: str | None) -> float:
    if (strength is None) == (by_mass is None):
        raise Malformed("one of strength and mass fraction is needed", "give --strength or --mass-fraction")
    return mass_fraction(read_strength(strength)) if strength is not None else float(read_decimal(by_mass or ""))


@click.command("strength")
@click.option("--density", required=True, metavar="NUMBER", help="kg/m³, in vacuum, at the temperature.")
@_TEMPERATURE
@json_option
def strength_verb(density: str, temperature: str, json: bool) -> None:
    """Strength of a mixture of ethanol and water from its density at a temperature.

    \b
    Example:
      pourbook strength --density 900.1 --temperature 14
    """
    temperature_c = celsius(temperature)
    density_kg_m3 = float(read_decimal(density))
    density_question(density_kg_m3, temperature_c)
    _show(_answer(mass_fraction_from_density(density_kg_m3, temperature_c), temperature_c), json=json)


# -- conversion ------------------------------------------------------------------------


@click.command("convert")
@amount_options
@tables_option
@json_option
def convert_verb(typed: Typed, tables: str | None, json: bool) -> None:
    """Mass, volume, pure alcohol, wine and proof gallons of a body of spirit.

    Give two of mass, volume and strength; with all three, they are held against each other. A mass
    in lb or oz is taken as a scale shows it in air, as the US tables take it; kg and g are mass in
    vacuum, as in a book. --in-air, --in-vacuum or a unit like "kg air" say otherwise. The volume is
    that at the temperature. US figures are computed, unless --tables names official values.

    \b
    Example:
      pourbook convert --mass "81000 lb" --proof 190
      pourbook convert --volume "53 gal" --strength "124 proof" --temperature "76 F"
      pourbook convert --volume "500 l" --strength 40 --extract "20 g/l" --json
      pourbook convert --mass "612 kg" --tare "112 kg" --strength 63.5 --in-air
    """
    official_tables = load_tables(tables)
    body = body_of(typed)
    document = _conversion(body)
    official = _official(official_tables, body, document)
    document["us_basis"] = basis(official_tables, official)
    document["us_rounded"] = _rounded(document, official)
    if json:
        show_json(document | ({"official": official} if official_tables else {}))
        return
    show_lines(_conversion_lines(document) + official_lines(official))
    click.echo(f"US figures {document['us_basis']}", err=True)
    click.echo(CAUTION, err=True)


def _conversion(body: Body) -> dict[str, Any]:
    from pourbook.alcoholometry.apparent import apparent_strength_of, density_of
    from pourbook.alcoholometry.conversion import converted  # only here: start-up stays light

    found = converted(body.mass_mg, body.made_of, body.temperature_c)
    document: dict[str, Any] = {
        **found._asdict(),
        "temperature_c": body.temperature_c,
        "weighed": None if body.in_air is None else "in air" if body.in_air else "in vacuum",
        "volume_factor_60f": found.density_kg_m3 / density_of(body.made_of, SIXTY_F_C),
    }
    if body.extract_g_per_l:
        document["extract_g_per_l"] = body.extract_g_per_l
        document["apparent_strength_20c"] = apparent_strength_of(body.made_of)
        document["apparent_proof_60f"] = 2.0 * apparent_strength_of(body.made_of, SIXTY_F_C)
    return document


def _official(tables: "OfficialTables | None", body: Body, document: dict[str, Any]) -> Compared:
    """Gallons by the official tables put in the place of computed ones: by weight if a mass was typed."""
    if tables is None:
        return {}
    from pourbook.alcoholometry.conversion import weighed_in_air
    from pourbook.alcoholometry.us_gauging import GALLON_ML, POUND_MG, fahrenheit

    proof, apparent = document["proof_60f"], document.get("apparent_proof_60f")
    if body.in_air is not None:
        pounds = body.mass_mg / weighed_in_air(body.made_of, body.temperature_c) / POUND_MG
        gallons = tables.gallons_of_weight(pounds, proof, apparent)
    else:
        at_hand = document["volume_l"] * 1000.0 / GALLON_ML
        gallons = tables.gallons_of_volume(at_hand, proof, fahrenheit(body.temperature_c))
    wine, proof_gallons = gallons or (None, None)
    return taken(document, {"wine_gallons_60f": wine, "proof_gallons": proof_gallons})


def _rounded(document: dict[str, Any], official: Compared) -> dict[str, float]:
    """By 27 CFR 30.31, 30.63 and 30.64: proof to the tenth first, then gallons to the tenth."""
    from pourbook.alcoholometry.us_gauging import rounded_tenth

    proof = float(rounded_tenth(document["proof_60f"]))
    by_table = official.get("proof_gallons", {}).get("official")
    proof_gallons = document["wine_gallons_60f"] * proof / 100.0 if by_table is None else by_table
    return {
        "proof_60f": proof,
        "wine_gallons_60f": float(rounded_tenth(document["wine_gallons_60f"])),
        "proof_gallons": float(rounded_tenth(proof_gallons)),
    }


def _conversion_lines(document: dict[str, Any]) -> list[tuple[str, str]]:
    rounded = document["us_rounded"]
    read = f" (typed as read {document['weighed']})" if document["weighed"] else ""
    lines = [("mass", f"{shown(document['mass_kg'], 3)} kg in vacuum{read}")]
    if document["temperature_c"] != 20.0:
        lines.append(("volume", f"{shown(document['volume_l'], 3)} l at {shown(document['temperature_c'], 2)} °C"))
    lines += [
        ("volume at 20 °C", f"{shown(document['volume_l_20c'], 3)} l"),
        ("strength", f"{shown(document['strength_20c'], 3)} % vol at 20 °C"),
        ("pure alcohol", f"{shown(document['lpa'], 3)} l at 20 °C (LPA)"),
        ("US proof", f"{shown(document['proof_60f'], 2)} at 60 °F, rounded {rounded['proof_60f']}"),
        ("wine gallons", f"{shown(document['wine_gallons_60f'], 3)} at 60 °F, rounded {rounded['wine_gallons_60f']}"),
        ("proof gallons", f"{shown(document['proof_gallons'], 3)}, rounded {rounded['proof_gallons']}"),
        ("factor to 60 °F", shown(document["volume_factor_60f"], 5)),
    ]
    if "apparent_strength_20c" in document:
        apparent, proof = document["apparent_strength_20c"], document["apparent_proof_60f"]
        lines.append(
            ("apparent", f"{shown(apparent, 3)} % vol at 20 °C, {shown(proof, 2)} proof: what a hydrometer shows")
        )
    return lines
