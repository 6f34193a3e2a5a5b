"""Hydrometer readings: glass, temperature, and what extract hides."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook.alcoholometry.apparent import (
    apparent_strength_of,
    composition_from_hydrometer,
    composition_of_liquid,
)
from pourbook.alcoholometry.strength import mass_fraction_from_strength, strength_from_proof
from pourbook.alcoholometry.volumes import Composition, liquid_of_volume, strength_20c
from pourbook.errors import OutOfRange


@pytest.mark.parametrize("proof", [80, 85, 90, 95, 100])
def test_a_gram_per_litre_hides_0_4_proof(proof):
    """27 CFR 30.32(b): 100 mg of solids in 100 mL hide 0.4 degree, one figure for 80 to 100 proof.

    One figure for a range that runs from 0.46 to 0.37 by density: 0.07 is that spread.
    """
    liquid = liquid_of_volume(100_000, strength_from_proof(proof), extract_g_per_l=1.0)
    hidden = 2 * (strength_20c(liquid) - apparent_strength_of(composition_of_liquid(liquid)))
    assert hidden == pytest.approx(0.4, abs=0.07)


@settings(deadline=None)
@given(st.floats(0, 100))
def test_at_its_own_temperature_it_shows_the_strength(percent_vol):
    """No correction where instrument and liquid are at the reference."""
    found = composition_from_hydrometer(percent_vol, 20.0).mass_fraction
    assert found == pytest.approx(mass_fraction_from_strength(percent_vol), abs=1e-9)


@settings(deadline=None)
@given(st.floats(5, 95), st.floats(5, 34))
def test_a_warm_liquid_shows_too_much(percent_vol, temperature_c):
    """Read warmer, one and the same reading means less ethanol."""
    cool = composition_from_hydrometer(percent_vol, temperature_c).mass_fraction
    assert composition_from_hydrometer(percent_vol, temperature_c + 1.0).mass_fraction < cool


def test_a_reading_that_no_mixture_gives_is_refused():
    """Nothing is as light at 0 °C as pure ethanol at 20 °C."""
    with pytest.raises(OutOfRange, match="density 789"):
        composition_from_hydrometer(100.0, 0.0)


def test_a_liqueur_heavier_than_water_has_no_apparent_strength():
    """300 g/L of sugar at 20 % vol: no alcoholometer floats at its scale; water itself shows 0."""
    liqueur = composition_of_liquid(liquid_of_volume(1000, 20.0, extract_g_per_l=300.0))
    assert apparent_strength_of(liqueur) is None
    assert apparent_strength_of(Composition(0.0)) == pytest.approx(0.0)
