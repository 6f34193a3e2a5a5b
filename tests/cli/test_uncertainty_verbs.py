"""The uncertainty of a figure, as a person asks it: gauges, labels, trials, with instruments typed or from the book."""

import re

import pytest
from command import Desk, here
from house import House

from pourbook import errors

GAUGE = ("--hydrometer", "61.8", "--instrument", "hydrometer II", "--temperature", "15")
THERMOMETER = ("--thermometer", "thermometer 0.5 C")
PIPETTE = "graduated pipette A 10 ml"


@pytest.fixture
def desk(tmp_path):
    """A small book: a cask, its sample, a trial of it with water, and two instruments of the house."""
    path = tmp_path / "quillmere.pourbook"
    with House(path) as house:
        house.open("C1", ref="Row 3/12")
        house.open("V1", ref="sample 1")
        house.fill("C1", "200 l", "63.5", spirit="malt spirit")
        house.draw("C1", "V1", "500 ml")
    desk = Desk(path, here)
    desk.does("instrument H-3 --kind hydrometer --unit '% vol' --resolution 0.1 --mpe 0.1")
    desk.does("instrument P-1 --kind pipette --unit ml --mpe 0.05 --resolution 0.1")
    desk.does("instrument H-9 --kind hydrometer")
    desk.does("trial --part 'sample 1=93' --part water=7 --total '100 ml' --ref first")
    return desk


# -- figures ------------------------------------------------------------------------------------------


def test_the_figures_of_a_gauge_carry_their_uncertainty():
    """Two digits of ±, value to the same place, and what it comes from; all the rest on standard error."""
    ran = here("uncertainty", *GAUGE, *THERMOMETER, "--amount", "200 l", "--amount-instrument", "limit 0.5 %").done()
    lines = dict(line.split("  ", 1) for line in ran.out.splitlines()[:5])
    assert lines["strength"].strip() == "63.51 ± 0.25 (k = 2) % vol at 20 °C"
    assert lines["pure alcohol"].strip() == "127.59 ± 0.93 (k = 2) l at 20 °C (LPA)"
    assert "62 % limit 0.5 %, in proportion; 24 % thermometer 0.5 C" in ran.out
    assert "legal gauge" in ran.err
    assert "stirring and sampling" in ran.err


def test_for_programs_nothing_is_rounded():
    """Value, standard uncertainty and every source; the sources make the uncertainty."""
    found = here("uncertainty", *GAUGE, *THERMOMETER, "--json").done().json["strength_20c"]
    assert found["standard_uncertainty"] ** 2 == pytest.approx(sum(part**2 for part in found["sources"].values()))
    assert set(found["sources"]) == {
        "hydrometer II", "hydrometer II, gauge", "thermometer 0.5 C", "thermometer 0.5 C, of the strength",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("factor", "written"),
    [
        ((), "46.00 ± 0.10 (k = 2)"),
        (("--coverage-factor", "3"), "46.00 ± 0.15 (k = 3)"),
        (("--coverage-factor", "1"), "46.000 ± 0.050 (standard)"),
    ],
)
def test_every_uncertainty_says_what_it_is(factor, written):
    """U = k u, k = 2 unless another is asked for (GUM 6.2.1); a certificate of 0.1 with k = 2 is u = 0.05."""
    asked = ("uncertainty", "--strength", "46", "--instrument", "certificate 0.1", *factor)
    assert here(*asked).done().out.splitlines()[0].split("  ")[-1] == f"{written} % vol at 20 °C"
    document = here(*asked, "--json").done().json["strength_20c"]
    assert document["standard_uncertainty"] == pytest.approx(0.05)
    assert document["expanded_uncertainty"] == pytest.approx(0.05 * document["coverage_factor"])
    assert f"k = {document['coverage_factor']:g}" in written or document["coverage_factor"] == 1


@pytest.mark.parametrize(
    "line",
    [
        ("difference", "7", "8", "--instrument", PIPETTE),
        ("trial-size", "7", "8", "--instrument", PIPETTE),
        ("portions", "--part", "a=1", "--part", "b=2", "--instrument", "burette A/0.1 50 ml"),
        ("figures", *GAUGE, *THERMOMETER, "--amount", "200 l", "--amount-instrument", "limit 0.5 %"),
    ],
)
def test_no_plus_or_minus_stands_without_its_factor(line):
    """Every ± of a figure on every screen of the verb."""
    out = here("uncertainty", *line).done().out
    figures = re.findall(r"\d ± [\d.]+(.{8})", out)
    assert figures
    assert all(behind.startswith(" (k = 2)") for behind in figures)


def test_weights_in_air_and_in_vacuum():
    """A kilogram in air is a little more in vacuum; the balance errs by its class."""
    arguments = (
        "uncertainty",
        "--strength",
        "40",
        "--instrument",
        "limit 0",
        "--amount-instrument",
        "balance II 1 g",
        "--json",
        "--amount",
    )
    in_air, in_vacuum = (here(*arguments, amount).done().json["mass_kg"] for amount in ("1 kg air", "1 kg"))
    assert in_air["value"] == pytest.approx(1.001117, abs=2e-6)
    assert in_vacuum["value"] == pytest.approx(1.0)
    # 1000 e of a class II balance: ± 1 e in service, read to e (Directive 90/384/EEC, annex I, 4)
    assert in_vacuum["standard_uncertainty"] == pytest.approx(0.001 * (1 / 3 + 1 / 12) ** 0.5)


def test_a_temperature_taken_as_exact_is_said():
    """Only where it matters."""
    assert "taken as exact" in here("uncertainty", *GAUGE).done().err
    assert "taken as exact" not in here("uncertainty", *GAUGE, *THERMOMETER).done().err
    assert "taken as exact" not in here("uncertainty", "--strength", "46", "--instrument", "limit 0.1").done().err


def test_an_instrument_of_the_book(desk):
    """H-3, with the permissible error and resolution that the book has of it, is a hydrometer of class II."""
    by_book = desk.asks("uncertainty --hydrometer 61.8 --instrument H-3 --temperature 15")["strength_20c"]
    by_class = here("uncertainty", *GAUGE, "--json").done().json["strength_20c"]
    assert by_book["standard_uncertainty"] == pytest.approx(by_class["standard_uncertainty"])
    assert set(by_book["sources"]) == {"H-3", "H-3, gauge"}


def test_an_instrument_of_a_house_that_writes_commas(desk):
    """0,1 in its book is a tenth, not nought and one."""
    desk.does("settings --set decimal_mark=,")
    desk.does("instrument H-4 --kind hydrometer --unit '% vol' --mpe 0,1")
    found = desk.asks("uncertainty --strength 46 --instrument H-4")["strength_20c"]
    assert found["standard_uncertainty"] == pytest.approx(0.1 / 3**0.5)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("uncertainty --hydrometer 61.8 --instrument H-9", "no permissible error recorded"),
        ("uncertainty --hydrometer 61.8 --instrument H-77", "does not describe an instrument"),
        ("uncertainty --hydrometer 61.8 --strength 63 --instrument H-3", "one reading of the strength"),
        ("uncertainty --strength 63 --instrument H-3 --amount '200 l'", "no instrument is named for"),
        ("uncertainty --strength 63 --instrument H-3 --coverage-factor 0", "a coverage factor of 0"),
        ("uncertainty portions --instrument P-1", "one trial is needed"),
        ("uncertainty portions first --part a=1 --instrument P-1", "one trial is needed"),
        ("uncertainty portions --part a --instrument P-1", "not NAME=PARTS"),
        ("uncertainty portions --part a=1 --part b=1 --instrument a=P-1", "no instrument measures b"),
    ],
)
def test_what_cannot_be_answered_is_refused(desk, line, said):
    """With one sentence and what to do."""
    ran = desk(line)
    assert (ran.status, ran.refusal) == (1, errors.Malformed)
    assert said in ran.err
    assert "do:" in ran.err


# -- label-strength --------------------------------------------------------------------------------------


def _label(*arguments):
    return here("label-strength", *arguments, "--json").done().json


@pytest.mark.parametrize(
    ("strength", "verdict"), [("46.05", "within"), ("46.28", "cannot be told"), ("46.5", "not within")]
)
def test_may_it_be_labelled(strength, verdict):
    """A label of 46.0 % vol, ± 0.3, by an instrument of ± 0.1: 0.058 % vol of uncertainty."""
    found = _label("--strength", strength, "--instrument", "limit 0.1", "--label", "46.0")
    assert found["verdict"] == verdict
    assert (found["lowest"], found["highest"]) == (pytest.approx(45.7), pytest.approx(46.3))
    shown = here("label-strength", "--strength", strength, "--instrument", "limit 0.1", "--label", "46.0").done()
    assert f"answer  {verdict}: " in shown.out
    assert "legal gauge" in shown.err


def test_the_gauges_that_would_do_do():
    """Both ends that are shown are within; a hundredth beyond either cannot be told."""
    asked = ("--instrument", "limit 0.1", "--label", "46")
    said = here("label-strength", "--strength", "46", *asked).done().out
    least, most = re.search(r"a gauge from ([\d.]+) to ([\d.]+)", said).groups()
    for strength in (least, most):
        assert _label("--strength", strength, *asked)["verdict"] == "within"
    for strength in (float(least) - 0.01, float(most) + 0.01):
        assert _label("--strength", f"{strength:.2f}", *asked)["verdict"] == "cannot be told"


@pytest.mark.parametrize("strength", ["46.2095", "46.2099", "46.2101", "45.7904", "46.20501"])
@pytest.mark.parametrize("instrument", ["limit 0.1", "limit 0.1, certificate 0.02", "hydrometer II"])
def test_what_is_needed_never_contradicts_the_answer(strength, instrument):
    """The gauges said to be needed hold this one if, and only if, the answer is within."""
    asked = ("label-strength", "--strength", strength, "--instrument", instrument, "--label", "46")
    said = here(*asked).done().out
    least, most = re.search(r"a gauge from ([\d.]+) to ([\d.]+)", said).groups()
    assert ("answer  within: " in said) == (float(least) <= float(strength) <= float(most))


def test_a_us_label_is_meant_at_60_f():
    """40 % vol at 20 °C is 79.86 proof, by OIML R 22: 39.93 % vol at 60 °F."""
    found = _label("--strength", "40", "--instrument", "limit 0.05", "--label", "80 proof", "--rule", "us")
    assert found["gauge"]["value"] == pytest.approx(39.93, abs=0.005)
    assert found["label"] == 40.0
    assert "5.65(c)" in found["rule"]


def test_a_label_at_another_reference_temperature_is_converted():
    """79.86 proof is 40.00 % vol at 20 °C."""
    found = _label("--strength", "40", "--instrument", "limit 0.05", "--label", "79.86 proof")
    assert found["label"] == pytest.approx(40.0, abs=0.005)


def test_no_gauge_is_certain():
    """However fine the instrument, a probability is not shown as a hundred per cent, nor as none."""
    fine = ("label-strength", "--instrument", "limit 0.001", "--label", "46", "--strength")
    assert "more than 99.9 %" in here(*fine, "46").done().out
    assert "less than 0.1 %" in here(*fine, "47").done().out


def test_an_instrument_too_coarse_for_any_label():
    """It says so, and what would help."""
    assert (
        "finer instrument"
        in here("label-strength", "--strength", "46", "--instrument", "limit 1", "--label", "46").done().out
    )


def test_another_tolerance_and_confidence():
    """The rule is a parameter. 46.205 by ± 0.1: 19.5 parts of 20 of what it may be lie inside, 97.5 %."""
    wide = _label("--strength", "46.5", "--instrument", "limit 0.1", "--label", "46", "--tolerance", "1")
    assert (wide["verdict"], wide["rule"]) == ("within", "as given")
    asked = ("--strength", "46.205", "--instrument", "limit 0.1", "--label", "46")
    assert _label(*asked)["probability"] == pytest.approx(0.975)
    strict = _label("--strength", "46.205", "--instrument", "limit 0.1", "--label", "46", "--confidence", "99")
    assert strict["verdict"] == "cannot be told"


# -- trials ----------------------------------------------------------------------------------------


def test_seven_or_eight_per_cent():
    """By one pipette and by two; worked by hand in tests/uncertainty/test_portions.py."""
    found = here("uncertainty", "difference", "7", "8 %", "--instrument", PIPETTE, "--json").done().json
    assert found["distinguishable"]
    assert found["difference"]["standard_uncertainty"] == pytest.approx(0.000534, rel=0.002)
    assert found["difference_by_two_pipettes"]["standard_uncertainty"] == pytest.approx(0.000654, rel=0.002)
    shown = here("uncertainty", "difference", "7", "8", "--instrument", PIPETTE).done().out
    assert "1.00 ± 0.11 (k = 2) %, 18.7 times" in shown
    assert "1.00 ± 0.13 (k = 2) % by two of the kind" in shown
    assert shown.splitlines()[-1].startswith("yes, ")
    assert "the same at both marks" in here("uncertainty", "difference", "7", "8", "--instrument", PIPETTE).done().err


def test_a_difference_within_the_error():
    """A hundredth of a per cent is nothing by that pipette."""
    assert (
        here("uncertainty", "difference", "7", "7.01", "--instrument", PIPETTE)
        .done()
        .out.splitlines()[-1]
        .startswith("no, ")
    )


def test_how_large_a_trial():
    """What is said to be enough is enough, and a millilitre less is not."""
    asked = ("7", "8", "--instrument", PIPETTE)
    found = here("uncertainty", "trial-size", *asked, "--json").done().json
    least = int(found["total_ml"])
    assert found["least_by_two_pipettes_ml"] >= least
    assert found["distinguishable"]
    for total, answer in ((least, True), (least - 1, False)):
        asked = (
            here("uncertainty", "difference", "7", "8", "--instrument", PIPETTE, "--total", f"{total} ml", "--json")
            .done()
            .json
        )
        assert asked["distinguishable"] is answer
    assert (
        f"least trial   {least} ml" in here("uncertainty", "trial-size", "7", "8", "--instrument", PIPETTE).done().out
    )


def test_no_trial_is_large_enough_by_two_pipettes():
    """One small pipette may do, where two of the kind never will."""
    shown = (
        here("uncertainty", "trial-size", "7", "7.1", "--instrument", "limit 0.1 ml, spread 0.001 ml, holds 1 ml")
        .done()
        .out
    )
    assert "no trial is large enough" in shown


def test_portions_of_a_trial_not_in_the_book():
    """Each by its own instrument, or by the one that serves the rest."""
    arguments = (
        "uncertainty",
        "portions",
        "--part",
        "base=90",
        "--part",
        "peat=10",
        "--instrument",
        "cylinder A 100 ml",
        "--instrument",
        f"peat={PIPETTE}",
    )
    found = here(*arguments, "--json").done().json
    assert found["peat"]["volume_ml"]["value"] == pytest.approx(10.0)
    assert set(found["peat"]["volume_ml"]["sources"]) == {PIPETTE, f"{PIPETTE}, pour of peat"}
    rows = here(*arguments).done().out.splitlines()
    assert rows[2].split()[:4] == ["peat", "10.00", "±", "0.10"]


def test_portions_of_a_trial_in_the_book(desk):
    """The plan of the book, a component by the house's name of it."""
    found = desk.asks("uncertainty portions first --instrument 'cylinder A 100 ml' --instrument 'sample 1=P-1'")
    vial, water = found
    assert (vial[0], water) == ("V", "water")
    assert "P-1" in found[vial]["volume_ml"]["sources"]
    assert found["water"]["volume_ml"]["value"] == pytest.approx(7.0)
    assert found["water"]["fraction"]["value"] == pytest.approx(0.07)
