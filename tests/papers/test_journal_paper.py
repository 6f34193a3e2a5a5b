"""The journal on paper: every entry once, with its hash; pages that can be laid beside the book."""

import re
import sqlite3
from itertools import pairwise

import pytest
from command import here
from house import House

from pourbook import Pour

VOUCHED = re.compile(r"(first|last)\s+on this page\s+(\d+):([0-9a-f]{64})")


@pytest.fixture
def book(tmp_path):
    """Forty casks with refs, a draw of two lines, a void, a vatting of forty lines."""
    path = tmp_path / "quillmere.pourbook"
    with House(path, zone="Europe/London") as house:
        for number in range(1, 41):
            house.open(f"C{number}", ref=f"Row 3/{number:02}")
            house.cask(f"C{number}", "200 l", "63.5", at="2024-02-01", distiller="Corran Vale")
        drawn = house.draw("C7", "V1", "100 ml", at="2024-03-01", purpose="trial 24-A")
        house.void(drawn, reason="from the wrong cask")
        casks = [name for name in house.ids if name[0] == "C"]
        house.record(Pour("dump", tuple(house.move(name, "B1", "20 l", document=f"DN-{name}") for name in casks)))
    return path


def print_journal(book, tmp_path, *options):
    """What the command said, as JSON, and the bytes of the paper."""
    path = tmp_path / "journal.pdf"
    said = here("journal", *options, "-o", path, "--json", book=book).done().json
    return said, path.read_bytes()


def test_every_entry_is_there_and_each_page_vouches_for_its_own(book, tmp_path, read, well_set):
    """The first and last hash of each page are those of the book, page follows page, and verify takes each."""
    said, pdf = print_journal(book, tmp_path)
    entries = here("journal", "--json", book=book).done().json["entries"]
    paper = read(pdf)
    well_set(paper, 30)
    assert (said["entries"], said["last"]["hash"]) == (len(entries), entries[-1]["hash"])
    assert len(paper.pages) > 3
    ends = []
    for page in paper.pages:
        ((_, first, first_hash), (_, last, last_hash)) = VOUCHED.findall(page.text)
        assert first_hash == entries[int(first) - 1]["hash"]
        assert last_hash == entries[int(last) - 1]["hash"]
        ends.append((int(first), int(last)))
    assert ends[0][0] == 1
    assert ends[-1][1] == len(entries)
    for (_, last), (first, _) in pairwise(ends):
        assert first in (last, last + 1)  # an entry may fill more than a page
    assert all(entry["hash"][:16] in paper.text for entry in entries)
    (_, (_, last, last_hash)) = VOUCHED.findall(paper.pages[1].text)
    against = here("verify", "--against", f"{last}:{last_hash}", "--json", book=book).done().json["against"]
    assert (against["agrees"], against["agreed"]) == (True, int(last))
    assert here("verify", "--against", f"{last}:{'0' * 64}", book=book).status == 1


def test_items_go_by_their_refs_and_what_no_longer_counts_says_so(book, tmp_path, read):
    """Both ends of a line with their refs; a void and what it voided name each other; the reason stands there."""
    text = " ".join(read(print_journal(book, tmp_path, "--from", "60")[1]).text.split())
    entries = here("journal", "--json", book=book).done().json["entries"]
    drawn = next(entry for entry in entries if entry["body"].get("verb") == "draw")
    assert "draw: 100 ml from C-000007-5 (Row 3/07) into V-000001-R; purpose trial 24-A" in text
    assert f"no longer counts: see entry {drawn['gone']}" in text
    assert "reason: from the wrong cask" in text


def test_what_is_printed_of_it_is_said(book, tmp_path, read):
    """Of one item, up to a day."""
    said, pdf = print_journal(book, tmp_path, "--item", "Row 3/07", "--at", "2024-02-28")
    text = read(pdf).text
    assert "Only: item Row 3/07; until 2024-02-28." in " ".join(text.split())
    assert said["entries"] == 2


def test_equal_books_give_equal_bytes(book, tmp_path):
    """Without the time of printing, which the page states."""
    both = [re.sub(rb"20\d\d-\d\d-\d\d \d\d:\d\d", b"", print_journal(book, tmp_path, "--force")[1]) for _ in range(2)]
    assert len(both[0]) == len(both[1])


@pytest.mark.parametrize("where", ["kind = 'void'", "number = 2"])
def test_a_book_that_was_changed_marks_every_page(book, tmp_path, read, where):
    """The chain is checked as it is printed."""
    with sqlite3.connect(book) as connection:
        connection.execute(f'UPDATE entry SET bytes = replace(bytes, \'"who":"M\', \'"who":"N\') WHERE {where}')
        assert connection.execute("SELECT changes()").fetchone() == (1,)
    connection.close()
    said, pdf = print_journal(book, tmp_path)
    assert "this book does not agree with its journal" in said["warnings"][0]
    assert all("This book does not agree with its journal" in page.text for page in read(pdf).pages)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("-o", "j.csv"), "for a table: pourbook export journal"),
        (("--from", "999", "-o", "j.pdf"), "no entry of the journal"),
    ],
)
def test_what_cannot_be_printed(book, options, said, monkeypatch, tmp_path):
    """Refused in a sentence; no file."""
    monkeypatch.chdir(tmp_path)
    ran = here("journal", *options, book=book)
    assert ran.status == 1
    assert said in ran.err
    assert not (tmp_path / options[-1]).exists()
