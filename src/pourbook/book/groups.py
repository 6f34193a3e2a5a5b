"""A group's book: the journals of its sites, and everything else derived from them.

`site` and `site_entry` are the truth, each site's entries in their own chain of hashes. `entry` is their translation
(`site_translation`), and the projections follow from it by the fold of every book. So a join writes what is new at the
sites and derives the rest anew: what a site voided or corrected since, and what travelled, comes out right whatever
order the sites joined in. It is derived in a scratch book and put in place by one transaction.

The head of a group is the SHA-256 of its sites' heads: their 32 bytes each, in rising order, one after the other.

>>> head_of([bytes.fromhex("ff" * 32), bytes.fromhex("00" * 32)]).hex()[:16]
'bba91ca85dc914b2'
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from typing import NamedTuple

from pourbook.book.coded_names import names_of_people, readable_names
from pourbook.book.consignments import Touch
from pourbook.book.journal import canonical, is_group, last_entry, parsed
from pourbook.book.site_numbers import group_number
from pourbook.book.site_survey import Met, Survey, touch_of
from pourbook.book.site_translation import Site, Together, translated
from pourbook.book.store import Store
from pourbook.errors import Damaged, Malformed, Refused, StoreError
from pourbook.times import moment_of

__all__ = [
    "ASK_THE_SITE", "JoinedSite", "ending", "group_head", "head_of", "of_a_group", "site_journal", "sites",
    "survey_of", "translation",
]  # fmt: skip


ASK_THE_SITE = (
    "ask the site for its entries again; if they come like that, verify its book there, and see whether this pourbook"
    " is older than the site's"
)
"""What to do about an entry of a site that cannot stand as it came."""


class JoinedSite(NamedTuple):
    """A site that joined.

    Attributes:
        code: in the group, from 1 on in the order of joining.
        name: the short name of the site.
        house: the name of its house.
        numbers: the ranges its identifiers come from.
        entries: how many of its entries the group has.
        head: hash of the last of them.
        fingerprint: of the key that signed its head; empty where none did.
    """

    code: int
    name: str
    house: str
    numbers: str
    entries: int
    head: bytes
    fingerprint: str


def sites(store: Store) -> tuple[JoinedSite, ...]:
    """The sites of a group, in the order they joined; none of any other book."""
    rows = store.query("SELECT code, name, house, numbers, entries, head, fingerprint FROM site ORDER BY code")
    return tuple(JoinedSite(*row) for row in rows)


def site_journal(store: Store, code: int) -> Iterator[tuple[int, str, bytes]]:
    """Number, text and hash of a site's entries, as they were chained there."""
    return store.stream("SELECT number, bytes, hash FROM site_entry WHERE code = ? ORDER BY number", (code,))


def head_of(heads: Iterable[bytes]) -> bytes:
    """The head of a group whose sites have these heads."""
    return sha256(b"".join(sorted(heads))).digest()


def group_head(store: Store) -> tuple[int, str]:
    """How many entries all sites have, and the head of the group as hexadecimal text."""
    joined = sites(store)
    return sum(one.entries for one in joined), head_of(one.head for one in joined).hex()


def ending(store: Store) -> tuple[int, str]:
    """How many entries a book has, and its head as hexadecimal text; of a group, as `group_head`."""
    if is_group(store):
        return group_head(store)
    number, head = last_entry(store)
    return number, head.hex()


@contextmanager
def of_a_group(path: str) -> Iterator[Store]:
    """The book of a group at a path or address, in one transaction; a new one is made, and goes if that fails.

    Raises:
        Refused: another book is there.
        StoreError: it cannot be read or written.
    """
    store = Store.open_for_moving(path)
    is_new = store.is_moving and not last_entry(store)[0]
    try:
        if not is_new and (store.is_moving or not is_group(store)):
            raise Refused(f"'{path}' is not the book of a group", "name another path; a new one is made there")
        if store.has_older_tables and not is_new:
            raise StoreError(f"'{path}' was written by an earlier version", "open it with this one: pourbook checkup")
        with store.transaction():
            yield store
            if is_new:
                store.mark_version()
    except BaseException:
        if is_new:
            store.remove()
        raise
    finally:
        store.close()


# -- what the sites recorded, as the group has it ------------------------------------------


def survey_of(store: Store) -> tuple[Survey, Met]:
    """What all sites' journals say together.

    Raises:
        Damaged: an entry is not made as such an entry is, or cannot follow those before it: somebody wrote it by hand.
    """
    survey = Survey({one.code: one.name for one in sites(store)})
    at = (0, 0)
    try:
        for code, number, text in store.stream("SELECT code, number, bytes FROM site_entry ORDER BY code, number"):
            at = (code, number)
            survey.read(code, parsed(text))
    except (Malformed, ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as error:
        site = next(one.name for one in sites(store) if one.code == at[0])
        why = error.message if isinstance(error, Malformed) else "a part is missing, or of another kind"
        raise Damaged(f"entry {at[1]} of site {site} is not made as such an entry is: {why}", ASK_THE_SITE) from error

    def touching(code: int) -> Iterator[Touch]:
        places: dict[int, int] = {}
        for (text,) in store.stream("SELECT bytes FROM site_entry WHERE code = ? ORDER BY number", (code,)):
            entry = parsed(text)
            number, replaced = (group_number(entry.get(name, 0), code) for name in ("number", "replaces"))
            places[number] = places.get(replaced, replaced or number)
            if entry["kind"] in ("pour", "gauge") and number not in survey.gone:
                yield touch_of(code, places[number], entry)

    return survey, survey.met_together(touching)


def translation(store: Store, together: Together) -> Iterator[tuple[int, str, int, str, bytes]]:
    """Number, kind, moment, text and hash of every entry as the group has it, site by site."""
    names = {one.code: Site(one.code, one.name) for one in sites(store)}
    people = {one.reference: one.name for one in names_of_people(store)}
    for code, text, entry_hash in store.stream("SELECT code, bytes, hash FROM site_entry ORDER BY code, number"):
        entry = translated(parsed(readable_names(text, people)), names[code], together)
        yield entry["number"], entry["kind"], moment_of(entry["happened"]), canonical(entry).decode(), entry_hash
