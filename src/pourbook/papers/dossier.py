"""The dossier: the trace of a bottle lot, for an auditor.

It states what the lot is, then bears it out: where its spirit came from, every item it was once
in, every pour and gauge on the way, what was lost, what was corrected and by whom, and where the
bottles went. Every sum is printed beside its parts. It ends with the journal's full head hash,
as text and as a symbol, so that a copy of the book can be held against the paper.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> dossier(Dossier(imprint, "L-000004-D", "L000004D", "Winter Marmalade"), paper="Letter")[:5]
b'%PDF-'
"""

from reportlab.platypus import Flowable  # loaded only by the verbs that print

from pourbook.papers.dossier_sections import sections
from pourbook.papers.dossier_statement import statement
from pourbook.papers.dossier_values import Dossier
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.tables import section

__all__ = ["Dossier", "Imprint", "dossier"]


def dossier(values: Dossier, paper: str = "A4") -> bytes:
    """The dossier as PDF.

    Args:
        values: what it says.
        paper: 'A4' or 'Letter'.

    Raises:
        Malformed: no such paper, or a character that no typeface has.
        OutOfRange: a figure that is no number.
    """

    def story(width_pt: float) -> list[Flowable]:
        content = statement(values, width_pt)
        for number, (title, body) in enumerate(sections(values, width_pt), start=1):
            content += section(f"{number}  {title}", body, width_pt)
        return content

    return document(values.imprint, Title("Lot dossier", values.id, values.code), story, paper)
