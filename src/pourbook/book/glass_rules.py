"""The rule of labels for glasses: what it is stuck to is there."""

from pourbook.book.glasses import emptied, emptied_words
from pourbook.book.rules import Case
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Question

__all__ = ["labelled_glasses_are_there"]


def labelled_glasses_are_there(case: Case) -> Question | None:
    """A label is for a glass that is there."""
    entry, store = case.entry, case.known.store
    if entry.paper != "label":
        return None
    gone = [found for one in entry.ids if (found := emptied(store, one)) and found.is_gone]
    if not gone:
        return None
    first = gone[0]
    more = f", and {len(gone) - 1} more of them hold nothing" if len(gone) > 1 else ""
    return Question(
        "glass-is-gone",
        f"{hyphened(first.id)} {emptied_words(first, case.known.zone)}{more}",
        "leave it out, or check the number.",
        {"glasses": " ".join(one.id for one in gone)},
    )
