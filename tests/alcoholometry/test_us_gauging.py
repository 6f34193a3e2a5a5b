"""US figures in the units of the regulation; every printed example stands in published.csv, too."""

from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pourbook.alcoholometry.density import SIXTY_F_C
from pourbook.alcoholometry.us_gauging import (
    fahrenheit,
    gallons_per_pound,
    parts_of_100,
    pounds_per_gallon,
    rounded_tenth,
    specific_gravity,
    true_proof,
    volume_factor_60f,
    water_per_100_volumes,
)
from pourbook.errors import OutOfRange

proofs = st.floats(1, 199)


@pytest.mark.parametrize(
    ("value", "rounded"),
    [
        (189.972, "190.0"),  # 27 CFR 30.23
        (11921.58, "11921.6"),  # 27 CFR 30.64
        (22650.84, "22650.8"),  # 27 CFR 30.64
        (3721.06392, "3721.1"),  # 27 CFR 30.51
        (0.05, "0.1"),  # 30.63: 0.05 or more is added as 0.1
        (0.049, "0.0"),
        (Decimal("86.25"), "86.3"),
    ],
)
def test_rounding_of_the_regulation(value, rounded):
    """To the nearest tenth, a half upwards."""
    assert rounded_tenth(value) == Decimal(rounded)


def test_the_gauge_of_30_51():
    """88 inches of 48.96 gallons at 72 °F, 86.8 proof: 3,721.1 proof gallons; the printed factor has three decimals."""
    gallons = 48.96 * 88 * volume_factor_60f(86.8, (72 - 32) / 1.8)
    assert gallons * 0.868 == pytest.approx(3721.1, rel=0.00015)


@settings(deadline=None)
@given(proofs, st.floats(0.1, 0.95))
def test_the_rule_of_30_66_is_a_mass_balance(proof, part):
    """Volumes of water by the rule are those that masses give: what is added is the rest to the reduced spirit."""
    target = proof * part
    water = water_per_100_volumes(proof, target)
    after = 100 * proof / target
    pounds = 100 * pounds_in_vacuum(proof) + water * pounds_in_vacuum(0)
    assert pounds == pytest.approx(after * pounds_in_vacuum(target), rel=1e-9)


def pounds_in_vacuum(proof):
    """Relative weight of a gallon, in vacuum."""
    return specific_gravity(proof, in_air=False)


@settings(deadline=None)
@given(proofs)
def test_the_tables_agree_with_each_other(proof):
    """Table 4 is the inverse of table 5, and table 5 is table 6 times the gallon of water."""
    wine, proof_gallons = gallons_per_pound(proof)
    assert wine * pounds_per_gallon(proof) == pytest.approx(1.0)
    assert proof_gallons == pytest.approx(wine * proof / 100)
    assert pounds_per_gallon(proof) == pytest.approx(specific_gravity(proof) * pounds_per_gallon(0), rel=1e-12)
    alcohol, water = parts_of_100(proof)
    assert alcohol + water > 100  # they shrink when they meet


@settings(deadline=None)
@given(proofs, proofs)
def test_the_stronger_the_lighter_and_the_less_water(one, other):
    """Every table is monotone in proof."""
    low, high = sorted((one, other))
    assume(high - low > 1e-6)
    assert pounds_per_gallon(low) > pounds_per_gallon(high)
    assert parts_of_100(low)[1] > parts_of_100(high)[1]


@settings(deadline=None)
@given(proofs, st.floats(40, 95), st.floats(0.1, 5))
def test_the_warmer_the_smaller_the_factor(proof, temperature_f, by):
    """And at 60 °F it is one."""
    cool, warm = (volume_factor_60f(proof, (t - 32) / 1.8) for t in (temperature_f, temperature_f + by))
    assert warm < cool
    assert volume_factor_60f(proof, SIXTY_F_C) == 1.0


def test_fahrenheit():
    """The reference temperature is 60 °F."""
    assert fahrenheit(SIXTY_F_C) == pytest.approx(60.0)


@pytest.mark.parametrize(
    "refused",
    [
        lambda: true_proof(203.0, 25.0),
        lambda: pounds_per_gallon(201.0),
        lambda: volume_factor_60f(-1.0, 20.0),
        lambda: parts_of_100(float("nan")),
    ],
)
def test_a_proof_that_cannot_be_is_refused_as_a_proof(refused):
    """The sentence speaks of proof, not of half of it in % vol."""
    with pytest.raises(OutOfRange, match=r"proof .* is outside 0 to 200"):
        refused()


def test_water_does_not_lift_a_proof():
    """A target above what is there, or of nothing."""
    for target in (120.0, 0.0):
        with pytest.raises(OutOfRange, match="cannot be reduced"):
            water_per_100_volumes(100.0, target)
