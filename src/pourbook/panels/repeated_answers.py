"""A test that every assessor answered several times: right answers of a panel whose members differ.

Answers of one assessor go together, so they are no independent ones. That products differ follows from all answers
all the same, since by mere guessing they would be independent (ISO 10399:2004, 6.2, note). How far they are apart takes
a model: the chance of a right answer varies among assessors by a beta distribution of mean mu, and gamma, from 0 to 1,
says how much (beta-binomial). Both are those of the largest likelihood; limits are of its profile.

>>> found = repeated_answers("tetrad", [(3, 10), (9, 10), (2, 9), (8, 9)])
>>> round(found.mu, 3), found.vary_p_value < 0.01
(0.583, True)
"""

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

from pourbook.errors import OutOfRange
from pourbook.panels.d_prime import GUESSED, d_prime_of
from pourbook.panels.discrimination import upper_tail

__all__ = ["RepeatedAnswers", "repeated_answers"]

_EDGE = 12.0
"""How far the search goes, in logits."""
_GOLDEN = (math.sqrt(5) - 1) / 2
_STEPS = 38
_CHI_SQUARED_95 = 3.841458820694124
"""The 95 % quantile of chi-squared with one degree of freedom."""


class RepeatedAnswers(NamedTuple):
    """What repeated answers say.

    Attributes:
        assessors: how many.
        answers: of all.
        correct: right ones of all.
        p_value: how often guessing gives as many; exact.
        mu: the mean chance of a right answer.
        gamma: how much it varies among assessors: 0 not at all, 1 each always or never.
        d_prime: at mu.
        d_prime_interval: by the profile of the likelihood of mu, 95 %.
        vary_p_value: how often assessors who are all alike vary as much.
        log_likelihood: of the model.
        vary_g2: twice its gain over the same chance for all.
        guess_g2: twice its gain over mere guessing.
    """

    assessors: int
    answers: int
    correct: int
    p_value: float
    mu: float
    gamma: float
    d_prime: float
    d_prime_interval: tuple[float, float]
    vary_p_value: float
    log_likelihood: float
    vary_g2: float
    guess_g2: float


def repeated_answers(method: str, counts: Sequence[tuple[int, int]]) -> RepeatedAnswers:
    """From right answers and all answers of each assessor.

    Raises:
        OutOfRange: fewer than two assessors, more right answers than answers, nobody who answered twice, or all
            answers right or wrong.
    """
    _check(counts)
    correct, answers = (sum(column) for column in zip(*counts, strict=True))
    mu, most = _highest(lambda logit: _profile(counts, logit))
    gamma, _ = _highest(lambda logit: _log_likelihood(counts, _chance(mu), _chance(logit)))
    limits = (_crossing(counts, mu, end, most - _CHI_SQUARED_95 / 2) for end in (-_EDGE, _EDGE))
    lower, upper = (d_prime_of(method, _chance(limit)) for limit in limits)
    vary_g2 = max(0.0, 2 * (most - _same_for_all(counts, correct / answers)))
    return RepeatedAnswers(
        len(counts), answers, correct, upper_tail(correct, answers, GUESSED[method]),
        _chance(mu), _chance(gamma), d_prime_of(method, _chance(mu)), (lower, upper),
        math.erfc(math.sqrt(vary_g2 / 2)) / 2,  # no variation lies on the edge: half of chi-squared, 1 df
        most, vary_g2, 2 * (most - _same_for_all(counts, GUESSED[method])),
    )  # fmt: skip


def _check(counts: Sequence[tuple[int, int]]) -> None:
    if wrong := [one for one in counts if not 0 <= one[0] <= one[1] or one[1] < 1]:
        raise OutOfRange(f"{wrong[0][0]} right answers of {wrong[0][1]}", "right answers are no more than answers")
    if len(counts) < 2 or max(of for _, of in counts) < 2:
        raise OutOfRange(
            "nothing is repeated: it takes two assessors, and two answers of one", "give their sum instead"
        )
    if all(right == of for right, of in counts) or not any(right for right, _ in counts):
        raise OutOfRange("all answers are right, or all wrong: none varies", "give their sum instead")


def _chance(logit: float) -> float:
    return 1 / (1 + math.exp(-logit))


def _log_likelihood(counts: Sequence[tuple[int, int]], mu: float, gamma: float) -> float:
    """Of beta-binomial counts."""
    a, b = mu * (1 - gamma) / gamma, (1 - mu) * (1 - gamma) / gamma
    whole = _log_beta(a, b)
    return math.fsum(_log_ways(right, of) + _log_beta(a + right, b + of - right) - whole for right, of in counts)


def _same_for_all(counts: Sequence[tuple[int, int]], p: float) -> float:
    """The log-likelihood of binomial counts."""
    return math.fsum(_log_ways(right, of) + right * math.log(p) + (of - right) * math.log1p(-p) for right, of in counts)


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)


def _log_ways(right: int, of: int) -> float:
    return -_log_beta(right + 1, of - right + 1) - math.log(of + 1)


def _profile(counts: Sequence[tuple[int, int]], mu: float) -> float:
    """The largest log-likelihood with that mean (as logit)."""
    return _highest(lambda gamma: _log_likelihood(counts, _chance(mu), _chance(gamma)))[1]


def _highest(of: Callable[[float], float]) -> tuple[float, float]:
    """Where a function with one summit is highest, and how high, by golden sections."""
    low, high = -_EDGE, _EDGE
    left, right = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_left, at_right = of(left), of(right)
    for _ in range(_STEPS):
        if at_left < at_right:
            low, left, at_left = left, right, at_right
            right = low + _GOLDEN * (high - low)
            at_right = of(right)
        else:
            high, right, at_right = right, left, at_left
            left = high - _GOLDEN * (high - low)
            at_left = of(left)
    return (left, at_left) if at_left > at_right else (right, at_right)


def _crossing(counts: Sequence[tuple[int, int]], summit: float, end: float, level: float) -> float:
    """Where the profile falls below a level, between its summit and that end."""
    inside, outside = summit, end
    for _ in range(30):
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if _profile(counts, middle) > level else (inside, middle)
    return (inside + outside) / 2
