"""Tests of difference and of likeness, against published tables, reference values, scipy, and simulated tasters.

minimum_correct.csv: triangle, FAO document V7180E, appendix A; duo-trio, GOST ISO 10399-2015, table A.1 (the text of
ISO 10399:2004); both read. d_prime.csv: reference values in the unit tests, saved outputs and manual of the R package
sensR 1.5-4, read. Where nothing is said, a figure was read there, too.
"""

import csv
import math
import random
from itertools import count, product
from pathlib import Path

import pytest
from command import here
from hypothesis import given
from hypothesis import strategies as some
from scipy import integrate, stats

from pourbook.errors import OutOfRange
from pourbook.panels.d_prime import GUESSED, d_prime_of, discriminators, proportion_correct
from pourbook.panels.discrimination import (
    clopper_pearson,
    difference,
    judged,
    least_assessors,
    likeness,
    needed,
    planned,
    upper_tail,
)

HERE = Path(__file__).parent
METHODS = some.sampled_from(sorted(GUESSED))


def rows_of(name):
    """A table of published figures beside this module."""
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


# -- d' -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", rows_of("d_prime.csv"), ids=lambda row: " ".join(row.values()))
def test_published_values_of_d_prime(row):
    """sensR solves for d' to about 3e-5; proportions it gives to nine digits."""
    method, published = row["method"], float(row["published"])
    if row["direction"] == "d_to_pc":
        assert proportion_correct(method, float(row["given"])) == pytest.approx(published, abs=2e-7)
    else:
        dividend, _, divisor = row["given"].partition("/")
        assert d_prime_of(method, float(dividend) / float(divisor or 1)) == pytest.approx(published, abs=3e-5)


@pytest.mark.parametrize("d", [0.0, 0.3, 1.0, 2.5, 6.0])
def test_right_answers_by_other_integrals(d):
    """Triangle: the noncentral F distribution, and Ennis's integral; 3-AFC: adaptive integration."""
    assert proportion_correct("triangle", d) == pytest.approx(stats.ncf.sf(3, 1, 1, 2 * d * d / 3) if d else 1 / 3)
    both = integrate.quad(
        lambda z: (
            (stats.norm.cdf(-z * 3**0.5 + d * (2 / 3) ** 0.5) + stats.norm.cdf(-z * 3**0.5 - d * (2 / 3) ** 0.5))
            * stats.norm.pdf(z)
        ),
        0,
        12,
    )[0]
    assert proportion_correct("triangle", d) == pytest.approx(2 * both, abs=1e-9)
    most = integrate.quad(lambda z: stats.norm.pdf(z - d) * stats.norm.cdf(z) ** 2, -10, 12 + d, limit=200)[0]
    assert proportion_correct("three-afc", d) == pytest.approx(most, abs=1e-9)


def taste(method, d, draw):
    """Whether one assessor who feels as Thurstone's model says, and decides by the rule of the test, is right."""
    a, a_again, b, b_again = draw(), draw(), draw() + d, draw() + d
    match method:
        case "triangle":
            return abs(a - a_again) < min(abs(a - b), abs(a_again - b))
        case "duo-trio":
            return abs(a - a_again) < abs(a - b)
        case "paired":
            return b > a
        case "three-afc":
            return b > max(a, a_again)
        case "tetrad":
            return min(b, b_again) > max(a, a_again) or max(b, b_again) < min(a, a_again)
    raise AssertionError(method)


@pytest.mark.parametrize("method", GUESSED)
def test_simulated_tasters_are_right_as_often(method):
    """20,000 tasters with d' = 1.5; four standard errors."""
    chance = random.Random(7)
    right = sum(taste(method, 1.5, lambda: chance.gauss(0, 1)) for _ in range(20_000)) / 20_000
    expected = proportion_correct(method, 1.5)
    assert abs(right - expected) < 4 * math.sqrt(expected * (1 - expected) / 20_000)


@given(METHODS, some.floats(0, 8), some.floats(0, 8))
def test_d_prime_grows_with_right_answers(method, one, other):
    """And goes back where it came from."""
    low, high = sorted((one, other))
    assert proportion_correct(method, low) <= proportion_correct(method, high) + 1e-12
    if low <= 5:
        assert d_prime_of(method, proportion_correct(method, low)) == pytest.approx(low, abs=2e-5)


def test_guessing_and_always_right():
    """No d' below guessing, no limit where all are right; two-sided, the other product has more."""
    assert [d_prime_of(method, GUESSED[method]) for method in GUESSED] == [0.0] * 5
    assert d_prime_of("tetrad", 0.1) == 0.0
    assert math.isinf(d_prime_of("triangle", 1.0))
    assert d_prime_of("paired", 0.3, signed=True) == -d_prime_of("paired", 0.7)
    assert discriminators("triangle", 0.2) == 0.0


# -- critical numbers ------------------------------------------------------------------------------

MISPRINTS = {("22", "0.2"): 14, ("22", "0.1"): 15, ("22", "0.05"): 16, ("28", "0.2"): 17}
"""Of the duo-trio table: the binomial distribution gives these."""


@pytest.mark.parametrize("row", rows_of("minimum_correct.csv"), ids=lambda row: f"{row['method']} {row['assessors']}")
def test_published_critical_numbers(row):
    """372 of 376; three of the other four repeat the row of 21 assessors for 22."""
    method, assessors = row["method"], row["assessors"]
    for alpha in ("0.2", "0.1", "0.05", "0.01", "0.001"):
        if row[alpha]:
            published = None if row[alpha] == "none" else int(row[alpha])
            if method == "duo-trio":
                published = MISPRINTS.get((assessors, alpha), published)
            assert planned(difference(method, float(alpha), pd=0.5), int(assessors)).critical == published


SIMILARITY_18 = {
    0.001: (0, 1, 2, 3, 5), 0.01: (2, 3, 4, 5, 6), 0.05: (3, 4, 5, 6, 8), 0.1: (4, 5, 6, 7, 8), 0.2: (4, 6, 7, 8, 9),
}  # fmt: skip
"""Remembered, not read: ISO 4120:2004, table A.2, 18 assessors; columns: 10 to 50 % who tell them apart."""


@pytest.mark.parametrize("alpha", SIMILARITY_18)
def test_remembered_critical_numbers_of_likeness(alpha):
    """The largest number of right answers that shows likeness in a triangle test."""
    found = [planned(likeness("triangle", alpha, pd=share / 10), 18).critical for share in range(1, 6)]
    assert tuple(found) == SIMILARITY_18[alpha]


@pytest.mark.parametrize(("method", "sides"), [*product(GUESSED, [1]), ("paired", 2)])
def test_critical_numbers_and_power_by_scipy(method, sides):
    """A second implementation: quantiles and tails of scipy's binomial distribution; power is to one side."""
    for assessors, alpha in product((*range(1, 61), 120, 700), (0.2, 0.05, 0.01)):
        test = difference(method, alpha, d_prime=0.8, is_two_sided=sides == 2)
        found = planned(test, assessors)
        critical = int(stats.binom.isf(alpha / sides, assessors, GUESSED[method])) + 1
        assert found.critical == (critical if critical <= assessors else None)
        assert found.power == pytest.approx(stats.binom.sf(critical - 1, assessors, test.true), abs=1e-10)


@pytest.mark.parametrize("method", GUESSED)
def test_likeness_by_scipy(method):
    """The largest number with a lower tail of no more than alpha, and its lower tail without any difference."""
    for assessors, pd in product((18, 30, 60, 72, 150), (0.1, 0.2, 0.3, 0.5)):
        test = likeness(method, 0.05, pd=pd)
        tail = stats.binom(assessors, test.limit).cdf
        largest = max((right for right in range(assessors) if tail(right) <= 0.05), default=None)
        found = planned(test, assessors)
        assert found.critical == largest
        expected = 0.0 if largest is None else stats.binom.cdf(largest, assessors, GUESSED[method])
        assert found.power == pytest.approx(expected, abs=1e-10)


@given(some.integers(0, 400), some.integers(1, 400), some.floats(0.01, 0.99))
def test_tails_by_scipy(least, of, p):
    """Sums of the binomial distribution."""
    assert upper_tail(least, of, p) == pytest.approx(stats.binom.sf(least - 1, of, p), rel=1e-9, abs=1e-12)


# -- power and numbers needed --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("test", "assessors", "critical", "power", "digits"),
    [
        (difference("duo-trio", pd=0.5), 20, 15, 0.617, 3),
        (difference("paired", d_prime=1.0), 30, 20, 0.917255217993622, 6),
        (difference("tetrad", d_prime=1.0), 50, None, 0.731897, 6),
        (difference("triangle", d_prime=0.9), 297, None, 0.802, 3),
        (difference("triangle", d_prime=0.9), 305, None, 0.806, 3),
        (likeness("duo-trio", pd=1 / 3), 100, 58, 0.956, 3),
        (likeness("duo-trio", pd=1 / 3)._replace(true=0.6), 100, 58, 0.377, 3),
        (likeness("triangle", pd=0.2)._replace(true=0.4), 100, None, 0.306809762270984, 6),
    ],
)
def test_published_power(test, assessors, critical, power, digits):
    """The vignette and the manual; a likeness is also asked of products that differ a little (`true`)."""
    found = planned(test, assessors)
    assert critical in (None, found.critical)
    assert found.power == pytest.approx(power, abs=0.6 * 10**-digits)


@pytest.mark.parametrize(
    ("test", "power", "first", "stable"),
    [
        (difference("triangle", d_prime=0.9), 0.8, 297, 318),
        (difference("duo-trio", pd=0.5), 0.8, 23, 28),
        (difference("paired", d_prime=1.0), 0.9, 30, None),
        (difference("tetrad", d_prime=1.0), 0.9, 82, None),
        (likeness("duo-trio", pd=0.2)._replace(true=0.55), 0.8, 604, None),
    ],
)
def test_published_numbers_needed(test, power, first, stable):
    """The smallest, and the one from which on no larger one has less power."""
    found = needed(test, power)
    assert found.first.assessors == first
    assert stable in (None, found.stable.assessors)
    assert found.first == planned(test, first)._replace(power=pytest.approx(found.first.power, abs=1e-9))


@given(METHODS, some.floats(0.8, 3), some.sampled_from([0.05, 0.01, 0.2]), some.floats(0.3, 0.95))
def test_numbers_needed_are_what_was_asked(method, d_prime, alpha, power):
    """No smaller number reaches the power, and none from the stable one on misses it."""
    test = difference(method, alpha, d_prime=d_prime)
    first, stable = needed(test, power)
    assert planned(test, first.assessors).power >= power - 1e-9
    for assessors in range(max(1, first.assessors - 12), first.assessors):
        assert planned(test, assessors).power < power
    for assessors in range(stable.assessors, stable.assessors + 12):
        assert planned(test, assessors).power >= power - 1e-9


@pytest.mark.parametrize(("method", "alpha"), [*product(GUESSED, (0.2, 0.05, 0.001))])
def test_a_test_too_small_is_known_before(method, alpha):
    """By hand: guessing is always right g to the power of n; where that exceeds alpha nothing can be shown."""
    smallest = next(assessors for assessors in count(1) if GUESSED[method] ** assessors <= alpha)
    test = difference(method, alpha, d_prime=1.0)
    assert least_assessors(test) == smallest
    assert planned(test, smallest).critical == smallest
    assert planned(test, smallest - 1 or 1).critical is None or smallest == 1
    if smallest > 1:
        assert judged(test, smallest - 1, smallest - 1).verdict == "too few assessors"


# -- what answers show -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("test", "assessors", "correct", "p_value", "within"),
    [
        (difference("duo-trio", pd=0.5), 20, 15, 0.021, 5e-4),
        (difference("duo-trio", pd=0.5), 20, 14, 0.058, 5e-4),
        (difference("paired", pd=0.5), 15, 10, 0.15087890625, 1e-9),
        (likeness("duo-trio", pd=1 / 3), 100, 58, 0.0433715, 1e-6),  # computed: the vignette rounds to 0.042
        (likeness("triangle", pd=0.2), 75, 20, 0.000306144022107533, 1e-9),
        (likeness("triangle", pd=0.2), 75, 26, 0.02377, 6e-6),
        (likeness("triangle", d_prime=1.0), 75, 26, 0.1274, 6e-5),
    ],
)
def test_published_p_values(test, assessors, correct, p_value, within):
    """Exact tails."""
    assert judged(test, assessors, correct).p_value == pytest.approx(p_value, abs=within)


@pytest.mark.parametrize(
    ("method", "error"),
    [
        ("paired", 0.473412265776244),
        ("three-afc", 0.435915308196464),
        ("tetrad", 0.419305544967608),
        ("duo-trio", 0.71586308378571),
        ("triangle", 0.651036422864387),
    ],
)
def test_published_standard_errors(method, error):
    """10 right of 15, by the delta method; sensR's own d' is good to five digits."""
    assert judged(difference(method, pd=0.5), 15, 10).d_prime_error == pytest.approx(error, abs=5e-6)


def test_published_proportions_who_tell():
    """ISO 5495:2005/Amd.1:2016, B.5.2, read: 21 of 30 is 0.4; its limits are not exact and are not ours."""
    assert judged(difference("paired", pd=0.3), 30, 21).pd == pytest.approx(0.4)
    assert judged(difference("paired", pd=0.3, is_two_sided=True), 44, 12).pd == pytest.approx(-20 / 44)


def test_published_intervals():
    """10 right of 15: limits of the proportion by Clopper and Pearson, carried through to d'."""
    paired = judged(difference("paired", pd=0.5), 15, 10)
    assert clopper_pearson(10, 15)[1] == pytest.approx(0.881758896633119, abs=1e-9)
    assert paired.d_prime_interval == pytest.approx((0.0, 1.67418186000377), abs=1e-6)
    duo_trio = judged(difference("duo-trio", pd=0.5), 15, 10, confidence=0.90)
    assert clopper_pearson(10, 15, 0.90)[1] == pytest.approx(0.858336028357847, abs=1e-9)
    assert duo_trio.d_prime_interval[1] == pytest.approx(2.8242468406221, abs=1e-5)


@given(some.integers(1, 200), some.data())
def test_limits_and_both_sides_by_scipy(assessors, data):
    """A second implementation: scipy's exact binomial test and its interval."""
    correct = data.draw(some.integers(0, assessors))
    limits = stats.binomtest(correct, assessors).proportion_ci(0.95, "exact")
    assert clopper_pearson(correct, assessors) == pytest.approx((limits.low, limits.high), abs=1e-7)
    found = judged(difference("paired", pd=0.3, is_two_sided=True), assessors, correct)
    assert found.p_value == pytest.approx(stats.binomtest(correct, assessors, 0.5).pvalue, abs=1e-9)


@given(METHODS, some.integers(2, 60), some.data())
def test_more_right_answers_show_more(method, assessors, data):
    """p falls, d' and its limits rise; difference is shown from the critical number on, likeness up to it."""
    fewer = data.draw(some.integers(0, assessors - 1))
    for test, sign in ((difference(method, d_prime=1.0), 1), (likeness(method, pd=0.4), -1)):
        one, other = judged(test, assessors, fewer), judged(test, assessors, fewer + 1)
        assert sign * one.p_value >= sign * other.p_value
        assert one.d_prime <= other.d_prime
        assert all(low <= high for low, high in zip(one.d_prime_interval, other.d_prime_interval, strict=True))
        assert other.d_prime_interval[0] <= other.d_prime <= other.d_prime_interval[1]
        critical = other.plan.critical
        is_shown = critical is not None and sign * (fewer + 1) >= sign * critical
        is_doubted = other.verdict == "worse than guessing"
        assert is_doubted == (critical is not None and stats.binom.cdf(fewer + 1, assessors, test.guessed) <= 0.001)
        assert is_doubted or (other.verdict in ("different", "alike")) == is_shown


@given(some.integers(1, 80), some.data())
def test_two_sides_are_mirror_images(assessors, data):
    """Calling the other product the right one changes the sign of d', and nothing else."""
    correct = data.draw(some.integers(0, assessors))
    test = difference("paired", d_prime=1.0, is_two_sided=True)
    one, other = judged(test, assessors, correct), judged(test, assessors, assessors - correct)
    assert one.p_value == other.p_value
    assert one.verdict == other.verdict
    assert one.d_prime == pytest.approx(-other.d_prime, abs=1e-9)
    assert one.pd == pytest.approx(-other.pd, abs=1e-9)
    assert one.d_prime_interval == pytest.approx(tuple(-one for one in reversed(other.d_prime_interval)), abs=1e-9)


@pytest.mark.parametrize("method", GUESSED)
def test_intervals_cover_the_true_d_prime(method):
    """At least 95 of 100 intervals hold it, summed over all answers that 24 assessors can give (no simulation)."""
    intervals = [judged(difference(method, pd=0.5), 24, correct).d_prime_interval for correct in range(25)]
    for d_prime in (0.0, 0.5, 1.0, 2.0, 3.0):
        chances = stats.binom.pmf(range(25), 24, proportion_correct(method, d_prime))
        covered = sum(
            chance for chance, (low, high) in zip(chances, intervals, strict=True) if low - 1e-9 <= d_prime <= high
        )
        assert 0.95 <= covered <= 1.0 + 1e-9


def test_the_risk_is_kept():
    """Simulated guessing: 2,000 panels of 30, of whom no more than 5 % (and four standard errors) look different."""
    chance = random.Random(11)
    test = difference("triangle", d_prime=1.0)
    critical = planned(test, 30).critical
    panels = [sum(chance.random() < 1 / 3 for _ in range(30)) for _ in range(2000)]
    assert sum(right >= critical for right in panels) / 2000 < 0.05 + 4 * math.sqrt(0.05 * 0.95 / 2000)


def test_the_largest_difference_needs_no_more_than_chance_asks():
    """Everybody is right: as many as the smallest test has."""
    for method in GUESSED:
        test = difference(method, d_prime=20.0)
        assert needed(test).first.assessors == least_assessors(test)


@pytest.mark.parametrize(
    "asked",
    [
        lambda: difference("triangle", 0.0, d_prime=1.0),
        lambda: difference("triangle", 0.6, d_prime=1.0),
        lambda: difference("triangle", d_prime=0.0),
        lambda: difference("triangle", d_prime=25.0),
        lambda: difference("triangle", d_prime=1.0, pd=0.3),
        lambda: difference("triangle"),
        lambda: difference("triangle", d_prime=1.0, is_two_sided=True),
        lambda: likeness("triangle", pd=1.0),
        lambda: planned(difference("triangle", d_prime=1.0), 0),
        lambda: planned(difference("triangle", d_prime=1.0), 20_000),
        lambda: judged(difference("triangle", d_prime=1.0), 10, 11),
        lambda: judged(difference("triangle", d_prime=1.0), 10, -1),
        lambda: needed(difference("triangle", d_prime=1.0), 1.0),
        lambda: needed(difference("triangle", d_prime=0.05)),
    ],
)
def test_what_cannot_be_is_refused(asked):
    """Risks, sizes, numbers and powers that no test has."""
    with pytest.raises(OutOfRange) as refusal:
        asked()
    assert refusal.value.remedy


# -- the command ----------------------------------------------------------------------------------


@pytest.mark.parametrize("verb", GUESSED)
def test_scripts_get_what_they_rely_on(verb):
    """The contract: p-value, d' with its interval, the minimum of right answers, and the power."""
    found = here("panel", verb, "--assessors", 30, "--correct", 22, "--json").done().json
    assert found["p_value"] == pytest.approx(stats.binom.sf(21, 30, GUESSED[verb]))
    assert found["d_prime_interval"][0] < found["d_prime"] < found["d_prime_interval"][1]
    assert found["min_correct"] == int(stats.binom.isf(0.05, 30, GUESSED[verb])) + 1
    assert 0 < found["power"] < 1
    assert found["verdict"] == "different"


def test_likeness_is_judged_against_its_limit():
    """The smaller tail at 30 % who tell them apart; as per cent it is the same."""
    asked = ("panel", "triangle", "--assessors", 66, "--correct", 22, "--similarity", "--json")
    found = here(*asked, "--pd", "0.3").done().json
    assert found["p_value"] == pytest.approx(stats.binom.cdf(22, 66, 1 / 3 + 0.2))
    assert found["verdict"] == "alike"
    assert found["max_correct"] == planned(likeness("triangle", pd=0.3), 66).critical
    assert here(*asked, "--pd", "30 %").done().json["p_value"] == pytest.approx(found["p_value"])


def test_words_say_what_may_not_be_concluded():
    """Neither from a difference not found, nor from a likeness not found, nor from either found."""
    said = {
        "16": ("different", "not shown: which is better"),
        "11": ("not shown different", "not found different is not found alike: d' may be as large as 1.78"),
    }
    for correct, (verdict, limit) in said.items():
        lines = here("panel", "triangle", "--assessors", 30, "--correct", correct).done().out.splitlines()
        assert lines[0].startswith(f"{verdict}: ")
        assert lines[1].startswith(limit)
    for correct, verdict in (("9", "alike"), ("14", "not shown alike")):
        asked = ("panel", "triangle", "--assessors", 30, "--correct", correct, "--similarity", "--pd", "0.3")
        lines = here(*asked).done().out.splitlines()
        assert lines[0].startswith(verdict)
        assert lines[1].startswith("not ")


def test_a_test_too_small_says_so_before():
    """No answers of four assessors reach 1 % in a paired test (1/16); seven could (1/128)."""
    ran = here("panel", "paired", "--assessors", 4, "--alpha", "1 %").done()
    assert ran.out.startswith("too few assessors: no answers of 4 could show a difference")
    assert "p = 0.063" in ran.out
    assert "take at least 7" in ran.out
    small, large = (here("panel", "triangle", "--assessors", number).done().out for number in (30, 200))
    assert "more often fail to show that than show it" in small
    assert "more often fail" not in large


def test_the_number_needed_is_said_before():
    """The first and the stable one, each with its critical number."""
    found = here("panel", "tetrad", "--d-prime", 1, "--power", "90 %", "--json").done().json
    assert found["first"]["assessors"] == 82
    assert found["stable"]["assessors"] >= 82
    assert "82 assessors" in here("panel", "tetrad", "--d-prime", 1, "--power", "0.9").done().out


@pytest.mark.parametrize(
    ("asked", "refusal"),
    [
        ("triangle --correct 5", "how many assessors"),
        ("triangle --assessors 30 --power 0.8", "the power follows"),
        ("triangle --assessors 30 --similarity", "still alike"),
        ("triangle --assessors 30 --two-sided", "one side"),
        ("paired --assessors 30 --two-sided --similarity --pd 0.3", "one side"),
        ("triangle --assessors 30 --correct 31", "31 right answers of 30"),
        ("triangle --assessors 30 --pd 0.3 --d-prime 1", "once"),
        ("triangle --assessors 30 --alpha 60", "a risk (alpha) of 0.6"),
        ("triangle --assessors 30 --alpha 1", "--alpha: '1'"),
        ("triangle --assessors 30 --alpha small", "--alpha: 'small'"),
        ("triangle --assessors 30 --pd half", "half"),
    ],
)
def test_refusals_say_what_to_do(asked, refusal):
    """Each in a sentence, with a remedy."""
    ran = here("panel", *asked.split())
    assert ran.status == 1
    assert refusal in ran.err
    assert "do: " in ran.err


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("triangle --assessors 30 --correct 0", "check the codes and the key"),
        ("triangle --assessors 30 --correct 0 --similarity --pd 0.3", "check the codes and the key"),
        ("paired --assessors 30 --correct 5", "or the other product has more of it"),
        ("paired --assessors 30 --correct 5 --similarity --pd 0.3", "or the other product has more of it"),
    ],
)
def test_answers_worse_than_guessing_show_nothing(asked, said):
    """A key mixed up is no proof that products are alike, nor is a difference the other way."""
    found = here("panel", *asked.split(), "--json").done().json
    assert found["verdict"] == "worse than guessing"
    guessed = 1 / 3 if asked.startswith("triangle") else 0.5
    assert found["fewer_p_value"] == pytest.approx(stats.binom.cdf(found["correct"], 30, guessed), rel=1e-9)
    out = here("panel", *asked.split()).done().out
    assert said in out
    assert "alike" not in out.splitlines()[0]


def test_somewhat_fewer_than_guessing_is_still_judged():
    """7 of 30 where 10 are guessed comes of chance in one of six; two-sided, few for one are many for the other."""
    few = (
        here("panel", "triangle", "--assessors", 30, "--correct", 7, "--similarity", "--pd", 0.3, "--json").done().json
    )
    assert few["verdict"] == "alike"
    other = here("panel", "paired", "--assessors", 30, "--correct", 5, "--two-sided").done().out
    assert other.startswith("different")
    assert "below 0: for the other product" in other
