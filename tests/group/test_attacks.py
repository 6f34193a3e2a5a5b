"""What somebody may do to a site's journal on its way into the group: each is refused, and nothing is half-joined."""

import json

import pytest
from command import here
from site_houses import Sites

from pourbook import Book, Draft, Note
from pourbook.actions.joining import join
from pourbook.book.coded_names import names_of_people
from pourbook.book.journal import GENESIS, canonical, chain, parsed
from pourbook.errors import Damaged, Malformed, Refused
from pourbook.signing.ed25519 import made_pem, public_pem, signer_of
from pourbook.signing.fingerprints import fingerprint
from pourbook.signing.heads import Standing, as_json, sign_head
from pourbook.signing.key_files import read_signer


@pytest.fixture
def sites(tmp_path):
    with Sites(tmp_path) as two:
        two["A"].cask("C1", "600 l", "63.5", at="2026-05-01")
        two.send("A", "C1", "500 l", to="B", document="D 17", at="2026-05-02")
        two.receive("B", "C1", "500 l", "63.5", source="A", document="D 17", at="2026-05-04")
        yield two


def lines_of(path):
    return path.read_text("utf-8").splitlines()


def write(path, lines):
    path.write_text("".join(f"{line}\n" for line in lines), "utf-8")
    return path


def rehashed(path):
    """The file with the head that its entries lead to: a journal rewritten as a whole."""
    begin, *entries, end = lines_of(path)
    head = bytes.fromhex(json.loads(begin)["after_hash"]) or GENESIS
    for entry in entries:
        head = chain(head, entry.encode())
    number = json.loads(begin)["after"] + len(entries)
    told = json.loads(end) | {"end": len(entries), "number": number, "head": head.hex()}
    return write(path, [begin, *entries, json.dumps(told)])


def signed(path, signer):
    """The file, signed as a site signs it."""
    *lines, end = lines_of(path)
    begin, told = json.loads(lines[0]), json.loads(end)
    standing = Standing(begin["house"], begin["site"], told["number"], told["head"])
    return write(path, [*lines, json.dumps(told | {"signed": as_json(sign_head(standing, signer, 0))})])


def changed(path, number, change):
    """The file with one entry changed, and nothing else."""
    lines = lines_of(path)
    entry = parsed(lines[number])
    change(entry)
    lines[number] = canonical(entry).decode()
    return write(path, lines)


def forge(entry):
    """A despatch of more than was sent."""
    entry["body"]["lines"][0]["mass"] *= 2


def is_untouched(sites, before):
    """The group has what it had, and still verifies."""
    with sites.group() as group:
        assert group.head() == before
        assert group.verify().faults == ()


@pytest.fixture
def joined(sites):
    sites.join()
    with sites.group() as group:
        return group.head()


def test_a_journal_shipped_twice_changes_nothing(sites, joined):
    files = [sites.export(name) for name in "AB"]
    for _ in range(2):
        assert [new for _, new in sites.join(*files, *files).sites] == [0, 0, 0, 0]
    is_untouched(sites, joined)


def test_a_journal_with_a_gap_is_refused(sites, joined):
    for text in ("bung replaced", "moved to row 4", "hoops tightened"):
        sites["A"].note("C1", text)
    with pytest.raises(Refused, match="entries 5 to 6 are missing"):
        sites.join(sites.export("A", after=6))
    missing = sites.export("A", after=4)
    begin, first, _, *rest = lines_of(missing)
    for file in (write(missing, [begin, first, *rest]), rehashed(missing)):
        with pytest.raises(Damaged, match="entry 6 of site A is missing or cannot be read"):
            sites.join(file)
    with pytest.raises(Malformed, match="lines were added or are missing"):
        sites.join(write(missing, [*lines_of(sites.export("A", after=4))[:-2], lines_of(missing)[-1]]))
    is_untouched(sites, joined)


def test_a_first_journal_that_begins_later_is_refused(sites):
    with pytest.raises(Refused, match="the group has nothing of it: entries 1 to 2 are missing"):
        sites.join(sites.export("A", after=2))
    assert not sites.path("G").exists()


def test_a_journal_rolled_back_to_an_older_head_is_refused(sites, joined):
    older = sites.export("A")
    sites["A"].book.backup(str(sites.folder / "older.pourbook"))
    sites["A"].note("C1", "bung replaced")
    sites.join()
    for source in (older, sites.folder / "older.pourbook"):
        with pytest.raises(Refused, match="ends with entry 4, and the group has it up to entry 5: it is an older"):
            sites.join(source)


def test_a_forked_journal_is_refused(sites, joined):
    """Both go on from the same entry: the one that joined first is the one there is."""
    sites["A"].book.backup(str(sites.folder / "fork.pourbook"))
    sites["A"].note("C1", "bung replaced")
    sites.join()
    with Book.open(sites.folder / "fork.pourbook") as fork:
        for text in ("nothing happened", "nothing at all"):
            fork.record(Draft(Note(sites.id("A", "C1"), text), 0, "A. N. Other"))
    with pytest.raises(Refused, match="not the journal of site A that joined before"):
        sites.join(sites.folder / "fork.pourbook")


def test_another_house_under_the_name_of_a_site_is_refused(sites, joined, tmp_path):
    (tmp_path / "other").mkdir()
    with Sites(tmp_path / "other", "A") as other:
        for name in ("C1", "C2", "C3", "C4"):
            other["A"].cask(name, "10 l", "60")
        with pytest.raises(Refused, match="not the journal of site A that joined before"):
            sites.join(other.path("A"))
    is_untouched(sites, joined)


def test_a_forged_despatch_is_refused(sites):
    """One entry changed: the entries no longer lead to the head they end with."""
    with pytest.raises(Damaged, match="do not lead to the hash that they end with"):
        sites.join(changed(sites.export("A"), 4, forge), sites.path("B"))
    assert not sites.path("G").exists()


def test_a_forged_despatch_that_was_hashed_again_is_refused_once_a_site_signs(sites, tmp_path):
    """Hashed again as a whole it is a sound chain; only the key, which the forger lacks, tells."""
    key, forger = signer_of(made_pem()), signer_of(made_pem())
    (tmp_path / "a.pub").write_bytes(public_pem(key.public))
    true = signed(sites.export("A", name="true.jsonl"), key)
    forged = rehashed(changed(signed(sites.export("A", name="forged.jsonl"), key), 4, forge))
    with pytest.raises(Refused, match="what was signed is not where the journal of site A ends"):
        sites.join(forged, publics=[tmp_path / "a.pub"])
    with pytest.raises(Refused, match="signed by another key"):
        sites.join(signed(forged, forger), publics=[tmp_path / "a.pub"])
    with pytest.raises(Refused, match="is not signed"):
        sites.join(sites.export("A"), publics=[tmp_path / "a.pub"])
    assert not sites.path("G").exists()
    ((site, new),) = sites.join(true, publics=[tmp_path / "a.pub"]).sites
    assert (site.fingerprint, new) == (fingerprint(key.public), 4)


def test_a_forged_despatch_that_nobody_signed_is_told_as_an_overdraw(sites):
    """Of a site that never signed nothing else can tell: twice 500 l of 600 l is more than the cask ever held."""
    joined = sites.join(rehashed(changed(sites.export("A"), 4, forge)), sites.path("B"))
    found = {one.what: one for one in joined.differences}
    assert set(found) == {"amount", "overdraw"}
    assert (found["overdraw"].item, found["overdraw"].site) == (sites.id("A", "C1"), "A")
    with sites.group() as group:
        assert group.verify().faults == ()
        assert group.show(sites.id("A", "C1")).holding.mass_mg == 0
        assert sites.id("A", "C1") in {part.item.id for part in group.trace_back(sites.id("B", "C1")).items}
        group.repair()
        assert group.verify().faults == ()


@pytest.mark.parametrize(
    ("told", "problem"),
    [
        ([], "it is no JSON document of one"),
        ("by the manager", "it is no JSON document of one"),
        ({}, "it has no number of an entry"),
        ({"number": 4, "house": "Quillmere", "site": "A", "head": "9f"}, "its 'head' is not 64 hexadecimal digits"),
    ],
)
def test_a_signature_that_is_none_is_told_with_its_file(sites, told, problem):
    path = sites.export("A", name="stills.jsonl")
    *lines, end = lines_of(path)
    with pytest.raises(Malformed, match=f"'stills.jsonl' is not a file of a site's entries: .*{problem}") as refusal:
        sites.join(sites.path("B"), write(path, [*lines, json.dumps(json.loads(end) | {"signed": told})]))
    assert "pourbook export entries" in refusal.value.remedy
    assert not sites.path("G").exists()


def test_another_key_than_the_one_that_signed_before_is_refused(sites, tmp_path):
    key, other = signer_of(made_pem()), signer_of(made_pem())
    sites.join(signed(sites.export("A"), key))
    sites["A"].note("C1", "bung replaced")
    with pytest.raises(Refused, match="signed by another key"):
        sites.join(signed(sites.export("A", after=4), other))
    with pytest.raises(Refused, match="is not signed"):
        sites.join(sites.path("A"))
    (tmp_path / "new.pub").write_bytes(public_pem(other.public))
    joined = sites.join(signed(sites.export("A", after=4), other), publics=[tmp_path / "new.pub"])
    assert [new for _, new in joined.sites] == [1]


def test_a_key_that_the_site_ended_signs_no_more(sites, tmp_path):
    """A key is made, known, signs, and is lost; whoever finds it cannot speak for the site."""
    book, key = sites.path("A"), sites.folder / "a.key"
    for line in (["key", "make", key], ["key", "add", f"{key}.pub", "--of", "Site A"]):
        here(*line, book=book).done()
    files = [sites.folder / name for name in ("signed.jsonl", "lost.jsonl")]
    here("export", "entries", "--key", key, "-o", files[0], book=book).done()
    told = here("group", "join", sites.path("G"), files[0], "--public", f"{key}.pub", "--json").done().json
    found = told["sites"][0]["fingerprint"]
    here("key", "end", found[:16], "--lost", "--reason", "not to be found", book=book).done()
    with Book.open(book) as own:
        finder = read_signer(key)
        write(files[1], lines_of(sites.export("A", after=5)))
        assert own.head()[0] == 6
    with pytest.raises(Refused, match=r"signed by a key that its entry 6 ended \(lost\)"):
        sites.join(signed(files[1], finder))


def test_all_sites_of_a_call_join_or_none(sites):
    with pytest.raises(Damaged):
        sites.join(sites.path("A"), changed(sites.export("B"), 3, forge))
    assert not sites.path("G").exists()
    sites.join(sites.path("A"))
    with sites.group() as group:
        before = group.head()
    sites["A"].note("C1", "bung replaced")
    with pytest.raises(Damaged):
        sites.join(sites.path("A"), changed(sites.export("B"), 3, forge))
    is_untouched(sites, before)


# -- what is no journal at all ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        ("", "is not a pourbook"),
        ("{}\n", "its first line does not say so"),
        ("{\n", "a line of it is no JSON"),
        ('{"entries": "pourbook 2"}\n', "its first line does not say so"),
        ('{"entries": "pourbook 1"}\n', "it lacks 'house'"),
        ('{"entries": "pourbook 1", "house": "Q", "site": "A", "numbers": "1-9", "after": -1}\n', "it lacks 'after'"),
        ('{"entries": "pourbook 1", "house": "Q", "site": "A", "numbers": "1-9", "after": 0}\n', "breaks off after 0"),
    ],
)
def test_another_file_is_refused(sites, content, problem):
    path = sites.folder / "other.jsonl"
    path.write_text(content, "utf-8")
    with pytest.raises((Malformed, Damaged), match=problem):
        sites.join(path)
    assert not sites.path("G").exists()


def test_a_file_cut_anywhere_is_refused(sites):
    whole = sites.export("A").read_bytes()
    path = sites.folder / "cut.jsonl"
    for length in range(1, len(whole) - 1, 97):
        path.write_bytes(whole[:length])
        with pytest.raises((Malformed, Damaged)):
            sites.join(path)
    assert not sites.path("G").exists()


def test_a_file_with_any_byte_flipped_is_refused(sites):
    """Of the entries and of the head: what only describes the site (house, numbers) is no part of the chain."""
    whole = sites.export("A").read_bytes()
    path, begins = sites.folder / "flipped.jsonl", whole.index(b"\n") + 1
    for place in range(begins, len(whole) - 1, 53):
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        with pytest.raises((Malformed, Damaged, Refused)):
            sites.join(path)
    assert not sites.path("G").exists()


@pytest.mark.parametrize(
    "told", [{"site": "B"}, {"house": "Ferrow"}, {"numbers": "7-8"}, {"site": "B", "numbers": "7-8"}]
)
def test_a_journal_below_the_first_line_of_another_is_refused(sites, told):
    """House, site and numbers stand beside what was hashed: a dishonest site could come as another."""
    path = sites.export("A")
    begin, *others = lines_of(path)
    write(path, [json.dumps(json.loads(begin) | told), *others])
    with pytest.raises(Refused, match="are those of site A of Quillmere, numbers 1-99999"):
        sites.join(path)


@pytest.mark.parametrize(
    "change",
    [
        lambda entry: entry.update(body=[]),
        lambda entry: entry["body"]["lines"][0].pop("mass"),
        lambda entry: entry["body"]["lines"][0].update(mass="497 l"),
        lambda entry: entry["body"]["lines"][0].update(mass=-5),
        lambda entry: entry["body"]["lines"][0].update(mass=5),
        lambda entry: entry["body"]["lines"][0]["facts"].update(from_site={"A": 1}),
    ],
)
def test_a_receipt_that_no_program_wrote_is_told_with_its_site(sites, change):
    """Its chain is whole, so that only what it says is wrong."""
    path = sites.export("B")
    number = next(at for at, line in enumerate(lines_of(path)) if '"from_site"' in line)
    rehashed(changed(path, number, change))
    with pytest.raises(Damaged, match=f"entry {number} of site B is not made as such an entry is"):
        sites.join(sites.path("A"), path)
    assert not sites.path("G").exists()


def test_the_names_of_another_site_are_not_told_by_this_one(sites):
    """A site could put names to the other site's references, or take them away."""
    sites["A"].note("C1", "bung replaced", who="Wanda Moor")
    sites.join()
    name = next(one for one in json.loads(lines_of(sites.export("A"))[-1])["names"] if one[2] == "Wanda Moor")
    path = sites.export("B")
    *lines, end = lines_of(path)
    told = json.loads(end)
    write(path, [*lines, json.dumps(told | {"names": [*told["names"] * 2, name], "withdrawn": name[:1]})])
    with sites.group() as group:
        before = group.head(), set(names_of_people(group.store))
    sites.join(path)
    with sites.group() as group:
        assert "Wanda Moor" in {one.name for one in before[1]}
        assert (group.head(), set(names_of_people(group.store))) == before


def test_the_book_of_a_house_is_no_group_and_a_group_is_no_site(sites, joined):
    with pytest.raises(Refused, match="is not the book of a group"):
        join(str(sites.path("A")), [str(sites.path("B"))])
    with pytest.raises(Refused, match="is the book of a group"):
        join(str(sites.folder / "other.pourbook"), [str(sites.path("G"))])
