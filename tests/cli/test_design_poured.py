"""A design becomes trials: planned against the vials, recorded, poured and read back."""

import pytest
from command import Desk, here

BOUNDS = "component,lower,upper\nash,60,85\nchestnut,10,35\nheather,0,15\n"
HELD = {"ash": "400 ml", "chestnut": "150 ml", "heather": "60 ml"}


@pytest.fixture
def desk(tmp_path):
    """Three samples of casks, called as the components of a table of bounds are."""
    desk = Desk(tmp_path / "house.pourbook", here)
    here("create", desk.book, "--house", "Quillmere").done()
    for number, (name, held) in enumerate(HELD.items(), 1):
        desk.does(f"cask 'Row 1/{number}' --wood '{name}' --fill '200 l' --strength 6{number} --in-wood '9 y'")
        desk.does(f"draw 'Row 1/{number}' '{held}' --ref {name}")
    (tmp_path / "bounds.csv").write_text(BOUNDS, "utf-8")
    return desk


def designed(desk, options, bounds="bounds.csv"):
    """A command line that designs trials."""
    return f"mixture design {desk.book.parent / bounds} {options}"


def vials(document):
    """What is needed of each vial, and what is left."""
    return {vial["component"]: (vial["needed_ml"], vial["left_ml"]) for vial in document["flight"]["vials"]}


# -- the plan ---------------------------------------------------------------------------------


def test_what_to_pour_is_planned_and_nothing_recorded(desk):
    """Volumes of every glass add to the total, those of a vial to what it needs; the journal stays as it was."""
    before = desk.asks("journal-hash")
    found = desk.asks(designed(desk, "--glasses 8 --total '40 ml'"))
    glasses = found["flight"]["glasses"]
    assert [round(sum(glass["volumes_ml"].values()), 9) for glass in glasses] == [40.0] * 8
    for name, (needed, left) in vials(found).items():
        assert needed == pytest.approx(sum(glass["volumes_ml"][name] for glass in glasses))
        assert left == pytest.approx(float(HELD[name].split()[0]) - needed, abs=0.01)
    assert desk.asks("journal-hash") == before


def test_rounding_is_said_and_judged(desk):
    """In steps of 1 ml parts move, and the design as poured is judged, not as it was chosen."""
    options = "--glasses 8 --total '22 ml' --mark '1 ml'"
    found, said = desk.asks(designed(desk, options)), desk.does(designed(desk, options)).out
    assert max(glass["moved"] for glass in found["flight"]["glasses"]) > 0.01
    assert found["flight"]["d_efficiency"] != pytest.approx(found["d_efficiency"])
    assert "rounding to 1.00 ml moves no part by more than" in said
    assert f"D-efficiency {100 * found['flight']['d_efficiency']:.1f} %" in said
    coarse = desk.does(designed(desk, "--glasses 8 --total '22 ml' --mark '2 ml'")).out
    assert "8 glasses cannot tell the 6 terms of a quadratic model" in coarse
    exact = desk.does(designed(desk, "--glasses 7 --total '40 ml' --mark '0.5 ml'"))
    assert "no part is moved by rounding" in exact.out or "moves no part" in exact.out


def test_a_component_that_rounding_leaves_nothing_of_is_said(desk):
    """Of 5 ml, 4 % is less than half a mark of a millilitre; the plan is shown all the same."""
    (desk.book.parent / "little.csv").write_text("component,lower,upper\nash,96,100\nheather,0,4\n", "utf-8")
    planned = desk(designed(desk, "--glasses 3 --total '5 ml' --mark '1 ml'", "little.csv"))
    assert planned.status == 0
    assert "warning: rounded, glass 1 lacks a component" in planned.err
    assert "cannot tell the 3 terms" in planned.out


def test_portions_too_small_for_their_instrument_are_named(desk):
    """With the portion from which it is honest; a pipette of its own does not change the others."""
    options = "--glasses 8 --total '10 ml' --instrument 'graduated pipette A 25 ml'"
    found = desk(designed(desk, options))
    assert "ml of heather is not honest by graduated pipette A 25 ml, but from 2.00 ml on; take a total of" in found.err
    finer = desk(designed(desk, f"{options} --instrument heather='graduated pipette A 1 ml'"))
    assert "of heather" not in finer.err
    assert "of chestnut is not honest" in finer.err


def test_the_total_that_a_warning_asks_for_is_enough(desk):
    """Then nothing is too small."""
    told = desk(designed(desk, "--glasses 6 --total '10 ml' --instrument 'graduated pipette A 25 ml'")).err
    total = max(int(line.partition("take a total of ")[2].partition(" ")[0]) for line in told.splitlines())
    found = desk(designed(desk, f"--glasses 6 --total '{total} ml' --instrument 'graduated pipette A 25 ml'"))
    assert found.status == 0
    assert "not honest" not in found.err


# -- more than the vials hold --------------------------------------------------------------------


def test_more_than_the_vials_hold_is_refused_with_what_works(desk):
    """What is short by how much, and the size that works does, and a mark more does not."""
    refused = desk(designed(desk, "--glasses 12 --total '60 ml'"))
    assert refused.status == 1
    assert "12 glasses of 60 ml: V-000001-R" in refused.err
    assert "holds 400.0 ml of" in refused.err
    works = float(refused.err.partition("a total of ")[2].partition(" ")[0])
    assert desk(designed(desk, f"--glasses 12 --total '{works} ml'")).status == 0
    assert desk(designed(desk, f"--glasses 12 --total '{works + 0.1:.1f} ml'")).status == 1


def test_an_empty_vial_has_no_size_that_works(desk):
    """Another sample is asked for."""
    desk.does("loss heather all --kind spill --confirm")
    refused = desk(designed(desk, "--glasses 12 --total '10 ml'"))
    assert "holds 0.0 ml of" in refused.err
    assert "do: draw another sample, or choose fewer glasses" in refused.err


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ("--glasses 8 --record", "give --total, such as '40 ml'"),
        ("--glasses 8 --total '10 ml' --mark '0.3 ml'", "take 9.9 ml"),
        ("--glasses 8 --total '10 ml' --use heather=ash", "'ash' and 'heather' are one item"),
        ("--glasses 8 --total '10 ml' --use peat=ash", "'peat' is no component of the design"),
        ("--glasses 8 --total '10 ml' --instrument peat='limit 1 %'", "'peat' is no component of the design"),
        ("--glasses 8 --total '10 g'", "a volume is needed"),
    ],
)
def test_what_cannot_be_poured_is_refused(desk, options, said):
    """With what to do."""
    refused = desk(designed(desk, options))
    assert refused.status == 1
    assert said in refused.err


def test_a_component_that_is_nothing_in_the_book_is_asked_for(desk):
    """By the option that names a vial for it."""
    (desk.book.parent / "other.csv").write_text(BOUNDS.replace("heather", "peat reek"), "utf-8")
    refused = desk(designed(desk, "--glasses 8 --total '10 ml'", "other.csv"))
    assert "nothing in the book is called 'peat reek'" in refused.err
    assert "--use 'peat reek'=VIAL" in refused.err
    assert desk(designed(desk, "--glasses 8 --total '10 ml' --use 'peat reek=heather'", "other.csv")).status == 0


# -- recorded, poured, read back --------------------------------------------------------------------


def test_a_design_poured_and_read_back_gives_the_stated_parts(desk):
    """Every glass, by the real command: composed, poured, traced back to its vials by volume.

    A book holds whole milligrams: half a milligram of each of three pours is 8 in 100,000 of 18 g.
    """
    found = desk.asks(designed(desk, "--glasses 7 --repeats 1 --total '20 ml' --record --name 'Ostrewick, spring'"))
    items = {vial["component"]: vial["item"] for vial in found["flight"]["vials"]}
    assert len(found["entries"]) == 14
    for glass in found["flight"]["glasses"]:
        trial = glass["trial"]
        pours = " ".join(f"{items[name]} '{ml} ml'" for name, ml in glass["volumes_ml"].items() if ml)
        desk.does(f"pour {trial} {pours}")
        back = {one["id"]: one["share"] for one in desk.asks(f"trace {trial} --by volume")["items"]}
        for name, part in glass["parts"].items():
            assert back.get(items[name], 0.0) == pytest.approx(part, abs=1e-4)
    first, second = found["flight"]["glasses"][:2]
    rows = {
        row["id"]: row["fractions"] for row in desk.asks(f"compare {first['trial']} {second['trial']}")["components"]
    }
    for number, name in enumerate(HELD, 1):
        cask = desk.asks(f"show 'Row 1/{number}'")["id"]
        assert rows[cask] == pytest.approx([first["parts"][name], second["parts"][name]], abs=1e-4)
    assert {name: float(desk.asks(f"show {item}")["volume_ml_20c"]) for name, item in items.items()} == pytest.approx(
        {name: left for name, (_, left) in vials(found).items()}, abs=0.01
    )


def test_trials_are_composed_all_or_none(desk):
    """A dry run keeps none; the plan of each is its glass; they are named by design, glass and day."""
    before = desk.asks("journal-hash")
    dry = desk.asks(designed(desk, "--glasses 8 --days 2 --total '20 ml' --record --name Spring --dry-run"))
    assert dry["dry_run"]
    assert desk.asks("journal-hash") == before
    found = desk.asks(designed(desk, "--glasses 8 --days 2 --total '20 ml' --record --name Spring"))
    trial = found["flight"]["glasses"][4]
    shown = desk.asks(f"show {trial['trial']}")
    assert shown["facts"]["name"] == f"Spring, glass 5 of 8, day {trial['day']}"
    recipe = desk.asks(f"recipe {'-'.join((trial['trial'][0], trial['trial'][1:7], trial['trial'][7:]))}")
    assert [float(part["parts"]) for part in recipe["parts"]] == [ml for ml in trial["volumes_ml"].values() if ml]


def test_components_of_the_house_are_taken_by_vial(desk):
    """A kind with one vial is asked about, one named with --use is not; the trial says what it stands for."""
    desk.does("component 'Rich accent' --wood heather --role rich")
    (desk.book.parent / "kinds.csv").write_text(BOUNDS.replace("heather", "Rich accent"), "utf-8")
    asked = desk(designed(desk, "--glasses 6 --total '20 ml' --record", "kinds.csv"))
    assert asked.status == 1
    assert "of 'Rich accent' there is one vial" in asked.err
    found = desk.asks(designed(desk, "--glasses 6 --total '20 ml' --record --use 'Rich accent=heather'", "kinds.csv"))
    rich = next(one for one in found["flight"]["glasses"] if one["volumes_ml"]["Rich accent"])
    parts = desk.asks(f"recipe {'-'.join((rich['trial'][0], rich['trial'][1:7], rich['trial'][7:]))}")["parts"]
    assert [(part["component"], part["stands_for"]) for part in parts if "stands_for" in part] == [
        (desk.asks("show heather")["id"], "Rich accent")
    ]


def test_a_house_with_a_decimal_comma(desk):
    """Bounds, marks and parts are read and written with it."""
    desk.does("settings --set decimal_mark=,")
    (desk.book.parent / "comma.csv").write_text("component;lower;upper\nash;0,6;0,85\nheather;0,15;0,4\n", "utf-8")
    found = desk.asks(
        designed(desk, "--glasses 4 --model linear --total '20,5 ml' --mark '0,1 ml' --record", "comma.csv")
    )
    assert {round(sum(one["volumes_ml"].values()), 9) for one in found["flight"]["glasses"]} == {20.5}
