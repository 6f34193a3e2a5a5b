"""Liquid that goes from one site of a house to another: what the line of a pour says of it.

What is sent has the facts `site` and `document`, what is received `from_site` and `document`.

>>> sent, came = {"site": "QUAY", "document": "D 26-1"}, {"from_site": "STILLS", "document": "d 26-1"}
>>> consigned(sent), consigned(came)
('to site QUAY under D 26-1', 'from site STILLS under d 26-1')
>>> consignment(sent, "STILLS") == consignment(came, "QUAY")
True
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

from pourbook.texts import lookup_form

__all__ = ["Consignment", "consigned", "consignment", "recipient", "sender"]


class Consignment(NamedTuple):
    """What both sites know it by: the sites of sender and receiver, and the document, without case and spacing."""

    sender: str
    receiver: str
    document: str


def consignment(facts: Mapping[str, Any], own_site: str) -> Consignment | None:
    """The consignment of a line in the book of a site; None where it is between no sites."""
    document = lookup_form(str(facts.get("document", "")))
    if "site" in facts:
        return Consignment(own_site, str(facts["site"]), document)
    return Consignment(str(facts["from_site"]), own_site, document) if "from_site" in facts else None


def consigned(facts: Mapping[str, Any]) -> str:
    """To which site a line went, or from which it came, and under which document; empty for any other line."""
    for name, word in (("site", "to"), ("from_site", "from")):
        if name in facts:
            return f"{word} site {facts[name]} under {facts.get('document', '')}"
    return ""


def sender(facts: Mapping[str, Any]) -> str:
    """From which site a line came, and who supplied it; empty where neither is said.

    >>> sender({"from_site": "STILLS", "supplier": "Tarn Bulk Spirit"}), sender({"spirit": "malt"})
    ('site STILLS, Tarn Bulk Spirit', '')
    """
    site = f"site {facts['from_site']}" if "from_site" in facts else ""
    return ", ".join(filter(None, (site, str(facts.get("supplier", "")))))


def recipient(facts: Mapping[str, Any]) -> str:
    """To whom a line went: a customer, or the site that stands for one.

    >>> recipient({"customer": "QUAY", "site": "QUAY"}), recipient({"customer": "Harbour Row Wines"})
    ('site QUAY', 'Harbour Row Wines')
    """
    customer = str(facts.get("customer", ""))
    return f"site {customer}" if customer and customer == facts.get("site") else customer
