"""The rows of a dossier that follow the liquid: origins, items, pours, gauges, additions, ages.

Each function makes its rows from a `History`, in printing order.
"""

from collections.abc import Mapping
from typing import Any

from pourbook.alcoholometry.volumes import lpa_l, strength_20c, volume_ml
from pourbook.book.contents import LINES
from pourbook.book.gauge_readings import instrument_text, readings
from pourbook.codes.identifiers import of_key
from pourbook.consignments import sender
from pourbook.lineage.ages import age_of
from pourbook.lineage.graph import CARRY, UNEXPLAINED
from pourbook.liquid import Liquid
from pourbook.papers.dossier.dossier_rows import Addition, AgeLine, Gauge, Origin, Pour, UpstreamItem
from pourbook.papers.endpoints import Named
from pourbook.paperwork.lot_history import History
from pourbook.queries.traces.trace_answer import OriginShare, TracedPour
from pourbook.times import day_shown, minute, moment_of

__all__ = ["additions", "age_lines", "gauges", "origins", "pours", "reading", "spirits", "upstream_items"]

_ADDED = ("water", "additive")
_SPIRIT_UNNAMED = {"origin": "spirit, not named", UNEXPLAINED: "regauge gain, unexplained"}


def spirits(history: History) -> list[OriginShare]:
    """The origins but for water and what has no spirit in it."""
    return [origin for origin in history.trace.origins if origin.how not in _ADDED or origin.share > 0]


def _spirit(origin: OriginShare) -> str:
    return str(origin.facts.get("spirit") or _SPIRIT_UNNAMED.get(origin.how, origin.how))


def origins(history: History, pure_l: float) -> list[Origin]:
    """Where the spirit came from that is in the lot, of so many litres of pure alcohol."""
    taken_in = {flow.line: flow for flow in history.inflows if not flow.source}
    return [
        Origin(
            _spirit(origin),
            str(origin.facts.get("distiller", "")),
            history.named(origin.into),
            minute(origin.happened_us, history.zone),
            taken_in[origin.line].mass_mg,
            lpa_l(taken_in[origin.line].ethanol_mg),
            origin.share,
            _supplier(history, origin),
            str(origin.facts.get("document", "")),
            str(origin.facts.get("carrier", "")),
            origin.share * pure_l,
        )
        for origin in spirits(history)
    ]


def _supplier(history: History, origin: OriginShare) -> str:
    """Who delivered it, and from which site; and the house whose document it came with."""
    view = history.views.get(origin.into)
    told = (sender(origin.facts), view.facts.get("epcis_sender") if view else "")
    return ", ".join(dict.fromkeys(str(name) for name in told if name))


def upstream_items(history: History) -> list[UpstreamItem]:
    """Every item some of the lot was once in, kind by kind."""
    return [
        UpstreamItem(
            other.item.kind,
            Named(history.named(other.item.id).id, other.item.facts.get("name", "")),
            other.item.ref,
            other.item.facts.get("wood", ""),
            other.share,
            other.item.volume_ml_20c / 1000,
            lpa_l(other.item.holding.ethanol_mg),
        )
        for other in history.trace.items
    ]


def pours(history: History) -> list[Pour]:
    """Every pour on the way."""
    return [
        Pour(
            pour.entry,
            minute(pour.happened_us, history.zone),
            _outside(pour.source, pour.facts) or history.named(pour.source),
            history.named(pour.target),
            pour.volume_ml_20c / 1000,
            None if pour.pending else pour.strength_20c,
            lpa_l(pour.liquid.ethanol_mg),
            pour.liquid.mass_mg,
            history.who(pour.who),
            _recorded(history, pour),
        )
        for pour in history.trace.pours
    ]


def _recorded(history: History, pour: TracedPour) -> str:
    """The day on which a pour was recorded; nothing where it was that of the pour."""
    day = day_shown(moment_of(history.journal[pour.entry]["recorded"]), history.zone)
    return "" if day == day_shown(pour.happened_us, history.zone) else day


def _outside(source: str, facts: dict[str, Any]) -> Named | None:
    """What came from outside, by what it is."""
    said = facts.get("spirit") if source == "origin" else facts.get("about") if source in _ADDED else None
    return Named("", f"{source}: {said}") if said else None


def gauges(history: History) -> list[Gauge]:
    """Every gauge that set what an item held on the way."""
    found = []
    for state in history.lineage.order:
        for flow in history.lineage.inflows[state]:
            number, liquid = flow.line // LINES, Liquid(*flow[4:])
            if flow.how not in (CARRY, UNEXPLAINED) or history.journal[number]["kind"] != "gauge":
                continue
            entry = history.journal[number]
            row = Gauge(
                number,
                minute(flow.happened_us, history.zone),
                history.named(of_key(history.lineage.item_of[state])),
                reading(entry["body"]),
                volume_ml(liquid) / 1000,
                strength_20c(liquid),
                liquid.mass_mg,
                history.who(entry["who"]),
                "; ".join(instrument_text(one) for one in entry["body"].get("instruments", ())),
            )
            found.append((flow.happened_us, flow.line, row))
    return [row for _, _, row in sorted(found, key=lambda one: one[:2])]


def reading(body: Mapping[str, Any]) -> str:
    """What was read, as it was typed.

    >>> typed = {"amount": "198.5 l", "strength": "61.2 % vol", "temperature": "12 C"}
    >>> reading({"item": "C000001H", "typed": typed})
    '198.5 l, 61.2 % vol, at 12 °C'
    """
    read = readings(body)
    if not read and "mass" in body:
        read = [f"{body['mass'] / 1e6:g} kg"]
    return ", ".join(read)


def additions(history: History) -> list[Addition]:
    """Water and additives."""
    return [
        Addition(
            pour.entry,
            minute(pour.happened_us, history.zone),
            str(pour.facts.get("about") or pour.source),
            str(pour.facts.get("batch") or pour.facts.get("document", "")),
            history.named(pour.target),
            pour.liquid.mass_mg,
            history.who(pour.who),
        )
        for pour in history.trace.pours
        if pour.source in _ADDED
    ]


def age_lines(history: History) -> list[AgeLine]:
    """How long the spirit of each origin lay in wood, and how much of that counts."""
    counting = history.trace.qualifying
    return [
        AgeLine(
            _spirit(origin),
            history.named(origin.into),
            str(origin.facts.get("distilled", "")),
            age_of(history.wood.get(origin.line), history.zone),
            age_of(counting.times.get(origin.line), history.zone) if counting else None,
            counting.rule.name if counting else "",
            origin.share,
        )
        for origin in spirits(history)
        if origin.how not in _ADDED
    ]
