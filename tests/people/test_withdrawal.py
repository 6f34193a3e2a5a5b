"""A person is withdrawn: no name of theirs is left in the book, its hashes are what they were, and it verifies."""

import shutil

import pytest
from command import Desk, here
from golden_books import PERSON, golden_book, unpacked
from house import HOW, Clock, House
from servers import schema_of

from pourbook import Note
from pourbook.book.coded_names import names_of_people, person_meant
from pourbook.book.moving import move
from pourbook.codes.identifiers import readable
from pourbook.errors import Refused, ToConfirm, Unknown
from pourbook.queries.journal.against import against_heads, checkpoints
from pourbook.whole_book import Book

SURE = HOW._replace(confirm=True)
FREE_TEXT = "misread by Isla Farrow"
"""The reason that the golden book gives once: words of people are not reached."""


@pytest.fixture
def kept(tmp_path):
    """The golden book, made today, with the settings that name her changed."""
    path = tmp_path / "book.pourbook"
    with golden_book(path) as house:
        house.book.change_settings(HOW, {"approvers": "Tomas Reeve", "contact": "Tomas Reeve, 555 0101"})
    return path


def everything(path):
    """All bytes of the file and of its companions."""
    return b"".join(one.read_bytes() for one in sorted(path.parent.glob(f"{path.name}*")) if one.is_file())


@pytest.mark.in_a_file("bytes of the file are read, free pages too")
def test_no_name_is_left_and_the_chain_is_whole(kept):
    """Not in a row, not on a free page; every head from before still stands; what others did is named as before."""
    name = PERSON.encode()
    assert name in everything(kept)
    with Book.open(kept, clock=Clock("2030-01-01")) as book:
        before = checkpoints(book.store)
        done = book.withdraw_person(SURE, PERSON)
        assert against_heads(book.store, before).agrees
        assert book.verify().faults == ()
        assert done.withdrawal.entries > 5
        (free,) = done.withdrawal.free_text
        assert FREE_TEXT in str(book.store.query("SELECT bytes FROM entry WHERE number = ?", (free,)))
        assert "Tomas Reeve" in str(book.store.query("SELECT bytes FROM entry"))
        assert "Isla" not in str(book.store.query("SELECT value, lookup FROM fact"))
        assert "islafarrow" not in str(book.store.query("SELECT assessor FROM tasting"))
        with pytest.raises(Unknown):
            book.withdraw_person(SURE, PERSON)
    assert everything(kept).replace(FREE_TEXT.encode(), b"").count(name) == 0


def test_on_a_server_no_table_names_them(kept, postgres, server):
    """Every column of every table of its schema; what the server keeps of deleted rows is its keeper's."""
    with Book.open(kept) as book:
        move(book.store, postgres)
    assert PERSON in rows_on(server, postgres)
    with Book.open(postgres, clock=Clock("2030-01-01")) as book:
        before = checkpoints(book.store)
        book.withdraw_person(SURE, PERSON)
        assert (against_heads(book.store, before).agrees, book.verify().faults) == (True, ())
    assert PERSON not in rows_on(server, postgres).replace(FREE_TEXT, "")


def rows_on(server, address):
    """All rows of all tables of a book on a server, as text."""
    schema = schema_of(address)
    tables = server.asked("SELECT tablename FROM pg_tables WHERE schemaname = %s", schema)
    return "".join(str(server.asked(f'SELECT t::text FROM "{schema}"."{table}" t')) for (table,) in tables)


def test_an_entry_of_format_2_keeps_what_it_was_hashed_with(tmp_path):
    """In a table that verification alone reads; the rest says the reference."""
    path = unpacked(2, tmp_path)
    with Book.open(path, clock=Clock("2030-01-01")) as book:
        book.change_settings(HOW, {"approvers": "Tomas Reeve", "contact": "Tomas Reeve"})
        before = checkpoints(book.store)
        done = book.withdraw_person(SURE, PERSON)
        assert done.withdrawal.hashed_with_names == done.withdrawal.entries > 5
        assert (against_heads(book.store, before).agrees, book.verify().faults) == (True, ())
    copy = tmp_path / "copy.pourbook"
    assert here("backup", copy, book=path).done()
    assert here("verify", "--against", f"{path}.format-2", "--json", book=copy).done().json["against"]["agrees"]


@pytest.mark.in_a_file("the copy that is compared is a file")
def test_a_back_up_from_before_still_vouches_for_the_book(kept, tmp_path):
    """The histories are the same, though one of them names somebody whom the other does not."""
    old = tmp_path / "old.pourbook"
    shutil.copy(kept, old)
    desk = Desk(kept, here)
    desk.does(f"person '{PERSON}' --withdraw --confirm")
    against = desk.asks(f"verify --against {old}")["against"]
    assert (against["agrees"], against["differs"]) == (True, None)


def test_the_command_asks_first_and_says_what_is_not_reached(kept):
    """Without a yes nothing happens; a dry run keeps nothing."""
    desk = Desk(kept, here)
    before = desk.does("journal").out
    assert "for good" in here("person", PERSON, "--withdraw", book=kept).err
    assert "names nobody 'Nobody Known'" in here("person", "Nobody Known", "--withdraw", book=kept).err
    told = desk.asks(f"person '{PERSON}' --withdraw --confirm --dry-run")
    assert told["dry_run"]
    assert told["entries"] > 5
    assert desk.does("journal").out == before
    ran = desk.does(f"person '{PERSON}' --withdraw --confirm")
    assert all(word in ran.err for word in ("free text", "back-ups"))
    said = desk.does("journal").out
    assert "unnamed person" in said
    assert said.replace(FREE_TEXT, "").count(PERSON) == 0


def test_who_is_still_needed_is_not_withdrawn(tmp_path):
    """By the settings, as the last manager, by an open session."""
    with House(tmp_path / "q.pourbook") as house:
        book = house.book
        house.record(Note(house.ids.setdefault("C1", house.book.enter(HOW, "place", "Row 1").id), "x"), who=PERSON)
        with pytest.raises(ToConfirm):
            book.withdraw_person(HOW, PERSON)
        book.change_settings(HOW, {"contact": f"{PERSON}, 555 0100"})
        with pytest.raises(Refused, match="contact"):
            book.withdraw_person(SURE, PERSON)
        book.change_settings(HOW, {"contact": ""})
        book.make_account(HOW, PERSON, "manager", "482913")
        with pytest.raises(Refused):
            book.withdraw_person(SURE, PERSON)
        book.make_account(HOW, "Tomas Reeve", "manager", "739164")
        done = book.withdraw_person(SURE, PERSON)
        assert done.ended
        assert [one.name for one in book.accounts(everything=True) if one.ended_us is not None] != [PERSON]
        assert PERSON not in str(book.beside.accounts())
        assert book.verify().faults == ()


def test_who_withdrew_a_person_with_a_badge_is_noted_of_them(tmp_path):
    """And why; also where somebody goes of their own accord, whose name then is not brought back."""
    with House(tmp_path / "q.pourbook") as house:
        for who, name in ((HOW.who, "Ossian Fell"), (PERSON, PERSON)):
            badge = house.book.enter(HOW, "person", name).id
            house.book.withdraw_person(SURE._replace(who=who, reason="left the house"), name)
            noted = list(house.book.entries_listed())[-1].entry
            assert (noted["body"]["item"], noted["body"]["text"]) == (badge, "name withdrawn")
            assert noted["reason"] == "left the house"
            assert (noted["who"] == HOW.who) == (who == HOW.who)
        assert PERSON not in str(house.book.store.query("SELECT bytes FROM entry"))
        assert house.book.verify().faults == ()


def test_a_name_that_comes_back_gets_another_reference(kept):
    """Nobody can tell by it that it is the same person."""
    with Book.open(kept, clock=Clock("2030-01-01")) as book:
        (before,) = book.store.query("SELECT reference, salt FROM person_name WHERE name = ?", (PERSON,))
        book.withdraw_person(SURE, PERSON)
        assert book.store.query("SELECT 1 FROM person_name WHERE name = ?", (PERSON,)) == []
        assert before[0] in str(book.store.query("SELECT bytes FROM entry"))


def test_a_login_name_goes_with_its_person_and_a_shared_one_stays(tmp_path):
    """The computer's own name says who it was; one that others use, too, does not."""
    with House(tmp_path / "q.pourbook") as house:
        row = house.book.enter(HOW, "place", "Row 1").id
        for who, login in ((PERSON, "ifarrow"), (PERSON, "bench"), ("Tomas Reeve", "bench")):
            house.record(Note(row, "x"), who=who, login=login)
        house.book.withdraw_person(SURE, PERSON)
        logins = [entry.entry.get("login") for entry in house.book.entries_listed() if entry.kind == "note"]
        assert logins[0].startswith("person:")
        assert logins[1:] == ["bench", "bench"]


def test_who_is_withdrawn_can_be_asked_for_by_what_is_shown(kept):
    """In the journal, as a suspect and as a taster, in any case; no screen shows the whole of what is in the chain."""
    here("cask", "Q 900", "--fill", "200 l", "--strength", "60", book=kept, POURBOOK_WHO=PERSON).done()
    with Book.open(kept) as book:
        reference = book.withdraw_person(SURE, PERSON).withdrawal.references[0]
    desk, shown = Desk(kept, here), readable(reference)
    recorded = [one["number"] for one in desk.asks(f"journal --who {reference}")["entries"]]
    assert len(recorded) > 3
    assert [one["number"] for one in desk.asks(f"journal --who '{shown.upper()}'")["entries"]] == recorded
    by_code, by_sight = (desk.asks(f"affected --person '{name}'") for name in (reference, shown))
    assert by_sight["items"] == by_code["items"] != []
    tasted = desk.asks(f"tastings --by '{shown}'")["tastings"]
    assert tasted == desk.asks(f"tastings --by {reference}")["tastings"] != []
    assert reference not in desk.does("tastings").out + desk.does("journal").out
    beyond = desk("affected --person 'unnamed person AAAAAA'").err
    assert "no person is called 'unnamed person AAAAAA'" in beyond
    refused = desk(f"affected --person {reference[:-2]}AA").err
    assert reference[:-2] not in refused
    assert "unnamed person" in refused


def test_a_reference_of_somebody_who_is_named_is_their_name(kept):
    """As answers by codes say it: whoever reads those asks by what they read."""
    with Book.open(kept) as book:
        reference = next(one.reference for one in names_of_people(book.store) if one.name == PERSON)
        assert person_meant(book.store, reference) == PERSON
        assert person_meant(book.store, "unnamed person ABCDEF") == "unnamed person ABCDEF"
