"""A house's own spreadsheet, as messy as they are, taken in by the real command in two rounds."""

import csv
import json
from datetime import date, datetime
from decimal import Decimal

import pytest
from command import Desk, here
from openpyxl import Workbook

ROWS = [
    ("Quillmere distillery",),
    ("Casks, as of spring 2021",),
    (),
    ("Fass Nr.", "Wood", "Litres", "ABV %", "Filled", "Location", "Bemerkungen", "Checked by cooper"),
    ("Warehouse 2",),
    ("Q 101", "virgin oak", "190,5", "63,5", "2019-03-04", "Row 1", "", "yes"),
    ("Q 102", "virgin oak", "190,25", "63,5", "04/03/2019", "Row 1", "leaks", ""),
    ("Q 103", "old oak", "200", "62", "4.3.19", "Row 2", "", "yes"),
    ("Q 104", "old oak", "198,4", "62,1", "Mar 2019", "Row 2", "", ""),
    (),
    ("Warehouse 3",),
    ("Q 105", "rum", "188", "60,0", "25.03.2019", "", "", ""),
    ("Q 106", "rum", "1.187,5", "60,1", "4 March 2019", "", "", ""),
    ("Q 107", "rum", "187,5", "60,1", "43528", "", "", ""),
    ("Total", "", "2.342,15"),
]
"""A title, own headings, sub-headings, blank rows, six forms of dates, decimal commas, thousands, a total; invented."""

FILLED = ["2019-03-04"] * 3 + ["2019-03-01", "2019-03-25"] + ["2019-03-04"] * 2
LITRES = ["190.5", "190.25", "200", "198.4", "188", "1187.5", "187.5"]
ANSWERS = {"Checked by cooper": ("leave-out", ""), "(sub-headings)": ("place", "")}
READINGS = {"Filled": "day-first short-years first-of-month day-numbers"}


@pytest.fixture
def desk(tmp_path):
    """An empty book of a house whose decimal mark is a point."""
    desk = Desk(tmp_path / "q.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere --set volume_unit=l")
    return desk


def as_csv(path, rows):
    """The rows as a spreadsheet of a country with decimal commas saves them."""
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, delimiter=";").writerows([*row, *[""] * (8 - len(row))] for row in rows)
    return path


def as_workbook(path, rows):
    """The rows with real numbers and dates where a person typed some."""
    book = Workbook()
    book.active.title = "Warehouses"
    for number, row in enumerate(rows):
        cells = list(row)
        if number == 5:
            cells[2], cells[3], cells[4] = 190.5, 63.5, datetime(2019, 3, 4)  # noqa: DTZ001 (a sheet knows no zone)
        if number == 13:
            cells[4] = 43528
        book.active.append(cells)
    book.save(path)
    return path


def filled_in(path):
    """Answer what is asked in the map, as a person does."""
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row["is"], row["reading"] = ANSWERS.get(row["heading"], (row["is"], row["reading"]))
        row["reading"] = READINGS.get(row["heading"], row["reading"])
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    return rows


@pytest.mark.parametrize("write", [as_csv, as_workbook])
def test_a_messy_table_is_imported_in_two_rounds(desk, tmp_path, write):
    """The first lists all that must be said and writes it down; the second imports, and nothing is asked again."""
    table, to_say = write(tmp_path / f"casks.{'csv' if write is as_csv else 'xlsx'}", ROWS), tmp_path / "map.csv"
    first = desk(f"import casks {table} --write-map {to_say}")
    assert (first.status, "nothing was recorded" in first.err) == (1, True)
    asked = filled_in(to_say)
    assert [row["heading"] for row in asked] == [*ROWS[3], "(sub-headings)"]
    second = desk(f"import casks {table} --read-map {to_say}")
    assert second.status == 0, second.err
    assert second.out.startswith("casks: 7 items, 7 pours")
    assert "row 15 passed over, a row of totals that agrees with the rows above it: Litres 2.342,15" in second.err
    assert "'Checked by cooper' left out (2 cells, such as yes)" in second.err
    pours = [one for one in desk.asks("journal")["entries"] if one["kind"] == "pour"]
    filled = {(one["happened"][:10], one["body"]["lines"][0]["typed"]["amount"]) for one in pours}
    assert filled == {(day, f"{litres} l") for day, litres in zip(FILLED, LITRES, strict=True)}
    places = [desk.asks(f"show 'Q {number}'")["facts"]["place"] for number in (101, 104, 107)]
    assert places == ["Warehouse 2, Row 1", "Warehouse 2, Row 2", "Warehouse 3"]
    reasons = {one["happened"][:10]: one.get("reason", "") for one in pours}
    assert reasons["2019-03-01"] == "Filled: Mar 2019", "what was typed is kept beside the day it was read as"
    desk.does("verify")


def test_the_table_in_all_is_told_beside_the_book(desk, tmp_path):
    """Litres, and litres times strength by a spreadsheet's own reckoning, before and after."""
    table, to_say = as_csv(tmp_path / "casks.csv", ROWS), tmp_path / "map.csv"
    desk(f"import casks {table} --write-map {to_say}")
    filled_in(to_say)
    done = desk(f"import casks {table} --read-map {to_say} --json").json
    (in_all,) = done["in_all"]
    assert (in_all["rows"], in_all["amount"]) == (7, 2342.15)
    strengths = ["63.5", "63.5", "62", "62.1", "60.0", "60.1", "60.1"]
    own = sum(Decimal(litres) * Decimal(percent) for litres, percent in zip(LITRES, strengths, strict=True)) / 100
    assert in_all["lpa_l"] == float(own)
    assert in_all["held_l"] == pytest.approx(2342.15, abs=1e-3)
    assert in_all["held_lpa_l"] == pytest.approx(float(own), abs=1e-3)


def test_what_was_said_is_kept(desk, tmp_path):
    """Next year's table has the same headings: nothing is asked of them, and what is new is."""
    table, to_say = as_csv(tmp_path / "casks.csv", ROWS), tmp_path / "map.csv"
    desk(f"import casks {table} --write-map {to_say}")
    filled_in(to_say)
    desk.does(f"import casks {table} --read-map {to_say}")
    kept = desk.asks("settings")
    assert kept["table.casks.fass_nr."] == "ref"
    assert kept["table.casks.checked_by_cooper"] == "leave-out"
    assert any(one["kind"] == "house" and "table.casks.litres" in one["body"]["settings"]
               for one in desk.asks("journal")["entries"])  # fmt: skip
    row = ("Q 201", "old oak", "198,4", "62,1", "5.4.20", "Row 9", "", "")
    desk.does(f"import casks {as_csv(tmp_path / 'next.csv', [ROWS[3], row])}")
    assert desk.asks("show 'Q 201'")["facts"]["place"] == "Row 9"
    new = as_csv(tmp_path / "more.csv", [(*ROWS[3][:6], "Bemerkung", "Checked by cooper"), ("Q 202", *row[1:])])
    faults = desk(f"import casks {new} --json").json["faults"]
    assert [(one["row"], one["column"]) for one in faults] == [(1, "Bemerkung")]


def test_it_can_all_be_said_in_the_command(desk, tmp_path):
    """What the first round lists can be typed as it stands there."""
    table = as_csv(tmp_path / "casks.csv", [("Cask no.", "Litres", "ABV", "Filled", "Seen"),
                                            ("Q 1", "190", "60", "04/03/2019", "yes")])  # fmt: skip
    listed = desk(f"import casks {table} --json").json
    said = [part for one in listed["faults"] for part in one["remedy"].split("; ")[0].split("say ")[1:]]
    assert said[:3] == ['--map "Cask no.=ref"', '--map "Litres=quantity l"', '--map "ABV=strength"']
    assert '--dates "Filled=day-first" (or month-first)' in said
    command = f"{' '.join(said[:3])} --leave-out Seen --dates Filled=month-first"
    done = json.loads(desk(f"import casks {table} --json {command}").out)
    (read,) = done["tables"]
    assert [(one["meaning"], one["reading"]) for one in read["headings"]] == [
        ("ref", ""), ("quantity", "l"), ("strength", ""), ("filled", "month-first"), ("leave-out", ""),
    ]  # fmt: skip
    pours = [one for one in desk.asks("journal")["entries"] if one["kind"] == "pour"]
    assert pours[0]["happened"][:10] == date(2019, 4, 3).isoformat()


def test_what_is_said_of_no_heading_is_refused(desk, tmp_path):
    """A slip in the heading would otherwise be lost without a word."""
    table = as_csv(tmp_path / "casks.csv", [("ref", "Seen"), ("Q 1", "yes")])
    ran = desk(f"import casks {table} --leave-out Seen --map 'Liters=quantity'")
    assert "no table has the heading 'Liters'; do: the headings are: ref, Seen" in ran.err.replace("\n    ", "; ")


def test_a_history_with_headings_of_its_own(desk, tmp_path):
    """Two sheets of one workbook, each with its headings; what came in and went out is told beside the book."""
    book = Workbook()
    items, pours = book.active, book.create_sheet("pours")
    items.title = "items"
    items.append(("Everything there was",))
    for row in (("Fass Nr.", "Kind", "Wood"), ("Q 1", "cask", "oak"), ("Q 2", "cask", "rum")):
        items.append(row)
    heads = ("Datum", "From", "To", "Litres", "ABV %", "Wer")
    for row in (
        heads,
        ("04.03.2015", "origin", "Q 1", "190,5", "63,5", "M. Aldane"),
        ("25.03.2015", "origin", "Q 2", "1.100", "62", "M. Aldane"),
        ("04.05.2020", "Q 1", "despatch", "10,5", "", "M. Aldane"),
    ):
        pours.append(row)
    book.save(tmp_path / "old.xlsx")
    first = desk(f"import history {tmp_path}/old.xlsx --write-map {tmp_path}/map.csv")
    assert first.status == 1
    with (tmp_path / "map.csv").open(newline="", encoding="utf-8") as file:
        to_say = {(row["table"], row["heading"]): (row["is"], row["reading"]) for row in csv.DictReader(file)}
    assert to_say["pours", "Datum"] == ("happened", "day-first")
    assert to_say["pours", "Litres"] == ("quantity", "l ?decimal-point/decimal-comma"), "1.100 may be either"
    said = (tmp_path / "map.csv").read_text(encoding="utf-8")
    (tmp_path / "map.csv").write_text(said.replace("?decimal-point/decimal-comma", "decimal-comma"), encoding="utf-8")
    second = desk(f"import history {tmp_path}/old.xlsx --read-map {tmp_path}/map.csv --json")
    assert second.status == 0, second.err
    origin, despatch = second.json["in_all"]
    assert (origin["what"], origin["rows"], origin["amount"]) == ("origin", 2, 1290.5)
    assert origin["lpa_l"] == pytest.approx(190.5 * 0.635 + 1100 * 0.62)
    assert origin["held_lpa_l"] == pytest.approx(origin["lpa_l"], abs=1e-3)
    assert (despatch["what"], despatch["amount"], despatch["lpa_l"]) == ("despatch", 10.5, None)
    assert despatch["held_lpa_l"] == pytest.approx(10.5 * 0.635, abs=1e-3)
    assert desk.asks("settings")["table.pours.datum"] == "happened day-first"


def test_two_headings_of_one_meaning_do_not_hide_the_rows(desk, tmp_path):
    """The first is suggested, the second asked about; what is wrong with the rows is told in the same round."""
    rows = [("Cask no.", "Filled", "Date", "Litres", "ABV"), ("Q 1", "2019-03-04", "2020-01-01", "many", "60")]
    ran = desk(f"import casks {as_csv(tmp_path / 'casks.csv', rows)} --json")
    assert [one["is"] for one in ran.json["to_say"]] == ["ref", "filled", "?", "quantity", "strength"]
    assert [(one["row"], one["column"]) for one in ran.json["faults"]] == [
        (1, "Cask no."), (1, "Date"), (1, "Litres"), (1, "ABV"), (2, "Litres"),
    ]  # fmt: skip
