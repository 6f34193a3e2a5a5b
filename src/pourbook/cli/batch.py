"""Verbs of vat and bottle: scale, batch, dump, bottle."""

from typing import TYPE_CHECKING, Any

import click

from pourbook.book.entries import DISPOSITIONS
from pourbook.cli.asking import ask, expected_of, held_then
from pourbook.cli.door import Door, item_argument, recording, status_options
from pourbook.cli.output import show_json, show_table
from pourbook.cli.record import new_item_id
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, Refused
from pourbook.numerals import shown
from pourbook.words.figure_words import hidden_document, hidden_words, in_litres, percent, strength_shown

if TYPE_CHECKING:
    from pourbook.batches.scale_up import ScalePlan
    from pourbook.book.entries import Gauge
    from pourbook.liquid import Liquid
    from pourbook.quantities import Strength

__all__ = ["batch_verb", "bottle_verb", "dump_verb", "scale_verb"]


@click.command("scale")
@item_argument("trial")
@click.option("--total", metavar="VOLUME", help="Sum of the volumes to pour, heel included, water of --to not.")
@click.option("--final", metavar="VOLUME", help="What the batch shall be, all water in it; in place of --total.")
@click.option("--use", "uses", multiple=True, metavar="COMPONENT=CASK[,CASK]", help="Casks that give a component.")
@click.option("--heel", metavar="BATCH=AMOUNT", help="Liquid left in the vat, carried into this batch.")
@click.option("--to", "to_strength", metavar="STRENGTH", help="Reduce to this strength; the trial's water is left out.")
@click.option("--record", "record_it", is_flag=True, help="Open the batch and record the pours.")
@click.option("--ref", metavar="TEXT", help="The house's own name for the batch.")
@click.option("--name", metavar="TEXT", help="What it is.")
@status_options
@recording
def scale_verb(
    door: Door, trial: str, total: str | None, final: str | None, uses: tuple[str, ...], heel: str | None,
    to_strength: str | None, record_it: bool, ref: str | None, name: str | None,
) -> None:  # fmt: skip
    """Scale a trial to a batch of real casks, in the fractions that were poured.

    A vial stands for the cask it was drawn from, unless --use names others. Without --record it
    only plans. Gauge the batch when it is mixed: pourbook gauge BATCH.

    \b
    Example:
      pourbook scale T-000003-K --total "500 l"
      pourbook scale T-000003-K --final "200 l" --to 46
      pourbook scale T-000003-K --total "500 l" --use V-000003-N=C-000004-B,C-000005-9
          --heel B-000001-Y="60 l" --to 46 --record --ref "Vatting 7"
    """
    from pourbook.batches.scale_up import scaled, scaled_to
    from pourbook.queries.trials.poured import poured_ml

    trace = door.book.trace_back(trial)
    poured = poured_ml(trace)
    whole = sum(poured.values())
    fractions = {component: ml / whole for component, ml in poured.items()}
    casks = _casks(door, fractions, uses)
    heel_of, heel_ml = _heel(door, heel)
    sources = {cask for chosen in casks.values() for cask in chosen} | ({heel_of} if heel_of else set())
    holds = {source: door.book.show(source).holding.liquid for source in sources}
    strength = _vol20(door, to_strength)
    given_heel = (heel_of, heel_ml) if heel_of else None

    def plan_of(total_ml: float) -> "ScalePlan":
        return scaled(fractions, total_ml, casks, holds, given_heel, strength)

    if (total is None) == (final is None):
        raise Malformed("one volume of the batch is needed", "give --total (to pour) or --final (when it is made)")
    if total is not None:
        plan = plan_of(float(door.amount(total).volume_ml))
    else:
        plan = scaled_to(float(door.amount(final or "").volume_ml), plan_of, heel_ml)
    if record_it:
        _record_plan(door, plan, trace.item.id, ref, name)
    elif door.json:
        show_json(_plan_document(plan))
    else:
        _show_plan(door, plan)


def _casks(door: Door, fractions: dict[str, float], uses: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    from pourbook.book.bottles import drawn_from

    chosen: dict[str, tuple[str, ...]] = {}
    for component in fractions:
        if component[0].isupper():
            origin = drawn_from(door.book.store, component) if component[0] == "V" else None
            chosen[component] = (origin[0] if origin else component,)
        elif component != "water":
            raise Refused(f"the trial holds {component}, which is poured into the batch by hand", "leave it for later")
    for use in uses:
        component, equals, names = use.partition("=")
        found = door.book.find(component) if equals else ""
        if found not in chosen:
            raise Malformed(f"'{use}' does not name a component of the trial", "write COMPONENT=CASK,CASK")
        chosen[found] = tuple(door.book.find(name) for name in names.split(","))
    return chosen


def _heel(door: Door, heel: str | None) -> tuple[str, float]:
    if heel is None:
        return "", 0.0
    name, equals, text = heel.rpartition("=")
    if not equals:
        raise Malformed(f"'{heel}' is not BATCH=AMOUNT", "write it like B-000001-Y='60 l' or B-000001-Y=all")
    batch = door.book.show(name)
    amount = door.amount_or_all(text)
    return batch.id, batch.volume_ml_20c if amount is None else float(amount.volume_ml)


def _vol20(door: Door, text: str | None) -> float | None:
    from pourbook.alcoholometry import mass_fraction, strength_from_mass_fraction

    strength = door.strength(text)
    return None if strength is None else strength_from_mass_fraction(mass_fraction(strength))


def _plan_document(plan: "ScalePlan") -> dict[str, Any]:
    from pourbook.alcoholometry import strength_20c, volume_ml

    return {
        "pulls": [
            {
                "source": pull.source, "component": pull.component, "volume_ml_20c": pull.volume_ml,
                "mass_mg": pull.liquid.mass_mg, "ethanol_mg": pull.liquid.ethanol_mg, "left_ml": pull.left_ml,
            }
            for pull in plan.pulls
        ],
        "volume_ml_20c": volume_ml(plan.whole),
        "strength_20c": strength_20c(plan.whole),
        "contraction_ml": plan.contraction_ml,
        **hidden_document(plan.whole),
    }  # fmt: skip


def _show_plan(door: Door, plan: "ScalePlan") -> None:
    from pourbook.alcoholometry import strength_20c, volume_ml

    mark = door.decimal_mark
    whole = sum(pull.volume_ml for pull in plan.pulls)
    pending = door.mark_pending(pull.source for pull in plan.pulls)
    show_table(
        ("pull from", "for", " l at 20 °C", " %", " left l"),
        [
            (
                hyphened(pull.source) if pull.source[0].isupper() else pull.source,
                hyphened(pull.component) if pull.component[0].isupper() else pull.component,
                shown(pull.volume_ml / 1000, 3, mark),
                percent(pull.volume_ml / whole, mark),
                "" if pull.left_ml is None else shown(pull.left_ml / 1000, 3, mark),
            )
            for pull in plan.pulls
        ],
    )
    click.echo(
        f"will be {in_litres(volume_ml(plan.whole), mark)} at {strength_shown(strength_20c(plan.whole), mark)} % vol"
        f"{pending} (contraction {in_litres(plan.contraction_ml, mark)})"
        f"{hidden_words(hidden_document(plan.whole), mark)}"
    )


def _record_plan(door: Door, plan: "ScalePlan", trial: str, ref: str | None, name: str | None) -> None:
    from pourbook.book.entries import Item, Move, Pour

    facts = {"ref": ref, "name": name, "follows": trial}
    with door.book.writing():
        identifier = door.book.next_id("batch")
        moves = tuple(
            Move(pull.source, identifier, pull.liquid.mass_mg, facts={"role": pull.component}) for pull in plan.pulls
        )
        recorded = door.record(
            Item(identifier, {fact: value for fact, value in facts.items() if value}), Pour("vat", moves)
        )
    door.tell(recorded, hyphened(identifier), id=identifier, plan=_plan_document(plan))
    if not door.json:
        _show_plan(door, plan)


@click.command("batch")
@click.argument("ref", required=False)
@click.option("--name", metavar="TEXT", help="What it is.")
@click.option("--follows", metavar="TRIAL", help="The trial it follows.")
@click.option("--place", metavar="TEXT", help="The vat or tank it lies in.")
@click.option("--id", "given", metavar="ID", help="A label printed ahead; else the next number.")
@status_options
@recording
def batch_verb(
    door: Door, ref: str | None, name: str | None, follows: str | None, place: str | None, given: str | None
) -> None:
    """Open a batch: a body of spirit outside casks (a vatting, a tank, a tanker's load).

    \b
    Example:
      pourbook batch "Vatting 7" --place "Vat 2"
    """
    from pourbook.book.entries import Item

    trial = door.book.find(follows) if follows else ""
    facts = {"ref": ref, "name": name, "follows": trial, "place": place}
    with door.book.writing():
        identifier = new_item_id(door, "batch", given)
        recorded = door.record(Item(identifier, {fact: value for fact, value in facts.items() if value}))
    door.tell(recorded, hyphened(identifier), id=identifier)


@click.command("dump")
@item_argument("batch")
@item_argument("casks", many=True)
@click.option("--total", metavar="AMOUNT", help="What the vat measured of all of them together.")
@click.option("--strength", metavar="STRENGTH", help="Of the vat, where --total is a volume.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of that volume; 20 °C by default.")
@status_options
@recording
def dump_verb(
    door: Door,
    batch: str,
    casks: tuple[str, ...],
    total: str | None,
    strength: str | None,
    temperature: str | None,
) -> None:
    """Dump casks whole into a batch.

    With --total, what the vat measured stands: liquid and pure alcohol are shared out over the casks by
    what the book expected of each. Each cask is gauged to its share, so its difference from the book is
    its gain or loss.

    \b
    Example:
      pourbook dump B-000001-Y C-000001-H C-000002-F
      pourbook dump B-000001-Y C-000001-H C-000002-F --total "392 l" --strength 60.8 --temperature 13
    """
    from pourbook.book.entries import Gauge, Move, Pour

    target = door.book.find(batch)
    sources = [door.book.find(cask) for cask in casks]
    gauges: list[Gauge] = []
    if total is not None:
        if strength is not None and door.book.show(target).holding.mass_mg:
            raise Refused(
                "the vat held something before, so its strength is not that of the casks",
                "leave --strength out and gauge the batch once it is mixed",
            )
        gauges = _gauged_by_vat(door, sources, total, strength, temperature)
    elif strength is not None or temperature is not None:
        raise Malformed("a strength or temperature of the vat without its total", "give --total, or gauge the batch")
    recorded = door.record(*gauges, Pour("dump", tuple(Move(cask, target, None) for cask in sources)))
    view = door.book.show(target)
    mark = door.decimal_mark
    door.tell(
        recorded,
        f"{hyphened(target)} holds {in_litres(view.volume_ml_20c, mark)}, {door.strength_shown(view)}",
        id=target,
    )


def _gauged_by_vat(
    door: Door, casks: list[str], total: str, strength: str | None, temperature: str | None
) -> "list[Gauge]":
    """Each cask as it must have been, by what the vat measured of all of them."""
    from pourbook.alcoholometry.apparent import composition_of_liquid
    from pourbook.batches.dumping import in_vat, shared_out
    from pourbook.book.entries import Gauge
    from pourbook.gauging.as_typed import kept_amount, kept_strength

    holds = {cask: held_then(door, cask) for cask in casks}
    amount, read, at_c = door.amount(total), door.strength(strength), door.temperature(temperature)
    vat_share = {"total": kept_amount(amount)} | ({"strength": kept_strength(read)} if read else {})
    whole = in_vat(amount, read, at_c, holds)
    _ask_of_vat(door, amount.typed, read, whole, casks)
    return [
        Gauge(cask, share.mass_mg, None, reading={"vat_share": vat_share})
        if read is None
        else Gauge(
            cask,
            share.mass_mg,
            None,
            reading={"vat_share": vat_share},
            mass_fraction=composition_of_liquid(share).mass_fraction,
        )
        for cask, share in shared_out(whole, holds).items()
    ]


def _ask_of_vat(door: Door, typed: str, read: "Strength | None", whole: "Liquid", casks: list[str]) -> None:
    """Ask about a total or a strength that the casks can hardly have given."""
    from pourbook.alcoholometry import mix, strength_20c, volume_ml
    from pourbook.gauging.slips import Expected, question, strength_question

    expected = [expected_of(door, cask) for cask in casks]
    all_of_them = Expected(sum(cask.held_ml for cask in expected), years=max(cask.years for cask in expected))
    ask(door, question(typed, volume_ml(whole), all_of_them, door.decimal_mark))
    percent, held = strength_20c(whole), strength_20c(mix([held_then(door, cask) for cask in casks]))
    if read is not None and percent is not None:
        ask(door, strength_question(read, percent, held, door.decimal_mark))


@click.command("bottle")
@item_argument("batch")
@click.option("--count", required=True, type=int, metavar="NUMBER", help="Bottles filled.")
@click.option("--size", required=True, metavar="VOLUME", help="Nominal content of one: '700 ml'.")
@click.option("--ref", metavar="TEXT", help="The house's own name for the lot.")
@click.option("--name", metavar="TEXT", help="What is on the label.")
@click.option("--lot-mark", metavar="TEXT", help="The statutory mark on the bottle: 'L26-118'.")
@click.option("--loss", "losses", multiple=True, metavar="DISPOSITION=AMOUNT", help="Lost on the way: line='3 l'.")
@click.option("--empties", is_flag=True, help="The vat is empty afterwards; the rest is lost on the line.")
@click.option("--closure", metavar="TEXT", help="Closures used: kind, supplier, their lot.")
@click.option("--bottle-lot", metavar="TEXT", help="Bottles used: the same.")
@click.option("--label", metavar="TEXT", help="Labels used: the same.")
@status_options
@recording
def bottle_verb(
    door: Door, batch: str, count: int, size: str, ref: str | None, name: str | None, lot_mark: str | None,
    losses: tuple[str, ...], empties: bool, **dry_goods: str | None,
) -> None:  # fmt: skip
    """Bottle a batch as a lot: so many bottles of a nominal content at 20 °C, and what was lost.

    \b
    Example:
      pourbook bottle B-000001-Y --count 690 --size "700 ml" --name "Orchard Vatting"
          --lot-mark L26-118 --loss filter="1.2 l" --empties
    """
    from pourbook.batches.bottling import bottled
    from pourbook.book.entries import Item, Move, Pour

    view = door.book.show(batch)
    size_ml = float(door.amount(size).volume_ml)
    liquid = bottled(view.holding.liquid, count, size_ml)
    facts = {
        "ref": ref, "name": name or view.facts.get("name"), "lot_mark": lot_mark, "bottles": str(count),
        "size_ml": f"{size_ml:g}", "labelled_strength": strength_shown(view.strength_20c),
        **dry_goods,
    }  # fmt: skip
    with door.book.writing():
        identifier = door.book.next_id("lot")
        moves = [Move(view.id, identifier, liquid.mass_mg, facts={"bottles": count})]
        moves += [_loss(door, view.id, text) for text in losses]
        recorded = door.record(
            Item(identifier, {fact: value for fact, value in facts.items() if value}),
            Pour("bottle", tuple(moves)),
        )
        if empties and door.book.show(view.id).holding.mass_mg:
            rest = Move(view.id, "loss", None, facts={"disposition": "line"})
            door.record(Pour("bottle", (rest,)))
    strength = door.strength_shown(view)
    door.tell(recorded, hyphened(identifier), f"{count} bottles at {strength} by the book", id=identifier)


def _loss(door: Door, source: str, text: str) -> Any:  # noqa: ANN401
    from pourbook.book.entries import Move

    disposition, equals, amount = text.partition("=")
    if not equals or disposition not in DISPOSITIONS:
        raise Malformed(f"'{text}' is not DISPOSITION=AMOUNT", f"dispositions are: {', '.join(DISPOSITIONS)}")
    facts: dict[str, str | int] = {"disposition": disposition}
    return Move(source, "loss", door.amount_or_all(amount), facts=facts)
