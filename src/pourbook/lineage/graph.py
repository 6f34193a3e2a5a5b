"""The graph of states that lineage walks on.

The node is a *state* of an item: a pour out of an item (a gauge of it, a return) seals its state, and the
next pour into it opens a new one whose first inflow is the *carry* of what remained. So the graph has
no cycle, although casks are refilled and blends go back into their own casks, and the order of sealing
(unsealed last) is a topological order. The order of opening is not: a batch opened, a cask refilled,
that cask poured into the batch.

>>> cask, vial = 1, 2
>>> lineage = Lineage(
...     order=(10, 20),
...     item_of={10: cask, 20: vial},
...     inflows={
...         10: (Inflow(0, 1, "origin", 0, 1000, 400, 0),),
...         20: (Inflow(10, 2, "", 5, 100, 40, 0),),
...     },
... )
>>> lineage.inflows[20][0].source
10
"""

from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

__all__ = ["CARRY", "RETURN", "UNEXPLAINED", "Ancestry", "Inflow", "Lineage", "Seeds", "Weigh", "cyclic_items"]

CARRY = "carry"
"""`how` of the inflow that brings what remained in an item from its previous state."""

RETURN = "return"
"""`how` of what a customer sent back into its own state: the same liquid, so it is no inflow of any lineage."""

UNEXPLAINED = "unexplained"
"""`how` of an origin nobody recorded: a gauge found liquid where the book never knew of any."""

Weigh = Callable[[int, int, int], float]
"""Mass, ethanol and extract in mg to the weight that shares are handed by."""


class Inflow(NamedTuple):
    """Liquid that entered a state.

    Attributes:
        source: the state it came from; 0 from outside.
        line: number of the line of the journal that moved it.
        how: "" for a pour between items, `CARRY`, "redistilled", or what it is when it came from
            outside: "origin", "water", "additive", "unexplained".
        happened_us: when, in microseconds.
        mass_mg: total mass as received; then the ethanol and the extract in it.
    """

    source: int
    line: int
    how: str
    happened_us: int
    mass_mg: int
    ethanol_mg: int
    extract_mg: int


class Ancestry(NamedTuple):
    """What a state is made of, each part as a fraction of it (0 to 1).

    Attributes:
        items: item to the part that was in it before and left it, a drop that passed twice counted once; also
            the state's own item where liquid left it and came back.
        origins: line of every pour from outside to its part; they add to one.
        lines: line of every pour on the way, with the origins, to the part it brought, a drop counted each time.
    """

    items: dict[int, float]
    origins: dict[int, float]
    lines: dict[int, float]


class Lineage(NamedTuple):
    """The states that a question concerns, with all that entered each of them.

    Attributes:
        order: the states in the order they were sealed, unsealed last.
        item_of: state to item.
        inflows: state to all its inflows. A forward trace ignores a source that is not in `order`; a backward
            one must not meet any.
    """

    order: tuple[int, ...]
    item_of: Mapping[int, int]
    inflows: Mapping[int, tuple[Inflow, ...]]


class Seeds(NamedTuple):
    """Where a trace forward begins: states and pours (by line) that are wholly of what is traced."""

    states: frozenset[int]
    lines: frozenset[int] = frozenset()


def cyclic_items(lineage: Lineage) -> dict[int, int]:
    """Items that liquid can leave and come back to, each with the number of its knot.

    A knot is a strongly connected component of more than one item, in the graph whose edges are
    the pours between items of this lineage; found by Tarjan's algorithm, without recursion.
    """
    neighbours: dict[int, set[int]] = {}
    for state in lineage.order:
        item = lineage.item_of[state]
        for inflow in lineage.inflows[state]:
            source_item = lineage.item_of.get(inflow.source)
            if source_item is not None and source_item != item:
                neighbours.setdefault(source_item, set()).add(item)
    return {
        item: knot
        for knot, members in enumerate(_components(neighbours), start=1)
        if len(members) > 1
        for item in members
    }


def _components(neighbours: Mapping[int, Iterable[int]]) -> list[list[int]]:
    """Strongly connected components (Tarjan 1972), with an explicit stack."""
    index: dict[int, int] = {}
    low: dict[int, int] = {}
    waiting: list[int] = []
    is_waiting: set[int] = set()
    found: list[list[int]] = []
    for root in neighbours:
        if root in index:
            continue
        index[root] = low[root] = len(index)
        waiting.append(root)
        is_waiting.add(root)
        path = [(root, iter(neighbours[root]))]
        while path:
            node, successors = path[-1]
            for successor in successors:
                if successor not in index:
                    index[successor] = low[successor] = len(index)
                    waiting.append(successor)
                    is_waiting.add(successor)
                    path.append((successor, iter(neighbours.get(successor, ()))))
                    break
                if successor in is_waiting:
                    low[node] = min(low[node], index[successor])
            else:
                path.pop()
                if path:
                    low[path[-1][0]] = min(low[path[-1][0]], low[node])
                if low[node] == index[node]:
                    cut = len(waiting) - 1 - waiting[::-1].index(node)
                    found.append(waiting[cut:])
                    is_waiting.difference_update(waiting[cut:])
                    del waiting[cut:]
    return found
