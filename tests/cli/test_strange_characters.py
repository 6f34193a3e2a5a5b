"""One strange sign in a note: refused at the door, shown as a mark where it is old, and no paper stops at it."""

import csv
import json
import re
import sqlite3

import pytest
from chains import NAMES, hashed
from command import Desk, here

from pourbook.book.journal import canonical, chain
from pourbook.exchange.output.writing import Table, write_csv

CONTROLS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


@pytest.fixture
def desk(tmp_path):
    """A lot of ten bottles, and a note with an emoji on its cask."""
    desk = Desk(tmp_path / "q.pourbook", here)
    for line in (
        f"create {desk.book} --house Quillmere",
        "cask 'Row 3' --fill '200 l' --strength 60",
        "batch",
        "dump B-000001-Y C-000001-H",
        "bottle B-000001-Y --count 10 --size '700 ml' --lot-mark L26-1",
        "note C-000001-H 'smells fine 🥃'",
    ):
        desk.does(line)
    return desk


def with_an_old_note(desk, text):
    """A book in which an earlier version recorded what is refused now: the last note, its hash made again."""
    desk.does("note C-000001-H 'old'")
    with sqlite3.connect(desk.book) as book:
        ((number, old),) = book.execute("SELECT number, bytes FROM entry ORDER BY number DESC LIMIT 1")
        ((before,),) = book.execute("SELECT hash FROM entry WHERE number = ?", (number - 1,))
        entry = json.loads(old)
        entry["body"]["text"] = text
        made = canonical(entry)
        coded = hashed(book.execute(NAMES))(made.decode()).encode()
        book.execute(
            "UPDATE entry SET bytes = ?, hash = ? WHERE number = ?", (made.decode(), chain(before, coded), number)
        )
    book.close()
    desk.does("verify")


@pytest.mark.parametrize("text", ["a\x1b[2Jb", "a\nb", "a\rb", "a\x07b", "L\u202e62"], ids=ascii)
def test_a_control_character_is_refused_and_never_sent_to_the_terminal(desk, text):
    """Wherever it was typed: the refusal shows a mark."""
    for words in (("note", "C-000001-H", text), ("show", text), ("set", "C-000001-H", f"name={text}"), ("scan", text)):
        ran = here(*words, book=desk.book)
        assert not CONTROLS.search((ran.out + ran.err).replace("\n", "")), ran
    assert "cannot be shown" in here("note", "C-000001-H", text, book=desk.book).err


def test_an_old_note_is_seen_as_it_is(desk, tmp_path):
    """On screen and on paper as a mark; in JSON the same text, escaped; a table keeps its rows."""
    with_an_old_note(desk, "one\x1b[2J two\nthree\u202e four")
    listed = desk.does("journal").out
    assert "one<U+001B>[2J two<U+000A>three<U+202E> four" in listed
    ran = desk.does("journal --json")
    assert not CONTROLS.search(ran.out)
    assert ran.json["entries"][-1]["body"]["text"] == "one\x1b[2J two\nthree\u202e four"
    desk.does(f"dossier L-000001-C -o {tmp_path}/d.pdf -o {tmp_path}/d.html -o {tmp_path}/d.json")
    page = (tmp_path / "d.html").read_text("utf-8")
    assert not CONTROLS.search(page)
    assert "one&lt;U+001B&gt;[2J two" in page
    desk.does(f"export journal -o {tmp_path}/journal.csv")
    with (tmp_path / "journal.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(ran.json["entries"]) + 1  # the dossier


def test_an_emoji_stops_neither_dossier_nor_label(desk, tmp_path):
    """A square stands for it, and a note on screen names the entry or the item."""
    ran = desk.does(f"dossier L-000001-C -o {tmp_path}/d.pdf")
    assert "note: entry " in ran.err
    assert "has 🥃 (U+1F943), which no typeface of ours sets" in ran.err
    desk.does("set C-000001-H 'name=first 🥃'")
    ran = desk.does(f"label C-000001-H --template cask-head-100x70 -o {tmp_path}/l.pdf")
    assert "note: C-000001-H · Row 3 · first 🥃 has 🥃 (U+1F943), which no typeface of ours sets" in ran.err


def test_a_cell_with_a_line_break_is_quoted(tmp_path):
    """RFC 4180, 2.6: fields with CR or LF in double quotes; and what begins like a formula is text."""
    cells = ["a\rb", "a\nb", "a\r\nb", "=1+1", "+1", "-1+1", "@x", "\tx", "plain", -5, 0.5]
    path = tmp_path / "t.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        assert write_csv(file, Table(["cell", "next"], ({"cell": cell, "next": 1} for cell in cells))) == len(cells)
    with path.open(encoding="utf-8", newline="") as file:
        read = [row["cell"] for row in csv.DictReader(file)]
    assert read == ["a\rb", "a\nb", "a\r\nb", "'=1+1", "'+1", "'-1+1", "'@x", "'\tx", "plain", "-5", "0.5"]
    assert b'"a\rb"' in path.read_bytes()
