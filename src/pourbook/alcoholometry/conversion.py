"""One body of liquid in every unit of the trade.

Mass is kept; volumes, strengths and gallons follow from the composition. US figures are computed: a return
uses the official tables (27 CFR 30.1).

A tank of 81,000 lb of 190 proof, weighed in air, holds 11,921.6 wine gallons by the table of
27 CFR 30.64:

>>> from pourbook.alcoholometry.volumes import composition
>>> from pourbook.alcoholometry.us_gauging import POUND_MG
>>> tank = composition(95.0, reference_c=SIXTY_F_C)
>>> f"{converted(81_000 * POUND_MG * weighed_in_air(tank, 20.0), tank).wine_gallons_60f:.0f}"
'11922'
"""

from typing import NamedTuple

from pourbook.alcoholometry.apparent import apparent_strength_of, density_of, strength_of
from pourbook.alcoholometry.density import ETHANOL_20C_KG_M3, SIXTY_F_C, density_kg_m3
from pourbook.alcoholometry.density_readings import in_air
from pourbook.alcoholometry.official_figures import OfficialFigures, beside_formula
from pourbook.alcoholometry.official_tables import OfficialTables
from pourbook.alcoholometry.spirit_body import Body, check_density_unit
from pourbook.alcoholometry.strength import mass_fraction_from_density, proof_from_strength, strength_from_mass_fraction
from pourbook.alcoholometry.us_gauging import GALLON_ML, POUND_MG, fahrenheit, rounded_tenth
from pourbook.alcoholometry.volumes import Composition, buoyancy

__all__ = [
    "Conversion",
    "Converted",
    "Mixture",
    "convert",
    "converted",
    "mixture",
    "mixture_of_density",
    "weighed_in_air",
]


class Mixture(NamedTuple):
    """Ethanol and water.

    Attributes:
        density_kg_m3: at the temperature, in vacuum.
        density_in_air_kg_m3: the same as weighing in air gives it.
        temperature_c: °C.
        strength_20c: % vol at 20 °C.
        proof_60f: US proof.
        mass_fraction: ethanol by mass, 0 to 1.
    """

    density_kg_m3: float
    density_in_air_kg_m3: float
    temperature_c: float
    strength_20c: float
    proof_60f: float
    mass_fraction: float


def mixture(mass_fraction: float, temperature_c: float = 20.0) -> Mixture:
    """A mixture of a mass fraction at a temperature."""
    strength = strength_from_mass_fraction(mass_fraction)
    density = density_kg_m3(mass_fraction, temperature_c)
    return Mixture(density, in_air(density), temperature_c, strength, proof_from_strength(strength), mass_fraction)


def mixture_of_density(density: float, temperature_c: float = 20.0) -> Mixture:
    """A mixture of a density in vacuum, kg/m³; a density in another unit is queried."""
    check_density_unit(density, temperature_c)
    return mixture(mass_fraction_from_density(density, temperature_c), temperature_c)


class Conversion(NamedTuple):
    """One body of liquid in every unit.

    Attributes:
        mass_kg: in vacuum.
        volume_l: at the temperature of the question, L.
        volume_l_20c: at 20 °C, L.
        lpa: litres of pure alcohol, at 20 °C.
        wine_gallons_60f: US gallons at 60 °F.
        proof_gallons: US gallons at 60 °F x proof / 100.
        strength_20c: true strength of the whole, % vol at 20 °C.
        proof_60f: true US proof of the whole.
        density_kg_m3: at the temperature of the question, in vacuum.
    """

    mass_kg: float
    volume_l: float
    volume_l_20c: float
    lpa: float
    wine_gallons_60f: float
    proof_gallons: float
    strength_20c: float
    proof_60f: float
    density_kg_m3: float


def converted(mass_mg: float, made_of: Composition, temperature_c: float = 20.0) -> Conversion:
    """A mass in vacuum, which need not be whole, in every unit."""
    fraction, extract = made_of
    density = density_of(made_of, temperature_c)
    ethanol_mg = mass_mg * fraction * (1.0 - extract)
    gallons = mass_mg / density_of(made_of, SIXTY_F_C) / GALLON_ML
    pure_gallons = ethanol_mg / density_kg_m3(1.0, SIXTY_F_C) / GALLON_ML
    return Conversion(
        mass_kg=mass_mg / 1e6,
        volume_l=mass_mg / density / 1000.0,
        volume_l_20c=mass_mg / density_of(made_of) / 1000.0,
        lpa=ethanol_mg / ETHANOL_20C_KG_M3 / 1000.0,
        wine_gallons_60f=gallons,
        proof_gallons=2.0 * pure_gallons,
        strength_20c=strength_of(made_of),
        proof_60f=2.0 * strength_of(made_of, SIXTY_F_C),
        density_kg_m3=density,
    )


def weighed_in_air(made_of: Composition, temperature_c: float) -> float:
    """Mass in vacuum per mass that a balance shows in air."""
    return float(buoyancy(density_of(made_of, temperature_c)))


class Converted(NamedTuple):
    """A body of spirit in every unit, with what the tables and US rounding make of it.

    Attributes:
        figures: in every unit; US ones by the official tables where they have them.
        body: what was converted.
        volume_factor_60f: volume at 60 °F per volume at the temperature.
        apparent_20c: what a hydrometer shows, % vol at 20 °C; None without extract, or heavier than water.
        apparent_proof_60f: what a proof hydrometer shows; None likewise.
        official: None where no tables were loaded.
    """

    figures: Conversion
    body: Body
    volume_factor_60f: float
    apparent_20c: float | None
    apparent_proof_60f: float | None
    official: OfficialFigures | None

    @property
    def rounded(self) -> dict[str, float]:
        """By 27 CFR 30.31, 30.63 and 30.64: proof to the tenth first, then gallons to the tenth."""
        proof = float(rounded_tenth(self.figures.proof_60f))
        by_table = self.official and self.official.known.get("proof_gallons")
        wine = self.figures.wine_gallons_60f
        return {
            "proof_60f": proof,
            "wine_gallons_60f": float(rounded_tenth(wine)),
            "proof_gallons": float(rounded_tenth(wine * proof / 100.0 if by_table is None else by_table)),
        }


def convert(body: Body, tables: OfficialTables | None = None) -> Converted:
    """A body of spirit in every unit; official values replace computed ones, by weight if a mass was read."""
    made_of, celsius = body.made_of, body.read.temperature_c
    figures = converted(body.mass_mg, made_of, celsius)
    factor = figures.density_kg_m3 / density_of(made_of, SIXTY_F_C)
    apparent = apparent_proof = None
    if body.read.extract_g_per_l:
        apparent, at_60f = apparent_strength_of(made_of), apparent_strength_of(made_of, SIXTY_F_C)
        apparent_proof = None if at_60f is None else 2.0 * at_60f
    if tables is None:
        return Converted(figures, body, factor, apparent, apparent_proof, None)
    if body.in_air is not None:
        pounds = body.mass_mg / weighed_in_air(made_of, celsius) / POUND_MG
        seen = apparent_proof if body.read.extract_g_per_l else figures.proof_60f
        gallons = None if seen is None else tables.gallons_of_weight(pounds, figures.proof_60f, apparent_proof)
    else:
        at_hand = figures.volume_l * 1000.0 / GALLON_ML
        gallons = tables.gallons_of_volume(at_hand, figures.proof_60f, fahrenheit(celsius))
    wine, proof_gallons = gallons or (None, None)
    by_tables = {"wine_gallons_60f": wine, "proof_gallons": proof_gallons}
    official = beside_formula(tables.file, figures._asdict(), by_tables)
    return Converted(figures._replace(**official.known), body, factor, apparent, apparent_proof, official)
