"""Traces shown: where it came from or went to, its age, every pour on the way, and how a share comes about."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.consignments import recipient, sender
from pourbook.documents.items import named_document, view_document, view_words
from pourbook.documents.shown import Shown, fields, listed, site_column
from pourbook.lineage.ages import age_of
from pourbook.numerals import counted, shown
from pourbook.times import DAY_US, written
from pourbook.words.figure_words import PENDING, age_text, named, percent, strength_shown

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.house_style import HouseStyle
    from pourbook.lineage.ages import WoodTime
    from pourbook.queries.traces.qualifying_time import Qualifying
    from pourbook.queries.traces.trace_answer import ItemShare, OriginShare, Trace, TracedPour
    from pourbook.queries.traces.why import Reason, ReasonStep, ReasonTerm

__all__ = ["trace_shown", "why_shown"]

_UNIT = {"alcohol": "mg of pure ethanol", "mass": "mg", "volume": "ml at 20 °C before contraction"}


def trace_shown(trace: "Trace", style: "HouseStyle", *, pours: bool = False, at_us: int | None = None) -> Shown:
    """A trace, back or forward; `pours` lists every pour on the way for people, `at_us` is None for now."""
    document = _document(trace, style.zone) | ({} if at_us is None else {"at": written(at_us)})
    pending = [origin.entry for origin in trace.origins if origin.pending]
    said = view_words(trace.item, style, pending)
    if at_us is not None:
        said.append(f"  as of {style.time_shown(at_us)}")
    if trace.origins:
        said += ["", f"where it came from (shares by {trace.by})", *_origins(trace.origins, style)]
    back = trace.direction == "back"
    said += ["", "what went into it" if back else "what it went into", *_items(trace, style.mark)]
    if left := _left_the_house(trace, style):
        said += ["", "what left the house", *left]
    if back:
        said += ["", *_age(trace, style), *_qualifying(trace.qualifying, style)]
    if pours:
        said += ["", *_pours(trace.pours, style)]
    return Shown(document, tuple(said))


def _origins(origins: "Sequence[OriginShare]", style: "HouseStyle") -> tuple[str, ...]:
    return listed(
        origins,
        (" entry", lambda one: one.entry),
        ("origin", _named_origin),
        ("into", lambda one: hyphened(one.into)),
        ("when", lambda one: style.time_shown(one.happened_us)),
        (" share %", lambda one: percent(one.share, style.mark)),
        (" LPA", lambda one: style.shown(one.pure_alcohol_ml / 1000, 3)),
    )


def _named_origin(one: "OriginShare") -> str:
    """What spirit it was, and who supplied it under which reference and document."""
    told = one.facts
    supplied = " ".join(filter(None, (sender(told), told.get("supplier_ref", ""))))
    said = filter(None, (told.get("spirit") or one.how, supplied, told.get("document", "")))
    return f"{', '.join(said)}{f' {PENDING}' if one.pending else ''}"


def _items(trace: "Trace", mark: str) -> tuple[str, ...]:
    now = (" now %", lambda one: percent(one.share_now, mark))
    return listed(
        trace.items,
        ("item", lambda one: hyphened(one.item.id)),
        ("ref", lambda one: one.item.ref),
        *site_column(trace.items),
        ("what", lambda one: one.item.facts.get("name") or one.item.facts.get("wood") or one.item.kind),
        (" share %", lambda one: percent(one.share, mark)),
        *([now] if trace.direction == "forward" else []),
        (" on hand l", lambda one: shown(one.item.volume_ml_20c / 1000, 3, mark)),
    )


_MOST_DOCUMENTS = 3


def _left_the_house(trace: "Trace", style: "HouseStyle") -> tuple[str, ...]:
    """To which site or customer, out of which item and under which documents; back, nothing did."""
    gone: dict[tuple[str, str], list[TracedPour]] = {}
    for pour in trace.pours if trace.direction == "forward" else ():
        if pour.target == "despatch":
            gone.setdefault((recipient(pour.facts) or "not stated", pour.source), []).append(pour)
    return listed(
        gone.items(),
        ("to", lambda one: one[0][0]),
        ("from", lambda one: hyphened(one[0][1])),
        ("under", lambda one: _documents(one[1])),
        (" l at 20 °C", lambda one: style.shown(sum(pour.volume_ml_20c for pour in one[1]) / 1000, 3)),
    ) if gone else ()  # fmt: skip


def _documents(pours: "Sequence[TracedPour]") -> str:
    known = tuple(dict.fromkeys(filter(None, (str(pour.facts.get("document", "")) for pour in pours))))
    more = len(known) - _MOST_DOCUMENTS
    return ", ".join(known[:_MOST_DOCUMENTS]) + (f" and {more} more" if more > 0 else "")


def _age(trace: "Trace", style: "HouseStyle") -> tuple[str, ...]:
    youngest, mean_us = trace.age
    if youngest is None or mean_us is None:
        return ("time in wood: unknown (no age may be stated)",)
    return (
        f"time in wood: {age_text(age_of(youngest, style.zone))}, of the youngest spirit in it",
        f"  (mean by pure alcohol {counted(round(mean_us / DAY_US), 'day')}, which is not an age statement)",
    )


def _age_document(time: "WoodTime | None", zone: "tzinfo") -> dict[str, int] | None:
    """Completed years and days left over, in house time."""
    found = age_of(time, zone)
    return None if found is None else found._asdict()


def _qualifying_document(trace: "Trace", zone: "tzinfo") -> dict[str, Any] | None:
    found = trace.qualifying
    return found and {
        "rule": found.rule.name,
        "law": found.rule.law,
        "youngest_days": None if found.youngest is None else found.youngest.wood_us / DAY_US,
        "youngest": _age_document(found.youngest, zone),
        "not_counted": [one._asdict() for one in found.not_counted],
    }


def _qualifying(found: "Qualifying | None", style: "HouseStyle") -> tuple[str, ...]:
    """What counts of a time in wood, beside it."""
    if found is None:
        return ()
    years = age_text(age_of(found.youngest, style.zone))
    return (
        f"qualifying time by {found.rule.name}: {years}, of the youngest spirit in it",
        f"  ({found.rule.law})",
        *(f"  not counted: {hyphened(one.id)}, {one.why}" for one in found.not_counted),
    )


def _pours(pours: "Sequence[TracedPour]", style: "HouseStyle") -> tuple[str, ...]:
    return listed(
        pours,
        ("when", lambda pour: style.time_shown(pour.happened_us)),
        (" entry", lambda pour: pour.entry),
        ("from", lambda pour: named(pour.source)),
        ("into", lambda pour: named(pour.target)),
        (" ml at 20 °C", lambda pour: style.shown(pour.volume_ml_20c, 1)),
        (" % vol", lambda pour: strength_shown(pour.strength_20c, style.mark)),
        ("who", lambda pour: pour.who),
        ("as typed", lambda pour: pour.typed),
    )


# -- as a document -----------------------------------------------------------------------


def _document(trace: "Trace", zone: "tzinfo") -> dict[str, Any]:
    refs = {item.item.id: item.item.ref or None for item in trace.items} | {trace.item.id: trace.item.ref or None}
    youngest, mean = trace.age.youngest_us, trace.age.mean_us
    return {
        "item": view_document(trace.item, [origin.entry for origin in trace.origins if origin.pending]),
        "direction": trace.direction,
        "by": trace.by,
        "traced": trace.held._asdict(),
        "origins": [_origin(origin, refs) for origin in trace.origins],
        "items": [_item(item, trace.direction) for item in trace.items],
        "pours": [_pour(pour, refs) for pour in trace.pours],
        "age": {
            "youngest_days": None if youngest is None else youngest / DAY_US,
            "mean_days": None if mean is None else mean / DAY_US,
            "youngest": _age_document(trace.age.youngest, zone),
            "qualifying": _qualifying_document(trace, zone),
        },
        "provisional": [pour.entry for pour in trace.pours if pour.pending],
    }


def _origin(origin: "OriginShare", refs: dict[str, str | None]) -> dict[str, Any]:
    return fields(origin, "line", "how", "pending") | {
        "origin": origin.how,
        "spirit": origin.facts.get("spirit") or (None if origin.how == "origin" else origin.how),
        "into_ref": refs.get(origin.into),
        "entry": origin.entry,
    }


def _item(item: "ItemShare", direction: str) -> dict[str, Any]:
    now = {"share_now": item.share_now} if direction == "forward" else {}
    return named_document(item.item) | {"share": item.share, **now, "on_hand_mg": item.item.holding.mass_mg}


def _pour(pour: "TracedPour", refs: dict[str, str | None]) -> dict[str, Any]:
    return fields(pour, "line", "liquid", "received", "pending") | {
        "source_ref": refs.get(pour.source),
        "target_ref": refs.get(pour.target),
        **pour.liquid._asdict(),
        "volume_ml_20c": pour.volume_ml_20c,
        "strength_20c": pour.strength_20c,
        "received_mass_mg": pour.received.mass_mg,
        "typed": pour.typed or None,
        "entry": pour.entry,
    }


def why_shown(reason: "Reason", style: "HouseStyle") -> Shown:
    """The steps, the last of which gives the share."""
    whole = f"all ever poured into {hyphened(reason.item)}" if reason.ever else hyphened(reason.item)
    share, weights = percent(reason.share, style.mark), f"by {reason.by}; weights in {_UNIT[reason.by]}"
    said = [f"{share} % of {whole} comes from {named(reason.of)} ({weights})"]
    for number, step in enumerate(reason.steps, start=1):
        is_last = number == len(reason.steps)
        said += ["", f"step {number}: {f'{whole}, as traced' if is_last else hyphened(step.item)}", *_step(step, style)]
    return Shown(_why_document(reason), tuple(said))


def _step(step: "ReasonStep", style: "HouseStyle") -> list[str]:
    def exact(figure: float) -> str:
        return str(figure).replace(".", style.mark)

    def part(term: "ReasonTerm") -> str:
        return exact(term.part) if term.step else "1"

    terms = listed(
        step.terms,
        (" entry", lambda term: term.entry),
        ("when", lambda term: style.time_shown(term.happened_us)),
        ("from", lambda term: "left in it before" if term.source == step.item else named(term.source)),
        (" weight", lambda term: exact(term.weight)),
        (" part", part),
        ("how much of it", lambda term: f"by step {term.step}" if term.step else "wholly"),
    )
    sums = " + ".join(f"{exact(term.weight)} × {part(term)}" for term in step.terms)
    return [
        *terms,
        f"  everything else poured in: {exact(step.rest)}; total: {exact(step.total)}",
        f"  ({sums}) / {exact(step.total)} = {exact(step.part)}",
    ]


def _why_document(reason: "Reason") -> dict[str, Any]:
    return {
        **fields(reason, "ever", "steps"),
        "of_all_ever_poured": reason.ever,
        "unit": _UNIT[reason.by],
        "steps": [
            fields(step)
            | {"terms": [fields(one, "source") | {"from": one.source, "step": one.step or None} for one in step.terms]}
            for step in reason.steps
        ],
    }
