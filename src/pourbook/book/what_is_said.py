"""What items, recipes, sessions and notes are called or say, found by a part of it: bounded, the newest first.

Names go by their index. Inside other facts, and inside notes, is looked from the newest on until enough are found: no
table of words is kept for that, since a book has far fewer facts than pours.

>>> from pourbook import Book, Draft, Item, Note
>>> book = Book.create(":memory:", house="Quillmere")
>>> entries = Item("C000001H", {"ref": "Row 3/12", "wood": "virgin chestnut"}), Note("C000001H", "new bung")
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [said.value for said in names_beginning(book.store, "row 3", 9)]
['Row 3/12']
>>> [said.name for said in facts_saying(book.store, ("nut",), 9)], len(notes_saying(book.store, ("bung",), 9))
(['wood'], 1)
>>> [of_key(key) for key in numbered(book.store, "c0000", 9)], numbered(book.store, "row", 9)
(['C000001H'], [])
"""

import re
from collections.abc import Sequence
from typing import Literal, NamedTuple

from pourbook.book.journal import LOGGED, Logged, logged
from pourbook.book.store import Store
from pourbook.codes.identifiers import KINDS, of_key
from pourbook.texts import lookup_form

__all__ = ["NAMED_KINDS", "Said", "facts_saying", "names_beginning", "names_holding", "notes_saying", "numbered"]

NAMED_KINDS: tuple[Literal["recipe", "component", "session", "blending"], ...] = (
    "recipe",
    "component",
    "session",
    "blending",
)
"""What has a name and no identifier."""

_NOTES_SEARCHED = 20_000
_STEM = 6
_ESCAPED = r"!\1"
_NOT_SAID = ("plan_asked", "plan", "total", "rests", "rest_days", "plan_objective", "plan_bound")
"""Facts that tell a person nothing, or only a number."""


class Said(NamedTuple):
    """A fact of an item (its key), by name, that was true at some time, with its value as it is written."""

    item: int
    name: str
    value: str


def numbered(store: Store, text: str, most: int) -> list[int]:
    """Items, by key, whose identifier begins with this text in any case, or whose number this is; the newest first."""
    letters = "".join(KINDS.values())
    found = re.fullmatch(rf"([{letters}])?[-\s]*([0-9]{{1,12}})[-\s]*[0-9A-Z*]?", text.strip().upper())
    if not found:
        return []
    letter, digits = found.groups()
    if not letter:
        keys = [int(digits) * len(letters) + place for place in range(len(letters))]
        rows = store.query(f"SELECT key FROM item WHERE key IN ({','.join('?' * len(keys))})", keys)
        return [key for (key,) in rows][:most]
    wide = 10 ** max(_STEM - len(digits), 0)
    first, last = int(digits) * wide * len(letters), (int(digits) + 1) * wide * len(letters) - 1
    asked = "SELECT key FROM item WHERE key BETWEEN ? AND ? AND key % ? = ? ORDER BY key DESC LIMIT ?"
    rows = store.query(asked, (first, last, len(letters), letters.index(letter), most))
    return [key for (key,) in rows if of_key(key).startswith(f"{letter}{digits}")]


def names_beginning(store: Store, text: str, most: int) -> list[Said]:
    """Refs and lot marks that begin with this text, whatever its case and spacing."""
    form = lookup_form(text)
    rows = store.query(
        "SELECT item, name, value FROM fact WHERE lookup >= ? AND lookup < ?"
        " GROUP BY item, name, value ORDER BY min(lookup), item, name LIMIT ?",
        (form, f"{form}\U0010ffff", most),
    )
    return list(map(Said._make, rows))


def facts_saying(store: Store, words: Sequence[str], most: int) -> list[Said]:
    """Facts of items in which the first word stands; each other one stands in some fact of that item."""
    also = "AND EXISTS (SELECT 1 FROM fact AS other WHERE other.item = fact.item AND other.value LIKE ? ESCAPE '!')"
    names = ", ".join(map(repr, _NOT_SAID))
    asked = (
        f"SELECT item, name, value FROM fact WHERE value LIKE ? ESCAPE '!' AND name NOT IN ({names})"
        f" {' '.join([also] * (len(words) - 1))} ORDER BY item DESC, name, value LIMIT ?"
    )
    found = map(Said._make, store.query(asked, (*map(_inside, words), 4 * most)))
    return [one for one in found if words[0] in one.value.lower()][:most]


def names_holding(store: Store, kind: str, text: str, most: int) -> list[str]:
    """Names of recipes, components, sessions or blendings that hold this text, whatever its case and spacing."""
    asked = f"SELECT name FROM {kind} WHERE instr(lookup, ?) > 0 ORDER BY entry DESC LIMIT ?"
    return [name for (name,) in store.query(asked, (lookup_form(text), most))]


def notes_saying(store: Store, words: Sequence[str], most: int) -> list[Logged]:
    """Notes that count and have all these words, the newest first, of so many of the newest as can be searched."""
    newest = (
        "SELECT number FROM entry WHERE kind = 'note' AND kind NOT IN ('pour', 'gauge', 'item') AND gone = 0"
        f" ORDER BY number DESC LIMIT {_NOTES_SEARCHED}"
    )
    holds = " AND ".join(["bytes LIKE ? ESCAPE '!'"] * len(words))
    asked = f"{LOGGED} WHERE number IN ({newest}) AND {holds} ORDER BY number DESC LIMIT ?"
    found = map(logged, store.query(asked, (*map(_inside, words), 4 * most)))
    return [one for one in found if all(word in one.entry["body"]["text"].lower() for word in words)][:most]


def _inside(word: str) -> str:
    """Its pattern for LIKE, which knows the case of ASCII alone: any other letter is looked at again."""
    return f"%{re.sub('[^ -~]', '_', re.sub('([!%_])', _ESCAPED, word))}%"
