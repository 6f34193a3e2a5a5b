"""Make the pictures of README and DEVELOPERS: the first screen, labels, the shape of a trial, a family of trials,
pages of the station (in Chromium).

    python tests/pictures/make.py [first-screen] [labels] [shape] [family] [station]

Everything shown is what the demo printed, or what a run of labels would print; nothing is drawn by hand.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image, ImageDraw, ImageFont

from pourbook.codes.identifiers import KINDS, hyphened, is_issued, write
from pourbook.labels import Label, labels_pdf
from pourbook.labels.label_layout import Template
from pourbook.labels.media import Sheet
from pourbook.labels.templates import templates

HERE = Path(__file__).parent
FONTS = HERE.parents[1] / "src" / "pourbook" / "fonts"
FONT = FONTS / "DejaVuSansMono.ttf"
FACES = ("SourceSans3_600SemiBold.ttf", "SourceSans3_400Regular.ttf")
PAPER, INK, GROUND, SCREEN = "white", "#1d1d1f", "#e9e4da", "#16191d"


def page(path: Path, number: int, width: int) -> Image.Image:
    """A page of a PDF at a width in pixels."""
    document = pypdfium2.PdfDocument(path)
    sheet = document[number]
    scale = width / sheet.get_width()
    image: Image.Image = sheet.render(scale=scale * 2).to_pil().convert("RGB")
    document.close()
    return image.resize((width, round(image.height * width / image.width)), Image.Resampling.LANCZOS)


def terminal(lines: list[str], width: int) -> Image.Image:
    """Lines as a terminal shows them."""
    size = 15
    font = ImageFont.truetype(str(FONT), size)
    step = round(size * 1.36)
    image = Image.new("RGB", (width, step * len(lines) + 36), SCREEN)
    draw = ImageDraw.Draw(image)
    for number, line in enumerate(lines):
        colour = "#9fd3a8" if line.startswith("$") else "#e8e6e1"
        draw.text((20, 18 + number * step), line, font=font, fill=colour)
    return image


def framed(image: Image.Image) -> Image.Image:
    """With a hairline, so that white paper stands off."""
    box = Image.new("RGB", (image.width + 2, image.height + 2), "#b9b2a4")
    box.paste(image, (1, 1))
    return box


def first_screen() -> None:
    """A label, the bench sheet, the dossier and a trace of the demo."""
    with tempfile.TemporaryDirectory() as folder:
        run = [sys.executable, "-m", "pourbook"]
        told = subprocess.run([*run, "demo"], cwd=folder, capture_output=True, text=True, check=True).stdout
        lot = next(line.split()[-2] for line in told.splitlines() if line.endswith(" --pours"))
        house = Path(folder, "quillmere")
        trace = subprocess.run(
            [*run, "--book", str(house / "quillmere.pourbook"), "trace", lot],
            capture_output=True, text=True, check=True,
        ).stdout.splitlines()  # fmt: skip
        papers = [page(house / "bench-sheet.pdf", 0, 620), page(house / "dossier.pdf", 0, 620)]
        labels = [page(house / "vial-labels.pdf", 0, 420), page(house / "carton-label.pdf", 0, 420)]
    screen = terminal([f"$ pourbook trace {lot}", *trace], 830)
    height = max(paper.height for paper in papers) + 60
    labels_height = sum(label.height + 22 for label in labels)
    height = max(height, screen.height + 60, labels_height)
    whole = Image.new("RGB", (30 + 830 + 24 + 622 + 24 + 622 + 30, height + 30 + labels[1].height + 24), GROUND)
    whole.paste(framed(screen), (30, 30))
    whole.paste(framed(papers[0]), (884, 30))
    whole.paste(framed(papers[1]), (1530, 30))
    below = 30 + max(screen.height, *(paper.height for paper in papers)) + 24
    whole.paste(framed(labels[0]), (30, below))
    whole.paste(framed(labels[1]), (480, below))
    whole = whole.crop((0, 0, whole.width, below + max(label.height for label in labels) + 30))
    whole.save(HERE / "first-screen.png", optimize=True)


# -- a label of every template -------------------------------------------------------------------

WIDTH, GAP, CAPTION = 2200, 26, 34
PX_PER_MM = {False: 4.5, True: 9.0}
"""Of the picture, for labels and for small ones: a vial label would be a stamp beside a pallet's."""
SMALL_MM = 75.0

LOT = {
    "name": "Ostrewick 2026",
    "ref": "Lot 2026-1",
    "strength": "48.3 % vol",
    "date": "2026-06-24",
    "count": "6 × 700 mL",
    "number": "12 of 66",
    "lot_mark": "L26-175",
    "gtin": "9521234005674",
    "case_gtin": "19521234005671",
    "gs1_bottle": "(01)09521234005674 (11)260624",
    "gs1_case": "(01)19521234005671 (11)260624",
    "gs1_lot": "(10)L26-175",
    "gs1_unit": "(00)095212340000000013",
    "gs1_content": "(02)09521234005674 (37)6",
    "link": "https://id.gs1.org/01/09521234005674/10/L26-175",
    "case_link": "https://id.gs1.org/01/19521234005671/10/L26-175",
}
PALLET = LOT | {
    "count": "55 cases, 330 × 700 mL",
    "number": "1 of 2",
    "gs1_unit": "(00)095212340000000037",
    "gs1_content": "(02)19521234005671 (37)55",
}
CASK = {
    "ref": "Q 204",
    "wood": "παρθένο βαρέλι μουριάς",
    "previous": "fortified wine, 2014-2019; earlier: red wine, 2009-2014",
    "spirit": "malt spirit",
    "name": "Ὀπώρα, δεύτερο γέμισμα",
    "strength": "63.4 % vol",
    "volume": "225 L",
    "date": "2019-10-05",
    "who": "Maud Aldane",
    "place": "Warehouse 2, row 1",
    "note": "regauge 2027-05",
}
VIAL = {
    "ref": "S 26-04",
    "name": "Q 204, virgin mulberry cask",
    "strength": "61.2 % vol",
    "date": "2026-06-02",
    "who": "Isla Farrow",
    "volume": "250 mL",
}
TRIAL = {
    "ref": "Trial 26-B",
    "name": "Ostrewick, łagodniejszy: mniej morwy, więcej pigwy",
    "strength": "61.7 % vol",
    "volume": "100 mL",
    "date": "2026-06-03",
    "who": "Pankracy Wiżbor",
    "note": "powtórzyć w środę",
}
PLACE = {"ref": "Warehouse 2, row 3", "name": "Kho phía bắc, tầng ba", "note": "nơi để thùng gỗ sồi"}
LONG = {
    "ref": "Q 206, formerly hogshead 1184 of the northern warehouse",
    "name": "Szczebrzeszyńska Księżycowa Łąka Nadrzeczna, trzecie napełnienie",
    "wood": "fortified-wine hogshead, second fill, recoopered and re-toasted 2020-08",
}
SHOWN: dict[str, tuple[str, dict[str, str]]] = {
    "badge-roll-86x54": ("person", {"name": "Nguyễn Thị Hạnh", "ref": "station 2", "note": "blending room"}),
    "batch-card-roll-105x74": (
        "batch",
        {
            "ref": "Vatting 3",
            "name": "Ostrewick 2026",
            "place": "Vat 2",
            "strength": "48.3 % vol",
            "volume": "313.7 L",
            "spirit": "malt spirit",
            "date": "2026-06-22",
            "who": "Pankracy Wiżbor",
            "note": "rests until 2026-07-06",
        },
    ),
    "cask-head-100x70": ("cask", CASK),
    "pallet-sscc-roll-148x210": ("pallet", PALLET),
    "sheet-a4-14-99x38": ("trial", TRIAL),
    "sheet-a4-4-105x148": ("pallet", PALLET),
    "sheet-a4-65-38x21": ("vial", VIAL | {"print_mark": "print 2"}),
    "sheet-a4-8-99x68": ("cask", CASK | LONG),
    "sheet-letter-30-67x25": (
        "vial",
        VIAL | {"ref": "Mẫu 12", "name": "Rượu ủ thùng gỗ sồi lần thứ hai", "who": "Nguyễn Thị Hạnh"},
    ),
    "sheet-letter-6-102x85": ("place", PLACE),
    "tag-roll-50x25": (
        "instrument",
        {"ref": "H-3", "name": "hydrometer, % vol", "place": "laboratory", "date": "2027-03-01", "note": "CAL 26-118"},
    ),
    "trial-roll-50x30": ("trial", TRIAL),
    "vial-flag-74x15": ("vial", VIAL | {"name": "Q 204, παρθένο βαρέλι μουριάς", "print_mark": "print 2"}),
    "vial-roll-30x15": ("vial", VIAL),
}
"""What a template shows here; those of lots show a lot."""


def shown_label(template: Template, number: int) -> Label:
    """An invented label of Quillmere for a template, with an identifier that could be issued."""
    kind, texts = SHOWN.get(template.name, ("lot", LOT))
    own = kind if kind in KINDS else "lot"
    code = write(own, next(n for n in range(number, number + 20) if is_issued(own, n)))
    dry = {} if kind in ("vial", "trial", "cask", "batch", "lot", "pallet") else {"caution": ""}
    return Label(kind, code, hyphened(code), house="Quillmere", **texts, **dry)


def one_label(template: Template, number: int) -> Image.Image:
    """A label by itself; of a sheet the first."""
    media = template.media
    document = pypdfium2.PdfDocument(labels_pdf([shown_label(template, number)], template))
    scale = PX_PER_MM[media.width_mm <= SMALL_MM] * 25.4 / 72
    image: Image.Image = document[0].render(scale=2 * scale).to_pil().convert("L")
    document.close()
    x_mm, y_mm = media.corner_mm(1)
    corners_mm = x_mm, y_mm, x_mm + media.width_mm, y_mm + media.height_mm
    left, top, right, foot = (round(side_mm * 2 * scale * 72 / 25.4) for side_mm in corners_mm)
    image = image.crop((left, top, right, foot))
    return image.resize((image.width // 2, image.height // 2), Image.Resampling.LANCZOS)


def captioned(template: Template, number: int) -> Image.Image:
    """A label with its name and media above."""
    label, media = framed(one_label(template, number)), template.media
    form = f"{media.page} sheet of {media.places}" if isinstance(media, Sheet) else "roll"
    name, small = (ImageFont.truetype(str(FONTS / face), 15) for face in FACES)
    whole = Image.new("RGB", (label.width, label.height + CAPTION), GROUND)
    draw = ImageDraw.Draw(whole)
    draw.text((0, 4), template.name, font=name, fill=INK)
    about = f"  {round(media.width_mm, 1):g} × {round(media.height_mm, 1):g} mm, {form}"
    draw.text((draw.textlength(template.name, font=name), 4), about, font=small, fill=INK)
    whole.paste(label, (0, CAPTION))
    return whole


def labels() -> None:
    """A label of every shipped template, the tall ones first, in rows as wide as the picture."""
    boxes = [captioned(template, 100 + number) for number, template in enumerate(templates())]
    placed, x, y, tallest = [], GAP, GAP, 0
    for box in sorted(boxes, key=lambda box: -box.height):
        if x + box.width + GAP > WIDTH:
            x, y, tallest = GAP, y + tallest + GAP, 0
        placed.append((box, (x, y)))
        x, tallest = x + box.width + GAP, max(tallest, box.height)
    whole = Image.new("RGB", (WIDTH, y + tallest + GAP), GROUND)
    for box, corner in placed:
        whole.paste(box, corner)
    whole.quantize(16, dither=Image.Dither.NONE).save(HERE / "labels.png", optimize=True)


NOTES = (
    ("S 26-01", "honey 5, pear 4", "honey 4, pear 3", "honey 1, pear 1", "barley 1", 14),
    ("S 26-01", "honey 4, pear 4", "honey 4, barley 1", "honey 2", "barley 2", 18),
    ("S 26-02", "quince 3, pear 2", "quince 4", "quince 2, oak 1", "oak 1", 22),
    ("S 26-03", "raisin 2", "raisin 4, oak 1", "raisin 3, oak 2", "oak 2, raisin 2", 30),
    ("S 26-04", "oak 1, resin 1", "oak 3, resin 2", "oak 4, resin 3", "oak 4, resin 1", 48),
    ("S 26-04", "oak 2, resin 1", "oak 3, resin 1", "oak 5, resin 3", "oak 3, resin 1", 41),
    ("Trial 26-B", "honey 4, pear 3, quince 1", "honey 3, quince 2", "honey 1, raisin 1", "oak 2", 17),
    ("Trial 26-B", "honey 4, pear 2", "honey 4, quince 1, raisin 1", "raisin 1", "oak 1, barley 1", 21),
)
"""What two assessors might have found in a trial of the sample house and in its components."""
STAGES = ("--nose", "--first", "--middle", "--finish", "--seconds")


def shape() -> None:
    """The shape of a trial, as it stands on its paper."""
    with tempfile.TemporaryDirectory() as folder:
        run = [sys.executable, "-m", "pourbook"]
        subprocess.run([*run, "demo"], cwd=folder, capture_output=True, check=True)
        run += ["--book", str(Path(folder, "quillmere", "quillmere.pourbook"))]
        for item, *stages, seconds in NOTES:
            options = zip(STAGES, (*stages, str(seconds)), strict=True)
            found = [part for pair in options for part in pair]
            subprocess.run([*run, "taste", item, *found], capture_output=True, check=True)
        paper = Path(folder, "shape.pdf")
        subprocess.run([*run, "shape", "Trial 26-B", "-o", str(paper)], capture_output=True, check=True)
        image = page(paper, 0, 1240)
    image.crop((50, 190, 1190, 1045)).quantize(64, dither=Image.Dither.NONE).save(HERE / "shape.png", optimize=True)


TRIED = (
    ("26-C", "26-B", "finish too light", ("S 26-04=+1", "S 26-01=-1"), (78, 74, 80)),
    ("26-D", "26-B", "spice after all", ("S 26-03=+4", "S 26-02=-4"), (70, 66, 71)),
    ("26-E", "26-C", "for drinking now", ("water=+25",), (84, 80, 83)),
    ("26-F", "26-E", "", ("S 26-02=+3", "S 26-01=-3"), (81, 82, 80)),
)
"""Trials that might have followed those of the sample house: ref, parent, name, changes, scores of three assessors."""
SCORED = (("26-A", (61, 58, 66)), ("26-B", (75, 71, 76)), *((ref, scores) for ref, *_, scores in TRIED))
ASSESSORS = ("Isla Farrow", "Tomas Reeve", "Pankracy Wiżbor")
SAID = ("mulberry hides the fruit", "quince and honey, ends short", "rounder, a longer finish", "too much spice",
    "open and long, a little water more than needed", "sweet start, clean")  # fmt: skip


def family() -> None:
    """The sheet of a family of trials."""
    with tempfile.TemporaryDirectory() as folder:
        run = [sys.executable, "-m", "pourbook"]
        subprocess.run([*run, "demo"], cwd=folder, capture_output=True, check=True)
        run += ["--book", str(Path(folder, "quillmere", "quillmere.pourbook"))]

        def does(*words: str) -> str:
            return subprocess.run([*run, *words], capture_output=True, check=True, text=True).stdout

        for ref, parent, name, changes, _ in TRIED:
            changed = [part for change in changes for part in ("--change", change)]
            told = ["--revised-from", f"Trial {parent}", "--ref", f"Trial {ref}", "--name", name, "--total", "60 ml"]
            plan = json.loads(does("trial", *told, *changed, "--json"))["plan"]
            poured = [part for one in plan for part in (one["component"], f"{one['volume_ml_20c']:.2f} ml")]
            does("pour", f"Trial {ref}", *poured)
        for (ref, scores), said in zip(SCORED, SAID, strict=True):
            for who, score in zip(ASSESSORS, scores, strict=True):
                does("taste", f"Trial {ref}", said, "--by", who, "--score", str(score))
        paper = Path(folder, "family.pdf")
        does("revisions", "Trial 26-E", "-o", str(paper))
        image = page(paper, 0, 1240)
    image.crop((50, 190, 1190, 900)).quantize(64, dither=Image.Dither.NONE).save(HERE / "family.png", optimize=True)


def station() -> None:
    """A trial half poured at the bench, and where the house stands on a phone."""
    from playwright.sync_api import sync_playwright

    sys.path.insert(0, str(HERE.parent))
    from stations import CHROMIUM, QUIET, Running

    with tempfile.TemporaryDirectory() as folder:
        run = [sys.executable, "-m", "pourbook"]
        subprocess.run([*run, "demo"], cwd=folder, capture_output=True, check=True)
        book = Path(folder, "quillmere", "quillmere.pourbook")
        run += ["--book", str(book)]

        def does(*words: str) -> str:
            return subprocess.run([*run, *words], capture_output=True, check=True, text=True).stdout

        parts = ("S 26-01=57 in 50..65", "S 26-02=27 in 20..30", "S 26-03=13 in 8..15", "S 26-04=3 in 0..5")
        planned = [word for part in parts for word in ("--part", part)]
        named = ("--recipe", "Ostrewick 27", "--ref", "Trial 27-A", "--name", "Ostrewick, next spring")
        trial = does("trial", *planned, "--total", "60 ml", *named).splitlines()[0].replace("-", "")
        does("pour", trial, "S 26-01", "34.2", "S 26-02", "9")
        served = Running(book)
        try:
            with sync_playwright() as driver:
                browser = driver.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
                bench = browser.new_page(viewport={"width": 1240, "height": 1000})
                bench.goto(f"{served.url}/item/{trial}/pour")
                bench.click("text=Take >> nth=1")
                bench.wait_for_selector("#f-amount")
                bench.screenshot(path=Path(folder, "bench.png"))
                phone = browser.new_page(viewport={"width": 390, "height": 1000}, color_scheme="dark")
                phone.goto(f"{served.url}/item/L0000038/trace")
                phone.screenshot(path=Path(folder, "phone.png"))
                browser.close()
        finally:
            served.stop()
        left, right = (Image.open(Path(folder, name)).convert("RGB") for name in ("bench.png", "phone.png"))
        whole = Image.new("RGB", (left.width + right.width + 90, left.height + 60), GROUND)
        whole.paste(framed(left), (30, 30))
        whole.paste(framed(right), (left.width + 60, 30))
    whole.quantize(128, dither=Image.Dither.NONE).save(HERE / "station.png", optimize=True)


MADE = {"first-screen": first_screen, "labels": labels, "shape": shape, "family": family, "station": station}


if __name__ == "__main__":
    for name in sys.argv[1:] or MADE:
        MADE[name]()
