"""Sites work cut off and join into one book: what travelled is one lineage, and what disagrees is told."""

import hashlib
import json
import sqlite3
from contextlib import closing

import pytest
from command import Desk, here
from site_houses import Sites

from pourbook import Book, Draft, Note
from pourbook.actions.joining import join
from pourbook.book.entries import Recipe, RecipePart
from pourbook.book.groups import group_head
from pourbook.book.journal import recipe
from pourbook.book.moving import move
from pourbook.book.recall_scope import Suspect
from pourbook.book.store import Store
from pourbook.errors import Refused, StoreError
from pourbook.exchange.output.entries_export import write_entries
from pourbook.words.group_words import difference_words


@pytest.fixture
def sites(tmp_path):
    with Sites(tmp_path) as two:
        two["A"].cask("C1", "600 l", "63.5", at="2026-05-01", spirit="malt", wood_days="4000")
        two.send("A", "C1", "500 l", to="B", document="D 17", at="2026-05-02")
        two.receive("B", "C1", "500 l", "63.5", source="A", document="D 17", at="2026-05-04")
        two["B"].dump("C1", "B1", at="2026-05-05")
        two["B"].pour("B1", "L1", "400 l", verb="bottle", at="2026-05-06")
        yield two


def kinds(differences):
    return [one.what for one in differences]


def test_a_lot_of_one_site_is_traced_to_the_cask_of_another(sites):
    """Expected by hand: all that B has came from A's cask."""
    assert sites.join().differences == ()
    with sites.group() as group:
        trace = group.trace_back(sites.id("B", "L1"))
        assert {part.item.id: part.share for part in trace.items}[sites.id("A", "C1")] == 1.0
        assert [(origin.facts["spirit"], origin.share) for origin in trace.origins] == [("malt", 1.0)]
        forward = group.trace_forward(sites.id("A", "C1"))
        assert sites.id("B", "L1") in {part.item.id for part in forward.items}
        assert group.show(sites.id("B", "L1")).facts["site"] == "B"


def test_a_recall_asked_of_the_group_reaches_every_site(sites):
    sites.join()
    with sites.group() as group:
        found = group.affected((Suspect("item", sites.id("A", "C1")),))
        of_sites = {one.item.facts["site"] for one in found.affected.items}
        assert of_sites == {"A", "B"}
        assert found.balance.unexplained.mass_mg == 0


def test_its_head_is_the_hash_of_its_sites_heads(sites):
    """The bytes are those that `groups.py` states: the heads, sorted, one after the other."""
    joined = sites.join()
    heads = sorted(site.head for site, _ in joined.sites)
    assert joined.head == hashlib.sha256(b"".join(heads)).hexdigest()
    assert [site.head.hex() for site, _ in joined.sites] == [sites[name].book.head()[1] for name in "AB"]
    with sites.group() as group:
        assert group.head() == group_head(group.store) == (sum(site.entries for site, _ in joined.sites), joined.head)


def test_only_what_is_new_is_taken(sites):
    first = sites.join()
    assert [new for _, new in first.sites] == [site.entries for site, _ in first.sites]
    assert [new for _, new in sites.join().sites] == [0, 0]
    sites["B"].note("L1", "label proof seen")
    assert [new for _, new in sites.join().sites] == [0, 1]
    assert sites.join().head != first.head


@pytest.mark.parametrize("order", ["AB", "BA"])
def test_whatever_the_order_and_the_way_the_group_is_the_same(sites, order):
    """By file, in either order: the same contents; codes follow the order of joining."""
    sites.join(*(sites.export(name) for name in order))
    with sites.group() as group:
        assert group.verify().faults == ()
        held = {view.id: view.holding.liquid for view in group.stock()}
        assert held[sites.id("B", "L1")] == sites["B"].held("L1")
        assert held[sites.id("A", "C1")] == sites["A"].held("C1")


def test_the_receiver_may_join_before_the_sender(sites):
    """Until the sender has joined nobody sent it; then the lineage is whole."""
    assert kinds(sites.join(sites.path("B")).differences) == ["no despatch"]
    assert sites.join(sites.path("A")).differences == ()
    with sites.group() as group:
        assert sites.id("A", "C1") in {part.item.id for part in group.trace_back(sites.id("B", "L1")).items}
        assert group.verify().faults == ()


def test_an_expected_strength_that_the_laboratory_read_follows(sites):
    """Received at an expected strength, which is told as another than was sent until it was read."""
    sites.send("A", "C1", "50 l", to="B", document="D 18", at="2026-05-07")
    desk = Desk(sites.path("B"), here)
    cask = desk.does("cask 'K 4'").id
    filled = desk.asks(f"fill {cask} '50 l' --strength 62 --pending --from-site A --document 'D 18'")["entries"][-1]
    assert "strength" in kinds(sites.join().differences)
    desk.does(f"replace {filled} --strength 63.5 --reason 'read by the laboratory'")
    assert sites.join().differences == ()
    with sites.group() as group:
        assert group.verify().faults == ()
        assert group.show(cask).holding.liquid == sites["B"].book.show(cask).holding.liquid


def test_it_verifies_and_is_repaired(sites):
    sites.join()
    with sites.group() as group:
        assert group.verify().faults == ()
        group.store.execute("UPDATE ledger SET mass = mass + 1")
        group.store.execute("UPDATE entry SET bytes = replace(bytes, 'malt', 'salt') WHERE kind = 'pour'")
        assert group.verify().faults
        group.repair()
        assert group.verify().faults == ()


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE site_entry SET bytes = replace(bytes, '600 l', '601 l')",
        "DELETE FROM site_entry WHERE number = 3 AND code = 1",
        "DELETE FROM site_entry WHERE code = 2 AND number = (SELECT max(number) FROM site_entry WHERE code = 2)",
        "UPDATE site SET entries = entries - 1 WHERE code = 2",
        "UPDATE entry SET happened = happened + 1 WHERE number = (SELECT max(number) FROM entry)",
        "DELETE FROM entry WHERE number = 2002",
        "INSERT INTO entry SELECT number * 77, kind, happened, place, 0, bytes, hash FROM entry WHERE number = 2001",
    ],
)
def test_damage_is_found(sites, damage):
    sites.join()
    with sites.group() as group:
        group.store.execute(damage)
        assert group.verify().faults


def test_a_join_that_was_killed_before_it_ended_is_made_again(sites):
    """What it leaves is an empty book that is not whole: nobody reads it, and the same command goes on."""
    Store.open_for_moving(sites.path("G")).close()
    with pytest.raises(StoreError, match="not all of the book"):
        sites.group()
    assert [new for _, new in sites.join().sites] == [4, 7]
    with sites.group() as group:
        assert group.verify().faults == ()


def test_nothing_is_recorded_in_it(sites):
    sites.join()
    with sites.group() as group, pytest.raises(Refused, match="only repeats what its sites recorded"):
        group.record(Draft(Note(sites.id("A", "C1"), "bung replaced"), 0, "M. Aldane"))
    assert sites.join().sites[0][1] == 0


def test_what_was_corrected_at_a_site_follows(sites):
    """A void and a replacement at their sites: the group derives everything again."""
    sites.join()
    sent = sites.send("A", "C1", "10 l", to="B", document="D 18", at="2026-05-07")
    assert kinds(sites.join().differences) == ["not received"]
    sites["A"].void(sent)
    assert sites.join().differences == ()
    with sites.group() as group:
        assert group.verify().faults == ()
        assert group.show(sites.id("A", "C1")).holding.liquid == sites["A"].held("C1")


# -- what disagrees ------------------------------------------------------------------------


def test_less_received_than_sent_is_told_and_lost_on_the_way(sites):
    sites.send("A", "C1", "50 l", to="B", document="D 18", at="2026-05-07")
    sites.receive("B", "C2", "49 l", "63.5", source="A", document="D 18", at="2026-05-08")
    (one,) = sites.join().differences
    assert (one.what, one.site, one.other, one.document) == ("amount", "B", "A", "D 18")
    assert one.sent.mass_mg - one.received.mass_mg == pytest.approx(901_154, abs=20)  # a litre of 63.5 % vol: R 22
    with sites.group() as group:
        consignment = group.show(one.item)
        assert (consignment.kind, consignment.facts["to_site"], consignment.holding.mass_mg) == ("batch", "B", 0)
        assert group.trace_back(sites.id("B", "C2")).held == sites["B"].held("C2")


def test_half_that_arrived_and_the_rest_later(sites):
    """Receipts of one document are one delivery: each has its own strength, and nothing is left over."""
    sites.send("A", "C1", "50 l", to="B", document="D 18", at="2026-05-07")
    sites.receive("B", "C2", "25 l", "63.5", source="A", document="D 18", at="2026-05-08")
    assert kinds(sites.join().differences) == ["amount"]
    sites.receive("B", "C3", "25 l", "63.5", source="A", document="d 18", at="2026-05-09")
    assert sites.join().differences == ()
    with sites.group() as group:
        assert [group.show(sites.id("B", name)).holding.liquid for name in ("C2", "C3")] == [
            sites["B"].held(name) for name in ("C2", "C3")
        ]
        assert group.verify().faults == ()


def test_a_shipment_received_twice_is_told(sites):
    sites.receive("B", "C2", "500 l", "63.5", source="A", document="D 17", at="2026-05-09", confirmed=True)
    assert kinds(sites.join().differences) == ["received twice"]


def test_a_receipt_that_nobody_sent_is_told(sites):
    sites.receive("B", "C2", "50 l", "63.5", source="A", document="D 99", at="2026-05-09")
    (one,) = sites.join().differences
    assert (one.what, one.site, one.document, one.sent) == ("no despatch", "B", "D 99", None)


def test_another_strength_and_another_age_are_told(sites):
    sites.send("A", "C1", "50 l", to="B", document="D 18", at="2026-05-07")
    sites.receive("B", "C2", "50 l", "61", source="A", document="D 18", at="2026-05-08", wood_days="100")
    found = {one.what: one for one in sites.join().differences}
    assert set(found) == {"amount", "strength", "wood age"}  # the same litres weigh more
    assert found["wood age"].days == (100, 4006)  # 4000 days, and 6 in A's cask


def test_a_receipt_before_its_despatch_is_taken_as_just_after(sites):
    """Clocks disagree: what B did with it meanwhile keeps its order, and the trace still reaches A."""
    sites.send("A", "C1", "50 l", to="B", document="D 18", at="2026-05-09 12:00")
    sites.receive("B", "C2", "50 l", "63.5", source="A", document="D 18", at="2026-05-09 11:00")
    sites["B"].dump("C2", "B2", at="2026-05-09 11:30")
    sites["B"].draw("B2", "V1", "100 ml", at="2026-05-09 11:45")
    assert kinds(sites.join().differences) == ["received early"]
    with sites.group() as group:
        assert group.verify().faults == ()
        assert sites.id("A", "C1") in {part.item.id for part in group.trace_back(sites.id("B", "V1")).items}
        assert group.show(sites.id("B", "B2")).holding.liquid == sites["B"].held("B2")


def test_days_without_times_keep_their_order(sites):
    """Sent, received and dumped on one day, by its date alone: no difference, and the trace is whole."""
    for name in ("C7", "C8", "C9"):
        sites["A"].cask(name, "10 l", "60", at="2026-05-09")  # so that A's number is the higher
    sites.send("A", "C9", to="B", document="D 18", at="2026-05-09")
    sites.receive("B", "C2", "10 l", "60", source="A", document="D 18", at="2026-05-09")
    sites["B"].dump("C2", "B2", at="2026-05-09")
    assert sites.join().differences == ()
    with sites.group() as group:
        assert sites.id("A", "C9") in {part.item.id for part in group.trace_back(sites.id("B", "B2")).items}


def test_the_same_identifiers_are_kept_apart_and_told(tmp_path):
    with Sites(tmp_path, B="50000-150000", A="1-99999") as two:
        two["A"].cask("C1", "100 l", "60", at="2026-05-01")
        found = two.join().differences
        assert [(one.what, one.name) for one in found] == [("ranges", ("numbers", "50000-99999"))]
    (tmp_path / "two").mkdir()
    with Sites(tmp_path / "two", B="1-99999") as two:
        two["A"].cask("C1", "100 l", "60", at="2026-05-01", spirit="malt")
        two["B"].cask("C1", "70 l", "58", at="2026-05-01", spirit="grain")
        assert two.id("A", "C1") == two.id("B", "C1")
        (shared, ranges) = two.join().differences
        assert (shared.what, shared.name, shared.site) == ("shared", ("identifier", two.id("B", "C1")), "B")
        assert ranges.what == "ranges"
        with two.group() as group:
            casks = [view for view in group.stock() if view.kind == "cask"]
            assert sorted(view.holding.liquid for view in casks) == sorted(two[name].held("C1") for name in "AB")
            assert group.verify().faults == ()


def test_the_same_names_are_kept_apart_and_told(sites):
    for name in "AB":
        sites[name].record(Recipe("Orchard", (RecipePart(sites.id(name, "C1"), "1"),)), at="2026-05-09")
    (one,) = sites.join().differences
    assert (one.what, one.name, one.site, one.other) == ("shared", ("recipe", "Orchard"), "B", "A")
    with sites.group() as group:
        assert recipe(group.store, "Orchard (B)").entry["body"]["parts"][0]["component"] == sites.id("B", "C1")


def test_sessions_of_the_same_name_are_kept_apart(sites):
    """Both with their glasses, notes and reveals, found by the name with the site behind it."""
    for name in "AB":
        for cask in ("C8", "C9"):
            sites[name].cask(cask, "10 l", "60")
        desk = Desk(sites.path(name), here)
        glasses = " ".join(f"--glass {sites.id(name, cask)}" for cask in ("C8", "C9"))
        desk.does(f"session open Evening {glasses} --assessor 'Isla Farrow'")
        desk.does("session close Evening --confirm")
    assert ("shared", ("session", "Evening")) in [(one.what, one.name) for one in sites.join().differences]
    with sites.group() as group:
        assert group.verify().faults == ()
        assert {one.opened.session.name for one in group.sessions_listed()} == {"Evening", "Evening (B)"}
    told = [Desk(sites.path("G"), here).asks(f"session show '{name}'") for name in ("Evening", "Evening (B)")]
    assert told[0] != told[1]


def test_case_numbers_of_two_sites_never_meet(sites):
    """The same company prefix at both: each numbers its cases from its own ranges."""
    for name in "AB":
        desk = Desk(sites.path(name), here)
        desk.does("settings --set company_prefix=952123")
        sites[name].cask("C9", "10 l", "60")
        sites[name].dump("C9", "B9")
        lot = desk.does(f"bottle {sites.id(name, 'B9')} --count 12 --size '700 ml' --confirm").id
        desk.does(f"cases {lot[:12]} --bottles 6 --count 2")
    assert sites.join().differences == ()
    with sites.group() as group:
        assert group.verify().faults == ()
        assert group.store.query("SELECT count(*) FROM unit") == [(4,)]


@pytest.mark.in_a_file("reads the pages")
@pytest.mark.parametrize("by", ["book", "file with names"])
def test_somebody_who_was_withdrawn_at_a_site_is_nobody_in_the_group(sites, by):
    """From the site's book or its file: no table of the group names them, and the head is what it was."""
    name = "M. Aldane"

    def joined():
        return sites.join(*([] if by == "book" else [sites.export(site) for site in "AB"]))

    def told():
        with closing(sqlite3.connect(sites.path("G"))) as group:
            return "\n".join(group.iterdump())

    before = joined()
    assert name in told()
    for site in "AB":
        Desk(sites.path(site), here).does(f"person '{name}' --withdraw --reason asked --confirm --who Peer")
    assert joined().head == before.head
    assert name not in told()
    with sites.group() as group:
        assert group.verify().faults == ()


def test_a_document_that_was_misread_is_put_right_at_either_site(sites):
    """What was sent and what came meet once the numbers agree; the group asks no more."""
    sites.send("A", "C1", "50 l", to="B", document="D 81", at="2026-06-02")
    sites.receive("B", "C2", "50 l", "63.5", source="A", document="D 18", at="2026-06-04")
    assert {one.item for one in sites.join().differences} != set()
    desk = Desk(sites.path("B"), here)
    number = desk.asks("journal --kind pour")["entries"][-1]["number"]
    desk.does(f"replace {number} --document 'D 81' --reason misread --confirm")
    assert sites.join().differences == ()
    gauge = desk.asks(f"gauge {sites.id('B', 'C2')} --amount '50 l' --strength 63.5 --confirm")["entries"][-1]
    dumped = desk.asks(f"dump {sites.id('B', 'B1')} {sites.id('B', 'C2')}")["entries"][-1]
    assert "without a document" in desk(f"replace {dumped} --document 'D 1' --reason misread").err
    assert "nothing travelled" in desk(f"replace {gauge} --document 'D 1' --reason misread").err


def test_a_group_joined_from_files_by_codes_names_nobody(sites, tmp_path):
    """Exports tell no names unless asked; a later file that tells them names everybody."""
    for site in "AB":
        Desk(sites.path(site), here).does(f"export entries -o {tmp_path / site}.jsonl")
    sites.join(tmp_path / "A.jsonl", tmp_path / "B.jsonl")
    group = Desk(sites.path("G"), here)
    said = group.does("journal").out
    assert "unnamed person" in said
    assert "M. Aldane" not in said
    sites.join(*(sites.export(site) for site in "AB"))
    assert "unnamed person" not in group.does("journal").out


def test_nobody_is_withdrawn_in_the_groups_book(sites):
    """It would name them again at the next join; it is refused in the words for all that is recorded there."""
    sites.join()
    told = [here("person", "M. Aldane", "--withdraw", *more, book=sites.path("G")) for more in (["--confirm"], [])]
    told.append(here("note", sites.id("A", "C1"), "seen", book=sites.path("G")))
    assert {(one.status, one.err) for one in told} == {(told[0].status, told[0].err)}
    assert "record it at the site" in told[0].err
    with sites.group() as group:
        assert "M. Aldane" in {one.entry["who"] for one in group.entries_listed()}


@pytest.mark.parametrize("names", [False, True])
def test_who_was_withdrawn_at_a_site_goes_by_its_file_and_comes_back_by_no_older_one(sites, tmp_path, names):
    """Also from a file without names, which cannot leave one out; and what was exported before names them still."""
    sites["A"].note("C1", "bung replaced", who="Wanda Moor")
    older = sites.export("A", name="older.jsonl")
    sites.join()
    Desk(sites.path("A"), here).does("person 'Wanda Moor' --withdraw --confirm --who Peer")
    path = tmp_path / "later.jsonl"
    with path.open("w", encoding="utf-8") as file:
        write_entries(sites["A"].book, file, sites["A"].book.head()[0], names=names)
    for source in (path, older):
        sites.join(source)
        assert b"Wanda Moor" not in sites.path("G").read_bytes()
        with sites.group() as group:
            assert group.verify().faults == ()


def test_a_book_of_no_site_does_not_join(tmp_path):
    with Sites(tmp_path) as two, Book.create(tmp_path / "own.pourbook", house="Quillmere"):
        with pytest.raises(Refused, match="belongs to no site"):
            two.join(two.path("A"), tmp_path / "own.pourbook")
        assert not two.path("G").exists()


def test_a_group_is_moved_and_goes_on_there(sites, tmp_path):
    """Twice to the same place: what joined meanwhile comes along, and the group goes on where it was moved to."""
    sites.join()
    for _ in range(2):
        with sites.group() as group:
            moved = move(group.store, str(tmp_path / "moved.pourbook"))
            assert (moved.entries, moved.head) == group.head()
        sites["A"].note("C1", "bung replaced")
        sites.join()
    joined = join(str(tmp_path / "moved.pourbook"), [str(sites.path("A"))])
    assert [new for _, new in joined.sites] == [1]
    with Book.open(tmp_path / "moved.pourbook") as moved, sites.group() as group:
        assert moved.head() == group.head()
        assert moved.verify().faults == ()


def signed_group(sites, folder):
    """The group's head signed, the group, and how to verify against it with the public key, also a site's book."""
    sites.join()
    desk = Desk(sites.path("G"), here)
    desk.does(f"key make {folder}/g.key")
    desk.does(f"sign --key {folder}/g.key -o {folder}/signed.json")

    def verify(book=None, signed="signed.json"):
        return Desk(book or sites.path("G"), here)(f"verify --against {folder}/{signed} --public {folder}/g.key.pub")

    return desk, verify


def test_a_head_of_a_group_written_down_holds_until_a_site_joins_again(sites):
    """Since it is that of its sites as they stand; and then it is said why."""
    sites.join()
    desk = Desk(sites.path("G"), here)
    told = desk.asks("journal-hash")
    written = f"{told['entries']}:{told['journal_hash']}"
    assert "is unchanged" in desk.does(f"verify --against {written}").out
    assert "recorded since" not in desk.does(f"verify --against {written}").out
    sites["A"].note("C1", "bung replaced", at="2026-06-01")
    sites.join()
    late = desk(f"verify --against {written}")
    assert late.status == 1
    assert "until a site joins again" in late.out


def test_a_signed_head_of_a_group_vouches_for_every_site_from_then_on(sites, tmp_path):
    """In the group, which joins again meanwhile, and in the book of each site."""
    desk, verify = signed_group(sites, tmp_path)
    assert "is unchanged" in verify().out
    desk.does(f"key make {tmp_path}/h.key")
    desk.does(f"sign --key {tmp_path}/h.key --counter {tmp_path}/signed.json -o {tmp_path}/both.json")
    sites["A"].note("C1", "bung replaced", at="2026-06-01")
    sites.join()
    for signed in ("signed.json", "both.json"):
        late = verify(signed=signed)
        assert late.status == 0
        assert "is unchanged; recorded since: 1" in late.out
    assert "is unchanged; recorded since: 1" in verify(sites.path("A")).out
    assert "recorded since" not in verify(sites.path("B")).out


def test_a_signed_head_of_a_group_shows_a_site_that_is_missing_or_was_rewritten(sites, tmp_path):
    """And one whose parts were exchanged is no such head."""
    _, verify = signed_group(sites, tmp_path)
    signed = json.loads((tmp_path / "signed.json").read_text("utf-8"))
    alone = tmp_path / "alone.pourbook"
    join(str(alone), [str(sites.path("B"))])
    found = verify(alone)
    assert found.status == 1
    assert "1 head of a site in the evidence is in no journal of this group" in found.out
    sites["A"].note("C1", "bung replaced", at="2026-06-01")
    sites.join()
    signed["made_of"][0] = "ab" * 32
    (tmp_path / "exchanged.json").write_text(json.dumps(signed), "utf-8")
    assert "is not made of those heads of sites" in verify(signed="exchanged.json").err


def test_what_nobody_sent_is_said_plainly(sites):
    """Whether or not the site that is named has joined."""
    sites.receive("B", "C2", "5 l", "60", source="Z", document="D 99", at="2026-05-07")
    sites.receive("B", "C2", "5 l", "60", source="A", document="D 98", at="2026-05-07")
    said = " ".join(difference_words(one, ".") for one in sites.join().differences)
    assert "under D 99, which no site that joined sent" in said
    assert "under D 98, which A did not send" in said
