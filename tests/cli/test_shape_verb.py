"""The shape of a drink by the real command: a trial takes its components by itself, and says what it lacks."""

import csv
import shutil

import pytest
from command import Desk, here, recorded


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """Three casks, a vial of each, a trial of two of them and water; sweet and short beside rich and long."""
    path = tmp_path_factory.mktemp("shapes") / "house.pourbook"
    sweet = ("--nose", "honey 4, pear 3", "--first", "honey 4", "--middle", "honey 1", "--finish", "honey 0")
    rich = ("--nose", "oak 1", "--first", "oak 2", "--middle", "oak 4", "--finish", "oak 3")
    return recorded(
        path,
        *(("cask", name, "--fill", "200 l", "--strength", "60", "--wood", wood, "--in-wood", "0")
          for name, wood in (("Q 1", "ash"), ("Q 2", "chestnut"), ("Q 3", "heather-wine"))),
        *(("draw", f"Q {number}", "200 ml", "--ref", f"S {number}") for number in (1, 2, 3)),
        ("taste", "S 1", *sweet, "--seconds", "12", "--by", "Isla Farrow"),
        ("taste", "S 1", *sweet, "--seconds", "16", "--by", "Tomas Reeve"),
        ("taste", "Q 2", *rich, "--seconds", "44"),
        ("trial", "--part", "S 1=60", "--part", "S 2=20", "--part", "water=20", "--total", "100 ml", "--ref", "T 1"),
    )  # fmt: skip


@pytest.fixture
def desk(house, tmp_path):
    return Desk(shutil.copy(house, tmp_path / "copy.pourbook"), here)


def glasses(answer):
    return {(one["role"], one["id"]): one for one in answer["glasses"]}


def poured(desk):
    for source, amount in (("S 1", "60 ml"), ("S 2", "20 ml"), ("water", "20 ml")):
        desk.does(f"pour 'T 1' '{source}' '{amount}'")


def test_what_is_expected_is_the_sum_by_parts_before_anything_is_poured(desk):
    """Worked by hand: three quarters of the sweet, a quarter of the rich; a vial has the notes of its cask."""
    answer = desk.asks("shape 'T 1'")
    found = glasses(answer)
    assert [(role, one["notes"], one["part"]) for (role, _), one in found.items()] == [
        ("component", 2, 0.75), ("component", 1, 0.25), ("expected", 0, 1.0),
    ]  # fmt: skip
    expected = found["expected", None]
    means = {word: [felt["mean"] for felt in row.values()] for word, row in expected["words"].items()}
    assert means == {"pear": [2.25, 0, 0, 0], "honey": [3, 3, 0.75, 0], "oak": [0.25, 0.5, 1, 0.75]}
    assert expected["finish_s"]["mean"] == pytest.approx(0.75 * 14 + 0.25 * 44)
    said = desk.does("shape 'T 1'").out
    assert "Blends are not additive" in said
    poured(desk)
    again = glasses(desk.asks("shape 'T 1'"))["expected", None]
    assert again["words"]["honey"]["nose"]["mean"] == pytest.approx(3, abs=1e-3)


def test_a_cask_that_lost_liquid_since_has_the_shape_of_a_glass_of_it(desk):
    """Nobody tasted Q 1 itself, and it was drawn from: its shape is that of its vial.

    Without the first the shape of every working cask failed, and with it that of its batches and lots.
    """
    desk.does("draw 'Q 1' '100 ml'")
    desk.does("draw 'Q 3' '100 ml'")
    assert glasses(desk.asks("shape 'Q 1'"))["tasted", "C000001H"]["notes"] == 2
    assert "no tasting note of" in desk("shape 'Q 3'").err
    desk.does("batch 'B 1'")
    for number in (1, 3):
        desk.does(f"pour 'B 1' 'Q {number}' '50 l'")
    assert glasses(desk.asks("shape 'B 1'"))["component", "C000001H"]["notes"] == 2


def test_a_gap_is_told_with_what_could_fill_it(desk):
    poured(desk)
    desk.does("taste 'T 1' --nose 'honey 4, pear 2' --first 'honey 3' --middle 'honey 1' --finish 'oak 2' --seconds 15")
    desk.does("taste 'T 1' --by 'M. Aldane' --nose 'honey 4' --first 'honey 4' --middle 'oak 1' --finish 'oak 3'")
    answer = desk.asks("shape 'T 1'")
    middle, short = answer["gaps"]
    assert (middle["stage"], middle["at_most"], middle["peak"]) == ("middle", 0.5, 4)
    assert [(one["id"], one["word"], one["mean"]) for one in middle["filled_by"]] == [("V000002P", "oak", 4)]
    assert (short["stage"], short["at_most"], short["peak"]) == (None, 15, 44)
    said = desk.does("shape 'T 1'").out
    assert "Gap at the middle: at most 0.5, against 4 at its strongest. S 2 · Q 2 · chestnut has oak 4 there." in said
    assert "T 1 · Q 1 + Q 2" in said
    assert "2.5 (2–3)" in said


def test_words_are_shown_as_asked_for(desk):
    """In their order, in any spelling that the house's list knows."""
    desk.does("word pear --also bosc")
    assert desk.asks("shape 'T 1' --words Oaks,bosc,pears")["words"] == ["oak", "pear"]
    assert desk.asks("shape 'T 1' --words OAK,pear")["words"] == ["oak", "pear"]
    assert desk.asks("shape 'S 1' 'Q 2'")["words"] == ["pear", "honey", "oak"]


def test_a_component_without_notes_is_named(desk):
    desk.does("trial --part 'S 1=1' --part 'S 3=1' --total '10 ml' --ref 'T 2'")
    answer = desk.asks("shape 'T 2'")
    assert answer["without_notes"] == [{"id": "V000003N", "part": 0.5}]
    assert "No note with intensities: S 3 · Q 3 · heather-wine (50.0 %)." in desk.does("shape 'T 2'").out


def test_what_was_bottled_is_compared_with_the_components_of_its_batch(desk):
    desk.does("batch 'B 1'")
    desk.does("dump 'B 1' 'Q 1' 'Q 2'")
    desk.does("bottle 'B 1' --count 10 --size '700 ml' --ref 'L 1'")
    desk.does("taste 'L 1' --nose 'oak 2'")
    found = glasses(desk.asks("shape 'L 1'"))
    assert [role for role, _ in found] == ["component", "component", "expected", "tasted"]
    assert found["component", "C000001H"]["notes"] == 2  # those of its vial: nobody tasted from the cask itself
    assert found["component", "C000002F"]["part"] == pytest.approx(0.5, abs=0.01)


def test_notes_of_later_are_not_known_before(desk):
    assert "no tasting note of" in desk("shape 'Q 2' --at 2020-01-01").err


def test_the_files_of_a_shape(desk, tmp_path):
    """SVG, PDF and CSV; the rows of the CSV are the figures of the answer."""
    for ending in ("svg", "pdf", "csv"):
        desk.does(f"shape 'T 1' -o {tmp_path}/shape.{ending}")
    assert (tmp_path / "shape.pdf").read_bytes().startswith(b"%PDF")
    rows = list(csv.DictReader((tmp_path / "shape.csv").read_text("utf-8").splitlines()))
    answer = desk.asks("shape 'T 1'")
    told = {
        (one["id"] or "", word, stage): felt["mean"]
        for one in answer["glasses"] for word, row in one["words"].items() for stage, felt in row.items() if felt
    }  # fmt: skip
    assert {(r["id"], r["word"], r["stage"]): float(r["mean"]) for r in rows if r["word"]} == told
