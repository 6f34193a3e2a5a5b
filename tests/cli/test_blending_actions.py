"""An evening of guests by the command and from Python: the same entries, the same refusals."""

import shutil
from pathlib import Path

import pypdfium2
import pytest
from command import WHO, Desk, as_told, here
from house import Clock, House, moment

from pourbook import Book
from pourbook.actions import tasting_session
from pourbook.actions.guest_blending import Evening
from pourbook.actions.happening import Happening
from pourbook.actions.print_paper import Output
from pourbook.actions.tasting_session import Asked
from pourbook.book.entries import RecipePart
from pourbook.book.journal import journal
from pourbook.book.sessions import key_to, session_named
from pourbook.errors import Malformed, NotThere, OutOfRange, Refused, ToConfirm, Unknown
from pourbook.quantities import read_amount, read_strength

WHEN = "2024-05-02T19:30:00"
HOW = Happening(WHO, moment(WHEN), "Blending room", "autumn release")
OPTIONS = f"--when {WHEN} --where 'Blending room' --reason 'autumn release'"
GUESTS = ("Isla Farrow", "Tomas Reeve")
ml = read_amount
WISH = Evening(
    "On the table", GUESTS, ml("30 ml"), ml("5 ml"), read_strength("21"), {"Grain": "S 2"}, swallowed=True
)  # fmt: skip
OPEN = (
    "blending open {} --recipe 'On the table' --guest 'Isla Farrow' --guest 'Tomas Reeve' --use 'Grain=S 2'"
    " --blend '{}' --glass '{}' --to 21 --swallow"
)


@pytest.fixture(autouse=True)
def same_draws(monkeypatch):
    """Chance that falls the same way in both books."""
    monkeypatch.setattr(tasting_session.open_session, "__defaults__", (Asked(), lambda _count: 0))


@pytest.fixture
def books(tmp_path):
    """Two equal books: two samples of 200 ml, and a recipe of one of them and of a kind that the other is."""
    with House(tmp_path / "python.pourbook") as house:
        house.cask("C1", "200 l", "63.5", spirit="malt spirit", allergens="nuts")
        house.cask("C2", "180 l", "58", spirit="grain spirit")
        house.open("V1", ref="S 1")
        house.open("V2", ref="S 2")
        house.draw("C1", "V1", "200 ml")
        house.draw("C2", "V2", "200 ml")
        house.book.write_component(Happening(WHO), "Grain", {"spirit": "grain spirit"})
        parts = RecipePart("S 1", "70", "base", "50..90"), RecipePart("Grain", "30", bounds="0..60")
        house.book.write_recipe(Happening(WHO), "On the table", parts)
    shutil.copy(tmp_path / "python.pourbook", tmp_path / "command.pourbook")
    return tmp_path / "python.pourbook", tmp_path / "command.pourbook"


def recorded(path):
    """Kind and all that was written of each entry, but for what differs between any two books.

    That is the time of recording and the login name, and so the head of the journal that a paper states.
    """
    with Book.open(path) as book:
        entries = [(one.kind, one.entry) for one in journal(book.store)]
    for kind, entry in entries:
        for name in ("recorded", "login"):
            entry.pop(name, None)
        if kind == "paper":
            entry["body"]["facts"].pop("head")
    return entries


# -- the evening, step by step ---------------------------------------------------------------


def _answered(path):
    """A table in which all but the first blend lose, by the codes of the sealed key."""
    with Book.open(path) as book:
        flights, _ = key_to(book.store, session_named(book.store, "Autumn"))
        first = book.find("Harbour light")
    table = path.parent / "ballots.csv"
    rows = [
        (one.code, flight.assessor, 90 if one.item == first else 60) for flight in flights for one in flight.glasses
    ]
    table.write_text("\n".join(["code,assessor,score", *(f"{code},{who},{score}" for code, who, score in rows)]))
    return table


def _poured(book, how, blend, *amounts):
    return book.pour(how, blend, list(zip(("S 1", "S 2"), map(ml, amounts), strict=True)))


STEPS = (
    (OPEN.format("Autumn", "30 ml", "5 ml"), lambda book, how, _: book.open_blending(how, "Autumn", WISH)),
    (
        "blending sheets autumn -o {folder}/sheets.pdf --paper Letter",
        lambda book, how, folder: book.print_guest_sheets(
            how, "autumn", Output((folder / "sheets.pdf",), size="Letter")
        ),
    ),
    (
        "blending compose Autumn --guest 'isla farrow' --called 'Harbour light' --part 'S 1=3' --part grain=1",
        lambda book, how, _: book.compose_blend(
            how, "Autumn", "isla farrow", "Harbour light", {"S 1": "3", "grain": "1"}
        ),
    ),
    (
        "blending compose Autumn --guest 'Tomas Reeve' --called Half --part 'S 1=5' --part 'S 2=5'",
        lambda book, how, _: book.compose_blend(how, "Autumn", "Tomas Reeve", "Half", {"S 1": "5", "S 2": "5"}),
    ),
    (
        "pour 'Harbour light' 'S 1' '22.5 ml' 'S 2' '7.5 ml'",
        lambda book, how, _: _poured(book, how, "Harbour light", "22.5 ml", "7.5 ml"),
    ),
    ("pour Half 'S 1' '15 ml' 'S 2' '15 ml'", lambda book, how, _: _poured(book, how, "Half", "15 ml", "15 ml")),
    ("blending taste autumn --glass 'S 1'", lambda book, how, _: book.taste_blends(how, "autumn", ("S 1",))),
    ("session pour Autumn", lambda book, how, _: book.pour_session(how, "Autumn")),
    (
        "session ballot Autumn {folder}/ballots.csv",
        lambda book, how, folder: book.take_ballots(how, "Autumn", _answered(folder / "python.pourbook")),
    ),
    ("session close Autumn", lambda book, how, _: book.close_session(how, "Autumn")),
    (
        "blending choose Autumn --called 'Ostrewick Autumn'",
        lambda book, how, _: book.choose_blend(how, "Autumn", called="Ostrewick Autumn"),
    ),
    (
        "blending cards Autumn -o {folder}/cards.pdf",
        lambda book, how, folder: book.print_guest_cards(how, "Autumn", Output((folder / "cards.pdf",))),
    ),
)


def _taken_away(folder):
    """The sizes of pages that were printed; their files go, so that the other may print under the same names."""
    sizes = {}
    for paper in folder.glob("*.pdf"):
        with pypdfium2.PdfDocument(paper) as document:
            sizes[paper.name] = [page.get_size() for page in document]
        paper.unlink()
    return sizes


def test_an_evening_by_command_and_from_python_is_the_same(books):
    """After every step the books are equal; a dry run by either leaves them as they were, and writes no file."""
    folder, desk = books[0].parent, Desk(books[1], here)
    for command, action in STEPS:
        typed, before = f"{command.format(folder=folder)} {OPTIONS}", recorded(books[0])
        with Book.open(books[0], clock=Clock("2024-06-01")) as book:
            action(book, HOW._replace(dry_run=True), folder)
            desk.does(f"{typed} --dry-run")
            assert recorded(books[0]) == recorded(books[1]) == before, command
            assert not list(folder.glob("*.pdf")), command
            action(book, HOW, folder)
        printed = _taken_away(folder)
        desk.does(typed)
        assert len(recorded(books[0])) > len(before), command
        assert recorded(books[0]) == recorded(books[1]), command
        assert printed == _taken_away(folder), command
    with Book.open(books[0]) as book:
        assert book.blending_card("Autumn").chosen == book.find("Harbour light")


def test_a_blend_that_is_named_is_chosen_the_same(books):
    """Not the first by rank, under the name that a recipe has if none is given, and for a reason of the book's own."""
    folder, desk = books[0].parent, Desk(books[1], here)
    without = HOW._replace(reason="")
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        for _, action in STEPS[:-2]:
            action(book, HOW, folder)
        (folder / "sheets.pdf").unlink()
        for command, _ in STEPS[:-2]:
            desk.does(f"{command.format(folder=folder)} {OPTIONS}")
        chosen = book.choose_blend(without, "Autumn", "half")
    desk.does(f"blending choose Autumn half --when {WHEN} --where 'Blending room'")
    assert (chosen.recipe.name, chosen.why) == (
        "Autumn: Half", "chosen of 2 blends in 'Autumn', composed by Tomas Reeve",
    )  # fmt: skip
    assert recorded(books[0]) == recorded(books[1])


# -- refused ----------------------------------------------------------------------------------

CARDS, PICTURE = Path("cards.pdf"), Path("sheets.png")


def _composed(parts, guest="Tomas Reeve", called="Half"):
    return lambda book: book.compose_blend(HOW, "Autumn", guest, called, parts)


@pytest.mark.parametrize(
    ("kind", "command", "action"),
    [
        (Refused, OPEN.format("Autumn", "30 ml", "5 ml"), lambda book: book.open_blending(HOW, "Autumn", WISH)),
        (
            NotThere, OPEN.format("Winter", "150 ml", "5 ml"),
            lambda book: book.open_blending(HOW, "Winter", WISH._replace(total=ml("150 ml"))),
        ),
        (
            OutOfRange, OPEN.format("Winter", "20 ml", "30 ml"),
            lambda book: book.open_blending(HOW, "Winter", WISH._replace(total=ml("20 ml"), amount=ml("30 ml"))),
        ),
        (
            ToConfirm, OPEN.format("Winter", "90 ml", "5 ml"),
            lambda book: book.open_blending(HOW, "Winter", WISH._replace(total=ml("90 ml"))),
        ),
        (
            OutOfRange, "blending compose Autumn --guest 'Tomas Reeve' --called Half --part 'S 1=1' --part 'S 2=3'",
            _composed({"S 1": "1", "S 2": "3"}),
        ),
        (
            Refused, "blending compose Autumn --guest 'Isla Farrow' --called Other --part 'S 1=9' --part 'S 2=1'",
            _composed({"S 1": "9", "S 2": "1"}, "Isla Farrow", "Other"),
        ),
        (
            Unknown, "blending compose Autumn --guest 'Una Brill' --called Half --part 'S 1=9' --part 'S 2=1'",
            _composed({"S 1": "9", "S 2": "1"}, "Una Brill"),
        ),
        (
            Refused, "blending compose Autumn --guest 'Tomas Reeve' --called 'on the table' --part 'S 1=1'",
            _composed({"S 1": "1"}, called="on the table"),
        ),
        (ToConfirm, "blending taste Autumn", lambda book: book.taste_blends(HOW, "Autumn")),
        (Unknown, "blending taste Winter", lambda book: book.taste_blends(HOW, "Winter")),
        (Unknown, "blending choose Autumn", lambda book: book.choose_blend(HOW, "Autumn")),
        (
            Refused, f"blending cards Autumn -o {CARDS}",
            lambda book: book.print_guest_cards(HOW, "Autumn", Output((CARDS,))),
        ),
        (
            Malformed, f"blending sheets Autumn -o {PICTURE}",
            lambda book: book.print_guest_sheets(HOW, "Autumn", Output((PICTURE,))),
        ),
    ],
)  # fmt: skip
def test_what_is_refused_by_one_is_refused_by_the_other(books, kind, command, action):
    """A check stands in the action or the book, not in the command; nothing is recorded."""
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        book.open_blending(HOW, "Autumn", WISH)
        _composed({"S 1": "9", "S 2": "1"}, "Isla Farrow", "Harbour light")(book)
    shutil.copy(books[0], books[1])
    before = recorded(books[0])
    with Book.open(books[0]) as book, pytest.raises(kind) as refusal:
        action(book)
    told = Desk(books[1], here)(f"{command} {OPTIONS}")
    assert told.refusal is type(refusal.value) is kind, told.err
    assert as_told(refusal.value, books[1]) in told.err
    assert recorded(books[0]) == recorded(books[1]) == before


def test_a_tasting_session_does_not_take_the_name_of_an_evening(books):
    """Its blends are to meet under that name, and could not; a blend of a dry run is not told to be printed."""
    desk = Desk(books[1], here)
    desk.does(f"{OPEN.format('May', '30 ml', '5 ml')} {OPTIONS}")
    ran = desk(f"session open may --glass 'S 1' --glass 'S 2' --assessor Una {OPTIONS}")
    assert "a blending session is called 'May' already" in ran.err
    parts = "--part 'S 1=60' --part 'S 2=40'"
    asked = desk.does(f"blending compose May --guest 'Isla Farrow' --called Long {parts} --dry-run {OPTIONS}")
    assert "print it" not in asked.err
    desk.does(f"blending compose May --guest 'Isla Farrow' --called Long {parts} {OPTIONS}")
    desk.does(f"pour Long 'S 1' '18 ml' 'S 2' '12 ml' {OPTIONS}")
    desk.does(f"blending taste May --glass 'S 1' --confirm {OPTIONS}")


def test_a_voided_pour_of_one_guest_hides_nothing_of_the_evening(books):
    """What everybody found is still reported and listed, and nobody is said to be composing once it was tasted."""
    desk = Desk(books[1], here)
    desk.does(f"{OPEN.format('May', '30 ml', '5 ml')} {OPTIONS}")
    assert desk.does("blending show May").out.count("still to compose") == 2
    desk.does(f"blending compose May --guest 'Isla Farrow' --called Long --part 'S 1=60' --part 'S 2=40' {OPTIONS}")
    assert "still to pour" in desk.does("blending show May").out
    poured = desk.asks(f"pour Long 'S 1' '18 ml' 'S 2' '12 ml' {OPTIONS}")["entries"]
    desk.does(f"blending taste May --glass 'S 1' --confirm {OPTIONS}")
    for entry in poured:
        desk.does(f"void {entry} --reason 'other vials' --when {WHEN}")
    assert "nuts" in desk.does("session show May").out
    assert "May" in desk.does("session list").out
    desk.does(f"session close May --confirm {OPTIONS}")
    assert "no ballot" in desk.does("session report May").out
    said = desk.does("blending show May").out
    assert said.count("nothing poured") == 2
    assert "still" not in said
