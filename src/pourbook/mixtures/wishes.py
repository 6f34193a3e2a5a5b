"""What a blender wishes for in the next glass: more of something, less of it, or near a target.

>>> tuple(read_wish("smoke near 2", float)), tuple(read_wish("liking more weight 3", float))
(('smoke', 'near', 2.0, 1.0), ('liking', 'more', 0.0, 3.0))
>>> met = met_by(np.array([6.0, 2.0]), Wish("liking", "more"), (1.0, 9.0))
>>> [round(float(part), 3) for part in met]
[0.625, 0.125]
"""

import re
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Literal, NamedTuple, cast

import numpy as np

from pourbook.errors import Malformed, OutOfRange

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Aim", "Wish", "met_by", "read_wish", "read_wishes"]

Aim = Literal["more", "less", "near"]

_FORM = re.compile(
    r"(?P<attribute>.+?)\s+(?:(?P<aim>more|less)|near\s+(?P<target>\S+))(?:\s+weight\s+(?P<weight>\S+))?"
)


class Wish(NamedTuple):
    """What is wanted of an attribute: `aim`, with the `target` of "near", and its `weight` among all wishes."""

    attribute: str
    aim: Aim
    target: float = 0.0
    weight: float = 1.0


def read_wish(text: str, number: Callable[[str], object]) -> Wish:
    """A wish as typed: `liking more`, `smoke less`, `pear near 3`, each with `weight 2` behind if it counts double.

    Raises:
        Malformed: it has another form, or a number is none.
        OutOfRange: the weight is not above zero.
    """
    found = _FORM.fullmatch(text.strip())
    if not found:
        raise Malformed(f"'{text}' is no wish", "write 'liking more', 'smoke less', 'pear near 3' or '… weight 2'")
    target, weight = (
        float(str(number(found[name] or standing))) for name, standing in (("target", "0"), ("weight", "1"))
    )
    if weight <= 0:
        raise OutOfRange(
            f"the weight {found['weight']} in '{text}' is not above zero", "leave the wish out, or weigh it"
        )
    return Wish(found["attribute"], cast("Aim", found["aim"] or "near"), target, weight)


def read_wishes(texts: Iterable[str], number: Callable[[str], object]) -> list[Wish]:
    """Wishes, each of an attribute of its own.

    Raises:
        Malformed: two are of the same, or as `read_wish`.
    """
    wishes = [read_wish(text, number) for text in texts]
    names = [wish.attribute for wish in wishes]
    if twice := [name for name in names if names.count(name) > 1]:
        raise Malformed(f"{twice[0]} is wished for twice", "say once whether you want more, less, or how much of it")
    return wishes


def met_by(values: "NDArray[np.float64]", wish: Wish, scale: tuple[float, float]) -> "NDArray[np.float64]":
    """How far values on a scale meet a wish, 0 to 1; beyond the ends of the scale there is nothing to gain."""
    low, high = scale
    inside = np.clip(values, low, high)
    if wish.aim == "near":
        met: NDArray[np.float64] = 1.0 - np.abs(inside - wish.target) / max(high - wish.target, wish.target - low)
        return met
    risen = (inside - low) / (high - low)
    return risen if wish.aim == "more" else 1.0 - risen
