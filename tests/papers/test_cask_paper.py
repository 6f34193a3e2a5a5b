"""The history of a cask on paper: what is known, what is not, and a symbol that reads as the cask."""

import pytest
from house import House

from pourbook import Note
from pourbook.book.entries import Stage, Taste
from pourbook.papers.cask_paper import CaskPaper, cask_paper
from pourbook.paperwork.imprint import imprint_of
from pourbook.queries.casks.provenance import provenance
from pourbook.times import house_zone


def printed(house, name, paper="A4"):
    """The paper of a cask by its short name."""
    found = provenance(house.book, house.id(name))
    return cask_paper(CaskPaper(imprint_of(house.book), found, house_zone("UTC")), paper)


@pytest.fixture
def known(polish):
    """A cask with long names, five fills, repairs and all that is known of its wood."""
    with House(decimal_mark=",") as house:
        house.open("C1", at="2000-01-01", ref=polish[:90], wood=polish, cooper="Brindle Cooperage", toast="medium",
                   capacity_l="225.5", earlier_fills="2",
                   previous=f"red wine, 1990; {polish}; fortified wine")  # fmt: skip
        house.record(Note(house.id("C1"), f"dry; {polish}", "arrival"), at="2000-01-02")
        for year in range(2001, 2011, 2):
            house.fill("C1", "200 l", "60", at=f"{year}-01-01", spirit=polish, wood_days=0)
            house.draw("C1", f"V{year}", "200 ml", at=f"{year + 1}-01-01")
            house.dump("C1", f"B{year}", at=f"{year + 1}-02-01")
            house.pour(f"B{year}", f"L{year}", "70 l", at=f"{year + 1}-03-01")
        yield house


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_a_long_history_stands_whole_on_its_pages(known, read, well_set, size):
    """Five fills, the first of them the cask's third; nothing covers anything else."""
    paper = read(printed(known, "C1", size))
    well_set(paper, 30)
    text = paper.text
    assert [f"Fill {number}:" in text for number in range(2, 9)] == [False, True, True, True, True, True, False]
    wood = ("225,5 l", "Brindle Cooperage", "1. red wine, 1990", "3. fortified wine")
    for words in (*wood, "through others", "arrival"):
        assert words in text


def test_what_was_found_in_it_and_in_its_glasses_stands_on_it(known, read, well_set):
    """In the house's decimal mark, and saying what was tasted."""
    known.fill("C1", "180 l", "60", at="2012-01-01", spirit="malt spirit", wood_days=0)
    known.draw("C1", "V1", "200 ml", at="2012-02-01")
    nose = {"nose": Stage("a little shy", {"pear": "3,5", "oak": "1"}), "finish": Stage("short")}
    for name in ("C1", "V1"):
        known.record(Taste(known.id(name), "Isla Farrow", stages=nose, score="82,5"), at="2012-03-01")
    paper = read(printed(known, "C1"))
    well_set(paper, 30)
    words = " ".join(paper.text.split())
    assert "Tasting notes" in words
    assert "a glass of it" in words
    assert words.count("82,5") == 2


def test_a_cask_of_which_nothing_is_known_says_so(read, well_set):
    """No heading stands over nothing, and nothing is guessed."""
    with House() as house:
        house.open("C1")
        paper = read(printed(house, "C1"))
    well_set(paper, 30)
    assert paper.text.count("unknown") == 8
    assert paper.text.count("nothing recorded") == 3
    assert len(paper.pages) == 1


def test_the_symbol_of_every_page_is_the_cask(known, scan):
    """Whoever scans the paper finds the cask."""
    pages = scan(printed(known, "C1"))
    assert len(pages) > 1
    assert pages[0] == [("QRCode", known.id("C1"))]
