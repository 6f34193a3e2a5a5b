"""A group compared with an older copy of itself, site by site: it only grew, or a site's past is another."""

import shutil
import sqlite3
from contextlib import closing

import pytest
from command import Desk, here
from site_houses import Sites

from pourbook.book.entries import Recipe, RecipePart
from pourbook.book.groups import group_head
from pourbook.book.store import Store
from pourbook.queries.journal.against import Head, against_heads, head_at


def orchard(sites, name):
    sites[name].record(Recipe("Orchard", (RecipePart(sites.id(name, "C1"), "1"),)), at="2026-05-09")


@pytest.fixture
def sites(tmp_path):
    """Two sites that joined, and a copy of their group."""
    with Sites(tmp_path) as two:
        two["A"].cask("C1", "600 l", "63.5", at="2026-05-01")
        two["B"].cask("C1", "200 l", "60", at="2026-05-01")
        two.send("A", "C1", "100 l", to="B", document="D 17", at="2026-05-02")
        for text in ("bung replaced", "hoops tightened"):
            two["A"].note("C1", text)
        orchard(two, "B")
        two.join()
        Desk(two.path("G"), here).does(f"backup {tmp_path}/copy.pourbook")
        yield two


def compared(sites, one="G", other="copy.pourbook"):
    path = sites.path(one) if one == "G" else sites.folder / one
    return here("verify", "--against", sites.folder / other, "--json", book=path)


def test_a_group_is_what_its_copy_says(sites):
    ran = compared(sites).done()
    assert ran.json["against"]["text"] == "the history up to entry 10 is unchanged"


def test_a_group_that_only_grew_agrees_with_its_older_copy(sites):
    """Also where what came later changed what earlier entries are in the group: a name that both have, a receipt."""
    sites.receive("B", "C2", "100 l", "63.5", source="A", document="D 17", at="2026-05-04")
    orchard(sites, "A")
    sites.join()
    against = compared(sites).done().json["against"]
    assert (against["agrees"], against["text"]) == (True, "the history up to entry 10 is unchanged; recorded since: 3")


def test_a_site_that_joined_later_is_no_difference(tmp_path):
    with Sites(tmp_path) as two:
        two.join(two.path("A"))
        shutil.copy(two.path("G"), tmp_path / "copy.pourbook")
        two.join()
        assert compared(two).done().json["against"]["agrees"]
        back = compared(two, "copy.pourbook", "g.pourbook")
        assert (back.status, back.json["against"]["text"]) == (
            1, "entry 1002 is the first that differs (the copy has it; this book does not)",
        )  # fmt: skip


def test_a_site_whose_past_is_another_is_named_by_its_first_entry_that_differs(sites, tmp_path):
    (tmp_path / "other").mkdir()
    with Sites(tmp_path / "other") as others:
        others["A"].cask("C1", "600 l", "63.5", at="2026-05-01")
        others["B"].cask("C1", "210 l", "60", at="2026-05-01")
        others.send("A", "C1", "100 l", to="B", document="D 17", at="2026-05-02")
        for text in ("bung replaced", "hoops tightened"):
            others["A"].note("C1", text)
        others.join()
        ran = compared(sites, other="other/g.pourbook")
    assert (ran.status, ran.json["against"]["text"]) == (
        1,
        "entry 3002 is the first that differs (it differs in the copy)",
    )
    assert ran.json["against"]["exact"]


def test_a_group_and_the_book_of_a_site_vouch_for_each_other(sites):
    """As far as the entries of that site go, whichever of the two went on."""
    text = compared(sites, "G", "a.pourbook").done().json["against"]["text"]
    assert text == "this is evidence of site A: the history of A up to its entry 6 is unchanged; it says nothing of B"
    sites["A"].note("C1", "bung replaced", at="2026-06-01")
    against = compared(sites, "a.pourbook", "copy.pourbook").done().json["against"]
    assert against["text"] == (
        "this is evidence of a group: the history of site A up to entry 6 is unchanged; recorded since: 1"
    )
    ahead = compared(sites, "G", "a.pourbook")
    assert (ahead.status, ahead.json["against"]["text"]) == (
        1, ("the group has no entry 7 of site A, which the evidence vouches for: it has not joined yet, or was lost;"
        " the group's entries of A agree up to 6"),
    )  # fmt: skip


def test_a_site_that_was_written_anew_differs_from_the_group(tmp_path, sites):
    (tmp_path / "anew").mkdir()
    with Sites(tmp_path / "anew") as others:
        others["A"].cask("C1", "600 l", "63.4", at="2026-05-01")
        for one, other in (("G", "anew/a.pourbook"), ("anew/a.pourbook", "copy.pourbook")):
            ran = compared(sites, one, other)
            assert (ran.status, ran.json["against"]["agrees"]) == (1, False)
            assert "it differs in the copy" in ran.json["against"]["text"]


def test_a_site_that_has_not_joined_is_no_copy(tmp_path):
    with Sites(tmp_path) as two:
        two.join(two.path("A"))
        for one, other in (("G", "b.pourbook"), ("b.pourbook", "g.pourbook")):
            ran = compared(two, one, other)
            assert ran.status == 1
            assert "the book of a group that the other has not joined" in ran.err


@pytest.mark.in_a_file("writes into the file")
def test_what_is_damaged_of_one_site_is_no_difference_of_another(sites):
    """Each site has a chain of its own: the head of a later entry of B vouches for nothing of A."""
    with sites.group() as group:
        of_a, of_b = (head_at(group.store, number) for number in (6001, 3002))
    with closing(sqlite3.connect(sites.path("G"))) as file, file:
        file.execute("UPDATE site_entry SET bytes = replace(bytes, '600 l', '601 l') WHERE code = 1")
    with closing(Store.open(sites.path("G"))) as store:
        assert against_heads(store, [of_b]).agrees
        found = against_heads(store, [of_a])
        assert (found.differs, "entry 3 of site A" in found.remark) == (3001, True)
        assert not against_heads(store, [Head(*group_head(store))]).agrees
