"""What was scanned, shown: an item, a case, a key of others, the symbol of a paper; and the codes in a picture."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from pourbook.book.glasses import emptied_words
from pourbook.codes.identifiers import hyphened, kind_of
from pourbook.documents.items import name_beside
from pourbook.documents.shown import Shown, fields
from pourbook.errors import PourbookError
from pourbook.numerals import counted
from pourbook.queries.items.called import at_sight

if TYPE_CHECKING:
    from pourbook.queries.items.what_was_scanned import Scanned, Seen

__all__ = ["scan_shown", "seen_shown"]


def scan_shown(found: "Scanned") -> Shown:
    """What a scan is."""
    return Shown(_scan_document(found), tuple(_scan_lines(found)))


def seen_shown(file: str, codes: "Sequence[Seen]") -> Shown:
    """The codes in a picture, each with where it was."""
    documents, lines = [], []
    for code, found in codes:
        place = {"page": code.page, "x": code.x, "y": code.y, "printed_as": code.symbology}
        lines.append(f"page {code.page}, {code.symbology} at {code.x}, {code.y}:")
        if isinstance(found, PourbookError):
            word = type(found).__name__.lower()
            about = {"text": code.text, "refused": word, "message": found.message, "remedy": found.remedy}
            lines.append(f"  refused: {found.message}")
        else:
            about = _scan_document(found)
            lines += [f"  {line}" for line in _scan_lines(found)]
        documents.append(place | about)
    return Shown({"file": file, "codes": documents}, tuple(lines))


def _scan_document(scanned: "Scanned") -> dict[str, Any]:
    found, item = scanned.found, scanned.item
    scan, unit = found.scan, found.unit
    known = {"ref": item.ref or None, "name": item.facts.get("name")} if item else {}
    document: dict[str, Any] = {
        "kind": scan.kind,
        "id": found.id or None,
        "gtin": scan.gtin or None,
        "lot": scan.lot or None,
        "sscc": scan.sscc or None,
        "elements": [{"ai": ai, "title": _title(ai), "value": value} for ai, value in scan.elements],
        "symbology": scan.symbology or None,
        "slip": scan.slip or None,
        "text": scan.text,
        "item": {"kind": kind_of(found.id), **known} if found.id else None,
        **({"emptied": fields(scanned.emptied, "id")} if scanned.emptied else {}),
        "state": found.state or (None if scanned.against is None else _journal_hash_words(scanned)),
    }
    if scanned.in_book:
        document["lots"] = list(found.lots)
        document["unit"] = unit and {
            "unit": unit.unit, "bottles": unit.bottles, "cases": unit.cases or None, "voided_by": unit.gone or None,
            "sent_to": found.sent_to or None,
        }  # fmt: skip
    return document


def _title(ai: str) -> str | None:
    from pourbook.codes.application_identifiers import named  # only for scans of GS1 keys

    rule = named(ai)
    return rule.title if rule else None


def _journal_hash_words(scanned: "Scanned") -> str:
    """What the symbol of a paper says, and whether the book still holds that history."""
    number = scanned.found.scan.text.split(":")[2]
    if scanned.against is None:
        return f"the journal hash of entry {number}; name a book to compare it: pourbook verify --against"
    from pourbook.documents.journal import against_words  # seldom scanned
    from pourbook.documents.keys import signature_words

    signed = (signature_words(one, scanned.against) for one in scanned.signatures)
    return "; ".join((f"the journal hash of entry {number}: {against_words(scanned.against)}", *signed))


def _scan_lines(scanned: "Scanned") -> list[str]:
    found, item = scanned.found, scanned.item
    scan, lines = found.scan, []
    if found.id:
        name = name_beside(item, scanned.called) if item else ""
        lines.append("  ".join(filter(None, (at_sight(found.id, scanned.called), kind_of(found.id), name))))
    if scanned.emptied and scanned.zone:
        lines.append(f"warning: {hyphened(found.id)} {emptied_words(scanned.emptied, scanned.zone)}")
    if unit := found.unit:
        cases = f"{counted(unit.cases, 'case')}, " if unit.cases else ""
        lines.append(f"a {unit.unit} of it: {cases}{counted(unit.bottles, 'bottle')}")
        if found.sent_to:
            lines.append(f"sent to {found.sent_to}")
    bare = [("GTIN", scan.gtin), ("SSCC", scan.sscc)]  # a key that came without application identifiers
    elements = [(_title(ai), value) for ai, value in scan.elements] or [pair for pair in bare if pair[1]]
    lines += [f"{title}: {value}" for title, value in elements]
    if found.lots and not found.id:
        lines.append(f"lots with this GTIN: {', '.join(map(hyphened, found.lots))}")
    if scan.kind == "journal hash":
        lines.append(_journal_hash_words(scanned))
    elif scan.kind == "unknown":
        lines.append(f"unknown: '{scan.text}' is not a code; name a book to look it up as a name of the house")
    elif not lines:
        lines.append(f"a {'link' if scan.kind == 'link' else 'code'} without a key: {scan.text}")
    if found.state not in ("", "in the book"):
        lines.append(found.state)
    if scan.slip:
        lines.append(f"note: corrected: {scan.slip}")
    return lines
