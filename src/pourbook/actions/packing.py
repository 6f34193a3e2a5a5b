"""Put cases on pallets, one by one as a scanner sends them: a pallet, its cases, the next pallet.

Cases and pallets are numbered before (`number_cases`, `number_pallets`), so that their labels are on them. A case is
recorded as it is scanned; a page, a loop over a scanner's lines or a script goes on where it stopped.

>>> from pourbook import Book, Draft, Item
>>> from pourbook.actions.trade_numbers import number_cases, number_pallets
>>> book, how = Book.create(":memory:", house="Quillmere", company_prefix="9521234"), Happening("M. Aldane")
>>> lot = book.next_id("lot")
>>> _ = book.record(Draft(Item(lot, {}), 0, "M. Aldane"))
>>> cases = number_cases(book, how, lot, 3, 6).ssccs
>>> (pallet,) = number_pallets(book, how, lot, 1, 3, 6).ssccs
>>> [stack(book, how, pallet, cases[:1]).on_it, stack(book, how, pallet, cases[1:2]).bottles]
[('095212340000000013',), 12]
>>> packing = PackingByScan(book, how)
>>> [packing.scan(line).in_hand.refused for line in (pallet, cases[2], cases[0], "done")]
[0, 0, 1, 1]
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.correcting import void
from pourbook.actions.happening import Happening
from pourbook.actions.line_by_line import LineByLine, Signal
from pourbook.book.entries import Stacked
from pourbook.book.trade_numbers import Unit, bottles_in, on_pallets, unit_of
from pourbook.codes.gs1 import checked_sscc
from pourbook.codes.scans import parse
from pourbook.errors import Malformed, PourbookError, Refused, Unknown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore

__all__ = ["InPacking", "PackingByScan", "PalletStacked", "Put", "stack"]


class PalletStacked(NamedTuple):
    """A pallet with the cases `on_it` now, the `bottles` in them, and what was recorded."""

    pallet: Unit
    on_it: tuple[str, ...]
    bottles: int
    recorded: "Recorded"


class InPacking(NamedTuple):
    """What packing knows beside the book.

    Attributes:
        pallet: that cases are put on; empty before the first was scanned.
        entry: of the last case; what `undo` voids.
        to_confirm: a line that the rules of the book asked about.
        cases: how many were put on pallets.
        refused: how many lines were not recorded.
    """

    pallet: str = ""
    entry: int = 0
    to_confirm: str = ""
    cases: int = 0
    refused: int = 0


class Put(NamedTuple):
    """The answer to one line.

    Attributes:
        in_hand: what packing knows now.
        done: it was the last line.
        refused: why nothing was recorded.
        pallet: the pallet in hand, where this line scanned one or put something on it.
        on_it: its cases, then.
        undone: a case was taken back.
        signal: how the scan is met.
    """

    in_hand: InPacking = InPacking()
    done: bool = False
    refused: PourbookError | None = None
    pallet: Unit | None = None
    on_it: tuple[str, ...] = ()
    undone: bool = False
    signal: Signal = ""


def stack(book: "BookCore", how: Happening, pallet: str, cases: "Sequence[str]") -> PalletStacked:
    """Put cases on a pallet, by their serial numbers as typed or scanned.

    Raises:
        Unknown: the house never issued the pallet's number.
        Refused: one of them is no case of the pallet's lot, is on it already, or was sent.
        ToConfirm: one stands on another pallet, or the pallet is full.
    """
    with how.transaction(book):
        unit = _unit(book, pallet)
        recorded = how.record(book, Stacked(unit.lot, unit.sscc, tuple(_sscc(one) for one in cases)))
        on = on_pallets(book.store, unit.lot)
        on_it = tuple(case for case, pallet_of in on.items() if pallet_of == unit.sscc)
        return PalletStacked(unit, on_it, bottles_in(book.store, unit, on), recorded)


def _sscc(text: str) -> str:
    return parse(text).sscc or checked_sscc(text)


def _unit(book: "BookCore", text: str) -> Unit:
    found = unit_of(book.store, sscc := _sscc(text))
    if found is None:
        raise Unknown(f"SSCC {sscc} is not one of the house", "number it first: pourbook cases, pourbook pallets")
    return found


def _on(book: "BookCore", pallet: Unit) -> tuple[str, ...]:
    return tuple(case for case, on in on_pallets(book.store, pallet.lot).items() if on == pallet.sscc)


class PackingByScan(LineByLine[InPacking, Put]):
    """Puts one case after the other on the pallet in hand; a refused line changes nothing."""

    def __init__(self, book: "BookCore", how: Happening, in_hand: InPacking | None = None) -> None:
        """Begin, or go on with what was `in_hand`.

        Raises:
            Malformed: it is a dry run.
        """
        if how.dry_run:
            raise Malformed("packing by scan cannot be a dry run", "name the cases: PALLET CASE …")
        super().__init__(book, how, in_hand or InPacking())

    def _refused(self, refusal: PourbookError) -> Put:
        return Put(refused=refusal, signal="wrong")

    def _answer(self, line: str) -> Put:
        """Take a pallet, a case, `undo` or `done`."""
        word = line.lower()
        if not line:
            return Put()
        if word in ("done", "end"):
            return Put(done=True)
        if word == "undo":
            return self._undo()
        unit = _unit(self._book, line)
        if unit.unit == "pallet":
            self._keep(pallet=unit.sscc, entry=0)
            return Put(pallet=unit, on_it=_on(self._book, unit))
        if not self.in_hand.pallet:
            raise Malformed("a case, but no pallet was scanned", "scan the label of the pallet first")
        put = stack(self._book, self._now_and_here, self.in_hand.pallet, (unit.sscc,))
        self._keep(entry=put.recorded.numbers[-1], cases=self.in_hand.cases + 1)
        return Put(pallet=put.pallet, on_it=put.on_it, signal="good")

    def _undo(self) -> Put:
        """The last case is not on the pallet after all."""
        if not self.in_hand.entry:
            raise Refused("no case was put on a pallet that could be taken back", "see: pourbook void --help")
        how = self._now_and_here
        void(self._book, how._replace(reason=how.reason or "undone while packing"), self.in_hand.entry)
        self._keep(entry=0, cases=self.in_hand.cases - 1)
        pallet = _unit(self._book, self.in_hand.pallet)
        return Put(pallet=pallet, on_it=_on(self._book, pallet), undone=True)
