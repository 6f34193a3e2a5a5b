"""A glass that broke, was lost or sent away: its label is told, asked about before printing, and before pouring."""

from decimal import Decimal

import pytest
from command import Desk, here
from pretend_printer import PretendPrinter

from pourbook import Book
from pourbook.actions.enter_printer import PrinterChanges
from pourbook.actions.happening import Happening
from pourbook.errors import ToConfirm
from pourbook.labels import label_printers

VIAL = "--template vial-roll-30x15"


@pytest.fixture
def desk(tmp_path):
    """Three samples of a cask; the first fell to the floor, the second was poured out into a trial."""
    desk = Desk(tmp_path / "house.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    desk.does("cask 'Q 31' --wood oak --fill '200 l' --strength 60 --when 2010-05-04")
    desk.vials = [desk.asks(f"draw 'Q 31' '200 ml' --ref 'S {n}' --when 2026-05-03")["id"] for n in (1, 2, 3)]
    desk.trial = desk.asks("trial --part 'S 3=1' --part 'S 2=1' --total '400 ml'")["id"]
    desk.does("loss 'S 1' all --kind accident --when 2026-05-04")
    desk.does(f"pour {desk.trial} 'S 2' all --when 2026-05-05")
    return desk


def test_a_scan_and_show_say_that_the_glass_is_broken_and_what_it_was(desk):
    """In words and for programs; a glass that was poured out is empty, not broken."""
    said = here("scan", desk.vials[0], book=desk.book).done().out
    assert "S 1" in said
    assert "oak" in said
    assert "warning: V-000001-R is broken: all that was left was lost by accident on 2026-05-04" in said
    assert desk.asks(f"scan {desk.vials[0]}")["emptied"]["disposition"] == "accident"
    assert "is broken" in here("show", "S 1", book=desk.book).done().out
    assert f"is empty: the last of it went into {desk.trial[0]}-" in here("show", "S 2", book=desk.book).done().out
    assert desk.asks("show 'S 2'")["emptied"]["into"] == desk.trial
    assert "emptied" not in desk.asks("show 'S 3'")


def test_a_voided_loss_brings_the_glass_back(desk):
    """It had only rolled under the bench."""
    entry = desk.asks("show 'S 1'")["emptied"]["entry"]
    desk.does(f"void {entry} --reason 'rolled under the bench'")
    assert "emptied" not in desk.asks("show 'S 1'")


def test_its_label_is_asked_about_before_it_is_printed(desk, tmp_path):
    """Nothing is written until somebody says yes; the journal keeps the question."""
    line = f"label {' '.join(desk.vials)} {VIAL} -o {tmp_path}/v.pdf"
    ran = desk(line)
    assert ran.refusal is ToConfirm
    assert "V-000001-R · S 1 · Q 31 · oak is broken: all that was left was lost by accident on 2026-05-04" in ran.err
    assert not (tmp_path / "v.pdf").exists()
    desk.does(f"{line} --confirm")
    assert (tmp_path / "v.pdf").exists()
    desk.does(f"label 'S 2' {VIAL} -o {tmp_path}/two.pdf")
    assert desk.asks("verify")["faults"] == []


def test_a_printer_gets_nothing_before_the_question_is_answered(desk, monkeypatch):
    """What is on the roll cannot be taken back."""
    monkeypatch.setattr(label_printers, "ANSWER_S", 0.25)
    with PretendPrinter() as printer:
        with Book.open(desk.book) as book:
            changes = PrinterChanges(dpi=Decimal(203), address=printer.address)
            book.enter_printer(Happening("M. Aldane"), "bench", changes)
        assert desk(f"label 'S 1' {VIAL} --printer bench").refusal is ToConfirm
        assert printer.labels == []
        desk.does(f"label 'S 1' {VIAL} --printer bench --confirm")
        assert len(printer.labels) == 1


def test_the_pouring_session_says_so_before_anything_is_poured(desk):
    """The scan of the label alone tells."""
    ran = desk(f"pour {desk.trial}", f"{desk.vials[0]}\ndone\n")
    told = ran.err.splitlines()
    assert any(line.startswith("V-000001-R") and "is broken: all that was left was lost" in line for line in told)


def test_the_sampling_round_says_so_too(desk):
    """Nothing can be drawn from it."""
    ran = desk("draw", f"{desk.vials[0]}\ndone\n")
    assert "is broken" in ran.err
