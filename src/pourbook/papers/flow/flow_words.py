r"""The words of a flow picture: what stands in each box, and how narrow it can be set.

>>> pieces = ["C-000017-1", "Q 205", "apple-brandy barrel", "24.59\u00a0%"]
>>> label_lines(pieces, 64)
('C-000017-1 · Q 205', 'apple-brandy barrel', '24.59\xa0%')
>>> label_lines(pieces, 48)
('C-000017-1', 'Q 205', 'apple-brandy', 'barrel · 24.59\xa0%')
"""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from pourbook import typefaces
from pourbook.papers.cells import Type, broken
from pourbook.papers.flow.flow_values import ADDED, Amounts, Flow, FlowEdge, FlowItem
from pourbook.words.paper_figures import Notation

__all__ = [
    "ADDED_PT",
    "LABEL",
    "SETTINGS",
    "BoxWords",
    "Setting",
    "box_words",
    "label_lines",
    "least_width_pt",
    "share_text",
    "shortened",
]

LABEL = Type(typefaces.TEXT, 7, 8.2)
_SMALL = Type(typefaces.TEXT, 6, 7)
ADDED_PT = 13.0
"""Room for the mark of water or an additive, before its words."""

_LONGEST_PT = 128.0
_SHOWN = 0.00005
"""Half a unit of the last digit of a printed share."""


class Setting(NamedTuple):
    """How closely a picture is set.

    Attributes:
        type: of all words in boxes.
        white_pt: above and below the words of a box.
        apart_pt: between boxes of a column.
    """

    type: Type
    white_pt: float
    apart_pt: float


SETTINGS = (Setting(LABEL, 1.5, 6.0), Setting(LABEL, 1.0, 3.0), Setting(_SMALL, 0.4, 1.2))
"""From roomy to close; the last one has sixty casks in a column."""


class BoxWords(NamedTuple):
    """What stands in a box.

    Attributes:
        pieces: what it is called, and its share; each is kept on one line if it can be.
        additions: water and additives, each with its words.
    """

    pieces: tuple[str, ...]
    additions: tuple[tuple[FlowEdge, str], ...]

    def main_pt(self, width_pt: float, setting: Setting) -> float:
        """How high the words are, set so wide, with white above and below."""
        lines = len(label_lines(self.pieces, width_pt, setting.type))
        return lines * setting.type.leading_pt + 2 * setting.white_pt

    def below_pt(self, setting: Setting) -> float:
        """How high the additions are."""
        return len(self.additions) * setting.type.leading_pt


def box_words(flow: Flow, notation: Notation) -> dict[str, BoxWords]:
    """The words of every place."""
    amounts, total = flow.amounts(), flow.total_ml
    added: dict[str, list[tuple[FlowEdge, str]]] = {}
    for edge in flow.edges:
        if edge.kind in ADDED:
            added.setdefault(edge.target, []).append((edge, _addition(edge, notation)))
    return {
        item.key: BoxWords(_pieces(item, flow, amounts, total, notation), tuple(added.get(item.key, ())))
        for item in flow.items
    }


def _pieces(
    item: FlowItem, flow: Flow, amounts: Mapping[str, Amounts], total_ml: float, notation: Notation
) -> tuple[str, ...]:
    own = amounts[item.key]
    pieces = [*item.label, share_text(own.through / total_ml if total_ml else 0.0, notation)]
    if flow.direction == "forward" and item.kind != "end" and total_ml and own.rest / total_ml >= _SHOWN:
        pieces.append(f"not poured on {share_text(own.rest / total_ml, notation)}")
    return tuple(shortened(piece, LABEL, _LONGEST_PT) for piece in pieces)


def _addition(edge: FlowEdge, notation: Notation) -> str:
    return f"{edge.name} {notation.kg(round(edge.mass_mg), 1)} kg" if edge.mass_mg else edge.name


def share_text(share: float, notation: Notation) -> str:
    r"""A share in per cent; a trace of something is never shown as nothing.

    >>> share_text(0.00001, Notation()), share_text(0.125, Notation(","))
    ('<0.01\xa0%', '12,50\xa0%')
    """
    if 0 < share < _SHOWN:
        return f"<0{notation.mark}01\u00a0%"
    return f"{notation.percent(share, 2)}\u00a0%"


def shortened(text: str, type_: Type, width_pt: float) -> str:
    """Text that fits a width, its end left out where it must be."""
    if _width(text, type_) <= width_pt:
        return text
    shorter = (text[:end].rstrip() + "…" for end in range(len(text) - 1, 0, -1))
    return next((short for short in shorter if _width(short, type_) <= width_pt), "…")


def _width(text: str, type_: Type) -> float:
    return typefaces.width_pt(text, type_.face, type_.size_pt)


def label_lines(pieces: Iterable[str], width_pt: float, type_: Type = LABEL) -> tuple[str, ...]:
    """Pieces side by side as far as they fit, one that is too long by itself broken between words."""
    lines: list[str] = []
    for piece in pieces:
        if lines and _width(f"{lines[-1]} · {piece}", type_) <= width_pt:
            lines[-1] += f" · {piece}"
        else:
            lines += broken(piece, type_, width_pt)
    return tuple(lines)


def least_width_pt(words: BoxWords, most_lines: int, type_: Type) -> float:
    """The least width at which the words need no more lines; no word is broken for it."""

    def fits(width_pt: float) -> bool:
        return len(label_lines(words.pieces, width_pt, type_)) <= most_lines

    low = max(_width(word, type_) for piece in words.pieces for word in piece.split(" "))
    low = max([low, *(min(_width(text, type_), _LONGEST_PT / 2) + ADDED_PT for _, text in words.additions)])
    if fits(low):
        return low + 0.1
    high = _width(" · ".join(words.pieces), type_)
    for _ in range(10):
        middle = (low + high) / 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    return high + 0.1
