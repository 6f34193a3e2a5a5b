"""What is done at home is recorded the same by the command and from Python, and refused the same."""

import shutil

import pytest
from command import WHO, Desk, as_told, here
from house import Clock, House, moment

from pourbook import Book
from pourbook.actions.correcting import Correction
from pourbook.actions.happening import Happening
from pourbook.book.entries import Stage, Taste
from pourbook.codes.identifiers import write
from pourbook.errors import Malformed, OutOfRange, Refused
from pourbook.quantities import read_amount, read_strength

WHEN = "2024-05-02T09:30:00"
HOW = Happening(WHO, moment(WHEN), "Warehouse 2", "stock-take")
FREE = write("person", 77)
OPTIONS = f"--when {WHEN} --where 'Warehouse 2' --reason stock-take"


@pytest.fixture
def books(tmp_path):
    """Two equal books: three casks, a sample, a hold; the paths of both."""
    with House(tmp_path / "python.pourbook") as house:
        house.open("C1", ref="Row 3/12")
        house.cask("C2", "180 l", "58.2", spirit="grain spirit")
        house.fill("C1", "200 l", "63.5", spirit="malt spirit", at="2024-02-01")
        house.cask("C3", "190 l", "61", spirit="malt spirit")
        house.draw("C1", "V1", "500 ml")
        house.gauge("C1", "198 l", "63.2")
        house.hold("C2")
    shutil.copy(tmp_path / "python.pourbook", tmp_path / "command.pourbook")
    return tmp_path / "python.pourbook", tmp_path / "command.pourbook"


def _number(book, kind, which=-1):
    return [entry.number for entry in _journal(book) if entry.kind == kind][which]


def _journal(book):
    from pourbook.book.journal import journal

    return list(journal(book.store))


def _recorded(path):
    """Kind and all that was written of each entry, but for the time of recording and the login name."""
    with Book.open(path) as book:
        return [
            (one.kind, {name: value for name, value in one.entry.items() if name not in ("recorded", "login")})
            for one in _journal(book)
        ]


def _of(answer):
    return getattr(answer, "recorded", answer)


BOTH = {
    "settings": ("settings --set currency=EUR", lambda book, how: book.change_settings(how, {"currency": "EUR"})),
    "set": (
        "set 'Row 3/12' wood='rum barrel' 'capacity_l=22.5 gal'",
        lambda book, how: book.set_facts(how, "Row 3/12", {"wood": "rum barrel", "capacity_l": "22.5 gal"}),
    ),
    "move": (
        "move 'Row 3/12' C-000002-F --to 'Row 9'",
        lambda book, how: book.move_items(how, ["Row 3/12", "C000002F"], "Row 9"),
    ),
    "hold": ("hold 'Row 3/12'", lambda book, how: book.hold(how, ["Row 3/12"])),
    "release": ("release C-000002-F", lambda book, how: book.release(how, ["C000002F"])),
    "note": ("note 'Row 3/12' 'bung replaced'", lambda book, how: book.note(how, "Row 3/12", "bung replaced")),
    "person": (
        "person 'Isla Farrow' --note 'blending room'",
        lambda book, how: book.enter(how, "person", "Isla Farrow", {"note": "blending room"}),
    ),
    "location": ("location 'Row 9'", lambda book, how: book.enter(how, "place", "Row 9")),
    "a stow": (
        "location 'Row' --storage stow --levels 'tier / position' --open both",
        lambda book, how: book.enter(
            how, "place", "Row", {"storage": "stow", "levels": "tier / position", "open_end": "both"}
        ),
    ),
    "instrument": (
        "instrument H-3 --kind hydrometer --unit '% vol' --mpe 0.1 --class 'hydrometer II' --due 2027-03-01",
        lambda book, how: book.enter(
            how, "instrument", "H-3",
            {"instrument": "hydrometer", "unit": "% vol", "mpe": "0.1", "class": "hydrometer II", "due": "2027-03-01"},
        ),
    ),
    "vessel": (
        "vessel 'Vat 2' --capacity 1200 --table '0 12.5; 50 480'",
        lambda book, how: book.enter(how, "place", "Vat 2", {"capacity_l": "1200", "dip_table": "0 12.5; 50 480"}),
    ),
    "void": ("void {gauge}", lambda book, how: book.void(how, _number(book, "gauge"))),
    "replace a pour": (
        "replace {pour} --amount '480 ml' --source C-000001-H",
        lambda book, how: book.replace(
            how, _number(book, "pour"), Correction(amount=read_amount("480 ml"), source="C000001H")
        ),
    ),
    "replace a filling": (
        "replace {fill} --strength 63.1",
        lambda book, how: book.replace(how, _number(book, "pour", -2), Correction(strength=read_strength("63.1"))),
    ),
    "replace a gauge": (
        "replace {gauge} --amount '197 l' --temperature 14",
        lambda book, how: book.replace(
            how, _number(book, "gauge"), Correction(amount=read_amount("197 l"), temperature_c=14.0)
        ),
    ),
    "taste": (
        "taste 'Row 3/12' long --nose 'oak 2,pear 4;shy' --finish dry --seconds 25 --score 82 --blind --amount '15 ml'",
        lambda book, how: book.taste(
            how,
            Taste(
                "Row 3/12", text="long", finish_s=25, score="82", blind=True,
                stages={"nose": Stage("shy", {"pear": "4", "oak": "2"}), "finish": Stage("dry")},
            ),
            read_amount("15 ml"),
        ),
    ),
    "word": (
        "word pear --group fruit --definition 'ripe pears' --also bosc --fault",
        lambda book, how: book.write_word(
            how, "pear", {"group": "fruit", "definition": "ripe pears", "also": ("bosc",), "off": True}
        ),
    ),
    "close": ("close", lambda book, how: book.close_period(how)),
}  # fmt: skip


@pytest.mark.parametrize("what", BOTH)
def test_the_command_and_python_record_the_same(books, what):
    """Two equal books stay equal: the same entries, with the same time, station, person and reason."""
    command, action = BOTH[what]
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        numbers = {"pour": _number(book, "pour"), "fill": _number(book, "pour", -2), "gauge": _number(book, "gauge")}
        before = len(_journal(book))
        assert _of(action(book, HOW._replace(dry_run=True))).is_dry_run
        assert len(_journal(book)) == before, "a dry run keeps nothing"
        assert not _of(action(book, HOW)).is_dry_run
    Desk(books[1], here).does(f"{command.format(**numbers)} {OPTIONS}")
    from_python, from_command = _recorded(books[0]), _recorded(books[1])
    assert len(from_python) > before
    assert from_python == from_command


def test_what_is_refused_by_one_is_refused_by_the_other(books):
    """A check stands in the action or the book, not in the command."""

    def entered(kind, name, given=None, **facts):
        return lambda book, how: book.enter(how, kind, name, facts, given)

    wrong, five = {"tare_kg": "heavy"}, Correction(amount=read_amount("5 ml"))
    refused = [
        (Malformed, "hold 'Row 3/12'", lambda book, how: book.hold(how, ["Row 3/12"])),
        (Malformed, "set 'Row 3/12' tare_kg=heavy", lambda book, how: book.set_facts(how, "C000001H", wrong)),
        (Malformed, "settings --set colour=blue", lambda book, how: book.change_settings(how, {"colour": "blue"})),
        (Malformed, "instrument H-3 --kind ruler", entered("instrument", "H-3", instrument="ruler")),
        (OutOfRange, "instrument M --factor 2", entered("instrument", "M", meter_factor="2")),
        (Malformed, "instrument H-3 --due soon", entered("instrument", "H-3", due="soon")),
        (Refused, f"person Isla --id {FREE}", entered("person", "Isla", FREE)),
        (Malformed, "void 2", lambda book, how: book.void(how, 2)),
        (Refused, "replace 1 --amount 5", lambda book, how: book.replace(how, 1, five)),
    ]
    for kind, command, action in refused:
        with Book.open(books[0]) as book, pytest.raises(kind) as refusal:
            action(book, Happening(WHO))
        told = Desk(books[1], here)(command)
        assert told.refusal is type(refusal.value), command
        assert as_told(refusal.value, books[1]) in told.err
    assert _recorded(books[0]) == _recorded(books[1])


def test_a_zero_is_an_amount_of_a_gauge_and_not_of_a_pour(books):
    """What can be typed for either is told apart by the entry that is replaced."""
    desk = Desk(books[1], here)
    with Book.open(books[0]) as book:
        pour, gauge = _number(book, "pour"), _number(book, "gauge")
    assert "amount '0 ml' is zero" in desk(f"replace {pour} --amount '0 ml' --reason misread").err
    assert "'all'" in desk(f"replace {gauge} --amount all --reason misread").err
    desk.does(f"replace {gauge} --amount '0 ml' --reason misread --kind leak --confirm")
    assert desk.asks("show 'Row 3/12'")["mass_mg"] == 0


def test_items_are_moved_by_the_tag_of_their_place(books):
    """The tag scanned, the place's name recorded; an entered thing is shown without a new entry."""
    desk = Desk(books[1], here)
    tag = desk.does("location 'Warehouse 2, row 7'").out.strip()
    desk.does(f"move 'Row 3/12' --to {tag}")
    assert desk.asks("show 'Row 3/12'")["place"] == "Warehouse 2, row 7"
    before = _recorded(books[1])
    assert desk.does("location 'Warehouse 2, row 7'").out.strip() == f"{tag}  ref: Warehouse 2, row 7"
    assert _recorded(books[1]) == before


def test_facts_of_instruments_are_kept_as_plain_numbers(books):
    """Whatever the house's decimal mark."""
    desk = Desk(books[1], here)
    desk.does("settings --set decimal_mark=,")
    desk.does("instrument M-1 --kind 'flow meter' --unit l --mpe '0,5 %' --resolution 0,1 --factor 1,0023")
    facts = desk.asks("instrument M-1")["facts"]
    assert (facts["mpe"], facts["resolution"], facts["meter_factor"]) == ("0.5 %", "0.1", "1.0023")
