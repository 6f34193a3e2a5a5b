"""How far assessors agree: published examples, other ways to the same figures, simulated panels."""

import math
import random
import statistics

import pytest
from command import here
from hypothesis import given
from hypothesis import strategies as some

from pourbook.errors import OutOfRange
from pourbook.panels.agreement import agreement
from pourbook.panels.ranking import mean_ranks, ranking

JUDGES = ((9, 2, 5, 8), (6, 1, 3, 2), (8, 4, 6, 8), (7, 1, 2, 6), (10, 5, 6, 9), (6, 2, 4, 7))
"""Six targets by four judges: Shrout and Fleiss (1979), Psychological Bulletin 86; remembered, as are its figures."""

GRASS = (
    (4, 3, 2, 1), (4, 2, 3, 1), (3, 1.5, 1.5, 4), (3, 1, 2, 4), (4, 2, 1, 3), (2, 2, 2, 4), (1, 3, 2, 4), (2, 4, 1, 3),
    (3.5, 1, 2, 3.5), (4, 1, 3, 2), (4, 2, 3, 1), (3.5, 1, 2, 3.5),
)  # fmt: skip


def scored(rows):
    """Scores by assessor and product, from rows of products."""
    return {
        (f"assessor {column}", f"product {at}"): (score,)
        for at, row in enumerate(rows)
        for column, score in enumerate(row)
    }


@some.composite
def panels(draw):
    """Whole scores of a small panel that are not all the same."""
    products, assessors = draw(some.integers(2, 6)), draw(some.integers(2, 6))
    row = some.lists(some.integers(0, 9), min_size=assessors, max_size=assessors)
    rows = draw(some.lists(row, min_size=products, max_size=products))
    rows[0][0] = 10
    return rows


# -- published -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("which", "value", "lower", "upper"),
    [
        ("one", 0.29, 0.019, 0.761),
        ("one_order", 0.71, 0.342, 0.946),
        ("panel", 0.62, 0.071, 0.927),
        ("panel_order", 0.91, 0.676, 0.986),
    ],
)
def test_remembered_intraclass_correlations(which, value, lower, upper):
    """ICC(2,1), (3,1), (2,4), (3,4) of Shrout and Fleiss; limits as the R package psych prints them."""
    found = getattr(agreement(scored(JUDGES)), which)
    assert found.value == pytest.approx(value, abs=0.005)
    assert (found.lower, found.upper) == pytest.approx((lower, upper), abs=0.001)


def test_kendalls_w_of_grasses():
    """Computed in the reference, with ties: 0.224926254; ranks as scores."""
    found = agreement(scored(list(zip(*GRASS, strict=True))))
    assert found.w == pytest.approx(0.224926254, abs=5e-10)


def test_repeatability_by_hand():
    """Isla scored ash 6 and 7, and oak 3 and 5: squares 0.5 and 2 of 2 degrees of freedom."""
    scores = {("Isla", "ash"): (6, 7), ("Isla", "oak"): (3, 5), ("Tom", "ash"): (5,), ("Tom", "oak"): (4,)}
    found = agreement(scores, (0, 10))
    isla, tom = found.assessors
    assert isla.repeatability == pytest.approx(math.sqrt(2.5 / 2))
    assert (isla.repeats, tom.repeats, tom.repeatability) == (2, 0, None)
    assert found.repeatability == isla.repeatability
    assert found.repeatability_limit == pytest.approx(2.8 * math.sqrt(1.25))
    assert (isla.lowest, isla.highest, isla.range_used) == (3, 7, 0.4)
    assert (isla.mean, isla.deviation) == (5.25, pytest.approx(statistics.stdev([6, 7, 3, 5])))


# -- second implementations ------------------------------------------------------------------------


@given(panels())
def test_w_is_friedmans_chi_squared_as_a_share(rows):
    """Of its most, n (k - 1); p-values agree."""
    found = agreement(scored(rows))
    ranks = [mean_ranks(column) for column in zip(*rows, strict=True)]
    if any(len(set(row)) > 1 for row in ranks):
        friedman = ranking(found.products, ranks).friedman
        assert found.w == pytest.approx(friedman.statistic / (len(ranks) * (len(rows) - 1)))
        assert found.w_p_value == pytest.approx(friedman.p_value)


@given(panels())
def test_correlations_by_another_way(rows):
    """ICC(C,1) and ICC(A,1) from variances and covariances of assessors (McGraw and Wong, remembered)."""
    found = agreement(scored(rows))
    columns, k = list(zip(*rows, strict=True)), len(rows[0])
    within = sum(map(statistics.variance, columns)) / k
    between = sum(
        statistics.covariance(one, other) for at, one in enumerate(columns) for other in columns[at + 1 :]
    ) / (k * (k - 1) / 2)
    levels = statistics.variance(map(statistics.mean, columns)) - (within - between) / len(rows)
    if within > 1e-9:
        assert found.one_order.value == pytest.approx(max(0.0, between / within), abs=1e-6)
        assert found.one.value == pytest.approx(max(0.0, between / (within + levels)), abs=1e-6)


@pytest.mark.parametrize(("which", "share"), [("one", 4 / (4 + 1 + 2)), ("one_order", 4 / (4 + 2))])
def test_limits_hold_the_true_correlation(which, share):
    """400 simulated panels of 8 assessors and 10 products: 95 % less four standard errors hold it."""
    chance = random.Random(23)
    held = 0
    for _ in range(400):
        levels = [chance.gauss(0, 1) for _ in range(8)]
        rows = []
        for _ in range(10):
            product = chance.gauss(0, 2)
            rows.append([product + level + chance.gauss(0, math.sqrt(2)) for level in levels])
        found = getattr(agreement(scored(rows)), which)
        held += found.lower <= share <= found.upper
    assert held / 400 > 0.95 - 4 * math.sqrt(0.95 * 0.05 / 400)


# -- properties ------------------------------------------------------------------------------------


@given(panels(), some.integers(-20, 20), some.integers(1, 9))
def test_what_a_change_of_scale_leaves(rows, shift, stretch):
    """Agreement is the same on a longer scale; one assessor's higher level leaves the order alone."""
    one = agreement(scored(rows))
    other = agreement(scored([[shift + stretch * score for score in row] for row in rows]))
    for which in ("one", "one_order", "panel", "panel_order"):
        assert tuple(getattr(other, which)) == pytest.approx(tuple(getattr(one, which)), abs=1e-6)
    assert other.w == pytest.approx(one.w)
    lifted = agreement(scored([[row[0] + 7, *row[1:]] for row in rows]))
    assert lifted.w == pytest.approx(one.w)
    assert lifted.one_order.value == pytest.approx(one.one_order.value, abs=1e-6)


@given(panels())
def test_figures_lie_where_they_can(rows):
    """W and correlations from 0 to 1, limits around them, shares of a scale too."""
    found = agreement(scored(rows))
    assert -1e-9 <= found.w <= 1 + 1e-9
    for which in (found.one, found.one_order, found.panel, found.panel_order):
        assert 0 <= which.lower <= which.value + 1e-9
        assert which.value <= which.upper + 1e-9
        assert which.upper <= 1 + 1e-9
    assert all(0 <= one.range_used <= 1 for one in found.assessors)


def test_whole_agreement_and_none():
    """All alike; scores that are all the same say nothing."""
    found = agreement(scored([[1, 1, 1], [2, 2, 2], [3, 3, 3]]))
    assert found.w == 1
    assert found.one.value == pytest.approx(1)
    same = agreement(scored([[4, 4], [4, 4]]))
    assert (same.w, same.w_p_value, same.one, same.panel_order) == (0, 1, None, None)


@pytest.mark.parametrize(
    ("scores", "scale"),
    [
        ({("Isla", "ash"): (1,), ("Isla", "oak"): (2,)}, None),
        ({("Isla", "ash"): (1,), ("Tom", "ash"): (2,)}, None),
        ({("Isla", "ash"): (1,), ("Isla", "oak"): (2,), ("Tom", "ash"): (2,)}, None),
        (scored(JUDGES), (0, 9)),
        (scored(JUDGES), (9, 0)),
    ],
)
def test_what_cannot_be_compared_is_refused(scores, scale):
    """One assessor, one product, a score that is lacking or off the scale, a scale upside down."""
    with pytest.raises(OutOfRange) as refusal:
        agreement(scores, scale)
    assert refusal.value.remedy


# -- the command -----------------------------------------------------------------------------------

SCORES = """assessor,product,score
Isla Farrow,ash,60
Isla Farrow,ash,64
Isla Farrow,chestnut,40
M. Aldane,ash,80
M. Aldane,chestnut,70
Tomas Reeve,ash,71
Tomas Reeve,chestnut,50
"""


def test_each_assessor_has_a_line(tmp_path):
    """Mean, spread, lowest, highest, the part of the scale, and what was said again."""
    (tmp_path / "scores.csv").write_text(SCORES, "utf-8")
    ran = here("panel", "agreement", tmp_path / "scores.csv", "--scale", "0..100").done()
    assert "Isla Farrow   54.7     12.9     40.0      64.0       24 %  ± 2.83 of 1" in ran.out
    assert "the same glass again    ± 2.83 of 1; two scores are within 7.9 in 19 of 20" in ran.out
    found = here("panel", "agreement", tmp_path / "scores.csv", "--json").done().json
    assert found["scale"] == [40, 80]
    assert found["kendall_w"] == 1
    assert found["icc_one"]["lower"] <= found["icc_one"]["value"] <= found["icc_one"]["upper"]
    assert [one["repeats"] for one in found["assessors"]] == [1, 0, 0]


@pytest.mark.parametrize(
    ("more", "scale", "refusal"),
    [
        ("", "0..75", "a score of 80 lies off the scale of 0 to 75"),
        ("", "0-100", "'0-100' is no scale"),
        ("Kay,ash,50\n", "0..100", "scores.csv, row 9, assessor: 'Kay' has no row for 'chestnut'"),
        ("Kay,ash,good\n", "0..100", "scores.csv, row 9, score: 'good' does not begin with a number"),
    ],
)
def test_faulty_scores_are_refused(tmp_path, more, scale, refusal):
    """Off the scale, no scale, lacking, no number; with a remedy."""
    (tmp_path / "scores.csv").write_text(SCORES + more, "utf-8")
    ran = here("panel", "agreement", tmp_path / "scores.csv", "--scale", scale)
    assert ran.status == 1
    assert refusal in ran.err
    assert "do: " in ran.err


def test_assessors_who_cancel_each_other_say_nothing_of_products():
    """Half of them the other way round: means are equal, so no correlation is told; nor is that an error."""
    found = agreement({("Ana", "ash"): [80], ("Ana", "oak"): [60], ("Ben", "ash"): [60], ("Ben", "oak"): [80]})
    assert (found.one, found.panel_order, found.w) == (None, None, 0.0)


def test_scores_without_any_error_have_no_limits(tmp_path):
    """Two assessors of two products who give the same scores do not prove a correlation of one."""
    (tmp_path / "scores.csv").write_text("assessor,product,score\nI,ash,5\nI,oak,7\nT,ash,5\nT,oak,7\n", "utf-8")
    ran = here("panel", "agreement", tmp_path / "scores.csv").done()
    assert "1.00: whole agreement, so no limits can be told" in ran.out
    assert "95 %" not in ran.out
