"""What a recording knows of the book so far, so that its rules ask the store once for each thing."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from pourbook.book.entries import Close, Facts, Hold, House, Recall, Release, Void, Word
from pourbook.book.journal import parsed
from pourbook.book.names import is_in_book, is_reserved, named, unknown
from pourbook.book.settings import house_time, settings
from pourbook.book.store import Store
from pourbook.codes.identifiers import (
    KINDS,
    LIQUID_KINDS,
    hyphened,
    key_of,
    kind_of,
    of_key,
    read,
    read_or_none,
    readable,
)
from pourbook.errors import Malformed, Refused
from pourbook.numerals import a_or_an
from pourbook.times import house_zone

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.book.entries import Entry
    from pourbook.book.holds import Holders
    from pourbook.book.house_words import WordList
    from pourbook.gauging.slips import Room

__all__ = ["HANDED_ON", "Known", "checked_key"]

HANDED_ON = ("owner", "duty")
"""Facts that go with the liquid."""

_REMEMBER_AT_MOST = 50_000
_CLOSED_AND_STATUS = (  # names in the order of their index
    "SELECT (SELECT max(happened) FROM entry WHERE kind = 'close' AND gone = 0),"
    " EXISTS (SELECT 1 FROM fact WHERE name IN ('duty', 'owner'))"
)
_LATEST = "SELECT value FROM fact WHERE item = ? AND name = '{}' ORDER BY happened DESC, place DESC LIMIT 1"
_CAPACITY, _PLACE = (_LATEST.format(name) for name in ("capacity_l", "place"))
_KINDS = tuple(KINDS)
_SAMPLES = {"vial": "vial", "trial": "trial's glass"}
"""Kinds that hold no more than the setting `sample_l`, unless a capacity is on record."""
_IN_THE_BOOK = f"SELECT ({_CAPACITY}) FROM item WHERE key = ?"
_VOIDED_OPENINGS = (
    "SELECT opening.bytes FROM entry AS opening JOIN entry AS void ON void.number = opening.gone"
    " WHERE opening.kind = 'item' AND void.kind = 'void'"
)


class Known:
    """What a recording has learnt of the book.

    Attributes:
        store: inside a transaction.
        now_us: the moment of recording.
        closed_until_us: nothing may happen before this moment; None where no period was closed.
        has_status: whether any item of the book ever had an owner or a duty status.
    """

    def __init__(self, store: Store, now_us: int) -> None:
        self.store = store
        self.now_us = now_us
        ((closed, has_status),) = store.query(_CLOSED_AND_STATUS)
        self.closed_until_us: int | None = closed
        self.has_status = bool(has_status)
        self._keys: dict[str, int] = {}
        self._capacities: dict[int, str] = {}
        self._voided: set[str] | None = None
        self._given_out: dict[str, int] | None = None
        self._holds = _holds(store)
        self._holders: dict[int, Holders] = {}
        self._settings: Mapping[str, str] | None = None
        self._words: WordList | None = None

    # -- what changes while it records ---------------------------------------------------

    def opened(self, identifier: str, item_facts: Mapping[str, str]) -> None:
        """An item entered the book."""
        self._keys[identifier] = key_of(identifier)
        self.changed(identifier, item_facts)

    def learnt(self, entry: "Entry", happened_us: int) -> None:
        """An entry that moves no liquid was recorded."""
        if isinstance(entry, Facts):
            self.changed(entry.id, entry.facts)
        elif isinstance(entry, Hold | Recall | Release | Void):
            self.holds_changed()
        elif isinstance(entry, Word):
            self._words = self.words.with_word(entry)
        elif isinstance(entry, House):
            self._settings = None
        elif isinstance(entry, Close):
            self.closed_until_us = max(happened_us, self.closed_until_us or happened_us)

    def changed(self, identifier: str, item_facts: Mapping[str, str]) -> None:
        """Facts of an item were stated."""
        if "capacity_l" in item_facts:
            self._capacities.pop(key_of(identifier), None)
        if any(name in item_facts for name in HANDED_ON):
            self.has_status = True

    def forget(self, key: int) -> None:
        """What was learnt of an item may no longer be so."""
        self._keys.pop(of_key(key), None)
        self._capacities.pop(key, None)
        self._given_out = None

    def settled(self) -> None:
        """The store holds all that was learnt: too much of it is forgotten, so that memory stays flat."""
        if len(self._keys) > _REMEMBER_AT_MOST:
            self._keys.clear()
            self._capacities.clear()
            self._given_out = None

    def holds_changed(self) -> None:
        """Items were put on hold, or released; or an entry was voided, which a hold or a word may have been."""
        self._words = None
        self._holds = _holds(self.store)
        self._holders.clear()

    # -- what rules ask ------------------------------------------------------------------

    @property
    def settings(self) -> Mapping[str, str]:
        """The house's settings."""
        if self._settings is None:
            self._settings = settings(self.store)
        return self._settings

    @property
    def words(self) -> "WordList":
        """The house's words for tasting notes."""
        if self._words is None:
            from pourbook.book.house_words import house_words  # most recordings are of no tasting

            self._words = house_words(self.store)
        return self._words

    @property
    def mark(self) -> str:
        """The house's decimal mark."""
        return self.settings["decimal_mark"]

    @property
    def zone(self) -> "tzinfo":
        """The house's time zone."""
        return house_zone(settings(self.store)["zone"])

    def time_shown(self, moment_us: int) -> str:
        """A moment in house time."""
        return house_time(self.store, moment_us)

    def is_closed(self, moment_us: int) -> bool:
        """Whether a moment lies in a closed period."""
        return self.closed_until_us is not None and moment_us < self.closed_until_us

    def key(self, identifier: str) -> int:
        """The key of an identifier that is in the book; else it is `Unknown`."""
        key = self._keys.get(identifier)
        if key is None:
            key = checked_key(identifier)
            rows = self.store.query(_IN_THE_BOOK, (key, key))
            if not rows:
                raise unknown(self.store, key)
            self._keys[identifier] = key
            self._capacities[key] = rows[0][0] or ""
        return key

    def liquid_key(self, identifier: str) -> int:
        """The key of an item in the book that holds liquid; `Refused` for another kind."""
        key = self.key(identifier)
        if kind_of(identifier) not in LIQUID_KINDS:
            raise Refused(f"{hyphened(identifier)} is {a_or_an(kind_of(identifier))} and holds no liquid")
        return key

    def is_held(self, key: int, at_us: int) -> bool:
        """Whether an item is on hold at a moment."""
        held = ""
        for happened, value in self._holds.get(key, ()):
            if happened <= at_us:
                held = value
        return bool(held)

    def is_held_now(self, key: int) -> bool:
        """Whether an item is on hold as the book stands."""
        held = self._holds.get(key)
        return bool(held and held[-1][1])

    def holders(self, key: int) -> "Holders":
        """What holds an item now."""
        if key not in self._holders:
            from pourbook.book.holds import holders  # most recordings touch nothing that is held

            self._holders[key] = holders(self.store, key)
        return self._holders[key]

    def capacity_l(self, key: int) -> str:
        """The capacity on record now, as written, or empty."""
        if key not in self._capacities:
            rows = self.store.query(_CAPACITY, (key,))
            self._capacities[key] = rows[0][0] if rows else ""
        return self._capacities[key]

    def room(self, key: int) -> "Room | None":
        """How much an item takes: its capacity on record, that of the vat it lies in, or what such things hold."""
        from pourbook.gauging.slips import Room, capacity_of  # a book that only opens items does without it

        litres, kind = capacity_of(self.capacity_l(key)), _KINDS[key % len(_KINDS)]
        if litres is not None:
            return Room(litres)
        if kind == "batch":
            place = self._place_of(key)
            vessel = read_or_none(place) or named(self.store, place, "place") if place else ""
            litres = capacity_of(self.capacity_l(key_of(vessel))) if vessel else None
            return None if litres is None else Room(litres, vessel=readable(place))
        usual = capacity_of(self.settings["sample_l"]) if kind in _SAMPLES else None
        return None if usual is None else Room(usual, usual=_SAMPLES[kind])

    def _place_of(self, key: int) -> str:
        """Where an item is now, as written, or empty."""
        rows = self.store.query(_PLACE, (key,))
        return rows[0][0] if rows else ""

    def is_new(self, identifier: str) -> bool:
        """Whether an identifier may open an item: never in the book, and not of a voided opening."""
        if identifier in self._keys:
            return False
        if self._given_out is None:
            self._given_out = dict(self.store.query("SELECT kind, next FROM counter"))
        # A number never issued before this recording needs no query.
        was_issued = int(identifier[1:-1]) < self._given_out.get(kind_of(identifier), 1)
        return not (was_issued and self.is_taken(key_of(identifier)))

    def is_taken(self, key: int) -> bool:
        """Whether an identifier is in the book, or was until its opening was voided."""
        if is_in_book(self.store, key):
            return True
        identifier = of_key(key)
        next_number = self.store.query("SELECT next FROM counter WHERE kind = ?", (kind_of(identifier),))
        if not next_number or key // len(KINDS) >= next_number[0][0] or is_reserved(self.store, key):
            return False
        if self._voided is None:
            self._voided = {parsed(row[0])["body"]["item"] for row in self.store.query(_VOIDED_OPENINGS)}
        return identifier in self._voided

    def pending(self, before_us: int = 1 << 62) -> Sequence[int]:
        """Entries before a moment whose strength the laboratory has still to read; nine at most."""
        rows = self.store.query(
            "SELECT entry FROM pending CROSS JOIN entry ON entry.number = pending.entry WHERE entry.happened < ?"
            " ORDER BY entry LIMIT 9",
            (before_us,),
        )
        return [number for (number,) in rows]


def checked_key(identifier: str) -> int:
    """The key of an identifier as symbols carry it; other text is `Malformed`."""
    if read(identifier) != identifier:
        raise Malformed(f"'{identifier}' is not an identifier", "write it as the label shows it")
    return key_of(identifier)


def _holds(store: Store) -> dict[int, list[tuple[int, str]]]:
    """Items ever held, each with the moments a hold began or ended."""
    found: dict[int, list[tuple[int, str]]] = {}
    for item, happened, value in store.query(
        "SELECT item, happened, value FROM fact WHERE name = 'held' ORDER BY happened, place, item"
    ):
        found.setdefault(item, []).append((happened, value))
    return found
