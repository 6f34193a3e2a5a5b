"""Recipes as bench pours: exact fractions, nothing poured that is not there, figures by hand."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.alcoholometry.mixing import mix
from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.bench.trials import differences, fractions, liquid_of_volume, planned
from pourbook.errors import Malformed, NotThere, OutOfRange
from pourbook.liquid import Liquid

ETHANOL_KG_M3 = 789.24
"""Density of ethanol at 20 °C: OIML R 22, general formula at p = 1."""
WATER_KG_M3 = 998.20
"""Density of water at 20 °C: OIML R 22, the constant A1 of the general formula."""

BASE = Liquid(90_000_000, 50_000_000)
ACCENT = Liquid(180_000, 95_000, 900)

parts_typed = st.decimals(Decimal("0.001"), Decimal(9999), places=3).map(str)
liquids = st.builds(
    lambda mass, ethanol, extract: Liquid(mass, mass * ethanol // 1000, mass * extract // 1000),
    st.integers(1_000_000, 10**12),
    st.integers(0, 900),
    st.integers(0, 90),
)


@given(st.lists(parts_typed, min_size=1, max_size=12))
def test_fractions_add_to_one_exactly(parts):
    """Whatever parts are typed, the fractions are exact and add to one."""
    found = fractions((f"V{number:06d}", text) for number, text in enumerate(parts))
    assert sum(found.values()) == 1
    assert [fraction / sum(map(Fraction, parts)) for fraction in map(Fraction, parts)] == list(found.values())


def test_parts_need_not_add_to_a_hundred():
    """7 and 2 and 1 are seven, two and one tenths."""
    found = fractions([("V000001R", "7"), ("V000002P", "2"), ("water", "1")])
    assert found == {"V000001R": Fraction(7, 10), "V000002P": Fraction(1, 5), "water": Fraction(1, 10)}


def test_parts_in_the_writing_of_the_house():
    """A house that writes commas types commas."""
    assert fractions([("V000001R", "2,5"), ("water", "7,5")], ",")["V000001R"] == Fraction(1, 4)


@pytest.mark.parametrize(
    ("parts", "refusal"),
    [
        ([], Malformed),
        ([("V000001R", "7"), ("V000001R", "3")], Malformed),
        ([("V000001R", "a drop")], Malformed),
        ([("V000001R", "0")], OutOfRange),
        ([("V000001R", "-1"), ("water", "2")], OutOfRange),
    ],
    ids=["nothing", "a component twice", "no number", "nothing of it", "less than nothing"],
)
def test_a_recipe_that_cannot_be_poured(parts, refusal):
    """Refused before anything is computed."""
    with pytest.raises(refusal):
        fractions(parts)


@given(liquids, st.floats(0.001, 0.999))
def test_a_volume_of_a_liquid_is_that_liquid(liquid, part):
    """So much of it by volume has its composition, to the milligram, and that volume."""
    wanted = volume_ml(liquid) * part
    taken = liquid_of_volume(wanted, liquid)
    # Three amounts rounded to the milligram; the lightest spirit is 0.789 mg to the microlitre.
    assert volume_ml(taken) == pytest.approx(wanted, abs=0.004)
    assert taken.ethanol_mg == pytest.approx(liquid.ethanol_mg * taken.mass_mg / liquid.mass_mg, abs=1)
    assert taken.extract_mg == pytest.approx(liquid.extract_mg * taken.mass_mg / liquid.mass_mg, abs=1)


def test_a_volume_of_nothing_in_particular_is_water():
    """100 ml of water at 20 °C weigh what the formula says."""
    assert liquid_of_volume(100.0, Liquid(0, 0)) == Liquid(round(WATER_KG_M3 * 100), 0)


def test_a_plan_pours_each_fraction_of_the_total():
    """Volumes are fractions of the total, in the recipe's order, and what is left is what was held less that."""
    pours = planned(
        [("C000001H", "80"), ("V000002P", "15"), ("water", "5")], 120.0, {"C000001H": BASE, "V000002P": ACCENT}
    )
    assert [pour.component for pour in pours] == ["C000001H", "V000002P", "water"]
    assert [pour.volume_ml for pour in pours] == pytest.approx([96.0, 18.0, 6.0])
    assert [pour.left_ml for pour in pours[:2]] == pytest.approx([volume_ml(BASE) - 96, volume_ml(ACCENT) - 18])
    assert pours[2].left_ml is None


def test_what_the_blend_will_be_by_hand():
    """Ethanol is ethanol of the parts; strength is its volume in the volume of the whole."""
    pours = planned([("C000001H", "3"), ("water", "1")], 400.0, {"C000001H": BASE})
    whole = mix([pour.liquid for pour in pours])
    ethanol_ml = pours[0].liquid.ethanol_mg / ETHANOL_KG_M3
    assert whole.ethanol_mg == pours[0].liquid.ethanol_mg
    assert strength_20c(whole) == pytest.approx(100 * ethanol_ml / volume_ml(whole), abs=0.0005)
    assert volume_ml(whole) < 400.0, "spirit and water take less room together"


def test_every_component_that_falls_short_is_named():
    """The blender learns of both samples at once."""
    holds = {"V000001R": Liquid(10_000, 5_000), "V000002P": ACCENT}
    with pytest.raises(NotThere, match=r"V-000001-R holds .* ml of 100\.0 ml; V-000002-P holds .* of 300\.0 ml"):
        planned([("V000001R", "1"), ("V000002P", "3")], 400.0, holds)


def test_an_empty_sample_is_named_too():
    """Nothing is not enough of anything."""
    with pytest.raises(NotThere, match="V-000001-R"):
        planned([("V000001R", "1"), ("water", "1")], 100.0, {"V000001R": Liquid(0, 0)})


def test_two_trials_side_by_side():
    """The largest change comes first; a component of one trial only counts as nothing in the other."""
    found = differences({"V000001R": 70.0, "V000002P": 30.0}, {"V000001R": 45.0, "V000003N": 5.0})
    assert [(row.component, round(row.change, 3)) for row in found] == [
        ("V000002P", -0.3),
        ("V000001R", 0.2),
        ("V000003N", 0.1),
    ]


poured = st.dictionaries(
    st.sampled_from(["V000001R", "V000002P", "V000003N", "water"]), st.floats(0.5, 900), min_size=1
)


@given(poured, poured)
def test_what_one_trial_gains_the_other_parts_lose(first, second):
    """Changes of fractions add to nothing, and the comparison the other way round is their opposite."""
    forth, back = differences(first, second), differences(second, first)
    assert sum(row.change for row in forth) == pytest.approx(0, abs=1e-12)
    opposite = {row.component: -row.change for row in back}
    assert {row.component: row.change for row in forth} == pytest.approx(opposite)
