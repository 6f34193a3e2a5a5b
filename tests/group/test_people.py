"""People of a group: whoever asks for its journal by codes gets, of each entry, the references that its site gave."""

import hashlib
import json
import sqlite3
from contextlib import closing

import pypdfium2
import pytest
from command import Desk, here
from site_houses import Sites

from pourbook.book.coded_names import references_in
from pourbook.book.groups import site_journal, sites
from pourbook.book.journal import journal
from pourbook.paperwork.journal_paper_of import journal_values


@pytest.fixture
def two(tmp_path):
    """Each site has a person with a badge and a note, both with the number that the other gave, too."""
    with Sites(tmp_path) as two:
        for name in "AB":
            desk = Desk(two.path(name), here)
            desk.does("person 'Nils Orme' --note still")
            desk.does(f"person 'Ivo {name}' --note stills")
        yield two


def test_a_group_tells_its_journal_by_the_codes_of_each_site(two):
    two.join()
    ran = here("journal", "--json", book=two.path("G")).done()
    with two.group() as group:
        texts = {(one.name, number): text for one in sites(group.store)
                 for number, text, _ in site_journal(group.store, one.code)}  # fmt: skip
    told = ran.json["entries"]
    assert [one["body"]["facts"]["site"] for one in told if one["kind"] == "item"] == ["A", "B", "A", "B"]
    assert len(told) == len(texts)
    for one in told:
        there = texts[one["site"], one["site_number"]]
        assert json.dumps(one.pop("there"), ensure_ascii=False, sort_keys=True, separators=(",", ":")) == there
        assert sorted(references_in(json.dumps(one))) == sorted(references_in(there))
    assert here("export", "journal", book=two.path("G")).done().out.count("person:") > len(told)
    names = here("journal", "--json", "--names", book=two.path("G")).done().json["entries"]
    assert [one["body"]["facts"]["ref"] for one in names if one["kind"] == "item"] == [
        "Nils Orme", "Nils Orme", "Ivo A", "Ivo B",
    ]  # fmt: skip


@pytest.mark.parametrize("names", [(), ("--names",)])
def test_anybody_can_recompute_the_hashes_of_a_group(two, names):
    """From the document alone, site by site, as its schema says."""
    two.join()
    before = {}
    for one in here("journal", "--json", *names, book=two.path("G")).done().json["entries"]:
        text = json.dumps(one["there"], ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()
        before[one["site"]] = hashlib.sha256(before.get(one["site"], bytes(32)) + text).digest()
        assert before[one["site"]].hex() == one["hash"]
        assert one["there"]["number"] == one["site_number"]
    assert len(before) == 2
    assert "there" not in here("journal", "--json", book=two.path("A")).done().json["entries"][0]


def test_the_printed_journal_of_a_group_says_of_which_site_an_entry_is(two, tmp_path):
    two.join()
    for book, is_group in (("G", True), ("A", False)):
        path = tmp_path / f"{book}.pdf"
        here("journal", "-o", path, book=two.path(book)).done()
        with pypdfium2.PdfDocument(path) as pdf:
            text = " ".join(pdf[0].get_textpage().get_text_bounded().split())
        assert ("Each site has a chain of its own" in text, "for no other site" in text) == (is_group, is_group)
        assert ("and of the hash before it, so each vouches" in text) != is_group
        with two.group() if is_group else two["A"].book as opened:
            entry = list(journal(opened.store))[-1]
            found = journal_values(opened, [entry], ()).entries[0]
        assert (found.site, found.site_number) == (("B", 3) if is_group else ("", 0))


def test_another_name_put_in_place_of_a_persons_is_found_in_a_group(two):
    two.join()
    Desk(two.path("G"), here).does("verify")
    with closing(sqlite3.connect(two.path("G"))) as base, base:
        base.execute("UPDATE person_name SET name = 'Nils Orm' WHERE name = 'Nils Orme'")
    ran = here("verify", "--json", book=two.path("G"))
    assert (ran.status, ran.json["faults"][0]["problem"]) == (
        1, "the reference of 'Nils Orm' in the table of names is not made of it",
    )  # fmt: skip
