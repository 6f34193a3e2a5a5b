"""Attacks on a signed head by itself; those that need a journal stand with the verbs."""

import json
import shutil
import subprocess

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stations import need

from pourbook.errors import Malformed, Refused
from pourbook.signing.ed25519 import made_pem, public_pem, signer_of
from pourbook.signing.heads import Standing, as_json, as_text, countersigned, flaw, from_json, from_texts, sign_head

SITE, OTHER, THIRD = (signer_of(made_pem()) for _ in range(3))
SIGNED = sign_head(Standing("Quillmere", "A", 1284, "9f" * 32), SITE, 1_700_000_000_000_000)
BOTH = countersigned(SIGNED, OTHER, 1_700_000_060_000_000)


def test_a_signed_head_reads_back_from_its_document():
    for signed in (SIGNED, BOTH):
        assert from_json(json.loads(json.dumps(as_json(signed)))) == signed
        assert flaw(signed, SITE.public) == ""


def test_another_key_is_told_from_an_altered_statement():
    assert flaw(SIGNED, OTHER.public) == "other key"
    assert flaw(SIGNED._replace(public=OTHER.public), OTHER.public) == "altered"


@pytest.mark.parametrize(
    ("name", "value"), [("house", "Quillmere "), ("site", "B"), ("number", 1285), ("head", "8f" * 32)]
)
def test_an_altered_statement_is_told(name, value):
    assert flaw(SIGNED._replace(standing=SIGNED.standing._replace(**{name: value})), SITE.public) == "altered"


def test_an_altered_time_is_told():
    assert flaw(SIGNED._replace(signed_us=SIGNED.signed_us + 1), SITE.public) == "altered"


def test_a_counter_signature_by_the_same_key_is_none():
    with pytest.raises(Refused, match="already"):
        countersigned(SIGNED, SITE, 0)
    with pytest.raises(Refused, match="already"):
        countersigned(BOTH, OTHER, 0)
    assert flaw(BOTH._replace(counter=BOTH.counter * 2)) == "counter altered"


def test_a_counter_signature_below_another_statement_is_told():
    later = sign_head(SIGNED.standing._replace(number=1285), SITE, SIGNED.signed_us)
    assert flaw(later._replace(counter=BOTH.counter)) == "counter altered"
    assert flaw(countersigned(BOTH, THIRD, 0)) == ""


def test_a_first_signature_is_no_counter_signature():
    """Each is made for its own purpose, so that the one cannot be passed off as the other."""
    by_other = sign_head(SIGNED.standing, OTHER, SIGNED.signed_us)
    counter = BOTH.counter[0]._replace(signature=by_other.signature, signed_us=by_other.signed_us)
    assert flaw(SIGNED._replace(counter=(counter,))) == "counter altered"


def test_what_is_altered_is_not_counter_signed():
    with pytest.raises(Refused, match="not what was signed"):
        countersigned(SIGNED._replace(signed_us=0), OTHER, 0)


@given(st.data())
def test_whatever_differs_in_the_document_is_told(data):
    """A document with another value anywhere is refused, or has a flaw."""
    told = as_json(BOTH)
    place = data.draw(st.sampled_from([told, told["counter"][0]]))
    name = data.draw(st.sampled_from(sorted(place)))
    value = data.draw(st.text() | st.integers() | st.none() | st.lists(st.none(), max_size=1))
    if place[name] == value or (name, value) == ("counter", []):  # without counter-signatures it is whole, too
        return
    place[name] = value
    try:
        read = from_json(told)
    except Malformed:
        return
    assert flaw(read, SITE.public)


@pytest.mark.parametrize("told", [[], None, {}, {"number": True}, "text", {"counter": {}}, {"counter": [1] * 101}])
def test_what_is_no_signed_head_is_refused(told):
    with pytest.raises(Malformed, match="not a signed head"):
        from_json(told)


def test_openssl_verifies_a_signed_head(tmp_path):
    """The bytes are written here as the documentation says, not by the program."""
    need("openssl", shutil.which("openssl"))
    told = as_json(SIGNED)
    stated = {name: told[name] for name in ("house", "site", "number", "head", "signed", "public")}
    body = json.dumps(stated, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    text, signature, key = tmp_path / "text", tmp_path / "signature", tmp_path / "public.pem"
    text.write_bytes(b"pourbook signed head 1\n" + body.encode())
    signature.write_bytes(bytes.fromhex(told["signature"]))
    key.write_bytes(public_pem(SITE.public))
    said = ["openssl", "pkeyutl", "-verify", "-rawin", "-pubin", "-inkey", key, "-in", text, "-sigfile", signature]
    assert subprocess.run(said, capture_output=True, check=False).returncode == 0


@pytest.mark.parametrize("count", [0, 1, 12, 13])
def test_what_a_head_is_made_of_goes_along_as_far_as_a_symbol_holds_it(count):
    """In the document always."""
    of_a_group = SIGNED._replace(made_of=tuple(f"{n:064x}" for n in range(count)))
    assert from_json(json.loads(json.dumps(as_json(of_a_group)))) == of_a_group
    assert from_texts(as_text(of_a_group)) == ((of_a_group if count <= 12 else SIGNED),)


@pytest.mark.parametrize("made_of", ["9f" * 32, [1], ["9f"], ["9f" * 32] * 1001, {}])
def test_what_is_not_made_of_heads_is_refused(made_of):
    with pytest.raises(Malformed):
        from_json(as_json(SIGNED) | {"made_of": made_of})
