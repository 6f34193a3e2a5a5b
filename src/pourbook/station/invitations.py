"""Seats of a tasting or blending session: a link for each person, which the first phone that follows it takes.

A link names its seat and is signed with the station's secret, so nothing needs to be kept for it, and it is the same
whenever the host looks. Once a phone has taken the seat, the link leads nowhere; when the host frees the seat, a new
link stands for it and the phone before is out.
"""

import hmac
import re
from base64 import urlsafe_b64encode
from hashlib import sha256
from typing import TYPE_CHECKING, NamedTuple, cast

from pourbook.book.sessions import called_assessor
from pourbook.errors import Refused
from pourbook.queries.tastings.own_ballot import Gathering, Kind, gathering_named

if TYPE_CHECKING:
    from pourbook.whole_book import Book

__all__ = ["Seat", "Symbol", "free_seat", "gathering_key", "gathering_of", "qr_symbol", "seat_of", "seats", "take_seat"]

_LINK = re.compile(r"(session|blending)-([0-9]{1,15})\.([0-9]{1,4})\.([0-9]{1,6})\.([A-Za-z0-9_-]{27})", re.ASCII)


class Seat(NamedTuple):
    """Of a `person` in a session, as the session names them, `called` by people.

    `link` is the last part of the address that takes the seat; `is_taken`: a phone has it.
    """

    person: str
    called: str
    link: str
    is_taken: bool


def gathering_key(gathering: Gathering) -> str:
    """How invitations name a session."""
    return f"{gathering.kind} {gathering.number}"


def gathering_of(book: "Book", key: str) -> Gathering | None:
    """The session that an invitation names."""
    kind, _, number = key.partition(" ")
    return gathering_named(book, cast("Kind", kind), number) if kind in ("session", "blending") else None


def seats(book: "Book", gathering: Gathering) -> tuple[Seat, ...]:
    """Every seat of a session, in its order."""
    kept = book.beside.invitations(gathering_key(gathering))
    return tuple(
        Seat(
            person, called_assessor(book.store, person),
            _link(book, gathering, place, sum(code == person and not holds for code, holds in kept)),
            (person, True) in kept,
        )
        for place, person in enumerate(gathering.people)
    )  # fmt: skip


def _link(book: "Book", gathering: Gathering, place: int, freed: int) -> str:
    """The link of a seat that was freed so many times."""
    told = f"{gathering.kind}-{gathering.number}.{place}.{freed}"
    signed = hmac.new(book.beside.secret, f"seat {told}".encode(), sha256).digest()[:20]
    return f"{told}.{urlsafe_b64encode(signed).decode().rstrip('=')}"


def seat_of(book: "Book", link: str) -> tuple[Gathering, Seat] | None:
    """The session and the seat that a link stands for; None where it is none of ours, or an old one."""
    read = _LINK.fullmatch(link)
    gathering = gathering_named(book, cast("Kind", read[1]), read[2]) if read else None
    if gathering is None:
        return None
    return next(((gathering, one) for one in seats(book, gathering) if hmac.compare_digest(one.link, link)), None)


def take_seat(book: "Book", link: str) -> str | None:
    """Take the seat of a link for whoever follows it: the secret of the phone; None where the link leads nowhere.

    Raises:
        Refused: another phone has the seat.
    """
    with book.beside.transaction():
        found = seat_of(book, link)
        if found is None:
            return None
        gathering, seat = found
        if seat.is_taken:
            raise Refused(f"a phone has joined as {seat.called} already", "ask the host to free the seat")
        return book.beside.invite(gathering_key(gathering), seat.person)


def free_seat(book: "Book", gathering: Gathering, person: str) -> None:
    """Put out whoever has the seat of a person; a new link stands for it. What was sent stays."""
    book.beside.end_invitations(gathering_key(gathering), person)


class Symbol(NamedTuple):
    """A QR code as the path of an SVG, and how many modules it is wide with its quiet zone."""

    path: str
    width: int


def qr_symbol(text: str) -> Symbol:
    """A QR code of a text."""
    from pourbook.labels.symbols import symbol

    made = symbol("qr", text)
    runs = (
        f"M{made.quiet + run.start()} {made.quiet + y}h{len(run[0])}v1h-{len(run[0])}z"
        for y, row in enumerate(made.rows)
        for run in re.finditer("1+", row)
    )
    return Symbol("".join(runs), made.width_modules)
