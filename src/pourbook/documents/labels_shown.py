"""Label templates, runs of labels, the print log, and numbers set aside: as documents and in lines."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.codes.lot_marks import lot_number
from pourbook.documents.recorded_shown import recorded_shown
from pourbook.documents.shown import Shown, table
from pourbook.errors import Malformed
from pourbook.labels.media import Sheet
from pourbook.numerals import counted
from pourbook.times import written
from pourbook.words.figure_words import disagreement_words, several

if TYPE_CHECKING:
    from pourbook.actions.label_run import LabelRun, LabelsPrinted
    from pourbook.actions.reserve import Reserved
    from pourbook.house_style import HouseStyle
    from pourbook.labels.label_layout import Template
    from pourbook.labels.media import Media
    from pourbook.paperwork.outside_marks import Lack
    from pourbook.queries.labels.print_log import PrintRun, Reservation

__all__ = [
    "labels_shown", "preview_shown", "print_log_shown", "reservations_shown", "reserved_shown", "templates_shown",
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
    rows = [
        (
            one.name,
            f"{one.media.width_mm:g} × {one.media.height_mm:g}",
            _media_words(one.media),
            _symbols(one),
            ", ".join(one.kinds),
        )
        for one in templates
    ]
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
    return Shown({"templates": document}, table(("template", " mm", "media", "symbol", "for"), rows))


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
        said = f"{count} in {file}"
    else:
        said = f"{count} {'would go' if printed.dry_run else 'sent'} to {facts['printer']} ({goes_to})"
    notes = [_lack(lack) for lack in printed.lacks]
    if printed.again:
        notes.append(f"{printed.again} of them had been printed before; --reason records why")
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
    rest = f"--rest-of {printed.recorded.numbers[-1]}"
    return [*lines, f"    do: check the output and the printer, then print the rest: pourbook label {rest}"]


def _named(keys: Sequence[str]) -> str:
    named = [key if key.isdecimal() else hyphened(key) for key in keys[:_MOST_NAMED]]
    more = f" and {len(keys) - _MOST_NAMED} more, to {keys[-1]}" if len(keys) > _MOST_NAMED else ""
    return ", ".join(named) + more


def _facts(facts: Mapping[str, Any]) -> dict[str, Any]:
    """What the journal keeps of a run, lists as lists."""
    return {name: value.split() if name in _KEYS else value for name, value in facts.items()}


def print_log_shown(runs: "Sequence[PrintRun]", style: "HouseStyle") -> Shown:
    """The print log."""
    document = [
        {
            "entry": run.entry,
            "happened": written(run.happened_us),
            "who": run.who,
            "reason": run.reason,
            "ids": list(run.ids),
            **_facts(run.facts),
        }
        for run in runs
    ]
    heads = (" entry", "when", "who", " labels", "of", "template", " dpi", "to", "readback", "why")
    rows = [
        (
            str(run.entry),
            style.time_shown(run.happened_us),
            run.who,
            f"{run.facts.get('count', '')}" + (f" of {run.facts['of']}" if "of" in run.facts else ""),
            several(run.ids),
            str(run.facts.get("template", "")),
            str(run.facts.get("dpi", "")),
            str(run.facts.get("printer") or run.facts.get("file", "")),
            str(run.facts.get("readback", "not known")),
            "; ".join(filter(None, (run.reason, str(run.facts.get("stopped", ""))))),
        )
        for run in runs
    ]
    return Shown({"runs": document}, table(heads, rows))


# -- numbers set aside ---------------------------------------------------------------------


def reserved_shown(reserved: "Reserved", style: "HouseStyle") -> Shown:
    """Numbers that were set aside, one a line."""
    facts, said = {"kind": reserved.kind, "ids": list(reserved.ids)}, tuple(map(hyphened, reserved.ids))
    return recorded_shown(reserved.recorded, facts, said, style)


def reservations_shown(reservations: "Sequence[Reservation]", style: "HouseStyle", *, numbers: bool) -> Shown:
    """What became of numbers set aside; with `numbers`, those that are on nothing yet, one a line."""
    document = [
        {
            "entry": one.entry,
            "happened": written(one.happened_us),
            "who": one.who,
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
    heads = " entry", "when", "who", "first", "last", " numbers", " printed", " assigned", " printed only", " unused"
    rows = [
        (
            str(one.entry),
            style.time_shown(one.happened_us),
            one.who,
            hyphened(one.ids[0]),
            hyphened(one.ids[-1]),
            *(str(len(part)) for part in (one.ids, one.printed, one.assigned, one.lying, one.unused)),
        )
        for one in reservations
    ]
    return Shown({"reservations": document}, table(heads, rows))
