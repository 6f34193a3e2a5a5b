"""Whether a printer reaches all that labels show.

>>> from pourbook.labels.calibration import Calibration
>>> from pourbook.labels.label import Label
>>> from pourbook.labels.templates import template
>>> labels = [Label("vial", "V000123X", "V-000123-X")]
>>> check_reach(Printout(labels, template("vial-roll-30x15"), Calibration(203, margins_mm=(2.0, 0.0, 0.0, 0.0))))
Traceback (most recent call last):
    ...
pourbook.errors.OutOfRange: the data-matrix of V-000123-X at place 1 lies 0.9 mm beyond the printer's reach at the left
"""

from collections.abc import Iterator

from pourbook.errors import OutOfRange
from pourbook.labels.label import Label
from pourbook.labels.label_drawing import Frame, inked, symbol_on
from pourbook.labels.label_layout import Template
from pourbook.labels.label_sheets import Printout

__all__ = ["check_reach"]

_HAIR_MM = 0.05
_SIDES = (("left", -1), ("top", -1), ("right", 1), ("foot", 1))


def check_reach(printout: Printout) -> None:
    """Refuse labels of which a symbol, text or bar would fall where the printer does not print.

    Raises:
        OutOfRange: with the label, its place, and how far beyond it would lie.
    """
    calibration = printout.calibration
    if not any((*calibration.offset_mm, *calibration.margins_mm)):
        return  # a template keeps within its label, and a sheet within its page
    limits_mm = calibration.reach_mm(printout.template.media.page_mm)
    for page in printout.placed():
        for place, frame, label in page:
            for what, ink in _inks(label, printout.template, frame):
                for (side, outward), at_mm, limit_mm in zip(_SIDES, _extent_mm(ink), limits_mm, strict=True):
                    beyond_mm = outward * (at_mm - limit_mm)
                    if beyond_mm > _HAIR_MM:
                        raise OutOfRange(
                            f"{what} of {label.id} at place {place} lies {beyond_mm:.1f} mm beyond the printer's reach"
                            f" at the {side}",
                            "start at another place, use another template, or measure offset and margins again",
                        )


def _inks(label: Label, template: Template, frame: Frame) -> Iterator[tuple[str, Frame]]:
    """Everything that a label shows, with where it stands; of symbols without their quiet zone."""
    for field in template.symbols_on(label):
        within = frame.within(field.box)
        mark, least_mm = symbol_on(label, field, within)
        ink = inked(mark, within, least_mm)
        yield f"the {field.kind}", ink
    for text, said in template.texts_on(label):
        yield f"the text '{said[0]}'", frame.within(text.box)
    for rule in template.rules_on(label):
        yield "a bar", frame.within(rule.box)


def _extent_mm(ink: Frame) -> tuple[float, float, float, float]:
    dot = 25.4 / ink.dpi
    return ink.left * dot, ink.top * dot, (ink.left + ink.width) * dot, (ink.top + ink.height) * dot
