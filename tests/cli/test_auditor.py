"""The auditor's day: from a bottle back to its casks, from a cask to all it went into, and what was corrected.

The house is filled with the same verbs; the questions are asked of the command in processes of its own.
"""

import json
import re

import pytest
from command import Desk, here


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """Quillmere with two casks vatted, reduced, bottled and partly sent; a third cask stands by."""
    desk = Desk(tmp_path_factory.mktemp("audit") / "quillmere.pourbook", here)
    tell = desk.does
    tell(f"create {desk.book} --house Quillmere --set zone=UTC")
    tell(
        "cask 'Row 1/01' --fill '200 l' --strength 63.5 --spirit 'malt spirit' --in-wood 0 --when 2015-03-01"
        " --wood 'virgin chestnut'"
    )
    tell("cask 'Row 1/02' --fill '180 l' --strength 58 --spirit 'grain spirit' --in-wood 0 --when 2018-03-01")
    tell("cask 'Row 1/03' --fill '150 l' --strength 60 --spirit 'rye spirit' --in-wood 0 --when 2019-03-01")
    tell("batch 'Vatting 1' --when 2024-04-01 --place 'Vat 2'")
    tell("pour 'Vatting 1' 'Row 1/01' '30 l' 'Row 1/02' '20 l' --when 2024-04-01T10:00")
    tell("pour 'Vatting 1' water '15 l' --when 2024-04-01T11:00")
    tell("bottle 'Vatting 1' --count 80 --size '700 ml' --ref 'Lot 1' --when 2024-04-08T09:00")
    tell("despatch 'Lot 1' 30 --customer 'Harbour Row' --when 2024-04-20 --document DN-2214")
    return desk


@pytest.fixture(scope="module")
def asked(desk):
    """The same desk, each question in a process of its own."""
    return Desk(desk.book)


@pytest.fixture(scope="module")
def back(asked):
    """What the bottles were traced back to."""
    return asked.asks("trace 'Lot 1'")


def keys_of(rows):
    return set.intersection(*(set(row) for row in rows))


POUR = {
    "source", "target", "mass_mg", "ethanol_mg", "extract_mg", "volume_ml_20c", "strength_20c", "happened", "who",
}  # fmt: skip
ORIGIN = {"spirit", "share", "ethanol_mg", "mass_mg", "happened", "into"}
ITEM = {"id", "ref", "kind", "share", "on_hand_mg"}


def test_a_trace_back_is_the_document_agreed(back):
    """One document: item, direction, basis, origins, items, pours, age; identifiers without hyphens."""
    trace = back
    assert {"id", "ref", "kind"} <= trace["item"].keys()
    assert (trace["item"]["ref"], trace["item"]["kind"]) == ("Lot 1", "lot")
    assert (trace["direction"], trace["by"]) == ("back", "alcohol")
    assert keys_of(trace["origins"]) >= ORIGIN
    assert keys_of(trace["items"]) >= ITEM
    assert keys_of(trace["pours"]) >= POUR
    assert trace["age"].keys() == {"youngest_days", "mean_days", "youngest", "qualifying"}
    assert "-" not in "".join(item["id"] for item in trace["items"])
    assert all(re.fullmatch(r"[CVTBL]\d{6}\w", item["id"]) for item in trace["items"])
    assert all(pour["who"] == "M. Aldane" for pour in trace["pours"])
    assert all(re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", pour["happened"]) for pour in trace["pours"])


def _vatted(trace, weight):
    """What each cask gave to the batch, by what the pours say."""
    batch = next(item["id"] for item in trace["items"] if item["kind"] == "batch")
    return {pour["source"]: weight(pour) for pour in trace["pours"] if pour["target"] == batch}


def _before_contraction(pour):
    """Volume of ethanol, water and extract, each by itself at 20 °C: OIML R 22, p = 1 and p = 0; 0.62 ml for a gram."""
    ethanol, extract = pour["ethanol_mg"], pour["extract_mg"]
    return ethanol / 789.2391 + (pour["mass_mg"] - ethanol - extract) / 998.20123 + extract * 0.62 / 1000


@pytest.mark.parametrize(
    ("by", "weight"),
    [
        ("alcohol", lambda pour: pour["ethanol_mg"]),
        ("mass", lambda pour: pour["mass_mg"]),
        ("volume", _before_contraction),
    ],
)
def test_shares_by_hand(asked, by, weight):
    """A share is what came from there over all that came, on each basis; the shares of the origins add to one."""
    trace = asked.asks(f"trace 'Lot 1' --by {by}")
    vatted = _vatted(trace, weight)
    whole = sum(vatted.values())
    shares = {item["id"]: item["share"] for item in trace["items"] if item["kind"] == "cask"}
    by_hand = {source: amount / whole for source, amount in vatted.items() if source != "water"}
    # Splitting to the milligram at every pour moves a share by parts in ten million.
    assert shares == pytest.approx(by_hand, rel=1e-6)
    assert sum(origin["share"] for origin in trace["origins"]) == pytest.approx(1, abs=1e-9)


def test_each_origin_is_named_with_its_cask(back):
    """The spirit, the cask it filled, and the day; water is an origin without alcohol."""
    trace = back
    refs = {item["id"]: item["ref"] for item in trace["items"]}
    found = {origin["spirit"]: (refs[origin["into"]], origin["happened"][:10]) for origin in trace["origins"]}
    assert found == {
        "malt spirit": ("Row 1/01", "2015-03-01"),
        "grain spirit": ("Row 1/02", "2018-03-01"),
        "water": ("Vatting 1", "2024-04-01"),
    }
    assert [origin["share"] for origin in trace["origins"] if origin["spirit"] == "water"] == [0]


def test_the_age_is_that_of_the_youngest_spirit(back):
    """2018-03-01 to 2024-04-01 10:00, in days of 24 hours; the mean lies between the two, and nearer the larger."""
    age = back["age"]
    youngest = 6 * 365 + 2 + 31 + 10 / 24  # two leap days: 2020, 2024; then March
    oldest = youngest + 3 * 365 + 1
    assert age["youngest_days"] == pytest.approx(youngest, abs=1e-6)
    assert age["youngest_days"] < age["mean_days"] < oldest
    assert age["mean_days"] > (youngest + oldest) / 2, "more of the older spirit went in"


def test_a_share_can_be_worked_out_again_from_what_is_printed(desk, asked, back):
    """From the printed lines alone, as a person would with a calculator; the document says the same."""
    (share,) = (item["share"] for item in back["items"] if item["ref"] == "Row 1/02")
    lines = asked.does("trace 'Lot 1' --why 'Row 1/02'").out.splitlines()
    sums = [line.strip() for line in lines if line.startswith("  (")]
    results = []
    for line in sums:
        terms, total, said = re.fullmatch(r"\((.+)\) / (\S+) = (\S+)", line).groups()
        products = [term.split(" × ") for term in terms.split(" + ")]
        results.append(sum(float(weight) * float(part) for weight, part in products) / float(total))
        assert results[-1] == pytest.approx(float(said), rel=1e-12)
        assert {part for _, part in products} <= {"1", *(str(result) for result in results[:-1])}
    assert results[-1] == pytest.approx(share, abs=1e-12)
    assert asked.asks("trace 'Lot 1' --why 'Row 1/02'")["share"] == results[-1]
    (origin,) = (one for one in back["origins"] if one["spirit"] == "grain spirit")
    assert asked.asks(f"trace 'Lot 1' --why 'entry {origin['entry']}'")["share"] == pytest.approx(origin["share"])
    forward = asked.asks("trace 'Row 1/02' --forward")
    ever = {item["ref"]: item["share"] for item in forward["items"]}
    assert asked.asks("trace 'Row 1/02' --forward --why 'Vatting 1'")["share"] == pytest.approx(ever["Vatting 1"])


def test_a_trace_forward_finds_all_it_went_into(asked, back):
    """Where a cask's spirit went, share of all that was ever poured into it and of what it holds now."""
    trace = asked.asks("trace 'Row 1/01' --forward")
    assert trace["direction"] == "forward"
    assert keys_of(trace["items"]) >= ITEM | {"share_now"}
    found = {item["ref"]: item for item in trace["items"]}
    assert found.keys() == {"Vatting 1", "Lot 1"}
    assert found["Lot 1"]["share"] == pytest.approx(_share(back, "Row 1/01"), rel=1e-6)
    assert found["Lot 1"]["share_now"] == pytest.approx(_share(back, "Row 1/01"), rel=1e-6)


def test_a_cask_that_was_never_poured_went_nowhere(asked, back):
    """The standby cask is in nothing, and in no bottle."""
    assert asked.asks("trace 'Row 1/03' --forward")["items"] == []
    assert "Row 1/03" not in {item["ref"] for item in back["items"]}


def test_what_came_in_is_held_or_went_out(asked):
    """A balance of the house, in whole milligrams: all that was filled or added is on hand or despatched."""
    entries = asked.asks("journal")["entries"]
    lines = [line for entry in entries for line in entry["body"].get("lines", ())]
    came_in = sum(line["mass"] for line in lines if line["from"] in ("origin", "water"))
    went_out = sum(line["mass"] for line in lines if line["to"] == "despatch")
    on_hand = sum(item["mass_mg"] for item in asked.asks("stock")["items"])
    assert came_in == on_hand + went_out


def test_stock_and_show_say_the_same(asked):
    """Each item of the stock is what `show` shows, found by its name and by its identifier in any writing."""
    stock = {item["id"]: item for item in asked.asks("stock")["items"]}
    assert {"id", "ref", "kind", "place", "mass_mg"} <= keys_of(stock.values())
    shown = asked.asks("show 'Row 1/01'")
    assert {"id", "ref", "kind", "mass_mg", "ethanol_mg", "volume_ml_20c", "strength_20c"} <= shown.keys()
    assert stock[shown["id"]] == shown
    assert asked.asks(f"show {shown['id'].lower()}") == shown
    assert shown["volume_ml_20c"] == pytest.approx(170_000, abs=0.01)
    assert shown["strength_20c"] == pytest.approx(63.5, abs=1e-6)


def test_what_was_in_it_on_that_day(asked):
    """As of a moment: before the vatting, after it, and before there was a cask at all."""
    assert asked.asks("show 'Row 1/01' --at 2024-03-31")["volume_ml_20c"] == pytest.approx(200_000, abs=0.01)
    assert asked.asks("show 'Row 1/01' --at 2014-01-01")["mass_mg"] == 0
    then = {item["ref"] for item in asked.asks("stock --at 2018-06-01")["items"]}
    assert then == {"Row 1/01", "Row 1/02"}
    trace = asked.asks("trace 'Vatting 1' --at 2024-04-01T10:30")
    assert {origin["spirit"] for origin in trace["origins"]} == {"malt spirit", "grain spirit"}, "no water yet"


def test_the_journal_can_be_checked_without_us(asked):
    """Each hash is SHA-256 of the one before and the entry's canonical bytes, from 32 zero bytes on."""
    import hashlib

    head = bytes(32)
    listed = asked.asks("journal")["entries"]
    for number, entry in enumerate(listed, start=1):
        recorded = {name: value for name, value in entry.items() if name not in ("gone", "hash")}
        assert recorded["number"] == number
        canonical = json.dumps(recorded, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
        head = hashlib.sha256(head + canonical).digest()
        assert entry["hash"] == head.hex()
    assert asked.asks("journal-hash") == {"entries": len(listed), "journal_hash": head.hex()}
    assert asked.asks("verify") == {"entries": len(listed), "journal_hash": head.hex(), "faults": []}


def test_a_copy_is_the_same_book(asked, back, tmp_path):
    """A back-up answers every question as the book does."""
    copy = Desk(tmp_path / "copy.pourbook")
    assert asked.asks(f"backup {copy.book}")["entries"] == asked.asks("journal-hash")["entries"]
    assert copy.asks("verify") == asked.asks("verify")
    assert copy.asks("trace 'Lot 1'") == back


# -- corrections, each in a copy of the book ----------------------------------------------------


@pytest.fixture
def corrected(desk, tmp_path):
    """A copy of the book to correct in."""
    desk.does(f"backup {tmp_path / 'copy.pourbook'}")
    return Desk(tmp_path / "copy.pourbook", here)


def entry_with(desk, verb):
    """Number of the last entry of a verb that still counts."""
    entries = desk.asks("journal")["entries"]
    return max(entry["number"] for entry in entries if entry["body"].get("verb") == verb and not entry["gone"])


def test_a_void_says_first_what_it_would_change(corrected):
    """The rehearsal names the bottles that change and keeps nothing; the void does it; the journal keeps both."""
    number, head = entry_with(corrected, "despatch"), corrected.asks("journal-hash")
    before = corrected.asks("show 'Lot 1'")["mass_mg"]
    void = f"void {number} --reason 'never left the house'"
    (changed,) = corrected.asks(f"{void} --dry-run")["changed"]
    assert corrected.asks("journal-hash") == head
    assert changed["mass_mg_before"] == before
    corrected.does(void)
    assert corrected.asks("show 'Lot 1'")["mass_mg"] == changed["mass_mg"] > before
    (gone,) = [entry for entry in corrected.asks("journal")["entries"] if entry["number"] == number]
    assert gone["gone"] == corrected.asks("journal-hash")["entries"]
    assert corrected.asks("verify")["faults"] == []


def test_a_void_that_leaves_bottles_dry_is_refused(corrected):
    """The vatting cannot be taken back under the lot that was bottled from it; the sentence names the bottling."""
    vatting = min(
        entry["number"] for entry in corrected.asks("journal")["entries"] if entry["body"].get("verb") == "pour"
    )
    ran = corrected(f"void {vatting} --reason 'wrong vat'")
    assert ran.status == 1
    assert f"entry {entry_with(corrected, 'bottle')}" in ran.err


def test_a_replaced_pour_keeps_its_place_in_time(corrected):
    """A misread amount put right: shares of the lot follow, the first recording stays readable."""
    before = corrected.asks("trace 'Lot 1'")
    vatting = next(entry for entry in corrected.asks("journal")["entries"] if len(entry["body"].get("lines", ())) == 2)
    corrected.does(f"replace {vatting['number']} --line 2 --amount '25 l' --reason 'misread the flow meter'")
    after = corrected.asks("trace 'Lot 1'")
    pour = next(pour for pour in after["pours"] if pour["source_ref"] == "Row 1/02")
    assert pour["volume_ml_20c"] == pytest.approx(25_000, abs=0.01)
    assert pour["happened"] == "2024-04-01T10:00:00Z"
    assert _share(after, "Row 1/02") > _share(before, "Row 1/02")
    assert _share(after, "Row 1/01") + _share(after, "Row 1/02") == pytest.approx(1, abs=1e-9)
    assert corrected.asks("verify")["faults"] == []


def _share(trace, ref):
    return next(item["share"] for item in trace["items"] if item["ref"] == ref)


def test_a_laboratory_result_ends_an_pending_strength(corrected):
    """Bottles of pending strength are not released; the laboratory's reading releases them."""
    corrected.does("batch 'Receipt 9' --when 2024-05-01")
    corrected.does("fill 'Receipt 9' '100 l' --strength 60 --pending --spirit rum --when 2024-05-01T08:00")
    corrected.does("bottle 'Receipt 9' --count 20 --size '500 ml' --ref 'Lot 9' --when 2024-05-03")
    assert corrected.asks("trace 'Lot 9'")["provisional"]
    assert corrected("despatch 'Lot 9' 5 --customer 'Harbour Row'").status == 1
    corrected.does(f"replace {entry_with(corrected, 'fill')} --strength 59.4 --reason 'laboratory report 2041'")
    assert corrected.asks("trace 'Lot 9'")["provisional"] == []
    assert corrected.asks("show 'Lot 9'")["strength_20c"] == pytest.approx(59.4, abs=1e-4)
    corrected.does("despatch 'Lot 9' 5 --customer 'Harbour Row'")


def test_a_closed_period_stays_closed(corrected):
    """Nothing new may happen in it; a correction of what happened in it names its reason."""
    corrected.does("close --when 2024-04-30 --reason 'stock-take'")
    assert corrected("draw 'Row 1/01' '200 ml' --when 2024-04-10").status == 1
    corrected.does("draw 'Row 1/01' '200 ml' --when 2024-05-10")
    corrected.does(f"void {entry_with(corrected, 'despatch')} --reason 'returned unopened'")
    assert corrected.asks("verify")["faults"] == []


# -- without a book --------------------------------------------------------------------------------


def test_calculators_answer_each_other(asked):
    """Density from strength and strength from density, at the same temperature."""
    by_strength = asked.asks("density --strength 62.4 --temperature 14")
    assert {"density_kg_m3", "strength_20c", "mass_fraction"} <= by_strength.keys()
    assert by_strength["strength_20c"] == pytest.approx(62.4, abs=1e-9)
    back = asked.asks(f"strength --density {by_strength['density_kg_m3']:.9f} --temperature 14")
    assert back["strength_20c"] == pytest.approx(62.4, abs=1e-6)
    by_mass = asked.asks("density --mass-fraction 0.4")
    assert by_mass["mass_fraction"] == 0.4
    # Density at 20 °C of 40 % by mass, OIML R 22, Table I, p. 24: 935.15 kg/m3 (published.csv).
    assert by_mass["density_kg_m3"] == pytest.approx(935.15, abs=0.05)


# -- damage -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.5, 0.9, 0.02])
def test_a_truncated_book_is_a_finding(corrected, share):
    """However little is left, --json gives one document with the fault, and nobody is told to verify again."""
    content = corrected.book.read_bytes()
    corrected.book.write_bytes(content[: int(len(content) * share)])
    ran = corrected("verify --json")
    assert ran.status == 1
    assert ran.json.keys() >= {"entries", "journal_hash", "faults"}
    assert ran.json["faults"]
    assert all("pourbook verify" not in fault["text"] for fault in ran.json["faults"])


def test_a_lost_table_is_a_finding_and_is_made_anew(corrected):
    """`repair` makes tables and their indexes again, and the book is as it was."""
    import sqlite3

    trace, head = corrected.asks("trace 'Lot 1'"), corrected.asks("journal-hash")
    with sqlite3.connect(corrected.book) as connection:
        schema = "SELECT name FROM sqlite_master ORDER BY name"
        tables = connection.execute(schema).fetchall()
        for table in ("flow", "fact", "composition", "setting"):
            connection.execute(f"DROP TABLE {table}")
    connection.close()
    ran = corrected("verify --json")
    assert ran.status == 1
    assert "pourbook repair" in ran.json["faults"][0]["remedy"]
    corrected.does("repair")
    assert corrected.asks("verify")["faults"] == []
    assert (corrected.asks("trace 'Lot 1'"), corrected.asks("journal-hash")) == (trace, head)
    with sqlite3.connect(corrected.book) as connection:
        assert connection.execute(schema).fetchall() == tables
    connection.close()


def test_a_back_up_becomes_a_book_again(corrected, tmp_path):
    """Restored where no book is; refused where one is, and where the copy has been changed."""
    kept = tmp_path / "kept.pourbook"
    corrected.does(f"backup {kept}")
    before = kept.read_bytes()
    again = Desk(tmp_path / "again.pourbook", here)
    assert corrected.asks(f"restore {kept} {again.book}")["entries"] == corrected.asks("journal-hash")["entries"]
    assert again.asks("trace 'Lot 1'") == corrected.asks("trace 'Lot 1'")
    assert kept.read_bytes() == before
    assert corrected(f"restore {kept} {again.book}").status == 1
    assert corrected(f"restore {tmp_path / 'none'} {tmp_path / 'third.pourbook'}").status == 1
    changed = tmp_path / "changed.pourbook"
    changed.write_bytes(before.replace(b"wrong bung", b"right bung").replace(b"malt spirit", b"malt spirxt"))
    assert corrected(f"restore {changed} {tmp_path / 'third.pourbook'}").status == 1
    assert not (tmp_path / "third.pourbook").exists()
