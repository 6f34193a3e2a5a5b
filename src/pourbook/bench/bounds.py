"""Bounds of a part: between what parts of the whole a blender wants a component, whatever the target.

They are typed with the part, `4 in 2..5`, and mean parts of the same whole: per cent of the blend where all parts add
to a hundred. A range alone, `20..30`, aims at its middle. Where the water of a trial is computed, the whole is what is
poured beside water, so that reducing a blend moves no part out of its bounds.

>>> read_part("4 in 2..5"), read_part("20..30"), read_part("2,5", ",")
(('4', '2..5'), ('25', '20..30'), ('2,5', ''))
>>> found = bounds_of([("V000001R", "96", ""), ("V000002P", "4", "2..5")])
>>> found
{'V000002P': Bounds(low=Fraction(1, 50), high=Fraction(1, 20))}
>>> [(one.fraction, one.stands) for one in beside_bounds(found, {"V000001R": 94, "V000002P": 6})]
[(0.06, 'above')]
"""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Literal, NamedTuple

from pourbook.codes.identifiers import readable
from pourbook.errors import Malformed, OutOfRange
from pourbook.numerals import read_decimal

__all__ = [
    "Bounds", "PartShare", "Stands", "beside_bounds", "bounds_of", "check_bounds", "nearest_within", "read_part",
    "read_range", "stands",
]  # fmt: skip

Stands = Literal["below", "within", "above"]

_BETWEEN = ".."
_LEFT_OUT = 1e-9
"""Stands for a fraction that was left out, so that it grows last of all."""
_SHOWN = 0.00005
"""Half a hundredth of a per cent: figures are shown to the hundredth, and what shows within its bounds is within."""


class Bounds(NamedTuple):
    """From which to which fraction of the whole, 0 to 1."""

    low: Fraction
    high: Fraction


class PartShare(NamedTuple):
    """A component's `fraction` of a blend as it is, beside its bounds `low` and `high`; all of the whole, 0 to 1."""

    component: str
    fraction: float
    low: float
    high: float

    @property
    def stands(self) -> Stands:
        """Where it is of its bounds."""
        return stands(self.fraction, self.low, self.high)


def stands(fraction: float, low: float, high: float) -> Stands:
    """Where a fraction of a whole is of its bounds, as far as figures show it."""
    if fraction > high + _SHOWN:
        return "above"
    return "below" if fraction < low - _SHOWN else "within"


def read_part(text: str, decimal_mark: str = ".") -> tuple[str, str]:
    """The target and the bounds of a part as typed: `7`, `4 in 2..5`, or `20..30`, whose target is the middle.

    Raises:
        Malformed: a range is not two numbers with the lower one first.
    """
    target, word, within = (piece.strip() for piece in text.partition(" in "))
    if not word and _BETWEEN not in text:
        return text.strip(), ""
    low, high = read_range(within or target, decimal_mark)
    if not word:
        target = f"{((low + high) / 2).normalize():f}".replace(".", decimal_mark)
    return target, within or text.strip()


def read_range(text: str, decimal_mark: str = ".") -> tuple[Decimal, Decimal]:
    """Both ends of a range as typed, the lower one first.

    Raises:
        Malformed: it is not two numbers with the lower one first.
    """
    low_text, dots, high_text = text.partition(_BETWEEN)
    if not dots:
        raise Malformed(f"'{text}' is not a range", "write it like 2..5")
    low, high = read_decimal(low_text, decimal_mark), read_decimal(high_text, decimal_mark)
    if not 0 <= low < high:
        raise Malformed(f"'{text}' does not run from a lower to a higher number", "write the lower bound first: 2..5")
    return low, high


def check_bounds(component: str, part: str, bounds: str, decimal_mark: str = ".") -> None:
    """A target lies in its bounds. So bounds cannot contradict each other: the targets meet all of them at once.

    Raises:
        OutOfRange: it does not.
    """
    if not bounds:
        return
    low, high = read_range(bounds, decimal_mark)
    if not low <= read_decimal(part, decimal_mark) <= high:
        raise OutOfRange(f"part {part} of {readable(component)} is outside its bounds {bounds}", "change one of them")


def bounds_of(parts: Iterable[tuple[str, str, str]], decimal_mark: str = ".") -> dict[str, Bounds]:
    """Bounds of each component that has some, from components with their parts and bounds as typed."""
    parts = tuple(parts)
    whole = sum(Fraction(read_decimal(part, decimal_mark)) for _, part, _ in parts)
    return {
        component: Bounds(*(Fraction(bound) / whole for bound in read_range(bounds, decimal_mark)))
        for component, _, bounds in parts
        if bounds
    }


def beside_bounds(bounds: Mapping[str, Bounds], volumes_ml: Mapping[str, float]) -> tuple[PartShare, ...]:
    """Every part with bounds in a blend of these volumes, at 20 °C as poured; the whole is their sum."""
    whole = sum(volumes_ml.values())
    return tuple(
        PartShare(component, volumes_ml.get(component, 0.0) / whole, float(low), float(high))
        for component, (low, high) in bounds.items()
        if whole
    )


def nearest_within(fractions: Mapping[str, float], bounds: Mapping[str, Bounds]) -> dict[str, Decimal]:
    """The blend within bounds that is nearest to one wanted, in per cent to a tenth; together a hundred.

    Nearest: what is free to move keeps its proportions; what was left out comes in only where its bounds, or those of
    all others, want it. The bounds of every component are given, and can all be met at once.

    >>> bounds = {"ash": Bounds(Fraction(1, 2), Fraction(1)), "chestnut": Bounds(Fraction(0), Fraction(15, 100))}
    >>> nearest_within({"ash": 0.7, "chestnut": 0.3}, bounds)
    {'ash': Decimal('85'), 'chestnut': Decimal('15')}
    """

    def grown(by: float) -> dict[str, float]:
        return {
            name: min(max(by * (fractions.get(name) or _LEFT_OUT), float(low)), float(high))
            for name, (low, high) in bounds.items()
        }

    least, most = 0.0, 1 / _LEFT_OUT
    for _ in range(120):
        middle = (least * most) ** 0.5 if least else most / 1024
        least, most = (middle, most) if sum(grown(middle).values()) < 1 else (least, middle)
    found = grown(most)
    tenths = {name: round(1000 * fraction) for name, fraction in found.items()}
    lows, highs = ({name: bound[which] * 1000 for name, bound in bounds.items()} for which in (0, 1))
    while left := 1000 - sum(tenths.values()):
        step = 1 if left > 0 else -1
        free = [name for name, now in tenths.items() if lows[name] <= now + step <= highs[name]]
        if not free:
            break
        tenths[max(free, key=lambda name: (highs[name] - tenths[name]) * step)] += step
    return {name: Decimal(tenth) / 10 for name, tenth in tenths.items()}
