"""Numbers as people write them: one decimal mark in, rounded half up out.

Reading is strict: ASCII digits and at most one decimal mark. An exponent, a thousands separator or the other
decimal mark is refused, because a reading wrong by a thousand looks as good as a right one.

>>> read_decimal("12,5", decimal_mark=",")
Decimal('12.5')
>>> shown(46.05, 1)
'46.1'
"""

import re
from decimal import ROUND_HALF_UP, Context, Decimal
from typing import TYPE_CHECKING

from pourbook.errors import Malformed

if TYPE_CHECKING:
    from fractions import Fraction

__all__ = ["EXACT", "a_or_an", "as_decimal", "counted", "number_and_rest", "read_decimal", "shown", "with_mark"]

EXACT = Context(prec=60)
"""The context of every decimal computation, so that no setting of the caller changes a result."""

_LONGEST = 28
# Forms are compiled when a number is first read: what only shows does without.
_NUMBER_AND_REST = r"""\s* (?P<sign>[+−-]?) \s*
        (?P<digits> [0-9.,] (?:[0-9.,_'’\s]*[0-9.,])? (?:[eE][+-]?[0-9]+)? )
        (?P<rest>.*)"""
_STRICT = {".": r"[0-9]+(?:\.[0-9]+)?|\.[0-9]+", ",": r"[0-9]+(?:,[0-9]+)?|,[0-9]+"}
_MARK_WITHIN = r"(?<=[0-9])[.,](?=[0-9])"
_MARK_NAMES = {".": "point", ",": "comma"}


def read_decimal(text: str, decimal_mark: str = ".") -> Decimal:
    """A number alone; anything else (exponents, separators, the other decimal mark) is `Malformed`."""
    number, rest = number_and_rest(text, decimal_mark)
    if rest:
        raise Malformed(f"'{text.strip()}' is more than a number", "write digits only, without a unit")
    return number


def number_and_rest(text: str, decimal_mark: str = ".") -> tuple[Decimal, str]:
    """The number a text begins with, and what follows it, in lower case with single spaces; else `Malformed`.

    >>> number_and_rest("12.5 % Vol")
    (Decimal('12.5'), '% vol')
    """
    match = re.fullmatch(_NUMBER_AND_REST, text, re.VERBOSE | re.DOTALL)
    if match is None:
        raise Malformed(f"'{text.strip()}' does not begin with a number", "write digits first: 12.5 ml")
    digits = match["digits"]
    if not re.fullmatch(_STRICT[decimal_mark], digits):
        raise _refused(digits, decimal_mark)
    if len(digits) > _LONGEST:
        raise Malformed(f"'{digits}' has more than {_LONGEST} digits", "round it to what was measured")
    value = Decimal(digits.replace(",", "."))
    return (-value if match["sign"] in ("-", "−") else value), " ".join(match["rest"].lower().split())


def _refused(digits: str, decimal_mark: str) -> Malformed:
    mark = _MARK_NAMES[decimal_mark]
    if re.search(r"[eE]", digits):
        return Malformed(f"'{digits}' has an exponent", "write the number out, such as 1000")
    if re.search(r"[_'’\s]", digits):
        return Malformed(f"'{digits}' has separators between digits", "write the digits without separators")
    for other, name in _MARK_NAMES.items():
        if other != decimal_mark and other in digits:
            return Malformed(
                f"'{digits}' has a {name}, but the decimal mark here is a {mark}",
                f"write it with a {mark} and without thousands separators",
            )
    return Malformed(f"'{digits}' is not a number", f"write digits with at most one {mark} between them")


def shown(value: "float | Decimal | Fraction", digits: int, decimal_mark: str = ".") -> str:
    """A number for people: so many decimals, rounded half away from zero; a float is rounded as it prints.

    >>> from fractions import Fraction
    >>> shown(Fraction(1, 8), 2), shown(-0.04, 1), shown(2.5, 0), shown(1234.5, 1, ",")
    ('0.13', '0.0', '3', '1234,5')
    """
    rounded = as_decimal(value).quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP, EXACT)
    return f"{rounded or abs(rounded):f}".replace(".", decimal_mark)


def with_mark(text: str, decimal_mark: str) -> str:
    """Numbers that were typed, with the decimal mark of today; as none has separators, either mark is one.

    >>> with_mark("2.5..5", ","), with_mark("46,5 % vol", ".")
    ('2,5..5', '46.5 % vol')
    """
    return re.sub(_MARK_WITHIN, decimal_mark, text)


def a_or_an(noun: str) -> str:
    """One of something.

    >>> a_or_an("item"), a_or_an("gauge")
    ('an item', 'a gauge')
    """
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def counted(count: int, noun: str, plural: str = "") -> str:
    """So many of something.

    >>> counted(1, "later line"), counted(2, "entry", "entries")
    ('1 later line', '2 entries')
    """
    return f"{count} {noun if count == 1 else plural or noun + 's'}"


def as_decimal(value: "float | Decimal | Fraction") -> Decimal:
    """A number as a decimal: a float as it prints, a fraction to sixty digits."""
    if isinstance(value, float):
        return Decimal(repr(float(value)))
    if isinstance(value, Decimal | int):
        return Decimal(value)
    return EXACT.divide(Decimal(value.numerator), Decimal(value.denominator))
