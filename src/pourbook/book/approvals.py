"""Whether a batch or a lot is approved: by the latest word on itself, a lot else by that on all batches behind it.

An approval is of what was there. It lapses when anything is poured in afterwards; and a lot has that of its batch only
where nothing was poured into the batch between the approval and the bottling, whichever came first.

>>> from pourbook import Book
>>> covering(Book.create(":memory:", house="Quillmere").store, "B000001Y").stands
'not approved'
"""

from typing import Literal, NamedTuple

from pourbook.book.contents import EVER, LINES
from pourbook.book.journal import Logged, entry_of
from pourbook.book.search import mentioning
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of, kind_of, of_key

__all__ = ["Covering", "Stood", "covering", "recorded_about_before", "who_poured"]

Stood = Literal["approved", "rejected", "lapsed", "not approved"]


class Covering(NamedTuple):
    """The approval or rejection that counts for an item.

    Attributes:
        stands: what it comes to.
        of: the item that it was said of: itself, or a batch it was bottled from.
        entry: that says it; None where there is none.
        lapsed_by: entry of the pour since then; 0 where it did not lapse.
    """

    stands: Stood
    of: str
    entry: Logged | None = None
    lapsed_by: int = 0


_OUT_OF_IT = ("vial", "lot")
_WORST: tuple[Stood, ...] = ("rejected", "lapsed", "not approved", "approved")


def covering(store: Store, identifier: str, at_us: int | None = None) -> Covering:
    """What counts for a batch or a lot, now or at a moment; of several batches that which stands worst."""
    until_us = EVER if at_us is None else at_us
    own = _latest(store, identifier, until_us)
    if own is not None:
        return _judged(store, identifier, own, until_us)
    found = [
        _judged(store, batch, said, bottled_us)
        if (said := _latest(store, batch, until_us))
        else Covering("not approved", batch)
        for batch, bottled_us in _bottled_from(store, identifier, until_us)
    ]
    return min(found, key=lambda one: _WORST.index(one.stands), default=Covering("not approved", identifier))


def _latest(store: Store, identifier: str, until_us: int) -> Logged | None:
    said = mentioning(store, [key_of(identifier)], "approval").get(key_of(identifier), [])
    return next((one for one in reversed(said) if one.happened_us <= until_us), None)


def _judged(store: Store, identifier: str, said: Logged, other_us: int) -> Covering:
    """An approval beside another moment, that of a bottling or of the question."""
    if not said.entry["body"]["approved"]:
        return Covering("rejected", identifier, said)
    since_us, until_us = sorted((said.happened_us, other_us))
    for entry, happened_us, source in _poured_in(store, identifier):
        if since_us < happened_us <= until_us and not _is_of_it(store, source, identifier):
            return Covering("lapsed", identifier, said, entry)
    return Covering("approved", identifier, said)


def _poured_in(store: Store, identifier: str) -> list[tuple[int, int, str]]:
    """Entry, moment and source of every line into an item; the source is empty for outside."""
    rows = store.query(
        "SELECT flow.line, flow.happened, before.item FROM state AS own JOIN flow ON flow.target = own.id"
        " LEFT JOIN state AS before ON before.id = flow.source"
        " WHERE own.item = ? AND flow.how NOT IN ('carry', 'return', 'unexplained') ORDER BY flow.happened, flow.line",
        (key_of(identifier),),
    )
    return [(line // LINES, happened_us, "" if item is None else of_key(item)) for line, happened_us, item in rows]


def _is_of_it(store: Store, source: str, identifier: str) -> bool:
    """Whether a glass or a lot holds nothing but what came out of an item: the same liquid, where it goes back."""
    if not source or kind_of(source) not in _OUT_OF_IT:
        return False
    return {came for _, _, came in _poured_in(store, source)} == {identifier}


def _bottled_from(store: Store, identifier: str, until_us: int) -> list[tuple[str, int]]:
    """The batches that a lot was bottled from, each with the last time."""
    if kind_of(identifier) != "lot":
        return []
    poured = _poured_in(store, identifier)
    last = {source: happened_us for _, happened_us, source in poured if source[:1] == "B" and happened_us <= until_us}
    return list(last.items())


def who_poured(store: Store, identifier: str) -> tuple[str, ...]:
    """Who recorded what was poured into a batch or a lot, and into the batches that a lot was bottled from."""
    items = (identifier, *(batch for batch, _ in _bottled_from(store, identifier, EVER)))
    entries = (entry for item in items for entry, _, _ in _poured_in(store, item))
    return tuple(dict.fromkeys(entry_of(store, entry).entry["who"] for entry in entries))


def recorded_about_before(store: Store, number: int, moment_us: int) -> bool:
    """Whether anything was recorded after an entry of what happened at its moment or before, or was taken back."""
    rows = store.query(
        "SELECT 1 FROM entry WHERE number > ?1 AND (happened <= ?2 OR kind = 'void' OR place <> number) LIMIT 1",
        (number, moment_us),
    )
    return bool(rows)
