"""The journal's bytes and their chain, recomputed here by other means."""

import base64
import hashlib
import json

import pytest
from house import House, new_make
from hypothesis import given
from hypothesis import strategies as st

from pourbook.book.journal import GENESIS, canonical, chain, journal, parsed

values = st.recursive(
    st.integers(-(2**53), 2**53) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)
entries = st.dictionaries(st.text(), values, max_size=5)


@given(entries)
def test_canonical_bytes_are_json_with_sorted_keys_and_no_spaces(entry):
    """UTF-8; and they read back as what was written."""
    written = canonical(entry)
    plain = json.dumps(entry, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert written.decode("utf-8") == plain
    assert parsed(written) == entry


@given(entries)
def test_the_order_of_keys_does_not_matter(entry):
    """The same entry has the same bytes, however it was put together."""
    assert canonical(dict(reversed(entry.items()))) == canonical(entry)


@pytest.mark.parametrize("value", [1.0, None, True, b"x", float("nan"), (1, 2), {1: "x"}, [[0.5]]])
def test_only_whole_numbers_and_text_are_written(value):
    """No float can creep in; nothing whose text form is a matter of taste."""
    with pytest.raises(TypeError):
        canonical({"value": value})


def test_the_chain_is_sha_256_over_the_hash_before_and_the_bytes():
    """Two entries by hand, with hashlib alone."""
    first, second = canonical({"number": 1}), canonical({"number": 2})
    one = hashlib.sha256(bytes(32) + b'{"number":1}').digest()
    assert chain(GENESIS, first) == one
    assert chain(one, second) == hashlib.sha256(one + b'{"number":2}').digest()


def test_the_head_of_a_book_follows_from_its_bytes(house):
    """Every entry: number without a gap, who, when it happened and was recorded; then the head.

    Recomputed as an outside script would: with the reference of the only name in place of it.
    """
    house.cask("C1", "200 l", "63.5", spirit="Überlauf", at="2020-01-01")
    house.draw("C1", "V1", "100 ml", at="2020-02-01")
    house.note("C1", "„Spund“ gewechselt \u00a0 ok")
    head = bytes(32)
    rows = house.book.store.query("SELECT bytes FROM entry ORDER BY number")
    ((reference, salt, name, item),) = house.book.store.query("SELECT * FROM person_name")
    digest = hashlib.sha256(f"{salt}\0{item}\0{name}".encode()).digest()
    assert reference == f"person:{base64.b32encode(digest).decode()[:26]}"
    for number, (text,) in enumerate(rows, start=1):
        text = text.replace(f'"who":"{name}"', f'"who":"{reference}"')
        head = hashlib.sha256(head + text.encode("utf-8")).digest()
        entry = json.loads(text)
        assert entry["number"] == number
        assert {"body", "happened", "kind", "number", "recorded", "who"} <= entry.keys()
    assert house.book.head() == (len(rows), head.hex())
    assert [logged.hash for logged in journal(house.book.store)][-1] == head.hex()


def test_the_chain_follows_the_order_of_recording_not_of_time(house):
    """A back-dated entry comes last in the chain."""
    house.cask("C1", liquid=new_make(1000), at="2020-01-01")
    house.draw("C1", "V1", 10, at="2020-03-01")
    late = house.draw("C1", "V1", 10, at="2020-02-01").numbers[-1]
    assert house.book.head()[0] == late


def test_equal_histories_have_equal_heads():
    """Nothing but what was recorded enters the hash, and the salts of names: two books made alike are alike."""
    heads = []
    for _ in range(2):
        with House() as house:
            house.cask("C1", liquid=new_make(1000), at="2020-01-01", spirit="a", cost=3)
            house.draw("C1", "V1", 10, at="2020-03-01")
            heads.append(house.book.head())
    assert heads[0] == heads[1]


def test_a_new_book_begins_with_its_house():
    """Entry 1: the settings; an empty chain has no head before it."""
    with House(zone="Europe/London") as house:
        (first,) = journal(house.book.store)
        assert (first.number, first.kind) == (1, "house")
        assert first.entry["body"]["settings"] == {"house": "Quillmere", "zone": "Europe/London"}
