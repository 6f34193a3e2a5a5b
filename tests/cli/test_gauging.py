"""Gauging through the command: hydrometer, density meter, scale, dip, solids, instruments and vessels."""

import math

import pytest
from command import here

US_GAL_L = 3.785411784


@pytest.fixture
def book(tmp_path):
    """A book with one full cask (C1) and one batch in a vat (B1)."""
    path = tmp_path / "house.pourbook"
    here("create", path, "--house", "Quillmere").done()
    here("cask", "Q 1", "--capacity", "225", "--fill", "220 l", "--strength", "63.5", "--in-wood", "0",
         "--when", "2020-01-01", book=path).done()  # fmt: skip
    here("batch", "Vat lot 1", book=path).done()
    here("fill", "Vat lot 1", "1000 l", "--strength", "95", book=path).done()
    return path


def shown(book, item):
    return here("show", item, "--json", book=book).done().json


@pytest.mark.parametrize(
    ("reading", "at", "proof"),
    [
        ("193 proof", "72 F", 190.2),
        ("192 proof", "72 F", 189.1),
        ("192 proof", "73 F", 188.9),
        ("193 proof", "75 F", 189.5),
    ],
)
def test_a_proof_hydrometer_is_read_as_the_regulation_reads_it(book, reading, at, proof):
    """27 CFR 30.23 and 30.61, worked examples of Table 1, to a tenth of a proof after rounding."""
    here("gauge", "Vat lot 1", "--hydrometer", reading, "--sample-temperature", at, book=book).done()
    strength = shown(book, "Vat lot 1")["strength_20c"]
    answer = here("density", "--strength", f"{strength:.9f}", "--json").done().json
    assert math.isclose(answer["proof_60f"], proof, abs_tol=0.05)


def test_a_hydrometer_alone_holds_the_volume(book):
    """A strength-only gauge changes ethanol and water; the volume stays to a drop."""
    before = shown(book, "Q 1")
    here("gauge", "Q 1", "--hydrometer", "58", "--sample-temperature", "14", book=book).done()
    after = shown(book, "Q 1")
    assert math.isclose(after["volume_ml_20c"], before["volume_ml_20c"], rel_tol=1e-6)
    assert after["strength_20c"] != before["strength_20c"]


def test_a_weighing_is_corrected_for_air_and_tare(book):
    """OIML D 28 air (1.2 kg/m3) and weights (8,000 kg/m3): 180 kg shown of about 900 kg/m3 are heavier by 0.118 %."""
    here("gauge", "Q 1", "--gross", "223 kg", "--tare", "43 kg", "--strength", "63.5", book=book).done()
    found = shown(book, "Q 1")
    density = found["mass_mg"] / found["volume_ml_20c"]
    expected = 180e6 * (1 - 1.2 / 8000) / (1 - 1.2 / density)
    assert math.isclose(found["mass_mg"], expected, rel_tol=1e-6)
    assert math.isclose(found["mass_mg"] / 180e6, 1.00118, abs_tol=2e-5)


def test_a_soaked_cask_weighs_more_than_its_dry_tare(book):
    """The tare on record is used, and the warning stands in the record too."""
    here("set", "Q 1", "tare_kg=43", "--when", "2020-01-01", book=book).done()
    ran = here("gauge", "Q 1", "--gross", "223 kg", "--json", book=book).done()
    assert "soaked" in ran.err
    assert ran.json["reading"]["weighed"]["tare_is"] == "dry"


def test_a_dip_uses_the_table_of_its_day(book):
    """Two tables of one vat: a gauge of last year's dip takes last year's table."""
    here("vessel", "Vat 2", "--table", "0 10; 100 1010", "--when", "2024-01-01", book=book).done()
    here("vessel", "Vat 2", "--table", "0 20; 100 1020", "--when", "2025-01-01", book=book).done()
    for day, litres in (("2026-02-01", 520.0), ("2024-06-01", 510.0)):
        here("cask", f"tank {day}", "--fill", "515 l", "--strength", "60", "--when", "2023-01-01", book=book).done()
        here("gauge", f"tank {day}", "--dip", "50", "--vessel", "Vat 2", "--when", day, book=book).done()
        assert math.isclose(shown(book, f"tank {day}")["volume_ml_20c"], litres * 1000, rel_tol=1e-8)


def test_solids_that_were_determined_stand_in_the_book(book):
    """5 g/L in 1000 L are 5 kg of extract, and the true strength read with them stands."""
    here("gauge", "Vat lot 1", "--strength", "40", "--extract", "5 g/l", "--confirm", book=book).done()
    found = shown(book, "Vat lot 1")
    assert math.isclose(found["extract_mg"] / found["volume_ml_20c"], 5.0, rel_tol=1e-6)
    assert math.isclose(found["strength_20c"], 40.0, abs_tol=1e-6)


def test_known_extract_makes_a_hydrometer_true(book):
    """27 CFR 30.32(b), 0.4 proof per 100 mg/100 mL at 80 to 100 proof: 5 g/L hide 2 proof, about 1 % vol."""
    here("gauge", "Vat lot 1", "--strength", "45", "--extract", "5 g/l", "--confirm", book=book).done()
    here("gauge", "Vat lot 1", "--hydrometer", "44", "--sample-temperature", "20", book=book).done()
    assert math.isclose(shown(book, "Vat lot 1")["strength_20c"], 45.0, abs_tol=0.06)


def test_an_overdue_instrument_warns_and_stands_in_the_record(book):
    """The reading counts; that the instrument was overdue is never lost."""
    here("instrument", "H-3", "--kind", "hydrometer", "--due", "2023-03-01", "--certificate", "CAL 22-7",
         "--when", "2022-03-01", book=book).done()  # fmt: skip
    ran = here("gauge", "Q 1", "--hydrometer", "60", "--instrument", "H-3", "--json", book=book).done()
    assert "H-3" in ran.err
    entry = here("journal", "--from", ran.json["entries"][-1], "--json", book=book).json["entries"][-1]
    (used,) = entry["body"]["instruments"]
    assert (used["name"], used["overdue_since"], used["certificate"]) == ("H-3", "2023-03-01", "CAL 22-7")


def test_a_check_made_since_is_no_matter_of_an_older_reading(book):
    """An instrument that was due in 2023 and checked in 2024 was overdue in between, and only then."""
    here("instrument", "H-4", "--kind", "hydrometer", "--due", "2023-03-01", "--when", "2022-03-01", book=book).done()
    here("instrument", "H-4", "--due", "2027-03-01", "--when", "2024-03-01", book=book).done()
    for day, late in (("2022-06-01", False), ("2023-06-01", True), ("2025-06-01", False)):
        ran = here("gauge", "Q 1", "--hydrometer", "60", "--instrument", "H-4", "--when", day, book=book).done()
        assert ("due for its check" in ran.err) is late


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--strength", "124"), "proof"),
        (("--hydrometer", "60", "--sample-temperature", "68"), "68 F"),
        (("--amount", "198 gal"), "'198 l'"),
        (("--gross", "40 kg", "--tare", "43 kg"), "is not above tare"),
        (("--density", "0.905"), "sg"),
        (("--density", "700"), "700"),
        (("--dip", "50"), "vessel"),
        (("--strength", "60", "--hydrometer", "60"), "two ways"),
        (("--amount", "100 l", "--gross", "200 kg"), "two ways"),
        (("--gross", "200 kg"), "tare"),
        (("--extract", "3"), "unit"),
        (("--strength", "60", "--extract", "900 g/l"), "outside"),
        (("--amount", "190", "--strength", "60"), "190 l"),
        (("--amount", "400 kg", "--strength", "60"), "lb"),
        (("--gross", "443 lb", "--tare", "43 kg", "--amount", "190 l"), "two ways"),
        (("--gross", "443 kg", "--tare", "43 kg"), "capacity"),
        (("--amount", "190 l", "--tare", "43 kg"), "gross"),
        (("--amount", "190 l", "--vessel", "Vat 2"), "dip"),
        (("--strength", "60", "--sample-temperature", "14"), "--hydrometer"),
        (("--amount", "190 l", "--meter-start", "10 l"), "--meter"),
    ],
)
def test_a_likely_slip_is_asked_back_and_nothing_recorded(book, words, named):
    """The question names the slip; the head of the journal stays."""
    head = here("journal-hash", book=book).out
    ran = here("gauge", "Q 1", *words, book=book)
    assert ran.status == 1
    assert named in ran.err
    assert here("journal-hash", book=book).out == head


def test_more_than_the_cask_can_hold_is_recorded_when_confirmed(book):
    """The person knows better: 198 gal stand, once confirmed."""
    here("gauge", "Q 1", "--amount", "198 gal", "--confirm", book=book).done()
    assert math.isclose(shown(book, "Q 1")["volume_ml_20c"], 198 * US_GAL_L * 1000, rel_tol=1e-6)


def test_a_reading_is_replaced_with_what_was_right(book):
    """A hydrometer reading corrected by the laboratory's strength; the place in time stays."""
    number = here("gauge", "Q 1", "--hydrometer", "60", "--json", book=book).done().json["entries"][-1]
    here("replace", number, "--strength", "61.7", "--reason", "laboratory", book=book).done()
    assert math.isclose(shown(book, "Q 1")["strength_20c"], 61.7, abs_tol=1e-6)
    assert here("verify", book=book).status == 0


# -- the uncertainty of a gauge ------------------------------------------------------------------------


@pytest.fixture
def shelf(book):
    """A hydrometer, a flow meter and a thermometer whose permissible errors are known, and a balance without."""
    for words in (
        ("H-3", "--kind", "hydrometer", "--unit", "% vol", "--mpe", "0.1", "--resolution", "0.1"),
        ("Meter 1", "--kind", "flow meter", "--unit", "l", "--mpe", "0.5 %"),
        ("T-1", "--kind", "thermometer", "--unit", "C", "--mpe", "0.5", "--resolution", "0.5"),
        ("Scale", "--kind", "balance", "--unit", "kg"),
        ("Rod", "--kind", "dip rod", "--unit", "mm", "--mpe", "1"),
    ):
        here("instrument", *words, "--when", "2020-01-01", book=book).done()
    return book


def gauged(book, *words):
    return here("gauge", "Q 1", *words, "--json", book=book).done()


def test_a_gauge_by_known_instruments_says_how_sure_it_is(shelf):
    """GUM (JCGM 100:2008) 4.3.7 and 5.1.2 by hand, at 20 °C, where the formula has no slope of its own.

    Strength: 0.1/√3 and 0.1/√12 in squares. Volume: 0.5 % of 200 l over √3. Pure alcohol, 0.6 V and S/100 V:
    the root of (0.6 u(V))² + (2 u(S))²; strength and volume were read by two instruments.
    """
    ran = gauged(shelf, "--meter", "200 l", "--instrument", "Meter 1", "--hydrometer", "60", "--instrument", "H-3")
    found = ran.json["uncertainty"]
    of_strength, of_volume = math.hypot(0.1 / math.sqrt(3), 0.1 / math.sqrt(12)), 200 * 0.005 / math.sqrt(3)
    assert math.isclose(found["strength_20c"]["standard_uncertainty"], of_strength, rel_tol=1e-4)
    assert math.isclose(found["volume_l_20c"]["standard_uncertainty"], of_volume, rel_tol=1e-4)
    of_lpa = math.hypot(0.6 * of_volume, 2 * of_strength)
    assert math.isclose(found["lpa"]["standard_uncertainty"], of_lpa, rel_tol=1e-4)
    assert found["strength_20c"]["shown"] == "60.00 ± 0.13 (k = 2)"
    assert found["volume_l_20c"]["shown"] == "200.0 ± 1.2 (k = 2)"
    assert found["lpa"]["shown"] == "120.00 ± 0.74 (k = 2)"
    assert ran.json["taken_as_exact"] == ["temperature"]


def test_what_is_sure_of_a_gauge_stands_in_the_record_and_on_the_screen(shelf):
    """In words, with what was taken as exact."""
    words = ("--hydrometer", "60", "--sample-temperature", "14", "--instrument", "H-3")
    said = here("gauge", "Q 1", *words, book=shelf).done().out.splitlines()[2]
    strength = shown(shelf, "Q 1")["strength_20c"]
    of_what = "± is of the instruments alone, with temperature as exact"
    assert said == f"strength {strength:.2f} ± 0.13 (k = 2) % vol; {of_what}"
    entry = here("journal", "--json", book=shelf).done().json["entries"][-1]
    kept = entry["body"]["uncertainty"]["strength_20c"]
    assert (round(float(kept["value"]), 3), round(float(kept["standard"]), 3)) == (round(strength, 3), 0.064)
    assert entry["body"]["taken_as_exact"] == ["temperature"]
    assert "temperature" not in gauged(shelf, *words, "--instrument", "T-1").json["taken_as_exact"]


def test_a_warm_reading_is_less_sure_by_a_coarse_thermometer(shelf):
    """About 0.35 % vol for a degree at 60 % vol (common practice, no source): half a degree over √3 adds 0.1."""
    words = ("--hydrometer", "60", "--sample-temperature", "14", "--instrument", "H-3")
    exact, read = (
        gauged(shelf, *words, *more).json["uncertainty"]["strength_20c"]["standard_uncertainty"]
        for more in ((), ("--instrument", "T-1"))
    )
    of_temperature = math.sqrt(read**2 - exact**2)
    assert math.isclose(of_temperature, 0.35 * math.hypot(0.5 / math.sqrt(3), 0.5 / math.sqrt(12)), rel_tol=0.1)


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--hydrometer", "60"), ""),
        (
            ("--hydrometer", "60", "--instrument", "an old one", "--confirm"),
            "'an old one' is not an instrument in the book",
        ),
        (("--gross", "223 kg", "--tare", "43 kg", "--instrument", "Scale"), "balance 'Scale' has no permissible error"),
        (("--density", "909", "--instrument", "H-3"), ""),
    ],
)
def test_nothing_is_made_up_of_an_instrument_that_is_not_known(shelf, words, named):
    """No ± at all; where the house could enter the error of the instrument, a line says so."""
    ran = gauged(shelf, *words)
    assert ran.json["uncertainty"] == {}
    assert named in ran.err
    assert bool(ran.err) is bool(named)


def test_a_cask_found_empty_has_no_figures(shelf):
    """Nothing is there, by a meter or by weight; a strength of nothing is not asked for."""
    gone = ("--amount", "0", "--kind", "leak", "--confirm")
    assert gauged(shelf, *gone, "--instrument", "Meter 1").json["uncertainty"] == {}
    assert shown(shelf, "Q 1")["mass_mg"] == 0


def test_a_volume_alone_says_nothing_of_pure_alcohol(shelf):
    """The strength by the book is taken as exact and named; how sure the alcohol is, nobody measured."""
    found = gauged(shelf, "--meter", "200 l", "--instrument", "Meter 1").json
    assert set(found["uncertainty"]) == {"mass_kg", "volume_l_20c"}
    assert found["taken_as_exact"] == ["strength", "temperature"]


def test_a_dip_is_as_sure_as_the_rod_and_the_slope_of_the_table(shelf):
    """1 mm over √3 in a vat of 10 l to the centimetre."""
    here("vessel", "Vat 2", "--table", "0 10; 100 1010", "--when", "2020-01-01", book=shelf).done()
    found = gauged(shelf, "--dip", "21", "--vessel", "Vat 2", "--instrument", "Rod").json
    assert math.isclose(found["uncertainty"]["volume_l_20c"]["standard_uncertainty"], 1 / math.sqrt(3), rel_tol=1e-3)
    assert "calibration table" in found["taken_as_exact"]


def test_an_instrument_in_another_unit_gives_no_wrong_figure(shelf):
    """A density meter that reads kg/m3 did not read % vol: the gauge counts, without a ±, and says why."""
    here("instrument", "D-1", "--kind", "density meter", "--unit", "kg/m3", "--mpe", "0.1", "--when", "2020-01-01",
         book=shelf).done()  # fmt: skip
    ran = gauged(shelf, "--strength", "60", "--instrument", "D-1")
    assert ran.json["uncertainty"] == {}
    assert "D-1" in ran.err


def test_a_gravity_at_60_f_is_kept_and_read_again_at_its_temperature(shelf):
    """0.91333 in air at 60/60 °F is 120 proof, by Table 6 of the US gauging manual (second-hand)."""
    here("instrument", "D-1", "--kind", "density meter", "--unit", "kg/m3", "--mpe", "0.1", "--when", "2020-01-01",
         book=shelf).done()  # fmt: skip
    ran = gauged(shelf, "--density", "0.91333 sg 60/60 air", "--instrument", "D-1")
    assert ran.json["reading"]["density"] == {"shown": "0.91333 sg 60/60 air", "at": "15.5556 C"}
    strength = shown(shelf, "Q 1")["strength_20c"]
    proof = here("density", "--strength", f"{strength:.9f}", "--json").done().json["proof_60f"]
    assert math.isclose(proof, 120, abs_tol=0.08)
    density = here("strength", "--density", "0.91333 sg 60/60 air", "--json").done().json["density_kg_m3"]
    gauged(shelf, "--density", f"{density:.6f}", "--sample-temperature", "60 F", "--instrument", "D-1")
    assert math.isclose(shown(shelf, "Q 1")["strength_20c"], strength, abs_tol=1e-5)
    by_book = here("uncertainty", "Q 1", "--json", book=shelf).done().json["uncertainty"]["strength_20c"]
    again = ran.json["uncertainty"]["strength_20c"]
    assert math.isclose(by_book["standard_uncertainty"], again["standard_uncertainty"], rel_tol=1e-3)
    refused = here("gauge", "Q 1", "--density", "0.91333 sg", "--sample-temperature", "14", book=shelf)
    assert "is of a liquid at 20 °C, but it had 14 °C" in refused.err


def test_a_label_is_judged_by_the_laws_of_the_instruments_of_the_gauge(shelf):
    """A hydrometer of ± 0.2 and no more known: the truth lies from 46.0 to 46.4, three quarters of it below 46.3."""
    here("instrument", "H-9", "--kind", "hydrometer", "--unit", "% vol", "--mpe", "0.2", "--when", "2020-01-01",
         book=shelf).done()  # fmt: skip
    here("batch", "PB", book=shelf).done()
    here("fill", "PB", "100 l", "--strength", "46.3", book=shelf).done()
    here("gauge", "PB", "--hydrometer", "46.2", "--instrument", "H-9", book=shelf).done()
    told = here("label-strength", "PB", "--label", "46", "--json", book=shelf).done().json
    assert math.isclose(told["probability"], 0.75, abs_tol=1e-4)
    assert told["verdict"] == "cannot be told"


# -- flow meters --------------------------------------------------------------------------------


def test_a_flow_meter_is_read_with_its_factor_and_at_its_temperature(shelf):
    """512.4 l less 300 l by a meter that shows 0.2 % too little, at 30 °C: the mass of 212.8248 l at 30 °C."""
    here("instrument", "Meter 1", "--factor", "1.002", "--when", "2020-01-01", book=shelf).done()
    words = ("--meter", "512.4 l", "--meter-start", "300 l", "--instrument", "Meter 1", "--temperature", "30")
    ran = gauged(shelf, *words, "--strength", "60")
    assert ran.json["reading"]["meter"] == {"end": "512.4 l", "start": "300 l", "factor": "1.002"}
    density = here("density", "--strength", "60", "--temperature", "30", "--json").done().json["density_kg_m3"]
    assert math.isclose(shown(shelf, "Q 1")["mass_mg"], 212.8248 * density * 1000, rel_tol=1e-8)
    assert shown(shelf, "Q 1")["volume_ml_20c"] < 212_000


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("gauge", "Q 1", "--meter", "200 kg"), "volumes"),
        (("gauge", "Q 1", "--meter", "200 l", "--amount", "200 l"), "two ways"),
        (("gauge", "Q 1", "--meter", "200 l", "--meter-start", "300 l"), "leaves nothing"),
        (("gauge", "Q 1", "--meter", "900 l"), "gallons"),
        (("instrument", "Meter 1", "--factor", "100.2"), "per cent"),
        (("instrument", "Meter 1", "--mpe", "0.5 l"), "per cent"),
    ],
)
def test_slips_with_a_flow_meter_are_asked_back(shelf, words, named):
    """The question names the slip; nothing is recorded."""
    head = here("journal-hash", book=shelf).out
    ran = here(*words, book=shelf)
    assert (ran.status, here("journal-hash", book=shelf).out) == (1, head)
    assert named in ran.err


# -- weighed in air, with extract --------------------------------------------------------------


@pytest.mark.parametrize("read", [("--strength", "25"), ("--hydrometer", "4"), ()])
def test_a_weighing_in_air_is_that_of_the_liquid_with_its_extract(book, read):
    """As `convert` has it: a liqueur of 250 g/l displaces less air than its spirit alone, by 114 parts in a million.

    By hand: 1.2 kg/m3 of air, weights of 8,000 kg/m3, and the density of the whole liquid.
    """
    here("gauge", "Q 1", "--amount", "200 l", "--strength", "25", "--extract", "250 g/l", "--confirm", book=book).done()
    extract = ("--extract", "250 g/l") if read else ()
    weighed = ("--gross", "223 kg", "--tare", "23 kg", *read, *extract, "--kind", "other", "--confirm")
    here("gauge", "Q 1", *weighed, book=book).done()
    found = shown(book, "Q 1")
    density = found["mass_mg"] / found["volume_ml_20c"]
    assert found["mass_mg"] / 200e6 == pytest.approx((1 - 1.2 / 8000) / (1 - 1.2 / density), abs=2e-8)
    if read[:1] == ("--strength",):
        words = ("--mass", "200 kg", "--strength", "25", "--extract", "250 g/l", "--in-air")
        converted = here("convert", *words, "--json").done().json
        assert found["mass_mg"] / 1e6 == pytest.approx(converted["mass_kg"], abs=2e-5)


# -- what the account reads ---------------------------------------------------------------------


def test_what_a_gauge_found_missing_goes_where_a_person_says(book):
    """The air takes what a cask lost, unless the person who gauged it knows better."""
    here("gauge", "Q 1", "--amount", "215 l", "--when", "2021-01-01", book=book).done()
    here("gauge", "Q 1", "--amount", "190 l", "--kind", "leak", "--when", "2022-01-01", "--confirm", book=book).done()
    here("gauge", "Q 1", "--amount", "170 l", "--kind", "theft", "--when", "2023-01-01", "--confirm", book=book).done()
    period = ("--from", "2020-01-01", "--to", "2023-12-31")
    (group,) = here("account", *period, "--json", book=book).done().json["groups"]
    losses = {line["heading"]: round(line["bulk_l"]) for line in group["lines"] if line["side"] == "loss"}
    assert losses == {"evaporation": 5, "leak": 25, "theft": 20}


# -- the air, the tare of the day, classes ------------------------------------------------------


def test_a_house_in_the_mountains_weighs_in_thinner_air(book):
    """Air of 1.0 kg/m3 and brass weights of 8,400: the balance of buoyancies by hand; the record names both."""
    here("settings", "--set", "air_kg_m3=1.0", "--set", "weights_kg_m3=8400", book=book).done()
    ran = gauged(book, "--gross", "223 kg", "--tare", "43 kg", "--strength", "63.5")
    assert ran.json["reading"]["weighed"].items() >= {"air_kg_m3": "1.0", "weights_kg_m3": "8400"}.items()
    found = shown(book, "Q 1")
    density = found["mass_mg"] / found["volume_ml_20c"]
    assert math.isclose(found["mass_mg"], 180e6 * (1 - 1.0 / 8400) / (1 - 1.0 / density), rel_tol=1e-7)
    assert here("settings", "--set", "air_kg_m3=12", book=book).status == 1


def test_the_tare_is_that_of_the_day(book):
    """A cask weighed empty again in 2024: a weighing of 2022 takes the tare that stood then."""
    here("set", "Q 1", "tare_kg=43", "--when", "2020-01-01", book=book).done()
    here("set", "Q 1", "tare_kg=46", "--when", "2024-01-01", book=book).done()
    for day, tare in (("2022-01-01", "43 kg"), ("2025-01-01", "46 kg")):
        assert gauged(book, "--gross", "223 kg", "--when", day).json["reading"]["weighed"]["tare"] == tare


def test_an_instrument_of_a_class_is_as_sure_as_its_class(book):
    """OIML class II, read to 0.1: 0.1 % vol at the most (reference table of measurement checks), as typed above."""
    here("instrument", "H-5", "--kind", "hydrometer", "--class", "hydrometer II", "--when", "2020-01-01",
         book=book).done()  # fmt: skip
    found = gauged(book, "--hydrometer", "60", "--instrument", "H-5").json["uncertainty"]["strength_20c"]
    assert found["shown"] == "60.00 ± 0.13 (k = 2)"
    assert "hydrometer II" in here("instrument", "H-6", "--class", "the best", book=book).err


def test_what_solids_will_hide_of_a_blend_is_said_before_it_is_poured(book):
    """27 CFR 30.32(b), 0.4 proof for 100 mg/100 mL at 80 to 100 proof: half of 10 g/l hides 2 proof, 1 % vol."""
    here("gauge", "Vat lot 1", "--strength", "45", "--extract", "10 g/l", "--confirm", book=book).done()
    here("cask", "plain", "--fill", "100 l", "--strength", "45", book=book).done()
    words = ("trial", "--part", "Vat lot 1=1", "--part", "plain=1")
    mix = here(*words, "--json", book=book).done().json["mix"]
    assert math.isclose(mix["extract_g_per_l"], 5.0, rel_tol=1e-3)
    assert math.isclose(mix["strength_20c"] - mix["apparent_strength_20c"], 1.0, abs_tol=0.06)
    assert "a hydrometer will show 43.9" in here(*words, book=book).done().out


# -- names that no instrument has, and what a gauge is good for afterwards ----------------------


def test_a_mistyped_instrument_is_asked_back_with_the_nearest_names(shelf):
    """A gauge by 'H3' would have no ± and nobody would see; confirmed, the name is kept as text."""
    ran = here("gauge", "Q 1", "--hydrometer", "60", "--instrument", "H3", book=shelf)
    assert ran.status == 1
    assert "was it H-3?" in ran.err
    told = gauged(shelf, "--hydrometer", "60", "--instrument", "H3", "--confirm")
    assert [one["name"] for one in told.json["instruments"]] == ["H3"]


def test_a_house_without_instruments_writes_them_as_text(book):
    """It is said, and recorded."""
    ran = here("gauge", "Q 1", "--hydrometer", "60", "--instrument", "the old one", "--json", book=book).done()
    assert "not an instrument in the book" in ran.err
    assert [one["name"] for one in ran.json["instruments"]] == ["the old one"]


def test_the_last_gauge_says_how_sure_a_strength_is_until_something_is_poured_in(shelf):
    """Shown with the batch and with a lot of it; by it, 46.1 ± 0.06 may be labelled 46 (± 0.3, EU 1169/2011)."""
    here("batch", "PB", book=shelf).done()
    here("fill", "PB", "100 l", "--strength", "46.3", book=shelf).done()
    refused = here("label-strength", "PB", "--label", "46", book=shelf)
    assert "no gauge states the uncertainty" in refused.err
    here("gauge", "PB", "--hydrometer", "46.1", "--instrument", "H-3", book=shelf).done()
    told = here("label-strength", "PB", "--label", "46", "--json", book=shelf).done().json
    assert (told["verdict"], told["label"]) == ("within", 46.0)
    assert math.isclose(told["gauge"]["value"], 46.1, abs_tol=1e-6)
    assert math.isclose(told["gauge"]["standard_uncertainty"], math.hypot(0.1 / math.sqrt(3), 0.1 / math.sqrt(12)),
                        abs_tol=6e-4)  # fmt: skip
    here("bottle", "PB", "--count", "10", "--size", "700 ml", "--ref", "Lot 1", book=shelf).done()
    for item in ("PB", "Lot 1"):
        assert "strength 46.10 ± 0.13 (k = 2) % vol" in here("show", item, book=shelf).done().out
    assert here("label-strength", "Lot 1", "--json", book=shelf).done().json["label"] == 46.1
    here("fill", "PB", "1 l", "--strength", "60", book=shelf).done()
    assert "±" not in here("show", "PB", book=shelf).done().out
    assert here("label-strength", "PB", "--label", "46", book=shelf).status == 1
    assert "46.10 ± 0.13 (k = 2)" in here("show", "Lot 1", book=shelf).done().out


def test_a_bare_number_lost_from_a_vat_is_asked_back(book):
    """'1' would be a millilitre of 1,000 l."""
    for words in (
        ("bottle", "Vat lot 1", "--count", "10", "--size", "700 ml", "--loss", "filter=1"),
        ("loss", "Vat lot 1", "1", "--kind", "filter"),
    ):
        ran = here(*words, book=book)
        assert (ran.status, "write its unit: '1 l'" in ran.err) == (1, True)
        here(*words, "--confirm", "--dry-run", book=book).done()


def test_a_strength_may_stand_on_a_label_by_its_gauge(shelf):
    """The verdict and probability that `label-strength` gives, with the gauge's entry; on a lot that of its batch."""
    here("batch", "PB", book=shelf).done()
    here("fill", "PB", "100 l", "--strength", "46.3", book=shelf).done()
    read = here("gauge", "PB", "--hydrometer", "46.1", "--instrument", "H-3", "--json", book=shelf).done().json

    def strength(item, *words):
        told = here("statements", item, *words, "--json", book=shelf).done().json["statements"]
        return next(one for one in told if one["name"] == "strength")

    for label, stands in (
        ("46", "allowed"),
        ("45.6", "not allowed"),
        ("46.35", "not allowed"),
        ("45.8", "cannot be said"),
    ):
        found = strength("PB", "--strength", label)
        by_gauge = here("label-strength", "PB", "--label", label, "--json", book=shelf).done().json
        points = {one["name"]: one for one in (*found["rests_on"], *found["against"])}
        assert (found["stands"], float(points["probability"]["value"])) == (
            stands, pytest.approx(by_gauge["probability"], abs=5e-5)
        )  # fmt: skip
        assert points["uncertainty"]["entry"] in read["entries"]
    here("bottle", "PB", "--count", "10", "--size", "700 ml", "--ref", "Lot 1", book=shelf).done()
    assert strength("Lot 1")["stands"] == "allowed"
    assert strength("Lot 1", "--rules", "us", "--strength", "92.2 proof")["stands"] == "allowed"
