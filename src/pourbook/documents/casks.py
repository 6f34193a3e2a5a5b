"""The history of a cask shown: its wood, what happened to it, each fill and what it gave."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.codes.identifiers import hyphened
from pourbook.documents.items import view_document, view_words
from pourbook.documents.shown import Listing, Shown, fields, listed
from pourbook.documents.tastings import found_document, tasted_lines
from pourbook.lineage.ages import age_of
from pourbook.numerals import counted
from pourbook.times import DAY_US, day_shown, written
from pourbook.words.cask_words import (
    amount_words,
    happened,
    lost_so_far,
    lost_words,
    source_words,
    span_words,
    thought_of,
    time_in_cask,
    wood_words,
)
from pourbook.words.figure_words import PENDING, UNKNOWN, age_text, in_litres, named, percent, strength_shown
from pourbook.words.tried_words import UNSAID

if TYPE_CHECKING:
    from pourbook.actions.print_paper import Printed
    from pourbook.gauging.evaporation import Evaporation
    from pourbook.house_style import HouseStyle
    from pourbook.liquid import Liquid
    from pourbook.queries.casks.best import BehindBest, BestCasks
    from pourbook.queries.casks.choosing import ChosenCask
    from pourbook.queries.casks.provenance import CaskFill, Gave, Poured, Provenance
    from pourbook.queries.trials.opinions import Mean

__all__ = ["best_casks_shown", "casks_shown", "provenance_shown"]


def provenance_shown(found: "Provenance", style: "HouseStyle", printed: "Printed | None" = None) -> Shown:
    """The history of a cask; `printed` is its paper, if one was printed."""
    document = {
        **view_document(found.view),
        "until": written(found.until_us),
        "previous": list(found.previous),
        "history": [fields(one) for one in happened(found)],
        "fills": [_fill_document(one) for one in found.fills],
    }
    if found.tastings:
        document["tastings"] = [found_document(one) for one in found.tastings]
    if printed is not None:
        document["paper"] = {"file": ", ".join(map(str, printed.files))}
        if printed.recorded.numbers:  # a group's book prints without recording
            document["paper"]["entry"] = printed.recorded.numbers[0]
    said = [
        *view_words(found.view._replace(facts=_without(found, "previous")), style),
        "",
        *_previous(found),
        *_history(found, style),
        *tasted_lines(found.view.id, found.tastings, style),
    ]
    for fill in found.fills:
        said += ["", *_fill_words(fill, found.until_us, style)]
    if not found.fills:
        said += ["", "never filled in this book"]
    notes = tuple(f"written: {path}" for path in printed.files) if printed else ()
    return Shown(document, tuple(said), notes)


def _without(found: "Provenance", *names: str) -> dict[str, str]:
    return {name: value for name, value in found.view.facts.items() if name not in names}


def casks_shown(found: "Iterable[ChosenCask]", style: "HouseStyle") -> Listing:
    """Casks by their history, one a line."""
    columns = (
        ("cask", lambda one: hyphened(one.view.id)),
        ("ref", lambda one: one.view.ref),
        ("place", lambda one: one.view.facts.get("place", "")),
        (" fill", lambda one: one.fill),
        ("spirit", lambda one: one.spirit),
        ("in wood", lambda one: age_text(age_of(one.youngest, style.zone))),
        (" l at 20 °C", lambda one: style.shown(one.view.volume_ml_20c / 1000, 1)),
        (" % vol", lambda one: strength_shown(one.view.strength_20c, style.mark)),
        (" LPA", lambda one: style.shown(one.view.pure_alcohol_ml / 1000, 1)),
        ("wood", lambda one: wood_words(one.view.facts)),
        ("held before", lambda one: "; ".join(one.held_before)),
        ("", lambda one: PENDING if one.pending else ""),
    )
    return Listing("casks", found, _chosen_document, columns)


def best_casks_shown(found: "BestCasks", style: "HouseStyle") -> Shown:
    """Casks behind the blends liked best, those of which enough is known first, the most ahead before the others."""
    document = {
        "by": found.by,
        "told_by": found.told_by,
        "rows": [
            {**fields(one), "called": found.called.get(one.name), "stands": one.stands} for one in found.rows
        ],
    }  # fmt: skip
    if not found.rows:
        return Shown(document, (f"no trial, batch or lot was given a {found.by}",))
    lines = listed(
        found.rows,
        (found.told_by, lambda one: found.called.get(one.name) or named(one.name) or UNSAID),
        (f" mean {found.by}", lambda one: style.shown(one.mean, 1)),
        (" blends", lambda one: one.blends),
        (" share in all", lambda one: style.shown(one.share, 2)),
        (" notes", lambda one: one.notes),
        (" tasters", lambda one: one.tasters),
        ("beside the tasters' own means", lambda one: _beside_own_means(one, style)),
    )
    return Shown(document, lines, (f"note: a blend's {found.by} is that of all its casks",))


def _beside_own_means(one: "BehindBest", style: "HouseStyle") -> str:
    if one.ahead is None or one.band is None:
        return one.stands
    sign = "+" if one.ahead >= 0 else "−"
    return f"{one.stands}, {sign}{style.shown(abs(one.ahead), 1)} ± {style.shown(one.band, 1)}"


# -- for programs --------------------------------------------------------------------------


def _chosen_document(one: "ChosenCask") -> dict[str, Any]:
    return {
        **view_document(one.view, one.pending),
        "fill": one.fill,
        "filled": written(one.filled_us),
        "spirit": one.spirit or None,
        "held_before": list(one.held_before),
        "youngest_days": None if one.youngest is None else one.youngest.wood_us / DAY_US,
    }


def _fill_document(fill: "CaskFill") -> dict[str, Any]:
    count, drawn_ml = fill.samples
    return {
        "number": fill.number,
        "spirits": list(fill.spirits),
        "poured": [_poured_document(one) for one in fill.poured],
        "begun": written(fill.begun_us),
        "ended": None if fill.ended_us is None else written(fill.ended_us),
        "filled": _liquid(fill.filled),
        "last": _liquid(fill.last),
        "youngest_days": None if fill.age.youngest_us is None else fill.age.youngest_us / DAY_US,
        "lost_ethanol_mg": fill.lost_ethanol_mg,
        "yearly_loss": _loss_document(fill.loss),
        "samples": {"count": count, "volume_ml_20c": drawn_ml},
        "gave": [_gave_document(one) for one in fill.gave],
    }


def _liquid(liquid: "Liquid") -> dict[str, Any]:
    return {**liquid._asdict(), "volume_ml_20c": volume_ml(liquid), "strength_20c": strength_20c(liquid)}


def _poured_document(one: "Poured") -> dict[str, Any]:
    return {**fields(one, "liquid", "spirit"), "spirit": one.spirit or None, **_liquid(one.liquid)}


def _gave_document(one: "Gave") -> dict[str, Any]:
    return {
        "item": one.item.id,
        "ref": one.item.ref or None,
        "kind": one.item.kind,
        "share": one.share,
        "volume_ml_20c": one.volume_ml_20c,
        "pure_alcohol_ml": one.pure_alcohol_ml,
        "direct": one.is_direct,
        "approval": one.approval,
        "score": _mean_document(one.opinion.score if one.opinion else None),
        "liking": _mean_document(one.opinion.liking if one.opinion else None),
    }


def _mean_document(mean: "Mean | None") -> dict[str, Any] | None:
    return None if mean is None else mean._asdict()


def _loss_document(loss: "Evaporation | None") -> dict[str, Any] | None:
    if loss is None:
        return None
    alcohol = loss.loss_alcohol()
    return {
        "gauges": len(loss.readings),
        "volume": loss.loss_volume()._asdict(),
        "pure_alcohol": None if alcohol is None else alcohol._asdict(),
    }


# -- for people ----------------------------------------------------------------------------


def _previous(found: "Provenance") -> list[str]:
    if not found.previous:
        return [f"what it held before it came here: {UNKNOWN}"]
    contents = (f"  {number}. {text}" for number, text in enumerate(found.previous, 1))
    return ["what it held before it came here, the oldest first", *contents]


def _history(found: "Provenance", style: "HouseStyle") -> list[str]:
    told = happened(found)
    if not told:
        return []
    return [
        "",
        "arrival, inspections, treatments and repairs",
        *listed(
            told,
            ("when", lambda one: day_shown(one.happened_us, style.zone)),
            (" entry", lambda one: one.entry),
            ("about", lambda one: one.subject),
            ("who", lambda one: one.who),
            ("what", lambda one: one.text),
        ),
    ]


def _fill_words(fill: "CaskFill", until_us: int, style: "HouseStyle") -> list[str]:
    mark, zone = style.mark, style.zone
    in_cask = time_in_cask(fill, until_us, zone)
    said = [
        f"fill {fill.number}: {source_words(fill.poured)}, {span_words(fill, zone)}",
        f"  {'filled with' if fill.poured else 'found'} {amount_words(fill.filled, mark)}",
        f"  {'holds' if fill.ended_us is None else 'held at the end'} {amount_words(fill.last, mark)}",
        f"  {in_cask} in this cask; time in wood {age_text(age_of(fill.age.youngest, zone))}",
        f"  lost by gauges and recorded losses: {lost_so_far(fill, mark)}",
        f"  lost in a year: {lost_words(fill.loss, mark)}{' (± at 95 %)' if fill.loss else ''}",
    ]
    count, drawn_ml = fill.samples
    if count:
        said.append(f"  {counted(count, 'sample')}, {in_litres(drawn_ml, mark)}")
    if not fill.gave:
        return [*said, "  gave nothing to a trial, batch or lot"]
    rows = listed(
        fill.gave,
        ("gave to", lambda one: hyphened(one.item.id)),
        ("ref", lambda one: one.item.ref),
        ("", lambda one: "" if one.is_direct else "through others"),
        (" at 20 °C", lambda one: in_litres(one.volume_ml_20c, mark)),
        (" % vol", lambda one: strength_shown(one.strength_20c, mark)),
        (" LPA", lambda one: style.shown(one.pure_alcohol_ml / 1000, 3)),
        (" share of it %", lambda one: percent(one.share, mark)),
        ("thought of it", lambda one: thought_of(one, mark)),
    )
    return [*said, *(f"  {row}" for row in rows)]
