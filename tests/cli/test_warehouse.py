"""Life in the warehouse by the real command: what lies in the way, leaking casks, stocktakes."""

import pypdfium2
import pytest
from command import Desk, here


def hyphened(identifier):
    return f"{identifier[0]}-{identifier[1:-1]}-{identifier[-1]}"


@pytest.fixture
def shed(tmp_path):
    """A stow two high, open at its first end: Q 1 to Q 3 on the ground, Q 4 to Q 6 upon them; Q 7 in another row."""
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    desk.does("location Row --storage stow --levels row/tier/position")
    desk.does("settings --set walk=serpentine")
    places = {f"Q {number}": f"Row 3, {1 + (number > 3)}, {1 + (number - 1) % 3}" for number in range(1, 7)}
    desk.ids = {
        ref: desk.does(f"cask '{ref}' --fill '200 l' --strength 60 --place '{place}' --when 2016-03-01").id
        for ref, place in (places | {"Q 7": "Row 4, 1, 1"}).items()
    }
    return desk


def test_what_is_in_the_way_is_counted_for_each_cask_and_for_all(shed):
    """Q 3 on the ground has two in front, and the upper tier in front of it and upon it; Q 6 has only its own tier."""
    found = shed.asks("reach 'Q 3' 'Q 6' 'Q 7'")
    refs = {cask: ref for ref, cask in shed.ids.items()}
    in_the_way = {one["ref"]: {refs[cask] for cask in one["in_the_way"]} for one in found["casks"]}
    assert in_the_way == {"Q 3": {"Q 1", "Q 2", "Q 4", "Q 5", "Q 6"}, "Q 6": {"Q 4", "Q 5"}, "Q 7": set()}
    # What is pulled itself is not shifted, and what is in the way of both is shifted once.
    assert {one["ref"] for one in found["shifted"]} == {"Q 1", "Q 2", "Q 4", "Q 5"}
    assert "to shift for all of them: 4 casks" in shed.does("reach 'Q 3' 'Q 6' 'Q 7'").out


def test_where_nobody_said_how_casks_lie_nothing_is_made_up(shed):
    """A place without its position, and a place of no such location, are named with what to do."""
    shed.does("move 'Q 7' --to 'Lean-to'")
    ran = shed.does("reach 'Q 7'")
    assert "not known" in ran.out
    assert "pourbook location NAME --storage KIND" in ran.err
    assert shed.asks("reach 'Q 7'")["unknown"] == [shed.ids["Q 7"]]
    assert "holds" not in ran.err
    assert shed("reach Row").status == 1


def test_an_empty_cask_is_in_the_way_until_it_is_taken_away(shed):
    """It still lies there, as far as the book knows."""
    shed.does("loss 'Q 1' all --kind leak --confirm")
    assert {"ref": "Q 1", "empty": True}.items() <= shed.asks("reach 'Q 2'")["shifted"][0].items()
    assert "empty by the book" in shed.does("reach 'Q 2'").out
    shed.does("move 'Q 1' --to 'cooperage'")
    assert [one["ref"] for one in shed.asks("reach 'Q 2'")["shifted"]] == ["Q 4", "Q 5"]


def test_a_pull_list_walks_past_the_casks_and_names_those_to_shift(shed, tmp_path):
    """Row 3 first, then row 4 backwards; a batch stands for what its plan still takes."""
    shed.does("recipe Ash --part 'Q 7=1' --part 'Q 5=1' --part 'Q 6=1'")
    shed.does("scale-up Ash --total '300 l' --open --ref 'Vatting 9'")
    shed.does(f"sheet 'Vatting 9' -o {tmp_path}/pull.pdf")
    (page,) = pypdfium2.PdfDocument(tmp_path / "pull.pdf")
    text = page.get_textpage().get_text_range()
    assert text.index("Q 5") < text.index("Q 6") < text.index("Q 7")
    assert "To reach them, shift 1 cask: Q 4 at Row 3, 2, 1." in text
    assert [one["ref"] for one in shed.asks("reach 'Vatting 9'")["shifted"]] == ["Q 4"]
    shed.does("pour 'Vatting 9' 'Q 5' '100 l'")
    assert len(shed.asks("reach 'Vatting 9'")["casks"]) == 2
