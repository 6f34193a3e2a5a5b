"""What was tried that is near a trial, or near what somebody has in mind: by the distance between compositions.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> from pourbook.queries.traces.made_of import By
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, first, second = book.next_id("cask"), "T000002M", "T000003K"
>>> filled = Move("origin", cask, read_amount("200 l"), read_strength("60"))
>>> poured = [Move(cask, trial, read_amount("60 ml")) for trial in (first, second)]
>>> moves = filled, *poured, Move("water", second, read_amount("20 ml"))
>>> _ = book.record(*(Draft(Item(item, {}), 0, "M. Aldane") for item in (cask, first, second)))
>>> _ = book.record(*(Draft(Pour("pour", (move,)), 0, "M. Aldane") for move in moves))
>>> [(one.id, round(one.distance, 4)) for one in near(book, first).glasses]
[('T000003K', 0.25)]
>>> [(one.id, one.distance) for one in near(book, first, Wanted(By(without_water=True))).glasses]
[('T000003K', 0.0)]
"""

from collections.abc import Collection, Mapping, Sequence
from heapq import nsmallest
from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.trials import WATER, Difference, differences, fractions
from pourbook.book.items import keys_of_kind
from pourbook.codes.identifiers import hyphened, kind_of, of_key, read_or_none
from pourbook.errors import Malformed, Refused
from pourbook.mixtures.distance import distance
from pourbook.queries.items.called import blend_called, called
from pourbook.queries.traces.made_of import BY_CASK, By, Composition, blended, made_of
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.components import component_or_item
from pourbook.queries.trials.opinions import Opinion, opinion_of
from pourbook.queries.trials.trial_plan import planned_volumes

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["TRIED", "Near", "NearGlass", "Wanted", "composition_of", "near"]

TRIED = ("trial", "batch", "lot")
"""What counts as tried."""


class Wanted(NamedTuple):
    """How what was tried is looked through.

    Attributes:
        by: how it is told what blends are made of.
        kinds: of what was tried.
        most: how many are wanted, the nearest first.
    """

    by: By = BY_CASK
    kinds: Collection[str] = TRIED
    most: int = 10


class NearGlass(NamedTuple):
    """Something that was tried.

    Attributes:
        id: its identifier.
        distance: from 0 to 1.
        differences: fractions in what was asked about and here, the largest change first.
        blend: as it was poured.
        opinion: what was thought of it.
    """

    id: str
    distance: float
    differences: tuple[Difference, ...]
    blend: "Trace"
    opinion: Opinion


class Near(NamedTuple):
    """What was tried near something.

    Attributes:
        asked: identifier of what it is near; empty for parts.
        composition: of that.
        wanted: how it was looked for.
        glasses: the nearest first.
        called: what each of them and each cask is called beside its identifier.
    """

    asked: str
    composition: Composition
    wanted: Wanted
    glasses: tuple[NearGlass, ...]
    called: Mapping[str, str]


_ANY = Wanted()


def near(book: "BookCore", item: str = "", wanted: Wanted = _ANY, parts: Sequence[tuple[str, str]] = ()) -> Near:
    """What was tried that is nearest to an item, or to parts: components as typed and how much of each.

    The distance is half the sum of the absolute differences of the fractions.

    Raises:
        Malformed: neither an item nor parts are named, or both.
        Refused: nothing is known of what the item is made of.
    """
    if bool(item) == bool(parts):
        raise Malformed("near what?", "name a trial, batch or lot, or its parts with --part ITEM=PARTS")
    asked = book.find(item) if item else ""
    mine = _asked(book, asked, parts, wanted.by)
    if not mine:
        raise Refused(f"{hyphened(asked) if asked else 'it'} is all water", "leave --without-water out")
    keys = [key for kind in wanted.kinds for key in keys_of_kind(book.store, kind)]
    compositions = made_of(book, map(of_key, keys), wanted.by)
    compositions.pop(asked, None)
    apart = {one: distance(mine, composition) for one, composition in compositions.items() if composition}
    found = [
        NearGlass(one, apart[one], differences(mine, compositions[one]), trace_back(book, one), opinion_of(book, one))
        for one in nsmallest(wanted.most, apart, key=lambda one: (round(apart[one], 4), one))  # as it is shown
    ]
    parts_of_all = {part for one in (mine, *(compositions[one.id] for one in found)) for part in one}
    names = called(book.store, filter(read_or_none, parts_of_all if wanted.by.group_by == "cask" else ()))
    names |= {one.id: blend_called(one.blend.item) for one in found}
    names |= {asked: blend_called(book.show(asked))} if asked else {}
    return Near(asked, mine, wanted, tuple(found), names)


def _asked(book: "BookCore", item: str, parts: Sequence[tuple[str, str]], by: By) -> Composition:
    """Of an item, or of parts."""
    if parts:
        found = [(WATER if name == WATER else component_or_item(book, name), text) for name, text in parts]
        volumes = fractions(found, book.settings["decimal_mark"])
        return blended(book, {name: float(part) for name, part in volumes.items()}, by)
    return composition_of(book, item, by)


def composition_of(book: "BookCore", item: str, by: By = BY_CASK) -> Composition:
    """What an item holds or last held; of a trial that nothing was poured into, what is planned.

    Raises:
        Refused: nothing is known of it.
    """
    known = made_of(book, (item,), by).get(item)
    if known is None and kind_of(item) == "trial":
        return blended(book, planned_volumes(book, item), by)
    if known is None:
        raise Refused(f"nothing was ever poured into {hyphened(item)}", "pour into it first, or check the identifier")
    return known
