"""Tasting notes and words of the house as rows of tables: read, and written so that they are read again.

A table of words has: word, definition, reference, group, also (other spellings, parted by semicolons), fault and gone
(`yes`). A table of tastings has: ref, happened, by (who recorded it), assessor (who tasted; else who recorded), nose,
first, middle, finish (each as the command takes it: "pear 4, oak 2; a little shy"), text, finish_s, missing, too_much,
liking, score, strength, temperature_c, amount (with its unit), off_notes (parted by semicolons), session and rank in
it, blind (`yes`), reason, confirmed (`yes`: words that are not on the list are right). The code of a glass stays with
the session that sealed it.

>>> from pourbook.book.entries import Word
>>> row_of_word(Word("ripe pear", also=("bosc", "conference"), off=False))["also"]
'bosc; conference'
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.entries import STAGES, Draft, Stage, Taste, Word
from pourbook.book.house_words import house_words, word_form
from pourbook.book.stage_text import read_stage, written_stage
from pourbook.exchange.intake.history_rows import YES, is_yes
from pourbook.exchange.intake.intake import TableIntake
from pourbook.exchange.tables.columns import Cells, Faults, Readers
from pourbook.exchange.tables.table_files import Columns, Source, Table, read_table
from pourbook.gauging.as_typed import kept_amount, kept_strength
from pourbook.numerals import with_mark

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.exchange.intake.intake import NextId
    from pourbook.exchange.tables.taken import Heard

__all__ = [
    "TASTING_COLUMNS", "WORD_COLUMNS", "TastedRow", "WordRow", "checked_tasting", "checked_word", "checked_words",
    "new_words", "read_words", "row_of_tasting", "row_of_word",
]  # fmt: skip

_TEXTS = ("assessor", "text", "missing", "too_much", "session")
_FIGURES = ("liking", "score")
TASTING_COLUMNS = Columns(
    ("ref", "happened", "by"),
    (
        "assessor", *STAGES, "text", "finish_s", "missing", "too_much", *_FIGURES, "strength", "temperature_c",
        "amount", "off_notes", "session", "rank", "blind", "reason", "confirmed",
    ),
    dates=("happened",),
)  # fmt: skip
WORD_COLUMNS = Columns(("word",), ("definition", "reference", "group", "also", "fault", "gone"))

_SEMICOLON = "; "


class TastedRow(NamedTuple):
    """A row of tastings beside item and time: `who` as written, `reason`, the note, and whether it is confirmed."""

    who: str
    reason: str
    note: Taste
    confirmed: bool


# -- words -----------------------------------------------------------------------------


class WordRow(NamedTuple):
    """A row of a table of words."""

    number: int
    word: Word

    @property
    def source(self) -> str:
        """The table."""
        return "words"


def read_words(
    book: "BookCore", source: Source, encoding: str | None = None, *, heard: "Heard | None" = None
) -> TableIntake:
    """A table of words; what the list says already is passed over."""
    faults = Faults()
    table = read_table(source, WORD_COLUMNS, faults, encoding=encoding, heard=heard)
    read = checked_words(table, source.name, faults)

    def drafts(_next_id: "NextId", who: str, when_us: int) -> Iterator[tuple[int, Draft]]:
        yield from ((row.number, Draft(row.word, when_us, who)) for row in new_words(book, read))

    return TableIntake("words", source.name, drafts, faults=faults)


def checked_words(table: Table, file: str, faults: Faults) -> list[WordRow]:
    """The sound rows of a table of words."""
    read = ((row, checked_word(Cells(file, row, values, faults, table))) for row, values in table.rows)
    return [WordRow(row, word) for row, word in read if word]


def new_words(book: "BookCore", read: Iterable[WordRow]) -> Iterator[WordRow]:
    """Rows that say something else than the list, or more."""
    known = {word_form(one.word): one for one in house_words(book.store).words}
    return (row for row in read if known.get(word_form(row.word.word)) != row.word)


def checked_word(cells: Cells) -> Word | None:
    """A row of words; None where it has faults."""
    word = Word(
        cells.needed("word"), cells.text("definition"), cells.text("reference"), cells.text("group"),
        _several(cells, "also"), is_yes(cells, "fault", "it is a fault"), is_yes(cells, "gone", "it is used no longer"),
    )  # fmt: skip
    return word if cells.sound else None


def row_of_word(word: Word) -> dict[str, str]:
    """A word as a row that is read again."""
    return {
        "word": word.word, "definition": word.definition, "reference": word.reference, "group": word.group,
        "also": _SEMICOLON.join(word.also), "fault": YES * word.off, "gone": YES * word.gone,
    }  # fmt: skip


# -- tastings --------------------------------------------------------------------------


def checked_tasting(cells: Cells, readers: Readers) -> TastedRow:
    """A row of tastings but for its item and time; faults are listed by column."""
    mark = readers.decimal_mark
    who = cells.needed("by")
    stages = {name: found for name in STAGES if (found := cells.read(name, lambda text: read_stage(text, mark)))}
    strength, temperature_c = (
        cells.read("strength", readers.strength),
        cells.read("temperature_c", readers.temperature_c),
    )
    amount = cells.read("amount", readers.amount)
    told = {name: cells.text(name) for name in _TEXTS}
    told |= {name: cells.text(name) for name in _FIGURES if cells.read(name, readers.number)}
    note = Taste(
        assessor=told["assessor"] or who,
        text=told["text"],
        stages=stages,
        strength=kept_strength(strength) if strength else "",
        temperature="" if temperature_c is None else f"{temperature_c:.10g} C",
        amount=kept_amount(amount) if amount else "",
        finish_s=cells.read("finish_s", readers.whole),
        missing=told["missing"],
        too_much=told["too_much"],
        liking=told.get("liking", ""),
        score=told.get("score", ""),
        off_notes=_several(cells, "off_notes"),
        session=told["session"],
        blind=is_yes(cells, "blind", "who tasted did not know what it was"),
        rank=cells.read("rank", readers.whole) or 0,
    )
    return TastedRow(
        who, cells.text("reason"), note, is_yes(cells, "confirmed", "words that are not on the list are right")
    )


def row_of_tasting(entry: Mapping[str, Any], ref: str, mark: str) -> dict[str, Any]:
    """A tasting note of the journal as a row that is read again, its figures with this decimal mark."""
    body = entry["body"]
    stages = {
        name: written_stage(Stage(found.get("text", ""), found.get("words", {})), mark)
        for name, found in body.get("stages", {}).items()
    }
    typed = {name: with_mark(body[name], mark) for name in (*_FIGURES, "strength", "amount") if name in body}
    return {
        "ref": ref, "happened": entry["happened"], "by": entry["who"], "reason": entry.get("reason", ""),
        **{name: body.get(name, "") for name in _TEXTS}, **stages, **typed, "finish_s": body.get("finish_s", ""),
        "rank": body.get("rank", ""),
        "temperature_c": with_mark(body.get("temperature", "").removesuffix(" C"), mark),
        "off_notes": _SEMICOLON.join(body.get("off_notes", ())), "blind": YES * ("blind" in body), "confirmed": YES,
    }  # fmt: skip


def _several(cells: Cells, column: str) -> tuple[str, ...]:
    return tuple(filter(None, (one.strip() for one in cells.text(column).split(";"))))
