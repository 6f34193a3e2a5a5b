"""Every shipped label, rasterised one pixel to a dot, reads as its identifier, every bar on the grid."""

import numpy as np
import pytest
from PIL import Image, ImageFilter

from pourbook.labels import labels_pdf
from pourbook.labels.label_layout import Box
from pourbook.labels.symbols import symbol
from pourbook.labels.templates import template, templates

TEMPLATES = templates()
NAMES = [shipped.name for shipped in TEMPLATES]
VIALS = [shipped.name for shipped in TEMPLATES if shipped.kinds == ("vial",)]
LEAST_READ_MM = 2.0  # height of an identifier in letters beside a small symbol: common practice, no source


@pytest.fixture(scope="module")
def printed(made, raster):
    """A label of each kind of a template, with the page it is on and its place there."""
    kept = {}

    def run(name, dpi):
        if (name, dpi) not in kept:
            kept.clear()
            shipped = template(name)
            labels = [made(kind, 100 + n) for n, kind in enumerate(shipped.kinds)]
            pages = raster(labels_pdf(labels, shipped, dpi), dpi)
            places = shipped.media.places
            kept[name, dpi] = [(label, pages[n // places], n % places + 1) for n, label in enumerate(labels)]
        return kept[name, dpi]

    return run


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_every_symbol_of_every_label_reads_as_its_identifier(printed, read, crop, name, dpi):
    """Read from its own box, so its quiet zone is in there too, and from the whole label."""
    shipped = template(name)
    whole = Box(0, 0, shipped.media.width_mm, shipped.media.height_mm)
    for label, page, place in printed(name, dpi):
        for field in shipped.symbols:
            if label.kind in field.kinds:
                assert read(crop(page, shipped, place, field.box, dpi), field.kind) == [label.code]
                assert set(read(crop(page, shipped, place, whole, dpi), field.kind)) == {label.code}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_every_module_is_a_whole_number_of_dots_and_on_the_grid(printed, crop, name, dpi):
    """The picture is the pattern of modules enlarged, dot for dot, with nothing grey at its edges."""
    shipped = template(name)
    for label, page, place in printed(name, dpi):
        for field in shipped.symbols:
            picture = crop(page, shipped, place, field.box, dpi)
            dark = picture < 128
            rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
            found = dark[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
            mark = symbol(*field.said(label))
            module, remainder = divmod(found.shape[1], mark.columns)
            assert remainder == 0
            assert module >= 2  # 2 dots at the least, whole numbers only: common practice, own trial
            assert module * 25.4 / dpi >= field.least_module_mm - 0.001
            pattern = np.array([[module == "1" for module in row] for row in mark.rows])
            tall = found.shape[0] if mark.linear else module
            assert np.array_equal(found, np.kron(pattern, np.ones((tall, module), dtype=bool)))
            assert not ((picture > 60) & (picture < 195)).any()


@pytest.mark.parametrize("name", NAMES)
def test_the_page_is_the_media_in_whole_dots_and_a_hair_less(made, raster, name):
    """0.001 pt less than a whole number of dots: a hair more and some renderers add a dot and stretch."""
    import pypdfium2

    shipped = template(name)
    for dpi in (203, 300, 600):
        pdf = labels_pdf([made(shipped.kinds[0])], shipped, dpi)
        size = pypdfium2.PdfDocument(pdf)[0].get_size()
        wanted = [round(side / 25.4 * dpi) for side in shipped.media.page_mm]
        for points, count in zip(size, wanted, strict=True):
            assert 0.0005 < count * 72 / dpi - points < 0.0015
        assert raster(pdf, dpi)[0].shape == (wanted[1], wanted[0])


@pytest.mark.parametrize("name", NAMES)
def test_the_identifier_is_large_enough_to_read(name):
    """Where a symbol is scuffed beyond reading, a person types what stands beside it."""
    capitals = 1493 / 2048  # of DejaVu Sans Mono: sCapHeight in its OS/2 table
    for field in template(name).fields:
        if ("id",) in field.parts.values():
            assert field.style.least_pt * capitals * 25.4 / 72 >= LEAST_READ_MM - 0.1


def _photograph(label, dpi, blur_mm=0.0, turned=0.0, squeezed=1.0, glass_mm=None):
    """A picture of 16 pixels to the millimetre, as a camera near the label would take it."""
    grey = Image.fromarray(np.pad(label, 20, constant_values=255))
    scale = 16 * 25.4 / dpi
    size = (round(grey.width * scale), round(grey.height * scale * squeezed))
    picture = grey.resize(size, Image.Resampling.BOX)
    if glass_mm:
        picture = _wound(picture, glass_mm * 16)
    picture = picture.rotate(turned, expand=True, fillcolor=255, resample=Image.Resampling.BICUBIC)
    return np.array(picture.filter(ImageFilter.GaussianBlur(blur_mm * 16)))


def _wound(picture, diameter):
    """Seen on a cylinder whose axis runs along the text: distances across shrink towards the edges."""
    pixels, radius = np.array(picture), diameter / 2
    middle = pixels.shape[0] / 2
    seen = np.arange(-int(radius * 0.98), int(radius * 0.98))
    lines = np.round(middle + radius * np.arcsin(seen / radius)).astype(int)
    kept = lines[(lines >= 0) & (lines < pixels.shape[0])]
    return Image.fromarray(pixels[kept])


@pytest.mark.parametrize("name", VIALS)
@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize(
    "seen",
    [
        {"blur_mm": 0.1},
        {"turned": 17},
        {"turned": 90, "blur_mm": 0.05},
        {"turned": 203, "blur_mm": 0.05},
        {"squeezed": 0.87, "blur_mm": 0.05},
        {"glass_mm": 15, "blur_mm": 0.05},
        {"glass_mm": 12},
    ],
    ids=str,
)
def test_a_vial_reads_when_blurred_turned_tilted_or_wound(printed, read, name, dpi, seen):
    """The conditions of the trial that chose the symbol: 14 x 14 of 0.34 mm modules read in all of them."""
    [(label, page, _)] = printed(name, dpi)
    assert set(read(_photograph(page, dpi, **seen), "data-matrix")) == {label.code}


def test_blur_beyond_a_module_does_not_read(printed, read):
    """The pictures are blurred in earnest: at a module's width of blur nothing can be read."""
    [(_, page, _)] = printed("vial-roll-30x15", 203)
    assert read(_photograph(page, 203, blur_mm=0.4), "data-matrix") == []


LONG = {
    "Polish": "Zażółć gęślą jaźń, Szczebrzeszyńska Księżycowa Łąka Nadrzeczna",
    "Greek": "Ἀμβροσία τῶν Ὑπερβορείων, παλαιωμένη εἰς δρύινον βαρέλιον",
    "Vietnamese": "Rượu ủ thùng gỗ sồi lần thứ hai, kho phía bắc tầng ba Nguyễn",
    "one word": "Donaudampfschifffahrtsgesellschaftskapitänskajütenwhiskyfass",
    "symbols": "№ 7 → ½ ⚗ “Harbour” ≥ 60 % · 12 °C · ① ☂ Ω … and so on and on",
}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("text", LONG.values(), ids=LONG.keys())
def test_the_longest_names_spoil_no_symbol_and_stay_on_the_label(made, raster, read, crop, name, text):
    """In every field at once: too long is cut with an ellipsis, and the edge of the label stays bare."""
    shipped = template(name)
    fields = ("ref", "name", "house", "spirit", "wood", "who", "place", "note", "count")
    for kind in shipped.kinds:
        label = made(kind, **dict.fromkeys(fields, text), lot_mark="L" + "2601" * 9, strength="61.3 % vol " * 4)
        page = raster(labels_pdf([label], shipped, 203), 203)[0]
        whole = crop(page, shipped, 1, Box(0, 0, shipped.media.width_mm, shipped.media.height_mm), 203)
        for field in shipped.symbols:
            assert read(crop(page, shipped, 1, field.box, 203), field.kind) == [label.code]
        edge = [whole[:3], whole[-3:], whole[:, :3], whole[:, -3:]]
        assert min(strip.min() for strip in edge) == 255


@pytest.mark.parametrize("name", NAMES)
def test_a_reprint_is_seen_to_be_one_however_long_the_names(made, name):
    """The count of prints is never what gives way; it is text in the page, not a picture."""
    import pypdfium2

    shipped = template(name)
    texts = dict.fromkeys(("ref", "name", "house", "wood", "who", "place", "note", "count"), LONG["Polish"])
    for kind in shipped.kinds:
        pdf = labels_pdf([made(kind, **texts, print_mark="print 12")], shipped)
        assert "print 12" in pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_bounded()
