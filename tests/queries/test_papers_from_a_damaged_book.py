"""A book that does not agree with its journal prints no paper unasked, and then with a mark on every page."""

import sqlite3

import pypdfium2
import pytest
from command import here

from pourbook.errors import Damaged, ToConfirm

MARK = "This book does not agree with its journal: "

PAPERS = {
    "dossier": ("dossier", "Lot 24-1"),
    "cask history": ("provenance", "Row 3/12"),
    "account": ("account", "--from", "2024-01-01", "--to", "2024-12-31"),
    "recall": ("recall", "--item", "Row 3/12", "--mock", "--reason", "yearly exercise"),
}

DAMAGE = {
    "a place in the ledger": "UPDATE ledger SET sealed = 0 WHERE line = (SELECT max(line) FROM ledger)",
    "an entry": "UPDATE entry SET bytes = replace(bytes, 'dip rod 2', 'dip rod 3') WHERE kind = 'gauge'",
    "a fact": "UPDATE fact SET value = 'virgin oak' WHERE value = 'virgin chestnut'",
}


def pages_of(path):
    """The text of each page, as another program reads it."""
    with pypdfium2.PdfDocument(path) as document:
        return [page.get_textpage().get_text_range() for page in document]


@pytest.fixture(params=DAMAGE)
def damaged(request, vatted_book):
    """A book changed behind its back."""
    with sqlite3.connect(vatted_book) as connection:
        connection.execute(DAMAGE[request.param])
        assert connection.execute("SELECT changes()").fetchone() != (0,)
    connection.close()
    return vatted_book


@pytest.mark.parametrize("paper", PAPERS)
def test_no_paper_is_printed_unasked(damaged, paper, tmp_path):
    ran = here(*PAPERS[paper], "-o", tmp_path / "paper.pdf", book=damaged)
    assert ran.status == 1
    assert ran.refusal is ToConfirm
    assert "this book does not agree with its journal" in ran.err
    assert "--confirm" in ran.err
    assert not (tmp_path / "paper.pdf").exists()


def test_an_account_that_does_not_add_up_is_refused_whatever_is_confirmed(vatted_book, tmp_path):
    with sqlite3.connect(vatted_book) as connection:
        connection.execute("UPDATE ledger SET mass = mass + 1000 WHERE line = (SELECT max(line) FROM ledger)")
    connection.close()
    ran = here(*PAPERS["account"], "-o", tmp_path / "paper.pdf", "--confirm", book=vatted_book)
    assert ran.refusal is Damaged


@pytest.mark.parametrize("paper", PAPERS)
def test_confirmed_it_says_so_on_every_page(damaged, paper, tmp_path):
    here(*PAPERS[paper], "-o", tmp_path / "paper.pdf", "--confirm", book=damaged).done()
    pages = pages_of(tmp_path / "paper.pdf")
    assert pages
    assert all(MARK in page for page in pages)


def test_html_and_json_say_it_too(damaged, tmp_path):
    outputs = [word for end in ("html", "json") for word in ("-o", tmp_path / f"paper.{end}")]
    told = here("dossier", "Lot 24-1", *outputs, "--confirm", "--json", book=damaged).done().json
    assert told["disagrees"].startswith(MARK)
    assert f'role="alert">{MARK}' in (tmp_path / "paper.html").read_text("utf-8")
    assert MARK in (tmp_path / "paper.json").read_text("utf-8")


@pytest.mark.parametrize("paper", PAPERS)
def test_a_sound_book_prints_without_a_mark(vatted_book, paper, tmp_path):
    here(*PAPERS[paper], "-o", tmp_path / "paper.pdf", book=vatted_book).done()
    assert "does not agree" not in "".join(pages_of(tmp_path / "paper.pdf"))
