"""The house's own list of words for tasting notes: each with its definition, its reference and other spellings.

A word is found in any case and spacing, in the plural, and by its other spellings; what is only near is suggested.

>>> from pourbook.book.entries import Word
>>> words = WordList((Word("ripe pear", also=("bosc",)), Word("sulphur", off=True)))
>>> [one and one.word for one in map(words.find, ("Ripe Pears", "BOSC", "ripe-pear", "pear"))]
['ripe pear', 'ripe pear', 'ripe pear', None]
>>> words.nearest("sulfur")
['sulphur']
"""

from functools import cached_property
from typing import TYPE_CHECKING

from pourbook.book.search import in_force
from pourbook.book.store import Store
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.book.entries import Word

__all__ = ["WordList", "house_words", "word_form"]

_PLURALS = (("ies", "y"), ("sses", "ss"), ("shes", "sh"), ("ches", "ch"), ("xes", "x"), ("oes", "o"), ("ss", "ss"))
_LEAST = 4
"""Characters of a word that may be a plural: 'gas' is none."""


def word_form(text: str) -> str:
    """A word as it is looked up: without case, spacing, hyphens and a plural's ending.

    >>> word_form("Dried Cherries"), word_form("red-currants"), word_form("grass"), word_form("gas")
    ('driedcherry', 'redcurrant', 'grass', 'gas')
    """
    form = lookup_form(text.replace("-", " "))
    if len(form) < _LEAST or not form.endswith("s"):
        return form
    for ending, single in _PLURALS:
        if form.endswith(ending):
            return form.removesuffix(ending) + single
    return form[:-1]


class WordList:
    """Words of the house, as they stand."""

    def __init__(self, words: "tuple[Word, ...]") -> None:
        self.words = words

    @cached_property
    def _by_form(self) -> "dict[str, Word]":
        used = [one for one in self.words if not one.gone]
        others = {word_form(text): one for one in used for text in one.also}
        return others | {word_form(one.word): one for one in used}

    def find(self, text: str) -> "Word | None":
        """The word that is written or meant so, if the house uses one."""
        return self._by_form.get(word_form(text))

    def with_word(self, word: "Word") -> "WordList":
        """The list once this was written."""
        form = word_form(word.word)
        others = [one for one in self.words if word_form(one.word) != form]
        return WordList(tuple(sorted((*others, word), key=lambda one: word_form(one.word))))

    def nearest(self, text: str) -> list[str]:
        """Words written much like this text, a few at most."""
        from difflib import get_close_matches  # only where a word is not found

        return list(dict.fromkeys(self._by_form[one].word for one in get_close_matches(word_form(text), self._by_form)))


def house_words(store: Store) -> WordList:
    """The list as it stands, by the alphabet; also words that are used no longer."""
    from pourbook.book.entries import Word  # whoever only shows a note does without it

    latest: dict[str, Word] = {}
    for entry in in_force(store, "word"):
        body = entry.entry["body"]
        told = {name: value for name, value in body.items() if name in Word._fields}
        word = Word(**{**told, "also": tuple(body.get("also", ())), "off": "off" in body, "gone": "gone" in body})
        latest[word_form(word.word)] = word
    return WordList(tuple(latest[form] for form in sorted(latest)))
