"""Labels that scan: template and values to a PDF at exact size, bars on whole printer dots.

>>> from pourbook.labels.templates import template
>>> vial = Label("vial", "V000123X", "V-000123-X", ref="Q 7/14", strength="61.3 % vol")
>>> labels_pdf([vial], template("vial-roll-30x15"), dpi=203)[:8]
b'%PDF-1.6'
"""

from pourbook.labels.label import CAUTION, KINDS, Label
from pourbook.labels.label_sheets import Printout, labels_pdf

__all__ = ["CAUTION", "KINDS", "Label", "Printout", "labels_pdf"]
