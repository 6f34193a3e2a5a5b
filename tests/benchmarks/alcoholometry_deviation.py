"""Every published figure against this package: worst deviation per source.

Run it from the top of the project: ``python tests/benchmarks/alcoholometry_deviation.py``.
The figures, each with its source, are in tests/alcoholometry/published.csv; the test beside
them judges by the same functions as are printed here. All figures are working figures.
"""

import csv
from collections import defaultdict
from collections.abc import Callable
from functools import partial
from math import ceil
from pathlib import Path
from typing import NamedTuple

from pourbook.alcoholometry.apparent import composition_from_hydrometer, strength_of
from pourbook.alcoholometry.conversion import converted, weighed_in_air
from pourbook.alcoholometry.density import SIXTY_F_C, density_kg_m3
from pourbook.alcoholometry.mixing import water_to_reach
from pourbook.alcoholometry.strength import (
    mass_fraction_from_strength,
    strength_from_mass_fraction,
    strength_from_proof,
)
from pourbook.alcoholometry.us_gauging import (
    GALLON_ML,
    POUND_MG,
    gallons_per_pound,
    parts_of_100,
    pounds_per_gallon,
    specific_gravity,
    true_proof,
    volume_factor_60f,
    water_per_100_volumes,
)
from pourbook.alcoholometry.volumes import composition, liquid_of, liquid_of_volume, mass_mg_in_air

PUBLISHED = Path(__file__).parents[1] / "alcoholometry" / "published.csv"


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


def proof_and_celsius(at: str) -> tuple[float, float]:
    """'190 proof at 76 F' as proof and °C."""
    proof, _, temperature = at.partition(" at ")
    return first(proof), celsius(temperature)


def fraction_60f(percent: float) -> float:
    """Mass fraction of a strength at 60 °F."""
    return mass_fraction_from_strength(percent, SIXTY_F_C)


def in_air(density: float) -> float:
    """What a balance in air shows for a cubic metre of a density, kg."""
    return density * 1e12 / mass_mg_in_air(10**12, density)


def gravity_in_air(percent: float, at: str) -> float:
    """Specific gravity in air, spirit and water at the same temperature."""
    t = celsius(at)
    return in_air(density_kg_m3(fraction_60f(percent), t)) / in_air(density_kg_m3(0.0, t))


def gravity_of_mass(percent: float, at: str) -> float:
    """The same, of per cent by mass."""
    t = celsius(at)
    return in_air(density_kg_m3(percent / 100, t)) / in_air(density_kg_m3(0.0, t))


def true_strength_60f(indicated: float, at: str) -> float:
    """True strength at 60 °F of what a glass hydrometer indicates, % vol."""
    return strength_of(composition_from_hydrometer(indicated, celsius(at), SIXTY_F_C), SIXTY_F_C)


def gallons_of_pounds(pounds: float, at: str, *, column: int) -> float:
    """Wine (0) or proof gallons (1) of pounds in air at '190 proof'."""
    return pounds * gallons_per_pound(first(at))[column]


def gallons_of_gallons(gallons: float, at: str, *, column: int) -> float:
    """Wine (0) or proof gallons (1) at 60 °F of gallons at '86.8 proof at 72 F'."""
    proof, t = proof_and_celsius(at)
    wine = gallons * volume_factor_60f(proof, t)
    return (wine, wine * proof / 100)[column]


def converted_gallons(pounds: float, at: str) -> float:
    """Proof gallons of pounds weighed in air at 20 °C, by way of the mass in vacuum."""
    made_of = composition(first(at) / 2, reference_c=SIXTY_F_C)
    return converted(pounds * POUND_MG * weighed_in_air(made_of, 20.0), made_of).proof_gallons


def pounds_of_gallons(gallons: float, at: str) -> float:
    """Pounds in air of proof gallons at '190 proof'."""
    return gallons * 100 / first(at) * pounds_per_gallon(first(at))


def water_to_cut(proof: float, _at: str) -> float:
    """Pounds of water in air that cut 1,000 lb in air of a proof to 190 proof."""
    made_of = composition(proof / 2, reference_c=SIXTY_F_C)
    spirit = liquid_of(round(1000 * POUND_MG * weighed_in_air(made_of, SIXTY_F_C)), made_of.mass_fraction)
    water = water_to_reach(spirit, strength_from_proof(190))
    return water.mass_mg / POUND_MG / weighed_in_air(composition(0.0), SIXTY_F_C)


def volumes_to_cut(proof: float, at: str) -> float:
    """Volumes of water that reduce a hundred volumes to 'so many proof', all at 60 °F, by way of masses."""
    spirit = liquid_of_volume(100 * GALLON_ML, strength_from_proof(proof), SIXTY_F_C)
    water = water_to_reach(spirit, strength_from_proof(first(at)))
    return water.mass_mg / density_kg_m3(0.0, SIXTY_F_C) / GALLON_ML


QUANTITIES: dict[str, tuple[str, Callable[[float, str], float]]] = {
    "density of % mass": ("kg/m3", lambda of, at: density_kg_m3(of / 100, celsius(at))),
    "density of % vol": ("kg/m3", lambda of, at: density_kg_m3(mass_fraction_from_strength(of), celsius(at))),
    "density in air of % mass": ("kg/m3", lambda of, at: in_air(density_kg_m3(of / 100, celsius(at)))),
    "% mass of % vol 60F": ("% mass", lambda of, _: 100 * fraction_60f(of)),
    "% vol 60F of % mass": ("% vol", lambda of, _: strength_from_mass_fraction(of / 100, SIXTY_F_C)),
    "% vol 60F of hydrometer": ("% vol", true_strength_60f),
    "gravity in air of % mass": ("1", gravity_of_mass),
    "gravity in air of % vol 60F": ("1", gravity_in_air),
    "gravity in air of proof": ("1", lambda of, _: specific_gravity(of)),
    "lb per gal in air of proof": ("lb/gal", lambda of, _: pounds_per_gallon(of)),
    "lb per 100 gal in air of proof": ("lb", lambda of, _: 100 * pounds_per_gallon(of)),
    "lb in air of proof gal": ("lb", pounds_of_gallons),
    "oz in air; rounded up; of gal": ("oz", lambda of, at: ceil(16 * of * pounds_per_gallon(first(at)))),
    "wine gal of lb in air": ("gal", partial(gallons_of_pounds, column=0)),
    "proof gal of lb in air": ("proof gal", partial(gallons_of_pounds, column=1)),
    "proof gal converted of lb in air": ("proof gal", converted_gallons),
    "wine gal at 60F of gal": ("gal", partial(gallons_of_gallons, column=0)),
    "proof gal of gal": ("proof gal", partial(gallons_of_gallons, column=1)),
    "gal of wine gal at 60F": ("gal", lambda of, at: of / volume_factor_60f(*proof_and_celsius(at))),
    "lb of water to 190 proof for 1000 lb of proof": ("lb", water_to_cut),
    "volumes of water in 100 of proof": ("volumes", lambda of, _: parts_of_100(of)[1]),
    "volumes of water for 100 of proof": ("volumes", volumes_to_cut),
    "volumes of water by the rule for 100 of proof": (
        "volumes",
        lambda of, at: water_per_100_volumes(of, first(at)),
    ),
    "volumes of water for 100 of % vol 60F": ("volumes", lambda of, at: volumes_to_cut(2 * of, f"{2 * first(at)} ")),
    "true proof of hydrometer": ("proof", lambda of, at: true_proof(of, celsius(at))),
    "volume factor to 60F of proof": ("1", lambda of, at: volume_factor_60f(of, celsius(at))),
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
