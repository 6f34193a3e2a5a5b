"""The pages of a station as somebody finds them who follows every link, with their forms."""

import re
from functools import cache
from html.parser import HTMLParser
from typing import NamedTuple
from urllib.parse import urljoin, urlsplit

VOID = frozenset(("button", "submit", "image", "reset"))


class Form(NamedTuple):
    """A form: how and where it is sent, its fields with their values, and the kind of each."""

    method: str
    action: str
    fields: dict
    kinds: dict

    @property
    def typed(self):
        """Fields that take any text, whatever the page lets one type."""
        return [name for name, kind in self.kinds.items() if kind not in ("file", "select") and name != "csrf_token"]


class Page(HTMLParser):
    """What a page leads to: links, pictures and scripts, forms; and attributes that are programs or styles."""

    def __init__(self, address, text):
        super().__init__()
        self.address, self.links, self.sources, self.forms, self.inline = address, [], [], [], []
        self._form = self._select = None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        given = {name: value or "" for name, value in attrs}
        self.inline += [name for name in given if name.startswith("on") or name == "style"]
        for name in ("href", "hx-get"):
            if name in given and tag != "link" and not given[name].startswith("#"):
                self.links.append(urljoin(self.address, given[name]))
        for name in ("src", "href"):
            if name in given and tag != "a":
                self.sources.append(given[name])
        if tag == "form":
            action = urljoin(self.address, given.get("action") or given.get("hx-post") or self.address)
            self._form = Form(given.get("method", "get").upper(), action, {}, {})
            self.forms.append(self._form)
        elif "hx-post" in given and tag != "form" and self._form is None:
            self.forms.append(Form("POST", urljoin(self.address, given["hx-post"]), {}, {}))
        elif self._form is not None and tag in ("input", "textarea", "select", "button") and given.get("name"):
            self._field(tag, given)
        elif tag == "option" and self._select and ("selected" in given or not self._form.fields[self._select]):
            self._form.fields[self._select] = given.get("value", "")

    def _field(self, tag, given):
        kind = given.get("type", "text") if tag == "input" else tag
        if kind in ("checkbox", "radio") and "checked" not in given:
            self._form.kinds.setdefault(given["name"], "text")
            return
        self._form.fields[given["name"]] = given.get("value", "")
        self._form.kinds[given["name"]] = "select" if tag in ("select", "button") else kind
        self._select = given["name"] if tag == "select" else None

    def handle_endtag(self, tag):
        if tag == "form":
            self._form = None
        if tag == "select":
            self._select = None


@cache
def pattern_of(path):
    """What an address of a route looks like."""
    parts = re.split(r"(\{[^}]*\})", path)
    return re.compile(
        "".join(
            re.escape(part) if not part.startswith("{") else (".+" if part.endswith(":path}") else "[^/]+")
            for part in parts
        )
    )


def route_of(routes, method, address):
    """The path of the route that an address belongs to; None where there is none."""
    path = urlsplit(address).path
    found = (way["path"] for way in routes if way["method"] == method and pattern_of(way["path"]).fullmatch(path))
    return next(found, None)


def crawl(caller, routes, each=2, begin=("/",)):
    """Pages by address, found from the first one by links: a few of every route and kind of item."""
    waiting, seen, count, pages = list(begin), set(begin), {}, {}
    while waiting:
        address = waiting.pop(0)
        answer = caller.get(address)
        if "text/html" not in answer.headers.get("content-type", ""):
            continue
        pages[address] = Page(address, answer.text), answer
        for link in pages[address][0].links:
            parts = urlsplit(link)
            short = f"{parts.path}?{parts.query}" if parts.query else parts.path
            if parts.scheme or parts.netloc or short in seen:
                continue
            kind = re.search(r"/([A-Z])[0-9]{6,}[0-9A-Z]\b", parts.path)
            what = route_of(routes, "GET", short), kind and kind[1]
            if count.get(what, 0) < each:
                seen.add(short)
                count[what] = count.get(what, 0) + 1
                waiting.append(short)
    return pages
