"""What labels are printed on: a roll, one label after another, or a sheet of a page size.

Media is described by its geometry alone, in millimetres from the top left corner of the
page, so that any maker's sheet of the same geometry will do.

>>> sheet = Sheet("A4", 38.1, 21.2, 5, 13, left_mm=4.75, top_mm=10.7, pitch_x_mm=40.6, pitch_y_mm=21.2)
>>> sheet.places, sheet.corner_mm(6)
(65, (4.75, 31.9))
"""

from typing import NamedTuple

__all__ = ["PAGES_MM", "Media", "Roll", "Sheet"]

PAGES_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height: ISO 216, and ANSI/ASME Y14.1 size A (8.5 x 11 in)."""


class Roll(NamedTuple):
    """A roll: every page is one label, `width_mm` across the roll and `height_mm` along it."""

    width_mm: float
    height_mm: float

    @property
    def page_mm(self) -> tuple[float, float]:
        """Width and height of a page: those of the label."""
        return self.width_mm, self.height_mm

    @property
    def places(self) -> int:
        """Labels on a page."""
        return 1

    def corner_mm(self, place: int) -> tuple[float, float]:  # noqa: ARG002 -- a sheet needs it
        """Where a label starts, from the left and the top of the page."""
        return 0.0, 0.0


class Sheet(NamedTuple):
    """A page of a size in `PAGES_MM`, with labels of a width and height in columns and rows.

    `left_mm` and `top_mm` lead from the edges of the page to the first label, the pitches `x` and `y` from a label's
    edge to the same edge of the next.
    """

    page: str
    width_mm: float
    height_mm: float
    columns: int
    rows: int
    left_mm: float
    top_mm: float
    pitch_x_mm: float
    pitch_y_mm: float

    @property
    def page_mm(self) -> tuple[float, float]:
        """Width and height of the page."""
        return PAGES_MM[self.page]

    @property
    def places(self) -> int:
        """Labels on a page."""
        return self.columns * self.rows

    def corner_mm(self, place: int) -> tuple[float, float]:
        """Where the label at a place starts, from the left and the top of the page.

        Places are counted from 1, along the rows from the top left.
        """
        row, column = divmod(place - 1, self.columns)
        return round(self.left_mm + column * self.pitch_x_mm, 4), round(self.top_mm + row * self.pitch_y_mm, 4)


Media = Roll | Sheet
