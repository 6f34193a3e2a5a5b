"""Recording in the past: only what changes is computed again.

New lines, and lines taken away, enter a queue ordered by time. Each is applied to what its items
held at that moment; then the next stored line of every item whose contents differ joins the
queue. An item leaves it where amount, state and seal agree with what is stored. A gauge of an amount
therefore shields all that follows it. When nothing lies later, the queue stays empty: plain appending.
"""

import heapq
from collections.abc import Mapping, Sequence
from typing import Any

from pourbook.book.contents import LINES, NOTHING, Holding
from pourbook.book.fold import PPB, Outcome, gauge, line_number, pour
from pourbook.book.journal import lines_of, parsed
from pourbook.book.last_measured import Measured, last_measured
from pourbook.book.liquid_rows import Changes, Key
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of
from pourbook.errors import InTheWay, NotThere
from pourbook.liquid import EMPTY, Liquid

__all__ = ["Ends", "Refold", "in_the_way", "items_of"]

_FLUSH_AT = 20_000
_REMEMBER_AT_MOST = 50_000

_BEFORE = (
    "SELECT mass, ethanol, extract, state, sealed FROM ledger WHERE item = ? AND (happened, place) < (?, ?)"
    " ORDER BY happened DESC, place DESC LIMIT 1"
)
_NEXT = (
    "SELECT happened, place, line FROM ledger WHERE item = ? AND (happened, place) > (?, ?)"
    " ORDER BY happened, place LIMIT 1"
)
_LAST = (
    "SELECT happened, place, line, mass, ethanol, extract, state, sealed FROM ledger WHERE item = ?"
    " ORDER BY happened DESC, place DESC LIMIT 1"
)
_AT = "SELECT mass, ethanol, extract, state, sealed FROM ledger WHERE item = ? AND happened = ? AND place = ?"

_REMOVE, _AGAIN = 0, 1


Ends = tuple[int | None, int | None]
"""Source and target of a line, as item keys; None for outside."""


def items_of(kind: str, line: Mapping[str, Any]) -> Ends:
    """Source and target of a line; a gauge has its item as source."""
    if kind == "gauge":
        return key_of(line["item"]), None
    source, target = line["from"], line["to"]
    # Identifiers begin with a capital; words for outside do not.
    return key_of(source) if source[0].isupper() else None, key_of(target) if target[0].isupper() else None


class Refold:
    """One recording, inside a transaction: lines applied in order of time, and what they change after them.

    `fresh` are items without a line in the store; `since` gathers items touched before their last line, each with
    the earliest moment.
    """

    def __init__(self, store: Store, fresh: set[int] | None = None, first_entry: int = 0) -> None:
        self.recomputed = 0
        self.leaning: list[int] = []
        self.obstacles: list[tuple[int, str]] = []
        self.before: dict[int, Liquid] = {}
        self.since: dict[int, int] = {}
        self.has_written = False
        self._store = store
        self._changes = Changes(store, first_entry * LINES * 2)
        self._fresh = fresh if fresh is not None else set()
        self._first_line = first_entry * LINES
        self._working: dict[int, Holding] = {}
        self._last: dict[int, Key | None] = {}
        self._measured: dict[int, Measured] = {}
        self._emptied: dict[int, Liquid] = {}
        self._refolded: set[int] = set()
        self._queue: list[tuple[int, int, int, int]] = []
        self._queued: set[Key] = set()
        self._removed: set[int] = set()
        self._corrects = False
        self._entry: tuple[int, str, Sequence[Mapping[str, Any]], int, int] = (0, "", (), 0, 0)

    # -- what the book does with it ----------------------------------------------------

    def held(self, item: int, key: Key) -> Holding:
        """What the item holds just before that place in the order."""
        self.advance(key)
        return self._held(item, key)

    def measured(self, item: int, key: Key) -> Measured | None:
        """When the contents of an item were last measured before that place in the order, or None."""
        if item in self._measured or item in self._fresh:
            return self._measured.get(item)
        return last_measured(self._store, item, key, self._removed)

    def apply(self, kind: str, line: Mapping[str, Any], number: int, key: Key, items: Ends | None = None) -> Outcome:
        """Apply a new line at its place in the order; `items` are its `items_of`, where known.

        Raises:
            NotThere: more is taken than is there.
        """
        self.advance(key)
        source, target = items or items_of(kind, line)
        outcome = self._outcome(kind, line, number, key, source, target)
        self._note_measured(line, outcome, source, target, key[0])
        for item, holding in ((source, outcome.source), (target, outcome.target)):
            if item is not None and holding is not None:
                self._put(item, key, number, holding)
                if holding.state >> 1 == number:
                    self._changes.put_state(holding.state, item)
                self._queue_next(item, key)
                if self._removed:
                    self._touch(item, key)
        self._seal_and_flow(outcome, source, target, key)
        if len(self._changes) > _FLUSH_AT:
            self._flush()
        return outcome

    def apply_entry(self, kind: str, body: Mapping[str, Any], number: int, happened: int, place: int) -> None:
        """Apply every line of a pour, or a gauge; raises as `apply`."""
        for index, line in enumerate(lines_of(body)):
            self.apply(kind, line, line_number(number, index), (happened, place * LINES + index))

    def _note_measured(
        self, line: Mapping[str, Any], outcome: Outcome, source: int | None, target: int | None, happened_us: int
    ) -> None:
        if source is not None and "item" in line and "mass" in line:
            self._measured[source] = Measured(happened_us, was_filled=False)
        elif target is not None and outcome.target and outcome.target.mass_mg == outcome.flows[-1].mass_mg:
            self._measured[target] = Measured(happened_us, was_filled=True)

    def remove(self, entry_number: int) -> None:
        """Take away the lines of an entry that is voided or replaced."""
        kind, lines, happened, place = self._lines_of(entry_number)
        for index, line in enumerate(lines):
            number = entry_number * LINES + index
            self._removed.add(number)
            key = (happened, place * LINES + index)
            self._queued.add(key)
            heapq.heappush(self._queue, (*key, _REMOVE, number))
            for item in items_of(kind, line):
                if item is not None:
                    self._touch(item, key)

    def _touch(self, item: int, key: Key) -> None:
        self.since[item] = min(key[0], self.since.get(item, key[0]))

    def advance(self, key: Key) -> None:
        """Bring everything before (and removals at) that place in the order up to date."""
        while self._queue and self._queue[0][:2] <= key:
            happened, place, task, number = heapq.heappop(self._queue)
            if task == _REMOVE:
                self._take_away(number, (happened, place))
            else:
                self._apply_again(number, (happened, place))

    def finish(self) -> None:
        """Bring the whole book up to date and write it."""
        self.advance((1 << 62, 1 << 62))
        self._unseal_last()
        self._flush()

    def _unseal_last(self) -> None:
        """The last state of an item is not sealed, whatever was before the refold."""
        for item in self._refolded:
            holding = self._working.get(item)
            if holding is not None and holding.state and not holding.sealed:
                self._changes.put_state(holding.state, item)
        self._refolded.clear()

    def after(self, item: int) -> Liquid:
        """What the item holds in the end; call after `finish`."""
        holding = self._working.get(item)
        if holding is not None:
            return holding.liquid
        rows = self._store.query(_LAST, (item,))
        return Holding(*rows[0][3:]).liquid if rows else EMPTY

    # -- holdings ----------------------------------------------------------------------

    def _held(self, item: int, key: Key) -> Holding:
        holding = self._working.get(item)
        if holding is not None:
            return holding
        if item in self._fresh:
            return NOTHING
        if item not in self._last:
            last, holding = self._remember(item)
            if last is None or last < key:
                return holding
        rows = self._store.query(_BEFORE, (item, *key))
        return Holding(*rows[0]) if rows else NOTHING

    def _remember(self, item: int) -> tuple[Key | None, Holding]:
        """Where the last line of an item stands, as stored, and what it left."""
        rows = self._store.query(_LAST, (item,))
        if not rows:
            self._last[item], holding, line = None, NOTHING, 0
        else:
            happened, place, line, *amounts = rows[0]
            self._last[item], holding = (happened, place), Holding(*amounts)
        if line < self._first_line:
            self.before.setdefault(item, holding.liquid)
        return self._last[item], holding

    def _put(self, item: int, key: Key, number: int, holding: Holding) -> None:
        before = self._working.get(item)
        if before is not None and before.mass_mg and not holding.mass_mg:
            self._emptied[item] = before.liquid
        self._working[item] = holding
        self._changes.put_ledger(item, key, number, holding)

    def _queue_next(self, item: int, key: Key) -> None:
        """Queue the next stored line of an item whose contents differ from here on."""
        if item in self._fresh:
            return
        if item not in self._last:
            self._remember(item)
        last = self._last[item]
        if last is None or last <= key:
            return
        rows = self._store.query(_NEXT, (item, *key))
        if rows:
            self._touch(item, key)
            happened, place, number = rows[0]
            if (happened, place) not in self._queued and number not in self._removed:
                self._queued.add((happened, place))
                heapq.heappush(self._queue, (happened, place, _AGAIN, number))

    # -- applying ----------------------------------------------------------------------

    def _outcome(
        self, kind: str, line: Mapping[str, Any], number: int, key: Key, source: int | None, target: int | None
    ) -> Outcome:
        if kind == "gauge":
            assert source is not None
            return gauge(line, number, self._held(source, key))
        held, into = (None if item is None else self._held(item, key) for item in (source, target))
        return pour(line, number, held, into)

    def _seal_and_flow(self, outcome: Outcome, source: int | None, target: int | None, key: Key) -> None:
        happened, place = key
        changes = self._changes
        if outcome.gauge_sealed:
            changes.put_state(outcome.gauge_sealed, source or 0, (happened, place * 2))
        if outcome.pour_sealed:
            changes.put_state(outcome.pour_sealed, source or target or 0, (happened, place * 2 + 1))
        for flow in outcome.flows:
            changes.put_flow(flow, happened)

    def _apply_again(self, number: int, key: Key) -> None:
        """Apply a stored line to what its items hold before it now."""
        entry_number, index = divmod(number, LINES)
        kind, lines, _, _ = self._lines_of(entry_number)
        line = lines[index]
        source, target = items_of(kind, line)
        self.recomputed += 1
        self._corrects = True
        self._note_leaning(entry_number, line, source, key)
        if source is None and target is not None:
            self._note_stale_return(entry_number, line, target, key)
        try:
            outcome = self._outcome(kind, line, number, key, source, target)
        except NotThere as refusal:
            self.obstacles.append((entry_number, refusal.message))
            for item in (source, target):
                if item is not None:
                    self._queue_next(item, key)
            return
        stored = self._erase(source, target, number, key)
        opened = {holding.state for holding in stored.values() if holding.state >> 1 == number}
        for item, holding in ((source, outcome.source), (target, outcome.target)):
            if item is None or holding is None:
                continue
            if holding.state >> 1 == number and holding.state not in opened:
                self._changes.put_state(holding.state, item)
            opened.discard(holding.state)
            if stored.get(item) == holding:
                before = self._working.pop(item, None)
                self._changes.put_ledger(item, key, number, holding)
                if before is not None and before.mass_mg and not holding.mass_mg:
                    self._emptied[item] = before.liquid
                    self._queue_next(item, key)  # what comes home to it was of what left
            else:
                self._refolded.add(item)
                self._put(item, key, number, holding)
                self._queue_next(item, key)
        for state in opened:
            self._changes.drop_state(state)
        self._seal_and_flow(outcome, source, target, key)

    def _take_away(self, number: int, key: Key) -> None:
        self._corrects = True
        entry_number, index = divmod(number, LINES)
        kind, lines, _, _ = self._lines_of(entry_number)
        source, target = items_of(kind, lines[index])
        held = {item: self._held(item, key) for item in (source, target) if item is not None}
        stored = self._erase(source, target, number, key)
        for item, holding in held.items():
            self._working[item] = holding
            self._refolded.add(item)
            if item not in self._last:
                self._remember(item)
            self._queue_next(item, key)
            if stored[item].state >> 1 == number:
                self._changes.drop_state(stored[item].state)

    def _erase(self, source: int | None, target: int | None, number: int, key: Key) -> dict[int, Holding]:
        """Drop the rows a stored line made; what its items held after it, as stored."""
        stored: dict[int, Holding] = {}
        for item in (source, target):
            if item is not None:
                rows = self._store.query(_AT, (item, *key))
                if rows:
                    stored[item] = Holding(*rows[0])
                    self._changes.drop_ledger(item, key)
        target_state = stored[target].state if target in stored else 0
        self._changes.drop_flows(number, target_state)
        return stored

    def _note_leaning(self, entry_number: int, line: Mapping[str, Any], source: int | None, key: Key) -> None:
        """List an entry whose mass was derived from a book strength that has changed."""
        frozen = line.get("book_fraction")
        if frozen is None or source is None:
            return
        held = self._held(source, key)
        spirit = held.mass_mg - held.extract_mg
        if spirit and abs(round(held.ethanol_mg / spirit * PPB) - frozen) > PPB // 10_000_000:
            self.leaning.append(entry_number)

    def _note_stale_return(self, entry_number: int, line: Mapping[str, Any], target: int, key: Key) -> None:
        """List a return to a lot of which nothing was left, if what had left it has changed."""
        left = self._emptied.get(target)
        if "own" not in line or left is None or self._held(target, key).mass_mg:
            return
        if left.scaled(line["mass"]) != Liquid(line["mass"], line["ethanol"], line.get("extract", 0)):
            self.leaning.append(entry_number)

    def _lines_of(self, entry_number: int) -> tuple[str, Sequence[Mapping[str, Any]], int, int]:
        """Kind, lines, time and place of a stored entry (the last one asked for is remembered)."""
        if self._entry[0] != entry_number:
            question = "SELECT kind, bytes, happened, place FROM entry WHERE number = ?"
            ((kind, text, happened, place),) = self._store.query(question, (entry_number,))
            self._entry = (entry_number, kind, lines_of(parsed(text)["body"]), happened, place)
        return self._entry[1:]

    def _flush(self) -> None:
        forgetting = len(self._working) > _REMEMBER_AT_MOST and not self._queue
        if forgetting:
            self._unseal_last()
        self._changes.flush(corrects=self._corrects)
        self.has_written = True
        if forgetting:
            self._fresh.difference_update(self._working)
            self._working.clear()
            self._measured.clear()
            self._last.clear()


def in_the_way(obstacles: Sequence[tuple[int, str]]) -> InTheWay:
    """The refusal that names earlier entries that would become impossible."""
    shown = "; ".join(f"entry {number}: {said}" for number, said in obstacles[:5])
    more = f" (and {len(obstacles) - 5} more)" if len(obstacles) > 5 else ""
    return InTheWay(
        f"later pours would become impossible: {shown}{more}",
        "correct those first, or gauge the item at that time",
        tuple(number for number, _ in obstacles),
    )
