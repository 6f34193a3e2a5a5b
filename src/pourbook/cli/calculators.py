"""Calculators that need no book: density and strength by the formula of OIML R 22."""

import click

from pourbook.alcoholometry.density import density_kg_m3
from pourbook.alcoholometry.strength import (
    mass_fraction,
    mass_fraction_from_density,
    proof_from_strength,
    strength_from_mass_fraction,
)
from pourbook.cli.output import show_json
from pourbook.errors import Malformed
from pourbook.numerals import read_decimal, shown
from pourbook.quantities import read_strength, read_temperature

__all__ = ["density_verb", "strength_verb"]

_CAUTION = "computed by OIML R 22; a legal gauge follows the local authority's tables and instruments"


def _celsius(text: str) -> float:
    return float(read_temperature(text, "C").celsius)


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
    click.echo(f"density         {shown(answer['density_kg_m3'], 3)} kg/m³ at {answer['temperature_c']:g} °C")
    click.echo(f"strength        {shown(answer['strength_20c'], 3)} % vol at 20 °C")
    click.echo(f"US proof        {shown(answer['proof_60f'], 2)} at 60 °F")
    click.echo(f"ethanol by mass {shown(answer['mass_fraction'] * 100, 3)} %")
    click.echo(_CAUTION, err=True)


@click.command("density")
@click.option("--strength", metavar="STRENGTH", help="% vol at 20 °C, or with a unit: '124 proof'.")
@click.option("--mass-fraction", metavar="NUMBER", help="Ethanol by mass, 0 to 1, in place of --strength.")
@click.option("--temperature", default="20", metavar="TEMPERATURE", help="°C, or with a unit: '68 F'.")
@click.option("--json", is_flag=True, help="One JSON document.")
def density_verb(strength: str | None, mass_fraction: str | None, temperature: str, json: bool) -> None:
    """Density of a mixture of ethanol and water at a temperature.

    \b
    Example:
      pourbook density --strength 62.4 --temperature 14
      pourbook density --mass-fraction 0.4 --temperature "60 F" --json
    """
    _show(_answer(_fraction(strength, mass_fraction), _celsius(temperature)), json=json)


def _fraction(strength: str | None, by_mass: str | None) -> float:
    if (strength is None) == (by_mass is None):
        raise Malformed("one of strength and mass fraction is needed", "give --strength or --mass-fraction")
    return mass_fraction(read_strength(strength)) if strength is not None else float(read_decimal(by_mass or ""))


@click.command("strength")
@click.option("--density", required=True, metavar="NUMBER", help="kg/m³, in vacuum, at the temperature.")
@click.option("--temperature", default="20", metavar="TEMPERATURE", help="°C, or with a unit: '68 F'.")
@click.option("--json", is_flag=True, help="One JSON document.")
def strength_verb(density: str, temperature: str, json: bool) -> None:
    """Strength of a mixture of ethanol and water from its density at a temperature.

    \b
    Example:
      pourbook strength --density 900.1 --temperature 14
    """
    temperature_c = _celsius(temperature)
    _show(
        _answer(mass_fraction_from_density(float(read_decimal(density)), temperature_c), temperature_c),
        json=json,
    )
