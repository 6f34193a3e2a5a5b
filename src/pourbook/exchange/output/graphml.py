"""A lineage as GraphML, for programs that draw and analyse graphs.

A node is a fill (what is in an item between two mixings), what came from outside, or what left; an edge is a pour,
or what remained under it, and points the way the liquid went. So one node can be reached from another exactly where
it holds liquid of it: a refilled cask is another node.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> filled = Move("origin", cask, 1000, composition=Liquid(1000, 500))
>>> _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(Pour("fill", (filled,)), 0, "M. Aldane"))
>>> [edge.attrib for edge in graphml_document(book, [cask]).iter("edge")]
[{'source': 'origin-3', 'target': 'C000001H-3'}]
"""

import xml.etree.ElementTree as ET
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from pourbook.book.items import facts
from pourbook.codes.identifiers import hyphened, key_of, kind_of
from pourbook.exchange.output.codes import code_of
from pourbook.exchange.output.happenings import told_of
from pourbook.times import written

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["as_xml", "graphml_document"]

_OF_NODES = {"id": "string", "kind": "string", "ref": "string", "spirit": "string"}
_OF_EDGES = {
    "mass_mg": "long", "ethanol_mg": "long", "extract_mg": "long", "entry": "long",
    "happened": "string", "who": "string", "verb": "string",
}  # fmt: skip


def graphml_document(
    book: "BookCore",
    items: Sequence[str],
    *,
    forward: bool = False,
    at_us: int | None = None,
    names: bool = True,
) -> ET.Element:
    """The lineage of items as of `at_us` (None: now); with `forward`, what they went into. Without `names`, by codes.

    Raises:
        Refused: nothing was ever poured into an item.
    """
    root = ET.Element("graphml", xmlns="http://graphml.graphdrawing.org/xmlns")
    for over, types in (("node", _OF_NODES), ("edge", _OF_EDGES)):
        for name, type_ in types.items():
            ET.SubElement(root, "key", {"id": f"{over}-{name}", "for": over, "attr.name": name, "attr.type": type_})
    graph = ET.SubElement(root, "graph", edgedefault="directed")
    with book.store.snapshot():
        told = [one for one in told_of(book, items, forward=forward, at_us=at_us) if not one.gone]
        spirits = {one.goal: str(one.facts.get("spirit", "")) for one in told if one.what == "arrival"}
        fills = dict.fromkeys(fill for one in told for part in one.flows for fill in (part.fill, one.goal))
        for fill in fills:
            told_of_node = {"kind": fill.where, "spirit": spirits.get(fill, "")}
            if fill.inside:
                ref = facts(book.store, key_of(fill.where)).get("ref", "")
                told_of_node = {"id": hyphened(fill.where), "kind": kind_of(fill.where), "ref": ref}
            _put(ET.SubElement(graph, "node", id=fill.name), "node", told_of_node)
    code = code_of(book, names=names)
    for one in told:
        common: dict[str, str | int] = {"entry": one.number, "happened": written(one.happened_us)}
        common |= {"who": code(one.entry["who"]), "verb": one.verb}
        for part in one.flows:
            edge = ET.SubElement(graph, "edge", source=part.fill.name, target=one.goal.name)
            _put(edge, "edge", common | (part.liquid._asdict() if part.liquid else {}))
    return root


def as_xml(document: ET.Element) -> str:
    """The text of a document."""
    ET.indent(document)
    return f"<?xml version='1.0' encoding='UTF-8'?>\n{ET.tostring(document, encoding='unicode')}\n"


def _put(element: ET.Element, over: str, values: Mapping[str, str | int]) -> None:
    for name, value in values.items():
        if value != "":
            # XML cannot carry control characters, however they are written.
            text = "".join(char if char >= " " or char in "\t\n" else "�" for char in str(value))
            ET.SubElement(element, "data", key=f"{over}-{name}").text = text
