"""Tasting notes and the house's words, shown.

Documents carry figures as numbers on the house's scales, and words as the house's list writes them.
"""

from typing import TYPE_CHECKING, Any

from pourbook.book.tasting_notes import note_words
from pourbook.codes.identifiers import hyphened
from pourbook.documents.pours import holds
from pourbook.documents.shown import Listing, Shown, aligned, fields, listed, recorded_shown
from pourbook.numerals import counted
from pourbook.words.tasting_words import found_words, glass_words, tasted_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from pourbook.actions.tasting import Tasted, WordWritten
    from pourbook.book.entries import Word
    from pourbook.book.tasting_notes import TastingNote
    from pourbook.house_style import HouseStyle
    from pourbook.queries.tastings.search import FoundNote

__all__ = [
    "MOST_BESIDE_AN_ITEM", "found_document", "note_document", "tasted_lines", "tasted_shown", "tastings_shown",
    "word_shown", "word_written_shown", "words_shown",
]  # fmt: skip

MOST_BESIDE_AN_ITEM = 6
"""Notes that are shown with an item, its own and those around it."""


def note_document(note: "TastingNote") -> dict[str, Any]:
    """A tasting note for programs; what nobody said is null or empty."""
    stages = {name: {"text": one.text, "words": dict(one.words)} for name, one in note.stages.items()}
    return {**fields(note), "item": note.item or None, "stages": stages, "off_notes": list(note.off_notes)}


def tasted_shown(answer: "Tasted", style: "HouseStyle") -> Shown:
    """A tasting note as it was taken down, so that whoever typed it sees what was read."""
    note = answer.note
    glass = glass_words(note)
    said = (f"{glass}, tasted by {note.assessor}", *(f"  {line}" for line in note_words(note, style.mark)))
    document = {"id": note.item or None, "note": note_document(note), "held": answer.is_held}
    shown = recorded_shown(answer.recorded, document, said, style)
    if (left := answer.drunk_from) and not answer.recorded.is_dry_run:
        shown = shown._replace(notes=(*shown.notes, f"{holds(left.item, style, left.pending)} after the tasting"))
    state = "would go on hold" if answer.recorded.is_dry_run else "is on hold now"
    warning = f"warning: {glass} {state}: {', '.join(note.off_notes)}"
    return shown.warned(warning) if answer.is_held else shown


def word_written_shown(answer: "WordWritten", style: "HouseStyle") -> Shown:
    """A word that was put on the list, or changed."""
    return recorded_shown(answer.recorded, _word_document(answer.word), _word_lines(answer.word), style)


def word_shown(word: "Word") -> Shown:
    """A word of the list."""
    return Shown(_word_document(word), _word_lines(word))


def _word_document(word: "Word") -> dict[str, Any]:
    return {**word._asdict(), "also": list(word.also)}


def _marks(word: "Word") -> str:
    return ", ".join(filter(None, ("fault" if word.off else "", "used no longer" if word.gone else "")))


def _word_lines(word: "Word") -> tuple[str, ...]:
    told = (
        ("group", word.group), ("definition", word.definition), ("reference", word.reference),
        ("also", ", ".join(word.also)), ("", _marks(word)),
    )  # fmt: skip
    pairs = [(f"  {name}", value) for name, value in told if value]
    return (word.word, *(aligned(pairs) if pairs else ()))


def words_shown(words: "Sequence[Word]") -> Shown:
    """The list, a line each."""
    said = listed(
        words, ("word", lambda one: one.word), ("group", lambda one: one.group),
        ("also", lambda one: ", ".join(one.also)), ("", _marks), ("definition", lambda one: one.definition),
    )  # fmt: skip
    return Shown({"words": [_word_document(one) for one in words]}, said)


def found_document(found: "FoundNote") -> dict[str, Any]:
    """A note, and how what was tasted stands to the item asked about."""
    return {**note_document(found.note), "how": found.how}


def tastings_shown(found: "Iterable[FoundNote]", style: "HouseStyle") -> Listing:
    """Notes, one a line."""
    columns = (
        (" entry", lambda one: one.note.entry),
        ("tasted", lambda one: style.time_shown(one.note.happened_us)),
        ("by", lambda one: one.note.assessor),
        ("what", tasted_words),
        ("found", lambda one: found_words(one.note, style.mark)),
    )
    return Listing("tastings", found, found_document, columns)


def tasted_lines(item: str, found: "Sequence[FoundNote]", style: "HouseStyle") -> tuple[str, ...]:
    """The latest notes on an item and around it, a line each, and how many more there are and how they are listed."""
    said = []
    for one in found[-MOST_BESIDE_AN_ITEM:]:
        note, of = one.note, f" {tasted_words(one)}," if one.how else ""
        when, parts = style.time_shown(note.happened_us), found_words(note, style.mark)
        said.append(f"tasted {when},{of} {note.assessor}: {parts}")
    more = len(found) - len(said)
    earlier = f"{counted(more, 'earlier tasting note')}: pourbook tastings --about {hyphened(item)}"
    return (*said, earlier) if more else tuple(said)
