"""Obscuration: by weight, by difference, by density, and the US rule within its range."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook.alcoholometry.density import SIXTY_F_C
from pourbook.alcoholometry.obscuration import obscured, obscured_between, obscured_from, solids_of_residue, us_rule
from pourbook.errors import OutOfRange

references = st.sampled_from([20.0, SIXTY_F_C])


def test_the_example_of_30_32():
    """0.125 g from 25 mL are 0.50 g in 100 mL, and 4 x 0.50 is two degrees of proof."""
    solids = solids_of_residue(0.125, 25.0)
    assert solids == 5.0
    assert us_rule(100 * solids, 90.0).add_proof == Decimal("2.0")


@pytest.mark.parametrize(
    ("solids", "proof", "adds", "section"),
    [
        (0, 90, "0.0", "30.31"),
        (400, 90, "0.0", "30.31"),
        (400, 130, "0.0", "30.31"),  # the hydrometer's proof counts at any proof
        (401, 90, "1.6", "30.32"),
        (600, 100, "2.4", "30.32"),
        (600, 80, "2.4", "30.32"),
        (500, 79.9, None, "30.32"),
        (500, 100.1, None, "30.32"),
        (600.1, 90, None, "30.31"),
        (650, 130, None, "30.31"),
    ],
)
def test_the_rule_within_its_range_and_a_word_outside(solids, proof, adds, section):
    """27 CFR 30.31 and 30.32: thresholds 400 and 600 mg in 100 mL, 80 to 100 proof."""
    rule = us_rule(solids, proof)
    assert rule.add_proof == (None if adds is None else Decimal(adds))
    assert section in rule.says
    if adds is None:
        assert "distillation" in rule.says


@settings(deadline=None)
@given(st.floats(25, 60), st.floats(0, 60), references)
def test_any_two_give_the_third(true, solids, reference_c):
    """True strength and solids, apparent strength and solids, true and apparent strength: one liquid."""
    one = obscured(true, solids, reference_c)
    apparent = one.apparent_20c if reference_c == 20.0 else one.apparent_proof_60f / 2
    for other in (
        obscured_from(apparent, solids, reference_c),
        obscured_between(true, apparent, reference_c, reference_c),
    ):
        assert other == pytest.approx(one, abs=1e-6)


@settings(deadline=None)
@given(st.floats(30, 60), st.floats(0.1, 60), st.floats(0.1, 20))
def test_more_solids_hide_more(true, solids, more):
    """Monotone, and nothing hides nothing."""
    assert obscured(true, 0.0).hidden_20c == pytest.approx(0.0, abs=1e-9)
    assert 0 < obscured(true, solids).hidden_20c < obscured(true, solids + more).hidden_20c


@pytest.mark.parametrize("proof", [80, 85, 90, 95, 100])
def test_by_density_a_gram_hides_about_what_the_rule_says(proof):
    """27 CFR 30.32(b): 0.4 degree for 100 mg in 100 mL, one figure for 80 to 100 proof; by density 0.49 to 0.38."""
    assert obscured(proof / 2, 1.0, SIXTY_F_C).hidden_proof == pytest.approx(0.4, abs=0.09)


def test_scales_may_differ():
    """True in % vol at 20 °C, apparent in proof: the solids of the liquid that has both."""
    one = obscured(40.0, 5.0)
    found = obscured_between(one.true_20c, one.apparent_proof_60f / 2, 20.0, SIXTY_F_C)
    assert found.solids_g_per_l == pytest.approx(5.0, abs=0.001)


def test_a_liqueur_heavier_than_water_hides_no_figure():
    """Nothing is subtracted from a strength that no hydrometer shows; the US rule asks for distillation (30.31)."""
    found = obscured(20.0, 300.0)
    assert (found.apparent_20c, found.hidden_20c, found.apparent_proof_60f, found.hidden_proof) == (None,) * 4
    assert "distillation" in found.us_rule.says
    assert us_rule(500, None).add_proof is None


@pytest.mark.parametrize(
    ("refused", "says"),
    [
        (lambda: obscured_between(40.0, 41.0), "above the true one"),
        (lambda: obscured_between(95.0, 1.0), "no solids explain"),
        (lambda: solids_of_residue(125.0), "a residue of 125 g"),  # mg typed for g
        (lambda: solids_of_residue(0.1, 0.0), "cannot leave a residue"),
        (lambda: solids_of_residue(-0.1), "cannot leave a residue"),
    ],
)
def test_what_cannot_be_is_refused(refused, says):
    """With a question or a remedy."""
    with pytest.raises(OutOfRange, match=says) as told:
        refused()
    assert told.value.remedy
