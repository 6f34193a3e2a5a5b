"""Another house's spirit with its ancestry: round trips, and documents with something wrong in them."""

import json
from datetime import UTC

import pytest
from epcis_house import ADDRESS, document_of, events_of, sending_house
from house import HOW, Clock, House, moment
from hypothesis import given, settings
from random_books import ITEMS, books, built, without_returns

from pourbook import Book, Item, Move, Pour
from pourbook import House as Settings
from pourbook.actions.happening import Happening
from pourbook.actions.importing import import_epcis
from pourbook.alcoholometry.volumes import volume_ml
from pourbook.book.contents import LINES
from pourbook.book.entries import Void
from pourbook.book.journal import entry_of
from pourbook.errors import FaultsFound, Malformed, OutOfRange, Refused
from pourbook.exchange.epcis.epcis_import import Asked
from pourbook.lineage.ages import age_of, brought
from pourbook.liquid import Liquid
from pourbook.paperwork.dossier_of import dossier_of
from pourbook.quantities import read_strength
from pourbook.times import DAY_US


@pytest.fixture(scope="module")
def sender():
    with sending_house() as house:
        yield house


@pytest.fixture(scope="module")
def sent(sender):
    """The document that goes with the tanker."""
    return document_of(sender, "B1", customer="Harbour Row")


@pytest.fixture
def take(book, tmp_path):
    """Takes a document in; the book's clock stands at the beginning of 2024."""

    def taken(document, name="tanker.jsonld", when_us=None, dry_run=False, **options):
        path = tmp_path / name
        path.write_text(document if isinstance(document, str) else json.dumps(document), "utf-8")
        how = Happening("M. Aldane", when_us, dry_run=dry_run)
        return import_epcis(book, how, path, Asked(**options))

    return taken


def origins_by_class(trace):
    return {origin.facts["epcis_class"]: origin for origin in trace.origins}


def left_in(document):
    """The class of which the document says last that it is there."""
    return events_of(document, "stock_taking")[-1]["quantityList"][0]["epcClass"]


# -- round trip ----------------------------------------------------------------------------------


def test_the_tanker_arrives_as_it_was_sent(book, sender, sent, take):
    """250 l leave Quillmere and the same milligrams arrive, as one batch with one line for each origin."""
    assert take(sent, ref="Tanker 8")[:2] == (1, 4)
    (arrived,) = book.stock()
    rows = sender.book.trace_forward(sender.id("B1")).pours
    (left,) = [pour.liquid for pour in rows if pour.target == "despatch" and pour.facts["customer"] == "Harbour Row"]
    assert (arrived.kind, arrived.ref, arrived.holding.liquid) == ("batch", "Tanker 8", left)
    assert volume_ml(left) == pytest.approx(250_000, abs=1)


@pytest.mark.parametrize("basis", ["alcohol", "mass"])
def test_shares_survive(book, sender, sent, take, basis):
    """The share of each origin is what it was, but for rounding to whole milligrams."""
    take(sent)
    (arrived,) = book.stock()
    here = [origin.share for origin in book.trace_back(arrived.id, basis).origins]
    there = [origin.share for origin in sender.book.trace_back(sender.id("B1"), basis).origins]
    whole_mg = arrived.holding.ethanol_mg if basis == "alcohol" else arrived.holding.mass_mg
    assert sorted(here) == pytest.approx(sorted(there), abs=2 / whole_mg)


def test_what_was_known_survives(book, sent, take):
    """Distiller, dates, woods, the addresses at the other house and the digest of the document."""
    take(sent)
    (arrived,) = book.stock()
    found = {origin.facts.get("spirit", origin.how): origin.facts for origin in book.trace_back(arrived.id).origins}
    malt = found["malt spirit"]
    assert malt["distiller"] == "Corran Vale"
    assert malt["woods"] == "virgin chestnut"
    assert malt["epcis_class"] == f"{ADDRESS}/class/origin-4"
    assert malt["epcis_event"].startswith("ni:///sha-256;")
    assert len(malt["epcis_sha256"]) == 64
    assert "cost" not in malt
    assert found["water"]["epcis_class"].startswith(f"{ADDRESS}/class/water-")
    assert arrived.facts["epcis_sender"] == "Quillmere"


def test_time_in_wood_goes_on_from_what_was_earned(book, sender, sent, take):
    """The age of the batch here is its age there when it was sent: by hand, 2,132 days for the youngest.

    The youngest is the spirit of 1 July 2016 (100 days in wood before), poured from its cask on 2 March 2022.
    """
    take(sent)
    (arrived,) = book.stock()
    age = book.trace_back(arrived.id).age
    by_hand_us = 100 * DAY_US + moment("2022-03-02") - moment("2016-07-01")
    assert age.youngest_us == by_hand_us // DAY_US * DAY_US
    assert age.youngest_us == sender.book.trace_back(sender.id("B1")).age.youngest_us


def test_several_stays_in_wood_arrive_as_years_and_days(take, book):
    """Six years in one cask, a year in steel, six in another: twelve years here, too, and not a day more.

    Their 4384 days counted back in one would be 12 years and a day.
    """
    with House(uri=ADDRESS) as house:
        house.cask("C1", "100 l", "60", at="2006-05-10", wood_days=0)
        house.dump("C1", "B1", at="2012-05-10")
        house.pour("B1", "C2", at="2014-03-01")
        house.dump("C2", "B2", at="2020-03-01")
        document = document_of(house, "B2")
    take(document, item=left_in(document))
    (arrived,) = book.stock()
    age = book.trace_back(arrived.id).age
    assert age_of(age.youngest, UTC) == (12, 0)


def test_redistilling_ends_time_in_wood(take, book):
    """What went through the still on the way has no age here either."""
    with House(uri=ADDRESS) as house:
        house.cask("C1", "100 l", "60", at="2015-01-01", wood_days=0)
        house.pour("C1", "B1", None, at="2020-01-01", redistilled=True)
        document = document_of(house, "B1")
    take(document, item=left_in(document))
    (arrived,) = book.stock()
    assert book.trace_back(arrived.id).age.youngest_us == 0


def test_a_third_house_sees_the_first(book, sent, take, tmp_path):
    """Sent on, an origin keeps the address that it had at the house before."""
    take(sent)
    (arrived,) = book.stock()
    with House(book=book) as here:
        here.record(Settings({"uri": "https://corran.example"}))
        again = document_of(here, arrived.id)
        with Book.create(":memory:", house="Third", clock=Clock("2025-01-01")) as third:
            path = tmp_path / "again.jsonld"
            path.write_text(json.dumps(again), "utf-8")
            import_epcis(third, HOW, path, asked=Asked(item=left_in(again)))
            (batch,) = third.stock()
            facts = [origin.facts for origin in third.trace_back(batch.id).origins if "distiller" in origin.facts]
    assert facts[0]["epcis_class"].startswith("https://corran.example/class/origin-")
    assert facts[0]["epcis_before"] == f"{ADDRESS}/class/origin-4"


@settings(max_examples=15)
@given(books.map(without_returns))
def test_random_books_keep_the_shares_of_every_origin(operations):
    """Heels, knots, gauges, losses, corrections: shares agree to one milligram in the whole, contents exactly."""
    from pathlib import Path
    from tempfile import TemporaryDirectory

    house, _ = built(operations)
    with house, TemporaryDirectory() as folder:
        house.record(Settings({"uri": ADDRESS}))
        for name in ITEMS[:6]:
            held = house.held(name)
            if held.mass_mg < 1000:
                continue
            document = document_of(house, name)
            path = Path(folder, f"{name}.jsonld")
            path.write_text(json.dumps(document), "utf-8")
            with Book.create(":memory:", house="Corran", clock=house.clock) as book:
                import_epcis(book, HOW, path, asked=Asked(item=left_in(document)))
                (arrived,) = book.stock()
                assert arrived.holding.liquid == held
                _agree(house, book, name, arrived)


def _agree(house, book, name, arrived):
    for basis, whole_mg in (("alcohol", arrived.holding.ethanol_mg), ("mass", arrived.holding.mass_mg)):
        there = {}
        for origin in house.back(name, basis).origins:
            there[_class(house, origin)] = origin.share
        if not whole_mg:
            continue
        here = {of: origin.share for of, origin in origins_by_class(book.trace_back(arrived.id, basis)).items()}
        for of in there.keys() | here.keys():
            # A gauge of strength alone may have made the share of the mass impossible; ethanol then goes before.
            slack = len(there) + 1 if basis == "alcohol" else float("inf")
            assert abs(there.get(of, 0.0) - here.get(of, 0.0)) * whole_mg <= slack


def _class(house, origin):
    place = house.book.store.query("SELECT place FROM entry WHERE number = ?", (origin.entry,))[0][0]
    line = origin.line % LINES
    return f"{ADDRESS}/class/{origin.how}-{place}" + (f"-{line}" if line else "")


# -- documents of others -------------------------------------------------------------------------


def foreign(*events):
    return {
        "@context": ["https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"],
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": "2023-05-01T00:00:00Z",
        "epcisBody": {"eventList": list(events)},
    }


def made(kind, when, **fields):
    return {"type": kind, "eventTime": f"{when}T08:00:00Z", "eventTimeZoneOffset": "+00:00", **fields}


def some(of, number, unit="KGM"):
    return [{"epcClass": f"https://corran.example/class/{of}", "quantity": number, "uom": unit}]


ADDED = made("ObjectEvent", "2022-01-01", action="ADD", bizStep="commissioning", quantityList=some("a", 300))
MIXED = made(
    "TransformationEvent", "2022-02-01", bizStep="creating_class_instance",
    inputQuantityList=some("a", 100) + some("b", 50), outputQuantityList=some("c", 150),
)  # fmt: skip
SHIPPED = made("ObjectEvent", "2022-03-01", action="OBSERVE", bizStep="shipping", quantityList=some("c", 90))


def test_a_document_in_the_plain_words_of_the_standard(book, take):
    """Without our own words, mass tells the shares, and the person who imports the strength."""
    take(foreign(ADDED, MIXED, SHIPPED), strength=read_strength("60"))
    (arrived,) = book.stock()
    found = {of[-1]: one.share for of, one in origins_by_class(book.trace_back(arrived.id, "mass")).items()}
    assert found == {"a": pytest.approx(2 / 3, abs=1e-8), "b": pytest.approx(1 / 3, abs=1e-8)}
    assert arrived.holding.mass_mg == 90_000_000
    assert arrived.strength_20c == pytest.approx(60, abs=1e-6)
    assert book.trace_back(arrived.id).age.youngest_us is None


def test_litres_are_litres_at_20_degrees(book, take):
    """A volume is read by the strength of what is shipped."""
    take(foreign(SHIPPED | {"quantityList": some("c", 9, "HLT")}), strength=read_strength("60"))
    (arrived,) = book.stock()
    assert arrived.volume_ml_20c == pytest.approx(900_000, abs=0.1)


def test_a_vatting_told_in_parts(book, take):
    """Inputs and output may come in separate events that share a transformationID."""
    group = {"transformationID": "https://corran.example/vatting/7"}
    parts = [
        made("TransformationEvent", "2022-02-01", inputQuantityList=some("a", 100), **group),
        made("TransformationEvent", "2022-02-02", inputQuantityList=some("b", 300), **group),
        made("TransformationEvent", "2022-02-03", outputQuantityList=some("c", 400), **group),
    ]
    take(foreign(*parts, SHIPPED), strength=read_strength("50"))
    (arrived,) = book.stock()
    shares = [origin.share for origin in book.trace_back(arrived.id).origins]
    assert sorted(shares) == [pytest.approx(0.25, abs=1e-7), pytest.approx(0.75, abs=1e-7)]


def test_the_order_of_the_list_does_not_matter(book, take):
    """Events count by their times."""
    take(foreign(SHIPPED, MIXED, ADDED), strength=read_strength("60"))
    (arrived,) = book.stock()
    assert len(book.trace_back(arrived.id).origins) == 2


def test_an_event_declared_erroneous_does_not_count(book, take):
    """Neither it nor the event of the same identifier that it declares."""
    wrong = MIXED | {"eventID": "urn:uuid:1", "inputQuantityList": some("x", 150)}
    declared = wrong | {"errorDeclaration": {"declarationTime": "2022-02-05T08:00:00Z", "reason": "incorrect_data"}}
    take(foreign(ADDED, wrong, declared, MIXED | {"eventID": "urn:uuid:2"}, SHIPPED), strength=read_strength("60"))
    (arrived,) = book.stock()
    assert {of[-1] for of in origins_by_class(book.trace_back(arrived.id))} == {"a", "b"}


# -- something wrong --------------------------------------------------------------------------------


@pytest.fixture
def faults(take, book):
    """The faults of a document, after which nothing has changed."""

    def found(document, **options):
        before = book.head()
        with pytest.raises(FaultsFound) as refusal:
            take(document, **options)
        assert book.head() == before
        return [(fault.column, fault.value, fault.problem) for fault in refusal.value.faults if fault.remedy]

    return found


LIST = "$.epcisBody.eventList"


@pytest.mark.parametrize(
    ("change", "path", "value", "problem"),
    [
        ({"quantityList": some("c", -5)}, ".quantityList[0].quantity", "-5", "is below zero"),
        ({"quantityList": some("c", "9")}, ".quantityList[0].quantity", "9", "is not a number"),
        ({"quantityList": some("c", True)}, ".quantityList[0].quantity", "true", "is not a number"),
        ({"quantityList": some("c", 9, "BBL")}, ".quantityList[0].uom", "BBL", "is not a unit of mass or volume"),
        ({"quantityList": some("c", 9, "ml")}, ".quantityList[0].uom", "ml", "is not a unit of mass or volume"),
        ({"quantityList": [{"epcClass": "cask 7"}]}, ".quantityList[0].epcClass", "cask 7", "is not an address"),
        ({"quantityList": "9 kg"}, ".quantityList", "9 kg", "is not a list"),
        ({"bizStep": "blending"}, ".bizStep", "blending", "is not a bizStep in the vocabulary"),
        ({"bizStep": "urn:epcglobal:cbv:bizstep:shipping"}, ".bizStep", "urn:epcglobal", "is not a bizStep"),
        ({"disposition": "sold"}, ".disposition", "sold", "is not a disposition in the vocabulary"),
        ({"action": "MOVE"}, ".action", "MOVE", "is not an action"),
        ({"type": "PourEvent"}, ".type", "PourEvent", "is not a kind of event"),
        ({"colour": "amber"}, ".colour", "amber", "is not a field of ObjectEvent"),
        ({"eventTime": "2022-03-01"}, ".eventTime", "2022-03-01", "is not a time with an offset"),
        ({"eventTime": "2199-03-01T08:00:00Z"}, ".eventTime", "2199", "is in the future"),
        ({"eventTimeZoneOffset": "1"}, ".eventTimeZoneOffset", "1", "is not an offset"),
        ({"errorDeclaration": {}}, ".errorDeclaration.declarationTime", "", "is missing"),
    ],
)  # fmt: skip
def test_each_fault_names_event_path_and_value(faults, change, path, value, problem):
    """A fault says which event, where in it, what stands there and what is wrong."""
    ((column, shown, said),) = faults(foreign(ADDED, MIXED, SHIPPED | change))
    assert column == f"event 3, {LIST}[2]{path}"
    assert shown.startswith(value)
    assert said.startswith(problem)


def test_all_faults_are_listed_at_once(faults):
    """Every event is looked at, whatever is wrong with the one before."""
    bad = SHIPPED | {"bizStep": "blending", "disposition": "sold", "quantityList": some("c", -1)}
    assert len(faults(foreign(bad, MIXED | {"action": "ADD"}, 7))) == 5


def test_an_identifier_stands_for_one_event(faults):
    """Two events of one identifier are one too many."""
    ((column, value, problem),) = faults(foreign(ADDED | {"eventID": "urn:uuid:1"}, MIXED | {"eventID": "urn:uuid:1"}))
    assert (column, value) == (f"event 2, {LIST}[1].eventID", "urn:uuid:1")
    assert problem == "is also the identifier of event 1"


def test_a_class_is_not_used_before_it_comes_into_being(faults):
    """An effect before its cause is a fault, not an origin."""
    late = ADDED | {"eventTime": "2022-02-20T08:00:00Z"}
    ((column, _, problem),) = faults(
        foreign(late, MIXED | {"inputQuantityList": some("a", 100)}, SHIPPED), strength=read_strength("60")
    )
    assert column == f"event 2, {LIST}[1].inputQuantityList[0]"
    assert problem == "is used at 2022-02-01T08:00:00Z but made only at 2022-02-20T08:00:00Z"


def test_more_is_not_taken_than_there_is(faults):
    """A quantity that the other house cannot have had."""
    ((column, _, problem),) = faults(
        foreign(ADDED, MIXED, SHIPPED | {"quantityList": some("c", 900)}), strength=read_strength("60")
    )
    assert column == f"event 3, {LIST}[2].quantityList[0]"
    assert problem == "gives 900 kg but then holds only 150 kg"


def test_no_more_comes_out_than_went_in(faults):
    """Water that was left out, or a slip of a nought."""
    mixed = MIXED | {"outputQuantityList": some("c", 1500)}
    ((column, _, problem),) = faults(foreign(ADDED, mixed, SHIPPED), strength=read_strength("60"))
    assert column == f"event 2, {LIST}[1].outputQuantityList[0]"
    assert problem == "is 1500 kg with the other outputs; only 150 kg went in"


def test_bottles_beside_the_bulk_are_let_pass(book, take):
    """What is counted, and what is of no lineage that arrives, is not asked for its strength."""
    goods = [*some("c", 90), {"epcClass": "https://corran.example/class/lot-7", "quantity": 12}]
    other = made("ObjectEvent", "2022-02-01", action="ADD", quantityList=some("other", 5))
    take(foreign(ADDED, other, MIXED, SHIPPED | {"quantityList": goods}), strength=read_strength("60"))
    (arrived,) = book.stock()
    assert arrived.holding.mass_mg == 90_000_000


def test_a_strength_that_nobody_knows_is_asked_for(faults):
    """Without strength there is no share by alcohol; each source that lacks one is named."""
    found = faults(foreign(ADDED, MIXED, SHIPPED))
    assert [column.partition(",")[0] for column, _, _ in found] == ["event 1", "event 2"]


def test_what_was_changed_on_the_way_is_noticed(faults, sent):
    """An event of ours carries the hash of what it says."""
    document = json.loads(json.dumps(sent))
    changed = events_of(document, "commissioning")[0]
    changed["ilmd"]["pourbook:wood_days"] = 4000
    ((column, _, problem),) = faults(document)
    assert column.endswith(".eventID")
    assert problem == "does not match the event, which was changed"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "is not JSON: .* line 1, column 2"),
        ('{"a": NaN}', "NaN is not a number"),
        ("[" * 100_000, "is nested 100000 deep"),
        ("\udcff", "not UTF-8"),
    ],
    ids=["cut off", "no number", "deep", "bytes"],
)
def test_what_is_no_json(take, book, tmp_path, text, said):
    """One refusal says where."""
    path = tmp_path / "noise.jsonld"
    path.write_bytes(text.encode("utf-8", "surrogateescape"))
    with pytest.raises(Malformed, match=said):
        import_epcis(book, HOW, path)


@pytest.mark.parametrize(
    "document", [[], 7, None, {}, {"type": "EPCISQueryDocument"}, foreign() | {"schemaVersion": "1.2"}]
)
def test_what_is_no_document(faults, document):
    """JSON that is something else."""
    assert faults(document)


def test_a_document_that_ships_nothing(take):
    """What could have arrived is named, and how to say so."""
    with pytest.raises(Refused, match=r"ships nothing in bulk.*class/c"):
        take(foreign(ADDED, MIXED))
    with pytest.raises(Refused, match="nothing of 'x:y'"):
        take(foreign(ADDED, MIXED), item="x:y")


def test_nothing_arrives_before_it_was_sent(take, sent):
    """The time of arrival is checked against the document."""
    with pytest.raises(OutOfRange, match="cannot arrive"):
        take(sent, when_us=moment("2022-03-31"))


def test_a_document_is_taken_in_once(take, book, sent):
    """The same bytes under another name are noticed; who means it says so."""
    take(sent)
    with pytest.raises(Refused, match="was imported before"):
        take(sent, name="other.jsonld")
    take(sent, again=True)
    assert len(list(book.stock())) == 2


def test_a_rehearsal_keeps_nothing(take, book, sent):
    """All is checked, counted, and left."""
    before = book.head()
    assert take(sent, dry_run=True)[:2] == (1, 4)
    assert book.head() == before


def test_the_journal_names_document_and_digest(take, book, sent):
    """The import is an entry of its own."""
    found = take(sent)
    last = entry_of(book.store, book.head()[0])
    assert (last.kind, last.entry["body"]["files"]) == ("imported", found.files)
    assert book.verify().faults == ()


def test_a_part_of_unknown_age_is_not_rounded_away():
    """A drop below a milligram still makes the age of the whole unknown."""
    from pourbook.exchange.epcis.epcis_import import lines_of
    from pourbook.exchange.epcis.epcis_mixing import Arrival, Share, Source

    parts = {"x:old": 1 - 1e-12, "x:drop": 1e-12}
    wood = {"x:old": brought(4000 * DAY_US, 0), "x:drop": None}
    shares = {of: Share(part, part, part, wood[of], frozenset()) for of, part in parts.items()}
    sources = {of: Source(of, "", "origin", {}) for of in parts}
    moves = list(lines_of(Arrival("x:tanker", 0, Liquid(1000, 400, 0), shares, sources), "", UTC))
    assert [move.composition for move in moves] == [Liquid(999, 400, 0), Liquid(1, 0, 0)]
    assert ["in_wood" in move.facts for move in moves] == [True, False]


# -- what must not come in (again) ------------------------------------------------------------------


def shipped(of="c", id_="urn:uuid:9", to="", **more):
    more |= {"destinationList": [{"type": "possessing_party", "destination": to}]} if to else {}
    return SHIPPED | {"eventID": id_, "quantityList": some(of, 40)} | more


STRENGTH = {"strength": read_strength("60")}
DECLARED = {"errorDeclaration": {"declarationTime": "2022-04-05T08:00:00Z", "reason": "did_not_occur"}}


def test_a_shipment_is_known_again_in_another_file(take, book, sender):
    """With another date of creation, or told for one customer only, it is the same shipment."""
    document = document_of(sender, "B1", customer="Harbour Row")
    take(document)
    (arrived,) = book.stock()
    other = document | {"creationDate": "2023-06-01T00:00:00Z"}
    with pytest.raises(Refused, match=r"was imported before, as B-\d+-. \(entry \d+\)"):
        take(other)
    take(other, again=True)
    assert len(list(book.stock())) == 2
    assert arrived.facts["epcis_sent"] == events_of(document, "shipping")[0]["eventID"]


def test_a_class_is_known_again(take):
    """Without an event of shipping it is the class that came in before."""
    take(foreign(ADDED, MIXED), item="https://corran.example/class/c", **STRENGTH)
    for document, item in (
        (foreign(MIXED, ADDED), "https://corran.example/class/c"),
        (foreign(ADDED, MIXED, SHIPPED), ""),
    ):
        with pytest.raises(Refused, match="imported before"):
            take(document, item=item, **STRENGTH)


def test_a_house_does_not_take_in_its_own(take, book, sent):
    """What stands under the house's own address was never another house's."""
    with House(book=book) as here:
        here.record(Settings({"uri": ADDRESS}))
        with pytest.raises(Refused, match=r"batch B-.* is this house's own") as refusal:
            take(sent)
    assert refusal.value.remedy == "record a return instead"


def test_a_shipment_taken_back_is_to_be_voided(take, book):
    """The declaration names batch and entry; after the void nothing arrives, and a new shipment may."""
    take(foreign(ADDED, MIXED, shipped()), **STRENGTH)
    back = foreign(ADDED, MIXED, shipped(), shipped(id_="urn:uuid:10"), shipped(**DECLARED))
    with pytest.raises(Refused, match=r"withdrew the shipment imported as B-\S+ \(entry \d+\)") as refusal:
        take(back, **STRENGTH)
    number = int(refusal.value.remedy.split(",")[0].rpartition(" ")[2])
    with House(book=book) as here:
        here.record(Void(number), reason="taken back")
        assert take(back, **STRENGTH).items == 1


def test_a_shipment_declared_an_error_never_arrives(take):
    """It is said to be one."""
    with pytest.raises(Refused, match=r"declared the shipment of .* an error"):
        take(foreign(ADDED, MIXED, shipped(**DECLARED)), **STRENGTH)


def test_which_shipment_is_meant_is_asked(take, book):
    """Two destinations are listed; the event or the destination tells which one arrived here."""
    north, south = "https://corran.example/party/north", "https://corran.example/party/south"
    document = foreign(ADDED, MIXED, shipped(to=north), shipped(id_="urn:uuid:10", to=south))
    with pytest.raises(Refused, match=r"2 shipments .*class/c, 40 kg, to \S+north, event urn:uuid:9; "):
        take(document, **STRENGTH)
    take(document, item=south, **STRENGTH)
    (arrived,) = book.stock()
    assert arrived.facts["epcis_sent"] == "urn:uuid:10"
    take(document, item="urn:uuid:9", again=True, **STRENGTH)
    assert len(list(book.stock())) == 2


def test_a_ref_stands_for_one_item(take):
    """It is refused for two batches, and where another item has it."""
    document = foreign(ADDED, MIXED, shipped(), shipped(id_="urn:uuid:10"))
    with pytest.raises(Refused, match="'T' would be the name of 2 batches"):
        take(document, ref="T", **STRENGTH)
    take(foreign(ADDED, MIXED, shipped()), ref="T", **STRENGTH)
    with pytest.raises(Refused, match="'T' is the name of another item"):
        take(foreign(ADDED, MIXED, shipped(id_="urn:uuid:11")), ref="T", **STRENGTH)


def test_what_has_no_ancestry_is_said(take, sent):
    """A class that no event brings into being is counted, in percent."""
    (note,) = take(foreign(ADDED, MIXED, SHIPPED), **STRENGTH).notes
    assert note.startswith("33.3 % of the alcohol")
    assert take(sent).notes == ()


# -- what it brings, and where it lay --------------------------------------------------------------


@pytest.fixture
def bringing():
    """A batch of two casks: one held wine, one lies at a named place; an additive and water with lots."""
    with House(uri=ADDRESS, zone="Europe/London") as house:
        row = house.book.enter(HOW, "place", "Warehouse 2, row 7").id
        house.open("C1", previous="dry fortified wine (sulphites)", place=row)
        house.open("C2", place="Row 1/2")
        house.fill(
            "C1", "190 l", "63", at="2015-03-01", spirit="malt spirit", distiller="Corran Vale", supplier="Tarn Bulk"
        )
        house.fill("C2", "150 l", "62", at="2016-05-01", spirit="grain spirit")
        house.facts("C2", allergens="walnut", at="2021-01-01")
        house.dump("C1", "B1", at="2022-03-01")
        house.pour("C2", "B1", "120 l", at="2022-03-02")
        house.water("B1", "60 l", at="2022-03-03", about="demineralised", batch="W 22-9")
        line = house.move("additive", "B1", 2_000_000, about="caramel", batch="K 118", allergens="gluten")
        house.record(Pour("add", (line,)), at="2022-03-04")
        house.despatch("B1", "100 l", at="2022-04-01", customer="Harbour Row", document="DN 7")
        yield house


def lot_of(book, batch):
    """A lot bottled from a batch: its identifier."""
    how = Happening("M. Aldane")
    lot = book.next_id("lot")
    how.record(book, Item(lot, {}), Pour("bottle", (Move(batch, lot, None),)))
    return lot


def told_in_dossier(book, lot):
    """What a dossier says of allergens, previous contents, additives with their lots, and suppliers."""
    values = dossier_of(book, lot)
    return (
        {text for row in values.allergens for text in row.allergens.split("; ") if text},
        {row.previous for row in values.allergens if row.previous},
        {(row.what, row.batch) for row in values.additions},
        {(row.spirit, row.supplier.removesuffix("Quillmere").removesuffix(", ")) for row in values.origins},
    )


def test_allergens_additives_suppliers_and_places_are_the_same_on_both_sides(book, bringing, take):
    """The dossier of a lot bottled here says what that of one bottled there says."""
    take(document_of(bringing, "B1", customer="Harbour Row"), ref="Tanker 8")
    (arrived,) = book.stock()
    here = told_in_dossier(book, lot_of(book, arrived.id))
    there = told_in_dossier(bringing.book, lot_of(bringing.book, bringing.id("B1")))
    assert (
        here
        == there
        == (
            {"walnut", "gluten"},
            {"dry fortified wine (sulphites)"},
            {("demineralised", "W 22-9"), ("caramel", "K 118")},
            {("malt spirit", "Tarn Bulk"), ("grain spirit", "")},
        )
    )
    places = {
        origin.facts.get("spirit"): origin.facts.get("epcis_location") for origin in book.trace_back("Tanker 8").origins
    }
    assert (places["malt spirit"], places["grain spirit"]) == ("Warehouse 2, row 7", "Row 1/2")


def test_the_sender_is_the_supplier_where_nobody_else_is(book, bringing, take):
    take(document_of(bringing, "B1", customer="Harbour Row"))
    (arrived,) = book.stock()
    suppliers = {row.spirit: row.supplier for row in dossier_of(book, lot_of(book, arrived.id)).origins}
    assert suppliers == {"malt spirit": "Tarn Bulk, Quillmere", "grain spirit": "Quillmere"}


def test_read_point_and_business_location_are_told(bringing):
    """Where it was recorded, and where the goods are afterwards; nowhere once they left."""
    events = events_of(document_of(bringing, "B1"))
    filled = next(event for event in events if event.get("ilmd", {}).get("pourbook:distiller") == "Corran Vale")
    assert filled["bizLocation"] == {"id": f"{ADDRESS}/location/Warehouse%202%2C%20row%207"}
    assert all("bizLocation" not in event for event in events if event["bizStep"] in ("shipping", "destroying"))
    house = bringing.book
    how = Happening("M. Aldane", where="dumping trough")
    how.record(house, Pour("draw", (Move(bringing.id("C2"), bringing.id("B1"), 1000),)))
    told = events_of(document_of(bringing, "B1"))
    assert any(event.get("readPoint") == {"id": f"{ADDRESS}/location/dumping%20trough"} for event in told)


def test_a_location_that_is_no_address_is_a_fault(bringing, take):
    document = document_of(bringing, "B1", customer="Harbour Row")
    document["epcisBody"]["eventList"][0]["bizLocation"] = {"id": "row 7"}
    with pytest.raises(FaultsFound):
        take(document)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"customer": "Nobody"}, "nothing of it was despatched to 'Nobody'"),
        ({"start_us": moment("2016-01-01")}, "a lineage is exported from its beginning"),
    ],
)
def test_what_cannot_be_told_of_items_is_refused(bringing, options, said):
    with pytest.raises(Refused, match=said):
        document_of(bringing, "B1", **options)


def test_an_empty_window_is_refused(bringing):
    with pytest.raises(Refused, match="nothing happened in that time"):
        document_of(bringing, start_us=moment("2017-01-01"), at_us=moment("2017-02-01"))
