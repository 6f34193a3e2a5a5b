"""What a person says of a table's headings, what the book keeps of it, and the map to fill in.

The book keeps it as settings, one for each heading of a table: `table.casks.fass_nr.` is `ref`.

>>> said = Answers(map={"Fass Nr.": "ref", "Litres": "quantity l"}, leave_out=("Remarks",))
>>> casks = heard({"casks": Columns(("ref",), ("quantity",))}, {}, said, 0, confirmed=False)["casks"]
>>> {heading: str(meaning) for heading, meaning in casks.meanings.items()}
{'fass_nr.': 'ref', 'litres': 'quantity l', 'remarks': 'leave-out'}
"""

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from pourbook.errors import Malformed
from pourbook.exchange.tables.columns import Faults
from pourbook.exchange.tables.headings import DATE_READINGS, LEAVE_OUT, SUB_HEADINGS, Meaning, read_meaning
from pourbook.exchange.tables.table_files import one_table, read_table
from pourbook.exchange.tables.table_sources import Columns, column_name
from pourbook.exchange.tables.taken import Heard, Surveyed
from pourbook.house_style import HouseStyle
from pourbook.times import day_shown

__all__ = ["MAP_COLUMNS", "Answers", "heard", "map_rows", "to_keep", "unheard"]

MAP_COLUMNS = ("table", "heading", "is", "reading", "found")
_MAP = Columns(("heading", "is"), ("table", "reading", "found"))
_SETTING = "table."
_LONGEST_KEPT = 80


class Answers(NamedTuple):
    """What a person says of tables; a heading may be written with its table before it: `pours.Datum`.

    Attributes:
        map: heading to column, unit and readings (`headings.read_meaning`).
        dates: heading to readings of its dates.
        leave_out: headings of which nothing is taken in.
        map_file: the same as a table, as `map_rows` gave it and a person filled it in.
    """

    map: Mapping[str, str] = {}
    dates: Mapping[str, str] = {}
    leave_out: tuple[str, ...] = ()
    map_file: Path | None = None


def _with_map_file(said: Answers) -> Answers:
    """The answers with those of the map that was filled in, if there is one; what still has a `?` is not said.

    Raises:
        FaultsFound: the map is no such table.
        Malformed: it cannot be read.
    """
    if said.map_file is None:
        return said
    faults = Faults()
    rows = list(read_table(one_table(said.map_file, "map"), _MAP, faults).rows)
    faults.check("map")
    found = {}
    for _, row in rows:
        words = row.get("reading", "").split()
        parts = [row.get("is", "?"), *(word for word in words if "?" not in word)]
        if "?" not in parts[0] and "heading" in row:
            found[f"{row['table']}.{row['heading']}" if "table" in row else row["heading"]] = " ".join(parts)
    return said._replace(map=found | dict(said.map))


def heard(
    columns: Mapping[str, Columns], settings: Mapping[str, str], said: Answers, now_us: int, *, confirmed: bool
) -> dict[str, Heard]:
    """What is known of each table before it is read, by the columns of all that are read together.

    Raises:
        Malformed: what is said, or kept, is no meaning; or it is said of a table that is none of these.
    """
    said = _with_map_file(said)
    style = HouseStyle(settings)
    year = int(day_shown(now_us, style.zone)[:4])
    return {
        table: Heard(table, _meanings(table, columns, settings, said), style.mark, year, confirmed) for table in columns
    }


def _meanings(
    table: str, columns: Mapping[str, Columns], settings: Mapping[str, str], said: Answers
) -> dict[str, Meaning]:
    """What the headings of a table mean, as the book keeps it and as it is said now."""
    prefix = f"{_SETTING}{table}."
    kept = {name.removeprefix(prefix): text for name, text in settings.items() if name.startswith(prefix)}
    found = {heading: read_meaning(text) for heading, text in kept.items() if text}
    others = {column for name, known in columns.items() if name != table for column in known.all}
    for heading, meaning in _said(said):
        of, _, bare = heading.partition(".")
        named = bool(bare) and of in columns
        is_of_another = of != table if named else meaning.column in others and meaning.column not in columns[table].all
        if not is_of_another:
            key = column_name(bare if named else heading)
            before = found.get(key, Meaning())
            found[key] = Meaning(
                meaning.column or before.column, meaning.unit or before.unit, meaning.readings or before.readings
            )
    return found


def _said(said: Answers) -> Iterator[tuple[str, Meaning]]:
    for heading, text in said.map.items():
        yield heading, read_meaning(text)
    for heading in said.leave_out:
        yield heading, Meaning(LEAVE_OUT)
    for heading, text in said.dates.items():
        meaning = read_meaning(text.replace(",", " "))
        if meaning.column or meaning.unit or not set(meaning.readings) <= set(DATE_READINGS):
            raise Malformed(f"'{text}' is not a reading of dates", f"say some of: {', '.join(DATE_READINGS)}")
        yield heading, meaning


def to_keep(tables: Mapping[str, Surveyed], heard: Mapping[str, Heard], settings: Mapping[str, str]) -> dict[str, str]:
    """Settings that keep what was heard of the headings that were found, where the book does not say it yet."""
    found = {}
    for table, surveyed in tables.items():
        typed = {column_name(one.heading) for one in surveyed.headings}
        for heading, meaning in heard[table].meanings.items():
            name = f"{_SETTING}{table}.{heading}"
            goes_without_saying = meaning == Meaning(heading) or len(heading) > _LONGEST_KEPT
            if heading in typed and not goes_without_saying and settings.get(name, "") != str(meaning):
                found[name] = str(meaning)
    return found


def unheard(tables: Iterable[Surveyed], said: Answers) -> str:
    """The first heading of which something was said and that no table has; empty if there is none."""
    typed = {column_name(one.heading) for surveyed in tables for one in surveyed.headings}
    typed |= {column_name(f"{surveyed.table}.{one.heading}") for surveyed in tables for one in surveyed.headings}
    typed.add(column_name(SUB_HEADINGS))
    return next((heading for heading, _ in _said(said) if column_name(heading) not in typed), "")


def map_rows(tables: Mapping[str, Surveyed]) -> list[dict[str, str]]:
    """How every heading was taken, by `MAP_COLUMNS`; empty where nothing must be said or confirmed."""
    if not any(one.is_open for surveyed in tables.values() for one in surveyed.headings):
        return []
    return [
        dict(zip(MAP_COLUMNS, (table, *one[:4]), strict=True))
        for table, surveyed in tables.items()
        for one in surveyed.headings
    ]
