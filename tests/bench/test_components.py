"""Parts by volume and by pure alcohol: exactly one from the other, and the same masses as mixing by OIML R 22."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.alcoholometry.volumes import liquid_of_volume, pure_alcohol_ml, volume_ml
from pourbook.bench.components import by_pure_alcohol, by_volume, strengths_of
from pourbook.bench.trials import planned
from pourbook.errors import NotThere

strengths = st.floats(1.0, 96.0).map(lambda percent: Fraction(percent) / 100)
blends = st.dictionaries(
    st.text("abcdefgh", min_size=1, max_size=3), st.tuples(st.fractions(Fraction(1, 1000), 999), strengths), min_size=1
)


@given(blends)
def test_there_and_back_gives_the_same_parts(blend):
    """Exactly, whatever the strengths; and the shares add to one each way."""
    whole = sum(part for part, _ in blend.values())
    shares = {name: part / whole for name, (part, _) in blend.items()}
    known = {name: strength for name, (_, strength) in blend.items()}
    alcohol, volumes = by_pure_alcohol(shares, known), by_volume(shares, known)
    assert by_volume(alcohol, known) == shares == by_pure_alcohol(volumes, known)
    assert sum(alcohol.values()) == sum(volumes.values()) == 1


@given(st.lists(st.tuples(st.integers(1, 99), st.floats(5.0, 95.0)), min_size=1, max_size=6))
def test_planned_pours_bring_their_parts_of_the_ethanol(asked):
    """By the masses that OIML R 22 gives each pour, to the milligram that it is rounded to."""
    holds = {f"V{number:06d}": liquid_of_volume(500_000, strength) for number, (_, strength) in enumerate(asked)}
    parts = [(name, str(part)) for name, (part, _) in zip(holds, asked, strict=True)]
    pours = planned(parts, 1000.0, holds, by_alcohol=True)
    ethanol_mg = sum(pour.liquid.ethanol_mg for pour in pours)
    whole = sum(part for part, _ in asked)
    for pour, (part, _) in zip(pours, asked, strict=True):
        assert pour.liquid.ethanol_mg == pytest.approx(ethanol_mg * part / whole, abs=2 + 1e-6 * ethanol_mg)
    assert sum(pour.volume_ml for pour in pours) == pytest.approx(1000)


def test_equal_pure_alcohol_of_sixty_and_of_forty():
    """Two volumes of 60 % vol bring as much as three of 40: litres times per cent, as a cellar reckons pure alcohol.

    Common practice, no source; the masses beside it are by OIML R 22, as `liquid_of_volume` has them.
    """
    holds = {"C000001H": liquid_of_volume(10_000, 60.0), "C000002F": liquid_of_volume(10_000, 40.0)}
    strong, weak = planned([("C000001H", "1"), ("C000002F", "1")], 5_000.0, holds, by_alcohol=True)
    assert (strong.volume_ml, weak.volume_ml) == (pytest.approx(2_000, rel=1e-6), pytest.approx(3_000, rel=1e-6))
    assert strong.liquid.ethanol_mg == pytest.approx(weak.liquid.ethanol_mg, rel=1e-6)
    assert pure_alcohol_ml(strong.liquid) == pytest.approx(1_200, rel=1e-6)
    assert volume_ml(weak.liquid) == pytest.approx(3_000, rel=1e-6)


def test_what_has_no_alcohol_has_no_part_of_it():
    """Water brings none, and no volume of water brings a part; an empty glass is named."""
    known = strengths_of({"V000001R": liquid_of_volume(100, 50.0), "V000002P": liquid_of_volume(100, 0.0)})
    shares = {"V000001R": Fraction(1, 2), "V000002P": Fraction(1, 4), "water": Fraction(1, 4)}
    assert by_pure_alcohol(shares, known) == {"V000001R": 1, "V000002P": 0, "water": 0}
    with pytest.raises(NotThere, match="V-000002-P, water: no alcohol"):
        by_volume(shares, known)
    with pytest.raises(NotThere, match="no alcohol in the blend"):
        by_pure_alcohol({"water": Fraction(1)}, known)
