"""What lies in the way of casks: in front of them and upon them, for one cask or for several pulled together.

In a stow casks roll out on rails that rest on the casks below: all nearer to the open end in the same tier must go, and
all above them and above the cask itself. Pallets are lifted out: whole stacks in front, and what stands above. Casks at
one place (on one pallet) are not in each other's way, and a cask that is pulled itself is not shifted. In a row that is
open at both ends each cask is taken from the end that makes the fewest shifts in all. (Common practice, no source.)

>>> lying = {f"{tier}/{place}": address(f"Row 1, tier {tier}, position {place}", (Storage(steps("row"), "stow"),))
...     for tier in (1, 2) for place in (1, 2, 3)}
>>> sorted(in_the_way(lying, ["1/2"]).shifted)
['1/1', '2/1', '2/2']
>>> sorted(in_the_way(lying, ["1/2", "2/2"]).shifted), sorted(in_the_way(lying, ["2/3"]).shifted)
(['1/1', '2/1'], ['2/1', '2/2'])
"""

from collections.abc import Collection, Iterator, Mapping
from itertools import product
from typing import NamedTuple

from pourbook.warehouse.places import Address, Storage, address, steps  # noqa: F401 (the example)

__all__ = ["InTheWay", "in_the_way"]

_Row = Mapping[str, Address]


class InTheWay(NamedTuple):
    """Casks to shift, and casks wanted of which the book does not know how or where they lie, each by name."""

    shifted: frozenset[str]
    unknown: frozenset[str]


def in_the_way(lying: Mapping[str, Address], wanted: Collection[str]) -> InTheWay:
    """What is to be shifted to reach all that is wanted, the least that will do; names are of any sort."""
    pulled = {name: lying[name] for name in wanted if name in lying}
    unknown = {name for name in wanted if name not in lying or not _is_known(lying[name])}
    shifted: set[str] = set()
    for row in {at.row for name, at in pulled.items() if name not in unknown}:
        there = {name: at for name, at in lying.items() if at.row == row and at.position is not None}
        mine = {name: at for name, at in pulled.items() if at.row == row and name not in unknown}
        shifted |= _shifted(there, mine)
    return InTheWay(frozenset(shifted), frozenset(unknown))


def _is_known(at: Address) -> bool:
    if at.storage is None or not at.storage.kind:
        return False
    return at.storage.kind == "racked" or at.position is not None


def _shifted(row: _Row, wanted: _Row) -> frozenset[str]:
    storage = next(iter(wanted.values())).storage
    assert storage is not None
    if storage.kind == "racked":
        return frozenset()
    is_stow = storage.kind == "stow"
    ways = (
        frozenset(
            name for name, at in row.items()
            if name not in wanted
            and any(_blocks(at, one, 1, is_stow=is_stow) for one in first)
            | any(_blocks(at, one, -1, is_stow=is_stow) for one in last)
        )
        for first, last in _ends(wanted.values(), storage)
    )  # fmt: skip
    return min(ways, key=lambda way: (len(way), sorted(way)))


def _ends(wanted: Collection[Address], storage: Storage) -> Iterator[tuple[list[Address], list[Address]]]:
    """Every sensible way to share out what is wanted between the two ends of a row."""
    if storage.open_end != "both":
        yield (list(wanted), []) if storage.open_end == "first" else ([], list(wanted))
        return
    # What lies nearer to an end never gains by the other, within a tier of a stow, or among whole stacks.
    tiers = {at.tier if storage.kind == "stow" else 0 for at in wanted}
    of_tier = [[at for at in wanted if storage.kind != "stow" or at.tier == tier] for tier in sorted(tiers)]
    splits = [
        [
            ([at for at in tier if _depth(at, 1) <= upto], [at for at in tier if _depth(at, 1) > upto])
            for upto in (-1, *sorted({_depth(at, 1) for at in tier}))
        ]
        for tier in of_tier
    ]
    for chosen in product(*splits):
        yield [at for first, _ in chosen for at in first], [at for _, last in chosen for at in last]


def _blocks(at: Address, wanted: Address, way: int, *, is_stow: bool) -> bool:
    """Whether what lies at one address is in the way of another that is taken out this way."""
    depth, its = _depth(at, way), _depth(wanted, way)
    if depth == its:
        return at.tier > wanted.tier
    return depth < its and (at.tier >= wanted.tier or not is_stow)


def _depth(at: Address, way: int) -> int:
    return way * (at.position or 0)
