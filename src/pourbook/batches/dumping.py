"""Casks dumped together and measured in the vat: what each of them must have held.

The vat gives the total, and perhaps the strength; liquid and pure alcohol are each shared out by what the
book expected of every cask. So the casks together hold what the vat measured, and every difference is
posted once, on its cask.

Two casks of 100 l at 60 % vol that are 200 l at 50 % vol in the vat lost ten litres of pure alcohol each:

>>> from pourbook.alcoholometry.volumes import strength_20c, volume_ml
>>> from pourbook.alcoholometry.volumes import liquid_of_volume
>>> from pourbook.quantities import read_amount, read_strength
>>> casks = {"C000001H": liquid_of_volume(100_000, 60.0), "C000002F": liquid_of_volume(100_000, 60.0)}
>>> shares = shared_out(in_vat(read_amount("200 l"), read_strength("50"), 20.0, casks), casks)
>>> [f"{volume_ml(share) / 1000:.3f} l, {strength_20c(share):.3f} % vol" for share in shares.values()]
['100.000 l, 50.000 % vol', '100.000 l, 50.000 % vol']
"""

from collections.abc import Mapping
from fractions import Fraction

from pourbook.alcoholometry.apparent import composition_of, composition_of_liquid, density_of
from pourbook.alcoholometry.mixing import mix
from pourbook.alcoholometry.volumes import liquid_of, mass_mg_in_air, mass_mg_of_volume, volume_ml
from pourbook.batches.scale_up import apportioned
from pourbook.codes.identifiers import hyphened
from pourbook.errors import OutOfRange, Refused
from pourbook.liquid import Liquid
from pourbook.quantities import Amount, Strength

__all__ = ["in_vat", "shared_out"]


def in_vat(amount: Amount, strength: Strength | None, temperature_c: float, casks: Mapping[str, Liquid]) -> Liquid:
    """What a vat holds by its measured total.

    Where a strength was read, the casks' extract by the book keeps its mass; else theirs is kept with their strength.

    Raises:
        Refused: the book expects nothing in any of the casks.
    """
    expected = mix(list(casks.values()))
    if not expected.mass_mg:
        raise Refused("the casks are empty in the book", "gauge them first")
    made_of = composition_of_liquid(expected)
    if strength is not None:
        made_of = composition_of(strength, expected.extract_mg / volume_ml(expected))
    if amount.dimension == "mass":
        mass = round(amount.mass_mg)
    elif amount.dimension == "mass_air":
        mass = mass_mg_in_air(amount.mass_mg, density_of(made_of, temperature_c))
    else:
        mass = mass_mg_of_volume(amount.volume_ml, made_of.mass_fraction, temperature_c, made_of.extract_per_mass)
    solids = round(mass * Fraction(made_of.extract_per_mass)) if strength is None else expected.extract_mg
    return liquid_of(mass, made_of.mass_fraction, solids)


def shared_out(total: Liquid, casks: Mapping[str, Liquid]) -> dict[str, Liquid]:
    """The total as what each cask held: liquid, alcohol and extract by what the book expected of it.

    Raises:
        Refused: the book expects nothing in any of them.
        OutOfRange: the vat is so strong that a cask would have held more alcohol than liquid.
    """
    masses, ethanol, extract = (
        apportioned(whole, {cask: liquid[part] for cask, liquid in casks.items()})
        if sum(liquid[part] for liquid in casks.values())
        else dict.fromkeys(casks, 0)
        for part, whole in enumerate(total)
    )
    shares = {cask: Liquid(masses[cask], ethanol[cask], extract[cask]) for cask in casks}
    for cask, share in shares.items():
        if share.water_mg < 0:
            raise OutOfRange(
                f"by the vat, {hyphened(cask)} would have held more alcohol than liquid",
                "check total and strength, or gauge each cask before dumping it",
            )
    return shares
