"""The report of a recall, made from its entry and the findings."""

from typing import TYPE_CHECKING

from pourbook.book.journal import Logged
from pourbook.papers.recall_report import RecallReport
from pourbook.paperwork.imprint import imprint_of
from pourbook.paperwork.naming import person
from pourbook.queries.recalls.recalls import Finding, times_of
from pourbook.words.scope_words import in_words

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["report_values"]


def report_values(book: "BookCore", recall: Logged, found: Finding) -> RecallReport:
    """What the paper says."""
    body, who = recall.entry["body"], person(book.store, recall.entry["who"])
    return RecallReport(
        imprint_of(book),
        recall.number,
        bool(body["mock"]),
        recall.entry.get("reason", ""),
        f"{who.id} {who.name}".strip(),
        tuple(in_words(suspect, found.names, book.zone) for suspect in found.affected.suspects),
        str(body["threshold"]),
        times_of(recall),
        body["head"],
        frozenset(body["held"]),
        found,
        book.zone,
    )
