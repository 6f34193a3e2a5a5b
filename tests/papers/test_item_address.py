"""The symbol of a paper holds the lasting address of its item, once the house says where its station is reached."""

import pypdfium2
import pytest
import zxingcpp
from reportlab.platypus import Spacer

from pourbook import Book, Draft, Item
from pourbook.actions.happening import Happening
from pourbook.errors import Malformed
from pourbook.papers.page import Title, document
from pourbook.paperwork.imprint import imprint_of

STATION = "https://station.quillmere.example"


@pytest.fixture
def book():
    book = Book.create(":memory:", house="Quillmere")
    book.record(Draft(Item("C000001H", {"ref": "Q 31"}), 0, "M. Aldane"))
    return book


def symbols(book, title):
    """What the symbols of a paper's first page say, and how wide each is, in points."""
    pdf = pypdfium2.PdfDocument(document(imprint_of(book), title, lambda _: [Spacer(0, 9)]))
    found = zxingcpp.read_barcodes(pdf[0].render(scale=4).to_pil())
    pdf.close()
    return [(one.text, (one.position.top_right.x - one.position.top_left.x) / 4) for one in found]


def test_the_symbol_is_the_identifier_until_a_station_is_named(book):
    ((text, wide),) = symbols(book, Title("Cask history", "C-000001-H", "C000001H"))
    assert text == "C000001H"
    book.change_settings(Happening("M. Aldane"), {"station_address": STATION})
    ((address, as_wide),) = symbols(book, Title("Cask history", "C-000001-H", "C000001H"))
    assert address == f"{STATION}/item/C000001H"
    assert book.find(address) == "C000001H"
    assert as_wide == pytest.approx(wide, rel=0.1)


def test_what_is_no_item_has_no_address(book):
    book.change_settings(Happening("M. Aldane"), {"station_address": STATION})
    assert [text for text, _ in symbols(book, Title("Stocktake", "STOCKTAKE-12", "STOCKTAKE12"))] == ["STOCKTAKE12"]


@pytest.mark.parametrize("address", ["station", "https://a b", "javascript:x", "https://h/?q", "https://h/"])
def test_an_address_that_is_none_is_refused(book, address):
    with pytest.raises(Malformed):
        book.change_settings(Happening("M. Aldane"), {"station_address": address})
