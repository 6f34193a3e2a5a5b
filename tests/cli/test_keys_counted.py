"""What a round of samples, an afternoon at the bench and an auditor's visit take: scans and keys, counted.

Each is done twice by the real command, in two copies of one house: as it goes now, and by single commands (a draw each,
all parts retyped, a pour each, every item to be held typed). Both must end with the same contents. A scan is one action
and no keys; a typed line is one action, and each of its characters and Enter a key. What a scanner sends stands in « ».
The figures stand in DEVELOPERS.md; `pytest -s` prints them.
"""

import re
import shutil
from pathlib import Path

import pytest
from command import Desk, here

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"
CASKS = 12
STRENGTHS = [f"{63.5 - 0.4 * number:.1f}" for number in range(CASKS)]
SCAN = re.compile("«([^»]*)»")


class Hands:
    """A person with a scanner and a keyboard at one book: what they did, and how much of it."""

    def __init__(self, book):
        self.desk = Desk(book, here)
        self.scans = self.lines = self.keys = 0

    def counted(self):
        """Keys and actions since they were counted last."""
        found, self.scans, self.lines, self.keys = (self.keys, self.scans + self.lines), 0, 0, 0
        return found

    def _done(self, line):
        scanned = SCAN.findall(line)
        typed = SCAN.sub("", line)
        self.scans += len(scanned)
        if typed:
            self.lines += 1
            self.keys += len(typed) + 1
        return SCAN.sub(r"\1", line)

    def does(self, command, *lines):
        """A command typed in the shell, and what is scanned or typed while it reads lines."""
        typed = self._done(f"pourbook {command}").removeprefix("pourbook ")
        return self.desk.does(typed, "".join(f"{self._done(line)}\n" for line in lines))


def _ids(desk, what):
    return [one["id"] for one in desk.asks(f"stock --kind {what}")["items"]]


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """Twelve casks with labels, labels for vials printed ahead, and a lot that was bottled from two more casks."""
    desk = Desk(tmp_path_factory.mktemp("keys") / "house.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    for number in range(1, CASKS + 1):
        desk.does(f"cask 'Row 1/{number:02d}' --fill '200 l' --strength 64 --in-wood 0 --when 2018-03-01")
    desk.labels = desk.asks(f"reserve vial {CASKS}")["ids"]
    desk.casks = _ids(desk, "cask")
    for ref in ("Row 2/01", "Row 2/02"):
        desk.does(f"cask '{ref}' --fill '180 l' --strength 60 --spirit malt --in-wood 0 --when 2015-03-01")
    for number in (1, 2, 3):
        batch = f"Vatting {number}"
        desk.does(f"batch '{batch}' --when 2024-04-01")
        desk.does(f"pour '{batch}' 'Row 2/01' '30 l' 'Row 2/02' '20 l' --when 2024-04-02")
        desk.does(f"bottle '{batch}' --count 40 --size '700 ml' --ref 'Lot {number}' --when 2024-04-08")
    desk.suspect = desk.asks("show 'Row 2/01'")["id"]
    desk.lot = desk.asks("show 'Lot 1'")["id"]
    return desk


@pytest.fixture(scope="module")
def before(house):
    """The house of somebody who knows single commands only."""
    return Hands(shutil.copy(house.book, house.book.with_name("before.pourbook")))


@pytest.fixture(scope="module")
def now(house):
    """The same house, as it goes now."""
    return Hands(shutil.copy(house.book, house.book.with_name("now.pourbook")))


def contents(hands):
    """All that is in the house, by identifier, and what each trial was made of.

    A strength read after the draw holds the volume by densities kept as whole g/m3, one read with it is drawn at once:
    the same to a millionth, beside the milligrams that pours are kept to.
    """
    stock = hands.desk.asks("stock")["items"]
    found = {(one["id"], name): one[name] for one in stock for name in ("mass_mg", "ethanol_mg", "extract_mg")}
    for trial in _ids(hands.desk, "trial"):
        made_of = hands.desk.asks(f"show {trial}")["made_of"]
        found |= {(trial, one["component"]): one["volume_ml_20c"] * 1000 for one in made_of}
    return found


def counted(what, before, now):
    """What it took of both: the same contents, fewer keys, and the figures that DEVELOPERS.md tells."""
    (keys_before, actions_before), (keys_now, actions_now) = before.counted(), now.counted()
    assert contents(now) == pytest.approx(contents(before), rel=2e-6, abs=3)
    assert keys_now < keys_before
    figures = f"{keys_before} keys in {actions_before} actions; {keys_now} in {actions_now}"
    row = f"| {what}, by single commands; now | {figures} |"
    print(f"\n{row}")
    assert row in DEVELOPERS.read_text("utf-8")
    return actions_before, actions_now


# -- the technician ------------------------------------------------------------------------------


def sampled_by_single_draws(hands, house):
    for cask, label, strength in zip(house.casks, house.labels, STRENGTHS, strict=True):
        hands.does(f"draw «{cask}» 500 --vial «{label}» --strength {strength}")


def sampled_in_a_round(hands, house):
    samples = zip(house.casks, house.labels, STRENGTHS, strict=True)
    lines = [line for cask, label, strength in samples for line in (f"«{cask}»", f"«{label}»", strength)]
    hands.does("draw --each 500", *lines, "done")


def test_a_round_of_twelve_casks(house, before, now):
    """Cask, label, reading; twelve times."""
    sampled_by_single_draws(before, house)
    sampled_in_a_round(now, house)
    actions_before, actions_now = counted("a round of twelve samples", before, now)
    assert actions_now == actions_before + 2, "a cask, a label and a reading each way; the round begins and ends"


# -- the blender ---------------------------------------------------------------------------------

TOTAL_ML = 50
FIRST = {"base": 70, "second": 22, "accent": 4, "water": 4}
CHANGES = (
    {"accent": -1, "water": +1},
    {"accent": +1, "second": -1},
    {"top": +2, "base": -2},
    {"top": +1, "base": -1},
    {"second": +3, "base": -3},
    {"accent": -1, "top": +1},
)
"""Seven trials, each revised from the one before. The eighth is the seventh, reduced to 46 % vol."""

GROWN = 1.75
"""In the third trial 3.5 ml of the accent are poured in place of 2; the blender makes the whole larger."""

WRONG_GLASS, KNOCKED_OVER = 3, 4
"""In the fourth trial the wrong glass is poured from; the fifth is knocked over half-way."""


def all_parts():
    """The parts of each of the seven trials."""
    trials = [FIRST]
    for change in CHANGES:
        trials.append({name: trials[-1].get(name, 0) + change.get(name, 0) for name in {**trials[-1], **change}})
    return trials


def as_poured(number, parts):
    """Component and millilitres, as typed, in the order of pouring."""
    grown = GROWN if number == 2 else 1
    pours = [(name, f"{grown * part / 100 * TOTAL_ML:.2f}".rstrip("0").rstrip(".")) for name, part in parts.items()]
    return sorted(pours, key=lambda pour: pour[0] != "accent") if number == 2 else pours


class Glasses:
    """What is scanned for a component of the afternoon."""

    def __init__(self, house):
        self.labels = dict(zip(("base", "second", "accent", "top", "wrong"), house.labels, strict=False))

    def __getitem__(self, name):
        return "water" if name == "water" else f"«{self.labels[name]}»"


def afternoon_by_single_commands(hands, glass):
    """Every part retyped, every pour a command; numbers of entries looked up in the journal."""
    trial = ""
    for number, parts in enumerate(all_parts()):
        listed = " ".join(f"--part {glass[name]}={part}" for name, part in parts.items())
        revised = f" --revised-from «{trial}»" if trial else ""
        trial = hands.does(f"trial {listed} --total {TOTAL_ML}{revised}").id
        for done, (name, ml) in enumerate(as_poured(number, parts)):
            if (number, done) == (WRONG_GLASS, 1):
                hands.does(f"pour «{trial}» {glass['wrong']} {ml}")
                hands.does(f"journal --item «{trial}»")
                mistaken = hands.desk.asks(f"journal --item {trial}")["entries"][-1]["number"]
                hands.does(f"void {mistaken} --reason 'wrong glass'")
            if (number, done) == (KNOCKED_OVER, 2):
                hands.does(f"loss «{trial}» all --kind spill")
                for again, amount in as_poured(number, parts)[:2]:
                    hands.does(f"pour «{trial}» {glass[again]} {amount}")
            hands.does(f"pour «{trial}» {glass[name]} {ml}")
    return trial, parts


def last_by_single_commands(hands, glass, pours):
    """The water for 46 % vol by the calculator, then as above."""
    trial, parts = pours
    strong = {"base": STRENGTHS[0], "second": STRENGTHS[1], "accent": STRENGTHS[2], "top": STRENGTHS[3]}
    amounts = " ".join(f"--part {strength}={parts[name]}l" for name, strength in strong.items())
    (water,) = re.findall(r"^0 .* (\S+) +0\.00$", hands.does(f"vatting {amounts} --part 0 --to 46").out, re.MULTILINE)
    listed = " ".join(f"--part {glass[name]}={parts[name]}" for name in strong)
    return hands.does(f"trial {listed} --part water={water} --total {TOTAL_ML} --revised-from «{trial}»").id


def poured_singly(hands, trial, plan):
    for glass, ml in plan:
        hands.does(f"pour «{trial}» {glass} {ml}")


def afternoon_at_the_bench(hands, glass):
    """What differs is typed, and a session for each trial is scanned."""
    trial = ""
    for number, parts in enumerate(all_parts()):
        if number == 0:
            listed = " ".join(f"--part {glass[name]}={part}" for name, part in parts.items())
            trial = hands.does(f"trial {listed} --total {TOTAL_ML}").id
        else:
            changes = " ".join(f"--change {glass[name]}={by:+d}" for name, by in CHANGES[number - 1].items())
            trial = hands.does(f"trial --revised-from «{trial}» {changes}").id
        lines = []
        for done, (name, ml) in enumerate(as_poured(number, parts)):
            if (number, done) == (2, 1):
                lines.append("?")  # what brings all in proportion again
            if (number, done) == (WRONG_GLASS, 1):
                lines += [*scanned(glass["wrong"], ml), "undo"]
            if (number, done) == (KNOCKED_OVER, 2):
                lines.append("spilled all")
                lines += [
                    line for one in as_poured(number, parts)[:2] for line in (*scanned(glass[one[0]], one[1]), "again")
                ]
            lines += scanned(glass[name], ml)
        hands.does(f"pour «{trial}»", *lines, "done")
    return trial


def scanned(glass, ml):
    """A pour in a session: the glass, then the amount; water has no label, and is typed with its amount."""
    return [f"water {ml}"] if glass == "water" else [glass, ml]


def test_an_afternoon_of_eight_trials(house, before, now):
    """Seven revised one from the other, with an over-pour, a wrong glass and a spilled one; the eighth to 46 % vol."""
    glass = Glasses(house)
    seventh = afternoon_by_single_commands(before, glass)
    assert afternoon_at_the_bench(now, glass) == seventh[0]
    eighth = now.does(f"trial --revised-from «{seventh[0]}» --to 46").id
    plan = [
        (glass["water" if one["component"] == "water" else name], f"{one['volume_ml_20c']:.1f}")
        for one, name in zip(planned(now, eighth), ("base", "second", "accent", "top", "water"), strict=True)
    ]
    assert last_by_single_commands(before, glass, seventh) == eighth
    poured_singly(before, eighth, plan)
    now.does(f"pour «{eighth}»", *(line for one in plan for line in scanned(*one)), "done")
    counted("an afternoon of eight trials", before, now)
    assert now.desk.asks(f"show {eighth}")["strength_20c"] == pytest.approx(46, abs=0.1)  # poured to the tenth


def planned(hands, trial):
    """What the trial's sheet asks for."""
    return hands.desk.asks(f"trial --revised-from {trial} --dry-run")["plan"]


# -- the auditor ---------------------------------------------------------------------------------


def asked_by_the_auditor(hands, house):
    """A lot back, a suspect cask forward, why of a share, the lot's dossier, and the book held against it."""
    hands.does(f"trace «{house.lot}»")
    hands.does(f"trace «{house.suspect}» --forward")
    hands.does(f"trace «{house.lot}» --why «{house.suspect}»")
    hands.does(f"dossier «{house.lot}» -o lot.json")
    assert "says what the book said then" in hands.does("verify --against lot.json").out


def test_an_auditors_visit(house, before, now, tmp_path, monkeypatch):
    """The questions are the same; a mock recall is one command, in place of a hold of each item found."""
    for hands, folder in ((before, tmp_path / "before"), (now, tmp_path / "now")):
        folder.mkdir()
        monkeypatch.chdir(folder)
        asked_by_the_auditor(hands, house)
    affected = [house.suspect, *(one["id"] for one in before.desk.asks(f"trace {house.suspect} --forward")["items"])]
    held = [one for one in affected if before.desk.asks(f"show {one}")["mass_mg"]]
    typed = " ".join(f"{one[0]}-{one[1:-1]}-{one[-1]}" for one in held)  # read from the screen
    before.does(f"hold {typed} --reason 'mock recall'")
    now.does(f"recall --item «{house.suspect}» --mock --hold --reason 'mock recall'")
    on_hold = [
        {one["id"] for one in hands.desk.asks("stock")["items"] if "hold" in one["facts"]} for hands in (before, now)
    ]
    assert on_hold[0] == on_hold[1]
    counted("an auditor's visit", before, now)
