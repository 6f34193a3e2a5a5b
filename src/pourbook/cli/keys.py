"""Verbs of keys and signatures: make a key, let the journal know of it, sign where the journal stands."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pourbook.book.key_entries import ENDS, End
from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import FORCE, second_options
from pourbook.cli.signer import named_key, passphrase_of_environment, signer_in
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.signing.heads import SignedHead

__all__ = ["key_verb", "sign_verb"]

_MOST_SIGNED = 1_000_000
"""Bytes of a file with a signed head."""


@click.group("key")
def key_verb() -> None:
    """Make keys, and let the journal know whose they are.

    A private key signs and stays with its holder, outside the book; its public key checks. The journal
    knows public keys alone: from which entry on, whose, and until which.

    \b
    Example:
      pourbook key make site-a.key
      pourbook key add site-a.key.pub --of "site A"
      pourbook key list
      pourbook key end 21fe31df --lost --reason "laptop stolen"
    """


@key_verb.command("make", short_help="Make a key: FILE, and FILE.pub.")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--passphrase", is_flag=True, help="Lock it: by POURBOOK_KEY_PASSPHRASE, or as typed when asked.")
@reading
def _make(door: Door, file: Path, *, passphrase: bool) -> None:
    """Make a key (Ed25519) and write it to FILE, readable by you alone, and its public half to FILE.pub.

    Nothing is overwritten. Both are PEM files that other programs read, too. Without its file nobody can
    sign with it: keep a copy where the book cannot reach.

    \b
    Example:
      pourbook key make site-a.key
      pourbook key make isla.key --passphrase
    """
    from pourbook.documents.keys import key_made_shown
    from pourbook.one_file import check_target
    from pourbook.signing.key_files import make, public_path

    check_target(file)
    word = ""
    if passphrase:
        word = passphrase_of_environment() or click.prompt(
            "passphrase", hide_input=True, confirmation_prompt=True, err=True
        )
    public = make(file, word)
    door.show(key_made_shown(file, public_path(file), public, locked=bool(word)))


@key_verb.command("add", short_help="Let the journal know a public key.")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--of", "holder", required=True, metavar="NAME", help="Who has the private key: a person, or the site.")
@second_options
@recording
def _add(door: Door, file: Path, holder: str) -> None:
    """Let the journal know from now on whose the public key in FILE is.

    \b
    Example:
      pourbook key add site-a.key.pub --of "site A"
      pourbook key add isla.key.pub --of "Isla Farrow"
    """
    from pourbook.documents.keys import key_changed_shown
    from pourbook.signing.key_files import read_public

    door.show(key_changed_shown(door.book.add_key(door.how, read_public(file), holder), door.style))


@key_verb.command("end", short_help="End a key.")
@click.argument("fingerprint")
@click.option("--lost", "ended", flag_value="lost", help="Nobody has it any more.")
@click.option("--rotated", "ended", flag_value="rotated", help="Another key takes its place.")
@click.option("--revoked", "ended", flag_value="revoked", help="Somebody else may have it; so without a choice, too.")
@recording
def _end(door: Door, fingerprint: str, ended: str | None) -> None:
    """End the key with this FINGERPRINT, or the one that begins so, from --when on.

    What it signed later does not count. What left the house before stays good: the journal still has to
    hold that head. Needs --reason.

    \b
    Example:
      pourbook key end 21fe31df --lost --reason "laptop stolen"
      pourbook key end 21fe31df --rotated --when 2027-01-01 --reason "yearly change"
    """
    from pourbook.documents.keys import key_changed_shown

    how: End = next((one for one in ENDS if one == ended), "revoked")
    door.show(key_changed_shown(door.book.end_key(door.how, fingerprint, how), door.style))


@key_verb.command("list", short_help="List the keys that the journal knows.")
@reading
def _list(door: Door) -> None:
    """List the keys that the journal knows, ended ones too.

    \b
    Example:
      pourbook key list
    """
    from pourbook.documents.keys import keys_shown

    door.show(keys_shown(door.book.known_keys(), door.style))


@click.command("sign")
@click.option("--key", metavar="FILE", help="Private key; default: POURBOOK_KEY.")
@click.option("--counter", metavar="SIGNED", help="Counter-sign what somebody else signed, in this file.")
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="Write it to FILE, as JSON.")
@FORCE
@reading
def sign_verb(door: Door, key: str | None, counter: str | None, output: Path | None, *, force: bool) -> None:
    """Sign where the journal stands now: number and hash of its last entry.

    Keep what it writes outside the house. A journal that is rewritten later, and hashed anew as a whole,
    no longer agrees with it: pourbook verify --against SIGNED --public FILE.pub

    With --counter, sign below another's signature, with a key of your own. What is of the book's own house
    and site must stand in the book.

    \b
    Example:
      pourbook sign --key site-a.key -o signed.json
      pourbook sign --key isla.key --counter signed.json -o both.json
      pourbook sign --key site-a.key --json
    """
    import json

    from pourbook.documents.keys import signed_shown
    from pourbook.one_file import check_target, write_file
    from pourbook.signing.heads import as_json

    signer = signer_in(key or named_key())
    if output is not None:
        check_target(output, force=force, never=door.book.files)
    signed = door.book.countersigned_head(_signed(counter), signer) if counter else door.book.signed_head(signer)
    document = as_json(signed)
    if output is not None:
        text = json.dumps(document, ensure_ascii=False, indent=2) + "\n"
        write_file(output, text.encode(), force=force, never=(*door.book.files, *filter(None, (key, counter))))
    door.show(signed_shown(document, signed, door.style))


def _signed(path: str) -> "SignedHead":
    """The one signed head in a file."""
    from pourbook.input_files import whole
    from pourbook.queries.journal.signed_heads import read_signed

    found = read_signed(whole(Path(path), _MOST_SIGNED).decode("utf-8", "replace"))
    if len(found) != 1:
        what = "nothing signed" if not found else "several signed heads"
        raise Malformed(f"'{path}' holds {what}", "name what 'pourbook sign -o' wrote", file=Path(path).name)
    return found[0]
