"""The journal on paper: every entry with its hash, and on each page the first and the last of them in full.

So a page can be laid beside the book: an entry, or one before it, that was changed has another hash there.

>>> entry = JournalEntry(7, 0, 0, "M. Aldane", "", ("hold C-000001-H",), "complaint 31", "", "9f3c" * 16)
>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> journal_paper(JournalPaper(imprint, (entry,), (), house_zone("UTC")))[:5]
b'%PDF-'
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING, NamedTuple

from reportlab.platypus import CondPageBreak, Flowable, Spacer  # loaded only by the verbs that print

from pourbook.papers.blocks_drawing import drawn
from pourbook.papers.cells import BODY_STRONG, QUIET, SMALL, SMALL_IDENTIFIER, Cell, Piece
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.sections import facts, lines
from pourbook.papers.signed_head import head_block
from pourbook.papers.tables import Column, Content, PaperTable, paper_table
from pourbook.times import house_zone, minute

if TYPE_CHECKING:
    from datetime import tzinfo

__all__ = ["JournalEntry", "JournalPaper", "house_zone", "journal_paper"]

_SHORT_HASH = 16
_FOOT_GAP_PT = 6.0

_READ = (
    "The hash of an entry is that of its bytes and of the hash before it, so each vouches for all before it. The list "
    "has its first sixteen digits; the first and the last entry of a page stand in full at its foot, as NUMBER:HASH. "
    "To check a page against the book: pourbook verify --against NUMBER:HASH."
)


_READ_OF_A_GROUP = (
    "Each site has a chain of its own: the hash of an entry is that of its bytes, as its site wrote them, and of "
    "the hash of the entry before it at that site, so each vouches for all before it there, and for no other "
    "site. The list has its first sixteen digits; the first and the last entry of a page stand in full at its "
    "foot, as NUMBER:HASH. To check one against the book: pourbook verify --against NUMBER:HASH."
)


class JournalEntry(NamedTuple):
    """An entry as the paper has it.

    Attributes:
        number: of the entry.
        happened_us: when.
        recorded_us: when it was written down.
        who: recorded it.
        where: station or place; empty where nobody said.
        said: what it says, a text for each line.
        reason: why; empty where none was given.
        standing: what it stands in the place of, and what took its own; empty for most.
        hash: 64 hexadecimal digits.
        site: of a group: the site that recorded it.
        site_number: its number there.
    """

    number: int
    happened_us: int
    recorded_us: int
    who: str
    where: str
    said: tuple[str, ...]
    reason: str
    standing: str
    hash: str
    site: str = ""
    site_number: int = 0


@dataclass(frozen=True, slots=True)
class JournalPaper:
    """Entries of the journal in order under their imprint, in the zone of the house.

    `narrowed` says, in words, which entries are printed; nothing where all are.
    """

    imprint: Imprint
    entries: tuple[JournalEntry, ...]
    narrowed: tuple[str, ...]
    zone: "tzinfo"


def journal_paper(values: JournalPaper, paper: str = "A4") -> bytes:
    """The journal as PDF. Raises as `pourbook.papers.page.document`."""
    first, last = (values.entries[place].number for place in (0, -1))
    title = Title("Journal", f"ENTRIES-{first}-TO-{last}", f"ENTRIES{first}TO{last}")
    return document(values.imprint, title, lambda width_pt: _story(values, width_pt), paper)


def _story(values: JournalPaper, width_pt: float) -> list[Flowable]:
    first, last, end = values.entries[0], values.entries[-1], values.imprint.entries
    pairs: list[tuple[str, Content]] = [
        ("Entries printed", Piece(str(len(values.entries)), BODY_STRONG)),
        ("First", str(first.number)),
        ("Last", str(last.number)),
        ("Last entry of the book", str(end)),
    ]
    return [
        *lines([f"Only: {'; '.join(values.narrowed)}."] if values.narrowed else [], BODY_STRONG),
        facts(pairs, width_pt),
        *(drawn([head_block(values.imprint)], width_pt) if values.imprint.signed else ()),
        *lines([_READ_OF_A_GROUP if first.site else _READ], SMALL),
        Spacer(0, 6),
        _Vouched(*_table(values, width_pt)),
    ]


def _table(values: JournalPaper, width_pt: float) -> tuple[PaperTable, list[JournalEntry]]:
    """The table, and the entry of each of its rows: one that fills pages has several."""
    zone = values.zone
    said: list[tuple[Column, Callable[[JournalEntry], Content]]] = [
        (Column("entry", 12, "right"), lambda one: str(one.number)),
        (Column("happened\nrecorded", 26), lambda one: _times(one, zone)),
        (Column("who", 26), lambda one: one.who),
        (Column("where", 18), lambda one: one.where),
        (Column("what", 60, stretch=1), _what),
        (Column("hash", 28), lambda one: Piece(one.hash[:_SHORT_HASH], SMALL_IDENTIFIER)),
    ]
    if not any(one.where for one in values.entries):
        del said[3]
    if any(one.site for one in values.entries):
        said.insert(1, (Column("site", 16), lambda one: (Piece(one.site), Piece(str(one.site_number), QUIET))))
    rows = [[say(one) for _, say in said] for one in values.entries]
    table = paper_table([column for column, _ in said], rows, width_pt)
    ends = accumulate(row.rule_pt > 0 for row in table.rows)  # only the last row of an entry has a line below it
    return table, [values.entries[end - (row.rule_pt > 0)] for end, row in zip(ends, table.rows, strict=True)]


def _times(one: JournalEntry, zone: "tzinfo") -> tuple[Piece, ...]:
    return Piece(minute(one.happened_us, zone)), Piece(minute(one.recorded_us, zone), QUIET)


def _what(one: JournalEntry) -> tuple[Piece, ...]:
    beside = (f"reason: {one.reason}" if one.reason else "", one.standing)
    return (*map(Piece, one.said), *(Piece(text, SMALL) for text in beside if text))


class _Vouched(Flowable):  # type: ignore[misc]  # reportlab comes without types
    """A table of entries, and below each of its parts the hashes of the first and the last entry in it."""

    def __init__(self, table: PaperTable, entries: Sequence[JournalEntry]) -> None:
        super().__init__()
        self.table, self.entries = table, entries
        self.foot = [
            Cell([Piece(f"{name} on this page  {entry.number}:{entry.hash}", SMALL_IDENTIFIER)])
            for name, entry in (("first", entries[0]), ("last ", entries[-1]))
        ]
        self.foot_pt = _FOOT_GAP_PT + sum(float(cell.wrap(table.width, 0)[1]) for cell in self.foot)
        self.width, self.height = table.width, table.height + self.foot_pt

    def split(self, width_pt: float, height_pt: float) -> list[Flowable]:
        """As the table does, with room for what stands below each part."""
        parts = [one for one in self.table.split(width_pt, height_pt - self.foot_pt) if isinstance(one, PaperTable)]
        if len(parts) < 2:
            return []
        at = len(parts[0].rows)
        first, rest = _Vouched(parts[0], self.entries[:at]), _Vouched(parts[1], self.entries[at:])
        return [first, CondPageBreak(rest.height), rest]

    def draw(self) -> None:
        """The table, and the hashes below it."""
        self.table.drawOn(self.canv, 0, self.foot_pt)
        bottom = self.foot_pt - _FOOT_GAP_PT
        for cell in self.foot:  # from above, as it is read aloud
            bottom -= cell.height
            cell.drawOn(self.canv, 0, bottom)
