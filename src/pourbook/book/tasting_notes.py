"""Tasting notes as they are read: figures are numbers, and an item that was blind is known once it was revealed.

>>> from pourbook import Book, Draft, Item
>>> from pourbook.book.entries import Stage, Taste
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> note = Taste(cask, "Isla Farrow", stages={"nose": Stage("a little shy", {"pear": "4"})}, score="82")
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item(cask, {}), note)))
>>> [found] = notes(book.store, About(item=cask))
>>> found.assessor, found.stages["nose"].words, found.score
('Isla Farrow', {'pear': 4.0}, 82.0)
>>> note_words(found)
('nose: pear 4; a little shy', 'score 82')
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from pourbook.book.journal import parsed
from pourbook.book.stages import STAGES
from pourbook.book.store import Row, Store
from pourbook.book.tasting_search import About, conditions
from pourbook.codes.identifiers import of_key
from pourbook.numerals import with_mark

__all__ = ["About", "StageNote", "TastingNote", "note_of", "note_words", "notes", "stage_words"]


_ALL = About()


class StageNote(NamedTuple):
    """What was found at one stage: free words, and words with their intensities, the strongest first."""

    text: str
    words: Mapping[str, float]


class TastingNote(NamedTuple):
    """A tasting note that counts.

    Attributes:
        entry: its number.
        item: what was tasted; empty while it is blind.
        happened_us: when.
        who: who recorded it.
        assessor: who tasted.
        text: free words about the whole.
        stages: by the words of `STAGES`, in their order, those with something in them.
        strength_vol: as tasted, % vol at 20 °C; None where nobody said, like the other figures.
        temperature_c: of the glass.
        amount_ml: in the glass, where it was a volume.
        finish_s: how long it stayed.
        missing: what there should be more of.
        too_much: what there should be less of.
        liking: on the house's scale.
        score: on the house's scale.
        off_notes: faults, as the house's list writes them.
        session: the tasting session, and `code`, that of the glass in it; empty where it was none.
        code: see `session`.
        blind: whether the assessor did not know what it was.
        rank: its place among the glasses of the session, 1 the first; 0 where it was given none.
    """

    entry: int
    item: str
    happened_us: int
    who: str
    assessor: str
    text: str
    stages: Mapping[str, StageNote]
    strength_vol: float | None
    temperature_c: float | None
    amount_ml: float | None
    finish_s: int | None
    missing: str
    too_much: str
    liking: float | None
    score: float | None
    off_notes: tuple[str, ...]
    session: str
    code: str
    blind: bool
    rank: int = 0


def notes(store: Store, about: About = _ALL, last: int | None = None) -> Iterator[TastingNote]:
    """Notes that count, in the order the glasses were tasted; memory flat. With `last`, so many of the last of them."""
    wanted, values = conditions(about)
    question = (
        "SELECT tasting.entry, tasting.item, tasting.happened, entry.bytes"
        f" FROM tasting CROSS JOIN entry ON entry.number = tasting.entry WHERE {wanted} ORDER BY"
    )
    if last is None:
        rows: Iterable[Row] = store.stream(f"{question} tasting.happened, tasting.place", values)
    else:
        latest = f"{question} tasting.happened DESC, tasting.place DESC LIMIT ?"
        rows = reversed(store.query(latest, (*values, last)))
    for number, key, happened_us, text in rows:
        entry = parsed(text)
        yield note_of(entry["body"], number, "" if key is None else of_key(key), happened_us, entry["who"])


def note_of(body: Mapping[str, Any], number: int, item: str, happened_us: int, who: str) -> TastingNote:
    """A note from the body of its entry."""
    told = body.get("stages", {})
    stages = {stage: _stage(told[stage]) for stage in STAGES if stage in told}
    return TastingNote(
        number, item, happened_us, who, body["assessor"], body.get("text", ""), stages,
        _strength_vol(body["strength"]) if "strength" in body else None,
        _celsius(body["temperature"]) if "temperature" in body else None,
        _millilitres(body["amount"]) if "amount" in body else None,
        body.get("finish_s"), body.get("missing", ""), body.get("too_much", ""),
        _number(body["liking"]) if "liking" in body else None,
        _number(body["score"]) if "score" in body else None,
        tuple(body.get("off_notes", ())), body.get("session", ""), body.get("code", ""), "blind" in body,
        body.get("rank", 0),
    )  # fmt: skip


def _stage(told: Mapping[str, Any]) -> StageNote:
    words = {word: _number(typed) for word, typed in told.get("words", {}).items()}
    return StageNote(told.get("text", ""), dict(sorted(words.items(), key=lambda one: (-one[1], one[0]))))


def _number(typed: str) -> float:
    return float(with_mark(typed, "."))


def _strength_vol(typed: str) -> float:
    from pourbook.gauging.as_typed import strength_again  # most glasses are tasted as they are

    strength = strength_again(typed)
    if strength.scale == "vol20":
        return float(strength.value)
    from pourbook.alcoholometry.strength import mass_fraction, strength_from_mass_fraction

    return strength_from_mass_fraction(mass_fraction(strength))


def _celsius(typed: str) -> float:
    from pourbook.gauging.as_typed import celsius_again

    return celsius_again({"temperature": typed})


def _millilitres(typed: str) -> float | None:
    from pourbook.gauging.as_typed import amount_again

    amount = amount_again(typed)
    return float(amount.volume_ml) if amount.dimension == "volume" else None


def note_words(note: TastingNote, mark: str = ".") -> tuple[str, ...]:
    """What was found, part by part: the stages, the whole, what is missing or too much, and the figures."""
    parts = [f"{name}: {said}" for name, one in note.stages.items() if (said := stage_words(one, mark))]
    if note.finish_s is not None:
        parts.append(f"stayed {note.finish_s} s")
    if note.text:
        parts.append(note.text)
    for name, said in (("missing", note.missing), ("too much", note.too_much)):
        parts += [f"{name}: {said}"] if said else []
    for name, figure in (("liking", note.liking), ("score", note.score)):
        parts += [] if figure is None else [f"{name} {_figure(figure, mark)}"]
    parts += [f"rank {note.rank}"] if note.rank else []
    if note.off_notes:
        parts.append(f"off-note: {', '.join(note.off_notes)}")
    glass = [
        f"{_figure(figure, mark)} {unit}"
        for figure, unit in (
            (note.strength_vol, "% vol"), (note.temperature_c, "°C"), (note.amount_ml, "ml"),
        )
        if figure is not None
    ]  # fmt: skip
    glass += ["blind"] if note.blind else []
    return (*parts, f"tasted {', '.join(glass)}") if glass else tuple(parts)


def stage_words(stage: StageNote, mark: str) -> str:
    """What was found at a stage, as it is typed."""
    words = ", ".join(f"{word} {_figure(intensity, mark)}" for word, intensity in stage.words.items())
    return "; ".join(filter(None, (words, stage.text)))


def _figure(value: float, mark: str) -> str:
    return with_mark(f"{value:.10g}", mark)
