"""What the first page of a dossier says, of a lot of which everything is recorded, and of one that went wrong."""

from decimal import Decimal

import pytest
from recorded_lot import ADDRESS, recorded_lot

from pourbook.codes.identifiers import hyphened
from pourbook.papers.endpoints import Named
from pourbook.paperwork.dossier_of import dossier_of


@pytest.fixture
def house():
    with recorded_lot(2) as house:
        yield house


@pytest.fixture
def values(house):
    return dossier_of(house.book, house.id("L1"))


def test_a_lot_is_named_by_its_mark_and_its_numbers(values):
    """GTINs of the company prefix for examples, item reference 567: check digits by GS1's rule, worked by hand."""
    assert (values.lot_mark, values.gtin, values.case_gtin) == ("L24-066", "9521234005674", "19521234005671")
    assert (values.owner, values.duty, values.zone) == ("Quillmere", "suspended", "Europe/London")


def test_the_declared_strength_stays_whatever_the_book_finds_out(house, values):
    declared = values.labelled_strength_vol
    assert declared == Decimal(f"{values.strength_vol:.2f}")
    assert values.cautions == ()
    house.gauge("L1", None, f"{declared - 1}", at="2024-07-01")
    after = dossier_of(house.book, house.id("L1"))
    assert after.labelled_strength_vol == declared
    assert after.strength_vol == pytest.approx(float(declared) - 1, abs=0.01)
    (caution,) = after.cautions
    assert caution.startswith(f"the label declares {float(declared):g} % vol, the book has")
    assert "0.3 % vol apart" in caution


def test_what_is_on_hold_is_said_first(house):
    house.hold("B1", at="2024-07-01")
    (caution,) = dossier_of(house.book, house.id("L1")).cautions
    assert caution == f"on hold: {hyphened(house.id('B1'))}"


def test_the_trial_that_was_followed_is_named(house, values):
    followed = [(one.blend, one.batch.name) for one in values.follows]
    assert followed == [(Named(hyphened(house.id("T1")), "Trial 24-A"), "Vatting 7")]


def test_customers_are_summed_up_with_the_cases_that_are_still_there(values):
    """Eight cases of six went out, one came back; then two; by the numbers of the cases, the first seven stayed."""
    first, second = values.customers
    assert (first.customer, first.address) == ("Harbour Row Wines", ADDRESS)
    assert (first.sent, first.returned, first.outstanding) == (48, 6, 42)
    assert first.documents == ("DN 2214", "CN 31")
    assert first.units == ("095212340000000013 … 095212340000000075 (7)",)
    assert (second.customer, second.outstanding) == ("Ashgrove Merchants", 12)
    assert second.units == ("095212340000000099", "095212340000000105")
    assert values.lost_bottles == 1


def test_an_origin_is_told_with_the_paper_it_came_with_and_what_of_it_is_in_the_lot(values):
    told = [(row.supplier, row.document, row.carrier) for row in values.origins]
    assert told == [("Tarn Bulk Spirit", f"MD 12-{n:03d}", "Ferrow Haulage, tank 7") for n in (1, 2)]
    assert sum(row.lpa_in_lot_l for row in values.origins) == pytest.approx(float(values.lpa_l), rel=1e-12)
    assert all(row.lpa_in_lot_l < row.lpa_l for row in values.origins)


def test_a_pour_recorded_on_another_day_says_so(values):
    """The casks were filled in 2012 and entered when the book was begun; the vatting was recorded as it was done."""
    by_day = {row.when[:4]: row.recorded for row in values.pours}
    assert by_day == {"2012": "2024-01-01", "2024": ""}
