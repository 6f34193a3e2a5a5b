"""Casks that are to come."""

from typing import NamedTuple

from pourbook.planning.casks import Cask

__all__ = ["PlannedFilling"]


class PlannedFilling(NamedTuple):
    """A cask that is to be filled, or bought, in so many years; its `wood_days` are those that it brings."""

    cask: Cask
    in_years: float
