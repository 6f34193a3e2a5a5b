"""Accounts of the station by the command: made, changed, ended, listed; the same from Python."""

import shutil

import pytest
from command import WHO, Desk, apart, here
from house import Clock, moment

from pourbook import Book
from pourbook.actions.accounts import sign_in
from pourbook.actions.happening import Happening
from pourbook.book.journal import journal

WHEN = "2024-05-02T09:30:00"
HOW = Happening(WHO, moment(WHEN), "office", "new hands")
OPTIONS = f"--when {WHEN} --where office --reason 'new hands'"


@pytest.fixture
def desk(tmp_path):
    """A house with a manager."""
    desk = Desk(tmp_path / "command.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    desk.does("person 'Isla Farrow' --role manager --pin-stdin", "482913\n")
    return desk


BOTH = {
    "make": (
        "person 'Per Ash' --role cellar --pin-stdin", "730158\r\n",
        lambda book, how: book.make_account(how, "Per Ash", "cellar", "730158"),
    ),
    "PIN": (
        "person 'isla farrow' --pin-stdin", "a quiet morning",
        lambda book, how: book.change_pin(how, "Isla Farrow", "a quiet morning"),
    ),
    "role": (
        "person 'Odd Lind' --role blender", "", lambda book, how: book.change_role(how, "Odd Lind", "blender"),
    ),
    "role and PIN": (
        "person 'Odd Lind' --role auditor --pin-stdin", "5082",
        lambda book, how: book.set_account(how, "Odd Lind", "auditor", "5082"),
    ),
    "end": ("person 'Odd Lind' --end-account", "", lambda book, how: book.end_account(how, "Odd Lind")),
}  # fmt: skip


@pytest.mark.parametrize("what", BOTH)
def test_the_command_and_python_do_the_same(desk, tmp_path, what):
    """Two equal books stay equal: the same entries, the same accounts; a dry run keeps nothing."""
    desk.does("person 'Odd Lind' --role technician --pin-stdin", "9174\n")
    other = tmp_path / "python.pourbook"
    for end in ("", "-station"):
        shutil.copy(f"{desk.book}{end}", f"{other}{end}")
    command, typed, action = BOTH[what]
    desk.does(f"{command} --dry-run", typed)
    desk.does(f"{command} {OPTIONS}", typed)
    with Book.open(other, clock=Clock("2024-06-01")) as book:
        assert action(book, HOW._replace(dry_run=True)).recorded.is_dry_run
        assert not action(book, HOW).recorded.is_dry_run
    assert _kept(other) == _kept(desk.book)


def _kept(path):
    """Entries but for when and from which login they were recorded, and accounts but for salt and time."""
    with Book.open(path) as book:
        entries = [
            {name: value for name, value in one.entry.items() if name not in ("recorded", "login")}
            for one in journal(book.store)
        ]
        return entries, [
            (one.person, one.name, one.role, one.ended_us is None) for one in book.accounts(everything=True)
        ]


def test_a_pin_from_standard_input_opens_the_station(desk):
    """One line, with whichever end of line; what follows is not read."""
    apart("person", "Per Ash", "--role", "cellar", "--pin-stdin", book=desk.book, typed="730158\r\nmore\n").done()
    with Book.open(desk.book) as book:
        assert sign_in(book, "Per Ash", "730158").role == "cellar"


def test_people_are_listed_with_role_and_when_they_were_seen(desk):
    """Ended accounts on request."""
    desk.does("person 'Per Ash' --role cellar --pin-stdin", "730158\n")
    desk.does("person 'Per Ash' --end-account")
    with Book.open(desk.book) as book:
        sign_in(book, "Isla Farrow", "482913")
    (isla,) = desk.asks("people")["people"]
    assert (isla["name"], isla["role"], isla["ended"]) == ("Isla Farrow", "manager", None)
    assert isla["last_seen"] >= isla["made"]
    assert [one["name"] for one in desk.asks("people --all")["people"]] == ["Isla Farrow", "Per Ash"]
    heads, first, second = desk.does("people --all").out.splitlines()
    assert heads.split() == ["person", "name", "role", "since", "last", "seen"]
    assert "manager" in first
    assert "cellar, ended" in second


def test_a_person_without_an_account_is_entered_as_before(desk):
    """The verb without a role makes none."""
    desk.does("person 'Per Ash' --note 'still house'")
    assert len(desk.asks("people")["people"]) == 1
    assert "has no account" in desk("person 'Per Ash' --role cellar").err


def test_a_person_is_withdrawn_alike_by_the_command_and_in_python(desk, tmp_path):
    """Nothing is recorded: the entries of both books say the same reference, and the account is ended."""
    desk.does("person 'Odd Lind' --role technician --pin-stdin", "9174\n")
    other = tmp_path / "python.pourbook"
    for end in ("", "-station"):
        shutil.copy(f"{desk.book}{end}", f"{other}{end}")
    told = desk.asks("person 'Odd Lind' --withdraw --confirm")
    with Book.open(other, clock=Clock("2024-06-01")) as book:
        done = book.withdraw_person(HOW._replace(confirm=True), "Odd Lind")
        assert (list(done.withdrawal.references), done.ended) == (told["references"], told["account_ended"])
    texts = [entry["body"] for entry in desk.asks("journal --names")["entries"]]
    with Book.open(other) as book:
        assert texts == [entry.entry["body"] for entry in book.entries_listed()]
