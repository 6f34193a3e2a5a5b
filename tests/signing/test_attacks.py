"""Attacks on signed heads by the command, each named; and keys that are added, rotated, lost and revoked."""

import json
import shutil
import subprocess

import pytest
from command import Desk, here
from forging import hashed_anew
from stations import need

from pourbook import Book


@pytest.fixture
def desk(tmp_path):
    """A house that signed its head after three entries, and recorded on; the key stands outside the book."""
    desk = Desk(tmp_path / "q.pourbook", here)
    for line in (
        f"create {desk.book} --house Quillmere",
        f"key make {tmp_path}/site.key",
        f"key make {tmp_path}/other.key",
        f"key add {tmp_path}/site.key.pub --of 'the house'",
        "cask 'Q 1' --fill '200 l' --strength 60",
        f"sign --key {tmp_path}/site.key -o {tmp_path}/signed.json",
        "draw 'Q 1' '200 ml'",
    ):
        desk.does(line)
    return desk


def against(desk, tmp_path, signed="signed.json", public="site.key.pub"):
    """What verification says of a signed head: whether all agrees, and the document."""
    key = ("--public", tmp_path / public) if public else ()
    ran = here("verify", "--against", tmp_path / signed, *key, "--json", book=desk.book)
    return ran.status == 0, ran.json


def test_a_head_that_the_journal_still_holds_agrees(desk, tmp_path):
    agrees, told = against(desk, tmp_path)
    (signature,) = told["signatures"]
    assert agrees
    assert (signature["good"], signature["holder"]) == (True, "the house")
    assert told["against"]["agreed"] == signature["number"] < told["entries"]


def test_an_older_head_is_no_later_one(desk, tmp_path):
    """It agrees, and says how much was recorded since: it vouches for no more than it states."""
    _, told = against(desk, tmp_path)
    assert "recorded since: " in told["against"]["text"]
    desk.does(f"sign --key {tmp_path}/site.key -o {tmp_path}/later.json")
    assert "recorded since" not in against(desk, tmp_path, "later.json")[1]["against"]["text"]


def test_another_key(desk, tmp_path):
    desk.does(f"sign --key {tmp_path}/other.key -o {tmp_path}/forged.json")
    agrees, told = against(desk, tmp_path, "forged.json")
    assert (agrees, told["against"]["agrees"]) == (False, True)
    assert "signed by another key than the one given" in told["signatures"][0]["text"]


def test_a_key_that_the_journal_does_not_know(desk, tmp_path):
    desk.does(f"sign --key {tmp_path}/other.key -o {tmp_path}/forged.json")
    agrees, told = against(desk, tmp_path, "forged.json", public="")
    assert (agrees, told["signatures"][0]["wrong"]) == (False, "unknown key")


def test_the_keys_of_the_journal_are_weaker_and_that_is_said(desk, tmp_path):
    agrees, told = against(desk, tmp_path, public="")
    assert agrees
    assert "weaker than --public" in told["signatures"][0]["text"]


@pytest.mark.parametrize(
    ("name", "value"), [("number", 2), ("head", "ab" * 32), ("house", "Tarn"), ("signed", "2020-01-01T00:00:00Z")]
)
def test_an_altered_statement(desk, tmp_path, name, value):
    told = json.loads((tmp_path / "signed.json").read_text()) | {name: value}
    (tmp_path / "altered.json").write_text(json.dumps(told))
    agrees, told = against(desk, tmp_path, "altered.json")
    assert (agrees, told["signatures"][0]["wrong"]) == (False, "altered")


def test_a_chain_rewritten_and_hashed_anew_as_a_whole(desk, tmp_path):
    """Alone it passes for sound; against one signed head that left the house it does not."""
    hashed_anew(desk.book, lambda text: text.replace("200 l", "199 l"))
    assert desk("verify").status == 0
    agrees, told = against(desk, tmp_path)
    assert (agrees, told["signatures"][0]["good"], told["against"]["agrees"]) == (False, True, False)
    assert "this journal is not the one that was signed" in told["signatures"][0]["text"]


def test_a_chain_rewritten_with_a_key_of_the_forger(desk, tmp_path):
    """Who rewrites the journal can make their own key known in it; the public key that the reader has tells."""
    known, own = (json.loads(here("key", "list", "--json", book=desk.book).out)["keys"][0], tmp_path / "other.key.pub")
    with Book.open(desk.book) as book:
        from pourbook.signing.fingerprints import fingerprint
        from pourbook.signing.key_files import read_public

        public = read_public(own)
        assert book.head_number() > 3
    hashed_anew(
        desk.book,
        lambda text: (
            text.replace(known["public"], public)
            .replace(known["fingerprint"], fingerprint(public))
            .replace("200 l", "199 l")
        ),
    )
    desk.does(f"sign --key {tmp_path}/other.key -o {tmp_path}/forged.json")
    assert against(desk, tmp_path, "forged.json", public="")[0]
    assert against(desk, tmp_path, "forged.json")[1]["signatures"][0]["wrong"] == "other key"


def test_a_book_rolled_back_to_before_the_head(desk, tmp_path):
    desk.does(f"backup {tmp_path}/early.pourbook")
    desk.does("note 'Q 1' sound")
    desk.does(f"sign --key {tmp_path}/site.key -o {tmp_path}/late.json")
    shutil.copy(tmp_path / "early.pourbook", desk.book)
    agrees, told = against(desk, tmp_path, "late.json")
    assert not agrees
    assert "its last entries are lost, or this is an earlier copy" in told["against"]["text"]


def test_a_key_that_was_ended_signs_no_more(desk, tmp_path):
    """The command does not sign with it; nor does what it signed all the same count, also by the public key."""
    shutil.copy(desk.book, tmp_path / "before.pourbook")
    which = desk.asks("key list")["keys"][0]["fingerprint"]
    desk.does(f"key end '{which[:8]}' --lost --reason 'laptop stolen'")
    assert "was ended (lost)" in desk(f"sign --key {tmp_path}/site.key").err
    with Book.open(desk.book) as book:
        from pathlib import Path

        from pourbook.signing.heads import Standing, as_json, sign_head
        from pourbook.signing.key_files import read_signer

        number, head = book.head()
        forged = sign_head(Standing("Quillmere", "", number, head), read_signer(Path(tmp_path / "site.key")), 0)
        (tmp_path / "forged.json").write_text(json.dumps(as_json(forged)))
    for public in ("site.key.pub", ""):
        agrees, told = against(desk, tmp_path, "forged.json", public)
        assert (agrees, told["signatures"][0]["wrong"]) == (False, "ended key")
    agrees, told = against(desk, tmp_path)
    assert agrees, "what left the house before it ended stays good"
    assert "ended since (lost" in told["signatures"][0]["text"]


def test_a_key_ends_from_when_it_is_said(desk, tmp_path):
    """What was signed after that moment does not count, though the entry that says so came later."""
    desk.does(f"sign --key {tmp_path}/site.key -o {tmp_path}/late.json")
    which = desk.asks("key list")["keys"][0]["fingerprint"]
    desk.does(f"key end {which} --when 2020-01-01 --reason 'copied in 2020'")
    assert against(desk, tmp_path, "late.json")[1]["signatures"][0]["wrong"] == "ended key"


def test_an_ended_key_comes_not_back(desk, tmp_path):
    which = desk.asks("key list")["keys"][0]["fingerprint"]
    assert "known since entry" in desk(f"key add {tmp_path}/site.key.pub --of 'site B'").err
    desk.does(f"key end {which} --rotated --reason yearly")
    assert "make a new one" in desk(f"key add {tmp_path}/site.key.pub --of 'the house'").err
    assert "was ended" in desk(f"key end {which} --reason again").err


def test_counter_signatures(desk, tmp_path):
    """By another key they stand below; by the same key they do not, nor below what the journal does not hold."""
    assert "signed it already" in desk(f"sign --key {tmp_path}/site.key --counter {tmp_path}/signed.json").err
    desk.does(f"key add {tmp_path}/other.key.pub --of 'Isla Farrow'")
    desk.does(f"sign --key {tmp_path}/other.key --counter {tmp_path}/signed.json -o {tmp_path}/both.json")
    agrees, told = against(desk, tmp_path, "both.json")
    assert (agrees, told["signatures"][0]["counter"]) == (True, ["Isla Farrow"])
    hashed_anew(desk.book, lambda text: text.replace("200 l", "199 l"))
    again = desk(f"sign --key {tmp_path}/other.key --counter {tmp_path}/signed.json")
    assert "does not hold that head" in again.err


def test_who_counter_signed_can_be_checked_by_their_public_key_alone(desk, tmp_path):
    """A second person vouches for the same head: a rewritten book does not pass by their key either."""
    desk.does(f"key add {tmp_path}/other.key.pub --of 'Isla Farrow'")
    desk.does(f"sign --key {tmp_path}/other.key --counter {tmp_path}/signed.json -o {tmp_path}/both.json")
    agrees, told = against(desk, tmp_path, "both.json", "other.key.pub")
    assert agrees
    assert "counter-signed by Isla Farrow, with the key given" in told["signatures"][0]["text"]
    assert not against(desk, tmp_path, "signed.json", "other.key.pub")[0], "without it their key says nothing"
    both = json.loads((tmp_path / "both.json").read_text())
    first = both["counter"][0]
    first["signature"] = first["signature"][:-1] + ("0" if first["signature"][-1] != "0" else "1")
    (tmp_path / "altered.json").write_text(json.dumps(both))
    assert against(desk, tmp_path, "altered.json", "other.key.pub")[1]["signatures"][0]["wrong"] == "counter altered"
    which = desk.asks("key list")["keys"][-1]["fingerprint"]
    desk.does(f"key end {which} --when 2020-01-01 --reason 'copied in 2020'")
    agrees, told = against(desk, tmp_path, "both.json", "other.key.pub")
    assert (agrees, told["signatures"][0]["wrong"]) == (False, "counter ended")
    assert "key that had ended" in told["signatures"][0]["text"]
    hashed_anew(desk.book, lambda text: text.replace("200 l", "199 l"))
    assert not against(desk, tmp_path, "both.json", "other.key.pub")[0]


def test_a_site_counter_signs_what_another_house_signed(desk, tmp_path):
    """It has no other journal to compare with: it vouches that it saw the statement then."""
    other = Desk(tmp_path / "tarn.pourbook", here)
    other.does(f"create {other.book} --house Tarn")
    other.does(f"sign --key {tmp_path}/other.key --counter {tmp_path}/signed.json -o {tmp_path}/both.json")
    agrees, told = against(desk, tmp_path, "both.json")
    assert (agrees, told["signatures"][0]["counter"]) == (True, [""])


def test_a_signed_head_that_a_symbol_holds(desk, tmp_path):
    """The line of a symbol on paper is judged as its document is."""
    from pourbook.signing.heads import as_text, from_json

    line = as_text(from_json(json.loads((tmp_path / "signed.json").read_text())))
    for text, good in ((line, True), (line.replace(b"Quillmere".hex(), b"Quillmore".hex()), False)):
        ran = here("verify", "--against", text, "--public", tmp_path / "site.key.pub", "--json", book=desk.book)
        assert (ran.status == 0, ran.json["signatures"][0]["good"]) == (good, good)


def test_what_is_not_signed_has_no_key(desk, tmp_path):
    number, head = here("journal-hash", book=desk.book).done().out.split()
    ran = here("verify", "--against", f"{number}:{head}", "--public", tmp_path / "site.key.pub", book=desk.book)
    assert "nothing there is signed" in ran.err
    lost = here("verify", "--against", "lost.json", "--public", tmp_path / "site.key.pub", book=desk.book)
    assert "the file 'lost.json' does not exist" in lost.err, "a file that is not there is not one without signatures"
    assert "a key alone proves nothing" in desk(f"verify --public {tmp_path}/site.key.pub").err


def test_openssl_verifies_what_the_command_signed(desk, tmp_path):
    """As DEVELOPERS.md tells it: the bytes are made by hand from the document."""
    need("openssl", shutil.which("openssl"))
    told = json.loads((tmp_path / "signed.json").read_text())
    stated = {name: told[name] for name in ("house", "site", "number", "head", "signed", "public")}
    (tmp_path / "bytes").write_bytes(
        b"pourbook signed head 1\n" + json.dumps(stated, sort_keys=True, separators=(",", ":")).encode()
    )
    (tmp_path / "signature").write_bytes(bytes.fromhex(told["signature"]))
    asked = ["openssl", "pkeyutl", "-verify", "-rawin", "-pubin", "-inkey", "site.key.pub"]
    asked += ["-in", "bytes", "-sigfile", "signature"]
    assert subprocess.run(asked, cwd=tmp_path, capture_output=True, check=False).returncode == 0


def test_a_locked_key_signs_with_its_passphrase(desk, tmp_path):
    here("key", "make", tmp_path / "locked.key", "--passphrase", POURBOOK_KEY_PASSPHRASE="seven casks").done()
    sign = ("sign", "--key", tmp_path / "locked.key", "--json")
    assert "locked by a passphrase" in here(*sign, book=desk.book).err
    assert "does not open" in here(*sign, book=desk.book, POURBOOK_KEY_PASSPHRASE="six casks").err
    assert here(*sign, book=desk.book, POURBOOK_KEY_PASSPHRASE="seven casks").done().json["number"]


def test_the_key_of_the_environment(desk, tmp_path):
    assert here("sign", "--json", book=desk.book, POURBOOK_KEY=str(tmp_path / "site.key")).done().json["number"]
    assert "no key was named" in desk("sign").err


def test_the_command_and_python_do_the_same(desk, tmp_path):
    """Two equal books stay equal but for when they were recorded."""
    from pathlib import Path

    from house import moment

    from pourbook.actions.happening import Happening
    from pourbook.book.journal import journal
    from pourbook.signing.key_files import read_public

    other = tmp_path / "python.pourbook"
    shutil.copy(desk.book, other)
    options = "--when 2024-05-02T09:30:00 --where office --reason yearly"
    desk.does(f"key add {tmp_path}/other.key.pub --of 'site B' {options} --dry-run")
    desk.does(f"key add {tmp_path}/other.key.pub --of 'site B' {options}")
    first, second = (one["fingerprint"] for one in desk.asks("key list")["keys"])
    desk.does(f"key end {second[:12]} --rotated {options}")
    how = Happening("M. Aldane", moment("2024-05-02T09:30:00"), "office", "yearly")
    with Book.open(other) as book:
        public = read_public(Path(tmp_path / "other.key.pub"))
        assert book.add_key(how._replace(dry_run=True), public, "site B").recorded.is_dry_run
        book.add_key(how, public, "site B")
        assert book.end_key(how, second[:12], "rotated").known.ended == "rotated"
        assert [one.fingerprint for one in book.known_keys()] == [first, second]

    def entries(path):
        with Book.open(path) as book:
            return [
                {name: value for name, value in one.entry.items() if name not in ("recorded", "login")}
                for one in journal(book.store)
            ]

    assert entries(desk.book) == entries(other)
