"""What a site wrote down held against its group, and what a group wrote down against a site."""

import json

import pypdfium2
import pytest
from command import Desk, here
from site_houses import Sites

from pourbook.book.groups import site_journal


@pytest.fixture
def sites(tmp_path):
    """Two sites, of which A signed where it stood; they joined, and B went on and joined again."""
    with Sites(tmp_path) as two:
        two["A"].cask("C1", "600 l", "63.5", at="2026-05-01")
        two["B"].cask("C1", "200 l", "60", at="2026-05-01")
        for name in "ab":
            desk = Desk(two.path(name.upper()), here)
            desk.does(f"key make {tmp_path}/{name}.key")
            desk.does(f"sign --key {tmp_path}/{name}.key -o {tmp_path}/{name}.json")
        two.join()
        two["B"].note("C1", "bung replaced", at="2026-06-01")
        two.join()
        yield two


def against(sites, what, book="G", key=""):
    public = ("--public", sites.folder / f"{key}.key.pub") if key else ()
    ran = here("verify", "--against", what, *public, "--json", book=sites.path(book))
    return ran.status, ran.json["against"]["text"], ran.json


def hash_of(sites, code, number):
    with sites.group() as group:
        return next(one.hex() for own, _, one in site_journal(group.store, code) if own == number)


def test_a_sites_signed_head_vouches_for_its_part_of_the_group(sites, tmp_path):
    status, text, told = against(sites, tmp_path / "a.json", key="a")
    assert (status, text) == (
        0, "this is evidence of site A: the history of A up to its entry 3 is unchanged; it says nothing of B",
    )  # fmt: skip
    assert told["against"]["sites"] == [{"site": "A", "entry": 3, "later": 0}]
    assert "not the one that was signed" not in json.dumps(told)
    sites["A"].note("C1", "hoops tightened", at="2026-06-02")
    sites.join()
    assert "unchanged; recorded there since: 1; it says nothing of B" in against(sites, tmp_path / "a.json", key="a")[1]


def test_a_sites_signed_head_that_the_group_has_otherwise_is_told(sites, tmp_path):
    (tmp_path / "anew").mkdir()
    with Sites(tmp_path / "anew", "A") as other:
        other["A"].cask("C1", "600 l", "63.4", at="2026-05-01")
        desk = Desk(other.path("A"), here)
        desk.does(f"key make {tmp_path}/x.key")
        desk.does(f"sign --key {tmp_path}/x.key -o {tmp_path}/x.json")
    status, text, told = against(sites, tmp_path / "x.json", key="x")
    assert (status, text) == (
        1, ("the histories differ: no earlier entry of site A is vouched for, entry 3 does not;"
        " the first that differs is one of 1 to 3"),
    )  # fmt: skip
    assert told["against"]["site"] == "A"


def test_a_head_beyond_what_a_site_joined_is_not_called_another_book(sites, tmp_path):
    sites["A"].note("C1", "hoops tightened", at="2026-06-02")
    Desk(sites.path("A"), here).does(f"sign --key {tmp_path}/a.key -o {tmp_path}/later.json")
    status, text, told = against(sites, tmp_path / "later.json", key="a")
    assert (status, text) == (
        1, "the group has no entry 4 of site A, which the evidence vouches for: it has not joined yet, or was lost",
    )  # fmt: skip
    assert "not the one that was signed" not in json.dumps(told)


@pytest.mark.parametrize("number", ["3", "3001", "3007"])
def test_a_head_is_found_by_its_hash_in_whatever_numbers_it_was_written(sites, number):
    """The site's own, the group's, and those of another group that the site joined as its seventh."""
    status, text, told = against(sites, f"{number}:{hash_of(sites, 1, 3)}")
    assert (status, told["against"]["agreed"], told["against"]["later"]) == (0, 3001, 0)
    assert "of A up to its entry 3 is unchanged; it says nothing of B" in text
    assert against(sites, f"{number}:{'ab' * 32}")[0] == 1
    assert against(sites, f"2:{hash_of(sites, 1, 3)}")[0] == 1


def test_heads_of_two_sites_are_each_followed_in_its_own_journal(sites, tmp_path):
    """An entry of B that differs says nothing of A's, though their numbers lie between each other."""
    both = tmp_path / "both.txt"
    both.write_text(f"2001:{hash_of(sites, 1, 2)} 1002:{hash_of(sites, 2, 1)} 3002:{'ab' * 32}", "utf-8")
    assert against(sites, both)[1] == (
        "the histories differ: entry 1 of site B still agrees, entry 3 does not;"
        " the first that differs is one of 2 to 3"
    )
    both.write_text(f"2001:{hash_of(sites, 1, 2)} 3002:{hash_of(sites, 2, 3)}", "utf-8")
    assert against(sites, both)[1] == "the history up to entry 3002 is unchanged; recorded since: 2"


def print_dossier(sites, site, path):
    """A lot that a site bottles, as the group prints it; the group."""
    sites[site].dump("C1", "B1", at="2026-06-05")
    sites[site].pour("B1", "L1", "50 l", verb="bottle", at="2026-06-06")
    sites.join()
    desk = Desk(sites.path("G"), here)
    desk.does(f"dossier {sites.id(site, 'L1')} -o {path}")
    return desk


def test_a_groups_dossier_is_no_alarm_at_a_site(sites, tmp_path):
    print_dossier(sites, "A", tmp_path / "d.json")
    status, text, _ = against(sites, tmp_path / "d.json", "A")
    last = sites["A"].book.head_number()
    expected = f"this is evidence of a group: the history of site A up to entry {last} is unchanged"
    assert text == expected
    told = json.loads((tmp_path / "d.json").read_text("utf-8"))
    dossier = told.get("dossier", told)
    dossier["heads"] = [one.replace(f"{last}001:", f"{last}001:ab")[: len(one)] for one in dossier["heads"]]
    (tmp_path / "altered.json").write_text(json.dumps(told), "utf-8")
    status, text, _ = against(sites, tmp_path / "altered.json", "A")
    assert (status, "the first that differs" in text) == (1, True)


def test_what_another_site_signed_is_said_to_be_of_that_site(sites, tmp_path):
    status, text, told = against(sites, tmp_path / "a.json", "B", key="a")
    assert (status, text) == (
        1, ("this is evidence of site A, and the book is of another site: hold it against the book of that site, or of"
        " the group"),
    )  # fmt: skip
    assert "not the one that was signed" not in json.dumps(told)


def test_a_group_that_a_site_never_joined_says_nothing_of_it(sites, tmp_path):
    desk = Desk(sites.path("G"), here)
    desk.does(f"key make {tmp_path}/g.key")
    desk.does(f"sign --key {tmp_path}/g.key -o {tmp_path}/g.json")
    (tmp_path / "c").mkdir()
    with Sites(tmp_path / "c", "C") as other:
        ran = here("verify", "--against", tmp_path / "g.json", "--json", book=other.path("C"))
    assert ran.status == 1
    assert "no site's head in it is of this book" in ran.json["against"]["text"]


def test_the_symbol_of_a_groups_dossier_vouches_for_every_site_also_after_the_next_join(sites, tmp_path):
    """Unsigned; its first page and its last section say the head of the group, and of which site a hash is."""
    sites["A"].dump("C1", "B1", at="2026-06-05")
    sites["A"].pour("B1", "L1", "400 l", verb="bottle", at="2026-06-06")
    sites.join()
    desk = Desk(sites.path("G"), here)
    number, head = (desk.asks("journal-hash")[name] for name in ("entries", "journal_hash"))
    desk.does(f"dossier {sites.id('A', 'L1')} -o {tmp_path}/d.pdf -o {tmp_path}/d.json")
    symbol = json.loads((tmp_path / "d.json").read_text("utf-8"))["imprint"]["of_group"]
    assert symbol.startswith(f"pourbook:head:{number}:{head}:of/")
    with pypdfium2.PdfDocument(tmp_path / "d.pdf") as pdf:
        pages = [" ".join(page.get_textpage().get_text_bounded().split()) for page in pdf]
    assert f"Group of 2 sites, {number} entries · {head[:16]}" in pages[0]
    assert head in "".join(pages)
    assert f"{hash_of(sites, 2, 4)} B" in " ".join(pages)
    assert against(sites, symbol)[:2] == (0, f"the history up to entry {number} is unchanged")
    for name in "AB":
        sites[name].note("C1", "hoops tightened", at="2026-06-10")
    sites.join()
    status, _, told = against(sites, symbol)
    assert (status, told["against"]["later"], told["against"]["silent"]) == (0, 2, [])
    assert against(sites, tmp_path / "d.json")[0] == 0
    assert "evidence of a group: the history of site B up to entry 4 is unchanged" in against(sites, symbol, "B")[1]
    exchanged = symbol.replace(":of/", f":of/{'ab' * 32}+")
    assert "is not made of those heads" in here("verify", "--against", exchanged, book=sites.path("G")).err


def test_an_entry_of_a_group_is_chained_to_the_one_before_it_at_its_site(sites):
    with sites.group() as group:
        for number in (1001, 1002, 3002):
            before = hash_of(sites, number % 1000, number // 1000 - 1) if number > 1002 else ""
            assert group.entry_card(number).hash_before == before


def test_the_pages_of_a_groups_dossier_say_where_its_sites_stood(sites, tmp_path):
    """As the paper does: how many entries all sites have, and the head of the group."""
    desk = print_dossier(sites, "B", tmp_path / "d.html")
    head = desk.asks("journal-hash")
    told = f"Group of 2 sites, {head['entries']} entries, {head['journal_hash'][:16]}"
    assert told in (tmp_path / "d.html").read_text("utf-8")
