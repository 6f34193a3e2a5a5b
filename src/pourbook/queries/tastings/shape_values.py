"""The shape of a drink: how strong each word of its tasting notes is, from the nose to the end of the finish.

A word that a note leaves out of a stage that it describes counts as nothing there; a stage that it does not
describe is not known from it. What is expected of a blend is the sum of its components' intensities by their
parts. Blends are not additive: where tasted and expected differ, components changed each other.

>>> chestnut = profile([({"nose": {"pear": 1.0}, "middle": {"oak": 4.0}}, 40)], "V000001R", part=0.25)
>>> notes = ({"nose": {"pear": 5.0}, "middle": {}}, None), ({"nose": {"pear": 4.0}}, 20)
>>> ash = profile(notes, "V000002P", part=0.75)
>>> ash.felt["pear"][0], chestnut.strongest(2)
(Felt(mean=4.5, low=4.0, high=5.0), ('oak', Felt(mean=4.0, low=4.0, high=4.0)))
>>> blend = expected([ash, chestnut])
>>> blend.felt["pear"][0].mean, blend.felt["oak"][2].mean, blend.part
(3.625, 1.0, 1.0)
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal, NamedTuple

from pourbook.book.entries import STAGES

__all__ = ["Felt", "Filler", "Gap", "Noted", "Profile", "Role", "Shape", "expected", "gaps", "in_order", "profile"]

Role = Literal["component", "expected", "tasted"]

Noted = tuple[Mapping[str, Mapping[str, float]], int | None]
"""What one note says: word to intensity at each stage it describes, and the seconds that the finish stayed."""

_GAP, _LEAST = 0.5, 0.2
"""A stage is a gap where nothing is half as strong as the strongest anywhere, and a fifth of the scale lies between:
our own rule, no source."""


class Felt(NamedTuple):
    """An intensity, or the seconds of a finish: mean of the notes, the lowest and the highest of them."""

    mean: float
    low: float
    high: float


class Profile(NamedTuple):
    """A glass from nose to finish.

    Attributes:
        id: of the item.
        called: as a person knows it.
        role: in the picture.
        part: of the blend, 0 to 1; of what is expected, the part of the blend that it is known from; else None.
        notes: how many tasting notes with intensities it rests on; what is expected counts none.
        felt: word to its intensity at each of `STAGES`; None where no note describes the stage.
        finish_s: seconds that it stayed, where somebody timed it.
    """

    id: str
    called: str = ""
    role: Role = "tasted"
    part: float | None = None
    notes: int = 0
    felt: Mapping[str, tuple[Felt | None, ...]] = {}
    finish_s: Felt | None = None

    def strongest(self, stage: int, words: Iterable[str] | None = None) -> tuple[str, Felt] | None:
        """The strongest of some words at a stage; None where no note describes it, or none of them is there."""
        found = self.by_strength(stage, self.felt if words is None else words)
        return found[0] if found else None

    def by_strength(self, stage: int, words: Iterable[str]) -> list[tuple[str, Felt]]:
        """Words with their intensities at a stage, the strongest first, those alike in their order."""
        known = ((word, self.felt[word][stage]) for word in words if word in self.felt)
        return sorted(((word, felt) for word, felt in known if felt is not None), key=lambda pair: -pair[1].mean)


class Filler(NamedTuple):
    """What could fill a gap: a profile, its strongest word there (none for its finish), and how strongly it is felt."""

    profile: Profile
    word: str
    felt: Felt


class Gap(NamedTuple):
    """Where a glass is weak.

    Attributes:
        profile: the glass.
        stage: the number of the stage; None for a finish that ends short.
        mean: the strongest there, or the seconds that the finish stays.
        peak: the strongest anywhere, or the longest finish beside it.
        fillers: the components that have more there, the strongest first.
    """

    profile: Profile
    stage: int | None
    mean: float
    peak: float
    fillers: tuple[Filler, ...]


class Shape(NamedTuple):
    """Glasses one above the other.

    Attributes:
        scale: where the house's scale of intensities begins and ends.
        words: those shown, in their order from nose to finish.
        profiles: components, then what is expected of the blend, then what was tasted.
        gaps: of the blend; where there is none, of every glass.
        silent: components that no note with intensities speaks of.
    """

    scale: tuple[float, float]
    words: tuple[str, ...]
    profiles: tuple[Profile, ...]
    gaps: tuple[Gap, ...]
    silent: tuple[Profile, ...] = ()


def profile(
    notes: Iterable[Noted], id_: str, called: str = "", role: Role = "tasted", part: float | None = None,
    least: float = 0.0,
) -> Profile:  # fmt: skip
    """The mean of the notes of a glass, on a scale that begins at `least`."""
    all_notes = tuple(notes)
    words = dict.fromkeys(word for stages, _ in all_notes for stage in stages.values() for word in stage)
    felt = {word: tuple(_felt(_said(all_notes, stage, word, least)) for stage in STAGES) for word in words}
    finish = _felt([float(seconds) for _, seconds in all_notes if seconds is not None])
    return Profile(id_, called, role, part, len(all_notes), felt, finish)


def _said(notes: Iterable[Noted], stage: str, word: str, least: float) -> list[float]:
    return [stages[stage].get(word, least) for stages, _ in notes if stage in stages]


def _felt(values: Sequence[float]) -> Felt | None:
    return Felt(sum(values) / len(values), min(values), max(values)) if values else None


def expected(components: Sequence[Profile], least: float = 0.0) -> Profile:
    """What a blend would be if its components changed nothing in each other: their sum by parts.

    Of components whose notes describe a stage; what is lowest and highest is the sum of their lowest and highest.
    """
    words = dict.fromkeys(word for one in components for word in one.felt)
    told = [one for one in components if one.felt]
    felt = {
        word: tuple(
            _by_parts([(one.part or 0.0, _at(one, word, stage, least)) for one in told]) for stage in range(len(STAGES))
        )
        for word in words
    }
    finish = _by_parts([(one.part or 0.0, one.finish_s) for one in told])
    return Profile("", "", "expected", sum(one.part or 0.0 for one in told), 0, felt, finish)


def _at(one: Profile, word: str, stage: int, least: float) -> Felt | None:
    """An intensity at a stage; nothing where the notes describe the stage without the word."""
    if word in one.felt:
        return one.felt[word][stage]
    return Felt(least, least, least) if any(row[stage] for row in one.felt.values()) else None


def _by_parts(parts: Sequence[tuple[float, Felt | None]]) -> Felt | None:
    known = [(part, felt) for part, felt in parts if felt is not None]
    whole = sum(part for part, _ in known)
    if not whole:
        return None
    return Felt(*(sum(part * felt[which] for part, felt in known) / whole for which in range(3)))


def in_order(profiles: Sequence[Profile]) -> tuple[str, ...]:
    """Words from those of the nose to those of the finish, by where their intensities lie on average; then by name."""
    words = dict.fromkeys(word for one in profiles for word in one.felt)

    def lies(word: str) -> tuple[float, str]:
        found = [(stage, felt.mean) for one in profiles for stage, felt in enumerate(one.felt.get(word, ())) if felt]
        whole = sum(mean for _, mean in found)
        return (sum(stage * mean for stage, mean in found) / whole if whole else float(len(STAGES)), word)

    return tuple(sorted(words, key=lies))


def gaps(
    blend: Profile, others: Sequence[Profile], words: Sequence[str], scale: tuple[float, float]
) -> tuple[Gap, ...]:  # fmt: skip
    """The stages where a glass is weak in some words, and a finish that ends short, with what could fill them."""
    least, most = scale
    tops = [blend.strongest(stage, words) for stage in range(len(STAGES))]
    peak = max((top[1].mean for top in tops if top), default=least)
    enough = least + _GAP * (peak - least)
    found = [
        Gap(blend, stage, top[1].mean, peak, _fillers(others, stage, words, enough))
        for stage, top in enumerate(tops)
        if top and top[1].mean < enough and peak - top[1].mean >= _LEAST * (most - least)
    ]
    return (*found, *_ends_short(blend, others))


def _fillers(others: Sequence[Profile], stage: int, words: Sequence[str], least: float) -> tuple[Filler, ...]:
    tops = [(one, one.strongest(stage, words)) for one in others]
    found = [Filler(one, *top) for one, top in tops if top and top[1].mean >= least]
    return tuple(sorted(found, key=lambda filler: -filler.felt.mean))


def _ends_short(blend: Profile, others: Sequence[Profile]) -> tuple[Gap, ...]:
    longest = max((one.finish_s.mean for one in others if one.finish_s), default=0.0)
    if blend.finish_s is None or blend.finish_s.mean >= _GAP * longest:
        return ()
    long = [Filler(one, "", one.finish_s) for one in others if one.finish_s and one.finish_s.mean >= _GAP * longest]
    fillers = tuple(sorted(long, key=lambda filler: -filler.felt.mean))
    return (Gap(blend, None, blend.finish_s.mean, longest, fillers),)
