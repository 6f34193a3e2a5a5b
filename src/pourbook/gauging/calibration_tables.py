"""Vats and tanks: a calibration table turns a dip into a volume.

A table is a dated fact of the place: an older gauge uses the older table. Its first pair of depth and
volume states the dead volume; between pairs the volume is interpolated.

>>> table = read_table("0 12.5; 50 480; 100 962.5")
>>> table.volume_l(75)
721.25
>>> read_table(table.written()) == table
True
"""

from bisect import bisect_right
from itertools import pairwise
from typing import NamedTuple

from pourbook.errors import Malformed, OutOfRange
from pourbook.numerals import read_decimal

__all__ = ["DipTable", "read_table"]


class DipTable(NamedTuple):
    """Depths and the volume at each, litres at the vessel's own reference; both rising."""

    depths_cm: tuple[float, ...]
    volumes_l: tuple[float, ...]

    def volume_l(self, depth_cm: float) -> float:
        """The volume at a depth, interpolated; `OutOfRange` outside the table."""
        depths, volumes = self
        if not depths[0] <= depth_cm <= depths[-1]:
            raise OutOfRange(
                f"a dip of {depth_cm:g} cm is outside the vessel's table, {depths[0]:g} to {depths[-1]:g} cm",
                "read the dip again, or check that it is this vessel",
            )
        above = min(bisect_right(depths, depth_cm), len(depths) - 1)
        low, high = above - 1, above
        part = (depth_cm - depths[low]) / (depths[high] - depths[low])
        return volumes[low] + part * (volumes[high] - volumes[low])

    def written(self) -> str:
        """The table as a fact keeps it."""
        return "; ".join(f"{depth:g} {volume:.10g}" for depth, volume in zip(*self, strict=True))


def read_table(text: str, decimal_mark: str = ".") -> DipTable:
    """A table as typed or kept: `depth_cm volume_l; depth_cm volume_l; …`; else `Malformed`."""
    pairs = []
    for part in text.replace("\n", ";").split(";"):
        words = part.split()
        if not words:
            continue
        if len(words) != 2:
            raise Malformed(f"'{part.strip()}' is not a depth and a volume", "write '50 480; 100 962.5', in cm and l")
        pairs.append((float(read_decimal(words[0], decimal_mark)), float(read_decimal(words[1], decimal_mark))))
    rising = all(one[0] < other[0] and one[1] < other[1] for one, other in pairwise(pairs))
    if len(pairs) < 2 or not rising:
        raise Malformed("a calibration table needs two or more depths that rise with their volumes", "check its order")
    depths, volumes = zip(*pairs, strict=True)
    return DipTable(depths, volumes)
