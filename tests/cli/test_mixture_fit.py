"""`pourbook mixture fit` as outside scripts and blenders run it: the contract, the words, what is refused."""

from pathlib import Path

import pytest
from command import here
from tasted import FOLDER

jsonschema = pytest.importorskip("jsonschema")

FLIGHT = Path(__file__).resolve().parents[2] / "sample_data" / "flight.csv"
THREE = ("--component", "base,chestnut,heather")


def fitted(*arguments):
    """The document of a fit, as its schema has it."""
    found = here("mixture", "fit", *arguments, "--json").done().json
    jsonschema.validate(found, here("schema", "mixture-fit").done().json)
    return found


@pytest.fixture
def write(tmp_path):
    """A table in a file."""

    def written(text, name="flight.csv", encoding="utf-8"):
        path = tmp_path / name
        path.write_text(text, encoding)
        return path

    return written


def test_the_contract():
    """Coefficients and standard errors by term, R² and lack of fit, without a book; figures of NIST (remembered)."""
    found = fitted(FOLDER / "yarn.csv", "--response", "y", "--model", "quadratic")
    assert found["coefficients"] == pytest.approx(
        {"x1": 11.7, "x2": 9.4, "x3": 16.4, "x1*x2": 19.0, "x1*x3": 11.4, "x2*x3": -9.6}
    )
    assert found["standard_errors"]["x1*x2"] == pytest.approx(2.608249)
    assert found["r2"] == pytest.approx(0.951356, abs=1e-6)
    assert found["lack_of_fit"] is None  # six blends, six terms: nothing could be missing
    linear = fitted(FOLDER / "yarn.csv", "--response", "y", "--model", "linear")
    assert linear["lack_of_fit"]["lack_df"] == 3
    assert linear["lack_of_fit"]["noise"] == pytest.approx(6.56)


def test_parts_and_fractions_are_the_same(write):
    """So are a semicolon, other spaces, and numbers as a program writes them."""
    rows = [(70, 25, 5, 3.1), (60, 35, 5, 2.4), (80, 10, 10, 3.9), (65, 25, 10, 3.0), (75, 20, 5, 3.5)]
    parts = write("ash,birch,chestnut,pear\n" + "".join(f"{a},{b},{c},{y}\n" for a, b, c, y in rows))
    fractions = write(
        "ash; birch ;chestnut;pear\n" + "".join(f"{a / 100};{b / 100};{c / 100:.2e};{y}\n\n" for a, b, c, y in rows),
        "fractions.csv",
    )
    one, two = (fitted(path, "--response", "pear") for path in (parts, fractions))
    assert two["coefficients"] == pytest.approx(one["coefficients"])


def test_a_flight_by_four_assessors():
    """Each has a level of their own; as a sample of many, intervals are wider."""
    block = fitted(FLIGHT, "--response", "pear", "--assessor", "assessor", *THREE)
    sample = fitted(FLIGHT, "--response", "pear", "--assessor", "assessor", "--sample", *THREE)
    assert block["assessors"] == {"count": 4, "as": "block", "sd": None}
    assert sample["assessors"]["sd"] > 0
    assert sample["standard_errors"]["base"] > block["standard_errors"]["base"]
    assert block["predicted"]["blend"].keys() == {"base", "chestnut", "heather"}
    assert {(one["component"], one["parts"]) for one in block["effects"]} >= {("heather", 1.0), ("heather", 10.0)}


def test_words_for_a_blender():
    """What may be made of it, in sentences; a blend of one's own; both directions of a doubt."""
    ran = here("mixture", "fit", FLIGHT, "--response", "pear", *THREE, "--at", "base=70", "--at", "chestnut=30").done()
    assert "within what was tasted it may be used" in ran.out
    assert "70.0 % base, 30.0 % chestnut\n" in ran.out
    assert "beyond what was tasted of chestnut" in ran.err


def test_too_few_glasses_is_an_answer():
    """Not a refusal: a script reads it, and a person is told what to do."""
    asked = (FOLDER / "yarn.csv", "--response", "y", "--model", "special-cubic")
    found = fitted(*asked)
    assert found["verdict"] == "too-few"
    assert set(found["coefficients"].values()) == {None}
    said = here("mixture", "fit", *asked).done().out
    assert "too few glasses to say: 15 glasses of 6 blends tell 6 of the 7 terms apart" in said
    assert "a linear model or a quadratic model could be fitted" in said


def test_without_doubt_known_there_is_no_number(write):
    """As many glasses as terms: JSON has null, the table a dash."""
    path = write("ash,birch,pear\n1,0,2\n0,1,4\n1,1,6\n")
    found = fitted(path, "--response", "pear", "--model", "quadratic")
    assert found["coefficients"] == pytest.approx({"ash": 2, "birch": 4, "ash*birch": 12})
    assert set(found["standard_errors"].values()) == {None}
    assert (found["sd"], found["df"], found["verdict"]) == (None, 0, "too-few")
    assert "–" in here("mixture", "fit", path, "--response", "pear", "--model", "quadratic").done().out


REFUSED = [
    ("no such column", "ash,birch,pear\n1,0,2\n", ("--response", "plum"), "has no column 'plum'"),
    ("empty", "", ("--response", "pear"), "is empty"),
    ("no points", "ash;birch;pear\n0,7;0,3;5\n", ("--response", "pear"), "components; ash: '0,7' has a comma"),
    ("per cent", "ash,birch,pear\n70 %,30 %,5\n", ("--response", "pear"), "ash: '70 %' is more than a number"),
    ("no rows", "ash,birch,pear\n", ("--response", "pear"), "no rows below its headings"),
    ("one component", "ash,pear\n1,2\n1,3\n", ("--response", "pear"), "fewer than two components"),
    ("a column twice", "ash,ash,pear\n1,0,2\n", ("--response", "pear"), "two columns 'ash'"),
    ("a cell too many", "ash,birch,pear\n1,0,2,9\n", ("--response", "pear"), "row 2: has 4 cells"),
    ("a blank", "ash,birch,pear\n1,0,2\n,1,3\n", ("--response", "pear"), "row 3, ash: is blank"),
    ("no number", "ash,birch,pear\n1,0,high\n0,1,3\n", ("--response", "pear"), "row 2, pear: 'high' is not a number"),
    ("below zero", "ash,birch,pear\n1,-1,2\n0,1,3\n", ("--response", "pear"), "row 2, birch: '-1' is below zero"),
    ("nothing in it", "ash,birch,pear\n1,0,2\n0,0,3\n", ("--response", "pear"), "row 3: has no part"),
    ("infinite", "ash,birch,pear\n1,0,inf\n0,1,3\n", ("--response", "pear"), "'inf' is not a number"),
    (
        "a number of the glass", "run,ash,birch,pear\n1,0.5,0.5,2\n2,0.6,0.4,3\n3,0.7,0.3,2\n", ("--response", "pear"),
        "ash, birch add to one sum in every row; run may be no components",
    ),
    ("nobody", "ash,birch,who,pear\n1,0,I,2\n0,1,,3\n", ("--response", "pear", "--assessor", "who"), "who: is blank"),
    ("a sample of nobody", "ash,birch,pear\n1,0,2\n0,1,3\n", ("--response", "pear", "--sample"), "--assessor"),
    ("no component", "ash,birch,pear\n1,0,2\n0,1,3\n1,1,3\n", ("--response", "pear", "--at", "oak=3"), "no component"),
    ("no blend", "ash,birch,pear\n1,0,2\n0,1,3\n1,1,3\n", ("--response", "pear", "--at", "ash=0"), "is no blend"),
    ("itself", "ash,birch,pear\n1,0,2\n0,1,3\n", ("--response", "pear", "--component", "ash,pear"), "something else"),
    ("no confidence", "ash,birch,pear\n1,0,2\n0,1,3\n", ("--response", "pear", "--confidence", "100"), "100"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "options", "said"), [pytest.param(*rest, id=name) for name, *rest in REFUSED])
def test_what_cannot_be_read_is_refused_where_it_stands(write, text, options, said):
    """Row by row, with what to do."""
    ran = here("mixture", "fit", write(text), *options)
    assert ran.status == 1
    assert ran.out == ""
    assert said in ran.err


def test_every_fault_is_listed(write):
    """In the order of the rows."""
    ran = here("mixture", "fit", write("ash,birch,pear\n1,x,2\n0,1,\n"), "--response", "pear")
    assert [line.split(":")[0].strip() for line in ran.err.splitlines()[1:]] == [
        "flight.csv, row 2, birch", "flight.csv, row 3, pear",
    ]  # fmt: skip


def test_more_than_is_fitted_is_refused_at_once(write):
    """By the limit that it reaches."""
    ran = here("mixture", "fit", write("ash,birch,pear\n" + "1,2,3\n" * 5001), "--response", "pear")
    assert (ran.status, "5001 glasses" in ran.err) == (1, True)


def test_all_of_one_component_has_no_direction(tmp_path):
    """Nothing is left to keep its proportions: no effect of more of it, and no curve along it."""
    asked = (FOLDER / "yarn.csv", "--response", "y", "--at", "x1=1")
    found = fitted(*asked)
    assert {one["component"] for one in found["effects"]} == {"x2", "x3"}
    here("mixture", "fit", *asked, "--traces", tmp_path / "t.svg").done()


def test_a_file_that_is_not_there(tmp_path):
    """One sentence."""
    ran = here("mixture", "fit", tmp_path / "none.csv", "--response", "pear")
    assert ran.status == 1
    assert "none.csv" in ran.err


@pytest.mark.parametrize(("verb", "option", "typed"), [
    (("fit", "--response", "pear"), "--confidence", ("0.9", "90", "90 %")),
    (("drift", "--response", "pear", "--noticed-by", 12), "--alpha", ("0.1", "10", "10 %")),
    (("drift", "--response", "pear", "--noticed-by", 12), "--chance", ("0.6", "60", "60 %")),
])  # fmt: skip
def test_a_share_is_the_same_however_it_is_written(write, verb, option, typed):
    """0.05 is five in a hundred, as it is to `panel`, and not five in ten thousand."""
    path = write("ash,birch,pear\n1,0,2\n1,0,3\n.5,.5,3\n.5,.5,4\n0,1,5\n0,1,4\n")
    said = {here("mixture", verb[0], path, *verb[1:], option, one).done().out for one in typed}
    assert len(said) == 1
    assert said != {here("mixture", verb[0], path, *verb[1:]).done().out}


def test_glasses_found_the_same_teach_nothing(write):
    """They are many enough, and no proof that parts matter little."""
    path = write("ash,birch,pear\n1,0,5\n.7,.3,5\n.5,.5,5\n.2,.8,5\n0,1,5\n.4,.6,5\n")
    found = here("mixture", "fit", path, "--response", "pear", "--component", "ash,,birch", "--json").done().json
    assert found["verdict"] == "no-difference"
    said = here("mixture", "fit", path, "--response", "pear").done().out
    assert "all glasses were found the same" in said
    assert "too few" not in said


def test_every_figure_of_a_fit_has_a_plain_word_beside_it(write):
    """Shares, noise and chance; the names of statistics stand behind them."""
    path = write("ash,birch,pear\n1,0,2\n1,0,3\n.5,.5,3\n.5,.5,4\n0,1,5\n0,1,4\n")
    said = here("mixture", "fit", path, "--response", "pear").done().out
    assert "parts explain 73 % of how glasses differ (R² about the mean 0.727)" in said
    assert "chance alone makes blends miss the model so far with a probability of 1.000 (lack of fit" in said
    drift = here("mixture", "drift", path, "--response", "pear", "--noticed-by", 12, "--chance", "0.6").done().out
    assert "12 assessors in a triangle test notice a difference of d'" in drift
    assert "in 60 % of tests" in drift
