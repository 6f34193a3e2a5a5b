"""The dossier: the trace of a bottle lot, for an auditor.

It states what the lot is and where its alcohol came from, then proves it: upstream items, pours, gauges,
losses, corrections, despatches, every sum beside its parts. It ends with the full journal hash, as text
and as a symbol, so that a copy of the book can be checked against the paper. Equal values give equal bytes.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> dossier(Dossier(imprint, "L-000004-D", "L000004D", "Winter Marmalade"), paper="Letter")[:5]
b'%PDF-'
"""

from reportlab.platypus import Flowable, Spacer  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.papers.blocks_drawing import Section, drawn, report
from pourbook.papers.cells import Cell, Piece, Type
from pourbook.papers.dossier.dossier_sections import SECTIONS, sections, statement
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.papers.page import Imprint, Title

__all__ = ["SECTIONS", "Dossier", "Imprint", "dossier"]

_NAME = Type(typefaces.SEMIBOLD, 15, 19)


def dossier(values: Dossier, paper: str = "A4") -> bytes:
    """The dossier as PDF. Raises as `pourbook.papers.page.document`."""
    stated = statement(values)

    def opening(width_pt: float) -> list[Flowable]:
        return [Cell([Piece(values.name, _NAME)]), Spacer(0, 5), *drawn(stated, width_pt, values.imprint.notation)]

    title = Title("Lot dossier", values.id, values.code)
    told = (Section(heading, blocks) for heading, blocks in sections(values))
    return report(values.imprint, title, opening, told, paper, "none recorded")
