"""Scans outside a task: what a code leads to; cameras and photos; and a page that shows what a scanner sends."""

from threading import Lock
from typing import NamedTuple

from starlette.responses import Response

from pourbook.actions.roles import ALL_ROLES
from pourbook.codes.identifiers import hyphened, kind_of, read_or_none
from pourbook.codes.scans import parse
from pourbook.documents.scans import scan_shown
from pourbook.errors import Malformed, PourbookError, Unknown
from pourbook.queries.items.called import at_sight, named_in
from pourbook.queries.items.what_was_scanned import Scanned, codes_seen, what_was_scanned
from pourbook.queries.people.accounts import has_accounts
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()

_ONE_PHOTO = Lock()
"""Photos are read one at a time: each may take a few hundred megabytes for a moment."""


class Heard(NamedTuple):
    """What a scan outside a task comes to.

    Attributes:
        outcome: good, bad or repeat.
        said: in words.
        to: the page that it leads to; None where it leads nowhere.
        item: what was scanned; None where it is no item.
        at_work: it is the badge of somebody who is at work from now on, as nobody signs in here.
    """

    outcome: str
    said: str
    to: str | None = None
    item: str | None = None
    at_work: bool = False


@routes.page("/scan", roles=None)
def scan(visit: Visit) -> Response:
    """What a scan leads to; whoever is not signed in can scan a badge only."""
    here = read_or_none(visit.query.get("here", "")) or ""
    return visit.json(_heard(visit, visit.query.get("code", ""), here)._asdict())


@routes.page("/camera")
def camera(visit: Visit) -> Response:
    """Labels before the camera of a tablet, or on a photo."""
    return visit.page("scanning/camera.html")


@routes.deed("/read-photo", roles=ALL_ROLES, changes=False, file="photo")
def read_photo(visit: Visit) -> Response:
    """Each code of a photo, as if it had been scanned."""
    if visit.upload is None:
        raise Malformed(visit.gettext("no photo came"), visit.gettext("choose one first"))
    try:
        with _ONE_PHOTO:
            seen = codes_seen(visit.upload.content, visit.gettext("the photo"), visit.book, only_photo=True)
    except Unknown as refusal:
        return visit.json({"codes": [], "said": _sentence(visit, refusal)})
    codes = {code.text: _told(visit, found, "") for code, found in seen}
    return visit.json({"codes": [{"code": text} | heard._asdict() for text, heard in codes.items()], "said": ""})


@routes.page("/scanner")
def scanner(visit: Visit) -> Response:
    """What a scanner sends, for setting it up; a task of its own, so that no scan leads away."""
    return visit.page("scanning/scanner.html")


@routes.deed("/scanner", roles=ALL_ROLES, changes=False)
def scanner_tried(visit: Visit) -> Response:
    """What a scan was read as."""
    text = visit.form.get("scan", "")
    found = _found(visit, text)
    heard, slip = _told(visit, found, ""), ""
    lines: tuple[str, ...] = ()
    if isinstance(found, Scanned):
        slip, lines = found.found.scan.slip, scan_shown(found).said
    return visit.fragment("scanning/tried.html", text=text, heard=heard, slip=slip, lines=lines)


# -- what a scan comes to --------------------------------------------------------------------


def _heard(visit: Visit, text: str, here: str) -> Heard:
    if visit.person.role and not visit.person.is_locked:
        return _told(visit, _found(visit, text), here)
    try:
        badge = parse(text).id
    except PourbookError:
        badge = ""
    if badge and kind_of(badge) == "person":  # whether there is such a person, only the PIN tells
        return Heard("good", visit.gettext("Enter the PIN"), f"/sign-in?name={badge}", badge)
    return Heard("bad", visit.gettext("Sign in first, or scan your badge."))


def _found(visit: Visit, text: str) -> Scanned | PourbookError:
    try:
        return what_was_scanned(text, visit.book)
    except PourbookError as refusal:
        return refusal


def _told(visit: Visit, found: Scanned | PourbookError, here: str) -> Heard:
    """Outcome, words and page of a scan, on the page of the item `here`."""
    if isinstance(found, PourbookError):
        return Heard("bad", _sentence(visit, found))
    if found.item is None:
        is_known = found.against is not None or found.found.state == "in the book"
        is_good = is_known and not any(one.wrong for one in found.signatures)
        return Heard("good" if is_good else "bad", "; ".join(scan_shown(found).said))
    item = found.item.id
    if kind_of(item) == "person":
        return _badge(visit, found)
    named = f"{visit.gettext(kind_of(item))} {at_sight(item, found.called)}"
    if item == here:
        return Heard("repeat", visit.gettext("{item} is shown already").format(item=named), item=item)
    return Heard("good", named, f"/item/{item}", item)


def _badge(visit: Visit, found: Scanned) -> Heard:
    """A badge: with accounts the PIN is asked for, without them whoever wears it is at work."""
    assert found.item is not None
    item, name = found.item.id, found.item.ref or hyphened(found.item.id)
    at_work = visit.gettext("At work: {name}").format(name=name)
    if not has_accounts(visit.book):
        return Heard("good", at_work, f"/item/{item}", item, at_work=True)
    if item == visit.person.id and not visit.person.is_locked:
        return Heard("good", at_work, f"/item/{item}", item)
    return Heard("good", visit.gettext("{name}: enter the PIN").format(name=name), f"/sign-in?name={item}", item)


def _sentence(visit: Visit, refusal: PourbookError) -> str:
    told = f"{refusal.message}; {refusal.remedy}" if refusal.remedy else refusal.message
    return named_in(visit.book, told)
