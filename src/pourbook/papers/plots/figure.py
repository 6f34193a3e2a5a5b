"""What all statistical plots share: our typefaces, colours that are told apart in grey, and files without a date.

The same values make the same bytes: nothing of the machine, of its settings or of the day goes in.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import FigureCanvasPdf
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.font_manager import fontManager

from pourbook import typefaces
from pourbook.errors import Malformed

__all__ = ["EDGE", "FILL", "INK", "QUIET", "SHADES", "drawn", "plotting", "set_in", "suffix_of"]

INK, QUIET, EDGE, FILL = "#1a1a1a", "#5c5c5c", "#8c8c8c", "#c9dbe8"
"""Lines and words, words beside them, frames, and what is filled."""

SHADES = ("#fdfbf5", "#efe6d0", "#dcc9a2", "#c2a673", "#a3854f")
"""From little to much, each darker than the one before."""

_OURS: dict[Any, Any] = {
    "font.family": ["Source Sans 3", "DejaVu Sans"],
    "font.size": 8.5,
    "text.color": INK,
    "axes.edgecolor": EDGE,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.6,
    "axes.titlesize": 9.5,
    "axes.titleweight": "bold",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.unicode_minus": True,
    "xtick.color": EDGE,
    "ytick.color": EDGE,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "text.parse_math": False,
    "lines.linewidth": 1.3,
    "hatch.linewidth": 0.5,
    "svg.fonttype": "path",
    "svg.hashsalt": "pourbook",
    "pdf.fonttype": 42,
}
_KINDS = {"svg": FigureCanvasSVG, "pdf": FigureCanvasPdf, "png": FigureCanvasAgg}
_UNDATED = {"svg": {"Date": None, "Creator": "pourbook"}, "pdf": {"CreationDate": None, "Producer": "pourbook"}}
_DPI = 200


@contextmanager
def plotting() -> Iterator[None]:
    """Our settings, whatever those of the user are; a figure is made and written within."""
    known = {font.fname for font in fontManager.ttflist}
    for face in (typefaces.TEXT, typefaces.BOLD):
        path = str(typefaces.path_of(face))
        if path not in known:
            fontManager.addfont(path)
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(_OURS)
        yield


def set_in(text: str) -> str:
    """A text as our typefaces set it: what none has is a square."""
    return "".join(piece for piece, _ in typefaces.runs(text, typefaces.TEXT))


def suffix_of(name: str) -> str:
    """The form of a file by its name: svg, pdf or png.

    Raises:
        Malformed: it is none of them.
    """
    suffix = Path(name).suffix.lower().removeprefix(".")
    if suffix not in _KINDS:
        raise Malformed(f"'{name}' is not a picture known here", "name it .svg, .pdf or .png")
    return suffix


def drawn(figure: Figure, suffix: str) -> bytes:
    """The figure as a file of that form."""
    file = BytesIO()
    _KINDS[suffix](figure).print_figure(file, format=suffix, dpi=_DPI, metadata=_UNDATED.get(suffix))
    return file.getvalue()
