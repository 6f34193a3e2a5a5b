"""The circumstances of every action: when, by whom, where, why, and what was confirmed."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import Draft

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.book.entries import Entry, Second

__all__ = ["Happening"]


class Happening(NamedTuple):
    """The circumstances of an action.

    Attributes:
        who: who did it; a name or a person's identifier.
        when_us: when it happened; None is now.
        where: station or place; may be empty.
        reason: why; a correction needs it.
        confirm: every question of the book's rules is answered with yes.
        dry_run: do everything, answer, and keep nothing.
        login: the name under which the computer knows whoever records it; a person logged in at a station, say.
        second: another person who agrees, with their key or by their account; None for nobody.
    """

    who: str
    when_us: int | None = None
    where: str = ""
    reason: str = ""
    confirm: bool = False
    dry_run: bool = False
    login: str = ""
    second: "Second | None" = None

    def moment(self, book: "BookCore") -> int:
        """When it happened, in microseconds."""
        return book.clock() if self.when_us is None else self.when_us

    def draft(self, book: "BookCore", entry: "Entry", *, when_us: int | None = None, replaces: int = 0) -> Draft:
        """An entry under these circumstances; `when_us` stands before that of the action."""
        moment = self.moment(book) if when_us is None else when_us
        return Draft(entry, moment, self.who, self.reason, self.where, replaces, self.confirm, self.login, self.second)

    def record(self, book: "BookCore", *entries: "Entry") -> "Recorded":
        """Record entries under these circumstances, all of them or none."""
        return self.record_drafts(book, *(self.draft(book, entry) for entry in entries))

    def record_drafts(self, book: "BookCore", *drafts: Draft) -> "Recorded":
        """Record drafts of one's own, all of them or none.

        A dry run keeps nothing; inside `transaction` it is undone at the end, so that what comes next can be tried.
        """
        return book.record(*drafts, dry_run=self.dry_run and not book.is_dry_run)

    @contextmanager
    def transaction(self, book: "BookCore") -> Iterator[None]:
        """One transaction around all that an action reads and records; a dry run keeps nothing.

        An action inside another sees what that one recorded; a dry run is undone once, at the end.
        """
        with book.undone() if self.dry_run and not book.is_dry_run else book.writing():
            yield
