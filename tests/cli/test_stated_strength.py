"""What a lot is labelled with stays what its bottles say; the book's own figure may move, and then somebody is told."""

import pypdfium2
import pytest
from command import here

DAY = ("--when", "2024-02-01")


@pytest.fixture
def lot(tmp_path):
    """A lot bottled at 46 % vol from a batch that was read so."""
    book = tmp_path / "house.pourbook"
    here("create", book, "--house", "Quillmere").done()
    here("batch", "Vatting 1", *DAY, book=book).done()
    here("fill", "Vatting 1", "100 l", "--strength", "46", *DAY, book=book).done()
    here("bottle", "Vatting 1", "--count", "100", "--size", "700 ml", "--ref", "Lot 1", *DAY, book=book).done()
    return book


@pytest.mark.parametrize(("right", "is_told"), [("46.2", False), ("46.6", True)])
def test_a_corrected_source_leaves_the_label_and_warns_beyond_the_tolerance(lot, tmp_path, right, is_told):
    """± 0.3 % vol: Reg. (EU) 1169/2011 Annex XII; 46.2 is within it, 46.6 is not."""
    entries = here("journal", "--item", "Vatting 1", "--json", book=lot).done().json["entries"]
    fill = next(entry["number"] for entry in entries if entry["kind"] == "pour")
    here("replace", fill, "--strength", right, "--reason", "report 2041", book=lot).done()
    shown = here("show", "Lot 1", book=lot).done()
    assert "labelled strength: 46.00" in shown.out
    assert f"{right}0 % vol" in shown.out
    label = here("label", "Lot 1", "--template", "lot-carton-roll-100x60", "-o", tmp_path / "l.pdf", book=lot).done()
    with pypdfium2.PdfDocument(tmp_path / "l.pdf") as document:
        assert "46.0 % vol" in document[0].get_textpage().get_text_range().replace("\xa0", " ")
    for ran in (shown, label):
        assert ("farther apart" in ran.err) is is_told


@pytest.mark.parametrize(
    ("mark", "declared", "said"), [(",", "45,9", "45,9 % vol"), (".", "46", "46 % vol"), (",", "46 % vol", "46 % vol")]
)
def test_a_carton_says_the_strength_as_it_was_declared(lot, tmp_path, mark, declared, said):
    """Not the book's own, whatever the house's decimal mark."""
    here("settings", "--set", f"decimal_mark={mark}", book=lot).done()
    here("set", "Lot 1", f"labelled_strength={declared}", book=lot).done()
    here("label", "Lot 1", "--template", "lot-carton-roll-100x60", "-o", tmp_path / "l.pdf", book=lot).done()
    with pypdfium2.PdfDocument(tmp_path / "l.pdf") as document:
        assert f"\n{said}" in "\n" + document[0].get_textpage().get_text_range().replace("\xa0", " ").replace("\r", "")


@pytest.mark.parametrize("declared", ["strong", "92 proof", "146"])
def test_a_labelled_strength_that_is_none_is_refused(lot, declared):
    assert here("set", "Lot 1", f"labelled_strength={declared}", book=lot).status == 1


def test_a_label_printed_before_its_content_changed_is_told(lot, tmp_path):
    """Until it is printed again."""
    label = ("label", "Lot 1", "--template", "lot-carton-roll-100x60", "--reason", "again", "-o", tmp_path / "l.pdf")
    here(*label, book=lot).done()
    assert "label" not in here("show", "Lot 1", book=lot).done().err
    here("set", "Lot 1", "name=Ostrewick", book=lot).done()
    assert "its label was printed before this changed: name" in here("show", "Lot 1", book=lot).done().err
    assert here("show", "Lot 1", "--json", book=lot).done().json["label_outdated"] == ["name"]
    here(*label, "--force", book=lot).done()
    assert "label_outdated" not in here("show", "Lot 1", "--json", book=lot).done().json
