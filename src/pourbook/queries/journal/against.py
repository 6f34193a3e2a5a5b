"""Today's journal compared with a history kept elsewhere.

The other side is a *head* (number of an entry and its hash) from a dossier, several heads, or a
whole copy of the book. One head says whether the history up to it is unchanged. Several narrow
down where it first differs; a copy names the entry.

>>> read_heads("pourbook:head:1284:" + "9f" * 32)
(Head(number=1284, hash='9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f9f'),)
"""

import re
from collections.abc import Collection, Iterable, Sequence
from itertools import pairwise, zip_longest
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.chain_checked import check_chain, has_sites
from pourbook.book.coded_names import chained_entries
from pourbook.book.groups import group_head, head_of, site_journal, sites
from pourbook.book.journal import hash_of, is_group, last_entry, number_of
from pourbook.book.site_numbers import group_number, of_site
from pourbook.book.store import Store
from pourbook.errors import Fault, Malformed

if TYPE_CHECKING:
    from pourbook.signing.heads import SignedHead

__all__ = [
    "Against", "Head", "against_book", "against_heads", "checkpoints", "head_at", "holds", "names_a_head", "read_heads",
]  # fmt: skip

_HEAD = re.compile(r"(?<![0-9A-Fa-f])([0-9]{1,15})[:\s]\s*([0-9a-f]{64})(?![0-9A-Fa-f])", re.IGNORECASE)
_DOCUMENT = re.compile(r'"entries":\s*([0-9]{1,15}),\s*"(?:head|journal_hash)":\s*"([0-9a-f]{64})"')
_MOST_OF_A_LINEAGE = 8


class Head(NamedTuple):
    """Where a journal stood: the number of an entry, and its hash as hexadecimal text."""

    number: int
    hash: str


class Against(NamedTuple):
    """The result of the comparison.

    Attributes:
        entries: how many entries the book has today.
        heads: how many heads were compared with it; 0 when it was a copy.
        agreed: the last entry up to which the histories are known to be the same; 0 for none.
        differs: an entry by which they are known to differ; None where they do not.
        remark: what else is known of that entry.
        beyond: an entry that the evidence vouches for after the end of the book, or that no site of a group has; 0
            where there is none.
        later: how many entries were recorded after what agreed, at every site; 0 where the histories differ.
        lost: how many heads of sites that the evidence is made of no site of the group has.
    """

    entries: int
    heads: int
    agreed: int
    differs: int | None
    remark: str
    beyond: int = 0
    later: int = 0
    lost: int = 0

    @property
    def agrees(self) -> bool:
        """Whether today's book holds the other history unchanged."""
        return self.differs is None

    @property
    def is_exact(self) -> bool:
        """Whether the entry named is the first that differs; a copy always tells."""
        return not self.heads or self.differs == self.agreed + 1


def read_heads(text: str, signed: Iterable[Head] = ()) -> tuple[Head, ...]:
    """Every head in a text, by number: a scanned symbol, what the command printed, a dossier as JSON or HTML.

    What was `signed` in it is read elsewhere, and counts, too.

    Raises:
        Malformed: none, or two hashes for one entry.
    """
    pairs = (*_HEAD.findall(text), *_DOCUMENT.findall(text))
    found = sorted({*signed, *(Head(int(number), hash_.lower()) for number, hash_ in pairs)})
    if not found:
        raise Malformed(
            "no journal hash was given: the number of an entry and its hash, 64 hexadecimal digits",
            "write NUMBER:HASH, which pourbook read FILE.pdf finds on a dossier, or name its JSON or HTML, or a copy of"
            " the book; is the path right?",
        )
    if found[0].number == 0:
        raise Malformed("entries are numbered from 1, not 0", "write NUMBER:HASH")
    for one, other in pairwise(found):
        if one.number == other.number:
            raise Malformed(f"two different hashes for entry {one.number}", "give one paper at a time")
    return tuple(found)


def names_a_head(text: str) -> bool:
    """Whether the number of an entry and a hash stand in it."""
    return _HEAD.search(text) is not None


def head_at(store: Store, number: int) -> Head | None:
    """The head after an entry; None when the journal ends before it."""
    found = hash_of(store, number)
    return Head(number, found) if found else None


def holds(store: Store, head: Head) -> bool:
    """Whether the journal has that head; a group's book also has its own, as it stands now."""
    return head_at(store, head.number) == head or (is_group(store) and head == group_head(store))


def checkpoints(store: Store, lineage: Collection[int] = (), last: int | None = None) -> tuple[Head, ...]:
    """Heads for a paper to carry; they show later roughly where a history was changed.

    Those of entries 1, 2, 4, 8 … and of some entries of the lineage, evenly chosen; the last one is the book's head, or
    that of an earlier entry. Of a group: the heads of its sites' journals, and of entries of the lineage.
    """
    last = last_entry(store)[0] if last is None else last
    known = sorted(number for number in set(lineage) if number <= last)
    step = -(-len(known) // _MOST_OF_A_LINEAGE) or 1
    if is_group(store):
        of_sites = (group_number(one.entries, one.code) for one in sites(store))
        numbers = {*of_sites, *known[::-step], last}
    else:
        numbers = {1 << power for power in range(last.bit_length())} | set(known[::-step]) | {last}
    return tuple(head for number in sorted(numbers) if (head := head_at(store, number)))


def against_heads(store: Store, heads: Iterable[Head], signed: Iterable["SignedHead"] = ()) -> Against:
    """Compare the book with heads, some of which are signed.

    The chain is recomputed from the bytes of the entries before a stored hash is believed. A head of a group that has
    joined again since is compared by the heads of sites that it is made of; so it is with the book of one of them.

    Raises:
        Malformed: a signed head is not made of what it says.
    """
    known, lost = set(heads), 0
    for one in signed:
        whole = Head(one.standing.number, one.standing.head)
        if one.made_of and not holds(store, whole):
            found = _made_of(store, one)
            lost += (len(one.made_of) - len(found)) * is_group(store)
            known = known - {whole} | found if found else known
    given = sorted(known)
    last, _, faults = check_chain(store)
    agreed = 0
    for head in given:
        broken = next((fault for fault in faults if _reaches(store, fault, head)), None)
        if broken is not None:
            return Against(last, len(given), agreed, broken.row, broken.problem)
        if holds(store, head):
            agreed = head.number
            continue
        if head_at(store, head.number) is None:
            return Against(last, len(given), agreed, last + 1, "", head.number)
        number = number_of(store, head.hash)
        slip = f"this hash is that of entry {number}: check the number" if number else ""
        return Against(last, len(given), agreed, head.number, slip)
    if lost:
        return Against(last, len(given), agreed, last + 1, "", lost=lost)
    return Against(last, len(given), agreed, None, "", later=_later(store, given))


def _reaches(store: Store, fault: Fault, head: Head) -> bool:
    """Whether a fault lies in the history that a head vouches for; in a group's book each site has one of its own."""
    if not is_group(store):
        return fault.row <= head.number
    code, number = of_site(head.number)
    return fault.file == "journal" and (head == group_head(store) or _is_of(fault, code, number))


def _made_of(store: Store, signed: "SignedHead") -> set[Head]:
    """Those heads that a group's is made of which this journal has."""
    if head_of(map(bytes.fromhex, signed.made_of)).hex() != signed.standing.head:
        raise Malformed("the signed head of the group is not made of those heads of sites", "ask for it again")
    return {Head(number, one) for one in signed.made_of if (number := number_of(store, one))}


def _later(store: Store, heads: Sequence[Head]) -> int:
    """How many entries no head vouches for; in a group's book each site has a chain of its own."""
    if not is_group(store):
        return last_entry(store)[0] - heads[-1].number
    if group_head(store) in heads:
        return 0
    agreed = {of_site(head.number)[0]: of_site(head.number)[1] for head in heads}
    return sum(one.entries - agreed.get(one.code, 0) for one in sites(store))


def against_book(store: Store, other: Store) -> Against:
    """Compare the book with a copy of it, entry by entry; the copy may be older. Of a group, site by site.

    Raises:
        Malformed: the copy itself is damaged, or one of the two is the book of a group and the other is not.
    """
    if (of_a_group := has_sites(store)) != has_sites(other):
        raise Malformed(
            "that is no copy of this book: one of the two is the book of a group, and the other is not",
            "compare it with a copy of its own",
        )
    last, _, faults = check_chain(store)
    theirs, _, flaws = check_chain(other)
    if flaws:
        raise Malformed(f"the copy is damaged: {flaws[0].problem}", "compare the book with another copy")
    if of_a_group:
        return _against_group(store, other, last, faults)
    for number, (mine, copied) in enumerate(zip_longest(chained_entries(store), chained_entries(other)), start=1):
        if copied is None:
            break
        if mine != copied:
            return Against(last, 0, number - 1, number, _difference(mine, number))
    broken = next((fault for fault in faults if fault.row <= theirs), None)
    if broken is not None:
        return Against(last, 0, broken.row - 1, broken.row, broken.problem)
    return Against(last, 0, theirs, None, "", later=last - theirs)


def _against_group(store: Store, other: Store, last: int, faults: Sequence[Fault]) -> Against:
    """Each site's journal beside that of the copy: entries as a group has them change with what joins later."""
    ours, copied = {one.name: one for one in sites(store)}, sites(other)
    for site in copied:
        own = ours.get(site.name, site)
        both = zip_longest(site_journal(store, own.code) if site.name in ours else (), site_journal(other, site.code))
        for number, (mine, theirs) in enumerate(both, start=1):
            if theirs is None:
                break
            if mine is None or mine[:2] != theirs[:2]:
                differs = group_number(number, own.code)
                return Against(last, 0, group_number(number - 1, own.code), differs, _difference(mine, number))
        broken = next((one for one in faults if one.file == "journal" and _is_of(one, own.code, site.entries)), None)
        if broken is not None:
            return Against(last, 0, broken.row - 1, broken.row, broken.problem)
    agreed = sum(one.entries for one in copied)
    return Against(last, 0, agreed, None, "", later=last - agreed)


def _is_of(fault: Fault, code: int, last: int) -> bool:
    """Whether a fault of a group's book is of an entry of that site, up to its last."""
    site, number = of_site(fault.row)
    return site == code and number <= last


def _difference(mine: Sequence[object] | None, number: int) -> str:
    if mine is None or mine[0] != number:
        return "the copy has it; this book does not"
    return "it differs in the copy"
