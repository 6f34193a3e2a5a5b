"""How a share comes about, as the command shows it: every figure that is needed to work it out again."""

from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.output import show_json, show_table
from pourbook.codes.identifiers import hyphened
from pourbook.times import written
from pourbook.words.figure_words import percent

if TYPE_CHECKING:
    from pourbook.cli.door import Door
    from pourbook.queries.traces.why import Reason, ReasonStep

__all__ = ["asked_about", "show_reason"]

_UNIT = {"alcohol": "mg of pure ethanol", "mass": "mg", "volume": "ml at 20 °C"}


def asked_about(text: str) -> str | int:
    """What `--why` names: an item, or an entry as a trace lists it, `entry 12` or `12`.

    >>> asked_about("entry 12"), asked_about("12"), asked_about("C-000001-H")
    (12, 12, 'C-000001-H')
    """
    number = text.strip().lower().removeprefix("entry ").strip()
    return int(number) if number.isdecimal() else text


def show_reason(door: "Door", reason: "Reason") -> None:
    """Show the steps, as a document or for people."""
    if door.json:
        show_json(_document(reason))
        return
    click.echo(
        f"{percent(reason.share, door.decimal_mark)} % of {_whole(reason)} is of {_named(reason.of)}"
        f" (by {reason.by}; weights in {_UNIT[reason.by]})"
    )
    for number, step in enumerate(reason.steps, start=1):
        click.echo()
        last = number == len(reason.steps)
        click.echo(f"step {number}: {_whole(reason) if last else hyphened(step.item)}{', as traced' if last else ''}")
        _show_step(door, step)


def _whole(reason: "Reason") -> str:
    return f"all ever poured into {hyphened(reason.item)}" if reason.ever else hyphened(reason.item)


def _show_step(door: "Door", step: "ReasonStep") -> None:
    mark = door.decimal_mark
    rows = [
        (
            str(term.entry),
            door.time_shown(term.happened_us),
            "what had remained in it" if term.source == step.item else _named(term.source),
            _exact(term.weight, mark),
            _exact(term.part, mark) if term.step else "1",
            f"step {term.step}" if term.step else "all of it",
        )
        for term in step.terms
    ]
    show_table((" entry", "when", "from", " weight", " part", "part known from"), rows)
    sums = " + ".join(
        f"{_exact(term.weight, mark)} × {_exact(term.part, mark) if term.step else '1'}" for term in step.terms
    )
    click.echo(f"  all else that was poured in: {_exact(step.rest, mark)}; together {_exact(step.total, mark)}")
    click.echo(f"  ({sums}) / {_exact(step.total, mark)} = {_exact(step.part, mark)}")


def _exact(figure: float, mark: str) -> str:
    return str(figure).replace(".", mark)


def _named(text: str) -> str:
    return hyphened(text) if text[0].isupper() else text


def _document(reason: "Reason") -> dict[str, Any]:
    return {
        "item": reason.item,
        "of": reason.of,
        "by": reason.by,
        "share": reason.share,
        "of_all_ever_poured": reason.ever,
        "unit": _UNIT[reason.by],
        "steps": [
            {
                "item": step.item,
                "terms": [
                    {
                        "entry": term.entry,
                        "happened": written(term.happened_us),
                        "from": term.source,
                        "step": term.step or None,
                        "weight": term.weight,
                        "part": term.part,
                    }
                    for term in step.terms
                ],
                "rest": step.rest,
                "total": step.total,
                "part": step.part,
            }
            for step in reason.steps
        ],
    }
