"""Assessors as a sample of many: each has a level drawn from a normal distribution (a random effect).

The ratio of both variances is found by restricted maximum likelihood (Patterson and Thompson 1971); degrees of freedom
of a sum of coefficients are Satterthwaite's, from the curvature of that likelihood. Where levels do not differ, it is
the fit without assessors.
"""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["Levels", "varying_levels"]

Matrix = NDArray[Any]

_STEP = 1e-3
"""Of logarithms of variances, for differences that stand for derivatives."""
_FURTHEST = 12.0
"""Logarithm of the largest and smallest ratio of variances looked at."""


class Levels(NamedTuple):
    """A fit with varying levels.

    Attributes:
        sd: of the levels of assessors.
        glass_sd: of a glass beside them.
        coefficients: of the blends, for assessors in general.
        covariance: of the coefficients.
        slopes: change of that covariance with the logarithm of either variance.
        spread: covariance of both logarithms; None where levels do not differ.
    """

    sd: float
    glass_sd: float
    coefficients: Matrix
    covariance: Matrix
    slopes: tuple[Matrix, Matrix]
    spread: Matrix | None

    def dfs_of(self, contrasts: Matrix, variances: Matrix, without: int) -> Matrix:
        """Degrees of freedom of sums of coefficients with these variances; `without` where levels do not differ."""
        dfs = np.full(len(contrasts), float(without))
        if self.spread is None:
            return dfs
        slopes = np.stack([np.einsum("ij,jk,ik->i", contrasts, one, contrasts) for one in self.slopes], axis=1)
        of_variances = np.einsum("ij,jk,ik->i", slopes, self.spread, slopes)
        np.divide(2.0 * variances**2, of_variances, out=dfs, where=of_variances > 0)
        return dfs


class _Data(NamedTuple):
    design: Matrix
    response: Matrix
    groups: NDArray[np.intp]
    sizes: Matrix


def varying_levels(design: Matrix, response: Matrix, assessors: Sequence[str]) -> Levels:
    """Fit terms of blends (columns of `design`) with a level of each assessor drawn at random."""
    from scipy.optimize import minimize_scalar

    groups = np.unique(np.asarray(assessors), return_inverse=True)[1].reshape(-1)
    data = _Data(design, response, groups, np.bincount(groups).astype(float))
    df = len(response) - design.shape[1]

    def profiled(log_ratio: float) -> float:
        return _deviance(data, np.array([log_ratio, 0.0]), profile=True)

    best = float(minimize_scalar(profiled, bounds=(-_FURTHEST, _FURTHEST), method="bounded").x)
    if profiled(best) >= profiled(-np.inf) - 1e-8:
        best = -np.inf  # levels do not differ
    _, cross, rest = _weighed(data, np.array([best, 0.0]))
    log_glass = float(np.log(rest / df))
    logs = np.array([best + log_glass, log_glass])
    coefficients, cross, _ = _weighed(data, logs)
    if not np.isfinite(best):
        nothing = np.zeros_like(cross)
        return Levels(0.0, float(np.exp(logs[1] / 2)), coefficients, np.linalg.inv(cross), (nothing, nothing), None)
    slopes = tuple((_covariance(data, logs + step) - _covariance(data, logs - step)) / (2 * _STEP) for step in _steps())
    sds = np.exp(logs / 2)
    return Levels(
        float(sds[0]), float(sds[1]), coefficients, np.linalg.inv(cross), (slopes[0], slopes[1]), _spread(data, logs)
    )


def _weighed(data: _Data, logs: Matrix) -> tuple[Matrix, Matrix, float]:
    """Coefficients, their information and the weighed sum of squares, for logarithms of both variances."""
    of_level, of_glass = np.exp(logs)
    drawn_in = 1.0 - np.sqrt(of_glass / (of_glass + data.sizes * of_level))

    def whitened(values: Matrix) -> Matrix:
        sums = np.zeros((len(data.sizes), values.shape[1]))
        np.add.at(sums, data.groups, values)
        means = sums / data.sizes[:, None]
        return np.asarray((values - drawn_in[data.groups, None] * means[data.groups]) / np.sqrt(of_glass))

    design, response = whitened(data.design), whitened(data.response[:, None])[:, 0]
    coefficients = np.linalg.lstsq(design, response, rcond=None)[0]
    missed = response - design @ coefficients
    return coefficients, design.T @ design, float(missed @ missed)


def _deviance(data: _Data, logs: Matrix, *, profile: bool = False) -> float:
    """Minus twice the restricted log likelihood, but for a constant; `profile` takes the best variance of a glass."""
    of_level, of_glass = np.exp(logs)
    _, cross, rest = _weighed(data, logs)
    n, p = data.design.shape
    spread = float(np.log(of_glass + data.sizes * of_level).sum() + (n - len(data.sizes)) * logs[1])
    return spread + float(np.linalg.slogdet(cross)[1]) + ((n - p) * float(np.log(rest)) if profile else rest)


def _covariance(data: _Data, logs: Matrix) -> Matrix:
    return np.asarray(np.linalg.inv(_weighed(data, logs)[1]))


def _steps() -> Matrix:
    return _STEP * np.eye(2)


def _spread(data: _Data, logs: Matrix) -> Matrix | None:
    """Covariance of the logarithms of both variances: the inverse of half the curvature of the deviance."""
    first, second = _steps()

    def at(step: Matrix) -> float:
        return _deviance(data, logs + step)

    middle = at(0 * first)
    along = [(at(step) - 2 * middle + at(-step)) / _STEP**2 for step in (first, second)]
    across = (at(first + second) - at(first - second) - at(second - first) + at(-first - second)) / (4 * _STEP**2)
    curvature = np.array([[along[0], across], [across, along[1]]])
    return 2.0 * np.linalg.inv(curvature) if np.linalg.det(curvature) > 0 and along[0] > 0 else None
