"""Tasting notes found by what they say, of what, by whom and when.

>>> from pourbook import Book, Item
>>> from pourbook.actions.happening import Happening
>>> from pourbook.book.entries import Stage, Taste
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> _ = how.record(book, Item(book.next_id("cask"), {"ref": "Row 3/12"}))
>>> for stage, text in (("nose", "short"), ("finish", "short, then dry")):
...     _ = book.taste(how, Taste("Row 3/12", stages={stage: Stage(text, {"pear": "3"})}))
>>> [len(list(tastings(book, Asked(words)))) for words in ("short finish", "pears", "dry nose", "plum")]
[1, 2, 0, 0]
>>> [found.note for found in tastings(book, Asked(judged=("pear >= 3",), stage="nose"))][0].stages["nose"].words
{'pear': 3.0}
>>> [len(list(tastings(book, Asked(words)))) for words in ("pears >= 3", "pear>=4")]
[2, 0]
"""

import re
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.coded_names import person_meant
from pourbook.book.contents import EVER
from pourbook.book.house_words import WordList, house_words, word_form
from pourbook.book.stages import STAGES
from pourbook.book.tasting_notes import TastingNote, notes
from pourbook.book.tasting_rows import tokens
from pourbook.book.tasting_search import About, Judged
from pourbook.codes.identifiers import key_of
from pourbook.errors import Malformed
from pourbook.numerals import read_decimal
from pourbook.queries.items.called import calling
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.tasted_liquid import Around

__all__ = ["Asked", "FoundNote", "notes_around", "tastings"]

_JUDGED = re.compile(r"([^<>=]+?)\s*(>=|<=|=)\s*([^<>=]+)")
_HIGHEST = 1e9


class Asked(NamedTuple):
    """What is asked of tasting notes; what is left as it is narrows nothing.

    Attributes:
        words: all of them stand in the note; with the name of a stage among them, they stand there.
        judged: words with an intensity: 'pear >= 3', 'oak <= 1', 'smoke = 0'; a word alone is above nought.
        stage: where all these words stand.
        assessor: who tasted.
        kind: of what was tasted.
        item: what was tasted, as somebody names it.
        about: an item; notes on others with its liquid are wanted, too.
        session: the tasting session.
        since_us: tasted then or later.
        until_us: tasted then or earlier.
        score: the least and the most.
        liking: the least and the most.
        wood: words of the wood of the cask tasted, or behind the glass tasted.
        filled_us: from which moment to which that cask was filled, the end not included.
    """

    words: str = ""
    judged: tuple[str, ...] = ()
    stage: str = ""
    assessor: str = ""
    kind: str = ""
    item: str = ""
    about: str = ""
    session: str = ""
    since_us: int | None = None
    until_us: int | None = None
    score: tuple[float, float] | None = None
    liking: tuple[float, float] | None = None
    wood: str = ""
    filled_us: tuple[int, int] | None = None


class FoundNote(NamedTuple):
    """A note that answers, and how what was tasted stands to the item that is asked `about`.

    `how` is empty where none is, and for that item itself; "in it" where its liquid went into the item, "from it" for
    a glass of the item, "followed" for the trial that the item was made by, and for what was in that. `called` is how
    a person knows what was tasted at sight, where that was asked for.
    """

    note: TastingNote
    how: str = ""
    called: str = ""


def notes_around(book: "BookCore", item: str, at_us: int | None = None) -> tuple[FoundNote, ...]:
    """Notes on an item, and on others while they held what it holds now or held last, in the order of tasting.

    Of a cask, those are glasses of it; of a lot, the casks and the batch behind it, and the trial that it follows.

    Raises:
        PourbookError: no such item.
    """
    return tuple(tastings(book, Asked(about=item, until_us=at_us), called=True))


def tastings(book: "BookCore", asked: Asked, last: int | None = None, *, called: bool = False) -> Iterator[FoundNote]:
    """Notes that answer, in the order the glasses were tasted; with `last`, so many of the last of them.

    With `called`, each says how a person knows what was tasted, which looks behind every glass.

    Raises:
        Malformed: a judged word without its number.
        PourbookError: no such item.
    """
    about, store = _about(book, asked), book.store
    found: Iterator[FoundNote]
    narrowed: list[Iterable[Around]] = []
    if asked.about or asked.wood or asked.filled_us:
        from pourbook.book.tasted_liquid import around, of_casks  # most questions do without what lies behind

        narrowed += [of_casks(store, asked.wood, asked.filled_us)] if asked.wood or asked.filled_us else []
        narrowed += [around(store, book.find(asked.about))] if asked.about else []
    if not narrowed:
        found = map(FoundNote, notes(store, about, last))
    else:
        by_item = [_by_item(one) for one in narrowed]
        keys = set.intersection(*map(set, by_item))
        found = _lying_there(notes(store, about._replace(keys=keys)), by_item)
        found = iter(deque(found, maxlen=last)) if last else found
    if not called:
        return found
    name = calling(store)
    return (one._replace(called=name(one.note.item) if one.note.item else "") for one in found)


def _by_item(found: "Iterable[Around]") -> "dict[int, list[Around]]":
    by_item: dict[int, list[Around]] = {}
    for one in found:
        by_item.setdefault(one.item, []).append(one)
    return by_item


def _lying_there(found: Iterable[TastingNote], narrowed: "Sequence[dict[int, list[Around]]]") -> Iterator[FoundNote]:
    """Notes on items while they held the liquid that is asked about, by every way of asking."""
    for note in found:
        hows = [
            [one.how for one in by_item[key_of(note.item)] if one.since_us <= note.happened_us <= one.until_us]
            for by_item in narrowed
        ]
        if all(hows):
            yield FoundNote(note, hows[-1][0])


def _about(book: "BookCore", asked: Asked) -> About:
    known = house_words(book.store) if asked.words or asked.judged else WordList(())
    if _JUDGED.fullmatch(asked.words.strip()):  # "pear >= 3", typed as words are
        asked = asked._replace(words="", judged=(*asked.judged, asked.words))
    words = tokens(asked.words)
    free = [one for one in words if one not in STAGES] or words
    about = About(
        item=book.find(asked.item) if asked.item else "",
        session=asked.session,
        until_us=EVER if asked.until_us is None else asked.until_us,
        words=tuple(_forms(known, one) for one in free),
        stage=asked.stage,
        together=tuple(one for one in words if one not in free),
        judged=tuple(_judged(known, text, book.settings["decimal_mark"]) for text in asked.judged),
        assessor=lookup_form(person_meant(book.store, asked.assessor)),
        kind=asked.kind,
        score=asked.score,
        liking=asked.liking,
    )
    return about if asked.since_us is None else about._replace(since_us=asked.since_us)


def _forms(known: WordList, word: str) -> tuple[str, ...]:
    """A word of a question and, where the list knows it under another, that one too."""
    found = known.find(word)
    return tuple(dict.fromkeys((word, word_form(found.word)) if found else (word,)))


def _judged(known: WordList, text: str, mark: str) -> Judged:
    asked = _JUDGED.fullmatch(text.strip())
    if not asked and any(sign in text for sign in "<>="):
        raise Malformed(f"'{text}' is not a word with its intensity", "write it like 'pear >= 3'")
    word, sign, number = asked.groups() if asked else (text, ">=", "")
    value = float(read_decimal(number, mark)) if number else 1e-9
    found = known.find(word)
    least, most = -_HIGHEST if sign == "<=" else value, _HIGHEST if sign == ">=" else value
    return Judged(word_form(found.word if found else word), least, most)
