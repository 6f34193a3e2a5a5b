"""Verbs of tasting: taste, tastings, word."""

from typing import TYPE_CHECKING, Any

import click

from pourbook.book.entries import STAGES
from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import item_argument, list_options, options
from pourbook.codes.identifiers import LIQUID_KINDS
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.book.entries import Taste
    from pourbook.queries.tastings.search import Asked

__all__ = ["taste_verb", "tastings_verb", "word_verb"]

_stages = options(
    click.option("--nose", metavar="FOUND", help="On the nose: 'ripe pear 4, oak 2; a little shy'."),
    click.option("--first", metavar="FOUND", help="At the first taste."),
    click.option("--middle", metavar="FOUND", help="In the middle."),
    click.option("--finish", metavar="FOUND", help="What stays at the end."),
)


@click.command("taste")
@item_argument("item")
@click.argument("text", required=False)
@_stages
@click.option("--seconds", type=int, metavar="N", help="How long the finish stayed, if it was timed.")
@click.option("--missing", metavar="TEXT", help="What is missing.")
@click.option("--too-much", metavar="TEXT", help="What there should be less of.")
@click.option("--liking", metavar="NUMBER", help="On the house's scale (liking_scale).")
@click.option("--score", metavar="NUMBER", help="On the house's scale (score_scale).")
@click.option("--off", "off_notes", multiple=True, metavar="WORD", help="A fault of the list, if no stage has it.")
@click.option("--by", "assessor", metavar="NAME", help="Who tasted; default: who records it.")
@click.option("--strength", metavar="STRENGTH", help="As tasted, if water was added in the glass.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the glass.")
@click.option("--amount", metavar="AMOUNT", help="In the glass; it is booked as lost in tasting.")
@click.option("--poured", is_flag=True, help="The amount is out of the book already: book nothing.")
@click.option("--blind", is_flag=True, help="Who tasted did not know what it was.")
@recording
def taste_verb(
    door: Door, item: str, text: str | None, amount: str | None, *, poured: bool, **found: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Record a tasting note: what was found in a glass of an item.

    TEXT is free words about the whole. At each stage write a word with its intensity on the house's
    scale, then the next, parted by commas; whatever has no number at its end is free words. Words are
    found on the house's list (pourbook word) in any spelling it knows, and asked about if it has none
    like it. What is missing and what is too much are free words.

    An amount is booked as lost in tasting, from the item. Give --poured if it left the book before: a
    glass poured earlier, a bottle opened and booked. Without an amount nothing is booked.

    \b
    Example:
      pourbook taste "Q 204" --nose "ripe pear 4, oak 2; a little shy" --finish "oak 3; short" --seconds 25
          --missing "weight in the middle" --score 82 --amount "15 ml"
      pourbook taste V-000003-N "cleaner than in May" --strength 23 --amount "20 ml" --by "Isla Farrow" --blind
      pourbook taste L-000001-C --nose "sulphur 2" --amount "20 ml" --poured
    """
    from pourbook.documents.tastings import tasted_shown

    style = door.style
    note = _note(door, item, text, **found)
    drunk = style.amount(amount) if amount else None
    door.show(tasted_shown(door.book.taste(door.how, note, drunk, poured=poured), style))


def _note(
    door: Door, item: str, text: str | None, *, assessor: str | None, seconds: int | None, strength: str | None,
    temperature: str | None, blind: bool, off_notes: tuple[str, ...], **said: str | None,
) -> "Taste":  # fmt: skip
    from pourbook.book.entries import Taste
    from pourbook.book.stage_text import read_stage
    from pourbook.gauging.as_typed import kept_strength

    style = door.style
    stages = {name: read_stage(typed, style.mark) for name in STAGES if (typed := said.pop(name))}
    return Taste(
        item,
        assessor or "",
        text or "",
        stages,
        kept_strength(style.strength(strength)) if strength else "",
        f"{style.temperature(temperature).celsius.normalize():f} C" if temperature else "",
        finish_s=seconds,
        missing=said["missing"] or "",
        too_much=said["too_much"] or "",
        liking=style.kept(said["liking"]) or "",
        score=style.kept(said["score"]) or "",
        off_notes=off_notes,
        blind=blind,
    )


@click.command("tastings")
@click.argument("words", required=False, default="")
@click.option("--word", "judged", multiple=True, metavar="FOUND", help="A word with its intensity: 'pear>=3'.")
@click.option("--stage", type=click.Choice(STAGES), help="Only where the words stand at this stage.")
@click.option("--by", "assessor", metavar="NAME", default="", help="Only who tasted.")
@click.option("--item", metavar="ITEM", default="", help="Only notes on this item.")
@click.option("--about", metavar="ITEM", default="", help="Notes on this item, on what is in it, and on glasses of it.")
@click.option("--kind", type=click.Choice(LIQUID_KINDS), help="Only of this kind of item.")
@click.option("--wood", metavar="WORDS", default="", help="Only of casks of this wood, and of glasses of them.")
@click.option("--filled", metavar="YEARS", help="Only of casks filled then, and of glasses: 2019, 2018..2020.")
@click.option("--score", metavar="RANGE", help="Only with a score in this range: 80.., 60..70.")
@click.option("--liking", metavar="RANGE", help="Only with a liking in this range.")
@click.option("--session", metavar="NAME", default="", help="Only of this tasting session.")
@click.option("--since", metavar="TIME", help="Only what was tasted then or later.")
@click.option("--at", metavar="TIME", help="Only what had been tasted by that moment (a day counts to its end).")
@list_options
@reading
def tastings_verb(
    door: Door, everything: bool, limit: int | None, **asked: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """List tasting notes, or search them: by words, of what, by whom, how strong a word, how high a score.

    All WORDS stand in the note, in any case and plural, also by another spelling of the list. With the
    name of a stage among them they stand there: "short finish" finds short in the finish. Casks of a
    wood or a year are looked for behind vials and trials, too, not behind batches and lots.

    \b
    Example:
      pourbook tastings "short finish"
      pourbook tastings pear --kind cask --filled 2019
      pourbook tastings --word "pear>=3" --word "smoke=0" --stage nose --by "Isla Farrow"
      pourbook tastings --score 80.. --since 2026-01-01 --json
      pourbook tastings --about "Lot 2026-1"
    """
    from pourbook.documents.tastings import tastings_shown

    most = door.most(limit, everything=everything)
    found = door.book.tastings(_asked(door, **asked), most, called=not door.json)
    door.show_list(tastings_shown(found, door.style), most, "last")


def _asked(
    door: Door, *, filled: str | None, score: str | None, liking: str | None, since: str | None, at: str | None,
    stage: str | None, kind: str | None, **asked: Any,  # noqa: ANN401
) -> "Asked":  # fmt: skip
    from pourbook.queries.tastings.search import Asked

    style = door.style
    return Asked(
        **asked,
        stage=stage or "",
        kind=kind or "",
        since_us=None if since is None else style.moment(since),
        until_us=style.as_of(at),
        score=None if score is None else style.between(score),
        liking=None if liking is None else style.between(liking),
        filled_us=None if filled is None else style.span(filled),
    )


@click.command("word")
@click.argument("word", required=False)
@click.option("--definition", metavar="TEXT", help="What it means.")
@click.option("--reference", metavar="TEXT", help="What shows it, and how that is prepared.")
@click.option("--group", metavar="TEXT", help="Fruit, wood, cereal … in the house's words.")
@click.option("--also", multiple=True, metavar="TEXT", help="Another spelling, or word for the same; may be repeated.")
@click.option("--fault/--no-fault", "off", default=None, help="Whether it is a fault.")
@click.option("--retire", "gone", is_flag=True, help="The house uses it no longer; notes that have it stay.")
@click.option("--list", "lists", is_flag=True, help="List all words that the house uses.")
@recording
def word_verb(door: Door, word: str | None, *, gone: bool, lists: bool, **told: Any) -> None:  # noqa: ANN401
    """Put a word on the house's list for tasting notes, change one, or show it.

    With a word alone, what the list says of it is shown. Options that are not given stay as they
    stand; --also gives all other spellings anew. A reference is what every assessor can smell or taste
    to agree on the word.

    \b
    Example:
      pourbook word "ripe pear" --group fruit --definition "ripe pears, freshly cut" --also bosc
          --reference "two slices of a ripe pear in a covered glass, 20 minutes before"
      pourbook word sulphur --fault --definition "struck match" --group fault
      pourbook word "ripe pear"
      pourbook word "ripe pear" --retire
      pourbook word --list
    """
    from pourbook.documents.tastings import word_shown, word_written_shown, words_shown

    changes = {name: value for name, value in told.items() if value not in (None, ())}
    if lists:
        door.show(words_shown(door.book.words()))
    elif not word:
        raise Malformed("no word is named", "name one, or list all: pourbook word --list")
    elif changes or gone:
        changes |= {"gone": True} if gone else {}
        door.show(word_written_shown(door.book.write_word(door.how, word, changes), door.style))
    else:
        from pourbook.queries.tastings.words import word as word_of_the_list

        door.show(word_shown(word_of_the_list(door.book, word)))
