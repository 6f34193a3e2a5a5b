"""Recalls across sites: what reaches whom is printed of the group, and recorded at each site."""

import pypdfium2
import pytest
from command import Desk, here
from three_sites import SiteBooks, month

from pourbook.errors import Refused


@pytest.fixture(scope="module")
def desks(tmp_path_factory):
    """STILLS, QUAY and the group, after a month; each site recalled something."""
    folder = tmp_path_factory.mktemp("recalls")
    books = SiteBooks(folder).record(month())
    stills, quay = (Desk(books.paths[name], here) for name in ("STILLS", "QUAY"))
    filled = stills.asks("show 'S 1' --history")["history"][0]["entry"]
    stills(f"recall --origin {filled} --mock --reason exercise").done()
    quay("recall --origin 'MD 26-1' --mock --reason exercise").done()
    here("group", "join", folder / "group.pourbook", *books.paths.values()).done()
    return {"STILLS": stills, "QUAY": quay, "group": Desk(folder / "group.pourbook", here)}


def text_of(path):
    with pypdfium2.PdfDocument(path) as document:
        return "\n".join(page.get_textpage().get_text_range() for page in document)


def test_the_report_names_all_sites_and_their_customers(desks, tmp_path):
    group, path = desks["group"], tmp_path / "affected.pdf"
    before = group.asks("group sites")
    told = group.asks(f"affected --item 'S 1' -o {path}")
    assert told["file"] == str(path)
    said = text_of(path)
    for words in (
        "Report of what is affected", "site STILLS of Quillmere", "site QUAY of Quillmere", "site HILL of Quillmere",
        "Harbour Row Wines", "Corran Vale", "Ferrow Inns", "nothing was recorded or put on hold",
    ):  # fmt: skip
        assert words in said
    assert before["head"] in said.replace("\r\n", "").replace("\n", "")
    assert group.asks("group sites") == before


def test_of_a_house_it_names_no_site_and_records_nothing(desks, tmp_path):
    stills, path = desks["STILLS"], tmp_path / "affected.pdf"
    entries = len(stills.asks("journal")["entries"])
    stills(f"affected --item 'S 1' -o {path}").done()
    assert "joined" not in text_of(path)
    assert len(stills.asks("journal")["entries"]) == entries
    assert "is not a PDF" in stills(f"affected --item 'S 1' -o {tmp_path / 'a.txt'}").err


@pytest.mark.parametrize("dry", ["", "--dry-run"])
def test_a_recall_of_the_group_says_what_works(desks, dry):
    ran = desks["group"](f"recall --item 'S 1' --mock --reason exercise {dry}")
    assert ran.refusal is Refused
    assert "pourbook affected … -o FILE.pdf" in ran.err


@pytest.mark.parametrize("typed", ["MD 26-1", "md 26-1", "document=MD 26-1", "from_site=STILLS"])
def test_a_document_between_sites_is_found_as_its_consignment(desks, typed):
    """What it reaches at QUAY, and what was lost on the way; of a cask that never arrived, what is under way."""
    group = desks["group"]
    reached = {one["id"] for one in group.asks("affected --item 'MD 26-1'")["items"]}
    found = {one["id"] for one in group.asks(f"affected --origin '{typed}'")["items"]}
    assert reached <= found
    assert (reached == found) == (typed != "from_site=STILLS")


def test_what_never_arrived_is_found_by_its_document_and_what_is_none_is_not(desks):
    group = desks["group"]
    (item,) = group.asks("affected --origin 'MD 26-4'")["items"]
    assert item["ref"] == "MD 26-4"
    assert "no origin is recorded as 'MD 99'" in group("affected --origin 'MD 99'").err


def test_a_recall_of_a_site_is_worked_out_anew_in_the_group(desks):
    """By a document, and by an entry that the site calls by another number; masses are in kilograms."""
    group = desks["group"]
    for one in group.asks("recall --list")["recalls"]:
        shown = group.asks(f"recall --show {one['recall']}")
        assert shown["figures_now"]["items"] >= shown["figures"]["items"]
        assert shown["figures_now"]["unexplained_mg"] == 0
        said = group(f"recall --show {one['recall']}").out
        assert "despatched, kg of ethanol" in said
        assert " mg" not in said
        assert " now " in said
