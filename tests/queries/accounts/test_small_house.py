"""The account of a small house, reckoned by hand to the milligram."""

import pytest
from house import House, moment

from pourbook.errors import Damaged
from pourbook.liquid import Liquid
from pourbook.queries.accounts.account import account_of
from pourbook.queries.accounts.headings import HEADINGS

YEAR = "2025-01-01", "2026-01-01"


def year_of(house, by=(), first=YEAR[0], last=YEAR[1]):
    return account_of(house.book, moment(first), moment(last), by)


def masses(group):
    """Side and heading to milligrams of liquid and of ethanol."""
    return {
        (line.side, line.heading): (line.quantity.mass_mg, line.quantity.ethanol_mg)
        for line in group.lines
        if line.side != "contraction"
    }


@pytest.fixture(scope="module")
def quillmere():
    """A year of two casks, a vial, a vatting and a lot.

    C1 was filled in 2024 with 1 000 000 mg, 400 000 of them ethanol. In 2025:

    | what                                          | liquid    | ethanol                              |
    |-----------------------------------------------|-----------|--------------------------------------|
    | C2 is filled                                  |   500 000 | 300 000                              |
    | C1 to V1, a sample                            |     2 000 | 800, leaves 998 000 and 399 200      |
    | C1 gauged 990 000                             |    -8 000 | 396 000 remain: 3 200 evaporated     |
    | C1, all of it, into B1, where 989 000 arrive  |   990 000 | 395 600 arrive: 1 000 and 400 lost   |
    | water into B1                                 |   100 000 | 0                                    |
    | B1 gauged 1 090 000                           |    +1 000 | 395 600 x 1090/1089 = 395 963: + 363 |
    | B1 to L1                                      |   500 000 | 395 963 x 50/109 = 181 634           |
    | L1, stolen                                    |    10 000 | 3 633                                |
    | L1, sent to Harbour Row                       |   100 000 | 178 001 x 10/49 = 36 327             |
    | L1, exported                                  |    50 000 | 141 674 x 5/39 = 18 163              |
    | L1, come back                                 |    10 000 | 3 633                                |
    | V1: tasted, destroyed, sent to a laboratory   | 3 x 500   | 3 x 200                              |
    | C2 changes hands from B to A                  |   500 000 | 300 000                              |

    Left: C2 500 000 and 300 000; V1 500 and 200; B1 590 000 and 214 329; L1 350 000 and 127 144.
    """
    with House() as house:
        house.open("C1", "C2", owner="A", place="Warehouse 1, row 3")
        house.open("B1", "L1", "V1", place="Blending hall")
        house.facts("C2", owner="B", at="2024-01-01")
        house.fill("C1", liquid=Liquid(1_000_000, 400_000, 0), at="2024-06-01")
        house.fill("C2", liquid=Liquid(500_000, 300_000, 0), at="2025-01-10")
        house.draw("C1", "V1", 2_000, at="2025-02-01", purpose="trial 25-A", document="S 25-1")
        house.gauge("C1", 990_000, at="2025-03-01")
        house.pour("C1", "B1", received=989_000, at="2025-04-01")
        house.water("B1", 100_000, at="2025-04-02")
        house.gauge("B1", 1_090_000, at="2025-04-03")
        house.pour("B1", "L1", 500_000, at="2025-05-01")
        house.lose("L1", 10_000, at="2025-06-01", disposition="theft")
        house.despatch("L1", 100_000, at="2025-06-02", customer="Harbour Row", document="DN 7")
        house.despatch("L1", 50_000, at="2025-06-03", customer="Corran Vale", disposition="export")
        house.fill("L1", liquid=Liquid(10_000, 3_633, 0), source="return", at="2025-06-20", customer="Harbour Row")
        house.lose("V1", 500, at="2025-07-01", disposition="tasting")
        house.lose("V1", 500, at="2025-07-02", disposition="destruction", witness="officer 7", document="D 25-1")
        house.despatch("V1", 500, at="2025-07-03", recipient="Ferrow Laboratory", purpose="analysis", document="S 25-2")
        house.facts("C2", owner="A", at="2025-09-01")
        yield house


def test_the_house_as_a_whole(quillmere):
    """Every line is the one that was reckoned."""
    (group,) = year_of(quillmere).groups
    assert masses(group) == {
        ("opening", ""): (1_000_000, 400_000),
        ("in", "received"): (500_000, 300_000),
        ("in", "water"): (100_000, 0),
        ("in", "returned"): (10_000, 3_633),
        ("gain", "regauge gain"): (1_000, 363),
        ("out", "despatch"): (100_500, 36_527),
        ("out", "export"): (50_000, 18_163),
        ("loss", "sample"): (500, 200),
        ("loss", "evaporation"): (8_000, 3_200),
        ("loss", "operating loss"): (1_000, 400),
        ("loss", "theft"): (10_000, 3_633),
        ("loss", "destruction with witness"): (500, 200),
        ("closing", ""): (1_440_500, 641_673),
    }
    assert year_of(quillmere).total == group


def test_by_owner_what_changes_hands_leaves_one_and_comes_into_the_other(quillmere):
    """The cask bought in September; the vat, the lot and the sample belong to whom their cask belonged."""
    account = year_of(quillmere, ("owner",))
    assert {group.group: masses(group) for group in account.groups} == {
        ("A",): {
            ("opening", ""): (1_000_000, 400_000),
            ("in", "water"): (100_000, 0),
            ("in", "returned"): (10_000, 3_633),
            ("in", "transfer in"): (500_000, 300_000),
            ("gain", "regauge gain"): (1_000, 363),
            ("out", "despatch"): (100_500, 36_527),
            ("out", "export"): (50_000, 18_163),
            ("loss", "sample"): (500, 200),
            ("loss", "evaporation"): (8_000, 3_200),
            ("loss", "operating loss"): (1_000, 400),
            ("loss", "theft"): (10_000, 3_633),
            ("loss", "destruction with witness"): (500, 200),
            ("closing", ""): (1_440_500, 641_673),
        },
        ("B",): {
            ("opening", ""): (0, 0),
            ("in", "received"): (500_000, 300_000),
            ("out", "transfer out"): (500_000, 300_000),
            ("closing", ""): (0, 0),
        },
    }


@pytest.mark.parametrize("by", [("owner",), ("warehouse",), ("kind",), ("duty", "spirit"), ("owner", "kind")])
def test_any_grouping_adds_up_to_the_house(quillmere, by):
    """Line by line: what one group gives another is neither in nor out of the house."""
    assert year_of(quillmere, by).total == year_of(quillmere).total


def test_a_warehouse_is_the_place_as_far_as_the_comma(quillmere):
    """And everything that was poured from one into the other shows as such."""
    account = year_of(quillmere, ("warehouse",))
    assert [group.group for group in account.groups] == [("Blending hall",), ("Warehouse 1",)]
    hall, warehouse = (masses(group) for group in account.groups)
    assert hall["in", "transfer in"] == warehouse["out", "transfer out"] == (991_000, 396_400)


def test_bulk_litres_and_what_mixing_takes(quillmere):
    """The volume of every movement by itself; what spirit and water lose in mixing is named, not hidden."""
    account = year_of(quillmere, ("kind",))
    contraction = {group.group: group.side("contraction").volume_ul for group in account.groups}
    # Densities at 20 °C, OIML R 22: 0.9352 g/mL of 40.0 % ethanol by mass (Table I, p. 24), 0.9425 of 36.3 % and
    # 0.9982 of water (its formula). 989 g and 100 g fill 1057.5 and 100.2 mL, mixed 1155.4: 2.3 mL are taken.
    # Casks, vials and lots mix nothing.
    assert contraction["batch",] == pytest.approx(2300, abs=200)
    assert all(abs(contraction[kind,]) <= 20 for kind in ("cask", "vial", "lot"))
    for group in (*account.groups, account.total):
        side = {name: group.side(name).volume_ul for name in HEADINGS}
        assert side["opening"] + side["in"] + side["gain"] == (
            side["out"] + side["loss"] + side["contraction"] + side["closing"]
        )


def test_samples_one_by_one(quillmere):
    """Recipient, purpose, document and witness, where the book has them."""
    told = [
        (one.what, quillmere.name(one.source), quillmere.name(one.target), one.moved.ethanol_mg, *one[6:10])
        for one in year_of(quillmere).samples
    ]
    assert told == [
        ("drawn", "C1", "V1", 800, "", "trial 25-A", "S 25-1", ""),
        ("sample", "V1", "loss", 200, "", "", "", ""),
        ("destruction with witness", "V1", "loss", 200, "", "", "D 25-1", "officer 7"),
        ("sent", "V1", "despatch", 200, "Ferrow Laboratory", "analysis", "S 25-2", ""),
    ]


def test_a_gauge_may_say_where_it_went(house):
    """What a gauge finds missing is evaporation of a cask, operating loss of a batch, or what its facts name."""
    house.open("C1", "B1")
    for name in ("C1", "B1"):
        house.fill(name, liquid=Liquid(1_000, 400, 0), at="2025-01-01")
        house.gauge(name, 900, at="2025-02-01")
    house.gauge("C1", 850, at="2025-03-01", disposition="soakage")
    (group,) = year_of(house).groups
    losses = {heading: mass for (side, heading), (mass, _) in masses(group).items() if side == "loss"}
    assert losses == {"evaporation": 100, "operating loss": 100, "soakage": 50}


def test_a_strength_read_lower_is_a_loss_of_alcohol_and_a_gain_of_water(house):
    """Of the same volume; each constituent is accounted for by itself."""
    house.cask("C1", "200 l", "63.5", at="2025-01-01")
    house.gauge("C1", strength="62.5", at="2025-02-01")
    group = year_of(house).total
    # 1 % vol of 200 l is 2 l of pure alcohol
    assert float(group.side("loss").lpa_l) == pytest.approx(2.0, abs=1e-3)
    assert group.side("gain").ethanol_mg == 0
    assert group.side("gain").mass_mg > 0
    assert abs(group.side("loss").volume_ul - group.side("gain").volume_ul) < 1000


def test_more_poured_than_the_book_held_is_a_gain(house):
    """The gauge that such a pour implies is accounted for as any other."""
    house.open("C1", "B1")
    house.fill("C1", liquid=Liquid(1_000_000, 400_000, 0), at="2025-01-01")
    house.dump("C1", "B1", 1_002_000, at="2025-02-01")
    assert masses(year_of(house).total)["gain", "regauge gain"] == (2_000, 800)


def test_a_day_is_in_one_period_only(house):
    """What happens at the very moment a period begins belongs to it, not to the one before."""
    house.cask("C1", liquid=Liquid(1_000, 400, 0), at="2025-01-01")
    before, after = year_of(house, first="2024-01-01", last="2025-01-01"), year_of(house)
    assert masses(before.total) == {("opening", ""): (0, 0), ("closing", ""): (0, 0)}
    assert masses(after.total)["in", "received"] == (1_000, 400)


def test_pending_strengths_make_an_account_provisional(house):
    """The entries are named."""
    house.open("B1")
    filled = house.fill("B1", "100 l", "68", pending=True, at="2025-03-01")
    assert year_of(house).pending == (filled.numbers[-1],)
    assert year_of(house, first="2026-01-01", last="2027-01-01").pending == ()


DAMAGE = {
    "a flow that moved less": "UPDATE flow SET mass = mass - 1 WHERE how = 'origin'",
    "a flow that moved other liquid": "UPDATE flow SET ethanol = ethanol + 1 WHERE how = 'loss'",
    "a flow that is missing": "DELETE FROM flow WHERE how = 'water'",
    "a line of the ledger that is missing": "DELETE FROM ledger WHERE mass = 1000000 AND line > 4096 * 4",
    "a content that is other": "UPDATE ledger SET ethanol = ethanol - 1 WHERE mass = 1000000 AND line > 4096 * 4",
    "a gauge that found other": "UPDATE flow SET mass = mass + 1 WHERE target = line * 2 + 1",
}


@pytest.mark.parametrize("damage", DAMAGE.values(), ids=DAMAGE)
def test_tables_that_do_not_agree_are_refused(house, damage):
    """An account that does not balance is never shown."""
    house.cask("C1", liquid=Liquid(1_000_000, 400_000, 0), at="2025-01-01")
    house.water("C1", 10_000, at="2025-02-01")
    house.lose("C1", 10_000, at="2025-03-01", disposition="leak")
    house.gauge("C1", 990_000, at="2025-04-01")
    year_of(house)
    house.book.store.execute(damage)
    with pytest.raises(Damaged, match=r"balance|ledger|follow"):
        year_of(house)


# -- by spirit ----------------------------------------------------------------------------------


def by_spirit(house, **period):
    return {group.group[0]: masses(group) for group in year_of(house, ("spirit",), **period).groups}


def test_a_spirit_named_at_a_fill_counts():
    """A cask that states nothing, filled with rye, emptied and filled with malt: each under its name."""
    with House() as house:
        house.open("C1", "B1")
        house.fill("C1", liquid=Liquid(1_000_000, 400_000), spirit="rye spirit", at="2025-02-01")
        house.dump("C1", "B1", at="2025-03-01")
        house.fill("C1", liquid=Liquid(500_000, 200_000), spirit="malt spirit", at="2025-04-01")
        found = by_spirit(house)
    assert found["rye spirit"]["in", "received"] == (1_000_000, 400_000)
    assert found["malt spirit"]["in", "received"] == (500_000, 200_000)
    assert found["malt spirit"]["closing", ""] == (500_000, 200_000)
    assert found["rye spirit"].get(("closing", ""), (0, 0)) == (0, 0)


def test_spirit_added_to_another_is_told_as_both():
    """What was there goes over into the group of both."""
    with House() as house:
        house.open("C1")
        house.fill("C1", liquid=Liquid(1_000_000, 400_000), spirit="rye spirit", at="2025-02-01")
        house.fill("C1", liquid=Liquid(500_000, 200_000), spirit="malt spirit", at="2025-04-01")
        found = by_spirit(house)
    assert found["malt spirit and rye spirit"]["closing", ""] == (1_500_000, 600_000)
    assert found["malt spirit and rye spirit"]["in", "received"] == (500_000, 200_000)


def test_what_is_stated_of_the_item_afterwards_stands():
    with House() as house:
        house.open("C1")
        house.fill("C1", liquid=Liquid(1_000_000, 400_000), spirit="rye", at="2025-02-01")
        house.facts("C1", spirit="rye spirit", at="2025-03-01")
        found = by_spirit(house)
    assert found["rye spirit"]["closing", ""] == (1_000_000, 400_000)
