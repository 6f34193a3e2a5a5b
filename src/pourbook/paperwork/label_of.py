"""What stands on the label of an item, as the book knows it.

A label is read for years, so it says what stays true: a cask shows what it was filled with and when
("filled at"), anything else the latest strength in the book.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> _ = book.record(Draft(Item(cask, {"ref": "Row 3/12", "capacity_l": "200"}), 0, "M. Aldane"))
>>> label = label_of(book, cask)
>>> label.id, label.ref, label.volume, label.strength
('C-000001-H', 'Row 3/12', '200 L', '')
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.book.contents import LINES
from pourbook.book.items import ItemView
from pourbook.book.journal import entry_of, line_of
from pourbook.book.names import is_reserved
from pourbook.book.trade_numbers import place_in_packing
from pourbook.codes.digital_link import item_address
from pourbook.codes.identifiers import LIQUID_KINDS, hyphened, key_of, kind_of, read
from pourbook.codes.lot_marks import printed
from pourbook.errors import Malformed, Refused
from pourbook.house_style import HouseStyle
from pourbook.labels.label import CAUTION, Label
from pourbook.numerals import read_decimal
from pourbook.paperwork.naming import person
from pourbook.paperwork.outside_marks import lot_texts, unit_texts
from pourbook.quantities import shown_volume
from pourbook.queries.casks.choosing import held_before
from pourbook.queries.items.called import casks_behind
from pourbook.queries.labels.label_strength import Contents, contents_of, strength_on_label
from pourbook.times import day_shown

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store
    from pourbook.book.trade_numbers import Unit

__all__ = ["label_of", "unit_label_of"]


def label_of(book: "BookCore", identifier: str, print_mark: str = "") -> Label:
    """The label of an item, or of a number reserved for one; `print_mark` says which print it is, from the second on.

    Raises:
        Unknown: nothing in the book, and no reserved number, has that name.
        Mistyped: an identifier whose check character does not agree.
        Ambiguous: several items go by that name.
    """
    style = HouseStyle(book.settings)
    code, said = read(identifier), {}
    if code is None or not is_reserved(book.store, key_of(code)):
        view = book.show(identifier)
        code, said = view.id, _said(book.store, view, style)
    caution = CAUTION if kind_of(code) in LIQUID_KINDS else ""
    station = style.settings["station_address"]
    address = item_address(station, code) if station else ""
    whose = {"house": style.settings["house"], "print_mark": print_mark, "caution": caution, "address": address}
    return Label(kind_of(code), code, hyphened(code), **whose, **said)


def unit_label_of(book: "BookCore", unit: "Unit", print_mark: str = "") -> Label:
    """The label of a case or pallet; `print_mark` as in `label_of`.

    >>> from pourbook import Book, Draft, Item, Packed
    >>> from pourbook.book.trade_numbers import next_ssccs, unit_of
    >>> book = Book.create(":memory:", house="Quillmere", company_prefix="9521234")
    >>> lot, (sscc,) = book.next_id("lot"), next_ssccs(book.store, "9521234", 1)
    >>> entries = Item(lot, {"lot_mark": "26-1", "gtin": "9521234005674"}), Packed(lot, "case", (sscc,), "9521234", 6)
    >>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
    >>> label = unit_label_of(book, unit_of(book.store, sscc))
    >>> label.id, label.gs1_unit, label.gs1_content, label.gs1_lot
    ('L-000001-C', '(00)095212340000000013', '(02)09521234005674 (37)6', '(10)L26-1')

    Raises:
        Refused: its packing was voided.
    """
    if unit.gone:
        raise Refused(f"entry {unit.gone} voided the packing of {unit.sscc}", "pack it again")
    label = label_of(book, unit.lot, print_mark)
    number = "{} of {}".format(*place_in_packing(book.store, unit.sscc))
    return replace(label, **unit_texts(unit, label), number=number)


# -- what an item is -------------------------------------------------------------------


def _said(store: "Store", view: ItemView, style: HouseStyle) -> dict[str, str]:
    """The fields of the label that the item has something for."""
    known = view.facts
    said = {name: known.get(name, "") for name in ("ref", "name", "spirit", "wood", "place", "note", "lot_mark")}
    contents = contents_of(store, view)
    said["strength"] = strength_on_label(store, view, style)
    if contents:
        said |= _of_contents(store, view, contents, style)
    if view.kind in ("cask", "place"):
        said["volume"] = _capacity(known.get("capacity_l", ""), style)
    if view.kind == "cask":
        said["previous"] = _held_before(store, view)
    elif view.kind == "instrument":
        said |= _of_instrument(known)
    elif view.kind == "person" and not said["name"]:
        said |= {"name": said["ref"], "ref": ""}
    elif view.kind == "vial":
        said |= _of_source(store, view, said)
    elif view.kind == "lot":
        said |= _of_bottles(known, style) | {"lot_mark": printed(said["lot_mark"])}
        said |= lot_texts(known, style.settings["resolver"], said.get("date", ""))
    return said


def _held_before(store: "Store", view: ItemView) -> str:
    """What a cask held before, the latest first: whoever fills it looks for that, and a label may cut the rest."""
    *earlier, latest = held_before(store, view) or ("",)
    return f"{latest}; earlier: {'; '.join(reversed(earlier))}" if earlier else latest


def _of_contents(store: "Store", view: ItemView, contents: Contents, style: HouseStyle) -> dict[str, str]:
    number, index = divmod(contents.line, LINES)
    entry = entry_of(store, number).entry
    line = line_of(entry["body"], index)
    who = person(store, entry["who"])
    return {
        "date": day_shown(contents.filled_us, style.zone),
        "who": who.name or who.id,
        "spirit": view.facts.get("spirit") or str(line.get("facts", {}).get("spirit", "")),
        "volume": _volume(volume_ml(contents.latest if view.kind == "batch" else contents.filled), style),
    }


def _of_source(store: "Store", view: ItemView, said: Mapping[str, str]) -> dict[str, str]:
    """A vial says which casks it comes from."""
    casks = casks_behind(store, view.id)
    if not casks.called:
        return {}
    wood = said["wood"] or casks.wood
    if not said["ref"]:
        return {"ref": casks.called, "wood": wood, "name": said["name"] or wood}
    return {"wood": wood, "name": ", ".join(filter(None, (casks.called, said["name"] or wood)))}


def _of_instrument(known: Mapping[str, str]) -> dict[str, str]:
    """What it is and in which unit it reads, when its next check is due, and the number of the last."""
    what = ", ".join(filter(None, (known.get("instrument"), known.get("unit"))))
    return {
        "name": known.get("name") or what,
        "date": known.get("due", ""),
        "note": known.get("note") or known.get("certificate", ""),
    }


def _of_bottles(known: Mapping[str, str], style: HouseStyle) -> dict[str, str]:
    """Bottles and what each holds, instead of the litres of all of them."""
    if not known.get("size_ml") or not known.get("bottles"):
        return {}
    return {"count": f"{known['bottles']} × {style.shown(read_decimal(known['size_ml']), 0)} mL", "volume": ""}


# -- figures ---------------------------------------------------------------------------


def _capacity(litres: str, style: HouseStyle) -> str:
    if not litres:
        return ""
    try:
        return _volume(float(read_decimal(litres, "." if "." in litres else ",")) * 1000.0, style)
    except Malformed:  # a word such as "butt": what the house wrote stands
        return litres


def _volume(volume_ml_20c: float, style: HouseStyle) -> str:
    unit = style.settings["volume_unit"]
    if unit.endswith("gal") and volume_ml_20c >= 1000:
        return shown_volume(volume_ml_20c, unit, 1, style.mark)
    if volume_ml_20c < 1000:
        return f"{style.shown(volume_ml_20c, 0)} mL"
    return f"{style.shown(volume_ml_20c / 1000, 1).removesuffix(f'{style.mark}0')} L"
