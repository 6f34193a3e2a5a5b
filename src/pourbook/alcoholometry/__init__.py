"""What strength, density, volume and mass of spirit have to do with each other.

`density` is the formula of OIML R 22, `strength` its inverses, `gauging` what was measured
turned into a `Liquid` and back, `mixing` what happens when liquids meet. All pure. Figures are working
figures: the legal gauge, the label and the duty return follow the local authority and licensed practice.

>>> from pourbook.alcoholometry import strength_20c
>>> from pourbook.liquid import Liquid
>>> f"{strength_20c(Liquid(1_000_000, 332_996)):.2f} % vol"
'40.00 % vol'
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pourbook.alcoholometry.density import density_kg_m3
    from pourbook.alcoholometry.mixing import contraction_ml, mix, spirit_to_reach, water_to_reach
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
        density_g_m3,
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
    "density_g_m3",
    "density_kg_m3",
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
    "spirit_to_reach",
    "strength_20c",
    "strength_from_mass_fraction",
    "strength_from_proof",
    "strength_on_scale",
    "strength_reading",
    "volume_ml",
    "water_to_reach",
]

_ELSEWHERE = {
    "EXTRACT_ML_PER_G": "volumes",
    "contraction_ml": "mixing",
    "density_g_m3": "volumes",
    "density_kg_m3": "density",
    "liquid_of": "volumes",
    "liquid_of_volume": "volumes",
    "mass_fraction": "strength",
    "mass_fraction_beside_extract": "volumes",
    "mass_fraction_from_density": "strength",
    "mass_fraction_from_strength": "strength",
    "mass_fraction_ppb": "strength",
    "mass_mg_in_air": "volumes",
    "mass_mg_of_volume": "volumes",
    "mix": "mixing",
    "proof_60f": "volumes",
    "proof_from_strength": "strength",
    "proof_gallons": "volumes",
    "pure_alcohol_ml": "volumes",
    "spirit_to_reach": "mixing",
    "strength_20c": "volumes",
    "strength_from_mass_fraction": "strength",
    "strength_from_proof": "strength",
    "strength_on_scale": "strength",
    "strength_reading": "volumes",
    "volume_ml": "volumes",
    "water_to_reach": "mixing",
}


def __getattr__(name: str) -> object:
    """Names are imported when first used: showing a volume must not wait for the reading of units."""
    if name not in _ELSEWHERE:
        raise AttributeError(f"module 'pourbook.alcoholometry' has no attribute '{name}'")
    from importlib import import_module

    return getattr(import_module(f"pourbook.alcoholometry.{_ELSEWHERE[name]}"), name)
