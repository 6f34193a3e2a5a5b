"""Cases on pallets, shown: what stands on a pallet, and the lines of packing by scan."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pourbook.documents.sessions import refusal_words
from pourbook.documents.shown import Shown, recorded_shown
from pourbook.numerals import counted

if TYPE_CHECKING:
    from pourbook.actions.packing import PalletStacked, Put
    from pourbook.book.trade_numbers import Unit
    from pourbook.house_style import HouseStyle

__all__ = ["put_shown", "stacked_shown"]


def stacked_shown(answer: "PalletStacked", style: "HouseStyle") -> Shown:
    """A pallet with what stands on it."""
    document = {
        "pallet": answer.pallet.sscc,
        "lot": answer.pallet.lot,
        "cases": list(answer.on_it),
        "of_cases": answer.pallet.cases or None,
        "bottles": answer.bottles,
    }
    bottles = counted(answer.bottles, "bottle")
    said = (f"{_stands(answer.pallet, len(answer.on_it))}, {bottles}",)
    return recorded_shown(answer.recorded, document, said, style)


def _stands(pallet: "Unit", cases: int) -> str:
    of = f" of {pallet.cases}" if pallet.cases else ""
    return f"pallet {pallet.sscc}: {cases}{of} {'case' if (pallet.cases or cases) == 1 else 'cases'}"


def put_shown(answer: "Put", style: "HouseStyle") -> Shown:  # noqa: ARG001 (as every line of a session is shown)
    """A line of packing; all is said in the notes until it is done."""
    hand = answer.in_hand
    document = {
        "done": answer.done,
        "pallet": hand.pallet or None,
        "cases": hand.cases,
        "refused": hand.refused,
        "refusal": str(answer.refused) if answer.refused else None,
        "to_confirm": hand.to_confirm or None,
    }
    said = (f"{counted(hand.cases, 'case')} put on pallets",) if answer.done else ()
    return Shown(document, said, tuple(_notes(answer)), signal=answer.signal)


def _notes(answer: "Put") -> Iterator[str]:
    if answer.refused:
        yield refusal_words(answer.refused, to_confirm=bool(answer.in_hand.to_confirm), signal=answer.signal)
    if answer.undone:
        yield "taken back: voided"
    if answer.pallet:
        is_full = 0 < answer.pallet.cases == len(answer.on_it)
        yield f"{_stands(answer.pallet, len(answer.on_it))}{', full' if is_full else ''}"
