"""Every published figure against this package: worst deviation per source.

Run it from the top of the project: ``python tests/benchmarks/alcoholometry_deviation.py``.
The figures, each with its source, are in tests/alcoholometry/published.csv; the test beside
them judges by the same functions as are printed here. All figures are working figures.
"""

import csv
from collections import defaultdict
from collections.abc import Callable
from math import ceil
from pathlib import Path
from typing import NamedTuple

from pourbook.alcoholometry import (
    density_kg_m3,
    liquid_of,
    mass_fraction_from_strength,
    mass_mg_in_air,
    strength_from_mass_fraction,
    strength_from_proof,
    volume_ml,
    water_to_reach,
)
from pourbook.alcoholometry.density import SIXTY_F_C
from pourbook.alcoholometry.hydrometer import mass_fraction_from_hydrometer
from pourbook.quantities import UNITS

PUBLISHED = Path(__file__).parents[1] / "alcoholometry" / "published.csv"
GALLON_ML = float(UNITS["gal"].factor)
POUND_MG = float(UNITS["lb"].factor)
BRASS_KG_M3 = 8400.0  # weights of the time in which the US tables were made; common practice, no source


class Figure(NamedTuple):
    """A published figure: `printed` of a quantity `of` something `at` something."""

    source: str
    quantity: str
    of: float
    at: str
    printed: str

    @property
    def deviation(self) -> float:
        """Computed less printed, in the unit of the quantity."""
        return QUANTITIES[self.quantity][1](self.of, self.at) - float(self.printed)

    @property
    def half_digit(self) -> float:
        """Half a unit of the last printed digit."""
        return 0.5 * 10.0 ** -len(self.printed.partition(".")[2])


def figures() -> list[Figure]:
    """All the published figures, in file order."""
    with PUBLISHED.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))[1:]
    return [Figure(source, quantity, float(of), at, printed) for source, quantity, of, at, printed in rows]


def celsius(at: str) -> float:
    """'15' and '59 F' in °C."""
    return (float(at[:-2]) - 32) / 1.8 if at.endswith(" F") else float(at)


def first(at: str) -> float:
    """The number of '190 proof' or '40 % vol'."""
    return float(at.partition(" ")[0])


def in_air(density: float, weights_kg_m3: float = BRASS_KG_M3) -> float:
    """What a balance in air shows for a cubic metre of a density, kg."""
    return density * 1e12 / mass_mg_in_air(10**12, density, weights_kg_m3=weights_kg_m3)


def fraction_60f(percent: float) -> float:
    """Mass fraction of a strength at 60 °F."""
    return mass_fraction_from_strength(percent, SIXTY_F_C)


def density_60f(proof: float) -> float:
    """Density of a US proof at 60 °F, kg/m3."""
    return density_kg_m3(fraction_60f(proof / 2), SIXTY_F_C)


def lb_per_gal(proof: float) -> float:
    """What a gallon at 60 °F shows on a balance in air, lb."""
    return in_air(density_60f(proof)) * GALLON_ML / POUND_MG


def gravity_in_air(percent: float, at: str) -> float:
    """Specific gravity in air, spirit and water at the same temperature."""
    t = celsius(at)
    return in_air(density_kg_m3(fraction_60f(percent), t)) / in_air(density_kg_m3(0.0, t))


def gallons_of_pounds(pounds: float, at: str) -> float:
    """Gallons at 60 °F of so many pounds in air at '190 proof'."""
    return pounds / lb_per_gal(first(at))


def proof_gallons_of_pounds(pounds: float, at: str) -> float:
    """The same in proof gallons."""
    return gallons_of_pounds(pounds, at) * first(at) / 100


def water_to_cut(proof: float, _at: str) -> float:
    """Pounds of water in air that cut 1,000 lb in air of a proof to 190 proof."""
    mass_mg = mass_mg_in_air(round(1000 * POUND_MG), density_60f(proof), weights_kg_m3=BRASS_KG_M3)
    water = water_to_reach(liquid_of(mass_mg, fraction_60f(proof / 2)), strength_from_proof(190))
    return water.mass_mg / POUND_MG * in_air(density_60f(0)) / density_60f(0)


def volumes_of_water(percent: float) -> float:
    """Volumes of water in a hundred volumes of spirit at 60 °F."""
    fraction = fraction_60f(percent)
    return 100 * (1 - fraction) * density_60f(2 * percent) / density_60f(0)


def volumes_to_dilute(percent: float, at: str) -> float:
    """Volumes of water that bring a hundred volumes down to 'so many % vol', all at 60 °F."""
    spirit = liquid_of(round(100 * GALLON_ML * density_60f(2 * percent)), fraction_60f(percent))
    water = water_to_reach(spirit, strength_from_proof(2 * first(at)))
    return volume_ml(water, SIXTY_F_C) / GALLON_ML


def true_proof(reading: float, at: str) -> float:
    """US proof from a reading of the hydrometer."""
    fraction = mass_fraction_from_hydrometer(reading / 2, celsius(at), SIXTY_F_C)
    return 2 * strength_from_mass_fraction(fraction, SIXTY_F_C)


def volume_factor(proof: float, at: str) -> float:
    """Volume at 60 °F per volume at a temperature."""
    return density_kg_m3(fraction_60f(proof / 2), celsius(at)) / density_60f(proof)


QUANTITIES: dict[str, tuple[str, Callable[[float, str], float]]] = {
    "density of % mass": ("kg/m3", lambda of, at: density_kg_m3(of / 100, celsius(at))),
    "density of % vol": ("kg/m3", lambda of, at: density_kg_m3(mass_fraction_from_strength(of), celsius(at))),
    "density in air of % mass": (
        "kg/m3",
        lambda of, at: in_air(density_kg_m3(of / 100, celsius(at)), 8000.0),
    ),
    "% mass of % vol 60F": ("% mass", lambda of, _: 100 * fraction_60f(of)),
    "% vol 60F of % mass": ("% vol", lambda of, _: strength_from_mass_fraction(of / 100, SIXTY_F_C)),
    "gravity in air of % vol 60F": ("1", gravity_in_air),
    "lb per gal in air of proof": ("lb/gal", lambda of, _: lb_per_gal(of)),
    "oz in air; rounded up; of gal": ("oz", lambda of, at: ceil(16 * of * lb_per_gal(first(at)))),
    "wine gal of lb in air": ("gal", gallons_of_pounds),
    "proof gal of lb in air": ("proof gal", proof_gallons_of_pounds),
    "lb of water to 190 proof for 1000 lb of proof": ("lb", water_to_cut),
    "volumes of water in 100 of proof": ("volumes", lambda of, _: volumes_of_water(of / 2)),
    "volumes of water for 100 of % vol 60F": ("volumes", volumes_to_dilute),
    "true proof of hydrometer": ("proof", true_proof),
    "volume factor to 60F of proof": ("1", volume_factor),
}


def main() -> None:
    """Print the table."""
    found: dict[tuple[str, str], list[Figure]] = defaultdict(list)
    for figure in figures():
        found[figure.source, figure.quantity].append(figure)
    print(f"{'source':52} {'quantity':46} {'n':>3} {'worst':>10}  unit")
    for (source, quantity), group in found.items():
        worst = max((figure.deviation for figure in group), key=abs)
        print(f"{source:52} {quantity:46} {len(group):3} {worst:+10.5f}  {QUANTITIES[quantity][0]}")


if __name__ == "__main__":
    main()
