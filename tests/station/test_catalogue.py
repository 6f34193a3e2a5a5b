"""Every text of the station is in the catalogue, and its translation says as much as it does."""

import re

import pytest
from babel.messages.pofile import read_po
from write_catalogue import as_mo, as_po, brought_up, gathered, lacking, translations

from pourbook.station.sentences import Forms

_PLACES = re.compile(r"\{\w*\}|%\(\w+\)[sd]|%%")


@pytest.fixture(scope="module")
def german():
    """The German words."""
    (path,) = translations()
    with path.open("rb") as file:
        return path, read_po(file, locale="de")


@pytest.fixture(scope="module")
def source():
    """What the source says now."""
    return gathered()


def test_the_catalogue_is_what_the_source_says(german, source):
    """`python tests/write_catalogue.py` would change nothing."""
    path, _ = german
    assert as_po(brought_up(path, source)) == path.read_bytes()


def test_nothing_lacks_its_translation(german):
    """The second language is complete."""
    assert lacking(german[1]) == []


def test_what_gettext_reads_is_made_of_the_words(german):
    """The compiled file is that of the readable one."""
    path, catalogue = german
    assert as_mo(catalogue) == path.with_suffix(".mo").read_bytes()


def test_a_translation_names_the_same_values(german):
    """Each value of the original, and nothing else, stands in it."""
    wrong = []
    for message in german[1]:
        if message.id:
            ids = message.id if isinstance(message.id, tuple) else (message.id,)
            strings = message.string if isinstance(message.string, tuple) else (message.string,)
            if set(_PLACES.findall(ids[-1])) != set(_PLACES.findall(strings[-1])):
                wrong.append(message.id)
    assert wrong == []


def test_a_sentence_of_the_book_is_told_by_its_form():
    """The form that shares most with it; values keep their place; what is unknown stays."""
    forms = Forms({
        "{0} holds {1} kg; {2} kg cannot be taken": "{0} enthält {1} kg; {2} kg sind nicht zu nehmen",
        "{0} holds {1}": "{0} hält {1}",
    })  # fmt: skip
    assert (
        forms.told("C-000001-H holds 3 kg; 5 kg cannot be taken")
        == "C-000001-H enthält 3 kg; 5 kg sind nicht zu nehmen"
    )
    assert forms.told("C-000001-H holds water") == "C-000001-H hält water"
    assert forms.told("nothing of the kind") == "nothing of the kind"


def test_a_page_and_a_refusal_are_german(open_house):
    """Pages, forms, and what the rules of the book say; without what is typed into the command."""
    from stations import Caller

    caller = Caller(open_house.url)
    german = {"Accept-Language": "de-DE,de;q=0.9"}
    assert "Heute" in caller.get("/", headers=german).text
    answer = caller.post("/item/C0000163/hold", {"reason": ""}, headers=german | {"HX-Request": "true"})
    assert answer.status_code in (409, 422)
    assert "Nicht eingetragen" in answer.text
    assert "--" not in answer.text
    assert "pourbook " not in answer.text
