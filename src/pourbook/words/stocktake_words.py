"""What a stocktake found, in words, for a screen and a paper."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pourbook.queries.warehouse.stocktake import State

__all__ = ["NOT_AS_IN_THE_BOOK"]

NOT_AS_IN_THE_BOOK: "Mapping[State, str]" = {
    "missing": "missing: in the book there, and not scanned",
    "elsewhere": "elsewhere by the book",
    "emptied": "there, and empty by the book",
    "illegible": "labels that cannot be read, of what nobody knows",
    "unknown code": "codes that mean nothing to the book",
}
"""What each state of a line is called, but for what was found; what is to be looked into first stands first."""
