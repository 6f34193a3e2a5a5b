"""A blend beside the house's rules: as it was poured, while it is poured, and as a batch is planned."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from pourbook.bench.house_rules import BlendPart, Broken, HouseRules, broken
from pourbook.bench.trials import WATER
from pourbook.book.components import house_rules
from pourbook.errors import PourbookError
from pourbook.queries.traces.behind import BLENDS, Part, parts_of
from pourbook.queries.trials.bounds_kept import Bounded, bounds_followed

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.queries.trials.trial_plan import RecipeCard

__all__ = ["rules_kept", "rules_of_parts", "rules_of_recipe"]


def rules_kept(book: "BookCore", item: str, at_us: int | None = None, planned_ml: float = 0.0) -> tuple[Broken, ...]:
    """Every rule of the house that a blend breaks, as it was poured; of `planned_ml` while it is poured (`broken`)."""
    if not house_rules(book.store).are_any:
        return ()
    try:
        parts = parts_of(book.store, item, BLENDS, at_us)
    except PourbookError:
        return ()  # nothing was poured
    return rules_of_parts(book, bounds_followed(book, item), parts, planned_ml)


def rules_of_parts(
    book: "BookCore", followed: Bounded | None, parts: Iterable[Part], planned_ml: float = 0.0
) -> tuple[Broken, ...]:
    """The same of parts that were or will be poured, by the recipe that they follow."""

    def part_of_blend(part: Part) -> BlendPart:
        name, role = followed.told(book.store, part) if followed else (part.source, "")
        return BlendPart(name, role, part.volume_ml)

    blend = [part_of_blend(part) for part in parts if part.source != WATER]
    return broken(house_rules(book.store), blend, planned_ml)


def rules_of_recipe(book: "BookCore", card: "RecipeCard") -> tuple[HouseRules, tuple[Broken, ...]]:
    """The rules of the house, and those that a blend just as the recipe says would break."""
    rules, parts = house_rules(book.store), {one.component: one for one in card.recipe.parts}

    def part_of_blend(component: str, fraction: float) -> BlendPart:
        part = parts[component]
        name = part.stands_for or component
        role = part.role or (rules.kinds[name].role if name in rules.kinds else "")
        return BlendPart(name, role, fraction)

    fractions = card.volumes or card.fractions
    return rules, broken(rules, [part_of_blend(one, float(part)) for one, part in fractions.items() if one != WATER])
