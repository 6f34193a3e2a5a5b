"""A run of labels made ready for its printer: within its reach, drawn, and proof-read.

>>> from pourbook.labels import Label
>>> from pourbook.labels.templates import template
>>> labels = [Label("vial", "V000123X", "V-000123-X")]
>>> run_pdf(labels, template("vial-roll-30x15"), Calibration(203))[:8]
b'%PDF-1.6'
"""

from collections.abc import Sequence

from pourbook.labels.calibration import Calibration, check_reach
from pourbook.labels.label import Label
from pourbook.labels.label_layout import Template
from pourbook.labels.label_sheets import labels_pdf
from pourbook.labels.proofing import proof

__all__ = ["run_pdf"]


def run_pdf(
    labels: Sequence[Label],
    template: Template,
    calibration: Calibration,
    start: int = 1,
    *,
    proof_read: bool = True,
) -> bytes:
    """The run as a PDF, a page for each label of a roll, or filled sheets.

    Args:
        labels: in the order of printing.
        template: what stands where, and the stock.
        calibration: of the printer.
        start: the first free place of the first sheet.
        proof_read: whether every symbol is read back before the run is given out.

    Raises:
        OutOfRange: what does not fit, or lies where the printer does not print.
        Malformed: a character that no typeface has, or a label that reads unlike it scans.
        Refused: no labels, one that the template does not serve, or one that does not read.
    """
    dpi, offset_mm, _ = calibration
    pdf = labels_pdf(labels, template, dpi, start, offset_mm)
    check_reach(labels, template, calibration, start)
    if proof_read:
        proof(pdf, labels, template, dpi, start, offset_mm)
    return pdf
