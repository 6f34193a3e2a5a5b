"""What every import shares: a file known already is noticed, all is recorded or nothing, refusals name rows.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     refuse_known(book, {"pours.csv": "5a" * 32})  # nothing was imported yet
"""

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import Draft
from pourbook.book.journal import parsed
from pourbook.book.recording import Recorded, record_in_order
from pourbook.errors import InTheWay, PourbookError, Refused
from pourbook.exchange.columns import Faults

if TYPE_CHECKING:
    from pourbook.book.book import Book

__all__ = ["Progress", "TakenIn", "record_all", "refuse_known"]

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
    """

    items: int
    pours: int
    entries: int
    gains: tuple[tuple[str, int], ...]
    files: Mapping[str, str]


class _RehearsedError(Exception):
    """Unwinds the transaction of a rehearsal."""


def refuse_known(book: "Book", files: Mapping[str, str]) -> None:
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
                )


def record_all(
    book: "Book",
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
    return answer
