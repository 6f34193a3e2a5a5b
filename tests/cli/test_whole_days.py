"""A date typed as an end means the whole day, in every verb that takes one.

ISO 8601-1 says of a calendar date that it names the day, not an instant of it; that an end given as a date takes in
that day is common practice of accounts.
"""

import re
import shutil

import click
import pytest
from command import here

from pourbook.cli.main import VERBS, cli

DAY = "2024-12-31"
LAST = ("2024-12-31 23:59:59.999999", "2025-01-01 00:00")
"""The end of that day: its last moment, or the first one that no longer belongs to it."""

NO_TIME = {
    ("ahead", "--to"), ("blending open", "--to"), ("journal", "--to"), ("mixture drift", "--at"),
    ("mixture fit", "--at"),
    ("move", "--to"), ("plan", "--to"), ("reduce", "--to"), ("scale-up", "--to"), ("session open", "--to"),
    ("session plan", "--to"), ("trial", "--to"), ("vatting", "--to"),
}  # fmt: skip
"""An entry's number, strengths, a place, and the parts of a blend."""

ASKED = {
    ("show", "--at"): ("show", "Q 1"),
    ("stock", "--at"): ("stock",),
    ("trace", "--at"): ("trace", "T 1"),
    ("journal", "--at"): ("journal",),
    ("compare", "--at"): ("compare", "T 1", "T 2"),
    ("ahead", "--on"): ("ahead", "T 1", "--final", "10 l", "--to", "46", "--by", "litres"),
    ("evaporation", "--at"): ("evaporation", "Q 1", "--on", "2026-01-01"),
    ("evaporation", "--on"): ("evaporation", "Q 1"),
    ("plan", "--on"): ("plan", "T 1", "--final", "10 l", "--to", "46", "--tolerance", "5"),
    ("account", "--to"): ("account", "--from", DAY),
    ("affected", "--at"): ("affected", "--item", "Q 1"),
    ("affected", "--to"): ("affected", "--person", "M. Aldane", "--from", DAY),
    ("recall", "--to"): ("recall", "--person", "M. Aldane", "--mock", "--reason", "x", "--from", DAY, "--dry-run"),
    ("casks", "--at"): ("casks",),
    ("tastings", "--at"): ("tastings",),
    ("shape", "--at"): ("shape", "Q 1"),
    ("statements", "--at"): ("statements", "Lot 1"),
    ("approval", "--at"): ("approval", "Lot 1"),
    ("dossier", "--at"): ("dossier", "Lot 1", "-o", "x.pdf", "--dry-run"),
    ("provenance", "--at"): ("provenance", "Q 1"),
    ("reach", "--at"): ("reach", "Q 1"),
    ("label", "--until"): ("label", "--kind", "vial", "--template", "vial-roll-30x15", "-o", "x.pdf", "--dry-run"),
    ("print-log", "--until"): ("print-log",),
    ("trial", "--until"): ("trial", "--list"),
    ("export stock", "--at"): ("export", "stock"),
    ("export journal", "--at"): ("export", "journal"),
    ("export pours", "--at"): ("export", "pours"),
    ("export tastings", "--at"): ("export", "tastings"),
    ("export epcis", "--at"): ("export", "epcis", "--from", "2024-01-01"),
    ("export prov", "--at"): ("export", "prov", "T 1"),
    ("export graphml", "--at"): ("export", "graphml", "T 1"),
    ("export trace", "--at"): ("export", "trace", "T 1"),
}
"""What each verb is asked; the option itself comes last."""

CLOCK = r'"(creationDate|begun|found|seconds|seconds_to_found)": .*'
"""What the clock adds to an answer, whatever was asked."""

WITHOUT_JSON = ("export epcis", "export prov", "export graphml")


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """All that matters happened at noon of the last day of the year, in a house an hour from UTC."""
    path = tmp_path_factory.mktemp("days") / "house.pourbook"
    settings = ("--set", "zone=Europe/Paris", "--set", "uri=https://quillmere.example")
    here("create", path, "--house", "Quillmere", *settings).done()
    fill = ("--capacity", "200", "--fill", "190 l", "--strength", "63.5")
    here("cask", "Q 1", *fill, "--when", "2020-01-01 12:00", book=path).done()
    here("gauge", "Q 1", "--amount", "186 l", "--when", "2022-01-01 12:00", book=path).done()
    noon = ("--when", f"{DAY} 12:00")
    here("draw", "Q 1", "200 ml", "--ref", "S 1", *noon, book=path).done()
    for trial in ("T 1", "T 2"):
        recipe = ("--recipe", trial, "--part", "S 1=1", "--total", "50 ml", "--ref", trial)
        here("trial", *recipe, *noon, book=path).done()
        here("pour", trial, "S 1", "50 ml", "--when", f"{DAY} 13:00", book=path).done()
    labels = ("S 1", "--template", "vial-roll-30x15", "-o", path.with_name("vial.pdf"))
    here("label", *labels, "--when", f"{DAY} 13:00", book=path).done()
    here("batch", "Vatting 0", *noon, book=path).done()
    one = ("--count", "1", "--size", "700 ml", "--ref", "Lot 1")
    here("pour", "Vatting 0", "Q 1", "1 l", "--when", f"{DAY} 13:00", book=path).done()
    here("bottle", "Vatting 0", *one, "--when", f"{DAY} 13:00", book=path).done()
    here("gauge", "Q 1", "--amount", "180 l", "--when", f"{DAY} 14:00", book=path).done()
    here("move", "Q 1", "--to", "Row 3/12", *noon, book=path).done()
    here("word", "pear", "--definition", "ripe pears", *noon, book=path).done()
    here("taste", "Q 1", "sweet", "--nose", "pear 4", "--when", f"{DAY} 14:00", book=path).done()
    return path


def options():
    """Every option of every verb that is typed as one of these words."""
    for verb in (verb for verbs in VERBS.values() for verb in verbs):
        command = cli.get_command(click.Context(cli), verb)
        named = {verb: command}
        if isinstance(command, click.Group):
            named = {f"{verb} {name}": one for name, one in command.commands.items()}
        for name, one in named.items():
            words = {word for parameter in one.params for word in parameter.opts}
            yield from ((name, word) for word in words & {"--at", "--to", "--until", "--on", "--ended"})


def test_every_verb_that_takes_an_end_is_asked_here():
    """A new one shows up as missing."""
    assert {*options()} - NO_TIME == {*ASKED, ("recall", "--ended")}


@pytest.mark.parametrize(("named", "option"), ASKED)
def test_a_date_takes_in_its_last_moment(book, named, option):
    """The answer is that of the end of the day, not that of its beginning."""
    answers = {}
    for end in (DAY, *LAST, f"{DAY} 00:00"):
        json = () if named in WITHOUT_JSON else ("--json",)
        ran = here(*ASKED[named, option], option, end, *json, book=book)
        answers[end] = (ran.status, re.sub(CLOCK, "", ran.out))
    assert answers[DAY][0] == 0, ran.err
    assert answers[DAY] in (answers[LAST[0]], answers[LAST[1]])
    assert answers[DAY] != answers[f"{DAY} 00:00"]


def test_a_recall_that_ended_on_a_day_ended_on_it(book, tmp_path):
    """One that began and ended on the same day is in order, and its end is that of the day (22:59 UTC in Paris)."""
    copy = tmp_path / "copy.pourbook"
    shutil.copyfile(book, copy)
    span = ("--begun", f"{DAY} 09:00", "--ended", DAY)
    here("recall", "--item", "Q 1", "--mock", "--reason", "exercise", *span, book=copy).done()
    recall = here("journal", "--json", book=copy).done().json["entries"][-1]
    assert recall["body"]["ended"] == "2024-12-31T22:59:59.999999Z"


def test_an_hour_that_is_there_twice_is_asked_about_by_verb_and_import(book, tmp_path):
    """The clocks of Paris went back at 01:00 UTC on 2024-10-27 (Directive 2000/84/EC); an offset settles it."""
    table, head = tmp_path / "gauges.csv", "item,amount,unit,happened,by\n"
    table.write_text(f"{head}Q 1,181,l,2024-10-27 02:30,M. Aldane\n")
    both = "'2024-10-27 02:30+02:00' (2024-10-27 02:30 CEST) or '2024-10-27 02:30+01:00' (2024-10-27 02:30 CET)"
    for words in (("note", "Q 1", "bung sound", "--when", "2024-10-27 02:30"), ("import", "gauges", table)):
        ran = here(*words, "--dry-run", book=book)
        assert (ran.status, both in ran.err) == (1, True), ran.err
    table.write_text(f"{head}Q 1,181,l,2024-10-27 02:30+01:00,M. Aldane\n")
    here("import", "gauges", table, "--dry-run", book=book).done()


def test_what_was_entered_or_filled_later_is_told_as_such(book, tmp_path):
    """Not 'has no table' or 'is empty': since when it has one, or holds something."""
    copy = tmp_path / "copy.pourbook"
    shutil.copyfile(book, copy)
    here("vessel", "Vat 1", "--table", "0 10; 100 1010", "--when", "2024-03-01", book=copy).done()
    here("set", "Q 1", "tare_kg=43", "--when", "2024-03-01", book=copy).done()
    here("batch", "Vatting 1", "--when", "2024-03-01", book=copy).done()
    meter = ("--kind", "hydrometer", "--unit", "% vol", "--mpe", "0.1", "--resolution", "0.1")
    here("instrument", "H-3", *meter, "--when", "2024-03-01", book=copy).done()
    then, told = ("--when", "2023-01-01 12:00"), "2024-03-01 00:00 CET, after 2023-01-01 12:00 CET"
    dip = here("gauge", "Q 1", "--dip", "17.6", "--vessel", "Vat 1", *then, book=copy)
    assert f"the first calibration table of S-000001-4 · Vat 1 was entered at {told}" in dip.err
    weight = here("gauge", "Q 1", "--gross", "210 kg", *then, book=copy)
    assert f"the first tare of C-000001-H · Q 1 was entered at {told}" in weight.err
    early = here("draw", "Q 1", "100 ml", "--when", "2019-01-01", book=copy)
    assert "was empty at 2019-01-01 00:00 CET: it was first filled at 2020-01-01 12:00 CET" in early.err
    opened = here("draw", "Vatting 1", "100 ml", *then, book=copy)
    assert "was empty at 2023-01-01 12:00 CET: it was entered at 2024-03-01 00:00 CET" in opened.err
    read = here("gauge", "Q 1", "--hydrometer", "63.4", "--instrument", "H-3", *then, book=copy).done()
    assert "no ±" not in read.out  # one entered later is the same instrument
