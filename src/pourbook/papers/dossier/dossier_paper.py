"""The dossier: the trace of a bottle lot, for an auditor.

It states what the lot is and where its alcohol came from, then proves it: upstream items, pours, gauges,
losses, corrections, despatches, every sum beside its parts. It ends with the full journal hash, as text
and as a symbol, so that a copy of the book can be checked against the paper. Equal values give equal bytes.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> dossier(Dossier(imprint, "L-000004-D", "L000004D", "Winter Marmalade"), paper="Letter")[:5]
b'%PDF-'
"""

from itertools import accumulate

from reportlab.platypus import CondPageBreak, Flowable, PageBreak, Spacer  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.papers.blocks_drawing import Section, drawn, of_section, report
from pourbook.papers.cells import Cell, Piece, Type
from pourbook.papers.dossier.dossier_sections import SECTIONS, sections
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.papers.dossier.first_page import SIGNED, first_page
from pourbook.papers.page import Imprint, Title, first_room_pt, text_width_pt
from pourbook.papers.sections import height_pt

__all__ = ["SECTIONS", "Dossier", "Imprint", "dossier"]

_NAME = Type(typefaces.SEMIBOLD, 15, 19)
_NONE = "none recorded"
_SLACK_PT = 1.0


def dossier(values: Dossier, paper: str = "A4") -> bytes:
    """The dossier as PDF. Raises as `pourbook.papers.page.document`."""
    stated = first_page(values)
    told = [Section(heading, blocks) for heading, blocks in sections(values)]

    def statement(width_pt: float) -> list[Flowable]:
        return [Cell([Piece(values.name, _NAME)]), Spacer(0, 5), *drawn(stated, width_pt)]

    def signed(width_pt: float) -> list[Flowable]:
        parts = drawn([SIGNED], width_pt)
        return [part for part in parts if not isinstance(part, CondPageBreak)]

    def placed(one: Section, width_pt: float) -> list[Flowable]:
        return of_section(one, width_pt, _NONE)

    width_pt = text_width_pt(paper)
    left_pt = first_room_pt(paper) - height_pt([*statement(width_pt), *signed(width_pt)], width_pt)
    heights_pt = [*accumulate((height_pt(placed(one, width_pt), width_pt) for one in told), initial=0.0)]
    beside = sum(height <= left_pt for height in heights_pt[1:])

    def opening(width_pt: float) -> list[Flowable]:
        """The first page: what fits of the first sections, and at its foot the lines to sign."""
        within = [part for one in told[:beside] for part in placed(one, width_pt)]
        if left_pt < 0:
            return [*statement(width_pt), *signed(width_pt)]
        gap = Spacer(0, left_pt - heights_pt[beside] - _SLACK_PT)
        return [*statement(width_pt), *within, gap, *signed(width_pt), PageBreak()]

    title = Title("Lot dossier", values.id, values.code)
    return report(values.imprint, title, opening, told[beside:], paper, _NONE)
