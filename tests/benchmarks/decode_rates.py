"""Decode rates of every symbol of every shipped template, printed and met as they should not be.

    PYTHONPATH=src:tests python tests/benchmarks/decode_rates.py [pictures] [words of template names]

Each symbol is taken from the page that would be printed, dot for dot, at 203, 300 and 600 dpi, with
an identifier of its own in every picture; `tests/photographs.py` says what is then done to it. It is
read by zxing-cpp and, where the system has libdmtx or libzbar with pylibdmtx or pyzbar, by those too;
they are no part of pourbook. The table is Markdown: percent read as what the label was made for; a
picture that read as anything else counts as not read and is counted under the table.
"""

import sys
import warnings
from collections import Counter
from typing import NamedTuple

import numpy as np
import zxingcpp
from photographs import CONDITIONS, PX_PER_MM, photograph, spoilt

from pourbook.gs1 import GS
from pourbook.identifiers import KINDS, hyphened, is_issued, write
from pourbook.labels import Label, labels_pdf
from pourbook.labels.drawing import module_dots
from pourbook.labels.raster import pictures
from pourbook.labels.sheets import frame_at, pages
from pourbook.labels.symbols import symbol
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


def rate(kind_samples, condition, read, rng, wrong):
    """Percent that read as what they were made for; None where the condition makes no sense."""
    high_mm = kind_samples[0].dots.shape[0] * 25.4 / kind_samples[0].dpi
    if condition == "12 mm vial" and high_mm > HIGHEST_MM:
        return None
    good = 0
    for sample in kind_samples:
        seen = photograph(spoilt(condition, sample.dots, rng), sample.dpi, condition, rng)
        found = set(read(seen, sample))
        good += found == {sample.sent}
        wrong["pictures"] += 1
        wrong["read as something else"] += bool(found - {sample.sent})
    return 100 * good / len(kind_samples)


def main():
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 24
    words = sys.argv[2:]
    rng = np.random.default_rng(118)
    decoders = [("zxing", None, zxing), *second_decoders()]
    wrong = {name: Counter() for name, *_ in decoders}
    print(f"{count} pictures a cell, {PX_PER_MM} pixels to the millimetre; simulated throughout.\n")
    print(f"| template | symbol | dpi | module mm | reader | {' | '.join(CONDITIONS)} |")
    print(f"|---|---|---|---|---|{'---|' * len(CONDITIONS)}")
    for template in templates():
        if words and not any(word in template.name for word in words):
            continue
        for dpi in (203, 300, 600):
            for (kind, says, _), found in samples(template, dpi, count, rng).items():
                of = kind if says == ("code",) else f"{kind} of {'+'.join(says)}"
                module_mm = f"{found[0].module * 25.4 / dpi:.2f}"
                for name, kinds, read in decoders:
                    if kinds is None or kind in kinds:
                        rates = [rate(found, condition, read, rng, wrong[name]) for condition in CONDITIONS]
                        cells = " | ".join("–" if one is None else f"{one:.0f}" for one in rates)
                        print(f"| {template.name} | {of} | {dpi} | {module_mm} | {name} | {cells} |", flush=True)
    for name, counted in ((name, counted) for name, counted in wrong.items() if counted):
        print(f"\n{name}: {counted['pictures']} pictures, {counted['read as something else']} read as something else.")


if __name__ == "__main__":
    warnings.simplefilter("ignore", DeprecationWarning)
    main()
