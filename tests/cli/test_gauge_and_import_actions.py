"""Gauges and imports are recorded the same by the command and from Python; every action is compared somewhere."""

import json
import re
import shutil
from pathlib import Path

import pytest
from command import WHO, Desk, here
from epcis_house import document_of, sending_house
from house import Clock, House, moment

from pourbook import Book
from pourbook.actions.happening import Happening
from pourbook.book.journal import journal
from pourbook.exchange.epcis.epcis_import import Asked
from pourbook.gauging.what_was_read import WhatWasRead
from pourbook.quantities import read_amount, read_strength
from pourbook.whole_book import ACTIONS

SAMPLES = Path(__file__).parents[2] / "sample_data"
HOW = Happening(WHO, moment("2024-05-02T09:30:00"), "Warehouse 2", "stock-take")
OPTIONS = "--when 2024-05-02T09:30:00 --where 'Warehouse 2' --reason stock-take"
RECORD_NOTHING = {"backup", "move_book", "repair", "revoke"}

BOTH = {
    "a gauge by volume and strength": (
        "gauge 'Row 3/12' --amount '197 l' --strength 63.2 --temperature 14",
        lambda book, _: book.gauge(
            HOW, "Row 3/12", WhatWasRead(read_amount("197 l"), true=read_strength("63.2"), temperature_c=14.0)
        ),
    ),
    "a gauge by hydrometer, with an instrument, provisional": (
        "gauge 'Row 3/12' --hydrometer 62.9 --extract '2 g/l' --instrument 'dip rod 2' --provisional warm",
        lambda book, _: book.gauge(
            HOW, "Row 3/12", WhatWasRead(hydrometer=read_strength("62.9"), extract="2 g/l"), ["dip rod 2"],
            provisional="warm",
        ),
    ),
    "a laboratory's reading for the cask": (
        "gauge 'S 1' --strength 63.1 --for-source-cask",
        lambda book, _: book.gauge_for_source(HOW, "S 1", WhatWasRead(true=read_strength("63.1"))),
    ),
    "a history": (
        f"import history '{SAMPLES / 'history'}'", lambda book, _: book.import_history(HOW, SAMPLES / "history"),
    ),
    "casks": (
        f"import casks '{SAMPLES / 'casks.csv'}'", lambda book, _: book.import_casks(HOW, SAMPLES / "casks.csv"),
    ),
    "gauges": (
        "import gauges '{folder}/gauges.csv'",
        lambda book, folder: book.import_gauges(HOW, folder / "gauges.csv"),
    ),
    "words": (
        f"import words '{SAMPLES / 'words.csv'}'", lambda book, _: book.import_words(HOW, SAMPLES / "words.csv"),
    ),
    "another house's tanker": (
        "import epcis '{folder}/tanker.jsonld' --ref 'Tanker 8'",
        lambda book, folder: book.import_epcis(HOW, folder / "tanker.jsonld", Asked(ref="Tanker 8")),
    ),
}  # fmt: skip


@pytest.fixture
def folder(tmp_path):
    """Two equal books with a cask and a sample of it, a round of gauges, and what another house sent."""
    with House(tmp_path / "python.pourbook") as house:
        house.open("C1", ref="Row 3/12")
        house.fill("C1", "200 l", "63.5", spirit="malt spirit")
        house.open("V1", ref="S 1")
        house.draw("C1", "V1", "500 ml")
    shutil.copy(tmp_path / "python.pourbook", tmp_path / "command.pourbook")
    (tmp_path / "gauges.csv").write_text("item,amount,unit,happened,by\nRow 3/12,197,l,2024-05-01,P. Hask\n")
    with sending_house() as sender:
        (tmp_path / "tanker.jsonld").write_text(json.dumps(document_of(sender, "B1", customer="Harbour Row")), "utf-8")
    return tmp_path


def _recorded(path):
    """All that was written but for the login name and the time of recording, which is also when an import happened."""
    with Book.open(path) as book:
        return [
            (
                one.kind,
                {
                    name: value
                    for name, value in one.entry.items()
                    if name not in ("recorded", "login") and (name, one.kind) != ("happened", "imported")
                },
            )
            for one in journal(book.store)
        ]


@pytest.mark.parametrize("what", BOTH)
def test_the_command_and_python_record_the_same(folder, what):
    """Two equal books stay equal."""
    command, action = BOTH[what]
    before = _recorded(folder / "python.pourbook")
    with Book.open(folder / "python.pourbook", clock=Clock("2026-06-01")) as book:
        action(book, folder)
    Desk(folder / "command.pourbook", here).does(f"{command.format(folder=folder)} {OPTIONS}")
    from_python = _recorded(folder / "python.pourbook")
    assert len(from_python) > len(before)
    assert from_python == _recorded(folder / "command.pourbook")


def test_every_action_is_compared():
    """A new one has to be added to this file or to one of its neighbours; keys are compared where they sign."""
    here_and_there = ("cli/test_*_actions.py", "cli/test_house_doors.py", "signing/test_attacks.py")
    files = [path for some in here_and_there for path in Path(__file__).parents[1].glob(some)]
    compared = "".join(path.read_text("utf-8") for path in files)
    missing = {name for names in ACTIONS.values() for name in names if not re.search(rf"\w\.{name}\(", compared)}
    assert not missing - RECORD_NOTHING
