"""A book moved to another file or server, or restored there: entries as they are, tables made anew, all of it verified.

Entries travel in portions, each of which stands once it was written. What is half moved is marked, so that nobody works
with it; whoever moves it again goes on after the last portion.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.addresses import is_address, located
from pourbook.book.backup import backup, opened_copy
from pourbook.book.chain_checked import check_chain
from pourbook.book.coded_names import OUTSIDE_THE_CHAIN
from pourbook.book.copying import bring
from pourbook.book.groups import ending, sites
from pourbook.book.journal import hash_of, is_group, last_entry
from pourbook.book.rebuilding import unheard
from pourbook.book.store import MOVING, Store
from pourbook.book.upgrading import upgrade
from pourbook.book.verifying import repair, verify
from pourbook.book.verifying_apart import both
from pourbook.errors import Damaged, StoreError
from pourbook.numerals import counted

if TYPE_CHECKING:
    from pourbook.book.backup import Progress

__all__ = ["Moved", "move", "restore"]

_PORTION = 10_000
_ROUNDS = 3
"""How often what was recorded meanwhile is fetched, before people are asked to pause."""

_MADE_ANEW = {"gone": "0", "place": "number"}
"""Columns of `entry` that follow from later entries."""


class Moved(NamedTuple):
    """A book that is at another place, too.

    Attributes:
        source: where it was read from.
        target: where it is now.
        entries: how many, there as here.
        head: hash of the last of them, as hexadecimal text.
        is_group: it is the book of a group, in which nobody records: its sites join it.
    """

    source: str
    target: str
    entries: int
    head: str
    is_group: bool = False


def move(source: Store, address: str, progress: "Progress" = unheard, *, is_new: bool = False) -> Moved:
    """Bring the book to a new file or server; what was moved there before stays, and the rest follows.

    With `is_new` no whole book may be there yet.

    The book itself is only read. What others record in it meanwhile comes along.

    Raises:
        StoreError: something else is there, it cannot be written, or people record faster than it can follow.
        Damaged: the journal is damaged, or what arrived is not what was sent.
    """
    whole, _ = last_entry(source)
    _, _, faults = check_chain(source, lambda done: progress("checking", done, whole))
    if faults:
        raise Damaged(faults[0].problem, faults[0].remedy)
    with _receiving(source, address, is_new=is_new) as target:
        for _ in range(_ROUNDS):
            _bring(source, target, progress)
            if target.is_moving:
                repair(target)
            arrived = verify(target, both, progress)
            if arrived.faults:
                raise Damaged(
                    f"what is at '{target.path}' does not agree with itself: {arrived.faults[0]}",
                    "repair it, or take it away and move the book again",
                )
            if (arrived.entries, arrived.head) == (wanted := ending(source)):
                if target.is_moving:
                    target.mark_version()
                return Moved(source.path, target.path, *wanted, is_group(source))
        raise StoreError(
            f"people record in '{source.path}' faster than it is moved: its entries after {arrived.entries} are not in"
            f" '{target.path}' yet",
            "let nobody record for a while, and move it again: it goes on from there",
        )


def restore(copy: str, path: str, progress: "Progress" = unheard) -> int:
    """A book at a new path or address from a back-up, which stays as it is; the number of its entries.

    On a server it is moved; where that was interrupted, it goes on. Raises as `move`, and as `backup`.
    """
    if not Path(copy).is_file():
        raise StoreError(f"no back-up found at '{copy}'", "check the path")
    with opened_copy(Path(copy)) as store:
        if not is_address(target := str(located(path))):
            return backup(store, path, progress)
        if store.has_older_tables:
            upgrade(store)
        return move(store, target, progress, is_new=True).entries


@contextmanager
def _receiving(source: Store, address: str, *, is_new: bool) -> Iterator[Store]:
    """What is at that address, made where nothing is, if it holds a beginning of this book and nothing else."""
    target = Store.open_for_moving(address)
    try:
        if target.elsewhere == source.elsewhere != "":
            raise StoreError(f"'{address}' is the book itself", "name another place")
        if is_new and not target.is_moving:
            raise StoreError(f"'{address}' already exists", "choose another place")
        if not _begins(target, source):
            ahead = _begins(source, target)
            problem = "went on where this one ends" if ahead else "is another one, or went on by itself"
            raise StoreError(f"the book at '{address}' {problem}", "name a place where no book is")
        yield target
    finally:
        target.close()


def _begins(one: Store, other: Store) -> bool:
    """Whether what one has is the beginning of what the other has; of a group, of each site's journal."""
    number, head = last_entry(one)
    if is_group(one) or (is_group(other) and number):
        there = "SELECT hash FROM site_entry WHERE code = ? AND number = ?"
        return is_group(one) and all(
            other.query(there, (site.code, site.entries)) == [(site.head,)] for site in sites(one) if site.entries
        )
    return not number or hash_of(other, number) == head.hex()


def _bring(source: Store, target: Store, progress: "Progress") -> None:
    """Bring all that is not there yet; a whole book that gets some is marked as one that is moved."""
    if is_group(source):
        _bring_sites(source, target)
    else:
        _bring_entries(source, target, progress)


def _bring_sites(source: Store, target: Store) -> None:
    """Bring the journals of a group's sites, all of them or none; its entries are derived where they arrive."""
    if ending(target) == ending(source):
        return
    target.mark_version(MOVING)
    with source.snapshot(), target.transaction():
        bring(source, target, ("site", "site_entry", *OUTSIDE_THE_CHAIN))


def _bring_entries(source: Store, target: Store, progress: "Progress") -> None:
    """Bring all entries that are not there yet, in portions."""
    columns = source.columns("entry")
    asked = ", ".join(_MADE_ANEW.get(column, column) for column in columns)
    done, _ = last_entry(target)
    whole, _ = last_entry(source)
    if done < whole and not target.is_moving:
        target.mark_version(MOVING)
    with source.snapshot():
        _bring_names(source, target)
        rows = source.stream(f"SELECT {asked} FROM entry WHERE number > ? ORDER BY number", (done,))
        while portion := list(islice(rows, _PORTION)):
            with target.transaction():
                if last_entry(target)[0] != done:
                    raise StoreError(f"somebody else is moving a book to '{target.path}'", "let one of you go on alone")
                target.insert_many("entry", columns, portion)
            done += len(portion)
            progress("moving", done, max(whole, done))


def _bring_names(source: Store, target: Store) -> None:
    """Make the table of names, and what belongs to it, as it is in the book; it is small."""
    gone = "SELECT reference FROM person_name WHERE name <> ''"
    if withdrawn := set(target.query(gone)) - set(source.query(gone)):
        who = counted(len(withdrawn), "person who was", "people who were")
        raise StoreError(
            f"'{target.path}' still names {who} withdrawn since", "delete that copy, and move the book again"
        )
    with target.transaction():
        bring(source, target, OUTSIDE_THE_CHAIN)
