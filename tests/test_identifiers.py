"""Identifiers: the check character against published values, and what it catches."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.codes.identifiers import (
    KINDS,
    check_character,
    hyphened,
    is_issued,
    key_of,
    kind_of,
    of_key,
    read,
    refuse_as_ref,
    write,
)
from pourbook.errors import Malformed, Mistyped

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"

PUBLISHED = [
    # UK transfusion guidelines (JPAC Red Book, Annexe 2): donation number of ISBT 128
    ("G123498654321", "H"),
    # ICCBBA, Use of the Donation Identification Number, v1.2.0, section 3.3 and figure 1 (as cited)
    ("G123417654321", "A"),
    ("A999917123456", "9"),
    # ICCBBA IN-015, An Introduction to ISBT 128, 6th edition 2018, section 4 (as cited)
    ("A999916123456", "Q"),
    # ISBT 128 public documents (as cited in public test suites)
    ("A999914123456", "N"),
    ("A999922123459", "H"),
    ("A999922654321", "S"),
    ("A999922123458", "J"),
    ("A999922012346", "*"),
]

numbers = st.integers(1, 10**12 - 1)
kinds = st.sampled_from(sorted(KINDS))


@pytest.mark.parametrize(("text", "check"), PUBLISHED)
def test_check_characters_are_those_published(text, check):
    """ISO/IEC 7064 MOD 37-2, as donation numbers bear it."""
    assert check_character(text) == check


@given(st.text(ALPHABET[:-1], min_size=1, max_size=13))
def test_the_sum_leaves_one_modulo_37(text):
    """The standard's own definition: values times powers of two, check character included."""
    whole = text + check_character(text)
    total = sum(ALPHABET.index(c) * 2**power for power, c in enumerate(reversed(whole)))
    assert total % 37 == 1


def is_another(identifier, mistyped):
    """Whether what was mistyped would be taken for an identifier."""
    try:
        return read(mistyped) not in (None, identifier)
    except Mistyped:
        return False


@given(kinds, numbers)
def test_every_wrong_character_is_caught(kind, number):
    """Any one character of any other: never another identifier."""
    identifier = write(kind, number)
    for place in range(len(identifier)):
        for wrong in ALPHABET:
            mistyped = identifier[:place] + wrong + identifier[place + 1 :]
            assert not is_another(identifier, mistyped), mistyped


@given(kinds, numbers)
def test_every_swap_of_neighbours_and_across_one_is_caught(kind, number):
    """The two commonest slips of a hand that copies digits."""
    identifier = write(kind, number)
    for distance in (1, 2):
        for place in range(len(identifier) - distance):
            letters = list(identifier)
            letters[place], letters[place + distance] = letters[place + distance], letters[place]
            assert not is_another(identifier, "".join(letters))


@given(kinds, numbers)
def test_reading_forgives_what_does_not_matter(kind, number):
    """Case, spaces, hyphens, dashes that look like them."""
    identifier = write(kind, number)
    shown = hyphened(identifier)
    for typed in (identifier, shown, shown.lower(), shown.replace("-", "–"), shown.replace("-", " "), f" {shown} "):
        assert read(typed) == identifier
    assert kind_of(identifier) == kind


@given(kinds, numbers)
def test_a_key_is_the_identifier(kind, number):
    """One whole number in the tables, below 2^63."""
    identifier = write(kind, number)
    assert of_key(key_of(identifier)) == identifier
    assert 0 < key_of(identifier) < 2**63


def test_no_two_identifiers_share_a_key():
    """Of any kind."""
    keys = {key_of(write(kind, number)) for kind in KINDS for number in range(1, 500)}
    assert len(keys) == len(KINDS) * 499


def test_about_one_number_in_seven_is_never_issued():
    """Five of 37 check characters read badly: 5 / 37 = 13.5 %."""
    left_out = [number for number in range(1, 37_001) if not is_issued("vial", number)]
    assert len(left_out) / 37_000 == pytest.approx(5 / 37, abs=0.002)
    assert {write("vial", number)[-1] for number in left_out} == set("*ILOU")


@pytest.mark.parametrize(
    "text", ["", "C", "C00012", "X000123Y", "C000123", "C000123YY", "Parcel 7", "C-12345-Y", "Ｃ000123Y", "C٠٠٠123Y"]
)
def test_other_text_is_no_identifier(text):
    """It is a ref, and nothing is wrong with it."""
    assert read(text) is None
    refuse_as_ref(text)


@pytest.mark.parametrize("text", ["C000123Y", "c 000123 a", "L-123456789-0"])
def test_text_of_the_form_cannot_be_a_ref(text):
    """Whether its check character agrees or not."""
    with pytest.raises(Malformed, match="form of an identifier"):
        refuse_as_ref(text)


def test_a_needless_nought_in_front_is_mistyped():
    """C0000123 would be a second way to write C000123."""
    stem = "C0000123"
    with pytest.raises(Mistyped):
        read(stem + check_character(stem))
