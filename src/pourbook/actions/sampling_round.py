"""Draw samples line by line, as a scanner sends them: a cask, a vial's label, an amount, what was read; the next cask.

Every sample is recorded when its amount is known, a reading as soon as it is typed. `SamplingRound.in_hand` is what no
book can know; with it a page, a loop over a scanner's lines or a script goes on where it stopped.

>>> from pourbook import Book
>>> from pourbook.actions.casks import Filling, take_in_cask
>>> from pourbook.quantities import read_amount, read_strength
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> filling = Filling(read_amount("200 l"), read_strength("63.5"))
>>> for ref in ("Q 31", "Q 40"):
...     _ = take_in_cask(book, how, {"ref": ref}, filling)
>>> sampling = SamplingRound(book, how)
>>> said = [sampling.scan(line) for line in ("Q 31", "200 ml", "63.1", "Q 40", "13 C", "200 ml", "done")]
>>> [one.drawn.vial for one in said if one.drawn], f"{book.show('Q 31').strength_20c:.2f}"
(['V000001R', 'V000002P'], '63.10')
"""

import re
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.casks import Drawn, Sample, draw
from pourbook.actions.correcting import void
from pourbook.actions.happening import Happening
from pourbook.actions.lab_reading import LabReading, gauge_for_source
from pourbook.actions.line_by_line import LineByLine
from pourbook.actions.line_scanned import TEMPERATURE, reads
from pourbook.book.glasses import emptied_words
from pourbook.book.names import is_in_book
from pourbook.codes.identifiers import hyphened, key_of, kind_of, read
from pourbook.errors import Malformed, PourbookError, Refused
from pourbook.gauging.what_was_read import WhatWasRead
from pourbook.house_style import HouseStyle
from pourbook.quantities import Amount
from pourbook.queries.items.item_card import Held, held_now

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["InRound", "Sampled", "SamplingRound"]

_BARE = re.compile(r"\d+(?:[.,]\d+)?")


class InRound(NamedTuple):
    """What a round knows beside the book.

    Attributes:
        source: the cask in hand.
        vial: a label that was scanned, and is still to be filled.
        celsius: temperature of the cask in hand; None where it was not read.
        drawn: the last vial drawn from it.
        entries: of that draw, the last first: what `undo` voids.
        to_confirm: a line that the rules of the book asked about.
        samples: how many were drawn.
        refused: how many lines were not recorded.
    """

    source: str = ""
    vial: str = ""
    celsius: str | None = None
    drawn: str = ""
    entries: tuple[int, ...] = ()
    to_confirm: str = ""
    samples: int = 0
    refused: int = 0


class Sampled(NamedTuple):
    """The answer to one line: what the round knows now, and what came of it.

    Attributes:
        in_hand: what the round knows now.
        done: it was the last line.
        refused: why nothing was recorded.
        source: the cask in hand, where this line scanned one.
        drawn: a sample that was drawn; its strength, where it was read, is in `reading`.
        reading: what was read of the last sample, for its cask as well.
        undone: the vial whose draw was voided.
    """

    in_hand: InRound = InRound()
    done: bool = False
    refused: PourbookError | None = None
    source: Held | None = None
    drawn: Drawn | None = None
    reading: LabReading | None = None
    undone: str = ""


class SamplingRound(LineByLine[InRound, Sampled]):
    """Draws samples from one cask after the other; a refused line changes nothing, and the next one is taken."""

    def __init__(
        self, book: "BookCore", how: Happening, each: Amount | None = None, in_hand: InRound | None = None
    ) -> None:
        """Begin, or go on with what an earlier round had `in_hand`; with `each`, a vial's label draws that much.

        Raises:
            Malformed: it is a dry run.
        """
        if how.dry_run:
            raise Malformed("a sampling round cannot be a dry run", "name the draw: CASK AMOUNT")
        super().__init__(book, how, in_hand or InRound())
        self._each, self._style = each, HouseStyle(book.settings)

    def _refused(self, refusal: PourbookError) -> Sampled:
        return Sampled(refused=refusal)

    def _answer(self, line: str) -> Sampled:
        """Take a cask, a vial's label, an amount, a temperature, a strength, `undo` or `done`."""
        word, how = line.lower(), self._now_and_here
        if not line:
            return Sampled()
        if word in ("done", "end"):
            return Sampled(done=True)
        if word == "undo":
            return self._undo(how)
        if TEMPERATURE.fullmatch(line):
            self._style.celsius(line)
            self._keep(celsius=line)
            return Sampled()
        if _BARE.fullmatch(line) and self.in_hand.drawn:
            return self._read(line, how)
        if reads(self._style.amount, line):
            return self._draw(self._style.amount(line), how)
        if reads(self._style.strength, line):
            return self._read(line, how)
        return self._scanned(line, how)

    def _scanned(self, line: str, how: Happening) -> Sampled:
        """A vial's label that is still to be used, or something to draw from."""
        code = read(line)
        if code is not None and kind_of(code) == "vial" and not is_in_book(self._book.store, key_of(code)):
            self._keep(vial=code)
            return self._draw(self._each, how) if self._each and self.in_hand.source else Sampled()
        source = held_now(self._book, line)
        if not source.view.holding.mass_mg:
            why = emptied_words(source.emptied, self._book.zone) if source.emptied else "is empty by the book"
            raise Refused(f"{hyphened(source.view.id)} {why}", "scan another, or gauge it first")
        self._keep(source=source.view.id, vial="", celsius=None, drawn="", entries=())
        return Sampled(source=source)

    def _draw(self, amount: Amount, how: Happening) -> Sampled:
        held = self.in_hand
        if not held.source:
            raise Malformed("an amount, but no cask was scanned", "scan the cask first")
        sample = Sample(amount, temperature_c=self._style.celsius(held.celsius), given=held.vial or None)
        drawn = draw(self._book, how, held.source, sample)
        self._keep(vial="", drawn=drawn.vial, entries=tuple(drawn.recorded.numbers[::-1]), samples=held.samples + 1)
        return Sampled(drawn=drawn)

    def _read(self, line: str, how: Happening) -> Sampled:
        """The strength of the last sample, for its cask, too."""
        if not self.in_hand.drawn:
            raise Malformed("a strength, but no sample was drawn", "draw it first: a cask, then an amount")
        reading = gauge_for_source(self._book, how, self.in_hand.drawn, WhatWasRead(true=self._style.strength(line)))
        self._keep(entries=(*reading.recorded.numbers[::-1], *self.in_hand.entries))
        return Sampled(reading=reading)

    def _undo(self, how: Happening) -> Sampled:
        """The last draw was a mistake: it is voided with what was read of it."""
        undone, said = self.in_hand.drawn, how._replace(reason=how.reason or "undone in the sampling round")
        if not undone:
            raise Malformed("nothing was drawn that could be undone", "see: pourbook void --help")
        with said.transaction(self._book):
            for number in self.in_hand.entries:
                void(self._book, said, number)
        self._keep(drawn="", entries=(), samples=self.in_hand.samples - 1)
        return Sampled(undone=undone)
