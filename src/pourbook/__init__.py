"""pourbook: from sample vial to bottle lot, the record of every pour behind a spirit blend.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     book.settings["house"]
'Quillmere'
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pourbook.book.entries import (
        Close,
        Declared,
        DeclaredLine,
        Draft,
        Facts,
        Gauge,
        Hold,
        House,
        Imported,
        Item,
        Move,
        Note,
        Packed,
        Paper,
        Pour,
        Recall,
        Recipe,
        RecipePart,
        Release,
        Reserve,
        Void,
    )
    from pourbook.errors import PourbookError
    from pourbook.liquid import Liquid
    from pourbook.whole_book import Book

__all__ = [
    "Book",
    "Close",
    "Declared",
    "DeclaredLine",
    "Draft",
    "Facts",
    "Gauge",
    "Hold",
    "House",
    "Imported",
    "Item",
    "Liquid",
    "Move",
    "Note",
    "Packed",
    "Paper",
    "Pour",
    "PourbookError",
    "Recall",
    "Recipe",
    "RecipePart",
    "Release",
    "Reserve",
    "Void",
]

_ELSEWHERE = {"Book": "pourbook.whole_book", "PourbookError": "pourbook.errors", "Liquid": "pourbook.liquid"}


def __getattr__(name: str) -> object:
    """Public names are imported when first used, so that `import pourbook` stays light."""
    if name not in __all__:
        raise AttributeError(f"module 'pourbook' has no attribute '{name}'")
    from importlib import import_module

    return getattr(import_module(_ELSEWHERE.get(name, "pourbook.book.entries")), name)


def __dir__() -> list[str]:
    return sorted(__all__)
