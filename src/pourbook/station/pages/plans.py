"""Plans of batches: asked in a form, sought as a job, shown with their proof, and the batch that is opened with one."""

from typing import TYPE_CHECKING

from starlette.responses import Response

from pourbook.actions.roles import ALL_ROLES
from pourbook.codes.identifiers import kind_of, read_or_none, readable
from pourbook.errors import Refused
from pourbook.queries.items.batches_listed import batch_line
from pourbook.station.jobs import Job, JobPage, start
from pourbook.station.pages.jobs import own_job
from pourbook.station.pages.plan_form import MOST_SECONDS, asked_in, blend_in, seconds_in
from pourbook.station.pages.plan_shown import plan_shown, sure_shown
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from pourbook.station.pages.plan_work import PlanFound
    from pourbook.whole_book import Book

__all__ = ["replanning", "routes"]

routes = Routes()

_MOST_RECIPES = 200


@routes.page("/plans/new")
def new_plan(visit: Visit) -> Response:
    """The form: the usual demands first."""
    recipes = visit.book.recipes()[-_MOST_RECIPES:]
    return visit.page(
        "plans/new.html", what=visit.query.get("what", ""), recipes=recipes, most_seconds=MOST_SECONDS
    )  # fmt: skip


@routes.deed("/plans/new", roles=ALL_ROLES, changes=False)
def asked(visit: Visit) -> Response:
    """Seek a plan; what cannot be asked is said in the form."""
    from pourbook.station.pages.plan_work import Beside, check_asked, found_plan

    blend, wanted, seconds = blend_in(visit), asked_in(visit), seconds_in(visit)
    beside = Beside(bool(visit.typed("how_sure")), bool(visit.typed("others")))
    check_asked(visit.book, blend, wanted)
    title = visit.gettext("Plan of {blend}").format(blend=readable(read_or_none(blend) or blend))

    def work(book: "Book", job: Job) -> "PlanFound":
        return found_plan(book, job, blend, wanted, seconds, beside)

    job = start(visit, title, JobPage("plans/found.html", "/plans/new", plan_shown), work)
    return visit.to(f"/job/{job.key}")


def _plan_in(visit: Visit) -> "tuple[Job, PlanFound]":
    from pourbook.station.pages.plan_work import LikeFound, PlanFound

    job = own_job(visit)
    found = job.found.found if isinstance(job.found, LikeFound) else job.found
    if not isinstance(found, PlanFound):
        raise Refused(visit.gettext("this is no plan of a batch"), visit.gettext("plan one first"))
    return job, found


@routes.deed("/job/{job}/open", "plan_and_open")
def opened(visit: Visit) -> Response:
    """Open the batch with the plan; nothing is poured by it."""
    from pourbook.actions.planning import open_plan

    _, found = _plan_in(visit)
    facts = {name: text for name in ("ref", "name") if (text := visit.typed(name))}
    batch = open_plan(visit.book, visit.how, found.planned, facts).batch
    return visit.to(f"/item/{batch}/pull", visit.gettext("The batch is open; nothing is poured yet."))


@routes.deed("/job/{job}/others", roles=ALL_ROLES, changes=False)
def others(visit: Visit) -> Response:
    """The next best plans beside the one found."""
    from pourbook.station.pages.plan_work import found_others

    job, found = _plan_in(visit)
    title = visit.gettext("{title}, beside others").format(title=job.title)
    beside = start(
        visit, title, JobPage("plans/found.html", job.again, plan_shown), lambda _book, _job: found_others(found)
    )
    return visit.to(f"/job/{beside.key}")


@routes.deed("/job/{job}/instead", roles=ALL_ROLES, changes=False)
def instead(visit: Visit) -> Response:
    """Casks like one of the plan that is missing."""
    from pourbook.station.pages.plan_work import found_like

    job, found = _plan_in(visit)
    missing = visit.book.find(visit.needed("missing", visit.gettext("Missing cask")))
    title = visit.gettext("{title}, without {cask}").format(title=job.title, cask=readable(missing))
    like = start(visit, title, JobPage("plans/like.html", job.again), lambda _book, _job: found_like(found, missing))
    return visit.to(f"/job/{like.key}")


# -- a batch with its plan ------------------------------------------------------------------


@routes.page("/item/{item}/plan")
def of_batch(visit: Visit) -> Response:
    """The plan of a batch, beside what was poured."""
    from pourbook.queries.trials.pull_guard import has_plan
    from pourbook.queries.trials.targets import targets
    from pourbook.queries.trials.to_come import to_come

    batch = visit.item("batch", "trial", "lot")
    if kind_of(batch) != "batch":
        return visit.to(f"/plans/new?what={batch}")
    line, beside = batch_line(visit.book, batch), targets(visit.book, batch)
    known = line.view.facts
    proved = {name: float(known[name]) for name in ("plan_objective", "plan_bound") if known.get(name)}
    return visit.page(
        "plans/batch.html", line=line, view=line.view, beside=beside, has_plan=has_plan(visit.book, batch),
        proved=proved, coming=to_come(visit.book, batch, beside) if beside else None, readable=readable,
    )  # fmt: skip


@routes.deed("/item/{item}/replan", roles=ALL_ROLES, changes=False)
def again(visit: Visit) -> Response:
    """Seek a new plan for the casks that are still closed."""
    return replanning(visit, visit.item("batch"))


def replanning(visit: Visit, batch: str) -> Response:
    """On to the page of a new plan that is sought from now on.

    Raises:
        Refused: the batch does not say what its plan was asked.
    """
    from pourbook.station.pages.plan_work import found_again

    visit.book.recipe_of_batch(batch)
    title = visit.gettext("New plan of {batch}").format(batch=readable(batch))
    shown = JobPage("plans/again.html", f"/item/{batch}/plan")
    job = start(visit, title, shown, lambda book, job: found_again(book, job, batch))
    return visit.to(f"/job/{job.key}")


@routes.deed("/job/{job}/keep", "keep_new_plan")
def kept(visit: Visit) -> Response:
    """The batch gets its new plan; what was poured stays."""
    from pourbook.queries.plans.again import PlannedAgain

    found = own_job(visit).found
    if not isinstance(found, PlannedAgain):
        raise Refused(visit.gettext("this is no new plan of a batch"), visit.gettext("plan again first"))
    visit.book.keep_new_plan(visit.how, found)
    return visit.to(f"/item/{found.batch}/pull", visit.gettext("The new plan is kept."))


@routes.deed("/item/{item}/sure", roles=ALL_ROLES, changes=False)
def sure(visit: Visit) -> Response:
    """How sure what is left of a batch's plan is."""
    from pourbook.station.pages.plan_work import found_sure

    batch = visit.item("batch")
    title = visit.gettext("How sure the plan of {batch} is").format(batch=readable(batch))
    shown = JobPage("plans/sure_of_batch.html", f"/item/{batch}/plan", sure_shown)
    job = start(visit, title, shown, lambda book, _job: found_sure(book, batch))
    return visit.to(f"/job/{job.key}")
