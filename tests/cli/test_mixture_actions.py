"""Trials of a design, and a tolerance from what was tasted: recorded the same by the command and from Python."""

import shutil
from fractions import Fraction

import pytest
from command import WHO, Desk, as_told, here
from house import Clock, House, moment

from pourbook import Book
from pourbook.actions.composing import TrialFacts
from pourbook.actions.happening import Happening
from pourbook.actions.tolerances import Limit
from pourbook.book.entries import RecipePart, Taste
from pourbook.book.journal import journal
from pourbook.errors import Malformed, NotThere, Refused, ToConfirm, Unknown
from pourbook.mixtures.designs import Request, design
from pourbook.mixtures.models import fit
from pourbook.mixtures.neighbourhood import neighbourhood
from pourbook.mixtures.regions import Region
from pourbook.quantities import read_amount
from pourbook.queries.tastings.tasted_blends import Tasting
from pourbook.queries.trials.flight_plan import FlightAsked

WHEN = "2024-05-02T09:30:00"
HOW = Happening(WHO, moment(WHEN), "Laboratory", "for the panel")
OPTIONS = f"--when {WHEN} --where Laboratory --reason 'for the panel'"
ml = read_amount
FOUND = {95: (72, 74, 70), 90: (70, 71, 66), 80: (64, 67, 63), 70: (60, 59, 57), 60: (54, 53, 55)}
"""Scores by three assessors of trials with so many parts of ash in a hundred; the rest is grain."""


@pytest.fixture
def books(tmp_path):
    """Two equal books: two vials, five trials of them that were poured and tasted, and two recipes."""
    with House(tmp_path / "python.pourbook") as house:
        how = Happening(WHO)
        house.cask("C1", "200 l", "63.5", spirit="malt spirit")
        house.cask("C2", "180 l", "58", spirit="grain spirit")
        house.open("V1", ref="ash")
        house.open("V2", ref="S 2")
        house.draw("C1", "V1", "900 ml")
        house.draw("C2", "V2", "400 ml")
        house.book.write_component(how, "Grain", {"spirit": "grain spirit"})
        house.book.write_recipe(how, "Rowan", (RecipePart("ash", "4"), RecipePart("S 2", "1")))
        narrow = RecipePart("ash", "4", bounds="3.990..4.010"), RecipePart("S 2", "1", bounds="0.9900..1.010")
        house.book.write_recipe(how, "Narrow", narrow)
        for ash, scores in FOUND.items():
            parts = RecipePart("ash", str(ash)), RecipePart("S 2", str(100 - ash))
            ref = f"Trial {ash}"
            house.book.compose_trial(how, ml("100 ml"), parts=parts, about=TrialFacts(ref))
            house.book.pour(how, ref, [("ash", ml(f"{ash} ml")), ("S 2", ml(f"{100 - ash} ml"))])
            for who, score in zip(("Isla Farrow", "Tomas Reeve", "Una Brill"), scores, strict=True):
                house.book.taste(how, Taste(ref, who, score=str(score)))
    (tmp_path / "bounds.csv").write_text("component,lower,upper\nash,60,90\ngrain,10,40\n", "utf-8")
    shutil.copy(tmp_path / "python.pourbook", tmp_path / "command.pourbook")
    return tmp_path / "python.pourbook", tmp_path / "command.pourbook"


def recorded(path):
    """Kind and all that was written of each entry, but for the time of recording and the login name."""
    with Book.open(path) as book:
        return [
            (one.kind, {name: value for name, value in one.entry.items() if name not in ("recorded", "login")})
            for one in journal(book.store)
        ]


REGION = Region(("ash", "grain"), ((Fraction(3, 5), Fraction(9, 10)), (Fraction(1, 10), Fraction(2, 5))))


def _flight(total, mark="0.1 ml", **uses):
    asked = Request(4, "quadratic", repeats=1)
    return FlightAsked(REGION, asked, design(REGION, asked), ml(total), ml(mark), uses=uses)


def _limits(book, blend, by="cask"):
    """The cautious limits of what a blend is made of, by a linear model of the score of all trials; of a d' of 2."""
    wanted = Tasting(group_by=by)
    found = fit(book.tasted_blends("score", wanted).glasses, "linear")
    made_of = book.tasted_blend(blend, found.glasses.components, wanted)
    return {
        one.component: Limit(one.fraction, one.cautious.low, one.cautious.high)
        for one in neighbourhood([found], made_of, 2.0)
    }


DESIGN = "mixture design '{folder}/bounds.csv' --glasses 4 --repeats 1 --record"
DRIFT = "mixture drift --trials all --response score --d-prime 2 --keep"

BOTH = {
    "trials of a design": (
        f"{DESIGN} --use 'grain=S 2' --total '40 ml' --name 'Ostrewick, spring'",
        lambda book, how: book.compose_flight(how, _flight("40 ml", grain="S 2"), "Ostrewick, spring"),
    ),
    "trials of a design, rounded, with no name": (
        f"{DESIGN} --use 'grain=S 2' --total '40 ml' --mark '1 ml'",
        lambda book, how: book.compose_flight(how, _flight("40 ml", "1 ml", grain="S 2")),
    ),
    "the tolerance of a trial": (
        f"{DRIFT} --of 'Trial 80'",
        lambda book, how: book.keep_tolerance(how, "Trial 80", _limits(book, "Trial 80")),
    ),
    "the tolerance of a recipe, by spirit": (
        f"{DRIFT} --of Rowan --group-by spirit --confirm",
        lambda book, how: book.keep_tolerance(
            how._replace(confirm=True), "Rowan", _limits(book, "Rowan", "spirit"), "spirit"
        ),
    ),
}


@pytest.mark.parametrize("what", BOTH)
def test_the_command_and_python_record_the_same(books, what):
    """Two equal books stay equal, and a dry run by either keeps nothing."""
    command, action = BOTH[what]
    typed, before = f"{command.format(folder=books[0].parent)} {OPTIONS}", recorded(books[0])
    desk = Desk(books[1], here)
    with Book.open(books[0], clock=Clock("2024-06-01")) as book:
        assert action(book, HOW._replace(dry_run=True)).recorded.numbers
        desk.does(f"{typed} --dry-run")
        assert recorded(books[0]) == recorded(books[1]) == before
        action(book, HOW)
    desk.does(typed)
    assert len(recorded(books[0])) > len(before)
    assert recorded(books[0]) == recorded(books[1])


@pytest.mark.parametrize(
    ("kind", "command", "action"),
    [
        (
            NotThere, f"{DESIGN} --use 'grain=S 2' --total '300 ml'",
            lambda book: book.compose_flight(HOW, _flight("300 ml", grain="S 2")),
        ),
        (
            Malformed, f"{DESIGN} --use grain=ash --total '40 ml'",
            lambda book: book.compose_flight(HOW, _flight("40 ml", grain="ash")),
        ),
        (
            Unknown, f"{DESIGN} --use 'grain=S 9' --total '40 ml'",
            lambda book: book.compose_flight(HOW, _flight("40 ml", grain="S 9")),
        ),
        (ToConfirm, f"{DRIFT} --of Rowan", lambda book: book.keep_tolerance(HOW, "Rowan", _limits(book, "Rowan"))),
        (
            Refused, f"{DRIFT} --of Narrow",
            lambda book: book.keep_tolerance(HOW, "Narrow", _limits(book, "Narrow")),
        ),
        (Unknown, f"{DRIFT} --of Winter", lambda book: book.keep_tolerance(HOW, "Winter", {})),
    ],
)  # fmt: skip
def test_what_is_refused_by_one_is_refused_by_the_other(books, kind, command, action):
    """A check stands in the action or the book, not in the command; nothing is recorded, not even one glass."""
    before = recorded(books[0])
    with Book.open(books[0], clock=Clock("2024-06-01")) as book, pytest.raises(kind) as refusal:
        action(book)
    told = Desk(books[1], here)(f"{command.format(folder=books[0].parent)} {OPTIONS}")
    assert told.refusal is type(refusal.value) is kind, told.err
    assert as_told(refusal.value, books[1]) in told.err
    assert recorded(books[0]) == recorded(books[1]) == before
