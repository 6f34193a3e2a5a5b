"""The verbs that print, through the real command: files, what they say, and what the journal keeps of them."""

import pypdfium2
import pytest
import zxingcpp
from command import Desk, here

from pourbook.errors import Malformed

DPI = 300


@pytest.fixture
def desk(tmp_path):
    """A lot bottled from two casks, and a trial that is not poured yet."""
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere --set currency=GBP")
    desk.does("cask 'Row 3/12' --wood 'virgin chestnut' --capacity 225 --fill '220 l' --strength 63.5 "
              "--spirit 'malt spirit' --in-wood 0 --when 2016-03-01")  # fmt: skip
    desk.does("cask 'Row 4/02' --wood 'fortified-wine hogshead' --previous 'dry fortified wine (sulphites)' "
              "--fill '190 l' --strength 58 --spirit 'rye spirit' --in-wood 0 --when 2018-05-02")  # fmt: skip
    desk.vial = desk.does("draw 'Row 3/12' '200 ml' --ref 'S 1' --when 2024-03-01").id
    desk.trial = desk.does(f"trial --part {desk.vial}=9:base --part water=1 --when 2024-03-02").id
    desk.batch = desk.does("batch 'Vatting 7' --name Ostrewick --when 2024-03-03").id
    desk.does("dump 'Vatting 7' 'Row 3/12' 'Row 4/02' --when 2024-03-04")
    desk.lot = desk.does("bottle 'Vatting 7' --count 400 --size '700 ml' --lot-mark L24-064 --ref 'Lot 24-1' "
                         "--loss line='2 l' --when 2024-03-05").id  # fmt: skip
    return desk


@pytest.fixture
def there(tmp_path):
    """The path of a file of the test's own."""
    return lambda name: tmp_path / name


def text_of(path):
    """What a PDF says, without any white."""
    with pypdfium2.PdfDocument(path) as document:
        return "".join("".join(page.get_textpage().get_text_range().split()) for page in document)


def symbols_of(path):
    """What a scanner reads on each page."""
    with pypdfium2.PdfDocument(path) as document:
        pictures = [page.render(scale=DPI / 72, grayscale=True).to_numpy().squeeze() for page in document]
    return [[symbol.text for symbol in zxingcpp.read_barcodes(picture)] for picture in pictures]


def papers(desk):
    """What the journal keeps of papers."""
    return [entry["body"] for entry in desk.asks("journal")["entries"] if entry["kind"] == "paper"]


# -- templates --------------------------------------------------------------------------------


def test_templates_are_listed_with_their_geometry(desk):
    found = {one["name"]: one for one in desk.asks("templates")["templates"]}
    vial, sheet = found["vial-roll-30x15"], found["sheet-a4-65-38x21"]
    assert (vial["kind"], vial["width_mm"], vial["height_mm"]) == (["vial"], 30.0, 15.0)
    assert (vial["symbol"], vial["media"]["form"]) == ("data-matrix", "roll")
    assert (sheet["media"]["columns"], sheet["media"]["rows"], sheet["media"]["page"]) == (5, 13, "A4")
    assert all(name in desk.does("templates").out for name in found)


def test_templates_need_no_book_and_take_the_house_s_own(there):
    shipped = here("templates", "--json").done().json["templates"]
    from pourbook.shipped import shipped as folder

    own = there("ours")
    own.mkdir()
    text = (folder("label_templates") / "vial-roll-30x15.toml").read_text("utf-8")
    (own / "our-vial.toml").write_text(text.replace('"vial-roll-30x15"', '"our-vial"'), "utf-8")
    names = {one["name"] for one in here("templates", "--folder", own, "--json").done().json["templates"]}
    assert names == {one["name"] for one in shipped} | {"our-vial"}


# -- labels --------------------------------------------------------------------------------------


@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_a_label_scans_as_the_item_it_was_printed_for(desk, there, dpi):
    """Read back from the PDF by another program, whatever the printer's resolution."""
    file = there("labels.pdf")
    desk.does(f"label {desk.vial} {desk.vial} --template vial-roll-30x15 --dpi {dpi} -o {file}")
    assert symbols_of(file) == [[desk.vial], [desk.vial]]


def test_a_sheet_of_labels_starts_where_it_is_told_to(desk, there):
    file = there("sheet.pdf")
    desk.does(f"label 'Row 3/12' 'Row 4/02' --template sheet-a4-8-99x68 --start 8 -o {file}")
    assert [set(found) for found in symbols_of(file)] == [{"C000001H"}, {"C000002F"}]


def test_the_second_print_of_a_label_says_so(desk, there):
    first, second = there("one.pdf"), there("two.pdf")
    assert desk.asks(f"label {desk.lot} --template lot-carton-roll-100x60 -o {first}")["prints"] == {desk.lot: 1}
    assert desk.asks(f"label {desk.lot} --template lot-carton-roll-100x60 -o {second}")["prints"] == {desk.lot: 2}
    assert "print2" not in text_of(first)
    assert "print2" in text_of(second)
    assert [one["items"] for one in papers(desk)] == [[desk.lot], [desk.lot]]
    assert papers(desk)[0]["facts"]["template"] == "lot-carton-roll-100x60"


def test_carton_labels_say_what_is_in_a_carton(desk, there):
    file = there("cartons.pdf")
    done = desk.asks(f"label {desk.lot} --template lot-carton-roll-100x60 --count '6 × 700 mL' --copies 3 -o {file}")
    assert done["count"] == 3
    assert text_of(file).count("6×700mL") == 3
    assert text_of(file).count("L24-064") == 3


def test_reserved_numbers_are_printed_ahead_and_assigned(desk, there):
    ids = desk.asks("reserve vial 3")["ids"]
    file = there("ahead.pdf")
    desk.does(f"label {' '.join(ids)} --template vial-roll-30x15 -o {file}")
    assert [found[0] for found in symbols_of(file)] == ids
    assert desk.does(f"draw 'Vatting 7' '100 ml' --vial {ids[1]}").id == ids[1]
    assert desk.asks(f"label {ids[1]} --template vial-roll-30x15 -o {there('again.pdf')}")["prints"] == {ids[1]: 2}


def test_reserve_prints_one_number_a_line_and_never_twice(desk):
    first, second = (desk.does("reserve cask 40").out.split() for _ in range(2))
    assert len(first) == len(second) == 40
    assert not set(first) & set(second)
    assert desk("reserve cask 0").refusal is Malformed
    assert desk("reserve barrel 1").refusal is Malformed


def test_a_label_for_another_kind_is_refused_and_nothing_is_kept(desk, there):
    file = there("wrong.pdf")
    ran = desk(f"label {desk.lot} --template vial-roll-30x15 -o {file}")
    assert ran.status == 1
    assert "has no label for a lot" in ran.err
    assert not file.exists()
    assert papers(desk) == []


# -- the bench sheet ---------------------------------------------------------------------------------


def test_the_bench_sheet_carries_trial_and_vial_as_symbols(desk, there):
    file = there("bench.pdf")
    done = desk.asks(f"sheet {desk.trial} -o {file}")
    assert done["file"] == str(file)
    assert symbols_of(file) == [[desk.trial, desk.vial]] or symbols_of(file) == [[desk.vial, desk.trial]]
    said = text_of(file)
    for words in ("S1fromRow3/12,virginchestnut", "90.00", "water", "9.98", "8years0days"):
        assert words in said
    (paper,) = papers(desk)
    assert (paper["paper"], paper["items"]) == ("bench sheet", [desk.trial])
    assert paper["facts"]["head"] == done["head"]


def test_papers_are_named_after_their_item_by_default(desk, there, monkeypatch):
    monkeypatch.chdir(there(""))
    desk.does(f"sheet {desk.trial} --paper Letter")
    assert there(f"bench-sheet-{desk.trial[0]}-{desk.trial[1:-1]}-{desk.trial[-1]}.pdf").exists()


# -- the dossier ----------------------------------------------------------------------------------------


def test_the_dossier_says_lot_mark_casks_and_head(desk, there):
    file = there("dossier.pdf")
    head = desk.asks("journal-hash")
    done = desk.does(f"dossier {desk.lot} -o {file} --json").json
    said = text_of(file)
    for words in ("L24-064", "C-000001-H", "C-000002-F", "Row3/12", "fortified-winehogshead", head["journal_hash"]):
        assert words in said
    assert (done["at_entry"], done["head"]) == (head["entries"], head["journal_hash"])
    symbols = [text for page in symbols_of(file) for text in page]
    assert f"pourbook:head:{head['entries']}:{head['journal_hash']}" in symbols


def test_the_dossier_s_figures_are_those_of_the_trace(desk, there):
    trace = desk.asks(f"trace {desk.lot}")
    told = desk.asks(f"dossier {desk.lot} -o {there('d.pdf')}")["dossier"]
    assert told["id"] == desk.lot
    assert [row["share"] for row in told["origins"]] == [row["share"] for row in trace["origins"]]
    assert {row["item"]["id"]: row["share"] for row in told["upstream"]} == {
        row["id"]: row["share"] for row in trace["items"]
    }
    assert [(row["entry"], row["mass_mg"]) for row in told["pours"]] == [
        (row["entry"], row["mass_mg"]) for row in trace["pours"]
    ]
    assert {row["difference_mg"] for row in told["balances"]} == {0}
    youngest = told["youngest"]["years"] * 365.2425 + told["youngest"]["days"]
    assert youngest == pytest.approx(trace["age"]["youngest_days"], abs=1.5)


def test_the_paper_s_entry_keeps_the_head_and_its_figures(desk, there):
    """The entry says where the journal stood before it, so that the paper can be held against a copy."""
    head = desk.asks("journal-hash")
    desk.does(f"dossier {desk.lot} -o {there('d.pdf')}")
    (paper,) = papers(desk)
    facts = paper["facts"]
    assert (facts["entries"], facts["head"]) == (head["entries"], head["journal_hash"])
    assert (facts["bottles"], facts["lot_mark"], facts["origins"]) == (400, "L24-064", 2)
    assert facts["held_mg"] == desk.asks(f"show {desk.lot}")["mass_mg"]
    assert desk.asks("verify")["faults"] == []


def test_a_lot_of_sixty_casks_takes_its_pages(desk, there):
    for number in range(60):
        desk.does(f"cask 'Row 9/{number}' --fill '190 l' --strength 60 --spirit 'malt spirit' --in-wood 0 "
                  "--when 2014-03-01")  # fmt: skip
    casks = " ".join(f"'Row 9/{number}'" for number in range(60))
    desk.does("batch 'Vatting 60' --when 2024-03-03")
    desk.does(f"dump 'Vatting 60' {casks} --when 2024-03-04")
    lot = desk.does("bottle 'Vatting 60' --count 15000 --size '700 ml' --when 2024-03-05").id
    file = there("sixty.pdf")
    told = desk.asks(f"dossier {lot} -o {file}")["dossier"]
    assert len(told["origins"]) == 60
    assert sum(row["share"] for row in told["origins"]) == pytest.approx(1.0, rel=1e-12)
    with pypdfium2.PdfDocument(file) as document:
        assert len(document) >= 3
    assert all(f"Row9/{number}" in text_of(file) for number in (0, 31, 59))


# -- files ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("line", ["label {lot} --template lot-carton-roll-100x60", "dossier {lot}", "sheet {trial}"])
def test_a_file_that_is_there_is_kept_unless_forced(desk, there, line):
    line = line.format(lot=desk.lot, trial=desk.trial)
    file = there("kept.pdf")
    file.write_bytes(b"mine")
    ran = desk(f"{line} -o {file}")
    assert ran.status == 1
    assert "already exists" in ran.err
    assert file.read_bytes() == b"mine"
    assert papers(desk) == []
    desk.does(f"{line} -o {file} --force")
    assert file.read_bytes().startswith(b"%PDF-")


def test_a_rehearsal_leaves_neither_file_nor_entry(desk, there):
    before = desk.asks("journal-hash")
    ran = desk.does(f"dossier {desk.lot} -o {there('none.pdf')} --dry-run")
    assert "dry run" in ran.err
    assert not there("none.pdf").exists()
    assert desk.asks("journal-hash") == before


def test_a_folder_that_is_not_there_is_refused_before_anything_is_recorded(desk, there):
    ran = desk(f"dossier {desk.lot} -o {there('no/such/d.pdf')}")
    assert ran.status == 1
    assert papers(desk) == []
    assert [path.name for path in there("").iterdir() if path.suffix == ".part"] == []


@pytest.mark.parametrize("verb", ["templates", "label", "reserve", "sheet", "dossier"])
def test_every_verb_shows_an_example(verb):
    said = here(verb, "--help").done().out
    assert "Example:" in said
    assert f"pourbook {verb}" in said
    assert "--json" in said
