"""The flow picture: what it conserves, that nothing lies upon anything else, and that SVG and PDF are one picture."""

import re
import xml.etree.ElementTree as ET
from itertools import combinations, pairwise

import pytest
from drawn_files import SVG, same_outlines
from hypothesis import given
from hypothesis import strategies as st

from pourbook import typefaces
from pourbook.papers.flow.flow_grouping import MOST_PLACES
from pourbook.papers.flow.flow_layout import HIGHEST_PT, PAD_PT, TAB_PT, laid_out
from pourbook.papers.flow.flow_marks import _strip, flow_drawn
from pourbook.papers.flow.flow_paper import WIDTH_PT, flow_document, flow_on_page, flow_paper
from pourbook.papers.flow.flow_table import flow_rows
from pourbook.papers.flow.flow_values import ITEMS, Flow, FlowEdge, FlowItem
from pourbook.papers.marks import PALETTE, Outline, Words
from pourbook.papers.page import Title
from pourbook.words.paper_figures import Notation

DOT = Notation()
TITLE = Title("Flow of pure alcohol", "L-000005-4", "L0000054")
HAIR = 0.02
WOODS = ("first-fill oak barrel", "refill oak hogshead", "virgin chestnut cask")


def layout_of(flow):
    return laid_out(flow, WIDTH_PT, HIGHEST_PT, DOT)


@st.composite
def flows(draw, most_columns=6, most_in_a_column=9):
    """A lot from so many columns of items; each gives all it has onward, in whole millilitres."""
    depth = draw(st.integers(1, most_columns))
    columns = [[FlowItem("l", "lot", ("L-000005-4", "Lot 26-1"))]]
    for column in range(1, depth + 1):
        kind = "origin" if column == depth else draw(st.sampled_from(("cask", "vial", "trial", "batch")))
        columns.append([
            FlowItem(f"{column} {n}", kind, (f"C-{column}{n:05d}-X", WOODS[n % 3]), "malt", WOODS[n % 3], "2015")
            for n in range(draw(st.integers(1, most_in_a_column)))
        ])  # fmt: skip
    edges = {}
    given_ml = {"l": draw(st.integers(1, 10**6))}
    for column, items in enumerate(columns[:-1]):
        for item in items:
            left = given_ml.get(item.key, 0)
            for _ in range(draw(st.integers(1, 3))):
                source = draw(st.sampled_from(columns[draw(st.integers(column + 1, depth))])).key
                part = draw(st.integers(0, left))
                edges[source, item.key] = edges.get((source, item.key), 0) + part
                given_ml[source] = given_ml.get(source, 0) + part
                left -= part
            source = columns[column + 1][0].key
            edges[source, item.key] = edges.get((source, item.key), 0) + left
            given_ml[source] = given_ml.get(source, 0) + left
    added = (
        FlowEdge("", "l", 0.0, draw(st.integers(1, 10**9)), draw(st.sampled_from(("water", "additive"))), "spring 4"),
    )
    reached = {key for pair in edges for key in pair}
    items = tuple(
        item._replace(own_ml=float(given_ml[item.key])) if column == depth else item
        for column, own in enumerate(columns) for item in own if item.key in reached
    )  # fmt: skip
    return Flow("back", "l", items, (*(FlowEdge(*pair, float(ml)) for pair, ml in edges.items()), *added))


def wide(casks, years=8):
    """So many casks of three spirits into one vat and lot."""
    spirits = ("malt spirit", "rye spirit", "grain spirit")
    items = [FlowItem(f"c{n}", "cask", (f"C-{n:06d}-X", f"Q {n}", WOODS[n % 3], str(2010 + n % years)),
                      spirits[n % 7 % 3], WOODS[n % 3], str(2010 + n % years)) for n in range(casks)]  # fmt: skip
    sources = [FlowItem(spirit, "origin", (spirit,), spirit) for spirit in spirits]
    amounts = [1000.0 + 37 * n % 900 for n in range(casks)]
    into = [FlowEdge(item.spirit, item.key, ml) for item, ml in zip(items, amounts, strict=True)]
    own = [one._replace(own_ml=sum(edge.ml for edge in into if edge.source == one.key)) for one in sources]
    vat, lot = FlowItem("b", "batch", ("B-000001-Y", "Vatting 9")), FlowItem("l", "lot", ("L-000005-4", "Lot 26-9"))
    edges = (*into, *(FlowEdge(item.key, "b", ml) for item, ml in zip(items, amounts, strict=True)),
             FlowEdge("b", "l", sum(amounts)), FlowEdge("", "b", 0.0, 8e7, "water", "water"))  # fmt: skip
    return Flow("back", "l", (*own, *items, vat, lot), edges)


def chain(vats):
    """Vat upon vat, each on the heel of the one before, with two casks of its own."""
    items, edges, heel = [], [], 0.0
    for n in range(vats):
        wood = WOODS[n % 3]
        items += [FlowItem(f"c{n}{side}", "cask", (f"C-{n}{side}", wood), "malt", wood, own_ml=100.0) for side in "ab"]
        items.append(FlowItem(f"b{n}", "batch", (f"B-{n}", f"Vatting {n}")))
        edges += [FlowEdge(f"c{n}{side}", f"b{n}", 100.0) for side in "ab"]
        if n:
            edges.append(FlowEdge(f"b{n - 1}", f"b{n}", heel))
        heel += 200.0
    return Flow("back", f"b{vats - 1}", tuple(items), tuple(edges))


# -- conservation --------------------------------------------------------------------------


def conserved(layout):
    """At every place the ribbons that reach it, and what begins there, are the ones that leave it and the rest."""
    amounts = layout.flow.amounts()
    for box in layout.boxes:
        reached = sum(ribbon.thickness for ribbon in layout.ribbons if ribbon.link.target == box.item.key)
        left = sum(ribbon.thickness for ribbon in layout.ribbons if ribbon.link.source == box.item.key)
        own, rest = amounts[box.item.key].own * layout.scale, amounts[box.item.key].rest * layout.scale
        assert reached + own == pytest.approx(left + rest, abs=1e-6)
        assert box.band[1] == pytest.approx(max(reached + own, left), abs=1e-6)
        if layout.flow.direction == "back" and box.item.key != layout.flow.traced:
            assert rest == pytest.approx(0, abs=1e-6)
    assert sum(own.own for own in amounts.values()) == pytest.approx(layout.flow.total_ml, rel=1e-9)


@pytest.mark.parametrize(
    "flow", [wide(60), wide(200), wide(900), chain(3), chain(40)], ids=lambda flow: len(flow.items)
)
def test_widths_are_conserved_in_large_pictures(flow):
    layout = layout_of(flow)
    conserved(layout)
    assert len(layout.boxes) <= MOST_PLACES
    assert sum(box.item.members for box in layout.boxes if box.item.kind == "cask") <= len(flow.items)
    nothing_overlaps(layout)


# -- nothing lies upon anything else ---------------------------------------------------------


def nothing_overlaps(layout):
    foot = layout.height + HAIR
    for box in layout.boxes:
        assert box.x >= -HAIR
        assert box.y >= -HAIR
        assert box.x + box.width <= layout.width + HAIR
        assert box.y + box.height <= foot
    for one, other in combinations(layout.boxes, 2):
        across = min(one.x + one.width, other.x + other.width) - max(one.x, other.x)
        down = min(one.y + one.height, other.y + other.height) - max(one.y, other.y)
        assert across <= HAIR or down <= HAIR, (one.item.label, other.item.label)
    for ribbon in layout.ribbons:
        for (x0, y0), (x1, _) in list(pairwise(ribbon.points))[1::2]:
            for box in layout.boxes:
                beside = box.x + box.width <= x0 + HAIR or box.x >= x1 - HAIR
                apart = box.y + box.height <= y0 + HAIR or box.y >= y0 + ribbon.thickness - HAIR
                assert beside or apart, "a lane runs behind a place"


def text_fits(layout):
    """Words are inside their boxes, none upon another, and the legend inside the page."""
    words = [mark for mark in flow_drawn(layout, DOT).marks if isinstance(mark, Words)]
    rooms = []
    for mark in words:
        width = typefaces.width_pt(mark.text, mark.type.face, mark.type.size_pt)
        assert mark.x >= 0
        assert mark.x + width <= layout.width + HAIR
        assert mark.y <= flow_drawn(layout, DOT).height
        rooms.append((mark.x, mark.y - 0.74 * mark.type.size_pt, mark.x + width, mark.y + 0.22 * mark.type.size_pt))
    for one, other in combinations(rooms, 2):
        assert (
            min(one[2], other[2]) - max(one[0], other[0]) <= HAIR
            or min(one[3], other[3]) - max(one[1], other[1]) <= 0.3
        )
    for box in layout.boxes:
        inner = box.width - TAB_PT - 2 * PAD_PT
        for line in box.lines:
            assert typefaces.width_pt(line, layout.type.face, layout.type.size_pt) <= inner + HAIR
        assert box.height >= (len(box.lines) + len(box.additions)) * layout.type.leading_pt - HAIR


@given(flow=flows())
def test_whatever_is_drawn_is_conserved_and_nothing_lies_upon_anything_else(flow):
    """Widths add up at every place; no place, word or lane lies on another or leaves the page."""
    layout = layout_of(flow)
    conserved(layout)
    assert layout.flow.total_ml == pytest.approx(flow.total_ml, rel=1e-9)
    nothing_overlaps(layout)
    text_fits(layout)


def test_the_longest_names_still_fit(polish, greek):
    items = (FlowItem("c", "cask", ("C-000001-H", polish, greek), own_ml=5.0), FlowItem("l", "lot", ("L", polish)))
    layout = layout_of(
        Flow("back", "l", items, (FlowEdge("c", "l", 5.0), FlowEdge("", "l", 0.0, 1e9, "water", polish)))
    )
    nothing_overlaps(layout)
    text_fits(layout)


def test_links_run_from_left_to_right_only():
    layout = layout_of(chain(4))
    for ribbon in layout.ribbons:
        xs = [x for x, _ in ribbon.points]
        assert xs == sorted(xs)


# -- grouping -----------------------------------------------------------------------------------


def test_sixty_casks_stand_each_for_itself():
    layout = layout_of(wide(60))
    assert layout.flow.grouped == ""
    assert sum(box.item.kind == "cask" for box in layout.boxes) == 60


def test_two_hundred_casks_are_grouped_by_what_they_have_in_common_and_none_is_lost():
    layout = layout_of(wide(200))
    groups = [box.item for box in layout.boxes if box.item.kind == "cask"]
    assert layout.flow.grouped.startswith("casks, vials and trials at the same step grouped by")
    assert sum(group.members for group in groups) == 200
    assert 3 <= len(groups) <= 60
    assert all(re.fullmatch(r"\d+ casks", group.label[0]) for group in groups)


def test_a_long_chain_of_heels_ends_in_what_lies_far_away():
    """The last vats stand each for itself; what is before them is one place with its share."""
    flow = chain(40)
    layout = layout_of(flow)
    names = {box.item.label[0] for box in layout.boxes}
    assert {"B-39", "B-38", "B-37"} <= names
    (beyond,) = [box.item for box in layout.boxes if "beyond" in box.item.label[0]]
    shown = sum(box.item.kind in ("cask", "batch") for box in layout.boxes) - 1
    assert beyond.members + shown == len(flow.items)


def test_many_waters_of_one_place_and_many_customers_are_few_lines():
    """None of the mass is lost, and all of it still fits."""
    waters = [FlowEdge("", "l", 0.0, 1e6 + n, "water", f"spring {n}") for n in range(300)]
    ends = [FlowItem(f"e{n}", "end", ("despatched", f"Customer {n}"), "despatched") for n in range(150)]
    edges = (FlowEdge("c", "l", 900.0), *(FlowEdge("l", end.key, 6.0) for end in ends), *waters)
    items = (FlowItem("c", "cask", ("C",), own_ml=900.0), FlowItem("l", "lot", ("L",)), *ends)
    layout = layout_of(Flow("forward", "c", items, edges))
    (water,) = [edge for edge in layout.flow.edges if edge.kind == "water"]
    assert water.mass_mg == sum(edge.mass_mg for edge in waters)
    (end,) = [box.item for box in layout.boxes if box.item.kind == "end"]
    assert (end.members, end.label[-1]) == (150, "despatched")
    conserved(layout)
    nothing_overlaps(layout)
    text_fits(layout)


def test_distances_are_the_longest_ways():
    flow = chain(3)
    assert flow.distances() == {"b2": 0, "b1": 1, "b0": 2, "c2a": 1, "c2b": 1, "c1a": 2, "c1b": 2, "c0a": 3, "c0b": 3}


# -- one picture in two forms ------------------------------------------------------------------


def test_svg_and_pdf_draw_the_same_outlines_at_the_same_places(imprint):
    flow = wide(12)
    expected = [mark for mark in flow_drawn(layout_of(flow), DOT).marks if isinstance(mark, Outline)]
    same_outlines(expected, flow_document(flow, imprint, TITLE), flow_paper(flow, imprint, TITLE))


def test_the_svg_is_one_image_with_title_description_and_its_figures_as_text(imprint):
    flow = wide(5)
    text = flow_document(flow, imprint, TITLE)
    root = ET.fromstring(text)
    assert root.get("role") == "img"
    ids = {element.get("id"): element.text for element in root if element.get("id")}
    assert [ids[name] for name in root.get("aria-labelledby").split()] == [
        "Flow of pure alcohol L-000005-4",
        ids["picture-description"],
    ]
    assert "of pure alcohol in L-000005-4" in ids["picture-description"]
    words = [element.text for element in root.iter(f"{SVG}text")]
    for row in flow_rows(layout_of(flow)):
        assert row.into in words
        assert row.source in words
        if row.mass_mg is None:
            assert DOT.fixed(row.ml / 1000, 3) in words
    left, top, width, height = map(float, root.get("viewBox").split())
    for element in root.iter(f"{SVG}text"):
        assert float(element.get("x")) + float(element.get("textLength")) <= left + width
        assert float(element.get("y")) <= top + height
    assert imprint.head_hash in text
    assert "<script" not in text


def test_on_a_page_every_place_of_one_item_is_a_link_above_its_words():
    """A group, since nothing within an image can be reached; what stands for several items leads nowhere."""
    flow = wide(5)
    shown = flow_on_page(flow, DOT, "Flow", lambda item: f"/item/{item}?a&b")
    root = ET.fromstring(shown.svg)
    assert root.get("role") == "group"
    links = [link.get("href") for link in root.iter(f"{SVG}a")]
    alone = [box.item for box in layout_of(flow).boxes if box.item.kind in ITEMS and box.item.members == 1]
    assert sorted(links) == sorted(f"/item/{item.key.split()[0]}?a&b" for item in alone)
    assert list(root)[-1].tag == f"{SVG}a", "nothing lies above them"
    assert len(shown.rows) == len(flow_rows(layout_of(flow)))
    assert set(shown.named) <= {text for row in shown.rows for text in row[:2]}


def test_the_table_has_every_figure_of_the_picture():
    """Each ribbon once, each addition once, and sums where several come together."""
    layout = layout_of(wide(9))
    rows = flow_rows(layout)
    single = [row for row in rows if row.source != "total" and row.mass_mg is None]
    assert sorted(row.ml for row in single) == sorted(ribbon.link.ml for ribbon in layout.ribbons)
    for row in rows:
        if row.source == "total":
            assert row.ml == pytest.approx(sum(one.ml for one in single if one.into == row.into))
    assert [row.mass_mg for row in rows if row.mass_mg is not None] == [8e7]


def test_equal_values_give_equal_pictures(imprint):
    assert flow_document(wide(70), imprint, TITLE) == flow_document(wide(70), imprint, TITLE)
    assert flow_paper(wide(7), imprint, TITLE) == flow_paper(wide(7), imprint, TITLE)


def test_the_paper_is_well_set(read, well_set, imprint):
    well_set(read(flow_paper(chain(3), imprint, TITLE, "Letter")), 12 / 25.4 * 72 - 0.5)


# -- for every eye -------------------------------------------------------------------------------


def luminance(colour):
    """Relative luminance, WCAG 2.2 (W3C Recommendation 2023), definition of relative luminance."""
    parts = (int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5))
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_black_words_are_legible_on_every_colour():
    """Contrast of 7 to 1 (WCAG 2.2, criterion 1.4.6) even on the full colour; bands are lighter still."""
    for colour in PALETTE.values():
        assert (luminance(colour) + 0.05) / 0.05 >= 7


def test_kinds_differ_without_colour():
    """Each kind's strip is ruled otherwise than any other's."""
    strips = [[(mark.path, mark.dash, mark.fill) for mark in _strip(kind, 0.0, 0.0, 30.0)] for kind in PALETTE]
    assert all(one != other for one, other in combinations(strips, 2))


def test_water_and_additives_are_seen_though_they_have_no_width():
    added = (FlowEdge("", "l", 0.0, 8.2e7, "water", "spring 4"), FlowEdge("", "l", 0.0, 2e5, "additive", "caramel"))
    flow = Flow("back", "l", (FlowItem("l", "lot", ("L",), own_ml=5.0),), added)
    layout = layout_of(flow)
    drawn = flow_drawn(layout, DOT).marks
    assert {mark.title for mark in drawn if isinstance(mark, Outline) and mark.what == "mark"} >= {"water", "additive"}
    words = [mark.text for mark in drawn if isinstance(mark, Words)]
    assert "spring 4 82.0 kg" in words
    assert "caramel 0.2 kg" in words
    assert layout.boxes[0].band[1] == pytest.approx(5.0 * layout.scale)
