"""Every text of the station is in the catalogue, and its translation says as much as it does."""

import ast
import re
import sqlite3

import psycopg
import pytest
from babel.messages.pofile import read_po
from write_catalogue import (
    COMMAND,
    _of_refusals,
    _of_tables,
    _without_commands,
    as_mo,
    as_po,
    brought_up,
    gathered,
    lacking,
    translations,
)

from pourbook.errors import PourbookError
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


@pytest.mark.parametrize("records", [False, True])
def test_what_an_engine_says_is_told_in_german(german, records):
    """Every row of the tables in which failures of a server or a file stand, also where nothing was recorded."""
    from pourbook.book import explaining, postgres_errors

    forms = Forms({one.id: one.string for one in german[1] if isinstance(one.id, str) and one.id})
    address, refusals = "postgresql://quill@cellar.example/books", []
    for state, *_ in postgres_errors._EXPLANATIONS:
        error = type("_Failed", (psycopg.Error,), {"sqlstate": state.ljust(5, "0")})()
        with pytest.raises(PourbookError) as caught, postgres_errors.SpokenOf(address, records=records):
            raise error
        refusals.append(caught.value)
    for word, *_ in postgres_errors._WORDS_OF_CONNECTING:
        refusals.append(postgres_errors.of_connecting(psycopg.OperationalError(word), address))
    for word, *_ in explaining._EXPLANATIONS:
        with pytest.raises(PourbookError) as caught, explaining.Explained("q.pourbook", records=records):
            raise sqlite3.DatabaseError(word)
        refusals.append(caught.value)
    assert [one.message for one in refusals if forms.told(one.message) == one.message] == []
    typed = re.compile(COMMAND)
    assert [
        one.remedy for one in refusals if not typed.search(one.remedy) and forms.told(one.remedy) == one.remedy
    ] == []


def test_a_text_is_found_wherever_it_was_put_together():
    """Under a name, in a table, in either branch of a choice; and beside a command what a page tells of it."""
    tree = ast.parse(
        "_NONE = 'write one first'\n"
        "_TABLE = (('08', StoreError, \"the line to '{}' was cut\", f'{_NONE}, then try again'),)\n"
        "_IN_VAIN = ('08',)\n"
        "def act(near, name):\n"
        "    said, remedy = f'{name} is far off', _NONE\n"
        "    if near:\n"
        "        said = f'{name} is near by' if name else 'it is near by'\n"
        "    raise Refused(said, remedy or f'look: pourbook show {name}; {near} tells more')\n"
    )
    found = {part for one in (*_of_refusals(tree), *_of_tables(tree)) for part in _without_commands(one)}
    assert found >= {
        "the line to '{0}' was cut", "the line to '{0}' was cut: nothing was recorded",
        "write one first, then try again", "{0} is far off", "{0} is near by", "it is near by", "write one first",
        "{0} tells more",
    }  # fmt: skip


def test_a_remedy_is_told_whole_or_by_its_parts(open_house):
    """Beside what is typed into the command the rest is told, and in the language of whoever reads."""
    from stations import Caller

    caller = Caller(open_house.url)
    asked = {"amount": "1 l", "kind": "spill"}
    german = {"Accept-Language": "de-DE,de;q=0.9", "HX-Request": "true"}
    page = caller.post("/item/C0000163/fill", asked | {"amount": "200 l", "strength": "5"}, headers=german).text
    assert "lies es noch einmal ab." in page or "waren es" in page, page


def test_a_page_without_scripts_asks_each_question_in_german(open_house):
    """Several at once are told one by one, as in the answer box of a form."""
    from stations import Caller

    asked = {"amount": "900 l", "strength": "5", "in_wood": "0"}
    page = Caller(open_house.url).post("/item/C0000163/fill", asked, headers={"Accept-Language": "de-DE"}).text
    said = re.search(r'<p class="said">(.*?)</p>', page, re.DOTALL)[1]
    assert len(said.split("; ")) > 1
    assert "Spirituosen haben" in said
    assert not re.search(r"\b(and|the|has|holds|from)\b", said), said


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
