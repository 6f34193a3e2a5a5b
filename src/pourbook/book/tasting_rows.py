"""Tasting notes and words of the list: what their entries say in one line, and the rows that a note adds.

Every word of a note is looked up by one index, also those of its free words; so notes are searched by what they say.

>>> body = {"item": "C000001H", "assessor": "Isla Farrow", "stages": {"nose": {"words": {"ripe pear": "4"}}}}
>>> taste_words(body, ".")
'tasting note C-000001-H by Isla Farrow: nose: ripe pear 4'
>>> [row[1] for row in taste_rows(body, 7, 0, 7)][1:-1]
[('ripepear', 7, 'nose', 4.0), ('ripe', 7, 'nose', None), ('pear', 7, 'nose', None)]
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from pourbook.book.house_words import word_form
from pourbook.book.tasting_notes import note_of, note_words
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.numerals import with_mark
from pourbook.texts import lookup_form

__all__ = ["taste_rows", "taste_words", "tokens", "word_words"]

_Body = Mapping[str, Any]
_NOTE = (
    "INSERT INTO tasting (entry, item, session, code, assessor, happened, place, score, liking, finish_s)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)
_WORD = "INSERT INTO tasted_word (word, entry, stage, intensity) VALUES (?, ?, ?, ?)"
_OF_THE_WHOLE = ("text", "missing", "too_much")


def taste_words(body: _Body, mark: str) -> str:
    """A tasting note in one line."""
    glass = hyphened(body["item"]) if "item" in body else f"glass {body['code']} of {body['session']}"
    said = ". ".join(note_words(note_of(body, 0, body.get("item", ""), 0, ""), mark))
    return f"tasting note {glass} by {body['assessor']}: {said}"


def word_words(body: _Body, _mark: str) -> str:
    """A word of the list in one line."""
    if "gone" in body:
        return f"word {body['word']}: used no longer"
    kind = "fault" if "off" in body else ""
    also = f"also {', '.join(body['also'])}" if "also" in body else ""
    told = (body.get("group", ""), kind, body.get("definition", ""), also)
    return f"word {body['word']}: {'; '.join(filter(None, told))}".removesuffix(": ")


def taste_rows(body: _Body, number: int, happened: int, place: int) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """A row of the note, one for each word at each stage, and that it concerns its item."""
    key = key_of(body["item"]) if "item" in body else None
    figures = (_number(body[name]) if name in body else None for name in ("score", "liking"))
    glass = (body.get("session", ""), body.get("code", ""))
    yield _NOTE, (
        number, key, *glass, lookup_form(body["assessor"]), happened, place, *figures, body.get("finish_s"),
    )  # fmt: skip
    places = {name: {"text": body[name]} for name in _OF_THE_WHOLE if name in body}
    for stage, found in {**body.get("stages", {}), **places}.items():
        for word, intensity in _words(found).items():
            yield _WORD, (word, number, stage, intensity)
    if key is not None:
        yield "INSERT INTO mention (item, entry) VALUES (?, ?)", (key, number)


def _words(found: Mapping[str, Any]) -> dict[str, float | None]:
    typed = found.get("words", {})
    judged: dict[str, float | None] = {word_form(word): _number(one) for word, one in typed.items()}
    there = (word for word, one in typed.items() if _number(one))
    free = tokens(" ".join((*there, found.get("text", ""))))
    return judged | {word: None for word in free if word not in judged}


def _number(typed: str) -> float:
    return float(with_mark(typed, "."))


def tokens(text: str) -> list[str]:
    """The single words of a text as they are looked up, each once.

    >>> tokens("Ripe pears, a ripe-ish plum")
    ['ripe', 'pear', 'a', 'ish', 'plum']
    """
    return list(dict.fromkeys(word_form(one) for one in re.findall(r"\w+", text)))
