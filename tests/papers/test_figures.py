"""Numbers on paper."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.errors import OutOfRange
from pourbook.words.paper_figures import Notation, digits_needed, fixed

decimals = st.decimals(min_value=-(10**12), max_value=10**12, places=9)


@given(value=decimals, digits=st.integers(0, 6))
def test_figures_are_rounded_half_up_as_decimal_arithmetic_rounds(value, digits):
    """Against the standard library's own half-up rounding (General Decimal Arithmetic)."""
    expected = value.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP)
    printed = fixed(value, digits).replace("\xa0", "").replace("−", "-")
    assert Decimal(printed) == expected
    assert len(printed.partition(".")[2]) == digits


@given(value=decimals)
def test_digits_before_the_mark_stand_in_groups_of_three(value):
    first, *groups = fixed(value, 2).lstrip("−").partition(".")[0].split("\xa0")
    assert 1 <= len(first) <= 3
    assert all(len(group) == 3 for group in groups)


@pytest.mark.parametrize(
    ("value", "digits", "printed"),
    [
        (0.125, 2, "0.13"),
        (2.675, 2, "2.68"),
        (Fraction(1, 3), 4, "0.3333"),
        (-0.5, 0, "−1"),
        (-0.0004, 3, "0.000"),
        (-0.6, 2, "−0.60"),
        (9_007_199_254_740_991, 0, "9\xa0007\xa0199\xa0254\xa0740\xa0991"),
    ],
)
def test_halves_small_negatives_and_large_numbers(value, digits, printed):
    """A half goes away from zero as typed, and nothing is printed as minus nought."""
    assert fixed(value, digits) == printed


@pytest.mark.parametrize("value", [float("nan"), float("inf"), Decimal("NaN"), Decimal("-Infinity")])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(OutOfRange, match="is not a number"):
        fixed(value, 2)


def test_an_unknown_figure_is_a_word_in_every_form():
    notation = Notation(",")
    shown = (
        notation.fixed(None, 2),
        notation.kg(None),
        notation.percent(None, 2),
        notation.with_unit(None, 1, "mL"),
    )
    assert shown == ("unknown",) * 4


def test_the_decimal_mark_is_the_house_s():
    assert Notation(",").kg(212_500_250) == "212,500"
    with pytest.raises(OutOfRange, match="not a decimal mark"):
        Notation("'")


@given(parts=st.lists(st.integers(1, 500), min_size=1, max_size=8))
def test_digits_needed_show_every_value_or_are_the_most(parts):
    values = [Fraction(part, sum(parts)) for part in parts]
    digits = digits_needed(values, most=4)
    if digits < 4:
        assert all(Fraction(fixed(value, digits)) == value for value in values)
        assert digits == 0 or any(Fraction(fixed(value, digits - 1)) != value for value in values)
