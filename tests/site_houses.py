"""Sites of Quillmere that work cut off, each on a book of its own, and the book of their group.

with Sites(folder) as sites:
    sites["A"].cask("C1", "600 l", "63.5", at="2026-05-01")
    sites.send("A", "C1", "500 l", to="B", document="D 17", at="2026-05-02")
    sites.receive("B", "C1", "500 l", "63.5", source="A", document="D 17", at="2026-05-04")
    sites.join()
    with sites.group() as group: ...
"""

from pathlib import Path

from house import House, moment

from pourbook import Book
from pourbook.actions.joining import join
from pourbook.exchange.output.entries_export import write_entries

RANGES = {"A": "1-99999", "B": "100000-199999", "C": "200000-299999"}
LATER = "2027-01-01"


class Sites:
    """Houses by the name of their site, in a folder where the group's book lies, too."""

    def __init__(self, folder, names="AB", **ranges):
        self.folder = Path(folder)
        self.houses = {name: House(self.path(name), site=name, numbers=(RANGES | ranges)[name]) for name in names}

    def __enter__(self):
        return self

    def __exit__(self, *_):
        for house in self.houses.values():
            house.book.close()

    def __getitem__(self, name):
        return self.houses[name]

    def path(self, name):
        """Where the book of a site lies; that of the group is `G`."""
        return self.folder / f"{name.lower()}.pourbook"

    def send(self, site, item, amount=None, *, to, document, at):
        """Send spirit to another site; None for all that the item holds."""
        return self[site].despatch(item, amount, at=at, site=to, customer=to, document=document)

    def receive(self, site, item, amount=None, strength=None, *, source, document, at, **how):
        """Take in spirit from another site."""
        house = self[site]
        house._ensure_open(item)
        told = {"from_site": source, "document": document}
        confirmed = how.pop("confirmed", False)
        return house.pour("origin", item, amount, strength, verb="fill", at=at, confirmed=confirmed, **told, **how)

    def join(self, *sources, **how):
        """Join these books or files, or all sites' books."""
        return join(str(self.path("G")), [str(one) for one in sources or map(self.path, self.houses)], **how)

    def export(self, site, after=0, name=""):
        """What a site writes for the group, as a file."""
        path = self.folder / (name or f"{site.lower()}-{after}.jsonl")
        with path.open("w", encoding="utf-8") as file:
            write_entries(self[site].book, file, after, names=True)
        return path

    def group(self):
        """The book of the group, opened."""
        return Book.open(self.path("G"), clock=lambda: moment(LATER))

    def id(self, site, item):
        """The identifier behind a site's short name."""
        return self[site].id(item)
