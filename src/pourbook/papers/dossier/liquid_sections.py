"""The sections of a dossier that follow the liquid: origins, items, pours, gauges, ages, balance, losses.

Each takes the dossier and makes the content of its section; nothing when there is nothing to show.

>>> from pourbook.papers.page import Imprint
>>> imprint = Imprint("Quillmere Distillery", "2026-03-14", 1284, "9f3c" * 16)
>>> bare = Dossier(imprint, "L-000004-D", "L000004D", "Ash")
>>> origins(bare), losses(bare)
([], [])
"""

from collections.abc import Sequence
from fractions import Fraction
from itertools import groupby

from pourbook.papers.blocks import Block, Lines, Part, Place, tabled
from pourbook.papers.cells import BODY, BODY_STRONG, SMALL_IDENTIFIER, Piece
from pourbook.papers.dossier.dossier_columns import ENTRY, WHEN, named
from pourbook.papers.dossier.dossier_rows import Balance, Gauge, Origin, Pour, UpstreamItem
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.papers.tables import Column
from pourbook.words.paper_figures import UNKNOWN, Figure, Notation, exact
from pourbook.words.wood_time_words import age_text

__all__ = ["additions", "ages", "balances", "gauges", "instruments", "losses", "origins", "pours", "upstream"]

_PENDING = "pending"
_EMPTY = "empty"
_KINDS = {"cask": "Casks", "vial": "Vials", "trial": "Trials", "batch": "Batches", "lot": "Lots"}
_SHOWN_LPA = Fraction(1, 2_000_000)
"""Half a unit of the last digit in which a difference of pure alcohol is printed."""


def _sum(figures: Sequence[Figure]) -> Fraction:
    return sum(map(exact, figures), Fraction(0))


def origins(values: Dossier) -> list[Block]:
    """Where the spirit came from, with the sum of the shares."""
    notation = values.imprint.notation
    columns = (
        Column("spirit", 36, stretch=2),
        Column("distiller", 32, stretch=1),
        Column("into", 28, stretch=1),
        WHEN,
        Column("mass\nkg", 20, "right"),
        Column("pure alcohol\nLPA", 20, "right"),
        Column("share\n%", 17, "right"),
    )
    share = _sum([origin.share for origin in values.origins])
    total = ("Sum of shares", "", "", "", "", "", notation.percent(share, 4))
    return tabled(columns, [_origin(origin, notation) for origin in values.origins], total)


def _origin(origin: Origin, notation: Notation) -> tuple[Place, ...]:
    return (
        origin.spirit,
        origin.distiller,
        named(origin.into),
        origin.when,
        notation.kg(origin.mass_mg),
        notation.fixed(origin.lpa_l, 3),
        notation.percent(origin.share, 4),
    )


def upstream(values: Dossier) -> list[Block]:
    """Every item some of the lot was once in, a table for each kind."""
    columns = (
        Column("item", 21),
        Column("ref", 20, stretch=0.5),
        Column("name", 36, stretch=1),
        Column("wood", 32, stretch=1),
        Column("share of the lot\n%", 21, "right"),
        Column("on hand\nL", 20, "right"),
        Column("on hand\nLPA", 20, "right"),
    )
    body: list[Block] = []
    for kind, group in groupby(values.upstream, key=lambda item: item.kind):
        rows = [_upstream_item(item, values.imprint.notation) for item in group]
        body.append(Part(f"{_KINDS.get(kind, kind)} ({len(rows)})", tuple(tabled(columns, rows))))
    return body


def _upstream_item(item: UpstreamItem, notation: Notation) -> tuple[Place, ...]:
    is_empty = item.on_hand_l is not None and not exact(item.on_hand_l)
    return (
        Piece(item.item.id, SMALL_IDENTIFIER),
        item.ref,
        item.item.name,
        item.wood,
        notation.percent(item.share, 4),
        _EMPTY if is_empty else notation.fixed(item.on_hand_l, 2),
        "" if is_empty else notation.fixed(item.on_hand_lpa_l, 2),
    )


def pours(values: Dossier) -> list[Block]:
    """Every pour on the way."""
    columns = (
        WHEN,
        ENTRY,
        Column("from", 30, stretch=1),
        Column("to", 30, stretch=1),
        Column("volume\nmL at 20 °C", 20, "right"),
        Column("strength\n% vol", 14.5, "right"),
        Column("pure alcohol\nLPA", 18.5, "right"),
        Column("mass\nkg", 17.5, "right"),
        Column("who", 20),
    )
    return tabled(columns, [_pour(pour, values.imprint.notation) for pour in values.pours])


def _pour(pour: Pour, notation: Notation) -> tuple[Place, ...]:
    return (
        pour.when,
        str(pour.entry),
        named(pour.source),
        named(pour.target),
        notation.fixed(pour.volume_ml, 1),
        _PENDING if pour.strength_vol is None else notation.fixed(pour.strength_vol, 2),
        notation.fixed(pour.lpa_l, 3),
        notation.kg(pour.mass_mg),
        pour.who,
    )


def gauges(values: Dossier) -> list[Block]:
    """Every gauge on the way: as typed, and as derived."""
    columns = (
        WHEN,
        ENTRY,
        Column("item", 26, stretch=1),
        Column("reading as typed", 28, stretch=1.5),
        Column("volume\nL at 20 °C", 18, "right"),
        Column("strength\n% vol", 14.5, "right"),
        Column("mass\nkg", 18, "right"),
        Column("instrument", 24),
        Column("by", 18),
    )
    return tabled(columns, [_gauge(gauge, values.imprint.notation) for gauge in values.gauges])


def _gauge(gauge: Gauge, notation: Notation) -> tuple[Place, ...]:
    return (
        gauge.when,
        str(gauge.entry),
        named(gauge.item),
        _kept_together(gauge.reading),
        notation.fixed(gauge.volume_l, 2),
        notation.fixed(gauge.strength_vol, 2),
        notation.kg(gauge.mass_mg),
        gauge.instrument,
        gauge.who,
    )


def instruments(values: Dossier) -> list[Block]:
    """What the gauges were read on, with certificates."""
    columns = (
        Column("instrument", 40, stretch=1),
        Column("kind", 28),
        Column("certificate", 36, stretch=1),
        Column("check due", 22),
        Column("gauges", 16, "right"),
        Column("after that day", 22, "right"),
    )
    rows = [
        (
            named(row.instrument),
            row.kind,
            row.certificate or "none recorded",
            row.due,
            str(row.gauges),
            str(row.overdue),
        )
        for row in values.instruments
    ]
    return tabled(columns, rows)


def _kept_together(reading: str) -> str:
    """A reading that wraps between its figures, never between a figure and its unit."""
    return ", ".join(part.replace(" ", "\u00a0") for part in reading.split(", "))


def additions(values: Dossier) -> list[Block]:
    """Water and additives."""
    columns = (
        WHEN,
        ENTRY,
        Column("what", 36, stretch=1),
        Column("supplier’s batch", 30),
        Column("into", 34, stretch=1),
        Column("mass\nkg", 22, "right"),
        Column("who", 27),
    )
    kg = values.imprint.notation.kg
    rows = [
        (row.when, str(row.entry), row.what, row.batch, named(row.into), kg(row.mass_mg), row.who)
        for row in values.additions
    ]
    return tabled(columns, rows)


def ages(values: Dossier) -> list[Block]:
    """How long each spirit lay in wood, and how much of that counts."""
    columns = (
        Column("spirit", 36, stretch=1),
        Column("lay in", 28, stretch=1),
        Column("distilled", 21),
        Column("time in wood", 28),
        Column("qualifying time", 28),
        Column("rule", 24),
        Column("share\n%", 17, "right"),
    )
    rows = [
        (
            row.spirit,
            named(row.item),
            row.distilled or UNKNOWN,
            age_text(row.wood),
            age_text(row.qualifying) if row.rule else "",
            row.rule,
            values.imprint.notation.percent(row.share, 4),
        )
        for row in values.ages
    ]
    return tabled(columns, rows)


def balances(values: Dossier) -> list[Block]:
    """What went into each item and what became of it, with the difference."""
    columns = (
        Column("item", 30, stretch=1),
        Column("", 11),
        Column("in", 26, "right"),
        Column("out", 26, "right"),
        Column("lost", 24, "right"),
        Column("held", 26, "right"),
        Column("difference", 24, "right"),
    )
    rows = [_balance(balance, values.imprint.notation) for balance in values.balances]
    return [Lines((_verdict(values.balances),)), *tabled(columns, rows)] if rows else []


def _verdict(balanced: Sequence[Balance]) -> str:
    off = [balance.item.id or balance.item.name for balance in balanced if _is_off(balance)]
    if off:
        return f"Does not balance (in is not out + lost + held): {', '.join(off)}."
    return f"In = out + lost + held, to the milligram, for every item here ({len(balanced)})."


def _is_off(balance: Balance) -> bool:
    """Whether a difference shows in the digits that are printed."""
    return bool(balance.difference_mg) or abs(balance.difference_lpa_l) >= _SHOWN_LPA


def _balance(balance: Balance, notation: Notation) -> tuple[Place, ...]:
    masses = (balance.in_mg, balance.out_mg, balance.lost_mg, balance.held_mg)
    alcohols = (balance.in_lpa_l, balance.out_lpa_l, balance.lost_lpa_l, balance.held_lpa_l)
    figures = [
        (Piece(notation.kg(mass)), Piece(notation.fixed(alcohol, 3)))
        for mass, alcohol in zip(masses, alcohols, strict=True)
    ]
    type_ = BODY_STRONG if _is_off(balance) else BODY
    difference = (
        Piece(notation.kg(balance.difference_mg, 6), type_),
        Piece(notation.fixed(balance.difference_lpa_l, 6), type_),
    )
    return (named(balance.item), (Piece("kg"), Piece("LPA")), *figures, difference)


def losses(values: Dossier) -> list[Block]:
    """What was lost on the way, by disposition, with the sum."""
    notation = values.imprint.notation
    columns = (
        Column("disposition", 60, stretch=1),
        Column("entries", 24, "right"),
        Column("mass\nkg", 30, "right"),
        Column("pure alcohol\nLPA", 30, "right"),
    )
    rows = [
        (row.disposition, str(row.entries), notation.kg(row.mass_mg), notation.fixed(row.lpa_l, 3))
        for row in values.losses
    ]
    total = (
        "Sum",
        str(sum(row.entries for row in values.losses)),
        notation.kg(sum(row.mass_mg for row in values.losses)),
        notation.fixed(_sum([row.lpa_l for row in values.losses]), 3),
    )
    return tabled(columns, rows, total)
