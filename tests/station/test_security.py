"""What somebody tries who means harm: at the door, through every field, address and upload.

Numbers in brackets are requirements of OWASP ASVS 4.0.3; the table in DEVELOPERS.md names these tests. What is asked of
every address (hosts, roles, tokens, origins, headers) stands in `test_core.py`.
"""

import gzip
import re
import shutil
import socket
import ssl
import struct
import warnings
import zlib
from base64 import urlsafe_b64encode
from contextlib import suppress
from pathlib import Path
from urllib.parse import quote, urlsplit

import pytest
from command import here
from crawled import crawl, route_of
from stations import IS_COMPLETE, PINS, Caller, make_accounts, pairs, running

import pourbook
from pourbook import Book
from pourbook.codes.identifiers import of_key
from pourbook.queries.tastings.own_ballot import gathering_named
from pourbook.station.invitations import seats

ROUTES = here("station", "--routes", "--json").done().json["routes"]
IMAGE = "\"'><img src=x onerror=alert(1)>{{7*191}}${7*191}</script>"
LEAVES = ("/sign-out", "/lock", "/sign-in", "/unlock", "/pin", "/people/{item}/change", "/people/{item}/end",
          "/people/{item}/revoke")  # fmt: skip
"""Forms that end one's own sign-in, or close a name: tried by tests of their own."""

NAMES = (
    "name",
    "item",
    "amount",
    "strength",
    "temperature",
    "text",
    "note",
    "reason",
    "when",
    "count",
    "place",
    "code",
)
ODD = ("", "-1", "9" * 400, "1e999", "NaN", "\u202e", "\ud7ff\ue000", "0x10", "%00", "' OR 1=1 --", "../../etc/passwd",
       "9" * 5000, "0" * 5000)  # fmt: skip
ELSEWHERE = (
    "../../../../etc/passwd", "..%2f..%2f..%2fetc%2fpasswd", "%2e%2e/%2e%2e/etc/passwd", "/etc/passwd",
    "....//etc/passwd", "..\\..\\etc\\passwd", "%00", "C000001H%00.pdf", "file:///etc/passwd", "quillmere.pourbook",
    "a%0d%0aSet-Cookie:%20x=1", quote(IMAGE, safe=""), "%ff%fe", "~root", "con", "-1",
)  # fmt: skip
"""What a part of an address might be to reach a file, another place, or a header."""


ONE, TWO, VIAL, PERSON, RECIPE, TRIAL, BATCH, LOT, OTHER, KIND = (f"{number} {IMAGE}" for number in range(10))
MARKED = (
    ("cask", ONE, "--fill", "200 l", "--strength", "60", "--wood", IMAGE, "--spirit", IMAGE, "--place", IMAGE),
    ("cask", "2", "--fill", "200 l", "--strength", "58"),
    ("set", "2", f"name={IMAGE}", f"ref={TWO}", f"cooper={IMAGE}", f"owner={IMAGE}", "--confirm"),
    ("note", TWO, IMAGE), ("note", TWO, IMAGE, "--subject", "repair"), ("hold", TWO, "--reason", IMAGE),
    ("draw", ONE, "500 ml", "--ref", VIAL), ("person", PERSON, "--note", IMAGE), ("location", OTHER, "--note", IMAGE),
    ("instrument", OTHER, "--kind", "hydrometer", "--unit", "% vol", "--certificate", IMAGE),
    ("word", "pear", "--group", IMAGE, "--definition", IMAGE), ("component", KIND, "--wood", IMAGE),
    ("recipe", RECIPE, "--part", "Q 106=1", "--part", "Q 105=2"),
    ("trial", "--recipe", RECIPE, "--total", "20 ml", "--ref", TRIAL),
    ("pour", TRIAL, VIAL, "40 ml", "--confirm"), ("taste", TRIAL, IMAGE, "--score", "80"),
    ("batch", BATCH, "--place", IMAGE), ("dump", BATCH, ONE),
    ("bottle", BATCH, "--count", "9", "--size", "700 ml", "--ref", LOT, "--confirm"),
    ("despatch", LOT, "3", "--customer", IMAGE), ("stocktake", "open", OTHER),
    ("session", "open", OTHER, "--glass", TRIAL, "--glass", VIAL, "--assessor", PERSON, "--confirm"),
    ("settings", "--set", f"house={IMAGE}", "--set", f"contact={IMAGE}"),
)  # fmt: skip
"""What a house might have in its book that looks like a page: wherever a text may stand."""


@pytest.fixture(scope="module")
def house(demo, tmp_path_factory):
    """A station of its own, whose book is full of marks; what is tried here stays in its book."""
    book = tmp_path_factory.mktemp("security") / "quillmere.pourbook"
    shutil.copy(demo, book)
    make_accounts(book)
    before = items_of(book)
    for words in MARKED:
        here(*words, book=book).done()
    with running(book) as station:
        station.marked = {one[0]: one for one in items_of(book) - before}.values()  # one of each kind
        yield station


def items_of(path):
    """Every item of a book."""
    with Book.open(path) as book:
        return {of_key(key) for (key,) in book.store.query("SELECT key FROM item")}


@pytest.fixture
def manager(house):
    """Whoever may do everything."""
    return Caller(house.url).sign_in("manager")


@pytest.fixture(scope="module")
def found(house):
    """Every page as the manager finds it by links, before anything is tried."""
    return crawl(Caller(house.url).sign_in("manager"), ROUTES, each=1)


# -- pages -------------------------------------------------------------------------------


def test_every_link_form_and_source_is_a_listed_address_of_our_own(found):
    """Nothing is fetched from elsewhere (10.3.2, 14.2.3), and nothing answers that is not listed."""
    for address, (page, answer) in found.items():
        assert answer.status_code == 200, address
        for source in page.sources:
            assert not urlsplit(source).netloc, (address, source)
        for link in page.links:
            if not urlsplit(link).scheme and not urlsplit(link).netloc:
                assert route_of(ROUTES, "GET", link), (address, link)
        for form in page.forms:
            assert route_of(ROUTES, form.method, form.action), (address, form.action)


def test_no_page_is_kept_and_none_says_what_serves_it(found):
    """A browser's store, a Server line, a token in an address (3.1.1, 8.2.1, 14.3.3, 14.4.1, 14.4.4, 14.4.7)."""
    for address, (page, answer) in found.items():
        assert answer.headers["cache-control"] == "no-store", address
        assert answer.headers["content-type"] == "text/html; charset=utf-8"
        assert "server" not in answer.headers
        assert "x-powered-by" not in answer.headers
        assert answer.headers["x-frame-options"] == "SAMEORIGIN"
        assert not re.search(r"[?&](token|pin|csrf)", " ".join(page.links)), address
        assert not re.search(r"(Starlette|uvicorn|Python)/?\s?\d", answer.text), address


def test_no_script_stands_in_a_page(found):
    """The policy forbids it; no page tries (14.4.3)."""
    for address, (page, answer) in found.items():
        for script in re.findall(r"<script\b[^>]*>", answer.text):
            assert re.search(r'src="/static/|type="(application/json|importmap)"', script), (address, script)
        assert page.inline == [], address
        assert not re.search(r'(href|src|action)="\s*javascript:', answer.text, re.IGNORECASE), address


def test_no_text_is_run():
    """Neither ours nor what came along makes a program out of text: no page could let it (5.2.4, 5.3.6, 5.5.4)."""
    folder = Path(pourbook.__file__).parent / "station"
    for script in (folder / "static").glob("*.js"):
        assert not re.search(r"\beval\(|\bFunction\(|set(Timeout|Interval)\(\s*[\"'`]", script.read_text("utf-8")), (
            script
        )
    for template in (folder / "templates").rglob("*.html"):
        text = template.read_text("utf-8")
        assert not re.search(r"\bhx-on|\bhx-vals=.js:|autoescape false", text), template
    assert '"allowEval":false' in (folder / "templates" / "base.html").read_text("utf-8")


def test_answers_for_scripts_are_no_pages(manager):
    """They have a name to be kept under, and are not shown (14.4.2, 12.3.4)."""
    answer = manager.get("/scan", params={"code": IMAGE})
    assert answer.headers["content-type"] == "application/json"
    assert answer.headers["content-disposition"] == 'attachment; filename="answer.json"'


def test_no_browser_is_let_in_from_elsewhere(manager):
    """No answer allows another origin (14.5.3)."""
    for path in ("/", "/healthz", "/static/station.css"):
        for origin in ("https://elsewhere.example", "null"):
            answer = manager.get(path, headers={"Origin": origin})
            assert not [name for name in answer.headers if name.startswith("access-control-")]


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "POSTER"])
def test_no_other_method_answers(manager, method):
    """Neither a method of WebDAV nor a pre-flight (13.2.1, 14.5.1)."""
    for path in ("/", "/sign-in", "/house", "/static/station.css"):
        status = manager.client.request(method, path).status_code
        assert status in (400, 405), (method, path)


@pytest.mark.parametrize("path", ["/casks/", "/journal/1/", "/sign-in/", "/healthz/", "//casks", "/item/C000016/note/"])
def test_an_address_with_a_slash_too_many_is_none_of_ours(manager, path):
    """It is not in the list of routes, so that it does not lead to one either."""
    assert manager.client.get(f"{str(manager.client.base_url).rstrip('/')}{path}").status_code == 404


# -- through every field -------------------------------------------------------------------


def test_whatever_is_typed_is_shown_as_text(manager, found):
    """Every field of every form that a manager finds, all at once and each alone (5.2.5, 5.3.1, 5.3.3).

    Then every page again: nothing stands there as markup, and nothing failed. Without thoroughness two fields of a form
    are tried alone.
    """
    tried = {}
    for page, _ in found.values():
        for form in page.forms:
            tried.setdefault((form.method, route_of(ROUTES, form.method, form.action), tuple(form.kinds)), form)
    for (method, route, _), form in tried.items():
        alone = form.typed if IS_COMPLETE else form.typed[:2]
        for fields in (form.typed, *([name] for name in alone)) if route not in LEAVES else ():
            filled = form.fields | dict.fromkeys(fields, IMAGE) | {"csrf_token": manager.token}
            ask, field = (manager.get, "params") if method == "GET" else (manager.post, "data")
            by_htmx = {} if len(fields) > 1 else {"HX-Request": "true"}
            answer = ask(form.action, headers=by_htmx, **{field: filled})
            assert answer.status_code < 500, (method, route, fields, answer.text[:300])
            assert_harmless(answer, (method, route))
    for address, (_, answer) in crawl(manager, ROUTES, each=2 if IS_COMPLETE else 1).items():
        assert answer.status_code < 500, address
        assert_harmless(answer, address)


def test_what_stands_in_the_book_is_shown_as_text(house, manager):
    """Names, notes, reasons, places and words with marks of HTML in them, on all pages of such items (5.3.1, 5.3.3)."""
    for way in ROUTES:
        for one in house.marked if way["method"] == "GET" and "{item}" in way["path"] else ():
            answer = manager.get(address_of(way["path"], one))
            assert answer.status_code < 500, (way["path"], one, answer.text[:300])
            assert_harmless(answer, (way["path"], one))


def assert_harmless(answer, where):
    """What was typed is there as text, if at all."""
    if answer.headers.get("content-type", "").startswith(("text/", "image/svg")):
        assert "<img src=x" not in answer.text, where
        assert "1337" not in re.sub(r"[0-9a-f]{32,}", "", answer.text), where
    for name, value in answer.headers.items():
        assert "<img" not in value, (where, name)


def test_no_form_fails_on_what_nobody_types(house, manager):
    """Every address that takes a form, with fields of other forms, of no kind that it asks for (5.1.3, 7.4.1)."""
    forms = [way["path"] for way in ROUTES if way["method"] == "POST" and way["path"] not in LEAVES]
    for path, value in pairs(forms, ODD, each=2):
        answer = manager.post(address_of(path), dict.fromkeys(NAMES, value))
        assert answer.status_code < 500, (path, value, answer.text[:300])
        assert_harmless(answer, path)


@pytest.mark.parametrize(("path", "fields"), [
    ("/sessions/new", {"name": "Nines", "rest": "9" * 5000}),
    ("/item/{item}/despatch", {"customer": "Harbour Row Wines", "amount": "9" * 5000}),
    ("/plans/new", {"total": "50 l", "most_casks": "9" * 5000}),
    ("/stocktakes", {"name": "Count", "place": "Row " + "9" * 5000}),
])  # fmt: skip
def test_a_number_has_an_end(house, manager, path, fields):
    """Python reads no whole number of more than 4300 digits, and says so by falling over (5.1.3, 7.4.1)."""
    with Book.open(house.book) as book:
        lot = next(of_key(key) for (key,) in book.store.query("SELECT key FROM item WHERE kind = 'lot'"))
    answer = manager.post(path.replace("{item}", lot), fields)
    assert 400 <= answer.status_code < 500, answer.text[:300]
    assert manager.get("/casks", params={"place": "9" * 5000}).status_code == 400
    assert manager.get("/journal/" + "9" * 5000).status_code == 400


@pytest.mark.parametrize("kept", ["%5B" * 9000, quote('{"said": "\\ud800", "outcome": "good"}'), "%7B", "null"])
def test_no_cookie_fails_a_page(manager, kept):
    """Words for the next page that we did not write are not said (5.1.3, 7.4.1)."""
    signed_in = manager.client.cookies["pourbook"]
    answer = manager.client.get("/", headers={"Cookie": f"pourbook-said={kept}; pourbook={signed_in}"})
    assert answer.status_code == 200, answer.text[:300]


@pytest.mark.parametrize("charset", ["unicode_escape", "raw_unicode_escape", "utf-7", "idna", "rot13", "none-such"])
def test_no_character_set_fails_a_form(manager, charset):
    """A part of a form may say how it is written: half a character is nothing that a book can keep (5.1.3, 7.4.1)."""
    body = b'--B\r\nContent-Disposition: form-data; name="scan"\r\n\r\n\\ud800 +2AA-\r\n--B--\r\n'
    kind = {"Content-Type": f"multipart/form-data; boundary=B; charset={charset}"}
    assert manager.post("/scanner", content=body, headers=kind).status_code < 500


def test_a_long_table_is_not_looked_up(manager):
    """A table of more casks than a list has is counted, not searched for: a small file would busy us for minutes."""
    for kind in (
        {"files": {"table": ("casks.csv", b"cask\n" + b"Q 9\n" * 200_000)}},
        {"data": {"casks": "Q 9\n" * 9_000}},
    ):
        answer = manager.post("/draw/list", **kind)
        assert answer.status_code == 422, answer.text[:300]
        assert "500" in answer.text


def address_of(path, part="C000001H"):
    """The address of a route with this for each of its parts."""
    return re.sub(r"\{[^}]*\}", lambda _: part, path)


def test_no_address_reaches_the_file_system(manager, house):
    """Every part of every address, nor another place, nor a header of its own (5.2.6, 5.3.9, 12.3.1 to 12.3.3)."""
    for way, part in pairs([way for way in ROUTES if "{" in way["path"] and way["path"] not in LEAVES], ELSEWHERE, 2):
        address = address_of(way["path"], part)
        answer = manager.get(address) if way["method"] == "GET" else manager.post(address)
        assert answer.status_code < 500, (way["path"], part, answer.text[:300])
        assert b"root:x:0" not in answer.content
        assert not answer.content.startswith(b"SQLite format")
        assert "x" not in answer.cookies
        assert_harmless(answer, way["path"])


def test_no_question_fails_a_page(manager, found):
    """What stands behind the question mark, for every page and every name that any link or form of ours uses."""
    names = {"q", "at", "page", "code", "kind", "next", "name"}
    for page, _ in found.values():
        names |= {one.partition("=")[0] for link in page.links for one in urlsplit(link).query.split("&") if one}
        names |= {name for form in page.forms if form.method == "GET" for name in form.kinds}
    names, values = sorted(names), (IMAGE, "9" * 400, "0" * 5000, "//[", "%00", "' OR 1=1 --", "2024-13-45", "-1", "☃")
    for way, value in pairs([way for way in ROUTES if way["method"] == "GET"], values, each=2):
        some = 60_000 // (len(quote(value)) + 20)  # as many as an address has room for
        for first in range(0, len(names), some):
            answer = manager.get(address_of(way["path"]), params=dict.fromkeys(names[first : first + some], value))
            assert answer.status_code < 500, (way["path"], value, answer.text[:300])
            assert_harmless(answer, way["path"])


def test_an_address_of_any_script_is_led_to(manager):
    """As a page asks and as a person does; nothing of it becomes a header (5.3.2)."""
    for headers, name in (({}, "location"), ({"HX-Request": "true"}, "HX-Redirect")):
        answer = manager.post("/looks", {"back": "/stock?q=☃ é"}, headers=headers)
        assert answer.headers[name] == "/stock?q=%E2%98%83%20%C3%A9"


def test_a_packed_form_is_not_unpacked(manager):
    """A small body that says it is a large one, packed, is taken as it came (12.1.1)."""
    bomb = gzip.compress(b"name=" + b"x" * 200_000_000)
    kind = {"Content-Type": "application/x-www-form-urlencoded", "Content-Encoding": "gzip"}
    assert manager.post("/lock", content=bomb, headers=kind).status_code < 500


def png(width, height):
    """A picture of so many black points, which packs to nearly nothing (W3C PNG, 1 bit a point)."""

    def chunk(kind, content):
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))

    packing, row = zlib.compressobj(9), bytes(1 + (width + 7) // 8)
    packed = b"".join(packing.compress(row) for _ in range(height)) + packing.flush()
    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")


NO_PICTURES = {
    "text": b"hello", "nothing": b"", "a page": b"<html><script>alert(1)</script></html>",
    "a picture with a script in it": b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
    "a folder, packed": b"PK\x03\x04" + b"\0" * 100, "the beginning of one": png(100, 100)[:40],
    "a head alone": b"\x89PNG\r\n\x1a\n", "one far too large when unpacked": (30_000, 30_000),
    "a long thin one": (1, 2_000_000), "a head that promises much": png(1, 1).replace(b"\0\0\0\1", b"\0\xff\xff\xff"),
}  # fmt: skip
"""What is sent as a photo; two numbers are a picture of so many points across and down."""

UPLOADS = [way for way in ROUTES if way["file"]]
PHOTOS = [way for way in UPLOADS if way["file"] == "photo"]


@pytest.mark.parametrize("what", NO_PICTURES)
def test_an_upload_is_a_picture_of_bounded_size(house, manager, what):
    """Else it is refused, whatever it calls itself, and memory stays (12.1.1, 5.2.7)."""
    content = NO_PICTURES[what]
    sized = png(*content) if isinstance(content, tuple) else content
    before = most_memory_mb(house)
    assert PHOTOS
    for way, name in pairs(UPLOADS, ("photo.png", "../../../etc/cron.d/x", "x.php\0.png", "é" * 300), 2):
        sent = {way["file"]: (name, sized, "image/png")}
        answer = manager.post(address_of(way["path"]), files=sent)
        least = 400 if way in PHOTOS else 300  # a paper need not be sent along
        assert least <= answer.status_code < 500, (way["path"], name, answer.text[:300])
    assert most_memory_mb(house) - before < 150


def most_memory_mb(house):
    """The most that the station ever took."""
    return int(re.search(r"VmHWM:\s+(\d+)", Path(f"/proc/{house.process.pid}/status").read_text())[1]) / 1024


def test_an_upload_has_ten_megabytes_at_most(house, manager):
    """Announced or in pieces; more than one file, or one in another field, is none (12.1.1)."""
    before = most_memory_mb(house)
    for way in UPLOADS:
        address, much = address_of(way["path"]), b"x" * 10_100_000
        assert manager.post(address, files={way["file"]: ("a.png", much, "image/png")}).status_code == 413
        kind = {"Content-Type": "multipart/form-data; boundary=b"}
        head = f'--b\r\nContent-Disposition: form-data; name="{way["file"]}"; filename="a.png"\r\n\r\n'.encode()
        assert manager.post(address, content=iter([head, *[much[:1_000_000]] * 30]), headers=kind).status_code == 413
        nothing = (
            manager.post(address, files={"another": ("a.png", png(9, 9), "image/png")}),
            manager.post(address, content=b"--b\r\nno", headers=kind),
        )
        least = 400 if way in PHOTOS else 300
        assert all(least <= answer.status_code < 500 for answer in nothing)
    assert most_memory_mb(house) - before < 150


# -- the door ------------------------------------------------------------------------------


def test_brute_force_closes_a_name_and_tells_nobody_who_is_known(demo, tmp_path):
    """The sixth attempt is refused, the right PIN too; in the same words for a name that nobody has (2.2.1)."""
    book = tmp_path / "quillmere.pourbook"
    shutil.copy(demo, book)
    make_accounts(book)
    with running(book) as station:
        name, pin = PINS["blender"]
        said = {}
        for who in (name, "Nobody Known"):
            caller = Caller(station.url)
            said[who] = [signing_in(caller, who, f"{number:06}") for number in range(6)]
            assert "pourbook" not in str(signing_in(caller, who, pin)[1])
            assert signing_in(caller, who, pin)[0] == 403
        known, unknown = said.values()
        assert known == unknown
        assert known[4] != known[5]
        assert "15 min" in known[5][1]
        other, own = PINS["cellar"]
        assert signing_in(Caller(station.url), other, own)[0] == 303


def signing_in(caller, name, pin):
    """An attempt: its status and what was said."""
    caller.get("/sign-in")
    answer = caller.post("/sign-in", {"name": name, "pin": pin})
    return answer.status_code, "".join(re.findall(r'class="(?:said|remedy)">([^<]*)', answer.text))


def test_sign_in_gives_a_new_token(house_with_accounts):
    """A token that somebody planted beforehand opens nothing (3.2.1, 3.2.2, 3.4.2, 3.4.3)."""
    caller = Caller(house_with_accounts.url)
    caller.client.cookies.set("pourbook", "planted", domain="127.0.0.1")
    caller.get("/sign-in")
    name, pin = PINS["technician"]
    answer = caller.post("/sign-in", {"name": name, "pin": pin})
    assert answer.status_code == 303, answer.text
    (cookie,) = [one for one in answer.headers.get_list("set-cookie") if one.startswith("pourbook=")]
    assert "planted" not in cookie
    assert len(cookie.partition(";")[0]) >= 43
    assert {"HttpOnly", "Path=/", "SameSite=lax"} <= {part.strip() for part in cookie.split(";")}
    thief = Caller(house_with_accounts.url)
    thief.client.cookies.set("pourbook", "planted", domain="127.0.0.1")
    assert thief.get("/house").status_code == 303


def test_no_cookie_makes_a_page_sign_the_link_of_a_seat(house):
    """A page's token is signed with the secret that signs links: neither must be got by asking for the other."""
    with Book.open(house.book) as book:
        gathering = gathering_named(book, "session", OTHER)
        (seat,) = seats(book, gathering)
    told, _, signature = seat.link.rpartition(".")
    for planted in (f"seat {told}", told, seat.link):
        stranger = Caller(house.url)
        stranger.client.cookies.set("pourbook", planted, domain="127.0.0.1")
        stranger.get("/sign-in")
        signed = urlsafe_b64encode(bytes.fromhex(stranger.token)[:20]).decode().rstrip("=")
        assert signed != signature
        assert stranger.get(f"/join/{told}.{signed}").status_code == 404
    assert stranger.get(f"/join/{seat.link}").status_code == 200


def test_nobody_learns_anything_before_signing_in(house_with_accounts):
    """Neither a person behind a badge, nor an item, on any page that asks for no session (4.1.3)."""
    with Book.open(house_with_accounts.book) as book:
        secrets = [one.name for one in book.accounts()] + [book.show("C000001H").facts["ref"]]
        badges = [one.person for one in book.accounts()]
    stranger = Caller(house_with_accounts.url)
    for way in ROUTES:
        if way["method"] == "GET" and way["roles"] is None:
            for query in ("", *(f"?name={one}&next=/item/{one}" for one in [*badges, "C-000001-H"])):
                text = stranger.get(address_of(way["path"]) + query).text
                assert not [one for one in secrets if one in text], (way["path"], query)
    text = stranger.get("/nowhere", headers={"Accept": "text/html"}).text
    assert not [one for one in secrets if one in text]


def test_an_ended_account_is_out_at_once(house_with_accounts):
    """Its cookie opens nothing any more, nor does that of somebody whose sign-ins were revoked (3.3.1)."""
    with Book.open(house_with_accounts.book) as book:
        from pourbook.actions.happening import Happening

        book.make_account(Happening("M. Aldane"), "Una Passing", "cellar", "640182")
        caller = Caller(house_with_accounts.url)
        assert signing_in(caller, "Una Passing", "640182")[0] == 303
        assert caller.get("/house").status_code == 200
        book.revoke(next(one.person for one in book.accounts() if one.name == "Una Passing"))
        assert caller.get("/house").status_code == 303
        assert signing_in(caller, "Una Passing", "640182")[0] == 303
        book.end_account(Happening("M. Aldane"), "Una Passing")
        assert caller.get("/house").status_code == 303


def test_what_is_typed_as_a_pin_stands_nowhere(house_with_accounts):
    """Neither in the log nor in the book, nor in the file beside it (7.1.1, 2.4.1)."""
    signing_in(Caller(house_with_accounts.url), "Maud Aldane", "a PIN that is wrong")
    for file in house_with_accounts.book.parent.iterdir():
        content = file.read_bytes()
        assert b"a PIN that is wrong" not in content, file
        assert not [pin for _, pin in PINS.values() if pin.encode() in content], file


# -- requests that are no requests -----------------------------------------------------------


@pytest.mark.parametrize(
    "sent",
    [
        b"GET / HTTP/1.1\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
        b"GET http://elsewhere.example/ HTTP/1.1\r\nHost: elsewhere.example\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: {host}\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\nabcde",
        b"POST /lock HTTP/1.1\r\nHost: {host}\r\nContent-Length: -5\r\n\r\n",
        b"POST /lock HTTP/1.1\r\nHost: {host}\r\nTransfer-Encoding: chunked\r\nContent-Length: 5\r\n\r\nzz\r\n",
        b"GET /" + b"a" * 200_000 + b" HTTP/1.1\r\nHost: {host}\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: {host}\r\nCookie: " + b"x=" + b"y" * 200_000 + b"\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
        b"GET /\xff\xfe HTTP/1.1\r\nHost: {host}\r\n\r\n",
    ],
)
def test_what_is_no_request_is_turned_away(house, sent):
    """And the station goes on."""
    with socket.create_connection(("127.0.0.1", house.port), timeout=10) as line:
        answer = b""
        with suppress(ConnectionError, OSError):  # it may hang up before it has read everything
            line.sendall(sent.replace(b"{host}", f"127.0.0.1:{house.port}".encode()))
            line.shutdown(socket.SHUT_WR)
            answer = line.recv(100)
    assert not answer or answer.split()[1][:1] in (b"4", b"3"), answer
    assert Caller(house.url).get("/healthz").status_code == 200


# -- TLS -------------------------------------------------------------------------------------


@pytest.mark.parametrize("version", [ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1])
def test_no_old_tls_is_spoken(demo, tmp_path, version):
    """1.2 or later alone (9.1.3, RFC 8996)."""
    book = tmp_path / "quillmere.pourbook"
    shutil.copy(demo, book)
    make_accounts(book)
    with running(book, "--lan") as station:
        for most, is_taken in ((version, False), (ssl.TLSVersion.TLSv1_2, True)):
            context = ssl.create_default_context(cafile=f"{book}-station-tls/root.pem")
            context.set_ciphers("DEFAULT:@SECLEVEL=0")
            with warnings.catch_warnings(action="ignore"):
                context.minimum_version = context.maximum_version = most
            with socket.create_connection(("127.0.0.1", station.port), timeout=10) as line:
                try:
                    with context.wrap_socket(line, server_hostname="127.0.0.1") as spoken:
                        assert is_taken, spoken.version()
                        assert re.search("GCM|CHACHA20", spoken.cipher()[0])
                except ssl.SSLError:
                    assert not is_taken


# -- the table -------------------------------------------------------------------------------

LEVEL_1 = (
    "2.1.1-12 2.2.1-3 2.3.1 2.5.1-6 2.7.1-4 2.8.1 3.1.1 3.2.1-3 3.3.1-2 3.4.1-5 3.7.1 4.1.1-3 4.1.5 4.2.1-2 4.3.1-2"
    " 5.1.1-5 5.2.1-8 5.3.1-10 5.5.1-4 6.2.1 7.1.1-2 7.4.1 8.2.1-3 8.3.1-4 9.1.1-3 10.3.1-3 11.1.1-5 12.1.1"
    " 12.3.1-5 12.4.1-2 12.5.1-2 12.6.1 13.1.1 13.1.3 13.2.1-3 13.3.1 14.2.1-3 14.3.2-3 14.4.1-7 14.5.1-3"
)
"""Numbers of ASVS 4.0.3 that are asked at level 1, from OWASP's own table of it (its CSV, read on 2026-11-30)."""

ROOT = Path(__file__).resolve().parents[2]


def test_every_requirement_of_level_1_has_its_place_in_the_table():
    """Once each, with an answer; and every test that it names is there."""
    table = (ROOT / "DEVELOPERS.md").read_text("utf-8").partition("OWASP ASVS 4.0.3, level 1")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| ([\d., ]+) \| ([^|]+) \| (met|n/a|no) \| ([^|]+) \|$", table, re.MULTILINE)
    wanted = []
    for numbers in LEVEL_1.split():
        first, _, last = numbers.partition("-")
        section, _, one = first.rpartition(".")
        wanted += [f"{section}.{number}" for number in range(int(one), int(last or one) + 1)]
    assert sorted(number for row in rows for number in row[0].split(", ")) == sorted(wanted)
    tests = "".join(path.read_text("utf-8") for path in (ROOT / "tests").rglob("test_*.py"))
    assert [name for name in re.findall(r"`(test_\w+)`", table) if f"def {name}(" not in tests] == []
