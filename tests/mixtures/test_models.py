"""Models of blends against published figures, a second implementation, brute force and simulated benches."""

import numpy as np
import pytest
from scipy import stats
from tasted import FISH, REGION, YARN, fruit_drinks, glasses

from pourbook.mixtures.effects import effects, middle, predicted
from pourbook.mixtures.models import Fit, TooFew, fit
from pourbook.mixtures.terms import model_matrix

sm = pytest.importorskip("statsmodels.api")


# -- published -------------------------------------------------------------------------------


def test_yarn():
    """NIST/SEMATECH e-Handbook 5.5.4.2; its figures are remembered by the compiler, the data were read."""
    found = fit(YARN, "quadratic")
    assert found.terms == ("x1", "x2", "x3", "x1*x2", "x1*x3", "x2*x3")
    assert found.coefficients == pytest.approx([11.7, 9.4, 16.4, 19.0, 11.4, -9.6])
    errors = np.sqrt(np.diag(found.covariance))
    assert errors == pytest.approx([0.603692] * 3 + [2.608249] * 3, abs=1e-6)
    anova = found.anova
    assert (anova.model, anova.rest) == pytest.approx((128.296, 6.56))
    assert (anova.model_df, anova.rest_df) == (5, 9)
    assert anova.f == pytest.approx(35.2032, abs=1e-4)
    assert (found.r2, found.r2_adjusted, found.sd) == pytest.approx((0.951356, 0.924331, 0.85375), abs=1e-6)


def test_fish_patties():
    """Cornell's coefficients of the means over eight ways of cooking; remembered by the compiler, data were read."""
    found = fit(FISH, "special-cubic")
    assert found.coefficients == pytest.approx([2.87, 1.08, 2.01, -1.14, -1.00, 0.20, 3.18], abs=0.0052)


def test_r2_is_about_the_mean_though_thirds_are_rounded():
    """About zero it would be 0.934: a library that looks for the constant misses it in thirds of ten decimals."""
    unnormalised = FISH.blends.round(10)
    assert not (unnormalised.sum(axis=1) == 1).all()
    assert fit(FISH, "quadratic").r2 == pytest.approx(0.489, abs=0.001)
    slack = sm.OLS(FISH.response, model_matrix(FISH.blends, "quadratic"), hasconst=True).fit()
    assert fit(FISH, "quadratic").r2 == pytest.approx(slack.rsquared)


REMEMBERED = dict(
    zip(
        ["x1", "x2", "x3", "x4", "x1*x2", "x1*x3", "x1*x4", "x2*x3", "x2*x4", "x3*x4"],
        [-1558, -2351, -2426, 14372, 8300, 8076, -6625, 3213, -16998, -17127],
        strict=True,
    )
)
"""McLean and Anderson (1966); all remembered by the compiler, the last two uncertain."""


def test_a_narrow_region_agrees_in_what_it_foretells():
    """Cross terms of a narrow region are almost one: coefficients differ by 17, fitted values by less than 0.3."""
    found = fit(REGION, "quadratic")
    theirs = model_matrix(REGION.blends, "quadratic") @ [REMEMBERED[term] for term in found.terms]
    assert (found.rows(REGION.blends[:1]) @ found.coefficients)[0] == pytest.approx(theirs[0], abs=0.3)
    ours = model_matrix(REGION.blends, "quadratic") @ found.coefficients
    assert np.abs(ours - theirs).max() < 0.3


# -- a second implementation --------------------------------------------------------------------


def _blocks(found):
    """Levels of assessors that add to zero, as columns."""
    names = sorted(set(found.glasses.assessors))
    who = np.array(found.glasses.assessors)
    return np.column_stack([(who == name).astype(float) - (who == names[-1]) for name in names[:-1]])


@pytest.mark.parametrize("model", ["linear", "quadratic"])
def test_blocks_as_statsmodels_has_them(model):
    """Ordinary least squares with a column for each assessor."""
    found = fit(fruit_drinks(30), model)
    terms, levels = model_matrix(found.glasses.blends, model), _blocks(found)
    other = sm.OLS(found.glasses.response, np.column_stack([terms, levels])).fit()
    count = len(found.terms)
    assert found.coefficients == pytest.approx(other.params[:count], rel=1e-8, abs=1e-8)
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(other.bse[:count], rel=1e-8)
    bare = sm.OLS(found.glasses.response, np.column_stack([np.ones(len(levels)), levels])).fit()
    f, p, df = other.compare_f_test(bare)
    assert (found.anova.f, found.anova.p_value, found.anova.model_df) == pytest.approx((f, p, df), rel=1e-6)
    blend = np.unique(found.glasses.blends, axis=0, return_inverse=True)[1].reshape(-1)
    whole = sm.OLS(found.glasses.response, np.column_stack([blend[:, None] == range(blend.max() + 1), levels])).fit()
    f, p, df = whole.compare_f_test(other)
    lack = found.lack_of_fit
    assert (lack.f, lack.p_value, lack.lack_df) == pytest.approx((f, p, df), rel=1e-6)
    assert lack.noise_df == whole.df_resid


def test_a_sample_of_assessors_as_statsmodels_has_it():
    """Restricted maximum likelihood of a mixed model, found by another way of searching."""
    found = fit(fruit_drinks(30), "quadratic", as_sample=True)
    terms = model_matrix(found.glasses.blends, "quadratic")
    other = sm.MixedLM(found.glasses.response, terms, groups=np.array(found.glasses.assessors)).fit(reml=True)
    assert found.coefficients == pytest.approx(other.fe_params, rel=1e-3, abs=2e-3)
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(other.bse_fe, rel=1e-3)
    sds = float(np.sqrt(other.cov_re[0, 0])), float(np.sqrt(other.scale))
    assert (found.levels.sd, found.levels.glass_sd) == pytest.approx(sds, rel=2e-3)


def test_degrees_of_freedom_of_a_balanced_sample():
    """Where everybody tastes all: contrasts of blends have those of the blocks, the mean those of assessors but one.

    Worked out by hand: the mean over all has variance (of levels) / assessors + (of a glass) / glasses, whose mean
    square between assessors has 7 degrees of freedom.
    """
    drawn = np.random.default_rng(3)
    who = np.repeat(np.arange(8), 6)
    blends = np.tile([[1, 0], [1, 0], [0, 1], [0, 1], [1, 1], [1, 1]], (8, 1))
    response = 5 + 2 * blends[:, 0] + drawn.normal(0, 2, 8)[who] + drawn.normal(0, 1, 48)
    found = fit(glasses("ab", blends, response, map(str, who)), "linear", as_sample=True)
    assert found.doubts(np.array([[1.0, -1.0]]))[1][0] == pytest.approx(48 - 2 - 7, rel=0.02)
    assert found.doubts(np.array([[0.5, 0.5]]))[1][0] == pytest.approx(7, rel=0.05)


# -- brute force ---------------------------------------------------------------------------------


def test_each_glass_is_foretold_from_the_others():
    """Leaving out and fitting again gives what one fit gives."""
    missed = []
    for out in range(len(YARN.response)):
        kept = np.arange(len(YARN.response)) != out
        rest = fit(glasses("abc", YARN.blends[kept], YARN.response[kept]), "quadratic")
        missed.append(YARN.response[out] - predicted(rest, YARN.blends[out]).mean.value)
    found, squares = fit(YARN, "quadratic").cross_validated, float(np.square(missed).sum())
    assert found.error == pytest.approx(np.sqrt(squares / len(missed)))
    assert found.r2 == pytest.approx(1 - squares / np.square(YARN.response - YARN.response.mean()).sum())


def test_with_assessors_a_blend_is_foretold_from_other_blends():
    """Else one glass of it would tell the next one."""
    whole = fruit_drinks(5)
    blend = np.unique(whole.blends, axis=0, return_inverse=True)[1].reshape(-1)
    who, missed = np.array(whole.assessors), []
    for out in range(blend.max() + 1):
        kept = blend != out
        design = np.column_stack([model_matrix(whole.blends, "linear"), who[:, None] == np.unique(who)[:-1]])
        solved = np.linalg.lstsq(design[kept], whole.response[kept], rcond=None)[0]
        missed.extend(whole.response[~kept] - design[~kept] @ solved)
    assert fit(whole, "linear").cross_validated.error == pytest.approx(np.sqrt(np.mean(np.square(missed))))


# -- simulated benches ---------------------------------------------------------------------------

BENCHES = 400
REGION_OF_THREE = np.array(
    [[95, 5, 0], [75, 25, 0], [85, 3, 12], [65, 25, 10], [65, 23, 12], [93, 3, 4], [85, 15, 0], [75, 13, 12],
     [70, 24, 6], [80, 14, 6], [80, 14, 6], [85, 15, 0]]
) / 100  # fmt: skip
TRUTH = np.array([3.0, -4.0, -20.0, 6.0, 40.0, -30.0])


@pytest.mark.parametrize("as_sample", [False, True])
def test_intervals_cover_what_they_say(as_sample):
    """Of 400 benches with a known truth, six assessors and normal errors, 95 % of the intervals hold it.

    The mean of a sample of assessors leans on few levels, which is what its degrees of freedom are for.
    """
    drawn, held = np.random.default_rng(1887), np.zeros(3)
    who, blends = np.repeat(np.arange(6), 12), np.tile(REGION_OF_THREE, (6, 1))
    true = model_matrix(blends, "quadratic") @ TRUTH
    at = np.array([0.8, 0.14, 0.06])
    for _ in range(BENCHES):
        levels = drawn.normal(0, 0.7, 6)
        if not as_sample:
            levels -= levels.mean()  # the panel is these six
        found = fit(
            glasses("abc", blends, true + levels[who] + drawn.normal(0, 0.5, 72), map(str, who)), "quadratic",
            as_sample=as_sample,
        )  # fmt: skip
        said = predicted(found, at)
        held[0] += said.mean.low <= found.rows(at[None])[0] @ TRUTH <= said.mean.high
        glass = found.rows(at[None])[0] @ TRUTH + drawn.normal(0, 0.5)
        held[1] += said.glass_low <= glass <= said.glass_high
        one = effects(found, at)[2]
        moved = np.array([0.8 * 0.85 / 0.86, 0.15, 0.06 * 0.85 / 0.86])
        held[2] += one.change.low <= (found.rows(np.stack([moved, at])) @ TRUTH @ [1, -1]) <= one.change.high
    chance = stats.binom(BENCHES, 0.95)
    assert all(chance.ppf(0.001) <= count <= chance.ppf(0.999) for count in held[[0, 2]]), held
    assert chance.ppf(0.001) <= held[1]  # of an average assessor, by the doubt of the mean and of a glass


def test_lack_of_fit_is_found_as_often_as_it_says():
    """Where the model is right, 5 % of benches have p below 0.05; where a term is missing, most have."""
    drawn = np.random.default_rng(26)
    blends = np.repeat([[1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 0], [1, 0, 1], [0, 1, 1], [1, 1, 1]], 2, axis=0)
    truth = blends / blends.sum(axis=1, keepdims=True) @ [1, 2, 3]
    right, wrong = [], []
    for _ in range(BENCHES):
        noise = drawn.normal(0, 1, len(blends))
        right.append(fit(glasses("abc", blends, truth + noise), "quadratic").lack_of_fit.p_value)
        wrong.append(fit(glasses("abc", blends, 9 * blends.prod(axis=1) + noise), "linear").lack_of_fit.p_value)
    assert stats.kstest(right, "uniform").pvalue > 0.01
    assert np.mean(np.array(wrong) < 0.05) > 0.9


# -- properties -----------------------------------------------------------------------------------


def _named(found):
    return {frozenset(term.split("*")): value for term, value in zip(found.terms, found.coefficients, strict=True)}


@pytest.mark.parametrize("model", ["linear", "quadratic", "special-cubic"])
def test_relabelling_components_changes_nothing(model):
    """The order of columns moves coefficients along, and nothing else."""
    order = [2, 0, 1]
    one = fit(FISH, model)
    other = fit(glasses([FISH.components[at] for at in order], FISH.blends[:, order], FISH.response), model)
    assert _named(other) == pytest.approx(_named(one))
    assert (other.r2, other.sd, other.cross_validated.r2) == pytest.approx((one.r2, one.sd, one.cross_validated.r2))
    at = middle(one)
    assert predicted(other, at[order]).mean == pytest.approx(predicted(one, at).mean)


def test_the_order_of_glasses_changes_nothing():
    """Nor does who is written down first."""
    whole = fruit_drinks(6)
    order = np.random.default_rng(1).permutation(len(whole.response))
    other = glasses(whole.components, whole.blends[order], whole.response[order], np.array(whole.assessors)[order])
    for as_sample in (False, True):
        one, two = (fit(of, "linear", as_sample=as_sample) for of in (whole, other))
        assert two.coefficients == pytest.approx(one.coefficients, rel=1e-6)
        assert two.covariance == pytest.approx(one.covariance, rel=1e-4)


def test_blocks_take_levels_out():
    """An assessor who gives two points more to every glass changes neither effects nor noise."""
    whole = fruit_drinks(6)
    generous = np.where(np.array(whole.assessors) == "c3", 2.0, 0.0)
    one = fit(whole, "linear")
    other = fit(glasses(whole.components, whole.blends, whole.response + generous, whole.assessors), "linear")
    assert (other.sd, other.r2) == pytest.approx((one.sd, one.r2))
    assert np.diff(other.coefficients) == pytest.approx(np.diff(one.coefficients))
    assert other.coefficients - one.coefficients == pytest.approx([2 / 6] * 4)


# -- too few to say -----------------------------------------------------------------------------


def test_glasses_that_tell_no_model():
    """Six blends for seven terms."""
    found = fit(YARN, "special-cubic")
    assert isinstance(found, TooFew)
    assert (found.glasses, found.blends, found.told_apart, found.needed) == (15, 6, 6, 7)
    assert found.possible == ("linear", "quadratic")


def test_assessors_who_each_tasted_one_blend():
    """Whether the blend or the person gave more cannot be known."""
    alone = glasses("ab", [[1, 0], [1, 0], [0, 1], [0, 1]], [1, 2, 5, 6], ["I", "I", "M", "M"])
    found = fit(alone, "linear")
    assert isinstance(found, TooFew)
    assert (found.told_apart, found.needed, found.possible) == (2, 3, ())


def test_a_component_that_was_in_no_glass():
    """It has no coefficient."""
    assert isinstance(fit(glasses("abc", [[1, 0, 0], [0, 1, 0], [1, 1, 0]], [1, 2, 3]), "linear"), TooFew)


def test_as_many_glasses_as_terms():
    """Coefficients are there, their doubt is not."""
    found = fit(glasses("ab", [[1, 0], [0, 1], [1, 1]], [1, 2, 6]), "quadratic")
    assert isinstance(found, Fit)
    assert found.coefficients == pytest.approx([1, 2, 18])
    assert (found.verdict, found.df, found.cross_validated, found.lack_of_fit) == ("too-few", 0, None, None)
    assert np.isnan(found.sd)
    assert np.isnan(predicted(found, np.array([0.5, 0.5])).mean.low)


@pytest.mark.parametrize("level", [0.0, 1.0, 3.3])
def test_glasses_that_are_all_alike(level):
    """Nothing to explain is no perfect fit."""
    found = fit(glasses("ab", [[1, 0], [1, 0], [0, 1], [0, 1], [1, 1], [1, 1]], [level] * 6), "quadratic")
    assert (found.r2, found.anova.f, found.cross_validated, found.verdict) == (None, None, None, "no-difference")


def test_what_does_not_follow_from_the_parts():
    """Noise alone is told from a model: it foretells no better than the mean."""
    blends = np.repeat([[1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 1]], 3, axis=0)
    assert fit(glasses("abc", blends, [3, 5, 4, 5, 3, 4, 4, 3, 5, 4, 5, 3]), "linear").verdict == "no-better"


def test_a_missing_term_is_told():
    """Two components together make what neither makes alone."""
    assert fit(YARN, "linear").verdict == "lacks-fit"
    assert fit(YARN, "quadratic").verdict == "usable"
