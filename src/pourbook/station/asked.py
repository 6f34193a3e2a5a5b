"""What a request brings along, as plain values: who asks, what was typed, and which station was asked."""

from collections.abc import Mapping
from typing import NamedTuple

from pourbook.errors import PourbookError

__all__ = ["GUEST", "Asked", "House", "NotFound", "Person", "Upload"]

GUEST = "guest"
"""The role of somebody who was invited to one session and has no account."""


class House(NamedTuple):
    """What a station was started with.

    Attributes:
        who: whoever is at the machine, where the house has no accounts.
        name: of the station, for entries.
        hosts: names and ports that it is known by.
        is_encrypted: it speaks TLS.
        is_lan: others can reach it, so nobody is anybody without signing in.
        address: by which it is reached, for codes on paper and screens; ends in a slash.
        root: path of the root that its certificate hangs on, where the house made that itself.
        fingerprint: of that root.
    """

    who: str
    name: str
    hosts: tuple[str, ...]
    is_encrypted: bool = False
    is_lan: bool = False
    address: str = ""
    root: str = ""
    fingerprint: str = ""


class Person(NamedTuple):
    """Whoever asks.

    Attributes:
        id: of the person in the book; empty where nobody was entered.
        name: as it stands in entries.
        role: one of `ALL_ROLES`, `guest`, or empty for somebody who is not signed in.
        token: of the cookie, which the CSRF token follows from.
        invited: a guest's session and code.
        is_locked: the screen waits for the PIN.
        has_account: signed in by PIN; else the house has no accounts yet.
    """

    id: str = ""
    name: str = ""
    role: str = ""
    token: str = ""
    invited: tuple[str, str] = ("", "")
    is_locked: bool = False
    has_account: bool = False


class Upload(NamedTuple):
    """A file that was sent: its bytes, bounded, and the name somebody gave it, which nothing is read from."""

    content: bytes
    name: str


class Asked(NamedTuple):
    """What came over the wire, read and bounded.

    Attributes:
        method: GET or POST.
        path: parts of the address by name.
        query: what stands behind the question mark.
        forms: all that was typed, by field.
        upload: the file that was sent.
        is_partial: a part of a page is asked for.
        language: of the page.
        said: what the page before had to say, and how it is met.
        address: path and query, as they were asked for.
        origin: scheme, host and port that we were called by.
        client: address of the machine that asks.
        device: what its browser calls itself.
        cookies: that it sent.
        is_scan: the page itself sends on what was scanned in its task.
    """

    method: str
    path: Mapping[str, str]
    query: Mapping[str, str]
    forms: Mapping[str, list[str]]
    upload: Upload | None
    is_partial: bool
    language: str
    said: Mapping[str, str] | None
    address: str
    origin: str
    client: str
    device: str
    cookies: Mapping[str, str]
    is_scan: bool


class NotFound(PourbookError):
    """An address that leads nowhere; `status` is that of HTTP."""

    def __init__(self, message: str, remedy: str = "", *, status: int = 404) -> None:
        super().__init__(message, remedy)
        self.status = status
