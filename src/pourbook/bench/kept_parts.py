"""Parts that stay, and parts that are kept in ratio, while the rest of a blend changes.

What is fixed keeps its part of the whole, and what is neither named nor fixed makes up for a change; where nothing is
fixed, the whole itself grows or shrinks. Parts of one ratio change together, and are fixed if one of them is.

>>> fixed = KeptPart(Fraction(10), fixed=True)
>>> parts = {"base": KeptPart(Fraction(60)), "body": KeptPart(Fraction(30)), "accent": fixed}
>>> {name: str(part) for name, part in changed(parts, {"body": Fraction(5)}).items()}
{'base': '55', 'body': '35', 'accent': '10'}
>>> held = {"base": 40.0, "body": 100.0, "accent": 100.0}
>>> {name: round(part, 6) for name, part in made_up(parts, held, 100.0).items()}
{'base': 0.4, 'body': 0.5, 'accent': 0.1}
"""

from collections.abc import Mapping
from fractions import Fraction
from typing import NamedTuple

from pourbook.codes.identifiers import named
from pourbook.errors import NotThere, OutOfRange

__all__ = ["KeptPart", "changed", "made_up"]

_MILLION = 1_000_000
"""Parts that follow are kept in six decimals."""

_ALL_BUT_A_DROP = 1 - 1e-9
"""So much of what a cask holds is taken, that rounding never asks it for more."""


class KeptPart(NamedTuple):
    """A part of the whole, whether it is fixed, and the number of the ratio that it is kept in (0: none)."""

    part: Fraction
    fixed: bool = False
    ratio: int = 0


def _units(parts: Mapping[str, KeptPart]) -> list[tuple[str, ...]]:
    """Names of parts that change together."""
    found: dict[int | str, tuple[str, ...]] = {}
    for name, one in parts.items():
        found[one.ratio or name] = (*found.get(one.ratio or name, ()), name)
    return list(found.values())


def changed(parts: Mapping[str, KeptPart], by: Mapping[str, Fraction]) -> dict[str, Fraction]:
    """Parts after some are changed by so much (never to less than nothing); a name that is not among them is new.

    Raises:
        OutOfRange: a ratio would be lost, or nothing can make up for a change.
    """
    before = {name: one.part for name, one in parts.items()}
    after = {**before, **{name: before.get(name, Fraction(0)) + change for name, change in by.items()}}
    for unit in _units(parts):
        factors = {after[name] / before[name] for name in unit if name in by and len(unit) > 1}
        if len(factors) > 1:
            said = " and ".join(map(named, unit))
            raise OutOfRange(
                f"{said} are kept in a ratio, which would be another", "change one of them: the other follows"
            )
        for factor in factors:
            after |= {name: _rounded(before[name] * factor) for name in unit if name not in by}
    if not any(one.fixed for one in parts.values()):
        return after
    return _of_the_same_whole(parts, before, after)


def _of_the_same_whole(
    parts: Mapping[str, KeptPart], before: Mapping[str, Fraction], after: dict[str, Fraction]
) -> dict[str, Fraction]:
    """Free parts make up the whole again, in six decimals; the last of them takes what rounding leaves."""
    free = [
        name
        for unit in _units(parts)
        if not any(parts[one].fixed or after[one] != before[one] for one in unit)
        for name in unit
    ]
    free.sort(key=lambda name: not parts[name].ratio)
    nothing = Fraction(0)
    left = sum(before.values(), nothing) - sum((part for name, part in after.items() if name not in free), nothing)
    wanted = sum(before[name] for name in free)
    if left != wanted and (not free or left <= 0):
        raise OutOfRange(
            "fixed parts stay, so nothing is left that could make up for the change", "change less, or fix less"
        )
    if left == wanted:
        return after
    for name in free[:-1]:
        after[name] = _rounded(before[name] * left / wanted)
    after[free[-1]] = left - sum((after[name] for name in free[:-1]), nothing)
    return after


def _rounded(part: Fraction) -> Fraction:
    return Fraction(round(part * _MILLION), _MILLION)


def made_up(parts: Mapping[str, KeptPart], held_ml: Mapping[str, float], total_ml: float) -> dict[str, float]:
    """Fractions of a batch where some sources hold too little: they give all, and what is free makes up for it.

    What is not in `held_ml` (water) is endless.

    Raises:
        NotThere: a fixed part holds too little, or nothing that is free holds enough.
    """
    whole = sum(one.part for one in parts.values())
    wanted = {name: float(one.part / whole) * total_ml for name, one in parts.items()}
    units = _units(parts)
    most = {
        unit: min(
            (held_ml[name] * _ALL_BUT_A_DROP / wanted[name] for name in unit if name in held_ml), default=float("inf")
        )
        for unit in units
    }
    scale = dict.fromkeys(units, 1.0)
    free = [unit for unit in units if not any(parts[name].fixed for name in unit)]
    for unit in units:
        if unit not in free and most[unit] < 1:
            raise NotThere(
                f"{' and '.join(map(named, unit))} is fixed and holds too little",
                f"make the batch {total_ml * most[unit] / 1000:.2f} l at the most, or name more casks for it (--use)",
            )

    def volume(of: list[tuple[str, ...]]) -> float:
        return sum(scale[unit] * wanted[name] for unit in of for name in unit)

    while short := [unit for unit in free if most[unit] < scale[unit]]:
        scale |= {unit: most[unit] for unit in short}
        free = [unit for unit in free if unit not in short]
        missing_ml = total_ml - volume(units)
        if not free:
            raise NotThere(
                f"all that is not fixed holds {missing_ml / 1000:.2f} l too little",
                "name more casks (--use), or make the batch smaller",
            )
        grown = 1 + missing_ml / volume(free)
        scale |= {unit: scale[unit] * grown for unit in free}
    return {name: scale[unit] * wanted[name] / total_ml for unit in units for name in unit}
