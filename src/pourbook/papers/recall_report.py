"""The report of a recall, actual or mock: scope, time taken, what is on hand, what left, the balance, signatures."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable, Spacer  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.codes.gs1 import sscc_ranges
from pourbook.consignments import recipient
from pourbook.liquid import Liquid
from pourbook.papers.blocks import Block, Lines, Rows, Signatures
from pourbook.papers.blocks_drawing import Section, report
from pourbook.papers.cells import BODY_STRONG, SMALL, SMALL_IDENTIFIER, Piece, Type
from pourbook.papers.endpoints import Named, named_endpoint
from pourbook.papers.listing import ENTRY, WHEN, listed, named
from pourbook.papers.page import Imprint, Title
from pourbook.papers.sections import facts, lines
from pourbook.papers.signed_head import head_block
from pourbook.papers.tables import Column, Content
from pourbook.queries.recalls.affected import AffectedItem, Departure
from pourbook.queries.recalls.customers import CameBack, Customer, WithCustomer
from pourbook.queries.recalls.recall_balance import CAME, WENT
from pourbook.queries.recalls.recalls import Finding, Times
from pourbook.times import minute
from pourbook.words.paper_figures import Notation
from pourbook.words.scope_words import NO_CONTACT, SIDES, taken, target_words, units_words

if TYPE_CHECKING:
    from datetime import tzinfo

__all__ = ["Imprint", "RecallReport", "recall_report"]

_NOTICE = Type(typefaces.SEMIBOLD, 10, 13)
_SIGNERS = ("Found by", "Checked by", "Quality", "Decided by")
_DIGITS = 3
_KG_DIGITS = 6

_COMPUTED = (
    "An item is affected if suspect liquid was poured into it or a suspect closure, bottle or label touched it; water "
    "and additives count like spirit. Liquids are assumed perfectly mixed. A share is the suspect part of what an item "
    "holds, by pure alcohol, by mass and by volume at 20 °C before contraction; the greatest is compared with the "
    "threshold.\n"
    "The balance covers all affected liquid, suspect part or not, in whole milligrams: what came in less what is held, "
    "despatched and lost. Internal transfers stand on both sides. Pours come from the flows, holdings and gauge "
    "differences from the ledger, so each checks the other; kilograms show all six decimals.\n"
    "Outstanding is what a customer was sent less what came back. Cases and pallets stand with a customer where their "
    "numbers were recorded at the despatch; a lot names all of its own. Bottles that come back bear the mark of "
    "those that never left: keep them apart.\n"
    "The clock runs from the first suspicion, or from the beginning of the recall where nobody stated it. All is on "
    "hold when the recall is recorded. A target in hours is the house's own.\n"
    "What soaked into a cask that was emptied and refilled is not followed; such casks are named at the end."
)


@dataclass(frozen=True, slots=True)
class RecallReport:
    """What the report of a recall says, under its imprint.

    `number` is that of the recall's entry, `head_before` the journal hash before it: the book that the figures are of.
    Number 0 is no recall: what a suspicion reaches, as of `at` in words, which is recorded nowhere and has no times.
    `sites` are those of a group, each in words; none in the book of a house.
    A mock one is an exercise; `who` recorded it for what reason. The scope is in words; `threshold` is as typed, empty
    for none. `held` are identifiers of the items put on hold, of all that was found. Its times are shown in the
    zone of the house.
    """

    imprint: Imprint
    number: int
    mock: bool
    reason: str
    who: str
    scope: tuple[str, ...]
    threshold: str
    times: Times | None
    head_before: str
    held: frozenset[str]
    found: Finding
    zone: "tzinfo"
    sites: tuple[str, ...] = ()
    at: str = ""

    @property
    def title(self) -> Title:
        """What the paper is called."""
        if not self.number:
            short = self.head_before[:8].upper()
            return Title("Report of what is affected", f"AFFECTED-{short}", f"AFFECTED{short}")
        words = "Report of a mock recall" if self.mock else "Recall report"
        return Title(words, f"RECALL-{self.number}", f"RECALL{self.number}")

    @property
    def notice(self) -> str:
        """Whether it is an exercise, and why it was done."""
        if not self.number:
            return "No recall: nothing was recorded or put on hold. Each site recalls, and holds, what it has."
        kind = "Mock recall: nothing was actually suspect." if self.mock else "Actual recall."
        return f"{kind} Reason: {self.reason}"


def recall_report(values: RecallReport, paper: str = "A4") -> bytes:
    """The report as PDF. Raises as `pourbook.papers.page.document`."""
    return report(values.imprint, values.title, lambda width_pt: _statement(values, width_pt), _sections(values), paper)


def _statement(values: RecallReport, width_pt: float) -> list[Flowable]:
    affected, share = values.found.affected, values.threshold
    pairs: list[tuple[str, Content]] = [
        *_times(values),
        *([("By", values.who)] if values.who else []),
        *([("Call in a recall", values.imprint.contact)] if values.imprint.contact else []),
        ("Affected items", Piece(str(len(affected.items)), BODY_STRONG)),
        ("Holding suspect liquid", str(len(affected.on_hand))),
        *([("Put on hold by this recall", str(len(values.held)))] if values.number else []),
        ("Scope", f"a share of {share} or more" if share else "any positive amount, any contact"),
    ]
    return [
        *lines([values.notice], _NOTICE),
        Spacer(0, 4),
        *lines(values.scope, BODY_STRONG, "Suspect"),
        *(lines(values.sites, SMALL, "Sites") if values.sites else []),
        Spacer(0, 4),
        facts(pairs, width_pt),
    ]


def _times(values: RecallReport) -> Iterator[tuple[str, Content]]:
    """When it was done, and how long it took from the first suspicion; what nobody stated is left out."""
    times, zone = values.times, values.zone
    if times is None:
        yield "As of", values.at
        return
    moments = {
        "First suspected": times.suspected_us, "Begun": times.begun_us, "All found": times.found_us,
        "All on hold": times.held_us,
    }  # fmt: skip
    yield from ((label, minute(moment, zone)) for label, moment in moments.items() if moment is not None)
    since = "beginning" if times.suspected_us is None else "suspicion"
    yield f"From {since} to all found", Piece(taken(times.to_found_us), BODY_STRONG)
    if times.to_held_us is not None:
        yield f"From {since} to all on hold", Piece(taken(times.to_held_us), BODY_STRONG)
    if target := target_words(times):
        yield "Target", Piece(target, BODY_STRONG)


def _sections(values: RecallReport) -> Iterator[Section]:
    yield Section("On hand", _on_hand(values))
    yield Section("Lots, cases and pallets", _lots(values))
    yield Section("With customers: sent less returned", _with_customers(values))
    if back := _came_back(values):
        yield Section("Returned, back in the house: keep apart", back)
    yield Section("Despatches and returns", _departures(values))
    yield Section("Balance of all affected liquid", [_balance(values)], is_whole=True)
    yield Section("Affected items that no longer hold any", _others(values))
    yield Section("How these figures are computed", [Lines(tuple(_COMPUTED.splitlines()))])
    heads = [("before this recall", values.head_before), ("with this recall", values.imprint.head_hash)]
    if not values.number:
        heads = [("of the group" if values.sites else "of the book", values.head_before)]
    hashes = tuple((label, Piece(head, SMALL_IDENTIFIER)) for label, head in heads)
    yield Section("Journal hash", [head_block(values.imprint, *hashes)], is_whole=True)
    yield Section("Signatures", [Signatures(_SIGNERS)], is_whole=True)


def _name(one: AffectedItem) -> Named:
    return named_endpoint(one.item.id, {one.item.id: one.item.facts})


def _hold(values: RecallReport, one: AffectedItem) -> str:
    return "put on hold" if one.item.id in values.held else "on hold" if "held" in one.item.facts else ""


def _on_hand(values: RecallReport) -> list[Block]:
    notation = values.imprint.notation
    return listed(
        values.found.affected.on_hand,
        (
            (Column("item", 30), lambda one: named(_name(one))),
            (Column("site", 14), lambda one: one.item.facts.get("site", "")),
            (Column("place", 26, stretch=1), lambda one: one.item.facts.get("place", "")),
            (Column("suspect, %\nof alcohol", 18, "right"), lambda one: _small(one.now.alcohol * 100, notation)),
            (Column("\nof mass", 16, "right"), lambda one: _small(one.now.mass * 100, notation)),
            (Column("\nof volume", 16, "right"), lambda one: _small(one.now.volume * 100, notation)),
            (
                Column("holds\nL at 20 °C", 19, "right"),
                lambda one: notation.fixed(one.item.volume_ml_20c / 1000, _DIGITS),
            ),
            (Column("suspect\nkg", 19, "right"), lambda one: _small(one.suspect_mg / 1e6, notation)),
            (Column("hold", 19), lambda one: _hold(values, one)),
        ),
    )


def _small(value: float, notation: Notation) -> str:
    """A figure; a trace of something is never shown as nothing."""
    least = 10.0**-_DIGITS
    return f"<{notation.fixed(least, _DIGITS)}" if 0 < value < least / 2 else notation.fixed(value, _DIGITS)


def _lots(values: RecallReport) -> list[Block]:
    """Bottles of each affected lot, and the cases and pallets they are packed in."""
    lots = [(one, one.bottles) for one in values.found.affected.items if one.bottles is not None]
    table = listed(
        lots,
        (
            (Column("lot", 30, stretch=1), lambda lot: named(_name(lot[0]))),
            (Column("site", 14), lambda lot: lot[0].item.facts.get("site", "")),
            (Column("lot mark", 24), lambda lot: lot[0].item.facts.get("lot_mark", "")),
            (Column("filled", 20, "right"), lambda lot: str(lot[1].filled)),
            (Column("in the house", 20, "right"), lambda lot: str(lot[1].left)),
            (Column("despatched", 20, "right"), lambda lot: str(lot[1].despatched)),
            (Column("returned", 20, "right"), lambda lot: str(lot[1].returned)),
            (Column("lost", 20, "right"), lambda lot: str(lot[1].lost)),
        ),
    )
    packed = tuple(f"{_name(one).id}: {units_words(one.units)}" for one, _ in lots if one.units)
    return [*table, Lines(packed, SMALL, 4)] if packed else table


def _with_customers(values: RecallReport) -> list[Block]:
    """What is still where, with whom to call; and the sum of it."""
    notation = values.imprint.notation
    names = {one.item.id: one.item.facts for one in values.found.affected.items}
    rows = [(customer, one) for customer in values.found.customers for one in customer.items]
    counts = [
        str(values.found.figures[f"bottles_{what}"]) if any(one.bottles_sent is not None for _, one in rows) else ""
        for what in ("sent", "returned", "outstanding")
    ]
    total = "all customers", "", "", *counts, notation.kg(sum(one.outstanding_mg for _, one in rows)), ""

    def cases(row: tuple[Customer, WithCustomer]) -> tuple[Piece, ...]:
        return tuple(Piece(text, SMALL) for text in sscc_ranges(row[1].units))

    def count(bottles: int | None) -> str:
        return "" if bottles is None else str(bottles)

    return listed(
        rows,
        (
            (Column("customer, whom to call", 52, stretch=2), lambda row: _customer_told(*row)),
            (Column("item", 26), lambda row: named(named_endpoint(row[1].item, names))),
            (Column("from\nsite", 14), lambda row: names.get(row[1].item, {}).get("site", "")),
            (Column("bottles\nsent", 14, "right"), lambda row: count(row[1].bottles_sent)),
            (Column("\nreturned", 15, "right"), lambda row: count(row[1].bottles_returned)),
            (Column("\noutstanding", 19, "right"), lambda row: count(row[1].bottles)),
            (Column("outstanding\nkg", 19, "right"), lambda row: notation.kg(row[1].outstanding_mg)),
            (Column("cases and pallets\noutstanding", 36), cases),
        ),
        total if len(rows) > 1 else (),
    )


def _customer_told(customer: Customer, one: WithCustomer) -> tuple[Piece, ...]:
    """The name on every row, since a page may end between them; the rest on the first."""
    told = (customer.contact or NO_CONTACT, customer.address) if one == customer.items[0] else ()
    return Piece(customer.name or "not stated"), *(Piece(text, SMALL) for text in told if text)


def _came_back(values: RecallReport) -> list[Block]:
    of_item = {one.item.id: one for one in values.found.affected.items}
    names = {id_: one.item.facts for id_, one in of_item.items()}

    def hold(one: CameBack) -> str:
        return (_hold(values, of_item[one.item]) if one.item in of_item else "") or "not on hold"

    return listed(
        values.found.came_back,
        (
            (Column("item", 30), lambda one: named(named_endpoint(one.item, names))),
            (Column("bottles", 16, "right"), lambda one: str(one.bottles or "")),
            (Column("kg", 22, "right"), lambda one: values.imprint.notation.kg(one.mass_mg)),
            (Column("hold", 24), hold),
            (Column("place", 30, stretch=1), lambda one: ", ".join(one.places)),
            (
                Column("cases and pallets", 40),
                lambda one: tuple(Piece(text, SMALL) for text in sscc_ranges(one.units)),
            ),
        ),
    )


def _departures(values: RecallReport) -> list[Block]:
    notation = values.imprint.notation
    names = {one.item.id: one.item.facts for one in values.found.affected.items}
    return listed(
        values.found.affected.departures,
        (
            (ENTRY, lambda one: str(one.entry)),
            (WHEN._replace(width_mm=26), lambda one: (Piece(minute(one.happened_us, values.zone)), Piece(one.what))),
            (Column("item", 26), lambda one: named(named_endpoint(one.item, names))),
            (Column("site", 14), lambda one: names.get(one.item, {}).get("site", "")),
            (Column("customer", 30, stretch=1), _customer),
            (Column("document", 20), lambda one: str(one.facts.get("document", ""))),
            (Column("bottles", 13, "right"), lambda one: str(one.facts.get("bottles", ""))),
            (Column("kg", 18, "right"), lambda one: notation.kg(one.liquid.mass_mg)),
            (Column("suspect\n% of mass", 18, "right"), lambda one: _small(one.part * 100, notation)),
        ),
    )


def _customer(one: Departure) -> tuple[Piece, ...]:
    """To whom, or from whom, with the cases."""
    ranges = sscc_ranges(str(one.facts.get("units", "")).split())
    return Piece(recipient(one.facts)), *(Piece(text, SMALL) for text in ranges)


def _balance(values: RecallReport) -> Block:
    columns = (
        Column("", 8),
        Column("", 70, stretch=1),
        Column("mass\nkg", 36, "right"),
        Column("ethanol\nkg", 36, "right"),
    )
    kg, balance = values.imprint.notation.kg, values.found.balance

    def row(sign: str, words: str, liquid: Liquid) -> tuple[str, ...]:
        return sign, words, kg(liquid.mass_mg, _KG_DIGITS), kg(liquid.ethanol_mg, _KG_DIGITS)

    signs = dict.fromkeys(CAME, "+") | dict.fromkeys(WENT, "−")
    rows = tuple(row(sign, SIDES[side], getattr(balance, side)) for side, sign in signs.items())
    return Rows(columns, rows, row("=", "unexplained", balance.unexplained))


def _others(values: RecallReport) -> list[Block]:
    affected = values.found.affected
    holding = {one.item.id for one in affected.on_hand}
    names = [_name(one) for one in affected.items if one.item.id not in holding]
    said = ", ".join(f"{one.id} ({one.name})" if one.name else one.id for one in names)
    return [Lines((said,), SMALL)] if said else []
