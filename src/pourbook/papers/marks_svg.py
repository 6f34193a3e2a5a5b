"""Marks as SVG: a picture with a title and a description, and its figures as a table below.

Letters are outlines, so it looks the same whatever typefaces the reader has (`letters`).

>>> figure(Drawing(500, 120, (), "nothing at all"), "Lot 26-1").startswith(
...     '<svg xmlns="http://www.w3.org/2000/svg" role="img"')
True
"""

from collections.abc import Sequence
from typing import NamedTuple

from pourbook import typefaces
from pourbook.papers.cells import COLUMN_HEAD, SMALL, Type, shortened
from pourbook.papers.letters import PlacedWords, defined, drawn, placed_words, without_ink
from pourbook.papers.marks import Drawing, Outline, Words
from pourbook.papers.markup import marked_up
from pourbook.papers.page import CAUTION, Imprint, Title

__all__ = ["SvgTable", "figure", "picture_document"]

_MARGIN_PT = 14.0
_TITLE = Type(typefaces.SEMIBOLD, 12, 16)
_NOTE = Type(typefaces.TEXT, 6.7, 9)


class SvgTable(NamedTuple):
    """Figures below a picture.

    Attributes:
        places: of each column: where it stands and how much room a text has, as parts of the width; its alignment.
        heads: of the columns.
        rows: texts, shortened where they would not fit.
    """

    places: tuple[tuple[float, float, typefaces.Align], ...]
    heads: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]


def figure(drawing: Drawing, title: str) -> str:
    """The picture alone, for a page that has the table itself."""
    lines, body = _drawn(drawing)
    is_linked = any(isinstance(mark, Outline) and mark.link for mark in drawing.marks)
    size = drawing.width, drawing.height
    return _framed(size, 0.0, title, drawing.description, defined(lines) + body, "group" if is_linked else "img")


def picture_document(drawing: Drawing, table: SvgTable, imprint: Imprint, title: Title) -> str:
    """A file of its own: title, picture, table, and what a paper would say at its head and foot."""
    heading = f"{title.paper} {title.id}"
    top = _TITLE.leading_pt + 6
    rows, foot = _table(table, drawing.width, top + drawing.height + 14)
    journal = f"{imprint.issuer} · {imprint.dated} · journal at entry {imprint.entries}, {imprint.head_hash}"
    notes = [
        placed_words(0, foot + 10 + row * _NOTE.leading_pt, note, _NOTE) for row, note in enumerate((journal, CAUTION))
    ]
    words = [placed_words(0, _TITLE.size_pt, heading, _TITLE), *rows, *notes]
    within, picture = _drawn(drawing)
    rules = (row.y for row in rows if row.x == 0)
    parts = (
        defined([*words, *within]),
        f'<g transform="translate(0 {top:g})">',
        picture,
        "</g>",
        *map(drawn, words),
        *(_rule(y + 3, drawing.width) for y in rules),
        without_ink(words),
    )
    size = drawing.width, foot + 10 + len(notes) * _NOTE.leading_pt
    return _framed(size, _MARGIN_PT, heading, drawing.description, "\n".join(parts)) + "\n"


def _framed(
    size: tuple[float, float], margin: float, title: str, description: str, body: str, role: str = "img"
) -> str:  # fmt: skip
    """The whole element; what holds links is a group, since nothing within an image is told to who cannot see it."""
    across, down = (length + 2 * margin for length in size)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="{role}" aria-labelledby="picture-title picture-description"'
        f' viewBox="{-margin:g} {-margin:g} {across:.2f} {down:.2f}" width="{across:.2f}pt" height="{down:.2f}pt">\n'
        f'<title id="picture-title">{marked_up(title)}</title>\n'
        f'<desc id="picture-description">{marked_up(description)}</desc>\n'
        f'<rect x="{-margin:g}" y="{-margin:g}" width="{across:.2f}" height="{down:.2f}" fill="#ffffff"/>\n'
        f"{body}\n</svg>"
    )


def _drawn(drawing: Drawing) -> tuple[list[PlacedWords], str]:
    """The words of a picture, and all of it as SVG; links lie above all else."""
    lines: list[PlacedWords] = []
    found, links = [], []
    for mark in drawing.marks:
        if isinstance(mark, Words):
            lines.append(placed_words(*mark))
            found.append(drawn(lines[-1]))
        elif mark.link:
            links.append(f'<a href="{marked_up(mark.link)}" aria-label="{marked_up(mark.title)}">{_outline(mark)}</a>')
        else:
            found.append(_outline(mark))
    return lines, "\n".join((*found, without_ink(lines), *links))


def _outline(mark: Outline) -> str:
    path = "".join(f"{step[0]}" + " ".join(f"{float(value):.3f}" for value in step[1:]) for step in mark.path)
    line = f' stroke="{mark.stroke}" stroke-width="{mark.width:g}"' if mark.stroke else ""
    dash = f' stroke-dasharray="{" ".join(f"{length:g}" for length in mark.dash)}"' if mark.dash else ""
    start = f'<path class="{mark.what}" d="{path}" fill="{mark.fill or "none"}"{line}{dash}'
    return f"{start}><title>{marked_up(mark.title)}</title></path>" if mark.title else f"{start}/>"


def _rule(y: float, width: float) -> str:
    return f'<path class="rule" d="M0 {y:.2f}L{width:.2f} {y:.2f}" stroke="#8c8c8c" stroke-width="0.25"/>'


def _table(table: SvgTable, width: float, top: float) -> tuple[list[PlacedWords], float]:
    """The words of the rows, and where the table ends."""
    found, y = [], top
    for texts, type_ in [(table.heads, COLUMN_HEAD), *((row, SMALL) for row in table.rows)]:
        for text, (part, room, align) in zip(texts, table.places, strict=True):
            found.append(placed_words(part * width, y, shortened(text, type_, room * width), type_, align))
        y += SMALL.leading_pt + 1.5
    return found, y
