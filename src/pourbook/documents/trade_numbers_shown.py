"""What a lot is known by outside: its GTINs, and the serial numbers of its cases and pallets."""

from typing import TYPE_CHECKING

from pourbook.codes.identifiers import hyphened
from pourbook.documents.recorded_shown import recorded_shown

if TYPE_CHECKING:
    from pourbook.actions.trade_numbers import GtinSet, UnitsNumbered
    from pourbook.documents.shown import Shown
    from pourbook.house_style import HouseStyle

__all__ = ["gtin_shown", "units_shown"]


def gtin_shown(given: "GtinSet", style: "HouseStyle") -> "Shown":
    """The GTINs that a lot was given."""
    names = {"gtin": "GTIN", "case_gtin": "case GTIN"}
    said = f"{hyphened(given.id)}: {', '.join(f'{names[name]} {gtin}' for name, gtin in given.facts.items())}"
    return recorded_shown(given.recorded, {"id": given.id, **given.facts}, (said,), style)


def units_shown(numbered: "UnitsNumbered", style: "HouseStyle") -> "Shown":
    """The serial numbers of cases or pallets, one a line."""
    facts = {
        "id": numbered.id, "ssccs": list(numbered.ssccs), "unit": numbered.unit, "bottles": numbered.bottles,
        "cases": numbered.cases or None,
    }  # fmt: skip
    shown = recorded_shown(numbered.recorded, facts, numbered.ssccs, style)
    if numbered.filled is None or numbered.packed <= numbered.filled:
        return shown
    note = f"note: {numbered.unit}s of {numbered.packed} bottles are numbered; the lot has {numbered.filled}"
    return shown._replace(notes=(note, *shown.notes))
