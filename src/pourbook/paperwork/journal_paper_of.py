"""The journal on paper, made from entries of a book.

>>> from pourbook import Book
>>> from pourbook.queries.journal.entries_listed import entries_listed
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 0)
>>> values = journal_values(book, entries_listed(book), ("kind house",))
>>> values.narrowed, [(one.number, one.said) for one in values.entries]
(('kind house',), [(1, ('settings: house Quillmere',))])
"""

from collections.abc import Iterable, Mapping, Sequence
from itertools import islice
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.items import views
from pourbook.book.journal import Logged, lines_of
from pourbook.codes.identifiers import key_of
from pourbook.errors import OutOfRange, Unknown
from pourbook.papers.journal_paper import JournalEntry, JournalPaper, journal_paper
from pourbook.paperwork.imprint import imprint_of
from pourbook.times import moment_of
from pourbook.words.entry_words import lines_in_words, second_in_words, who_in_words

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["PrintedJournal", "journal_printed", "journal_values"]

_MOST_ENTRIES = 20_000


class PrintedJournal(NamedTuple):
    """Entries of the journal as PDF, the values that it says, and remarks for the person who prints it."""

    pdf: bytes
    values: JournalPaper
    remarks: tuple[str, ...]


def journal_printed(
    book: "BookCore", entries: Iterable[Logged], narrowed: Sequence[str] = (), size: str = ""
) -> PrintedJournal:  # fmt: skip
    """Entries of the journal as PDF; every page bears a mark where the book does not agree with its journal.

    It is not recorded: a journal that grew by being printed would never be printed whole.

    Raises:
        Unknown: no entries.
        OutOfRange: more than 20,000 of them.
    """
    from dataclasses import replace

    from pourbook.book.verifying_a_part import book_agrees
    from pourbook.paperwork.unset_characters import unset_on

    with book.store.snapshot():
        values = journal_values(book, entries, narrowed)
        question = book_agrees(book.store, ())
    remarks = list(unset_on(values))
    if question is not None:
        said = question.said[0].upper() + question.said[1:]
        values = replace(values, imprint=replace(values.imprint, disagrees=said))
        remarks.insert(0, f"{question.said}; every page says so")
    return PrintedJournal(journal_paper(values, size or book.settings["paper"]), values, tuple(remarks))


def journal_values(book: "BookCore", entries: Iterable[Logged], narrowed: Sequence[str]) -> JournalPaper:
    """What the paper says of entries; raises as `journal_printed`."""
    listed = tuple(islice(entries, _MOST_ENTRIES + 1))
    if not listed:
        raise Unknown("no entry of the journal matches", "ask for more")
    if len(listed) > _MOST_ENTRIES:
        raise OutOfRange(f"more than {_MOST_ENTRIES} entries on one paper", "print them in parts: --from, --to")
    refs = _refs(book, listed)
    mark = book.settings["decimal_mark"]
    return JournalPaper(
        imprint_of(book), tuple(_entry(one, mark, refs) for one in listed), tuple(narrowed), book.zone
    )  # fmt: skip


def _entry(one: Logged, mark: str, refs: Mapping[str, str]) -> JournalEntry:
    entry = one.entry
    standing = f"in place of entry {entry['replaces']}" if "replaces" in entry else ""
    gone = f"no longer counts: see entry {one.gone}" if one.gone else ""
    return JournalEntry(
        one.number,
        one.happened_us,
        moment_of(entry["recorded"]),
        who_in_words(entry),
        entry.get("where", ""),
        tuple(filter(None, (*lines_in_words(one, mark, refs), second_in_words(entry["body"])))),
        entry.get("reason", ""),
        "; ".join(filter(None, (standing, gone))),
        one.hash,
        entry.get("site", ""),
        entry.get("site_number", 0),
    )


def _refs(book: "BookCore", entries: Iterable[Logged]) -> dict[str, str]:
    """What the house calls the items that entries name."""
    named = {end for one in entries for end in _named(one.entry["body"])}
    return {view.id: view.ref or "" for view in views(book.store, sorted(map(key_of, named))).values()}


def _named(body: Mapping[str, Any]) -> Iterable[str]:
    if "item" in body:
        yield body["item"]
    if "lines" in body:
        yield from (end for line in lines_of(body) for end in (line["from"], line["to"]) if end[0].isupper())
