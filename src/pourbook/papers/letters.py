"""Letters as outlines, so that a picture looks the same wherever it is seen, whatever typefaces are there.

Each letter of each face is drawn once and then used; the outlines are those of the faces that papers embed. The text
itself stands invisible upon them, to be searched, marked and copied.

>>> words = placed_words(10, 20, "Lot 26-1", Type(typefaces.TEXT, 7, 8.2))
>>> words.width_pt == typefaces.width_pt("Lot 26-1", typefaces.TEXT, 7)
True
>>> defined([words]).count("<path ")  # L, o, t, 2, 6, -, 1; a space has no outline
7
"""

import ctypes
from collections.abc import Iterable
from functools import cache
from itertools import pairwise
from typing import Any, NamedTuple

import pypdfium2
import pypdfium2.raw as pdfium

from pourbook import typefaces
from pourbook.papers.cells import Type
from pourbook.papers.markup import marked_up

__all__ = ["PlacedWords", "defined", "drawn", "placed_words", "without_ink"]

_EM = 1000
"""Units to the em."""


class _Letter(NamedTuple):
    """A character of a face, and where it begins, in points from the start of its line."""

    face: str
    character: str
    x_pt: float

    @property
    def name(self) -> str:
        return f"{''.join(c for c in self.face if c.isupper()).lower()}-{ord(self.character):x}"


class PlacedWords(NamedTuple):
    """A line of text in a type, from x on the base line y, in points, with its width and its letters."""

    x: float
    y: float
    text: str
    type: Type
    width_pt: float
    letters: tuple[_Letter, ...]


def placed_words(x: float, y: float, text: str, type_: Type, align: typefaces.Align = "left") -> PlacedWords:
    """A line of text by its start, or by its end; what no face sets is a square, as on paper."""
    pieces = typefaces.runs(text, type_.face)
    letters, at_pt = [], 0.0
    for piece, face in pieces:
        for character in piece:
            letters.append(_Letter(face, character, at_pt))
            at_pt += typefaces.advance_pt(character, face, type_.size_pt)
    start = x - at_pt if align == "right" else x
    return PlacedWords(start, y, "".join(piece for piece, _ in pieces), type_, at_pt, tuple(letters))


def defined(lines: Iterable[PlacedWords]) -> str:
    """The outlines of all letters of some lines, each once."""
    letters = {letter.name: letter for line in lines for letter in line.letters}
    paths = ((name, _outline(letter.face, letter.character)) for name, letter in sorted(letters.items()))
    return "<defs>" + "".join(f'<path id="{name}" d="{path}"/>' for name, path in paths if path) + "</defs>"


def drawn(line: PlacedWords) -> str:
    """The letters of a line."""
    size = line.type.size_pt / _EM
    used = "".join(
        f'<use href="#{letter.name}" x="{letter.x_pt / size:.0f}"/>'
        for letter in line.letters
        if _outline(letter.face, letter.character)
    )
    grey = f"{round(255 * line.type.grey):02x}"
    ink = f' fill="#{grey * 3}"' if line.type.grey else ""
    return f'<g{ink} transform="translate({line.x:.3f} {line.y:.3f}) scale({size:g} {-size:g})">{used}</g>'


def without_ink(lines: Iterable[PlacedWords]) -> str:
    """The text of lines, to lie upon their letters."""
    texts = "\n".join(
        f'<text x="{line.x:.3f}" y="{line.y:.3f}" font-size="{line.type.size_pt:g}" textLength="{line.width_pt:.3f}"'
        f' lengthAdjust="spacingAndGlyphs">{marked_up(line.text)}</text>'
        for line in lines
    )
    return f'<g fill="none" pointer-events="all" font-family="sans-serif">\n{texts}\n</g>'


@cache
def _outline(face: str, character: str) -> str:
    """The outline as a path, y upward: closed loops of lines and of the quadratic curves that the faces are made of."""
    glyph = pdfium.FPDFFont_GetGlyphPath(_font(face)[0], ord(character), 1.0)
    steps = [
        _step(pdfium.FPDFGlyphPath_GetGlyphPathSegment(glyph, number))
        for number in range(max(pdfium.FPDFGlyphPath_CountGlyphSegments(glyph), 0))
    ]
    return "".join(_loop(steps[start:end]) for start, end in pairwise([*_starts(steps), len(steps)]))


_Step = tuple[int, float, float]


def _step(segment: Any) -> _Step:  # noqa: ANN401 (pdfium comes without types)
    x, y = ctypes.c_float(), ctypes.c_float()
    pdfium.FPDFPathSegment_GetPoint(segment, x, y)
    return pdfium.FPDFPathSegment_GetType(segment), x.value * _EM, y.value * _EM


def _starts(steps: list[_Step]) -> list[int]:
    return [number for number, step in enumerate(steps) if step[0] == pdfium.FPDF_SEGMENT_MOVETO]


def _loop(steps: list[_Step]) -> str:
    """One closed outline, in whole units, each point from the one before.

    A quadratic curve comes as a cubic one; its control point lies as far again beyond the cubic's first, by a half.
    """
    (_, x, y), *others = steps
    at = round(x), round(y)
    said = [f"M{at[0]} {at[1]}"]
    while others:
        kind, *_ = others[0]
        points = [point[1:] for point in others[: 3 if kind == pdfium.FPDF_SEGMENT_BEZIERTO else 1]]
        others = others[len(points) :]
        if len(points) == 3:
            (one_x, one_y), _, end = points
            points = [((3 * one_x - x) / 2, (3 * one_y - y) / 2), end]
        x, y = points[-1]
        whole = [(round(a) - at[0], round(b) - at[1]) for a, b in points]
        at = round(x), round(y)
        said.append(("q" if len(whole) == 2 else "l") + " ".join(f"{a} {b}" for a, b in whole))
    return "".join(said).replace(" -", "-") + "Z"


@cache
def _font(face: str) -> tuple[Any, ...]:
    """A face as pdfium reads it, with what must live as long as it does."""
    data = typefaces.content_of(face)
    document, kept = pypdfium2.PdfDocument.new(), (ctypes.c_uint8 * len(data)).from_buffer_copy(data)
    return pdfium.FPDFText_LoadFont(document.raw, kept, len(data), pdfium.FPDF_FONT_TRUETYPE, True), kept, document
