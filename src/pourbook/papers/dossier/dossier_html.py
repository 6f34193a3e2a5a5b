"""The dossier as one page of HTML: for screen readers, for searching, and for print.

It says what the PDF says, from the same sections. Headings in order, tables with their heads as
such, the picture with a description and its table behind it; no script, nothing to be fetched.

>>> page = dossier_page(Dossier(Imprint("Quillmere", "2026-03-14", 1284, "9f3c" * 16), "L-000004-D", "L000004D", "Ash"))
>>> page.splitlines()[:2]
['<!DOCTYPE html>', '<html lang="en">']
"""

from collections.abc import Iterable, Iterator

from pourbook import typefaces
from pourbook.labels.symbols import outlines, symbol
from pourbook.papers.blocks import Block, Facts, Lines, Part, Place, Rows, Signatures, Symbol
from pourbook.papers.cells import Piece
from pourbook.papers.dossier.dossier_sections import sections
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.papers.dossier.first_page import SIGNED, first_page
from pourbook.papers.marks import Drawing
from pourbook.papers.marks_svg import figure
from pourbook.papers.markup import marked_up
from pourbook.papers.page import CAUTION, Imprint

__all__ = ["Dossier", "Imprint", "dossier_body", "dossier_page"]

_STYLE = """
body { font: 1rem/1.45 "Source Sans 3", "Source Sans Pro", system-ui, sans-serif; color: #111; background: #fff;
  max-width: 62rem; margin: 0 auto; padding: 1rem; }
h1 { font-size: 1.9rem; margin: .2rem 0; } h2 { font-size: 1.3rem; margin: 2rem 0 .5rem; border-top: 1px solid #767676;
  padding-top: .5rem; } h3 { font-size: 1.05rem; margin: 1rem 0 .25rem; }
.name { font-size: 1.4rem; font-weight: 600; margin: .2rem 0; }
.scroll { overflow-x: auto; } table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: .2rem .6rem .2rem 0; border-bottom: 1px solid #bbb;
  font-weight: normal; } thead th, tfoot th, tfoot td { font-weight: 600; border-bottom: 1px solid #111; }
.figure { text-align: right; white-space: nowrap; font-variant-numeric: tabular-nums; }
code { font: .92em "DejaVu Sans Mono", monospace; overflow-wrap: anywhere; } .id { white-space: nowrap; }
dl { display: grid; grid-template-columns: repeat(auto-fill, minmax(13rem, 1fr)); gap: .5rem 1rem; }
dt { font-size: .85rem; color: #444; } dd { margin: 0; } figure { margin: 0; } svg { max-width: 100%; height: auto; }
.strong { font-weight: 600; }
.signed { display: grid; grid-template-columns: 7rem 1fr 1fr 8rem; gap: 1rem; margin: 2.2rem 0 0; break-inside: avoid; }
.signed span { border-top: 1px solid #111; font-size: .85rem; color: #444; }
footer { margin-top: 2rem; border-top: 1px solid #767676; }
.mark { background: #000; color: #fff; font-weight: 600; padding: .3rem .6rem; margin: 0; }
@media print { .mark { position: fixed; top: 0; left: 0; right: 0; }
  body { max-width: none; padding: 0; font-size: 9pt; } h2, h3 { break-after: avoid; }
  tr, figure { break-inside: avoid; } thead { display: table-header-group; }
  tfoot { display: table-row-group; } .scroll { overflow: visible; } }
@page { margin: 14mm; }
"""
_MODULE_PX = 4
_IDENTIFIER = 14
"""The longest code that is kept on one line: an identifier, a GTIN."""


def dossier_page(values: Dossier) -> str:
    """The dossier as HTML."""
    imprint = values.imprint
    title = f"Lot dossier {values.id}, {values.name}"
    journal = ", ".join(imprint.standing)
    return "\n".join(
        (
            "<!DOCTYPE html>",
            f'<html lang="{marked_up(imprint.language)}">',
            f'<head>\n<meta charset="utf-8">\n<title>{marked_up(title)}</title>',
            f'<meta name="viewport" content="width=device-width, initial-scale=1">\n<style>{_STYLE}</style>\n</head>',
            f"<body>{_mark(imprint.disagrees)}",
            f"<header>\n<p>{marked_up(imprint.issuer)}</p>{_stated(imprint)}",
            f"<h1>Lot dossier {marked_up(values.id)}</h1>",
            f'<p class="name">{marked_up(values.name)}</p>',
            f"<p>{marked_up(imprint.dated)}. {journal}.</p>\n</header>\n<main>",
            *_section("lot", "The lot", [*first_page(values), SIGNED]),
            *_sections(values),
            f"</main>\n<footer>\n<p>{marked_up(CAUTION)}</p>\n</footer>\n</body>\n</html>\n",
        )
    )


def dossier_body(values: Dossier) -> str:
    """All that it says, under headings of the second rank, for a page that has head and foot of its own."""
    within = (("lot", "The lot", first_page(values)), *_numbered(values))
    return "\n".join(line for section in within for line in ("<section>", *_headed(*section), "</section>"))


def _mark(disagrees: str) -> str:
    """On every printed page: this book does not agree with its journal."""
    return f'\n<p class="mark" role="alert">{marked_up(disagrees)}</p>' if disagrees else ""


def _stated(imprint: Imprint) -> str:
    return f"\n<p>{marked_up(imprint.stated)}</p>" if imprint.stated else ""


def _numbered(values: Dossier) -> Iterator[tuple[str, str, Iterable[Block]]]:
    """Every section but the first page: its identifier, its heading, what stands under it."""
    for number, (heading, blocks) in enumerate(sections(values), start=1):
        yield f"section-{number}", heading, blocks


def _sections(values: Dossier) -> Iterator[str]:
    for section in _numbered(values):
        yield from _section(*section)


def _section(identifier: str, heading: str, blocks: Iterable[Block]) -> Iterator[str]:
    """A section under its heading; its tables are named by it, and it is not repeated."""
    yield f'<section aria-labelledby="{identifier}">'
    yield from _headed(identifier, heading, blocks)
    yield "</section>"


def _headed(identifier: str, heading: str, blocks: Iterable[Block]) -> Iterator[str]:
    yield f'<h2 id="{identifier}">{marked_up(heading)}</h2>'
    yield from [*_tags(blocks, identifier, heading)] or ("<p>None recorded.</p>",)


def _tags(blocks: Iterable[Block], named_by: str, heading: str) -> Iterator[str]:
    """Blocks under the heading with that identifier; those of its parts are numbered."""
    parts = 0
    for block in blocks:
        match block:
            case Rows():
                yield from _table(block, named_by)
            case Facts(pairs, _):
                yield from _facts(pairs)
            case Lines(texts, type_, _):
                start = '<p class="strong">' if type_.face == typefaces.SEMIBOLD else "<p>"
                yield from (f"{start}{marked_up(text)}</p>" for text in texts)
            case Symbol(text, beside):
                yield from _facts(beside)
                yield f"<p>{_symbol(text)}</p>\n<p>Text of the symbol: <code>{marked_up(text)}</code></p>"
            case Drawing():
                yield f"<figure>\n{figure(block, heading)}"
                yield f"<figcaption>{marked_up(block.description)}</figcaption>\n</figure>"
            case Signatures(roles):
                yield from (_signature(role) for role in roles)
            case Part(title, inner):
                parts += 1
                yield f'<h3 id="{named_by}-{parts}">{marked_up(title)}</h3>'
                yield from _tags(inner, f"{named_by}-{parts}", title)


def _signature(role: str) -> str:
    """Lines to be signed on the printed page."""
    places = "".join(f"<span>{name}</span>" for name in ("name", "signature", "date"))
    return f'<p class="signed"><b>{marked_up(role)}</b>{places}</p>'


def _facts(pairs: Iterable[tuple[str, Place]]) -> Iterator[str]:
    yield "<dl>"
    yield from (f"<div><dt>{marked_up(label)}</dt><dd>{_place(value)}</dd></div>" for label, value in pairs)
    yield "</dl>"


def _table(table: Rows, named_by: str) -> Iterator[str]:
    classes = [' class="figure"' if column.align == "right" else "" for column in table.columns]
    named = f'aria-labelledby="{named_by}"'
    yield f'<div class="scroll" tabindex="0" role="region" {named}>\n<table {named}>'
    yield "<thead>\n<tr>"
    for column, class_ in zip(table.columns, classes, strict=True):
        head = marked_up(column.head.replace("\n", " ")) or "of"
        yield f'<th scope="col"{class_}>{head}</th>'
    yield "</tr>\n</thead>\n<tbody>"
    yield from (_row(row, classes) for row in table.rows)
    yield "</tbody>"
    if table.total:
        yield f"<tfoot>\n{_row(table.total, classes)}\n</tfoot>"
    yield "</table>\n</div>"


def _row(row: Iterable[Place], classes: Iterable[str]) -> str:
    first, *others = zip(row, classes, strict=True)
    cells = "".join(f"<td{class_}>{_place(place)}</td>" for place, class_ in others)
    head = _place(first[0])
    return f'<tr><th scope="row"{first[1]}>{head}</th>{cells}</tr>' if head else f"<tr><td{first[1]}></td>{cells}</tr>"


def _place(place: Place) -> str:
    if isinstance(place, str):
        return marked_up(place)
    pieces = ((marked_up(text), type_) for text, type_ in ((place,) if isinstance(place, Piece) else place))
    codes = (typefaces.CODE, typefaces.CODE_BOLD)
    return "<br>".join(_code(text) if type_.face in codes else text or "&nbsp;" for text, type_ in pieces)


def _code(text: str) -> str:
    """An identifier stays on its line; a longer code may break."""
    return f'<code class="id">{text}</code>' if len(text) <= _IDENTIFIER else f"<code>{text}</code>"


def _symbol(text: str) -> str:
    """The QR symbol, its quiet zone included."""
    mark = symbol("qr", text)
    side = mark.width_modules
    path = "".join(
        "M" + "L".join(f"{corner.x + mark.quiet} {corner.y + mark.quiet}" for corner in polygon) + "Z"
        for polygon in outlines(mark.rows)
    )
    size = side * _MODULE_PX
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="QR symbol of the journal hash"'
        f' viewBox="0 0 {side} {side}" width="{size}" height="{size}"><path fill="#fff" d="M0 0H{side}V{side}H0Z"/>'
        f'<path fill="#000" fill-rule="evenodd" d="{path}"/></svg>'
    )
