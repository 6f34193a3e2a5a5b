"""The sections of a dossier that follow the liquid: origins, items, pours, gauges, ages, balance, losses.

Each takes the dossier and makes the content of its section; nothing when there is nothing to show.

>>> from pourbook.papers.page import Imprint
>>> imprint = Imprint("Quillmere Distillery", "2026-03-14", 1284, "9f3c" * 16)
>>> bare = Dossier(imprint, "L-000004-D", "L000004D", "Ash")
>>> origins(bare), losses(bare)
([], [])
"""

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import groupby

from pourbook.papers.blocks import Block, Lines, Part, Place
from pourbook.papers.cells import BODY, BODY_STRONG, SMALL_IDENTIFIER, Piece
from pourbook.papers.dossier.dossier_rows import Balance, Origin, UpstreamItem
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.papers.listing import ENTRY, WHEN, listed, named
from pourbook.papers.tables import Column
from pourbook.words.figure_words import age_text
from pourbook.words.paper_figures import UNKNOWN, Figure, exact

__all__ = ["additions", "ages", "balances", "gauges", "instruments", "losses", "origins", "pours", "upstream"]

_KINDS = {"cask": "Casks", "vial": "Vials", "trial": "Trials", "batch": "Batches", "lot": "Lots"}
_SHOWN_LPA = Fraction(1, 2_000_000)
"""Half a unit of the last digit in which a difference of pure alcohol is printed."""


def _sum(figures: Iterable[Figure]) -> Fraction:
    return sum(map(exact, figures), Fraction(0))


def origins(values: Dossier) -> list[Block]:
    """Where the spirit came from, with the sum of the shares and of what of it is in the lot."""
    notation = values.imprint.notation
    known = [row.lpa_in_lot_l for row in values.origins if row.lpa_in_lot_l is not None]
    return listed(
        values.origins,
        (
            (Column("spirit", 20, stretch=1), lambda row: row.spirit),
            (Column("distiller", 20, stretch=1), lambda row: row.distiller),
            (Column("supplier", 20, stretch=1), lambda row: row.supplier),
            (Column("document\ncarrier", 31, stretch=1.5), _delivery),
            (Column("into", 22, stretch=0.5), lambda row: named(row.into)),
            (WHEN._replace(width_mm=18), lambda row: row.when),
            (Column("taken in\nLPA", 17.5, "right"), lambda row: notation.fixed(row.lpa_l, 3)),
            (Column("in this lot\nLPA", 18.5, "right"), lambda row: notation.fixed(row.lpa_in_lot_l, 3)),
            (Column("share\n%", 15.5, "right"), lambda row: notation.percent(row.share, 4)),
        ),
        (
            "Sum",
            *[""] * 6,
            notation.fixed(_sum(known), 3) if known else "",
            notation.percent(_sum(row.share for row in values.origins), 4),
        ),
    )


def _delivery(row: Origin) -> Place:
    """The document it came with, and who brought it."""
    return tuple(Piece(text) for text in (row.document, row.carrier) if text)


def upstream(values: Dossier) -> list[Block]:
    """Every item some of the lot was once in, a table for each kind."""
    notation = values.imprint.notation

    def is_empty(row: UpstreamItem) -> bool:
        return row.on_hand_l is not None and not exact(row.on_hand_l)

    def on_hand(row: UpstreamItem) -> str:
        return "empty" if is_empty(row) else notation.fixed(row.on_hand_l, 2)

    def pure(row: UpstreamItem) -> str:
        return "" if is_empty(row) else notation.fixed(row.on_hand_lpa_l, 2)

    fields = (
        (Column("item", 21), lambda row: Piece(row.item.id, SMALL_IDENTIFIER)),
        (Column("ref", 20, stretch=0.5), lambda row: row.ref),
        (Column("name", 36, stretch=1), lambda row: row.item.name),
        (Column("wood", 32, stretch=1), lambda row: row.wood),
        (Column("share of the lot\n%", 21, "right"), lambda row: notation.percent(row.share, 4)),
        (Column("on hand\nL", 20, "right"), on_hand),
        (Column("on hand\nLPA", 20, "right"), pure),
    )
    kinds = ((kind, list(group)) for kind, group in groupby(values.upstream, key=lambda item: item.kind))
    return [Part(f"{_KINDS.get(kind, kind)} ({len(rows)})", tuple(listed(rows, fields))) for kind, rows in kinds]


def pours(values: Dossier) -> list[Block]:
    """Every pour on the way; the day of recording where it is not that of the pour."""
    fixed, kg = values.imprint.notation.fixed, values.imprint.notation.kg
    return listed(
        values.pours,
        (
            (WHEN._replace(head=f"when\n{values.zone}" if values.zone else WHEN.head), lambda row: row.when),
            (ENTRY, lambda row: str(row.entry)),
            (Column("from", 26, stretch=1), lambda row: named(row.source)),
            (Column("to", 26, stretch=1), lambda row: named(row.target)),
            (Column("volume\nL at 20 °C", 18, "right"), lambda row: fixed(row.volume_l, 3)),
            (Column("mass\nkg", 17.5, "right"), lambda row: kg(row.mass_mg)),
            (
                Column("strength\n% vol", 14.5, "right"),
                lambda row: "pending" if row.strength_vol is None else fixed(row.strength_vol, 2),
            ),
            (Column("pure alcohol\nLPA", 18.5, "right"), lambda row: fixed(row.lpa_l, 3)),
            (Column("who", 15), lambda row: row.who),
            (Column("recorded\nlater, on", 17.5), lambda row: row.recorded),
        ),
    )


def gauges(values: Dossier) -> list[Block]:
    """Every gauge on the way: as typed, and as derived."""
    fixed, kg = values.imprint.notation.fixed, values.imprint.notation.kg
    return listed(
        values.gauges,
        (
            (WHEN, lambda row: row.when),
            (ENTRY, lambda row: str(row.entry)),
            (Column("item", 26, stretch=1), lambda row: named(row.item)),
            (Column("reading as typed", 28, stretch=1.5), lambda row: _kept_together(row.reading)),
            (Column("volume\nL at 20 °C", 18, "right"), lambda row: fixed(row.volume_l, 2)),
            (Column("strength\n% vol", 14.5, "right"), lambda row: fixed(row.strength_vol, 2)),
            (Column("mass\nkg", 18, "right"), lambda row: kg(row.mass_mg)),
            (Column("instrument", 24), lambda row: row.instrument),
            (Column("who", 18), lambda row: row.who),
        ),
    )


def _kept_together(reading: str) -> str:
    """A reading that wraps between its figures, never between a figure and its unit."""
    return ", ".join(part.replace(" ", "\u00a0") for part in reading.split(", "))


def instruments(values: Dossier) -> list[Block]:
    """What the gauges were read on, with certificates."""
    return listed(
        values.instruments,
        (
            (Column("instrument", 40, stretch=1), lambda row: named(row.instrument)),
            (Column("kind", 28), lambda row: row.kind),
            (Column("certificate", 36, stretch=1), lambda row: row.certificate or "none recorded"),
            (Column("check due", 22), lambda row: row.due),
            (Column("gauges", 16, "right"), lambda row: str(row.gauges)),
            (Column("overdue", 22, "right"), lambda row: str(row.overdue)),
        ),
    )


def additions(values: Dossier) -> list[Block]:
    """Water and additives."""
    return listed(
        values.additions,
        (
            (WHEN, lambda row: row.when),
            (ENTRY, lambda row: str(row.entry)),
            (Column("what", 36, stretch=1), lambda row: row.what),
            (Column("supplier’s batch", 30), lambda row: row.batch),
            (Column("into", 34, stretch=1), lambda row: named(row.into)),
            (Column("mass\nkg", 22, "right"), lambda row: values.imprint.notation.kg(row.mass_mg)),
            (Column("who", 27), lambda row: row.who),
        ),
    )


def ages(values: Dossier) -> list[Block]:
    """How long each spirit lay in wood, and how much of that counts where the house has a rule."""
    counting = (
        (Column("qualifying time", 28), lambda row: age_text(row.qualifying)),
        (Column("rule", 24), lambda row: row.rule),
    )
    return listed(
        values.ages,
        (
            (Column("spirit", 36, stretch=1), lambda row: row.spirit),
            (Column("matured in", 28, stretch=1), lambda row: named(row.item)),
            (Column("distilled", 21), lambda row: row.distilled or UNKNOWN),
            (Column("time in wood", 28), lambda row: age_text(row.wood)),
            *(counting if values.age_rule else ()),
            (Column("share\n%", 17, "right"), lambda row: values.imprint.notation.percent(row.share, 4)),
        ),
    )


def balances(values: Dossier) -> list[Block]:
    """What went into each item and what became of it, mass above pure alcohol, with the difference."""
    kg, fixed = values.imprint.notation.kg, values.imprint.notation.fixed

    def both(mass_mg: int, lpa_l: Figure) -> tuple[Piece, ...]:
        return Piece(kg(mass_mg)), Piece(fixed(lpa_l, 3))

    def difference(row: Balance) -> tuple[Piece, ...]:
        type_ = BODY_STRONG if _is_off(row) else BODY
        return Piece(kg(row.difference_mg, 6), type_), Piece(fixed(row.difference_lpa_l, 6), type_)

    table = listed(
        values.balances,
        (
            (Column("item", 30, stretch=1), lambda row: named(row.item)),
            (Column("", 11), lambda _: (Piece("kg"), Piece("LPA"))),
            (Column("in", 26, "right"), lambda row: both(row.in_mg, row.in_lpa_l)),
            (Column("out", 26, "right"), lambda row: both(row.out_mg, row.out_lpa_l)),
            (Column("lost", 24, "right"), lambda row: both(row.lost_mg, row.lost_lpa_l)),
            (Column("held", 26, "right"), lambda row: both(row.held_mg, row.held_lpa_l)),
            (Column("difference", 24, "right"), difference),
        ),
    )
    return [Lines((_verdict(values.balances),)), *table] if table else []


def _verdict(balanced: Sequence[Balance]) -> str:
    off = [balance.item.id or balance.item.name for balance in balanced if _is_off(balance)]
    if off:
        return f"Does not balance (in is not out + lost + held): {', '.join(off)}."
    return f"In = out + lost + held, to the milligram, for every item here ({len(balanced)})."


def _is_off(balance: Balance) -> bool:
    """Whether a difference shows in the digits that are printed."""
    return bool(balance.difference_mg) or abs(balance.difference_lpa_l) >= _SHOWN_LPA


def losses(values: Dossier) -> list[Block]:
    """What was lost on the way, by disposition, with the sum."""
    kg, fixed, rows = values.imprint.notation.kg, values.imprint.notation.fixed, values.losses
    entries, mass_mg = sum(row.entries for row in rows), sum(row.mass_mg for row in rows)
    return listed(
        rows,
        (
            (Column("disposition", 60, stretch=1), lambda row: row.disposition),
            (Column("entries", 24, "right"), lambda row: str(row.entries)),
            (Column("mass\nkg", 30, "right"), lambda row: kg(row.mass_mg)),
            (Column("pure alcohol\nLPA", 30, "right"), lambda row: fixed(row.lpa_l, 3)),
        ),
        ("Sum", str(entries), kg(mass_mg), fixed(_sum(row.lpa_l for row in rows), 3)),
    )
