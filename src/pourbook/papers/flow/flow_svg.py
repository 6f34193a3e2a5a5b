"""A flow picture as SVG: the picture with a title and a description, and its figures as a table below.

Letters are outlines, so it looks the same whatever typefaces the reader has (`letters`).

>>> from pourbook.papers.flow.flow_values import Flow, FlowEdge, FlowItem
>>> items = (FlowItem("c", "cask", ("Q 204", "oak"), own_ml=230.0), FlowItem("l", "lot", ("Lot 26-1",)))
>>> picture = laid_out(Flow("back", "l", items, (FlowEdge("c", "l", 230.0),)), 500, 600, Notation())
>>> figure(picture, "Lot 26-1", Notation()).startswith('<svg xmlns="http://www.w3.org/2000/svg" role="img"')
True
"""

from pourbook import typefaces
from pourbook.papers.cells import COLUMN_HEAD, SMALL, Type
from pourbook.papers.flow.flow_layout import HIGHEST_PT, Layout, laid_out
from pourbook.papers.flow.flow_marks import Outline, Words, legend_pt, marks
from pourbook.papers.flow.flow_table import COLUMNS, described, flow_rows, flow_texts
from pourbook.papers.flow.flow_values import Flow
from pourbook.papers.flow.flow_words import shortened
from pourbook.papers.flow.letters import PlacedWords, defined, drawn, placed_words, without_ink
from pourbook.papers.markup import marked_up
from pourbook.papers.page import CAUTION, Imprint, Title, text_width_pt
from pourbook.words.paper_figures import Notation

__all__ = ["figure", "flow_document"]

WIDTH_PT = text_width_pt("A4")

_MARGIN_PT = 14.0
_TITLE = Type(typefaces.SEMIBOLD, 12, 16)
_NOTE = Type(typefaces.TEXT, 6.7, 9)
_COLUMNS: tuple[tuple[float, typefaces.Align], ...] = (
    (0.0, "left"), (0.36, "left"), (0.78, "right"), (0.89, "right"), (1.0, "right"),
)  # fmt: skip
"""Where the columns of the table stand, as parts of the width."""


def figure(layout: Layout, title: str, notation: Notation) -> str:
    """The picture alone, for a page that has the table itself."""
    height = layout.height + legend_pt(layout, notation)
    lines, body = _drawn(layout, notation)
    return _framed((layout.width, height), 0.0, title, described(layout, notation), defined(lines) + body)


def flow_document(flow: Flow, imprint: Imprint, title: Title) -> str:
    """A file of its own: title, picture, table, and what a paper would say at its head and foot."""
    notation = imprint.notation
    layout = laid_out(flow, WIDTH_PT, HIGHEST_PT, notation)
    heading = f"{title.paper} {title.id}"
    top = _TITLE.leading_pt + 6
    below = top + layout.height + legend_pt(layout, notation) + 14
    rows, foot = _table(layout, notation, below)
    journal = f"{imprint.house} · {imprint.dated} · journal at entry {imprint.entries}, {imprint.head_hash}"
    notes = [
        placed_words(0, foot + 10 + row * _NOTE.leading_pt, note, _NOTE) for row, note in enumerate((journal, CAUTION))
    ]
    words = [placed_words(0, _TITLE.size_pt, heading, _TITLE), *rows, *notes]
    within, picture = _drawn(layout, notation)
    rules = (row.y for row in rows if row.x == 0)
    parts = (
        defined([*words, *within]),
        f'<g transform="translate(0 {top:g})">',
        picture,
        "</g>",
        *map(drawn, words),
        *(_rule(y + 3, layout.width) for y in rules),
        without_ink(words),
    )
    size = layout.width, foot + 10 + len(notes) * _NOTE.leading_pt
    return _framed(size, _MARGIN_PT, heading, described(layout, notation), "\n".join(parts)) + "\n"


def _framed(size: tuple[float, float], margin: float, title: str, description: str, body: str) -> str:
    across, down = (length + 2 * margin for length in size)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="flow-title flow-description"'
        f' viewBox="{-margin:g} {-margin:g} {across:.2f} {down:.2f}" width="{across:.2f}pt" height="{down:.2f}pt">\n'
        f'<title id="flow-title">{marked_up(title)}</title>\n'
        f'<desc id="flow-description">{marked_up(description)}</desc>\n'
        f'<rect x="{-margin:g}" y="{-margin:g}" width="{across:.2f}" height="{down:.2f}" fill="#ffffff"/>\n'
        f"{body}\n</svg>"
    )


def _drawn(layout: Layout, notation: Notation) -> tuple[list[PlacedWords], str]:
    """The words of a picture, and all of it as SVG."""
    lines: list[PlacedWords] = []
    found = []
    for mark in marks(layout, notation):
        if isinstance(mark, Words):
            lines.append(placed_words(*mark))
            found.append(drawn(lines[-1]))
        else:
            found.append(_outline(mark))
    return lines, "\n".join((*found, without_ink(lines)))


def _outline(mark: Outline) -> str:
    path = "".join(f"{step[0]}" + " ".join(f"{float(value):.3f}" for value in step[1:]) for step in mark.path)
    line = f' stroke="{mark.stroke}" stroke-width="{mark.width:g}"' if mark.stroke else ""
    dash = f' stroke-dasharray="{" ".join(f"{length:g}" for length in mark.dash)}"' if mark.dash else ""
    start = f'<path class="{mark.what}" d="{path}" fill="{mark.fill or "none"}"{line}{dash}'
    return f"{start}><title>{marked_up(mark.title)}</title></path>" if mark.title else f"{start}/>"


def _rule(y: float, width: float) -> str:
    return f'<path class="rule" d="M0 {y:.2f}L{width:.2f} {y:.2f}" stroke="#8c8c8c" stroke-width="0.25"/>'


def _table(layout: Layout, notation: Notation, top: float) -> tuple[list[PlacedWords], float]:
    """The words of the rows, and where the table ends."""
    heads = tuple(column.head.replace("\n", " ") for column in COLUMNS)
    lines = [(heads, COLUMN_HEAD), *((flow_texts(row, notation), SMALL) for row in flow_rows(layout))]
    found, y = [], top
    for texts, type_ in lines:
        for text, (part, align) in zip(texts, _COLUMNS, strict=True):
            room = layout.width * (0.35 if part < 0.36 else 0.3)
            found.append(placed_words(part * layout.width, y, shortened(text, type_, room), type_, align))
        y += SMALL.leading_pt + 1.5
    return found, y
