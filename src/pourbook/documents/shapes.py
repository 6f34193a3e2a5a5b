"""The shape of a drink, as doors show it: a table of intensities, gaps in sentences, and the same as JSON or CSV."""

from typing import TYPE_CHECKING, Any

from pourbook.book.entries import STAGES
from pourbook.documents.shown import Shown, table
from pourbook.words.paper_figures import Notation
from pourbook.words.shape_words import NOT_ADDITIVE, STAGE_NAMES, gap_words, rests_on, shape_rows, silent_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from pourbook.house_style import HouseStyle
    from pourbook.queries.tastings.shape_values import Felt, Gap, Profile, Shape

__all__ = ["shape_shown", "shape_table"]


def shape_shown(found: "Shape", style: "HouseStyle") -> Shown:
    """Intensities of glasses, one above the other, and where the blend is weak."""
    notation = Notation(style.mark)
    document = {
        "scale": list(found.scale),
        "words": list(found.words),
        "glasses": [_profile(one, found) for one in found.profiles],
        "gaps": [_gap(one) for one in found.gaps],
        "without_notes": [{"id": one.id, "part": one.part} for one in found.silent],
    }
    told = [(one.called or one.role, rests_on(one, notation)) for one in found.profiles]
    heads = ("glass", "word", *(f" {name}" for name in STAGE_NAMES.values()))
    is_blend = any(one.role == "expected" for one in found.profiles)
    said = (
        *table(("glass", ""), told),
        "",
        *table(heads, _told_once(shape_rows(found, notation))),
        "",
        *(gap_words(gap, notation) for gap in found.gaps),
        *silent_words(found, notation),
        *([NOT_ADDITIVE] if is_blend else []),
    )
    return Shown(document, said)


def _told_once(rows: "Sequence[tuple[str, ...]]") -> "Iterator[tuple[str, ...]]":
    """Rows, each glass named where it first stands."""
    before = ""
    for name, *figures in rows:
        yield ("" if name == before else name, *figures)
        before = name


def _profile(one: "Profile", found: "Shape") -> dict[str, Any]:
    return {
        "id": one.id or None,
        "role": one.role,
        "part": one.part,
        "notes": one.notes,
        "words": {
            word: {stage: _felt(felt) for stage, felt in zip(STAGES, one.felt[word], strict=True)}
            for word in found.words
            if word in one.felt
        },
        "finish_s": _felt(one.finish_s),
    }


def _felt(felt: "Felt | None") -> dict[str, float] | None:
    return None if felt is None else felt._asdict()


def _gap(gap: "Gap") -> dict[str, Any]:
    return {
        "id": gap.profile.id or None,
        "stage": None if gap.stage is None else STAGES[gap.stage],
        "at_most": gap.mean,
        "peak": gap.peak,
        "filled_by": [{"id": one.profile.id, "word": one.word or None, "mean": one.felt.mean} for one in gap.fillers],
    }


def shape_table(found: "Shape") -> tuple[list[str], list[list[Any]]]:
    """Heads and rows for a table: a row for each stage of each word of each glass."""
    heads = ["id", "called", "role", "part", "notes", "word", "stage", "mean", "low", "high"]
    rows = [
        [one.id, one.called, one.role, one.part, one.notes, word, stage, *felt]
        for one in found.profiles
        for word in found.words
        if word in one.felt
        for stage, felt in zip(STAGES, one.felt[word], strict=True)
        if felt
    ]
    timed = [[one.id, one.called, one.role, one.part, one.notes, "", "finish_s", *one.finish_s]
             for one in found.profiles if one.finish_s]  # fmt: skip
    return heads, [*rows, *timed]
