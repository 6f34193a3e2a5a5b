"""Labels a second on A4 sheets of 65, beside the bare cost of the same pages written by reportlab alone.

    PYTHONPATH=src python tests/benchmarks/label_rate.py [rounds] [labels …]

A label has a Data Matrix and four lines of text, and a line of caution. The bare pages carry the same
number of symbol corners and the same texts at the same places, but nothing is encoded, fitted, measured
or checked. With readback every page is rasterised at 300 dpi, and every symbol read twice. All are
run in turn; the median of the rounds, in seconds of the processor, is shown with its ratio to the bare
cost, which does not depend on the machine as the rates do. Memory is the most that a process of its
own held beyond the labels themselves and what it holds for a single sheet.
"""

import statistics
import subprocess
import sys
import time
from io import BytesIO
from pathlib import Path

from reportlab.pdfgen.canvas import Canvas

from pourbook import typefaces
from pourbook.labels import Label, Printout, labels_pdf
from pourbook.labels.reach import check_reach
from pourbook.labels.readback import read_back
from pourbook.labels.symbols import outlines, symbol
from pourbook.labels.templates import template

TEMPLATE = template("sheet-a4-65-38x21")


def labels(count: int) -> list[Label]:
    """Vials of an invented house, each with another code and name."""
    return [
        Label(
            "vial",
            f"V{n:06d}X",
            f"V-{n:06d}-X",
            ref=f"Cask {1000 + n}",
            name=f"Second-fill butt {n % 40}",
            strength=f"{55 + n % 90 / 10:.1f} % vol",
            date="2025-11-04",
            who="M. Okonjo",
        )
        for n in range(count)
    ]


def bare(made: list[Label]) -> bytes:
    """The same amount of ink straight to a canvas: one path of a symbol and five texts a label."""
    typefaces.register()
    sink = BytesIO()
    canvas = Canvas(sink, pagesize=(595, 842), invariant=1, pageCompression=1)
    corners = [[(c.x, c.y) for c in ring] for ring in outlines(symbol("data-matrix", "V000123X").rows)]
    for n in range(len(made)):
        x, y = 13 + 115 * (n % 5), 800 - 60 * (n // 5 % 13)
        path = canvas.beginPath()
        for ring in corners:
            path.moveTo(x + ring[0][0] * 1.4421, y - ring[0][1] * 1.4421)
            for across, down in ring[1:]:
                path.lineTo(x + across * 1.4421, y - down * 1.4421)
            path.close()
        canvas.drawPath(path, stroke=0, fill=1)
        texts = (
            (typefaces.CODE_BOLD, 12, f"V-{n:06d}-X"),
            (typefaces.SEMIBOLD, 9, f"Cask {1000 + n}"),
            (typefaces.SEMIBOLD, 8.5, f"Second-fill butt {n % 40}"),
            (typefaces.TEXT, 5.5, f"{55 + n % 90 / 10:.1f} % vol · drawn 2025-11-04 · M. Okonjo"),
            (typefaces.ITALIC, 6, "Strong spirit: vapour ignites"),
        )
        for line, (face, size, text) in enumerate(texts):
            canvas.setFont(face, size)
            canvas.drawString(x + 25, y - 10 * line, text)
        if n % 65 == 64:
            canvas.showPage()
    canvas.save()
    return sink.getvalue()


def seconds(work: object, *given: object) -> float:
    """How much of the processor one call takes, whatever else runs on the machine."""
    began = time.process_time()
    work(*given)  # type: ignore[operator]
    return time.process_time() - began


def drawn(made: list[Label]) -> bytes:
    """A run without readback."""
    return labels_pdf(made, TEMPLATE)


def checked(made: list[Label]) -> bytes:
    """A run as the command makes it."""
    printout = Printout(made, TEMPLATE)
    check_reach(printout)
    pdf = printout.pdf()
    read_back(pdf, printout)
    return pdf


WAYS = {"reportlab alone": bare, "drawn": drawn, "drawn and read back": checked}


def memory_mib(way: str, count: int) -> float:
    """What a run needs beyond a single sheet, in a process of its own."""
    command = [sys.executable, __file__, "memory", way, str(count)]
    return float(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


def _most_kib() -> int:
    """The most this process has held; not what it was before it became this program (as getrusage says)."""
    lines = Path("/proc/self/status").read_text("ascii").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM"))


def _say_memory(way: str, count: int) -> None:
    made = labels(count)
    WAYS[way](made[:65])
    before = _most_kib()
    WAYS[way](made)
    print((_most_kib() - before) / 1024)


def main() -> None:
    """Run all in turn and print rate, ratio, size and memory as Markdown."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    counts = [int(text) for text in sys.argv[2:]] or [1_000, 10_000]
    for make in WAYS.values():
        make(labels(65))
    print("| labels | | labels/s | ratio | file KiB | memory MiB |")
    print("|---|---|---|---|---|---|")
    for count in counts:
        made = labels(count)
        taken: dict[str, list[float]] = {way: [] for way in WAYS}
        for _ in range(rounds):
            for way, make in WAYS.items():
                symbol.cache_clear()
                outlines.cache_clear()
                taken[way].append(seconds(make, made))
        alone = statistics.median(taken["reportlab alone"])
        for way, make in WAYS.items():
            took = statistics.median(taken[way])
            size, memory = len(make(made)) / 1024, memory_mib(way, count)
            print(
                f"| {count} | {way} | {count / took:.0f} | {took / alone:.2f} | {size:.0f} | {memory:.0f} |", flush=True
            )


if __name__ == "__main__":
    if sys.argv[1:2] == ["memory"]:
        _say_memory(sys.argv[2], int(sys.argv[3]))
    else:
        main()
