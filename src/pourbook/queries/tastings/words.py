"""The house's list of words.

>>> from pourbook import Book
>>> from pourbook.actions.happening import Happening
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> for text in ("ripe pear", "oak"):
...     _ = book.write_word(how, text, {"group": "fruit" if "pear" in text else "wood"})
>>> [one.word for one in words(book)], word(book, "Ripe Pears").group
(['oak', 'ripe pear'], 'fruit')
"""

from typing import TYPE_CHECKING

from pourbook.book.house_words import house_words
from pourbook.errors import Unknown

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.entries import Word

__all__ = ["word", "words"]


def words(book: "BookCore", *, everything: bool = False) -> "tuple[Word, ...]":
    """The words of the house by the alphabet; with `everything`, also those it uses no longer."""
    return tuple(one for one in house_words(book.store).words if everything or not one.gone)


def word(book: "BookCore", text: str) -> "Word":
    """A word of the list, in any spelling it knows.

    Raises:
        Unknown: the house uses no such word; the remedy names the nearest.
    """
    known = house_words(book.store)
    found = known.find(text)
    if found is None:
        near = f"was it {' or '.join(map(repr, near))}? " if (near := known.nearest(text)) else ""
        raise Unknown(
            f"'{text}' is not on the house's list",
            f"{near}{'If not, put' if near else 'put'} it there: pourbook word '{text}' --definition …",
        )
    return found
