"""The rules of tasting notes and of the house's words: which may stand, which are asked about, which are refused."""

from collections.abc import Iterator

from pourbook.book.entries import STAGES, Taste, Word
from pourbook.book.house_words import WordList, word_form
from pourbook.book.rules import Case, Rule
from pourbook.book.settings import SCALES, scale
from pourbook.book.stage_text import check_free_words
from pourbook.book.tasting_search import has_notes
from pourbook.errors import Malformed, OutOfRange, Question, Refused
from pourbook.gauging.as_typed import amount_again, number_again, strength_again
from pourbook.quantities import read_temperature

__all__ = ["OF_TASTING_NOTES", "OF_WORDS", "scale_stays_under_its_notes"]

MOST_OF_A_FINISH_S = 3600
"""Seconds; a longer one is a slip in the unit (common practice, no source)."""


# -- of tasting notes ------------------------------------------------------------------


def glass_and_assessor_are_named(case: Case) -> None:
    """A note says what was tasted, or which glass of a session it was, and who tasted."""
    note: Taste = case.entry
    if note.id:
        case.known.liquid_key(note.id)
    elif not (note.session and note.code):
        raise Malformed("the note does not say what was tasted", "name the item, or a session and the glass's code")
    if not note.assessor.strip():
        raise Malformed("the note does not say who tasted", "give --by NAME")


def note_says_something(case: Case) -> None:
    """An empty note is none."""
    note: Taste = case.entry
    if unknown := set(note.stages) - set(STAGES):
        raise Malformed(f"'{min(unknown)}' is no stage of a glass", f"choose from: {', '.join(STAGES)}")
    found = any(stage.text.strip() or stage.words for stage in note.stages.values())
    said = (note.text, note.missing, note.too_much, note.liking, note.score)
    figures = note.finish_s is not None or note.off_notes or note.rank
    if not found and not any(one.strip() for one in said) and not figures:
        raise Malformed("the tasting note is empty", "say what was there: --nose 'pear 4, oak 2'")


def figures_are_on_their_scales(case: Case) -> None:
    """Intensities, liking and score are on the house's scales, and the glass is described by readable figures."""
    note, settings = case.entry, case.known.settings
    for name, typed, setting in _judged(note):
        value, (least, most) = number_again(typed), scale(settings, setting)
        if not least <= value <= most:
            raise OutOfRange(
                f"{name} {typed} is off the house's scale, {least} to {most}",
                f"judge it on that scale, which is the setting {setting}",
            )
    if note.finish_s is not None and not 0 < note.finish_s <= MOST_OF_A_FINISH_S:
        raise OutOfRange(f"a finish cannot stay {note.finish_s} s", f"give whole seconds, 1 to {MOST_OF_A_FINISH_S}")
    glass = ((strength_again, note.strength), (read_temperature, note.temperature), (amount_again, note.amount))
    for read, text in glass:
        if text:
            read(text)
    for stage in note.stages.values():
        check_free_words(stage.text)


def _judged(note: Taste) -> Iterator[tuple[str, str, str]]:
    """Every figure on a scale: what is judged, as typed, and the setting of its scale."""
    for name, stage in note.stages.items():
        yield from ((f"{name}: {word}", typed, "intensity_scale") for word, typed in stage.words.items())
    if note.liking:
        yield "liking", note.liking, "liking_scale"
    if note.score:
        yield "score", note.score, "score_scale"


def words_are_of_the_list(case: Case) -> Question | None:
    """A word with an intensity is of the house's list; a house without a list writes any."""
    known = case.known.words
    if not known.words:
        return None
    words = dict.fromkeys(word for stage in case.entry.stages.values() for word in stage.words)
    strange = [word for word in words if not known.find(word)]
    if not strange:
        return None
    near = _suggested(known, strange)
    return Question(
        "unknown-word",
        f"not on the house's list: {', '.join(map(repr, strange))}",
        f"{near}{'If not, put' if near else 'put'} it on the list: pourbook word '{strange[0]}' --definition ….",
        {"words": ", ".join(strange)},
    )


def _suggested(known: WordList, strange: list[str]) -> str:
    near = dict.fromkeys(one for word in strange for one in known.nearest(word))
    return f"was it {' or '.join(map(repr, near))}? " if near else ""


def off_notes_are_faults(case: Case) -> None:
    """An off-note is a word that the house's list calls a fault."""
    known = case.known.words
    for text in case.entry.off_notes:
        word = known.find(text)
        if not word or not word.off:
            near = "" if word else _suggested(known, [text])
            raise Refused(
                f"'{text}' is no fault on the house's list",
                f"{near}{'If' if near else 'if'} it is one, say so there: pourbook word '{text}' --fault",
            )


def scale_stays_under_its_notes(case: Case) -> Question | None:
    """What was judged on one scale is not what another scale would say; the notes stay as they are."""
    changed = [
        (name, case.known.settings[name], value)
        for name, value in case.entry.settings.items()
        if name in SCALES and value != case.known.settings[name]
    ]
    if not changed or not has_notes(case.known.store):
        return None
    name, before, after = changed[0]
    return Question(
        "scale-changed",
        f"tasting notes were judged with {name} {before}, and keep their figures",
        f"They will stand beside those on {after}.",
        {"setting": name, "before": before, "after": after},
    )


OF_TASTING_NOTES: tuple[Rule, ...] = (
    glass_and_assessor_are_named, note_says_something, figures_are_on_their_scales, words_are_of_the_list,
    off_notes_are_faults,
)  # fmt: skip


# -- of the house's words --------------------------------------------------------------


def word_can_be_typed(case: Case) -> None:
    """A word and its other spellings can stand before an intensity."""
    for text in (case.entry.word, *case.entry.also):
        if not word_form(text) or any(sign in text for sign in ",;:=") or text[-1:].isdigit():
            raise Malformed(
                f"'{text}' cannot be a word of the list", "write it without , ; : = and without a number at its end"
            )


def word_means_one_thing(case: Case) -> None:
    """No spelling means two words of the list."""
    word: Word = case.entry
    others = WordList(tuple(one for one in case.known.words.words if not _is_same(one, word)))
    for text in () if word.gone else (word.word, *word.also):
        if other := others.find(text):
            raise Refused(f"'{text}' means '{other.word}' on the list", "choose another spelling, or change that word")


def _is_same(one: Word, other: Word) -> bool:
    return word_form(one.word) == word_form(other.word)


OF_WORDS: tuple[Rule, ...] = (word_can_be_typed, word_means_one_thing)
