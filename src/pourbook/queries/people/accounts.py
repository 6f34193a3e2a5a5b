"""Who has an account, as what, and when they were last seen.

>>> from pourbook import Book
>>> accounts(Book.create(":memory:", house="Quillmere"))
()
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import facts
from pourbook.book.names import is_in_book, named
from pourbook.codes.identifiers import key_of, kind_of, read_or_none

if TYPE_CHECKING:
    from pourbook.book.beside_book import AccountRow
    from pourbook.book.core import BookCore

__all__ = ["Account", "accounts", "has_accounts", "holding", "name_of", "person_called"]


class Account(NamedTuple):
    """An account.

    Attributes:
        person: the person's identifier.
        name: what they are called now.
        role: as in `actions.roles`.
        made_us: when it was made.
        ended_us: when it was ended; None while it holds.
        seen_us: when they were last seen signed in; None where they are not.
    """

    person: str
    name: str
    role: str
    made_us: int
    ended_us: int | None
    seen_us: int | None


def accounts(book: "BookCore", *, everything: bool = False) -> tuple[Account, ...]:
    """Who has an account, by name; with `everything`, those whose account was ended, too."""
    seen: dict[str, int] = {}
    for one in book.beside.sign_ins():
        seen[one.person] = max(one.seen_us, seen.get(one.person, 0))
    found = (
        Account(row.person, name_of(book, row), row.role, row.made_us, row.ended_us, seen.get(row.person))
        for row in book.beside.accounts()
        if everything or row.ended_us is None
    )
    return tuple(sorted(found, key=lambda account: (account.name.casefold(), account.person)))


def has_accounts(book: "BookCore") -> bool:
    """Whether the house has accounts: once one was made, nobody comes in without, ended or not."""
    return bool(book.beside.accounts())


def holding(book: "BookCore", person: str) -> "AccountRow | None":
    """The account of a person, if it was not ended."""
    row = book.beside.account(person) if person else None
    return row if row and row.ended_us is None else None


def name_of(book: "BookCore", row: "AccountRow") -> str:
    """What the person of an account is called now."""
    return facts(book.store, key_of(row.person)).get("ref") or row.name


def person_called(book: "BookCore", text: str) -> str:
    """The person of a name or a badge; empty where there is none, or not one alone."""
    scanned = read_or_none(text)
    if scanned and kind_of(scanned) == "person" and is_in_book(book.store, key_of(scanned)):
        return scanned
    return named(book.store, text, "person")
