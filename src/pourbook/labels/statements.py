"""What may stand on a label, from what is known of the liquid and a set of rules: pure, over plain values.

Every statement stands with the points that it rests on and with those that are against it, each naming the item or the
entry that it comes from. What nobody recorded is never taken for "none": then it cannot be said.

>>> from pourbook.labels.label_rules import rules_of
>>> seen = Seen("B000001Y", origins=(
...     Origin(3, "C000001H", 0.9, "malt spirit", "Ostrewick", "2014-05-02", Aged(12, 40)),
...     Origin(5, "C000002F", 0.1, "malt spirit", "Ostrewick", "2015-02-11", Aged(11, 120)),
... ))
>>> found = {one.name: one for one in statements(seen, {"age": "12"}, rules_of("eu", {}))}
>>> found["age"].stands, found["age"].value, found["age"].against
('not allowed', 11, (Point(name='younger', value='11', item='C000002F', entry=5),))
>>> found["vintage"].stands, found["distilled-by"].value, found["no-colouring"].stands
('not allowed', 'Ostrewick', 'cannot be said')
"""

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Literal, NamedTuple

from pourbook.errors import Malformed
from pourbook.labels.label_rules import STATEMENTS, LabelRule
from pourbook.numerals import read_decimal

__all__ = [
    "Addition", "Aged", "Gauged", "Lay", "Mixed", "Origin", "Point", "Seen", "Standing", "Statement", "statements",
]  # fmt: skip

Standing = Literal["allowed", "not allowed", "cannot be said"]

_SAME = 1e-9
"""% vol: 46.3 - 46 is a little more or less than 0.3 in binary."""
_YEAR = re.compile(r"\b(?:1[6-9]|20)\d\d\b")
_MONTH_DAYS = 31
_MONTHS = 12


# -- what is known -----------------------------------------------------------------------


class Aged(NamedTuple):
    """A time in wood as a calendar counts it: completed years, and the days left over."""

    years: int
    days: int


class Origin(NamedTuple):
    """Spirit that came from outside.

    Attributes:
        entry: of its pour.
        into: the item that it first went into.
        share: its part of the pure alcohol, 0 to 1.
        spirit: as recorded; empty where it was not, like the next two.
        distiller: who made it.
        distilled: when; a day or a year.
        wood: how long it lay in wood that counts; None where nobody knows.
        pending: its strength is still to be read.
    """

    entry: int
    into: str
    share: float
    spirit: str = ""
    distiller: str = ""
    distilled: str = ""
    wood: Aged | None = None
    pending: bool = False


class Addition(NamedTuple):
    """Water or something else that went in: the entry, the item it went into, what it is called, its allergens."""

    entry: int
    into: str
    called: str = ""
    allergens: str = ""


class Mixed(NamedTuple):
    """An item that was filled from more than one, all of them named."""

    into: str
    out_of: tuple[str, ...]


class Lay(NamedTuple):
    """The last cask that a part of it lay in.

    Attributes:
        cask: its identifier.
        wood: as recorded, with what it held before.
        first: the spirit came there from outside, so that this is its first wood.
        days: whole days there.
        entry: by which it left.
    """

    cask: str
    wood: str
    first: bool
    days: int
    entry: int


class Gauged(NamedTuple):
    """A declared strength beside the book's.

    Attributes:
        declared_vol: at the reference of the rule, as `book_vol`, % vol.
        book_vol: by the book; None where it holds nothing.
        verdict: of `uncertainty.labelling`; empty where no gauge has a known uncertainty.
        probability: that the true strength is within the tolerance.
        standard_vol: standard uncertainty of the gauge, % vol; None where it is not known.
        entry: of the gauge; 0 for none.
        decimals: of the strength as declared.
    """

    declared_vol: float
    book_vol: float | None
    verdict: str = ""
    probability: float | None = None
    standard_vol: float | None = None
    entry: int = 0
    decimals: int = 0


class Seen(NamedTuple):
    """What the book knows of a batch or a lot.

    Attributes:
        id: its identifier.
        facts: what is stated of it, or of all batches that it was bottled from; an empty text is nothing.
        origins: of the spirit, in order of time.
        water: poured in after the spirit went into wood.
        additions: of anything else.
        mixed: items on the way that were filled from more than one.
        lay: the casks that it last lay in.
        gauged: its declared strength; None where none is declared.
        age_rule: the house's rule on which wood counts; empty for none.
        allergens: recorded of an item behind it, each with that item.
    """

    id: str
    facts: Mapping[str, str] = {}
    origins: tuple[Origin, ...] = ()
    water: tuple[Addition, ...] = ()
    additions: tuple[Addition, ...] = ()
    mixed: tuple[Mixed, ...] = ()
    lay: tuple[Lay, ...] = ()
    gauged: Gauged | None = None
    age_rule: str = ""
    allergens: tuple[tuple[str, str], ...] = ()


# -- what is said ------------------------------------------------------------------------


class Point(NamedTuple):
    """One thing that a statement rests on, lacks or breaks at: name, `value` (a figure or a word), `item`, `entry`.

    What it has not is empty, or 0.
    """

    name: str
    value: str = ""
    item: str = ""
    entry: int = 0


class Statement(NamedTuple):
    """Whether something may stand on the label.

    Attributes:
        name: one of `STATEMENTS`.
        stands: allowed, not allowed, or what cannot be said.
        value: what it may say, or would: % vol, years, a year, millilitres, names; empty where nothing is known.
        rule: that it is held to.
        claim: what the label is to say of it, which may be empty; None where it is to say nothing.
        rests_on: figures and entries behind it.
        against: what breaks it, or is missing.
    """

    name: str
    stands: Standing
    value: float | int | str
    rule: LabelRule
    claim: str | None = None
    rests_on: tuple[Point, ...] = ()
    against: tuple[Point, ...] = ()


def statements(seen: Seen, claims: Mapping[str, str], rules: Mapping[str, LabelRule]) -> tuple[Statement, ...]:
    """Every statement in order; `claims` is what the label is to say: statement to its value, which may be empty.

    Raises:
        Malformed: a claim is no number where one is needed.
    """
    return tuple(
        _JUDGED[name](seen, claims.get(name, ""), rules[name])._replace(claim=claims.get(name)) for name in STATEMENTS
    )


def _said(
    rule: LabelRule, value: float | int | str, rests_on: Iterable[Point], against: Iterable[Point] = (),
    lacking: Iterable[Point] = (),
) -> Statement:  # fmt: skip
    """Not allowed where anything is against it, else not to be said where anything is lacking, else allowed."""
    broken, missing = tuple(against), tuple(lacking)
    stands: Standing = "not allowed" if broken else "cannot be said" if missing else "allowed"
    return Statement(rule.statement, stands, value, rule, None, tuple(rests_on), broken or missing)


def _strength(seen: Seen, _claim: str, rule: LabelRule) -> Statement:
    gauged = seen.gauged
    if gauged is None:
        return _said(rule, "", (), lacking=[Point("no strength declared")])
    rests_on = [
        Point("strength by the book", f"{gauged.book_vol:.2f}", seen.id) if gauged.book_vol is not None else None,
        Point("uncertainty", f"{gauged.standard_vol:.3f}", "", gauged.entry) if gauged.standard_vol else None,
        Point("tolerance", f"{rule.tolerance_vol:g}") if rule.tolerance_vol is not None else None,
        Point("probability", f"{gauged.probability:.4f}") if gauged.probability is not None else None,
    ]  # fmt: skip
    against, lacking = [], [Point("strength pending", "", one.into, one.entry) for one in seen.origins if one.pending]
    if rule.decimals is not None and gauged.decimals > rule.decimals:
        against.append(Point("too many decimals", str(rule.decimals)))
    if gauged.book_vol is None:
        lacking.append(Point("holds nothing", "", seen.id))
    elif gauged.verdict == "not within" or (
        not gauged.verdict and abs(gauged.declared_vol - gauged.book_vol) > (rule.tolerance_vol or 0.0) + _SAME
    ):
        against.append(Point("outside the tolerance", f"{gauged.declared_vol - gauged.book_vol:+.2f}"))
    elif not gauged.verdict:
        lacking.append(Point("no gauge with a known uncertainty", "", seen.id))
    elif gauged.verdict == "cannot be told":
        lacking.append(Point("too near the end of the tolerance", f"{gauged.probability:.4f}", "", gauged.entry))
    return _said(rule, gauged.declared_vol, filter(None, rests_on), against, lacking)


def _age(seen: Seen, claim: str, rule: LabelRule) -> Statement:
    unknown = [Point("time in wood unknown", "", one.into, one.entry) for one in seen.origins if one.wood is None]
    unknown += [] if seen.origins else [Point("nothing poured in", "", seen.id)]
    if rule.wood and seen.age_rule not in rule.wood:
        unknown.append(Point("no age rule", " ".join(rule.wood)))
    known = [(_whole(one.wood, rule.unit), one) for one in seen.origins if one.wood is not None]
    youngest = min((whole for whole, _ in known), default=0)
    least = _number(claim) if claim else 1
    younger = [Point("younger", str(whole), one.into, one.entry) for whole, one in known if whole < least]
    rests_on = [Point("age rule", seen.age_rule)] if seen.age_rule else [Point("every wood counts")]
    if known:
        one = min((one for _, one in known), key=lambda one: one.wood or (0, 0))
        rests_on.append(Point("youngest", "{} y {} d".format(*(one.wood or (0, 0))), one.into, one.entry))
    return _said(rule, "" if unknown else youngest, rests_on, younger, unknown)


def _whole(wood: Aged, unit: str) -> int:
    """Completed years, or months: thirty-one days left over are one, so that an age is never overstated."""
    if unit == "months":
        return wood.years * _MONTHS + min(wood.days // _MONTH_DAYS, _MONTHS - 1)
    return wood.years


def _vintage(seen: Seen, claim: str, rule: LabelRule) -> Statement:
    years = [(match[0] if (match := _YEAR.search(one.distilled)) else "", one) for one in seen.origins]
    missing = [Point("no day of distillation", "", one.into, one.entry) for year, one in years if not year]
    known = sorted({year for year, _ in years if year})
    wanted = claim or (known[0] if len(known) == 1 else "")
    other = [Point("distilled in", year, one.into, one.entry) for year, one in years if year and year != wanted]
    rests_on = [Point("distilled in", year, one.into, one.entry) for year, one in years if year and year == wanted]
    missing += [] if seen.origins else [Point("nothing poured in", "", seen.id)]
    return _said(rule, int(wanted) if wanted.isdecimal() else "", rests_on, other, missing)


def _single_cask(seen: Seen, _claim: str, rule: LabelRule) -> Statement:
    last = [Point("cask", one.wood, one.cask, one.entry) for one in seen.lay]
    mixed = [Point("out of several", "", source) for one in seen.mixed for source in one.out_of]
    return _said(rule, "", last, mixed, [] if last else [Point("lay in no cask", "", seen.id)])


def _finish(seen: Seen, claim: str, rule: LabelRule) -> Statement:
    first = [Point("in its first wood", one.wood, one.cask, one.entry) for one in seen.lay if one.first]
    second = [one for one in seen.lay if not one.first]
    woods = sorted({one.wood for one in second})
    blank = [Point("no wood recorded", "", one.cask) for one in second if not one.wood]
    wanted = claim.lower()
    other = [
        Point("of other wood", one.wood, one.cask, one.entry) for one in second
        if one.wood and (wanted not in one.wood.lower() if claim else one.wood != woods[0])
    ]  # fmt: skip
    rests_on = [Point("lay there", str(one.days), one.cask, one.entry) for one in second]
    missing = blank if seen.lay else [Point("lay in no cask", "", seen.id)]
    return _said(rule, woods[0] if len(woods) == 1 else claim, rests_on, first + other, missing)


def _cask_strength(seen: Seen, _claim: str, rule: LabelRule) -> Statement:
    water = [Point("water", one.called, one.into, one.entry) for one in seen.water]
    return _said(rule, "", [] if water else [Point("no water recorded", "", seen.id)], water)


def _no_colouring(seen: Seen, _claim: str, rule: LabelRule) -> Statement:
    added = [Point("added", one.called, one.into, one.entry) for one in seen.additions]
    return _said_by_somebody(seen, rule, ("colouring", "none"), added)


def _not_chill_filtered(seen: Seen, _claim: str, rule: LabelRule) -> Statement:
    return _said_by_somebody(seen, rule, ("chill_filtered", "no"), [])


def _said_by_somebody(seen: Seen, rule: LabelRule, needed: tuple[str, str], against: list[Point]) -> Statement:
    """Allowed where a fact has this value, not where it has another; without the fact it cannot be said."""
    name, wanted = needed
    stated = seen.facts.get(name, "")
    rests_on = [Point("stated", f"{name}={stated}", seen.id)] if stated else []
    if stated and stated.lower() != wanted:
        against = [*against, *rests_on]
    return _said(rule, "", rests_on, against, [] if stated else [Point("nobody stated", f"{name}={wanted}", seen.id)])


def _net_contents(seen: Seen, claim: str, rule: LabelRule) -> Statement:
    text = claim or seen.facts.get("size_ml", "")
    if not text:
        return _said(rule, "", (), lacking=[Point("no size declared", "", seen.id)])
    size = _number(text)
    is_free = (rule.from_ml is not None and size < rule.from_ml) or (rule.to_ml is not None and size > rule.to_ml)
    is_allowed = not rule.sizes_ml or size in rule.sizes_ml or is_free
    sizes = " ".join(f"{one:g}" for one in rule.sizes_ml)
    if is_allowed:
        return _said(rule, size, [Point("free size" if is_free else "among the sizes", sizes)])
    return _said(rule, size, (), [Point("not among the sizes", sizes)])


def _allergens(seen: Seen, _claim: str, rule: LabelRule) -> Statement:
    recorded = [Point("recorded", text, item) for item, text in seen.allergens if text.lower() != "none"]
    recorded += [Point("recorded", one.allergens, one.into, one.entry) for one in seen.additions if one.allergens]
    if recorded:
        return _said(rule, "; ".join(dict.fromkeys(one.value for one in recorded)), recorded)
    return _said_by_somebody(seen, rule, ("allergens", "none"), [])._replace(value="none" if seen.allergens else "")


def _distilled_by(seen: Seen, claim: str, rule: LabelRule) -> Statement:
    missing = [Point("no distiller", "", one.into, one.entry) for one in seen.origins if not one.distiller]
    missing += [] if seen.origins else [Point("nothing poured in", "", seen.id)]
    known = [Point("distiller", one.distiller, one.into, one.entry) for one in seen.origins if one.distiller]
    other = [one for one in known if claim and one.value.lower() != claim.lower()]
    names = "; ".join(sorted({one.value for one in known}))
    return _said(rule, names, [one for one in known if one not in other], other, missing)


def _kinds(seen: Seen, claim: str, rule: LabelRule) -> Statement:
    missing = [Point("no spirit recorded", "", one.into, one.entry) for one in seen.origins if not one.spirit]
    missing += [] if seen.origins else [Point("nothing poured in", "", seen.id)]
    parts: dict[str, float] = {}
    for one in seen.origins:
        parts[one.spirit] = parts.get(one.spirit, 0.0) + one.share
    largest = sorted((name for name in parts if name), key=lambda name: (-parts[name], name))
    other = [
        Point("spirit", one.spirit, one.into, one.entry) for one in seen.origins
        if claim and one.spirit and one.spirit.lower() != claim.lower()
    ]  # fmt: skip
    rests_on = [Point("part of the alcohol", f"{parts[name]:.4f} {name}") for name in largest]
    return _said(rule, "; ".join(largest), rests_on, other, missing)


def _lot_mark(seen: Seen, _claim: str, rule: LabelRule) -> Statement:
    if not seen.id.startswith("L"):
        return _said(rule, "", (), lacking=[Point("not bottled yet", "", seen.id)])
    mark = seen.facts.get("lot_mark", "")
    if not mark:
        return _said(rule, "", (), [Point("no lot mark", "", seen.id)])
    return _said(rule, mark, [Point("lot mark", mark, seen.id)])


def _number(text: str) -> float:
    """The number that a claim begins with: years, or millilitres."""
    number, *_ = text.split(maxsplit=1)
    try:
        return float(read_decimal(number.replace(",", ".")))
    except Malformed as refusal:
        raise Malformed(f"'{text}' on a label is no number", "write it like: age 12; net contents 700") from refusal


_JUDGED: Mapping[str, Callable[[Seen, str, LabelRule], Statement]] = {
    "strength": _strength,
    "age": _age,
    "vintage": _vintage,
    "single-cask": _single_cask,
    "finish": _finish,
    "cask-strength": _cask_strength,
    "no-colouring": _no_colouring,
    "not-chill-filtered": _not_chill_filtered,
    "net-contents": _net_contents,
    "allergens": _allergens,
    "distilled-by": _distilled_by,
    "kinds": _kinds,
    "lot-mark": _lot_mark,
}
