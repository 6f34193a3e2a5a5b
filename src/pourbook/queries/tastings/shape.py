"""The shape of a drink from its tasting notes: of some glasses, or of a blend with its components.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.book.entries import Stage, Taste
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, trial = book.next_id("cask"), book.next_id("trial")
>>> filled = Move("origin", cask, read_amount("200 l"), read_strength("60"))
>>> poured = Pour("pour", (Move(cask, trial, read_amount("60 ml")), Move("water", trial, read_amount("40 ml"))))
>>> note = Taste(cask, "Isla Farrow", stages={"nose": Stage("", {"pear": "4"})})
>>> entries = Item(cask, {"ref": "Q 31"}), Item(trial, {}), Pour("fill", (filled,)), poured, note
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [(one.role, one.called, one.part, one.felt["pear"][0].mean) for one in shape(book, [trial]).profiles]
[('component', 'Q 31', 1.0, 4.0), ('expected', '', 1.0, 4.0)]
"""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from pourbook.book.house_words import house_words, word_form
from pourbook.book.settings import scale
from pourbook.codes.identifiers import GLASSES, hyphened, kind_of
from pourbook.errors import PourbookError, Refused, Unknown
from pourbook.queries.items.called import called
from pourbook.queries.tastings.notes import notes_of
from pourbook.queries.tastings.search import Asked, tastings
from pourbook.queries.tastings.shape_values import Noted, Profile, Role, Shape, expected, gaps, in_order, profile
from pourbook.queries.traces.behind import parts_of, sources_behind
from pourbook.queries.trials.trial_plan import plan_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.tasting_notes import TastingNote

__all__ = ["shape"]

_BLENDED = ("trial", "batch", "lot")


def shape(book: "BookCore", items: Sequence[str], words: Sequence[str] = (), at_us: int | None = None) -> Shape:
    """Glasses one above the other, in some words or in all of their notes, now or as of a moment.

    One blend alone brings its components along, and what is expected of them by their parts as poured (as planned,
    where nothing was poured yet).

    Raises:
        PourbookError: no such item, nobody noted an intensity of any of them, or no note has one of the words.
    """
    found = [book.find(item) for item in items]
    ends = _scale(book)
    parts = _components(book, found[0], at_us) if len(found) == 1 else {}
    components = [_profile(book, item, "component", at_us, part) for item, part in parts.items()]
    tasted = [one for one in (_profile(book, item, "tasted", at_us) for item in found) if one.notes]
    told = [one for one in components if one.notes]
    reckoned = [expected(told, ends[0])] if told else []
    profiles = (*told, *reckoned, *tasted)
    if not profiles:
        raise Refused(
            f"no tasting note of {' or '.join(map(hyphened, found))} has intensities",
            "write them down: pourbook taste ITEM --nose 'pear 4, oak 2' --finish 'oak 3'",
        )
    chosen = _chosen(book, words, in_order(profiles))
    silent = tuple(one for one in components if not one.notes)
    if parts:
        blend = profiles[-1]
        return Shape(ends, chosen, profiles, gaps(blend, told, chosen, ends), silent)
    apart = [(one, [other for other in profiles if other is not one]) for one in profiles]
    weak = tuple(gap for one, others in apart for gap in gaps(one, others, chosen, ends))
    return Shape(ends, chosen, profiles, weak)


def _chosen(book: "BookCore", words: Sequence[str], known: Sequence[str]) -> tuple[str, ...]:
    """The words asked for, each once, as notes write them; in any spelling that the house's list knows."""
    if not words:
        return tuple(known)
    listed, written = house_words(book.store), {word_form(word): word for word in known}
    found = []
    for word in words:
        meant = listed.find(word)
        one = written.get(word_form(meant.word if meant else word))
        if one is None:
            raise Unknown(f"no note of these has the word '{word}'", f"choose from: {', '.join(known)}")
        found.append(one)
    return tuple(dict.fromkeys(found))


def _components(book: "BookCore", item: str, at_us: int | None) -> dict[str, float]:
    """What a blend is made of, water left out, with the part of each by volume; nothing where it is no blend.

    What came from one batch or trial alone is of that one's components.
    """
    while kind_of(item) in _BLENDED:
        volumes = {one: ml for one, ml in _volumes(book, item, at_us).items() if one[0].isupper() and one != item}
        if len(volumes) == 1 and kind_of(next(iter(volumes))) in _BLENDED:
            item = next(iter(volumes))
            continue
        whole = sum(volumes.values())
        return {one: ml / whole for one, ml in volumes.items() if ml}
    return {}


def _volumes(book: "BookCore", item: str, at_us: int | None) -> dict[str, float]:
    volumes: dict[str, float] = {}
    try:
        for part in parts_of(book.store, item, at_us=at_us):
            volumes[part.component] = volumes.get(part.component, 0.0) + part.volume_ml
    except Refused:  # nothing was poured
        try:
            return {pour.component: pour.volume_ml for pour in plan_of(book.store, item).pours}
        except PourbookError:
            return {}
    return volumes


def _profile(book: "BookCore", item: str, role: Role, at_us: int | None, part: float | None = None) -> Profile:
    name = called(book.store, [item])[item] or hyphened(item)
    return profile(_noted(book, item, at_us), item, name, role, part, _scale(book)[0])


def _scale(book: "BookCore") -> tuple[float, float]:
    least, most = scale(book.settings, "intensity_scale")
    return float(least), float(most)


def _noted(book: "BookCore", item: str, at_us: int | None) -> list[Noted]:
    """What notes say of an item in intensities; where nobody noted it, of the same liquid in a glass or in its cask."""
    own = _intensities(notes_of(book, item, at_us))
    if own or kind_of(item) not in ("vial", "cask"):
        return own
    around = [one.note for one in tastings(book, Asked(about=item, until_us=at_us)) if one.how in ("in it", "from it")]
    if kind_of(item) == "vial":
        alone = sources_behind(book.store, item)[1:] == ()
        return _intensities(note for note in around if alone and kind_of(note.item) == "cask")
    glasses = (note for note in around if kind_of(note.item) in GLASSES)
    return _intensities(note for note in glasses if sources_behind(book.store, note.item) == (item,))


def _intensities(notes: "Iterable[TastingNote]") -> list[Noted]:
    found = (
        ({name: stage.words for name, stage in note.stages.items() if stage.words}, note.finish_s) for note in notes
    )
    return [one for one in found if one[0]]
