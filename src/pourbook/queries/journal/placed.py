"""Heads as the book at hand numbers its entries: those of a site in the group's book, those of a group in a site's.

A group numbers the entries of its sites anew, and its own head is made of theirs. So what a site signed is looked for
in that site's part of the group, and what a group wrote down is compared with a site as far as it is of that site.

>>> of_text(f"pourbook:head:3:{'9f' * 32}:of/{'ab' * 32}/")[0].made_of == ("ab" * 32,)
True
"""

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.book.groups import group_head, head_of, sites
from pourbook.book.journal import hash_of, is_group, number_of
from pourbook.book.settings import settings
from pourbook.book.site_numbers import group_number, of_site
from pourbook.book.store import Store
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.signing.heads import SignedHead

__all__ = ["Head", "Placed", "Source", "Stated", "head_at", "holds", "of_signed", "of_text", "placed"]

Source = Literal["", "site", "group", "another site"]
"""Whose evidence it is, where it is not of the book itself."""

_GROUP = re.compile(r"pourbook:head:([0-9]{1,15}):([0-9a-f]{64}):of/([0-9a-f]{64}(?:\+[0-9a-f]{64})*)/")


class Head(NamedTuple):
    """Where a journal stood: the number of an entry, and its hash as hexadecimal text."""

    number: int
    hash: str


class Stated(NamedTuple):
    """A head with what is told of whose it is.

    Attributes:
        head: as whoever wrote it down numbers entries.
        site: of which it is; None where that is not told, empty where it is of none.
        made_of: the heads of sites that a group's is made of, as hexadecimal text.
    """

    head: Head
    site: str | None = None
    made_of: tuple[str, ...] = ()


class Placed(NamedTuple):
    """Evidence as the book at hand can be held against it.

    Attributes:
        heads: as this book numbers entries.
        source: whose they are.
        sites: the sites that were told, where none of the heads is of this book.
        lost: how many heads of sites, which a group's is made of, this book does not have.
    """

    heads: tuple[Head, ...]
    source: Source = ""
    sites: tuple[str, ...] = ()
    lost: int = 0


def of_signed(signed: "Iterable[SignedHead]") -> tuple[Stated, ...]:
    """What signed heads state."""
    return tuple(Stated(Head(one.standing.number, one.standing.head), one.standing.site, one.made_of) for one in signed)


def of_text(text: str) -> tuple[Stated, ...]:
    """Every head of a group in a text that says what it is made of, unsigned."""
    found = _GROUP.findall(text)
    return tuple(Stated(Head(int(number), head), None, tuple(of.split("+"))) for number, head, of in found)


def head_at(store: Store, number: int) -> Head | None:
    """The head after an entry; None when the journal ends before it."""
    found = hash_of(store, number)
    return Head(number, found) if found else None


def holds(store: Store, head: Head) -> bool:
    """Whether the journal has that head; a group's book also has its own, as it stands now."""
    return head_at(store, head.number) == head or (is_group(store) and head == group_head(store))


def placed(store: Store, heads: Iterable[Head], stated: Iterable[Stated] = ()) -> Placed:
    """These heads in the numbers of this book.

    Raises:
        Malformed: the head of a group is not made of what it says.
    """
    known, open_ = set(heads), [one for one in stated if not holds(store, one.head)]
    return _in_group(store, known, open_) if is_group(store) else _at_site(store, known, open_)


def _in_group(store: Store, known: set[Head], stated: Iterable[Stated]) -> Placed:
    codes, lost, source = {one.name: one.code for one in sites(store)}, 0, False
    for one in stated:
        if one.made_of:
            found = _parts(store, one)
            lost += len(one.made_of) - len(found)
            known = known - {one.head} | found if found else known
        elif one.site in codes:
            source = True
            known = known - {one.head} | {Head(group_number(one.head.number, codes[one.site]), one.head.hash)}
    own = {head: _of_a_site(store, head) for head in known}
    return Placed(
        tuple(sorted(set(own.values()))), "site" if source or any(a != b for a, b in own.items()) else "", (), lost
    )


def _of_a_site(store: Store, head: Head) -> Head:
    """A head that has the number its site gave, or that another group gave, as this group numbers it."""
    if holds(store, head):
        return head
    number = number_of(store, head.hash)
    is_it = number and of_site(number)[1] in (head.number, of_site(head.number)[1])
    return Head(number, head.hash) if is_it else head


def _at_site(store: Store, known: set[Head], stated: Iterable[Stated]) -> Placed:
    here, others, lost, of_group = settings(store).get("site", ""), set[str](), 0, False
    for one in stated:
        if one.made_of:
            found = _parts(store, one)
            of_group, lost = True, lost + (not found)
            known = known - {one.head} | found
        elif one.site and here and one.site != here:
            others.add(one.site)
            known = known - {one.head}
    kept = {head for head in known if holds(store, head)}
    there = {head: of_site(head.number) for head in known - kept}
    codes = {code for head, (code, number) in there.items() if number and head_at(store, number) == (number, head.hash)}
    if of_group or codes:
        mine = {Head(number, head.hash) for head, (code, number) in there.items() if code in codes}
        return Placed(tuple(sorted(kept | mine)), "group", (), lost)
    return Placed(tuple(sorted(known)), "another site" if others else "", tuple(sorted(others)))


def _parts(store: Store, stated: Stated) -> set[Head]:
    """Those heads that a group's is made of which this journal has."""
    if head_of(map(bytes.fromhex, stated.made_of)).hex() != stated.head.hash:
        raise Malformed("the head of the group is not made of those heads of sites", "ask for it again")
    return {Head(number, one) for one in stated.made_of if (number := number_of(store, one))}
