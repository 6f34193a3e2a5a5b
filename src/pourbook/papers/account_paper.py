"""The printed account of a period: what was held, what came, what went and why, what was declared.

It says first what it is not: the return itself. Then all groups side by side, the account of each,
the corrections of earlier periods that take effect in this one, and the samples one by one.

>>> imprint = Imprint("Quillmere Distillery", "2026-01-03 10:32 GMT", 1284, "9f3c" * 16)
>>> bare = Account(imprint, "2025-01-01/2025-12-31", "20250101/20251231", "2025-01-01 00:00", "2026-01-01 00:00",
...     "", "open", "", "Not the return itself.")
>>> account_paper(bare)[:5]
b'%PDF-'
"""

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction

from reportlab.platypus import Flowable, Spacer  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.papers.account_values import Account, AccountCorrection, AccountGroup, AccountLine, AccountSample
from pourbook.papers.cells import BODY, BODY_STRONG, QUIET, SMALL, Piece, Type
from pourbook.papers.dossier.dossier_columns import ENTRY, WHEN, Row, named, table
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.sections import absent, facts, lines, section
from pourbook.papers.tables import Column, Content
from pourbook.words.paper_figures import Notation

__all__ = ["Account", "Imprint", "account_paper"]

_NOTICE = Type(typefaces.SEMIBOLD, 10, 13)
_DIGITS = 3
_SIDES = {
    "opening": "opening",
    "adjustment": "earlier periods",
    "in": "in",
    "gain": "gains",
    "out": "out",
    "loss": "losses",
    "contraction": "contraction",
    "closing": "closing",
}
_ACROSS = tuple(_SIDES)
_ENDS = ("opening", "closing")
_UNIT = SMALL._replace(grey=QUIET.grey)

_COMPUTED = (
    "Opening + corrections of earlier periods + in + gains = out + losses + closing, in every group, to the whole "
    "milligram of liquid, of ethanol and of extract; it was checked when this was made.\n"
    "Litres of pure alcohol are ethanol at 789.239 kg/m³ (OIML R 22, 20 °C). Bulk litres are those of each item or "
    "movement by itself at 20 °C. Volumes do not add up when liquids mix; what mixing and reducing take is the line "
    "of contraction, which no mass shows.\n"
    "A gauge states what is there: what it found beyond the book is a gain, what it found missing a loss, of each "
    "constituent by itself, under evaporation for a cask and operating loss otherwise, unless its entry says more.\n"
    "What went from one group to another, by a pour or by a change of owner, status or place, leaves one as it "
    "comes into the other. What was lost between two items is a loss of the one it left.\n"
    "Declared figures are each rounded by the rule from the exact one and never change; rounded figures need not "
    "add up. Exact figures are rounded, half up, only for print, and lines of less than half a millilitre are left out."
)


def account_paper(values: Account, paper: str = "A4") -> bytes:
    """The account as PDF.

    Args:
        values: what it says.
        paper: 'A4' or 'Letter'.

    Raises:
        Malformed: no such paper, or a character that no typeface has.
        OutOfRange: a single text that is longer than a page.
    """

    def story(width_pt: float) -> list[Flowable]:
        content = _statement(values, width_pt)
        for title, make, is_always in _SECTIONS:
            body = make(values, width_pt)
            if body or is_always:
                content += section(title, body, width_pt) if body else absent(f"{title}: none")
        return content

    return document(values.imprint, Title("Account", values.period, values.code), story, paper)


def _statement(values: Account, width_pt: float) -> list[Flowable]:
    pairs: list[tuple[str, Content]] = [
        ("From", Piece(values.begins, BODY_STRONG)),
        ("Until (the moment before)", Piece(values.ends, BODY_STRONG)),
        ("Kept by", values.by or "the house as a whole"),
        ("Period", values.status),
    ]
    declared = [f"Declared: {values.declared}."] if values.declared else []
    return [
        *lines([values.notice], _NOTICE),
        Spacer(0, 5),
        facts(pairs, width_pt),
        *lines([*declared, *(f"Provisional: {warning}" for warning in values.warnings)], BODY_STRONG),
    ]


# -- all groups side by side ---------------------------------------------------------------


def _overview(values: Account, width_pt: float) -> list[Flowable]:
    """A row for each group, pure alcohol above bulk litres; left out where there is only one account."""
    if not values.by:
        return []
    columns = (
        Column("group", 26, stretch=1),
        Column("", 9),
        *(Column(_SIDES[side].replace(" ", "\n"), 18.5, "right") for side in _ACROSS),
    )
    notation = values.imprint.notation
    rows = [_across(group.name, group, notation) for group in values.groups]
    total = _across("All together", values.total, notation)
    return table(columns, rows, width_pt, total)


def _across(name: str, group: AccountGroup, notation: Notation) -> Row:
    sums = [_side(group, side) for side in _ACROSS]
    type_ = BODY if group.name else BODY_STRONG
    figures = [tuple(Piece(_figure(value, notation), type_) for value in pair) for pair in sums]
    return (name, (Piece("LPA", _UNIT), Piece("bulk L", _UNIT)), *figures)


def _side(group: AccountGroup, side: str) -> tuple[Fraction, Fraction]:
    own = [line for line in group.lines if line.side == side]
    return sum((line.lpa_l for line in own), Fraction(0)), sum((line.bulk_l for line in own), Fraction(0))


def _figure(value: Fraction, notation: Notation) -> str:
    return notation.fixed(value, _DIGITS) if value else "–"


# -- the account of each group ---------------------------------------------------------------


def _groups(values: Account, width_pt: float) -> list[Flowable]:
    if not values.by:
        return _lines(values.total, values, width_pt)
    body: list[Flowable] = []
    for group in (*values.groups, values.total):
        title = group.name or "All together"
        body += section(title, _lines(group, values, width_pt), width_pt, sub=True)
    return body


def _lines(group: AccountGroup, values: Account, width_pt: float) -> list[Flowable]:
    columns = [
        Column("", 26),
        Column("", 38, stretch=1),
        Column("movements\nor items", 17, "right"),
        Column("pure alcohol\nLPA", 24, "right"),
        Column("bulk\nL at 20 °C", 24, "right"),
    ]
    if values.declared:
        columns[3:] = [
            Column("pure alcohol\nLPA, exact", 20, "right"),
            Column("\ndeclared", 17, "right"),
            Column("\ndifference", 17, "right"),
            Column("bulk L at 20 °C\nexact", 21, "right"),
            Column("\ndeclared", 17, "right"),
            Column("\ndifference", 17, "right"),
        ]
    rows = [_line(line, _is_first(group.lines, place), values) for place, line in enumerate(group.lines)]
    return table(columns, rows, width_pt)


def _is_first(group_lines: Sequence[AccountLine], place: int) -> bool:
    """Whether a line is the first of its side, which then is named."""
    return not place or group_lines[place - 1].side != group_lines[place].side


def _line(line: AccountLine, is_first: bool, values: Account) -> Row:
    notation = values.imprint.notation
    type_ = BODY_STRONG if line.side in _ENDS else BODY
    is_volume = line.side == "contraction"
    lpa = "" if is_volume else notation.fixed(line.lpa_l, _DIGITS)
    count = "" if line.side in ("adjustment", "contraction") else str(line.postings)
    figures = [lpa, notation.fixed(line.bulk_l, _DIGITS)]
    if values.declared:
        of_lpa = _declared(line.declared_lpa_l, line.difference_lpa_l, notation)
        of_bulk = _declared(line.declared_bulk_l, line.difference_bulk_l, notation)
        figures = [lpa, *(("", "") if is_volume else of_lpa), figures[1], *of_bulk]
    return tuple(Piece(text, type_) for text in (_SIDES[line.side] if is_first else "", line.heading, count, *figures))


def _declared(text: str, difference: Fraction | None, notation: Notation) -> tuple[str, str]:
    """As declared, with the digits of the rule; and what that differs from the exact figure."""
    if not text or difference is None:
        return "", ""
    value = Decimal(text)
    digits = -int(value.as_tuple().exponent)
    return notation.fixed(value, max(digits, 0)), notation.fixed(difference, _DIGITS + 1)


# -- corrections and samples -------------------------------------------------------------------


def _adjusting(values: Account, width_pt: float) -> list[Flowable]:
    return _corrections(values.adjusting, width_pt)


def _since(values: Account, width_pt: float) -> list[Flowable]:
    return _corrections(values.corrected_since, width_pt)


def _corrections(corrections: Sequence[AccountCorrection], width_pt: float) -> list[Flowable]:
    columns = (
        Column("entry\ncorrected", 16, "right"),
        Column("what", 26),
        Column("said to have happened", 30),
        Column("correcting\nentry", 17, "right"),
        Column("reason", 40, stretch=1),
        Column("who", 28),
    )
    rows = [(str(one.entry), one.what, one.happened, str(one.by), one.reason, one.who) for one in corrections]
    return table(columns, rows, width_pt)


def _samples(values: Account, width_pt: float) -> list[Flowable]:
    columns = (
        WHEN,
        ENTRY,
        Column("what", 20),
        Column("from", 24),
        Column("to", 24),
        Column("LPA\nbulk L", 15, "right"),
        Column("recipient", 18, stretch=1),
        Column("purpose", 18, stretch=1.5),
        Column("document\nwitness", 18, stretch=1),
        Column("who", 18),
    )
    return table(columns, [_sample(one, values.imprint.notation) for one in values.samples], width_pt)


def _sample(one: AccountSample, notation: Notation) -> Row:
    return (
        one.when,
        str(one.entry),
        one.what,
        named(one.source),
        named(one.target),
        (Piece(notation.fixed(one.lpa_l, _DIGITS)), Piece(notation.fixed(one.bulk_l, _DIGITS))),
        one.recipient,
        one.purpose,
        tuple(Piece(text, SMALL) for text in (one.document, one.witness) if text),
        one.who,
    )


def _computed(_values: Account, _width_pt: float) -> list[Flowable]:
    return lines(_COMPUTED.splitlines())


_SECTIONS: tuple[tuple[str, Callable[[Account, float], list[Flowable]], bool], ...] = (
    ("All groups, side by side", _overview, False),
    ("The account", _groups, True),
    ("Corrections of earlier, closed periods that take effect here", _adjusting, True),
    ("Corrections made since this period was closed, which take effect later", _since, False),
    ("Samples and destructions", _samples, True),
    ("How these figures are computed", _computed, True),
)
"""Title and maker of each section, and whether it is named where there is nothing to say under it."""
