"""Decode rates of every symbol of every shipped template, printed and met as they should not be.

    PYTHONPATH=src:tests python tests/benchmarks/decode_rates.py [pictures] [of vials] > rates.md

Each symbol is taken from the page that would be printed, dot for dot, at 203, 300 and 600 dpi, with
an identifier of its own in every picture; `tests/photographs.py` says what is then done to it. The
same picture is read by zxing-cpp and, where the system has libdmtx or libzbar with pylibdmtx or
pyzbar, by those too; they are no part of pourbook. The table is Markdown: percent read as what the
label was made for; a picture that read as anything else counts as not read and is counted under the
table. Vials, on which most depends, have more pictures, and a row for each resolution.
"""

import sys
import warnings
from collections import Counter, defaultdict
from datetime import UTC, datetime
from typing import NamedTuple

import numpy as np
import zxingcpp
from photographs import CONDITIONS, PX_PER_MM, photograph, spoilt

from pourbook.codes.gs1 import GS
from pourbook.codes.identifiers import KINDS, hyphened, is_issued, write
from pourbook.labels import Label, labels_pdf
from pourbook.labels.label_drawing import module_dots
from pourbook.labels.label_sheets import frame_at, pages
from pourbook.labels.raster import pictures
from pourbook.labels.symbols import SYMBOL_KINDS, symbol
from pourbook.labels.templates import templates

LETTER_OF = {"pallet": "lot"}
OUTSIDE = {
    "gs1_bottle": "(01)09521234005674 (11)260301",
    "gs1_case": "(01)19521234005671 (11)260301",
    "gs1_lot": "(10)L26-118",
    "gs1_unit": "(00)095212340000000013",
    "gs1_content": "(02)09521234005674 (37)6",
    "link": "https://id.gs1.org/01/09521234005674/10/L26-118",
    "case_link": "https://id.gs1.org/01/19521234005671/10/L26-118",
}
"""What a lot of the fictional Quillmere shows outside, under a demonstration prefix of GS1's own examples."""

AS_PRINTED = "as printed"
DPIS = (203, 300, 600)
HIGHEST_MM = 11.0  # more than this does not fit the side of a 12 mm vial that is seen


class Sample(NamedTuple):
    """A symbol as it is printed: kind, what it must read as, its dots, module in dots and resolution."""

    kind: str
    sent: str
    dots: np.ndarray
    module: int
    dpi: int


def made(kind, number):
    """An invented label of a kind, with an identifier that could be issued."""
    own = LETTER_OF.get(kind, kind)
    assert own in KINDS
    while not is_issued(own, number):
        number += 1
    code = write(own, number)
    texts = {"ref": "Cask 1184", "name": "Harbour blend", "strength": "61.3 % vol", "date": "2025-11-04"}
    return Label(kind, code, hyphened(code), lot_mark="L26-118", **texts, **(OUTSIDE if own == "lot" else {}))


def samples(template, dpi, count, rng):
    """Each symbol of a template as often as asked: by its name, a list of samples."""
    kinds = [template.kinds[n % len(template.kinds)] for n in range(count)]
    labels = [made(kind, int(rng.integers(1, 900_000))) for kind in kinds]
    found = {}
    for picture, page in zip(pictures(labels_pdf(labels, template, dpi), dpi), pages(labels, template), strict=True):
        for place, label in page:
            frame = frame_at(template, place, dpi)
            for field in template.symbols:
                if label.kind in field.kinds:
                    sample = _sample(picture, field, label, frame)
                    found.setdefault((sample.kind, field.says, field.box.width_mm), []).append(sample)
    return found


def _sample(picture, field, label, frame):
    mark, box = symbol(*field.said(label)), frame.within(field.box)
    dots = np.asarray(picture)[box.top : box.top + box.height, box.left : box.left + box.width]
    return Sample(mark.kind, mark.sent, dots, module_dots(mark, box, field.least_module_mm), int(frame.dpi))


# -- decoders -----------------------------------------------------------------------------------


def zxing(picture, sample):
    """What zxing-cpp reads."""
    name = {"qr": "QRCode"}.get(sample.kind, "DataMatrix" if "matrix" in sample.kind else "Code128")
    wanted = getattr(zxingcpp.BarcodeFormat, name)
    found = zxingcpp.read_barcodes(picture, formats=wanted, text_mode=zxingcpp.TextMode.Plain)
    gs1 = sample.kind.startswith("gs1")
    return [(code.symbology_identifier if gs1 else "") + code.text for code in found]


def second_decoders():
    """Those that this machine has: name, kinds of symbol they read, and how."""
    found = []
    try:
        from pylibdmtx.pylibdmtx import decode

        def dmtx(picture, sample):
            codes = decode(picture, timeout=100, max_count=1)
            return [_as_sent(code.data.decode("latin-1"), sample.sent) for code in codes]

        found.append(("dmtx", ("data-matrix", "gs1-data-matrix"), dmtx))
    except (ImportError, OSError):
        print("pylibdmtx with libdmtx is not here: no second reader of Data Matrix", file=sys.stderr)
    try:
        from pyzbar.pyzbar import ZBarSymbol
        from pyzbar.pyzbar import decode as read

        def zbar(picture, sample):
            kind = ZBarSymbol.QRCODE if sample.kind == "qr" else ZBarSymbol.CODE128
            codes = read(picture, symbols=[kind])
            return [("]C1" if sample.kind.startswith("gs1") else "") + code.data.decode("latin-1") for code in codes]

        found.append(("zbar", ("qr", "code-128", "gs1-128"), zbar))
    except (ImportError, OSError):
        print("pyzbar with libzbar is not here: no second reader of QR and Code 128", file=sys.stderr)
    return found


def _as_sent(text, sent):
    """What libdmtx reads, with the prefix and the separators that it leaves out of GS1 symbols put back."""
    bare = sent.removeprefix("]d2").replace(GS, "")
    return sent if text == bare else text


# -- rates ---------------------------------------------------------------------------------------


def rate(found, condition, readers, rng, wrong):
    """Percent that read as what they were made for, reader by reader, of the same pictures."""
    good = dict.fromkeys(readers, 0)
    for sample in found:
        seen = met(sample, condition, rng)
        for name, read in readers.items():
            texts = set(read(seen, sample))
            good[name] += texts == {sample.sent}
            wrong[name]["pictures"] += 1
            wrong[name]["read as something else"] += bool(texts - {sample.sent})
    return " · ".join(f"{100 * count / len(found):.0f}" for count in good.values())


def met(sample, condition, rng):
    """A picture of a symbol in a condition; as printed, it has four pixels to a dot and is not spoilt at all."""
    if condition == AS_PRINTED:
        return np.kron(np.pad(sample.dots, 2 * sample.module, constant_values=255), np.ones((2, 2), dtype=np.uint8))
    return photograph(spoilt(condition, sample.dots, rng), sample.dpi, condition, rng)


def rows(template, count, dpis, decoders, rng, wrong):
    """The rows of a template: symbol, resolution, modules, readers, and a cell for each condition."""
    together = defaultdict(list)
    for dpi in dpis:
        for key, found in samples(template, dpi, count, rng).items():
            together[key] += found
    for (kind, says, _), found in together.items():
        readers = {name: read for name, kinds, read in decoders if kind in kinds}
        on_glass = "vial" in template.kinds and max(map(_high_mm, found)) <= HIGHEST_MM
        cells = [
            rate(found, condition, readers, rng, wrong) if on_glass or condition != "12 mm vial" else "–"
            for condition in (AS_PRINTED, *CONDITIONS)
        ]
        modules_mm = sorted(sample.module * 25.4 / sample.dpi for sample in found)
        what = kind if says == ("code",) else f"{kind} of {', '.join(says)}"
        span = "–".join(dict.fromkeys(f"{modules_mm[end]:.2f}" for end in (0, -1)))
        yield template.name, what, ", ".join(map(str, dpis)), span, " · ".join(readers), *cells


def _high_mm(sample):
    return sample.dots.shape[0] * 25.4 / sample.dpi


def main():
    """Print the table."""
    count, of_vials = [int(text) for text in sys.argv[1:3]] or [4, 100]
    rng = np.random.default_rng(118)
    decoders = [("zxing", SYMBOL_KINDS, zxing), *second_decoders()]
    wrong = {name: Counter() for name, *_ in decoders}
    print(
        f"# Decode rates\n\nMade by `decode_rates.py` on {datetime.now(UTC):%Y-%m-%d}. Simulated throughout, at"
        f" {PX_PER_MM} pixels to the millimetre: no printer, glass, glare or hand was used. {of_vials} pictures of each"
        f" symbol of a vial label at each resolution (a flag has two symbols), {count} at each of three of any other."
        " Percent read as what the label was made for, by each reader of the same pictures, without a second try.\n\n"
        "As printed is dot for dot; everything else is a photograph, clean ones a little noisy and askew."
        " Specks are of single dots. Bars need a steady hand: they are read along one straight line.\n"
    )
    print(f"| template | symbol | dpi | module mm | reader | {AS_PRINTED} | {' | '.join(CONDITIONS)} |")
    print(f"|---|---|---|---|---|{'---|' * (1 + len(CONDITIONS))}")
    for template in templates():
        vial = template.kinds == ("vial",)
        for dpis in [(dpi,) for dpi in DPIS] if vial else [DPIS]:
            for row in rows(template, of_vials if vial else count, dpis, decoders, rng, wrong):
                print(f"| {' | '.join(row)} |", flush=True)
    for name, counted in wrong.items():
        print(f"\n{name}: {counted['pictures']} pictures, {counted['read as something else']} read as something else.")


if __name__ == "__main__":
    warnings.simplefilter("ignore", DeprecationWarning)
    main()
