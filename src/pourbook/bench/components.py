"""Parts of a blend by volume as poured, and by pure alcohol: each follows from the other, exactly.

Shares are fractions, and a strength is taken as the number that it is; so there and back gives the same shares. Pure
alcohol is the volume at 20 °C that a strength is of, which is a mass of ethanol by one density.

>>> strengths = {"C000001H": Fraction(60, 100), "C000002F": Fraction(45, 100)}
>>> by_volume({"C000001H": Fraction(1, 2), "C000002F": Fraction(1, 2)}, strengths)
{'C000001H': Fraction(3, 7), 'C000002F': Fraction(4, 7)}
>>> by_pure_alcohol(_, strengths)
{'C000001H': Fraction(1, 2), 'C000002F': Fraction(1, 2)}
"""

from collections.abc import Mapping
from fractions import Fraction

from pourbook.alcoholometry.volumes import strength_20c
from pourbook.codes.identifiers import named
from pourbook.errors import NotThere
from pourbook.liquid import Liquid

__all__ = ["PURE_ALCOHOL", "by_pure_alcohol", "by_volume", "strengths_of"]

PURE_ALCOHOL = "pure-alcohol"
"""How a recipe says that its parts are of pure alcohol; else they are of the volumes as poured."""


def strengths_of(holds: Mapping[str, Liquid]) -> dict[str, Fraction]:
    """Pure alcohol in each litre, at 20 °C, as exactly as the strength is a number; 0 of what is empty."""
    return {name: Fraction(strength_20c(liquid) or 0.0) / 100 for name, liquid in holds.items()}


def by_pure_alcohol(shares: Mapping[str, Fraction], strengths: Mapping[str, Fraction]) -> dict[str, Fraction]:
    """Shares of the pure alcohol, from shares of the volumes as poured; what has no strength (water) has none of it.

    Raises:
        NotThere: there is no alcohol at all.
    """
    alcohol = {name: share * strengths.get(name, 0) for name, share in shares.items()}
    if not (whole := sum(alcohol.values())):
        raise NotThere("there is no alcohol in the blend", "check what its components hold")
    return {name: Fraction(part, whole) for name, part in alcohol.items()}


def by_volume(shares: Mapping[str, Fraction], strengths: Mapping[str, Fraction]) -> dict[str, Fraction]:
    """Shares of the volumes as poured, from shares of the pure alcohol.

    Raises:
        NotThere: a component has no alcohol, so that no volume of it brings its part.
    """
    if without := [named(name) for name in shares if not strengths.get(name)]:
        said = f"{', '.join(without)}: no alcohol in it, so no volume brings its part of the pure alcohol"
        raise NotThere(said, "draw another sample; water is computed: --to STRENGTH")
    volumes = {name: share / strengths[name] for name, share in shares.items()}
    whole = sum(volumes.values())
    return {name: volume / whole for name, volume in volumes.items()}
