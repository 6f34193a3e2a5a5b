"""A site of another house joins a group on purpose alone: none can be taken out again."""

import pytest
from command import Desk, here
from site_houses import Sites

from pourbook import Book
from pourbook.errors import ToConfirm


@pytest.fixture
def sites(tmp_path):
    with Sites(tmp_path, "A") as one:
        Book.create(one.path("C"), house="Marrowby", site="C", numbers="300000-399999").close()
        Book.create(one.path("D"), house="marrowby ", site="D", numbers="400000-499999").close()
        yield one


def test_a_site_of_another_house_waits_for_a_yes_and_nothing_joins(sites):
    sites.join()
    before = sites.path("G").read_bytes()
    with pytest.raises(ToConfirm, match="site C belongs to the house Marrowby, and the sites of this group to Quill"):
        sites.join(sites.path("A"), sites.path("C"))
    assert sites.path("G").read_bytes() == before
    sites.join(sites.path("C"), confirm=True)
    sites.join(sites.path("C"))  # once it belongs to the group, nobody is asked again
    sites.join(sites.path("D"))  # nor of a second site of that house, however it is spaced
    with sites.group() as group:
        assert [(one.name, one.house) for one in group.sites()][:2] == [("A", "Quillmere"), ("C", "Marrowby")]


def test_of_a_new_group_nothing_is_left(sites):
    with pytest.raises(ToConfirm) as asked:
        sites.join(sites.path("A"), sites.path("C"), sites.path("D"))
    assert [one.rule for one in asked.value.questions] == ["another-house"] * 2
    assert not sites.path("G").exists()


def test_a_site_that_renames_its_house_is_not_asked_about(sites):
    sites.join()
    Desk(sites.path("A"), here)("settings --set house='Quillmere Distillery' --who M").done()
    sites.join()


def test_the_command_says_what_to_give(sites):
    ran = here("group", "join", sites.path("G"), sites.path("A"), sites.path("C"))
    assert (ran.status, ran.refusal) == (1, ToConfirm)
    assert "If it is right, give --confirm" in ran.err
    here("group", "join", sites.path("G"), sites.path("A"), sites.path("C"), "--confirm").done()
