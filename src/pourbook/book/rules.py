"""The rules of entries: what the book records, queries or refuses.

A rule is a function of one case. It returns nothing where the entry may stand, a `Question` where a person
must confirm it, and raises where it is refused. `kinds.py` gives each kind of entry its rules;
`liquid_rules.py` and `gauge_rules.py` have those of liquid.

>>> from pourbook.book.entries import Draft, Note
>>> from pourbook.book.store import Store
>>> somebody_did_it(Case(Known(Store.create(":memory:"), 0), Draft(Note("C000001H", "sound"), 0, " ")))
Traceback (most recent call last):
    ...
pourbook.errors.Malformed: the entry does not name who did it
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from shlex import quote
from typing import Any, NamedTuple, TypeVar

from pourbook.book.book_so_far import Known, checked_key
from pourbook.book.entries import SUBJECTS, Draft, Paper, Void
from pourbook.book.journal import parsed
from pourbook.book.names import instrument_names, is_reserved
from pourbook.book.settings import checked
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, kind_of, refuse_as_ref
from pourbook.errors import Malformed, OutOfRange, PeriodClosed, Question, Refused, Unknown, answered
from pourbook.numerals import read_decimal
from pourbook.texts import briefly, first_unprintable

__all__ = [
    "AHEAD_US", "MOST_CHARACTERS", "MOST_OF_A_TEXT", "OF_EVERY_ENTRY", "Case", "InstrumentCase", "Rule",
    "bottles_are_of_a_usual_size", "bottles_have_a_size", "confirmed", "correction_has_its_reason",
    "declarable_period", "facts_are_text", "hold_has_its_reason", "instrument_is_known", "item_is_known",
    "item_is_new", "not_in_a_closed_period", "not_in_the_future", "nothing_pending", "recall_in_order",
    "recall_not_released", "reservable_numbers", "settings_are_known", "somebody_did_it", "texts_are_plain",
    "units_of_a_lot",
]  # fmt: skip

AHEAD_US = 300_000_000
"""Clocks of two stations may differ by five minutes."""


class Case(NamedTuple):
    """An entry about to be recorded: the book so far, and the draft."""

    known: Known
    draft: Draft

    @property
    def entry(self) -> Any:  # noqa: ANN401 (each rule knows which kind it is for)
        """The entry itself."""
        return self.draft.entry


Rule = Callable[[Case], Question | None]
_Case = TypeVar("_Case")


def confirmed(
    rules: Iterable[Callable[[_Case], Question | None]], case: _Case, *, by_person: bool
) -> list[dict[str, str | int]]:
    """What rules ask of a case, as the journal keeps it once a person confirmed; `ToConfirm` while nobody did.

    Raises:
        Refused: a person confirmed, and left open what the question lacks.
    """
    asked = answered([question for rule in rules if (question := rule(case)) is not None], by_person=by_person)
    return [{"rule": question.rule, **question.values} for question in asked]


# -- of every entry --------------------------------------------------------------------


def somebody_did_it(case: Case) -> None:
    """A person stands behind every entry."""
    if not case.draft.who.strip():
        raise Malformed("the entry does not name who did it", "give --who NAME")


def not_in_the_future(case: Case) -> None:
    """What is recorded has happened."""
    if case.draft.happened_us > case.known.now_us + AHEAD_US:
        when = case.known.time_shown(case.draft.happened_us)
        raise OutOfRange(f"{when} is in the future", "record it once it has happened")


def not_in_a_closed_period(case: Case) -> None:
    """A closed period stays as it is; a correction of it is accounted for in the open one."""
    known, draft = case
    if not known.is_closed(draft.happened_us):
        return
    corrected = known.store.query("SELECT happened FROM entry WHERE number = ?", (draft.replaces,))
    if not (corrected and known.is_closed(corrected[0][0])):
        when, until = known.time_shown(draft.happened_us), known.time_shown(known.closed_until_us or 0)
        raise PeriodClosed(
            f"{when} falls in a period closed at {until}", "record it in the open period, with the reason"
        )


def correction_has_its_reason(case: Case) -> None:
    """Nobody corrects without saying why."""
    draft = case.draft
    if (draft.replaces or isinstance(draft.entry, Void)) and not draft.reason.strip():
        raise Malformed("a correction needs a reason", "give --reason")


def texts_are_plain(case: Case) -> None:
    """A text is one line that every screen and paper shows as it was written, and not longer than its kind may be."""
    draft = case.draft
    texts = _all_texts(draft)
    if len(max(texts, key=len)) <= _LEAST_LIMIT and not first_unprintable("".join(texts)):
        return  # nearly all
    for name, text in _named_texts(draft):
        if unprintable := first_unprintable(text):
            line = unprintable in ("U+000A", "U+000D", "U+0009")
            raise Malformed(
                f"{_NAMED.get(name, name)} has a character that cannot be shown, {unprintable}: '{text}'",
                "write it on one line, without tabs" if line else "type it again, or take that character out",
            )
        if len(text) > (most := MOST_CHARACTERS.get(name, MOST_OF_A_TEXT)) and not isinstance(draft.entry, Paper):
            raise Malformed(
                f"{_NAMED.get(name, name)} has {len(text)} characters, and may have {most}: '{briefly(text, 60)}'",
                "write it shorter, or keep it in a document and note its name",
            )


def _all_texts(draft: Draft) -> list[str]:
    """Every text in a draft, in no order: quick, since an import asks for every row."""
    found: list[str] = []
    left: list[object] = list(draft)
    while left:
        value = left.pop()
        if isinstance(value, str):
            found.append(value)
        elif isinstance(value, tuple):
            left.extend(value)
        elif type(value) not in _WITHOUT_TEXT and isinstance(value, Mapping):
            left.extend(value)
            left.extend(value.values())
    return found


def _named_texts(value: object, name: str = "") -> Iterator[tuple[str, str]]:
    """Every text in an entry, with the name of its field or fact; names of facts are texts, too."""
    if isinstance(value, str):
        yield name, value
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield "a name in it", key
            yield from _named_texts(inner, key)
    elif isinstance(value, tuple):
        names = getattr(value, "_fields", None) or (name,) * len(value)
        for key, inner in zip(names, value, strict=True):
            yield from _named_texts(inner, key)


MOST_OF_A_TEXT = 2_000
"""Characters of a note, a reason or any other text: about a page."""

MOST_CHARACTERS: Mapping[str, int] = {
    "ref": 100, "lot_mark": 100, "name": 200, "who": 200, "login": 200, "where": 200, "place": 200, "a name in it": 300,
    "dip_table": 100_000, "sealed": 100_000,
}  # fmt: skip
"""Characters of texts of other lengths: of names that stand in a line of a table, and of a vat's table (common
practice, no source)."""

_WITHOUT_TEXT = frozenset((int, float, bool, type(None), Fraction, Decimal))  # told quicker than a mapping
_LEAST_LIMIT = min(MOST_CHARACTERS.values())
_NAMED = {
    "who": "the name of who did it", "login": "the login name", "text": "the note", "reason": "the reason",
    "where": "the station",
}  # fmt: skip

OF_EVERY_ENTRY: tuple[Rule, ...] = (
    texts_are_plain, somebody_did_it, not_in_the_future, not_in_a_closed_period, correction_has_its_reason,
)  # fmt: skip


# -- of items and their facts ----------------------------------------------------------


def item_is_known(case: Case) -> None:
    """The item of an entry is in the book."""
    case.known.key(case.entry.id)


def item_is_new(case: Case) -> None:
    """An identifier opens one item, once."""
    identifier = case.entry.id
    checked_key(identifier)
    if not case.known.is_new(identifier):
        raise Refused(f"{hyphened(identifier)} is already in the book", "take a new number")


def facts_are_text(case: Case) -> None:
    """Facts are text, and no outside name looks like an identifier."""
    for name, value in case.entry.facts.items():
        if type(value) is not str:
            raise TypeError(f"fact {name} is {value!r}, not text")
        if name == "ref" and value:
            refuse_as_ref(value)
        if name in ("gtin", "case_gtin") and value:
            from pourbook.codes.gs1 import checked_gtin  # few items have one

            checked_gtin(value)


def bottles_have_a_size(case: Case) -> None:
    """A lot has bottles, and they hold something."""
    facts = case.entry.facts
    if kind_of(case.entry.id) != "lot" or not {"bottles", "size_ml"} & facts.keys():
        return
    from pourbook.book.checked_facts import checked_fact

    checked_fact("size_ml", facts.get("size_ml", ""))
    if facts.get("bottles", "").isdecimal() and not int(facts["bottles"]):
        raise Malformed("a lot needs at least one bottle", "give --count above zero")


def bottles_are_of_a_usual_size(case: Case) -> Question | None:
    """Spirit is sold in the sizes of the law."""
    size = case.entry.facts.get("size_ml")
    if not size or kind_of(case.entry.id) != "lot":
        return None
    from pourbook.gauging.slips import size_question  # few items are lots

    return size_question(float(read_decimal(size)), case.known.mark)


def reservable_numbers(case: Case) -> None:
    """A number is set aside once, and before anything bears it."""
    ids = case.entry.ids
    for index, identifier in enumerate(ids):
        key = checked_key(identifier)
        if identifier in ids[:index] or is_reserved(case.known.store, key) or case.known.is_taken(key):
            raise Refused(f"{hyphened(identifier)} has already been issued", "take a new number")


def units_of_a_lot(case: Case) -> None:
    """Cases and pallets are of a lot, each with a serial number of the house that was never issued."""
    from pourbook.codes.gs1 import checked_prefix, checked_sscc  # only where something is packed

    packed, store = case.entry, case.known.store
    case.known.key(packed.id)
    prefix = checked_prefix(packed.prefix)
    once = len(set(packed.ssccs)) == len(packed.ssccs) > 0
    if kind_of(packed.id) != "lot" or not once or packed.bottles < 1 or packed.cases < 0:
        raise Malformed(f"{hyphened(packed.id)} cannot be packed so", "check lot and counts")
    for sscc in packed.ssccs:
        if checked_sscc(sscc)[1 : 1 + len(prefix)] != prefix:
            raise Malformed(f"SSCC {sscc} is not of company prefix {prefix}", "take the next number of the house")
        if store.query("SELECT 1 FROM unit WHERE sscc = ?", (int(sscc),)):
            raise Refused(f"SSCC {sscc} has already been issued", "take the next number of the house")


def settings_are_known(case: Case) -> None:
    """A setting is one of the list, with a value it can have."""
    checked(case.entry.settings)


def subject_is_known(case: Case) -> None:
    """A note is about anything, or about one of the subjects of a vessel's history."""
    if (subject := case.entry.subject) and subject not in SUBJECTS:
        raise Malformed(f"'{subject}' is not a subject of a note", f"choose from: {', '.join(SUBJECTS)}")


def hold_has_its_reason(case: Case) -> None:
    """Whoever finds an item on hold, or released, can read why."""
    if not (case.draft.reason.strip() or case.entry.recall or case.entry.tasting):
        raise Malformed("a hold and its release need a reason", "give --reason")


class InstrumentCase(NamedTuple):
    """The name of an instrument that something was read with, and the book."""

    store: Store
    name: str


def instrument_is_known(case: InstrumentCase) -> Question | None:
    """What is read with an instrument names one of the house; a house that entered none writes names as text."""
    known = instrument_names(case.store)
    if not known:
        return None
    from difflib import get_close_matches  # only where a name is not found

    lower = {one.lower(): one for one in known}
    near = [lower[one] for one in get_close_matches(case.name.lower(), lower, n=3)] or known[:8]
    return Question(
        "unknown-instrument",
        f"no instrument of the house is called '{case.name}'",
        f"was it {' or '.join(near)}? Enter it: pourbook instrument '{case.name}' --kind ….",
        {"name": case.name},
    )


# -- of periods ------------------------------------------------------------------------


def nothing_pending(case: Case) -> None:
    """No strength is pending in a period that closes."""
    _refuse_pending(case.known.pending(), "the period cannot be closed")


def declarable_period(case: Case) -> None:
    """Figures are declared of a closed period in which nothing is pending."""
    known, end_us = case.known, case.entry.end_us
    if not known.is_closed(end_us - 1):
        shown = known.time_shown(end_us)
        end = shown.rpartition(" ")[0].removesuffix(" 00:00")
        raise Refused(
            f"the period up to {shown} is not closed, so its figures could still change",
            f"close it first: pourbook close --when {quote(end)}",
        )
    _refuse_pending(known.pending(end_us), "the period cannot be declared")


def _refuse_pending(entries: Sequence[int], then: str) -> None:
    if entries:
        numbers, noun = ", ".join(map(str, entries)), "entry" if len(entries) == 1 else "entries"
        raise Refused(
            f"strengths are still pending in {noun} {numbers}, so {then}",
            "replace each with what the laboratory read: pourbook replace NUMBER --strength …",
        )


# -- of recalls ------------------------------------------------------------------------


def recall_in_order(case: Case) -> None:
    """A recall is of something, holds only what is affected; it began after a suspicion, and ended after that."""
    recall = case.entry
    if not recall.scope or not recall.items or not set(recall.held) <= set(recall.items):
        raise Malformed("the recall affects nothing", "name what is suspect; a recall holds only affected items")
    if recall.ended_us < recall.begun_us:
        raise Malformed("the recall ends before it begins", "give --begun and --ended in order")
    if recall.suspected_us is not None and recall.suspected_us > recall.begun_us:
        raise Malformed("the recall begins before anything was suspected", "give --suspected and --begun in order")
    for identifier in recall.items:
        case.known.key(identifier)


def recall_not_released(case: Case) -> None:
    """The holds of a recall end once."""
    number, store = case.entry.recall, case.known.store
    rows = store.query("SELECT bytes FROM entry WHERE number = ? AND kind = 'recall'", (number,))
    if not rows:
        raise Unknown(f"entry {number} is not a recall", "find its number: pourbook recall --list")
    if not parsed(rows[0][0])["body"]["held"]:
        raise Refused(f"recall {number} put nothing on hold", "see: pourbook recall --list")
    for release, bytes_ in store.query(
        "SELECT number, bytes FROM entry WHERE kind = 'release' AND number > ?", (number,)
    ):
        if parsed(bytes_)["body"]["recall"] == number:
            raise Refused(f"recall {number} was released by entry {release}", "see: pourbook recall --list")
