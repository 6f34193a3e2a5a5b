"""The report of a recall, made from its entry and the findings; and that of what is affected, without a recall."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.contents import EVER
from pourbook.book.groups import sites
from pourbook.book.journal import Logged
from pourbook.book.recall_scope import Suspect
from pourbook.codes.identifiers import key_of
from pourbook.numerals import counted
from pourbook.papers.recall_report import RecallReport, recall_report
from pourbook.paperwork.imprint import imprint_of
from pourbook.paperwork.naming import person
from pourbook.queries.recalls.recalls import Finding, finding, times_of
from pourbook.times import minute
from pourbook.words.scope_words import in_words

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["PrintedFinding", "affected_printed", "report_values"]


class PrintedFinding(NamedTuple):
    """What was `found` to be affected, that as PDF, and remarks for the person who prints it."""

    found: Finding
    pdf: bytes
    remarks: tuple[str, ...]


def affected_printed(
    book: "BookCore", suspects: Sequence[Suspect], until_us: int | None = None, size: str = "", *,
    since_check: bool = False,
) -> PrintedFinding:  # fmt: skip
    """What suspects reach, as a paper that records nothing: so it is printed of a group's book, too.

    Every page bears a mark where the book does not agree with its journal.

    Raises:
        PourbookError: a suspect is unknown, or touched no liquid.
    """
    from pourbook.book.verifying_a_part import book_agrees
    from pourbook.paperwork.unset_characters import unset_on

    with book.store.snapshot():
        found = finding(book.store, suspects, until_us, since_check=since_check)
        values = _unrecorded(book, found, until_us)
        question = book_agrees(book.store, {key_of(one.item.id) for one in found.affected.items})
    remarks = list(unset_on(values))
    if question is not None:
        said = question.said[0].upper() + question.said[1:]
        remarks.append(said)
        values = replace(values, imprint=replace(values.imprint, disagrees=said))
    return PrintedFinding(found, recall_report(values, size or book.settings["paper"]), tuple(remarks))


def _unrecorded(book: "BookCore", found: Finding, until_us: int | None) -> RecallReport:
    as_of_us = book.clock() if until_us in (None, EVER) else until_us
    return RecallReport(
        imprint_of(book), 0, False, "", "", _scope(book, found), "", None, book.head()[1], frozenset(), found,
        book.zone, tuple(_sites(book)), minute(as_of_us or 0, book.zone),
    )  # fmt: skip


def _sites(book: "BookCore") -> Iterator[str]:
    """The sites of a group: what one recorded since it joined is not in the report."""
    for one in sites(book.store):
        yield f"site {one.name} of {one.house}: {counted(one.entries, 'entry', 'entries')} joined"


def _scope(book: "BookCore", found: Finding) -> tuple[str, ...]:
    return tuple(in_words(suspect, found.names, book.zone) for suspect in found.affected.suspects)


def report_values(book: "BookCore", recall: Logged, found: Finding) -> RecallReport:
    """What the paper says."""
    body, who = recall.entry["body"], person(book.store, recall.entry["who"])
    return RecallReport(
        imprint_of(book),
        recall.number,
        bool(body["mock"]),
        recall.entry.get("reason", ""),
        f"{who.id} {who.name}".strip(),
        _scope(book, found),
        str(body["threshold"]),
        times_of(recall),
        body["head"],
        frozenset(body["held"]),
        found,
        book.zone,
    )
