"""Papers printed with a key carry the signed head; whoever has the public key checks it from the paper alone."""

import shlex
import shutil
from pathlib import Path

import pytest
from command import VATTED, bottled, here, recorded

from pourbook.queries.items.what_was_scanned import codes_seen
from pourbook.signing.heads import flaw, from_texts

PAPERS = {
    "dossier.pdf": "dossier 'Lot 1' -o",
    "dossier.html": "dossier 'Lot 1' -o",
    "dossier.json": "dossier 'Lot 1' -o",
    "recall.pdf": "recall --item 'Q 1' --mock --reason yearly -o",
    "account.pdf": "account --from 2024-01-01 --to 2024-12-31 -o",
    "journal.pdf": "journal -o",
}


@pytest.fixture
def house(tmp_path):
    """A house with a lot, and a key that its journal knows."""
    book = recorded(tmp_path / "q.pourbook", *VATTED, bottled(100, "Lot 1"))
    here("key", "make", tmp_path / "q.key").done()
    here("key", "add", tmp_path / "q.key.pub", "--of", "the house", book=book).done()
    return book


def printed(house, name, key=True):
    """A paper, printed with the key or without."""
    path = house.parent / name
    own = {"POURBOOK_KEY": str(house.parent / "q.key")} if key else {}
    return path, here(*shlex.split(PAPERS[name]), path, "--force", book=house, **own)


def texts_of(path):
    """All that its symbols say, or its text."""
    if path.suffix == ".pdf":
        return "\n".join(one.code.text for one in codes_seen(path.read_bytes(), path.name))
    return path.read_text("utf-8")


@pytest.mark.parametrize("name", PAPERS)
def test_a_paper_carries_the_signed_head(house, name):
    path, ran = printed(house, name)
    ran.done()
    (signed,) = set(from_texts(texts_of(path)))
    assert flaw(signed) == ""
    assert signed.standing.house == "Quillmere"
    evidence = path if path.suffix != ".pdf" else next(one for one in texts_of(path).splitlines() if "signed/" in one)
    ran = here("verify", "--against", evidence, "--public", house.parent / "q.key.pub", book=house)
    assert (ran.status, "the signature is good" in ran.out) == (0, True)


@pytest.mark.parametrize("name", PAPERS)
def test_without_a_key_nothing_is_signed(house, name):
    path, ran = printed(house, name, key=False)
    ran.done()
    assert from_texts(texts_of(path)) == ()


def test_a_signed_dossier_can_be_made_again_byte_for_byte(house):
    """It is dated by the last entry, and a signature by Ed25519 is always the same (RFC 8032, 5.1.6)."""
    (house.parent / "again").mkdir()
    copy = Path(shutil.copy(house, house.parent / "again" / "q.pourbook"))
    shutil.copy(house.parent / "q.key", copy.parent)
    assert printed(house, "dossier.pdf")[0].read_bytes() == printed(copy, "dossier.pdf")[0].read_bytes()


def test_a_paper_is_not_signed_with_a_key_that_ended(house):
    """Nothing is printed and nothing recorded."""
    which = here("key", "list", "--json", book=house).json["keys"][0]["fingerprint"]
    here("key", "end", which, "--reason", "stolen", book=house).done()
    head = here("journal-hash", book=house).out
    path, ran = printed(house, "dossier.pdf")
    assert (ran.status, path.exists()) == (1, False)
    assert "this key was ended (revoked)" in ran.err
    assert here("journal-hash", book=house).out == head


def test_a_key_that_is_not_there_is_told(house):
    ran = here("dossier", "Lot 1", "-o", house.parent / "d.pdf", book=house, POURBOOK_KEY="nowhere.key")
    assert "'nowhere.key' does not exist" in ran.err


def test_a_scan_of_the_symbol_says_who_signed(house):
    path, _ = printed(house, "dossier.pdf")
    line = next(one for one in texts_of(path).splitlines() if "signed/" in one)
    assert "was signed by the key" in here("scan", line, book=house).done().out
    altered = line.replace(b"Quillmere".hex(), b"Quillmore".hex())
    assert "was altered since" in here("scan", altered, book=house).out
