"""What a lot says outside the house: GTIN, lot number and date as GS1 text, and as a link.

A text that cannot be made stays empty, and `lacking` says what it would need; the label then
carries our own identifier in its place.

>>> known = {"gtin": "9521234005674", "lot_mark": "26-118"}
>>> texts = lot_texts(known, "https://id.gs1.org", "2026-11-05")
>>> texts["gs1_bottle"], texts["gs1_lot"], texts["gs1_case"]
('(01)09521234005674 (11)261105', '(10)L26-118', '')
>>> texts["link"]
'https://id.gs1.org/01/09521234005674/10/L26-118'
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.codes.digital_link import link_of
from pourbook.codes.gs1 import Element, as_gtin, check_partners, interpretation, shown_gtin
from pourbook.codes.lot_marks import lot_number
from pourbook.errors import Malformed
from pourbook.numerals import counted

if TYPE_CHECKING:
    from pourbook.book.trade_numbers import Unit
    from pourbook.labels.label import Label
    from pourbook.labels.label_layout import Template

__all__ = ["Lack", "lacking", "lot_texts", "unit_texts"]

_WHAT = {
    "gs1_bottle": "gtin", "gs1_case": "case_gtin", "gs1_lot": "lot_mark", "gs1_unit": "sscc", "gs1_content": "gtin",
    "link": "gtin", "case_link": "case_gtin",
}  # fmt: skip
"""The fields that symbols carry out of the house, and what each needs."""


def lot_texts(known: Mapping[str, str], resolver: str, bottled: str) -> dict[str, str]:
    """The fields of a label by which a lot is known outside; `bottled` is a day, YYYY-MM-DD, or empty."""
    lot = _lot(known.get("lot_mark", ""))
    said = {"gs1_lot": interpretation(lot)}
    day = [Element("11", bottled.replace("-", "")[2:])] if bottled else []
    for fact, gs1, link in (("gtin", "gs1_bottle", "link"), ("case_gtin", "gs1_case", "case_link")):
        if gtin := as_gtin(known.get(fact, "")):
            item = Element("01", gtin)
            check_partners([item, *day, *lot])
            said |= {fact: shown_gtin(gtin), gs1: interpretation([item, *day]), link: link_of([item, *lot], resolver)}
        else:
            said |= dict.fromkeys((fact, gs1, link), "")
    return said


def _lot(mark: str) -> list[Element]:
    """The lot number of a mark; none where it can be none."""
    try:
        return [Element("10", lot_number(mark))]
    except Malformed:
        return []


def unit_texts(unit: "Unit", label: "Label") -> dict[str, str]:
    """The fields in which the label of a case or pallet differs from that of its lot.

    Its content is stated by the GTIN of its cases if they are counted and have one, else of its bottles.
    """
    cases = unit.cases if label.case_gtin else 0
    gtin = as_gtin(label.case_gtin if cases else label.gtin)
    serial = Element("00", unit.sscc)
    content = [Element("02", gtin), Element("37", str(cases or unit.bottles))] if gtin else []
    check_partners([serial, *content, *(_lot(label.lot_mark) if gtin else ())])
    size = label.count.partition(" × ")[2]
    bottles = f"{unit.bottles} × {size}" if size else counted(unit.bottles, "bottle")
    return {
        "kind": "pallet" if unit.unit == "pallet" else label.kind,
        "count": f"{counted(unit.cases, 'case')}, {bottles}" if unit.cases else bottles,
        "gs1_unit": interpretation([serial]),
        "gs1_content": interpretation(content),
    }


class Lack(NamedTuple):
    """What an outside symbol lacks: sscc, gtin, case_gtin, lot_mark; or `mark`, a lot mark not of GS1's form."""

    id: str
    what: str
    mark: str = ""


def lacking(label: "Label", template: "Template") -> list[Lack]:
    """What the symbols of a label that go outside would need, each once."""
    wanted = [name for field in template.symbols_on(label) for name in field.says if not getattr(label, name)]
    lacks = (Lack(label.id, _WHAT[name], label.lot_mark if name == "gs1_lot" else "") for name in wanted)
    return list(dict.fromkeys(lacks))
