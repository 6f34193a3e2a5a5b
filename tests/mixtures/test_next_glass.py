"""Learned surfaces and the proposal of the next glass."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from pourbook.errors import Malformed
from pourbook.mixtures import next_glass
from pourbook.mixtures import surface as surfaces
from pourbook.mixtures.next_glass import expected, propose
from pourbook.mixtures.surface import Notes, surface
from pourbook.mixtures.wishes import Wish, met_by

SCALE = (1.0, 9.0)
SCALES = {"liking": SCALE, "smoke": (0.0, 5.0), "cost": (10.0, 50.0)}


def blends_of(rng, count, components=3):
    return rng.dirichlet(np.ones(components), count)


def region_of(blends):
    return np.zeros(blends.shape[1]), np.ones(blends.shape[1])


def notes_of(rng, count, components=3, assessors=2):
    blends = np.repeat(blends_of(rng, count, components), assessors, axis=0)
    values = 5 + 3 * blends[:, 0] - 6 * blends[:, 1] * blends[:, 2] + rng.normal(0, 0.4, len(blends))
    return Notes(blends, values, np.tile(np.arange(assessors), count))


def test_a_surface_is_the_same_by_weights_as_by_covariances(monkeypatch):
    """Without local departures it is a Bayesian regression on monomials: second implementation in weight space.

    Rasmussen and Williams (2006), equations 2.9 and 2.12 give the same answer (from memory).
    """
    sizes = {"slope": (0.3,), "curve": (0.5,), "local": (0.0,), "error": (0.1,), "assessor": (0.0,)}
    monkeypatch.setattr(surfaces, "_SIZES", sizes)
    rng = np.random.default_rng(3)
    notes, asked = notes_of(rng, 8), blends_of(rng, 5)
    mean, variance = surface(notes, SCALE, region_of(asked)).at(asked)

    def monomials(blends):
        w = blends - 0.5
        squares = [w[:, i] * w[:, j] for i in range(3) for j in range(3)]
        return np.column_stack([np.ones(len(w)), 0.3 * w, *(0.5 * square for square in squares)])

    middle, unit = notes.values.mean(), 8.0
    rows, there = monomials(notes.blends), monomials(asked)
    precision = rows.T @ rows / 0.1**2 + np.eye(rows.shape[1])
    weights = np.linalg.solve(precision, rows.T @ (notes.values - middle) / unit) / 0.1**2
    assert mean == pytest.approx(middle + unit * there @ weights, abs=1e-6)
    assert variance == pytest.approx(unit**2 * (there * np.linalg.solve(precision, there.T).T).sum(axis=1), rel=1e-6)


def test_the_doubt_is_honest():
    """Of truths that are no polynomial, nine in ten lie within nine-in-ten intervals, give or take (600 blends)."""
    rng, inside = np.random.default_rng(5), []
    for _ in range(60):
        centre, size = blends_of(rng, 1)[0], rng.uniform(-3, 3)

        def truth(blends, centre=centre, size=size):
            return 5 + 2 * blends[:, 0] + size * np.exp(-((blends - centre) ** 2).sum(axis=1) / 0.1)

        rows = np.repeat(blends_of(rng, 10), 3, axis=0)
        offsets, who = rng.normal(0, 0.5, 3), np.tile(np.arange(3), 10)
        known = Notes(rows, truth(rows) + offsets[who] - offsets.mean() + rng.normal(0, 0.8, len(rows)), who)
        asked = blends_of(rng, 10)
        mean, variance = surface(known, SCALE, region_of(rows)).at(asked)
        inside.extend(np.abs(truth(asked) - mean) <= 1.645 * np.sqrt(variance))
    assert 0.84 <= np.mean(inside) <= 0.97


@given(st.integers(0, 10**6))
@settings(max_examples=15, deadline=None)
def test_the_order_of_components_and_of_notes_changes_nothing(seed):
    rng = np.random.default_rng(seed)
    notes, candidates = notes_of(rng, 6), blends_of(rng, 40)
    order, shuffled = rng.permutation(3), rng.permutation(len(notes.values))
    wishes = (Wish("liking", "more"),)

    def chosen(known, tried, offered):
        return propose({"liking": surface(known, SCALE, region_of(tried))}, wishes, SCALES, tried, offered)

    tried = notes.blends[::2]
    first = chosen(notes, tried, candidates)
    turned = Notes(notes.blends[shuffled][:, order], notes.values[shuffled], notes.assessors[shuffled])
    second = chosen(turned, tried[:, order], candidates[:, order])
    assert second.blend == pytest.approx(first.blend[order])
    assert (second.why, second.best) == (first.why, first.best)
    assert second.met == pytest.approx(first.met)


@given(st.integers(0, 10**6))
@settings(max_examples=15, deadline=None)
def test_a_note_never_raises_the_doubt_where_it_was_taken(seed):
    rng = np.random.default_rng(seed)
    notes, candidates = notes_of(rng, 5), blends_of(rng, 20)
    learned = surface(notes, SCALE, region_of(candidates))
    told = learned.learned(candidates, candidates)
    assert (told >= 0).all()
    assert (told <= learned.at(candidates)[1].mean() + 1e-9).all()


@pytest.mark.parametrize(("above", "sd"), [(0.2, 0.1), (-0.1, 0.2), (0.0, 0.05), (-0.5, 0.1)])
def test_the_expected_improvement_is_its_integral(above, sd):
    """Against numerical integration by scipy."""
    integral, _ = quad(lambda gain: gain * norm.pdf(gain, above, sd), 0, above + 12 * sd if above + 12 * sd > 0 else 1)
    assert next_glass._improvement(above, sd) == pytest.approx(integral, abs=1e-7)
    assert next_glass._improvement(0.3, 0.0) == 0.3
    assert next_glass._improvement(-0.3, 0.0) == 0.0


def test_how_far_a_wish_is_met():
    values = np.array([-1.0, 0.0, 2.0, 5.0, 7.0])
    assert met_by(values, Wish("smoke", "more"), (0.0, 5.0)) == pytest.approx([0, 0, 0.4, 1, 1])
    assert met_by(values, Wish("smoke", "less"), (0.0, 5.0)) == pytest.approx([1, 1, 0.6, 0, 0])
    assert met_by(values, Wish("smoke", "near", 2.0), (0.0, 5.0)) == pytest.approx([1 / 3, 1 / 3, 1, 0, 0])


def test_few_glasses_teach_and_many_improve():
    """With no more glasses than components the proposal says so; a plain slope is then climbed, and then known."""
    rng = np.random.default_rng(1)
    candidates, wishes = blends_of(rng, 200), (Wish("liking", "more"),)
    blends = [np.array([1 / 3, 1 / 3, 1 / 3])]
    said = []
    for _ in range(8):
        rows = np.repeat(np.array(blends), 4, axis=0)
        known = Notes(rows, 3 + 5 * rows[:, 1] + rng.normal(0, 0.3, len(rows)), np.tile(np.arange(4), len(blends)))
        learned = {"liking": surface(known, SCALE, region_of(candidates))}
        found = propose(learned, wishes, SCALES, np.array(blends), candidates)
        said.append(found.why)
        blends.append(found.blend)
    assert said[:3] == ["too few glasses"] * 3
    assert "improves" in said[3:]
    assert candidates[:, 1].max() in {blend[1] for blend in blends}


def test_a_figure_of_the_components_counts_without_doubt():
    """Where cost alone is wished for, the cheapest blend is proposed, and there is no doubt."""
    rng = np.random.default_rng(2)
    notes, candidates = notes_of(rng, 6), blends_of(rng, 50)
    costs = np.array([45.0, 12.0, 30.0])
    learned = {"liking": surface(notes, SCALE, region_of(candidates))}
    wishes = (Wish("cost", "less"),)
    found = expected(learned, wishes, SCALES, candidates, {"cost": costs})
    assert found.sd == pytest.approx(0)
    assert int(found.mean.argmax()) == int((candidates @ costs).argmin())


def test_nothing_is_proposed_without_a_wish():
    rng = np.random.default_rng(2)
    notes = notes_of(rng, 4)
    learned = {"liking": surface(notes, SCALE, region_of(notes.blends))}
    with pytest.raises(Malformed, match="there is no wish"):
        expected(learned, (), SCALES, notes.blends)
    with pytest.raises(Malformed, match="nothing was noted of smoke"):
        expected(learned, (Wish("smoke", "less"),), SCALES, notes.blends)
