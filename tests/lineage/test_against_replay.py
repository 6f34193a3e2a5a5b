"""Traces of random books against three other ways to the same answer.

- `replay.py`: the drops followed one pour after the other, exact fractions, no graph at all.
- A dense linear solve on the states: every state's origins are the weighted mean of its inflows'.
- Reachability by networkx: which items occur at all.

The books hold every confusion a lineage can meet: refilled casks, blends put back into their own
casks, batches topped up from casks they filled, heels, gauges, transfer gains, corrections.
"""

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from random_books import START_US, STEP_US, books, built
from replay import NO_SPIRIT, Replay, every_item

from pourbook.book.flows import states_of
from pourbook.book.lineages import downstream, parts_downstream
from pourbook.codes.identifiers import key_of
from pourbook.errors import PourbookError, Refused
from pourbook.lineage.bases import WEIGH
from pourbook.lineage.graph import Seeds
from pourbook.lineage.shares import trace_forward

moments = st.none() | st.integers(0, 60).map(lambda half_slot: START_US + half_slot * STEP_US // 2)


@given(operations=books, basis=st.sampled_from(("alcohol", "mass")), until=moments)
def test_backward_shares_are_those_of_the_drops(operations, basis, until):
    """Part of the item once in each other item, and from each origin; a drop counts once."""
    house, _ = built(operations)
    with house:
        replay = Replay(house, basis, until)
        for identifier in every_item(house.book.store):
            body = replay.body(identifier)
            if not body.held[0] and body.last is None:
                with pytest.raises(Refused):
                    house.book.trace_back(identifier, basis, until)
                continue
            trace = house.book.trace_back(identifier, basis, until)
            shares = {part.item.id: part.share for part in trace.items}
            origins = {origin.line: origin.share for origin in trace.origins}
            assert shares == pytest.approx(floats(replay.item_shares(identifier)), abs=1e-9)
            assert origins == pytest.approx(floats(replay.origin_shares(identifier)), abs=1e-9)
            assert sum(origins.values()) == pytest.approx(1, abs=1e-12)
            assert all(0 <= share < 1 + 1e-12 for share in shares.values())


def floats(shares):
    """Exact fractions as floats."""
    return {key: float(share) for key, share in shares.items()}


@given(operations=books, basis=st.sampled_from(("alcohol", "mass")), until=moments)
def test_forward_shares_are_those_of_the_drops(operations, basis, until):
    """Part of all that was poured into each other item, and of what it holds now."""
    house, _ = built(operations)
    with house:
        replay = Replay(house, basis, until)
        for identifier in every_item(house.book.store):
            reached = replay.reached(identifier)
            try:
                trace = house.book.trace_forward(identifier, basis, until)
            except Refused:
                assert not reached
                continue
            ever = {part.item.id: part.share for part in trace.items}
            now = {part.item.id: part.share_now for part in trace.items if part.share_now is not None}
            assert ever == pytest.approx({item: float(pair[0]) for item, pair in reached.items()}, abs=1e-9)
            holding = {item: float(pair[1]) for item, pair in reached.items() if pair[1] is not None}
            assert now == pytest.approx(holding, abs=1e-9)


@given(operations=books, basis=st.sampled_from(("alcohol", "mass")))
def test_parts_of_states_do_not_depend_on_how_they_were_read(operations, basis):
    """From edges and kept sums, to the last digit what every inflow of every state gives."""
    house, _ = built(operations)
    with house:
        store = house.book.store
        for identifier in every_item(store):
            states = frozenset(states_of(store, (key_of(identifier),)))
            inflows = downstream(store, states).lineage
            received = dict.fromkeys(inflows.item_of.values(), (1.0, 1.0))
            whole = trace_forward(inflows, Seeds(states), WEIGH[basis], {}, received).states
            assert parts_downstream(store, key_of(identifier), basis) == whole


@given(operations=books)
def test_sums_of_a_state_are_those_of_its_inflows(operations):
    """Added up here, one by one."""
    house, _ = built(operations)
    with house:
        states, flows = state_graph(house.book.store)
        poured = dict.fromkeys(states, (0, 0))
        for target, _, _, _, mass, ethanol in flows:
            poured[target] = (poured[target][0] + mass, poured[target][1] + ethanol)
        kept = house.book.store.query("SELECT id, mass_in, ethanol_in FROM state")
        assert {state: (mass, ethanol) for state, mass, ethanol in kept} == poured


@given(operations=books, until=moments)
def test_wood_ages_are_those_of_the_drops(operations, until):
    """Youngest and mean, unknown where any part is; within a thousandth of a second."""
    house, _ = built(operations)
    with house:
        now = house.clock.us if until is None else until
        replay = Replay(house, "alcohol", until)
        for identifier in every_item(house.book.store):
            body = replay.body(identifier)
            # Water gauged to a strength has spirit of no age: the mean leaves it out at another step.
            if (body.held[0] or body.last) and not replay.traced_clocks(identifier).get(NO_SPIRIT):
                age = house.book.trace_back(identifier, at_us=until).age
                youngest, mean = replay.age(identifier, now)
                assert age.youngest_us == youngest
                assert age.mean_us == (mean if mean is None else pytest.approx(float(mean), abs=1000))


@given(operations=books)
def test_both_directions_name_the_same_pairs(operations):
    """A is upstream of B just when B is downstream of A; what A reaches now, B contains by that share."""
    house, _ = built(operations)
    with house:
        store = house.book.store
        items = [item for item in every_item(store) if house.book.show(item).holding.mass_mg]
        for item in items:
            upstream = {part.item.id: part.share for part in house.book.trace_back(item, "mass").items}
            for other, share in upstream.items():
                forward = {part.item.id: part for part in house.book.trace_forward(other, "mass").items}
                assert forward[item].share_now == pytest.approx(share, abs=1e-9)


def state_graph(store):
    """States and inflows as plain rows: (target, source, how, line, mass, ethanol)."""
    states = dict(store.query("SELECT id, item FROM state ORDER BY id"))
    inflows = "target <> 0 AND how <> 'return'"  # what comes home is of the state already
    flows = store.query(f"SELECT target, source, how, line, mass, ethanol FROM flow WHERE {inflows}")
    return states, flows


def solved_origins(store, of):
    """Share of every origin in a state, by mass: F = W F + O solved at once."""
    states, flows = state_graph(store)
    place = {state: index for index, state in enumerate(states)}
    lines = sorted({line for _, source, _, line, _, _ in flows if not source})
    received = np.zeros(len(states))
    for target, _, _, _, mass, _ in flows:
        received[place[target]] += mass
    between = np.zeros((len(states), len(states)))
    outside = np.zeros((len(states), len(lines)))
    for target, source, _, line, mass, _ in flows:
        part = mass / received[place[target]]
        if source:
            between[place[target], place[source]] += part
        else:
            outside[place[target], lines.index(line)] += part
    solved = np.linalg.solve(np.eye(len(states)) - between, outside)
    return dict(zip(lines, solved[place[of]], strict=True))


@given(operations=books)
def test_origins_agree_with_a_linear_solve(operations):
    """All states at once, by dense elimination, without any order among them."""
    house, _ = built(operations)
    with house:
        store = house.book.store
        for identifier in every_item(store):
            holding = house.book.show(identifier).holding
            if holding.mass_mg:
                solved = solved_origins(store, holding.state)
                trace = house.book.trace_back(identifier, "mass")
                origins = {origin.line: origin.share for origin in trace.origins}
                assert origins == pytest.approx(
                    {line: share for line, share in solved.items() if line in origins}, abs=1e-9
                )
                assert all(abs(share) < 1e-9 for line, share in solved.items() if line not in origins)


@given(operations=books)
def test_items_are_those_that_can_be_reached(operations):
    """By networkx on the graph of states, upstream and downstream; and that graph has no cycle."""
    house, _ = built(operations)
    with house:
        store = house.book.store
        states, flows = state_graph(store)
        graph = nx.DiGraph([(source, target) for target, source, *_ in flows if source])
        graph.add_nodes_from(states)
        assert nx.is_directed_acyclic_graph(graph)
        for identifier in every_item(store):
            key = key_of(identifier)
            own = [state for state, item in states.items() if item == key]
            downstream = {states[reached] for state in own for reached in nx.descendants(graph, state)} - {key}
            try:
                forward = house.book.trace_forward(identifier)
            except PourbookError:
                assert not own
                continue
            assert {key_of(part.item.id) for part in forward.items} == downstream
            holding = house.book.show(identifier).holding
            if holding.mass_mg:
                upstream = {states[state] for state in nx.ancestors(graph, holding.state)} - {key}
                back = house.book.trace_back(identifier)
                assert {key_of(part.item.id) for part in back.items} == upstream
