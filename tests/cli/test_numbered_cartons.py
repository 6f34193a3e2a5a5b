"""Cartons that say which of how many they are: whole runs, single ones again, and what a stopped run left."""

from decimal import Decimal

import pypdfium2
import pytest
from command import VATTED, Desk, bottled, here, recorded
from pretend_printer import PretendPrinter

from pourbook import Book
from pourbook.actions.enter_printer import PrinterChanges
from pourbook.actions.happening import Happening
from pourbook.actions.label_run import LabelOrder
from pourbook.errors import Malformed, OutOfRange
from pourbook.labels import label_printers
from pourbook.labels.templates import template

HOW = Happening("M. Aldane")
LOT = "lot-carton-roll-100x60"


@pytest.fixture
def desk(tmp_path):
    """A lot of bottles in cartons of six."""
    path = recorded(tmp_path / "house.pourbook", *VATTED, bottled(60, "Lot 26-1", "--lot-mark", "26-1"))
    return Desk(path, here)


def numbers_in(path):
    """Which of how many each page says."""
    with pypdfium2.PdfDocument(path) as document:
        texts = [page.get_textpage().get_text_range() for page in document]
    return [next(line for line in text.splitlines() if " of " in line).rpartition(" · ")[2] for text in texts]


def test_a_run_of_cartons_is_numbered(desk, tmp_path):
    """The contents stay beside the number, and the journal keeps of how many they were."""
    desk.does(f"label 'Lot 26-1' --template {LOT} --numbered 10 -o {tmp_path}/c.pdf")
    assert numbers_in(tmp_path / "c.pdf") == [f"{n} of 10" for n in range(1, 11)]
    (run,) = desk.asks("print-log")["runs"]
    assert (run["count"], run["numbered"], run["numbers"]) == (10, 10, "1-10")


def test_a_torn_carton_is_printed_again_with_its_number(desk, tmp_path):
    """It keeps its place among the others."""
    line = f"label 'Lot 26-1' --template {LOT} --numbered 10 --numbers '9, 3-4' --reason torn -o {tmp_path}/c.pdf"
    desk.does(line)
    assert numbers_in(tmp_path / "c.pdf") == ["3 of 10", "4 of 10", "9 of 10"]


def test_the_rest_of_a_stopped_run_goes_on_with_the_next_number(desk, tmp_path, monkeypatch):
    """The printer ran out of paper after two of five; whoever comes next prints 3, 4 and 5 of 5."""
    monkeypatch.setattr(label_printers, "ANSWER_S", 0.25)
    with PretendPrinter(out_of_paper_after=2) as printer, Book.open(desk.book) as book:
        book.enter_printer(HOW, "store", PrinterChanges(dpi=Decimal(203), address=printer.address))
        order = LabelOrder(template(LOT), ("Lot 26-1",), numbered=5, printer="store")
        printed = book.label_run(order).send(book, HOW)
        assert (printed.facts["count"], printed.facts["of"], printed.facts["rest"]) == (2, 5, "3-5")
        entry = printed.recorded.numbers[-1]
    desk.does(f"label --rest-of {entry} --template {LOT} -o {tmp_path}/rest.pdf")
    assert numbers_in(tmp_path / "rest.pdf") == ["3 of 5", "4 of 5", "5 of 5"]


def test_cases_with_a_serial_number_say_which_of_those_packed_together(desk, tmp_path):
    """Whatever run prints them: the second of the three is the second."""
    desk.does("settings --set company_prefix=9521234")
    desk.does("gtin 'Lot 26-1' --item 567")
    second = desk.asks("cases 'Lot 26-1' --count 3 --bottles 6")["ssccs"][1]
    desk.does(f"label {second} --template case-sscc-roll-105x148 -o {tmp_path}/case.pdf")
    assert numbers_in(tmp_path / "case.pdf") == ["2 of 3"]


@pytest.mark.parametrize(
    ("line", "refusal"),
    [
        ("--numbered 10 --copies 2", Malformed),
        ("--numbers 3", Malformed),
        ("--numbered 10 --numbers 11", OutOfRange),
        ("--numbered 10 --numbers 4-3", Malformed),
        ("--numbered 10 --numbers three", Malformed),
        ("--numbered 10 --numbers 0-3", Malformed),
    ],
)
def test_what_cannot_be_numbered_is_refused(desk, tmp_path, line, refusal):
    """Nothing is printed and nothing recorded."""
    ran = desk(f"label 'Lot 26-1' --template {LOT} {line} -o {tmp_path}/c.pdf")
    assert ran.refusal is refusal
    assert desk.asks("print-log")["runs"] == []
    assert not (tmp_path / "c.pdf").exists()
