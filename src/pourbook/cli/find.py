"""Verbs that read: show, stock, trace, journal."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, item_argument, reading
from pourbook.cli.item_figures import blended, bottles_document, bottles_of, bottles_words
from pourbook.cli.output import show_json, show_table
from pourbook.codes.identifiers import hyphened, key_of, readable
from pourbook.documents.answer_documents import ledger_document, trace_document, view_document
from pourbook.numerals import counted, shown
from pourbook.times import written
from pourbook.words.figure_words import AWAITED, in_litres, named, percent, strength_shown

if TYPE_CHECKING:
    from pourbook.book.bottles import BottleCount
    from pourbook.book.items import ItemView
    from pourbook.queries.traces.trace_answer import Trace, TracedPour

__all__ = ["journal_verb", "show_verb", "stock_verb", "trace_verb"]

_AT = click.option("--at", metavar="TIME", help="As of that moment; now by default.")
CAUTION = "working figures: legal gauge, label and duty return follow the local authority and licensed practice"


@click.command("show")
@item_argument("item")
@_AT
@click.option("--history", is_flag=True, help="Every line that touched it.")
@reading
def show_verb(door: Door, item: str, at: str | None, history: bool) -> None:
    """Show an item: what it is, what it holds, and on demand how it came to that.

    \b
    Example:
      pourbook show C-000001-H
      pourbook show "Row 3/12" --at 2024-06-30 --history
    """
    at_us = door.moment_or_none(at)
    view = door.book.show(item, at_us)
    from pourbook.book.awaiting import awaited_in
    from pourbook.book.items import ledger
    from pourbook.queries.gauges.last_gauge import last_gauge
    from pourbook.queries.items.labelled_strength import disagreement

    rows = ledger(door.book.store, key_of(view.id)) if history else []
    rows = [row for row in rows if at_us is None or row.happened_us <= at_us]
    count = bottles_of(door, view, at_us)
    words, figures = blended(door, view, at_us)
    gauge = last_gauge(door.book.store, view.id, at_us)
    if door.json:
        document = (
            ({"last_gauge": gauge._asdict()} if gauge else {})
            | view_document(view, awaited_in(door.book.store, view.holding))
            | bottles_document(count)
            | figures
        )
        if history:
            document["history"] = [ledger_document(row) for row in rows]
        show_json(document)
        return
    _show_view(door, view, count)
    if gauge and gauge.uncertainty:
        click.echo(f"  gauged {door.time_shown(gauge.happened_us)}: {gauge.uncertainty}")
    apart = disagreement(view.facts, view.strength_20c, door.decimal_mark)
    if apart:
        click.echo(f"warning: {apart}", err=True)
    if words:
        click.echo(f"  {words}")
    if rows:
        click.echo()
        show_table(
            ("when", " entry", " kg", " l at 20 °C", " % vol"),
            [
                (
                    door.time_shown(row.happened_us),
                    str(row.entry),
                    shown(row.holding.mass_mg / 1e6, 3, door.decimal_mark),
                    shown(row.volume_ml_20c / 1000, 3, door.decimal_mark),
                    strength_shown(row.strength_20c, door.decimal_mark),
                )
                for row in rows
            ],
        )
    click.echo(CAUTION, err=True)


def _show_view(door: Door, view: "ItemView", count: "BottleCount | None" = None) -> None:
    mark = door.decimal_mark
    name = "  ".join(part for part in (view.ref, view.facts.get("name", "")) if part)
    click.echo(f"{hyphened(view.id)}  {view.kind}  {name}".rstrip())
    for fact, value in view.facts.items():
        if fact == "bottles" and count:
            click.echo(f"  {bottles_words(count)}")
        elif fact not in ("ref", "name"):
            called = "labelled strength" if fact == "strength" else fact.replace("_", " ")
            click.echo(f"  {called}: {readable(value)}")
    holding = view.holding
    if not holding.mass_mg:
        click.echo("  empty")
        return
    click.echo(
        f"  holds {in_litres(view.volume_ml_20c, mark)} at 20 °C, {door.strength_shown(view)}, "
        f"{in_litres(view.pure_alcohol_ml, mark)} pure alcohol, {shown(holding.mass_mg / 1e6, 3, mark)} kg"
    )


@click.command("stock")
@_AT
@click.option("--kind", type=click.Choice(("cask", "vial", "trial", "batch", "lot")), help="Only this kind.")
@click.option("--place", metavar="PLACE", help="Only at this place.")
@reading
def stock_verb(door: Door, at: str | None, kind: str | None, place: str | None) -> None:
    """List every item that holds liquid.

    \b
    Example:
      pourbook stock
      pourbook stock --kind cask --at 2023-12-31 --json
    """
    from pourbook.book.awaiting import awaited_states

    at_us = door.moment_or_none(at)
    views = [
        view
        for view in door.book.stock(at_us)
        if (kind is None or view.kind == kind) and (place is None or view.facts.get("place") == place)
    ]
    states = awaited_states(door.book.store)
    awaited = {view.id: states.get(view.holding.state, ()) for view in views}
    counts = {view.id: bottles_of(door, view, at_us) for view in views}
    if door.json:
        documents = [view_document(view, awaited[view.id]) | bottles_document(counts[view.id]) for view in views]
        show_json({"items": documents})
        return
    mark = door.decimal_mark
    show_table(
        ("item", "ref", "name", "place", " l at 20 °C", " % vol", " l pure", ""),
        [
            (
                hyphened(view.id),
                view.ref,
                view.facts.get("name") or view.facts.get("wood", ""),
                view.facts.get("place", ""),
                shown(view.volume_ml_20c / 1000, 3, mark),
                strength_shown(view.strength_20c, mark),
                shown(view.pure_alcohol_ml / 1000, 3, mark),
                AWAITED if awaited[view.id] else bottles_words(counts[view.id]),
            )
            for view in views
        ],
    )
    click.echo(CAUTION, err=True)


@click.command("trace")
@item_argument("item")
@click.option("--forward", is_flag=True, help="What it went into, instead of what went into it.")
@click.option("--by", type=click.Choice(("alcohol", "mass", "volume")), default="alcohol", help="Basis of shares.")
@_AT
@click.option("--pours", is_flag=True, help="Every pour on the way, too.")
@click.option("--why", metavar="WHAT", help="How the share of that item, or of 'entry 12', comes about.")
@click.option("--picture", type=click.Path(path_type=Path), metavar="FILE", help="Draw it, too: .svg or .pdf.")
@reading
def trace_verb(
    door: Door, item: str, forward: bool, by: Any, at: str | None, pours: bool, why: str | None, picture: "Path | None"  # noqa: ANN401
) -> None:  # fmt: skip
    """Trace an item back to all that went into it, or forward to all it went into.

    Back, a share is the part of the item that was once in the other one. Forward, it is the part,
    of all that was ever poured into the other one, that had been in this item.

    \b
    Example:
      pourbook trace L-000001-C
      pourbook trace C-000004-B --forward --by mass --json
      pourbook trace L-000001-C --why C-000004-B
      pourbook trace C-000004-B --forward --why L-000001-C
      pourbook trace L-000001-C --picture flow.svg
    """
    if why is not None:
        _show_why(door, item, forward, by, at, why)
        return
    ask = door.book.trace_forward if forward else door.book.trace_back
    trace = ask(item, by, door.moment_or_none(at))
    if picture is not None:
        from pourbook.cli.picture import write_picture

        write_picture(door, trace if by == "alcohol" else ask(item, "alcohol", door.moment_or_none(at)), picture)
    if door.json:
        show_json(trace_document(trace) | ({} if at is None else {"at": written(door.moment(at))}))
        return
    mark = door.decimal_mark
    _show_view(door, trace.item)
    if at is not None:
        click.echo(f"  as of {door.time_shown(door.moment(at))}")
    _show_origins(door, trace)
    click.echo()
    click.echo("what it went into" if forward else "what went into it")
    _show_items(trace, mark)
    if not forward:
        _show_age(door, trace, door.moment_or_none(at))
    if pours:
        click.echo()
        _show_pours(door, trace.pours)
    click.echo(CAUTION, err=True)


def _show_why(door: Door, item: str, forward: bool, by: Any, at: str | None, of: str) -> None:  # noqa: ANN401
    from pourbook.cli.why import asked_about, show_reason

    moment = door.moment_or_none(at)
    if forward:
        show_reason(door, door.book.why(of, item, by, moment, forward=True))
    else:
        show_reason(door, door.book.why(item, asked_about(of), by, moment))


def _show_origins(door: Door, trace: "Trace") -> None:
    if not trace.origins:
        return
    mark = door.decimal_mark
    click.echo()
    click.echo(f"where it came from (shares by {trace.by})")
    show_table(
        (" entry", "origin", "into", "when", " share %", " l pure"),
        [
            (
                str(origin.entry),
                str(origin.facts.get("spirit") or origin.how) + (f" {AWAITED}" if origin.awaited else ""),
                hyphened(origin.into),
                door.time_shown(origin.happened_us),
                percent(origin.share, mark),
                shown(origin.pure_alcohol_ml / 1000, 3, mark),
            )
            for origin in trace.origins
        ],
    )


def _show_items(trace: "Trace", mark: str) -> None:
    back = trace.direction == "back"
    heads = (
        "item",
        "ref",
        "what",
        " share %",
        " on hand l" if back else " now %",
        *(() if back else (" on hand l",)),
    )
    rows = []
    for other in trace.items:
        view = other.item
        what = view.facts.get("name") or view.facts.get("wood") or view.kind
        rest = () if back else (percent(other.share_now, mark),)
        on_hand = shown(view.volume_ml_20c / 1000, 3, mark)
        rows.append((hyphened(view.id), view.ref, what, percent(other.share, mark), *rest, on_hand))
    show_table(heads, rows)


def _show_age(door: Door, trace: "Trace", at_us: int | None) -> None:
    from pourbook.queries.traces.blend import wood_in
    from pourbook.queries.traces.wood_times import age_of, youngest
    from pourbook.times import DAY_US
    from pourbook.words.wood_time_words import age_text

    least, mean = youngest(wood_in(door.book, trace, at_us)), trace.age.mean_us
    click.echo()
    if least is None or mean is None:
        click.echo("wood age: unknown (no age may be stated)")
    else:
        click.echo(f"wood age: {age_text(age_of(least, door.book.zone))}, of the youngest spirit in it")
        click.echo(f"  (mean by pure alcohol {counted(round(mean / DAY_US), 'day')}, which is no age statement)")


def _show_pours(door: Door, pours: "tuple[TracedPour, ...]") -> None:
    mark = door.decimal_mark
    show_table(
        ("when", " entry", "from", "into", " ml at 20 °C", " % vol", "who", "as typed"),
        [
            (
                door.time_shown(pour.happened_us),
                str(pour.entry),
                named(pour.source),
                named(pour.target),
                shown(pour.volume_ml_20c, 1, mark),
                strength_shown(pour.strength_20c, mark),
                pour.who,
                pour.typed,
            )
            for pour in pours
        ],
    )


@click.command("journal")
@click.option("--from", "first", type=int, default=1, metavar="NUMBER", help="First entry.")
@click.option("--to", "last", type=int, default=1 << 62, metavar="NUMBER", help="Last entry.")
@click.option("--item", metavar="ITEM", help="Only what concerns this item.")
@click.option("--at", metavar="TIME", help="Only what had happened by that moment.")
@reading
def journal_verb(door: Door, first: int, last: int, item: str | None, at: str | None) -> None:
    """List the journal: what was recorded, when it happened, by whom, and why.

    \b
    Example:
      pourbook journal --from 100
      pourbook journal --item "Row 3/12" --at 2024-06-30
      pourbook journal --item C-000001-H --json
    """
    from pourbook.book.logged import concerning, journal
    from pourbook.words.entry_words import in_words

    store = door.book.store
    if item is None:
        entries = list(journal(store, first, last))
    else:
        entries = [
            entry for entry in concerning(store, [key_of(door.book.find(item))]) if first <= entry.number <= last
        ]
    until_us = door.moment_or_none(at)
    if until_us is not None:
        entries = [entry for entry in entries if entry.happened_us <= until_us]
    if door.json:
        show_json({"entries": [{**entry.entry, "gone": entry.gone, "hash": entry.hash} for entry in entries]})
        return
    show_table(
        (" entry", "happened", "who", "counts", "what"),
        [
            (
                str(entry.number),
                door.time_shown(entry.happened_us),
                entry.entry["who"],
                f"no: see {entry.gone}" if entry.gone else "yes",
                in_words(entry, door.decimal_mark),
            )
            for entry in entries
        ],
    )
