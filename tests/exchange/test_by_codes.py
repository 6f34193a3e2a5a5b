"""What leaves the house names nobody unless that is asked for, and the same person has the same code everywhere."""

import pytest
from command import Desk, here
from golden_books import PERSON, golden_book

FREE_TEXT = "misread by Isla Farrow"
"""A reason, as somebody typed it: words of people stay."""


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """The golden book, by the command."""
    path = tmp_path_factory.mktemp("codes") / "book.pourbook"
    with golden_book(path) as house:
        house.book.change_settings(_how(), {"uri": "https://quillmere.example"})
    return Desk(path, here)


def _how():
    from house import HOW

    return HOW


def said(desk, tmp_path, command):
    """All that an export wrote."""
    if "history" in command:
        folder = tmp_path / command.replace(" ", "")
        desk.does(f"export {command} -o {folder}")
        return "".join(path.read_text("utf-8") for path in sorted(folder.iterdir()))
    return desk.does(command if command.startswith("journal --json") else f"export {command}").out


@pytest.mark.parametrize(
    "command", ["journal --json", "journal", "pours", "tastings", "history", "graphml B-000001-Y", "prov B-000001-Y"]
)
def test_people_are_codes_unless_names_are_asked_for(desk, tmp_path, command):
    """Whoever tasted, poured, approved or has a badge; with --names they are who they are."""
    by_codes, by_name = (said(desk, tmp_path, f"{command}{end}") for end in ("", " --names"))
    people = (PERSON, "M. Aldane", "Tomas Reeve", "ifarrow")
    assert any(one in by_name for one in people)
    left = by_codes.replace(FREE_TEXT, "")
    assert [one for one in people if one in left] == []
    assert "person:" in by_codes or "person%3A" in by_codes


def test_a_person_has_one_code_in_every_export(desk):
    """So that whoever evaluates them can tell people apart."""
    code = desk.asks("export pours")[0]["who"]
    rows = desk.asks("export journal")
    assert code in {row["who"] for row in rows}
    names = {row["entry"]: row["who"] for row in desk.asks("export journal --names")}
    assert {names[row["entry"]] for row in rows if row["who"] == code} == {"M. Aldane"}
