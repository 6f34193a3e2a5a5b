"""What is checked of every request before anybody answers it, and the headers that every answer bears.

Order: host, session, role, origin, size, form, token. So somebody without the role learns nothing of an address or a
form, and a page of another house's cannot make a browser act here.
"""

import hmac
from hashlib import sha256
from typing import TYPE_CHECKING

from starlette.datastructures import Headers, MutableHeaders

if TYPE_CHECKING:
    from collections.abc import Collection

    from starlette.requests import Request
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["HEADERS", "MOST_OF_AN_UPLOAD", "MOST_OF_A_FORM", "Guarded", "TooMuch", "bounded", "csrf_of", "is_foreign"]

MOST_OF_A_FORM = 1_000_000
"""Bytes of a form without a file."""

MOST_OF_AN_UPLOAD = 10_000_000
"""Bytes of a form with one."""

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:;"
        " font-src 'self'; connect-src 'self'; media-src 'self' blob:; manifest-src 'self'; frame-src 'self';"
        " object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'self'"
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "SAMEORIGIN",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
}
"""Of every answer, errors too."""


class TooMuch(Exception):
    """More was sent than is taken."""


class Guarded:
    """The outermost layer: knows the hosts it is called by, and puts the headers on whatever is answered."""

    def __init__(self, app: "ASGIApp", hosts: "Collection[str]", *, is_encrypted: bool) -> None:
        self._app, self._hosts, self._is_encrypted = app, frozenset(hosts), is_encrypted

    async def __call__(self, scope: "Scope", receive: "Receive", send: "Send") -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def with_headers(message: "Message") -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "no-store")
                if self._is_encrypted:
                    headers.setdefault("Strict-Transport-Security", "max-age=31536000")
            await send(message)

        if self._is_known(Headers(scope=scope).getlist("host")):
            await self._app(scope, receive, with_headers)
        else:
            from starlette.responses import PlainTextResponse

            told = "421: this station goes by another name; open it by the address that it printed when it started\n"
            await PlainTextResponse(told, 421)(scope, receive, with_headers)

    def _is_known(self, named: list[str]) -> bool:
        return len(named) == 1 and named[0].lower() in self._hosts


def is_foreign(request: "Request") -> bool:
    """Whether a page of some other place sent it: its Origin, where a browser gives one, is not ours."""
    origin = request.headers.get("origin")
    return origin is not None and origin != f"{request.url.scheme}://{request.headers['host']}"


def csrf_of(secret: bytes, token: str) -> str:
    """What a form must hold to be taken for one that we gave to the browser with that cookie.

    Anybody may send any cookie and reads this, so it must not be what the secret signs elsewhere, as links of seats.
    """
    return hmac.new(secret, f"csrf {token}".encode(), sha256).hexdigest()


def bounded(receive: "Receive", most: int) -> "Receive":
    """A receiver that stops at so many bytes, whatever length was announced, sent in pieces or not."""
    came = 0

    async def receive_some() -> "Message":
        nonlocal came
        message = await receive()
        came += len(message.get("body", b""))
        if came > most:
            raise TooMuch
        return message

    return receive_some
