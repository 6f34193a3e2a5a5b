"""Which casks stand behind the blends that were liked best; and which wood, cooper, previous contents.

A blend's score is that of all its casks, so each has its part in it by its share of the spirit: the mean over blends is
weighted by these shares. Whether casks stand out is judged by each taster against his or her own mean over all blends
that he or she scored, weighted in the same way; tasters count once, with the interval of Student's t. Fewer than two
tasters, or a single blend, say nothing.

>>> ash = Blend({"C1": 1.0}, {"Isla": (80.0,), "Tomas": (84.0,)})
>>> elm = Blend({"C1": 0.5, "C2": 0.5}, {"Isla": (70.0,), "Tomas": (72.0,)})
>>> [(one.name, round(one.mean, 1), round(one.ahead, 2), one.stands) for one in behind_best([ash, elm])]
[('C1', 78.3, 1.83, 'not told apart'), ('C2', 71.0, -5.5, 'too few notes to say')]
"""

from collections.abc import Iterable, Mapping, Sequence
from statistics import fmean, stdev
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.bench.trials import WATER
from pourbook.book.items import facts, text_listed
from pourbook.book.tasting_notes import About, notes
from pourbook.codes.identifiers import key_of, kind_of, read_or_none
from pourbook.queries.items.called import called
from pourbook.queries.traces.made_of import By, made_of
from pourbook.queries.trials.near import TRIED
from pourbook.queries.trials.opinions import CONFIDENCE, opinion
from pourbook.uncertainty.student_t import t_quantile

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store
    from pourbook.book.tasting_notes import TastingNote

__all__ = ["BehindBest", "BestCasks", "Blend", "Figure", "Told", "behind_best", "best_casks"]

_FEW = 2
Figure = Literal["score", "liking"]
Told = Literal["cask", "wood", "cooper", "previous"]


class Blend(NamedTuple):
    """A blend that was tasted: the `shares` of its parts in it, and taster to the figures that he or she `gave` it."""

    shares: Mapping[str, float]
    gave: Mapping[str, Sequence[float]]


class BehindBest(NamedTuple):
    """A cask, or casks that share something, and what was thought of the blends that they are in.

    Attributes:
        name: identifier of the cask; or its wood, cooper or previous contents, empty where not recorded.
        blends: how many tasted blends it is in.
        share: its share in these, added.
        notes: how many notes on them.
        tasters: how many people wrote these.
        mean: of the figures, weighted by share; a blend counts with the mean over its tasters.
        ahead: how far above their own means tasters put its blends, weighted by share, the mean over tasters.
        band: half of its interval (`CONFIDENCE`); None where tasters or blends are too few.
    """

    name: str
    blends: int
    share: float
    notes: int
    tasters: int
    mean: float
    ahead: float | None
    band: float | None

    @property
    def stands(self) -> Literal["ahead", "behind", "not told apart", "too few notes to say"]:
        """What may be said of it."""
        if self.band is None or self.ahead is None:
            return "too few notes to say"
        if abs(self.ahead) <= self.band:
            return "not told apart"
        return "ahead" if self.ahead > 0 else "behind"


class BestCasks(NamedTuple):
    """Casks by what was thought of their blends: which figure, what they are told by, the rows, what casks are called.

    `rows` have first those of which enough is known, the most ahead first; `called` is each cask as a person knows it.
    """

    by: Figure
    told_by: Told
    rows: tuple[BehindBest, ...]
    called: Mapping[str, str]


def best_casks(
    book: "BookCore", by: Figure = "score", told_by: Told = "cask", at_us: int | None = None
) -> BestCasks:  # fmt: skip
    """Casks behind tasted trials, batches and lots, now or by the notes and blends of a moment."""
    of_item: dict[str, list[TastingNote]] = {}
    for note in notes(book.store, About() if at_us is None else About(until_us=at_us)):
        if note.item and kind_of(note.item) in TRIED:
            of_item.setdefault(note.item, []).append(note)
    given = {item: getattr(opinion(of), f"{by}s" if by == "score" else "likings") for item, of in of_item.items()}
    tasted = {item: of for item, of in given.items() if of}
    compositions = made_of(book, tasted, By("cask", without_water=True), at_us)
    name_of = _Names(book.store, told_by)
    blends = [Blend(name_of.grouped(compositions.get(item, {})), of) for item, of in tasted.items()]
    rows = tuple(behind_best(blends))
    casks = [one.name for one in rows if read_or_none(one.name)] if told_by == "cask" else []
    return BestCasks(by, told_by, rows, called(book.store, casks))


def behind_best(blends: Sequence[Blend]) -> list[BehindBest]:
    """What is behind blends: those of which enough is known, by how far ahead they are; then the others, by mean."""
    names = dict.fromkeys(name for blend in blends for name in blend.shares)
    above = _above_own_mean(blends)
    found = [_behind(name, blends, above) for name in names]
    return sorted(found, key=lambda one: (one.band is None, -_rank(one), one.name))


def _rank(one: BehindBest) -> float:
    """A plain mean is that of whoever happened to taste: it ranks only where nothing better is known."""
    return one.mean if one.band is None or one.ahead is None else one.ahead


def _above_own_mean(blends: Sequence[Blend]) -> list[dict[str, float]]:
    """Of each blend, taster to how far above his or her own mean it was put; without those who tasted one blend."""
    of_taster: dict[str, list[float]] = {}
    for blend in blends:
        for taster, figures in blend.gave.items():
            of_taster.setdefault(taster, []).append(fmean(figures))
    own = {taster: fmean(figures) for taster, figures in of_taster.items() if len(figures) >= _FEW}
    return [{who: fmean(of) - own[who] for who, of in blend.gave.items() if who in own} for blend in blends]


def _behind(name: str, blends: Sequence[Blend], above: Sequence[Mapping[str, float]]) -> BehindBest:
    its = [(blend.shares[name], blend, of) for blend, of in zip(blends, above, strict=True) if blend.shares.get(name)]
    share = sum(part for part, _, _ in its)
    mean = sum(part * fmean(map(fmean, blend.gave.values())) for part, blend, _ in its) / share
    tasters = {taster for _, blend, _ in its for taster in blend.gave}
    by_taster = {who: [(part, of[who]) for part, _, of in its if who in of] for who in tasters}
    each = [_weighted(of) for of in by_taster.values() if of]
    is_enough = len(each) >= _FEW and len(its) >= _FEW
    band = t_quantile(CONFIDENCE, len(each) - 1) * stdev(each) / len(each) ** 0.5 if is_enough else None
    count = sum(len(figures) for _, blend, _ in its for figures in blend.gave.values())
    return BehindBest(name, len(its), share, count, len(tasters), mean, fmean(each) if each else None, band)


def _weighted(of: Iterable[tuple[float, float]]) -> float:
    pairs = list(of)
    return sum(part * figure for part, figure in pairs) / sum(part for part, _ in pairs)


class _Names:
    """What a cask counts as; each is looked up once."""

    def __init__(self, store: "Store", told_by: Told) -> None:
        self._store, self._by = store, told_by
        self._known: dict[str, str] = {}

    def grouped(self, shares: Mapping[str, float]) -> dict[str, float]:
        """Shares of casks as shares of what they are told by; what is no cask is left out."""
        found: dict[str, float] = {}
        for item, part in shares.items():
            if item != WATER and read_or_none(item) and kind_of(item) == "cask":
                name = self._name(item)
                found[name] = found.get(name, 0.0) + part
        return found

    def _name(self, cask: str) -> str:
        if self._by == "cask":
            return cask
        if cask not in self._known:
            told = facts(self._store, key_of(cask)).get(self._by, "")
            self._known[cask] = _latest(told) if self._by == "previous" else told
        return self._known[cask]


def _latest(previous: str) -> str:
    """What a cask held last before it came here, without its years."""
    return (text_listed(previous) or ("",))[-1].partition(",")[0].strip()
