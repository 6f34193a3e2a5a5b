"""Verbs that read codes: scan what a scanner sent, read what a camera saw."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.output import show_json
from pourbook.codes.identifiers import hyphened, kind_of
from pourbook.codes.scans import Scan, parse
from pourbook.errors import PourbookError, Unknown

if TYPE_CHECKING:
    from pourbook.book.finding import Found
    from pourbook.book.units import Unit
    from pourbook.labels.decoding import Decoded

__all__ = ["read_verb", "scan_verb"]


@click.command("scan")
@click.argument("text")
@reading
def scan_verb(door: Door, text: str) -> None:
    """Say what a scan is: one of our identifiers, a GS1 code, a link; or what is wrong with it.

    TEXT is what a scanner sends or a person types, with or without hyphens, symbology prefix and
    separators. With a book it also says which item is meant, and takes the house's own names.

    \b
    Example:
      pourbook scan C-000001-H
      pourbook scan "]C1010952123400567410L26-118" --json
      pourbook scan https://id.gs1.org/01/09521234005674/10/L26-118
    """
    answer = _answer(door, text)
    if door.json:
        show_json(answer)
        return
    for line in _told(answer):
        click.echo(line)


@click.command("read")
@click.argument("file", type=click.Path(path_type=Path))
@reading
def read_verb(door: Door, file: Path) -> None:
    """Read the codes in a photo, a scan or a PDF, and say of each what it is.

    Takes PNG, JPEG and PDF; looks for Data Matrix, QR Code, Code 128 and EAN. Exit status 1 where
    a code was found whose check character does not agree, or that is not in the book.

    \b
    Example:
      pourbook read shelf.jpg
      pourbook read labels.pdf --json
    """
    from pourbook.labels.decoding import codes_in

    codes = codes_in(file.read_bytes(), file.name)
    if not codes:
        raise Unknown(f"no code could be read in '{file}'", "take the photo nearer, straight on, in even light")
    answers = [_seen(door, code) for code in codes]
    if door.json:
        show_json({"file": str(file), "codes": answers})
    else:
        _tell_seen(answers)
    if any("refused" in answer for answer in answers):
        raise click.exceptions.Exit(1)


def _seen(door: Door, code: "Decoded") -> dict[str, Any]:
    place = {"page": code.page, "x": code.x, "y": code.y, "printed_as": code.symbology}
    try:
        return place | _answer(door, code.text)
    except PourbookError as refusal:
        word = type(refusal).__name__.lower()
        return place | {"text": code.text, "refused": word, "message": refusal.message, "remedy": refusal.remedy}


def _tell_seen(answers: list[dict[str, Any]]) -> None:
    for answer in answers:
        click.echo(f"page {answer['page']}, {answer['printed_as']} at {answer['x']}, {answer['y']}:")
        lines = [f"refused: {answer['message']}"] if "refused" in answer else _told(answer)
        for line in lines:
            click.echo(f"  {line}")


# -- what a scan is ----------------------------------------------------------------------


def _answer(door: Door, text: str) -> dict[str, Any]:
    """What a scan is, as a document; with a book, what it is there."""
    if not click.get_current_context().find_root().obj:
        return _document(parse(text))
    from pourbook.book.finding import scanned

    found = scanned(door.book.store, text)
    return _document(found.scan) | {"id": found.id or None} | _in_book(door, found)


def _document(scan: Scan) -> dict[str, Any]:
    from pourbook.codes.application_identifiers import named

    titles = {ai: rule.title for ai, _ in scan.elements if (rule := named(ai))}
    return {
        "kind": scan.kind,
        "id": scan.id or None,
        "gtin": scan.gtin or None,
        "lot": scan.lot or None,
        "sscc": scan.sscc or None,
        "elements": [{"ai": ai, "title": titles.get(ai), "value": value} for ai, value in scan.elements],
        "symbology": scan.symbology or None,
        "slip": scan.slip or None,
        "text": scan.text,
        "item": {"kind": kind_of(scan.id)} if scan.id else None,
        "state": None,
    }


def _in_book(door: Door, found: "Found") -> dict[str, Any]:
    """What the book knows of it."""
    known = {"item": None, "state": found.state, "lots": list(found.lots), "unit": _unit(found.unit)}
    if not found.id:
        return known
    if found.state == "printed ahead":
        return known | {"item": {"kind": kind_of(found.id)}}
    view = door.book.show(found.id)
    return known | {"item": {"kind": view.kind, "ref": view.ref or None, "name": view.facts.get("name")}}


def _unit(unit: "Unit | None") -> dict[str, Any] | None:
    if unit is None:
        return None
    return {"unit": unit.unit, "bottles": unit.bottles, "cases": unit.cases or None, "voided_by": unit.gone or None}


def _told(answer: dict[str, Any]) -> list[str]:
    """The document in lines for people."""
    item = answer["item"] or {}
    names = [item.get(name) for name in ("kind", "ref", "name")]
    lines = ["  ".join(filter(None, (hyphened(answer["id"]), *names)))] if answer["id"] else []
    if unit := answer.get("unit"):
        cases = f"{unit['cases']} cases, " if unit["cases"] else ""
        lines.append(f"a {unit['unit']} of it: {cases}{unit['bottles']} bottles")
    lines += [f"{element['title']}: {element['value']}" for element in answer["elements"] or _bare(answer)]
    if answer.get("lots") and not answer["id"]:
        lines.append(f"lots with this GTIN: {', '.join(map(hyphened, answer['lots']))}")
    if answer["kind"] == "unknown":
        lines.append(f"unknown: '{answer['text']}' is no code; name a book to look it up as a name of the house")
    elif not lines:
        lines.append(f"a {'link' if answer['kind'] == 'link' else 'code'} without a key: {answer['text']}")
    if answer["state"] not in (None, "in the book"):
        lines.append(answer["state"])
    if answer["slip"]:
        lines.append(f"note: put right: {answer['slip']}")
    return lines


def _bare(answer: dict[str, Any]) -> list[dict[str, str]]:
    """A key that came without application identifiers."""
    return [{"title": key.upper(), "value": answer[key]} for key in ("gtin", "sscc") if answer[key]]
