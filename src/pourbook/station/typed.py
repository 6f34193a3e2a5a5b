"""What was typed into the fields of a form, read as the house writes it."""

from typing import TYPE_CHECKING

from pourbook.actions.movement import Status, told

if TYPE_CHECKING:
    from pourbook.actions.casks import Filling
    from pourbook.gauging.what_was_read import WhatWasRead
    from pourbook.quantities import Amount, Strength
    from pourbook.station.visit import Visit

__all__ = [
    "amount_typed", "celsius_typed", "facts_typed", "filling_typed", "readings_typed", "status_typed", "strength_typed",
    "with_unit",
]  # fmt: skip

_OF_A_FILLING = (
    "spirit", "distiller", "distilled", "supplier", "supplier_ref", "document", "carrier", "in_wood", "cost",
    "from_site",
)  # fmt: skip


def amount_typed(visit: "Visit", field: str, unit: str | None = None, *, allow_zero: bool = False) -> "Amount | None":
    """An amount; None where the field was left empty."""
    text = visit.typed(field)
    return visit.style.amount(text, unit, allow_zero=allow_zero) if text else None


def strength_typed(visit: "Visit", field: str = "strength") -> "Strength | None":
    """A strength; None where the field was left empty."""
    text = visit.typed(field)
    return visit.style.strength(text) if text else None


def celsius_typed(visit: "Visit", field: str = "temperature") -> float:
    """A temperature in °C; 20 where the field was left empty."""
    return visit.style.celsius(visit.typed(field) or None)


def facts_typed(visit: "Visit", *names: str) -> dict[str, str]:
    """Facts by the fields of the same names; those left empty are left out."""
    return told({name: visit.typed(name) for name in names})


def status_typed(visit: "Visit") -> Status:
    """Owner and duty status, as far as they were typed."""
    return Status(visit.typed("owner") or None, visit.typed("duty") or None)


def filling_typed(visit: "Visit") -> "Filling":
    """Spirit from outside, by the fields of `items/_forms.html`.

    Raises:
        Malformed: no amount, or a figure that is none.
    """
    from pourbook.actions.casks import Filling

    amount = visit.style.amount(visit.needed("amount", visit.gettext("Amount")))
    is_pending = bool(visit.typed("pending"))
    return Filling(amount, strength_typed(visit), celsius_typed(visit), is_pending, facts_typed(visit, *_OF_A_FILLING))


def readings_typed(visit: "Visit") -> "WhatWasRead":
    """What instruments showed, by the fields of `items/_forms.html`; weights are in kg, meters show volumes."""
    from pourbook.gauging.what_was_read import WhatWasRead

    style = visit.style
    return WhatWasRead(
        amount_typed(visit, "amount", allow_zero=True),
        amount_typed(visit, "gross", "kg"),
        amount_typed(visit, "tare", "kg"),
        meter=amount_typed(visit, "meter"),
        meter_start=amount_typed(visit, "meter_start", allow_zero=True),
        dip=style.kept(visit.typed("dip") or None),
        vessel=visit.typed("vessel") or None,
        true=strength_typed(visit),
        hydrometer=strength_typed(visit, "hydrometer"),
        density=style.kept(visit.typed("density") or None),
        sample_c=celsius_typed(visit, "sample_temperature") if visit.typed("sample_temperature") else None,
        extract=visit.typed("extract") or None,
        temperature_c=celsius_typed(visit),
    )


def with_unit(text: str, unit: str) -> str:
    """An amount as it was typed; a bare number has that unit.

    >>> with_unit("75", "ml"), with_unit("2 cl", "ml")
    ('75 ml', '2 cl')
    """
    return f"{text} {unit}" if text[-1:].isdecimal() else text
