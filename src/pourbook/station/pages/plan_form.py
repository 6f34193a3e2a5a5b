"""The form of a plan: what was typed, as what is asked of the planner."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from pourbook.errors import Malformed, OutOfRange
from pourbook.queries.plans.candidates import DESPITE
from pourbook.queries.plans.limits_table import LimitsTable
from pourbook.queries.plans.typed import AIMS, asked_typed

if TYPE_CHECKING:
    from pourbook.queries.plans.asked import PlanAsked
    from pourbook.station.visit import Visit

__all__ = ["MOST_SECONDS", "asked_in", "blend_in", "counted_in", "seconds_in"]

MOST_SECONDS = 300
"""How long a plan may be sought."""

_TEXTS = (
    "final", "losses", "to_strength", "within", "tolerance", "least_left", "least_taken", "vat", "least_strength",
    "spirit", "wood", "previous", "place", "age", "on_day",
)  # fmt: skip
_COUNTS = (
    "most_casks", "most_part_casks", "casks_of_each", "least_age", "near_years", "gauged_within",
)  # fmt: skip
_MOST_COUNT = 100_000


def blend_in(visit: "Visit") -> str:
    """What is planned: a recipe, trial, batch or lot."""
    return visit.needed("what", visit.gettext("Recipe, trial or batch"))


def seconds_in(visit: "Visit") -> float:
    """How long it may be sought."""
    seconds = float(visit.style.number(visit.typed("seconds") or "60"))
    if not 0 < seconds <= MOST_SECONDS:
        raise OutOfRange(f"a plan is sought for no more than {MOST_SECONDS} s", "give seconds above zero")
    return seconds


def asked_in(visit: "Visit") -> "PlanAsked":
    """What a form asks of a plan.

    Raises:
        PourbookError: something of it cannot be read, or cannot be asked.
    """
    typed: dict[str, Any] = {name: text for name in _TEXTS if (text := visit.typed(name))}
    typed |= {name: counted_in(visit, name) for name in _COUNTS if visit.typed(name)}
    typed["bottles"] = _several(visit, "bottles", ";")
    typed["only"], typed["without"] = _several(visit, "only", ","), _several(visit, "without", ",")
    typed["despite"] = tuple(visit.forms.get("despite", ()))
    if unknown := [one for one in typed["despite"] if one not in DESPITE]:
        raise Malformed(f"'{unknown[0][:40]}' is nothing to overlook", f"tick one of: {', '.join(DESPITE)}")
    typed["aims"] = tuple(f"{name}={text}" for name in AIMS if (text := visit.typed(f"aim_{name}")))
    if batch := visit.typed("heel"):
        typed["heel"] = (batch, visit.typed("heel_amount") or "all")
    return asked_typed(visit.style, typed, LimitsTable(attributes=_words(visit)))


def counted_in(visit: "Visit", name: str) -> int:
    """A whole number that was typed."""
    text = visit.typed(name)
    if not (text.isascii() and text.isdecimal()) or len(text) > 9 or int(text) > _MOST_COUNT:
        raise Malformed(f"'{text[:40]}' is no whole number", "write it in digits, such as 9")
    return int(text)


def _several(visit: "Visit", name: str, between: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in visit.typed(name).split(between) if part.strip())


def _words(visit: "Visit") -> Mapping[str, Any]:
    """Words of notes with a range of their mean: `quince 2..4; smoke ..1`."""
    from pourbook.planning.recipe import Band

    found = {}
    for text in _several(visit, "words", ";"):
        word, _, ends = text.rpartition(" ")
        if not word:
            raise Malformed(f"'{text}' is no word of a note with a range", "write it like: quince 2..4; smoke ..1")
        low, high = visit.style.between(ends)
        found[word.strip()] = Band(None, low if low > 0 else None, high if high <= 1000 else None)
    return found
