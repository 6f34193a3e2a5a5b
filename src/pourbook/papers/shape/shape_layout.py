"""Where the shapes of glasses stand: a row for each glass, one above the other, and panels of columns.

The first column shows the strongest word at each stage; where there is room beside it, each word has a column of
its own, else words stand in panels below. Every row and column has the same scale of intensities.

>>> glass = (Profile("C000001H"),)
>>> [(panel.whole, panel.words) for panel in panels(Shape((0.0, 5.0), ("pear", "oak"), glass, ()), 527)]
[(True, ('pear', 'oak'))]
>>> [len(panel.words) for panel in panels(Shape((0.0, 5.0), tuple("abcdefghij"), glass, ()), 527)]
[0, 5, 5]
"""

from math import ceil
from typing import NamedTuple

from pourbook.queries.tastings.shape_values import Profile, Shape
from pourbook.words.shape_words import STAGE_NAMES

__all__ = ["LABEL_PT", "ROOM_PT", "Column", "Panel", "panels"]

LABEL_PT = 108.0
"""Room for the name of a glass, at the left."""
ROOM_PT = 10.0
"""Room above a shape, for its words."""

_HEIGHT_PT, _LOW_PT = 32.0, 20.0
"""How high the scale is, where the strongest words are shown, and where each word has its own panel."""
_GAP_PT = 8.0
_WORD_PT = 40.0
_WIDEST_WORD_PT = 70.0
_TAIL_PT = 46.0
_SECONDS_PT = 26.0
_SLOT_PT = (44.0, 92.0)
_MOST_ROWS = 11
"""So many glasses stand on one page."""


class Column(NamedTuple):
    """Where the shapes of one word stand, or of the strongest.

    Attributes:
        word: empty for the strongest of all.
        left: where it begins.
        width: of it all.
        first: x of the nose.
        step: from stage to stage.
        tail: room for the longest finish; 0 where none is drawn.
    """

    word: str
    left: float
    width: float
    first: float
    step: float
    tail: float = 0.0

    def x(self, stage: int) -> float:
        """Where a stage stands."""
        return self.first + stage * self.step

    @property
    def finish(self) -> float:
        """Where the finish stands."""
        return self.x(len(STAGE_NAMES) - 1)


class Panel(NamedTuple):
    """Some glasses in some columns.

    Attributes:
        profiles: a row for each.
        columns: beside each other.
        height: of the scale, in points.
    """

    profiles: tuple[Profile, ...]
    columns: tuple[Column, ...]
    height: float

    @property
    def whole(self) -> bool:
        """Whether it has the column of the strongest."""
        return not self.columns[0].word

    @property
    def words(self) -> tuple[str, ...]:
        """The words that have columns."""
        return tuple(column.word for column in self.columns if column.word)

    @property
    def pitch(self) -> float:
        """From row to row."""
        return self.height + ROOM_PT + (10.0 if self.whole else 4.0)


def panels(shape: Shape, width: float) -> tuple[Panel, ...]:
    """The panels of a picture so wide, from top to bottom."""
    timed = any(one.finish_s for one in shape.profiles)
    words = shape.words if len(shape.words) > 1 else ()
    room = width - LABEL_PT
    least = _whole_pt(_SLOT_PT[0], timed=timed)
    beside = words if words and least + len(words) * (_GAP_PT + _WORD_PT) <= room else ()
    wanted = (room - least) / max(len(beside), 1) - _GAP_PT
    word_pt = min(wanted, _WIDEST_WORD_PT)
    slot = min(_SLOT_PT[1], _SLOT_PT[0] + (room - least - len(beside) * (_GAP_PT + word_pt)) / len(STAGE_NAMES))
    whole = Column("", LABEL_PT, _whole_pt(slot, timed=timed), LABEL_PT + slot / 2, slot, _TAIL_PT if timed else 0.0)
    right = LABEL_PT + whole.width
    columns = [(whole, *_words(beside, right + _GAP_PT, word_pt))]
    heights = [_HEIGHT_PT]
    if words and not beside:
        most = int((room + _GAP_PT) // (_WORD_PT + _GAP_PT))
        each = ceil(len(words) / ceil(len(words) / most))
        word_pt = min((room + _GAP_PT) / each - _GAP_PT, _WIDEST_WORD_PT)
        chunks = [words[start : start + each] for start in range(0, len(words), each)]
        columns += [tuple(_words(chunk, LABEL_PT, word_pt)) for chunk in chunks]
        heights += [_LOW_PT] * len(chunks)
    rows = [shape.profiles[start : start + _MOST_ROWS] for start in range(0, len(shape.profiles), _MOST_ROWS)]
    return tuple(Panel(some, own, height) for own, height in zip(columns, heights, strict=True) for some in rows)


def _whole_pt(slot: float, *, timed: bool) -> float:
    """The width of the strongest: a slot for the words of each stage, and the finish beyond the middle of the last."""
    return len(STAGE_NAMES) * slot + (max(_TAIL_PT - slot / 2, 0.0) + _SECONDS_PT if timed else 0.0)


def _words(words: tuple[str, ...], left: float, width: float) -> list[Column]:
    step = (width - 12.0) / (len(STAGE_NAMES) - 1)
    lefts = [left + number * (width + _GAP_PT) for number in range(len(words))]
    return [Column(word, at, width, at + 6.0, step) for word, at in zip(words, lefts, strict=True)]
