"""Today's journal held against heads, papers and copies: what is unchanged, and where a change began."""

import json
import sqlite3

import pytest
from chains import NAMES, hashed
from command import here
from house import House

from pourbook.book.journal import GENESIS, chain
from pourbook.book.store import Store
from pourbook.documents.journal import against_words
from pourbook.errors import Malformed
from pourbook.queries.journal.against import Head, against_book, against_heads, checkpoints, head_at, read_heads

ENTRIES = 41


@pytest.fixture
def filled(tmp_path):
    """A book of so many entries, the heads of all of them, and its path."""
    path = tmp_path / "quillmere.pourbook"
    with House(path) as house:
        house.cask("C1", "200 l", "63.5")
        while house.book.head()[0] < ENTRIES:
            house.note("C1", f"look {house.book.head()[0]}")
        heads = [head_at(house.book.store, number) for number in range(1, ENTRIES + 1)]
    return path, heads


def tampered(path, number, *, rechained=True):
    """Another text in the place of an entry, the chain computed anew behind it, as one who knows how would."""
    with sqlite3.connect(path) as connection:
        connection.execute(
            "UPDATE entry SET bytes = replace(bytes, 'look', 'looked') WHERE number = ? AND bytes LIKE '%look%'",
            (number,),
        )
        assert connection.execute("SELECT changes()").fetchone() == (1,)
        head, coded = GENESIS, hashed(connection.execute(NAMES))
        for number_, bytes_ in connection.execute("SELECT number, bytes FROM entry ORDER BY number").fetchall():
            head = chain(head, coded(bytes_).encode())
            if rechained:
                connection.execute("UPDATE entry SET hash = ? WHERE number = ?", (head, number_))
    connection.close()


def truncated(path, last):
    with sqlite3.connect(path) as connection:
        connection.execute("DELETE FROM entry WHERE number > ?", (last,))
    connection.close()


def held_against(path, heads):
    store = Store.open(path)
    found = against_heads(store, heads)
    store.close()
    return found


def test_a_book_that_was_only_appended_to_holds_its_history(filled):
    path, heads = filled
    with House.reopened(path, {}) as house:
        assert against_words(against_heads(house.book.store, [heads[19]])).startswith(
            "the history up to entry 20 is unchanged; recorded since: 21"
        )


@pytest.mark.parametrize("changed", [5, 9, 20, 41])
def test_one_head_says_whether_and_not_where(filled, changed):
    """The chain behind the change agrees with itself: only the head from outside gives it away."""
    path, heads = filled
    tampered(path, changed)
    found = held_against(path, [heads[-1]])
    assert (found.agrees, found.agreed, found.differs, found.is_exact) == (False, 0, ENTRIES, False)
    assert held_against(path, [heads[changed - 2]]).agrees


@pytest.mark.parametrize("changed", range(4, ENTRIES + 1, 4))
def test_checkpoints_enclose_the_first_entry_that_differs(filled, changed):
    """Between the last head that agrees and the first that does not; never beside it."""
    path, _ = filled
    store = Store.open(path)
    carried = checkpoints(store, [7, 19, 23])
    store.close()
    assert {head.number for head in carried} == {1, 2, 4, 8, 16, 32, 7, 19, 23, ENTRIES}
    tampered(path, changed)
    found = held_against(path, carried)
    assert found.agreed < changed <= found.differs
    numbers = [0, *(head.number for head in carried)]
    assert numbers[numbers.index(found.differs) - 1] == found.agreed
    assert found.is_exact == (found.differs - found.agreed == 1)


def test_a_clumsy_change_is_named_by_the_chain_itself(filled):
    """Bytes changed, hashes left as they were: the entry is named, though its stored hash is still the paper's."""
    path, heads = filled
    tampered(path, 12, rechained=False)
    found = held_against(path, [heads[-1]])
    assert (found.agrees, found.differs) == (False, 12)
    assert held_against(path, [heads[9]]).agrees


def test_a_truncated_book_is_told_by_where_it_ends(filled):
    path, heads = filled
    truncated(path, 30)
    found = held_against(path, [heads[15], heads[-1]])
    assert (found.agreed, found.differs, found.is_exact) == (16, 31, False)
    assert "the book ends at entry 30" in against_words(found)
    assert held_against(path, [heads[29], heads[-1]]).is_exact


def test_a_hash_under_a_wrong_number_is_said_to_be_a_slip(filled):
    path, heads = filled
    found = held_against(path, [Head(17, heads[19].hash)])
    assert not found.agrees
    assert "this hash is that of entry 20: check the number" in against_words(found)


@pytest.mark.parametrize("changed", [4, 12, 41])
def test_a_copy_names_the_first_entry_that_differs(filled, tmp_path, changed):
    path, _ = filled
    copy = tmp_path / "copy.pourbook"
    here("backup", copy, book=path).done()
    with House.reopened(path, {}) as house:
        house.record(house.opening("C2"))
    tampered(path, changed)
    before = copy.read_bytes()
    ran = here("verify", "--against", copy, "--json", book=path)
    assert ran.status == 1
    told = ran.json["against"]
    assert (told["differs"], told["exact"], told["agrees"]) == (changed, True, False)
    assert copy.read_bytes() == before
    assert not copy.with_name("copy.pourbook-wal").exists()


def test_a_copy_that_is_longer_shows_what_is_missing(filled, tmp_path):
    path, _ = filled
    copy = tmp_path / "copy.pourbook"
    here("backup", copy, book=path).done()
    truncated(path, 30)
    one, other = Store.open(path), Store.open(copy)
    assert against_words(against_book(one, other)) == (
        "entry 31 is the first that differs (the copy has it; this book does not)"
    )
    assert against_book(other, one).agrees
    one.close(), other.close()


def test_a_copy_that_is_not_sound_vouches_for_nothing(filled, tmp_path):
    path, _ = filled
    copy = tmp_path / "copy.pourbook"
    here("backup", copy, book=path).done()
    tampered(copy, 9, rechained=False)
    ran = here("verify", "--against", copy, book=path)
    assert (ran.status, ran.refusal) == (1, Malformed)
    assert "the copy is damaged: entry 9" in ran.err


def test_the_verb_takes_a_head_as_it_is_printed_and_a_file_that_holds_it(filled, tmp_path):
    path, heads = filled
    number, hash_ = heads[-1]
    printed = here("journal-hash", book=path).done().out
    as_json = here("journal-hash", "--json", book=path).done().out
    for name, text in (("plain.txt", printed), ("head.json", as_json), ("qr.txt", f"pourbook:head:{number}:{hash_}")):
        (tmp_path / name).write_text(text, "utf-8")
        assert read_heads(text) == (heads[-1],)
        assert (
            here("verify", "--against", tmp_path / name, book=path)
            .done()
            .out.endswith("the history up to entry 41 is unchanged\n")
        )
    assert here("verify", "--against", f"{number}:{hash_.upper()}", book=path).status == 0
    tampered(path, 12)
    ran = here("verify", "--against", f"pourbook:head:{number}:{hash_}", book=path)
    assert ran.status == 1
    assert "the histories differ: no earlier entry is vouched for, entry 41 does not" in ran.out


def test_heads_are_read_wherever_they_stand_and_nothing_else_is():
    digest = "0f" * 32
    assert read_heads(json.dumps({"heads": [f"4:{digest}", f"16:{digest}"]})) == (Head(4, digest), Head(16, digest))
    assert read_heads(f"<td>8</td> 8:{digest}") == (Head(8, digest),)
    for text in ("", digest, f"12:{digest}0", f"12:{digest[:-1]}", f"0:{digest}", f"4:{digest} 4:{'1f' * 32}"):
        with pytest.raises(Malformed):
            read_heads(text)
