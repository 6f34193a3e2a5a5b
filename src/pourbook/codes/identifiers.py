"""Identifiers: a letter for the kind, a number, and a check character.

`C000123Y` names cask 123. The check character, ISO/IEC 7064 MOD 37-2, catches every single wrong
character, every swap of neighbours and every swap across one. Numbers whose check character would be
*, I, L, O or U (easily misread) are never issued.

People see hyphens (`C-000123-Y`); symbols and JSON carry none. Reading is lenient in case, spaces,
hyphens and look-alike dashes. Text of any other form is an outside name, a `ref`.

>>> identifier = write("cask", 123)
>>> identifier, hyphened(identifier)
('C000123Y', 'C-000123-Y')
>>> read(" c-000123–y ")
'C000123Y'
>>> read("Parcel 7, cask 12") is None
True
>>> read("C000132Y")
Traceback (most recent call last):
    ...
pourbook.errors.Mistyped: 'C000132Y' is mistyped: its check character does not agree
"""

import re
from collections.abc import Sequence

from pourbook.errors import Malformed, Mistyped
from pourbook.texts import shortened_references

__all__ = [
    "GLASSES", "KINDS", "LIQUID_KINDS", "check_character", "hyphened", "is_identifier", "is_issued", "key_of",
    "kind_of", "named", "of_key", "plain", "read", "read_or_none", "readable", "refuse_as_ref", "several", "write",
]  # fmt: skip

KINDS = {
    "cask": "C",
    "vial": "V",
    "trial": "T",
    "batch": "B",
    "lot": "L",
    "instrument": "N",
    "person": "P",
    "place": "S",
}
"""Kind of item to its letter. The order is part of the book's format (see `key_of`)."""

LIQUID_KINDS = ("cask", "vial", "trial", "batch", "lot")
"""The five kinds that hold liquid with a history."""

GLASSES = ("vial", "trial")
"""What a bench pours from is no source: the cask that it was drawn from is."""

_LETTERS = "".join(KINDS.values())
_KIND_OF_LETTER = {letter: kind for kind, letter in KINDS.items()}
_ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
_VALUE = {character: value for value, character in enumerate(_ALPHABET)}
_NOT_ISSUED = frozenset("*ILOU")
_LOOKALIKE_DASHES = dict.fromkeys(map(ord, "\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe58\ufe63\uff0d\u00ad"), "-")
_SHORTEST = 8
_FORM = rf"([{_LETTERS}])[-\s]*([0-9]{{6,12}})[-\s]*([0-9A-Z*])"


def check_character(text: str) -> str:
    """The ISO/IEC 7064 MOD 37-2 check character of digits and capital letters.

    Source: ISO/IEC 7064, pure system, modulus 37, radix 2: the sum of the values, each times
    its power of two, check character included, leaves 1 modulo 37.

    >>> check_character("G123498654321")  # a donation number of the UK transfusion guidelines
    'H'
    """
    product = 0
    for character in text:
        product = (product + _VALUE[character]) * 2 % 37
    return _ALPHABET[(1 - product) % 37]


def is_issued(kind: str, number: int) -> bool:
    """Whether this number of this kind may be given out: its check character reads well."""
    return check_character(_stem(kind, number)) not in _NOT_ISSUED


def write(kind: str, number: int) -> str:
    """The identifier of a kind and a number, as symbols carry it."""
    stem = _stem(kind, number)
    return stem + check_character(stem)


def _stem(kind: str, number: int) -> str:
    return f"{KINDS[kind]}{number:06d}"


def hyphened(identifier: str) -> str:
    """An identifier as people read it: `C-000123-Y`."""
    return f"{identifier[0]}-{identifier[1:-1]}-{identifier[-1]}"


def kind_of(identifier: str) -> str:
    """The kind that the identifier's letter stands for."""
    return _KIND_OF_LETTER[identifier[0]]


def read(text: str) -> str | None:
    """The identifier in this text, or None when it has another form; a wrong check character is `Mistyped`."""
    match = re.fullmatch(_FORM, text.translate(_LOOKALIKE_DASHES).strip().upper())
    if match is None:
        return None
    letter, digits, check = match.groups()
    stem = letter + digits
    if check != check_character(stem) or (len(digits) > 6 and digits[0] == "0"):
        raise Mistyped(
            f"'{text.strip()}' is mistyped: its check character does not agree",
            "scan it again, or compare it with the label character by character",
        )
    return stem + check


def plain(text: str) -> str:
    """Text as programs read it: an identifier without hyphens; anything else, mistyped or not, as it is.

    >>> plain("T-000002-M"), plain("T-000002-X"), plain("Ostrewick no. 2")
    ('T000002M', 'T-000002-X', 'Ostrewick no. 2')
    """
    return read_or_none(text) or text


def readable(text: str) -> str:
    """Text as people read it: an identifier with hyphens; anything else, mistyped or not, as it is.

    What stands for a person who is not named (any more) is shortened.

    >>> readable("T000002M"), readable("Ostrewick no. 2"), readable("person:5MEY674VAR57PXLPJVPTDYWWSC")
    ('T-000002-M', 'Ostrewick no. 2', 'unnamed person 5MEY67')
    """
    if text.startswith("person:") and len(text) == 33:
        return shortened_references(text)
    identifier = read_or_none(text)
    return hyphened(identifier) if identifier else text


def read_or_none(text: str) -> str | None:
    """The identifier in a text; None for any other, mistyped or not."""
    try:
        return read(text)
    except Mistyped:
        return None


def refuse_as_ref(text: str) -> None:
    """Refuse (`Malformed`) an outside name that has the form of an identifier."""
    if re.fullmatch(_FORM, text.translate(_LOOKALIKE_DASHES).strip().upper()):
        raise Malformed(
            f"'{text}' cannot be an outside name: it has the form of an identifier",
            f"put something before it, for example 'old {text.strip()}'",
        )


def key_of(identifier: str) -> int:
    """The identifier as one whole number, as tables keep it.

    >>> of_key(key_of("C000123Y"))
    'C000123Y'
    """
    return int(identifier[1:-1]) * len(_LETTERS) + _LETTERS.index(identifier[0])


def of_key(key: int) -> str:
    """The identifier that `key_of` turned into this number."""
    number, letter = divmod(key, len(_LETTERS))
    stem = f"{_LETTERS[letter]}{number:06d}"
    return stem + check_character(stem)


def is_identifier(kept: str) -> bool:
    """Whether an end of a pour or a part of a recipe, as the book keeps it, is an item.

    >>> is_identifier("C000001H"), is_identifier("water"), is_identifier("Chestnut accent")
    (True, False, False)
    """
    return kept[:1] in _KIND_OF_LETTER and len(kept) >= _SHORTEST and kept[1:-1].isdecimal()


def named(kept: str) -> str:
    """An end of a pour or a part of a recipe as people read it: an item with hyphens; a word, or a name, as it is.

    >>> named("C000001H"), named("water")
    ('C-000001-H', 'water')
    """
    return hyphened(kept) if is_identifier(kept) else kept


def several(identifiers: Sequence[str]) -> str:
    """Items in few words: all of a few, the first and the last of many.

    >>> several(["V000001R", "V000002P", "V000003N"])
    'V-000001-R … V-000003-N (3)'
    """
    shown = [hyphened(one) for one in identifiers]
    return ", ".join(shown) if len(shown) < 3 else f"{shown[0]} … {shown[-1]} ({len(shown)})"
