"""The house's rules of accounts: what a PIN must be, and how many attempts somebody has.

>>> weak_pin("123456", "Isla Farrow").message
'this PIN is the first that anybody would try'
>>> weak_pin("482913", "Isla Farrow") is None
True
>>> minute = 60_000_000
>>> closed_until([0, 3 * minute, 4 * minute, 5 * minute, 14 * minute], 5) // minute
29
>>> closed_until([0, 3 * minute, 4 * minute, 5 * minute, 16 * minute], 5)
0
"""

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from pourbook.errors import Malformed, Refused
from pourbook.texts import first_unprintable, lookup_form

if TYPE_CHECKING:
    from pourbook.book.beside_book import AccountRow

__all__ = [
    "CLOSED_US", "LONGEST_PIN", "LONGEST_SIGN_IN_US", "MOST_FAILURES", "closed_until", "is_first_tried", "last_manager",
    "may_try", "weak_pin",
]  # fmt: skip

MOST_FAILURES = {"name": 5, "address": 20}
"""Attempts that may fail within `CLOSED_US`, for a name and from an address, before further ones are refused."""

CLOSED_US = 15 * 60_000_000
"""How long no further attempt is taken."""

LONGEST_SIGN_IN_US = 12 * 3_600_000_000
"""A working day: whoever is signed in for longer signs in again."""

LONGEST_PIN = 128
"""Characters of a PIN or passphrase."""

_SHORTEST_PHRASE = 8


def weak_pin(pin: str, name: str, *, takes_easy: bool = False) -> Malformed | None:
    """Why a PIN of a person of that name may not be: 4 to 12 digits, or any passphrase of 8 characters or more.

    With `takes_easy`, one that anybody would try first may be.
    """
    if first_unprintable(pin) or len(pin) > LONGEST_PIN:
        return Malformed(f"a PIN has up to {LONGEST_PIN} characters that can be shown", "choose another")
    if not re.fullmatch(r"[0-9]{4,}", pin) and len(pin.strip()) < _SHORTEST_PHRASE:
        return Malformed(
            "the PIN is too short", f"choose 4 to 12 digits, or a passphrase of {_SHORTEST_PHRASE} characters or more"
        )
    if not takes_easy and is_first_tried(pin):
        return Malformed("this PIN is the first that anybody would try", "choose digits in no order")
    if lookup_form(pin) == lookup_form(name):
        return Malformed("the passphrase is the name itself", "choose another")
    return None


def is_first_tried(pin: str) -> bool:
    """One character again and again, digits that count up or down, or two that alternate."""
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(pin)} if pin.isdecimal() else set()
    return len(set(pin)) == 1 or steps in ({1}, {9}) or (len(set(pin)) == 2 and pin[2:] == pin[:-2])


def closed_until(failures: Sequence[int], most: int) -> int:
    """Until when nobody may try again, from the moments of the failures, the first first; 0 where anybody may.

    `most` failures within `CLOSED_US` close it for as long, from the last of them on.
    """
    lasts = [last for first, last in zip(failures, failures[most - 1 :], strict=False) if last - first < CLOSED_US]
    return lasts[-1] + CLOSED_US if lasts else 0


def may_try(now_us: int, *closed_us: int) -> Refused | None:
    """Whether an attempt is taken, from until when name and address are closed.

    It says the same of a name that has an account and of one that has none.
    """
    left_us = max(closed_us) - now_us
    if left_us <= 0:
        return None
    minutes = -(-left_us // 60_000_000)
    return Refused(
        f"too many attempts failed: nobody can sign in under this name, or from here, for {minutes} min",
        "wait, then try again; if it was not you who tried, tell the manager",
    )


def last_manager(accounts: Sequence["AccountRow"], person: str) -> Refused | None:
    """That a person must stay manager, where nobody else is one."""
    managers = {one.person for one in accounts if one.role == "manager" and one.ended_us is None}
    if managers != {person}:
        return None
    return Refused("this is the last manager of the house", "make another person manager first")
