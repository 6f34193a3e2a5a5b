"""One entry with all that a person asks about it, and the journal page by page, the newest first.

What a void of it would change is the answer of the action `void` as a dry run.

>>> from pourbook import Book, Draft, Facts, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> for entry in (Item("C000001H", {"place": "Row 3"}), Facts("C000001H", {"place": "Row 4"})):
...     _ = book.record(Draft(entry, 0, "M. Aldane"))
>>> card = entry_card(book, 3)
>>> card.items[0].item, card.items[0].facts, card.taken_back_by is None
('C000001H', {'place': ('Row 3', 'Row 4')}, True)
>>> page = journal_page(book, most=2)
>>> [entry.number for entry in page.entries], [entry.number for entry in journal_page(book, before=page.older).entries]
([3, 2], [1])
"""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entry_effects import facts_around, held_around
from pourbook.book.journal import Logged, entry_of, hash_of, is_group, lines_of, neighbours
from pourbook.book.names import is_in_book
from pourbook.book.search import EVERYTHING, Wanted, wanted
from pourbook.book.site_numbers import group_number, of_site
from pourbook.codes.identifiers import is_identifier, key_of
from pourbook.liquid import Liquid
from pourbook.queries.items.called import called

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = ["EntryCard", "ItemChanged", "JournalPage", "entry_card", "journal_page"]

_A_PAGE = 50
_SEARCHED = 20_000
"""So many entries are looked through for one page where a person or a station narrows them, which have no index."""


class ItemChanged(NamedTuple):
    """An item that an entry names.

    Attributes:
        item: its identifier.
        called: how a person knows it at sight.
        held: what it held just before the entry, and just after; None where the entry did not touch it, or no longer
            counts.
        facts: what the entry stated of it, as it was before and after; empty text where it had none.
    """

    item: str
    called: str
    held: tuple[Liquid, Liquid] | None
    facts: Mapping[str, tuple[str, str]]


class EntryCard(NamedTuple):
    """An entry.

    Attributes:
        entry: as the journal has it, with its hash.
        items: every item that it names, in the order it does.
        took_back: the entry that it voided or replaced; None for most.
        taken_back_by: the entry that voided or replaced it; None while it counts.
        hash_before: of the entry before it, to which its own is chained; empty for the first.
        before, after: numbers of its neighbours in the journal; None where there are none.
    """

    entry: Logged
    items: tuple[ItemChanged, ...]
    took_back: Logged | None
    taken_back_by: Logged | None
    hash_before: str
    before: int | None = None
    after: int | None = None


class JournalPage(NamedTuple):
    """Some entries, the newest first; `older` is what to give as `before` for the next page, None at the beginning.

    `searched_to` is the oldest entry that was looked at: a page may be short, or empty, before the beginning.
    """

    entries: tuple[Logged, ...]
    older: int | None
    searched_to: int


def entry_card(book: "BookCore", number: int) -> EntryCard:
    """One entry.

    Raises:
        Unknown: no such entry.
    """
    store = book.store
    with store.snapshot():
        entry = entry_of(store, number)
        named = [item for item in dict.fromkeys(_named(entry)) if is_in_book(store, key_of(item))]
        names = called(store, named)
        items = tuple(
            ItemChanged(item, names[item], held_around(store, key_of(item), entry), _facts(book, item, entry))
            for item in named
        )
        took_back = entry.entry.get("replaces", 0) or (entry.entry["body"]["entry"] if entry.kind == "void" else 0)
        return EntryCard(
            entry, items, entry_of(store, took_back) if took_back else None,
            entry_of(store, entry.gone) if entry.gone else None, _hash_before(store, number),
            *neighbours(store, number),
        )  # fmt: skip


def _hash_before(store: "Store", number: int) -> str:
    """Of the entry that this one is chained to: in a group, of the same site."""
    if not is_group(store):
        return hash_of(store, number - 1)
    code, own = of_site(number)
    return hash_of(store, group_number(own - 1, code))


def _facts(book: "BookCore", item: str, entry: Logged) -> Mapping[str, tuple[str, str]]:
    return {} if entry.gone else facts_around(book.store, key_of(item), entry)


def _named(entry: Logged) -> Iterator[str]:
    """Items that an entry is about, or moves liquid of."""
    body = entry.entry["body"]
    for line in lines_of(body):
        yield from (line[end] for end in ("from", "to") if is_identifier(str(line.get(end, ""))))
    yield from (one for one in (body.get("item"),) if isinstance(one, str) and is_identifier(one))
    several = body.get("items")  # an import holds how many there were
    yield from (one for one in (several if isinstance(several, list) else ()) if is_identifier(str(one)))


def journal_page(
    book: "BookCore", which: Wanted = EVERYTHING, item: str | None = None, before: int | None = None,
    most: int = _A_PAGE,
) -> JournalPage:  # fmt: skip
    """Entries that are wanted (of an item, if one is named) and come before a number, the newest first.

    What a page costs does not grow with the journal: where a person or a station narrows it, only so many entries are
    looked through, and `older` goes on from there.

    Raises:
        PourbookError: no such item.
    """
    store = book.store
    last = min(which.last, book.head_number() if before is None else before - 1)
    first = max(which.first, last - _SEARCHED + 1) if which.who or which.where else which.first
    if item is not None:
        which = which._replace(item=key_of(book.find(item)))
    found = list(wanted(store, which._replace(first=first, last=last), most + 1))
    entries = tuple(reversed(found))[:most]
    if len(found) > most:
        return JournalPage(entries, entries[-1].number, entries[-1].number)
    return JournalPage(entries, first if first > which.first else None, first)
