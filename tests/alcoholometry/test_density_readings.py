"""Densities as typed: against tables printed in air and at other temperatures.

USP 29, alcoholometric table (NBS data): gravity in air at 60/60 °F and 25/25 °C of % vol at 60 °F (read; four decimals,
so half a digit of slack and 0.00004 for its ethanol, as in test_published.py). Canadian Alcoholometric Table 1996:
pure ethanol 788.15899 kg/m3 in air (read).
"""

import pytest
from command import here
from hypothesis import given
from hypothesis import strategies as st

from pourbook.alcoholometry.density import SIXTY_F_C, density_kg_m3
from pourbook.alcoholometry.density_readings import in_air, read_density
from pourbook.alcoholometry.strength import mass_fraction_from_density, mass_fraction_from_strength
from pourbook.errors import Malformed


@pytest.mark.parametrize(
    ("gravity", "temperatures", "percent"),
    [("0.9970", "60/60", 2), ("0.9843", "60/60", 12), ("0.9914", "25/25", 6), ("0.9862", "25/25", 10)],
)
def test_gravities_in_air_as_printed(gravity, temperatures, percent):
    """USP 29: what has that gravity has that strength."""
    read = read_density(f"{gravity} sg {temperatures} air")
    expected = density_kg_m3(mass_fraction_from_strength(percent, SIXTY_F_C), read.at_c)
    assert read.kg_m3 == pytest.approx(expected, abs=0.09)
    assert read.at_c == pytest.approx(SIXTY_F_C if temperatures == "60/60" else 25.0)


def test_ethanol_in_air():
    """788.15899 kg/m3 by the Canadian table of 1996, which seems to take air of 1.198: 0.002 of slack."""
    assert in_air(density_kg_m3(1.0)) == pytest.approx(788.15899, abs=0.003)
    assert read_density("788.159 air").kg_m3 == pytest.approx(density_kg_m3(1.0), abs=0.003)


@given(st.floats(780, 1300))
def test_there_and_back(density):
    """In air and in vacuum, to the last digits."""
    assert read_density(f"{in_air(density)!r} kg/m3 in air").kg_m3 == pytest.approx(density, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kg_m3", "at_c"),
    [
        ("900.1", 900.1, None),
        ("900.1 vacuum", 900.1, None),
        ("900,1", 900.1, None),
        ("0.9001 g/cm3", 900.1, None),
        ("0.95 sg", 0.95 * density_kg_m3(0.0, 20.0), 20.0),
        ("0.95 sg 20/4", 0.95 * density_kg_m3(0.0, 4.0), 20.0),
        ("0.95 sg 15/15 C", 0.95 * density_kg_m3(0.0, 15.0), 15.0),
        ("0.95 sg 60/60 F", 0.95 * density_kg_m3(0.0, SIXTY_F_C), SIXTY_F_C),
        ("0.95 specific gravity 60/60", 0.95 * density_kg_m3(0.0, SIXTY_F_C), SIXTY_F_C),
    ],
)
def test_what_a_density_says(text, kg_m3, at_c):
    """Units, temperatures, and in vacuum unless it says air; water by OIML R 22."""
    read = read_density(text)
    assert (read.kg_m3, read.at_c) == (pytest.approx(kg_m3), at_c and pytest.approx(at_c))
    assert not read.is_in_air


@pytest.mark.parametrize("text", ["0.95 sp", "900 lb", "0.95 sg 20", "0.95 sg warm", "0.95 sg 6.0.0/20"])
def test_what_says_nothing_is_refused(text):
    """With how to write it."""
    with pytest.raises(Malformed, match="is not a density known here"):
        read_density(text)


def test_two_things_said_at_once():
    """In air by its words and in vacuum by the option; at 20 by the gravity and at 14 by the thermometer."""
    with pytest.raises(Malformed, match="says in air"):
        read_density("900 air", in_air=False)
    with pytest.raises(Malformed, match="is of a liquid at 20"):
        read_density("0.95 sg").sample_c(14.0)


def test_both_densities_are_printed_and_either_is_read():
    """40 % vol at 20 °C: 948.05 kg/m3 in vacuum (OIML R 22), 947.0 in air; either gives 40 % vol back."""
    shown = here("density", "--strength", "40", "--json").done().json
    assert shown["density_kg_m3"] == pytest.approx(948.05, abs=0.01)
    for option, name in (("--in-vacuum", "density_kg_m3"), ("--in-air", "density_in_air_kg_m3")):
        found = here("strength", "--density", repr(shown[name]), option, "--json").done().json
        assert found["strength_20c"] == pytest.approx(40.0, abs=1e-6)
    said = here("density", "--strength", "40").done().out
    assert "°C, in vacuum" in said
    assert "density in air" in said


def test_a_gravity_brings_its_temperature_along():
    """0.9843 at 60/60 °F in air is 12 % vol at 60 °F; USP 29."""
    found = here("strength", "--density", "0.9843 sg 60/60 air", "--json").done().json
    assert found["temperature_c"] == pytest.approx(SIXTY_F_C)
    fraction = mass_fraction_from_density(found["density_kg_m3"], SIXTY_F_C)
    assert fraction == pytest.approx(mass_fraction_from_strength(12.0, SIXTY_F_C), abs=0.0006)
    refused = here("strength", "--density", "0.9843 sg 60/60", "--temperature", "20")
    assert "is of a liquid at 15.56 °C" in refused.err
