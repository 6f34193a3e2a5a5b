"""What leaves the house and what comes back: despatches, returns."""

from starlette.responses import Response

from pourbook.codes.gs1 import checked_sscc
from pourbook.codes.identifiers import kind_of
from pourbook.codes.scans import parse
from pourbook.numerals import counted
from pourbook.queries.bottling.packed import bottles_out
from pourbook.queries.items.batches_listed import batch_line
from pourbook.station.pages.plan_form import counted_in
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()

_PAPERS = ("address", "contact", "purpose", "document", "carrier")


@routes.page("/item/{item}/despatch")
def leaving(visit: Visit) -> Response:
    """Who has bottles of it, and forms for what leaves and what comes back."""
    item = visit.item("lot", "batch", "vial", "cask")
    is_lot = kind_of(item) == "lot"
    line = batch_line(visit.book, item) if kind_of(item) in ("lot", "batch") else None
    out = bottles_out(visit.book, item) if is_lot else {}
    wants_approval = visit.book.settings["approval"] != "no"
    between_sites = bool(visit.book.settings["site"]) and not is_lot
    return visit.page(
        "batches/despatch.html", view=visit.book.show(item), line=line, out=out, is_lot=is_lot,
        wants_approval=wants_approval, between_sites=between_sites,
    )  # fmt: skip


@routes.deed("/item/{item}/despatch", "despatch")
def despatched(visit: Visit) -> Response:
    """Send bottles of a lot, spirit in bulk or a sample to a customer, or to another site."""
    from pourbook.actions.leaving import Leaving

    item, style = visit.item("lot", "batch", "vial", "cask"), visit.style
    text = visit.needed("amount", visit.gettext("How much"))
    if kind_of(item) == "lot" and text.isascii() and text.isdecimal() and len(text) < 10:
        text = counted(int(text), "bottle")
    what = Leaving(style.amount_or_all(text), None, style.celsius(visit.typed("temperature") or None))
    customer = visit.typed("customer")
    if not visit.typed("site"):
        customer = visit.needed("customer", visit.gettext("Customer"))
    facts = _facts(visit, *_PAPERS, "site") | ({"disposition": "export"} if visit.typed("export") else {})
    visit.book.despatch(visit.how, item, what, customer, facts)
    return visit.to(f"/item/{item}/despatch", visit.gettext("The despatch is recorded."))


@routes.deed("/item/{item}/return", "take_back")
def returned(visit: Visit) -> Response:
    """Take bottles of a lot back from a customer."""
    lot, count = visit.item("lot"), counted_in(visit, "count")
    customer = visit.needed("customer", visit.gettext("Customer"))
    visit.book.take_back(visit.how, lot, count, customer, _facts(visit, "document", "place"))
    return visit.to(f"/item/{lot}/despatch", visit.gettext("The return is recorded."))


def _facts(visit: Visit, *names: str) -> dict[str, str]:
    """What papers say, and serial numbers of cases and pallets, typed or scanned, one to a line."""
    found = {name: text for name in names if (text := visit.typed(name))}
    units = [parse(text).sscc or checked_sscc(text) for text in visit.typed("units").split()]
    return found | ({"units": " ".join(units)} if units else {})
