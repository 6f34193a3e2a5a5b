"""Text to the modules of a machine-readable symbol: Data Matrix, QR Code, Code 128, and their GS1 forms.

A symbol is only its pattern of dark and light modules and the light margin it needs (the
quiet zone). How large a module is, and in what it is drawn, is decided elsewhere.

>>> mark = symbol("data-matrix", "C000123X")
>>> mark.columns, len(mark.rows), mark.quiet, mark.rows[0]
(14, 14, 1, '10101010101010')
>>> symbol("code-128", "C000123X").columns
112
>>> symbol("gs1-128", "(00)095212340000000013").columns  # FNC1 and ten pairs of digits
156
"""

from collections.abc import Iterator
from functools import lru_cache
from typing import Any, NamedTuple

from pourbook.codes.gs1 import Element, element_string, interpretation, read_bracketed
from pourbook.errors import Malformed

__all__ = ["GS1_KINDS", "MODULES_MM", "SYMBOL_KINDS", "Corner", "Symbol", "outlines", "symbol"]

GS1_KINDS = ("gs1-128", "gs1-data-matrix")
"""Symbols that carry an element string; their text is written with the identifiers in brackets."""

SYMBOL_KINDS = ("data-matrix", "qr", "code-128", *GS1_KINDS)

MODULES_MM = {"gs1-128": (0.495, 1.016), "gs1-data-matrix": (0.254, 1.5)}
"""The smallest and the largest module of what leaves the house.

GS1-128 in general distribution, and the least of GS1 DataMatrix, are those of the GS1 General
Specifications, quoted at second hand. That of GS1 DataMatrix in general
distribution is 1.5 times that of the bars (0.743 mm; the rule read on one page of an older issue); its upper
limit was not checked against the standard.
"""

_MOST_CHARACTERS = 48  # of a GS1-128, identifiers and separators included (GS1 General Specifications 5.4.4.3)

_PREFIXES = {"gs1-128": "]C1", "gs1-data-matrix": "]d2"}  # ISO/IEC 15424
_SMALLEST_DATA_MATRIX = 14
_VERSION_OF_SMALLEST = 3
_INK = bytes.maketrans(b"\x00\xff", b"10")


class Symbol(NamedTuple):
    """The pattern of a symbol of a kind that says a text, without its quiet zone.

    Rows run from top to bottom, a '1' for each dark module; a linear symbol has one row of free height. `quiet` is the
    width of the quiet zone in modules, left and right only for a linear symbol.
    """

    kind: str
    text: str
    rows: tuple[str, ...]
    quiet: int
    linear: bool

    @property
    def sent(self) -> str:
        """What a scanner sends for it: of GS1 symbols the prefix and the element string, else the text."""
        if self.kind not in GS1_KINDS:
            return self.text
        return _PREFIXES[self.kind] + element_string(read_bracketed(self.text))

    @property
    def columns(self) -> int:
        """Modules across, quiet zone not counted."""
        return len(self.rows[0])

    @property
    def width_modules(self) -> int:
        """Modules across with the quiet zone on both sides."""
        return self.columns + 2 * self.quiet

    @property
    def height_modules(self) -> int:
        """Modules from top to bottom with the quiet zone; 0 for bars, whose height is free."""
        return 0 if self.linear else len(self.rows) + 2 * self.quiet


class Corner(NamedTuple):
    """A corner of the outline of the dark modules, in modules from the top left.

    `inward_x` is 1 when the dark side lies to the right, `inward_y` when it lies below; else -1.
    """

    x: int
    y: int
    inward_x: int
    inward_y: int


@lru_cache(maxsize=128)
def symbol(kind: str, text: str) -> Symbol:
    """The symbol that says `text`.

    Quiet zones: Data Matrix 1 module (ISO/IEC 16022), QR 4 (ISO/IEC 18004), Code 128 10 on
    either side (ISO/IEC 15417; GS1 General Specifications 5.4.4.2).

    Raises:
        Malformed: an unknown kind, or text that is empty or not printable ASCII; for a GS1 symbol,
            text that is not of its form, or too long.
        Mistyped: a check digit in a GS1 text does not agree.
    """
    if not (text and text.isascii() and text.isprintable()):
        raise Malformed(f"'{text}' cannot be encoded in a symbol", "use letters, digits and hyphens")
    if kind == "data-matrix":
        return Symbol(kind, text, _data_matrix(text), 1, linear=False)
    if kind == "qr":
        return Symbol(kind, text, _qr(text), 4, linear=False)
    if kind == "code-128":
        from barcode import Code128  # here and not above: keeps start-up light

        return Symbol(kind, text, (str(Code128(text).build()[0]),), 10, linear=True)
    if kind in GS1_KINDS:
        return _gs1(kind, read_bracketed(text))
    raise Malformed(f"'{kind}' is not a kind of symbol", f"use one of: {', '.join(SYMBOL_KINDS)}")


def _data_matrix(text: str, *, gs1: bool = False) -> tuple[str, ...]:
    """Square, since few readers know the long forms; 14 x 14 or more, since 12 x 12 is misread.

    In a trial of 240 clean pictures of 12 x 12 symbols one common reader gave wrong text for five.
    """
    rows = _modules("DataMatrix", text, force_square=True, gs1=gs1)
    if len(rows) >= _SMALLEST_DATA_MATRIX:
        return rows
    return _modules("DataMatrix", text, force_square=True, gs1=gs1, version=_VERSION_OF_SMALLEST)


def _modules(symbology: str, text: str, **how: int) -> tuple[str, ...]:
    import zxingcpp  # here and not above: keeps start-up light

    made = zxingcpp.create_barcode(text, getattr(zxingcpp.BarcodeFormat, symbology), **how)
    image: Any = made.to_image(scale=1, add_quiet_zones=False)
    pixels = memoryview(image)
    width = pixels.shape[1] if pixels.shape else 0
    inked = pixels.tobytes().translate(_INK).decode()
    return tuple(inked[start : start + width] for start in range(0, len(inked), width))


def _gs1(kind: str, elements: tuple[Element, ...]) -> Symbol:
    """FNC1 first, and wherever a separator is needed."""
    text = interpretation(elements).replace(" ", "")
    if kind == "gs1-data-matrix":
        return Symbol(kind, text, _data_matrix(text, gs1=True), 1, linear=False)
    length = len(element_string(elements))
    if length > _MOST_CHARACTERS:
        raise Malformed(
            f"'{text}' has {length} characters; a GS1-128 holds at most {_MOST_CHARACTERS}",
            "use two symbols, or a GS1 DataMatrix",
        )
    return Symbol(kind, text, _modules("Code128", text, gs1=True)[:1], 10, linear=True)


def _qr(text: str) -> tuple[str, ...]:
    """The smallest version that holds the text at level M, at the highest level that still fits it."""
    import qrcode  # here and not above: keeps start-up light
    from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_M, ERROR_CORRECT_Q

    def fitted(level: int) -> qrcode.QRCode[Any]:
        code: qrcode.QRCode[Any] = qrcode.QRCode(error_correction=level, border=0)
        code.add_data(text)
        code.best_fit(start=1)
        return code

    codes = [fitted(level) for level in (ERROR_CORRECT_H, ERROR_CORRECT_Q, ERROR_CORRECT_M)]
    best = next(code for code in codes if code.version == codes[-1].version)
    best.make(fit=False)
    return tuple("".join("1" if module else "0" for module in row) for row in best.modules)


@lru_cache(maxsize=32)
def outlines(rows: tuple[str, ...]) -> tuple[tuple[Corner, ...], ...]:
    """The outlines of all dark areas, holes included, as closed polygons.

    Every edge runs with the dark side on its right. Areas that touch only at a corner stay
    apart. Filled as one path, either fill rule gives the modules back.

    >>> outlines(("1",))
    ((Corner(x=1, y=0, inward_x=-1, inward_y=1), Corner(x=1, y=1, inward_x=-1, inward_y=-1), \
Corner(x=0, y=1, inward_x=1, inward_y=-1), Corner(x=0, y=0, inward_x=1, inward_y=1)),)
    """
    onward: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for x, y, dx, dy in _edges(rows):
        onward.setdefault((x, y), []).append((dx, dy))
    polygons = []
    while onward:
        start = next(iter(onward))
        polygons.append(tuple(_walk(start, onward)))
    return tuple(polygons)


def _edges(rows: tuple[str, ...]) -> Iterator[tuple[int, int, int, int]]:
    """Unit edges between dark and light: where each starts and which way it runs."""
    light = "0" * (len(rows[0]) + 2)
    padded = [light, *(f"0{row}0" for row in rows), light]
    for y, row in enumerate(rows):
        above, here, below = padded[y], padded[y + 1], padded[y + 2]
        for x, module in enumerate(row):
            if module == "1":
                if above[x + 1] == "0":
                    yield x, y, 1, 0
                if here[x + 2] == "0":
                    yield x + 1, y, 0, 1
                if below[x + 1] == "0":
                    yield x + 1, y + 1, -1, 0
                if here[x] == "0":
                    yield x, y + 1, 0, -1


def _walk(start: tuple[int, int], onward: dict[tuple[int, int], list[tuple[int, int]]]) -> Iterator[Corner]:
    """Follow edges round one area, using them up, until the first edge closes the ring."""
    x, y = start
    first = dx, dy = onward[start][0]
    while True:
        x, y = x + dx, y + dy
        tx, ty = _leave((x, y), (dx, dy), onward)
        if (tx, ty) != (dx, dy):
            yield Corner(x, y, -dy - ty, dx + tx)
        if (x, y) == start and (tx, ty) == first:
            return
        dx, dy = tx, ty


def _leave(
    point: tuple[int, int], came: tuple[int, int], onward: dict[tuple[int, int], list[tuple[int, int]]]
) -> tuple[int, int]:
    """Take the edge that keeps closest to the dark side: to the right where two areas touch."""
    right = (-came[1], came[0])
    ways = onward[point]
    taken = right if right in ways else ways[0]
    ways.remove(taken)
    if not ways:
        del onward[point]
    return taken
