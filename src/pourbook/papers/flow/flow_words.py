r"""The words of a flow picture: what stands in each box, and how narrow it can be set.

>>> pieces = ["C-000017-1", "Q 205", "apple-brandy barrel", "24.59\u00a0%"]
>>> label_lines(pieces, 64)
('C-000017-1 · Q 205', 'apple-brandy barrel', '24.59\xa0%')
>>> label_lines(pieces, 48)
('C-000017-1', 'Q 205', 'apple-brandy', 'barrel · 24.59\xa0%')
"""

from bisect import bisect_left
from collections.abc import Iterable
from math import ceil
from typing import NamedTuple

from pourbook import typefaces
from pourbook.papers.cells import Type, broken, shortened
from pourbook.papers.flow.flow_values import ADDED, Flow, FlowEdge
from pourbook.words.paper_figures import Notation

__all__ = ["ADDED_PT", "LABEL", "BoxWords", "box_words", "label_lines", "least_width_pt", "share_text"]

LABEL = Type(typefaces.TEXT, 7, 8.2)
ADDED_PT = 13.0
"""Room for the mark of water or an additive, before its words."""

_LONGEST_PT = 128.0
_SHOWN = 0.00005
"""Half a unit of the last digit of a printed share."""


class BoxWords(NamedTuple):
    """What stands in a box: its name and share, each kept on one line if it can be; additions with their words."""

    pieces: tuple[str, ...]
    additions: tuple[tuple[FlowEdge, str], ...]


def box_words(flow: Flow, notation: Notation) -> dict[str, BoxWords]:
    """The words of every place."""
    amounts, total = flow.amounts(), flow.total_ml or 1.0
    added: dict[str, list[tuple[FlowEdge, str]]] = {item.key: [] for item in flow.items}
    for edge in flow.edges:
        if edge.kind in ADDED:
            text = f"{edge.name} {notation.kg(round(edge.mass_mg), 1)} kg" if edge.mass_mg else edge.name
            added[edge.target].append((edge, text))
    found = {}
    for item in flow.items:
        own = amounts[item.key]
        pieces = [*item.label, share_text(own.through / total, notation)]
        if flow.direction == "forward" and item.kind != "end" and own.rest / total >= _SHOWN:
            pieces.append(f"remaining {share_text(own.rest / total, notation)}")
        short = tuple(shortened(piece, LABEL, _LONGEST_PT) for piece in pieces)
        found[item.key] = BoxWords(short, tuple(added[item.key]))
    return found


def share_text(share: float, notation: Notation) -> str:
    r"""A share in per cent; a trace of something is never shown as nothing.

    >>> share_text(0.00001, Notation()), share_text(0.125, Notation(","))
    ('<0.01\xa0%', '12,50\xa0%')
    """
    if 0 < share < _SHOWN:
        return f"<0{notation.mark}01\u00a0%"
    return f"{notation.percent(share, 2)}\u00a0%"


def _width(text: str, type_: Type) -> float:
    return typefaces.width_pt(text, type_.face, type_.size_pt)


def label_lines(pieces: Iterable[str], width_pt: float, type_: Type = LABEL) -> tuple[str, ...]:
    """Pieces side by side as far as they fit, one that is too long broken between words."""
    lines: list[str] = []
    for piece in pieces:
        if lines and _width(f"{lines[-1]} · {piece}", type_) <= width_pt:
            lines[-1] += f" · {piece}"
        else:
            lines += broken(piece, type_, width_pt)
    return tuple(lines)


def least_width_pt(words: BoxWords, most_lines: int, type_: Type) -> float:
    """The least width, in whole points, at which the words need no more lines; no word is broken for it."""
    least = [_width(word, type_) for piece in words.pieces for word in piece.split(" ")]
    least += [min(_width(text, type_), _LONGEST_PT / 2) + ADDED_PT for _, text in words.additions]
    widths = range(ceil(max(least)), ceil(_width(" · ".join(words.pieces), type_)) + 1)
    place = bisect_left(widths, True, key=lambda width: len(label_lines(words.pieces, width, type_)) <= most_lines)
    return float(widths[place]) if place < len(widths) else max(least) + 1
