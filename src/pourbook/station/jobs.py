"""Work that takes longer than a page may: done in a thread with a book of its own, looked at until it is done.

What it came to is kept in memory for whoever asked, a few of each person's and for an hour: who restarts the station
asks again, which costs nothing but time. A job reads; what is recorded afterwards is a deed like any other.
"""

import secrets
import threading
from collections.abc import Callable
from time import monotonic
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.errors import PourbookError

if TYPE_CHECKING:
    from pourbook.signing.ed25519 import Signer
    from pourbook.station.visit import Visit
    from pourbook.whole_book import Book

__all__ = ["At", "Job", "JobPage", "job_of", "jobs_of", "owner_of", "start"]

_MOST_EACH, _MOST, _MOST_AT_ONCE, _KEPT_S = 8, 64, 2, 3600.0
"""Jobs kept of one person and of all, those that work at the same time (others wait), and how long a result is kept."""


class At(NamedTuple):
    """Where a search is: the objective of the best plan so far (None: none yet), and the bound; no plan is below it."""

    best: float | None = None
    bound: float | None = None


class JobPage(NamedTuple):
    """How a job is shown: `template` and `again` as of `Job`; `shown` makes more values of what was found.

    `state` is the template of what is seen while it is at work.
    """

    template: str
    again: str
    shown: "Callable[[Visit, Any], dict[str, Any]] | None" = None
    state: str = "plans/state.html"


class Job:
    """One piece of long work.

    Attributes:
        key: in its address.
        owner: who may look at it.
        title: what it is, in the language of who asked.
        template: of what it comes to; gets it as `found`, and what `shown` makes of it.
        again: the address of the form that asks for another.
        state: the template of what is seen while it is at work.
        at: where a search is.
        doing: what other work is at, how much of that is done, and how much there is; None while nobody has said.
        found: what it came to; None before.
        refusal: why it came to nothing.
        is_done: nothing more will come.
        is_stopped: its owner has had enough; a search ends with the best so far.
    """

    def __init__(self, owner: str, title: str, asked: "JobPage") -> None:
        self.key, self.owner, self.title = secrets.token_urlsafe(9), owner, title
        self.template, self.again, self.shown, self.state = asked
        self.at, self.found, self.refusal = At(), None, None  # type: At, Any, PourbookError | None
        self.doing: tuple[str, int, int] | None = None
        self.is_done = self.is_stopped = self.is_waiting = False
        self._begun_s, self._ended_s = monotonic(), 0.0

    @property
    def seconds(self) -> float:
        """Since it was asked, or until it was done."""
        return (self._ended_s or monotonic()) - self._begun_s

    @property
    def is_old(self) -> bool:
        """Nobody will ask for it any more."""
        return self.is_done and monotonic() - self._ended_s > _KEPT_S

    def tell(self, _seconds: float, best: float | None, bound: float) -> bool:
        """What a planner calls now and then: True where it may stop."""
        self.at = At(best, bound)
        return self.is_stopped

    def hear(self, what: str, done: int, whole: int) -> None:
        """What verification and back-ups call now and then."""
        self.doing = what, done, whole

    def stop(self) -> None:
        """Enough."""
        self.is_stopped = True

    def end(self, found: Any = None, refusal: PourbookError | None = None) -> None:  # noqa: ANN401 (any result)
        """It is done."""
        self.found, self.refusal, self._ended_s = found, refusal, monotonic()
        self.is_done = True


_JOBS: dict[str, Job] = {}
_LOCK = threading.Lock()
_AT_WORK = threading.Semaphore(_MOST_AT_ONCE)


def owner_of(visit: "Visit") -> str:
    """By whom a job is kept: a person, or a browser where nobody signs in."""
    from pourbook.station.people import browser

    return visit.person.id if visit.person.has_account else browser(visit.person.token)


def start(visit: "Visit", title: str, asked: JobPage, work: "Callable[[Book, Job], Any]") -> Job:
    """Begin work; the oldest jobs of its owner are forgotten, and stopped if they are still at it."""
    job = Job(owner_of(visit), title, asked)
    with _LOCK:
        _forget([one for one in _JOBS.values() if one.is_old])
        _forget([one for one in _JOBS.values() if one.owner == job.owner][: 1 - _MOST_EACH])
        _forget([*_JOBS.values()][: 1 - _MOST])
        _JOBS[job.key] = job
    path = visit.book.path
    threading.Thread(
        target=_worked, args=(job, path, visit.book.signer, work), name=f"job {job.key}", daemon=True
    ).start()
    return job


def _forget(jobs: "list[Job]") -> None:
    """End those that are still at it, and keep nothing of them."""
    for old in jobs:
        old.stop()
        del _JOBS[old.key]


def job_of(visit: "Visit", key: str) -> Job | None:
    """The job of that address, if it is that of whoever asks."""
    job = _JOBS.get(key)
    return job if job and not job.is_old and job.owner == owner_of(visit) else None


def jobs_of(visit: "Visit") -> list[Job]:
    """The jobs of whoever asks, the latest first."""
    with _LOCK:
        return [one for one in reversed(_JOBS.values()) if one.owner == owner_of(visit) and not one.is_old]


def _worked(
    job: Job, path: str, signer: "Callable[[], Signer] | None", work: "Callable[[Book, Job], Any]"
) -> None:  # fmt: skip
    from pourbook.whole_book import Book

    job.is_waiting = not _AT_WORK.acquire(blocking=False)
    if job.is_waiting:
        _AT_WORK.acquire()
    job.is_waiting = False
    stumbled = PourbookError("the station stumbled over this; its log says where", "ask for less, or once more")
    try:
        if not job.is_stopped:
            with Book.open(path) as book:
                book.signer = signer
                job.end(work(book, job))
    except PourbookError as refusal:
        job.end(refusal=refusal)
    finally:  # whatever else rises goes to the log with its thread
        if not job.is_done:
            job.end(refusal=stumbled)
        _AT_WORK.release()
