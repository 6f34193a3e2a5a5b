"""Why no plan fits: the demands that cannot all be kept, and what would have to be asked instead of each."""

from collections.abc import Callable, Iterator
from math import ceil, floor
from typing import TYPE_CHECKING, Any

from pourbook.documents.shown import Shown, table

if TYPE_CHECKING:
    from pourbook.house_style import HouseStyle
    from pourbook.planning.nearest import Nearest
    from pourbook.planning.why_not import WhyNot

__all__ = ["conflict_words", "nearest_rows", "why_not_document", "why_not_lines", "why_not_shown"]

_WORDS = {
    "target.volume_low_l": "least volume of the batch, l",
    "target.volume_high_l": "most volume of the batch, l",
    "target.strength_20c": "strength of the target, % vol",
    "limits.least_strength_before": "least strength before water, % vol",
    "limits.least_age_years": "least age, years",
    "limits.least_age_days": "least age, days",
    "limits.most_casks": "most casks opened",
    "limits.most_part_casks": "most casks not emptied",
    "limits.least_left_l": "least left in a part cask, l",
    "limits.least_taken_l": "least taken from a part cask, l",
    "limits.vat_l": "vat, l",
    "house.no_component_above": "most of one component, %",
    "house.casks_of_each": "casks of each component",
}
_OF_A_TABLE = {
    ("components", "low"): "least {}, %",
    ("components", "high"): "most {}, %",
    ("attributes", "low"): "least mean of {}",
    ("attributes", "high"): "most mean of {}",
}
_MOST_CASKS_NAMED = 6


def why_not_document(why: "WhyNot", key: str = "ref") -> dict[str, Any]:
    """For programs; `key` is what a cask's name is called there."""
    return {
        "conflict": list(why.conflict.demands),
        "smallest": why.conflict.smallest,
        "nearest": [
            {
                "demand": one.demand,
                "asked": one.asked,
                "needed": one.needed,
                "casks": None
                if one.takes is None
                else [{key: take.ref, "volume_l_20c": take.volume_l, "whole": take.whole} for take in one.takes],
            }
            for one in why.nearest
        ],
    }


def why_not_shown(why: "WhyNot", style: "HouseStyle") -> Shown:
    """Demands in conflict, each with what is asked and what would do, and the casks of that plan."""
    return Shown(why_not_document(why), tuple(why_not_lines(why, style)))


def why_not_lines(why: "WhyNot", style: "HouseStyle", named: Callable[[str], str] = str) -> Iterator[str]:
    """The same for people; `named` says what a cask is called."""
    yield from conflict_words(why)
    if why.conflict.demands:
        yield ""
        yield from table(("demand", "", " asked", " would do alone", "from casks"), nearest_rows(why, style, named))


def conflict_words(why: "WhyNot") -> Iterator[str]:
    """What cannot be kept together, in sentences."""
    if not why.conflict.demands:
        yield "no litre can be taken: no cask that holds any is of these components and free of a hold"
        return
    if len(why.nearest) == 1:
        yield f"this cannot be kept, even alone: {_words(why.nearest[0].demand)}"
    else:
        yield "these cannot all be kept, whatever else is dropped; any one of them dropped, the others can"
    if not why.conflict.smallest:
        yield "time was too short to prove that fewer are not in conflict: give more --seconds"


def nearest_rows(why: "WhyNot", style: "HouseStyle", named: Callable[[str], str] = str) -> list[tuple[str, ...]]:
    """Each demand in conflict: its key, its words, what is asked, what would do alone, and from which casks."""
    return [
        (one.demand, _words(one.demand), _number(one.asked, style), _needed(one, style), _casks(one, named))
        for one in why.nearest
    ]


def _words(demand: str) -> str:
    table_name, *names = demand.split(".")
    return _WORDS.get(demand) or _OF_A_TABLE[table_name, names[-1]].format(".".join(names[:-1]))


def _number(value: float, style: "HouseStyle") -> str:
    return str(value) if isinstance(value, int) else style.shown(value, 3)


def _needed(one: "Nearest", style: "HouseStyle") -> str:
    """To three decimals away from what is asked, so that what is shown will do."""
    if one.needed is None:
        return "no change of it"
    if isinstance(one.needed, int):
        return str(one.needed)
    outward = floor if one.needed < one.asked else ceil
    return style.shown(outward(round(one.needed * 1000.0, 3)) / 1000.0, 3)


def _casks(one: "Nearest", named: Callable[[str], str]) -> str:
    refs = [named(take.ref) for take in one.takes or ()]
    more = f" and {len(refs) - _MOST_CASKS_NAMED} more" if len(refs) > _MOST_CASKS_NAMED else ""
    return ", ".join(refs[:_MOST_CASKS_NAMED]) + more
