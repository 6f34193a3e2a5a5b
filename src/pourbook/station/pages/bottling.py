"""Bottles: counted at once, or in a run with its counts, fills, losses, changes of vat and balance."""

from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from pourbook.book.bottling_runs import Tally
from pourbook.book.entries import DISPOSITIONS
from pourbook.codes.identifiers import kind_of
from pourbook.codes.scans import goods_words
from pourbook.errors import Malformed
from pourbook.queries.bottling.packed import packed
from pourbook.queries.items.batches_listed import batch_line
from pourbook.station.asked import NotFound
from pourbook.station.pages.plan_form import counted_in
from pourbook.station.pages.printed import printed_file
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from pourbook.actions.bottling_run import Rest
    from pourbook.queries.bottling.run import BottlingRun

__all__ = ["routes"]

routes = Routes()

_GOODS = ("closure", "bottle_lot", "label", "carton", "filter")


@routes.page("/bottlings")
def runs(visit: Visit) -> Response:
    """Every run under way."""
    return visit.page("bottling/runs.html", runs=visit.book.bottling_runs())


@routes.page("/item/{item}/bottling")
def bottling(visit: Visit) -> Response:
    """Of a batch: what is filled from it, and how to begin; of a lot: its run, and how it is packed."""
    item = visit.item("batch", "lot")
    view = visit.book.show(item)
    if kind_of(item) == "batch":
        under_way = [(run, lot) for run in visit.book.bottling_runs() for lot in run.lots]
        from_it = [lot for _, lot in under_way if lot.view.facts.get("filling_from") == item]
        return visit.page("bottling/batch.html", view=view, lots=from_it, kinds=DISPOSITIONS)
    run = visit.book.bottling_run(item) if view.facts.get("run") else None
    line, cases = batch_line(visit.book, item), packed(visit.book, item)
    return visit.page(
        "bottling/lot.html", view=view, run=run, line=line, packed=cases, kinds=DISPOSITIONS, **_run_values(visit, run)
    )


@routes.page("/item/{item}/bottling/balance", polls=True)
def balance(visit: Visit) -> Response:
    """How a run stands now, for a screen at the line, and for a page that is open while others count."""
    lot = visit.item("lot")
    view = visit.book.show(lot)
    if not view.facts.get("run"):
        raise NotFound(visit.gettext("it was not bottled in a run"))
    run = visit.book.bottling_run(lot)
    shown = visit.fragment if visit.is_partial else visit.page
    return shown("bottling/run.html" if visit.is_partial else "bottling/balance.html", run=run, view=view,
                 **_run_values(visit, run))  # fmt: skip


def _run_values(visit: Visit, run: "BottlingRun | None") -> dict[str, Any]:
    from pourbook.words import bottling_words as words

    if run is None:
        return {}
    style = visit.style
    said = {
        lot.view.id: [
            *(text for _, text in words.run_words(lot, style.time_shown, style.mark)), *map(words.good_words, lot.goods)
        ]
        for lot in run.lots
    }  # fmt: skip
    too_many = {lot.view.id: short for lot in run.lots if (short := words.short_by(lot.made))}
    balanced = [vat for vat in run.vats if any(vat.bottles) or vat.losses or vat.is_measured]
    balances = [(vat, list(words.balance_rows(vat))) for vat in balanced]
    return {"run_words": said, "too_many": too_many, "balances": balances, "caution": words.CAUTION}


# -- counted at once --------------------------------------------------------------------------


@routes.deed("/item/{item}/bottle", "bottle")
def bottled(visit: Visit) -> Response:
    """Bottle a batch as a lot."""
    from pourbook.actions.vats import Bottling

    batch, style = visit.item("batch"), visit.style
    count = counted_in(visit, "count") if visit.typed("count") else 0
    size = style.amount(visit.needed("size", visit.gettext("Size of a bottle")), "ml")
    losses = [(kind, style.amount_or_all(amount))] if (kind := visit.typed("loss_kind")) and (
        amount := visit.typed("loss")
    ) else []  # fmt: skip
    bottling = Bottling(count, size, _about(visit), losses, bool(visit.typed("empties")))
    done = visit.book.bottle(visit.how, batch, bottling)
    return visit.to(f"/item/{done.lot}/bottling", visit.gettext("The lot is bottled."), recorded=done.recorded)


def _about(visit: Visit) -> dict[str, str]:
    """Names of a lot, and dry goods typed or scanned."""
    named = {name: text for name in ("ref", "name", "lot_mark") if (text := visit.typed(name))}
    return named | _goods(visit)


def _goods(visit: Visit) -> dict[str, str]:
    return {name: goods_words(text) for name in _GOODS if (text := visit.typed(name))}


# -- a run --------------------------------------------------------------------------------------


@routes.deed("/item/{item}/bottling/begin", "begin_bottling")
def begun(visit: Visit) -> Response:
    """Begin to fill a lot of a size from a vat, beside another size where one is named."""
    from pourbook.actions.bottling_run import Begun

    vat = visit.item("batch")
    size = visit.style.amount(visit.needed("size", visit.gettext("Size of a bottle")), "ml")
    answer = visit.book.begin_bottling(visit.how, vat, Begun(size, _about(visit), visit.typed("beside")))
    return visit.to(f"/item/{answer.lot}/bottling", visit.gettext("The run has begun."))


@routes.deed("/item/{item}/bottling/add", "add_to_bottling")
def added(visit: Visit) -> Response:
    """Add what was counted, lost on the line, or taken of dry goods since."""
    from pourbook.actions.bottling_run import Added

    lot, style = visit.item("lot"), visit.style
    counted = Tally(**{name: counted_in(visit, name) for name in Tally._fields if visit.typed(name)})
    kept = {name: text for name in ("place", "until", "witness") if (text := visit.typed(name))}
    loss, kind, purge, back = (visit.typed(name) for name in ("loss", "loss_kind", "purge", "purge_back"))
    if back and not purge:
        raise Malformed("what went back belongs to a purge", "write how much was purged, too")
    losses = [(kind, style.amount(loss))] if loss else []
    purged = (style.amount(purge), style.amount(back) if back else None) if purge else None
    done = visit.book.add_to_bottling(visit.how, lot, Added(counted, kept, losses, purged, _goods(visit)))
    return visit.to(f"/item/{lot}/bottling", visit.gettext("Added to the run."), recorded=done.recorded)


@routes.deed("/item/{item}/bottling/fills", "measure_fills")
def fills(visit: Visit) -> Response:
    """Record what bottles hold, each by itself."""
    from pourbook.actions.bottling_run import Measured

    lot, style = visit.item("lot"), visit.style
    readings = tuple(_readings(visit.needed("readings", visit.gettext("Readings"))))
    tare = visit.typed("tare")
    celsius = style.celsius(visit.typed("temperature") or None)
    visit.book.measure_fills(visit.how, lot, Measured(readings, style.amount(tare, "g") if tare else None, celsius))
    said = visit.ngettext("{count} bottle is measured.", "{count} bottles are measured.", len(readings))
    return visit.to(f"/item/{lot}/bottling", said.format(count=len(readings)))


def _readings(text: str) -> list[str]:
    """Readings one to a line, or parted by blanks or semicolons; a unit stays with its figure."""
    lines = [part.strip() for line in text.splitlines() for part in line.split(";")]
    return [one for line in lines if line for one in (line.split() if not any(map(str.isalpha, line)) else [line])]


@routes.deed("/item/{item}/bottling/change", "change_vat")
def changed(visit: Visit) -> Response:
    """Go on from another vat."""
    lot, vat = visit.item("lot"), visit.needed("vat", visit.gettext("The next vat"))
    done = visit.book.change_vat(visit.how, lot, vat, _rest(visit))
    said = visit.gettext("The run goes on from that vat.")
    return visit.to(f"/item/{lot}/bottling", said, recorded=done.recorded)


@routes.deed("/item/{item}/bottling/end", "end_bottling")
def ended(visit: Visit) -> Response:
    """End a run: pour what was filled, measure what is left."""
    lot = visit.item("lot")
    done = visit.book.end_bottling(visit.how, lot, _rest(visit))
    return visit.to(f"/item/{lot}/bottling", visit.gettext("The run has ended."), recorded=done.recorded)


def _rest(visit: Visit) -> "Rest":
    from pourbook.actions.bottling_run import Rest

    style, left, empties = visit.style, visit.typed("left"), bool(visit.typed("empties"))
    if left and empties:
        raise Malformed("the vat is said to be empty, and to have something left", "say one of them")
    celsius = style.celsius(visit.typed("temperature") or None)
    return Rest(style.amount(left, allow_zero=True) if left else None, celsius, empties, visit.typed("kind"))


@routes.deed("/item/{item}/run-sheet", "print_run_sheet")
def run_sheet(visit: Visit) -> Response:
    """The sheet of a run, as PDF."""
    return printed_file(visit, visit.book.print_run_sheet(visit.how, visit.item("lot")))
