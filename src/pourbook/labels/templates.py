r"""Label templates: TOML files, one label each, that say what stands where.

A template of the house in a folder of its own goes before a shipped one of the same name.
All places are in millimetres from the top left corner of the label. The whole of the form:

    name = "vial-roll-30x15"           # the name of the file; small letters, digits, hyphens
    title = "Sample vial, roll"        # one line, for lists
    kinds = ["vial"]                   # cask vial trial batch lot pallet instrument person place glass

    [media]
    form = "roll"                      # one label a page:
    width_mm = 30.0                    #   across the roll
    height_mm = 15.0                   #   along the roll

    [media]
    form = "sheet"                     # labels in columns and rows:
    page = "A4"                        #   or "Letter"
    columns = 5
    rows = 13
    width_mm = 38.1                    #   of one label
    height_mm = 21.2
    left_mm = 4.75                     #   from the page's edge to the first label
    top_mm = 10.7
    pitch_x_mm = 40.6                  #   from a label's edge to the same edge of the next
    pitch_y_mm = 21.2

    [[symbol]]                         # one or more
    kind = "data-matrix"               # or qr, code-128; gs1-128, gs1-data-matrix
    box_mm = [0.7, 0.7, 6.1, 6.1]      # from the left, from the top, width, height; it holds the
                                       #   quiet zone too, and the symbol in its middle, as large
                                       #   as whole printer dots allow
    least_module_mm = 0.33             # smaller than this is refused, not printed
    says = "code"                      # the identifier, as when left out; GS1 kinds say one or several
                                       #   of gs1_bottle, gs1_case, gs1_lot, gs1_unit, gs1_content, each of
                                       #   which a field must show; qr may say link or case_link. A label
                                       #   that lacks the first of them carries the identifier instead
    kinds = ["vial"]                   # only on labels of these kinds; all when left out

    [[field]]
    text = ["{wood}", "from {date}"]   # parts; a part is left out when a field it names is empty
    join = " · "                       # between the parts
    box_mm = [7.4, 8.0, 22.0, 2.6]
    face = "text"                      # text italic semibold bold code code-bold
    size_pt = 8.0                      # wanted, and what it may shrink to before it is refused
    least_size_pt = 6.0                # as size_pt when left out
    lines = 1                          # the most lines
    trim = false                       # true: not refused; the last parts are left out until the
                                       #   rest fits, and a single part is cut with an ellipsis
    align = "left"                     # left centre right
    valign = "top"                     # top middle bottom
    turn = 0                           # 0 90 180 270, anticlockwise, within the same box
    reverse = false                    # true: white on a black box
    kinds = ["vial"]

    [[rule]]                           # a black bar
    box_mm = [0.0, 7.2, 30.0, 0.2]
    kinds = ["vial"]

The fields that a text may name are those of `pourbook.labels.label.Label`.

>>> template("vial-roll-30x15").media
Roll(width_mm=30.0, height_mm=15.0)
"""

from collections.abc import Iterator
from difflib import get_close_matches
from pathlib import Path

from pourbook.errors import Fault, FaultsFound, StoreError, Unknown
from pourbook.labels.label_layout import Template
from pourbook.labels.template_reading import read_template
from pourbook.shipped import shipped

__all__ = ["template", "templates"]


def templates(folder: Path | None = None) -> list[Template]:
    """All templates by name, those in the house's folder in the place of shipped ones.

    Raises:
        FaultsFound: a file with faults; all faults of all files are listed.
        StoreError: a folder or file cannot be read.
    """
    found: list[Template] = []
    faults: list[Fault] = []
    for _, path in sorted(_files(folder).items()):
        try:
            found.append(_read(path))
        except FaultsFound as refusal:
            faults += refusal.faults
    if faults:
        raise FaultsFound(
            f"label templates with faults: {len(faults)}", tuple(faults), "correct the files and try again"
        )
    return found


def template(name: str, folder: Path | None = None) -> Template:
    """The template of a name; other templates may have faults.

    Raises:
        Unknown: no template has that name; the remedy names those that exist.
        FaultsFound: the file has faults.
        StoreError: a folder or file cannot be read.
    """
    files = _files(folder)
    if name not in files:
        near = get_close_matches(name, files, n=1)
        hint = f"did you mean '{near[0]}'? " if near else ""
        raise Unknown(f"no label template '{name}'", f"{hint}choose from: {', '.join(sorted(files))}")
    return _read(files[name])


def _files(folder: Path | None) -> dict[str, Path]:
    folders = [shipped("label_templates"), *([folder] if folder else [])]
    return {path.stem: path for one in folders for path in _toml_files(one)}


def _toml_files(folder: Path) -> Iterator[Path]:
    if not folder.is_dir():
        raise StoreError(f"no folder of label templates at {folder}", "check the path")
    return folder.glob("*.toml")


def _read(path: Path) -> Template:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise StoreError(f"the label template {path} cannot be read: {error.strerror}") from error
    return read_template(data, path.name)
