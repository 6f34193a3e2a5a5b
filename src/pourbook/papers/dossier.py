"""The dossier: the trace of a bottle lot, for an auditor.

It states what the lot is, then bears it out: where its spirit came from, every item it was once
in, every pour and gauge on the way, what was lost, what was corrected and by whom, and where the
bottles went. Every sum is printed beside its parts. It ends with the journal's full head hash,
as text and as a symbol, so that a copy of the book can be held against the paper.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> dossier(Dossier(imprint, "L-000004-D", "L000004D", "Winter Marmalade"), paper="Letter")[:5]
b'%PDF-'
"""

from collections.abc import Callable

from reportlab.platypus import Flowable  # loaded only by the verbs that print

from pourbook.papers import dossier_liquid, dossier_record
from pourbook.papers.dossier_statement import computed, journal, statement
from pourbook.papers.dossier_values import Dossier
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.sections import absent, section

__all__ = ["SECTIONS", "Dossier", "Imprint", "dossier"]

_Section = Callable[[Dossier, float], list[Flowable]]

SECTIONS: tuple[tuple[str, _Section], ...] = (
    ("Origins", dossier_liquid.origins),
    ("Items on the way", dossier_liquid.upstream),
    ("Pours", dossier_liquid.pours),
    ("Gauges", dossier_liquid.gauges),
    ("Water and additives", dossier_liquid.additions),
    ("Dry goods", dossier_record.dry_goods),
    ("Ages", dossier_liquid.ages),
    ("Mass balance", dossier_liquid.balances),
    ("Losses", dossier_liquid.losses),
    ("Holds and notes", dossier_record.remarks),
    ("Corrections", dossier_record.corrections),
    ("People", dossier_record.people),
    ("Despatches", dossier_record.despatches),
    ("Journal", journal),
    ("How these figures are computed", computed),
)
"""Title and maker of each section. All are numbered and named in every dossier, so that what is
absent is seen to be absent."""


def dossier(values: Dossier, paper: str = "A4") -> bytes:
    """The dossier as PDF.

    Args:
        values: what it says.
        paper: 'A4' or 'Letter'.

    Raises:
        Malformed: no such paper, a character that no typeface has, or an identifier that would
            scan as another one.
        OutOfRange: a figure that is no number.
    """

    def story(width_pt: float) -> list[Flowable]:
        content = statement(values, width_pt)
        for number, (title, make) in enumerate(SECTIONS, start=1):
            body = make(values, width_pt)
            heading = f"{number}  {title}"
            content += section(heading, body, width_pt) if body else absent(f"{heading}: none recorded")
        return content

    return document(values.imprint, Title("Lot dossier", values.id, values.code), story, paper)
