"""What may stand on a label: plain text under fixed names, whatever it sticks to.

A label knows nothing of the book. Whoever prints it fills in what the item has; a template
says which of the fields it shows and where. A field left empty leaves its place blank.

>>> vial = Label("vial", "V000123X", "V-000123-X", ref="Q 7/14", strength="61.3 % vol")
>>> vial.wood
''
"""

from dataclasses import dataclass

from pourbook.errors import Malformed

__all__ = ["CAUTION", "KINDS", "OUTSIDE", "Label", "checked"]

KINDS = ("cask", "vial", "trial", "batch", "lot", "pallet", "instrument", "person", "place")
"""What a label can stick to."""

OUTSIDE = ("gs1_bottle", "gs1_case", "gs1_lot", "gs1_unit", "gs1_content", "link", "case_link")
"""The fields that symbols carry out of the house, instead of our identifier."""

CAUTION = "Strong spirit: vapour ignites"
"""The line that strong spirit carries unless the label says otherwise."""


@dataclass(frozen=True, slots=True)
class Label:
    """The texts of one label, as they will be read.

    Attributes:
        kind: one of `KINDS`.
        code: the identifier as it is scanned, without hyphens: C000123X.
        id: the same as it is read, with hyphens: C-000123-X.
        ref: what the house calls it: a cask number, a lab number.
        name: the name of a component, a trial, a product, a person, a place, an instrument.
        house: whose it is.
        spirit: what kind of spirit.
        wood: kind and history of the wood.
        strength: with its unit, and its reference where that is not 20 °C.
        volume: or capacity, or contents, with its unit.
        date: filled, drawn, made, bottled, or due for its next check, by kind.
        who: drew it, made it.
        place: where it stands.
        note: anything short.
        count: bottles in a carton, cartons on a pallet, vial 2 of 3.
        lot_mark: the mark that the law wants on the bottle; not the identifier.
        gtin: the trade item number of the bottle, as it is read.
        case_gtin: that of a case of them.
        gs1_bottle: GTIN of the bottle and bottling date, with their application identifiers in brackets.
        gs1_case: the same of a case.
        gs1_lot: lot number, in the same way.
        gs1_unit: serial number (SSCC) of this one case or pallet, in the same way.
        gs1_content: what is in it: GTIN, and how many, in the same way.
        link: GS1 Digital Link of the bottle and its lot.
        case_link: that of a case.
        print_mark: which print of the label it is, from the second on.
        caution: the line of caution; the usual one unless given, none when empty.
    """

    kind: str
    code: str
    id: str
    ref: str = ""
    name: str = ""
    house: str = ""
    spirit: str = ""
    wood: str = ""
    strength: str = ""
    volume: str = ""
    date: str = ""
    who: str = ""
    place: str = ""
    note: str = ""
    count: str = ""
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
