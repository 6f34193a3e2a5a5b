"""Density: an independent formula, the domain, the shape."""

import csv
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook.alcoholometry.density import density_kg_m3
from pourbook.errors import OutOfRange

density_array = np.vectorize(density_kg_m3)
fractions = st.floats(0, 1)
temperatures = st.floats(-20, 40)


def bettin_spieweck(p, t):
    """H. Bettin and F. Spieweck, PTB-Mitteilungen 100 (1990) p. 457: refitted in (p - 0.5)."""
    with (Path(__file__).parent / "bettin_spieweck_1990.csv").open(encoding="utf-8") as file:
        rows = [(r["family"], int(r["i"]), int(r["k"]), float(r["value"])) for r in csv.DictReader(file)]
    x, dt = p - 0.5, t - 20
    terms = {
        "A": lambda i, k: x ** (k - 1),
        "B": lambda i, k: dt**k,
        "C": lambda i, k: x**k * dt**i,
    }
    return sum(value * terms[family](i, k) for family, i, k, value in rows)


def test_the_formula_of_1990_agrees():
    """Two fits to the same field of data, 0 to 40 °C, differ by less than 0.01 kg/m3 (measured 0.0093)."""
    p, t = np.meshgrid(np.linspace(0, 1, 101), np.linspace(0, 40, 41))
    assert np.abs(density_array(p, t) - bettin_spieweck(p, t)).max() < 0.0095


@settings(deadline=None)
@given(fractions, fractions, temperatures)
def test_more_ethanol_is_lighter(p1, p2, t):
    """The density falls with the mass fraction everywhere: by at least 6 kg/m3 per unit."""
    low, high = sorted((p1, p2))
    assert density_kg_m3(low, t) - density_kg_m3(high, t) >= 6.0 * (high - low) - 1e-8


@settings(deadline=None)
@given(fractions, st.floats(4, 40), st.floats(4, 40))
def test_warmer_is_lighter_above_4_degrees(p, t1, t2):
    """Above 4 °C the density falls with temperature for every mixture; below, water's does not."""
    low, high = sorted((t1, t2))
    assert density_kg_m3(p, low) >= density_kg_m3(p, high) - 1e-8


def test_water_is_heaviest_at_4_degrees():
    """Water has its greatest density between 3.9 and 4.1 °C (published tables: 3.98 °C)."""
    grid = np.linspace(0, 10, 1001)
    assert 3.9 < grid[density_array(0.0, grid).argmax()] < 4.1


@pytest.mark.parametrize("p", [-1e-9, 1 + 1e-9, float("nan"), float("inf")])
def test_a_mass_fraction_outside_0_to_1_is_refused(p):
    """The message names value and limits."""
    with pytest.raises(OutOfRange, match=f"mass fraction {p} is outside 0 to 1"):
        density_kg_m3(p)


@pytest.mark.parametrize("t", [-20.001, 40.001, float("nan"), 68.0])
def test_a_temperature_outside_the_formula_is_refused(t):
    """No extrapolation: the message names value and limits."""
    with pytest.raises(OutOfRange, match=f"temperature {t} °C is outside -20 to 40 °C"):
        density_kg_m3(0.4, t)


def test_numpy_is_not_loaded():
    """A fresh interpreter that imports the whole room has not loaded NumPy."""
    room = "pourbook.alcoholometry, pourbook.alcoholometry.hydrometer_reading"
    code = f"import sys, {room}; sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
