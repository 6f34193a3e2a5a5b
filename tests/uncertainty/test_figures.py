"""Figures of the trade with their uncertainty: against exact functions, worked arithmetic and simulation."""

import statistics
from math import hypot, sqrt
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.alcoholometry.apparent import composition_from_hydrometer, density_of, strength_of
from pourbook.alcoholometry.density import SIXTY_F_C
from pourbook.alcoholometry.mixing import mix, water_to_reach
from pourbook.alcoholometry.volumes import liquid_of_volume, mass_mg_in_air
from pourbook.alcoholometry.volumes import pure_alcohol_ml as exact_pure_alcohol_ml
from pourbook.alcoholometry.volumes import strength_20c as exact_strength_20c
from pourbook.alcoholometry.volumes import volume_ml as exact_volume_ml
from pourbook.errors import OutOfRange
from pourbook.liquid import Liquid
from pourbook.uncertainty.figures import (
    mixed,
    of_volume,
    of_weight,
    poured,
    pure_alcohol_ml,
    reduced,
    strength_20c,
    strength_by_density,
    strength_by_hydrometer,
    volume_ml,
    water,
)
from pourbook.uncertainty.instrument_errors import instrument_errors
from pourbook.uncertainty.propagation import Uncertain

HYDROMETER = instrument_errors("hydrometer", limit=0.1, division=0.1)
THERMOMETER = instrument_errors("thermometer", limit=0.5, division=0.5)
SIMULATED = 4000
"""Trials of a simulation: a standard deviation is then known to about 1.1 %."""


# -- the values themselves -----------------------------------------------------------------------


@given(st.floats(1.0, 1e6), st.floats(1.0, 96.0), st.floats(-5.0, 35.0), st.sampled_from([0.0, 5.0]))
def test_the_best_estimates_are_those_of_the_book(volume, percent, celsius, extract):
    """Masses, volume, strength and pure alcohol agree with the exact functions to rounding of a milligram."""
    ours = of_volume(Uncertain(volume, {"dip": volume / 100}), percent, celsius, extract)
    book = liquid_of_volume(volume, percent, celsius, extract)
    assert all(abs(mass - kept) <= 1 for mass, kept in zip(ours.liquid, book, strict=True))
    assert strength_20c(ours).value == pytest.approx(percent)
    assert volume_ml(ours, celsius).value == pytest.approx(volume)
    assert pure_alcohol_ml(ours).value == pytest.approx(exact_pure_alcohol_ml(book), abs=0.002)


def test_a_weighing_in_air():
    """As the book takes it, and in vacuum where it is said."""
    density = density_of(composition_from_hydrometer(40.0, 20.0))
    assert of_weight(1_000_000.0, 40.0).liquid.mass_mg == mass_mg_in_air(1_000_000, density)
    assert of_weight(1_000_000.0, 40.0, in_air=False).liquid.mass_mg == 1_000_000


# -- worked by hand --------------------------------------------------------------------------------


def test_a_hydrometer_at_its_own_temperature():
    """46.0 at 20 °C, ± 0.1 and read to 0.1: 0.1/√3 = 0.0577 and 0.1/√12 = 0.0289, so 0.0645 % vol."""
    found = strength_by_hydrometer(HYDROMETER.reading(46.0, "gauge"), 20.0)
    assert found.value == pytest.approx(46.0)
    assert found.standard == pytest.approx(hypot(0.1 / sqrt(3), 0.1 / sqrt(12)), rel=1e-4)


def test_a_proof_hydrometer_by_the_slopes_of_the_official_table():
    """27 CFR 30.23: 1.1 proof per degree read, 0.2 per °F, both printed to the tenth.

    0.5 proof and 1 °F of uncertainty make √(0.55² + 0.2²) = 0.585 proof, at 60 °F.
    """
    reading = Uncertain(192.82 / 2, {"hydrometer": 0.25})
    at = Uncertain((72.15 - 32) / 1.8, {"thermometer": 1 / 1.8})
    found = strength_by_hydrometer(reading, at, SIXTY_F_C)
    assert 2 * found.sources["hydrometer"] == pytest.approx(0.55, abs=0.025)
    assert 2 * found.sources["thermometer"] == pytest.approx(-0.2, abs=0.05)
    assert 2 * found.standard == pytest.approx(0.585, rel=0.06)


def test_a_density_meter():
    """Alcoholimetric table at 20 °C (second-hand): 948.05 kg/m3 at 40 % vol, 909.11 at 60 % vol.

    Between them 20 / 38.94 = 0.514 % vol per kg/m3; so ± 0.1 kg/m3 is about 0.051 % vol at 50 % vol.
    """
    found = strength_by_density(Uncertain(930.14, {"meter": 0.1}))
    assert found.value == pytest.approx(50.0, abs=0.01)
    assert found.standard == pytest.approx(0.1 * 20 / (948.05 - 909.11), rel=0.03)


def test_pure_alcohol_of_a_cask_by_hand():
    """200 L at 20 °C ± 0.5 L, 60 ± 0.1 % vol: 120 L; 0.6 x 0.5 = 0.3 and 2 x 0.1 = 0.2, so √0.13 = 0.361 L."""
    cask = of_volume(Uncertain(200_000.0, {"dip": 500.0}), Uncertain(60.0, {"hydrometer": 0.1}))
    assert (pure_alcohol_ml(cask) / 1000).shown() == "120.00 ± 0.72 (k = 2)"


def test_an_error_of_volume_does_not_touch_the_strength():
    """Ethanol and total mass err together, so the strength they make does not err at all."""
    cask = of_volume(Uncertain(200_000.0, {"dip": 2000.0}), Uncertain(60.0, {"hydrometer": 0.1}), 15.0)
    assert strength_20c(cask).sources["dip"] == pytest.approx(0.0, abs=1e-9)
    assert strength_20c(cask).standard == pytest.approx(0.1, rel=1e-3)


# -- simulated -------------------------------------------------------------------------------------


def _simulated(draw):
    """Mean and standard deviation of many draws."""
    chance = Random(20260624)
    values = [draw(chance) for _ in range(SIMULATED)]
    return statistics.fmean(values), statistics.stdev(values)


def test_a_hydrometer_gauge_against_simulation():
    """Rectangular errors of hydrometer and thermometer, drawn and gauged: JCGM 101 agrees with JCGM 100 here."""

    def draw(chance):
        reading = 61.8 + chance.uniform(-0.1, 0.1) + chance.uniform(-0.05, 0.05)
        celsius = 15.0 + chance.uniform(-0.5, 0.5) + chance.uniform(-0.25, 0.25)
        return strength_of(composition_from_hydrometer(reading, celsius))

    found = strength_by_hydrometer(HYDROMETER.reading(61.8, "gauge"), THERMOMETER.reading(15.0, "gauge"))
    mean, spread = _simulated(draw)
    assert found.value == pytest.approx(mean, abs=0.01)
    assert found.standard == pytest.approx(spread, rel=0.04)


def _gauge(percent, celsius, label):
    return strength_by_hydrometer(HYDROMETER.reading(percent, label), THERMOMETER.reading(celsius, label))


def test_two_gauges_by_one_hydrometer_and_what_ignoring_it_gets_wrong():
    """A year's loss of pure alcohol: 200.0 L at 63.5 % vol, then 195.0 L at 62.8 % vol, both read by one instrument.

    Its permissible error is the same in both gauges and goes out of the difference but for the 5 L
    that are gone; what is left is rounding. Taken as independent the loss would seem half as
    uncertain again as it is. Simulation says which is right.
    """

    def loss_l(before, after):
        whole = [exact_pure_alcohol_ml(liquid_of_volume(volume, percent)) for volume, percent in (before, after)]
        return (whole[0] - whole[1]) / 1000

    def draw(chance):
        shared = chance.uniform(-0.1, 0.1)
        first, second = (chance.uniform(-0.05, 0.05) for _ in range(2))
        return loss_l((200_000, 63.5 + shared + first), (195_000, 62.8 + shared + second))

    def loss(hydrometer_then, hydrometer_now):
        before = of_volume(200_000.0, strength_by_hydrometer(hydrometer_then.reading(63.5, "then"), 20.0))
        after = of_volume(195_000.0, strength_by_hydrometer(hydrometer_now.reading(62.8, "now"), 20.0))
        return (pure_alcohol_ml(before) - pure_alcohol_ml(after)) / 1000

    one, two = loss(HYDROMETER, HYDROMETER), loss(HYDROMETER, HYDROMETER._replace(name="another"))
    mean, spread = _simulated(draw)
    assert one.value == pytest.approx(mean, abs=0.01)
    assert one.standard == pytest.approx(spread, rel=0.04)
    assert two.standard > 2.0 * spread


def test_a_blend_against_simulation():
    """Two casks gauged by one hydrometer, pours of each by one cylinder: strength and pure alcohol of the blend."""
    cylinder = instrument_errors("cylinder", limit=2.0, spread=1.0)

    def draw(chance):
        hydrometer, measure = chance.uniform(-0.1, 0.1), chance.uniform(-2.0, 2.0)
        parts = []
        for percent, volume in ((63.5, 300.0), (48.0, 150.0)):
            read = percent + hydrometer + chance.uniform(-0.05, 0.05)
            parts.append(liquid_of_volume(volume + measure + chance.gauss(0.0, 1.0), read))
        return mix(parts)

    casks = [of_volume(200_000.0, HYDROMETER.reading(percent, f"{percent}")) for percent in (63.5, 48.0)]
    volumes = [cylinder.reading(volume, f"{volume}") for volume in (300.0, 150.0)]
    blend = mixed(poured(volume, cask) for volume, cask in zip(volumes, casks, strict=True))
    for ours, exact in ((strength_20c, exact_strength_20c), (pure_alcohol_ml, exact_pure_alcohol_ml)):
        mean, spread = _simulated(lambda chance, exact=exact: exact(draw(chance)))
        assert ours(blend).value == pytest.approx(mean, rel=0.001)
        assert ours(blend).standard == pytest.approx(spread, rel=0.04)


def test_reduction_against_simulation():
    """A gauged cask and weighed water: what the reduced spirit will be, and how sure of it one can be."""
    balance = instrument_errors("balance", limit=200_000.0, spread=50_000.0)  # mg
    planned = water_to_reach(liquid_of_volume(200_000, 63.5), 46.0)

    def draw(chance):
        spirit = liquid_of_volume(200_000, 63.5 + chance.uniform(-0.1, 0.1) + chance.uniform(-0.05, 0.05))
        error = chance.uniform(-200_000, 200_000) + chance.gauss(0.0, 50_000)
        return exact_strength_20c(spirit + Liquid(round(planned.mass_mg + error), 0))

    added, after = reduced(of_volume(200_000.0, HYDROMETER.reading(63.5, "gauge")), 46.0, balance)
    mean, spread = _simulated(draw)
    assert added.value == pytest.approx(planned.mass_mg, abs=100)
    assert strength_20c(after).value == pytest.approx(mean, abs=0.005) == pytest.approx(46.0, abs=0.01)
    assert strength_20c(after).standard == pytest.approx(spread, rel=0.04)


# -- what pours share ----------------------------------------------------------------------------------


def test_pours_out_of_one_cask_share_its_gauge():
    """Five pours of 10 mL: the strength is as unsure as the cask's, not by √5 surer; volumes add up in full."""
    cask = of_volume(200_000.0, Uncertain(60.0, {"hydrometer": 0.1}))
    pipette = instrument_errors("pipette", limit=0.05)
    blend = mixed(poured(pipette.reading(10.0, f"pour {number}"), cask) for number in range(5))
    assert strength_20c(blend).standard == pytest.approx(0.1, rel=1e-3)
    assert volume_ml(blend).standard == pytest.approx(5 * 0.05 / sqrt(3), rel=1e-3)


def test_warm_spirit_measured_by_volume():
    """Near 60 % vol a degree changes the volume by about 0.09 % (27 CFR 30.25 prints 0.996 for 8 °F at 115 proof).

    0.004 / 8 °F x 1.8 = 0.0009 per °C; so ± 1 °C is ± 0.18 L of 200 L.
    """
    warm = of_volume(200_000.0, 57.5, Uncertain(20.0, {"thermometer": 1.0}))
    assert (volume_ml(warm) / 1000).standard == pytest.approx(0.18, rel=0.15)


@given(st.floats(0.0, 0.5), st.floats(0.01, 0.5))
def test_a_worse_hydrometer_makes_every_figure_less_sure(limit, more):
    """Strength, mass, volume at 20 °C and pure alcohol."""

    def spreads(allowed):
        at = THERMOMETER.reading(14.0, "gauge")
        read = strength_by_hydrometer(instrument_errors("h", limit=allowed).reading(61.8, "gauge"), at)
        cask = of_volume(200_000.0, read, at)
        return [figure.standard for figure in (read, cask.mass_mg, pure_alcohol_ml(cask))]

    assert all(worse > better for worse, better in zip(spreads(limit + more), spreads(limit), strict=True))


def test_nothing_has_no_strength():
    """An empty liquid is refused; so is reducing it."""
    with pytest.raises(OutOfRange):
        strength_20c(water(0.0))
    with pytest.raises(OutOfRange):
        reduced(water(0.0), 40.0, instrument_errors("balance"))


def test_pure_ethanol_stays_within_the_formula():
    """At 100 % vol an error above cannot be; the one below serves."""
    absolute = of_volume(1000.0, Uncertain(100.0, {"laboratory": 0.1}))
    assert strength_20c(absolute).standard == pytest.approx(0.1, rel=0.01)
    assert exact_volume_ml(absolute.liquid) == pytest.approx(1000.0, abs=0.01)
