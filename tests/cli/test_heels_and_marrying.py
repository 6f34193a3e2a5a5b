"""A heel and what it does to the age of a batch; a blend back in casks to marry, and out of them again."""

import pytest
from command import Desk, here


@pytest.fixture
def house(tmp_path):
    """A cask of some 14 years, a heel of some 9, one that nobody knows the age of, and casks to marry in."""
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    for ref, filled in (("R 1", "2010-03-01"), ("R 2", "2015-03-01")):
        desk.does(f"cask '{ref}' --fill '200 l' --strength 62 --in-wood 0 --spirit malt --wood oak --when {filled}")
    desk.does("cask 'M 1' --wood 'chestnut pipe' --when 2016-01-01")
    desk.does("cask 'M 2' --wood 'oak butt' --when 2016-01-01")
    desk.does("batch 'Heel 1' --when 2024-03-01")
    desk.does("dump 'Heel 1' 'R 2' --when 2024-03-01")
    desk.does("batch 'Heel 2' --when 2024-03-01")
    desk.does("pour 'Heel 2' origin '50 l' --strength 60 --when 2024-03-01")
    desk.does("batch 'Vatting 1' --when 2024-03-02")
    desk.does("recipe Old --part 'R 1=1' --when 2024-03-02")
    return desk


# 2010-03-01 to 2024-03-02 in wood, and 2015-03-01 to 2024-03-01.
LOWER = "with B-000001-Y · Heel 1 the youngest is 9 years 0 days in wood, without it 14 years"


def test_a_heel_that_makes_a_batch_younger_is_told_when_planning_pouring_and_at_show(house):
    """Nine years with it, fourteen without; the plan, the scan, the pour and the batch afterwards say it."""
    planned = house("scale-up Old --total '120 l' --heel 'Heel 1=20 l'")
    assert LOWER.replace("14 years", "16 years") in planned.err, "R 1 lies in wood still"
    house.does("pour 'Vatting 1' 'R 1' '100 l' --when 2024-03-02")
    scanned = house("pour 'Vatting 1'", "Heel 1\ndone\n").err
    assert LOWER in scanned
    assert LOWER in house.does("pour 'Vatting 1' 'Heel 1' '20 l' --when 2024-03-03").err
    assert LOWER.replace(" · Heel 1", "") in house.does("show 'Vatting 1'").out
    (heel,) = house.asks("show 'Vatting 1'")["heels"]
    assert (heel["with"]["years"], heel["without"]["years"]) == (9, 14)


def test_a_heel_of_unknown_age_makes_that_of_the_batch_unknown(house):
    house.does("pour 'Vatting 1' 'R 1' '100 l' --when 2024-03-02")
    said = house.does("pour 'Vatting 1' 'Heel 2' '5 l' --when 2024-03-03").err
    assert "age of B-000002-W · Heel 2 is unknown, so that of the batch is; without it it is 14 years" in said
    assert house.asks("show 'Vatting 1'")["heels"][0]["with"] is None


def test_a_heel_that_is_older_is_no_warning(house):
    """Nor is a batch alone."""
    house.does("cask 'R 3' --fill '100 l' --strength 62 --in-wood 0 --when 2020-03-01")
    house.does("pour 'Vatting 1' 'R 3' '50 l' --when 2024-03-02")
    assert "youngest is" not in house.does("pour 'Vatting 1' 'Heel 1' '20 l' --when 2024-03-03").err
    assert "heels" not in house.asks("show 'Vatting 1'")
    house.does("batch 'Vatting 3' --when 2024-03-04")
    house.does("pour 'Vatting 3' 'Vatting 1' all --when 2024-03-04")
    assert "heels" not in house.asks("show 'Vatting 3'")


def test_what_a_heel_brings_counts_as_the_casks_behind_it(house):
    """The parts of a batch look through its heel."""
    house.does("pour 'Vatting 1' 'R 1' '100 l' --when 2024-03-02")
    house.does("pour 'Vatting 1' 'Heel 1' '100 l' --when 2024-03-03")
    shares = {one["ref"]: one["share"] for one in house.asks("trace 'Vatting 1' --by volume")["items"]}
    assert (shares["R 1"], shares["R 2"]) == pytest.approx((0.5, 0.5), abs=1e-6)


def test_a_blend_goes_back_into_casks_and_out_of_them_again(house):
    """A line for each cask, one for all on the way out: its age goes on in wood, its trace reaches the first casks."""
    house.does("dump 'Vatting 1' 'R 1' --when 2024-03-02")
    house.does("pour 'Vatting 1' 'Heel 1' '100 l' --when 2024-03-02T12:00")
    house.does("pour 'M 1' 'Vatting 1' '180 l' --when 2024-03-03")
    house.does("pour 'M 2' 'Vatting 1' all --when 2024-03-03T09:00")
    assert house.asks("show 'Vatting 1'")["mass_mg"] == 0
    into = {ref: house.asks(f"show '{ref}'") for ref in ("M 1", "M 2")}
    assert sum(one["volume_ml_20c"] for one in into.values()) == pytest.approx(300_000, rel=1e-4)
    house.does("gauge 'M 1' --amount '177 l' --strength 61.8 --when 2025-03-03")
    house.does("batch 'Vatting 2' --when 2025-03-04")
    house.does("dump 'Vatting 2' 'M 1' 'M 2' --when 2025-03-04")
    back = house.asks("trace 'Vatting 2'")
    refs = {one.get("ref"): one["share"] for one in back["items"]}
    assert refs["R 1"] + refs["R 2"] == pytest.approx(1, abs=1e-6)
    assert refs["M 1"] + refs["M 2"] == pytest.approx(1, abs=1e-6)
    # Two of three parts came from R 1, one from R 2, of equal strength.
    assert refs["R 1"] == pytest.approx(2 / 3, abs=1e-4)
    # 2015-03-01 to 2024-03-01 in R 2, and a year and a day, of which the day of the vat is none, to marry.
    assert "youngest 10 years" in house.does("show 'Vatting 2'").out
    forward = house.asks("trace 'R 1' --forward")
    assert house.asks("show 'Vatting 2'")["id"] in str(forward)
    said = house.does("provenance 'M 1'").out
    assert "chestnut pipe" in said
    assert "lost by gauges and recorded losses" in said
    assert house.asks("verify")["faults"] == []


def test_a_blend_that_goes_back_into_its_own_casks_is_told_apart_from_itself(house):
    """A knot: out of R 1, into the vat, back into R 1; no share is counted twice."""
    house.does("pour 'Vatting 1' 'R 1' '150 l' 'Heel 1' '50 l' --when 2024-03-02")
    house.does("pour 'R 1' 'Vatting 1' all --when 2024-03-03")
    back = house.asks("trace 'R 1'")
    assert sum(one["share"] for one in back["origins"]) == pytest.approx(1, abs=1e-9)
    by_ref = {one["into"]: one["share"] for one in back["origins"]}
    # 200 l of R 1 and 50 l of R 2, of equal strength.
    assert sorted(by_ref.values()) == pytest.approx([0.2, 0.8], abs=1e-4)
