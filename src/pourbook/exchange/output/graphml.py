"""A lineage as GraphML, for programs that draw and reckon with graphs.

A node is a fill (what lies in an item between two mixings), what came from outside, or what left; an edge
is a pour, or what remained under it, and always points the way the liquid went. So one node can be reached
from another exactly where liquid of the one is in the other: a cask filled again later is another node.

>>> import io
>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> filled = Move("origin", cask, 1000, composition=Liquid(1000, 500))
>>> _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(Pour("fill", (filled,)), 0, "M. Aldane"))
>>> file = io.StringIO()
>>> export_graphml(book, file, [cask])
2
>>> '<edge source="origin-3" target="C000001H-3">' in file.getvalue()
True
"""

import xml.etree.ElementTree as ET
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, TextIO

from pourbook.book.holding import LINES
from pourbook.book.items import facts
from pourbook.codes.identifiers import hyphened, key_of, kind_of
from pourbook.exchange.output.fills import Fill
from pourbook.exchange.output.happenings import told_of
from pourbook.times import written

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["export_graphml"]

_OF_NODES = {"id": "string", "kind": "string", "ref": "string", "spirit": "string"}
_OF_EDGES = {
    "mass_mg": "long", "ethanol_mg": "long", "extract_mg": "long", "entry": "long",
    "happened": "string", "who": "string", "verb": "string",
}  # fmt: skip


def export_graphml(
    book: "BookCore", file: TextIO, items: Sequence[str], *, forward: bool = False, at_us: int | None = None
) -> int:
    """Write the lineage of items; how many nodes it has.

    Args:
        book: to read.
        file: open for writing text.
        items: whose lineage.
        forward: what they went into, in place of what went into them.
        at_us: as of that moment; None is now.

    Raises:
        Refused: nothing was ever poured into an item.
    """
    root = ET.Element("graphml", xmlns="http://graphml.graphdrawing.org/xmlns")
    for over, names in (("node", _OF_NODES), ("edge", _OF_EDGES)):
        for name, type_ in names.items():
            told = {"id": f"{over}-{name}", "for": over, "attr.name": name, "attr.type": type_}
            ET.SubElement(root, "key", told)
    graph = ET.SubElement(root, "graph", edgedefault="directed")
    with book.store.snapshot():
        nodes = _fill_in(graph, book, items, forward=forward, at_us=at_us)
    ET.indent(root)
    ET.ElementTree(root).write(file, encoding="unicode", xml_declaration=True)
    file.write("\n")
    return nodes


def _fill_in(graph: ET.Element, book: "BookCore", items: Sequence[str], *, forward: bool, at_us: int | None) -> int:
    told = [one for one in told_of(book, items, forward=forward, at_us=at_us) if not one.gone]
    spirits = {one.made.fill: str(one.facts.get("spirit", "")) for one in told if one.what == "arrival" and one.made}
    nodes: dict[Fill, ET.Element] = {}
    edges: list[ET.Element] = []
    for one in told:
        if one.what not in ("mixing", "loss", "despatch"):
            continue
        target = one.made.fill if one.made else Fill(one.what, one.number, one.place % LINES)
        verb = str(one.entry["body"].get("verb", one.what))
        common = {"entry": one.number, "happened": written(one.happened_us), "who": one.entry["who"], "verb": verb}
        for part in one.flows:
            for fill in (part.fill, target):
                if fill not in nodes:
                    nodes[fill] = _node(book, fill, spirits.get(fill, ""))
            edge = ET.Element("edge", source=part.fill.name, target=target.name)
            _put(edge, "edge", common | (part.liquid._asdict() if part.liquid else {}))
            edges.append(edge)
    graph.extend([*nodes.values(), *edges])
    return len(nodes)


def _node(book: "BookCore", fill: Fill, spirit: str) -> ET.Element:
    node = ET.Element("node", id=fill.name)
    if fill.inside:
        ref = facts(book.store, key_of(fill.where)).get("ref", "")
        _put(node, "node", {"id": hyphened(fill.where), "kind": kind_of(fill.where), "ref": ref})
    else:
        _put(node, "node", {"kind": fill.where, "spirit": spirit})
    return node


def _put(element: ET.Element, over: str, values: Mapping[str, str | int]) -> None:
    for name, value in values.items():
        if value != "":
            ET.SubElement(element, "data", key=f"{over}-{name}").text = _printable(str(value))


def _printable(text: str) -> str:
    """XML cannot carry control characters, however they are written."""
    return "".join(char if char >= " " or char in "\t\n" else "�" for char in text)
