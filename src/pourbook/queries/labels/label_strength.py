"""The strength that a label of an item would say now, and the filling that it speaks of.

A cask shows what it was filled with ("filled at"), a lot what its bottles are labelled with, anything else the latest
strength in the book.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> fill = Pour("fill", (Move("origin", "C000001H", read_amount("200 l"), read_strength("63.5")),))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item("C000001H", {}), fill)))
>>> strength_on_label(book.store, book.show("C000001H"), HouseStyle(book.settings))
'filled at 63.5 % vol'
"""

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import liquid_of_volume, proof_60f, strength_20c
from pourbook.book.contents import LINES
from pourbook.book.fold import own_state
from pourbook.book.items import ItemView, LedgerRow, ledger
from pourbook.book.journal import entry_of, line_of
from pourbook.book.lineages import pending_in
from pourbook.codes.identifiers import key_of
from pourbook.house_style import HouseStyle
from pourbook.liquid import Liquid
from pourbook.queries.items.labelled_strength import stated_strength

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["Contents", "contents_of", "strength_on_label"]

_PENDING = "strength pending"


class Contents(NamedTuple):
    """What an item was filled with, when and by which line, and the latest that it is known to be."""

    filled_us: int
    line: int
    filled: Liquid
    latest: Liquid


def strength_on_label(store: "Store", view: ItemView, style: HouseStyle, pending: Collection[int] | None = None) -> str:
    """The strength with its unit; empty where there is none to say.

    `pending` are the states with a pending strength in them, where they are known; None looks behind the item.
    """
    # what a vessel holds needs no history, unless it is a cask
    looks_back = view.kind == "cask" or not view.holding.mass_mg
    contents = contents_of(store, view) if looks_back else None
    if _is_pending(store, view, contents, pending):
        return _PENDING
    if view.kind == "lot" and (stated := _stated(view.facts, style)):
        return stated
    if not contents:
        return "" if looks_back else _strength(view.holding.liquid, style)
    if view.kind == "cask":
        return f"filled at {_strength(contents.filled, style)}"
    return _strength(contents.latest, style)


def _is_pending(store: "Store", view: ItemView, contents: Contents | None, pending: Collection[int] | None) -> bool:
    if view.holding.mass_mg:
        return view.holding.state in pending if pending is not None else bool(pending_in(store, view.holding))
    if not contents:
        return False
    number, index = divmod(contents.line, LINES)
    return "pending" in line_of(entry_of(store, number).entry["body"], index)


def _stated(known: Mapping[str, str], style: HouseStyle) -> str:
    """The strength that the lot was labelled with, whatever the book has found out since."""
    stated = stated_strength(known)
    if stated is None:
        return ""
    if style.settings["strength_scale"] in ("proof60f", "vol60f"):
        return _strength(liquid_of_volume(1_000_000, stated), style)
    declared = known["labelled_strength"].replace(",", ".").partition(".")[2]
    return f"{style.shown(stated, min(len(declared), 1))} % vol"


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


def contents_of(store: "Store", view: ItemView) -> Contents | None:
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
    return Contents(rows[first].happened_us, rows[first].line, filled, rows[last].holding.liquid)


def _end_of_filling(rows: Sequence[LedgerRow], first: int, last: int) -> int:
    """A filling may be several pours: it ends with the first row after which nothing more was poured in."""
    index = first
    while index < last and _is_filled_up(rows[index], rows[index + 1]):
        index += 1
    return index


def _is_filled_up(before: LedgerRow, row: LedgerRow) -> bool:
    """Whether a pour made it more: a strength read lower makes the same volume heavier, and fills nothing."""
    return row.holding.mass_mg > before.holding.mass_mg and row.holding.state != own_state(row.line)
