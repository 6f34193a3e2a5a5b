"""What is due, shown: strengths, checks, labels, missing items, approvals, each with what to do next."""

from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.documents.approvals import approved_document, approved_lines
from pourbook.documents.shown import Shown, fields, listed
from pourbook.numerals import counted
from pourbook.queries.items.called import at_sight
from pourbook.times import written
from pourbook.words.figure_words import strength_shown

if TYPE_CHECKING:
    from pourbook.house_style import HouseStyle
    from pourbook.queries.items.due import Due, DueCheck, DueLabel, DueStrength, Sample
    from pourbook.queries.warehouse.missing import Missing

__all__ = ["due_shown"]

_MOST_NAMED = 8


def due_shown(due: "Due", style: "HouseStyle") -> Shown:
    """All that is due, in lists; those that are empty are left out of the lines."""
    said: list[str] = []
    if due.strengths:
        said += [f"strength pending: {len(due.strengths)}", *_strengths(due, style), *_next_of_strengths(due), ""]
    if due.instruments:
        said += [f"check of an instrument due: {len(due.instruments)}", *_checks(due)]
        said += ["next: pourbook instrument NAME --certificate NUMBER --due DATE", ""]
    if due.labels:
        said += [f"label out of date: {len(due.labels)}", *_labels(due, style)]
        said += [*_next_of_labels(due), ""]
    if due.missing:
        said += [f"missing since a stocktake: {len(due.missing)}", *_missing(due, style)]
        said += ["next: scan it where it is (pourbook stocktake), move it, or write it off: pourbook loss ITEM all", ""]
    if due.approvals:
        said += [f"approval to look at: {len(due.approvals)}", *_approvals(due, style)]
        said += [f"next: pourbook approval {hyphened(due.approvals[0].item)}", ""]
    if due.runs:
        said += [f"bottling run under way: {len(due.runs)}", *_runs(due, style)]
        said += [f"next: pourbook bottling end {hyphened(due.runs[0].item)} --left AMOUNT", ""]
    if due.rests:
        said += [f"rest ended, water due: {len(due.rests)}", *_rests(due, style)]
        said += ["next: pourbook reduce ITEM --water AMOUNT --about WHICH", ""]
    if due.between:
        said += [f"sent and not received: {len(due.between)}", *_between(due, style)]
        said += ["next: ask both sites; it is received there with --from-site, or the despatch is voided", ""]
    document = {
        "strengths": [_strength_document(one, due) for one in due.strengths],
        "instruments": [
            {"id": one.item, "name": one.name, "due": one.due, "days": one.days} for one in due.instruments
        ],
        "labels": [_label_document(one, due) for one in due.labels],
        "missing": [_missing_document(one, due) for one in due.missing],
        "approvals": [
            {"id": one.item, "called": due.called[one.item], "approval": approved_document(one.stands)}
            for one in due.approvals
        ],
        "runs": [
            {"id": one.item, "called": due.called[one.item], **fields(one, "item")} for one in due.runs
        ],
        "rests": [
            {
                "id": one.item, "called": due.called[one.item], "ended": written(one.ended_us),
                "to_percent": one.to_percent, "water_mg": one.water_mg,
            }
            for one in due.rests
        ],
    }  # fmt: skip
    if due.between:
        document["between"] = [fields(one) for one in due.between]
    return Shown(document, tuple(said[:-1]) or ("nothing is due",))


def _item(due: "Due", item: str) -> str:
    return at_sight(item, due.called[item])


def _between(due: "Due", style: "HouseStyle") -> tuple[str, ...]:
    return listed(
        due.between,
        ("document", lambda one: one.document),
        ("item", lambda one: hyphened(one.item)),
        ("from", lambda one: one.site),
        ("to", lambda one: one.to_site),
        ("sent", lambda one: style.time_shown(one.sent_us)),
        (" days", lambda one: one.days),
    )


def _runs(due: "Due", style: "HouseStyle") -> tuple[str, ...]:
    return listed(
        due.runs,
        ("lot", lambda one: _item(due, one.item)),
        ("begun", lambda one: style.time_shown(one.happened_us)),
        (" days", lambda one: one.days),
        (" bottles", lambda one: one.bottles),
    )


def _rests(due: "Due", style: "HouseStyle") -> tuple[str, ...]:
    return listed(
        due.rests,
        ("item", lambda one: _item(due, one.item)),
        ("rested until", lambda one: style.time_shown(one.ended_us)),
        (" kg of water", lambda one: style.shown(one.water_mg / 1e6, 2)),
        (" to % vol", lambda one: strength_shown(one.to_percent, style.mark)),
    )


def _strengths(due: "Due", style: "HouseStyle") -> tuple[str, ...]:
    return listed(
        due.strengths,
        ("item", lambda one: _item(due, one.item)),
        (" entry", lambda one: one.entry),
        ("filled", lambda one: style.time_shown(one.happened_us)),
        ("by", lambda one: one.who),
        (" days", lambda one: one.days),
        ("sample", lambda one: ", ".join(map(_sample, one.samples)) or "none drawn"),
    )


def _sample(vial: "Sample") -> str:
    return f"{hyphened(vial.item)} by {vial.who}"


def _next_of_strengths(due: "Due") -> list[str]:
    """What to type for the first that has a sample, and for the first that has none."""
    sampled = next((one.samples[-1].item for one in due.strengths if one.samples), None)
    bare = next((one.item for one in due.strengths if not one.samples), None)
    said = [f"next: pourbook gauge {hyphened(sampled)} --strength READ --for-source-cask"] if sampled else []
    return said + ([f"next: pourbook draw {hyphened(bare)} VOLUME"] if bare else [])


def _checks(due: "Due") -> tuple[str, ...]:
    return listed(
        due.instruments,
        ("instrument", lambda one: f"{hyphened(one.item)} · {one.name}"),
        ("due", lambda one: one.due),
        ("", _until),
    )


def _until(check: "DueCheck") -> str:
    return f"overdue by {counted(-check.days, 'day')}" if check.days < 0 else f"in {counted(check.days, 'day')}"


def _labels(due: "Due", style: "HouseStyle") -> tuple[str, ...]:
    rows = [(one, change) for one in due.labels for change in one.changed]
    return listed(
        rows,
        ("item", lambda row: _item(due, row[0].item) if row[1] is row[0].changed[0] else ""),
        ("printed", lambda row: style.time_shown(row[0].printed.happened_us) if row[1] is row[0].changed[0] else ""),
        ("changed", lambda row: row[1].name.replace("_", " ")),
        ("on the label", lambda row: row[1].printed or "nothing"),
        ("now", lambda row: row[1].now or "nothing"),
    )


def _next_of_labels(due: "Due") -> list[str]:
    """A run for each template that the labels were printed by."""
    of_template: dict[str, list[str]] = {}
    for one in due.labels:
        of_template.setdefault(one.printed.template or "NAME", []).append(hyphened(one.item))
    return [
        f"next: pourbook label {' '.join(items[:_MOST_NAMED])}{' …' if len(items) > _MOST_NAMED else ''}"
        f" --template {name} --reason 'out of date'"
        for name, items in of_template.items()
    ]


def _approvals(due: "Due", style: "HouseStyle") -> tuple[str, ...]:
    rows = [(one, line) for one in due.approvals for line in approved_lines(one.stands, one.item, style, due.called)]
    return listed(
        rows,
        ("item", lambda row: "" if row[1].startswith(" ") else _item(due, row[0].item)),
        ("approval", lambda row: row[1]),
    )


def _strength_document(one: "DueStrength", due: "Due") -> dict[str, Any]:
    return {
        "id": one.item, "called": due.called[one.item], "entry": one.entry, "filled": written(one.happened_us),
        "who": one.who, "days": one.days,
        "samples": [
            {"id": vial.item, "called": due.called[vial.item], "drawn": written(vial.happened_us), "who": vial.who}
            for vial in one.samples
        ],
    }  # fmt: skip


def _label_document(one: "DueLabel", due: "Due") -> dict[str, Any]:
    return {
        "id": one.item, "called": due.called[one.item], "printed": written(one.printed.happened_us),
        "entry": one.printed.entry, "template": one.printed.template,
        "changed": [{"name": change.name, "printed": change.printed, "now": change.now} for change in one.changed],
    }  # fmt: skip


def _missing(due: "Due", style: "HouseStyle") -> tuple[str, ...]:
    return listed(
        due.missing,
        ("item", lambda one: _item(due, one.view.id)),
        ("place by the book", lambda one: one.view.facts.get("place", "")),
        ("stocktake", lambda one: one.stocktake),
        ("ended", lambda one: style.time_shown(one.ended_us)),
        ("by", lambda one: one.who),
    )


def _missing_document(one: "Missing", due: "Due") -> dict[str, Any]:
    return {
        "id": one.view.id, "called": due.called[one.view.id], "place": one.view.facts.get("place"),
        "stocktake": one.stocktake, "entry": one.entry, "ended": written(one.ended_us), "who": one.who,
    }  # fmt: skip
