"""Traces worked by hand: the arithmetic stands in each docstring.

Liquids are whole milligrams, so that what is expected is exact but for the last digit of a float.
"""

import pytest
from house import House, new_make
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook import Liquid
from pourbook.errors import Refused

KG = 1_000_000
STRONG = Liquid(KG, 600_000, 0)
WEAK = Liquid(KG, 400_000, 0)


def near(shares):
    return pytest.approx(shares, abs=1e-12)


def test_a_cask_refilled_in_2021_is_no_ancestor_of_a_lot_of_2019(house):
    """C1: filled 2012 with "old", dumped and bottled 2019; refilled 2021 from C2. L1 is old, all of it."""
    house.cask("C1", liquid=STRONG, at="2012-03-01", spirit="old")
    house.cask("C2", liquid=STRONG, at="2013-03-01", spirit="new")
    house.dump("C1", "B1", at="2019-06-01")
    house.pour("B1", "L1", at="2019-06-02")
    house.pour("C2", "C1", at="2021-01-01")
    assert house.shares(house.back("L1")) == near({"B1": 1, "C1": 1})
    assert house.origins(house.back("L1")) == near({"old": 1})
    assert "L1" not in house.shares(house.forward("C2"))
    assert house.shares(house.forward("C1")) == near({"B1": 1, "L1": 1})
    assert house.origins(house.back("C1")) == near({"new": 1})


def test_a_topped_up_cask_is_two_things_at_two_times(house):
    """1000 g of a, 400 g drawn into B1; topped up with 600 g of b: then half a, half b, into B2."""
    house.cask("C1", liquid=new_make(1000), at="2015-01-01", spirit="a")
    house.pour("C1", "B1", 400, at="2018-01-01")
    house.fill("C1", liquid=new_make(600), at="2018-01-02", spirit="b")
    house.pour("C1", "B2", 800, at="2019-01-01")
    assert house.origins(house.back("B1")) == near({"a": 1})
    assert house.origins(house.back("B2")) == near({"a": 0.5, "b": 0.5})
    assert house.origins(house.back("C1")) == near({"a": 0.5, "b": 0.5})


def test_a_heel_goes_on_through_three_batches(house):
    """900 of C1 + heel 100: B2 = 0.1 B1; B3 = 0.1 B2, so 0.01 C1, 0.09 C2, 0.9 C3."""
    for number in (1, 2, 3):
        house.cask(f"C{number}", liquid=new_make(1000), at=f"2010-01-0{number}", spirit=f"s{number}")
    house.pour("C1", "B1", 1000, at="2018-01-01")
    house.pour("B1", "L1", 900, at="2018-01-02")
    for number in (2, 3):
        house.pour(f"B{number - 1}", f"B{number}", verb="heel", at=f"{2017 + number}-01-01")
        house.pour(f"C{number}", f"B{number}", 900, at=f"{2017 + number}-01-02")
        house.pour(f"B{number}", f"L{number}", 900, at=f"{2017 + number}-01-03")
    assert house.shares(house.back("L1")) == near({"B1": 1, "C1": 1})
    assert house.shares(house.back("L3")) == near({"B3": 1, "B2": 0.1, "B1": 0.01, "C3": 0.9, "C2": 0.09, "C1": 0.01})
    assert house.origins(house.back("L3")) == near({"s1": 0.01, "s2": 0.09, "s3": 0.9})
    assert house.shares(house.forward("C1")) == near({"B1": 1, "L1": 1, "B2": 0.1, "L2": 0.1, "B3": 0.01, "L3": 0.01})


def test_a_blend_put_back_into_its_own_casks_counts_once(house):
    """C1 and C2 meet in B1 and go back; L1 from C1: all was in C1 and in B1, half of it in C2.

    Per drop of L1: half began in C1, passed B1 and C1 again; half began in C2, passed B1 and C1.
    """
    house.cask("C1", liquid=new_make(1000), at="2012-01-01", spirit="a")
    house.cask("C2", liquid=new_make(1000), at="2012-01-02", spirit="b")
    house.dump("C1", "B1", at="2018-01-01")
    house.dump("C2", "B1", at="2018-01-02")
    house.pour("B1", "C1", 1000, at="2018-02-01")
    house.pour("B1", "C2", at="2018-02-02")
    house.pour("C1", "L1", at="2020-01-01")
    assert house.shares(house.back("L1")) == near({"C1": 1, "B1": 1, "C2": 0.5})
    assert house.origins(house.back("L1")) == near({"a": 0.5, "b": 0.5})
    assert house.shares(house.forward("C2")) == near({"B1": 0.5, "C1": 0.25, "L1": 0.5})


def test_half_a_cask_vatted_and_returned(house):
    """C1 keeps 500 that never left it, and gets 500 of B1 (half C1, half C2) back.

    C1 now: 0.5 never left; of the other 0.5 half began in C2. So B1 0.5, C2 0.25. L1 drawn from it:
    C1 1 (a quarter passed it twice: counted once), B1 0.5, C2 0.25.
    """
    house.cask("C1", liquid=new_make(1000), at="2012-01-01", spirit="a")
    house.cask("C2", liquid=new_make(1000), at="2012-01-02", spirit="b")
    house.pour("C1", "B1", 500, at="2018-01-01")
    house.pour("C2", "B1", 500, at="2018-01-02")
    house.pour("B1", "C1", 500, at="2018-01-03")
    assert house.shares(house.back("C1")) == near({"B1": 0.5, "C2": 0.25})
    house.pour("C1", "L1", 100, at="2020-01-01")
    assert house.shares(house.back("L1")) == near({"C1": 1, "B1": 0.5, "C2": 0.25})
    assert house.origins(house.back("L1")) == near({"a": 0.75, "b": 0.25})


def test_a_batch_topped_up_from_its_own_cask(house):
    """B1 gets 500 of C1, gives 250 back, gets 375 of C1 (two thirds never left) again.

    C1 after the return: 500 + 250 = 750, a third of it was in B1. B1 then: 250 + 375 = 625, all of it once
    in C1; forward from B1, a third of C1's 750 was in it. Poured into B1 ever: 500 + 375.
    """
    house.cask("C1", liquid=new_make(1000), at="2012-01-01")
    house.pour("C1", "B1", 500, at="2018-01-01")
    house.pour("B1", "C1", 250, at="2018-01-02")
    house.pour("C1", "B1", 375, at="2018-01-03")
    assert house.shares(house.back("B1")) == near({"C1": 1})
    assert house.shares_now(house.forward("B1")) == near({"C1": 1 / 3})
    # Of all that was ever poured into C1 (1000 new make, 250 back), 250 had been in B1.
    assert house.shares(house.forward("B1")) == near({"C1": 0.2})


def test_an_empty_item_is_traced_as_it_was_before_it_was_last_emptied(house):
    """B1: first a, dumped; then b, dumped: its trace is that of b."""
    house.cask("C1", liquid=new_make(1000), at="2012-01-01", spirit="a")
    house.cask("C2", liquid=new_make(2000), at="2012-01-02", spirit="b")
    house.dump("C1", "B1", at="2018-01-01")
    house.pour("B1", "L1", at="2018-01-02")
    house.dump("C2", "B1", at="2019-01-01")
    house.pour("B1", "L2", 500, at="2019-01-02")
    house.pour("B1", "L2", at="2019-01-03")
    trace = house.back("B1")
    assert house.origins(trace) == near({"b": 1})
    assert house.shares(trace) == near({"C2": 1})
    assert trace.held.mass_mg == 1500
    assert house.origins(house.back("B1", at="2018-06-01")) == near({"a": 1})


def test_a_trace_as_of_a_time_knows_nothing_of_later(house):
    """B1 on 1 March 2018: only C1 was in it, although C2 joined the same state in April."""
    house.cask("C1", liquid=new_make(1000), at="2012-01-01", spirit="a")
    house.cask("C2", liquid=new_make(1000), at="2012-01-02", spirit="b")
    house.dump("C1", "B1", at="2018-02-01")
    house.dump("C2", "B1", at="2018-04-01")
    house.pour("B1", "L1", 500, at="2018-05-01")
    early = house.back("B1", at="2018-03-01")
    assert house.shares(early) == near({"C1": 1})
    assert house.origins(early) == near({"a": 1})
    assert [pour.typed for pour in early.pours] == ["", ""]
    assert house.shares(house.back("B1", at="2018-04-15")) == near({"C1": 0.5, "C2": 0.5})
    assert house.shares(house.forward("C1", at="2018-04-15")) == near({"B1": 0.5})
    assert house.shares(house.forward("C1", at="2018-05-01")) == near({"B1": 0.5, "L1": 0.5})
    with pytest.raises(Refused, match="nothing had been poured into"):
        house.back("B1", at="2018-01-31")


def test_shares_by_mass_alcohol_and_volume_differ(house):
    """1 kg with 600 g and 1 kg with 400 g of ethanol: alcohol 0.6 and 0.4; mass 0.5 each.

    The stronger is lighter, so that by volume it has more than half.
    """
    house.cask("C1", liquid=STRONG, at="2012-01-01", spirit="a")
    house.cask("C2", liquid=WEAK, at="2012-01-02", spirit="b")
    house.dump("C1", "B1", at="2018-02-01")
    house.dump("C2", "B1", at="2018-02-02")
    assert house.shares(house.back("B1")) == near({"C1": 0.6, "C2": 0.4})
    assert house.shares(house.back("B1", by="mass")) == near({"C1": 0.5, "C2": 0.5})
    by_volume = house.shares(house.back("B1", by="volume"))
    assert 0.5 < by_volume["C1"] < 0.6
    assert sum(by_volume.values()) == near(1)


def test_a_volume_counts_before_it_contracts(house):
    """600 g of ethanol and 400 g of water are 600 / 0.78924 + 400 / 0.9982 = 1160.95 ml; a kilogram of water 1001.80.

    Densities at 20 °C: OIML R 22, p = 1 and p = 0.
    """
    house.cask("C1", liquid=STRONG, at="2012-01-01", spirit="a")
    house.dump("C1", "B1", at="2018-02-01")
    house.water("B1", KG, at="2018-02-02")
    by_volume = house.origins(house.back("B1", by="volume"))
    assert by_volume["a"] == pytest.approx(1160.95 / (1160.95 + 1001.80), abs=1e-5)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(100_000, 10_000_000), st.floats(0.0, 0.94), st.floats(0.0, 0.2), st.booleans()),
        min_size=2, max_size=6,
    )
)  # fmt: skip
def test_no_share_depends_on_a_sample_in_between(parts):
    """Parts of any strength and extract in one vat: a milligram drawn between two of them shows in no share.

    No source: what a share is must not depend on when somebody looked.
    """
    found = []
    for draws in (False, True):
        with House() as house:
            for number, (mass, fraction, extract, drawn) in enumerate(parts):
                solids = int(mass * extract)
                liquid = Liquid(mass, int((mass - solids) * fraction), solids)
                house.fill("B1", liquid=liquid, at=f"2018-02-01 10:{number:02}", spirit=str(number))
                if draws and drawn:
                    house.draw("B1", f"V{number}", 1, at=f"2018-02-01 10:{number:02}:30")
            found.append({by: house.origins(house.back("B1", by=by)) for by in ("alcohol", "mass", "volume")})
    for by, shares in found[0].items():
        assert found[1][by] == pytest.approx(shares, abs=2e-4 if by == "alcohol" else 1e-4)


def test_water_and_additives_are_origins_by_any_positive_amount(house):
    """1 kg of spirit, 999 g of water, 1 g of caramel: no alcohol in the last two, and yet listed."""
    house.cask("C1", liquid=STRONG, at="2012-01-01", spirit="a")
    house.dump("C1", "B1", at="2018-02-01")
    house.water("B1", 999_000, at="2018-02-02")
    house.fill("B1", 1000, source="additive", at="2018-02-03", name="caramel")
    assert house.origins(house.back("B1")) == near({"a": 1, "water": 0, "additive": 0})
    assert house.origins(house.back("B1", by="mass")) == near({"a": 0.5, "water": 0.4995, "additive": 0.0005})
    assert house.held("B1") == Liquid(2 * KG, 600_000, 1000)


def test_a_vial_of_water_is_traced_by_mass(house):
    """No alcohol in it at all: shares by alcohol fall back on mass, and still add to one."""
    house.open("V1")
    house.water("V1", 30, at="2018-01-01")
    house.fill("V1", 10, source="additive", at="2018-01-02")
    assert house.origins(house.back("V1")) == near({"water": 0.75, "additive": 0.25})


def test_a_vial_of_water_poured_into_a_trial_is_an_ancestor(house):
    """A recall is a trace forward by any positive amount, water included."""
    house.cask("C1", liquid=STRONG, at="2012-01-01")
    house.open("V1")
    house.water("V1", 500, at="2018-01-01")
    house.pour("C1", "T1", 500, at="2018-01-02")
    house.pour("V1", "T1", 500, at="2018-01-03")
    assert house.shares(house.back("T1")) == near({"C1": 1, "V1": 0})
    assert house.shares(house.back("T1", by="mass")) == near({"C1": 0.5, "V1": 0.5})
    assert house.shares(house.forward("V1")) == near({"T1": 0})
    assert house.shares(house.forward("V1", by="mass")) == near({"T1": 0.5})


def test_a_gain_in_an_item_without_ancestry_is_an_unexplained_origin(house):
    """C1 was never filled in this book and is gauged to 1 kg; then 1 kg of a joins it."""
    house.gauge("C1", KG, "63.5", at="2018-01-01", reason="taken over")
    assert [origin.how for origin in house.back("C1").origins] == ["unexplained"]
    assert house.back("C1").age.youngest_us is None
    house.fill("C1", liquid=new_make(KG), at="2018-02-01", spirit="a", wood_days=0)
    assert house.origins(house.back("C1", by="mass")) == near({"unexplained": 0.5, "a": 0.5})


def test_a_gain_in_an_item_with_ancestry_is_no_new_spirit(house):
    """C1 gauged from 1 kg up to 2 kg: all of it is still a, and the age is that of a."""
    house.cask("C1", liquid=STRONG, at="2012-01-01", spirit="a", wood_days=0)
    before = house.back("C1", at="2018-01-01").age
    house.gauge("C1", 2 * KG, at="2018-01-01")
    trace = house.back("C1", at="2018-01-01")
    assert house.origins(trace) == near({"a": 1})
    assert trace.age == before
    house.pour("C1", "B1", at="2018-02-01")
    assert house.origins(house.back("B1")) == near({"a": 1})


def test_a_gauge_changes_the_shares_of_what_is_mixed_later(house):
    """C1 evaporates from 1000 to 500 g, then 500 g of b join: half each, not two thirds."""
    house.cask("C1", liquid=new_make(1000), at="2012-01-01", spirit="a")
    house.gauge("C1", 500, at="2018-01-01")
    house.fill("C1", liquid=new_make(500), at="2018-01-02", spirit="b")
    assert house.origins(house.back("C1", by="mass")) == near({"a": 0.5, "b": 0.5})


def test_an_item_gauged_empty_and_refilled_keeps_nothing_of_the_old(house):
    """C1 leaked away and was gauged empty; a refill of b owes nothing to a."""
    house.cask("C1", liquid=new_make(1000), at="2012-01-01", spirit="a")
    house.gauge("C1", 0, at="2018-01-01")
    assert house.origins(house.back("C1")) == near({"a": 1})
    house.fill("C1", liquid=new_make(500), at="2018-01-02", spirit="b")
    assert house.origins(house.back("C1")) == near({"b": 1})


def test_an_item_gauged_empty_and_then_not_so_empty_is_what_it_was(house):
    """The first reading was wrong: a second finds 400 g, which is still a."""
    house.cask("C1", liquid=new_make(1000), at="2012-01-01", spirit="a")
    house.gauge("C1", 0, at="2018-01-01")
    house.gauge("C1", 400, "40", at="2018-01-02")
    assert house.origins(house.back("C1")) == near({"a": 1})


def test_a_tank_gauged_empty_before_anything_was_in_it(house):
    """A reading of nothing makes no ancestry; what is found later is unexplained."""
    house.gauge("B1", 0, at="2018-01-01")
    house.gauge("B1", 400, "40", at="2018-01-02")
    assert house.origins(house.back("B1")) == near({"unexplained": 1})


def test_a_transfer_loss_changes_amounts_not_shares(house):
    """900 of 1000 g arrive beside 900 g of C2: half each, although more left C1."""
    house.cask("C1", liquid=new_make(1000), at="2012-01-01", spirit="a")
    house.cask("C2", liquid=new_make(900), at="2012-01-02", spirit="b")
    house.pour("C1", "B1", received=900, at="2018-01-01")
    house.pour("C2", "B1", at="2018-01-02")
    assert house.held("B1") == new_make(1800)
    assert house.shares(house.back("B1")) == near({"C1": 0.5, "C2": 0.5})
    (leaving,) = [pour for pour in house.back("B1").pours if house.name(pour.source) == "C1"]
    assert (leaving.liquid.mass_mg, leaving.received.mass_mg) == (1000, 900)


def test_share_ever_and_share_now(house):
    """C1 gives 1000 to B1, which is bottled; C2 gives 1000 after it.

    Of all ever poured into B1, half came from C1; of what it holds now, nothing did. L2 is empty: null.
    """
    house.cask("C1", liquid=new_make(1000), at="2012-01-01")
    house.cask("C2", liquid=new_make(1000), at="2012-01-02")
    house.dump("C1", "B1", at="2018-01-01")
    house.pour("B1", "L1", at="2018-01-02")
    house.dump("C2", "B1", at="2019-01-01")
    house.pour("L1", "L2", at="2019-01-02")
    house.despatch("L2", at="2019-01-03")
    forward = house.forward("C1")
    assert house.shares(forward) == near({"B1": 0.5, "L1": 1, "L2": 1})
    assert house.shares_now(forward) == {"B1": 0.0, "L1": None, "L2": None}


def test_the_cask_used_in_three_batches_one_of_them_blended_into_a_fourth(house):
    """Mock recall: the forward trace lists four batches, each once, and no stranger."""
    for number in (1, 2):
        house.cask(f"C{number}", liquid=new_make(3000), at=f"2012-01-0{number}")
    for number in (1, 2, 3):
        house.pour("C1", f"B{number}", 1000, at=f"2018-01-0{number}")
    house.pour("C2", "B4", 1000, at="2018-02-01")
    house.pour("B3", "B4", at="2018-02-02")
    house.pour("C2", "B5", 1000, at="2018-02-03")
    forward = house.forward("C1")
    names = [house.name(part.item.id) for part in forward.items]
    assert sorted(names) == ["B1", "B2", "B3", "B4"]
    assert house.shares(forward) == near({"B1": 1, "B2": 1, "B3": 1, "B4": 0.5})


def test_a_lot_with_an_unlinked_pour_finishes_and_names_the_gap(house):
    """B1 holds 400 of C1 and was gauged to 500 before that: 100 of nobody knows what.

    The trace ends, the gap has a name and its share, and everything still adds to one.
    """
    house.gauge("B1", 100, "50", at="2017-12-01", reason="tank not empty when taken over")
    house.cask("C1", liquid=new_make(400), at="2012-01-01", spirit="a")
    house.dump("C1", "B1", at="2018-01-01")
    house.pour("B1", "L1", at="2018-01-02")
    trace = house.back("L1", by="mass")
    assert house.origins(trace) == near({"a": 0.8, "unexplained": 0.2})
    (gap,) = [origin for origin in trace.origins if origin.how == "unexplained"]
    assert gap.mass_mg == pytest.approx(100)
    assert gap.facts["reason"] == "tank not empty when taken over"


def test_origins_carry_their_amounts_and_facts(house):
    """L1: 250 of 1000 mg, three fifths of its 100 mg ethanol from a: 60 mg in 125 mg of it."""
    house.cask("C1", liquid=Liquid(500, 240, 0), at="2012-01-01", spirit="a", distiller="Quillmere")
    house.cask("C2", liquid=Liquid(500, 160, 0), at="2012-01-02", spirit="b")
    house.dump("C1", "B1", at="2018-01-01")
    house.dump("C2", "B1", at="2018-01-02")
    house.pour("B1", "L1", 250, at="2018-01-03")
    first, second = house.back("L1").origins
    assert (first.share, first.ethanol_mg, first.mass_mg) == near((0.6, 60, 125))
    assert (second.share, second.ethanol_mg, second.mass_mg) == near((0.4, 40, 125))
    assert first.facts == {"spirit": "a", "distiller": "Quillmere"}
    assert house.name(first.into) == "C1"


def test_pours_of_a_trace_stand_in_order_of_time_with_their_parts(house):
    """B1 from C1 (250) and C2 (750): the pours brought 0.25 and 0.75 of it, the fills as much."""
    house.cask("C1", liquid=new_make(1000), at="2012-01-01")
    house.cask("C2", liquid=new_make(1000), at="2012-01-02")
    house.pour("C1", "B1", 250, at="2018-01-01")
    house.pour("C2", "B1", 750, at="2018-01-02")
    pours = house.back("B1").pours
    assert [(house.name(pour.source), house.name(pour.target)) for pour in pours] == [
        ("origin", "C1"), ("origin", "C2"), ("C1", "B1"), ("C2", "B1"),
    ]  # fmt: skip
    assert [pour.part for pour in pours] == near([0.25, 0.75, 0.25, 0.75])


def test_losses_and_despatches_are_pours_of_a_forward_trace(house):
    """Where the liquid of C1 left the house stands in its forward trace."""
    house.cask("C1", liquid=new_make(1000), at="2012-01-01")
    house.lose("C1", 100, at="2013-01-01")
    house.pour("C1", "L1", at="2018-01-01")
    house.despatch("L1", 500, at="2018-02-01", customer="Fennick & Daughters")
    forward = house.forward("C1")
    assert [(house.name(pour.source), pour.target) for pour in forward.pours if not pour.target[0].isupper()] == [
        ("C1", "loss"), ("L1", "despatch"),
    ]  # fmt: skip
    assert forward.pours[-1].facts["customer"] == "Fennick & Daughters"
