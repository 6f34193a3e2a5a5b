"""A lineage as PROV-JSON: as the W3C's terms mean (PROV-DM, PROV-O, 30 April 2013), and read by another library."""

import json

import pytest
from epcis_house import ADDRESS, sending_house
from house import House

from pourbook.errors import Refused
from pourbook.exchange.output.prov import prov_document
from pourbook.exchange.output.writing import as_json


def prov_of(house, *names, **options):
    return as_json(prov_document(house.book, [house.id(name) for name in names], **options))


@pytest.fixture(scope="module")
def text():
    with sending_house() as house:
        yield prov_of(house, "B1")


@pytest.fixture(scope="module")
def document(text):
    return json.loads(text)


def test_derivation_use_and_generation_stand_together(document):
    """PROV: a derivation alone does not imply that the activity used the source; so all three are told."""
    used = {(one["prov:activity"], one["prov:entity"]) for one in document["used"].values()}
    made = {one["prov:activity"]: one["prov:entity"] for one in document["wasGeneratedBy"].values()}
    assert document["wasDerivedFrom"]
    for one in document["wasDerivedFrom"].values():
        assert (one["prov:activity"], one["prov:usedEntity"]) in used
        assert made[one["prov:activity"]] == one["prov:generatedEntity"]


def test_an_entity_is_generated_once(document):
    """PROV-CONSTRAINTS, uniqueness of generation: one activity for all that was poured into a fill."""
    made = [one["prov:entity"] for one in document["wasGeneratedBy"].values()]
    assert len(set(made)) == len(made)
    batch = document["activity"]["pour:B000001Y-11"]
    assert (batch["prov:startTime"][:10], batch["prov:endTime"][:10]) == ("2022-03-01", "2022-03-03")


def test_nothing_is_used_before_it_is_generated(document):
    """PROV-CONSTRAINTS, generation precedes usage."""
    made = {one["prov:entity"]: one["prov:time"] for one in document["wasGeneratedBy"].values()}
    for one in document["used"].values():
        assert made.get(one["prov:entity"], "") <= one["prov:time"]


def test_every_record_names_what_is_declared(document):
    """No record points to an entity, activity or agent that the document does not describe."""
    ends = dict.fromkeys(("prov:entity", "prov:usedEntity", "prov:generatedEntity"), "entity")
    ends |= dict.fromkeys(("prov:agent", "prov:delegate", "prov:responsible"), "agent") | {"prov:activity": "activity"}
    for kind in document.keys() - {"prefix", "entity", "activity", "agent"}:
        for one in document[kind].values():
            for end, described in ends.items():
                assert end not in one or one[end] in document[described]


def test_people_act_for_the_house_and_distillers_are_named(document):
    """Agents: who poured, the house, who distilled."""
    (acting,) = document["actedOnBehalfOf"].values()
    assert acting == {"prov:delegate": "who:M.%20Aldane", "prov:responsible": "who:Quillmere"}
    (attributed,) = document["wasAttributedTo"].values()
    assert document["agent"][attributed["prov:agent"]]["prov:label"] == "Corran Vale"
    who = {one["prov:activity"] for one in document["wasAssociatedWith"].values()}
    assert who == document["activity"].keys()


def test_quantities_stand_on_the_use(document):
    """PROV has no quantity; how much was used is ours, and in whole milligrams."""
    amounts = [one["pourbook:mass_mg"] for one in document["used"].values()]
    assert all(isinstance(amount, int) and amount > 0 for amount in amounts)


def test_another_library_reads_the_same(text, document):
    """The `prov` package (3.2.3, MIT) reads as many records of each kind, and writes them again."""
    prov = pytest.importorskip("prov.model")
    read = prov.ProvDocument.deserialize(content=text, format="json")
    records = {
        "entity": prov.ProvEntity, "activity": prov.ProvActivity, "agent": prov.ProvAgent, "used": prov.ProvUsage,
        "wasGeneratedBy": prov.ProvGeneration, "wasDerivedFrom": prov.ProvDerivation,
        "wasAssociatedWith": prov.ProvAssociation, "wasAttributedTo": prov.ProvAttribution,
        "actedOnBehalfOf": prov.ProvDelegation,
    }  # fmt: skip
    for kind, class_ in records.items():
        assert len(list(read.get_records(class_))) == len(document[kind]), kind
    again = json.loads(read.serialize(format="json"))
    assert again["entity"].keys() == document["entity"].keys()
    assert read.valid_qualified_name("fill:B000001Y-11").uri == f"{ADDRESS}/class/B000001Y-11"


def test_an_address_of_the_house_is_needed():
    """Names are addresses here, too."""
    with House() as house:
        house.cask("C1", "100 l", "60")
        with pytest.raises(Refused, match="no web address"):
            prov_of(house, "C1")
