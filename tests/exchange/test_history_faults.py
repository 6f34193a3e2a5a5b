"""Every fault of a history is listed with file, row, column, value and remedy; then nothing is recorded."""

import pytest
from house import HOW, moment

from pourbook import Close, Draft, Hold
from pourbook.actions.importing import import_history

ROW = {
    "source": "row 1",
    "target": "vial 1",
    "quantity": "100",
    "unit": "ml",
    "strength": "",
    "temperature_c": "",
    "happened": "2016-03-01",
    "by": "M. Aldane",
    "reason": "",
}
"""A sound row after the filling of row 1 with 200 l in 2015."""

POUR_FAULTS = [
    # what is changed in the row; column, problem, remedy as far as they matter
    ({"source": ""}, "source", "is blank", "fill in 'source'"),
    ({"target": ""}, "target", "is blank", "fill in 'target'"),
    ({"source": "row 9"}, "source", "nothing in the book is called 'row 9', nor in items.csv", "add it to items.csv"),
    ({"target": "row 9"}, "target", "nothing in the book is called 'row 9', nor in items.csv", "correct the name"),
    ({"source": "C000001X"}, "source", "is mistyped: its check character does not agree", "scan it again"),
    ({"source": "C000123Y"}, "source", "C-000123-Y is not in the book", "add it to items.csv"),
    ({"source": "loss"}, "source", "'loss' is not a source", "write an item, or origin or water or additive or return"),
    ({"target": "water"}, "target", "'water' is not a target", "write an item, or loss or despatch or gauge"),
    ({"target": "row 1"}, "target", "is also the source", "check which two were meant"),
    ({"source": "water", "target": "loss"}, "target", "water cannot go straight to loss", "name the item in between"),
    ({"quantity": ""}, "quantity", "is blank", "fill in 'quantity'"),
    ({"quantity": "a glass"}, "quantity", "does not begin with a number", "write digits first"),
    ({"quantity": "1e3"}, "quantity", "has an exponent", "write the number out"),
    ({"quantity": "1_000"}, "quantity", "separators between digits", "without separators"),
    ({"quantity": "١٢"}, "quantity", "does not begin with a number", "write digits first"),
    ({"quantity": '"12,5"'}, "quantity", "has a comma, but the decimal mark here is a point", "write it with a point"),
    ({"quantity": "-5"}, "quantity", "is negative", "is above zero"),
    ({"quantity": "0"}, "quantity", "is zero", "is above zero"),
    ({"quantity": "9007199255", "unit": "t"}, "quantity", "above nine million tonnes", "check the unit"),
    ({"quantity": "5 l"}, "quantity", "'5 l' and the unit 'ml' disagree", "write the number alone"),
    ({"unit": ""}, "unit", "'100' has no unit", "write '100 ml'"),
    ({"unit": "buckets"}, "unit", "is not a unit known here", "write one of: ul, ml"),
    ({"quantity": "all", "source": "water"}, "quantity", "'all' of water is not an amount", "write the amount"),
    ({"source": "additive"}, "unit", "additives are recorded by mass", "weigh it"),
    ({"source": "origin"}, "strength", "is needed for liquid from origin", "write it in % vol"),
    ({"source": "water", "strength": "5"}, "strength", "water has no strength", "leave it blank"),
    ({"source": "additive", "unit": "g", "strength": "5"}, "strength", "additive has no strength", "leave it blank"),
    ({"strength": "124"}, "strength", "above 100 % vol", "write '124 proof'"),
    ({"strength": "-4"}, "strength", "below zero", "without a sign"),
    ({"strength": "strong"}, "strength", "does not begin with a number", "write digits first"),
    ({"strength": "60 sikes"}, "strength", "UK (Sikes) proof is not handled", "convert it"),
    ({"temperature_c": "68"}, "temperature_c", "outside -20 to 40 °C", "looks like °F"),
    ({"temperature_c": "warm"}, "temperature_c", "does not begin with a number", "write digits first"),
    ({"happened": ""}, "happened", "is blank", "fill in 'happened'"),
    ({"happened": "01/03/2016"}, "happened", "is not a time", "write the year first"),
    ({"happened": "2016-02-30"}, "happened", "is not a time", "write the year first"),
    ({"happened": "2016-03-01 25:00"}, "happened", "is not a time", "write the year first"),
    ({"happened": "2024-01-02"}, "happened", "is in the future", "write when it happened"),
    ({"happened": "0216-03-01"}, "happened", "lies in the year 216", "digits of the year"),
    ({"happened": "0001-01-01"}, "happened", "lies in the year 1", "digits of the year"),
    ({"by": ""}, "by", "is blank", "fill in 'by'"),
    ({"by": "P000001X"}, "by", "is mistyped", "scan it again"),
]


@pytest.mark.parametrize(("changed", "column", "problem", "remedy"), POUR_FAULTS, ids=str)
def test_a_fault_in_a_pour(files, history_faults, changed, column, problem, remedy):
    """One fault is one line: where it is, what stands there, what is wrong, what to do."""
    files.pours("origin,row 1,200,l,63.5,,2015-03-01,M. Aldane,", ",".join((ROW | changed).values()))
    (fault,) = history_faults()
    assert (fault.file, fault.row, fault.column) == ("pours.csv", 3, column)
    assert fault.value == (ROW | changed)[column].strip('"')
    assert problem in fault.problem
    assert remedy in fault.remedy


EXTRA = (
    "source,target,quantity,unit,strength,happened,by,in_wood,distilled,cost,received,ethanol_mg,extract_mg,confirmed"
)
EXTRA_FAULTS = [
    ("row 1,vial 1,100,g,,2016-03-01,M. Aldane,30,,,,,,", "in_wood", "only an origin brings time in wood"),
    ("origin,row 2,100,g,60,2016-03-01,M. Aldane,3.5,,,,,,", "in_wood", "is not a time in wood"),
    ("origin,row 2,100,g,60,2016-03-01,M. Aldane,-3,,,,,,", "in_wood", "is not a time in wood"),
    ("origin,row 2,100,g,60,2016-03-01,M. Aldane,,last spring,,,,,", "distilled", "is not a time"),
    ("origin,row 2,100,g,60,2016-03-01,M. Aldane,,2015-01-01 10:00,,,,,", "distilled", "a day is needed"),
    ("origin,row 2,100,g,60,2016-03-01,M. Aldane,,,dear,,,,", "cost", "does not begin with a number"),
    ("origin,row 2,100,g,60,2016-03-01,M. Aldane,,,-1,,,,", "cost", "is below zero"),
    ("row 1,loss,100,g,,2016-03-01,M. Aldane,,,,90,,,", "received", "loss receives nothing"),
    ("row 1,vial 1,100,g,,2016-03-01,M. Aldane,,,,some,,,", "received", "does not begin with a number"),
    ("origin,row 2,100,ml,,2016-03-01,M. Aldane,,,,,9,0,", "ethanol_mg", "needs an amount by mass"),
    ("origin,row 2,100,g,60,2016-03-01,M. Aldane,,,,,9,0,", "ethanol_mg", "cannot go with a strength"),
    ("origin,row 2,100,mg,,2016-03-01,M. Aldane,,,,,90,11,", "ethanol_mg", "and the extract exceed the amount"),
    ("row 1,loss,100,mg,,2016-03-01,M. Aldane,,,,,,11,", "ethanol_mg", "is blank, but extract_mg is not"),
    ("row 1,gauge,all,,,2016-03-01,M. Aldane,,,,,,,", "quantity", "'all' of a gauge is not an amount"),
    ("row 1,gauge,,,,2016-03-01,M. Aldane,,,,,,,", "quantity", "the gauge has no reading"),
    ("row 1,vial 1,100,g,,2016-03-01,M. Aldane,,,,,,,no", "confirmed", "is not an answer"),
]


@pytest.mark.parametrize(("row", "column", "problem"), EXTRA_FAULTS)
def test_a_fault_in_a_further_column(files, history_faults, row, column, problem):
    """Columns beyond the usual ones are held to their meaning too."""
    files.pours("origin,row 1,200,l,63.5,2015-03-01,M. Aldane,,,,,,,", row, header=EXTRA)
    (fault,) = history_faults()
    assert (fault.row, fault.column) == (3, column)
    assert problem in fault.problem
    assert fault.remedy


ITEM_FAULTS = [
    (",cask,,,,,,,", "ref", "is blank", "fill in 'ref'"),
    ("C000123Y,cask,,,,,,,", "ref", "has the form of an identifier", "put something before it"),
    ("Water,cask,,,,,,,", "ref", "is a reserved word, not a name", "give the item another name"),
    ("row 9,,,,old oak,,,,", "kind", "is blank", "fill in 'kind'"),
    ("row 9,barrel,,,,,,,", "kind", "'barrel' is not a kind of item", "write one of: cask, vial"),
    ("row 9,cask,spring 2014,,,,,,", "made", "is not a time", "write the year first"),
    ("row 9,cask,2024-02-01,,,,,,", "made", "is in the future", "write when it happened"),
    ("row 9,cask,,,,big,,,", "capacity_l", "does not begin with a number", "write digits first"),
    ("row 9,cask,,,,-5,,,", "capacity_l", "is below zero", "without a sign"),
    ("row 1,cask,,,,,,,", "ref", "is also the ref of row 2", "its own name"),
]


@pytest.mark.parametrize(("row", "column", "problem", "remedy"), ITEM_FAULTS)
def test_a_fault_in_an_item(files, history_faults, row, column, problem, remedy):
    """The items table is checked before any pour is."""
    files.items("row 1,cask,,,,,,,", row)
    (fault,) = history_faults()
    assert (fault.file, fault.row, fault.column) == ("items.csv", 3, column)
    assert problem in fault.problem
    assert remedy in fault.remedy


NOTE_FAULTS = [
    (",repair,two hoops driven,2016-05-01,P. Hask,", "ref", "is blank"),
    ("row 9,repair,two hoops driven,2016-05-01,P. Hask,", "ref", "'row 9'"),
    ("origin,,arrived by rail,2016-05-01,P. Hask,", "ref", "'origin' is not a ref"),
    ("row 1,painting,two coats,2016-05-01,P. Hask,", "subject", "'painting' is not a subject of a note"),
    ("row 1,repair,,2016-05-01,P. Hask,", "text", "is blank"),
    ("row 1,repair,two hoops driven,,P. Hask,", "happened", "is blank"),
    ("row 1,repair,two hoops driven,2024-05-01,P. Hask,", "happened", "is in the future"),
    ("row 1,repair,two hoops driven,2016-05-01,,", "by", "is blank"),
    ("row 1,repair,two\u202ehoops,2016-05-01,P. Hask,", "", "U+202E"),
]


@pytest.mark.parametrize(("row", "column", "problem"), NOTE_FAULTS)
def test_a_fault_in_a_note(files, history_faults, row, column, problem):
    """The table of notes may be missing; where there is one, its rows are checked like all others."""
    files.notes("row 1,Arrival,dry and sulphured,2014-12-01,P. Hask,", row)
    (fault,) = history_faults()
    assert (fault.file, fault.row, fault.column) == ("notes.csv", 3, column)
    assert problem in fault.problem
    assert fault.remedy


@pytest.mark.parametrize(
    ("rows", "problem"),
    [
        (["row 1,cask,,,,,,,", "row 5,cask"], "has 2 cells but the header has 9"),
        (["row 1,cask,,,,,,,", "row 5,kask,,,,,,,"], "'kask' is not a kind of item"),
        (["row 1,cask,,,,,,,", 'row 4,"cask,,,,,,,', "row 5,cask,,,,,,,"], "a quotation mark opens here"),
        (["row 1,cask,,,,,,,", "row 4,cask,,Möwe,,,,,", "row 5,cask,,,,,,,"], "is not text in UTF-8: byte 0xF6"),
    ],
)
def test_what_only_follows_from_a_fault_in_the_items_is_not_listed(files, history_faults, rows, problem):
    """A row, or the rest of a table, that cannot be read: pours that name it are sound as far as anybody can tell."""
    files.write("items.csv", "ref,kind,made,name,wood,capacity_l,spirit,place,note", *rows, encoding="cp1252")
    files.pours(*(f"origin,row 5,200,l,63.5,,2015-03-0{day},M. Aldane," for day in range(1, 6)))
    (fault,) = history_faults()
    assert problem in fault.problem


def test_a_ref_that_the_book_has_is_not_opened_twice(book, files, history_faults):
    """A longer version of a history imported before would double the stock."""
    import_history(book, HOW, files.folder)
    files.write("items.csv", "ref,kind", "row 7,cask", "row 1,cask")
    files.pours("origin,row 7,200,l,63.5,,2015-03-02,M. Aldane,")
    (fault,) = history_faults()
    assert (fault.row, fault.column, fault.value) == (3, "ref", "row 1")
    assert fault.remedy.startswith("leave out this row")


def test_a_name_of_several_items_is_asked_about(book, files, history_faults):
    """A ref may repeat in the book; then the identifier must be given."""
    import_history(book, HOW, files.folder)
    import_history(book, HOW, files.folder, again=True)
    files.write("items.csv", "ref,kind", "vial 9,vial")
    files.pours("row 1,vial 9,1,ml,,,2016-03-01,M. Aldane,")
    (fault,) = history_faults()
    assert fault.column == "source"
    assert "'row 1' names 2 items" in fault.problem


def test_every_fault_is_listed_in_the_order_of_the_data(files, history_faults):
    """Items first, then pours, row by row; several in a row too."""
    files.items("row 1,cask,,,,,,,", ",barrel,,,,,,,", "row 1,cask,,,,,,,")
    files.pours(
        "origin,row 1,200,l,,,2015-03-01,M. Aldane,",
        "origin,row 1,200,l,63.5,,2015-03-01,M. Aldane,",
        "row 1,loss,much,l,124,68,never,,",
    )
    faults = history_faults()
    assert [(fault.file, fault.row, fault.column) for fault in faults] == [
        ("items.csv", 3, "ref"),
        ("items.csv", 3, "kind"),
        ("items.csv", 4, "ref"),
        ("pours.csv", 2, "strength"),
        *(("pours.csv", 4, column) for column in ("happened", "quantity", "strength", "temperature_c", "by")),
    ]
    assert all(fault.problem and fault.remedy for fault in faults)


# -- what only shows when the rows are poured --------------------------------------------------


def test_more_than_there_is(files, history_faults):
    """Beyond the tolerance of 0.5 %: the row is named, and what the item holds."""
    files.pours(
        "origin,row 1,100,kg,63.5,,2015-03-01,M. Aldane,",
        "row 1,batch 1,101,kg,,,2016-03-01,M. Aldane,",
    )
    (fault,) = history_faults()
    assert fault[:4] == ("pours.csv", 3, "quantity", "101")
    assert fault.problem == "'row 1' holds 100 kg by the book, less than 101 kg"
    assert fault.remedy.startswith("check the names, the amount, its unit")


def test_all_of_nothing(files, history_faults):
    """An empty item has nothing to give."""
    files.pours("row 1,batch 1,all,,,,2016-03-01,M. Aldane,")
    (fault,) = history_faults()
    assert fault.problem == "'row 1' is empty: there is nothing to pour"


def test_what_follows_from_a_refusal_is_left_out(files, history_faults):
    """Two independent mistakes are both told; the empty vial that follows from the first is not."""
    files.pours(
        "origin,row 1,100,kg,63.5,,2015-03-01,M. Aldane,",
        "row 1,batch 1,300,kg,,,2016-03-01,M. Aldane,",
        "batch 1,vial 1,1,kg,,,2016-03-02,M. Aldane,",
        "row 2,vial 1,1,kg,,,2016-03-03,M. Aldane,",
    )
    assert [fault.row for fault in history_faults()] == [3, 5]


def test_days_whose_order_overdraws_ask_for_times(files, history_faults):
    """Drawn before it was filled, by the order of the file, on one day: the rows are named."""
    files.pours(
        "row 1,vial 1,1,kg,,,2015-03-01,M. Aldane,",
        "row 2,batch 1,1,kg,,,2014-03-01,M. Aldane,",
        "origin,row 1,100,kg,63.5,,2015-03-01,M. Aldane,",
        "origin,row 1,100,kg,63.5,,2015-03-01 10:00,M. Aldane,",
    )
    first, second = history_faults()
    assert first.row == 2
    assert "the file fills it later, in rows 4, 5 of the same time or day" in first.problem
    assert first.remedy == "write the time of day in this row and in rows 4, 5"
    assert second.row == 3
    assert "time of day" not in second.remedy


def test_a_closed_period_stays_closed(book, files, history_faults):
    """Nothing happens before a period that was closed: the row and its time are named."""
    import_history(book, HOW, files.folder)
    book.record(Draft(Close(), moment("2020-01-01"), "M. Aldane"))
    files.items("vial 9,vial,,,,,,,")
    files.pours("row 1,vial 9,1,ml,,,2019-03-01,M. Aldane,")
    item, pour = history_faults()
    assert (item.file, item.row, item.column) == ("items.csv", 2, "made")
    assert pour[:4] == ("pours.csv", 2, "happened", "2019-03-01T00:00:00Z")
    assert "falls in a period closed at 2020-01-01" in pour.problem


def test_what_is_on_hold_is_named(book, files, history_faults):
    """An item of the book that is on hold gives nothing, and gets nothing."""
    import_history(book, HOW, files.folder)
    book.record(Draft(Hold(book.find("row 1"), True), moment("2018-01-01"), "M. Aldane", "leak suspected"))
    files.items("vial 9,vial,,,,,,,")
    files.pours(
        "row 1,vial 9,1,ml,,,2019-03-01,M. Aldane,",
        "origin,row 1,1,l,60,,2019-03-02,M. Aldane,",
    )
    assert [(fault.row, fault.column, fault.value) for fault in history_faults()] == [
        (2, "source", "row 1"),
        (3, "target", "row 1"),
    ]


def test_a_place_holds_no_liquid(files, history_faults):
    """Only casks, vials, trials, batches and lots can be poured from and into."""
    files.items("row 1,cask,,,,,,,", "cellar,place,,,,,,,")
    files.pours("origin,cellar,1,l,60,,2019-03-02,M. Aldane,")
    (fault,) = history_faults()
    assert fault.row == 2
    assert "'cellar' is a place and holds no liquid" in fault.problem


def test_what_the_book_has_already_may_stand_in_the_way(book, files, history_faults):
    """A forgotten pour that would leave too little for what was recorded: its row is named."""
    files.pours(
        "origin,row 1,100,kg,63.5,,2015-03-01,M. Aldane,",
        "row 1,batch 1,100,kg,,,2018-03-01,M. Aldane,",
    )
    import_history(book, HOW, files.folder)
    files.items("row 9,cask,,,,,,,")
    files.pours(
        "origin,batch 1,1,kg,60,,2015-06-01,M. Aldane,",
        "row 1,row 9,50,kg,,,2016-03-01,M. Aldane,",
    )
    (fault,) = history_faults()
    assert (fault.file, fault.row) == ("pours.csv", 3)
    assert "(2018-03-01T00:00:00Z) impossible" in fault.problem
