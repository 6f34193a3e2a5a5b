"""Every line names the thing as a person knows it: identifier, ref, what it is from and its wood."""

import pytest
from command import Desk, here, recorded

CASK, VIAL = "C-000001-H · Q 31 · wine pipe", "V-000001-R · Q 31 · wine pipe"


@pytest.fixture
def desk(tmp_path):
    """A cask of known wood, and a vial of it without a ref."""
    cask = ("cask", "Q 31", "--fill", "200 l", "--strength", "60", "--wood", "wine pipe", "--in-wood", "0")
    return Desk(recorded(tmp_path / "h.pourbook", cask, ("draw", "Q 31", "200 ml")), here)


@pytest.mark.parametrize(
    ("command", "named"),
    [
        ("scan V-000001-R", f"{VIAL}  vial"),
        ("show V-000001-R", f"{VIAL}  vial"),
        ("stock", VIAL),
        ("move 'Q 31' --to 'Row 9'", f"{CASK} is at Row 9"),
        ("hold 'Q 31' --reason cork", f"{CASK} is on hold"),
        ("gauge 'Q 31' --strength 59.9", f"{CASK} holds 199.8"),
        ("set 'Q 31' toast=heavy", f"{CASK}: recorded"),
    ],
)
def test_answers_name_the_item(desk, command, named):
    """What it is called stands beside its identifier."""
    assert named in desk.does(command).out


def test_a_new_identifier_stands_alone_on_its_line(desk):
    """Scripts take it from there; what it was drawn from is named beside."""
    ran = desk.does("draw 'Q 31' '100 ml'")
    assert ran.out == "V-000002-P\n"
    assert f"{CASK} holds" in ran.err


def test_runs_of_labels_and_numbers_set_aside_name_their_items(desk, tmp_path):
    """Before a number is assigned there is nothing to name."""
    reserved = desk.does("reserve vial 1").out.strip()
    assert f"{reserved}  {reserved} " in desk.does("reserve --list").out
    desk.does(f"draw 'Q 31' '50 ml' --vial {reserved}")
    assert f"{reserved} · Q 31 · wine pipe" in desk.does("reserve --list").out
    ran = desk.does(f"label 'Q 31' --template sheet-a4-8-99x68 -o {tmp_path / 'l.pdf'}")
    assert f"1 label in {tmp_path / 'l.pdf'}: {CASK}" in ran.out
    assert f"  {CASK}  sheet-a4-8-99x68" in desk.does("print-log").out


def test_a_refusal_names_its_items_and_leaves_what_is_to_be_typed(desk):
    """Its sentence, but for what was typed, and not the remedy; nor what the book does not know."""
    desk.does("hold 'Q 31' --reason cork")
    refused = desk("draw C-000001-H '100 ml'").err
    assert f"refused: {CASK} is on hold" in refused
    assert "wine pipe" not in refused.partition("do: ")[2]
    assert "C-000009-1 is not in the book" in desk("show C-000009-1").err
    assert "refused: 'C-000001-X' is mistyped" in desk("show C-000001-X").err


def test_a_blend_is_known_by_its_name_or_by_its_casks(desk):
    """The woods of all of them would fill the line."""
    desk.does("cask 'Q 32' --fill '200 l' --strength 60 --wood 'rum barrel' --in-wood 0 --when 2024-01-01")
    for facts in ("--ref 'Trial 1'", "--ref 'Trial 2' --name Orchard"):
        trial = desk.does(f"trial --part 'Q 31=2' --part 'Q 32=1' --total '90 ml' {facts}").id
        desk.does(f"pour {trial} 'Q 31' '60 ml' 'Q 32' '30 ml'")
    said = desk.does("stock").out
    assert "· Trial 1 · Q 31 + Q 32  " in said
    assert "· Trial 2 · Orchard  " in said


def test_programs_get_the_identifier_alone(desk):
    """Ref, wood and name are fields of their own."""
    assert all("·" not in row["id"] for row in desk.asks("stock")["items"])
    assert desk.asks("move 'Q 31' --to 'Row 9'")["ids"] == ["C000001H"]
