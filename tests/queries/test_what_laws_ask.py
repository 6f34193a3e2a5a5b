"""What laws and standards ask of a lot dossier: every "have" of the table in DEVELOPERS.md stands on the paper.

The table names the law beside each element; the values are looked for in the text of the printed PDF, of a lot of which
everything is recorded.
"""

import re
from pathlib import Path

import pypdfium2
import pytest
from recorded_lot import ADDRESS, CONTACT, SETTINGS, recorded_lot

from pourbook.papers.dossier.dossier_paper import dossier
from pourbook.papers.dossier.dossier_sections import SECTIONS
from pourbook.paperwork.dossier_of import dossier_of

TABLE = (
    (Path(__file__).parents[2] / "DEVELOPERS.md").read_text("utf-8").partition("## What laws")[2].partition("## ")[0]
)
ROWS = re.findall(r"^\| ([^|]+) \| ([^|]+) \| ([^|]+) \|$", TABLE, re.MULTILINE)[1:]
HAVE = [(law, element) for law, element, state in ROWS if state.startswith("have")]

FIRST = "first page"
SENT = "2024-04-02 12:00", "DN 2214", "48"
FOUND = {
    ("21 CFR 1.1340(a)(1)", "traceability lot code"): {FIRST: ["L24-066"]},
    ("21 CFR 1.1340(a)(2)", "quantity and unit"): {FIRST: ["48 6 42"], "Despatches": ["bottles", SENT[2]]},
    ("21 CFR 1.1340(a)(3)", "product description"): {FIRST: ["Ostrewick", "of 700 mL", "46.00 % vol"]},
    ("21 CFR 1.1340(a)(4)", "location of the recipient"): {FIRST: ["Harbour Row Wines", ADDRESS, CONTACT]},
    ("21 CFR 1.1340(a)(5)", "location shipped from"): {FIRST: ["Quillmere", SETTINGS["address"]]},
    ("21 CFR 1.1340(a)(6)", "date shipped"): {"Despatches": [SENT[0]]},
    ("21 CFR 1.1340(a)(7)", "source of the lot code"): {FIRST: ["Quillmere", SETTINGS["address"]]},
    ("21 CFR 1.1340(a)(8)", "reference document"): {FIRST: [SENT[1]], "Despatches": [SENT[1]]},
    ("21 CFR 1.1345(a)(2)", "quantity and unit"): {"Pours": ["201.000 181.132"], "Origins": ["127.635"]},
    ("21 CFR 1.1345(a)(3)", "product description"): {FIRST: ["malt spirit", "Fennick Moor"], "Origins": ["malt"]},
    ("21 CFR 1.1345(a)(5)", "where received"): {"Origins": ["C-000001-H"]},
    ("21 CFR 1.1345(a)(6)", "date received"): {"Origins": ["2012-03-02 09:00"]},
    ("21 CFR 1.1345(a)(8)", "reference document"): {"Origins": ["MD 12-001"]},
    ("21 CFR 1.337(a)(1)", "name of the previous source"): {FIRST: ["Tarn Bulk Spirit"], "Origins": ["Tarn Bulk"]},
    ("21 CFR 1.337", "who transported it here (paragraph not read in full)"): {"Origins": ["Ferrow Haulage, tank 7"]},
    ("21 CFR 1.345(a)(1)", "name, address, telephone of the recipient"): {FIRST: ["Harbour Row", ADDRESS, CONTACT]},
    ("21 CFR 1.345(a)(5)", "quantity and how it is packaged"): {FIRST: ["of 700 mL"], "Dry goods": ["10 of 6 bottles"]},
    ("21 CFR 1.345(a)(6)", "who transported it there"): {"Despatches": ["Ferrow Haulage"]},
    ("21 CFR 1.345(b)", "source of each ingredient of the lot"): {
        "Origins": ["Tarn Bulk", "MD 12-002"], "Water and additives": ["demineralised W 24-03"],
        "Upstream items": ["C-000002-F"],
    },
    ("27 CFR 19.598(a)", "number of the batch"): {"Upstream items": ["B-000001-Y"]},
    ("27 CFR 19.598(b)", "name and plant number of the producer"): {"Origins": ["Corran Vale"]},
    ("27 CFR 19.598(c)", "kind and age of the spirits; chips, caramel, imported"): {
        "Ages": ["rye spirit", "11 years 365 days"], "Water and additives": ["demineralised"],
    },
    ("27 CFR 19.598(d), (e)", "containers into and out of"): {"Pours": ["C-000001-H Row 1/02 B-000001-Y Vatting 7"]},
    ("27 CFR 19.598(g), (m)", "source and following record"): {"Pours": ["entry"]},
    ("27 CFR 19.598(h), (o)", "dates"): {"Pours": ["2024-03-01 09:30"]},
    ("27 CFR 19.598(i)", "ingredients without alcohol"): {"Water and additives": ["demineralised", "67.878"]},
    ("27 CFR 19.598(l), (n), (p)", "quantities in proof gallons"): {"Pours": ["LPA", "61.004"]},
    ("27 CFR 19.598(q)", "gain or loss of the batch"): {"Mass balance": ["Vatting 7"], "Losses": ["filter 1"]},
    ("27 CFR 19.599(a), (d)", "bottling tank, batch record"): {"Pours": ["B-000001-Y Vatting 7 L-000001-C Lot 24-1"]},
    ("27 CFR 19.599(b)", "serial number of the record"): {FIRST: ["L-000001-C"]},
    ("27 CFR 19.599(e)", "kind of spirits, age if claimed"): {FIRST: ["malt spirit", "11 years 364 days"]},
    ("27 CFR 19.599(f)", "details of the tank's gauge"): {"Gauges": ["B-000001-Y", "% vol"]},
    ("27 CFR 19.599(g)", "date of bottling"): {FIRST: ["2024-03-06 10:00"]},
    ("27 CFR 19.599(h)", "size, bottles to a case, number of cases"): {FIRST: ["of 700 mL"], "Dry goods": ["10 of 6"]},
    ("27 CFR 19.599(i)", "serial numbers of cases"): {
        FIRST: ["095212340000000099"], "Dry goods": ["095212340000000013 … 095212340000000105 (10)"],
    },
    ("27 CFR 19.599(j)", "proof bottled"): {FIRST: ["46.00 % vol"]},
    ("27 CFR 19.599(k)", "total bottled"): {FIRST: ["252.000 L", "115.920 LPA"]},
    ("27 CFR 19.599(l)", "losses or gains"): {"Losses": ["filter 1", "Sum"]},
    ("(EU) 1169/2011 9(1)(a)", "name of the food"): {FIRST: ["Ostrewick", "malt spirit"]},
    ("(EU) 1169/2011 9(1)(c)", "allergens"): {FIRST: ["sulphites: C-000002-F"]},
    ("(EU) 1169/2011 9(1)(e)", "net quantity"): {FIRST: ["of 700 mL"]},
    ("(EU) 1169/2011 9(1)(h)", "name and address of the operator"): {FIRST: ["Quillmere", SETTINGS["address"]]},
    ("(EU) 1169/2011 9(1)(k)", "alcoholic strength"): {FIRST: ["Strength declared on the label", "46.00 % vol"]},
    ("2011/91/EU 3", "mark of the lot"): {FIRST: ["L24-066"]},
    ("ISO 22005", "lots identified"): {FIRST: ["L24-066", "9521234005674"]},
    ("ISO 22005", "direct suppliers and customers known"): {FIRST: ["Tarn Bulk Spirit", "Harbour Row Wines"]},
    ("ISO 22005", "flow of materials and packaging traced"): {
        "Flow of pure alcohol": ["B-000001-Y"], "Pours": ["C-000001-H"], "Dry goods": ["cork, Holm Corks, HC 88"],
    },
    ("ISO 22005", "documents of every stage"): {"Origins": ["MD 12-001"], "Despatches": [SENT[1]]},
}  # fmt: skip
"""Where on the paper each stands: what is looked for, by "first page" or by section."""


@pytest.fixture(scope="module")
def text():
    """The text of the first page, and of each section from its heading to the next, white as single spaces."""
    with recorded_lot(2) as house, pypdfium2.PdfDocument(dossier(dossier_of(house.book, house.id("L1")))) as paper:
        pages = [" ".join(page.get_textpage().get_text_range().split()) for page in paper]
    whole, found = " ".join(pages), {FIRST: pages[0]}
    places = [whole.rindex(f"{number} {title}") for number, (title, _) in enumerate(SECTIONS, start=1)]
    for (title, _), start, end in zip(SECTIONS, places, [*places[1:], len(whole)], strict=True):
        found[title] = whole[start:end]
    return found


def test_every_have_of_the_table_is_looked_for():
    assert len(set(HAVE)) == len(HAVE) == len(FOUND)
    assert set(HAVE) == FOUND.keys()


def test_every_row_says_have_missing_or_not_applicable():
    assert len(ROWS) > 50
    assert [row for row in ROWS if not row[2].startswith(("have", "missing", "not applicable"))] == []


@pytest.mark.parametrize(("law", "element"), FOUND)
def test_what_the_law_asks_for_stands_where_the_table_says(text, law, element):
    for where, values in FOUND[law, element].items():
        for value in values:
            assert value in text[where], f"{law}: {element}"
