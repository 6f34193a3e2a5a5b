"""Designs: published ones, every other choice where all can be tried, and what holds of any design."""

from fractions import Fraction
from itertools import combinations_with_replacement

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from mixture_regions import FOUR, WHOLE, WITH_LIMITS, blend, limited_regions, region, regions

from pourbook.errors import OutOfRange
from pourbook.mixtures.designs import Request, candidates, design, laid_out
from pourbook.mixtures.exchange import exchanged
from pourbook.mixtures.lattices import lattice, simplex_centroids
from pourbook.mixtures.regions import Region, is_within, reached, simplices, vertices
from pourbook.mixtures.terms import model_matrix, terms

CUBIC_LATTICE = model_matrix(np.array(lattice(WHOLE, 3), dtype=float), "quadratic")


def information(rows):
    """Of some rows, per glass."""
    return rows.T @ rows / len(rows)


# -- published ---------------------------------------------------------------------------


def test_the_design_of_the_vignette():
    """D and A of eight from the {3,3} lattice, quadratic: R package AlgDesign, its vignette (read)."""
    chosen = information(CUBIC_LATTICE[[place for place, _ in exchanged(CUBIC_LATTICE, 8)]])
    assert np.linalg.det(chosen) ** (1 / 6) == pytest.approx(0.03623366, abs=5e-9)
    assert np.trace(np.linalg.inv(chosen)) / 6 == pytest.approx(98.34085, abs=5e-6)


def test_its_efficiency_in_the_worst_place():
    """G efficiency over the candidates, 0.62 there (read)."""
    chosen = information(CUBIC_LATTICE[[place for place, _ in exchanged(CUBIC_LATTICE, 8)]])
    variances = np.einsum("ij,jk,ik->i", CUBIC_LATTICE, np.linalg.inv(chosen), CUBIC_LATTICE)
    assert 6 / variances.max() == pytest.approx(0.62, abs=0.005)


@pytest.mark.parametrize(("model", "count"), [("linear", 3), ("quadratic", 6), ("special-cubic", 7)])
def test_as_many_glasses_as_terms_on_the_whole_simplex(model, count):
    """Best are the corners, the halves, and the centre (Kiefer 1961, Uranisi 1964; remembered)."""
    found = design(WHOLE, Request(count, model))
    expected = {"linear": lattice(WHOLE, 1), "quadratic": lattice(WHOLE, 2), "special-cubic": simplex_centroids(WHOLE)}
    assert set(found.glasses) == set(expected[model])
    assert found.merit.d_efficiency == pytest.approx(1.0)
    assert found.merit.g_efficiency == pytest.approx(1.0)


def test_its_determinant_by_hand():
    """Of the {3,2} lattice: the matrix is triangular with a diagonal of 1, 1, 1, 1/4, 1/4, 1/4; so D is 1/4 of 1/6."""
    assert design(WHOLE, Request(6)).merit.d == pytest.approx(1 / 24)


def test_points_of_lattices_counted():
    """As many as Scheffé (1958, 1963) counts: q + m - 1 over m, and 2^q - 1."""
    four = Region(tuple("abcd"), ((Fraction(0), Fraction(1)),) * 4)
    assert [len(lattice(four, steps)) for steps in (1, 2, 3)] == [4, 10, 20]
    assert len(simplex_centroids(four)) == 15


def test_a_lattice_above_lower_bounds():
    """What is free above them is shared out."""
    found = lattice(region(ash="0.5..1", chestnut="0.1..1", heather="0..1"), 2)
    assert blend("0.7", "0.3", "0") in found
    assert all(is_within(region(ash="0.5..1", chestnut="0.1..1", heather="0..1"), one) for one in found)


def test_a_lattice_that_nobody_pours_is_refused():
    """Before its points are laid out: 500 steps of four components are 21 million."""
    with pytest.raises(OutOfRange, match="has 21084251 glasses"):
        lattice(region(a="0..1", b="0..1", c="0..1", d="0..1"), 500)


def test_a_lattice_that_upper_bounds_cut_is_refused():
    """And how many of its points they cut off is said."""
    with pytest.raises(OutOfRange, match="cut off 1 of 6 points"):
        lattice(region(ash="0..1", chestnut="0..1", heather="0..0.5"), 2)


# -- every other choice ---------------------------------------------------------------------


@pytest.mark.parametrize("count", [6, 7, 8])
def test_no_other_choice_is_better(count):
    """Of all choices from the {3,3} lattice, repeats and all: none has a greater determinant or surer predictions."""
    moments = CUBIC_LATTICE.T @ CUBIC_LATTICE / len(CUBIC_LATTICE)
    best_d, best_i = 0.0, np.inf
    for places in combinations_with_replacement(range(len(CUBIC_LATTICE)), count):
        found = information(CUBIC_LATTICE[list(places)])
        determinant = np.linalg.det(found)
        best_d = max(best_d, determinant)
        if determinant > 1e-14:
            best_i = min(best_i, np.trace(np.linalg.inv(found) @ moments))
    by_d = information(CUBIC_LATTICE[[place for place, _ in exchanged(CUBIC_LATTICE, count)]])
    by_i = information(CUBIC_LATTICE[[place for place, _ in exchanged(CUBIC_LATTICE, count, moments=moments)]])
    assert np.linalg.det(by_d) == pytest.approx(best_d)
    assert np.trace(np.linalg.inv(by_i) @ moments) == pytest.approx(best_i)


def test_surer_predictions_cost_coefficients():
    """Each criterion is best at its own."""
    by_d, by_i = (design(FOUR, Request(15, "quadratic", criterion)).merit for criterion in ("D", "I"))
    assert by_i.mean_variance < 0.8 * by_d.mean_variance
    assert by_i.d_efficiency < 0.9 * by_d.d_efficiency


def test_a_mean_variance_by_lot():
    """That of a linear model over the whole simplex, against the mean of 100,000 blends drawn evenly."""
    found = design(WHOLE, Request(4, "linear"))
    rows = model_matrix(np.array(found.glasses, dtype=float), "linear")
    lots = np.random.default_rng(3).dirichlet(np.ones(3), 100_000)
    variances = np.einsum("ij,jk,ik->i", lots, np.linalg.inv(rows.T @ rows), lots)
    assert found.merit.mean_variance == pytest.approx(variances.mean(), rel=0.01)


# -- repeats, days, what was tried -------------------------------------------------------------


def test_repeats_are_second_glasses():
    """Three of twelve stand twice, whatever else the choice would be."""
    found = design(FOUR, Request(13, repeats=3))
    assert len(found.glasses) == 13
    assert len(set(found.glasses)) <= 10


def test_days_are_even_and_each_is_told_from_the_others():
    """Thirteen glasses on two days: seven and six; the model and the difference of the days can be fitted."""
    found = design(FOUR, Request(13, blocks=2))
    assert sorted(map(found.blocks.count, (1, 2))) == [6, 7]
    rows = model_matrix(np.array(found.glasses, dtype=float), "quadratic")
    assert np.linalg.matrix_rank(np.column_stack([rows, np.array(found.blocks) == 1])) == 11


def test_days_cost_little():
    """Chosen together with the glasses: at least nine tenths of the information without days."""
    assert design(WHOLE, Request(12, blocks=2)).merit.d_efficiency == pytest.approx(1.0)
    assert design(FOUR, Request(14, blocks=2)).merit.d > 0.9 * design(FOUR, Request(14)).merit.d


def test_what_was_tried_need_not_be_poured_again():
    """With the corners tasted, three more glasses are the halves."""
    found = design(WHOLE, Request(3, tried=lattice(WHOLE, 1)))
    assert set(found.glasses) == set(lattice(WHOLE, 2)) - set(lattice(WHOLE, 1))
    assert found.merit.d_efficiency == pytest.approx(1.0)


def test_glasses_chosen_otherwise_are_judged_alike():
    """The {3,2} lattice; and corners alone, which tell no quadratic model."""
    assert laid_out(WHOLE, lattice(WHOLE, 2), Request(0)).merit == pytest.approx(design(WHOLE, Request(6)).merit)
    assert laid_out(WHOLE, lattice(WHOLE, 1), Request(0)).merit is None


# -- refusals ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("area", "asked", "said"),
    [
        (FOUR, Request(9), "9 different glasses cannot tell the 10 terms of a quadratic model of 4 components"),
        (FOUR, Request(12, repeats=3), "9 different glasses cannot tell the 10 terms"),
        (FOUR, Request(10, blocks=2), "10 terms of a quadratic model of 4 components and 1 difference between days"),
        (FOUR, Request(20, repeats=11), "11 of 20 glasses cannot be repeats"),
        (FOUR, Request(9, repeats=20), "20 of 9 glasses cannot be repeats"),
        (FOUR, Request(100_000), "100000 glasses in one design"),
        (region(ash="0.2..0.2", chestnut="0..1", heather="0..1"), Request(6), "ash cannot vary within the bounds"),
        (region(ash="0..1", chestnut="0..1"), Request(3, blocks=4), "3 terms"),
    ],
)
def test_what_cannot_be_told_is_said_before(area, asked, said):
    """And not after the glasses were poured."""
    with pytest.raises(OutOfRange, match=said):
        design(area, asked)


def test_the_remedy_is_enough():
    """As many glasses as the refusal asks for do tell the model."""
    with pytest.raises(OutOfRange) as refused:
        design(FOUR, Request(11, repeats=2, blocks=2))
    assert "give at least 13 glasses" in refused.value.remedy
    assert design(FOUR, Request(13, repeats=2, blocks=2)).merit.d_efficiency > 0.8


# -- what holds of any design ------------------------------------------------------------------


def _can_vary(area):
    return all(low < high for low, high in reached(area))


@settings(max_examples=40, deadline=None)
@given(
    regions(4) | limited_regions(),
    st.sampled_from(["linear", "quadratic", "special-cubic"]),
    st.integers(0, 4),
    st.sampled_from("DI"),
)
def test_no_glass_leaves_the_bounds(found, model, more, criterion):
    """Exactly, whatever the bounds; nor is any design better than the best of any size."""
    area, _ = found
    assume(_can_vary(area) and len(simplices(area)[0]) == len(area.components))
    count = len(terms(len(area.components), model)) + more
    chosen = design(area, Request(count, model, criterion))
    assert len(chosen.glasses) == count
    assert all(is_within(area, glass) and sum(glass) == 1 for glass in chosen.glasses)
    assert 0 < chosen.merit.d_efficiency <= 1 + 1e-9
    assert 0 < chosen.merit.g_efficiency <= 1 + 1e-9


@settings(max_examples=40, deadline=None)
@given(regions(4), st.randoms(use_true_random=False), st.integers(1, 2), st.sampled_from("DI"))
def test_the_order_of_components_changes_nothing(found, random, days, criterion):
    """The same glasses, but for components whose bounds are the same, which may stand for each other."""
    area, _ = found
    assume(_can_vary(area))
    order = list(range(len(area.components)))
    random.shuffle(order)
    other = Region(tuple(area.components[at] for at in order), tuple(area.bounds[at] for at in order))
    asked = Request(len(terms(len(order), "quadratic")) + 2, "quadratic", criterion, blocks=days)
    one, two = design(area, asked), design(other, asked)
    assert one.merit == two.merit
    if len(set(area.bounds)) == len(area.bounds):
        glasses = sorted(zip(one.blocks, one.glasses, strict=True))
        assert sorted((day, tuple(glass[at] for at in order)) for day, glass in glasses) == sorted(
            zip(two.blocks, two.glasses, strict=True)
        )


def test_limits_are_kept_too():
    """Candidates and design of the region with further limits."""
    assert set(vertices(WITH_LIMITS)) < set(candidates(WITH_LIMITS, "linear"))
    assert all(is_within(WITH_LIMITS, one) for one in design(WITH_LIMITS, Request(8)).glasses)
