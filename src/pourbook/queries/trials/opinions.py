"""What was thought of blends: scores and likings by mean with their doubt, the latest words, and the best so far.

Every taster counts once, with the mean of the notes that he or she wrote of a blend. So the standard error is that over
tasters; of one taster there is none. Whether one blend is ahead of another is judged by those who tasted both, since a
taster who scores all high says nothing about either: the mean of their differences, with the interval of Student's t.

>>> ash = Opinion({"Isla Farrow": (84.0, 86.0), "Tomas Reeve": (80.0,)})
>>> elm = Opinion({"Isla Farrow": (80.0,), "Tomas Reeve": (76.5,), "M. Aldane": (90.0,)})
>>> ash.score
Mean(mean=82.5, error=2.5, tasters=2, notes=3)
>>> found = best({"Ash": ash, "Elm": elm})
>>> found.name, found.others[0].name, found.others[0].ahead, round(found.others[0].band, 1), found.others[0].stands
('Ash', 'Elm', 4.25, 9.5, 'not told apart')
"""

from collections.abc import Iterable, Mapping, Sequence
from statistics import fmean, stdev
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.bench.trials import Difference, differences
from pourbook.book.journal import notes_on
from pourbook.book.tasting_notes import note_words
from pourbook.codes.identifiers import key_of
from pourbook.queries.tastings.notes import notes_of
from pourbook.queries.traces.made_of import Composition
from pourbook.texts import lookup_form
from pourbook.uncertainty.student_t import t_quantile

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.tasting_notes import TastingNote

__all__ = [
    "CONFIDENCE", "Ahead", "Best", "Mean", "Opinion", "Values", "best", "how_far_ahead", "opinion", "opinion_of",
    "said", "set_apart",
]  # fmt: skip

CONFIDENCE = 0.95
"""Of the interval of a difference between two blends: common practice."""

_FEW = 2
_MOST_OTHERS = 2
Values = Mapping[str, Sequence[float]]
"""Taster to what he or she gave a blend, in order of time."""


class Mean(NamedTuple):
    """A mean over tasters, its standard error (None of a single one), how many they are, and how many notes."""

    mean: float
    error: float | None
    tasters: int
    notes: int


class Opinion(NamedTuple):
    """What was thought of a blend.

    Attributes:
        scores: taster to the scores that he or she gave it, in order of time.
        likings: the same.
        words: of the latest note, of a tasting or any other; without its figures.
    """

    scores: Mapping[str, Sequence[float]] = {}
    likings: Mapping[str, Sequence[float]] = {}
    words: str = ""

    @property
    def score(self) -> Mean | None:
        """The scores by mean; None where nobody gave one."""
        return _mean(self.scores)

    @property
    def liking(self) -> Mean | None:
        """The likings by mean; None where nobody gave one."""
        return _mean(self.likings)


class Ahead(NamedTuple):
    """How far the best is ahead of another.

    Attributes:
        name: the other.
        ahead: mean of the differences by those who tasted both; by the plain means where nobody did.
        band: half of its interval (`CONFIDENCE`); None where fewer than two tasted both.
        both: how many tasted both.
    """

    name: str
    ahead: float
    band: float | None
    both: int

    @property
    def stands(self) -> Literal["ahead", "behind", "not told apart", "too few notes to say"]:
        """What may be said of it; "behind" where others, who tasted one of them alone, gave the best its mean."""
        if self.band is None:
            return "too few notes to say"
        if abs(self.ahead) <= self.band:
            return "not told apart"
        return "ahead" if self.ahead > 0 else "behind"


class Best(NamedTuple):
    """The best so far.

    Attributes:
        name: of the blend with the highest mean.
        by: what it is the best by.
        mean: its own.
        others: those next to it, the nearest first.
    """

    name: str
    by: Literal["score", "liking"]
    mean: Mean
    others: tuple[Ahead, ...]


def opinion_of(book: "BookCore", item: str, at_us: int | None = None) -> Opinion:
    """What was thought of an item itself, up to a moment if one is given."""
    notes = list(notes_of(book, item, at_us))
    remarks = notes_on(book.store, key_of(item), at_us)
    words, latest_us = "", None
    for note in notes:
        if found := said(note, book.settings["decimal_mark"]):
            words, latest_us = found, note.happened_us
    if remarks and (latest_us is None or remarks[-1].happened_us > latest_us):
        words = str(remarks[-1].entry["body"]["text"])
    return opinion(notes)._replace(words=words)


def opinion(notes: "Sequence[TastingNote]") -> Opinion:
    """What notes say of a blend in figures; without words."""
    return Opinion(_by_taster(notes, "score"), _by_taster(notes, "liking"))


def best(opinions: Mapping[str, Opinion]) -> Best | None:
    """The best of several, by score, or by liking where nobody gave a score; None where nobody gave either.

    A blend that a single person tasted is not it, as long as others were tasted by more.
    """
    scores = {name: one.scores for name, one in opinions.items() if one.scores}
    likings = {name: one.likings for name, one in opinions.items() if one.likings}
    if not scores and not likings:
        return None
    values = scores or likings
    means = {name: mean for name, one in values.items() if (mean := _mean(one))}
    by_many = {name for name, mean in means.items() if mean.tasters >= _FEW}
    first, *others = sorted(means, key=lambda name: (bool(by_many) and name not in by_many, -means[name].mean))
    ahead = tuple(how_far_ahead(values[first], name, values[name]) for name in others[:_MOST_OTHERS])
    return Best(first, "score" if scores else "liking", means[first], ahead)


def set_apart(found: Best, compositions: Mapping[str, Composition]) -> tuple[tuple[Difference, ...], ...]:
    """What the best is made of against each of those next to it, the largest change first."""
    return tuple(differences(compositions[other.name], compositions[found.name]) for other in found.others)


def _by_taster(notes: "Iterable[TastingNote]", name: Literal["score", "liking"]) -> Values:
    found: dict[str, tuple[float, ...]] = {}
    for note in notes:
        value = note.score if name == "score" else note.liking
        if value is not None:
            taster = lookup_form(note.assessor)
            found[taster] = (*found.get(taster, ()), value)
    return found


def said(note: "TastingNote", mark: str) -> str:
    """A note in words, without its figures."""
    plain = note._replace(
        score=None, liking=None, strength_vol=None, temperature_c=None, amount_ml=None, blind=False
    )  # fmt: skip
    return ". ".join(note_words(plain, mark))


def _mean(values: Values) -> Mean | None:
    if not values:
        return None
    each = [fmean(given) for given in values.values()]
    error = stdev(each) / len(each) ** 0.5 if len(each) >= _FEW else None
    return Mean(fmean(each), error, len(each), sum(map(len, values.values())))


def how_far_ahead(first: Values, name: str, other: Values) -> Ahead:
    """How far what was given to a blend is ahead of what was given to another, called `name`."""
    both = [fmean(first[taster]) - fmean(other[taster]) for taster in first if taster in other]
    if len(both) < _FEW:
        plain = [fmean(map(fmean, values.values())) for values in (first, other)]
        return Ahead(name, both[0] if both else plain[0] - plain[1], None, len(both))
    band = t_quantile(CONFIDENCE, len(both) - 1) * stdev(both) / len(both) ** 0.5
    return Ahead(name, fmean(both), band, len(both))
