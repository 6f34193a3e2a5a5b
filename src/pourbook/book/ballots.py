"""What a ballot of a blind glass answers, however it comes back: on paper, in a table, line by line.

>>> answered({"nose": "pear 4; shy", "score": "81,5"}, ",").score
'81,5'
"""

import re
from collections.abc import Mapping
from typing import NamedTuple

from pourbook.book.entries import STAGES, Stage, Taste
from pourbook.book.stage_text import read_stage
from pourbook.errors import Malformed
from pourbook.numerals import read_decimal

__all__ = ["ANSWERS", "Ballot", "answered"]

ANSWERS = (*STAGES, "seconds", "missing", "too_much", "liking", "score", "rank", "note")
"""What is answered of a glass, as the columns of a table name it."""


class Ballot(NamedTuple):
    """A ballot of one glass in a table: its row there, the assessor (or nobody), the code, the answers by `ANSWERS`."""

    row: int
    assessor: str
    code: str
    answers: Mapping[str, str]


def answered(answers: Mapping[str, str], mark: str) -> Taste:
    """Answers as typed, with numbers of this decimal mark, as a note without its glass.

    Raises:
        Malformed: an answer to nothing that is asked, or a figure that is none.
    """
    told = {name: text.strip() for name, text in answers.items() if text and text.strip()}
    if unknown := [name for name in told if name not in ANSWERS]:
        raise Malformed(f"a ballot has no '{unknown[0]}'", f"choose from: {', '.join(ANSWERS)}")
    stages = {name: read_stage(told[name], mark) for name in STAGES if name in told}
    for name in ("liking", "score"):
        if name in told:
            read_decimal(told[name], mark)
    return Taste(
        text=told.get("note", ""),
        stages={name: stage for name, stage in stages.items() if stage != Stage()},
        finish_s=_whole(told, "seconds"),
        missing=told.get("missing", ""),
        too_much=told.get("too_much", ""),
        liking=told.get("liking", ""),
        score=told.get("score", ""),
        rank=_whole(told, "rank") or 0,
    )


def _whole(told: Mapping[str, str], name: str) -> int | None:
    if name not in told:
        return None
    if not re.fullmatch(r"[0-9]{1,4}", told[name]):
        raise Malformed(f"{name} '{told[name]}' is not a whole number", "write it in digits: 12")
    return int(told[name])
