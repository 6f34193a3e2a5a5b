"""A lineage as GraphML: networkx reads it, and one node reaches another exactly where liquid went."""

import networkx as nx
import pytest
from epcis_house import sending_house
from house import House
from hypothesis import given, settings
from random_books import ITEMS, books, built

from pourbook.errors import PourbookError
from pourbook.exchange.output.graphml import as_xml, graphml_document


def graph_of(house, *names, **options):
    document = graphml_document(house.book, [house.id(name) for name in names], **options)
    graph = nx.parse_graphml(as_xml(document))
    assert len(graph) == len(document.findall("graph/node"))
    return graph


def items_in(graph, nodes):
    return {graph.nodes[node]["id"].replace("-", "") for node in nodes if "id" in graph.nodes[node]}


def test_nodes_and_edges_say_what_they_are():
    """A fill has its item's name, an edge its amount, its entry, its time and who poured."""
    with sending_house() as house:
        graph = graph_of(house, "B1")
    (cask,) = [node for node, told in graph.nodes(data=True) if told.get("ref") == "Row 1/1"]
    assert graph.nodes[cask] == {"id": "C-000001-H", "kind": "cask", "ref": "Row 1/1"}
    ((_, _, told),) = graph.out_edges(cask, data=True)
    assert (told["verb"], told["who"], told["happened"]) == ("dump", "M. Aldane", "2022-03-01T00:00:00Z")
    assert told["mass_mg"] > told["ethanol_mg"] > 0
    assert nx.is_directed_acyclic_graph(graph)


def test_a_refilled_cask_is_two_nodes():
    """What was filled in later does not reach what was taken earlier."""
    with House() as house:
        house.cask("C1", "100 l", "60", spirit="first")
        house.pour("C1", "B1", "99 l")
        house.fill("C1", "100 l", "60", spirit="second")
        house.pour("C1", "B2", None)
        graph = graph_of(house, "C1", forward=True)
        named = {told["spirit"]: node for node, told in graph.nodes(data=True) if "spirit" in told}
        assert items_in(graph, nx.descendants(graph, named["second"])) == {house.id("C1"), house.id("B2")}
        assert items_in(graph, nx.descendants(graph, named["first"])) == {house.id(name) for name in ("C1", "B1", "B2")}


def test_names_that_xml_cannot_carry_are_kept_readable():
    """Angle brackets in a name do not break the file; the book itself refuses control characters."""
    with House() as house:
        house.cask("C1", "100 l", "60")
        house.facts("C1", ref="<Row> & 7")
        graph = graph_of(house, "C1")
    assert "<Row> & 7" in {told.get("ref") for _, told in graph.nodes(data=True)}


@settings(max_examples=15)
@given(books)
def test_reachability_is_that_of_the_trace(operations):
    """Ancestors of what an item holds are the items and origins of its trace, on random books with knots."""
    house, _ = built(operations)
    with house:
        for name in ITEMS:
            try:
                trace = house.back(name)
            except PourbookError:
                continue
            graph = graph_of(house, name)
            last = [
                node for node, told in graph.nodes(data=True) if told.get("id", "").replace("-", "") == house.id(name)
            ]
            ancestors = set().union(*({node} | nx.ancestors(graph, node) for node in last))
            assert ancestors == set(graph.nodes) - _lost(graph)
            expected = {part.item.id for part in trace.items if part.share} | {house.id(name)}
            assert items_in(graph, ancestors) >= expected
            origins = [node for node in ancestors if graph.nodes[node]["kind"] in ("origin", "water", "unexplained")]
            assert len(origins) == len(trace.origins)


def _lost(graph):
    return {node for node, told in graph.nodes(data=True) if told["kind"] in ("loss", "despatch")}


@pytest.mark.parametrize("forward", [False, True])
def test_a_graph_is_empty_of_what_was_voided(forward):
    """Entries that no longer count are no edges."""
    with House() as house:
        house.cask("C1", "100 l", "60")
        house.void(house.pour("C1", "B1", "10 l"))
        house.pour("C1", "B2", "10 l")
        graph = graph_of(house, "C1" if forward else "B2", forward=forward)
        assert items_in(graph, graph) == {house.id("C1"), house.id("B2")}
