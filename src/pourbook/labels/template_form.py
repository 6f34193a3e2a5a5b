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
from pourbook.labels.media import PAGES_MM
from pourbook.labels.symbols import SYMBOL_KINDS

__all__ = ["REQUIRED", "ROLL", "RULE", "SHEET", "SYMBOL", "TEXT_FIELD", "TOP", "Key", "Table", "Wrong"]

_FACES = {
    "text": typefaces.TEXT,
    "italic": typefaces.ITALIC,
    "semibold": typefaces.SEMIBOLD,
    "bold": typefaces.BOLD,
    "code": typefaces.CODE,
    "code-bold": typefaces.CODE_BOLD,
}
_NAMES = tuple(f.name for f in fields(Label))

REQUIRED = object()
"""The default of a key that must be there."""

Check = Callable[[Any], Any]


class Key(NamedTuple):
    """One key of a table: `check` returns the value as used or raises `Wrong`; `default` serves when it is left out."""

    check: Check
    default: object = REQUIRED


Table = Mapping[str, Key]


class Wrong(Exception):
    """A value that the form does not allow: what was found, what is wrong, what to do."""

    def __init__(self, value: object, problem: str, remedy: str) -> None:
        super().__init__(value, problem, remedy)
        self.value, self.problem, self.remedy = str(value), problem, remedy


# -- values ------------------------------------------------------------------------------


def _that(holds: Callable[[Any], object], problem: str, remedy: str, made: Check = lambda value: value) -> Check:
    """A check that a condition holds."""

    def check(value: object) -> Any:  # noqa: ANN401 (whatever `made` makes)
        if not holds(value):
            raise Wrong(value, problem, remedy)
        return made(value)

    return check


def _is(value: object, kinds: Any, low: float, high: float) -> bool:  # noqa: ANN401 (types of numbers)
    return not isinstance(value, bool) and isinstance(value, kinds) and low <= value <= high


def _number(low: float, high: float) -> Check:
    remedy = f"give a number from {low:g} to {high:g}"
    return _that(lambda value: _is(value, int | float, low, high), "is not a number in range", remedy, float)


def _whole(low: int, high: int) -> Check:
    remedy = f"give one from {low} to {high}"
    return _that(lambda value: _is(value, int, low, high), "is not a whole number in range", remedy)


def _one_of(*words: object) -> Check:
    remedy = f"use one of: {', '.join(map(str, words))}"
    return _that(lambda value: value in words, "is not one of those allowed", remedy)


_MM = _number(0, 1000)
_SIZE_MM = _number(0.05, 1000)
_WRITE_TEXT = "is not text", "write text in quotation marks"
_TEXT = _that(lambda value: isinstance(value, str) and value.strip(), *_WRITE_TEXT)
_ANY_TEXT = _that(lambda value: isinstance(value, str), *_WRITE_TEXT)
_FLAG = _that(
    lambda value: isinstance(value, bool), "is neither true nor false", "write true or false without quotation marks"
)
_NAME = _that(
    lambda value: re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", _TEXT(value)),
    "cannot be the name of a template", "use small letters, digits and hyphens",
)  # fmt: skip
_KINDS = _that(
    lambda value: isinstance(value, list) and value, "is not a list of kinds", 'write them as ["cask", "vial"]',
    lambda kinds: tuple(map(_one_of(*KINDS), kinds)),
)  # fmt: skip
_BOX = _that(
    lambda value: isinstance(value, list) and len(value) == 4,
    "is not a box", "write [from the left, from the top, width, height] in mm",
    lambda sides: Box(*map(_MM, sides[:2]), *map(_SIZE_MM, sides[2:])),
)  # fmt: skip


def _listed(value: object, remedy: str) -> list[Any]:
    """One text, or several in a list, as a list."""
    found = value if isinstance(value, list) else [value]
    if not found:
        raise Wrong(value, "is empty", remedy)
    return found


def _parts(value: object) -> dict[str, tuple[str, ...]]:
    return {_TEXT(pattern): _named(_TEXT(pattern)) for pattern in _listed(value, 'write text such as "{name}"')}


def _says(value: object) -> tuple[str, ...]:
    return tuple(map(_one_of("code", *OUTSIDE), _listed(value, 'write "code" for the identifier')))


def _named(pattern: str) -> tuple[str, ...]:
    """The fields a pattern names, each known and without format directions."""
    try:
        pieces = list(Formatter().parse(pattern))
    except ValueError:
        raise Wrong(pattern, "has an unmatched brace", "write fields as {name}") from None
    named = []
    for _, name, directions, conversion in pieces:
        if name is not None:
            if name not in _NAMES or directions or conversion:
                near = get_close_matches(name, _NAMES, n=1)
                hint = f"did you mean {{{near[0]}}}? " if near else ""
                raise Wrong(f"{{{name}}}", "is not a field of a label", f"{hint}choose from: {', '.join(_NAMES)}")
            named.append(name)
    return tuple(named)


# -- tables ------------------------------------------------------------------------------

TOP: Table = {"name": Key(_NAME), "title": Key(_TEXT), "kinds": Key(_KINDS)}
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
RULE: Table = {"box_mm": Key(_BOX), "kinds": Key(_KINDS, None)}
SYMBOL: Table = {
    **RULE,
    "kind": Key(_one_of(*SYMBOL_KINDS)),
    "least_module_mm": Key(_number(0.1, 5)),
    "says": Key(_says, ("code",)),
}
TEXT_FIELD: Table = {
    **RULE,
    "text": Key(_parts),
    "join": Key(_ANY_TEXT, " · "),
    "face": Key(lambda value: _FACES[_one_of(*_FACES)(value)], typefaces.TEXT),
    "size_pt": Key(_number(4, 200)),
    "least_size_pt": Key(_number(4, 200), None),
    "lines": Key(_whole(1, 20), 1),
    "trim": Key(_FLAG, False),
    "align": Key(_one_of("left", "centre", "right"), "left"),
    "valign": Key(_one_of("top", "middle", "bottom"), "top"),
    "turn": Key(_one_of(0, 90, 180, 270), 0),
    "reverse": Key(_FLAG, False),
}
