"""What a glass was like: a tasting note, with what was drunk for it; and the house's list of words.

>>> from pourbook import Book, Item
>>> from pourbook.book.entries import Stage
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> _ = how.record(book, Item(cask := book.next_id("cask"), {"ref": "Row 3/12"}))
>>> _ = write_word(book, how, "pear", {"definition": "ripe pears, freshly cut"})
>>> answer = taste(book, how, Taste("Row 3/12", stages={"nose": Stage("a little shy", {"Pears": "4"})}))
>>> answer.note.assessor, answer.note.stages["nose"].words
('M. Aldane', {'pear': 4.0})
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.actions.movement import Moved, moved
from pourbook.book.entries import Hold, Move, Pour, Stage, Taste, Word
from pourbook.book.house_words import WordList, house_words, word_form
from pourbook.book.journal import entry_of
from pourbook.book.tasting_notes import TastingNote, note_of
from pourbook.errors import Malformed, Refused
from pourbook.gauging.as_typed import kept_amount, number_again

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.quantities import Amount

__all__ = ["Tasted", "WordWritten", "holds_for_faults", "taste", "write_word"]


class Tasted(NamedTuple):
    """A tasting note: as it stands, what was recorded, the item after what was drunk, and whether it is on hold now.

    `drunk_from` is None where nothing was booked; `is_held` is said only where this note put it on hold.
    """

    note: TastingNote
    recorded: "Recorded"
    drunk_from: Moved | None
    is_held: bool


class WordWritten(NamedTuple):
    """A word of the list as it stands now, and what was recorded."""

    word: Word
    recorded: "Recorded"


def taste(
    book: "BookCore", how: Happening, note: Taste, amount: "Amount | None" = None, *, poured: bool = False
) -> Tasted:
    """Record what somebody found in a glass; `note.id` is the item as somebody names it, empty while it is blind.

    `amount` was in the glass. It is booked as lost in tasting, unless it was `poured` before; a blind glass always was.
    Words are written as the house's list writes them; those that it calls faults are the note's off-notes, too, and
    put the item on hold if the house wishes. Whoever records tasted, unless `note.assessor` says who did.

    Raises:
        Malformed: nothing was found, or nobody knows in what.
        OutOfRange: a figure is off the house's scale.
        ToConfirm: a word with an intensity is not on the house's list, or more is drunk than there was.
        Held: the item is on hold, and something is to be drunk from it.
    """
    with how.transaction(book):
        item = book.find(note.id) if note.id else ""
        note = _as_the_house_writes(house_words(book.store), note)._replace(
            id=item, assessor=note.assessor or how.who, amount=kept_amount(amount) if amount else note.amount
        )
        recorded = how.record(book, note, *_drunk(item, None if poured else amount))
        number = recorded.numbers[0]
        holds = holds_for_faults(book, item, note.off_notes, number)
        if holds:
            recorded = recorded._replace(numbers=[*recorded.numbers, *how.record(book, *holds).numbers])
        drunk_from = moved(book, item, recorded) if item and amount and not poured else None
        entry = entry_of(book.store, number)
        read = note_of(entry.entry["body"], number, item, entry.happened_us, how.who)
        return Tasted(read, recorded, drunk_from, bool(holds))


def _drunk(item: str, amount: "Amount | None") -> list[Pour]:
    if not item or amount is None:
        return []
    return [Pour("loss", (Move(item, "loss", amount, facts={"disposition": "tasting"}),))]


def holds_for_faults(book: "BookCore", item: str, off_notes: tuple[str, ...], number: int) -> list[Hold]:
    """The hold of an item in which the note of that number found faults, if the house wishes one and none is there."""
    if not item or not off_notes or book.settings["hold_off_notes"] != "yes":
        return []
    is_held = book.show(item).facts.get("held") == "yes"
    return [] if is_held else [Hold(item, held=True, tasting=number)]


def _as_the_house_writes(known: WordList, note: Taste) -> Taste:
    """A note in the words of the list as far as it knows them, with every fault that was found."""
    stages = {name: _stage_as_the_house_writes(known, stage) for name, stage in note.stages.items()}
    faults = [found.word if (found := known.find(text)) else text for text in note.off_notes]
    for stage in stages.values():
        there = (known.find(word) for word, typed in stage.words.items() if number_again(typed))
        faults += [word.word for word in there if word and word.off]
    kept = {name: stage for name, stage in stages.items() if stage != Stage()}
    return note._replace(stages=kept, off_notes=tuple(dict.fromkeys(faults)))


def _stage_as_the_house_writes(known: WordList, stage: Stage) -> Stage:
    words: dict[str, str] = {}
    for typed, intensity in stage.words.items():
        found = known.find(typed)
        word = found.word if found else typed
        if word in words:
            raise Malformed(f"'{typed}' is '{word}' on the house's list, which stands there already", "give it once")
        words[word] = intensity
    return Stage(" ".join(stage.text.split()), words)


def write_word(book: "BookCore", how: Happening, text: str, told: Mapping[str, Any]) -> WordWritten:
    """Put a word on the house's list, or change one; `told` are fields of `Word`, and what it does not name stays.

    Raises:
        Malformed: it cannot be typed before an intensity.
        Refused: a spelling means another word of the list, or a word is to go that is not on it.
    """
    with how.transaction(book):
        known = house_words(book.store).words
        before = next((one for one in known if word_form(one.word) == word_form(text)), None)
        if before is None and told.get("gone"):
            raise Refused(f"'{text}' is not on the house's list", "see which words are: pourbook word --list")
        before = before or Word(text.strip())
        word = before._replace(**{"gone": False, **told})
        return WordWritten(word, how.record(book, word))
