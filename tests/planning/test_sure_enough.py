"""How sure a plan is: against a plain simulation that pours it again and again, closed forms, and cases by hand."""

import random
from dataclasses import replace
from math import asin, inf, pi, sqrt

import pytest

from pourbook.planning.blend import Take, blended
from pourbook.planning.casks import Cask
from pourbook.planning.recipe import Heel, House, InVat, Limits, Part, Recipe, Target
from pourbook.planning.sure_enough import Held, how_sure
from pourbook.uncertainty.instrument_errors import instrument_errors
from pourbook.uncertainty.propagation import Uncertain

METER = instrument_errors("meter", limit_part=0.005)
"""Half a per cent, as accuracy class 0.5 of OIML R 117 has it (not checked against the standard)."""

RECIPE = Recipe(
    {"rich": Part(12.0, 10.0, 13.0), "base": Part(88.0, 86.0, 91.0)},
    Target(1300.0, 46.0, 1280.0, 1330.0),
    Limits(least_strength_before=58.6, vat_l=1345.0, least_left_l=40.0),
    House(90.9),
    losses={"filter": 0.5},
)


def a_house(seed, basis="volume"):
    """Casks, takes with one part cask, and what is known of each: rod and hydrometer are shared, the air is not."""
    chance = random.Random(seed)
    names = ["rich", "base", "base", "base", "base", "base"]
    casks = [Cask(f"C{at}", name, chance.uniform(150, 215), chance.uniform(57, 61)) for at, name in enumerate(names)]
    casks[0] = casks[0]._replace(volume_l=chance.uniform(112, 124))
    takes = [Take(one.ref, one.volume_l, whole=True) for one in casks[:-1]]
    takes.append(Take("C5", casks[-1].volume_l - 45.0, whole=False))
    rod = instrument_errors("rod", limit_part=0.004, division=2.0)
    hydrometer = instrument_errors("hydrometer", limit=0.15, division=0.1)
    held = {}
    for one in casks:
        air = Uncertain(0.0, {f"air {one.ref}": chance.uniform(0.3, 4.0)})
        held[one.ref] = Held(
            rod.reading(one.volume_l, one.ref) + air,
            hydrometer.reading(one.strength_vol, one.ref) + Uncertain(0.0, {f"air {one.ref}": chance.uniform(-0.2, 0)}),
        )
    return RECIPE._replace(basis=basis), casks, takes, held


class Cellar:
    """Errors drawn anew for each time, by the law of each source; not the program's draws."""

    def __init__(self, seed):
        self.chance = random.Random(seed)

    def again(self):
        """Another time."""
        self.errors = {}

    def true(self, figure):
        """What a figure is this time."""
        moved = 0.0
        for name, share in figure.sources.items():
            if name not in self.errors:
                count = figure.rectangles.get(name, 0)
                parts = [self.chance.uniform(-sqrt(3), sqrt(3)) for _ in range(count)]
                self.errors[name] = sum(parts) / sqrt(count) if count else self.chance.gauss(0.0, 1.0)
            moved += share * self.errors[name]
        return figure.value + moved


def simulated(recipe, casks, takes, held, times):
    """In which part of so many times each limit, and all of them, are kept, with nothing made linear."""
    cellar, kept = Cellar(7), {}
    water = METER.reading(1000 * blended(recipe, casks, takes).water_l, "for water") * 0.001
    for _ in range(times):
        cellar.again()
        true = {one.ref: one._replace(volume_l=cellar.true(held[one.ref].volume_l)) for one in casks}
        true = {ref: one._replace(strength_vol=cellar.true(held[ref].strength_vol)) for ref, one in true.items()}
        poured = [
            Take(
                one.ref,
                true[one.ref].volume_l
                if one.whole
                else cellar.true(METER.reading(1000 * one.volume_l, f"for {one.ref}")) / 1000,
                one.whole,
            )
            for one in takes
        ]  # fmt: skip
        blend = blended(recipe, true.values(), poured)
        reduced = Heel(cellar.true(water), 0.0, {})
        wet = blended(recipe._replace(heel=reduced, losses={}), true.values(), poured)
        after, litres = wet.strength_before, wet.reduced_l * 46.0 / wet.strength_before
        last = true["C5"].volume_l - poured[-1].volume_l
        limits = {
            "components.rich": 10.0 <= 100 * blend.fractions["rich"] <= 13.0,
            "components.base": 86.0 <= 100 * blend.fractions["base"] <= 90.9,
            "limits.least_strength_before": blend.strength_before >= 58.6,
            "target.strength_20c": 45.7 <= after <= 46.3,
            "target.volume_l": 1280.0 <= litres * 0.995 <= 1330.0,
            "limits.vat_l": litres <= 1345.0,
            "limits.least_left_l": last >= 40.0,
        }
        limits["together"] = all(limits.values())
        for name, is_kept in limits.items():
            kept[name] = kept.get(name, 0) + is_kept / times
    return kept


@pytest.mark.parametrize(("seed", "basis"), [(1, "volume"), (4, "alcohol"), (9, "volume")])
def test_it_is_what_pouring_again_and_again_finds(seed, basis):
    """Two thousand times: chances agree within three standard errors, 3.4 % at the most, and the rounding of draws."""
    recipe, casks, takes, held = a_house(seed, basis)
    found = how_sure(recipe, casks, takes, held, METER)
    plain = simulated(recipe, casks, takes, held, 2000)
    chances = {one.demand: one.chance for one in found.limits} | {"together": found.together}
    assert chances == pytest.approx(plain, abs=0.035)
    assert any(0.05 < chance < 0.95 for chance in chances.values())  # something was at stake


def edges(correlated):
    """Two part casks' rests, each right at its limit; their volumes share this part of their variance."""
    recipe = Recipe({"base": Part(100.0)}, Target(200.0, 50.0), Limits(least_left_l=50.0))
    casks = [Cask(ref, "base", 150.0, 60.0) for ref in "AB"]
    takes = [Take(ref, 100.0, whole=False) for ref in "AB"]
    held = {
        ref: Held(
            Uncertain(150.0, {"shared": sqrt(correlated), f"own {ref}": sqrt(1 - correlated)}), Uncertain(60.0)
        )
        for ref in "AB"
    }  # fmt: skip
    return how_sure(recipe, casks, takes, held, instrument_errors("exact meter"))


@pytest.mark.parametrize("correlated", [0.0, 0.5, 0.9])
def test_shared_errors_make_limits_hold_together(correlated):
    """Two normal figures at their limits are both within with 1/4 + arcsin(r) / 2π (Sheppard, 1899, as quoted)."""
    found = edges(correlated)
    rests = [one for one in found.limits if one.demand == "limits.least_left_l"]
    assert [one.chance for one in rests] == pytest.approx([0.5, 0.5])
    assert found.together == pytest.approx(0.25 + asin(correlated) / (2 * pi), abs=0.01)
    assert {ref for ref, _ in rests[0].matters} == {"A", "shared"} - ({"shared"} if not correlated else set())


def test_a_plan_at_its_edge_is_told_how_far_inside_is_sure():
    """One normal error at one end: half; for 95 % it must lie 1.645 standard uncertainties inside."""
    rest = edges(0.0).limits[-1]
    assert rest.tightened == (pytest.approx(51.645, abs=0.001), inf)
    assert edges(0.0).limits[0].demand == "target.strength_20c"


def test_what_is_exact_is_sure():
    """Without any error every limit is kept, also one that the plan meets exactly."""
    recipe, casks, takes, held = a_house(1)
    recipe = recipe._replace(components={"rich": Part(12.0), "base": Part(88.0)}, house=House())
    sure = {ref: Held(Uncertain(one.volume_l.value), Uncertain(one.strength_vol.value)) for ref, one in held.items()}
    found = how_sure(recipe._replace(limits=Limits(least_left_l=45.0)), casks, takes, sure, instrument_errors("exact"))
    rest = found.limits[-1]
    assert (rest.ref, rest.figure.value, rest.chance, rest.tightened) == ("C5", pytest.approx(45.0), 1.0, (45.0, inf))


def test_a_tolerance_narrower_than_the_errors_has_no_inside():
    """Rich between 11.99 and 12.01 % cannot be had with a rod read to 2 l."""
    recipe, casks, takes, held = a_house(1)
    recipe = recipe._replace(components={"rich": Part(12.0, 11.99, 12.01), "base": Part(88.0)})
    assert how_sure(recipe, casks, takes, held, METER).limits[0].tightened is None


def test_the_cask_that_errs_most_is_gauged_first():
    """One cask is known to 6 l, the others to half a litre: it matters most, and gauging it helps most."""
    recipe = Recipe({"rich": Part(12.0, 11.5, 12.5), "base": Part(88.0)}, Target(1000.0, 46.0))
    casks = [Cask("R", "rich", 120.0, 60.0), *(Cask(f"B{at}", "base", 220.0, 60.0) for at in range(4))]
    takes = [Take(one.ref, one.volume_l, whole=True) for one in casks]
    held = {one.ref: Held(Uncertain(one.volume_l, {f"gauge {one.ref}": 0.5}), Uncertain(60.0)) for one in casks}
    held["R"] = held["R"]._replace(volume_l=Uncertain(120.0, {"gauge R": 6.0}))
    anew = {ref: one._replace(volume_l=replace(one.volume_l, sources={f"new {ref}": 0.5})) for ref, one in held.items()}
    found = how_sure(recipe, casks, takes, held, METER, regauged=anew)
    assert found.limits[0].matters[0][0] == "R"
    assert found.limits[0].matters[0][1] > 0.98
    assert [one.ref for one in found.regauge] == ["R"]
    assert found.regauge[0].together > 0.95 > found.together


def test_the_heel_and_what_was_poured_are_taken_as_exact():
    """And said to be; they count in the parts as in the plan."""
    recipe, casks, takes, held = a_house(1)
    recipe = recipe._replace(heel=Heel(100.0, 46.0, {"rich": 12.0, "base": 88.0}), in_vat=(InVat("base", 150.0, 59.0),))
    found = how_sure(recipe, casks, takes, held, METER)
    assert found.exact == ("the heel", "what is in the vat")
    blend = blended(recipe, casks, takes)
    figures = {one.demand: one.figure.value for one in found.limits}
    assert figures["components.rich"] == pytest.approx(100 * blend.fractions["rich"])
    assert figures["limits.least_strength_before"] == pytest.approx(blend.strength_before)
    assert figures["target.strength_20c"] == pytest.approx(46.0, abs=1e-6)
    assert figures["target.volume_l"] == pytest.approx(blend.volume_l)
    assert figures["limits.vat_l"] == pytest.approx(blend.reduced_l)
