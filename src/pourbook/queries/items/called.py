"""How a person knows an item at sight: its ref, the casks behind it, their wood.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, vial = Item("C000001H", {"ref": "Q 31", "wood": "rum barrel"}), Item("V000001R", {"ref": "S 26-01"})
>>> filled = Pour("fill", (Move("origin", "C000001H", read_amount("200 l"), read_strength("60")),))
>>> drawn = Pour("draw", (Move("C000001H", "V000001R", read_amount("200 ml")),))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (cask, vial, filled, drawn)))
>>> called(book.store, ["V000001R", "C000001H", "water"])
{'V000001R': 'S 26-01 · Q 31 · rum barrel', 'C000001H': 'Q 31 · rum barrel'}
>>> named_in(book, "C-000001-H is on hold, and 'V-000001-R' was typed: pourbook release C-000001-H")
"C-000001-H · Q 31 · rum barrel is on hold, and 'V-000001-R' was typed: pourbook release C-000001-H"
"""

import re
from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache, partial
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import ItemView, facts
from pourbook.book.store import Store
from pourbook.codes.identifiers import GLASSES, hyphened, is_identifier, key_of, kind_of, read_or_none
from pourbook.texts import shortened_references

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = [
    "CasksBehind", "at_sight", "blend_called", "called", "called_view", "calling", "casks_behind", "named_in",
]  # fmt: skip

# What is quoted or to be typed stays as it is, and so does what is named already.
_IN_A_SENTENCE = re.compile(r"pourbook .*|'[^']*'|\b([A-Z]-[0-9]{6,}-[0-9A-Z])\b(?! ·)")

_AND = " + "


class CasksBehind(NamedTuple):
    """What a vial or trial was drawn from, as a label names it, and its wood; of a sample from outside, whose it is."""

    called: str
    wood: str


def casks_behind(store: Store, glass: str) -> CasksBehind:
    """Casks, batches, lots and samples from outside behind a glass, the largest part first, each wood once."""
    from pourbook.queries.traces.behind import sources_behind  # a cask needs no trace

    sources = sources_behind(store, glass, outside=True)
    known = [facts(store, key_of(source)) for source in sources]
    refs = [_source_called(store, source, one) for source, one in zip(sources, known, strict=True)]
    woods = dict.fromkeys(filter(None, (one.get("wood", "") for one in known)))
    return CasksBehind(_AND.join(refs), _AND.join(woods))


def _source_called(store: Store, source: str, known: Mapping[str, str]) -> str:
    from pourbook.queries.items.outside_sample import outside_sample  # a cask does without it

    outside = outside_sample(store, source)
    return (outside.called if outside else "") or known.get("ref") or hyphened(source)


def called(store: Store, items: Iterable[str]) -> dict[str, str]:
    """Identifier to what it is called beside it; whatever is no item ("water", a component) is left out."""
    return {item: _called(store, item) for item in items if is_identifier(item)}


def calling(store: Store) -> Callable[[str], str]:
    """What each item of a list is called, looked up once."""
    return lru_cache(maxsize=10_000)(partial(_called, store))


def at_sight(item: str, called: str) -> str:
    """An item as every line names it: its identifier, and what it is called beside it.

    >>> at_sight("V000010P", "Q 31 · wine pipe"), at_sight("V000010P", "")
    ('V-000010-P · Q 31 · wine pipe', 'V-000010-P')
    """
    return f"{hyphened(item)} · {called}" if called else hyphened(item)


def named_in(book: "BookCore", sentence: str) -> str:
    """A sentence whose items are named as a person knows them, each where it first stands."""
    told: set[str] = set()

    def name(found: re.Match[str]) -> str:
        item = read_or_none(found[1]) if found[1] else None
        if item is None or item in told:
            return found[0]
        told.add(item)
        called = _called(book.store, item)
        is_said = called and sentence.startswith(f" {called}", found.end())
        return f"{found[0]} ·" if is_said else at_sight(item, called)

    return shortened_references(_IN_A_SENTENCE.sub(name, sentence))


def blend_called(view: ItemView) -> str:
    """What a blend is called beside its identifier: ref and name; what is in it stands elsewhere."""
    return " · ".join(filter(None, (view.ref, view.facts.get("name"))))


def called_view(store: Store, view: ItemView) -> str:
    """What an item is called beside its identifier, by the facts of a view."""
    return _called(store, view.id, view.facts)


def _called(store: Store, item: str, known: Mapping[str, str] | None = None) -> str:
    known = facts(store, key_of(item)) if known is None else known
    behind = casks_behind(store, item) if kind_of(item) in GLASSES else CasksBehind("", "")
    ref, name, wood = (known.get(fact, "") for fact in ("ref", "name", "wood"))
    if _AND in behind.called:  # a blend is known by its name, or else by its casks; their woods would fill the line
        return " · ".join(filter(None, (ref, name or behind.called, wood)))
    return " · ".join(filter(None, (ref, behind.called, wood or behind.wood or name)))
