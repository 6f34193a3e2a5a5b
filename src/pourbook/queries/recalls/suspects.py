"""From what is under suspicion to where it entered the liquid: the states and pours a trace begins with.

A cask, a place or a closure touches the liquid that was in it, at it or under it; a delivery, a water lot or
a person's pours are pours; an instrument touches what was gauged with it.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> filling = Move("origin", cask, 1000, composition=Liquid(1000, 400), facts={"distiller": "Corran Vale"})
>>> _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(Pour("fill", (filling,)), 0, "M. Aldane"))
>>> beginning(book.store, [Suspect("origin", "distiller=corran vale")], 1 << 62).lines
frozenset({12288})
"""

import json
import re
from collections.abc import Callable, Container, Iterable, Mapping
from typing import Any, NamedTuple

from pourbook.book.fold import own_state
from pourbook.book.holding import LINES
from pourbook.book.items import find, ledger
from pourbook.book.journal import parsed
from pourbook.book.logged import line_of
from pourbook.book.scope import DRY_GOODS, Suspect, says
from pourbook.book.store import Row, Store
from pourbook.codes.identifiers import hyphened, key_of, read
from pourbook.errors import Malformed, PourbookError, Refused, Unknown

__all__ = ["Beginning", "beginning", "last_check_us"]

_ALWAYS = -(1 << 62)
_WITH_ENTRY = (
    "SELECT flow.line, flow.target, entry.bytes, flow.happened FROM flow JOIN entry ON entry.number = flow.line / ?1"
)


class Beginning(NamedTuple):
    """Where a trace begins.

    Attributes:
        since: states that are suspect as a whole, each from a moment on; what left it before is not.
        lines: pours that are suspect.
        into: the states that those went into.
        out_of: pours that left the house, by the states they left.
    """

    since: dict[int, int]
    lines: frozenset[int]
    into: frozenset[int]
    out_of: dict[int, int]

    def leaves_suspect(self, line: int, source: int, happened_us: int, states: Container[int]) -> bool:
        """Whether a pour out of the house is suspect: by itself, or out of one of these states once it was."""
        return line in self.lines or (source in states and happened_us >= self.since.get(source, happened_us))


class _Found:
    """What has been found so far."""

    def __init__(self, store: Store, until_us: int) -> None:
        self.store, self.until_us = store, until_us
        self.since: dict[int, int] = {}
        self.lines: set[int] = set()
        self.into: set[int] = set()
        self.out_of: dict[int, int] = {}

    def state(self, state: int, since_us: int) -> None:
        self.since[state] = min(since_us, self.since.get(state, since_us))

    def take(self, other: "_Found") -> None:
        for state, since_us in other.since.items():
            self.state(state, since_us)
        self.lines |= other.lines
        self.into |= other.into
        self.out_of |= other.out_of

    def at_line(self, identifier: str, happened_us: int, line: int) -> int:
        """The state of an item after a line."""
        rows = self.store.query(
            "SELECT state FROM ledger WHERE item = ? AND happened = ? AND line = ?",
            (key_of(identifier), happened_us, line),
        )
        return rows[0][0] if rows else 0


def beginning(store: Store, suspects: Iterable[Suspect], until_us: int) -> Beginning:
    """Where each suspect entered the liquid, up to a moment.

    Raises:
        Unknown: nothing in the book goes by its name.
        Refused: it is in the book, and no liquid was ever touched by it (in the window asked for).
    """
    found = _Found(store, until_us)
    for suspect in suspects:
        if suspect.from_us is not None and suspect.to_us is not None and suspect.from_us >= suspect.to_us:
            raise Malformed("the window is empty: it ends before it begins", "give an earlier --from or a later --to")
        alone = _Found(store, until_us)
        _FINDERS[suspect.kind](alone, suspect)
        if not alone.since and not alone.lines:
            _check_known(store, suspect)
            raise Refused(f"no liquid was touched by {_named(suspect)}", "check name and window")
        found.take(alone)
    return Beginning(found.since, frozenset(found.lines), frozenset(found.into), found.out_of)


def _check_known(store: Store, suspect: Suspect) -> None:
    """That nothing was touched by a name that nobody bears is no all-clear."""
    if suspect.kind not in ("instrument", "person", "place"):
        return
    read(suspect.name)  # a mistyped identifier is told as such
    recorded = json.dumps({"who": suspect.name}, ensure_ascii=False, separators=(",", ":"))[1:-1]
    question = "SELECT 1 FROM entry WHERE instr(lower(bytes), lower(?)) LIMIT 1"
    if suspect.kind == "person" and store.query(question, (recorded,)):
        return
    places = store.query("SELECT DISTINCT value FROM fact WHERE name = 'place'") if suspect.kind == "place" else []
    if any(says(value, suspect.name) for (value,) in places):
        return
    try:
        find(store, suspect.name)
    except Unknown:
        raise Unknown(
            f"no {suspect.kind} is called '{suspect.name}', and none of that name stands in the journal",
            "check the name: that nothing is found under a wrong one clears nothing",
        ) from None


def _named(suspect: Suspect) -> str:
    if suspect.kind == "time":
        return "any pour in that window"
    name = hyphened(suspect.name) if _identifier(suspect.name) else f"'{suspect.name}'"
    window = "" if suspect.from_us is suspect.to_us is None else " in that window"
    return f"{suspect.kind} {name}{window}"


def _identifier(name: str) -> str:
    try:
        return read(name) or ""
    except PourbookError:
        return ""


# -- what liquid lay in, at or under -----------------------------------------------------


def _item(found: _Found, suspect: Suspect) -> None:
    _touched(found, key_of(suspect.name), suspect)


def _touched(found: _Found, key: int, window: Suspect) -> None:
    """All that an item held in a window."""
    if window.from_us is None and window.to_us is None:
        for (state,) in found.store.query("SELECT id FROM state WHERE item = ?", (key,)):
            found.state(state, _ALWAYS)
        return
    rows = [row for row in ledger(found.store, key) if row.happened_us <= found.until_us]
    ends = [row.happened_us for row in rows] + [found.until_us + 1]
    for row, end_us in zip(rows, ends[1:], strict=True):
        since_us = max(row.happened_us, window.from_us or row.happened_us)
        is_over = window.to_us is not None and since_us >= window.to_us
        if row.holding.mass_mg and since_us < end_us and not is_over:
            found.state(row.holding.state, since_us)


def _dry(found: _Found, suspect: Suspect) -> None:
    """Lots, and whatever else was ever said to have that closure, glass or label."""
    question = "SELECT DISTINCT item, value FROM fact WHERE name = ? AND happened <= ?"
    keys = {
        key for key, value in found.store.query(question, (suspect.kind, found.until_us)) if says(value, suspect.name)
    }
    if not keys:
        raise Unknown(
            f"no lot has a {suspect.kind} '{suspect.name}'", f"it is said of a lot: pourbook set LOT {suspect.kind}=…"
        )
    for key in sorted(keys):
        _touched(found, key, suspect)


def _place(found: _Found, suspect: Suspect) -> None:
    """What lay at a place while it lay there, and what was dipped in it."""
    names = _names(found.store, suspect.name)
    rows = found.store.query(
        "SELECT item, happened, value FROM fact WHERE name = 'place' AND happened <= ? ORDER BY item, happened, place",
        (found.until_us,),
    )
    following = [*rows, (0, 0, "")][1:]
    for (key, from_us, value), (next_key, next_us, _) in zip(rows, following, strict=True):
        if any(says(value, name) for name in names):
            stay = _narrowed(suspect, from_us, next_us if next_key == key else None)
            if stay.to_us is None or stay.from_us is None or stay.from_us < stay.to_us:
                _touched(found, key, stay)
    _gauged(found, suspect, lambda body, names: body.get("reading", {}).get("dip", {}).get("vessel") in names)


def _narrowed(window: Suspect, from_us: int, to_us: int | None) -> Suspect:
    ends = [end for end in (window.to_us, to_us) if end is not None]
    return window._replace(from_us=max(from_us, window.from_us or from_us), to_us=min(ends, default=None))


def _names(store: Store, name: str) -> list[str]:
    """What something is called: its identifier in both spellings, and every name it ever had."""
    identifier = _identifier(name)
    if not identifier:
        return [name]
    called = store.query("SELECT value FROM fact WHERE item = ? AND name IN ('ref', 'name')", (key_of(identifier),))
    return [identifier, hyphened(identifier), *(value for (value,) in called if value)]


# -- what came from outside ----------------------------------------------------------------


def _outside(found: _Found, suspect: Suspect) -> None:
    """Pours of that kind from outside: of an entry, or with those words among their facts."""
    how, name = suspect.kind, suspect.name.strip()
    if not name:
        raise Malformed(f"no {how} was named", "give the number of its entry, or words of what was recorded of it")
    question = f"{_WITH_ENTRY} WHERE flow.source = 0 AND flow.how = ?2 AND flow.happened <= ?3"
    if name.isdecimal():
        rows = found.store.query(f"{question} AND entry.number = ?4", (LINES, how, found.until_us, int(name[:18])))
    else:
        rows = found.store.query(f"{question}{_like(name)}", (LINES, how, found.until_us))
    hits = [row for row in rows if name.isdecimal() or _tells(_line(row), name)]
    if not hits:
        words = f"entry {name} is no {how} that counts" if name.isdecimal() else f"no {how} is said to be '{name}'"
        raise Unknown(words, "find it with: pourbook journal; a fact is given as NAME=VALUE, or by its words")
    for line, target, _, happened in hits:
        if suspect.is_within(happened):
            found.lines.add(line)
            found.into.add(target)


def _like(words: str) -> str:
    """A coarse sieve on the bytes of entries, for words that no JSON writes otherwise."""
    runs = re.findall(r"[A-Za-z0-9]+", words.rpartition("=")[2])
    return "".join(f" AND entry.bytes LIKE '%{run}%'" for run in runs)


def _line(row: Row) -> Mapping[str, Any]:
    """Facts of the line of an entry."""
    facts: Mapping[str, Any] = line_of(parsed(row[2])["body"], row[0]).get("facts", {})
    return facts


def _tells(line: Mapping[str, Any], words: str) -> bool:
    """Whether a fact of a line says these words; NAME=VALUE asks of that fact alone."""
    name, equals, value = words.partition("=")
    if equals:
        return says(str(line.get(name.strip(), "")), value)
    told = (value for value in line.values() if isinstance(value, str))
    return any(says(text, words) for text in told)


# -- what was gauged, and poured -----------------------------------------------------------


def _instrument(found: _Found, suspect: Suspect) -> None:
    """What was gauged with it, by its identifier or its name."""
    _gauged(found, suspect, lambda body, names: _used(body.get("instruments", ()), names))


def _gauged(found: _Found, suspect: Suspect, is_hit: Callable[[Mapping[str, Any], list[str]], bool]) -> None:
    """What was gauged by readings that name the suspect."""
    names = _names(found.store, suspect.name)
    for number, happened, bytes_ in found.store.query(
        "SELECT number, happened, bytes FROM entry WHERE kind = 'gauge' AND gone = 0 AND happened <= ?"
        " AND (bytes LIKE '%\"instruments\":%' OR bytes LIKE '%\"dip\":%')",
        (found.until_us,),
    ):
        body = parsed(bytes_)["body"]
        if suspect.is_within(happened) and is_hit(body, names):
            line = number * LINES
            state = found.at_line(body["item"], happened, line)
            if state == own_state(line):
                found.state(state, happened)


def _used(instruments: Iterable[Mapping[str, str]], names: Iterable[str]) -> bool:
    called = [text for one in instruments for text in (one["name"], one.get("id", ""))]
    return any(says(text, name) for text in called for name in names)


def last_check_us(store: Store, identifier: str, until_us: int) -> int:
    """When an instrument was last checked: when its certificate, or the day of its next check, was noted.

    Raises:
        Refused: no check is noted.
    """
    rows = store.query(
        "SELECT max(happened) FROM fact WHERE item = ? AND name IN ('certificate', 'due') AND happened <= ?",
        (key_of(identifier), until_us),
    )
    if rows[0][0] is None:
        raise Refused(f"no check of {hyphened(identifier)} is noted", "give --from, or note it: pourbook instrument")
    return int(rows[0][0])


def _person(found: _Found, suspect: Suspect) -> None:
    names = {_plain(name) for name in _names(found.store, suspect.name)}
    marks = ",".join("?" * len(names))
    _poured(found, suspect, f" AND lower(json_extract(bytes, '$.who')) IN ({marks})", sorted(names))


def _plain(name: str) -> str:
    """In small letters as SQLite makes them: those of ASCII alone."""
    return "".join(letter.lower() if letter.isascii() else letter for letter in name)


def _poured(found: _Found, suspect: Suspect, also: str = "", parameters: Iterable[str] = ()) -> None:
    """Every line of the pours in a window."""
    first = _ALWAYS if suspect.from_us is None else suspect.from_us
    last = found.until_us if suspect.to_us is None else min(found.until_us, suspect.to_us - 1)
    for number, happened, bytes_ in found.store.query(
        "SELECT number, happened, bytes FROM entry"
        f" WHERE kind = 'pour' AND gone = 0 AND happened BETWEEN ? AND ?{also}",
        (first, last, *parameters),
    ):
        for index, line in enumerate(parsed(bytes_)["body"]["lines"]):
            _poured_line(found, happened, number * LINES + index, line)


def _poured_line(found: _Found, happened_us: int, number: int, line: Mapping[str, Any]) -> None:
    source, target = line["from"], line["to"]
    if source == "return":  # it has no flow of its own: the same liquid comes home into the same state
        found.state(found.at_line(target, happened_us, number), happened_us)
        return
    found.lines.add(number)
    if target[0].isupper():
        found.into.add(found.at_line(target, happened_us, number))
    else:
        found.out_of[number] = found.at_line(source, happened_us, number)


_FINDERS: dict[str, Callable[[_Found, Suspect], None]] = {
    "item": _item,
    "origin": _outside,
    "water": _outside,
    "additive": _outside,
    **dict.fromkeys(DRY_GOODS, _dry),
    "instrument": _instrument,
    "person": _person,
    "place": _place,
    "time": _poured,
}
