"""What a cask may have lost to air and wood since it was last measured, by the house's figure and its own past."""

from collections.abc import Collection
from math import exp, log1p
from typing import TYPE_CHECKING

from pourbook.book.fillings import fillings
from pourbook.book.settings import settings
from pourbook.errors import Refused
from pourbook.gauging.evaporation import YEAR_US, evaporation

if TYPE_CHECKING:
    from pourbook.book.last_measured import Measured
    from pourbook.book.store import Store

__all__ = ["SOAKED", "part_lost"]

SOAKED = 0.03
"""Part of a filling that dry wood drinks: common practice, no source."""

_SURE = 0.99


def part_lost(store: "Store", cask: int, since: "Measured | None", at_us: int, without: Collection[int] = ()) -> float:
    """The part of its contents that a cask (its key) may have lost by a moment.

    A setting of the house bounds it; the cask's own gauges, but those of the entries `without`, may narrow that.
    """
    if since is None:
        return 0.0
    years = max(0.0, (at_us - since.happened_us) / YEAR_US)
    own = _own(store, cask, at_us, without)
    most = float(settings(store)["cask_loss"]) / 100.0
    yearly = most if own is None else min(own, most)
    kept = (1.0 - SOAKED if since.was_filled else 1.0) * exp(years * log1p(-yearly))
    return 1.0 - kept


def _own(store: "Store", cask: int, at_us: int, without: Collection[int]) -> float | None:
    """The most that the cask loses in a year by its gauges so far; None where they are too few or too near."""
    known = fillings(store, [cask], at_us)[cask]
    if not known or not known[-1].is_open:
        return None
    try:
        found = evaporation([one for one in known[-1].readings if one.entry not in without])
    except Refused:
        return None
    return max(0.0, found.loss_volume(_SURE).high)
