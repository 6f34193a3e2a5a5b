"""Answers of the same assessors again and again: a published example, scipy's beta-binomial, simulated panels."""

import math
import random

import pytest
from command import here
from hypothesis import given, settings
from hypothesis import strategies as some
from scipy import optimize, stats

from pourbook.errors import OutOfRange
from pourbook.panels.d_prime import d_prime_of
from pourbook.panels.repeated_answers import repeated_answers

RIGHT = (3, 2, 6, 8, 3, 4, 6, 0, 9, 9, 0, 2, 1, 2, 8, 9, 5, 7)
OF = (10, 9, 8, 9, 8, 6, 9, 10, 10, 10, 9, 9, 10, 10, 10, 10, 9, 10)
"""Data and figures read: saved output of the R package sensR 1.5-4, a tetrad test of 18 assessors."""


@some.composite
def panels(draw):
    """Counts of a small panel with right and wrong answers."""
    counts = draw(some.lists(some.tuples(some.integers(0, 8), some.integers(0, 8)), min_size=1, max_size=8))
    return [(1, 1), (0, 2), *((right, right + wrong) for right, wrong in counts if right + wrong)]


def test_a_published_panel():
    """mu 0.4938123, gamma 0.3144258, log-likelihood -41.70868, gains 36.4922 and 57.4545, d' 1.00001."""
    found = repeated_answers("tetrad", list(zip(RIGHT, OF, strict=True)))
    assert (found.assessors, found.answers, found.correct) == (18, 166, 84)
    assert found.mu == pytest.approx(0.4938123, abs=1e-6)
    assert found.gamma == pytest.approx(0.3144258, abs=1e-6)
    assert found.log_likelihood == pytest.approx(-41.70868, abs=5e-6)
    assert found.vary_g2 == pytest.approx(36.4922, abs=5e-5)
    assert found.guess_g2 == pytest.approx(57.4545, abs=5e-5)
    assert found.d_prime == pytest.approx(1.00001, abs=1e-5)


@settings(max_examples=30)
@given(panels())
def test_the_likelihood_by_scipy(counts):
    """Its beta-binomial distribution at the same place, and nothing better where it looks."""
    found = repeated_answers("triangle", counts)
    right, of = zip(*counts, strict=True)

    def log_likelihood(mu, gamma):
        scale = (1 - gamma) / gamma
        return stats.betabinom.logpmf(right, of, mu * scale, (1 - mu) * scale).sum()

    assert found.log_likelihood == pytest.approx(log_likelihood(found.mu, found.gamma), abs=1e-5)
    best = optimize.minimize(lambda at: -log_likelihood(*at), (0.5, 0.3), bounds=[(0.02, 0.98), (1e-4, 0.99)])
    assert found.log_likelihood >= -best.fun - 1e-5


@settings(max_examples=30)
@given(panels())
def test_what_varies_and_what_does_not(counts):
    """The sum's p-value is the binomial one; limits lie around d'; the order of assessors is nothing to it."""
    found = repeated_answers("duo-trio", counts)
    assert found.p_value == pytest.approx(stats.binom.sf(found.correct - 1, found.answers, 0.5), abs=1e-9)
    assert found.d_prime_interval[0] <= found.d_prime <= found.d_prime_interval[1]
    assert 0 <= found.vary_p_value <= 0.5
    turned = repeated_answers("duo-trio", counts[::-1])
    assert turned.mu == pytest.approx(found.mu, abs=1e-5)
    assert turned.log_likelihood == pytest.approx(found.log_likelihood, abs=1e-9)


def test_assessors_who_are_alike_vary_by_chance_alone():
    """Four with three of six each: nothing varies, and mu is the proportion."""
    found = repeated_answers("tetrad", [(3, 6)] * 4)
    assert found.gamma < 1e-4
    assert found.vary_g2 == pytest.approx(0, abs=1e-4)
    assert found.mu == pytest.approx(0.5, abs=1e-4)


def test_limits_hold_the_true_d_prime():
    """40 simulated panels of 15 who differ (beta-binomial), 6 answers each: 95 % less four standard errors hold it."""
    chance, held = random.Random(5), 0
    true = d_prime_of("tetrad", 0.6)
    for _ in range(40):
        each = [chance.betavariate(0.6 * 3, 0.4 * 3) for _ in range(15)]
        low, high = repeated_answers(
            "tetrad", [(sum(chance.random() < p for _ in range(6)), 6) for p in each]
        ).d_prime_interval
        held += low <= true <= high
    assert held / 40 > 0.95 - 4 * math.sqrt(0.95 * 0.05 / 40)


@pytest.mark.parametrize("counts", [[(3, 5)], [(1, 1), (0, 1)], [(5, 5), (3, 3)], [(0, 5), (0, 3)], [(4, 3), (1, 2)]])
def test_what_says_nothing_is_refused(counts):
    """One assessor, nothing repeated, all right, all wrong, more right than answers."""
    with pytest.raises(OutOfRange) as refusal:
        repeated_answers("triangle", counts)
    assert refusal.value.remedy


def table(path, *rows):
    """A table of answers."""
    path.write_text("\n".join(["assessor,correct,answers", *rows]) + "\n", "utf-8")
    return path


def test_the_command_judges_a_table(tmp_path):
    """In words and as a document."""
    path = table(
        tmp_path / "a.csv", *(f"assessor {at},{n},{of}" for at, (n, of) in enumerate(zip(RIGHT, OF, strict=True)))
    )
    ran = here("panel", "repeated", path, "--test", "tetrad").done()
    assert ran.out.startswith(
        "different: guessing alone gives 84 right answers of 166 with a probability of below 0.001"
    )
    assert "assessors differ in what they tell (p below 0.001; gamma 0.31 of 1)" in ran.out
    assert "how far apart, d': 1.00 on average, 95 %: 0.32 to 1.47" in ran.out
    assert here("panel", "repeated", path, "--test", "tetrad", "--json").done().json["mu"] == pytest.approx(
        0.4938123, abs=1e-6
    )
    none = here("panel", "repeated", table(tmp_path / "b.csv", "Isla,2,5", "Tom,1,5"), "--test", "triangle").done()
    assert none.out.splitlines()[-1] == "not shown: that they are alike"


def test_faulty_rows_are_listed(tmp_path):
    """More right than answers, no number, blank, twice."""
    path = table(tmp_path / "a.csv", "Isla,6,5", "Tom,two,5", "Kay,,5", "Isla,1,5", "Mara,0,0")
    ran = here("panel", "repeated", path, "--test", "triangle")
    assert ran.status == 1
    for told in (
        "a.csv, row 2, correct: '6' is more than the 5 answers; check both",
        "a.csv, row 3, correct: 'two' is not a whole number; write digits only",
        "a.csv, row 4, correct: is blank",
        "a.csv, row 5, assessor: 'Isla' has a row above",
        "a.csv, row 6, answers: '0' is no number of answers",
    ):
        assert told in ran.err
