"""Pouring as it is done: a scan, an amount, the next one; every pour recorded at once."""

from collections.abc import Iterable
from decimal import Decimal
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door
from pourbook.cli.output import in_litres, show_json, strength_shown
from pourbook.errors import Malformed, OutOfRange, PourbookError
from pourbook.identifiers import hyphened, read

if TYPE_CHECKING:
    from pourbook.book.entries import Move
    from pourbook.quantities import Amount, Strength

__all__ = ["Pouring"]

_OUTSIDE = ("water", "additive", "origin")


class Pouring:
    """Pours into one target, one after the other."""

    def __init__(
        self,
        door: Door,
        target: str,
        *,
        strength: "Strength | None",
        temperature_c: float,
        received: "Amount | None",
        facts: dict[str, str],
        balance: bool,
    ) -> None:
        self._door = door
        self._target = target
        self._strength = strength
        self._temperature_c = temperature_c
        self._received = received
        self._about = facts
        self._balance = balance
        self._shown_g: Decimal | None = None
        self._source = ""

    # -- given on the command ------------------------------------------------------------

    def all_at_once(self, pours: list[tuple[str, str]]) -> None:
        """Pours named on the command: one entry, all or nothing."""
        from pourbook.book.entries import Pour

        if self._received is not None and len(pours) > 1:
            raise Malformed("--received with several sources", "pour them one by one")
        moves = tuple(self._move(self._named(source), amount) for source, amount in pours)
        recorded = self._door.record(Pour("pour", moves))
        self._door.tell(recorded, self._state(), id=self._target, **self._facts())

    # -- read from the scanner -----------------------------------------------------------

    def scan(self, lines: Iterable[str]) -> None:
        """Lines as a scanner sends them; a refusal is told and pouring goes on."""
        if self._door.options["dry_run"]:
            raise Malformed("a rehearsal cannot be scanned", "name the pours: SOURCE AMOUNT …")
        refused = 0
        for line in lines:
            text = line.strip()
            if text.lower() in ("done", "end"):
                break
            if text:
                try:
                    self._take(text)
                except PourbookError as refusal:
                    refused += 1
                    click.echo(f"refused: {refusal.message}; {refusal.remedy}", err=True)
        if self._source:
            click.echo(f"note: {self._source} was scanned and nothing poured from it", err=True)
        if self._door.json:
            show_json({"id": self._target, "refused": refused, **self._facts()})
        else:
            click.echo(self._state())
        if refused:
            raise click.exceptions.Exit(1)

    def _take(self, text: str) -> None:
        """One line: '?', '= amount', a source, an amount, or a source and an amount."""
        if text == "?":
            self._say()
        elif text[0] == "=":
            self._gauge_glass(text[1:].strip())
        elif self._balance and self._shown_g is None:
            self._shown_g = self._grams(text)
            click.echo(f"the empty glass: {self._shown_g} g", err=True)
        elif self._source:
            source, self._source = self._source, ""
            self._pour(source, text)
        else:
            self._source_line(text)

    def _source_line(self, text: str) -> None:
        """A source alone, or a source and an amount (a house's own names may hold spaces)."""
        if self._is_source(text):
            self._source = self._named(text)
            self._say()
            return
        words = text.split()
        for cut in (1, len(words) - 1, len(words) - 2):
            source = " ".join(words[:cut])
            if 0 < cut < len(words) and self._is_source(source):
                self._pour(self._named(source), " ".join(words[cut:]))
                return
        # A mistyped or unknown identifier is told as such; anything else as it was typed.
        self._named(text if read(words[0]) is None else words[0])

    def _is_source(self, text: str) -> bool:
        try:
            self._named(text)
        except PourbookError:
            return False
        return True

    def _pour(self, source: str, amount: str) -> None:
        from pourbook.book.entries import Pour

        move = self._move_by_balance(source, amount) if self._balance else self._move(source, amount)
        self._door.record(Pour("pour", (move,)))
        click.echo(self._state(), err=True)

    def _say(self) -> None:
        if self._source and self._source not in _OUTSIDE:
            view = self._door.book.show(self._source)
            mark = self._door.decimal_mark
            named = f"{hyphened(self._source)} {view.ref}".strip()
            holds = f"holds {in_litres(view.volume_ml_20c, mark)} at {strength_shown(view.strength_20c, mark)} % vol"
            click.echo(f"{named} {holds if view.holding.mass_mg else 'is empty'}", err=True)
        click.echo(self._state(), err=True)

    def _gauge_glass(self, text: str) -> None:
        from pourbook.book.entries import Gauge

        if not self._source or self._source in _OUTSIDE:
            raise Malformed("no glass was scanned to gauge", "scan it, then '= 12 ml', or '=' when it is empty")
        amount = self._door.amount(text or "0", allow_zero=True)
        self._door.record(Gauge(self._source, amount, None, self._temperature_c))
        self._say()
        self._source = ""

    # -- one pour ------------------------------------------------------------------------

    def _named(self, text: str) -> str:
        word = text.strip().lower()
        return word if word in _OUTSIDE else self._door.book.find(text)

    def _move(self, source: str, amount: str) -> "Move":
        from pourbook.book.entries import Move

        return Move(
            source,
            self._target,
            self._door.amount(amount) if source in _OUTSIDE else self._door.amount_or_all(amount),
            self._strength,
            self._temperature_c,
            received=self._received,
            facts=self._about,
        )

    def _move_by_balance(self, source: str, text: str) -> "Move":
        """What the balance shows now, less what it showed before, weighed in air."""
        assert self._shown_g is not None
        now = self._grams(text)
        if now <= self._shown_g:
            raise OutOfRange(f"the balance shows {now} g, {self._shown_g} g before", "was anything poured?")
        move = self._move(source, f"{now - self._shown_g} g air".replace(".", self._door.decimal_mark))
        self._shown_g = now
        return move

    def _grams(self, text: str) -> Decimal:
        amount = self._door.amount(text, "g air")
        if amount.dimension == "volume":
            raise Malformed(f"'{text}' is not what a balance shows", "give grams")
        return Decimal(amount.mass_mg.numerator) / amount.mass_mg.denominator / 1000

    # -- what it is now ------------------------------------------------------------------

    def _facts(self) -> dict[str, float | None]:
        view = self._door.book.show(self._target)
        return {
            "mass_mg": view.holding.mass_mg,
            "volume_ml_20c": view.volume_ml_20c,
            "strength_20c": view.strength_20c,
        }

    def _state(self) -> str:
        view = self._door.book.show(self._target)
        mark = self._door.decimal_mark
        if not view.holding.mass_mg:
            return f"{hyphened(self._target)} is empty"
        return (
            f"{hyphened(self._target)} is {in_litres(view.volume_ml_20c, mark)} at "
            f"{strength_shown(view.strength_20c, mark)} % vol"
        )
