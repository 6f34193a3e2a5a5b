"""Sign in and out, lock and unlock, and say who is at work where nobody has an account."""

from starlette.responses import Response

from pourbook.actions.accounts import change_own_pin, lock, make_account, sign_in, sign_out, unlock
from pourbook.actions.roles import ALL_ROLES
from pourbook.codes.identifiers import kind_of, read_or_none
from pourbook.errors import PourbookError, Refused
from pourbook.queries.people.accounts import accounts
from pourbook.station.people import browser, cookie_name
from pourbook.station.routing import Routes
from pourbook.station.templating import LANGUAGES
from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()


@routes.page("/sign-in", roles=None)
def sign_in_page(visit: Visit) -> Response:
    """A plain form for name and PIN; a badge stays its number, since whoever asks need not learn whose it is."""
    return visit.page("signing/sign_in.html", name=visit.query.get("name", ""), next=_next(visit), refusal=None)


@routes.deed("/sign-in", roles=None, changes=False)
def signed_in_now(visit: Visit) -> Response:
    """Sign in; the sign-in of this browser before ends."""
    try:
        known = sign_in(
            visit.book, visit.typed("name"), visit.form.get("pin", ""), address=visit.client, device=visit.device
        )
    except PourbookError as refusal:
        return visit.page("signing/sign_in.html", 403, name=visit.typed("name"), next=_next(visit), refusal=refusal)
    if visit.person.has_account or visit.cookies.get(cookie_name(visit.house)):
        sign_out(visit.book, visit.cookies.get(cookie_name(visit.house), ""))
    return _with_token(visit, visit.to(_next(visit)), known.token)


@routes.deed("/sign-out", roles=None, changes=False)
def signed_out(visit: Visit) -> Response:
    """End this browser's sign-in."""
    sign_out(visit.book, visit.person.token)
    response = visit.to("/sign-in")
    response.delete_cookie(cookie_name(visit.house), path="/", secure=visit.house.is_encrypted, httponly=True)
    response.headers["Clear-Site-Data"] = '"cache", "storage"'
    return response


@routes.page("/locked", roles=None)
def locked(visit: Visit) -> Response:
    """A screen that was left alone."""
    if not visit.person.role or not visit.person.is_locked:
        return visit.to(_next(visit))
    return visit.page("signing/locked.html", next=_next(visit), refusal=None)


@routes.deed("/unlock", roles=None, changes=False)
def unlocked(visit: Visit) -> Response:
    """Go on with the PIN."""
    try:
        unlock(visit.book, visit.person.token, visit.form.get("pin", ""), address=visit.client)
    except PourbookError as refusal:
        return visit.page("signing/locked.html", 403, next=_next(visit), refusal=refusal)
    return visit.to(_next(visit))


@routes.deed("/lock", roles=ALL_ROLES, changes=False)
def locked_now(visit: Visit) -> Response:
    """Lock this screen until the PIN is typed."""
    lock(visit.book, visit.person.token)
    return visit.to("/locked")


@routes.page("/change")
def change(visit: Visit) -> Response:
    """Who else could be at work at this screen."""
    return visit.page("signing/change.html", people=accounts(visit.book))


@routes.deed("/pin", roles=ALL_ROLES, changes=True)
def pin_changed(visit: Visit) -> Response:
    """One's own PIN."""
    if not visit.person.has_account:
        raise Refused(visit.gettext("this house has no accounts yet"), visit.gettext("make the manager's first"))
    old, new = visit.form.get("old", ""), visit.form.get("pin", "")
    change_own_pin(visit.book, visit.how, visit.person.token, old, new, visit.client)
    return visit.to("/", visit.gettext("The PIN is changed."))


@routes.deed("/first", "make_account")
def first_made(visit: Visit) -> Response:
    """The first account is a manager's."""
    name = visit.needed("name", visit.gettext("Name"))
    make_account(visit.book, visit.how, name, "manager", visit.form.get("pin", ""), is_first=True)
    return visit.to("/sign-in", visit.gettext("The account is made: sign in with it."))


@routes.page("/at-work")
def at_work_page(visit: Visit) -> Response:
    """Who is at work, where nobody has an account."""
    if visit.person.has_account:
        return visit.to("/change")
    return visit.page("signing/change.html", people=accounts(visit.book))


@routes.deed("/at-work", roles=ALL_ROLES, changes=False)
def at_work(visit: Visit) -> Response:
    """Somebody named, or whose badge was scanned, is at work from now on."""
    if visit.person.has_account:
        raise Refused(visit.gettext("everybody signs in here"), visit.gettext("sign in with the PIN"))
    name, identifier = visit.needed("name", visit.gettext("Name or badge")), ""
    if badge := read_or_none(name):
        if kind_of(badge) != "person":
            raise Refused(visit.gettext("that is no badge"), visit.gettext("scan a badge, or type a name"))
        shown = visit.book.show(badge)
        identifier, name = badge, shown.facts.get("ref", badge)
    visit.book.beside.keep_in_hand(browser(visit.person.token), "at work", {"id": identifier, "name": name})
    return visit.to("/", visit.gettext("At work: {name}").format(name=name))


@routes.deed("/looks", roles=None, changes=False)
def looks(visit: Visit) -> Response:
    """Language and light of this browser."""
    response = visit.to(_own(visit.typed("back")))
    year, is_secure = 365 * 24 * 3600, visit.house.is_encrypted
    for name, known in (("language", LANGUAGES), ("theme", ("auto", "light", "dark"))):
        if (chosen := visit.typed(name)) in known:
            response.set_cookie(
                f"pourbook-{name}", chosen, max_age=year, httponly=True, samesite="lax", secure=is_secure
            )
    return response


def _with_token(visit: Visit, response: Response, token: str) -> Response:
    response.set_cookie(
        cookie_name(visit.house), token, path="/", httponly=True, samesite="lax", secure=visit.house.is_encrypted
    )
    return response


def _next(visit: Visit) -> str:
    return _own(visit.query.get("next", "/"))


def _own(address: str) -> str:
    """An address of this station; anything that leads elsewhere becomes the first page.

    >>> _own("/item/C000001H?at=2024"), _own("//elsewhere.example"), _own("https://elsewhere.example"), _own("/\\\\x")
    ('/item/C000001H?at=2024', '/', '/', '/')
    """
    is_own = address.startswith("/") and not address.startswith("//") and "\\" not in address
    return address if is_own and address.isprintable() else "/"
