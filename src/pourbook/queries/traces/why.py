"""Why a share is what it is: the pours that make it, with their amounts, and what is done with them.

The answer holds all that is needed to work the share out again, and the steps name entries of the
journal, so that each amount can be looked up.
"""

from typing import NamedTuple

from pourbook.book.contents import EVER, LINES
from pourbook.book.core import BookCore
from pourbook.book.flows import states_of
from pourbook.book.lineages import upstream, upstream_of, what_is_traced
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, key_of, of_key
from pourbook.errors import Refused
from pourbook.lineage.arithmetic import Step, explain
from pourbook.lineage.bases import WEIGH, Basis
from pourbook.lineage.graph import CARRY, Lineage, Seeds

__all__ = ["Reason", "ReasonStep", "ReasonTerm", "why_share"]

_ALL = -1
"""Stands for all that was ever poured into an item; no state has that number."""


class ReasonTerm(NamedTuple):
    """A pour that brought something of what is asked about, by its entry, and when it happened.

    Attributes:
        source: identifier, or the word for outside; the item itself, for what had remained in it.
        step: number of the step that gives the part; 0 where all of the pour is of what is asked about.
        weight: mg of pure ethanol or of mass, or ml at 20 °C, by the basis.
        part: 0 to 1.
    """

    entry: int
    happened_us: int
    source: str
    step: int
    weight: float
    part: float


class ReasonStep(NamedTuple):
    """What an item held in one of its states, and the part of it that is of what is asked about.

    Attributes:
        item: identifier.
        terms: the pours that brought some of it.
        rest: weight of all else that was poured in.
        total: weight of all that was poured in.
        part: the sum of weight times part over the terms, divided by the total.
    """

    item: str
    terms: tuple[ReasonTerm, ...]
    rest: float
    total: float
    part: float


class Reason(NamedTuple):
    """Why a share, by a basis, of the item traced is what it is.

    `of` names what is asked about: an identifier, or "entry 12". Steps are numbered from 1; the last one's part is the
    share. If `ever`, it is of all that was ever poured into the item, as a trace forward gives it, and not of what it
    holds.
    """

    item: str
    of: str
    by: Basis
    share: float
    ever: bool
    steps: tuple[ReasonStep, ...]


def why_share(
    book: BookCore, text: str, of: str | int, by: Basis = "alcohol", at_us: int | None = None, *, forward: bool = False
) -> Reason:
    """How a share comes about: the pours that make it, and the arithmetic.

    `text` is traced back, or reached by a trace forward of `of`. Back only, `of` may be the number of an entry that
    brought liquid from outside.

    Raises:
        PourbookError: no such item, or none of it is in the item traced.
    """
    store = book.store
    with store.snapshot():
        if forward:
            return _forward(store, book.find(text), book.find(str(of)), by, EVER if at_us is None else at_us)
        named = book.find(of) if isinstance(of, str) else of
        identifier = book.find(text)
        holding, as_of_us = what_is_traced(store, key_of(identifier), at_us, book.clock())
        lineage = upstream(store, holding.state, as_of_us).lineage
        return _reason(lineage, holding.state, identifier, named, by, ever=False)


def _forward(store: Store, identifier: str, of: str, by: Basis, until_us: int) -> Reason:
    """How the share that a trace forward from `of` gives for an item comes about."""
    key = key_of(identifier)
    states = frozenset(states_of(store, (key,)))
    if not states:
        raise Refused(f"nothing was ever poured into {hyphened(identifier)}", "check the identifier")
    lineage = upstream_of(store, states, until_us).lineage
    poured = [flow for state in states for flow in lineage.inflows[state] if flow.how != CARRY]
    whole = Lineage((*lineage.order, _ALL), {**lineage.item_of, _ALL: key}, {**lineage.inflows, _ALL: tuple(poured)})
    return _reason(whole, _ALL, identifier, of, by, ever=True)


def _reason(lineage: Lineage, start: int, identifier: str, of: str | int, by: Basis, *, ever: bool) -> Reason:
    steps = explain(lineage, start, _seeds(lineage, of), WEIGH[by])
    named = f"entry {of}" if isinstance(of, int) else of
    if not steps or steps[-1].state != start:
        shown = named if isinstance(of, int) else hyphened(of)
        raise Refused(
            f"nothing of {shown} is in {hyphened(identifier)}",
            f"name an item or an entry that pourbook trace {hyphened(identifier)} lists",
        )
    return Reason(identifier, named, by, steps[-1].part, ever, _told(lineage, steps))


def _seeds(lineage: Lineage, of: str | int) -> Seeds:
    if isinstance(of, str):
        key = key_of(of)
        return Seeds(frozenset(state for state, item in lineage.item_of.items() if item == key))
    flows = (flow for inflows in lineage.inflows.values() for flow in inflows)
    return Seeds(frozenset(), frozenset(flow.line for flow in flows if not flow.source and flow.line // LINES == of))


def _told(lineage: Lineage, steps: tuple[Step, ...]) -> tuple[ReasonStep, ...]:
    number = {step.state: place for place, step in enumerate(steps, start=1)}
    flow_of = {
        (step.state, flow.line, flow.source): flow for step in steps for flow in lineage.inflows[step.state]
    }  # a line can bring a carry and a pour
    told = []
    for step in steps:
        item = of_key(lineage.item_of[step.state])
        terms = []
        for term in step.terms:
            flow = flow_of[step.state, term.line, term.source]
            source = item if flow.how == CARRY else of_key(lineage.item_of[flow.source]) if flow.source else flow.how
            terms.append(
                ReasonTerm(
                    flow.line // LINES, flow.happened_us, source, number.get(term.source, 0), term.weight, term.part
                )
            )
        told.append(ReasonStep(item, tuple(terms), step.rest, step.total, step.part))
    return tuple(told)
