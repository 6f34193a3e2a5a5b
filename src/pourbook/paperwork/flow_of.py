"""The flow picture of a trace: its pours summed up between items, or between their fills.

A cask is one place in the picture as long as that is true: once it was emptied and filled again,
or liquid that had left it came back, each of its fills is a place of its own. A fill begins with
the first pour in after a pour out, so every way through the picture follows the time.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, lot = book.next_id("cask"), book.next_id("lot")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400), facts={"spirit": "malt"}),))
>>> entries = (Item(cask, {}), Item(lot, {}), fill, Pour("bottle", (Move(cask, lot, None),)))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [(edge.source, edge.target, round(edge.ml, 3)) for edge in flow_of(book.trace_back(lot)).edges]
[('origin malt ', 'C000001H 1', 0.507), ('C000001H 1', 'L000001C 1', 0.507)]
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.density import ETHANOL_20C_KG_M3
from pourbook.codes.identifiers import hyphened, kind_of
from pourbook.consignments import recipient
from pourbook.lineage.graph import UNEXPLAINED
from pourbook.papers.flow.flow_values import ADDED, Flow, FlowEdge, FlowItem, FlowKind, summed
from pourbook.papers.page import Title
from pourbook.paperwork.imprint import imprint_of_state
from pourbook.queries.traces.gauged_losses import GaugedLoss, gauged_losses
from pourbook.times import house_zone, shown
from pourbook.words.paper_figures import Notation

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.book.core import BookCore
    from pourbook.papers.flow.flow_paper import FlowOnPage
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["flow_of", "flow_picture", "flow_shown"]

_DRY: dict[str, FlowKind] = {kind: kind for kind in ADDED}
_MG_PER_ML = float(ETHANOL_20C_KG_M3)
_GAUGED = "gauged"
"""The word here for the end of what gauges found missing."""
_NOTHING = 1e-9
"""A part of the whole below which nothing stayed in an item: sums of floats do not come out at 0."""


class _Run(NamedTuple):
    """Liquid that moved, as far as it is the traced item's: from where, to where, how much, when."""

    number: int
    source: str
    target: str
    ml: float
    mass_mg: float
    happened_us: int
    kind: FlowKind
    facts: Mapping[str, object]


class _Fill(NamedTuple):
    """One fill of an item, with what came in and what went out, and what stayed for the next."""

    item: str
    number: int
    came: list[_Run]
    went: list[_Run]
    stayed: float = 0.0

    @property
    def key(self) -> str:
        return f"{self.item} {self.number}"


def flow_of(trace: "Trace", zone: "tzinfo | None" = None, lost: Sequence[GaugedLoss] = ()) -> Flow:
    """The picture of a trace by pure alcohol; forward, with what gauges found lost on the way.

    Back, amounts are what of the traced item's alcohol came this way; forward, what of each pour had been in it. The
    zone is for the years of fills.
    """
    runs = list(_runs(trace))
    runs += [
        _Run(len(runs) + number, one.item, _GAUGED, one.ethanol_mg / _MG_PER_ML, 0.0, one.happened_us, "spirit", {})
        for number, one in enumerate(lost)
    ]
    fills = _fills(trace, runs, _NOTHING * (sum(run.ml for run in runs) or 1.0))
    place = {(run.number, "target"): fill.key for fill in fills for run in fill.came}
    place |= {(run.number, "source"): fill.key for fill in fills for run in fill.went}
    edges = summed(_edges(runs, fills, place))
    known = {other.item.id: other.item.facts for other in trace.items} | {trace.item.id: trace.item.facts}
    several = {fill.item for fill in fills if fill.number > 1}
    own = _own(trace, fills)
    items = (
        _item(fill, known.get(fill.item, {}), zone or house_zone("UTC"), is_one=fill.item not in several)
        for fill in fills
    )
    begun = (item._replace(own_ml=own.get(item.key, 0.0)) for item in items)
    mine = [fill.key for fill in fills if fill.item == trace.item.id]
    traced = mine[-1] if trace.direction == "back" else mine[0]
    return Flow(trace.direction, traced, (*_outside_items(runs, edges), *begun), edges)


# -- what moved --------------------------------------------------------------------------


def _runs(trace: "Trace") -> Iterator[_Run]:
    taken = {origin.line: origin for origin in trace.origins}
    for number, pour in enumerate(trace.pours):
        ethanol_mg = pour.part * (trace.held if trace.direction == "back" else pour.liquid).ethanol_mg
        mass_mg = taken[pour.line].mass_mg if pour.line in taken else 0.0
        kind = _DRY.get(pour.source, "spirit") if not ethanol_mg else "spirit"
        ml = ethanol_mg / _MG_PER_ML
        yield _Run(number, pour.source, pour.target, ml, mass_mg, pour.happened_us, kind, pour.facts)
    for number, origin in enumerate(trace.origins, start=len(trace.pours)):
        if origin.how == UNEXPLAINED:
            ml = origin.ethanol_mg / _MG_PER_ML
            yield _Run(number, UNEXPLAINED, origin.into, ml, 0.0, origin.happened_us, "spirit", {})


def _is_item(endpoint: str) -> bool:
    return endpoint[:1].isupper()


# -- fills -------------------------------------------------------------------------------


def _fills(trace: "Trace", runs: Sequence[_Run], least_ml: float) -> list[_Fill]:
    """The fills of every item, those that need not be told apart put together."""
    found: dict[str, list[_Fill]] = {trace.item.id: [_Fill(trace.item.id, 1, [], [])]}
    for run in sorted(runs, key=lambda run: run.happened_us):  # stable: a trace has its pours in order
        if _is_item(run.source):
            found.setdefault(run.source, [_Fill(run.source, 1, [], [])])[-1].went.append(run)
        if _is_item(run.target):
            own = found.setdefault(run.target, [_Fill(run.target, 1, [], [])])
            if own[-1].went:
                own.append(_Fill(run.target, len(own) + 1, [], []))
            own[-1].came.append(run)
    knots = _knots(runs)
    joined: list[_Fill] = []
    for item, own in found.items():
        # Of the item traced forward all is its own, in every fill.
        is_own = trace.direction == "forward" and item == trace.item.id
        joined += _joined(own if is_own else _settled(own, least_ml), apart=item in knots)
    return joined


def _settled(fills: Iterable[_Fill], least_ml: float) -> Iterator[_Fill]:
    """The fills of an item, each with what stayed of it for the next one."""
    stayed = 0.0
    for fill in fills:
        stayed += sum(run.ml for run in fill.came) - sum(run.ml for run in fill.went)
        stayed = stayed if stayed > least_ml else 0.0
        yield fill._replace(stayed=stayed)


def _joined(fills: Iterable[_Fill], *, apart: bool) -> list[_Fill]:
    """Fills of an item that something stayed between are one, unless liquid came back to the item."""
    kept: list[_Fill] = []
    for fill in fills:
        if kept and not apart and kept[-1].stayed:
            last = kept[-1]
            kept[-1] = _Fill(last.item, last.number, last.came + fill.came, last.went + fill.went, fill.stayed)
        else:
            kept.append(fill._replace(number=len(kept) + 1))
    return kept


def _knots(runs: Iterable[_Run]) -> set[str]:
    """Items that lie on a way back to themselves, or between two such: what is left when ends are taken off."""
    pairs = {(run.source, run.target) for run in runs if _is_item(run.source) and _is_item(run.target)}
    while True:
        sources, targets = {source for source, _ in pairs}, {target for _, target in pairs}
        kept = {pair for pair in pairs if pair[0] in targets and pair[1] in sources}
        if kept == pairs:
            return sources
        pairs = kept


# -- edges and places --------------------------------------------------------------------


def _edges(runs: Iterable[_Run], fills: Sequence[_Fill], place: Mapping[tuple[int, str], str]) -> Iterator[FlowEdge]:
    for run in runs:
        target = place.get((run.number, "target")) or _outside_key(run.target, run.facts)
        if run.kind in ADDED:
            yield FlowEdge("", target, 0.0, run.mass_mg, run.kind, str(run.facts.get("about") or run.source))
        else:
            source = place.get((run.number, "source")) or _outside_key(run.source, run.facts)
            yield FlowEdge(source, target, run.ml)
    for fill, following in pairwise(fills):
        if fill.stayed and following.item == fill.item:
            yield FlowEdge(fill.key, following.key, fill.stayed, kind="carry")


_TOLD = {"origin": ("spirit", "distiller"), "loss": ("disposition",)}
_SAID = {
    _GAUGED: "lost, found by gauges",
    "loss": "lost",
    "despatch": "despatched",
    UNEXPLAINED: "regauge gain, unexplained",
}


def _told(word: str, facts: Mapping[str, object]) -> tuple[str, ...]:
    if word == "despatch":
        return (recipient(facts),)
    if word == "origin" and "from_site" in facts:
        return str(facts.get("spirit", "")), f"site {facts['from_site']}"
    return tuple(str(facts.get(name, "")) for name in _TOLD.get(word, ("about",)))


def _outside_key(word: str, facts: Mapping[str, object]) -> str:
    return " ".join((word, *_told(word, facts)))


def _outside_items(runs: Iterable[_Run], edges: Iterable[FlowEdge]) -> tuple[FlowItem, ...]:
    """Sources and ends: a spirit and its distiller, a loss and its disposition, a customer or another site."""
    found: dict[str, FlowItem] = {}
    for run in runs:
        for word, kind in ((run.source, "origin"), (run.target, "end")):
            if not _is_item(word) and run.kind == "spirit":
                key, told = _outside_key(word, run.facts), _told(word, run.facts)
                pieces = told if word == "origin" and told[0] else (_SAID.get(word, word), *told)
                found[key] = FlowItem(key, kind, tuple(filter(None, pieces)), spirit=pieces[0])
    for edge in edges:
        if edge.source in found:
            item = found[edge.source]
            found[edge.source] = item._replace(own_ml=item.own_ml + edge.ml)
    return tuple(found.values())


def _own(trace: "Trace", fills: Sequence[_Fill]) -> dict[str, float]:
    """What begins in the fills of the item traced forward: what left each, and what the last still holds."""
    if trace.direction == "back":
        return {}
    own = [fill for fill in fills if fill.item == trace.item.id]
    begun = {fill.key: max(sum(run.ml for run in fill.went) - sum(run.ml for run in fill.came), 0.0) for fill in own}
    begun[own[-1].key] += trace.held.ethanol_mg / _MG_PER_ML
    return begun


def _item(fill: _Fill, facts: Mapping[str, str], zone: "tzinfo", *, is_one: bool) -> FlowItem:
    spirits = {str(run.facts["spirit"]) for run in fill.came if "spirit" in run.facts}
    began = min((run.happened_us for run in fill.came), default=None)
    year = "" if began is None else shown(began, zone)[:4]
    wood = facts.get("wood", "")
    pieces = (
        hyphened(fill.item),
        facts.get("ref", "") or facts.get("name", ""),
        "" if is_one else f"fill {fill.number}",
        wood,
        year,
    )
    spirit = facts.get("spirit", "") or " and ".join(sorted(spirits))
    return FlowItem(fill.key, kind_of(fill.item), tuple(filter(None, pieces)), spirit, wood, year)


def flow_shown(
    book: "BookCore", trace: "Trace", linked: "Callable[[str], str]", at_us: int | None = None
) -> "FlowOnPage":  # fmt: skip
    """The flow picture of a trace by alcohol for a page, each item's place leading to its address."""
    from pourbook.papers.flow.flow_paper import flow_on_page

    lost = gauged_losses(book, trace.item.id, at_us) if trace.direction == "forward" else ()
    notation = Notation(book.settings["decimal_mark"])
    return flow_on_page(flow_of(trace, book.zone, lost), notation, f"Flow of {hyphened(trace.item.id)}", linked)


def flow_picture(book: "BookCore", trace: "Trace", *, as_pdf: bool, at_us: int | None = None) -> bytes:
    """The flow picture of a trace by alcohol as of a moment (None: now), as a paper or as SVG."""
    lost = gauged_losses(book, trace.item.id, at_us) if trace.direction == "forward" else ()
    flow, imprint = flow_of(trace, book.zone, lost), imprint_of_state(book)
    title = Title("Flow of pure alcohol", hyphened(trace.item.id), trace.item.id)
    from pourbook.papers.flow.flow_paper import flow_document, flow_paper

    if as_pdf:
        return flow_paper(flow, imprint, title, book.settings["paper"])
    return flow_document(flow, imprint, title).encode()
