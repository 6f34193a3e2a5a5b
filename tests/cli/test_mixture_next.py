"""`pourbook mixture next` as a blender runs it: what it proposes, how it says so, what is refused."""

from pathlib import Path

import jsonschema
import pytest
from command import here

DATA = Path(__file__).resolve().parents[2] / "sample_data"
ASKED = ("mixture", "next", DATA / "bounds.csv", DATA / "flight.csv", "--assessor", "assessor")


@pytest.fixture
def write(tmp_path):
    """A table in a file."""

    def written(text, name):
        path = tmp_path / name
        path.write_text(text, "utf-8")
        return path

    return written


def proposed(*arguments):
    """The glasses of an answer, as its schema has it."""
    found = here(*arguments, "--json").done().json
    jsonschema.validate(found, here("schema", "mixture-next").done().json)
    return found["glasses"]


def test_a_flight_stays_within_its_bounds_and_repeats_nothing():
    glasses = proposed(*ASKED, "--wish", "liking more", "--glasses", "5")
    assert len({tuple(glass["parts"].values()) for glass in glasses}) == 5
    for glass in glasses:
        assert sum(glass["parts"].values()) == pytest.approx(100)
        assert 65 <= glass["parts"]["base"] <= 95
        assert 3 <= glass["parts"]["chestnut"] <= 25
        assert 0 <= glass["parts"]["heather"] <= 12


def test_the_same_table_gives_the_same_answer():
    assert proposed(*ASKED, "--wish", "smoke less") == proposed(*ASKED, "--wish", "smoke less")


def test_a_plain_wish_is_followed(write):
    """What rises with one component alone is wished for: the blend with most of it is proposed."""
    rows = [(90, 10, 1.0), (80, 20, 2.0), (70, 30, 3.0), (85, 15, 1.4), (75, 25, 2.6)]
    flight = write("ash,birch,pear\n" + "".join(f"{a},{b},{y}\n" for a, b, y in rows), "flight.csv")
    bounds = write("component,lower,upper,cost\nash,50,95,20\nbirch,5,50,60\n", "bounds.csv")
    (more,) = proposed("mixture", "next", bounds, flight, "--wish", "pear more")
    assert (more["parts"], more["why"]) == ({"ash": 50.0, "birch": 50.0}, "improves")
    assert more["chance_of_better"] > 0.5
    (pear,) = more["foreseen"]
    assert pear["mean"] > pear["best_mean"]
    assert pear["sd"] > pear["best_sd"]  # birch was never above 30
    (cheap,) = proposed("mixture", "next", bounds, flight, "--wish", "pear more weight 0.05", "--wish", "cost less")
    assert cheap["parts"] == {"ash": 95.0, "birch": 5.0}


def test_a_proposal_that_is_not_expected_to_be_better_says_so():
    """It has most to gain; that is no promise."""
    said = here(*ASKED, "--wish", "pear near 3", "--wish", "liking more weight 2").done()
    (glass,) = proposed(*ASKED, "--wish", "pear near 3", "--wish", "liking more weight 2")
    assert (glass["why"], glass["met"] < glass["best_met"]) == ("improves", True)
    assert "none is expected to be better than the best so far; this one has most to gain" in said.out


def test_too_few_glasses_are_said_to_be_too_few(write):
    flight = write("ash,birch,liking\n60,40,5\n", "flight.csv")
    bounds = write("component,lower,upper\nash,50,95\nbirch,5,50\n", "bounds.csv")
    said = here("mixture", "next", bounds, flight, "--wish", "liking more").done()
    assert "too few glasses yet to say what is better: this one would teach most" in said.out
    assert "blends are not additive, so taste before you trust it" in said.err


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--wish", "liking"), "'liking' is no wish"),
        (("--wish", "liking more weight 0"), "is not above zero"),
        (("--wish", "oak more"), "'flight.csv' has no column 'oak'"),
        (("--wish", "liking more", "--scale", "liking=1..4"), "is off its scale 1..4"),
        (("--wish", "liking more", "--scale", "liking=9..1"), "'9..1' is no scale"),
        (("--wish", "liking more", "--wish", "liking less"), "liking is wished for twice"),
        (("--wish", "liking more", "--scale", "pear=0..9"), "--scale pear: that is not wished for"),
        (("--wish", "upper less"), "nothing that was tasted is wished for"),
    ],
)
def test_what_is_refused(more, words):
    said = here(*ASKED, *more)
    assert (said.status, words in said.err) == (1, True)


def test_bounds_that_admit_no_blend_are_refused(write):
    bounds = write("component,lower,upper\nbase,80,95\nchestnut,30,40\nheather,0,12\n", "bounds.csv")
    said = here("mixture", "next", bounds, DATA / "flight.csv", "--wish", "liking more")
    assert "at least 80 % base" in said.err
    assert "at least 30 % chestnut" in said.err
