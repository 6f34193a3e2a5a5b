"""What remains to be poured when a source fell short or gave too much: in proportion, or to the same total."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pourbook.alcoholometry.volumes import liquid_of_volume, pure_alcohol_ml, strength_20c, volume_ml
from pourbook.bench.beside_plan import Target, rests
from pourbook.bench.trials import WATER
from pourbook.liquid import EMPTY

C1, C2, C3 = "C000001H", "C000002F", "C000003D"


def cask(name, planned_l, poured_l, left_l, strength=60.0):
    """A cask beside its plan."""
    held = liquid_of_volume(left_l * 1000, strength) if left_l else EMPTY
    planned = liquid_of_volume(planned_l * 1000, strength)
    return Target(name, planned_l * 1000, poured_l * 1000, planned=planned, held=held)


def there(*targets):
    """What was poured already, at the strength that was planned."""
    return sum((one.of_it(one.poured_ml) for one in targets if one.poured_ml), EMPTY)


def litres(rest):
    return {component: round(ml / 1000, 3) for component, ml in rest.to_go_ml.items()}


def test_as_planned_there_is_one_way():
    """What is to go is what is planned less what was poured."""
    targets = cask(C1, 100, 100, 20), cask(C2, 50, 0, 80)
    (rest,) = rests(targets, there(*targets))
    assert (rest.keeps, litres(rest)) == ("plan", {C1: 0, C2: 50})


def test_a_cask_that_runs_dry_by_hand():
    """90 of 100 l: the second gives 45 of 50 l in proportion, or 60 l to the total of 150 l."""
    targets = cask(C1, 100, 90, 0), cask(C2, 50, 0, 200)
    proportions, total = rests(targets, there(*targets))
    assert (proportions.keeps, litres(proportions)) == ("proportions", {C1: 0, C2: 45})
    assert (total.keeps, litres(total)) == ("total", {C1: 0, C2: 60})
    assert volume_ml(total.makes) == pytest.approx(150_000, abs=1)


def test_too_much_of_one_by_hand():
    """110 of 100 l: the second gives 55 l in proportion, or 40 l to the total."""
    targets = cask(C1, 100, 110, 20), cask(C2, 50, 0, 200)
    assert [(rest.keeps, litres(rest)[C2]) for rest in rests(targets, there(*targets))] == [
        ("proportions", 55),
        ("total", 40),
    ]


def test_proportions_are_lost_where_another_has_given_its_part():
    """C-1 gave all of its part, so a short C-2 leaves only the total."""
    targets = cask(C1, 100, 100, 50), cask(C2, 50, 40, 0)
    assert [(rest.keeps, litres(rest)) for rest in rests(targets, there(*targets))] == [("total", {C1: 10, C2: 0})]


def test_the_total_is_lost_where_nothing_is_left():
    """Both casks are dry."""
    targets = cask(C1, 100, 90, 0), cask(C2, 50, 45, 0)
    (rest,) = rests(targets, there(*targets))
    assert (rest.keeps, litres(rest)) == ("proportions", {C1: 0, C2: 0})


def test_beyond_the_total_water_alone_reaches_the_strength():
    """Both gave more than planned, and not alike: 200 l of 58.5 % vol are 254.35 l at 46 % vol."""
    targets = cask(C1, 50, 120, 0, 60.0), cask(C2, 50, 80, 0, 57.0)
    (rest,) = rests(targets, liquid_of_volume(200_000, 58.5), 46.0)
    assert (rest.keeps, rest.to_go_ml[C1], rest.to_go_ml[C2]) == ("strength", 0, 0)
    assert volume_ml(rest.makes) == pytest.approx(117_000 / 0.46, abs=1)
    assert rests(targets, liquid_of_volume(200_000, 58.5)) == ()


def test_a_trials_own_water_is_a_part_like_any_other():
    """It does not end, and shrinks or grows with the rest."""
    water = Target(WATER, 50_000, 0, planned=liquid_of_volume(50_000, 0.0))
    targets = cask(C1, 100, 80, 0), water
    proportions, total = rests(targets, there(*targets))
    assert (litres(proportions)[WATER], litres(total)[WATER]) == (40, 70)


def test_water_reaches_the_target_strength_from_what_is_there():
    """At 46 % vol, 100 l of 60 % vol are 60 l of pure alcohol in 130.43 l; too strong a cask needs more water."""
    targets = cask(C1, 100, 100, 0), Target(WATER, 30_000, 0, planned=liquid_of_volume(30_000, 0.0))
    (rest,) = rests(targets, liquid_of_volume(100_000, 60.0), 46.0)
    assert volume_ml(rest.makes) == pytest.approx(60_000 / 0.46, abs=1)
    (stronger,) = rests(targets, liquid_of_volume(100_000, 61.0), 46.0)
    assert stronger.to_go_ml[WATER] > rest.to_go_ml[WATER]
    assert strength_20c(stronger.makes) == pytest.approx(46, abs=0.0005)


def test_what_is_weaker_than_wanted_gets_no_water():
    """Nothing is taken out again: what it will be is said."""
    (rest,) = rests((cask(C1, 100, 100, 0, 40.0),), liquid_of_volume(100_000, 40.0), 46.0)
    assert rest.to_go_ml[WATER] == 0
    assert strength_20c(rest.makes) == pytest.approx(40, abs=0.001)


def test_a_source_that_holds_nothing_leaves_the_total_alone():
    """Nothing of everything is in proportion, too, and no batch."""
    targets = cask(C1, 100, 0, 0), cask(C2, 50, 0, 200)
    assert [(rest.keeps, litres(rest)[C2]) for rest in rests(targets, EMPTY)] == [("total", 150)]


@given(
    casks=st.lists(
        st.tuples(st.floats(5, 300), st.floats(0, 1.3), st.floats(0, 2), st.floats(50, 65)), min_size=1, max_size=5
    ),
    percent_vol=st.one_of(st.none(), st.floats(37.5, 48)),
)
def test_every_way_keeps_what_it_says(casks, percent_vol):
    """Whatever was poured and is left: parts stay in proportion or the total is reached; none gives what it lacks."""
    targets = [
        cask(f"C{n:06d}X", planned, planned * poured, planned * left, strength)
        for n, (planned, poured, left, strength) in enumerate(casks)
    ]
    assume(sum(one.poured_ml for one in targets) < sum(one.planned_ml for one in targets))
    poured = there(*targets)
    for rest in rests(targets, poured, percent_vol):
        given_ml = {one.component: one.poured_ml + rest.to_go_ml[one.component] for one in targets}
        for one in targets:
            assert -1e-6 <= rest.to_go_ml[one.component] <= one.held_ml + 1e-6
        if rest.keeps == "proportions":
            parts = [given_ml[one.component] / one.planned_ml for one in targets]
            assert max(parts) <= min(parts) * 1.0102  # as near as a cask is read
        if rest.keeps == "total" and percent_vol is None:
            assert sum(given_ml.values()) == pytest.approx(sum(one.planned_ml for one in targets), rel=1e-6)
        if rest.keeps == "total" and percent_vol is not None:
            planned_ml = sum(pure_alcohol_ml(one.planned) for one in targets) / percent_vol * 100
            assert volume_ml(rest.makes) == pytest.approx(planned_ml, rel=1e-5)
        if percent_vol is not None and rest.makes.mass_mg:
            assert strength_20c(rest.makes) == pytest.approx(percent_vol, abs=0.0005)
