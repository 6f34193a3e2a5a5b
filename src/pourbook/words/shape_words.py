"""The shape of a drink in words: its figures, its gaps and what could fill them.

>>> from pourbook.queries.tastings.shape_values import gaps, profile
>>> blend = profile([({"nose": {"pear": 4.0}, "middle": {"pear": 1.0}}, 12)], "T000001X", "Ostrewick 3")
>>> chestnut = profile([({"middle": {"oak": 4.0}}, 40)], "V000001R", "S 26-04 · chestnut", "component")
>>> [gap_words(gap, Notation()) for gap in gaps(blend, [chestnut], ("pear", "oak"), (0.0, 5.0))][:1]
['Gap at the middle: at most 1, against 4 at its strongest. S 26-04 · chestnut has oak 4 there.']
>>> gap_words(gaps(blend, [chestnut], ("pear", "oak"), (0.0, 5.0))[1], Notation())
'Short finish: 12 s. S 26-04 · chestnut stays 40 s.'
"""

from pourbook.book.entries import STAGES
from pourbook.codes.identifiers import hyphened
from pourbook.numerals import counted
from pourbook.queries.tastings.shape_values import Felt, Filler, Gap, Profile, Shape
from pourbook.words.paper_figures import Notation, digits_needed

__all__ = [
    "NOT_ADDITIVE", "STAGE_NAMES", "felt_words", "gap_words", "how_read", "mean_words", "name_of", "rests_on",
    "seconds_words", "shape_rows", "silent_words",
]  # fmt: skip

STAGE_NAMES = dict(zip(STAGES, ("nose", "first taste", "middle", "finish"), strict=True))

NOT_ADDITIVE = (
    "Expected is the sum of the components' intensities by their parts, water left out. Blends are not additive: where"
    " tasted and expected differ, components changed each other."
)
"""What must be known of a blend before it was tasted."""

_TOLD = 2
"""So many fillers are named."""


def mean_words(mean: float, notation: Notation) -> str:
    """A figure with at most one digit behind the mark."""
    rounded = round(mean, 1)
    return notation.fixed(rounded, digits_needed([rounded], 1))


def felt_words(felt: Felt | None, notation: Notation) -> str:
    """A mean, and from where to where the notes lie; empty where it is not known.

    >>> felt_words(Felt(3.5, 3, 4), Notation(",")), felt_words(Felt(4, 4, 4), Notation())
    ('3,5 (3–4)', '4')
    """
    if felt is None:
        return ""
    mean = mean_words(felt.mean, notation)
    low, high = mean_words(felt.low, notation), mean_words(felt.high, notation)
    return mean if low == high else f"{mean} ({low}–{high})"


def seconds_words(felt: Felt, notation: Notation) -> str:
    """The length of a finish in whole seconds."""
    return f"{notation.fixed(round(felt.mean), 0)} s"


def name_of(profile: Profile) -> str:
    """A glass as a sentence names it."""
    return profile.called or (hyphened(profile.id) if profile.id else profile.role)


def rests_on(profile: Profile, notation: Notation) -> str:
    """How much of the blend it is, and how many notes say what it is like."""
    if profile.role == "expected":
        return (
            "from the parts"
            if profile.part is None or profile.part > 0.9995
            else (f"from {notation.percent(profile.part, 1)} % of it")
        )
    part = "" if profile.part is None else f"{notation.percent(profile.part, 1)} % · "
    return part + (
        ("one note" if profile.notes == 1 else counted(profile.notes, "note")) if profile.notes else "no note"
    )


def gap_words(gap: Gap, notation: Notation) -> str:
    """Where a glass is weak, and what could fill it."""
    if gap.stage is None:
        said = f"Short finish: {notation.fixed(round(gap.mean), 0)} s."
    else:
        name = STAGE_NAMES[STAGES[gap.stage]]
        most = f"at most {mean_words(gap.mean, notation)}" if gap.mean else "nothing"
        said = f"Gap at the {name}: {most}, against {mean_words(gap.peak, notation)} at its strongest."
    return " ".join((said, *(_filler_words(one, notation) for one in gap.fillers[:_TOLD])))


def _filler_words(filler: Filler, notation: Notation) -> str:
    name = name_of(filler.profile)
    if not filler.word:
        return f"{name} stays {seconds_words(filler.felt, notation)}."
    return f"{name} has {filler.word} {mean_words(filler.felt.mean, notation)} there."


def how_read(shape: Shape, notation: Notation) -> str:
    """How the picture is to be read: its scale, its doubt, and what is expected."""
    scale = " to ".join(mean_words(end, notation) for end in shape.scale)
    said = [
        f"Every shape runs from the nose to the end of the finish, on one scale from {scale}: the mean of the notes."
    ]
    if any(felt and felt.low != felt.high for one in shape.profiles for row in one.felt.values() for felt in row):
        said.append("Upright strokes: from the lowest note to the highest.")
    if any(one.role == "expected" for one in shape.profiles):
        said.append(f"Dashed: expected. {NOT_ADDITIVE}")
    return " ".join((*said, *silent_words(shape, notation)))


def silent_words(shape: Shape, notation: Notation) -> tuple[str, ...]:
    """The components that no note speaks of, in a sentence; none where each has one."""
    named = [f"{name_of(one)} ({notation.percent(one.part, 1)} %)" for one in shape.silent]
    return (f"No note with intensities: {'; '.join(named)}.",) if named else ()


def shape_rows(shape: Shape, notation: Notation) -> list[tuple[str, ...]]:
    """The figures: a row for each word that is in a glass, and one for the seconds that it stays."""
    rows = []
    for one in shape.profiles:
        name = "expected" if one.role == "expected" else name_of(one)
        for word in shape.words:
            felt = one.felt.get(word, ())
            if any(stage and stage.high > shape.scale[0] for stage in felt):
                rows.append((name, word, *(felt_words(stage, notation) for stage in felt)))
        if one.finish_s:
            rows.append((name, "finish, seconds", "", "", "", felt_words(one.finish_s, notation)))
    return rows
