"""The rules of amounts, each by its name: splitting, the absolute gauge, overdraft, transfer, proportion."""

import pytest
from house import new_make, strength_of
from hypothesis import given
from hypothesis import strategies as st

from pourbook import Liquid
from pourbook.alcoholometry.volumes import liquid_of_volume, strength_20c, volume_ml
from pourbook.book.contents import NOTHING, Holding
from pourbook.book.entries import Gauge, Pour
from pourbook.book.fold import PPB, gauged, pour
from pourbook.book.freeze import frozen_gauge
from pourbook.book.items import ledger
from pourbook.book.journal import entry_of, journal
from pourbook.errors import Malformed, NotThere, OutOfRange, Refused, ToConfirm
from pourbook.liquid import EMPTY, MOST_MG

ETHANOL_KG_M3 = 789.24
"""Pure ethanol at 20 °C: OIML R 22, general formula (1975), as tabled there."""


def line(house, recorded, index=0):
    """A line of the entry just recorded, as it stands in the journal."""
    body = entry_of(house.book.store, recorded.numbers[-1]).entry["body"]
    return body["lines"][index] if "lines" in body else body


# -- splitting -------------------------------------------------------------------------------


@st.composite
def held_and_taken(draw):
    """Any liquid, and a mass to take from it."""
    mass = draw(st.integers(1, 30) | st.integers(1, MOST_MG - 1))
    solutes = draw(st.integers(0, mass))
    ethanol = draw(st.integers(0, solutes))
    return Liquid(mass, ethanol, solutes - ethanol), draw(st.integers(1, mass))


@given(held_and_taken())
def test_splitting_follows_the_formula(case):
    """r(a) = (2 a m + M) // 2 M; ethanol r(E), extract r(E + X) - r(E); m = M takes everything."""
    held, mass = case
    whole, ethanol, extract = held

    def r(amount):
        return (2 * amount * mass + whole) // (2 * whole)

    done = pour({"from": "C1", "to": "V1", "mass": mass}, 1, Holding(*held, 2, 0), NOTHING)
    expected = held if mass == whole else Liquid(mass, r(ethanol), r(ethanol + extract) - r(ethanol))
    assert done.target.liquid == expected
    assert done.source.liquid + done.target.liquid == held
    assert min(*done.source.liquid, *done.target.liquid, done.source.liquid.water_mg) >= 0


def test_half_a_milligram_rounds_up(house):
    """1 of 2 mg that hold 1 mg of ethanol: r(1) = (2 + 2) // 4 = 1 goes, 0 stays."""
    house.cask("C1", liquid=Liquid(2, 1, 0))
    house.draw("C1", "V1", 1)
    assert (house.held("V1"), house.held("C1")) == (Liquid(1, 1, 0), Liquid(1, 0, 0))


def test_all_leaves_exactly_nothing(house):
    """However it was drawn down before."""
    house.cask("C1", liquid=Liquid(999_983, 333_331, 97))
    for amount in (1, 7, 12_345, 500_000):
        house.draw("C1", "V1", amount)
    house.dump("C1", "B1")
    assert house.held("C1") == EMPTY
    assert house.held("V1") + house.held("B1") == Liquid(999_983, 333_331, 97)


def test_all_of_nothing_is_refused(house):
    """An empty cask has no all."""
    house.cask("C1", liquid=new_make(100))
    house.dump("C1", "B1")
    with pytest.raises(NotThere, match="empty"):
        house.dump("C1", "B1")


# -- what is typed and what is derived -----------------------------------------------------------


def test_a_fill_by_volume_freezes_mass_and_ethanol(house):
    """200 l at 63.5 % vol hold 127 l of ethanol: 127 x 0.78924 kg (OIML R 22); typed text stays beside."""
    recorded = house.cask("C1", "200 l", "63.5", spirit="malt")
    kept = line(house, recorded)
    assert kept["ethanol"] == pytest.approx(127 * ETHANOL_KG_M3 * 1000, rel=2e-6)
    assert kept["typed"]["amount"] == "200 l"
    assert kept["typed"]["strength"].startswith("63.5")
    view = house.book.show(house.id("C1"))
    assert view.volume_ml_20c == pytest.approx(200_000, rel=1e-8)
    assert view.strength_20c == pytest.approx(63.5, abs=1e-6)


def test_a_pour_by_volume_keeps_the_book_strength_it_leaned_on(house):
    """The mass of 100 ml follows from the cask's strength, which is kept in parts per 10^9 by mass."""
    house.cask("C1", "200 l", "63.5")
    kept = line(house, house.draw("C1", "V1", "100 ml"))
    held = house.held("C1")
    assert kept["book_fraction"] == pytest.approx(PPB * held.ethanol_mg / held.mass_mg, abs=10)
    assert house.book.show(house.id("V1")).volume_ml_20c == pytest.approx(100, rel=1e-5)


def test_a_weighed_pour_leans_on_nothing(house):
    """Masses need no strength."""
    house.cask("C1", "200 l", "63.5")
    assert "book_fraction" not in line(house, house.draw("C1", "V1", "100 g"))
    assert house.held("V1").mass_mg == 100_000


def test_the_journal_holds_whole_numbers_and_text_only(house):
    """Whatever was typed: no float ever reaches the journal."""
    house.cask("C1", "52.8 gal", "127 proof")
    house.draw("C1", "V1", "12.5 ml")
    house.gauge("C1", "51 gal", "63.1", temperature_c=12.5)
    house.lose("C1", "1.5 l", "60")

    def leaves(value):
        if isinstance(value, dict):
            value = list(value.values())
        return [leaf for inner in value for leaf in leaves(inner)] if isinstance(value, list) else [value]

    for logged in journal(house.book.store):
        assert {type(leaf) for leaf in leaves(logged.entry)} <= {int, str}


# -- the absolute gauge ------------------------------------------------------------------------------


def test_a_gauge_of_amount_sets_the_mass_and_scales_the_rest(house):
    """1000 mg with 400 and 10; 900 found: 360 ethanol, r(410) - 360 = 9 extract."""
    house.cask("C1", liquid=Liquid(1000, 400, 10))
    house.gauge("C1", 900)
    assert house.held("C1") == Liquid(900, 360, 9)


def test_a_gauge_of_strength_holds_the_volume(house):
    """Ethanol and water change; volume at 20 °C and extract stay."""
    house.cask("C1", liquid=Liquid(190_000_000, 100_000_000, 50_000))
    before = house.held("C1")
    house.gauge("C1", None, "58.2")
    after = house.held("C1")
    assert volume_ml(after) == pytest.approx(volume_ml(before), rel=1e-6)
    assert strength_20c(after) == pytest.approx(58.2, abs=1e-5)
    assert after.extract_mg == 50_000
    assert after.mass_mg != before.mass_mg


def test_a_gauge_of_both_sets_both(house):
    """100 kg at 50 % vol, of which 0.2 kg extract was not read and keeps its mass."""
    house.cask("C1", liquid=Liquid(190_000_000, 100_000_000, 200_000))
    house.gauge("C1", "100 kg", "50")
    held = house.held("C1")
    assert (held.mass_mg, held.extract_mg) == (100_000_000, 200_000)
    assert strength_20c(held) == pytest.approx(50, abs=1e-5)


def test_a_volume_and_a_strength_read_together_give_both_back(house):
    """Also beside 20 kg of extract, which keep their mass although the amount halves."""
    house.cask("C1", liquid=Liquid(210_000_000, 100_000_000, 20_000_000))
    house.gauge("C1", "100 l", "48")
    held = house.held("C1")
    assert held.extract_mg == 20_000_000
    assert volume_ml(held) == pytest.approx(100_000, rel=1e-6)
    assert strength_20c(held) == pytest.approx(48, abs=1e-4)


def test_a_strength_beside_nothing_but_extract(house):
    """Half a gram, all of it sugar: 0 % it may have, and 0.1 % not."""
    house.cask("C1", liquid=Liquid(500, 0, 500))
    for amount in (None, 500, 400):
        house.gauge("C1", amount, "0")
        with pytest.raises(OutOfRange, match="with so much extract"):
            house.gauge("C1", amount, "0.1")


def test_a_gauge_is_absolute_not_a_difference(house):
    """Reading the same amount twice changes nothing the second time."""
    house.cask("C1", liquid=Liquid(1000, 400, 10))
    house.gauge("C1", 900)
    once = house.held("C1")
    house.gauge("C1", 900)
    assert house.held("C1") == once


@given(
    held=st.tuples(st.integers(1, 10**12), st.integers(0, 10**6), st.integers(0, 10**6)),
    mass=st.none() | st.integers(1, 10**12),
    fraction=st.none() | st.integers(0, PPB),
)
def test_a_gauged_liquid_is_always_possible(held, mass, fraction):
    """No constituent turns negative, whatever was read of whatever there was."""
    whole, ethanol_ppm, extract_ppm = held
    solutes = whole * max(ethanol_ppm, extract_ppm) // 10**6
    ethanol = whole * min(ethanol_ppm, extract_ppm) // 10**6
    body = {"item": "C1", "density": 850_000, "book_density": 930_000}
    body |= {name: value for name, value in (("mass", mass), ("fraction", fraction)) if value is not None}
    if mass is None and fraction is None:
        return
    after = gauged(body, Liquid(whole, ethanol, solutes - ethanol))
    assert min(*after, after.water_mg) >= 0
    assert mass in (None, after.mass_mg)


def test_a_strength_of_an_empty_item_says_nothing(house):
    """There is nothing whose strength could have been read."""
    house.open("C1")
    with pytest.raises(NotThere, match="empty in the book"):
        house.gauge("C1", None, "60")


def test_a_volume_of_an_empty_item_needs_a_strength(house):
    """So does a mass: what it is made of is not known."""
    house.open("C1")
    with pytest.raises(Malformed, match="strength is unknown"):
        house.gauge("C1", "10 l")
    with pytest.raises(NotThere, match="strength is not known"):
        house.gauge("C1", 1000)


def test_a_gauge_of_nothing_is_none(house):
    """Neither amount nor strength."""
    house.open("C1")
    with pytest.raises(Malformed, match="nothing was read"):
        house.gauge("C1")


def test_gains_and_losses_are_reading_minus_book(house):
    """The ledger of C1: 1000, gauged 950 (loss 50), gauged 980 (gain 30)."""
    house.cask("C1", liquid=new_make(1000))
    house.gauge("C1", 950)
    house.gauge("C1", 980)
    held = [row.holding.mass_mg for row in ledger(house.book.store, house.key("C1"))]
    assert held == [1000, 950, 980]


def test_gauges_of_held_items_are_welcome(house):
    """A hold keeps liquid from moving; measuring moves none."""
    house.cask("C1", liquid=new_make(1000), at="2018-01-01")
    house.hold("C1", at="2018-01-02")
    house.gauge("C1", 990, at="2018-01-03")
    assert house.held("C1").mass_mg == 990


# -- more than the book holds --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("held_mg", "taken_mg", "is_within"),
    [
        (100_000_000, 100_500_000, True),  # 0.5 % of 100 kg
        (100_000_000, 100_500_001, False),
        (10_000, 11_000, True),  # 1 g of 10 g
        (10_000, 11_001, False),
        (200_000, 201_000, True),  # where both are 1 g
        (200_000, 201_001, False),
    ],
)
def test_the_tolerance_is_the_larger_of_a_gram_and_half_a_per_cent(house, held_mg, taken_mg, is_within):
    """Within it the source is gauged up and all is taken; beyond it the refusal says what is there."""
    house.cask("C1", liquid=new_make(held_mg))
    if is_within:
        recorded = house.pour("C1", "B1", taken_mg)
        assert recorded.gains == ((house.id("C1"), taken_mg - held_mg),)
        assert house.held("B1") == new_make(held_mg).scaled(taken_mg)
    else:
        with pytest.raises(ToConfirm, match=r"holds .* kg by the book, less than .* kg"):
            house.pour("C1", "B1", taken_mg)
        assert house.held("C1") == new_make(held_mg)
    assert house.held("C1").mass_mg == (0 if is_within else held_mg)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("120 l", "holds 100 l by the book, less than 120 l"),
        ("30 gal", "holds 26.417 gal by the book, less than 30 gal"),  # 100 l of 3.785411784 l, 27 CFR 30.11
    ],
)
def test_a_question_speaks_in_the_unit_that_was_typed(house, typed, said):
    """Whoever typed litres compares litres."""
    house.cask("C1", "100 l", "60")
    with pytest.raises(ToConfirm, match=f"{said}$"):
        house.pour("C1", "B1", typed)
    house.cask("C2", liquid=new_make(100_000_000))
    with pytest.raises(ToConfirm, match=r"holds 100 kg by the book, less than 200 kg$"):
        house.pour("C2", "B1", "200 kg")


def test_the_instrument_may_have_its_own_tolerance(house):
    """A flow meter good to 2 kg: 101.9 of 100 kg pass, 102.1 do not."""
    house.cask("C1", liquid=new_make(100_000_000))
    with pytest.raises(ToConfirm):
        house.pour("C1", "B1", 102_100_000, tolerance_mg=2_000_000)
    house.pour("C1", "B1", 101_900_000, tolerance_mg=2_000_000)
    assert house.held("B1").mass_mg == 101_900_000


def test_a_pour_that_happened_can_always_be_recorded(house):
    """Twice what the book holds, confirmed: an implied gauge of the source, told and kept."""
    house.cask("C1", liquid=new_make(1_000_000))
    recorded = house.pour("C1", "B1", 2_000_000, confirmed=True)
    assert [asked["rule"] for asked in line(house, recorded)["confirmed"]] == ["more-than-held"]
    assert recorded.gains == ((house.id("C1"), 1_000_000),)
    assert (house.held("C1"), house.held("B1")) == (EMPTY, new_make(2_000_000))
    assert house.book.verify().faults == ()


def test_a_confirmed_pour_from_an_empty_item_needs_its_strength(house):
    """Nobody can know what it was made of."""
    house.open("C1", "B1")
    with pytest.raises(NotThere, match="strength of what was poured is not known"):
        house.pour("C1", "B1", 1_000_000, confirmed=True)
    with pytest.raises(ToConfirm, match=r"holds 0 l by the book, less than 10 l$"):
        house.pour("C1", "B1", "10 l", "60")
    house.pour("C1", "B1", "10 l", "60", confirmed=True)
    assert house.book.show(house.id("B1")).strength_20c == pytest.approx(60, abs=1e-5)
    assert [origin.how for origin in house.back("B1").origins] == ["unexplained"]


def test_within_the_tolerance_the_lineage_stays_whole(house):
    """What was gauged up is no origin of its own."""
    house.cask("C1", liquid=new_make(100_000), spirit="a")
    house.pour("C1", "B1", 100_400)
    assert house.origins(house.back("B1")) == pytest.approx({"a": 1})


# -- measured dumps, transfers, losses --------------------------------------------------------------------


@pytest.mark.parametrize("measured_mg", [600_000, 999_999, 1_000_000, 1_000_001, 1_400_000])
def test_a_measured_dump_is_all_there_was(house, measured_mg):
    """Less or more than the book said: the source is gauged to it and left empty."""
    house.cask("C1", liquid=new_make(1_000_000, extract_mg=50))
    recorded = house.dump("C1", "B1", measured_mg)
    assert house.held("C1") == EMPTY
    assert house.held("B1") == new_make(1_000_000, extract_mg=50).scaled(measured_mg)
    assert recorded.gains == ()


def test_amount_out_and_amount_in(house):
    """1000 mg leave, 980 arrive: a transfer loss of 20, the strength unchanged."""
    house.cask("C1", liquid=new_make(10_000))
    house.pour("C1", "B1", 1000, received=980)
    assert house.held("C1") == new_make(9000)
    assert house.held("B1") == new_make(980)


def test_evaporation_takes_what_it_takes(house):
    """100 mg leave, 90 of them ethanol: the rest grows weaker, extract stays."""
    house.cask("C1", liquid=Liquid(1000, 600, 10))
    house.lose("C1", liquid=Liquid(100, 90, 0))
    assert house.held("C1") == Liquid(900, 510, 10)


def test_a_loss_cannot_take_more_ethanol_than_there_is(house):
    """Nor more water, nor more extract."""
    house.cask("C1", liquid=Liquid(1000, 100, 10))
    for impossible in (Liquid(200, 150, 0), Liquid(950, 0, 0), Liquid(100, 0, 50)):
        with pytest.raises(NotThere, match="constituent"):
            house.lose("C1", liquid=impossible)


def test_a_leak_takes_each_part_in_proportion(house):
    """Liquid losses are like any pour of liquid."""
    house.cask("C1", liquid=Liquid(1000, 600, 10))
    house.lose("C1", 500, disposition="leak")
    assert house.held("C1") == Liquid(500, 300, 5)


# -- what is no amount ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("amount", [0, -1, MOST_MG, "0 g", "0.0001 mg"])
def test_no_pour_of_nothing_and_none_beyond_nine_million_tonnes(house, amount):
    """Nothing poured is no pour; amounts stay below 2^53 mg."""
    house.cask("C1", liquid=new_make(1000))
    before = house.dump_tables()
    with pytest.raises((OutOfRange, NotThere)):
        house.pour("C1", "loss", amount)
    assert house.dump_tables() == before


@pytest.mark.parametrize("liquid", [Liquid(10, 11, 0), Liquid(10, 6, 5), Liquid(10, -1, 0), Liquid(10, 2, -1)])
def test_a_liquid_that_cannot_be_is_refused(house, liquid):
    """Parts beyond the whole, or below nothing."""
    house.open("C1")
    with pytest.raises(OutOfRange, match="cannot be"):
        house.fill("C1", liquid=liquid)


def test_an_item_holds_less_than_nine_million_tonnes(house):
    """2^53 mg, so that a JSON number is exact everywhere."""
    house.cask("C1", liquid=new_make(MOST_MG - 1))
    with pytest.raises(Refused, match="nine million tonnes"):
        house.fill("C1", liquid=new_make(1))


def test_a_negative_reading_is_refused(house):
    """A gauge may read nothing, and not less."""
    house.cask("C1", liquid=new_make(1000))
    with pytest.raises(OutOfRange):
        house.record(Gauge(house.id("C1"), -1, None))


@pytest.mark.parametrize("name", ["mass", "from", "to", "all", "ethanol", "in", "confirmed"])
def test_a_fact_cannot_pass_for_an_amount(house, name):
    """What the fold reads is never taken from free facts: they stand in a place of their own."""
    house.cask("C1", liquid=new_make(1000))
    move = house.move("C1", "B1", 400)._replace(facts={name: "1"})
    recorded = house.record(Pour("pour", (move,)))
    assert line(house, recorded)["facts"] == {name: "1"}
    assert (house.held("C1").mass_mg, house.held("B1").mass_mg) == (600, 400)
    assert house.book.verify().faults == ()


def test_a_pending_strength_shows_wherever_it_went(house):
    """The fact stays with the origin in every trace, until the entry is replaced."""
    recorded = house.cask("C1", "100 l", "63", pending=True, at="2018-01-01")
    house.pour("C1", "B1", at="2018-02-01")
    assert house.back("B1").origins[0].pending
    right = Pour("fill", (house.move("origin", "C1", "100 l", "62.5"),))
    house.replace(recorded, right, at="2018-01-01", reason="laboratory report 7")
    assert not house.back("B1").origins[0].pending
    assert house.book.show(house.id("B1")).strength_20c == pytest.approx(62.5, abs=1e-6)


def test_a_return_comes_back_only_where_something_went_out(house):
    """A lot's own liquid, back from a customer; not into an item that never held any."""
    house.open("L1")
    with pytest.raises(NotThere, match="nothing was ever poured into"):
        house.fill("L1", liquid=new_make(100), source="return")
    house.cask("C1", liquid=new_make(1000), spirit="a")
    house.pour("C1", "L1")
    house.despatch("L1")
    house.fill("L1", liquid=new_make(100), source="return")
    assert house.held("L1") == new_make(100)
    assert house.origins(house.back("L1")) == {"a": 1}
    assert house.book.verify().faults == ()


@pytest.mark.parametrize("sent", [400, 1000])
def test_a_return_is_a_flow_and_no_origin(house, sent):
    """It moves what the ledger says, into the same state; whatever joins it later mixes with all that is there."""
    house.cask("C1", liquid=new_make(1000), spirit="a")
    house.cask("C2", liquid=new_make(1000), spirit="b")
    house.pour("C1", "L1")
    house.despatch("L1", sent)
    before = house.book.show(house.id("L1")).holding
    house.fill("L1", liquid=new_make(300), source="return")
    after = house.book.show(house.id("L1")).holding
    assert (after.state, after.mass_mg) == (before.state, 1300 - sent)
    flows = house.book.store.query("SELECT source, target, mass, ethanol FROM flow WHERE how = 'return'")
    assert flows == [(0, after.state, *new_make(300)[:2])]
    assert house.origins(house.back("L1")) == {"a": 1}
    house.pour("C2", "L1", 100)
    assert house.origins(house.back("L1")) == pytest.approx(
        {"a": (1300 - sent) / (1400 - sent), "b": 100 / (1400 - sent)}
    )
    assert house.book.verify().faults == ()


def test_a_return_into_an_open_state_counts_in_what_is_mixed_with_it(house):
    """Topped up, one part back, topped up again: three parts and one, as if the bottles had been emptied into it."""
    house.cask("C1", liquid=new_make(1000), spirit="a")
    house.cask("C2", liquid=new_make(1000), spirit="b")
    house.pour("C1", "L1", 200)
    house.despatch("L1", 100)
    house.pour("C1", "L1", 100)
    house.fill("L1", liquid=new_make(100), source="return")
    house.pour("C2", "L1", 100)
    assert house.origins(house.back("L1")) == pytest.approx({"a": 0.75, "b": 0.25})
    house.book.repair()
    assert house.origins(house.back("L1")) == pytest.approx({"a": 0.75, "b": 0.25})


@given(st.floats(10.0, 95.0), st.floats(-4.0, 4.0))
def test_a_strength_alone_moves_no_visible_figure_of_a_large_tank(percent, apart):
    """100,000 l gauged for strength alone hold 100,000.000 l afterwards: densities are kept in whole mg/m3."""
    after = strength_of(f"{min(max(percent + apart, 5.0), 96.0):.2f}")
    held = liquid_of_volume(100_000_000, round(percent, 2))
    body = frozen_gauge(Gauge("C000001H", None, after), Holding(*held, 2, 0))
    assert abs(volume_ml(gauged(body, held)) - 100_000_000) < 0.5
