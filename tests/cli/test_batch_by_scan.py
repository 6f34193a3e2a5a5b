"""A batch is opened with its plan and poured cask by cask, as the cellar worker does it with a scanner."""

import os
import pty
import re
import subprocess
import sys
from contextlib import suppress

import pypdfium2
import pytest
import zxingcpp
from command import Desk, compiled_once, here, scans

from pourbook.codes.identifiers import hyphened

ETHANOL_KG_M3 = 789.24
"""Density of ethanol at 20 °C: OIML R 22, general formula at p = 1."""


@pytest.fixture
def cellar(tmp_path):
    """Three casks and one that is not wanted; a recipe 5 : 3 : 2, planned as 300 bottles of 70 cl at 46 % vol."""
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    desk.casks = [
        desk.does(f"cask '{ref}' --fill '200 l' --strength {strength} --place '{place}' --when 2016-03-01").id
        for ref, strength, place in (
            ("R 1", 63, "Row 10"),
            ("R 2", 60, "Row 9"),
            ("R 3", 58, "Row 10"),
            ("R 4", 61, ""),
        )
    ]
    parts = zip(desk.casks, (5, 3, 2), strict=False)
    desk.does(f"recipe Ash {' '.join(f'--part {cask}={part}' for cask, part in parts)}")
    opened = desk.asks("scale-up Ash --bottles '300 x 70 cl' --losses 4 --to 46 --open --ref 'Vatting 9'")
    desk.batch, desk.plan = opened["id"], opened["plan"]
    return desk


def pours(cellar, *lines, options=""):
    """A session at the vat: what it said, and the batch afterwards."""
    ran = cellar(f"pour {cellar.batch} {options}", scans(*lines))
    return ran, cellar.asks(f"show {cellar.batch}")


def takes(said):
    """What the session says is to be taken: what it keeps, litres at 20 °C, kg."""
    found = re.findall(r"(?:to keep the (\w+), )?take .*?([\d.]+) l at 20 °C\)?, ([\d.]+) kg on the scale", said)
    return [(kept or "plan", float(litres), float(kg)) for kept, litres, kg in found]


def to_take(cellar, source):
    """What a scan of a source says is to be taken, without pouring."""
    return takes(pours(cellar, source, "done")[0].err)


def test_the_plan_is_in_the_book_before_anything_is_poured(cellar):
    """The batch is empty; its plan is a recipe of its own, its target strength and what it fills are facts."""
    shown = cellar.asks(f"show {cellar.batch}")
    assert shown["mass_mg"] == 0
    assert shown["facts"]["target_strength"] == "46 % vol"
    assert shown["facts"]["fills"] == "300 x 70 cl; losses 4 %"
    assert shown["facts"]["follows"] == "Ash"
    parts = cellar.asks(f"recipe {hyphened(cellar.batch)}")["parts"]
    planned = {part["component"]: float(part["parts"]) for part in parts}
    for pull in cellar.plan["pulls"][:-1]:
        # Rounded up to the hundredth of a litre, so that there is enough.
        assert 0 <= planned[pull["source"]] - pull["volume_ml_20c"] / 1000 <= 0.01


def test_a_scan_says_how_much_to_take(cellar):
    """By volume at 20 °C, by volume in the cellar, and as a scale shows it; nothing is recorded."""
    (first, *_) = cellar.plan["pulls"]
    ran, batch = pours(cellar, cellar.casks[0], "done", options="--temperature 10")
    ((kept, litres, kg),) = takes(ran.err)
    assert (kept, litres) == ("plan", pytest.approx(first["volume_ml_20c"] / 1000, abs=0.011))
    # A scale in air shows 0.12 % less than the mass of spirit of this strength.
    assert kg == pytest.approx(first["mass_mg"] / 1e6 * 0.9988, rel=2e-4)
    (cellar_l,) = re.findall(r"take ([\d.]+) l at 10.0 °C", ran.err)
    # Spirit of 63 % vol expands by some 0.09 % for each °C.
    assert float(cellar_l) / litres == pytest.approx(1 - 10 * 0.0009, abs=0.0005)
    assert batch["mass_mg"] == 0


def test_a_wrong_cask_is_told_before_anything_flows(cellar):
    """The scan alone says it: what it is, what is expected, what to do; an amount after it pours nothing."""
    ran, batch = pours(cellar, cellar.casks[0], cellar.casks[3], "20 l", "done")
    wrong, of = f"{hyphened(cellar.casks[3])} · R 4", f"{hyphened(cellar.batch)} · Vatting 9"
    closed = [f"{hyphened(cask)} · {ref}" for cask, ref in zip(cellar.casks, ("R 1", "R 2", "R 3"), strict=False)]
    said = ran.err[ran.err.index("STOP") :]
    assert said.startswith(
        f"STOP: {wrong} is not in the plan of {of}; still closed: {closed[0]} in Row 10, {closed[1]} in Row 9,"
        f" {closed[2]} in Row 10; leave it closed, and take one that is; if it is right, type: confirm"
    )
    assert "'20 l' is an amount, but no glass was scanned" in said
    assert takes(said) == []
    assert (ran.status, batch["mass_mg"]) == (1, 0)


def test_what_is_poured_all_the_same_is_recorded_as_not_planned(cellar):
    """Confirmed as it is scanned, or with the one command; the journal tells it from a planned one."""
    first, other = cellar.casks[0], cellar.casks[3]
    ran, batch = pours(cellar, other, "confirm", "20 l", first, "10 l", "done")
    assert ran.status == 0, ran.err
    assert [one["component"] for one in batch["made_of"]] == [other, first]
    ran = cellar(f"pour {cellar.batch} {other} '5 l'")
    assert (ran.status, "is not in the plan" in ran.err) == (1, True)
    cellar.does(f"pour {cellar.batch} {other} '5 l' --confirm")
    told = re.findall(r"pour: (\S+) l from .*? into \S+( \(not planned\))?", cellar.does("journal").out)
    assert told == [("20", " (not planned)"), ("10", ""), ("5", " (not planned)")]


def test_a_cask_that_gave_its_part_is_told_from_a_wrong_one(cellar):
    """What was taken, by whom and when; more of it is not planned."""
    first = cellar.casks[0]
    litres = to_take(cellar, first)[0][1]
    ran, _ = pours(cellar, first, f"{litres} l", first, "done")
    taken = rf"TAKEN ALREADY: \S+ · R 1 was taken already: {litres} l of {litres} l, by M. Aldane at 20"
    assert re.search(taken, ran.err)
    assert f"{hyphened(cellar.casks[1])} · R 2 in Row 9" in ran.err
    assert "STOP" not in ran.err
    again = cellar(f"pour {cellar.batch} {first} '1 l'")
    assert "do: take the next one. If it is right, give --confirm" in again.err


def test_a_cask_on_hold_a_spent_one_and_one_of_another_batch_are_stopped(cellar):
    """Each says what it is."""
    first, second, _, other = cellar.casks
    cellar.does(f"recipe Oak --part {other}=1")
    cellar.does("scale-up Oak --total '50 l' --open --ref 'Vatting 10'")
    cellar.does(f"hold {first} --reason 'taint suspected'")
    cellar.does(f"loss {second} all --kind leak --confirm")
    ran, batch = pours(cellar, first, second, other, "done")
    stops = [line for line in ran.err.splitlines() if line.startswith("STOP: ")]
    assert not any(f"{hyphened(first)} · R 1 in Row" in stop for stop in stops), "a held cask is none to be opened next"
    held, spent, elsewhere = (re.sub(r"; still closed.*?;", ";", stop) for stop in stops)
    assert held.startswith(f"STOP: {hyphened(first)} · R 1 is on hold; leave it closed; to pour from it, release it")
    assert spent.startswith(f"STOP: {hyphened(second)} · R 2 is empty by the book; take the next one, or gauge it")
    assert f"{hyphened(other)} · R 4 is not in the plan of {hyphened(cellar.batch)} · Vatting 9;" in elsewhere
    assert f"; {hyphened(other)} is for B-000002-W · Vatting 10; leave it closed, and take one that is" in elsewhere
    assert batch["mass_mg"] == 0


def test_a_misread_label_is_stopped_too(cellar):
    """A check character that does not agree, a code that is nobody's."""
    ran, _ = pours(cellar, "C-000001-X", "C-900000-3", "done")
    assert ran.err.count("STOP: ") == 2


def on_a_terminal(cellar, *lines, **environment):
    """What a terminal is sent as notes, with bells and colours as they come."""
    ours, theirs = pty.openpty()
    kept = {name: value for name, value in compiled_once().items() if not name.startswith(("POURBOOK_", "NO_COLOR"))}
    told = {"POURBOOK_WHO": "M. Aldane", "POURBOOK_BOOK": str(cellar.book), "TERM": "xterm"} | environment
    command = [sys.executable, "-m", "pourbook", "pour", cellar.batch]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=theirs, text=True, env=kept | told
    ) as ran:
        os.close(theirs)
        ran.stdin.write(scans(*lines))
        ran.stdin.close()
        sent = b""
        with suppress(OSError):  # a terminal that nobody holds open any more
            while portion := os.read(ours, 4096):
                sent += portion
    os.close(ours)
    return sent.decode()


def test_good_wrong_and_repeated_scans_sound_and_look_different(cellar):
    """No bell and green, three and red, one and yellow; where there is no colour, words and bells stay."""
    good, other = cellar.casks[0], cellar.casks[3]
    litres = to_take(cellar, good)[0][1]
    sent = on_a_terminal(cellar, good, other, good, f"{litres} l", good, "done")
    met = re.findall(r"(\a*)\x1b\[(\d+)m\x1b\[1m(OK|STOP|TAKEN ALREADY): ", sent)
    assert met == [("", "32", "OK"), ("\a\a\a", "31", "STOP"), ("", "32", "OK"), ("\a", "33", "TAKEN ALREADY")]
    plain = on_a_terminal(cellar, other, "done", NO_COLOR="1")
    assert "\a\a\aSTOP: " in plain
    assert "\x1b[" not in plain


def test_what_is_no_terminal_is_sent_neither_bells_nor_colours(cellar):
    """A file or a program that reads notes gets words alone."""
    ran, _ = pours(cellar, cellar.casks[3], "done")
    assert "STOP: " in ran.err
    assert not re.search(r"[\a\x1b]", ran.err)


def test_a_batch_without_a_plan_takes_whatever_is_scanned(cellar):
    """No word, no signal."""
    cellar.does("batch 'Vatting 11'")
    ran = cellar("pour 'Vatting 11'", scans(cellar.casks[3], "20 l", cellar.casks[3], "done"))
    assert ran.status == 0
    assert not re.search("STOP|OK: |TAKEN", ran.err)


def test_poured_as_planned_it_is_what_the_bottles_need(cellar):
    """Every cask and the water as the scans say: 300 bottles of 70 cl and 4 % are 218.4 l at 46 % vol."""
    for source in (*cellar.casks[:3], "water"):
        ((_, litres, _),) = to_take(cellar, source)
        ran, batch = pours(cellar, source, f"{litres} l", "done")
        assert ran.status == 0, ran.err
    assert batch["strength_20c"] == pytest.approx(46, abs=0.005)
    # Each of three casks was rounded up by up to 10 ml.
    assert 218_400 <= batch["volume_ml_20c"] <= 218_400 + 60
    assert "planned but not poured" not in ran.err


def test_actual_amounts_by_volume_weight_and_all(cellar):
    """Litres at the temperature of the cask, gross and tare in air, and all there is; beside the plan at once."""
    first, second, third = cellar.casks[:3]
    ran, batch = pours(cellar, first, "50 l at 10", second, "gross 80.4 kg tare 20.4 kg", third, "all", "done")
    assert ran.status == 0
    poured = {one["component"]: one["volume_ml_20c"] for one in batch["made_of"]}
    # Spirit of 63 % vol expands by some 0.09 % for each °C.
    assert poured[first] == pytest.approx(50_000 * 1.009, rel=5e-4)
    # 60 kg in air are 60.07 kg; 60 % vol weighs 0.9091 kg/l (OIML R 22, practical table).
    assert poured[second] == pytest.approx(60.07 / 0.9091 * 1000, rel=1e-4)
    assert poured[third] == pytest.approx(200_000, rel=1e-4)
    assert f"{hyphened(first)} · R 1: {poured[first] / 1000:.2f} l of" in ran.err
    assert f"pour: 60.0 kg air from {hyphened(second)}" in cellar.does("journal").out
    # 407 l are beyond what was planned: only the strength is left to be kept.
    assert "neither proportions nor total can be kept" in ran.err
    assert "to keep the strength, still" in ran.err


def test_a_gross_weight_needs_its_tare(cellar):
    """It is told, and the cask stays in hand."""
    ran, batch = pours(cellar, cellar.casks[0], "gross 80 kg", "gross 80 kg tare 20 kg", "done")
    assert "lacks the tare" in ran.err
    assert batch["mass_mg"] == pytest.approx(60.07e6, rel=1e-4)


def test_undo_takes_back_that_a_cask_was_emptied(cellar):
    """A wrong line leaves nothing behind: the cask has again what the book had, and the pours before it stay."""
    first, second = cellar.casks[:2]
    before = cellar.asks(f"show {first}")["mass_mg"]
    ran, batch = pours(cellar, f"{second} 20 l", first, "50 l and empty", "confirm", "undo", "done")
    assert "50.00 l of" in ran.err
    assert cellar.asks(f"show {first}")["mass_mg"] == before
    assert batch["volume_ml_20c"] == pytest.approx(20_000, rel=1e-4)
    pours(cellar, f"{first} left 150 l", "confirm", f"{first} all", "confirm", "undo", "done")
    assert cellar.asks(f"show {first}")["volume_ml_20c"] == pytest.approx(150_000, rel=1e-4), "a gauge of its own stays"


def test_a_cask_that_is_short_changes_the_rest(cellar):
    """Half of what was planned is all there was: the others halve in proportion, or make up the pure alcohol."""
    first, second, third = cellar.casks[:3]
    planned = {one: to_take(cellar, one)[0][1] for one in (first, second, third, "water")}
    half = round(planned[first] / 2, 2)
    ran, _ = pours(cellar, first, f"{half} l and empty", "done")
    assert "refused" in ran.err  # most of a full cask is missing: that is asked about
    assert "confirm" in ran.err
    ran, batch = pours(cellar, first, f"{half} l and empty", "confirm", "?", "done")
    assert f"warning: {hyphened(first)} · R 1 holds {planned[first] - half:.2f} l too little for the plan" in ran.err
    assert "to go, proportions kept" in ran.err
    assert "to go, total kept" in ran.err
    for source in (second, third):
        ways = {kept: litres for kept, litres, _ in to_take(cellar, source)}
        assert ways["proportions"] == pytest.approx(planned[source] / 2, abs=0.02)
        assert ways["total"] > planned[source]
    water = {kept: litres for kept, litres, _ in to_take(cellar, "water")}
    assert water["proportions"] == pytest.approx(planned["water"] / 2, abs=0.03)
    # To the total: the same pure alcohol as planned, so the volume at 46 % vol that the bottles need.
    ways = {source: dict(one[:2] for one in to_take(cellar, source))["total"] for source in (second, third)}
    pure_l = half * 0.63 + ways[second] * 0.60 + ways[third] * 0.58
    assert pure_l / 0.46 == pytest.approx(218.4, abs=0.08)
    assert ways[second] / ways[third] == pytest.approx(3 / 2, abs=0.001)
    assert cellar.asks(f"show {first}")["mass_mg"] == 0
    assert batch["volume_ml_20c"] == pytest.approx(half * 1000, rel=1e-5)


def test_too_much_from_one_is_told_both_ways(cellar):
    """A tenth more than planned: a tenth more of all, or less of the others."""
    first, second, _ = cellar.casks[:3]
    planned = {one: to_take(cellar, one)[0][1] for one in (first, second)}
    ran, _ = pours(cellar, first, f"{planned[first] * 1.1:.2f} l", "done")
    assert "more than planned" in ran.err
    ways = {kept: litres for kept, litres, _ in to_take(cellar, second)}
    assert ways["proportions"] == pytest.approx(planned[second] * 1.1, abs=0.02)
    assert ways["total"] < planned[second]


def test_a_break_loses_nothing(cellar):
    """Each session knows what the ones before poured; the last says what is missing still."""
    first, second, third = cellar.casks[:3]
    planned = {one: to_take(cellar, one)[0][1] for one in (first, second, third)}
    pours(cellar, first, f"{planned[first]} l")
    ran, _ = pours(cellar, second, f"{planned[second]} l", "?", "done")
    assert to_take(cellar, first) == []
    assert to_take(cellar, third)[0][1] == planned[third]
    missing = ran.err[ran.err.rindex("planned but not poured") :]
    assert hyphened(third) in missing
    assert "water" in missing
    assert hyphened(first) not in missing


def test_water_follows_the_gauge(cellar):
    """The vat is gauged stronger than the book: the water to the target strength grows with it."""
    for source in cellar.casks[:3]:
        ((_, litres, _),) = to_take(cellar, source)
        pours(cellar, source, f"{litres} l")
    before = to_take(cellar, "water")[0][1]
    cellar.does(f"gauge {cellar.batch} --strength 61.5")
    held = cellar.asks(f"show {cellar.batch}")
    after = to_take(cellar, "water")[0][1]
    assert after > before
    pours(cellar, "water", f"{after} l")
    reduced = cellar.asks(f"show {cellar.batch}")
    assert reduced["strength_20c"] == pytest.approx(46, abs=0.005)
    assert reduced["ethanol_mg"] == held["ethanol_mg"]


# -- its pull list -------------------------------------------------------------------------------


def test_the_pull_list_scans_in_the_order_of_a_walk(cellar, tmp_path):
    """Row 9 before row 10; what zxing-cpp reads on the paper pours the batch as it was planned."""
    printed = cellar.asks(f"sheet {cellar.batch} --temperature 10 -o {tmp_path / 'pull.pdf'}")
    with pypdfium2.PdfDocument(tmp_path / "pull.pdf") as paper:
        text = paper[0].get_textpage().get_text_range()
        picture = paper[0].render(scale=200 / 72, grayscale=True).to_numpy().squeeze()
    codes = sorted(zxingcpp.read_barcodes(picture), key=lambda code: code.position.top_left.y)
    scanned = [code.text for code in codes if code.format.name == "DataMatrix"]
    assert scanned == [cellar.casks[1], cellar.casks[0], cellar.casks[2]]
    assert printed["parts"] == 4
    for code in scanned:
        ((_, litres, kg),) = to_take(cellar, code)
        assert f"{litres:.2f}" in text
        assert f"{kg:.2f}" in text
        pours(cellar, code, f"{litres} l")
    assert "300 x 70 cl; losses 4 %" in text
    assert "46 % vol" in text
    assert cellar.asks(f"show {cellar.batch}")["ethanol_mg"] / ETHANOL_KG_M3 == pytest.approx(218_400 * 0.46, abs=20)


def test_a_second_list_says_what_is_in_the_book(cellar, tmp_path):
    """Poured wholly, in part, and what was not planned."""
    first, second, _, other = cellar.casks
    litres = to_take(cellar, first)[0][1]
    pours(cellar, first, f"{litres} l", second, "20 l", other, "confirm", "1 l")
    printed = cellar.asks(f"sheet {cellar.batch} -o {tmp_path / 'pull.pdf'}")
    with pypdfium2.PdfDocument(tmp_path / "pull.pdf") as paper:
        text = paper[0].get_textpage().get_text_range()
    assert f"{litres:.2f} l" in text
    assert "in the book" in text
    assert "20.00 taken" in text
    assert printed["remarks"] == [f"Poured already, though not in the plan: {hyphened(other)}."]


def test_a_batch_without_a_plan_has_no_pull_list(cellar):
    """The way to one is named."""
    cellar.does("batch 'Vatting 10'")
    ran = cellar("sheet 'Vatting 10'")
    assert ran.status == 1
    assert "was opened without a plan" in ran.err


def test_opened_or_poured_but_not_both(cellar):
    """One command cannot do both, and says so."""
    ran = cellar("scale-up Ash --total '100 l' --open --record")
    assert ran.status == 1
    assert "poured either at once or cask by cask" in ran.err


def test_a_house_with_decimal_commas_plans_and_pours(tmp_path):
    """Its plan is read as it was written."""
    desk = Desk(tmp_path / "q.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere --set decimal_mark=,")
    cask = desk.does("cask 'R 1' --fill '200 l' --strength 63,5").id
    desk.does(f"recipe Ash --part {cask}=1")
    desk.batch = desk.asks("scale-up Ash --final '100,5 l' --to 46,5 --open")["id"]
    assert desk.asks(f"show {desk.batch}")["facts"]["target_strength"] == "46,5 % vol"
    ran = desk(f"pour {desk.batch}", scans(cask, "73,6 l", "?", "done"))
    assert "as planned" in ran.err
    assert "46,50 % vol" in ran.err


def test_a_batch_with_a_plan_is_shown_in_words(cellar):
    """No name of the book's own: neither the recipe that the plan is kept as, nor its total as it is kept."""
    said = cellar(f"show {cellar.batch}").done().out
    litres = sum(pull["volume_ml_20c"] for pull in cellar.plan["pulls"]) / 1000
    planned = float(re.search(r"planned in all: ([\d.]+) l", said)[1])
    assert planned == pytest.approx(litres, abs=0.05), "each source rounded up to hundredths"
    assert "to fill: 300 x 70 cl; losses 4 %" in said
    assert "plan:" not in said
    assert "total:" not in said
    cellar.does(f"set {cellar.batch} total=soon")
    assert "planned in all: soon" in cellar(f"show {cellar.batch}").done().out


def test_a_plan_outlives_a_change_of_the_decimal_mark(cellar):
    """What was planned with a comma is the same plan in a house that writes points from now on, and back."""
    cellar.does("settings --set decimal_mark=,")
    trial = cellar.does("trial --recipe Ash --total '100,5 ml'").id
    batch = cellar.does("scale-up Ash --bottles '30 x 70 cl' --losses 4,5 --to 46,5 --open").id
    cellar.does(f"pour {batch} 'R 1' '5,5 l'")
    cellar.does(f"reduce {batch} --to 46,5 --steps 2")
    shown = cellar(f"show {batch}").done().out
    assert "losses 4,5 %" in shown
    assert not re.search(r"\d\.\d", shown)
    asked = cellar.asks(f"reduce {batch}")["reduction"]
    cellar.does("settings --set decimal_mark=.")
    assert cellar.asks(f"reduce {batch}")["reduction"] == asked
    assert not re.search(r"\d,\d", cellar(f"show {batch}").done().out)
    assert "planned" in cellar(f"pour {batch}", scans("?", "done")).done().err
    cellar.does(f"sheet {batch} -o '{cellar.book.with_suffix('.pdf')}'")
    cellar.does(f"trial --revised-from {trial} --change R1=+1 --change R2=-1")
