"""A blind tasting session: opened with its codes sealed, poured, and closed with its codes revealed.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.actions.happening import Happening
>>> from pourbook.quantities import read_amount, read_strength
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> for vial, strength in (("V000001R", "60"), ("V000002P", "52")):
...     filled = Pour("fill", (Move("origin", vial, read_amount("100 ml"), read_strength(strength)),))
...     _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item(vial, {}), filled)))
>>> wish = Wish(("V000001R", "V000002P"), ("Isla Farrow", "Tomas Reeve"), read_amount("15 ml"), read_strength("21"))
>>> opened = open_session(book, how, "Autumn", wish)
>>> poured = pour_session(book, how, "autumn")
>>> [(line.item, line.assessor, round(line.spirit_ml, 2)) for line in poured.lines][:2]
[('V000001R', 'Isla Farrow', 5.25), ('V000001R', 'Tomas Reeve', 5.25)]
>>> closed = close_session(book, how._replace(confirm=True), "autumn")
>>> closed.is_sound
True
"""

import secrets
from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.tasting import holds_for_faults
from pourbook.bench.serving import TESTS, laid_out
from pourbook.book.entries import Coded, Flight, Move, Pour, Reveal, Session
from pourbook.book.sealing import sealed_up, unsealed
from pourbook.book.sessions import assessor_named, key_to, poured_for, session_named
from pourbook.book.tasting_notes import About, notes
from pourbook.codes.identifiers import hyphened, kind_of, read_or_none
from pourbook.errors import Malformed, NotThere, Question, Refused, ToConfirm
from pourbook.gauging.as_typed import kept_amount, kept_strength
from pourbook.numerals import counted, shown
from pourbook.panels.orders import draw_codes
from pourbook.queries.items.called import called
from pourbook.queries.tastings.session_card import ballots_waiting
from pourbook.queries.tastings.session_plan import SessionPlan, Wish, in_a_glass, need_of, session_plan

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pourbook.actions.happening import Happening
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.panels.orders import Draw

__all__ = [
    "Asked", "PouredGlass", "SessionClosed", "SessionOpened", "SessionPoured", "close_session", "open_session",
    "pour_session",
]  # fmt: skip

_SALT = 1 << 128


class Asked(NamedTuple):
    """What else is said of a session: its purpose, what the host asks, minutes of rest between two glasses."""

    purpose: str = "compare"
    asks: str = ""
    rest_min: int = 2


_PLAIN = Asked()


class SessionOpened(NamedTuple):
    """A session that was opened: its entry, seal, plan, and what was recorded."""

    session: Session
    plan: SessionPlan
    recorded: "Recorded"


class PouredGlass(NamedTuple):
    """What an assessor (nobody: all, of a test) was poured of an item: its glasses together, spirit in mL at 20 °C."""

    item: str
    assessor: str
    glasses: int
    spirit_ml: float


class SessionPoured(NamedTuple):
    """A session that was poured: lines, one for each item and assessor, and what was recorded."""

    session: str
    lines: tuple[PouredGlass, ...]
    recorded: "Recorded"


class SessionClosed(NamedTuple):
    """A session that was closed; of a dry run, which leaves it open, `flights` and `held` are empty.

    `flights` are what was revealed: its seal is sound where that is what was sealed. `called` is what its items are
    called, `held` are those put on hold for faults that were found; `recorded` is the reveal.
    """

    session: str
    seal: str
    is_sound: bool
    flights: tuple[Flight, ...]
    called: "Mapping[str, str]"
    held: tuple[str, ...]
    recorded: "Recorded"


def open_session(
    book: "BookCore", how: "Happening", name: str, wish: Wish, asked: Asked = _PLAIN, draw: "Draw" = secrets.randbelow
) -> SessionOpened:
    """Open a session: draw codes and orders, and seal which code is which glass.

    Raises:
        NotThere: a vial holds too little; the refusal says which, and the glass that would do.
        ToConfirm: more glasses, or more pure alcohol, than the house wants.
        PourbookError: a name is taken, an item is on hold or not known.
    """
    with how.transaction(book):
        people = tuple(_person(book, text) for text in wish.assessors)
        plan = session_plan(book, wish._replace(assessors=people))
        _check_enough(book, plan)
        if plan.shows and plan.shows.critical is None and not how.confirm:
            raise ToConfirm(_shows_nothing(plan))
        if asked.asks == "" and wish.test and not TESTS[wish.test].asks:
            raise Malformed(f"a {wish.test} test puts a question of its own", "give --ask 'Which glass is smokier?'")
        served = laid_out(plan.wish.glasses, people, draw, wish.test)
        codes = draw_codes(plan.glasses_each, len(people), draw)
        flights = tuple(
            Flight(assessor, tuple(map(Coded, own, served[assessor])))
            for assessor, own in zip(people, codes, strict=True)
        )
        sealed, seal = sealed_up(flights, f"{draw(_SALT):032x}")
        session = Session(
            name.strip(), "test" if wish.test else asked.purpose, tuple(need.item.id for need in plan.needs), people,
            plan.glasses_each, kept_amount(wish.amount), round(plan.alcohol_mg), sealed, seal,
            kept_strength(wish.strength) if wish.strength else "", wish.test,
            asked.asks or (TESTS[wish.test].asks if wish.test else ""), asked.rest_min, wish.swallowed,
        )  # fmt: skip
        return SessionOpened(session, plan, how.record(book, session))


def _person(book: "BookCore", text: str) -> str:
    """A person of the house by number, anybody else by name."""
    identifier = read_or_none(text)
    if identifier is None:
        return " ".join(text.split())
    if kind_of(book.find(text)) != "person":
        raise Malformed(f"{hyphened(identifier)} is no person", "name who tastes")
    return identifier


def _shows_nothing(plan: SessionPlan) -> Question:
    who = counted(len(plan.wish.assessors), "assessor")
    said = f"a {plan.wish.test} test with {who} can show nothing, whatever they answer"
    values = {"assessors": len(plan.wish.assessors)}
    return Question("test-shows-nothing", said, "ask more people, or use no test.", values)


def _check_enough(book: "BookCore", plan: SessionPlan) -> None:
    """Refuse what the vials cannot fill, before anything is poured."""
    mark = book.settings["decimal_mark"]
    if plan.short:
        lacks = "; ".join(
            f"{hyphened(need.item.id)} holds {shown(need.item.volume_ml_20c, 1, mark)} of"
            f" {shown(need.needed_ml, 1, mark)} ml"
            for need in plan.short
        )
        fits = f"glasses of {shown(plan.fitting_ml, 1, mark)} ml would do" if plan.fitting_ml else "draw more first"
        raise NotThere(f"{counted(len(plan.short), 'item')} cannot fill the glasses: {lacks}", fits)


def pour_session(book: "BookCore", how: "Happening", name: str, absent: tuple[str, ...] = ()) -> SessionPoured:
    """Book what a session takes as tasting losses, by item and assessor, as one entry; codes are never in it.

    Those `absent` got nothing. Of a test, what each assessor got would tell which is the odd glass: it is booked by
    item alone.

    Raises:
        Refused: the session is closed.
        ToConfirm: it was poured already.
        NotThere: an item holds too little by now.
    """
    with how.transaction(book):
        opened = session_named(book.store, name)
        session = opened.session
        if not opened.is_open:
            raise Refused(f"session '{session.name}' is closed", "book what was poured since as a loss of its own")
        if (before := poured_for(book.store, opened)) and not how.confirm:
            said = f"session '{session.name}' was poured already, in {_entries(before)}"
            raise ToConfirm(Question("poured-before", said, "was it poured twice?", {"entry": before[0]}))
        missing = tuple(assessor_named(book.store, session, text) for text in absent)
        flights = [one for one in unsealed(session.sealed, session.assessors)[0] if one.assessor not in missing]
        lines, moves = [], []
        for item, assessor, glasses in _portions(session, flights):
            glass = need_of(book, item, glasses, *in_a_glass(session)).glass
            lines.append(PouredGlass(item, assessor, glasses, glasses * glass.spirit_ml))
            told = {"disposition": "tasting", "session": session.name, **({"assessor": assessor} if assessor else {})}
            moves.append(Move(item, "loss", round(glasses * glass.spirit_mg), facts=told))
        recorded = how.record(book, Pour("loss", tuple(moves)))
        return SessionPoured(session.name, tuple(lines), recorded)


def _portions(session: Session, flights: list[Flight]) -> list[tuple[str, str, int]]:
    """Item, assessor and how many glasses, by item as named and assessor as named: not as they are served."""
    counts = Counter(
        (glass.item, "" if session.test else flight.assessor) for flight in flights for glass in flight.glasses
    )
    people = ("",) if session.test else session.assessors
    pairs = ((item, assessor) for item in session.ids for assessor in people)
    return [(*pair, counts[pair]) for pair in pairs if counts[pair]]


def _entries(numbers: tuple[int, ...]) -> str:
    return f"{'entry' if len(numbers) == 1 else 'entries'} {', '.join(map(str, numbers))}"


def close_session(book: "BookCore", how: "Happening", name: str) -> SessionClosed:
    """Close a session: check its seal and reveal which code was which glass. No blind note is taken afterwards.

    Raises:
        Refused: it was closed before.
        ToConfirm: glasses have no ballot yet.
    """
    with how.transaction(book):
        opened = session_named(book.store, name)
        session = opened.session
        if not opened.is_open:
            raise Refused(
                f"session '{session.name}' was closed by entry {opened.revealed}", "see: pourbook session report"
            )
        flights, salt = unsealed(session.sealed, session.assessors)
        if (waiting := ballots_waiting(book, opened)) and not how.confirm:
            said = f"{counted(waiting, 'ballot')} of session '{session.name}' did not come back yet"
            raise ToConfirm(Question("ballots-missing", said, "take them in first.", {"ballots": waiting}))
        recorded = how.record(book, Reveal(session.name, salt, flights))
        held = _held_for_faults(book, how, session.name)
        revealed, is_sound = key_to(book.store, session_named(book.store, session.name))
        if how.dry_run:  # it stays open, and people are still blind
            return SessionClosed(session.name, session.seal, is_sound, (), {}, (), recorded)
        names = called(book.store, session.ids)
        return SessionClosed(session.name, session.seal, is_sound, revealed, names, held, recorded)


def _held_for_faults(book: "BookCore", how: "Happening", name: str) -> tuple[str, ...]:
    """Items that go on hold, since now it is known in what faults were found."""
    held = []
    for note in list(notes(book.store, About(session=name))):
        for hold in holds_for_faults(book, note.item, note.off_notes, note.entry):
            how.record(book, hold)
            held.append(hold.id)
    return tuple(held)
