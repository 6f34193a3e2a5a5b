"""The rules of what was typed for a line of a pour: a slip in a unit, a decimal mark or a scale is asked about.

The limits, and where they come from, stand in `gauging/slips.py`.
"""

from pourbook.book.line_case import LineCase, as_asked, taken
from pourbook.errors import Question
from pourbook.quantities import Amount

__all__ = ["bare_number_has_its_unit", "origin_is_spirit", "room_in_the_target", "water_leaves_spirit"]


def room_in_the_target(case: LineCase) -> Question | None:
    """Nothing takes much more than its capacity, nor a vial or a glass more than such things hold."""
    target = case.ends[1]
    if target is None or not (room := case.known.room(target)):
        return None
    liquid = taken(case)
    if room.takes_whatever_weighs(case.target.mass_mg + liquid.mass_mg):
        return None
    from pourbook.alcoholometry.volumes import volume_ml
    from pourbook.gauging.slips import Expected, fill_question

    expected = Expected(volume_ml(case.target.liquid), room)
    return fill_question(as_asked(case.move.amount), volume_ml(liquid), expected, case.known.mark)


def bare_number_has_its_unit(case: LineCase) -> Question | None:
    """A bare number that is a thimbleful of a vat was meant in another unit; samples are small and are not asked."""
    amount, target = case.move.amount, case.move.target
    if not isinstance(amount, Amount) or amount.typed[-1:] not in "0123456789" or target[:1] in "VT":
        return None
    from pourbook.alcoholometry.volumes import volume_ml
    from pourbook.gauging.slips import bare_question

    most_ml = max(volume_ml(case.source.liquid), volume_ml(case.target.liquid))
    return bare_question(amount, most_ml, case.known.mark, into_a_vat=target[:1] in "BC")


def origin_is_spirit(case: LineCase) -> Question | None:
    """What comes from outside as spirit is as strong as spirit; typed weaker, a decimal mark was lost."""
    if case.move.source != "origin" or case.move.strength is None:
        return None
    from pourbook.alcoholometry.volumes import strength_20c
    from pourbook.gauging.slips import origin_question

    return origin_question(strength_20c(taken(case)), case.known.mark)


def water_leaves_spirit(case: LineCase) -> Question | None:
    """Water by volume reduces spirit to drinking strength, not to less; what was weighed is no slip of that kind."""
    amount = case.move.amount
    if case.move.source != "water" or not isinstance(amount, Amount) or amount.dimension != "volume":
        return None
    from pourbook.alcoholometry.mixing import mix
    from pourbook.alcoholometry.volumes import strength_20c
    from pourbook.gauging.slips import water_question

    before, after = case.target.liquid, mix([case.target.liquid, taken(case)])
    return water_question(as_asked(case.move.amount), strength_20c(before), strength_20c(after), case.known.mark)
