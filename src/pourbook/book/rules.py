"""What the book refuses: the rules that a draft is checked against before anything is measured.

>>> from pourbook.book.entries import Draft, Note
>>> from pourbook.book.store import SqliteStore
>>> Rules(SqliteStore.create(":memory:"), now_us=0).check(Draft(Note("C000001H", "sound"), 0, " "))
Traceback (most recent call last):
    ...
pourbook.errors.Malformed: nobody is named as the person who did it
"""

from collections.abc import Mapping, Sequence
from shlex import quote
from typing import Any

from pourbook.book.entries import SOURCES, TARGETS, Draft, Packed, Pour, Recall, Void
from pourbook.book.holding import LINES
from pourbook.book.items import house_time
from pourbook.book.journal import parsed
from pourbook.book.refold import Ends
from pourbook.book.store import Store
from pourbook.codes.identifiers import KINDS, LIQUID_KINDS, hyphened, key_of, kind_of, of_key, read, refuse_as_ref
from pourbook.errors import Held, Malformed, OutOfRange, PeriodClosed, Refused, Unknown
from pourbook.liquid import MOST_MG, Liquid
from pourbook.numerals import a_or_an

__all__ = ["AHEAD_US", "Rules", "check_amounts", "check_facts", "checked_key"]

AHEAD_US = 300_000_000
"""Clocks of two stations may differ by five minutes."""

_REMEMBER_AT_MOST = 50_000
_VOIDED_OPENINGS = (
    "SELECT opening.bytes FROM entry AS opening JOIN entry AS void ON void.number = opening.gone"
    " WHERE opening.kind = 'item' AND void.kind = 'void'"
)


class Rules:
    """The rules, with what a recording has learnt of the book so far."""

    def __init__(self, store: Store, now_us: int) -> None:
        self._store = store
        self._now_us = now_us
        self._known: dict[str, int] = {}
        self._voided: set[str] | None = None
        self._given_out: dict[str, int] | None = None
        closed = store.query("SELECT max(happened) FROM entry WHERE kind = 'close' AND gone = 0")
        self._closed_until: int | None = closed[0][0]
        self._holds = _holds(store)

    def forget(self, key: int) -> None:
        """An item left the book again."""
        self._known.pop(of_key(key), None)
        self._given_out = None

    def settled(self) -> None:
        """All that was learnt stands in the store by now: too much of it is forgotten, so that memory stays flat."""
        if len(self._known) > _REMEMBER_AT_MOST:
            self._known.clear()
            self._given_out = None

    def holds_changed(self) -> None:
        """Items were put on hold or released."""
        self._holds = _holds(self._store)

    def closed(self, until_us: int) -> None:
        """A period was closed."""
        self._closed_until = max(until_us, self._closed_until or until_us)

    def check(self, draft: Draft) -> None:
        """The rules that hold for every entry.

        Raises:
            PourbookError: one of them is broken.
        """
        if not draft.who.strip():
            raise Malformed("nobody is named as the person who did it", "give --who NAME")
        if draft.happened_us > self._now_us + AHEAD_US:
            raise OutOfRange(
                f"{self._time(draft.happened_us)} lies in the future", "record what has happened, when it has"
            )
        if self._is_closed(draft.happened_us) and not self._corrects_closed(draft):
            raise PeriodClosed(
                f"{self._time(draft.happened_us)} lies in a period closed at {self._time(self._closed_until or 0)}",
                "record it in the open period, with the reason",
            )
        if (draft.replaces or isinstance(draft.entry, Void)) and not draft.reason.strip():
            raise Malformed("a correction needs its reason", "give --reason")

    def _time(self, moment_us: int) -> str:
        return house_time(self._store, moment_us)

    def _is_closed(self, happened_us: int) -> bool:
        return self._closed_until is not None and happened_us < self._closed_until

    def _corrects_closed(self, draft: Draft) -> bool:
        """Whether it stands in for an entry of a closed period: a correction, accounted for in the open one."""
        rows = self._store.query("SELECT happened FROM entry WHERE number = ?", (draft.replaces,))
        return bool(rows) and self._is_closed(rows[0][0])

    def known_key(self, identifier: str) -> int:
        """The key of an identifier that is in the book.

        Raises:
            Unknown: it is not.
        """
        key = self._known.get(identifier)
        if key is None:
            key = checked_key(identifier)
            if not self._store.query("SELECT 1 FROM item WHERE key = ?", (key,)):
                raise Unknown(f"{hyphened(identifier)} is not in the book", "check the label, or enter it first")
            self._known[identifier] = key
        return key

    def liquid_key(self, identifier: str) -> int:
        """The key of an item that holds liquid.

        Raises:
            PourbookError: it is not in the book, or holds no liquid of its own.
        """
        key = self.known_key(identifier)
        if kind_of(identifier) not in LIQUID_KINDS:
            raise Refused(f"{hyphened(identifier)} is {a_or_an(kind_of(identifier))}: it holds no liquid of its own")
        return key

    def _endpoint(self, identifier: str, happened_us: int) -> int:
        key = self.liquid_key(identifier)
        held_from = self._holds.get(key)
        if held_from and _held_at(held_from, happened_us):
            raise Held(f"{hyphened(identifier)} is on hold", "release it first: pourbook release, with the reason")
        return key

    def ends_of(self, pour: Pour, happened_us: int) -> list[Ends]:
        """The items at the ends of each line, if they may be poured from and into.

        Raises:
            PourbookError: they may not.
        """
        if not pour.moves:
            raise Malformed("a pour without a line", "say what was poured into what")
        if len(pour.moves) > LINES:
            raise Refused(f"{len(pour.moves)} lines in one entry; at most {LINES}", "record them as several")
        ends: list[Ends] = []
        for move in pour.moves:
            source = target = None
            if move.source == move.target:
                raise Refused(f"{hyphened(move.source)} cannot be poured into itself", "check which two were meant")
            if move.source not in SOURCES:
                source = self._endpoint(move.source, happened_us)
            elif move.target in TARGETS:
                raise Refused(f"{move.source} cannot go straight to {move.target}")
            if move.target not in TARGETS:
                target = self._endpoint(move.target, happened_us)
            ends.append((source, target))
        return ends

    def check_nothing_awaited(self, before_us: int = 1 << 62, then: str = "the period cannot be closed") -> None:
        """That no strength is awaited any more of what happened before a moment.

        Raises:
            Refused: one is.
        """
        rows = self._store.query(
            "SELECT number FROM entry WHERE kind = 'pour' AND gone = 0 AND happened < ?"
            " AND bytes LIKE '%\"awaited\":1%' LIMIT 9",
            (before_us,),
        )
        if rows:
            numbers = ", ".join(str(number) for (number,) in rows)
            entries = "entry" if len(rows) == 1 else "entries"
            raise Refused(
                f"strengths are still awaited in {entries} {numbers}, so {then}",
                "replace each with what the laboratory read: pourbook replace NUMBER --strength …",
            )

    def check_declarable(self, end_us: int) -> None:
        """That the figures of a period up to a moment can be declared: it is closed, and nothing is awaited.

        Raises:
            Refused: they cannot.
        """
        if not self._is_closed(end_us - 1):
            end = self._time(end_us).rpartition(" ")[0].removesuffix(" 00:00")
            raise Refused(
                f"the period up to {self._time(end_us)} is not closed, so its figures could still change",
                f"close it first: pourbook close --when {quote(end)}",
            )
        self.check_nothing_awaited(end_us, "the period cannot be declared")

    def check_opening(self, identifier: str, facts: Mapping[str, str]) -> None:
        """That an identifier may enter the book; it is then known.

        Raises:
            PourbookError: it is in the book, was once, or its facts cannot be.
        """
        key = checked_key(identifier)
        if identifier in self._known or (self._may_be_taken(identifier) and self._is_taken(key)):
            raise Refused(f"{hyphened(identifier)} is in the book already", "take a new number")
        check_facts(facts)
        self._known[identifier] = key

    def check_reservable(self, ids: Sequence[str]) -> None:
        """That identifiers have never been given out.

        Raises:
            Refused: one of them has.
        """
        for index, identifier in enumerate(ids):
            key = checked_key(identifier)
            reserved = self._store.query("SELECT 1 FROM reserved WHERE key = ?", (key,))
            if reserved or identifier in ids[:index] or self._is_taken(key):
                raise Refused(f"{hyphened(identifier)} has been given out already", "take a new number")

    def check_packed(self, packed: Packed) -> None:
        """That a lot may be packed under these numbers.

        Raises:
            PourbookError: it is no lot of the book; a number is mistyped, of another prefix, or given out before.
        """
        from pourbook.codes.gs1 import checked_prefix, checked_sscc  # only where something is packed

        self.known_key(packed.id)
        prefix = checked_prefix(packed.prefix)
        once = len(set(packed.ssccs)) == len(packed.ssccs) > 0
        if kind_of(packed.id) != "lot" or not once or packed.bottles < 1 or packed.cases < 0:
            raise Malformed(f"{hyphened(packed.id)} packed so is no case or pallet of a lot", "check lot and counts")
        for sscc in packed.ssccs:
            if checked_sscc(sscc)[1 : 1 + len(prefix)] != prefix:
                raise Malformed(f"SSCC {sscc} is not of company prefix {prefix}", "take the next number of the house")
            if self._store.query("SELECT 1 FROM unit WHERE sscc = ?", (int(sscc),)):
                raise Refused(f"SSCC {sscc} has been given out already", "take the next number of the house")

    def check_recall(self, recall: Recall) -> None:
        """That what a recall names is in the book, and that it is put in order.

        Raises:
            PourbookError: an item is not in the book, nothing is affected, or it ended before it began.
        """
        if not recall.scope or not recall.items or not set(recall.held) <= set(recall.items):
            raise Malformed("a recall of nothing", "name what is suspect; only what is affected can be held by it")
        if recall.ended_us < recall.begun_us:
            raise Malformed("a recall that ended before it was begun", "give --begun and --ended in their order")
        for identifier in recall.items:
            self.known_key(identifier)

    def check_release(self, recall: int) -> None:
        """That a recall holds anything, and was not released before.

        Raises:
            PourbookError: it is none, or it was.
        """
        rows = self._store.query("SELECT bytes FROM entry WHERE number = ? AND kind = 'recall'", (recall,))
        if not rows:
            raise Unknown(f"entry {recall} is no recall", "find its number: pourbook recall --list")
        if not parsed(rows[0][0])["body"]["held"]:
            raise Refused(f"recall {recall} put nothing on hold", "see: pourbook recall --list")
        released = self._store.query("SELECT number, bytes FROM entry WHERE kind = 'release' AND number > ?", (recall,))
        for number, bytes_ in released:
            if parsed(bytes_)["body"]["recall"] == recall:
                raise Refused(f"recall {recall} was released by entry {number}", "see: pourbook recall --list")

    def _may_be_taken(self, identifier: str) -> bool:
        """Whether its number was ever given out before this recording: a question without the store."""
        if self._given_out is None:
            self._given_out = dict(self._store.query("SELECT kind, next FROM counter"))
        return int(identifier[1:-1]) < self._given_out.get(kind_of(identifier), 1)

    def _is_taken(self, key: int) -> bool:
        """Whether an identifier is in the book, or was until its opening was voided."""
        if self._store.query("SELECT 1 FROM item WHERE key = ?", (key,)):
            return True
        identifier = of_key(key)
        next_number = self._store.query("SELECT next FROM counter WHERE kind = ?", (kind_of(identifier),))
        if not next_number or key // len(KINDS) >= next_number[0][0]:
            return False
        if self._store.query("SELECT 1 FROM reserved WHERE key = ?", (key,)):
            return False
        if self._voided is None:
            self._voided = {parsed(row[0])["body"]["item"] for row in self._store.query(_VOIDED_OPENINGS)}
        return identifier in self._voided


def checked_key(identifier: str) -> int:
    """The key of text that must be an identifier as symbols carry it."""
    if read(identifier) != identifier:
        raise Malformed(f"'{identifier}' is not an identifier", "write it as the label shows it")
    return key_of(identifier)


def check_amounts(line: Mapping[str, Any], *, least_mg: int) -> None:
    """Refuse amounts that are none, and liquids that cannot be."""
    for amount in (line.get("mass", least_mg), line.get("in", least_mg)):
        if not least_mg <= amount < MOST_MG:
            raise OutOfRange(f"{amount} mg cannot be poured or held", "check amount and unit")
    if "ethanol" in line:
        liquid = Liquid(line["mass"], line["ethanol"], line.get("extract", 0))
        if min(*liquid, liquid.water_mg) < 0:
            raise OutOfRange(f"{liquid} cannot be: its parts are more than the whole", "check the composition")


def check_facts(facts: Mapping[str, str]) -> None:
    """Refuse facts that are not text, and outside names that could be identifiers."""
    for name, value in facts.items():
        if type(value) is not str:
            raise TypeError(f"fact {name} is {value!r}, not text")
        if name == "ref" and value:
            refuse_as_ref(value)
        if name in ("gtin", "case_gtin") and value:
            from pourbook.codes.gs1 import checked_gtin  # few items have one

            checked_gtin(value)


def _holds(store: Store) -> dict[int, list[tuple[int, str]]]:
    """Items ever held, each with the moments a hold began or ended."""
    found: dict[int, list[tuple[int, str]]] = {}
    for item, happened, value in store.query(
        "SELECT item, happened, value FROM fact WHERE name = 'held' ORDER BY happened, place"
    ):
        found.setdefault(item, []).append((happened, value))
    return found


def _held_at(moments: Sequence[tuple[int, str]], happened_us: int) -> bool:
    held = ""
    for happened, value in moments:
        if happened <= happened_us:
            held = value
    return bool(held)
