"""What stands on the label of an item, as the book knows it.

A label is read for years, so what it says of the contents is what will stay true: a cask shows
what it was filled with and when, not what the angels have left of it, and says "filled at". The
strength of anything else is the latest the book has.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> _ = book.record(Draft(Item(cask, {"ref": "Row 3/12", "capacity_l": "200"}), 0, "M. Aldane"))
>>> label = label_of(book, cask)
>>> label.id, label.ref, label.volume, label.strength
('C-000001-H', 'Row 3/12', '200 L', '')
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import liquid_of_volume, proof_60f, strength_20c, volume_ml
from pourbook.book.bottles import drawn_from
from pourbook.book.fold import own_state
from pourbook.book.holding import LINES
from pourbook.book.items import ItemView, LedgerRow, chunks, facts, ledger
from pourbook.book.journal import parsed
from pourbook.book.logged import entry_of, line_of
from pourbook.book.pending import pending_in
from pourbook.codes.identifiers import LIQUID_KINDS, hyphened, key_of, kind_of, of_key, read
from pourbook.codes.lot_marks import printed
from pourbook.errors import Malformed
from pourbook.labels.label import CAUTION, Label
from pourbook.liquid import Liquid
from pourbook.numerals import read_decimal, shown
from pourbook.paperwork.naming import person
from pourbook.paperwork.outside_marks import lot_texts
from pourbook.quantities import shown_volume
from pourbook.queries.items.labelled_strength import stated_strength
from pourbook.times import day_shown, house_zone

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = ["is_reserved", "label_of", "prints_before"]


_PENDING = "strength pending"


class _Contents(NamedTuple):
    """What an item was filled with, and what it is now known to be."""

    filled_us: int
    line: int
    filled: Liquid
    latest: Liquid


def label_of(book: "BookCore", identifier: str, print_mark: str = "") -> Label:
    """The label of an item, or of a number reserved for one.

    Args:
        book: the book.
        identifier: identifier or outside name; a reserved number need not be in use.
        print_mark: which print it is, from the second on; empty for the first.

    Raises:
        Unknown: there is no such item and no such reserved number.
        Mistyped: an identifier whose check character does not agree.
        Ambiguous: several items go by that name.
    """
    settings = book.settings
    code = read(identifier)
    if code is None or not is_reserved(book.store, code):
        view = book.show(identifier)
        code, said = view.id, _said(book.store, view, settings)
    else:
        said = {}
    caution = CAUTION if kind_of(code) in LIQUID_KINDS else ""
    whose = {"house": settings["house"], "print_mark": print_mark, "caution": caution}
    return Label(kind_of(code), code, hyphened(code), **whose, **said)


def is_reserved(store: "Store", identifier: str) -> bool:
    """Whether a number was printed ahead and labels nothing yet."""
    return bool(store.query("SELECT 1 FROM reserved WHERE key = ?", (key_of(identifier),)))


def prints_before(store: "Store", identifiers: Sequence[str]) -> dict[str, int]:
    """How many times a label of each item was printed before; items never printed are left out."""
    runs: dict[int, set[str]] = {}
    keys = [key_of(identifier) for identifier in dict.fromkeys(identifiers)]
    for marks, chunk in chunks(keys):
        for item, number in store.query(
            "SELECT mention.item, entry.number FROM mention JOIN entry ON entry.number = mention.entry"
            f" WHERE entry.kind = 'paper' AND mention.item IN ({marks})",
            chunk,
        ):
            runs.setdefault(number, set()).add(of_key(item))
    return _counted(runs[number] for number in runs if _is_labels(store, number))


def _is_labels(store: "Store", number: int) -> bool:
    (row,) = store.query("SELECT bytes FROM entry WHERE number = ?", (number,))
    return bool(parsed(row[0])["body"]["paper"] == "label")


def _counted(runs: Iterable[set[str]]) -> dict[str, int]:
    found: dict[str, int] = {}
    for run in runs:
        for identifier in run:
            found[identifier] = found.get(identifier, 0) + 1
    return found


# -- what an item is -------------------------------------------------------------------


def _said(store: "Store", view: ItemView, settings: Mapping[str, str]) -> dict[str, str]:
    """The fields of the label that the item has something for."""
    known = view.facts
    said = {name: known.get(name, "") for name in ("ref", "name", "spirit", "wood", "place", "note", "lot_mark")}
    contents = _contents(store, view)
    if contents:
        said |= _of_contents(store, view, contents, settings)
    if view.kind in ("cask", "place"):
        said["volume"] = _capacity(known.get("capacity_l", ""), settings)
    elif view.kind == "instrument":
        said |= _of_instrument(known)
    elif view.kind == "person" and not said["name"]:
        said |= {"name": said["ref"], "ref": ""}
    elif view.kind == "vial":
        said |= _of_source(store, view, said)
    elif view.kind == "lot":
        said |= (
            _of_label(said, known, settings) | _of_bottles(known, settings) | {"lot_mark": printed(said["lot_mark"])}
        )
        said |= lot_texts(known, settings["resolver"], said.get("date", ""))
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


def _of_contents(store: "Store", view: ItemView, contents: _Contents, settings: Mapping[str, str]) -> dict[str, str]:
    number, index = divmod(contents.line, LINES)
    entry = entry_of(store, number).entry
    line = line_of(entry["body"], index)
    is_pending = "pending" in line or bool(pending_in(store, view.holding))
    liquid, filled_at = (contents.filled, "filled at ") if view.kind == "cask" else (contents.latest, "")
    return {
        "date": day_shown(contents.filled_us, house_zone(settings["zone"])),
        "who": _name(store, entry["who"]),
        "spirit": view.facts.get("spirit") or str(line.get("facts", {}).get("spirit", "")),
        "strength": _PENDING if is_pending else f"{filled_at}{_strength(liquid, settings)}",
        "volume": _volume(volume_ml(contents.latest if view.kind == "batch" else contents.filled), settings),
    }


def _name(store: "Store", who: str) -> str:
    found = person(store, who)
    return found.name or found.id


def _of_source(store: "Store", view: ItemView, said: Mapping[str, str]) -> dict[str, str]:
    """A vial says which cask it comes from."""
    origin = drawn_from(store, view.id)
    if origin is None:
        return {}
    source, _ = origin
    known = facts(store, key_of(source))
    called = known.get("ref") or hyphened(source)
    wood = said["wood"] or known.get("wood", "")
    if not said["ref"]:
        return {"ref": called, "wood": wood, "name": said["name"] or wood}
    return {"wood": wood, "name": ", ".join(filter(None, (called, said["name"] or wood)))}


def _of_instrument(known: Mapping[str, str]) -> dict[str, str]:
    """What it is and in which unit it reads, when its next check is due, and the number of the last."""
    what = ", ".join(filter(None, (known.get("instrument"), known.get("unit"))))
    return {
        "name": known.get("name") or what,
        "date": known.get("due", ""),
        "note": known.get("note") or known.get("certificate", ""),
    }


def _of_label(said: Mapping[str, str], known: Mapping[str, str], settings: Mapping[str, str]) -> dict[str, str]:
    """The strength that the lot was labelled with, whatever the book has found out since."""
    stated = stated_strength(known)
    if stated is None or said.get("strength") == _PENDING:
        return {}
    return {"strength": _strength(liquid_of_volume(1_000_000, stated), settings)}


def _of_bottles(known: Mapping[str, str], settings: Mapping[str, str]) -> dict[str, str]:
    """Bottles and what each holds, instead of the litres of all of them."""
    if not known.get("size_ml") or not known.get("bottles"):
        return {}
    size = f"{shown(read_decimal(known['size_ml']), 0, settings['decimal_mark'])} mL"
    return {"count": f"{known['bottles']} × {size}", "volume": ""}


# -- figures ---------------------------------------------------------------------------


def _strength(liquid: Liquid, settings: Mapping[str, str]) -> str:
    """With its unit, and its reference where that is not 20 °C."""
    mark = settings["decimal_mark"]
    proof, percent = proof_60f(liquid), strength_20c(liquid)
    if proof is None or percent is None:
        return ""
    if settings["strength_scale"] == "proof60f":
        return f"{shown(proof, 1, mark)} US proof"
    if settings["strength_scale"] == "vol60f":
        return f"{shown(proof / 2, 1, mark)} % vol at 60 °F"
    return f"{shown(percent, 1, mark)} % vol"


def _capacity(litres: str, settings: Mapping[str, str]) -> str:
    if not litres:
        return ""
    try:
        return _volume(float(read_decimal(litres, "." if "." in litres else ",")) * 1000.0, settings)
    except Malformed:  # a word such as "butt": what the house wrote stands
        return litres


def _volume(volume_ml_20c: float, settings: Mapping[str, str]) -> str:
    mark, unit = settings["decimal_mark"], settings["volume_unit"]
    if unit.endswith("gal") and volume_ml_20c >= 1000:
        return shown_volume(volume_ml_20c, unit, 1, mark)
    if volume_ml_20c < 1000:
        return f"{shown(volume_ml_20c, 0, mark)} mL"
    return f"{shown(volume_ml_20c / 1000, 1, mark).removesuffix(f'{mark}0')} L"
