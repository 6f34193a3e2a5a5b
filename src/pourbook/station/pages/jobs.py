"""Long work, looked at by whoever asked for it: where it is, an end before its time, what it came to."""

from starlette.responses import Response

from pourbook.actions.roles import ALL_ROLES
from pourbook.station.asked import NotFound
from pourbook.station.jobs import Job, job_of
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

__all__ = ["own_job", "routes"]

routes = Routes()


def own_job(visit: Visit) -> Job:
    """The job in the address.

    Raises:
        NotFound: it is forgotten, or another's.
    """
    job = job_of(visit, visit.path["job"])
    if job is None:
        gone = visit.gettext("this is no longer kept, or was asked by somebody else")
        raise NotFound(gone, visit.gettext("ask again"))
    return job


@routes.page("/job/{job}")
def looked_at(visit: Visit) -> Response:
    """Where it is, or what it came to."""
    job = own_job(visit)
    is_done = job.is_done  # asked once: it may be done while the page is made
    more = job.shown(visit, job.found) if job.shown and job.found is not None else {}
    return visit.page("plans/job.html", job=job, is_done=is_done, found=job.found, **more)


@routes.page("/job/{job}/state", polls=True)
def state(visit: Visit) -> Response:
    """What the page asks every second, until it is done."""
    job = own_job(visit)
    return visit.to(f"/job/{job.key}") if job.is_done else visit.fragment(job.state, job=job)


@routes.deed("/job/{job}/stop", roles=ALL_ROLES, changes=False)
def stopped(visit: Visit) -> Response:
    """Enough: a search answers with the best so far."""
    job = own_job(visit)
    job.stop()
    return visit.to(f"/job/{job.key}")
