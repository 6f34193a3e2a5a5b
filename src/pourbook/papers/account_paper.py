"""The printed account of a period: what was held, what came, what went and why, what was declared.

It first says that it is not the return itself; then all groups, the account of each, adjustments and samples.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable, Spacer  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.codes.identifiers import hyphened
from pourbook.papers.blocks import Block, Lines, Place, Signatures, tabled
from pourbook.papers.blocks_drawing import Section, report
from pourbook.papers.cells import BODY, BODY_STRONG, QUIET, SMALL, SMALL_IDENTIFIER, Piece, Type
from pourbook.papers.endpoints import named_endpoint
from pourbook.papers.listing import ENTRY, WHEN, listed, named
from pourbook.papers.page import Imprint, Title
from pourbook.papers.sections import facts, lines
from pourbook.papers.signed_head import head_block
from pourbook.papers.tables import Column, Content
from pourbook.queries.accounts.account import Account, Corrected, GroupAccount
from pourbook.queries.accounts.declared import Declaration, Figure, figures
from pourbook.queries.accounts.sample_movements import Sampled
from pourbook.times import minute
from pourbook.words.account_words import NOT_THE_RETURN, SIDES, declared_text, period_text, status_of
from pourbook.words.group_words import difference_words
from pourbook.words.paper_figures import Notation

if TYPE_CHECKING:
    from datetime import tzinfo

__all__ = ["AccountPaper", "Imprint", "account_paper"]

_NOTICE = Type(typefaces.SEMIBOLD, 10, 13)
_DIGITS = 3
_BY = {"duty": "duty status"}
_ENDS = ("opening", "closing")
_UNIT = SMALL._replace(grey=QUIET.grey)

_COMPUTED = (
    "Opening + prior-period adjustment + in + gains = out + losses + closing, in every group, to the whole "
    "milligram of liquid, ethanol and extract; this was checked when the account was prepared.\n"
    "Litres of pure alcohol are ethanol at 789.239 kg/m³ (OIML R 22, 20 °C). Bulk litres are measured for each item "
    "or movement separately at 20 °C. Volumes do not add when liquids mix: the contraction line shows what mixing and "
    "reducing take, which no mass shows.\n"
    "A gauge states what is there. What exceeds the book is a gain and what is missing a loss, for each constituent "
    "separately: evaporation for a cask, operating loss otherwise, unless the entry says more.\n"
    "A transfer between groups, by a pour or by a change of owner, status or place, leaves one group and enters the "
    "other. A loss between two items is a loss of the source. Of a group, what a site sent is in transit, and "
    "the sender's, until another receives it; what was received more or less is gained or lost in transit.\n"
    "Each declared figure is rounded by the rule from the exact one and never changes; rounded figures need not add "
    "up. Exact figures are rounded half up, only in print; lines below half a millilitre are left out."
)


@dataclass(frozen=True, slots=True)
class AccountPaper:
    """An account under its imprint, with its declaration if any; `facts_of` sampled items; the zone of the house.

    `prepared_by` is who printed it; empty where nobody says.
    """

    imprint: Imprint
    account: Account
    declaration: Declaration | None
    zone: "tzinfo"
    facts_of: Mapping[str, Mapping[str, str]]
    prepared_by: str = ""

    @property
    def period(self) -> str:
        """First and last day, as an interval of ISO 8601."""
        return period_text(self.account.start_us, self.account.end_us, self.zone)


def account_paper(values: AccountPaper, paper: str = "A4") -> bytes:
    """The account as PDF. Raises as `pourbook.papers.page.document`."""
    title = Title("Account", values.period, values.period.replace("-", ""))
    return report(values.imprint, title, lambda width_pt: _statement(values, width_pt), _sections(values), paper)


def _statement(values: AccountPaper, width_pt: float) -> list[Flowable]:
    account, zone = values.account, values.zone
    pairs: list[tuple[str, Content]] = [
        ("From", Piece(minute(account.start_us, zone), BODY_STRONG)),
        ("Up to (not including)", Piece(minute(account.end_us, zone), BODY_STRONG)),
        ("Grouped by", ", ".join(_BY.get(name, name) for name in account.by) or "the house as a whole"),
        ("Period", status_of(account)),
    ]
    pairs += [("Prepared by", values.prepared_by)] if values.prepared_by else []
    told = [f"Declared: {declared_text(values.declaration, zone)}."] if values.declaration else []
    if account.pending:
        entries = ", ".join(map(str, account.pending))
        told.append(f"Provisional: strengths are pending in entries {entries}.")
    return [*lines([NOT_THE_RETURN], _NOTICE), Spacer(0, 5), facts(pairs, width_pt), *lines(told, BODY_STRONG)]


def _sections(values: AccountPaper) -> Iterator[Section]:
    """All sections; two of them only where there is something to say under them."""
    account, zone = values.account, values.zone
    groups = [(_name(group), _seen(group, values)) for group in account.groups] if account.by else []
    groups.append((_name(account.total), _seen(account.total, values)))
    if account.by:
        yield Section("All groups", _overview(groups, values.imprint.notation))
        for group, (name, seen) in zip((*account.groups, None), groups, strict=True):
            yield Section(f"Account of {_told(account, group)}" if group else name, _lines(seen, values), is_whole=True)
    else:
        yield Section("The account", _lines(groups[0][1], values))
    adjusting = _corrections(account.adjusting, zone)
    yield Section("Corrections to closed periods, adjusted here", adjusting)
    if since := _corrections(account.corrected_since, zone):
        yield Section("Corrections made since this period closed, adjusted later", since)
    yield Section("Samples and destructions", _samples(values))
    if between := _differences(values):
        yield Section("What the sites do not agree on, to be explained", between)
    yield Section("How these figures are computed", [Lines(tuple(_COMPUTED.splitlines()))])
    heads = (("entry", str(values.imprint.entries)), ("hash", Piece(values.imprint.head_hash, SMALL_IDENTIFIER)))
    yield Section("Journal as this account was prepared", [head_block(values.imprint, *heads)], is_whole=True)
    yield Section("Signatures", [Signatures(("Prepared by", "Checked by"))], is_whole=True)


def _name(group: GroupAccount) -> str:
    return " · ".join(group.group) or "Total, all groups"


def _told(account: Account, group: GroupAccount) -> str:
    """A group with what it is one of: owner Harbour Row, kind cask."""
    return ", ".join(f"{_BY.get(by, by)} {value}" for by, value in zip(account.by, group.group, strict=True))


def _seen(group: GroupAccount, values: AccountPaper) -> list[Figure]:
    return [figure for figure in figures(group, values.declaration) if figure.is_seen]


def _overview(groups: Sequence[tuple[str, list[Figure]]], notation: Notation) -> list[Block]:
    """A row for each group, pure alcohol above bulk litres; a side on which nothing stands is left out."""
    used = {figure.line.side for _, seen in groups for figure in seen}
    sides = [side for side in SIDES if side in used]
    columns = (
        Column("group", 26, stretch=1),
        Column("", 9),
        *(Column(SIDES[side].replace(" ", "\n"), 18.5, "right") for side in sides),
    )

    def across(name: str, seen: Sequence[Figure], type_: Type) -> tuple[Place, ...]:
        sums = (_side(seen, side, type_, notation) for side in sides)
        return (name, (Piece("LPA", _UNIT), Piece("bulk L", _UNIT)), *sums)

    *rows, total = groups
    return tabled(columns, [across(*row, BODY) for row in rows], across(*total, BODY_STRONG))


def _side(seen: Sequence[Figure], side: str, type_: Type, notation: Notation) -> tuple[Piece, ...]:
    own = [figure.line.quantity for figure in seen if figure.line.side == side]
    sums = sum((one.lpa_l for one in own), Fraction(0)), sum((one.bulk_l for one in own), Fraction(0))
    return tuple(Piece(notation.fixed(value, _DIGITS) if value else "–", type_) for value in sums)


def _lines(seen: Sequence[Figure], values: AccountPaper) -> list[Block]:
    """The account of a group, line by line; each side is named once."""
    columns = [Column("", 26), Column("", 38, stretch=1), Column("movements\nor items", 17, "right")]
    if values.declaration:
        beside = Column("\ndeclared", 17, "right"), Column("\ndifference", 17, "right")
        columns += [Column("pure alcohol\nLPA, exact", 20, "right"), *beside]
        columns += [Column("bulk L at 20 °C\nexact", 21, "right"), *beside]
    else:
        columns += [Column("pure alcohol\nLPA", 24, "right"), Column("bulk\nL at 20 °C", 24, "right")]
    before = ["", *(figure.line.side for figure in seen)]
    notation, is_declared = values.imprint.notation, values.declaration is not None
    rows = [_line(one, one.line.side != side, notation, is_declared) for one, side in zip(seen, before, strict=False)]
    return tabled(columns, rows)


def _line(one: Figure, is_first: bool, notation: Notation, is_declared: bool) -> tuple[Place, ...]:
    side, heading, moved, postings = one.line
    lpa, bulk = (notation.fixed(amount, _DIGITS) for amount in (moved.lpa_l, moved.bulk_l))
    of_lpa = _declared(one.declared_lpa_l, one.difference_lpa_l, notation)
    of_bulk = _declared(one.declared_bulk_l, one.difference_bulk_l, notation)
    if side == "contraction":  # which is of volume alone
        lpa, of_lpa = "", ("", "")
    texts = (lpa, *of_lpa, bulk, *of_bulk) if is_declared else (lpa, bulk)
    count = "" if side in ("adjustment", "contraction") else str(postings)
    type_ = BODY_STRONG if side in _ENDS else BODY
    return tuple(Piece(text, type_) for text in (SIDES[side] if is_first else "", heading, count, *texts))


def _declared(text: str, difference: Fraction | None, notation: Notation) -> tuple[str, str]:
    """As declared, with the digits of the rule; and what that differs from the exact figure."""
    if not text or difference is None:
        return "", ""
    value = Decimal(text)
    digits = -int(value.as_tuple().exponent)
    return notation.fixed(value, max(digits, 0)), notation.fixed(difference, _DIGITS + 1)


def _corrections(corrections: Sequence[Corrected], zone: "tzinfo") -> list[Block]:
    return listed(
        corrections,
        (
            (Column("entry\ncorrected", 16, "right"), lambda one: str(one.entry)),
            (Column("what", 26), lambda one: f"{one.kind}, {one.how}"),
            (Column("happened", 30), lambda one: minute(one.happened_us, zone)),
            (Column("correcting\nentry", 17, "right"), lambda one: str(one.by)),
            (Column("reason", 40, stretch=1), lambda one: one.reason),
            (Column("who", 28), lambda one: one.who),
        ),
    )


def _differences(values: AccountPaper) -> list[Block]:
    """What one site of a group sent and another received otherwise, or not at all."""
    mark = values.imprint.decimal_mark
    return listed(
        values.account.differences,
        (
            (Column("site", 24), lambda one: one.site),
            (Column("item", 34), lambda one: hyphened(one.item) if one.item else ""),
            (Column("what", 100, stretch=1), lambda one: difference_words(one, mark)),
        ),
    )


def _samples(values: AccountPaper) -> list[Block]:
    fixed = values.imprint.notation.fixed

    def amount(one: Sampled) -> tuple[Piece, ...]:
        return Piece(fixed(one.moved.lpa_l, _DIGITS)), Piece(fixed(one.moved.bulk_l, _DIGITS))

    def below(*texts: str) -> tuple[Piece, ...]:
        return tuple(Piece(text, SMALL) for text in texts if text)

    return listed(
        values.account.samples,
        (
            (WHEN._replace(width_mm=25), lambda one: minute(one.happened_us, values.zone)),
            (ENTRY, lambda one: str(one.entry)),
            (Column("what", 21), lambda one: one.what),
            (Column("from", 24), lambda one: named(named_endpoint(one.source, values.facts_of))),
            (Column("to", 24), lambda one: named(named_endpoint(one.target, values.facts_of))),
            (Column("LPA\nbulk L", 15, "right"), amount),
            (Column("recipient\npurpose", 24, stretch=1.5), lambda one: below(one.recipient, one.purpose)),
            (Column("document\nwitness", 18, stretch=1), lambda one: below(one.document, one.witness)),
            (Column("who", 19, stretch=0.5), lambda one: one.who),
        ),
    )
