"""What leaves the house under GS1: trade items, logistic units, and the element strings that say so.

A GTIN names a trade item (a bottle, a case), an SSCC one single case or pallet. Both begin with the
company prefix that a GS1 organisation gave the house and end in a check digit. A symbol carries an
element string: application identifiers and values in turn, a group separator (FNC1 in the symbol,
ASCII 29 from a scanner) after each value of open length but the last. People read the same below the
symbol with the identifiers in brackets.

>>> gtin_of("9521234", "567"), sscc_of("9521234", 89)
('09521234005674', '095212340000000891')
>>> read_elements("0109521234005674" "10L26-118" + GS + "37" "6")
(Element(ai='01', value='09521234005674'), Element(ai='10', value='L26-118'), Element(ai='37', value='6'))
>>> interpretation(read_bracketed("(01)09521234005674(10)L26-118"))
'(01)09521234005674 (10)L26-118'
>>> checked_gtin("9521234005676")
Traceback (most recent call last):
    ...
pourbook.errors.Mistyped: GTIN '9521234005676' is mistyped: its check digit does not agree
"""

import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from pourbook.codes.application_identifiers import Rule, named, starting
from pourbook.codes.check_digits import check_digit
from pourbook.errors import Malformed, Mistyped, OutOfRange

__all__ = [
    "GS", "Element", "as_gtin", "check_partners", "checked_gtin", "checked_prefix", "checked_sscc", "element_string",
    "gtin_of", "gtin_spellings", "interpretation", "made", "number_in_sscc", "numbers_of", "read_bracketed",
    "read_elements", "shown_gtin", "sscc_of", "sscc_ranges",
]  # fmt: skip

GS = "\x1d"
"""The group separator: what a scanner sends for FNC1 within a symbol (ASCII 29)."""

_GTIN_LENGTHS = (8, 12, 13, 14)
_BRACKETED = re.compile(r"\((\d{2,4})\)")
_BLANKS = re.compile(r"[\s\u00a0-]+")


class Element(NamedTuple):
    """An application identifier with its value."""

    ai: str
    value: str


# -- keys ------------------------------------------------------------------------------


def checked_prefix(text: str) -> str:
    """A GS1 company prefix: 4 to 12 digits, as the GS1 organisation gave it; else `Malformed`."""
    if not (text.isascii() and text.isdigit() and 4 <= len(text) <= 12):
        raise Malformed(f"'{text}' is not a GS1 company prefix", "give its 4 to 12 digits, as on the certificate")
    return text


def checked_gtin(text: str) -> str:
    """A GTIN of 8, 12, 13 or 14 digits as the 14 that symbols carry, with leading zeros.

    Raises:
        Malformed: another number of digits, or no digits.
        Mistyped: the check digit does not agree.
    """
    return _checked("GTIN", text, _GTIN_LENGTHS).zfill(14)


def checked_sscc(text: str) -> str:
    """The 18 digits of a serial shipping container code; raises as `checked_gtin`."""
    return _checked("SSCC", text, (18,))


def _checked(what: str, text: str, lengths: tuple[int, ...]) -> str:
    digits = _BLANKS.sub("", text)
    if not (digits.isascii() and digits.isdigit() and len(digits) in lengths):
        raise Malformed(f"'{text}' is not a valid {what}", f"it has {' or '.join(map(str, lengths))} digits")
    if check_digit(digits[:-1]) != digits[-1]:
        raise Mistyped(
            f"{what} '{text}' is mistyped: its check digit does not agree",
            "scan it again, or compare it with the label digit by digit",
        )
    return digits


def as_gtin(text: str) -> str:
    """The GTIN in a text as 14 digits, or empty."""
    try:
        return checked_gtin(text)
    except Malformed:
        return ""


def gtin_of(prefix: str, reference: str, indicator: str = "0") -> str:
    """The GTIN-14 of a trade item of the house.

    The item reference, which may be empty, is filled with zeros to 12 digits together with the prefix; the
    indicator is 0 for the item itself, 1 to 8 for cases of it.

    Raises:
        Malformed: a prefix, reference or indicator that cannot be.
        OutOfRange: prefix and reference together are longer than 12 digits.
    """
    if not ((reference or "0").isdecimal() and reference.isascii() and indicator in tuple("012345678")):
        raise Malformed(
            f"'{reference}' with indicator '{indicator}' makes no GTIN", "give digits; the indicator is 0 to 8"
        )
    room = 12 - len(checked_prefix(prefix))
    if len(reference) > room:
        raise OutOfRange(
            f"item reference {reference} is too long: prefix {prefix} leaves {room} digits", "give a shorter one"
        )
    digits = indicator + prefix + reference.zfill(room)
    return digits + check_digit(digits)


def numbers_of(prefix: str) -> int:
    """How many SSCCs a company prefix has: extension digit and serial reference count as one number."""
    return int(10 ** (17 - len(checked_prefix(prefix))))


def sscc_of(prefix: str, number: int) -> str:
    """The SSCC of a number counted by the house; its first digit becomes the extension digit.

    Raises:
        OutOfRange: the prefix has no such number left.
    """
    if not 0 <= number < numbers_of(prefix):
        raise OutOfRange(f"prefix {prefix} has no SSCC number {number}", "ask for a further company prefix")
    counted = str(number).zfill(17 - len(prefix))
    digits = counted[0] + prefix + counted[1:]
    return digits + check_digit(digits)


def number_in_sscc(sscc: str, prefix: str) -> int:
    """The number that `sscc_of` made into this SSCC."""
    return int(sscc[0] + sscc[1 + len(prefix) : 17])


def sscc_ranges(ssccs: Iterable[str]) -> list[str]:
    """Serial numbers in order, consecutive ones as the first and the last of them and how many.

    >>> sscc_ranges(sscc_of("9521234", number) for number in (1, 2, 3, 7, 8))
    ['095212340000000013 … 095212340000000037 (3)', '095212340000000075', '095212340000000082']
    """
    runs: list[list[str]] = []
    for sscc in sorted(ssccs):
        if runs and int(runs[-1][-1][:17]) + 1 == int(sscc[:17]):
            runs[-1].append(sscc)
        else:
            runs.append([sscc])
    return [one for run in runs for one in (run if len(run) < 3 else [f"{run[0]} … {run[-1]} ({len(run)})"])]


def gtin_spellings(gtin: str) -> tuple[str, ...]:
    """The ways to write a GTIN-14: with and without leading zeros."""
    return tuple(gtin[14 - length :] for length in _GTIN_LENGTHS if not gtin[: 14 - length].strip("0"))


def shown_gtin(gtin: str) -> str:
    """A GTIN-14 as people know it: 13 digits, 14 for a case, 8 for a small item.

    >>> shown_gtin("09521234005674"), shown_gtin("00000012345670")
    ('9521234005674', '12345670')
    """
    return gtin[6:] if gtin.startswith("000000") else gtin.removeprefix("0")


# -- element strings -------------------------------------------------------------------


def made(ai: str, value: str) -> Element:
    """An element, if the value may follow the application identifier.

    Raises:
        Malformed: GS1 has no such identifier, or it cannot have that value.
        Mistyped: the check digit in it does not agree.
    """
    rule = named(ai)
    if rule is None:
        raise Malformed(f"({ai}) is unknown: GS1 has no such application identifier", "read the text beside the code")
    if problem := rule.problem(value):
        refusal = Mistyped if "check" in problem else Malformed
        raise refusal(
            f"({ai}) {rule.title} '{value}' is mistyped: {problem}", "scan it again, or read the text beside it"
        )
    return Element(ai, value)


def read_elements(text: str) -> tuple[Element, ...]:
    """The elements of an element string as a scanner sends it, without a symbology prefix; raises as `made`."""
    found: list[Element] = []
    rest = text.lstrip(GS)
    while rest:
        rule = starting(rest)
        if rule is None:
            raise Malformed(
                f"'{text.replace(GS, '<GS>')}' is mistyped: '{rest[:4]}' begins no GS1 element",
                "a separator may be missing before it: set the scanner to send FNC1",
            )
        value, rest = _value(rule, rest[len(rule.ai) :])
        found.append(made(rule.ai, value))
    if not found:
        raise Malformed("no GS1 element", "scan it again")
    return tuple(found)


def _value(rule: Rule, text: str) -> tuple[str, str]:
    """The value of an identifier, and what follows it; a needless separator is skipped."""
    value = text.partition(GS)[0]
    if rule.fixed:
        value = value[: rule.most]
    return value, text[len(value) :].lstrip(GS)


def read_bracketed(text: str) -> tuple[Element, ...]:
    """The elements of text with the identifiers in brackets, as printed below a symbol; raises as `made`."""
    before, *pieces = _BRACKETED.split(text)
    if before.strip() or not pieces:
        raise Malformed(f"'{text}' is not a GS1 text", "write it like (01)09521234005674(10)L26-118")
    values = (value.strip() for value in pieces[1::2])
    return tuple(made(ai, _joined(ai, value)) for ai, value in zip(pieces[::2], values, strict=True))


def _joined(ai: str, value: str) -> str:
    """Digits may stand in groups; other values hold no blanks anyway."""
    rule = named(ai)
    return "".join(value.split()) if rule and all(part.characters == "N" for part in rule.parts) else value


def element_string(elements: Sequence[Element]) -> str:
    """The elements as one string, in their order, with the separators that are needed."""
    written = []
    for ai, value in elements:
        rule = named(ai)
        written += [ai, value, "" if rule and rule.fixed else GS]
    return "".join(written).removesuffix(GS)


def interpretation(elements: Iterable[Element]) -> str:
    """The human-readable interpretation: identifiers in brackets, which the symbol does not carry."""
    return " ".join(f"({ai}){value}" for ai, value in elements)


def check_partners(elements: Iterable[Element]) -> None:
    """Refuse (`Malformed`) elements on one item, whichever symbols carry them, that may not stand together."""
    there = {ai for ai, _ in elements}
    for ai in sorted(there):
        rule = named(ai)
        if rule is None:
            continue
        if rule.needs and not any(there.issuperset(partners) for partners in rule.needs):
            wanted = " or ".join("+".join(f"({one})" for one in partners) for partners in rule.needs)
            raise Malformed(f"({ai}) {rule.title} stands alone", f"put {wanted} beside it")
        if clash := there.intersection(rule.never):
            raise Malformed(f"({ai}) {rule.title} may not stand beside ({min(clash)})", "leave one of them out")
