"""Every answer is as its published schema says: the sample house, and a house with all that is rare."""

import json
import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from command import Desk, here
from house import House

SAMPLE_DATA = Path(__file__).resolve().parents[2] / "sample_data"

jsonschema = pytest.importorskip("jsonschema")


def schema(answer):
    """The schema that is published for an answer."""
    return json.loads(here("schema", answer).done().out)


def check(answer, document):
    """The document against the schema of the answer."""
    published = schema(answer)
    jsonschema.Draft202012Validator.check_schema(published)
    validator = jsonschema.Draft202012Validator(published)
    validator.validate(document)
    assert not validator.is_valid(document | {"more": 1}), f"the schema of {answer} lets anything in"


READ = {
    "backup", "journal", "journal-hash", "move-book", "repair", "restore", "show", "stock", "trace", "trace-why",
    "verify",
}  # fmt: skip
"""Answers that are checked item by item, in the sample house and in one with all that is rare."""
POURED = {"replan", "replan-record"}
"""Answers about a batch that is being poured: `test_replanning_actions.py`."""
OF_GROUPS = {"group-differences", "group-join", "group-sites"}
"""Answers of a group's book, with every kind of difference."""
REFUSED = {"import-refused", "plan-none", "plan-out-of-time"}
"""Answers of a command that did nothing."""

ASKED = """
density: density --strength 62.4 --temperature 14
strength: strength --density 900.1 --temperature 14
convert: convert --volume '53 gal' --strength '124 proof' --temperature '76 F'
convert: convert --mass '612 kg' --tare '112 kg' --strength 63.5 --in-air
convert: convert --volume '500 l' --strength 40 --extract '20 g/l'
hydrometer: hydrometer --reading 86.8 --unit proof --temperature '72 F'
hydrometer: hydrometer --reading 38.2 --temperature 22 --extract '12 g/l'
obscuration: obscuration --true 40 --extract '20 g/l'
obscuration: obscuration --residue '0.125 g' --apparent '86.8 proof'
reduce: reduce --volume '1000 l' --strength 62.4 --to 46 --steps 3 --rest-days 7 --vat '1200 l'
reduce: reduce --mass '500 kg' --strength 63 --to 43 --via 57 --extract '2 g/l'
reduce: reduce --volume '200 l' --strength 40 --to 43 --with-spirit 96
vatting: vatting --part 61.2 --part 45 --to 50 --total '500 l'
vatting: vatting --part '62=100 l' --part '40+20 g/l=50 l'
uncertainty: uncertainty 'Vatting 3'
uncertainty-readings: uncertainty --hydrometer 61.8 --instrument 'hydrometer II' --temperature 15
uncertainty-readings: uncertainty --strength 63.5 --instrument 'limit 0.05' --amount 9l --amount-instrument 'limit 1 %'
uncertainty-difference: uncertainty difference 7 8 --instrument 'graduated pipette A 10 ml'
uncertainty-trial-size: uncertainty trial-size 7 8 --instrument 'graduated pipette A 10 ml'
uncertainty-portions: uncertainty portions 'Trial 26-B' --instrument 'graduated pipette A 10 ml'
label-strength: label-strength --strength 46.05 --instrument 'limit 0.05' --label 46
label-strength: label-strength --strength 46 --instrument 'limit 2' --label 46
statements: statements 'Lot 2026-1'
approval: approval 'Lot 2026-1' --beside 'Vatting 2' --claim 'age 12'
statements: statements 'Vatting 3' --rules uk --strength 48.3 --size '700 ml' --claim 'age 12' --at 2026-07-01
plan: plan {data}/plan.toml --casks {data}/plan_casks.csv
plan: plan {data}/plan.toml --casks {data}/plan_casks.csv --others --left-out --instead-of 'Q 618'
plan-of-book: plan 'Trial 26-B' --final '100 l' --to 46 --gauged-within 9000 --how-sure
plan-of-book: plan 'Vatting 3' --gauged-within 9000
plan-of-book: plan 'Vatting 3' --gauged-within 9000 --others
mixture-vertices: mixture vertices {data}/bounds.csv
mixture-vertices: mixture vertices {data}/bounds.csv --centroids
mixture-design: mixture design {data}/bounds.csv --glasses 9 --repeats 2 --days 2
mixture-design: mixture design {data}/bounds.csv --glasses 3 --tried {data}/flight.csv --criterion I
mixture-design-plan: mixture design {data}/vials.csv --glasses 7 --total '10 ml' --instrument 'graduated pipette A 5 ml'
mixture-fit: mixture fit {data}/flight.csv --response pear --component base,chestnut,heather
mixture-drift: mixture drift {data}/flight.csv --response pear --component base,chestnut,heather --noticed-by 12
mixture-next: mixture next {data}/bounds.csv {data}/flight.csv --wish 'pear near 3' --wish 'liking more' --glasses 2
compare: compare 'Trial 26-A' 'Trial 26-B'
compare: compare 'Trial 26-A' 'Trial 26-B' 'Lot 2026-1' --group-by kind --csv {folder}/blends.csv
revisions: revisions 'Trial 26-B'
revisions: revisions 'Ostrewick 26' --group-by wood --without-water -o {folder}/family.pdf
near: near 'Trial 26-B' --without-water
near: near --part 'Q 106=3' --part water=1 --group-by component
evaporation: evaporation
evaporation: evaporation 'Q 109' --on 2027-01-01
ahead: ahead 'Trial 26-B' --final '100 l' --to 46
ahead: ahead 'Vatting 3' --final '100 l' --to 46 --batches 20 --years 2 --by litres --csv {folder}/ahead.csv
recipe-show: recipe 'Ostrewick 26'
scale-up-plan: scale-up 'Trial 26-B' --total '50 l'
scale-up-plan: scale-up 'Trial 26-B' --bottles '60 x 700 ml' --losses 4 --to 46
scan: scan C-000001-H
scan: scan ']C10109521234005674'
scan: scan https://id.gs1.org/01/09521234005674/10/L26-175
scan: scan ]C100095212340000000013
casks: casks --wood oak --fill first
casks: casks --previous rum
casks-best: casks --best
provenance: provenance 'Q 106'
reach: reach 'Q 106' 'Q 204'
affected: affected --item 'Q 204'
affected: affected --person 'Isla Farrow' --from 2026-06-01 --to 2026-06-30
account: account --from 2022-01-01 --to 2022-12-31
account-list: account --from 2022-01-01 --to 2022-12-31 --list all
journal-paper: journal --to 20 -o {folder}/journal.pdf
account-list: account --from 2026-01-01 --to 2026-12-31 --group-by owner --group-by kind --list out
import: import casks {data}/casks.csv --again --dry-run
import: import words {data}/words.csv --again --dry-run
panel-orders: panel orders --products 5 --assessors 7
panel-orders: panel orders --test duo-trio --assessors 8
panel-test: panel triangle --assessors 30 --correct 16
panel-test: panel tetrad --assessors 12 --correct 12
panel-test: panel paired --assessors 30 --correct 9 --two-sided
panel-test: panel duo-trio --assessors 2
panel-test: panel three-afc --assessors 60 --correct 20 --similarity --pd 0.3
panel-repeated: panel repeated {data}/answers.csv --test tetrad
panel-rank: panel rank {data}/ranks.csv
panel-rank: panel rank {data}/ranks.csv --expected 'ash, base, chestnut, heather'
panel-agreement: panel agreement {data}/scores.csv --scale 0..10
panel-needed: panel tetrad --d-prime 1 --power 0.9
panel-needed: panel duo-trio --similarity --pd '30 %'
"""
"""Answers, each with a question to the sample house, a line a case."""

RECORDED = """
cask: cask 'Q 401' --fill '100 l' --strength 60
fill: fill 'Q 401' '10 l' --strength 60

vial: vial '200 ml' --ref 'T 7' --supplier Tarn --supplier-ref 7/14 --strength 61 --document 'note 8'
show: show 'T 7'

people: people
person-account: person 'Isla Farrow' --role manager --pin-stdin < 482913
person-account: person Peer --role cellar --pin-stdin < pear 4, oak 2
person-account: person Peer --role technician
person-account: person Peer --end-account
person-withdrawn: person Peer --withdraw --dry-run --confirm
person-withdrawn: person Peer --withdraw --confirm
people: people --all

draw: draw 'Q 105' '200 ml' --strength 60 --ref S9
draw: draw 'Q 105' '100 ml' --dry-run
gauge-for-source-cask: gauge S9 --strength 60.1 --for-source-cask

instrument H-5 --kind hydrometer --unit '% vol' --due 2020-01-01
cask 'Q 402' --fill '100 l' --strength 60 --pending
draw 'Q 402' '100 ml'
due: due

gauge: gauge 'Q 105' --amount '110 l' --strength 60.2 --instrument H-9
instrument H-3 --kind hydrometer --unit '% vol' --resolution 0.1 --mpe 0.1
gauge: gauge 'Q 109' --hydrometer 59.9 --amount '170 l' --instrument H-3
uncertainty: uncertainty 'Q 109'

pour: pour 'Trial 26-B' 'S 26-01' '10 ml'

batch: batch 'Vatting 4'
dump: dump 'Vatting 4' 'Q 105'
loss: loss 'Q 106' '1 l' --kind leak

bottle: bottle 'Vatting 3' --count 10 --size '700 ml'

settings --set contents_rule=eu-76-211
bottling: bottling begin 'Vatting 3' --size '700 ml' --ref Run --closure 'stopper K-77'
bottling: bottling add Run --filled 9 --broken 1 --loss 'filter=20 ml' --filter F-31 --purge '60 ml'
bottling: bottling fills Run 700.5 699.5
bottling-list: bottling show
due: due
today: today
bottling-sheet: bottling sheet Run -o {folder}/run.pdf
batch 'Vatting 5' --place 'Vat 5'
dump 'Vatting 5' 'Q 105'
bottling: bottling change Run 'Vatting 5' --confirm
bottling: bottling add Run --filled 5 --retained 2 --place 'shelf 3' --keep-until 2031-12-31
bottling: bottling end Run --empties --kind line --confirm
bottling-show: bottling show Run
show: show Run

despatch: despatch 'Lot 2026-1' 6 --customer 'Harbour Row'
return: return 'Lot 2026-1' 2 --customer 'Harbour Row'
despatch: despatch 'S 26-01' all --recipient Ferrow

set: set 'Q 106' name=sweet
stocktake-open: stocktake open May --place 'Warehouse 2'
stocktake scan May 'Q 106' 'at Row 8' 'Q 105' 'at Row 9' 'Q 105' 'illegible Row 7' 4006381333931
find: find ow
today: today
stocktake-report: stocktake report May -o {folder}/may.pdf
stocktake-end: stocktake end May --move
stocktake-list: stocktake list
due: due
show: show 'Q 109'
cask 'Q 403' --wood chestnut
rack: rack 'Q 109' 'Q 403' '150 l' --temperature 13
note: note 'Q 106' 'bung replaced'
note: note 'Q 106' 'rehooped' --subject repair
find: find rehooped
set 'Q 106' toast=heavy
show: show 'Q 106'
provenance: provenance 'Q 106' -o {folder}/cask.pdf
approve: approve 'Lot 2026-1' --claim 'age 7' --confirm
approval: approval 'Lot 2026-1' -o {folder}/approval.pdf
approve: approve 'Vatting 3' --reject --reason dull
show: show 'Lot 2026-1'
due: due
move: move 'Q 106' --to 'Row 9/2'
move: move 'Q 105' --to 'Row 9/1'
location Row --storage stow --open both
reach: reach 'Q 106'
hold: hold 'Q 106' --reason cork
today: today
release: release 'Q 106' --reason clean

reduce-step: reduce 'Vatting 3' --to 44 --steps 2 --rest-days 7
reduce-step: reduce 'Vatting 3' --water '300 ml' --about 'lot W-12'
reduce-batch: reduce 'Vatting 3'
today: today
show: show 'Vatting 3'

word: word pear --fault --also bosc
settings --set hold_off_notes=yes
taste: taste 'S 26-01' 'long' --nose 'Pears 4; shy' --finish 'pear 2' --seconds 30 --score 82 --amount '5 ml'
shape: shape 'Trial 26-B'
shape: shape 'S 26-01' 'Trial 26-B' --words pear
taste: taste 'Lot 2026-1' --liking 7 --strength 40 --temperature 18 --amount '20 ml' --poured --blind
word-show: word BOSC
word-list: word --list
tastings: tastings --word 'pear >= 3'
tastings: tastings --about 'Lot 2026-1'
show: show 'Lot 2026-1'
provenance: provenance 'Q 106'

session-plan: session plan --glass 'Q 106' --glass 'Q 204' --repeat 'Q 204' --assessor 'Isla Farrow' --to 21
session-plan: session plan --glass 'Q 106' --glass 'Q 204' --assessor 'Isla Farrow' --test triangle
session-open: session open Autumn --glass 'Q 106' --glass 'Q 204' --repeat 'Q 204' --assessor 'Isla Farrow' --to 21
session-sheets: session sheets Autumn --ballots {folder}/b.pdf --pour-sheet {folder}/p.pdf
session-sheets: session labels Autumn -o {folder}/l.pdf
session-pour: session pour Autumn
session ballot Autumn --write-form {folder}/form.csv
session-ballot: session ballot Autumn {folder}/form.csv
session-show: session show Autumn
today: today
session-list: session list
session-close: session close Autumn --confirm
session-report: session report Autumn -o {folder}/r.pdf
recipe 'On the table' --part 'S 26-01=80 in 50..100' --part 'S 26-02=20 in 0..50'
blending-open: blending open Spring --recipe 'On the table' --guest A --guest B --blend '5 ml' --glass '1 ml' --to 21
trial: blending compose Spring --guest A --called Light --part 'S 26-01=60' --part 'S 26-02=40'
trial: blending compose Spring --guest B --called Dark --part 'S 26-01=100'
today: today
blending-paper: blending sheets Spring -o {folder}/sheets.pdf
pour Light 'S 26-01' '3 ml' 'S 26-02' '2 ml'
pour Dark 'S 26-01' '5 ml'
session-open: blending taste Spring
blending-show: blending show Spring
session close Spring --confirm
blending-choose: blending choose Spring Dark
blending-paper: blending cards Spring -o {folder}/cards.pdf
blending-list: blending show

session open Odd --glass 'Q 106' --glass 'Q 204' --assessor 'Isla Farrow' --test triangle --confirm
session-pour: session pour Odd
session-close: session close Odd --confirm
session-report: session report Odd

trial: trial --part 'S 26-01=1' --part 'S 26-02=2' --part water=1 --total '5 ml'

component: component 'Oak base' --wood oak --min-age 3
component-show: component 'oak base'
component-list: component --list
recipe: recipe Autumn --part 'Oak base=9' --part 'Q 106=1'
recipe: recipe Kept --part 'Q 105=6' --part 'Q 106=3' --part 'Q 109=1 fixed' --ratio 'Q 105:Q 106'
recipe-show: recipe Kept
recipe: recipe Strong --part 'Q 105=9' --part 'Q 106=1' --by pure-alcohol
recipe-show: recipe Strong
trial: trial --recipe Autumn --use 'Oak base=S 26-01' --total '5 ml'

taste 'Trial 26-A' 'heavy' --score 71
taste 'Trial 26-B' 'round' --score 80 --by 'Isla Farrow'
taste 'Trial 26-A' 'short' --score 72 --by 'Isla Farrow'
revisions: revisions 'Trial 26-B'
casks-best: casks --best
casks-best: casks --best --told-by previous --by liking
provenance: provenance 'Q 204'
compare: compare 'Trial 26-A' 'Trial 26-B'
near: near 'Trial 26-B'

mixture-design-record: mixture design {data}/vials.csv --glasses 6 --total '5 ml' --record

recipe: recipe New --part 'Q 105=1' --part 'Q 106=2:base'
recipe-show: recipe New

scale-up: scale-up 'Trial 26-B' --total '50 l' --record
scale-up: scale-up 'Trial 26-B' --bottles '60 x 700 ml' --losses '2 l' --to 46 --open
plan-record: plan 'Trial 26-B' --bottles '60 x 700 ml' --losses '2 l' --to 46 --gauged-within 9000 --record --ref Oak
uncertainty-plan: uncertainty plan Oak

word pear --definition 'ripe pears'
taste 'Q 106' --nose 'pear 1'
taste 'Q 205' --nose 'pear 4'
taste 'Q 206' --nose 'pear 2'
taste 'Q 204' --nose 'pear 3'
taste 'Trial 26-A' --nose 'pear 2'
taste 'Trial 26-B' --nose 'pear 1.5'
mixture-fit: mixture fit --trials 'Q 106,Q 205,Q 206,Q 204,Trial 26-A,Trial 26-B' --response pear --of 'Trial 26-B'
mixture-next-trial: mixture next --after 'Trial 26-B' --wish 'pear more' --glasses 2
mixture-drift-kept: mixture drift --trials 'Q 106,Q 205,Q 206,Q 204,Trial 26-A,Trial 26-B' --response pear \
 --of 'Trial 26-B' --d-prime 1 --keep

gtin: gtin 'Lot 2024-1' --item 568 --case-indicator 1

cases: cases 'Lot 2026-1' --count 2 --bottles 6
pallets: pallets 'Lot 2026-1' --count 1 --bottles 6 --cases 2
stack: stack 095212340000000051 095212340000000037 095212340000000044

reserve: reserve vial 3
reserve-list: reserve --list
today: today

recall: recall --item 'Q 204' --mock --reason yearly --hold -o {folder}/recall.pdf
recall-list: recall --list
today: today
recall-show: recall --show 158
recall-release: recall --release 158 --reason clean
recall-list: recall --list

key-make: key make {folder}/site.key
key-make: key make {folder}/isla.key
key: key add {folder}/site.key.pub --of 'the house'
key: key add {folder}/isla.key.pub --of 'Isla Farrow'
sign: sign --key {folder}/site.key -o {folder}/signed.json
sign: sign --key {folder}/isla.key --counter {folder}/signed.json -o {folder}/both.json
verify: verify --against {folder}/both.json --public {folder}/site.key.pub
verify: verify --against {folder}/signed.json
key-list: key list

void: void 112 --reason twice

replace: replace 112 --amount '56 ml' --reason slip

close: close --when 2020-01-01
account: account --from 2019-01-01 --to 2019-12-31 --group-by owner --declare 'half-up 0.1' -o {folder}/a.pdf
account: account --from 2019-01-01 --to 2019-12-31
"""
"""What is done in the sample house, a paragraph a case; a name before a command is that of its answer."""


def named(line):
    """The name of the answer, empty where none is checked, and the command."""
    name, colon, command = line.partition(": ")
    return (name, command) if colon and " " not in name else ("", line)


@pytest.fixture(scope="module")
def sample(tmp_path_factory):
    """The sample house of the demo."""
    folder = tmp_path_factory.mktemp("demo") / "quillmere"
    here("demo", folder).done()
    return Desk(folder / "quillmere.pourbook", here)


@pytest.fixture(scope="module")
def rich(tmp_path_factory):
    """Pending strengths, gains nobody explains, a return, colouring, a heel, an empty cask, corrections, holds."""
    path = tmp_path_factory.mktemp("rich") / "house.pourbook"
    with House(path) as house:
        house.open("C1", ref="Row 1/01", wood="virgin chestnut")
        house.fill("C1", "200 l", "63.5", spirit="malt spirit", wood_days=0)
        house.open("C2", ref="Row 1/02")
        house.fill("C2", "180 l", "58", spirit="grain spirit", pending=True)
        house.open("C3")
        house.open("L2", ref="Lot 2")
        house.gauge("C3", "1 l", "60")
        house.draw("C1", "V1", "500 ml")
        house.pour("V1", "T1", "70 ml")
        house.pour("C1", "L2", "7 l", verb="bottle", bottles=10)
        house.pour("C1", "B1", "50 l")
        house.dump("C2", "B1")
        house.pour("water", "B1", "10 l")
        house.pour("B1", "L1", "70 l", verb="bottle", bottles=100)
        house.hold("C1")
        (spare,) = house.note("C1", "bung replaced").numbers
    desk = Desk(path, here)
    for line in (
        "despatch 'Lot 2' 6 --customer 'Harbour Row'",
        "return 'Lot 2' 2 --customer 'Harbour Row'",
        "gauge 'Row 1/01' --amount '142 l' --strength 63.1",
        f"void {spare} --reason 'entered twice'",
    ):
        desk.does(line)
    return desk


def items(desk):
    """Every item on hand, and one that is empty."""
    return [row["id"] for row in desk.asks("stock")["items"]]


@pytest.mark.parametrize("house", ["sample", "rich"])
def test_every_reading_verb_answers_as_its_schema_says(house, request, tmp_path):
    """All items, back and forward, by every basis, with and without options."""
    desk = request.getfixturevalue(house)
    check("stock", desk.asks("stock"))
    check("stock", desk.asks("stock --at 1990-01-01"))
    check("journal", desk.asks("journal"))
    check("verify", desk.asks("verify"))
    check("journal-hash", desk.asks("journal-hash"))
    check("backup", desk.asks(f"backup {tmp_path / 'copy'}"))
    check("restore", desk.asks(f"restore {tmp_path / 'copy'} {tmp_path / 'again'}"))
    check("move-book", desk.asks(f"move {tmp_path / 'copy'} {tmp_path / 'moved'}"))
    check("repair", desk.asks("repair"))
    check("verify", desk.asks(f"verify --against {tmp_path / 'copy'}"))
    for item in items(desk):
        check("show", desk.asks(f"show {item} --history"))
        check("show", desk.asks(f"show {item} --at 1990-01-01"))
        check("trace", desk.asks(f"trace {item} --forward --by volume"))
        back = desk.asks(f"trace {item} --by mass --at 2999-12-30")
        check("trace", back)
        for origin in back["origins"]:
            check("trace-why", desk.asks(f"trace {item} --by mass --why {origin['entry']}"))


@pytest.mark.parametrize("lines", [*ASKED.strip().splitlines(), *RECORDED.strip().split("\n\n")])
def test_answers_in_the_sample_house_are_as_their_schemas_say(lines, sample, tmp_path):
    """Every other answer with a schema, each case in a copy of the house."""
    desk = Desk(shutil.copy(sample.book, tmp_path / "copy.pourbook"), here)
    for line in lines.format(data=SAMPLE_DATA, folder=tmp_path).splitlines():
        answer, command = named(line)
        command, _, typed = command.partition(" < ")
        document = desk.asks(command, typed)
        if answer:
            check(answer, document)


def test_figures_of_official_tables_are_in_the_schema(tmp_path):
    """Those that the house has loaded (27 CFR 30.66)."""
    tables = tmp_path / "tables.csv"
    tables.write_text("table,proof,temperature_f,value\n4 wine,190,,0.14718\n4 proof,190,,0.27964\n", "utf-8")
    found = here("convert", "--mass", "100 lb", "--proof", 190, "--tables", tables, "--json").done().json
    assert {one["official"] for one in found["official"].values()} != {None}
    check("convert", found)


def test_a_refused_import_is_a_document_too(sample, tmp_path):
    """With faults alone, and with headings of which something must be said."""
    (tmp_path / "casks.csv").write_text("ref,quantity\nQ 901,four\n", "utf-8")
    (tmp_path / "own.csv").write_text("Fass Nr.,Filled,Seen\nQ 901,04/03/2019,yes\n", "utf-8")
    for name, to_say in (("casks", []), ("own", ["Fass Nr.", "Filled", "Seen"])):
        ran = sample(f"import casks {tmp_path}/{name}.csv --json")
        assert ran.status == 1
        check("import-refused", ran.json)
        assert [one["heading"] for one in ran.json["to_say"]] == to_say


def test_a_plan_that_time_was_too_short_for_is_a_document_too():
    """The bound, and nothing else."""
    files = (SAMPLE_DATA / "plan.toml", "--casks", SAMPLE_DATA / "plan_casks.csv")
    ran = here("plan", *files, "--seconds", "0.000001", "--json")
    assert ran.status == 1
    check("plan-out-of-time", ran.json)


def test_why_there_is_no_plan_is_a_document_too(tmp_path):
    """The demands in conflict, and what would do instead of each."""
    recipe = (SAMPLE_DATA / "plan.toml").read_text("utf-8")
    (tmp_path / "small.toml").write_text(re.sub(r"vat_l = \S+", "vat_l = 10", recipe), "utf-8")
    ran = here("plan", tmp_path / "small.toml", "--casks", SAMPLE_DATA / "plan_casks.csv", "--json")
    assert ran.status == 1
    check("plan-none", ran.json)


def test_every_published_schema_is_held_to_an_answer():
    """None is published that no command is checked against."""
    checked = {named(line)[0] for line in (ASKED + RECORDED).splitlines()} - {""}
    assert READ | POURED | OF_GROUPS | REFUSED | checked == set(here("schema").done().out.split())


def test_a_damaged_book_is_a_document_too(rich, tmp_path):
    """Faults found, and a history that differs."""
    copy = tmp_path / "copy.pourbook"
    rich.does(f"backup {copy}")
    number, journal_hash = rich.asks("journal-hash").values()
    wrong = here("verify", "--against", f"{number}:{'0' * 64}", "--json", book=copy)
    assert wrong.status == 1
    check("verify", wrong.json)
    with closing(sqlite3.connect(copy)) as changed, changed:
        changed.execute("UPDATE ledger SET mass = mass + 1")
    damaged = here("verify", "--against", f"{number}:{journal_hash}", "--json", book=copy)
    assert damaged.status == 1
    assert damaged.json["faults"]
    check("verify", damaged.json)


def test_schemas_are_listed_and_an_unknown_one_is_refused():
    """Names, one a line."""
    listed = here("schema").done().out.split()
    assert {"journal", "journal-hash", "show", "stock", "trace", "trace-why", "verify"} <= set(listed)
    for answer in listed:
        jsonschema.Draft202012Validator.check_schema(schema(answer))
    ran = here("schema", "weather")
    assert ran.status == 1
    assert "has no schema" in ran.err
    assert "choose one of: " in ran.err


def test_a_group_answers_as_its_schemas_say(tmp_path):
    """Less than was sent, what nobody sent, and the same numbers and names at both sites."""
    paths = [tmp_path / f"{site}.pourbook" for site in "ab"]
    for path, lines in zip(paths, (
        ("cask 'Q 1' --fill '200 l' --strength 60", "despatch 'Q 1' '50 l' --site B --document 'D 1'"),
        ("cask 'Q 1'", "fill 'Q 1' '48 l' --strength 61 --from-site A --document 'D 1'",
         "fill 'Q 1' '9 l' --strength 60 --from-site A --document 'D 2'"),
    ), strict=True):  # fmt: skip
        here("create", path, "--house", "Quillmere", "--site", path.stem, "--numbers", "1-99999").done()
        for line in lines:
            Desk(path, here).does(line)
    desk = Desk(tmp_path / "group.pourbook", here)
    joined = here("group", "join", desk.book, *paths, "--json").done().json
    assert {one["kind"] for one in joined["differences"]} == {"amount", "strength", "no despatch", "shared", "ranges"}
    check("group-join", joined)
    check("group-sites", desk.asks("group sites"))
    check("group-differences", desk.asks("group differences"))
    check("journal", desk.asks("journal"))
    check("trace", desk.asks("trace C-000001-H --forward"))
    check("affected", desk.asks("affected --item C-000001-H"))
