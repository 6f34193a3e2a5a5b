"""Which labels a run prints: of items, of numbers reserved for them, or of single cases and pallets.

A run of cases and pallets is kept apart from that of items, since each of them is counted and
printed by its own serial number.
"""

from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from pourbook.cli.door import Door
from pourbook.codes.identifiers import hyphened, kind_of, read
from pourbook.errors import Malformed, Refused

if TYPE_CHECKING:
    from pourbook.book.units import Unit
    from pourbook.labels.label import Label

__all__ = ["LabelRun", "chosen_items", "end_or_none", "label_run", "printable"]


class LabelRun(NamedTuple):
    """The labels of a run, and what the journal is told of it.

    Attributes:
        labels: one of each.
        paper: what the journal calls the run.
        ids: the items it is about, each once.
        prints: identifier or SSCC to how many prints there are with this one.
        facts: what else the journal keeps.
        keys: identifier or SSCC of each label.
    """

    labels: "list[Label]"
    paper: str
    ids: tuple[str, ...]
    prints: dict[str, int]
    facts: dict[str, str | int]
    keys: tuple[str, ...]

    def first(self, count: int) -> "LabelRun":
        """The run as if it had ended after so many labels."""
        labels, keys = self.labels[:count], self.keys[:count]
        prints = {key: self.prints[key] for key in keys}
        facts: dict[str, str | int] = {"units": " ".join(prints)} if "units" in self.facts else {}
        return LabelRun(labels, self.paper, tuple(dict.fromkeys(label.code for label in labels)), prints, facts, keys)


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
        return _of_items(door, [printable(door, item) for item in items], count)
    if len(units) < len(items):
        raise Malformed("labels of items and of single cases in one run", "print them in two runs")
    return _of_units(door, units)


def _of_items(door: Door, identifiers: list[str], count: str) -> LabelRun:
    from pourbook.paperwork.label_of import label_of, prints_before

    before = prints_before(door.book.store, identifiers)
    labels = [label_of(door.book, one, _mark(before.get(one, 0))) for one in identifiers]
    for label in labels:
        if label.kind == "lot":
            _warn_of_strength(door, label.code)
    if count:
        labels = [replace(label, count=count) for label in labels]
    prints = {one: before.get(one, 0) + 1 for one in identifiers}
    return LabelRun(labels, "label", tuple(dict.fromkeys(identifiers)), prints, {}, tuple(identifiers))


def _of_units(door: Door, units: "list[Unit]") -> LabelRun:
    from pourbook.paperwork.unit_label_of import UNIT_LABEL, unit_label_of, unit_prints_before

    before = unit_prints_before(door.book.store, units)
    labels = [unit_label_of(door.book, unit, _mark(before[unit.sscc])) for unit in units]
    prints = {unit.sscc: before[unit.sscc] + 1 for unit in units}
    lots = tuple(dict.fromkeys(unit.lot for unit in units))
    keys = tuple(unit.sscc for unit in units)
    return LabelRun(labels, UNIT_LABEL, lots, prints, {"units": " ".join(prints)}, keys)


def _warn_of_strength(door: Door, lot: str) -> None:
    from pourbook.queries.items.labelled_strength import disagreement

    view = door.book.show(lot)
    apart = disagreement(view.facts, view.strength_20c, door.decimal_mark)
    if apart:
        click.echo(f"warning: {hyphened(lot)} is {apart}", err=True)


def _mark(before: int) -> str:
    return f"print {before + 1}" if before else ""


def _unit(door: Door, item: str) -> "Unit | None":
    """The case or pallet that an SSCC names; None for anything else."""
    if sum(map(str.isdigit, item)) < 18:
        return None
    from pourbook.book.finding import scanned

    return scanned(door.book.store, item).unit


def printable(door: Door, item: str) -> str:
    """The identifier of an item, or a number reserved for one.

    Raises:
        PourbookError: nothing goes by that name.
    """
    from pourbook.paperwork.label_of import is_reserved

    identifier = read(item)
    if identifier is not None and is_reserved(door.book.store, identifier):
        return identifier
    return door.book.find(item)


# -- asked for instead of listed -----------------------------------------------------------


def chosen_items(door: Door, items: tuple[str, ...], kinds: tuple[str, ...], asked: dict[str, Any]) -> tuple[str, ...]:
    """The items that were named, or that the options of a run ask for.

    Args:
        door: with the book.
        items: those named; then nothing may be asked for.
        kinds: those that the template serves, which are asked for unless one is named.
        asked: kind, since, until, place, from_item, of_item, unprinted, reserved, as on the command.

    Raises:
        Malformed: some were named, and others asked for.
        Refused: there is nothing of what was asked for.
    """
    from pourbook.paperwork.label_selection import Wanted, selected

    if items:
        if any(asked.values()):
            raise Malformed("items that are named, and others that are asked for", "print them in two runs")
        return items
    if not any(asked.values()):
        raise click.UsageError("name items, or ask for them: --kind, --since, --from-item, --reserved …")
    wanted = Wanted(
        kind=asked["kind"] or "",
        since_us=door.moment_or_none(asked["since"]),
        until_us=end_or_none(door, asked["until"]),
        place=asked["place"] or "",
        from_item=door.book.find(asked["from_item"]) if asked["from_item"] else "",
        of_item=door.book.find(asked["of_item"]) if asked["of_item"] else "",
        unprinted=asked["unprinted"],
        reserved=asked["reserved"],
    )
    found = tuple(one for one in selected(door.book, wanted) if asked["kind"] or kind_of(one) in kinds)
    if not found:
        raise Refused("there is nothing of what was asked for", "ask for less, or name the items")
    return found


def end_or_none(door: Door, text: str | None) -> int | None:
    """The moment before which something happened; a day counts whole. None stays None."""
    return None if text is None else door.style.end(text)
