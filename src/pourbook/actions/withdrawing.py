"""A person withdrawn from the book: the name goes from entries, tables and papers to come; the chain stays whole."""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.accounts import end_account
from pourbook.actions.happening import Happening
from pourbook.book.entries import Note
from pourbook.book.journal import refuse_in_a_group
from pourbook.book.names import with_ref
from pourbook.book.sessions import sessions
from pourbook.book.withdrawal import Withdrawal, named_so, withdraw
from pourbook.codes.identifiers import kind_of, read_or_none
from pourbook.errors import Ambiguous, Question, Refused, answered
from pourbook.queries.people.accounts import holding, person_called
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Withdrawn", "withdraw_person"]

_NAMING = ("approvers", "contact")
"""Settings that name people."""


class Withdrawn(NamedTuple):
    """A person who was withdrawn.

    Attributes:
        person: identifier on the badge; empty for one without.
        withdrawal: what that came to.
        ended: whether an account of theirs was ended.
        is_dry_run: nothing of it was kept.
    """

    person: str
    withdrawal: Withdrawal
    ended: bool
    is_dry_run: bool


def withdraw_person(book: "BookCore", how: Happening, name: str) -> Withdrawn:
    """Withdraw a person, by name or badge, and end their account. There is no way back.

    With a badge it is noted of the person who did it, and why.

    Raises:
        Unknown: the book names nobody so.
        Ambiguous: several people are called so.
        Refused: this is a group's book; the house's settings, or an open session, name them; or they are the last
            manager.
        ToConfirm: nobody said yes.
    """
    if not read_or_none(name) and len([one for one in with_ref(book.store, name) if kind_of(one) == "person"]) > 1:
        raise Ambiguous(f"several people are called '{name}'", "give the identifier on the badge")
    refuse_in_a_group(book.store)
    with how.transaction(book):
        person = person_called(book, name)
        called = book.show(person).ref if person else name
        named_so(book.store, name, person)
        _check_unneeded(book, called)
        answered([_for_good(called)], by_person=how.confirm)
        is_ended = bool(person and holding(book, person))
        if is_ended:
            end_account(book, how, person)
        withdrawal = withdraw(book.store, name, person)
        if person:
            is_own = lookup_form(how.who) in map(lookup_form, (called, name, person))
            by = how._replace(who=withdrawal.references[0], login="") if is_own else how
            by.record(book, Note(person, "name withdrawn"))
        if not book.is_dry_run and (row := book.beside.account(person) if person else None):
            with book.beside.transaction():
                book.beside.keep_account(
                    row._replace(name=withdrawal.references[0], ended_us=row.ended_us or book.clock())
                )
        answer = Withdrawn(person, withdrawal, is_ended, book.is_dry_run)
    if not answer.is_dry_run:
        book.store.settle()
    return answer


def _for_good(called: str) -> Question:
    return Question(
        "withdrawn-for-good",
        f"{called} is withdrawn for good: nobody can say afterwards who the reference in the journal stands for",
        "if the law or the house still needs the name, wait. Back-ups, exports and printed papers keep it.",
    )


def _check_unneeded(book: "BookCore", called: str) -> None:
    """Nobody is withdrawn whom the house's settings or an open session still need."""
    form, told = lookup_form(called), book.settings
    for setting in _NAMING:
        if form in lookup_form(told[setting]):
            raise Refused(
                f"the setting '{setting}' names {called}", f"change it first: pourbook settings --set {setting}=…"
            )
    for opened in sessions(book.store, still_open=True):
        if form in map(lookup_form, opened.session.assessors):
            raise Refused(
                f"{called} tastes in session '{opened.session.name}', which is open",
                "close it first: pourbook session close",
            )
