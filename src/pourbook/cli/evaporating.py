"""The verb of what casks lose to the air: evaporation."""

from typing import TYPE_CHECKING, Any, TypeAlias

import click

from pourbook.cli.door import Door, item_argument, reading
from pourbook.cli.output import show_json, show_table
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Refused
from pourbook.numerals import a_or_an, shown
from pourbook.times import day_shown, written

if TYPE_CHECKING:
    from pourbook.book.items import ItemView
    from pourbook.gauging.evaporation import Band, Evaporation, Expected, Reading
    from pourbook.queries.gauges.fillings import Filling, Outlook

__all__ = ["evaporation_verb"]

CAUTION = "working figures: legal gauge, label and duty return follow the local authority and licensed practice"

_Found: TypeAlias = "tuple[ItemView, Filling | None, Outlook | None]"

_TOO_FEW = "too few gauges: what it loses shows between two gauges of its content"
_ASSUMED = "the band assumes that a gauge is good to 0.5 % of volume and 0.15 % vol (one standard deviation)"


@click.command("evaporation")
@item_argument("casks", many=True, required=False)
@click.option("--on", "day", metavar="DATE", help="What to expect on that day; now by default.")
@click.option("--at", metavar="TIME", help="By the gauges up to that moment alone.")
@reading
def evaporation_verb(door: Door, casks: tuple[str, ...], day: str | None, at: str | None) -> None:
    """Say what casks lose in a year, from their gauges, and what they should hold on a day.

    Yearly loss of volume and of pure alcohol, whether the strength rises or falls, and the
    content to expect, with the band that a gauge should keep. Where the last gauge is far from what
    the earlier ones let expect, it warns: a leak, theft, or a misreading. Without CASKS, every
    cask that holds spirit.

    \b
    Example:
      pourbook evaporation C-000005-9 --on 2027-01-01
      pourbook evaporation C-000005-9 --at 2025-12-31 --on 2026-06-30
      pourbook evaporation --json
    """
    from pourbook.book.lineages import EVER
    from pourbook.queries.gauges.fillings import fillings, outlook

    at_us = door.moment_or_none(at)
    on_us = door.moment(day or at)
    views = _views(door, casks, at_us)
    known = fillings(door.book.store, [key_of(view.id) for view in views], EVER if at_us is None else at_us)
    found: list[_Found] = []
    for view in views:
        latest = known[key_of(view.id)][-1:]
        found.append((view, *((latest[0], outlook(latest[0], on_us, door.decimal_mark)) if latest else (None, None))))
    if door.json:
        show_json({"on": written(on_us), "casks": [_document(*one) for one in found]})
    elif len(casks) == 1:
        _show_one(door, on_us, *found[0])
    else:
        _show_all(door, found)
    click.echo(CAUTION, err=True)


def _views(door: Door, casks: tuple[str, ...], at_us: int | None) -> "list[ItemView]":
    if not casks:
        return [view for view in door.book.stock(at_us) if view.kind == "cask"]
    views = [door.book.show(cask, at_us) for cask in casks]
    for view in views:
        if view.kind != "cask":
            raise Refused(f"{hyphened(view.id)} is {a_or_an(view.kind)}: evaporation is told of casks", "name a cask")
    return views


# -- for programs ------------------------------------------------------------------------


def _document(view: "ItemView", filling: "Filling | None", outlook: "Outlook | None") -> dict[str, Any]:
    document: dict[str, Any] = {"id": view.id, "ref": view.ref, "readings": [], "warning": ""}
    if filling is None or outlook is None:
        return document
    found = outlook.found
    return document | {
        "readings": [_reading_document(one) for one in filling.readings],
        "is_open": filling.is_open,
        "yearly_loss_volume": found and found.yearly_loss_volume,
        "yearly_loss_alcohol": found and found.yearly_loss_alcohol,
        "strength_vol_per_year": found and found.strength_per_year,
        "expected": _expected_document(outlook.ahead),
        "expected_of_last": _expected_document(outlook.last),
        "warning": outlook.warning,
    }


def _reading_document(one: "Reading") -> dict[str, Any]:
    rest = {name: value for name, value in one._asdict().items() if name != "happened_us"}
    return {"happened": written(one.happened_us), **rest, "pure_alcohol_ml": one.pure_alcohol_ml}


def _expected_document(ahead: "Expected | None") -> dict[str, Any] | None:
    if ahead is None:
        return None
    bands = {"volume_ml": ahead.volume_ml, "pure_alcohol_ml": ahead.pure_alcohol_ml, "strength_vol": ahead.strength_vol}
    document = {name: band and band._asdict() for name, band in bands.items()}
    return {"at": written(ahead.at_us), **document, "rests_on_assumption": ahead.rests_on_assumption}


# -- for people --------------------------------------------------------------------------


def _show_one(door: Door, on_us: int, view: "ItemView", filling: "Filling | None", outlook: "Outlook | None") -> None:
    click.echo("  ".join(part for part in (hyphened(view.id), view.ref, view.facts.get("wood", "")) if part))
    if filling is None or outlook is None:
        click.echo("  never gauged since it was filled")
        return
    mark, zone = door.decimal_mark, door.book.zone
    _show_readings(door, filling)
    click.echo()
    if outlook.found is None:
        click.echo(_TOO_FEW)
        return
    click.echo(_in_words(outlook.found, mark))
    if outlook.ahead is None:
        click.echo("since then more than a small draw was taken: gauge it anew to know what to expect")
    else:
        click.echo()
        click.echo(f"expected on {day_shown(on_us, zone)}")
        _show_bands(outlook.ahead, mark)
        if len(filling.readings) == 2:
            click.echo("two readings give no band of their own; " + _ASSUMED)
        elif outlook.ahead.rests_on_assumption:
            click.echo(_ASSUMED)
    if outlook.warning:
        click.echo(f"warning: last gauge, {day_shown(filling.readings[-1].happened_us, zone)}: {outlook.warning}")
    elif outlook.last is not None:
        click.echo("the last gauge is as the earlier ones let expect")


def _show_readings(door: Door, filling: "Filling") -> None:
    mark = door.decimal_mark
    show_table(
        ("read", " entry", " l at 20 °C", " % vol", " l pure", " % left by draws"),
        [
            (
                door.time_shown(one.happened_us),
                str(one.entry),
                _shown(one.volume_ml, 1000, 2, mark),
                _shown(one.strength_vol, 1, 2, mark),
                _shown(one.pure_alcohol_ml, 1000, 2, mark),
                shown(one.kept * 100, 2, mark),
            )
            for one in filling.readings
        ],
    )


def _shown(value: float | None, per: float, digits: int, mark: str) -> str:
    return "–" if value is None else shown(value / per, digits, mark)


def _in_words(found: "Evaporation", mark: str) -> str:
    said = f"loses {shown(found.yearly_loss_volume * 100, 2, mark)} % of its volume"
    if found.yearly_loss_alcohol is not None:
        said += f" and {shown(found.yearly_loss_alcohol * 100, 2, mark)} % of its pure alcohol"
    said += " a year"
    change = found.strength_per_year
    if change is None:
        return said
    way = "rises" if change > 0 else "falls"
    return f"{said}; its strength {way} by {shown(abs(change), 2, mark)} % vol a year"


def _show_bands(ahead: "Expected", mark: str) -> None:
    rows: list[tuple[str, Band | None, float]] = [
        ("l at 20 °C", ahead.volume_ml, 1000),
        ("% vol", ahead.strength_vol, 1),
        ("l pure", ahead.pure_alcohol_ml, 1000),
    ]
    show_table(
        ("", " expected", " at least", " at most"),
        [
            (name, *(shown(value / per, 2, mark) for value in (band.expected, band.low, band.high)))
            for name, band, per in rows
            if band is not None
        ],
    )


def _show_all(door: Door, found: list[_Found]) -> None:
    mark = door.decimal_mark
    rows, warnings = [], []
    for view, filling, outlook in found:
        evaporation = outlook and outlook.found
        ahead = outlook and outlook.ahead
        rows.append(
            (
                hyphened(view.id),
                view.ref,
                str(len(filling.readings)) if filling else "0",
                _shown(evaporation.yearly_loss_volume if evaporation else None, 0.01, 2, mark),
                _shown(evaporation.yearly_loss_alcohol if evaporation else None, 0.01, 2, mark),
                _shown(evaporation.strength_per_year if evaporation else None, 1, 2, mark),
                _shown(ahead.volume_ml.expected if ahead else None, 1000, 1, mark),
                _shown(ahead.strength_vol.expected if ahead and ahead.strength_vol else None, 1, 2, mark),
            )
        )
        if outlook and outlook.warning:
            warnings.append(f"warning: {hyphened(view.id)}, last gauge: {outlook.warning}")
    heads = ("cask", "ref", " readings", " volume %/year", " alcohol %/year", " % vol/year", " l expected", " % vol")
    show_table(heads, rows)
    for warning in warnings:
        click.echo(warning)
