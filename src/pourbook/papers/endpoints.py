"""How a paper names what liquid came from or went to: an item, or a word for outside.

>>> named_endpoint("water", {})
Named(id='', name='water')
>>> named_endpoint("C000123Y", {"C000123Y": {"ref": "Row 3/12"}})
Named(id='C-000123-Y', name='Row 3/12')
"""

from collections.abc import Mapping
from typing import NamedTuple

from pourbook.codes.identifiers import hyphened

__all__ = ["Named", "named_endpoint"]


class Named(NamedTuple):
    """Something with a readable identifier, a name, or both; water and losses have no identifier."""

    id: str
    name: str = ""


def named_endpoint(endpoint: str, facts_of: Mapping[str, Mapping[str, str]]) -> Named:
    """An item by its identifier and what the house calls it; a word for outside, such as "water", as it is."""
    if not endpoint[:1].isupper():
        return Named("", endpoint)
    known = facts_of.get(endpoint, {})
    return Named(hyphened(endpoint), known.get("ref") or known.get("name", ""))
