"""What notes say of the spirit that lies in casks now: words with their intensities, and faults.

A note counts that was made of the cask in its present fill, or of a vial of it alone that was drawn since. A word has
the mean of the notes that name it, each by its strongest stage: who does not name it, says nothing of it.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.book.entries import Stage, Taste
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, read_amount("200 l"), read_strength("60")),))
>>> notes = [Taste(cask, who, stages={"nose": Stage("", {"pear": much})}) for who, much in (("A", "4"), ("B", "3"))]
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item(cask, {}), fill, *notes)))
>>> noted_of_casks(book, {cask: 0})
{'C000001H': NotedOf(words={'pear': 3.5}, faults=())}
"""

from collections.abc import Iterable, Mapping
from statistics import fmean
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import ledger
from pourbook.book.tasting_notes import About, notes
from pourbook.book.tasting_search import has_notes
from pourbook.codes.identifiers import key_of, kind_of
from pourbook.queries.traces.behind import sources_behind
from pourbook.queries.traces.trace import trace_forward

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.tasting_notes import TastingNote

__all__ = ["NotedOf", "mean_words", "noted_of_blend", "noted_of_casks"]


class NotedOf(NamedTuple):
    """Words, each with the mean of its intensities, and `faults` as they were noted."""

    words: Mapping[str, float]
    faults: tuple[str, ...]


def noted_of_casks(book: "BookCore", since_us: Mapping[str, int]) -> dict[str, NotedOf]:
    """What notes say of casks, each with the moment when its present fill began; a cask without notes is left out."""
    if not has_notes(book.store):
        return {}
    found: dict[str, list[TastingNote]] = {}
    behind: dict[str, tuple[str, int]] = {}
    for note in notes(book.store, About()):
        if note.item and note.item not in behind:
            behind[note.item] = _cask_of(book, note.item)
        cask, drawn_us = behind.get(note.item, ("", 0))
        if cask in since_us and min(drawn_us or note.happened_us, note.happened_us) >= since_us[cask]:
            found.setdefault(cask, []).append(note)
    return {
        cask: NotedOf(mean_words(of), tuple(dict.fromkeys(one for note in of for one in note.off_notes)))
        for cask, of in found.items()
    }


def noted_of_blend(book: "BookCore", blend: str) -> dict[str, float]:
    """What notes on a trial, or on a batch and its lots, say: each word with its mean."""
    if not has_notes(book.store):
        return {}
    lots = (one.item for one in trace_forward(book, blend).items) if kind_of(blend) == "batch" else ()
    items = [blend, *(lot.id for lot in lots if lot.kind == "lot")]
    return mean_words(note for item in items for note in notes(book.store, About(item=item)))


def mean_words(of: "Iterable[TastingNote]") -> dict[str, float]:
    """Words of notes, each with the mean over those that name it."""
    figures: dict[str, list[float]] = {}
    for note in of:
        strongest: dict[str, float] = {}
        for stage in note.stages.values():
            for word, intensity in stage.words.items():
                strongest[word] = max(intensity, strongest.get(word, 0.0))
        for word, intensity in strongest.items():
            figures.setdefault(word, []).append(intensity)
    return {word: fmean(found) for word, found in figures.items()}


def _cask_of(book: "BookCore", item: str) -> tuple[str, int]:
    """The cask that was tasted; of a vial of one cask alone, that, and when it was drawn. Of anything else nothing."""
    if kind_of(item) == "cask":
        return item, 0
    if kind_of(item) != "vial":
        return "", 0
    sources = sources_behind(book.store, item, outside=True)
    rows = ledger(book.store, key_of(item))
    if len(sources) != 1 or kind_of(sources[0]) != "cask" or not rows:
        return "", 0
    return sources[0], rows[0].happened_us
