"""A group's book on several nodes answers as one book does, in as few rounds as its lineage crosses nodes.

The figures are those of `tests/benchmarks/group_on_nodes.py`, which runs here on a small group: whatever it answers it
compares with one book in SQLite (sets and masses equal, shares to 1e-12).
"""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
import group_on_nodes as measuring
import group_questions as questions
import servers
from group_nodes import Placement, placed
from group_of_sites import Group, site_of_item, site_of_line, site_of_state

SITES, NODES = 5, 3


@pytest.fixture(scope="module")
def address():
    """A server for these tests."""
    with servers.the_server() as server:
        yield server.address()


@pytest.fixture(scope="module", params=(1, 3), ids=lambda slices: f"{slices} slices")
def group(request, address):
    """A group on nodes, the same in one book, and each question's costs, answers compared."""
    with placed(2000, SITES, NODES, request.param, server=address) as (nodes, one, made):
        nodes.is_measuring = True
        yield nodes, one, made, dict(measuring.asked_of(nodes, one, made, asked=12))


def test_every_question_is_answered_as_by_one_book(group):
    """The comparison is made where it is asked; here, that none was left out."""
    nodes, _, made, costs = group
    assert made.consignments > 5
    assert len(costs) == 11
    assert all(each for each in costs.values())
    assert max(cost.nodes for cost in costs["stock of the group"]) == nodes.place.nodes


def test_what_a_site_asks_of_itself_stays_on_its_own_node(group):
    """An item by its identifier, a site's stock, its account: no other site's node is asked."""
    nodes, _, _, costs = group
    for name in ("show", "stock of a site", "account of a site, a year"):
        assert {cost.nodes for cost in costs[name]} == {len(set(nodes.place.of_site(1)))}, name
    assert all(cost.rounds == 1 for cost in costs["show"] + costs["account of a site, a year"])


def test_a_trace_takes_fewer_rounds_than_it_has_generations(group):
    """A lineage is followed on each node as far as it goes there."""
    *_, costs = group
    traces = costs["trace back, shares"] + costs["trace forward, shares"]
    assert all(cost.rounds <= max(2, cost.steps) for cost in traces)
    assert sum(cost.rounds for cost in traces) < sum(cost.steps for cost in traces)
    assert any(cost.nodes > 1 for cost in traces)


def test_a_trace_reads_its_lineage_and_no_more(group):
    """Rows read stay within a few for each row answered, whatever the node holds besides."""
    *_, costs = group
    assert all(cost.touched <= 6 * cost.answered + 40 for cost in costs["trace back, shares"])


def test_damage_on_a_node_is_told(group):
    """A verification that finds nothing wrong could find something."""
    nodes = group[0]
    code = 2
    node = nodes.place.of_site(code)[-1]
    line = nodes.lines[node]
    broken = (
        "UPDATE site_entry SET bytes = bytes || ' ' WHERE code = 2 AND number = 5",
        "UPDATE flow_out SET mass = mass + 1 WHERE ctid = (SELECT ctid FROM flow_out WHERE source <> 0 LIMIT 1)",
        "UPDATE state SET mass_in = mass_in + 1 WHERE id = (SELECT max(id) FROM state)",
    )
    assert questions.verify(_counting(nodes)) == []
    for statement in broken:
        where = nodes.lines[nodes.place.of_entry(5 * 1000 + code)] if "site_entry" in statement else line
        where.execute("BEGIN")
        where.execute(statement)
        try:
            assert questions.verify(_counting(nodes)), statement
        finally:
            where.execute("ROLLBACK")


def test_an_answer_that_differs_is_noticed(group):
    """A flow that is missing on a node changes a trace, and the comparison says so."""
    nodes, one, _, _ = group
    ((key,),) = one.query("SELECT min(key) FROM item WHERE kind = 'lot'")
    state = measuring.last_state(one, key)
    line = nodes.lines[nodes.place.of_state(state)]
    line.execute("BEGIN")
    line.execute("DELETE FROM flow WHERE target = %s", (state,))
    try:
        with pytest.raises(AssertionError):
            measuring._traced(nodes, one, key)
    finally:
        line.execute("ROLLBACK")


def _counting(nodes):
    nodes.counted(lambda _: None)
    return nodes


def test_a_number_says_where_its_row_lies():
    """Site first, then time: no question asks first where something is."""
    rows = []
    place = Placement(3, 4, 2)
    place.begins[2].append(40_002)
    assert [place.of_entry(number) for number in (1_001, 1_002, 39_002, 40_002, 1_003)] == [0, 2, 2, 3, 0]
    group = Group(3, 300, lambda table, row: rows.append((table, row)))
    group.make()
    items = {row[0]: site_of_item(row[0]) for table, row in rows if table == "item"}
    assert set(items.values()) == {1, 2, 3}
    flows = [row for table, row in rows if table == "flow" and row[0]]
    assert all(site_of_state(row[0]) == site_of_line(row[1]) for row in flows if row[2] == 0)


def test_what_is_made_up_adds_up():
    """Whole milligrams: what flowed into a state is what its row says, and what left the houses is what came in."""
    flows, states, ledger = [], {}, {}
    keep = {
        "flow": flows.append, "state": lambda row: states.update({row[0]: row[4]}),
        "ledger": lambda row: ledger.update({row[0]: row[4]}),
    }  # fmt: skip
    group = Group(4, 2000, lambda table, row: keep.get(table, lambda _: None)(row))
    group.make()
    into = dict.fromkeys(states, 0)
    for row in flows:
        if row[0]:
            into[row[0]] += row[6]
    assert into == states
    gauged = sum(row[6] for row in flows if row[2])
    assert gauged > 0
    came = sum(row[6] for row in flows if not row[3])
    left = sum(row[6] for row in flows if not row[0])
    lost_on_the_way = came - left - sum(ledger.values())
    assert 0 < lost_on_the_way < came // 100  # 0.3 % of each consignment that was received
