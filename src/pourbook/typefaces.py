"""The type every label and paper is set in, embedded, with no character lost on the way.

Text is Source Sans 3; DejaVu Sans supplies characters it lacks. Codes are DejaVu Sans Mono, which
tells 0 from O and 1 from l and I. A character that no face has, or that would be drawn in the wrong order, stands as a
square: PDF libraries leave it blank, and one sign in a note must not keep a paper from being printed. `unset` names
such characters, so that whoever prints can be told.

>>> runs("Źdźbło → Ψ", TEXT)
[('Źdźbło → Ψ', 'SourceSans3')]
>>> runs("cask ⚗ 7", TEXT)
[('cask ', 'SourceSans3'), ('⚗', 'DejaVuSans'), (' 7', 'SourceSans3')]
>>> runs("rice 酒", TEXT), unset("rice 酒")
([('rice ', 'SourceSans3'), ('□', 'DejaVuSans')], ('酒 (U+9152)',))
"""

import unicodedata
from functools import cache, lru_cache
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from pourbook.errors import OutOfRange
from pourbook.texts import visible

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

__all__ = [
    "BOLD", "CODE", "CODE_BOLD", "ITALIC", "MARK", "SEMIBOLD", "TEXT", "Align", "advance_pt", "content_of",
    "draw", "path_of", "register", "runs", "unset", "width_pt",
]  # fmt: skip

TEXT = "SourceSans3"
ITALIC = "SourceSans3-Italic"
SEMIBOLD = "SourceSans3-SemiBold"
BOLD = "SourceSans3-Bold"
CODE = "DejaVuSansMono"
CODE_BOLD = "DejaVuSansMono-Bold"

MARK = "□"
"""Stands for a character that no face sets."""

_SYMBOLS = "DejaVuSans"
_VARIANTS = frozenset(map(chr, range(0xFE00, 0xFE10)))  # how the character before is to look; without ink
_FILES = {
    TEXT: "SourceSans3_400Regular.ttf",
    ITALIC: "SourceSans3_400Regular_Italic.ttf",
    SEMIBOLD: "SourceSans3_600SemiBold.ttf",
    BOLD: "SourceSans3_700Bold.ttf",
    CODE: "DejaVuSansMono.ttf",
    CODE_BOLD: "DejaVuSansMono-Bold.ttf",
    _SYMBOLS: "DejaVuSans.ttf",
}
_FALL_BACK = {TEXT: TEXT, ITALIC: TEXT, SEMIBOLD: TEXT, BOLD: TEXT, CODE: CODE, CODE_BOLD: CODE}

Align = Literal["left", "centre", "right"]
"""Where a line stands by the point it is drawn at."""


@cache
def register() -> None:
    """Make the embedded faces known to reportlab; cheap the second time."""
    from reportlab.pdfbase import pdfmetrics  # here and not above: keeps start-up light
    from reportlab.pdfbase.ttfonts import TTFont

    for name in _FILES:
        pdfmetrics.registerFont(TTFont(name, path_of(name)))


@cache
def _font(name: str) -> "TTFont":
    from reportlab.pdfbase import pdfmetrics

    register()
    return pdfmetrics.getFont(name)


@cache
def _chain(face: str) -> tuple[str, ...]:
    """The faces asked for a glyph, in order."""
    if face not in _FALL_BACK:
        raise OutOfRange(f"'{face}' is not a typeface of pourbook", f"use one of: {', '.join(_FALL_BACK)}")
    return tuple(dict.fromkeys((face, _FALL_BACK[face], _SYMBOLS)))


def _drawable(text: str) -> str:
    """Composed, line breaks and tabs as spaces, control characters as marks, without what has no ink."""
    if text.isascii() and text.isprintable():
        return text
    spaced = "".join(" " if character in "\t\n\r" else character for character in text)
    composed = unicodedata.normalize("NFC", visible(spaced))
    return "".join(c for c in composed if unicodedata.category(c) != "Cf" and c not in _VARIANTS)


@lru_cache(maxsize=4096)
def _set(character: str, face: str) -> tuple[str, str]:
    """A character as it is drawn, and the first face with it; the mark where none has it, or would draw it wrong."""
    backward = unicodedata.bidirectional(character) in ("R", "AL")
    found = next((name for name in _chain(face) if ord(character) in _font(name).face.charToGlyph), None)
    return (MARK, _SYMBOLS) if found is None or backward else (character, found)


def unset(text: str) -> tuple[str, ...]:
    """The characters of a text that no face sets, each once, with its number."""
    if text.isascii():
        return ()
    return tuple(f"{one} (U+{ord(one):04X})" for one in dict.fromkeys(_drawable(text)) if _set(one, TEXT)[0] != one)


@lru_cache(maxsize=4096)
def _runs(text: str, face: str) -> tuple[tuple[str, str], ...]:
    drawable = _drawable(text)
    if drawable.isascii() and drawable.isprintable():
        return ((drawable, _chain(face)[0]),) if drawable else ()
    faced = (_set(character, face) for character in drawable)
    return tuple(("".join(c for c, _ in run), name) for name, run in groupby(faced, key=lambda pair: pair[1]))


def runs(text: str, face: str) -> list[tuple[str, str]]:
    """Text as it will be drawn, cut into pieces of one font: (piece, font name).

    Accents are composed, line breaks and tabs become spaces, characters without ink (soft hyphens, joiners) go; what
    no face sets becomes `MARK`.

    Raises:
        OutOfRange: no such face.
    """
    return list(_runs(text, face))


@lru_cache(maxsize=16384)
def _width_per_pt(text: str, face: str) -> float:
    return sum(float(_font(name).stringWidth(piece, 1000)) for piece, name in _runs(text, face)) / 1000


def width_pt(text: str, face: str, size: float) -> float:
    """Width of one line of text at a type size, both in points.

    >>> round(width_pt("C-000123-X", CODE, 10), 2)  # ten advances of 0.602 em
    60.21
    """
    return _width_per_pt(text, face) * size


def advance_pt(character: str, font: str, size: float) -> float:
    """How far one character of a font moves on, at a type size, in points."""
    return float(_font(font).stringWidth(character, 1000)) / 1000 * size


def content_of(font: str) -> bytes:
    """The file of a font."""
    return path_of(font).read_bytes()


def path_of(font: str) -> Path:
    """Where the file of a font lies."""
    return Path(__file__).parent / "fonts" / _FILES[font]


def draw(canvas: "Canvas", x: float, y: float, text: str, face: str, size: float, align: Align = "left") -> None:
    """Draw one line of text at (x, base line), all in points; x is its start, centre or end, by `align`."""
    if align != "left":
        x -= width_pt(text, face, size) * (0.5 if align == "centre" else 1.0)
    line = canvas.beginText(x, y)
    for piece, name in _runs(text, face):
        _font(name)
        line.setFont(name, size)
        line.textOut(piece)
    canvas.drawText(line)
