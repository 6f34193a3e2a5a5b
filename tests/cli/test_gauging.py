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
    here("cask", "Q 1", "--capacity", "225", "--fill", "220 l", "--strength", "63.5", "--wood-days", "0",
         "--happened", "2020-01-01", book=path).done()  # fmt: skip
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
    here("set", "Q 1", "tare_kg=43", "--happened", "2020-01-01", book=book).done()
    ran = here("gauge", "Q 1", "--gross", "223 kg", "--json", book=book).done()
    assert "soaked" in ran.err
    assert ran.json["facts"]["tare_is"] == "dry"


def test_a_dip_uses_the_table_of_its_day(book):
    """Two tables of one vat: a gauge of last year's dip takes last year's table."""
    here("vessel", "Vat 2", "--table", "0 10; 100 1010", "--happened", "2024-01-01", book=book).done()
    here("vessel", "Vat 2", "--table", "0 20; 100 1020", "--happened", "2025-01-01", book=book).done()
    for day, litres in (("2026-02-01", 520.0), ("2024-06-01", 510.0)):
        here("cask", f"tank {day}", "--fill", "500 l", "--strength", "60", "--happened", "2023-01-01", book=book).done()
        here("gauge", f"tank {day}", "--dip", "50", "--vessel", "Vat 2", "--happened", day, book=book).done()
        assert math.isclose(shown(book, f"tank {day}")["volume_ml_20c"], litres * 1000, rel_tol=1e-8)


def test_solids_that_were_determined_stand_in_the_book(book):
    """5 g/L in 1000 L are 5 kg of extract, and the true strength read with them stands."""
    here("gauge", "Vat lot 1", "--strength", "40", "--extract", "5 g/l", book=book).done()
    found = shown(book, "Vat lot 1")
    assert math.isclose(found["extract_mg"] / found["volume_ml_20c"], 5.0, rel_tol=1e-6)
    assert math.isclose(found["strength_20c"], 40.0, abs_tol=1e-6)


def test_known_extract_makes_a_hydrometer_true(book):
    """27 CFR 30.32(b), 0.4 proof per 100 mg/100 mL at 80 to 100 proof: 5 g/L hide 2 proof, about 1 % vol."""
    here("gauge", "Vat lot 1", "--strength", "45", "--extract", "5 g/l", book=book).done()
    here("gauge", "Vat lot 1", "--hydrometer", "44", "--sample-temperature", "20", book=book).done()
    assert math.isclose(shown(book, "Vat lot 1")["strength_20c"], 45.0, abs_tol=0.06)


def test_an_overdue_instrument_warns_and_stands_in_the_record(book):
    """The reading counts; that the instrument was overdue is never lost."""
    here("instrument", "H-3", "--kind", "hydrometer", "--due", "2023-03-01", "--certificate", "CAL 22-7",
         "--happened", "2022-03-01", book=book).done()  # fmt: skip
    ran = here("gauge", "Q 1", "--hydrometer", "60", "--instrument", "H-3", "--json", book=book).done()
    assert "H-3" in ran.err
    entry = here("journal", "--from", ran.json["entries"][-1], "--json", book=book).json["entries"][-1]
    assert "due for its check on 2023-03-01" in entry["body"]["overdue"]
    assert "CAL 22-7" in entry["body"]["instrument"]


def test_a_check_made_since_is_no_matter_of_an_older_reading(book):
    """An instrument that was due in 2023 and checked in 2024 was overdue in between, and only then."""
    here(
        "instrument", "H-4", "--kind", "hydrometer", "--due", "2023-03-01", "--happened", "2022-03-01", book=book
    ).done()
    here("instrument", "H-4", "--due", "2027-03-01", "--happened", "2024-03-01", book=book).done()
    for day, late in (("2022-06-01", False), ("2023-06-01", True), ("2025-06-01", False)):
        ran = here("gauge", "Q 1", "--hydrometer", "60", "--instrument", "H-4", "--happened", day, book=book).done()
        assert ("due for its check" in ran.err) is late


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--strength", "124"), "proof"),
        (("--hydrometer", "60", "--sample-temperature", "68"), "68 F"),
        (("--amount", "198 gal"), "gallons"),
        (("--gross", "40 kg", "--tare", "43 kg"), "below zero"),
        (("--density", "0.905"), "sg"),
        (("--density", "700"), "700"),
        (("--dip", "50"), "vessel"),
        (("--strength", "60", "--hydrometer", "60"), "two ways"),
        (("--amount", "100 l", "--gross", "200 kg"), "two ways"),
        (("--gross", "200 kg"), "tare"),
        (("--extract", "3"), "unit"),
    ],
)
def test_a_likely_slip_is_asked_back_and_nothing_recorded(book, words, named):
    """The question names the slip; the head of the journal stays."""
    head = here("head", book=book).out
    ran = here("gauge", "Q 1", *words, book=book)
    assert ran.status == 1
    assert named in ran.err
    assert here("head", book=book).out == head


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
