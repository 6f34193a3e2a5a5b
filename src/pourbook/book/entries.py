"""Every kind of entry of the journal: all the vocabulary, with the pages of bench and cellar.

A door puts one of these values into a `Draft` with when it happened and who did it; `Book.record` measures it
against what the book holds, freezes it as canonical JSON and appends it. Items are named by identifier
(`C000123Y`); outside endpoints by the words in `SOURCES` and `TARGETS`.

>>> Draft(Note("C000123Y", "bung replaced"), happened_us=0, who="M. Aldane").entry.text
'bung replaced'
"""

from collections.abc import Mapping
from typing import NamedTuple

from pourbook.book.bench_entries import (
    PURPOSES,
    Blending,
    Coded,
    Component,
    Flight,
    Recipe,
    RecipePart,
    Reveal,
    Session,
    Stage,
    Taste,
    Word,
)  # fmt: skip
from pourbook.book.cellar_entries import Approval, Counted, Fills, Ground, Misplaced, Seen, Stacked, Stocktake
from pourbook.book.key_entries import Key, Second
from pourbook.book.recall_scope import Suspect
from pourbook.book.stages import STAGES
from pourbook.gauging.recorded_values import GaugeUncertainty, UsedInstrument
from pourbook.liquid import Liquid
from pourbook.quantities import Amount, Strength

__all__ = [
    "DISPOSITIONS", "PURPOSES", "SOURCES", "STAGES", "SUBJECTS", "TARGETS", "Approval", "Blending", "Close", "Coded",
    "Component", "Counted", "Declared", "DeclaredLine", "Draft", "Entry", "Facts", "Fills", "Flight", "Gauge",
    "GaugeUncertainty", "Ground", "Hold", "House", "Imported", "Item", "Key", "Misplaced", "Move", "Note",
    "Packed", "Paper", "Pour", "Recall", "Recipe", "RecipePart", "Release", "Reserve", "Reveal", "Second", "Seen",
    "Session", "Stacked", "Stage", "Stocktake", "Taste", "UsedInstrument", "Void", "Word",
]  # fmt: skip

SOURCES = ("origin", "water", "additive", "return")
"""Where liquid comes from outside; `return` is a lot's own liquid coming back from a customer."""

TARGETS = ("loss", "despatch")
"""Where liquid goes outside: lost, with its disposition, or sent to a customer."""

DISPOSITIONS = (
    "evaporation", "soakage", "leak", "filter", "line", "spill", "operating", "tasting", "sample", "destruction",
    "theft", "accident", "unexplained", "other",
)  # fmt: skip
"""Where a loss went; a house may confirm words of its own."""


SUBJECTS = ("arrival", "inspection", "treatment", "repair")
"""What a note of a vessel's history is about: how it arrived, how it was found, what was done to it."""


class House(NamedTuple):
    """The house's settings (`pourbook.book.settings`), whole or in part; a later entry changes what it names."""

    settings: Mapping[str, str]


class Item(NamedTuple):
    """A cask, vial, trial, batch, lot (or place, person, instrument) enters the book.

    Attributes:
        id: its identifier; a new number, or one reserved earlier.
        facts: name to value: ref, name, wood, capacity_l, spirit, place, note, follows …
        from_sources: names of the facts taken over from what was poured in, not stated by a person.
    """

    id: str
    facts: Mapping[str, str]
    from_sources: tuple[str, ...] = ()


class Facts(NamedTuple):
    """What is true of an item from this time on: a new name, another place, new wood.

    Attributes:
        id: the item.
        facts: name to value; an empty value ends a fact.
        from_sources: as in `Item`.
    """

    id: str
    facts: Mapping[str, str]
    from_sources: tuple[str, ...] = ()


class Move(NamedTuple):
    """One line of a pour: an amount from a source to a target.

    Attributes:
        source: an item, or a word of `SOURCES`.
        target: an item, or a word of `TARGETS`.
        amount: as typed, or whole mg; None means all that the source holds.
        strength: of the liquid. Needed from an origin; from an item, a strength-only gauge of the source just
            before the pour; of a loss to the air, the strength of what left.
        temperature_c: at which a volume was measured.
        empties: the amount was measured and is all there was: the source is gauged to it first.
        received: amount that arrived, where it was measured too; the difference is a transfer gain or loss.
        composition: the liquid itself, where it is known by other means than strength.
        pending: the strength is an assumption until the laboratory has read it.
        redistilled: what arrives was distilled again: its time in wood ends.
        tolerance_mg: how much more than the book holds may be taken, where the instrument says so.
        facts: name to value, kept as they are: spirit, distiller, distilled, wood_days, supplier,
            disposition, witness, customer, address, document, carrier, site and from_site (where it goes to, or comes
            from, another site), role, bottles, cost …
    """

    source: str
    target: str
    amount: Amount | int | None
    strength: Strength | None = None
    temperature_c: float = 20.0
    empties: bool = False
    received: Amount | int | None = None
    composition: Liquid | None = None
    pending: bool = False
    redistilled: bool = False
    tolerance_mg: int | None = None
    facts: Mapping[str, str | int] = {}


class Pour(NamedTuple):
    """Liquid moved: spirit fills a cask, a sample is drawn, vials meet in a trial, a batch is bottled.

    Attributes:
        verb: the trade's word: fill, draw, pour, dump, vat, heel, reduce, rack, bottle, despatch …
        moves: the lines, in the order they were poured.
    """

    verb: str
    moves: tuple[Move, ...]


class Gauge(NamedTuple):
    """A measurement of an item. It states what is there; the difference from the book is gain or loss.

    Attributes:
        id: the item.
        amount: as typed, or whole mg; None where it was not measured.
        strength: true strength; None where it was not measured.
        temperature_c: at which a volume was measured.
        facts: disposition of what is missing, witness, document, certificate … kept as they are.
        mass_fraction: ethanol per ethanol and water by a hydrometer or density meter; stands before `strength`.
        extract_per_mass: dissolved solids per total mass, where determined; else they keep their mass.
        reading: what the instruments showed, as typed: by the way it was read (`weighed`, `dip`, `meter`,
            `hydrometer`, `density`, `true`, `extract`, `vat_share`) to name and text.
        instruments: what it was read with.
        uncertainty: of its figures, where the instruments tell.
        provisional: why the reading does not yet stand for the item ("unmixed"); empty where it does.
    """

    id: str
    amount: Amount | int | None
    strength: Strength | None
    temperature_c: float = 20.0
    facts: Mapping[str, str | int] = {}
    mass_fraction: float | None = None
    extract_per_mass: float | None = None
    reading: Mapping[str, Mapping[str, str]] = {}
    instruments: tuple[UsedInstrument, ...] = ()
    uncertainty: GaugeUncertainty | None = None
    provisional: str = ""


class Hold(NamedTuple):
    """An item is put on hold (nothing may be poured from or into it), or released.

    Attributes:
        id: the item.
        held: on hold, or released.
        recall: number of the recall that holds what it was poured from; 0 for a hold by hand.
        tasting: number of the tasting note that found a fault in it; 0 where none did.
    """

    id: str
    held: bool
    recall: int = 0
    tasting: int = 0


class Note(NamedTuple):
    """Something worth knowing about an item.

    Attributes:
        id: the item.
        text: as it was typed.
        subject: what it is about, a word of `SUBJECTS`; empty for anything else.
    """

    id: str
    text: str
    subject: str = ""


class Reserve(NamedTuple):
    """Numbers set aside, so that labels can be printed ahead and assigned by the first scan."""

    ids: tuple[str, ...]


class Packed(NamedTuple):
    """Bottles of a lot were packed, each case or pallet under its own serial number (SSCC).

    Attributes:
        id: the lot.
        unit: "case" or "pallet".
        ssccs: one for each case or pallet, never issued before.
        prefix: the company prefix they were made from.
        bottles: in each of them.
        cases: on each pallet; 0 where they are not counted, and for cases.
    """

    id: str
    unit: str
    ssccs: tuple[str, ...]
    prefix: str
    bottles: int
    cases: int = 0


class Paper(NamedTuple):
    """A paper or a run of labels was made.

    Attributes:
        paper: label, bench sheet, dossier …
        ids: the items it is about.
        facts: template, head at the time, figures printed …
    """

    paper: str
    ids: tuple[str, ...]
    facts: Mapping[str, str | int]


class Imported(NamedTuple):
    """Files (name to the SHA-256 of its bytes) were imported, with the numbers of their items and pours."""

    files: Mapping[str, str]
    items: int
    pours: int


class Close(NamedTuple):
    """A period ends: nothing may be recorded as having happened before this entry's time."""


class DeclaredLine(NamedTuple):
    """One line of figures as they were declared.

    Attributes:
        group: what its items were, by each grouping; empty for the total.
        side: of the account: opening, in, loss …
        heading: on that side.
        lpa_l: litres of pure alcohol, rounded, as text.
        bulk_l: bulk litres, rounded, as text.
    """

    group: tuple[str, ...]
    side: str
    heading: str
    lpa_l: str
    bulk_l: str


class Declared(NamedTuple):
    """Figures of a closed period were declared to an authority; they stay as they were declared.

    Attributes:
        start_us: the first moment of the period.
        end_us: the first moment after it.
        by: groupings of the account.
        rule: by which every figure was rounded.
        lines: the figures.
    """

    start_us: int
    end_us: int
    by: tuple[str, ...]
    rule: str
    lines: tuple[DeclaredLine, ...]


class Recall(NamedTuple):
    """A recall, actual or mock: what was suspected, what was found of it, and what was put on hold.

    Attributes:
        scope: the suspects.
        mock: whether it was a mock recall.
        threshold: least share that counts, as typed; empty for any positive amount.
        begun_us: when it was begun.
        ended_us: when all was found.
        head: hash of the entry before this one, as hexadecimal text: the book that the figures are of.
        figures: name to count or mg, as found.
        items: those affected.
        held: those of them put on hold by this entry.
        suspected_us: when it was first suspected; None where nobody said.
        within_h: hours that it was to take from the first suspicion, as typed; empty for no such target.
    """

    scope: tuple[Suspect, ...]
    mock: bool
    threshold: str
    begun_us: int
    ended_us: int
    head: str
    figures: Mapping[str, int]
    items: tuple[str, ...]
    held: tuple[str, ...]
    suspected_us: int | None = None
    within_h: str = ""


class Release(NamedTuple):
    """The holds of a recall end; `ids` are the items that nothing else holds, which are released."""

    recall: int
    ids: tuple[str, ...]


class Void(NamedTuple):
    """An entry (by its number) was a mistake and no longer counts; it stays in the journal."""

    entry: int


Entry = (
    Approval | Blending | Counted | House | Item | Facts | Fills | Pour | Gauge | Hold | Key | Note | Component | Recipe
    | Reserve | Packed | Paper | Imported | Close | Declared | Recall | Release | Reveal | Seen | Session | Stacked
    | Stocktake
    | Taste | Void | Word
)  # fmt: skip


class Draft(NamedTuple):
    """An entry before it is in the journal.

    Attributes:
        entry: what happened.
        happened_us: when.
        who: by whom; a name or a person's identifier.
        reason: why; needed for a void or a replacement.
        where: the station or place; may be empty.
        replaces: number of the entry this one stands in for; 0 for none.
        confirmed: the person confirmed what the book would otherwise refuse.
        login: the name under which the computer knows whoever recorded it; empty where it does not say.
        second: who agrees with it, where the house wants two persons; None for nobody.
    """

    entry: Entry
    happened_us: int
    who: str
    reason: str = ""
    where: str = ""
    replaces: int = 0
    confirmed: bool = False
    login: str = ""
    second: Second | None = None
