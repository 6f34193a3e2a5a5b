"""What is drawn is what was written: every character in some face, or a refusal that names it."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.errors import OutOfRange
from pourbook.shipped import shipped
from pourbook.texts import visible
from pourbook.typefaces import (
    BOLD,
    CODE,
    CODE_BOLD,
    ITALIC,
    MARK,
    SEMIBOLD,
    TEXT,
    draw,
    runs,
    unset,
    width_pt,
)

FACES = (TEXT, ITALIC, SEMIBOLD, BOLD, CODE, CODE_BOLD)
# Names made up here, in the letters of Polish, Greek (polytonic), Vietnamese, Czech, Russian, Icelandic.
NAMES = (
    "Źdźbło Żółć Łąka",
    "Ἀμβροσία Ψύχους",
    "Phạm Thị Ngọc Ánh ế ữ",
    "Šťáva Řeřicha",
    "Юлия Щукина",
    "Þórður Æðir",
)


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("name", NAMES)
def test_names_are_drawn_whole_in_every_face(name, face):
    """Every letter of a European or Vietnamese name has a glyph, in text and in code faces."""
    from reportlab.pdfbase import pdfmetrics

    pieces = runs(name, face)
    assert "".join(piece for piece, _ in pieces) == name
    for piece, font in pieces:
        glyphs = pdfmetrics.getFont(font).face.charToGlyph
        assert all(glyphs.get(ord(character), 0) for character in piece)


def test_a_letter_missing_from_the_code_face_comes_from_the_fall_back():
    """DejaVu Sans Mono has no ế (found by reading its character map); DejaVu Sans has."""
    assert runs("kế", CODE) == [("k", "DejaVuSansMono"), ("ế", "DejaVuSans")]


@pytest.mark.parametrize("text", ["山崎", "flask \U0001f943", "\ue000"])
def test_a_character_of_no_face_is_a_square_and_named(text):
    """Ideographs, emoji and private characters are never left blank."""
    drawn = "".join(piece for piece, _ in runs(text, TEXT))
    lost = [character for character in text if not (character.isascii() and character.isprintable())]
    assert [character for character in drawn if character == MARK] == [MARK] * len(lost)
    assert unset(text) == tuple(f"{one} (U+{ord(one):04X})" for one in lost)


def test_right_to_left_script_stands_as_squares_rather_than_backwards():
    """DejaVu Sans has Hebrew and Arabic letters, but they would stand in the wrong order."""
    for text in ("שלום", "سلام"):
        assert runs(text, TEXT) == [(MARK * 4, "DejaVuSans")]
        assert len(unset(text)) == 4


def test_control_characters_are_marks_and_variants_of_a_sign_have_no_ink():
    """What an old note holds is seen; an emoji with its variation selector is one square."""
    assert runs("a\x1b[2J\u202eb", TEXT) == [("a<U+001B>[2J<U+202E>b", TEXT)]
    assert unset("a\x1bb") == ()
    assert runs("\U0001f943\ufe0f", TEXT) == [(MARK, "DejaVuSans")]


def test_accents_are_composed_and_inkless_characters_left_out():
    """Decomposed text has the same glyphs as composed; soft hyphens and joiners vanish."""
    assert runs(unicodedata.normalize("NFD", "Łańcuch"), TEXT) == [("Łańcuch", TEXT)]
    assert runs("oak\u00ad\u200bwood\ttwo\nlines", TEXT) == [("oakwood two lines", TEXT)]


def test_an_unknown_face_is_refused():
    """A face that pourbook does not carry is named, with those that it does."""
    with pytest.raises(OutOfRange, match="'Comic'") as refusal:
        runs("x", "Comic")
    assert TEXT in refusal.value.remedy


def test_digits_are_as_wide_as_each_other_in_every_face():
    """Columns of figures line up: the digits of both families are tabular, to a thousandth."""
    for face in FACES:
        widths = [width_pt(digit, face, 1000) for digit in "0123456789"]
        assert max(widths) - min(widths) <= 1  # one unit of a thousand to the em


def test_code_faces_have_one_advance_of_1233_units_in_2048():
    """DejaVu Sans Mono is fixed pitch: 1233/2048 em (advanceWidthMax of the font's own hhea table)."""
    assert width_pt("C000123X", CODE, 2048) == pytest.approx(8 * 1233, rel=1e-3)


@given(st.text(alphabet=st.characters(min_codepoint=32, max_codepoint=0x17F), max_size=30))
def test_runs_lose_nothing_but_format_characters(text):
    """The pieces put together are the text, composed and without characters that have no ink."""
    joined = "".join(piece for piece, _ in runs(text, TEXT))
    composed = unicodedata.normalize("NFC", visible(text))
    assert joined == "".join(c for c in composed if unicodedata.category(c) != "Cf")


def test_drawn_text_reads_back_from_the_page():
    """What a reader of the PDF finds is the text drawn, also across a change of font."""
    from io import BytesIO

    import pypdfium2
    from reportlab.pdfgen.canvas import Canvas

    sink = BytesIO()
    canvas = Canvas(sink, pagesize=(300, 100), invariant=1)
    for line, align in enumerate(("left", "centre", "right")):
        draw(canvas, 150, 80 - 20 * line, f"Ngọc ⚗ Żółć {align}", SEMIBOLD, 10, align)
    canvas.save()
    page = pypdfium2.PdfDocument(sink.getvalue())[0].get_textpage()
    read = page.get_text_range()
    assert [f"Ngọc ⚗ Żółć {align}" in read for align in ("left", "centre", "right")] == [True] * 3


def test_the_shipped_templates_are_found():
    """The folder of label templates is found from where the package lies, and has templates in it."""
    assert list(shipped("label_templates").glob("*.toml"))
