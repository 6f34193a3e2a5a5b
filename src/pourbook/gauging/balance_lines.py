r"""What a balance sends line by line, and where it is: read by a pattern of the house.

>>> pattern = checked_pattern(DEFAULT_PATTERN)
>>> read_line(pattern, "S S     123.45 g"), read_line(pattern, "S D    -  1,2 kg").is_stable
(Shown(grams=Decimal('123.45'), is_stable=True), False)
>>> read_line(pattern, "S +") is None  # more than it bears
True
>>> checked_address("serial:/dev/ttyUSB0?baud=9600"), checked_address("tcp://192.168.1.40:8001").port
(Line(path='/dev/ttyUSB0', baud=9600, bits=8, parity='N'), 8001)
"""

import re
from collections.abc import Mapping
from decimal import Decimal
from re import _constants, _parser  # type: ignore[attr-defined]
from typing import Any, NamedTuple

from pourbook.errors import Malformed

__all__ = [
    "DEFAULT_PATTERN", "LONGEST_LINE", "Line", "Shown", "Socket", "balance_addresses", "checked_address",
    "checked_pattern", "read_line",
]  # fmt: skip

DEFAULT_PATTERN = r"S (?:(?P<stable>S)|D) (?P<value>[-+]? ?\d+(?:[.,]\d+)?) ?(?P<unit>mg|g|kg)"
"""A common open form of balances' text: S for a stable weight, D for one that moves, the value, its unit."""

LONGEST_LINE = 200
"""More signs than any balance sends in a line; what is longer is dropped."""

_GRAMS = {"mg": Decimal("0.001"), "g": Decimal(1), "kg": Decimal(1000)}

_LOOKED_AT = 80
_MOST_REPEATS, _MOST_CHOICES, _TOO_MANY = 3, 8, 99
_SINGLE = (_constants.LITERAL, _constants.NOT_LITERAL, _constants.IN, _constants.ANY)

_TCP = re.compile(r"tcp://([\w-][\w.-]{0,252}|\[[0-9A-Fa-f:.]{2,45}\]):([1-9]\d{0,4})", re.ASCII)
_SERIAL = re.compile(r"serial:([\w./:-]{1,120})(?:\?baud=(\d{3,6})(?:&bits=([78]))?(?:&parity=([NEO]))?)?", re.ASCII)
_NAME = re.compile(r"balance(?:\.([a-z0-9][a-z0-9-]{0,39}))?")


class Socket(NamedTuple):
    """Where a balance is on the network."""

    host: str
    port: int


class Line(NamedTuple):
    """A serial line: the path of its device, its speed (`baud`), the `bits` of a sign, and `parity`: N, E or O."""

    path: str
    baud: int = 9600
    bits: int = 8
    parity: str = "N"


class Shown(NamedTuple):
    """What a balance shows, in grams, and whether it says that the weight is stable."""

    grams: Decimal
    is_stable: bool


def checked_address(text: str) -> Socket | Line:
    """Where a balance is.

    Raises:
        Malformed: it is neither a host with a port nor a serial line.
    """
    if (found := _TCP.fullmatch(text)) and int(found[2]) < 1 << 16:
        return Socket(found[1].strip("[]"), int(found[2]))
    if found := _SERIAL.fullmatch(text):
        path, baud, bits, parity = found.groups()
        return Line(path, int(baud or 9600), int(bits or 8), parity or "N")
    raise Malformed(
        f"'{text}' is not where a balance can be", "write tcp://host:port, or serial:/dev/ttyUSB0?baud=9600"
    )


def balance_addresses(settings: Mapping[str, str]) -> dict[str, str]:
    """The balances of the house by name, with their addresses; the only one has the name 'balance'."""
    return {
        found[1] or "balance": value
        for name, value in sorted(settings.items())
        if value and (found := _NAME.fullmatch(name))
    }


def checked_pattern(text: str) -> re.Pattern[str]:
    """The pattern of a line, with groups `value`, `unit` and, where the balance tells it, `stable`.

    `stable` takes part where the weight is stable alone; without that group every line is stable.

    Raises:
        Malformed: it is no pattern, lacks a group, or might take for ever: what is repeated must be one sign or one
            class of signs, in at most three places, and at most eight parts may be left out or be alternatives.
    """
    try:
        pattern = re.compile(text, re.ASCII)
    except (re.error, RecursionError, OverflowError) as error:
        raise Malformed(f"'{text}' is no pattern: {error}", "write a regular expression") from None
    if lacking := {"value", "unit"} - pattern.groupindex.keys():
        raise Malformed(f"the pattern has no group '{min(lacking)}'", "name it: (?P<value>…) and (?P<unit>…)")
    if len(text) > LONGEST_LINE or not _is_quick(text):
        raise Malformed(
            "the pattern may take for ever on some lines", "repeat single signs, as in \\d+, at most three times"
        )
    return pattern


def _is_quick(text: str) -> bool:
    """Whether no line can keep it busy: the work on a line grows with its third power at the most."""
    repeats, choices = _work(_parser.parse(text, re.ASCII))
    return repeats <= _MOST_REPEATS and choices <= _MOST_CHOICES


def _work(parsed: Any) -> tuple[int, int]:  # noqa: ANN401 (a tree of the standard library's own)
    """How many signs are repeated, how many parts may be left out or are alternatives; too many for anything else."""
    repeats = choices = 0
    for code, told in parsed:
        inside: list[Any] = []
        if code in (_constants.MAX_REPEAT, _constants.MIN_REPEAT, _constants.POSSESSIVE_REPEAT):
            _, most, part = told
            if most == 1:
                choices, inside = choices + 1, [part]
            elif len(part) == 1 and part[0][0] in _SINGLE:
                repeats += 1
            else:
                repeats += _TOO_MANY
        elif code is _constants.SUBPATTERN:
            inside = [told[-1]]
        elif code is _constants.BRANCH:
            choices, inside = choices + len(told[1]) - 1, told[1]
        elif code not in (*_SINGLE, _constants.AT):
            repeats += _TOO_MANY  # looks elsewhere in the line, or back at what was found
        for more_repeats, more_choices in map(_work, inside):
            repeats, choices = repeats + more_repeats, choices + more_choices
    return repeats, choices


def read_line(pattern: re.Pattern[str], line: str) -> Shown | None:
    """What a line says from its beginning; None for any that says no weight. Several blanks count as one."""
    found = pattern.match(" ".join(line.split())[:_LOOKED_AT])
    if found is None:
        return None
    factor = _GRAMS.get(found["unit"].lower())
    try:
        value = Decimal(found["value"].replace(" ", "").replace(",", "."))
    except ArithmeticError:
        return None
    if factor is None or not value.is_finite():
        return None
    is_stable = "stable" not in pattern.groupindex or found["stable"] is not None
    return Shown(value * factor, is_stable)
