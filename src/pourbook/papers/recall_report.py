"""The report of a recall, drill or real: scope, time taken, what is on hand, what left, the balance, signatures.

>>> imprint = Imprint("Quillmere Distillery", "2026-07-08 10:32 BST", 127, "9f3c" * 16)
>>> bare = RecallReport(imprint, 127, True, "yearly drill", "Maud Aldane", ("cask C-000012-X",), "any amount",
...     "2026-07-08 10:31", "2026-07-08 10:32", "41.0 s", "5b21" * 16, 1, 0, (), 0, 0)
>>> recall_report(bare)[:5]
b'%PDF-'
"""

from collections.abc import Callable

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Spacer  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.papers.cells import BODY, BODY_STRONG, SMALL, SMALL_IDENTIFIER, Cell, Piece, Type
from pourbook.papers.dossier.dossier_columns import ENTRY, WHEN, named, table
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.recall_values import BalanceLine, RecallReport
from pourbook.papers.sections import absent, facts, lines, section
from pourbook.papers.tables import Column, Content
from pourbook.words.paper_figures import Notation

__all__ = ["Imprint", "RecallReport", "recall_report"]

_NOTICE = Type(typefaces.SEMIBOLD, 10, 13)
_SIGNERS = ("Found by", "Checked by", "Quality", "Decided by")
_SIGNING_ROOM_PT = 9 * mm
_DIGITS = 3
_KG_DIGITS = 6

_COMPUTED = (
    "Affected is what any suspect liquid was poured into, or what a suspect closure, glass or label touched; water "
    "and additives count like spirit. Liquids are taken as perfectly mixed. A share is the part of what an item holds "
    "that is suspect, by pure alcohol, by mass and by volume at 20 °C; a least share is compared with the greatest.\n"
    "The balance is of all affected bodies of liquid as a whole, suspect part or not, in whole milligrams: what came "
    "into them less what is held, despatched and lost. What affected items passed to each other stands on both sides. "
    "Pours are read from the flows, what is held and what gauges found from the ledger, so that the two prove each "
    "other; a kilogram here has all its six digits.\n"
    "Which case went to which customer is not recorded: the cases and pallets of a lot are all named.\n"
    "What soaked into a cask that was emptied and filled anew is not followed; such casks are named at the end."
)


def recall_report(values: RecallReport, paper: str = "A4") -> bytes:
    """The report as PDF.

    Args:
        values: what it says.
        paper: 'A4' or 'Letter'.

    Raises:
        Malformed: no such paper, or a character that no typeface has.
        OutOfRange: a single text that is longer than a page.
    """

    def story(width_pt: float) -> list[Flowable]:
        content = _statement(values, width_pt)
        for title, make in _SECTIONS:
            body = make(values, width_pt)
            whole = section(title, body, width_pt) if body else absent(f"{title}: none")
            content += [KeepTogether(whole)] if make is _balance else whole
        return [*content, _signatures(width_pt)]

    title = "Report of a recall drill" if values.drill else "Recall report"
    return document(values.imprint, Title(title, f"RECALL-{values.number}", f"RECALL{values.number}"), story, paper)


def _statement(values: RecallReport, width_pt: float) -> list[Flowable]:
    pairs: list[tuple[str, Content]] = [
        ("Begun", values.begun),
        ("All found, held and recorded", values.ended),
        ("Time taken", Piece(values.taken, BODY_STRONG)),
        ("By", values.who),
        ("Affected items", Piece(str(values.affected), BODY_STRONG)),
        ("of these, holding suspect liquid", str(len(values.on_hand))),
        ("Put on hold by this recall", str(values.held)),
        ("Scope", values.least_share),
    ]
    notice = "A drill: nothing was in fact suspect." if values.drill else "A real recall."
    return [
        *lines([f"{notice} Reason: {values.reason}"], _NOTICE),
        Spacer(0, 4),
        *lines(values.scope, BODY_STRONG, "Suspect"),
        Spacer(0, 4),
        facts(pairs, width_pt),
        *lines([values.head_before], SMALL_IDENTIFIER, "Hash of the journal's entry before this recall"),
        *lines([values.imprint.head_hash], SMALL_IDENTIFIER, "Head of the journal with this recall"),
    ]


def _on_hand(values: RecallReport, width_pt: float) -> list[Flowable]:
    columns = (
        Column("item", 30),
        Column("place", 26, stretch=1),
        Column("suspect, %\nof alcohol", 18, "right"),
        Column("\nof mass", 16, "right"),
        Column("\nof volume", 16, "right"),
        Column("holds\nL at 20 °C", 19, "right"),
        Column("suspect\nkg", 19, "right"),
        Column("hold", 19),
    )
    notation = values.imprint.notation
    rows = [
        (
            named(one.item),
            one.place,
            *(_small(share * 100, notation) for share in (one.alcohol, one.mass, one.volume)),
            notation.fixed(one.volume_l, _DIGITS),
            _small(one.suspect_mg / 1e6, notation),
            one.hold,
        )
        for one in values.on_hand
    ]
    return table(columns, rows, width_pt)


def _small(value: float, notation: Notation) -> str:
    """A figure; a trace of something is never shown as nothing."""
    least = 10.0**-_DIGITS
    return f"<{notation.fixed(least, _DIGITS)}" if 0 < value < least / 2 else notation.fixed(value, _DIGITS)


def _lots(values: RecallReport, width_pt: float) -> list[Flowable]:
    columns = (
        Column("lot", 30, stretch=1),
        Column("lot mark", 24),
        *(Column(head, 20, "right") for head in ("filled", "in the house", "despatched", "returned", "lost")),
    )
    rows = [
        (named(lot.lot), lot.mark, *map(str, (lot.filled, lot.left, lot.despatched, lot.returned, lot.lost)))
        for lot in values.lots
    ]
    packed = [f"{lot.lot.id}: {', '.join(lot.units)}" for lot in values.lots if lot.units]
    return [*table(columns, rows, width_pt), *([Spacer(0, 4)] if packed else []), *lines(packed, SMALL)]


def _departures(values: RecallReport, width_pt: float) -> list[Flowable]:
    columns = (
        WHEN._replace(width_mm=26),
        ENTRY,
        Column("", 17),
        Column("item", 26),
        Column("customer", 30, stretch=1),
        Column("document", 20),
        Column("bottles", 13, "right"),
        Column("kg", 18, "right"),
        Column("suspect\n% of mass", 18, "right"),
    )
    notation = values.imprint.notation
    rows = [
        (
            one.when, str(one.entry), one.what, named(one.item), one.customer, one.document, one.bottles,
            notation.kg(one.mass_mg), _small(one.part * 100, notation),
        )
        for one in values.departures
    ]  # fmt: skip
    return table(columns, rows, width_pt)


def _balance(values: RecallReport, width_pt: float) -> list[Flowable]:
    columns = (
        Column("", 8),
        Column("", 70, stretch=1),
        Column("mass\nkg", 36, "right"),
        Column("of it ethanol\nkg", 36, "right"),
    )
    notation = values.imprint.notation

    def figures(line: BalanceLine) -> tuple[str, ...]:
        return tuple(notation.kg(mg, _KG_DIGITS) for mg in (line.mass_mg, line.ethanol_mg))

    rest = BalanceLine("=", "not explained", values.unexplained_mg, values.unexplained_ethanol_mg)
    rows = [(line.sign, line.words, *figures(line)) for line in values.balance]
    return table(columns, rows, width_pt, (rest.sign, rest.words, *figures(rest)))


def _others(values: RecallReport, _width_pt: float) -> list[Flowable]:
    names = [f"{one.id} ({one.name})" if one.name else one.id for one in values.others]
    return lines([", ".join(names)], SMALL) if names else []


def _computed(_values: RecallReport, _width_pt: float) -> list[Flowable]:
    return lines(_COMPUTED.splitlines())


def _signatures(width_pt: float) -> Flowable:
    """A row for each who answers for it, with room to write; never parted by the end of a page."""
    columns = (Column("", 28), Column("name", 52, stretch=1), Column("signature", 52, stretch=1), Column("date", 30))
    rows = [(Cell([Piece(signer, BODY)]), Spacer(0, _SIGNING_ROOM_PT), "", "") for signer in _SIGNERS]
    return KeepTogether(section("Signatures", table(columns, rows, width_pt), width_pt))


_SECTIONS: tuple[tuple[str, Callable[[RecallReport, float], list[Flowable]]], ...] = (
    ("On hand, to be held", _on_hand),
    ("Lots, cases and pallets", _lots),
    ("What left the house, and came back", _departures),
    ("Balance of all affected liquid", _balance),
    ("Affected items that hold none of it any more", _others),
    ("How these figures are computed", _computed),
)
"""Title and maker of each section."""
