"""The two-person rule: what needs a second person, who may be one, and what verification finds of it afterwards."""

import json
import shutil

import click
import pytest
from command import VATTED, Desk, bottled, here, recorded
from forging import canonical, hashed_anew

from pourbook import Book
from pourbook.actions.happening import Happening
from pourbook.book.entries import Second
from pourbook.cli.main import VERBS, cli
from pourbook.errors import Refused
from pourbook.signing.key_files import read_signer

SECOND = "--second 'Isla Farrow' --second-key {folder}/isla.key"


def with_keys(folder, **holders):
    """A house with a lot, and keys by name, each known as its holder's, or not at all."""
    desk = Desk(recorded(folder / "q.pourbook", *VATTED, bottled(100, "Lot 1")), here)
    for name, holder in holders.items():
        desk.does(f"key make {folder}/{name}.key")
        if holder:
            desk.does(f"key add {folder}/{name}.key.pub --of '{holder}'")
    return desk


@pytest.fixture
def desk(tmp_path):
    """A house where two people agree; Isla Farrow and Tam Orrock have keys, Per Ash has one that nobody knows."""
    desk = with_keys(tmp_path, isla="Isla Farrow", tam="Tam Orrock", per="")
    desk.does("despatch 'Vatting 1' '2 l' --customer 'Harbour Row'")
    desk.does("settings --set 'two_people=approval; destruction; void'")
    return desk


def head(desk):
    return here("journal-hash", book=desk.book).out


NEEDING = {
    "approval": "approve 'Lot 1' --confirm",
    "destruction": "loss 'Vatting 1' '1 l' --kind destruction --witness 'officer 7'",
    "void of a despatch": "void {despatch} --reason twice",
    "replacement of a despatch": "replace {despatch} --amount '1 l' --reason slip",
    "the rule itself": "settings --set two_people=",
    "a new key": "key add {folder}/per.key.pub --of 'Per Ash'",
}


def said(desk, tmp_path, what, more=""):
    poured = [one for one in desk.asks("journal --names --kind pour")["entries"] if one["body"]["verb"] == "despatch"]
    despatch = poured[0]["number"]
    return desk(f"{NEEDING[what].format(folder=tmp_path, despatch=despatch)} {more.format(folder=tmp_path)}")


@pytest.mark.parametrize("what", NEEDING)
def test_one_person_alone_is_refused(desk, tmp_path, what):
    before = head(desk)
    assert "needs a second person" in said(desk, tmp_path, what).err
    assert head(desk) == before


@pytest.mark.parametrize("what", NEEDING)
def test_two_persons_are_recorded_and_verified(desk, tmp_path, what):
    said(desk, tmp_path, what, SECOND).done()
    assert desk("verify").status == 0, desk("verify").out
    (body,) = [one["body"] for one in desk.asks("journal --names")["entries"] if "second" in one["body"]]
    assert body["second"] == "Isla Farrow"
    assert body["second_key"] in {one["fingerprint"] for one in desk.asks("key list")["keys"]}
    assert "second person Isla Farrow, by key" in desk.does("journal --names").out
    assert f"Isla Farrow,{body['second_key']}" in desk.does("export journal --names").out
    assert "Isla Farrow" not in desk.does("export journal").out


@pytest.mark.parametrize(
    "command",
    [
        "approve 'Lot 1' --reject --reason dull",
        "loss 'Vatting 1' '1 l' --kind spill",
        "note 'Lot 1' sound",
        "settings --set currency=EUR",
    ],
)
def test_what_needs_no_second_person_is_as_before(desk, command):
    desk.does(command)


def test_a_second_person_whom_nothing_needs_is_told_so(desk, tmp_path):
    """What nobody asked for is not recorded, and nobody is left to believe that it was."""
    ran = desk.does(f"loss 'Vatting 1' '1 l' --kind spill {SECOND.format(folder=tmp_path)}")
    assert "wants no second person for this" in ran.err
    assert not any("second" in one["body"] for one in desk.asks("journal")["entries"])
    assert "wants no second person" not in said(desk, tmp_path, "destruction", SECOND).done().err


@pytest.fixture
def line(tmp_path):
    """The same keys in a house that wants nobody: a vat, a run of 20 bottles under way, and a despatch from it."""
    desk = Desk(recorded(tmp_path / "q.pourbook", *VATTED, bottled(100, "Lot 1")), here)
    desk.does(f"key make {tmp_path}/isla.key")
    desk.does(f"key add {tmp_path}/isla.key.pub --of 'Isla Farrow'")
    desk.does(f"key make {tmp_path}/per.key")
    desk.does("cask 'Q 2' --fill '60 l' --strength 46 --in-wood 0")
    desk.does("batch 'Vatting 2'")
    desk.does("cask 'Q 3' --fill '60 l' --strength 46 --in-wood 0")
    desk.does("batch 'Vatting 3'")
    desk.does("dump 'Vatting 3' 'Q 3'")
    desk.does("bottling begin 'Vatting 1' --size '700 ml' --ref 'Lot 2'")
    desk.does("bottling add 'Lot 2' --filled 20")
    desk.does("despatch 'Vatting 1' '2 l' --customer 'Harbour Row'")
    return desk


TAKING = {
    "approve": "approve 'Lot 1' --confirm",
    "bottle": "bottle 'Vatting 1' --count 2 --size '700 ml' --loss destruction='1 l' --confirm",
    "bottling add": "bottling add 'Lot 2' --filled 1 --put-back 1 --destroyed 1 --witness 'officer 7'",
    "bottling change": "bottling change 'Lot 2' 'Vatting 3' --left '30 l' --kind destruction --confirm",
    "bottling end": "bottling end 'Lot 2' --left '30 l' --kind destruction --confirm",
    "dump": "dump 'Vatting 2' 'Q 2' --total '59 l' --kind destruction --confirm",
    "key add": "key add {folder}/per.key.pub --of 'Per Ash'",
    "loss": "loss 'Vatting 1' '1 l' --kind destruction --witness 'officer 7'",
    "replace": "replace {despatch} --amount '1 l' --reason slip",
    "settings": "settings --set two_people=",
    "void": "void {despatch} --reason twice",
}
"""Of each verb that takes a second person, what needs one in a house that wants two for everything."""


def taking():
    """The names of the verbs that take one."""
    for name in (verb for verbs in VERBS.values() for verb in verbs):
        verb = cli.get_command(click.Context(cli), name)
        parts = verb.commands if isinstance(verb, click.Group) else {"": verb}
        yield from (
            f"{name} {part}".strip() for part, one in parts.items() if any(p.name == "second" for p in one.params)
        )


def taken(desk, tmp_path, verb, more=""):
    """What the command answers to the line of that verb, with the despatch and the keys there are."""
    poured = [one["number"] for one in desk.asks("journal")["entries"] if one["body"].get("verb") == "despatch"]
    return desk(f"{TAKING[verb].format(folder=tmp_path, despatch=poured[-1])} {more.format(folder=tmp_path)}")


def test_every_verb_that_takes_a_second_person_is_tried():
    assert set(taking()) == TAKING.keys()


@pytest.mark.parametrize("verb", TAKING)
def test_no_verb_hides_that_nobody_needed_a_second_person(line, tmp_path, verb):
    """Beside whatever else it warns of, and as JSON, too; the journal names nobody."""
    ran = taken(line, tmp_path, verb, f"{SECOND} --json").done()
    assert ran.err.count("wants no second person for this") == 1
    assert not any("second" in one["body"] for one in line.asks("journal")["entries"])


@pytest.mark.parametrize("verb", TAKING)
def test_every_verb_that_takes_a_second_person_has_what_needs_one(line, tmp_path, verb):
    """And is refused without; else nothing could be done by it where the house wants two."""
    line.does("settings --set 'two_people=approval; destruction; void'")
    assert "needs a second person" in taken(line, tmp_path, verb).err
    assert "wants no second person" not in taken(line, tmp_path, verb, SECOND).done().err
    assert line("verify").status == 0


def test_a_void_of_something_else_needs_none(desk):
    (entry,) = desk.asks("note 'Lot 1' sound")["entries"]
    desk.does(f"void {entry} --reason twice")


# -- attacks, each by name ---------------------------------------------------------------------


def test_the_same_person_twice(desk, tmp_path):
    ran = said(desk, tmp_path, "approval", f"{SECOND} --who 'isla  farrow'")
    assert "is no second person beside" in ran.err


def test_a_key_of_somebody_else(desk, tmp_path):
    ran = said(desk, tmp_path, "approval", "--second 'Isla Farrow' --second-key {folder}/tam.key")
    assert "that key is of 'Tam Orrock'" in ran.err


def test_a_key_that_the_journal_does_not_know(desk, tmp_path):
    ran = said(desk, tmp_path, "approval", "--second 'Per Ash' --second-key {folder}/per.key")
    assert "does not know the key" in ran.err


def test_an_ended_key(desk, tmp_path):
    which = desk.asks("key list")["keys"][0]["fingerprint"]
    desk.does(f"key end {which} --lost --reason stolen")
    assert "was ended (lost)" in said(desk, tmp_path, "approval", SECOND).err


def test_a_name_without_a_key(desk, tmp_path):
    assert "a key of their own" in said(desk, tmp_path, "approval", "--second 'Isla Farrow'").err


def forged(desk, change):
    """Entries changed as told, then the chain hashed anew as a whole and every table rebuilt: verification's faults."""

    def changed(text):
        entry = json.loads(text)
        change(entry)
        return canonical(entry)

    hashed_anew(desk.book, changed)
    return [one["text"] for one in here("verify", "--json", book=desk.book).json["faults"]]


def _is_loss(entry):
    return entry["kind"] == "pour" and entry["body"]["verb"] == "loss"


def test_a_second_signature_replayed_on_another_entry(desk, tmp_path):
    """Of two destructions alike, the signature of the one is none below the other."""
    said(desk, tmp_path, "destruction", SECOND).done()
    said(desk, tmp_path, "destruction", SECOND).done()
    signatures = [one["body"]["second_signature"] for one in desk.asks("journal --names")["entries"] if _is_loss(one)]
    assert len(set(signatures)) == 2

    def replay(entry):
        if _is_loss(entry):
            entry["body"]["second_signature"] = signatures[0]

    (fault,) = forged(desk, replay)
    assert "what its second person signed is not this entry" in fault


def test_something_changed_below_a_second_signature(desk, tmp_path):
    said(desk, tmp_path, "destruction", SECOND).done()

    def change(entry):
        if _is_loss(entry):
            entry["body"]["lines"][0]["facts"]["document"] = "D 26-3"

    (fault,) = forged(desk, change)
    assert "what its second person signed is not this entry" in fault


def test_a_second_person_taken_out(desk, tmp_path):
    said(desk, tmp_path, "destruction", SECOND).done()

    def change(entry):
        for name in ("second", "second_key", "second_signature"):
            entry["body"].pop(name, None)

    (fault,) = forged(desk, change)
    assert "a destruction needed a second person, and nobody agreed" in fault


def test_a_signature_by_a_key_that_was_known_only_later(desk, tmp_path):
    said(desk, tmp_path, "approval", SECOND).done()
    said(desk, tmp_path, "a new key", SECOND).done()
    per = desk.asks("key list")["keys"][-1]["fingerprint"]

    def change(entry):
        if entry["kind"] == "approval":
            entry["body"] |= {"second": "Per Ash", "second_key": per}

    assert "was not known then" in forged(desk, change)[0]


# -- rule and keys -----------------------------------------------------------------------------


def test_a_lost_key_shuts_nobody_out(desk, tmp_path):
    """Of two people one has lost their key: the other ends it and lets the journal know the new one, alone."""
    _, tam = (one["fingerprint"] for one in desk.asks("key list")["keys"])
    desk.does(f"key end {tam} --lost --reason 'disk broken' --who 'Isla Farrow'")
    desk.does(f"key make {tmp_path}/new.key")
    desk.does(f"key add {tmp_path}/new.key.pub --of 'Tam Orrock' --who 'Isla Farrow'")
    ran = said(desk, tmp_path, "approval", "--second 'Tam Orrock' --second-key {folder}/new.key")
    assert ran.done().status == 0
    assert desk("verify").status == 0


def test_a_setting_that_is_none(desk, tmp_path):
    ran = desk(f"settings --set two_people=despatch {SECOND.format(folder=tmp_path)}")
    assert "name some of: approval; destruction; void" in ran.err


def test_by_an_account_of_the_station(desk):
    """There the account stands for the key, and the entry says so."""
    with Book.open(desk.book) as book:
        book.approve(Happening("Maud Aldane", confirm=True, second=Second("Isla Farrow")), "Lot 1")
        (body,) = [one["body"] for one in desk.asks("journal --names")["entries"] if "second" in one["body"]]
        assert (body["second"], body["second_account"]) == ("Isla Farrow", 1)
        assert book.verify().faults == ()
    assert "second person Isla Farrow, signed in at the station" in desk.does("journal --names").out


def test_from_python_with_a_key(desk, tmp_path):
    """The same entry as by the command, but for when and from which login it was recorded."""
    copy = tmp_path / "copy.pourbook"
    shutil.copy(desk.book, copy)
    with Book.open(copy) as book:
        how = Happening("M. Aldane", confirm=True)
        with pytest.raises(Refused, match="needs a second person"):
            book.approve(how, "Lot 1")
        book.approve(how._replace(second=Second("Isla Farrow", read_signer(tmp_path / "isla.key"))), "Lot 1")
        assert book.verify().faults == ()
    said(desk, tmp_path, "approval", SECOND).done()
    both = (here("journal", "--names", "--json", book=path).json["entries"] for path in (desk.book, copy))
    ours, others = (entries[-1]["body"] for entries in both)
    for body in (ours, others):
        assert len(body.pop("second_signature")) == 128
    assert ours == others


def test_a_second_person_who_is_withdrawn_stays_verified(desk, tmp_path):
    """The signature is of the chained text, in which a reference stands for the name; both go on to agree."""
    desk.does("person 'Isla Farrow'")
    said(desk, tmp_path, "destruction", SECOND).done()
    desk.does("person 'Isla Farrow' --withdraw --confirm")
    assert "Isla Farrow" not in desk.does("journal --names --json").out + desk.does("key list").out
    assert desk("verify").status == 0, desk("verify").out
    assert "second person unnamed person" in desk.does("journal").out


@pytest.fixture
def of_site(tmp_path):
    """A house where a site has a key, and so has the house, and nobody else."""
    desk = with_keys(tmp_path, b="site B", q="Quillmere", per="")
    desk.does("settings --set 'two_people=approval; destruction'")
    return desk


@pytest.mark.parametrize(("holder", "key"), [("site B", "b"), ("Quillmere", "q")])
def test_who_holds_the_key_of_a_site_or_the_house_is_no_second_person(of_site, tmp_path, holder, key):
    """One person with two keys would count as two."""
    second = f"--second '{holder}' --second-key {tmp_path}/{key}.key"
    refused = of_site(f"{NEEDING['destruction']} {second}").err
    assert f"'{holder}' is no person, and whoever holds that key may be" in refused
    assert "nobody else has one: pourbook key add FILE --of NAME" in refused


def test_the_first_person_gets_a_key_all_the_same(of_site, tmp_path):
    """A site's key agrees to the first; from then on that person is named as who can, and must."""
    second = f"--second 'site B' --second-key {tmp_path}/b.key"
    add = f"key add {tmp_path}/per.key.pub --of 'Per Ash'"
    assert "needs a second person" in of_site(add).err
    of_site.does(f"{add} {second}")
    assert "keys are known of Per Ash" in of_site(NEEDING["destruction"]).err
    of_site.does(f"key make {tmp_path}/tam.key")
    assert "'site B' is no person" in of_site(f"key add {tmp_path}/tam.key.pub --of 'Tam Orrock' {second}").err
    of_site.does(f"{NEEDING['destruction']} --second 'Per Ash' --second-key {tmp_path}/per.key")
    of_site.does("verify")
