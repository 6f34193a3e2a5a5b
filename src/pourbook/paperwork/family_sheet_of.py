"""The sheet of a family, made out from a book: its tree, and every note on its members in the order they were made."""

from typing import TYPE_CHECKING

from pourbook.book.journal import notes_on
from pourbook.codes.identifiers import key_of
from pourbook.errors import NotThere
from pourbook.papers.family.family_sheet import FamilySheet, Remark, family_sheet
from pourbook.paperwork.imprint import imprint_of_state
from pourbook.queries.tastings.notes import notes_of
from pourbook.queries.trials.opinions import said

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pourbook.book.core import BookCore
    from pourbook.queries.trials.family import Family

__all__ = ["family_sheet_of"]


def family_sheet_of(book: "BookCore", found: "Family", paper: str = "") -> bytes:
    """The sheet of a family as PDF; under the number of the trial asked for, or of the first that follows a recipe.

    Raises:
        NotThere: no trial follows the recipe.
    """
    trials = [one.name for one in found.members if one.trial]
    if not trials:
        raise NotThere(f"no trial follows '{found.asked}' yet", "compose one: pourbook trial --recipe NAME")
    notes = sorted((note for trial in trials for note in _notes(book, trial)), key=lambda note: note.happened_us)
    code = found.asked if found.asked in trials else trials[0]
    sheet = FamilySheet(imprint_of_state(book), code, found, tuple(notes), book.settings["currency"], book.zone)
    return family_sheet(sheet, paper or book.settings["paper"])


def _notes(book: "BookCore", trial: str) -> "Iterator[Remark]":
    mark = book.settings["decimal_mark"]
    for note in notes_of(book, trial):
        yield Remark(trial, note.happened_us, note.assessor, said(note, mark), note.score, note.liking)
    for logged in notes_on(book.store, key_of(trial)):
        yield Remark(trial, logged.happened_us, logged.entry["who"], str(logged.entry["body"]["text"]))
