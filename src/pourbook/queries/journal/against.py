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
from typing import NamedTuple

from pourbook.book.chain_checked import check_chain, has_sites
from pourbook.book.coded_names import chained_entries
from pourbook.book.groups import JoinedSite, group_head, site_journal, sites
from pourbook.book.journal import is_group, last_entry, number_of
from pourbook.book.settings import settings
from pourbook.book.site_numbers import group_number, of_site
from pourbook.book.store import Store
from pourbook.errors import Fault, Malformed
from pourbook.queries.journal.placed import Head, Source, Stated, head_at, holds, placed

__all__ = [
    "Against", "Head", "OfSite", "against_book", "against_heads", "checkpoints", "head_at", "holds", "names_a_head",
    "read_heads",
]  # fmt: skip

_HEAD = re.compile(r"(?<![0-9A-Fa-f])([0-9]{1,15})[:\s]\s*([0-9a-f]{64})(?![0-9A-Fa-f])", re.IGNORECASE)
_DOCUMENT = re.compile(r'"entries":\s*([0-9]{1,15}),\s*"(?:head|journal_hash)":\s*"([0-9a-f]{64})"')
_MOST_OF_A_LINEAGE = 8


class OfSite(NamedTuple):
    """How far a `site` agrees that evidence speaks of: its own last `entry` that does; what it recorded `later`."""

    site: str
    entry: int
    later: int


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
        lost: how many heads of sites that the evidence is made of this book does not have.
        source: whose evidence it is, where it is not of the book itself.
        sites: of a group's book, or beside evidence of one: how far each site agrees that the evidence speaks of.
        silent: sites of the group of which it says nothing; or those it is of, where none is this book's.
        site: the one whose entry differs, or is beyond the end; empty in a book of one journal.
    """

    entries: int
    heads: int
    agreed: int
    differs: int | None
    remark: str
    beyond: int = 0
    later: int = 0
    lost: int = 0
    source: Source = ""
    sites: tuple[OfSite, ...] = ()
    silent: tuple[str, ...] = ()
    site: str = ""

    @property
    def agrees(self) -> bool:
        """Whether today's book holds the other history unchanged."""
        return self.differs is None

    @property
    def is_elsewhere(self) -> bool:
        """Whether nothing was found wrong, but what it is of is not here: of another site, or not joined yet."""
        return (self.source == "another site" and not self.heads) or bool(self.site and self.beyond)

    @property
    def is_exact(self) -> bool:
        """Whether the entry named is the first that differs; a copy always tells."""
        return not self.heads or self.differs == self.agreed + 1 or (bool(self.site) and self._own_exact())

    def _own_exact(self) -> bool:
        return of_site(self.differs or 0)[1] == of_site(self.agreed)[1] + 1


_PATH = re.compile(r"[^\n\0]{0,400}(?:[/\\][^\n/]{1,200}|\.(?:jsonl?|html?|pdf|pourbook|txt))", re.IGNORECASE)
"""What was given is the name of a file: a file that is there would have been read."""


def read_heads(text: str, signed: Iterable[Head] = ()) -> tuple[Head, ...]:
    """Every head in a text, by number: a scanned symbol, what the command printed, a dossier as JSON or HTML.

    What was `signed` in it is read elsewhere, and counts, too.

    Raises:
        Malformed: none, or two hashes for one entry.
    """
    pairs = (*_HEAD.findall(text), *_DOCUMENT.findall(text))
    found = sorted({*signed, *(Head(int(number), hash_.lower()) for number, hash_ in pairs)})
    if not found:
        if _PATH.fullmatch(text.strip()):
            raise Malformed(f"the file '{text.strip()}' does not exist", "check the path")
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


def against_heads(store: Store, heads: Iterable[Head], stated: Iterable[Stated] = ()) -> Against:
    """Compare the book with heads, of some of which more is `stated`.

    The chain is recomputed from the bytes of the entries before a stored hash is believed. A head of a group that has
    joined again since is compared by the heads of sites that it is made of; so it is with the book of one of them.

    Raises:
        Malformed: a head is not made of what it says.
    """
    found = placed(store, heads, stated)
    last, _, faults = check_chain(store)
    if not found.heads:
        return Against(last, 0, 0, last + 1, "", lost=found.lost, source=found.source, silent=found.sites)
    compared = [
        _followed(store, one, last, faults)
        for one in (_by_site(store, found.heads) if is_group(store) else [found.heads])
    ]
    count = len(found.heads)
    wrong = next((one for one in compared if not one.agrees), None)
    if wrong is not None:
        return wrong._replace(heads=count, source=found.source)
    agreed = max(one.agreed for one in compared)
    if found.lost:
        return Against(last, count, agreed, last + 1, "", lost=found.lost, source=found.source)
    told, silent = _told(store, found.heads, found.source)
    later = sum(one.later for one in told) if told else _later(store, found.heads)
    return Against(last, count, agreed, None, "", later=later, source=found.source, sites=told, silent=silent)


def _by_site(store: Store, heads: Iterable[Head]) -> list[tuple[Head, ...]]:
    """The heads of each site of a group, and the group's own, each apart: entries of two sites do not follow."""
    whole = group_head(store)
    by_code: dict[int, list[Head]] = {}
    for head in heads:
        by_code.setdefault(0 if head == whole else of_site(head.number)[0], []).append(head)
    return [tuple(by_code[code]) for code in sorted(by_code)]


def _followed(store: Store, heads: Sequence[Head], last: int, faults: Sequence[Fault]) -> Against:
    """Heads of one journal, in rising order."""
    agreed = 0
    names = {one.code: one.name for one in sites(store)}
    for head in heads:
        code, own = of_site(head.number)
        site = names.get(code, "") if own else ""
        broken = next((one for one in faults if _reaches(store, one, head)), None)
        if broken is not None:
            return Against(last, 1, agreed, broken.row, broken.problem)
        if holds(store, head):
            agreed = head.number
            continue
        if head_at(store, head.number) is None:
            return Against(last, 1, agreed, last + 1, "", head.number, site=site)
        number = number_of(store, head.hash)
        slip = f"this hash is that of entry {number}: check the number" if number else ""
        return Against(last, 1, agreed, head.number, slip, site=site)
    return Against(last, 1, agreed, None, "")


def _reaches(store: Store, fault: Fault, head: Head) -> bool:
    """Whether a fault lies in the history that a head vouches for; in a group's book each site has one of its own."""
    if not is_group(store):
        return fault.row <= head.number
    code, number = of_site(head.number)
    return fault.file == "journal" and (head == group_head(store) or _is_of(fault, code, number))


def _told(store: Store, heads: Sequence[Head], source: Source) -> tuple[tuple[OfSite, ...], tuple[str, ...]]:
    """How far each site agrees that these heads are of, and the sites of a group that they say nothing of."""
    if not is_group(store):
        last, agreed = last_entry(store)[0], heads[-1].number
        here = settings(store).get("site", "")
        return ((OfSite(here, agreed, last - agreed),) if source == "group" else ()), ()
    if group_head(store) in heads:
        return (), ()
    agreed_of = dict(of_site(head.number) for head in heads)
    joined = sites(store)
    told = tuple(
        OfSite(one.name, agreed_of[one.code], one.entries - agreed_of[one.code])
        for one in joined
        if one.code in agreed_of
    )
    return told, tuple(one.name for one in joined if one.code not in agreed_of)


def _later(store: Store, heads: Sequence[Head]) -> int:
    """How many entries no head vouches for; the own head of a group as it stands vouches for all."""
    return 0 if is_group(store) else last_entry(store)[0] - heads[-1].number


def against_book(store: Store, other: Store) -> Against:
    """Compare the book with a copy of it, entry by entry; the copy may be older. Of a group, site by site.

    The book of a site is compared with its part in the group's, and the other way.

    Raises:
        Malformed: the copy itself is damaged, or one of the two is the book of a group that the other did not join.
    """
    of_a_group, of_groups = has_sites(store), has_sites(other)
    last, _, faults = check_chain(store)
    theirs, _, flaws = check_chain(other)
    if flaws:
        raise Malformed(f"the copy is damaged: {flaws[0].problem}", "compare the book with another copy")
    if of_a_group and of_groups:
        return _against_group(store, other, last, faults)
    if of_a_group:
        return _against_site(store, other, last, faults)
    site = _of_same_site(other, store) if of_groups else None
    copied = site_journal(other, site.code) if site else chained_entries(other)
    theirs = site.entries if site else theirs
    for number, (mine, there) in enumerate(zip_longest(chained_entries(store), copied), start=1):
        if there is None:
            break
        if mine is None or mine[:2] != there[:2]:
            return Against(last, 0, number - 1, number, _difference(mine, number))
    broken = next((fault for fault in faults if fault.row <= theirs), None)
    if broken is not None:
        return Against(last, 0, broken.row - 1, broken.row, broken.problem)
    told = (OfSite(site.name, theirs, last - theirs),) if site else ()
    return Against(last, 0, theirs, None, "", later=last - theirs, source="group" if site else "", sites=told)


def _against_site(store: Store, other: Store, last: int, faults: Sequence[Fault]) -> Against:
    """The part of a site in a group beside that site's own book."""
    site = _of_same_site(store, other)
    theirs = 0
    for number, (mine, there) in enumerate(
        zip_longest(site_journal(store, site.code), chained_entries(other)), start=1
    ):
        if there is None:
            break
        agreed, at = group_number(number - 1, site.code), group_number(number, site.code)
        if mine is None:
            beyond = group_number(last_entry(other)[0], site.code)
            return Against(last, 0, agreed, last + 1, "", beyond, source="site", site=site.name)
        if mine[:2] != there:
            return Against(last, 0, agreed, at, _difference(mine, number), source="site")
        theirs = number
    broken = next((one for one in faults if _is_of(one, site.code, theirs)), None)
    if broken is not None:
        return Against(last, 0, broken.row - 1, broken.row, broken.problem, source="site")
    told = OfSite(site.name, theirs, site.entries - theirs)
    silent = tuple(one.name for one in sites(store) if one.code != site.code)
    agreed = group_number(theirs, site.code)
    return Against(last, 0, agreed, None, "", later=told.later, source="site", sites=(told,), silent=silent)


def _of_same_site(group: Store, book: Store) -> JoinedSite:
    name = settings(book).get("site", "")
    for one in sites(group):
        if one.name == name:
            return one
    raise Malformed(
        "that is no copy of this book: one of the two is the book of a group that the other has not joined",
        "compare it with a copy of its own",
    )


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
