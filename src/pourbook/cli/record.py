"""Verbs of cask and vial: cask, vial, fill, draw."""

from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, recording
from pourbook.cli.options import item_argument, options, paper_trail, status_options
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.actions.casks import Filling

__all__ = ["cask_verb", "draw_verb", "fill_verb", "vial_verb"]

_from_outside = options(
    click.option("--strength", metavar="STRENGTH", help="% vol at 20 °C, or with a unit: '127 proof'."),
    click.option("--temperature", metavar="TEMPERATURE", help="Of the volume; default: 20 °C."),
    click.option("--pending", is_flag=True, help="The strength is an estimate until the laboratory reads it."),
    click.option("--spirit", metavar="TEXT", help="What spirit it is."),
    click.option("--distiller", metavar="TEXT", help="Who distilled it."),
    click.option("--distilled", metavar="DATE", help="When it was distilled."),
    click.option("--supplier", metavar="TEXT", help="Who supplied it."),
    click.option("--document", metavar="TEXT", help="What it came with: delivery note, movement document …"),
    click.option("--from-site", metavar="CODE", help="It comes from that site of the house; needs --document."),
    click.option("--carrier", metavar="TEXT", help="Who brought it: haulier, vehicle, tank."),
    click.option("--in-wood", metavar="TIME", help="Time already spent in wood: days, or '12 y 3 m'; 0 for new make."),
    click.option("--cost", metavar="NUMBER", help="Cost per litre of pure alcohol."),
)


_CASK_FACTS = ("wood", "cooper", "toast", "char", "seasoning", "capacity_l", "earlier_fills", "place")
_of_a_cask = options(
    click.option("--wood", metavar="TEXT", help="Wood and finish: 'fortified-wine hogshead, toasted'."),
    click.option("--cooper", metavar="TEXT", help="Who made it."),
    click.option("--toast", metavar="TEXT", help="How it was toasted."),
    click.option("--char", metavar="TEXT", help="How it was charred."),
    click.option("--seasoning", metavar="TEXT", help="What it was seasoned with, and for how long."),
    click.option("--capacity", "capacity_l", metavar="LITRES", help="Nominal capacity in litres."),
    click.option("--previous", metavar="TEXT", multiple=True, help="Previous contents; once for each, oldest first."),
    click.option("--earlier-fills", metavar="COUNT", help="Times it was filled with spirit before it came here."),
    click.option("--place", metavar="TEXT", help="Where it lies."),
)


def _filling(
    door: Door, amount: str, *, strength: str | None, temperature: str | None, pending: bool, **facts: Any,  # noqa: ANN401
) -> "Filling":  # fmt: skip
    from pourbook.actions.casks import Filling
    from pourbook.actions.movement import told

    read, celsius = door.strength(strength), door.style.celsius(temperature)
    return Filling(door.style.amount(amount), read, celsius, pending, told(facts))


@click.command("cask")
@click.argument("ref", required=False)
@click.option("--id", "given", metavar="ID", help="A label printed ahead; default: the next number.")
@_of_a_cask
@click.option("--fill", "filled", metavar="AMOUNT", help="What it holds when entered: '198 l', '180 kg'.")
@_from_outside
@status_options
@recording
def cask_verb(
    door: Door, ref: str | None, given: str | None, previous: tuple[str, ...], filled: str | None,
    **told_of: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Enter a cask, empty or with what it holds.

    REF is the house's own name for it. New make has --in-wood 0; if the time in wood is not
    given, it is unknown, and nothing that the spirit goes into can state an age. Name what it held
    before in order, the oldest first, with the years if they are known. How it arrived and what was
    done to it are notes (pourbook note --subject); pourbook provenance shows it all.

    \b
    Example:
      pourbook cask "Row 3/12" --wood "virgin chestnut" --capacity 225 --fill "220 l"
          --strength 63.5 --spirit "malt spirit" --in-wood 0
      pourbook cask --wood "rum barrel"
      pourbook cask "Q 31" --wood "European oak hogshead" --cooper "Brindle Cooperage" --toast medium
          --previous "red wine, 2009-2014" --previous "fortified wine, 2014-2019" --seasoning "none since"
    """
    from pourbook.actions.casks import take_in_cask
    from pourbook.actions.movement import told
    from pourbook.book.items import listed_text
    from pourbook.documents.pours import opened_shown

    facts = {name: told_of.pop(name) for name in _CASK_FACTS}
    filling = _filling(door, filled, **told_of) if filled else None
    about = told({"ref": ref, **facts, "previous": listed_text(previous), "spirit": told_of["spirit"]})
    answer = take_in_cask(door.book, door.how, about, filling, given, door.status)
    door.show(opened_shown(answer, door.style))


@click.command("vial")
@click.argument("amount")
@click.option("--ref", metavar="TEXT", help="The house's own name for it.")
@click.option("--id", "given", metavar="ID", help="A label printed ahead; default: the next number.")
@click.option("--wood", metavar="TEXT", help="Wood, as the supplier states it.")
@click.option("--supplier-ref", metavar="TEXT", help="What the supplier calls it.")
@_from_outside
@status_options
@recording
def vial_verb(
    door: Door, amount: str, ref: str | None, given: str | None, wood: str | None, **origin: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Enter a sample from outside, bought or sent, as a vial with no cask of ours behind it.

    It needs a supplier (or --from-site) and the strength they state (--pending until the laboratory
    reads it); --in-wood is the age they state. It is labelled, poured into trials and traced like any vial.

    \b
    Example:
      pourbook vial "200 ml" --ref "T 7" --supplier "Tarn Bulk Spirit" --supplier-ref "7/14" --strength 61.2
          --document "sample note 88" --in-wood "12 y" --wood "rum barrel" --spirit "malt spirit"
    """
    from pourbook.actions.casks import take_in_sample
    from pourbook.actions.movement import told
    from pourbook.documents.pours import opened_shown

    about = told({"ref": ref, "wood": wood, "spirit": origin["spirit"]})
    answer = take_in_sample(door.book, door.how, about, _filling(door, amount, **origin), given, door.status)
    door.show(opened_shown(answer, door.style))


@click.command("fill")
@item_argument("item")
@click.argument("amount")
@_from_outside
@status_options
@recording
def fill_verb(door: Door, item: str, amount: str, **origin: Any) -> None:  # noqa: ANN401
    """Fill spirit from outside into a cask, a batch or any other item.

    \b
    Example:
      pourbook fill C-000001-H "220 l" --strength 63.5 --temperature 14 --spirit "malt spirit" --in-wood 0
      pourbook fill B-000001-Y "18400 kg" --strength 68 --pending --supplier "Tarn Bulk Spirit"
          --document "MD 26-0417" --carrier "Ferrow Haulage, tank 7"
      pourbook fill B-100001-7 "497 l" --strength 62.8 --from-site STILLS --document "MD 26-31" --in-wood "8 y"
    """
    from pourbook.actions.casks import fill
    from pourbook.documents.pours import moved_shown

    answer = fill(door.book, door.how, item, _filling(door, amount, **origin), door.status)
    door.show(moved_shown(answer, door.style))


@click.command("draw")
@item_argument("item", required=False)
@click.argument("amount", required=False)
@click.option("--each", metavar="AMOUNT", help="In a round: a vial's label draws this much.")
@click.option("--vial", metavar="ID", help="A label printed ahead; default: the next number.")
@click.option("--ref", metavar="TEXT", help="The house's own name for the vial.")
@click.option("--returned", metavar="AMOUNT", help="Excess in the valinch that went back at once.")
@click.option("--strength", metavar="STRENGTH", help="Read of the sample; the source is gauged to it first.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the volume; default: 20 °C.")
@paper_trail
@status_options
@recording
def draw_verb(
    door: Door, item: str | None, amount: str | None, each: str | None, vial: str | None, ref: str | None,
    returned: str | None, strength: str | None, temperature: str | None, **trail: str | None,
) -> None:  # fmt: skip
    """Draw a sample from a cask (or a batch) into a vial, and print the vial's identifier.

    A vial is the drawn sample, not the glass: a glass used again gets a new label.

    Without ITEM it is a round: it reads lines as a scanner sends them, a cask, a vial's label printed
    ahead (or none), an amount; then, if it was read, the strength, which counts for the cask, too; the
    next cask. '13 C' before the amount is the temperature; with --each the label alone draws. 'undo'
    voids the last draw, 'confirm' records a line that was queried, 'done' or the end of input ends.

    \b
    Example:
      pourbook draw C-000001-H "200 ml"
      pourbook draw --each "200 ml"
      pourbook draw "Row 3/12" 250 --returned 50 --vial V-000010-P --temperature 13
      pourbook draw L-000001-C "1 bottle" --ref "shelf 3"
      pourbook draw B-000001-Y "500 ml" --recipient "Ferrow Laboratory" --purpose analysis --document "S 26-14"
    """
    from pourbook.actions.casks import Sample, draw
    from pourbook.actions.movement import told
    from pourbook.documents.pours import drawn_shown

    style = door.style
    if item is None:
        from pourbook.actions.sampling_round import SamplingRound
        from pourbook.documents.sessions import sampled_shown

        sampling = SamplingRound(door.book, door.how, style.amount(each) if each else None)
        door.take_lines(sampling.scan, sampled_shown)
        return
    if amount is None:
        raise Malformed("how much was drawn?", 'give the amount: pourbook draw ITEM "200 ml"')
    back = style.amount(returned) if returned else None
    sample = Sample(
        style.amount(amount), back, door.strength(strength), style.celsius(temperature), ref, vial, told(trail)
    )
    answer = draw(door.book, door.how, item, sample, door.status)
    door.show(drawn_shown(answer, style))
