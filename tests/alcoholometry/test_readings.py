"""What instruments show becomes a composition, and a composition shows it again."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pourbook.alcoholometry.apparent import (
    GLASS_PER_C,
    apparent_strength_of,
    composition_from_density,
    composition_from_hydrometer,
    composition_of,
    composition_of_liquid,
    density_of,
    liquid_of_mass,
    strength_of,
)
from pourbook.alcoholometry.density import SIXTY_F_C, density_kg_m3
from pourbook.alcoholometry.strength import (
    mass_fraction_from_density,
    mass_fraction_from_strength,
    strength_from_mass_fraction,
)
from pourbook.alcoholometry.volumes import Composition, composition, liquid_of_volume, strength_20c, volume_ml
from pourbook.errors import Malformed, OutOfRange
from pourbook.extracts import read_extract
from pourbook.quantities import read_strength

references = st.sampled_from([20.0, SIXTY_F_C])
temperatures = st.floats(0, 35)


@settings(deadline=None)
@given(st.floats(0, 80), st.floats(0, 200), references)
def test_strength_and_extract_are_read_back(percent, extract, reference_c):
    """A composition made of a true strength shows it, and so much extract in a litre, at either reference."""
    made_of = composition(percent, extract, reference_c)
    assert strength_of(made_of, reference_c) == pytest.approx(percent, abs=1e-9)
    assert made_of.extract_per_mass * density_of(made_of, reference_c) == pytest.approx(extract, abs=1e-9)


@settings(deadline=None)
@given(st.floats(1, 60), st.floats(0, 100), temperatures, references)
def test_density_and_extract_give_the_composition_back(percent, extract, temperature_c, reference_c):
    """Density at any temperature, extract per litre at the reference: the strength that made them."""
    made_of = composition(percent, extract, reference_c)
    found = composition_from_density(density_of(made_of, temperature_c), temperature_c, extract, reference_c)
    assert strength_of(found) == pytest.approx(strength_of(made_of), abs=1e-6)
    assert found.extract_per_mass == pytest.approx(made_of.extract_per_mass, abs=1e-9)


@settings(deadline=None)
@given(st.floats(5, 90), st.floats(0, 5), temperatures, references)
def test_a_hydrometer_shows_what_it_was_read_from(percent, extract, temperature_c, reference_c):
    """Composition to reading and back, glass and temperature and extract included."""
    made_of = composition(percent, extract, reference_c)
    try:
        indicated = density_of(made_of, temperature_c) / (1.0 - GLASS_PER_C * (temperature_c - reference_c))
        reading = strength_from_mass_fraction(mass_fraction_from_density(indicated, reference_c), reference_c)
    except OutOfRange:
        assume(False)  # warm and strong: lighter than ethanol at the reference temperature
    back = composition_from_hydrometer(reading, temperature_c, reference_c, extract)
    assert strength_of(back, reference_c) == pytest.approx(percent, abs=1e-6)


@settings(deadline=None)
@given(st.floats(5, 90), temperatures)
def test_without_extract_it_is_the_plain_hydrometer(percent, temperature_c):
    """Of plain spirit only the glass is corrected, 25 millionths per °C by ISO 1768."""
    try:
        graduated = density_kg_m3(mass_fraction_from_strength(percent))
        expected = mass_fraction_from_density(graduated * (1.0 - 25e-6 * (temperature_c - 20.0)), temperature_c)
    except OutOfRange:
        assume(False)
    assert composition_from_hydrometer(percent, temperature_c) == pytest.approx(Composition(expected, 0.0), abs=1e-12)


@settings(deadline=None)
@given(st.floats(5, 90), st.floats(5, 90), temperatures)
def test_a_higher_reading_means_more_strength(one, other, temperature_c):
    """At one temperature the true strength rises with the reading."""
    low, high = sorted((one, other))
    assume(high - low > 1e-6)
    try:
        weaker, stronger = (strength_of(composition_from_hydrometer(r, temperature_c)) for r in (low, high))
    except OutOfRange:
        assume(False)
    assert weaker < stronger


@settings(deadline=None)
@given(st.floats(5, 90), st.floats(5, 30), st.floats(0.5, 5))
def test_the_warmer_the_less_strength_behind_a_reading(percent, temperature_c, warmer_by):
    """One reading, a warmer liquid: less ethanol; from 5 °C up, as water is heaviest at 4."""
    try:
        cool, warm = (
            strength_of(composition_from_hydrometer(percent, t)) for t in (temperature_c, temperature_c + warmer_by)
        )
    except OutOfRange:
        assume(False)
    assert warm < cool


def test_a_liquid_and_its_composition():
    """The composition of a liquid is the one it was made of, and makes it again at any mass."""
    liquid = liquid_of_volume(1_000_000, 38.0, extract_g_per_l=25.0)
    made_of = composition_of_liquid(liquid)
    assert strength_of(made_of) == pytest.approx(strength_20c(liquid), abs=1e-9)
    assert density_of(made_of) == pytest.approx(liquid.mass_mg / volume_ml(liquid), rel=1e-12)
    assert liquid_of_mass(liquid.mass_mg, made_of) == liquid


def test_proof_is_taken_at_60_f():
    """100 proof is 50 % vol at 60 °F: half of twice."""
    assert strength_of(composition_of(read_strength("100 proof")), SIXTY_F_C) == pytest.approx(50.0, abs=1e-9)
    assert apparent_strength_of(composition_of(read_strength("40"))) == pytest.approx(40.0, abs=1e-9)


@pytest.mark.parametrize(
    ("typed", "g_per_l"),
    [("20 g/l", 20), ("20 g/L", 20), ("500 mg/100 ml", 5), ("0.5 g / 100 mL", 5), ("2 kg/m³", 2), ("0.3 kg/hl", 3)],
)
def test_extract_is_read_in_the_units_of_laboratories(typed, g_per_l):
    """Each unit with its factor to g/L."""
    assert read_extract(typed) == pytest.approx(g_per_l)


@pytest.mark.parametrize(("typed", "refusal"), [("20", Malformed), ("20 %", Malformed), ("2000 g/l", OutOfRange)])
def test_extract_without_its_unit_is_refused(typed, refusal):
    """A bare number could be g/L or mg/100 mL."""
    with pytest.raises(refusal):
        read_extract(typed)


def test_more_extract_than_mass_is_refused():
    """A density of 900 with 1,000 g of extract in a litre is no liquid."""
    with pytest.raises(OutOfRange, match="is impossible"):
        composition_from_density(900.0, 20.0, 1000.0)


def test_a_reading_above_what_ethanol_shows_is_refused():
    """Nothing is as light at 0 °C as pure ethanol at 20 °C."""
    with pytest.raises(OutOfRange, match="density 78"):
        composition_from_hydrometer(100.0, 0.0)
    assert density_kg_m3(1.0, 0.0) > 800
