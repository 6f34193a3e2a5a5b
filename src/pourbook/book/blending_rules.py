"""The rules of blending sessions with guests: how one is opened."""

from pourbook.book.rules import Case
from pourbook.book.session_rules import pure_alcohol_within_limit
from pourbook.errors import Malformed, Refused
from pourbook.texts import lookup_form

__all__ = ["OF_BLENDINGS", "blending_is_complete", "blending_is_new"]


def blending_is_new(case: Case) -> None:
    """A name is of one blending session and its tasting, whatever its case and spacing."""
    for table in ("blending", "session"):
        question = f"SELECT name FROM {table} WHERE lookup = ?"
        for (name,) in case.known.store.query(question, (lookup_form(case.entry.name),)):
            raise Refused(f"a session is called '{name}' already", "give this one a name of its own")


def blending_is_complete(case: Case) -> None:
    """It has a recipe of its name, and two guests or more, who are different people."""
    if not case.known.store.query("SELECT 1 FROM recipe WHERE name = ?", (case.entry.name,)):
        raise Malformed(f"'{case.entry.name}' has no recipe of its name", "open it: pourbook blending open")
    guests = [lookup_form(guest) for guest in case.entry.guests]
    if len(guests) < 2 or not all(guests) or len(set(guests)) < len(guests):
        raise Malformed("a blending session has two guests or more, each named once", "name each with --guest NAME")


OF_BLENDINGS = (blending_is_new, blending_is_complete, pure_alcohol_within_limit)
