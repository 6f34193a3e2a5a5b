"""Amounts, strengths and temperatures as people type them."""

import subprocess
import sys
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.errors import Ambiguous, Malformed, OutOfRange
from pourbook.quantities import (
    UNITS,
    read_amount,
    read_strength,
    read_temperature,
    shown_volume,
    unit_named,
)

# -- amounts ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "volume_ml"),
    [
        ("1 ml", 1),
        ("1 cl", 10),
        ("1 l", 1000),
        ("1 hl", 100_000),
        ("250 µl", Fraction(1, 4)),
        # 231 cubic inches (27 CFR 30.11); the inch is 25.4 mm (NIST SP 811, B.8, exact)
        ("1 gal", 231 * Fraction("2.54") ** 3),
        ("1 us gal", 231 * Fraction("2.54") ** 3),
        # 4.54609 litres (NIST SP 811, B.8, exact)
        ("1 imp gal", Fraction("4546.09")),
    ],
)
def test_factors_of_volume_are_exact(text, volume_ml):
    """In whole fractions, not in floats."""
    assert read_amount(text).volume_ml == volume_ml


@pytest.mark.parametrize(
    ("text", "mass_mg"),
    [
        ("1 mg", 1),
        ("1 g", 1000),
        ("1 kg", 10**6),
        ("1 t", 10**9),
        # 0.45359237 kg, Weights and Measures Act 1985 (UK), section 1(1)(b); an ounce is its sixteenth part
        ("1 lb", 453_592_370 * Fraction(1, 1000)),
        ("16 oz", 453_592_370 * Fraction(1, 1000)),
        ("1 kg air", 10**6),
    ],
)
def test_factors_of_mass_are_exact(text, mass_mg):
    """A weighing in air counts as displayed; buoyancy is corrected where the density is known."""
    assert read_amount(text).mass_mg == mass_mg


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("12.5ml", "ml"),
        (" 12.5 ML ", "ml"),
        ("12.5 mL", "ml"),
        ("3 Litres", "l"),
        ("3 gallons", "gal"),
        ("3 US gallons", "gal"),
        ("3 U.S. gal", "gal"),
        ("3 imperial gallons", "imp gal"),
        ("3\u00a0kg", "kg"),
        ("3 kg in air", "kg air"),
        ("3 kg (air)", "kg air"),
        ("3 lbs air", "lb air"),
        ("3 G AIR", "g air"),
    ],
)
def test_case_spaces_and_plurals_do_not_matter(text, unit):
    """Lenient in reading, one written form; what was typed is kept."""
    amount = read_amount(text)
    assert (amount.unit, amount.typed) == (unit, text.strip())


@given(st.sampled_from(sorted(UNITS)), st.decimals(Decimal("0.001"), 999, places=3))
def test_the_written_form_is_read_back(unit, value):
    """Every unit by its own name."""
    amount = read_amount(f"{value} {unit}")
    assert (amount.value, amount.unit, amount.dimension) == (value, unit, UNITS[unit].dimension)


def test_dimensions_are_told_apart():
    """A volume has no mass without a density, and the other way round."""
    with pytest.raises(Malformed, match="'5 ml' is a volume"):
        _ = read_amount("5 ml").mass_mg
    for text in ("5 g", "5 g air"):
        with pytest.raises(Malformed, match=f"'{text}' is a mass"):
            _ = read_amount(text).volume_ml


def test_a_bare_number_needs_a_default_unit():
    """Without one it is asked; with one it is taken."""
    with pytest.raises(Ambiguous, match="'250' has no unit") as refusal:
        read_amount("250")
    assert "250 ml" in refusal.value.remedy
    assert read_amount("250", default_unit="g").mass_mg == 250_000
    assert read_amount("250 ml", default_unit="g").volume_ml == 250


@pytest.mark.parametrize(
    ("text", "default", "unit"),
    [
        ("53 gal", None, "gal"),
        ("53 gal", "l", "gal"),
        ("53 gal", "imp gal", "imp gal"),
        ("53 us gal", "imp gal", "gal"),
    ],
)
def test_a_gallon_is_a_us_gallon_unless_the_house_says_otherwise(text, default, unit):
    """Only the bare word follows the house."""
    assert read_amount(text, default_unit=default).unit == unit


@pytest.mark.parametrize(
    ("text", "refusal", "message"),
    [
        ("-5 ml", OutOfRange, "negative"),
        ("0 ml", OutOfRange, "zero"),
        ("10000000000 t", OutOfRange, "nine million tonnes"),
        ("10000000000 m3", OutOfRange, "nine million tonnes"),
        ("5 drams", Malformed, "'drams' is not a unit"),
        ("5 ton", Malformed, "'ton' is not a unit"),
        ("5 ml air", Malformed, "'ml air' is not a unit"),
        ("5 air", Malformed, "'air' is not a unit"),
        ("1,5 l", Malformed, "has a comma"),
        ("some", Malformed, "does not begin with a number"),
    ],
)
def test_other_amounts_are_refused(text, refusal, message):
    """With the value and what to do next."""
    with pytest.raises(refusal, match=message) as refused:
        read_amount(text)
    assert refused.value.remedy


def test_zero_is_allowed_where_it_makes_sense():
    """A gauge may find nothing."""
    assert read_amount("0 l", allow_zero=True).volume_ml == 0


def test_amounts_are_written_for_people():
    """Rounded half up, in a unit of their own dimension only."""
    assert shown_volume(Fraction(2469, 2), "l", 3, decimal_mark=",") == "1,235 l"
    assert shown_volume(Fraction(1000, 8), "cl", 1) == "12.5 cl"
    with pytest.raises(Malformed, match="'kg' is not a unit of volume"):
        shown_volume(1, "kg", 0)


def test_a_unit_without_a_name_is_refused():
    """An empty setting is no unit."""
    with pytest.raises(Malformed):
        unit_named("")


# -- strengths -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "scale"),
    [
        ("40", "vol20"),
        ("40%", "vol20"),
        ("40 %", "vol20"),
        ("40 % vol", "vol20"),
        ("40% Vol.", "vol20"),
        ("40 %vol", "vol20"),
        ("40 abv", "vol20"),
        ("40% ABV", "vol20"),
        ("40°", "vol20"),
        ("40 % vol 20C", "vol20"),
        ("40 % vol at 20 °C", "vol20"),
        ("40 % vol 60F", "vol60f"),
        ("40% abv @ 60°F", "vol60f"),
        ("80 proof", "proof60f"),
        ("80° Proof", "proof60f"),
        ("80 US proof", "proof60f"),
    ],
)
def test_strengths_are_read_with_their_reference(text, scale):
    """Lenient in form; the reference temperature is never lost."""
    strength = read_strength(text)
    assert (strength.scale, strength.typed) == (scale, text)


@pytest.mark.parametrize(
    ("text", "default", "scale"),
    [
        ("80", "proof60f", "proof60f"),
        ("40", "vol60f", "vol60f"),
        ("40 %", "vol60f", "vol60f"),
        ("40 %", "proof60f", "vol60f"),  # a house that works in proof has its per cent at 60 °F
        ("40 % vol 20 °C", "proof60f", "vol20"),
    ],
)
def test_a_bare_number_takes_the_scale_of_the_house(text, default, scale):
    """And a per cent without a temperature takes its reference."""
    assert read_strength(text, default_scale=default).scale == scale


def test_proof_alone_is_asked_where_the_house_does_not_say():
    """'US proof' needs no asking; UK proof is refused in plain words."""
    with pytest.raises(Ambiguous, match="which proof"):
        read_strength("80 proof", proof_scale=None)
    assert read_strength("80 us proof", proof_scale=None).scale == "proof60f"
    for text, scale in (("70 proof", "uk"), ("70 UK proof", "us"), ("70 Sikes", None)):
        with pytest.raises(Malformed, match="UK \\(Sikes\\) proof is not handled"):
            read_strength(text, proof_scale=scale)


@pytest.mark.parametrize(
    ("text", "refusal", "message", "remedy"),
    [
        ("124", OutOfRange, "'124' is above 100 % vol", "write '124 proof'"),
        ("124 %", OutOfRange, "above 100 % vol", "write '124 proof'"),
        ("400", OutOfRange, "above 100 % vol", "read it again"),
        ("201 proof", OutOfRange, "above 200 proof", "read it again"),
        ("-1", OutOfRange, "below zero", "without a sign"),
        ("40 % mass", Malformed, "not a strength known here", "% vol"),
        ("40 % vol 15 C", Malformed, "not a strength known here", "% vol"),
        ("40 % vol 20 F", Malformed, "not a strength known here", "% vol"),
        ("forty", Malformed, "does not begin with a number", "digits"),
    ],
)
def test_other_strengths_are_refused(text, refusal, message, remedy):
    """Above 100 the remedy asks whether proof was meant."""
    with pytest.raises(refusal, match=message) as refused:
        read_strength(text)
    assert remedy in refused.value.remedy


def test_the_remedy_keeps_the_decimal_mark():
    """What the message offers can be typed as it stands."""
    with pytest.raises(OutOfRange) as refused:
        read_strength("124,5", decimal_mark=",")
    assert "'124,5 proof'" in refused.value.remedy
    assert read_strength("124,5 proof", decimal_mark=",").value == Decimal("124.5")


# -- temperatures ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("20", "20"),
        ("20 C", "20"),
        ("20°C", "20"),
        ("-5 ° c", "-5"),
        ("68 F", "20"),
        ("50 °F", "10"),
        ("-4 F", "-20"),
    ],
)
def test_temperatures_are_read(text, celsius):
    """In either scale; the text is kept."""
    temperature = read_temperature(text)
    assert (temperature.celsius, temperature.typed) == (Decimal(celsius), text)


def test_60_fahrenheit_is_the_reference_of_proof():
    """To the last bit of a float: 140/9 °C."""
    assert float(read_temperature("60", default_unit="F").celsius) == 140 / 9


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("68", "68 looks like °F: write '68 F'"),
        ("104 C", "write '104 F'"),
        ("105", "measure again"),
        ("-21", "measure again"),
        ("-5 F", "measure again"),
    ],
)
def test_a_temperature_outside_the_formula_is_refused(text, remedy):
    """-20 to 40 °C; a number that fits °F is taken for a forgotten letter."""
    with pytest.raises(OutOfRange, match="outside -20 to 40 °C") as refused:
        read_temperature(text)
    assert remedy in refused.value.remedy


def test_another_unit_of_temperature_is_refused():
    """Kelvin is no unit of a warehouse."""
    with pytest.raises(Malformed, match="'293 K' is not in a unit of temperature"):
        read_temperature("293 K")


def test_the_import_is_light():
    """Reading a quantity loads nothing numeric."""
    code = "import sys, pourbook.quantities; sys.exit(bool({'numpy', 'pandas', 'scipy'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize("text", ["18 °/C", "18 @C", "18 (C)", "18 °°C", "18 C/F", "18 at C", "18 K", "18 C C"])
def test_a_temperature_in_no_unit_is_refused_for_its_unit(text):
    """What stands after the number is named; nothing is left out of it to make a unit."""
    with pytest.raises(Malformed, match="is not in a unit of temperature"):
        read_temperature(text)


@pytest.mark.parametrize(
    "text", ["18", "18 C", "18C", "18 °C", "18° C", "18°", "18 ℃", "18 celsius", "18 deg C", "18 degrees C"]
)
def test_a_temperature_is_read_as_people_write_it(text):
    """With the degree sign, the word or neither."""
    assert (read_temperature(text).value, read_temperature(text).unit) == (18, "C")
