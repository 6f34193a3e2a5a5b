"""What a site's own book and the group's say of sites: where spirit went, whose paper it is, what is under way."""

import json

import pypdfium2
import pytest
from command import Desk, here
from site_houses import Sites


@pytest.fixture
def desks(tmp_path):
    """A sent two consignments, of which B received one, and bottles to a customer."""
    with Sites(tmp_path) as sites:
        sites["A"].cask("C1", "600 l", "63.5", at="2026-05-01", spirit="malt", wood_days="4000")
        sites.send("A", "C1", "200 l", to="B", document="D 17", at="2026-05-02")
        sites.receive("B", "C1", "200 l", "63.5", source="A", document="D 17", at="2026-05-04")
        sites.send("A", "C1", "100 l", to="B", document="D 18", at="2026-05-05")
        sites["A"].dump("C1", "B1", at="2026-05-06")
        sites["A"].pour("B1", "L1", "70 l", verb="bottle", at="2026-05-07")
        sites["A"].despatch("L1", "7 l", at="2026-05-08", customer="Harbour Row", document="DN 1")
        sites.join()
        lot, cask = sites.id("A", "L1"), sites.id("A", "C1")
    return {name: Desk(sites.path(name), here) for name in "ABG"} | {"lot": lot, "cask": cask}


def text_of(path):
    with pypdfium2.PdfDocument(path) as document:
        return " ".join(page.get_textpage().get_text_range() for page in document)


def test_a_trace_forward_says_to_which_site_and_customer_it_went(desks):
    said = desks["A"](f"trace {desks['cask']} --forward").out.partition("what left the house")[2].splitlines()
    rows = [" ".join(line.split()) for line in said]
    assert any(row.startswith("site B ") and "D 17, D 18" in row and row.endswith("300.000") for row in rows)
    assert any(row.startswith("Harbour Row ") and "DN 1" in row for row in rows)
    of_group = desks["G"](f"trace {desks['cask']} --forward").out
    assert "Harbour Row" in of_group
    assert "site B " not in of_group.partition("what left the house")[2]
    assert "what left the house" not in desks["A"](f"trace {desks['lot']}").out


def test_papers_of_a_site_name_it_beside_the_house_and_those_of_a_group_do_not(desks, tmp_path):
    """The account, the dossier in each form, and the report of what is affected."""
    for name, wanted in (("A", True), ("G", False)):
        desk, folder = desks[name], tmp_path / name
        folder.mkdir()
        desk(f"account --from 2026-05-01 --to 2026-05-31 -o {folder / 'account.pdf'}").done()
        desk(f"affected --item {desks['cask']} -o {folder / 'affected.pdf'}").done()
        desk(f"dossier {desks['lot']} " + " ".join(f"-o {folder}/d.{end}" for end in ("pdf", "html", "json"))).done()
        for path in folder.glob("*.pdf"):
            assert ("Quillmere, site A" in text_of(path)) == wanted, path
        assert ("Quillmere, site A" in (folder / "d.html").read_text("utf-8")) == wanted
        imprint = json.loads((folder / "d.json").read_text("utf-8"))["imprint"]
        assert (imprint["house"], imprint["site"]) == ("Quillmere", "A" if wanted else "")


def test_stock_of_a_group_says_the_site_and_what_is_under_way_where(desks):
    heads, *lines = desks["G"]("stock").out.splitlines()
    assert "site" in heads.split()
    (travels,) = [line for line in lines if "D 18" in line]
    assert "under way to B since 2026-05-05" in travels
    assert not any("D 17" in line for line in lines)
    assert "site" not in desks["A"]("stock").out.splitlines()[0].split()


def test_what_was_not_received_for_long_is_due(desks):
    (one,) = desks["G"].asks("due")["between"]
    assert (one["document"], one["site"], one["to_site"], one["sent"]) == ("D 18", "A", "B", "2026-05-05T00:00:00Z")
    assert "sent and not received: 1" in desks["G"]("due").out
    assert "between" not in desks["A"].asks("due")
