"""The arithmetic behind one share: which sums and quotients give it, step by step.

A step is a state on the way from what is asked about to the state traced: the pours into it, the part
of each that is of what is asked about, and the mean of those parts by weight. The last step's part is
the share. A drop that passed twice counts once: all that a state of the item asked about holds is of it.

>>> from pourbook.lineage.graph import Inflow, Lineage
>>> from pourbook.lineage.shares import by_mass
>>> lineage = Lineage((10, 20), {10: 1, 20: 2}, {
...     10: (Inflow(0, 1, "origin", 0, 1000, 400, 0),),
...     20: (Inflow(10, 2, "", 5, 300, 120, 0), Inflow(0, 3, "water", 6, 100, 0, 0)),
... })
>>> explain(lineage, 20, Seeds(frozenset({10})), by_mass)
(Step(state=20, terms=(Term(line=2, source=10, weight=300, part=1.0),), rest=100, total=400, part=0.75),)
"""

from typing import NamedTuple

from pourbook.lineage.graph import CARRY, Lineage, Seeds, Weigh
from pourbook.lineage.shares import weights_of

__all__ = ["Step", "Term", "explain"]


class Term(NamedTuple):
    """A pour into a state that brought something of what is asked about.

    Attributes:
        line: number of the line.
        source: the state it came from; 0 from outside.
        weight: of the pour, by the basis.
        part: which part of the pour is of what is asked about; below 1 it is the part of an earlier step.
    """

    line: int
    source: int
    weight: float
    part: float


class Step(NamedTuple):
    """A state, and its part: the sum of weight times part over the terms, divided by the total.

    Attributes:
        state: the state.
        terms: pours that brought something of what is asked about.
        rest: weight of all other pours into it.
        total: weight of all pours into it.
        part: the part of the state that is of what is asked about.
    """

    state: int
    terms: tuple[Term, ...]
    rest: float
    total: float
    part: float


def explain(lineage: Lineage, start: int, seeds: Seeds, weigh: Weigh) -> tuple[Step, ...]:
    """How the share of what is asked about in the state `start` comes about; empty where it is zero.

    `lineage` holds `start` and every state upstream of it; `seeds` are all states of the item, or pours from outside.
    """
    steps: dict[int, Step] = {}
    for state in lineage.order:
        if state in seeds.states:
            continue
        weights, total = weights_of(lineage.inflows[state], weigh)
        terms = []
        for flow, weight in zip(lineage.inflows[state], weights, strict=True):
            if flow.source in seeds.states or (flow.line in seeds.lines and flow.how != CARRY):
                terms.append(Term(flow.line, flow.source, weight, 1.0))
            elif flow.source in steps:
                terms.append(Term(flow.line, flow.source, weight, steps[flow.source].part))
        if terms and total:
            rest = total - sum(term.weight for term in terms)
            part = sum(term.weight * term.part for term in terms) / total
            steps[state] = Step(state, tuple(terms), rest, total, part)
        if state == start:
            break
    return _needed(steps, start)


def _needed(steps: dict[int, Step], start: int) -> tuple[Step, ...]:
    """The steps that the last one leans on, itself included, in their order."""
    needed = {start}
    for state in reversed(steps):
        if state in needed:
            needed.update(term.source for term in steps[state].terms)
    return tuple(step for state, step in steps.items() if state in needed)
