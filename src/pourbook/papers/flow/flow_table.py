"""The figures of a flow picture as rows: every place, and what came into it from where.

>>> from pourbook.papers.flow.flow_layout import laid_out
>>> from pourbook.papers.flow.flow_values import Flow, FlowEdge, FlowItem
>>> items = (FlowItem("c", "cask", ("Q 204", "oak"), own_ml=2300.0), FlowItem("l", "lot", ("Lot 26-1",)))
>>> picture = laid_out(Flow("back", "l", items, (FlowEdge("c", "l", 2300.0),)), 500, 600, Notation())
>>> [flow_texts(row, Notation()) for row in flow_rows(picture)]
[('Lot 26-1', 'Q 204 · oak', '2.300', '100.0000', '')]
"""

from typing import NamedTuple

from pourbook.papers.cells import BODY, Piece
from pourbook.papers.flow.flow_layout import Layout
from pourbook.papers.flow.flow_values import ADDED, FlowEdge
from pourbook.papers.tables import Column
from pourbook.words.paper_figures import Notation

__all__ = ["COLUMNS", "FlowRow", "described", "flow_rows", "flow_rows_shown", "flow_texts"]

COLUMNS = (
    Column("into", 50, stretch=1),
    Column("from", 50, stretch=1),
    Column("pure alcohol\nL", 22, "right"),
    Column("share\n%", 18, "right"),
    Column("mass\nkg", 18, "right"),
)

_AGAIN = BODY._replace(grey=0.55)

_SHOWN = 5e-7
"""Half a unit of the last digit of a share; a smaller rest is what floats leave over."""


class FlowRow(NamedTuple):
    """What came into a place from a source (or in total): pure alcohol and its share, or the mass of an addition."""

    into: str
    source: str
    ml: float
    share: float
    mass_mg: float | None = None


def flow_rows(layout: Layout) -> tuple[FlowRow, ...]:
    """Place by place as they stand in the picture, the item traced at the end it stands at."""
    flow = layout.flow
    amounts, total = flow.amounts(), flow.total_ml
    names = {item.key: item.short for item in flow.items}
    rows: list[FlowRow] = []

    def add(into: str, source: str, ml: float) -> None:
        rows.append(FlowRow(into, source, ml, ml / total if total else 0.0))

    for item in (box.item for box in layout.boxes):
        spirit = [edge for edge in flow.links if edge.target == item.key]
        if len(spirit) > 1:
            add(item.short, "total", sum(edge.ml for edge in spirit))
        for edge in spirit:
            add(item.short, names[edge.source] + (" (stayed)" if edge.kind == "carry" else ""), edge.ml)
        added = (edge for edge in flow.edges if edge.target == item.key and edge.kind in ADDED)
        rows += [FlowRow(item.short, _added(edge), 0.0, 0.0, edge.mass_mg) for edge in added]
        rest = amounts[item.key].rest
        if flow.direction == "forward" and item.kind != "end" and rest > total * _SHOWN:
            add("remaining", item.short, rest)
    return tuple(rows)


def _added(edge: FlowEdge) -> str:
    return edge.name if edge.name == edge.kind else f"{edge.kind}: {edge.name}"


def flow_texts(row: FlowRow, notation: Notation) -> tuple[str, ...]:
    """A row as it is printed."""
    if row.mass_mg is not None:
        return row.into, row.source, "", "", notation.kg(round(row.mass_mg))
    return row.into, row.source, notation.fixed(row.ml / 1000, 3), notation.percent(row.share, 4), ""


def flow_rows_shown(layout: Layout, notation: Notation) -> list[tuple[str | Piece, ...]]:
    """The rows for a table of a paper; what they go into is grey where the row before says it, too."""
    shown: list[tuple[str | Piece, ...]] = []
    before = ""
    for row in flow_rows(layout):
        into, *figures = flow_texts(row, notation)
        shown.append((Piece(into, _AGAIN if into == before else BODY), *figures))
        before = into
    return shown


def described(layout: Layout, notation: Notation) -> str:
    """The picture in a sentence or two, for those who do not see it."""
    flow = layout.flow
    name = next(item.name for item in flow.items if item.key == flow.traced)
    litres = f"{notation.fixed(flow.total_ml / 1000, 3)} L of pure alcohol"
    of = "of" if flow.is_whole else "in"
    way = f"where {litres} {of} {name} came from" if flow.direction == "back" else f"where {litres} of {name} went"
    return (
        f"Flow of pure alcohol: {way}, from left to right, through {len(flow.items)} places."
        " The table gives every figure." + (f" {flow.grouped[:1].upper()}{flow.grouped[1:]}." if flow.grouped else "")
    )
