"""How many more batches the casks of the house can give, year by year, and what runs out first."""

from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from pourbook.actions.roles import ALL_ROLES
from pourbook.codes.identifiers import read_or_none, readable
from pourbook.errors import Malformed, OutOfRange
from pourbook.station.jobs import Job, JobPage, start
from pourbook.station.pages.plan_form import asked_in, blend_in, counted_in
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from pourbook.queries.plans.ahead import BatchesAhead
    from pourbook.whole_book import Book

__all__ = ["routes"]

routes = Routes()

_MOST_RECIPES = 200


@routes.page("/ahead")
def form(visit: Visit) -> Response:
    """What to look ahead for."""
    recipes = visit.book.recipes()[-_MOST_RECIPES:]
    return visit.page("plans/ahead_form.html", recipes=recipes, what=visit.query.get("what", ""))


@routes.deed("/ahead", roles=ALL_ROLES, changes=False)
def asked(visit: Visit) -> Response:
    """Look ahead, as a job: ten years of whole casks take their time."""
    from pourbook.queries.plans.ahead import AheadAsked
    from pourbook.station.pages.plan_work import check_asked

    blend, batch, order, by = blend_in(visit), asked_in(visit), visit.typed("first") or "oldest", visit.typed("by")
    if order not in ("oldest", "leaving") or by not in ("", "litres", "casks"):
        raise Malformed("the order or the way of counting is not one of those offered", "choose one of the list")
    years, batches = (counted_in(visit, name) if visit.typed(name) else 0 for name in ("years", "batches"))
    years, batches = years or 10, batches or 1
    if not (1 <= years <= 30 and 1 <= batches <= 1000):
        raise OutOfRange(f"cannot look ahead {years} years with {batches} batches in each", "give 1 to 30 years")
    check_asked(visit.book, blend, batch)
    wanted = AheadAsked(years, batches, order, by or None)  # type: ignore[arg-type]

    def work(book: "Book", _job: Job) -> "BatchesAhead":
        return book.ahead(blend, batch, wanted)

    title = visit.gettext("Ahead: {blend}").format(blend=readable(read_or_none(blend) or blend))
    page = JobPage("plans/ahead.html", "/ahead", lambda visit, found: _shown(visit, found, order))
    job = start(visit, title, page, work)
    return visit.to(f"/job/{job.key}")


def _shown(visit: Visit, found: "BatchesAhead", order: str) -> dict[str, Any]:
    from math import isfinite

    from pourbook.documents.ahead import ahead_notes, ahead_verdict

    years = list(zip(found.days, found.ahead.years, strict=True))
    enough = {
        name: [one if isfinite(one := year.components[name].batches) else None for _, year in years]
        for name in found.asked.recipe.components
    }
    return {
        "years": years, "enough": enough, "verdict": list(ahead_verdict(found, visit.style)), "readable": readable,
        "notes": list(ahead_notes(found, visit.style, order)), "target": found.asked.recipe.target,
    }  # fmt: skip
