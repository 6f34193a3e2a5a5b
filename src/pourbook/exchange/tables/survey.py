"""A house's own table looked through before it is read: where its headings are, what they mean, how its cells are read.

What the book knows or a person has said counts; what is left open is asked once for each column, with the words
that answer it. Whatever is passed over is named.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction
from itertools import chain, islice

from pourbook.errors import Fault, Malformed
from pourbook.exchange.tables.column_forms import DateColumn, NumberColumn, rows_named
from pourbook.exchange.tables.headings import (
    LEAVE_OUT,
    SUB_HEADINGS,
    Meaning,
    checked_meaning,
    near,
    suggested,
)
from pourbook.exchange.tables.table_sources import Columns, Source, column_name
from pourbook.exchange.tables.taken import Heading, Heard, Surveyed
from pourbook.exchange.tables.totals import ADDITIVE, BEGINS_TOTALS, Record, Totals, is_of_totals
from pourbook.numerals import as_decimal, counted, read_decimal
from pourbook.quantities import UNITS, unit_named

__all__ = ["MOST_ABOVE", "likeness", "surveyed"]

MOST_ABOVE = 30
"""Rows among which the headings are looked for (common practice, no source)."""

_EXAMPLES = 3


def likeness(cells: Iterable[str], columns: Columns, meanings: Mapping[str, Meaning]) -> int:
    """How many cells of a row are headings: columns, words with a meaning, words of the trade."""
    known = columns.all
    return sum(
        1 for cell in cells if cell.strip() and (column_name(cell) in meanings or suggested(cell, known) is not None)
    )


def surveyed(
    source: Source, columns: Columns, reading: Callable[[], Iterator[Record]], heard: Heard
) -> Surveyed | None:
    """Look through a table, which `reading` begins to read; None where there is no row in it."""
    records = reading()
    first = [(number, [cell.strip(" \t\ufeff") for cell in cells]) for number, cells in islice(records, MOST_ABOVE)]
    filled = [(number, cells) for number, cells in first if any(cells)]
    if not filled:
        return None
    scores = [likeness(cells, columns, heard.meanings) for _, cells in filled]
    best = max(scores)
    # A single word may be a heading or not: below the first row, more than one must be.
    place = scores.index(best) if best > max(1, scores[0]) else 0
    number, heading_cells = filled[place]
    survey = _Survey(source, columns, heard, number, heading_cells)
    survey.above(filled[:place])
    rest = (record for record in first if record[0] > number)
    survey.look_through(chain(rest, records))
    survey.check_totals(reading)
    return survey.done()


class _Place:
    """What is known of one place of the table: its heading and what it means."""

    def __init__(self, heading: str, columns: Columns, heard: Heard) -> None:
        self.heading = heading
        self.filled = 0
        self.examples: list[str] = []
        self.problem, self.remedy = "", ""
        said = heard.meanings.get(column_name(heading), Meaning()) if heading else Meaning()
        own = Meaning(column_name(heading)) if column_name(heading) in columns.all else None
        self.suggestion = own or suggested(heading, columns.all) or near(heading, columns.all) if heading else None
        self.is_guess = self.suggestion is not None and not own and suggested(heading, columns.all) is None
        if not said.column and own:
            said = said._replace(column=own.column)
        self.meaning: Meaning | None = None
        if said.column:
            try:
                self.meaning = checked_meaning(said, columns.all)
            except Malformed as refusal:
                self.problem, self.remedy = refusal.message, refusal.remedy
        elif self.suggestion:
            self.suggestion = self.suggestion._replace(readings=said.readings)
        taken = self.taken
        self.form: DateColumn | NumberColumn | None = None
        if taken and taken.column in columns.dates:
            self.form = DateColumn(taken.readings, heard.this_year)
        elif taken and taken.column in columns.numbers:
            self.form = NumberColumn(taken.readings, heard.mark)

    def suggest_nothing(self) -> None:
        """What it would be is another column already."""
        self.suggestion, self.form, self.is_guess = None, None, False

    @property
    def taken(self) -> Meaning | None:
        """The meaning, or what it is taken for until a person has said."""
        return self.meaning or self.suggestion

    @property
    def column(self) -> str:
        """The column that it fills; empty for none."""
        return "" if self.taken is None or self.taken.column == LEAVE_OUT else self.taken.column

    @property
    def is_watched(self) -> bool:
        """Whether its cells say how they are read, or must be described."""
        return self.form is not None or self.meaning is None or column_name(self.heading) != self.meaning.column

    def see(self, number: int, cell: str) -> None:
        """Look at one cell."""
        self.filled += 1
        if len(self.examples) < _EXAMPLES and cell not in self.examples:
            self.examples.append(cell)
        if self.form:
            self.form.see(number, cell)

    def found(self) -> str:
        """What stands below the heading, in words."""
        if self.form and (told := self.form.told()):
            return told
        return f"{counted(self.filled, 'cell')}, such as {', '.join(self.examples)}" if self.examples else "blank"

    def answered(self) -> Heading:
        """The heading, with what must still be said."""
        if self.meaning is None:
            guess = f"? {self.suggestion.column}" if self.is_guess and self.suggestion else "?"
            meaning = self.suggestion.column if self.suggestion and not self.is_guess else guess
        else:
            meaning = self.meaning.column
        asks = self.form.asks() if self.form and self.column else ""
        taken = self.taken
        if taken and isinstance(self.form, DateColumn) and self.column:
            taken = taken._replace(readings=self.form.readings)
        reading = " ".join(filter(None, (taken.reading if taken else "", asks)))
        return Heading(self.heading, meaning, reading, self.found(), self.meaning is None or bool(asks))

    def converted(self, mark: str) -> Callable[[str], str] | None:
        """What turns its cells into what the book reads; None where they are that already."""
        unit = self.taken.unit if self.taken else ""
        form = self.form.converted() if self.form else None
        if not unit:
            return form
        if self.column == "capacity_l" or self.column == "tare_kg":
            into = UNITS["l" if self.column == "capacity_l" else "kg"].factor
            with_unit = _in_own_unit(unit_named(unit).factor / into, mark)
        else:
            with_unit = lambda text: f"{text} {unit}" if text[-1:].isdigit() else text  # noqa: E731
        return with_unit if form is None else lambda text: with_unit(form(text))


def _in_own_unit(factor: Fraction, mark: str) -> Callable[[str], str]:
    def converted(text: str) -> str:
        try:
            own = as_decimal(Fraction(read_decimal(text, mark)) * factor)
        except Malformed:
            return text
        return f"{own:.6f}".rstrip("0").rstrip(".").replace(".", mark)

    return converted


class _Survey:
    """Gathers what is seen of a table."""

    def __init__(self, source: Source, columns: Columns, heard: Heard, row: int, cells: list[str]) -> None:
        self._source, self._columns, self._heard, self._row, self._cells = source, columns, heard, row, cells
        self._places = [_Place(cell, columns, heard) for cell in cells]
        taken = {place.meaning.column for place in self._places if place.meaning}
        for place in self._places:
            if place.meaning is None and place.suggestion:
                if place.suggestion.column in taken:
                    place.suggest_nothing()
                taken.add(place.column)
        self._passed_over: dict[int, str] = {}
        self._single: list[tuple[int, int, str]] = []
        self._fuller = False
        self._totals: dict[int, list[str]] = {}
        self._faults: list[Fault] = []
        names = [place.column for place in self._places]
        self._called = names.index(columns.required[0]) if columns.required[0] in names else -1

    def above(self, records: Iterable[Record]) -> None:
        """Rows before the headings."""
        for number, cells in records:
            self._passed_over[number] = f"above the headings: {' '.join(filter(None, cells))}"

    def look_through(self, records: Iterator[Record]) -> None:
        """Every row below the headings."""
        width, called = len(self._places), max(self._called, 0)
        watched = [(at, place.see) for at, place in enumerate(self._places) if place.is_watched]
        heading, begins = self._cells[called], ("", *BEGINS_TOTALS)
        for number, cells in records:
            # A row like most others is looked at in as few steps as can be: there may be millions.
            if len(cells) - cells.count("") < 3 or len(cells) < width or cells[called][:1] in begins:
                stripped = [cell.strip() for cell in cells]
                if len(cells) < width and self._source.sheet:
                    stripped += [""] * (width - len(cells))
                if not any(stripped) or self._is_none_of_the_table(number, stripped):
                    continue
            elif cells[called] == heading and cells[:width] == self._cells:
                self._passed_over[number] = "the headings again"
                continue
            self._fuller = True
            for at, see in watched:
                if at < len(cells) and (cell := cells[at].strip()):
                    see(number, cell)

    def _is_none_of_the_table(self, number: int, cells: list[str]) -> bool:
        """Whether a row is of headings, of totals or a single cell, which is kept for later."""
        width, called = len(self._places), self._called
        if cells[:width] == self._cells:
            self._passed_over[number] = "the headings again"
        elif 0 <= called < len(cells) and is_of_totals(cells, called):
            self._totals[number] = cells
        elif width > 2 and len(cells) >= width and len(cells) - cells.count("") == 1 and (cells[0] or cells[called]):
            at = 0 if cells[0] else called
            self._single.append((number, at, cells[at]))
        else:
            return False
        return True

    def check_totals(self, reading: Callable[[], Iterator[Record]]) -> None:
        """Add up what rows of totals add up: a second look, only where there is one."""
        if not self._totals:
            return
        additive = {
            at: (place.heading, place.converted(self._heard.mark))
            for at, place in enumerate(self._places)
            if place.column in ADDITIVE
        }
        totals = Totals(self._source.name, additive, self._called, self._columns.required[0], self._heard)
        below = (record for record in reading() if record[0] > self._row and record[0] not in self._passed_over)
        for number, told, fault in totals.checked(self._totals, below):
            self._passed_over[number] = told
            self._faults += [fault] if fault else []

    # -- what comes of it ------------------------------------------------------------------

    def done(self) -> Surveyed:
        """All of it together."""
        headings, faults = [], self._faults
        for at, place in enumerate(self._places):
            if place.heading or place.filled:
                heading = place.answered()
                headings.append(heading)
                faults += self._faults_of(at, place)
        lacking = self._lacking()
        faults += [
            Fault(self._source.name, self._row, name, "", "the column is missing", f"add a column '{name}'")
            for name in lacking
        ]
        sub_column, sub_headings, asked = self._sub_headings()
        headings += asked
        faults += [self._fault_of_sub_headings(sub_headings)] if asked and asked[0].is_open else []
        names = tuple(place.column for place in self._places)
        converted = {}
        for at, place in enumerate(self._places):
            converter = place.converted(self._heard.mark)
            if converter and names[at]:
                converted[at] = converter
        dates = tuple(at for at in converted if isinstance(self._places[at].form, DateColumn))
        return Surveyed(
            self._heard.table, self._source.name, self._row, tuple(self._cells), names, lacking, converted,
            dates, self._passed_over, sub_headings, sub_column, tuple(headings), tuple(faults),
        )  # fmt: skip

    def _faults_of(self, at: int, place: _Place) -> Iterator[Fault]:
        name, shown = self._source.name, place.heading
        before = [column_name(cell) for cell in self._cells[:at]]
        known = self._columns.all
        if not shown:
            yield Fault(name, self._row, "", "", f"column {at + 1} has no name", "name it, or delete the column")
        elif place.problem:
            yield Fault(name, self._row, shown, shown, place.problem, place.remedy)
        elif place.column and column_name(shown) in before:
            yield Fault(name, self._row, shown, shown, "the column appears twice", "keep one")
        elif place.column and place.column in (one.column for one in self._places[:at]):
            problem = f"would be a second column '{place.column}'"
            yield Fault(name, self._row, shown, shown, problem, f'keep one, or say --leave-out "{shown}"')
        elif place.meaning is None:
            if place.suggestion:
                remedy = f'if it is that, say --map "{shown}={place.suggestion}"; if not, --leave-out "{shown}"'
            else:
                remedy = f'say --map "{shown}=COLUMN" or --leave-out "{shown}"; columns are: {", ".join(known)}'
            yield Fault(name, self._row, shown, shown, "is not a column known here", remedy)
        if place.form and place.column and (asked := place.form.question(shown)):
            yield Fault(name, asked.row, shown, asked.value, asked.problem, asked.remedy)

    def _lacking(self) -> tuple[str, ...]:
        """Columns that are needed and not there."""
        names = {place.column for place in self._places}
        if any(place.taken.unit for place in self._places if place.taken and place.column in ("quantity", "amount")):
            names.add("unit")
        return tuple(name for name in self._columns.required if name not in names)

    def _sub_headings(self) -> tuple[str, dict[int, str], list[Heading]]:
        """The column that sub-headings fill, their rows, and what is asked of them, if there are any."""
        said = self._heard.meanings.get(column_name(SUB_HEADINGS), Meaning())
        column = said.column if said.column in self._columns.all else ""
        # Where no row has more than a name, names are all that is known of the items.
        if not self._fuller or column == self._columns.required[0]:
            for number, at, text in self._single:
                self._places[at].see(number, text)
            return "", {}, []
        found = {number: text for number, _, text in self._single}
        if not found:
            return "", found, []
        examples = ", ".join(f"row {row}: {text}" for row, text in islice(found.items(), _EXAMPLES))
        guess = "place" if "place" in self._columns.all else LEAVE_OUT
        told = f"{counted(len(found), 'row')} with a single cell, {examples}"
        is_open = column == "" and said.column != LEAVE_OUT
        return column, found, [Heading(SUB_HEADINGS, f"? {guess}" if is_open else said.column, "", told, is_open)]

    def _fault_of_sub_headings(self, found: Mapping[int, str]) -> Fault:
        row, text = next(iter(found.items()))
        others = f", and so with {rows_named(list(found)[1:])}" if len(found) > 1 else ""
        guess = "place" if "place" in self._columns.all else self._columns.optional[0]
        return Fault(
            self._source.name, row, "", text, f"has a single cell{others}: a sub-heading?",
            f'if what is below it has it as its {guess}, say --map "{SUB_HEADINGS}={guess}"; if it says nothing,'
            f' --leave-out "{SUB_HEADINGS}"; if it is a row of its own, {SUB_HEADINGS}={self._columns.required[0]}',
        )  # fmt: skip
