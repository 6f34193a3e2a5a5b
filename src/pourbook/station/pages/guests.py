"""A guest joins by a link, and fills in a ballot: one glass at a time, looked back at until it is sent and sealed."""

from typing import TYPE_CHECKING, Any

from pourbook.book.ballots import Ballot, answered
from pourbook.errors import Malformed, Refused
from pourbook.queries.tastings.own_ballot import Gathering, OwnBallot, own_ballot
from pourbook.station.asked import GUEST, NotFound
from pourbook.station.glass_form import answers_of, glass_form
from pourbook.station.invitations import gathering_key, gathering_of, seat_of, take_seat
from pourbook.station.people import guest_cookie
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from starlette.responses import Response

__all__ = ["gathering_of_guest", "own_page", "routes"]

routes = Routes()
_DAYS = 2 * 24 * 3600
_DRAFT = "ballot"


# -- joining -------------------------------------------------------------------------------


@routes.page("/join/{token}", roles=None)
def join_page(visit: Visit) -> "Response":
    """Whose link it is, and the button that takes the seat."""
    found = seat_of(visit.book, visit.path["token"])
    if found is None:
        raise _nowhere(visit)
    gathering, seat = found
    return visit.page("guests/join.html", gathering=gathering, seat=seat, token=visit.path["token"])


@routes.deed("/join/{token}", roles=None, changes=False)
def joined(visit: Visit) -> "Response":
    """This phone takes the seat."""
    secret = take_seat(visit.book, visit.path["token"])
    if secret is None:
        raise _nowhere(visit)
    response = visit.to("/guest")
    response.set_cookie(
        guest_cookie(visit.house), secret, max_age=_DAYS, path="/", httponly=True, samesite="lax",
        secure=visit.house.is_encrypted,
    )  # fmt: skip
    return response


def _nowhere(visit: Visit) -> NotFound:
    return NotFound(visit.gettext("this link leads nowhere any more"), visit.gettext("ask the host for a new one"))


# -- a guest's own page --------------------------------------------------------------------


def gathering_of_guest(visit: Visit) -> Gathering:
    """The session that the guest was invited to."""
    gathering = gathering_of(visit.book, visit.person.invited[0])
    if gathering is None or visit.person.invited[1] not in gathering.people:
        raise _nowhere(visit)
    return gathering


def own_page(visit: Visit, own: OwnBallot) -> "Response":
    """The ballot of an assessor as it stands, or what the glasses were."""
    from pourbook.words.session_words import CAUTION, brings_words

    draft = drafted(visit, own)
    left = [code for code in own.codes if code not in draft and code not in own.sent]
    return visit.page(
        "guests/ballot.html", own=own, drafted=draft, next=left[0] if left else "", caution=CAUTION,
        brings=brings_words(own.brings), stands="tasting" if own.is_open else "closed",
        places=[(str(place), str(place)) for place in range(1, len(own.codes) + 1)],
    )  # fmt: skip


# -- one glass after the other -------------------------------------------------------------


def _own(visit: Visit) -> OwnBallot:
    """The guest's ballot; of a blending session, in the tasting of its name.

    Raises:
        NotFound: the tasting was not opened yet.
    """
    from pourbook.errors import Unknown

    gathering = gathering_of_guest(visit)
    try:
        return own_ballot(visit.book, gathering.name, visit.person.invited[1])
    except Unknown as refusal:
        raise NotFound(refusal.message, refusal.remedy) from refusal


def _worker(own: OwnBallot) -> str:
    return f"{gathering_key(Gathering('session', own.number, own.session.name, ()))} {own.assessor}"


def drafted(visit: Visit, own: OwnBallot) -> dict[str, dict[str, str]]:
    """What was filled in and not sent yet, by code."""
    kept: dict[str, Any] = visit.book.beside.in_hand(_worker(own), _DRAFT) or {}
    return {code: answers for code, answers in kept.get("glasses", {}).items() if code not in own.sent}


def _keep(visit: Visit, own: OwnBallot, glasses: dict[str, dict[str, str]]) -> None:
    visit.book.beside.keep_in_hand(_worker(own), _DRAFT, {"glasses": glasses})


def _open_glass(visit: Visit) -> tuple[OwnBallot, str]:
    own, code = _own(visit), visit.path["code"]
    if code not in own.codes or own.picks:
        raise NotFound(visit.gettext("that is no glass of yours"), visit.gettext("look at the code on the glass"))
    return own, code


@routes.page("/guest/glass/{code}", roles=(GUEST,))
def glass_page(visit: Visit) -> "Response":
    """The form for one glass."""
    own, code = _open_glass(visit)
    if code in own.sent or not own.is_open:
        return visit.to("/guest", visit.gettext("Glass {code} was sent, and is sealed.").format(code=code), "repeat")
    answers = drafted(visit, own).get(code, {})
    return visit.page("guests/glass.html", own=own, code=code, form=glass_form(visit.book, answers))


@routes.deed("/guest/glass/{code}", roles=(GUEST,))
def glass_kept(visit: Visit) -> "Response":
    """Keep what was filled in, and go on to the next glass; it can be looked back at until it is sent."""
    own, code = _open_glass(visit)
    if code in own.sent or not own.is_open:
        raise Refused(visit.gettext("this glass was sent, and is sealed"), visit.gettext("go on with the next"))
    answers, draft = answers_of(visit.form), drafted(visit, own)
    answered(answers, visit.style.mark)
    if not answers:
        raise Malformed(visit.gettext("nothing was filled in"), visit.gettext("touch a word, or write a line"))
    if before := draft.get(code, {}).get("rank"):
        answers["rank"] = before
    draft[code] = answers
    _keep(visit, own, draft)
    left = [one for one in own.codes if one not in draft and one not in own.sent]
    return visit.to(f"/guest/glass/{left[0]}" if left else "/guest")


@routes.deed("/guest/send", roles=(GUEST,))
def sent(visit: Visit) -> "Response":
    """Send what was filled in: it is recorded, and sealed from then on."""
    own = _own(visit)
    glasses = _picked(visit, own) if own.picks else _ranked(visit, own)
    rows = [
        Ballot(place, own.assessor, code, glasses[code]) for place, code in enumerate(own.codes, 1) if code in glasses
    ]
    if not rows:
        raise Malformed(visit.gettext("nothing was filled in yet"), visit.gettext("begin with the first glass"))
    visit.book.take_ballots(visit.how._replace(who=own.assessor), own.session.name, rows)
    _keep(visit, own, {})
    return visit.to("/guest", visit.gettext("Sent and sealed. Thank you."))


def _ranked(visit: Visit, own: OwnBallot) -> dict[str, dict[str, str]]:
    """What was kept, with the places given on the last page."""
    draft = drafted(visit, own)
    places = {code: visit.typed(f"place.{code}") for code in draft}
    return {code: answers | ({"rank": places[code]} if places[code] else {}) for code, answers in draft.items()}


def _picked(visit: Visit, own: OwnBallot) -> dict[str, dict[str, str]]:
    """The glasses that answer a test."""
    picked = [code for code in own.codes if code in visit.forms.get("pick", ()) and code != own.reference]
    if len(picked) != own.picks:
        said = visit.ngettext("pick {count} glass", "pick {count} glasses", own.picks).format(count=own.picks)
        raise Malformed(said, visit.gettext("guess if you cannot tell: that is part of the test"))
    why = visit.typed("note")
    return {code: {"rank": "1"} | ({"note": why} if why else {}) for code in picked}
