"""An import under circumstances: who, when, where, why, confirmed, rehearsed."""

import pytest
from house import HOW, moment

from pourbook.actions.happening import Happening
from pourbook.actions.importing import import_casks, import_gauges, import_history
from pourbook.book.journal import entry_of
from pourbook.errors import FaultsFound

OVERDRAWN = (
    "origin,row 1,200,l,63.5,,2015-03-01 08:00,M. Aldane,",
    "row 1,vial 1,230,l,,,2016-03-01 08:00,M. Aldane,",
)


def test_the_entry_of_an_import_says_who_where_and_why(book, files):
    """Rows say when they happened; the import happened when it was recorded."""
    import_history(book, Happening("P. Hask", where="Office", reason="old books"), files.folder)
    entry = entry_of(book.store, book.head()[0]).entry
    assert (entry["kind"], entry["who"], entry["where"], entry["reason"]) == (
        "imported", "P. Hask", "Office", "old books",
    )  # fmt: skip


def test_what_has_no_date_happened_when_the_person_says(book, tmp_path):
    """An empty cask was there on that day."""
    (tmp_path / "casks.csv").write_text("ref\nRow 1/1\n")
    import_casks(book, Happening("P. Hask", when_us=moment("2020-05-01")), tmp_path / "casks.csv")
    opening = entry_of(book.store, book.head()[0] - 1)
    assert (opening.kind, opening.happened_us) == ("item", moment("2020-05-01"))


def test_what_the_book_lacks_can_be_confirmed(book, files):
    """More than a cask held is a fault, unless the person answers for it; then it is a gain."""
    files.pours(*OVERDRAWN)
    with pytest.raises(FaultsFound):
        import_history(book, Happening("P. Hask"), files.folder)
    done = import_history(book, Happening("P. Hask", confirm=True), files.folder)
    ((cask, gain),) = done.gains
    assert (cask, gain > 0) == (book.find("row 1"), True)
    assert book.verify().faults == ()


def test_a_reading_is_asked_as_at_the_bench(book, files, tmp_path):
    """The book's own rules hold for a round of gauges: what it would ask is a fault, unless it is confirmed."""
    import_history(book, HOW, files.folder)
    head = "item,amount,unit,disposition,happened,by,instrument"
    (tmp_path / "gauges.csv").write_text(f"{head}\nrow 1,20,l,leak,2016-01-01,P. Hask,rod 2\n")
    with pytest.raises(FaultsFound) as refused:
        import_gauges(book, Happening("P. Hask"), tmp_path / "gauges.csv")
    (fault,) = refused.value.faults
    assert (fault.row, "--confirm" in fault.remedy) == (2, True)
    import_gauges(book, Happening("P. Hask", confirm=True), tmp_path / "gauges.csv")
    gauge = entry_of(book.store, book.head()[0] - 1).entry["body"]
    assert gauge["instruments"] == [{"name": "rod 2"}]
