"""Ballots of a blind session: a form for each assessor, with the glasses in their own order, by code alone.

What is scanned back is the session and the code; nothing on a ballot says what is in a glass.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> form = BallotForm(Scale(0, 5), Scale(1, 9), Scale(0, 100))
>>> paper = Ballots(imprint, "Autumn flight", "SESSION-31", "SESSION31", form, (Own("Isla Farrow", ("417", "582")),))
>>> ballots(paper)[:5]
b'%PDF-'
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from reportlab.lib.units import mm  # loaded only by the verbs that print
from reportlab.platypus import CondPageBreak, Flowable, NextPageTemplate, PageBreak, Spacer

from pourbook import typefaces
from pourbook.numerals import counted
from pourbook.papers.cells import BODY, BODY_STRONG, QUIET, Cell, Mark, Piece, Type, fitted_pt
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.sections import facts, lines
from pourbook.words.session_words import CAUTION

__all__ = ["BallotForm", "Ballots", "Own", "Scale", "ballots"]

_NAME = Type(typefaces.SEMIBOLD, 15, 18)
_ASKED = Type(typefaces.SEMIBOLD, 13, 17)
_CODE = Type(typefaces.BOLD, 25, 27)
_LABEL = Type(typefaces.SEMIBOLD, 8.5, 10.5)
_TICK = Type(typefaces.TEXT, 7, 8)
_STAGES = ("nose", "first taste", "middle", "finish")
_MODULE_DOTS = 12
_RIGHT_MM = 31.0
"""Where the form begins, right of the code."""
_ROW_MM = 8.4
_TICKS_MM = 4.3
_MOST_TICKS = 11


class Scale(NamedTuple):
    """A scale of the house: the least and the most."""

    least: int
    most: int

    @property
    def ticks(self) -> tuple[int, ...]:
        """Its points, where they are few enough to be ticked; else a figure is written."""
        points = range(self.least, self.most + 1)
        return tuple(points) if len(points) <= _MOST_TICKS else ()


class BallotForm(NamedTuple):
    """What is asked of every glass.

    Attributes:
        intensity: the scale of a word.
        liking: its scale.
        score: its scale.
        asks: the question of the host or the test; empty for none.
        picks: how many glasses answer a test; 0 where it is none.
    """

    intensity: Scale
    liking: Scale
    score: Scale
    asks: str = ""
    picks: int = 0


class Own(NamedTuple):
    """An assessor's own glasses: codes in the order of serving."""

    assessor: str
    codes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ballots:
    """What the ballots of a session say.

    With its imprint and date; the session's `id` is read and its `code` scanned. `form` is asked of every glass, `own`
    are the glasses of each assessor. `glass` says what is in each ("15 ml at 21 % vol"), `brings` what all glasses
    together may bring, `words` the house's words by group; `seal` is the whole hash. Glasses are `rest_min` minutes
    apart; where they are swallowed, there is no spittoon.
    """

    imprint: Imprint
    session: str
    id: str
    code: str
    form: BallotForm
    own: tuple[Own, ...]
    date: str = ""
    glass: str = ""
    rest_min: int = 0
    swallowed: bool = False
    brings: str = ""
    seal: str = ""
    words: tuple[str, ...] = ()


def ballots(values: Ballots, paper: str = "A4") -> bytes:
    """The ballots as PDF, each beginning on a page of its own. Raises as `pourbook.papers.page.document`."""

    def story(width_pt: float) -> list[Flowable]:
        content: list[Flowable] = []
        for own in values.own:
            content += [NextPageTemplate("first"), PageBreak()] if content else []
            content += _ballot(values, own, width_pt)
        return content

    return document(values.imprint, Title("Ballot", values.id, values.code), story, paper)


def _ballot(values: Ballots, own: Own, width_pt: float) -> Iterator[Flowable]:
    stated = [
        ("Session", values.session), ("Date", values.date), ("In each glass", values.glass),
        ("Seal", values.seal[:16]),
    ]  # fmt: skip
    yield Cell([Piece(own.assessor, _NAME)])
    yield Spacer(0, 4)
    yield facts([(label, text) for label, text in stated if text], width_pt)
    if values.form.asks:
        yield Cell([Piece(values.form.asks, _ASKED)])
        yield Spacer(0, 3)
    yield from lines(_how_to(values, len(own.codes)))
    yield from lines([CAUTION], BODY_STRONG)
    yield from lines([f"In these glasses together: {values.brings}"] if values.brings else [])
    yield Spacer(0, 5)
    form = _PickForm if values.form.picks else _GlassForm
    for place, code in enumerate(own.codes, start=1):
        glass = form(values, own, place, code, width_pt)
        yield CondPageBreak(glass.height)
        yield glass
    if values.words and not values.form.picks:
        yield Spacer(0, 6)
        yield from lines(values.words, QUIET, label="Words of the house")


def _how_to(values: Ballots, glasses: int) -> list[str]:
    scale, order = values.form.intensity, f"Take the glasses in this order, 1 to {glasses}."
    spit = "swallow little" if values.swallowed else "spit"
    rest = f" Between two glasses drink water and rest {counted(values.rest_min, 'minute')}." if values.rest_min else ""
    taste = f" Nose each first, then take a small sip and {spit}.{rest}"
    if values.form.picks:
        return [f"{order}{taste} Tick {counted(values.form.picks, 'glass', 'glasses')}; if you are not sure, guess."]
    ticked = f"tick how strong it is, {scale.least} to {scale.most}" if scale.ticks else "write how strong it is"
    return [f"{order}{taste} Write what you find, a word on each line, and {ticked}."]


class _Form(Flowable):  # type: ignore[misc]  # reportlab comes without types
    """A glass on the ballot: its place, code and mark at the left, room for what was found at the right."""

    rows = 7

    def __init__(self, values: Ballots, own: Own, place: int, code: str, width_pt: float) -> None:
        super().__init__()
        self.values, self.own, self.place, self.code = values, own, place, code
        self.width, self.height = width_pt, (self.rows * _ROW_MM + 6) * mm
        self.mark = Mark("data-matrix", f"{values.code}-{code}", _MODULE_DOTS)

    def wrap(self, _width_pt: float, _height_pt: float) -> tuple[float, float]:
        """The room it takes."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw the rules, the glass and its form."""
        self.canv.setLineWidth(0.7)
        self.canv.line(0, self.height, self.width, self.height)
        self._say(0, self.height - 11, f"glass {self.place} of {len(self.own.codes)}", QUIET)
        self._say(0, self.height - 35, self.code, _CODE)
        self.mark.drawOn(self.canv, 19 * mm - self.mark.quiet_pt, self.height - 35 - self.mark.quiet_pt + 1)
        self.form()

    def form(self) -> None:
        """Draw what is asked."""
        raise NotImplementedError

    def _base(self, row: int) -> float:
        """The base line of a row, from the top."""
        return float(self.height - ((row + 1) * _ROW_MM + 0.4) * mm)

    def _say(self, x: float, y: float, text: str, type_: Type, align: typefaces.Align = "left") -> float:
        self.canv.setFillGray(type_.grey)
        typefaces.draw(self.canv, x, y, text, type_.face, type_.size_pt, align)
        self.canv.setFillGray(0)
        return float(x + typefaces.width_pt(text, type_.face, type_.size_pt))

    def _line(self, x: float, y: float, to: float) -> None:
        self.canv.setLineWidth(0.4)
        self.canv.line(x, y - 1.5, to, y - 1.5)

    def _box(self, x: float, y: float, width: float, height: float = 4.9 * mm) -> None:
        self.canv.setLineWidth(0.6)
        self.canv.rect(x, y - 1.5, width, height)

    def _scale(self, x: float, y: float, scale: Scale) -> float:
        """Boxes to tick, or one to write in; the right edge."""
        if not scale.ticks:
            self._box(x, y, 13 * mm)
            return self._say(x + 14 * mm, y, f"{scale.least} to {scale.most}", QUIET)
        side = _TICKS_MM * mm
        for number, point in enumerate(scale.ticks):
            self._box(x + number * side, y, side, side)
            self._say(x + (number + 0.5) * side, y + 1.6, str(point), _TICK._replace(grey=0.4), "centre")
        return float(x + len(scale.ticks) * side)


class _GlassForm(_Form):
    """A glass that is described: words and intensities stage by stage, then the whole."""

    def form(self) -> None:
        """Draw the stages, two words each, and what is said of the whole."""
        name = fitted_pt(self.own.assessor, QUIET, 28 * mm)
        self._say(0, self.height - 47, self.own.assessor, QUIET._replace(size_pt=name))
        form, left = self.values.form, _RIGHT_MM * mm
        scale_pt = len(form.intensity.ticks or (1,) * 5) * _TICKS_MM * mm + (0 if form.intensity.ticks else 6 * mm)
        slot = (self.width - left - 19 * mm) / 2
        for row, stage in enumerate(_STAGES):
            y = self._base(row)
            self._say(left, y, stage, _LABEL)
            for word in range(2):
                x = left + 19 * mm + word * slot
                self._line(x, y, x + slot - scale_pt - 5 * mm)
                self._scale(x + slot - scale_pt - 3 * mm, y, form.intensity)
        self._judged(left, self._base(4))
        self._missed(left, self._base(5))
        y = self._base(6)
        self._line(self._say(left, y, "and else", _LABEL) + 2 * mm, y, self.width - 3 * mm)

    def _judged(self, left: float, y: float) -> None:
        form = self.values.form
        x = self._say(left, y, "it stays", _LABEL) + 2 * mm
        self._box(x, y, 12 * mm)
        x = self._say(x + 13 * mm, y, "s", BODY) + 6 * mm
        x = self._say(x, y, "liking", _LABEL) + 2 * mm
        x = self._scale(x, y, form.liking) + 6 * mm
        x = self._say(x, y, "score", _LABEL) + 2 * mm
        x = self._scale(x, y, form.score) + 6 * mm
        x = self._say(x, y, "rank", _LABEL) + 2 * mm
        self._box(x, y, 8 * mm)

    def _missed(self, left: float, y: float) -> None:
        middle = left + (self.width - left) / 2
        for x, label, to in ((left, "missing", middle - 4 * mm), (middle, "too much", self.width - 3 * mm)):
            self._line(self._say(x, y, label, _LABEL) + 2 * mm, y, to)


class _PickForm(_Form):
    """A glass of a test: picked or not, with a line for why."""

    rows = 1

    def form(self) -> None:
        """Draw the box to tick and a line."""
        y = self._base(0)
        left = _RIGHT_MM * mm + 10 * mm
        self._box(left, y - 3, 8 * mm, 8 * mm)
        x = self._say(left + 14 * mm, y, "why", _LABEL) + 2 * mm
        self._line(x, y, self.width - 3 * mm)
