"""The areas of the station, and all that they answer to."""

from collections.abc import Iterator
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pourbook.station.routing import Way

__all__ = ["AREAS", "ways"]

AREAS = (
    "files", "signing", "home", "people", "items", "deeds", "entering", "drawing", "sampling", "labels", "printers",
    "casks", "warehouse", "pouring", "weighing", "trials", "tried", "recipes", "tasting", "sessions", "guests",
    "guest_home", "blendings", "trace", "dossier", "batches", "plans", "jobs", "reducing", "bottling", "packing",
    "scanning", "pulling", "approvals", "leaving", "ahead", "journal", "safekeeping", "recalls", "account",
    "scaling",
)  # fmt: skip
"""Modules of this room with routes, in the order in which addresses are tried."""


def ways() -> "Iterator[Way]":
    """Every route of the station."""
    for area in AREAS:
        yield from import_module(f"pourbook.station.pages.{area}").routes
