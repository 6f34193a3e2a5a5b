"""What the house's liquid, papers and partners are called in documents for others: web addresses.

A bottle lot with a GTIN and a lot mark goes by these (GS1 Digital Link), a case by its SSCC. All else has
an address under the house's own (the setting `uri`), with /class/ in its path, since spirit is a quantity of
a class and not a thing with a serial number. Nothing need be found at these addresses: they are names.

>>> from pourbook.exchange.output.fills import Fill
>>> names = Names("https://quillmere.example", {"L000001C": {"gtin": "9521234005674", "lot_mark": "26-118"}})
>>> names.of(Fill("C000001H", 4, 0)), names.of(Fill("L000001C", 9, 0))
('https://quillmere.example/class/C000001H-4', 'https://id.gs1.org/01/09521234005674/10/L26-118')
>>> names.party("Harbour Row Wines"), case_of("095212340000000013")
('https://quillmere.example/party/Harbour%20Row%20Wines', 'https://id.gs1.org/00/095212340000000013')
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from pourbook.codes.digital_link import link_of
from pourbook.codes.gs1 import Element, as_gtin
from pourbook.codes.identifiers import kind_of
from pourbook.codes.lot_marks import lot_number
from pourbook.errors import Malformed, Refused
from pourbook.exchange.output.fills import Fill

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Names", "address_of", "case_of"]

_GS1 = "https://id.gs1.org"


def address_of(book: "BookCore") -> str:
    """The web address of the house; `Refused` without one."""
    address = book.settings["uri"]
    if not address:
        raise Refused(
            "the house has no web address by which to name its casks and batches",
            "set one that the house owns: pourbook settings --set uri=https://HOUSE.example",
        )
    return address


def case_of(sscc: str) -> str:
    """A case or pallet by its serial number."""
    return link_of([Element("00", sscc)], _GS1)


class Names:
    """The house's names at an address; `lots` are the facts of its bottle lots, by identifier."""

    def __init__(self, address: str, lots: Mapping[str, Mapping[str, str]]) -> None:
        self._address = address
        self._lots = {lot: link for lot, facts in lots.items() if (link := _lot(facts))}

    def of(self, fill: Fill) -> str:
        """A fill; a bottle lot is one class from first to last."""
        if fill.inside and kind_of(fill.where) == "lot":
            return self._lots.get(fill.where) or f"{self._address}/class/{fill.where}"
        return f"{self._address}/class/{fill.name}"

    def mixing(self, fill: Fill) -> str:
        """All that was poured together into one fill."""
        return f"{self._address}/mixing/{fill.name}"

    def party(self, name: str) -> str:
        """Someone the house deals with."""
        return f"{self._address}/party/{_escaped(name)}"

    def location(self, name: str) -> str:
        """A place of the house."""
        return f"{self._address}/location/{_escaped(name)}"

    def document(self, name: str) -> str:
        """A delivery note, or another paper."""
        return f"{self._address}/document/{_escaped(name)}"


def _lot(facts: Mapping[str, str]) -> str:
    gtin = as_gtin(facts.get("gtin", ""))
    try:
        return link_of([Element("01", gtin), Element("10", lot_number(facts["lot_mark"]))], _GS1) if gtin else ""
    except (KeyError, Malformed):
        return ""


def _escaped(text: str) -> str:
    from urllib.parse import quote  # only where a name has to be written

    return quote(text, safe="")
