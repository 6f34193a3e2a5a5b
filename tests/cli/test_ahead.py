"""The look ahead by the command: what a blender reads, the table of it, and fillings that are to come."""

import csv
import shlex

import pytest
from command import here

FILLINGS = """ref,component,volume_l_20c,strength_20c,wood_days,in_years
N1,Base,200,60,3000,1
N2,Rich,100,60,,2
"""


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """Two casks of a base of eight years and more, one rich, all gauged twice."""
    path = tmp_path_factory.mktemp("ahead") / "house.pourbook"
    here("create", path, "--house", "Quillmere").done()
    for line in """
        cask 'Q 1' --fill '200 l' --strength 63 --spirit malt --wood oak --in-wood 0 --when 2012-03-01
        cask 'Q 2' --fill '200 l' --strength 63 --spirit malt --wood oak --in-wood 0 --when 2024-03-01
        cask 'Q 3' --fill '30 l' --strength 60 --spirit malt --wood chestnut --in-wood 0 --when 2014-03-01
        gauge 'Q 1' --amount '160 l' --strength 61 --when 2026-10-01
        gauge 'Q 2' --amount '191 l' --strength 62 --when 2026-10-01
        gauge 'Q 3' --amount '25 l' --strength 59 --when 2026-10-01
        component Base --spirit malt --wood oak --min-age 8 --when 2026-10-01
        component Rich --wood chestnut --when 2026-10-01
        recipe Autumn --part 'Base=90 in 88..92' --part 'Rich=10 in 8..12' --when 2026-10-01
        """.strip().splitlines():
        here(*shlex.split(line), book=path).done()
    return path


ASKED = ("ahead", "Autumn", "--final", "100 l", "--to", "46", "--on", "2026-12-01", "--years", "4", "--by", "litres")


def test_it_says_what_runs_out_first_and_what_would_be_needed(book):
    """Two batches of base: then nothing is old enough until 2032."""
    said = here(*ASKED, book=book).done().out
    assert "2 of 4 batches can be made" in said
    assert "runs out first, on 2028-12-01: Base" in said
    assert "for all 4, with their aimed parts, there would have to be beside the stock now:" in said
    assert "l of Base" in said


def test_the_table_says_the_same_as_the_document(book, tmp_path):
    """A row for each component in each year, figures with a point."""
    file = tmp_path / "ahead.csv"
    answer = here(*ASKED, "--csv", file, "--json", book=book).done().json
    assert answer["files"] == {"csv": str(file)}
    with file.open(newline="", encoding="utf-8") as opened:
        rows = list(csv.DictReader(opened))
    years = [(year, name, one) for year in answer["years"] for name, one in year["components"].items()]
    assert len(rows) == len(years) == 8
    for row, (year, name, one) in zip(rows, years, strict=True):
        assert (row["from"], row["component"], int(row["batches"])) == (year["from"], name, year["made"])
        assert float(row["reach_l_20c"]) == one["reach_l"]
        assert float(row["lacking_l"]) == one["lacking_l"]
        assert float(row["enough_for"]) == one["enough_for"]


def test_fillings_to_come_are_read_from_a_table(book, tmp_path):
    """Spirit that brings eight years is of the base when it comes, new spirit of a kind without age at once."""
    file = tmp_path / "fillings.csv"
    file.write_text(FILLINGS)
    answer = here(*ASKED, "--fillings", file, "--json", book=book).done().json
    assert [year["came_l"] for year in answer["years"]] == [0.0, 200.0, 100.0, 0.0]
    assert [year["made"] for year in answer["years"]] == [1, 1, 1, 1]
    assert answer["runs_out"] is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (FILLINGS.replace(",in_years", ",when"), "no column in_years"),
        (FILLINGS.replace("3000,1", "3000,soon"), "'soon' is no number of years from now"),
        (FILLINGS.replace("N2,Rich", "N2,Smoke"), "'Smoke' is no component of the blend"),
    ],
)
def test_a_table_that_cannot_be_is_refused(book, tmp_path, text, said):
    """With what is wrong in it."""
    file = tmp_path / "fillings.csv"
    file.write_text(text)
    ran = here(*ASKED, "--fillings", file, book=book)
    assert ran.status == 1
    assert said in ran.err


def test_whole_casks_are_chosen_where_there_are_few(book):
    """And the answer says by what it counts."""
    answer = here(*ASKED[:-2], "--json", book=book).done().json
    assert answer["by"] == "casks"
    assert answer["batches"] == 2


def test_casks_stay_in_reach_the_longer_the_less_near_their_age_must_be(tmp_path):
    """In the sample house a finish is too old for the trial in three years, unless twelve years are near enough."""
    here("demo", tmp_path / "quillmere").done()
    book = tmp_path / "quillmere" / "quillmere.pourbook"
    asked = ("ahead", "Trial 26-B", "--final", "100 l", "--to", "46", "--by", "litres", "--on", "2026-12-01")
    made = [here(*asked, *more, "--json", book=book).done().json["batches"] for more in ((), ("--near-years", "12"))]
    assert made == [3, 9]
