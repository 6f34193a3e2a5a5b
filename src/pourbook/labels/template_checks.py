"""What makes a well-formed template a good one: everything on the label, nothing on top of another.

Each check takes the template and tells what is wrong and where; none knows of files or lines.

>>> Place("field", 3, "box_mm")
Place(table='field', nth=3, key='box_mm')
"""

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

from pourbook.labels.fitting import least_height_pt
from pourbook.labels.label_layout import Box, Rule, SymbolField, Template, TextField
from pourbook.labels.media import PAGES_MM, Sheet
from pourbook.labels.symbols import GS1_KINDS, MODULES_MM
from pourbook.labels.template_form import Wrong

__all__ = ["Place", "checks"]

_MM_PER_PT = 25.4 / 72
_HAIR_MM = 0.01
_BARS = ("code-128", "gs1-128")
_LONGEST_MM = 165.1  # of a GS1-128 with its quiet zones (GS1 General Specifications 5.4.4.3)
_NOT_GS1 = (("code",), ("link",), ("case_link",))
_LEAST_OF_LINKS_MM = 0.396  # of a QR Code with a GS1 Digital Link (GS1 General Specifications 5.12.3.1, quoted)


class Place(NamedTuple):
    """The nth table of a name (0 for the only one, empty for the top) and a key; empty for the whole table."""

    table: str = ""
    nth: int = 0
    key: str = ""


_Thing = tuple[Place, SymbolField | TextField | Rule]
"""Where it is said, and what stands on the label."""


def checks(template: Template, file: str) -> Iterator[tuple[Place, Wrong]]:
    """All that is wrong with a template read from a file of a name."""
    if f"{template.name}.toml" != file:
        yield Place(key="name"), Wrong(template.name, "is not the name of the file", "give both the same name")
    if isinstance(template.media, Sheet):
        yield from _sheet(template.media)
    things: list[_Thing] = [
        *((Place("symbol", nth), symbol) for nth, symbol in enumerate(template.symbols, 1)),
        *((Place("field", nth), text) for nth, text in enumerate(template.fields, 1)),
        *((Place("rule", nth), rule) for nth, rule in enumerate(template.rules, 1)),
    ]
    for place, thing in things:
        yield from _edges(place, thing.box, template)
        yield from _strange_kinds(place, thing.kinds, template)
    yield from _overlaps(things)
    for nth, text in enumerate(template.fields, 1):
        yield from _sizes(text, nth)
    yield from _identifiers(template)
    for nth, symbol in enumerate(template.symbols, 1):
        yield from _round_glass(symbol, nth)
        yield from _outside(symbol, nth, template)


def _sheet(sheet: Sheet) -> Iterator[tuple[Place, Wrong]]:
    right, foot = sheet.corner_mm(sheet.places)
    page_wide, page_high = PAGES_MM[sheet.page]
    axes = (
        ("pitch_x_mm", sheet.width_mm, sheet.pitch_x_mm, right + sheet.width_mm, page_wide, "wide"),
        ("pitch_y_mm", sheet.height_mm, sheet.pitch_y_mm, foot + sheet.height_mm, page_high, "high"),
    )
    for key, size, pitch, end, page, word in axes:
        if pitch < size - _HAIR_MM:
            problem = f"is less than a label is {word}"
            yield Place("media", key=key), Wrong(pitch, problem, f"give at least {size:g}")
        if end > page + _HAIR_MM:
            problem = f"puts the end of the labels at {end:g} mm of a page {page:g} mm {word}"
            yield Place("media", key=key), Wrong(pitch, problem, "check size, margin and pitch")


def _edges(place: Place, box: Box, template: Template) -> Iterator[tuple[Place, Wrong]]:
    media = template.media
    beyond_right = box.x_mm + box.width_mm - media.width_mm
    beyond_foot = box.y_mm + box.height_mm - media.height_mm
    for beyond, side in ((beyond_right, "right"), (beyond_foot, "lower")):
        if beyond > _HAIR_MM:
            problem = f"reaches {beyond:.2f} mm beyond the {side} edge of the label"
            yield place._replace(key="box_mm"), Wrong(_shown(box), problem, "make it smaller or move it")


def _shown(box: Box) -> str:
    return f"[{', '.join(f'{side:g}' for side in box)}]"


def _strange_kinds(place: Place, kinds: tuple[str, ...], template: Template) -> Iterator[tuple[Place, Wrong]]:
    for kind in kinds:
        if kind not in template.kinds:
            wrong = Wrong(
                kind, "is not a kind that this template serves", "add it to the kinds at the top, or remove it here"
            )
            yield place._replace(key="kinds"), wrong


def _overlaps(things: list[_Thing]) -> Iterator[tuple[Place, Wrong]]:
    for (place, one), (elsewhere, other) in combinations(things, 2):
        if one.box.overlaps(other.box) and set(one.kinds) & set(other.kinds):
            problem = f"overlaps {elsewhere.table} {elsewhere.nth}, {_shown(other.box)}"
            remedy = "move one, or give them different kinds"
            yield place._replace(key="box_mm"), Wrong(_shown(one.box), problem, remedy)


def _sizes(text: TextField, nth: int) -> Iterator[tuple[Place, Wrong]]:
    style = text.style
    if style.least_pt > style.size_pt:
        wrong = Wrong(style.least_pt, "is more than size_pt", "give a smaller one")
        yield Place("field", nth, "least_size_pt"), wrong
    room = text.box.height_mm if text.turn in (0, 180) else text.box.width_mm
    needed = least_height_pt(style) * _MM_PER_PT
    if needed > room + _HAIR_MM:
        problem = f"is too low for a line of {style.least_pt:g} pt"
        wrong = Wrong(_shown(text.box), problem, f"give at least {needed:.2f} mm")
        yield Place("field", nth, "box_mm"), wrong


def _identifiers(template: Template) -> Iterator[tuple[Place, Wrong]]:
    """A label that cannot be scanned can be read: each kind has a symbol, and its identifier in letters."""
    for kind in template.kinds:
        if not any(kind in symbol.kinds for symbol in template.symbols):
            yield Place(key="kinds"), Wrong(kind, "has no symbol", f"add a [[symbol]] for {kind}")
        if not any(kind in text.kinds and ("id",) in text.parts.values() for text in template.fields):
            remedy = f'add a [[field]] for {kind} with text = "{{id}}"'
            yield Place(key="kinds"), Wrong(kind, "has no readable identifier", remedy)


def _round_glass(symbol: SymbolField, nth: int) -> Iterator[tuple[Place, Wrong]]:
    """Bars need a flat label: wound round a vial of 12 mm none of 24 pictures was read (own trial)."""
    if symbol.kind in _BARS and "vial" in symbol.kinds:
        remedy = "use data-matrix for vials, or leave vial out of the kinds"
        yield Place("symbol", nth, "kind"), Wrong(symbol.kind, "cannot be read round a vial", remedy)


def _outside(symbol: SymbolField, nth: int, template: Template) -> Iterator[tuple[Place, Wrong]]:
    """What leaves the house: the right symbol, of a size that the standard allows, with its text to read."""
    gs1 = symbol.kind in GS1_KINDS
    fits = all(name.startswith("gs1_") for name in symbol.says) if gs1 else symbol.says in _NOT_GS1
    if not fits or (symbol.says != ("code",) and symbol.kind not in (*GS1_KINDS, "qr")):
        wanted = (
            "gs1_bottle, gs1_case, gs1_lot, gs1_unit or gs1_content" if gs1 else "code; a qr may say link or case_link"
        )
        yield Place("symbol", nth, "says"), Wrong(", ".join(symbol.says), "does not suit this kind", f"use {wanted}")
        return
    least = MODULES_MM[symbol.kind][0] if gs1 else _LEAST_OF_LINKS_MM if symbol.says != ("code",) else 0.0
    if symbol.least_module_mm < least:
        wrong = Wrong(symbol.least_module_mm, "is less than the standard allows", f"give at least {least:g}")
        yield Place("symbol", nth, "least_module_mm"), wrong
    if symbol.kind == "gs1-128" and symbol.box.width_mm > _LONGEST_MM:
        problem = f"is longer than a GS1-128 may be with its quiet zones, {_LONGEST_MM:g} mm"
        yield Place("symbol", nth, "box_mm"), Wrong(_shown(symbol.box), problem, "make it narrower, or use two")
    for name in symbol.says if gs1 else ():
        if not _readable(name, symbol.kinds, template):
            remedy = f'add a [[field]] with text = "{{{name}}}"'
            yield Place("symbol", nth, "says"), Wrong(name, "is not shown as text on the label", remedy)


def _readable(name: str, kinds: tuple[str, ...], template: Template) -> bool:
    shown = {kind for text in template.fields if (name,) in text.parts.values() for kind in text.kinds}
    return shown.issuperset(kinds)
