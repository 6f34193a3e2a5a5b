"""Whatever moves liquid is recorded the same by the command and from Python, and refused the same."""

import shutil

import pytest
from command import WHO, Desk, as_told, here
from house import Clock, House, moment

from pourbook import Book, Draft, Item, Move, Pour
from pourbook.actions.casks import Filling, Sample
from pourbook.actions.happening import Happening
from pourbook.actions.leaving import Leaving
from pourbook.actions.movement import Status
from pourbook.actions.racking import Racking
from pourbook.actions.reducing import ReductionPlan
from pourbook.actions.vats import Bottling, VatReading
from pourbook.book.journal import journal
from pourbook.codes.identifiers import write
from pourbook.errors import Malformed, NotThere, OutOfRange, Refused, ToConfirm
from pourbook.quantities import in_bottles, read_amount, read_strength
from pourbook.queries.plans.asked import PlanAsked
from pourbook.queries.trials.batch_plan import Wanted

WHEN = "2024-05-02T09:30:00"
HOW = Happening(WHO, moment(WHEN), "Warehouse 2", "as the sheet says")
OPTIONS = f"--when {WHEN} --where 'Warehouse 2' --reason 'as the sheet says'"
FREE = write("cask", 77)


def litres(text):
    return read_amount(f"{text} l")


@pytest.fixture
def books(tmp_path):
    """Two equal books: two casks, a vial, a trial, a batch and a lot of which customers have ten bottles."""
    with House(tmp_path / "python.pourbook") as house:
        for name, ref in (("C1", "Row 3/12"), ("C2", "Row 4/02"), ("V1", "S 1"), ("T1", "first"), ("B1", "Vatting 1")):
            house.open(name, ref=ref)
        house.open("L1", ref="Lot 1", bottles="50", size_ml="700")
        house.fill("C1", "200 l", "63.5", spirit="malt spirit")
        house.fill("C2", "180 l", "61", spirit="malt spirit")
        house.draw("C1", "V1", "500 ml")
        house.pour("V1", "T1", "70 ml")
        house.pour("water", "T1", "30 ml")
        house.pour("C1", "B1", "80 l")
        house.pour("B1", "L1", "35 l", verb="bottle", bottles=50)
        house.pour("L1", "despatch", "7 l", verb="despatch", bottles=10, customer="Harbour Row")
    shutil.copy(tmp_path / "python.pourbook", tmp_path / "command.pourbook")
    return tmp_path / "python.pourbook", tmp_path / "command.pourbook"


def _recorded(path):
    """All that was written of each entry, but for the time of recording and the login name."""
    with Book.open(path) as book:
        return [
            (one.kind, {name: value for name, value in one.entry.items() if name not in ("recorded", "login")})
            for one in journal(book.store)
        ]


BOTH = {
    "an empty cask": (
        "cask 'Row 5/01' --wood 'rum barrel' --capacity '49.5 gal'",
        lambda book, how: book.take_in_cask(how, {"ref": "Row 5/01", "wood": "rum barrel", "capacity_l": "49.5 gal"}),
    ),
    "a full cask": (
        "cask --fill '100 l' --strength 60 --spirit rye --in-wood 0 --cost 4.20 --supplier Tarn --owner Corran",
        lambda book, how: book.take_in_cask(
            how, {"spirit": "rye"},
            Filling(litres(100), read_strength("60"), facts={"spirit": "rye", "wood_days": 0, "cost": "4.20",
                                                             "supplier": "Tarn"}),
            status=Status(owner="Corran"),
        ),
    ),
    "a filling": (
        "fill 'Row 3/12' '1 l' --strength 60 --temperature 14 --pending --supplier T --document M --carrier F --duty s",
        lambda book, how: book.fill(
            how, "Row 3/12",
            Filling(litres(1), read_strength("60"), 14.0, True,
                    {"supplier": "T", "document": "M", "carrier": "F"}),
            Status(duty="s"),
        ),
    ),
    "a sample from outside": (
        "vial '200 ml' --ref 'S 9' --strength 58 --wood 'plum cask' --supplier 'Corran Vale' --document 'D 4'",
        lambda book, how: book.take_in_sample(
            how, {"ref": "S 9", "wood": "plum cask"},
            Filling(read_amount("200 ml"), read_strength("58"), facts={"supplier": "Corran Vale", "document": "D 4"}),
        ),
    ),
    "a sample": (
        "draw 'Row 3/12' '250 ml' --returned '50 ml' --strength 63.4 --ref 'S 2' --recipient Panel --owner Corran",
        lambda book, how: book.draw(
            how, "Row 3/12",
            Sample(read_amount("250 ml"), read_amount("50 ml"), read_strength("63.4"), ref="S 2",
                   facts={"recipient": "Panel"}),
            Status(owner="Corran"),
        ),
    ),
    "a leak": (
        "loss 'Row 3/12' '3.4 l' --kind leak",
        lambda book, how: book.lose(how, "Row 3/12", Leaving(litres(3.4)), "leak"),
    ),
    "a leaking cask": (
        "rack 'Row 3/12' 'Row 4/02' '110 l' --strength 63.4 --temperature 13 --about 'head split' --confirm",
        lambda book, how: book.rack(
            how._replace(confirm=True), "Row 3/12", "Row 4/02",
            Racking(litres(110), read_strength("63.4"), 13.0, "head split"),
        ),
    ),
    "two bottles broken": (
        "loss 'Lot 1' '2 bottles' --kind accident --document 'D 1'",
        lambda book, how: book.lose(how, "Lot 1", Leaving(in_bottles(2)), "accident", {"document": "D 1"}),
    ),
    "a destruction": (
        "loss 'S 1' all --kind destruction --witness 'officer 7'",
        lambda book, how: book.lose(how, "S 1", Leaving(), "destruction", {"witness": "officer 7"}),
    ),
    "bottles sent": (
        "despatch 'Lot 1' 12 --customer 'Corran Vale' --address '4 Harbour Row' --carrier Ferrow --export",
        lambda book, how: book.despatch(
            how, "Lot 1", Leaving(in_bottles(12)), "Corran Vale",
            {"address": "4 Harbour Row", "carrier": "Ferrow", "disposition": "export"},
        ),
    ),
    "bulk sent": (
        "despatch 'Vatting 1' '5 l' --customer 'Corran Vale' --temperature 12",
        lambda book, how: book.despatch(how, "Vatting 1", Leaving(litres(5), temperature_c=12.0), "Corran Vale"),
    ),
    "bottles back": (
        "return 'Lot 1' 6 --customer 'Harbour Row' --document 'CN 1'",
        lambda book, how: book.take_back(how, "Lot 1", 6, "Harbour Row", {"document": "CN 1"}),
    ),
    "a batch": (
        "batch 'Vatting 2' --place 'Vat 2' --follows first",
        lambda book, how: book.open_batch(how, {"ref": "Vatting 2", "place": "Vat 2", "follows": "first"}),
    ),
    "a trial scaled up": (
        ("scale-up first --total '40 l' --use 'S 1=Row 3/12,Row 4/02' --heel 'Vatting 1=10 l' --to 46 --record"
        " --ref 'Vatting 2' --duty suspended"),
        lambda book, how: book.scale_up(
            how, "first",
            Wanted(litres(40), None, {"S 1": ["Row 3/12", "Row 4/02"]}, ("Vatting 1", litres(10)), read_strength("46")),
            {"ref": "Vatting 2"}, Status(duty="suspended"),
        ),
    ),
    "a batch planned": (
        "scale-up first --total '40 l' --use 'S 1=Row 3/12,Row 4/02' --to 46 --open --ref 'Vatting 2'",
        lambda book, how: book.plan_batch(
            how, "first", Wanted(litres(40), None, {"S 1": ["Row 3/12", "Row 4/02"]}, None, read_strength("46")),
            {"ref": "Vatting 2"},
        ),
    ),
    "a batch planned from what lies there": (
        "plan first --final '40 l' --to 40 --on '2024-06-01 12:00' --record --ref 'Vatting 2' --duty suspended",
        lambda book, how: book.plan_and_open(
            how, "first", PlanAsked(litres(40), to_strength=read_strength("40"), on_us=moment("2024-06-01 12:00")),
            {"ref": "Vatting 2"}, Status(duty="suspended"),
        ),
    ),
    "a reduction planned": (
        "reduce 'Vatting 1' --to 46 --via 55 --rest-days 7",
        lambda book, how: book.plan_reduction(
            how, "Vatting 1", ReductionPlan(read_strength("46"), via=(read_strength("55"),), rest_days=7)
        ),
    ),
    "a step of a reduction": (
        "reduce 'Vatting 1' --water '1 l' --water-temperature 12 --about 'lot W-12'",
        lambda book, how: book.add_water(how, "Vatting 1", litres(1), 12.0, {"about": "lot W-12"}),
    ),
    "casks dumped": (
        "dump 'Vatting 1' 'Row 3/12' 'Row 4/02' --owner Corran",
        lambda book, how: book.dump(how, "Vatting 1", ["Row 3/12", "Row 4/02"], status=Status(owner="Corran")),
    ),
    "casks measured in the vat": (
        "dump 'Vatting 1' 'Row 3/12' 'Row 4/02' --total '296 l' --temperature 14",
        lambda book, how: book.dump(
            how, "Vatting 1", ["Row 3/12", "Row 4/02"], VatReading(litres(296), temperature_c=14.0)
        ),
    ),
    "a lot": (
        ("bottle 'Vatting 1' --count 50 --size '700 ml' --lot-mark L24-1 --loss 'filter=1.2 l' --empties"
        " --bottle-lot 'flint G 7' --closure 'stopper K-88'"),
        lambda book, how: book.bottle(
            how, "Vatting 1",
            Bottling(50, read_amount("700 ml"),
                     {"lot_mark": "L24-1", "bottle_lot": "flint G 7", "closure": "stopper K-88"},
                     [("filter", litres(1.2))], True),
        ),
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", BOTH)
def test_the_command_and_python_record_the_same(books, what):
    """Two equal books stay equal: the same entries, with the same time, station, person and reason."""
    command, action = BOTH[what]
    before = _recorded(books[0])
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        assert action(book, HOW._replace(dry_run=True)).recorded.numbers
        assert book.head()[0] == len(before), "a dry run keeps nothing"
        assert action(book, HOW).recorded.numbers
    Desk(books[1], here).does(f"{command} {OPTIONS}")
    from_python, from_command = _recorded(books[0]), _recorded(books[1])
    assert len(from_python) > len(before)
    assert from_python == from_command


@pytest.mark.parametrize(
    ("kind", "command", "action"),
    [
        (Refused, f"cask --id {FREE}", lambda book: book.take_in_cask(HOW, {}, given=FREE)),
        (
            Malformed, "fill 'Row 3/12' '1 l' --strength 60 --in-wood -1",
            lambda book: book.fill(HOW, "Row 3/12", Filling(litres(1), read_strength("60"), facts={"in_wood": "-1"})),
        ),
        (
            Malformed, "fill 'Row 3/12' '1 l'", lambda book: book.fill(HOW, "Row 3/12", Filling(litres(1), None)),
        ),
        (
            OutOfRange, "draw 'Row 3/12' '50 ml' --returned '60 ml'",
            lambda book: book.draw(HOW, "Row 3/12", Sample(read_amount("50 ml"), read_amount("60 ml"))),
        ),
        (
            ToConfirm, "loss 'Row 3/12' '1 l' --kind destruction",
            lambda book: book.lose(HOW, "Row 3/12", Leaving(litres(1)), "destruction"),
        ),
        (
            NotThere, "despatch 'Lot 1' 41 --customer Corran",
            lambda book: book.despatch(HOW, "Lot 1", Leaving(in_bottles(41)), "Corran"),
        ),
        (
            OutOfRange, "despatch 'Lot 1' 0 --customer Corran",
            lambda book: book.despatch(HOW, "Lot 1", Leaving(in_bottles(0)), "Corran"),
        ),
        (Refused, "return 'Lot 1' 11 --customer Corran", lambda book: book.take_back(HOW, "Lot 1", 11, "Corran")),
        (OutOfRange, "return 'Lot 1' 0 --customer Corran", lambda book: book.take_back(HOW, "Lot 1", 0, "Corran")),
        (Malformed, "scale-up first --record", lambda book: book.scale_up(HOW, "first", Wanted())),
        (
            ToConfirm, "dump 'Vatting 1' 'Row 3/12' --total '12 l'",
            lambda book: book.dump(HOW, "Vatting 1", ["Row 3/12"], VatReading(litres(12))),
        ),
        (
            Malformed, "bottle 'Vatting 1' --count 0 --size '700 ml'",
            lambda book: book.bottle(HOW, "Vatting 1", Bottling(0, read_amount("700 ml"))),
        ),
    ],
)  # fmt: skip
def test_what_is_refused_by_one_is_refused_by_the_other(books, kind, command, action):
    """A check stands in the action or the book, not in the command."""
    with Book.open(books[0]) as book, pytest.raises(kind) as refusal:
        action(book)
    told = Desk(books[1], here)(f"{command} {OPTIONS}")
    assert told.refusal is type(refusal.value)
    assert as_told(refusal.value, books[1]) in told.err
    assert _recorded(books[0]) == _recorded(books[1])


def _line(source, target, amount, **facts):
    return Pour("pour", (Move(source, target, amount, facts=facts),))


@pytest.mark.parametrize(
    ("kind", "said", "entries"),
    [
        (NotThere, "40 bottles are left, not 41", [_line("L000001C", "despatch", 1_000_000, bottles=41)]),
        (Malformed, "0 bottles", [_line("L000001C", "loss", 1_000_000, bottles=0)]),
        (
            NotThere, "10 bottles are left, not 11",
            [_line("L000001C", "despatch", in_bottles(30)), _line("L000001C", "loss", in_bottles(11))],
        ),
        (Malformed, "-3 days", [_line("C000001H", "B000001Y", 1_000_000, wood_days=-3)]),
        (OutOfRange, "negative", [Item("L000002A", {"bottles": "5", "size_ml": "-700"})]),
        (Malformed, "at least one bottle", [Item("L000002A", {"bottles": "0"})]),
    ],
)  # fmt: skip
def test_the_book_refuses_it_of_every_door(books, kind, said, entries):
    """Entries made by hand, of which no action knows; those of one recording are counted together."""
    with Book.open(books[0]) as book, pytest.raises(kind, match=said):
        book.record(*(Draft(entry, moment(WHEN), WHO) for entry in entries))


def test_a_despatch_is_corrected_within_what_was_left_before_it(books):
    """Forty were left before the ten; the entry that is replaced counts no more, and one that was voided neither."""
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        sent = book.despatch(HOW, "Lot 1", Leaving(in_bottles(30)), "Corran Vale")
        assert (sent.bottles, sent.left) == (30, 10)
        wrong = Draft(_line("L000001C", "despatch", 1_000, bottles=41), moment(WHEN), WHO, "misread")
        with pytest.raises(NotThere, match="40 bottles are left, not 41"):
            book.record(wrong._replace(replaces=sent.recorded.numbers[-1]))
        right = wrong._replace(entry=_line("L000001C", "despatch", in_bottles(40)))
        book.record(right._replace(replaces=sent.recorded.numbers[-1]))
