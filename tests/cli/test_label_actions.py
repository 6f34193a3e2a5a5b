"""What is done with labels, printers and outside numbers: a script and the command record the same."""

from decimal import Decimal

import pytest
from command import WHO, Desk, here
from pretend_printer import PretendPrinter

from pourbook import Book
from pourbook.actions.enter_printer import PrinterChanges
from pourbook.actions.happening import Happening
from pourbook.actions.label_run import LabelOrder
from pourbook.actions.trade_numbers import Gtins
from pourbook.book.journal import journal
from pourbook.errors import Malformed, Refused
from pourbook.labels import label_printers
from pourbook.labels.templates import template
from pourbook.queries.labels.label_selection import Wanted

VIAL = template("vial-roll-30x15")
HOW = Happening(WHO)
LOT = "L000001C"


@pytest.fixture
def two(tmp_path, monkeypatch):
    """Two equal books: one for a script, one for the command."""
    monkeypatch.chdir(tmp_path)
    desks = [Desk(tmp_path / f"{name}.pourbook", here) for name in ("script", "command")]
    for desk in desks:
        desk.does(f"create {desk.book} --house Quillmere --set company_prefix=9521234")
        desk.does("cask 'Row 3/12' --fill '220 l' --strength 63.5 --when 2016-03-01")
        desk.does("batch 'Vatting 7' --when 2024-03-03")
        desk.does("dump 'Vatting 7' 'Row 3/12' --when 2024-03-04")
        desk.does("bottle 'Vatting 7' --count 30 --size '700 ml' --lot-mark 26-118 --ref 'Lot 26-1' --when 2024-03-05")
        desk.does("reserve vial 3")
    return desks


def latest(path):
    """Kind and body of the last entry of a book."""
    with Book.open(path) as book:
        last = list(journal(book.store))[-1]
        return last.kind, last.entry["body"]


def write_vials(book):
    run = book.label_run(LabelOrder(VIAL, wanted=Wanted(kind="vial", reserved=True), copies=2))
    files = []
    run.write(book, HOW, "vials.pdf", files.append)
    assert [pdf[:5] for pdf in files] == [b"%PDF-"]


def write_case(book):
    (sscc,) = book.number_cases(HOW, "Lot 26-1", 1, 6).ssccs
    book.label_run(LabelOrder(template("case-sscc-roll-105x148"), (sscc,))).write(book, HOW, "case.pdf", len)


SAME = {
    "reserve": (lambda book: book.reserve(HOW, "cask", 40), ["reserve cask 40"]),
    "gtin": (
        lambda book: book.set_gtin(HOW, "Lot 26-1", Gtins(reference="567", case_indicator="1")),
        ["gtin 'Lot 26-1' --item 567 --case-indicator 1"],
    ),
    "cases": (lambda book: book.number_cases(HOW, LOT, 2, 6), [f"cases {LOT} --count 2 --bottles 6"]),
    "pallets": (lambda book: book.number_pallets(HOW, LOT, 1, 55, 6), [f"pallets {LOT} --cases 55 --bottles 6"]),
    "a printer": (
        lambda book: book.enter_printer(
            HOW, "bench", PrinterChanges(dpi=Decimal("203.20"), margins_mm=(Decimal(1),), queue="lab")
        ),
        ["printer bench --dpi 203.20 --margins 1 --queue lab"],
    ),
    "no printer": (
        lambda book: (book.enter_printer(HOW, "bench", PrinterChanges(queue="lab")), book.forget_printer(HOW, "bench")),
        ["printer bench --queue lab", "printer bench --forget"],
    ),
    "labels": (
        write_vials,
        ["label --kind vial --reserved --template vial-roll-30x15 --copies 2 -o vials.pdf"],
    ),
    "labels of cases": (
        write_case,
        [
            f"cases {LOT} --count 1 --bottles 6",
            "label 095212340000000013 --template case-sscc-roll-105x148 -o case.pdf",
        ],
    ),
}  # fmt: skip


@pytest.mark.parametrize(("acts", "lines"), SAME.values(), ids=SAME)
def test_a_script_records_what_the_command_records(two, acts, lines):
    script, command = two
    with Book.open(script.book) as book:
        acts(book)
    for line in lines:
        command.does(line)
    assert latest(script.book) == latest(command.book)


def test_a_dry_run_answers_and_keeps_nothing(two):
    script, _ = two
    dry = HOW._replace(dry_run=True)
    with Book.open(script.book) as book:
        before = book.head()
        assert len(book.reserve(dry, "cask", 2).ids) == 2
        assert book.number_cases(dry, LOT, 1, 6).ssccs == ("095212340000000013",)
        assert book.enter_printer(dry, "bench", PrinterChanges(queue="lab")).printer.goes_to == "queue lab"
        book.label_run(LabelOrder(VIAL, ("V000001R",))).write(book, dry, "vials.pdf", pytest.fail)
        assert book.head() == before


def test_a_stopped_run_is_taken_up_by_whoever_comes_next(two, monkeypatch):
    """The book has what was left: a script prints three, the printer fails after one, the command goes on."""
    monkeypatch.setattr(label_printers, "ANSWER_S", 0.25)
    script, _ = two
    with PretendPrinter(out_of_paper_after=1) as printer, Book.open(script.book) as book:
        book.enter_printer(HOW, "bench", PrinterChanges(dpi=Decimal(203), address=printer.address))
        printed = book.label_run(LabelOrder(VIAL, wanted=Wanted(reserved=True), printer="bench")).send(book, HOW)
        left = ("V000002P", "V000003N")
        assert (printed.facts["count"], printed.in_doubt, printed.not_sent) == (1, (), left)
        (run,) = book.print_log()
    line = f"label --rest-of {run.entry} --template vial-roll-30x15 -o rest.pdf"
    assert tuple(script.asks(line)["ids"]) == left
    ran = script(line.replace(str(run.entry), "1") + " --force")
    assert (ran.status, ran.refusal, "stopped half-way" in ran.err) == (1, Refused, True)


def test_a_run_is_of_one_thing(two):
    """Named, selected, or left by another run."""
    script, _ = two
    with Book.open(script.book) as book, pytest.raises(Malformed, match="both named and selected"):
        book.label_run(LabelOrder(VIAL, ("V000001R",), Wanted(kind="vial")))
