"""People of the house: accounts, roles, PINs, and who is signed in where."""

from urllib.parse import quote

from starlette.responses import Response

from pourbook.actions.accounts import end_account, make_account, revoke, set_account
from pourbook.queries.people.accounts import accounts
from pourbook.queries.people.signed_in import sign_ins
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()


@routes.page("/people")
def people(visit: Visit) -> Response:
    """Accounts, and where each is signed in."""
    where = sign_ins(visit.book)
    return visit.page("house/people.html", accounts=accounts(visit.book), sign_ins=where)


@routes.deed("/people/new", "make_account")
def made(visit: Visit) -> Response:
    """An account for somebody."""
    name = visit.needed("name", visit.gettext("Name or badge"))
    account = make_account(visit.book, visit.how, name, visit.typed("role"), visit.form.get("pin", ""))
    return visit.to("/people", visit.gettext("{name} has an account.").format(name=account.name))


@routes.deed("/people/{item}/change", "set_account")
def changed(visit: Visit) -> Response:
    """Another role, another PIN, or both."""
    person = visit.item("person")
    account = set_account(
        visit.book, visit.how, person, visit.typed("role") or None, visit.form.get("pin", "") or None
    )  # fmt: skip
    return visit.to("/people", visit.gettext("The account of {name} is changed.").format(name=account.name))


@routes.deed("/people/{item}/end", "end_account")
def ended(visit: Visit) -> Response:
    """Nobody signs in with it any more."""
    account = end_account(visit.book, visit.how, visit.item("person"))
    return visit.to("/people", visit.gettext("The account of {name} is ended.").format(name=account.name))


@routes.deed("/people/withdraw", "withdraw_person")
def withdrawn(visit: Visit) -> Response:
    """A person's names go from the book; asked about first."""
    done = visit.book.withdraw_person(visit.how, visit.needed("name", visit.gettext("Name or badge"))).withdrawal
    told = visit.ngettext("{count} entry names a reference now.", "{count} entries name a reference now.", done.entries)
    return visit.to("/people", told.format(count=done.entries))


@routes.deed("/people/{item}/revoke", "revoke")
def revoked(visit: Visit) -> Response:
    """End somebody's sign-ins, wherever they are."""
    number = visit.typed("number")
    count = revoke(visit.book, visit.item("person"), int(number) if number.isdecimal() and len(number) < 16 else None)
    told = visit.ngettext("{count} sign-in ended.", "{count} sign-ins ended.", count).format(count=count)
    return visit.to("/people", told)


@routes.page("/settings")
def settings(visit: Visit) -> Response:
    """How the house writes and judges, and what each choice means."""
    from pourbook.book.settings import SETTINGS

    return visit.page(
        "house/settings.html", settings=visit.book.settings, known=SETTINGS, name=visit.query.get("name", "")
    )


@routes.deed("/settings", "change_settings")
def set_one(visit: Visit) -> Response:
    """Change one setting."""
    from pourbook.book.settings import with_points

    name = visit.needed("name", visit.gettext("Setting"))
    typed = with_points({name: visit.typed("value")}, visit.style.mark)
    recorded = visit.book.change_settings(visit.how, typed)
    said = visit.gettext("{name} is set.").format(name=name)
    return visit.to(f"/settings?name={quote(name)}", said, recorded=recorded)
