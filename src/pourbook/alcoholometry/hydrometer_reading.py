"""True strength from a hydrometer's reading, with the corrections of its certificate and the thermometer's.

The example of 27 CFR 30.23, a reading of 193 at 72 °F:

>>> from pourbook.quantities import read_strength
>>> f"{read_hydrometer(read_strength('193 proof'), (72 - 32) / 1.8).figures.proof_60f:.1f}"
'190.2'
"""

from decimal import Decimal
from typing import NamedTuple

from pourbook.alcoholometry.apparent import (
    REFERENCE_C,
    apparent_strength_of,
    composition_from_hydrometer,
    density_of,
    percent_of,
    strength_of,
)
from pourbook.alcoholometry.density import SIXTY_F_C
from pourbook.alcoholometry.official_figures import OfficialFigures, beside_formula
from pourbook.alcoholometry.official_tables import OfficialTables
from pourbook.alcoholometry.strength import strength_from_proof
from pourbook.alcoholometry.us_gauging import fahrenheit
from pourbook.errors import OutOfRange
from pourbook.quantities import Strength

__all__ = ["HydrometerFigures", "HydrometerReading", "corrected_reading", "read_hydrometer"]


class HydrometerFigures(NamedTuple):
    """What a reading says of a liquid.

    Attributes:
        proof_60f: true US proof.
        strength_20c: true strength, % vol at 20 °C.
        density_kg_m3: at the temperature.
        apparent_proof_60f: what a proof hydrometer shows at 60 °F; the true proof without extract, None if too heavy.
        apparent_strength_20c: what a hydrometer shows at 20 °C; the true strength without extract, None likewise.
    """

    proof_60f: float
    strength_20c: float
    density_kg_m3: float
    apparent_proof_60f: float | None
    apparent_strength_20c: float | None


class HydrometerReading(NamedTuple):
    """A reading, and what follows from it.

    Attributes:
        figures: US ones by the official tables where they have them.
        reading: corrected, on its scale.
        temperature_c: of the liquid.
        extract_g_per_l: dissolved solids.
        official: None where no tables were loaded.
    """

    figures: HydrometerFigures
    reading: Strength
    temperature_c: float
    extract_g_per_l: float
    official: OfficialFigures | None


def corrected_reading(reading: Strength, correction: Decimal) -> Strength:
    """A reading with the correction of the hydrometer's certificate."""
    value, most = reading.value + correction, 200 if reading.scale == "proof60f" else 100
    if not 0 <= value <= most:
        raise OutOfRange(f"reading {value} after correction is outside 0 to {most}", "check reading and correction")
    return reading._replace(value=value)


def read_hydrometer(
    reading: Strength, temperature_c: float, extract_g_per_l: float = 0.0, tables: OfficialTables | None = None
) -> HydrometerReading:
    """True strength from a corrected reading.

    A proof by table 1 of the official values replaces the computed one; with solids, the apparent one.
    """
    try:
        found = composition_from_hydrometer(
            percent_of(reading), temperature_c, REFERENCE_C[reading.scale], extract_g_per_l
        )
    except OutOfRange as refusal:
        raise OutOfRange(
            f"no spirit shows '{reading.typed}' on this hydrometer at {temperature_c:.1f} °C: {refusal.message}",
            "was the reading in proof or in % vol, and the temperature in °C or in °F?",
        ) from refusal
    true = 2.0 * strength_of(found, SIXTY_F_C), strength_of(found)
    apparent: tuple[float | None, float | None] = true
    if extract_g_per_l:
        at_60f = apparent_strength_of(found, SIXTY_F_C)
        apparent = None if at_60f is None else 2.0 * at_60f, apparent_strength_of(found)
    figures = HydrometerFigures(*true, density_of(found, temperature_c), *apparent)
    official = None
    if tables is not None:
        by_table: dict[str, Decimal | None] = {}
        if reading.scale == "proof60f":
            name = "apparent_proof_60f" if extract_g_per_l else "proof_60f"
            by_table[name] = tables.value("1", float(reading.value), fahrenheit(temperature_c))
        official = beside_formula(tables.file, figures._asdict(), by_table)
        known = official.known
        if "proof_60f" in known:
            known["strength_20c"] = strength_from_proof(known["proof_60f"])
        figures = figures._replace(**known)
    return HydrometerReading(figures, reading, temperature_c, extract_g_per_l, official)
