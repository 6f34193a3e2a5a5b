"""A balance is read in the background: what was stable last, whether it moves, and what a lost line or noise does."""

import os
import pty
import socket
import threading
import time
import tty
from contextlib import closing
from decimal import Decimal

import pytest

from pourbook import Book
from pourbook.actions.happening import Happening
from pourbook.errors import Malformed, Refused, Unknown
from pourbook.gauging.balance_lines import LONGEST_LINE, checked_pattern, read_line
from pourbook.station import balances as module
from pourbook.station.balances import Balances

SOON_S = 5.0


class PretendBalance:
    """A balance on the network that sends what a test tells it to."""

    def __init__(self):
        self.listening = socket.create_server(("127.0.0.1", 0))
        self.port = self.listening.getsockname()[1]
        self.line = None

    def takes(self):
        """Wait for a reader."""
        self.listening.settimeout(SOON_S)
        self.line, _ = self.listening.accept()

    def sends(self, text):
        self.line.sendall(text.encode("ascii"))

    def close(self):
        for one in (self.line, self.listening):
            if one:
                one.close()


@pytest.fixture
def pretend():
    with closing(PretendBalance()) as balance:
        yield balance


@pytest.fixture
def balances(monkeypatch):
    monkeypatch.setattr(module, "_AGAIN_S", 0.05)
    found = Balances()
    yield found
    found.stop()


def house(port, **more):
    return {"balance": f"tcp://127.0.0.1:{port}", "balance_pattern": "", **more}


def shows(balances, settings, wanted, name="balance"):
    """What a balance shows, once it is what is wanted."""
    end = time.monotonic() + SOON_S
    while time.monotonic() < end:
        found = balances.weight_now(name, settings)
        if found and wanted(found):
            return found
        time.sleep(0.01)
    raise AssertionError(f"not within {SOON_S} s: {found}")


def test_the_last_stable_weight_stands_while_the_balance_moves(balances, pretend):
    settings = house(pretend.port)
    assert balances.weight_now("balance", settings) is None
    pretend.takes()
    pretend.sends("S S     123.45 g\r\n")
    first = shows(balances, settings, lambda one: one.grams == Decimal("123.45"))
    assert (first.is_moving, first.is_connected) == (False, True)
    pretend.sends("S D     130.10 g\r\n")
    moving = shows(balances, settings, lambda one: one.is_moving)
    assert (moving.grams, moving.at_us) == (Decimal("123.45"), first.at_us)
    pretend.sends("S S    0.15025 kg\r\n")
    after = shows(balances, settings, lambda one: not one.is_moving)
    assert (after.grams, after.at_us > first.at_us) == (Decimal("150.25"), True)


def test_lines_in_pieces_noise_and_endless_lines_change_nothing(balances, pretend):
    settings = house(pretend.port)
    balances.weight_now("balance", settings)
    pretend.takes()
    for piece in ("S S   1", "2.5", "0 g\r", "\n", "S +\r\n", "\x00\x7f?!\n", "9" * (10 * LONGEST_LINE)):
        pretend.sends(piece)
    pretend.sends(" S S 7.0 g\n")  # the end of the endless line
    assert shows(balances, settings, lambda one: True).grams == Decimal("12.50")
    pretend.sends("S S 8.0 g\n")
    assert shows(balances, settings, lambda one: one.grams != Decimal("12.50")).grams == Decimal("8.0")


def test_a_lost_line_is_opened_again(balances, pretend):
    settings = house(pretend.port)
    balances.weight_now("balance", settings)
    pretend.takes()
    pretend.sends("S S 5 g\n")
    shows(balances, settings, lambda one: one.is_connected)
    pretend.line.close()
    lost = shows(balances, settings, lambda one: not one.is_connected)
    assert lost.grams == 5
    pretend.takes()
    pretend.sends("S S 6 g\n")
    assert shows(balances, settings, lambda one: one.grams == 6).is_connected


def test_a_balance_that_is_off_is_waited_for(balances):
    with closing(socket.create_server(("127.0.0.1", 0))) as taken:
        port = taken.getsockname()[1]
    assert balances.weight_now("balance", house(port)) is None
    with closing(PretendBalance()) as other:
        settings = house(other.port)  # the address was changed: the next question reads that one
        assert balances.weight_now("balance", settings) is None
        other.takes()
        other.sends("S S 9 g\n")
        assert shows(balances, settings, lambda one: True).grams == 9


def test_one_thread_reads_one_balance(balances, pretend):
    settings = house(pretend.port)
    for _ in range(20):
        balances.weight_now("balance", settings)
    running = [one for one in threading.enumerate() if one.name == f"balance tcp://127.0.0.1:{pretend.port}"]
    assert len(running) == 1
    balances.stop()
    running[0].join(SOON_S)
    assert not running[0].is_alive()


def test_several_by_name(balances, pretend):
    settings = {"balance.bench-2": f"tcp://127.0.0.1:{pretend.port}", "balance_pattern": r"(?P<value>\d+) (?P<unit>g)"}
    balances.weight_now("bench-2", settings)
    pretend.takes()
    pretend.sends("42 g\n")
    found = shows(balances, settings, lambda one: True, "bench-2")
    assert (found.grams, found.is_moving) == (42, False)  # no group says what is stable: every line is
    with pytest.raises(Unknown, match="no balance is called 'balance'"):
        balances.weight_now("balance", settings)


def test_a_serial_line(balances):
    """A pseudo-terminal stands for the line: what is written at its one end is read at the other."""
    pytest.importorskip("serial")
    ours, theirs = pty.openpty()
    tty.setraw(theirs)
    settings = {"balance": f"serial:{os.ttyname(theirs)}?baud=9600", "balance_pattern": ""}
    assert balances.weight_now("balance", settings) is None
    end = time.monotonic() + SOON_S
    while time.monotonic() < end and not balances.weight_now("balance", settings):
        os.write(ours, b"S S  3.25 g\r\n")
        time.sleep(0.05)
    assert balances.weight_now("balance", settings).grams == Decimal("3.25")
    balances.stop()
    os.close(theirs)
    os.close(ours)


def test_a_serial_line_without_its_library_is_refused(balances, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "serial", None)
    with pytest.raises(Refused, match="pyserial"):
        balances.weight_now("balance", {"balance": "serial:/dev/ttyUSB0", "balance_pattern": ""})


@pytest.mark.parametrize("address", [
    "http://127.0.0.1:80", "tcp://127.0.0.1", "tcp://127.0.0.1:70000", "tcp://a b:1", "serial:",
    "serial:/dev/x?baud=fast", "file:///etc/passwd", "serial:/dev/tty;rm",
])  # fmt: skip
def test_an_address_that_is_none_is_refused(address):
    book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
    with pytest.raises(Malformed, match="not where a balance can be"):
        book.change_settings(how, {"balance.bench": address})


@pytest.mark.parametrize("pattern", [
    r"(?P<value>(a+)+)(?P<unit>g)", r"(?P<value>(a|a)*)(?P<unit>g)", r"(?P<value>\d+)", "(", r"(?P<unit>g)",
    r"(?P<value>\d+)(?=x)(?P<unit>g)", r"(?P<value>a)(?P<unit>g)\1", r"(?P<value>.*.*.*.*)(?P<unit>g)",
    r"(?P<value>(a?){200}a{200})(?P<unit>g)", rf"(?P<value>{'a?' * 9})(?P<unit>g)", "a" * 300,
])  # fmt: skip
def test_a_pattern_that_is_none_or_may_take_for_ever_is_refused(pattern):
    book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
    with pytest.raises(Malformed):
        book.change_settings(how, {"balance_pattern": pattern})


def test_settings_of_balances_are_kept_and_ended():
    book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
    book.change_settings(how, {"balance": "tcp://bench:8001", "balance.two": "serial:COM3?baud=1200&bits=7&parity=E"})
    book.change_settings(how, {"balance": ""})
    assert (book.settings["balance"], book.settings["balance.two"][:6]) == ("", "serial")


@pytest.mark.parametrize(("line", "grams"), [
    ("S S  -  0.05 g", "-0.05"), ("S S  1,5 g", "1.5"), ("S S 200 mg", "0.200"), ("S S 12.5 lb", None),
    ("G S 1 g", None), ("S S  g", None), ("", None),
])  # fmt: skip
def test_what_lines_say(line, grams):
    found = read_line(checked_pattern(module.DEFAULT_PATTERN), line)
    assert (found and found.grams) == (None if grams is None else Decimal(grams))
