"""The next glass: from what was tasted and what is wished for, the blend that promises or teaches most.

A wish is about an attribute: more of it, less of it, or near a target. Each glass counts by how far it meets all
wishes, 0 to 1, weighed; its expectation and doubt follow from the surface of each attribute. Where glasses are fewer
than components and one, or nothing promises more than has been reached, the proposal is the glass that would teach
most. It proposes; the blender disposes.

Source: D. R. Jones, M. Schonlau, W. J. Welch, Efficient Global Optimization of Expensive Black-Box Functions, Journal
of Global Optimization 13 (1998), equation 15, for the expected improvement (from memory).

>>> met = met_by(np.array([6.0, 2.0]), Wish("liking", "more"), (1.0, 9.0))
>>> [round(float(part), 3) for part in met]
[0.625, 0.125]
"""

from collections.abc import Mapping, Sequence
from math import erf, exp, pi, sqrt
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from pourbook.errors import Malformed
from pourbook.mixtures.surface import Surface

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Aim", "Expected", "Proposal", "Wish", "expected", "met_by", "propose"]

Aim = Literal["more", "less", "near"]
Why = Literal["too few glasses", "improves", "teaches"]
_NOTHING: "Mapping[str, NDArray[np.float64]]" = {}

_WORTH_POURING = 0.005
"""An expected improvement below this part of all wishes met is none: half a hundredth."""
_QUANTILES = 15
"""Of the normal distribution, by which a wish for a target is averaged over its doubt."""


class Wish(NamedTuple):
    """What is wanted of an attribute: `aim`, with the `target` of "near", and its `weight` among all wishes."""

    attribute: str
    aim: Aim
    target: float = 0.0
    weight: float = 1.0


class Expected(NamedTuple):
    """How far blends meet all wishes, 0 to 1: expectation and standard deviation of each blend."""

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


def met_by(values: "NDArray[np.float64]", wish: Wish, scale: tuple[float, float]) -> "NDArray[np.float64]":
    """How far values on a scale meet a wish, 0 to 1; beyond the ends of the scale there is nothing to gain."""
    low, high = scale
    inside = np.clip(values, low, high)
    if wish.aim == "near":
        met: NDArray[np.float64] = 1.0 - np.abs(inside - wish.target) / max(high - wish.target, wish.target - low)
        return met
    risen = (inside - low) / (high - low)
    return risen if wish.aim == "more" else 1.0 - risen


def expected(
    surfaces: Mapping[str, Surface], wishes: Sequence[Wish], scales: Mapping[str, tuple[float, float]],
    blends: "NDArray[np.float64]", known: "Mapping[str, NDArray[np.float64]]" = _NOTHING,
) -> Expected:  # fmt: skip
    """How far each blend meets all wishes, with the doubt of the surfaces.

    `known` gives attributes without doubt: a figure of each component (cost, age), which a blend has by its shares.

    Raises:
        Malformed: no wish, or one of an attribute that is neither learned nor known.
    """
    if not wishes or sum(wish.weight for wish in wishes) <= 0:
        raise Malformed("there is no wish", "say what is wanted more of, less of, or near what")
    mean, variance = np.zeros(len(blends)), np.zeros(len(blends))
    whole = sum(wish.weight for wish in wishes)
    for wish in wishes:
        part = wish.weight / whole
        if wish.attribute in known:
            mean += part * met_by(blends @ known[wish.attribute], wish, scales[wish.attribute])
            continue
        if wish.attribute not in surfaces:
            raise Malformed(f"nothing was noted of {wish.attribute}", "wish for something that was")
        middle, spread = surfaces[wish.attribute].at(blends)
        drawn = middle[:, None] + np.sqrt(spread)[:, None] * _normal_quantiles()[None, :]
        met = met_by(drawn, wish, scales[wish.attribute])
        mean += part * met.mean(axis=1)
        variance += part**2 * met.var(axis=1)
    return Expected(mean, np.sqrt(variance))


def propose(
    surfaces: Mapping[str, Surface], wishes: Sequence[Wish], scales: Mapping[str, tuple[float, float]],
    tried: "NDArray[np.float64]", candidates: "NDArray[np.float64]",
    known: "Mapping[str, NDArray[np.float64]]" = _NOTHING,
) -> Proposal:  # fmt: skip
    """The glass of `candidates` to pour next; `tried` are the blends tasted so far, each once."""
    reached, could = (expected(surfaces, wishes, scales, blends, known) for blends in (tried, candidates))
    best = int(reached.mean.argmax())
    best_met = float(reached.mean[best])
    gain = np.array([_improvement(m - best_met, s) for m, s in zip(could.mean, could.sd, strict=True)])
    chosen = int(gain.argmax())
    why: Why = "improves"
    if len(tried) <= tried.shape[1]:
        chosen, why = _teaching(surfaces, wishes, candidates), "too few glasses"
    elif gain[chosen] < _WORTH_POURING:
        chosen, why = _teaching(surfaces, wishes, candidates), "teaches"
    met, doubt = float(could.mean[chosen]), float(could.sd[chosen])
    chance = _normal((met - best_met) / doubt) if doubt else float(met > best_met)
    return Proposal(candidates[chosen], why, met, doubt, best, best_met, chance)


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
