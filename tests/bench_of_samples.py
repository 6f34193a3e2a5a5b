"""A house with three samples and people with accounts, and somebody who pours a trial of it at a station."""

import html
import re

from house import House
from stations import make_accounts

from pourbook import Book
from pourbook.actions.happening import Happening
from pourbook.book.entries import RecipePart
from pourbook.quantities import read_amount


class Bench:
    """A house with three samples; its trials are of the first two, unless a test says otherwise."""

    def __init__(self, path):
        self.path = path
        with House(path) as house:
            house.cask("C1", "200 l", "60", spirit="malt spirit", wood_days=3000, cost="4.20")
            house.cask("C2", "180 l", "40", spirit="grain spirit", wood_days=2000, cost="3.10")
            house.cask("C3", "50 l", "61", spirit="rye spirit")
            for vial, cask, drawn in (("V1", "C1", "2 l"), ("V2", "C2", "2 l"), ("V3", "C3", "200 ml")):
                house.open(vial, ref=f"S {vial[1]}")
                house.draw(cask, vial, drawn)
            self.ids = dict(house.ids)
        self.trial()
        make_accounts(path)

    def trial(self, *parts, total="100 ml"):
        """A new trial of 60 parts of the first sample and 40 of the second."""
        parts = parts or (RecipePart(self["V1"], "60 in 50..70"), RecipePart(self["V2"], "40"))
        with Book.open(self.path) as book:
            return book.compose_trial(Happening("M. Aldane"), read_amount(total), parts=parts).id

    def __getitem__(self, name):
        return self.ids[name]

    def holds_ml(self, item):
        """What the book says that it holds."""
        with Book.open(self.path) as book:
            return round(book.show(item).volume_ml_20c, 1)

    def kinds(self, since):
        """What was recorded since an entry."""
        with Book.open(self.path) as book:
            return [one.kind for one in book.entries_listed() if one.number > since]

    def entries(self):
        """How many there are."""
        with Book.open(self.path) as book:
            return book.head_number()


class Pouring:
    """Somebody at the page of a trial."""

    def __init__(self, caller, trial, task="pour"):
        self.caller, self.address = caller, f"/item/{trial}/{task}"
        self.page = self.caller.get(self.address).text
        self.outcome = self.words = ""

    def __call__(self, **form):
        """What the page sends; the words that are heard, and their outcome."""
        answer = self.caller.post(self.address, form, headers={"HX-Request": "true"})
        assert answer.status_code == 200, answer.text
        self.page = answer.text
        heard = re.search(r'<div id="heard"[^>]*data-outcome="(\w+)"[^>]*>(.*?)</div>', self.page, re.DOTALL)
        self.outcome, self.words = heard[1], html.unescape(" ".join(heard[2].split()))
        return self.outcome

    @property
    def said(self):
        """All the page says, in plain words."""
        return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", self.page)).split())
