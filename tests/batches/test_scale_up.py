"""A trial as a batch: the same fractions from real casks; heel, reduction and short casks by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.alcoholometry.mixing import mix
from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.batches.scale_up import BatchPart, apportioned, scaled, scaled_to, to_pour
from pourbook.bench.trials import liquid_of_volume
from pourbook.errors import NotThere, Refused
from pourbook.liquid import Liquid

ETHANOL_KG_M3 = 789.24
"""Density of ethanol at 20 °C: OIML R 22, general formula at p = 1."""

C1, C2, C3, B1 = "C000001H", "C000002F", "C000003D", "B000001Y"
STRONG = Liquid(180_000_000, 100_000_000)
WEAK = Liquid(150_000_000, 62_000_000, 400_000)
HEEL = Liquid(40_000_000, 15_000_000)
HOLDS = {C1: STRONG, C2: WEAK, C3: Liquid(60_000_000, 31_000_000), B1: HEEL}


def parts(fractions, casks=None):
    """Parts of a batch: each component from the casks named for it, or from itself."""
    return [BatchPart(one, (casks or {}).get(one, (one,)), fraction) for one, fraction in fractions.items()]


def volumes(plan):
    return {(pull.source, pull.component): pull.volume_ml for pull in plan.pulls}


def test_fractions_stay_those_that_were_poured():
    """Each component gives its fraction of the total."""
    plan = scaled(parts({C1: 0.7, C2: 0.2, "water": 0.1}), 100_000, HOLDS)
    assert volumes(plan) == pytest.approx({(C1, C1): 70_000, (C2, C2): 20_000, ("water", "water"): 10_000})
    assert plan.pulls[0].left_ml == pytest.approx(volume_ml(STRONG) - 70_000)


def test_the_batch_is_the_sum_of_what_is_poured():
    """Masses add to the milligram; volumes shrink by the contraction."""
    plan = scaled(parts({C1: 0.7, "water": 0.3}), 100_000, HOLDS)
    assert plan.whole == sum((pull.liquid for pull in plan.pulls), Liquid(0, 0))
    assert volume_ml(plan.whole) == pytest.approx(100_000 - plan.contraction_ml, abs=0.01)
    assert plan.contraction_ml > 0


def test_several_casks_give_in_proportion_to_what_they_hold():
    """Casks that stand for one component are drawn down alike."""
    plan = scaled(parts({"V000001R": 1.0}, {"V000001R": (C1, C3)}), 120_000, HOLDS)
    found = volumes(plan)
    assert sum(found.values()) == pytest.approx(120_000)
    part = {cask: found[cask, "V000001R"] / volume_ml(HOLDS[cask]) for cask in (C1, C3)}
    assert part[C1] == pytest.approx(part[C3])


def test_a_heel_counts_towards_the_total():
    """It comes first, and the rest keeps its fractions among itself."""
    plan = scaled(parts({C1: 0.75, C2: 0.25}), 100_000, HOLDS, (B1, 20_000.0))
    assert plan.pulls[0].component == "heel"
    assert volumes(plan) == pytest.approx({(B1, "heel"): 20_000, (C1, C1): 60_000, (C2, C2): 20_000})


def test_reduction_by_hand():
    """Reduced to 46: pure alcohol over the volume of the whole, the trial's own water left out, added last."""
    plan = scaled(parts({C1: 0.6, C2: 0.3, "water": 0.1}), 90_000, HOLDS, to_strength=46.0)
    assert [pull.component for pull in plan.pulls] == [C1, C2, "reduction"]
    assert volumes(plan)[C1, C1] == pytest.approx(60_000)
    ethanol_ml = sum(pull.liquid.ethanol_mg for pull in plan.pulls) / ETHANOL_KG_M3
    # The water is a whole number of milligrams: no part in a million of the strength.
    assert 100 * ethanol_ml / volume_ml(plan.whole) == pytest.approx(46.0, abs=0.0005)
    assert strength_20c(plan.whole) == pytest.approx(46.0, abs=0.00005)


def test_a_cask_that_gives_for_two_components_is_counted_once():
    """What it keeps is what it held less all that it gives."""
    plan = scaled(parts({"V000001R": 0.5, "V000002P": 0.5}, {"V000001R": (C1,), "V000002P": (C1, C2)}), 100_000, HOLDS)
    of_it = [pull for pull in plan.pulls if pull.source == C1]
    kept_ml = volume_ml(STRONG) - sum(pull.volume_ml for pull in of_it)
    assert [pull.left_ml for pull in of_it] == pytest.approx([kept_ml, kept_ml])


def test_a_cask_cannot_give_the_same_liquid_twice():
    """Enough for either component and not for both is refused."""
    half = volume_ml(STRONG) * 0.6
    with pytest.raises(NotThere, match=r"C-000001-H holds .* wanted in all"):
        scaled(parts({"V000001R": 0.5, "V000002P": 0.5}, {"V000001R": (C1,), "V000002P": (C1,)}), 2 * half, HOLDS)


def test_a_cask_may_be_emptied_to_the_last_drop():
    """All that is there is not more than is there, in one pull or in two."""
    whole = volume_ml(STRONG)
    for fractions in ({C1: 1.0}, {"V000001R": 0.3, "V000002P": 0.7}):
        plan = scaled(parts(fractions, dict.fromkeys(fractions, (C1,))), whole, HOLDS)
        assert plan.pulls[-1].left_ml == pytest.approx(0, abs=0.01)
        assert plan.whole.mass_mg == pytest.approx(STRONG.mass_mg, abs=len(fractions))


def test_every_component_that_falls_short_is_named():
    """The blender learns of both at once."""
    with pytest.raises(NotThere, match=r"C-000001-H needs 300\.00 l, but .*; C-000002-F needs 300\.00 l"):
        scaled(parts({C1: 0.5, C2: 0.5}), 600_000, HOLDS)


@pytest.mark.parametrize("heel_ml", [100_000.0, 120_000.0])
def test_a_heel_that_is_the_batch_is_refused(heel_ml):
    """There must be something to carry it into."""
    with pytest.raises(Refused, match="heel"):
        scaled(parts({C1: 1.0}), 100_000, HOLDS, (B1, heel_ml))


def test_a_heel_of_nothing_is_refused():
    """An empty vat leaves no heel; a pour of nothing is not recorded."""
    with pytest.raises(NotThere, match="B-000001-Y is empty"):
        scaled(parts({C1: 1.0}), 100_000, HOLDS, (B1, 0.0))


def test_a_heel_larger_than_the_vat_is_refused():
    """The heel comes from what the old batch holds."""
    with pytest.raises(NotThere, match="B-000001-Y holds"):
        scaled(parts({C1: 1.0}), 100_000, HOLDS, (B1, 60_000.0))


@pytest.mark.parametrize(("heel_ml", "strength"), [(0.0, 46.0), (0.0, None), (20_000.0, 46.0), (20_000.0, 40.0)])
def test_a_batch_is_made_to_the_volume_that_is_wanted(heel_ml, strength):
    """150 l when all is in, and not 150 l poured; at 46 % vol, 69 l of it are pure alcohol."""
    heel = (B1, heel_ml) if heel_ml else None
    plan = scaled_to(150_000.0, lambda ml: scaled(parts({C1: 0.7, C2: 0.3}), ml, HOLDS, heel, strength), heel_ml)
    assert volume_ml(plan.whole) == pytest.approx(150_000, abs=0.5)
    if strength:
        assert plan.whole.ethanol_mg / ETHANOL_KG_M3 == pytest.approx(1500 * strength, abs=0.5)


def test_a_batch_smaller_than_its_heel_is_refused():
    """There must be something to carry it into."""
    with pytest.raises(Refused, match="heel"):
        scaled_to(20_000.0, lambda ml: scaled(parts({C1: 1.0}), ml, HOLDS, (B1, 30_000.0)), 30_000.0)


expected = st.dictionaries(st.sampled_from([C1, C2, C3, B1]), st.integers(0, 10**12), min_size=1).filter(
    lambda found: sum(found.values()) > 0
)


@given(st.integers(0, 10**12), expected)
def test_what_a_vat_measured_is_shared_out_to_the_milligram(total, expected):
    """Shares add to the total exactly, and none is a milligram from its proportion."""
    shares = apportioned(total, expected)
    whole = sum(expected.values())
    assert sum(shares.values()) == total
    assert list(shares) == list(expected)
    for cask, share in shares.items():
        assert abs(share * whole - total * expected[cask]) <= whole


def test_nothing_expected_cannot_be_shared_out():
    """Casks that the book holds empty give no proportion."""
    with pytest.raises(Refused, match="empty"):
        apportioned(1_000, {C1: 0, C2: 0})


@given(fractions=st.lists(st.floats(0.01, 1), min_size=2, max_size=3), total_l=st.floats(20, 90))
def test_what_a_cellar_reads_is_no_less_than_the_plan(fractions, total_l):
    """Litres of each cask are rounded up by less than 10 ml, and the water reduces that to the same strength."""
    wanted = dict(zip((C1, C2, C3), fractions, strict=False))
    plan = scaled(parts({cask: part / sum(fractions) for cask, part in wanted.items()}), total_l * 500, HOLDS, None, 46)
    litres = {source: float(one) for source, (one, _) in to_pour(plan).items()}
    for pull in plan.pulls[:-1]:
        assert -1e-6 <= litres[pull.source] * 1000 - pull.volume_ml <= 10
    whole = mix([liquid_of_volume(litres[pull.source] * 1000, pull.liquid) for pull in plan.pulls])
    assert strength_20c(whole) == pytest.approx(46.0, abs=0.0005)
    assert volume_ml(whole) >= volume_ml(plan.whole) - 0.01
