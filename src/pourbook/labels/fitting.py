"""Text into a box: as large as asked if it fits, smaller down to a limit, on several lines.

>>> fit("C-000123-X", Style("DejaVuSansMono", 12, 6), 60, 12)
Fitted(size_pt=9.75, lines=('C-000123-X',))
>>> fit("Second fill butt", Style("SourceSans3", 8, 6, lines=2), 30, 16)
Fitted(size_pt=7.75, lines=('Second', 'fill butt'))
>>> fit("Second fill butt", Style("SourceSans3", 8, 6), 30, 20) is None
True
"""

from bisect import bisect_left
from functools import lru_cache
from typing import NamedTuple

from pourbook import typefaces

__all__ = ["LEADING", "Fitted", "Style", "cap_height", "descent", "fit", "least_height_pt", "would_fit"]

LEADING = 1.15
"""From base line to base line, in type sizes."""

_STEP_PT = 0.25
_MONO = (typefaces.CODE, typefaces.CODE_BOLD)


class Style(NamedTuple):
    """How a text may be set: typeface, the size wanted, the least size and the most lines allowed.

    With `trim` it may be cut short with an ellipsis when even the least size is too large.
    """

    face: str
    size_pt: float
    least_pt: float
    lines: int = 1
    trim: bool = False


class Fitted(NamedTuple):
    """Text that fits, its lines from the top."""

    size_pt: float
    lines: tuple[str, ...]


def cap_height(face: str) -> float:
    """Height of capitals in type sizes: 0.660 in Source Sans 3, 0.729 in DejaVu (their OS/2 tables)."""
    return 0.729 if face in _MONO else 0.660


def descent(face: str) -> float:
    """Depth of letters below the base line in type sizes, a little more than of a 'p'."""
    return 0.236 if face in _MONO else 0.22


@lru_cache(maxsize=1024)
def fit(text: str, style: Style, width_pt: float, height_pt: float) -> Fitted | None:
    """The largest setting of a text that stays within a box, or None when there is none."""
    size = style.size_pt
    if style.lines == 1:
        size = min(size, _widest(text, style.face, width_pt))
    while size >= style.least_pt:
        room = min(style.lines, _rows_within(size, style.face, height_pt))
        lines = _broken(text, style.face, size, width_pt)
        if lines is not None and len(lines) <= room:
            return Fitted(size, lines)
        size = round(size - _STEP_PT, 3)
    return _trimmed(text, style, width_pt, height_pt) if style.trim else None


def would_fit(text: str, style: Style, width_pt: float, height_pt: float) -> str:
    """As much of the beginning of a text as fits at the least size."""
    shortest = style._replace(size_pt=style.least_pt, trim=False)

    def is_too_long(end: int) -> bool:
        return fit(text[:end].strip(), shortest, width_pt, height_pt) is None

    return text[: bisect_left(range(1, len(text) + 1), True, key=is_too_long)].strip()


def _widest(text: str, face: str, width_pt: float) -> float:
    """The largest whole step of size at which one line is no wider than the box."""
    width_at_one = typefaces.width_pt(text, face, 1)
    return int(width_pt / width_at_one / _STEP_PT) * _STEP_PT if width_at_one else 1e9


def least_height_pt(style: Style) -> float:
    """Height of one line at the least size, from the top of its capitals to the foot of its letters."""
    return (cap_height(style.face) + descent(style.face)) * style.least_pt


def _rows_within(size: float, face: str, height_pt: float) -> int:
    one = (cap_height(face) + descent(face)) * size
    return 0 if height_pt < one else 1 + int((height_pt - one) / (LEADING * size))


def _broken(text: str, face: str, size: float, width_pt: float) -> tuple[str, ...] | None:
    """Lines no wider than the box, broken at spaces; None when a single word is wider."""
    lines: list[str] = []
    for word in text.replace(" · ", "\u00a0· ").split(" "):
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and typefaces.width_pt(joined, face, size) <= width_pt:
            lines[-1] = joined
        elif typefaces.width_pt(word, face, size) <= width_pt:
            lines.append(word)
        else:
            return None
    return tuple(line.removesuffix("\u00a0·") for line in lines)


def _trimmed(text: str, style: Style, width_pt: float, height_pt: float) -> Fitted | None:
    shortest = style._replace(size_pt=style.least_pt, trim=False)
    shorter = (text[:end].rstrip(" ·,–-") + "…" for end in range(len(text) - 1, 0, -1))
    return next(filter(None, (fit(short, shortest, width_pt, height_pt) for short in shorter)), None)
