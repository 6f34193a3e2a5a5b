"""The month of three sites, by the real command: joined, corrected, joined again, asked and printed by an auditor.

What a group's book says is held against one book in which the same things happened (`three_sites.py`).
"""

import json

import pypdfium2
import pytest
from command import Desk, here
from three_sites import SITES, SiteBooks, afterwards, in_one_book, month

from pourbook import Book
from pourbook.codes.identifiers import LIQUID_KINDS

PERIOD = "--from 2026-05-01 --to 2026-06-30"


class Rehearsal:
    """The books of sites, that of their group at `group`, and one book of all."""

    def __init__(self, folder, sites):
        self.folder, self.sites = folder, sites
        self.books = SiteBooks(folder, sites).record(month(sites))
        self.first = self.join()
        self.books.record(afterwards(sites))
        self.second = self.join()
        self.group = Desk(folder / "group.pourbook", here)
        self.one = Desk(in_one_book(folder / "one.pourbook", month(sites) + afterwards(sites)), here)

    def join(self):
        paths = self.books.paths.values()
        return here("group", "join", self.folder / "group.pourbook", *paths, "--json").done().json

    def items(self):
        """Refs of what sites entered, but for what was entered twice and voided."""
        with Book.open(self.one.book) as book:
            found = [one for kind in LIQUID_KINDS for one in book.of_kind(kind)]
            return [one.ref for one in found if " to " not in one.ref]


@pytest.fixture(scope="module", params=[("STILLS", "QUAY"), tuple(SITES)], ids=["two sites", "three sites"])
def rehearsal(request, tmp_path_factory):
    return Rehearsal(tmp_path_factory.mktemp("rehearsal"), request.param)


@pytest.fixture(scope="module")
def three(tmp_path_factory):
    return Rehearsal(tmp_path_factory.mktemp("three"), tuple(SITES))


def test_it_holds_what_one_book_holds(rehearsal):
    """Every item to the milligram, every share to 1e-12, back and forward, and both books verify."""
    with Book.open(rehearsal.group.book) as group, Book.open(rehearsal.one.book) as one:
        assert (group.verify().faults, one.verify().faults) == ((), ())
        refs = rehearsal.items()
        assert len(refs) >= 14
        for ref in refs:
            assert group.show(ref).holding.liquid == one.show(ref).holding.liquid, ref
            if not one.show(ref).holding.mass_mg:
                continue
            for by in ("alcohol", "mass", "volume"):
                for ask in ("trace_back", "trace_forward"):
                    here_, there = (_shares(getattr(book, ask)(ref, by), refs) for book in (group, one))
                    assert here_.keys() == there.keys(), (ref, by, ask)
                    assert here_ == pytest.approx(there, abs=1e-12, rel=0)


def _shares(trace, refs):
    return {part.item.ref: part.share for part in trace.items if part.item.ref in refs}


def test_a_recall_from_a_cask_of_one_site_reaches_bottles_of_another(rehearsal):
    """The same lots, customers and bottles as in one book, each at its site."""
    told = [desk.asks("affected --item 'S 1'") for desk in (rehearsal.group, rehearsal.one)]
    customers = [
        {
            one["name"]: [(item["bottles_outstanding"], item["outstanding_mg"]) for item in one["items"]]
            for one in found["customers"]
        }
        for found in told
    ]
    assert customers[0] == customers[1]
    assert {"Harbour Row Wines", "Corran Vale"} <= customers[0].keys()
    assert ("Ferrow Inns" in customers[0]) == ("HILL" in rehearsal.sites)
    sites = {one["facts"]["site"] for one in told[0]["items"]}
    assert sites == set(rehearsal.sites)


def test_what_does_not_agree_is_told_and_what_was_put_right_is_told_no_more(three):
    """By document; the second entry of a receipt is told until it was voided, a lost cask until it arrives."""
    first, second = (
        {(one["kind"], one["document"]) for one in joined["differences"]} for joined in (three.first, three.second)
    )
    assert first - second == {("received twice", "MD 26-5")}
    assert second - first == {("amount", "MD 26-5")}  # half a litre less than was sent, which the second receipt hid
    assert {("amount", "MD 26-1"), ("strength", "MD 26-1"), ("not received", "MD 26-4")} <= first & second
    assert {one["new"] for one in three.join()["sites"]} == {0}


def test_an_account_by_site_tells_what_went_from_one_to_another(three):
    """What travels is the sender's until it arrives; what one sent, the others received, and the house lost nothing."""
    account = three.group.asks(f"account {PERIOD} --group-by site")
    of_site = {one["group"]["site"]: one["lines"] for one in account["groups"]}
    assert of_site.keys() == set(SITES)
    moved = {
        heading: sum(line["ethanol_mg"] for lines in of_site.values() for line in lines if line["heading"] == heading)
        for heading in ("transfer out", "transfer in")
    }
    assert moved["transfer out"] == moved["transfer in"] > 0
    assert "transfer out" not in {line["heading"] for line in account["total"]["lines"]}


@pytest.fixture(params=["05-01 06-30", "05-01 05-07", "05-08 05-12", "05-13 05-19", "05-20 06-04"])
def period(request):
    """The month, and parts of it that end while something is on its way."""
    return "--from 2026-{} --to 2026-{}".format(*request.param.split())


def _sums(lines):
    """Mass and ethanol by side and heading, and by side alone."""
    found = {}
    for one in lines:
        for key in ((one["side"], one["heading"]), one["side"]):
            mass, ethanol = found.get(key, (0, 0))
            found[key] = mass + one["mass_mg"], ethanol + one["ethanol_mg"]
    return found


def _signed(sums, **signs):
    """The sum of some lines, each with its sign."""
    parts = [(sign, sums.get(key, (0, 0))) for key, sign in signs.items()]
    return tuple(sum(sign * part[place] for sign, part in parts) for place in (0, 1))


def test_an_account_of_a_site_and_its_part_of_the_group_reconcile(three, period):
    """To the milligram: what a site sent is what others received, what was lost or gained on the way, and the rest."""
    account = three.group.asks(f"account {period} --group-by site")
    parts = {one["group"]["site"]: _sums(one["lines"]) for one in account["groups"]}
    for site, path in three.books.paths.items():
        own, part = _sums(Desk(path, here).asks(f"account {period}")["total"]["lines"]), parts.get(site, {})
        none = 0, 0
        for side in ("opening", "closing"):
            assert own.get((side, ""), none) == part.get((side, ""), none), (site, side)
        sent = [
            (1, ("out", "transfer out")), (1, ("loss", "lost in transit")), (-1, ("gain", "gained in transit")),
            (1, ("closing", "in transit")), (-1, ("opening", "in transit")),
        ]  # fmt: skip
        there = tuple(sum(sign * part.get(key, none)[place] for sign, key in sent) for place in (0, 1))
        assert own.get(("out", "to other sites"), none) == there, site
        assert own.get(("in", "from other sites"), none) == part.get(("in", "transfer in"), none), site
        told = {key for _, key in sent} | {("in", "transfer in"), ("out", "to other sites"), ("in", "from other sites")}
        rest = [
            {key: sum_ for key, sum_ in sums.items() if isinstance(key, tuple) and key not in told and any(sum_)}
            for sums in (own, part)
        ]
        for sums in rest:
            sums.pop(("contraction", ""), None)
        assert rest[0] == rest[1], site


def test_an_account_of_the_group_balances_and_is_that_of_one_book(three, period):
    """Opening, in and gains are out, losses and closing in every part; in all, each side is that of one book."""
    account = three.group.asks(f"account {period} --group-by site")
    signs = {"opening": 1, "in": 1, "gain": 1, "out": -1, "loss": -1, "closing": -1}
    for one in (*account["groups"], account["total"]):
        assert _signed(_sums(one["lines"]), **signs) == (0, 0), one["group"]
    sums = [_sums(desk.asks(f"account {period}")["total"]["lines"]) for desk in (three.group, three.one)]
    for side in signs:
        assert sums[0].get(side, (0, 0)) == sums[1].get(side, (0, 0)), side
    assert _sums(account["total"]["lines"])["closing"] == sums[0]["closing"]


def test_a_cask_that_never_arrived_is_in_transit_and_behind_that_figure(three):
    """The last day of May, 200 l of S 5 are nowhere but on the way; whoever asks for the entries gets the despatch."""
    found = three.group.asks("account --from 2026-05-01 --to 2026-06-30 --list closing:'in transit'")
    assert [row["ref"] for row in found["rows"]] == ["MD 26-4"]
    text = three.group("account --from 2026-05-01 --to 2026-06-30 --group-by site").out
    assert "regauge gain" not in text.partition("STILLS")[2].partition("total")[0]


def test_papers_of_the_group_say_what_the_sites_do_not_agree_on(three, tmp_path):
    """The account all of what travelled until its end; a dossier what lies behind its lot."""
    account = "account --from 2026-05-01 --to 2026-05-31 --group-by site"
    told = {(one["kind"], one["site"]) for one in three.group.asks(account)["differences"]}
    assert {("amount", "QUAY"), ("strength", "QUAY"), ("not received", "HILL")} <= told
    assert "differences" not in three.group.asks("account --from 2026-04-01 --to 2026-05-05 --group-by site")
    assert "differences" not in three.one.asks("account --from 2026-05-01 --to 2026-05-31")
    three.group(f"{account} -o {tmp_path / 'account.pdf'}").done()
    three.group(f"dossier 'Quay lot' -o {tmp_path / 'lot.pdf'}").done()
    of_account, of_lot = (_text(tmp_path / name) for name in ("account.pdf", "lot.pdf"))
    assert "What the sites do not agree on, to be explained" in of_account
    assert "not received" in of_account
    assert "To be explained: site QUAY" in of_lot
    assert "MD 26-4" not in of_lot
    assert "lost between sites" in of_lot


def _text(path):
    with pypdfium2.PdfDocument(path) as document:
        return " ".join("".join(page.get_textpage().get_text_range() for page in document).split())


def test_what_is_on_its_way_says_from_where_to_where(three):
    assert "STILLS to HILL" in next(line for line in three.group("stock").out.splitlines() if "MD 26-4" in line)


@pytest.mark.parametrize(
    "line",
    [
        "show 'Hill lot' --history", "stock", "stock --at 2026-05-10", "find Quay", "today", "due", "people",
        "trace 'Hill lot'", "trace 'S 1' --forward", "affected --item 'S 1'", "recall --list", "journal", "casks",
        "provenance 'H 1'", "evaporation", f"account {PERIOD}", "verify", "journal-hash", "checkup", "settings",
        "scan L-200000-Y", "approval 'Hill lot'", "statements 'Hill lot'", "tastings", "uncertainty 'Hill blend'",
        "print-log", "reserve --list", "compare 'Hill blend' 'Quay blend'", "reach 'S 4'",
    ],
)  # fmt: skip
def test_every_question_is_answered(three, line):
    three.group.does(line)
    three.group.asks(line)


@pytest.mark.parametrize(
    "line",
    [
        "cask New", "note 'H 1' looked", "void 21001 --reason no", "despatch 'Hill lot' 3 --customer 'Ferrow Inns'",
        "settings --set zone=Europe/London", "reserve cask 3", "close", "hold 'H 1' --reason no",
        "recall --item 'S 1' --actual --reason no", "label 'From S 4' --template vial-roll-30x15 -o FOLDER/l.pdf",
        "export entries -o FOLDER/entries.jsonl",
    ],
)  # fmt: skip
def test_nothing_is_recorded_there_and_it_says_where(three, line):
    """In the words of a group, and the book is what it was."""
    before = three.group.asks("journal-hash")
    ran = three.group(line.replace("FOLDER", str(three.folder)))
    assert ran.status == 1
    assert "this is the book of a group" in ran.err
    assert three.group.asks("journal-hash") == before


def test_papers_of_a_group_are_printed_and_not_recorded(three, tmp_path):
    """Dossier, account and the history of a cask; what a dossier vouches for is held against the book later."""
    before = three.group.asks("journal-hash")
    made = three.group.asks(f"dossier 'Hill lot' -o {tmp_path / 'd.pdf'} -o {tmp_path / 'd.json'}")
    assert made["entries"] == []
    three.group.does(f"account {PERIOD} -o {tmp_path / 'a.pdf'}")
    three.group.does(f"provenance 'H 1' -o {tmp_path / 'c.pdf'}")
    assert {one.read_bytes()[:5] for one in tmp_path.glob("*.pdf")} == {b"%PDF-"}
    dossier = json.loads((tmp_path / "d.json").read_text("utf-8"))
    assert {int(one.partition(":")[0]) for one in dossier["heads"]} >= {
        26001,
        22002,
        16003,
    }  # where each site's journal ends
    told = three.group.asks(f"verify --against {tmp_path / 'd.json'}")["against"]
    assert (told["agrees"], told["later"]) == (True, 0)
    assert three.group.asks("journal-hash") == before


def test_a_paper_is_not_printed_where_the_group_was_changed(three, tmp_path):
    """An entry of a site that was written anew, or a row that does not follow from them."""
    for change, said in (
        ("UPDATE site_entry SET bytes = replace(bytes, '61.2', '61.3') WHERE code = 1", "of site STILLS is not what"),
        ("UPDATE ledger SET mass = mass + 1 WHERE item IN (SELECT key FROM item WHERE kind = 'lot')", "held does not"),
    ):
        path = tmp_path / "changed.pourbook"
        three.group.does(f"backup {path}")
        with Book.open(path) as book, book.store.transaction():
            book.store.execute(change)
        ran = Desk(path, here)(f"dossier 'Hill lot' -o {tmp_path / 'd.pdf'}")
        assert said in ran.err
        path.unlink()
