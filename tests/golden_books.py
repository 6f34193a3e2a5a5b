"""Golden books: a small book file of every format that ever left the house, kept for ever as it was written.

`golden/format-N.pourbook.gz` is the file as a version of that format wrote it; `format-N.json` says its head, and
what a reader found in it then. A version that reads one differently reads every house's book differently.

    PYTHONPATH=src:tests python tests/golden_books.py      # writes that of today's format, where there is none

While no version of a format has left the house, its book may be removed and written anew.
"""

import gzip
import json
import sqlite3
from pathlib import Path
from tempfile import TemporaryDirectory

from eventful import eventful_book
from house import moment

from pourbook import Item
from pourbook.book.cellar_entries import Approval, Counted, Fills, Ground, Misplaced, Seen, Stacked, Stocktake
from pourbook.book.entries import Declared, DeclaredLine, Facts, Move, Note, Packed, Pour, Recall, Release, Word
from pourbook.book.entries import House as Settings
from pourbook.book.key_entries import Key
from pourbook.book.rebuilding import PROJECTIONS
from pourbook.book.recall_scope import Suspect
from pourbook.book.store import VERSION
from pourbook.book.trade_numbers import next_ssccs
from pourbook.codes.identifiers import of_key

GOLDEN = Path(__file__).parent / "golden"
FORMAT = VERSION // 100
PERSON = "Isla Farrow"


def files(number):
    """The book of a format, and what was found in it."""
    return GOLDEN / f"format-{number}.pourbook.gz", GOLDEN / f"format-{number}.json"


def formats():
    """Every format that has a golden book."""
    return sorted(int(path.name.split("-")[1].split(".")[0]) for path in GOLDEN.glob("format-*.pourbook.gz"))


def unpacked(number, folder):
    """The golden book of a format as a file in that folder."""
    path = Path(folder) / f"format-{number}.pourbook"
    path.write_bytes(gzip.decompress(files(number)[0].read_bytes()))
    return path


def found_in(book):
    """What anybody finds in a book: head, entries, items with contents and facts, settings, rows of every table."""
    views = [book.show(of_key(key)) for (key,) in book.store.query("SELECT key FROM item ORDER BY key")]
    return {
        "head": book.head()[1],
        "entries": book.head()[0],
        "kinds": sorted({kind for (kind,) in book.store.query("SELECT DISTINCT kind FROM entry")}),
        "items": {view.id: [*view.holding.liquid, view.facts] for view in views},
        "settings": dict(book.store.query("SELECT name, value FROM setting ORDER BY name")),
        "rows": {table: book.store.query(f"SELECT count(*) FROM {table}")[0][0] for table in sorted(PROJECTIONS)},
    }


def golden_book(path):
    """Every kind of entry, people wherever they can stand, and corrections of them."""
    house = eventful_book(path)
    _people(house)
    _cellar(house)
    _recall(house)
    return house


def _people(house):
    house.record(Settings({"approvers": f"{PERSON}; Tomas Reeve", "contact": "Ada Pell, 555 0100"}), at="2020-06-01")
    person = house.book.next_id("person")
    house.record(Item(person, {"ref": PERSON, "note": "blending room"}), at="2020-06-02", login="ifarrow")
    house.record(Facts(person, {"note": "left the house"}), at="2020-06-03")
    house.record(Note(person, "account: role blender"), at="2020-06-03", who=PERSON, login="ifarrow")
    house.record(Note(house.id("C1"), "hoops driven"), at="2020-06-04", who=person, where="Saal „2“")
    house.facts("C2", at="2020-06-05", owner="Corran Vale")
    house.record(Key("5a" * 32, "a5" * 32, PERSON), at="2020-06-05")
    house.record(Word("quince", also=("quinces",)), at="2020-06-05", who='Maud "Mo" Aldane')


def _cellar(house):
    lot, batch = house.id("L1"), house.id("B1")
    ground = Ground("strength", "", "met", {"actual": "58.0"})
    house.record(Approval(batch, approved=True, grounds=(ground,)), at="2020-06-06", who=PERSON)
    house.facts("L1", at="2020-06-07", size_ml="700", filling_from=batch)
    counted = Counted(lot, batch, filled=2, destroyed=1, witness="Tomas Reeve")
    house.record(counted, at="2020-06-07 12:00", confirmed=True)
    house.record(Fills(lot, (700_100,), ("700.1 ml",)), at="2020-06-07 13:00", confirmed=True)
    destroyed = {"disposition": "destruction", "witness": "Tomas Reeve"}
    house.draw("C1", "V2", 9000, at="2020-06-07 14:00")
    house.pour("V2", "loss", 1000, at="2020-06-08", confirmed=True, **destroyed)
    facts = {"customer": "Fennick & Daughters", "contact": "Ada Fennick", "address": "1 Lane", "document": "D 7"}
    house.pour("V2", "despatch", 1000, verb="despatch", at="2020-06-08 10:00", confirmed=True, **facts)
    (pallet,) = next_ssccs(house.book.store, "9521234", 1)
    house.record(Packed(lot, "pallet", (pallet,), "9521234", 12, 2), at="2020-06-08 11:00", confirmed=True)
    cases = [f"{sscc:018}" for (sscc,) in house.book.store.query("SELECT sscc FROM unit ORDER BY sscc LIMIT 2")]
    house.record(Stacked(lot, pallet, tuple(cases)), at="2020-06-08 11:30", confirmed=True)
    house.record(Stocktake("Summer"), at="2020-06-09", who=PERSON)
    house.record(Seen("Summer", house.id("C1"), "Row 1"), at="2020-06-09 10:00", who=PERSON)
    end = Stocktake("Summer", ended=True, missing=(house.id("C2"),), extra=(Misplaced(house.id("C1"), "Row 1"),))
    house.record(end, at="2020-06-10")


def _recall(house):
    by_person = Suspect("person", PERSON, moment("2020-01-01"), moment("2020-12-31"))
    affected, begun = (house.id("C1"), house.id("B1")), moment("2020-06-11 09:00")
    figures = {"items": 2, "unexplained_mg": 0}
    scope = (by_person, Suspect("item", house.id("C1")))
    recall = Recall(scope, True, "", begun, begun + 1, house.book.head()[1], figures, affected, affected[:1])
    number = house.record(recall, at="2020-06-11 09:01", reason="drill").numbers[-1]
    house.record(Release(number, affected[:1]), at="2020-06-12", reason="clean")
    line = DeclaredLine(("malt",), "opening", "stock", "127.00", "200.0")
    declared = Declared(moment("2020-01-01"), moment("2020-05-01"), ("spirit",), "nearest hundredth", (line,))
    house.record(declared, at="2020-06-13")
    draw = house.draw("C1", "V2", 5000, at="2020-06-14")
    right = house.drafts(draw_of(house), at="2020-06-14", replaces=draw.numbers[-1], reason="misread by Isla Farrow")
    house.book.record(*right)


def draw_of(house):
    """The draw as it was."""
    return Pour("draw", (Move(house.id("C1"), house.id("V2"), 6000),))


def write():
    """The golden book of today's format; never over one that is there."""
    packed, told = files(FORMAT)
    if packed.exists():
        raise SystemExit(f"{packed} is there, and stays as it is")
    with TemporaryDirectory() as folder:
        path = Path(folder, "book.pourbook")
        with golden_book(path) as house:
            found = found_in(house.book)
            assert house.book.verify().faults == ()
        with sqlite3.connect(path) as connection:
            connection.execute("PRAGMA journal_mode = DELETE")
            connection.execute("VACUUM")
        connection.close()
        packed.write_bytes(gzip.compress(path.read_bytes(), mtime=0))
    told.write_text(json.dumps(found, ensure_ascii=False, indent=1) + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write()
