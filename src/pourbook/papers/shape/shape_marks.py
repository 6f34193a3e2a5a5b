"""The shape of a drink as outlines and words.

Nothing is told by colour alone: glasses and words are named beside their shapes, what is expected is dashed, and a gap
says so.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise
from typing import NamedTuple

from pourbook import typefaces
from pourbook.codes.identifiers import kind_of
from pourbook.papers.cells import COLUMN_HEAD, Type, shortened
from pourbook.papers.flow.flow_words import label_lines
from pourbook.papers.marks import PALETTE, Drawing, Mark, Outline, Path, Words, curve, path, words_below
from pourbook.papers.shape.shape_layout import LABEL_PT, ROOM_PT, Column, Panel, panels
from pourbook.queries.tastings.shape_values import Felt, Profile, Shape
from pourbook.words.paper_figures import Notation
from pourbook.words.shape_words import STAGE_NAMES, mean_words, rests_on, seconds_words

__all__ = ["shape_drawn"]

_INK, _EDGE, _FAINT, _PAPER = "#000000", "#4d4d4d", "#c4c4c4", "#ffffff"
_NAME = Type(typefaces.SEMIBOLD, 7.8, 9.2)
_SAID = Type(typefaces.TEXT, 7, 8.4, grey=0.25)
_WORD = Type(typefaces.TEXT, 6.8, 8)
_STRONG = Type(typefaces.SEMIBOLD, 6.8, 8)
_HEAD = COLUMN_HEAD
_AXIS = Type(typefaces.TEXT, 6.2, 8, grey=0.4)
_DASHED, _DOTTED = (2.0, 1.4), (0.8, 1.8)
_HEAD_PT = 22.0
_CAP_PT = 1.8
_DOT_PT = 1.9
_MOST_WORDS = 2
_SAMPLES = tuple(n / 12 for n in range(13))


class _Hill(NamedTuple):
    """Known stages in a row: where each stands, where the base is, and where the finish ends if it was timed."""

    points: tuple[tuple[float, float], ...]
    foot: float
    end: float | None

    def top(self, left: float, right: float) -> float:
        """The highest point of its line between two places; its foot where it does not reach there."""
        within = [
            (_bent(t, x0, (x0 + x1) / 2, (x0 + x1) / 2, x1), _bent(t, y0, y0, y1, y1))
            for (x0, y0), (x1, y1) in pairwise(self.points)
            for t in _SAMPLES
        ]
        return min((y for x, y in (*self.points, *within) if left <= x <= right), default=self.foot)


def _bent(t: float, *at: float) -> float:
    """A coordinate of a cubic curve at a part of its way."""
    return (1 - t) ** 3 * at[0] + 3 * (1 - t) ** 2 * t * at[1] + 3 * (1 - t) * t**2 * at[2] + t**3 * at[3]


def shape_drawn(shape: Shape, width: float, notation: Notation) -> tuple[Drawing, ...]:
    """The picture, panel by panel, to stand one below the other."""
    found = []
    for panel in panels(shape, width):
        rows = (_Row(shape, panel, number, notation) for number in range(len(panel.profiles)))
        marks = (*_heads(panel, shape), *(mark for row in rows for mark in row.marks()))
        found.append(Drawing(width, _HEAD_PT + len(panel.profiles) * panel.pitch, marks, ""))
    return tuple(found)


def _heads(panel: Panel, shape: Shape) -> Iterator[Words]:
    for column in panel.columns:
        if not column.word:
            for stage, name in enumerate(STAGE_NAMES.values()):
                yield _centred(column.x(stage), _HEAD_PT - 4, name, _AXIS, column.step)
        head = column.word or ("strongest" if len(shape.words) > 1 else shape.words[0])
        yield Words(column.left + (0 if column.word else 6), 8, shortened(head, _HEAD, column.width + 6), _HEAD)


class _Row(NamedTuple):
    """A glass of a panel."""

    shape: Shape
    panel: Panel
    number: int
    notation: Notation

    @property
    def profile(self) -> Profile:
        return self.panel.profiles[self.number]

    @property
    def base(self) -> float:
        return _HEAD_PT + self.number * self.panel.pitch + ROOM_PT + self.panel.height

    def y(self, value: float) -> float:
        least, most = self.shape.scale
        return self.base - (value - least) / (most - least) * self.panel.height

    def marks(self) -> Iterator[Mark]:
        yield from self._label()
        for column in self.panel.columns:
            hills = self._hills(column, self.profile)
            beside = self._hills(column, self._expected) if self._expected else []
            said = () if column.word else tuple(self._said(column, (*hills, *beside)))
            yield from self._upright(column, said)
            right = column.finish + (column.tail or 6.0)
            yield Outline("base", path(column.first - 6, self.base, right, self.base), "", _EDGE, 0.5)
            yield from self._drawn(column, hills)
            yield from (_outline(hill, "", "expected", _INK) for hill in beside)
            yield from said
        if self.panel.whole:
            yield from self._scale()
            yield from self._seconds(self.panel.columns[0])

    @property
    def _expected(self) -> Profile | None:
        """What is expected of the blend that was tasted."""
        above = (one for one in self.panel.profiles[: self.number] if one.role == "expected")
        return next(above, None) if self.profile.role == "tasted" else None

    # -- beside the shapes -------------------------------------------------------------------

    def _label(self) -> Iterator[Words]:
        top = self.base - self.panel.height - ROOM_PT + 3
        called = ["expected"] if self.profile.role == "expected" else self.profile.called.split(" · ")
        names = label_lines(called, LABEL_PT - 12, _NAME)[: 3 if self.panel.whole else 2]
        for number, line in enumerate(names):
            yield words_below(0, top + number * _NAME.leading_pt, line, _NAME)
        said = shortened(rests_on(self.profile, self.notation), _SAID, LABEL_PT - 12)
        yield words_below(0, top + len(names) * _NAME.leading_pt, said, _SAID)

    def _scale(self) -> Iterator[Mark]:
        """From nothing to the end of the house's scale, at the left of the strongest."""
        x, top = LABEL_PT - 1, self.base - self.panel.height
        yield Outline("scale", path(x + 2, top, x, top, x, self.base, x + 2, self.base), "", _EDGE, 0.4)
        for value, y in zip(self.shape.scale, (self.base, top), strict=True):
            text = mean_words(value, self.notation)
            yield Words(x - 1.5 - _width(text, _AXIS), y + 2, text, _AXIS)

    def _seconds(self, column: Column) -> Iterator[Words]:
        """How long the finish stays, at the right."""
        if self.profile.finish_s:
            text = seconds_words(self.profile.finish_s, self.notation)
            is_short = any(one.profile == self.profile and one.stage is None for one in self.shape.gaps)
            type_ = _STRONG if is_short else _WORD
            yield Words(column.left + column.width - _width(text, type_), self.base, text, type_)

    # -- shapes ------------------------------------------------------------------------------

    def _felt(self, column: Column, profile: Profile) -> tuple[Felt | None, ...]:
        if column.word:
            return profile.felt.get(column.word, (None,) * len(STAGE_NAMES))
        tops = (profile.strongest(stage, self.shape.words) for stage in range(len(STAGE_NAMES)))
        return tuple(top[1] if top else None for top in tops)

    def _hills(self, column: Column, profile: Profile) -> list[_Hill]:
        """The stretches of stages that are known."""
        felt = self._felt(column, profile)
        points = [(column.x(stage), self.y(one.mean)) if one else None for stage, one in enumerate(felt)]
        found = [
            _Hill(tuple(point for point in run if point), self.base, None)
            for is_known, run in groupby(points, key=lambda point: point is not None)
            if is_known
        ]
        if found and points[-1] and column.tail and profile.finish_s:
            longest = max(one.finish_s.mean for one in self.shape.profiles if one.finish_s)
            end = column.finish + profile.finish_s.mean / longest * column.tail
            found[-1] = found[-1]._replace(end=end)
        return found

    def _drawn(self, column: Column, hills: Sequence[_Hill]) -> Iterator[Outline]:
        is_expected = self.profile.role == "expected"
        fill = _PAPER if is_expected else PALETTE[kind_of(self.profile.id)]
        for hill in hills:
            if any(y < hill.foot for _, y in hill.points):
                yield _outline(hill, fill, "expected" if is_expected else "shape", _INK if is_expected else _EDGE)
        for stage, felt in enumerate(self._felt(column, self.profile)):
            if felt and felt.low != felt.high:
                yield from _spread(column.x(stage), self.y(felt.low), self.y(felt.high))

    def _upright(self, column: Column, said: Sequence[Mark]) -> Iterator[Outline]:
        """The lines of the stages, from row to row, clear of words; a dotted one leads from a gap to what fills it."""
        middles = {
            round(mark.x + _width(mark.text, mark.type) / 2, 3): mark.y for mark in said if isinstance(mark, Words)
        }
        for stage in range(len(STAGE_NAMES)):
            x, top = column.x(stage), max(self.base - self.panel.pitch, _HEAD_PT)
            leads = not column.word and self._leads(stage)
            above = middles.get(round(x, 3), self.base + 6.0) - 6.0
            for start, end, dotted in ((top, above, leads), (above + 8.0, self.base, False)):
                if end > start:
                    ink, width, dash = (_INK, 0.8, _DOTTED) if dotted else (_FAINT, 0.35, ())
                    yield Outline("thread" if dotted else "stage", path(x, start, x, end), "", ink, width, dash)

    def _leads(self, stage: int) -> bool:
        """Whether the row lies below what could fill a gap at a stage, down to the gap."""
        rows = self.panel.profiles
        both = ((gap.profile, gap.fillers[0].profile) for gap in self.shape.gaps if gap.stage == stage and gap.fillers)
        ends = [sorted(map(rows.index, pair)) for pair in both if all(one in rows for one in pair)]
        return any(first < self.number <= last for first, last in ends)

    # -- words -------------------------------------------------------------------------------

    def _said(self, column: Column, hills: Sequence[_Hill]) -> Iterator[Mark]:
        """The strongest words at each stage, clear of the lines; a gap and what could fill it have a dot."""
        for stage, felt in enumerate(self._felt(column, self.profile)):
            if felt is None:
                continue
            here = [gap for gap in self.shape.gaps if gap.stage == stage]
            is_gap = any(gap.profile == self.profile for gap in here)
            fills = any(gap.fillers and gap.fillers[0].profile == self.profile for gap in here)
            type_ = _STRONG if is_gap or fills else _WORD
            if is_gap or fills:
                yield _dot(column.x(stage), self.y(felt.mean), _PAPER if is_gap else _INK)
            strong = [
                pair for pair in self.profile.by_strength(stage, self.shape.words) if pair[1].mean > self.shape.scale[0]
            ]
            pieces = [f"{word} {mean_words(one.mean, self.notation)}" for word, one in strong[:_MOST_WORDS]]
            text = _as_fits([*(["gap"] if is_gap else []), *pieces], type_, column.step - 4)
            half = _width(text, type_) / 2 + 1
            tops = [hill.top(column.x(stage) - half, column.x(stage) + half) for hill in hills]
            if text:
                yield _centred(column.x(stage), min(self.y(felt.high), *tops) - 4.4, text, type_, column.step - 4)


def _as_fits(pieces: Sequence[str], type_: Type, width: float) -> str:
    """As many pieces as fit a width, the first in any case."""
    text = ""
    for piece in pieces:
        longer = f"{text}, {piece}" if text else piece
        if text and _width(longer, type_) > width:
            break
        text = longer
    return shortened(text, type_, width)


def _width(text: str, type_: Type) -> float:
    return typefaces.width_pt(text, type_.face, type_.size_pt)


def _centred(x: float, y: float, text: str, type_: Type, width: float) -> Words:
    text = shortened(text, type_, width)
    return Words(x - _width(text, type_) / 2, y, text, type_)


def _spread(x: float, low: float, high: float) -> Iterator[Outline]:
    """From the lowest to the highest note."""
    yield Outline("spread", path(x, low, x, high), "", _INK, 0.7)
    for y in (low, high):
        yield Outline("spread", path(x - _CAP_PT, y, x + _CAP_PT, y), "", _INK, 0.7)


def _outline(hill: _Hill, fill: str, what: str, stroke: str) -> Outline:
    """From the foot up to the first stage, along the stages, and down: at once, or over the seconds of the finish."""
    known = list(hill.points)
    (first, _), (last, _) = known[0], known[-1]
    if len(known) == 1 and hill.end is None:
        known = [(first - 3, known[0][1]), (first + 3, known[0][1])]
        first, last = first - 3, last + 3
    ridge = curve(known)
    tail: Path = (("L", last, hill.foot),)
    if hill.end is not None:
        middle = (last + hill.end) / 2
        tail = (("C", middle, known[-1][1], middle, hill.foot, hill.end, hill.foot),)
    around = (("M", first, hill.foot), ("L", *ridge[0][1:]), *ridge[1:], *tail)
    dash = _DASHED if what == "expected" else ()
    return Outline(what, around, fill, stroke, 0.9 if dash else 0.6, dash)


def _dot(x: float, y: float, fill: str) -> Outline:
    k = _DOT_PT * 4 / 3  # half a circle as a cubic curve bends by 4/3 of its radius
    left, right = x - _DOT_PT, x + _DOT_PT
    ring: Path = (("M", left, y), ("C", left, y - k, right, y - k, right, y), ("C", right, y + k, left, y + k, left, y))
    return Outline("dot", ring, fill, _INK, 0.9)
