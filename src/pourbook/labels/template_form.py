"""The form of a label template: each key of each table with what it may hold.

>>> TEXT_FIELD["size_pt"].check(8), TEXT_FIELD["lines"].default
(8.0, 1)
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import fields
from difflib import get_close_matches
from string import Formatter
from typing import Any, NamedTuple

from pourbook import typefaces
from pourbook.labels.label import KINDS, OUTSIDE, Label
from pourbook.labels.label_layout import Box
from pourbook.labels.stock import PAGES_MM
from pourbook.labels.symbols import SYMBOL_KINDS

__all__ = [
    "FACES",
    "REQUIRED",
    "ROLL",
    "RULE",
    "SHEET",
    "SYMBOL",
    "TEXT_FIELD",
    "TOP",
    "Key",
    "Table",
    "Wrong",
]

FACES = {
    "text": typefaces.TEXT,
    "italic": typefaces.ITALIC,
    "semibold": typefaces.SEMIBOLD,
    "bold": typefaces.BOLD,
    "code": typefaces.CODE,
    "code-bold": typefaces.CODE_BOLD,
}
"""What a template calls the typefaces."""

_NAMES = tuple(f.name for f in fields(Label))

REQUIRED = object()
"""The default of a key that must be there."""

Check = Callable[[Any], Any]


class Key(NamedTuple):
    """One key of a table.

    Attributes:
        check: gives the value back as it will be used, or raises `Wrong`.
        default: when the key is left out; `REQUIRED` when it may not be.
    """

    check: Check
    default: object = REQUIRED


Table = Mapping[str, Key]


class Wrong(Exception):
    """A value that the form does not allow: what was found, what is wrong, what to do."""

    def __init__(self, value: object, problem: str, remedy: str) -> None:
        super().__init__(value, problem, remedy)
        self.value, self.problem, self.remedy = str(value), problem, remedy


def _number(low: float, high: float) -> Check:
    def check(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            raise Wrong(value, "is not a number in range", f"give a number from {low:g} to {high:g}")
        return float(value)

    return check


def _whole(low: int, high: int) -> Check:
    def check(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise Wrong(value, "is not a whole number in range", f"give one from {low} to {high}")
        return value

    return check


_MM = _number(0, 1000)
_SIZE_MM = _number(0.05, 1000)


def _one_of(*words: object) -> Check:
    def check(value: object) -> object:
        if value not in words:
            raise Wrong(value, "is not one of those allowed", f"use one of: {', '.join(map(str, words))}")
        return value

    return check


def _kinds(value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or not value:
        raise Wrong(value, "is not a list of kinds", 'write them as ["cask", "vial"]')
    return tuple(_one_of(*KINDS)(kind) for kind in value)


def _text(value: object) -> str:
    if not isinstance(value, str) or not value.strip():
        raise Wrong(value, "is not a text", "write a text between quotation marks")
    return value


def _any_text(value: object) -> str:
    if not isinstance(value, str):
        raise Wrong(value, "is not a text", "write a text between quotation marks")
    return value


def _name(value: object) -> str:
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", _text(value)):
        raise Wrong(value, "cannot be the name of a template", "use small letters, digits and hyphens")
    return str(value)


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise Wrong(value, "is neither true nor false", "write true or false, without quotation marks")
    return value


def _box(value: object) -> Box:
    numbers = value if isinstance(value, list) else []
    if len(numbers) != 4:
        raise Wrong(value, "is not a box", "write [from the left, from the top, width, height] in mm")
    return Box(*(_MM(place) for place in numbers[:2]), *(_SIZE_MM(size) for size in numbers[2:]))


def _parts(value: object) -> dict[str, tuple[str, ...]]:
    patterns = value if isinstance(value, list) else [value]
    if not patterns:
        raise Wrong(value, "says nothing", 'write a text such as "{name}"')
    return {_text(pattern): _named(_text(pattern)) for pattern in patterns}


def _says(value: object) -> tuple[str, ...]:
    names = value if isinstance(value, list) else [value]
    if not names:
        raise Wrong(value, "says nothing", 'write "code" for the identifier')
    return tuple(str(_one_of("code", *OUTSIDE)(name)) for name in names)


def _named(pattern: str) -> tuple[str, ...]:
    """The fields a pattern names, each known and without format directions."""
    try:
        pieces = list(Formatter().parse(pattern))
    except ValueError:
        raise Wrong(pattern, "has a brace without its fellow", "write fields as {name}") from None
    named = []
    for _, name, directions, conversion in pieces:
        if name is not None:
            if name not in _NAMES or directions or conversion:
                near = get_close_matches(name, _NAMES, n=1)
                hint = f"did you mean {{{near[0]}}}? " if near else ""
                raise Wrong(f"{{{name}}}", "is no field of a label", f"{hint}there are: {', '.join(_NAMES)}")
            named.append(name)
    return tuple(named)


TOP: Table = {"name": Key(_name), "title": Key(_text), "kinds": Key(_kinds)}
ROLL: Table = {
    "form": Key(_one_of("roll", "sheet")),
    "width_mm": Key(_number(8, 250)),
    "height_mm": Key(_number(5, 400)),
}
SHEET: Table = {
    **ROLL,
    "page": Key(_one_of(*PAGES_MM)),
    "columns": Key(_whole(1, 40)),
    "rows": Key(_whole(1, 60)),
    "left_mm": Key(_MM),
    "top_mm": Key(_MM),
    "pitch_x_mm": Key(_SIZE_MM),
    "pitch_y_mm": Key(_SIZE_MM),
}
RULE: Table = {
    "box_mm": Key(_box),
    "kinds": Key(_kinds, None),
}
SYMBOL: Table = {
    **RULE,
    "kind": Key(_one_of(*SYMBOL_KINDS)),
    "least_module_mm": Key(_number(0.1, 5)),
    "says": Key(_says, ("code",)),
}
TEXT_FIELD: Table = {
    **RULE,
    "text": Key(_parts),
    "join": Key(_any_text, " · "),
    "face": Key(_one_of(*FACES), "text"),
    "size_pt": Key(_number(4, 200)),
    "least_size_pt": Key(_number(4, 200), None),
    "lines": Key(_whole(1, 20), 1),
    "trim": Key(_flag, False),
    "align": Key(_one_of("left", "centre", "right"), "left"),
    "valign": Key(_one_of("top", "middle", "bottom"), "top"),
    "turn": Key(_one_of(0, 90, 180, 270), 0),
    "reverse": Key(_flag, False),
}
