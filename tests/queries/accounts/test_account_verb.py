"""The account from the command: screen, CSV, JSON and PDF say the same; what it refuses."""

import csv

import pypdfium2
import pytest
from command import here
from house import House

PERIOD = ("--from", "2025-01-01", "--to", "2025-12-31")


@pytest.fixture
def book(tmp_path):
    """Two owners, a vatting, losses, samples; the year closed."""
    path = tmp_path / "quillmere.pourbook"
    with House(path, zone="Europe/London") as house:
        house.open("C1", ref="Row 1", owner="Corran Vale", duty="suspended")
        house.open("C2", ref="Row 2", owner="Harbour Row", duty="suspended")
        house.open("B1", "V1", owner="Harbour Row")
        house.cask("C1", "200 l", "63.5", at="2024-06-01")
        house.cask("C2", "180 l", "58.2", at="2025-02-01")
        house.draw("C1", "V1", "250 ml", at="2025-03-01", purpose="trial 25-A")
        house.despatch("V1", "100 ml", at="2025-03-05", recipient="Ferrow Laboratory", document="=S 1")
        house.lose("V1", "20 ml", at="2025-03-06", disposition="destruction")
        house.gauge("C1", "196.1 l", "63.2", at="2025-04-01")
        house.pour("C2", "B1", at="2025-05-01")
        house.water("B1", "40 kg", at="2025-05-02")
        house.lose("C1", "3 l", at="2025-06-01", disposition="leak")
        house.close_period("2026-01-01")
    return path


def text_of(path):
    """The PDF as another program reads it: one line for each line of print."""
    with pypdfium2.PdfDocument(path) as document:
        return "\n".join(page.get_textpage().get_text_range() for page in document).replace("\xa0", " ")


def rows_of(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_csv_json_and_pdf_agree(book, tmp_path):
    """Every line of the CSV is in the document with the same figures, and printed to three digits."""
    table, samples, pdf = (tmp_path / name for name in ("account.csv", "samples.csv", "account.pdf"))
    files = ("--csv", table, "--samples", samples, "-o", pdf)
    declare = ("--declare", "half-up 0.1")
    ran = here("account", *PERIOD, "--group-by", "owner", *declare, *files, "--json", book=book).done().json
    rows, printed = rows_of(table), text_of(pdf)
    lines = [(group["group"]["owner"], line) for group in ran["groups"] for line in group["lines"]]
    assert len(rows) == len(lines) > 10
    for row, (owner, line) in zip(rows, lines, strict=True):
        assert (row["owner"], row["side"], row["heading"]) == (owner, line["side"], line["heading"])
        for name in ("lpa_l", "bulk_l", "mass_mg", "ethanol_mg", "volume_ul", "difference_lpa_l"):
            assert float(row[name]) == line[name]
        assert row["declared_lpa_l"] == line["declared_lpa_l"]
        if line["side"] not in ("contraction", "adjustment") and max(line["lpa_l"], line["bulk_l"]) > 0.001:
            exact = f"{line['postings']} {line['lpa_l']:.3f} {line['declared_lpa_l']}"
            assert exact in printed, exact
    for name in ("Corran Vale", "Harbour Row", "Total, all groups", "evaporation", "leak", "transfer out"):
        assert name in printed
    assert "It is not the return itself" in " ".join(printed.split())
    assert ran["note"].startswith("A working account drawn from the book")
    assert [row["recipient"] for row in rows_of(samples)] == ["", "Ferrow Laboratory", ""]
    assert [row["document"] for row in rows_of(samples)] == ["", "'=S 1", ""]
    assert [one["document"] for one in ran["samples"]] == ["", "=S 1", ""]
    assert [row["source_ref"] for row in rows_of(samples)] == ["Row 1", "", ""]
    assert "Ferrow" in printed


def test_the_entries_behind_a_figure_are_listed(book, tmp_path):
    """Which they are follows from the pours above; screen, JSON and CSV say the same, and add up to the figure."""
    account = here("account", *PERIOD, "--json", book=book).done().json
    figures = {(line["side"], line["heading"]): line for line in account["total"]["lines"]}
    wanted = {
        "losses:evaporation": [("gauge", "Row 1", "")],
        "losses:leak": [("lose", "Row 1", "loss")],
        "in:water": [("reduce", "", "water")],
        "opening": [("fill", "Row 1", "origin")],
        "Out": [("despatch", "", "despatch")],
    }
    for what, rows in wanted.items():
        table = tmp_path / f"{what.replace(':', '-')}.csv"
        found = here("account", *PERIOD, "--list", what, "--csv", table, "--json", book=book).done().json
        assert [(one["what"], one["ref"], one["other"]) for one in found["rows"]] == rows
        (total,) = found["sums"]
        figure = figures[total["side"], total["heading"]]
        for name in ("mass_mg", "ethanol_mg", "extract_mg", "volume_ul"):
            assert total[name] == figure[name] == sum(int(row[name]) for row in rows_of(table))
        assert all(row["happened"].endswith(("+00:00", "+01:00")) for row in rows_of(table))
    said = here("account", *PERIOD, "--list", "losses:leak", book=book).done().out
    assert "Row 1" in said
    assert "losses leak" in said


def test_the_entries_of_one_group(book):
    """With a grouping, only what moved of one owner; what went from owner to owner stands on both sides."""
    by = ("--group-by", "owner", "--list", "all", "--group", "harbour row")
    found = here("account", *PERIOD, *by, "--json", book=book).done().json
    assert {one["group"]["owner"] for one in found["rows"]} == {"Harbour Row"}
    assert ("in", "transfer in") in {(one["side"], one["heading"]) for one in found["rows"]}


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("--list", "lost"), "is not a side of an account with entries"),
        (("--list", "contraction"), "is not a side of an account with entries"),
        (("--list", "losses:theft"), "loss:leak"),
        (("--list", "in", "--group", "Fennick", "--group-by", "owner"), "groups are: Corran Vale, Harbour Row"),
        (("--group", "Fennick"), "--list goes without -o"),
        (("--list", "in", "-o", "a.pdf"), "--list goes without -o"),
    ],
)
def test_what_cannot_be_listed(book, asked, said):
    """Refused, with what there is."""
    ran = here("account", *PERIOD, *asked, book=book)
    assert (ran.status, ran.out) == (1, "")
    assert said in ran.err


def test_the_paper_says_whose_it_is_and_who_signs(book, tmp_path):
    """Address, licence, who prepared it, the hash in full, lines to sign."""
    here("settings", "--set", "address=Quill Lane 1", "--set", "licence=Q 7", book=book).done()
    head = here("journal-hash", "--json", book=book).done().json["journal_hash"]
    here("account", *PERIOD, "-o", tmp_path / "a.pdf", book=book).done()
    text = text_of(tmp_path / "a.pdf")
    said = ("Quill Lane 1", "Q 7", "Prepared by", "M. Aldane", "Checked by", "signature", head)
    assert all(one in text for one in said)


def test_the_sums_of_the_csv_balance(book, tmp_path):
    """A spreadsheet finds what the account says of itself, to the last milligram and microlitre."""
    table = tmp_path / "account.csv"
    here("account", *PERIOD, "--group-by", "owner", "--group-by", "kind", "--csv", table, book=book).done()
    signs = {"opening": 1, "adjustment": 1, "in": 1, "gain": 1, "out": -1, "loss": -1, "contraction": -1, "closing": -1}
    left = {}
    for row in rows_of(table):
        for name in ("mass_mg", "ethanol_mg", "extract_mg", "volume_ul"):
            key = row["owner"], row["kind"], name
            left[key] = left.get(key, 0) + signs[row["side"]] * int(row[name])
    assert len(left) >= 16
    assert set(left.values()) == {0}


def test_the_screen_says_what_the_document_says(book):
    """The same lines in words, with the sentence of what it is not."""
    said = here("account", *PERIOD, book=book).done()
    (group,) = here("account", *PERIOD, "--json", book=book).done().json["groups"]
    for line in group["lines"]:
        if line["side"] != "contraction":
            words = [line["heading"] or line["side"], f"{line['lpa_l']:.3f}", f"{line['bulk_l']:.3f}"]
            assert any(all(word in shown for word in words) for shown in said.out.splitlines()), words
    assert "not the return itself" in said.out
    assert "A working account" in said.out
    declared = here("account", *PERIOD, "--declare", "half-up 0.1", book=book).done()
    assert "working figures" in declared.err


def test_a_day_named_as_the_last_is_within_the_period(book):
    """Until the end of that day in the house's zone; a time ends it at that moment."""
    by_day = here("account", *PERIOD, "--json", book=book).done().json
    by_moment = here("account", "--from", "2025-01-01", "--to", "2026-01-01T00:00", "--json", book=book).done().json
    assert by_day["to"] == by_moment["to"] == "2026-01-01T00:00:00Z"
    summer = here("account", "--from", "2025-04-01", "--to", "2025-06-30", "--json", book=book).done().json
    assert (summer["from"], summer["to"]) == ("2025-03-31T23:00:00Z", "2025-06-30T23:00:00Z")


def test_corrections_after_the_closing_are_told_in_both_periods(book):
    """The closed one says that it does not show them, the open one that they take effect in it."""
    gauge = here("journal", "--item", "Row 1", "--json", book=book).done().json["entries"]
    number = next(entry["number"] for entry in gauge if entry["kind"] == "gauge")
    here("replace", number, "--amount", "195.1 l", "--reason", "misread the rod", book=book).done()
    closed = here("account", *PERIOD, book=book).done().out
    opened = here("account", "--from", "2026-01-01", "--to", "2026-06-30", book=book).done().out
    assert "corrected after closing" in closed
    assert "prior-period adjustments: corrections of closed periods" in opened
    for said in (closed, opened):
        assert "misread the rod" in said
    assert "prior-period adjustment " in opened
    assert "prior-period adjustment " not in closed


def test_a_printed_account_is_in_the_journal(book, tmp_path):
    """With the head it was printed from, and how much alcohol it begins and ends with."""
    here("account", *PERIOD, "-o", tmp_path / "account.pdf", book=book).done()
    entry = here("journal", "--json", book=book).done().json["entries"][-1]
    assert (entry["kind"], entry["body"]["paper"]) == ("paper", "account")
    facts = entry["body"]["facts"]
    assert facts["period"] == "2025-01-01/2025-12-31"
    assert facts["entries"] == entry["number"] - 1
    assert facts["closing_ethanol_mg"] > facts["opening_ethanol_mg"] > 0


def test_a_rehearsal_leaves_nothing(book, tmp_path):
    """No entry, no file; what is shown is what would be."""
    before = here("journal-hash", book=book).out
    files = ("--csv", tmp_path / "a.csv", "-o", tmp_path / "a.pdf")
    ran = here("account", *PERIOD, "--declare", "up 1", *files, "--dry-run", "--json", book=book).done().json
    assert ran["declared"]["rule"] == "up 1"
    assert not list(tmp_path.glob("a.*"))
    assert here("journal-hash", book=book).out == before


REFUSED = {
    "a period that ends before it begins": ("--from", "2025-06-01", "--to", "2025-05-01"),
    "a date that is none": ("--from", "2025-06-31", "--to", "2025-07-01"),
    "a day after which there is none": ("--from", "2025-06-01", "--to", "9999-12-31"),
    "a rule that is none": (*PERIOD, "--declare", "nearest 0.1"),
    "a period that is not closed": ("--from", "2026-01-01", "--to", "2026-12-31", "--declare", "up 1"),
    "a folder that is not there": (*PERIOD, "-o", "nowhere/account.pdf"),
}


@pytest.mark.parametrize("arguments", REFUSED.values(), ids=REFUSED)
def test_refusals_change_nothing(book, arguments):
    """Exit status 1, a sentence, and the book as it was."""
    before = here("journal-hash", book=book).out
    ran = here("account", *arguments, book=book)
    assert ran.status == 1
    assert ran.err.startswith("refused: ")
    assert here("journal-hash", book=book).out == before


def test_a_file_that_is_there_is_kept(book, tmp_path):
    """Unless it is to be written over."""
    kept = tmp_path / "account.csv"
    kept.write_text("mine", encoding="utf-8")
    assert here("account", *PERIOD, "--csv", kept, book=book).status == 1
    assert kept.read_text(encoding="utf-8") == "mine"
    here("account", *PERIOD, "--csv", kept, "--force", book=book).done()
    assert kept.read_text(encoding="utf-8").startswith("side,heading,lpa_l")
