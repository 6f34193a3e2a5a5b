"""Second persons checked afterwards: in a book, and in that of a group, site by site.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     tuple(two_people_faults(book.store))
()
"""

from collections.abc import Callable, Iterator
from functools import partial

from pourbook.book.chain_checked import fault_of_entry, has_sites
from pourbook.book.coded_names import chained, names_of_people, readable_names
from pourbook.book.group_checked import fault_of_site
from pourbook.book.groups import JoinedSite, site_journal, sites
from pourbook.book.journal import parsed
from pourbook.book.keys import keys_in, known_keys
from pourbook.book.store import Store
from pourbook.book.two_people import Judged, sends_away, two_people_problems, was_despatched
from pourbook.errors import Fault

__all__ = ["two_people_faults", "two_people_of"]


def two_people_faults(store: Store) -> Iterator[Fault]:
    """Entries that needed a second person and have none, or one whose signature is not of that entry.

    In a group's book those of every site, each by its own journal.
    """
    if has_sites(store):
        for one in sites(store):
            for number, problem in two_people_of(store, one):
                yield fault_of_site(number, one, f"entry {number} of site {one.name}: {problem}")
        return
    if not store.query(
        "SELECT 1 FROM entry WHERE kind = 'house' AND kind NOT IN ('pour', 'gauge', 'item')"
        " AND instr(bytes, '\"two_people\"') > 0 LIMIT 1"
    ):
        return
    text_of = chained(store)
    entries = (
        (number, text, partial(text_of, number, text), entry_hash)
        for number, text, entry_hash in store.stream("SELECT number, bytes, hash FROM entry ORDER BY number")
    )
    for number, problem in two_people_problems(Judged(entries, known_keys(store), partial(was_despatched, store))):
        yield fault_of_entry(number, f"entry {number}: {problem}")


def two_people_of(store: Store, site: JoinedSite) -> Iterator[tuple[int, str]]:
    """Numbers of such entries of a site, and what is wrong with each: judged by its journal alone, as at the site."""
    if not store.query(
        "SELECT 1 FROM site_entry WHERE code = ? AND instr(bytes, '\"two_people\"') > 0 LIMIT 1", (site.code,)
    ):
        return
    people = {one.reference: one.name for one in names_of_people(store)}

    def entries() -> Iterator[tuple[int, str, Callable[[], str], bytes]]:
        for number, text, entry_hash in site_journal(store, site.code):
            yield number, readable_names(text, people), partial(str, text), entry_hash

    def was_sent(number: int) -> bool:
        rows = store.query("SELECT bytes FROM site_entry WHERE code = ? AND number = ?", (site.code, number))
        return any(parsed(text)["kind"] == "pour" and sends_away(text) for (text,) in rows)

    named = store.query(
        'SELECT number, bytes FROM site_entry WHERE code = ? AND bytes LIKE \'%"kind":"key"%\' ORDER BY number',
        (site.code,),
    )
    told = [(number, readable_names(text, people)) for number, text in named if parsed(text)["kind"] == "key"]
    yield from two_people_problems(Judged(entries(), keys_in(told), was_sent))
