"""Batches and bottle lots: those at work first, then all of them, page by page."""

from starlette.responses import Response

from pourbook.codes.identifiers import kind_of, read_or_none
from pourbook.errors import Malformed
from pourbook.queries.items.batches_listed import batches_at_work, batches_listed
from pourbook.station.asked import NotFound
from pourbook.station.jobs import jobs_of
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()


@routes.page("/batches")
def batches(visit: Visit) -> Response:
    """What is at work, and what can be begun."""
    return visit.page("batches/at_work.html", lines=batches_at_work(visit.book), jobs=jobs_of(visit))


@routes.page("/batches/{kind}")
def all_batches(visit: Visit) -> Response:
    """All batches or lots, the latest first."""
    kind, below = visit.path["kind"], read_or_none(visit.query.get("below", "")) or ""
    if kind not in ("batch", "lot") or (below and kind_of(below) != kind):
        raise NotFound(visit.gettext("batches and lots are listed here, and nothing else"))
    return visit.page("batches/all.html", kind=kind, page=batches_listed(visit.book, kind, below), below=below)


@routes.deed("/batches/open", "open_batch")
def opened(visit: Visit) -> Response:
    """A body of spirit outside casks that has no plan."""
    facts = {name: text for name in ("ref", "name", "place", "follows") if (text := visit.typed(name))}
    answer = visit.book.open_batch(visit.how, facts)
    return visit.to(f"/item/{answer.item.id}/plan", visit.gettext("The batch is open."))


@routes.deed("/item/{item}/dump", "dump")
def dumped(visit: Visit) -> Response:
    """Whole casks into a batch, with what the vat measured of all of them where it did."""
    from pourbook.actions.vats import VatReading

    batch, style, read = visit.item("batch"), visit.style, None
    casks = [text for line in visit.needed("casks", visit.gettext("Casks")).splitlines() if (text := line.strip())]
    total, strength, celsius = (visit.typed(name) for name in ("total", "strength", "temperature"))
    if total:
        read = VatReading(
            style.amount(total), style.strength(strength) if strength else None, style.celsius(celsius or None)
        )
    elif strength or celsius:
        raise Malformed("a strength or a temperature without the vat's total", "write the total, or gauge the batch")
    visit.book.dump(visit.how, batch, casks, read)
    return visit.to(f"/item/{batch}/plan", visit.gettext("The casks are dumped into it."))
