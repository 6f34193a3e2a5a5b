"""Recipes on kinds of spirit: what is of a kind, which vial is taken for it, and what is asked."""

import json

import pytest
from command import Desk, here

from pourbook import Book
from pourbook.paperwork.bench_sheet_of import bench_sheet_of

CASKS = {1: ("European ash", "9 y"), 2: ("virgin chestnut", "9 y"), 3: ("chestnut", "3 y"), 4: ("chestnut", "")}
"""Wood of each cask, and how long its spirit had lain in wood when it came; unknown of the last."""


@pytest.fixture
def desk(tmp_path):
    """Four casks with a sample of each, `S 1` to `S 4`; two components and a recipe on them."""
    desk = Desk(tmp_path / "house.pourbook", here)
    here("create", desk.book, "--house", "Quillmere").done()
    for number, (wood, age) in CASKS.items():
        in_wood = f"--in-wood '{age}'" if age else ""
        desk.does(
            f"cask 'Row 1/{number}' --wood '{wood}' --fill '200 l' --strength 6{number} {in_wood} --when 2026-01-01"
        )
        desk.does(f"draw 'Row 1/{number}' '250 ml' --ref 'S {number}' --when 2026-02-01")
    desk.does("component 'Ash base' --wood ash --role base")
    desk.does("component 'Chestnut accent' --wood chestnut --min-age 8 --role rich")
    desk.does("recipe Autumn --part 'ash  BASE=92' --part 'chestnut accent=8 in 5..10'")
    return desk


def of_kind(desk, name):
    """Refs of what is of a kind now."""
    return [one["ref"] for one in desk.asks(f"component '{name}'")["qualifying"]]


def test_a_component_shows_what_is_of_its_kind_now(desk):
    """Casks and vials alike, by wood and age; an unknown age is not enough."""
    assert of_kind(desk, "chestnut ACCENT") == ["Row 1/2", "S 2"]
    assert of_kind(desk, "Ash base") == ["Row 1/1", "S 1"]
    desk.does("component 'Chestnut accent' --min-age 0 --confirm")
    assert of_kind(desk, "Chestnut accent") == ["Row 1/2", "Row 1/3", "Row 1/4", "S 2", "S 3", "S 4"]
    desk.does("hold 'S 2' --reason cork")
    assert "S 2" not in of_kind(desk, "Chestnut accent")


def test_a_refilled_cask_is_of_another_kind_and_its_old_sample_is_not(desk):
    """A sample is of what the cask held when it was drawn."""
    desk.does("component Rum --previous rum")
    desk.does("loss 'Row 1/1' all --kind leak --when 2026-03-01")
    desk.does("fill 'Row 1/1' '150 l' --strength 60 --spirit 'rum, young' --in-wood 0 --when 2026-03-02")
    assert of_kind(desk, "Rum") == []
    desk.does("loss 'Row 1/1' all --kind leak --when 2026-04-01")
    desk.does("fill 'Row 1/1' '150 l' --strength 60 --spirit 'malt spirit' --in-wood 0 --when 2026-04-02")
    desk.does("draw 'Row 1/1' '100 ml' --ref 'S 5' --when 2026-04-03")
    assert of_kind(desk, "Rum") == ["Row 1/1", "S 5"]


def test_a_blend_is_of_a_kind_where_all_of_it_is(desk):
    """A vial topped up from another wood is of neither."""
    desk.does("component Chestnut --wood chestnut")
    desk.does("pour 'S 2' 'S 3' '50 ml'")
    assert "S 2" in of_kind(desk, "Chestnut")
    desk.does("pour 'S 2' 'S 1' '50 ml'")
    assert "S 2" not in of_kind(desk, "Chestnut")


def test_a_recipe_on_components_is_tried_with_vials(desk):
    """The plan is of vials, in the parts and bounds of the recipe; the journal says what each stands for."""
    parts = desk.asks("recipe autumn")["parts"]
    assert [one["component"] for one in parts] == ["Ash base", "Chestnut accent"]
    trial = desk.asks("trial --recipe Autumn --use 'ash base=S 1' --use 'Chestnut accent=S 2' --total '200 ml'")
    vials = [desk.asks(f"show 'S {number}'")["id"] for number in (1, 2)]
    assert [(one["component"], one["volume_ml_20c"]) for one in trial["plan"]] == [(vials[0], 184), (vials[1], 16)]
    assert trial["plan"][1]["bounds_ml"] == pytest.approx([10, 20])
    poured = desk.asks(f"recipe {trial['id']}")["parts"]
    assert [(one["stands_for"], one["role"]) for one in poured] == [("Ash base", "base"), ("Chestnut accent", "rich")]
    assert desk.asks(f"show {trial['id']}")["facts"]["follows"] == "Autumn"
    assert "92 V-000001-R as Ash base" in desk.does("journal").out
    desk.does("verify")


def test_the_bench_sheet_says_what_each_vial_stands_for(desk):
    """And names the recipe on components, not the trial's own."""
    trial = desk.asks("trial --recipe Autumn --confirm")["id"]
    with Book.open(desk.book) as book:
        sheet = bench_sheet_of(book, trial)
    assert (sheet.recipe, [row.role for row in sheet.rows]) == ("Autumn", ["Ash base", "Chestnut accent"])


@pytest.mark.parametrize(
    ("number", "reason"),
    [
        (1, "its wood is 'European ash', not 'chestnut'"),
        (3, "its age is 3 years, not at least 8 years in wood"),
        (4, "its age is unknown, not at least 8 years in wood"),
    ],
)
def test_a_vial_of_another_kind_is_asked_about(desk, number, reason):
    """With the reason; a yes takes it."""
    typed = f"trial --recipe Autumn --use 'Chestnut accent=S {number}' --use 'Ash base=S {2 if number == 1 else 1}'"
    ran = desk(typed)
    assert ran.status
    assert reason in ran.err
    assert desk(f"{typed} --confirm").status == 0


def test_one_vial_alone_is_suggested_and_several_are_listed(desk):
    """A suggestion is taken with a yes; a choice among several is not."""
    ran = desk("trial --recipe Autumn")
    assert "of 'Chestnut accent' there is one vial: V-000002-P · S 2" in ran.err
    assert "--use 'Ash base=V-000001-R'" in ran.err
    taken = desk.asks("trial --recipe Autumn --confirm")
    assert [one["component"] for one in taken["plan"]] == ["V000001R", "V000002P"]
    desk.does("component 'Chestnut accent' --min-age 3 --confirm")
    for typed in ("trial --recipe Autumn", "trial --recipe Autumn --confirm"):
        ran = desk(typed)
        assert ran.status
        assert "'Chestnut accent' may be V-000002-P · S 2 · Row 1/2 · virgin chestnut or V-000003-N" in ran.err
    desk.does("component 'Chestnut accent' --min-age 30 --confirm")
    assert "the house has no vial of 'Chestnut accent'" in desk("trial --recipe Autumn --confirm").err


def test_a_change_finds_what_stands_for_a_component(desk):
    """A trial is revised by its kinds; a kind that is new in it needs its vial."""
    desk.does("trial --recipe Autumn --confirm --ref first")
    desk.does("component Young --wood chestnut --max-age 4")
    changed = "--change 'chestnut accent=-2' --change young=+2 --use 'young=S 3'"
    second = desk.asks(f"trial --revised-from first {changed} --ref second")
    assert [(one["component"], one["volume_ml_20c"]) for one in second["plan"]] == [
        ("V000001R", pytest.approx(92)),
        ("V000002P", pytest.approx(6)),
        ("V000003N", pytest.approx(2)),
    ]
    assert [one["stands_for"] for one in desk.asks("recipe T-000003-K")["parts"]][2] == "Young"


def test_a_name_of_both_is_asked_for(desk):
    """An item that is given the name of a component later makes the name ambiguous."""
    desk.does("set 'S 1' ref='ash base'")
    ran = desk("recipe Winter --part 'Ash base=1'")
    assert "is a component, and the name of V-000001-R" in ran.err
    assert desk("component 'S 2' --wood chestnut").status
    assert "did you mean 'Chestnut accent'?" in desk("recipe Winter --part 'chestnut acent=1'").err


def test_a_retired_component_stays_and_is_written_on_no_more(desk):
    """Recipes on it can still be tried; written again it is back."""
    desk.does("component 'Ash base' --retire")
    assert [one["gone"] for one in desk.asks("component --list")["components"]] == [True, False]
    assert "is retired" in desk("recipe Winter --part 'Ash base=1'").err
    desk.does("trial --recipe Autumn --confirm")
    desk.does("component 'Ash base' --role body --confirm")
    desk.does("recipe Winter --part 'Ash base=1'")


def test_a_component_is_revised_by_what_is_named(desk):
    """Asked about with before and after; the same again is no question."""
    ran = desk("component 'chestnut accent' --min-age 10")
    assert "min age: 8 → 10" in ran.err
    desk.does("component 'chestnut accent' --min-age 8")
    revised = desk.asks("component 'chestnut accent' --min-age 10 --role '' --confirm")["component"]
    assert (revised["name"], revised["wood"], revised["min_age"], revised["role"]) == (
        "Chestnut accent",
        "chestnut",
        10,
        "",
    )


def test_components_are_in_the_journal_and_rebuilt(desk):
    """Told in one line, and the table comes back from the journal."""
    assert "component Chestnut accent: wood chestnut, role rich, at least 8 years" in desk.does("journal").out
    before = json.dumps(desk.asks("component --list"))
    desk.does("repair")
    assert json.dumps(desk.asks("component --list")) == before


# -- by pure alcohol -------------------------------------------------------------------------


def test_parts_by_pure_alcohol_are_poured_as_volumes(desk):
    """Of 61 and 62 % vol, equal pure alcohol is 62 to 61 by volume, in a glass, a revised one and a batch."""
    desk.does("recipe Even --part 'ash base=1' --part 'chestnut accent=1' --by pure-alcohol")
    assert [one["shares"]["volume"] for one in desk.asks("recipe Even")["parts"]] == [None, None]
    trial = desk.asks("trial --recipe Even --confirm --total '123 ml' --ref first")
    assert [one["volume_ml_20c"] for one in trial["plan"]] == [pytest.approx(62, rel=1e-5), pytest.approx(61, rel=1e-5)]
    shares = [one["shares"] for one in desk.asks(f"recipe {trial['id']}")["parts"]]
    assert [one["pure_alcohol"] for one in shares] == [0.5, 0.5]
    assert shares[0]["volume"] == pytest.approx(62 / 123, rel=1e-5)
    revised = desk.asks("trial --revised-from first --change 'chestnut accent=+1'")["plan"]
    assert revised[1]["volume_ml_20c"] / revised[0]["volume_ml_20c"] == pytest.approx(2 * 61 / 62, rel=1e-5)
    uses = "--use 'ash base=Row 1/1' --use 'chestnut accent=Row 1/2'"
    pulls = desk.asks(f"scale-up Even --total '12.3 l' {uses}")["pulls"]
    assert [one["volume_ml_20c"] for one in pulls] == [pytest.approx(6200, rel=1e-5), pytest.approx(6100, rel=1e-5)]
    assert pulls[0]["ethanol_mg"] == pytest.approx(pulls[1]["ethanol_mg"], rel=1e-6)
    assert "recipe Even by pure alcohol: 1 Ash base" in desk.does("journal").out


def test_the_same_parts_of_another_measure_are_another_recipe(desk):
    """Written over only with a yes."""
    desk.does("recipe Even --part 'S 1=1' --part 'S 2=1' --by pure-alcohol")
    assert desk("recipe Even --part 'S 1=1' --part 'S 2=1'").status


def test_rules_of_the_house_are_of_volumes_also_by_pure_alcohol(desk):
    """Half the pure alcohol of 61 and 62 % vol is 50.4 % of the volume."""
    desk.does("settings --set most_of_one=50")
    ran = desk("recipe Even --part 'S 1=1' --part 'S 2=1' --by pure-alcohol")
    assert "V-000001-R · S 1 · Row 1/1 · European ash is 50.41 % of the blend" in ran.err


# -- what is kept ----------------------------------------------------------------------------


def parts_of(desk, recipe):
    return [part["parts"] for part in desk.asks(f"recipe {recipe}")["parts"]]


def test_a_fixed_part_stays_while_others_are_changed(desk):
    """What is neither named nor fixed makes up for it; fixed stays fixed in what is revised."""
    desk.does("recipe Kept --part 'S 1=60' --part 'S 2=30' --part 'S 3=10 in 5..15 fixed'")
    desk.does("trial --recipe Kept --ref first")
    second = desk.asks("trial --revised-from first --change 'S 2=+5'")["id"]
    assert parts_of(desk, second) == ["55", "35", "10"]
    assert desk.asks(f"recipe {second}")["parts"][2]["fixed"] is True
    assert "10 V-000003-N in 5..15 fixed" in desk.does("journal").out
    assert "nothing is left that could make up" in desk("trial --revised-from first --change 'S 2=+95'").err
    assert desk("recipe Kept --part 'S 1=60' --part 'S 2=30' --part 'S 3=10 in 5..15'").status


def test_parts_in_a_ratio_change_together(desk):
    """Named as in the parts, of components as of items; what stands for a component keeps its ratio."""
    desk.does(
        "recipe Two --part 'ash base=60' --part 'chestnut accent=30' --part 'S 3=10' --ratio 'Chestnut accent:Ash base'"
    )
    assert "60:30 to Chestnut accent" in desk.does("recipe Two").out
    desk.does("trial --recipe Two --use 'ash base=S 1' --use 'chestnut accent=S 2' --ref first")
    second = desk.asks("trial --revised-from first --change 'chestnut accent=-1'")["id"]
    assert parts_of(desk, second) == ["58", "29", "10"]
    assert "kept in a ratio" in desk("trial --revised-from first --change 'S 1=+1' --change 'S 2=+1'").err


def test_a_batch_makes_up_for_a_cask_that_falls_short(desk):
    """Only if asked: the cask gives all, fixed parts stay, and what is free gives more."""
    desk.does("recipe Kept --part 'S 1=60' --part 'S 2=30' --part 'S 3=10 fixed'")
    ran = desk("scale-up Kept --total '400 l'")
    assert "let the others make up for it (--make-up)" in ran.err
    pulls = desk.asks("scale-up Kept --total '400 l' --make-up")["pulls"]
    assert [one["volume_ml_20c"] for one in pulls] == [pytest.approx(ml, abs=1) for ml in (199_750, 160_250, 40_000)]
    assert pulls[0]["left_ml"] == pytest.approx(0, abs=0.01)
    final = desk.asks("scale-up Kept --final '460 l' --to 50 --make-up")
    assert (final["volume_ml_20c"], final["strength_20c"]) == (
        pytest.approx(460_000, rel=1e-5),
        pytest.approx(50, abs=1e-3),
    )
    desk.does("scale-up Kept --total '400 l' --make-up --record --ref V")


# -- batches ---------------------------------------------------------------------------------


def test_a_batch_is_made_of_casks_of_each_kind(desk):
    """By the recipe itself: the plan says what each cask is for, and the batch keeps it."""
    uses = "--use 'ash base=Row 1/1' --use 'Chestnut accent=Row 1/2'"
    plan = desk.asks(f"scale-up Autumn --total '100 l' {uses}")
    pulls = [(one["source"], one["component"], one["volume_ml_20c"]) for one in plan["pulls"]]
    assert pulls == [("C000001H", "Ash base", 92_000), ("C000002F", "Chestnut accent", 8_000)]
    assert plan["asked"] == []
    batch = desk.asks(f"scale-up Autumn --total '100 l' {uses} --record --ref V")["id"]
    stands_for = [one["stands_for"] for one in desk.asks(f"recipe {batch}")["parts"]]
    assert stands_for == ["Ash base", "Chestnut accent"]
    assert [(one["component"], one["stands"]) for one in desk.asks("show V")["bounds"]] == [
        ("Chestnut accent", "within")
    ]
    desk.does("verify")


def test_a_planned_batch_is_poured_beside_the_bounds_of_its_kinds(desk):
    """Cask by cask; more of the accent than its bounds take is told by its name."""
    uses = "--use 'ash base=Row 1/1' --use 'Chestnut accent=Row 1/2'"
    desk.does(f"scale-up Autumn --total '50 l' {uses} --open --ref V")
    desk.does("pour V 'Row 1/1' '30 l' 'Row 1/2' '6 l'")
    (bounds,) = desk.asks("show V")["bounds"]
    assert (bounds["component"], bounds["stands"]) == ("Chestnut accent", "above")
    assert bounds["fraction"] == pytest.approx(6 / 36)


@pytest.mark.parametrize("blend", ["Autumn", "first"])
def test_a_cask_of_another_kind_is_asked_about(desk, blend):
    """For a recipe, and for a trial whose vial stood for the kind; a plan alone says it, too."""
    desk.does("trial --recipe Autumn --confirm --ref first")
    typed = f"scale-up {blend} --total '50 l' --use 'ash base=Row 1/1' --use 'Chestnut accent=Row 1/3'"
    said = "C-000003-D · Row 1/3 · chestnut is no 'Chestnut accent': its age is 3 years"
    assert said in desk.does(typed).err
    assert "is no 'Chestnut accent'" in desk.asks(typed)["asked"][0]
    assert desk(f"{typed} --record").status
    desk.does(f"{typed} --record --confirm --ref V")
    assert [one["stands_for"] for one in desk.asks("recipe B-000001-Y")["parts"]] == ["Ash base", "Chestnut accent"]


def test_a_cask_that_is_alone_of_its_kind_is_suggested(desk):
    """Taken for the plan, and asked about before anything is opened; among several nothing is planned."""
    assert len(desk.asks("scale-up Autumn --total '50 l'")["asked"]) == 2
    assert desk("scale-up Autumn --total '50 l' --open").status
    desk.does("component 'Chestnut accent' --min-age 0 --confirm")
    assert "'Chestnut accent' may be C-000002-F" in desk("scale-up Autumn --total '50 l'").err


# -- rules of the house ----------------------------------------------------------------------


@pytest.fixture
def ruled(desk):
    """The same house with its rules set, and a third component."""
    desk.does("component Young --wood chestnut --max-age 4 --bounds 0..10")
    desk.does("settings --set most_of_one=85 --set least_components=3 --set role.Rich=0..15")
    return desk


TWO = ("Ash base=80", "Chestnut accent=20")


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        (TWO, "2 components, and the house wants 3 or more"),
        (TWO, "role 'Rich' is 20.00 % of the blend, and may be 0 to 15 %"),
        (
            ("Ash base=86", "Chestnut accent=9", "Young=5"),
            "Ash base is 86.00 % of the blend, and the house takes at most 85",
        ),
        (("Ash base=80", "Chestnut accent=5", "Young=15"), "Young is 15.00 % of the blend, and may be 0 to 10 %"),
        (("S 1=80:base", "S 2=5", "S 3=15.5:rich"), "role 'Rich' is 15.42 % of the blend"),
    ],
)
def test_a_recipe_beyond_the_rules_is_asked_about(ruled, parts, words):
    """By kind or by item; what is confirmed is kept with the entry."""
    typed = "recipe Winter " + " ".join(f"--part '{part}'" for part in parts)
    ran = ruled(typed)
    assert ran.status
    assert words in ran.err
    ruled.does(f"{typed} --confirm")
    assert "house-rules" in json.dumps(ruled.asks("journal --kind recipe"))


def test_water_is_no_component_and_counts_for_nothing(ruled):
    """80 of 100 beside water is 80 %, whatever water is added; water is not the third component."""
    ruled.does("recipe Thin --part 'Ash base=80' --part 'Chestnut accent=10' --part Young=10 --part water=200")
    assert ruled("recipe Two --part 'Ash base=50' --part 'S 1=50' --part water=20").status


def test_a_glass_beyond_the_rules_is_recorded_and_told(ruled):
    """At once where the plan cannot mend it, at the end all; with how much of the others mends it."""
    uses = "--use 'Ash base=S 1' --use 'Chestnut accent=S 2' --use 'Young=S 3'"
    ruled.does("recipe Winter --part 'Ash base=80' --part 'Chestnut accent=10' --part Young=10")
    ruled.does(f"trial --recipe Winter {uses} --ref first")
    said = ruled.does("pour first", "S 1\n60 ml\nS 2\n20 ml\ndone\n").err
    assert (
        "role 'Rich' is 20.00 % of the blend, and may be 0 to 15 %; 33.3 ml more of the others brings it within" in said
    )
    told = {one["rule"]: one for one in ruled.asks("show first")["house_rules"]}
    assert set(told) == {"least_components", "role"}
    assert told["role"]["found"] == pytest.approx(0.25, rel=1e-5)
    assert told["role"]["more_ml"] == pytest.approx(80 * (25 / 15 - 1), rel=1e-4)
    ruled.does("pour first 'S 3' '8 ml' 'S 1' '60 ml'")
    assert "house_rules" not in ruled.asks("show first")


def test_a_plan_of_a_batch_is_held_to_the_rules(ruled):
    """A trial that was poured beyond them is asked about before it is made."""
    ruled.does("trial --part 'S 1=60' --part 'S 2=40' --ref first --confirm")
    ruled.does("pour first 'S 1' '60 ml' 'S 2' '40 ml'")
    assert "the house wants 3 or more" in ruled.asks("scale-up first --total '20 l'")["asked"][0]
    assert ruled("scale-up first --total '20 l' --open").status
    ruled.does("scale-up first --total '20 l' --open --confirm")


def test_rules_that_contradict_are_refused_when_they_are_set(ruled):
    """By a setting or by a component; a retired component counts no more."""
    assert "contradict" in ruled("component Heavy --wood ash --role rich --bounds 20..30").err
    assert "contradict" in ruled("component Heavy --wood ash --bounds 86..90").err
    ruled.does("component Much --bounds 80..84")
    assert "contradict" in ruled("settings --set most_of_one=75").err
    ruled.does("component Much --retire")
    ruled.does("settings --set most_of_one=75")
    ruled.does("settings --set role.Rich=")
    ruled.does("component Heavy --wood ash --role rich --bounds 20..30")
