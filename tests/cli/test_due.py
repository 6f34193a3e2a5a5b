"""What is due from the laboratory, which checks, and which labels say something else than the book by now."""

import pytest
from command import here

AT_ONCE = ("--when", "2024-01-01")


@pytest.fixture
def book(tmp_path):
    """A cask filled at an expected 63 % vol with a sample of it, one filled as read; labels of all three."""
    path = tmp_path / "house.pourbook"
    here("create", path, "--house", "Quillmere").done()
    fill = ("--strength", "63", "--in-wood", "0", *AT_ONCE)
    here("cask", "Q 1", "--fill", "200 l", "--pending", "--wood", "wine pipe", *fill, book=path).done()
    here("cask", "Q 2", "--fill", "200 l", *fill, book=path).done()
    here("draw", "Q 1", "200 ml", "--when", "2024-01-10", "--who", "Isla Farrow", book=path).done()
    labels(path, tmp_path, "Q 1", "Q 2", template="sheet-a4-8-99x68")
    labels(path, tmp_path, "V-000001-R", template="vial-roll-30x15")
    return path


def labels(book, folder, *items, template):
    words = ("label", *items, "--template", template, "--reason", "again", "--force", "-o", folder / "labels.pdf")
    here(*words, book=book).done()


def due(book):
    return here("due", "--json", book=book).done().json


def changed(book):
    """Of each label out of date: name, as printed, as it is."""
    return {
        one["id"]: [(each["name"], each["printed"], each["now"]) for each in one["changed"]]
        for one in due(book)["labels"]
    }


def test_a_strength_is_due_until_it_is_read(book):
    """With how long it waits, the sample that was drawn, and what to type."""
    (one,) = due(book)["strengths"]
    assert (one["id"], one["called"], one["filled"]) == ("C000001H", "Q 1 · wine pipe", "2024-01-01T00:00:00Z")
    assert one["days"] > 300
    (vial,) = one["samples"]
    assert (vial["id"], vial["called"], vial["who"]) == ("V000001R", "Q 1 · wine pipe", "Isla Farrow")
    said = here("due", book=book).done().out
    assert "C-000001-H · Q 1 · wine pipe" in said
    assert "next: pourbook gauge V-000001-R --strength READ --for-source-cask" in said
    here("gauge", "V-000001-R", "--strength", "63.4", "--for-source-cask", "--when", "2024-01-20", book=book).done()
    assert due(book)["strengths"] == []


def test_a_label_with_another_decimal_mark_is_not_out_of_date(book):
    """The house writes commas from now on: what its labels say is as true as before."""
    here("gauge", "V-000001-R", "--strength", "63.4", "--for-source-cask", "--when", "2024-01-20", book=book).done()
    labels(book, book.parent, "V-000001-R", template="vial-roll-30x15")
    before = changed(book)
    assert "V000001R" not in before
    here("settings", "--set", "decimal_mark=,", book=book).done()
    assert changed(book).keys() == before.keys()


def test_labels_that_said_pending_are_out_of_date_once_it_is_read(book, tmp_path):
    """Of cask and sample, also where the laboratory confirms what was expected; printed again, they are not."""
    assert changed(book) == {}
    here("gauge", "V-000001-R", "--strength", "63", "--for-source-cask", "--when", "2024-01-20", book=book).done()
    assert changed(book) == {
        "C000001H": [("strength", "strength pending", "filled at 63.0 % vol")],
        "V000001R": [("strength", "strength pending", "63.0 % vol")],
    }
    assert here("show", "Q 1", "--json", book=book).done().json["label_outdated"] == ["strength"]
    said = here("due", book=book).done().out
    assert "next: pourbook label C-000001-H --template sheet-a4-8-99x68 --reason 'out of date'" in said
    assert "next: pourbook label V-000001-R --template vial-roll-30x15 --reason 'out of date'" in said
    labels(book, tmp_path, "Q 1", template="sheet-a4-8-99x68")
    assert set(changed(book)) == {"V000001R"}


def test_a_name_that_changed_is_told_as_printed_and_as_it_is(book):
    """And back again, the label is right."""
    here("set", "Q 2", "ref=Q 20", book=book).done()
    assert changed(book) == {"C000002F": [("ref", "Q 2", "Q 20")]}
    here("move", "Q 20", "--to", "Row 9", book=book).done()  # where it lies stands on no label for years
    assert changed(book) == {"C000002F": [("ref", "Q 2", "Q 20")]}
    here("set", "Q 20", "ref=Q 2", book=book).done()
    assert changed(book) == {}


def test_a_corrected_filling_puts_the_labels_behind_it_out_of_date(book):
    """Of a sample drawn from it, too; an empty glass is done with."""
    draw = ("draw", "Q 2", "200 ml", "--when", "2024-01-11")
    vial = here(*draw, book=book).done().out.splitlines()[0]
    labels(book, book.parent, vial, template="vial-roll-30x15")
    here("replace", "5", "--strength", "61", "--reason", "misread", book=book).done()
    assert changed(book) == {
        "C000002F": [("strength", "filled at 63.0 % vol", "filled at 61.0 % vol")],
        vial.replace("-", ""): [("strength", "63.0 % vol", "61.0 % vol")],
    }
    here("loss", vial, "all", "--kind", "tasting", "--when", "2024-02-01", book=book).done()
    assert set(changed(book)) == {"C000002F"}


def test_a_gauge_and_a_draw_leave_the_label_of_a_cask_right(book):
    """It says what the cask was filled with."""
    here("gauge", "Q 2", "--strength", "62.5", "--amount", "199 l", "--when", "2024-03-01", book=book).done()
    here("draw", "Q 2", "1 l", "--when", "2024-03-02", book=book).done()
    assert changed(book) == {}


def test_labels_printed_ahead_say_the_identifier_alone(book, tmp_path):
    """What is found out about their items later makes none of them wrong."""
    reserved = here("reserve", "vial", "1", book=book).done().out.strip()
    labels(book, tmp_path, reserved, template="vial-roll-30x15")
    here("draw", "Q 2", "200 ml", "--vial", reserved, "--ref", "S 9", "--when", "2024-01-12", book=book).done()
    assert changed(book) == {}
    assert "label_outdated" not in here("show", "S 9", "--json", book=book).done().json


def test_checks_of_instruments_are_due_thirty_days_ahead(book):
    """Overdue ones first; the check that was done counts no more."""
    for name, day in (("H-3", "2020-01-31"), ("H-4", "2199-01-31")):
        here("instrument", name, "--kind", "hydrometer", "--unit", "% vol", "--due", day, book=book).done()
    (check,) = due(book)["instruments"]
    assert (check["name"], check["due"]) == ("H-3", "2020-01-31")
    assert check["days"] < 0
    assert "H-3  2020-01-31  overdue by" in here("due", book=book).done().out
    ahead = here("due", "--days", "90000", "--json", book=book).done().json["instruments"]
    assert [one["name"] for one in ahead] == ["H-3", "H-4"]
    here("instrument", "H-3", "--certificate", "CAL 24-1", "--due", "2198-01-31", book=book).done()
    assert due(book)["instruments"] == []


def test_a_house_in_which_nothing_is_due(tmp_path):
    here("create", tmp_path / "h.pourbook", "--house", "Quillmere").done()
    assert here("due", book=tmp_path / "h.pourbook").done().out == "nothing is due\n"


def test_a_bottling_run_is_due_until_it_ends(book):
    """So that one that was begun and forgotten is not: liquid is poured in the book when it ends."""
    does = {"book": book}
    here("bottling", "begin", "Q 2", "--size", "700 ml", "--ref", "Lot 7", "--when", "2024-02-01", **does).done()
    here("bottling", "add", "Lot 7", "--filled", "120", "--put-back", "2", "--when", "2024-02-02", **does).done()
    (run,) = due(book)["runs"]
    assert (run["id"], run["happened"], run["bottles"]) == ("L000001C", "2024-02-01T00:00:00Z", 118)
    said = here("due", **does).done().out
    assert "bottling run under way: 1" in said
    assert "pourbook bottling end L-000001-C" in said
    here("bottling", "end", "Lot 7", "--when", "2024-02-03", **does).done()
    assert due(book)["runs"] == []
