"""What was scanned, or seen in a picture."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from pourbook.codes.application_identifiers import named
from pourbook.codes.identifiers import hyphened, kind_of
from pourbook.documents.shown import Shown
from pourbook.errors import PourbookError

if TYPE_CHECKING:
    from pourbook.queries.items.what_was_scanned import Scanned, Seen

__all__ = ["scan_shown", "seen_shown"]


def scan_shown(found: "Scanned") -> Shown:
    """What a scan is."""
    return Shown(_document(found), tuple(_lines(found)))


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
            about = _document(found)
            lines += [f"  {line}" for line in _lines(found)]
        documents.append(place | about)
    return Shown({"file": file, "codes": documents}, tuple(lines))


def _document(scanned: "Scanned") -> dict[str, Any]:
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
        "state": found.state or None,
    }
    if scanned.in_book:
        document["lots"] = list(found.lots)
        document["unit"] = unit and {
            "unit": unit.unit, "bottles": unit.bottles, "cases": unit.cases or None, "voided_by": unit.gone or None
        }  # fmt: skip
    return document


def _title(ai: str) -> str | None:
    rule = named(ai)
    return rule.title if rule else None


def _lines(scanned: "Scanned") -> list[str]:
    found, item = scanned.found, scanned.item
    scan, lines = found.scan, []
    if found.id:
        names = (item.ref, item.facts.get("name", "")) if item else ()
        lines.append("  ".join(filter(None, (hyphened(found.id), kind_of(found.id), *names))))
    if unit := found.unit:
        cases = f"{unit.cases} cases, " if unit.cases else ""
        lines.append(f"a {unit.unit} of it: {cases}{unit.bottles} bottles")
    bare = [("GTIN", scan.gtin), ("SSCC", scan.sscc)]  # a key that came without application identifiers
    elements = [(_title(ai), value) for ai, value in scan.elements] or [pair for pair in bare if pair[1]]
    lines += [f"{title}: {value}" for title, value in elements]
    if found.lots and not found.id:
        lines.append(f"lots with this GTIN: {', '.join(map(hyphened, found.lots))}")
    if scan.kind == "unknown":
        lines.append(f"unknown: '{scan.text}' is no code; name a book to look it up as a name of the house")
    elif not lines:
        lines.append(f"a {'link' if scan.kind == 'link' else 'code'} without a key: {scan.text}")
    if found.state not in ("", "in the book"):
        lines.append(found.state)
    if scan.slip:
        lines.append(f"note: corrected: {scan.slip}")
    return lines
