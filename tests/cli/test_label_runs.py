"""Runs of labels through the real command: read back, to printers, asked for instead of listed, and accounted for."""

import os
import stat

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from command import Desk, here
from PIL import Image
from pretend_printer import PretendPrinter

from pourbook.codes.identifiers import hyphened
from pourbook.labels import label_drawing as drawing
from pourbook.labels import label_printers as printers
from pourbook.labels import reach, readback
from pourbook.labels.symbols import symbol

VIAL = "--template vial-roll-30x15"
HEAD = "--template cask-head-100x70"


@pytest.fixture
def desk(tmp_path, monkeypatch):
    """Two casks in a batch and one beside it, five vials of two of them, drawn in two years."""
    monkeypatch.chdir(tmp_path)
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere --set zone=Europe/London")
    casks = [("Row 3/12", 63.5), ("Row 4/02", 58), ("Row 5/07", 60)]
    for ref, strength in casks:
        desk.does(f"cask '{ref}' --fill '200 l' --strength {strength} --in-wood 0 --when 2016-03-01")
    drawn = [("Row 3/12", "2024-03-01"), ("Row 5/07", "2024-03-01"), ("Row 3/12", "2025-06-30 23:30")]
    drawn += [("Row 3/12", "2025-07-01"), ("Row 5/07", "2025-07-01 00:10")]
    desk.vials = [desk.does(f"draw '{ref}' '50 ml' --when '{when}'").id for ref, when in drawn]
    desk.does("batch 'Vatting 7' --when 2025-07-02")
    desk.does("dump 'Vatting 7' 'Row 3/12' 'Row 4/02' --when 2025-07-03")
    return desk


@pytest.fixture
def hurried(monkeypatch):
    """Nobody waits two seconds here."""
    monkeypatch.setattr(printers, "ANSWER_S", 0.25)


def runs(desk, line="print-log"):
    """The print log."""
    return desk.asks(line)["runs"]


def codes_in(path):
    """What a scanner reads on each page of a PDF."""
    with pypdfium2.PdfDocument(path) as document:
        pictures = [page.render(scale=300 / 72, grayscale=True).to_numpy().squeeze() for page in document]
    return [[code.text for code in zxingcpp.read_barcodes(picture)] for picture in pictures]


def seen(path):
    """A picture, read whole."""
    with Image.open(path) as picture:
        return picture.convert("L")


# -- readback --------------------------------------------------------------------------------


@pytest.fixture
def spoilt(desk, monkeypatch):
    """The third vial's symbol is drawn for another vial; what it should say is worked out as ever."""
    assert reach.symbol_on is readback.symbol_on is drawing.symbol_on
    sound = drawing.symbol_on
    right, wrong = desk.vials[2], desk.vials[3]

    def of_another(label, field, frame):
        mark, least_mm = sound(label, field, frame)
        return symbol(mark.kind, wrong if mark.text == right else mark.text), least_mm

    monkeypatch.setattr(drawing, "symbol_on", of_another)
    return right, wrong


def test_a_label_that_reads_wrong_stops_the_run_and_nothing_is_kept(desk, spoilt):
    right, wrong = spoilt
    ran = desk(f"label {' '.join(desk.vials)} {VIAL} -o vials.pdf")
    assert ran.status == 1
    assert f"page 3, place 1: the data-matrix of {hyphened(right)} · Row 3/12 reads as '{wrong}'" in ran.err
    assert "do: " in ran.err
    assert not os.path.exists("vials.pdf")
    assert runs(desk) == []


def test_without_readback_it_is_printed_and_the_journal_says_so(desk, spoilt):
    ran = desk.does(f"label {' '.join(desk.vials)} {VIAL} --no-readback -o vials.pdf")
    assert "not read back" in ran.err
    desk.does(f"label {desk.vials[0]} {VIAL} -o again.pdf")
    assert [run["readback"] for run in runs(desk)] == ["skipped", "passed"]


# -- asked for instead of listed ---------------------------------------------------------------------


def asked(desk, line):
    """The items whose labels a run of these options has."""
    return desk.asks(f"label {line} -o asked.pdf --force")["ids"]


def test_a_run_is_asked_for_by_kind_and_time(desk):
    """A day counts whole, in the house's zone: half past eleven in the evening of British summer time."""
    v = desk.vials
    assert asked(desk, f"--kind vial {VIAL}") == v
    assert asked(desk, f"--kind vial --since 2025-01-01 {VIAL}") == v[2:]
    assert asked(desk, f"--since 2025-01-01 --until 2025-06-30 {VIAL}") == v[2:3]
    assert asked(desk, f"--since 2025-07-01 {VIAL}") == v[3:]
    assert asked(desk, f"--until '2025-07-01 00:10' {VIAL}") == v[:4]


def test_a_run_is_asked_for_by_where_it_came_from_and_went(desk):
    """The vials of a cask; the casks of a batch; what stands somewhere."""
    v = desk.vials
    assert asked(desk, f"--from-item 'Row 5/07' {VIAL}") == [v[1], v[4]]
    assert asked(desk, f"--of-item 'Vatting 7' --kind cask {HEAD}") == ["C000001H", "C000002F"]
    assert asked(desk, f"--of-item {v[1]} {HEAD}") == ["C000003D"]
    desk.does("move 'Row 4/02' --to 'Warehouse 2'")
    assert asked(desk, f"--place 'Warehouse 2' {HEAD}") == ["C000002F"]


def test_kinds_that_the_template_does_not_serve_are_not_meant(desk):
    """A template of vials asks for vials, whatever else was made that day."""
    assert asked(desk, f"--since 2016-01-01 {VIAL}") == desk.vials


def test_what_was_printed_can_be_left_out(desk):
    desk.does(f"label {desk.vials[1]} {VIAL} -o one.pdf")
    assert asked(desk, f"--unprinted {VIAL}") == [desk.vials[0], *desk.vials[2:]]
    ran = desk(f"label --unprinted {VIAL} -o none.pdf")
    assert ran.status == 1
    assert "nothing matches" in ran.err


def test_named_and_asked_for_do_not_mix_and_one_of_them_is_needed(desk):
    ran = desk(f"label {desk.vials[0]} --unprinted {VIAL}")
    assert (ran.status, "in two runs" in ran.err) == (1, True)
    ran = desk(f"label {VIAL}")
    assert (ran.status, "--kind" in ran.err) == (1, True)


# -- numbers set aside, and the log ------------------------------------------------------------------


def test_what_became_of_numbers_set_aside_is_accounted_for(desk):
    """Printed and assigned, printed and lying in a drawer, unused: together all that were reserved."""
    ids = desk.asks("reserve vial 6")["ids"]
    desk.does("reserve cask 2")
    assert asked(desk, f"--reserved --kind vial {VIAL}") == ids
    desk.does(f"label {' '.join(ids[:4])} {VIAL} -o four.pdf --reason 'roll torn'")
    desk.does(f"draw 'Row 5/07' '50 ml' --vial {ids[1]}")
    vials, casks = desk.asks("reserve --list")["reservations"]
    assert vials["reserved"] == vials["printed"] == ids
    assert vials["assigned"] == [ids[1]]
    assert vials["printed_not_assigned"] == [ids[0], *ids[2:]]
    assert vials["unused"] == []
    assert (len(casks["unused"]), casks["printed"]) == (2, [])
    free = desk.does("reserve --list --numbers").out.split()
    assert free == [hyphened(one) for one in [ids[0], *ids[2:], *casks["reserved"]]]
    assert "reserved" not in desk.does("reserve --list").err


def test_the_log_says_who_printed_what_when_why_and_where_to(desk):
    v = desk.vials
    desk.does(f"label {v[0]} {v[1]} {VIAL} --dpi 203 --copies 2 -o first.pdf --when 2026-01-05")
    ran = desk.does(f"label {v[0]} {VIAL} -o second.pdf --when 2026-02-05")
    assert "1 item had a label before; --reason records why it is printed again" in ran.err
    ran = desk.does(f"label {v[0]} {VIAL} -o third.pdf --reason 'fell off' --when 2026-03-05")
    assert "printed before" not in ran.err
    first, _, third = runs(desk)
    assert (first["count"], first["copies"], first["dpi"], first["file"]) == (4, 2, 203, "first.pdf")
    assert (third["who"], third["reason"], third["ids"]) == ("M. Aldane", "fell off", [v[0]])
    assert [run["file"] for run in runs(desk, f"print-log {v[1]}")] == ["first.pdf"]
    assert [run["file"] for run in runs(desk, "print-log --since 2026-02-01 --until 2026-02-05")] == ["second.pdf"]
    assert all(words in desk.does("print-log").out for words in ("fell off", "third.pdf", "passed"))


def test_people_and_places_are_entered_and_wear_badge_and_tag(desk):
    """Also with a number printed ahead; what is there already is shown, not entered twice."""
    [ahead] = desk.asks("reserve person 1")["ids"]
    isla = desk.asks(f"person 'Isla Farrow' --note 'blending room' --id {ahead}")["id"]
    row = desk.asks("location 'Warehouse 2, row 3'")["id"]
    assert (isla, row[0]) == (ahead, "S")
    assert desk.asks("person 'Isla Farrow'")["facts"]["note"] == "blending room"
    assert asked(desk, "'Isla Farrow' --template badge-roll-86x54") == [isla]
    assert asked(desk, "'Warehouse 2, row 3' --template tag-roll-50x25") == [row]
    assert desk.asks(f"scan {row}")["item"] == {"kind": "place", "ref": "Warehouse 2, row 3", "name": None}


# -- printers ---------------------------------------------------------------------------------------


def test_a_printer_is_entered_changed_shown_and_forgotten(desk):
    desk.does("printer bench --dpi 203.2 --address 192.0.2.7 --offset-x 0.6 --offset-y -0.4")
    desk.does("printer bench --margins 1,0,0,2 --text printer")
    bench = desk.asks("printer bench")
    assert (bench["dpi"], bench["offset_x_mm"], bench["offset_y_mm"]) == (203.2, 0.6, -0.4)
    assert (bench["margins_mm"], bench["address"], bench["text"]) == ([1, 0, 0, 2], "192.0.2.7", "printer")
    desk.does("printer bench --queue lab_roll --margins 0")
    bench = desk.asks("printer bench")
    assert (bench["queue"], bench["address"], bench["margins_mm"]) == ("lab_roll", "", [0, 0, 0, 0])
    desk.does("printer office --dpi 600")
    assert [one["name"] for one in desk.asks("printer")["printers"]] == ["bench", "office"]
    assert "queue lab_roll" in desk.does("printer").out
    desk.does("printer bench --forget")
    assert [one["name"] for one in desk.asks("printer")["printers"]] == ["office"]
    assert desk.asks("verify")["faults"] == []


def test_numbers_are_typed_with_the_house_s_decimal_mark(desk):
    desk.does("settings --set decimal_mark=,")
    desk.does("printer bench --offset-x 0,6 --margins '1,5 0 0 2'")
    bench = desk.asks("printer bench")
    assert (bench["offset_x_mm"], bench["margins_mm"]) == (0.6, [1.5, 0, 0, 2])


@pytest.mark.parametrize(
    "line",
    [
        "printer bench --queue '-o raw'",
        "printer bench --queue 'a b'",
        "printer bench --queue 'lab;reboot'",
        "printer bench --address 'http://192.0.2.7/print'",
        "printer bench --address 192.0.2.7:99999",
        "printer bench --address 192.0.2.7 --queue lab",
        "printer bench --dpi 72",
        "printer bench --offset-x 200",
        "printer bench --margins 1,2",
        "printer Bench --dpi 203",
        "printer 'bench.address' --dpi 203",
        "printer nowhere",
        "printer nowhere --forget",
        "settings --set printer.bench.speed=4",
        "settings --set printer.bench.address=192.0.2.7/24",
        "label {vial} --template vial-roll-30x15 --printer nowhere",
        "label {vial} --template vial-roll-30x15 --printer 192.0.2.7:9100",
    ],
)
def test_a_printer_that_cannot_be_is_refused(desk, line):
    """Nothing that is typed with a run reaches a machine that is not in the settings."""
    before = desk.asks("journal-hash")
    ran = desk(line.format(vial=desk.vials[0]))
    assert ran.status == 1, ran.out
    assert desk.asks("journal-hash") == before


def test_labels_go_to_a_thermal_printer_one_by_one(desk):
    v = desk.vials
    with PretendPrinter() as printer:
        desk.does(f"printer bench --dpi 203 --address {printer.address}")
        done = desk.asks(f"label {' '.join(v)} {VIAL} --printer bench")
    assert len(printer.labels) == 5
    assert all(b"^GFA" in label for label in printer.labels)
    assert (done["count"], done["printer"], done["dpi"]) == (5, "bench", 203)
    [run] = runs(desk)
    assert (run["ids"], run["printer"]) == (v, "bench")
    assert "file" not in run


@pytest.mark.parametrize(
    ("fails", "sent", "in_doubt"),
    [
        ({"falls_silent_after": 3}, 2, 1),
        ({"closes_after": 2}, 2, 1),
        ({"out_of_paper_after": 3}, 3, 0),
    ],
)
def test_a_printer_that_fails_half_way_leaves_a_clear_state(desk, hurried, fails, sent, in_doubt):
    """What was sent is in the journal, what is in doubt is named, and the rest is still to be printed."""
    v = desk.vials
    with PretendPrinter(**fails) as printer:
        desk.does(f"printer bench --dpi 203 --address {printer.address}")
        ran = desk(f"label {' '.join(v)} {VIAL} --printer bench")
    assert ran.status == 1
    assert ran.out.startswith(f"{sent} labels sent to bench")
    assert "stopped: the printer at 127.0.0.1" in ran.err
    (not_sent,) = (line for line in ran.err.splitlines() if "not sent: " in line)
    named = [one.split(" · ")[0] for one in not_sent.split(": ")[1].split(", ")]
    assert named == list(map(hyphened, v[sent + in_doubt :]))
    [run] = runs(desk)
    assert run["ids"] == v[: sent + in_doubt]
    assert (run["count"], run["of"]) == (sent, 5)
    assert run.get("in_doubt", []) == v[sent : sent + in_doubt]
    assert "the printer at" in run["stopped"]
    again = desk.asks(f"label {' '.join(v)} {VIAL} -o all.pdf --dry-run")["prints"]
    assert [again[one] for one in v] == [2] * (sent + in_doubt) + [1] * (5 - sent - in_doubt)
    assert asked(desk, f"--unprinted {VIAL}") == v[sent + in_doubt :]


def test_a_half_way_run_answers_programs_too(desk, hurried):
    v = desk.vials
    with PretendPrinter(falls_silent_after=3) as printer:
        desk.does(f"printer bench --dpi 203 --address {printer.address}")
        ran = desk(f"label {' '.join(v)} {VIAL} --printer bench --copies 2 --json")
    assert ran.status == 1
    told = ran.json
    assert (told["count"], told["of"], told["in_doubt"]) == (2, 10, [v[1]])
    assert told["not_sent"] == v[1:]  # the second copy of the second vial was not sent either
    assert told["stopped"]


def test_a_printer_that_took_nothing_leaves_nothing_in_the_journal(desk, hurried):
    with PretendPrinter(falls_silent_after=0) as printer:
        desk.does(f"printer bench --dpi 203 --address {printer.address}")
        ran = desk(f"label {desk.vials[0]} {VIAL} --printer bench")
    assert ran.status == 1
    assert "nothing was printed: the printer at 127.0.0.1" in ran.err
    assert (runs(desk), printer.labels) == ([], [])


def test_a_rehearsal_sends_nothing(desk):
    with PretendPrinter() as printer:
        desk.does(f"printer bench --dpi 203 --address {printer.address}")
        ran = desk.does(f"label {desk.vials[0]} {VIAL} --printer bench --dry-run")
    assert "would go to bench" in ran.out
    assert (runs(desk), printer.labels) == ([], [])


def test_a_thermal_printer_gets_no_sheets_and_no_other_resolution(desk):
    with PretendPrinter() as printer:
        desk.does(f"printer bench --dpi 203.2 --address {printer.address}")
        sheet = desk(f"label {desk.vials[0]} --template sheet-a4-65-38x21 --printer bench")
        finer = desk(f"label {desk.vials[0]} {VIAL} --dpi 300 --printer bench")
        desk.does(f"label {desk.vials[0]} {VIAL} --dpi 203 --printer bench")
    assert (sheet.status, "is a sheet" in sheet.err) == (1, True)
    assert (finer.status, "has 203.2 dpi, not 300" in finer.err) == (1, True)
    assert len(printer.labels) == 1


@pytest.fixture
def lp(tmp_path, monkeypatch):
    """A pretend `lp` that keeps what it was given."""
    if os.name != "posix":
        pytest.skip("a shell script stands for lp")
    folder = tmp_path / "bin"
    folder.mkdir()
    program = folder / "lp"
    program.write_text('#!/bin/sh\nprintf "%s\\n" "$@" > "$0.arguments"\ncat > "$0.pdf"\n', "utf-8")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}{os.environ['PATH']}")
    return folder


def test_sheets_go_to_a_print_queue_as_they_would_to_a_file(desk, lp):
    v = desk.vials
    desk.does("printer office --dpi 600 --queue lab_laser --offset-x 0.5 --margins 4.2")
    line = f"label {' '.join(v)} --template sheet-a4-65-38x21 --start 12 --printer office"
    done = desk.asks(line)
    assert codes_in(lp / "lp.pdf") == [v]
    arguments = (lp / "lp.arguments").read_text("utf-8").split("\n")
    assert arguments[:2] == ["-d", "lab_laser"]
    assert {"media=A4", "print-scaling=none"} <= set(arguments)
    assert (done["printer"], done["start"], done["readback"]) == ("office", 12, "passed")
    desk.does(f"{line} --reason again -o same.pdf")
    assert [run.get("file") for run in runs(desk)] == [None, "same.pdf"]
    assert [run["printer"] for run in runs(desk)] == ["office", "office"]


def test_what_a_printer_cannot_reach_is_refused_before_anything_is_sent(desk, lp):
    desk.does("printer office --queue lab_laser --margins 12")
    ran = desk(f"label {desk.vials[0]} --template sheet-a4-65-38x21 --printer office")
    assert ran.status == 1
    assert "at place 1 lies" in ran.err
    assert not (lp / "lp.pdf").exists()


def test_the_test_page_goes_to_a_file_a_picture_or_the_printer(desk, lp):
    desk.does("printer office --dpi 300 --queue lab_laser")
    desk.does("printer office --test -o test.pdf")
    desk.does("printer office --test -o test.png")
    desk.does("printer office --test --template sheet-letter-30-67x25")
    assert seen("test.png").size == (2480, 3508)  # A4 at 300 dpi: 210 and 297 mm
    assert "media=Letter" in (lp / "lp.arguments").read_text("utf-8")
    for file in ("test.pdf", lp / "lp.pdf"):
        assert "8DOTS300" in codes_in(file)[0]
    with PretendPrinter() as printer:
        desk.does(f"printer bench --dpi 203 --address {printer.address}")
        desk.does("printer bench --test --template vial-roll-30x15")
    assert [label.count(b"^GFA") for label in printer.labels] == [1]
    assert runs(desk) == []


# -- previews ---------------------------------------------------------------------------------------


def test_a_preview_is_a_picture_of_each_page_and_is_not_recorded(desk):
    before = desk.asks("journal-hash")
    told = desk.asks(f"label {' '.join(desk.vials[:3])} {VIAL} --dpi 203 -o look.png")
    assert told["files"] == ["look.png", "look-2.png", "look-3.png"]
    for file, vial in zip(told["files"], desk.vials, strict=False):
        picture = seen(file)
        assert picture.size == (240, 120)
        assert [code.text for code in zxingcpp.read_barcodes(np.asarray(picture))] == [vial]
    assert desk.asks("journal-hash") == before
    assert desk(f"label {desk.vials[0]} {VIAL} -o look.png").status == 1


@pytest.mark.parametrize("verb", ["print-log", "reserve", "printer"])
def test_every_verb_shows_an_example(verb):
    said = here(verb, "--help").done().out
    assert f"pourbook {verb}" in said.partition("Example:")[2]
    assert "--json" in said
