"""What a flow picture shows: items and the pure alcohol that went between them, in amounts.

An item stands here once, or once for each of its fills where liquid left it and came back, so
that nothing runs backward. What goes in and does not go on is its rest.

>>> cask, lot = FlowItem("c", "cask", ("C-000001-H", "Q 204"), own_ml=230.0), FlowItem("l", "lot", ("L-000001-C",))
>>> water = FlowEdge("", "l", 0.0, 82_000_000, "water", "demineralised")
>>> flow = Flow("back", "l", (cask, lot), (FlowEdge("c", "l", 230.0), water))
>>> flow.total_ml, flow.amounts()["c"].rest, flow.amounts()["l"].rest
(230.0, 0.0, 230.0)
"""

from collections.abc import Iterable
from typing import Literal, NamedTuple

__all__ = ["ADDED", "ITEMS", "Amounts", "Direction", "Flow", "FlowEdge", "FlowItem", "FlowKind", "summed"]

Direction = Literal["back", "forward"]
FlowKind = Literal["spirit", "carry", "water", "additive"]

ITEMS = ("cask", "vial", "trial", "batch", "lot")
"""Kinds of place that are items of the house."""

ADDED: tuple[FlowKind, ...] = ("water", "additive")
"""Kinds of edge that bring no alcohol and are drawn as thin marks."""


class FlowItem(NamedTuple):
    """A place in the picture: one fill of an item, a source or an end outside, or a group of `members` items.

    Edges name it by `key`. `kind` is a kind of item, "origin" or "end" (lost or sent away). The first piece of the
    label is its name. Spirit, wood and year of the fill serve to group; `own_ml` of pure alcohol begin here;
    `names` are those of a group's members.
    """

    key: str
    kind: str
    label: tuple[str, ...]
    spirit: str = ""
    wood: str = ""
    year: str = ""
    members: int = 1
    own_ml: float = 0.0
    names: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """All of the label on one line."""
        return " · ".join(self.label)

    @property
    def short(self) -> str:
        """An item by identifier and name alone; anything else by all of its label."""
        return " · ".join(self.label[:2]) if self.kind in ITEMS and self.members == 1 else self.name


class FlowEdge(NamedTuple):
    """Liquid of a kind from source to target: alcohol at 20 °C; or mass and name of an addition, without a source."""

    source: str
    target: str
    ml: float
    mass_mg: float = 0.0
    kind: FlowKind = "spirit"
    name: str = ""


def summed(edges: Iterable[FlowEdge]) -> tuple[FlowEdge, ...]:
    """Edges of one kind between the same two places as one edge."""
    sums: dict[tuple[str, ...], FlowEdge] = {}
    for edge in edges:
        key = (edge.source, edge.target, edge.kind, edge.name)
        before = sums.get(key, edge._replace(ml=0.0, mass_mg=0.0))
        sums[key] = before._replace(ml=before.ml + edge.ml, mass_mg=before.mass_mg + edge.mass_mg)
    return tuple(sums.values())


class Amounts(NamedTuple):
    """What goes through a place, in millilitres of pure alcohol: its own (begins here), came, and went along edges."""

    own: float
    came: float
    went: float

    @property
    def through(self) -> float:
        """How wide the place is."""
        return max(self.own + self.came, self.went)

    @property
    def rest(self) -> float:
        """What is still here, or was lost from here; nothing where a gauge found more than came."""
        return max(self.own + self.came - self.went, 0.0)


class Flow(NamedTuple):
    """What a picture shows; by its direction all runs "back" to the item traced, or "forward" from it.

    No way along the edges leads back; `grouped` says how items were put together; empty when each stands for itself.
    `is_whole` where it shows all that was ever in the item traced, not what it holds now.
    """

    direction: Direction
    traced: str
    items: tuple[FlowItem, ...]
    edges: tuple[FlowEdge, ...]
    grouped: str = ""
    is_whole: bool = False

    @property
    def links(self) -> tuple[FlowEdge, ...]:
        """The edges that carry alcohol from place to place."""
        return tuple(edge for edge in self.edges if edge.kind not in ADDED)

    def amounts(self) -> dict[str, Amounts]:
        """What goes through each place, by key."""
        came = {item.key: 0.0 for item in self.items}
        went = dict(came)
        for edge in self.links:
            went[edge.source] += edge.ml
            came[edge.target] += edge.ml
        return {item.key: Amounts(item.own_ml, came[item.key], went[item.key]) for item in self.items}

    def distances(self) -> dict[str, int]:
        """The longest way, in steps, between each place and the one traced."""
        onward: dict[str, list[str]] = {item.key: [] for item in self.items}
        waits = dict.fromkeys(onward, 0)
        for edge in self.links:
            near, far = (edge.target, edge.source) if self.direction == "back" else (edge.source, edge.target)
            onward[near].append(far)
            waits[far] += 1
        found = dict.fromkeys(onward, 0)
        ready = [key for key, count in waits.items() if not count]
        for key in ready:
            for far in onward[key]:
                found[far] = max(found[far], found[key] + 1)
                waits[far] -= 1
                if not waits[far]:
                    ready.append(far)
        return found

    def times(self, factor: float) -> "Flow":
        """The same picture of so many times as much: of all that was ever in the item."""
        items = (item._replace(own_ml=item.own_ml * factor) for item in self.items)
        edges = (edge._replace(ml=edge.ml * factor, mass_mg=edge.mass_mg * factor) for edge in self.edges)
        return self._replace(items=tuple(items), edges=tuple(edges), is_whole=True)

    @property
    def total_ml(self) -> float:
        """Pure alcohol that the shares are parts of: that of the item traced."""
        if self.direction == "forward":
            return sum(item.own_ml for item in self.items)
        return self.amounts()[self.traced].through
