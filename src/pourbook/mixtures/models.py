"""Models of blends fitted to what was tasted: Scheffé's terms by least squares, with what the fit can and cannot say.

Sums of squares are about the mean (a Scheffé model holds a constant, since fractions add to one), never about zero,
which makes every fit look good. Assessors are a block: each has a level of their own, and coefficients are those of
their average; so all that is said of the fit is about each assessor's own mean. Glasses of the same blend tell noise
from lack of fit.

>>> from pourbook.mixtures.glasses import Glasses
>>> blends = np.array([[1, 0], [1, 0], [0.5, 0.5], [0.5, 0.5], [0, 1], [0, 1]])
>>> found = fit(Glasses(("ash", "birch"), blends, np.array([1.0, 3, 7, 9, 4, 6])), "quadratic")
>>> dict(zip(found.terms, found.coefficients.round(9).tolist(), strict=True)), round(found.r2, 3), found.df
({'ash': 2.0, 'birch': 5.0, 'ash*birch': 18.0}, 0.857, 3)
"""

from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc

from pourbook.mixtures.glasses import Glasses, same_blends
from pourbook.mixtures.levels import Levels, varying_levels
from pourbook.mixtures.terms import MODELS, Model, model_matrix, term_names

__all__ = ["LEAST_LEFT", "Anova", "CrossValidated", "Fit", "LackOfFit", "TooFew", "Verdict", "fit"]

Matrix = NDArray[Any]

Verdict = Literal["too-few", "no-difference", "no-better", "lacks-fit", "usable"]
"""What may be made of a fit: too few glasses to say; all were found the same; no better than the mean for a glass
left out; something is missing in the model (5 %); or it may be used."""

LEAST_LEFT = 3
"""Glasses beyond the terms from which a fit is worth a word (common practice, no source)."""
_RANK = 1e-9
"""Part of the largest singular value below which a direction was not tasted; columns are of length one."""
_ROUNDING = 1e-20
"""Part of the sum of squares about zero below which nothing but rounding is left."""
_ALONE = 1e-9
"""Part of a direction that other glasses must tell, for a group to be left out."""
_LACKS = 0.05


class Anova(NamedTuple):
    """Sums of squares about the mean (of each assessor) with their degrees of freedom.

    Attributes:
        model, model_df: what the blends explain beyond the mean.
        rest, rest_df: what is left.
        f, p_value: their ratio; None where nothing is left.
    """

    model: float
    model_df: int
    rest: float
    rest_df: int
    f: float | None
    p_value: float | None


class LackOfFit(NamedTuple):
    """What is left of the fit, parted by glasses of the same blend.

    Attributes:
        lack, lack_df: by which the means of blends miss the model.
        noise, noise_df: by which glasses of a blend differ.
        f, p_value: their ratio; None where no noise was found.
    """

    lack: float
    lack_df: int
    noise: float
    noise_df: int
    f: float | None
    p_value: float | None


class CrossValidated(NamedTuple):
    """Each glass foretold from the others; where assessors are known, each blend from all other blends.

    Attributes:
        error: root of the mean square of what it was missed by.
        r2: part of the sum of squares about the mean that was foretold; below zero: worse than the mean.
    """

    error: float
    r2: float


class Fit(NamedTuple):
    """A model with its coefficients.

    Attributes:
        model: linear, quadratic or special cubic.
        glasses: what it was fitted to.
        terms: names of the coefficients.
        coefficients: the response that each term adds, of the average assessor.
        covariance: of the coefficients; nan where nothing is left to judge by.
        sd: of a single glass; nan likewise.
        df: degrees of freedom of `sd`.
        r2: part of the sum of squares about the mean that the blends explain; None where all glasses are alike.
        r2_adjusted: for the number of terms; None likewise, or where nothing is left.
        anova: of the whole model.
        lack_of_fit: None without glasses of the same blend, or where no term could be missing.
        cross_validated: None where a glass cannot be foretold from the others.
        levels: where assessors are taken as a sample of many: how much they differ.
        verdict: what may be made of it.
    """

    model: Model
    glasses: Glasses
    terms: tuple[str, ...]
    coefficients: Matrix
    covariance: Matrix
    sd: float
    df: int
    r2: float | None
    r2_adjusted: float | None
    anova: Anova
    lack_of_fit: LackOfFit | None
    cross_validated: CrossValidated | None
    levels: Levels | None
    verdict: Verdict

    def rows(self, blends: Matrix) -> Matrix:
        """The terms of blends, one to a row."""
        return model_matrix(blends, self.model)

    def doubts(self, contrasts: Matrix) -> tuple[Matrix, Matrix]:
        """Standard errors of sums of coefficients, each weighted by a row, and their degrees of freedom."""
        variances = np.einsum("ij,jk,ik->i", contrasts, self.covariance, contrasts)
        dfs = np.full(len(contrasts), float(self.df))
        if self.levels is not None:
            dfs = self.levels.dfs_of(contrasts, variances, self.df)
        return np.sqrt(np.maximum(variances, 0.0)), dfs


class TooFew(NamedTuple):
    """Too few glasses to say: coefficients cannot be told apart.

    Attributes:
        model: what was asked.
        terms: names of its terms.
        glasses: how many there are.
        blends: how many of them differ.
        told_apart: how many terms (and levels of assessors) they tell apart.
        needed: how many there are to be told apart.
        possible: the simpler models that could be fitted.
    """

    model: Model
    terms: tuple[str, ...]
    glasses: int
    blends: int
    told_apart: int
    needed: int
    possible: tuple[Model, ...]


def fit(glasses: Glasses, model: Model, *, as_sample: bool = False) -> Fit | TooFew:
    """Fit a model to what was tasted, with each assessor's own level as a block.

    `as_sample` takes assessors as drawn from many (a random effect, by restricted maximum likelihood): coefficients
    then hold for assessors in general and intervals are wider. All else that is said of the fit is by blocks.
    """
    levels = _level_columns(glasses)
    design = np.column_stack([model_matrix(glasses.blends, model), levels])
    solved = _solved(design, glasses.response)
    terms = term_names(glasses.components, model)
    if solved is None:
        return _too_few(glasses, model, terms, design)
    return _judged(glasses, model, terms, solved, levels, as_sample=as_sample)


def _level_columns(glasses: Glasses) -> Matrix:
    """A column for each assessor but the last; they add to zero, so that a coefficient is of the average assessor."""
    names = np.unique(glasses.assessors)
    who = np.array(glasses.assessors or [""] * len(glasses.response))[:, None]
    return np.asarray((who == names[:-1]).astype(float) - (who == names[-1:])[:, : max(len(names) - 1, 0)])


class _Solved(NamedTuple):
    coefficients: Matrix
    unscaled: Matrix  # inverse of the cross product of the design
    basis: Matrix  # orthonormal columns of the design
    missed: Matrix  # what is left of each glass


def _solved(design: Matrix, response: Matrix) -> _Solved | None:
    """Least squares by singular values of columns of length one; None where they cannot be told apart."""
    lengths = np.linalg.norm(design, axis=0)
    if not lengths.all() or len(response) < design.shape[1]:
        return None
    u, singular, vt = np.linalg.svd(design / lengths, full_matrices=False)
    if singular[-1] < _RANK * singular[0]:
        return None
    half = vt.T / singular / lengths[:, None]
    along = u.T @ response
    return _Solved(half @ along, half @ half.T, u, response - u @ along)


def _too_few(glasses: Glasses, model: Model, terms: tuple[str, ...], design: Matrix) -> TooFew:
    simpler = MODELS[: MODELS.index(model)]
    levels = _level_columns(glasses)

    def can_be(one: Model) -> bool:
        return _solved(np.column_stack([model_matrix(glasses.blends, one), levels]), glasses.response) is not None

    lengths = np.linalg.norm(design, axis=0)
    rank = int(np.linalg.matrix_rank(design / np.where(lengths > 0, lengths, 1.0), _RANK))
    different = int(same_blends(glasses.blends).max(initial=-1)) + 1
    possible = tuple(one for one in simpler if can_be(one))
    return TooFew(model, terms, len(glasses.response), different, rank, design.shape[1], possible)


def _judged(
    glasses: Glasses, model: Model, terms: tuple[str, ...], solved: _Solved, levels: Matrix, *, as_sample: bool
) -> Fit:
    """The fit with all that follows from what it leaves."""
    count, n = len(terms), len(glasses.response)
    mean_only = np.column_stack([np.ones(n), levels])
    rounding = _ROUNDING * float(glasses.response @ glasses.response)
    found = _left_by(mean_only, glasses.response), float(solved.missed @ solved.missed)
    whole, rest = (0.0 if one <= rounding else one for one in found)
    whole_df, df = n - mean_only.shape[1], n - solved.basis.shape[1]
    anova = _anova(whole - rest, count - 1, rest, df)
    lack, foretold = _lack_of_fit(glasses, levels, rest, df), _cross_validated(glasses, solved, whole)
    sd = float(np.sqrt(rest / df)) if df else float("nan")
    coefficients, covariance, varying = solved.coefficients[:count], sd**2 * solved.unscaled[:count, :count], None
    if as_sample and levels.size and df and rest:
        varying = varying_levels(model_matrix(glasses.blends, model), glasses.response, glasses.assessors)
        coefficients, covariance = varying.coefficients, varying.covariance
    r2 = 1.0 - rest / whole if whole > 0 else None
    adjusted = 1.0 - (rest / df) / (whole / whole_df) if r2 is not None and df else None
    return Fit(
        model, glasses, terms, coefficients, covariance, sd, df, r2, adjusted, anova, lack, foretold, varying,
        _verdict(whole, df, lack, foretold),
    )  # fmt: skip


def _verdict(whole: float, df: int, lack: LackOfFit | None, foretold: CrossValidated | None) -> Verdict:
    if not whole and df >= LEAST_LEFT:
        return "no-difference"
    if df < LEAST_LEFT or foretold is None:
        return "too-few"
    if foretold.r2 <= 0:
        return "no-better"
    return "lacks-fit" if lack and lack.p_value is not None and lack.p_value < _LACKS else "usable"


def _left_by(design: Matrix, response: Matrix) -> float:
    """The sum of squares that a design leaves, whether or not its columns can be told apart."""
    missed = response - design @ np.linalg.lstsq(design, response, rcond=None)[0]
    return float(missed @ missed)


def _ratio(above: float, above_df: int, below: float, below_df: int) -> tuple[float | None, float | None]:
    """Fisher's ratio of two mean squares with its probability."""
    if not (above_df > 0 and below_df > 0 and below > 0):
        return None, None
    ratio = (above / above_df) / (below / below_df)
    return ratio, float(fdtrc(above_df, below_df, ratio))


def _anova(model: float, model_df: int, rest: float, rest_df: int) -> Anova:
    return Anova(model, model_df, rest, rest_df, *_ratio(model, model_df, rest, rest_df))


def _lack_of_fit(glasses: Glasses, levels: Matrix, rest: float, df: int) -> LackOfFit | None:
    """What glasses of the same blend differ by (with assessors: beyond their levels), and what is left beside it."""
    of_blend = same_blends(glasses.blends)
    counts = np.bincount(of_blend)

    def within(values: Matrix) -> Matrix:
        sums = np.zeros((len(counts), values.shape[1]))
        np.add.at(sums, of_blend, values)
        return np.asarray(values - (sums / counts[:, None])[of_blend])

    own_levels = within(levels)
    noise_df = len(of_blend) - len(counts) - int(np.linalg.matrix_rank(own_levels))
    if noise_df <= 0 or df <= noise_df:
        return None
    noise = _left_by(own_levels, within(glasses.response[:, None])[:, 0])
    lack, lack_df = max(rest - noise, 0.0), df - noise_df
    return LackOfFit(lack, lack_df, noise, noise_df, *_ratio(lack, lack_df, noise, noise_df))


def _cross_validated(glasses: Glasses, solved: _Solved, whole: float) -> CrossValidated | None:
    """Leave out and foretell, from one fit.

    What is missed without a group of glasses is (I - H)⁻¹ times what is missed with it; a matrix of the size of the
    group, or by Woodbury's identity of the model. A group that alone tells something cannot be left out.
    """
    groups = same_blends(glasses.blends) if glasses.assessors else np.arange(len(glasses.response))
    missed = 0.0
    for inside in np.split(np.argsort(groups, kind="stable"), np.bincount(groups).cumsum()[:-1]):
        basis, with_it = solved.basis[inside], solved.missed[inside]
        is_small = len(basis) <= basis.shape[1]
        others = np.eye(min(basis.shape)) - (basis @ basis.T if is_small else basis.T @ basis)
        if np.linalg.eigvalsh(others)[0] < _ALONE:
            return None
        if is_small:
            without = np.linalg.solve(others, with_it)
        else:
            without = with_it + basis @ np.linalg.solve(others, basis.T @ with_it)
        missed += float(without @ without)
    if whole <= 0:
        return None
    return CrossValidated(float(np.sqrt(missed / len(groups))), 1.0 - missed / whole)
