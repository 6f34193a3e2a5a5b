"""What a dossier says, against the journal read a second time and against sums by hand."""

import json
from fractions import Fraction
from functools import reduce

import pytest
from hypothesis import given
from random_books import books, built
from replay import Replay

from pourbook.book.journal import entry_of
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Refused
from pourbook.lineage.ages import Age, age_of, least
from pourbook.papers.dossier.dossier_html import dossier_page
from pourbook.papers.dossier.dossier_json import document
from pourbook.papers.dossier.dossier_paper import dossier
from pourbook.papers.endpoints import Named
from pourbook.paperwork.dossier_of import dossier_of
from pourbook.paperwork.lot_history import history_of
from pourbook.paperwork.mass_balance import TRANSIT, balances, losses
from pourbook.queries.journal.against import Head, head_at
from pourbook.times import house_zone


def rows(values, *fields):
    return [tuple(getattr(row, field) for field in fields) for row in values]


@pytest.fixture
def values(vatted):
    return dossier_of(vatted.book, "Lot 24-1", people="names")


# -- the lot -----------------------------------------------------------------------------


def test_the_statement_says_what_was_bottled(vatted, values):
    """Volume and strength are those of the bottling, though bottles have left since."""
    assert (values.id, values.code) == (hyphened(vatted.id("L1")), vatted.id("L1"))
    assert (values.lot_mark, values.bottles, values.bottle_ml) == ("L24-066", 300, 700)
    assert (values.bottled, values.bottled_by) == ("2024-03-06 10:00", "Isla Farrow")
    assert float(values.volume_l) == pytest.approx(210.0, abs=1e-4)
    assert float(values.strength_vol) == pytest.approx(46.2, abs=1e-4)
    assert float(values.lpa_l) == pytest.approx(210.0 * 0.462, abs=1e-3)


def test_a_gauge_of_the_lot_says_how_strong_it_is_and_not_how_much_was_filled(vatted):
    filled = dossier_of(vatted.book, vatted.id("L1")).volume_l
    vatted.gauge("L1", None, "46.0", at="2024-06-02")
    values = dossier_of(vatted.book, vatted.id("L1"))
    assert float(values.strength_vol) == pytest.approx(46.0, abs=1e-4)
    assert float(values.volume_l) == pytest.approx(float(filled), rel=1e-3)


def test_a_lot_that_has_wholly_left_the_house_still_has_its_dossier(vatted, values):
    vatted.pour("L1", "despatch", None, verb="despatch", at="2024-08-01", customer="Sallowmere", bottles=210)
    after = dossier_of(vatted.book, vatted.id("L1"))
    assert after.balances[-1].held_mg == 0
    assert (after.volume_l, after.strength_vol) == (values.volume_l, values.strength_vol)
    assert rows(after.origins, "spirit", "share") == rows(values.origins, "spirit", "share")
    assert [row.bottles for row in after.despatches] == [100, -10, 210]
    assert sum(row.bottles for row in after.despatches) == values.bottles


def test_only_a_lot_has_a_dossier(vatted):
    with pytest.raises(Refused, match="not a bottle lot"):
        dossier_of(vatted.book, vatted.id("B1"))


# -- where it came from --------------------------------------------------------------------


def test_shares_of_origins_are_what_the_vatting_says(vatted, values):
    """By hand: of the pure alcohol vatted, the part that C1 and C2 gave."""
    c1, c2 = (_gave(vatted, cask) for cask in ("C1", "C2"))
    assert rows(values.origins, "spirit", "distiller") == [("malt spirit", "Fennick Moor"), ("rye spirit", "")]
    assert [row.share for row in values.origins] == pytest.approx([c1 / (c1 + c2), c2 / (c1 + c2)], rel=1e-12)
    assert sum(row.share for row in values.origins) == pytest.approx(1.0, rel=1e-12)
    assert [row.into.name for row in values.origins] == ["Row 3/12", "Row 4/02"]


def _gave(house, cask):
    """Ethanol in mg that a cask lost between the minute before the vatting and the end of that day."""
    return house.held(cask, "2024-03-01 08:45").ethanol_mg - house.held(cask, "2024-03-01 23:00").ethanol_mg


def test_upstream_items_pours_and_additions_are_those_of_the_trace(vatted, values):
    trace = vatted.book.trace_back(vatted.id("L1"))
    assert rows(values.upstream, "kind", "share") == [(other.item.kind, other.share) for other in trace.items]
    assert rows(values.pours, "entry", "mass_mg") == [(pour.entry, pour.liquid.mass_mg) for pour in trace.pours]
    assert rows(values.additions, "what", "batch") == [("demineralised", "W 24-03")]
    # 998.2012 kg/m3: water at 20 °C, OIML R 22
    assert values.additions[0].mass_mg == pytest.approx(82 * 998_201.2, rel=1e-6)


def test_gauges_are_those_that_mattered(vatted, values):
    """That of C3 is none of this lot's; that of B1 after a later dump would not be either."""
    vatted.gauge("B1", "1 l", at="2024-06-02")
    assert rows(values.gauges, "when", "reading", "instrument") == [
        ("2024-02-01 10:00", "171.2 l, 60.4 % vol, at 11 °C", "dip rod 2"),
        ("2024-03-05 09:00", "310 l, 46.2 % vol, at 16 °C", "vat 1 scale"),
    ]
    assert dossier_of(vatted.book, "Lot 24-1", "names").gauges == values.gauges
    c1 = vatted.held("C1", "2024-02-01 10:00")
    assert values.gauges[0].mass_mg == c1.mass_mg


# -- ages ----------------------------------------------------------------------------------


def test_ages_are_counted_in_anniversaries(values):
    """C1 lay from 2012-03-01 to 2024-03-01, C2 from 2014-10-05 to the same day: by the calendar."""
    assert rows(values.ages, "spirit", "wood", "distilled") == [
        ("malt spirit", Age(12, 0), "2012-02-27"),
        ("rye spirit", Age(9, 148), "2012-02-27"),
    ]
    assert values.youngest == Age(9, 148)
    assert 9.4 < values.mean_age_years < 12


def test_one_spirit_of_unknown_age_makes_the_age_unknown(vatted):
    vatted.cask("C4", "10 l", "60", at="2020-01-01", spirit="bought spirit")
    vatted.pour("C4", "B1", "1 l", at="2024-03-01 11:00")
    values = dossier_of(vatted.book, vatted.id("L1"))
    assert (values.youngest, values.mean_age_years) == (None, None)
    assert [row.wood for row in values.ages] == [Age(12, 0), Age(9, 148), None]


@pytest.fixture(scope="module")
def read():
    """Items of a random book that something was poured into, each with its history."""

    def of(house):
        for item in ("B1", "T1", "L1"):
            try:
                yield item, history_of(house.book, house.id(item))
            except Refused:  # nothing was ever poured into it
                continue

    return of


@given(operations=books)
def test_the_youngest_of_all_origins_is_the_youngest_of_the_trace(read, operations):
    """Two walks of the lineage, one that keeps the least and one that keeps them all, agree."""
    house, _ = built(operations)
    with house:
        for _, history in read(house):
            found = reduce(least, history.wood.values()) if history.wood else None
            if history.trace.held.ethanol_mg:
                assert (found.wood_us if found else None) == history.trace.age.youngest_us


# -- balance and losses -----------------------------------------------------------------------


@given(operations=books)
def test_every_balance_comes_out_even_and_is_that_of_the_journal_read_anew(read, operations):
    """Against a replay of the entries that knows neither ledger nor flows; losses add up to what is lost."""
    house, _ = built(operations)
    with house:
        told = Replay(house)
        for _, history in read(house):
            named = {key_of(name): history.named(name) for name in history.views}
            evened = balances(history.moved, history.held, named)
            for name, balance in zip(history.views, evened, strict=True):
                _agrees(balance, told.body(name), _unexplained(history, name))
            lost = [row for row in losses(history.moved, history.journal) if row.disposition != TRANSIT]
            assert sum(row.mass_mg for row in lost) == sum(row.lost_mg for row in evened)
            assert sum(row.lpa_l for row in lost) == sum((row.lost_lpa_l for row in evened), Fraction(0))


def _unexplained(history, name):
    """What gauges found in it while nobody knew of any: taken in here, gained in the replay."""
    found = (one for one in history.moved if one.item == key_of(name) and one.how == "unexplained")
    return sum(one.liquid.mass_mg for one in found)


def _agrees(balance, body, unexplained_mg):
    assert (balance.difference_mg, balance.difference_lpa_l) == (0, 0)
    assert balance.in_mg == body.came_in[0] + unexplained_mg
    assert balance.held_mg == body.held[0]
    assert balance.out_mg + balance.lost_mg == body.went_out[0] - body.gained[0] + unexplained_mg


def test_losses_carry_their_dispositions(vatted, values):
    found = {row.disposition: row for row in values.losses}
    assert {"leak", "filter", "regauge loss"} <= found.keys()
    assert found["leak"].entries == 1
    gone = vatted.held("C2", "2020-05-31").mass_mg - vatted.held("C2", "2020-06-02").mass_mg
    assert found["leak"].mass_mg == gone


def test_balances_end_with_the_lot_and_name_every_item(vatted, values):
    names = ("C1", "C2", "B1", "L1")
    assert [row.item.id for row in values.balances] == [hyphened(vatted.id(name)) for name in names]
    assert {row.difference_mg for row in values.balances} == {0}
    assert values.balances[-1].held_mg == vatted.held("L1").mass_mg


# -- what was said and done -------------------------------------------------------------------


def test_holds_notes_and_corrections_are_told(vatted, values):
    assert rows(values.remarks, "when", "kind", "text") == [
        ("2021-01-10 00:00", "note", "bung replaced"),
        ("2023-01-10 00:00", "hold", "to be looked into"),
        ("2023-02-10 00:00", "release", "looked into"),
    ]
    assert rows(values.corrections, "change", "reason") == [
        ("voided", "wrong cask opened"),
        ("replaced", "meter misread"),
    ]
    gone = {row.corrects: row.entry for row in values.corrections}
    stored = dict(vatted.book.store.query("SELECT number, gone FROM entry WHERE gone <> 0"))
    assert gone == stored


def test_corrections_of_other_items_are_not_told(vatted, values):
    filled = vatted.fill("C3", "1 l", "60", at="2024-03-08")
    vatted.void(filled, at="2024-03-09", reason="not ours")
    assert dossier_of(vatted.book, "Lot 24-1", "names").corrections == values.corrections


def test_people_are_told_with_what_they_did(vatted, values):
    parts = {row.name: row.part for row in values.people}
    assert parts.keys() == {"M. Aldane", "Isla Farrow"}
    assert parts["Isla Farrow"] == "bottle 1"
    assert "gauge 2" in parts["M. Aldane"]
    assert "fill 2" in parts["M. Aldane"]


def test_a_person_by_number_is_told_by_name(vatted):
    from pourbook import Item, Note

    number = vatted.book.next_id("person")
    vatted.record(Item(number, {"name": "Pankracy Wiżbor"}), at="2024-01-01")
    vatted.record(Note(vatted.id("C1"), "smells of plum"), at="2024-02-02", who=number)
    values = dossier_of(vatted.book, vatted.id("L1"), people="names")
    assert (hyphened(number), "Pankracy Wiżbor", "note 1") in rows(values.people, "id", "name", "part")
    assert values.remarks[-1].who == "Pankracy Wiżbor"
    coded = dossier_of(vatted.book, vatted.id("L1"))
    assert (hyphened(number), "", "note 1") in rows(coded.people, "id", "name", "part")
    assert coded.remarks[-1].who == hyphened(number)


def test_by_default_people_are_codes_that_the_journal_resolves(vatted):
    """No name is anywhere in it; initials and the number of an entry that the person made are."""
    values = dossier_of(vatted.book, vatted.id("L1"))
    told = json.dumps(document(values))
    assert "Aldane" not in told
    assert "Farrow" not in told
    for initials, number in (row.id.split("/") for row in values.people):
        who = entry_of(vatted.book.store, int(number)).entry["who"]
        assert "".join(word[0] for word in who.split()) == initials
    assert {row.id.split("/")[0] for row in values.people} == {"MA", "IF"}
    assert values.bottled_by in {row.id for row in values.people}


# -- means -----------------------------------------------------------------------------------


def test_instruments_are_told_with_the_certificate_of_the_reading(vatted):
    """A later check does not change what stood behind an earlier reading; a name alone stays a name."""
    from pourbook import Gauge, Item
    from pourbook.gauging.recorded_values import UsedInstrument
    from pourbook.quantities import read_amount

    number = vatted.book.next_id("instrument")
    checked = {"ref": "H-3", "instrument": "hydrometer", "certificate": "CAL 24-7", "due": "2025-01-01"}
    vatted.record(Item(number, checked), at="2024-02-20")
    used = (UsedInstrument("H-3", number, "CAL 24-7", "2024-03-01"), UsedInstrument("dip rod 2"))
    read = Gauge(vatted.id("B1"), read_amount("309 l"), None, 16.0, instruments=used)
    vatted.record(read, at="2024-03-05 12:00")
    vatted.facts(number, certificate="CAL 25-1", due="2026-01-01", at="2025-01-05")
    values = dossier_of(vatted.book, vatted.id("L1"))
    assert rows(values.instruments, "instrument", "kind", "certificate", "due", "gauges", "overdue") == [
        (Named("", "dip rod 2"), "", "", "", 2, 0),
        (Named("", "vat 1 scale"), "", "", "", 1, 0),
        (Named(hyphened(number), "H-3"), "hydrometer", "CAL 24-7", "2025-01-01", 1, 1),
    ]


def test_allergens_of_items_and_additives_and_previous_contents_are_told(vatted):
    vatted.facts("B1", allergens="sulphites", at="2024-03-03")
    vatted.pour("additive", "B1", "10 g", verb="colour", at="2024-03-03 10:00", about="almond skins", allergens="nuts")
    values = dossier_of(vatted.book, vatted.id("L1"))
    assert [(row.item.name, row.previous, row.allergens) for row in values.allergens] == [
        ("Row 4/02", "dry fortified wine (sulphites)", ""),
        ("Vatting 7", "", "sulphites"),
        ("almond skins", "", "nuts"),
    ]


def test_dry_goods_are_those_recorded_of_the_lot(vatted):
    assert dossier_of(vatted.book, vatted.id("L1")).dry_goods == ()
    vatted.facts("L1", closure="stopper, Corvane, K-88", label="front 7", at="2024-03-07")
    found = rows(dossier_of(vatted.book, vatted.id("L1")).dry_goods, "kind", "text")
    assert found == [("closures", "stopper, Corvane, K-88"), ("labels", "front 7")]


def test_dry_goods_of_every_kind_are_told_with_what_stood_before(vatted):
    """Glass, capsules and cartons, too; a value that another took the place of, with its end."""
    lot = vatted.id("L1")
    vatted.facts("L1", glass="flint, Tarn, G 11", carton="six-pack, C 12", capsule="tin, P 3", at="2024-03-07 10:00")
    vatted.facts("L1", closure="stopper K-88", at="2024-03-07 11:00")
    vatted.facts("L1", closure="stopper K-91", at="2024-03-08 11:00")
    assert rows(dossier_of(vatted.book, lot).dry_goods, "kind", "text") == [
        ("bottles", "flint, Tarn, G 11"),
        ("closures", "stopper K-88 (until 2024-03-08 11:00)"),
        ("closures", "stopper K-91"),
        ("capsules", "tin, P 3"),
        ("cartons", "six-pack, C 12"),
    ]


def test_heads_on_the_way_are_those_of_the_journal(vatted, values):
    for head in values.heads:
        number, _, digest = head.partition(":")
        assert head_at(vatted.book.store, int(number)) == Head(int(number), digest)
    assert values.heads[-1] == f"{values.imprint.entries}:{values.imprint.head_hash}"
    assert {1, 2, 4, 8, 16} < {int(head.partition(":")[0]) for head in values.heads}


def test_the_picture_is_of_all_that_was_bottled(vatted, values):
    """A third has left since; the widths still add up to the litres of pure alcohol stated."""
    assert values.flow.total_ml / 1000 == pytest.approx(float(values.lpa_l), rel=1e-9)


def test_the_same_state_of_the_book_gives_the_same_bytes(vatted):
    """Whenever it is made, and in whatever form: no clock is in it."""
    made = []
    for days in (0, 400):
        vatted.book.clock.us += days * 86_400_000_000
        values = dossier_of(vatted.book, vatted.id("L1"))
        made.append((dossier(values), dossier_page(values), json.dumps(document(values))))
    assert made[0] == made[1]


def test_despatches_and_returns_are_told(values):
    assert rows(values.despatches, "customer", "document", "bottles") == [
        ("Harbour Row", "DN 1", 100),
        ("Harbour Row", "", -10),
    ]


def test_the_imprint_is_the_head_of_the_journal(vatted, values):
    assert (values.imprint.entries, values.imprint.head_hash) == vatted.book.head()


def test_a_pending_strength_is_told_first(vatted):
    vatted.cask("C4", "10 l", "60", at="2020-01-01", spirit="young spirit", pending=True, wood_days=0)
    vatted.pour("C4", "B1", "1 l", at="2024-03-01 11:00")
    values = dossier_of(vatted.book, vatted.id("L1"))
    (warning,) = values.warnings
    assert "pending" in warning
    assert hyphened(vatted.id("C4")) in warning
    pending = next(row for row in values.pours if row.source.name == "origin: young spirit")
    assert pending.strength_vol is None


# -- as a document --------------------------------------------------------------------------------


def test_the_document_holds_what_the_paper_says(vatted, values):
    told = json.loads(json.dumps(document(values)))
    assert told["id"] == vatted.id("L1")
    assert told["origins"][0]["into"] == {"id": vatted.id("C1"), "name": "Row 3/12"}
    assert [row["share"] for row in told["origins"]] == [row.share for row in values.origins]
    assert {row["difference_mg"] for row in told["balances"]} == {0}
    assert told["youngest"] == {"years": 9, "days": 148}


def test_times_in_wood_follow_the_calendar_of_the_house():
    """A cask filled at midnight in London in summer was filled the evening before in UTC."""
    from pourbook.lineage.ages import Stay, WoodTime
    from pourbook.times import read_time

    london = house_zone("Europe/London")
    filled, dumped = read_time("2014-07-01", london), read_time("2024-07-01", london)
    assert age_of(WoodTime(dumped - filled, dumped, (Stay(filled, dumped),)), london) == Age(10, 0)
    early = read_time("2024-06-30 23:59", london)
    assert age_of(WoodTime(early - filled, early, (Stay(filled, early),)), london) == Age(9, 365)
