"""Gauges over time with the band that is expected, as values and as a plot."""

import xml.etree.ElementTree as ET

import pytest

from pourbook import Book, Draft, Gauge, Item, Move, Pour
from pourbook.gauging.recorded_values import GaugeUncertainty, UsedInstrument
from pourbook.house_style import HouseStyle
from pourbook.papers.plots.gauge_plot import PlotWords, gauge_plot
from pourbook.quantities import read_amount, read_strength

YEAR = 31_556_952_000_000
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def book():
    """200 l filled, 192.08 l two years later: 2 % a year, worked by hand; a small draw in the third year."""
    book = Book.create(":memory:", house="Quillmere", clock=lambda: 4 * YEAR)
    fill = Move("origin", "C000001H", read_amount("200 l"), read_strength("63.5"))
    draw = Move("C000001H", "V000001R", read_amount("1 l"))
    sure = GaugeUncertainty({"volume_l_20c": ("192.08", "0.4"), "strength_20c": ("62.9", "0.05")})
    read = Gauge(
        "C000001H", read_amount("192.08 l"), read_strength("62.9"), instruments=(UsedInstrument("H-3 <dip>", "", ""),),
        uncertainty=sure,
    )  # fmt: skip
    for entry, when in (
        (Item("C000001H", {"ref": "Q 31"}), 0), (Item("V000001R", {}), 0), (Pour("fill", (fill,)), 0),
        (read, 2 * YEAR), (Pour("draw", (draw,)), 3 * YEAR),
    ):  # fmt: skip
        book.record(Draft(entry, when, "Isla Farrow", confirmed=True))
    return book


def test_what_was_read_and_how_sure(book):
    filled, read = book.gauge_history("Q 31").gauges
    assert (filled.is_fill, filled.volume_within_ml, filled.instruments) == (True, None, ())
    assert (read.volume_ml, read.strength_vol) == (pytest.approx(192_080, abs=5), pytest.approx(62.9, abs=0.001))
    assert (read.volume_within_ml, read.strength_within_vol) == (pytest.approx(800), pytest.approx(0.1))  # k = 2
    assert (read.who, read.instruments) == ("Isla Farrow", ("H-3 <dip>",))


def test_the_band_falls_by_the_rate_and_steps_down_at_a_draw(book):
    """200 l · 0.98 after one year; the draw of 1 l of some 188.2 l leaves 0.9947 of what was there."""
    band = book.gauge_history("Q 31").band
    at = {round(one.at_us / YEAR, 3): one.volume_ml for one in band}
    assert at[0.0].expected == pytest.approx(200_000, rel=1e-4)
    assert at[1.0].expected == pytest.approx(196_000, rel=1e-4)
    just_before, then = (next(one for one in band if one.at_us == 3 * YEAR - left).volume_ml for left in (1, 0))
    assert then.expected / just_before.expected == pytest.approx(1 - 1 / 192.08, rel=1e-3)
    assert all(one.volume_ml.low < one.volume_ml.expected < one.volume_ml.high for one in band)
    assert band[-1].at_us == 4 * YEAR


def test_what_has_no_rate_has_no_band(book):
    assert book.gauge_history("V000001R").band == ()
    assert book.gauge_history("V000001R").gauges == ()
    assert gauge_plot(book.gauge_history("V000001R"), HouseStyle()) == ""


def test_the_plot_is_told_and_takes_its_colour_from_around_it(book):
    """Title and description for whoever cannot see it; no colour of its own, no style; shapes tell the marks apart."""
    drawn = gauge_plot(book.gauge_history("Q 31"), HouseStyle({"decimal_mark": ","}))
    root = ET.fromstring(drawn)
    named = [root.find(f"{SVG}{one}") for one in ("title", "desc")]
    assert root.get("aria-labelledby").split() == [one.get("id") for one in named]
    assert named[0].text == "Gauges of C-000001-H"
    assert "style" not in drawn
    assert "#" not in drawn
    colours = {one.get(name) for one in root.iter() for name in ("fill", "stroke")} - {None, "none"}
    assert colours == {"currentColor"}
    said = [one.find(f"{SVG}title").text for one in root.iter(f"{SVG}g")]
    assert "192,08 ± 0,80 l, 62,90 ± 0,10 % vol, Isla Farrow, H-3 <dip>" in said[1]


def test_the_plot_speaks_as_its_page_does(book):
    words = PlotWords(title="Messungen von {item}", filled="befüllt")
    drawn = gauge_plot(book.gauge_history("Q 31"), HouseStyle(), words)
    assert "Messungen von C-000001-H" in drawn
    assert ">befüllt<" in drawn


def test_marks_lie_within_the_picture(book):
    root = ET.fromstring(gauge_plot(book.gauge_history("Q 31"), HouseStyle()))
    _, _, wide, high = map(float, root.get("viewBox").split())
    for one in root.iter(f"{SVG}circle"):
        assert 0 <= float(one.get("cx")) <= wide
        assert 0 <= float(one.get("cy")) <= high
