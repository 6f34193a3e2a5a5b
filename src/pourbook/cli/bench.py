"""Verbs of the bench: recipe, trial, pour, compare, family."""

import sys
from typing import TYPE_CHECKING, Any

import click

from pourbook.actions.new_item import new_item
from pourbook.cli.door import Door, item_argument, reading, recording, status_options
from pourbook.cli.output import show_json, show_table
from pourbook.codes.identifiers import hyphened, plain
from pourbook.errors import Malformed
from pourbook.numerals import shown
from pourbook.words.figure_words import hidden_document, hidden_words, in_litres, named, percent, strength_shown

if TYPE_CHECKING:
    from pourbook.bench.trials import PlannedPour
    from pourbook.book.entries import Recipe, RecipePart

__all__ = ["compare_verb", "family_verb", "pour_verb", "recipe_verb", "trial_verb"]

_PARTS = click.option(
    "--part", "parts", multiple=True, metavar="ITEM=PARTS", help="A component: ITEM=PARTS or ITEM=PARTS:ROLE."
)


def _recipe_parts(door: Door, parts: tuple[str, ...]) -> "tuple[RecipePart, ...]":
    from pourbook.bench.trials import fractions
    from pourbook.book.entries import RecipePart

    found = []
    for text in parts:
        name, equals, rest = text.rpartition("=")
        if not equals:
            raise Malformed(f"'{text}' is not ITEM=PARTS", "write it like V-000003-N=7 or water=10")
        amount, _, role = rest.partition(":")
        component = "water" if name.strip().lower() == "water" else door.book.find(name)
        found.append(RecipePart(component, amount.strip(), role.strip()))
    fractions(((part.component, part.parts) for part in found), door.decimal_mark)
    return tuple(found)


@click.command("recipe")
@click.argument("name")
@_PARTS
@click.option("--revised-from", metavar="NAME", default="", help="The recipe it was revised from.")
@recording
def recipe_verb(door: Door, name: str, parts: tuple[str, ...], revised_from: str) -> None:
    """Write a recipe (with --part), or show it (without).

    Parts are by volume and need not add to 100.

    \b
    Example:
      pourbook recipe "Orchard no. 2" --part V-000001-R=70:base --part V-000002-P=23
          --part V-000003-N=7:accent
      pourbook recipe "Orchard no. 2"
    """
    from pourbook.book.entries import Recipe
    from pourbook.book.logged import recipe

    if parts:
        if revised_from:
            recipe(door.book.store, revised_from)
        written = Recipe(name, _recipe_parts(door, parts), revised_from)
        door.tell(door.record(written), f"recipe {name}: {len(written.parts)} components", recipe=name)
        return
    entry = recipe(door.book.store, name)
    if door.json:
        body = entry.entry["body"]
        show_json({"entry": entry.number, **body, "name": plain(body["name"])})
        return
    from pourbook.bench.trials import fractions

    body = entry.entry["body"]
    shares = fractions(((part["component"], part["parts"]) for part in body["parts"]), door.decimal_mark)
    show_table(
        ("component", " parts", " %", "role"),
        [
            (named(part["component"]), part["parts"], percent(float(shares[part["component"]]), door.decimal_mark),
             part.get("role", ""))
            for part in body["parts"]
        ],
    )  # fmt: skip


@click.command("trial")
@click.option("--recipe", "recipe_name", metavar="NAME", help="The recipe it follows; with --part, its name.")
@_PARTS
@click.option("--total", default="100 ml", metavar="VOLUME", help="Sum of the volumes to pour; 100 ml by default.")
@click.option("--ref", metavar="TEXT", help="The house's own name for it.")
@click.option("--name", metavar="TEXT", help="What it is meant to be.")
@click.option("--revised-from", metavar="TRIAL", help="The trial it was revised from.")
@click.option("--id", "given", metavar="ID", help="A label printed ahead; else the next number.")
@recording
def trial_verb(
    door: Door, recipe_name: str | None, parts: tuple[str, ...], total: str, ref: str | None, name: str | None,
    revised_from: str | None, given: str | None,
) -> None:  # fmt: skip
    """Compose a trial: give it a number, and say what to pour.

    \b
    Example:
      pourbook trial --recipe "Orchard no. 2" --total "100 ml"
      pourbook trial --part V-000001-R=92 --part V-000003-N=8 --revised-from T-000002-M
    """
    from pourbook.book.entries import Item, Recipe
    from pourbook.book.logged import recipe

    if not recipe_name and not parts:
        raise Malformed("a trial follows a recipe", "give --recipe NAME, or its components with --part")
    volume = door.amount(total)
    parent = door.book.find(revised_from) if revised_from else ""
    with door.book.writing():
        identifier = new_item(door.book, "trial", given)
        written = Recipe(recipe_name or hyphened(identifier), _recipe_parts(door, parts)) if parts else None
        about = {
            "ref": ref, "name": name, "revised_from": parent, "total": volume.typed,
            "follows": written.name if written else recipe(door.book.store, recipe_name or "").entry["body"]["name"],
        }  # fmt: skip
        opened = Item(identifier, {fact: value for fact, value in about.items() if value})
        plan = _plan(door, written, recipe_name, float(volume.volume_ml))
        recorded = door.record(*([written] if written else []), opened)
    door.tell(recorded, hyphened(identifier), id=identifier, plan=_plan_document(plan), mix=_mix_document(plan))
    if not door.json:
        _show_plan(door, plan)
        click.echo(f"print it: pourbook sheet {hyphened(identifier)} -o bench.pdf", err=True)


def _plan(door: Door, written: "Recipe | None", recipe_name: str | None, total_ml: float) -> "tuple[PlannedPour, ...]":
    from pourbook.bench.trials import planned
    from pourbook.book.logged import recipe
    from pourbook.queries.trials.trial_plan import holds_of, parts_of

    store = door.book.store
    parts = written.parts if written is not None else parts_of(recipe(store, recipe_name or ""))
    holds = holds_of(store, (part.component for part in parts))
    return planned([(part.component, part.parts) for part in parts], total_ml, holds, door.decimal_mark)


def _plan_document(plan: "tuple[PlannedPour, ...]") -> list[dict[str, Any]]:
    return [
        {
            "component": pour.component,
            "fraction": float(pour.fraction),
            "volume_ml_20c": pour.volume_ml,
            "mass_mg": pour.liquid.mass_mg,
            "left_ml": pour.left_ml,
        }
        for pour in plan
    ]


def _mix_document(plan: "tuple[PlannedPour, ...]") -> dict[str, Any]:
    from pourbook.alcoholometry import contraction_ml, mix, strength_20c, volume_ml

    parts = [pour.liquid for pour in plan]
    whole = mix(parts)
    return {
        "strength_20c": strength_20c(whole),
        "volume_ml_20c": volume_ml(whole),
        "contraction_ml": contraction_ml(parts),
        "mass_mg": whole.mass_mg,
        **hidden_document(whole),
    }


def _show_plan(door: Door, plan: "tuple[PlannedPour, ...]") -> None:
    mark = door.decimal_mark
    rows, running_ml, running_g = [], 0.0, 0.0
    for pour in plan:
        running_ml += pour.volume_ml
        running_g += pour.liquid.mass_mg / 1000
        rows.append(
            (
                named(pour.component),
                percent(float(pour.fraction), mark),
                shown(pour.volume_ml, 2, mark),
                shown(running_ml, 2, mark),
                shown(running_g, 2, mark),
            )
        )
    show_table(("pour", " %", " ml", " together ml", " together g"), rows)
    mix, pending = _mix_document(plan), door.mark_pending(pour.component for pour in plan)
    click.echo(
        f"will be {in_litres(mix['volume_ml_20c'], mark)} at {strength_shown(mix['strength_20c'], mark)} % vol"
        f"{pending} (contraction {shown(mix['contraction_ml'], 2, mark)} ml){hidden_words(mix, mark)}"
    )


# -- pouring ---------------------------------------------------------------------------


@click.command("pour")
@item_argument("target")
@click.argument("pours", nargs=-1, metavar="[SOURCE AMOUNT]…")
@click.option("--strength", metavar="STRENGTH", help="Of the source as read; needed from 'origin'.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the volume; 20 °C by default.")
@click.option("--received", metavar="AMOUNT", help="What arrived, where it was measured too.")
@click.option("--about", metavar="TEXT", help="What water or additive it is: kind, lot, document.")
@click.option("--redistilled", is_flag=True, help="It went through the still on the way: its wood age ends.")
@click.option("--balance", is_flag=True, help="Amounts are what the balance shows, the empty glass first.")
@status_options
@recording
def pour_verb(
    door: Door, target: str, pours: tuple[str, ...], strength: str | None, temperature: str | None,
    received: str | None, about: str | None, redistilled: bool, balance: bool,
) -> None:  # fmt: skip
    """Pour into TARGET from one source or several: items, 'water', 'additive' or 'origin'.

    Without sources it reads lines as a scanner sends them: a source, then an amount, each with
    Enter (or both on one line). Every pour is recorded at once, and set beside the plan of a
    trial: what is still to go, or a warning where it is more. '?' says what the glass holds, what
    the blend is, what it costs and how old it is. '= 12 ml' says what the last glass scanned
    really holds, '=' that it is empty. The same glass and amount a second time are asked about:
    'again' records them. 'done' or the end of input ends.

    With --balance amounts are what the balance shows, in g, not tared between pours: the first
    reading is that of the empty glass (0 if it was tared).

    \b
    Example:
      pourbook pour T-000002-M
      pourbook pour T-000002-M V-000001-R "70 ml" V-000003-N 7
      pourbook pour B-000002-W B-000001-Y "120 l" --reason "heel"
      pourbook pour B-000002-W water "312 l" --temperature 12
    """
    from pourbook.cli.pouring import Pouring

    pouring = Pouring(
        door,
        door.book.find(target),
        strength=door.strength(strength),
        temperature_c=door.temperature(temperature),
        received=door.amount(received) if received else None,
        facts=_about(about),
        redistilled=redistilled,
    )
    if not pours:
        from pourbook.cli.scanning import Scanning

        Scanning(pouring, balance=balance).run(sys.stdin)
        return
    if len(pours) % 2:
        raise Malformed("a source without its amount", "give SOURCE AMOUNT, SOURCE AMOUNT …")
    pouring.all_at_once(list(zip(pours[::2], pours[1::2], strict=True)))


def _about(about: str | None) -> dict[str, str]:
    """What else is to be said of a pour."""
    return {"about": about} if about else {}


# -- comparing -------------------------------------------------------------------------


@click.command("compare")
@item_argument("first")
@item_argument("second")
@click.option("--at", metavar="TIME", help="As of that moment; now by default.")
@reading
def compare_verb(door: Door, first: str, second: str, at: str | None) -> None:
    """Show how two trials differ: fractions as poured, strength, cost, youngest age.

    \b
    Example:
      pourbook compare T-000002-M T-000003-K
      pourbook compare T-000002-M T-000003-K --at 2026-06-30 --json
    """
    from pourbook.alcoholometry import strength_20c
    from pourbook.bench.trials import differences
    from pourbook.cli.blends import blend_document, blend_words
    from pourbook.queries.traces.blend import blend_of
    from pourbook.queries.trials.poured import poured_ml

    blends = [blend_of(door.book, item, door.moment_or_none(at)) for item in (first, second)]
    traces = [blend.trace for blend in blends]
    found = differences(*(poured_ml(trace) for trace in traces))
    if door.json:
        show_json(
            {
                "first": traces[0].item.id,
                "second": traces[1].item.id,
                "components": [
                    {"id": row.component, "first": row.first, "second": row.second, "change": row.change}
                    for row in found
                ],
                "summaries": [
                    {
                        **blend.told._asdict(),
                        "strength_20c": strength_20c(blend.trace.held),
                        **blend_document(door, blend),
                    }
                    for blend in blends
                ],
            }
        )
        return
    mark = door.decimal_mark
    heads = ("component", "ref", *(f" {hyphened(trace.item.id)} %" for trace in traces), " change")
    rows = []
    for row in found:
        ref = door.book.show(row.component).ref if row.component[0].isupper() else ""
        sign = "+" if row.change > 0 else ""
        change = f"{sign}{shown(row.change * 100, 2, mark)}"
        rows.append((named(row.component), ref, percent(row.first, mark), percent(row.second, mark), change))
    show_table(heads, rows)
    for blend in blends:
        view = blend.view
        strength = f"{strength_shown(view.strength_20c, mark)} % vol, " if view.holding.mass_mg else ""
        pending = "; PROVISIONAL, strength pending" if blend.told.provisional else ""
        click.echo(f"{hyphened(view.id)}: {strength}{blend_words(door, blend)}{pending}")


@click.command("family")
@item_argument("trial")
@reading
def family_verb(door: Door, trial: str) -> None:
    """Show what a trial was revised from, and what was revised from it.

    \b
    Example:
      pourbook family T-000005-G
    """
    from pourbook.queries.trials.poured import family

    identifier = door.book.find(trial)
    found = family(door.book.store, identifier)
    if door.json:
        show_json({"id": identifier, "revised_from": list(found.ancestors), "revisions": list(found.revisions)})
        return
    line = [*reversed(found.ancestors), identifier]
    for depth, one in enumerate(line):
        mark = " <- this one" if one == identifier else ""
        click.echo(f"{'  ' * depth}{hyphened(one)}  {door.book.show(one).facts.get('name', '')}{mark}".rstrip())
    for child in found.revisions:
        click.echo(f"{'  ' * len(line)}{hyphened(child)}  {door.book.show(child).facts.get('name', '')}".rstrip())
