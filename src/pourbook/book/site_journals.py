"""The journal of a site on its way into a group's book: what comes, what is checked, and what of it is new.

Everything is checked before anything stays: that the chain goes on from what the group has (no gap, no fork, no older
state), that it leads to the head it ends with, and that the key which signed before signed again.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.coded_names import (
    PersonName,
    chained_entries,
    forget,
    forgotten,
    names_of_people,
    reference_of,
    references_in,
    withdrawn_from,
)
from pourbook.book.entry_forms import misshapen
from pourbook.book.groups import ASK_THE_SITE, JoinedSite, sites
from pourbook.book.journal import GENESIS, chaining, hash_of, is_canonical, last_entry, parsed
from pourbook.book.settings import settings
from pourbook.book.site_numbers import MOST_SITES
from pourbook.book.store import Store
from pourbook.book.two_people_checked import two_people_of
from pourbook.codes.number_ranges import site_code
from pourbook.errors import Damaged, Malformed, PourbookError, Refused

if TYPE_CHECKING:
    from pourbook.signing.heads import SignedHead

_ALTERED = (
    "of a file: export the site's entries again; of the site's book: its journal was altered, so do not join it, and"
    " restore a back-up at the site"
)
"""What to do where entries do not hang together: a file may have suffered on its way, a book has been written to."""

__all__ = ["Ended", "SiteJournal", "journal_of_book", "take_in", "texts_after"]


class Ended(NamedTuple):
    """Where a journal ends.

    Attributes:
        number: of its last entry.
        head: hash of that.
        signed: the signed head, where somebody signed it.
        names: of people who stand in it by references; None where they are not told.
        withdrawn: references in it that stand for nobody any more.
        sites: names of sites, which have keys as people have; told also where those of people are not.
    """

    number: int
    head: bytes
    signed: "SignedHead | None" = None
    names: tuple[PersonName, ...] | None = None
    withdrawn: tuple[str, ...] = ()
    sites: tuple[PersonName, ...] = ()


class SiteJournal(NamedTuple):
    """A site's journal from an entry on.

    Attributes:
        house: the name of its house.
        site: its short name.
        numbers: the ranges its identifiers come from.
        after: the last entry that it leaves out; 0 where it begins with the first.
        after_hash: hash of that.
        entries: the text of each, as it was chained.
        ended: tells where it ends, once all entries were read.
    """

    house: str
    site: str
    numbers: str
    after: int
    after_hash: bytes
    entries: Iterator[str]
    ended: Callable[[], Ended]


def journal_of_book(store: Store, known: Mapping[str, JoinedSite]) -> SiteJournal:
    """What a group that has these sites does not have yet of a site's book, in a snapshot of the store."""
    told = settings(store)
    last, head = last_entry(store)
    site = known.get(told["site"])
    after = min(site.entries if site else 0, last)
    after_hash = bytes.fromhex(hash_of(store, after)) if after else GENESIS
    return SiteJournal(
        told["house"], told["site"], told["numbers"], after, after_hash, texts_after(store, after),
        lambda: Ended(last, head, names=tuple(names_of_people(store)), withdrawn=withdrawn_from(store)),
    )  # fmt: skip


def texts_after(store: Store, number: int) -> Iterator[str]:
    """The text of every entry after one, as it was chained."""
    return (text for _, text in chained_entries(store, number + 1))


def take_in(store: Store, journal: SiteJournal, trusted: tuple[str, ...] = ()) -> tuple[JoinedSite, int]:
    """Write what is new of a site's journal, in a transaction of the group; the site as it is then, and how many.

    `trusted` are fingerprints of keys that may have signed it, besides the one that signed before.

    Raises:
        Refused: there is a gap; it is older than what the group has, or another; another key signed it, or none.
        Damaged: it does not lead to the head that it ends with.
    """
    known = _known(store, journal)
    _check_begin(store, known, journal)
    store.insert_many("site_entry", ("code", "number", "bytes", "hash"), _new_entries(known, journal))
    ended = journal.ended()
    _check_end(store, known, ended)
    _check_told(store, known.code, journal)
    _take_names(store, known.code, ended)
    _check_seconds(store, known)
    fingerprint = _checked_key(store, known, journal, ended, trusted)
    site = known._replace(
        house=journal.house, numbers=journal.numbers, entries=ended.number, head=ended.head, fingerprint=fingerprint
    )
    store.execute("DELETE FROM site WHERE code = ?", (site.code,))
    store.insert_many("site", site._fields, [site])
    return site, site.entries - known.entries


def _take_names(store: Store, code: int, ended: Ended) -> None:
    """Keep the names that are told of a site's people; whoever was withdrawn there is nobody from then on."""
    for one in (*(ended.names or ()), *ended.sites):
        if one.reference != reference_of(one.salt, one.name, one.item):
            raise Damaged(f"the reference of '{one.name}' is not made of that name", "export its entries again")
    if ended.names is None and not ended.withdrawn and not ended.sites:
        return
    texts = store.stream("SELECT bytes FROM site_entry WHERE code = ?", (code,))
    own = {found for (text,) in texts for found in references_in(text)}
    before = {one.reference: one for one in names_of_people(store) if one.reference in own}
    told = before if ended.names is None else {one.reference: one for one in ended.names if one.reference in own}
    told = told | {one.reference: one for one in ended.sites if one.reference in own}
    nobody = own & forgotten(store).union(ended.withdrawn, before.keys() - told.keys())
    store.overwrite_deleted()
    store.execute_many("DELETE FROM person_name WHERE reference = ?", [(one,) for one in own])
    store.insert_many("person_name", PersonName._fields, [told[one] for one in told if one not in nobody])
    forget(store, nobody)


def _check_told(store: Store, code: int, journal: SiteJournal) -> None:
    """House, site and numbers are what the journal's own entries say: what is told beside them has no hash."""
    rows = store.query('SELECT bytes FROM site_entry WHERE code = ? AND bytes LIKE \'%"kind":"house"%\'', (code,))
    said: dict[str, str] = {}
    for (text,) in rows:
        body = parsed(text)["body"]
        said |= body["settings"] if isinstance(body, dict) and isinstance(body.get("settings"), dict) else {}
    house, site, numbers = (said.get(name, "") for name in ("house", "site", "numbers"))
    if (house, site, numbers) != (journal.house, journal.site, journal.numbers):
        raise Refused(
            f"this is said to come from site {journal.site} of {journal.house}, numbers {journal.numbers}, and its"
            f" entries are those of site {site} of {house}, numbers {numbers}",
            "export its entries again; if it comes like that, ask who changed it",
        )


def _check_seconds(store: Store, known: JoinedSite) -> None:
    """Second persons agreed with what is new, where the site wanted two, and signed it with keys that it knew."""
    for number, problem in two_people_of(store, known):
        if number > known.entries:
            raise Damaged(f"entry {number} of site {known.name}: {problem}", ASK_THE_SITE)


def _known(store: Store, journal: SiteJournal) -> JoinedSite:
    """The site as the group has it; a new one has no entries yet."""
    if not journal.site:
        raise Refused(
            f"this book of {journal.house} belongs to no site",
            "name it: pourbook settings --set site=A --set numbers=1-99999",
        )
    if site_code(journal.site) != journal.site:
        raise Malformed(f"'{journal.site}' cannot name a site", "export its entries again")
    joined = sites(store)
    if found := next((one for one in joined if one.name == journal.site), None):
        return found
    if len(joined) >= MOST_SITES:
        raise Refused(f"a group has at most {MOST_SITES} sites", "join it to another group")
    return JoinedSite(len(joined) + 1, journal.site, journal.house, journal.numbers, 0, GENESIS, "")


def _check_begin(store: Store, known: JoinedSite, journal: SiteJournal) -> None:
    """It goes on from an entry that the group has."""
    if journal.after > known.entries:
        have = f"up to entry {known.entries}" if known.entries else "nothing of it"
        raise Refused(
            f"the journal of site {known.name} begins with entry {journal.after + 1}, and the group has {have}:"
            f" entries {known.entries + 1} to {journal.after} are missing",
            f"export them too: pourbook export entries --after {known.entries} -o FILE",
        )
    at = GENESIS
    if journal.after:
        ((at,),) = store.query("SELECT hash FROM site_entry WHERE code = ? AND number = ?", (known.code, journal.after))
    if at != journal.after_hash:
        raise _another(known, journal.after)


def _another(known: JoinedSite, number: int) -> Refused:
    return Refused(
        f"this is not the journal of site {known.name} that joined before: up to entry {number} they differ",
        "find out which was changed, and by whom, before joining either",
    )


def _new_entries(known: JoinedSite, journal: SiteJournal) -> Iterator[tuple[int, int, str, bytes]]:
    """The rows of what the group does not have; what it has is followed to its head."""
    next_hash = chaining(journal.after_hash)
    for number, text in enumerate(journal.entries, journal.after + 1):
        _check_entry(known, number, text)
        entry_hash = next_hash(text)
        if number > known.entries:
            yield known.code, number, text, entry_hash
        elif number == known.entries and entry_hash != known.head:
            raise _another(known, number)


def _check_entry(known: JoinedSite, number: int, text: str) -> None:
    try:
        entry = parsed(text)
        sound = entry["number"] == number and is_canonical(entry, text)
    except (PourbookError, ArithmeticError, AttributeError, LookupError, RecursionError, TypeError, ValueError):
        sound = False
    if not sound:
        raise Damaged(f"entry {number} of site {known.name} is missing or cannot be read", _ALTERED)
    if number > known.entries and (wrong := misshapen(entry)):
        raise Damaged(f"entry {number} of site {known.name} is not made as such an entry is: {wrong}", ASK_THE_SITE)


def _check_end(store: Store, known: JoinedSite, ended: Ended) -> None:
    if ended.number < known.entries:
        rows = store.query("SELECT hash FROM site_entry WHERE code = ? AND number = ?", (known.code, ended.number))
        if ended.number and rows != [(ended.head,)]:
            raise _another(known, ended.number)
        raise Refused(
            f"the journal of site {known.name} ends with entry {ended.number}, and the group has it up to entry"
            f" {known.entries}: it is an older state",
            "export its entries again; if its book was set back, find out why before it records more",
        )
    rows = store.query("SELECT number, hash FROM site_entry WHERE code = ? ORDER BY number DESC LIMIT 1", (known.code,))
    if rows != [(ended.number, ended.head)]:
        raise Damaged(
            f"the entries of site {known.name} do not lead to the hash that they end with: some were changed or are"
            " missing",
            _ALTERED,
        )


def _checked_key(store: Store, known: JoinedSite, journal: SiteJournal, ended: Ended, trusted: tuple[str, ...]) -> str:
    """The fingerprint of the key that signed where it ends; empty where none ever did."""
    signed = ended.signed
    if signed is None:
        if known.fingerprint or trusted:
            raise Refused(
                f"the journal of site {known.name} is not signed", "export its entries with --key FILE, and join that"
            )
        return ""
    from pourbook.signing.fingerprints import fingerprint  # only where somebody signed
    from pourbook.signing.heads import Standing, flaw

    wrong = flaw(signed)
    if wrong or signed.standing != Standing(journal.house, journal.site, ended.number, ended.head.hex()):
        raise Refused(
            f"what was signed is not where the journal of site {known.name} ends: it was changed since",
            "ask the site for its entries again",
        )
    found = fingerprint(signed.public)
    if found not in (known.fingerprint, *trusted) and (known.fingerprint or trusted):
        raise Refused(
            f"the journal of site {known.name} is signed by another key, {found[:16]}…",
            "ask the site whether it changed its key; if so, name the new one: --public FILE",
        )
    _refuse_ended(store, known, found, ended.number)
    return found


def _refuse_ended(store: Store, known: JoinedSite, found: str, number: int) -> None:
    """Refuse a key that the site's own journal says was lost, replaced or revoked by then."""
    rows = store.query(
        'SELECT number, bytes FROM site_entry WHERE code = ? AND number <= ? AND bytes LIKE \'%"kind":"key"%\'',
        (known.code, number),
    )
    for entry, text in rows:
        body = parsed(text)["body"]
        if body.get("fingerprint") == found and body.get("ended"):
            raise Refused(
                f"the journal of site {known.name} is signed by a key that its entry {entry} ended ({body['ended']})",
                "ask the site to sign with its new key",
            )
