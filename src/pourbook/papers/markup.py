r"""Text as it stands in HTML and SVG.

>>> marked_up("R&D <oak>\x1b")
'R&amp;D &lt;oak&gt;&lt;U+001B&gt;'
"""

from html import escape

from pourbook.texts import visible

__all__ = ["marked_up"]


def marked_up(text: str) -> str:
    """Text with nothing in it that a reader of markup would take for more than text, or could not show."""
    return escape(visible(text))
