"""A run of labels on its way: to a file, to a picture, or to a printer, with what the journal is told.

A file and its entry are both there or neither. What goes to a printer is recorded as far as it
came: labels that the printer has, the one of which nobody knows, and why it stopped.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from pourbook.book.entries import Paper
from pourbook.cli.door import Door
from pourbook.cli.label_runs import LabelRun
from pourbook.cli.output import show_json
from pourbook.cli.printing import record_and_write, target_of, write_whole
from pourbook.codes.identifiers import hyphened
from pourbook.errors import StoreError

if TYPE_CHECKING:
    from pourbook.labels.calibration import Calibration
    from pourbook.labels.label import Label
    from pourbook.labels.label_layout import Template
    from pourbook.labels.label_printers import Sent
    from pourbook.paperwork.house_printers import Printer

__all__ = ["PrintJob", "sent_to"]

_MOST_NAMED = 8


class PrintJob(NamedTuple):
    """A run that was drawn, and proof-read unless that was left out.

    Attributes:
        door: with the book.
        run: the labels, one of each, and what the journal is told of them.
        copies: of each label.
        template: of the labels.
        calibration: of the printer it was drawn for.
        pdf: the pages.
        proof: "read back", or "none".
        start: the first place used of the first sheet.
    """

    door: Door
    run: LabelRun
    copies: int
    template: "Template"
    calibration: "Calibration"
    pdf: bytes
    proof: str
    start: int

    @property
    def labels(self) -> "list[Label]":
        """Every label that is printed, in order."""
        return [label for label in self.run.labels for _ in range(self.copies)]

    def preview(self, output: Path, *, force: bool) -> None:
        """Pictures of the pages, one pixel to a dot; no print, so nothing is recorded."""
        from pourbook.labels.raster import pictures, png

        dpi, files = self.calibration.dpi, []
        for number, picture in enumerate(pictures(self.pdf, dpi), 1):
            named = output if number == 1 else output.with_stem(f"{output.stem}-{number}")
            files.append(target_of(named, "", force=force))
            if not self.door.options["dry_run"]:
                write_whole(files[-1], png(picture, dpi))
        if self.door.json:
            show_json({**self._facts(), "files": [str(file) for file in files], "preview": True})
            return
        click.echo(f"{_labels(len(self.labels))} to look at in {', '.join(map(str, files))}")
        click.echo("a preview is no print: nothing was recorded", err=True)

    def write(self, target: Path, printer: str | None) -> None:
        """Write the PDF and record it: both, or neither."""
        facts = self._facts() | {"file": target.name} | ({"printer": printer} if printer else {})
        recorded = record_and_write(self.door, self._paper(self.run, facts), target, self.pdf)
        self._tell(recorded, f"{_labels(len(self.labels))} in {target}", facts | {"file": str(target)})

    def send(self, printer: "Printer") -> None:
        """Send the labels, record as far as they came, and end with exit status 1 if that is not all.

        Raises:
            Refused: a sheet for a thermal printer.
            StoreError: the printer took nothing; nothing was recorded.
        """
        from pourbook.labels.thermal import check_roll

        facts = self._facts() | {"printer": printer.name}
        if printer.address:
            check_roll(self.template)
        if self.door.options["dry_run"]:
            words = f"{_labels(len(self.labels))} would go to {printer.name} ({printer.goes_to})"
            self._tell(self.door.record(self._paper(self.run, facts)), words, facts)
            return
        sent = sent_to(printer, self.pdf, self.labels, self.template)
        if not sent.sent + sent.doubtful:
            raise StoreError(f"nothing was printed: {sent.why}", "see to the printer, then print again")
        came = self.run.first(-(-(sent.sent + sent.doubtful) // self.copies))
        facts |= {"count": sent.sent} | ({} if sent.whole else self._stopped(sent))
        recorded = self.door.record(self._paper(came, facts))
        words = f"{_labels(sent.sent)} sent to {printer.name} ({printer.goes_to})"
        if sent.whole:
            self._tell(recorded, words, facts)
            return
        self._tell(recorded, words, facts | {"not_sent": self._left(sent)})
        self._say_what_is_left(sent)
        click.get_current_context().exit(1)

    # -- what is told ----------------------------------------------------------------------

    def _facts(self) -> dict[str, str | int]:
        dpi = self.calibration.dpi
        facts: dict[str, str | int] = {
            "template": self.template.name,
            "dpi": int(dpi) if dpi == int(dpi) else f"{dpi:g}",
            "count": len(self.labels),
            "proof": self.proof,
        }
        return facts | {name: value for name, value in (("start", self.start), ("copies", self.copies)) if value != 1}

    def _paper(self, run: LabelRun, facts: dict[str, str | int]) -> Paper:
        return Paper(run.paper, run.ids, facts | run.facts)

    def _tell(self, recorded: Any, said: str, facts: dict[str, Any]) -> None:  # noqa: ANN401
        from pourbook.paperwork.outside_marks import lacking

        notes = list(dict.fromkeys(why for label in self.run.labels for why in lacking(label, self.template)))
        again = sum(prints > 1 for prints in self.run.prints.values())
        if again and not self.door.options["reason"]:
            notes.append(f"{again} of them had been printed before; --reason keeps why")
        if self.proof == "none":
            notes.append("the labels were not proof-read")
        for note in notes:
            click.echo(f"note: {note}", err=True)
        ids = [label.code for label in self.run.labels]
        self.door.tell(recorded, said, ids=ids, prints=self.run.prints, notes=notes, **facts)

    def _stopped(self, sent: "Sent") -> dict[str, str | int]:
        """What the journal keeps of a run that was stopped."""
        doubtful = {"in_doubt": " ".join(self._keys(sent.sent, sent.sent + sent.doubtful))} if sent.doubtful else {}
        return {"of": len(self.labels), "stopped": sent.why, **doubtful}

    def _left(self, sent: "Sent") -> list[str]:
        return self._keys(sent.sent + sent.doubtful, len(self.labels))

    def _keys(self, first: int, end: int) -> list[str]:
        """Identifiers or SSCCs of some of the printed labels, each once."""
        keys = (self.run.keys[number // self.copies] for number in range(first, end))
        return list(dict.fromkeys(keys))

    def _say_what_is_left(self, sent: "Sent") -> None:
        click.echo(f"stopped: {sent.why}", err=True)
        doubtful, left = self._keys(sent.sent, sent.sent + sent.doubtful), self._left(sent)
        for words, keys in (("in doubt, printed or not", doubtful), ("not sent", left)):
            if keys:
                click.echo(f"  {words}: {_named(keys)}", err=True)
        click.echo("    do: look what came out, see to the printer, then print the rest", err=True)


def sent_to(printer: "Printer", pdf: bytes, labels: "list[Label]", template: "Template") -> "Sent":
    """Send a run to where a printer is reached."""
    from pourbook.labels.label_printers import media_of, send_to_port, send_to_queue
    from pourbook.labels.thermal import label_jobs

    if not printer.address:
        title = f"Labels: {template.title}"
        return send_to_queue(pdf, len(labels), printer.queue, title, media_of(template.stock))
    dpi, offset_mm, _ = printer.calibration
    jobs = label_jobs(pdf, labels, template, dpi, offset_mm, own_text=printer.own_text)
    return send_to_port(jobs, printer.address)


def _labels(count: int) -> str:
    return f"{count} label{'' if count == 1 else 's'}"


def _named(keys: list[str]) -> str:
    named = [key if key.isdecimal() else hyphened(key) for key in keys[:_MOST_NAMED]]
    more = f" and {len(keys) - _MOST_NAMED} more, to {keys[-1]}" if len(keys) > _MOST_NAMED else ""
    return ", ".join(named) + more
