"""The rules of tasting sessions: how they are opened and closed, and of the blind notes between.

>>> from pourbook.book.settings import DEFAULTS
>>> int(DEFAULTS["most_glasses"]) > 0
True
"""

from pourbook.book.entries import PURPOSES
from pourbook.book.names import with_fact
from pourbook.book.rules import Case
from pourbook.book.sealing import is_seal, unsealed
from pourbook.book.sessions import Opened, session_named
from pourbook.book.tasting_notes import About, notes
from pourbook.errors import Malformed, OutOfRange, Question, Refused, Unknown
from pourbook.numerals import counted, shown
from pourbook.texts import lookup_form

__all__ = [
    "OF_REVEALS", "OF_SESSIONS", "blind_note_has_its_glass", "glasses_of_an_evening", "pure_alcohol_within_limit",
    "reveal_is_what_was_sealed", "session_is_complete", "session_is_new",
]  # fmt: skip


def session_is_new(case: Case) -> None:
    """A name is of one session, whatever its case and spacing; that of a blending session is kept for its blends."""
    rows = case.known.store.query("SELECT name FROM session WHERE lookup = ?", (lookup_form(case.entry.name),))
    if rows:
        raise Refused(f"a tasting session is called '{rows[0][0]}' already", "give this one a name of its own")
    blendings = case.known.store.query("SELECT name FROM blending WHERE lookup = ?", (lookup_form(case.entry.name),))
    for (name,) in blendings:
        if not set(with_fact(case.known.store, "blending", name)) & set(case.entry.ids):
            raise Refused(
                f"a blending session is called '{name}' already",
                "give this one a name of its own; the blends of that one are tasted by: pourbook blending taste",
            )


def session_is_complete(case: Case) -> None:
    """A session has a purpose, glasses that are in the book, and assessors who are different people."""
    session = case.entry
    if session.purpose not in PURPOSES:
        raise Malformed(f"'{session.purpose}' is not a purpose of a session", f"choose from: {', '.join(PURPOSES)}")
    if not session.name.strip():
        raise Malformed("the session has no name", "give it one")
    for identifier in session.ids:
        case.known.liquid_key(identifier)
    known: set[str] = set()
    for assessor in session.assessors:
        if not assessor.strip() or lookup_form(assessor) in known:
            raise Malformed(f"assessor '{assessor}' is named twice, or not at all", "name everybody once")
        known.add(lookup_form(assessor))
    flights, salt = unsealed(session.sealed, session.assessors)
    if not is_seal(session.seal, flights, salt) or tuple(one.assessor for one in flights) != session.assessors:
        raise Malformed("what is sealed is not this session", "open it with: pourbook session open")


def glasses_of_an_evening(case: Case) -> Question | None:
    """A palate tires: more glasses than the house wants in a session are queried."""
    count, most = case.entry.glasses_each, int(float(case.known.settings["most_glasses"]))
    if count <= most:
        return None
    return Question(
        "many-glasses",
        f"{counted(count, 'glass', 'glasses')} for each assessor, where the house offers {most} at most in a session",
        "split it over two sessions.",
        {"glasses": count, "most": most},
    )


def pure_alcohol_within_limit(case: Case) -> Question | None:
    """Nobody is offered more pure alcohol than the house's limit for a session with or without a spittoon."""
    session, known = case.entry, case.known
    name = "alcohol_limit_g" if session.swallowed else "alcohol_spat_limit_g"
    offered_g, limit_g = session.alcohol_mg / 1000, float(known.settings[name])
    if offered_g <= limit_g:
        return None
    how = "without a spittoon" if session.swallowed else "with a spittoon"
    return Question(
        "much-alcohol",
        f"{shown(offered_g, 1, known.mark)} g of pure alcohol for each assessor, where the house's limit {how} is"
        f" {shown(limit_g, 1, known.mark)} g",
        "offer smaller glasses, fewer of them, or reduce them further.",
        {"offered_mg": session.alcohol_mg, "limit": known.settings[name]},
    )


OF_SESSIONS = (session_is_new, session_is_complete, glasses_of_an_evening, pure_alcohol_within_limit)


def reveal_is_what_was_sealed(case: Case) -> None:
    """A session is revealed once, and says what was sealed when it was opened."""
    reveal = case.entry
    opened = session_named(case.known.store, reveal.session)
    if not opened.is_open:
        said = f"session '{reveal.session}' was closed by entry {opened.revealed}"
        raise Refused(said, "see: pourbook session report")
    if not is_seal(opened.session.seal, reveal.flights, reveal.salt):
        raise Malformed("the codes to be revealed are not those that were sealed", "close it: pourbook session close")


def _check_picks(case: Case, opened: Opened) -> None:
    """An assessor of a test picks one glass, or the two of a tetrad."""
    note, session = case.entry, opened.session
    most = _PICKS.get(session.test, 1)
    picked = [
        one.code for one in notes(case.known.store, About(session=session.name))
        if one.assessor == note.assessor and one.rank == 1 and one.code != note.code
    ]  # fmt: skip
    if len(picked) >= most:
        raise Refused(
            f"{note.assessor} has picked {' and '.join(picked)} already, and a {session.test} test asks for"
            f" {counted(most, 'glass', 'glasses')}",
            "if that was a mistake, void its entry first",
        )


_PICKS = {"tetrad": 2}
"""How many glasses answer a test, where it is not one."""

OF_REVEALS = (reveal_is_what_was_sealed,)


def blind_note_has_its_glass(case: Case) -> None:
    """A blind note is of a glass that its assessor has in an open session, and the only one of it."""
    note, store = case.entry, case.known.store
    if not note.code:
        return
    opened = session_named(store, note.session)
    if not opened.is_open:
        raise Refused(
            f"session '{opened.session.name}' is closed, so nobody is blind any more",
            "record an open tasting note of the item: pourbook taste",
        )
    flights, _ = unsealed(opened.session.sealed, opened.session.assessors)
    own = next((one for one in flights if one.assessor == note.assessor), None)
    if own is None:
        raise Unknown(f"{note.assessor} is no assessor of session '{opened.session.name}'", "check the name")
    if note.code not in (glass.code for glass in own.glasses):
        raise Unknown(f"{note.assessor} has no glass {note.code} in '{opened.session.name}'", "check code and name")
    if note.rank > opened.session.glasses_each:
        raise OutOfRange(
            f"rank {note.rank} among {counted(opened.session.glasses_each, 'glass', 'glasses')}", "give 1 for the first"
        )
    if opened.session.test and note.rank == 1:
        _check_picks(case, opened)
    rows = store.query("SELECT entry FROM tasting WHERE session = ? AND code = ?", (opened.session.name, note.code))
    if rows:
        raise Refused(
            f"glass {note.code} of {note.assessor} has its ballot already, in entry {rows[0][0]}",
            "if that one was a mistake, void it first",
        )
