"""A recipe as bench pours, and what the blend will be; two trials side by side.

Fractions are by volume at 20 °C as poured; volumes do not add up when spirit and water mix, so the
volume of the blend is stated beside their plain sum.

>>> from pourbook.alcoholometry.mixing import mix
>>> from pourbook.alcoholometry.volumes import strength_20c
>>> from pourbook.liquid import Liquid
>>> base, accent = Liquid(90_000_000, 50_000_000), Liquid(180_000, 95_000)
>>> pours = planned([("C000001H", "9"), ("V000002P", "1")], 100.0, {"C000001H": base, "V000002P": accent})
>>> [(pour.component, float(pour.fraction), pour.volume_ml) for pour in pours]
[('C000001H', 0.9, 90.0), ('V000002P', 0.1, 10.0)]
>>> f"{strength_20c(mix([pour.liquid for pour in pours])):.2f}"
'63.17'
"""

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import NamedTuple

from pourbook.alcoholometry.apparent import composition_of_liquid
from pourbook.alcoholometry.mixing import SAME_PERCENT_VOL, mix, water_to_reach
from pourbook.alcoholometry.volumes import mass_mg_of_volume, strength_20c, volume_ml
from pourbook.bench.bounds import Bounds
from pourbook.bench.components import by_volume, strengths_of
from pourbook.codes.identifiers import hyphened, readable
from pourbook.errors import Malformed, NotThere, OutOfRange
from pourbook.liquid import EMPTY, Liquid
from pourbook.numerals import read_decimal

__all__ = ["WATER", "Difference", "PlannedPour", "differences", "fractions", "laid_out", "liquid_of_volume", "planned"]

WATER = "water"
"""The component that needs no item."""


class PlannedPour(NamedTuple):
    """One pour of a plan, all volumes at 20 °C.

    Attributes:
        component: identifier, or "water".
        fraction: of the blend, by volume as poured.
        volume_ml: to pour.
        liquid: what that is.
        left_ml: what remains in the component afterwards; None for water.
        bounds_ml: between what it may be stopped; None where the part has no bounds.
    """

    component: str
    fraction: Fraction
    volume_ml: float
    liquid: Liquid
    left_ml: float | None
    bounds_ml: tuple[float, float] | None = None


class Difference(NamedTuple):
    """A component in two trials: its fraction by volume as poured in the first and in the second; 0 where absent."""

    component: str
    first: float
    second: float

    @property
    def change(self) -> float:
        """Second less first."""
        return self.second - self.first


def fractions(parts: Iterable[tuple[str, str]], decimal_mark: str = ".") -> dict[str, Fraction]:
    """Parts as typed, normalised so that they add to one exactly.

    Raises:
        Malformed: no part, a part twice, or a part that is not a number.
        OutOfRange: a part is not above zero.
    """
    found: dict[str, Fraction] = {}
    for component, text in parts:
        value = Fraction(read_decimal(text, decimal_mark))
        if value <= 0:
            raise OutOfRange(f"part '{text}' of {readable(component)} is not above zero", "leave the component out")
        if component in found:
            raise Malformed(f"{readable(component)} is in the recipe twice", "add its parts together")
        found[component] = value
    if not found:
        raise Malformed("a recipe needs at least one component", "give --part ITEM=PARTS")
    whole = sum(found.values())
    return {component: value / whole for component, value in found.items()}


def liquid_of_volume(volume_ml: float, source: Liquid) -> Liquid:
    """A volume of a liquid at 20 °C; `EMPTY` stands for water."""
    if not source.mass_mg:
        return Liquid(mass_mg_of_volume(volume_ml, 0.0), 0)
    made_of = composition_of_liquid(source)
    return source.scaled(mass_mg_of_volume(volume_ml, made_of.mass_fraction, 20.0, made_of.extract_per_mass))


def laid_out(
    parts: Iterable[tuple[str, str]], total_ml: float, holds: Mapping[str, Liquid], decimal_mark: str = ".",
    bounds: Mapping[str, Bounds] = {}, to_percent: float | None = None, *, by_alcohol: bool = False,
) -> tuple[PlannedPour, ...]:  # fmt: skip
    """What a recipe asks for, in its order; `left_ml` is negative where a component holds too little.

    With `by_alcohol`, parts are of the pure alcohol; the volumes that bring them follow from what components hold.

    With `to_percent` (% vol at 20 °C), parts and bounds are of what is poured beside water, and as much water as
    reaches that strength comes last; total and strength are both met.

    Raises:
        NotThere: what water or pure alcohol is computed for has an empty component.
        OutOfRange: the blend is weaker than that without any water.
    """
    shares = fractions(parts, decimal_mark)
    if by_alcohol:
        shares = by_volume(shares, strengths_of(holds))
    water_ml = 0.0 if to_percent is None else _water_ml(shares, total_ml, holds, to_percent)
    beside_ml = total_ml - water_ml
    pours = []
    for component, share in shares.items():
        wanted = float(share) * beside_ml
        held = EMPTY if component == WATER else holds[component]
        left_ml = None if component == WATER else volume_ml(held) - wanted
        stop = bounds.get(component)
        bounds_ml = None if stop is None else (float(stop.low) * beside_ml, float(stop.high) * beside_ml)
        fraction = share * Fraction(beside_ml / total_ml) if water_ml else share
        pours.append(PlannedPour(component, fraction, wanted, liquid_of_volume(wanted, held), left_ml, bounds_ml))
    if water_ml:
        fraction = 1 - sum((pour.fraction for pour in pours), Fraction(0))
        pours.append(PlannedPour(WATER, fraction, water_ml, liquid_of_volume(water_ml, EMPTY), None))
    return tuple(pours)


def _water_ml(shares: Mapping[str, Fraction], total_ml: float, holds: Mapping[str, Liquid], to_percent: float) -> float:
    """Water in a total that reaches a strength; masses grow in proportion, so one computation is enough."""
    if empty := [hyphened(component) for component in shares if not holds[component].mass_mg]:
        raise NotThere(f"{', '.join(empty)}: empty, so no water can be computed", "draw another sample")
    undiluted = mix([liquid_of_volume(float(share) * total_ml, holds[one]) for one, share in shares.items()])
    if abs((strength_20c(undiluted) or 0.0) - to_percent) <= SAME_PERCENT_VOL:
        return 0.0
    added_ml = volume_ml(water_to_reach(undiluted, to_percent))
    return total_ml * added_ml / (total_ml + added_ml)


def planned(
    parts: Iterable[tuple[str, str]], total_ml: float, holds: Mapping[str, Liquid], decimal_mark: str = ".",
    bounds: Mapping[str, Bounds] = {}, to_percent: float | None = None, *, by_alcohol: bool = False,
) -> tuple[PlannedPour, ...]:  # fmt: skip
    """What to pour for a recipe, as `laid_out`; `total_ml` is the sum of the volumes at 20 °C.

    Raises:
        NotThere: a component holds too little; every such component is named.
        OutOfRange: the blend is weaker than `to_percent`.
    """
    pours = laid_out(parts, total_ml, holds, decimal_mark, bounds, to_percent, by_alcohol=by_alcohol)
    short = [
        f"{hyphened(pour.component)} holds {pour.left_ml + pour.volume_ml:.1f} ml of {pour.volume_ml:.1f} ml"
        for pour in pours
        if pour.left_ml is not None and pour.left_ml < 0
    ]
    if short:
        raise NotThere("; ".join(short), "make the trial smaller, or draw another sample")
    return pours


def differences(first: Mapping[str, float], second: Mapping[str, float]) -> tuple[Difference, ...]:
    """Two trials (component to volume poured), component by component; the largest change first."""
    whole_first, whole_second = sum(first.values()) or 1.0, sum(second.values()) or 1.0
    found = [
        Difference(component, first.get(component, 0.0) / whole_first, second.get(component, 0.0) / whole_second)
        for component in dict.fromkeys((*first, *second))
    ]
    return tuple(sorted(found, key=lambda difference: -round(abs(difference.change), 9)))  # equal ones keep their order
