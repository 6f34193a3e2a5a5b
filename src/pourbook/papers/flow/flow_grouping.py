"""Items put together where a picture would have too many: the finest grouping that can be drawn.

Only items of one kind at one distance from the item traced are put together, so nothing runs
backward in a grouped picture either. What lies far away can become one place of its own.

>>> from pourbook.papers.flow.flow_values import FlowEdge, FlowItem
>>> casks = [FlowItem(f"c{n}", "cask", (f"Q {n}",), "malt", "oak", str(2010 + n % 2)) for n in range(4)]
>>> edges = tuple(FlowEdge(cask.key, "l", 1.0) for cask in casks)
>>> flow = Flow("back", "l", (*casks, FlowItem("l", "lot", ("L",))), edges)
>>> [item.label for item in grouped(flow, ("wood", "year"), distances(flow)).items]
[('2 casks', 'malt', 'oak', '2010'), ('2 casks', 'malt', 'oak', '2011'), ('L',)]
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import chain
from typing import Literal, TypeVar

from pourbook.papers.flow.flow_values import ADDED, Flow, FlowEdge, FlowItem

__all__ = ["MOST_PLACES", "distances", "finest", "grouped"]

MOST_PLACES = 72
"""About 60 items and what they came from; more are not told apart on one page."""

By = tuple[Literal["spirit", "wood", "year"], ...]
_Picture = TypeVar("_Picture")

_ORDERS: tuple[By, ...] = (
    ("spirit", "wood", "year"), ("spirit", "wood"), ("spirit", "year"), ("wood", "year"), ("spirit",), ("wood",),
    ("year",), (),
)  # fmt: skip
_GROUPED = ("cask", "vial", "trial", "end")
_MOST_ADDITIONS = 4
_MOST_DISTANT = 8
_PLURALS = {"batch": "batches"}
_SOURCES = {"origin": "from outside", "end": "left the house, or was lost"}


def finest(flow: Flow, drawn: Callable[[Flow], _Picture | None]) -> _Picture:
    """The first picture that can be drawn, from every item by itself down to a few groups.

    Args:
        flow: what is to be drawn.
        drawn: makes a picture, or None where it has no room for it.
    """
    spread = _spread(flow)
    for one in chain((spread,), _coarser(spread)):
        if _is_few(one) and (picture := drawn(one)) is not None:
            return picture
    raise AssertionError("a source and the item traced always have room")


def _is_few(flow: Flow) -> bool:
    """Whether a person can follow it: not too many places, nor a thicket of links between few of them."""
    return len(flow.items) <= MOST_PLACES and len(flow.links) <= max(MOST_PLACES, 2 * len(flow.items))


def _spread(flow: Flow) -> Flow:
    """A source stands beside what it went into, once at each step, and an end beside what it came from."""
    far = distances(flow)
    ends = {item.key: item for item in flow.items if item.kind in ("origin", "end")}
    sums: dict[str, tuple[FlowItem, float]] = {}

    def spread(key: str, other: str, ml: float) -> str:
        if key not in ends:
            return key
        beside = f"{key} at {far[other]}"
        sums[beside] = (ends[key], sums.get(beside, (ends[key], 0.0))[1] + ml)
        return beside

    edges = tuple(
        edge._replace(
            source=spread(edge.source, edge.target, edge.ml), target=spread(edge.target, edge.source, edge.ml)
        )
        if edge.source
        else edge
        for edge in flow.edges
    )
    beside = tuple(
        item._replace(key=key, own_ml=ml if item.kind == "origin" else 0.0) for key, (item, ml) in sums.items()
    )
    items = (*beside, *(item for item in flow.items if item.key not in ends))
    return flow._replace(items=items, edges=_additions_together(edges))


def _coarser(flow: Flow) -> Iterator[Flow]:
    """Coarser and coarser: first by what items have in common, then what lies far away as one place."""
    far = distances(flow)
    depth = max(far.values(), default=0)
    for cut in (depth + 1, *range(min(depth, _MOST_DISTANT), 1, -1)):
        near = _folded(flow, far, cut) if cut <= depth else flow
        yield from (near,) if near is not flow else ()
        found = [grouped(near, by, far) for by in _ORDERS]
        yield from sorted(found, key=lambda one: -len(one.items))
        yield _by_kind(near, far)


def distances(flow: Flow) -> dict[str, int]:
    """How many steps at the most lie between each place and the one traced; back or forward."""
    onward: dict[str, list[str]] = {key: [] for key in flow.keys}
    waits = dict.fromkeys(flow.keys, 0)
    for edge in flow.links:
        near, far = (edge.target, edge.source) if flow.direction == "back" else (edge.source, edge.target)
        onward[near].append(far)
        waits[far] += 1
    found = dict.fromkeys(flow.keys, 0)
    ready = [key for key, count in waits.items() if not count]
    for key in ready:
        for far in onward[key]:
            found[far] = max(found[far], found[key] + 1)
            waits[far] -= 1
            if not waits[far]:
                ready.append(far)
    return found


def grouped(flow: Flow, by: By, far: Mapping[str, int]) -> Flow:
    """Casks, vials, trials and ends that have so much in common are one place."""
    said = ", ".join(by) if by else "kind"
    return _merged(
        flow,
        lambda item: (
            f"{item.kind} {far.get(item.key, 0)} " + "|".join(getattr(item, name) for name in by)
            if item.kind in _GROUPED and item.key != flow.traced
            else item.key
        ),
        f"casks, vials and trials at the same step grouped by {said}",
    )


def _by_kind(flow: Flow, far: Mapping[str, int]) -> Flow:
    return _merged(
        flow,
        lambda item: item.key if item.key == flow.traced else f"{item.kind} {far.get(item.key)}",
        "everything at the same step grouped by kind",
    )


def _folded(flow: Flow, far: Mapping[str, int], cut: int) -> Flow:
    """What lies so many steps away or more is one place; what came into it, or left the house from it, another."""

    def key_of(item: FlowItem) -> str:
        if item.kind in ("origin", "end"):
            return f"{item.kind} of what is far away" if far[item.key] > cut else item.key
        return "far away" if far[item.key] >= cut else item.key

    return _merged(flow, key_of, f"what lies {cut} steps or more away is one place")


def _merged(flow: Flow, key_of: Callable[[FlowItem], str], said: str) -> Flow:
    members: dict[str, list[FlowItem]] = {}
    for item in flow.items:
        members.setdefault(key_of(item), []).append(item)
    place = {item.key: key if len(own) > 1 else own[0].key for key, own in members.items() for item in own}
    items = tuple(own[0] if len(own) == 1 else _together(key, own) for key, own in members.items())
    edges: dict[tuple[str, ...], FlowEdge] = {}
    for edge in flow.edges:
        source, target = place.get(edge.source, edge.source), place[edge.target]
        if source != target:
            key = (source, target, edge.kind, edge.name)
            before = edges.get(key, FlowEdge("", "", 0.0))
            edges[key] = edge._replace(
                source=source, target=target, ml=before.ml + edge.ml, mass_mg=before.mass_mg + edge.mass_mg
            )
    grouped_by = "; ".join(filter(None, (flow.grouped, said)))
    return Flow(flow.direction, flow.traced, items, _additions_together(edges.values()), grouped_by)


def _additions_together(edges: Iterable[FlowEdge]) -> tuple[FlowEdge, ...]:
    """Waters of one place, or its additives, as one where there are many of them."""
    kept = {edge: edge for edge in edges}
    several: dict[tuple[str, str], list[FlowEdge]] = {}
    for edge in kept:
        if edge.kind in ADDED:
            several.setdefault((edge.target, edge.kind), []).append(edge)
    for (_, kind), own in several.items():
        if len(own) > _MOST_ADDITIONS:
            for edge in own[1:]:
                del kept[edge]
            mass_mg = sum(edge.mass_mg for edge in own)
            kept[own[0]] = own[0]._replace(mass_mg=mass_mg, name=f"{kind}, several kinds")
    return tuple(kept.values())


def _together(key: str, own: Sequence[FlowItem]) -> FlowItem:
    """A group, named by how many there are and what all of them have in common."""
    kinds = {item.kind for item in own}
    kind = own[0].kind if len(kinds) == 1 else "batch"
    count = sum(item.members for item in own)
    spirit, wood, year = (_common(own, field) for field in ("spirit", "wood", "year"))
    if kind in ("origin", "end"):
        name = _SOURCES[kind]
    elif len(kinds) > 1:
        name = f"{count} items beyond"
    elif any(piece.startswith("fill ") for item in own for piece in item.label):
        name = f"{count} {kind} fills"
    else:
        name = f"{count} {_PLURALS.get(kind, kind + 's')}"
    label = own[0].label if len({item.label for item in own}) == 1 else tuple(filter(None, (name, spirit, wood, year)))
    return FlowItem(key, kind, label, spirit, wood, year, count, sum(item.own_ml for item in own))


def _common(own: Sequence[FlowItem], field: Literal["spirit", "wood", "year"]) -> str:
    """What all have, how many kinds of it there are, or from when to when."""
    values = {getattr(item, field) for item in own}
    known = sorted(filter(None, values))
    if len(values) == 1 or not known:
        return known[0] if known else ""
    if field == "year":
        return f"{known[0]}–{known[-1]}" if len(known) > 1 else known[0]
    return f"{len(known)} {field}" + ("s" if len(known) > 1 else "")
