"""The journal at the station: read, put right after a look at what would change, verified, backed up.

Hashes are worked out with hashlib alone, from what the page shows of an entry.
"""

import re
import shutil
import sqlite3
import time
from hashlib import sha256
from html import unescape

import pytest
from house import HOW
from stations import Caller, running

from pourbook import Book
from pourbook.book.search import Wanted
from pourbook.codes.identifiers import readable

LOT = "L0000038"


@pytest.fixture(scope="module")
def book(open_house):
    with Book.open(open_house.book) as book:
        yield book


def numbers(page):
    """Entries of the list, in its order."""
    return [int(found) for found in re.findall(r'<th scope="row" class="n"><a href="/journal/(\d+)"', page)]


def done(caller, answer):
    """The page of a job that was begun, once it is done."""
    assert answer.status_code == 303, answer.text
    for _ in range(600):
        page = caller.get(answer.headers["location"])
        if 'aria-busy="true"' not in page.text:
            return page.text
        time.sleep(0.05)
    raise AssertionError("it takes for ever")


def test_the_newest_come_first_and_every_entry_is_reached_page_by_page(caller, book):
    """From the list to its end by the links of its pages, each entry once."""
    found, address = [], "/journal"
    while address:
        page = caller.get(address).text
        found += numbers(page)
        older = re.search(r'href="([^"]+)">Older', page)
        address = unescape(older[1]) if older else ""
    assert found == list(range(book.head_number(), 0, -1))


@pytest.mark.parametrize(
    ("asked", "which"),
    [
        ({"kind": "gauge"}, Wanted(kind="gauge")),
        ({"who": "isla farrow"}, Wanted(who="Isla Farrow")),
        ({"first": "40", "last": "60"}, Wanted(40, 60)),
    ],
)
def test_it_is_narrowed_as_the_command_narrows_it(caller, book, asked, which):
    """The same entries, of one kind, by one person, between two numbers."""
    page = caller.get("/journal", params=asked).text
    wanted = [one.number for one in book.entries_listed(which)][::-1]
    assert numbers(page) == wanted[:50]


def test_entries_of_an_item_on_paper_and_a_number_that_leads_to_its_entry(caller, book):
    """What concerns a lot; a PDF of it; `number` goes there."""
    page = caller.get("/journal", params={"item": "Lot 2026-1"}).text
    assert numbers(page) == [one.number for one in book.entries_listed(item=LOT)][::-1][:50]
    assert caller.get("/journal.pdf", params={"item": LOT}).content[:5] == b"%PDF-"
    assert caller.get("/journal", params={"number": "12"}).headers["location"] == "/journal/12"
    for asked in ({"kind": "dance"}, {"since": "soon"}, {"first": "x"}, {"number": "-1"}, {"item": "no such thing"}):
        assert caller.get("/journal", params=asked).status_code == 422, asked


def test_a_hash_can_be_worked_out_from_what_the_page_shows(caller, book):
    """SHA-256 of the hash before it, as bytes, and the text that is kept."""
    page = caller.get("/journal/117").text
    kept = unescape(re.search(r'<pre class="card kept"[^>]*>(.*?)</pre>', page, re.DOTALL)[1])
    shown, before = re.findall(r'<code class="hash">([0-9a-f]{64})</code>', page)
    assert sha256(bytes.fromhex(before) + kept.encode()).hexdigest() == shown
    assert shown == next(iter(book.entries_listed(Wanted(117, 117)))).hash
    assert "294.00 l, 48.30 % vol" in page, "what the lot held then"


def test_a_withdrawn_person_is_shown_by_a_short_name(demo, tmp_path):
    """But in what the hash is of, all that stands in the chain for them stands there."""
    path = tmp_path / "quillmere.pourbook"
    shutil.copy(demo, path)
    with Book.open(path) as book:
        done = book.withdraw_person(HOW._replace(confirm=True), "Isla Farrow")
        reference = done.withdrawal.references[0]
        number = next(iter(book.entries_listed(Wanted(who=reference)))).number
        lot = book.find("Lot 2026-1")
    with running(path) as station:
        pages = [Caller(station.url).get(address).text for address in (f"/journal/{number}", f"/item/{lot}/trace")]
        found = Caller(station.url).get("/journal", params={"who": readable(reference)}).text
    kept = re.search(r'<pre class="card kept"[^>]*>(.*?)</pre>', pages[0], re.DOTALL)[1]
    assert reference in kept
    pages[0] = pages[0].replace(kept, "")
    for page in pages:
        assert reference not in page
        assert readable(reference) in page
    assert numbers(found)


def test_every_entry_has_its_page(caller, book):
    """Also an import, which holds how many items it brought, not which."""
    numbers = range(1, book.head_number() + 1)
    assert [one for one in numbers if caller.get(f"/journal/{one}").status_code != 200] == []


def test_no_entry_of_that_number(caller):
    assert [caller.get(f"/journal/{one}").status_code for one in ("0", "99999", "x", "9" * 40)] == [404, 404, 400, 400]


def test_a_void_shows_first_what_it_would_change(house_with_accounts, as_role):
    """The rehearsal names the bottles that change and keeps nothing; then it is done, by whoever is signed in."""
    cellar = as_role("cellar")
    with Book.open(house_with_accounts.book) as book:
        head = book.head()
        looked = cellar.post("/journal/118/void", {"reason": "never left the house"})
        assert "210.00 l, 48.30 % vol → 294.00 l, 48.30 % vol" in looked.text
        assert book.head() == head
        assert cellar.post("/journal/118/void", {"reason": ""}).status_code == 422
        gone = cellar.post("/journal/118/void", {"reason": "never left the house", "sure": "yes"})
        assert (gone.status_code, gone.headers["location"]) == (303, "/journal/118")
        (void,) = book.entries_listed(last=1)
        assert (void.kind, void.entry["who"], void.entry["reason"]) == ("void", "Tam Orrock", "never left the house")
        assert book.show(LOT).volume_ml_20c == pytest.approx(294_000, abs=0.1)
        assert "no longer counts" in cellar.get("/journal/118").text
        assert book.verify().faults == ()


def test_a_correction_that_leaves_a_later_pour_dry_is_refused_and_names_it(as_role):
    """Less went into Vatting 2 than was poured out of it in entry 114: the sentence says so, in the form's own box."""
    wrong = {"line": "1", "amount": "33 l", "reason": "misread the meter"}
    refused = as_role("cellar").post("/journal/60/replace", wrong, headers={"HX-Request": "true"})
    assert (refused.status_code, "entry 114" in refused.text) == (409, True)


def test_a_pour_is_replaced_with_what_was_right(house_with_accounts, as_role):
    """A misread amount: shown first, then it stands in the other's place and keeps its time."""
    technician = as_role("technician")
    with Book.open(house_with_accounts.book) as book:
        old = next(iter(book.entries_listed(Wanted(60, 60))))
        right = {"line": "1", "amount": "34.5 l", "reason": "misread the meter"}
        looked = technician.post("/journal/60/replace", right)
        assert (looked.status_code, "This would change" in looked.text) == (200, True)
        done = technician.post("/journal/60/replace", right | {"sure": "yes"})
        new = int(re.fullmatch(r"/journal/(\d+)", done.headers["location"])[1])
        stands = next(iter(book.entries_listed(Wanted(new, new))))
        assert stands.entry["replaces"] == 60
        assert stands.happened_us == old.happened_us
        assert stands.entry["body"]["lines"][0]["typed"]["amount"] == "34.5 l"


@pytest.mark.in_a_file("back-ups beside it are listed")
def test_an_auditor_reads_all_and_changes_nothing(house_with_accounts, as_role):
    """Every page of the book answers; every deed that changes something is refused before its form is looked at."""
    auditor = as_role("auditor")
    pages = (
        "/journal",
        "/journal/117",
        "/close",
        "/verify",
        "/backup",
        "/account",
        "/evaporation",
        "/affected",
        "/recalls",
    )
    assert [auditor.get(page).status_code for page in pages] == [200] * len(pages)
    assert not re.search(r'action="/(journal/\d+/|close|backup|recalls|account/(declare|print))', "".join(
        auditor.get(page).text for page in pages
    ))  # fmt: skip
    with Book.open(house_with_accounts.book) as book:
        head = book.head()
        deeds = (
            "/journal/117/void", "/journal/117/replace", "/close", "/backup", "/recalls", "/recall/1/release",
            "/account/declare", "/account/print", f"/item/{LOT}/dossier",
        )  # fmt: skip
        assert [auditor.post(deed, {"reason": "x", "sure": "yes"}).status_code for deed in deeds] == [403] * len(deeds)
        assert book.head() == head


def test_verification_tells_how_far_it_is_and_what_it_found(caller, book):
    """By the head on the page; a hash that is another's; a dossier as JSON, sent as a file; nonsense."""
    number, head = book.head()
    page = caller.get("/verify").text
    assert f"{number}:{head}" in page
    told = done(caller, caller.post("/verify", {"against": f"{number}:{head}"}))
    assert f"{number} entries: every hash and every table agrees." in told
    assert f"The history up to entry {number} is unchanged." in told
    told = done(caller, caller.post("/verify", {"against": f"{number}:{'ab' * 32}"}))
    assert "The histories differ" in told
    paper = caller.get(f"/item/{LOT}/dossier.json").content
    told = done(caller, caller.post("/verify", files={"paper": ("dossier.json", paper)}))
    assert "says what the book said then" in told
    assert caller.post("/verify", {"against": "nonsense"}).status_code == 422


def test_a_scanned_symbol_goes_into_the_form(caller, book):
    """As it stands on a dossier; anything else is bad."""
    number, head = book.head()
    good = caller.post("/verify/scan", {"scan": f"pourbook:head:{number}:{head}"}, headers={"HX-Request": "true"})
    assert ('data-outcome="good"' in good.text, f"pourbook:head:{number}:{head}" in good.text) == (True, True)
    assert 'data-outcome="bad"' in caller.post("/verify/scan", {"scan": "C000001H"}).text


def test_damage_is_found(demo, tmp_path, as_role):
    """A byte of an entry altered in the file: the page names the entry."""
    import shutil

    from stations import Caller, running

    damaged = tmp_path / "damaged.pourbook"
    shutil.copy(demo, damaged)
    with sqlite3.connect(damaged) as file:
        file.execute("UPDATE entry SET bytes = replace(bytes, '197.4 l', '179.4 l') WHERE number = 29")
    file.close()
    with running(damaged) as station:
        caller = Caller(station.url)
        told = done(caller, caller.post("/verify"))
    assert "entry 29 is not what was recorded: its hash differs" in told


@pytest.mark.in_a_file("back-ups beside it")
def test_a_back_up_is_whole_made_by_a_manager_and_taken_along_by_an_auditor(house_with_accounts, as_role, tmp_path):
    """Made beside the book under a name of the program's, listed, downloaded: the same book."""
    manager = as_role("manager")
    assert "Copied and checked" in done(manager, manager.post("/backup"))
    (address,) = re.findall(r'href="(/backup/[\d-]+)"', manager.get("/backup").text)
    copy = tmp_path / "copy.pourbook"
    copy.write_bytes(manager.get(address).content)
    with Book.open(copy) as kept, Book.open(house_with_accounts.book) as book:
        assert kept.head() == book.head()
        assert kept.verify().faults == ()
    assert [as_role(role).get(address).status_code for role in ("auditor", "cellar", "blender")] == [200, 403, 403]
    assert f'href="{address}"' in as_role("auditor").get("/backup").text
    assert address not in as_role("cellar").get("/backup").text
    for other in ("20200101-000000", "..", "%2e%2e%2fquillmere.pourbook", "quillmere.pourbook"):
        assert manager.get(f"/backup/{other}").status_code in (404, 200 if other == ".." else 404), other


def test_a_period_is_closed_and_declared(house_with_accounts, as_role):
    """Closed by the manager with a reason; its account is declared by a rule, and shown so."""
    manager = as_role("manager")
    assert manager.post("/close", {"when": "2025-01-01", "reason": ""}).status_code == 422
    closed = manager.post("/close", {"when": "2025-01-01", "reason": "stock-take 2024"})
    assert closed.status_code == 303, closed.text
    asked = {"first": "2024-01-01", "last": "2024-12-31"}
    declared = manager.post("/account/declare", asked | {"rule": "half-up 0.1"})
    assert declared.status_code == 303, declared.text
    page = manager.get("/account", params=asked).text
    assert "Declared:" in page
    assert manager.post("/account/declare", asked | {"rule": "sideways 1"}).status_code == 422
    printed = manager.post("/account/print", asked)
    assert (printed.status_code, printed.content[:5]) == (200, b"%PDF-")


def test_every_figure_of_an_account_leads_to_its_entries(caller, book):
    """Their sum is the figure; the PDF and the table are of the same account; looking records nothing."""
    asked, head = {"first": "2024-01-01", "last": "2024-12-31", "by_kind": "yes"}, book.head()
    page = caller.get("/account", params=asked).text
    found = re.findall(r'href="(/account/entries[^"]+)" aria-label="entries behind ([\d.]+) LPA"', page)
    assert len(found) > 10
    for address, figure in found:
        entries = caller.get(unescape(address))
        assert entries.status_code == 200, address
        sums = re.findall(r'<tr class="now">.*?<td class="n">\d+</td><td class="n">([\d.-]+)</td>', entries.text)
        if "group=&" not in address and not address.endswith("group="):
            assert sum(map(float, sums)) == pytest.approx(float(figure), abs=0.002), address
    assert caller.get("/account.pdf", params=asked).content[:5] == b"%PDF-"
    assert caller.get("/account.csv", params=asked).text.startswith("kind,side,heading,lpa_l")
    assert caller.get("/account", params={"first": "2024-01-01"}).status_code == 422
    assert book.head() == head


def test_what_casks_lose_is_what_the_book_says(caller, book):
    """Each cask with its yearly loss of volume, from its gauges."""
    page = caller.get("/evaporation").text
    known = [one for one in book.evaporation().casks if one.outlook and one.outlook.found]
    assert len(known) > 3
    for one in known:
        assert f"{one.outlook.found.loss_volume().expected * 100:.2f} ±" in page
