"""Figures as every screen says them: amounts, strengths, shares and times in wood, with their units.

>>> from pourbook.lineage.ages import Age
>>> age_text(Age(8, 1)), age_text(Age(1, 41)), age_text(None)
('8 years 1 day', '1 year 41 days', 'unknown')
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import named, several
from pourbook.liquid import in_grams
from pourbook.numerals import counted, shown

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.gauging.evaporation import Band
    from pourbook.lineage.ages import Age
    from pourbook.liquid import Liquid
    from pourbook.queries.items.labelled_strength import Disagreement
    from pourbook.queries.traces.trace_answer import Trace

__all__ = [
    "NO_APPARENT", "PENDING", "UNKNOWN", "age_text", "age_words", "disagreement_words", "give_or_take",
    "hidden_document", "hidden_words", "in_grams", "in_litres", "named", "percent", "several", "strength_shown",
    "strength_words",
]  # fmt: skip

NO_APPARENT = "heavier than water, so it has no apparent strength"
"""Stands where an apparent strength would: no mixture of ethanol and water has that density."""

PENDING = "(pending)"
"""Stands behind a strength that is expected only: one mark wherever strengths are shown."""

UNKNOWN = "unknown"
"""Stands for a figure, a time or a fact that is not known."""


def in_litres(volume_ml: float, mark: str = ".") -> str:
    """A volume: ml below a litre, else litres."""
    if volume_ml < 1000:
        return f"{shown(volume_ml, 1, mark)} ml"
    return f"{shown(volume_ml / 1000, 2, mark)} l"


def percent(share: float | None, mark: str = ".") -> str:
    """A share in per cent with two digits; a trace of something is never shown as nothing."""
    if share is None:
        return "–"
    if 0 < share < 0.00005:
        return f"<0{mark}01"
    return shown(share * 100, 2, mark)


def give_or_take(band: "Band | None", mark: str = ".", times: int = 1) -> str:
    """A figure between bounds, with its ±; `times` turns a part into per cent."""
    if band is None:
        return "–"
    return f"{shown(band.expected * times, 2, mark)} ± {shown((band.high - band.low) / 2 * abs(times), 2, mark)}"


def strength_shown(strength: float | None, mark: str = ".") -> str:
    """A strength in % vol at 20 °C with two digits."""
    return "–" if strength is None else shown(strength, 2, mark)


def strength_words(strength: float | None, mark: str, pending: object) -> str:
    """A strength with its unit, marked if one behind it is pending."""
    return f"{strength_shown(strength, mark)} % vol{f' {PENDING}' if pending else ''}"


def disagreement_words(apart: "Disagreement", mark: str = ".") -> str:
    """How far a lot's label is from the book.

    >>> from pourbook.queries.items.labelled_strength import Disagreement
    >>> disagreement_words(Disagreement(61.12, 61.62, 0.3))
    'labelled 61.12 % vol; the book has 61.62 % vol: farther apart than the label tolerance of ± 0.3 % vol'
    """
    return (
        f"labelled {shown(apart.stated, 2, mark)} % vol; the book has {shown(apart.by_book, 2, mark)} % vol: farther"
        f" apart than the label tolerance of ± {shown(apart.tolerance, 1, mark)} % vol"
    )


def hidden_document(liquid: "Liquid") -> dict[str, float | None]:
    """What a hydrometer will show of a liquid with solids, as JSON; empty where it shows the truth."""
    from pourbook.alcoholometry.obscuration import obscured_liquid

    found = obscured_liquid(liquid)
    if found is None:
        return {}
    return {"extract_g_per_l": found.solids_g_per_l, "apparent_strength_20c": found.apparent_20c}


def hidden_words(document: Mapping[str, Any], mark: str = ".") -> str:
    """The same in words behind a strength."""
    if "extract_g_per_l" not in document:
        return ""
    solids, apparent = shown(document["extract_g_per_l"], 2, mark), document["apparent_strength_20c"]
    if apparent is None:
        return f"; with {solids} g/l of extract {NO_APPARENT}"
    apparent = shown(apparent, 2, mark)
    return f"; a hydrometer will show {apparent} % vol at 20 °C, for {solids} g/l of extract"


def age_text(age: "Age | None") -> str:
    """A wood age in words."""
    return UNKNOWN if age is None else f"{counted(age.years, 'year')} {counted(age.days, 'day')}"


def age_words(zone: "tzinfo", *blends: "Trace") -> str:
    """Completed years and days of the youngest spirit of several; empty where no age is known."""
    from pourbook.lineage.ages import age_of  # few items are blends with an age
    from pourbook.queries.traces.trace_answer import youngest_in

    found = youngest_in(*blends)
    return "" if found is None else age_text(age_of(found, zone))
