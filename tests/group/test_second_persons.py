"""Second persons in a group: each site's entries are judged by its own journal, when it joins and by verification."""

import json
import sqlite3
from contextlib import closing

import pytest
from command import VATTED, Desk, here, recorded
from forging import canonical, hashed_anew

from pourbook.actions.joining import join
from pourbook.book.journal import GENESIS, chain
from pourbook.errors import Damaged

DESTRUCTION = "loss 'Vatting 1' '1 l' --kind destruction --witness 'officer 7'"
AGREED = ("second", "second_key", "second_signature")


@pytest.fixture
def desk(tmp_path):
    """A site where two people agree on what is destroyed, and a litre that was, with Isla Farrow's signature."""
    desk = Desk(recorded(tmp_path / "a.pourbook", *VATTED), here)
    desk.does("settings --set site=A --set numbers=1-99999")
    desk.does(f"key make {tmp_path}/isla.key")
    desk.does(f"key add {tmp_path}/isla.key.pub --of 'Isla Farrow'")
    desk.does("settings --set two_people=destruction")
    desk.does(f"{DESTRUCTION} --second 'Isla Farrow' --second-key {tmp_path}/isla.key")
    return desk


@pytest.fixture
def number(desk):
    """Of the entry that two agreed to."""
    return desk.asks("journal")["entries"][-1]["number"]


def changed(change):
    def in_text(text):
        entry = json.loads(text)
        if "second" in entry["body"]:
            change(entry["body"])
        return canonical(entry)

    return in_text


def taken_out(body):
    for name in AGREED:
        del body[name]


def another_document(body):
    body["lines"][0]["facts"]["document"] = "D 26-3"


def another_key(body):
    body["second_key"] = "0" * 64


FORGED = [
    (taken_out, "a destruction needed a second person, and nobody agreed"),
    (another_document, "what its second person signed is not this entry"),
    (another_key, "the key of its second person was not known then, or had ended"),
]


@pytest.mark.parametrize("how", ["book", "file", "file with names"])
def test_what_two_agreed_to_joins_and_verifies(desk, tmp_path, how):
    source = desk.book
    if how != "book":
        source = tmp_path / "a.jsonl"
        desk.does(f"export entries -o {source} {'--names' if 'names' in how else ''}")
    join(str(tmp_path / "g.pourbook"), [str(source)])
    assert here("verify", book=tmp_path / "g.pourbook").done()


@pytest.mark.parametrize(("change", "problem"), FORGED)
def test_what_nobody_agreed_to_does_not_join(desk, number, tmp_path, change, problem):
    hashed_anew(desk.book, changed(change))
    with pytest.raises(Damaged, match=f"entry {number} of site A: {problem}"):
        join(str(tmp_path / "g.pourbook"), [str(desk.book)])
    assert not (tmp_path / "g.pourbook").exists()


@pytest.mark.in_a_file("writes into the file")
@pytest.mark.parametrize(("change", "problem"), FORGED)
def test_verification_of_a_group_tells_it_as_that_of_the_site_does(desk, number, tmp_path, change, problem):
    """Whoever can write the group's file changes the site's journal there, and hashes it anew as a whole."""
    group = tmp_path / "g.pourbook"
    join(str(group), [str(desk.book)])
    with closing(sqlite3.connect(group)) as file, file:
        head = GENESIS
        for own, text in file.execute("SELECT number, bytes FROM site_entry ORDER BY number").fetchall():
            text = changed(change)(text)
            head = chain(head, text.encode())
            file.execute("UPDATE site_entry SET bytes = ?, hash = ? WHERE number = ?", (text, head, own))
        file.execute("UPDATE site SET head = ?", (head,))
    here("repair", book=group).done()
    ran = here("verify", "--json", book=group)
    (fault,) = ran.json["faults"]
    assert (ran.status, fault["row"]) == (1, number * 1000 + 1)
    assert f"entry {number} of site A: {problem}" in fault["text"]


def test_a_group_that_has_such_an_entry_takes_in_what_comes_after_it(desk, number, tmp_path, monkeypatch):
    """It joined before anybody asked: what is new is judged, and verification goes on telling the old."""
    hashed_anew(desk.book, changed(taken_out))
    group = tmp_path / "g.pourbook"
    with monkeypatch.context() as patch:
        patch.setattr("pourbook.book.site_journals.two_people_of", lambda *_: ())
        join(str(group), [str(desk.book)])
    desk.does("note 'Vatting 1' sound")
    ((_, new),) = join(str(group), [str(desk.book)]).sites
    assert new == 1
    assert f"entry {number} of site A" in here("verify", book=group).out


def test_a_site_keeps_its_name_where_those_of_people_stay_at_home(desk, tmp_path):
    """It has a key as people have, and is no person: a group lists whose key it is; people are references there."""
    desk.does(f"key make {tmp_path}/site.key")
    second = f"--second 'Isla Farrow' --second-key {tmp_path}/isla.key"
    desk.does(f"key add {tmp_path}/site.key.pub --of 'site A' {second}")
    exported, group = tmp_path / "a.jsonl", tmp_path / "g.pourbook"
    desk.does(f"export entries -o {exported}")
    assert "Isla Farrow" not in exported.read_text()
    join(str(group), [str(exported)])
    said = here("journal", "--kind", "key", book=group).done().out
    assert "key of site A" in said
    assert "Isla Farrow" not in said
    here("verify", book=group).done()
