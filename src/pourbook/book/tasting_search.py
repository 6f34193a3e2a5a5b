"""Which tasting notes are wanted, as a question to the tables: every condition on words goes by their index.

>>> conditions(About(words=(("short",),), together=("finish",)))[1][:2]
[4611686018427387904, 'short']
"""

import json
from collections.abc import Collection, Iterator
from typing import NamedTuple

from pourbook.book.contents import EVER
from pourbook.book.store import Store
from pourbook.codes.identifiers import KINDS, key_of

__all__ = ["About", "Judged", "conditions", "has_notes"]

_ALWAYS = -(1 << 62)
_THERE = "coalesce(intensity, 1) > 0"
"""A word judged to be nought was looked for and not found."""


class Judged(NamedTuple):
    """A word, as it is looked up, with an intensity `least` to `most`."""

    word: str
    least: float
    most: float


class About(NamedTuple):
    """Which notes are wanted; what is left as it is narrows nothing.

    Attributes:
        item: identifier of what was tasted.
        session: the tasting session.
        until_us: tasted then or earlier.
        since_us: tasted then or later.
        words: each by its forms as they are looked up, one of which stands somewhere in the note.
        stage: where all these words, and the judged ones, stand.
        together: these stages: all words stand in one of them, or at one place with its name.
        judged: words with their intensities.
        assessor: who tasted, as looked up.
        kind: of what was tasted.
        score: the least and the most.
        liking: the least and the most.
        keys: of what was tasted.
    """

    item: str = ""
    session: str = ""
    until_us: int = EVER
    since_us: int = _ALWAYS
    words: tuple[tuple[str, ...], ...] = ()
    stage: str = ""
    together: tuple[str, ...] = ()
    judged: tuple[Judged, ...] = ()
    assessor: str = ""
    kind: str = ""
    score: tuple[float, float] | None = None
    liking: tuple[float, float] | None = None
    keys: Collection[int] | None = None


def has_notes(store: Store) -> bool:
    """Whether anything was ever tasted, and still counts."""
    return bool(store.query("SELECT 1 FROM tasting LIMIT 1"))


def conditions(about: About) -> tuple[str, list[object]]:
    """What to ask of the table `tasting`, and the values in it."""
    parts = list(_parts(about))
    return " AND ".join(sql for sql, _ in parts), [value for _, values in parts for value in values]


def _parts(about: About) -> Iterator[tuple[str, list[object]]]:
    yield "tasting.happened <= ?", [about.until_us]
    if about.since_us != _ALWAYS:
        yield "tasting.happened >= ?", [about.since_us]
    key = key_of(about.item) if about.item else ""
    for column, value in (("item", key), ("session", about.session), ("assessor", about.assessor)):
        if value != "":
            yield f"tasting.{column} = ?", [value]
    if about.kind:
        yield "tasting.item % ? = ?", [len(KINDS), list(KINDS).index(about.kind)]
    if about.keys is not None:
        yield "tasting.item IN (SELECT value FROM json_each(?))", [json.dumps(sorted(about.keys))]
    for column, bounds in (("score", about.score), ("liking", about.liking)):
        if bounds:
            yield f"tasting.{column} BETWEEN ? AND ?", list(bounds)
    yield from _of_words(about)


def _of_words(about: About) -> Iterator[tuple[str, list[object]]]:
    at = (" AND stage = ?", [about.stage]) if about.stage else ("", [])
    for word, least, most in about.judged:
        yield _in(f"word = ? AND intensity BETWEEN ? AND ?{at[0]}", [word, least, most, *at[1]])
    if not about.together or not about.words:
        for forms in about.words:
            yield _in(f"word IN ({_marks(forms)}) AND {_THERE}{at[0]}", [*forms, *at[1]])
        return
    first, *others = about.words
    sql, values = f"word IN ({_marks(first)}) AND {_THERE}", [*first]
    for forms in others:
        sql += f" AND {_beside(forms)}"
        values += forms
    for stage in about.together:
        sql += f" AND (stage = ? OR {_beside((stage,))})"
        values += (stage, stage)
    yield _in(sql, list(values))


def _in(sql: str, values: list[object]) -> tuple[str, list[object]]:
    return f"tasting.entry IN (SELECT entry FROM tasted_word WHERE {sql})", values


def _beside(forms: Collection[str]) -> str:
    """That another word stands at the same place of the note."""
    same = "other.entry = tasted_word.entry AND other.stage = tasted_word.stage"
    return f"EXISTS (SELECT 1 FROM tasted_word AS other WHERE other.word IN ({_marks(forms)}) AND {same})"


def _marks(values: Collection[object]) -> str:
    return ",".join("?" * len(values))
