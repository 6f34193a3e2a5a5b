"""The laboratory technician's day: labels printed ahead, samples drawn, pours by scan, and slips put right.

What a scanner sends is typed on standard input, line by line; every pour is kept at once.
"""

import re

import pypdfium2
import pytest
import zxingcpp
from command import Desk, apart, here, scans

from pourbook.codes.identifiers import hyphened

MG = 0.0015
"""A pour is kept to the milligram; the lightest spirit is 0.79 mg to the microlitre. In ml."""


@pytest.fixture
def desk(tmp_path):
    """Quillmere's laboratory: two casks, five vial labels printed ahead."""
    desk = Desk(tmp_path / "quillmere.pourbook", apart, ask=here)
    quick = Desk(desk.book, here)
    quick.does(f"create {desk.book} --house Quillmere")
    quick.does("cask 'Row 3/12' --fill '220 l' --strength 63.5 --spirit 'malt spirit' --when 2016-03-01")
    quick.does("cask 'Row 4/02' --fill '190 l' --strength 58 --spirit 'grain spirit' --when 2018-05-02")
    desk.labels = quick.asks("reserve vial 5")["ids"]
    return desk


@pytest.fixture
def bench(desk):
    """Two samples on the bench, in the first two labels, and an empty trial."""
    quick = Desk(desk.book, here)
    quick.does(f"draw 'Row 3/12' '200 ml' --vial {desk.labels[0]}")
    quick.does(f"draw 'Row 4/02' '200 ml' --vial {desk.labels[1]}")
    desk.first, desk.second = desk.labels[:2]
    desk.trial = quick.asks(f"trial --part {desk.first}=3 --part {desk.second}=1")["id"]
    return desk


# -- labels and drawing -------------------------------------------------------------------------


def test_what_the_scanner_reads_on_a_printed_label_binds_it(desk, tmp_path):
    """Five labels on paper, read by an independent decoder; one of the readings draws a sample."""
    roll = tmp_path / "vials.pdf"
    desk.does(f"label {' '.join(desk.labels)} --template vial-roll-30x15 -o {roll}")
    pages = [page.render(scale=600 / 72, grayscale=True).to_numpy() for page in pypdfium2.PdfDocument(roll)]
    scanned = [symbol.text for page in pages for symbol in zxingcpp.read_barcodes(page)]
    assert sorted(set(scanned)) == sorted(desk.labels)
    assert desk.does(f"draw 'Row 3/12' '200 ml' --vial {scanned[3]}").id == scanned[3]


def test_a_label_printed_ahead_is_bound_by_the_draw(desk):
    """The scanned label names the sample; what went back does not count; the cask holds less."""
    label = desk.labels[2]
    drawn = desk.does(f"draw 'Row 3/12' '250 ml' --returned '50 ml' --vial {hyphened(label).lower()}")
    assert drawn.id == label
    assert "219.80 l" in drawn.err, "what the cask holds is said beside"
    vial = desk.asks(f"show {label}")
    assert (vial["kind"], vial["facts"]["spirit"]) == ("vial", "malt spirit")
    assert vial["volume_ml_20c"] == pytest.approx(200, abs=MG)
    assert desk.asks("show 'Row 3/12'")["volume_ml_20c"] == pytest.approx(219_800, abs=0.01)


def test_a_label_is_bound_once(desk):
    """A label in use names its sample for good; without one the next free number is taken."""
    desk.does(f"draw 'Row 3/12' '200 ml' --vial {desk.labels[0]}")
    again = desk(f"draw 'Row 4/02' '200 ml' --vial {desk.labels[0]}")
    assert again.status == 1
    assert "in use" in again.err
    assert desk.does("draw 'Row 4/02' '200 ml'").id not in desk.labels


def test_a_sample_read_with_its_strength_gauges_the_cask(desk):
    """A strength typed with the draw is what the cask is; its volume stays."""
    desk.does("draw 'Row 3/12' '200 ml' --strength 62.8")
    cask = desk.asks("show 'Row 3/12'")
    assert cask["strength_20c"] == pytest.approx(62.8, abs=1e-4)
    # A strength-only gauge holds the volume by densities kept as whole g/m3: 1e-6 of it.
    assert cask["volume_ml_20c"] == pytest.approx(219_800, abs=0.5)


# -- a sampling round --------------------------------------------------------------------------------


def test_a_round_of_samples(desk):
    """Cask, label, amount, temperature, reading; next. With a usual amount a sample is two scans."""
    first, second, third, *_ = desk.labels
    round_ = scans("Row 3/12", first, "13 C", "200 ml", "62.9", "Row 4/02", second, "250 ml", "done")
    ran = desk.does("draw", round_)
    assert ran.out == "2 samples\n"
    assert desk.asks(f"show {first}")["strength_20c"] == pytest.approx(62.9, abs=0.001)
    assert desk.asks("show 'Row 3/12'")["strength_20c"] == pytest.approx(62.9, abs=0.001), "for both"
    # 200 mL at 13 °C are more at 20 °C: alcohol of 63 % vol grows by 0.9 parts in a thousand for a degree, from memory
    assert desk.asks(f"show {first}")["volume_ml_20c"] == pytest.approx(200 * (1 + 7 * 0.0009), abs=0.2)
    assert desk.asks(f"show {second}")["volume_ml_20c"] == pytest.approx(250, abs=MG)
    usual = desk.does("draw --each '200 ml'", scans("Row 4/02", third, "done"))
    assert usual.out == "1 sample\n"
    assert desk.asks(f"show {third}")["volume_ml_20c"] == pytest.approx(200, abs=MG)


def test_a_label_taken_back_in_a_round_is_not_used_again_and_the_round_says_so(desk):
    """Its number was in the book: the round names the entry, and so does whoever asks for it."""
    first, second, *_ = desk.labels
    ran = desk("draw", scans("Row 3/12", first, "200 ml", "undo", first, "200 ml", second, "4000 l", "200 ml"))
    used, unlikely = (line for line in ran.err.splitlines() if line.startswith("refused: "))
    assert "was used before, in entry" in used
    assert "take another label" in used
    assert not re.search(r"[.?];", unlikely), "one sentence ends where the next begins"
    assert "which opened it, was voided" in desk(f"show {first}").err
    assert desk.asks(f"show {second}")["volume_ml_20c"] == pytest.approx(200, abs=MG)


def test_slips_of_a_round_are_told_and_it_goes_on(desk):
    """A label in use, an amount without a cask, an unlikely strength, the wrong cask: told, or taken back."""
    first, second, *_ = desk.labels
    ran = desk(
        "draw",
        scans(
            "200 ml", "62.9 %", "Row 3/12", first, "200 ml", "6.29", "Row 3/12", "undo",
            "Row 4/02", "Row 9/99", second, "200 ml", "undo", "undo", "confirm",
        ),
    )  # fmt: skip
    assert ran.status == 1
    refused = [line for line in ran.err.splitlines() if line.startswith("refused: ")]
    told = ("no cask was scanned", "no sample was drawn", "6.29", "nothing was drawn", "Row 9/99")
    assert len(refused) == 7
    for words, line in zip(told, refused, strict=False):
        assert words in line, line
    assert ran.out == "1 sample\n"
    assert desk.asks(f"show {first}")["volume_ml_20c"] == pytest.approx(200, abs=MG)
    assert desk.asks("show 'Row 4/02'")["volume_ml_20c"] == pytest.approx(190_000, abs=0.01), "undone"


# -- pouring by scan -------------------------------------------------------------------------------


def test_pouring_by_scan(bench):
    """Scan, amount; scan, amount; or both on one line; and the end says what the blend is."""
    poured = bench.does(
        f"pour {bench.trial}", scans(bench.first, "70 ml", hyphened(bench.second).lower(), "23", "water 7 ml", "done")
    )
    trial = bench.asks(f"show {bench.trial}")
    pure_ml = 70 * 0.635 + 23 * 0.58
    assert trial["pure_alcohol_ml"] == pytest.approx(pure_ml, abs=2 * MG)
    assert trial["strength_20c"] == pytest.approx(100 * pure_ml / trial["volume_ml_20c"], abs=0.005)
    assert trial["volume_ml_20c"] < 100, "spirit and water take less room together"
    holds = f"is {trial['volume_ml_20c']:.1f} ml at {trial['strength_20c']:.2f} % vol"
    assert poured.out == f"{hyphened(bench.trial)} · Row 3/12 + Row 4/02 {holds}\n"
    pours = bench.asks(f"trace {bench.trial}")["pours"]
    assert [pour["typed"] for pour in pours if pour["target"] == bench.trial] == ["70 ml", "23 ml", "7 ml"]


def test_a_question_changes_nothing(bench):
    """'?' tells what the source still holds and what the blend is now, and pouring goes on."""
    ran = bench.does(f"pour {bench.trial}", scans(bench.first, "?", "70", "?", "done"))
    told = ran.err.splitlines()
    assert any(hyphened(bench.first) in line and "holds 200.0 ml at 63.50 % vol" in line for line in told)
    plan = [line for line in told if line.startswith(f"{hyphened(bench.first)}  Row 3/12")]
    assert [line.split()[-1] for line in plan[:2]] == ["75.0", "75.0"], "at the beginning, and when asked: all to go"
    assert any("is empty" in line for line in told)
    assert bench.asks(f"show {bench.trial}")["volume_ml_20c"] == pytest.approx(70, abs=MG)


def test_slips_in_the_middle_are_told_and_pouring_goes_on(bench):
    """A mistyped label, an unknown name, a word for a number, too much: each one told, none recorded, the rest kept."""
    wrong = bench.first[:-1] + ("7" if bench.first[-1] != "7" else "8")
    ran = bench(
        f"pour {bench.trial}",
        scans(
            bench.first, "70 ml",
            wrong, "Row 9/99 5 ml", f"{bench.second} a drop", f"{bench.second} 900 ml", "", "   ",
            bench.second, "23 ml",
        ),
    )  # fmt: skip
    assert ran.status == 1, "something was refused, and the shell can tell"
    refused = [line for line in ran.err.splitlines() if line.startswith("refused: ")]
    assert len(refused) == 4
    assert "mistyped" in refused[0]
    assert "Row 9/99" in refused[1]
    assert "a drop" in refused[2]
    assert "holds" in refused[3]
    lines = [pour for pour in bench.asks(f"trace {bench.trial}")["pours"] if pour["target"] == bench.trial]
    assert [(pour["source"], pour["typed"]) for pour in lines] == [(bench.first, "70 ml"), (bench.second, "23 ml")]


def test_a_source_scanned_and_not_poured_is_told(bench):
    """The end of input after a scan alone: nothing was poured, and that is said."""
    ran = bench.does(f"pour {bench.trial}", scans(bench.first))
    assert "nothing poured" in ran.err
    assert bench.asks(f"show {bench.trial}")["mass_mg"] == 0


def test_what_the_glass_really_holds(bench):
    """'left 175 ml' after a scan gauges the glass; 'empty' says it is empty, and is asked; the blend is untouched."""
    lines = scans(f"{bench.first} 20", bench.first, "left 175 ml", bench.second, "empty", "confirm")
    bench.does(f"pour {bench.trial}", lines)
    assert bench.asks("journal")["entries"][-1]["body"]["facts"] == {"disposition": "unexplained"}
    assert bench.asks(f"show {bench.first}")["volume_ml_20c"] == pytest.approx(175, abs=MG)
    assert bench.asks(f"show {bench.second}")["mass_mg"] == 0
    assert bench.asks(f"show {bench.trial}")["volume_ml_20c"] == pytest.approx(20, abs=MG)


def test_pouring_on_a_balance(bench):
    """The balance is not tared: first the empty glass, then what it shows after each pour; weighings are in air."""
    ran = bench(
        f"pour {bench.trial} --balance",
        scans("182.40", bench.first, "245.10", "water", "255.10", bench.second, "250", f"{bench.second} 260.10 g"),
    )
    assert ran.status == 1
    assert "was anything poured?" in ran.err, "the balance went down"
    pours = [pour for pour in bench.asks(f"trace {bench.trial}")["pours"] if pour["target"] == bench.trial]
    weighed_g = {bench.first: 62.70, "water": 10.00, bench.second: 5.00}
    density = {source: _density_g_ml(bench, strength) for source, strength in
               ((bench.first, 63.5), ("water", 0), (bench.second, 58))}  # fmt: skip
    for pour in pours:
        # Buoyancy of air of 1.2 kg/m3 and weights of 8000 kg/m3: the conventions of OIML R 111-1.
        by_hand = weighed_g[pour["source"]] * (1 - 1.2 / 8000) / (1 - 0.0012 / density[pour["source"]])
        assert pour["mass_mg"] == pytest.approx(by_hand * 1000, abs=1)
    assert len(pours) == 3


def _density_g_ml(desk, strength):
    return desk.asks(f"density --strength {strength}")["density_kg_m3"] / 1000


def test_the_empty_glass_is_asked_for_and_no_scan_is_taken_for_it(bench):
    """The first line is a scan: the glass is in hand, the next reading is the empty glass's; 0 where it was tared."""
    for empty, full in (("182.40", "245.10"), ("0", "62.70")):
        ran = bench.does(f"pour {bench.trial} --balance", scans(bench.first, empty, full))
        assert ran.err.startswith("put the empty glass on the balance")
    weighed = [pour["mass_mg"] for pour in bench.asks(f"trace {bench.trial}")["pours"] if pour["target"] == bench.trial]
    assert weighed[0] == weighed[1]
    refused = bench(f"pour {bench.trial} --balance", scans(f"{bench.first} 245.10"))
    assert "the weight of the empty glass is not known yet; type it first" in refused.err


def weighed(bench, *lines, start="182.40"):
    """A session on the balance: its status and what it said, line by line."""
    ran = bench(f"pour {bench.trial} --balance", scans(start, *lines))
    return ran.status, ran.err.splitlines()


def held_g(bench, item):
    return bench.asks(f"show {item}")["mass_mg"] / 1000


def test_drift_is_no_pour(bench):
    """A few hundredths of a gram: told and not recorded, unless a person says that drops were poured."""
    status, said = weighed(bench, bench.first, "182.43")
    assert status == 1
    assert any("182.43 g now and 182.40 g before: drift, no pour" in line for line in said)
    assert held_g(bench, bench.trial) == 0
    weighed(bench, bench.first, "182.43", "confirm")
    assert held_g(bench, bench.trial) == pytest.approx(0.03, rel=0.002)


def test_a_new_zero_can_be_taken(bench):
    """The glass was lifted off, or the balance tared, between two pours."""
    status, _ = weighed(bench, bench.first, "192.40", "zero 0", bench.second, "5.00")
    assert status == 0
    assert held_g(bench, bench.trial) == pytest.approx(15.0, rel=0.002), "buoyancy of air adds 0.13 %"


def test_what_is_spilled_or_tasted_is_booked_in_the_session(bench):
    """By volume, or by what the balance shows afterwards; the next pour begins from there."""
    bench.does(f"pour {bench.trial}", scans(f"{bench.first} 40", "tasted 5 ml", f"{bench.first} spilled 2 ml"))
    assert bench.asks(f"show {bench.trial}")["volume_ml_20c"] == pytest.approx(35, abs=0.01)
    assert bench.asks(f"show {bench.first}")["volume_ml_20c"] == pytest.approx(158, abs=0.01)
    before = held_g(bench, bench.trial)
    status, _ = weighed(bench, bench.first, "192.40", "spilled 190.40", bench.second, "195.40")
    assert status == 0
    assert held_g(bench, bench.trial) - before == pytest.approx(10 - 2 + 5, rel=0.002)
    lost = [line for line in bench.asks("journal")["entries"] if line["kind"] == "pour" and "loss" in str(line)]
    assert len(lost) == 3
    assert "needs the amount" in bench(f"pour {bench.trial}", scans("spilled")).err


def test_undo_takes_back_the_last_pour(bench):
    """The wrong vial in hand: the record is voided, and the same reading records the right one."""
    status, _ = weighed(bench, bench.first, "192.40", "undo", bench.second, "192.40")
    assert status == 0
    assert {pour["source"] for pour in bench.asks(f"trace {bench.trial}")["pours"] if pour["part"] and
            pour["target"] == bench.trial} == {bench.second}  # fmt: skip
    assert held_g(bench, bench.trial) == pytest.approx(10.0, rel=0.002)
    assert bench.asks(f"show {bench.first}")["volume_ml_20c"] == pytest.approx(200, abs=MG)
    assert "undone at the bench" in bench.does("journal").out
    assert "nothing was poured in this session" in bench(f"pour {bench.trial}", scans("undo")).err


def test_a_glass_that_the_recipe_does_not_ask_for_is_told_when_it_is_scanned(bench):
    """Before anything is poured from it."""
    bench.does("cask 'Row 5/01' --fill '100 l' --strength 60 --when 2019-05-02")
    stranger = bench.does("draw 'Row 5/01' '100 ml'").id
    ran = bench.does(f"pour {bench.trial}", scans(stranger))
    assert f"warning: {hyphened(stranger)} · Row 5/01 is not in the recipe of {hyphened(bench.trial)}" in ran.err


def test_the_balance_says_where_to_stop(bench):
    """75 mL at 63.5 % vol weigh 75 x 0.9053 g/mL in vacuum, by the density of the book; in air 0.12 % less."""
    _, said = weighed(bench, bench.first)
    density = _density_g_ml(bench, 63.5)
    in_air = 75 * density * (1 - 0.0012 / density) / (1 - 1.2 / 8000)
    assert f"pour until the balance shows {182.40 + in_air:.2f} g" in said


def planned(bench, *lines):
    """What is said while the trial, planned as 75 ml and 25 ml, is poured; without the plan, glass and blend."""
    ran = bench(f"pour {bench.trial}", scans(*lines))
    said = [line for line in ran.err.splitlines() if " ml at " not in line and "is empty" not in line]
    plan = ("pour ", "in proportion again", "cost unknown")
    return ran.status, [line for line in said if not line.startswith(plan) and "  " not in line]


def test_a_pour_is_set_beside_the_plan(bench):
    """What is to go, what is as planned, a warning at once where it is more; what happened is recorded."""
    first, second = f"{hyphened(bench.first)} · Row 3/12", f"{hyphened(bench.second)} · Row 4/02"
    assert planned(bench, f"{bench.first} 60", f"{bench.first} 14.8", f"{bench.second} 37") == (
        0,
        [
            f"{first}: 60.0 ml of 75.0 ml poured, 15.0 ml to go",
            f"{first}: 74.8 ml of 75.0 ml poured, as planned",
            f"warning: 37.0 ml of {second} in total, 12.0 ml more than planned (25.0 ml)",
        ],
    )
    assert planned(bench, "water 5") == (
        0,
        [f"warning: 5.0 ml of water, which is not in the recipe of {hyphened(bench.trial)} · Row 3/12 + Row 4/02"],
    )
    assert "in total, 12.0 ml more than planned" in bench.does(f"pour {bench.trial} {bench.second} 0.001").err


def test_what_is_too_much_says_what_restores_the_proportions(bench):
    """Planned 75 and 25 ml, poured 0 and 30: 30 of 25 is a fifth more, so 90 of the other are wanted."""
    said = bench.does(f"pour {bench.trial}", scans(f"{bench.second} 30", "?")).err
    assert f"in proportion again with 90.0 ml of {hyphened(bench.first)} · Row 3/12 more" in said


def test_another_sample_of_the_cask_counts_for_the_one_planned(bench):
    """The vial of the recipe ran out; one drawn from the same cask takes its place."""
    other = bench.does("draw 'Row 3/12' '200 ml'").id
    status, said = planned(bench, f"{bench.first} 50", f"{other} 25")
    assert (status, said[1]) == (0, f"{hyphened(bench.first)} · Row 3/12: 75.0 ml of 75.0 ml poured, as planned")
    assert said[2:] == [f"note: planned but not poured: 25.0 ml of {hyphened(bench.second)} · Row 4/02"]


def test_the_same_scan_twice_is_asked_about(bench):
    """Recorded once; 'again' records it, and anything else lets it go, which the shell can tell."""
    once = scans(f"{bench.first} 20 ml", f"{bench.first} 20 ml", f"{bench.second} 5")
    ran = bench(f"pour {bench.trial}", once)
    assert ran.status == 1
    assert f"20 ml from {hyphened(bench.first)} · Row 3/12 is already recorded; if poured twice, type: again" in ran.err
    assert f"not recorded again: 20 ml from {hyphened(bench.first)}" in ran.err
    assert bench.asks(f"show {bench.first}")["volume_ml_20c"] == pytest.approx(180, abs=MG)
    bench.does(f"pour {bench.trial}", scans(bench.first, "20", bench.first, "20 ml", "again"))
    assert bench.asks(f"show {bench.first}")["volume_ml_20c"] == pytest.approx(140, abs=2 * MG)
    assert "none was asked" in bench(f"pour {bench.trial}", scans("again")).err


def test_left_means_the_last_glass_scanned(bench):
    """After a pour it is in hand still; with a name before it, that one; water beside a glass leaves it in hand."""
    bench.does(
        f"pour {bench.trial}",
        scans(
            bench.first,
            "20",
            "left 175 ml",
            f"{hyphened(bench.second)} left 195 ml",
            bench.first,
            "water 2 ml",
            "30",
            "empty",
            "confirm",
        ),
    )  # fmt: skip
    assert bench.asks(f"show {bench.second}")["volume_ml_20c"] == pytest.approx(195, abs=MG)
    assert bench.asks(f"show {bench.first}")["mass_mg"] == 0
    poured = [pour["typed"] for pour in bench.asks(f"trace {bench.trial}")["pours"] if pour["target"] == bench.trial]
    assert poured == ["20 ml", "2 ml", "30 ml"]


def test_an_amount_belongs_to_a_glass(bench):
    """Without one it is told; a refused amount leaves the glass in hand, a refused scan does not."""
    wrong = bench.first[:-1] + ("7" if bench.first[-1] != "7" else "8")
    ran = bench(
        f"pour {bench.trial}",
        scans("30,5 ml", bench.first, "30,5 ml", "900 ml", "30.5 ml", bench.second, wrong, "12 ml"),
    )
    refused = [line for line in ran.err.splitlines() if line.startswith("refused: ")]
    assert refused[0] == "refused: '30,5 ml' is an amount, but no glass was scanned; scan a glass first"
    assert "has a comma" in refused[1]
    assert "holds" in refused[2]
    assert "mistyped" in refused[3]
    assert refused[4].endswith("scan a glass first")
    poured = [pour["typed"] for pour in bench.asks(f"trace {bench.trial}")["pours"] if pour["target"] == bench.trial]
    assert poured == ["30.5 ml"]


# -- slips put right ---------------------------------------------------------------------------------


def test_a_wrong_pour_is_voided(bench):
    """Poured from the wrong vial: the void gives it back, and the journal shows both."""
    bench.does(f"pour {bench.trial}", scans(f"{bench.first} 70", f"{bench.second} 23"))
    number = bench.asks("journal-hash")["entries"]
    before = bench.asks(f"show {bench.second}")["mass_mg"]
    assert bench(f"void {number}").status == 1, "a correction needs its reason"
    bench.does(f"void {number} --reason 'poured from the wrong vial'")
    after = bench.asks(f"show {bench.second}")
    assert after["volume_ml_20c"] == pytest.approx(200, abs=MG)
    assert after["mass_mg"] > before
    assert bench.asks(f"show {bench.trial}")["volume_ml_20c"] == pytest.approx(70, abs=MG)
    journal = {entry["number"]: entry for entry in bench.asks("journal")["entries"]}
    assert journal[number]["gone"] == number + 1
    assert journal[number + 1]["reason"] == "poured from the wrong vial"
    assert "no: see" in bench.does(f"journal --from {number}").out
    assert bench.asks("verify")["faults"] == []


def test_a_misread_pipette_is_put_right(bench):
    """The amount of one pour replaced: source and blend follow at once."""
    bench.does(f"pour {bench.trial}", scans(f"{bench.first} 70", f"{bench.second} 23"))
    number = bench.asks("journal-hash")["entries"]
    bench.does(f"replace {number} --amount '12.5 ml' --reason 'misread the pipette'")
    assert bench.asks(f"show {bench.second}")["volume_ml_20c"] == pytest.approx(187.5, abs=MG)
    pure_ml = 70 * 0.635 + 12.5 * 0.58
    assert bench.asks(f"show {bench.trial}")["pure_alcohol_ml"] == pytest.approx(pure_ml, abs=2 * MG)


def test_more_than_the_book_holds_can_be_confirmed(bench):
    """The glass held more than the book thought: refused with what is there, recorded when confirmed, and marked."""
    refused = bench(f"pour {bench.trial} {bench.second} '210 ml'")
    assert refused.status == 1
    assert "--confirm" in refused.err
    told = bench.does(f"pour {bench.trial} {bench.second} '210 ml' --confirm")
    assert "gauged up" in told.err
    assert bench.asks(f"show {bench.second}")["mass_mg"] == 0
    assert bench.asks(f"show {bench.trial}")["volume_ml_20c"] == pytest.approx(210, abs=MG)


def test_a_reading_of_the_sample_stands_for_its_cask(bench):
    """The laboratory reads the vial days later: the cask had that strength when it was drawn."""
    bench.does(f"gauge {bench.first} --strength 62.9 --for-source-cask")
    for item in (bench.first, "'Row 3/12'"):
        # Half a milligram of the vial's 99 g of ethanol is 0.0003 % vol.
        assert bench.asks(f"show {item}")["strength_20c"] == pytest.approx(62.9, abs=3.2e-4)


def test_the_last_drop_goes_to_tasting(bench):
    """Disposed of whole, a vial is empty and leaves the stock; the loss stays in the journal."""
    bench.does(f"loss {bench.first} all --kind tasting")
    assert bench.first not in {item["id"] for item in bench.asks("stock")["items"]}
    last = bench.asks("journal")["entries"][-1]["body"]["lines"][0]
    assert (last["from"], last["to"], last["facts"]["disposition"]) == (bench.first, "loss", "tasting")
