"""Tasting sessions as the book has them: by name, open or closed.

>>> from pourbook import Book, Draft
>>> from pourbook.book.entries import Session
>>> book = Book.create(":memory:", house="Quillmere")
>>> sessions(book.store)
[]
"""

from typing import Any, NamedTuple

from pourbook.book.coded_names import person_meant
from pourbook.book.entries import Flight, Session
from pourbook.book.items import LedgerRow, facts, ledger
from pourbook.book.journal import Logged, entry_of, line_of, session
from pourbook.book.sealing import flights_of, is_seal, unsealed
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of, read_or_none, readable
from pourbook.errors import Unknown
from pourbook.texts import lookup_form

__all__ = [
    "Opened", "assessor_named", "called_assessor", "key_to", "poured_for", "session_named", "sessions", "tasted_codes",
]  # fmt: skip


class Opened(NamedTuple):
    """A session that was opened: its entry, what it says, and the entry that revealed it; 0 while it is open."""

    entry: Logged
    session: Session
    revealed: int

    @property
    def is_open(self) -> bool:
        """Whether its codes are still sealed."""
        return not self.revealed


def sessions(store: Store, *, still_open: bool = False) -> list[Opened]:
    """Every session (that is still open), in the order they were opened."""
    rows = store.query(f"{_ROWS}{' WHERE revealed = 0' if still_open else ''} ORDER BY entry")
    return [_opened(store, entry, revealed) for entry, revealed in rows]


def session_named(store: Store, name: str) -> Opened:
    """The session of that name, in any case and spacing where it alone has it.

    Raises:
        Unknown: nothing goes by that name.
        Ambiguous: several names differ from it in case and spacing alone.
    """
    number = session(store, name).number
    return _opened(store, *store.query(f"{_ROWS} WHERE entry = ?", (number,))[0])


def key_to(store: Store, opened: Opened) -> tuple[tuple[Flight, ...], bool]:
    """Who gets which item under which code, and whether the seal agrees with it.

    What this says of an open session belongs on the sealed pour sheet alone, and nowhere else.
    """
    if opened.is_open:
        flights, salt = unsealed(opened.session.sealed, opened.session.assessors)
    else:
        body = entry_of(store, opened.revealed).entry["body"]
        flights, salt = flights_of(body["flights"]), body["salt"]
    return flights, is_seal(opened.session.seal, flights, salt)


def assessor_named(store: Store, of: Session, text: str) -> str:
    """The assessor of a session as it names them, from a name in any case, or a person's identifier or name.

    Raises:
        Unknown: nobody of that name tastes in it.
    """
    text = person_meant(store, text)
    wanted = {lookup_form(text), read_or_none(text)} - {"", None}
    for assessor in of.assessors:
        if wanted & {lookup_form(assessor), assessor, lookup_form(_person_called(store, assessor))}:
            return assessor
    raise Unknown(
        f"'{text}' is no assessor of session '{of.name}'",
        f"they are: {', '.join(called_assessor(store, one) for one in of.assessors)}",
    )


def called_assessor(store: Store, assessor: str) -> str:
    """An assessor as people call them: the name, where it is kept as a person's identifier."""
    return _person_called(store, assessor) or readable(assessor)


def _person_called(store: Store, assessor: str) -> str:
    identifier = read_or_none(assessor)
    known = facts(store, key_of(identifier)) if identifier else {}
    return readable(known.get("name") or known.get("ref", ""))


def tasted_codes(store: Store, name: str) -> dict[str, int]:
    """Codes of a session whose ballot is in, each with the entry that has it."""
    return dict(store.query("SELECT code, entry FROM tasting WHERE session = ? AND code <> ''", (name,)))


def poured_for(store: Store, opened: Opened) -> tuple[int, ...]:
    """Entries that count and booked what a session took."""
    found = {
        row.entry
        for item in opened.session.ids
        for row in ledger(store, key_of(item))
        if row.entry > opened.entry.number and _is_for(store, row, opened.session.name)
    }
    return tuple(sorted(found))


def _is_for(store: Store, row: LedgerRow, name: str) -> bool:
    line = line_of(entry_of(store, row.entry).entry["body"], row.line)
    return bool(line.get("facts", {}).get("session") == name)


_ROWS = "SELECT entry, revealed FROM session"


def _opened(store: Store, number: int, revealed: int) -> Opened:
    entry = entry_of(store, number)
    body = entry.entry["body"]
    said: dict[str, Any] = {name: value for name, value in body.items() if name in Session._fields}
    people, swallowed = tuple(body["assessors"]), bool(body.get("swallowed", 0))
    opened = Session(**{**said, "ids": tuple(body["items"]), "assessors": people, "swallowed": swallowed})
    return Opened(entry, opened, revealed)
