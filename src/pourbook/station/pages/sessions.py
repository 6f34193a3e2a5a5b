"""A blind session as its host sees it: planned, opened, printed, poured, followed without values, closed, reported."""

from typing import TYPE_CHECKING, Any

from pourbook.actions.roles import roles_of
from pourbook.actions.tasting_session import Asked
from pourbook.bench.serving import TESTS
from pourbook.book.ballots import answered
from pourbook.book.entries import PURPOSES
from pourbook.book.sessions import sessions as all_sessions
from pourbook.codes.identifiers import LIQUID_KINDS
from pourbook.errors import Malformed, PourbookError, Refused, ToConfirm
from pourbook.queries.items.called import at_sight
from pourbook.queries.items.what_was_scanned import what_was_scanned
from pourbook.queries.tastings.own_ballot import Gathering, ballots_in, gathering_named
from pourbook.queries.tastings.session_plan import Wish
from pourbook.station.asked import NotFound
from pourbook.station.glass_form import answers_of, glass_form
from pourbook.station.invitations import free_seat, gathering_key, qr_symbol, seats
from pourbook.station.pages.printed import printed_file
from pourbook.station.people import hands_of
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from starlette.responses import Response

__all__ = ["HOSTS", "gathering_asked", "links_page", "routes"]

routes = Routes()
HOSTS = roles_of("open_session")
_PLAN = "plan session"
_LISTED = 200


def gathering_asked(visit: Visit, kind: Any = "session") -> Gathering:  # noqa: ANN401 (one of two words)
    """The session in the address, by number or name.

    Raises:
        NotFound: there is none.
    """
    found = gathering_named(visit.book, kind, visit.path[kind])
    if found is None:
        raise NotFound(visit.gettext("there is no such session"), visit.gettext("see the list of sessions"))
    return found


@routes.page("/sessions")
def sessions(visit: Visit) -> "Response":
    """Every session, those that are open first, the latest first."""
    found = sorted(all_sessions(visit.book.store), key=lambda one: (not one.is_open, -one.entry.number))
    return visit.page("sessions/list.html", sessions=found[:_LISTED], more=max(len(found) - _LISTED, 0))


# -- planned and opened --------------------------------------------------------------------


@routes.page("/sessions/new")
def new(visit: Visit) -> "Response":
    """The form for a session."""
    return visit.page("sessions/new.html", tests=list(TESTS), purposes=PURPOSES[:3], **_planned(visit))


def _draft(visit: Visit) -> dict[str, list[str]]:
    kept = visit.book.beside.in_hand(hands_of(visit.person), _PLAN) or {}
    return {"glasses": list(kept.get("glasses", ())), "assessors": list(kept.get("assessors", ()))}


def _planned(visit: Visit) -> dict[str, Any]:
    from pourbook.book.sessions import called_assessor
    from pourbook.queries.items.called import called

    draft, store = _draft(visit), visit.book.store
    return {
        "glasses": draft["glasses"],
        "called": called(store, draft["glasses"]),
        "assessors": [(one, called_assessor(store, one)) for one in draft["assessors"]],
    }


def _drafted(visit: Visit, draft: dict[str, list[str]], outcome: str, said: str) -> "Response":
    visit.book.beside.keep_in_hand(hands_of(visit.person), _PLAN, draft)
    return visit.fragment("sessions/planned.html", outcome=outcome, said=said, **_planned(visit))


@routes.deed("/sessions/new/scan", roles=HOSTS, changes=False)
def scanned(visit: Visit) -> "Response":
    """A glass, or somebody who tastes, is added to what is planned; a name that is no item is somebody's."""
    from pourbook.book.sessions import called_assessor

    draft, text = _draft(visit), visit.needed("scan", visit.gettext("Glass or name"))
    try:
        item = what_was_scanned(text, visit.book).item
    except PourbookError as refusal:
        if visit.typed("as") != "name":
            return _drafted(visit, draft, "bad", refusal.message)
        item = None
    if item and item.kind in LIQUID_KINDS and visit.typed("as") != "name":
        if item.id in draft["glasses"]:
            return _drafted(visit, draft, "repeat", visit.gettext("It stands there; “twice” offers it twice."))
        draft["glasses"].append(item.id)
        return _drafted(visit, draft, "good", at_sight(item.id, item.ref))
    who = item.id if item and item.kind == "person" else " ".join(text.split())
    if item and item.kind != "person" and visit.typed("as") != "name":
        return _drafted(visit, draft, "bad", visit.gettext("That is nothing to taste, and nobody."))
    if who in draft["assessors"]:
        return _drafted(visit, draft, "repeat", visit.gettext("Tastes already."))
    draft["assessors"].append(who)
    return _drafted(visit, draft, "good", called_assessor(visit.book.store, who))


@routes.deed("/sessions/new/change", roles=HOSTS, changes=False)
def changed(visit: Visit) -> "Response":
    """One line of what is planned is dropped, or a glass is offered twice."""
    draft = _draft(visit)
    what, _, place = visit.typed("line").partition(" ")
    rows = draft.get({"twice": "glasses"}.get(what, what))
    if rows is None or not place.isdecimal() or len(place) > 4 or int(place) >= len(rows):
        raise Malformed(visit.gettext("that line is gone"), visit.gettext("load the page again"))
    if what == "twice":
        rows.append(rows[int(place)])
    else:
        del rows[int(place)]
    return _drafted(visit, draft, "good", visit.gettext("Changed."))


def _wish(visit: Visit) -> Wish:
    style, draft = visit.style, _draft(visit)
    strength = visit.typed("strength")
    return Wish(
        tuple(visit.forms.get("glass") or draft["glasses"]), tuple(visit.forms.get("assessor") or draft["assessors"]),
        style.amount(visit.typed("amount") or "15 ml"), style.strength(strength) if strength else None,
        visit.typed("test"), bool(visit.typed("swallowed")),
    )  # fmt: skip


@routes.deed("/sessions/new/plan", roles=HOSTS, changes=False)
def plan(visit: Visit) -> "Response":
    """What it takes and offers; nothing is recorded."""
    from pourbook.words.session_words import alcohol_words, brings_words, shows_words

    found, style = visit.book.session_plan(_wish(visit)), visit.style
    return visit.fragment(
        "sessions/plan.html", plan=found, brings=brings_words(found.brings),
        offered=alcohol_words(found.alcohol_mg, style.settings["standard_drink"], style.mark),
        shows=shows_words(found.wish.test, found.shows, style.mark) if found.shows else "",
    )  # fmt: skip


@routes.deed("/sessions/new", "open_session")
def opened(visit: Visit) -> "Response":
    """Open it: codes and orders are drawn and sealed."""
    rest = visit.typed("rest") or "2"
    if not (rest.isascii() and rest.isdecimal() and len(rest) < 4 and int(rest) <= 60):
        raise Malformed(visit.gettext("minutes of rest are 0 to 60"), visit.gettext("write a whole number"))
    name = visit.needed("name", visit.gettext("Name"))
    asked = Asked(visit.typed("purpose") or "compare", visit.typed("asks"), int(rest))
    done = visit.book.open_session(visit.how, name, _wish(visit), asked)
    visit.book.beside.drop_in_hand(hands_of(visit.person), _PLAN)
    return visit.to(f"/session/{done.recorded.numbers[0]}", visit.gettext("The session is open; its codes are sealed."))


# -- as it stands --------------------------------------------------------------------------


@routes.page("/session/{session}")
def session(visit: Visit) -> "Response":
    """A session as it stands; of an open one no code is linked with its glass."""
    from pourbook.words.session_words import CAUTION, SEALED, alcohol_words, brings_words

    gathering = gathering_asked(visit)
    card, style = visit.book.session_card(gathering.name), visit.style
    told = card.opened.session
    return visit.page(
        "sessions/session.html", number=gathering.number, card=card, told=told, is_open=card.opened.is_open,
        caution=CAUTION, sealed=SEALED, brings=brings_words(card.brings),
        offered=alcohol_words(told.alcohol_mg, style.settings["standard_drink"], style.mark),
        blending=gathering_named(visit.book, "blending", gathering.name), **_progress(visit, gathering),
    )  # fmt: skip


@routes.page("/session/{session}/progress", polls=True)
def progress(visit: Visit) -> "Response":
    """How far everybody is, without values; asked again every two seconds while the session is open."""
    gathering = gathering_asked(visit)
    values: dict[str, Any] = {"number": gathering.number, "name": gathering.name} | _progress(visit, gathering)
    shown = visit.fragment if visit.is_partial else visit.page
    return shown("sessions/progress.html" if visit.is_partial else "sessions/watch.html", **values)


def _progress(visit: Visit, gathering: Gathering) -> dict[str, Any]:
    seated = gathering_named(visit.book, "blending", gathering.name) or gathering
    taken = {one.person for one in seats(visit.book, seated) if one.is_taken}
    rows = []
    for one in ballots_in(visit.book, gathering.name):
        draft = visit.book.beside.in_hand(f"{gathering_key(gathering)} {one.assessor}", "ballot") or {}
        rows.append((one, one.assessor in taken, len(draft.get("glasses", ()))))
    is_over = all(one.tasted >= one.expected for one, _, _ in rows)
    return {"rows": rows, "is_over": is_over}


@routes.page("/session/{session}/links")
def links(visit: Visit) -> "Response":
    """A link for each assessor's phone; shown to hosts alone, since whoever follows one tastes."""
    return links_page(visit, gathering_asked(visit))


def links_page(visit: Visit, gathering: Gathering) -> "Response":
    """Seats of a session, with their links as symbols where the host asks."""
    may = visit.may("open_session")
    address = visit.house.address or f"{visit.origin}/"
    found = seats(visit.book, gathering)
    shown = [(one, f"{address}join/{one.link}") if may and not one.is_taken else (one, "") for one in found]
    is_near = any(f"//{near}" in address for near in ("127.0.0.1", "localhost", "[::1]"))
    return visit.page(
        "sessions/links.html", gathering=gathering, may=may, is_near=is_near,
        seats=[(one, link, qr_symbol(link) if link else None) for one, link in shown],
    )  # fmt: skip


@routes.deed("/session/{session}/free", roles=HOSTS)
def freed(visit: Visit) -> "Response":
    """Free a seat: its phone is out, and a new link stands for it."""
    gathering = gathering_asked(visit)
    free_seat(visit.book, gathering, visit.needed("person", visit.gettext("Seat")))
    return visit.to(f"/session/{gathering.number}/links", visit.gettext("The seat is free: show its new link."))


# -- printed, poured, answered, closed -----------------------------------------------------


@routes.deed("/session/{session}/ballots", "print_ballots")
def ballots(visit: Visit) -> "Response":
    """Ballots on paper, by code alone."""
    return printed_file(visit, visit.book.print_ballots(visit.how, gathering_asked(visit).name))


@routes.deed("/session/{session}/labels", "print_glass_labels")
def labels(visit: Visit) -> "Response":
    """Labels of glasses, by code alone."""
    from pourbook.labels.templates import template

    wanted = template(visit.typed("template") or "glass-sheet-a4-65-38x21")
    return printed_file(visit, visit.book.print_glass_labels(visit.how, gathering_asked(visit).name, wanted))


@routes.deed("/session/{session}/pour-sheet", "print_pour_sheet")
def pour_sheet(visit: Visit) -> "Response":
    """The sealed sheet, for whoever pours: the one answer that links a code with a glass. Nobody who tastes gets it."""
    how = visit.how._replace(confirm=False)
    try:
        return printed_file(visit, visit.book.print_pour_sheet(how, gathering_asked(visit).name))
    except ToConfirm as asked:
        raise Refused(asked.message, asked.remedy) from asked


@routes.deed("/session/{session}/pour", "pour_session")
def poured(visit: Visit) -> "Response":
    """Book what the glasses took."""
    gathering = gathering_asked(visit)
    visit.book.pour_session(visit.how, gathering.name, tuple(visit.forms.get("absent", ())))
    return visit.to(f"/session/{gathering.number}", visit.gettext("What the glasses took is booked."))


@routes.page("/session/{session}/ballot")
def ballot_page(visit: Visit) -> "Response":
    """The form for a ballot that came back on paper."""
    gathering = gathering_asked(visit)
    card = visit.book.session_card(gathering.name)
    return visit.page(
        "sessions/ballot.html", number=gathering.number, name=gathering.name, form=glass_form(visit.book),
        waiting=card.waiting, is_open=card.opened.is_open, code=visit.query.get("code", "")[:30],
    )  # fmt: skip


@routes.deed("/session/{session}/ballot", "take_ballot")
def ballot_taken(visit: Visit) -> "Response":
    """Take in a ballot of one glass from paper, by its code."""
    gathering = gathering_asked(visit)
    code = visit.needed("code", visit.gettext("Code of the glass"))
    found = answered(answers_of(visit.form), visit.style.mark)
    taken = visit.book.take_ballot(visit.how, gathering.name, code, found)
    said = visit.gettext("The ballot is in; {count} still to come.").format(count=taken.waiting)
    return visit.to(f"/session/{gathering.number}/ballot", said)


@routes.deed("/session/{session}/close", "close_session")
def closed(visit: Visit) -> "Response":
    """Close it: its codes are revealed."""
    gathering = gathering_asked(visit)
    done = visit.book.close_session(visit.how, gathering.name)
    said = visit.gettext("The session is closed and its codes are revealed; the seal agrees.")
    if not done.is_sound:
        said = visit.gettext("The session is closed, but the seal DOES NOT AGREE.")
    return visit.to(f"/session/{gathering.number}/report", said, "good" if done.is_sound else "bad")


@routes.page("/session/{session}/report")
def report(visit: Visit) -> "Response":
    """What a closed session found."""
    from pourbook.words.session_words import found_words

    gathering = gathering_asked(visit)
    try:
        found = visit.book.session_report(gathering.name)
    except Refused:
        return visit.to(f"/session/{gathering.number}", visit.gettext("It is still open: close it first."), "bad")
    told = found.card.opened.session
    named = {item: at_sight(item, found.card.called.get(item, "")) for item in told.ids}
    return visit.page(
        "sessions/report.html", number=gathering.number, report=found, told=told, called=found.card.called,
        said=found_words(found, named, visit.style.mark),
    )  # fmt: skip


@routes.deed("/session/{session}/report", "print_session_report")
def report_printed(visit: Visit) -> "Response":
    """The report on paper."""
    return printed_file(visit, visit.book.print_session_report(visit.how, gathering_asked(visit).name))
