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
"""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from pourbook.book.items import facts
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, key_of, kind_of
from pourbook.queries.items.outside_sample import outside_sample
from pourbook.queries.traces.behind import GLASSES, sources_behind

__all__ = ["CasksBehind", "called", "casks_behind"]


class CasksBehind(NamedTuple):
    """What a vial or trial was drawn from, as a label names it, and its wood; of a sample from outside, whose it is."""

    called: str
    wood: str


def casks_behind(store: Store, glass: str) -> CasksBehind:
    """Casks, batches, lots and samples from outside behind a glass, the largest part first, each wood once."""
    sources = sources_behind(store, glass, outside=True)
    known = [facts(store, key_of(source)) for source in sources]
    refs = [_source_called(store, source, one) for source, one in zip(sources, known, strict=True)]
    woods = dict.fromkeys(filter(None, (one.get("wood", "") for one in known)))
    return CasksBehind(" + ".join(refs), " + ".join(woods))


def _source_called(store: Store, source: str, known: Mapping[str, str]) -> str:
    outside = outside_sample(store, source)
    return (outside.called if outside else "") or known.get("ref") or hyphened(source)


def called(store: Store, items: Iterable[str]) -> dict[str, str]:
    """Identifier to what it is called beside it; words for outside, such as "water", are left out."""
    return {item: _called(store, item) for item in items if item[0].isupper()}


def _called(store: Store, item: str) -> str:
    known = facts(store, key_of(item))
    behind = casks_behind(store, item) if kind_of(item) in GLASSES else CasksBehind("", "")
    words = known.get("ref", ""), behind.called, known.get("wood") or behind.wood or known.get("name", "")
    return " · ".join(filter(None, words))
