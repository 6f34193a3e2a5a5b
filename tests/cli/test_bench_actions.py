"""What is done at the bench is recorded the same by the command and from Python, and asked the same."""

import shutil

import pytest
from command import WHO, Desk, as_told, here
from house import Clock, House, moment

from pourbook import Book
from pourbook.actions.composing import TrialFacts
from pourbook.actions.happening import Happening
from pourbook.actions.movement import Status
from pourbook.actions.pouring import PourDetails
from pourbook.book.entries import RecipePart
from pourbook.book.journal import journal
from pourbook.errors import Malformed, NotThere, OutOfRange, Refused, ToConfirm, Unknown
from pourbook.quantities import read_amount, read_strength
from pourbook.queries.trials.revised_parts import PartChange

WHEN = "2024-05-02T09:30:00"
HOW = Happening(WHO, moment(WHEN), "Laboratory", "for the panel")
OPTIONS = f"--when {WHEN} --where Laboratory --reason 'for the panel'"
DRY = HOW._replace(dry_run=True)
MG = 0.0015
"""A pour is kept to the milligram; the lightest spirit is 0.79 mg to the microlitre. In ml."""


@pytest.fixture
def books(tmp_path):
    """Two equal books: two samples, a trial that was planned as 75 ml of the first and 25 ml of the second; a label."""
    with House(tmp_path / "python.pourbook") as house:
        house.cask("C1", "200 l", "63.5", spirit="malt spirit", wood_days=0)
        house.cask("C2", "180 l", "58", spirit="grain spirit", wood_days=0)
        house.open("V1", ref="S 1")
        house.open("V2", ref="S 2")
        house.draw("C1", "V1", "200 ml")
        house.draw("C2", "V2", "200 ml")
    desk = Desk(tmp_path / "python.pourbook", here)
    desk.does("trial --recipe Rowan --part 'S 1=3' --part 'S 2=1' --ref first --when 2024-04-01")
    desk.does("component Grain --spirit 'grain spirit' --when 2024-04-01")
    desk.does("recipe Field --part 'S 1=3' --part grain=1 --when 2024-04-01")
    desk.does("reserve trial 1 --when 2024-04-01")
    shutil.copy(desk.book, tmp_path / "command.pourbook")
    return desk.book, tmp_path / "command.pourbook"


def recorded(path):
    """Kind and all that was written of each entry, but for the time of recording and the login name."""
    with Book.open(path) as book:
        return [
            (one.kind, {name: value for name, value in one.entry.items() if name not in ("recorded", "login")})
            for one in journal(book.store)
        ]


ml = read_amount
PARTS = (RecipePart("S 1", "9", "base"), RecipePart("water", "1"))
BOTH = {
    "a recipe": (
        "recipe 'Rowan, lighter' --part 'S 1=9:base' --part water=1 --revised-from Rowan",
        lambda book, how: book.write_recipe(how, "Rowan, lighter", PARTS, "Rowan"),
    ),
    "a trial of a recipe": (
        "trial --recipe Rowan --total '40 ml' --ref second --name 'a smaller one'",
        lambda book, how: book.compose_trial(how, ml("40 ml"), "Rowan", about=TrialFacts("second", "a smaller one")),
    ),
    "a trial with a recipe of its own": (
        "trial --part 'S 1=9:base' --part water=1 --revised-from first --id {label}",
        lambda book, how: book.compose_trial(
            how, ml("100 ml"), parts=PARTS, about=TrialFacts(revised_from="first", given=label(book))
        ),
    ),
    "a recipe by pure alcohol": (
        "recipe Strong --part 'S 1=9:base' --part grain=1 --by pure-alcohol",
        lambda book, how: book.write_recipe(
            how, "Strong", (RecipePart("S 1", "9", "base"), RecipePart("grain", "1")), by="pure-alcohol"
        ),
    ),
    "a trial by pure alcohol": (
        "trial --part 'S 1=9' --part 'S 2=1' --by pure-alcohol --total '50 ml'",
        lambda book, how: book.compose_trial(
            how, ml("50 ml"), parts=(RecipePart("S 1", "9"), RecipePart("S 2", "1")), by="pure-alcohol"
        ),
    ),
    "a recipe with what is kept": (
        "recipe Kept --part 'S 1=6' --part 'S 2=3' --part 'grain=1 in 0.5..2 fixed:rich' --ratio 's 1:S 2'",
        lambda book, how: book.write_recipe(
            how,
            "Kept",
            (
                RecipePart("S 1", "6", ratio=1),
                RecipePart("S 2", "3", ratio=1),
                RecipePart("grain", "1", "rich", "0.5..2", fixed=True),
            ),
        ),
    ),
    "a component": (
        "component 'Malt base' --spirit 'malt spirit' --min-age 0 --max-age 12 --role base --bounds 50..90",
        lambda book, how: book.write_component(
            how,
            "Malt base",
            {"spirit": "malt spirit", "min_age": 0, "max_age": 12, "role": "base", "bounds": "50..90"},
        ),
    ),
    "a component that changes": (
        "component 'grain' --wood '' --role light --confirm",
        lambda book, how: book.write_component(how._replace(confirm=True), "grain", {"wood": "", "role": "light"}),
    ),
    "a component that is retired": (
        "component grain --retire",
        lambda book, how: book.write_component(how, "grain", {"gone": True}),
    ),
    "a trial of a recipe on components": (
        "trial --recipe Field --use 'grain=S 2' --total '40 ml' --ref second",
        lambda book, how: book.compose_trial(
            how, ml("40 ml"), "Field", about=TrialFacts("second"), uses={"grain": "S 2"}
        ),
    ),
    "a trial by what changes": (
        "trial --revised-from first --change 'S 1=-0.5' --change water=+0.5 --ref third",
        lambda book, how: book.revise_trial(
            how, "first", [PartChange("S 1", "-0.5"), PartChange("water", "+0.5")], about=TrialFacts("third")
        ),
    ),
    "a trial of a strength, with bounds": (
        "trial --part 'S 1=3 in 2..4:base' --part 'S 2=0.5..1.5' --total '60 ml' --to 46.5 --ref weaker",
        lambda book, how: book.compose_trial(
            how,
            ml("60 ml"),
            parts=(RecipePart("S 1", "3", "base", "2..4"), RecipePart("S 2", "0.5..1.5")),
            about=TrialFacts("weaker", to=read_strength("46.5")),
        ),
    ),
    "a trial of another strength": (
        "trial --revised-from first --to 50",
        lambda book, how: book.revise_trial(how, "first", (), about=TrialFacts(to=read_strength("50"))),
    ),
    "a pour": (
        "pour first 'S 1' '70 ml' water 5 'S 2' all --temperature 14",
        lambda book, how: book.pour(
            how, "first", [("S 1", ml("70 ml")), ("water", ml("5 ml")), ("S 2", None)], PourDetails(temperature_c=14.0)
        ),
    ),
    "a pour with all that can be said": (
        "pour first origin '40 ml' --strength 60 --received '39 ml' --about 'run 7' --redistilled --owner Vale",
        lambda book, how: book.pour(
            how,
            "first",
            [("origin", ml("40 ml"))],
            PourDetails(
                read_strength("60"),
                received=ml("39 ml"),
                redistilled=True,
                facts={"about": "run 7"},
                status=Status(owner="Vale"),
            ),
        ),
    ),
    "more than the book holds": (
        "pour first 'S 1' '210 ml' --confirm",
        lambda book, how: book.pour(how._replace(confirm=True), "first", [("S 1", ml("210 ml"))]),
    ),
}


def label(book):
    """The number that was set aside for a trial."""
    return next(one.entry["body"]["items"][0] for one in journal(book.store) if one.kind == "reserve")


@pytest.mark.parametrize("what", BOTH)
def test_the_command_and_python_record_the_same(books, what):
    """Two equal books stay equal: the same entries, with the same time, station, person and reason."""
    command, action = BOTH[what]
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        given, before = label(book), book.head()
        action(book, DRY)
        assert book.head() == before, "a dry run keeps nothing"
        action(book, HOW)
    Desk(books[1], here).does(f"{command.format(label=given)} {OPTIONS}")
    assert recorded(books[0]) == recorded(books[1])
    assert len(recorded(books[0])) > before[0]


def test_what_is_refused_by_one_is_refused_by_the_other(books):
    """A check stands in the action or the book, not in the command."""
    twice = [("S 1", ml("5 ml")), ("S 2", ml("5 ml"))]
    refused = [
        (Malformed, "trial", lambda book, how: book.compose_trial(how, ml("100 ml"))),
        (Unknown, "trial --recipe Ash", lambda book, how: book.compose_trial(how, ml("100 ml"), "Ash")),
        (NotThere, "trial --recipe Rowan --total '2 l'", lambda book, how: book.compose_trial(how, ml("2 l"), "Rowan")),
        (
            Refused,
            "trial --recipe Rowan --id T-000002-M",
            lambda book, how: book.compose_trial(how, ml("100 ml"), "Rowan", about=TrialFacts(given="T-000002-M")),
        ),
        (
            OutOfRange,
            "recipe Ash --part water=0",
            lambda book, how: book.write_recipe(how, "Ash", [RecipePart("water", "0")]),
        ),
        (Malformed, "pour first water all", lambda book, how: book.pour(how, "first", [("water", None)])),
        (ToConfirm, "pour first 'S 1' '210 ml'", lambda book, how: book.pour(how, "first", [("S 1", ml("210 ml"))])),
        (
            Malformed,
            "pour first 'S 1' '5 ml' 'S 2' '5 ml' --received '9 ml'",
            lambda book, how: book.pour(how, "first", twice, PourDetails(received=ml("9 ml"))),
        ),
        (
            Malformed,
            "pour first --dry-run",
            lambda book, how: book.pouring_session(how._replace(dry_run=True), "first"),
        ),
    ]
    for kind, command, action in refused:
        with Book.open(books[0]) as book, pytest.raises(kind) as refusal:
            action(book, Happening(WHO))
        told = Desk(books[1], here)(command)
        assert told.refusal is type(refusal.value), command
        assert as_told(refusal.value, books[1]) in told.err
    assert recorded(books[0]) == recorded(books[1])


# -- a session -------------------------------------------------------------------------------------

LINES = {
    "scans": (
        "", "S 1", "?", "70 ml", "S 2 23", "water 7 ml", "S 1", "left 120 ml", "S 2 empty", "S 1", "water 2 ml",
        "empty", "12 ml", "Row 9/99", "S 1 20 ml", "S 1 20 ml", "again", "S 1 20", "S 1 900 ml",
        "confirm", "S 2 40 ml", "confirm", "done",
    ),
    "balance": ("S 1", "182.40", "245.10", "water 255.10", "S 2", "250", "260.10 g", "12 ml", "S 2 all"),
}  # fmt: skip


@pytest.mark.parametrize("way", LINES)
def test_a_session_from_python_records_what_the_typed_lines_do(books, way):
    """The same entries, the same count of refused lines, the same end."""
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        session = book.pouring_session(HOW, "first", balance=way == "balance")
        answers = [session.scan(line) for line in LINES[way]]
        end = session.scan("done")
    flag = "--balance" if way == "balance" else ""
    ran = Desk(books[1], here)(f"pour first {flag} --json {OPTIONS}", "\n".join(LINES[way]))
    assert ran.json["refused"] == sum(bool(one.refused or one.let_go) for one in answers) == end.in_hand.refused > 0
    assert ran.json["mass_mg"] == end.target.view.holding.mass_mg
    assert ran.err.count("refused: ") == sum(one.refused is not None for one in answers)
    assert recorded(books[0]) == recorded(books[1])


def test_a_session_answers_with_values(books):
    """The glass and what it holds, the pour beside its plan, a question, and the end; nothing is said."""
    with Book.open(books[0]) as book:
        session = book.pouring_session(HOW, "first")
        seen = session.scan("S 1")
        assert seen.glass.view.volume_ml_20c == pytest.approx(200, abs=MG)
        assert [(one.component, one.to_go_ml) for one in seen.beside_plan] == [(seen.in_hand.source, 75.0)]
        poured = session.scan("30 ml")
        assert poured.recorded.numbers
        assert poured.beside_plan[0].to_go_ml == pytest.approx(45, abs=MG)
        asked = session.scan("S 1 30 ml")
        assert (asked.in_hand.asked.source, asked.in_hand.asked.amount.typed) == (seen.in_hand.source, "30 ml")
        assert asked.recorded is None, "a question records nothing"
        whole = session.scan("?")
        assert [round(one.planned_ml) for one in whole.beside_plan] == [75, 25]
        assert whole.blend.age.youngest_us is not None
        let_go = session.scan("S 2")
        assert let_go.let_go == asked.in_hand.asked
        assert session.scan("2 drops").refused
        assert session.in_hand.refused == 2
        end = session.scan("done")
        assert (end.done, end.put_away) == (True, book.find("S 2"))
        assert [round(one.to_go_ml) for one in end.beside_plan] == [45, 25]


def test_a_session_goes_on_where_it_stopped(books):
    """A page that keeps only what is in hand, and another station's void, change no answer."""
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        in_hand, answers = None, []
        for line in ("S 1", "30 ml", "S 1 30 ml", "again"):
            answers.append(book.pouring_session(Happening(WHO), "first", in_hand=in_hand).scan(line))
            in_hand = answers[-1].in_hand
        assert [bool(one.recorded) for one in answers] == [False, True, False, True]
        assert answers[2].in_hand.asked.amount.typed == "30 ml"
        assert answers[3].target.view.volume_ml_20c == pytest.approx(60, abs=2 * MG)
        fresh = book.pouring_session(Happening(WHO), "first").scan("S 1 30 ml")
        assert fresh.in_hand.asked is None, "an earlier session's pours are not those of this one"


def test_one_pour_is_confirmed_within_a_session(books):
    """More than is held is asked about; `confirm` records that line alone, by word or by argument."""
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        session = book.pouring_session(HOW, "first")
        before = book.head()
        asked = session.scan("S 1 202 ml")
        assert (type(asked.refused), asked.in_hand.to_confirm, book.head()) == (ToConfirm, "S 1 202 ml", before)
        assert session.scan("?").in_hand.to_confirm == "S 1 202 ml", "a question about the blend keeps it"
        done = session.scan("confirm")
        assert (bool(done.recorded), done.in_hand.refused, done.in_hand.to_confirm) == (True, 0, "")
        assert isinstance(session.scan("confirm").refused, Malformed), "nothing is asked any more"
        assert isinstance(session.scan("S 2 202 ml").refused, ToConfirm)
        assert not session.scan("water 1 ml").in_hand.to_confirm, "another line lets it go"
        assert isinstance(session.scan("confirm").refused, Malformed)
        assert session.scan("S 2 202 ml", confirm=True).recorded
        assert session.in_hand.refused == 3


# -- questions -------------------------------------------------------------------------------------


def test_questions_from_python_and_the_command_agree(books):
    """A recipe, two trials side by side, revisions."""
    desk = Desk(books[0], here)
    desk.does("trial --part 'S 1=1' --ref second --revised-from first --when 2024-05-01")
    desk.does("pour first 'S 1' '30 ml' 'S 2' '10 ml' --when 2024-05-02")
    desk.does("pour second 'S 1' '30 ml' --when 2024-05-02")
    with Book.open(books[0]) as book:
        card, found, line = book.recipe_card("Rowan"), book.compare("first", "second"), book.family("second")
        assert [float(share) for share in card.fractions.values()] == [0.75, 0.25]
        first, second = book.find("first"), book.find("second")
    assert desk.asks("recipe Rowan")["entry"] == card.entry
    rows = {row["id"]: row["change"] for row in desk.asks("compare first second")["components"]}
    assert rows == {one.component: one.change for one in found.differences}
    assert line.revised_from == (first,)
    told = desk.asks("revisions second")
    assert (told["id"], told["revised_from"], told["revisions"]) == (second, [first], [])
