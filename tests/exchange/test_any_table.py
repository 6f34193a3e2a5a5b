"""Any table that says the same is read the same: order of columns, forms of dates, decimal marks, titles, totals."""

import csv
import io
from datetime import date
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from pourbook.book.settings import DEFAULTS
from pourbook.exchange.intake.cask_table import CASK_COLUMNS
from pourbook.exchange.tables.columns import Faults
from pourbook.exchange.tables.table_files import read_table
from pourbook.exchange.tables.table_map import Answers, heard
from pourbook.exchange.tables.table_sources import Source

NOW_US = 1_767_225_600_000_000
"""The beginning of 2026."""

HEADINGS = {"Cask no.": "ref", "Litres": "quantity", "ABV %": "strength", "Filled": "filled", "Remarks": "leave-out"}
FORMS = {
    "iso": (lambda day: day.isoformat(), ""),
    "day first": (lambda day: f"{day:%d/%m/%Y}", "day-first"),
    "short": (lambda day: f"{day.day}.{day.month}.{day:%y}", "day-first short-years"),
    "named": (lambda day: f"{day.day} {day:%B} {day.year}", ""),
    "month": (lambda day: f"{day:%b} {day.year}", "first-of-month"),
    "number": (lambda day: str((day - date(1899, 12, 30)).days), "day-numbers"),
}
"""The six forms of a house's sheet, and what is said of them."""

CASKS = st.lists(
    st.tuples(
        st.decimals("0.001", "9999", places=3),
        st.decimals("10", "80", places=1),
        st.dates(date(1930, 1, 1), date(2025, 12, 31)),
        st.sampled_from(sorted(FORMS)),
    ),
    min_size=1,
    max_size=12,
)


def written(number, mark, apart):
    """A number with that mark, and thousands set apart by the other one, a space or nothing."""
    whole, _, fraction = f"{number:f}".partition(".")
    return f"{int(whole):,}".replace(",", apart) + mark + fraction


@given(CASKS, st.permutations(list(HEADINGS)), st.sampled_from(".,"), st.sampled_from(".,"), st.booleans(),
       st.booleans(), st.booleans())  # fmt: skip
def test_a_table_is_read_the_same_however_it_is_written(casks, order, mark, house_mark, apart, titled, totalled):
    """What was written comes out in the house's way, and its litres add up to what its row of totals says."""
    other = {".": ",", ",": "."}[mark]
    rows = [["Quillmere"] + [""] * 4, [""] * 5] if titled else []
    rows.append(order)
    for number, (litres, percent, day, form) in enumerate(casks):
        cells = {
            "Cask no.": f"Q {number}",
            "Litres": written(litres, mark, other if apart else ""),
            "ABV %": written(percent, mark, ""),
            "Filled": FORMS[form][0](day),
            "Remarks": "seen",
        }
        rows.append([cells[heading] for heading in order])
    total = sum((litres for litres, *_ in casks), Decimal())
    if totalled:
        rows.append([{"Cask no.": "Total", "Litres": written(total, mark, "")}.get(heading, "") for heading in order])
    file = io.StringIO()
    csv.writer(file, delimiter=";").writerows(rows)
    decimal = "decimal-comma" if mark == "," else "decimal-point"
    said = Answers(
        {"Cask no.": "ref", "Litres": f"quantity l {decimal}", "ABV %": f"strength {decimal}"},
        {"Filled": "day-first short-years first-of-month day-numbers"}, ("Remarks",),
    )  # fmt: skip
    settings = DEFAULTS | {"decimal_mark": house_mark}
    asked = heard({"casks": CASK_COLUMNS}, settings, said, NOW_US, confirmed=False)["casks"]
    faults = Faults()
    table = read_table(Source("casks.csv", file.getvalue().encode()), CASK_COLUMNS, faults, heard=asked)
    read = [row for _, row in table.rows]
    faults.check("casks")
    days = [day.replace(day=1) if form == "month" else day for _, _, day, form in casks]
    assert [row["ref"] for row in read] == [f"Q {number}" for number in range(len(casks))]
    assert [row["filled"] for row in read] == [day.isoformat() for day in days]
    assert [row["strength"] for row in read] == [f"{percent:f}".replace(".", house_mark) for _, percent, *_ in casks]
    litres = [Decimal(row["quantity"].removesuffix(" l").replace(house_mark, ".")) for row in read]
    assert litres == [litres for litres, *_ in casks]
    assert all(set(row) <= {"ref", "filled", "strength", "quantity", "reason"} for row in read)
    (row,) = [faults.tables["casks"].row]
    assert row == (3 if titled else 1)


@given(CASKS, st.permutations(list(HEADINGS)))
def test_what_must_be_said_is_asked_until_it_is_and_then_no_more(casks, order):
    """What the first round asks of a column is enough for the second."""
    file = io.StringIO()
    rows = [[{"Cask no.": f"Q {number}", "Litres": written(litres, ",", "."), "ABV %": written(percent, ",", ""),
              "Filled": FORMS[form][0](day), "Remarks": "seen"}[heading] for heading in order]
            for number, (litres, percent, day, form) in enumerate(casks)]  # fmt: skip
    csv.writer(file, delimiter=";").writerows([order, *rows])

    def asked(said):
        heard_of = heard({"casks": CASK_COLUMNS}, DEFAULTS, said, NOW_US, confirmed=False)["casks"]
        faults = Faults()
        list(read_table(Source("casks.csv", file.getvalue().encode()), CASK_COLUMNS, faults, heard=heard_of).rows)
        return faults.tables["casks"]

    first = asked(Answers())
    assert {heading.heading for heading in first.headings if heading.is_open} >= {"Cask no.", "Litres", "Remarks"}
    said = {}
    for heading in first.headings:
        words = [word.lstrip("?").partition("/")[0] for word in heading.reading.split()]
        if heading.heading in ("Litres", "ABV %"):
            words = [word.replace("decimal-point", "decimal-comma") for word in words]
        said[heading.heading] = " ".join((HEADINGS[heading.heading], *words))
    second = asked(Answers(said))
    assert not any(heading.is_open for heading in second.headings), [str(fault) for fault in second.faults]
    assert second.faults == ()
