"""What a closed tasting session found, as doors show it."""

from math import isfinite
from typing import TYPE_CHECKING, Any

from pourbook.book.tasting_notes import note_words
from pourbook.documents.shown import Shown, listed
from pourbook.documents.tasting_sessions import cared, session_document
from pourbook.queries.items.called import at_sight
from pourbook.words.session_words import found_words, spread_words

if TYPE_CHECKING:
    from pourbook.actions.print_paper import Printed
    from pourbook.house_style import HouseStyle
    from pourbook.queries.tastings.session_report import Answered, SessionReport, Spread

__all__ = ["session_report_shown"]


def session_report_shown(found: "SessionReport", style: "HouseStyle", printed: "Printed | None" = None) -> Shown:
    """What a closed session found."""
    session, mark = found.card.opened.session, style.mark
    named = {item: at_sight(item, found.card.called.get(item, "")) for item in session.ids}
    glasses = listed(
        found.glasses,
        ("glass", lambda one: named[one.item]),
        (" ballots", lambda one: one.ballots),
        (" score", lambda one: spread_words(one.score, mark)),
        (" liking", lambda one: spread_words(one.liking, mark)),
        (" mean rank", lambda one: style.shown(one.rank.mean, 2) if one.rank else ""),
        ("missing", lambda one: "; ".join(dict.fromkeys(one.missing))),
    )
    people = listed(
        [(person, glass, note) for person in found.people for glass, note in person.glasses],
        ("assessor", lambda row: row[0].called),
        ("code", lambda row: row[1].code),
        ("glass", lambda row: named[row[1].item]),
        ("found", lambda row: ". ".join(note_words(row[2], mark)) if row[2] else "no ballot"),
    )
    agrees = "agrees" if found.seal_agrees else "DOES NOT AGREE"
    said = (*found_words(found, named, mark), *glasses, *people, f"seal {session.seal} {agrees}")
    document = _report_document(found) | ({"files": [str(path) for path in printed.files]} if printed else {})
    return cared(Shown(document, said))


def _report_document(found: "SessionReport") -> dict[str, Any]:
    return {
        **session_document(found.card.opened),
        "seal_agrees": found.seal_agrees,
        "sealed_text": found.sealed_text,
        "by_glass": [
            {
                "id": one.item, "ballots": one.ballots, "score": _spread(one.score), "liking": _spread(one.liking),
                "rank": _spread(one.rank), "words": {word: _spread(figure) for word, figure in one.words},
                "missing": list(one.missing), "too_much": list(one.too_much),
            }
            for one in found.glasses
        ],
        "by_assessor": [
            {
                "assessor": one.assessor,
                "score": _spread(one.score),
                "glasses": [
                    {"code": glass.code, "id": glass.item, "entry": note.entry if note else None,
                     "score": note.score if note else None, "rank": (note.rank or None) if note else None}
                    for glass, note in one.glasses
                ],
            }
            for one in found.people
        ],
        "repeats": [
            {"assessor": one.assessor, "id": one.item, "codes": list(one.codes), "scores": list(one.scores)}
            for one in found.repeats
        ],
        "repeat_deviation": found.repeat_deviation,
        "friedman_p": found.ranking.friedman.best_p if found.ranking else None,
        "kendall_w": found.agreement.w if found.agreement else None,
        "answer": _answer_document(found.test),
    }  # fmt: skip


def _spread(found: "Spread | None") -> dict[str, Any] | None:
    return found and found._asdict()


def _answer_document(found: "Answered | None") -> dict[str, Any] | None:
    if found is None:
        return None
    judged = found.judged
    return {
        "answered": found.answered,
        "right": found.right,
        "p_value": judged.p_value if judged else None,
        "d_prime": judged.d_prime if judged and isfinite(judged.d_prime) else None,
        "verdict": judged.verdict if judged else None,
    }
