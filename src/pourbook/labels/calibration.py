"""How one printer puts a page on paper: its fineness, how far beside the mark, and what it cannot reach.

>>> bench = Calibration(203, offset_mm=(0.6, -0.4), margins_mm=(0.0, 1.0, 0.0, 0.0))
>>> bench.reach_mm((30.0, 15.0))
(0.0, 1.0, 30.0, 15.0)
"""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from pourbook.errors import OutOfRange
from pourbook.labels.label import Label
from pourbook.labels.label_drawing import Frame, module_dots
from pourbook.labels.label_layout import SymbolField, Template
from pourbook.labels.label_sheets import frame_at, pages
from pourbook.labels.symbols import symbol

__all__ = ["Calibration", "check_reach"]

_HAIR_MM = 0.05
_SIDES = ("left", "top", "right", "foot")


class Calibration(NamedTuple):
    """What is known of a printer.

    Attributes:
        dpi: dots to the inch; of a thermal head its true pitch, where that is known.
        offset_mm: how far everything is moved right and down, so that it lands where it should.
        margins_mm: what it cannot print on at the left, top, right and foot of a page.
    """

    dpi: float = 300.0
    offset_mm: tuple[float, float] = (0.0, 0.0)
    margins_mm: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)

    def reach_mm(self, page_mm: tuple[float, float]) -> tuple[float, float, float, float]:
        """Left, top, right and lower end of what can be printed of a page."""
        left, top, right, foot = self.margins_mm
        return left, top, page_mm[0] - right, page_mm[1] - foot


def check_reach(labels: Iterable[Label], template: Template, calibration: Calibration, start: int = 1) -> None:
    """Refuse labels of which a symbol, text or bar would fall where the printer does not print.

    Raises:
        OutOfRange: with the label, its place, and how far beyond it would lie.
    """
    if not any((*calibration.offset_mm, *calibration.margins_mm)):
        return  # a template keeps within its label, and a sheet within its page
    limits = calibration.reach_mm(template.stock.page_mm)
    for page in pages(labels, template, start):
        for place, label in page:
            frame = frame_at(template, place, calibration.dpi, calibration.offset_mm)
            for what, ink in _inks(label, template, frame):
                _check(f"{what} of {label.id} at place {place}", _extent_mm(ink), limits)


def _inks(label: Label, template: Template, frame: Frame) -> Iterator[tuple[str, Frame]]:
    """Everything that a label shows, with where it stands; of symbols without their quiet zone."""
    for field in template.symbols:
        if label.kind in field.kinds:
            yield f"the {field.kind}", _modules(field, label, frame.within(field.box))
    for text in template.fields:
        if label.kind in text.kinds and (said := text.said(label)):
            yield f"the text '{said[0]}'", frame.within(text.box)
    for rule in template.rules:
        if label.kind in rule.kinds:
            yield "a bar", frame.within(rule.box)


def _modules(field: SymbolField, label: Label, box: Frame) -> Frame:
    """Where the dark modules stand: in the middle of their box."""
    mark = symbol(*field.said(label))
    module = module_dots(mark, box, field.least_module_mm)
    width = module * mark.columns
    height = box.height if mark.linear else module * len(mark.rows)
    left, top = box.left + (box.width - width) // 2, box.top + (box.height - height) // 2
    return box._replace(left=left, top=top, width=width, height=height)


def _extent_mm(ink: Frame) -> tuple[float, float, float, float]:
    dot = 25.4 / ink.dpi
    return ink.left * dot, ink.top * dot, (ink.left + ink.width) * dot, (ink.top + ink.height) * dot


def _check(what: str, ink_mm: tuple[float, ...], limits_mm: tuple[float, ...]) -> None:
    for side, ink, limit, outward in zip(_SIDES, ink_mm, limits_mm, (-1, -1, 1, 1), strict=True):
        beyond = outward * (ink - limit)
        if beyond > _HAIR_MM:
            raise OutOfRange(
                f"{what} would lie {beyond:.1f} mm beyond what the printer reaches at the {side}",
                "start at another place, use another template, or measure offset and margins of the printer again",
            )
