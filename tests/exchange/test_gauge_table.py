"""A round of gauges from one table: its instruments are those of the book."""

import pytest

from pourbook.actions.happening import Happening
from pourbook.actions.importing import import_gauges, import_history
from pourbook.book.journal import entry_of
from pourbook.errors import FaultsFound

HOW = Happening("P. Hask")


@pytest.fixture
def gauges(book, files, tmp_path):
    """Writes a table that reads row 1 with an instrument, takes it in, and gives the instruments of its entry."""
    import_history(book, HOW, files.folder)

    def take_in(instrument, how=HOW):
        path = tmp_path / "gauges.csv"
        path.write_text(f"item,happened,by,strength,instrument\nrow 1,2016-03-01 08:00,P. Hask,61.2,{instrument}\n")
        import_gauges(book, how, path)
        return entry_of(book.store, book.head()[0] - 1).entry["body"].get("instruments")

    return take_in


def test_an_instrument_of_the_book_is_kept_as_a_gauge_by_hand_keeps_it(book, gauges):
    """With its identifier, its certificate, and since when it was overdue that day."""
    facts = {"instrument": "hydrometer", "certificate": "Q-118", "due": "2016-01-31"}
    h3 = book.enter(HOW._replace(when_us=0), "instrument", "H-3", facts).id
    expected = {"name": "H-3", "id": h3, "certificate": "Q-118", "overdue_since": "2016-01-31"}
    assert gauges("H-3") == [expected]


def test_a_house_that_entered_no_instruments_writes_names(gauges):
    """There is nothing to find them in."""
    assert gauges("old hydrometer") == [{"name": "old hydrometer"}]


def test_a_name_that_no_instrument_has_is_a_fault_until_confirmed(book, gauges):
    """As it is for a gauge by hand: the likely slip is named."""
    book.enter(HOW, "instrument", "H-3", {"instrument": "hydrometer"})
    with pytest.raises(FaultsFound) as refused:
        gauges("H-4")
    (fault,) = refused.value.faults
    assert (fault.column, fault.value) == ("instrument", "H-4")
    assert "H-3" in fault.remedy
    assert gauges("H-4", HOW._replace(confirm=True)) == [{"name": "H-4"}]


def test_another_kind_of_item_is_no_instrument(gauges):
    """A cask reads nothing."""
    with pytest.raises(FaultsFound) as refused:
        gauges("row 1")
    assert "not an instrument" in refused.value.faults[0].problem
