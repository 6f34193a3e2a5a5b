"""The second person at the station: somebody else gives name and PIN, and their account stands for a key."""

import re
import shutil

import pytest
from command import Desk, here
from stations import PINS, Caller, make_accounts, running

SECOND = dict(zip(("second", "second_pin"), PINS["blender"], strict=True))


@pytest.fixture(scope="module")
def house(demo, tmp_path_factory):
    """A station whose house wants two people for everything it can."""
    book = tmp_path_factory.mktemp("two") / "quillmere.pourbook"
    shutil.copy(demo, book)
    make_accounts(book)
    here("settings", "--set", "two_people=approval; destruction; void", book=book).done()
    with running(book) as station:
        yield station


@pytest.fixture
def manager(house):
    return Caller(house.url).sign_in("manager")


@pytest.fixture
def desk(house):
    return Desk(house.book, here)


def lose(caller, **more):
    """A destruction, sent as the page sends it."""
    asked = {"amount": "10 ml", "kind": "destruction", "witness": "officer 7", "confirm": "yes"}
    return caller.post("/item/C0000163/loss", asked | more, headers={"HX-Request": "true"})


def test_forms_ask_for_the_second_person(manager):
    page = manager.get("/item/C0000163").text
    assert 'id="loss-second"' in page
    assert 'type="password"' in page


def test_one_person_alone_is_refused(manager, desk):
    before = desk.asks("journal-hash")
    assert "needs a second person" in lose(manager).text
    assert desk.asks("journal-hash") == before


def test_whoever_was_not_needed_is_told_so(manager, desk):
    """Whoever agreed must not believe that the journal says so."""
    number = desk.asks("note C0000163 sound")["entries"][-1]
    for address, asked in (
        ("/item/C0000163/loss", {"amount": "1 ml", "kind": "spill"}),
        (f"/journal/{number}/void", {"reason": "twice", "sure": "yes"}),
        ("/settings", {"name": "currency", "value": "EUR"}),
    ):
        page = manager.post(address, asked | SECOND, follow_redirects=True)
        assert "wants no second person for this, so the journal does not name one" in page.text, address
        assert "second" not in desk.asks("journal --names")["entries"][-1]["body"]


def test_bottles_that_were_destroyed_ask_for_one(manager, desk):
    """Where they are counted, and where the run ends, which pours them."""
    desk.does("cask 'Two 1' --fill '60 l' --strength 46 --in-wood 0")
    desk.does("batch 'Two'")
    desk.does("dump Two 'Two 1'")
    lot = desk.does("bottling begin Two --size '700 ml'").id
    page = manager.get(f"/item/{lot}/bottling").text
    assert {'id="count-second"', 'id="line-second"', 'id="end-second"', 'id="change-second"'} <= set(
        re.findall(r'id="[a-z]+-second"', page)
    )
    count = {"filled": "40", "destroyed": "2", "witness": "officer 7"}
    rest = {"left": "32 l", "kind": "line", "confirm": "yes"}
    for address, asked in (("add", count), ("end", rest)):
        assert "needs a second person" in manager.post(f"/item/{lot}/bottling/{address}", asked).text
        page = manager.post(f"/item/{lot}/bottling/{address}", asked | SECOND, follow_redirects=True)
        assert "wants no second person" not in page.text
    assert {one["body"]["second"] for one in desk.asks("journal --names")["entries"][-6:] if "second" in one["body"]}


def test_a_wrong_pin_and_half_of_it_are_refused(manager, desk):
    before = desk.asks("journal-hash")
    lose(manager, **SECOND | {"second_pin": "999999"})
    lose(manager, second=SECOND["second"])
    assert desk.asks("journal-hash") == before


def test_nobody_is_their_own_second_person(manager, desk):
    name, pin = PINS["manager"]
    before = desk.asks("journal-hash")
    assert "no second person beside" in lose(manager, second=name, second_pin=pin).text
    assert desk.asks("journal-hash") == before


def test_the_account_stands_for_a_key(manager, desk):
    answer = lose(manager, **SECOND)
    assert answer.status_code < 400, answer.text
    last = desk.asks("journal --names")["entries"][-1]
    assert (last["body"]["second"], last["body"]["second_account"]) == (SECOND["second"], 1)
    assert "signed in at the station" in manager.get(f"/journal/{last['number']}").text
    assert desk("verify").status == 0
    assert SECOND["second_pin"] not in answer.text + desk.does("journal --names --json").out


def test_a_pin_is_on_no_page_that_asks_again(manager, desk):
    """Without scripts what was typed is sent again from a page: but the PIN, which is typed anew."""
    poured = [one for one in desk.asks("journal --kind pour")["entries"] if one["body"]["verb"] == "despatch"]
    entry = poured[-1]["number"]
    page = manager.post(f"/journal/{entry}/void", {"reason": "twice", "confirm": "yes"} | SECOND)
    assert SECOND["second_pin"] not in page.text
    assert 'name="second_pin"' in page.text
