"""Papers as copies to look at: the same values and bytes as a printed one, and nothing is recorded.

A paper that leaves the house is printed by an action (`pourbook.actions.print_paper`), which records it. A copy bears
the same mark where the book does not agree with its journal; nobody is asked first, since nothing leaves the house.
"""

from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING

from pourbook.book.as_it_stood import NOW, AsOf
from pourbook.book.verifying_a_part import book_agrees
from pourbook.codes.identifiers import key_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.papers.dossier.dossier_values import Dossier
    from pourbook.paperwork.naming import PeopleBy
    from pourbook.queries.accounts.declared import PeriodAccount
    from pourbook.queries.recalls.recalls import Finding

__all__ = ["account_copy", "dossier_copy", "recall_copy"]

_MOST_CHECKED = 5_000


def dossier_copy(book: "BookCore", lot: str, people: "PeopleBy" = "codes", as_of: AsOf = NOW) -> "Dossier":
    """What the dossier of a lot says; raises as `pourbook.paperwork.dossier_of.dossier_of`."""
    from pourbook.book.lineages import behind
    from pourbook.paperwork.dossier_of import dossier_of

    with book.store.snapshot():
        values = dossier_of(book, lot, people, as_of)
        mark = _mark(book, behind(book.store, key_of(values.code)))
    return replace(values, imprint=replace(values.imprint, disagrees=mark))


def recall_copy(book: "BookCore", number: int, found: "Finding") -> bytes:
    """The report of a recall as PDF, of what is found of it.

    Raises:
        Unknown: no such entry.
    """
    from pourbook.book.journal import entry_of
    from pourbook.papers.recall_report import recall_report
    from pourbook.paperwork.recall_report_of import report_values

    with book.store.snapshot():
        values = report_values(book, entry_of(book.store, number), found)
        mark = _mark(book, {key_of(one.item.id) for one in found.affected.items})
    return recall_report(replace(values, imprint=replace(values.imprint, disagrees=mark)), book.settings["paper"])


def account_copy(book: "BookCore", answer: "PeriodAccount", who: str) -> bytes:
    """The account of a period as PDF; 5,000 of its items are checked against the journal, those first that moved."""
    from pourbook.book.flows import held_or_touched
    from pourbook.papers.account_paper import account_paper
    from pourbook.paperwork.account_paper_of import account_values

    account, declaration = answer
    with book.store.snapshot():
        values = account_values(book, account, declaration, who)
        mark = _mark(book, held_or_touched(book.store, account.start_us, account.end_us)[:_MOST_CHECKED])
    return account_paper(replace(values, imprint=replace(values.imprint, disagrees=mark)), book.settings["paper"])


def _mark(book: "BookCore", items: Collection[int]) -> str:
    question = book_agrees(book.store, items)
    return question.said[0].upper() + question.said[1:] if question else ""
