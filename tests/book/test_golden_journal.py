"""A journal kept for ever: every later version must read it in to the same head and the same contents.

`golden_journal.jsonl` holds, line by line, the bytes of a small journal with each kind of entry in each
of its shapes; `golden_contents.json` its head, and what every item holds once it is folded. Neither is
ever written anew once a version has left the house: a version that reads them differently reads every
house's book differently. What a version *writes* may grow; then a second pair is added beside the first.
(Before that, delete both and run `pytest --update-golden`.)
"""

import json
import re
from pathlib import Path

import pytest
from house import Clock, House, moment, new_make

from pourbook import Facts, Gauge, Item, Note, Pour, Recipe, RecipePart, Reserve
from pourbook.book.entries import Component, Declared, DeclaredLine, Imported, Packed, Paper, Recall, Release
from pourbook.book.entries import House as Settings
from pourbook.book.journal import GENESIS, chain, parsed
from pourbook.book.recall_scope import Suspect
from pourbook.book.store import Store
from pourbook.book.trade_numbers import next_ssccs
from pourbook.book.verifying import repair
from pourbook.codes.identifiers import key_of, of_key, write
from pourbook.gauging.recorded_values import GaugeUncertainty, UsedInstrument
from pourbook.quantities import read_amount
from pourbook.times import moment_of
from pourbook.whole_book import Book

HERE = Path(__file__).parent
JOURNAL = HERE / "golden_journal.jsonl"
CONTENTS = HERE / "golden_contents.json"


def read_in(lines):
    """A book from the bytes of its entries alone: hashes computed, tables made anew."""
    store = Store.create(":memory:")
    store.execute("INSERT INTO coded (since) VALUES (?)", (len(lines) + 1,))  # it is of format 2
    head = GENESIS
    for line in lines:
        entry = parsed(line)
        head = chain(head, line)
        store.execute(
            "INSERT INTO entry (number, kind, happened, place, gone, bytes, hash) VALUES (?,?,?,?,?,?,?)",
            (entry["number"], entry["kind"], moment_of(entry["happened"]), entry["number"], 0, line.decode(), head),
        )
    repair(store)
    return Book(store, clock=Clock("2030-01-01"))


def contents(book):
    """Head, and what every item holds and is called."""
    items = [identifier for (identifier,) in book.store.query("SELECT key FROM item ORDER BY key")]
    views = [book.show(of_key(key)) for key in items]
    return {
        "head": book.head()[1],
        "entries": book.head()[0],
        "items": {view.id: [*view.holding.liquid, view.facts] for view in views},
        "next": {kind: book.next_id(kind) for kind in ("cask", "vial", "batch", "lot")},
        "settings": dict(book.store.query("SELECT name, value FROM setting")),
    }


def golden_lines():
    """The entries, oldest first."""
    return JOURNAL.read_bytes().splitlines()


@pytest.fixture(scope="module", autouse=True)
def _golden_files(request):
    """Written where they are missing, and only if that is asked for."""
    if request.config.getoption("--update-golden", default=False) and not JOURNAL.exists():
        with golden_house() as house:
            rows = house.book.store.query("SELECT bytes FROM entry ORDER BY number")
            JOURNAL.write_bytes(b"".join(row[0].encode() + b"\n" for row in rows))
            told = json.dumps(contents(house.book), ensure_ascii=False, indent=1)
            CONTENTS.write_text(told + "\n", encoding="utf-8", newline="\n")


def test_the_golden_journal_reads_in_to_the_same_head_and_contents():
    """Chain, fold, facts, settings, numbers: as on the day it was written."""
    book = read_in(golden_lines())
    assert contents(book) == json.loads(CONTENTS.read_text(encoding="utf-8"))
    assert book.verify().faults == ()


def test_the_golden_journal_has_every_kind_of_entry():
    """So that none can change unseen."""
    kinds = {parsed(line)["kind"] for line in golden_lines()}
    assert kinds == {
        "close", "component", "declared", "facts", "gauge", "hold", "house", "imported", "item", "note", "packed",
        "paper", "pour", "recall", "recipe", "release", "reserve", "void",
    }  # fmt: skip
    assert any("replaces" in parsed(line) for line in golden_lines())


def test_what_is_recorded_today_is_what_was_recorded_then():
    """The same drafts give the same bytes, though the hashes are of references for names since format 3."""
    with golden_house() as house:
        rows = house.book.store.query("SELECT bytes FROM entry ORDER BY number")
        written = [_without_head(row[0].encode()) for row in rows]
        found, then = contents(house.book), json.loads(CONTENTS.read_text(encoding="utf-8"))
        assert written == list(map(_without_head, golden_lines()))
        assert found.pop("head") != then.pop("head"), "of the same bytes, with references for names"
        assert found == then


def _without_head(line):
    """A recall says the head it was found at, which is another since format 3."""
    return re.sub(rb'"head":"[0-9a-f]{64}"', b'"head":""', line)


@pytest.mark.parametrize("number", [2, 20, 41])
def test_one_changed_letter_changes_the_head(number):
    """The golden head stands for every byte of the journal."""
    lines = golden_lines()
    lines[number - 1] = lines[number - 1].replace(b"M. Aldane", b"M. Aldone")
    head = GENESIS
    for line in lines:
        head = chain(head, line)
    assert head.hex() != json.loads(CONTENTS.read_text(encoding="utf-8"))["head"]


def golden_house(path=":memory:"):
    """Each kind of entry in each of its shapes."""
    house = House(path, zone="Europe/London", currency="GBP")
    house.open("C1", "C2", "C3", ref="Parcel 7", wood="virgin chestnut", capacity_l="225")
    house.open("V1", "V2", "T1", "B1", "B2", "L1")
    for kind in ("instrument", "person", "place"):
        house.record(Item(house.book.next_id(kind), {"name": f"{kind} one"}), at="2000-01-02")
    _fills(house)
    _draws_and_dumps(house)
    _readings(house)
    _corrections(house)
    _papers(house)
    _recalls(house)
    _components(house)
    return house


def _fills(house):
    house.fill("C1", "200 l", "63.5", at="2012-03-01", spirit="malt", distiller="Quillmere", wood_days=0)
    house.fill("C2", liquid=new_make(150_000_000, 520, extract_mg=12_345), at="2012-03-02", spirit="Überlauf")
    house.fill("C3", "53 gal", "125 proof", temperature_c=15.5, pending=True, at="2012-03-03")
    house.water("B1", "96.6 l", at="2018-05-01 09:00")
    house.fill("B1", "250 g", source="additive", at="2018-05-01 09:30", name="caramel")


def _draws_and_dumps(house):
    house.draw("C1", "V1", "100 ml", at="2018-01-01", purpose="sample")
    house.pour("C2", "V2", "100 g", "59.8", verb="draw", at="2018-01-02")
    house.record(Pour("pour", (house.move("V1", "T1", "10 ml"), house.move("V2", "T1", "7 g"))), at="2018-01-03")
    house.dump("C2", "B1", "148 kg", at="2018-05-02")
    house.pour("C1", "B1", "150 kg", received="149.2 kg", at="2018-05-03")
    house.pour("B1", "B2", "20 kg", at="2018-05-04", redistilled=True)
    house.pour("B2", "C2", at="2018-05-05")
    house.pour("V1", "loss", 81_000, confirmed=True, at="2018-05-06", disposition="tasting")
    house.lose("C1", "1.5 l", "66", at="2018-05-07")
    house.pour("B1", "L1", "300 kg", at="2018-06-01", verb="bottle", bottles=400)
    house.despatch("L1", "120 bottles", at="2018-06-02", customer="Fennick & Daughters", document="D 17")
    house.fill("L1", "6 bottles", source="return", at="2018-06-03", document="R 2")


def _readings(house):
    house.gauge("C1", "20 kg", at="2018-07-01", instruments=["scale 2"])
    house.gauge("C2", None, "61.2", temperature_c=12.5, at="2018-07-02")
    house.gauge("C3", "190 l", "60.1", at="2018-07-03")
    house.gauge("V2", 0, at="2018-07-04", reason="broken")
    house.gauge("C1", "19.5 kg air", at="2018-07-05")
    extract = Gauge(house.id("C1"), None, None, mass_fraction=0.521, extract_per_mass=0.0004)
    house.record(extract, at="2018-07-06")
    house.record(
        Gauge(
            house.id("C2"),
            read_amount("150 kg air"),
            None,
            facts={"disposition": "leak", "document": "D 18"},
            mass_fraction=0.5201,
            reading={
                "weighed": {"gross": "190 kg", "tare": "40 kg", "tare_is": "dry"},
                "hydrometer": {"shown": "59.8 % vol", "at": "14 C"},
            },
            instruments=(
                UsedInstrument("H-3", house.id("N000001T"), "CAL 26", "2018-07-01"),
                UsedInstrument("a scale"),
            ),
            uncertainty=GaugeUncertainty({"strength_20c": ("59.71", "0.064")}, ("temperature",)),
            provisional="warm",
        ),
        at="2018-07-07",
        confirmed=True,
    )
    house.facts("C3", at="2018-07-08", owner="Corran Vale")
    house.draw("C3", "V2", "50 ml", at="2018-07-09")


def _corrections(house):
    wrong = house.draw("C2", "V1", "50 ml", at="2018-08-01")
    house.replace(wrong, Pour("draw", (house.move("C3", "V1", "50 ml"),)), at="2018-08-01", reason="other cask")
    house.void(house.draw("C3", "V1", 1000, at="2018-08-02"), at="2018-08-03", reason="never drawn")
    reading = house.gauge("C3", "180 kg", at="2018-08-04")
    house.replace(reading, Gauge(house.id("C3"), 170_000_000, None), at="2018-08-04")
    name = house.facts("C1", at="2018-08-05", ref="Parcel 7, cask 1")
    house.replace(name, Facts(house.id("C1"), {"ref": "Parcel 7, cask one"}), at="2018-08-05")
    house.void(house.note("C1", "wet stave", at="2018-08-06"), at="2018-08-07")
    house.hold("V1", at="2018-08-08")
    house.record(Note(house.id("C1"), "Spund gewechselt — „dicht“"), at="2018-08-09", where="warehouse 2")


def _papers(house):
    house.record(Recipe("Autumn", (RecipePart(house.id("C1"), "7", "base", "6..8"), RecipePart("water", "1"))))
    house.record(Recipe("Autumn II", (RecipePart(house.id("C1"), "6.5"),), revised_from="Autumn"))
    house.record(Reserve((write("vial", 20), write("vial", 21))))
    house.record(Paper("dossier", (house.id("L1"),), {"head": "00" * 32, "copies": 2}))
    house.record(Imported({"casks.csv": "11" * 32}, 3, 7))
    house.record(Settings({"paper": "Letter"}))
    pending = house.book.store.query("SELECT number FROM entry WHERE bytes LIKE '%\"pending\":1%'")[0][0]
    right = Pour("fill", (house.move("origin", "C3", "53 gal", "124.6 proof", temperature_c=15.5),))
    house.replace(pending, right, at="2012-03-03", reason="laboratory report 7")
    packed = Packed(house.id("L1"), "case", next_ssccs(house.book.store, "9521234", 2), "9521234", 6)
    house.record(packed, at="2018-06-02")
    house.close_period("2019-01-01")
    line = DeclaredLine(("malt",), "opening", "stock", "127.00", "200.0")
    period = moment("2018-01-01"), moment("2019-01-01")
    house.record(Declared(*period, ("spirit",), "nearest hundredth", (line,)), at="2019-02-01")


def _recalls(house):
    scope = (Suspect("water", "Quelle 4", moment("2018-01-01"), moment("2019-01-01")), Suspect("item", house.id("B1")))
    begun, ended = moment("2019-03-01 09:00"), moment("2019-03-01 09:00:41.5")
    affected = (house.id("C2"), house.id("B1"), house.id("L1"))
    figures = {"items": 3, "on_hand_mg": 12_345_678, "unexplained_mg": 0}
    recall = Recall(scope, True, "0.001", begun, ended, house.book.head()[1], figures, affected, affected[:2])
    number = house.record(recall, at="2019-03-01 09:01", reason="yearly drill").numbers[-1]
    house.record(Release(number, affected[:1]), at="2019-03-02", reason="laboratory: clean")


def _components(house):
    house.record(Component("Ash base"))
    house.record(Component("Chestnut", "malt", "chestnut", "rum", 8, 20, "rich", "0.5..15", gone=True), at="2019-03-03")
    parts = RecipePart(house.id("C1"), "9", "base", "", "Ash base"), RecipePart("Chestnut", "1", bounds="0.5..2")
    house.record(Recipe("Autumn on components", parts))
    kept = RecipePart(house.id("C1"), "9", ratio=1), RecipePart("Ash base", "3", fixed=True, ratio=1)
    house.record(Recipe("Autumn, strong", kept, by="pure-alcohol"))


def test_golden_identifiers_fit_their_keys():
    """The keys of tables are made from identifiers, and kinds keep their order in them."""
    items = json.loads(CONTENTS.read_text(encoding="utf-8"))["items"]
    assert [key_of(identifier) % 8 for identifier in items] == ["CVTBLNPS".index(identifier[0]) for identifier in items]
