"""How a share comes about, shown: every figure that is needed to work it out again with a calculator."""

from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.documents.shown import Shown, table
from pourbook.times import written
from pourbook.words.figure_words import named, percent

if TYPE_CHECKING:
    from pourbook.house_style import HouseStyle
    from pourbook.queries.traces.why import Reason, ReasonStep, ReasonTerm

__all__ = ["why_shown"]

_UNIT = {"alcohol": "mg of pure ethanol", "mass": "mg", "volume": "ml at 20 °C"}


def why_shown(reason: "Reason", style: "HouseStyle") -> Shown:
    """The steps, the last of which gives the share."""
    whole = f"all ever poured into {hyphened(reason.item)}" if reason.ever else hyphened(reason.item)
    share, weights = percent(reason.share, style.mark), f"by {reason.by}; weights in {_UNIT[reason.by]}"
    said = [f"{share} % of {whole} comes from {named(reason.of)} ({weights})"]
    for number, step in enumerate(reason.steps, start=1):
        is_last = number == len(reason.steps)
        said += ["", f"step {number}: {f'{whole}, as traced' if is_last else hyphened(step.item)}", *_step(step, style)]
    return Shown(_document(reason), tuple(said))


def _step(step: "ReasonStep", style: "HouseStyle") -> list[str]:
    def exact(figure: float) -> str:
        return str(figure).replace(".", style.mark)

    def part(term: "ReasonTerm") -> str:
        return exact(term.part) if term.step else "1"

    rows = [
        (
            str(term.entry),
            style.time_shown(term.happened_us),
            "left in it before" if term.source == step.item else named(term.source),
            exact(term.weight),
            part(term),
            f"by step {term.step}" if term.step else "wholly",
        )
        for term in step.terms
    ]
    sums = " + ".join(f"{exact(term.weight)} × {part(term)}" for term in step.terms)
    return [
        *table((" entry", "when", "from", " weight", " part", "how much of it"), rows),
        f"  everything else poured in: {exact(step.rest)}; total: {exact(step.total)}",
        f"  ({sums}) / {exact(step.total)} = {exact(step.part)}",
    ]


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
