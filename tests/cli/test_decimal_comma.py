"""A house that writes 12,5: every option that takes a figure takes it so, in the book and at the calculators."""

import re
import shlex
import shutil

import click
import pytest
from command import here

from pourbook.cli.main import VERBS, cli

FIGURES = {
    "AMOUNT", "BATCH=AMOUNT", "CM", "DISPOSITION=AMOUNT", "EXTRACT", "FOUND", "INSTRUMENT", "ITEM=PARTS", "LITRES",
    "MASS", "MM", "NAME=PARTS", "NUMBER", "PAIRS", "PERCENT", "RANGE", "READING", "RISK", "RULE", "SHARE",
    "STRENGTH",
    "STRENGTH[+EXTRACT][=AMOUNT]", "TEMPERATURE", "VOLUME", "WEIGHT", "[NAME=]INSTRUMENT",
}  # fmt: skip
"""What options that take figures call them in their help."""

GROUPS = ("blending", "bottling", "import", "key", "mixture", "panel", "session", "stocktake", "uncertainty")
"""Verbs of several."""

WHOLE_NUMBERS = {("gauge", "--instrument"), ("printer", "--dpi")}
"""Names and counts of dots: options that are called so, and take no decimals."""

AT_THE_BOOK = """
cask 'Q 9' --capacity 225,5 --fill '220,5 l' --strength '63,5' --temperature 14,5 --cost 12,5
fill 'Q 2' '10,5 l' --strength '63,5' --temperature 14,5 --cost 12,5
vial '200,5 ml' --strength '61,5' --temperature 14,5 --cost 12,5 --supplier 'Corran Vale'
rack 'Q 1' 'Q 2' '10,5 l' --strength '61,5' --temperature 12,5 --confirm
reduce 'Vatting 1' --water '1,5 l' --water-temperature 12,5
sheet 'Vatting 3' --temperature 12,5
gauge 'Q 1' --amount '198,5 l' --strength '61,2' --extract '3,1 g/l' --temperature 12,5
gauge 'Q 1' --gross '221,4 kg' --tare '43,1 kg' --hydrometer 59,8 --sample-temperature 14,5
gauge 'Q 1' --density 905,1
gauge 'Q 1' --dip '19,5' --vessel 'Vat 1'
gauge 'Q 1' --meter '512,4 l' --meter-start '312,4 l'
draw 'Q 1' '250,5 ml' --returned '50,5 ml' --strength 61,5 --temperature 13,5
draw --each '200,5 ml'
loss 'Q 1' '3,5 l' --kind evaporation --strength 70,5 --temperature 13,5
despatch 'Q 1' '3,5 l' --customer 'Corran Vale' --temperature 13,5
pour 'Trial 1' 'Q 1' '7,5 ml' --strength 61,5 --temperature 13,5 --received '7,4 ml'
recipe 'Ostrewick' --part 'Q 1=92,5:base' --part 'water=7,5'
recipe 'Kept' --part 'Q 1=92,5 in 90,5..95 fixed' --part 'water=7,5' --ratio 'water:Q 1'
trial --part 'Q 1=92,5' --part 'water=7,5' --total '100,5 ml'
component 'Ash base' --wood ash --bounds '0,5..85,5'
settings --set role.rich=0,5..15,5 --set most_of_one=85,5
blending open Abend --recipe Tisch --guest A --guest B --blend '10,5 ml' --glass '2,5 ml' --to 21,5
blending compose Abend2 --guest A --called Eins --part 'Q 1=92,5' --part 'Vatting 1=7,5'
near --part 'Q 1=92,5' --part 'water=7,5'
trial --list --score '70,5..'
trial --part 'Q 1=92,5 in 90,5..95' --total '100,5 ml' --to 45,5
scale-up 'Trial 1' --total '10,5 l' --to 46,5
ahead 'Trial 1' --bottles '10 x 0,7 l' --losses 2,5 --to 46,5 --years 2
ahead 'Trial 1' --final '10,5 l' --to 46,5 --losses 2,5 --tolerance 1,5 --years 2
scale-up 'Trial 1' --final '10,5 l' --to 46,5
scale-up 'Trial 1' --total '10,5 l' --heel 'Vatting 1=2,5 l'
scale-up 'Trial 1' --bottles '10 x 0,7 l' --losses 2,5 --to 46,5
plan 'Trial 1' --final '10,5 l' --to 45,5 --within 2,5 --tolerance 1,5 --losses 2,5 --heel 'Vatting 1=0,05 l' \
    --aim casks=1,5 --least-left '0,5 l' --least-taken '1,5 l' --vat '500,5 l' --least-strength 46,5 \
    --gauged-within 99000
uncertainty plan 'Vatting 4' --sure 97,5 --meter 'limit 0,2 %' --strength-within 0,25
reduce 'Vatting 1' --to 43,5 --via 44,5
dump 'Vatting 2' 'Q 1' --total '198,5 l' --strength 60,5 --temperature 13,5
bottle 'Vatting 1' --count 3 --size '0,7 l' --loss 'filter=0,5 l'
bottling begin 'Vatting 1' --size '0,7 l'
bottling add 'Lot R' --filled 3 --loss 'filter=0,5 l' --purge '1,5 l' --purge-back '0,5 l'
bottling fills 'Lot R' 700,5 699,5 --temperature 18,5
bottling fills 'Lot R' 1141,6 --tare '482,1 g'
bottling change 'Lot R' 'Q 1' --left '16,5 l' --temperature 14,5 --kind line --confirm
bottling end 'Lot R' --left '16,5 l' --temperature 14,5 --kind line --confirm
statements 'Vatting 1' --strength 46,5 --size '0,7 l'
taste 'Q 1' --nose 'pear 3,5, oak 2; shy' --first 'oak 2,5' --middle 'oak 1,5' --finish 'oak 0,5' --liking 6,5 \
    --score 82,5 --strength 23,5 --temperature 18,5 --amount '15,5 ml'
tastings --word 'pear >= 2,5' --score '80,5..' --liking '..6,5'
replace 2 --amount '200,5 l' --strength 61,5 --temperature 12,5 --reason misread
replace 2 --gross '221,4 kg' --tare '43,1 kg' --hydrometer 59,8 --sample-temperature 14,5 --reason misread
replace 2 --dip '19,5' --vessel 'Vat 1' --density 905,1 --extract '3,1 g/l' --reason misread
replace 2 --meter '512,4 l' --meter-start '312,4 l' --reason misread
instrument 'Meter 1' --kind 'flow meter' --unit l --mpe '0,5 %' --resolution 0,1 --factor 1,0023
vessel 'Vat 2' --capacity 1200,5 --table '0 12,5; 50 480; 100 962,5'
printer p-1 --address 'printer:9100' --dpi 300 --offset-x 0,5 --offset-y 0,5 --margins 1,5
account --from 2024-01-01 --to 2024-12-31 --declare 'half-up 0,1'
import epcis nothing.jsonld --strength 60,5
session plan --glass 'Q 1' --glass 'Vatting 1' --assessor 'Isla Farrow' --amount '15,5 ml' --to 21,5
session open May --glass 'Q 1' --glass 'Vatting 1' --assessor 'Isla Farrow' --amount '15,5 ml' --to 21,5
session ballot April --code 417 --liking 7,5 --score 81,5 --nose 'pear 2,5'
mixture vertices TABLES/bounds.csv --whole 1,0
mixture fit TABLES/glasses.csv --response pear --confidence 90,5
mixture drift TABLES/glasses.csv --response pear --noticed-by 12 --alpha 2,5 --chance 50,5 --confidence 90,5
mixture drift TABLES/glasses.csv --response pear --d-prime 0,5
mixture design TABLES/bounds.csv --whole 1,0 --glasses 3 --model linear --total '10,5 ml' --mark '0,5 ml'
mixture next TABLES/bounds.csv TABLES/glasses.csv --wish 'pear near 2,5' --whole 1,0
"""

READING = (
    "account", "ahead", "draw --each", "mixture fit", "mixture next", "mixture vertices", "near", "session plan",
    "statements", "tastings", "uncertainty plan",
)  # fmt: skip
"""What records nothing."""

GLASSES = """Q 1;Vatting 1;pear
1,0;0,0;1,5
0,5;0,5;3,5
0,75;0,25;2,5
0,9;0,1;2,0
0,6;0,4;3,1
0,8;0,2;2,2
"""

CALCULATORS = """
panel triangle --assessors 30 --correct 16
panel triangle --d-prime 1,5 --power 0,9
panel triangle --assessors 30 --alpha 0,04 --pd 0,25
panel duo-trio --d-prime 1,5 --power 0,9
panel duo-trio --assessors 30 --alpha 0,04 --pd 0,25
panel paired --d-prime 1,5 --power 0,9
panel paired --assessors 30 --alpha 0,04 --pd 0,25
panel three-afc --d-prime 1,5 --power 0,9
panel three-afc --assessors 30 --alpha 0,04 --pd 0,25
panel tetrad --d-prime 1,5 --power 0,9
panel tetrad --assessors 30 --alpha 0,04 --pd 0,25
density --strength 62,4 --temperature 14,5
density --mass-fraction 0,45
strength --density 900,1 --temperature 14,5
convert --mass '500,5 kg' --tare '0,5 kg' --strength 63,5 --temperature 14,5 --extract '2,5 g/l'
convert --volume '53,5 gal' --proof 124,5
hydrometer --reading 61,4 --temperature 14,5 --extract '12,5 g/l' --correction=-0,03 --thermometer-correction 0,05
obscuration --residue '0,125 g' --sample '25,5 ml' --apparent '86,8 proof'
obscuration --extract '12,5 g/l' --true 40,5
reduce --volume '1000,5 l' --strength 62,4 --to 46,5 --via 50,5 --water-temperature 9,5 --vat '1200,5 l'
reduce --mass '500,5 kg' --tare '0,5 kg' --proof 124,5 --to '92,5 proof' --extract '2,5 g/l' --temperature 14,5
reduce --volume '200,5 l' --strength 40,5 --to 43,5 --with-spirit 96,5
vatting --part 61,2 --part 45,5 --to 50,5 --total '500,5 l' --temperature 14,5
vatting --part '61,2=20,5 l' --part '45,5+2,5 g/l=10,5 l'
uncertainty figures --hydrometer 61,8 --instrument 'limit 0,1, division 0,1' --temperature 15,5 \
    --thermometer 'thermometer 0,5 C' --coverage-factor 1,5
uncertainty figures --strength 63,5 --instrument 'limit 0,05' --amount '180,4 l' --amount-instrument 'limit 0,5 %' \
    --amount-temperature 14,5
uncertainty figures --density 901,2 --instrument 'certificate 0,02' --extract '2,5 g/l'
label-strength --hydrometer 45,2 --instrument 'limit 0,1' --label 46,5 --temperature 17,5 \
    --thermometer 'thermometer 0,5 C'
label-strength --strength 46,05 --instrument 'limit 0,05' --label 46,1 --tolerance 0,35 --confidence 97,5 \
    --extract '2,5 g/l'
label-strength --density 942,9 --instrument 'certificate 0,02' --label 46,5
uncertainty difference 7,5 8,5 --instrument 'limit 0,05' --rest-instrument 'limit 0,5' --total '100,5 ml' \
    --coverage-factor 1,5
uncertainty trial-size 7,5 8,5 --instrument 'limit 0,05' --rest-instrument 'limit 0,5' --coverage-factor 1,5
uncertainty portions --part base=92,5 --part peat=7,5 --total '100,5 ml' --instrument 'limit 0,5' \
    --instrument 'peat=limit 0,05' --coverage-factor 1,5
"""

TABLES = """
mixture design bounds.csv --glasses 4 --total '20,5 ml' --use 'ash=Q 1' --use 'birch=Vatting 1'
mixture fit tasted.csv --response pear --at ash=2,5 --at birch=7,5
mixture drift tasted.csv --response pear --noticed-by 12
panel rank ranks.csv
panel rank ranks.csv --alpha 0,1
plan plan.toml --casks planned.csv --seconds 9,5
panel repeated answers.csv --test triangle
panel repeated answers.csv --test triangle --alpha 0,1
"""


def lines(block):
    return [line for line in block.strip().splitlines() if line]


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """Two casks, two vattings, a vat and a trial of a house that writes 12,5."""
    path = tmp_path_factory.mktemp("comma") / "house.pourbook"
    here("create", path, "--house", "Quillmere", "--set", "decimal_mark=,").done()
    for line in lines("""
        cask 'Q 1' --capacity 225,5 --fill '200,5 l' --strength 61,5 --when 2024-01-01
        cask 'Q 2' --when 2024-01-01
        batch 'Vatting 1' --when 2024-01-01
        batch 'Vatting 2' --when 2024-01-01
        fill 'Vatting 1' '20,5 l' --strength 46,5 --when 2024-01-01
        vessel 'Vat 1' --table '0 0,5; 100 1000,5' --when 2024-01-01
        recipe Tisch --part 'Q 1=90' --part 'Vatting 1=10' --when 2024-01-01
        blending open Abend2 --recipe Tisch --guest A --guest B --blend '10 ml' --glass '2 ml' --when 2024-01-01
        trial --part 'Q 1=1' --total '100 ml' --ref 'Trial 1' --when 2024-01-01
        pour 'Trial 1' 'Q 1' '92,5 ml' --when 2024-01-01
        bottling begin 'Vatting 1' --size '0,7 l' --ref 'Lot R' --when 2024-01-01
        bottling add 'Lot R' --filled 5 --when 2024-01-02
        scale-up 'Trial 1' --total '10,5 l' --to 46,5 --open --ref 'Vatting 3' --when 2024-01-01
        plan 'Trial 1' --final '10,5 l' --to 45,5 --gauged-within 99000 --record --ref 'Vatting 4' --when 2024-01-01
        """):
        here(*shlex.split(line), book=path).done()
    (path.parent / "bounds.csv").write_text("component;lower;upper\nQ 1;0,5;1\nVatting 1;0;0,5\n")
    (path.parent / "glasses.csv").write_text(GLASSES)
    return path


def typed(line, book):
    """The words of a line, its tables beside the book."""
    return shlex.split(line.replace("TABLES", str(book.parent)))


@pytest.mark.parametrize("line", lines(AT_THE_BOOK))
def test_the_book_reads_figures_with_a_comma(book, line):
    """Whatever else there is to say of it, no figure is taken for one in another way of writing."""
    dry = () if line.startswith(READING) else ("--dry-run",)
    ran = here(*typed(line, book), *dry, book=book)
    assert "decimal mark" not in ran.err
    # a period that is not closed; no such file, no pour, no such session
    if not line.startswith(("account", "import", "replace", "session ballot")):
        assert ran.status == 0, ran.err


@pytest.mark.parametrize("line", lines(TABLES))
def test_tables_are_read_with_a_comma(book, tmp_path, monkeypatch, line):
    """Bounds, what was tasted, answers of a panel, and options that nobody typed."""
    monkeypatch.chdir(tmp_path)
    tasted = "".join(f"{ash / 10:.1f};{1 - ash / 10:.1f};{3 + ash % 3:.1f}\n" for ash in range(2, 9))
    for name, text in {
        "bounds.csv": "component;lower;upper\nash;0,2;0,8\nbirch;0,2;0,8\n",
        "tasted.csv": "ash;birch;pear\n" + tasted.replace(".", ","),
        "ranks.csv": "assessor;product;rank\nI;ash;1,5\nI;oak;1,5\nI;yew;3\nT;ash;1\nT;oak;2\nT;yew;3\n",
        "plan.toml": "[target]\nvolume_l = 90.5\nstrength_20c = 40.5\n[components.ash]\npart = 100\n",
        "planned.csv": "ref;component;volume_l_20c;strength_20c;hold\nQ 1;ash;90,5;60,5;\n",
        "answers.csv": "assessor;correct;answers\nI;3;4\nT;1;4\n",
    }.items():
        (tmp_path / name).write_text(text, "utf-8")
    here(*shlex.split(line), book=book).done()


@pytest.mark.parametrize("line", lines(CALCULATORS))
def test_a_calculator_reads_and_shows_figures_as_the_house_writes_them(book, line):
    """With a book named: the same figures as with points and without one."""
    said = here(*shlex.split(line), book=book)
    plain = here(*shlex.split(line.replace("limit 0,1, d", "limit 0.1; d").replace(",", ".").replace(";", ",")))
    assert (said.status, plain.status) == (0, 0), said.err + plain.err
    if " --json" not in line:
        digits = said.out.replace(",", "").replace(".", "")
        assert digits == plain.out.replace(",", "").replace(".", "")


def pointed(line):
    """The line as somebody types it who writes points."""
    return re.sub(r"(?<=\d),(?=\d)", ".", line)


@pytest.mark.parametrize("line", [line for line in lines(AT_THE_BOOK + CALCULATORS) if pointed(line) != line])
def test_a_point_is_refused_by_its_name_wherever_a_figure_is_typed(book, line):
    """Never 125 for 12.5: the same in every verb, the true cause, and how to write it."""
    ran = here(*typed(pointed(line), book), book=book)
    assert ran.status == 1
    assert "has a point, but the decimal mark here is a comma" in ran.err


def test_settings_and_facts_are_typed_and_shown_with_the_comma(book, tmp_path):
    """What the book keeps with a point is the house's own number on every screen."""
    copy = tmp_path / "copy.pourbook"
    shutil.copyfile(book, copy)
    here("settings", "--set", "sample_l=2,5", "--set", "air_kg_m3=1,15", book=copy).done()
    said = here("settings", book=copy).done()
    assert (said.out.count("2,5"), said.out.count("1,15")) == (1, 1)
    assert here("settings", "--json", book=copy).json["sample_l"] == "2.5"
    assert "has a point" in here("settings", "--set", "sample_l=2.5", book=copy).err
    here("bottle", "Vatting 1", "--count", "1", "--size", "0,7 l", "--ref", "L 1", book=copy).done()
    shown = here("show", "L 1", book=copy).done().out + here("show", "Q 1", book=copy).done().out
    assert "labelled strength: 46,50" in shown
    assert "capacity: 225,5 l" in shown


def test_every_option_that_takes_a_figure_is_tried():
    """An option added later, and read in another way, does not slip through."""
    tried = {
        (" ".join(words[:2]) if words[0] in GROUPS else words[0], word.partition("=")[0])
        for words in map(shlex.split, lines(AT_THE_BOOK) + lines(CALCULATORS) + lines(TABLES))
        for word in words
        if word.startswith("--")
    }
    verbs = {verb for group in VERBS.values() for verb in group}
    context = click.Context(cli)
    wanted = {
        (name, parameter.opts[0])
        for verb in verbs
        for name, command in commands(verb, cli.get_command(context, verb), context)
        for parameter in command.params
        if isinstance(parameter, click.Option) and parameter.metavar in FIGURES and parameter.type.name == "text"
    }
    assert len(wanted) > 100
    assert wanted - tried - WHOLE_NUMBERS == set()


def commands(name, command, context):
    if isinstance(command, click.Group):
        for verb in command.list_commands(context):
            yield from commands(f"{name} {verb}", command.get_command(context, verb), context)
    else:
        yield name, command


def test_one_is_not_several(book, tmp_path):
    """One bottle, one case: wherever a count is read aloud."""
    copy = tmp_path / "copy.pourbook"
    shutil.copyfile(book, copy)
    here("settings", "--set", "company_prefix=952123", book=copy).done()
    here("bottle", "Vatting 1", "--count", "1", "--size", "70 cl", "--ref", "L 1", book=copy).done()
    case = here("cases", "L 1", "--count", "1", "--bottles", "1", book=copy).done().out.split()[0]
    pallet = here("pallets", "L 1", "--cases", "1", "--bottles", "1", book=copy).done().out.split()[0]
    said = [here("scan", f"00{sscc}", book=copy).done().out for sscc in (case, pallet)]
    assert "a case of it: 1 bottle\n" in said[0]
    assert "a pallet of it: 1 case, 1 bottle\n" in said[1]
    said += [here(*words, book=copy).done().out for words in (("show", "L 1"), ("journal",), ("trace", "L 1"))]
    despatched = here("despatch", "L 1", "1", "--customer", "Corran Vale", book=copy).done()
    said += [despatched.out, here("journal", book=copy).done().out]
    refused = here("bottle", "Vatting 1", "--count", "1", "--size", "1000 l", "--confirm", book=copy)
    said.append(refused.err)
    assert not re.search(r"\b1 (bottles|cases)\b", "".join(said))
    assert refused.status == 1
