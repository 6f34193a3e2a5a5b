"""Sending to printers: what was sent is known, whatever the printer does; and nothing waits for ever."""

import os
import stat
import time

import pytest
from pretend_printer import PretendPrinter

from pourbook.labels import label_printers as printers
from pourbook.labels.label_printers import Sent, host_and_port, send_to_port, send_to_queue

JOBS = [f"^XA^FX{number}^XZ\n".encode() for number in range(10)]


@pytest.fixture
def hurried(monkeypatch):
    """A quarter of a second for two seconds, so that the tests do not wait."""
    monkeypatch.setattr(printers, "ANSWER_S", 0.25)


def test_every_label_is_sent_once_and_in_order():
    """As the printer received them."""
    with PretendPrinter() as printer:
        assert send_to_port(JOBS, printer.address) == Sent(10)
    assert printer.labels == [job.rstrip() for job in JOBS]


def test_a_slow_printer_is_waited_for_while_it_answers(hurried):
    """It prints for longer than an answer may take; and its memory is never given more than a few labels."""
    with PretendPrinter(prints_in_s=0.1, answers_after_s=0.02) as printer:
        began = time.monotonic()
        assert send_to_port(JOBS, printer.address).whole
        assert time.monotonic() - began > 0.4
    assert len(printer.labels) == 10
    assert printer.most_waiting <= printers._MOST_WAITING


def test_a_printer_that_answers_and_prints_nothing_is_not_waited_for_for_ever(hurried, monkeypatch):
    """It keeps what it was sent, and more is not pressed upon it."""
    monkeypatch.setattr(printers, "STILL_S", 0.2)
    with PretendPrinter(prints_in_s=1000.0) as printer:
        sent = send_to_port(JOBS, printer.address)
    assert (sent.sent, sent.doubtful) == (printers._MOST_WAITING, 0)
    assert "has printed nothing for 0.2 s" in sent.why


def test_a_printer_that_never_answers_is_left_alone_after_two_seconds():
    """Nothing was sent, so nothing is in doubt. The two seconds are the house's rule for printers."""
    with PretendPrinter(falls_silent_after=0) as printer:
        began = time.monotonic()
        sent = send_to_port(JOBS, printer.address)
        assert 1.9 < time.monotonic() - began < 3.5
    assert (sent.sent, sent.doubtful) == (0, 0)
    assert "did not answer within 2 s" in sent.why
    assert printer.labels == []


def test_a_printer_that_falls_silent_half_way_leaves_one_label_in_doubt(hurried):
    """Three were answered for; the fourth was sent and not answered for; the rest never left."""
    with PretendPrinter(falls_silent_after=4) as printer:
        sent = send_to_port(JOBS, printer.address)
    assert (sent.sent, sent.doubtful) == (3, 1)
    assert "did not answer" in sent.why
    assert printer.labels == [job.rstrip() for job in JOBS[:4]]


def test_a_printer_that_closes_early_leaves_one_label_in_doubt():
    """The connection broke with the third label: two are sure."""
    with PretendPrinter(closes_after=2) as printer:
        sent = send_to_port(JOBS, printer.address)
    assert (sent.sent, sent.doubtful) == (2, 1)
    assert sent.why.endswith("closed the connection")


def test_a_printer_out_of_paper_says_so():
    """Before the run nothing is sent; in its midst what was answered for is sure, and nothing is in doubt."""
    with PretendPrinter(out_of_paper_after=0) as printer:
        before = send_to_port(JOBS, printer.address)
    with PretendPrinter(out_of_paper_after=5) as printer:
        amidst = send_to_port(JOBS, printer.address)
    assert [tuple(sent[:2]) for sent in (before, amidst)] == [(0, 0), (5, 0)]
    assert all(sent.why.endswith("has stopped: paper out") for sent in (before, amidst))
    assert len(printer.labels) == 5


@pytest.mark.parametrize("says", [b"hello\r\n\x03\x03\x03", b"\x02030,0\x03\x021\x03\x022\x03"])
def test_what_answers_in_another_language_is_no_printer(says):
    """An echo server or a web server on that port gets no labels."""
    with PretendPrinter(says=says) as printer:
        sent = send_to_port(JOBS, printer.address)
    assert (sent.sent, sent.doubtful, printer.labels) == (0, 0, [])
    assert "did not answer like a thermal printer" in sent.why


def test_where_nobody_listens_nothing_is_sent():
    """The port of a printer that was switched off; and a name that no machine can have."""
    with PretendPrinter() as printer:
        address = printer.address
    for nowhere in (address, "x" * 80):
        sent = send_to_port(JOBS, nowhere)
        assert (sent.sent, sent.doubtful) == (0, 0)
        assert "cannot be reached" in sent.why


def test_a_run_that_is_stopped_by_hand_says_how_far_it_came():
    """Ctrl-C between two labels: those before are sure."""

    def jobs():
        yield from JOBS[:4]
        raise KeyboardInterrupt

    with PretendPrinter() as printer:
        assert send_to_port(jobs(), printer.address) == Sent(4, 0, "interrupted by the user")


def test_addresses_have_a_port_of_their_own_or_9100():
    """9100 is the raw port of printers: common practice, no source."""
    assert host_and_port("192.0.2.7:6101") == ("192.0.2.7", 6101)
    assert host_and_port("label-bench") == ("label-bench", 9100)
    assert host_and_port("[2001:db8::7]") == ("2001:db8::7", 9100)


# -- a queue of the operating system ------------------------------------------------------------

LP = """#!/bin/sh
printf '%s\\n' "$@" > "$0.arguments"
{first}
cat > "$0.input"
{then}
"""


@pytest.fixture
def lp(tmp_path, monkeypatch):
    """A pretend `lp` before all others on the path; it keeps its arguments and what it was given."""
    if os.name != "posix":
        pytest.skip("a shell script stands for lp")

    def put(then="", first=""):
        program = tmp_path / "lp"
        program.write_text(LP.format(first=first, then=then), "utf-8")
        program.chmod(program.stat().st_mode | stat.S_IXUSR)
        monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
        return tmp_path

    return put


def test_a_queue_is_given_the_file_itself_at_full_size(lp):
    """Arguments one by one, so that no name is read by a shell; scaling off (`man lp`, CUPS 2)."""
    folder = lp()
    title = "Labels; $(touch no) `true`"
    assert send_to_queue(b"%PDF-1.6 \x00\xff", 7, "lab", title, "A4") == Sent(7)
    arguments = (folder / "lp.arguments").read_text("utf-8").splitlines()
    assert arguments == [
        "-d", "lab", "-t", title, "-o", "media=A4", "-o", "print-scaling=none", "-o", "fit-to-page=false", "--", "-",
    ]  # fmt: skip
    assert (folder / "lp.input").read_bytes() == b"%PDF-1.6 \x00\xff"


def test_a_queue_that_refuses_took_nothing(lp):
    """What it says is told."""
    lp("echo 'lp: The printer or class does not exist.' >&2; exit 1")
    sent = send_to_queue(b"%PDF", 7, "lab", "Labels", "A4")
    assert (sent.sent, sent.doubtful) == (0, 0)
    assert sent.why == "the queue 'lab' did not take the labels: lp: The printer or class does not exist."


def test_a_queue_that_hangs_leaves_all_in_doubt(lp, monkeypatch):
    """It may have taken the file: nobody knows."""
    monkeypatch.setattr(printers, "QUEUE_S", 0.3)
    lp(first="exec sleep 5")
    sent = send_to_queue(b"%PDF", 7, "lab", "Labels", "A4")
    assert (sent.sent, sent.doubtful) == (0, 7)
    assert "within 0.3 s" in sent.why


def test_a_machine_without_print_queues_says_so(tmp_path, monkeypatch):
    """No lp on the path."""
    monkeypatch.setenv("PATH", str(tmp_path))
    assert send_to_queue(b"%PDF", 7, "lab", "Labels", "A4").why == "this machine has no lp command"
