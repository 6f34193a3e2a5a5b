"""Words and tasting notes from tables: what a house typed elsewhere stands in its book, and every slip is named."""

import csv
from pathlib import Path

import pytest
from house import HOW, House

from pourbook.actions.importing import import_history, import_words
from pourbook.book.tasting_notes import notes
from pourbook.errors import FaultsFound
from pourbook.exchange.intake.tasting_tables import WORD_COLUMNS

SAMPLE = Path(__file__).parents[2] / "sample_data" / "words.csv"
ITEMS = "ref,kind\nrow 1,cask\n"
POURS = "source,target,quantity,unit,strength,happened,by\norigin,row 1,200,l,63.5,2020-01-01,M. Aldane\n"
WORDS = "word,also,fault\npear,bosc; conference,\nsulphur,,yes\n"
HEAD = "ref,happened,by,assessor,nose,finish,text,score,finish_s,off_notes,blind,confirmed\n"


@pytest.fixture
def folder(tmp_path):
    """A history with words, and a table of tastings that each test fills."""
    for name, text in (("items", ITEMS), ("pours", POURS), ("words", WORDS)):
        (tmp_path / f"{name}.csv").write_text(text, "utf-8")
    return tmp_path


def taken(folder, *rows):
    """A new book with the history, and these rows of tastings."""
    (folder / "tastings.csv").write_text(HEAD + "".join(f"{row}\n" for row in rows), "utf-8")
    house = House()
    house.clock.us += 10**15
    import_history(house.book, HOW, folder)
    return house.book


def test_tastings_come_with_a_history(folder):
    """After what was poured, by whom and when the table says, in the words of the list that came with it."""
    row = 'row 1,2020-02-01,M. Aldane,Isla Farrow,"pear 4; shy",short,sweet,82,25,,yes,'
    book = taken(folder, row, "row 1,2020-02-02,M. Aldane,,sulphur 2,,,,,sulphur,,")
    first, second = notes(book.store)
    assert (first.assessor, first.who, first.score, first.finish_s, first.blind) == (
        "Isla Farrow", "M. Aldane", 82.0, 25, True,
    )  # fmt: skip
    assert (first.stages["nose"].words, first.stages["nose"].text, first.text) == ({"pear": 4.0}, "shy", "sweet")
    assert (second.assessor, second.off_notes) == ("M. Aldane", ("sulphur",))
    assert [one.word for one in book.words()] == ["pear", "sulphur"]
    assert book.verify().faults == ()


@pytest.mark.parametrize(
    ("row", "column", "problem"),
    [
        ("row 9,2020-02-01,M. Aldane,,pear 4,,,,,,,", "ref", "nothing in the book is called 'row 9'"),
        ("row 1,,M. Aldane,,pear 4,,,,,,,", "happened", "is blank"),
        ("row 1,2020-02-01,,,pear 4,,,,,,,", "by", "is blank"),
        ("row 1,2020-02-01,M. Aldane,,pear4,,,,,,,", "nose", "ends in a digit"),
        ("row 1,2020-02-01,M. Aldane,,pear 4,,,high,,,,", "score", "does not begin with a number"),
        ("row 1,2020-02-01,M. Aldane,,pear 4,,,,long,,,", "finish_s", "is not a whole number"),
        ("row 1,2020-02-01,M. Aldane,,pear 4,,,,,,maybe,", "blind", "is not an answer"),
        ("row 1,2020-02-01,M. Aldane,,pear 9,,,,,,,", "", "off the house's scale, 0 to 5"),
        ("row 1,2020-02-01,M. Aldane,,paer 4,,,,,,,", "", "not on the house's list: 'paer'"),
        ("row 1,2020-02-01,M. Aldane,,,,,,,,,", "", "the tasting note is empty"),
        ("row 1,2020-02-01,M. Aldane,,pear 4,,,,,pear,,", "", "'pear' is no fault"),
    ],
)
def test_what_cannot_be_a_note_is_named_by_row_and_column(folder, row, column, problem):
    """And nothing is recorded."""
    with pytest.raises(FaultsFound) as refusal:
        taken(folder, row)
    (fault,) = refusal.value.faults
    assert (fault.file, fault.row, fault.column) == ("tastings.csv", 2, column)
    assert problem in fault.problem


def test_words_that_a_person_confirms_come_in(folder):
    """Where the column says so; the word stays as typed."""
    book = taken(folder, "row 1,2020-02-01,M. Aldane,,paer 4,,,,,,,yes")
    (note,) = notes(book.store)
    assert note.stages["nose"].words == {"paer": 4.0}


# -- words alone ----------------------------------------------------------------------------------


def test_the_sample_list_is_whole_and_comes_in_once():
    """Every word has a definition, a group and a reference that says how it is prepared (as ISO 8586 asks of them)."""
    rows = list(csv.DictReader(SAMPLE.read_text("utf-8").splitlines()))
    assert len(rows) >= 25
    assert all(row[name] for row in rows for name in ("word", "group", "definition", "reference"))
    with House() as house:
        first = import_words(house.book, HOW, SAMPLE)
        again = import_words(house.book, HOW, SAMPLE, again=True)
        assert (first.entries, again.entries) == (len(rows) + 1, 1)
        assert len(house.book.words()) == len(rows)
        assert {one.word for one in house.book.words() if one.off} >= {"sulphur", "cork"}


def test_a_word_of_the_table_takes_the_place_of_the_list_s(tmp_path):
    """All that the table says of it; a word it does not name stays."""
    table = tmp_path / "words.csv"
    with House() as house:
        house.book.write_word(HOW, "pear", {"definition": "a fruit"})
        house.book.write_word(HOW, "oak", {"definition": "a wood"})
        table.write_text("word,definition\nPear,ripe pears\n", "utf-8")
        import_words(house.book, HOW, table)
        assert [(one.word, one.definition) for one in house.book.words()] == [("oak", "a wood"), ("Pear", "ripe pears")]


@pytest.mark.parametrize(
    ("rows", "problem"),
    [
        ("pear 2,,", "cannot be a word of the list"),
        (",bosc,", "is blank"),
        ("pear,,perhaps", "is not an answer"),
        ("pear,bosc,\nquince,bosc,", "'bosc' means 'pear' on the list"),
    ],
)
def test_a_slip_in_a_table_of_words_is_named(tmp_path, rows, problem):
    """By its row; nothing is recorded."""
    table = tmp_path / "words.csv"
    table.write_text(f"word,also,fault\n{rows}\n", "utf-8")
    with House() as house:
        with pytest.raises(FaultsFound) as refusal:
            import_words(house.book, HOW, table)
        (fault,) = refusal.value.faults
        assert problem in fault.problem
        assert house.book.words() == ()


def test_the_table_says_all_that_a_word_has():
    """No field of a word stays behind in an export."""
    from pourbook.book.entries import Word

    assert len(WORD_COLUMNS.all) == len(Word._fields)
