"""Casks that a plan may choose from."""

from collections.abc import Mapping
from typing import NamedTuple

__all__ = ["Cask"]


class Cask(NamedTuple):
    """What may be taken from a cask, and what that costs.

    Attributes:
        ref: by which it is told from all others.
        component: which of the recipe's it is.
        volume_l: what it gives, litres at 20 °C.
        strength_vol: % vol at 20 °C.
        wood_days: days in wood; None is unknown.
        cost_per_lpa: of a litre of pure alcohol; None where it is not known.
        hold: why it is on hold; empty for none.
        place: where it lies.
        shifts: casks to shift before it can be reached.
        attributes: what notes say of it, by attribute; absent is unknown.
    """

    ref: str
    component: str
    volume_l: float
    strength_vol: float
    wood_days: int | None = None
    cost_per_lpa: float | None = None
    hold: str = ""
    place: str = ""
    shifts: float = 0.0
    attributes: Mapping[str, float] = {}

    @property
    def pure_alcohol_l(self) -> float:
        """Litres of pure alcohol at 20 °C in all that it gives."""
        return self.volume_l * self.strength_vol / 100.0
