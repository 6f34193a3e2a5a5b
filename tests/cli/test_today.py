"""What is being worked at, of every kind: there while it is under way, with what is left, and gone once it is done."""

import pytest
from command import WHO, Desk, here

from pourbook import Book, Draft, Item, Move, Paper, Pour, Recipe, RecipePart
from pourbook.quantities import read_amount, read_strength
from pourbook.queries.items.under_way import under_way
from pourbook.times import DAY_US


@pytest.fixture
def desk(tmp_path):
    """Two casks full of 60 % vol, and a vial of each."""
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    for n in (1, 2):
        desk.does(f"cask 'Q {n}' --fill '200 l' --strength 60")
        desk.does(f"draw 'Q {n}' '200 ml' --ref 'S {n}'")
    return desk


def today(desk, kind, *options):
    """What is under way of a kind."""
    return [one for one in desk.asks(f"today {' '.join(options)}")["under_way"] if one["kind"] == kind]


def only(desk, kind):
    """The one that is under way of a kind."""
    (one,) = today(desk, kind)
    return one


def test_a_house_at_rest_has_nothing_under_way(desk):
    assert desk.asks("today") == {"under_way": []}
    assert desk.does("today").out == "nothing is under way\n"


def test_a_trial_is_under_way_until_it_is_poured(desk):
    """What is left by hand: 3 parts of 4 in 100 ml are 75 ml; the last pour says by whom and when."""
    trial = desk.does("trial --part 'S 1=3' --part 'S 2=1' --total '100 ml' --ref T1").id
    one = only(desk, "trial")
    assert (one["id"], one["done"], one["of"]) == (trial, 0, pytest.approx(100))
    assert [(part["component"][0], round(part["ml"])) for part in one["left"]] == [("V", 75), ("V", 25)]
    desk.does("pour T1 'S 1' '75 ml' --who 'Isla Farrow'")
    one = only(desk, "trial")
    assert (one["who"], round(one["done"]), [round(part["ml"]) for part in one["left"]]) == ("Isla Farrow", 75, [25])
    said = desk.does("today").out
    assert "75.0 of 100.0 ml" in said
    assert "25.0 ml of V-" in said
    assert "next: pourbook pour T-" in said
    desk.does("pour T1 'S 2' '20 ml'")
    assert [round(part["ml"]) for part in only(desk, "trial")["left"]] == [5]
    desk.does("pour T1 'S 2' '5 ml'")
    assert today(desk, "trial") == []


def test_an_accent_that_lacks_keeps_a_trial_under_way(desk):
    """0.4 ml of 100 are less than anybody misses in the total, but nobody poured that component."""
    desk.does("trial --part 'S 1=99.6' --part 'S 2=0.4' --total '100 ml' --ref T1")
    desk.does("pour T1 'S 1' '99.6 ml'")
    assert [round(part["ml"], 1) for part in only(desk, "trial")["left"]] == [0.4]


def test_what_was_overpoured_by_one_and_lacks_of_another_is_not_done(desk):
    desk.does("trial --part 'S 1=1' --part 'S 2=1' --total '100 ml' --ref T1")
    desk.does("pour T1 'S 1' '60 ml'")
    desk.does("pour T1 'S 2' '30 ml'")
    assert [round(part["ml"]) for part in only(desk, "trial")["left"]] == [20]


def test_a_trial_of_long_ago_is_not_under_way(desk):
    """Left unpoured for 31 days, it is left out; more days asked for bring it back."""
    desk.does("trial --part 'S 1=1' --total '50 ml'")
    with Book.open(desk.book) as book:
        now_us = book.clock()
        for days, found in ((29, 1), (31, 0)):
            book.clock = lambda days=days: now_us + days * DAY_US
            assert len(under_way(book)) == found
        assert len(under_way(book, within_days=40)) == 1


def test_a_batch_is_under_way_by_its_plan_and_then_waits_for_water(desk):
    """Pulled from casks, litres by the plan; once all is in, the water to its strength; bottled, it is done."""
    desk.does("trial --part 'S 1=1' --part 'S 2=1' --total '100 ml' --ref T1")
    desk.does("pour T1 'S 1' '50 ml'")
    desk.does("pour T1 'S 2' '50 ml'")
    desk.does("scale-up T1 --total '100 l' --to 46 --open --ref Spring")
    one = only(desk, "batch")
    assert sorted(part["ml"] for part in one["left"])[1:] == pytest.approx([50_000, 50_000], rel=1e-3)
    desk.does("pour Spring 'Q 1' '50 l'")
    desk.does("pour Spring 'Q 2' '30 l'")
    (left,) = [part for part in only(desk, "batch")["left"] if part["component"].startswith("C")]
    assert round(left["ml"]) == pytest.approx(20_000, abs=20)
    assert "l of C-" in desk.does("today").out
    desk.does("pour Spring 'Q 2' '20 l' --confirm")
    assert today(desk, "batch") == []
    waits = only(desk, "reduction")
    assert (waits["to_percent"], waits["done"], waits["of"]) == (pytest.approx(46), 0, 1)
    (step,) = desk.asks("reduce Spring")["reduction"]["ahead"]
    assert waits["left"][0]["ml"] == pytest.approx(step["water_mg"] / 998.2, rel=1e-4)  # water at 20 °C, kg/m³
    desk.does(f"reduce Spring --water '{waits['left'][0]['ml']:.0f} ml'")
    assert today(desk, "reduction") == []


def test_a_reduction_rests(desk):
    desk.does("batch Spring")
    desk.does("pour Spring 'Q 1' '100 l'")
    desk.does("reduce Spring --to 46 --steps 2 --rest-days 7")
    first = only(desk, "reduction")
    assert (first["done"], first["of"], first["rests_until"], first["to_percent"]) == (0, 2, None, pytest.approx(53))
    desk.does(f"reduce Spring --water '{first['left'][0]['ml']:.0f} ml'")
    second = only(desk, "reduction")
    assert (second["done"], second["of"], second["to_percent"]) == (1, 2, pytest.approx(46))
    assert second["rests_until"] > second["last"]
    assert "rests until" in desk.does("today").out


def test_a_vat_of_which_was_bottled_is_as_full_as_it_will_be(desk):
    desk.does("batch Spring")
    desk.does("pour Spring 'Q 1' '100 l'")
    desk.does("reduce Spring --to 46")
    desk.does("bottle Spring --count 10 --size '700 ml' --confirm")
    assert today(desk, "reduction") == []


def test_a_session_counts_its_ballots(desk):
    """Three glasses, one assessor, who gives one ballot; poured or not is told; closed, it is gone."""
    desk.does("session open Autumn --glass 'S 1' --glass 'S 2' --assessor 'Isla Farrow' --amount '5 ml'")
    one = only(desk, "session")
    assert (one["name"], one["done"], one["of"], one["stage"]) == ("Autumn", 0, 2, "not served")
    desk.does("session pour Autumn")
    with Book.open(desk.book) as book:
        assert under_way(book)[0].stage == "served"
    desk.does("session close Autumn --confirm")
    assert today(desk, "session") == []


def test_a_blending_is_under_way_until_somebody_chose(desk):
    desk.does("recipe Table --part 'S 1=1 in 0..2' --part 'S 2=1 in 0..2'")
    desk.does("blending open Spring --recipe Table --guest A --guest B --blend '50 ml' --glass '5 ml'")
    one = only(desk, "blending")
    assert (one["name"], one["done"], one["of"], one["stage"]) == ("Spring", 0, 2, "composing")
    desk.does("blending compose Spring --guest A --called Light --part 'S 1=1' --part 'S 2=1'")
    assert only(desk, "blending")["done"] == 1
    assert [one["name"].split(" ")[0] for one in today(desk, "trial")] == ["Light"]


def test_a_stocktake_counts_what_was_seen(desk):
    desk.does("stocktake open May")
    assert only(desk, "stocktake")["done"] == 0
    desk.does("stocktake scan May 'Q 1' 'Q 2'")
    one = only(desk, "stocktake")
    assert (one["name"], one["done"], one["of"]) == ("May", 2, None)
    desk.does("stocktake end May")
    assert today(desk, "stocktake") == []


def test_a_bottling_run_counts_bottles(desk):
    desk.does("batch Spring")
    desk.does("pour Spring 'Q 1' '100 l'")
    desk.does("bottling begin Spring --size '700 ml' --ref Run")
    desk.does("bottling add Run --filled 9 --broken 1")
    one = only(desk, "bottling")
    assert (one["done"], one["of"], one["unit"]) == (9, None, "bottles")


def test_numbers_set_aside_are_there_until_each_labels_something(desk):
    first = desk.does("reserve vial 2").out.split()[0]
    one = only(desk, "numbers")
    assert (one["name"], one["done"], one["of"]) == (first, 0, 2)
    desk.does(f"draw 'Q 1' '50 ml' --vial {first}")
    assert only(desk, "numbers")["done"] == 1


def test_a_run_of_labels_that_stopped_is_there_until_its_rest_is_printed(desk):
    """As `label_run` records what a printer did not take; entries of both runs are made by hand."""
    vials = [desk.asks(f"show 'S {n}'")["id"] for n in (1, 2)]
    facts = {"template": "vial-roll-30x15", "dpi": 203, "count": 1, "of": 2, "stopped": "out of paper"}
    with Book.open(desk.book) as book:
        book.record(Draft(Paper("label", tuple(vials), {**facts, "not_sent": vials[1]}), book.clock(), WHO))
    one = only(desk, "labels")
    assert (one["id"], one["done"], one["of"]) == (vials[0], 1, 2)
    with Book.open(desk.book) as book:
        book.record(Draft(Paper("label", (vials[1],), {**facts, "count": 1}), book.clock(), WHO))
    assert [one["entry"] for one in today(desk, "labels")] != [one["entry"]]


def test_holds_are_told_by_recall_and_by_hand(desk):
    desk.does("hold 'S 1' --reason cork --who 'Isla Farrow'")
    one = only(desk, "hold")
    assert (one["name"].split(" ")[0], one["who"], one["reason"]) == ("S", "Isla Farrow", "cork")
    desk.does("recall --item 'Q 2' --actual --hold --reason taint")
    recall = only(desk, "recall")
    assert (recall["of"], recall["reason"], recall["unit"]) == (2, "taint", "items")
    assert f"next: pourbook recall --show {recall['entry']}" in desk.does("today").out
    assert len(today(desk, "hold")) == 1
    desk.does(f"recall --release {recall['entry']} --reason clean")
    desk.does("release 'S 1' --reason clean")
    assert desk.asks("today") == {"under_way": []}


def test_pouring_beside_the_plan_reads_only_what_went_in():
    """What each source gave is what the whole trace says, also of a vat that handed its heel on."""
    from pourbook.queries.trials.targets import targets

    book = Book.create(":memory:", house="Quillmere")
    fill = [Move("origin", cask, read_amount("200 l"), read_strength("60")) for cask in ("C000001H", "C000002F")]
    recipe = Recipe("Ash", (RecipePart("C000001H", "3"), RecipePart("C000002F", "1")))
    entries = (
        Item("C000001H", {}), Item("C000002F", {}), Pour("fill", tuple(fill)), recipe,
        Item("B000001Y", {"follows": "Ash", "total": "100 l"}),
        Pour("pour", (Move("C000001H", "B000001Y", read_amount("75 l")),)),
        Pour("pour", (Move("C000002F", "B000001Y", read_amount("20 l")),)),
        Pour("loss", (Move("B000001Y", "loss", read_amount("5 l")),)),
        Pour("pour", (Move("C000002F", "B000001Y", read_amount("2 l")),)),
    )  # fmt: skip
    book.record(*(Draft(entry, 0, WHO, confirmed=True) for entry in entries))
    found = {one.component: one.poured_ml for one in targets(book, "B000001Y")}
    assert found == pytest.approx(book.trace_back("B000001Y").poured_ml)
    assert found == pytest.approx({"C000001H": 75_000, "C000002F": 22_000}, rel=1e-3)
