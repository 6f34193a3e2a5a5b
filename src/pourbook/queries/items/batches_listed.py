"""Batches and bottle lots with where each of them is on its way: planned, being poured, at rest, bottled, gone.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> fill = Move("origin", "B000001Y", read_amount("100 l"), read_strength("60"))
>>> first, second = Item("B000001Y", {"target_strength": "46 % vol"}), Item("B000002W", {"name": "Quince"})
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (first, second, Pour("fill", (fill,)))))
>>> page = batches_listed(book, "batch")
>>> [(line.view.id, line.stage) for line in page.lines], page.below
([('B000002W', 'opened'), ('B000001Y', 'to reduce')], '')
"""

from itertools import islice
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.bench.trials import WATER
from pourbook.book.approvals import covering
from pourbook.book.bottles import BottleCount, bottle_count
from pourbook.book.bottling_runs import lots_of_run, runs_under_way
from pourbook.book.flows import flows_out_of
from pourbook.book.items import ItemView, latest_keys, ledger, on_hand
from pourbook.book.numbering import end_key
from pourbook.codes.identifiers import key_of, kind_of, of_key
from pourbook.errors import Refused
from pourbook.queries.items.called import blend_called
from pourbook.queries.trials.pull_guard import has_plan
from pourbook.queries.trials.reducing import reducing
from pourbook.queries.trials.targets import targets

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["BatchLine", "BatchPage", "Stage", "batch_line", "batches_at_work", "batches_listed"]

Stage = Literal[
    "opened", "planned", "pouring", "resting", "to reduce", "to bottle", "bottling", "emptied",
    "filling", "in the house", "gone",
]  # fmt: skip

_PAGE, _MOST_AT_WORK = 50, 100


class BatchLine(NamedTuple):
    """A batch or a lot.

    Attributes:
        view: as it is now.
        called: what it is called beside its identifier.
        stage: where it is on its way; of a lot: filling, in the house, gone.
        approval: how its approval stands; empty where it is empty.
        rests_until_us: of a batch at rest, when it has rested.
        bottles: of a lot; None where they were not counted.
    """

    view: ItemView
    called: str
    stage: Stage
    approval: str = ""
    rests_until_us: int | None = None
    bottles: BottleCount | None = None


class BatchPage(NamedTuple):
    """Some of all batches or lots, the latest first; the next page begins `below` this one, empty at the end."""

    lines: tuple[BatchLine, ...]
    below: str


def batches_listed(book: "BookCore", kind: str, below: str = "", count: int = _PAGE) -> BatchPage:
    """Batches or lots, the latest first, below an identifier of that kind.

    Raises:
        Refused: the kind is neither, or the identifier is of another.
    """
    if kind not in ("batch", "lot") or (below and kind_of(below) != kind):
        raise Refused(f"'{kind}' is no kind that is listed here", "ask for batch or lot")
    keys = latest_keys(book.store, kind, key_of(below) if below else end_key(book.store, kind), count + 1)
    bottling = _bottling(book)
    lines = tuple(batch_line(book, of_key(key), bottling) for key in keys[:count])
    return BatchPage(lines, of_key(keys[count - 1]) if len(keys) > count else "")


def batches_at_work(book: "BookCore") -> tuple[BatchLine, ...]:
    """Batches in their vats or planned, lots being filled or waiting for an approval that the house wants."""
    store, bottling = book.store, _bottling(book)
    vats = [view.id for view in islice(on_hand(store, kind="batch"), _MOST_AT_WORK)]
    planned = [of_key(key) for key in latest_keys(store, "batch", end_key(store, "batch"), _PAGE)]
    lines = [batch_line(book, one, bottling) for one in dict.fromkeys((*vats, *planned))]
    lots = [lot for run in runs_under_way(store) for lot in lots_of_run(store, run)]
    if book.settings["approval"] != "no":
        lots += [view.id for view in islice(on_hand(store, kind="lot"), _MOST_AT_WORK)]
    lines += [batch_line(book, one) for one in dict.fromkeys(lots)]
    at_work = [one for one in lines if one.stage not in ("emptied", "gone") and not _is_settled(one)]
    return tuple(sorted(at_work, key=lambda one: _ORDER.index(one.stage)))


_ORDER: tuple[Stage, ...] = (
    "pouring", "planned", "opened", "to reduce", "resting", "bottling", "filling", "to bottle", "in the house",
)  # fmt: skip


def _is_settled(line: BatchLine) -> bool:
    return line.stage == "in the house" and line.approval in ("approved", "rejected")


def batch_line(book: "BookCore", item: str, bottling: "frozenset[str] | None" = None) -> BatchLine:
    """Where one batch or lot is; `bottling` are the vats of runs under way, looked up where they are not given."""
    view = book.show(item)
    called = blend_called(view)
    approval = covering(book.store, view.id).stands if view.holding.mass_mg else ""
    if kind_of(view.id) == "lot":
        return BatchLine(view, called, _stage_of_lot(view), approval, bottles=bottle_count(book.store, view.id))
    if not view.holding.mass_mg:
        return BatchLine(view, called, _stage_before(book, view))
    if view.id in (_bottling(book) if bottling is None else bottling):
        return BatchLine(view, called, "bottling", approval)
    if _is_pouring(book, view):
        return BatchLine(view, called, "pouring", approval)
    found = reducing(book, view.id) if view.facts.get("target_strength") else None
    if found is None or not found.ahead:
        return BatchLine(view, called, "to bottle", approval)
    until_us = found.rests_until_us if found.rest_days else None
    is_resting = until_us is not None and until_us > book.clock()
    return BatchLine(view, called, "resting" if is_resting else "to reduce", approval, until_us)


def _bottling(book: "BookCore") -> frozenset[str]:
    runs = [lot for run in runs_under_way(book.store) for lot in lots_of_run(book.store, run)]
    return frozenset(vat for lot in runs if (vat := book.show(lot).facts.get("filling_from")))


def _stage_of_lot(view: ItemView) -> Stage:
    if "filling_from" in view.facts:
        return "filling"
    return "in the house" if view.holding.mass_mg else "gone"


def _stage_before(book: "BookCore", view: ItemView) -> Stage:
    if ledger(book.store, key_of(view.id)):
        return "emptied"
    return "planned" if has_plan(book, view.id) else "opened"


def _is_pouring(book: "BookCore", view: ItemView) -> bool:
    """Whether its plan has casks that are still to give; one that was bottled from is as full as it will be."""
    beside = targets(book, view.id) if has_plan(book, view.id) else ()
    if not any(one.to_go_ml and one.component != WATER for one in beside):
        return False
    gone = flows_out_of(book.store, (view.holding.state,))
    return not any(one.target_item and kind_of(of_key(one.target_item)) == "lot" for one in gone)
