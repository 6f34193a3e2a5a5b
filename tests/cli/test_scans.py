"""What leaves the house and what a scanner sends, through the real command."""

import json

import pytest
from command import Desk, here
from PIL import Image, ImageFilter

from pourbook import errors
from pourbook.codes.gs1 import gtin_of

PREFIX = "9521234"
GTIN, CASE_GTIN = gtin_of(PREFIX, "567"), gtin_of(PREFIX, "567", "1")
FIRST = "095212340000000013"  # extension 0, prefix, serial 000000001, check digit by hand: 47, and 3 to the next ten


@pytest.fixture
def desk(tmp_path):
    """A cask and a lot of thirty bottles with its mark, in a house without a company prefix."""
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    desk.cask = desk.does("cask 'Row 3/12' --fill '220 l' --strength 63.5 --when 2016-03-01").id
    desk.does("batch 'Vatting 7' --name Ostrewick --when 2024-03-03")
    desk.does("dump 'Vatting 7' 'Row 3/12' --when 2024-03-04")
    desk.lot = desk.does("bottle 'Vatting 7' --count 30 --size '700 ml' --lot-mark 26-118 --ref 'Lot 26-1' "
                         "--when 2024-03-05").id  # fmt: skip
    return desk


@pytest.fixture
def outgoing(desk):
    """The same house with a prefix, the lot with its GTINs."""
    desk.does(f"settings --set company_prefix={PREFIX}")
    desk.does(f"gtin {desk.lot} --item 567 --case-indicator 1")
    return desk


def refused(ran, refusal, *words):
    """A refusal of a class whose sentence has these words."""
    assert (ran.status, ran.refusal, ran.out) == (1, refusal, ""), ran.err
    assert all(word in ran.err for word in words), ran.err


# -- scan -----------------------------------------------------------------------------------------


def test_scan_needs_no_book():
    """The contract: kind, id, gtin, lot, sscc in one document."""
    assert here("scan", "C-000123-Y", "--json").done().json.items() >= {
        "kind": "id", "id": "C000123Y", "gtin": None, "lot": None, "sscc": None, "state": None
    }.items()  # fmt: skip
    answer = here("scan", f"]C101{GTIN}" + "10L26-118", "--json").done().json
    assert (answer["kind"], answer["gtin"], answer["lot"], answer["symbology"]) == ("gs1", GTIN, "L26-118", "]C1")
    assert answer["elements"][1] == {"ai": "10", "title": "BATCH/LOT", "value": "L26-118"}
    assert here("scan", f"https://id.gs1.org/01/{GTIN}", "--json").done().json["kind"] == "link"
    assert here("scan", "Row 3/12", "--json").done().json["kind"] == "unknown"


@pytest.mark.parametrize(
    ("text", "refusal", "word"),
    [
        ("C000132Y", errors.Mistyped, "mistyped"),
        ("9521234005675", errors.Mistyped, "mistyped"),
        ("C000123YV000001R", errors.Ambiguous, "ambiguous"),
        ("]C1hello", errors.Malformed, "mistyped"),
    ],
)
def test_scan_says_what_is_wrong(text, refusal, word):
    """Mistyped or ambiguous, whatever book there is or is not."""
    refused(here("scan", text, "--json"), refusal, word)


def test_scan_says_what_it_is_in_the_book(outgoing):
    """An identifier, a name, a GTIN with lot, a link, the lot number with its L or without."""
    lot = {"kind": "lot", "ref": "Lot 26-1", "name": "Ostrewick"}
    link = f"https://id.gs1.org/01/{GTIN}/10/l26-118"
    for text in (outgoing.lot, "Lot 26-1", f"]C101{GTIN}10L26-118", f"(01){CASE_GTIN}(10)26-118", link, GTIN[1:]):
        answer = outgoing.asks(f"scan '{text}'")
        assert (answer["id"], answer["item"], answer["state"]) == (outgoing.lot, lot, "in the book")
    assert outgoing.does("scan 'Row 3/12'").out == "C-000001-H · Row 3/12  cask\n"


def test_scan_refuses_what_the_book_does_not_know(desk):
    """By the word unknown; a code from elsewhere is answered all the same."""
    refused(desk("scan C-000077-E"), errors.Unknown, "C-000077-E is not in the book")
    refused(desk("scan 'Row 9/99'"), errors.Unknown, "'Row 9/99' is unknown")
    answer = desk.asks("scan 9529876000019")  # of another house, in the range for examples
    assert (answer["kind"], answer["id"], answer["state"]) == ("gs1", None, "not in the book")


def test_scan_knows_labels_printed_ahead(desk):
    """They are answered, and not taken for items."""
    (vial,) = desk.asks("reserve vial 1")["ids"]
    answer = desk.asks(f"scan {vial}")
    assert (answer["id"], answer["item"], answer["state"]) == (vial, {"kind": "vial"}, "printed ahead")


def test_two_lots_of_one_number_are_ambiguous(outgoing):
    """The same product and the same mark: the book cannot tell, and says which two it may be."""
    second = outgoing.does("bottle 'Vatting 7' --count 10 --size '700 ml' --lot-mark L26-118 --confirm").id
    outgoing.does(f"gtin {second} {GTIN[1:]}")
    refused(outgoing(f"scan '(01){GTIN}(10)L26-118'"), errors.Ambiguous, "26-1 · Ostrewick or L-000002-A")
    answer = outgoing.asks(f"scan '(01){GTIN}'")
    assert (answer["id"], answer["lots"]) == (None, [outgoing.lot, second])


def test_a_name_that_two_items_have_is_ambiguous(desk):
    """The word is said, and the items are named."""
    desk.does("cask 'Row 3/12'")
    refused(desk("scan 'Row 3/12'"), errors.Ambiguous, "ambiguous", "C-000001-H")


def test_every_verb_takes_what_a_scanner_sends(outgoing):
    """With the prefix of a symbology, as GTIN with lot, as a link; and asks where letters were swapped."""
    (sscc,) = outgoing.asks(f"cases {outgoing.lot} --count 1 --bottles 6")["ssccs"]
    for text in ("]d1" + outgoing.lot, f"]C101{GTIN}10L26-118", f"https://id.gs1.org/01/{GTIN}/10/L26-118", sscc):
        assert outgoing.asks(f"show '{text}'")["id"] == outgoing.lot
    refused(outgoing("show C000123Z"), errors.Mistyped, "does the keyboard swap letters? then C-000123-Y was meant")
    refused(outgoing(f"show {outgoing.lot}{outgoing.cask}"), errors.Ambiguous, "Ostrewick and C-000001-H · Row 3/12")
    refused(outgoing(f"show {GTIN[:-1]}9"), errors.Mistyped, "its check digit does not agree")


# -- what the house makes ---------------------------------------------------------------------------


def test_without_a_prefix_it_says_what_it_will_not_make(desk, tmp_path):
    """No GTIN, no SSCC; the labels carry our identifier instead, and say so."""
    refused(desk(f"gtin {desk.lot} --item 567"), errors.Refused, "no GS1 company prefix, so no GTIN is made")
    refused(desk(f"cases {desk.lot} --count 1 --bottles 6"), errors.Refused, "so no SSCC is made", "our identifier")
    refused(desk(f"pallets {desk.lot} --cases 5 --bottles 6"), errors.Refused, "so no SSCC is made")
    ran = desk.does(f"label {desk.lot} --template carton-gs1-roll-105x148 -o {tmp_path / 'carton.pdf'}")
    assert "L-000001-C · Lot 26-1 · Ostrewick has no GTIN for its case" in ran.err
    assert set(codes(desk, tmp_path / "carton.pdf")) == {("id", desk.lot), ("gs1", desk.lot)}


def codes(desk, path):
    """Kind and item of every code in a file."""
    return [(code["kind"], code["id"]) for code in desk.asks(f"read {path}")["codes"]]


def test_a_gtin_of_another_house_is_taken_with_its_check_digit(desk):
    """It may come from a customer; the prefix is needed only to make one."""
    assert desk.asks(f"gtin {desk.lot} 9529876000019")["gtin"] == "9529876000019"
    refused(desk(f"gtin {desk.lot} 9529876000010"), errors.Mistyped, "its check digit does not agree")
    refused(desk(f"set {desk.lot} gtin=9529876000010"), errors.Mistyped, "its check digit does not agree")
    refused(desk(f"gtin {desk.cask} 9529876000019"), errors.Refused, "only a bottle lot")
    refused(desk(f"gtin {desk.lot}"), errors.Malformed, "no GTIN was given")


def test_serial_numbers_never_repeat(outgoing):
    """From call to call, over a rehearsal, a void, a repair and another prefix and back."""
    first = outgoing.asks(f"cases {outgoing.lot} --count 2 --bottles 6")
    assert first["ssccs"] == [FIRST, "095212340000000020"]
    rehearsed = outgoing.asks(f"cases {outgoing.lot} --count 3 --bottles 6 --dry-run")["ssccs"]
    outgoing.does(f"void {first['entries'][0]} --reason 'wrong lot'")
    outgoing.does("repair")
    pallet = outgoing.asks(f"pallets {outgoing.lot} --cases 5 --bottles 6")["ssccs"]
    assert pallet == rehearsed[:1] == ["095212340000000037"]
    outgoing.does("settings --set company_prefix=95212345")
    assert outgoing.asks(f"cases {outgoing.lot} --count 1 --bottles 6")["ssccs"] == ["095212345000000018"]
    outgoing.does(f"settings --set company_prefix={PREFIX}")
    assert outgoing.asks(f"cases {outgoing.lot} --count 1 --bottles 6")["ssccs"] == ["095212340000000044"]
    outgoing.does("verify")


def test_a_case_is_known_by_its_number_until_its_packing_is_taken_back(outgoing):
    """What is in it, and afterwards that it no longer counts."""
    packed = outgoing.asks(f"cases {outgoing.lot} --count 1 --bottles 6")
    answer = outgoing.asks(f"scan {FIRST}")
    assert (answer["id"], answer["sscc"], answer["state"]) == (outgoing.lot, FIRST, "in the book")
    assert answer["unit"] == {"unit": "case", "bottles": 6, "cases": None, "voided_by": None, "sent_to": None}
    void = outgoing.asks(f"void {packed['entries'][0]} --reason 'wrong lot'")["entries"][0]
    answer = outgoing.asks(f"scan {FIRST}")
    assert (answer["state"], answer["unit"]["voided_by"]) == ("packing voided", void)
    refused(
        outgoing(f"label {FIRST} --template case-sscc-roll-105x148"), errors.Refused, f"entry {void} voided the packing"
    )


def test_more_bottles_in_cases_than_the_lot_has_are_remarked(outgoing):
    """Asked about, and noted where somebody confirms: numbers may be printed ahead."""
    assert "note: " not in outgoing.does(f"cases {outgoing.lot} --count 5 --bottles 6").err
    more = f"cases {outgoing.lot} --count 1 --bottles 6"
    refused(outgoing(more), errors.ToConfirm, "cases of 36 bottles would be numbered", "has 30 bottles")
    assert "cases of 36 bottles are numbered; the lot has 30" in outgoing.does(f"{more} --confirm").err


@pytest.mark.parametrize(
    ("setting", "said"),
    [("company_prefix=95A", "is not a GS1 company prefix"), ("resolver=quillmere.example", "cannot begin a link")],
)
def test_settings_that_cannot_be(desk, setting, said):
    """Refused when they are set, not when a label is printed."""
    refused(desk(f"settings --set {setting}"), errors.Malformed, said)


# -- labels and reading back -------------------------------------------------------------------------


def test_labels_that_leave_the_house_read_back_as_what_they_are_for(outgoing, tmp_path):
    """Cartons, cases and pallets: every symbol means the lot; each case has its own number, each print is counted."""
    cases = outgoing.asks(f"cases {outgoing.lot} --count 2 --bottles 6")["ssccs"]
    (pallet,) = outgoing.asks(f"pallets {outgoing.lot} --cases 2 --bottles 6")["ssccs"]
    done = outgoing.asks(f"label {' '.join(cases)} --template sheet-a4-4-105x148 -o {tmp_path / 'cases.pdf'}")
    assert (done["prints"], done["notes"]) == (dict.fromkeys(cases, 1), [])
    seen = outgoing.asks(f"read {tmp_path / 'cases.pdf'}")["codes"]
    assert {code["id"] for code in seen} == {outgoing.lot}
    assert {code["sscc"] for code in seen} == {None, *cases}
    again = outgoing.asks(f"label {cases[1]} --template case-sscc-roll-105x148 -o {tmp_path / 'again.pdf'}")
    assert again["prints"] == {cases[1]: 2}
    outgoing.does(f"label {pallet} --template pallet-sscc-roll-148x210 -o {tmp_path / 'pallet.pdf'}")
    (content,) = {
        tuple((one["ai"], one["value"]) for one in code["elements"])
        for code in outgoing.asks(f"read {tmp_path / 'pallet.pdf'}")["codes"]
        if len(code["elements"]) == 4
    }
    assert content == (("00", pallet), ("02", CASE_GTIN), ("37", "2"), ("10", "L26-118"))


def test_the_carton_of_a_lot_has_its_gtin_date_and_lot(outgoing, tmp_path):
    """(01) of the case, (11) the day of bottling, (10) the mark as it is printed, and the link of the same."""
    path = tmp_path / "carton.pdf"
    outgoing.does(f"label {outgoing.lot} --template carton-gs1-roll-105x148 --count '6 × 700 mL' -o {path}")
    seen = outgoing.asks(f"read {path}")["codes"]
    assert {code["text"] for code in seen} == {
        outgoing.lot, f"01{CASE_GTIN}11240305", "10L26-118", f"01{CASE_GTIN}1124030510L26-118",
        f"https://id.gs1.org/01/{CASE_GTIN}/10/L26-118",
    }  # fmt: skip


def test_a_resolver_of_the_house_is_in_its_links(outgoing, tmp_path):
    """The link begins with the house's own address."""
    outgoing.does("settings --set resolver=https://quillmere.example/gs1")
    outgoing.does(f"label {outgoing.lot} --template bottle-gs1-roll-60x40 -o {tmp_path / 'bottle.pdf'}")
    links = [
        code["text"] for code in outgoing.asks(f"read {tmp_path / 'bottle.pdf'}")["codes"] if code["kind"] == "link"
    ]
    assert links == [f"https://quillmere.example/gs1/01/{GTIN}/10/L26-118"]


@pytest.fixture
def photo(desk, tmp_path):
    """A photo of a cask's label: turned, blurred, not quite black and white."""
    import pypdfium2

    desk.does(f"label {desk.cask} --template cask-head-100x70 -o {tmp_path / 'cask.pdf'}")
    with pypdfium2.PdfDocument(tmp_path / "cask.pdf") as document:
        picture = document[0].render(scale=3, grayscale=True).to_pil()
    seen = picture.point(lambda grey: 60 + grey // 2).rotate(7, expand=True, fillcolor=180)
    seen.convert("RGB").filter(ImageFilter.GaussianBlur(0.8)).save(tmp_path / "cask.jpg", quality=70)
    return tmp_path / "cask.jpg"


def test_a_photo_is_read(desk, photo):
    """The codes of a label in a photo, each with its place and what it is."""
    answer = desk.asks(f"read {photo}")
    assert answer["file"] == str(photo)
    assert {(code["id"], code["page"]) for code in answer["codes"]} == {(desk.cask, 1)}
    with Image.open(photo) as picture:
        width, height = picture.size
    assert all(0 < code["x"] < width and 0 < code["y"] < height for code in answer["codes"])
    assert "C-000001-H · Row 3/12  cask" in desk.does(f"read {photo}").out
    assert here("read", photo, "--json").done().json["codes"][0]["state"] is None


def test_a_code_that_is_wrong_is_told_among_the_others(desk, photo, tmp_path):
    """Exit status 1; the good ones are answered all the same."""
    import zxingcpp

    wrong = zxingcpp.create_barcode("C000001X", zxingcpp.BarcodeFormat.DataMatrix).to_image(scale=6)
    with Image.open(photo) as taken:
        picture = taken.convert("L")
    picture.paste(Image.frombytes("L", memoryview(wrong).shape[::-1], memoryview(wrong).tobytes()), (0, 0))
    picture.save(tmp_path / "two.png")
    ran = desk(f"read {tmp_path / 'two.png'} --json")
    assert ran.status == 1
    found = {code.get("refused"): code for code in json.loads(ran.out)["codes"]}
    assert found["mistyped"]["text"].endswith("C000001X")
    assert found[None]["id"] == desk.cask
    assert "is mistyped" in desk(f"read {tmp_path / 'two.png'}").out


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.png", b"no picture", "is neither PNG, JPEG nor PDF"),
        ("b.png", b"\x89PNG\r\n\x1a\nno picture", "cannot be read as a picture"),
        ("c.png", b"", "is empty"),
        ("a.pdf", b"%PDF-1.7 and nothing more", "cannot be read as a PDF"),
        ("a.jpg", b"\xff\xd8\xff\xe0" + bytes(99), "cannot be read as a picture"),
    ],
)
def test_files_that_cannot_be_read(tmp_path, name, content, said):
    """One sentence, whatever is wrong with the file."""
    (tmp_path / name).write_bytes(content)
    ran = here("read", tmp_path / name)
    assert (ran.status, ran.refusal, ran.out) == (1, errors.Malformed, "")
    assert any(one in ran.err for one in said.split("|"))


def test_a_picture_without_a_code(tmp_path):
    """Refused, with what to do; a file that is not there, too."""
    Image.new("L", (200, 100), 200).save(tmp_path / "wall.png")
    refused(here("read", tmp_path / "wall.png"), errors.Unknown, "no code could be read", "take the photo nearer")
    assert here("read", tmp_path / "none.png").status == 1


def test_a_new_gtin_takes_the_case_with_it(outgoing):
    """Else the carton would bear another product's GTIN: the same indicator, the new reference, its check digit."""
    before = outgoing.asks(f"show {outgoing.lot}")["facts"]["case_gtin"]
    answer = outgoing.asks(f"gtin {outgoing.lot} --item 568")
    assert answer["case_gtin"][0] == before[0]
    assert answer["case_gtin"] != before
    assert answer["case_gtin"][1:13] == answer["gtin"].zfill(14)[1:13]
