"""What an import has read and found sound, and what the book refuses of it."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Protocol

from pourbook.book.names import has_refs, with_ref
from pourbook.errors import Fault, PourbookError, ToConfirm
from pourbook.exchange.intake.comparing import Comparing
from pourbook.exchange.tables.columns import Faults

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.entries import Draft
    from pourbook.exchange.tables.taken import Surveyed

__all__ = ["Intake", "NextId", "Progress", "Rows", "TableIntake", "check_refs", "remedy_of"]

Progress = Callable[[int, int], None]
"""Is told how many rows are done, and of how many; 0 of 0 while files are still being read."""

NextId = Callable[[str], str]
"""Gives the next identifier of a kind."""

Rows = Callable[[NextId, str, int], Iterable[tuple[int, "Draft"]]]
"""Drafts, each with its row (0 for none); what follows `NextId` is as in `Intake.drafts`."""


class Intake(Protocol):
    """Files read, ready to be recorded: how many items and pours, notes for the importer, how tables were taken.

    `in_all`, once recorded, holds tables against the book; None for nothing to hold against it.
    """

    items: int
    pours: int
    notes: tuple[str, ...]
    tables: Mapping[str, "Surveyed"]

    @property
    def in_all(self) -> Comparing | None:
        """Holds the tables against the book."""

    def drafts(self, next_id: NextId, who: str, when_us: int) -> Iterator["Draft"]:
        """What happened, in order, read inside the transaction; `who` and `when_us` where the files do not say."""

    def refused(self, refusal: PourbookError) -> None:
        """Remember that the book refuses the draft given last or, after all of them, that something is in the way."""

    def check(self) -> None:
        """Raise what was refused, by rows.

        Raises:
            FaultsFound: anything was.
        """


class TableIntake:
    """The `Intake` of one table or document; messages call it `what`.

    Faults of rows that were left out are raised by `check`, with what the book refuses of the others.
    """

    def __init__(
        self, what: str, file: str, rows: Rows, *, items: int = 0, pours: int = 0, notes: tuple[str, ...] = (),
        faults: Faults | None = None, in_all: Comparing | None = None,
    ) -> None:  # fmt: skip
        self.items, self.pours, self.notes = items, pours, notes
        self._what, self._file, self._rows, self._row = what, file, rows, 0
        self._faults = Faults() if faults is None else faults
        self.tables: Mapping[str, Surveyed] = self._faults.tables
        self.in_all = in_all

    def drafts(self, next_id: NextId, who: str, when_us: int) -> Iterator["Draft"]:
        """Row by row."""
        for row, draft in self._rows(next_id, who, when_us):
            self._row = row
            yield draft
        self._row = 0

    def refused(self, refusal: PourbookError) -> None:
        """A fault of the row."""
        self._faults.add(Fault(self._file, self._row, "", "", refusal.message, remedy_of(refusal)))

    def check(self) -> None:
        """Raise what was refused."""
        self._faults.check(self._what)


def remedy_of(refusal: PourbookError) -> str:
    """What to do; where a person can answer for it, how."""
    if not isinstance(refusal, ToConfirm):
        return refusal.remedy
    lacks = f" and {refusal.lacks}" if refusal.lacks else ""
    return f"{refusal.remedy} If all that is asked is right, import with --confirm{lacks}"


def check_refs(book: "BookCore", file: str, refs: Iterable[tuple[int, str]], faults: Faults, remedy: str) -> None:
    """List rows whose ref an item in the book has now."""
    if has_refs(book.store):
        for row, ref in refs:
            if with_ref(book.store, ref):
                faults.add(Fault(file, row, "ref", ref, "is the ref of an item in the book", remedy))
