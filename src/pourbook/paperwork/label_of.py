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

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import liquid_of_volume, proof_60f, strength_20c, volume_ml
from pourbook.book.contents import LINES
from pourbook.book.fold import own_state
from pourbook.book.items import ItemView, LedgerRow, ledger
from pourbook.book.journal import entry_of, line_of
from pourbook.book.lineages import pending_in
from pourbook.book.names import is_reserved
from pourbook.codes.identifiers import LIQUID_KINDS, hyphened, key_of, kind_of, read
from pourbook.codes.lot_marks import printed
from pourbook.errors import Malformed, Refused
from pourbook.house_style import HouseStyle
from pourbook.labels.label import CAUTION, Label
from pourbook.liquid import Liquid
from pourbook.numerals import read_decimal
from pourbook.paperwork.naming import person
from pourbook.paperwork.outside_marks import lot_texts, unit_texts
from pourbook.quantities import shown_volume
from pourbook.queries.items.called import casks_behind
from pourbook.queries.items.labelled_strength import stated_strength
from pourbook.times import day_shown

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store
    from pourbook.book.trade_numbers import Unit

__all__ = ["label_of", "unit_label_of"]

_PENDING = "strength pending"


class _Contents(NamedTuple):
    """What an item was filled with, and what it is now known to be."""

    filled_us: int
    line: int
    filled: Liquid
    latest: Liquid


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
    whose = {"house": style.settings["house"], "print_mark": print_mark, "caution": caution}
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
    return replace(label, **unit_texts(unit, label))


# -- what an item is -------------------------------------------------------------------


def _said(store: "Store", view: ItemView, style: HouseStyle) -> dict[str, str]:
    """The fields of the label that the item has something for."""
    known = view.facts
    said = {name: known.get(name, "") for name in ("ref", "name", "spirit", "wood", "place", "note", "lot_mark")}
    contents = _contents(store, view)
    if contents:
        said |= _of_contents(store, view, contents, style)
    if view.kind in ("cask", "place"):
        said["volume"] = _capacity(known.get("capacity_l", ""), style)
    elif view.kind == "instrument":
        said |= _of_instrument(known)
    elif view.kind == "person" and not said["name"]:
        said |= {"name": said["ref"], "ref": ""}
    elif view.kind == "vial":
        said |= _of_source(store, view, said)
    elif view.kind == "lot":
        said |= _of_label(said, known, style) | _of_bottles(known, style) | {"lot_mark": printed(said["lot_mark"])}
        said |= lot_texts(known, style.settings["resolver"], said.get("date", ""))
    return said


def _contents(store: "Store", view: ItemView) -> _Contents | None:
    """The filling that counts: the present one; of what is empty the last, but for casks, which have none then."""
    rows = ledger(store, key_of(view.id))
    if view.kind == "cask" and not view.holding.mass_mg:
        return None
    last = next((index for index in reversed(range(len(rows))) if rows[index].holding.mass_mg), None)
    if last is None:
        return None
    first = last
    while first and rows[first - 1].holding.mass_mg:
        first -= 1
    filled = rows[_end_of_filling(rows, first, last)].holding.liquid
    return _Contents(rows[first].happened_us, rows[first].line, filled, rows[last].holding.liquid)


def _end_of_filling(rows: Sequence[LedgerRow], first: int, last: int) -> int:
    """A filling may be several pours: it ends with the first row after which nothing more was poured in."""
    index = first
    while index < last and _is_filled_up(rows[index], rows[index + 1]):
        index += 1
    return index


def _is_filled_up(before: LedgerRow, row: LedgerRow) -> bool:
    """Whether a pour made it more: a strength read lower makes the same volume heavier, and fills nothing."""
    return row.holding.mass_mg > before.holding.mass_mg and row.holding.state != own_state(row.line)


def _of_contents(store: "Store", view: ItemView, contents: _Contents, style: HouseStyle) -> dict[str, str]:
    number, index = divmod(contents.line, LINES)
    entry = entry_of(store, number).entry
    line = line_of(entry["body"], index)
    is_pending = "pending" in line or bool(pending_in(store, view.holding))
    who = person(store, entry["who"])
    liquid, filled_at = (contents.filled, "filled at ") if view.kind == "cask" else (contents.latest, "")
    return {
        "date": day_shown(contents.filled_us, style.zone),
        "who": who.name or who.id,
        "spirit": view.facts.get("spirit") or str(line.get("facts", {}).get("spirit", "")),
        "strength": _PENDING if is_pending else f"{filled_at}{_strength(liquid, style)}",
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


def _of_label(said: Mapping[str, str], known: Mapping[str, str], style: HouseStyle) -> dict[str, str]:
    """The strength that the lot was labelled with, whatever the book has found out since."""
    stated = stated_strength(known)
    if stated is None or said.get("strength") == _PENDING:
        return {}
    if style.settings["strength_scale"] in ("proof60f", "vol60f"):
        return {"strength": _strength(liquid_of_volume(1_000_000, stated), style)}
    declared = known["labelled_strength"].replace(",", ".").partition(".")[2]
    return {"strength": f"{style.shown(stated, min(len(declared), 1))} % vol"}


def _of_bottles(known: Mapping[str, str], style: HouseStyle) -> dict[str, str]:
    """Bottles and what each holds, instead of the litres of all of them."""
    if not known.get("size_ml") or not known.get("bottles"):
        return {}
    return {"count": f"{known['bottles']} × {style.shown(read_decimal(known['size_ml']), 0)} mL", "volume": ""}


# -- figures ---------------------------------------------------------------------------


def _strength(liquid: Liquid, style: HouseStyle) -> str:
    """With its unit, and its reference where that is not 20 °C."""
    proof, percent = proof_60f(liquid), strength_20c(liquid)
    if proof is None or percent is None:
        return ""
    match style.settings["strength_scale"]:
        case "proof60f":
            return f"{style.shown(proof, 1)} US proof"
        case "vol60f":
            return f"{style.shown(proof / 2, 1)} % vol at 60 °F"
    return f"{style.shown(percent, 1)} % vol"


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
