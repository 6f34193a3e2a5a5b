"""The two forms of every answer: a JSON document for programs, lines for people; and what a recording changed.

>>> from pourbook.book.consequences import Changed, Recorded
>>> from pourbook.liquid import Liquid
>>> vial = Changed("V000001R", Liquid(149_320, 83_000), Liquid(149_020, 82_834))
>>> _changes_document(Recorded(range(9, 10), 2, (vial,), (), ()))["changed"][0]["mass_mg_before"]
149320
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.codes.identifiers import hyphened, several
from pourbook.numerals import counted, shown
from pourbook.times import DAY_US, written
from pourbook.words.figure_words import in_grams, named, percent

if TYPE_CHECKING:
    from pourbook.actions.line_by_line import Signal
    from pourbook.book.consequences import Changed, Descent, LeftOpen, Recorded, Sources
    from pourbook.house_style import HouseStyle

__all__ = [
    "CAUTION", "Listing", "Shown", "aligned", "fields", "listed", "recorded_shown", "site_column", "stop_words",
    "table",
]  # fmt: skip

CAUTION = (
    "caution: working figures by OIML R 22; the legal gauge, label and duty return follow the local authority;"
    " vapour of strong spirit ignites at room temperature"
)
"""Stands beside the figures of a calculator."""


_T = TypeVar("_T")
_PORTION = 1000


class Shown(NamedTuple):
    """An answer as a door shows it.

    Attributes:
        document: for programs: identifiers without hyphens, numbers not rounded, times in UTC.
        said: lines for people.
        notes: lines beside the answer, such as what a recording changed; the document says the same.
        warnings: what a person must see, beside the document, too.
        signal: how a scan was met, for a terminal's bell and colour beside the first note.
    """

    document: Mapping[str, Any]
    said: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    signal: "Signal" = ""

    def warned(self, *warnings: str) -> "Shown":
        """The same with more warnings behind those that it has."""
        return self._replace(warnings=(*self.warnings, *warnings))


class Listing(NamedTuple):
    """A list of any length, as a door shows it: made item by item as it is shown, so that memory stays flat.

    Attributes:
        name: of the array in the document.
        of: what is listed, gone through once.
        document: an item for programs.
        columns: as of `listed`; the first lines set their widths, which grow where a later line needs it.
    """

    name: str
    of: Iterable[Any]
    document: Callable[[Any], Mapping[str, Any]]
    columns: tuple[tuple[str, Callable[[Any], object]], ...]

    def lines(self) -> Iterator[tuple[str, ...]]:
        """Lines for people under their heads, by portions."""
        waiting = iter(self.of)
        heads = [head for head, _ in self.columns]
        rows = self._rows(waiting)
        if len(rows) < _PORTION:
            yield table(heads, rows)
            return
        widths = list(map(len, heads))
        rows.insert(0, heads)
        while rows:
            columns = zip(*rows, strict=True)
            widths = [max(width, *map(len, column)) for width, column in zip(widths, columns, strict=True)]
            yield _set(heads, rows, widths)
            rows = self._rows(waiting)

    def _rows(self, waiting: Iterator[Any]) -> list[list[str]]:
        return [[str(cell(one)) for _, cell in self.columns] for one in islice(waiting, _PORTION)]


def fields(value: Any, *without: str) -> dict[str, Any]:  # noqa: ANN401 (any named tuple)
    """The fields of a named tuple for a document, without some; a moment, `…_us` in the tuple, is a time in UTC.

    >>> from pourbook.gauging.evaporation import Reading
    >>> fields(Reading(0, 7, 198.5, None))
    {'happened': '1970-01-01T00:00:00Z', 'entry': 7, 'volume_ml': 198.5, 'strength_vol': None, 'kept': 1.0}
    """
    return {
        name.removesuffix("_us"): written(one) if name.endswith("_us") else one
        for name, one in value._asdict().items()
        if name not in without
    }


def listed(of: Iterable[_T], *columns: tuple[str, Callable[[_T], object]]) -> tuple[str, ...]:
    """A line for each, by columns: a head as of `table`, and what stands under it.

    >>> listed(["V000001R"], ("item", hyphened), (" letters", len))
    ('item         letters', 'V-000001-R         8')
    """
    return table([head for head, _ in columns], [[str(cell(one)) for _, cell in columns] for one in of])


def site_column(of: Iterable[Any]) -> tuple[tuple[str, Callable[[Any], object]], ...]:
    """A column of `listed` with the site of each item, where items are listed out of a group's book."""
    if not any("site" in one.item.facts for one in of):
        return ()
    return (("site", lambda one: one.item.facts.get("site", "")),)


def aligned(pairs: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Labels and values, the values under each other."""
    lines = list(pairs)
    width = max(len(label) for label, _ in lines)
    return tuple(f"{label.ljust(width)}  {value}" for label, value in lines)


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> tuple[str, ...]:
    """Rows under their heads, as lines; a head that begins with a space aligns right; last columns of nothing go.

    >>> table(("item", " ml"), [("V-000001-R", "12.5"), ("V-000002-P", "9.0")])
    ('item          ml', 'V-000001-R  12.5', 'V-000002-P   9.0')
    """
    lines = (tuple(heads), *map(tuple, rows))
    while len(lines) > 1 and len(lines[0]) > 1 and not any(line[-1] for line in lines[1:]):
        lines = tuple(line[:-1] for line in lines)
    return _set(lines[0], lines, [max(map(len, column)) for column in zip(*lines, strict=True)])


def _set(heads: Sequence[str], lines: Iterable[Sequence[str]], widths: Sequence[int]) -> tuple[str, ...]:
    aligns = [str.rjust if head.startswith(" ") else str.ljust for head in heads]
    return tuple(
        "  ".join(align(text, width) for align, text, width in zip(aligns, line, widths, strict=True)).rstrip()
        for line in lines
    )


def stop_words(bounds_ml: tuple[float, float] | None, style: "HouseStyle") -> str:
    """Between what a part is to be stopped, in ml; empty where it has no bounds."""
    return " to ".join(style.shown(ml, 2) for ml in bounds_ml or ())


_NAMES = {"owner": "owner", "duty": "duty status"}


def recorded_shown(
    recorded: "Recorded", document: Mapping[str, Any], said: tuple[str, ...], style: "HouseStyle", *,
    is_correction: bool = False,
) -> Shown:  # fmt: skip
    """An answer with what its recording changed; a correction tells it even if nothing later was computed again."""
    dry_run = recorded.is_dry_run
    notes = _changes_words(recorded, style.mark, tells_changes=dry_run or is_correction)
    notes += [f"note: {_left_open(one)}" for one in recorded.left_open]
    if recorded.held:
        notes.append(f"note: on hold, as what was poured into it is, by the same recall: {several(recorded.held)}")
    if dry_run:
        notes.append("dry run: nothing was recorded")
    warnings = (_UNNEEDED,) if recorded.is_second_unneeded else ()
    return Shown({**document, **_changes_document(recorded), "dry_run": dry_run}, said, tuple(notes), warnings=warnings)


_UNNEEDED = "warning: the house wants no second person for this, so the journal does not name one"


def _left_open(one: "LeftOpen") -> str:
    """Owner or duty status that the sources of an item do not agree on."""
    of_item = f"{_NAMES[one.name]} of {hyphened(one.id)}"
    others = [value for value in one.of_sources if value != one.now]
    if not one.now:
        stated = " and ".join(f"'{value}'" for value in others if value)
        return f"{of_item} is left open: its sources have {stated}{' or none' if '' in one.of_sources else ''}"
    stated = " and ".join(f"'{value}'" if value else "spirit that states none" for value in others)
    return f"{of_item} {'is open now' if one.ends else 'stays'}: {stated} went in beside '{one.now}'"


_MOST_DIGITS = 6


def _changes_document(recorded: "Recorded") -> dict[str, Any]:
    """What a recording did, as JSON."""
    return {
        "entries": list(recorded.numbers),
        "recomputed": recorded.recomputed,
        "changed": [
            {"id": id_, "mass_mg_before": before.mass_mg, "mass_mg": after.mass_mg,
             "ethanol_mg_before": before.ethanol_mg, "ethanol_mg": after.ethanol_mg}
            for id_, before, after in recorded.changed
        ],
        "ancestry": [
            {"id": one.id, "before": _sources_document(one.before), "after": _sources_document(one.after)}
            for one in recorded.ancestry
        ],
        "ancestry_whole": recorded.is_ancestry_whole,
        "leaning": list(recorded.leaning),
        "gains": [{"id": id_, "mass_mg": mass_mg} for id_, mass_mg in recorded.gains],
        "dry_run": recorded.is_dry_run,
    }  # fmt: skip


def _sources_document(sources: "Sources") -> dict[str, Any]:
    days = None if sources.youngest_us is None else sources.youngest_us / DAY_US
    return {"shares": dict(sources.shares), "youngest_days": days}


def _changes_words(recorded: "Recorded", mark: str, *, tells_changes: bool) -> list[str]:
    """What a recording did, line by line.

    `tells_changes` names items that hold more or less now even if nothing later was computed again: in a dry
    run or a correction, not where a pour is simply recorded.
    """
    lines = [
        f"note: {hyphened(id_)} gave {in_grams(mass_mg, mark)} more than the book held; it was gauged up first"
        for id_, mass_mg in recorded.gains
    ]
    if recorded.changed and (recorded.recomputed or tells_changes):
        lines.append("what is held, before -> after:")
        lines += [f"  {_change(one, mark)}" for one in recorded.changed]
    if recorded.ancestry:
        lines.append("what it came from, by pure alcohol, before -> after:")
        lines += [f"  {_descent(one, mark)}" for one in recorded.ancestry]
    if not recorded.is_ancestry_whole:
        lines.append("note: too many items lie downstream to compare them all: trace what matters, before and after")
    if recorded.recomputed:
        were = "was" if recorded.recomputed == 1 else "were"
        lines.append(f"note: {counted(recorded.recomputed, 'later line')} {were} computed again")
    if entries := recorded.leaning:
        which, were = ("mass of entry", "was") if len(entries) == 1 else ("masses of entries", "were")
        lines += [
            f"note: {which} {', '.join(map(str, entries))} {were} derived from what the book no longer says;",
            "      pourbook replace NUMBER --rederive --reason … derives it again",
        ]
    return lines


def _change(one: "Changed", mark: str) -> str:
    """Volume and strength, in millilitres where both volumes are less than a litre."""
    volumes = volume_ml(one.before), volume_ml(one.after)
    unit, scale = ("ml", 1.0) if max(volumes) < 1000 else ("l", 1000.0)
    said = f"{hyphened(one.id)}: {_pair(volumes[0] / scale, volumes[1] / scale, mark)} {unit} at 20 °C"
    strengths = strength_20c(one.before), strength_20c(one.after)
    if strengths[0] is not None and strengths[1] is not None and shown(strengths[0], 2) != shown(strengths[1], 2):
        said += f", {_pair(strengths[0], strengths[1], mark)} % vol"
    return said


def _pair(before: float, after: float, mark: str) -> str:
    """Two figures with as many decimals as it takes to tell them apart."""
    for digits in range(2, _MOST_DIGITS):
        if shown(before, digits) != shown(after, digits):
            break
    return f"{shown(before, digits, mark)} -> {shown(after, digits, mark)}"


def _descent(one: "Descent", mark: str) -> str:
    """Sources whose shares look different, and the age where it does."""
    names = [*one.before.shares, *(name for name in one.after.shares if name not in one.before.shares)]
    pairs = [(name, *(percent(side.shares.get(name), mark) for side in (one.before, one.after))) for name in names]
    said = [f"{before} -> {after} % {named(name)}" for name, before, after in pairs if before != after]
    ages = [_age(side) for side in (one.before, one.after)]
    if ages[0] != ages[1]:
        said.append(f"youngest in wood {ages[0]} -> {ages[1]}")
    return f"{hyphened(one.id)}: {', '.join(said) or 'shares below the digits shown'}"


def _age(sources: "Sources") -> str:
    if not sources.shares:
        return "–"
    return "unknown" if sources.youngest_us is None else counted(sources.youngest_us // DAY_US, "day")
