"""An account in words: its period, whether it is closed, what was declared of it.

>>> from pourbook.times import house_zone, read_time
>>> zone = house_zone("Europe/London")
>>> period_text(read_time("2025-04-01", zone), read_time("2025-07-01", zone), zone)
'2025-04-01/2025-06-30'
>>> period_text(read_time("2025-04-01", zone), read_time("2025-07-01 12:30", zone), zone)
'2025-04-01T00:00/2025-07-01T12:30'
"""

from typing import TYPE_CHECKING

from pourbook.times import day_shown, minute

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.queries.accounts.account import Account
    from pourbook.queries.accounts.declared import Declaration

__all__ = ["CAUTION", "NOT_THE_RETURN", "SIDES", "declared_text", "period_text", "status_of"]

CAUTION = "working figures: legal gauge, label and duty return follow the local authority and licensed practice"
"""Stands beside figures that are declared."""

SIDES = {
    "opening": "opening",
    "adjustment": "prior-period adjustment",
    "in": "in",
    "gain": "gains",
    "out": "out",
    "loss": "losses",
    "contraction": "contraction",
    "closing": "closing",
}
"""Sides of an account as they are read."""

NOT_THE_RETURN = (
    "A working account drawn from the book of the house. It is not the return itself: that is made in the form, "
    "by the measures and under the rules of the authority, from gauges that it recognises."
)

_MIDNIGHT = "00:00"


def period_text(start_us: int, end_us: int, zone: "tzinfo") -> str:
    """A period as an interval of ISO 8601: first and last day, or moments where it is not of whole days."""
    begins, ends = minute(start_us, zone), minute(end_us, zone)
    if begins.endswith(_MIDNIGHT) and ends.endswith(_MIDNIGHT):
        return f"{day_shown(start_us, zone)}/{day_shown(end_us - 1, zone)}"
    return f"{begins}/{ends}".replace(" ", "T")


def status_of(account: "Account") -> str:
    """Whether the period is closed."""
    if account.closed_by is None:
        return "open: its figures may still change"
    return f"closed by entry {account.closed_by}"


def declared_text(declaration: "Declaration", zone: "tzinfo") -> str:
    """What was declared, when, by whom and how rounded."""
    amends = f", amending entry {declaration.amends}" if declaration.amends else ""
    when = minute(declaration.happened_us, zone)
    return f"entry {declaration.entry}, {when}, by {declaration.who}, rounded {declaration.rule} L{amends}"
