"""What a bench sheet asks for, against sums by hand and the book."""

from fractions import Fraction

import pytest

from pourbook import Recipe, RecipePart
from pourbook.codes.identifiers import hyphened
from pourbook.errors import NotThere, Refused
from pourbook.paperwork.bench_sheet_of import bench_sheet_of


@pytest.fixture
def sheet(benched):
    return bench_sheet_of(benched.book, benched.id("T1"))


def test_rows_are_the_parts_of_the_recipe_in_order(benched, sheet):
    assert [(row.code, row.role, row.fraction) for row in sheet.rows] == [
        (benched.id("V1"), "base", Fraction(6, 10)),
        (benched.id("V2"), "accent", Fraction(3, 10)),
        ("", "", Fraction(1, 10)),
    ]
    assert [row.target_ml for row in sheet.rows] == pytest.approx([60, 30, 10])
    assert [row.left_ml for row in sheet.rows[:2]] == pytest.approx([140, 20], abs=1e-3)
    assert (sheet.rows[2].ref, sheet.rows[2].left_ml, sheet.rows[2].strength_vol) == ("water", None, 0)


def test_a_row_says_what_is_in_the_vial(sheet):
    assert sheet.rows[0].ref == "S 1"
    assert sheet.rows[0].what == "from Row 3/12, virgin chestnut, malt spirit"
    assert sheet.rows[1].what == "from Row 4/02, fortified-wine hogshead"


def test_masses_follow_from_strength_and_volume(benched, sheet):
    """A part by volume of a vial is the same part of its mass."""
    for row, name, part in ((sheet.rows[0], "V1", 60 / 200), (sheet.rows[1], "V2", 30 / 50)):
        assert row.target_mg == pytest.approx(benched.held(name).mass_mg * part, rel=1e-5)
    # 10 mL of water at 20 °C: 9.982 g (OIML R 22)
    assert sheet.rows[2].target_mg == pytest.approx(9982, abs=1)


def test_what_to_expect_is_that_of_the_sum_of_masses(benched, sheet):
    """Poured as planned, the book's own trial comes out at the strength and volume foretold."""
    for name, amount in (("V1", "60 ml"), ("V2", "30 ml"), ("water", "10 ml")):
        benched.pour(name, "T1", amount)
    trial = benched.book.show(benched.id("T1"))
    assert float(sheet.expected_strength_vol) == pytest.approx(trial.strength_20c, abs=1e-3)
    assert float(sheet.mixed_ml) == pytest.approx(trial.volume_ml_20c, abs=2e-3)
    assert sheet.density_g_per_ml == pytest.approx(trial.holding.mass_mg / trial.volume_ml_20c / 1000, rel=1e-5)
    assert sheet.mixed_ml < 100


def test_cost_is_that_of_the_pure_alcohol_in_it(sheet):
    """By hand: 60 mL at 63.5 % at 10 a litre of pure alcohol and 30 mL at 62 % at 20, in the litres mixed."""
    cost = (0.060 * 0.635 * 10 + 0.030 * 0.62 * 20) / (sheet.mixed_ml / 1000)
    assert sheet.cost_per_litre == pytest.approx(cost, rel=1e-4)
    assert sheet.currency == "GBP"


def test_one_cost_unknown_leaves_the_cost_unknown(benched, composed):
    benched.cask("C3", "50 l", "60", at="2020-01-01", wood_days=0)
    composed(benched, "T2", "Dear", ("V1", "1", ""), ("C3", "1", ""))
    assert bench_sheet_of(benched.book, benched.id("T2")).cost_per_litre is None


def test_the_youngest_age_counts_wood_time_earned_before(sheet):
    """C2: filled on 29 February 2016 with 365 days earned, drawn on 1 March 2024: from 1 March 2015, nine years."""
    assert sheet.youngest_age == "9 years 0 days"


def test_unknown_wood_time_makes_the_age_unknown(benched, composed):
    benched.cask("C3", "50 l", "60", at="2020-01-01")
    composed(benched, "T2", "Unknown", ("V1", "1", ""), ("C3", "1", ""))
    assert bench_sheet_of(benched.book, benched.id("T2")).youngest_age == ""


def test_previous_contents_stand_once_for_each_cask(benched, sheet):
    assert sheet.previous_contents == (
        f"{hyphened(benched.id('C1'))}  Row 3/12: none, new wood",
        f"{hyphened(benched.id('C2'))}  Row 4/02: dry fortified wine (sulphites)",
    )


def test_a_cask_poured_from_itself_tells_its_previous_contents(benched, composed):
    composed(benched, "T2", "Straight", ("C2", "1", ""), ("V2", "1", ""), total="20 ml")
    (said,) = bench_sheet_of(benched.book, benched.id("T2")).previous_contents
    assert said.endswith("dry fortified wine (sulphites)")


def test_a_pending_strength_makes_the_sheet_provisional(benched, composed):
    benched.cask("C3", "50 l", "60", at="2020-01-01", pending=True)
    composed(benched, "T2", "Provisional", ("V1", "1", ""), ("C3", "1", ""))
    sheet = bench_sheet_of(benched.book, benched.id("T2"))
    assert [row.strength_vol is None for row in sheet.rows] == [False, True]
    assert "pending" in sheet.warnings[0]
    assert hyphened(benched.id("C3")) in sheet.warnings[0]


# -- after pouring, and other recipes ------------------------------------------------------------


def test_a_poured_trial_still_shows_its_plan_and_says_what_was_poured(benched, sheet):
    benched.pour("V1", "T1", "61 ml", at="2024-03-02 10:00")
    benched.pour("V2", "T1", None, at="2024-03-02 10:05")
    again = bench_sheet_of(benched.book, benched.id("T1"))
    assert again.rows == sheet.rows
    assert (again.mixed_ml, again.youngest_age, again.cost_per_litre) == (
        sheet.mixed_ml,
        sheet.youngest_age,
        sheet.cost_per_litre,
    )
    (remark,) = again.remarks
    assert again.warnings == (), "nothing of it is provisional"
    assert "Poured already (2024-03-02 10:00" in remark
    assert f"{hyphened(benched.id('V1'))} 61.00 mL" in remark
    assert f"{hyphened(benched.id('V2'))} 50.00 mL" in remark


def test_a_vial_used_up_by_another_trial_shows_as_short(benched):
    """Its strength is known still; all of what is wanted is missing."""
    benched.lose("V2", at="2024-03-03", disposition="tasting")
    row = bench_sheet_of(benched.book, benched.id("T1")).rows[1]
    assert row.left_ml == pytest.approx(-30)
    assert float(row.strength_vol) == pytest.approx(62.0, abs=0.01)


def test_a_recipe_of_the_same_name_written_later_is_another(benched, sheet):
    benched.record(Recipe("Ash", (RecipePart(benched.id("V1"), "1"),)), at="2024-03-04", confirmed=True)
    again = bench_sheet_of(benched.book, benched.id("T1"))
    assert again.rows == sheet.rows
    assert "rewritten since" in again.remarks[0]


def test_revisions_are_told(benched, composed):
    first = benched.id("T1")
    composed(
        benched, "T2", "Ash 2", ("V1", "1", "base"), revised_from=first, ref="26-B", note="softer", at="2024-03-05"
    )
    sheet = bench_sheet_of(benched.book, "26-B")
    assert (sheet.revised_from, sheet.recipe, sheet.ref) == (hyphened(first), "Ash 2", "26-B")
    assert (sheet.prepared_by, sheet.date, sheet.notes) == ("M. Aldane", "2024-03-05", ("softer",))


def test_what_is_no_trial_or_follows_nothing_has_no_sheet(benched):
    benched.open("T9")
    for name in ("C1", "T9"):
        with pytest.raises(Refused):
            bench_sheet_of(benched.book, benched.id(name))


def test_a_component_that_never_held_anything_is_refused(benched, composed):
    benched.open("V9")
    composed(benched, "T2", "Empty", ("V9", "1", ""))
    with pytest.raises(NotThere, match="nothing was ever poured"):
        bench_sheet_of(benched.book, benched.id("T2"))
