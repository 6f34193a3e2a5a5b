"""The numbered sections of a dossier, each a title and what stands under it.

What an auditor must see to be absent says "None recorded."; what the lot may do without is left out.

>>> [title for title, _ in sections(Dossier(Imprint("Quillmere", "2026-03-14", 1, "0"), "L", "L", "Ash"), 500)][:2]
['Origins', 'Items on the way']
"""

from collections.abc import Callable, Sequence
from fractions import Fraction
from itertools import groupby

from reportlab.platypus import Flowable  # loaded only by the verbs that print

from pourbook.papers.cells import BODY_STRONG, SMALL, SMALL_IDENTIFIER, Piece
from pourbook.papers.dossier_rows import Balance, Gauge, Named, Origin, Pour, UpstreamItem
from pourbook.papers.dossier_statement import age_text, computed, journal
from pourbook.papers.dossier_values import Dossier
from pourbook.papers.figures import Notation, exact
from pourbook.papers.page import Imprint
from pourbook.papers.tables import Column, Content, lines, paper_table, section

__all__ = ["Imprint", "sections"]

_KINDS = {"cask": "Casks", "vial": "Vials", "trial": "Trials", "batch": "Batches", "lot": "Lots"}

_Row = Sequence[Content]


def sections(values: Dossier, width_pt: float) -> list[tuple[str, list[Flowable]]]:
    """Title and content of every section, in order."""
    made = [(title, make(values, width_pt)) for title, make in _SECTIONS]
    return [(title, body) for title, body in made if body]


def _table(columns: Sequence[Column], rows: Sequence[_Row], width_pt: float, total: _Row = ()) -> list[Flowable]:
    return [paper_table(columns, rows, width_pt, total)] if rows else lines(["None recorded."])


def _named(item: Named) -> Content:
    pieces = (Piece(item.id, SMALL_IDENTIFIER), Piece(item.name, SMALL))
    return tuple(piece for piece in pieces if piece.text) or ""


def _origins(values: Dossier, width_pt: float) -> list[Flowable]:
    notation = values.imprint.notation
    columns = (
        Column("spirit", 36, stretch=2),
        Column("distiller", 32, stretch=1),
        Column("into", 28, stretch=1),
        Column("when", 20),
        Column("mass\nkg", 20, "right"),
        Column("pure alcohol\nLPA", 20, "right"),
        Column("share\n%", 17, "right"),
    )
    share = sum((exact(origin.share) for origin in values.origins), Fraction(0))
    total = ("Sum of shares", "", "", "", "", "", notation.percent(share, 4))
    return _table(columns, [_origin(origin, notation) for origin in values.origins], width_pt, total)


def _origin(origin: Origin, notation: Notation) -> _Row:
    return (
        origin.spirit,
        origin.distiller,
        _named(origin.into),
        origin.when,
        notation.kg(origin.mass_mg),
        notation.fixed(origin.lpa_l, 3),
        notation.percent(origin.share, 4),
    )


def _upstream(values: Dossier, width_pt: float) -> list[Flowable]:
    columns = (
        Column("item", 21),
        Column("ref", 20, stretch=0.5),
        Column("name", 36, stretch=1),
        Column("wood", 32, stretch=1),
        Column("share of the lot\n%", 21, "right"),
        Column("on hand\nL", 20, "right"),
        Column("on hand\nLPA", 20, "right"),
    )
    body: list[Flowable] = []
    for kind, group in groupby(values.upstream, key=lambda item: item.kind):
        rows = [_upstream_row(item, values.imprint.notation) for item in group]
        title = f"{_KINDS.get(kind, kind)} ({len(rows)})"
        body += section(title, _table(columns, rows, width_pt), width_pt, sub=True)
    return body or lines(["None recorded."])


def _upstream_row(item: UpstreamItem, notation: Notation) -> _Row:
    is_empty = item.on_hand_l is not None and not exact(item.on_hand_l)
    return (
        Piece(item.item.id, SMALL_IDENTIFIER),
        item.ref,
        item.item.name,
        item.wood,
        notation.percent(item.share, 4),
        "empty" if is_empty else notation.fixed(item.on_hand_l, 2),
        "" if is_empty else notation.fixed(item.on_hand_lpa_l, 2),
    )


def _pours(values: Dossier, width_pt: float) -> list[Flowable]:
    columns = (
        Column("when", 20),
        Column("entry", 12.5, "right"),
        Column("from", 30, stretch=1),
        Column("to", 30, stretch=1),
        Column("volume\nmL at 20 °C", 20, "right"),
        Column("strength\n% vol", 15, "right"),
        Column("pure alcohol\nLPA", 19, "right"),
        Column("mass\nkg", 18, "right"),
        Column("who", 17),
    )
    return _table(columns, [_pour(pour, values.imprint.notation) for pour in values.pours], width_pt)


def _pour(pour: Pour, notation: Notation) -> _Row:
    return (
        pour.when,
        notation.fixed(pour.entry, 0),
        _named(pour.source),
        _named(pour.target),
        notation.fixed(pour.volume_ml, 1),
        "awaited" if pour.strength_vol is None else notation.fixed(pour.strength_vol, 2),
        notation.fixed(pour.lpa_l, 3),
        notation.kg(pour.mass_mg),
        pour.who,
    )


def _gauges(values: Dossier, width_pt: float) -> list[Flowable]:
    columns = (
        Column("when", 20),
        Column("entry", 12.5, "right"),
        Column("item", 28, stretch=1),
        Column("reading as typed", 30, stretch=1.5),
        Column("volume\nL at 20 °C", 19, "right"),
        Column("strength\n% vol", 15, "right"),
        Column("mass\nkg", 18, "right"),
        Column("instrument", 24),
        Column("by", 17),
    )
    return _table(columns, [_gauge(gauge, values.imprint.notation) for gauge in values.gauges], width_pt)


def _gauge(gauge: Gauge, notation: Notation) -> _Row:
    return (
        gauge.when,
        notation.fixed(gauge.entry, 0),
        _named(gauge.item),
        gauge.reading,
        notation.fixed(gauge.volume_l, 2),
        notation.fixed(gauge.strength_vol, 2),
        notation.kg(gauge.mass_mg),
        gauge.instrument,
        gauge.who,
    )


def _additions(values: Dossier, width_pt: float) -> list[Flowable]:
    notation = values.imprint.notation
    columns = (
        Column("when", 20),
        Column("entry", 14, "right"),
        Column("what", 36, stretch=1),
        Column("supplier's batch", 30),
        Column("into", 34, stretch=1),
        Column("mass\nkg", 22, "right"),
        Column("who", 26),
    )
    rows = [
        (
            row.when,
            notation.fixed(row.entry, 0),
            row.what,
            row.batch,
            _named(row.into),
            notation.kg(row.mass_mg),
            row.who,
        )
        for row in values.additions
    ]
    return _table(columns, rows, width_pt)


def _dry_goods(values: Dossier, width_pt: float) -> list[Flowable]:
    notation = values.imprint.notation
    columns = (
        Column("when", 20),
        Column("entry", 14, "right"),
        Column("what", 40, stretch=1),
        Column("supplier", 40, stretch=1),
        Column("batch", 34),
        Column("count", 20, "right"),
    )
    rows = [
        (row.when, notation.fixed(row.entry, 0), row.what, row.supplier, row.batch, notation.fixed(row.count, 0))
        for row in values.dry_goods
    ]
    return _table(columns, rows, width_pt) if rows else []


def _ages(values: Dossier, width_pt: float) -> list[Flowable]:
    notation = values.imprint.notation
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
            _named(row.item),
            row.distilled or "unknown",
            age_text(row.wood),
            age_text(row.qualifying) if row.rule else "",
            row.rule,
            notation.percent(row.share, 4),
        )
        for row in values.ages
    ]
    return _table(columns, rows, width_pt)


def _balances(values: Dossier, width_pt: float) -> list[Flowable]:
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
    if not rows:
        return lines(["None recorded."])
    return [*lines([_verdict(values.balances)], BODY_STRONG), *_table(columns, rows, width_pt)]


def _verdict(balances: Sequence[Balance]) -> str:
    off = [balance.item.id for balance in balances if balance.difference_mg or _differs(balance)]
    if off:
        return f"In is not out and lost and held for: {', '.join(off)}."
    return f"In = out + lost + held, to the milligram, for each of {len(balances)}."


def _differs(balance: Balance) -> bool:
    """Whether pure alcohol is off by more than the digits that are printed."""
    return abs(balance.difference_lpa_l) >= Fraction(1, 2_000_000)


def _balance(balance: Balance, notation: Notation) -> _Row:
    masses = (balance.in_mg, balance.out_mg, balance.lost_mg, balance.held_mg)
    alcohols = (balance.in_lpa_l, balance.out_lpa_l, balance.lost_lpa_l, balance.held_lpa_l)
    figures = [
        (Piece(notation.kg(mass)), Piece(notation.fixed(alcohol, 3)))
        for mass, alcohol in zip(masses, alcohols, strict=True)
    ]
    difference = (
        Piece(notation.kg(balance.difference_mg, 6), BODY_STRONG),
        Piece(notation.fixed(balance.difference_lpa_l, 6), BODY_STRONG),
    )
    return (_named(balance.item), (Piece("kg"), Piece("LPA")), *figures, difference)


def _losses(values: Dossier, width_pt: float) -> list[Flowable]:
    notation = values.imprint.notation
    columns = (
        Column("disposition", 60, stretch=1),
        Column("entries", 24, "right"),
        Column("mass\nkg", 30, "right"),
        Column("pure alcohol\nLPA", 30, "right"),
    )
    rows = [
        (row.disposition, notation.fixed(row.entries, 0), notation.kg(row.mass_mg), notation.fixed(row.lpa_l, 3))
        for row in values.losses
    ]
    total = (
        "Sum",
        notation.fixed(sum(row.entries for row in values.losses), 0),
        notation.kg(sum(row.mass_mg for row in values.losses)),
        notation.fixed(sum((exact(row.lpa_l) for row in values.losses), Fraction(0)), 3),
    )
    return _table(columns, rows, width_pt, total)


def _remarks(values: Dossier, width_pt: float) -> list[Flowable]:
    notation = values.imprint.notation
    columns = (
        Column("when", 20),
        Column("entry", 14, "right"),
        Column("kind", 15),
        Column("item", 34),
        Column("text", 60, stretch=1),
        Column("who", 26),
    )
    rows = [
        (row.when, notation.fixed(row.entry, 0), row.kind, _named(row.item), row.text, row.who)
        for row in values.remarks
    ]
    return _table(columns, rows, width_pt)


def _corrections(values: Dossier, width_pt: float) -> list[Flowable]:
    notation = values.imprint.notation
    columns = (
        Column("when", 20),
        Column("entry", 14, "right"),
        Column("corrects\nentry", 17, "right"),
        Column("change", 18),
        Column("item", 34),
        Column("reason", 50, stretch=1),
        Column("who", 26),
    )
    rows = [
        (
            row.when,
            notation.fixed(row.entry, 0),
            notation.fixed(row.corrects, 0),
            row.change,
            _named(row.item),
            row.reason,
            row.who,
        )
        for row in values.corrections
    ]
    return _table(columns, rows, width_pt)


def _people(values: Dossier, width_pt: float) -> list[Flowable]:
    columns = (Column("person", 24), Column("name", 60, stretch=1), Column("part", 70, stretch=1))
    rows = [(Piece(row.id, SMALL_IDENTIFIER), row.name, row.part) for row in values.people]
    return _table(columns, rows, width_pt)


def _despatches(values: Dossier, width_pt: float) -> list[Flowable]:
    notation = values.imprint.notation
    columns = (
        Column("when", 20),
        Column("entry", 14, "right"),
        Column("customer", 60, stretch=1),
        Column("document", 34),
        Column("by", 26),
        Column("bottles", 18, "right"),
    )
    rows = [
        (row.when, notation.fixed(row.entry, 0), row.customer, row.document, row.who, notation.fixed(row.bottles, 0))
        for row in values.despatches
    ]
    sent = sum(row.bottles for row in values.despatches)
    body = _table(columns, rows, width_pt, ("Sum", "", "", "", "", notation.fixed(sent, 0)))
    return body


_SECTIONS: tuple[tuple[str, Callable[[Dossier, float], list[Flowable]]], ...] = (
    ("Origins", _origins),
    ("Items on the way", _upstream),
    ("Pours", _pours),
    ("Gauges", _gauges),
    ("Water and additives", _additions),
    ("Dry goods", _dry_goods),
    ("Ages", _ages),
    ("Mass balance", _balances),
    ("Losses", _losses),
    ("Holds and notes", _remarks),
    ("Corrections", _corrections),
    ("People", _people),
    ("Despatches", _despatches),
    ("Journal", journal),
    ("How these figures are computed", lambda values, _width_pt: computed(values)),
)
