"""Samples from outside, in one command: shown, labelled, poured, traced, recalled; and what cannot be scaled up."""

import pypdfium2
import pytest
from command import Desk, here

from pourbook.errors import Malformed, NotThere

VIAL = (
    "vial '200 ml' --ref 'T 7' --supplier 'Tarn Bulk Spirit' --supplier-ref 7/14 --strength 61.2"
    " --document 'sample note 88' --in-wood '12 y' --wood 'rum barrel' --spirit 'malt spirit' --when 2026-05-04"
)


@pytest.fixture
def desk(tmp_path):
    """A cask of ours, its sample, and a sample from outside."""
    desk = Desk(tmp_path / "house.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    desk.does("cask 'Q 31' --wood oak --fill '200 l' --strength 60 --in-wood 0 --when 2010-05-04")
    desk.does("draw 'Q 31' '200 ml' --ref 'S 1' --when 2026-05-03")
    desk.vial = desk.asks(VIAL)["id"]
    return desk


@pytest.fixture
def trial(desk):
    """Three parts of our sample and one of theirs, poured."""
    trial = desk.asks("trial --part 'S 1=3' --part 'T 7=1' --total '100 ml'")["id"]
    desk.does(f"pour {trial} 'S 1' '75 ml'")
    desk.does(f"pour {trial} 'T 7' '25 ml'")
    return trial


def test_show_says_where_an_outside_sample_is_from(desk):
    """Supplier, their reference, the document, the day, the age they state."""
    said = here("show", "T 7", book=desk.book).done().out
    assert "outside sample from Tarn Bulk Spirit, their 7/14, sample note 88, received 2026-05-04" in said
    assert "12 y in wood" in said
    sample = desk.asks("show 'T 7'")["outside_sample"]
    assert (sample["facts"]["supplier_ref"], sample["happened"][:10]) == ("7/14", "2026-05-04")
    assert "outside_sample" not in desk.asks("show 'S 1'")


def test_it_needs_a_supplier_and_a_strength(desk):
    """A sample nobody supplied is none; an expected strength is pending, as of any other spirit."""
    ran = here("vial", "200 ml", "--strength", "60", book=desk.book)
    assert ran.refusal is Malformed
    assert "--supplier" in ran.err
    assert here("vial", "200 ml", "--supplier", "Tarn", book=desk.book).refusal is Malformed
    vial = desk.asks("vial '200 ml' --supplier Tarn --strength 60 --pending")["id"]
    assert desk.asks(f"show {vial}")["pending"]


def test_its_label_says_whose_it_is(desk, tmp_path):
    """The supplier's reference stands where a cask's name would."""
    here("label", "T 7", "--template", "vial-roll-30x15", "-o", tmp_path / "vial.pdf", book=desk.book).done()
    with pypdfium2.PdfDocument(tmp_path / "vial.pdf") as document:
        text = document[0].get_textpage().get_text_range()
    assert "T 7" in text
    assert "Tarn Bulk Spirit 7/14" in text


def test_a_trial_with_it_is_traced_to_supplier_and_document(desk, trial):
    """As an origin, with all that came with it; a recall finds it by the supplier's reference."""
    origins = desk.asks(f"trace {trial}")["origins"]
    assert ("Tarn Bulk Spirit", "7/14", "sample note 88", desk.vial) in {
        (*(one["facts"].get(name) for name in ("supplier", "supplier_ref", "document")), one["into"]) for one in origins
    }
    assert "malt spirit, Tarn Bulk Spirit 7/14, sample note 88" in here("trace", trial, book=desk.book).done().out
    affected = desk.asks("affected --origin 'supplier_ref=7/14'")
    assert {one["id"] for one in affected["items"]} == {desk.vial, trial}


def test_scaling_up_says_what_cannot_be_scaled_and_why(desk, trial):
    """Of an outside sample there is the vial and no more, until what was bought stands in for it."""
    ran = here("scale-up", trial, "--total", "100 l", book=desk.book)
    assert ran.refusal is NotThere
    assert "needs 25.00 l, but V-000002-P holds 0.18 l" in ran.err
    assert "V-000002-P is an outside sample (Tarn Bulk Spirit 7/14) with no cask behind it" in ran.err
    assert "--use 'V-000002-P=CASK'" in ran.err
    bought = desk.asks("batch 'Tanker 3'")["id"]
    desk.does(f"fill {bought} '60 l' --strength 61.2 --supplier 'Tarn Bulk Spirit'")
    plan = desk.asks(f"scale-up {trial} --total '100 l' --use 'T 7={bought}'")
    assert {pull["source"] for pull in plan["pulls"]} == {bought, desk.asks("show 'Q 31'")["id"]}


def test_it_keeps_its_supplier_when_the_book_moves_house(desk, trial, tmp_path):
    """Exported and imported, the sample is still theirs."""
    here("export", "history", "-o", tmp_path / "moving", book=desk.book).done()
    other = Desk(tmp_path / "other.pourbook", here)
    other.does(f"create {other.book} --house Quillmere")
    other.does(f"import history {tmp_path / 'moving'}")
    assert other.asks("show 'T 7'")["outside_sample"]["facts"]["supplier_ref"] == "7/14"
    assert desk.asks("verify")["faults"] == []
