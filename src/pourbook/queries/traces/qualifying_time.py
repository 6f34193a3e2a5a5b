"""Which part of a time in wood counts by the house's rule (`lineage.age_rules`), and which casks do not count."""

from collections.abc import Collection, Mapping
from typing import NamedTuple

from pourbook.book.items import facts, first_facts
from pourbook.book.lineages import casks_in, first_use_in
from pourbook.book.settings import settings
from pourbook.book.store import Store
from pourbook.codes.identifiers import of_key
from pourbook.lineage.age_rules import AGE_RULES, AgeRule, Vessel, why_not
from pourbook.lineage.ages import WoodTime, wood_ages, wood_times
from pourbook.lineage.graph import Lineage
from pourbook.numerals import read_decimal

__all__ = ["NotCounted", "Qualifying", "qualifying"]


class NotCounted(NamedTuple):
    """A cask in which spirit lay that does not count, and why."""

    id: str
    why: str


class Qualifying(NamedTuple):
    """Time in wood that counts by a rule.

    Attributes:
        rule: of the house.
        youngest: of the youngest spirit; None is unknown.
        times: the same of every origin, by its line.
        not_counted: casks of the lineage that do not count.
    """

    rule: AgeRule
    youngest: WoodTime | None
    times: Mapping[int, WoodTime | None]
    not_counted: tuple[NotCounted, ...]


def qualifying(
    store: Store, lineage: Lineage, start: int, earned_us: Mapping[int, int | None], at_us: int
) -> Qualifying | None:
    """Time in wood in a state, as far as it counts by the house's rule; None where the house has none."""
    rule = AGE_RULES.get(settings(store)["age_rule"])
    if rule is None:
        return None
    casks = casks_in(lineage)
    reasons = _reasons(store, lineage, rule, casks)
    counting = casks - reasons.keys()
    return Qualifying(
        rule,
        wood_ages(lineage, start, in_wood=counting, earned_us=earned_us, at_us=at_us).youngest,
        wood_times(lineage, start, in_wood=counting, earned_us=earned_us, at_us=at_us),
        tuple(sorted({NotCounted(of_key(lineage.item_of[state]), why) for state, why in reasons.items()})),
    )


def _reasons(store: Store, lineage: Lineage, rule: AgeRule, casks: Collection[int]) -> dict[int, str]:
    """States in casks that do not count, and why.

    By what was recorded of the cask when it was filled; of wood and capacity, else by what was first recorded since.
    """
    fresh = first_use_in(store, lineage, casks) if rule.new else frozenset(casks)
    reasons = {}
    for state in casks:
        item, inflows = lineage.item_of[state], lineage.inflows[state]
        filled_us = min(flow.happened_us for flow in inflows) if inflows else None
        then, first = facts(store, item, filled_us), first_facts(store, item)
        capacity = then.get("capacity_l") or first.get("capacity_l")
        vessel = Vessel(
            then.get("wood") or first.get("wood", ""),
            float(read_decimal(capacity)) if capacity else None,
            then.get("previous", ""),
        )
        if why := why_not(rule, vessel, first_use=state in fresh):
            reasons[state] = why
    return reasons
