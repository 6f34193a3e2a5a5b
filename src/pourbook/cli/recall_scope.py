"""The options that say what is suspect: shared by the verbs that ask and that recall."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from pourbook.book.recall_scope import Suspect
from pourbook.cli.options import options

if TYPE_CHECKING:
    from pourbook.house_style import HouseStyle

__all__ = ["scope_options", "suspects_of"]

_KINDS = {
    "item": ("--item", "ITEM", "A cask, vial, trial, batch or lot."),
    "origin": ("--origin", "TEXT", "Spirit received: its entry number, or words of its distiller, spirit, charge …"),
    "water": ("--water", "TEXT", "Water: its entry number, or words recorded of it (its lot)."),
    "additive": ("--additive", "TEXT", "An additive: the same."),
    "closure": ("--closure", "TEXT", "Lots with these closures: words of the fact 'closure'."),
    "bottle_lot": ("--bottle-lot", "TEXT", "Lots filled into these bottles: words of the fact 'bottle_lot'."),
    "label": ("--label", "TEXT", "Lots with these labels: words of the fact 'label'."),
    "carton": ("--carton", "TEXT", "Lots with these cartons: words of the fact 'carton'."),
    "filter": ("--filter", "TEXT", "Lots that ran through these filters: words of the fact 'filter'."),
    "instrument": ("--instrument", "NAME", "Everything gauged with it."),
    "person": ("--person", "NAME", "Everything this person poured or, by login name, recorded as poured."),
    "place": ("--place", "PLACE", "Everything that lay there, or in that vat."),
}


scope_options = options(
    *(
        click.option(flag, kind, multiple=True, metavar=metavar, help=help_)
        for kind, (flag, metavar, help_) in _KINDS.items()
    ),
    click.option("--since-check", is_flag=True, help="For an instrument: only since its last check."),
    click.option("--from", "first", metavar="TIME", help="Only what happened then or later."),
    click.option("--to", "last", metavar="TIME", help="Only what happened before then, or on that day."),
)
"""What is suspect, and the window in which it was."""


def suspects_of(style: "HouseStyle", typed: Mapping[str, Any]) -> tuple[Suspect, ...]:
    """What is suspect, from the options (taken out of `typed`); a window alone means every pour in it."""
    first, last = typed["first"], typed["last"]
    window = None if first is None else style.moment(first), None if last is None else style.end(last)
    named = tuple(Suspect(kind, text, *window) for kind in _KINDS for text in typed[kind])
    return named or (Suspect("time", "", *window),)
