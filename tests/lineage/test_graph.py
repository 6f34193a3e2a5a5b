"""The graph of states by itself: knots against networkx, long chains, the laws that shares obey."""

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.lineage.graph import CARRY, Inflow, Lineage, Seeds, cyclic_items
from pourbook.lineage.shares import by_alcohol, by_mass, trace_back, trace_forward


@st.composite
def lineages(draw):
    """States in sealing order, each with inflows from earlier ones or from outside; few items."""
    count = draw(st.integers(1, 14))
    item_of = {state: draw(st.integers(1, 5)) for state in range(1, count + 1)}
    inflows, line = {}, 0
    for state, item in item_of.items():
        flows = []
        for _ in range(draw(st.integers(1, 3))):
            line += 1
            source = draw(st.integers(0, state - 1))
            mass = draw(st.integers(1, 1000))
            ethanol = draw(st.integers(0, mass))
            how = CARRY if source and item_of[source] == item else "" if source else "origin"
            flows.append(Inflow(source, line, how, line, mass, ethanol, 0))
        inflows[state] = tuple(flows)
    return Lineage(tuple(item_of), item_of, inflows)


@given(lineages())
def test_knots_are_strongly_connected_components(lineage):
    """Of more than one item, as networkx finds them."""
    graph = nx.DiGraph()
    for state, flows in lineage.inflows.items():
        for flow in flows:
            if flow.source:
                graph.add_edge(lineage.item_of[flow.source], lineage.item_of[state])
    expected = {frozenset(part) for part in nx.strongly_connected_components(graph) if len(part) > 1}
    knots = {}
    for item, knot in cyclic_items(lineage).items():
        knots.setdefault(knot, set()).add(item)
    assert {frozenset(members) for members in knots.values()} == expected


@given(lineages(), st.sampled_from((by_alcohol, by_mass)))
def test_shares_obey_their_laws(lineage, weigh):
    """Origins add to one; no part of an item is more than all of it; every pour of a state brought its part."""
    start = lineage.order[-1]
    answer = trace_back(lineage, start, weigh)
    assert sum(answer.origins.values()) == pytest.approx(1, abs=1e-12)
    assert all(-1e-12 < share < 1 + 1e-12 for share in answer.items.values())
    assert set(answer.origins) <= set(answer.lines)
    assert lineage.item_of[start] not in answer.items


@given(lineages())
def test_forward_from_an_item_is_backward_to_it(lineage):
    """The part of the last state that had been in an item is the same asked from either end."""
    start = lineage.order[-1]
    backward = trace_back(lineage, start, by_mass).items
    for item in set(lineage.item_of.values()) - {lineage.item_of[start]}:
        received = dict.fromkeys(lineage.item_of.values(), (1.0, 1.0))
        seeds = Seeds(frozenset(state for state, here in lineage.item_of.items() if here == item))
        forward = trace_forward(lineage, seeds, by_mass, {lineage.item_of[start]: start}, received)
        assert forward.now[lineage.item_of[start]] == pytest.approx(backward.get(item, 0.0), abs=1e-9)


def test_a_chain_of_twenty_thousand_states():
    """No recursion, and nothing lost: half of each state comes from the one before, half from outside."""
    count = 20_000
    order = tuple(range(1, count + 1))
    inflows = {1: (Inflow(0, 1, "origin", 0, 2, 1, 0),)}
    for state in order[1:]:
        inflows[state] = (
            Inflow(state - 1, state, "", state, 1, 1, 0),
            Inflow(0, count + state, "origin", state, 1, 1, 0),
        )
    lineage = Lineage(order, {state: state for state in order}, inflows)
    answer = trace_back(lineage, count, by_alcohol)
    assert sum(answer.origins.values()) == pytest.approx(1, abs=1e-12)
    assert answer.items[count - 3] == 0.125
    assert len(answer.items) == count - 1


def test_a_ring_of_three_hundred_items_poured_round_three_times():
    """Found without recursion, and every drop counts once in every item it passed thrice."""
    count, rounds = 300, 3
    item_of = {state: (state - 1) % count + 1 for state in range(1, rounds * count + 1)}
    inflows = {1: (Inflow(0, 1, "origin", 0, 1, 1, 0),)}
    inflows |= {state: (Inflow(state - 1, state, "", state, 1, 1, 0),) for state in range(2, rounds * count + 1)}
    lineage = Lineage(tuple(item_of), item_of, inflows)
    assert len(cyclic_items(lineage)) == count
    answer = trace_back(lineage, rounds * count, by_mass)
    assert set(answer.items.values()) == {1.0}
    assert len(answer.items) == count - 1
