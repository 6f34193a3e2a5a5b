"""The program that answers: from the routing table to Starlette's routes, and from what rises to what is shown."""

import json
import logging
import re
import secrets
from itertools import chain
from typing import TYPE_CHECKING
from urllib.parse import quote, unquote

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from pourbook.errors import (
    FaultsFound,
    Malformed,
    OutOfRange,
    PourbookError,
    StoreError,
    ToConfirm,
    Unknown,
)  # fmt: skip
from pourbook.station import pages
from pourbook.station.asked import Asked, House, NotFound, Person, Upload
from pourbook.station.guard import MOST_OF_A_FORM, MOST_OF_AN_UPLOAD, Guarded, TooMuch, bounded, csrf_of, is_foreign
from pourbook.station.people import cookie_name, guest_cookie, recognised
from pourbook.station.routing import Way
from pourbook.station.templating import LANGUAGES, Templates
from pourbook.station.visit import SAID, Visit

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Mapping

    from starlette.types import ASGIApp

    from pourbook.station.workers import Workers
    from pourbook.whole_book import Book

__all__ = ["application"]

_LOG = logging.getLogger("pourbook.station")

_STATUS: tuple[tuple[type[PourbookError], int], ...] = (
    (ToConfirm, 409), (FaultsFound, 422), (Malformed, 422), (OutOfRange, 422), (Unknown, 422), (StoreError, 409),
    (PourbookError, 409),
)  # fmt: skip
"""Of an answer that shows a refusal."""


def application(workers: "Workers", house: House) -> "ASGIApp":
    """The station of one book as an ASGI application."""
    answering = _Answering(workers, house)
    routes = [Route(way.path, answering.of(way), methods=[way.method]) for way in pages.ways()]
    app = Starlette(
        routes=routes,
        exception_handlers={
            HTTPException: answering.told_by_starlette,
            StoreError: answering.without_book,
            Exception: answering.stumbled,
        },
    )
    app.router.redirect_slashes = False  # an address with a slash too many is in no list of ours
    return Guarded(app, house.hosts, is_encrypted=house.is_encrypted)


class _Answering:
    """Makes the endpoint of each route."""

    def __init__(self, workers: "Workers", house: House) -> None:
        self._workers, self._house = workers, house
        self._templates = Templates(way.path for way in pages.ways() if way.method == "GET")

    def of(self, way: Way) -> "Callable[[Request], Awaitable[Response]]":
        """The endpoint of one route."""

        async def answer(request: Request) -> Response:
            cookies = dict(request.cookies)
            if way.roles is not None:
                person = await self._workers.run(
                    lambda book: recognised(book, self._house, cookies, way.roles, is_used=not way.polls)
                )
                if refused := self._kept_out(request, way, person):
                    return refused
            if way.method == "GET":
                return await self._answered(request, way, {}, None)
            if is_foreign(request):
                return self._plain(403, "this form was sent by a page of another place, and is not taken")
            return await self._with_form(request, way)

        return answer

    # -- before it is answered -------------------------------------------------------------

    def _kept_out(self, request: Request, way: Way, person: Person) -> Response | None:
        assert way.roles is not None
        back = quote(_path_and_query(request) if way.method == "GET" else "/", safe="")
        if not person.role:
            return self._sent(request, way, f"/sign-in?next={back}", 401)
        if person.is_locked:
            return self._sent(request, way, f"/locked?next={back}", 401)
        if person.role not in way.roles:
            return self._plain(403, f"this is not for the role {person.role}; ask a manager")
        return None

    @staticmethod
    def _sent(request: Request, way: Way, to: str, status: int) -> Response:
        if "hx-request" in request.headers:
            return Response(status_code=status, headers={"HX-Redirect": to})
        if way.method == "GET":
            return RedirectResponse(to, 303)
        return PlainTextResponse("sign in first\n", status, headers={"WWW-Authenticate": 'Form realm="pourbook"'})

    async def _with_form(self, request: Request, way: Way) -> Response:
        most = MOST_OF_AN_UPLOAD if way.file else MOST_OF_A_FORM
        if not (request.headers.get("content-length") or "0").isdecimal():
            return self._plain(400, "the length of the form is no number")
        if int(request.headers.get("content-length") or 0) > most:
            return self._plain(413, f"more than {most // 1_000_000} MB are not taken")
        upload = None
        bounded_request = Request(request.scope, bounded(request.receive, most))
        try:
            async with bounded_request.form(max_files=1, max_fields=500, max_part_size=most) as form:
                typed: dict[str, list[str]] = {}
                for name, value in form.multi_items():
                    if isinstance(value, str):
                        typed.setdefault(name, []).append(value)
                    elif name == way.file:
                        upload = Upload(await value.read(), value.filename or "")
        except TooMuch:
            return self._plain(413, f"more than {most // 1_000_000} MB are not taken")
        except (HTTPException, ValueError, KeyError):
            return self._plain(400, "the form cannot be read")
        except ClientDisconnect:
            return Response(status_code=400)
        given = request.headers.get("x-csrf-token") or (typed.get("csrf_token") or [""])[-1]
        if not all(map(_can_be_typed, chain(typed, *typed.values()))):
            return self._plain(400, "the form holds characters that nobody types")
        return await self._answered(request, way, typed, upload, given)

    # -- answering -------------------------------------------------------------------------

    async def _answered(
        self, request: Request, way: Way, typed: "Mapping[str, list[str]]", upload: Upload | None,
        token: str | None = None,
    ) -> Response:  # fmt: skip
        if not all(_can_be_typed(str(one)) for one in (*request.path_params.values(), *request.query_params.values())):
            return self._plain(400, "this address holds characters that nobody types")
        asked = self._asked(request, typed, upload)
        cookies = dict(request.cookies)

        def work(book: "Book") -> Response:
            person = recognised(book, self._house, cookies, way.roles, is_used=not way.polls)
            if way.roles is not None and person.role not in way.roles:  # signed out a moment ago
                return self._plain(403, "sign in first")
            if token is not None:
                seat = cookies.get(guest_cookie(self._house), "")
                guest = seat if way.roles is None else ""  # their pages have such forms, too
                wanted = (csrf_of(book.beside.secret, one) for one in (person.token, guest) if one)
                if not any(secrets.compare_digest(one.encode(), token.encode()) for one in wanted):
                    return self._plain(403, "this page is too old; open it again, and send the form once more")
            visit = Visit(book, person, self._house, asked, self._templates)
            try:
                response = way.answer(visit)
            except NotFound as error:
                response = visit.page("error.html", error.status, refusal=error, status_code=error.status)
            except PourbookError as error:
                response = self._refused(visit, error)
            if person.role != "guest" and cookies.get(cookie_name(self._house)) != person.token and _is_page(response):
                self._keep_token(response, person.token)
            return response

        return await self._workers.run(work)

    def _keep_token(self, response: Response, token: str) -> None:
        if any(key == b"set-cookie" and value.startswith(f"{cookie_name(self._house)}=".encode())
               for key, value in response.raw_headers):  # fmt: skip
            return
        response.set_cookie(
            cookie_name(self._house), token, path="/", httponly=True, samesite="lax", secure=self._house.is_encrypted
        )

    def _asked(self, request: Request, typed: "Mapping[str, list[str]]", upload: Upload | None) -> Asked:
        path = {name: str(value) for name, value in request.path_params.items()}
        said = _said(request.cookies.get(SAID, ""))
        is_partial = "hx-request" in request.headers
        client = request.client.host if request.client else ""
        return Asked(
            request.method, path, dict(request.query_params), typed, upload, is_partial, _language(request), said,
            _path_and_query(request), f"{request.url.scheme}://{request.headers['host']}", client,
            request.headers.get("user-agent", "")[:200], dict(request.cookies), "x-scan" in request.headers,
        )  # fmt: skip

    @staticmethod
    def _refused(visit: Visit, refusal: PourbookError) -> Response:
        if visit.is_scan:  # a scan that comes to nothing is an answer, not a fault that a browser logs
            response = visit.fragment("scanning/refused.html", refusal=refusal)
            response.headers["HX-Reswap"] = "none"
            return response
        status = next(status for kind, status in _STATUS if isinstance(refusal, kind))
        template = "refusal.html" if visit.is_partial else "error.html"
        return visit.page(template, status, refusal=refusal, status_code=status)

    # -- what went wrong -------------------------------------------------------------------

    async def told_by_starlette(self, request: Request, error: Exception) -> Response:
        """An unknown address, or a method that it does not take."""
        assert isinstance(error, HTTPException)
        words = {404: "nothing is to be found at this address", 405: "this address is not asked in that way"}
        told = words.get(error.status_code, error.detail)
        if error.status_code == 404 and "text/html" in request.headers.get("accept", ""):
            asked = self._asked(request, {}, None)

            def work(book: "Book") -> Response:
                person = recognised(book, self._house, dict(request.cookies), None)
                visit = Visit(book, person, self._house, asked, self._templates)
                refusal = NotFound(told, "search for it, or scan its label")
                return visit.page("error.html", 404, refusal=refusal, status_code=404)

            return await self._workers.run(work)
        return self._plain(error.status_code, told)

    async def without_book(self, request: Request, error: Exception) -> Response:
        """The book cannot be reached, so that no page of the house can be made; the log says why, and where it is."""
        _LOG.error("%s %s: %s", request.method, request.url.path, error)
        return self._plain(503, "the station cannot reach its book; try again when its disk or its server is back")

    async def stumbled(self, request: Request, error: Exception) -> Response:
        """The station itself failed: the log says where, the page only that."""
        _LOG.error("%s %s failed", request.method, request.url.path, exc_info=error)
        return self._plain(500, "the station stumbled over this; nothing was recorded; its log says where")

    @staticmethod
    def _plain(status: int, told: str) -> Response:
        return PlainTextResponse(f"{status}: {told}\n", status)


def _said(kept: str) -> dict[str, str] | None:
    """What the page before had to say, out of its cookie; None where that is not as we write it."""
    try:
        told = json.loads(unquote(kept))
        said, outcome = str(told["said"]), str(told["outcome"])
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
    return {"said": said, "outcome": outcome} if _can_be_typed(said + outcome) else None


def _can_be_typed(text: str) -> bool:
    """Neither NUL nor half a character, which some declared character sets and escapes bring about.

    Nor a number without end: Python reads none of more than 4300 digits, and says so by falling over.
    """
    return not _UNTYPED.search(text)


_UNTYPED = re.compile("[\0\ud800-\udfff]|\\d{1000}")


def _path_and_query(request: Request) -> str:
    query = f"?{request.url.query}" if request.url.query else ""
    return f"{quote(request.url.path)}{query}"


def _is_page(response: Response) -> bool:
    return response.media_type == "text/html"


def _language(request: Request) -> str:
    """The language chosen, else the first that the browser asks for and we have."""
    chosen = request.cookies.get("pourbook-language", "")
    wished = (part.split(";")[0].strip()[:2].lower() for part in request.headers.get("accept-language", "").split(","))
    return next((language for language in (chosen, *wished) if language in LANGUAGES), "en")
