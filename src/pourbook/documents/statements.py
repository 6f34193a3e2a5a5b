"""What may stand on a label, shown: each statement with what it rests on, what is against it, and its rule."""

from typing import TYPE_CHECKING, Any

from pourbook.documents.shown import Shown
from pourbook.queries.items.called import at_sight
from pourbook.times import written
from pourbook.words.statement_words import CHECK, points_words, rule_words, statement_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pourbook.house_style import HouseStyle
    from pourbook.labels.statements import Point, Statement
    from pourbook.queries.labels.statements_of import Statements

__all__ = ["statement_document", "statements_shown"]


def statements_shown(found: "Statements", style: "HouseStyle") -> Shown:
    """Every statement of a batch or a lot, those first that its label is to say."""
    document = {
        "id": found.id,
        "called": found.called[found.id],
        "rules": found.rules,
        "at": None if found.at_us is None else written(found.at_us),
        "statements": [statement_document(one) for one in found.statements],
        "caution": CHECK,
    }
    said = [f"{at_sight(found.id, found.called[found.id])}: what may stand on its label, by the rules '{found.rules}'"]
    for one in sorted(found.statements, key=lambda one: one.claim is None):
        said += ["", *_lines(one, found.called, style.mark)]
    return Shown(document, (*said, "", CHECK))


def _lines(one: "Statement", called: "Mapping[str, str]", mark: str) -> list[str]:
    lines = [f"{statement_words(one, mark)}: {one.stands}{'' if one.claim is None else ' · on the label'}"]
    against = "missing" if one.stands == "cannot be said" else "against it"
    lines += [f"  {against}: {said}" for said in points_words(one.against, called, mark)]
    lines += [f"  rests on: {said}" for said in points_words(one.rests_on, called, mark)]
    return [*lines, f"  rule: {rule_words(one.rule)}"]


def statement_document(one: "Statement") -> dict[str, Any]:
    """A statement for programs."""
    rule = one.rule
    return {
        "name": one.name,
        "stands": one.stands,
        "value": None if one.value == "" else one.value,
        "claim": one.claim,
        "rests_on": [_point(point) for point in one.rests_on],
        "against": [_point(point) for point in one.against],
        "rule": {
            "rules": rule.rules, "text": rule.text, "source": rule.source, "checked": rule.checked, "read": rule.read,
        },
    }  # fmt: skip


def _point(point: "Point") -> dict[str, Any]:
    return {"name": point.name, "value": point.value, "id": point.item or None, "entry": point.entry or None}
