"""A group's book checked: the chain of each site, and that its entries are those of the sites, translated."""

from collections.abc import Callable, Iterator
from itertools import zip_longest

from pourbook.book.coded_names import names_of_people, reference_of
from pourbook.book.groups import JoinedSite, group_head, site_journal, sites, survey_of, translation
from pourbook.book.journal import GENESIS, chaining, is_canonical, parsed
from pourbook.book.site_numbers import group_number
from pourbook.book.store import Store
from pourbook.errors import Fault, PourbookError, StoreError

__all__ = ["chain_faults", "check_group", "fault_of_site"]

_JOIN = "make the group's book anew from its sites: pourbook group join"
_AGAIN = "derive them again from the sites' journals: pourbook repair"
_EVERY = 10_000


def check_group(store: Store, progress: Callable[[int], None] = lambda _: None) -> tuple[int, bytes, tuple[Fault, ...]]:
    """How many entries all sites have, the head of the group, and the first fault of a chain or of an entry."""
    entries, head = group_head(store)
    found = [fault for one in sites(store) for fault in chain_faults(store, one)]
    return entries, bytes.fromhex(head), tuple(found or _of_names(store) or _of_translation(store, progress))


def _of_names(store: Store) -> tuple[Fault, ...]:
    """The first name that its reference, which the sites' hashes are of, was not made of: another was put there."""
    for reference, salt, name, item in names_of_people(store):
        if reference != reference_of(salt, name, item):
            problem = f"the reference of '{name}' in the table of names is not made of it"
            return (Fault("journal", 0, "", "", problem, _JOIN),)
    return ()


def chain_faults(store: Store, site: JoinedSite) -> Iterator[Fault]:
    """The first fault of a site's journal."""
    next_hash, head, last = chaining(GENESIS), GENESIS, 0
    try:
        for number, text, entry_hash in site_journal(store, site.code):
            problem = ""
            if number != last + 1:
                problem = f"entry {last + 1} of site {site.name} is missing"
            elif type(text) is not str or next_hash(text) != entry_hash:
                problem = f"entry {number} of site {site.name} is not what was recorded: its hash differs"
            elif not _is_readable(number, text):
                problem = f"entry {number} of site {site.name} cannot be read"
            if problem:
                yield fault_of_site(last + 1, site, problem)
                return
            last, head = number, entry_hash
    except StoreError as error:
        problem = f"entry {last + 1} of site {site.name} cannot be read: {error.message}"
        yield fault_of_site(last + 1, site, problem)
        return
    if (last, head) != (site.entries, site.head):
        problem = f"the journal of site {site.name} ends with entry {last}, and {site.entries} joined"
        yield fault_of_site(last + 1, site, problem)


def fault_of_site(number: int, site: JoinedSite, problem: str) -> Fault:
    """A fault of an entry of a site."""
    return Fault("journal", group_number(number, site.code), "", "", problem, _JOIN)


def _is_readable(number: int, text: str) -> bool:
    try:
        entry = parsed(text)
        return bool(entry["number"] == number and is_canonical(entry, text))
    except (PourbookError, ArithmeticError, AttributeError, LookupError, RecursionError, TypeError, ValueError):
        return False


def _of_translation(store: Store, progress: Callable[[int], None]) -> Iterator[Fault]:
    """The first entry that is not what the sites' journals say."""
    _, met = survey_of(store)
    together = met.together._replace(overdrawn=_marked(store))
    ours = store.stream("SELECT number, kind, happened, bytes, hash FROM entry ORDER BY number % 1000, number")
    for count, (kept, made) in enumerate(zip_longest(ours, translation(store, together)), 1):
        if kept != made:
            (number, *_) = made or kept
            problem = f"entry {number} is not what its site recorded" if made else f"no site recorded entry {number}"
            yield Fault("table entry", number, "", "", problem, _AGAIN)
            return
        if count % _EVERY == 0:
            progress(count)


def _marked(store: Store) -> frozenset[tuple[int, int]]:
    """Lines that take more than was there: a mark changes nothing where that is not so."""
    rows = store.query("SELECT number, bytes FROM entry WHERE bytes LIKE '%\"overdrawn\":1%'")
    return frozenset(
        (number, index)
        for number, text in rows
        for index, line in enumerate(parsed(text)["body"].get("lines", ()))
        if "overdrawn" in line
    )
