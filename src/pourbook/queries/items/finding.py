"""One search over all that a book calls by a name or says in words: identifiers, refs, facts, recipes, notes.

Best first: what is called exactly so, what begins so, what has a word that begins so or a part of one, notes.

>>> from pourbook import Book, Draft, Item, Note
>>> book = Book.create(":memory:", house="Quillmere")
>>> casks = Item("C000001H", {"ref": "Q 31", "wood": "chestnut"}), Item("C000002F", {"ref": "Q 310"})
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (*casks, Note("C000002F", "smells of chestnut"))))
>>> [(hit.item, hit.matched, hit.text) for hit in find_all(book, "q31")]
[('C000001H', 'ref', 'Q 31'), ('C000002F', 'ref', 'Q 310')]
>>> [(hit.kind, hit.item, hit.matched) for hit in find_all(book, "Chestnut")]
[('item', 'C000001H', 'wood'), ('note', 'C000002F', 'note')]
"""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.book.items import facts
from pourbook.book.stocktakes import stocktakes
from pourbook.book.tasting_notes import TastingNote
from pourbook.book.what_is_said import (
    NAMED_KINDS,
    Said,
    facts_saying,
    names_beginning,
    names_holding,
    notes_saying,
    numbered,
)
from pourbook.codes.identifiers import of_key
from pourbook.errors import Malformed, PourbookError
from pourbook.queries.items.called import calling
from pourbook.queries.tastings.search import Asked, tastings
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["FoundKind", "Hit", "find_all"]

FoundKind = Literal["item", "recipe", "component", "session", "blending", "stocktake", "note", "tasting"]

_EXACTLY, _BEGINS, _WORD, _INSIDE, _NOTE = range(5)
_LONGEST = 200


class Hit(NamedTuple):
    """Something found.

    Attributes:
        kind: item, recipe, component, session, blending, stocktake, note, or tasting (a tasting note).
        item: identifier; of a note, of what it is about. Empty for what has none, and for a glass still under its code.
        name: of a recipe and the like; else how a person knows the item at sight.
        matched: where the words stand: identifier, scan, note, tasting, name, or the name of a fact.
        text: what stands there.
        entry: number of a note; else 0.
        former: whether it is no longer so, as of an earlier ref.
    """

    kind: FoundKind
    item: str
    name: str
    matched: str
    text: str
    entry: int = 0
    former: bool = False


def find_all(book: "BookCore", text: str, most: int = 20) -> tuple[Hit, ...]:
    """Whatever is called so or says so, at most so many, the best first; of several words, all must stand there.

    Names go by their index. Words inside facts are looked for only where names are not enough, from the newest item on.

    Raises:
        Malformed: no text, or more than a search field bears.
    """
    words = sorted(text.lower().split(), key=len, reverse=True)
    if not words or len(text) > _LONGEST:
        raise Malformed(f"'{text[:20]}' cannot be looked for", f"type between one and {_LONGEST} characters")
    with book.store.snapshot():
        found: dict[tuple[str, str, int], Hit] = {}
        for search in (_items_called, _names, _items_saying, _notes):
            for hit in search(book, text.strip(), words, most):
                found.setdefault((hit.kind, hit.item or hit.name, hit.entry), hit)
            if len(found) >= most:
                break
        best = sorted(found.values(), key=lambda hit: (_rank(hit, text), hit.former))[:most]
        name = calling(book.store)
        return tuple(hit if hit.name else hit._replace(name=name(hit.item) if hit.item else "") for hit in best)


def _rank(hit: Hit, text: str) -> int:
    if hit.kind in ("note", "tasting"):
        return _NOTE
    form, said = lookup_form(text), lookup_form(hit.text)
    if hit.matched in ("identifier", "scan") or said == form:
        return _EXACTLY if said == form or hit.matched == "scan" else _BEGINS
    if said.startswith(form):
        return _BEGINS if hit.matched in ("ref", "lot_mark", "name") else _WORD
    begins = any(word.startswith(text.lower().split()[0]) for word in hit.text.lower().split())
    return _WORD if begins else _INSIDE


def _items_called(book: "BookCore", text: str, _words: list[str], most: int) -> Iterator[Hit]:
    """By what a scanner sends, identifiers, refs and lot marks."""
    try:
        item = book.find(text)
    except PourbookError:
        pass
    else:
        ref = next((one for one in names_beginning(book.store, text, most) if of_key(one.item) == item), None)
        yield _hit(book, ref) if ref else Hit("item", item, "", "scan", text)
    for key in numbered(book.store, text, most):
        yield Hit("item", of_key(key), "", "identifier", of_key(key))
    yield from _hits(book, names_beginning(book.store, text, most))


def _names(book: "BookCore", text: str, _words: list[str], most: int) -> Iterator[Hit]:
    """Recipes, components, sessions, blendings and stocktakes."""
    for kind in NAMED_KINDS:
        yield from (Hit(kind, "", name, "name", name) for name in names_holding(book.store, kind, text, most))
    taken = (one.stocktake.name for one in stocktakes(book.store))
    yield from (Hit("stocktake", "", name, "name", name) for name in taken if lookup_form(text) in lookup_form(name))


def _items_saying(book: "BookCore", _text: str, words: list[str], most: int) -> Iterator[Hit]:
    yield from _hits(book, facts_saying(book.store, words, most))


def _notes(book: "BookCore", _text: str, words: list[str], most: int) -> Iterator[Hit]:
    """Notes and tasting notes; of a glass under its code nothing says what it is."""
    for note in notes_saying(book.store, words, most):
        body = note.entry["body"]
        yield Hit("note", body["item"], "", "note", body["text"], note.number)
    found = list(tastings(book, Asked(" ".join(words)), most)) if all(word.isalnum() for word in words) else []
    for one in reversed(found):
        yield Hit("tasting", one.note.item, "", "tasting", _said(one.note), one.note.entry)


def _said(note: TastingNote) -> str:
    """What a tasting note says, in its own words."""
    stages = (", ".join((*filter(None, (stage.text,)), *stage.words)) for stage in note.stages.values())
    return "; ".join(filter(None, (note.text, *stages)))


def _hits(book: "BookCore", said: Iterable[Said]) -> Iterator[Hit]:
    return (_hit(book, one) for one in said)


def _hit(book: "BookCore", said: Said) -> Hit:
    is_former = facts(book.store, said.item).get(said.name) != said.value and said.name != "lot_mark"
    return Hit("item", of_key(said.item), "", said.name, said.value, former=is_former)
