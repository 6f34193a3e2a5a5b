"""Pull the casks of a batch by scan, in the order of a walk: the page of pouring, with the list and what is to come."""

from typing import Any

from starlette.responses import Response

from pourbook.codes.identifiers import readable
from pourbook.errors import PourbookError
from pourbook.paperwork.pull_list_of import pull_list_of
from pourbook.queries.trials.targets import targets
from pourbook.queries.trials.to_come import to_come
from pourbook.station.pages.plans import replanning
from pourbook.station.pages.pour_state import DEEDS, PourTask
from pourbook.station.pages.pouring import pour_page, poured
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()


def _more(visit: Visit, batch: str) -> dict[str, Any]:
    """The pull list as it stands, and every part as it will be."""
    beside = targets(visit.book, batch)
    try:
        rows = pull_list_of(visit.book, batch).rows if beside else ()
    except PourbookError:
        rows = ()  # it has no plan any more that could be laid out: pouring goes on
    return {"pulls": rows, "coming": to_come(visit.book, batch, beside) if beside else None, "readable": readable}


PULL = PourTask("pull", "batch", "plans/pull.html", _more)


@routes.page("/item/{item}/pull")
def pull(visit: Visit) -> Response:
    """The plan of a batch beside what is in the vat, and the cask in hand."""
    return pour_page(visit, PULL)


@routes.deed("/item/{item}/pull", *DEEDS)
def pulled(visit: Visit) -> Response:
    """A scan, an amount or a word; a new plan is sought and kept on pages of its own, by those who may."""
    batch, words = visit.item("batch"), {visit.typed(name).lower() for name in ("line", "scan")}
    if "replan" in words:
        return replanning(visit, batch)
    if "accept" in words:
        told = visit.gettext("A new plan is kept from its own page.")
        return visit.to(f"/item/{batch}/plan", told, "bad")
    return poured(visit, PULL)
