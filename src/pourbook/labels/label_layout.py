"""What stands where on a label: boxes in millimetres from its top left corner, as plain values.

>>> Box(0, 0, 10, 5).overlaps(Box(10, 0, 10, 5)), Box(0, 0, 10, 5).overlaps(Box(9, 4, 10, 5))
(False, True)
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from pourbook.labels.fitting import Style
from pourbook.labels.label import OUTSIDE, Label
from pourbook.labels.media import Media
from pourbook.typefaces import Align

__all__ = ["Box", "Rule", "SymbolField", "Template", "TextField"]

_REVERSE_INSET = 0.5
_TYPED_LITRES = re.compile(r"(?<=\d) ?([cm]?)l\b")
_INSIDE = {"gs1-128": "code-128", "gs1-data-matrix": "data-matrix"}


class Box(NamedTuple):
    """A place on a label: x and y from its left and top edges, width and height."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float

    def overlaps(self, other: "Box") -> bool:
        """Whether the two share more than an edge."""
        return (
            self.x_mm < other.x_mm + other.width_mm
            and other.x_mm < self.x_mm + self.width_mm
            and self.y_mm < other.y_mm + other.height_mm
            and other.y_mm < self.y_mm + self.height_mm
        )


@dataclass(frozen=True, slots=True)
class TextField:
    """A text on a label.

    `parts` maps patterns such as 'drawn {date}' to the fields they name; `join` stands between them. `style`, `align`
    and `valign` say how it is set in its box, `turn` by how many degrees anticlockwise; `reverse` is white on a black
    box; `kinds` of label show it.
    """

    parts: Mapping[str, tuple[str, ...]]
    join: str
    box: Box
    style: Style
    align: Align
    valign: str
    turn: int
    reverse: bool
    kinds: tuple[str, ...]

    @property
    def room_mm(self) -> tuple[float, float]:
        """Width along the text and height across it; white on black keeps from the ends of its box."""
        width, height = self.box.width_mm, self.box.height_mm
        along, across = (height, width) if self.turn in (90, 270) else (width, height)
        return (along - across * _REVERSE_INSET if self.reverse else along), across

    def said(self, label: Label) -> list[str]:
        """The parts that a label has something for, each once."""
        parts = (
            pattern.format_map({name: _text(label, name) for name in names})
            for pattern, names in self.parts.items()
            if all(_text(label, name) for name in names)
        )
        return list(dict.fromkeys(parts))


def _text(label: Label, name: str) -> str:
    """A field as shown; for a symbol that leaves the house, what it carries instead.

    However a content was typed, the litre is L: Directive 80/181/EEC allows l and L, and L is never read as 1.
    """
    text: str = getattr(label, name) or (label.id if name in OUTSIDE else "")
    return _TYPED_LITRES.sub(r" \1L", text) if name in ("count", "volume") else text


@dataclass(frozen=True, slots=True)
class SymbolField:
    """A symbol of a `kind`, on labels of some `kinds`; its `box` includes the quiet zone.

    `least_module_mm` is the smallest module that may be printed. `says` names the fields it carries one after the
    other: `code`, or some of `pourbook.labels.label.OUTSIDE`.
    """

    kind: str
    box: Box
    least_module_mm: float
    kinds: tuple[str, ...]
    says: tuple[str, ...] = ("code",)

    def said(self, label: Label) -> tuple[str, str]:
        """The kind of symbol and its text: where a label lacks what goes outside, our identifier instead."""
        first, *more = (getattr(label, name).replace(" ", "") for name in self.says)
        return (self.kind, "".join([first, *more])) if first else (_INSIDE.get(self.kind, self.kind), label.code)


@dataclass(frozen=True, slots=True)
class Rule:
    """A black bar on labels of some kinds."""

    box: Box
    kinds: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Template:
    """Symbols, text fields and rules on labels of some kinds, and their media; with name and one-line title."""

    name: str
    title: str
    kinds: tuple[str, ...]
    media: Media
    symbols: tuple[SymbolField, ...]
    fields: tuple[TextField, ...]
    rules: tuple[Rule, ...]

    def symbols_on(self, label: Label) -> list[SymbolField]:
        """The symbols that a label shows."""
        return [field for field in self.symbols if label.kind in field.kinds]

    def texts_on(self, label: Label) -> list[tuple[TextField, list[str]]]:
        """The texts that a label has something for, each with its parts."""
        return [(field, said) for field in self.fields if label.kind in field.kinds and (said := field.said(label))]

    def rules_on(self, label: Label) -> list[Rule]:
        """The bars that a label shows."""
        return [rule for rule in self.rules if label.kind in rule.kinds]
