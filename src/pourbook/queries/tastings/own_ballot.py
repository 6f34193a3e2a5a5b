"""What one assessor of a session has before them, and how far everybody is. No code of an open session is linked.

>>> from pourbook import Book
>>> gathering_named(Book.create(":memory:", house="Quillmere"), "session", "7") is None
True
"""

from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.bench.serving import TESTS
from pourbook.book.journal import blending, entry_of, session
from pourbook.book.sessions import assessor_named, called_assessor, key_to, session_named, tasted_codes
from pourbook.book.tasting_notes import About, TastingNote, notes
from pourbook.errors import Ambiguous, Unknown
from pourbook.queries.items.called import called
from pourbook.queries.tastings.session_card import Ballots, ballots_of
from pourbook.queries.traces.brought import Brought, brought

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.entries import Session

__all__ = ["Gathering", "Kind", "OwnBallot", "Tasted", "ballots_in", "gathering_named", "own_ballot"]

Kind = Literal["session", "blending"]


class Gathering(NamedTuple):
    """A tasting or blending session.

    Attributes:
        kind: which of the two.
        number: of the entry that opened it.
        name: of the session.
        people: who take part, as it names them.
    """

    kind: Kind
    number: int
    name: str
    people: tuple[str, ...]


class Tasted(NamedTuple):
    """A glass once it is known: its code, the item that was in it, what that is called, and the assessor's note."""

    code: str
    item: str
    called: str
    note: TastingNote | None


class OwnBallot(NamedTuple):
    """An assessor's own ballot.

    Attributes:
        session: as it was opened, without what is sealed.
        number: of the entry that opened it.
        is_open: ballots are still taken.
        assessor: as the session names them; `called` by people.
        called: see `assessor`.
        codes: of the glasses, in the order of serving.
        sent: those whose ballot is in; of a test, those that were picked.
        picks: how many glasses answer a test; 0 where it is none.
        reference: the code of the glass that a test compares the others with; empty where there is none.
        brings: what all glasses together may bring.
        tasted: what the glasses were; empty while the session is open.
    """

    session: "Session"
    number: int
    is_open: bool
    assessor: str
    called: str
    codes: tuple[str, ...]
    sent: tuple[str, ...]
    picks: int
    reference: str
    brings: Brought
    tasted: tuple[Tasted, ...]

    @property
    def is_sent(self) -> bool:
        """Whether all that is expected of the assessor is in."""
        return len(self.sent) >= (self.picks or len(self.codes))


def gathering_named(book: "BookCore", kind: Kind, text: str) -> Gathering | None:
    """A session by the number of the entry that opened it, or by its name; None where there is none."""
    store = book.store
    try:
        if text.isascii() and text.isdecimal() and len(text) < 16:
            entry = entry_of(store, int(text))
            if entry.kind == kind:
                return _gathering(kind, entry.number, entry.entry["body"])
        entry = session(store, text) if kind == "session" else blending(store, text)
    except (Unknown, Ambiguous):
        return None
    return _gathering(kind, entry.number, entry.entry["body"])


def _gathering(kind: Kind, number: int, body: "dict[str, list[str]]") -> Gathering:
    return Gathering(kind, number, str(body["name"]), tuple(body["assessors" if kind == "session" else "guests"]))


def own_ballot(book: "BookCore", name: str, assessor: str) -> OwnBallot:
    """What an assessor of a session has before them.

    Raises:
        Unknown: no such session, or nobody of that name tastes in it.
    """
    store = book.store
    opened = session_named(store, name)
    told = opened.session._replace(sealed="")
    who = assessor_named(store, told, assessor)
    glasses = next(one.glasses for one in key_to(store, opened)[0] if one.assessor == who)
    codes, in_book = tuple(glass.code for glass in glasses), tasted_codes(store, told.name)
    tasted: tuple[Tasted, ...] = ()
    if not opened.is_open:
        names = called(store, {glass.item for glass in glasses})
        found = {note.code: note for note in notes(store, About(session=told.name)) if note.code in codes}
        tasted = tuple(Tasted(*glass, names.get(glass.item, ""), found.get(glass.code)) for glass in glasses)
    return OwnBallot(
        told, opened.entry.number, opened.is_open, who, called_assessor(store, who), codes,
        tuple(code for code in codes if code in in_book), TESTS[told.test].picks if told.test else 0,
        codes[0] if told.test == "duo-trio" else "", brought(book, told.ids), tasted,
    )  # fmt: skip


def ballots_in(book: "BookCore", name: str) -> tuple[Ballots, ...]:
    """How many ballots of each assessor are in.

    Raises:
        Unknown: no such session.
    """
    return ballots_of(book, session_named(book.store, name))
