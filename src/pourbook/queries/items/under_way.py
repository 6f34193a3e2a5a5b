"""What is being worked at now: trials and batches half poured, reductions, sessions, stocktakes, runs, labels, holds.

What it costs grows with what is under way and with the last days, not with the book. A trial that nobody finished
within these days is left out: it is not being worked at.

>>> from pourbook import Book, Draft, Item, Move, Pour, Recipe, RecipePart
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 3 * DAY_US)
>>> fill = Pour("fill", (Move("origin", "C000001H", read_amount("200 l"), read_strength("60")),))
>>> recipe = Recipe("Ash", (RecipePart("C000001H", "3"), RecipePart("water", "1")))
>>> trial, poured = Item("T000002M", {"follows": "Ash", "total": "100 ml"}), read_amount("25 ml")
>>> pour = Pour("pour", (Move("water", "T000002M", poured),))
>>> entries = Item("C000001H", {"ref": "Q 31"}), fill, recipe, trial, pour
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> (one,) = under_way(book)
>>> one.kind, one.item, round(one.done), round(one.of), [(left.component, round(left.ml)) for left in one.left], one.who
('trial', 'T000002M', 25, 100, [('C000001H', 75)], 'M. Aldane')
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache, partial
from itertools import chain
from typing import TYPE_CHECKING, Literal, NamedTuple, get_args

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.bench.beside_plan import LEAST_ML, Target
from pourbook.bench.trials import WATER
from pourbook.book.bottling_runs import counts, lots_of_run, runs_under_way
from pourbook.book.flows import flows_out_of, poured_into
from pourbook.book.holds import held_now, held_together
from pourbook.book.items import entered_in, facts, ledger, on_hand, planned_since, totals_and_recipes
from pourbook.book.journal import Logged, blending, entry_of, names_of, recipe
from pourbook.book.label_prints import numbers_set_aside, stopped_runs
from pourbook.book.names import with_fact
from pourbook.book.search import mentioning, stated
from pourbook.book.sessions import poured_for, sessions
from pourbook.book.stocktakes import last_seen, stocktakes
from pourbook.codes.identifiers import hyphened, key_of, kind_of, of_key
from pourbook.errors import Ambiguous, Unknown
from pourbook.gauging.as_typed import amount_again
from pourbook.queries.items.called import called
from pourbook.queries.tastings.session_card import ballots_so_far
from pourbook.queries.trials.reducing import reducing
from pourbook.queries.trials.targets import targets
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = ["WITHIN_DAYS", "Kind", "Left", "UnderWay", "under_way"]

WITHIN_DAYS = 30
"""A trial is poured, a stopped run of labels finished within so many days, or never: common practice, no source."""

Kind = Literal[
    "bottling", "batch", "reduction", "trial", "session", "blending", "stocktake", "labels", "numbers", "recall",
    "hold",
]  # fmt: skip
Unit = Literal["ml", "steps", "bottles", "ballots", "blends", "items", "labels", "numbers", ""]


class Left(NamedTuple):
    """What is still to be poured: a component, as its recipe names it, and mL at 20 °C."""

    component: str
    ml: float


class UnderWay(NamedTuple):
    """Something that was begun and is not done.

    Attributes:
        kind: what sort of work it is.
        item: its identifier (of a run of labels, that of the first); empty for what has a name alone.
        name: of a session, a blending, a stocktake or a recall; the first of numbers set aside; else what the item is
            called beside its identifier.
        begun_us: when it was begun: opened, put on hold, printed.
        last_us: when it was last worked at.
        who: by whom that was.
        done: how much of it is done.
        of: how much there is to do, in the same unit; None where nobody knows.
        unit: of these two.
        left: what is still to be poured.
        stage: of a session or a blending, "served", "not served", "composing" or "tasting"; else empty.
        entry: of a recall, a run of labels or numbers set aside: its number; else 0.
        rests_until_us: of a reduction, before when no water is due; None where it does not rest.
        to_percent: the next strength of a reduction, % vol at 20 °C.
        reason: why an item is on hold, where somebody said.
    """

    kind: Kind
    item: str
    name: str
    begun_us: int
    last_us: int
    who: str
    done: float = 0.0
    of: float | None = None
    unit: Unit = ""
    left: tuple[Left, ...] = ()
    stage: str = ""
    entry: int = 0
    rests_until_us: int | None = None
    to_percent: float | None = None
    reason: str = ""


_POURED = 0.005
"""Half of what a component may lack of its plan: nobody looks twice at a trial that lacks less of its total."""


def under_way(book: "BookCore", within_days: int = WITHIN_DAYS) -> tuple[UnderWay, ...]:
    """All that was begun and is not done, by kind, what was worked at last first."""
    since_us = book.clock() - within_days * DAY_US
    with book.store.snapshot():
        found = chain(
            _bottling(book), _poured(book, since_us), _sessions(book), _blendings(book, since_us), _stocktakes(book),
            _labels(book, since_us), _numbers(book), _holds(book),
        )  # fmt: skip
        order = {kind: place for place, kind in enumerate(get_args(Kind))}
        work = sorted(found, key=lambda one: (order[one.kind], -one.last_us, one.item, one.name))
        names = called(book.store, dict.fromkeys(one.item for one in work if one.item))
        return tuple(one if one.name else one._replace(name=names.get(one.item, "")) for one in work)


# -- what is poured ----------------------------------------------------------------------


def _poured(book: "BookCore", since_us: int) -> Iterator[UnderWay]:
    """Trials of the last days, and batches in their vats, that are not poured as planned, or wait for water."""
    store = book.store
    vats = [key_of(view.id) for view in on_hand(store, kind="batch")]
    resting = [fact.item for fact in stated(store, ("rest_days",)) if fact.value]
    recent = planned_since(store, since_us)
    poured = _looks_poured(store, recent)
    for key in dict.fromkeys((*(one for one in recent if one not in poured), *vats, *resting)):
        rows, item = ledger(store, key), of_key(key)
        if rows and (not rows[-1].holding.mass_mg or _is_bottled(store, rows[-1].holding.state)):
            continue
        last = entry_of(store, rows[-1].entry if rows else entered_in(store, key))
        recently = last.happened_us >= since_us
        beside = targets(book, item) if recently and kind_of(item) in ("trial", "batch") else ()
        to_go = [one.component for one in beside if one.to_go_ml]
        if to_go and (to_go != [WATER] or kind_of(item) == "trial"):
            yield _half_poured(book, item, last, beside)
        elif rows and kind_of(item) != "trial" and (waits := _reduction(book, item, last)):
            yield waits


def _looks_poured(store: "Store", keys: Iterable[int]) -> set[int]:
    """Trials that have their total from as many sources as their recipe has parts: of most no plan is laid out."""
    trials = [key for key in keys if kind_of(of_key(key)) == "trial"]
    poured, found = poured_into(store, trials), set()
    planned = totals_and_recipes(store, poured)
    parts_of, ml_of = lru_cache(partial(_parts, store)), lru_cache(_ml)
    for key, liquids in poured.items():
        total, recipe = planned[key]
        total_ml = ml_of(total)
        lacks_ml = abs(total_ml - sum(map(volume_ml, liquids)))
        if len(liquids) >= parts_of(recipe) and lacks_ml <= max(LEAST_ML, _POURED * total_ml):
            found.add(key)
    return found


def _ml(typed: str) -> float:
    return float(amount_again(typed).volume_ml)


def _parts(store: "Store", name: str) -> int:
    """How many parts a recipe has; more than anything has where there is none."""
    try:
        return len(recipe(store, name).entry["body"]["parts"])
    except (Unknown, Ambiguous):
        return 1 << 30


def _is_bottled(store: "Store", state: int) -> bool:
    """Whether any of it went into a lot: then it is as full as it will be."""
    into = (flow.target_item for flow in flows_out_of(store, (state,)))
    return any(key and kind_of(of_key(key)) == "lot" for key in into)


def _half_poured(book: "BookCore", item: str, last: Logged, beside: Sequence[Target]) -> UnderWay:
    kind: Kind = "batch" if kind_of(item) == "batch" else "trial"
    when = _begun_us(book.store, item), last.happened_us, last.entry["who"]
    done, whole = sum(min(one.poured_ml, one.wanted_ml) for one in beside), sum(one.wanted_ml for one in beside)
    left = tuple(Left(one.component, one.to_go_ml) for one in beside if one.to_go_ml)
    return UnderWay(kind, item, "", *when, done, whole, "ml", left)


def _reduction(book: "BookCore", item: str, last: Logged) -> UnderWay | None:
    if not facts(book.store, key_of(item)).get("target_strength"):
        return None
    found = reducing(book, item)
    if not found.ahead:
        return None
    step, begun_us = found.ahead[0], _begun_us(book.store, item)
    return UnderWay(
        "reduction", item, "", begun_us, last.happened_us, last.entry["who"],
        len(found.planned) - len(found.ahead), len(found.planned), "steps", (Left(WATER, volume_ml(step.water)),),
        rests_until_us=found.rests_until_us, to_percent=step.to_percent,
    )  # fmt: skip


def _begun_us(store: "Store", item: str) -> int:
    return entry_of(store, entered_in(store, key_of(item))).happened_us


def _bottling(book: "BookCore") -> Iterator[UnderWay]:
    store = book.store
    for run in runs_under_way(store):
        begun = entry_of(store, entered_in(store, key_of(run)))
        counted = [one for lot in lots_of_run(store, run) for one in counts(store, lot)]
        last = entry_of(store, max((one.entry for one in counted), default=begun.number))
        when = begun.happened_us, last.happened_us, last.entry["who"]
        yield UnderWay(
            "bottling", run, "", *when, sum(one.tally.of_the_lot for one in counted), None, "bottles"
        )  # fmt: skip


# -- what is tasted, and counted -----------------------------------------------------------


def _sessions(book: "BookCore") -> Iterator[UnderWay]:
    for opened in sessions(book.store, still_open=True):
        done, expected, last = ballots_so_far(book, opened)
        stage = "served" if poured_for(book.store, opened) else "not served"
        when = opened.entry.happened_us, last.happened_us, last.entry["who"]
        yield UnderWay("session", "", opened.session.name, *when, done, expected, "ballots", stage=stage)


def _blendings(book: "BookCore", since_us: int) -> Iterator[UnderWay]:
    """Those of the last days in which nobody has chosen a blend yet."""
    store = book.store
    for name in names_of(store, "blending"):
        entry = blending(store, name)
        if entry.happened_us < since_us or with_fact(store, "chosen", name):
            continue
        blends = [entry_of(store, entered_in(store, key_of(one))) for one in with_fact(store, "blending", name)]
        last = max((entry, *blends), key=lambda one: (one.happened_us, one.number))
        is_tasting = any(one.session.name == name for one in sessions(store, still_open=True))
        yield UnderWay(
            "blending", "", name, entry.happened_us, last.happened_us, last.entry["who"],
            len(blends), len(entry.entry["body"]["guests"]), "blends", stage="tasting" if is_tasting else "composing",
        )  # fmt: skip


def _stocktakes(book: "BookCore") -> Iterator[UnderWay]:
    """Those under way; how much there is to find is a question that goes through the whole place."""
    for taken in stocktakes(book.store):
        if taken.end is None:
            seen, last = last_seen(book.store, taken)
            when = taken.begun.happened_us, last.happened_us, last.entry["who"]
            yield UnderWay("stocktake", "", taken.stocktake.name, *when, seen, None, "items")


# -- labels, and what is held ---------------------------------------------------------------


def _labels(book: "BookCore", since_us: int) -> Iterator[UnderWay]:
    """Runs of labels of the last days that stopped half-way, and whose rest was not printed since."""
    for run in stopped_runs(book.store, since_us):
        body, when = run.entry["body"], (run.happened_us, run.happened_us, run.entry["who"])
        done, of = body["facts"]["count"], body["facts"]["of"]
        yield UnderWay("labels", body["items"][0], "", *when, done, of, "labels", entry=run.number)


def _numbers(book: "BookCore") -> Iterator[UnderWay]:
    for entry, free in numbers_set_aside(book.store):
        whole, when = len(entry.entry["body"]["items"]), (entry.happened_us, entry.happened_us, entry.entry["who"])
        yield UnderWay("numbers", "", hyphened(free[0]), *when, whole - len(free), whole, "numbers", entry=entry.number)


def _holds(book: "BookCore") -> Iterator[UnderWay]:
    """Open recalls with what they hold, each in one; and every item that a person's hold alone holds."""
    store, held = book.store, held_now(book.store)
    for recall, items in held_together(store, held):
        when = recall.happened_us, recall.happened_us, recall.entry["who"]
        reason = recall.entry.get("reason", "")
        yield UnderWay(
            "recall", "", f"recall {recall.number}", *when, 0, len(items), "items", entry=recall.number, reason=reason
        )
        held -= set(map(key_of, items))
    for key, holds in mentioning(store, sorted(held), "hold").items():
        last = holds[-1]
        when = last.happened_us, last.happened_us, last.entry["who"]
        yield UnderWay("hold", of_key(key), "", *when, entry=last.number, reason=last.entry.get("reason", ""))
