"""Batches and lots by pages: those at work first, then all; a batch that is opened without a plan, and reduced."""

import re
import shutil
from html import unescape

import pytest
from command import Desk, here
from stations import Caller, make_accounts, running


def words(answer):
    """What a page says, without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", answer.text)).split())


@pytest.fixture(scope="module")
def house(demo, tmp_path_factory):
    """A station of a copy of the demo house with accounts."""
    book = tmp_path_factory.mktemp("batches") / "quillmere.pourbook"
    shutil.copy(demo, book)
    make_accounts(book)
    with running(book) as station:
        yield station


@pytest.fixture(scope="module")
def cellar(house):
    return Caller(house.url).sign_in("cellar")


def test_what_is_at_work(house, cellar):
    """A batch in its vat is to be bottled; each has its stage, contents and next step."""
    page = cellar.get("/batches")
    held = [one for one in Desk(house.book, here).asks("stock --kind batch")["items"] if one["volume_ml_20c"]]
    assert held
    for one in held:
        assert f'href="/item/{one["id"]}"' in page.text
        assert f"{one['volume_ml_20c'] / 1000:.2f} l" in words(page)
    assert "to be bottled" in words(page)


def test_all_of_them_page_by_page(house, cellar):
    """The latest first; each batch and lot of the book once."""
    desk = Desk(house.book, here)
    for number in range(55):
        desk.does(f"batch 'Tank {number}' --who 'Tam Orrock'")
    first = cellar.get("/batches/batch")
    found = re.findall(r'scope="row"><a class="item" href="/item/(B\w+)"', first.text)
    further = re.search(r'href="(/batches/batch\?below=B\w+)"', first.text)[1]
    second = cellar.get(further)
    found += re.findall(r'scope="row"><a class="item" href="/item/(B\w+)"', second.text)
    assert "Earlier ones" not in words(second)
    every = {one["id"] for one in desk.asks("stock --kind batch")["items"]}
    assert len(found) == len(set(found)) == 55 + 3  # the sample house has three, as its own documents name them
    assert every <= set(found)
    assert found == sorted(found, reverse=True)
    lots = cellar.get("/batches/lot")
    assert set(re.findall(r'href="/item/(L\w+)"', lots.text)) == {"L000001C", "L000002A", "L0000038"}
    for path in ("/batches/cask", "/batches/batch?below=L000001C"):
        assert cellar.get(path).status_code == 404


def test_a_batch_is_opened_without_a_plan(house, cellar):
    """It says so; who may not open one sees no form and is refused."""
    opened = cellar.post("/batches/open", {"ref": "Tank 900", "name": "Bought in <b>", "place": "Tank farm"})
    batch = Desk(house.book, here).asks("show 'Tank 900'")
    assert opened.headers["location"] == f"/item/{batch['id']}/plan"
    page = cellar.get(opened.headers["location"])
    assert "opened without a plan" in words(page)
    assert "<b>" not in page.text
    auditor = Caller(house.url).sign_in("auditor")
    assert "Open a batch" not in words(auditor.get("/batches"))
    assert auditor.post("/batches/open", {"ref": "Tank 901"}).status_code == 403


def test_a_reduction_in_steps(house, cellar):
    """Planned in two steps with a rest; water, a gauge, and the next step worked out from what was gauged."""
    desk = Desk(house.book, here)
    desk.does("batch 'Vat R' --who 'Tam Orrock'")
    batch = desk.asks("show 'Vat R'")["id"]
    casks = [one["id"] for one in desk.asks("stock --kind cask")["items"] if one["volume_ml_20c"] > 100_000][:2]
    wrong = cellar.post(f"/item/{batch}/dump", {"casks": casks[0], "strength": "60"}, headers={"HX-Request": "true"})
    assert wrong.status_code == 422
    assert cellar.post(f"/item/{batch}/dump", {"casks": "\n".join(casks), "confirm": "yes"}).status_code == 303
    assert not any(desk.asks(f"show {cask}")["volume_ml_20c"] for cask in casks)
    address = f"/item/{batch}/reduce"
    assert "Keep the plan" in words(cellar.get(address))
    refused = cellar.post(address, {"to": "70", "steps": "2"}, headers={"HX-Request": "true"})
    assert refused.status_code == 422, words(refused)
    assert cellar.post(address, {"to": "46", "steps": "2", "rest_days": "5"}).status_code == 303
    step = desk.asks("reduce 'Vat R'")["reduction"]["ahead"][0]
    kg = step["water_mg"] / 1e6
    said = words(cellar.get(address))
    assert f"water to {step['to_percent']:.2f} % vol" in said
    assert f"{kg:.2f} kg" in said
    far_off = cellar.post(f"/item/{batch}/water", {"water": f"{kg * 1000:.0f}"}, headers={"HX-Request": "true"})
    assert far_off.status_code == 409
    assert "It is right: record it" in words(far_off)
    assert cellar.post(f"/item/{batch}/water", {"water": f"{kg:.2f}", "about": "lot W-31"}).status_code == 303
    done = desk.asks("reduce 'Vat R'")["reduction"]["done"]
    assert [(round(one["water_mg"] / 1e6, 2), one["about"]) for one in done] == [(round(kg, 2), "lot W-31")]
    said = words(cellar.get(address))
    assert "at rest until" in said
    assert "gauge it first" in said
    assert "at rest" in words(cellar.get("/batches"))
    early = cellar.post(f"/item/{batch}/water", {"water": "20"}, headers={"HX-Request": "true"})
    assert (early.status_code, "rests until" in words(early)) == (409, True)
