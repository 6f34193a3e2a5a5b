"""What a blend costs and how old it is, as the command says it."""

from typing import TYPE_CHECKING, Any

from pourbook.cli.door import Door
from pourbook.numerals import shown
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from pourbook.queries.traces.blend import Blend

__all__ = ["blend_document", "blend_words"]


def blend_words(door: Door, blend: "Blend") -> str:
    """Cost per litre, and age of the youngest spirit."""
    from pourbook.words.wood_time_words import age_words

    cost, currency = blend.told.cost_per_litre, door.settings["currency"]
    paid = (
        f"{shown(cost, 2, door.decimal_mark)} {currency} a litre before evaporation"
        if cost is not None
        else "cost unknown"
    )
    age = age_words(door.book, blend)
    return ", ".join((paid, f"youngest {age} in wood" if age else "wood age unknown"))


def blend_document(door: Door, blend: "Blend") -> dict[str, Any]:
    """The same as JSON; what is not known is null."""
    youngest_us = blend.told.youngest_us
    return {
        "cost_per_litre": blend.told.cost_per_litre,
        "currency": door.settings["currency"],
        "youngest_days": None if youngest_us is None else youngest_us / DAY_US,
    }
