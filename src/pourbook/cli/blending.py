"""The verb blending: guests compose blends from a shared table, taste them blind, and choose one."""

from pathlib import Path

import click

from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import FORCE, PAPER, options, pair

__all__ = ["blending_verb"]

_paper_of_evening = options(
    click.argument("name"),
    click.option("-o", "--output", type=click.Path(path_type=Path), required=True, metavar="FILE", help="The PDF."),
    PAPER,
    FORCE,
)


@click.group("blending")
def blending_verb() -> None:
    """Blend with guests: each composes from shared vials within bounds, all taste blind, and choose.

    \b
    Example:
      pourbook blending open Autumn --recipe "On the table" --guest "Isla Farrow" --guest "Tomas Reeve"
          --blend "40 ml" --glass "5 ml" --to 21
      pourbook blending show Autumn
    """


def _pairs(texts: tuple[str, ...]) -> dict[str, str]:
    return dict(pair(text, "NAME=VALUE", "'S 26-04=5'", at_last=True) for text in texts)


@blending_verb.command("open")
@click.argument("name")
@click.option("--recipe", required=True, metavar="NAME", help="Its components and bounds are the rules.")
@click.option("--use", "uses", multiple=True, metavar="COMPONENT=ITEM", help="The vial on the table for a component.")
@click.option("--guest", "guests", multiple=True, required=True, metavar="NAME", help="Who composes and tastes.")
@click.option("--blend", "total", required=True, metavar="VOLUME", help="Of each guest's blend.")
@click.option("--glass", "amount", default="5 ml", metavar="VOLUME", help="Of each blend in a glass; default: 5 ml.")
@click.option("--to", "strength", metavar="STRENGTH", help="Reduce the glasses to it: 20 to 23 % vol is common.")
@click.option("--swallow", "swallowed", is_flag=True, help="Assume no spittoon: the lower limit counts.")
@recording
def open_verb(
    door: Door, name: str, recipe: str, guests: tuple[str, ...], uses: tuple[str, ...], total: str, amount: str,
    strength: str | None, *, swallowed: bool,
) -> None:  # fmt: skip
    """Open a blending session: what stands on the table, within which bounds, for whom.

    Whatever the guests choose within the bounds, the vials must suffice for all of them. Pure alcohol in a
    guest's own blend and in the glasses is summed; more than the house's limit is queried.

    \b
    Example:
      pourbook recipe "On the table" --part "S 26-01=80 in 50..90" --part "S 26-02=15 in 5..40"
          --part "S 26-04=5 in 0..15"
      pourbook blending open Autumn --recipe "On the table" --guest "Isla Farrow" --guest "Tomas Reeve"
          --blend "40 ml" --glass "5 ml" --to 21
    """
    from pourbook.actions.guest_blending import Evening
    from pourbook.documents.blendings import blending_opened_shown

    style = door.style
    sizes = style.amount(total), style.amount(amount), door.strength(strength)
    answer = door.book.open_blending(door.how, name, Evening(recipe, guests, *sizes, _pairs(uses), swallowed))
    door.show(blending_opened_shown(answer, style))


@blending_verb.command("compose")
@click.argument("name")
@click.option("--guest", required=True, metavar="NAME", help="Whose blend it is.")
@click.option("--called", required=True, metavar="TEXT", help="What the guest calls it.")
@click.option("--part", "parts", multiple=True, required=True, metavar="NAME=PARTS", help="A component and its parts.")
@recording
def compose_verb(door: Door, name: str, guest: str, called: str, parts: tuple[str, ...]) -> None:
    """Compose the blend of a guest, recorded as theirs; pour it by scan as any trial.

    A blend that is out of the bounds is refused, with the nearest that is within them.

    \b
    Example:
      pourbook blending compose Autumn --guest "Isla Farrow" --called "Harbour light" --part "S 26-01=70"
          --part "S 26-02=25" --part "S 26-04=5"
      pourbook pour T-000004-H --who "Isla Farrow"
    """
    from pourbook.documents.blendings import blend_composed_shown

    answer = door.book.compose_blend(door.how, name, guest, called, _pairs(parts))
    door.show(blend_composed_shown(answer, door.style))


@blending_verb.command("show")
@click.argument("name", required=False)
@reading
def show_verb(door: Door, name: str | None) -> None:
    """Show a blending session, or list them all: its table, its guests and their blends, and pure alcohol by guest.

    \b
    Example:
      pourbook blending show
      pourbook blending show Autumn --json
    """
    from pourbook.documents.blendings import blending_shown, blendings_shown

    if name:
        door.show(blending_shown(door.book.blending_card(name), door.style))
    else:
        door.show(blendings_shown(door.book.blendings_listed(), door.style))


@blending_verb.command("sheets")
@_paper_of_evening
@recording
def sheets_verb(door: Door, name: str, output: Path, paper: str | None, *, force: bool) -> None:
    """Print a sheet to compose on for each guest: what stands on the table, its bounds, and lines to fill in.

    \b
    Example:
      pourbook blending sheets Autumn -o sheets.pdf
    """
    from pourbook.actions.print_paper import Output
    from pourbook.documents.blendings import blending_paper_shown

    printed = door.book.print_guest_sheets(door.how, name, Output((output,), size=paper or "", force=force))
    door.show(blending_paper_shown(printed, door.style))


@blending_verb.command("taste")
@click.argument("name")
@click.option("--glass", "glasses", multiple=True, metavar="ITEM", help="One more: the house's own, or a blend again.")
@recording
def taste_verb(door: Door, name: str, glasses: tuple[str, ...]) -> None:
    """Open the tasting in which the blends meet, blind: a session of the same name.

    From there on it is a tasting session: its ballots, labels, pours, reveal and report are those of
    pourbook session.

    \b
    Example:
      pourbook blending taste Autumn --glass "S 26-01"
      pourbook session sheets Autumn --ballots ballots.pdf --pour-sheet sealed.pdf
      pourbook session close Autumn
    """
    from pourbook.documents.tasting_sessions import session_opened_shown

    door.show(session_opened_shown(door.book.taste_blends(door.how, name, glasses), door.style))


@blending_verb.command("choose")
@click.argument("name")
@click.argument("blend", required=False)
@click.option("--called", metavar="NAME", default="", help="Of the recipe; default: session and blend.")
@recording
def choose_verb(door: Door, name: str, blend: str | None, called: str) -> None:
    """Choose a blend once the tasting is closed: it becomes a recipe. Without BLEND, the first by mean rank.

    \b
    Example:
      pourbook blending choose Autumn
      pourbook blending choose Autumn "Harbour light" --called "Ostrewick Autumn"
    """
    from pourbook.documents.blendings import blend_chosen_shown

    door.show(blend_chosen_shown(door.book.choose_blend(door.how, name, blend or "", called), door.style))


@blending_verb.command("cards")
@_paper_of_evening
@recording
def cards_verb(door: Door, name: str, output: Path, paper: str | None, *, force: bool) -> None:
    """Print a card of the chosen blend for each guest: what is in it, who made it, everybody's part, its code.

    \b
    Example:
      pourbook blending cards Autumn -o cards.pdf
    """
    from pourbook.actions.print_paper import Output
    from pourbook.documents.blendings import blending_paper_shown

    printed = door.book.print_guest_cards(door.how, name, Output((output,), size=paper or "", force=force))
    door.show(blending_paper_shown(printed, door.style))
