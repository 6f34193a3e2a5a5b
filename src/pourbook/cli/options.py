"""Options and arguments that several verbs share, and words of the form NAME=VALUE."""

import os
from collections.abc import Callable
from typing import Any, TypeVar

import click

from pourbook.errors import Malformed

__all__ = [
    "AT", "FORCE", "PAGE", "PAPER", "as_scanned", "dry_goods", "heel_typed", "item_argument", "list_options",
    "loss_typed", "options", "pair", "pairs", "paper_trail", "second_options", "share",
    "status_options",
]  # fmt: skip

_Verb = TypeVar("_Verb", bound=Callable[..., Any])
_Read = TypeVar("_Read")

PAGE = 100
"""Lines of a long list that a terminal shows unless told otherwise."""

AT = click.option("--at", metavar="TIME", help="As of that moment (a day counts to its end); default: now.")
FORCE = click.option("--force", is_flag=True, help="Replace a file that exists.")
PAPER = click.option("--paper", type=click.Choice(("A4", "Letter")), help="Page size; default: the house's.")


def options(*shared: Callable[[Any], Any]) -> Callable[[_Verb], _Verb]:
    """Options that several verbs share, as one decorator; help lists them in this order."""

    def decorated(verb: _Verb) -> _Verb:
        for option in reversed(shared):
            verb = option(verb)
        return verb

    return decorated


list_options = options(
    click.option("--all", "everything", is_flag=True, help=f"List all, not only the {PAGE} that a terminal shows."),
    click.option("--limit", type=click.IntRange(min=1), metavar="N", help="List at most N."),
)
"""How much of a long list is shown; above `reading`."""

status_options = options(
    click.option("--owner", metavar="NAME", help="Owner; default: the owner of all its sources."),
    click.option("--duty", metavar="TEXT", help="Duty status, such as 'suspended'; default: that of all its sources."),
)
"""Whose the liquid is, and its duty status; above `recording`."""

second_options = options(
    click.option("--second", metavar="NAME", help="Who agrees as the second person, where the house wants two."),
    click.option("--second-key", metavar="FILE", help="Their private key; the journal knows its public half."),
)
"""The second person, where a setting wants two; above `recording`."""

paper_trail = options(
    click.option("--recipient", metavar="NAME", help="Who receives it."),
    click.option("--purpose", metavar="TEXT", help="What for: analysis, trial 26-A, competition …"),
    click.option("--document", metavar="TEXT", help="Sample note, destruction record, claim …"),
)
"""For a sample or a loss: to whom, what for, under which document."""


def as_scanned(_ctx: click.Context, _parameter: click.Parameter, text: str | None) -> str | None:
    """Dry goods as typed; a GS1 code on their carton as its GTIN and lot."""
    if text is None:
        return None
    from pourbook.codes.scans import goods_words  # few verbs take dry goods

    return goods_words(text)


dry_goods = options(
    *(
        click.option(f"--{name}", metavar="TEXT", callback=as_scanned, help=f"{what} used: kind, supplier, their lot.")
        for name, what in (
            ("closure", "Closures"), ("bottle-lot", "Bottles"), ("label", "Labels"), ("carton", "Cartons"),
            ("filter", "Filters"),
        )
    )
)  # fmt: skip
"""Glass, closures and so on, typed or scanned; above `status_options` or `recording`."""


def loss_typed(text: str, read: Callable[[str], _Read]) -> tuple[str, _Read]:
    """A kind of loss with its amount, such as filter='1.2 l'.

    Raises:
        Malformed: it is not of that form, or not a kind of loss.
    """
    from pourbook.book.entries import DISPOSITIONS

    kind, equals, amount = text.partition("=")
    if not equals or kind not in DISPOSITIONS:
        raise Malformed(f"'{text}' is not KIND=AMOUNT", f"kinds of loss: {', '.join(DISPOSITIONS)}")
    return kind, read(amount)


def _complete_item(ctx: click.Context, _parameter: click.Parameter, incomplete: str) -> list[str]:
    """Identifiers and names in the book that begin with what was typed (for the shell)."""
    path = ctx.find_root().params.get("path") or os.environ.get("POURBOOK_BOOK")
    if not path:
        return []
    from pourbook.whole_book import Book

    with Book.open(path) as book:
        return book.beginning_with(incomplete)


def item_argument(name: str, *, many: bool = False, required: bool = True) -> Callable[[_Verb], _Verb]:
    """An argument that names an item (or several), with completion in the shell."""
    return click.argument(
        name,
        nargs=-1 if many else 1,
        required=required,
        shell_complete=_complete_item,
        metavar=name.upper() if required else f"[{name.upper()}]",
    )


def pair(text: str, form: str, example: str, *, at_last: bool = False) -> tuple[str, str]:
    """Both sides of the first (or last) equals sign of a word in some form, such as NAME=VALUE.

    Raises:
        Malformed: it has none.
    """
    name, equals, value = text.rpartition("=") if at_last else text.partition("=")
    if not equals:
        raise Malformed(f"'{text}' is not {form}", f"write it like {example}")
    return name.strip(), value.strip()


def heel_typed(text: str) -> tuple[str, str]:
    """The batch that a heel is of, and how much of it, as typed. Raises as `pair`."""
    return pair(text, "BATCH=AMOUNT", "B-000001-Y='60 l' or B-000001-Y=all", at_last=True)


def pairs(texts: tuple[str, ...]) -> dict[str, str]:
    """Words of the form NAME=VALUE as a mapping. Raises as `pair`."""
    return dict(pair(text, "NAME=VALUE", "zone=Europe/London") for text in texts)


def share(text: str, option: str, number: Callable[[str], Any]) -> float:
    """A proportion, as 0.05, '5 %' or 5: alone below one it is one, above it per cent; one itself is neither.

    Raises:
        Malformed: it is no number, or not above 0 and below 1.
    """
    try:
        found = float(number(text.removesuffix("%").strip()))
    except Malformed as refusal:
        raise Malformed(f"{option}: {refusal.message}", refusal.remedy) from None
    if text.endswith("%") or found > 1:
        found /= 100
    if not 0 < found < 1:
        raise Malformed(f"{option}: '{text}' is not above none and below all", "write 0.05, or '5 %'")
    return found
