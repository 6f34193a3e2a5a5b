"""Files and texts that mean harm: each is read or refused in a sentence, soon, in little memory, and nothing is lost.

`POURBOOK_ROUNDS=2000 pytest tests/campaigns/test_hostile_files.py` for the full form; every round has its own seed.
"""

import contextlib
import io
import os
import resource
import time
import zipfile
import zlib
from random import Random

import pytest
from command import Desk, apart, here
from openpyxl import Workbook

from pourbook.codes.scans import parse
from pourbook.errors import PourbookError

ROUNDS = int(os.environ.get("POURBOOK_ROUNDS", "40"))
SECONDS = 20
"""On a machine that does much else; alone each of them takes less than one, or the two of a start with openpyxl."""
MEMORY = 1_500_000_000
"""Of addresses, not of memory held: the libraries alone reserve half of it."""

SHEET = (
    b'<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
    b"<sheetData>%s</sheetData></worksheet>"
)
TEXTS = (
    "C000123Y", "V000001R", "01", "09521234005674", "(10)", "\x1d", "]C1", "]d2", "https://a.b/01/", "0" * 18, "[GS]",
    "ß", "\x1b[2J", "\u202e", "\0", "\uffff", "'", '"', "=1+1", "🥃", "\n", "\r", "9" * 99, "é", "%00", "../", "-", " ",
)  # fmt: skip


@pytest.fixture
def desk(tmp_path):
    """A house with a cask."""
    desk = Desk(tmp_path / "q.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    desk.does("cask 'Row 3' --fill '200 l' --strength 60")
    return desk


def workbook(sheet_data, **parts):
    """A workbook whose only sheet, `casks`, has this for its rows."""
    book, sink = Workbook(), io.BytesIO()
    book.active.title = "casks"
    book.active.append(["ref", "kind"])
    book.save(sink)
    made = io.BytesIO()
    with zipfile.ZipFile(sink) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.infolist():
            is_sheet = part.filename == "xl/worksheets/sheet1.xml"
            new.writestr(part.filename, SHEET % sheet_data if is_sheet else old.read(part))
        for name, content in parts.items():
            new.writestr(name, content)
    return made.getvalue()


def text_cell(place, text):
    return b'<c r="%s" t="inlineStr"><is><t>%s</t></is></c>' % (place.encode(), text.encode())


def pdf_page(width, height, pages=1):
    """Blank pages of any size in points, as a PDF of a few hundred bytes."""
    kids = b" ".join(b"3 0 R" for _ in range(pages))
    page = b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 %d %d]>>" % (width, height)
    objects = (b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Count %d/Kids[%s]>>" % (pages, kids), page)
    body = b"".join(b"%d 0 obj%sendobj\n" % (number, one) for number, one in enumerate(objects, 1))
    return b"%PDF-1.4\n" + body + b"trailer<</Root 1 0 R>>\n%%EOF"


def png(width, height):
    """A black picture of any size, packed to almost nothing."""

    def chunk(kind, data):
        return len(data).to_bytes(4, "big") + kind + data + zlib.crc32(kind + data).to_bytes(4, "big")

    head = width.to_bytes(4, "big") + height.to_bytes(4, "big") + b"\x08\x00\x00\x00\x00"
    rows = zlib.compress(bytes((width + 1) * min(height, 50)))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


HEAD = b'<row r="1">' + text_cell("A1", "ref") + text_cell("B1", "kind") + b"</row>"
BOOK, TABLE, EPCIS = ("casks.xlsx", "import casks"), ("casks.csv", "import casks"), ("a.jsonld", "import epcis")
PDF, PNG, GIF = ("a.pdf", "read"), ("a.png", "read"), ("a.gif", "read")


def with_row(number, place, text="x"):
    """A workbook with one row more."""
    return workbook(HEAD + b'<row r="%d">' % number + text_cell(place, text) + b"</row>")


BOMBS = {
    "a cell in row 1048577": (BOOK, with_row(1_048_577, "A1048577"), "below row 1048576"),
    "a cell in row two thousand million": (BOOK, with_row(2_000_000_000, "A9"), "below row 1048576"),
    "a cell in the last column": (BOOK, with_row(2, "XFD2"), "beyond column IV"),
    "a cell of a million characters": (BOOK, with_row(2, "A2", "x" * 1_000_000), "may have 32767"),
    "600 MB of nothing": (BOOK, workbook(HEAD, **{"xl/media/a.bin": bytes(600_000_000)}), "more than the 500 MB"),
    "a damaged workbook": (BOOK, workbook(HEAD)[:700], "cannot be read as an XLSX workbook"),
    "a line of two million characters": (
        TABLE, b"ref,kind\n" + b"x" * 2_000_000, "a line has more than 1048576 characters",
    ),
    "a cell of 200,000 characters": (
        TABLE, b"ref,kind\n" + b"x" * 200_000 + b",cask\n", "more than 131072 characters",
    ),
    "three hundred columns": (TABLE, b"ref," * 300 + b"kind\n", "301 columns, and may have 256"),
    "JSON a million deep": (EPCIS, b"[" * 1_000_000, "nested 1000000 deep, and may be 64"),
    "an integer of 5,000 digits": (EPCIS, b'{"type": ' + b"9" * 5_000 + b"}", "is not JSON"),
    "an empty document": (EPCIS, b"", "is not JSON"),
    "a page of 200 inches": (PDF, pdf_page(14_400, 14_400), "3,600 million pixels; 64 million are read"),
    "ten thousand pages": (PDF, pdf_page(72, 72, pages=10_000), "has 10000 pages; 100 are read"),
    "a picture of 10,000 million pixels": (PNG, png(100_000, 100_000), "too large"),
    "a picture of 80 million pixels": (PNG, png(10_000, 8_000), "80 million pixels; 64 million are read"),
    "a picture of one row, 70,000 long": (PNG, png(70_000, 1), "70,000 pixels across"),
    "a picture of another kind": (GIF, b"GIF89a" + bytes(100), "is neither PNG, JPEG nor PDF"),
    "an empty picture": (PNG, b"", "is empty"),
}  # fmt: skip
"""File and verb, content, and what the sentence names."""


@pytest.mark.parametrize("bomb", BOMBS)
def test_a_bomb_is_told_by_the_limit_that_it_reaches(desk, tmp_path, bomb):
    """In a process of its own with little memory: soon, in one sentence, and the book is as it was."""
    (name, verb), content, said = BOMBS[bomb]
    (tmp_path / name).write_bytes(content)
    before = desk.asks("journal")
    started = time.monotonic()

    def little_memory():
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))

    ran = apart(*verb.split(), tmp_path / name, book=desk.book, timeout=SECONDS * 5, preexec_fn=little_memory)
    used = time.monotonic() - started
    assert (ran.status, said in ran.err) == (1, True), ran.err[:2_000]
    assert ran.err.startswith("refused: "), ran.err[:2_000]
    assert used < SECONDS
    assert desk.asks("journal") == before


@pytest.mark.parametrize("verb", ["import casks", "import epcis", "read", "verify --against"])
def test_what_is_no_file_is_told_so(desk, tmp_path, verb):
    """A folder, a pipe, a name that no file can have, nothing at all."""
    os.mkfifo(tmp_path / "pipe")
    for path, said in ((tmp_path, "is a folder"), (tmp_path / "pipe", "a device or a pipe"), (tmp_path / "no", "")):
        ran = desk(f"{verb} {path}")
        assert ran.status == 1
        assert ran.refusal is not None, ran.err
        assert said in ran.err or verb.startswith("verify"), ran.err


def test_a_file_that_may_not_be_read_is_told_so(desk, tmp_path, bound):
    """Its permissions are named."""
    path = tmp_path / "casks.csv"
    path.write_text("ref,kind\n")
    path.chmod(0)
    ran = apart("import", "casks", path, book=desk.book, **bound)
    assert (ran.status, "permissions" in ran.err) == (1, True), ran.err


@pytest.mark.parametrize("seed", range(ROUNDS))
def test_hostile_texts_are_recorded_as_they_are_or_refused(desk, seed):
    """Any text anywhere: no crash, no control character on the screen, and the book verifies."""
    chance = Random(seed)
    text = "".join(chance.choice(TEXTS) for _ in range(chance.choice((1, 3, 10, 60, 300))))
    typed = text.encode("utf-8", "surrogatepass").decode("utf-8", "surrogateescape")
    started = time.process_time()
    for words in (
        ("note", "C-000001-H", typed), ("set", "C-000001-H", f"name={typed}"), ("show", typed), ("scan", typed),
        ("move", typed, "C-000001-H"), ("hold", "C-000001-H", "--reason", typed), ("journal", "--item", typed),
    ):  # fmt: skip
        ran = here(*words, book=desk.book)
        assert ran.status in (0, 1)
        assert "itself failed" not in ran.err, ran.err
        assert "Traceback" not in ran.err
        shown = (ran.out + ran.err).replace("\n", "").replace("\x1b[1m", "").replace("\x1b[0m", "")
        assert shown.isprintable() or not any(ord(one) < 32 or 0x202A <= ord(one) <= 0x202E for one in shown), words
    with contextlib.suppress(PourbookError):
        parse(text)
    assert time.process_time() - started < SECONDS
    desk.does("verify")


@pytest.mark.parametrize("seed", range(ROUNDS))
def test_damaged_files_are_read_or_refused(desk, tmp_path, seed):
    """Bytes of a sound workbook, table, document or picture changed, cut off or doubled."""
    chance = Random(seed)
    good = chance.choice(
        [
            ("casks.xlsx", "import casks", workbook(HEAD + b'<row r="2">' + text_cell("A2", "Row 9") + b"</row>")),
            ("casks.csv", "import casks", b'ref,kind,note\n"Row 9",cask,"a, b"\nRow 10,cask,\n'),
            ("a.jsonld", "import epcis", b'{"@context": [], "type": "EPCISDocument", "epcisBody": {"eventList": []}}'),
            ("a.pdf", "read", pdf_page(200, 200)),
            ("a.png", "read", png(40, 40)),
        ]
    )
    name, verb, content = good
    bad = bytearray(content)
    for _ in range(chance.randrange(1, 9)):
        place = chance.randrange(len(bad))
        match chance.randrange(3):
            case 0:
                bad[place] ^= 1 << chance.randrange(8)
            case 1:
                del bad[place : place + chance.randrange(1, 50)]
                bad = bad or bytearray(b"x")
            case _:
                bad[place:place] = bad[place : place + 40]
    (tmp_path / name).write_bytes(bad)
    ran = desk(f"{verb} {tmp_path / name}")
    assert ran.status in (0, 1)
    assert "itself failed" not in ran.err, ran.err
    desk.does("verify")
