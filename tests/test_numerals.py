"""Numbers in and out: strict about the form, half up in writing."""

from decimal import Decimal, getcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.errors import Malformed
from pourbook.numerals import number_and_rest, read_decimal, shown

decimals = st.decimals(-(10**12), 10**12, places=6)


@given(decimals, st.sampled_from(".,"))
def test_what_is_written_is_read_back(value, mark):
    """All six decimals, with either mark."""
    assert read_decimal(shown(value, 6, mark), mark) == value


@pytest.mark.parametrize(
    ("text", "mark", "value"),
    [
        ("12.5", ".", "12.5"),
        ("12,5", ",", "12.5"),
        (".5", ".", "0.5"),
        (" +7 ", ".", "7"),
        ("-4", ".", "-4"),
        ("−4", ".", "-4"),  # the typographic minus
        ("007", ".", "7"),
    ],
)
def test_plain_numbers_are_read(text, mark, value):
    """Spaces and signs are no obstacle."""
    assert read_decimal(text, mark) == Decimal(value)


@pytest.mark.parametrize(
    ("text", "mark", "message"),
    [
        ("1e3", ".", "has an exponent"),
        ("1E+3", ".", "has an exponent"),
        ("1_000", ".", "separators between digits"),
        ("1 000", ".", "separators between digits"),
        ("1'000", ".", "separators between digits"),
        ("1\u202f000", ".", "separators between digits"),
        ("12,5", ".", "has a comma, but the decimal mark here is a point"),
        ("1,234.5", ".", "has a comma, but the decimal mark here is a point"),
        ("12.5", ",", "has a point, but the decimal mark here is a comma"),
        ("1.234,5", ",", "has a point, but the decimal mark here is a comma"),
        ("1.2.3", ".", "'1.2.3' is not a number"),
        ("5.", ".", "'5.' is not a number"),
        (".", ".", "'.' is not a number"),
        ("", ".", "does not begin with a number"),
        ("ml", ".", "does not begin with a number"),
        ("nan", ".", "does not begin with a number"),
        ("١٢", ".", "does not begin with a number"),  # Arabic-Indic digits
        ("１２", ".", "does not begin with a number"),  # full-width digits
        ("½", ".", "does not begin with a number"),
        ("--4", ".", "does not begin with a number"),
        ("1" * 29, ".", "more than 28 digits"),
        ("12 ml", ".", "is more than a number"),
    ],
)
def test_other_forms_are_refused(text, mark, message):
    """A reading that is wrong by a thousand would look as good: the message says what is wrong."""
    with pytest.raises(Malformed, match=message) as refusal:
        read_decimal(text, mark)
    assert refusal.value.remedy


@given(st.text())
def test_any_text_is_read_or_refused(text):
    """No text brings anything but a number or a refusal."""
    try:
        number, rest = number_and_rest(text)
    except Malformed:
        return
    assert number.is_finite()
    assert rest == rest.strip().lower()


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (46.05, 1, "46.1"),  # binary 46.05 lies below the half; Python's round gives 46.0
        (0.5, 0, "1"),
        (1.5, 0, "2"),
        (2.5, 0, "3"),
        (-2.5, 0, "-3"),
        (-0.04, 1, "0.0"),
        (Fraction(1, 3), 4, "0.3333"),
        (Fraction(1, 8), 2, "0.13"),
        (Decimal("39.995"), 2, "40.00"),
        (7, 2, "7.00"),
        (1e-9, 3, "0.000"),
        (2**53 - 1, 3, "9007199254740991.000"),
    ],
)
def test_halves_go_up(value, digits, text):
    """As people round: 27 CFR 30.23 and 30.63 round five and more up."""
    assert shown(value, digits) == text


def test_the_decimal_context_of_the_caller_does_not_matter(monkeypatch):
    """A low precision set elsewhere leaves figures as they are."""
    monkeypatch.setattr(getcontext(), "prec", 3)
    assert shown(Decimal("123456.789"), 2) == "123456.79"
    assert shown(Fraction(1234567, 3), 3) == "411522.333"
