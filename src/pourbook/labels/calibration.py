"""What is known of a printer: its resolution, how far it prints beside the mark, what it cannot reach, where it is.

>>> bench = Calibration(203, offset_mm=(0.6, -0.4), margins_mm=(0.0, 1.0, 0.0, 0.0))
>>> bench.reach_mm((30.0, 15.0))
(0.0, 1.0, 30.0, 15.0)
"""

from typing import NamedTuple

__all__ = ["DPI", "Calibration", "Printer"]

DPI = (150, 2400)
"""The coarsest and the finest printer that labels are drawn for."""


class Calibration(NamedTuple):
    """How one printer puts a page on paper.

    `dpi` is the true pitch of a thermal head where it is known; `offset_mm` moves everything right and down;
    `margins_mm` are what it cannot print on at the left, top, right and foot of a page.
    """

    dpi: float = 300.0
    offset_mm: tuple[float, float] = (0.0, 0.0)
    margins_mm: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)

    def reach_mm(self, page_mm: tuple[float, float]) -> tuple[float, float, float, float]:
        """Left, top, right and lower end of what can be printed of a page."""
        left, top, right, foot = self.margins_mm
        return left, top, page_mm[0] - right, page_mm[1] - foot


class Printer(NamedTuple):
    """A printer of the house by name: its calibration, and its queue, the address of its raw port, or neither.

    With `own_text` it sets plain lines in its own typeface.
    """

    name: str
    calibration: Calibration
    queue: str = ""
    address: str = ""
    own_text: bool = False

    @property
    def goes_to(self) -> str:
        """Where it is reached; empty where files are made for it and nothing is sent."""
        if self.address:
            return f"port {self.address}"
        return f"queue {self.queue}" if self.queue else ""
