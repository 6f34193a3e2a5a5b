"""Which labels a run prints: of items, of numbers reserved for them, or of single cases and pallets.

A run of cases and pallets is kept apart from that of items, since each of them is counted and
printed by its own serial number.
"""

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from pourbook.cli.door import Door
from pourbook.errors import Malformed
from pourbook.identifiers import read

if TYPE_CHECKING:
    from pourbook.book.units import Unit
    from pourbook.labels.label import Label

__all__ = ["LabelRun", "label_run"]


class LabelRun(NamedTuple):
    """The labels of a run, and what the journal is told of it.

    Attributes:
        labels: one of each.
        paper: what the journal calls the run.
        ids: the items it is about, each once.
        prints: identifier or SSCC to how many prints there are with this one.
        facts: what else the journal keeps.
    """

    labels: "list[Label]"
    paper: str
    ids: tuple[str, ...]
    prints: dict[str, int]
    facts: dict[str, str | int]


def label_run(door: Door, items: tuple[str, ...], count: str) -> LabelRun:
    """The labels of what was named on the command.

    Args:
        door: with the book.
        items: identifiers, names, reserved numbers, or SSCCs of cases and pallets.
        count: what is in a carton, or empty.

    Raises:
        PourbookError: one of them is not in the book; or items and single cases are mixed.
    """
    units = [unit for item in items if (unit := _unit(door, item))]
    if not units:
        return _of_items(door, [_printable(door, item) for item in items], count)
    if len(units) < len(items):
        raise Malformed("labels of items and of single cases in one run", "print them in two runs")
    return _of_units(door, units)


def _of_items(door: Door, identifiers: list[str], count: str) -> LabelRun:
    from pourbook.clerk.labels import label_of, prints_before

    before = prints_before(door.book.store, identifiers)
    labels = [label_of(door.book, one, _mark(before.get(one, 0))) for one in identifiers]
    if count:
        labels = [replace(label, count=count) for label in labels]
    prints = {one: before.get(one, 0) + 1 for one in identifiers}
    return LabelRun(labels, "label", tuple(dict.fromkeys(identifiers)), prints, {})


def _of_units(door: Door, units: "list[Unit]") -> LabelRun:
    from pourbook.clerk.unit_labels import UNIT_LABEL, unit_label_of, unit_prints_before

    before = unit_prints_before(door.book.store, units)
    labels = [unit_label_of(door.book, unit, _mark(before[unit.sscc])) for unit in units]
    prints = {unit.sscc: before[unit.sscc] + 1 for unit in units}
    lots = tuple(dict.fromkeys(unit.lot for unit in units))
    return LabelRun(labels, UNIT_LABEL, lots, prints, {"units": " ".join(prints)})


def _mark(before: int) -> str:
    return f"print {before + 1}" if before else ""


def _unit(door: Door, item: str) -> "Unit | None":
    """The case or pallet that an SSCC names; None for anything else."""
    if sum(map(str.isdigit, item)) < 18:
        return None
    from pourbook.book.finding import scanned

    return scanned(door.book.store, item).unit


def _printable(door: Door, item: str) -> str:
    """The identifier of an item, or a number reserved for one."""
    from pourbook.clerk.labels import is_reserved

    identifier = read(item)
    if identifier is not None and is_reserved(door.book.store, identifier):
        return identifier
    return door.book.find(item)
