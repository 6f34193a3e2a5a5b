"""Labels a second on A4 sheets of 65, beside the bare cost of the same pages written by reportlab alone.

    python tests/benchmarks/label_rate.py [labels] [rounds]

The bare pages carry the same number of symbol corners and the same texts at the same places,
but nothing is encoded, fitted, measured or checked. Both are run in turn, and the median of
the rounds is shown with their ratio, which does not depend on the machine as the rates do.
"""

import statistics
import sys
import time
import tracemalloc
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from pourbook import typefaces
from pourbook.labels import Label, labels_pdf
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


def bare(count: int) -> bytes:
    """The same amount of ink straight to a canvas: one path of a symbol and five texts a label."""
    typefaces.register()
    sink = BytesIO()
    canvas = Canvas(sink, pagesize=(595, 842), invariant=1, pageCompression=1)
    corners = [[(c.x, c.y) for c in ring] for ring in outlines(symbol("data-matrix", "V000123X").rows)]
    for n in range(count):
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
    """How long one call takes."""
    began = time.perf_counter()
    work(*given)  # type: ignore[operator]
    return time.perf_counter() - began


def main() -> None:
    """Run both in turn and print rate, ratio, size and memory."""
    count, rounds = (int(sys.argv[i]) if len(sys.argv) > i else default for i, default in ((1, 1000), (2, 5)))
    seconds(labels_pdf, labels(65), TEMPLATE)
    ours, theirs = [], []
    for _ in range(rounds):
        symbol.cache_clear()
        outlines.cache_clear()
        ours.append(seconds(labels_pdf, labels(count), TEMPLATE))
        theirs.append(seconds(bare, count))
    tracemalloc.start()
    size = len(labels_pdf(labels(count), TEMPLATE))
    peak = tracemalloc.get_traced_memory()[1]
    mine, alone = statistics.median(ours), statistics.median(theirs)
    print(f"labels {count / mine:8.0f} a second")
    print(f"bare   {count / alone:8.0f} a second")
    print(f"ratio  {mine / alone:8.2f} times the bare cost")
    print(f"file   {size / 1024:8.0f} KiB")
    print(f"memory {peak / 2**20:8.1f} MiB at the most")


if __name__ == "__main__":
    main()
