"""What is served as it is: styles, scripts, fonts, pictures; and whether the station answers."""

import mimetypes
from functools import lru_cache

from starlette.responses import PlainTextResponse, Response

from pourbook.station.routing import Routes
from pourbook.station.templating import STATIC
from pourbook.station.visit import NotFound, Visit

__all__ = ["routes"]

routes = Routes()

_TYPES = {".js": "text/javascript", ".mjs": "text/javascript", ".wasm": "application/wasm", ".svg": "image/svg+xml",
          ".ttf": "font/ttf", ".css": "text/css", ".webmanifest": "application/manifest+json"}  # fmt: skip


@lru_cache(maxsize=256)
def _read(name: str) -> tuple[bytes, str]:
    path = STATIC[name]
    media = _TYPES.get(path.suffix) or mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    return path.read_bytes(), media


@routes.page("/static/{name:path}", roles=None)
def static_file(visit: Visit) -> Response:
    """A file that came along; the name is looked up among those there are, and leads nowhere else."""
    name = visit.path["name"]
    if name not in STATIC:
        raise NotFound(visit.gettext("no such file came along"))
    content, media = _read(name)
    kept = "public, max-age=31536000, immutable" if "v" in visit.query else "no-cache"
    return Response(content, media_type=media, headers={"Cache-Control": kept})


@routes.page("/favicon.ico", roles=None)
def icon(visit: Visit) -> Response:  # noqa: ARG001 (the same for everybody)
    """What browsers ask for unbidden."""
    content, media = _read("icon.svg")
    return Response(content, media_type=media, headers={"Cache-Control": "public, max-age=86400"})


@routes.page("/healthz", roles=None)
def healthz(visit: Visit) -> Response:
    """Whether the station and its book answer."""
    return PlainTextResponse(f"ok {visit.book.head_number()}\n")


@routes.page("/trust", roles=None)
def trust(visit: Visit) -> Response:
    """How a tablet learns to trust this station."""
    return visit.page("signing/trust.html")


@routes.page("/trust/root.crt", roles=None)
def root(visit: Visit) -> Response:
    """The root that the station's certificate hangs on; it is no secret."""
    if not visit.house.root:
        raise NotFound(visit.gettext("this station made no certificate of its own"))
    with open(visit.house.root, "rb") as file:
        return visit.file(file.read(), "root.crt", "application/x-x509-ca-cert")
