"""What was tasted as glasses of blends: what each was made of, and what its notes say of one thing.

>>> from pourbook import Book, Item
>>> from pourbook.actions.casks import Filling
>>> from pourbook.actions.happening import Happening
>>> from pourbook.actions.pouring import pour
>>> from pourbook.book.entries import Stage, Taste
>>> from pourbook.quantities import read_amount, read_strength
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> for ref in ("Row 1", "Row 2"):
...     _ = book.take_in_cask(how, {"ref": ref}, Filling(read_amount("200 l"), read_strength("60")))
>>> trial = book.next_id("trial")
>>> _ = how.record(book, Item(trial, {}))
>>> _ = pour(book, how, trial, [("Row 1", read_amount("30 ml")), ("Row 2", read_amount("10 ml"))])
>>> _ = book.write_word(how, "pear", {})
>>> _ = book.taste(how, Taste(trial, stages={"nose": Stage("", {"pear": "3"})}))
>>> found = tasted_blends(book, "pear")
>>> found.glasses.components, found.glasses.blends.round(4).tolist(), found.glasses.response.tolist()
(('C000001H', 'C000002F'), [[0.75, 0.25]], [3.0])
"""

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import STAGES
from pourbook.book.house_words import house_words, word_form
from pourbook.book.tasting_notes import About, TastingNote, notes
from pourbook.codes.identifiers import kind_of
from pourbook.errors import Malformed, Refused, Unknown
from pourbook.mixtures.glasses import Blend, Glasses, blend_of, measured
from pourbook.queries.items.called import called
from pourbook.queries.traces.made_of import By, Composition, Grouping, blended, made_of
from pourbook.queries.trials.near import TRIED, composition_of
from pourbook.queries.trials.trial_plan import recipe_card

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["FIGURES", "TastedBlends", "Tasting", "tasted_blend", "tasted_blends"]

FIGURES = ("liking", "score", "finish")
"""What a note may say beside the intensity of a word; the finish is in seconds."""


class Tasting(NamedTuple):
    """Which notes are wanted, and what their glasses are told apart by.

    Attributes:
        items: identifiers or names of what was tasted; empty: every trial, batch and lot.
        group_by: what the parts of a blend are told apart by.
        without_water: blends are taken as they were before any water was poured in.
        stage: of an intensity; empty: the strongest of all stages.
    """

    items: Sequence[str] = ()
    group_by: Grouping = "cask"
    without_water: bool = False
    stage: str = ""


class TastedBlends(NamedTuple):
    """Glasses of blends, a row for each note.

    Attributes:
        response: what the notes were asked for, as the house's list writes it.
        glasses: what each was made of, what was found, and by whom.
        items: identifier of each.
        silent: how many notes on such items say nothing of it.
        called: what each cask among the components is called beside its identifier.
    """

    response: str
    glasses: Glasses
    items: tuple[str, ...]
    silent: int
    called: Mapping[str, str]


_ALL = Tasting()


def tasted_blends(book: "BookCore", response: str, wanted: Tasting = _ALL) -> TastedBlends:
    """Glasses of which notes say something of a figure (`FIGURES`) or of a word, with its intensity.

    A note that does not name the word says nothing of it: nobody knows whether it was looked for. A blend counts as it
    is, or last was.

    Raises:
        Unknown: no note says anything of it.
        Malformed: no such stage.
        Refused: nothing was ever poured into the blends, or their parts cannot be told apart.
    """
    if wanted.stage and wanted.stage not in STAGES:
        raise Malformed(f"'{wanted.stage}' is not a stage", f"write one of: {', '.join(STAGES)}")
    named = {book.find(one) for one in wanted.items}
    of_blends = [note for note in notes(book.store, About()) if _is_wanted(note, named)]
    word = house_words(book.store).find(response)
    name = response if response in FIGURES or word is None else word.word
    found = [(note, figure) for note in of_blends if (figure := _figure(note, name, wanted.stage)) is not None]
    if not found:
        raise Unknown(f"no note on {'them' if named else 'a blend'} says anything of '{response}'", _remedy(of_blends))
    compositions = made_of(book, dict.fromkeys(note.item for note, _ in found), _told(wanted))
    rows = [(note, figure) for note, figure in found if compositions.get(note.item)]
    if not rows:
        raise Refused("nothing was ever poured into what was tasted", "pour into it first, or name other items")
    components = _components(compositions.values())
    if len(components) < 2:
        raise Refused(f"all that was tasted is of one {wanted.group_by}", "tell parts apart by something else")
    glasses = measured(
        components,
        [[compositions[note.item].get(part, 0.0) for part in components] for note, _ in rows],
        [figure for _, figure in rows],
        [note.assessor for note, _ in rows],
    )
    names = called(book.store, components) if wanted.group_by == "cask" else {}
    return TastedBlends(name, glasses, tuple(note.item for note, _ in rows), len(of_blends) - len(rows), names)


def tasted_blend(book: "BookCore", blend: str, components: Sequence[str], wanted: Tasting = _ALL) -> Blend:
    """A blend by the components of a model: an item as it is, last was, or is planned; or a recipe.

    Raises:
        Unknown: there is no such item or recipe.
        Malformed: it has a part that no glass of the model had.
    """
    try:
        return blend_of(components, composition_of(book, book.find(blend), _told(wanted)))
    except Unknown as no_item:
        try:
            card = recipe_card(book, blend)
        except Unknown:
            raise no_item from None
    parts = {name: float(part) for name, part in card.fractions.items()}
    return blend_of(components, blended(book, parts, _told(wanted)))


def _is_wanted(note: TastingNote, named: Collection[str]) -> bool:
    return note.item in named if named else bool(note.item) and kind_of(note.item) in TRIED


def _figure(note: TastingNote, name: str, stage: str) -> float | None:
    if name in FIGURES:
        figure = note.finish_s if name == "finish" else getattr(note, name)
        return None if figure is None else float(figure)
    form = word_form(name)
    stages = (one for at, one in note.stages.items() if not stage or at == stage)
    return max((found for one in stages for word, found in one.words.items() if word_form(word) == form), default=None)


def _remedy(of_blends: Sequence[TastingNote]) -> str:
    words = sorted({word for note in of_blends for one in note.stages.values() for word in one.words})
    return f"they say something of: {', '.join(words[:12])}" if words else f"write one of: {', '.join(FIGURES)}"


def _told(wanted: Tasting) -> By:
    return By(wanted.group_by, wanted.without_water)


def _components(compositions: "Collection[Composition]") -> tuple[str, ...]:
    """Every part, those first of which there was most."""
    found: dict[str, float] = {}
    for one in compositions:
        for name, part in one.items():
            found[name] = found.get(name, 0.0) + part
    return tuple(sorted(found, key=lambda name: (-found[name], name)))
