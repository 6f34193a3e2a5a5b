"""The sample house: from its files to a traced bottle lot, by the same verbs that anybody types.

Every step prints one sentence, the command as it can be typed, and the first lines of its answer.
Nothing is prepared beforehand: what is shown is what the verbs answered.
"""

import io
import re
import shlex
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import click

from pourbook.errors import PourbookError, StoreError
from pourbook.shipped import shipped

__all__ = ["demo_verb"]

BOOK = "quillmere.pourbook"
_LINES = 9
_COMMAND = re.compile(r"\$(?P<lines>\d*) (?:(?P<name>[a-z]+) = )?(?P<words>.*)")

STORY = """
Quillmere keeps its casks in spreadsheets. Create a book, and import twelve years of history.
$ create {book} --house Quillmere --who "Maud Aldane" --set zone=Europe/London --set currency=GBP
$ import history {data}/history --who "Maud Aldane"
$ import gauges {data}/gauges.csv --who "Maud Aldane"
$ import casks {data}/casks.csv --who "Maud Aldane"
$6 stock --kind cask

Four casks are sampled; each vial gets a label that a scanner reads.
$ base = draw "Q 106" "250 ml" --strength 60.3 --ref "S 26-01" --when 2026-06-02T10:07 --who "Isla Farrow"
$ quince = draw "Q 205" "250 ml" --strength 60.0 --ref "S 26-02" --when 2026-06-02T10:14 --who "Isla Farrow"
$ fortified = draw "Q 206" "250 ml" --strength 60.2 --ref "S 26-03" --when 2026-06-02T10:21 --who "Isla Farrow"
$ mulberry = draw "Q 204" "250 ml" --strength 61.2 --ref "S 26-04" --when 2026-06-02T10:28 --who "Isla Farrow"
$ label {base} {quince} {fortified} {mulberry} --template vial-roll-30x15 -o {folder}/vial-labels.pdf

A blend is composed. Mulberry wood is strong: a few parts in a hundred are enough. The bench sheet is printed.
$ first = trial --recipe "Ostrewick 26" --part {base}=55:base --part {quince}=26:finish --part {fortified}=13:finish \
 --part {mulberry}=6:accent --total "100 ml" --ref "Trial 26-A" --name "Ostrewick, richer" --when 2026-06-03T09:00 \
 --who "Pankracy Wiżbor"
$ sheet {first} -o {folder}/bench-sheet.pdf
$3 pour {first} {base} 55 {quince} 26 {fortified} 13 {mulberry} 6 --when 2026-06-03T10:00 --who "Isla Farrow"

That is too much mulberry. A second trial has half of it, and the two are compared.
$1 second = trial --recipe "Ostrewick 26, second" --part {base}=57:base --part {quince}=27:finish \
 --part {fortified}=13:finish --part {mulberry}=3:accent --total "100 ml" --ref "Trial 26-B" \
 --name "Ostrewick, lighter" --revised-from {first} --when 2026-06-03T11:00 --who "Pankracy Wiżbor"
$3 pour {second} {base} 57 {quince} 27 {fortified} 13 {mulberry} 3 --when 2026-06-03T11:30 --who "Isla Farrow"
$ compare {first} {second}

The second trial is chosen. It is scaled up to casks, on the heel of the last vatting, and reduced.
$ batch = scale-up {second} --total "260 l" --heel "Vatting 2=all" --to 48.4 --record --ref "Vatting 3" \
 --name "Ostrewick 2026" --when 2026-06-22T09:00 --who "Pankracy Wiżbor"
$ gauge {batch} --amount "312.6 l" --strength 48.3 --temperature 15.5 --instrument "dip rod 2, density meter 1" \
 --when 2026-06-24T09:00 --who "Isla Farrow"
$ lot = bottle {batch} --count 420 --size "700 ml" --ref "Lot 2026-1" --lot-mark L26-175 --loss "filter=1.4 l" \
 --loss "line=0.9 l" --when 2026-06-24T14:00 --who "Isla Farrow"
$ despatch {lot} 120 --customer "Harbour Row Wines (invented)" --document "DN 2214" --when 2026-07-06T11:00 \
 --who "Maud Aldane"
$ label {lot} --template lot-carton-roll-100x60 --count "6 × 700 ml" -o {folder}/carton-label.pdf
$ label "Q 204" "Q 205" "Q 206" --template sheet-a4-8-99x68 -o {folder}/cask-labels.pdf

For the trade, bottles and cases get GS1 numbers. This prefix is one of those for examples.
$ settings --set company_prefix=9521234
$ gtin {lot} --item 567 --case-indicator 1
$ case = cases {lot} --count 2 --bottles 6
$ label {case} --template case-sscc-roll-105x148 -o {folder}/case-label.pdf
$6 read {folder}/case-label.pdf

An auditor asks which casks are in a bottle of the lot, and in what proportions.
$60 trace {lot}

One cask is suspect: where did all of it go?
$30 trace "Q 206" --forward
$ dossier {lot} -o {folder}/dossier.pdf

What was found in the glasses is remembered in the house's own words, and seen from the cask.
$ import words {data}/words.csv --who "Maud Aldane"
$ taste {first} --nose "quince 3, resin 4" --middle "oak 4, resin 4" --finish "bitter 3, oak 4; dries out" \
 --seconds 40 --too-much "mulberry wood" --score 61 --when 2026-06-03T10:30 --who "Pankracy Wiżbor"
$ taste {second} --nose "quince 4, honey 2" --middle "raisin 3, oak 2" --finish "oak 2, resin 1; long, clean" \
 --seconds 55 --score 84 --when 2026-06-03T12:00 --who "Pankracy Wiżbor"
$ tastings --about "Q 204"

The book checks itself: every hash, and every table against the journal.
$ verify
"""
"""Sentences, and commands behind `$`: how many lines of the answer are shown, and the name of its first line."""


@click.command("demo")
@click.argument("folder", type=click.Path(path_type=Path), default=Path("quillmere"))
def demo_verb(folder: Path) -> None:
    """Build the sample house Quillmere in FOLDER (./quillmere): from casks to a traced bottle lot.

    Everything in it is invented. Refused if the folder exists.

    \b
    Example:
      pourbook demo
      pourbook demo somewhere/else
    """
    if folder.exists():
        raise StoreError(f"'{folder}' already exists", "name another folder, or remove it if it is only the demo")
    try:
        folder.mkdir(parents=True)
    except OSError as error:
        raise StoreError(f"'{folder}' cannot be created: {error.strerror}", "name a folder you may write in") from error
    names = {"folder": str(folder), "book": f"{folder}/{BOOK}", "data": str(shipped("sample_data"))}
    try:
        for line in STORY.splitlines():
            if command := _COMMAND.fullmatch(line):
                words = [word.format(**names) for word in shlex.split(command["words"])]
                answer = _run(names, words, int(command["lines"] or _LINES))
                names |= {command["name"]: answer[0]} if command["name"] else {}
            elif line:
                click.echo(f"\n{line}")
    except PourbookError as refusal:
        raise StoreError(f"the demo stopped: {refusal.message}", refusal.remedy) from refusal
    _end(folder, names)


def _run(names: dict[str, str], words: list[str], most: int) -> list[str]:
    """Run a verb in this process, show the command and the first lines of its answer; all of them come back."""
    from pourbook.cli.main import cli

    typed = [word.replace(names["folder"] + "/", "").replace(names["data"], "sample_data") for word in words]
    click.echo(click.style(f"  $ pourbook {shlex.join(typed)}", bold=True))
    answer = io.StringIO()
    # Notes and cautions go to standard error; the story shows the caution once, at its end.
    with redirect_stdout(answer), redirect_stderr(io.StringIO()):
        status = cli.main(["--book", names["book"], *words], standalone_mode=False)
    if status:
        raise StoreError(f"the demo's '{words[0]}' ended with status {status}", "please report this")
    said = answer.getvalue().splitlines()
    for line in said[:most]:
        click.echo(f"    {line}")
    if len(said) > most:
        click.echo(f"    … {len(said) - most} more lines")
    return said


def _end(folder: Path, names: dict[str, str]) -> None:
    click.echo(f"\nThe files are in {folder}:")
    for path in sorted(folder.iterdir()):
        if path.suffix in (".pdf", ".pourbook"):
            click.echo(f"    {path.name:24} {path.stat().st_size / 1024:7.0f} KB")
    click.echo(f"\nNext:  pourbook --book {names['book']} station")
    click.echo(f"or:    pourbook --book {names['book']} trace {names['lot']} --pours")
    click.echo(
        "Everything here is invented. Figures are working figures; the legal gauge, the label and the duty return\n"
        "follow the local authority and licensed practice. Vapour of strong spirit ignites at room temperature."
    )
