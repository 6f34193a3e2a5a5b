"""Who is signed in, and whether their screen is locked."""

from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.account_rules import LONGEST_SIGN_IN_US
from pourbook.errors import StoreError
from pourbook.queries.people.accounts import holding, name_of

if TYPE_CHECKING:
    from pourbook.book.beside_book import SignInRow
    from pourbook.book.core import BookCore

__all__ = ["Session", "sign_ins", "signed_in"]

_NOTED_EVERY_US = 15_000_000
"""That somebody is there is written down no more often."""


class Session(NamedTuple):
    """Somebody signed in.

    Attributes:
        number: of the sign-in.
        person: the person's identifier.
        name: what they are called.
        role: their role now.
        is_locked: whether the PIN is asked for before anything else.
        begun_us: when they signed in.
        seen_us: when they were last seen.
        address: where they signed in from; may be empty.
        device: what they signed in with, in its own words; may be empty.
    """

    number: int
    person: str
    name: str
    role: str
    is_locked: bool
    begun_us: int
    seen_us: int
    address: str
    device: str


def signed_in(book: "BookCore", token: str, *, is_used: bool = True) -> Session | None:
    """Who is signed in with a token; None for nobody, once 12 hours are over, or where the account was ended.

    That they are there is noted beside the book, so that their screen stays open; `is_used` is False for what a page
    asks by itself, which must not keep it open.
    """
    row = book.beside.sign_in_of(token)
    session = _session(book, row) if row else None
    is_to_note = session and not session.is_locked and book.clock() - session.seen_us >= _NOTED_EVERY_US
    if session and is_used and is_to_note:
        with suppress(StoreError):  # another process is writing: it is noted next time
            book.beside.seen(session.number, locked=False)
    return session


def sign_ins(book: "BookCore", person: str | None = None) -> tuple[Session, ...]:
    """Everybody who is signed in, or one person's sign-ins; the first first."""
    found = (_session(book, row) for row in book.beside.sign_ins(person))
    return tuple(one for one in found if one)


def _session(book: "BookCore", row: "SignInRow") -> Session | None:
    now_us, account = book.clock(), holding(book, row.person)
    if account is None or now_us - row.begun_us >= LONGEST_SIGN_IN_US:
        return None
    idle_us = float(book.settings["lock_minutes"]) * 60_000_000
    is_locked = row.locked or now_us - row.seen_us >= idle_us
    who = (row.person, name_of(book, account), account.role, is_locked)
    return Session(row.number, *who, row.begun_us, row.seen_us, row.address, row.device)
