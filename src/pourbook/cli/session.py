"""The verb session: a blind tasting, from its plan to its report."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import FORCE, PAPER, options
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.queries.tastings.session_plan import Wish

__all__ = ["session_verb"]

_FILE = click.Path(path_type=Path)
_TESTS = ("triangle", "duo-trio", "paired", "three-afc", "tetrad")  # as of pourbook.bench.serving; not loaded for help

_WISH = options(
    click.option("--glass", "glasses", multiple=True, metavar="ITEM", help="A glass: trial, vial, cask …"),
    click.option("--repeat", "repeats", multiple=True, metavar="ITEM", help="Offer it twice, under two codes."),
    click.option("--assessor", "assessors", multiple=True, metavar="NAME", help="Who tastes; a name, or a badge."),
    click.option("--amount", metavar="VOLUME", default="15 ml", help="In each glass, water included; default: 15 ml."),
    click.option("--to", "strength", metavar="STRENGTH", help="Reduce every glass to it: 20 to 23 % vol is common."),
    click.option("--test", type=click.Choice(_TESTS), help="A test of differences between two glasses."),
    click.option("--swallow", "swallowed", is_flag=True, help="Assume no spittoon: the lower limit counts."),
)
"""What is tasted, by whom."""


_ANSWERS = options(
    click.option("--nose", metavar="WORDS", help="On the nose: 'ripe pear 4, oak 2; a little shy'."),
    click.option("--first", metavar="WORDS", help="At the first taste."),
    click.option("--middle", metavar="WORDS", help="In the middle."),
    click.option("--finish", metavar="WORDS", help="What stays at the end."),
    click.option("--seconds", metavar="N", help="How long it stayed."),
    click.option("--missing", metavar="TEXT", help="What is missing."),
    click.option("--too-much", metavar="TEXT", help="What there should be less of."),
    click.option("--liking", metavar="NUMBER", help="On the house's scale (liking_scale)."),
    click.option("--score", metavar="NUMBER", help="On the house's scale (score_scale)."),
    click.option("--rank", metavar="N", help="Its place, 1 the first; of a test, 1 is the glass picked."),
    click.option("--note", metavar="TEXT", help="Free words about the whole."),
)
"""What a ballot answers, by the names of `pourbook.book.ballots.ANSWERS`."""


@click.group("session")
def session_verb() -> None:
    """Taste blind: plan a session, open it, print it, pour it, take ballots in, close it.

    Which code is which glass is sealed until the session is closed. The seal hides it from people's
    eyes, not from a programmer with the book.

    \b
    Example:
      pourbook session plan --glass T-000002-M --glass T-000003-K --repeat T-000002-M --assessor "Isla Farrow" --to 21
      pourbook session list
    """


def _wish(door: Door, typed: dict[str, Any]) -> "Wish":
    from pourbook.queries.tastings.session_plan import Wish

    return Wish(
        (*typed["glasses"], *typed["repeats"]),
        typed["assessors"],
        door.style.amount(typed["amount"]),
        door.strength(typed["strength"]),
        typed["test"] or "",
        typed["swallowed"],
    )


@session_verb.command("plan")
@_WISH
@reading
def plan_verb(door: Door, **typed: Any) -> None:  # noqa: ANN401
    """Work out what a session takes and offers; nothing is recorded.

    Water for each glass, what every vial must give, pure alcohol for each assessor, and the allergens
    that everybody is told of before.

    \b
    Example:
      pourbook session plan --glass T-000002-M --glass C-000001-H --repeat T-000002-M
          --assessor "Isla Farrow" --assessor "Tomas Reeve" --amount "15 ml" --to 21
    """
    from pourbook.documents.tasting_sessions import session_planned_shown
    from pourbook.queries.tastings.session_plan import session_plan

    door.show(session_planned_shown(session_plan(door.book, _wish(door, typed)), door.style))


@session_verb.command("open")
@click.argument("name")
@_WISH
@click.option("--purpose", type=click.Choice(("get to know", "compare", "choose")), default="compare", help="What for.")
@click.option("--ask", "asks", metavar="TEXT", default="", help="The question: Which is smokier?")
@click.option("--rest", "rest_min", type=click.IntRange(0, 60), default=2, help="Minutes between glasses; default: 2.")
@recording
def open_verb(door: Door, name: str, purpose: str, asks: str, rest_min: int, **typed: Any) -> None:  # noqa: ANN401
    """Open a session: codes and orders are drawn, and sealed.

    Every assessor gets three-digit codes and an order of their own; orders are balanced for place and for
    what comes before. More glasses or pure alcohol than the house's limits are queried.

    \b
    Example:
      pourbook session open "Autumn flight" --glass T-000002-M --glass C-000001-H --repeat T-000002-M
          --assessor "Isla Farrow" --assessor "Tomas Reeve" --amount "15 ml" --to 21 --purpose choose
      pourbook session open "Ash or not" --test triangle --glass T-000002-M --glass T-000003-K
          --assessor "Isla Farrow" --assessor "Tomas Reeve"
    """
    from pourbook.actions.tasting_session import Asked, open_session
    from pourbook.documents.tasting_sessions import session_opened_shown

    answer = open_session(door.book, door.how, name, _wish(door, typed), Asked(purpose, asks, rest_min))
    door.show(session_opened_shown(answer, door.style))


@session_verb.command("sheets")
@click.argument("name")
@click.option("--ballots", type=_FILE, metavar="FILE", help="Ballots as PDF, one for each assessor.")
@click.option("--pour-sheet", type=_FILE, metavar="FILE", help="Which code is which glass, as PDF: for who pours.")
@PAPER
@FORCE
@recording
def sheets_verb(
    door: Door, name: str, ballots: Path | None, pour_sheet: Path | None, paper: str | None, *, force: bool
) -> None:
    """Print the ballots, and the sealed sheet for whoever pours.

    Ballots show codes alone. The pour sheet is the only paper that says which code is which glass: nobody
    who tastes should see it before the session is closed.

    \b
    Example:
      pourbook session sheets "Autumn flight" --ballots ballots.pdf --pour-sheet sealed.pdf
    """
    from pourbook.actions.print_paper import Output
    from pourbook.actions.session_papers import print_ballots, print_pour_sheet
    from pourbook.documents.tasting_sessions import session_papers_shown

    if not (ballots or pour_sheet):
        raise Malformed("no paper was asked for", "give --ballots FILE, --pour-sheet FILE, or both")
    papers = [
        draw(door.book, door.how, name, Output((path,), size=paper or "", force=force))
        for path, draw in ((pour_sheet, print_pour_sheet), (ballots, print_ballots))
        if path
    ]
    door.show(session_papers_shown(papers))


@session_verb.command("labels")
@click.argument("name")
@click.option("--template", default="glass-sheet-a4-65-38x21", metavar="NAME", help="Default: glass-sheet-a4-65-38x21.")
@click.option("-o", "--output", type=_FILE, required=True, metavar="FILE", help="The PDF.")
@FORCE
@recording
def labels_verb(door: Door, name: str, template: str, output: Path, *, force: bool) -> None:
    """Print a label for each glass, with its code and nothing else, in order of the codes.

    \b
    Example:
      pourbook session labels "Autumn flight" -o glasses.pdf
      pourbook session labels "Autumn flight" --template glass-roll-30x15 -o glasses.pdf
    """
    from pourbook.actions.print_paper import Output
    from pourbook.actions.session_papers import print_glass_labels
    from pourbook.documents.tasting_sessions import session_papers_shown
    from pourbook.labels.templates import template as template_named

    wanted = template_named(template)
    printed = print_glass_labels(door.book, door.how, name, wanted, Output((output,), force=force))
    door.show(session_papers_shown([printed]))


@session_verb.command("pour")
@click.argument("name")
@click.option("--absent", multiple=True, metavar="NAME", help="An assessor who did not come.")
@recording
def pour_verb(door: Door, name: str, absent: tuple[str, ...]) -> None:
    """Book what a session takes as lost in tasting, by item and assessor, at once; never by code.

    \b
    Example:
      pourbook session pour "Autumn flight"
      pourbook session pour "Autumn flight" --absent "Tomas Reeve"
    """
    from pourbook.actions.tasting_session import pour_session
    from pourbook.documents.tasting_sessions import session_poured_shown

    door.show(session_poured_shown(pour_session(door.book, door.how, name, absent), door.style))


@session_verb.command("ballot")
@click.argument("name")
@click.argument("file", required=False, metavar="[FILE.csv]")
@click.option("--code", metavar="CODE", help="Of one glass: three digits, or the mark on its ballot.")
@_ANSWERS
@click.option("--by", "assessor", metavar="NAME", default="", help="Whose ballot it is; default: whose code it is.")
@click.option("--write-form", metavar="FILE.csv", help="Write an empty table of all glasses by code, to fill in.")
@FORCE
@recording
def ballot_verb(
    door: Door, name: str, file: str | None, code: str | None, assessor: str, write_form: str | None, *, force: bool,
    **answers: str | None,
) -> None:  # fmt: skip
    """Take ballots in: of one glass by its code, from a table, or line by line as they are scanned.

    Without --code and FILE it reads lines: a code, scanned or typed, then what stands on its ballot, a line
    each, such as 'nose pear 4, oak 2', 'too much oak' or 'score 80'; the next code records the glass before.
    'drop' lets a glass go, 'done' ends. A table is taken whole, or not at all: each row that cannot be taken is
    named. Of a test, the glass picked has rank 1.

    \b
    Example:
      pourbook session ballot "Autumn flight"
      pourbook session ballot "Autumn flight" --code 417 --nose "pear 4, oak 2" --score 80
      pourbook session ballot "Autumn flight" --write-form ballots.csv
      pourbook session ballot "Autumn flight" ballots.csv
    """
    from pourbook.documents.tasting_sessions import ballot_line_shown, ballots_taken_shown

    if write_form:
        _write_form(door, name, write_form, force=force)
    elif code:
        from pourbook.actions.ballots import take_ballot
        from pourbook.book.ballots import answered

        found = answered({one: text for one, text in answers.items() if text}, door.style.mark)
        door.show(ballots_taken_shown(take_ballot(door.book, door.how, name, code, found, assessor), door.style))
    elif file:
        from pourbook.actions.ballots import take_ballots

        door.show(ballots_taken_shown(take_ballots(door.book, door.how, name, file), door.style))
    else:
        from pourbook.actions.ballots import BallotRound

        door.take_lines(BallotRound(door.book, door.how, name).scan, ballot_line_shown)


def _write_form(door: Door, name: str, path: str, *, force: bool) -> None:
    from pourbook.documents.tasting_sessions import ballot_form_shown
    from pourbook.exchange.intake.ballot_table import ballot_form
    from pourbook.exchange.output.writing import text_file
    from pourbook.queries.tastings.session_card import codes_by_assessor

    glasses = codes_by_assessor(door.book, name)
    with text_file(path, force=force, never=door.book.files) as written:
        written.write(ballot_form(glasses))
    door.show(ballot_form_shown(path, len(glasses)))


@session_verb.command("close")
@click.argument("name")
@recording
def close_verb(door: Door, name: str) -> None:
    """Close a session: its codes are revealed, and no ballot is taken any more.

    \b
    Example:
      pourbook session close "Autumn flight"
    """
    from pourbook.actions.tasting_session import close_session
    from pourbook.documents.tasting_sessions import session_closed_shown

    door.show(session_closed_shown(close_session(door.book, door.how, name), door.style))


@session_verb.command("report")
@click.argument("name")
@click.option("-o", "--output", type=_FILE, metavar="FILE", help="Print it as PDF, too.")
@PAPER
@FORCE
@recording
def report_verb(door: Door, name: str, output: Path | None, paper: str | None, *, force: bool) -> None:
    """Show what a closed session found: by glass, by assessor, hidden repeats, what may be concluded.

    \b
    Example:
      pourbook session report "Autumn flight"
      pourbook session report "Autumn flight" -o report.pdf
    """
    from pourbook.documents.session_reports import session_report_shown
    from pourbook.queries.tastings.session_report import session_report

    printed = None
    if output:
        from pourbook.actions.print_paper import Output
        from pourbook.actions.session_papers import print_session_report

        printed = print_session_report(door.book, door.how, name, Output((output,), size=paper or "", force=force))
    door.show(session_report_shown(session_report(door.book, name), door.style, printed))


@session_verb.command("show")
@click.argument("name")
@reading
def show_verb(door: Door, name: str) -> None:
    """Show a session: its glasses, its assessors, whose ballots are in.

    \b
    Example:
      pourbook session show "Autumn flight"
    """
    from pourbook.documents.tasting_sessions import session_shown
    from pourbook.queries.tastings.session_card import session_card

    door.show(session_shown(session_card(door.book, name), door.style))


@session_verb.command("list")
@reading
def list_verb(door: Door) -> None:
    """List the sessions.

    \b
    Example:
      pourbook session list
    """
    from pourbook.documents.tasting_sessions import sessions_shown
    from pourbook.queries.tastings.session_card import sessions_listed

    door.show(sessions_shown(sessions_listed(door.book), door.style))
