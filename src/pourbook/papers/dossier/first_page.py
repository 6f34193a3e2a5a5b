"""The first page of a dossier: what the lot is and is made of, what a reader must know first, where it went, who signs.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14", 1284, "9f3c" * 16)
>>> [block.title for block in first_page(Dossier(imprint, "L-000004-D", "L000004D", "Ash")) if isinstance(block, Part)]
['What is in it', 'Casks', 'Allergens', 'Corrections', 'With customers']
"""

from collections import Counter

from pourbook import typefaces
from pourbook.papers.blocks import Block, Facts, Lines, Part, Place, Signatures
from pourbook.papers.cells import BODY_STRONG, QUIET, SMALL, SMALL_IDENTIFIER, Piece, Type
from pourbook.papers.dossier.dossier_rows import Customer, Origin
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.papers.listing import ENTRY, listed, named
from pourbook.papers.page import Imprint  # noqa: F401 (the example)
from pourbook.papers.tables import Column
from pourbook.words.figure_words import age_text
from pourbook.words.paper_figures import UNKNOWN, exact

__all__ = ["SIGNED", "first_page"]

SIGNED = Signatures(("Prepared by", "Checked by"))
"""For those who answer for it, by hand: the same state of the book gives the same paper, whoever prints it."""

_YOUNGEST = Type(typefaces.SEMIBOLD, 12, 15)
_MOST_CORRECTIONS = 3
_MOST_CUSTOMERS = 4
_MOST_SPIRITS = 4
_MOST_ITEMS = 6
_ON_A_LINE = 4
_ROOM = 14
"""So many fit one page, with all else and the lines to sign; there is room for fourteen lines of casks and others."""
_NONE = Lines(("None recorded.",))


def first_page(values: Dossier) -> list[Block]:
    """What the lot is; what asks for care; its spirits and casks; allergens, corrections, customers."""
    warned = [*_as_of(values), *(f"Provisional: {text}" for text in values.warnings)]
    warned += [f"Caution: {text}" for text in values.cautions]
    warned += [f"To be explained: {text}" for text in values.between_sites]
    return [
        Facts(tuple(_lot(values))),
        Facts(tuple(_ages(values)), across=2),
        *([Lines(tuple(warned), BODY_STRONG)] if warned else []),
        Part("What is in it", _spirits(values)),
        Part("Casks", _casks(values)),
        Part("Allergens", _allergens(values)),
        Part("Corrections", _corrections(values)),
        Part("With customers", _customers(values)),
    ]


def _as_of(values: Dossier) -> list[str]:
    """What this dossier does not tell."""
    told = []
    if values.at:
        told.append(f"The lot as it stood at {values.at}: what happened later is not in it.")
    if values.known_at is not None:
        told.append(f"As known at entry {values.known_at} of the journal: what was recorded since is not in it.")
    return told


def _lot(values: Dossier) -> list[tuple[str, Place]]:
    notation = values.imprint.notation
    by_book = notation.with_unit(values.strength_vol, 2, "% vol")
    return [
        ("Lot mark on the bottle", Piece(values.lot_mark or "none recorded", BODY_STRONG)),
        ("GTIN of the bottle", _code(values.gtin)),
        ("GTIN of the case", _code(values.case_gtin)),
        ("Ref", values.ref or "none"),
        (f"Bottled ({values.zone})" if values.zone else "Bottled", values.bottled or UNKNOWN),
        ("Bottled by", values.bottled_by or UNKNOWN),
        ("Bottles", Piece(_bottles(values), BODY_STRONG)),
        ("Volume at 20 °C", notation.with_unit(values.volume_l, 3, "L")),
        ("Strength declared on the label", Piece(_declared(values), BODY_STRONG)),
        ("Strength at 20 °C by the book", Piece(by_book, BODY_STRONG)),
        ("Pure alcohol", notation.with_unit(values.lpa_l, 3, "LPA")),
        ("Owner", values.owner or "none recorded"),
        ("Duty status", values.duty or "none recorded"),
        *(_followed(values) or [("Trial followed", "none recorded")]),
    ]


def _code(text: str) -> Place:
    return Piece(text, SMALL_IDENTIFIER) if text else "none recorded"


def _bottles(values: Dossier) -> str:
    if values.bottles is None:
        return UNKNOWN
    fixed = values.imprint.notation.fixed
    of = "" if values.bottle_ml is None else f" of {fixed(values.bottle_ml, 0)} mL"
    return fixed(values.bottles, 0) + of


def _declared(values: Dossier) -> str:
    """With the digits that were declared."""
    declared = values.labelled_strength_vol
    if declared is None:
        return "none recorded"
    exponent = declared.as_tuple().exponent
    digits = max(-exponent, 0) if isinstance(exponent, int) else 0
    return values.imprint.notation.with_unit(declared, digits, "% vol")


def _followed(values: Dossier) -> list[tuple[str, Place]]:
    return [(f"{one.batch.name or one.batch.id} followed", named(one.blend)) for one in values.follows]


def _ages(values: Dossier) -> list[tuple[str, Place]]:
    mean = values.imprint.notation.with_unit(values.mean_age_years, 1, "years")
    counting: list[tuple[str, Place]] = [
        (f"Qualifying time of it by {values.age_rule}", Piece(age_text(values.qualifying), _YOUNGEST)),
        ("Rule", values.age_law),
    ]
    return [
        ("Time in wood of the youngest spirit", Piece(age_text(values.youngest), _YOUNGEST)),
        *(counting if values.age_rule else ()),
        ("Mean time in wood, weighted by pure alcohol; not an age statement", Piece(mean, QUIET)),
    ]


def _spirits(values: Dossier) -> tuple[Block, ...]:
    """The spirits by distiller and supplier, the greatest share first."""
    groups: dict[tuple[str, str, str], list[Origin]] = {}
    for origin in values.origins:
        groups.setdefault((origin.spirit, origin.distiller, origin.supplier), []).append(origin)
    parts = [(name, len(own), sum(exact(row.share) for row in own)) for name, own in groups.items()]
    ranked = sorted(parts, key=lambda part: -part[2])
    shown, more = ranked[:_MOST_SPIRITS], ranked[_MOST_SPIRITS:]
    if more:
        rest = (f"{len(more)} more: see Origins", "", "")
        shown.append((rest, sum(part[1] for part in more), sum(part[2] for part in more)))
    notation = values.imprint.notation
    table = listed(
        shown,
        (
            (Column("spirit", 50, stretch=1), lambda part: part[0][0]),
            (Column("distiller", 36), lambda part: part[0][1]),
            (Column("supplier", 42), lambda part: part[0][2]),
            (Column("deliveries", 18, "right"), lambda part: str(part[1])),
            (Column("share\n%", 18, "right"), lambda part: notation.percent(part[2], 4)),
        ),
    )
    return tuple(table) or (_NONE,)


def _casks(values: Dossier) -> tuple[Block, ...]:
    """The casks of the greatest share, with what their wood held before, as many as there is room for."""
    most = max(_ROOM - _taken(values), 0)
    before = {row.item.id: row.previous for row in values.allergens}
    ranked = sorted((row for row in values.upstream if row.kind == "cask"), key=lambda row: -exact(row.share))
    table = listed(
        ranked[:most],
        (
            (Column("cask", 42), lambda row: f"{row.item.id} {row.ref}".rstrip()),
            (Column("wood", 46, stretch=1), lambda row: row.wood),
            (Column("held before", 46, stretch=1), lambda row: before.get(row.item.id, "")),
            (Column("share of the lot\n%", 21, "right"), lambda row: values.imprint.notation.percent(row.share, 4)),
        ),
    )
    more = len(ranked) - most
    said = f"And {more} more: see Upstream items." if table else f"{more} casks: see Upstream items."
    return (*table, *([Lines((said,))] if more > 0 else [])) or (_NONE,)


def _taken(values: Dossier) -> int:
    """Lines that others take: a customer two or more, a rule for ages two, allergens those beyond the first."""
    spirits = len({(row.spirit, row.distiller, row.supplier) for row in values.origins})
    customers = sum(2 + bool(row.contact) for row in values.customers[: _MOST_CUSTOMERS + 1])
    rows = min(spirits, _MOST_SPIRITS + 1) + min(len(values.corrections), _MOST_CORRECTIONS + 1)
    allergens = Counter(row.allergens for row in values.allergens if row.allergens)
    lines = sum(1 + (casks > _ON_A_LINE) for casks in allergens.values())
    rows += max(lines - 1, 0)
    return (
        rows
        + customers
        + len(values.warnings)
        + len(values.cautions)
        + 2 * len(values.between_sites)
        + 2 * bool(values.age_rule)
    )


def _allergens(values: Dossier) -> tuple[Block, ...]:
    """What each allergen came with."""
    from_where: dict[str, list[str]] = {}
    for row in values.allergens:
        if row.allergens:
            from_where.setdefault(row.allergens, []).append(" ".join(filter(None, row.item)))
    said = tuple(f"{what}: {_few(items)}." for what, items in from_where.items())
    return (Lines(said),) if said else (_NONE,)


def _few(items: list[str]) -> str:
    more = len(items) - _MOST_ITEMS
    return ", ".join(items[:_MOST_ITEMS]) + (f" and {more} more" if more > 0 else "")


def _corrections(values: Dossier) -> tuple[Block, ...]:
    shown, more = values.corrections[:_MOST_CORRECTIONS], values.corrections[_MOST_CORRECTIONS:]
    table = listed(
        shown,
        (
            (ENTRY, lambda row: str(row.entry)),
            (Column("corrects", 16, "right"), lambda row: str(row.corrects)),
            (Column("change", 20), lambda row: row.change),
            (Column("item", 56), lambda row: " ".join(filter(None, row.item))),
            (Column("reason", 50, stretch=1), lambda row: row.reason),
        ),
    )
    return (*table, *([Lines((f"And {len(more)} more: see Corrections.",))] if more else [])) if table else (_NONE,)


def _customers(values: Dossier) -> tuple[Block, ...]:
    fixed = values.imprint.notation.fixed
    ranked = sorted(values.customers, key=lambda one: -one.outstanding)
    shown, more = ranked[:_MOST_CUSTOMERS], ranked[_MOST_CUSTOMERS:]
    if more:
        sums = (sum(getattr(one, name) for one in more) for name in ("sent", "returned", "outstanding"))
        shown.append(Customer(f"{len(more)} more: see Despatches", "", *sums))
    total = (sum(getattr(one, name) for one in ranked) for name in ("sent", "returned", "outstanding"))
    table = listed(
        shown,
        (
            (Column("customer", 50, stretch=1), _who),
            (Column("documents", 28), lambda row: ", ".join(row.documents)),
            (
                Column("cases there (SSCC)", 42),
                lambda row: tuple(Piece(text, SMALL_IDENTIFIER) for text in row.units),
            ),
            (Column("sent", 16, "right"), lambda row: fixed(row.sent, 0)),
            (Column("returned", 17, "right"), lambda row: fixed(row.returned, 0)),
            (Column("outstanding", 20, "right"), lambda row: fixed(row.outstanding, 0)),
        ),
        ("Sum", "", "", *(fixed(number, 0) for number in total)),
    )
    return (*(table or [Lines(("No bottle was despatched.",))]), *_whereabouts(values))


def _who(row: Customer) -> Place:
    return (Piece(row.customer), *(Piece(text, SMALL) for text in (row.address, row.contact) if text))


def _whereabouts(values: Dossier) -> list[Block]:
    """Where the bottles are that were filled."""
    if values.bottles is None:
        return []
    fixed, out = values.imprint.notation.fixed, sum(one.outstanding for one in values.customers)
    lost = f"; lost, tasted or emptied {fixed(values.lost_bottles, 0)}" if values.lost_bottles else ""
    left = fixed(values.bottles - out - values.lost_bottles, 0)
    said = f"Bottles filled {fixed(values.bottles, 0)}; with customers {fixed(out, 0)}{lost}; here {left}."
    return [Lines((said,), above_pt=3)]
