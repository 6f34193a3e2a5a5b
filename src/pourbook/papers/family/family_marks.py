"""A family of trials as outlines and words: a row for each, the tree at the left, fractions and scores in columns.

Nothing is told by colour alone: what there is more or less of than in the parent is tinted and signed, and the best so
far is named.
"""

from collections.abc import Iterator, Sequence
from itertools import chain
from math import ceil, floor
from typing import TYPE_CHECKING, NamedTuple

from pourbook import typefaces
from pourbook.codes.identifiers import hyphened
from pourbook.lineage.ages import age_of
from pourbook.numerals import shown
from pourbook.papers.cells import COLUMN_HEAD, Type, shortened
from pourbook.papers.marks import Drawing, Mark, Outline, Words, path, rectangle, stacked
from pourbook.papers.marks_svg import figure
from pourbook.queries.trials.family import LEAST_CHANGE, Family, Member
from pourbook.queries.trials.opinions import Mean
from pourbook.words.figure_words import strength_shown
from pourbook.words.tried_words import made_words, part_words, signed

if TYPE_CHECKING:
    from datetime import tzinfo

__all__ = ["ROW_PT", "Layout", "family_picture", "head_drawn", "key_drawn", "laid_out", "row_drawn"]

ROW_PT = (32.0, 22.0)
"""Height of a row with a line for notes, and of one where many must stand on a page."""

_PICTURE_PT, _ENDLESS_PT = 560.0, 1e6
_MOST_PARTS = 8
_PART_PT = 20.5
_FIGURES_PT = 58.0
_SCORES_PT = 84.0
_MEAN_PT = 22.0
_GAP_PT = 7.0
_STEP_PT = 9.0
_MOST_INDENT_PT = 63.0
_KEYS_ACROSS = 2
_NAME = Type(typefaces.SEMIBOLD, 7.8, 9.2)
_CODE = Type(typefaces.CODE, 6.4, 9.2)
_SAID = Type(typefaces.TEXT, 6.8, 8, grey=0.2)
_NOTE = Type(typefaces.ITALIC, 6.8, 8)
_FIGURE = Type(typefaces.TEXT, 7, 8)
_CHANGED = Type(typefaces.SEMIBOLD, 7, 8)
_CHANGE = Type(typefaces.TEXT, 5.8, 7, grey=0.15)
_AXIS = Type(typefaces.TEXT, 6, 8, grey=0.35)
_INK, _EDGE, _FAINT = "#000000", "#4d4d4d", "#d9d9d9"
_MORE, _LESS, _BEST = "#f3d9a4", "#cfe0ee", "#f4f0e2"
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_OTHERS = "rest"
_STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
_MOST_TICKS = 4


class Layout(NamedTuple):
    """Where things stand in every row.

    Attributes:
        family: what is drawn.
        width: of a row, in points.
        height: of a row.
        parts: those with a column of their own, the largest first.
        scale: the least and the most of the axis of scores or likings; None where nobody gave any.
        currency: of costs.
        zone: of ages.
        mark: the decimal mark.
    """

    family: Family
    width: float
    height: float
    parts: tuple[str, ...]
    scale: tuple[float, float] | None
    currency: str
    zone: "tzinfo"
    mark: str

    @property
    def has_others(self) -> bool:
        """Whether some parts have no column of their own."""
        return any(set(one.composition) - set(self.parts) for one in self.family.members)

    @property
    def columns(self) -> float:
        """Where the columns of parts begin."""
        count = len(self.parts) + self.has_others
        return self.figures - _GAP_PT - count * _PART_PT

    @property
    def figures(self) -> float:
        """Where strength, age and cost begin."""
        return self.scores - _FIGURES_PT

    @property
    def scores(self) -> float:
        """Where scores begin."""
        return self.width - (_SCORES_PT if self.scale else 0.0)

    @property
    def step(self) -> float:
        """How far a revision is set in."""
        deepest = max(one.depth for one in self.family.members)
        return min(_STEP_PT, _MOST_INDENT_PT / max(deepest, 1))

    @property
    def ticks(self) -> tuple[float, ...]:
        """Round figures on the axis of scores, two to five of them."""
        if self.scale is None:
            return ()
        least, most = self.scale
        step = next((one for one in _STEPS if (most - least) / one <= _MOST_TICKS), _STEPS[-1])
        return tuple(step * number for number in range(ceil(least / step), floor(most / step) + 1))

    def at(self, value: float) -> float:
        """Where a score stands on the axis."""
        least, most = self.scale or (0.0, 1.0)
        room = _SCORES_PT - _MEAN_PT - 6
        return self.scores + 4 + (value - least) / (most - least) * room


def laid_out(family: Family, width: float, room: float, currency: str, zone: "tzinfo", mark: str) -> Layout:
    """The layout of a family in a width; rows are low where they would not stand in a room otherwise."""
    largest: dict[str, float] = {}
    for one in family.members:
        for part, fraction in one.composition.items():
            largest[part] = max(fraction, largest.get(part, 0.0))
    parts = sorted(largest, key=lambda part: (part == "water", -largest[part]))
    kept = parts if len(parts) <= _MOST_PARTS else parts[: _MOST_PARTS - 1]
    height = ROW_PT[0] if len(family.members) * ROW_PT[0] <= room else ROW_PT[1]
    return Layout(family, width, height, tuple(kept), _scale(family), currency, zone, mark)


def family_picture(family: Family, currency: str, zone: "tzinfo", mark: str) -> str:
    """The tree as an SVG for a page that has the figures in a table."""
    layout = laid_out(family, _PICTURE_PT, _ENDLESS_PT, currency, zone, mark)
    rows = (row_drawn(layout, number) for number in range(len(family.members)))
    asked = hyphened(family.asked) if family.members[0].trial else family.asked
    told = f"{len(family.members)} members, each below what it was revised from; the same stands in the table below"
    return figure(stacked((key_drawn(layout), head_drawn(layout), *rows), 0.0, told), f"Family of {asked}")


def _scale(family: Family) -> tuple[float, float] | None:
    """From the lowest to the highest that anybody gave, with a little room."""
    given = [value for one in family.members for values in _given(family, one).values() for value in values]
    if not given:
        return None
    room = max((max(given) - min(given)) * 0.08, 1.0)
    return min(given) - room, max(given) + room


def _given(family: Family, one: Member) -> dict[str, Sequence[float]]:
    best = family.best
    return dict(one.opinion.likings if best and best.by == "liking" else one.opinion.scores)


def _mean(family: Family, one: Member) -> Mean | None:
    best = family.best
    return one.opinion.liking if best and best.by == "liking" else one.opinion.score


# -- above the rows ----------------------------------------------------------------------


def key_drawn(layout: Layout) -> Drawing:
    """What the letters of the columns stand for, with the least and the most of each in the family."""
    wide, marks = layout.width / _KEYS_ACROSS, []
    lines = -(-len(layout.parts) // _KEYS_ACROSS)
    for number, part in enumerate(layout.parts):
        x, y = wide * (number // lines), 8 + 9.6 * (number % lines)
        fractions = [one.composition.get(part, 0.0) for one in layout.family.members if one.composition]
        ends = [shown(100 * end, 1, layout.mark) for end in (min(fractions), max(fractions))]
        spread = f"  {ends[0]} %" if ends[0] == ends[1] else f"  {ends[0]} to {ends[1]} %"
        marks.append(Words(x, y, _LETTERS[number], _CHANGED))
        words = shortened(part_words(part, layout.family.called), _FIGURE, wide - 70, spread)
        marks.append(Words(x + 12, y, words, _FIGURE))
    return Drawing(layout.width, 9.6 * lines + 4, tuple(marks), "")


def head_drawn(layout: Layout) -> Drawing:
    """The heads of the columns; a rule below."""
    heads = [*_LETTERS[: len(layout.parts)], *([_OTHERS] if layout.has_others else [])]
    marks: list[Mark] = [Words(0, 8, "tried", COLUMN_HEAD)]
    for number, head in enumerate(heads):
        marks.append(_to_the_right(layout.columns + (number + 1) * _PART_PT - 3, 8, head, COLUMN_HEAD))
    marks.append(Words(layout.figures, 8, f"% vol · {layout.currency}/l", COLUMN_HEAD))
    best = layout.family.best
    if best and layout.scale:
        marks.append(Words(layout.scores + 4, 8, best.by, COLUMN_HEAD))
        for tick in layout.ticks:
            written = shown(tick, 0 if tick == int(tick) else 1, layout.mark)
            half = typefaces.width_pt(written, _AXIS.face, _AXIS.size_pt) / 2
            marks.append(Words(layout.at(tick) - half, 17, written, _AXIS))
    marks.append(Outline("rule", path(0, 19, layout.width, 19), "", _EDGE, 0.6))
    return Drawing(layout.width, 19.5, tuple(marks), "")


# -- a row -------------------------------------------------------------------------------


def row_drawn(layout: Layout, number: int) -> Drawing:
    """A member of the family."""
    one, best = layout.family.members[number], layout.family.best
    is_best = best is not None and best.name == one.name and bool(best.others)
    below = (Outline("rule", path(layout.columns, layout.height, layout.width, layout.height), "", _FAINT, 0.4),)
    ground = (Outline("best", rectangle(0, 0.5, layout.width, layout.height - 1), _BEST),) if is_best else ()
    marks = chain(
        ground, below, _branches(layout, number), _named(layout, one, is_best=is_best), _parts(layout, one),
        _figures(layout, one), _scored(layout, one, is_best=is_best),
    )  # fmt: skip
    return Drawing(layout.width, layout.height, tuple(marks), "")


def _branches(layout: Layout, number: int) -> Iterator[Mark]:
    """The lines of the tree that pass through the row: to itself, and past it to others further down."""
    members = layout.family.members
    depth = members[number].depth
    y = _NAME.leading_pt * 0.5 + 1
    for level in range(depth):
        after = next((one.depth for one in members[number + 1 :] if one.depth <= level + 1), 0)
        x = level * layout.step + 3
        is_own, goes_on = level == depth - 1, after == level + 1
        if goes_on or is_own:
            yield Outline("branch", path(x, 0, x, layout.height if goes_on else y), "", _EDGE, 0.6)
        if is_own:
            yield Outline("branch", path(x, y, depth * layout.step + 1, y), "", _EDGE, 0.6)
    x = depth * layout.step + 3
    if number + 1 < len(members) and members[number + 1].depth > depth:
        yield Outline("branch", path(x, y, x, layout.height), "", _EDGE, 0.6)
    yield _dot("member", x, y, 1.8, _INK)


def _named(layout: Layout, one: Member, *, is_best: bool) -> Iterator[Mark]:
    x = one.depth * layout.step + 9
    room = layout.columns - x - 2
    facts = one.trial.facts if one.trial else {}
    code, ref, name = hyphened(one.name) if one.trial else "", facts.get("ref", ""), facts.get("name", "")
    stands = (
        "best so far" if is_best else "",
        "not poured" if one.trial and one.is_planned else "",
        made_words(one, layout.family.called),
        "asked for" if one.name == layout.family.asked and len(layout.family.members) > 1 else "",
    )
    title = f"{ref or name or code}" if one.trial else f"recipe {one.name}"
    tail = f"  {code}" if title != code else ""
    code_pt = typefaces.width_pt(tail, _CODE.face, _CODE.size_pt)
    heading = shortened(title, _NAME, room - code_pt)
    yield Words(x, 8, heading, _NAME)
    yield Words(x + typefaces.width_pt(heading, _NAME.face, _NAME.size_pt), 8, tail, _CODE)
    told = " · ".join(filter(None, (*stands, name if name != title else "")))
    words = one.opinion.words
    both = [(told, _SAID)] if told else []
    both += [(words, _NOTE)] if words else []
    if layout.height == ROW_PT[1] and len(both) > 1:
        both = [(f"{told} · {words}", _SAID)]
    for line, (text, type_) in enumerate(both):
        yield Words(x, 16.6 + 8.2 * line, shortened(text, type_, room), type_)


def _parts(layout: Layout, one: Member) -> Iterator[Mark]:
    """Fractions in per cent, those that changed with how much more or less they are."""
    changes = {part.component: part.change for part in one.changes}
    known = [(one.composition.get(part, 0.0), changes.get(part, 0.0)) for part in layout.parts]
    if layout.has_others:
        others = set(one.composition) | set(changes)
        rest = [(one.composition.get(part, 0.0), changes.get(part, 0.0)) for part in others - set(layout.parts)]
        known.append((sum(part for part, _ in rest), sum(change for _, change in rest)))
    for number, (fraction, change) in enumerate(known if one.composition else ()):
        left, right = (layout.columns + (number + side) * _PART_PT for side in (0, 1))
        is_changed = abs(change) >= LEAST_CHANGE
        if is_changed:
            box = rectangle(left + 0.6, 1.5, _PART_PT - 1.2, 18)
            yield Outline("change", box, _MORE if change > 0 else _LESS)
        if fraction or is_changed:
            written = shown(100 * fraction, 1, layout.mark)
            yield _to_the_right(right - 3, 9.4, written, _CHANGED if is_changed else _FIGURE)
        if is_changed:
            yield _to_the_right(right - 3, 16.6, signed(change, layout.mark, 1), _CHANGE)


def _figures(layout: Layout, one: Member) -> Iterator[Mark]:
    """Strength; then age and cost, as far as they are known."""
    blend = one.blend
    if blend is None:
        return
    age, cost = age_of(blend.age.youngest, layout.zone), blend.cost_per_litre
    yield Words(layout.figures, 9.4, strength_shown(blend.held_strength, layout.mark), _FIGURE)
    paid = "" if cost is None else shown(cost, 2, layout.mark)
    yield _to_the_right(layout.scores - 10, 9.4, paid, _FIGURE)
    if age:
        yield Words(layout.figures, 17.2, f"{age.years} y {age.days} d in wood", _SAID)


def _scored(layout: Layout, one: Member, *, is_best: bool) -> Iterator[Mark]:
    """What each taster gave, small; the mean with its standard error."""
    for x in map(layout.at, layout.ticks):
        yield Outline("tick", path(x, 0, x, layout.height), "", _FAINT, 0.4)
    mean, y = _mean(layout.family, one), 8.5
    if mean is None or layout.scale is None:
        return
    for values in _given(layout.family, one).values():
        yield _dot("taster", layout.at(sum(values) / len(values)), y + 6.5, 1.1, "", _EDGE)
    if mean.error:
        ends = (max(layout.at(mean.mean - mean.error), layout.scores), layout.at(mean.mean + mean.error))
        yield Outline("error", path(ends[0], y, min(ends[1], layout.width - _MEAN_PT), y), "", _INK, 0.8)
    yield _dot("mean", layout.at(mean.mean), y, 2.6 if is_best else 2.0, _INK)
    yield _to_the_right(layout.width - 2, y + 2.5, shown(mean.mean, 1, layout.mark), _CHANGED)
    yield _to_the_right(layout.width - 2, y + 10, f"by {mean.tasters}", _AXIS)


def _dot(what: str, x: float, y: float, radius: float, fill: str, stroke: str = "") -> Outline:
    """A circle of four curves."""
    bend = radius * 0.5523
    circle = (
        ("M", x + radius, y),
        ("C", x + radius, y + bend, x + bend, y + radius, x, y + radius),
        ("C", x - bend, y + radius, x - radius, y + bend, x - radius, y),
        ("C", x - radius, y - bend, x - bend, y - radius, x, y - radius),
        ("C", x + bend, y - radius, x + radius, y - bend, x + radius, y),
    )
    return Outline(what, circle, fill, stroke, 0.5)


def _to_the_right(right: float, y: float, text: str, type_: Type) -> Words:
    """Words that end at a place."""
    return Words(right - typefaces.width_pt(text, type_.face, type_.size_pt), y, text, type_)
