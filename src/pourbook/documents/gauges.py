"""Gauges shown: what was measured, how sure that is, what casks lose, and what to expect of them."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.documents.differences import difference_document, difference_words
from pourbook.documents.pours import holds
from pourbook.documents.shown import Shown, fields, listed, recorded_shown, table
from pourbook.documents.uncertainty import figures_document, uncertainty_words
from pourbook.gauging.evaporation import LEAST_SPAN_DAYS, LEVEL
from pourbook.numerals import with_mark
from pourbook.times import day_shown, written
from pourbook.words.account_words import CAUTION
from pourbook.words.figure_words import give_or_take

if TYPE_CHECKING:
    from pourbook.actions.gauge import Gauged
    from pourbook.actions.lab_reading import LabReading
    from pourbook.book.fillings import Filling
    from pourbook.gauging.evaporation import Band, Evaporation, Expected, Outside
    from pourbook.house_style import HouseStyle
    from pourbook.queries.gauges.cask_evaporation import CaskEvaporation, Evaporations

__all__ = ["evaporation_shown", "gauged_shown", "lab_reading_shown", "unexpected_words"]

_TOO_FEW = f"no yearly loss yet: two gauges of its content are needed, {LEAST_SPAN_DAYS} days apart or more"
_AT_LEVEL = f"± at {LEVEL:.0%}".replace("%", " %")
_ASSUMED = "the band assumes that a gauge is good to 0.5 % of volume and 0.15 % vol (one standard deviation)"


def gauged_shown(answer: "Gauged", style: "HouseStyle") -> Shown:
    """A gauge: what is there now, how sure that is, and what a person should know."""
    draft = answer.draft
    sure = uncertainty_words(draft.entry.uncertainty, style.mark)
    apart = difference_words(answer.difference, style)
    said = (holds(answer.item, style, answer.pending), apart, *([sure] if sure else []))
    warnings = [
        f"warning: {one.kind} '{one.name}' was due for its check on {used.overdue_since}"
        for one in draft.instruments
        for used in draft.entry.instruments
        if used.id == one.id and used.overdue_since
    ]
    warnings += [
        f"warning: '{name}' is not an instrument in the book; it is kept as text, without a ±"
        for name in draft.unknown_instruments
    ]
    if draft.dry_tare_kg:
        warnings.append(f"warning: {draft.dry_tare_kg} is the dry tare; a cask soaked with spirit weighs more")
    warnings += [f"no ±: {wanting}" for wanting in draft.uncertainty.wanting]
    unexpected = unexpected_words(answer.outside, style)
    if unexpected:
        warnings.append(f"warning: {unexpected}")
    document = {
        "id": answer.item.id,
        "facts": dict(draft.entry.facts),
        "difference": difference_document(answer.difference),
        "reading": draft.entry.reading,
        "instruments": [one._asdict() for one in draft.entry.instruments],
        "warning": unexpected,
        "uncertainty": figures_document(draft.uncertainty),
        "taken_as_exact": list(draft.uncertainty.exact),
    }
    whole = recorded_shown(answer.recorded, document, said, style)
    return whole.warned(*warnings)


def lab_reading_shown(answer: "LabReading", style: "HouseStyle") -> Shown:
    """A sample's strength, applied to its source as well."""
    settled = {"settled": answer.settled} if answer.settled else {}
    differences = (answer.of_sample, answer.of_source)
    names = ("difference", "difference_source")
    apart = {name: difference_document(one) for name, one in zip(names, differences, strict=True)}
    document = {"id": answer.sample.id, "source": answer.source.id, **settled, **apart}
    said = (
        holds(answer.sample, style), difference_words(differences[0], style),
        holds(answer.source, style, answer.pending), difference_words(differences[1], style),
    )  # fmt: skip
    notes = [f"note: the pending strength of entry {answer.settled} is settled by it"] if settled else []
    for number in answer.pending:
        remedy = f"pourbook replace {number} --strength … --reason …"
        notes.append(f"note: the strength of entry {number} is still pending; settle it: {remedy}")
    whole = recorded_shown(answer.recorded, document, said, style)
    return whole.warned(*notes)


def evaporation_shown(answer: "Evaporations", style: "HouseStyle", *, in_full: bool = False) -> Shown:
    """What casks lose; `in_full` shows the readings of one, else there is a line for each."""
    document = {"on": written(answer.on_us), "casks": [_document(one, style) for one in answer.casks]}
    said = _in_full(answer.on_us, answer.casks[0], style) if in_full else _all(answer.casks, style)
    return Shown(document, tuple(said), (CAUTION,))


# -- for programs ----------------------------------------------------------------------


def _document(one: "CaskEvaporation", style: "HouseStyle") -> dict[str, Any]:
    view, filling, outlook = one
    document: dict[str, Any] = {"id": view.id, "ref": view.ref, "readings": [], "warning": ""}
    if filling is None or outlook is None:
        return document
    found = outlook.found
    return document | {
        "readings": [fields(one) | {"pure_alcohol_ml": one.pure_alcohol_ml} for one in filling.readings],
        "is_open": filling.is_open,
        "yearly_loss_volume": found and found.loss_volume().expected,
        "yearly_loss_alcohol": _middle(found and found.loss_alcohol()),
        "strength_vol_per_year": _middle(found and found.strength_change()),
        "bounds": found and _bounds(found),
        "expected": _expected(outlook.ahead),
        "expected_of_last": _expected(outlook.last),
        "warning": unexpected_words(outlook.outside, style),
    }


def _middle(band: "Band | None") -> float | None:
    return None if band is None else band.expected


def _bounds(found: "Evaporation") -> dict[str, Any]:
    bands = {
        "yearly_loss_volume": found.loss_volume(),
        "yearly_loss_alcohol": found.loss_alcohol(),
        "strength_vol_per_year": found.strength_change(),
    }
    return {"level": LEVEL, **{name: band and {"low": band.low, "high": band.high} for name, band in bands.items()}}


def _expected(ahead: "Expected | None") -> dict[str, Any] | None:
    if ahead is None:
        return None
    bands = {"volume_ml": ahead.volume_ml, "pure_alcohol_ml": ahead.pure_alcohol_ml, "strength_vol": ahead.strength_vol}
    document = {name: band and band._asdict() for name, band in bands.items()}
    rests = {"level": ahead.level, "rests_on_assumption": ahead.rests_on_assumption}
    return {"at": written(ahead.at_us), **document, **rests}


# -- for people ------------------------------------------------------------------------


def _in_full(on_us: int, one: "CaskEvaporation", style: "HouseStyle") -> list[str]:
    view, filling, outlook = one
    lines = ["  ".join(part for part in (hyphened(view.id), view.ref, view.facts.get("wood", "")) if part)]
    if filling is None or outlook is None:
        return [*lines, "  never gauged since it was filled"]
    lines += [*_readings(filling, style), ""]
    if outlook.found is None:
        return [*lines, _TOO_FEW]
    lines.append(_in_words(outlook.found, style))
    if outlook.ahead is None:
        lines.append("since then more than a small draw was taken: gauge it again to know what to expect")
    else:
        expects = f"expected on {day_shown(on_us, style.zone)}, {_AT_LEVEL.removeprefix('± ')}"
        lines += ["", expects, *_bands(outlook.ahead, style)]
        if len(filling.readings) == 2:
            lines.append("two readings give no band of their own; " + with_mark(_ASSUMED, style.mark))
        elif outlook.ahead.rests_on_assumption:
            lines.append(with_mark(_ASSUMED, style.mark))
    if outlook.outside:
        day = day_shown(filling.readings[-1].happened_us, style.zone)
        lines.append(f"warning: last gauge, {day}: {unexpected_words(outlook.outside, style)}")
    elif outlook.last is not None:
        lines.append("the last gauge agrees with earlier gauges")
    return lines


def unexpected_words(outside: "Sequence[Outside]", style: "HouseStyle") -> str:
    """What was read far from what was expected, and what the trade thinks of first; empty where nothing was.

    >>> from pourbook.gauging.evaporation import Band, Outside
    >>> from pourbook.house_style import HouseStyle
    >>> unexpected_words([Outside("volume_ml", 170_000, Band(183_900, 188_000, 192_000))], HouseStyle())
    '170.0 l, where at least 183.9 l were expected: a leak, theft, or a misreading'
    """
    said = []
    for figure, read, band in outside:
        is_low = read < band.low
        if figure == "volume_ml":
            per, digits, unit = 1000, 1, "l"
            cause = "a leak, theft, or a misreading" if is_low else "a misreading, or a pour not recorded"
        else:
            per, digits, unit, cause = 1, 2, "% vol", "a misreading, or other liquid added"
        bound = f"at {'least' if is_low else 'most'} {style.shown((band.low if is_low else band.high) / per, digits)}"
        said.append(f"{style.shown(read / per, digits)} {unit}, where {bound} {unit} were expected: {cause}")
    return "; ".join(said)


def _readings(filling: "Filling", style: "HouseStyle") -> tuple[str, ...]:
    return listed(
        filling.readings,
        ("read", lambda one: style.time_shown(one.happened_us)),
        (" entry", lambda one: one.entry),
        (" l at 20 °C", lambda one: _shown(one.volume_ml, 1000, 2, style)),
        (" % vol", lambda one: _shown(one.strength_vol, 1, 2, style)),
        (" LPA", lambda one: _shown(one.pure_alcohol_ml, 1000, 2, style)),
        (" % left by draws", lambda one: style.shown(one.kept * 100, 2)),
    )


def _shown(value: float | None, per: float, digits: int, style: "HouseStyle") -> str:
    return "–" if value is None else style.shown(value / per, digits)


def _in_words(found: "Evaporation", style: "HouseStyle") -> str:
    said = f"loses {give_or_take(found.loss_volume(), style.mark, 100)} % of its volume"
    alcohol, change = found.loss_alcohol(), found.strength_change()
    if alcohol is not None:
        said += f" and {give_or_take(alcohol, style.mark, 100)} % of its pure alcohol"
    said += " a year"
    if change is not None:
        way, turned = ("rises", 1) if change.expected > 0 else ("falls", -1)
        said += f"; its strength {way} by {give_or_take(change, style.mark, turned)} % vol a year"
    return f"{said} ({_AT_LEVEL})"


def _bands(ahead: "Expected", style: "HouseStyle") -> tuple[str, ...]:
    bands = (
        ("l at 20 °C", ahead.volume_ml, 1000),
        ("% vol", ahead.strength_vol, 1),
        ("LPA", ahead.pure_alcohol_ml, 1000),
    )
    return table(
        ("", " expected", " at least", " at most"),
        [
            (name, *(style.shown(value / per, 2) for value in (band.expected, band.low, band.high)))
            for name, band, per in bands
            if band is not None
        ],
    )


def _all(casks: "tuple[CaskEvaporation, ...]", style: "HouseStyle") -> list[str]:
    rows, warnings = [], []
    for view, filling, outlook in casks:
        evaporation, ahead = outlook and outlook.found, outlook and outlook.ahead
        rows.append(
            (
                hyphened(view.id),
                view.ref,
                str(len(filling.readings)) if filling else "0",
                give_or_take(evaporation and evaporation.loss_volume(), style.mark, 100),
                give_or_take(evaporation and evaporation.loss_alcohol(), style.mark, 100),
                give_or_take(evaporation and evaporation.strength_change(), style.mark),
                _shown(ahead.volume_ml.expected if ahead else None, 1000, 1, style),
                _shown(ahead.strength_vol.expected if ahead and ahead.strength_vol else None, 1, 2, style),
            )
        )
        if outlook and outlook.outside:
            warnings.append(f"warning: {hyphened(view.id)}, last gauge: {unexpected_words(outlook.outside, style)}")
    heads = ("cask", "ref", " readings", " volume %/year", " alcohol %/year", " % vol/year", " l expected", " % vol")
    known = [_AT_LEVEL] if any(outlook and outlook.found for _, _, outlook in casks) else []
    return [*table(heads, rows), *known, *warnings]
