"""Labels and papers, shown: templates, runs, numbers set aside, trade numbers, printers, printed papers."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from pourbook.book.label_prints import STRENGTHS
from pourbook.codes.identifiers import hyphened
from pourbook.codes.lot_marks import lot_number
from pourbook.documents.shown import Shown, fields, listed, recorded_shown
from pourbook.errors import Malformed
from pourbook.labels.media import Sheet
from pourbook.numerals import counted
from pourbook.paperwork.unset_characters import unset_on
from pourbook.queries.items.called import at_sight
from pourbook.words.figure_words import disagreement_words

if TYPE_CHECKING:
    from pourbook.actions.enter_printer import PrinterEntered, RulersPage
    from pourbook.actions.label_run import LabelRun, LabelsPrinted
    from pourbook.actions.print_paper import Printed
    from pourbook.actions.reserve import Reserved
    from pourbook.actions.trade_numbers import GtinSet, UnitsNumbered
    from pourbook.house_style import HouseStyle
    from pourbook.labels.calibration import Printer
    from pourbook.labels.label_layout import Template
    from pourbook.labels.media import Media
    from pourbook.paperwork.outside_marks import Lack
    from pourbook.queries.labels.print_log import PrintRun, Reservation

__all__ = [
    "gtin_shown", "labels_shown", "preview_shown", "print_log_shown", "printed_shown", "printer_entered_shown",
    "printer_shown", "printers_shown", "reservations_shown", "reserved_shown", "rulers_shown", "templates_shown",
    "units_shown",
]  # fmt: skip

_MOST_NAMED = 8
_KEYS = ("units", "in_doubt", "not_sent")
"""Facts of a run that list identifiers or SSCCs, in the journal with blanks between."""

_LACKS = {
    "sscc": "has no serial number (SSCC) here: number its cases or pallets first, with: pourbook cases LOT",
    "gtin": "has no GTIN: give it one with: pourbook gtin LOT",
    "case_gtin": "has no GTIN for its case: give it one with: pourbook gtin LOT",
    "lot_mark": "has no lot mark: pourbook set LOT lot_mark=L26-118",
}


def templates_shown(templates: "Sequence[Template]") -> Shown:
    """The label templates."""
    said = listed(
        templates,
        ("template", lambda one: one.name),
        (" mm", lambda one: f"{one.media.width_mm:g} × {one.media.height_mm:g}"),
        ("media", lambda one: _media_words(one.media)),
        ("symbol", _symbols),
        ("for", lambda one: ", ".join(one.kinds)),
    )
    document = [
        {
            "name": one.name,
            "title": one.title,
            "kind": list(one.kinds),
            "width_mm": one.media.width_mm,
            "height_mm": one.media.height_mm,
            "symbol": _symbols(one),
            "media": {"form": "sheet" if isinstance(one.media, Sheet) else "roll", **one.media._asdict()},
        }
        for one in templates
    ]
    return Shown({"templates": document}, said)


def _symbols(template: "Template") -> str:
    return ", ".join(dict.fromkeys(field.kind for field in template.symbols))


def _media_words(media: "Media") -> str:
    return f"{media.page} sheet of {media.places}" if isinstance(media, Sheet) else "roll"


# -- runs --------------------------------------------------------------------------------


def preview_shown(run: "LabelRun", files: Sequence[str]) -> Shown:
    """Pictures of a run that were written."""
    facts = run.facts()
    said = f"{counted(int(facts['count']), 'label')} shown in {', '.join(files)}"
    return Shown({**facts, "files": list(files), "preview": True}, (said,), ("preview only: nothing was recorded",))


def labels_shown(printed: "LabelsPrinted", style: "HouseStyle", file: str = "") -> Shown:
    """What a run printed, and what is left where it stopped; `file` is empty for what went to a printer."""
    facts, run = printed.facts, printed.run
    goes_to = run.printer.goes_to if run.printer else ""
    count = counted(int(facts["count"]), "label")
    if file:
        said = f"{count} in {file}: {_named(run.keys)}"
    else:
        said = f"{count} {'would go' if printed.dry_run else 'sent'} to {facts['printer']} ({goes_to})"
    notes = [*map(_lack, printed.lacks), *unset_on(run.labels)]
    if printed.again:
        notes.append(f"{counted(printed.again, 'item')} had a label before; --reason records why it is printed again")
    if facts["readback"] == "skipped":
        notes.append("the labels were not read back")
    lines = [f"warning: {hyphened(lot)} is {disagreement_words(apart, style.mark)}" for lot, apart in printed.apart]
    lines += [f"note: {note}" for note in notes]
    document = {"ids": [one.code for one in run.labels], "prints": run.prints, "notes": notes, **_facts(facts)}
    if file:
        document["file"] = file
    shown = recorded_shown(printed.recorded, document, (said,), style)
    return shown._replace(notes=(*lines, *shown.notes, *_stopped(printed)))


def _lack(lack: "Lack") -> str:
    why = _LACKS[lack.what]
    if lack.mark:
        try:
            lot_number(lack.mark)
        except Malformed as refusal:
            why = refusal.message
    return f"{lack.id} {why}; the label does without, or carries our identifier instead"


def _stopped(printed: "LabelsPrinted") -> list[str]:
    if "stopped" not in printed.facts:
        return []
    lines = [f"stopped: {printed.facts['stopped']}"]
    for words, keys in (("may or may not be printed", printed.in_doubt), ("not sent", printed.not_sent)):
        lines += [f"  {words}: {_named(keys)}"] if keys else []
    for words, name in (("numbers in doubt", "doubtful"), ("numbers not sent", "rest")):
        lines += [f"  {words}: {printed.facts[name]} of {printed.facts['numbered']}"] if name in printed.facts else []
    rest = f"--rest-of {printed.recorded.numbers[-1]}"
    return [*lines, f"    do: check the output and the printer, then print the rest: pourbook label {rest}"]


def _named(keys: Sequence[str]) -> str:
    named = [key if key.isdecimal() else hyphened(key) for key in keys[:_MOST_NAMED]]
    more = f" and {len(keys) - _MOST_NAMED} more, to {keys[-1]}" if len(keys) > _MOST_NAMED else ""
    return ", ".join(named) + more


def _facts(facts: Mapping[str, Any]) -> dict[str, Any]:
    """What the journal keeps of a run, lists as lists."""
    return {
        name: value.split() if name in _KEYS else value.split("; ") if name == STRENGTHS else value
        for name, value in facts.items()
    }


def print_log_shown(runs: "Sequence[PrintRun]", style: "HouseStyle") -> Shown:
    """The print log."""
    said = listed(
        runs,
        (" entry", lambda run: run.entry),
        ("when", lambda run: style.time_shown(run.happened_us)),
        ("who", lambda run: run.who),
        (" labels", lambda run: " of ".join(str(run.facts[name]) for name in ("count", "of") if name in run.facts)),
        ("of", lambda run: _ends(run.ids, run.called)),
        ("template", lambda run: run.facts.get("template", "")),
        (" dpi", lambda run: run.facts.get("dpi", "")),
        ("to", lambda run: run.facts.get("printer") or run.facts.get("file", "")),
        ("readback", lambda run: run.facts.get("readback", "not known")),
        ("why", lambda run: "; ".join(filter(None, (run.reason, str(run.facts.get("stopped", "")))))),
    )
    return Shown({"runs": [fields(run, "facts", "called") | _facts(run.facts) for run in runs]}, said)


def _ends(ids: Sequence[str], called: Mapping[str, str]) -> str:
    """Items of a run: the first and the last, as a person knows them."""
    first, last = (at_sight(one, called[one]) for one in (ids[0], ids[-1]))
    if len(ids) < 3:
        return ", ".join(dict.fromkeys((first, last)))
    return f"{first} … {last} ({len(ids)})"


# -- numbers set aside ---------------------------------------------------------------------


def reserved_shown(reserved: "Reserved", style: "HouseStyle") -> Shown:
    """Numbers that were set aside, one a line."""
    facts, said = {"kind": reserved.kind, "ids": list(reserved.ids)}, tuple(map(hyphened, reserved.ids))
    return recorded_shown(reserved.recorded, facts, said, style)


def reservations_shown(reservations: "Sequence[Reservation]", style: "HouseStyle", *, numbers: bool) -> Shown:
    """What became of numbers set aside; with `numbers`, those that are on nothing yet, one a line."""
    document = [
        fields(one, "ids", "called")
        | {
            "reserved": list(one.ids),
            "printed": sorted(one.printed),
            "assigned": sorted(one.assigned),
            "printed_not_assigned": list(one.lying),
            "unused": list(one.unused),
        }
        for one in reservations
    ]
    if numbers:
        said = tuple(hyphened(identifier) for one in reservations for identifier in one.free)
        return Shown({"reservations": document}, said)
    said = listed(
        reservations,
        (" entry", lambda one: one.entry),
        ("when", lambda one: style.time_shown(one.happened_us)),
        ("who", lambda one: one.who),
        ("first", lambda one: at_sight(one.ids[0], one.called[one.ids[0]])),
        ("last", lambda one: at_sight(one.ids[-1], one.called[one.ids[-1]])),
        (" numbers", lambda one: len(one.ids)),
        (" printed", lambda one: len(one.printed)),
        (" assigned", lambda one: len(one.assigned)),
        (" printed only", lambda one: len(one.lying)),
        (" unused", lambda one: len(one.unused)),
    )
    return Shown({"reservations": document}, said)


def printers_shown(printers: "Sequence[Printer]") -> Shown:
    """The printers of the house."""
    said = listed(
        printers,
        ("printer", lambda one: one.name),
        (" dpi", lambda one: f"{one.calibration.dpi:g}"),
        (" right mm", lambda one: f"{one.calibration.offset_mm[0]:g}"),
        (" down mm", lambda one: f"{one.calibration.offset_mm[1]:g}"),
        (" margins mm", _margins),
        ("text", lambda one: "printer" if one.own_text else "picture"),
        ("goes to", lambda one: one.goes_to or "files only"),
    )
    return Shown({"printers": list(map(_printer_document, printers))}, said)


def printer_shown(printer: "Printer") -> Shown:
    """One printer."""
    return Shown(_printer_document(printer), (_printer_words(printer),))


def _printer_words(printer: "Printer") -> str:
    x, y = printer.calibration.offset_mm
    offset = f"{x:+g} mm right, {y:+g} mm down"
    goes_to = printer.goes_to or "files only"
    return f"{printer.name}: {printer.calibration.dpi:g} dpi, {offset}, margins {_margins(printer)} mm, {goes_to}"


def _margins(printer: "Printer") -> str:
    margins = [f"{margin:g}" for margin in printer.calibration.margins_mm]
    return margins[0] if len(set(margins)) == 1 else ",".join(margins)


def _printer_document(printer: "Printer") -> dict[str, Any]:
    dpi, offset_mm, margins_mm = printer.calibration
    return {
        "name": printer.name,
        "dpi": dpi,
        "offset_x_mm": offset_mm[0],
        "offset_y_mm": offset_mm[1],
        "margins_mm": list(margins_mm),
        "queue": printer.queue,
        "address": printer.address,
        "text": "printer" if printer.own_text else "picture",
    }


def printer_entered_shown(entered: "PrinterEntered", style: "HouseStyle") -> Shown:
    """A printer that was entered, changed or forgotten."""
    said = _printer_words(entered.printer) if entered.printer else f"{entered.name}: forgotten"
    facts = {"printer": entered.name, "settings": dict(entered.settings)}
    return recorded_shown(entered.recorded, facts, (said,), style)


def rulers_shown(page: "RulersPage", file: str = "", *, dry_run: bool = False) -> Shown:
    """A test page that was written to a file, or sent."""
    name = page.printer.name
    if file:
        said = f"test page in {file}: print it at 100 %, then measure"
        return Shown({"printer": name, "file": file}, (said,))
    said = "would go" if dry_run else "sent"
    return Shown({"printer": name, "sent": not dry_run}, (f"test page {said} to {name} ({page.printer.goes_to})",))


def gtin_shown(given: "GtinSet", style: "HouseStyle") -> Shown:
    """The GTINs that a lot was given."""
    names = {"gtin": "GTIN", "case_gtin": "case GTIN"}
    said = f"{hyphened(given.id)}: {', '.join(f'{names[name]} {gtin}' for name, gtin in given.facts.items())}"
    return recorded_shown(given.recorded, {"id": given.id, **given.facts}, (said,), style)


def units_shown(numbered: "UnitsNumbered", style: "HouseStyle") -> Shown:
    """The serial numbers of cases or pallets, one a line."""
    facts = {
        "id": numbered.id, "ssccs": list(numbered.ssccs), "unit": numbered.unit, "bottles": numbered.bottles,
        "cases": numbered.cases or None,
    }  # fmt: skip
    shown = recorded_shown(numbered.recorded, facts, numbered.ssccs, style)
    if numbered.filled is None or numbered.packed <= numbered.filled:
        return shown
    packed = counted(numbered.packed, "bottle")
    note = f"note: {numbered.unit}s of {packed} are numbered; the lot has {numbered.filled}"
    return shown._replace(notes=(note, *shown.notes))


def printed_shown(printed: "Printed", style: "HouseStyle") -> Shown:
    """A paper that was printed; of a dossier, all that it says as well."""
    file = ", ".join(map(str, printed.files))
    facts: dict[str, Any] = {**printed.facts, "file": file, "id": printed.item, "warnings": list(printed.warnings)}
    facts["at_entry"] = facts.pop("entries")
    if printed.dossier is None:
        facts["remarks"] = list(printed.remarks)
    else:
        from pourbook.papers.dossier.dossier_json import document

        facts["dossier"] = document(printed.dossier)
    shown = recorded_shown(printed.recorded, facts, (file,), style)
    notes = [f"note: {remark}" for remark in printed.remarks]
    notes += [f"provisional: {warning}" for warning in printed.warnings]
    return shown._replace(notes=(*notes, *shown.notes))
