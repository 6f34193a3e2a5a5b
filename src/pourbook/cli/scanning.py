"""Pouring as it is done: a scan, an amount, the next one; every pour recorded at once."""

from collections.abc import Iterable
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.output import show_json
from pourbook.cli.pouring import OUTSIDE, Pouring
from pourbook.codes.identifiers import read
from pourbook.errors import Malformed, OutOfRange, PourbookError
from pourbook.words.figure_words import in_litres, named

if TYPE_CHECKING:
    from pourbook.quantities import Amount

__all__ = ["Scanning"]

_BEGINS_NUMBERS = "0123456789.,+-−"


class Scanning:
    """Lines as a scanner sends them; what cannot be is refused, and pouring goes on."""

    def __init__(self, pouring: Pouring, *, balance: bool) -> None:
        """Begin.

        Args:
            pouring: into which item, and how.
            balance: amounts are what a balance shows, which is not tared between pours.
        """
        self._pouring = pouring
        self._door = pouring.door
        self._balance = balance
        self._shown_g: Decimal | None = None
        self._glass = ""  # the last one scanned
        self._source = ""  # scanned, and its amount is still to come
        self._poured: set[tuple[str, Any]] = set()
        self._asked: tuple[str, Amount] | None = None
        self._refused = 0

    def run(self, lines: Iterable[str]) -> None:
        """Take lines until `done`; exit with 1 if something typed was not recorded."""
        if self._door.options["dry_run"]:
            raise Malformed("a rehearsal cannot be scanned", "name the pours: SOURCE AMOUNT …")
        if self._balance:
            click.echo("put the empty glass on the balance and type what it shows, in g (0 if tared)", err=True)
        for line in lines:
            text = line.strip()
            if text.lower() in ("done", "end"):
                break
            if text:
                self._taken(text)
        self._end()

    def _taken(self, text: str) -> None:
        try:
            self._take(text)
        except PourbookError as refusal:
            self._refused += 1
            click.echo(f"refused: {refusal.message}; {refusal.remedy}", err=True)
            if self._source:
                click.echo(f"still in hand: {named(self._source)}", err=True)

    def _end(self) -> None:
        self._let_go()
        if self._source:
            click.echo(f"note: {named(self._source)} was scanned and nothing poured from it", err=True)
        lacking = [target for target in self._pouring.targets() if target.to_go_ml]
        if lacking and self._poured:
            mark = self._door.decimal_mark
            rest = ", ".join(f"{named(one.component)} {in_litres(one.to_go_ml, mark)}" for one in lacking)
            click.echo(f"note: planned and not poured: {rest}", err=True)
        if self._door.json:
            show_json({"id": self._pouring.target, "refused": self._refused, **self._pouring.facts()})
        else:
            click.echo(self._pouring.state())
        if self._refused:
            raise click.exceptions.Exit(1)

    # -- one line --------------------------------------------------------------------------

    def _take(self, text: str) -> None:
        """'again', '?', an amount, a source, both on one line, or what a glass holds."""
        if text.lower() == "again":
            self._again()
            return
        if text == "?":
            self._say()
            return
        self._let_go()
        if self._lacks_tare and self._is_amount(text):
            self._tare(text)
        elif self._source and self._is_amount(text):
            self._amount(self._source, text)
        elif self._is_source(text):
            self._scanned(self._pouring.named(text))
            self._say_of_glass()
        elif "=" in text:
            self._gauge_glass(*map(str.strip, text.split("=", 1)))
        elif pair := self._source_and_amount(text):
            self._both(*pair)
        else:
            self._refuse(text)

    @property
    def _lacks_tare(self) -> bool:
        return self._balance and self._shown_g is None

    def _is_amount(self, text: str) -> bool:
        try:
            self._read_amount(text)
        except PourbookError:
            return False
        return True

    def _read_amount(self, text: str) -> "Amount | Decimal | None":
        return self._grams(text) if self._balance else self._door.amount_or_all(text)

    def _is_source(self, text: str) -> bool:
        try:
            self._pouring.named(text)
        except PourbookError:
            return False
        return True

    def _source_and_amount(self, text: str) -> tuple[str, str] | None:
        """A source and an amount on one line (a house's own names may hold spaces)."""
        words = text.split()
        for cut in (1, len(words) - 1, len(words) - 2):
            source = " ".join(words[:cut])
            if 0 < cut < len(words) and self._is_source(source):
                return self._pouring.named(source), " ".join(words[cut:])
        return None

    def _refuse(self, text: str) -> None:
        """What is neither: a number is an amount, whatever is wrong with it; anything else is a name."""
        if text[0] in _BEGINS_NUMBERS or text.lower() == "all":
            if self._source or self._lacks_tare:
                self._read_amount(text)
            if _is_any_amount(text):
                raise Malformed(f"'{text}' is an amount, and no glass was scanned", "scan a glass first")
        self._source = self._glass = ""  # which glass is in hand is not known any more
        word = text.split(maxsplit=1)[0]
        self._pouring.named(text if read(word) is None else word)

    # -- glasses ---------------------------------------------------------------------------

    def _scanned(self, source: str) -> None:
        """A source in hand, in the place of the one before."""
        if self._source not in ("", source):
            click.echo(f"note: {named(self._source)} was scanned and nothing poured from it", err=True)
        self._source = source
        if source not in OUTSIDE:
            self._glass = source

    def _say(self) -> None:
        """The glass in hand, the blend, its plan, its cost and its age."""
        self._say_of_glass(*map(self._pouring.beside_plan, self._pouring.targets()), self._pouring.cost_and_age())

    def _say_of_glass(self, *more: str) -> None:
        """The glass in hand and the blend; and more, or how the glass stands beside the plan."""
        if self._source and self._source not in OUTSIDE:
            click.echo(self._pouring.said_of(self._source), err=True)
        click.echo(self._pouring.state(), err=True)
        for line in filter(None, more or (self._pouring.plan_of(self._source) if self._source else ())):
            click.echo(line, err=True)

    def _gauge_glass(self, source: str, amount: str) -> None:
        """What a glass really holds: the one named before '=', or the last one scanned."""
        from pourbook.book.entries import Gauge

        glass = self._pouring.named(source) if source else self._glass
        if not glass or glass in OUTSIDE:
            raise Malformed("no glass was scanned to gauge", "scan it, then '= 12 ml', or '=' when it is empty")
        self._scanned(glass)
        read = self._door.amount(amount or "0", allow_zero=True)
        self._door.record(Gauge(glass, read, None, self._pouring.temperature_c))
        self._say_of_glass()
        self._source = ""

    # -- amounts ---------------------------------------------------------------------------

    def _both(self, source: str, text: str) -> None:
        """A source and an amount; a glass in hand stays there while water is poured beside it."""
        kept = self._source if source in OUTSIDE else ""
        if kept:
            self._source = ""
        self._scanned(source)
        self._amount(source, text)
        self._source = kept

    def _amount(self, source: str, text: str) -> None:
        """An amount from a source; a refused one leaves the source in hand."""
        if self._balance:
            self._by_balance(source, text)
            return
        amount = self._door.amount_or_all(text)
        if amount is not None and (source, amount[1:]) in self._poured:
            self._asked, self._source = (source, amount), ""
            click.echo(f"{amount.typed} from {named(source)} is recorded already; poured again? type: again", err=True)
            return
        self._pour(source, amount)

    def _pour(self, source: str, amount: "Amount | None") -> None:
        self._pouring.pour(source, amount)
        self._source = ""
        self._poured.add((source, amount and amount[1:]))

    def _again(self) -> None:
        """The pour that was asked about: it happened twice."""
        if self._asked is None:
            raise Malformed("nothing was asked that 'again' would answer", "scan a glass, then the amount")
        asked, self._asked = self._asked, None
        self._pour(*asked)

    def _let_go(self) -> None:
        """Another line is no 'again': what was asked about was scanned twice, and poured once."""
        if self._asked is not None:
            self._refused += 1
            click.echo(f"not recorded again: {self._asked[1].typed} from {named(self._asked[0])}", err=True)
            self._asked = None

    # -- a balance -------------------------------------------------------------------------

    def _tare(self, text: str) -> None:
        self._shown_g = self._grams(text)
        click.echo(f"the empty glass: {self._shown_g} g", err=True)

    def _by_balance(self, source: str, text: str) -> None:
        """What the balance shows now, less what it showed before, weighed in air."""
        now, before = self._grams(text), self._shown_g
        if before is None:
            raise Malformed("what the balance shows with the empty glass is not known yet", "type that first")
        if now <= before:
            raise OutOfRange(f"the balance shows {now} g, {before} g before", "was anything poured?")
        self._pour(source, self._door.amount(f"{now - before} g air".replace(".", self._door.decimal_mark)))
        self._shown_g = now

    def _grams(self, text: str) -> Decimal:
        amount = self._door.amount(text, "g air", allow_zero=True)
        if amount.dimension == "volume":
            raise Malformed(f"'{text}' is not what a balance shows", "give grams")
        return Decimal(amount.mass_mg.numerator) / amount.mass_mg.denominator / 1000


def _is_any_amount(text: str) -> bool:
    """Whether a text is an amount, with whatever decimal mark."""
    from pourbook.quantities import read_amount

    if text.lower() == "all":
        return True
    for mark in ".,":
        try:
            read_amount(text, "ml", mark, allow_zero=True)
        except PourbookError:
            continue
        return True
    return False
