"""One body in every unit."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook.alcoholometry.apparent import composition_of_liquid, density_of
from pourbook.alcoholometry.conversion import converted, weighed_in_air
from pourbook.alcoholometry.density import SIXTY_F_C
from pourbook.alcoholometry.us_gauging import GALLON_ML
from pourbook.alcoholometry.volumes import (
    composition,
    liquid_of_volume,
    mass_mg_in_air,
    pure_alcohol_ml,
    volume_ml,
)

strengths = st.floats(0, 90)
temperatures = st.floats(-10, 35)


@settings(deadline=None)
@given(st.floats(1e6, 1e11), strengths, st.floats(0, 100), temperatures)
def test_every_unit_agrees_with_the_liquid_of_the_book(volume, percent, extract, temperature_c):
    """The same figures as from whole milligrams, to a milligram's worth."""
    liquid = liquid_of_volume(volume, percent, extract_g_per_l=extract)
    found = converted(liquid.mass_mg, composition_of_liquid(liquid), temperature_c)
    part = 5 / liquid.mass_mg
    assert found.volume_l == pytest.approx(volume_ml(liquid, temperature_c) / 1000, rel=part)
    assert found.lpa == pytest.approx(pure_alcohol_ml(liquid) / 1000, rel=part, abs=1e-5)
    gallons = 2 * pure_alcohol_ml(liquid, SIXTY_F_C) / GALLON_ML  # 27 CFR 30.11: at 60 °F, x proof / 100
    assert found.proof_gallons == pytest.approx(gallons, rel=part, abs=1e-5)


@settings(deadline=None)
@given(st.floats(0.001, 1e6), strengths, st.floats(0, 100), temperatures)
def test_what_the_figures_mean(mass_kg, percent, extract, temperature_c):
    """LPA is volume at 20 °C times strength; a proof gallon is a wine gallon times proof over 100."""
    found = converted(mass_kg * 1e6, composition(percent, extract), temperature_c)
    assert found.lpa == pytest.approx(found.volume_l_20c * found.strength_20c / 100, rel=1e-9)
    assert found.proof_gallons == pytest.approx(found.wine_gallons_60f * found.proof_60f / 100, rel=1e-9)
    assert found.mass_kg == pytest.approx(found.volume_l * found.density_kg_m3 / 1000, rel=1e-9)


@settings(deadline=None)
@given(st.floats(5, 95), st.floats(5, 95), temperatures)
def test_the_stronger_the_more_alcohol_and_the_less_mass_in_a_litre(one, other, temperature_c):
    """Monotone in strength at any temperature."""
    low, high = sorted((one, other))
    if high - low < 1e-6:
        return
    weak, strong = (converted(1e9 * density_of(composition(p), temperature_c) / 1000, composition(p), temperature_c)
                    for p in (low, high))  # fmt: skip
    assert weak.volume_l == pytest.approx(strong.volume_l)
    assert weak.mass_kg > strong.mass_kg
    assert weak.lpa < strong.lpa


@settings(deadline=None)
@given(strengths, st.floats(4, 30), st.floats(0.1, 5))
def test_the_warmer_the_less_in_a_litre(percent, temperature_c, warmer_by):
    """One volume read warmer is less spirit."""
    made_of = composition(percent)
    assert density_of(made_of, temperature_c + warmer_by) < density_of(made_of, temperature_c)


@settings(deadline=None)
@given(strengths, temperatures)
def test_a_weighing_in_air_goes_there_and_back(percent, temperature_c):
    """The factor is that of `mass_mg_in_air`."""
    made_of = composition(percent)
    in_vacuum = mass_mg_in_air(10**12, density_of(made_of, temperature_c))
    assert 1e12 * weighed_in_air(made_of, temperature_c) == pytest.approx(in_vacuum, abs=1)


def test_a_us_gallon_is_231_cubic_inches():
    """27 CFR 30.11, with the inch of 25.4 mm."""
    assert pytest.approx(231 * 2.54**3) == GALLON_ML
