"""The options that say what is suspect: shared by the verbs that ask and that recall."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import click

from pourbook.book.scope import Suspect
from pourbook.cli.accounting import end_us
from pourbook.cli.door import Door
from pourbook.codes.identifiers import kind_of
from pourbook.errors import Malformed, PourbookError

__all__ = ["scope_options", "suspects_of"]

_Verb = TypeVar("_Verb", bound=Callable[..., Any])

_KINDS = {
    "item": ("--item", "ITEM", "A cask, vial, trial, batch or lot."),
    "origin": ("--origin", "TEXT", "Spirit taken in: number of its entry, or words of its distiller, spirit, charge …"),
    "water": ("--water", "TEXT", "Water: number of an entry, or words of what was said about it (its lot)."),
    "additive": ("--additive", "TEXT", "An additive: the same."),
    "closure": ("--closure", "TEXT", "Lots closed with it: words of the fact 'closure'."),
    "glass": ("--glass", "TEXT", "Lots filled into it: words of the fact 'glass'."),
    "label": ("--label", "TEXT", "Lots labelled with it: words of the fact 'label'."),
    "instrument": ("--instrument", "NAME", "All that was gauged with it."),
    "person": ("--by", "NAME", "All that this person poured."),
    "place": ("--place", "PLACE", "All that lay there, or in that vat."),
}


def scope_options(verb: _Verb) -> _Verb:
    """A verb that takes suspects: what they are, and the window in which they were."""
    window = (
        click.option("--since-check", is_flag=True, help="Of an instrument: only since its last check."),
        click.option("--from", "first", metavar="TIME", help="Only what happened then or later."),
        click.option("--to", "last", metavar="TIME", help="Only what happened before then; of a day, all of it."),
    )
    kinds = (
        click.option(flag, kind, multiple=True, metavar=metavar, help=help_)
        for kind, (flag, metavar, help_) in _KINDS.items()
    )
    for option in reversed((*kinds, *window)):
        verb = option(verb)
    return verb


def suspects_of(
    door: Door, typed: Mapping[str, tuple[str, ...]], first: str | None, last: str | None, *, since_check: bool
) -> tuple[Suspect, ...]:
    """What is suspect, from the options; a window alone means every pour in it.

    Raises:
        PourbookError: nothing is named, or nothing in the book goes by a name.
    """
    window = (door.moment_or_none(first), None if last is None else end_us(door, last))
    found = tuple(Suspect(kind, _name(door, kind, text), *window) for kind in _KINDS for text in typed.get(kind, ()))
    if since_check:
        if not any(suspect.kind == "instrument" for suspect in found):
            raise Malformed("a check of nothing", "name the instrument, too: --instrument NAME --since-check")
        found = tuple(_since_check(door, suspect) for suspect in found)
    if not found and window == (None, None):
        raise Malformed("nothing is suspect", "name it: --item, --origin, --water … or a window: --from, --to")
    return found or (Suspect("time", "", *window),)


def _name(door: Door, kind: str, text: str) -> str:
    """The identifier, where the book has one for it; a liquid must have one."""
    if kind == "item":
        return door.book.find(text)
    if kind in ("instrument", "person", "place"):
        try:
            found = door.book.find(text)
        except PourbookError:
            return text.strip()
        return found if kind_of(found) == kind else text.strip()
    return text.strip()


def _since_check(door: Door, suspect: Suspect) -> Suspect:
    from pourbook.queries.recalls.suspects import last_check_us

    if suspect.kind != "instrument":
        return suspect
    found = door.book.find(suspect.name)
    checked = last_check_us(door.book.store, found, door.book.clock() if suspect.to_us is None else suspect.to_us - 1)
    return suspect._replace(from_us=max(checked, suspect.from_us or checked))
