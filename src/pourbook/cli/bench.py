"""Verbs of the bench: recipe, trial, pour."""

from typing import TYPE_CHECKING, Any

import click

from pourbook.bench.components import PURE_ALCOHOL
from pourbook.cli.door import Door, recording
from pourbook.cli.options import item_argument, list_options, options, pair, status_options
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.actions.pouring_session import PouringSession
    from pourbook.book.entries import RecipePart
    from pourbook.queries.trials.revised_parts import PartChange

__all__ = ["pour_verb", "recipe_verb", "trial_verb"]

_PARTS = click.option(
    "--part", "parts", multiple=True, metavar="NAME=PARTS[:ROLE]",
    help="An item, or a component by its name; PARTS is 7, '4 in 2..5' with bounds, 20..30, or '4 fixed'.",
)  # fmt: skip
_BY = click.option(
    "--by", type=click.Choice(("volume", PURE_ALCOHOL)), help="What parts are of; default: volumes as poured."
)


_RATIO = click.option(
    "--ratio", "ratios", multiple=True, metavar="NAME:NAME", help="Parts that keep their ratio while others change."
)


def _parts(typed: tuple[str, ...], ratios: tuple[str, ...]) -> "list[RecipePart]":
    """Parts as typed, with the numbers of the ratios that they are kept in."""
    from pourbook.texts import lookup_form

    parts = [_part(text) for text in typed]
    for number, text in enumerate(ratios, start=1):
        kept = {lookup_form(name) for name in text.split(":")}
        found = {lookup_form(one.component) for one in parts} & kept
        if len(kept) < 2 or found != kept:
            raise Malformed(f"'{text}' does not name two parts or more", "write them as in --part: 'Oak base:Ash base'")
        parts = [one._replace(ratio=number) if lookup_form(one.component) in kept else one for one in parts]
    return parts


def _by(chosen: str | None) -> str:
    return PURE_ALCOHOL if chosen == PURE_ALCOHOL else ""


def _part(text: str) -> "RecipePart":
    from pourbook.book.entries import RecipePart

    name, rest = pair(text, "NAME=PARTS", "V-000003-N=7 or water=10", at_last=True)
    amount, _, role = rest.partition(":")
    return RecipePart(name, amount.strip(), role.strip())


@click.command("recipe")
@click.argument("name", required=False)
@_PARTS
@_BY
@_RATIO
@click.option("--list", "lists", is_flag=True, help="List the recipes.")
@click.option("--revised-from", metavar="NAME", default="", help="The recipe it was revised from.")
@recording
def recipe_verb(
    door: Door, name: str | None, parts: tuple[str, ...], ratios: tuple[str, ...], lists: bool, revised_from: str,
    by: str | None,
) -> None:  # fmt: skip
    """Write a recipe (with --part), or show it (without), or list them all.

    Parts are by volume as poured, or --by pure-alcohol, and need not add up to 100. Bounds are parts of
    the same whole; they are shown where the blend is planned, poured, compared and scaled up, and prevent
    nothing. Parts by pure alcohol have none, and their volumes follow from the strengths of what is poured.

    \b
    Example:
      pourbook recipe "Ostrewick no. 2" --part V-000001-R=70:base --part V-000002-P=20..26
          --part "V-000003-N=7 in 5..8:accent"
      pourbook recipe "Ostrewick no. 2"
      pourbook recipe --list
    """
    from pourbook.documents.trials import recipe_shown, recipe_written_shown, recipes_shown

    if lists:
        from pourbook.queries.trials.trial_list import recipes

        door.show(recipes_shown(recipes(door.book), door.style))
        return
    if not name:
        raise Malformed("a recipe has a name", "give it, or --list for all")
    if not parts:
        from pourbook.queries.trials.trial_plan import recipe_card

        door.show(recipe_shown(recipe_card(door.book, name), door.style))
        return
    from pourbook.actions.composing import write_recipe

    answer = write_recipe(door.book, door.how, name, _parts(parts, ratios), revised_from, _by(by))
    door.show(recipe_written_shown(answer, door.style))


_chosen = options(
    click.option("--with", "having", multiple=True, metavar="PART RANGE", help="List those with so many % of it."),
    click.option("--word", metavar="TEXT", default="", help="List those with this in a note or name."),
    click.option("--score", metavar="RANGE", help="List those with a mean score in it: 80.., 60..70."),
    click.option("--since", metavar="TIME", help="List those composed then or later."),
    click.option("--until", metavar="TIME", help="List those composed by then (a day counts to its end)."),
    click.option("--family", metavar="TRIAL", default="", help="List those of the family of a trial or recipe."),
)
_OF_LISTS = ("having", "word", "score", "since", "until", "family")


@click.command("trial")
@click.option("--recipe", metavar="NAME", default="", help="The recipe it follows; with --part, its name.")
@_PARTS
@_BY
@_RATIO
@click.option("--use", "uses", multiple=True, metavar="COMPONENT=ITEM", help="The vial for a component of the recipe.")
@click.option("--change", "changes", multiple=True, metavar="ITEM=±PARTS", help="What is other than in --revised-from.")
@click.option("--total", metavar="VOLUME", help="Sum of the volumes to pour; default: 100 ml, or as --revised-from.")
@click.option("--to", "to_strength", metavar="STRENGTH", help="Compute the water to this strength.")
@click.option("--ref", metavar="TEXT", default="", help="The house's own name for it.")
@click.option("--name", metavar="TEXT", default="", help="What it is meant to be.")
@click.option("--revised-from", metavar="TRIAL", default="", help="The trial it was revised from.")
@click.option("--id", "given", metavar="ID", help="A label printed ahead; default: the next number.")
@click.option("--list", "lists", is_flag=True, help="List the trials: strength, cost, age, scores, latest notes.")
@_chosen
@list_options
@recording
def trial_verb(
    door: Door, recipe: str, parts: tuple[str, ...], ratios: tuple[str, ...], uses: tuple[str, ...],
    changes: tuple[str, ...], total: str | None, by: str | None, to_strength: str | None, revised_from: str,
    lists: bool, everything: bool, limit: int | None, **about: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Compose a trial: give it a number, and say what to pour.

    With --change, only what differs is named: an item, or a word of its wood or role, and how many parts
    more or less it gets than in the trial it was revised from; without, its parts are taken as they are.

    With --list, --with takes a component of the house, a cask, water, or words of spirit, wood or previous
    contents, and its range in per cent as poured: "chestnut 5..15", "water ..20". With --who, trials that
    this person composed or tasted are listed; with --word or --score, by this person's notes alone.

    A recipe may be written on components (pourbook component): --use names the vial for each.

    With --to, water of the recipe is left out and as much is computed as reaches that strength: the
    total is met, and the other parts keep their proportions.

    \b
    Example:
      pourbook trial --recipe "Ostrewick no. 2" --total "100 ml"
      pourbook trial --recipe "Ostrewick no. 2" --total "100 ml" --to 46
      pourbook trial --recipe Autumn --use "Chestnut accent=V-000003-N"
      pourbook trial --part V-000001-R=92 --part V-000003-N=8 --revised-from T-000002-M
      pourbook trial --revised-from T-000002-M --change chestnut=-2 --change V-000005-J=+2
      pourbook trial --list
      pourbook trial --list --with "chestnut 5..15" --with "water 10.." --score 80..
      pourbook trial --list --word "short finish" --who "Isla Farrow" --since 2026-01-01 --family T-000002-M
    """
    from pourbook.actions.composing import TrialFacts, compose_trial, revise_trial
    from pourbook.documents.trials import composed_shown

    list_of = {name: about.pop(name) for name in _OF_LISTS}
    if lists:
        _list_trials(door, list_of, door.most(limit, everything=everything))
        return

    if any(list_of.values()):
        raise Malformed("what narrows a list needs one", "add --list")
    taken = dict(pair(text, "COMPONENT=ITEM", "'Chestnut accent=V-000003-N'", at_last=True) for text in uses)
    told = TrialFacts(about["ref"], about["name"], revised_from, about["given"], door.strength(to_strength))
    if changes or (revised_from and not parts and not recipe):
        if parts or not revised_from:
            raise Malformed("--change is of another trial", "name it with --revised-from, and leave --part out")
        wanted = door.style.amount(total) if total else None
        changed = [_change(text) for text in changes]
        answer = revise_trial(door.book, door.how, revised_from, changed, wanted, recipe, told, taken)
    else:
        components = _parts(parts, ratios)
        wanted = door.style.amount(total or "100 ml")
        answer = compose_trial(door.book, door.how, wanted, recipe, components, told, taken, _by(by))
    door.show(composed_shown(answer, door.style))


def _list_trials(door: Door, asked: dict[str, Any], most: int | None) -> None:
    """The trials that answer, or so many of the last."""
    from pourbook.documents.trials import trials_shown
    from pourbook.queries.trials.chosen_trials import PartWanted, Wanted
    from pourbook.queries.trials.trial_list import trials

    style = door.style
    wanted = Wanted(
        tuple(PartWanted.of(text, style) for text in asked["having"]),
        asked["word"],
        door.options.get("who") or "",
        None if asked["score"] is None else style.between(asked["score"]),
        None if asked["since"] is None else style.moment(asked["since"]),
        style.as_of(asked["until"]),
        asked["family"],
    )
    door.show_list(trials_shown(trials(door.book, most, wanted), style), most, "last")


def _change(text: str) -> "PartChange":
    from pourbook.queries.trials.revised_parts import PartChange

    return PartChange(*pair(text, "ITEM=±PARTS", "chestnut=-2 or V-000003-N=+2", at_last=True))


@click.command("pour")
@item_argument("target")
@click.argument("pours", nargs=-1, metavar="[SOURCE AMOUNT]…")
@click.option("--strength", metavar="STRENGTH", help="Of the source as read; needed from 'origin'.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the volume; default: 20 °C.")
@click.option("--received", metavar="AMOUNT", help="Amount received, if it was measured too.")
@click.option("--about", metavar="TEXT", help="What water or additive it is: kind, lot, document.")
@click.option("--redistilled", is_flag=True, help="It was redistilled on the way: its wood age ends.")
@click.option("--balance", is_flag=True, help="Amounts are what the balance shows, the empty glass first.")
@status_options
@recording
def pour_verb(
    door: Door, target: str, pours: tuple[str, ...], strength: str | None, temperature: str | None,
    received: str | None, about: str | None, redistilled: bool, balance: bool,
) -> None:  # fmt: skip
    """Pour into TARGET from one or more sources: items, 'water', 'additive' or 'origin'.

    Without sources it reads lines as a scanner sends them: a source, then an amount, each with
    Enter (or both on one line). Every pour is recorded at once and compared with the plan of a
    trial or batch: what is still to go, or a warning if it is too much or not in the plan. For a
    batch, a scan says how much to take, and where a cask gives less or more than planned, what
    the others and the water must be. A cask that is not in the plan of a batch, on hold, spent, or
    for another one is stopped as it is scanned, with bell and colour; 'confirm' pours it all the
    same, as not planned. An amount may also be '118.2 l at 13' (°C), 'gross 252.4
    tare 48.2' (kg) or 'all'; 'and empty' after it says that it was all there was. Words in place
    of a source:

    \b
      ?             the plan, what the glass holds, what the blend is, what it costs, how old it is
      undo          void the last pour
      tasted 5 ml   what was tasted of the blend, or spilled; SOURCE spilled 2 ml of a glass
      left 12 ml    what is really left in the glass scanned last; empty: nothing is
      again         the same glass and amount a second time
      confirm       a line that was queried
      replan        for a batch: a new plan for the casks still closed; accept keeps it
      done          the end, as the end of input

    With --balance, type what the balance shows, in g, without taring between pours: the first
    reading is that of the empty glass (0 if it was tared). A scan says where to stop. After a loss:
    'spilled' or 'tasted' and what it shows; after taring: 'zero 0'.

    \b
    Example:
      pourbook pour T-000002-M
      pourbook pour T-000002-M V-000001-R "70 ml" V-000003-N 7
      pourbook pour B-000002-W --temperature 13
      pourbook pour B-000002-W B-000001-Y "120 l" --reason "heel"
      pourbook pour B-000002-W water "312 l" --temperature 12
    """
    from pourbook.actions.pouring import PourDetails, pour
    from pourbook.documents.sessions import poured_shown

    style = door.style
    details = PourDetails(
        style.strength(strength) if strength else None,
        style.celsius(temperature),
        style.amount(received) if received else None,
        redistilled,
        {"about": about} if about else {},
        door.status,
    )
    if not pours:
        from pourbook.actions.pouring_session import PouringSession

        _scanned(door, PouringSession(door.book, door.how, target, details, balance=balance), balance=balance)
        return
    if len(pours) % 2:
        raise Malformed("the last source has no amount", "give SOURCE AMOUNT, SOURCE AMOUNT …")
    named = [(source, style.amount_or_all(amount)) for source, amount in zip(pours[::2], pours[1::2], strict=True)]
    door.show(poured_shown(pour(door.book, door.how, target, named, details), style))


def _scanned(door: Door, session: "PouringSession", *, balance: bool) -> None:
    """Pour as the lines of standard input say, after showing the plan."""
    from pourbook.documents.sessions import scanned_shown

    if balance:
        door.tell(["put the empty glass on the balance and type what it shows, in g (0 if tared)"])
    door.tell(scanned_shown(session.begin(), door.style).notes)
    door.take_lines(session.scan, scanned_shown)
