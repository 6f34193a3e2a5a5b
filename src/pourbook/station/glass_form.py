"""The form for one glass: the house's words at each stage as buttons with steps of intensity, free words, figures.

A word's field is named by its stage and itself (`nose.ripe pear`), what is written freely by the stage alone.

>>> answers_of({"nose.ripe pear": "4", "nose.oak": "", "nose": "a little shy", "score": "81", "page": "2"})
{'nose': 'ripe pear 4; a little shy', 'score': '81'}
"""

from collections.abc import Mapping
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.ballots import ANSWERS
from pourbook.book.entries import STAGES, Stage
from pourbook.book.settings import scale
from pourbook.book.stage_text import read_stage

if TYPE_CHECKING:
    from pourbook.whole_book import Book

__all__ = ["GlassForm", "answers_of", "glass_form"]

_MOST_STEPS = 11
"""More points than that are not touched one by one."""


class GlassForm(NamedTuple):
    """What a form for a glass offers, and what was filled in before.

    Attributes:
        groups: words of the house by group.
        steps: intensities to choose from; none where the house has too many.
        liking: likewise.
        score: its least and most.
        answers: what was filled in, as typed, by the words of `ANSWERS`.
        stages: of that, words with their intensities and free words at each stage.
    """

    groups: tuple[tuple[str, tuple[str, ...]], ...]
    steps: tuple[int, ...]
    liking: tuple[int, ...]
    score: tuple[int, int]
    answers: Mapping[str, str]
    stages: Mapping[str, Stage]


_NOTHING: Mapping[str, str] = {}


def glass_form(book: "Book", answers: Mapping[str, str] = _NOTHING) -> GlassForm:
    """The form, with what was filled in before."""
    settings = book.settings
    words = sorted((one.group, one.word) for one in book.words())
    groups = groupby(words, lambda pair: pair[0])
    return GlassForm(
        tuple((group, tuple(word for _, word in found)) for group, found in groups),
        tuple(step for step in _steps(*scale(settings, "intensity_scale")) if step),
        _steps(*scale(settings, "liking_scale")),
        scale(settings, "score_scale"),
        answers,
        {name: read_stage(answers.get(name, ""), settings["decimal_mark"]) for name in STAGES},
    )


def _steps(least: int, most: int) -> tuple[int, ...]:
    points = range(least, most + 1)
    return tuple(points) if len(points) <= _MOST_STEPS else ()


def answers_of(form: Mapping[str, str]) -> dict[str, str]:
    """What a form answers, as `pourbook.book.ballots.answered` reads it; what was left empty is left out."""
    answers = {name: form.get(name, "").strip() for name in ANSWERS}
    for stage in STAGES:
        judged = ((name.partition(".")[2], text.strip()) for name, text in form.items() if name.startswith(f"{stage}."))
        words = ", ".join(f"{word} {text}" for word, text in judged if text)
        answers[stage] = "; ".join(filter(None, (words, answers[stage])))
    return {name: text for name, text in answers.items() if text}
