"""Names nearest to one that nobody bears: what a slip of the keys made of it, or what stands beside it in the index.

The cost grows with the length of the name, not with the book: every form that one slip could have had is asked for.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> for ref in ("Q 240", "Q 205", "Row 3/12"):
...     _ = book.record(Draft(Item(book.next_id("cask"), {"ref": ref}), 0, "M. Aldane"))
>>> nearest(book.store, NAMES_OF_ITEMS, "q204"), nearest(book.store, NAMES_OF_ITEMS, "Row 3.12")
(['Q 240', 'Q 205'], ['Row 3/12'])
"""

from collections.abc import Iterator

from pourbook.book.store import Store, chunks
from pourbook.texts import lookup_form

__all__ = ["NAMES_OF", "NAMES_OF_ITEMS", "nearest", "suggestion"]

# An item is called by its ref of now, and by every lot mark that stood on its bottles.
NAMES_OF_ITEMS = (
    "SELECT lookup, value FROM fact WHERE (name <> 'ref' OR value = (SELECT now.value FROM fact AS now"
    " WHERE now.item = fact.item AND now.name = 'ref' ORDER BY now.happened DESC, now.place DESC LIMIT 1)) AND "
)
NAMES_OF = {kind: f"SELECT lookup, name FROM {kind} WHERE " for kind in ("blending", "component", "recipe", "session")}

_KEYS = "0123456789abcdefghijklmnopqrstuvwxyz/-. "
_MOST = 3
_LONGEST = 40
"""Longer names are compared with their neighbours alone."""
_NEIGHBOURS = 40


def nearest(store: Store, question: str, text: str) -> list[str]:
    """A few names that differ from a text by one slip; else those beside it in the index that are much like it."""
    form = lookup_form(text)
    slips = dict.fromkeys(_slips(form)) if 1 < len(form) <= _LONGEST else {}
    found: dict[str, str] = {}
    for marks, chunk in chunks(slips):
        found.update(store.query(f"{question} lookup IN ({marks}) ORDER BY 1, 2", chunk))
        if len(found) >= _MOST:
            break
    near = [found[slip] for slip in slips if slip in found] or _neighbours(store, question, form)
    return list(dict.fromkeys(near))[:_MOST]


def suggestion(store: Store, question: str, text: str) -> str:
    """The nearest names as a question, or empty."""
    near = [f"'{one}'" for one in nearest(store, question, text)]
    return f"did you mean {' or '.join(near)}? " if near else ""


def _slips(form: str) -> Iterator[str]:
    """What may have been meant: two keys swapped, one too many, one too few, one beside the right one."""
    cuts = [(form[:place], form[place:]) for place in range(len(form) + 1)]
    yield from (left + right[1] + right[0] + right[2:] for left, right in cuts if len(right) > 1)
    yield from (left + right[1:] for left, right in cuts if right)
    yield from (left + key + right for left, right in cuts for key in _KEYS)
    yield from (left + key + right[1:] for left, right in cuts if right for key in _KEYS)


def _neighbours(store: Store, question: str, form: str) -> list[str]:
    from difflib import get_close_matches  # only where a name is not found

    beside: dict[str, str] = {}
    for side in (">= ? ORDER BY 1, 2", "< ? ORDER BY 1 DESC, 2"):
        beside.update(store.query(f"{question} lookup {side} LIMIT {_NEIGHBOURS}", (form,)))
    return [beside[one] for one in get_close_matches(form, beside, n=_MOST)]
