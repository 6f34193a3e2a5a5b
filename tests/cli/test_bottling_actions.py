"""A bottling run is recorded the same by the command and from Python, and refused the same."""

import shutil

import pytest
from command import WHO, Desk, as_told, here
from house import Clock, House, moment

from pourbook import Book
from pourbook.actions.bottling_run import Added, Begun, Measured, Rest
from pourbook.actions.happening import Happening
from pourbook.actions.movement import Status
from pourbook.actions.print_paper import Output
from pourbook.book.bottling_runs import Tally
from pourbook.book.journal import journal
from pourbook.errors import Malformed, NotThere, Refused, ToConfirm
from pourbook.quantities import read_amount

WHEN = "2024-05-02T09:30:00"
HOW = Happening(WHO, moment(WHEN), "Line 1", "as the sheet says")
OPTIONS = f"--when {WHEN} --where 'Line 1' --reason 'as the sheet says'"
BOTTLE = read_amount("700 ml")


@pytest.fixture
def books(tmp_path):
    """Two equal books: two vats, and a run under way of which a hundred bottles were counted."""
    with House(tmp_path / "python.pourbook") as house:
        for name, ref, strength in (("B1", "Vatting 1", "46"), ("B2", "Vatting 2", "46.1"), ("B3", "Vatting 3", "43")):
            house.open(name, ref=ref, name="Ostrewick")
            house.fill(name, "100 l", strength)
        house.open("B4", ref="Vatting 4")
        house.open("L1", ref="Lot 1", size_ml="700", labelled_strength="46.00", run="L000001C", filling_from="B000001Y")
        house.open("L2", ref="Lot 2", size_ml="50")
        how = Happening(WHO, moment("2024-05-02T09:00:00"))
        house.clock.us = moment(WHEN)
        house.book.add_to_bottling(how, "Lot 1", Added(Tally(filled=100)))
    shutil.copy(tmp_path / "python.pourbook", tmp_path / "command.pourbook")
    return tmp_path / "python.pourbook", tmp_path / "command.pourbook"


def _recorded(path):
    with Book.open(path) as book:
        return [
            (one.kind, {name: value for name, value in one.entry.items() if name not in ("recorded", "login")})
            for one in journal(book.store)
        ]


BOTH = {
    "a run is begun": (
        ("bottling begin 'Vatting 2' --size '700 ml' --ref 'Lot 3' --name Ash --lot-mark L7 --closure K-77"
         " --filter 'sheet, lot F-31' --duty suspended"),
        lambda book, how: book.begin_bottling(
            how, "Vatting 2",
            Begun(BOTTLE, {"ref": "Lot 3", "name": "Ash", "lot_mark": "L7", "closure": "K-77",
                           "filter": "sheet, lot F-31"}),
            Status(duty="suspended"),
        ),
    ),
    "another size is filled with it": (
        "bottling begin 'Vatting 1' --size '50 ml' --with 'Lot 1'",
        lambda book, how: book.begin_bottling(how, "Vatting 1", Begun(read_amount("50 ml"), beside="Lot 1")),
    ),
    "all that is added": (
        ("bottling add 'Lot 1' --filled 12 --put-back 1 --broken 2 --destroyed 3 --witness 'officer 7' --sampled 1"
         " --retained 4 --place 'shelf 3' --keep-until 2031-12-31 --loss filter='1.2 l' --loss 'soakage=300 g'"
         " --purge '6 l' --purge-back '4.5 l' --label P-2"),
        lambda book, how: book.add_to_bottling(
            how, "Lot 1",
            Added(
                Tally(12, 1, 2, 3, 1, 4), {"place": "shelf 3", "until": "2031-12-31", "witness": "officer 7"},
                [("filter", read_amount("1.2 l")), ("soakage", read_amount("300 g"))],
                (read_amount("6 l"), read_amount("4.5 l")), {"label": "P-2"},
            ),
        ),
    ),
    "a code on a carton of stoppers": (
        "bottling add 'Lot 1' --closure ']C1010952123400567410K-79'",
        lambda book, how: book.add_to_bottling(
            how, "Lot 1", Added(goods={"closure": "GTIN 09521234005674, lot K-79"})
        ),
    ),
    "fills that were read": (
        "bottling fills 'Lot 1' 701.2 '69.98 cl' --temperature 18",
        lambda book, how: book.measure_fills(how, "Lot 1", Measured(("701.2", "69.98 cl"), temperature_c=18.0)),
    ),
    "fills that were weighed": (
        "bottling fills 'Lot 1' 1139.6 1139.1/481.7 --tare '482.1 g'",
        lambda book, how: book.measure_fills(
            how, "Lot 1", Measured(("1139.6", "1139.1/481.7"), read_amount("482.1 g"))
        ),
    ),
    "a change of vat": (
        "bottling change 'Lot 1' 'Vatting 2' --left '29.9 l' --temperature 18",
        lambda book, how: book.change_vat(how, "Lot 1", "Vatting 2", Rest(read_amount("29.9 l"), 18.0)),
    ),
    "a change without a measurement": (
        "bottling change 'Lot 1' 'Vatting 2'",
        lambda book, how: book.change_vat(how, "Lot 1", "Vatting 2"),
    ),
    "an end": (
        "bottling end 'Lot 1' --left '29.8 l'",
        lambda book, how: book.end_bottling(how, "Lot 1", Rest(read_amount("29.8 l"))),
    ),
    "an end that empties the vat": (
        "bottling end 'Lot 1' --empties --kind soakage --confirm",
        lambda book, how: book.end_bottling(
            how._replace(confirm=True), "Lot 1", Rest(empties=True, kind="soakage")
        ),
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", BOTH)
def test_the_command_and_python_record_the_same(books, what):
    """Two equal books stay equal; a dry run keeps nothing."""
    command, action = BOTH[what]
    before = _recorded(books[0])
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        assert action(book, HOW._replace(dry_run=True)).recorded.numbers
        assert book.head()[0] == len(before)
        assert action(book, HOW).recorded.numbers
    Desk(books[1], here).does(f"{command} {OPTIONS}")
    assert _recorded(books[0]) == _recorded(books[1])
    assert len(_recorded(books[0])) > len(before)


@pytest.mark.parametrize(
    ("kind", "command", "action"),
    [
        (
            NotThere, "bottling begin 'Vatting 4' --size '700 ml'",
            lambda book: book.begin_bottling(HOW, "Vatting 4", Begun(BOTTLE)),
        ),
        (
            Refused, "bottling begin 'Vatting 2' --size '50 ml' --with 'Lot 1'",
            lambda book: book.begin_bottling(HOW, "Vatting 2", Begun(read_amount("50 ml"), beside="Lot 1")),
        ),
        (Malformed, "bottling add 'Lot 1'", lambda book: book.add_to_bottling(HOW, "Lot 1", Added())),
        (
            Refused, "bottling add 'Lot 2' --filled 1",
            lambda book: book.add_to_bottling(HOW, "Lot 2", Added(Tally(filled=1))),
        ),
        (
            Refused, "bottling add 'Lot 1' --broken 101",
            lambda book: book.add_to_bottling(HOW, "Lot 1", Added(Tally(broken=101))),
        ),
        (
            Malformed, "bottling add 'Lot 1' --destroyed 1",
            lambda book: book.add_to_bottling(HOW, "Lot 1", Added(Tally(destroyed=1))),
        ),
        (
            Malformed, "bottling add 'Lot 1' --purge '6 l' --purge-back '6 l'",
            lambda book: book.add_to_bottling(
                HOW, "Lot 1", Added(purge=(read_amount("6 l"), read_amount("6 l")))
            ),
        ),
        (
            ToConfirm, "bottling fills 'Lot 1' 70.1",
            lambda book: book.measure_fills(HOW, "Lot 1", Measured(("70.1",))),
        ),
        (
            Malformed, "bottling fills 'Lot 1' '1139 g'",
            lambda book: book.measure_fills(HOW, "Lot 1", Measured(("1139 g",))),
        ),
        (
            Malformed, "bottling fills 'Lot 1' '701 ml' --tare '480 g'",
            lambda book: book.measure_fills(HOW, "Lot 1", Measured(("701 ml",), read_amount("480 g"))),
        ),
        (ToConfirm, "bottling change 'Lot 1' 'Vatting 3'", lambda book: book.change_vat(HOW, "Lot 1", "Vatting 3")),
        (Refused, "bottling change 'Lot 1' 'Vatting 1'", lambda book: book.change_vat(HOW, "Lot 1", "Vatting 1")),
        (NotThere, "bottling change 'Lot 1' 'Vatting 4'", lambda book: book.change_vat(HOW, "Lot 1", "Vatting 4")),
        (
            ToConfirm, "bottling end 'Lot 1' --left '25 l'",
            lambda book: book.end_bottling(HOW, "Lot 1", Rest(read_amount("25 l"))),
        ),
        (
            ToConfirm, "bottling end 'Lot 1' --left '31 l'",
            lambda book: book.end_bottling(HOW, "Lot 1", Rest(read_amount("31 l"))),
        ),
        (
            Malformed, "bottling end 'Lot 1' --kind line",
            lambda book: book.end_bottling(HOW, "Lot 1", Rest(kind="line")),
        ),
        (Refused, "bottling end 'Lot 2'", lambda book: book.end_bottling(HOW, "Lot 2")),
        (Refused, "bottling show 'Lot 2'", lambda book: book.bottling_run("Lot 2")),
    ],
)  # fmt: skip
def test_what_is_refused_by_one_is_refused_by_the_other(books, kind, command, action):
    """A check stands in the action or the book, not in the command."""
    with Book.open(books[0], clock=Clock("2024-06-01")) as book, pytest.raises(kind) as refusal:
        action(book)
    told = Desk(books[1], here)(command if " show " in command else f"{command} {OPTIONS}")
    assert told.refusal is type(refusal.value)
    assert as_told(refusal.value, books[1]) in told.err
    assert _recorded(books[0]) == _recorded(books[1])


def test_a_run_sheet_is_printed_the_same(books, tmp_path):
    """The same entry; an existing file stays without --force."""
    for name in ("python", "command"):
        (tmp_path / name).mkdir()
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        printed = book.print_run_sheet(HOW, "Lot 1", Output((tmp_path / "python" / "run.pdf",)))
    assert printed.item == "L000001C"
    Desk(books[1], here).does(f"bottling sheet 'Lot 1' -o {tmp_path / 'command' / 'run.pdf'} {OPTIONS}")
    assert _recorded(books[0]) == _recorded(books[1])
    assert (tmp_path / "command" / "run.pdf").read_bytes()[:5] == b"%PDF-"
    again = Desk(books[1], here)(f"bottling sheet 'Lot 1' -o {tmp_path / 'command' / 'run.pdf'} {OPTIONS}")
    assert again.status == 1


def test_runs_under_way_are_listed(books):
    """What the command shows is what the query answers."""
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        assert [run.id for run in book.bottling_runs()] == ["L000001C"]
        book.end_bottling(HOW, "Lot 1", Rest(read_amount("29.8 l")))
        assert book.bottling_runs() == []
    assert [run["id"] for run in Desk(books[1], here).asks("bottling show")["runs"]] == ["L000001C"]
