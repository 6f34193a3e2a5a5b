"""Terms of Scheffé's models, counted and worked out by hand."""

from math import comb

import pytest

from pourbook.mixtures.terms import MODELS, model_matrix, term_names, terms


@pytest.mark.parametrize("components", [2, 3, 4, 8])
def test_as_many_terms_as_scheffe_counts(components):
    """q terms, and one for every two and every three of q components (Scheffé 1958, the common formula)."""
    q = components
    counts = [len(terms(q, model)) for model in MODELS]
    assert counts == [q, q + comb(q, 2), q + comb(q, 2) + comb(q, 3)]


def test_a_model_begins_with_the_simpler_one():
    """So that coefficients of two models stand in the same order."""
    names = [term_names("abcd", model) for model in MODELS]
    assert names[2][: len(names[1])] == names[1]
    assert names[1][: len(names[0])] == names[0]
    assert names[2][-1] == "b*c*d"


def test_a_blend_by_hand():
    """A half, a third, a sixth."""
    row = model_matrix([[1 / 2, 1 / 3, 1 / 6]], "special-cubic")[0]
    assert row == pytest.approx([1 / 2, 1 / 3, 1 / 6, 1 / 6, 1 / 12, 1 / 18, 1 / 36])
