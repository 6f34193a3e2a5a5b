"""A batch beside its trial or a reference as it was tasted: attributes by those who tasted both, tests of the two.

An attribute is met where nobody can tell it apart, or it is ahead; it is unknown where fewer than two tasted both. A
test shows likeness where it is one of the whole glass, with the power that it had for that.
"""

from collections.abc import Iterable, Iterator, Mapping
from statistics import fmean
from typing import TYPE_CHECKING

from pourbook.book.contents import EVER
from pourbook.book.entries import Ground
from pourbook.book.journal import entry_of
from pourbook.book.lineages import drawn_since
from pourbook.book.sessions import sessions
from pourbook.book.tasting_notes import About, notes
from pourbook.codes.identifiers import key_of, kind_of, of_key
from pourbook.queries.tastings.session_plan import USUAL_D_PRIME
from pourbook.queries.traces.behind import behind
from pourbook.queries.trials.opinions import Values, how_far_ahead
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.sessions import Opened
    from pourbook.book.store import Store
    from pourbook.queries.tastings.session_report import Answered

__all__ = ["glasses_of", "tasted_grounds"]

_FIGURES = ("score", "liking")
"""More of these is better; of a word, more is as far off as less."""

_OF_THE_WHOLE = ("triangle", "duo-trio", "tetrad")
"""Tests in which any difference answers, so that one of likeness can be made of them."""

_WHOLE = 1 - 1e-9


def glasses_of(store: "Store", item: str) -> frozenset[str]:
    """An item and the vials that hold nothing else: a note on one of them is a note on it."""
    vials = {of_key(key) for key, _, _ in drawn_since(store, key_of(item), -EVER) if kind_of(of_key(key)) == "vial"}
    return frozenset((item, *(vial for vial in vials if _is_wholly(store, vial, item))))


def _is_wholly(store: "Store", vial: str, item: str) -> bool:
    first = behind(store, vial)[0]
    return first.source == item and first.share >= _WHOLE


def tasted_grounds(book: "BookCore", item: str, trial: str, beside: str, at_us: int | None = None) -> Iterator[Ground]:
    """Attributes and tests of an item beside a trial and a reference; either may be empty."""
    sides = {name: glasses_of(book.store, one) for name, one in (("trial", trial), ("reference", beside)) if one}
    own = glasses_of(book.store, item)
    if sides:
        yield from _attributes(book.store, own, sides, at_us)
        yield from _tests(book, own, sides, at_us)


# -- attributes --------------------------------------------------------------------------


def _attributes(
    store: "Store", own: frozenset[str], sides: Mapping[str, frozenset[str]], at_us: int | None
) -> Iterator[Ground]:
    found = _by_attribute(store, own, at_us)
    others = {name: _by_attribute(store, items, at_us) for name, items in sides.items()}
    for attribute, values in found.items():
        beside = {name: one[attribute] for name, one in others.items() if attribute in one}
        if not beside:
            continue
        told = {"actual": _mean(values)} | {name: _mean(one) for name, one in beside.items()}
        apart = how_far_ahead(values, "", next(iter(beside.values())))
        if apart.band is None:
            stands = "unknown"
        elif abs(apart.ahead) <= apart.band or (attribute in _FIGURES and apart.ahead > 0):
            stands = "met"
        else:
            stands = "not met"
        told |= {"apart": f"{apart.ahead:.2f}", "tasters": str(apart.both)}
        told |= {} if apart.band is None else {"band": f"{apart.band:.2f}"}
        yield Ground("attribute", attribute, stands, told)


def _by_attribute(store: "Store", items: Iterable[str], at_us: int | None) -> dict[str, Values]:
    """Score, liking and every word to what each taster gave it, in order of time."""
    found: dict[str, dict[str, tuple[float, ...]]] = {}
    until_us = EVER if at_us is None else at_us
    for note in notes(store, About(keys=[key_of(item) for item in items], until_us=until_us)):
        given = {name: getattr(note, name) for name in _FIGURES}
        for stage in note.stages.values():
            for word, intensity in stage.words.items():
                given[word] = max(intensity, given.get(word) or 0.0)
        for attribute, value in given.items():
            if value is not None:
                by_taster, taster = found.setdefault(attribute, {}), lookup_form(note.assessor)
                by_taster[taster] = (*by_taster.get(taster, ()), float(value))
    return dict(found)


def _mean(values: Values) -> str:
    """Every taster counts once."""
    return f"{fmean(map(fmean, values.values())):.2f}"


# -- tests -------------------------------------------------------------------------------


def _tests(
    book: "BookCore", own: frozenset[str], sides: Mapping[str, frozenset[str]], at_us: int | None
) -> Iterator[Ground]:
    for opened in sessions(book.store):
        ids = set(opened.session.ids)
        side = next((name for name, items in sides.items() if ids & own and ids & items and ids <= own | items), "")
        if opened.session.test and side and _was_closed(book.store, opened, at_us):
            from pourbook.queries.tastings.session_report import session_report

            answered = session_report(book, opened.session.name).test
            if answered is not None:
                yield _test(opened.session.name, side, answered)


def _was_closed(store: "Store", opened: "Opened", at_us: int | None) -> bool:
    return not opened.is_open and (at_us is None or entry_of(store, opened.revealed).happened_us <= at_us)


def _test(session: str, side: str, found: "Answered") -> Ground:
    """Alike, different, or neither shown; the power is that of likeness where there is no difference at all."""
    from pourbook.panels.discrimination import difference, judged, likeness

    told = {"method": found.test, "beside": side, "answered": str(found.answered), "right": str(found.right)}
    if not found.answered:
        return Ground("test", session, "unknown", told)
    apart = judged(difference(found.test, d_prime=USUAL_D_PRIME), found.answered, found.right)
    told |= {"p_different": f"{apart.p_value:.4f}", "d_prime": f"{min(apart.d_prime, 9.99):.2f}"}
    verdict = apart.verdict
    if found.test in _OF_THE_WHOLE:
        alike = judged(likeness(found.test, d_prime=USUAL_D_PRIME), found.answered, found.right)
        told |= {"limit": f"{USUAL_D_PRIME:g}", "p_alike": f"{alike.p_value:.4f}", "power": f"{alike.plan.power:.4f}"}
        verdict = alike.verdict if verdict != "different" else verdict
    stands = {"alike": "met", "different": "not met"}.get(verdict, "unknown")
    return Ground("test", session, stands, {**told, "verdict": verdict})
