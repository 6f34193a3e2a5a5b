"""The sample house: from its files to a traced bottle lot, by the same verbs anybody types.

Every step prints one sentence, the command as it can be typed, and the first lines of its answer.
Nothing is prepared beforehand: what is shown is what the verbs answered.
"""

import io
import shlex
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from pathlib import Path

import click

from pourbook.errors import PourbookError, StoreError
from pourbook.shipped import shipped

__all__ = ["demo_verb"]

BOOK = "quillmere.pourbook"
_LINES = 9


class _Story:
    """Runs verbs in this process and tells what they answered."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.book = folder / BOOK

    def say(self, sentence: str) -> None:
        """One sentence of the story."""
        click.echo(f"\n{sentence}")

    def run(self, *words: str, lines: int = _LINES, status: int = 0) -> list[str]:
        """Run a verb; its answer, line by line."""
        from pourbook.cli.main import cli

        shown = [self._shortened(word) for word in words]
        click.echo(click.style(f"  $ pourbook {shlex.join(shown)}", bold=True))
        answer = io.StringIO()
        with redirect_stdout(answer), _quiet():
            found = cli.main(["--book", str(self.book), *words], standalone_mode=False)
        if (found or 0) != status:
            raise StoreError(f"the demo's '{words[0]}' ended with status {found}", "please report this")
        said = answer.getvalue().splitlines()
        for line in said[:lines]:
            click.echo(f"    {line}")
        if len(said) > lines:
            click.echo(f"    … {len(said) - lines} more lines")
        return said

    def _shortened(self, word: str) -> str:
        """A path as it is read from inside the demo's folder."""
        for base, name in ((self.folder, ""), (shipped("sample_data"), "sample_data/")):
            if word.startswith(str(base)):
                return name + word[len(str(base)) :].lstrip("/\\")
        return word

    def file(self, name: str) -> str:
        """Where a file of the demo goes."""
        return str(self.folder / name)


@contextmanager
def _quiet() -> Iterator[None]:
    """Notes and cautions go to standard error; the story shows the caution once, at its end."""
    with io.StringIO() as nowhere:
        from contextlib import redirect_stderr

        with redirect_stderr(nowhere):
            yield


@click.command("demo")
@click.argument("folder", type=click.Path(path_type=Path), default=Path("quillmere"))
def demo_verb(folder: Path) -> None:
    """Build the Quillmere sample house in FOLDER (./quillmere) and show the whole way.

    Everything in it is invented. Refused if the folder exists.

    \b
    Example:
      pourbook demo
      pourbook demo somewhere/else
    """
    if folder.exists():
        raise StoreError(f"'{folder}' exists already", "name another folder, or remove it: it is only the demo")
    try:
        folder.mkdir(parents=True)
    except OSError as error:
        raise StoreError(f"'{folder}' cannot be made: {error.strerror}", "name a folder you may write in") from error
    story = _Story(folder)
    try:
        _take_in(story)
        vials = _at_the_bench(story)
        lot = _vat_and_bottle(story, vials)
        _number_for_the_trade(story, lot)
        _trace(story, lot)
        _end(story, lot)
    except PourbookError as refusal:
        raise StoreError(f"the demo stopped: {refusal.message}", refusal.remedy) from refusal


def _take_in(story: _Story) -> None:
    data = shipped("sample_data")
    story.say("Quillmere keeps its casks in spreadsheets. A book is made, and twelve years of history come in.")
    story.run(
        "create", str(story.book), "--house", "Quillmere", "--who", "Maud Aldane",
        "--set", "zone=Europe/London", "--set", "currency=GBP",
    )  # fmt: skip
    story.run("import", "history", str(data / "history"), "--who", "Maud Aldane")
    story.run("import", "gauges", str(data / "gauges.csv"), "--who", "Maud Aldane")
    story.run("import", "casks", str(data / "casks.csv"), "--who", "Maud Aldane")
    story.run("stock", "--kind", "cask", lines=6)


def _at_the_bench(story: _Story) -> list[str]:
    story.say("Four casks are sampled; each vial gets a label that a scanner reads.")
    drawn = []
    for number, (cask, strength) in enumerate(
        (("Q 106", "60.3"), ("Q 205", "60.0"), ("Q 206", "60.2"), ("Q 204", "61.2")), start=1
    ):
        drawn += story.run(
            "draw", cask, "250 ml", "--strength", strength, "--ref", f"S 26-{number:02d}",
            "--when", f"2026-06-02T10:{number * 7:02d}", "--who", "Isla Farrow",
        )  # fmt: skip
    story.run("label", *drawn, "--template", "vial-roll-30x15", "-o", story.file("vial-labels.pdf"))

    story.say(
        "A blend is composed: chestnut is rich, so it is held to a few parts in a hundred. The bench sheet is printed."
    )
    base, apple, marsala, chestnut = drawn
    first = story.run(
        "trial", "--recipe", "Orchard 26", "--part", f"{base}=60:base", "--part", f"{apple}=28:finish",
        "--part", f"{marsala}=8:finish", "--part", f"{chestnut}=4:accent", "--total", "100 ml", "--ref", "Trial 26-A",
        "--name", "Orchard, richer", "--when", "2026-06-03T09:00", "--who", "Pankracy Wiżbor",
    )[0]  # fmt: skip
    story.run("sheet", first, "-o", story.file("bench-sheet.pdf"))
    _pour(story, first, (base, "60"), (apple, "28"), (marsala, "8"), (chestnut, "4"), at="2026-06-03T10:00")

    story.say("The chestnut shouts; it is halved in a second trial, and the two are compared.")
    second = story.run(
        "trial", "--recipe", "Orchard 26, second", "--part", f"{base}=61:base", "--part", f"{apple}=29:finish",
        "--part", f"{marsala}=8:finish", "--part", f"{chestnut}=2:accent", "--total", "100 ml", "--ref", "Trial 26-B",
        "--name", "Orchard, quieter", "--revised-from", first, "--when", "2026-06-03T11:00",
        "--who", "Pankracy Wiżbor", lines=1,
    )[0]  # fmt: skip
    _pour(story, second, (base, "61"), (apple, "29"), (marsala, "8"), (chestnut, "2"), at="2026-06-03T11:30")
    story.run("compare", first, second)
    return [second, *drawn]


def _pour(story: _Story, trial: str, *pours: tuple[str, str], at: str) -> None:
    words = [word for pair in pours for word in pair]
    story.run("pour", trial, *words, "--when", at, "--who", "Isla Farrow", lines=3)


def _vat_and_bottle(story: _Story, bench: list[str]) -> str:
    trial = bench[0]
    story.say("Guests choose the second. It is scaled to real casks, on the heel of the last vatting, and reduced.")
    batch = story.run(
        "scale-up", trial, "--total", "260 l", "--heel", "Vatting 2=all", "--to", "46", "--record",
        "--ref", "Vatting 3",
        "--name", "Orchard 2026", "--when", "2026-06-22T09:00", "--who", "Pankracy Wiżbor",
    )[0]  # fmt: skip
    story.run(
        "gauge", batch, "--amount", "328.6 l", "--strength", "46.1", "--temperature", "15.5",
        "--instrument", "dip rod 2, density meter 1", "--when", "2026-06-24T09:00", "--who", "Isla Farrow",
    )  # fmt: skip
    lot = story.run(
        "bottle", batch, "--count", "420", "--size", "700 ml", "--ref", "Lot 2026-1", "--lot-mark", "L26-175",
        "--loss", "filter=1.4 l", "--loss", "line=0.9 l", "--when", "2026-06-24T14:00", "--who", "Isla Farrow",
    )[0]  # fmt: skip
    story.run(
        "despatch", lot, "120", "--customer", "Harbour Row Wines (invented)", "--document", "DN 2214",
        "--when", "2026-07-06T11:00", "--who", "Maud Aldane",
    )  # fmt: skip
    story.run(
        "label",
        lot,
        "--template",
        "lot-carton-roll-100x60",
        "--count",
        "6 × 700 ml",
        "-o",
        story.file("carton-label.pdf"),
    )
    story.run("label", "Q 204", "Q 205", "Q 206", "--template", "sheet-a4-8-99x68", "-o", story.file("cask-labels.pdf"))
    return lot


def _number_for_the_trade(story: _Story, lot: str) -> None:
    story.say(
        "For the trade, bottles and cases get GS1 numbers. The prefix is of the range that GS1 keeps for examples; a"
        " house has its own."
    )
    story.run("house", "--set", "company_prefix=9521234")
    story.run("gtin", lot, "--item", "567", "--case-indicator", "1")
    first, _ = story.run("cases", lot, "--count", "2", "--bottles", "6")
    story.run("label", first, "--template", "case-sscc-roll-105x148", "-o", story.file("case-label.pdf"))
    story.run("read", story.file("case-label.pdf"), lines=6)


def _trace(story: _Story, lot: str) -> None:
    story.say("An auditor asks which casks are in a bottle of the lot, and in what part.")
    story.run("trace", lot, lines=60)
    story.say("And, should one cask fall under suspicion, where all of it went.")
    story.run("trace", "Q 206", "--forward", lines=30)
    story.run("dossier", lot, "-o", story.file("dossier.pdf"))


def _end(story: _Story, lot: str) -> None:
    story.say("The book checks itself: every hash, and every table against the journal.")
    story.run("verify")
    story.say(f"The files are in {story.folder}:")
    for path in sorted(story.folder.iterdir()):
        if path.suffix in (".pdf", ".pourbook"):
            click.echo(f"    {path.name:24} {path.stat().st_size / 1024:7.0f} KB")
    click.echo(f"\nGo on with:  pourbook --book {story.book} trace {lot} --pours")
    click.echo(
        "Everything here is invented. Figures are working figures; the legal gauge, the label and the duty return\n"
        "follow the local authority and licensed practice. Vapour of strong spirit ignites at room temperature."
    )
