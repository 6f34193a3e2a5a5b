"""Parts with bounds and trials of a strength, by the command: planned, poured, compared, scaled up, revised."""

import pytest
from command import Desk, here

MG = 0.0015
"""A pour is kept to the milligram; the lightest spirit is 0.79 mg to the microlitre. In ml."""


@pytest.fixture
def desk(tmp_path):
    """Three casks of 63, 61 and 59 % vol, a sample of each, and a recipe with bounds."""
    desk = Desk(tmp_path / "house.pourbook", here)
    here("create", desk.book, "--house", "Quillmere").done()
    for number, strength in enumerate((63, 61, 59), start=1):
        desk.does(f"cask 'Row 1/0{number}' --fill '200 l' --strength {strength} --in-wood 0 --when 2018-03-01")
        desk.does(f"draw 'Row 1/0{number}' '250 ml' --ref 'S {number}' --when 2024-05-01")
    desk.does("recipe Ash --part 'S 1=70' --part 'S 2=20..30:accent' --part 'S 3=4 in 2..5' --part water=1")
    return desk


def stands(desk, answer, key="component"):
    """Where each part with bounds is, by the ref of its component."""
    refs = {desk.asks(f"show 'S {number}'")["id"]: f"S {number}" for number in (1, 2, 3)}
    return {refs[one[key]]: one["stands"] for one in answer["bounds"]}


def test_a_recipe_keeps_its_bounds(desk):
    """Beside the target; a range alone aims at its middle. The journal tells both."""
    parts = [{name: part.get(name) for name in ("parts", "bounds")} for part in desk.asks("recipe Ash")["parts"]]
    assert [tuple(part.values()) for part in parts] == [("70", None), ("25", "20..30"), ("4", "2..5"), ("1", None)]
    assert "20..30" in desk.does("recipe Ash").out
    assert "25 V-000002-P in 20..30, 4 V-000003-N in 2..5" in desk.does("journal").out


@pytest.mark.parametrize(
    ("part", "words"),
    [("6 in 2..5", "outside its bounds 2..5"), ("5..2", "does not run"), ("4 in 2", "not a range"), ("a..5", "number")],
)
def test_bounds_that_contradict_are_refused(desk, part, words):
    """With their figures, before anything is recorded."""
    ran = desk(f"trial --part 'S 1={part}' --part 'S 2=5'")
    assert ran.status
    assert words in ran.err


def test_a_plan_says_where_to_stop(desk):
    """In ml of the total: 20 to 30 of a hundred parts of 200 ml."""
    plan = desk.asks("trial --recipe Ash --total '200 ml'")["plan"]
    between = [one["bounds_ml"] for one in plan]
    assert between == [None, pytest.approx([40, 60]), pytest.approx([4, 10]), None]
    assert "40.00 to 60.00" in desk.does("trial --recipe Ash --total '200 ml'").out


def test_pouring_says_where_a_part_stands(desk):
    """Below, within, above; what the glass can still take; and an over-pour is recorded at once, and said loudly."""
    desk.does("trial --recipe Ash --total '100 ml' --ref first")
    said = desk.does("pour first", "S 2\n15 ml\nS 2 7 ml\nS 2 10 ml\nS 1 70 ml\nwater 1 ml\nS 3 4 ml\n?\ndone\n").err
    below = "V-000002-P · S 2 · Row 1/02: below its bounds; 5.0 ml to 15.0 ml more brings it within them"
    within = "V-000002-P · S 2 · Row 1/02: within its bounds; up to 8.0 ml more keeps it within them"
    above = "V-000002-P · S 2 · Row 1/02 is ABOVE its bounds: at most 30.0 ml in a blend of 100.0 ml"
    assert said.index(below) < said.index(within) < said.index(above)
    assert "within them again in a blend of 106.7 ml" in said
    assert "refused" not in said
    shown = desk.asks("show first")
    assert shown["volume_ml_20c"] == pytest.approx(107, abs=0.5), "all of it is in the glass"
    assert stands(desk, shown) == {"S 2": "within", "S 3": "within"}, "32 of 107 ml are 29.9 %"
    assert "its bounds" not in desk.does("show first").err
    assert "warning" not in said[said.rindex("in wood") :], "nothing is out of its bounds at the end"


def test_the_end_names_what_is_out_of_its_bounds(desk):
    """Of what is in the glass by then."""
    desk.does("trial --recipe Ash --total '100 ml' --ref first")
    said = desk.does("pour first", "S 1 70 ml\nS 2 40 ml\nS 3 4 ml\ndone\n").err
    told = "warning: V-000002-P · S 2 · Row 1/02 is 35.09 %, above its bounds of 20.00 to 30.00 %"
    assert said.splitlines()[-1] == told


def test_parts_out_of_their_bounds_are_named_wherever_the_blend_is(desk):
    """Shown, compared, planned and recorded as a batch, and shown as that."""
    desk.does("trial --recipe Ash --total '100 ml' --ref first")
    desk.does("trial --recipe Ash --total '100 ml' --ref second")
    assert "ABOVE" in desk.does("pour first 'S 1' '60 ml' 'S 2' '39 ml' 'S 3' '1 ml'").err
    desk.does("pour second 'S 1' '70 ml' 'S 2' '25 ml' 'S 3' '4 ml' water '1 ml'")
    out = {"S 2": "above", "S 3": "below"}
    assert stands(desk, desk.asks("show first")) == out
    assert "V-000002-P · S 2 · Row 1/02 is 39.00 %, above its bounds of 20.00 to 30.00 %" in desk.does("show first").err
    first, second = desk.asks("compare first second")["summaries"]
    assert (stands(desk, first), set(stands(desk, second).values())) == (out, {"within"})
    assert "V-000003-N · S 3 · Row 1/03 is 1.00 %, below" in desk.does("compare first second").err
    for way in ("", " --to 46", " --final '80 l' --to 46"):
        total = "" if "--final" in way else " --total '50 l'"
        assert stands(desk, desk.asks(f"scale-up first{total}{way}")) == out, "casks stand for their samples"
    desk.does("scale-up second --total '50 l' --to 46 --record --ref heel")
    mixed = desk.asks("scale-up first --total '100 l' --heel 'heel=50 l' --to 46 --record --ref vat")["plan"]
    shares = {one["component"]: one["fraction"] for one in mixed["bounds"]}
    by_hand = {"S 2": 0.32, "S 3": 0.025}  # the heel is the second trial, reduced: less than half of the spirit
    assert shares == pytest.approx({desk.asks(f"show '{one}'")["id"]: by_hand[one] for one in by_hand}, abs=0.025)
    assert desk.asks("show vat")["bounds"] == [
        {**one, "fraction": pytest.approx(one["fraction"], abs=1e-6)} for one in mixed["bounds"]
    ]
    assert stands(desk, desk.asks("scale-up Ash --total '50 l' --to 46")) == {"S 2": "within", "S 3": "within"}


def test_a_revision_keeps_bounds_that_it_stays_in(desk):
    """A part that leaves them is asked about; confirmed, it has none any more."""
    desk.does("trial --recipe Ash --ref first")
    desk.does("trial --revised-from first --change 'S 3=+1' --ref second")
    asked = desk("trial --revised-from first --change 'S 3=+3' --ref third")
    assert asked.status
    assert "part 7 of V-000003-N · S 3 · Row 1/03 leaves its bounds 2..5" in asked.err
    desk.does("trial --revised-from first --change 'S 3=+3' --ref third --confirm")
    kept = {
        ref: [
            part.get("bounds") for part in desk.asks(f"recipe {desk.asks(f'show {ref}')['facts']['follows']}")["parts"]
        ]
        for ref in ("second", "third")
    }
    assert kept == {"second": [None, "20..30", "2..5", None], "third": [None, "20..30", None, None]}


def test_on_a_balance_bounds_are_what_it_shows(desk):
    """Grams in air: 20 to 30 ml of 61 % vol at 0.9069 g/ml (alcoholimetric table, second-hand), less 0.11 % for air."""
    desk.does("trial --recipe Ash --total '100 ml' --ref first")
    said = desk.does("pour first --balance", "100\nS 2\n122\nS 2\ndone\n").err
    first, second = (line.split()[-4:-1:2] for line in said.splitlines() if "while the balance shows" in line)
    by_hand = [100 + ml * 0.9069 * 0.9989 for ml in (20, 30)]
    assert [float(grams) for grams in first] == pytest.approx(by_hand, abs=0.02)
    assert [float(grams) for grams in second] == pytest.approx([122, by_hand[1]], abs=0.02), "it may stop here"


# -- a strength to reach --------------------------------------------------------------------------


def test_the_water_of_a_trial_is_computed(desk):
    """Total and strength are met by what `reduce` says; the recipe's own water is left out."""
    composed = desk.asks("trial --recipe Ash --total '100 ml' --to 46 --ref first")
    volumes = [pour["volume_ml_20c"] for pour in composed["plan"]]
    assert sum(volumes) == pytest.approx(100)
    assert composed["mix"]["strength_20c"] == pytest.approx(46, abs=0.002)
    assert [ml / volumes[0] for ml in volumes[:3]] == pytest.approx([1, 25 / 70, 4 / 70])
    undiluted = desk.asks("trial --part 'S 1=70' --part 'S 2=25' --part 'S 3=4' --total '100 ml' --dry-run")["mix"]
    body = f"--volume '{undiluted['volume_ml_20c']:.6f} ml' --strength {undiluted['strength_20c']:.6f}"
    water_ml = desk.asks(f"reduce {body} --to 46")["water_kg"] * 1e6 / 998.20  # OIML R 22: density at 20 °C
    assert volumes[3] == pytest.approx(100 * water_ml / (100 + water_ml), abs=0.01)
    assert desk.asks("show first")["facts"]["target_strength"] == "46 % vol"


def test_water_to_go_is_by_what_was_really_poured(desk):
    """Too much of a strong part takes more water; `?` says how much is left, and the glass ends at the strength."""
    desk.does("trial --recipe Ash --total '100 ml' --to 46 --ref first")
    session = desk.does("pour first --json", "S 1 60 ml\nS 2 18.47 ml\nS 3 2.95\nwater 10 ml\n?\n")
    needed = float(session.err.split(" ml of water still to go for 46 % vol")[-2].split()[-1])
    to_go = [line for line in session.err.splitlines() if line.startswith("water  ")][-1]
    assert needed > 26.88 - 10, "more than by the plan"
    assert to_go.split()[-1] == f"{needed:.1f}"
    desk.does("pour first", f"water {needed} ml\ndone\n")
    assert desk.asks("show first")["strength_20c"] == pytest.approx(46, abs=0.03)  # to the tenth of a millilitre
    over = desk.does("pour first", "water 9 ml\n?\ndone\n").err
    too_much = float(over.split(" ml of water too much for 46 % vol")[0].split()[-1])
    assert too_much == pytest.approx(9, abs=0.11)
    assert "in proportion again with" in over


def test_a_revision_reaches_the_same_strength(desk):
    """Unless another is given; its water cannot be changed by hand."""
    desk.does("trial --recipe Ash --to 46 --ref first")
    assert desk.asks("trial --revised-from first --change 'S 3=+1' --dry-run")["mix"]["strength_20c"] == pytest.approx(
        46, abs=0.002
    )
    other = desk.asks("trial --revised-from first --change 'S 3=+1' --to 50 --dry-run")
    assert other["mix"]["strength_20c"] == pytest.approx(50, abs=0.002)
    refused = {
        "trial --revised-from first --change water=+1": "is computed",
        "trial --part 'S 1=3' --part water=1 --to 46": "is computed",
        "trial --recipe Ash --to 65": "already weaker than 65",
        "trial --recipe Ash --to 46 --total '2 l'": "holds",
    }
    for line, words in refused.items():
        assert words in desk(line).err, line


def test_a_recipe_with_other_bounds_is_asked_about(desk):
    """The same parts, a wider accent: another recipe of that name."""
    asked = desk("recipe Ash --part 'S 1=70' --part 'S 2=20..30:accent' --part 'S 3=4 in 2..6' --part water=1")
    assert asked.status
    assert "V-000003-N · S 3 · Row 1/03: 4.00 in 2..5 → 4.00 in 2..6 %" in asked.err
    assert "V-000001-R" not in asked.err
