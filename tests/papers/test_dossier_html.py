"""The dossier as HTML: its structure, for those who do not see it, and that it says what PDF and JSON say."""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from pourbook.papers.blocks import Part, Rows
from pourbook.papers.cells import Piece
from pourbook.papers.dossier.dossier_html import dossier_page
from pourbook.papers.dossier.dossier_paper import dossier
from pourbook.papers.dossier.dossier_rows import Named, Origin, Person
from pourbook.papers.dossier.dossier_sections import SECTIONS, sections
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.papers.dossier.first_page import first_page
from pourbook.papers.flow.flow_values import Flow, FlowEdge, FlowItem

VOID = {"meta", "br"}
EMPTY_SVG = {"path", "rect", "use"}


def place_text(place):
    """All that stands in a place of a table, on one line."""
    if isinstance(place, str):
        return place
    return place.text if isinstance(place, Piece) else " ".join(piece.text for piece in place)


@dataclass
class Element:
    """A tag with its attributes and what is inside: elements and text."""

    tag: str
    attributes: dict
    inside: list = field(default_factory=list)

    @property
    def text(self):
        return "".join(one if isinstance(one, str) else one.text for one in self.inside)

    def all(self, *tags):
        for one in self.inside:
            if isinstance(one, Element):
                if one.tag in tags:
                    yield one
                yield from one.all(*tags)


class Reader(HTMLParser):
    """Reads a page strictly: every tag that opens closes, in order."""

    def __init__(self, page):
        super().__init__()
        self.root = Element("", {})
        self.open = [self.root]
        self.feed(page)
        self.close()
        assert self.open == [self.root], f"never closed: {[one.tag for one in self.open[1:]]}"

    def handle_starttag(self, tag, attrs):
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names))
        element = Element(tag, dict(attrs))
        self.open[-1].inside.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag, attrs):
        assert tag in EMPTY_SVG
        self.open[-1].inside.append(Element(tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop().tag == tag

    def handle_data(self, data):
        self.open[-1].inside.append(data)


@pytest.fixture(scope="module")
def values(imprint):
    items = (
        FlowItem("o", "origin", ("malt spirit",), "malt spirit", own_ml=60_000.0),
        FlowItem("p", "origin", ("rye spirit",), "rye spirit", own_ml=40_000.0),
        FlowItem("l", "lot", ("L-000005-4", "Winter <Marmalade>")),
    )
    edges = (FlowEdge("o", "l", 60_000.0), FlowEdge("p", "l", 40_000.0), FlowEdge("", "l", 0.0, 8e7, "water", "water"))
    origins = (
        Origin(
            "malt spirit", "Fennick Moor", Named("C-000101-X", "hogshead 1"), "2013-05-04", 180_412_337, 60.125, 0.6
        ),
        Origin("rye & wheat", "", Named("C-000102-V"), "2013-05-04", None, None, 0.4),
    )
    return Dossier(
        imprint, "L-000005-4", "L0000054", "Winter <Marmalade>", bottles=720, strength_vol=46.0, origins=origins,
        people=(Person("MA/17", "", "fill 2"),), flow=Flow("back", "l", items, edges), heads=("4:" + "0f" * 32,),
        warnings=("the strength of entry 900 is pending",),
    )  # fmt: skip


@pytest.fixture(scope="module")
def page(values):
    return Reader(dossier_page(values)).root


def test_the_page_names_its_language_and_itself_and_fetches_nothing(values, page):
    (html,) = page.all("html")
    assert html.attributes["lang"] == "en"
    (title,) = page.all("head")
    assert title.inside
    assert next(page.all("title")).text == "Lot dossier L-000005-4, Winter <Marmalade>"
    assert list(page.all("script", "link", "img", "iframe")) == []
    assert not re.search(r'src=|href="(?!#)|@import|url\(', dossier_page(values))
    assert "@media print" in next(page.all("style")).text
    assert "Vapour of strong spirit ignites" in next(page.all("footer")).text


def test_headings_are_in_order_and_every_section_is_there(page):
    """One first heading, no level left out, each section named by its heading."""
    headings = list(page.all("h1", "h2", "h3"))
    levels = [int(heading.tag[1]) for heading in headings]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    assert [heading.text.split("  ")[-1] for heading in headings if heading.tag == "h2"] == [
        "The lot", *(title for title, _ in SECTIONS)
    ]  # fmt: skip
    ids = {heading.attributes["id"] for heading in headings if heading.tag == "h2"}
    assert {section.attributes["aria-labelledby"] for section in page.all("section")} == ids
    silent = [section for section in page.all("section") if "None recorded." in section.text]
    assert len(silent) == len(SECTIONS) - 6 + 1, "all but flow, its figures, origins, people, method, journal; the lot"


def test_no_heading_is_said_twice(page):
    """Neither as a caption nor as the name of a region: what is named by a heading points to it."""
    said = [heading.text for heading in page.all("h1", "h2", "h3")]
    assert len(said) == len(set(said))
    assert list(page.all("caption")) == []
    assert [one for one in page.all("div", "table", "section") if "aria-label" in one.attributes] == []


def test_every_identifier_is_used_once(page):
    ids = [one.attributes["id"] for one in page.all("h2", "h3", "title", "desc") if "id" in one.attributes]
    assert len(ids) == len(set(ids))


def test_tables_are_named_by_a_heading_and_have_heads_with_their_scope(page):
    tables = list(page.all("table"))
    headings = {one.attributes["id"]: one.text for one in page.all("h2", "h3")}
    assert tables
    for table in tables:
        assert headings[table.attributes["aria-labelledby"]]
        (head,) = table.all("thead")
        columns = list(head.all("th"))
        assert {one.attributes["scope"] for one in columns} == {"col"}
        assert all(one.text for one in columns)
        for row in [
            *next(table.all("tbody")).all("tr"),
            *(row for foot in table.all("tfoot") for row in foot.all("tr")),
        ]:
            cells = list(row.all("th", "td"))
            assert len(cells) == len(columns)
            assert [one.tag for one in cells] == ["th", *["td"] * (len(cells) - 1)]
            assert cells[0].attributes["scope"] == "row"


def test_the_picture_has_a_name_a_description_and_its_table(page):
    (figure,) = page.all("figure")
    (svg,) = figure.all("svg")
    told = {one.attributes.get("id"): one.text for one in svg.all("title", "desc")}
    assert svg.attributes["role"] == "img"
    assert all(told[name] for name in svg.attributes["aria-labelledby"].split())
    assert next(figure.all("figcaption")).text == told["picture-description"]
    section = next(one for one in page.all("section") if next(one.all("h2")).text.endswith(SECTIONS[-2][0]))
    assert len(list(section.all("table"))) == 1


def test_the_symbol_is_also_text(values, page):
    assert f"Text of the symbol: {values.head_text}" in page.text
    named = [svg.attributes["aria-label"] for svg in page.all("svg") if "aria-label" in svg.attributes]
    assert named == ["QR symbol of the journal hash"]


def test_what_was_typed_is_text_and_never_markup(values, page):
    assert "Winter <Marmalade>" in page.text
    assert "rye & wheat" in page.text
    assert next(page.all("p")).text == values.imprint.house
    assert "Provisional: the strength of entry 900 is pending" in [
        p.text for p in page.all("p") if p.attributes.get("class") == "strong"
    ]


def _tables(blocks):
    for block in blocks:
        if isinstance(block, Rows):
            yield block
        elif isinstance(block, Part):
            yield from _tables(block.blocks)


def test_pdf_and_html_say_the_same_in_every_place_of_every_table(read, squeezed, values, page):
    in_pdf = read(dossier(values)).joined
    told = [first_page(values), *(blocks for _, blocks in sections(values))]
    expected = [table for blocks in told for table in _tables(blocks)]
    shown = list(page.all("table"))
    assert len(shown) == len(expected)
    for table, element in zip(expected, shown, strict=True):
        rows = [*table.rows, *([table.total] if table.total else [])]
        said = [row for part in element.all("tbody", "tfoot") for row in part.all("tr")]
        assert len(said) == len(rows)
        for row, html_row in zip(rows, said, strict=True):
            texts = [squeezed(place_text(place)) for place in row]
            assert [squeezed(cell.text) for cell in html_row.all("th", "td")] == texts
            assert all(text in in_pdf for text in texts)
