"""The distance between compositions: a metric, and as a reference library has it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.mixtures.distance import distance

distances = pytest.importorskip("scipy.spatial.distance")

NAMES = ("ash", "chestnut", "heather-wine", "oak", "water")


def _fractions(parts):
    whole = sum(parts.values())
    return {name: part / whole for name, part in parts.items()}


compositions = st.dictionaries(st.sampled_from(NAMES), st.integers(1, 1000), min_size=1).map(_fractions)


@given(compositions, compositions)
def test_it_is_that_of_bray_and_curtis(first, second):
    """Of fractions that add to one, whatever part is absent: scipy.spatial.distance.braycurtis."""
    rows = [[one.get(name, 0.0) for name in NAMES] for one in (first, second)]
    assert distance(first, second) == pytest.approx(distances.braycurtis(*rows), abs=1e-12)


@given(compositions, compositions, compositions)
def test_it_is_a_metric(first, second, third):
    """Nothing to itself, the same both ways, never longer than by way of a third; from 0 to 1."""
    assert distance(first, first) == 0
    assert distance(first, second) == pytest.approx(distance(second, first), abs=1e-12)
    assert distance(first, third) <= distance(first, second) + distance(second, third) + 1e-12
    assert -1e-12 <= distance(first, second) <= 1 + 1e-12


@given(compositions, compositions, st.permutations(NAMES))
def test_what_parts_are_called_changes_nothing(first, second, names):
    """Parts renamed in both."""
    to = dict(zip(NAMES, names, strict=True))
    renamed = [{to[name]: part for name, part in one.items()} for one in (first, second)]
    assert distance(*renamed) == pytest.approx(distance(first, second), abs=1e-12)


def test_by_hand():
    """Five of a hundred replaced; nothing in common."""
    assert distance({"ash": 0.95, "oak": 0.05}, {"ash": 0.9, "oak": 0.1}) == pytest.approx(0.05)
    assert distance({"ash": 1.0}, {"oak": 0.6, "water": 0.4}) == pytest.approx(1)
