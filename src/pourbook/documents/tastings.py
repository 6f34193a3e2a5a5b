"""Tasting notes and the house's words, shown.

Documents carry figures as numbers on the house's scales, and words as the house's list writes them.
"""

from typing import TYPE_CHECKING, Any

from pourbook.book.tasting_notes import note_words
from pourbook.codes.identifiers import hyphened
from pourbook.documents.pours import holds
from pourbook.documents.shown import Shown, aligned, fields, recorded_shown

if TYPE_CHECKING:
    from pourbook.actions.tasting import Tasted, WordWritten
    from pourbook.book.entries import Word
    from pourbook.book.tasting_notes import TastingNote
    from pourbook.house_style import HouseStyle

__all__ = ["note_document", "tasted_shown", "word_shown", "word_written_shown"]


def note_document(note: "TastingNote") -> dict[str, Any]:
    """A tasting note for programs; what nobody said is null or empty."""
    stages = {name: {"text": one.text, "words": dict(one.words)} for name, one in note.stages.items()}
    return {**fields(note), "item": note.item or None, "stages": stages, "off_notes": list(note.off_notes)}


def tasted_shown(answer: "Tasted", style: "HouseStyle") -> Shown:
    """A tasting note as it was taken down, so that whoever typed it sees what was read."""
    note = answer.note
    glass = hyphened(note.item) if note.item else f"glass {note.code} of {note.session}"
    said = (f"{glass}, tasted by {note.assessor}", *(f"  {line}" for line in note_words(note, style.mark)))
    document = {"id": note.item or None, "note": note_document(note), "held": answer.is_held}
    shown = recorded_shown(answer.recorded, document, said, style)
    if left := answer.drunk_from:
        shown = shown._replace(notes=(*shown.notes, f"{holds(left.item, style, left.pending)} after the tasting"))
    warning = f"warning: {glass} is on hold now: {', '.join(note.off_notes)}"
    return shown._replace(warnings=(warning,)) if answer.is_held else shown


def word_written_shown(answer: "WordWritten", style: "HouseStyle") -> Shown:
    """A word that was put on the list, or changed."""
    return recorded_shown(answer.recorded, _word_document(answer.word), _word_lines(answer.word), style)


def word_shown(word: "Word") -> Shown:
    """A word of the list."""
    return Shown(_word_document(word), _word_lines(word))


def _word_document(word: "Word") -> dict[str, Any]:
    return {**word._asdict(), "also": list(word.also)}


def _word_lines(word: "Word") -> tuple[str, ...]:
    marks = ("fault" if word.off else "", "used no longer" if word.gone else "")
    told = (
        ("group", word.group), ("definition", word.definition), ("reference", word.reference),
        ("also", ", ".join(word.also)), ("", ", ".join(filter(None, marks))),
    )  # fmt: skip
    pairs = [(f"  {name}", value) for name, value in told if value]
    return (word.word, *(aligned(pairs) if pairs else ()))
