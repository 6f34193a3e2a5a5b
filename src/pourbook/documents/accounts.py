"""The account of a period in every form but paper: one document, two tables, lines; the same figures in all.

Litres are as exact as a floating-point number is; masses are whole milligrams, volumes whole
microlitres, and add up to the last digit. Quantities stand above zero on every side but adjustment
and contraction: opening + adjustment + in + gain = out + loss + contraction + closing.

>>> from pourbook import Book
>>> from pourbook.queries.accounts.account import Period
>>> answer = Book.create(":memory:", house="Quillmere").account(Period(0, 9, ("owner",)))
>>> table(answer)[0][:4]
['owner', 'side', 'heading', 'lpa_l']
"""

import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened, named
from pourbook.documents import shown as forms
from pourbook.documents.shown import Shown, fields
from pourbook.numerals import counted
from pourbook.queries.accounts.declared import Figure, PeriodAccount, figures
from pourbook.queries.accounts.quantity import Quantity
from pourbook.queries.accounts.sample_movements import Sampled
from pourbook.times import with_offset, written
from pourbook.words.account_words import CAUTION, NOT_THE_RETURN, SIDES, declared_text, period_text, status_of
from pourbook.words.group_words import difference_words

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.actions.declare import DeclaredAccount
    from pourbook.book.site_differences import Difference
    from pourbook.house_style import HouseStyle
    from pourbook.queries.accounts.account import Account, Corrected, GroupAccount
    from pourbook.queries.accounts.declared import Declaration
    from pourbook.queries.accounts.entries_behind import Behind, EntriesBehind

__all__ = ["account_shown", "csv_bytes", "entries_shown", "entries_table", "sample_table", "table"]

Table = tuple[list[str], list[list[Any]]]


def account_shown(
    done: "DeclaredAccount", style: "HouseStyle", tables: Mapping[str, Path] = MappingProxyType({}), *, dry_run: bool
) -> Shown:
    """An account, and what was declared, printed and written of it; `tables` are files by their name in JSON."""
    (account, declaration), every, printed = done
    entries = [number for recorded in every for number in recorded.numbers]
    files = {name: str(path) for name, path in tables.items()}
    files |= {"pdf": str(next(iter(printed.files)))} if printed else {}
    notes = [f"provisional: strengths are pending in {_numbers(account.pending)}"] if account.pending else []
    if dry_run:
        notes.append("dry run: nothing was recorded or written")
    else:
        notes += [f"written: {file}" for file in files.values()]
        notes += [f"recorded: {_numbers(entries)}"] if entries else []
    notes += [CAUTION] if declaration else []
    told = {"entries": entries, "files": files, "dry_run": dry_run}
    return Shown({**_document(done.answer), **told}, tuple(_lines(done.answer, style)), tuple(notes))


def _numbers(entries: Sequence[int]) -> str:
    return f"{'entry' if len(entries) == 1 else 'entries'} {', '.join(map(str, entries))}"


# -- in lines ------------------------------------------------------------------------------


def _lines(answer: PeriodAccount, style: "HouseStyle") -> Iterator[str]:
    account, declaration = answer
    yield f"account of {period_text(account.start_us, account.end_us, style.zone)}, {status_of(account)}"
    if declaration is not None:
        yield f"declared: {declared_text(declaration, style.zone)}"
    for group in (*account.groups, account.total) if account.by else account.groups:
        yield ""
        if account.by:
            yield " · ".join(group.group) or "total"
        yield from _figures(group, declaration, style)
    yield from _corrections("prior-period adjustments: corrections of closed periods, taken up here", account.adjusting)
    yield from _corrections("corrected after closing; adjusts the period open then", account.corrected_since)
    yield from _differences(account, style)
    yield ""
    if account.samples:
        yield f"{counted(len(account.samples), 'sample movement')}: see --samples, -o or --json"
    yield NOT_THE_RETURN


def _differences(account: "Account", style: "HouseStyle") -> Iterator[str]:
    if account.differences:
        rows = [(one.site, named(one.item), difference_words(one, style.mark)) for one in account.differences]
        yield from ("", "sites do not agree; to be explained", *forms.table(("site", "item", "what"), rows))


def _figures(group: "GroupAccount", declaration: "Declaration | None", style: "HouseStyle") -> tuple[str, ...]:
    beside = ["", ""] if declaration is None else [" declared", " difference"]
    rows = []
    for figure in filter(lambda one: one.is_seen, figures(group, declaration)):
        line = figure.line
        lpa = "" if line.side == "contraction" else style.shown(line.quantity.lpa_l, 3)
        cells = [SIDES[line.side], line.heading, lpa]
        cells += [figure.declared_lpa_l.replace(".", style.mark), _difference(figure.difference_lpa_l, style)]
        cells += [style.shown(line.quantity.bulk_l, 3)]
        cells += [figure.declared_bulk_l.replace(".", style.mark), _difference(figure.difference_bulk_l, style)]
        rows.append(cells)
    heads = ["", "", " LPA", *beside, " bulk l", *beside]
    shown = [place for place, head in enumerate(heads) if head or place < 2]
    return forms.table([heads[place] for place in shown], [[row[place] for place in shown] for row in rows])


def _difference(value: Fraction | None, style: "HouseStyle") -> str:
    return "" if value is None else style.shown(value, 4)


def _corrections(title: str, corrections: "Sequence[Corrected]") -> Iterator[str]:
    if corrections:
        rows = [(str(one.entry), f"{one.kind}, {one.how}", str(one.by), one.reason, one.who) for one in corrections]
        yield from ("", title, *forms.table((" entry", "what", " by entry", "reason", "who"), rows))


# -- as JSON -------------------------------------------------------------------------------


def _document(answer: PeriodAccount) -> dict[str, Any]:
    account, declaration = answer
    return {
        "from": written(account.start_us),
        "to": written(account.end_us),
        "group_by": list(account.by),
        "closed_by": account.closed_by,
        "declared": declaration and fields(declaration, "lines") | {"amends": declaration.amends or None},
        "groups": [_group(account.by, one, declaration) for one in account.groups],
        "total": _group((), account.total, declaration),
        "adjusting": [fields(one) for one in account.adjusting],
        "corrected_since": [fields(one) for one in account.corrected_since],
        "pending": list(account.pending),
        "samples": [_sampled(one) for one in account.samples],
        "note": NOT_THE_RETURN,
    } | ({"differences": list(map(_difference_document, account.differences))} if account.differences else {})


def _difference_document(one: "Difference") -> dict[str, Any]:
    return {"kind": one.what, "site": one.site, "item": one.item, "what": difference_words(one, ".")}


def _group(by: Sequence[str], account: "GroupAccount", declaration: "Declaration | None") -> dict[str, Any]:
    return {
        "group": dict(zip(by, account.group, strict=True)),
        "lines": [_figure_document(figure) for figure in figures(account, declaration)],
    }


def _figure_document(figure: Figure) -> dict[str, Any]:
    line = figure.line
    return {
        "side": line.side,
        "heading": line.heading,
        "lpa_l": float(line.quantity.lpa_l),
        "bulk_l": float(line.quantity.bulk_l),
        **line.quantity._asdict(),
        "postings": line.postings,
        "declared_lpa_l": figure.declared_lpa_l or None,
        "difference_lpa_l": _float(figure.difference_lpa_l),
        "declared_bulk_l": figure.declared_bulk_l or None,
        "difference_bulk_l": _float(figure.difference_bulk_l),
    }


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def _sampled(one: Sampled) -> dict[str, Any]:
    return fields(one, "moved") | _amounts(one.moved)


# -- as tables -----------------------------------------------------------------------------


def table(answer: PeriodAccount) -> Table:
    """The account as a table: its heads, and a row for each line of each group."""
    account, declaration = answer
    rows = [
        [*one.group, *_figure_document(figure).values()]
        for one in account.groups
        for figure in figures(one, declaration)
    ]
    heads = _figure_document(figures(account.total, None)[0])
    return [*account.by, *heads], rows


def sample_table(account: "Account") -> Table:
    """The movements of samples as a table: its heads and rows."""
    heads = ["happened", *(name for name in Sampled._fields if name not in ("happened_us", "moved")), "lpa_l", "bulk_l"]
    heads += ["mass_mg", "ethanol_mg", "extract_mg", "volume_ul"]
    return heads, [list(_sampled(one).values()) for one in account.samples]


# -- the entries behind its figures --------------------------------------------------------


def entries_shown(
    found: "EntriesBehind", style: "HouseStyle", tables: Mapping[str, Path] = MappingProxyType({})
) -> Shown:
    """The entries behind figures of an account, one a line, and what they add up to."""
    account = found.account
    sums = [
        {"group": dict(zip(account.by, group, strict=True)), "side": side, "heading": heading}
        | _amounts(total.quantity) | {"entries": total.postings}
        for (group, side, heading), total in found.sums.items()
    ]  # fmt: skip
    files = {name: str(path) for name, path in tables.items()}
    document = {
        "from": written(account.start_us), "to": written(account.end_us), "group_by": list(account.by),
        "closed_by": account.closed_by, "rows": [_entry(one, account.by) for one in found.rows], "sums": sums,
        "files": files, "note": NOT_THE_RETURN,
    }  # fmt: skip
    period = period_text(account.start_us, account.end_us, style.zone)
    said = (
        f"entries behind the account of {period}, {status_of(account)}",
        "",
        *_entry_lines(found, style),
        "",
        *_sum_lines(found, style),
    )
    return Shown(document, said, tuple(f"written: {file}" for file in files.values()))


def _amounts(moved: Quantity) -> dict[str, Any]:
    return {"lpa_l": float(moved.lpa_l), "bulk_l": float(moved.bulk_l), **moved._asdict()}


def _entry(one: "Behind", by: Sequence[str]) -> dict[str, Any]:
    return fields(one, "moved") | {"group": dict(zip(by, one.group, strict=True))} | _amounts(one.moved)


def _entry_lines(found: "EntriesBehind", style: "HouseStyle") -> tuple[str, ...]:
    def line(one: "Behind") -> str:
        return " ".join((SIDES[one.side], one.heading)).rstrip()

    columns: list[tuple[str, Callable[[Behind], object]]] = [
        ("when", lambda one: style.time_shown(one.happened_us)),
        (" entry", lambda one: one.entry or ""),
        ("group", lambda one: " · ".join(one.group)),
        ("figure", line),
        ("what", lambda one: one.what),
        ("item", lambda one: hyphened(one.item)),
        ("ref", lambda one: one.ref),
        ("other end", lambda one: one.other and named(one.other)),
        (" LPA", lambda one: style.shown(one.moved.lpa_l, 3)),
        (" bulk l", lambda one: style.shown(one.moved.bulk_l, 3)),
        ("document", lambda one: one.document),
        ("who", lambda one: one.who),
    ]
    return forms.listed(found.rows, *(one for one in columns if any(map(one[1], found.rows))))


def _sum_lines(found: "EntriesBehind", style: "HouseStyle") -> tuple[str, ...]:
    rows = [
        (" · ".join(group), SIDES[side], heading, str(total.postings),
         style.shown(total.quantity.lpa_l, 3), style.shown(total.quantity.bulk_l, 3))
        for (group, side, heading), total in found.sums.items()
    ]  # fmt: skip
    return forms.table(("sum", "", "", " entries", " LPA", " bulk l"), rows)


def entries_table(found: "EntriesBehind", zone: "tzinfo") -> Table:
    """The entries behind figures as a table; times with their offset, items by what the house calls them."""
    by = found.account.by
    heads = [*by, *_ENTRY_COLUMNS]
    rows = [
        [*one.group, *(_cell(one, name, zone) for name in _ENTRY_COLUMNS)]
        for one in found.rows
    ]  # fmt: skip
    return heads, rows


_ENTRY_COLUMNS = (
    "side", "heading", "happened", "entry", "what", "item", "ref", "other", "document", "who", "reason",
    "lpa_l", "bulk_l", "mass_mg", "ethanol_mg", "extract_mg", "volume_ul",
)  # fmt: skip


def _cell(one: "Behind", name: str, zone: "tzinfo") -> Any:  # noqa: ANN401
    if name == "happened":
        return with_offset(one.happened_us, zone)
    return {**one._asdict(), **_amounts(one.moved)}[name]


def csv_bytes(heads: Sequence[str], rows: Sequence[Sequence[Any]]) -> bytes:
    """A table as CSV; figures with a point, whatever the house writes."""
    from pourbook.exchange.output.writing import Table, write_csv

    text = io.StringIO(newline="")
    write_csv(text, Table(heads, (dict(zip(heads, row, strict=True)) for row in rows)))
    return text.getvalue().encode()
