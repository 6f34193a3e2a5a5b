"""Documents of Quillmere for the tests of exchange: one house that sends, and what it writes."""

import json

from house import House

from pourbook.exchange.epcis.epcis_export import epcis_document
from pourbook.exchange.output.writing import as_json
from pourbook.liquid import Liquid

ADDRESS = "https://quillmere.example"


def sending_house(**settings):
    """Three origins of two spirits in two casks, water, and a batch of which a part was sent in a tanker."""
    house = House(uri=ADDRESS, zone="Europe/London", **settings)
    house.open("C1", wood="virgin chestnut", ref="Row 1/1")
    house.open("C2", wood="old oak", ref="Row 1/2")
    house.fill(
        "C1", "190 l", "63.5", at="2015-03-01", spirit="malt spirit", distiller="Corran Vale", wood_days=0, cost="6"
    )
    house.fill("C2", "150 l", "62", at="2016-05-01", spirit="grain spirit", wood_days=400)
    house.draw("C2", "V1", "200 ml", at="2016-06-01")
    house.fill("C2", "20 l", "60", at="2016-07-01", spirit="grain spirit", distilled="2012-04-05", wood_days=100)
    house.gauge("C1", "170 l", "61.2", at="2020-02-01")
    house.dump("C1", "B1", at="2022-03-01")
    house.pour("C2", "B1", "120 l", at="2022-03-02")
    house.water("B1", "60 l", at="2022-03-03")
    house.despatch("B1", "250 l", at="2022-04-01", customer="Harbour Row", document="DN 7")
    house.despatch("B1", "20 l", at="2022-04-02", customer="Someone else")
    return house


def document_of(house, *names, **options):
    """The document of a lineage, as its receiver reads it."""
    return json.loads(as_json(epcis_document(house.book, [house.id(name) for name in names], **options)))


def events_of(document, step=None):
    events = document["epcisBody"]["eventList"]
    return [event for event in events if step is None or event.get("bizStep") == step]


def liquid_in(event, of=None):
    """What our own words say of the liquid in an event."""
    (content,) = [one for one in event["pourbook:contents"] if of is None or one["pourbook:of"] == of]
    return Liquid(*(content[f"pourbook:{name}"] for name in Liquid._fields))
