"""Numbers of what leaves the house, and cases put on pallets by scan."""

from starlette.responses import Response

from pourbook.actions.packing import InPacking, PackingByScan, Put
from pourbook.errors import OutOfRange
from pourbook.queries.bottling.packed import pallet
from pourbook.station.jobs import owner_of
from pourbook.station.pages.plan_form import counted_in
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()

_TASK = "stacking"
_OUTCOME = {"good": "good", "repeated": "repeat", "wrong": "bad"}


@routes.deed("/item/{item}/gtin", "set_gtin")
def gtin(visit: Visit) -> Response:
    """The GTIN of its bottles, and of a case of them."""
    from pourbook.actions.trade_numbers import Gtins

    lot = visit.item("lot")
    given = {name: text for name in Gtins._fields if (text := visit.typed(name))}
    visit.book.set_gtin(visit.how, lot, Gtins(**given))
    return visit.to(f"/item/{lot}/bottling", visit.gettext("The GTIN is kept."))


@routes.deed("/item/{item}/cases", "number_cases")
def cases(visit: Visit) -> Response:
    """A serial number for each case."""
    lot, (count, each) = visit.item("lot"), _counts(visit, (("count", 10_000), ("bottles", 1_000)))
    visit.book.number_cases(visit.how, lot, count, each)
    return visit.to(f"/item/{lot}/bottling", visit.gettext("The cases are numbered; print their labels."))


@routes.deed("/item/{item}/pallets", "number_pallets")
def pallets(visit: Visit) -> Response:
    """A serial number for each pallet."""
    lot = visit.item("lot")
    count, on_each, each = _counts(visit, (("count", 1_000), ("cases", 10_000), ("bottles", 1_000)))
    visit.book.number_pallets(visit.how, lot, count, on_each, each)
    return visit.to(f"/item/{lot}/bottling", visit.gettext("The pallets are numbered; print their labels."))


def _counts(visit: Visit, wanted: tuple[tuple[str, int], ...]) -> list[int]:
    found = [counted_in(visit, name) for name, _ in wanted]
    for count, (name, most) in zip(found, wanted, strict=True):
        if not 1 <= count <= most:
            raise OutOfRange(f"{name} must be 1 to {most}, not {count}", "number them in several steps")
    return found


# -- by scan ----------------------------------------------------------------------------------


@routes.page("/stacking")
def stacking(visit: Visit) -> Response:
    """A pallet, its cases, the next pallet."""
    return visit.page("bottling/stacking.html", put=_put_before(visit), outcome="", words="")


@routes.deed("/stacking/scan", "stack")
def scanned(visit: Visit) -> Response:
    """One line of packing: a pallet, a case, or `undo`."""
    line = visit.typed("scan")
    packing = PackingByScan(visit.book, visit.how, _in_hand(visit))
    put = packing.scan(line, confirm=bool(visit.typed("confirm")))
    visit.book.beside.keep_in_hand(owner_of(visit), _TASK, put.in_hand._asdict())
    outcome, words = _said(visit, put, line)
    shown = put if put.pallet else _put_before(visit)._replace(refused=put.refused)
    if not visit.is_partial:
        return visit.page("bottling/stacking.html", put=shown, outcome=outcome, words=words)
    return visit.fragment("bottling/stacking_task.html", put=shown, outcome=outcome, words=words, is_partial=True)


def _in_hand(visit: Visit) -> InPacking:
    kept = visit.book.beside.in_hand(owner_of(visit), _TASK)
    return InPacking(**kept) if kept else InPacking()


def _put_before(visit: Visit) -> Put:
    """The pallet in hand, as it stands."""
    hand = _in_hand(visit)
    unit = pallet(visit.book, hand.pallet) if hand.pallet else None
    return Put(hand) if unit is None else Put(hand, pallet=unit.unit, on_it=tuple(case.sscc for case in unit.cases))


def _said(visit: Visit, put: Put, line: str) -> tuple[str, str]:
    if put.refused:
        return _OUTCOME.get(put.signal, "bad"), f"{put.refused.message}; {put.refused.remedy}"
    if put.undone:
        return "good", visit.gettext("Taken back from the pallet.")
    if put.pallet and line not in put.on_it and put.signal != "good":
        return "good", visit.gettext("Pallet {sscc}: {cases} cases stand on it.").format(
            sscc=put.pallet.sscc, cases=len(put.on_it)
        )
    if put.pallet:
        return "good", visit.gettext("On the pallet: {cases} cases.").format(cases=len(put.on_it))
    return "bad", visit.gettext("Scan a pallet first.")
