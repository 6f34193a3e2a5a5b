"""Ranks compared: published examples and tables, scipy and brute force as second implementations, and the command.

page_critical.csv: critical values of L, R package crank, read. rank_sum_differences.csv: Newell and MacFarlane (1987),
differences of rank sums at 5 %, all pairs, read in a copy of their table.
"""

import csv
import math
from functools import cache
from itertools import permutations, product
from operator import mul
from pathlib import Path

import pytest
from command import here
from hypothesis import given
from hypothesis import strategies as some
from scipy import stats

from pourbook.errors import OutOfRange
from pourbook.panels.ranking import mean_ranks, page, ranking, ranks_as_typed

HERE = Path(__file__).parent

ROUNDING = (
    (5.40, 5.50, 5.55), (5.85, 5.70, 5.75), (5.20, 5.60, 5.50), (5.55, 5.50, 5.40), (5.90, 5.85, 5.70),
    (5.45, 5.55, 5.60), (5.40, 5.40, 5.35), (5.45, 5.50, 5.35), (5.25, 5.15, 5.00), (5.85, 5.80, 5.70),
    (5.25, 5.20, 5.10), (5.65, 5.55, 5.45), (5.60, 5.35, 5.45), (5.05, 5.00, 4.95), (5.50, 5.50, 5.40),
    (5.45, 5.55, 5.50), (5.55, 5.55, 5.35), (5.45, 5.50, 5.55), (5.50, 5.45, 5.25), (5.65, 5.60, 5.40),
    (5.70, 5.65, 5.55), (6.30, 6.30, 6.25),
)  # fmt: skip
"""Data and statistics remembered: R documentation of friedman.test (Hollander and Wolfe, 1973)."""

GRASS = (
    (4, 3, 2, 1), (4, 2, 3, 1), (3, 1.5, 1.5, 4), (3, 1, 2, 4), (4, 2, 1, 3), (2, 2, 2, 4), (1, 3, 2, 4),
    (2, 4, 1, 3), (3.5, 1, 2, 3.5), (4, 1, 3, 2), (4, 2, 3, 1), (3.5, 1, 2, 3.5),
)  # fmt: skip
"""Data read (R packages st4gi and agricolae), statistics remembered: Conover (1999), ranking of grasses."""

COLOUR = ((1, 2, 3, 4, 5, 6),) * 4 + ((1, 2, 3, 4, 6, 5),) + ((1, 2, 3, 4, 5, 6),) * 2
"""Ranks and statistic read: a student's laboratory report, colour of six powders."""

ORDERED = (
    (1.5, 3, 1.5), (1.5, 1.5, 3), (1.5, 1.5, 3), (1, 3, 2), (1.5, 3, 1.5), (1, 2, 3), (1, 2, 3), (1, 2.5, 2.5),
    (1, 2, 3), (1, 2, 3),
)  # fmt: skip
"""Data and p-values read: scipy 1.17, example of page_trend_test."""


def named(count):
    """Names for products."""
    return tuple("abcdefghijklmnop"[:count])


def ranked(rows):
    """Rows of figures compared by their ranks."""
    return ranking(named(len(rows[0])), [mean_ranks(row) for row in rows])


def rows_of(name):
    """A published table beside this module."""
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@some.composite
def panels(draw, most_products=5, most_assessors=6):
    """Ranks of a small panel, with ties, of whom somebody tells something apart."""
    count = draw(some.integers(2, most_products))
    row = some.lists(some.integers(1, 4), min_size=count, max_size=count)
    rows = draw(some.lists(row, min_size=2, max_size=most_assessors))
    return [tuple(range(count)), *map(tuple, rows)]


# -- published -------------------------------------------------------------------------------------


def test_friedman_of_rounding_times():
    """Remembered: chi-squared 11.1429 of 2 df, p = 0.003805."""
    found = ranked(ROUNDING).friedman
    assert found.statistic == pytest.approx(11.1429, abs=5e-5)
    assert (found.df, found.p_value) == (2, pytest.approx(0.003805, abs=5e-7))


def test_friedman_and_least_difference_of_grasses():
    """Remembered: T1 8.097345, T2 3.192198, least significant difference 11.48168."""
    found = ranked(GRASS)
    assert found.rank_sums == (38, 23.5, 24.5, 34)
    assert found.friedman.statistic == pytest.approx(8.097345, abs=5e-7)
    assert found.friedman.f == pytest.approx(3.192198, abs=5e-7)
    assert found.friedman.f_df == (3, 33)
    assert found.lsd == pytest.approx(11.48168, abs=5e-6)
    # computed, no figure was published
    assert found.friedman.p_value == pytest.approx(0.0440421378)
    assert found.friedman.f_p_value == pytest.approx(0.0362154746)


def test_friedman_of_colours():
    """Read: rank sums 7 to 41, chi-squared 34.51."""
    found = ranked(COLOUR)
    assert found.rank_sums == (7, 14, 21, 28, 36, 41)
    assert found.friedman.statistic == pytest.approx(34.51, abs=5e-3)
    assert found.friedman.p_value == pytest.approx(1.88419065e-06)  # computed


def test_page_of_an_ordered_example():
    """Read: L 133.5, exact p 0.0018191 (as if nothing tied, L rounded down), by the normal distribution 0.0012693."""
    found = page(named(3), [*map(mean_ranks, ORDERED)], named(3))
    assert found.statistic == 133.5
    assert found.p_value == pytest.approx(0.0018191161948127822)
    assert found.normal_p_value == pytest.approx(0.0012693433690751756)
    assert found.p_value_with_ties < found.p_value


OTHERWISE = {
    ("6", "8", "0.001"), ("7", "8", "0.001"), ("7", "10", "0.05"), ("7", "10", "0.001"), ("8", "2", "0.01"),
    ("8", "3", "0.01"), ("8", "10", "0.05"), ("8", "10", "0.01"), ("8", "10", "0.001"), ("8", "11", "0.05"),
    ("8", "12", "0.05"), ("8", "12", "0.001"),
}  # fmt: skip
"""Where the published value is one off, or two, from the exact distribution."""


@pytest.mark.parametrize("row", rows_of("page_critical.csv"), ids=lambda row: f"{row['products']} {row['assessors']}")
def test_published_critical_values_of_page(row):
    """210 of 222: the smallest L that is rarer than alpha."""
    products, assessors = int(row["products"]), int(row["assessors"])
    for alpha in ("0.05", "0.01", "0.001"):
        if (row["products"], row["assessors"], alpha) in OTHERWISE:
            continue
        if row[alpha] == "none":
            assert page_p(products, assessors, assessors * sum(one * one for one in range(products + 1))) > float(alpha)
        else:
            assert page_p(products, assessors, int(row[alpha])) <= float(alpha)
            assert page_p(products, assessors, int(row[alpha]) - 1) > float(alpha)


@cache
def orders_by_loss(products):
    """For each loss against the L of the expected order, an order of one assessor that has it."""
    expected = range(1, products + 1)
    best = sum(one * one for one in expected)
    return {best - sum(map(mul, expected, order)): order for order in permutations(expected)}


def page_p(products, assessors, statistic):
    """The p-value of an L, from ranks that give it."""
    orders = orders_by_loss(products)
    left = assessors * sum(one * one for one in range(products + 1)) - statistic
    rows = []
    for after in range(assessors - 1, -1, -1):  # whoever comes after can lose the rest
        loss = next(loss for loss in sorted(orders, reverse=True) if loss <= left and (after or loss == left))
        if after == 1:
            loss = next(loss for loss in orders if left - loss in orders)
        rows.append(orders[loss])
        left -= loss
    found = page(named(products), rows, named(products))
    assert found.statistic == statistic
    return found.p_value


def test_published_differences_of_rank_sums():
    """Newell and MacFarlane simulated: 183 of 184 within 1 of ours rounded up; 3 assessors of 11 products within 2."""
    of_two = {count: ranking(named(count), [range(1, count + 1)] * 2).hsd for count in range(3, 13)}
    apart = [
        math.ceil(of_two[int(count)] * math.sqrt(int(row["assessors"]) / 2)) - int(published)
        for row in rows_of("rank_sum_differences.csv")
        for count, published in row.items()
        if published and count != "assessors"
    ]
    assert len(apart) == 184
    assert sum(abs(one) <= 1 for one in apart) == 183
    assert max(map(abs, apart)) == 2


# -- second implementations -------------------------------------------------------------------------


@given(panels())
def test_friedman_by_scipy(rows):
    """Chi-squared with ties; scipy takes three products and more."""
    if len(rows[0]) >= 3:
        expected = stats.friedmanchisquare(*zip(*rows, strict=True))
        found = ranked(rows).friedman
        assert found.statistic == pytest.approx(expected.statistic, abs=1e-9)
        assert found.p_value == pytest.approx(expected.pvalue, abs=1e-9)


@given(panels(4, 2))
def test_exact_friedman_by_going_through_all_orders(rows):
    """Every assessor gives own ranks to products in every order."""
    ranks = [mean_ranks(row) for row in rows]

    def spread(orders):
        return sum(sum(column) ** 2 for column in zip(*orders, strict=True))

    found = spread(ranks)
    every = [spread(orders) >= found - 1e-9 for orders in product(*map(permutations, ranks))]
    assert ranked(rows).friedman.exact_p_value == pytest.approx(sum(every) / len(every))


@given(panels(4, 2))
def test_exact_page_by_going_through_all_orders(rows):
    """With ties as they are."""
    ranks, names = [mean_ranks(row) for row in rows], named(len(rows[0]))
    found = page(names, ranks, names)

    def statistic(orders):
        return sum(place * rank for order in orders for place, rank in enumerate(order, 1))

    every = [statistic(orders) >= found.statistic - 1e-9 for orders in product(*map(permutations, ranks))]
    assert found.best_p == pytest.approx(sum(every) / len(every))


def test_page_by_scipy():
    """Without ties, exact and by the normal distribution."""
    rows = [(1, 2, 4, 3), (2, 1, 3, 4), (1, 3, 2, 4), (4, 1, 2, 3), (1, 2, 3, 4)]
    found = page(named(4), rows, named(4))
    assert found.p_value == pytest.approx(stats.page_trend_test(rows, ranked=True, method="exact").pvalue)
    assert found.normal_p_value == pytest.approx(stats.page_trend_test(rows, ranked=True, method="asymptotic").pvalue)
    assert found.p_value_with_ties is None


@pytest.mark.parametrize(("products", "assessors"), [(3, 6000), (11, 3)])
def test_large_panels_go_by_the_normal_distribution(products, assessors):
    """And say so."""
    found = page(named(products), [range(1, products + 1)] * assessors, named(products))
    assert not found.is_exact
    assert (found.p_value, found.p_value_with_ties) == (found.normal_p_value, None)


@pytest.mark.parametrize("products", [2, 3, 7, 12])
def test_all_pairs_by_the_studentized_range(products):
    """scipy's distribution with very many degrees of freedom."""
    found = ranking(named(products), [range(1, products + 1)] * 9)
    error = math.sqrt(9 * products * (products + 1) / 12)
    assert found.hsd / error == pytest.approx(stats.studentized_range.ppf(0.95, products, 1e6), rel=1e-4)
    pair = found.pairs[0]
    assert pair.p_value == pytest.approx(stats.studentized_range.sf(9 / error, products, 1e6), rel=1e-3)


# -- properties -------------------------------------------------------------------------------------


@given(panels(), some.randoms(use_true_random=False))
def test_names_and_the_order_of_rows_change_nothing(rows, chance):
    """Products served under other names, assessors listed in another order: the same figures."""
    order = list(range(len(rows[0])))
    chance.shuffle(order)
    others = [tuple(row[at] for at in order) for row in rows]
    chance.shuffle(others)
    one, other = ranked(rows), ranked(others)
    assert other.friedman.statistic == pytest.approx(one.friedman.statistic)
    assert other.friedman.exact_p_value == pytest.approx(one.friedman.exact_p_value)
    assert sorted(other.rank_sums) == sorted(one.rank_sums)
    assert (other.lsd, other.hsd) == pytest.approx((one.lsd, one.hsd))


@given(panels())
def test_an_expected_order_and_its_reverse(rows):
    """What speaks for one speaks against the other; probabilities are such."""
    ranks, names = [mean_ranks(row) for row in rows], named(len(rows[0]))
    one, other = page(names, ranks, names), page(names, ranks, names[::-1])
    count, k = len(rows), len(names)
    assert one.statistic + other.statistic == pytest.approx(count * k * (k + 1) ** 2 / 2)
    assert 0 < one.p_value <= 1
    assert one.best_p + other.best_p >= 1 - 1e-9


@given(panels())
def test_pairs_are_judged_by_the_difference_that_all_share(rows):
    """A pair is apart where its rank sums are further apart than the honest difference, and nowhere else."""
    found = ranked(rows)
    for pair in found.pairs:
        if abs(abs(pair.difference) - found.hsd) > 1e-6:
            assert (pair.p_value <= found.alpha) == (abs(pair.difference) > found.hsd)


def test_ties_may_be_written_in_three_ways():
    """As means, as one place shared, and as one place with no gap after it; a slip is none of them."""
    for typed in ((1, 2.5, 2.5, 4), (1, 2, 2, 4), (1, 2, 2, 3)):
        assert ranks_as_typed(typed) == (1, 2.5, 2.5, 4)
    for typed in ((1, 2, 4, 4), (0, 1, 2, 3), (1, 2, 3, 5), (1.5, 2, 3, 4)):
        assert ranks_as_typed(typed) is None


@pytest.mark.parametrize(
    "asked",
    [
        lambda: ranking(named(3), [(1, 2, 3)]),
        lambda: ranking(named(1), [(1,), (1,)]),
        lambda: ranking(named(2), [(1.5, 1.5), (1.5, 1.5)]),
        lambda: ranking(named(2), [(1, 2), (1, 2)], alpha=0.7),
        lambda: page(named(2), [(1, 2), (1, 2)], ("a", "a")),
        lambda: page(named(2), [(1, 2), (1, 2)], ("a", "b", "c")),
    ],
)
def test_what_cannot_be_compared_is_refused(asked):
    """One assessor, one product, nobody who tells anything apart, a risk that is none, a wrong order."""
    with pytest.raises(OutOfRange) as refusal:
        asked()
    assert refusal.value.remedy


# -- the command ------------------------------------------------------------------------------------


def table(path, rows, heading="rank"):
    """A table of a panel, a row for each glass."""
    lines = [f"assessor,product,{heading}", *(",".join(map(str, row)) for row in rows)]
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


def test_scripts_get_what_they_rely_on(tmp_path):
    """The contract: Friedman's and Page's statistics with p-values; the grasses, assessor by assessor."""
    rows = [(f"assessor {at}", f"t{place}", rank) for at, row in enumerate(GRASS) for place, rank in enumerate(row, 1)]
    found = here("panel", "rank", table(tmp_path / "grass.csv", rows), "--json").done().json
    assert found["friedman"]["statistic"] == pytest.approx(8.097345, abs=5e-7)
    assert found["friedman"]["p_value"] == pytest.approx(0.0440421378)
    assert found["page"]["expected"] == ["t1", "t2", "t3", "t4"]
    assert found["page"]["statistic"] == 294.5
    assert 0 < found["page"]["p_value"] < 1
    assert [one["product"] for one in found["products"]] == ["t2", "t3", "t4", "t1"]
    assert found["verdict"] == "different"


def test_words_say_which_differ_and_which_order_they_follow(tmp_path):
    """Six powders that everybody ranks alike: all but neighbours are apart, and the order is the expected one."""
    rows = [(at, "abcdef"[place], rank) for at, row in enumerate(COLOUR) for place, rank in enumerate(row)]
    path = table(tmp_path / "colour.csv", rows)
    ran = here("panel", "rank", path).done()
    assert "they differ (Friedman's chi-squared 34.51, 5 df, p below 0.001" in ran.out
    assert "  a and f (p below 0.001)" in ran.out
    assert "a and b" not in ran.out
    assert "they follow the expected order a, b, c, d, e, f" in ran.out
    assert "counts if it was expected before" in ran.err
    turned = here("panel", "rank", path, "--expected", "f, e, d, c, b, a").done()
    assert "not shown to follow the expected order f, e" in turned.out
    assert "expected before" not in turned.err


def test_what_was_not_shown_is_not_denied(tmp_path):
    """Three assessors who disagree: nothing is shown, no pairs are named, and likeness is not claimed."""
    rows = [
        (at, "abc"[place], rank)
        for at, row in enumerate([(1, 2, 3), (3, 1, 2), (2, 3, 1)])
        for place, rank in enumerate(row)
    ]
    ran = here("panel", "rank", table(tmp_path / "none.csv", rows)).done()
    assert "not found different is not found alike" in ran.out
    assert " and b" not in ran.out


def test_faults_are_told_row_by_row(tmp_path):
    """File, row, column, value and remedy of each: twice, no number, blank, lacking, beyond, and no ranking."""
    rows = [
        ("Isla", "ash", 1), ("Isla", "oak", 2), ("Isla", "oak", 2),
        ("Tom", "ash", "first"), ("Tom", "oak", 2),
        ("Kay", "ash", ""), ("Kay", "oak", 1),
        ("Mara", "ash", 1),
        ("Joan", "ash", 3), ("Joan", "oak", 1),
        ("Ines", "ash", 1), ("Ines", "oak", 1.2),
        ("", "ash", 1),
    ]  # fmt: skip
    ran = here("panel", "rank", table(tmp_path / "ranks.csv", rows))
    assert ran.status == 1
    assert ran.err.splitlines()[0] == "refused: 7 faults found in the ranks of 'ranks.csv': nothing was computed"
    for told in (
        "ranks.csv, row 4, product: 'oak' is ranked twice by 'Isla'; keep one of the rows",
        "ranks.csv, row 5, rank: 'first' does not begin with a number",
        "ranks.csv, row 7, rank: is blank; fill in 'rank'",
        "ranks.csv, row 9, assessor: 'Mara' has no row for 'oak'; add it, or leave this assessor out",
        "ranks.csv, row 10, rank: '3' is no rank of 2 products; write 1 to 2",
        "ranks.csv, row 12, assessor: 'Ines' has the ranks 1, 1.2, which are no ranking",
        "ranks.csv, row 14, assessor: is blank",
    ):
        assert told in ran.err


@pytest.mark.parametrize(
    ("text", "refusal"),
    [
        ("assessor,product\nIsla,ash\n", "has no column 'rank'"),
        ("", "is empty"),
        ("assessor,product,rank\n", "no rows"),
        ("assessor,product,rank\nIsla,ash,1\nIsla,oak,2\n", "1 assessor and 2 products"),
        ("assessor,product,rank\nIsla,ash,1\nTom,ash,1\n", "2 assessors and 1 product"),
    ],
)
def test_tables_that_say_nothing_are_refused(tmp_path, text, refusal):
    """No rank, no rows, one assessor, one product; with a remedy."""
    (tmp_path / "ranks.csv").write_text(text, "utf-8")
    ran = here("panel", "rank", tmp_path / "ranks.csv")
    assert ran.status == 1
    assert refusal in ran.err
    assert "do: " in ran.err


def test_columns_besides_are_passed_over(tmp_path):
    """A ballot may hold a code and a remark, in semicolons, with headings in any case."""
    text = "Assessor;Code;Product;Rank;Remark\nIsla;417;ash;1;clean\nIsla;582;oak;2;\nTom;417;ash;1;\nTom;582;oak;2;\n"
    (tmp_path / "ranks.csv").write_text(text, "utf-8")
    assert here("panel", "rank", tmp_path / "ranks.csv", "--json").done().json["assessors"] == 2
