"""What every address keeps to: hosts, sessions, roles, tokens, headers; generated from the routing table itself."""

import re
import shutil
import signal
import time

import pytest
from command import here
from stations import PINS, Caller, make_accounts, pairs, running

from pourbook.actions.roles import ALL_ROLES

ROUTES = here("station", "--routes", "--json").done().json["routes"]
CASK = "C000001H"


def filled(path, item=CASK):
    """An address with an identifier where one belongs, and a word where anything may stand."""
    return re.sub(r"\{[^}]*\}", "nothing", path.replace("{item}", item))


def test_the_routing_table_says_what_is_asked_of_it():
    """Each route names method, address, roles, whether it changes anything, and its upload; no GET changes."""
    for way in ROUTES:
        assert set(way) == {"method", "path", "roles", "changes", "file"}
        assert way["roles"] is None or set(way["roles"]) <= {*ALL_ROLES, "guest"}
        assert not (way["method"] == "GET" and way["changes"])
        assert not (way["changes"] and way["roles"] is None), way
    assert len({(way["method"], way["path"]) for way in ROUTES}) == len(ROUTES)


def test_an_auditor_may_see_every_page_and_change_nothing():
    """But for pages of guests, and one's own PIN."""
    for way in ROUTES:
        if way["roles"] is not None and way["method"] == "GET" and way["roles"] != ["guest"]:
            assert "auditor" in way["roles"], way
        if way["changes"] and way["path"] != "/pin":
            assert "auditor" not in way["roles"], way


def test_it_says_where_it_is_and_stops_when_told(demo, tmp_path):
    """The address comes first; an open page does not keep it from ending."""
    book = tmp_path / "quillmere.pourbook"
    shutil.copy(demo, book)
    with running(book) as station:
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", station.first_line)
        caller = Caller(station.url)
        healthy = caller.get("/healthz")
        assert (healthy.status_code, healthy.headers["content-type"].split(";")[0]) == (200, "text/plain")
        caller.get("/")  # a connection stays open
        begun = time.monotonic()
        station.process.send_signal(signal.SIGTERM)
        station.process.wait(10)
        assert time.monotonic() - begun < 3


def test_a_port_that_is_taken_is_refused_in_words(open_house, demo):
    """Nothing is served, and no traceback is shown."""
    ran = here("station", "--port", open_house.port, "--no-browser", book=demo)
    assert ran.status == 1
    assert f"cannot listen on port {open_house.port}" in ran.err


def test_every_answer_bears_its_headers(caller):
    """Pages, files, errors."""
    for path in ("/", "/sign-in", "/healthz", "/static/station.css", "/nowhere", "/item/C000001X"):
        headers = caller.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe-inline" not in policy
        assert "'unsafe-eval'" not in policy
        assert {"base-uri", "form-action", "frame-ancestors"} <= {part.split()[0] for part in policy.split(";")}
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"


@pytest.mark.parametrize("host", ["elsewhere.example", "127.0.0.1", "127.0.0.1:1", "", "127.0.0.1:99999@x", "a\x00b"])
def test_an_unknown_host_is_turned_away(caller, open_house, host):
    """Whatever name a page elsewhere makes a browser call us by (DNS rebinding)."""
    import socket

    with socket.create_connection(("127.0.0.1", open_house.port)) as line:
        line.sendall(f"GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n".encode())
        assert line.recv(100).split()[1] in (b"400", b"421")


def test_localhost_is_known(open_house):
    """By its other name, too."""
    assert Caller(open_house.url.replace("127.0.0.1", "localhost")).get("/").status_code == 200


def test_without_accounts_whoever_is_at_the_machine_may_do_everything(caller):
    """And is told how to make the first account."""
    page = caller.get("/")
    assert page.status_code == 200
    assert "/people" in page.text


def test_without_a_session_one_is_led_to_sign_in(house_with_accounts):
    """And then to the page first asked for."""
    caller = Caller(house_with_accounts.url)
    led = caller.get("/house?x=1")
    assert (led.status_code, led.headers["location"]) == (303, "/sign-in?next=%2Fhouse%3Fx%3D1")
    caller.get(led.headers["location"])
    name, pin = PINS["blender"]
    answer = caller.post(led.headers["location"], {"name": name, "pin": pin})
    assert (answer.status_code, answer.headers["location"]) == (303, "/house?x=1")
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "samesite" in cookie.lower()
    assert caller.get("/house").status_code == 200


def test_a_form_without_a_session_is_refused(house_with_accounts):
    """Every route that needs one."""
    caller = Caller(house_with_accounts.url)
    for way in ROUTES:
        if way["roles"] is not None and way["method"] == "POST":
            assert caller.post(filled(way["path"])).status_code in (401, 403), way
        elif way["roles"] is not None:
            assert caller.get(filled(way["path"])).status_code == 303, way


@pytest.mark.parametrize("role", ALL_ROLES)
def test_a_role_that_is_not_listed_gets_nowhere(as_role, role):
    """Before path or form are looked at; with an item that is there and one that is not."""
    caller = as_role(role)
    closed = [way for way in ROUTES if way["roles"] is not None and role not in way["roles"]]
    for way, item in pairs(closed, (CASK, "C999999X")):
        ask = caller.post if way["method"] == "POST" else caller.get
        assert ask(filled(way["path"], item)).status_code == 403, way


def test_a_form_needs_its_token(as_role):
    """Missing, wrong, or of another session: refused; in the header or in the form: taken."""
    caller = as_role("manager")
    for way, token in pairs([way for way in ROUTES if way["method"] == "POST"], ("", "0" * 64, "é")):
        answer = caller.client.post(
            filled(way["path"]), data={"csrf_token": token}, headers={"X-CSRF-Token": token.encode()}
        )
        assert answer.status_code in (400, 403, 404), way
    other = as_role("blender")
    assert caller.client.post("/lock", headers={"X-CSRF-Token": other.token}).status_code == 403
    assert caller.client.post("/lock", data={"csrf_token": caller.token}).status_code == 303


def test_a_form_of_another_place_is_refused(as_role):
    """Whatever it holds: the browser says where it comes from."""
    caller = as_role("manager")
    for origin in ("https://elsewhere.example", "null", caller.client.base_url.scheme + "://127.0.0.1:1"):
        assert caller.post("/lock", headers={"Origin": origin}).status_code == 403
    assert caller.post("/lock", headers={"Origin": str(caller.client.base_url).rstrip("/")}).status_code == 303


def test_after_sign_out_the_token_stands_for_nobody(as_role):
    """A cookie that somebody kept is worth nothing."""
    caller = as_role("technician")
    kept = dict(caller.client.cookies)
    assert caller.post("/sign-out").status_code == 303
    caller.client.cookies.clear()
    caller.client.cookies.update(kept)
    assert caller.get("/").status_code == 303


def test_a_locked_screen_waits_for_the_pin(as_role):
    """Pages lead to it, forms are refused; the PIN opens it."""
    caller = as_role("technician")
    caller.post("/lock")
    led = caller.get("/house")
    assert (led.status_code, led.headers["location"]) == (303, "/locked?next=%2Fhouse")
    assert "locked" in caller.get("/locked").text
    assert caller.post("/lock").status_code == 401
    assert caller.post("/unlock?next=/house", {"pin": "000000"}).status_code == 403
    assert caller.post("/unlock?next=/house", {"pin": PINS["technician"][1]}).headers["location"] == "/house"
    assert caller.get("/house").status_code == 200


def test_sign_in_leads_nowhere_else(house_with_accounts):
    """The page first asked for is one of ours, whatever the address says."""
    for elsewhere in (
        "//elsewhere.example",
        "https://elsewhere.example/",
        "/\\elsewhere.example",
        "javascript:alert(1)",
        "//[",
        "/\t/elsewhere.example",
    ):
        caller = Caller(house_with_accounts.url)
        caller.get("/sign-in")
        name, pin = PINS["manager"]
        answer = caller.client.post(
            "/sign-in", params={"next": elsewhere}, data={"name": name, "pin": pin},
            headers={"X-CSRF-Token": caller.token},
        )  # fmt: skip
        assert answer.headers["location"] == "/"


def test_what_is_no_item_is_not_found(caller):
    """Never a traceback, never 5xx."""
    for path in ("/nowhere", "/item/C999999X", "/item/Z", "/item/%00", "/item/" + "9" * 5000, "/static/../app.py",
                 "/static/%2e%2e/app.py", "/static//etc/passwd", "/item/C000001X"):  # fmt: skip
        assert caller.get(path).status_code in (400, 404), path


def test_too_large_a_form_is_not_taken(caller, open_house):
    """Announced or sent in pieces."""
    caller.get("/")
    big = b"name=" + b"x" * 1_200_000
    kind = {"Content-Type": "application/x-www-form-urlencoded"}
    assert caller.post("/at-work", content=big, headers=kind).status_code == 413
    assert caller.post("/at-work", content=iter([big[:600_000], big[600_000:]]), headers=kind).status_code == 413


def test_the_routes_are_listed_for_people_too():
    """One line each."""
    assert len(here("station", "--routes").done().out.splitlines()) == len(ROUTES) + 1


def test_first_account(demo, tmp_path):
    """A house without accounts makes the manager's; then everybody signs in."""
    book = tmp_path / "quillmere.pourbook"
    shutil.copy(demo, book)
    with running(book) as station:
        caller = Caller(station.url)
        caller.get("/people")
        made = caller.post("/first", {"name": "Maud Aldane", "pin": "917350"})
        assert made.headers["location"] == "/sign-in"
        assert caller.get("/").status_code == 303
        assert caller.post("/first", {"name": "Somebody", "pin": "917350"}).status_code in (401, 403)


def test_two_stations_know_the_same_people(demo, tmp_path):
    """Signed in at one, known at the other on the same book."""
    book = tmp_path / "quillmere.pourbook"
    shutil.copy(demo, book)
    make_accounts(book)
    with running(book) as one, running(book) as other:
        there = Caller(one.url).sign_in("technician")
        elsewhere = Caller(other.url)
        elsewhere.client.cookies.update(dict(there.client.cookies))
        assert elsewhere.get("/house").status_code == 200
