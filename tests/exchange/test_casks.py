"""Casks from one table: what they are, what lies in them, and every fault of it."""

from fractions import Fraction

import pytest
from house import HOW

from pourbook.actions.happening import Happening
from pourbook.actions.importing import import_casks
from pourbook.errors import FaultsFound, Refused
from pourbook.liquid import Liquid

HEADER = "ref,wood,capacity_l,filled,spirit,quantity,unit,strength,temperature_c,place,previous,owner,note"


@pytest.fixture
def casks(tmp_path):
    """Writes casks.csv and says where."""

    def write(*rows, header=HEADER):
        path = tmp_path / "casks.csv"
        path.write_text("".join(row + "\n" for row in (header, *rows)))
        return path

    return write


def test_a_full_and_an_empty_cask(book, casks):
    """The full one holds new spirit since its day; the empty one is taken in as it is."""
    path = casks(
        "row 1,virgin chestnut,225.5,2015-03-01,pot still,200,l,63.5,,dunnage 2,,the abbey,",
        "row 2,old oak,,,,,,,,,red wine,,leaks",
    )
    assert import_casks(book, HOW, path)[:3] == (2, 1, 4)
    full, empty = book.show("row 1"), book.show("row 2")
    assert full.volume_ml_20c == pytest.approx(200_000, abs=0.001)
    assert full.facts == {
        "ref": "row 1",
        "wood": "virgin chestnut",
        "capacity_l": "225.5",
        "spirit": "pot still",
        "place": "dunnage 2",
        "owner": "the abbey",
    }
    assert empty.holding.liquid == Liquid(0, 0, 0)
    assert empty.facts["note"] == "leaks"
    (origin,) = book.trace_back("row 1").origins
    assert (origin.facts["spirit"], origin.facts["wood_days"]) == ("pot still", 0)


def test_wood_time_earned_before(book, casks):
    """A blank in the column is unknown, not none."""
    path = casks(
        "row 1,2015-03-01,200,l,60,1200",
        "row 2,2015-03-01,200,l,60,",
        header="ref,filled,quantity,unit,strength,in_wood",
    )
    import_casks(book, HOW, path)
    facts = [book.trace_back(ref).origins[0].facts.get("wood_days") for ref in ("row 1", "row 2")]
    assert facts == [1200, None]


def test_whoever_filled_it(book, casks):
    """The column `by`; else whoever imports."""
    path = casks(
        "row 1,2015-03-01,200,l,60,T. Verrow",
        "row 2,2015-03-02,200,l,60,",
        header="ref,filled,quantity,unit,strength,by",
    )
    import_casks(book, Happening("P. Hask"), path)
    who = [pour.who for ref in ("row 1", "row 2") for pour in book.trace_back(ref).pours]
    assert who == ["T. Verrow", "P. Hask"]


FAULTS = [
    ({"ref": ""}, "ref", "is blank"),
    ({"ref": "C000123Y"}, "ref", "has the form of an identifier"),
    ({"ref": "row 1"}, "ref", "is also the ref of row 2"),
    ({"filled": ""}, "filled", "is blank"),
    ({"filled": "1/3/15"}, "filled", "is not a time"),
    ({"filled": "2024-01-02"}, "filled", "is in the future"),
    ({"quantity": ""}, "quantity", "is blank, but the row has a unit"),
    ({"quantity": "-1"}, "quantity", "is negative"),
    ({"unit": "barrels"}, "unit", "is not a unit known here"),
    ({"strength": ""}, "strength", "is blank"),
    ({"strength": "163.5"}, "strength", "is above 100 % vol"),
    ({"temperature_c": "70"}, "temperature_c", "outside -20 to 40 °C"),
    ({"capacity_l": "some"}, "capacity_l", "does not begin with a number"),
]


@pytest.mark.parametrize(("changed", "column", "problem"), FAULTS)
def test_a_fault(casks, faults_of, changed, column, problem):
    """One line each, with what to do."""
    sound = dict.fromkeys(HEADER.split(","), "")
    sound |= {"ref": "row 2", "filled": "2015-03-01", "quantity": "200", "unit": "l", "strength": "63.5"}
    row = ",".join((sound | changed).values())
    (fault,) = faults_of(import_casks, casks("row 1,old oak,,,,,,,,,,,", row))
    assert fault[:4] == ("casks.csv", 3, column, (sound | changed)[column])
    assert problem in fault.problem
    assert fault.remedy


def repeated(casks, faults_of, second):
    """The fault of a second row of the same ref."""
    first = "row 1,old oak,,2015-03-01,,200,l,63.5,,,,,"
    (fault,) = faults_of(import_casks, casks(first, second, "row 2,rum,,,,,,,,,,,"))
    assert (fault.row, fault.column, fault.value) == (3, "ref", "row 1")
    return fault


def test_a_cask_typed_twice(casks, faults_of):
    """Both rows say the same, or differ in what lies in no liquid."""
    fault = repeated(casks, faults_of, "row 1,old oak,,2015-03-01,,200,l,63.5,,,,,")
    assert fault.problem == "is also the ref of row 2, which says the same"
    fault = repeated(casks, faults_of, "row 1,old oak,,2015-03-01,,200,l,63.5,,dunnage 2,,,")
    assert fault.problem == "is also the ref of row 2 (place: there blank, here dunnage 2)"
    assert fault.remedy == "if it is one cask typed twice, delete a row; if not, give each its own name"


def test_a_cask_emptied_and_filled_again(casks, faults_of):
    """Both rows are shown side by side, and how its life is written as a history."""
    fault = repeated(casks, faults_of, "row 1,old oak,,2019-04-02,,190,l,60,,,,,")
    assert fault.problem == (
        "is also the ref of row 2 (filled: there 2015-03-01, here 2019-04-02; quantity: there 200, here 190;"
        " strength: there 63.5, here 60)"
    )
    assert "delete row 3 and import what happened since as a history" in fault.remedy
    assert "a row from row 1 to where its liquid went, quantity all, when it was emptied" in fault.remedy
    assert "from origin (or the cask it was racked from) to row 1, 190 l, 2019-04-02" in fault.remedy


def test_what_the_book_refuses_is_told_in_the_same_round(casks, faults_of):
    """Of the rows that can be read: so that a second round can be the last."""
    path = casks(
        "row 1,,195,2015-03-01,,400,l,63.5,,,,,",
        "row 2,,195,2015-03-01,,four,l,63.5,,,,,",
        "row 3,,195,2015-03-01,,190,l,63.5,,,,,",
    )
    book, typed = faults_of(import_casks, path)
    assert (book.row, "--confirm" in book.remedy) == (2, True)
    assert (typed.row, typed.column) == (3, "quantity")


def test_a_table_in_all_is_held_against_the_book(book, casks):
    """By its own column of pure alcohol where it has one; warm litres are fewer at 20 °C (OIML R 22 by the book)."""
    path = casks(
        "row 1,2015-03-01,200,l,60,,119.5", "row 2,2015-03-01,100,l,60,30,60", "row 3,2015-03-01,50,kg,60,,26",
        header="ref,filled,quantity,unit,strength,temperature_c,lpa",
    )  # fmt: skip
    litres, kilos = import_casks(book, HOW, path).in_all
    assert litres[:6] == ("casks", "", "l", 2, 300, Fraction("179.5"))
    assert 299 < litres.held_l < 299.5
    assert litres.held_lpa_l == pytest.approx(0.6 * litres.held_l, abs=1e-6)
    assert (kilos.rows, kilos.amount, kilos.lpa_l) == (1, 50, 26)
    assert sum(item.volume_ml_20c for item in book.stock()) == pytest.approx(1000 * (litres.held_l + kilos.held_l))


def test_a_fault_that_shows_in_the_book(casks, faults_of):
    """What the book refuses names its row too."""
    path = casks("row 1,,,2015-03-01,,0.0001,mg,60,,,,,")
    (fault,) = faults_of(import_casks, path)
    assert (fault.file, fault.row) == ("casks.csv", 2)


def test_nothing_twice(book, casks, faults_of):
    """Neither the same file, nor a cask that is there already."""
    import_casks(book, HOW, casks("row 1,,,,,,,,,,,,"))
    with pytest.raises(Refused, match=r"'casks\.csv' was imported before"):
        import_casks(book, HOW, casks("row 1,,,,,,,,,,,,"))
    (fault,) = faults_of(import_casks, casks("row 2,,,,,,,,,,,,", "row 1,,,,,,,,,,,,"))
    assert (fault.row, fault.column, fault.problem) == (3, "ref", "is the ref of an item in the book")
    assert import_casks(book, HOW, casks("row 1,,,,,,,,,,,,"), again=True).items == 1


def test_a_rehearsal(book, casks):
    """It answers and keeps nothing."""
    before = book.head()
    assert import_casks(book, Happening("pourbook", dry_run=True), casks("row 1,,,2015-03-01,,200,l,60,,,,,"))[:3] == (
        1,
        1,
        3,
    )
    assert book.head() == before


def test_what_is_known_of_the_wood_and_what_happened_to_a_cask(book, casks):
    """Facts of the wood, fills before, and notes of its history, as typed."""
    path = casks(
        'row 1,oak,Brindle,medium,30 s,"none, as bought",'
        '"red wine, 2001-2006; fortified wine",2,"dry; sulphured",two hoops',
        header="ref,wood,cooper,toast,char,seasoning,previous,earlier_fills,arrival,repair",
    )
    import_casks(book, HOW, path)
    found = book.provenance("row 1")
    assert found.previous == ("red wine, 2001-2006", "fortified wine")
    assert {name: found.view.facts[name] for name in ("cooper", "toast", "char", "seasoning", "earlier_fills")} == {
        "cooper": "Brindle", "toast": "medium", "char": "30 s", "seasoning": "none, as bought", "earlier_fills": "2",
    }  # fmt: skip
    assert [(one.subject, one.text) for one in found.events] == [("arrival", "dry; sulphured"), ("repair", "two hoops")]
    assert book.verify().faults == ()


def test_a_count_of_fills_is_a_count(book, casks):
    """Words where a number of fills should stand are a fault of their cell."""
    with pytest.raises(FaultsFound, match="1") as refusal:
        import_casks(book, HOW, casks("row 1,twice", header="ref,earlier_fills"))
    assert [(fault.column, fault.value) for fault in refusal.value.faults] == [("earlier_fills", "twice")]
