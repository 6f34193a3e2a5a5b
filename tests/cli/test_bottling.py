"""A bottling day by the command: two sizes, two vats, everything that goes wrong on a line, and how it balances.

What happens on a line is common practice, no source; the sums beside each figure are worked out from what was typed.
"""

import shutil

import pytest
from command import Desk, here

DAY = "2026-11-03"
PERIOD = "--from 2026-11-01 --to 2026-11-30"


class Line:
    """The command on one book; every line has its time on the day of bottling."""

    def __init__(self, path):
        self.desk = Desk(path, here)

    def at(self, time, line):
        return self.desk.does(f"{line} --when {DAY}T{time}")

    def refused(self, time, line):
        ran = self.desk(f"{line} --when {DAY}T{time}")
        assert ran.status == 1, ran.out
        return ran.err

    def run(self, lot="Lot 7"):
        return self.desk.asks(f"bottling show '{lot}'")["run"]

    def lot(self, ref="Lot 7"):
        return next(lot for lot in self.run()["lots"] if lot["ref"] == ref)

    def vat(self, number=0):
        return self.run()["vats"][number]


@pytest.fixture(scope="module")
def begun(tmp_path_factory):
    """Two vats at Quillmere: 400 l of 46.0 and 200 l of 46.1 % vol."""
    line = Line(tmp_path_factory.mktemp("line") / "quillmere.pourbook")
    settings = "--set contents_rule=uk-2006-659 --set company_prefix=9521234"
    line.desk.does(f"create {line.desk.book} --house Quillmere {settings}")
    for number, litres, strength, spirit in ((7, 400, "46", "malt"), (8, 200, "46.1", "rye")):
        cask = f"cask 'Q {number}' --fill '{litres} l' --strength {strength} --spirit {spirit} --in-wood '10 y'"
        line.desk.does(f"{cask} --when 2026-11-01")
        line.desk.does(f"batch 'Vatting {number}' --name Ostrewick --when 2026-11-02")
        line.desk.does(f"dump 'Vatting {number}' 'Q {number}' --when 2026-11-02T10:00")
    return line


@pytest.fixture(scope="module")
def day(begun):
    """The whole of it, up to the cases."""
    line = begun
    goods = "--closure 'stopper, lot K-77' --bottle-lot 'glass G-4' --filter 'sheet 5 µm, lot F-31'"
    line.at("08:00", f"bottling begin 'Vatting 7' --size '700 ml' --ref 'Lot 7' --lot-mark L26-118 {goods}")
    line.at("08:05", "bottling begin 'Vatting 7' --size '50 ml' --with 'Lot 7' --ref Small --lot-mark L26-118")
    line.at("08:10", "bottling add 'Lot 7' --purge '6 l' --purge-back '4.5 l' --loss filter='1.2 l'")
    line.at("09:00", "bottling add 'Lot 7' --filled 240 --put-back 3 --broken 1")
    readings = " ".join(["701", "700"] * 40)
    line.at("09:10", f"bottling fills 'Lot 7' {readings}")
    line.at("09:20", "bottling add Small --filled 500")
    line.at("10:00", "bottling add 'Lot 7' --filled 260 --sampled 2 --closure 'stopper, lot K-78' --filter 'lot F-32'")
    line.at("10:30", "bottling change 'Lot 7' 'Vatting 8' --left '23.9 l' --kind line")
    line.at("11:00", "bottling add 'Lot 7' --filled 200 --destroyed 4 --witness 'officer 7'")
    line.at("11:10", "bottling add 'Lot 7' --retained 6 --place 'shelf 3' --keep-until 2031-12-31")
    line.at("12:00", "bottling end 'Lot 7' --left '59.7 l'")
    line.at("13:00", "cases 'Lot 7' --count 113 --bottles 6")
    line.at("13:05", "cases 'Lot 7' --count 1 --bottles 5")
    return line


def test_bottles_hold_the_mean_that_was_measured(day):
    """Lot 7: 497 of 500 from the first vat and 200 from the second, by the mean of 80 bottles: 700.5 ml."""
    lot = day.lot()
    assert lot["counted"] == {
        "filled": 700, "put_back": 3, "broken": 1, "destroyed": 4, "sampled": 2, "retained": 6,
    }  # fmt: skip
    assert lot["fills"]["mean_ml"] == pytest.approx(700.5)
    assert lot["actual"]["litres"] == pytest.approx(697 * 0.7005, abs=0.001)
    assert lot["actual"]["lpa"] == pytest.approx(497 * 0.7005 * 0.46 + 200 * 0.7005 * 0.461, abs=0.001)


def test_nominal_contents_are_those_of_the_label_and_the_rest_is_overfill(day):
    """697 bottles of 700 ml at the 46.00 % vol on the label."""
    lot = day.lot()
    assert lot["nominal"] == {"litres": pytest.approx(487.9), "lpa": pytest.approx(487.9 * 0.46)}
    assert lot["overfill"]["litres"] == pytest.approx(697 * 0.0005, abs=0.001)
    small = day.lot("Small")
    assert small["actual"]["litres"] == pytest.approx(small["nominal"]["litres"], abs=0.001) == 25


def test_the_lot_is_judged_by_the_rule_of_the_house(day):
    """SI 2006/659: 80 of 501 to 3,200 bottles (read); 701 and 700 ml pass."""
    found = day.lot()["judged"]
    assert (found["rule"], found["needed"], found["measured"], found["result"]) == ("uk-2006-659", 80, 80, "passes")
    said = day.desk("bottling show 'Lot 7'")
    assert "by uk-2006-659: the lot passes" in said.out
    assert "check with your authority" in said.err + said.out


def test_what_left_each_vat_is_bottles_losses_and_what_was_missing(day):
    """First vat: 400 - 23.9 l left it, 1.5 on the line and 1.2 in the filter; the second: 200 - 59.7."""
    first, second = day.vat(0), day.vat(1)
    bottled = 497 * 0.7005 + 25
    assert first["bottles"]["litres"] == pytest.approx(bottled, abs=0.002)
    assert {kind: lost["litres"] for kind, lost in first["losses"].items()} == pytest.approx(
        {"line": 1.5, "filter": 1.2}, abs=0.001
    )
    assert first["difference"]["litres"] == pytest.approx(400 - 23.9 - bottled - 2.7, abs=0.005)
    assert second["difference"]["litres"] == pytest.approx(200 - 59.7 - 200 * 0.7005, abs=0.005)
    for vat, left in ((first, 23.9), (second, 59.7)):
        assert vat["left_is_measured"]
        assert vat["left"]["litres"] == pytest.approx(left, abs=0.001)


def test_every_bottle_is_accounted_for(day):
    """697 are 113 cases of 6 and one of 5, 1 broken, 4 destroyed, 2 for the laboratory, 6 retained, 1 loose."""
    made = day.lot()["bottles"]
    assert made == {
        "filled": 697, "packed": 683, "loose": 1, "retained": 6, "out": 0,
        "gone": {"broken": 1, "destroyed": 4, "sampled": 2},
    }  # fmt: skip
    assert made["filled"] == made["packed"] + made["loose"] + made["retained"] + sum(made["gone"].values())


def test_which_bottles_are_from_which_vat_and_with_which_goods(day):
    """By the counter, with times; a new lot of stoppers and filters began after 500."""
    lot = day.lot()
    spans = [(one["vat"], one["first"], one["last"], one["from"][11:16], one["to"][11:16]) for one in lot["stretches"]]
    assert spans == [("B000001Y", 1, 500, "09:00", "10:00"), ("B000002W", 501, 700, "11:00", "11:00")]
    after = {(one["kind"], one["text"]): one["after_bottles"] for one in lot["dry_goods"]}
    assert after[("filter", "lot F-32")] == after[("closure", "stopper, lot K-78")] == 500
    assert after[("bottle_lot", "glass G-4")] == after[("filter", "sheet 5 µm, lot F-31")] == 0


def test_the_account_of_the_month_has_every_loss_under_its_heading(day):
    """Samples 2, destroyed 4 with a witness; line, filter, broken and what was missing are operating losses."""
    lines = day.desk.asks(f"account {PERIOD}")["total"]["lines"]
    lost = {line["heading"]: line["lpa_l"] for line in lines if line["side"] == "loss"}
    mean = (494 * 0.46 + 200 * 0.461) / 694  # of the lot, as it was when the second vat had gone in
    missing = sum(day.vat(number)["difference"]["lpa"] for number in (0, 1))
    assert float(lost["sample"]) == pytest.approx(2 * 0.7005 * 0.46, abs=0.002)
    assert float(lost["destruction with witness"]) == pytest.approx(4 * 0.7005 * mean, abs=0.002)
    assert float(lost["operating loss"]) == pytest.approx((1.5 + 1.2 + 0.7005) * 0.46 + missing, abs=0.003)
    assert set(lost) == {"sample", "destruction with witness", "operating loss"}


def test_the_trace_of_the_lot_has_both_vats_by_what_they_gave(day):
    """One lot with two sources; shares by alcohol. Three bottles of the first vat were gone when the second began."""
    first, second = 494 * 0.7005 * 0.46, 200 * 0.7005 * 0.461
    items = {item["id"]: item["share"] for item in day.desk.asks("trace 'Lot 7'")["items"]}
    assert items["B000001Y"] == pytest.approx(first / (first + second), abs=1e-4)
    assert items["B000002W"] == pytest.approx(second / (first + second), abs=1e-4)


def test_a_recall_by_a_filter_lot_finds_the_lot_that_ran_through_it(day, tmp_path):
    """Every filter that ever stood counts, and whole words of it; the small size had none stated."""
    for words in ("F-31", "F-32"):
        found = day.desk.asks(f"affected --filter {words}")
        assert [item["id"] for item in found["items"]] == ["L000001C"]
    assert day.desk("affected --filter F-3").status == 1
    copy = Desk(shutil.copy(day.desk.book, tmp_path / "copy.pourbook"), here)
    recalled = copy.asks(f"recall --filter F-31 --mock --hold --reason drill -o {tmp_path / 'r.pdf'}")
    assert recalled["held"] == ["L000001C"]


def test_the_dossier_shows_filters_losses_and_both_vats(day, tmp_path):
    """In its JSON, from which PDF and HTML are made."""
    path = tmp_path / "dossier.json"
    day.desk.does(f"dossier 'Lot 7' -o {path}")
    text = path.read_text("utf-8")
    for words in ("lot F-31", "lot F-32", "K-78", "glass G-4", "Vatting 8", "destruction", "mean 700.50 ml",
                  "the lot passes", "kept at shelf 3 until 2031-12-31", "bottles 501 to 700"):  # fmt: skip
        assert words in text


def test_retained_bottles_are_not_sold_unasked(day, tmp_path):
    """690 are left of 697; 6 of them are kept until the end of 2031."""
    line = Line(shutil.copy(day.desk.book, tmp_path / "copy.pourbook"))
    err = line.refused("14:00", "despatch 'Lot 7' 685 --customer 'Harbour Row'")
    assert "690 bottles are left" in err
    assert "6 of them kept as reference" in err
    line.at("14:00", "despatch 'Lot 7' 684 --customer 'Harbour Row'")
    line.at("14:10", "despatch 'Lot 7' 6 --customer 'Harbour Row' --confirm")


def test_what_is_done_stays_done_and_is_told(day):
    """An ended run takes no further counts; entries are said in words; the book agrees with its journal."""
    assert "is not being filled" in day.refused("14:00", "bottling add 'Lot 7' --filled 1")
    said = day.desk("journal --all").out
    assert "bottles of L-000001-C from B-000001-Y: 240 filled, 3 put back, 1 broken" in said
    assert "fills of L-000001-C: 80 bottles, mean 700.5 ml" in said
    assert "witness officer 7" in said
    assert day.desk.asks("verify")["faults"] == []
    assert "from bottle 501 on" in day.desk("bottling show Small").out


@pytest.fixture
def two(tmp_path):
    """A vat of 100 l, in two equal books."""
    lines = []
    for name in ("one", "other"):
        line = Line(tmp_path / f"{name}.pourbook")
        line.desk.does(f"create {line.desk.book} --house Quillmere")
        line.desk.does("batch 'Vatting 1' --name Ostrewick --when 2026-11-01")
        line.desk.does("fill 'Vatting 1' '100 l' --strength 46 --spirit malt --when 2026-11-01")
        lines.append(line)
    return lines


def test_bottling_by_one_line_is_a_run_of_one_line(two):
    """The same bottles, the same liquid, the same account: a run adds what it says of itself."""
    one, other = two
    one.at("12:00", "bottle 'Vatting 1' --count 140 --size '700 ml' --ref 'Lot 7' --loss filter='1 l' --empties")
    other.at("12:00", "bottling begin 'Vatting 1' --size '700 ml' --ref 'Lot 7'")
    other.at("12:00", "bottling add 'Lot 7' --filled 140 --loss filter='1 l'")
    other.at("12:00", "bottling end 'Lot 7' --empties --confirm --kind line")
    shown = [line.desk.asks("show 'Lot 7'") for line in two]
    for name in ("mass_mg", "ethanol_mg", "bottles"):
        assert shown[0][name] == shown[1][name]
    accounts = [line.desk.asks(f"account {PERIOD}")["total"]["lines"] for line in two]
    assert accounts[0] == accounts[1]
    facts = [one["facts"] for one in shown]
    assert {**facts[0], "run": "L000001C"} == facts[1]


def test_a_miscount_is_voided_and_counted_again(two):
    """While the run is under way: nothing was poured yet."""
    line, _ = two
    line.at("12:00", "bottling begin 'Vatting 1' --size '700 ml' --ref 'Lot 7'")
    wrong = line.desk.asks(f"bottling add 'Lot 7' --filled 1400 --confirm --when {DAY}T12:10")["entries"][-1]
    line.desk.does(f"void {wrong} --reason 'a digit too many'")
    line.at("12:10", "bottling add 'Lot 7' --filled 140")
    line.at("12:20", "bottling end 'Lot 7' --left '2 l'")
    assert line.lot()["bottles"]["filled"] == 140


def test_a_miscount_beyond_the_vat_is_refused_at_the_end(two):
    """1,400 bottles are not in a hundred litres; a yes to the count does not pour them, but the way out is told."""
    line, _ = two
    line.at("12:00", "bottling begin 'Vatting 1' --size '700 ml' --ref 'Lot 7'")
    asked = line.refused("12:10", "bottling add 'Lot 7' --filled 1400")
    assert "1400 bottles of 700 ml are 980.0 l, and" in asked
    assert "holds 100.0 l" in asked
    line.at("12:10", "bottling add 'Lot 7' --filled 1400 --confirm")
    refused = line.refused("12:20", "bottling end 'Lot 7' --left '2 l'")
    assert "a wrong count is voided: pourbook void" in refused
    refused += line.refused("12:30", "despatch 'Lot 7' 5 --customer 'Harbour Row Wines (invented)'")
    assert "is being filled still" in refused
    assert "the batch holds 100.0 l" in refused


def test_weighed_bottles_hold_what_their_density_says(two):
    """As dense as the vat, and lighter in air: 1.2 kg/m³, weights of 8,000 kg/m³ (OIML D 28)."""
    line, _ = two
    line.at("12:00", "bottling begin 'Vatting 1' --size '700 ml' --ref 'Lot 7'")
    vat = line.desk.asks("show 'Vatting 1'")
    density = vat["mass_mg"] / vat["volume_ml_20c"]  # kg/m³
    net = 0.7 * density * (1 - 1.2 / density) / (1 - 1.2 / 8000)
    line.at("12:10", f"bottling fills 'Lot 7' {482.1 + net:.3f} {481.7 + net:.3f}/481.7 --tare '482.1 g'")
    assert line.lot()["fills"]["mean_ml"] == pytest.approx(700.0, abs=0.002)


def test_volumes_that_were_read_warm_are_less_at_20_degrees(two):
    """Spirit of 46 % vol grows by some 0.08 % a degree about 20 °C (common practice, no source)."""
    line, _ = two
    line.at("12:00", "bottling begin 'Vatting 1' --size '700 ml' --ref 'Lot 7'")
    line.at("12:10", "bottling fills 'Lot 7' 702.8 --temperature 25")
    assert line.lot()["fills"]["mean_ml"] == pytest.approx(700.0, abs=0.1)


def test_sizes_of_a_run_share_a_lot_mark_and_other_lots_do_not(two):
    """GTIN and lot number together are one size."""
    line, _ = two
    line.at("12:00", "bottling begin 'Vatting 1' --size '700 ml' --ref 'Lot 7' --lot-mark L7")
    line.at("12:00", "bottling begin 'Vatting 1' --size '50 ml' --with 'Lot 7' --lot-mark L7")
    assert "lot mark L7" in line.refused("12:00", "bottling begin 'Vatting 1' --size '50 ml' --lot-mark L7")


def test_a_difference_beyond_the_tolerance_needs_its_kind_and_a_yes(two):
    """98 l bottled; 2 l should be left. 1.4 l are missing: 1.41 % of the 99.4 that left it."""
    line, _ = two
    line.at("12:00", "bottling begin 'Vatting 1' --size '700 ml' --ref 'Lot 7'")
    line.at("12:10", "bottling add 'Lot 7' --filled 140")
    err = line.refused("12:20", "bottling end 'Lot 7' --left '0.6 l'")
    assert "0.644 LPA are missing" in err
    assert "1.41 % of what left it, and 0.50 % are tolerated" in err
    assert "--kind" in err
    line.desk.does("settings --set bottling_difference=2")
    line.at("12:20", "bottling end 'Lot 7' --left '0.6 l' --dry-run")
    line.desk.does("settings --set bottling_difference=0.5")
    assert line.desk(f"bottling end 'Lot 7' --left '0.6 l' --confirm --when {DAY}T12:20").status == 1
    line.at("12:20", "bottling end 'Lot 7' --left '0.6 l' --confirm --kind theft")
    lines = line.desk.asks(f"account {PERIOD}")["total"]["lines"]
    assert [one["heading"] for one in lines if one["side"] == "loss"] == ["theft"]


def test_an_approval_looks_at_the_balance_and_at_the_contents(day):
    """What is missing of each vat by its part of what left it; 80 bottles of 700.5 ml in the mean are above 700."""
    grounds = {(one["name"], one["about"]): one for one in day.desk.asks("approval 'Lot 7'")["grounds"]}
    run = day.run()
    for vat in run["vats"]:
        found = grounds["balance", vat["id"]]
        left_it = vat["bottles"]["lpa"] + sum(lost["lpa"] for lost in vat["losses"].values()) + vat["difference"]["lpa"]
        assert found["stands"] == "met"
        assert float(found["figures"]["actual"]) == pytest.approx(100 * vat["difference"]["lpa"] / left_it, abs=0.005)
    contents = grounds["contents", ""]
    assert (contents["stands"], contents["figures"]["actual"], contents["figures"]["measured"]) == (
        "met",
        "700.50",
        "80",
    )
