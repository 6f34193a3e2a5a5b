"""The run sheet of a bottling: boxes while it runs, figures when it has ended, and a symbol that reads as the run."""

import pytest
from house import House, moment

from pourbook.actions.bottling_run import Added, Begun, Measured, Rest
from pourbook.actions.happening import Happening
from pourbook.book.bottling_runs import Tally
from pourbook.quantities import read_amount

HOW = Happening("M. Aldane", moment("2024-05-02 09:00"))


@pytest.fixture
def line(polish):
    """A vat with a long name, from which two sizes are filled, in a house that writes commas."""
    with House(decimal_mark=",", contents_rule="uk-2006-659") as house:
        house.open("B1", ref=polish[:60], name=polish, place="Vat 3", at="2024-05-01")
        house.fill("B1", "200 l", "46", at="2024-05-01")
        house.clock.us = moment("2024-05-02 10:00")
        begun = Begun(read_amount("700 ml"), {"ref": "Lot 7", "lot_mark": "L26-118", "closure": polish})
        house.book.begin_bottling(HOW, house.id("B1"), begun)
        house.book.begin_bottling(HOW, house.id("B1"), Begun(read_amount("50 ml"), {"ref": "Small"}, "Lot 7"))
        yield house


def sheet(house, size="A4"):
    from pourbook.actions.print_paper import Output

    return next(iter(house.book.print_run_sheet(HOW, "Small", Output(size=size)).files.values()))


def ended(house):
    book = house.book
    book.add_to_bottling(HOW, "Lot 7", Added(Tally(filled=200, broken=2), goods={"closure": "stopper K-78"}))
    book.measure_fills(HOW, "Lot 7", Measured(("701", "700") * 25))
    book.add_to_bottling(HOW, "Small", Added(Tally(filled=1000)))
    book.end_bottling(HOW, "Lot 7", Rest(read_amount("9.7 l")))


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_before_the_line_there_are_boxes(line, read, scan, well_set, size):
    """What to look at, what to count, how little a bottle may hold: 700 - 15 and 50 - 4.5 ml (gov.uk, read)."""
    printed = sheet(line, size)
    paper = read(printed)
    well_set(paper, 30)
    text = "\n".join(page.text for page in paper.pages)
    for words in ("Before the line", "Counted at the line", "L26-118", "685,0", "45,5", "46,00 % vol", "under way"):
        assert words in text
    assert "in the bottles" not in text
    codes = [text for page in scan(printed) for _, text in page]
    assert {"L000001C", "L000002A"} <= {text.replace("-", "") for text in codes}


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_after_the_run_there_are_figures(line, read, well_set, size):
    """200 bottles of 700.5 ml and 1,000 of 50 ml are 190.1 l of 200; 0.2 are missing of what is not left."""
    ended(line)
    paper = read(sheet(line, size))
    well_set(paper, 20)
    text = "\n".join(page.text for page in paper.pages)
    assert "Before the line" not in text
    for words in (
        "200 bottles filled, 2 broken", "mean 700,50 ml", "the lot passes", "stopper K-78, from bottle 201 on",
        "190,10", "9,70", "left in it, measured", "all 1000 bottles: 1000 loose",
    ):  # fmt: skip
        assert words in text


def test_the_paper_is_an_entry_about_every_lot_of_the_run(line):
    """With where the journal stood, and how many bottles were counted by then."""
    ended(line)
    printed = line.book.print_run_sheet(HOW, "Lot 7")
    assert printed.facts["bottles"] == 1200
    (number,) = printed.recorded.numbers
    from pourbook.book.journal import entry_of

    body = entry_of(line.book.store, number).entry["body"]
    assert (body["paper"], body["items"]) == ("bottling run sheet", ["L000001C", "L000002A"])
