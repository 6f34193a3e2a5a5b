"""What was found at one stage of a glass, as a blender types it: words with their intensities, and free words.

Commas and semicolons separate the parts. A part that ends in a number is a word with its intensity; any other part is
free words. So free words must not end in a digit; a full stop after it makes them free words.

>>> read_stage("ripe pear 4, oak 2; a little shy")
Stage(text='a little shy', words={'ripe pear': '4', 'oak': '2'})
>>> written_stage(read_stage("shy at first, oak 2,5, like cask 12.", ","), ",")
'oak 2,5; shy at first, like cask 12.'
"""

import re

from pourbook.book.entries import Stage
from pourbook.errors import Malformed
from pourbook.numerals import read_decimal, with_mark

__all__ = ["check_free_words", "read_stage", "written_stage"]

_BETWEEN = re.compile(r"\s*(;|,(?![0-9])|(?<![0-9]),)\s*")
"""A comma between two digits is a decimal mark."""
_WITH_INTENSITY = re.compile(r"(.*?\S)(?:\s*[:=]\s*|\s+)([0-9]+(?:[.,][0-9]+)?)")


def read_stage(text: str, mark: str = ".") -> Stage:
    """What was typed of a stage, with numbers of this decimal mark.

    Raises:
        Malformed: a number in another form or without its word, or a word that stands twice.
    """
    pieces = ["", *_BETWEEN.split(" ".join(text.split()))]
    free, words = "", dict[str, str]()
    for separator, part in zip(pieces[::2], pieces[1::2], strict=True):
        if found := _WITH_INTENSITY.fullmatch(part):
            word, intensity = found.groups()
            read_decimal(intensity, mark)
            if word in words:
                raise Malformed(f"'{word}' stands twice in '{text.strip()}'", "give each word one intensity")
            words[word] = intensity
        elif part:
            check_free_words(part)
            free += f"{separator} {part}" if free else part
    return Stage(free, words)


def check_free_words(text: str) -> None:
    """Refuse (`Malformed`) free words that would be read as a word with its intensity, or look like one."""
    for part in _BETWEEN.split(text)[::2]:
        if part[-1:] in set("0123456789"):
            raise Malformed(
                f"'{part}' ends in a digit, as a word with its intensity does",
                "write it like 'pear 4'; if it is no intensity, end it with a full stop",
            )


def written_stage(stage: Stage, mark: str = ".") -> str:
    """A stage as `read_stage` reads it again: words first, then what is free."""
    words = ", ".join(f"{word} {with_mark(intensity, mark)}" for word, intensity in stage.words.items())
    return "; ".join(filter(None, (words, stage.text)))
