"""The blender's day: recipe, trial, revision, comparison, and the vat, with every figure worked out again by hand."""

import csv

import pytest
from command import Desk, apart, here

ETHANOL_KG_M3 = 789.24
"""Density of ethanol at 20 °C: OIML R 22, general formula at p = 1."""
MG = 0.0015
"""A pour is kept to the milligram; the lightest spirit is 0.79 mg to the microlitre. In ml."""


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """Quillmere's blending room: three casks, a sample of each, a first trial and its revision, both poured."""
    book = tmp_path_factory.mktemp("blending") / "quillmere.pourbook"
    desk = Desk(book, apart, ask=here)
    desk.does(f"create {book} --house Quillmere --set currency=EUR")
    casks = Desk(book, here)
    for ref, litres, strength, spirit, cost in (
        ("Row 1/01", 200, 63.5, "malt spirit", 4.2),
        ("Row 1/02", 180, 58, "grain spirit", 2.8),
        ("Row 1/03", 150, 60, "rye spirit", 5.1),
    ):
        casks.does(
            f"cask '{ref}' --fill '{litres} l' --strength {strength} --spirit '{spirit}' --cost {cost} --in-wood 0"
            " --when 2018-03-01"
        )
        casks.does(f"draw '{ref}' '250 ml' --ref 'sample {ref}' --when 2024-05-01")
    desk.does("recipe 'Ostrewick no. 2' --part 'sample Row 1/01=14:base' --part 'sample Row 1/02=5' --part water=1")
    return desk


@pytest.fixture(scope="module")
def composed(desk):
    """The first trial as it was composed."""
    return desk.asks("trial --recipe 'Ostrewick no. 2' --total '200 ml' --ref 'first'")


@pytest.fixture(scope="module")
def poured(desk, composed):
    """The first trial and its revision, poured as the bench sheet says."""
    desk.does("pour first 'sample Row 1/01' '140 ml' 'sample Row 1/02' '50 ml' water '10 ml'")
    desk.does(
        "trial --part 'sample Row 1/01=60' --part 'sample Row 1/03=40' --ref second --revised-from first"
        " --total '100 ml' --name 'with rye'"
    )
    desk.does("pour second 'sample Row 1/01' '60 ml' 'sample Row 1/03' '40 ml'")
    return desk


def test_a_recipe_is_shown_in_parts_and_per_cent(desk):
    """Fourteen, five and one of twenty are 70, 25 and 5 per cent."""
    lines = desk.does("recipe 'Ostrewick no. 2'").out.splitlines()[1:]
    of_vials = ("sample Row 1/01 · Row 1/01", "14", "70.00"), ("sample Row 1/02 · Row 1/02", "5", "25.00")
    for line, told in zip(lines, (*of_vials, ("water", "1", "5.00")), strict=True):
        assert all(word in line for word in told), line
    parts = desk.asks("recipe 'Ostrewick no. 2'")["parts"]
    assert [(part["parts"], part.get("role")) for part in parts] == [("14", "base"), ("5", None), ("1", None)]


def test_a_trial_says_what_to_pour_and_what_it_will_be(composed):
    """Volumes are fractions of the total; the strength is the alcohol of the parts in the volume of the whole."""
    assert [pour["volume_ml_20c"] for pour in composed["plan"]] == pytest.approx([140, 50, 10])
    assert [pour["left_ml"] for pour in composed["plan"]] == [
        pytest.approx(110, abs=MG),
        pytest.approx(200, abs=MG),
        None,
    ]
    mix = composed["mix"]
    assert mix["volume_ml_20c"] + mix["contraction_ml"] == pytest.approx(200, abs=MG)
    pure_ml = 140 * 0.635 + 50 * 0.58
    assert mix["strength_20c"] == pytest.approx(100 * pure_ml / mix["volume_ml_20c"], abs=0.001)


def test_poured_as_planned_it_is_as_planned(composed, poured):
    """What the trial holds is what it was said to be."""
    held = poured.asks("show first")
    assert held["strength_20c"] == pytest.approx(composed["mix"]["strength_20c"], abs=1e-4)
    assert held["volume_ml_20c"] == pytest.approx(composed["mix"]["volume_ml_20c"], abs=3 * MG)
    assert held["ethanol_mg"] == pytest.approx((140 * 0.635 + 50 * 0.58) * ETHANOL_KG_M3, abs=2)


def test_two_trials_are_compared_by_the_casks_in_them(poured):
    """Changes in fractions, strengths, costs by hand, and one age."""
    compared = poured.asks("compare first second")
    refs = {poured.asks(f"show '{ref}'")["id"]: ref for ref in ("Row 1/01", "Row 1/02", "Row 1/03")}
    change = {refs.get(row["id"], row["id"]): row["change"] for row in compared["components"]}
    by_hand = {"Row 1/03": 0.40, "Row 1/02": -0.25, "Row 1/01": -0.10, "water": -0.05}
    assert change == pytest.approx(by_hand, abs=1e-5)
    assert list(change) == list(by_hand), "the largest change first"
    second = poured.asks("show second")
    cost = (60 * 0.635 * 4.2 + 40 * 0.60 * 5.1) / second["volume_ml_20c"]
    assert compared["summaries"][1]["cost_per_litre"] == pytest.approx(cost, rel=1e-4)
    assert {one["pending"] == [] for one in compared["summaries"]} == {True}
    days = [one["youngest_days"] for one in compared["summaries"]]
    assert days == [6 * 365 + 2 + 61] * 2, "2018-03-01 to 2024-05-01, two leap days; no age in the glass"


def test_cost_and_age_are_said_wherever_the_blend_is(poured):
    """While pouring, of the item, and beside another: the same words; years and days as a calendar counts them."""
    second = poured.asks("show second")
    cost = (60 * 0.635 * 4.2 + 40 * 0.60 * 5.1) / second["volume_ml_20c"]
    words = f"{cost:.2f} EUR a litre before evaporation, youngest 6 years 61 days in wood"
    assert words in poured.does("show second").out
    assert words in poured.does("pour second", "?\n").err
    assert words in poured.does("compare first second").out
    assert "6 years 61 days, of the youngest spirit" in poured.does("trace second").out
    assert (second["cost_per_litre"], second["currency"]) == (pytest.approx(cost, rel=1e-4), "EUR")
    assert second["youngest_days"] == poured.asks("trace second")["age"]["youngest_days"] == 6 * 365 + 2 + 61


def test_the_family_of_a_trial(poured):
    """Who came from whom, and what changed in casks: from 70, 25 and 5 per cent to 60 and 40 of rye."""
    first, second = (poured.asks(f"show {ref}")["id"] for ref in ("first", "second"))
    line = poured.asks("revisions second")
    assert (line["id"], line["revised_from"], line["revisions"]) == (second, [first], [])
    line = poured.asks("revisions first")
    assert (line["id"], line["revised_from"], line["revisions"]) == (first, [], [second])
    in_tree = [(one["id"], one["parent"], one["depth"]) for one in line["family"]]
    assert in_tree == [(first, None, 0), (second, first, 1)]
    refs = {poured.asks(f"show '{ref}'")["id"]: ref for ref in ("Row 1/01", "Row 1/02", "Row 1/03")}
    changed = {refs.get(one["id"], one["id"]): one["change"] for one in line["family"][1]["changes"]}
    assert changed == pytest.approx({"Row 1/03": 0.4, "Row 1/02": -0.25, "Row 1/01": -0.1, "water": -0.05}, abs=1e-5)
    assert line["family"][1]["strength_20c"] == poured.asks("show second")["strength_20c"]
    lines = poured.does("revisions second").out.splitlines()[1:]
    assert [line.split()[0].replace("-", "") for line in lines[:2]] == [first, second]
    assert " · first" in lines[0]
    assert " · second · with rye <- this one" in lines[1]
    assert lines[2].strip() == "+40.00 Row 1/03, −25.00 Row 1/02, −10.00 Row 1/01, −5.00 water"


def test_the_best_so_far(poured):
    """Two who tasted both put the second ten and eleven ahead: told with its doubt, wherever trials stand together."""
    for trial, scores in (("first", (70, 72)), ("second", (80, 83))):
        for who, score in zip(("Isla Farrow", "Tomas Reeve"), scores, strict=True):
            poured.does(f"taste {trial} 'as expected' --score {score} --by '{who}'")
    first, second = (poured.asks(f"show {ref}")["id"] for ref in ("first", "second"))
    found = poured.asks("revisions first")["best"]
    assert (found["id"], found["by"], found["mean"], found["tasters"]) == (second, "score", 81.5, 2)
    assert [(one["name"], one["ahead"], one["stands"]) for one in found["others"]] == [(first, 10.5, "ahead")]
    assert found["others"][0]["band"] == pytest.approx(12.706 * 0.5, abs=0.001), "t of one degree of freedom, 95 %"
    changed = {one["id"]: one["change"] for one in found["others"][0]["differences"]}
    assert changed.pop("water") == pytest.approx(-0.05, abs=1e-5)
    assert list(changed.values()) == pytest.approx([0.4, -0.25, -0.1], abs=1e-5)
    assert poured.asks("compare first second")["best"] == found
    for command in ("revisions first", "compare first second"):
        said = poured.does(command).out
        assert "best so far" in said
        assert "ahead, +10.5 ± 6.4 by the 2 who tasted both" in said
    assert "71.0 ± 1.0 (2)" in poured.does("near second --kind trial").out


def test_any_number_side_by_side(poured, tmp_path):
    """Grouped by spirit, as a table for a spreadsheet with a row for each."""
    third = poured.asks("trial --revised-from second --total '5 ml'")["id"]
    poured.does(f"pour {third} 'sample Row 1/01' '3 ml' 'sample Row 1/03' '2 ml'")
    found = poured.asks(f"compare first second {third} --group-by spirit --csv {tmp_path / 'three.csv'}")
    fractions = {one["name"]: one["fractions"] for one in found["components"]}
    by_hand = {"malt spirit": [0.7, 0.6, 0.6], "grain spirit": [0.25, 0, 0], "rye spirit": [0, 0.4, 0.4]}
    for spirit, expected in (by_hand | {"water": [0.05, 0, 0]}).items():
        assert fractions[spirit] == pytest.approx(expected, abs=1e-4)
    rows = list(csv.DictReader((tmp_path / "three.csv").read_text("utf-8").splitlines()))
    assert [row["id"] for row in rows] == found["items"]
    assert [float(row["rye spirit"]) for row in rows] == pytest.approx([0, 0.4, 0.4], abs=1e-4)
    assert [float(row["cost_per_litre"]) for row in rows] == [one["cost_per_litre"] for one in found["summaries"]]
    assert "rye spirit" in poured.does(f"compare first second {third} --group-by spirit").out
    assert "name two or more" in poured("compare first").err


def test_what_was_tried_near_it(poured):
    """The third trial is as the second; the first shares sixty per cent with both."""
    first, second = (poured.asks(f"show {ref}")["id"] for ref in ("first", "second"))
    found = poured.asks("near second --kind trial")
    apart = {one["id"]: one["distance"] for one in found["near"]}
    assert apart.pop(first) == pytest.approx(0.4, abs=1e-4)
    assert list(apart.values()) == pytest.approx([0], abs=1e-3)
    parts = poured.asks("near --part 'Row 1/01=3' --part 'sample Row 1/03=2' --kind trial --limit 1")
    assert parts["near"][0]["id"] in {second, *apart}
    assert "40.00 %" in poured.does("near second --kind trial").out


@pytest.fixture(scope="module")
def vatted(poured):
    """The second trial scaled to the vat, with a heel, reduced to 46, recorded."""
    poured.does("batch 'Vatting 6' --place 'Vat 1'")
    poured.does("pour 'Vatting 6' 'Row 1/02' '25 l'")
    plan = poured.asks("scale-up second --total '120 l' --heel 'Vatting 6=20 l' --to 46")
    recorded = poured.asks("scale-up second --total '120 l' --heel 'Vatting 6=20 l' --to 46 --record --ref 'Vatting 7'")
    return plan, recorded


def test_a_trial_scales_to_casks(poured, vatted):
    """Heel first; then the fractions poured, of what the heel leaves room for; each sample stands for its cask."""
    plan, _ = vatted
    refs = {poured.asks(f"show '{ref}'")["id"]: ref for ref in ("Row 1/01", "Row 1/03", "Vatting 6")}
    pulls = {refs.get(pull["source"], pull["component"]): pull["volume_ml_20c"] for pull in plan["pulls"]}
    water = pulls.pop("reduction")
    # Fractions as poured are known to the milligram in 100 ml.
    assert pulls == pytest.approx({"Vatting 6": 20_000, "Row 1/01": 60_000, "Row 1/03": 40_000}, rel=3e-5)
    pure_ml = sum(pull["ethanol_mg"] for pull in plan["pulls"]) / ETHANOL_KG_M3
    assert pure_ml == pytest.approx(20_000 * 0.58 + 60_000 * 0.635 + 40_000 * 0.60, rel=3e-5)
    assert plan["strength_20c"] == pytest.approx(46, abs=1e-4)
    assert plan["volume_ml_20c"] == pytest.approx(pure_ml / 0.46, rel=2e-5)
    assert 120_000 + water - plan["contraction_ml"] == pytest.approx(plan["volume_ml_20c"], abs=0.1)


def test_bottles_are_reckoned_back_to_casks(poured):
    """100 bottles of 70 cl and 4 % are 72.8 l at 46 % vol, which are 33.488 l of pure alcohol; the way is shown."""
    command = "scale-up second --bottles '100 x 70 cl' --losses 4 --to 46"
    plan = poured.asks(command)
    assert plan["bottling"] == {
        "bottles": [{"count": 100, "size_ml": 700.0}],
        "filled_ml": 70_000,
        "losses_ml": 2_800,
        "needed_ml": 72_800,
        "lpa": pytest.approx(33.488, abs=0.0005),
    }
    assert 0 <= plan["volume_ml_20c"] - 72_800 < 1
    shown = poured.does(command).out
    for line in ("from the label back", "70.000", "losses, 4 % of what is filled", "72.800", "33.488 l"):
        assert line in shown
    assert sum(pull["ethanol_mg"] for pull in plan["pulls"]) / ETHANOL_KG_M3 == pytest.approx(33_488, abs=1)


def test_what_was_planned_is_what_was_recorded(poured, vatted):
    """The batch holds the plan; the casks hold what the plan said they would keep."""
    plan, recorded = vatted
    assert recorded["plan"] == plan
    batch = poured.asks("show 'Vatting 7'")
    assert batch["id"] == recorded["id"]
    assert batch["mass_mg"] == sum(pull["mass_mg"] for pull in plan["pulls"])
    assert batch["strength_20c"] == pytest.approx(46, abs=1e-4)
    for pull in plan["pulls"]:
        if pull["left_ml"] is not None:
            left = poured.asks(f"show {pull['source']}")["volume_ml_20c"]
            assert left == pytest.approx(pull["left_ml"], abs=0.01)


def test_the_bottles_lead_back_to_the_casks(poured, vatted):
    """Gauged, bottled, sent and partly returned; the lot's shares are those of the vat, by hand."""
    poured.does("gauge 'Vatting 7' --strength 45.9")
    bottled = poured.asks("bottle 'Vatting 7' --count 200 --size '700 ml' --ref 'Lot 7' --loss 'line=1.5 l' --empties")
    assert poured.asks("show 'Vatting 7'")["mass_mg"] == 0
    lot = poured.asks("show 'Lot 7'")
    assert lot["id"] == bottled["id"]
    assert lot["volume_ml_20c"] == pytest.approx(140_000, abs=200 * MG)
    assert lot["strength_20c"] == pytest.approx(45.9, abs=1e-4)
    shares = {item["ref"]: item["share"] for item in poured.asks("trace 'Lot 7'")["items"] if item["kind"] == "cask"}
    pure = {"Row 1/01": 60 * 0.635, "Row 1/02": 20 * 0.58, "Row 1/03": 40 * 0.60}
    assert shares == pytest.approx({ref: part / sum(pure.values()) for ref, part in pure.items()}, rel=5e-5)
    assert poured.asks("despatch 'Lot 7' 150 --customer 'Harbour Row'")["left"] == 50
    assert poured.asks("return 'Lot 7' 6 --customer 'Harbour Row' --reason 'ordered in error'")["left"] == 56
    count = {"filled": 200, "despatched": 150, "returned": 6, "lost": 0, "left": 56}
    assert poured.asks("show 'Lot 7'")["bottles"] == count
    assert [item.get("bottles") for item in poured.asks("stock --kind lot")["items"]] == [count]
    for verb in ("show 'Lot 7'", "stock"):
        assert "200 bottled, 56 left" in poured.does(verb).out
    assert poured("despatch 'Lot 7' 57 --customer 'Harbour Row'").status == 1
    assert poured.asks("despatch 'Lot 7' 56 --customer 'Harbour Row'")["left"] == 0
    assert poured.asks("verify")["faults"] == []


def test_a_trial_is_shown_with_its_composition_and_its_notes(poured):
    """What was poured, in per cent, and what was said of it: not in the journal alone."""
    poured.does("note second 'longer, a little sharp'")
    poured.does("note second 'wrong glass'")
    poured.does(f"void {poured.asks('journal')['entries'][-1]['number']} --reason 'of another trial'")
    shown = poured.asks("show second")
    assert [(one["ref"], one["fraction"]) for one in shown["made_of"]] == [
        ("sample Row 1/01", pytest.approx(0.6, abs=1e-5)), ("sample Row 1/03", pytest.approx(0.4, abs=1e-5)),
    ]  # fmt: skip
    assert [note["text"] for note in shown["notes"]] == ["longer, a little sharp"]
    said = poured.does("show second").out
    assert "sample Row 1/03" in said
    assert "M. Aldane: longer, a little sharp" in said


def test_trials_and_recipes_are_listed(poured):
    """Strength, cost and age as the trial itself says, the latest note, and what was never poured."""
    poured.does("trial --recipe 'Ostrewick no. 2' --total '60 ml' --ref 'never poured'")
    rows = {row["ref"]: row for row in poured.asks("trial --list")["trials"]}
    second = poured.asks("show second")
    for name in ("strength_20c", "cost_per_litre", "youngest_days"):
        assert rows["second"][name] == second[name]
    assert (rows["second"]["note"], rows["never poured"]["strength_20c"]) == ("longer, a little sharp", None)
    assert "longer, a little sharp" in poured.does("trial --list").out
    listed = {one["name"]: one["parts"] for one in poured.asks("recipe --list")["recipes"]}
    assert listed["Ostrewick no. 2"] == poured.asks("recipe 'Ostrewick no. 2'")["parts"]
    assert "give it, or --list" in poured("recipe").err


def test_trials_are_listed_by_what_is_asked(poured):
    """By spirit and cask in per cent, by water, by word; a list as JSON; what narrows it needs it."""

    def listed(asked):
        return [one["ref"] for one in poured.asks(f"trial --list {asked}")["trials"] if one["ref"]]

    assert listed("--with 'rye spirit 35..45'") == ["second"]
    assert listed("--with 'Row 1/02 25..25' --with 'water 5..'") == ["first"]
    assert listed("--with 'Row 1/01'") == ["first", "second"]
    assert listed("--word 'with rye'") == ["second"]
    assert listed("--family second --until 2001-01-01") == []
    assert listed("--family second --since 2001-01-01") == ["first", "second"]
    assert listed("--who 'M. Aldane' --score 75..") == []
    assert poured("trial --word rye --part 'Row 1/01=1'").status == 1


def test_a_trial_by_what_changes(poured):
    """Of 14, 5 and 1 parts: thirteen less of the base, by its role, one more of rye; the total is as it was."""
    plan = poured.asks("trial --revised-from first --change base=-13 --change 'sample Row 1/03=+1' --dry-run")["plan"]
    vials = {ref: poured.asks(f"show 'sample {ref}'")["id"] for ref in ("Row 1/01", "Row 1/02", "Row 1/03")}
    by_hand = {vials["Row 1/01"]: 25, vials["Row 1/02"]: 125, vials["Row 1/03"]: 25, "water": 25}
    assert {one["component"]: one["volume_ml_20c"] for one in plan} == pytest.approx(by_hand), "25 ml of 200 a part"
    gone = poured.asks("trial --revised-from first --change water=-1 --total '60 ml' --dry-run")
    assert "water" not in {pour["component"] for pour in gone["plan"]}
    wrong = {"base=2": "not a change", "base=-15": "is too much", "fir=+1": "no component", "+2": "±"}
    for change, words in wrong.items():
        assert words in poured(f"trial --revised-from first --change {change}").err
    assert "may be" in poured("trial --revised-from first --change 'sample row=-1'").err
