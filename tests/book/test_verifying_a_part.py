"""What a paper rests on is checked row by row: a sound book passes, any damage to the rows behind it is found."""

import sqlite3

import pytest
from house import House, new_make
from hypothesis import given
from random_books import ITEMS, books, built

from pourbook import Item, Note, Pour
from pourbook.book import verifying_a_part
from pourbook.book.entries import Packed
from pourbook.book.trade_numbers import next_ssccs
from pourbook.book.verifying_a_part import verify_part
from pourbook.codes.identifiers import key_of

CHECKED = ("fact", "item", "ledger", "state", "flow", "mention", "pending", "setting", "unit")


@pytest.fixture(scope="module")
def book():
    """A small book in which each of these tables has rows; every test damages it inside a savepoint."""
    with House() as house:
        house.cask("C1", "200 l", "63.5", at="2020-01-01", spirit="malt")
        house.cask("C2", liquid=new_make(1_000_000), at="2020-01-02")
        house.draw("C1", "V1", "100 ml", at="2020-02-01")
        first = house.pour("C1", "B1", 1_000_000, at="2020-03-01")
        house.dump("C2", "B1", 990_000, at="2020-03-01 10:00")
        house.gauge("B1", None, "58", at="2020-03-02")
        house.hold("V1", at="2020-04-01")
        house.facts("C1", ref="Row 3/12", at="2020-04-02")
        house.void(house.draw("C1", "V2", 5000, at="2020-04-03"), at="2020-04-04")
        house.replace(first, Pour("pour", (house.move("C1", "B1", 1_100_000),)), at="2020-03-01")
        house.pour("B1", "L1", 500_000, received=499_000, at="2020-05-03")
        house.record(Packed(house.id("L1"), "case", next_ssccs(house.book.store, "9521234", 2), "9521234", 6))
        house.fill("B1", "1 l", "60", pending=True, at="2020-06-01")
        assert house.book.verify().faults == ()
        yield house.book


def cells(book):
    """Every cell of every table a paper rests on."""
    for table in CHECKED:
        columns = [row[1] for row in book.store.query(f"PRAGMA table_info({table})")]
        rows = book.store.query(f"SELECT {', '.join(columns)} FROM {table}")
        assert rows, table
        yield from ((table, columns, row, column) for row in rows for column in columns)


@pytest.fixture(params=("whole", "long"))
def chain(request, monkeypatch):
    """The chain from its beginning, or, as in a long journal, links alone."""
    if request.param == "long":
        monkeypatch.setattr(verifying_a_part, "_CHAIN_AT_MOST", 0)
    return request.param


def every_key(store):
    return [key for (key,) in store.query("SELECT key FROM item")]


@given(books)
def test_any_items_of_a_sound_book_agree(operations):
    """Each alone, so that all others are strangers; and all together. The whole book was verified by other code."""
    house, _ = built(operations)
    with house:
        store = house.book.store
        assert house.book.verify().faults == ()
        for keys in (*([key_of(house.id(item))] for item in ITEMS), every_key(store)):
            assert verify_part(store, keys) == ()


def test_a_note_on_a_person_or_an_instrument_is_no_fault_of_a_paper(chain):
    """Papers name people and instruments by what is stated of them; notes on them are nobody's paper."""
    with House() as house:
        house.cask("C1", liquid=new_make(1000), at="2020-01-01")
        for kind in ("person", "instrument"):
            item = house.book.next_id(kind)
            house.record(Item(item, {"ref": kind}))
            house.record(Note(item, "account made: manager"))
        assert verify_part(house.book.store, [key_of(house.id("C1"))]) == ()
        assert verify_part(house.book.store, every_key(house.book.store)) == ()


def test_a_sound_book_agrees_by_links_alone(book, chain):
    assert verify_part(book.store, every_key(book.store)) == ()


def test_any_changed_cell_behind_the_items_is_found(book, damage):
    """One at a time, all of them."""
    keys, tried = every_key(book.store), 0
    for table, columns, row, column in cells(book):
        where = " AND ".join(f"{name} IS ?" for name in columns)
        old = row[columns.index(column)]
        new = old + "x" if isinstance(old, str) else 1 if old is None else old + 1
        damage("SAVEPOINT one")
        try:
            damage(f"UPDATE {table} SET {column} = ? WHERE {where}", (new, *row))
        except sqlite3.IntegrityError:
            continue
        finally:
            faults = verify_part(book.store, keys)
            damage("ROLLBACK TO one")
        assert faults, (table, column, row)
        tried += 1
    assert tried > 200


def test_any_changed_entry_that_names_the_items_is_found(book, damage, chain):
    """One digit or letter; where the chain is read whole, of any other entry, too."""
    keys = every_key(book.store)
    known = verifying_a_part._known_entries(book.store, keys)
    numbers = sorted(known) if chain == "long" else range(1, book.head()[0] + 1)
    for number in numbers:
        (text,) = damage("SELECT bytes FROM entry WHERE number = ?", (number,)).fetchone()
        changed = text.replace("2020", "2021", 1) if "2020" in text else text.replace("a", "b", 1)
        damage("SAVEPOINT one")
        damage("UPDATE entry SET bytes = ? WHERE number = ?", (changed, number))
        first = verify_part(book.store, keys)[0]
        assert first.problem.startswith(f"entry {number} is not what was recorded")
        damage("ROLLBACK TO one")


@pytest.mark.parametrize("column", ["kind = 'note'", "happened = happened + 1", "place = 1", "gone = 3"])
def test_columns_that_disagree_with_the_entry_are_found(book, damage, column, chain):
    number = damage("SELECT max(number) FROM entry WHERE kind = 'pour' AND gone = 0").fetchone()[0]
    damage(f"UPDATE entry SET {column} WHERE number = ?", (number,))
    assert verify_part(book.store, every_key(book.store))


def test_a_pour_that_all_tables_have_lost_is_found(book, damage):
    """Taken out of every table but the journal, as one who hides it would."""
    number = damage("SELECT max(number) FROM entry WHERE kind = 'pour' AND gone = 0").fetchone()[0]
    damage("DELETE FROM ledger WHERE line / 4096 = ?", (number,))
    damage("DELETE FROM flow WHERE line / 4096 = ?", (number,))
    damage("DELETE FROM mention WHERE entry = ?", (number,))
    assert verify_part(book.store, every_key(book.store))


def test_damage_elsewhere_is_not_looked_for(book, damage):
    """The rows of a cask that the paper does not name."""
    keys = every_key(book.store)
    damage("UPDATE fact SET value = 'another' WHERE item = ? AND name = 'ref'", (keys[0],))
    assert verify_part(book.store, keys[:1])
    assert verify_part(book.store, keys[1:2]) == ()
