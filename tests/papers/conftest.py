"""A printed paper read back by readers that are not the writer: text, its places, symbols, properties."""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass

import pypdfium2
import pytest
import zxingcpp

from pourbook.papers.page import Imprint

SCANNING_DPI = 200


@dataclass(frozen=True)
class ReadPage:
    """One page as another program sees it; boxes are left, bottom, right, top in points.

    `boxes` are those of runs of text, `shapes` those of symbols and boxes to write in, `rules`
    the heights of the lines across the page.
    """

    text: str
    boxes: list[tuple[float, float, float, float]]
    shapes: list[tuple[float, float, float, float]]
    rules: list[float]
    width: float
    height: float


@dataclass(frozen=True)
class ReadPaper:
    """All pages, and the properties of the file."""

    pages: list[ReadPage]
    properties: dict[str, str]

    @property
    def text(self) -> str:
        return "\n".join(page.text for page in self.pages)

    @property
    def joined(self) -> str:
        """The text without any white, so that line ends do not matter."""
        return without_white(self.text)


def without_white(text: str) -> str:
    return "".join(text.split())


def read_paper(pdf: bytes) -> ReadPaper:
    with pypdfium2.PdfDocument(pdf) as document:
        return ReadPaper([read_page(page) for page in document], document.get_metadata_dict())


def read_page(page: pypdfium2.PdfPage) -> ReadPage:
    text = page.get_textpage()
    boxes = [text.get_rect(index) for index in range(text.count_rects())]
    paths = [path.get_bounds() for path in page.get_objects([pypdfium2.raw.FPDF_PAGEOBJ_PATH])]
    shapes = [box for box in paths if box[3] - box[1] > 4]
    rules = [(box[1] + box[3]) / 2 for box in paths if box[3] - box[1] < 2]
    return ReadPage(text.get_text_range(), boxes, shapes, rules, *page.get_size())


def scan_paper(pdf: bytes) -> list[list[tuple[str, str]]]:
    """Kind and text of the symbols on the picture of each page, from top to bottom."""
    with pypdfium2.PdfDocument(pdf) as document:
        pictures = [page.render(scale=SCANNING_DPI / 72, grayscale=True).to_numpy().squeeze() for page in document]
    found = [sorted(zxingcpp.read_barcodes(picture), key=lambda code: code.position.top_left.y) for picture in pictures]
    return [[(code.format.name, code.text) for code in codes] for codes in found]


@pytest.fixture(scope="session")
def read() -> Callable[[bytes], ReadPaper]:
    return read_paper


@pytest.fixture(scope="session")
def scan() -> Callable[[bytes], list[list[tuple[str, str]]]]:
    return scan_paper


@pytest.fixture(scope="session")
def squeezed() -> Callable[[str], str]:
    return without_white


@pytest.fixture(scope="session")
def imprint() -> Imprint:
    return Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, hashlib.sha256(b"a journal").hexdigest())


@pytest.fixture(scope="session")
def polish() -> str:
    """The longest name of the demo house: all Polish letters with marks, and a dash."""
    return (
        "Wyselekcjonowana z najstarszych beczek dębowych po winie Źródło Świętokrzyskie – "
        "Przełęcz Łysogór, partia próbna numer pięć, ćwierćbeczka żółta"
    )


@pytest.fixture(scope="session")
def greek() -> str:
    return "Κρασοβάρελο Παλαιού Οινοποιείου της Κάτω Ποταμιάς, δρυς Βαλκανίων"


def overlaps(page: ReadPage) -> list[tuple[tuple[float, ...], tuple[float, ...]]]:
    """Pairs of runs of text that cover each other by more than a hair."""
    boxes = sorted(page.boxes, key=lambda box: box[1])
    found = []
    for index, one in enumerate(boxes):
        for other in boxes[index + 1 :]:
            if other[1] > one[3]:
                break
            across = min(one[2], other[2]) - max(one[0], other[0])
            up = min(one[3], other[3]) - max(one[1], other[1])
            if across > 0.3 and up > 0.3:
                found.append((one, other))
    return found


@pytest.fixture(scope="session")
def well_set() -> Callable[[ReadPaper, float], None]:
    """Asserts that no text lies outside the margins or upon other text, and that nothing crosses a rule."""

    def check(paper: ReadPaper, margin_pt: float) -> None:
        for page in paper.pages:
            left, bottom, right, top = zip(*page.boxes, strict=True)
            assert min(left) >= margin_pt
            assert max(right) <= page.width - margin_pt
            assert min(bottom) >= 15
            assert max(top) <= page.height - margin_pt
            assert overlaps(page) == []
            for box in (*page.boxes, *page.shapes):
                assert not [y for y in page.rules if box[1] + 0.2 < y < box[3] - 0.2]

    return check
