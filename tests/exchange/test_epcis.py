"""A lineage as EPCIS 2.0: right events, right words, identifiers that stay, and valid by the standard's schema.

The official schema and examples carry no open licence and are no part of the project; POURBOOK_EPCIS names
the folder they lie in (epcis-2.0-json-schema.json, example-*.jsonld of github.com/gs1/EPCIS at 2b888be).
"""

import json
import os
from pathlib import Path

import pytest
from epcis_house import ADDRESS, document_of, events_of, liquid_in, sending_house
from house import House, moment
from hypothesis import given, settings
from random_books import books, built

from pourbook.errors import Malformed, PourbookError, Refused
from pourbook.exchange.epcis.epcis_hash import event_id, pre_hash
from pourbook.exchange.epcis.epcis_reading import read_document
from pourbook.exchange.epcis.epcis_words import BIZ_STEPS, DISPOSITIONS, FIELDS, NAMESPACE
from pourbook.exchange.tables.columns import Faults

OFFICIAL = os.environ.get("POURBOOK_EPCIS", "")
official = pytest.mark.skipif(not OFFICIAL, reason="POURBOOK_EPCIS names no folder with the official schema")
OURS = {"pourbook": NAMESPACE}


@pytest.fixture(scope="module")
def house():
    with sending_house() as house:
        yield house


@pytest.fixture(scope="module")
def document(house):
    return document_of(house, "B1")


# -- what is told --------------------------------------------------------------------------


def test_every_step_is_an_event(document):
    """Four arrivals (water too), a mixing for each pour in the lineage, its gauge, two despatches, what is left."""
    steps = [event["bizStep"] for event in events_of(document)]
    assert steps.count("commissioning") == 4
    assert steps.count("creating_class_instance") == 6
    assert steps.count("inspecting") == 1
    assert steps.count("shipping") == 2
    assert steps[-1] == "stock_taking"
    assert len(steps) == 14


def test_the_vial_drawn_is_not_in_the_lineage(document, house):
    """What went elsewhere is not told."""
    assert house.id("V1") not in json.dumps(document)


def test_what_is_known_of_an_origin_is_told_and_its_cost_is_not(document):
    """Spirit, distiller, dates and strength are ILMD in our namespace; costs and people stay in the house."""
    first = events_of(document, "commissioning")[0]
    known = {name.removeprefix("pourbook:"): value for name, value in first["ilmd"].items()}
    strength = known.pop("strength_20c")
    assert strength == pytest.approx(63.5, abs=1e-4)
    assert known == {"kind": "origin", "spirit": "malt spirit", "distiller": "Corran Vale", "wood_days": 0}
    assert "M. Aldane" not in json.dumps(document)
    assert "cost" not in json.dumps(document)


def test_the_wood_of_a_cask_is_told_where_a_fill_begins(document):
    """A fill carries what was true of its cask then."""
    filling = events_of(document, "creating_class_instance")[0]
    assert filling["ilmd"]["pourbook:wood"] == "virgin chestnut"
    assert filling["ilmd"]["pourbook:kind"] == "cask"


def test_masses_add_up_in_every_mixing(document):
    """What goes in comes out, to the milligram; the quantity beside it says the same mass."""
    for event in events_of(document, "creating_class_instance"):
        (output,) = event["outputQuantityList"]
        poured = [liquid_in(event, one["epcClass"]) for one in event["inputQuantityList"]]
        made = liquid_in(event, output["epcClass"])
        assert [sum(column) for column in zip(*poured, strict=True)] == list(made)
        assert round(output["quantity"] * {"KGM": 10**6, "GRM": 1000}[output["uom"]]) == made.mass_mg


def test_a_cask_filled_again_is_another_class():
    """Lineage runs through fills: a lot bottled before the refill does not lead to what came later."""
    with House(uri=ADDRESS) as house:
        house.cask("C1", "100 l", "60", spirit="first")
        house.pour("C1", "B1", None)
        house.fill("C1", "100 l", "60", spirit="second")
        house.pour("C1", "B2", None)
        (first,), (second,) = (
            [one["ilmd"]["pourbook:spirit"] for one in events_of(document_of(house, name), "commissioning")]
            for name in ("B1", "B2")
        )
        assert (first, second) == ("first", "second")


def test_what_remained_is_taken_into_the_next_fill():
    """After something was taken, the next pour in makes a class of the rest and what joins it."""
    with House(uri=ADDRESS) as house:
        house.cask("C1", "100 l", "60")
        house.draw("C1", "V1", "1 l")
        house.fill("C1", "10 l", "60")
        last = events_of(document_of(house, "C1"), "creating_class_instance")[-1]
        old, new = last["inputQuantityList"]
        assert (old["epcClass"], new["epcClass"]) == (f"{ADDRESS}/class/C000001H-3", f"{ADDRESS}/class/origin-6")
        assert last["outputQuantityList"][0]["epcClass"] == f"{ADDRESS}/class/C000001H-6"


def test_losses_are_destroyed_and_samples_sampled():
    """CBV: sampling is destructive; all else that is lost is destroyed."""
    with House(uri=ADDRESS) as house:
        house.cask("C1", "100 l", "60")
        house.lose("C1", "1 l", disposition="leak")
        house.lose("C1", "1 l", disposition="tasting")
        steps = [(one["bizStep"], one["action"]) for one in events_of(document_of(house, "C1")) if "ilmd" not in one]
        assert steps == [("destroying", "DELETE"), ("sampling", "DELETE"), ("stock_taking", "OBSERVE")]


def test_a_trace_forward_leads_to_every_customer(house):
    """From a cask, everything it went into, with where it was despatched."""
    shipped = events_of(document_of(house, "C1", forward=True), "shipping")
    destinations = [one["destinationList"][0]["destination"] for one in shipped]
    assert destinations == [f"{ADDRESS}/party/Harbour%20Row", f"{ADDRESS}/party/Someone%20else"]


def test_other_customers_can_be_left_out(house):
    """A document for one customer does not name another."""
    document = document_of(house, "B1", customer="Harbour Row")
    assert len(events_of(document, "shipping")) == 1
    assert "Someone" not in json.dumps(document)


def test_the_whole_house_and_a_period(house):
    """Without items all is told, the vial too; a period cuts at both ends."""
    whole = events_of(document_of(house))
    assert any(house.id("V1") in json.dumps(event) for event in whole)
    some = events_of(document_of(house, start_us=moment("2016-01-01"), at_us=moment("2020-12-31")))
    assert [event["eventTime"][:4] for event in some] == ["2016"] * 5 + ["2020"]
    assert len(whole) > len(some)


def test_an_address_of_the_house_is_needed(house):
    """Names that others could have, too, are not given."""
    with House() as unnamed:
        unnamed.cask("C1", "100 l", "60")
        with pytest.raises(Refused, match="no web address"):
            document_of(unnamed, "C1")
    with pytest.raises(Malformed, match="cannot begin a link"):
        House(uri="quillmere")


def test_times_carry_the_house_offset(document):
    """Summer time in London is an hour ahead of UTC."""
    offsets = {event["eventTime"][5:7]: event["eventTimeZoneOffset"] for event in events_of(document)}
    assert (offsets["03"], offsets["07"]) == ("+00:00", "+01:00")


# -- bottles ------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def bottled():
    from pourbook import Packed
    from pourbook.book.trade_numbers import next_ssccs

    with House(uri=ADDRESS, company_prefix="9521234") as house:
        house.cask("C1", "100 l", "60")
        house.pour("C1", "B1", None)
        house.open("L1", gtin="9521234005674", lot_mark="26-118", bottles="100")
        house.pour("B1", "L1", "70 l", verb="bottle", bottles=100)
        ssccs = next_ssccs(house.book.store, "9521234", 2)
        house.record(Packed(house.id("L1"), "case", ssccs, "9521234", 6))
        house.despatch("L1", "8.4 l", customer="Harbour Row", bottles=12)
        yield house


def test_bottles_go_by_gtin_and_lot_and_are_counted(bottled):
    """GS1 Digital Link of GTIN and lot; whole bottles have no unit of measure (EPCIS 2.0)."""
    document = document_of(bottled, "L1")
    (filled,) = events_of(document, "commissioning")[1:]
    lot = {"epcClass": "https://id.gs1.org/01/09521234005674/10/L26-118", "quantity": 100}
    assert filled["outputQuantityList"] == [lot]
    assert filled["disposition"] == "active"
    assert events_of(document, "shipping")[0]["quantityList"] == [lot | {"quantity": 12}]


def test_cases_are_aggregations_by_sscc(bottled):
    """One AggregationEvent for each case; the check digit of its SSCC is GS1's."""
    cases = events_of(document_of(bottled, "L1"), "packing")
    assert [one["parentID"] for one in cases] == [
        "https://id.gs1.org/00/095212340000000013", "https://id.gs1.org/00/095212340000000020",
    ]  # fmt: skip
    assert {one["childQuantityList"][0]["quantity"] for one in cases} == {6}


# -- corrections ----------------------------------------------------------------------------


def test_a_voided_pour_is_declared_not_to_have_happened():
    """The event is told again as it was, with the same identifier, and a declaration of error."""
    with House(uri=ADDRESS) as house:
        house.cask("C1", "100 l", "60")
        wrong = house.fill("C1", "10 l", "60")
        before = {event["eventID"] for event in events_of(document_of(house, "C1"))}
        house.void(wrong)
        declared = [one for one in events_of(document_of(house, "C1")) if "errorDeclaration" in one]
        assert {one["errorDeclaration"]["reason"] for one in declared} == {"did_not_occur"}
        assert len(declared) == 2
        assert {one["eventID"] for one in declared} < before


def test_a_replaced_pour_names_its_correction():
    """Reason incorrect_data, with the identifiers of the events that stand in its place."""
    from pourbook import Pour

    with House(uri=ADDRESS) as house:
        house.cask("C1", "100 l", "60")
        wrong = house.pour("C1", "B1", "10 l", at="2024-03-01")
        house.replace(wrong, Pour("pour", (house.move("C1", "B1", "12 l"),)), at="2024-03-01")
        events = events_of(document_of(house, "B1"))
        (declared,) = [one for one in events if "errorDeclaration" in one]
        (corrective,) = declared["errorDeclaration"]["correctiveEventIDs"]
        assert declared["errorDeclaration"]["reason"] == "incorrect_data"
        (right,) = [one for one in events if one["eventID"] == corrective]
        assert "errorDeclaration" not in right
        assert right["outputQuantityList"][0]["quantity"] > declared["outputQuantityList"][0]["quantity"]
        assert right["transformationID"] == declared["transformationID"]


# -- identifiers of events ----------------------------------------------------------------------

REFERENCE = {
    "type": "ObjectEvent",
    "eventTime": "2020-03-04T11:00:30.000+01:00",
    "eventTimeZoneOffset": "+01:00",
    "recordTime": "2020-03-04T11:00:30.999+01:00",
    "epcList": [
        "urn:epc:id:sscc:4012345.0000000333", "urn:epc:id:sscc:4012345.0000000111",
        "urn:epc:id:sscc:4012345.0000000222",
    ],
    "action": "OBSERVE",
    "bizStep": "departing",
    "readPoint": {"id": "urn:epc:id:sgln:4012345.00011.987"},
    "example:myField1": {"example:mySubField1": "2", "example:mySubField2": "5"},
    "example:myField2": "0",
    "example:myField3": {"example:mySubField3": ["3", "1"]},
}  # fmt: skip
"""The reference event of github.com/RalphTro/epcis-event-hash-generator (MIT) at 5d2f1c3, and its hash."""
REFERENCE_HASH = "ni:///sha-256;6ae96341e0acc6d7a261364751f60e68278a81cdf51da0abb6b4e617014e39d7?ver=CBV2.0"


def test_the_published_hash_is_met():
    """The hash of the reference event, whatever the order of its fields."""
    namespaces = {"example": "https://ns.example.com/epcis/"}
    assert event_id(REFERENCE, namespaces) == REFERENCE_HASH
    assert event_id(dict(reversed(REFERENCE.items())), namespaces) == REFERENCE_HASH


def test_what_is_left_out_of_the_hash():
    """Time of recording, declaration of error and the identifier itself change nothing; anything else does."""
    namespaces = {"example": "https://ns.example.com/epcis/"}
    told = REFERENCE | {"eventID": "urn:x:1", "recordTime": "2026-01-01T00:00:00Z", "errorDeclaration": {"reason": "x"}}
    assert event_id(told, namespaces) == REFERENCE_HASH
    for change in ({"example:myField2": "1"}, {"action": "ADD"}, {"eventTime": "2020-03-04T11:00:31+01:00"}):
        assert event_id(REFERENCE | change, namespaces) != REFERENCE_HASH


def test_numbers_hash_alike_however_they_are_written():
    """200, 200.0 and "200" are one number: CBV 2.0 strips needless zeros."""
    quantities = [{"quantityList": [{"epcClass": "x:y", "quantity": number}]} for number in (200, 200.0, "200")]
    assert len({pre_hash(REFERENCE | one, {}) for one in quantities}) == 1


def test_identifiers_are_stable_and_all_different(house):
    """Exported again, from the batch or with the whole house, an event has the same identifier."""
    batch = [event["eventID"] for event in events_of(document_of(house, "B1"))]
    whole = [event["eventID"] for event in events_of(document_of(house))]
    assert len(set(batch)) == len(batch)
    assert len(set(whole)) == len(whole)
    assert set(batch[:-1]) < set(whole)  # the last says what is left, which the house itself need not


# -- against the official schema ---------------------------------------------------------------


@pytest.fixture(scope="module")
def faults_by_schema():
    """What the official schema finds wrong with a document, its checks of formats switched on."""
    jsonschema = pytest.importorskip("jsonschema")
    pytest.importorskip("rfc3987")
    schema = json.loads(Path(OFFICIAL, "epcis-2.0-json-schema.json").read_text("utf-8"))
    validator = jsonschema.Draft7Validator(schema, format_checker=jsonschema.FormatChecker())
    return lambda document: [error.message for error in validator.iter_errors(document)]


@official
def test_the_schema_is_awake(faults_by_schema, document):
    """With format checks a word that is none is refused."""
    events = [dict(event, bizStep="blending") for event in events_of(document)]
    assert faults_by_schema(document | {"epcisBody": {"eventList": events}})


@official
def test_documents_are_valid(faults_by_schema, house, bottled, document):
    """A lineage back and forward, the whole house, bottles and cases."""
    assert faults_by_schema(document) == []
    assert faults_by_schema(document_of(house, "C1", forward=True)) == []
    assert faults_by_schema(document_of(house)) == []
    assert faults_by_schema(document_of(bottled)) == []


@official
@settings(max_examples=10)
@given(books)
def test_documents_of_random_books_are_valid(faults_by_schema, operations):
    """Whatever happened in a house, corrections too, is valid, and is read back without a fault."""
    house, _ = built(operations)
    with house:
        house.record(_address())
        documents = [document_of(house)]
        for name, forward in (("B1", False), ("C1", True)):
            try:
                documents.append(document_of(house, name, forward=forward))
            except PourbookError:
                continue  # nothing was ever poured into it
    for document in documents:
        assert faults_by_schema(document) == []
        assert _read(json.dumps(document).encode())


def _address():
    from pourbook import House as Settings

    return Settings({"uri": ADDRESS})


def _read(content):
    faults = Faults()
    read = read_document("document.jsonld", content, faults, now_us=moment("2030-01-01"))
    faults.check("document")
    return read


@official
def test_words_are_those_of_the_schema():
    """Steps, dispositions and kinds of events are the schema's, no more and no less."""
    schema = json.loads(Path(OFFICIAL, "epcis-2.0-json-schema.json").read_text("utf-8"))["definitions"]
    assert set(schema["bizStep"]["anyOf"][1]["enum"]) == BIZ_STEPS
    assert set(schema["disposition"]["anyOf"][1]["enum"]) == DISPOSITIONS
    common = set(schema["common-event-properties"]["anyOf"][0]["enum"])
    for kind, fields in FIELDS.items():
        own = {word for part in schema[kind]["allOf"] for word in _enums(part.get("propertyNames", {}))}
        assert own | common == fields


def _enums(names):
    return [word for one in names.get("anyOf", ()) for word in one.get("enum", ())]


@official
@pytest.mark.parametrize(
    "path", sorted(Path(OFFICIAL).glob("*.jsonld")) if OFFICIAL else [], ids=lambda path: path.stem
)
def test_official_examples_are_read(path):
    """Every official example is read without a fault."""
    _read(path.read_bytes())
