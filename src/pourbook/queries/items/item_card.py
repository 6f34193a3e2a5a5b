"""An item with all that stands beside its contents: bottles, what is pending, the last gauge, age and cost.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Move("origin", cask, read_amount("200 l"), read_strength("63.5"), pending=True)
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item(cask, {}), Pour("fill", (fill,)))))
>>> item_card(book, cask).pending, [held.view.id for held in stock(book, kind="cask")]
((3,), ['C000001H'])
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.bottles import BottleCount, bottle_count
from pourbook.book.items import ItemView, LedgerRow, ledger, on_hand
from pourbook.book.label_prints import last_print
from pourbook.book.lineages import pending_in, pending_states
from pourbook.book.search import mentioning
from pourbook.book.site_numbers import is_consignment
from pourbook.book.tasting_search import has_notes
from pourbook.codes.identifiers import LIQUID_KINDS, key_of
from pourbook.errors import PourbookError
from pourbook.queries.items.called import called_view
from pourbook.queries.items.item_notes import ItemNote, item_notes

if TYPE_CHECKING:
    from pourbook.bench.bounds import PartShare
    from pourbook.bench.house_rules import Broken
    from pourbook.book.core import BookCore
    from pourbook.book.glasses import Emptied
    from pourbook.book.label_prints import Restated
    from pourbook.book.store import Store
    from pourbook.queries.approvals.approved import Approved
    from pourbook.queries.gauges.last_gauge import LastGauge
    from pourbook.queries.items.labelled_strength import Disagreement
    from pourbook.queries.items.outside_sample import OutsideSample
    from pourbook.queries.tastings.search import FoundNote
    from pourbook.queries.traces.heel_age import HeelAge
    from pourbook.queries.traces.trace_answer import Trace
    from pourbook.queries.trials.reducing import Reducing
    from pourbook.queries.warehouse.missing import Missing

__all__ = ["Held", "ItemCard", "held_now", "item_card", "stock"]

_GLASSES = ("vial", "trial")
_BLENDS = ("trial", "batch", "lot")


class Held(NamedTuple):
    """The view of an item, the pending entries behind it, and the bottles of a lot bottled by count.

    `called` is how a person knows it at sight, where it stands in a list; `emptied` is how a glass came to hold
    nothing, where one item is asked for. `sent_us` is when what is on its way between two sites was first sent.
    """

    view: ItemView
    pending: tuple[int, ...]
    bottles: BottleCount | None
    called: str = ""
    emptied: "Emptied | None" = None
    sent_us: int | None = None


class ItemCard(NamedTuple):
    """All that is shown of one item: view, pending and bottles as in `Held`.

    `gauge` is the last that still speaks of what it holds; `blend` is the trace back of a trial, batch or lot with
    spirit in it; `apart`, of a lot, is how far its labels are from the book, where that is too far; `history` is its
    contents after every line that touched it, where asked for; `notes` are those that stand, the oldest first;
    `label_outdated` is what its label printed last says otherwise than the book; `bounds` is every part of a trial or
    batch that its recipe bounds; `broken` is every rule of the house that it breaks; `outside` is how a sample from
    outside came into the house; `emptied` is how a glass came to hold nothing; `reducing` is how a reduction in steps
    stands; `heels` are batches poured into it that make it younger; `approved` is how the approval of a batch or a lot
    stands, where anybody said so or the house wants it; `called` is how a person knows the item at sight; `tastings`
    are notes of what was found in it, and in others that held the same liquid, the oldest first; `missing` says which
    stocktake did not find it, where it is missing still.
    """

    view: ItemView
    pending: tuple[int, ...]
    bottles: BottleCount | None
    gauge: "LastGauge | None"
    blend: "Trace | None"
    apart: "Disagreement | None"
    history: tuple[LedgerRow, ...] | None
    notes: tuple[ItemNote, ...]
    label_outdated: "tuple[Restated, ...]" = ()
    bounds: "tuple[PartShare, ...]" = ()
    broken: "tuple[Broken, ...]" = ()
    outside: "OutsideSample | None" = None
    emptied: "Emptied | None" = None
    reducing: "Reducing | None" = None
    called: str = ""
    tastings: "tuple[FoundNote, ...]" = ()
    approved: "Approved | None" = None
    missing: "Missing | None" = None
    heels: "tuple[HeelAge, ...]" = ()


def item_card(book: "BookCore", text: str, at_us: int | None = None, *, history: bool = False) -> ItemCard:
    """An item, now or at a moment.

    Raises:
        PourbookError: no such item.
    """
    from pourbook.queries.gauges.last_gauge import last_gauge  # a list does without it

    store, view = book.store, book.show(text, at_us)
    blend = None
    bounds: tuple[PartShare, ...] = ()
    kept: tuple[Broken, ...] = ()
    heels: tuple[HeelAge, ...] = ()
    if view.kind in _BLENDS and view.holding.ethanol_mg:
        from pourbook.queries.traces.trace import trace_back

        blend = trace_back(book, view.id, at_us=at_us)
        if view.kind == "batch":
            from pourbook.queries.traces.heel_age import heels_in

            heels = heels_in(book, view.id, at_us)
        if "follows" in view.facts:
            from pourbook.queries.trials.bounds_kept import bounds_kept
            from pourbook.queries.trials.rules_kept import rules_kept

            bounds, kept = bounds_kept(book, view.id, at_us), rules_kept(book, view.id, at_us)
    apart = None
    if view.kind == "lot":
        from pourbook.queries.items.labelled_strength import disagreement

        apart = disagreement(view.facts, view.strength_20c)
    rows = (row for row in ledger(store, key_of(view.id)) if at_us is None or row.happened_us <= at_us)
    return ItemCard(
        view,
        pending_in(store, view.holding),
        _bottles(store, view, at_us),
        last_gauge(store, view.id, at_us),
        blend,
        apart,
        tuple(rows) if history else None,
        item_notes(store, key_of(view.id), at_us),
        _outdated(book, view) if at_us is None else (),
        bounds,
        kept,
        _from_outside(store, view),
        _emptied(store, view) if at_us is None else None,
        _reducing(book, view, at_us),
        called_view(store, view),
        _tastings(book, view, at_us),
        _approved(book, view, at_us),
        _missing(book, view) if at_us is None else None,
        heels,
    )


def _from_outside(store: "Store", view: ItemView) -> "OutsideSample | None":
    if view.kind not in _GLASSES:
        return None
    from pourbook.queries.items.outside_sample import outside_sample  # a cask does without it

    return outside_sample(store, view.id)


def _emptied(store: "Store", view: ItemView) -> "Emptied | None":
    if view.kind not in _GLASSES:
        return None
    from pourbook.book.glasses import emptied  # a cask does without it

    return emptied(store, view.id)


def _reducing(book: "BookCore", view: ItemView, at_us: int | None) -> "Reducing | None":
    """The reduction of what is or was to rest on the way, or got water alone."""
    if view.kind == "trial" or "target_strength" not in view.facts or not view.holding.ethanol_mg:
        return None
    from pourbook.queries.trials.reducing import reducing

    try:
        found = reducing(book, view.id, at_us)
    except PourbookError:
        return None  # a fact that was set by hand is no strength: `pourbook reduce` says so
    return found if found.done or "rests" in view.facts else None


def _approved(book: "BookCore", view: ItemView, at_us: int | None) -> "Approved | None":
    if view.kind not in ("batch", "lot"):
        return None
    from pourbook.book.approvals import covering  # most items are never approved

    if covering(book.store, view.id, at_us).entry is None and book.settings["approval"] == "no":
        return None
    from pourbook.queries.approvals.approved import approved

    return approved(book, view.id, at_us)


def _tastings(book: "BookCore", view: ItemView, at_us: int | None) -> "tuple[FoundNote, ...]":
    if view.kind not in LIQUID_KINDS or not has_notes(book.store):
        return ()
    from pourbook.queries.tastings.search import notes_around  # a house that writes no notes does without it

    return notes_around(book, view.id, at_us)


def _missing(book: "BookCore", view: ItemView) -> "Missing | None":
    if not mentioning(book.store, [key_of(view.id)], "stocktake"):
        return None
    from pourbook.queries.warehouse.missing import missing  # most items were never missing

    return next((one for one in missing(book) if one.view.id == view.id), None)


def _outdated(book: "BookCore", view: ItemView) -> "tuple[Restated, ...]":
    """What its label printed last says otherwise than the book."""
    printed = last_print(book.store, key := key_of(view.id))
    if printed is None:
        return ()
    from pourbook.queries.labels.outdated_labels import outdated  # most items that are asked about have no label

    return outdated(book, {key: printed}).get(view.id, ())


def held_now(book: "BookCore", text: str) -> Held:
    """What an item holds now."""
    view = book.show(text)
    known = pending_in(book.store, view.holding), _bottles(book.store, view, None)
    return Held(view, *known, emptied=_emptied(book.store, view))


def stock(
    book: "BookCore", at_us: int | None = None, kind: str | None = None, place: str | None = None, *,
    called: bool = False,
) -> Iterator[Held]:  # fmt: skip
    """Every item (of a kind, at a place) that holds liquid, now or at a moment, by kind and number; memory flat.

    With `called`, each with how a person knows it, which looks behind every glass.
    """
    states = pending_states(book.store)
    for view in on_hand(book.store, at_us, kind, place):
        words = called_view(book.store, view) if called else ""
        sent_us = _sent(book.store, view)
        yield Held(view, states.get(view.holding.state, ()), _bottles(book.store, view, at_us), words, sent_us=sent_us)


def _sent(store: "Store", view: ItemView) -> int | None:
    """When a consignment between two sites was first sent; None of whatever else there is."""
    key = key_of(view.id)
    return ledger(store, key)[0].happened_us if is_consignment(key) else None


def _bottles(store: "Store", view: ItemView, at_us: int | None) -> BottleCount | None:
    return bottle_count(store, view.id, at_us) if view.kind == "lot" and "bottles" in view.facts else None
