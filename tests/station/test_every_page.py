"""Every page there is, found from the first one by plain links, and every address that a page names."""

import re
import time
from functools import cache
from html.parser import HTMLParser
from urllib.parse import urljoin, urlsplit

import pytest
from command import here
from crawled import pattern_of
from stations import takes_long

from pourbook.station.pages import ways

pytestmark = [takes_long, pytest.mark.in_a_file("back-ups beside it are made and listed")]

ROUTES = here("station", "--routes", "--json").done().json["routes"]
_NAMED = {"href", "src", "action", "formaction", "hx-get", "hx-post", "sse-connect", "data-task"}
_MOST = 400


@cache
def listed(path, *methods):
    """The routes that answer an address."""
    return [way["path"] for way in ROUTES if way["method"] in methods and pattern_of(way["path"]).fullmatch(path)]


class Named(HTMLParser):
    """Addresses that a page names, by attribute; ids, to see that none is there twice; headings."""

    def __init__(self, text):
        super().__init__()
        self.named, self.ids, self.headings, self.labels, self.fields, self._tags = [], [], [], set(), [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        """Note what a tag names."""
        known = dict(attrs)
        self.named += [(name, known[name]) for name in _NAMED & known.keys()]
        self.ids += [known["id"]] if "id" in known else []
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag == "label" and "for" in known:
            self.labels.add(known["for"])
        if tag in ("input", "select", "textarea") and known.get("type") not in ("hidden", "submit"):
            self.fields.append(known)


def kind_of_address(path):
    """An address without what tells two items of a kind apart, so that one of each is seen."""
    return re.sub(r"/([A-Z])[0-9]{6}[0-9A-Z]", r"/\1", re.sub(r"/[0-9]+(?=/|$)", "/0", path))


def walk(caller, start="/"):
    """Each kind of page that plain links lead to, once: address and answer."""
    waiting, seen, kinds = [start], {start}, set()
    while waiting and len(kinds) < _MOST:
        path = waiting.pop(0)
        answer = caller.get(path)
        hops = 0
        while answer.status_code == 303 and hops < 5:
            answer, hops = caller.get(answer.headers["location"]), hops + 1
        yield path, answer
        if not answer.headers["content-type"].startswith("text/html"):
            continue
        for name, address in Named(answer.text).named:
            to = urlsplit(urljoin(path, address))
            if name != "href" or to.scheme or to.netloc or to.path.startswith("/static/"):
                continue
            whole = to.path + (f"?{to.query}" if to.query else "")
            kind = kind_of_address(to.path) + (f"?{'&'.join(sorted(re.findall(r'(?:^|&)([a-z]+)=', to.query)))}")
            if whole not in seen and kind not in kinds:
                seen.add(whole)
                kinds.add(kind)
                waiting.append(whole)


@pytest.fixture(scope="module")
def pages(house_with_accounts):
    """All pages that a manager finds, in a house where something of everything is under way."""
    from stations import Caller

    here("stocktake", "open", "Year end", book=house_with_accounts.book).done()
    here("component", "Mulberry", "--wood", "mulberry", "--bounds", "0..6", book=house_with_accounts.book).done()
    glasses = ["--glass", "S 26-01", "--glass", "S 26-02", "--assessor", "Una Brill", "--amount", "5 ml"]
    for name in ("Closed", "Open"):
        here("session", "open", name, *glasses, book=house_with_accounts.book).done()
    here("session", "close", "Closed", "--confirm", book=house_with_accounts.book).done()
    parts = ["--part", "S 26-01=60 in 50..90", "--part", "S 26-02=40 in 10..50"]
    here("recipe", "On the table", *parts, book=house_with_accounts.book).done()
    guests = ["--guest", "Una Brill", "--guest", "Piers Holt", "--blend", "20 ml", "--glass", "2 ml", "--to", "21"]
    here("blending", "open", "Guests", "--recipe", "On the table", *guests, book=house_with_accounts.book).done()
    here("recall", "--item", "Q 101", "--mock", "--reason", "exercise", book=house_with_accounts.book).done()
    here("printer", "bench", "--dpi", "203.2", book=house_with_accounts.book).done()
    manager = Caller(house_with_accounts.url).sign_in("manager")
    manager.post("/labels/print", {"items": "S 26-01", "template": "vial-roll-30x15"})
    plan = manager.post("/plans/new", {"what": "Trial 26-B", "final": "100 l", "to_strength": "46", "seconds": "5"})
    assert plan.status_code == 303, plan.text
    followed(manager, manager.post("/backup"))
    return list(walk(manager))


def followed(caller, answer):
    """On to what long work came to, once it is done."""
    address = answer.headers["location"]
    while caller.get(f"{address}/state").status_code == 200:
        time.sleep(0.05)
    return caller.get(address)


def test_every_page_is_there(pages):
    """No link leads nowhere, and nothing stumbles."""
    assert [(path, answer.status_code) for path, answer in pages if answer.status_code != 200] == []


def test_every_address_on_a_page_is_a_route(pages):
    """Links, forms, and what htmx asks."""
    astray = set()
    for path, answer in pages:
        if answer.headers["content-type"].startswith("text/html"):
            for name, address in Named(answer.text).named:
                to = urlsplit(urljoin(path, address))
                assert not to.scheme, (path, address)
                methods = ("GET",) if name in ("href", "src", "hx-get", "sse-connect") else ("GET", "POST")
                if not listed(to.path, *methods):
                    astray.add((name, to.path))
    assert not astray


def test_every_page_that_needs_no_more_than_an_item_is_found(pages):
    """A manager finds all GET pages by plain links; pages of guests and of jobs come by other ways."""
    found = {route for path, _ in pages for route in listed(urlsplit(path).path, "GET")}
    wanted = {
        way["path"] for way in ROUTES
        if way["method"] == "GET" and way["roles"] and "manager" in way["roles"]
    }  # fmt: skip
    polled = {way.path for way in ways() if way.polls}  # parts of a page, which it asks for by itself
    assert wanted - found - polled == set()


def test_every_page_is_well_made(pages):
    """One first heading, none left out on the way down, every field with its label, no id twice."""
    poor = []
    for path, answer in pages:
        if not answer.headers["content-type"].startswith("text/html"):
            continue
        named = Named(answer.text)
        twice = {one for one in named.ids if named.ids.count(one) > 1}
        unlabelled = [one for one in named.fields if one.get("id") not in named.labels and "aria-label" not in one]
        skips = [(a, b) for a, b in zip(named.headings, named.headings[1:], strict=False) if b > a + 1]
        nested = [one for one in unlabelled if one.get("name") not in ("language", "theme")]
        if named.headings.count(1) != 1 or twice or skips or nested:
            poor.append((path, named.headings.count(1), twice, skips, nested))
    assert poor == []
