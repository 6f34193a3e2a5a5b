"""Tasting sessions as they stand: who tastes what, and whose ballots are in. No code of an open one is linked.

>>> from pourbook import Book
>>> sessions_listed(Book.create(":memory:", house="Quillmere"))
[]
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.serving import expected_ballots
from pourbook.book.journal import Logged, entry_of
from pourbook.book.sessions import (
    Opened,
    called_assessor,
    key_to,
    poured_for,
    session_named,
    sessions,
    tasted_codes,
)
from pourbook.queries.items.called import called
from pourbook.queries.traces.brought import Brought, brought

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pourbook.book.core import BookCore

__all__ = [
    "Ballots", "SessionCard", "ballots_of", "ballots_so_far", "ballots_waiting", "codes_by_assessor", "session_card",
    "sessions_listed",
]  # fmt: skip


class Ballots(NamedTuple):
    """An assessor of a session, as `called` by people: ballots expected, and how many glasses were tasted so far."""

    assessor: str
    called: str
    expected: int
    tasted: int


class SessionCard(NamedTuple):
    """A session: as opened, what its items are called, what it brings, ballots by assessor, entries that poured it."""

    opened: Opened
    called: "Mapping[str, str]"
    ballots: tuple[Ballots, ...]
    poured: tuple[int, ...]
    brings: Brought

    @property
    def tasted(self) -> int:
        """How many ballots are in."""
        return sum(one.tasted for one in self.ballots)

    @property
    def waiting(self) -> int:
        """How many ballots are still to come."""
        return sum(max(0, one.expected - one.tasted) for one in self.ballots)


def session_card(book: "BookCore", name: str) -> SessionCard:
    """A session as it stands.

    Raises:
        Unknown: nothing goes by that name.
    """
    return _card(book, session_named(book.store, name))


def sessions_listed(book: "BookCore") -> list[SessionCard]:
    """Every session, the oldest first."""
    return [_card(book, opened) for opened in sessions(book.store)]


def codes_by_assessor(book: "BookCore", name: str) -> list[tuple[str, str]]:
    """Assessor and code of every glass of a session, in the order of serving: what stands on ballots.

    Raises:
        Unknown: nothing goes by that name.
    """
    flights, _ = key_to(book.store, session_named(book.store, name))
    return [(called_assessor(book.store, one.assessor), glass.code) for one in flights for glass in one.glasses]


def ballots_waiting(book: "BookCore", opened: Opened) -> int:
    """How many ballots of a session are still to come."""
    return sum(max(0, one.expected - one.tasted) for one in ballots_of(book, opened))


def ballots_so_far(book: "BookCore", opened: Opened) -> tuple[int, int, Logged]:
    """Ballots of a session that are in, those expected, and the entry that brought the last; before it, what opened."""
    ballots, tasted = ballots_of(book, opened), tasted_codes(book.store, opened.session.name)
    last = entry_of(book.store, max(tasted.values(), default=opened.entry.number))
    return sum(one.tasted for one in ballots), sum(one.expected for one in ballots), last


def _card(book: "BookCore", opened: Opened) -> SessionCard:
    store, items = book.store, opened.session.ids
    return SessionCard(
        opened, called(store, items), ballots_of(book, opened), poured_for(store, opened), brought(book, items)
    )


def ballots_of(book: "BookCore", opened: Opened) -> tuple[Ballots, ...]:
    """How far each assessor of a session is."""
    store, session = book.store, opened.session
    tasted = tasted_codes(store, session.name)
    return tuple(
        Ballots(
            flight.assessor,
            called_assessor(store, flight.assessor),
            expected_ballots(session.test, session.glasses_each),
            sum(glass.code in tasted for glass in flight.glasses),
        )
        for flight in key_to(store, opened)[0]
    )
