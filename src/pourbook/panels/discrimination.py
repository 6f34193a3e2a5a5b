"""Tests of difference and of likeness: how many assessors they need, what they can show, and what an answer shows.

Everything is exact: sums of the binomial distribution, and limits of a proportion (Clopper and Pearson, 1934) carried
through to d'. A test of likeness is one of difference in which wrong answers are counted: too many of them for products
that differ by more than the limit. A two-sided test has half of alpha on its side, and its power is to that side.

>>> test = difference("triangle", d_prime=1.0)
>>> planned(test, 30)
Planned(assessors=30, critical=15, power=0.23303140055905...)
>>> judged(test, 30, 16).verdict
'different'
"""

import math
from collections.abc import Callable, Iterator
from typing import Literal, NamedTuple

from pourbook.errors import OutOfRange
from pourbook.panels.d_prime import GUESSED, d_prime_of, discriminators, proportion_correct, slope

__all__ = [
    "Judged", "Needed", "Planned", "Tested", "Verdict", "clopper_pearson", "difference", "judged", "least_assessors",
    "likeness", "needed", "planned", "upper_tail",
]  # fmt: skip

Verdict = Literal[
    "different", "not shown different", "alike", "not shown alike", "too few assessors", "worse than guessing",
]  # fmt: skip
"""What may be concluded; nothing from answers far worse than guessing: codes or key may be mixed up."""

MOST_ASSESSORS = 10_000
CONFIDENCE = 0.95
_WORSE = 0.001
"""So rarely does guessing give so few right answers that they are doubted; too rarely to touch the power of a test."""
_HALVINGS = 50


# -- what is asked ---------------------------------------------------------------------


class Tested(NamedTuple):
    """What a test is to show, before anybody has tasted.

    Attributes:
        method: one of `GUESSED`.
        alpha: the risk of saying so where it is not so.
        true: the proportion of right answers for which power is reckoned.
        limit: likeness: the proportion from which they no longer count as alike; None: difference.
        is_two_sided: of a paired test: either product may have more.
    """

    method: str
    alpha: float
    true: float
    limit: float | None = None
    is_two_sided: bool = False

    @property
    def guessed(self) -> float:
        """How often mere guessing is right."""
        return GUESSED[self.method]

    @property
    def is_of_likeness(self) -> bool:
        """Whether it is to show that they are alike."""
        return self.limit is not None


def difference(
    method: str, alpha: float = 0.05, *, d_prime: float | None = None, pd: float | None = None,
    is_two_sided: bool = False,
) -> Tested:  # fmt: skip
    """A test of difference; its power is reckoned for a d', or for a proportion `pd` who tell them apart.

    Raises:
        OutOfRange: a risk, a d' or a proportion that cannot be, or two sides of a test that has one.
    """
    _refuse_risk(alpha)
    if is_two_sided and method != "paired":
        raise OutOfRange(f"a {method} test has one side: only more right answers mean a difference", "leave it out")
    return Tested(method, alpha, _proportion(method, d_prime, pd), None, is_two_sided)


def likeness(method: str, alpha: float = 0.05, *, d_prime: float | None = None, pd: float | None = None) -> Tested:
    """A test of likeness within a d', or a proportion `pd` who tell them apart; its power is for none at all.

    Raises:
        OutOfRange: a risk, a d' or a proportion that cannot be.
    """
    _refuse_risk(alpha)
    return Tested(method, alpha, GUESSED[method], _proportion(method, d_prime, pd))


def _refuse_risk(alpha: float) -> None:
    if not 0.0 < alpha < 0.5:
        raise OutOfRange(f"a risk (alpha) of {alpha:g}", "give one above 0 and below 0.5, such as 0.05")


def _proportion(method: str, d_prime: float | None, pd: float | None) -> float:
    if (d_prime is None) == (pd is None):
        raise OutOfRange("the size of a difference must be given once", "give a d', or a proportion who tell it")
    if d_prime is not None:
        if not d_prime > 0.0:
            raise OutOfRange(f"a d' of {d_prime:g} is no difference", "give one above 0, such as 1")
        return min(proportion_correct(method, d_prime), 1 - 1e-12)  # nobody is quite sure
    assert pd is not None
    if not 0.0 < pd < 1.0:
        raise OutOfRange(f"a proportion of {pd:g} who tell them apart", "give one above 0 and below 1, such as 0.3")
    return GUESSED[method] + pd * (1 - GUESSED[method])


# -- before the tasting ----------------------------------------------------------------


class Planned(NamedTuple):
    """What a test with so many assessors can show.

    Attributes:
        assessors: how many answer, once each.
        critical: right answers: difference: so many or more; likeness: so many or fewer; None: no answer could show it.
        power: how often it is shown where it is so: difference: of the size given; likeness: no difference at all.
    """

    assessors: int
    critical: int | None
    power: float


class Needed(NamedTuple):
    """How many assessors give a power: the smallest number, and the one from which on no larger one has less.

    Power rises and falls a little with the number, as answers are counted in ones.
    """

    first: Planned
    stable: Planned


def planned(test: Tested, assessors: int) -> Planned:
    """What it can show with so many assessors.

    Raises:
        OutOfRange: nobody, or more than are ever asked.
    """
    _refuse_number(assessors)
    fewest = _fewest(assessors, test)
    if fewest is None:
        return Planned(assessors, None, 0.0)
    _, true = _chances(test)
    return _counted_right(test, Planned(assessors, fewest, upper_tail(fewest, assessors, true)))


def needed(test: Tested, power: float = 0.8) -> Needed:
    """How many assessors show it with that probability.

    Raises:
        OutOfRange: no probability, or more assessors than are ever asked would be needed.
    """
    if not 0.0 < power < 1.0:
        raise OutOfRange(f"a power of {power:g}", "give one above 0 and below 1, such as 0.8")
    first = stable = None
    for plan in _plans(test):
        if plan.power < power:
            stable = None
        else:
            first, stable = first or plan, stable or plan
        if first is not None and plan.assessors > 2 * first.assessors + 100:  # the saw's teeth are small by then
            assert stable is not None
            return Needed(_counted_right(test, first), _counted_right(test, stable))
    raise OutOfRange(
        f"more than {MOST_ASSESSORS} assessors would be needed", "look for a larger difference, or accept more risk"
    )


def least_assessors(test: Tested) -> int:
    """The smallest number of assessors with an answer that could show it."""
    return next(plan.assessors for plan in _plans(test) if plan.critical is not None)


def _chances(test: Tested) -> tuple[float, float]:
    """How often an answer is of the kind that is counted: if it is not so, and if it is so."""
    return (test.guessed, test.true) if test.limit is None else (1 - test.limit, 1 - test.true)


def _level(test: Tested) -> float:
    return test.alpha / 2 if test.is_two_sided else test.alpha


def _counted_right(test: Tested, plan: Planned) -> Planned:
    """With right answers counted in place of wrong ones."""
    if test.limit is None or plan.critical is None:
        return plan
    return plan._replace(critical=plan.assessors - plan.critical)


def _fewest(assessors: int, test: Tested) -> int | None:
    """So many or more of what is counted are rarer than the risk."""
    null, _ = _chances(test)
    low, high = 0, assessors + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if upper_tail(middle, assessors, null) <= _level(test) else (middle, high)
    return high if high <= assessors else None


def _plans(test: Tested) -> Iterator[Planned]:
    """Plans for one assessor and on, each from the one before.

    One more assessor adds to a tail what stood just below it and is now counted: p times the probability of one less.
    """
    null, true = _chances(test)
    critical, tails = 1, [null, true]
    below = [1 - null, 1 - true]  # probability of one less than the critical number
    for assessors in range(1, 2 * MOST_ASSESSORS + 102):
        if assessors > 1:
            for side, p in enumerate((null, true)):
                tails[side] += p * below[side]
                below[side] *= (1 - p) * assessors / (assessors - critical + 1)
        while tails[0] > _level(test):
            for side, p in enumerate((null, true)):
                at = below[side] * (assessors - critical + 1) / critical * p / (1 - p)
                tails[side] -= at
                below[side] = at
            critical += 1
        yield Planned(assessors, critical, tails[1]) if critical <= assessors else Planned(assessors, None, 0.0)


# -- after the tasting -----------------------------------------------------------------


class Judged(NamedTuple):
    """What so many right answers show.

    Attributes:
        plan: what the test could show.
        correct: right answers; two-sided: those for the product that is asked about.
        p_value: how often chance alone gives that many (difference) or that few (likeness) where it is not so.
        fewer_p_value: how often guessing gives so few right answers, or fewer.
        d_prime: how far they are apart; infinite where all answers are right.
        d_prime_interval: from the limits of the proportion.
        d_prime_error: standard error of d', by the delta method; None where d' is 0 or infinite.
        pd: the proportion who tell them apart, all others guessing; two-sided, as d', below 0 for the other product.
        pd_interval: from the same limits.
        verdict: what may be concluded.
    """

    plan: Planned
    correct: int
    p_value: float
    fewer_p_value: float
    d_prime: float
    d_prime_interval: tuple[float, float]
    d_prime_error: float | None
    pd: float
    pd_interval: tuple[float, float]
    verdict: Verdict


def judged(test: Tested, assessors: int, correct: int, confidence: float = CONFIDENCE) -> Judged:
    """What it shows, with exact p-value, and d' within limits of that confidence.

    Raises:
        OutOfRange: more right answers than assessors, or another number that cannot be.
    """
    plan = planned(test, assessors)
    if not 0 <= correct <= assessors:
        raise OutOfRange(f"{correct} right answers of {assessors}", f"give 0 to {assessors}")
    null, _ = _chances(test)
    counted = assessors - correct if test.is_of_likeness else correct
    if test.is_two_sided:
        p_value = min(1.0, 2 * upper_tail(max(correct, assessors - correct), assessors, null))
    else:
        p_value = upper_tail(counted, assessors, null)
    fewer = upper_tail(assessors - correct, assessors, 1 - test.guessed)
    limits = clopper_pearson(correct, assessors, confidence)
    signed = test.is_two_sided
    found, lower, upper = (
        (d_prime_of(test.method, one, signed=signed), discriminators(test.method, one, signed=signed))
        for one in (correct / assessors, *limits)
    )
    return Judged(
        plan, correct, p_value, fewer, found[0], (lower[0], upper[0]), _error(test, found[0], assessors, correct),
        found[1], (lower[1], upper[1]), _verdict(test, plan, p_value, fewer),
    )  # fmt: skip


def _verdict(test: Tested, plan: Planned, p_value: float, fewer_p_value: float) -> Verdict:
    if plan.critical is None:
        return "too few assessors"
    if fewer_p_value <= _WORSE and not test.is_two_sided:
        return "worse than guessing"
    is_shown = p_value <= test.alpha
    if test.is_of_likeness:
        return "alike" if is_shown else "not shown alike"
    return "different" if is_shown else "not shown different"


def _error(test: Tested, d_prime: float, assessors: int, correct: int) -> float | None:
    if d_prime == 0.0 or math.isinf(d_prime):
        return None
    proportion = correct / assessors
    return math.sqrt(proportion * (1 - proportion) / assessors) / slope(test.method, abs(d_prime))


# -- the binomial distribution ---------------------------------------------------------


def upper_tail(least: int, of: int, p: float) -> float:
    """The probability of so many or more successes.

    >>> upper_tail(2, 2, 0.5)
    0.25
    """
    if least <= 0 or p >= 1.0:
        return 1.0
    if p <= 0.0 or least > of:
        return 0.0
    log_p, log_q, all_ways = math.log(p), math.log1p(-p), math.lgamma(of + 1)
    return min(
        1.0,
        math.fsum(
            math.exp(all_ways - math.lgamma(k + 1) - math.lgamma(of - k + 1) + k * log_p + (of - k) * log_q)
            for k in range(least, of + 1)
        ),
    )


def clopper_pearson(correct: int, of: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Limits of a proportion, exact (Clopper and Pearson, Biometrika 26, 1934, 404-413).

    >>> [round(limit, 6) for limit in clopper_pearson(10, 15)]
    [0.383804, 0.881759]
    """
    tail = (1 - confidence) / 2
    lower = _where(lambda p: upper_tail(correct, of, p), tail) if correct else 0.0
    upper = _where(lambda p: upper_tail(correct + 1, of, p), 1 - tail) if correct < of else 1.0
    return lower, upper


def _where(rising: Callable[[float], float], value: float) -> float:
    """Where between 0 and 1 it has that value."""
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if rising(middle) < value else (low, middle)
    return (low + high) / 2


def _refuse_number(assessors: int) -> None:
    if not 1 <= assessors <= MOST_ASSESSORS:
        raise OutOfRange(f"{assessors} assessors", f"give 1 to {MOST_ASSESSORS}")
