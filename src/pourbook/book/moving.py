"""A book moved to another file or server: its entries as they are, its tables made anew from them, all of it verified.

Entries travel in portions, each of which stands once it was written. What is half moved is marked, so that nobody works
with it; whoever moves it again goes on after the last portion.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.chain_checked import check_chain
from pourbook.book.journal import hash_of, last_entry
from pourbook.book.store import MOVING, Store
from pourbook.book.verifying import repair, unheard, verify
from pourbook.book.verifying_apart import both
from pourbook.errors import Damaged, StoreError

if TYPE_CHECKING:
    from pourbook.book.backup import Progress

__all__ = ["Moved", "move"]

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
    """

    source: str
    target: str
    entries: int
    head: str


def move(source: Store, address: str, progress: "Progress" = unheard) -> Moved:
    """Bring the book to a new file or server; what was moved there before stays, and the rest follows.

    The book itself is only read. What others record in it meanwhile comes along.

    Raises:
        StoreError: something else is there, it cannot be written, or people record faster than it can follow.
        Damaged: the journal is damaged, or what arrived is not what was sent.
    """
    whole, _ = last_entry(source)
    _, _, faults = check_chain(source, lambda done: progress("checking", done, whole))
    if faults:
        raise Damaged(faults[0].problem, faults[0].remedy)
    with _receiving(source, address) as target:
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
            entries, head = last_entry(source)
            if (arrived.entries, arrived.head) == (entries, head.hex()):
                if target.is_moving:
                    target.mark_version()
                return Moved(source.path, target.path, entries, arrived.head)
        raise StoreError(
            f"people record in '{source.path}' faster than it is moved: its entries after {arrived.entries} are not in"
            f" '{target.path}' yet",
            "let nobody record for a while, and move it again: it goes on from there",
        )


@contextmanager
def _receiving(source: Store, address: str) -> Iterator[Store]:
    """What is at that address, made where nothing is, if it holds a beginning of this book and nothing else."""
    target = Store.open_for_moving(address)
    try:
        if target.elsewhere == source.elsewhere != "":
            raise StoreError(f"'{address}' is the book itself", "name another place")
        number, head = last_entry(target)
        if number and hash_of(source, number) != head.hex():
            is_ahead = hash_of(target, last_entry(source)[0]) == last_entry(source)[1].hex()
            problem = "went on where this one ends" if is_ahead else "is another one, or went on by itself"
            raise StoreError(f"the book at '{address}' {problem}", "name a place where no book is")
        yield target
    finally:
        target.close()


def _bring(source: Store, target: Store, progress: "Progress") -> None:
    """Bring all entries that are not there yet; a whole book that gets some is marked as one that is moved."""
    columns = source.columns("entry")
    asked = ", ".join(_MADE_ANEW.get(column, column) for column in columns)
    done, _ = last_entry(target)
    whole, _ = last_entry(source)
    if done < whole and not target.is_moving:
        target.mark_version(MOVING)
    with source.snapshot():
        rows = source.stream(f"SELECT {asked} FROM entry WHERE number > ? ORDER BY number", (done,))
        while portion := list(islice(rows, _PORTION)):
            with target.transaction():
                if last_entry(target)[0] != done:
                    raise StoreError(f"somebody else is moving a book to '{target.path}'", "let one of you go on alone")
                target.insert_many("entry", columns, portion)
            done += len(portion)
            progress("moving", done, max(whole, done))
