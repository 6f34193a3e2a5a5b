"""Answers of the book as JSON documents: the outside contract, in one place.

Identifiers carry no hyphens, numbers are never rounded for looks, an amount is in mg and a time
in UTC.
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import plain
from pourbook.times import DAY_US, written

if TYPE_CHECKING:
    from pourbook.book.items import ItemView, LedgerRow
    from pourbook.queries.traces.trace_answer import ItemShare, OriginShare, Trace, TracedPour

__all__ = ["facts_document", "ledger_document", "trace_document", "view_document"]


def view_document(view: "ItemView", awaited: Sequence[int] = ()) -> dict[str, Any]:
    """An item and what it holds; `awaited` are entries whose strengths the laboratory has still to read."""
    holding = view.holding
    return {
        "id": view.id,
        "ref": view.ref or None,
        "kind": view.kind,
        "name": view.facts.get("name"),
        "place": view.facts.get("place"),
        "mass_mg": holding.mass_mg,
        "ethanol_mg": holding.ethanol_mg,
        "extract_mg": holding.extract_mg,
        "volume_ml_20c": view.volume_ml_20c,
        "strength_20c": view.strength_20c,
        "pure_alcohol_ml": view.pure_alcohol_ml,
        "awaited": list(awaited),
        "facts": facts_document(view.facts),
    }


def facts_document(facts: Mapping[str, str]) -> dict[str, str]:
    """Facts; the identifiers among their values (what it follows, what it was revised from) without hyphens."""
    return {name: plain(value) for name, value in facts.items()}


def ledger_document(row: "LedgerRow") -> dict[str, Any]:
    """An item after a line that touched it."""
    return {
        "happened": written(row.happened_us),
        "entry": row.entry,
        "mass_mg": row.holding.mass_mg,
        "ethanol_mg": row.holding.ethanol_mg,
        "extract_mg": row.holding.extract_mg,
        "volume_ml_20c": row.volume_ml_20c,
        "strength_20c": row.strength_20c,
    }


def trace_document(trace: "Trace") -> dict[str, Any]:
    """A trace, back or forward."""
    refs = {item.item.id: item.item.ref or None for item in trace.items} | {trace.item.id: trace.item.ref or None}
    youngest, mean = trace.age.youngest_us, trace.age.mean_us
    return {
        "item": view_document(trace.item, [origin.entry for origin in trace.origins if origin.awaited]),
        "direction": trace.direction,
        "by": trace.by,
        "traced": trace.held._asdict(),
        "origins": [_origin(origin, refs) for origin in trace.origins],
        "items": [_item(item, trace.direction) for item in trace.items],
        "pours": [_pour(pour, refs) for pour in trace.pours],
        "age": {
            "youngest_days": None if youngest is None else youngest / DAY_US,
            "mean_days": None if mean is None else mean / DAY_US,
        },
        "provisional": [pour.entry for pour in trace.pours if "awaited" in pour.facts],
    }


def _origin(origin: "OriginShare", refs: dict[str, str | None]) -> dict[str, Any]:
    return {
        "origin": origin.how,
        "spirit": origin.facts.get("spirit") or (None if origin.how == "origin" else origin.how),
        "share": origin.share,
        "ethanol_mg": origin.ethanol_mg,
        "mass_mg": origin.mass_mg,
        "happened": written(origin.happened_us),
        "into": origin.into,
        "into_ref": refs.get(origin.into),
        "entry": origin.entry,
        "facts": origin.facts,
    }


def _item(item: "ItemShare", direction: str) -> dict[str, Any]:
    view = item.item
    document: dict[str, Any] = {
        "id": view.id,
        "ref": view.ref or None,
        "kind": view.kind,
        "share": item.share,
    }
    if direction == "forward":
        document["share_now"] = item.share_now
    return document | {
        "on_hand_mg": view.holding.mass_mg,
        "name": view.facts.get("name"),
        "place": view.facts.get("place"),
        "facts": facts_document(view.facts),
    }


def _pour(pour: "TracedPour", refs: dict[str, str | None]) -> dict[str, Any]:
    return {
        "source": pour.source,
        "source_ref": refs.get(pour.source),
        "target": pour.target,
        "target_ref": refs.get(pour.target),
        "mass_mg": pour.liquid.mass_mg,
        "ethanol_mg": pour.liquid.ethanol_mg,
        "extract_mg": pour.liquid.extract_mg,
        "volume_ml_20c": pour.volume_ml_20c,
        "strength_20c": pour.strength_20c,
        "received_mass_mg": pour.received.mass_mg,
        "happened": written(pour.happened_us),
        "by": pour.who,
        "verb": pour.verb,
        "typed": pour.typed or None,
        "entry": pour.entry,
        "part": pour.part,
        "facts": pour.facts,
    }
