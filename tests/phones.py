"""Phones of guests: the links that a host shows, and whoever follows one."""

import re

from stations import Caller


def links(host, number, kind="session"):
    """The link of every seat that is free, by name."""
    page = host.get(f"/{kind}/{number}/links").text
    return dict(re.findall(r'<h2>([^<]+)</h2>(?:(?!</li>).)*?href="[^"]*(/join/[^"]+)"', page, re.DOTALL))


def phone(house, link):
    """A phone that took the seat of a link."""
    guest = Caller(house.url)
    assert "Join as" in guest.get(link).text
    joined = guest.post(link)
    assert (joined.status_code, joined.headers["location"]) == (303, "/guest")
    cookie = joined.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "samesite=lax" in cookie.lower()
    guest.get("/guest")
    return guest
