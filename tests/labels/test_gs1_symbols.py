"""GS1 symbols: sizes of their standards, FNC1 where it belongs, read back by another's reader and parser."""

import numpy as np
import pytest
import zxingcpp
from biip.gs1_messages import GS1Message
from hypothesis import given
from hypothesis import strategies as st

from pourbook.codes.gs1 import element_string, gtin_of, read_bracketed, sscc_of
from pourbook.errors import Malformed, Mistyped, OutOfRange
from pourbook.labels import Printout, labels_pdf
from pourbook.labels.calibration import Calibration
from pourbook.labels.label import OUTSIDE
from pourbook.labels.readback import misreads
from pourbook.labels.symbols import GS1_KINDS, MODULES_MM, symbol
from pourbook.labels.templates import template, templates

FORMATS = {"gs1-128": zxingcpp.BarcodeFormat.Code128, "gs1-data-matrix": zxingcpp.BarcodeFormat.DataMatrix}
PREFIXES = {"gs1-128": "]C1", "gs1-data-matrix": "]d2"}  # ISO/IEC 15424; gs1/gs1-syntax-engine scandata.c
GS1_TEMPLATES = [one for one in templates() if any(field.says != ("code",) for field in one.symbols)]
NAMES = [one.name for one in GS1_TEMPLATES]

GTIN, CASE, SSCC = gtin_of("9521234", "567"), gtin_of("9521234", "567", "1"), sscc_of("9521234", 1)
TEXTS = {
    "gtin": GTIN[1:],
    "case_gtin": CASE,
    "gs1_bottle": f"(01){GTIN} (11)261105",
    "gs1_case": f"(01){CASE} (11)261105",
    "gs1_lot": "(10)L26-118",
    "gs1_unit": f"(00){SSCC}",
    "gs1_content": f"(02){CASE} (37)55",
    "link": f"https://id.gs1.org/01/{GTIN}/10/L26-118",
    "case_link": f"https://id.gs1.org/01/{CASE}/10/L26-118",
}


def picture(mark, module=3, bars=60):
    """A symbol with its quiet zone, so many pixels to the module."""
    modules = np.array([[255 * (one == "0") for one in row] for row in mark.rows], dtype=np.uint8)
    tall = bars if mark.linear else module
    return np.pad(np.kron(modules, np.ones((tall, module), np.uint8)), module * mark.quiet, constant_values=255)


def read(mark):
    """What a scanner sends for a symbol: prefix of the symbology, and the text."""
    (found,) = zxingcpp.read_barcodes(picture(mark), formats=FORMATS[mark.kind], text_mode=zxingcpp.TextMode.Plain)
    return found.symbology_identifier + found.text


# -- sizes --------------------------------------------------------------------------------------

# Square Data Matrix: data codewords by size. ISO/IEC 16022 size table (half the digits that a published list of
# capacities gives; each also found by encoding to the limit with zxing-cpp).
DATA_CODEWORDS = {14: 8, 16: 12, 18: 18, 20: 22, 22: 30, 24: 36, 26: 44, 32: 62}


@pytest.mark.parametrize("digits", range(6, 90, 6))
def test_a_gs1_data_matrix_is_the_smallest_that_holds_fnc1_and_pairs_of_digits(digits):
    """One codeword for FNC1, one for two digits (ISO/IEC 16022)."""
    text = "(91)" + "7" * digits
    needed = 1 + (2 + digits) // 2  # and 14 x 14 at the least, as for plain ones
    side = next(size for size, room in DATA_CODEWORDS.items() if room >= needed)
    mark = symbol("gs1-data-matrix", text)
    assert (mark.columns, len(mark.rows)) == (side, side)


@pytest.mark.parametrize(
    ("text", "characters"),
    [
        (f"(00){SSCC}", 11),  # published: 156 modules, ISO/IEC 15417 with FNC1
        (f"(01){GTIN}(11)261105", 13),
        ("(10)123456", 5),
        ("(10)L26-118", 10),  # FNC1, 10, change to set B, seven characters
    ],
)
def test_a_gs1_128_has_the_length_of_its_characters(text, characters):
    """35 + 11 n modules, FNC1 among the n (ISO/IEC 15417); quiet zones of 10 (GS1 General Specifications 5.4.4.2)."""
    mark = symbol("gs1-128", text)
    assert (mark.columns, mark.quiet, mark.linear) == (35 + 11 * characters, 10, True)


def test_a_gs1_128_holds_48_characters_and_no_more():
    """Identifiers and separators count, brackets do not (GS1 General Specifications 5.4.4.3)."""
    symbol("gs1-128", "(91)" + "A" * 46)
    with pytest.raises(Malformed, match="has 49 characters; a GS1-128 holds at most 48"):
        symbol("gs1-128", "(91)" + "A" * 47)
    symbol("gs1-data-matrix", "(91)" + "A" * 47)


# -- what they say ------------------------------------------------------------------------------

lots = st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-./_", min_size=1, max_size=20)


@pytest.mark.parametrize("kind", GS1_KINDS)
@given(lots, st.integers(1, 99_999_999))
def test_another_s_reader_and_parser_read_what_was_written(kind, lot, count):
    """zxing-cpp reads the symbol with its prefix, biip takes the element string apart; FNC1 after an open length."""
    mark = symbol(kind, f"(37){count}(10){lot}(11)261105")
    sent = read(mark)
    assert sent == mark.sent == PREFIXES[kind] + f"37{count}\x1d10{lot}\x1d11261105"
    parsed = GS1Message.parse(sent[3:])
    assert [(one.ai.ai, one.value) for one in parsed.element_strings] == [
        ("37", str(count)), ("10", lot), ("11", "261105")
    ]  # fmt: skip


@pytest.mark.parametrize("kind", GS1_KINDS)
def test_a_symbol_without_fnc1_would_be_seen(kind):
    """The same digits in a plain symbol have another prefix, so that readback tells them apart."""
    plain = symbol(kind.removeprefix("gs1-").replace("128", "code-128"), "00" + SSCC)
    (found,) = zxingcpp.read_barcodes(picture(plain), text_mode=zxingcpp.TextMode.Plain)
    assert found.symbology_identifier != PREFIXES[kind]


@pytest.mark.parametrize("kind", GS1_KINDS)
@pytest.mark.parametrize("text", ["L000001C", "(01)9521234005674", "(77)12", "(10)" + "A" * 21, "(01)"])
def test_text_that_is_no_gs1_text_is_refused(kind, text):
    """Nothing is drawn that would be refused when it is scanned."""
    with pytest.raises(Malformed):
        symbol(kind, text)
    with pytest.raises(Mistyped):
        symbol(kind, f"(01){GTIN[:-1]}{(int(GTIN[-1]) + 1) % 10}")


# -- templates ------------------------------------------------------------------------------------


def outgoing(made, kind, **changed):
    """A label with all that goes outside."""
    return made(kind, 1, **(TEXTS | {"name": "Ostrewick Vatting", "lot_mark": "L26-118"} | changed))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_every_symbol_that_goes_outside_reads_as_it_should(made, name, dpi):
    """Each page is rasterised dot for dot and each symbol read back, straight, turned and blurred."""
    shipped = template(name)
    for kind in shipped.kinds:
        labels = [outgoing(made, kind)]
        assert list(misreads(labels_pdf(labels, shipped, dpi), Printout(labels, shipped, Calibration(dpi)))) == []


@pytest.mark.parametrize("name", NAMES)
def test_what_another_reader_finds_on_the_label_is_what_was_put_there(made, raster, name):
    """All symbols of the page at once: our identifier among them, each element string taken apart by biip."""
    shipped = template(name)
    for kind in shipped.kinds:
        label = outgoing(made, kind)
        (page,) = raster(labels_pdf([label], shipped, 300), 300)
        found = zxingcpp.read_barcodes(np.ascontiguousarray(page), text_mode=zxingcpp.TextMode.Plain)
        sent = {(one.symbology_identifier if one.content_type.name == "GS1" else "") + one.text for one in found}
        assert sent == {symbol(*field.said(label)).sent for field in shipped.symbols if kind in field.kinds}
        assert label.code in sent
        for text in sent:
            if text[0] == "]":
                assert GS1Message.parse(text[3:]).element_strings


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_modules_are_of_the_size_that_the_standard_asks_for(made, raster, crop, name, dpi):
    """GS1-128 0.495 to 1.016 mm and 31.75 mm high where cartons and pallets go; two-dimensional ones 1.5 times as
    large as bars; links 0.396 mm (print guidelines: GS1 General Specifications, some at second hand)."""
    shipped = template(name)
    for kind in shipped.kinds:
        label = outgoing(made, kind)
        (page,) = raster(labels_pdf([label], shipped, dpi), dpi)
        for field in shipped.symbols:
            if kind not in field.kinds or field.says == ("code",):
                continue
            mark = symbol(*field.said(label))
            dark = crop(page, shipped, 1, field.box, dpi) < 128
            columns, rows = np.flatnonzero(dark.any(axis=0)), np.flatnonzero(dark.any(axis=1))
            module = (columns[-1] - columns[0] + 1) / mark.columns * 25.4 / dpi
            high = (rows[-1] - rows[0] + 1) * 25.4 / dpi
            least, most = {"gs1-128": (0.495, 1.016), "qr": (0.396, 0.990)}.get(field.kind, (0.0, 1.5))
            if field.kind == "gs1-data-matrix":
                least = 0.396 if name.startswith("bottle") else 1.5 * 0.495
            assert least - 0.001 <= module <= most + 0.001
            if field.kind == "gs1-128":
                assert high >= 31.75
                assert (mark.width_modules) * module <= 165.1


@pytest.mark.parametrize("name", NAMES)
def test_people_read_what_the_symbol_says(made, name):
    """The interpretation of each GS1 symbol stands on the label, brackets and all."""
    import pypdfium2

    shipped = template(name)
    for kind in shipped.kinds:
        label = outgoing(made, kind)
        with pypdfium2.PdfDocument(labels_pdf([label], shipped, 300)) as document:
            said = "".join(document[0].get_textpage().get_text_range().split())
        for field in shipped.symbols:
            if field.kind in GS1_KINDS and kind in field.kinds:
                for one in field.says:
                    assert getattr(label, one).replace(" ", "") in said
        assert label.id in said


@pytest.mark.parametrize("name", NAMES)
def test_a_label_that_lacks_what_goes_outside_carries_our_identifier_instead(made, name):
    """In an internal symbol of the same shape, with its text under it."""
    shipped = template(name)
    for kind in shipped.kinds:
        label = outgoing(made, kind, **dict.fromkeys(OUTSIDE, ""))
        said = [field.said(label) for field in shipped.symbols if kind in field.kinds]
        assert {text for _, text in said} == {label.code}
        assert not {kind for kind, _ in said} & set(GS1_KINDS)
        assert list(misreads(labels_pdf([label], shipped, 203), Printout([label], shipped, Calibration(203)))) == []


def test_a_lot_number_too_long_for_the_bars_is_refused_with_what_they_need(made):
    """Twenty letters in set B are longer than the label is wide at the least module."""
    long = outgoing(made, "lot", gs1_lot="(10)" + "ABCDEFGHIJKLMNOPQRST")
    with pytest.raises(OutOfRange, match=r"needs 15[0-9.]+ mm and has 103"):
        labels_pdf([long], template("carton-gs1-roll-105x148"), 203)
    labels_pdf([long], template("bottle-gs1-roll-60x40"), 203)


# -- templates of a house -------------------------------------------------------------------------

FAULTS = {
    'says = "gs1_unit"': ('says = "code"', "does not suit this kind"),
    "least_module_mm = 0.743": ("least_module_mm = 0.2", "is less than the standard allows"),
    'text = "{gs1_unit}"': ('text = "{ref}"', "is not shown as text on the label"),
}


@pytest.mark.parametrize("written", FAULTS)
def test_a_template_that_would_break_the_standard_is_refused(written, tmp_path):
    """The wrong content, a module too small, no text to read: each named with its line."""
    from pourbook.errors import FaultsFound
    from pourbook.labels.template_reading import read_template
    from pourbook.shipped import shipped

    other, said = FAULTS[written]
    name = "pallet-sscc-roll-148x210"
    text = (shipped("label_templates") / f"{name}.toml").read_text("utf-8")
    assert text.count(written) >= 1
    with pytest.raises(FaultsFound) as refusal:
        read_template(text.replace(written, other, 1).encode(), f"{name}.toml")
    assert any(said in fault.problem and fault.row for fault in refusal.value.faults)


def test_the_limits_are_those_of_the_guidelines():
    """The smallest modules that a template may ask for (print guidelines, sources there)."""
    assert MODULES_MM["gs1-128"] == (0.495, 1.016)
    assert MODULES_MM["gs1-data-matrix"][0] == 0.254


def test_the_texts_of_this_file_are_good():
    """The element strings above parse, so that no test passes on rubbish."""
    for name in ("gs1_bottle", "gs1_case", "gs1_lot", "gs1_unit", "gs1_content"):
        assert element_string(read_bracketed(TEXTS[name]))
