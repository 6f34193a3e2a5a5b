"""A history from two tables: what every column means, and that all of it is recorded or nothing."""

import hashlib
import random
import tempfile
from pathlib import Path

import pytest
from house import HOW, Clock, moment
from hypothesis import given
from hypothesis import strategies as st

from pourbook import Book
from pourbook.actions.happening import Happening
from pourbook.actions.importing import Answers, import_history
from pourbook.book.journal import entry_of
from pourbook.errors import FaultsFound, Malformed, Refused
from pourbook.liquid import Liquid

WHOLE_DENSITIES_ML = 0.3
"""A gauge of strength alone holds the volume by densities in whole g/m3: to one part in a million."""


def held(book, ref):
    return book.show(ref).holding.liquid


def entries(book, kind):
    rows = book.store.query("SELECT number FROM entry WHERE kind = ? ORDER BY number", (kind,))
    return [entry_of(book.store, number) for (number,) in rows]


def contents(book):
    """Everything by name, to the milligram."""
    return {item.ref: item.holding.liquid for item in book.stock()}


# -- what the columns mean -----------------------------------------------------------------


def test_counts_are_told(book, files):
    """Two tables with four items and one pour make six entries: the import is one itself."""
    assert import_history(book, HOW, files.folder)[:3] == (4, 1, 6)


def test_an_origin_is_measured_at_20_degrees(book, files):
    """200 l of 63.5 % vol at 20 °C; OIML R 22 gives the masses, computed by `pourbook.alcoholometry`."""
    import_history(book, HOW, files.folder)
    item = book.show("row 1")
    assert item.volume_ml_20c == pytest.approx(200_000, abs=0.001)
    assert item.strength_20c == pytest.approx(63.5, abs=1e-6)


def test_a_temperature_makes_a_difference(book, files):
    """Warm spirit is lighter: the same litres at 30 °C are less."""
    files.pours(
        "origin,row 1,200,l,63.5,,2015-03-01,M. Aldane,",
        "origin,row 2,200,l,63.5,30,2015-03-01,M. Aldane,",
    )
    import_history(book, HOW, files.folder)
    assert held(book, "row 2").mass_mg < held(book, "row 1").mass_mg


def test_masses_are_exact_and_weighings_are_corrected_for_air(book, files):
    """kg, g and lb are mass; `kg air` is what a balance displayed, about 0.1 % less than the mass."""
    files.pours(
        "water,row 1,1.5,kg,,,2015-03-01,M. Aldane,",
        "water,row 2,1.5,kg air,,,2015-03-01,M. Aldane,",
        "water,batch 1,1,lb,,,2015-03-01,M. Aldane,",
    )
    import_history(book, HOW, files.folder)
    assert held(book, "row 1") == Liquid(1_500_000, 0, 0)
    assert 1_501_000 < held(book, "row 2").mass_mg < 1_502_000
    assert held(book, "batch 1").mass_mg == 453_592  # Weights and Measures Act 1985 (UK), section 1(1)(b)


def test_an_additive_counts_as_extract(book, files):
    """Colouring is weighed, and all of it is dissolved solids."""
    files.pours("additive,batch 1,250,g,,,2015-03-01,M. Aldane,colour")
    import_history(book, HOW, files.folder)
    assert held(book, "batch 1") == Liquid(250_000, 0, 250_000)


def test_all_leaves_nothing(book, files):
    """`all` takes what the book holds, whatever that is; in any case."""
    files.pours(
        "origin,row 1,200,l,63.5,,2015-03-01,M. Aldane,",
        "row 1,batch 1,All,,,,2016-03-01,M. Aldane,",
    )
    import_history(book, HOW, files.folder)
    assert held(book, "row 1") == Liquid(0, 0, 0)
    assert book.show("batch 1").volume_ml_20c == pytest.approx(200_000, abs=0.001)


def test_a_loss_is_proportional(book, files):
    """What leaks away has the strength of what stays."""
    files.pours(
        "origin,row 1,200,l,60,,2015-03-01,M. Aldane,",
        "row 1,loss,20,kg,,,2016-03-01,M. Aldane,leak",
    )
    import_history(book, HOW, files.folder)
    assert book.show("row 1").strength_20c == pytest.approx(60, abs=1e-4)


@pytest.mark.parametrize("target", ["vial 1", "loss"])
def test_a_strength_is_a_gauge_of_the_source_just_before(book, files, target):
    """61.2 % vol read before the pour: the source has it afterwards, by a gauge of strength alone."""
    files.pours(
        "origin,row 1,200,l,63.5,,2015-03-01,M. Aldane,",
        f"row 1,{target},100,ml,61.2,,2016-03-01,T. Verrow,",
    )
    import_history(book, HOW, files.folder)
    assert book.show("row 1").strength_20c == pytest.approx(61.2, abs=1e-6)
    assert [logged.entry["who"] for logged in entries(book, "gauge")] == ["T. Verrow"]
    assert book.show("row 1").volume_ml_20c == pytest.approx(199_900, abs=WHOLE_DENSITIES_ML)


def test_a_row_can_be_a_gauge(book, files):
    """Target `gauge`: the source holds so much; 0 empties it, and a strength may stand alone.

    What air cannot have taken is asked about, and has its disposition.
    """
    rows = (
        "origin,row 1,200,l,63.5,,2015-03-01,M. Aldane,,",
        "row 1,gauge,190,l,62,,2016-03-01,M. Aldane,regauge,",
        "row 1,gauge,,,61,,2017-03-01,M. Aldane,,",
        "origin,row 2,200,l,63.5,,2015-03-01,M. Aldane,,",
        "row 2,gauge,0,l,,,2017-03-01,M. Aldane,found dry,",
    )
    with_disposition = "source,target,quantity,unit,strength,temperature_c,happened,by,reason,disposition"
    files.pours(*rows, header=with_disposition)
    for how in (HOW, HOW._replace(confirm=True)):
        with pytest.raises(FaultsFound, match="1 fault") as refused:
            import_history(book, how, files.folder)
        assert "disposition" in refused.value.faults[0].remedy
    files.pours(*rows[:-1], rows[-1] + "leak", header=with_disposition)
    import_history(book, HOW._replace(confirm=True), files.folder)
    assert book.show("row 1").volume_ml_20c == pytest.approx(190_000, abs=WHOLE_DENSITIES_ML)
    assert book.show("row 1").strength_20c == pytest.approx(61, abs=1e-6)
    assert held(book, "row 2") == Liquid(0, 0, 0)
    assert len(entries(book, "gauge")) == 3


def test_times_are_house_time(new_book, files):
    """Without an offset a time is the house's; with one it is what it says; a day is its first instant."""
    book = new_book(zone="Europe/London")
    files.pours(
        "origin,row 1,1,l,60,,2015-07-01 08:00,M. Aldane,",
        "origin,row 1,1,l,60,,2015-07-02T08:00+02:00,M. Aldane,",
        "origin,row 1,1,l,60,,2015-07-03,M. Aldane,",
    )
    import_history(book, HOW, files.folder)
    assert [logged.entry["happened"] for logged in entries(book, "pour")] == [
        "2015-07-01T07:00:00Z",
        "2015-07-02T06:00:00Z",
        "2015-07-02T23:00:00Z",
    ]


def test_an_item_is_opened_when_it_was_made(book, files):
    """`made`, else the first pour from or into it, else now."""
    files.items("row 1,cask,2014-12-24,,,,,,", "row 2,cask,,,,,,,", "vial 1,vial,,,,,,,")
    files.pours(
        "row 1,row 2,5,l,,,2016-03-01,M. Aldane,",
        "origin,row 1,200,l,63.5,,2015-03-01,M. Aldane,",
    )
    import_history(book, HOW, files.folder)
    opened = {logged.entry["body"]["facts"]["ref"]: logged.entry["happened"] for logged in entries(book, "item")}
    assert opened == {
        "row 1": "2014-12-24T00:00:00Z",
        "row 2": "2016-03-01T00:00:00Z",
        "vial 1": "2024-01-01T00:00:00Z",
    }


def test_facts_of_items_are_kept(book, files):
    """Every column but kind and made is a fact; further ones may be there."""
    files.items(
        "row 1,cask,,Old Nan,cherry,225.5,pot still,row 3,leaks,red wine,the abbey,48,suspended",
        header="ref,kind,made,name,wood,capacity_l,spirit,place,note,previous,owner,tare_kg,duty_status",
    )
    import_history(book, HOW, files.folder)
    assert book.show("row 1").facts == {
        "ref": "row 1",
        "name": "Old Nan",
        "wood": "cherry",
        "capacity_l": "225.5",
        "spirit": "pot still",
        "place": "row 3",
        "note": "leaks",
        "previous": "red wine",
        "owner": "the abbey",
        "tare_kg": "48",
        "duty": "suspended",
    }


def origin_facts(book, ref):
    (origin,) = book.trace_back(ref).origins
    return {name: value for name, value in origin.facts.items() if name in ("spirit", "wood_days", "distilled")}


def test_an_origin_is_new_spirit_of_the_kind_its_target_holds(book, files):
    """Without the columns `in_wood` and `spirit`: no time in wood yet, and the item's spirit."""
    files.items("row 1,cask,,,,,pot still,,")
    import_history(book, HOW, files.folder)
    assert origin_facts(book, "row 1") == {"spirit": "pot still", "wood_days": 0}


def test_a_blank_time_in_wood_is_unknown(book, files):
    """Where the column is there, a blank is not new spirit; unknown age blocks an age statement."""
    header = "source,target,quantity,unit,strength,happened,by,in_wood,spirit,distilled"
    files.pours(
        "origin,row 1,200,l,63.5,2015-03-01,M. Aldane,400,grain,2013-05-06",
        "origin,row 2,200,l,63.5,2015-03-01,M. Aldane,,,",
        header=header,
    )
    import_history(book, HOW, files.folder)
    assert origin_facts(book, "row 1") == {"spirit": "grain", "wood_days": 400, "distilled": "2013-05-06"}
    assert origin_facts(book, "row 2") == {}
    assert book.trace_back("row 2").age.youngest_us is None


def test_despatch_returns_and_what_arrived(book, files):
    """Beyond the house: a customer gets some and sends some back; a tanker loses a little on the way."""
    files.items("row 1,cask,,,,,,,", "lot 1,lot,,,,,,,", "batch 1,batch,,,,,,,")
    files.pours(
        "origin,row 1,100,kg,60,2015-03-01,M. Aldane,,,",
        "row 1,lot 1,50,kg,,2015-03-02,M. Aldane,,,",
        "lot 1,despatch,20,kg,,2015-03-03,M. Aldane,Inn of the Heron,D 7,",
        "return,lot 1,5,kg,60,2015-03-04,M. Aldane,Inn of the Heron,,",
        "row 1,batch 1,50,kg,,2015-03-05,M. Aldane,,,49.5",
        header="source,target,quantity,unit,strength,happened,by,customer,document,received",
    )
    import_history(book, HOW, files.folder)
    assert held(book, "lot 1").mass_mg == 35_000_000
    assert held(book, "batch 1").mass_mg == 49_500_000


def test_a_composition_stands_for_a_strength(book, files):
    """Milligrams of ethanol and extract are taken as they are."""
    files.pours(
        "origin,batch 1,1000,mg,2015-03-01,M. Aldane,400,25",
        "batch 1,loss,100,mg,2015-03-02,M. Aldane,60,0",
        header="source,target,quantity,unit,happened,by,ethanol_mg,extract_mg",
    )
    import_history(book, HOW, files.folder)
    assert held(book, "batch 1") == Liquid(900, 340, 25)


def test_refs_are_met_in_any_case_and_spacing(book, files):
    """Of a row of the items table, and of an item in the book; the exact one goes first."""
    import_history(book, HOW, files.folder)
    files.items("Vat 9,batch,,,,,,,")
    files.pours("ROW  1,vat9,20,l,,,2015-03-02,M. Aldane,", "vat 9,vial1,100,ml,,,2015-03-03,M. Aldane,")
    import_history(book, HOW, files.folder)
    assert {ref for ref, liquid in contents(book).items() if liquid.mass_mg} == {"row 1", "Vat 9", "vial 1"}
    assert book.verify().faults == ()


@pytest.mark.parametrize(
    ("items", "source", "rows"),
    [(("Vat 9", "VAT 9"), "vat 9", "row 2, 3"), (("Row 1",), "ROW 1", "row 2")],
)
def test_a_ref_that_may_be_two_items_is_a_fault(book, files, items, source, rows):
    """Two of the table, or one of the table and one in the book."""
    import_history(book, HOW, files.folder)
    files.items(*(f"{ref},batch,,,,,,," for ref in items))
    files.pours(f"{source},row 2,20,l,,,2015-03-02,M. Aldane,")
    with pytest.raises(FaultsFound) as refused:
        import_history(book, HOW, files.folder)
    (fault,) = refused.value.faults
    assert (fault.column, fault.value) == ("source", source)
    assert f"differs only in case or spacing from several refs, as in {rows} of items.csv" in fault.problem


def test_a_person_known_is_meant_others_are_names(book, files):
    """A ref of a person in the items table stands for the person; another name is a name."""
    files.items("row 1,cask,,,,,,,", "Isolde,person,,,,,,,")
    files.pours(
        "origin,row 1,1,l,60,,2015-03-01,Isolde,",
        "origin,row 1,1,l,60,,2015-03-02,Wanda,",
    )
    import_history(book, HOW, files.folder)
    assert [logged.entry["who"] for logged in entries(book, "pour")] == [book.find("Isolde"), "Wanda"]


def test_verbs_are_the_trades(book, files):
    """What a pour is called follows from what is poured into what."""
    files.items("row 1,cask,,,,,,,", "row 2,cask,,,,,,,", "B,batch,,,,,,,", "V,vial,,,,,,,", "L,lot,,,,,,,")
    files.pours(
        "origin,row 1,200,l,63.5,,2015-03-01 01:00,M. Aldane,",
        "row 1,V,100,ml,,,2015-03-01 02:00,M. Aldane,",
        "row 1,row 2,all,,,,2015-03-01 03:00,M. Aldane,",
        "row 2,B,all,,,,2015-03-01 04:00,M. Aldane,",
        "water,B,10,kg,,,2015-03-01 05:00,M. Aldane,",
        "B,L,all,,,,2015-03-01 06:00,M. Aldane,",
        "V,loss,all,,,,2015-03-01 07:00,M. Aldane,",
    )
    import_history(book, HOW, files.folder)
    verbs = [logged.entry["body"]["verb"] for logged in entries(book, "pour")]
    assert verbs == ["fill", "draw", "rack", "dump", "reduce", "bottle", "loss"]


def test_a_cask_in_the_book_can_be_named(book, files):
    """By its ref, or by its identifier however it is written; only new items stand in the items table."""
    import_history(book, HOW, files.folder)
    identifier = book.find("row 1")
    files.items("vial 7,vial,,,,,,,", "vial 8,vial,,,,,,,")
    files.pours(
        "row 1,vial 7,100,ml,,,2016-03-01,M. Aldane,",
        f"{identifier[0]}-{identifier[1:-1]}-{identifier[-1]},vial 8,100,ml,,,2016-03-02,M. Aldane,",
    )
    import_history(book, HOW, files.folder)
    assert book.show("row 1").volume_ml_20c == pytest.approx(199_800, abs=0.01)


def test_an_import_into_the_past_is_recomputed(book, files):
    """A sample that was forgotten is drawn before what the book has already."""
    files.pours(
        "origin,row 1,200,l,63.5,,2015-03-01,M. Aldane,",
        "row 1,batch 1,all,,,,2018-03-01,M. Aldane,",
    )
    import_history(book, HOW, files.folder)
    files.items("late,vial,,,,,,,")
    files.pours("row 1,late,1,kg,,,2016-03-01,M. Aldane,")
    import_history(book, HOW, files.folder)
    assert held(book, "late").mass_mg == 1_000_000
    assert book.show("batch 1").volume_ml_20c == pytest.approx(200_000 - book.show("late").volume_ml_20c, abs=0.01)
    assert book.verify().faults == ()


def test_a_little_more_than_the_book_holds_is_a_gain(book, files):
    """Within 0.5 % the source is gauged up first, and the answer names it."""
    files.pours(
        "origin,row 1,100,kg,60,,2015-03-01,M. Aldane,",
        "row 1,batch 1,100.2,kg,,,2016-03-01,M. Aldane,",
    )
    assert import_history(book, HOW, files.folder).gains == ((book.find("row 1"), 200_000),)


def test_a_house_with_a_decimal_comma(new_book, files):
    """Its numbers are written with a comma, so the file has semicolons or quotes."""
    book = new_book(decimal_mark=",")
    files.items("row 1;cask;225,5", header="ref;kind;capacity_l")
    files.pours(
        "origin;row 1;0,25;kg;63,5;20,0;2015-03-01;M. Aldane;", header="source;target;quantity;unit;strength;"
        "temperature_c;happened;by;reason"
    )  # fmt: skip
    import_history(book, HOW, files.folder)
    assert held(book, "row 1").mass_mg == 250_000
    assert book.show("row 1").facts["capacity_l"] == "225.5"


def test_a_strength_by_the_houses_scale(new_book, files):
    """A bare strength of a house that thinks in US proof: 127 proof is 63.5 % vol at 60 °F."""
    book = new_book(strength_scale="proof60f")
    files.pours("origin,row 1,200,l,127,,2015-03-01,M. Aldane,")
    import_history(book, HOW, files.folder)
    assert book.show("row 1").strength_20c == pytest.approx(63.5, abs=0.15)


# -- order ---------------------------------------------------------------------------------

STORY = [
    "origin,row 1,200,l,63.5,,2015-03-01 08:00,M. Aldane,",
    "origin,row 2,180,l,61,,2015-03-01 09:00,T. Verrow,",
    "row 1,vial 1,100,ml,,,2016-05-01 10:00,M. Aldane,",
    "row 1,loss,2,kg,,,2017-01-01 08:00,M. Aldane,angels",
    "row 1,batch 1,all,,,,2018-01-01 08:00,M. Aldane,",
    "row 2,batch 1,60,l,60.2,,2018-01-01 08:10,M. Aldane,",
    "water,batch 1,25,kg,,,2018-01-02 08:00,M. Aldane,",
    "batch 1,row 1,150,l,,18,2018-02-01 08:00,M. Aldane,",
    "row 1,vial 1,50,ml,,,2019-02-01 08:00,M. Aldane,",
]


@given(st.permutations(STORY))
def test_rows_may_stand_in_any_order(order):
    """Times say what came first; the file does not."""
    found = []
    for rows in (STORY, order):
        with tempfile.TemporaryDirectory() as folder:
            found.append(contents_of(Path(folder), rows))
    assert found[0] == found[1]


def contents_of(folder, rows):
    kinds = {"row 1": "cask", "row 2": "cask", "vial 1": "vial", "batch 1": "batch"}
    folder.joinpath("items.csv").write_text("ref,kind\n" + "".join(f"{ref},{kind}\n" for ref, kind in kinds.items()))
    header = "source,target,quantity,unit,strength,temperature_c,happened,by,reason"
    folder.joinpath("pours.csv").write_text("\n".join((header, *rows)) + "\n")
    with Book.create(":memory:", house="Quillmere", clock=Clock()) as book:
        import_history(book, HOW, folder)
        return contents(book)


def test_rows_of_one_day_keep_the_order_of_the_file(book, files):
    """Fill and draw on one day, without times: as they stand."""
    files.pours(
        "origin,row 1,200,l,63.5,,2015-03-01,M. Aldane,",
        "row 1,vial 1,100,ml,,,2015-03-01,M. Aldane,",
        "row 1,batch 1,all,,,,2015-03-01,M. Aldane,",
    )
    import_history(book, HOW, files.folder)
    assert book.show("batch 1").volume_ml_20c == pytest.approx(199_900, abs=0.01)


# -- all or nothing ------------------------------------------------------------------------


def test_a_rehearsal_keeps_nothing(book, files):
    """It answers as the import would, and the book is as it was."""
    before = book.head()
    rehearsed = import_history(book, Happening("pourbook", dry_run=True), files.folder)
    assert book.head() == before
    assert import_history(book, HOW, files.folder) == rehearsed


def test_the_same_file_twice_is_noticed(book, files):
    """By its bytes, whatever it is called now; --again takes it once more."""
    import_history(book, HOW, files.folder)
    with pytest.raises(Refused, match=r"'items.csv' was imported before, on 2024-01-01 \(entry 7\)"):
        import_history(book, HOW, files.folder)
    import_history(book, HOW, files.folder, again=True)
    assert len(list(book.stock())) == 2


def test_a_table_without_rows_may_come_again(book, files):
    """Later imports may bring pours alone; their items.csv is the same empty one every time."""
    import_history(book, HOW, files.folder)
    files.items()
    for year in (2016, 2017):
        files.pours(f"row 1,loss,1,kg,,,{year}-03-01,M. Aldane,")
        import_history(book, HOW, files.folder)
    assert len(entries(book, "imported")) == 3


def test_the_journal_says_what_was_imported(book, files):
    """File names with their SHA-256, and the counts, by whoever imported."""
    import_history(book, Happening("P. Hask"), files.folder)
    (logged,) = entries(book, "imported")
    digests = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in files.folder.iterdir()}
    assert logged.entry["body"] == {"files": digests, "items": 4, "pours": 1}
    assert logged.entry["who"] == "P. Hask"


def test_other_files_in_the_folder_are_left_alone(book, files):
    """A folder may hold more than the history."""
    files.write("remarks.csv", "anything", "at all")
    assert import_history(book, HOW, files.folder).pours == 1


def test_more_than_is_kept_at_hand(new_book, files, monkeypatch):
    """What many rows share goes through the private database where there is too much of it."""
    files.pours(
        "origin,row 1,200,l,63.5,,2015-03-01 08:00,M. Aldane,", "row 1,vial 1,100,ml,61,18,2016-03-01,M. Aldane,"
    )
    one, other = new_book(), new_book()
    import_history(one, HOW, files.folder)
    monkeypatch.setattr("pourbook.book.import_staging._AT_HAND", 1)
    import_history(other, HOW, files.folder)
    assert contents(other) == contents(one)
    assert other.head() == one.head()


def test_progress_is_told(book, files):
    """From nothing known to all done."""
    told = []
    import_history(book, HOW, files.folder, progress=lambda done, total: told.append((done, total)))
    assert told[0] == (0, 0)
    assert told[-1] == (1, 1)


@pytest.mark.parametrize("missing", ["items.csv", "pours.csv"])
def test_a_missing_file_is_named(book, files, missing):
    """Both tables are needed."""
    (files.folder / missing).unlink()
    with pytest.raises(Malformed, match=f"has no {missing}") as refusal:
        import_history(book, HOW, files.folder)
    assert refusal.value.remedy == "it needs items.csv and pours.csv"


def test_a_single_csv_is_not_a_history(book, files):
    """Neither a folder nor a workbook."""
    with pytest.raises(Malformed, match="neither a folder nor an XLSX workbook"):
        import_history(book, HOW, files.folder / "items.csv")


def test_no_such_folder(book, files):
    """The path is named."""
    with pytest.raises(Malformed, match=r"elsewhere.* does not exist"):
        import_history(book, HOW, files.folder / "elsewhere")


def test_a_long_history_is_verified(book, files):
    """A hundred random draws and rackings: the book agrees with its journal."""
    draw = random.Random(7)
    files.items(*(f"c{n},cask,,,,,,," for n in range(5)), *(f"v{n},vial,,,,,,," for n in range(95)))
    rows = [f"origin,c{n},200,l,60,,2015-03-01,M. Aldane," for n in range(5)]
    rows += [f"c{draw.randrange(5)},v{n},{draw.randrange(50, 200)},ml,,,2016-03-01,M. Aldane," for n in range(95)]
    files.pours(*rows)
    import_history(book, HOW, files.folder)
    assert book.verify().faults == ()
    assert moment("2015-03-01") == entries(book, "pour")[0].happened_us


def test_notes_of_a_workbook_are_a_third_sheet(book, files, tmp_path):
    """Under headings of the house's own too; a note may be about what the book has already."""
    from openpyxl import Workbook

    import_history(book, HOW, files.folder)
    sheets = {
        "items": [("ref", "kind"), ("row 7", "cask")],
        "pours": [
            ("source", "target", "quantity", "unit", "strength", "happened", "by"),
            ("origin", "row 7", 200, "l", 63.5, "2015-03-01", "M. Aldane"),
        ],
        "Notes": [
            ("ref", "about", "text", "happened", "by"),
            ("row 1", "repair", "a new head", "2016-05-01", "P. Hask"),
        ],
    }
    workbook = Workbook()
    for title, rows in sheets.items():
        sheet = workbook.create_sheet(title)
        for row in rows:
            sheet.append(row)
    workbook.save(tmp_path / "more.xlsx")
    done = import_history(book, HOW, tmp_path / "more.xlsx", answers=Answers({"notes.about": "subject"}))
    assert (done.items, done.pours) == (1, 1)
    assert [(one.subject, one.text) for one in book.provenance("row 1").events] == [("repair", "a new head")]
