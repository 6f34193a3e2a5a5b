"""A printed paper, shown: where it went, what is provisional on it, and what its entry keeps."""

from typing import TYPE_CHECKING, Any

from pourbook.documents.recorded_shown import recorded_shown
from pourbook.documents.shown import Shown

if TYPE_CHECKING:
    from pourbook.actions.print_paper import Printed
    from pourbook.house_style import HouseStyle

__all__ = ["printed_shown"]


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
