"""The history of a cask in words, for a screen and a paper.

>>> from pourbook.queries.casks.provenance import WoodChange
>>> change_words(WoodChange(7, 0, "M. Aldane", "char", "30 s", "55 s"))
'char: 55 s (before: 30 s)'
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import lpa_l, strength_20c, volume_ml
from pourbook.lineage.ages import Stay, WoodTime, age_of
from pourbook.numerals import shown
from pourbook.times import day_shown
from pourbook.words.figure_words import age_text, give_or_take, in_litres, strength_shown
from pourbook.words.tried_words import mean_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import tzinfo

    from pourbook.gauging.evaporation import Evaporation
    from pourbook.liquid import Liquid
    from pourbook.queries.casks.provenance import CaskFill, Gave, Poured, Provenance, WoodChange

__all__ = [
    "NOT_GAUGED", "Happened", "amount_words", "change_words", "fact_words", "happened", "lost_so_far", "lost_words",
    "source_words", "span_words", "thought_of", "time_in_cask", "wood_words",
]  # fmt: skip

NOT_GAUGED = "not known (needs two gauges of its content, 60 days apart or more)"


class Happened(NamedTuple):
    """Something of a cask's history in words.

    Attributes:
        entry: its number.
        happened_us: when.
        who: recorded it.
        subject: what it is about: a subject of notes, or "change".
        text: what was said of it.
    """

    entry: int
    happened_us: int
    who: str
    subject: str
    text: str


def happened(found: "Provenance") -> tuple[Happened, ...]:
    """Notes of its history and facts of the wood that changed, in order of time."""
    told = [Happened(one.entry, one.happened_us, one.who, one.subject, one.text) for one in found.events]
    told += [Happened(*one[:3], "change", change_words(one)) for one in found.changes]
    return tuple(sorted(told, key=lambda one: (one.happened_us, one.entry)))


def fact_words(name: str) -> str:
    """What a fact of the wood is called."""
    return {"capacity_l": "capacity", "previous": "previous contents"}.get(name, name)


def wood_words(facts: "Mapping[str, str]") -> str:
    """What is known of a cask's wood, in one line.

    >>> wood_words({"wood": "oak hogshead", "toast": "heavy", "cooper": "Brindle Cooperage"})
    'oak hogshead, toast heavy, by Brindle Cooperage'
    """
    said = (("", "wood"), ("toast ", "toast"), ("char ", "char"), ("by ", "cooper"))
    return ", ".join(f"{before}{facts[name]}" for before, name in said if facts.get(name))


def change_words(change: "WoodChange") -> str:
    """A fact that changed."""
    before = f" (before: {change.before})" if change.before else ""
    return f"{fact_words(change.name)}: {change.value or 'no longer stated'}{before}"


def span_words(fill: "CaskFill", zone: "tzinfo") -> str:
    """From when until when it lay in the cask."""
    begun = day_shown(fill.begun_us, zone)
    return f"since {begun}" if fill.ended_us is None else f"{begun} to {day_shown(fill.ended_us, zone)}"


def time_in_cask(fill: "CaskFill", until_us: int, zone: "tzinfo") -> str:
    """How long it lay in this cask, in years and days of the calendar."""
    ended_us = max(fill.begun_us, until_us if fill.ended_us is None else fill.ended_us)
    stay = WoodTime(ended_us - fill.begun_us, ended_us, (Stay(fill.begun_us, ended_us),))
    return age_text(age_of(stay, zone))


def lost_words(loss: "Evaporation | None", mark: str) -> str:
    """What a year took, by the gauges of a fill, ± at 95 %."""
    if loss is None:
        return NOT_GAUGED
    said = f"{give_or_take(loss.loss_volume(), mark, 100)} % of its volume"
    if (alcohol := loss.loss_alcohol()) is not None:
        said += f" and {give_or_take(alcohol, mark, 100)} % of its pure alcohol"
    return said


def lost_so_far(fill: "CaskFill", mark: str) -> str:
    """What gauges found gone and what was recorded as lost."""
    return f"{shown(float(lpa_l(fill.lost_ethanol_mg)), 3, mark)} LPA"


def amount_words(liquid: "Liquid", mark: str) -> str:
    """A volume at 20 °C, and its strength."""
    return f"{in_litres(volume_ml(liquid), mark)} at 20 °C, {strength_shown(strength_20c(liquid), mark)} % vol"


def thought_of(gave: "Gave", mark: str) -> str:
    """What was thought of what a fill gave to: whether approved; score and liking by mean, with how many tasted.

    Where notes give neither, that there are some.
    """
    said: list[str] = [] if gave.approval == "not approved" else [gave.approval]
    if gave.opinion is not None:
        told = (("score", gave.opinion.score), ("liking", gave.opinion.liking))
        means = [f"{name} {mean_words(mean, mark)}" for name, mean in told if mean]
        said += means or ["notes without a score"]
    return ", ".join(said)


def source_words(poured: "Sequence[Poured]") -> str:
    """What was filled in, each spirit once, or that nobody recorded it."""
    if not poured:
        return "found by a gauge; no pour is recorded"
    return ", ".join(dict.fromkeys(one.spirit or one.source for one in poured))
