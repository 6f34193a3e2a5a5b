"""A label of nothing, to show what a template looks like: texts as long as they usually are, of an invented item.

>>> label = specimen("vial", "Quillmere")
>>> label.id, label.house
('V-000123-7', 'Quillmere')
"""

from pourbook.codes.identifiers import LIQUID_KINDS, hyphened, write
from pourbook.labels.label import CAUTION, Label

__all__ = ["specimen"]

_NUMBER = 123
_TEXTS: dict[str, dict[str, str]] = {
    "cask": {"ref": "Row 3/12", "spirit": "malt spirit", "wood": "fortified-wine hogshead", "strength": "63.5 % vol",
             "volume": "225 L", "date": "2019-06-04", "place": "Warehouse 2, row 3", "previous": "fortified wine"},
    "vial": {"ref": "S 26-01", "wood": "refill oak hogshead", "strength": "61.3 % vol", "volume": "200 mL",
             "date": "2026-06-03", "who": "Isla Farrow", "spirit": "malt spirit"},
    "trial": {"ref": "Trial 26-A", "name": "Ostrewick, richer", "strength": "60.3 % vol", "volume": "100 mL",
              "date": "2026-06-03", "who": "Isla Farrow"},
    "batch": {"ref": "Vatting 3", "name": "Ostrewick 2026", "strength": "58.2 % vol", "volume": "17.4 L",
              "date": "2026-06-20", "place": "Vat 1"},
    "lot": {"ref": "Lot 2026-1", "name": "Ostrewick", "strength": "46 % vol", "volume": "700 mL", "count": "6 × 700 mL",
            "date": "2026-07-01", "lot_mark": "L26-118"},
    "instrument": {"ref": "H-3", "name": "hydrometer", "date": "2027-03-01", "note": "next check"},
    "person": {"name": "Isla Farrow", "note": "blending room"},
    "place": {"ref": "Warehouse 2, row 3", "note": "hogsheads"},
}  # fmt: skip


def specimen(kind: str, house: str) -> Label:
    """A label of a kind of `pourbook.labels.label.KINDS`; a glass of a session shows a code, a pallet a lot."""
    if kind == "glass":
        return Label("glass", "417", "417", caution="")
    code = write("lot" if kind == "pallet" else kind, _NUMBER)
    caution = CAUTION if kind in LIQUID_KINDS else ""
    return Label(
        kind, code, hyphened(code), house=house, caution=caution, **_TEXTS["lot" if kind == "pallet" else kind]
    )
