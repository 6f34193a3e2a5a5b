"""Every refusal a user can meet, as one small tree.

    PourbookError                  exit status 1
    ├── Malformed                  text that cannot be read as what it should be
    │   └── Mistyped               an identifier whose check character does not agree
    ├── OutOfRange                 a number outside the domain of the formula, or absurd
    ├── Unknown                    nothing in the book goes by that name
    ├── Ambiguous                  several things go by that name, or a unit was left open
    ├── Refused                    the book's rules say no
    │   ├── ToConfirm              possible but unlikely: each `Question` waits for a person's yes
    │   ├── NotThere               more is taken than the book holds
    │   ├── Held                   the item is on hold
    │   ├── PeriodClosed           the time lies in a closed period
    │   └── InTheWay               later entries depend on what would be taken away
    ├── FaultsFound                data with faults, each a `Fault`
    ├── NotShown                   it was recorded; what came after failed
    └── StoreError                 the file or the disk, not the data
        ├── Damaged                the book does not agree with itself
        ├── NewerBook              written by a later version
        └── NotTaken               it failed while a loop took a line

A message says what was refused, the value, and why; `remedy` says what to do next.
Problems found in *data* (an import, a verification) are values of type `Fault`, collected
and shown together; exceptions are for the single request that cannot be carried out.

>>> raise OutOfRange("strength 124 % vol is above 100", "if it is US proof, write '124 proof'")
Traceback (most recent call last):
    ...
pourbook.errors.OutOfRange: strength 124 % vol is above 100
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from pourbook.texts import said

__all__ = [
    "Ambiguous",
    "Damaged",
    "Fault",
    "FaultsFound",
    "Held",
    "InTheWay",
    "Malformed",
    "Mistyped",
    "NewerBook",
    "NotShown",
    "NotTaken",
    "NotThere",
    "OutOfRange",
    "PeriodClosed",
    "PourbookError",
    "Question",
    "Refused",
    "StoreError",
    "ToConfirm",
    "Unknown",
    "answered",
]


class PourbookError(Exception):
    """A request that cannot be carried out: nothing was changed (but see `NotShown`).

    Attributes:
        message: what was refused, the value, and why; one sentence, without unprintable characters.
        remedy: what to do next; may be empty.
        file: name of the file it is about, without its folder; empty where it is about none.
    """

    exit_status = 1

    def __init__(self, message: str, remedy: str = "", *, file: str = "") -> None:
        self.message, self.remedy = said(message), said(remedy)
        super().__init__(self.message)
        self.file = file


class Malformed(PourbookError):
    """Text that cannot be read as a quantity, a time, an identifier or a file of the stated form."""


class Mistyped(Malformed):
    """Text of the form of an identifier whose check character does not agree."""


class OutOfRange(PourbookError):
    """A number outside the domain of a formula, or absurd."""


class Unknown(PourbookError):
    """Nothing in the book goes by that name."""


class Ambiguous(PourbookError):
    """More than one reading is possible; the message names them."""


class Refused(PourbookError):
    """The rules of the book do not allow it."""


class Question(NamedTuple):
    """What a rule asks before something unlikely is recorded.

    Attributes:
        rule: name of the rule; the entry keeps it once a person has confirmed.
        said: what was typed, what it comes to and what was expected; one sentence.
        remedy: the likely slip.
        values: the figures behind the sentence, as the entry keeps them.
        lacks: what a yes alone leaves open, and how to say it; may be empty.
    """

    rule: str
    said: str
    remedy: str
    values: Mapping[str, str | int] = {}
    lacks: str = ""


class ToConfirm(Refused):
    """It may be right, but is unlikely: a person must confirm.

    Attributes:
        questions: all that is asked.
    """

    def __init__(self, *questions: Question) -> None:
        first, *others = questions
        super().__init__(
            "; ".join(one.said for one in questions), " ".join((first.remedy, *(one.remedy for one in others)))
        )
        self.questions = questions

    @property
    def lacks(self) -> str:
        """What a yes alone leaves open; may be empty."""
        return next((one.lacks for one in self.questions if one.lacks), "")


def answered(asked: Sequence[Question], *, by_person: bool) -> Sequence[Question]:
    """The questions, once a person answered them with yes.

    Raises:
        ToConfirm: nobody did.
        Refused: a person did, and left open what a question lacks.
    """
    if asked and not by_person:
        raise ToConfirm(*asked)
    for question in asked:
        if question.lacks:
            raise Refused(question.said, question.lacks)
    return asked


class NotThere(Refused):
    """More would be taken than the book holds."""


class Held(Refused):
    """The item is on hold."""


class PeriodClosed(Refused):
    """The time lies in a period that has been closed."""


class InTheWay(Refused):
    """Later entries depend on what would be taken away; the message names them.

    Attributes:
        entries: numbers of the entries that would no longer be possible, where they are known.
    """

    def __init__(self, message: str, remedy: str = "", entries: tuple[int, ...] = ()) -> None:
        super().__init__(message, remedy)
        self.entries = entries


class StoreError(PourbookError):
    """The file, the disk or the server, not the data.

    Attributes:
        again: whether the same may well succeed at once: others were writing at the same time.
    """

    again = False


class Damaged(StoreError):
    """The book does not agree with itself."""


class NewerBook(StoreError):
    """The book was written by a later version of pourbook."""


class NotShown(PourbookError):
    """Entries were recorded, and then the answer, or what should follow, failed.

    Attributes:
        entries: numbers of the first and the last entry that stand.
    """

    def __init__(self, entries: tuple[int, int], failure: Exception) -> None:
        first, last = entries
        which = f"as entry {first}" if first == last else f"as entries {first} to {last}"
        is_told = isinstance(failure, PourbookError)
        said = failure.message if isinstance(failure, PourbookError) else f"{type(failure).__name__}: {failure}"
        then = f"do that again: {failure.remedy}; " if isinstance(failure, PourbookError) and failure.remedy else ""
        what = "what follows failed" if is_told else "the answer could not be shown"
        super().__init__(
            f"recorded {which}, but {what}: {said}", f"{then}do not record it again; see it: pourbook journal"
        )
        self.entries = entries


class NotTaken(StoreError):
    """The store failed while a loop took a line: nothing of it was recorded, and all that was before it stands."""


class Fault(NamedTuple):
    """A problem found in data, as a value.

    Attributes:
        file: name of the file, without its folder; empty when not from a file.
        row: line number as a spreadsheet shows it (header is 1); 0 for the file as a whole.
        column: name of the column; empty for the row as a whole.
        value: what was found there.
        problem: what is wrong with it.
        remedy: what to do about it.
    """

    file: str
    row: int
    column: str
    value: str
    problem: str
    remedy: str

    def __str__(self) -> str:
        place = ", ".join(part for part in (self.file, f"row {self.row}" if self.row else "", self.column) if part)
        shown = f" '{self.value}'" if self.value and f"'{self.value}'" not in self.problem else ""
        told = f"{place}:{shown} {self.problem}; {self.remedy}" if place else f"{self.problem}; {self.remedy}"
        return said(told)


class FaultsFound(PourbookError):
    """Data with faults; nothing was changed.

    Attributes:
        faults: every fault found, in the order of the data.
        tables: how each table was taken (`exchange.tables.survey.Surveyed`), by its kind.
    """

    def __init__(
        self, message: str, faults: tuple[Fault, ...], remedy: str = "", tables: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(message, remedy)
        self.faults = faults
        self.tables = tables or {}
