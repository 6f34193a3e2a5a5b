"""The book as a file that is opened: recording, looking up, verifying. `pourbook.Book` is what people use.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> _ = book.record(
...     Draft(Item(cask, {"ref": "Row 3/12", "wood": "virgin chestnut"}), 0, "M. Aldane"),
...     Draft(Pour("fill", (Move("origin", cask, read_amount("200 l"), read_strength("63.5")),)), 0, "M. Aldane"),
... )
>>> f"{book.show('row 3/12'.title()).strength_20c:.2f} % vol"
'63.50 % vol'
>>> book.verify().faults
()
"""

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from functools import cached_property
from types import TracebackType
from typing import TYPE_CHECKING, Self

from pourbook.book import items as reading
from pourbook.book import names, numbering
from pourbook.book import settings as house
from pourbook.book.done_again import done_again
from pourbook.book.store import Store
from pourbook.times import house_zone, now_us

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.book.backup import Progress
    from pourbook.book.beside_book import BesideBook
    from pourbook.book.consequences import Recorded
    from pourbook.book.entries import Draft
    from pourbook.book.verifying import Verified
    from pourbook.signing.ed25519 import Signer

__all__ = ["BookCore"]


class _DryRunError(Exception):
    """Unwinds the transaction of a dry run."""


class BookCore:
    """One house's record: opened, recorded in and looked up. `pourbook.Book` adds every action and query.

    `is_dry_run` tells that whatever is recorded now is undone at the end of a dry run; `kept` are the numbers of the
    first and the last entry that were recorded since it was opened, None before any. `signer`, where somebody gave one,
    holds the key that papers are signed with, which is kept elsewhere. `copy_before_upgrade` is
    the back-up made when it was opened as a book of an earlier format; empty where it was none.
    """

    def __init__(self, store: Store, clock: Callable[[], int] = now_us) -> None:
        self.store = store
        self.clock = clock
        self.is_dry_run = False
        self.kept: tuple[int, int] | None = None
        self.signer: Callable[[], Signer] | None = None
        self.copy_before_upgrade = ""

    # -- opening and closing -----------------------------------------------------------

    @classmethod
    def open(cls, path: "os.PathLike[str] | str", clock: Callable[[], int] = now_us) -> Self:
        """The book at that path.

        Raises:
            StoreError: it does not exist, is not a book, is damaged, or a later version wrote it.
        """
        store, copy = Store.open(path), ""
        if store.has_older_tables:
            from pourbook.book.upgrading import upgrade

            try:
                copy = upgrade(store)
            except BaseException:
                store.close()
                raise
        book = cls(store, clock)
        book.copy_before_upgrade = copy
        return book

    @classmethod
    def create(
        cls, path: "os.PathLike[str] | str", *, house: str, who: str = "pourbook",
        login: str = "", clock: Callable[[], int] = now_us, **settings: str,
    ) -> Self:  # fmt: skip
        """A new book (`":memory:"` for one that is not kept) with the house's settings as its first entry.

        Raises:
            StoreError: the file already exists, or the folder cannot be written.
            Malformed: an unknown setting or value.
        """
        from pourbook.book.entries import Draft, House
        from pourbook.book.settings import checked

        chosen = checked({"house": house, **settings})
        book = cls(Store.create(path), clock)
        try:
            book.record(Draft(House(chosen), clock(), who, login=login))
        except BaseException:
            book.store.remove()  # nothing but empty tables: the name is free again
            raise
        return book

    @property
    def files(self) -> tuple[str, ...]:
        """The files behind it, which nothing else may write."""
        return self.store.files

    @property
    def path(self) -> str:
        """By which it is opened again: its file by its full name, or its address."""
        return self.store.files[0] if self.store.files else self.store.path

    @property
    def engine(self) -> str:
        """Name and version of what keeps it."""
        return self.store.engine

    @cached_property
    def beside(self) -> "BesideBook":
        """What the house keeps beside it: accounts, sign-ins, work in hand."""
        from pourbook.book.beside_book import BesideBook  # the station alone, and its accounts
        from pourbook.book.journal import first_hash

        return BesideBook(self.store.beside, self.clock, first_hash(self.store) if self.store.beside else "")

    def close(self) -> None:
        """Close the file, and the one beside it."""
        if "beside" in self.__dict__:
            self.beside.close()
        self.store.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    # -- recording ---------------------------------------------------------------------

    @cached_property
    def is_group(self) -> bool:
        """Whether it is the book of a group, which only repeats what its sites recorded."""
        from pourbook.book.journal import is_group  # most verbs do without it

        return is_group(self.store)

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction around several calls: all of them are kept, or none, and its numbers are its own."""
        is_inner = self.store.is_writing
        with self.store.transaction():
            before = self.head_number()
            yield
            after = self.head_number()
        if not is_inner and after > before:
            self.keeps(before + 1, after)

    def keeps(self, first: int, last: int) -> None:
        """Entries of these numbers stand now, whatever fails after."""
        self.kept = (self.kept[0] if self.kept else first, last)

    def head_number(self) -> int:
        """Number of the last entry; 0 before the first."""
        return int(self.store.query("SELECT coalesce(max(number), 0) FROM entry")[0][0])

    @contextmanager
    def undone(self) -> Iterator[None]:
        """As `writing`, but nothing is kept: what is read inside is what would be.

        It is tried in a copy, so that nobody waits for it; inside another transaction, in that one.
        """
        outside, self.is_dry_run = self.is_dry_run, True
        try:
            with ExitStack() as stack:
                if self.store.can_copy and not self.store.is_writing:
                    stack.enter_context(self.store.working_in(stack.enter_context(self.store.copied())))
                with self.writing():
                    yield
                    raise _DryRunError
        except _DryRunError:
            pass
        finally:
            self.is_dry_run = outside

    def record(self, *drafts: "Draft", dry_run: bool = False) -> "Recorded":
        """Append entries, all of them or none; a dry run answers and keeps nothing.

        Raises:
            PourbookError: a rule of the book refuses; nothing was changed.
        """
        return self.record_many(drafts, dry_run=dry_run)

    def record_many(self, drafts: "Iterable[Draft]", *, dry_run: bool = False) -> "Recorded":
        """As `record`, for any number of drafts."""
        return done_again(self, self._record, drafts, dry_run)

    def _record(self, drafts: "Iterable[Draft]", dry_run: bool) -> "Recorded":
        from pourbook.book.recording import record  # reading verbs do without it

        with self.undone() if dry_run else self.writing():
            return record(self.store, drafts, self.clock())._replace(is_dry_run=self.is_dry_run)

    def next_id(self, kind: str) -> str:
        """The next identifier of a kind; take it inside `writing` when others record too."""
        return numbering.next_id(self.store, kind)

    # -- reading -----------------------------------------------------------------------

    @property
    def settings(self) -> dict[str, str]:
        """The house's settings."""
        return house.settings(self.store)

    @property
    def zone(self) -> "tzinfo":
        """The house's time zone."""
        return house_zone(self.settings["zone"])

    def find(self, text: str) -> str:
        """The identifier of what was typed or scanned.

        Raises:
            Mistyped: an identifier whose check character does not agree.
            Unknown: nothing goes by that name.
            Ambiguous: several items go by that name.
        """
        return names.find(self.store, text)

    def beginning_with(self, text: str) -> list[str]:
        """Identifiers and outside names that begin with this text, a few of each."""
        return names.beginning_with(self.store, text)

    def show(self, text: str, at_us: int | None = None) -> reading.ItemView:
        """An item: its facts and what it holds, now or at a moment."""
        return reading.view(self.store, self.find(text), at_us)

    def stock(self, at_us: int | None = None, kind: str | None = None) -> Iterator[reading.ItemView]:
        """Every item (of a kind) that holds liquid."""
        return reading.on_hand(self.store, at_us, kind)

    def head(self) -> tuple[int, str]:
        """Number of the last entry, and the journal's head hash as hexadecimal text; of a group, as `group_head`."""
        from pourbook.book.journal import last_entry  # most verbs do without it

        if self.is_group:
            from pourbook.book.groups import group_head

            return group_head(self.store)
        number, entry_hash = last_entry(self.store)
        return number, entry_hash.hex() if number else ""

    def verify(self, progress: "Progress | None" = None) -> "Verified":
        """Check the chain of hashes, and every projection against the journal; `progress` hears how far it is."""
        from pourbook.book.rebuilding import unheard
        from pourbook.book.verifying import halves, verify
        from pourbook.book.verifying_apart import both

        has_own = self.store.is_writing  # what no other process sees yet
        with self.store.snapshot():
            return verify(self.store, halves if has_own else both, progress or unheard)
