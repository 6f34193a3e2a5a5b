"""Strength, mass fraction, proof and density: inverse to each other over the whole domain."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook.alcoholometry.apparent import REFERENCE_C
from pourbook.alcoholometry.density import SIXTY_F_C, density_kg_m3
from pourbook.alcoholometry.strength import (
    mass_fraction,
    mass_fraction_from_density,
    mass_fraction_from_strength,
    proof_from_strength,
    strength_from_mass_fraction,
    strength_from_proof,
)
from pourbook.errors import OutOfRange
from pourbook.quantities import read_strength

fractions = st.floats(0, 1)
strengths = st.floats(0, 100)
temperatures = st.floats(-20, 40)
# A polynomial with coefficients near 1e6, in doubles, is good to some 1e-10 kg/m3; divided by its
# least slope (6 kg/m3 in the cold, 100 above 10 °C) that is what an inverse can promise.
TIGHT = 1e-9


@settings(deadline=None)
@given(fractions, temperatures)
def test_strength_inverts(p, reference_c):
    """Mass fraction to strength and back, at any reference temperature."""
    assert mass_fraction_from_strength(strength_from_mass_fraction(p, reference_c), reference_c) == pytest.approx(
        p, abs=TIGHT
    )


@settings(deadline=None)
@given(strengths, temperatures)
def test_mass_fraction_inverts(q, reference_c):
    """Strength to mass fraction and back."""
    assert strength_from_mass_fraction(mass_fraction_from_strength(q, reference_c), reference_c) == pytest.approx(
        q, abs=100 * TIGHT
    )


@settings(deadline=None)
@given(fractions, temperatures)
def test_density_inverts(p, t):
    """Mass fraction to density and back, at any temperature of the domain."""
    assert mass_fraction_from_density(density_kg_m3(p, t), t) == pytest.approx(p, abs=TIGHT)


@settings(deadline=None)
@given(st.floats(0, 200))
def test_proof_inverts(proof):
    """Proof to % vol at 20 °C and back."""
    assert proof_from_strength(strength_from_proof(proof)) == pytest.approx(proof, abs=200 * TIGHT)


@settings(deadline=None)
@given(fractions, fractions, temperatures)
def test_strength_rises_with_the_mass_fraction(p1, p2, reference_c):
    """More ethanol is stronger, at any reference temperature."""
    low, high = sorted((p1, p2))
    assert strength_from_mass_fraction(low, reference_c) <= strength_from_mass_fraction(high, reference_c) + 1e-9


@pytest.mark.parametrize("reference_c", [-20.0, SIXTY_F_C, 20.0, 40.0])
def test_the_ends_are_exact(reference_c):
    """Water is 0 and ethanol 100 % vol, without rounding."""
    assert [strength_from_mass_fraction(p, reference_c) for p in (0.0, 1.0)] == [0.0, 100.0]
    assert [mass_fraction_from_strength(q, reference_c) for q in (0.0, 100.0)] == [0.0, 1.0]


@pytest.mark.parametrize(
    ("percent_vol_20c", "percent_vol_60f"), [(40, 39.93), (43, 42.93), (50, 49.94), (60, 59.95), (95, 94.99)]
)
def test_20_degrees_and_60_fahrenheit_differ(percent_vol_20c, percent_vol_60f):
    """Computed once by an independent implementation of R 22, printed with two decimals."""
    assert f"{proof_from_strength(percent_vol_20c) / 2:.2f}" == f"{percent_vol_60f:.2f}"


def test_40_percent_is_not_quite_80_proof():
    """40.00 % vol at 20 °C is 79.86 US proof."""
    assert f"{proof_from_strength(40.0):.2f}" == "79.86"


@pytest.mark.parametrize(
    ("text", "same"),
    [("40 %", "40 % vol 20C"), ("39.93 % vol 60F", "79.86 proof"), ("50% vol 60F", "100 US proof")],
)
def test_a_typed_strength_keeps_its_reference(text, same):
    """One mixture written on two scales has one mass fraction."""
    assert mass_fraction(read_strength(text)) == pytest.approx(mass_fraction(read_strength(same)), abs=1e-12)


def test_the_mass_fraction_of_40_vol():
    """R 22 at 40 % vol: p = 0.332996 by an independent implementation, six decimals."""
    assert round(mass_fraction(read_strength("40 %")), 6) == 0.332996


@settings(deadline=None)
@given(fractions, st.sampled_from(["vol20", "vol60f", "proof60f"]))
def test_every_scale_reads_back_what_it_shows(p, scale):
    """`mass_fraction` reads a strength at the reference temperature of its scale."""
    shown = strength_from_mass_fraction(p, REFERENCE_C[scale]) * (2 if scale == "proof60f" else 1)
    words = {"vol20": "% vol 20C", "vol60f": "% vol 60F", "proof60f": "proof"}[scale]
    assert mass_fraction(read_strength(f"{shown:.12f} {words}")) == pytest.approx(p, abs=TIGHT)


@pytest.mark.parametrize("q", [-0.01, 100.01, 124.0, float("nan")])
def test_a_strength_outside_0_to_100_is_refused(q):
    """Above 100 the message asks whether proof was meant."""
    with pytest.raises(OutOfRange, match="outside 0 to 100") as refusal:
        mass_fraction_from_strength(q)
    assert ("proof" in refusal.value.remedy) == (q > 100)


@pytest.mark.parametrize("proof", [-1.0, 200.1, float("nan")])
def test_a_proof_outside_0_to_200_is_refused(proof):
    """Pure ethanol is 200 proof."""
    with pytest.raises(OutOfRange, match="outside 0 to 200"):
        strength_from_proof(proof)


@pytest.mark.parametrize("density", [789.0, 998.3, 1050.0, float("nan")])
def test_a_density_that_no_mixture_has_is_refused(density):
    """Heavier than water (sugar) or lighter than ethanol: named with both limits."""
    with pytest.raises(OutOfRange, match=r"outside 789.239 \(ethanol\) to 998.201 \(water\) at 20 °C"):
        mass_fraction_from_density(density)
