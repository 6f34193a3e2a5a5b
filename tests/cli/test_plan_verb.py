"""`pourbook plan` as outside scripts and cellars run it: files in, one document or a table out."""

import csv
import re
import tomllib
from pathlib import Path

import pytest
from command import here

from pourbook.alcoholometry.density import density_kg_m3
from pourbook.alcoholometry.strength import mass_fraction_from_strength, strength_from_mass_fraction

SAMPLE = Path(__file__).resolve().parents[2] / "sample_data"
RECIPE, CASKS = SAMPLE / "plan.toml", SAMPLE / "plan_casks.csv"

SMALL = """
[target]
volume_l = 300
volume_low_l = 290
volume_high_l = 310
strength_20c = 40.0
[components.base]
part = 90
[components.rich]
part = 10
low = 8
high = 12
"""
TABLE = "ref,component,volume_l_20c,strength_20c,wood_days\n1,rich,180,60,4000\n2,base,190,62,\n3,base,40,55,5000\n"


@pytest.fixture
def run(tmp_path):
    """The verb on a recipe and casks as texts."""

    def ran(recipe=SMALL, casks=TABLE, *options):
        (tmp_path / "recipe.toml").write_text(recipe, "utf-8")
        (tmp_path / "casks.csv").write_text(casks, "utf-8")
        return here("plan", tmp_path / "recipe.toml", "--casks", tmp_path / "casks.csv", *options)

    return ran


# -- the contract ---------------------------------------------------------------------------


def test_every_figure_and_limit_of_the_sample_plan_holds_worked_out_anew():
    """From the files and the takes alone, by OIML R 22: the answer is right to the digits that are promised."""
    found = here("plan", RECIPE, "--casks", CASKS, "--json").done().json
    asked = tomllib.loads(RECIPE.read_text("utf-8"))
    with CASKS.open(encoding="utf-8", newline="") as file:
        casks = {row["ref"]: row for row in csv.DictReader(file)}
    taken = [(casks[one["ref"]], one["volume_l_20c"]) for one in found["casks"]]
    heel, limits = asked["heel"], asked["limits"]
    bodies = [(litres, float(cask["strength_20c"])) for cask, litres in taken]
    bodies.append((heel["volume_l_20c"], heel["strength_20c"]))
    whole = sum(litres for litres, _ in bodies)
    for name, part in asked["components"].items():
        poured = sum(litres for cask, litres in taken if cask["component"] == name)
        fraction = (poured + heel["volume_l_20c"] * heel["parts"][name] / 100) / whole
        assert found["fractions"][name] == pytest.approx(fraction, abs=1e-6)
        assert part["low"] / 100 - 1e-6 <= fraction <= part["high"] / 100 + 1e-6
    fractions_by_mass = [mass_fraction_from_strength(strength) for _, strength in bodies]
    masses = [litres * density_kg_m3(part) / 1000 for (litres, _), part in zip(bodies, fractions_by_mass, strict=True)]
    ethanol = sum(mass * part for mass, part in zip(masses, fractions_by_mass, strict=True))
    strength = strength_from_mass_fraction(ethanol / sum(masses))
    assert found["strength_before"] == pytest.approx(strength, abs=0.001)
    assert strength >= limits["least_strength_before"] - 0.001
    water_kg = ethanol / mass_fraction_from_strength(46.0) - sum(masses)
    assert found["water_l"] == pytest.approx(water_kg / density_kg_m3(0.0) * 1000, abs=0.01)
    reduced = sum(litres * strength for litres, strength in bodies) / 46.0
    assert reduced <= limits["vat_l"] + 0.001
    assert found["volume_l"] == pytest.approx(reduced * 0.996, abs=0.01)
    assert 1470 - 0.001 <= found["volume_l"] <= 1530 + 0.001
    assert all(not cask["hold"] and int(cask["wood_days"]) >= 2922 for cask, _ in taken)  # 8 years: 8 x 365 + 2
    parts = [(cask, one) for (cask, _), one in zip(taken, found["casks"], strict=True) if not one["whole"]]
    left = [float(cask["volume_l_20c"]) - one["volume_l_20c"] for cask, one in parts]
    assert len(taken) <= limits["most_casks"]
    assert len(parts) <= limits["most_part_casks"]
    assert min(left) >= limits["least_left_l"] - 0.001
    assert min(one["volume_l_20c"] for _, one in parts) >= limits["least_taken_l"] - 0.001
    kinds = [cask["component"] for cask, _ in taken]
    assert min(kinds.count(kind) for kind in set(kinds)) >= 2
    cost = sum(litres * float(cask["strength_20c"]) / 100 * float(cask["cost_per_lpa"]) for cask, litres in taken)
    assert found["objective"] == pytest.approx(10 * len(taken) + 0.01 * cost + 0.1 * sum(left), rel=1e-6)
    assert found["proved"]
    assert found["gap"] <= 1e-6


def test_keys_of_the_answer(run):
    """No more and no fewer than the contract has."""
    found = run(SMALL, TABLE, "--json").done().json
    assert list(found) == [
        "casks", "fractions", "strength_before", "water_l", "volume_l", "objective", "bound", "gap", "proved",
        "seconds",
    ]  # fmt: skip
    assert [list(one) for one in found["casks"]] == [["ref", "volume_l_20c", "whole"]] * len(found["casks"])
    assert found["objective"] == 2.0  # fewest casks, where no objective is written


def test_a_table_for_people(run):
    """What to take, the fractions beside their bounds, and the proof in words."""
    said = run().done().out
    assert "component   % by volume   aimed at   least   most" in said
    assert "no plan has less" in said


def test_casks_on_hold_too_young_or_of_unknown_age_are_left_out(run):
    """Of two casks alike the one that may be taken."""
    table = (
        "ref,component,volume_l_20c,strength_20c,wood_days,hold\n"
        "held,base,200,60,5000,bung leaks\nyoung,base,200,60,4382,\nunknown,base,200,60,,\nold,base,200,60,4383,\n"
    )
    recipe = (
        SMALL.replace("low = 8\n", "").replace("part = 90", "part = 90\nlow = 50") + "[limits]\nleast_age_years = 12\n"
    )
    assert [one["ref"] for one in run(recipe, table, "--json").done().json["casks"]] == ["old"]


def test_a_workbook_and_a_semicolon_do_too(run):
    """The delimiter is told by the headings, which are read in any case and order."""
    table = "Strength 20C;Volume l 20C;Component;Ref;note\n60.0;180.0;rich;1;\n62.0;190.0;base;2;shy, quiet\n"
    assert len(run(SMALL, table, "--json").done().json["casks"]) == 2


# -- what is refused --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "key", "said"),
    [
        ("[limits]\nmost_cask = 3", "limits.most_cask", "did you mean 'most_casks'"),
        ("[limit]\nmost_casks = 3", "limit", "did you mean 'limits'"),
        ("[components.peat]\npart = 0\nleast = 1", "components.peat.least", "is not known"),
        ("[objective]\ncask = 1", "objective.cask", "did you mean 'casks'"),
        ("[objective]\ncasks = -1", "objective.casks", "from 0"),
        ("[components.peat]\npart = 5", "components", "the parts add to"),
        ("[components.peat]\nlow = 5", "components.peat.part", "is missing"),
        ("[limits]\nmost_casks = 2.5", "limits.most_casks", "whole number"),
        ("[limits]\nmost_casks = '2'", "limits.most_casks", "is not a number"),
        ("[limits]\nmost_casks = true", "limits.most_casks", "is not a number"),
        ("[limits]\nvat_l = nan", "limits.vat_l", "out of range"),
        ("[limits]\nvat_l = inf", "limits.vat_l", "out of range"),
        ("[limits]\nvat_l = -1", "limits.vat_l", "out of range"),
        ("[limits]\nvat_l = 1" + "0" * 400, "limits.vat_l", "out of range"),
        ("[limits]\nleast_age_years = 3\nleast_age_days = 9", "limits.least_age_days", "a second time"),
        ("limits = 3", "limits", "is not"),
        ("[losses]\nfilter = 60\nline = 40", "losses", "leaves nothing"),
        ("[heel]\nvolume_l_20c = 9\nstrength_20c = 46", "heel.parts", "is missing"),
        ("[heel]\nvolume_l_20c = 9\nstrength_20c = 46\nparts = {base = 60}", "heel.parts", "not 100"),
        ("[heel]\nvolume_l_20c = 9\nstrength_20c = 46\nparts = {oak = 100}", "heel.parts.oak", "no component"),
    ],
)
def test_a_recipe_that_cannot_be_is_refused_by_its_key(run, changed, key, said):
    """Never taken for one without the limit."""
    recipe = changed + SMALL if changed.startswith("limits =") else SMALL + changed
    ran = run(recipe)
    assert ran.status == 1
    assert ran.out == ""
    assert f"recipe.toml, {key}:" in ran.err
    assert said in ran.err


@pytest.mark.parametrize(
    ("recipe", "said"),
    [
        ("", "is empty"),
        ("[target]\n", "components: has no component"),
        ("[target\n", "row 1: is not TOML"),
        ('basis = "mass"\n' + SMALL, "'mass' is no basis of parts"),
        (SMALL.replace("strength_20c = 40.0", "strength_20c = 0"), "target.strength_20c: '0' is out of range"),
        (SMALL.replace("strength_20c = 40.0\n", ""), "target.strength_20c: is missing"),
    ],
)
def test_a_recipe_that_says_too_little_is_refused(run, recipe, said):
    """With what is missing."""
    ran = run(recipe)
    assert ran.status == 1
    assert said in ran.err


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("ref,component,volume_l_20c\n1,rich,180\n", "has no column strength_20c"),
        (TABLE + "1,base,190,60,\n", "row 5, ref: '1' stands in row 2, too"),
        (TABLE + ",base,190,60,\n", "row 5, ref: is blank"),
        (TABLE + "4,,190,60,\n", "row 5, component: is blank"),
        (TABLE + "4,base,,60,\n", "row 5, volume_l_20c: is blank"),
        (TABLE + "4,base,-1,60,\n", "row 5, volume_l_20c: '-1' is out of range"),
        (TABLE + "4,base,nan,60,\n", "row 5, volume_l_20c: 'nan' does not begin with a number"),
        (TABLE + '4,base,"190,5",60,\n', "has a comma, but the decimal mark here is a point"),
        (TABLE + "4,base,190,160,\n", "row 5, strength_20c: '160' is out of range"),
        (TABLE + "4,base,190,0,\n", "row 5, strength_20c: '0' is out of range"),
        (TABLE + "4,base,190,60,old\n", "row 5, wood_days: 'old'"),
    ],
)
def test_casks_that_cannot_be_are_refused_by_their_row(run, table, said):
    """Every fault with its row, column and what to do."""
    ran = run(SMALL, table)
    assert ran.status == 1
    assert said in ran.err


def test_costs_are_needed_where_they_count(run):
    """Of the casks that may be chosen, not of others."""
    table = (
        "ref,component,volume_l_20c,strength_20c,cost_per_lpa,hold\n"
        "1,rich,180,60,9.50,\n2,base,190,62,4,\n3,base,90,62,,held\n4,peat,90,62,,\n"
    )
    recipe = SMALL + "[objective]\ncost = 1\n"
    assert len(run(recipe, table, "--json").done().json["casks"]) == 2
    ran = run(recipe, TABLE)
    assert ran.status == 1
    assert "the cost of 1, 2, 3 is not known" in ran.err


def test_time_must_be_given_and_files_named(run):
    """No time, no recipe."""
    assert "leaves no time" in run(SMALL, TABLE, "--seconds", "0").err
    assert "does not exist" in here("plan", "none.toml", "--casks", CASKS).err


# -- why there is none ----------------------------------------------------------------------


@pytest.fixture
def crowded(run):
    """A vat that is too small for the least volume."""
    return lambda *options: run(SMALL + "[limits]\nvat_l = 250\nmost_casks = 3\n", TABLE, *options)


def test_demands_in_conflict_are_named_with_what_would_do_instead(crowded):
    """Exit 1, and the document on standard output; what is needed admits a plan once it is written down."""
    ran = crowded("--json")
    assert ran.status == 1
    assert ran.json["conflict"] == ["target.volume_low_l", "limits.vat_l"]
    assert [(one["demand"], one["asked"]) for one in ran.json["nearest"]] == [
        ("target.volume_low_l", 290),
        ("limits.vat_l", 250),
    ]
    assert ran.json["nearest"][0]["needed"] == pytest.approx(250, abs=1e-5)
    assert ran.json["nearest"][1]["needed"] == pytest.approx(290, abs=1e-5)
    assert all(one["casks"] for one in ran.json["nearest"])


@pytest.mark.parametrize("at", [0, 1])
def test_what_is_needed_admits_a_plan_once_it_is_written(run, crowded, at):
    """And the casks beside it are those of a plan."""
    near = crowded("--json").json["nearest"][at]
    key, recipe = near["demand"].partition(".")[2], SMALL + "[limits]\nvat_l = 250\nmost_casks = 3\n"
    eased = recipe.replace(f"{key} = {near['asked']:g}", f"{key} = {near['needed']!r}")
    assert eased != recipe
    found = run(eased, TABLE, "--json").done().json
    assert {one["ref"] for one in found["casks"]} == {one["ref"] for one in near["casks"]}


def test_a_person_reads_what_cannot_all_be_kept(crowded):
    ran = crowded()
    assert ran.status == 1
    assert "these cannot all be kept" in ran.out
    assert re.search(r"limits\.vat_l +vat, l +250\.000 +290\.000", ran.out)


def test_where_no_litre_can_be_taken_no_demand_is_to_blame(run):
    """Stock and holds are facts."""
    ran = run(SMALL, TABLE.replace("base", "malt").replace("rich", "malt"), "--json")
    assert ran.status == 1
    assert (ran.json["conflict"], ran.json["nearest"]) == ([], [])


def test_an_empty_table_of_casks_is_an_answer(run):
    """No stock is a fact: exit 1 with a document, as for casks that are all on hold."""
    ran = run(SMALL, TABLE.splitlines()[0] + "\n", "--json")
    assert ran.status == 1
    assert (ran.json["conflict"], ran.json["nearest"]) == ([], [])


def test_a_cost_that_is_not_known_does_not_keep_the_nearest_plan_from_being_shown(run):
    """Casks out of the choice need no cost, and count again once the age that keeps them out is changed."""
    table = (
        "ref,component,volume_l_20c,strength_20c,wood_days,cost_per_lpa\n"
        "1,rich,180,60,3000,\n2,base,190,62,3000,\n3,base,90,62,5000,4\n"
    )
    ran = run(SMALL + "[limits]\nleast_age_days = 3001\n[objective]\ncost = 1\n", table, "--json")
    assert ran.status == 1
    (near,) = (one for one in ran.json["nearest"] if one["demand"] == "limits.least_age_days")
    assert near["needed"] == 3000
    assert {"1", "2"} <= {one["ref"] for one in near["casks"]}


# -- beside a plan --------------------------------------------------------------------------


def test_other_plans_like_casks_and_reasons_stand_beside_a_plan():
    """Each differs from the best in more than one cask; a like cask is of the same component and not in the plan."""
    asked = ("plan", RECIPE, "--casks", CASKS, "--others", "--left-out", "--instead-of", "Q 618")
    found = here(*asked, "--json").done().json
    plans = [{cask["ref"] for cask in one["casks"]} for one in (found, *found["others"])]
    assert len(plans) == 3
    assert all(len(one ^ other) >= 3 for one in plans for other in plans if one is not other)
    assert found["objective"] <= found["others"][0]["objective"] <= found["others"][1]["objective"]
    assert {one["ref"] for one in found["like"]["casks"]} & plans[0] == set()
    held = {one["ref"]: one["hold"] for one in found["left_out"] if one["reason"] == "on hold"}
    rows = csv.DictReader(CASKS.read_text("utf-8").splitlines())
    assert held == {row["ref"]: row["hold"] for row in rows if row["hold"]}
    said = here(*asked).done().out
    assert "beside the next best" in said
    assert "instead of Q 618" in said
    assert "on hold: bung leaks" in said


def test_a_cask_that_the_plan_does_not_take_is_not_missing():
    ran = here("plan", RECIPE, "--casks", CASKS, "--instead-of", "Q 601")
    assert ran.status == 1
    assert "the plan takes nothing from 'Q 601'" in ran.err
