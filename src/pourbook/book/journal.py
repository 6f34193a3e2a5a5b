"""The journal: what stands in an entry, its bytes, their chain, and entries read back by number.

An entry is canonical JSON: UTF-8, sorted keys, no spaces, integers and strings only. Its hash is
SHA-256 of the hash before it and its bytes, so that a changed, dropped, swapped or inserted entry
changes every hash after it. The chain proves that today's journal still begins with the history whose
head was written down elsewhere; not that the record was true, nor that nobody rewrote journal and chain
together before the head left the house.

>>> first = canonical({"number": 1, "kind": "house"})
>>> first
b'{"kind":"house","number":1}'
>>> chain(GENESIS, first).hex()[:16]
'64e5de1cfa10eecd'
>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     entry_of(book.store, 1).kind
'house'
"""

import json
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from json.encoder import encode_basestring
from operator import itemgetter
from typing import Any, NamedTuple

from pourbook.book.contents import LINES
from pourbook.book.store import Store, chunks
from pourbook.codes.identifiers import readable
from pourbook.errors import Ambiguous, Damaged, Refused, Unknown
from pourbook.texts import lookup_form
from pourbook.times import written

__all__ = [
    "GENESIS", "LOGGED", "NAMES_IN_BODIES", "Logged", "blending", "canonical", "chain", "chaining", "component",
    "entries_of", "entry_of", "fields", "first_hash", "hash_of", "is_canonical", "is_group", "journal", "last_entry",
    "line_of", "lines_of", "logged", "logged_of", "names_of", "neighbours", "notes_on", "number_of", "parsed", "recipe",
    "recipe_before", "recipes_revised", "refuse_in_a_group", "session", "told", "written_entries",
]  # fmt: skip

# -- what stands in an entry -----------------------------------------------------------

NAMES_IN_BODIES = {"id": "item", "ids": "items"}
"""Fields of an entry that its body has under another name."""


def told(entry: tuple[Any, ...]) -> dict[str, Any]:
    """The body of an entry that moves no liquid, from the fields of its NamedTuple.

    An item stands under `item`, several under `items`; a moment as text under its name without `_us`; defaults
    are left out. `TypeError` for what the journal cannot hold.

    >>> from pourbook.book.entries import Hold, Recipe, RecipePart
    >>> told(Recipe("Orchard", (RecipePart("C000001H", "93", "base"),)))
    {'name': 'Orchard', 'parts': [{'component': 'C000001H', 'parts': '93', 'role': 'base'}]}
    >>> told(Hold("C000001H", held=False))
    {'item': 'C000001H', 'held': 0}
    """
    return {NAMES_IN_BODIES.get(name, name): value for name, value in fields(entry).items()}


def fields(value: tuple[Any, ...]) -> dict[str, Any]:
    """The fields of a NamedTuple as the journal keeps them, without defaults."""
    defaults: Mapping[str, Any] = value._field_defaults  # type: ignore[attr-defined]
    return {
        name.removesuffix("_us"): written(field) if name.endswith("_us") else _plain(field)
        for name, field in value._asdict().items()  # type: ignore[attr-defined]
        if not (name in defaults and field == defaults[name])
    }


def _plain(value: object) -> object:
    if isinstance(value, bool):
        return int(value)
    if isinstance(value, tuple):
        return fields(value) if hasattr(value, "_fields") else [_plain(one) for one in value]
    if isinstance(value, Mapping):
        return {name: _plain(inner) for name, inner in value.items()}
    if isinstance(value, int | str):
        return value
    raise TypeError(f"{value!r} is neither a whole number nor text")


# -- bytes and their chain -------------------------------------------------------------


GENESIS = bytes(32)
"""What the first entry's hash is chained to."""
_FIRST = itemgetter(0)


def canonical(entry: dict[str, Any]) -> bytes:
    """The bytes of an entry: `json.dumps` with sorted keys, no spaces and only necessary escapes.

    Raises:
        TypeError: it holds anything but whole numbers, text, lists and mappings.
    """
    return _text(entry).encode()


def is_canonical(entry: dict[str, Any], text: str) -> bool:
    """Whether the text that was `parsed` into this entry is what `canonical` writes, which raises as there."""
    if "true" in text or "false" in text or "null" in text:  # `json` writes these, too
        return canonical(entry).decode() == text
    return _written(entry) == text


def _refuse(number: str) -> object:
    raise ValueError(f"{number} is not a whole number")


_written = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode
_scanned = json.JSONDecoder(parse_float=_refuse, parse_constant=_refuse).scan_once  # type: ignore[attr-defined]


def _text(value: object) -> str:
    # By exact type: a truth value or a subclass would be written as something that reads back differently.
    kind = type(value)
    if kind is str:
        return encode_basestring(value)  # type: ignore[arg-type]
    if kind is int:
        return str(value)
    if kind is dict:
        members = [
            _key(key)
            + (encode_basestring(inner) if type(inner) is str else str(inner) if type(inner) is int else _text(inner))
            for key, inner in sorted(value.items(), key=_FIRST)  # type: ignore[attr-defined]
        ]
        return "{" + ",".join(members) + "}"
    if kind is list:
        return "[" + ",".join([_text(inner) for inner in value]) + "]"  # type: ignore[attr-defined]
    raise TypeError(f"{value!r} is neither a whole number nor text")


@lru_cache(maxsize=1024)
def _key(key: object) -> str:
    if type(key) is not str:
        raise TypeError(f"key {key!r} is not text")
    return encode_basestring(key) + ":"


def parsed(entry_bytes: bytes | str) -> dict[str, Any]:
    """The entry that `canonical` wrote.

    Raises:
        Damaged: it is no such text.
    """
    try:
        if type(entry_bytes) is str:  # canonical text has no space around it, which `loads` looks for
            entry: dict[str, Any]
            entry, end = _scanned(entry_bytes, 0)
            if end == len(entry_bytes):
                return entry
        entry = json.loads(entry_bytes)
    except (ValueError, TypeError, RecursionError, StopIteration) as error:
        raise Damaged("an entry of the journal cannot be read", "find out which: pourbook verify") from error
    return entry


def chain(previous: bytes, entry_bytes: bytes) -> bytes:
    """The hash of an entry, given the hash of the one before it."""
    from hashlib import sha256  # reading verbs do without it

    return sha256(previous + entry_bytes).digest()


def chaining(head: bytes) -> Callable[[str], bytes]:
    """Gives the hash of each entry in turn, after the one with this hash.

    >>> next_hash = chaining(GENESIS)
    >>> next_hash('{"kind":"house","number":1}') == chain(GENESIS, canonical({"number": 1, "kind": "house"}))
    True
    """
    from hashlib import sha256

    def next_hash(entry_text: str) -> bytes:
        nonlocal head
        head = sha256(head + entry_text.encode()).digest()
        return head

    return next_hash


# -- entries read back -----------------------------------------------------------------


class Logged(NamedTuple):
    """An entry of the journal.

    Attributes:
        number: of the entry.
        kind: of the entry.
        happened_us: when.
        gone: the entry that voided or replaced it; 0 while it counts.
        entry: all that was written.
        hash: of the entry, as hexadecimal text.
        place: among the entries of one moment; a replacement has that of what it replaced.
    """

    number: int
    kind: str
    happened_us: int
    gone: int
    entry: dict[str, Any]
    hash: str
    place: int = 0


LOGGED = "SELECT number, kind, happened, gone, bytes, hash, place FROM entry"
"""Asks for what `logged` takes."""


def logged(row: Sequence[Any]) -> Logged:
    """An entry from its row."""
    number, kind, happened, gone, entry_bytes, entry_hash, place = row
    return Logged(number, kind, happened, gone, parsed(entry_bytes), entry_hash.hex(), place)


def lines_of(body: Mapping[str, Any]) -> Sequence[Mapping[str, Any]]:
    """The lines of a pour; a gauge is one line itself."""
    lines: Sequence[Mapping[str, Any]] = body.get("lines", (body,))
    return lines


def line_of(body: Mapping[str, Any], line: int) -> Mapping[str, Any]:
    """The line of that number in the body of its entry; any other entry than a pour is one line itself."""
    lines = lines_of(body)
    return lines[line % LINES] if "lines" in body else lines[0]


def entry_of(store: Store, number: int) -> Logged:
    """One entry; `Unknown` where the journal has no such number."""
    rows = store.query(f"{LOGGED} WHERE number = ?", (number,))
    if not rows:
        raise Unknown(f"the journal has no entry {number}", "find its number: pourbook journal")
    return logged(rows[0])


def entries_of(store: Store, numbers: Iterable[int]) -> dict[int, dict[str, Any]]:
    """Entries by their numbers, all that was written, each read once."""
    return {
        number: parsed(text)
        for marks, chunk in chunks(sorted(set(numbers)))
        for number, text in store.query(f"SELECT number, bytes FROM entry WHERE number IN ({marks})", chunk)
    }


def logged_of(store: Store, numbers: Collection[int]) -> Iterator[Logged]:
    """The entries of these numbers, with what became of them."""
    for marks, chunk in chunks(sorted(numbers)):
        yield from map(logged, store.query(f"{LOGGED} WHERE number IN ({marks})", chunk))


def notes_on(store: Store, key: int, until_us: int | None = None) -> list[Logged]:
    """The notes on an item that stand, in the order they were recorded."""
    rows = store.query(
        "SELECT number FROM mention JOIN entry ON number = mention.entry"
        " WHERE item = ? AND entry.kind = 'note' AND gone = 0 AND happened <= ?",
        (key, 1 << 62 if until_us is None else until_us),
    )
    return list(logged_of(store, [number for (number,) in rows]))


def journal(store: Store, first: int = 1, last: int = 1 << 62) -> Iterator[Logged]:
    """The entries from one number to another, in the order they were recorded."""
    return map(logged, store.stream(f"{LOGGED} WHERE number BETWEEN ? AND ? ORDER BY number", (first, last)))


def written_entries(store: Store) -> Iterator[tuple[int, str]]:
    """Number and text of every entry, in the order they were recorded."""
    return store.stream("SELECT number, bytes FROM entry ORDER BY number")


def last_entry(store: Store) -> tuple[int, bytes]:
    """Number and hash of the last entry, which the next one is chained to; 0 and `GENESIS` of an empty journal.

    Raises:
        Damaged: the hash is none.
    """
    rows = store.query("SELECT number, hash FROM entry ORDER BY number DESC LIMIT 1")
    number, head = rows[0] if rows else (0, GENESIS)
    if type(number) is not int or type(head) is not bytes or len(head) != len(GENESIS):
        raise Damaged("the hash of the last entry is damaged", "find out where: pourbook verify")
    return number, head


def is_group(store: Store) -> bool:
    """Whether this is the book of a group (`groups.py`), which only repeats what its sites recorded."""
    return bool(store.query("SELECT 1 FROM site LIMIT 1"))


def refuse_in_a_group(store: Store) -> None:
    """Refuse to change what a group's book only repeats."""
    if is_group(store):
        raise Refused(
            "this is the book of a group, which only repeats what its sites recorded",
            "record it at the site, then join again: pourbook group join GROUP SITE",
        )


def first_hash(store: Store) -> str:
    """The hash of the first entry as hexadecimal text, by which a book is told from any other."""
    ((found,),) = store.query("SELECT hash FROM entry ORDER BY number LIMIT 1")
    return bytes(found).hex()


def hash_of(store: Store, number: int) -> str:
    """The hash of an entry as hexadecimal text; empty beyond the end of the journal."""
    rows = store.query("SELECT hash FROM entry WHERE number = ?", (number,))
    return rows[0][0].hex() if rows else ""


def neighbours(store: Store, number: int) -> tuple[int | None, int | None]:
    """Numbers of the entries before and after one; those of a group do not follow each other."""
    question = (
        "SELECT (SELECT max(number) FROM entry WHERE number < ?), (SELECT min(number) FROM entry WHERE number > ?)"
    )
    ((before, after),) = store.query(question, (number, number))
    return before, after


def number_of(store: Store, entry_hash: str) -> int:
    """The entry that has this hash, or 0."""
    rows = store.query("SELECT number FROM entry WHERE hash = ?", (bytes.fromhex(entry_hash),))
    return rows[0][0] if rows else 0


def names_of(store: Store, kind: str) -> list[str]:
    """Every recipe, or every component, by name."""
    return [name for (name,) in store.query(f"SELECT name FROM {kind} ORDER BY name")]


def recipes_revised(store: Store) -> dict[str, str]:
    """Recipes that were revised from another, each with its name."""
    rows = store.query(
        "SELECT recipe.name, entry.bytes FROM recipe CROSS JOIN entry ON entry.number = recipe.entry"
        " WHERE instr(entry.bytes, '\"revised_from\"') > 0"
    )
    parents = ((name, str(parsed(text)["body"].get("revised_from", ""))) for name, text in rows)
    return {name: parent for name, parent in parents if parent and parent != name}


def recipe(store: Store, name: str) -> Logged:
    """The latest recipe of that name, in any case and spacing where it alone has it.

    One written with its trial bears the trial's identifier, hyphens or not.

    Raises:
        Unknown: nothing goes by that name.
        Ambiguous: several names differ from it in case and spacing alone.
    """
    return _latest(store, "recipe", name)


def component(store: Store, name: str) -> Logged:
    """The latest component of that name, found and refused as a recipe is."""
    return _latest(store, "component", name)


def blending(store: Store, name: str) -> Logged:
    """The blending session of that name. Raises as `recipe`."""
    return _latest(store, "blending", name)


def session(store: Store, name: str) -> Logged:
    """The tasting session of that name. Raises as `recipe`."""
    return _latest(store, "session", name)


def _latest(store: Store, kind: str, name: str) -> Logged:
    question = f"SELECT entry FROM {kind} WHERE name IN (?, ?) ORDER BY name = ? DESC"
    rows = store.query(question, (name, readable(name), name))
    if not rows:
        alike = store.query(f"SELECT name, entry FROM {kind} WHERE lookup = ? ORDER BY name", (lookup_form(name),))
        if len(alike) > 1:
            names = ", ".join(f"'{one}'" for one, _ in alike)
            raise Ambiguous(f"'{name}' may be any of these {kind}s: {names}", "type the name exactly")
        rows = [(entry,) for _, entry in alike]
    if not rows:
        from pourbook.book.near_names import NAMES_OF, suggestion  # only where a name is not found

        known = ", ".join(names_of(store, kind)[:8])
        near = suggestion(store, NAMES_OF[kind], name)
        raise Unknown(f"no {kind} is called '{name}'", f"{near}{kind}s are: {known}" if known else "write one first")
    return entry_of(store, rows[0][0])


def recipe_before(store: Store, name: str, number: int) -> Logged | None:
    """The recipe of that name as it stood before an entry; None where it was written later."""
    question = (
        "SELECT number FROM entry WHERE kind = 'recipe' AND kind NOT IN ('pour', 'gauge', 'item') AND number < ?"
        " AND instr(bytes, ?) > 0 ORDER BY number DESC"
    )
    saying = canonical({"name": name}).decode()[1:-1]
    earlier = (entry_of(store, found) for (found,) in store.query(question, (number, saying)))
    return next((entry for entry in earlier if entry.entry["body"]["name"] == name), None)
