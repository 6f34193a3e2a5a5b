"""Pour a trial at the bench: a task that takes scans, amounts and a balance, and shows target and actual side by side.

`poured` and `pour_page` take a `PourTask`, so that a batch is pulled by the same page.
"""

from typing import TYPE_CHECKING, NamedTuple

from starlette.responses import Response

from pourbook.actions.line_scanned import met
from pourbook.errors import PourbookError
from pourbook.station.pages.pour_line import Line, line_of
from pourbook.station.pages.pour_state import DEEDS, PourTask, keep, let_go, state_of
from pourbook.station.pages.pour_view import Water, shown_of, water_to
from pourbook.station.pages.printed import printed_file
from pourbook.station.people import browser
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from pourbook.actions.line_scanned import Scanned
    from pourbook.station.pages.pour_state import PourState

__all__ = ["TRIAL", "pour_page", "poured", "routes"]

routes = Routes()

TRIAL = PourTask("pour", "trial")


@routes.page("/item/{item}/pour")
def pour_trial(visit: Visit) -> Response:
    """The plan of a trial beside what is in the glass, and the component in hand."""
    return pour_page(visit, TRIAL)


@routes.deed("/item/{item}/pour", *DEEDS)
def trial_poured(visit: Visit) -> Response:
    """A scan, an amount or a word."""
    return poured(visit, TRIAL)


@routes.deed("/item/{item}/sheet", "print_sheet")
def sheet(visit: Visit) -> Response:
    """The bench sheet of a trial, or the pull list of a batch; that it was printed is recorded."""
    return printed_file(visit, visit.book.print_sheet(visit.how, visit.item("trial", "batch")))


def pour_page(visit: Visit, task: PourTask) -> Response:
    """The page of a task as it stands."""
    item = visit.item(task.kind)
    state = state_of(visit, task, item)
    return visit.page("pouring/pour.html", **shown_of(visit, task, item, state))


def poured(visit: Visit, task: PourTask) -> Response:
    """Take what was scanned or typed, and show what came of it; a refusal changes nothing."""
    item = visit.item(task.kind)
    state = state_of(visit, task, item)
    try:
        line = line_of(visit, item, state)
        nosing = water_to(visit, item, line.nosing) if line.nosing else None
        session = state.typed(visit).session(visit, item, is_loss=line.is_loss)
    except PourbookError as refusal:
        return _answer(visit, task, item, state, _Heard(Line("refused"), refusal=refusal))
    if line.what == "badge":
        return _other_hands(visit, line.text, f"/item/{item}/{task.name}")
    if line.way:
        state = keep(visit, task, item, state.weighed(line.way, visit.typed("scales")))
    if line.way or not line.text:
        return _answer(visit, task, item, state, _Heard(line), nosing)
    state, scanned = state.typed(visit), session.scan(line.text)
    if scanned.done:
        let_go(visit, task, item)
    else:
        state = keep(visit, task, item, state.after(scanned.in_hand))
    return _answer(visit, task, item, state, _Heard(line, scanned, scanned.refused))


def _other_hands(visit: Visit, badge: str, address: str) -> Response:
    """Somebody else's badge: with accounts the PIN is asked for, without them whoever wears it is at work."""
    name = visit.book.show(badge).facts.get("ref", badge)
    if visit.person.has_account and badge != visit.person.id:
        told = visit.gettext("{name}: enter the PIN").format(name=name)
        return visit.to(f"/sign-in?name={badge}&next={address}", told)
    if not visit.person.has_account:
        visit.book.beside.keep_in_hand(browser(visit.person.token), "at work", {"id": badge, "name": name})
    return visit.to(address, visit.gettext("At work: {name}").format(name=name))


class _Heard(NamedTuple):
    """What came of a line, for the live region: what it was, the answer, and why nothing was recorded."""

    line: Line
    answer: "Scanned | None" = None
    refusal: PourbookError | None = None

    @property
    def outcome(self) -> str:
        """How it is met: good, bad or repeat."""
        if self.refusal:
            return "repeat" if met(self.refusal) == "repeated" else "bad"
        is_repeat = self.line.what == "itself" or (self.answer and self.answer.in_hand.asked)
        return "repeat" if is_repeat else "bad" if self._is_beyond else "good"

    @property
    def _is_beyond(self) -> bool:
        """Whether more was poured than planned: it is recorded, but nobody should miss it."""
        poured = self.answer.beside_plan if self.answer and self.answer.recorded and self.line.what == "amount" else ()
        return any((one.wanted_ml and one.over_ml) or one.stands == "above" for one in poured)


def _answer(
    visit: Visit, task: PourTask, item: str, state: "PourState", heard: _Heard, nosing: Water | None = None
) -> Response:  # fmt: skip
    values = shown_of(visit, task, item, state, heard.answer)
    values |= {"heard": heard, "nosing": nosing or values["nosing"]}
    if visit.is_partial:
        return visit.fragment("pouring/answer.html", **values)
    words = visit.rendered("pouring/heard.html", **values)
    there = f"/item/{item}" if heard.answer and heard.answer.done else f"/item/{item}/{task.name}"
    return visit.to(there, " ".join(words.split()), heard.outcome)
