"""Every answer is as its published schema says: the sample house, and a house with all that is rare."""

import json
import sqlite3
from contextlib import closing

import pytest
from command import Desk, here
from house import House

jsonschema = pytest.importorskip("jsonschema")


def schema(answer):
    """The schema that is published for an answer."""
    return json.loads(here("schema", answer).done().out)


def check(answer, document):
    """The document against the schema of the answer."""
    published = schema(answer)
    jsonschema.Draft202012Validator.check_schema(published)
    jsonschema.Draft202012Validator(published).validate(document)


@pytest.fixture(scope="module")
def sample(tmp_path_factory):
    """The sample house of the demo."""
    folder = tmp_path_factory.mktemp("demo") / "quillmere"
    here("demo", folder).done()
    return Desk(folder / "quillmere.pourbook", here)


@pytest.fixture(scope="module")
def rich(tmp_path_factory):
    """Pending strengths, gains nobody explains, a return, colouring, a heel, an empty cask, corrections, holds."""
    path = tmp_path_factory.mktemp("rich") / "house.pourbook"
    with House(path) as house:
        house.open("C1", ref="Row 1/01", wood="virgin chestnut")
        house.fill("C1", "200 l", "63.5", spirit="malt spirit", wood_days=0)
        house.open("C2", ref="Row 1/02")
        house.fill("C2", "180 l", "58", spirit="grain spirit", pending=True)
        house.open("C3")
        house.open("L2", ref="Lot 2")
        house.gauge("C3", "1 l", "60")
        house.draw("C1", "V1", "500 ml")
        house.pour("V1", "T1", "70 ml")
        house.pour("C1", "L2", "7 l", verb="bottle", bottles=10)
        house.pour("C1", "B1", "50 l")
        house.dump("C2", "B1")
        house.pour("water", "B1", "10 l")
        house.pour("B1", "L1", "70 l", verb="bottle", bottles=100)
        house.hold("C1")
        (spare,) = house.note("C1", "bung replaced").numbers
    desk = Desk(path, here)
    for line in (
        "despatch 'Lot 2' 6 --customer 'Harbour Row'",
        "return 'Lot 2' 2 --customer 'Harbour Row'",
        "gauge 'Row 1/01' --amount '149 l' --strength 63.1",
        f"void {spare} --reason 'entered twice'",
    ):
        desk.does(line)
    return desk


def items(desk):
    """Every item on hand, and one that is empty."""
    return [row["id"] for row in desk.asks("stock")["items"]]


@pytest.mark.parametrize("house", ["sample", "rich"])
def test_every_reading_verb_answers_as_its_schema_says(house, request, tmp_path):
    """All items, back and forward, by every basis, with and without options."""
    desk = request.getfixturevalue(house)
    check("stock", desk.asks("stock"))
    check("stock", desk.asks("stock --at 1990-01-01"))
    check("journal", desk.asks("journal"))
    check("verify", desk.asks("verify"))
    check("journal-hash", desk.asks("journal-hash"))
    check("backup", desk.asks(f"backup {tmp_path / 'copy'}"))
    check("restore", desk.asks(f"restore {tmp_path / 'copy'} {tmp_path / 'again'}"))
    check("repair", desk.asks("repair"))
    check("verify", desk.asks(f"verify --against {tmp_path / 'copy'}"))
    for item in items(desk):
        check("show", desk.asks(f"show {item} --history"))
        check("show", desk.asks(f"show {item} --at 1990-01-01"))
        check("trace", desk.asks(f"trace {item} --forward --by volume"))
        back = desk.asks(f"trace {item} --by mass --at 2999-12-30")
        check("trace", back)
        for origin in back["origins"]:
            check("trace-why", desk.asks(f"trace {item} --by mass --why {origin['entry']}"))


def test_a_damaged_book_is_a_document_too(rich, tmp_path):
    """Faults found, and a history that differs."""
    copy = tmp_path / "copy.pourbook"
    rich.does(f"backup {copy}")
    number, journal_hash = rich.asks("journal-hash").values()
    wrong = here("verify", "--against", f"{number}:{'0' * 64}", "--json", book=copy)
    assert wrong.status == 1
    check("verify", wrong.json)
    with closing(sqlite3.connect(copy)) as changed, changed:
        changed.execute("UPDATE ledger SET mass = mass + 1")
    damaged = here("verify", "--against", f"{number}:{journal_hash}", "--json", book=copy)
    assert damaged.status == 1
    assert damaged.json["faults"]
    check("verify", damaged.json)


def test_schemas_are_listed_and_an_unknown_one_is_refused():
    """Names, one a line."""
    listed = here("schema").done().out.split()
    assert {"journal", "journal-hash", "show", "stock", "trace", "trace-why", "verify"} <= set(listed)
    for answer in listed:
        jsonschema.Draft202012Validator.check_schema(schema(answer))
    ran = here("schema", "weather")
    assert ran.status == 1
    assert "has no schema" in ran.err
    assert "choose one of: " in ran.err


def test_a_key_that_no_schema_knows_is_seen(sample):
    """The set of keys is fixed: what is added must be published."""
    document = sample.asks("journal-hash") | {"more": 1}
    with pytest.raises(jsonschema.ValidationError):
        check("journal-hash", document)
