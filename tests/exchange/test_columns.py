"""Cells to values: in the house's way, exactly, and as quickly as many rows need."""

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.book.settings import DEFAULTS
from pourbook.errors import PourbookError
from pourbook.exchange.tables.columns import Cells, Faults, Readers
from pourbook.times import house_zone, read_time

LATE = 1 << 60
ZONES = ("UTC", "Europe/London", "America/New_York", "Australia/Lord_Howe", "Pacific/Apia")
"""Among them one whose clocks change by half an hour, and one that left out a day (30 December 2011)."""

READERS = {zone: Readers(DEFAULTS | {"zone": zone}, LATE) for zone in ZONES}
_TIMES = st.datetimes(datetime(1950, 1, 1), datetime(2023, 12, 31))  # noqa: DTZ001 (house time)


def outcome(read, text, *zone):
    """What a reader makes of a text: the moment, or the words of its refusal."""
    try:
        return read(text, *zone)
    except PourbookError as refusal:
        return refusal.message, refusal.remedy


@given(_TIMES, st.sampled_from(ZONES), st.sampled_from(("minutes", "seconds", "microseconds")), st.sampled_from("T t"))
def test_a_time_is_read_as_anywhere_else(time, zone, spec, between):
    """Reading by the day gives what reading the whole time gives."""
    text = time.isoformat(between, spec)
    assert outcome(READERS[zone].moment, text) == outcome(read_time, text, house_zone(zone))


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("day", ["2023-03-12", "2023-03-26", "2023-04-02", "2023-10-29", "2011-12-29", "2011-12-31"])
def test_days_on_which_clocks_change(zone, day):
    """Every minute of a day that is longer or shorter, or beside one that is missing."""
    start = datetime.fromisoformat(day)
    for minute in range(0, 1440, 7):
        text = (start + timedelta(minutes=minute)).isoformat(" ", "minutes")
        assert outcome(READERS[zone].moment, text) == outcome(read_time, text, house_zone(zone))


@pytest.mark.parametrize(
    "text",
    ["2023-01-01 24:00", "2023-01-01 12:60", "2023-01-01 12:30:60", "2023-01-01x12:30", "2023-01-01 1:30",
     "2023-02-29 12:30", "23-01-01 12:30", "2023-01-01 12:30 ", " 2023-01-01 12:30", "2023-01-01 १२:३०"],
)  # fmt: skip
def test_what_is_no_time_elsewhere_is_none_here(text):
    """The short way is not the lenient way."""
    assert outcome(READERS["UTC"].moment, text) == outcome(read_time, text, house_zone("UTC"))


def test_cells_that_are_blank_are_no_values():
    """Nothing is read from them, and nothing is wrong."""
    faults = Faults()
    cells = Cells("casks.csv", 2, {"ref": "row 1"}, faults)
    assert cells.read("strength", READERS["UTC"].strength) is None
    assert cells.text("strength") == ""
    assert cells.sound
    assert len(faults) == 0


def test_too_many_faults_are_counted(monkeypatch):
    """A file that is wrong in every row is not kept in memory twice."""
    monkeypatch.setattr("pourbook.exchange.tables.columns._MOST", 3)
    faults = Faults()
    for row in range(7):
        Cells("casks.csv", row, {}, faults).needed("ref")
    with pytest.raises(PourbookError, match="7 faults found in the casks: nothing was recorded") as found:
        faults.check("casks")
    assert len(found.value.faults) == 3
