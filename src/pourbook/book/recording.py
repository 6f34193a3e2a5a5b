"""Drafts become entries: checked, measured, frozen, chained and applied, all in one transaction.

Entries that move no liquid come first, then pours and gauges in the order they happened; the
numbers follow that order. A strength typed with a pour becomes a gauge of the source just before
it. Nothing here opens a file or reads a clock.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from typing import Any

from pourbook.book.book_so_far import Known
from pourbook.book.bottles import Unwritten, as_counted
from pourbook.book.brought_age import with_wood_days
from pourbook.book.coded_names import Names
from pourbook.book.consequences import Changed, Recorded
from pourbook.book.contents import LINES, NOTHING
from pourbook.book.entries import SOURCES, Close, Draft, Entry, Gauge, Hold, Item, Move, Pour, Void
from pourbook.book.fold import line_number
from pourbook.book.freeze import frozen_gauge, frozen_move
from pourbook.book.gauge_rules import OF_GAUGES, GaugeCase
from pourbook.book.journal import canonical, chaining, last_entry, parsed, refuse_in_a_group, told
from pourbook.book.key_entries import SECOND_SIGNATURE
from pourbook.book.kinds import COUNT, KIND_OF_NAME, kind_of_entry, remains, statements
from pourbook.book.line_case import LineCase
from pourbook.book.line_ends import ends_of, filled_by_then, is_work_of_a_recall, recall_holding
from pourbook.book.liquid_rules import OF_LINES, checked_amounts
from pourbook.book.owner_and_duty import handed_on
from pourbook.book.refold import Ends, Refold, in_the_way
from pourbook.book.rules import OF_EVERY_ENTRY, Case, confirmed
from pourbook.book.store import Store
from pourbook.book.two_people import second_fields, second_person_agrees
from pourbook.codes.identifiers import hyphened, key_of, of_key
from pourbook.errors import InTheWay, PourbookError, Refused, Unknown
from pourbook.numerals import a_or_an
from pourbook.signing.seconds import second_message
from pourbook.times import written

__all__ = ["record", "record_in_order"]

_BATCH = 5_000
_MOST_REACHED = 100_000
_OTHERS = (
    "SELECT 1 FROM mention JOIN entry ON entry.number = mention.entry"
    " WHERE mention.item = ? AND entry.gone = 0 AND entry.number <> ? LIMIT 1"
)


def record(store: Store, drafts: Iterable[Draft], now_us: int) -> Recorded:
    """Append drafts to the journal and bring every projection up to date, inside a transaction of the store.

    Raises:
        PourbookError: any rule refuses; nothing may then be committed.
    """
    recorder = _Recorder(store, now_us)
    liquid: list[Draft] = []
    closing: list[Draft] = []
    whole, left_open = handed_on(recorder.known, list(drafts))
    for draft in whole:
        recorder.check(draft)
        if isinstance(draft.entry, Pour | Gauge):
            liquid.append(draft)
        elif isinstance(draft.entry, Close):
            closing.append(draft)
        else:
            recorder.plain(draft)
    recorder.write_entries()
    for draft in liquid:
        if draft.replaces:
            recorder.take_back(draft.replaces, draft.entry)
    for draft in sorted(liquid, key=recorder.applies_at):
        recorder.liquid(draft)
    for draft in closing:
        recorder.plain(draft)
    return recorder.finish()._replace(left_open=tuple(left_open))


def record_in_order(
    store: Store, drafts: Iterable[Draft], now_us: int, refused: Callable[[Draft, PourbookError], None] | None = None
) -> Recorded:
    """As `record`, for any number of drafts that come in the order in which they are to be numbered.

    Nothing is gathered, so that memory stays flat. Pours and gauges must come in the order they happened; none may
    replace another entry. `refused` is told each draft that a rule refuses before the next one is asked for; without
    it the first refusal is raised.

    Raises:
        PourbookError: any rule refuses; nothing may then be committed.
        ValueError: a draft is out of order, or replaces an entry.
    """
    recorder = _Recorder(store, now_us)
    latest_us = -(1 << 62)
    for draft in drafts:
        try:
            recorder.check(draft)
            if isinstance(draft.entry, Pour | Gauge):
                if draft.replaces or draft.happened_us < latest_us:
                    raise ValueError(f"out of order: {draft!r}")
                latest_us = draft.happened_us
                recorder.liquid(draft)
            else:
                recorder.plain(draft)
        except PourbookError as refusal:
            if refused is None:
                raise
            refused(draft, refusal)
    return recorder.finish()


class _Recorder:
    def __init__(self, store: Store, now_us: int) -> None:
        refuse_in_a_group(store)
        self.store = store
        self.known = Known(store, now_us)
        self.now_us, self.recorded = now_us, written(now_us)
        self.number, head = last_entry(store)
        self.next_hash, self.previous, self.coded = chaining(head), head, Names(store, makes=True).coded
        self.fresh: set[int] = set()
        self.first = self.number + 1
        self.fold = Refold(store, self.fresh, self.first)
        self.rows: list[tuple[Any, ...]] = []
        self.openings: dict[str, list[tuple[Any, ...]]] = {}
        self.places: dict[int, int] = {}
        self.gains: list[tuple[str, int]] = []
        self.counted: defaultdict[str, list[dict[str, Any]]] = defaultdict(list)
        self.from_held: list[tuple[int, int, Draft]] = []
        self.seconds: set[bool] = set()  # of each entry told a second person, whether it needed one

    def check(self, draft: Draft) -> None:
        """The rules of every entry."""
        case = Case(self.known, draft)
        for rule in OF_EVERY_ENTRY:
            rule(case)
        second_person_agrees(case)

    # -- entries that move no liquid ---------------------------------------------------

    def plain(self, draft: Draft) -> None:
        """Record an entry that moves no liquid."""
        entry, kind = draft.entry, kind_of_entry(draft.entry)
        if kind in ("component", "house", "recipe"):  # whose rules read entries
            self.write_entries()
        elif not isinstance(entry, Item):
            self.write_openings()
        if isinstance(entry, Void):
            self.take_back(entry.entry, None)
        elif draft.replaces:
            self.take_back(draft.replaces, entry)
        asked = confirmed(KIND_OF_NAME[kind].rules, Case(self.known, draft), by_person=draft.confirmed)
        body = told(entry) | ({"confirmed": asked} if asked else {})
        number = self._append(draft, kind, body)
        if isinstance(entry, Void):
            self._mark_gone(entry.entry)
        place = self.places.get(draft.replaces, number)
        for sql, parameters in statements(kind, body, number, draft.happened_us, place):
            self.openings.setdefault(sql, []).append(parameters)
        if not isinstance(entry, Item) or draft.replaces:
            self.write_openings()
        if isinstance(entry, Item):
            self.known.opened(entry.id, entry.facts)
            if not draft.replaces:
                self.fresh.add(key_of(entry.id))
        else:
            self.known.learnt(entry, draft.happened_us)

    # -- corrections -------------------------------------------------------------------

    def applies_at(self, draft: Draft) -> tuple[int, int]:
        """Where a draft stands in the order of application."""
        return draft.happened_us, self.places.get(draft.replaces, 1 << 62)

    def take_back(self, number: int, replacement: Entry | None) -> None:
        """Remove what an entry projected; `replacement` is None where it is voided."""
        rows = self.store.query("SELECT kind, place, gone, bytes FROM entry WHERE number = ?", (number,))
        if not rows:
            raise Unknown(f"the journal has no entry {number}", "find its number: pourbook journal")
        kind, place, gone, bytes_ = rows[0]
        if number in self.places:
            raise Refused(f"entry {number} is corrected twice at once", "correct it once")
        if gone:
            raise Refused(f"entry {number} no longer counts: entry {gone} took its place", f"correct {gone}")
        if not KIND_OF_NAME[kind].can_be_corrected:
            raise Refused(f"entry {number} is {a_or_an(kind)} entry and stays", "record what is true now instead")
        if replacement is not None and kind != kind_of_entry(replacement):
            raise Refused(
                f"entry {number} is {a_or_an(kind)}; {a_or_an(kind_of_entry(replacement))} cannot replace it",
                "void it, then record the other",
            )
        self.places[number] = place
        body = parsed(bytes_)["body"]
        for table in KIND_OF_NAME[kind].tables:
            self.store.execute(f"DELETE FROM {table} WHERE entry = ?", (number,))
        if kind in ("pour", "gauge"):
            self.fold.remove(number)
            for sql, parameters in remains(kind, body, number):
                self.store.execute(sql, parameters)
        elif "item" in body:
            self._unproject(number, place, kind, key_of(body["item"]), replacement)

    def _unproject(self, number: int, place: int, kind: str, key: int, replacement: Entry | None) -> None:
        """Remove the rows of an entry that moved no liquid; its mention of the item remains."""
        self.store.execute("DELETE FROM fact WHERE item = ? AND place = ?", (key, place))
        self.known.forget(key)
        if kind == "item":
            self.store.execute("DELETE FROM item WHERE key = ?", (key,))
            named = hyphened(of_key(key))
            if isinstance(replacement, Item):
                if replacement.id != of_key(key):
                    raise Refused(f"entry {number} opened {named}", "void it, then enter the other item")
                return
            lines = self.store.query("SELECT 1 FROM ledger WHERE item = ? LIMIT 1", (key,))
            if lines or self.store.query(_OTHERS, (key, number)):
                raise InTheWay(f"{named} has been used, so its opening stays", "void its other entries first")

    def _mark_gone(self, number: int) -> None:
        """The entry no longer counts: the one just appended took its place."""
        self.write_entries()
        self.store.execute("UPDATE entry SET gone = ? WHERE number = ?", (self.number, number))

    # -- pours and gauges --------------------------------------------------------------

    def liquid(self, draft: Draft) -> None:
        """Record a pour or a gauge; its rules read what was said of items opened just before."""
        self.write_openings()
        if isinstance(draft.entry, Gauge):
            self._gauge(draft, draft.entry)
        elif isinstance(draft.entry, Pour):
            self._pour(draft, draft.entry)

    def _gauge(self, draft: Draft, entry: Gauge) -> None:
        item = self.known.liquid_key(entry.id)
        place, key = self._place_of(draft)
        held = self.fold.held(item, key)
        body = frozen_gauge(entry, held)
        checked_amounts(body, least_mg=0)
        case = GaugeCase(self.known, draft, entry, body, held, item, self.fold.measured(item, key))
        if asked := confirmed(OF_GAUGES, case, by_person=draft.confirmed):
            body["confirmed"] = asked
        number = self.number + 1
        self.fold.apply("gauge", body, line_number(number, 0), key)
        self._append(draft, "gauge", body, place)

    def _pour(self, draft: Draft, pour: Pour) -> None:
        ends = ends_of(self.known, pour, draft.happened_us)
        for move in pour.moves:
            if move.strength is not None and move.source not in SOURCES and move.target != "loss":
                self._gauge_before(draft, move)
        place, key = self._place_of(draft)
        number = self.number + 1
        lines = []
        for index, move in enumerate(pour.moves):
            line_key = (key[0], key[1] + index)
            line = self._line(draft, move, line_key, ends[index])
            outcome = self.fold.apply("pour", line, line_number(number, index), line_key, ends[index])
            if outcome.implied_gain_mg and not move.empties:
                self.gains.append((move.source, outcome.implied_gain_mg))
            self._passes_on(ends[index], draft)
            lines.append(line)
        body = {"verb": pour.verb, "lines": lines}
        self._append(draft, "pour", body, place)
        for sql, parameters in statements("pour", body, number, draft.happened_us, place):
            self.store.execute(sql, parameters)

    def _line(self, draft: Draft, move: Move, key: tuple[int, int], ends: Ends) -> dict[str, Any]:
        """A line frozen, with what was confirmed of it."""
        source, target = (NOTHING if item is None else self.fold.held(item, key) for item in ends)
        filled_by_then(self.known, move.source, source, draft)
        unwritten = Unwritten(self.first, draft.replaces, self.counted)
        move = as_counted(self.store, move, draft.happened_us, unwritten)
        if "in_wood" in move.facts:
            move = move._replace(facts=with_wood_days(move.facts, draft.happened_us, self.known.zone))
        line = frozen_move(move, source)
        case = LineCase(self.known, draft, move, line, source, target, ends, unwritten)
        if asked := confirmed(OF_LINES, case, by_person=draft.confirmed):
            line["confirmed"] = asked
        if is_work_of_a_recall(move) and (recall := recall_holding(self.known, ends)):
            line["recall"] = recall
        if "bottles" in move.facts:
            for end in (move.source, move.target):
                self.counted[end].append({"mass": source.mass_mg, **line})
        return line

    def _passes_on(self, ends: Ends, draft: Draft) -> None:
        """What is poured from what a recall holds is to be held by the same recall."""
        source, target = ends
        if source is None or target is None or not self.known.is_held_now(source):
            return
        if recall := self.known.holders(source).recall:
            self.from_held.append((recall, target, draft))

    def _hold_what_was_poured(self) -> list[str]:
        """Hold what was poured from what a recall holds, and all that it went into since; identifiers of it."""
        from pourbook.book.items import held as held_liquid  # seldom needed
        from pourbook.book.lineages import reached_since

        held = []
        for recall, target, draft in self.from_held:
            for key in sorted(reached_since(self.store, {target: draft.happened_us}, _MOST_REACHED)[0]):
                if self.known.holders(key).recall != recall and held_liquid(self.store, key).mass_mg:
                    self.plain(draft._replace(entry=Hold(of_key(key), held=True, recall=recall), replaces=0))
                    self.write_entries()
                    held.append(of_key(key))
        return held

    def _gauge_before(self, draft: Draft, move: Move) -> None:
        """A strength typed with a pour is a reading of the source just before it."""
        _, key = self._place_of(draft)
        if self.fold.held(key_of(move.source), key).mass_mg:
            if draft.replaces:
                raise Refused(
                    f"the strength of {hyphened(move.source)} is a gauge, not a part of the pour",
                    "replace that gauge, or gauge it at that time",
                )
            reading = Gauge(move.source, None, move.strength)
            self._gauge(draft._replace(entry=reading, replaces=0), reading)

    def _place_of(self, draft: Draft) -> tuple[int, tuple[int, int]]:
        place = self.places.get(draft.replaces, self.number + 1)
        return place, (draft.happened_us, place * LINES)

    # -- the journal -------------------------------------------------------------------

    def _append(self, draft: Draft, kind: str, body: dict[str, Any], place: int = 0) -> int:
        self.number += 1
        number = self.number
        entry: dict[str, Any] = {
            "body": body,
            "happened": written(draft.happened_us),
            "kind": kind,
            "number": number,
            "recorded": self.recorded,
            "who": draft.who,
        }
        entry |= {name: text for name in ("reason", "where", "login") if (text := getattr(draft, name))}
        if draft.replaces:
            entry["replaces"] = draft.replaces
            place = place or self.places[draft.replaces]
        if draft.second:
            agreed = second_fields(self.store, draft, self.known.settings["two_people"])
            self.seconds.add(bool(agreed))
            entry["body"] = body = body | agreed
            if agreed and draft.second.signer:
                signed = second_message(self.previous, self.coded(canonical(entry).decode()))
                entry["body"] = body | {SECOND_SIGNATURE: draft.second.signer.sign(signed)}
        text = canonical(entry).decode()
        self.previous = self.next_hash(self.coded(text))
        self.rows.append((number, kind, draft.happened_us, place or number, 0, text, self.previous))
        if draft.replaces:
            self._mark_gone(draft.replaces)
        elif len(self.rows) >= _BATCH:
            self.write_entries()
            if kind != "item":  # whose own rows are still to be written
                self.known.settled()
        return number

    def write_openings(self) -> None:
        """Write the rows of items opened one after the other."""
        for sql, rows in self.openings.items():  # of the numbers given out, the highest of each kind counts
            self.store.execute_many(sql, dict(sorted(rows)).items() if sql == COUNT else rows)
        self.openings.clear()

    def write_entries(self) -> None:
        """Write the entries gathered so far."""
        self.write_openings()
        self.store.execute_many(
            "INSERT INTO entry (number, kind, happened, place, gone, bytes, hash) VALUES (?,?,?,?,?,?,?)", self.rows
        )
        self.rows.clear()

    def finish(self) -> Recorded:
        """Refold what follows and say what was done; `InTheWay` if an earlier entry became impossible."""
        self.write_entries()
        watch = None
        if self.fold.since and not self.fold.has_written:
            from pourbook.book.ancestry import Watch  # plain appending does without it

            watch = Watch(self.store, self.fold.since, self.now_us)
        self.fold.finish()
        if self.fold.obstacles:
            raise in_the_way(self.fold.obstacles)
        held = self._hold_what_was_poured() if self.from_held else []
        changed = [
            Changed(of_key(item), before, after)
            for item, before in self.fold.before.items()
            if (after := self.fold.after(item)) != before
        ]
        return Recorded(
            range(self.first, self.number + 1),
            self.fold.recomputed,
            tuple(changed),
            tuple(dict.fromkeys(self.fold.leaning)),
            tuple(self.gains),
            watch.changes() if watch else (),
            watch.is_whole if watch else not self.fold.since,
            held=tuple(held),
            is_second_unneeded=self.seconds == {False},
        )
