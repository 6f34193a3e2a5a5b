"""What a model says of blends: the response of one, and what more of a component does, each with its doubt.

More of a component means the others keep their proportions (Cox's direction, 1971): so a blend of 70, 23 and 7 with one
part in a hundred more of the last is 69.25, 22.75 and 8.

>>> moved(np.array([0.70, 0.23, 0.07]), 2, 0.01).round(4).tolist()
[0.6925, 0.2275, 0.08]
"""

from typing import NamedTuple

import numpy as np
from scipy.special import stdtrit

from pourbook.mixtures.glasses import Blend
from pourbook.mixtures.models import Fit

__all__ = [
    "Effect", "Estimate", "Prediction", "Trace", "along", "effects", "estimates", "middle", "moved", "predicted",
    "trace",
]  # fmt: skip


class Estimate(NamedTuple):
    """A figure with its interval; the last three are nan where nothing is left to judge by.

    Attributes:
        value: the estimate.
        standard_error: of it.
        low, high: of the interval.
    """

    value: float
    standard_error: float
    low: float
    high: float


class Prediction(NamedTuple):
    """The response of a blend.

    Attributes:
        blend: fraction of each component.
        mean: of many glasses of it.
        glass_low, glass_high: between which a single glass by an average assessor would be.
        beyond: components of which it has more or less than any glass tasted.
    """

    blend: Blend
    mean: Estimate
    glass_low: float
    glass_high: float
    beyond: tuple[str, ...]


class Effect(NamedTuple):
    """What more of a component does to the response.

    Attributes:
        component: its name.
        parts: how many more of it, of a hundred of the blend.
        change: of the response.
        is_beyond: whether no glass tasted had so much of it.
    """

    component: str
    parts: float
    change: Estimate
    is_beyond: bool


class Trace(NamedTuple):
    """The response as a component goes from the least to the most that was tasted of it.

    Attributes:
        component: its name.
        fractions: of it, ascending.
        means: the response at each.
    """

    component: str
    fractions: tuple[float, ...]
    means: tuple[Estimate, ...]


def middle(fit: Fit) -> Blend:
    """The mean of all blends that were tasted, each counted once."""
    return np.asarray(np.unique(fit.glasses.blends.round(9), axis=0).mean(axis=0))


def along(blend: Blend, place: int, fractions: Blend) -> Blend:
    """Blends with these fractions of the component at a place, the others keeping the proportions of a blend."""
    rest = 1.0 - blend[place]
    found = np.outer((1.0 - fractions) / rest if rest > 0 else np.ones(len(fractions)), blend)
    found[:, place] = fractions
    return np.asarray(np.clip(found, 0.0, 1.0))


def moved(blend: Blend, place: int, by: float) -> Blend | None:
    """The blend with that much more (a fraction) of the component at a place; None where there cannot be so much."""
    rest, wanted = 1.0 - blend[place], blend[place] + by
    if not (-1e-12 <= wanted <= 1.0 + 1e-12 and rest > 0):
        return None
    return np.asarray(along(blend, place, np.array([wanted]))[0])


def estimates(fit: Fit, contrasts: Blend, level: float) -> list[Estimate]:
    """Sums of coefficients, each weighted by a row, with their intervals."""
    values, (errors, dfs) = contrasts @ fit.coefficients, fit.doubts(contrasts)
    reaches = stdtrit(dfs, 0.5 + level / 2) * errors if fit.df else np.full(len(values), np.nan)
    ends = zip(values.tolist(), errors.tolist(), reaches.tolist(), strict=True)
    return [Estimate(value, error, value - reach, value + reach) for value, error, reach in ends]


def predicted(fit: Fit, blend: Blend, level: float = 0.95) -> Prediction:
    """The response of a blend (fractions that add to one), with the interval of its mean and of a single glass."""
    (mean,), (_, (df,)) = estimates(fit, fit.rows(blend[None]), level), fit.doubts(fit.rows(blend[None]))
    reach = float(stdtrit(df, 0.5 + level / 2) * np.hypot(mean.standard_error, fit.sd)) if fit.df else float("nan")
    least, most = fit.glasses.blends.min(axis=0) - 1e-9, fit.glasses.blends.max(axis=0) + 1e-9
    outside = (blend < least) | (blend > most)
    beyond = tuple(name for name, out in zip(fit.glasses.components, outside, strict=True) if out)
    return Prediction(blend, mean, mean.value - reach, mean.value + reach, beyond)


def effects(fit: Fit, blend: Blend, parts: tuple[float, ...] = (1.0, 10.0), level: float = 0.95) -> tuple[Effect, ...]:
    """What so many more parts in a hundred of each component do to a blend, where it can have so much."""
    found, at = [], fit.rows(blend[None])
    for place, name in enumerate(fit.glasses.components):
        for more in parts:
            there = moved(blend, place, more / 100.0)
            if there is not None:
                is_beyond = there[place] > fit.glasses.blends[:, place].max() + 1e-9
                (change,) = estimates(fit, fit.rows(there[None]) - at, level)
                found.append(Effect(name, more, change, bool(is_beyond)))
    return tuple(found)


def trace(fit: Fit, blend: Blend, component: str, points: int = 41, level: float = 0.95) -> Trace:
    """The response along a component, the others in the proportions of a blend."""
    place = fit.glasses.components.index(component)
    tasted, rest = fit.glasses.blends[:, place], 1.0 - blend[place]
    fractions = np.linspace(tasted.min(), tasted.max(), points) if rest > 0 else blend[[place]]
    means = estimates(fit, fit.rows(along(blend, place, fractions)), level)
    return Trace(component, tuple(fractions.tolist()), tuple(means))
