"""How far a gauge is from what the book had, shown."""

from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.alcoholometry.volumes import pure_alcohol_ml, strength_20c, volume_ml

if TYPE_CHECKING:
    from pourbook.book.consequences import Changed
    from pourbook.house_style import HouseStyle

__all__ = ["difference_document", "difference_words"]


def difference_words(found: "Changed", style: "HouseStyle") -> str:
    """How far a gauge is from what the book had: volume, strength, pure alcohol.

    >>> from pourbook.book.consequences import Changed
    >>> from pourbook.house_style import HouseStyle
    >>> from pourbook.liquid import Liquid
    >>> found = Changed("C000001H", Liquid(90_115_429, 50_116_685), Liquid(88_000_000, 48_900_000))
    >>> difference_words(found, HouseStyle())
    'difference from the book: −2.36 l, −0.04 % vol, −1.54 LPA'
    """
    apart = _apart(found)
    small = max(volume_ml(found.before), volume_ml(found.after)) < 1000
    per, unit, pure = (1, "ml", "ml of pure alcohol") if small else (1000, "l", "LPA")
    said = [f"{_signed(apart.volume_ml / per, 2, style)} {unit}"]
    if apart.strength_vol is not None:
        said.append(f"{_signed(apart.strength_vol, 2, style)} % vol")
    said.append(f"{_signed(apart.pure_alcohol_ml / per, 2, style)} {pure}")
    return f"difference from the book: {', '.join(said)}"


def difference_document(found: "Changed") -> dict[str, Any]:
    """The same for programs, with what the book had."""
    before = found.before
    figures = (volume_ml(before), strength_20c(before), pure_alcohol_ml(before))
    book = dict(zip(_Apart._fields, figures, strict=True))
    return {**_apart(found)._asdict(), "book": book}


class _Apart(NamedTuple):
    volume_ml: float
    strength_vol: float | None
    pure_alcohol_ml: float


def _apart(found: "Changed") -> _Apart:
    before, after = found.before, found.after
    strengths = strength_20c(before), strength_20c(after)
    percent = None if strengths[0] is None or strengths[1] is None else strengths[1] - strengths[0]
    return _Apart(volume_ml(after) - volume_ml(before), percent, pure_alcohol_ml(after) - pure_alcohol_ml(before))


def _signed(value: float, digits: int, style: "HouseStyle") -> str:
    written = style.shown(abs(value), digits)
    return written if not written.strip("0.,") else f"{'−' if value < 0 else '+'}{written}"
