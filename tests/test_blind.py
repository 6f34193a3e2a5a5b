"""A blind session from invitation to reveal: until it is closed, nothing but the pour sheet says which code is what.

Four guests, six glasses (one of them offered twice), by the real command. Everything that the command writes before the
close is read: screens, JSON, tables, papers with their decoded symbols. No line, no record and no page links a code
with the item in its glass.
"""

import csv
import io
import json
import re
from collections import Counter
from hashlib import sha256
from itertools import pairwise

import pypdfium2
import pytest
from command import Desk, here

from pourbook import Book
from pourbook.book.sealing import seal_of
from pourbook.book.sessions import key_to, session_named
from pourbook.codes.identifiers import hyphened
from pourbook.labels.decoding import codes_in

GUESTS = ("Isla Farrow", "M. Aldane", "Tomas Reeve", "Una Brill")
WOODS = ("ash", "chestnut", "heather-wine cask", "juniper", "rowan")
WISH = " ".join(
    [*(f"--glass 'S {n}'" for n in range(1, 6)), "--repeat 'S 2'", *(f"--assessor '{guest}'" for guest in GUESTS)]
)


def key_of_session(book):
    """Which item is in which glass: what only the pour sheet may say."""
    with Book.open(book) as opened:
        flights, _ = key_to(opened.store, session_named(opened.store, "Autumn"))
    return flights


def pdf_pages(path):
    """Each page of a PDF as text."""
    with pypdfium2.PdfDocument(path) as document:
        return [page.get_textpage().get_text_bounded() for page in document]


class Evening:
    """A house with five samples and an open session; everything that is said of it is kept by what was asked."""

    def __init__(self, folder):
        self.folder = folder
        self.desk = Desk(folder / "q.pourbook", here)
        self.said = {}
        self.does(f"create {self.desk.book} --house Quillmere", kept=False)
        for n, wood in enumerate(WOODS, start=1):
            self.does(f"cask 'Q {n}' --wood '{wood}' --fill '200 l' --strength 6{n} --when 2024-01-0{n}", kept=False)
            self.does(f"draw 'Q {n}' '110 ml' --ref 'S {n}' --when 2024-02-0{n}", kept=False)
        self.does("set 'Q 2' 'previous=almond wine' allergens=nuts --when 2024-01-03", kept=False)

    def does(self, line, typed="", *, kept=True, refused=False):
        """A command; what it said is kept to be read."""
        ran = self.desk(line, typed)
        assert refused or ran.status == 0, ran.err
        if kept:
            self.said[f"{line} <<< {typed}" if typed else line] = ran.out + ran.err
        return ran

    def asks(self, *lines):
        """Questions, each as lines and as JSON."""
        for line in lines:
            self.does(line)
            self.does(f"{line} --json")


@pytest.fixture(scope="module")
def evening(tmp_path_factory):
    """The session up to the last ballot, still open."""
    evening = Evening(tmp_path_factory.mktemp("evening"))
    folder, opened = evening.folder, f"{WISH} --amount '15 ml' --to 21 --purpose choose"
    evening.asks(f"session plan {WISH} --amount '15 ml' --to 21")
    evening.does(f"session open Autumn {opened} --dry-run --json")
    evening.does(f"session open Autumn {opened}")
    evening.does(f"session sheets Autumn --ballots {folder}/ballots.pdf")
    evening.does(f"session sheets Autumn --pour-sheet {folder}/sealed.pdf --who 'Hollis Quay'")
    evening.does(f"session labels Autumn -o {folder}/labels.pdf")
    evening.does(f"session ballot Autumn --write-form {folder}/ballots.csv")
    evening.does("session pour Autumn --json")
    flights = key_of_session(evening.desk.book)
    first, *others = flights
    for place, glass in enumerate(first.glasses[:3]):
        evening.does(f"session ballot Autumn --code {glass.code} --score {70 + place} --nose 'pear {place}' --json")
    typed = "".join(f"{glass.code}\nscore 6{place}\ntoo much oak\n" for place, glass in enumerate(first.glasses[3:]))
    evening.does("session ballot Autumn", typed + "done\n")
    wrong = others[0].glasses[0].code
    evening.does(f"session ballot Autumn --code {first.glasses[0].code} --score 50", refused=True)
    evening.does(f"session ballot Autumn --code {wrong} --by 'Una Brill' --score 50", refused=True)
    evening.does("session report Autumn", refused=True)
    evening.does("session close Autumn", refused=True)
    rows = list(csv.DictReader((folder / "ballots.csv").read_text("utf-8").splitlines()))
    answered = folder / "answered.csv"
    with answered.open("w", newline="") as file:
        table = csv.DictWriter(file, rows[0].keys())
        table.writeheader()
        for number, row in enumerate(rows[6:]):
            table.writerow(row | {"score": str(60 + number), "finish": "oak 3, smoke 1; short", "missing": "weight"})
    evening.does(f"session ballot Autumn {answered}")
    evening.asks(
        "session show autumn", "session list", "tastings", "tastings pear", "journal",
        "journal --kind session", "journal --kind taste", "stock",
        "print-log", "due", "casks", *(f"show 'S {n}'" for n in range(1, 6)), "show 'Q 2'", "trace 'S 2'",
        "trace 'Q 2' --forward", "recall --list", "affected --item 'Q 2'", "settings",
    )  # fmt: skip
    evening.does(f"journal -o {folder}/journal.pdf")
    evening.does(f"export journal -o {folder}/journal.csv")
    evening.does(f"export pours -o {folder}/pours.csv")
    evening.does(f"export stock -o {folder}/stock.csv")
    evening.does(f"export history -o {folder}/history")
    evening.flights = flights
    evening.names = {glass.item: _names(glass.item) for flight in flights for glass in flight.glasses}
    return evening


def _names(item):
    """Every way in which an item of the evening is named: its identifier, its ref, its cask and wood."""
    number = int(item[1:-1])
    ref = {1: 1, 2: 2, 3: 3, 5: 4, 6: 5}[number]
    return {item, hyphened(item), f"S {ref}", f"Q {ref}", WOODS[ref - 1]}


def has(text, word):
    """Whether a text has a word as a whole."""
    return re.search(rf"(?<![\w.,-]){re.escape(word)}(?![\w-]|[.,]\d)", text) is not None


def linked(evening, text):
    """Codes that a text names together with the item in their glass."""
    return {
        glass.code
        for flight in evening.flights
        for glass in flight.glasses
        if has(text, glass.code) and any(has(text, name) for name in evening.names[glass.item])
    }


def codes_named(evening, text):
    return {glass.code for flight in evening.flights for glass in flight.glasses if has(text, glass.code)}


def records(document):
    """Every object of a JSON document that holds no other object, and every entry of a journal as a whole."""
    if isinstance(document, dict):
        inner = [value for value in document.values() if isinstance(value, dict | list)]
        if "body" in document or not any("{" in json.dumps(one) for one in inner):
            yield json.dumps(document, ensure_ascii=False)
            return
        yield json.dumps({k: v for k, v in document.items() if not isinstance(v, dict | list)}, ensure_ascii=False)
        document = inner
    if isinstance(document, list):
        for value in document:
            yield from records(value)


# -- before it is closed -----------------------------------------------------------------


def test_no_screen_and_no_document_links_a_code_with_its_glass(evening):
    """Every line and every JSON record of every command so far."""
    leaks = {}
    for line, said in evening.said.items():
        out = said[: said.rindex("}") + 1] if "--json" in line and "}" in said else ""
        parts = [*records(json.loads(out))] if out else said.splitlines()
        if found := set().union(*(linked(evening, part) for part in parts)):
            leaks[line] = found
    assert leaks == {}


def test_codes_are_named_by_ballots_alone(evening):
    """No other command says a code at all: only ballots, their form, and the notes that they are kept as."""
    said = {line for line, text in evening.said.items() if codes_named(evening, text)}
    ballots = {line for line in said if line.startswith("session ballot")}
    assert ballots
    assert {line.removesuffix(" --json") for line in said - ballots} <= {
        "journal", "journal --kind taste", "tastings", "tastings pear",
    }  # fmt: skip


@pytest.mark.parametrize("name", ["journal.csv", "pours.csv", "stock.csv", "ballots.csv", "answered.csv"])
def test_no_table_links_a_code_with_its_glass(evening, name):
    """Row by row."""
    rows = csv.reader(io.StringIO((evening.folder / name).read_text("utf-8")))
    assert set().union(*(linked(evening, " | ".join(row)) for row in rows)) == set()


def test_no_table_of_the_history_links_a_code_with_its_glass(evening):
    """What a house takes along when it moves its book."""
    tables = list((evening.folder / "history").iterdir())
    assert tables
    for table in tables:
        rows = csv.reader(io.StringIO(table.read_text("utf-8")))
        assert set().union(*(linked(evening, " | ".join(row)) for row in rows)) == set(), table.name


def test_ballots_name_every_code_and_no_item(evening):
    """Neither in words nor in symbols; each guest's codes are on that guest's pages, in the order of serving."""
    path = evening.folder / "ballots.pdf"
    pages, symbols = pdf_pages(path), [one.text for one in codes_in(path.read_bytes(), path.name)]
    everything = "\n".join([*pages, *symbols])
    for names in evening.names.values():
        assert not any(has(everything, name) for name in names)
    for flight in evening.flights:
        own = "\n".join(page for page in pages if flight.assessor in page)
        places = [own.index(f"\n{glass.code}") for glass in flight.glasses]
        assert places == sorted(places)
    marks = Counter(text for text in symbols if "-" in text)
    assert {text.rpartition("-")[2] for text in marks} == set(codes_named(evening, everything))
    assert len(codes_named(evening, everything)) == 24


def test_labels_say_a_code_and_nothing_else(evening):
    """In the order of the codes, so that not even the order says anything."""
    path = evening.folder / "labels.pdf"
    words = " ".join(pdf_pages(path)).split()
    codes = sorted(glass.code for flight in evening.flights for glass in flight.glasses)
    assert sorted(words) == codes
    assert sorted(one.text.removeprefix("]d1") for one in codes_in(path.read_bytes(), path.name)) == codes


def test_the_journal_on_paper_links_nothing(evening):
    """Line by line."""
    lines = "\n".join(pdf_pages(evening.folder / "journal.pdf")).splitlines()
    assert set().union(*(linked(evening, line) for line in lines)) == set()


def test_the_pour_sheet_is_what_links_them(evening):
    """The reader above sees a link where there is one; and the sheet says that it is sealed."""
    text = "\n".join(pdf_pages(evening.folder / "sealed.pdf"))
    assert linked(evening, text) == {glass.code for flight in evening.flights for glass in flight.glasses}
    assert "SEALED" in text


def test_pours_are_booked_by_assessor_and_never_by_code(evening):
    """As losses in tasting, by item as named and assessor as named: not in the order of serving."""
    lines = json.loads(evening.said["session pour Autumn --json"].partition("\ncaution")[0])["lines"]
    assert [(one["id"], one["assessor"]) for one in lines] == [
        (item, guest) for item in sorted(evening.names) for guest in GUESTS
    ]
    assert {one["glasses"] for one in lines if one["id"] == "V000002P"} == {2}


def test_everything_printed_or_said_has_the_caution(evening):
    """No session without it, on any paper but the labels, and on any screen of the session."""
    for line, said in evening.said.items():
        if line.startswith("session") and "refused" not in said and "--write-form" not in line:
            assert "does not drive" in said, line
    for name in ("ballots.pdf", "sealed.pdf"):
        assert all("do not drive" in page for page in pdf_pages(evening.folder / name)), name


def test_nothing_says_that_anybody_may_drive(evening):
    """It is said only that whoever tasted does not."""
    for said in evening.said.values():
        assert not re.search(r"(may|can|fit to|safe to) drive", said)


# -- orders and codes ----------------------------------------------------------------------


def test_everybody_has_an_order_and_codes_of_their_own(evening):
    """24 codes, four orders; every guest gets all six glasses."""
    codes = [glass.code for flight in evening.flights for glass in flight.glasses]
    assert len(set(codes)) == 24
    assert len({frozenset(Counter(g.item for g in f.glasses).items()) for f in evening.flights}) == 1
    neighbours = Counter(pair for f in evening.flights for pair in pairwise([g.item for g in f.glasses]))
    assert max(neighbours.values()) <= 4


# -- the reveal ----------------------------------------------------------------------------


def test_the_reveal_says_what_was_sealed(evening, tmp_path):
    """It names every code, agrees with the seal printed before, and fills in the item of every note."""
    sealed = "\n".join(pdf_pages(evening.folder / "ballots.pdf"))
    closed = evening.does("session close Autumn --json", kept=False).json
    assert closed["seal_agrees"]
    assert closed["seal"][:16] in sealed
    assert {
        (flight["assessor"], glass["code"], glass["id"]) for flight in closed["flights"] for glass in flight["glasses"]
    } == {(flight.assessor, glass.code, glass.item) for flight in evening.flights for glass in flight.glasses}
    assert seal_of(evening.flights, "another salt") != closed["seal"]
    report = evening.does("session report Autumn --json", kept=False).json
    assert sha256(report["sealed_text"].encode()).hexdigest() == closed["seal"]
    assert sum(one["ballots"] for one in report["by_glass"]) == 24
    assert len(report["repeats"]) == 4
    with Book.open(evening.desk.book) as book:
        assert all(note.item for item in evening.names for note in book.notes_of(item))
        assert sum(1 for item in evening.names for _ in book.notes_of(item)) == 24
        assert not book.verify().faults
    late = evening.does(f"session ballot Autumn --code {evening.flights[0].glasses[0].code} --score 1", refused=True)
    assert "closed" in late.err
