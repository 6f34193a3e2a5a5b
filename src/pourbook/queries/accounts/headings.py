"""The lines of an account: on which side a movement stands, and under which heading.

>>> loss_heading({"disposition": "filter"}), loss_heading({"disposition": "destruction", "witness": "officer 7"})
('operating loss', 'destruction with witness')
>>> sorted([("loss", "theft"), ("closing", ""), ("in", "water"), ("loss", "bilge")], key=by_place)
[('in', 'water'), ('loss', 'theft'), ('loss', 'bilge'), ('closing', '')]
"""

from collections.abc import Mapping
from typing import Any, Literal

from pourbook.lineage.graph import RETURN

__all__ = [
    "HEADINGS", "SAMPLE", "Side", "by_place", "gauge_heading", "in_heading", "loss_heading", "out_heading",
    "transit_heading",
]  # fmt: skip

Side = Literal["opening", "adjustment", "in", "gain", "out", "loss", "contraction", "closing"]

SAMPLE = "sample"

HEADINGS: dict[Side, tuple[str, ...]] = {
    "opening": ("",),
    "adjustment": ("",),
    "in": ("received", "from other sites", "water", "additive", "returned", "transfer in"),
    "gain": ("regauge gain", "transfer gain"),
    "out": ("despatch", "to other sites", "export", "transfer out"),
    "loss": (
        SAMPLE, "evaporation", "soakage", "leak", "operating loss", "theft", "accident",
        "destruction with witness", "destruction without witness", "unexplained", "other", "not stated",
    ),
    "contraction": ("",),
    "closing": ("",),
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


def gauge_heading(told: Mapping[str, Any], kind: str) -> str:
    """The heading of what a gauge found missing: from a cask the air took it, unless its facts say otherwise."""
    return loss_heading(told, "evaporation" if kind == "cask" else "operating loss")


def transit_heading(told: Mapping[str, Any]) -> str:
    """The heading of what left one item and did not arrive in the other."""
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
