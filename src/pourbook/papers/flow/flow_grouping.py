"""Groups items where a picture has too many: ever fewer places, until it can be drawn.

Only items of one kind at one distance from the item traced are put together, so nothing runs
backward in a grouped picture either. What lies far away can become one place of its own.

>>> from pourbook.papers.flow.flow_values import FlowEdge, FlowItem
>>> casks = [FlowItem(f"c{n}", "cask", (f"Q {n}",), "malt", "oak", str(2010 + n % 2)) for n in range(4)]
>>> edges = tuple(FlowEdge(cask.key, "l", 1.0) for cask in casks)
>>> _, by_year, *_ = groupings(Flow("back", "l", (*casks, FlowItem("l", "lot", ("L",))), edges))
>>> [item.label for item in by_year.items]
[('2 casks', 'malt', 'oak', '2010'), ('2 casks', 'malt', 'oak', '2011'), ('L',)]
"""

from collections.abc import Iterable, Iterator, Sequence

from pourbook.papers.flow.flow_values import ADDED, Flow, FlowEdge, FlowItem, summed

__all__ = ["MOST_PLACES", "groupings"]

MOST_PLACES = 72
"""About 60 items and what they came from; more are not told apart on one page."""

_IN_COMMON = (("spirit", "wood", "year"), ("spirit", "wood"), ("spirit",), ())
"""What the items of a group have in common besides their kind, from fine to coarse."""

_GROUPED = ("cask", "vial", "trial", "end")
_OUTSIDE = {"origin": "from outside", "end": "left the house or lost"}
_MOST_ADDITIONS = 4
_MOST_DISTANT = 8
_NEVER = 10**9


def groupings(flow: Flow) -> Iterator[Flow]:
    """From single items down to a few groups, where neither places nor links are too many to follow."""
    spread = _spread(flow)
    far = spread.distances()
    for cut in (_NEVER, *range(min(max(far.values(), default=0), _MOST_DISTANT), 1, -1)):
        for by in (None, *_IN_COMMON, _GROUPED):
            one = _grouped(spread, by, far, cut)
            if len(one.items) <= MOST_PLACES and len(one.links) <= max(MOST_PLACES, 2 * len(one.items)):
                yield one


def _spread(flow: Flow) -> Flow:
    """A source stands beside what it went into, once at each step, and an end beside what it came from."""
    far = flow.distances()
    outside = {item.key: item._replace(own_ml=0.0) for item in flow.items if item.kind in _OUTSIDE}
    beside: dict[str, FlowItem] = {}

    def spread(key: str, other: str, ml: float) -> str:
        if key not in outside:
            return key
        place = f"{key} at {far[other]}"
        item = beside.get(place, outside[key]._replace(key=place))
        beside[place] = item._replace(own_ml=item.own_ml + ml) if item.kind == "origin" else item
        return place

    edges = [
        edge._replace(
            source=spread(edge.source, edge.target, edge.ml), target=spread(edge.target, edge.source, edge.ml)
        )
        if edge.source
        else edge
        for edge in flow.edges
    ]
    items = (*beside.values(), *(item for item in flow.items if item.key not in outside))
    return flow._replace(items=items, edges=_few_additions(edges))


def _grouped(flow: Flow, by: Sequence[str] | None, far: dict[str, int], cut: int) -> Flow:
    """Items with so much in common as one place, and what lies `cut` steps away or more as another.

    `by` is what groups have in common: None for no groups, `_GROUPED` for all of a kind, batches and origins too.
    """

    def place_of(item: FlowItem) -> str:
        step = far[item.key]
        if item.kind in _OUTSIDE and step > cut:
            return f"{item.kind} of what is far away"
        if item.kind not in _OUTSIDE and step >= cut:
            return "far away"
        if by is None or item.key == flow.traced or (item.kind not in _GROUPED and by is not _GROUPED):
            return item.key
        return f"{item.kind} {step} " + ("" if by is _GROUPED else "|".join(getattr(item, name) for name in by))

    members: dict[str, list[FlowItem]] = {}
    for item in flow.items:
        members.setdefault(place_of(item), []).append(item)
    place = {item.key: key if len(own) > 1 else own[0].key for key, own in members.items() for item in own}
    items = tuple(own[0] if len(own) == 1 else _together(key, own) for key, own in members.items())
    edges = (edge._replace(source=place.get(edge.source, ""), target=place[edge.target]) for edge in flow.edges)
    said = [f"items {cut} or more steps away are shown as one"] if cut < _NEVER else []
    if by is _GROUPED:
        said.append("everything at the same step grouped by kind")
    elif by is not None:
        said.append(f"casks, vials and trials at the same step grouped by {', '.join(by) or 'kind'}")
    apart = _few_additions(edge for edge in edges if edge.source != edge.target)
    return Flow(flow.direction, flow.traced, items, apart, "; ".join(said), flow.is_whole)


def _few_additions(edges: Iterable[FlowEdge]) -> tuple[FlowEdge, ...]:
    """Edges summed up, the waters of one place, or its additives, as one where there are many of them."""
    own = summed(edges)
    many: dict[tuple[str, str], int] = {}
    for edge in own:
        many[edge.target, edge.kind] = many.get((edge.target, edge.kind), 0) + (edge.kind in ADDED)
    return summed(
        edge._replace(name=f"{edge.kind}, several kinds") if many[edge.target, edge.kind] > _MOST_ADDITIONS else edge
        for edge in own
    )


def _together(key: str, own: Sequence[FlowItem]) -> FlowItem:
    """A group, named by how many there are and what all of them have in common."""
    kinds = {item.kind for item in own}
    kind = own[0].kind if len(kinds) == 1 else "batch"
    count = sum(item.members for item in own)
    spirit, wood, year = (_common({getattr(item, name) for item in own}, name) for name in ("spirit", "wood", "year"))
    if len(kinds) > 1:
        name = f"{count} items beyond"
    elif any(piece.startswith("fill ") for item in own for piece in item.label):
        name = f"{count} {kind} fills"
    else:
        name = _OUTSIDE.get(kind, f"{count} {kind}{'es' if kind == 'batch' else 's'}")
    label = own[0].label if len({item.label for item in own}) == 1 else tuple(filter(None, (name, spirit, wood, year)))
    names = dict.fromkeys(name for item in own for name in (item.names or (item.short,)))
    return FlowItem(key, kind, label, spirit, wood, year, count, sum(item.own_ml for item in own), tuple(names))


def _common(values: set[str], name: str) -> str:
    """What all have, how many kinds of it there are, or from when to when."""
    known = sorted(filter(None, values))
    if len(values) == 1 or not known:
        return "".join(values) if len(values) == 1 else ""
    if name == "year":
        return f"{known[0]}–{known[-1]}" if len(known) > 1 else known[0]
    return f"{len(known)} {name}" + ("s" if len(known) > 1 else "")
