"""How strength, density, volume and mass of spirit depend on each other.

`density` is the formula of OIML R 22, `strength` its inverses, `volumes` turns measurements into a `Liquid` and
back, `mixing` tells what happens when liquids meet. All pure; all raise `OutOfRange` outside the domain of R 22
(fractions of 0 to 1, -20 to 40 °C) and where readings contradict each other. Figures are working figures: the
legal gauge, the label and the duty return follow the local authority and licensed practice.

>>> from pourbook.alcoholometry import strength_20c
>>> from pourbook.liquid import Liquid
>>> f"{strength_20c(Liquid(1_000_000, 332_996)):.2f} % vol"
'40.00 % vol'
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pourbook.alcoholometry.density import density_kg_m3
    from pourbook.alcoholometry.mixing import contraction_ml, mix, water_to_reach
    from pourbook.alcoholometry.strength import (
        mass_fraction,
        mass_fraction_from_density,
        mass_fraction_from_strength,
        mass_fraction_ppb,
        proof_from_strength,
        strength_from_mass_fraction,
        strength_from_proof,
        strength_on_scale,
    )
    from pourbook.alcoholometry.volumes import (
        EXTRACT_ML_PER_G,
        density_mg_m3,
        liquid_of,
        liquid_of_volume,
        mass_fraction_beside_extract,
        mass_mg_in_air,
        mass_mg_of_volume,
        proof_60f,
        proof_gallons,
        pure_alcohol_ml,
        strength_20c,
        strength_reading,
        volume_ml,
    )

__all__ = [
    "EXTRACT_ML_PER_G",
    "contraction_ml",
    "density_kg_m3",
    "density_mg_m3",
    "liquid_of",
    "liquid_of_volume",
    "mass_fraction",
    "mass_fraction_beside_extract",
    "mass_fraction_from_density",
    "mass_fraction_from_strength",
    "mass_fraction_ppb",
    "mass_mg_in_air",
    "mass_mg_of_volume",
    "mix",
    "proof_60f",
    "proof_from_strength",
    "proof_gallons",
    "pure_alcohol_ml",
    "strength_20c",
    "strength_from_mass_fraction",
    "strength_from_proof",
    "strength_on_scale",
    "strength_reading",
    "volume_ml",
    "water_to_reach",
]  # fmt: skip


def __getattr__(name: str) -> object:
    """Names are imported when first used: showing a volume must not wait for the reading of units."""
    from importlib import import_module

    for room in ("density", "strength", "volumes", "mixing") if name in __all__ else ():
        module = import_module(f"pourbook.alcoholometry.{room}")
        if name in module.__all__:
            return getattr(module, name)
    raise AttributeError(f"module 'pourbook.alcoholometry' has no attribute '{name}'")
