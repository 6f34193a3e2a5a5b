"""Sentences of the book's rules and of papers, in the language of whoever reads.

The floors below say what is wrong in English, with figures and names in it. The catalogue knows such a sentence by its
form, `{0} holds {1}, and {2} is asked for`; here a sentence is known by the form that shares most with it, and told in
the words that the catalogue has for that form. One that it does not know stays as it is.

>>> forms = Forms({"{0} holds {1}": "{0} enthält {1}", "no such cask": "kein solches Fass", "{0} of water": ""})
>>> forms.told("Q 31 holds 12 l"), forms.told("no such cask"), forms.told("anything else")
('Q 31 enthält 12 l', 'kein solches Fass', 'anything else')
"""

import re
from collections.abc import Mapping
from functools import lru_cache

__all__ = ["Forms"]

_GAP = re.compile(r"\{\d+\}")


class Forms:
    """The forms of sentences that a catalogue knows, each with its words in a language; empty words tell nothing."""

    def __init__(self, words: Mapping[str, str]) -> None:
        self._exactly = {form: told for form, told in words.items() if told}
        with_gaps = [(form, told) for form, told in self._exactly.items() if _GAP.search(form)]
        # The form that shares most with a sentence is tried first: others may be the same with wider gaps.
        self._with_gaps = sorted(
            ((_chunks(form), form, told) for form, told in with_gaps), key=lambda one: -sum(map(len, one[0]))
        )

    def told(self, sentence: str) -> str:
        """The sentence in that language, as far as it is known."""
        if found := self._exactly.get(sentence):
            return found
        for chunks, form, told in self._with_gaps:
            if all(chunk in sentence for chunk in chunks) and (match := _pattern(form).fullmatch(sentence)):
                return _GAP.sub(lambda gap: match[f"gap{gap[0][1:-1]}"], told)
        return sentence


def _chunks(form: str) -> tuple[str, ...]:
    return tuple(filter(None, _GAP.split(form)))


@lru_cache(maxsize=2000)
def _pattern(form: str) -> re.Pattern[str]:
    """What a sentence of that form looks like; gaps are numbered from the left, each once."""
    text = re.escape(form)
    return re.compile(re.sub(r"\\\{(\d+)\\\}", r"(?P<gap\1>.+?)", text), re.DOTALL)
