"""Who asks: somebody signed in, a guest who was invited, or, in a house without accounts, whoever is at the machine."""

import secrets
from hashlib import sha256
from typing import TYPE_CHECKING

from pourbook.queries.people.accounts import has_accounts
from pourbook.queries.people.signed_in import signed_in
from pourbook.station.asked import GUEST, House, Person

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pourbook.whole_book import Book

__all__ = ["browser", "cookie_name", "guest_cookie", "hands_of", "recognised"]


def cookie_name(house: House) -> str:
    """Of the cookie that holds who is signed in; with TLS one that no other name can set."""
    return "__Host-pourbook" if house.is_encrypted else "pourbook"


def guest_cookie(house: House) -> str:
    """Of the cookie that holds a guest's seat, in the same way."""
    return f"{cookie_name(house)}-guest"


def browser(token: str) -> str:
    """By what the work in hand of a browser is kept, where nobody signs in."""
    return f"browser {sha256(token.encode()).hexdigest()[:32]}"


def hands_of(person: Person) -> str:
    """By what somebody's work in hand is kept: the person, or, where nobody signs in, the browser."""
    return person.id or browser(person.token)


def recognised(
    book: "Book", house: House, cookies: "Mapping[str, str]", roles: tuple[str, ...] | None, *, is_used: bool = True
) -> Person:
    """Whoever sent these cookies, for a route of those roles; `is_used` unless a page asks by itself."""
    token = cookies.get(cookie_name(house), "")
    accounts = house.is_lan or has_accounts(book)
    if roles and GUEST in roles:
        guest = cookies.get(guest_cookie(house), "")
        session = book.beside.invited(guest) if guest else None
        is_staff = roles != (GUEST,) and accounts and token and signed_in(book, token, is_used=False)
        if session and not is_staff:
            return Person("", session[1], GUEST, guest, session)
    if accounts:
        known = signed_in(book, token, is_used=is_used) if token else None
        if known is None:
            return Person(token=token or secrets.token_urlsafe(32))
        return Person(known.person, known.name, known.role, token, is_locked=known.is_locked, has_account=True)
    token = token or secrets.token_urlsafe(32)
    at_work = book.beside.in_hand(browser(token), "at work") or {}
    return Person(at_work.get("id", ""), at_work.get("name", house.who), "manager", token)
