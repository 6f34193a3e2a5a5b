"""The lines of an account: on which side a movement stands, and under which heading.

>>> loss_heading({"disposition": "filter"}), loss_heading({"disposition": "destruction", "witness": "officer 7"})
('operating loss', 'destruction with witness')
>>> sorted([("loss", "theft"), ("closing", ""), ("in", "water"), ("loss", "bilge")], key=by_place)
[('in', 'water'), ('loss', 'theft'), ('loss', 'bilge'), ('closing', '')]
"""

from collections.abc import Mapping
from typing import Any, Literal

from pourbook.book.site_numbers import is_consignment
from pourbook.lineage.graph import RETURN
from pourbook.queries.accounts.grouping import kind_at

__all__ = [
    "HEADINGS", "IN_TRANSIT", "SAMPLE", "Side", "by_place", "gain_heading", "gauge_heading", "held_heading",
    "in_heading", "loss_heading", "out_heading", "transfer_heading", "transit_heading",
]  # fmt: skip

Side = Literal["opening", "adjustment", "in", "gain", "out", "loss", "contraction", "closing"]

SAMPLE = "sample"

IN_TRANSIT = "in transit"
"""What a site of a group sent and another has not received: the sender's until it arrives."""

_GAINED, _LOST = "gained in transit", "lost in transit"
"""What another site received more, or less, than was sent."""

HEADINGS: dict[Side, tuple[str, ...]] = {
    "opening": ("", IN_TRANSIT),
    "adjustment": ("",),
    "in": ("received", "from other sites", "water", "additive", "returned", "transfer in"),
    "gain": ("regauge gain", "transfer gain", _GAINED),
    "out": ("despatch", "to other sites", "export", "transfer out"),
    "loss": (
        SAMPLE, "evaporation", "soakage", "leak", "operating loss", _LOST, "theft", "accident",
        "destruction with witness", "destruction without witness", "unexplained", "other", "not stated",
    ),
    "contraction": ("",),
    "closing": ("", IN_TRANSIT),
}  # fmt: skip
"""Every side in the order of an account, with the headings it may have; losses may have further ones."""

_OF_WORD = {
    "tasting": SAMPLE,
    "filter": "operating loss",
    "line": "operating loss",
    "spill": "operating loss",
    "operating": "operating loss",
}
"""Dispositions as they are recorded at the vat, under the heading an account has for them."""

_SIDES = tuple(HEADINGS)


def by_place(line: tuple[Side, str]) -> tuple[int, int, str]:
    """Sorts lines as an account has them; losses of the house's own words come last."""
    side, heading = line
    known = HEADINGS[side]
    return _SIDES.index(side), known.index(heading) if heading in known else len(known), heading


def loss_heading(told: Mapping[str, Any], otherwise: str = "not stated") -> str:
    """The heading of a loss, from what its line says; `otherwise` where no disposition is stated.

    A destruction also needs its `witness` or `document`.
    """
    word = str(told.get("disposition", "")).strip().lower().replace("_", " ")
    if word == "destruction":
        seen = told.get("witness") or told.get("document")
        return "destruction with witness" if seen else "destruction without witness"
    return _OF_WORD.get(word, word) or otherwise


def held_heading(item: int) -> str:
    """The heading of what an item (by its key) holds at the beginning or the end of a period."""
    return IN_TRANSIT if is_consignment(item) else ""


def gain_heading(item: int) -> str:
    """The heading of what a gauge found beyond what the book knew."""
    return _GAINED if is_consignment(item) else "regauge gain"


def gauge_heading(told: Mapping[str, Any], item: int) -> str:
    """The heading of what a gauge found missing: from a cask the air took it, unless its facts say otherwise."""
    if is_consignment(item):
        return _LOST
    kind = kind_at(item)
    return loss_heading(told, "evaporation" if kind == "cask" else "operating loss")


def transfer_heading(*ends: int) -> str:
    """The heading of what arrived in one item beyond what left the other."""
    return _GAINED if any(map(is_consignment, ends)) else "transfer gain"


def transit_heading(told: Mapping[str, Any], *ends: int) -> str:
    """The heading of what left one item and did not arrive in the other."""
    if any(map(is_consignment, ends)):
        return _LOST
    return loss_heading(told, "operating loss")


def in_heading(how: str, told: Mapping[str, Any]) -> str:
    """The heading of what came in from outside, by the word for it (`origin`, `water` …)."""
    if how == "origin":
        return "from other sites" if "from_site" in told else "received"
    return "returned" if how == RETURN else how


def out_heading(told: Mapping[str, Any]) -> str:
    """The heading of what left the house for a customer, or for another site; what leaves the country is export."""
    if str(told.get("disposition", "")).strip().lower() == "export":
        return "export"
    return "to other sites" if "site" in told else "despatch"
