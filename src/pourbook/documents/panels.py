"""What a panel's verbs answer: orders of serving with their codes."""

from typing import TYPE_CHECKING

from pourbook.documents.shown import Shown, table
from pourbook.numerals import counted
from pourbook.panels.orders import balance, whole_set

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["orders_shown"]


# -- orders of serving -----------------------------------------------------------------


def orders_shown(orders: "Sequence[Sequence[int]]", codes: "Sequence[Sequence[str]]", test: str | None) -> Shown:
    """A line for each assessor, glass by glass; codes are one set by product, or each assessor's own by glass."""
    is_shared = len(codes) == 1 and test is None
    if test == "duo-trio":
        codes = [("R", *own[1:]) for own in codes]
    by_glass = [[codes[0][one - 1] for one in order] for order in orders] if is_shared else codes
    heads = ("assessor", *(f"glass {place}" for place in range(1, len(orders[0]) + 1)))
    rows = (
        (str(number), *(f"{code} = {one}" for code, one in zip(own, order, strict=True)))
        for number, (own, order) in enumerate(zip(by_glass, orders, strict=True), 1)
    )
    document = {
        "orders": [list(order) for order in orders],
        "codes": list(codes[0]) if is_shared else [],
        "own_codes": [] if is_shared else [list(own) for own in codes],
        "test": test,
    }
    if test is not None:
        return Shown({**document, "in_each_place": None, "after_each_other": None}, table(heads, rows))
    even = balance(orders)
    notes = [
        f"each product stands {_times(even.in_each_place)} in each place",
        f"each comes {_times(even.after_each_other)} directly after each other one",
    ]
    if not even.is_whole:
        size = whole_set(len(orders[0]))
        notes.append(f"quite even with a multiple of {counted(size, 'assessor')}")
    return Shown({**document, **even._asdict()}, table(heads, rows), tuple(notes))


def _times(bounds: tuple[int, int]) -> str:
    least, most = bounds
    return counted(most, "time") if least == most else f"{least} to {counted(most, 'time')}"
