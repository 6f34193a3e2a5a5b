"""The next glass: from what was tasted and what is wished for, the blend that promises or teaches most.

A wish is about an attribute: more of it, less of it, or near a target. Each glass counts by how far it meets all
wishes, 0 to 1, weighed; its expectation and doubt follow from the surface of each attribute. Where glasses are fewer
than components and one, or nothing promises more than has been reached, the proposal is the glass that would teach
most. It proposes; the blender disposes.

Source: D. R. Jones, M. Schonlau, W. J. Welch, Efficient Global Optimization of Expensive Black-Box Functions, Journal
of Global Optimization 13 (1998), equation 15, for the expected improvement (from memory).
"""

from collections.abc import Mapping, Sequence
from math import erf, exp, pi, sqrt
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from pourbook.errors import Malformed
from pourbook.mixtures.surface import Surface
from pourbook.mixtures.wishes import Wish, met_by

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Expected", "Proposal", "Why", "expected", "propose"]

Why = Literal["too few glasses", "improves", "teaches"]
_NOTHING: "Mapping[str, NDArray[np.float64]]" = {}

_WORTH_POURING = 0.005
"""An expected improvement below this part of all wishes met is none: half a hundredth."""
_QUANTILES = 15
"""Of the normal distribution, by which a wish for a target is averaged over its doubt."""


class Expected(NamedTuple):
    """How far blends meet wishes, 0 to 1: expectation and standard deviation of each blend."""

    mean: "NDArray[np.float64]"
    sd: "NDArray[np.float64]"


class Proposal(NamedTuple):
    """A glass to pour next.

    Attributes:
        blend: share of each component, adding to one.
        why: too few glasses to do anything but learn; it improves; or nothing promises more, and it teaches.
        met: expectation of all wishes met by it, 0 to 1.
        doubt: standard deviation of that.
        best: number of the tried blend that is expected to meet them best.
        best_met: expectation of that one.
        chance: that it meets them better than that one.
    """

    blend: "NDArray[np.float64]"
    why: Why
    met: float
    doubt: float
    best: int
    best_met: float
    chance: float


def expected(
    surfaces: Mapping[str, Surface], wishes: Sequence[Wish], scales: Mapping[str, tuple[float, float]],
    blends: "NDArray[np.float64]", known: "Mapping[str, NDArray[np.float64]]" = _NOTHING,
) -> Expected:  # fmt: skip
    """How far each blend meets all wishes, with the doubt of the surfaces.

    `known` gives attributes without doubt: a figure of each component (cost, age), which a blend has by its shares.

    Raises:
        Malformed: no wish, or one of an attribute that is neither learned nor known.
    """
    each = _by_wish(surfaces, wishes, scales, blends, known)
    none = np.zeros(len(blends))
    return Expected(sum((one.mean for one in each), none), np.sqrt(sum((one.sd**2 for one in each), none)))


def _by_wish(
    surfaces: Mapping[str, Surface], wishes: Sequence[Wish], scales: Mapping[str, tuple[float, float]],
    blends: "NDArray[np.float64]", known: "Mapping[str, NDArray[np.float64]]",
) -> list[Expected]:  # fmt: skip
    """Each wish by itself, already by its weight among all."""
    if not wishes:
        raise Malformed("there is no wish", "say what is wanted more of, less of, or near what")
    whole, found = sum(wish.weight for wish in wishes), []
    for wish in wishes:
        part, scale = wish.weight / whole, scales[wish.attribute]
        if wish.attribute in known:
            met = met_by(blends @ known[wish.attribute], wish, scale)[:, None]
        elif wish.attribute in surfaces:
            middle, spread = surfaces[wish.attribute].at(blends)
            met = met_by(middle[:, None] + np.sqrt(spread)[:, None] * _normal_quantiles(), wish, scale)
        else:
            raise Malformed(f"nothing was noted of {wish.attribute}", "wish for something that was")
        found.append(Expected(part * met.mean(axis=1), part * met.std(axis=1)))
    return found


def propose(
    surfaces: Mapping[str, Surface], wishes: Sequence[Wish], scales: Mapping[str, tuple[float, float]],
    tried: "NDArray[np.float64]", candidates: "NDArray[np.float64]",
    known: "Mapping[str, NDArray[np.float64]]" = _NOTHING,
) -> Proposal:  # fmt: skip
    """The glass of `candidates` to pour next; `tried` are the blends tasted so far, each once."""
    reached, could = (expected(surfaces, wishes, scales, blends, known) for blends in (tried, candidates))
    best = int(reached.mean.argmax())
    best_met = float(reached.mean[best])
    apart = _doubt_beside(surfaces, wishes, scales, tried[best], candidates, known)
    gain = np.array([_improvement(above, sd) for above, sd in zip(could.mean - best_met, apart, strict=True)])
    chosen = int(gain.argmax())
    why: Why = "improves"
    if len(tried) <= tried.shape[1]:
        chosen, why = _teaching(surfaces, wishes, candidates), "too few glasses"
    elif gain[chosen] < _WORTH_POURING:
        chosen, why = _teaching(surfaces, wishes, candidates), "teaches"
    met, doubt = float(could.mean[chosen]), float(could.sd[chosen])
    chance = _normal((met - best_met) / apart[chosen]) if apart[chosen] > 0 else float(met > best_met)
    return Proposal(candidates[chosen], why, met, doubt, best, best_met, chance)


def _doubt_beside(
    surfaces: Mapping[str, Surface], wishes: Sequence[Wish], scales: Mapping[str, tuple[float, float]],
    best: "NDArray[np.float64]", candidates: "NDArray[np.float64]", known: "Mapping[str, NDArray[np.float64]]",
) -> "NDArray[np.float64]":  # fmt: skip
    """Standard deviation of how much farther each candidate meets all wishes than the best does.

    Both are known from the same notes, so a blend near the best cannot be much better or worse.
    """
    each = _by_wish(surfaces, wishes, scales, np.vstack([candidates, best]), known)
    variance = np.zeros(len(candidates))
    for wish, (_, sd) in zip(wishes, each, strict=True):
        if wish.attribute not in surfaces:
            continue
        learned = surfaces[wish.attribute]
        mean, spread = learned.at(np.vstack([candidates, best]))
        alike = learned.together(candidates, best) / np.sqrt(np.maximum(spread[:-1] * spread[-1], 1e-12))
        if wish.aim == "near":
            alike *= np.sign(wish.target - mean[:-1]) * np.sign(wish.target - mean[-1])
        variance += sd[:-1] ** 2 + sd[-1] ** 2 - 2.0 * np.clip(alike, -1.0, 1.0) * sd[:-1] * sd[-1]
    return np.sqrt(np.maximum(variance, 0.0))


def _teaching(surfaces: Mapping[str, Surface], wishes: Sequence[Wish], candidates: "NDArray[np.float64]") -> int:
    """The candidate whose note would lower the doubt over all of them most, by weight of the wishes."""
    told = np.zeros(len(candidates))
    for wish in wishes:
        if wish.attribute in surfaces:
            learned = surfaces[wish.attribute]
            told += wish.weight * learned.learned(candidates, candidates) / learned.unit**2
    return int(told.argmax())


def _improvement(above: float, sd: float) -> float:
    """Expectation of what exceeds the best, where it is normal with this mean above the best and this sd."""
    if sd <= 0.0:
        return max(above, 0.0)
    z = above / sd
    return above * _normal(z) + sd * exp(-z * z / 2.0) / sqrt(2.0 * pi)


def _normal(z: float) -> float:
    return 0.5 * (1.0 + erf(z / sqrt(2.0)))


def _normal_quantiles() -> "NDArray[np.float64]":
    from statistics import NormalDist

    return np.array([NormalDist().inv_cdf((place + 0.5) / _QUANTILES) for place in range(_QUANTILES)])
