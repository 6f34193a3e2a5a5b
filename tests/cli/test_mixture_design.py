"""`pourbook mixture vertices` and `mixture design` as outside scripts and blenders run them."""

from pathlib import Path

import pytest
from command import here

BOUNDS = Path(__file__).resolve().parents[2] / "sample_data" / "bounds.csv"
FLIGHT = BOUNDS.with_name("flight.csv")
FOUR = "component,lower,upper\nx1,0.4,0.6\nx2,0.1,0.5\nx3,0.1,0.5\nx4,0.03,0.08\n"


@pytest.fixture
def write(tmp_path):
    """A table in a file."""

    def written(text, name="bounds.csv"):
        path = tmp_path / name
        path.write_text(text, "utf-8")
        return path

    return written


def asked(*arguments):
    """The document of an answer."""
    return here("mixture", *arguments, "--json").done().json


def refused(*arguments):
    """What a refusal says."""
    ran = here("mixture", *arguments)
    assert ran.status == 1
    return ran.err


# -- the contract ---------------------------------------------------------------------------


def test_vertices_of_a_published_region(write):
    """The eight of McLean & Anderson (1966; remembered), as fractions by component, without a book."""
    found = asked("vertices", write(FOUR))
    assert len(found["vertices"]) == 8
    assert {"x1": 0.4, "x2": 0.1, "x3": 0.47, "x4": 0.03} in found["vertices"]
    assert found["reached"]["x2"] == {"low": 0.1, "high": 0.47}


def test_glasses_of_a_design(write):
    """Twelve glasses within their bounds, whose information by hand is what is answered."""
    import numpy as np

    found = asked("design", write(FOUR), "--glasses", "12", "--model", "quadratic")
    assert len(found["glasses"]) == 12
    rows = []
    for glass in found["glasses"]:
        a, b, c, d = glass.values()
        assert 0.4 <= a <= 0.6 and 0.1 <= b <= 0.5 and 0.1 <= c <= 0.5 and 0.03 <= d <= 0.08  # noqa: PT018
        assert a + b + c + d == pytest.approx(1)
        rows.append([a, b, c, d, a * b, a * c, a * d, b * c, b * d, c * d])
    x = np.array(rows)
    assert found["d"] == pytest.approx(np.linalg.det(x.T @ x) ** (1 / 10) / 12, rel=1e-6)
    assert 0.9 < found["d_efficiency"] <= 1


def test_per_cent_and_fractions_are_the_same(write):
    """Where a bound is above 1, a hundred is the whole; so are a comma of the sheet, capitals, a blank bound."""
    fractions = write("component,lower,upper\nash,0.6,0.85\nchestnut,0.1,\nheather,,0.15\n")
    per_cent = write("Component;Lower;Upper\nash;60;85\nchestnut;10;\nheather;;15\n", "parts.csv")
    tenths = write("component,lower,upper\nash,6,8.5\nchestnut,1,10\nheather,0,1.5\n", "tenths.csv")
    found = asked("vertices", fractions)
    assert asked("vertices", per_cent) == found == asked("vertices", tenths, "--whole", "10")


def test_limits_of_a_weighted_sum(write):
    """A cost of the blend that is kept below an end (worked by hand: at most a quarter of the dear one)."""
    bounds = write("component,lower,upper\nash,0,1\nheather,0,1\n")
    limits = write("limit,ash,heather,lower,upper\ncost,20,60,,30\n", "limits.csv")
    found = asked("vertices", bounds, "--limits", limits)
    assert found["vertices"] == [{"ash": 0.75, "heather": 0.25}, {"ash": 1.0, "heather": 0.0}]


def test_centroids_of_edges_faces_and_the_whole(write):
    """Of four components: twelve edges, six faces, one middle."""
    found = asked("vertices", write(FOUR), "--centroids")["centroids"]
    assert {of: len(blends) for of, blends in found.items()} == {"edge": 12, "face": 6, "overall": 1}
    assert found["overall"] == [{"x1": 0.5, "x2": 0.2225, "x3": 0.2225, "x4": 0.055}]


def test_a_lattice_and_a_centroid_design(write):
    """Six and seven glasses of three components, above their lower bounds."""
    bounds = write("component,lower,upper\nash,0.5,1\nchestnut,0,0.5\nheather,0,0.5\n")
    found = asked("design", bounds, "--lattice", "2")
    assert len(found["glasses"]) == 6
    assert found["d_efficiency"] == pytest.approx(1)
    assert len(asked("design", bounds, "--centroid", "--model", "special-cubic")["glasses"]) == 7


def test_what_was_tried_is_read_from_a_table_of_tastings():
    """Its other columns are passed over; three glasses more better what was known."""
    found = asked("design", BOUNDS, "--glasses", "3", "--tried", FLIGHT)
    assert len(found["tried"]) == 48
    assert len(found["glasses"]) == 3


# -- in words -------------------------------------------------------------------------------


def test_what_a_design_teaches_is_said():
    """How many glasses for how many terms, how sure, and what they cannot tell."""
    said = here("mixture", "design", BOUNDS, "--glasses", "7").done().out
    assert "7 glasses for the 6 terms of a quadratic model" in said
    assert "no blend stands twice" in said
    assert "where the model is wrong" not in said
    assert "no blend is left to show where the model is wrong" in here(
        "mixture", "design", BOUNDS, "--glasses", "6"
    ).done().out  # fmt: skip


def test_bounds_that_are_not_reached_are_said(write):
    """An upper bound that the others' lower bounds make idle."""
    said = here("mixture", "vertices", write("component,lower,upper\nash,60,100\nheather,10,100\n")).done().out
    assert "ash reaches 60.00 to 90.00 %, not all of its bounds" in said


# -- refusals ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("ash,70,100\nchestnut,40,100\n", "at least 40 % chestnut and at least 70 % ash cannot hold at once"),
        ("ash,0,40\nheather,0,40\n", "at most 40 % ash and at most 40 % heather cannot hold at once: they add to 80 %"),
        ("ash,85,60\nheather,0,40\n", "row 2, upper: '60' is below the lower bound of ash"),
        ("ash,x,60\nheather,-1,40\n", "row 3, lower: '-1' is below zero"),
        ("ash,0,101\nheather,0,40\n", "row 2, upper: ash is more than the whole of 100"),
        (",0,100\nheather,0,40\n", "row 2, component: is blank"),
        ("ash,0,100\nash,0,40\n", "ash is named twice"),
    ],
)
def test_bounds_that_cannot_be_are_told_by_row(rows, said, write):
    """And, where each row may be right by itself, by the bounds that conflict."""
    assert said in refused("vertices", write(f"component,lower,upper\n{rows}"))


def test_a_missing_column_is_named(write):
    """With those that are needed."""
    told = refused("vertices", write("part,lower\nash,1\n"))
    assert "has no column component, upper" in told
    assert "component, lower, upper" in told


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--glasses", "5"), "5 different glasses cannot tell the 6 terms of a quadratic model of 3 components"),
        ((), "give one of --glasses, --lattice and --centroid"),
        (("--lattice", "2", "--days", "2"), "--repeats and --days are of a choice of glasses"),
        (("--lattice", "2"), "choose glasses within them instead: --glasses N"),
    ],
)
def test_a_design_that_cannot_be_is_refused_before(options, said):
    """With what would do."""
    assert said in refused("design", BOUNDS, *options)
