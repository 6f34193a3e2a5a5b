"""Tasting notes in words, for a screen and a paper."""

from typing import TYPE_CHECKING

from pourbook.book.tasting_notes import note_words
from pourbook.queries.items.called import at_sight

if TYPE_CHECKING:
    from pourbook.book.tasting_notes import TastingNote
    from pourbook.queries.tastings.search import FoundNote

__all__ = ["found_words", "glass_words", "tasted_words"]

_HOW = {"in it": "is in it", "from it": "a glass of it", "followed": "of the trial it follows"}


def found_words(note: "TastingNote", mark: str) -> str:
    """What was found, in one line."""
    return ". ".join(note_words(note, mark))


def glass_words(note: "TastingNote", called: str = "") -> str:
    """What was tasted: the item, as it is called at sight, or a glass that is still blind."""
    return at_sight(note.item, called) if note.item else f"glass {note.code} of {note.session}"


def tasted_words(found: "FoundNote") -> str:
    """What was tasted, and how it stands to the item asked about."""
    glass = glass_words(found.note, found.called)
    return f"{glass} ({_HOW[found.how]})" if found.how else glass
