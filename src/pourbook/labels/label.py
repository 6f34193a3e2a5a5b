"""What may stand on a label: plain text under fixed names, whatever it sticks to.

A label knows nothing of the book. Its printer fills it in; a template says which fields it shows and where.

>>> vial = Label("vial", "V000123X", "V-000123-X", ref="Q 7/14", strength="61.3 % vol")
>>> vial.wood
''
"""

from dataclasses import dataclass

from pourbook.errors import Malformed

__all__ = ["CAUTION", "KINDS", "OUTSIDE", "Label", "checked"]

KINDS = ("cask", "vial", "trial", "batch", "lot", "pallet", "instrument", "person", "place", "glass")
"""What a label can stick to."""

OUTSIDE = ("gs1_bottle", "gs1_case", "gs1_lot", "gs1_unit", "gs1_content", "link", "case_link")
"""The fields that symbols carry out of the house, instead of our identifier."""

CAUTION = "Strong spirit: vapour ignites"
"""The line that strong spirit carries unless the label says otherwise."""


@dataclass(frozen=True, slots=True)
class Label:
    """The texts of one label, as they will be read; `kind` is one of `KINDS`.

    `code` is scanned (C000123X) and `id` read (C-000123-X); `ref` is what the house calls it. `strength` names its
    reference where that is not 20 °C. `volume` may be a capacity or contents; `date` is filled, drawn, made, bottled or
    due for the next check, and `who` drew or made it; `place` is where it stands; `count` is bottles in a case, cases
    on a pallet, or vial 2 of 3; `number` is which carton, case or pallet of how many. `previous` is what a cask held
    before, the latest first. `lot_mark` is what the law wants on the bottle, not the identifier. Spirit, wood and note
    are short words.

    The fields of `OUTSIDE` hold GS1 texts with their application identifiers in brackets: GTIN and bottling date of
    bottle or case, lot number, SSCC of one unit (case or pallet), its content (GTIN and count); or a GS1 Digital Link.
    `address` is that of the item's page at the house's station: a QR Code of our identifier holds it where it fits.
    `print_mark` says which print it is, from the second on; an empty `caution` prints none.
    """

    kind: str
    code: str
    id: str
    ref: str = ""
    name: str = ""
    house: str = ""
    spirit: str = ""
    wood: str = ""
    previous: str = ""
    strength: str = ""
    volume: str = ""
    date: str = ""
    who: str = ""
    place: str = ""
    note: str = ""
    count: str = ""
    number: str = ""
    lot_mark: str = ""
    gtin: str = ""
    case_gtin: str = ""
    gs1_bottle: str = ""
    gs1_case: str = ""
    gs1_lot: str = ""
    gs1_unit: str = ""
    gs1_content: str = ""
    link: str = ""
    case_link: str = ""
    address: str = ""
    print_mark: str = ""
    caution: str = CAUTION


def checked(label: Label) -> Label:
    """The label, when what a scanner reads is what a person reads.

    >>> checked(Label("cask", "C000124X", "C-000123-X"))
    Traceback (most recent call last):
        ...
    pourbook.errors.Malformed: the label would scan as 'C000124X' but read 'C-000123-X'

    Raises:
        Malformed: the code is empty, or is not the identifier without its hyphens; unknown kind.
    """
    if label.kind not in KINDS:
        raise Malformed(f"'{label.kind}' is not a kind of label", f"use one of: {', '.join(KINDS)}")
    if not label.code or "".join(filter(str.isalnum, label.id)) != label.code:
        raise Malformed(
            f"the label would scan as '{label.code}' but read '{label.id}'",
            "give the same identifier twice: without hyphens to scan, with hyphens to read",
        )
    return label
