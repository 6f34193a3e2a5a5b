"""What was measured becomes a liquid, and a liquid shows what was measured."""

from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pourbook.alcoholometry.conversion import converted
from pourbook.alcoholometry.density import density_kg_m3
from pourbook.alcoholometry.strength import mass_fraction_from_strength, proof_from_strength
from pourbook.alcoholometry.volumes import (
    EXTRACT_ML_PER_G,
    Composition,
    density_mg_m3,
    liquid_of,
    liquid_of_volume,
    mass_fraction_beside_extract,
    mass_mg_in_air,
    mass_mg_of_volume,
    proof_60f,
    pure_alcohol_ml,
    strength_20c,
    volume_ml,
)
from pourbook.errors import OutOfRange
from pourbook.liquid import EMPTY, MOST_MG, Liquid
from pourbook.quantities import read_amount

fractions = st.floats(0, 1)
temperatures = st.floats(-20, 40)
MOST_TANK_MG = 10**12  # a thousand tonnes: larger than any tank of spirit


@st.composite
def liquids(draw, least_mg=1):
    mass = draw(st.integers(least_mg, MOST_TANK_MG))
    solutes = draw(st.integers(0, mass))
    ethanol = draw(st.integers(0, solutes))
    return Liquid(mass, ethanol, solutes - ethanol)


@settings(deadline=None)
@given(liquids(), temperatures)
@example(Liquid(1, 1, 0), 20.0)
@example(Liquid(5, 0, 5), 20.0)
def test_mass_of_a_volume_inverts_volume_of_a_mass(liquid, t):
    """A sweetened spirit goes to its volume and back within a milligram, at any temperature."""
    spirit = liquid.mass_mg - liquid.extract_mg
    fraction = liquid.ethanol_mg / spirit if spirit else 0.0
    back = mass_mg_of_volume(volume_ml(liquid, t), fraction, t, liquid.extract_mg / liquid.mass_mg)
    assert abs(back - liquid.mass_mg) <= 1


@settings(deadline=None)
@given(liquids(), temperatures)
def test_volume_is_spirit_and_extract_side_by_side(liquid, t):
    """V = (M - X) / rho + X times 0.62 mL/g."""
    spirit = Liquid(liquid.mass_mg - liquid.extract_mg, liquid.ethanol_mg)
    extract_ml = liquid.extract_mg / 1000 * EXTRACT_ML_PER_G
    assert volume_ml(liquid, t) == pytest.approx(volume_ml(spirit, t) + extract_ml, rel=1e-12)


def test_a_syrup_has_the_density_of_sugar_solutions():
    """Sucrose in water, 20 % mass, 20 °C: 1080.9 kg/m3; the model is good to 1.

    Worked out from the fit to the table of NBS Circular 440 in Wikipedia, Brix: 1.08298 in air, 20/20 °C.
    """
    assert 1e6 / volume_ml(Liquid(1_000_000, 0, 200_000)) == pytest.approx(1080.9, abs=1.5)


def test_nothing_has_no_strength():
    """No liquid: no volume, no alcohol, and no strength rather than zero."""
    assert (volume_ml(EMPTY), pure_alcohol_ml(EMPTY)) == (0.0, 0.0)
    assert strength_20c(EMPTY) is None
    assert proof_60f(EMPTY) is None


@settings(deadline=None)
@given(st.floats(0, 100))
def test_strength_of_a_plain_spirit_is_the_one_it_was_made_of(percent_vol):
    """A kilogram made up from a strength shows that strength, to a milligram's worth."""
    spirit = liquid_of(1_000_000, mass_fraction_from_strength(percent_vol))
    assert strength_20c(spirit) == pytest.approx(percent_vol, abs=2e-4)
    assert proof_60f(spirit) == pytest.approx(proof_from_strength(percent_vol), abs=4e-4)


def test_a_proof_gallon():
    """27 CFR 30.11: a US gallon at 60 °F of 100 proof is one proof gallon."""
    gallon = read_amount("1 gal").volume_ml
    fraction = mass_fraction_from_strength(50.0, 140 / 9)
    found = converted(mass_mg_of_volume(gallon, fraction, 140 / 9), Composition(fraction))
    assert found.proof_gallons == pytest.approx(1.0, abs=1e-6)


@settings(deadline=None)
@given(st.integers(0, MOST_MG - 1), fractions, st.floats(0, 1))
def test_a_made_liquid_is_whole_and_possible(mass, fraction, extract_part):
    """Whole milligrams, and never more ethanol and extract than liquid."""
    liquid = liquid_of(mass, fraction, int(mass * Fraction(extract_part)))
    assert liquid.mass_mg == mass
    assert all(isinstance(amount, int) and amount >= 0 for amount in (*liquid, liquid.water_mg))


@pytest.mark.parametrize("odd", [2**52 + 1, MOST_MG - 1])
def test_large_masses_are_kept_to_the_milligram(odd):
    """Adding a half to a float that large would round it."""
    assert liquid_of(odd, 1.0) == Liquid(odd, odd)


def test_masses_round_half_up():
    """Half a milligram counts as one."""
    assert liquid_of(Fraction(5, 2), 0.0).mass_mg == 3


@pytest.mark.parametrize(("mass", "fraction", "extract"), [(10, 1.1, 0), (10, -0.1, 0), (10, 0.5, 11), (-1, 0.5, 0)])
def test_an_impossible_liquid_is_refused(mass, fraction, extract):
    """A fraction outside 0 to 1, more extract than mass, less than nothing."""
    with pytest.raises(OutOfRange):
        liquid_of(mass, fraction, extract)


@settings(deadline=None)
@given(st.floats(1000, 1e9), st.floats(0, 80), temperatures, st.floats(0, 250))
def test_a_laboratory_report_becomes_the_liquid_it_describes(volume, percent_vol, t, extract_g_per_l):
    """Volume, true strength and g/L of extract are read back from the liquid."""
    liquid = liquid_of_volume(volume, percent_vol, t, extract_g_per_l)
    # a milligram in a mass of a gram per mL is a part of the volume in mL
    part = 3 / volume
    assert volume_ml(liquid, t) == pytest.approx(volume, rel=part)
    assert strength_20c(liquid) == pytest.approx(percent_vol, abs=200 * part)
    assert liquid.extract_mg / volume_ml(liquid) == pytest.approx(extract_g_per_l, abs=1000 * part)


def test_strength_and_extract_that_contradict_are_refused():
    """500 g/L of sugar leave 690 mL: 70 % vol has no place beside it."""
    with pytest.raises(OutOfRange, match="is impossible"):
        mass_fraction_beside_extract(70.0, 500.0)
    assert mass_fraction_beside_extract(69.0, 500.0) == 1.0


@settings(deadline=None)
@given(fractions)
def test_a_weighing_in_air_shows_about_a_thousandth_less(fraction):
    """Between 0.105 % (water) and 0.138 % (ethanol): R 22 densities, steel weights, air of 1.2 kg/m3."""
    excess = mass_mg_in_air(10**9, density_kg_m3(fraction)) / 10**9 - 1
    assert 0.00105 < excess < 0.00138


def test_weighing_against_its_own_density_needs_no_correction():
    """Liquid and weights of one density displace the same air."""
    assert mass_mg_in_air(123_456_789, 8000.0) == 123_456_789


def test_a_weighing_of_gas_is_refused():
    """A density below that of air would turn the balance upside down; g/mL typed for kg/m3 is caught."""
    with pytest.raises(OutOfRange, match="no liquid has a density"):
        mass_mg_in_air(1000, 0.948)


@pytest.mark.parametrize(("percent_vol", "printed_kg_m3"), [(40, 948.05), (60, 909.11), (95, 811.38)])
def test_the_kept_density_is_whole_milligrams_per_cubic_metre(percent_vol, printed_kg_m3):
    """Alcoholimetric table at 20 °C, second-hand, printed with two decimals."""
    kept = density_mg_m3(mass_fraction_from_strength(percent_vol))
    assert isinstance(kept, int)
    assert kept / 1e6 == pytest.approx(printed_kg_m3, abs=0.0055)
