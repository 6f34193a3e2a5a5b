"""Damage done to entries and tables behind the book's back: verification finds it and says where."""

import hashlib
import json
import sqlite3

import pytest
from chains import NAMES, hashed
from eventful import eventful_book
from house import House, new_make
from stations import takes_long

from pourbook import Close, Draft, Gauge
from pourbook.book.journal import journal
from pourbook.book.rebuilding import PROJECTIONS
from pourbook.book.verifying import repair
from pourbook.errors import Damaged


@pytest.fixture(scope="module")
def book():
    """The eventful book; every test damages it inside a savepoint and takes that back."""
    with eventful_book() as house:
        yield house.book


def first_fault(book):
    """Where the first fault lies, and what it says."""
    fault = book.verify().faults[0]
    return fault.file, fault.row, fault.problem


def count(book):
    return book.head()[0]


def count_of_tables(book):
    """The last entry that any table mentions."""
    return book.store.query("SELECT max(line) / 4096 FROM ledger")[0][0]


# -- the journal ---------------------------------------------------------------------------------


def test_any_changed_entry_is_named(book, damage):
    """One digit or letter of any one entry."""
    for number in range(1, count(book) + 1):
        (text,) = damage("SELECT bytes FROM entry WHERE number = ?", (number,)).fetchone()
        changed = text.replace("2020", "2021", 1) if "2020" in text else text.replace("a", "b", 1)
        damage("SAVEPOINT one")
        damage("UPDATE entry SET bytes = ? WHERE number = ?", (changed, number))
        assert first_fault(book) == ("journal", number, f"entry {number} is not what was recorded: its hash differs")
        damage("ROLLBACK TO one")


def test_any_dropped_entry_is_named(book, damage):
    """But the last, which the tables miss (and a head written down elsewhere)."""
    for number in range(1, count(book)):
        damage("SAVEPOINT one")
        damage("DELETE FROM entry WHERE number = ?", (number,))
        assert first_fault(book) == ("journal", number, f"entry {number} is missing")
        damage("ROLLBACK TO one")


def test_any_two_swapped_entries_are_named(book, damage):
    """The first of the two."""
    for number in range(1, count(book)):
        damage("SAVEPOINT one")
        for old, new in ((number, 0), (number + 1, number), (0, number + 1)):
            damage("UPDATE entry SET number = ? WHERE number = ?", (new, old))
        file, row, problem = first_fault(book)
        assert (file, row) == ("journal", number)
        assert "its hash differs" in problem
        damage("ROLLBACK TO one")


def test_an_entry_put_in_between_is_named(book, damage):
    """Copied in, the rest moved up by one."""
    damage("UPDATE entry SET number = -number - 1 WHERE number >= 5")
    damage("UPDATE entry SET number = -number WHERE number < 0")
    damage("INSERT INTO entry SELECT 5, kind, happened, 5, 0, bytes, hash FROM entry WHERE number = 3")
    assert first_fault(book)[:2] == ("journal", 5)


def test_an_entry_added_at_the_end_is_named(book, damage):
    """Without the right hash it does not follow."""
    last = count(book)
    damage("INSERT INTO entry SELECT ?, kind, happened, ?, 0, bytes, hash FROM entry WHERE number = 3", (last + 1,) * 2)
    assert first_fault(book)[:2] == ("journal", last + 1)


@pytest.mark.parametrize("cut", ["substr(bytes, 1, 40)", "''", "bytes || ' '", "replace(bytes, ',', ', ')"])
def test_truncated_or_reformatted_bytes_are_named(book, damage, cut):
    """Even where they would read the same."""
    damage(f"UPDATE entry SET bytes = {cut} WHERE number = 4")
    assert first_fault(book)[:2] == ("journal", 4)


def test_bytes_that_are_no_text_are_named(book, damage):
    """A flipped bit in the middle of a letter: not UTF-8 any more."""
    damage("UPDATE entry SET bytes = CAST(x'7b22ff7d' AS TEXT) WHERE number = 4")
    file, row, problem = first_fault(book)
    assert (file, row) == ("journal", 4)
    assert "entry 4" in problem


def test_a_changed_hash_is_named(book, damage):
    """Of the entry itself."""
    damage("UPDATE entry SET hash = zeroblob(32) WHERE number = 7")
    assert first_fault(book)[:2] == ("journal", 7)


@pytest.mark.parametrize("column", ["kind = 'note'", "happened = happened + 1", "place = 1", "gone = 3"])
def test_columns_that_disagree_with_the_entry_are_named(book, damage, column):
    """What the table says of an entry follows from the entry."""
    number = damage("SELECT max(number) FROM entry WHERE kind = 'pour' AND gone = 0").fetchone()[0]
    damage(f"UPDATE entry SET {column} WHERE number = ?", (number,))
    file, row, _ = first_fault(book)
    assert (file, row) == ("journal", number)


def test_a_voided_entry_that_counts_again_is_named(book, damage):
    """The table must say that it is gone."""
    (number,) = damage("SELECT number FROM entry WHERE gone <> 0 ORDER BY number LIMIT 1").fetchone()
    damage("UPDATE entry SET gone = 0 WHERE number = ?", (number,))
    assert first_fault(book)[:2] == ("journal", number)


def rewritten(book, damage, number, old, new):
    """An entry changed, and every hash after it made to agree: what a forger with the file would do."""
    rows = damage("SELECT number, bytes FROM entry ORDER BY number").fetchall()
    head, coded = bytes(32), hashed(damage(NAMES))
    for at, text in rows:
        changed = text.replace(old, new) if at == number else text
        head = hashlib.sha256(head + coded(changed).encode()).digest()
        damage("UPDATE entry SET bytes = ?, hash = ? WHERE number = ?", (changed, head, at))
    return head.hex()


def test_a_forged_chain_disagrees_with_the_tables_and_with_the_head_kept_elsewhere(book, damage):
    """An amount rewritten together with all hashes: the chain holds, nothing else does."""
    before = book.head()
    (number,) = damage("SELECT min(number) FROM entry WHERE kind = 'pour'").fetchone()
    (text,) = damage("SELECT bytes FROM entry WHERE number = ?", (number,)).fetchone()
    mass = json.loads(text)["body"]["lines"][0]["mass"]
    head = rewritten(book, damage, number, f'"mass":{mass}', f'"mass":{mass + 1}')
    assert book.head() == (before[0], head)
    assert head != before[1]
    assert first_fault(book)[0] == "table ledger"


def test_a_forged_chain_of_other_bytes_for_the_same_entry_is_named(book, damage):
    """A space more, and all hashes made to agree: not in canonical form."""
    rewritten(book, damage, 5, '":', '": ')
    assert first_fault(book) == ("journal", 5, "entry 5 is not in canonical form")


def test_a_forged_void_is_a_fault(book, damage):
    """Pointing at another entry than the tables say."""
    (number,) = damage("SELECT min(number) FROM entry WHERE kind = 'void'").fetchone()
    (text,) = damage("SELECT bytes FROM entry WHERE number = ?", (number,)).fetchone()
    voided = json.loads(text)["body"]["entry"]
    rewritten(book, damage, number, f'"entry":{voided}', f'"entry":{voided - 12}')
    assert book.verify().faults


@pytest.mark.parametrize(
    ("old", "new"), [('"lines"', '"lined"'), ('"from":"C', '"from":"Q'), ('"mass":1', '"mass":9991')]
)
def test_a_forged_pour_that_cannot_be_is_a_fault_not_a_traceback(book, damage, old, new):
    """The chain agrees; the fold cannot follow."""
    rows = damage("SELECT number, bytes FROM entry WHERE kind = 'pour' AND gone = 0 ORDER BY number").fetchall()
    number = next(number for number, text in rows if old in text and '"all"' not in text and "origin" not in text)
    rewritten(book, damage, number, old, new)
    file, _, problem = first_fault(book)
    assert file == "journal"
    assert f"cannot be followed beyond entry {number}" in problem


def test_the_end_cut_off_is_found_by_the_tables(book, damage):
    """The last entries gone: the chain is whole, the tables know more than it."""
    damage("DELETE FROM entry WHERE number >= 12")
    assert first_fault(book)[0].startswith(("table", "journal"))


@pytest.mark.parametrize("kept", [0, 1, 2])
def test_a_journal_that_lost_its_end_is_not_repaired(book, damage, kept):
    """Everything gone but a few entries, or all but the last few: the tables know better, and a back-up is named."""
    for number in {kept, count(book) - 1 - kept}:
        damage("SAVEPOINT one")
        damage("DELETE FROM entry WHERE number > ?", (number,))
        before = damage("SELECT * FROM ledger").fetchall()
        file, row, problem = first_fault(book)
        assert (file, row) == ("journal", number + 1)
        assert f"the journal ends with entry {number}, but the tables know of entry {count_of_tables(book)}" in problem
        with pytest.raises(Damaged, match="the last ones are lost") as refusal:
            repair(book.store)
        assert "restore a back-up" in refusal.value.remedy
        assert damage("SELECT * FROM ledger").fetchall() == before
        damage("ROLLBACK TO one")


@pytest.mark.parametrize(
    "table", ["item", "fact", "ledger", "state", "flow", "mention", "reserved", "recipe", "component", "unit"]
)
def test_any_table_tells_of_a_lost_end(book, damage, table):
    """One row of one table is enough."""
    for other in PROJECTIONS:
        if other != table:
            damage(f"DELETE FROM {other}")
    damage("UPDATE entry SET gone = 0")
    damage("DELETE FROM entry WHERE number > 1")
    with pytest.raises(Damaged, match="the last ones are lost"):
        repair(book.store)


def test_recording_in_a_journal_that_lost_its_end_is_a_sentence():
    """What the lost entries left in the tables is in the way of new ones."""
    with House() as house:
        house.cask("C1", liquid=new_make(1000), at="2020-01-01")
        house.open("V1")
        house.draw("C1", "V1", 10, at="2020-02-01")
        house.book.store.execute("DELETE FROM entry WHERE number = (SELECT max(number) FROM entry)")
        with pytest.raises(Damaged, match="do not agree with its journal") as refusal:
            house.draw("C1", "V1", 10, at="2020-02-01")
        assert refusal.value.remedy == "find out where: pourbook verify"


# -- the tables --------------------------------------------------------------------------------------


def cells(book):
    """Every cell of every table that follows from the journal."""
    for table in PROJECTIONS:
        columns = [row[1] for row in book.store.query(f"PRAGMA table_info({table})")]
        rows = book.store.query(f"SELECT {', '.join(columns)} FROM {table}")
        assert rows, f"the eventful book leaves {table} empty"
        for row in rows:
            for column in columns:
                yield table, columns, row, column


@takes_long
def test_any_changed_cell_of_any_table_is_found(book, damage):
    """One at a time, all of them."""
    tried = 0
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
            faults = book.verify().faults
            damage("ROLLBACK TO one")
        assert any(fault.file == f"table {table}" for fault in faults), (table, column, row)
        tried += 1
    assert tried > 200


@pytest.mark.parametrize("table", PROJECTIONS)
def test_a_lost_row_and_an_emptied_table_are_found_and_repaired(book, damage, table):
    """Every table is a pure function of the journal."""
    before = book.store.query(f"SELECT * FROM {table} ORDER BY {PROJECTIONS[table]}")
    key = PROJECTIONS[table].split(",")[0]
    for condition in (f"{key} = (SELECT max({key}) FROM {table})", "1"):
        damage(f"DELETE FROM {table} WHERE {condition}")
        assert first_fault(book)[0] == f"table {table}"
        repair(book.store)
        assert book.verify().faults == ()
        assert book.store.query(f"SELECT * FROM {table} ORDER BY {PROJECTIONS[table]}") == before


def test_a_repair_also_restores_what_the_table_says_of_entries(book, damage):
    """Voided and replaced entries, and the places of replacements."""
    before = book.store.query("SELECT number, place, gone FROM entry ORDER BY number")
    damage("UPDATE entry SET place = 0, gone = 1")
    repair(book.store)
    assert book.store.query("SELECT number, place, gone FROM entry ORDER BY number") == before


def test_a_broken_journal_is_not_repaired(book, damage):
    """There is nothing to rebuild from: a back-up is needed."""
    damage("UPDATE entry SET bytes = '{}' WHERE number = 2")
    with pytest.raises(Damaged, match="entry 2") as refusal:
        repair(book.store)
    assert "back-up" in refusal.value.remedy


@pytest.mark.parametrize("table", [*PROJECTIONS, "composition"])
def test_a_missing_table_is_named_and_made_anew(book, damage, table):
    """A fault and not a traceback; repair makes it again, with its indexes."""
    schema = "SELECT name, sql FROM sqlite_master WHERE tbl_name NOT LIKE '%sqlite%' ORDER BY name"
    before = damage(schema).fetchall()
    damage(f"DROP TABLE {table}")
    file, _, problem = first_fault(book)
    assert file == f"table {table}"
    assert problem == "is missing"
    repair(book.store)
    assert damage(schema).fetchall() == before
    assert book.verify().faults == ()


def test_faults_are_told_up_to_a_number(book, damage):
    """A wholly wrong table does not fill the screen."""
    damage("UPDATE ledger SET mass = mass + 1")
    assert 1 <= len(book.verify().faults) <= 40


def test_verification_does_not_care_who_writes_meanwhile(tmp_path, monkeypatch):
    """Another station records between chain and tables: what is compared is one state of the book."""
    from pourbook.book import verifying

    with House(tmp_path / "q.pourbook") as house:
        house.cask("C1", liquid=new_make(1000))
        other = House.reopened(tmp_path / "q.pourbook", house.ids)
        plain = verifying.rebuild

        def rebuilt_while_another_writes(store, *arguments, **options):
            other.record(Gauge(other.id("C1"), 990, None), at="2024-02-01")
            plain(store, *arguments, **options)

        monkeypatch.setattr(verifying, "rebuild", rebuilt_while_another_writes)
        assert house.book.verify().faults == ()
        monkeypatch.undo()
        assert house.book.verify().faults == ()
        assert house.held("C1").mass_mg == 990
        other.book.close()


# -- the schema ------------------------------------------------------------------------------------


def schema(book):
    """Everything that is defined in the file."""
    return book.store.query("SELECT type, name, sql FROM sqlite_master ORDER BY type, name")


ALTERATIONS = {
    "ALTER TABLE ledger RENAME COLUMN mass TO weight": ("table ledger", "is not as this program makes it"),
    "ALTER TABLE fact ADD COLUMN extra TEXT": ("table fact", "is not as this program makes it"),
    "ALTER TABLE composition RENAME COLUMN items TO parts": ("table composition", "is not as this program makes it"),
    "DROP INDEX flow_source": ("index flow_source", "is missing"),
    "DROP INDEX fact_gtin; CREATE INDEX fact_gtin ON fact (name)": (
        "index fact_gtin",
        "is not as this program makes it",
    ),
    "DROP TABLE mention; CREATE VIEW mention AS SELECT 1 AS item": ("table mention", "is missing"),
    "CREATE INDEX by_mass ON ledger (mass)": ("index by_mass", "is not pourbook's"),
    "CREATE VIEW strong AS SELECT * FROM ledger WHERE ethanol > 500": ("view strong", "is not pourbook's"),
    "CREATE VIEW broken AS SELECT * FROM nowhere": ("view broken", "is not pourbook's"),
    "CREATE TRIGGER hide AFTER INSERT ON fact BEGIN DELETE FROM fact; END": ("trigger hide", "is not pourbook's"),
}


@pytest.mark.parametrize("statements", ALTERATIONS)
def test_what_is_altered_in_the_schema_is_told_and_put_right(book, damage, statements):
    """A sentence that names it; repair makes it as it was, and the trigger acts no more."""
    whole, rows = schema(book), book.store.query("SELECT * FROM ledger ORDER BY item, happened, place")
    for statement in statements.split("; ") if "TRIGGER" not in statements else [statements]:
        damage(statement)
    found = {fault.file: fault for fault in book.verify().faults}
    file, problem = ALTERATIONS[statements]
    assert found[file].problem == problem
    assert "pourbook repair" in found[file].remedy
    repair(book.store)
    assert schema(book) == whole
    assert book.store.query("SELECT * FROM ledger ORDER BY item, happened, place") == rows
    assert book.verify().faults == ()


def test_a_foreign_table_is_told_and_left_alone(book, damage):
    """Somebody keeps rows in it."""
    damage("CREATE TABLE sqlit_notes (text)")
    damage("INSERT INTO sqlit_notes VALUES ('mine')")
    assert first_fault(book) == ("table sqlit_notes", 0, "is not pourbook's")
    repair(book.store)
    assert book.store.query("SELECT text FROM sqlit_notes") == [("mine",)]
    assert first_fault(book) == ("table sqlit_notes", 0, "is not pourbook's")


@pytest.mark.parametrize(
    "statement",
    ["ALTER TABLE entry RENAME COLUMN bytes TO text", "ALTER TABLE entry RENAME TO old", "DROP TABLE entry"],
)
def test_a_journal_that_is_not_where_it_was_is_not_repaired(book, damage, statement):
    """A sentence and a back-up, from both."""
    damage(statement)
    fault = next(fault for fault in book.verify().faults if fault.file == "table entry")
    assert "restore a back-up" in fault.remedy
    with pytest.raises(Damaged) as refusal:
        repair(book.store)
    assert "restore a back-up" in refusal.value.remedy


# -- entries that are none, with hashes that agree ------------------------------------------------------


def forged(book, damage, number, text):
    """Other bytes for an entry, and every hash after it made to agree."""
    head, coded = bytes(32), hashed(damage(NAMES))
    for at, known in damage("SELECT number, bytes FROM entry ORDER BY number").fetchall():
        bytes_ = text if at == number else known
        head = hashlib.sha256(head + coded(bytes_).encode()).digest()
        damage("UPDATE entry SET bytes = ?, hash = ? WHERE number = ?", (bytes_, head, at))


DEEP = '{"body":' + "[" * 100_000 + "]" * 100_000 + ',"happened":"2020-01-01T00:00:00Z","kind":"note","number":4}'


@pytest.mark.parametrize("text", [DEEP, "[" * 100_000, '"text"', "7", "[]", "{}", "1" * 5000, '{"number":1e999}'])
def test_bytes_that_are_no_entry_are_named(book, damage, text):
    """However deep, long or strange: the same sentence, from verification, repair and whoever reads it."""
    forged(book, damage, 4, text)
    file, row, problem = first_fault(book)
    assert (file, row) == ("journal", 4)
    assert problem in (
        "entry 4 cannot be read",
        "entry 4: number, kind or time in the table differ from the entry itself",
    )
    with pytest.raises(Damaged, match="entry 4"):
        repair(book.store)


@pytest.mark.parametrize("text", [DEEP, "[" * 100_000, ""])
def test_who_reads_an_entry_that_is_none_is_told_to_verify(book, damage, text):
    """Listing the journal comes upon it."""
    damage("UPDATE entry SET bytes = ? WHERE number = 4", (text,))
    with pytest.raises(Damaged, match="cannot be read") as refusal:
        list(journal(book.store))
    assert refusal.value.remedy == "find out which: pourbook verify"


@pytest.mark.parametrize(
    ("old", "new"),
    [('"mass":', '"mass":99999999999999999999999'), ('"lines":[', '"lines":[[],'), ('"from":', '"form":')],
)
def test_a_pour_that_nobody_could_have_recorded_is_named(book, damage, old, new):
    """Too large for any table, or not made as a pour is; repair changes nothing."""
    number, text = damage(
        "SELECT number, bytes FROM entry WHERE kind = 'pour' AND gone = 0 ORDER BY number DESC LIMIT 1"
    ).fetchone()
    entry = json.loads(text.replace(old, new))
    forged(book, damage, number, json.dumps(entry, sort_keys=True, separators=(",", ":"), ensure_ascii=False))
    before = book.store.query("SELECT * FROM ledger")
    file, _, problem = first_fault(book)
    assert file == "journal"
    assert f"the journal cannot be followed beyond entry {number}" in problem
    with pytest.raises(Damaged, match=f"beyond entry {number}"):
        repair(book.store)
    assert book.store.query("SELECT * FROM ledger") == before


@pytest.mark.parametrize("rubbish", ["x''", "x'00'", "zeroblob(33)"])
def test_rubbish_for_the_last_hash_is_a_sentence(book, damage, rubbish):
    """Nothing is chained to it; verification names the entry."""
    last = count(book)
    damage(f"UPDATE entry SET hash = {rubbish} WHERE number = (SELECT max(number) FROM entry)")
    assert first_fault(book)[:2] == ("journal", last)
    for ask in (book.head, lambda: book.record(Draft(Close(), 0, "M. Aldane"))):
        with pytest.raises(Damaged, match="hash of the last entry is damaged"):
            ask()
