"""Entries of the cellar and the bottling line: what was counted and measured, found in stocktakes and approved.

They are part of the vocabulary in `entries.py`, which has these names, too.

>>> Counted("L000001C", "B000001Y", filled=120, broken=1).broken
1
"""

from collections.abc import Mapping
from typing import NamedTuple

__all__ = ["Approval", "Counted", "Fills", "Ground", "Misplaced", "Seen", "Stacked", "Stocktake"]


class Counted(NamedTuple):
    """Bottles of a lot were counted during a bottling run; what is left out is none.

    Attributes:
        id: the lot.
        vat: what they were filled from.
        filled: by the counter of the line, since it was counted last.
        put_back: of those filled, emptied back into the vat: low fills, leaking closures.
        broken: of them; their liquid is lost.
        destroyed: of them; emptied to the drain.
        sampled: of them; opened for the laboratory.
        retained: of them; kept back as reference samples, not for sale.
        place: where those retained are kept.
        until: how long; a day (ISO), empty for no such end.
        witness: who saw the destruction.
    """

    id: str
    vat: str
    filled: int = 0
    put_back: int = 0
    broken: int = 0
    destroyed: int = 0
    sampled: int = 0
    retained: int = 0
    place: str = ""
    until: str = ""
    witness: str = ""


class Fills(NamedTuple):
    """What bottles of a lot hold was measured, each bottle by itself.

    Attributes:
        id: the lot.
        contents_ul: of each, in whole microlitres at 20 °C.
        read: what was read of each, as typed: a volume, or the weight of the full bottle with "/" and its own tare.
        tare: of a bottle, as typed, where one stands for all; empty where volumes were read.
        temperature: of the liquid, as typed, with its unit.
    """

    id: str
    contents_ul: tuple[int, ...]
    read: tuple[str, ...]
    tare: str = ""
    temperature: str = ""


class Misplaced(NamedTuple):
    """An item `seen_at` another place than it is `by_book`, which is empty for none."""

    item: str
    seen_at: str
    by_book: str = ""


class Stacked(NamedTuple):
    """Cases of a lot were put on a pallet; a case is on the one it was put on last.

    Attributes:
        id: the lot.
        pallet: its serial number (SSCC).
        cases: their serial numbers.
    """

    id: str
    pallet: str
    cases: tuple[str, ...]


class Stocktake(NamedTuple):
    """A stocktake is begun; or it has ended, with what was found.

    Attributes:
        name: what the house calls it; that of its end is that of its beginning.
        place: where it is taken; empty for the whole house.
        ended: whether it is over; the rest is empty before.
        found: items seen where the book has them.
        missing: items that the book has there and nobody saw.
        extra: items seen where the book does not have them.
        emptied: items seen that hold nothing by the book.
        illegible: items whose label could not be read, or the words of a place where one could not.
        unknown: codes that mean nothing to the book.
    """

    name: str
    place: str = ""
    ended: bool = False
    found: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    extra: tuple[Misplaced, ...] = ()
    emptied: tuple[str, ...] = ()
    illegible: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()


class Seen(NamedTuple):
    """Something was seen in a stocktake.

    Attributes:
        stocktake: its name.
        id: the item; empty where nobody could say which.
        place: where it was seen; empty where nobody said.
        code: what was scanned, where it means nothing to the book.
        illegible: whether its label could not be read.
    """

    stocktake: str
    id: str = ""
    place: str = ""
    code: str = ""
    illegible: bool = False


class Ground(NamedTuple):
    """One thing that speaks for or against an approval, as it was found.

    Attributes:
        name: part, strength, youngest, attribute, test, balance, contents, hold, pending, house rule or statement.
        about: which one: a component, a word, a session, an item; empty where there is only one.
        stands: "met", "not met" or "unknown".
        figures: name to value: actual, low, high, that of the trial and of the reference, and what else was found.
    """

    name: str
    about: str
    stands: str
    figures: Mapping[str, str] = {}


class Approval(NamedTuple):
    """A batch or a lot was approved, or rejected, by a person, on grounds that stay as they were found.

    Attributes:
        id: the batch or lot.
        approved: approved, or rejected with the entry's reason.
        grounds: all that spoke for and against it.
        trial: that it was compared with; empty for none.
        beside: the reference batch or lot that it was compared with; empty for none.
        rules: name of the rules that its statements were held to.
    """

    id: str
    approved: bool
    grounds: tuple[Ground, ...]
    trial: str = ""
    beside: str = ""
    rules: str = ""
