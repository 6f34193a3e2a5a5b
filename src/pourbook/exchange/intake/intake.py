"""What every import shares: a file known already is noticed, all is recorded or nothing, refusals name rows.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     refuse_known(book, {"pours.csv": "5a" * 32})  # nothing was imported yet
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import Draft
from pourbook.book.items import facts
from pourbook.book.journal import parsed
from pourbook.book.recorded import Recorded
from pourbook.book.recording import record_in_order
from pourbook.codes.identifiers import is_issued, write
from pourbook.errors import Fault, InTheWay, PourbookError, Refused
from pourbook.exchange.tables.columns import Faults

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["NewNumbers", "Progress", "TakenIn", "record_all", "record_rows", "refs_taken", "refuse_known"]

Progress = Callable[[int, int], None]
"""Is told how many rows are done, and of how many; 0 of 0 while files are still being read."""


class TakenIn(NamedTuple):
    """What an import did (or, rehearsed, would do).

    Attributes:
        items: how many items it opened.
        pours: how many rows of pours it recorded.
        entries: how many entries the journal got by it.
        gains: items gauged up because more was taken than the book held, within tolerance, with the mg.
        files: file name to SHA-256.
        notes: what the person who imports should know.
    """

    items: int
    pours: int
    entries: int
    gains: tuple[tuple[str, int], ...]
    files: Mapping[str, str]
    notes: tuple[str, ...] = ()


class _RehearsedError(Exception):
    """Unwinds the transaction of a rehearsal."""


def refuse_known(book: "BookCore", files: Mapping[str, str]) -> None:
    """Refuse files that were imported before.

    Args:
        book: whose journal says what was imported.
        files: file name to SHA-256.

    Raises:
        Refused: the bytes of one of them were imported before, under whatever name.
    """
    for number, bytes_ in book.store.query("SELECT number, bytes FROM entry WHERE kind = 'imported' ORDER BY number"):
        entry = parsed(bytes_)
        before = set(entry["body"]["files"].values())
        for name, digest in files.items():
            if digest in before:
                raise Refused(
                    f"'{name}' was imported before, on {entry['recorded'][:10]} (entry {number})",
                    "import it again only if everything in it happened twice: --again",
                    file=name,
                )


def record_all(
    book: "BookCore",
    drafts: Callable[[], Iterable[Draft]],
    refused: Callable[[Draft, PourbookError], None],
    in_the_way: Callable[[InTheWay], None],
    faults: Callable[[], Faults],
    *,
    what: str,
    dry_run: bool,
) -> Recorded:
    """Record drafts in one transaction; all of them, or none and every fault.

    Args:
        book: into which.
        drafts: called inside the transaction; they come in the order they happened.
        refused: is told each draft that the book refuses, before the next one is asked for.
        in_the_way: is told when entries recorded earlier could no longer have happened.
        faults: called afterwards: what was refused, as faults.
        what: was imported, as messages name it.
        dry_run: do everything and keep nothing.

    Raises:
        FaultsFound: anything was refused.
    """
    answer: Recorded | None = None
    try:
        with book.writing():
            try:
                answer = record_in_order(book.store, drafts(), book.clock(), refused)
            except InTheWay as refusal:
                in_the_way(refusal)
            faults().check(what)
            if dry_run:
                raise _RehearsedError
    except _RehearsedError:
        pass
    assert answer is not None
    book.store.settle()
    return answer


def record_rows(
    book: "BookCore", file: str, rows: Callable[[], Iterable[tuple[int, Draft]]], *, what: str, dry_run: bool
) -> Recorded:
    """Record drafts of one table, each with its row number (0: of none), as `record_all` does.

    Args:
        book: into which.
        file: as faults name it.
        rows: called inside the transaction; they come in the order they happened.
        what: was imported, as messages name it.
        dry_run: do everything and keep nothing.

    Raises:
        FaultsFound: anything was refused.
    """
    faults = Faults()
    at_row = 0

    def drafts() -> Iterator[Draft]:
        nonlocal at_row
        for row, draft in rows():
            at_row = row
            yield draft

    def refused(_draft: Draft, refusal: PourbookError) -> None:
        faults.add(Fault(file, at_row, "", "", refusal.message, refusal.remedy))

    def in_the_way(refusal: InTheWay) -> None:
        faults.add(Fault(file, 0, "", "", refusal.message, refusal.remedy))

    return record_all(book, drafts, refused, in_the_way, lambda: faults, what=what, dry_run=dry_run)


# -- names of new items -----------------------------------------------------------------


class NewNumbers:
    """The next identifiers of each kind, one after the other; make it inside the transaction."""

    def __init__(self, book: "BookCore") -> None:
        self._book = book
        self._last: dict[str, int] = {}

    def take(self, kind: str) -> str:
        """The next identifier of a kind."""
        number = self._last[kind] + 1 if kind in self._last else int(self._book.next_id(kind)[1:-1])
        while not is_issued(kind, number):
            number += 1
        self._last[kind] = number
        return write(kind, number)


def refs_taken(book: "BookCore", refs: Iterable[tuple[int, str]]) -> Iterator[tuple[int, str]]:
    """Of rows and their refs, those whose ref an item in the book has now."""
    if not book.store.query("SELECT 1 FROM fact WHERE name = 'ref' LIMIT 1"):
        return
    for row, ref in refs:
        items = book.store.query("SELECT DISTINCT item FROM fact WHERE name = 'ref' AND value = ?", (ref,))
        if any(facts(book.store, key).get("ref") == ref for (key,) in items):
            yield row, ref
