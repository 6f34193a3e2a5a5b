"""Cases on pallets by scan: each once, of its lot, in the house; what is sent goes with what stands on it.

Facts of the trade (common practice, no source): a pallet holds the cases that were put on it, and the last case of a
lot may be short.
"""

import shutil

import pytest
from command import VATTED, WHO, Desk, as_told, bottled, here, recorded
from house import Clock, moment

from pourbook import Book
from pourbook.actions.happening import Happening
from pourbook.book.journal import journal
from pourbook.codes.gs1 import sscc_of
from pourbook.errors import Malformed, Refused, ToConfirm, Unknown

CASES = [sscc_of("9521234", number) for number in range(1, 6)]
"""Three of six bottles, the last of the lot with four, and one of another lot."""
FIRST, SECOND = (sscc_of("9521234", number) for number in (6, 7))
HOW = Happening(WHO, moment("2024-03-01T09:00:00"))
OPTIONS = "--when 2024-03-01T09:00:00"


@pytest.fixture
def desk(tmp_path):
    """Lot 1 of 22 bottles in four cases, with two pallets of three cases; Lot 2 with a case of its own."""
    path = recorded(
        tmp_path / "house.pourbook", *VATTED, bottled(22, "Lot 1"), bottled(6, "Lot 2"),
        ("cases", "Lot 1", "--count", "3", "--bottles", "6"),
        ("cases", "Lot 1", "--count", "1", "--bottles", "4"),
        ("cases", "Lot 2", "--count", "1", "--bottles", "6"),
        ("pallets", "Lot 1", "--count", "2", "--cases", "3", "--bottles", "6", "--confirm"),
        settings=("--set", "company_prefix=9521234"),
    )  # fmt: skip
    return Desk(path, here)


def _recorded(path):
    with Book.open(path) as book:
        return [
            (one.kind, {name: value for name, value in one.entry.items() if name not in ("recorded", "login")})
            for one in journal(book.store)
        ]


def test_the_command_and_python_stack_the_same(desk, tmp_path):
    """The same entry, and a short last case counts as it is."""
    other = shutil.copy(desk.book, tmp_path / "other.pourbook")
    told = desk.asks(f"stack {FIRST} {CASES[0]} {CASES[3]} {OPTIONS}")
    assert (told["cases"], told["of_cases"], told["bottles"]) == ([CASES[0], CASES[3]], 3, 10)
    with Book.open(other, clock=Clock("2024-06-01")) as book:
        before = book.head()
        assert book.stack(HOW._replace(dry_run=True), FIRST, CASES[:1]).bottles == 6
        assert book.head() == before
        assert book.stack(HOW, FIRST, (CASES[0], CASES[3])).bottles == 10
    assert _recorded(desk.book) == _recorded(other)


@pytest.mark.parametrize(
    ("kind", "pallet", "cases", "says"),
    [
        (Unknown, sscc_of("9521234", 99), CASES[:1], "is not one of the house"),
        (Refused, CASES[1], CASES[:1], "is no pallet of"),
        (Refused, FIRST, [CASES[4]], "is no case of"),
        (Refused, FIRST, [SECOND], "is no case of"),
        (Refused, FIRST, [CASES[2]], "is on that pallet already"),
        (ToConfirm, SECOND, [CASES[2]], f"stands on pallet {FIRST}"),
        (ToConfirm, FIRST, [CASES[0], CASES[1], CASES[3]], "is numbered for 3 cases, and this would be 4"),
    ],
)
def test_what_does_not_belong_on_a_pallet_is_stopped_by_both(desk, kind, pallet, cases, says):
    """The third case stands on the first pallet."""
    desk.does(f"stack {FIRST} {CASES[2]} {OPTIONS}")
    before = _recorded(desk.book)
    with Book.open(desk.book, clock=Clock("2024-06-01")) as book, pytest.raises(kind) as refusal:
        book.stack(HOW, pallet, cases)
    ran = desk(f"stack {pallet} {' '.join(cases)} {OPTIONS}")
    assert (ran.status, ran.refusal) == (1, kind)
    assert as_told(refusal.value, desk.book) in ran.err
    assert says in ran.err
    assert _recorded(desk.book) == before


def test_a_scanner_puts_case_after_case_on_the_pallet_in_hand(desk):
    """GS1 prefixes and all; a wrong one is stopped in words, `undo` takes back, `confirm` moves."""
    lines = [f"]C100{FIRST}", f"]C100{CASES[0]}", f"00{CASES[4]}", CASES[1], "undo", CASES[2], SECOND, CASES[2],
             "confirm", "done"]  # fmt: skip
    ran = desk("stack", "".join(f"{line}\n" for line in lines))
    assert ran.status == 1, "a case of another lot was stopped"
    assert f"STOP: SSCC {CASES[4]} is no case of L-000001-C" in ran.err
    assert f"pallet {FIRST}: 2 of 3 cases" in ran.err
    assert "taken back: voided" in ran.err
    assert f"pallet {SECOND}: 1 of 3 cases" in ran.err
    assert ran.out == "3 cases put on pallets\n"
    again = desk(f"stack {FIRST}", f"{CASES[1]}\n{CASES[3]}\n")
    assert "3 of 3 cases, full" in again.err


def test_cases_go_with_their_pallet(desk):
    """Ten bottles on it; a case on it is not sent once more, nor put elsewhere."""
    desk.does(f"stack {FIRST} {CASES[0]} {CASES[3]} {OPTIONS}")
    send = "despatch 'Lot 1' {} --customer 'Harbour Row' --case {} --when 2024-03-02"
    assert "10 bottles, more than are sent" in desk(send.format(9, FIRST)).err
    assert f"goes with pallet {FIRST}" in desk(send.format(16, f"{FIRST} --case {CASES[0]}")).err
    desk.does(send.format(10, FIRST))
    assert f"goes with pallet {FIRST}" in desk(send.format(6, CASES[0])).err
    assert "was sent to Harbour Row" in desk(f"stack {FIRST} {CASES[1]} --when 2024-03-03").err


def test_packing_is_told_in_the_journal_and_in_the_dossier(desk, tmp_path):
    """Which cases, on which pallet."""
    desk.does(f"stack {FIRST} {CASES[0]} {CASES[1]} {OPTIONS}")
    assert f"2 cases of L-000001-C on pallet {FIRST}" in desk("journal").out
    desk.does(f"dossier 'Lot 1' -o {tmp_path / 'd.json'}")
    text = (tmp_path / "d.json").read_text("utf-8")
    assert f"on pallet {FIRST}" in text
    assert desk.asks("verify")["faults"] == []


def test_packing_by_scan_needs_a_pallet_first(desk):
    """And is no dry run."""
    assert "no pallet was scanned" in desk("stack", f"{CASES[0]}\n").err
    with Book.open(desk.book) as book, pytest.raises(Malformed):
        book.packing_by_scan(HOW._replace(dry_run=True))
    assert "cannot be a dry run" in desk("stack --dry-run", "done\n").err
