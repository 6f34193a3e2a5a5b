"""What is written can be read: by other programs, and by another book."""

import csv
import io
import json
import tempfile

import pytest
from house import HOW, House, moment
from hypothesis import given
from hypothesis import strategies as st
from random_books import ITEMS, START_US, STEP_US, books, built

from pourbook import Book, Pour
from pourbook.actions.happening import Happening
from pourbook.actions.importing import import_history
from pourbook.book import tasting_notes
from pourbook.book.entries import STAGES, SUBJECTS, Stage, Taste, Word
from pourbook.book.entries import House as Settings
from pourbook.book.search import in_force
from pourbook.codes.identifiers import key_of
from pourbook.errors import FaultsFound, StoreError
from pourbook.exchange.output.counted_lines import replayed
from pourbook.exchange.output.exports import pours_table, stock_table, tastings_table, trace_table
from pourbook.exchange.output.history_export import export_history
from pourbook.exchange.output.journal_export import journal_table
from pourbook.exchange.output.writing import Table, write_csv, write_rows_as_json, write_workbook
from pourbook.queries.accounts.account import account_of
from pourbook.queries.items.item_notes import item_notes


def written(book, what, form, at_us=None):
    file = io.StringIO()
    table = {"stock": stock_table, "journal": journal_table, "pours": pours_table}[what](book, at_us)
    count = (write_csv if form == "csv" else write_rows_as_json)(file, table)
    return count, file.getvalue()


@pytest.fixture
def quillmere(house):
    """Two casks, a vatting, a lot, a leak."""
    house.cask("C1", "200 l", "63.5", at="2015-03-01", spirit="pot still", wood_days=0)
    house.cask("C2", "180 l", "61", at="2015-03-02")
    house.facts("C1", ref="=row 1", wood="chestnut", place="+cellar")
    house.lose("C1", "2 kg", disposition="leak", at="2016-01-01")
    house.dump("C1", "B1", at="2018-01-01")
    house.pour("C2", "B1", "60 l", "60.2", at="2018-01-01")
    house.water("B1", "25 kg", at="2018-01-02")
    house.pour("B1", "L1", "150 l", verb="bottle", at="2018-02-01")
    return house


# -- tables ---------------------------------------------------------------------------------


def test_tasting_notes_are_a_table_for_other_programs(quillmere):
    """A row for each note, as it is typed; or for each word, with its intensity as a number."""
    found = {"nose": Stage("shy", {"pear": "4", "oak": "1.5"}), "finish": Stage("short", {"oak": "2"})}
    quillmere.facts("C2", ref="Q 2", at="2015-03-03")
    quillmere.record(Taste(quillmere.id("C2"), "Isla Farrow", stages=found, score="82"), at="2016-01-01")
    (known,) = tastings_table(quillmere.book).rows
    assert (known["ref"], known["nose"], known["finish"], known["score"]) == (
        "Q 2",
        "pear 4, oak 1.5; shy",
        "oak 2; short",
        82,
    )
    assert (known["text"], known["liking"], known["rank"]) == ("", "", 0)
    rows = [(row["stage"], row["word"], row["intensity"]) for row in tastings_table(quillmere.book, "words").rows]
    assert rows == [("nose", "pear", 4.0), ("nose", "oak", 1.5), ("finish", "oak", 2.0)]


@pytest.mark.parametrize("what", ["stock", "journal", "pours"])
def test_csv_and_json_say_the_same(quillmere, what):
    """The same rows and columns; JSON keeps numbers, CSV their text."""
    count, text = written(quillmere.book, what, "csv")
    rows = list(csv.DictReader(io.StringIO(text)))
    counted, document = written(quillmere.book, what, "json")
    objects = json.loads(document)
    assert count == counted == len(rows) == len(objects) > 0
    for row, found in zip(rows, objects, strict=True):
        assert list(row) == list(found)
        for name, value in found.items():
            if isinstance(value, int):
                assert int(row[name]) == value
            elif isinstance(value, float):
                assert float(row[name]) == value


def test_stock_is_what_holds_liquid(quillmere):
    """To the milligram, and nothing that is empty."""
    stock = {item["id"]: item for item in json.loads(written(quillmere.book, "stock", "json")[1])}
    assert set(stock) == {quillmere.id(name) for name in ("C2", "B1", "L1")}
    for identifier, row in stock.items():
        held = quillmere.book.show(identifier).holding.liquid
        assert (row["mass_mg"], row["ethanol_mg"], row["extract_mg"]) == held


def test_stock_at_a_moment(quillmere):
    """Before the dumping both casks were full."""
    count, _ = written(quillmere.book, "stock", "json", moment("2016-06-01"))
    assert count == 2


def test_pours_add_up(quillmere):
    """Every line that counts, with what it moved, `all` as milligrams too: in = out + held."""
    held = {}
    for row in json.loads(written(quillmere.book, "pours", "json")[1]):
        for end, sign in ((row["source"], -1), (row["target"], 1)):
            held[end] = held.get(end, 0) + sign * row["mass_mg"]
    gained = sum(held.values())
    assert gained == 0
    for name in ("C1", "B1", "L1"):
        assert held[quillmere.id(name)] == quillmere.book.show(quillmere.id(name)).holding.mass_mg


def test_the_journal_is_whole(quillmere):
    """Every entry with its hash, in order; the last is the head."""
    number, head = quillmere.book.head()
    rows = json.loads(written(quillmere.book, "journal", "json")[1])
    assert list(dict.fromkeys(row["entry"] for row in rows)) == list(range(1, number + 1))
    assert rows[-1]["hash"] == head


def test_the_journal_has_every_line_with_what_it_moved(quillmere):
    """As the pours applied again say, line by line; a gauge has what it found; what no longer counts has nothing."""
    gauged = quillmere.gauge("C2", "100 l", "60.5", at="2019-01-01").numbers[0]
    voided = quillmere.draw("C2", "V1", "100 ml", at="2019-02-01", purpose="trial").numbers[-1]
    quillmere.void(voided, reason="from the wrong cask")
    book = quillmere.book
    rows = {(row["entry"], row["line"]): row for row in journal_table(book).rows}
    pours = {(row["entry"], row["line"]): row for row in pours_table(book).rows}
    moved = ("mass_mg", "ethanol_mg", "extract_mg", "received_mg")
    with_amounts = {key for key, row in rows.items() if row["kind"] == "pour" and row["counts"] == "yes"}
    assert with_amounts == pours.keys()
    for key, row in pours.items():
        assert [rows[key][name] for name in moved] == [row[name] for name in moved]
        assert (rows[key]["from"], rows[key]["to_ref"]) == (row["source"], row["target_ref"])
    found = rows[gauged, 0]
    held = book.show(quillmere.id("C2")).holding.liquid
    assert (found["kind"], found["mass_mg"], found["ethanol_mg"]) == ("gauge", held.mass_mg, held.ethanol_mg)
    assert (rows[voided, 0]["counts"], rows[voided, 0]["see_entry"]) == ("no", voided + 1)
    assert "mass_mg" not in rows[voided, 0]
    assert rows[voided + 1, 0]["reason"] == "from the wrong cask"


@given(books)
def test_the_journal_of_a_random_book_moves_what_its_pours_move(operations):
    """Whatever was corrected, back-dated or emptied: the flows of the journal are those of the pours applied again."""
    house, _ = built(operations)
    moved = ("entry", "line", "mass_mg", "ethanol_mg", "extract_mg", "received_mg")
    listed = [
        tuple(row[name] for name in moved)
        for row in journal_table(house.book).rows
        if row["kind"] == "pour" and row["counts"] == "yes"
    ]
    replayed = [tuple(row[name] for name in moved) for row in pours_table(house.book).rows]
    assert sorted(listed) == sorted(replayed)


def test_times_of_the_journal_have_their_offset(tmp_path):
    """Summer time in the zone of the house."""
    with House(tmp_path / "q.pourbook", zone="Europe/London") as house:
        house.cask("C1", "200 l", "63.5", at="2024-07-14 09:30:05Z")
        (row,) = (row for row in journal_table(house.book).rows if row["verb"] == "fill")
    assert row["happened"] == "2024-07-14T10:30:05+01:00"


@pytest.mark.parametrize("table", ["items", "origins", "pours"])
def test_a_trace_names_entries_and_items_and_no_number_of_the_tables(quillmere, table):
    """Entries that the journal has, times as text, and a ref beside every item."""
    last, _ = quillmere.book.head()
    found = trace_table(quillmere.book, quillmere.id("L1"), table)
    assert not {"happened_us", "state"} & set(found.columns)
    for row in found.rows:
        assert set(row) >= set(found.columns)
        assert "entry" not in row or (0 < row["entry"] <= last and row["happened"].endswith("Z"))
        refs = [row[f"{end}_ref"] for end in ("source", "target", "into") if row.get(end) == quillmere.id("C1")]
        assert all(ref == "=row 1" for ref in refs)


def test_a_workbook_has_the_rows_of_the_table(quillmere, tmp_path):
    """Numbers are numbers, and a text that begins with = is a text."""
    from openpyxl import load_workbook

    path = tmp_path / "journal.xlsx"
    count = write_workbook(path, journal_table(quillmere.book))
    head, *rows = load_workbook(path).active.iter_rows()
    table = journal_table(quillmere.book)
    assert [cell.value for cell in head] == list(table.columns)
    assert count == len(rows)
    for cells, row in zip(rows, table.rows, strict=True):
        for cell, name in zip(cells, table.columns, strict=True):
            assert cell.data_type != "f"
            value = row.get(name, "")
            assert cell.value == (pytest.approx(value) if isinstance(value, float) else None if value == "" else value)


def test_a_spreadsheet_runs_nothing(quillmere):
    """A cell that begins with = + - @ gets an apostrophe; a number below zero is a number."""
    text = written(quillmere.book, "pours", "csv")[1]
    refs = {row["source_ref"] for row in csv.DictReader(io.StringIO(text))}
    assert "'=row 1" in refs
    file = io.StringIO()
    write_csv(file, Table(["a", "b"], [{"a": "-5", "b": -5}, {"a": "@x"}]))
    assert file.getvalue() == "a,b\n'-5,-5\n'@x,\n"


def test_an_empty_table_has_its_header(book):
    """No stock is a table without rows."""
    assert written(book, "stock", "csv") == (0, written(book, "stock", "csv")[1])
    assert written(book, "stock", "csv")[1].startswith("id,kind,ref,mass_mg")
    assert json.loads(written(book, "stock", "json")[1]) == []


def test_long_tables_are_written_row_by_row():
    """The header stands once."""
    file = io.StringIO()
    assert write_csv(file, Table(["n"], ({"n": number} for number in range(8)))) == 8
    assert file.getvalue() == "n\n" + "".join(f"{number}\n" for number in range(8))


# -- a book moves house ---------------------------------------------------------------------


def moved(house, folder):
    """Another book, made from the files of this one; and what each item is called there."""
    return moved_book(house.book, folder)


def moved_book(book, folder):
    """As `moved`, of a book."""
    export_history(book, folder)
    mark = book.settings["decimal_mark"]
    other = Book.create(":memory:", house="Elsewhere", clock=book.clock, decimal_mark=mark)
    import_history(other, Happening("pourbook"), folder)
    return other


def named(item):
    return item.ref or f"old {item.id}"


def assert_same_liquid(one, other):
    """Contents to the milligram, and shares of every origin by pure alcohol."""
    there = {named(item): item.holding.liquid for item in other.stock()}
    here = {named(item): item.holding.liquid for item in one.stock()}
    assert there == here
    for name, liquid in here.items():
        if liquid.ethanol_mg:
            assert shares(other, name) == pytest.approx(shares(one, name), abs=1e-12)


def shares(book, name):
    name = name.removeprefix("old ") if not book.store.query("SELECT 1 FROM fact WHERE value = ?", (name,)) else name
    return [origin.share for origin in book.trace_back(name).origins]


def test_a_book_moves_house(quillmere, tmp_path):
    """Contents, facts, shares and ages are the same elsewhere."""
    other = moved(quillmere, tmp_path / "files")
    assert_same_liquid(quillmere.book, other)
    assert other.show("=row 1").facts == {"ref": "=row 1", "wood": "chestnut", "place": "+cellar"}
    lot = f"old {quillmere.id('L1')}"
    assert other.trace_back(lot).age == quillmere.book.trace_back(quillmere.id("L1")).age
    assert other.verify().faults == ()


_words = st.text(st.characters(exclude_categories=("C", "Z"), include_characters=" ")).filter(str.strip)
_notes = st.lists(st.tuples(st.sampled_from(ITEMS), _words, st.sampled_from(("", *SUBJECTS)), st.integers(0, 40)))


_free = st.from_regex(r"[a-zé]{1,9}( [a-z]{1,6})?\.?", fullmatch=True)
_said = st.just("") | _free
_words_judged = st.dictionaries(
    _free.filter(lambda one: one[-1] != "."), st.integers(0, 50).map(lambda one: f"{one / 10:g}"), max_size=3
)
_stages = st.dictionaries(
    st.sampled_from(STAGES), st.builds(Stage, _said, _words_judged).filter(lambda one: one != Stage())
)
_tastings = st.lists(
    st.builds(
        Taste,
        st.sampled_from(ITEMS),
        st.sampled_from(("Isla Farrow", "M. Aldane")),
        _free,
        _stages,
        strength=st.sampled_from(("", "46 % vol", "92.5 proof")),
        temperature=st.sampled_from(("", "18.5 C")),
        amount=st.sampled_from(("", "12.5 ml")),
        finish_s=st.none() | st.integers(1, 90),
        missing=_said,
        too_much=_said,
        liking=st.sampled_from(("", "1", "8.5")),
        score=st.sampled_from(("", "72.5")),
        off_notes=st.sampled_from(((), ("cork",))),
        session=st.sampled_from(("", "Friday")),
        code=st.just(""),
        blind=st.booleans(),
        rank=st.integers(0, 3),
    ),
    max_size=4,
)


@given(books, _notes, _tastings, st.sampled_from(".,"))
def test_any_book_moves_house(operations, notes, tastings, mark):
    """Random fillings, pours, losses, gauges, overdrafts, corrections, notes: to the milligram, with every share."""
    house, _ = built(operations)
    with house, tempfile.TemporaryDirectory() as folder:
        for item, text, subject, slot in notes:
            house.note(item, text.strip(), subject, at=START_US + slot * STEP_US, reason="asked by the cooper")
        house.record(Settings({"decimal_mark": mark}), Word("cork", "wet cardboard", also=("corked",), off=True))
        for note in tastings:
            house.record(note._replace(id=house.id(note.id)), confirmed=True)
        other = moved(house, folder)
        assert tastings_of(other) == tastings_of(house.book)
        assert len(tastings_of(other)) == len(tastings)
        assert other.words() == house.book.words()
        assert_same_liquid(house.book, other)
        assert notes_of(other) == notes_of(house.book)
        assert len(notes_of(other)) == len(notes)
        other.close()


def tastings_of(book):
    """Every tasting note: its item as the files call it, and all that it says."""
    return [(named(book.show(note.item)), note._replace(entry=0, item="")) for note in tasting_notes.notes(book.store)]


def notes_of(book):
    """Every note that stands: its item as the files call it, when, by whom, what and why."""
    return [
        (
            named(book.show(one.entry["body"]["item"])), one.happened_us, one.entry["who"], one.entry["reason"],
            one.entry["body"]["text"], one.entry["body"].get("subject"),
        )
        for one in in_force(book.store, "note")
    ]  # fmt: skip


def test_the_history_of_a_cask_moves_with_it(quillmere, tmp_path):
    """What was found and done, who did it, and in the order of time; a note that was taken back stays behind."""
    quillmere.note("C1", "two hoops driven", "repair", at="2016-05-01", who="P. Hask")
    quillmere.note("C1", "dry, sulphured", "arrival", at="2014-12-01")
    quillmere.note("L1", "=looks like a formula")
    quillmere.void(quillmere.note("C1", "leaks", "inspection"))
    other = moved(quillmere, tmp_path)
    told = [(one.subject, one.who, one.text) for one in other.provenance("=row 1").events]
    assert told == [("arrival", "M. Aldane", "dry, sulphured"), ("repair", "P. Hask", "two hoops driven")]
    (note,) = item_notes(other.store, key_of(other.find(f"old {quillmere.id('L1')}")))
    assert (note.subject, note.text) == ("", "=looks like a formula")


def test_what_was_confirmed_is_not_asked_again_elsewhere(house, tmp_path):
    """More than was held, a word of the house's own, a destruction nobody saw, a gauge far from the book's, a vial."""
    house.open("C1", owner="Corran Vale", duty="suspended", capacity_l="150")
    house.fill("C1", "200 l", "60", at="2016-01-01", confirmed=True)
    house.lose("C1", "1 l", disposition="spilt at the fair")
    house.lose("C1", "1 l", disposition="destruction")
    house.lose("C1", "1 l", disposition="destruction", witness="P. Hask")
    house.gauge("C1", "60 l")
    house.pour("C1", "V1", "140 l", confirmed=True)
    asked = [
        one["rule"]
        for (text,) in house.book.store.query("SELECT bytes FROM entry WHERE kind IN ('pour', 'gauge')")
        for line in json.loads(text)["body"].get("lines", [json.loads(text)["body"]])
        for one in line.get("confirmed", ())
    ]
    assert {"unknown-disposition", "unwitnessed-destruction", "more-than-held", "unusual-size"} < set(asked)
    assert len(asked) == 6
    other = moved(house, tmp_path)
    assert_same_liquid(house.book, other)
    facts = other.show(f"old {house.id('C1')}").facts
    assert (facts["owner"], facts["duty"]) == ("Corran Vale", "suspended")
    again = moved_book(other, tmp_path / "again")
    assert again.show(f"old {house.id('C1')}").facts == facts
    text = (tmp_path / "pours.csv").read_text()
    (tmp_path / "pours.csv").write_text(text.replace(",yes", ","))
    with (
        Book.create(":memory:", house="Elsewhere", clock=house.book.clock) as third,
        pytest.raises(FaultsFound) as told,
    ):
        import_history(third, Happening("pourbook"), tmp_path)
    (fault,) = told.value.faults  # without the column it is asked; what follows from a cask not filled is not told
    assert "'181822916 mg' is 200.00 l, and the capacity is 150.00 l" in fault.problem


def test_a_loss_that_a_correction_made_is_no_question_elsewhere(house, tmp_path):
    """Gauges that were none when they were read; pours before them were replaced since, and nobody gave a kind."""
    house.cask("C1", "60 l", "60", at="2016-01-01")
    house.cask("B1", "100 l", "60", at="2016-01-01")
    poured = house.pour("B1", "C1", "10 l", at="2016-02-01").numbers[-1]
    watered = house.water("B1", "1 kg", at="2016-02-02").numbers[-1]
    house.gauge("C1", "70 l", at="2016-03-01")
    house.gauge("B1", "91 l", at="2016-03-01")
    house.replace(poured, Pour("pour", (house.move("B1", "C1", "30 l"),)), at="2016-02-01")
    house.replace(watered, Pour("reduce", (house.move("water", "B1", "60 kg"),)), at="2016-02-02")
    other = moved(house, tmp_path)
    assert_same_liquid(house.book, other)
    there, here = (account_of(book, moment("2016-01-01"), moment("2017-01-01")).total for book in (other, house.book))
    assert [(line.side, line.heading, line.quantity) for line in there.lines] == [
        (line.side, line.heading, line.quantity) for line in here.lines
    ]
    assert {"evaporation", "operating loss"} <= {line.heading for line in here.lines}


def test_a_fact_stated_later_is_no_question_elsewhere(house, tmp_path):
    """The cask was full before anybody wrote down how much it takes."""
    house.cask("C1", "200 l", "60", at="2016-01-01")
    house.facts("C1", capacity_l="150", at="2017-01-01")
    assert_same_liquid(house.book, moved(house, tmp_path))


def test_what_import_cannot_read_is_kept_as_words(house, tmp_path):
    """A capacity in words goes to the note, a day in words to the reason; a ref of two casks is replaced."""
    house.cask("C1", "200 l", "63.5", at="2015-03-01", distilled="last spring", cost="4.5", ref="twin")
    house.facts("C1", ref="twin", capacity_l="a big one", note="old")
    house.open("C2")
    house.facts("C2", ref="twin")
    other = moved(house, tmp_path)
    name = f"old {house.id('C1')}"
    assert other.show(name).facts == {"ref": name, "note": "old; capacity_l a big one"}
    (pour,) = other.trace_back(name).pours
    assert pour.facts["cost"] == "4.5"
    assert "distilled last spring" in (tmp_path / "pours.csv").read_text()


def test_numbers_are_written_with_the_houses_mark(tmp_path):
    """So that a house of the same habit can read them."""
    with House(decimal_mark=",") as house:
        house.open("C1")
        house.facts("C1", ref="row 1", capacity_l="225.5")
        export_history(house.book, tmp_path)
        with House(decimal_mark=",") as other:
            import_history(other.book, HOW, tmp_path)
            assert other.book.show("row 1").facts["capacity_l"] == "225.5"


def test_what_no_longer_counts_is_left_out(quillmere, tmp_path):
    """A voided pour is not poured elsewhere."""
    (last,) = quillmere.pour("B1", "L1", "1 l", at="2019-01-01").numbers
    quillmere.void(last)
    assert_same_liquid(quillmere.book, moved(quillmere, tmp_path))


def test_nothing_is_overwritten(quillmere, tmp_path):
    """A folder that has one of the files already is left as it is."""
    (tmp_path / "pours.csv").write_text("mine")
    with pytest.raises(StoreError, match="already exists"):
        export_history(quillmere.book, tmp_path)
    assert (tmp_path / "pours.csv").read_text() == "mine"


def test_a_folder_that_cannot_be_made(quillmere, tmp_path):
    """The disk's reason is told."""
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match="cannot be written"):
        export_history(quillmere.book, tmp_path / "file" / "folder")


def test_the_replay_ends_where_the_book_does(quillmere):
    """Folding the journal anew gives what the tables say the items hold."""
    held = {}
    for line in replayed(quillmere.book.store):
        body = line.body
        held[body.get("from", body.get("item"))] = line.outcome.source
        held[body.get("to", "")] = line.outcome.target or held.get(body.get("to", ""))
    for name in ("C1", "C2", "B1", "L1"):
        assert held[quillmere.id(name)].liquid == quillmere.book.show(quillmere.id(name)).holding.liquid
