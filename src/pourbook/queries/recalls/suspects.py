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

from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from pourbook.book.coded_names import person_meant
from pourbook.book.contents import EVER, LINES
from pourbook.book.flows import state_after, states_of, touched_of
from pourbook.book.fold import own_state
from pourbook.book.journal import is_group
from pourbook.book.names import find
from pourbook.book.recall_scope import DRY_GOODS, Suspect, says
from pourbook.book.search import from_outside, in_force, stated, was_recorded_by
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, key_of, kind_of, read
from pourbook.errors import Malformed, PourbookError, Refused, Unknown
from pourbook.lineage.graph import RETURN

__all__ = ["Beginning", "beginning", "identified", "last_check_us"]

_ALWAYS = -(1 << 62)


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


def identified(
    store: Store, suspects: Sequence[Suspect], until_us: int = EVER, *, since_check: bool = False
) -> tuple[Suspect, ...]:
    """Suspects as typed, by their identifiers where the book has any.

    `since_check` narrows instruments to what followed their last check up to `until_us`.

    Raises:
        PourbookError: nothing is named, an item is not in the book, or an instrument was never checked.
    """
    if not any(one.name or one.from_us is not None or one.to_us is not None for one in suspects):
        raise Malformed("no suspect is named", "name one: --item, --origin, --water … or a window: --from, --to")
    found = tuple(one._replace(name=_identified(store, one)) for one in suspects)
    if not since_check:
        return found
    if not any(one.kind == "instrument" for one in found):
        raise Malformed("--since-check needs an instrument", "name it: --instrument NAME --since-check")
    return tuple(_since_check(store, one, until_us) if one.kind == "instrument" else one for one in found)


def _identified(store: Store, suspect: Suspect) -> str:
    """The identifier, where the book has one for it; a liquid must have one."""
    name = suspect.name.strip()
    if suspect.kind == "item":
        return find(store, name)
    if suspect.kind in ("instrument", "person", "place"):
        name = person_meant(store, name) if suspect.kind == "person" else name
        try:
            found = find(store, name)
        except PourbookError:
            return name
        return found if kind_of(found) == suspect.kind else name
    return name


def _since_check(store: Store, suspect: Suspect, until_us: int) -> Suspect:
    found = find(store, suspect.name)
    checked = last_check_us(store, found, until_us if suspect.to_us is None else suspect.to_us - 1)
    return suspect._replace(name=found, from_us=max(checked, suspect.from_us or checked))


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
    """Refuse a name that nobody bears: it touched nothing, which clears nothing."""
    if suspect.kind not in ("instrument", "person", "place"):
        return
    read(suspect.name)  # refuses a mistyped identifier as such
    if suspect.kind == "person" and was_recorded_by(store, suspect.name):
        return
    if suspect.kind == "place" and any(says(one.value, suspect.name) for one in stated(store, ("place",))):
        return
    try:
        find(store, suspect.name)
    except Unknown:
        raise Unknown(
            f"no {suspect.kind} is called '{suspect.name}', nor does the journal name one",
            "check the name: finding nothing under a wrong name clears nothing",
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
    if window.from_us is None and window.to_us is None:
        for state in states_of(found.store, (key,)):
            found.state(state, _ALWAYS)
        return
    rows = touched_of(found.store, (key,), found.until_us)
    ends = [row.key[0] for row in rows] + [found.until_us + 1]
    for row, end_us in zip(rows, ends[1:], strict=True):
        since_us = max(row.key[0], window.from_us or row.key[0])
        is_over = window.to_us is not None and since_us >= window.to_us
        if row.holding.mass_mg and since_us < end_us and not is_over:
            found.state(row.holding.state, since_us)


def _dry(found: _Found, suspect: Suspect) -> None:
    """Lots, and all else ever recorded with that closure, bottle lot or label."""
    facts = stated(found.store, (suspect.kind,), until_us=found.until_us)
    keys = {fact.item for fact in facts if says(fact.value, suspect.name)}
    if not keys:
        word = suspect.kind.replace("_", " ")
        raise Unknown(
            f"no lot has a {word} '{suspect.name}'", f"record it on its lots: pourbook set LOT {suspect.kind}=…"
        )
    for key in sorted(keys):
        _touched(found, key, suspect)


def _place(found: _Found, suspect: Suspect) -> None:
    """What lay at a place while it lay there, and what was dipped in it."""
    names = _names(found.store, suspect.name)
    facts = stated(found.store, ("place",), until_us=found.until_us)
    for fact, after in zip(facts, [*facts, None][1:], strict=True):
        if any(says(fact.value, name) for name in names):
            moved_us = (after.happened_us,) if after is not None and after.item == fact.item else ()
            ends = [end for end in (suspect.to_us, *moved_us) if end is not None]
            since_us = max(fact.happened_us, suspect.from_us or fact.happened_us)
            stay = suspect._replace(from_us=since_us, to_us=min(ends, default=None))
            if stay.to_us is None or since_us < stay.to_us:
                _touched(found, fact.item, stay)

    def is_dipped(body: Mapping[str, Any]) -> bool:
        return body.get("reading", {}).get("dip", {}).get("vessel") in names

    _gauged(found, suspect, "dip", is_dipped)


def _names(store: Store, name: str) -> list[str]:
    """What something is called: its identifier in both spellings, and every name it ever had."""
    identifier = _identifier(name)
    if not identifier:
        return [name]
    called = stated(store, ("ref", "name"), (key_of(identifier),))
    return [identifier, hyphened(identifier), *(fact.value for fact in called if fact.value)]


# -- what came from outside ----------------------------------------------------------------


def _outside(found: _Found, suspect: Suspect) -> None:
    """Pours of that kind from outside: of an entry, or with those words among their facts."""
    how, name = suspect.kind, suspect.name.strip()
    if not name:
        raise Malformed(f"no {how} was named", "give the number of its entry, or words of what was recorded of it")
    by_number = name.isdecimal()
    pours = from_outside(
        found.store,
        how,
        until_us=found.until_us,
        entry=int(name[:18]) if by_number else None,
        words="" if by_number else name.rpartition("=")[2],
    )
    hits = [pour for pour in pours if by_number or _tells(pour.told, name)]
    travelled = _travelled(found, suspect) if how == "origin" and is_group(found.store) else set()
    for key in sorted(travelled):
        _touched(found, key, suspect._replace(from_us=None, to_us=None))
    if not hits and not travelled:
        words = f"entry {name} records no {how} in force" if by_number else f"no {how} is recorded as '{name}'"
        raise Unknown(words, "find it: pourbook journal; then give NAME=VALUE, or the words recorded")
    for pour in hits:
        if suspect.is_within(pour.happened_us):
            found.lines.add(pour.line)
            found.into.add(pour.target)


def _travelled(found: _Found, suspect: Suspect) -> set[int]:
    """Consignments between sites of a group that go by that: what is an origin in a site's own book."""
    store, name = found.store, suspect.name.strip()
    keys = {fact.item for fact in stated(store, ("to_site",), until_us=found.until_us)}
    sent = stated(store, ("ref",), sorted(keys), found.until_us)
    hits = {
        fact.item for fact in sent if suspect.is_within(fact.happened_us) and _tells({"document": fact.value}, name)
    }
    for pour in in_force(store, "pour", end_us=found.until_us + 1, containing='"from_site":'):
        for line in pour.entry["body"]["lines"]:
            told = line.get("facts", {})
            came = "from_site" in told and line["from"][0].isupper() and suspect.is_within(pour.happened_us)
            if came and (_tells(told, name) or name == str(pour.number)):
                hits.add(key_of(line["from"]))
    return hits


def _tells(line: Mapping[str, Any], words: str) -> bool:
    """Whether a fact of a line says these words; NAME=VALUE asks of that fact alone."""
    name, equals, value = words.partition("=")
    if equals:
        return says(str(line.get(name.strip(), "")), value)
    told = (value for value in line.values() if isinstance(value, str))
    return any(says(text, words) for text in told)


# -- what was gauged, and poured -----------------------------------------------------------


def _instrument(found: _Found, suspect: Suspect) -> None:
    names = _names(found.store, suspect.name)

    def is_used(body: Mapping[str, Any]) -> bool:
        called = [text for one in body.get("instruments", ()) for text in (one["name"], one.get("id", ""))]
        return any(says(text, name) for text in called for name in names)

    _gauged(found, suspect, "instruments", is_used)


def _gauged(found: _Found, suspect: Suspect, word: str, is_hit: Callable[[Mapping[str, Any]], bool]) -> None:
    """What was gauged by a reading that names the suspect; a sieve finds the entries with that word."""
    for gauge in in_force(found.store, "gauge", end_us=found.until_us + 1, containing=f'"{word}":'):
        body = gauge.entry["body"]
        if suspect.is_within(gauge.happened_us) and is_hit(body):
            line = gauge.number * LINES
            state = state_after(found.store, body["item"], gauge.happened_us, line)
            if state == own_state(line):
                found.state(state, gauge.happened_us)


def last_check_us(store: Store, identifier: str, until_us: int) -> int:
    """When an instrument was last checked: when its certificate, or the day of its next check, was recorded.

    Raises:
        Refused: no check is recorded.
    """
    checks = stated(store, ("certificate", "due"), (key_of(identifier),), until_us)
    if not checks:
        raise Refused(
            f"no check of {hyphened(identifier)} is recorded", "give --from, or record it: pourbook instrument"
        )
    return checks[-1].happened_us


def _person(found: _Found, suspect: Suspect) -> None:
    _poured(found, suspect, sorted({_plain(name) for name in _names(found.store, suspect.name)}))


def _plain(name: str) -> str:
    """In small letters as SQLite makes them: those of ASCII alone."""
    return "".join(letter.lower() if letter.isascii() else letter for letter in name)


def _poured(found: _Found, suspect: Suspect, who: Sequence[str] = ()) -> None:
    first = _ALWAYS if suspect.from_us is None else suspect.from_us
    end = found.until_us + 1 if suspect.to_us is None else min(found.until_us + 1, suspect.to_us)
    for pour in in_force(found.store, "pour", start_us=first, end_us=end, who=who):
        for index, line in enumerate(pour.entry["body"]["lines"]):
            _poured_line(found, pour.happened_us, pour.number * LINES + index, line)


def _poured_line(found: _Found, happened_us: int, number: int, line: Mapping[str, Any]) -> None:
    source, target = line["from"], line["to"]
    if source == RETURN:  # no inflow of the state it comes home to: what is suspect is the state, from then on
        found.state(state_after(found.store, target, happened_us, number), happened_us)
        return
    found.lines.add(number)
    if target[0].isupper():
        found.into.add(state_after(found.store, target, happened_us, number))
    else:
        found.out_of[number] = state_after(found.store, source, happened_us, number)


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
