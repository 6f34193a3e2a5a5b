"""Sentences of the journal, and remedies, that two readers stumbled on: each says what it is about, and only that."""

import re

import pytest
from command import here

from pourbook.book.addresses import read_address
from pourbook.book.approval_rules import in_words as approved
from pourbook.book.kinds import KIND_OF_NAME
from pourbook.book.postgres_errors import of_connecting
from pourbook.book.store import Store
from pourbook.cli.wrong_usage import no_such_verb


def in_words(kind, body):
    return KIND_OF_NAME[kind].words(body, ".")


def _pour(ends):
    lines = [{"from": source, "to": target, "mass": 1, "typed": {"amount": "1 l"}} for source, target in ends]
    return {"verb": "pour", "lines": lines}


@pytest.mark.parametrize(
    ("ends", "more"),
    [
        ((("C000001H", "B000001Y"), ("C000002F", "B000001Y")), "and 1 more source"),
        ((("C000001H", "B000001Y"), ("C000001H", "V000001R"), ("C000001H", "V000002P")), "and 2 more targets"),
        ((("C000001H", "B000001Y"), ("C000002F", "V000001R")), "and 1 more pour"),
    ],
)
def test_what_is_left_out_of_a_line_of_the_journal_is_named(ends, more):
    assert in_words("pour", _pour(ends)) == f"pour: 1 l from C-000001-H into B-000001-Y {more}"


def test_figures_among_facts_have_their_units():
    body = {"item": "C000001H", "facts": {"capacity_l": "250", "wood_days": "0", "wood": "oak"}}
    said = in_words("facts", body)
    assert said == "facts C-000001-H: capacity 250 l, time in wood 0 days, wood oak"


def test_a_paper_of_no_item_lists_none():
    assert in_words("paper", {"paper": "account", "items": [], "facts": {}}) == "account"


def test_grounds_of_an_approval_that_are_not_met_are_counted():
    grounds = [{"stands": "met"}] * 4 + [{"stands": "unknown"}] * 2
    said = {"approved": 1, "item": "B000001Y"}
    assert approved({**said, "grounds": grounds}, ".") == "approved B-000001-Y on 6 grounds (4 met, 2 unknown)"
    assert approved({**said, "grounds": grounds[:4]}, ".") == "approved B-000001-Y on 4 grounds"


def test_options_that_are_not_near_are_not_suggested(tmp_path):
    assert "did you mean" not in here("key", "end", "--second", "X").err
    assert no_such_verb("jurnal", ["journal", "json"]).remedy.startswith("did you mean journal?")


def test_a_parameter_of_an_address_that_is_unknown_is_named():
    class Said(Exception):
        pass

    read_address("postgresql://quill@cellar.example/books?scheme=north")
    refused = of_connecting(Said('invalid URI query parameter: "scheme"'), "postgresql://x?scheme=north")
    assert refused.message == "unknown parameter 'scheme' in 'postgresql://x?scheme=north'"
    assert refused.remedy.startswith("did you mean schema?")


@pytest.mark.in_a_file("a move that stopped, made by hand")
def test_where_a_move_stopped_no_book_is_made_and_the_move_goes_on(tmp_path):
    path = tmp_path / "half.pourbook"
    Store.open_for_moving(path).close()
    refused = here("create", path, "--house", "Quillmere").err
    assert f"go on with it: pourbook move FROM '{path}'" in refused


def test_a_site_whose_path_is_wrong_is_not_to_be_created(tmp_path):
    refused = here("group", "join", tmp_path / "g.pourbook", tmp_path / "a.pourbok").err
    assert "a.pourbok'\n    do: check the path" in refused


def test_a_fingerprint_that_is_too_short_is_called_so(tmp_path):
    here("create", tmp_path / "q.pourbook", "--house", "Quillmere").done()
    refused = here("key", "end", "f3e7", "--reason", "lost", book=tmp_path / "q.pourbook").err
    assert "'f3e7' is too short for a fingerprint" in refused
    assert "give 8 of its digits at least" in refused


def test_a_number_that_two_sites_gave_is_told_with_the_new_one(tmp_path):
    for site in "AC":
        book = tmp_path / f"{site}.pourbook"
        here("create", book, "--house", "Quillmere", "--site", site, "--numbers", "1-99").done()
        here("cask", f"Cask {site}", book=book).done()
    joined = here("group", "join", tmp_path / "g.pourbook", tmp_path / "A.pourbook", tmp_path / "C.pourbook").done()
    assert re.search(r"A and C both gave C-000001-H; C's is C-[0-9]+-[0-9A-Z] here", joined.out)
