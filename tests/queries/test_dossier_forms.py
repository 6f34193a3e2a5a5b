"""The dossier in three forms at once, by the command: the same figures, and the book held against each of them."""

import json
import sqlite3

import pytest
from command import here

from pourbook.words.paper_figures import Notation


@pytest.fixture
def made(vatted_book, tmp_path):
    """The three files, and what the command said."""
    files = {form: tmp_path / f"dossier.{form}" for form in ("pdf", "html", "json")}
    outputs = [word for path in files.values() for word in ("-o", path)]
    return files, here("dossier", "Lot 24-1", *outputs, "--json", book=vatted_book).done().json


def test_one_entry_records_all_three(made, vatted_book):
    files, told = made
    assert len(told["entries"]) == 1
    assert told["file"] == ", ".join(map(str, files.values()))
    assert all(path.exists() for path in files.values())
    assert files["pdf"].read_bytes().startswith(b"%PDF-")


def test_html_has_the_figures_of_the_json(made):
    """Shares, masses and litres of the document, rounded as paper rounds, stand in the page."""
    files, told = made
    document, page = json.loads(files["json"].read_text("utf-8")), files["html"].read_text("utf-8")
    assert told["dossier"] == document
    notation = Notation()
    for origin in document["origins"]:
        for text in (notation.percent(origin["share"], 4), notation.kg(origin["mass_mg"])):
            assert f">{text}</td>" in page
    for edge in document["flow"]["edges"]:
        if edge["ml"]:
            assert f">{notation.fixed(edge['ml'] / 1000, 3)}</td>" in page
    assert f"<code>{document['heads'][-1]}</code>" in page


def test_each_form_vouches_for_the_history_behind_it(made, vatted_book):
    files, told = made
    for form in ("json", "html"):
        ran = here("verify", "--against", files[form], "--json", book=vatted_book).done()
        assert ran.json["against"]["agreed"] == told["at_entry"]
        assert ran.json["against"]["heads"] == len(told["dossier"]["heads"])


def test_a_book_rewritten_behind_the_dossier_is_caught_and_roughly_placed(made, vatted_book):
    """The chain is computed anew after the change; the heads the dossier carries enclose it."""
    from pourbook.book.journal import GENESIS, chain

    files, told = made
    changed = next(gauge["entry"] for gauge in told["dossier"]["gauges"])
    with sqlite3.connect(vatted_book) as connection:
        connection.execute(
            "UPDATE entry SET bytes = replace(bytes, 'dip rod 2', 'dip rod 3') WHERE number = ?", (changed,)
        )
        head = GENESIS
        for number, text in connection.execute("SELECT number, bytes FROM entry ORDER BY number").fetchall():
            head = chain(head, text.encode())
            connection.execute("UPDATE entry SET hash = ? WHERE number = ?", (head, number))
    connection.close()
    ran = here("verify", "--against", files["json"], "--json", book=vatted_book)
    against = ran.json["against"]
    assert (ran.status, ran.json["faults"]) == (1, [])
    assert against["agreed"] < changed <= against["differs"]
    assert against["differs"] - against["agreed"] <= 4
