r"""Labels in the language of thermal printers, ZPL: dot for dot the page that was read back.

A label goes as a picture, since a printer's own typefaces lack half of Europe's letters. Plain lines
can go as text, for the printer's crisper letters; symbols never do. Text is escaped, so it stays text.

>>> escaped("Row_3 ^XA~JA é")
'Row_5F3 _5EXA_7EJA _C3_A9'
>>> repeated("00000000FF")
'N0HF'
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from pourbook.errors import Refused
from pourbook.labels.label import Label
from pourbook.labels.label_drawing import Frame, fitted_text, set_lines
from pourbook.labels.label_layout import Template, TextField
from pourbook.labels.label_sheets import Printout
from pourbook.labels.media import Roll
from pourbook.labels.raster import pictures

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["OwnText", "check_roll", "escaped", "label_jobs", "own_texts", "repeated", "zpl"]

_MOST_BYTES = 99_999  # of one graphic field, in older printers
_LEAST_DOTS = 10  # of a character of a scalable font
_ALIGN = {"left": "L", "centre": "C", "right": "R"}
_PT_PER_MM = 72 / 25.4


class OwnText(NamedTuple):
    """A line of text that the printer sets in its own scalable typeface, all in dots.

    `left`, `width` and `align` are of its room, `base` its base line from the top, `height` that of a character; no
    character is wider than `across`, so the line cannot leave its room.
    """

    text: str
    left: int
    base: int
    width: int
    height: int
    across: int
    align: str


def check_roll(template: Template) -> None:
    """Refuse a sheet template."""
    if not isinstance(template.media, Roll):
        raise Refused(
            f"'{template.name}' is a sheet template; a thermal printer prints rolls",
            "use a roll template: pourbook templates",
        )


def label_jobs(pdf: bytes, printout: Printout, *, own_text: bool = False) -> Iterator[bytes]:
    """Each label as a thermal printer is sent it, from a PDF with a page for each.

    Raises:
        Refused: the template is of a sheet.
    """
    template = printout.template
    check_roll(template)
    for picture, [(_, frame, label)] in zip(pictures(pdf, printout.calibration.dpi), printout.placed(), strict=True):
        if own_text:
            texts, left = own_texts(label, template, frame)
            bare = printout._replace(labels=[label], template=replace(template, fields=left))
            yield zpl(_without(picture, label, bare, frame), texts)
        else:
            yield zpl(picture)


def _without(read: "Image", label: Label, bare: Printout, frame: Frame) -> "Image":
    """The label without the texts that the printer sets, and with the very symbols that were read back."""
    picture = next(pictures(bare.pdf(), frame.dpi))
    for field in bare.template.symbols_on(label):
        box = frame.within(field.box)
        corner = box.left, box.top
        picture.paste(read.crop((*corner, box.left + box.width, box.top + box.height)), corner)
    return picture


def zpl(picture: "Image", texts: Sequence[OwnText] = ()) -> bytes:
    """One label: its picture, and texts over it."""
    commands = (
        "^XA^CI28^LH0,0^FWN",
        f"^PW{picture.width}^LL{picture.height}",
        *_graphics(picture),
        *map(_own, texts),
        "^PQ1^XZ",
    )
    return ("\n".join(commands) + "\n").encode("ascii")


def escaped(text: str) -> str:
    """Text as field data behind `^FH_` and `^CI28`: every byte that is not plain as its two digits."""
    return "".join(
        chr(byte) if 0x20 <= byte < 0x7F and byte not in b"^~_" else f"_{byte:02X}" for byte in text.encode("utf-8")
    )


def own_texts(label: Label, template: Template, frame: Frame) -> tuple[list[OwnText], tuple[TextField, ...]]:
    """The lines a printer may set (upright, black, of letters it surely has), and the fields left to the picture."""
    texts: list[OwnText] = []
    left: list[TextField] = []
    for field, said in template.texts_on(label):
        lines = _own_lines(said, field, label, template, frame)
        texts += lines
        if not lines:
            left.append(field)
    return texts, tuple(left)


def _own_lines(said: list[str], field: TextField, label: Label, template: Template, frame: Frame) -> list[OwnText]:
    fitted = fitted_text(said, field, label, template)
    box = frame.within(field.box)
    per_pt = frame.dpi / 72
    height = round(fitted.size_pt * per_pt)
    across = min(height, *(box.width // len(line) for line in fitted.lines))
    if field.turn or field.reverse or across < _LEAST_DOTS or not all(map(_is_plain, fitted.lines)):
        return []
    room = field.box.width_mm * _PT_PER_MM, field.box.height_mm * _PT_PER_MM
    return [
        OwnText(line, box.left, box.top + round(y * per_pt), box.width, height, across, field.align)
        for _, y, line in set_lines(field, fitted, room)
    ]


def _is_plain(line: str) -> bool:
    """Letters of western Europe; a backslash means something else in a field block."""
    return all(" " <= c <= "~" or "\u00a1" <= c <= "\u00ff" for c in line) and "\\" not in line


def _own(text: OwnText) -> str:
    place = f"^FT{text.left},{text.base}^A0N,{text.height},{text.across}"
    return f"{place}^FB{text.width},1,0,{_ALIGN[text.align]}^FH_^FD{escaped(text.text)}^FS"


# -- pictures ----------------------------------------------------------------------------


def _graphics(picture: "Image") -> Iterator[str]:
    """The picture as graphic fields of whole rows, each small enough for an older printer."""
    across = (picture.width + 7) // 8
    packed = picture.point([1] * 128 + [0] * 128, "1").tobytes()
    rows = [packed[start : start + across] for start in range(0, len(packed), across)]
    band = max(1, _MOST_BYTES // across)
    for top in range(0, len(rows), band):
        size = across * len(rows[top : top + band])
        yield f"^FO0,{top}^GFA,{size},{size},{across},{''.join(_compressed(rows[top : top + band]))}^FS"


def _compressed(rows: Sequence[bytes]) -> Iterator[str]:
    """Rows in hexadecimal: a comma fills a row with white, an exclamation mark with black, a colon repeats it."""
    before = b""
    for row in rows:
        digits = row.hex().upper()
        white, black = len(row.rstrip(b"\x00")), len(row.rstrip(b"\xff"))
        if row == before:
            yield ":"
        elif white < len(row):
            yield f"{repeated(digits[: 2 * white])},"
        elif black < len(row):
            yield f"{repeated(digits[: 2 * black])}!"
        else:
            yield repeated(digits)
        before = row


def repeated(digits: str) -> str:
    """Digits with a count before each that is repeated: G to Y for 1 to 19, g to z for 20 to 400 by twenties."""
    return "".join(_count(len(list(run))) + digit for digit, run in groupby(digits))


def _count(times: int) -> str:
    if times == 1:
        return ""
    most, rest = divmod(times, 400)
    twenties, ones = divmod(rest, 20)
    letters = "z" * most
    letters += chr(ord("f") + twenties) if twenties else ""
    return letters + (chr(ord("F") + ones) if ones else "")
