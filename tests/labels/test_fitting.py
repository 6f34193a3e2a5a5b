"""Text in a box: never wider, never higher, never lost without a word."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook import typefaces
from pourbook.labels.fitting import LEADING, Style, cap_height, fit, would_fit

TEXTS = st.text("abcdefg HIJK 0123 ·ąłż", min_size=1, max_size=60).map(" ".join).map(str.strip) | st.text(
    "ilmW ", min_size=1, max_size=40
)


@given(TEXTS, st.sampled_from([typefaces.TEXT, typefaces.CODE_BOLD]), st.integers(1, 4), st.booleans())
def test_what_fits_is_within_the_box_and_the_sizes(text, face, lines, trim):
    """Width, height, size and number of lines are all kept."""
    style = Style(face, 12, 6, lines, trim)
    fitted = fit(text, style, 90, 40)
    if fitted is None:
        assert not trim
        return
    assert 6 <= fitted.size_pt <= 12
    assert 1 <= len(fitted.lines) <= lines
    assert max(typefaces.width_pt(line, face, fitted.size_pt) for line in fitted.lines) <= 90 + 1e-6
    assert fitted.size_pt * (cap_height(face) + LEADING * (len(fitted.lines) - 1)) <= 40


@given(TEXTS, st.integers(1, 4))
def test_nothing_is_lost_unless_it_may_be_trimmed(text, lines):
    """Without trim, the lines put together have the words of the text; only dots at a line's end go."""
    fitted = fit(text, Style(typefaces.TEXT, 12, 4, lines), 120, 60)
    if fitted:
        kept, given_words = " ".join(fitted.lines).split(), text.split()
        assert [word for word in kept if word != "·"] == [word for word in given_words if word != "·"]


@given(TEXTS)
def test_what_is_trimmed_is_a_beginning_with_an_ellipsis(text):
    """And as set at the least size."""
    style = Style(typefaces.TEXT, 12, 6, trim=True)
    fitted = fit(text, style, 40, 10)
    if fitted and fit(text, style._replace(trim=False), 40, 10) is None:
        assert fitted.size_pt == 6
        assert fitted.lines[0].endswith("…")
        assert text.startswith(fitted.lines[0][:-1])


def test_the_largest_size_that_fits_is_taken():
    """A quarter of a point more would be too wide."""
    fitted = fit("C-000123-X", Style(typefaces.CODE, 20, 6), 70, 30)
    assert fitted.size_pt < 20
    assert typefaces.width_pt("C-000123-X", typefaces.CODE, fitted.size_pt + 0.25) > 70


def test_lines_break_at_spaces_and_not_before_a_dot():
    """A separating dot neither starts nor ends a line."""
    fitted = fit("Oloroso butt · warehouse 2", Style(typefaces.TEXT, 10, 10, lines=2), 60, 40)
    assert fitted.lines == ("Oloroso butt", "warehouse 2")


def test_would_fit_is_the_longest_beginning_that_fits():
    """It fits itself, and one character more does not."""
    style = Style(typefaces.TEXT, 12, 8)
    short = would_fit("Second-fill fortified wine butt", style, 60, 12)
    assert "Second-fill fortified wine butt".startswith(short)
    assert fit(short, style, 60, 12)
    assert fit("Second-fill fortified wine butt"[: len(short) + 1], style, 60, 12) is None


@pytest.mark.parametrize(("face", "letter"), [(typefaces.TEXT, "H"), (typefaces.CODE_BOLD, "H")])
def test_capitals_are_as_high_as_is_counted(face, letter):
    """Measured on the drawn letter: 100 pt high capitals, one pixel to the point."""
    from io import BytesIO

    import numpy as np
    import pypdfium2
    from reportlab.pdfgen.canvas import Canvas

    sink = BytesIO()
    canvas = Canvas(sink, pagesize=(200, 200))
    typefaces.draw(canvas, 20, 50, letter, face, 100)
    canvas.save()
    page = pypdfium2.PdfDocument(sink.getvalue())[0].render(scale=1, grayscale=True).to_numpy()
    inked = np.flatnonzero((page < 128).any(axis=1))
    assert len(inked) == pytest.approx(100 * cap_height(face), abs=1)
