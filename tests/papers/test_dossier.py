"""The trace of a bottle lot."""

import re
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest

from pourbook.lineage.ages import Age
from pourbook.papers.dossier.dossier_html import dossier_page
from pourbook.papers.dossier.dossier_paper import SECTIONS, Dossier, dossier
from pourbook.papers.dossier.dossier_rows import (
    Addition,
    AgeLine,
    Allergen,
    ApprovalLine,
    Balance,
    Correction,
    Customer,
    Despatch,
    DryGood,
    Followed,
    Gauge,
    InstrumentLine,
    LabelStatement,
    Loss,
    Named,
    Origin,
    Person,
    Pour,
    Remark,
    UpstreamItem,
)
from pourbook.papers.flow.flow_values import Flow, FlowEdge, FlowItem
from pourbook.paperwork.unset_characters import unset_on

MARGIN_PT = 12 / 25.4 * 72 - 0.5
LPA_OF_KG = Fraction(66, 100)
BATCH = Named("B-000008-K", "Autumn vatting")
LOT = Named("L-000005-4", "Winter Marmalade")


def figure(value, digits):
    """As a person reads it, by the standard library's half-up rounding; digits ungrouped."""
    exact = Decimal(Fraction(value).numerator) / Decimal(Fraction(value).denominator)
    return str(exact.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP)).replace("-", "−")


def cask(number):
    return Named(f"C-{100 + number:06d}-X", f"hogshead {number}")


def mass_mg(number):
    return 180_412_337 + 1_113_377 * number


@pytest.fixture(scope="module")
def lot(imprint):
    """A lot from so many casks, each with an origin, a gauge, a pour, an age and a balance."""

    def make(casks, **changes):
        masses = [mass_mg(number) for number in range(casks)]
        lpa = [Fraction(mass, 1_000_000) * LPA_OF_KG for mass in masses]
        shares = [Fraction(mass, sum(masses)) for mass in masses]
        items = [cask(number) for number in range(casks)]
        values = Dossier(
            imprint,
            LOT.id,
            "L0000054",
            LOT.name,
            ref="WM-2026-01",
            lot_mark="L26012A",
            bottles=720,
            bottle_ml=700,
            strength_vol=Decimal("46.005"),
            bottled="2026-01-12",
            bottled_by="Marta Oduya",
            volume_l=504,
            lpa_l=Decimal("231.84"),
            youngest=Age(8, 41),
            mean_age_years=Decimal("9.45"),
            gtin="9521234005674",
            case_gtin="19521234005671",
            labelled_strength_vol=Decimal("46.0"),
            owner="Fennick & Daughters",
            duty="suspended",
            zone="Europe/London",
            follows=(Followed(Named("T-000003-K", "Trial 26-B"), BATCH),),
            origins=tuple(
                Origin("new make", "Fennick Moor", item, "2013-05-04", mass, pure, share, "", "", "", share * 231)
                for item, mass, pure, share in zip(items, masses, lpa, shares, strict=True)
            ),
            upstream=(
                *(
                    UpstreamItem("cask", item, f"{n}/13", "oak, refill", share, 0, 0)
                    for n, (item, share) in enumerate(zip(items, shares, strict=True))
                ),
                UpstreamItem("batch", BATCH, "A-25-1", "", 1, Decimal("212.055"), Decimal("97.555")),
            ),
            pours=tuple(
                Pour(
                    900 + n,
                    f"2025-11-03 08:{n:02d}",
                    item,
                    BATCH,
                    Fraction(mass, 911_000),
                    Decimal("61.205"),
                    pure,
                    mass,
                    "I. H.",
                )
                for n, (item, mass, pure) in enumerate(zip(items, masses, lpa, strict=True))
            ),
            gauges=tuple(
                Gauge(800 + n, "2025-11-01", item, "212.5 kg", Decimal("212.41"), None, mass, "I. H.", "N-000007-3")
                for n, (item, mass) in enumerate(zip(items, masses, strict=True))
            ),
            ages=tuple(
                AgeLine("new make", item, "2013-05-04", Age(12, n), None, "", share)
                for n, (item, share) in enumerate(zip(items, shares, strict=True))
            ),
            balances=tuple(
                Balance(item, mass + 3, mass, 2, 1, pure + 1, pure, Fraction(2, 3), Fraction(1, 3))
                for item, mass, pure in zip(items, masses, lpa, strict=True)
            ),
        )
        return replace(values, **changes)

    return make


@pytest.fixture(scope="module")
def told(imprint):
    """What is done and said about a lot, one of each."""
    drawn = Flow(
        "back", "l", (FlowItem("b", "batch", BATCH, own_ml=9.0), FlowItem("l", "lot", LOT)), (FlowEdge("b", "l", 9),)
    )
    return {
        "flow": drawn,
        "instruments": (InstrumentLine(Named("N-000003-P", "H-3"), "hydrometer", "CAL 24-7", "2026-01-01", 3, 1),),
        "allergens": (Allergen(cask(1), "dry fortified wine", "sulphites"),),
        "people_by": "names",
        "additions": (Addition(1004, "2025-11-05", "deionised water", "DW-0925", BATCH, 3_194_000_500, "M. O."),),
        "dry_goods": (DryGood("bottles", "flint, Tarn Glass, TW 88-2"),),
        "losses": (Loss("evaporation", 2, 120_000_400, Decimal("72.4")), Loss("sample", 14, -400, Decimal("-0.02"))),
        "remarks": (Remark(955, "2025-11-03", "hold", BATCH, "Cloudy at the valve.", "M. O."),),
        "statements": (LabelStatement("age 12", "allowed", "the youngest: 12 y 5 d", "of the youngest"),),
        "approvals": (ApprovalLine(970, "2025-11-20", "approved", BATCH, "counts for this lot", "M. O."),),
        "corrections": (Correction(931, "2025-11-03", 927, "replaced", cask(1), "Keyed 21.25 for 212.5.", "I. H."),),
        "people": (Person("P-000009-K", "Źdźbigniew Świętochłowski", "despatched"),),
        "despatches": (
            Despatch(1190, "2026-02-02", "Ashgrove Merchants", "DN 4471", 360, "Z. Ś."),
            Despatch(1230, "2026-03-01", "Ashgrove Merchants", "RN 17", -6, "Z. Ś."),
        ),
    }


def test_the_statement_says_what_the_lot_is(read, lot):
    text = read(dossier(lot(2))).joined
    for said in (
        "LotmarkonthebottleL26012A",
        "RefWM-2026-01",
        "GTINofthebottle9521234005674",
        "GTINofthecase19521234005671",
        "Strengthdeclaredonthelabel46.0%vol",
        "Bottled(Europe/London)2026-01-12",
        "BottledbyMartaOduya",
        "Bottles720of700mL",
        "Strengthat20°Cbythebook46.01%vol",
        "OwnerFennick&Daughters",
        "Dutystatussuspended",
        "AutumnvattingfollowedT-000003-KTrial26-B",
        "Volumeat20°C504.000L",
        "Purealcohol231.840LPA",
        "Timeinwoodoftheyoungestspirit8years41days",
        "weightedbypurealcohol;notanagestatement9.5years",
    ):
        assert said in text


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_each_row_of_the_liquid_prints_its_own_figures_in_order(read, squeezed, lot, paper):
    values = lot(7)
    joined = read(dossier(values, paper)).joined
    for number, (origin, pour) in enumerate(zip(values.origins, values.pours, strict=True)):
        kg, pure = figure(Fraction(origin.mass_mg, 10**6), 3), figure(origin.lpa_l, 3)
        share = figure(origin.share * 100, 4)
        item = squeezed("".join(origin.into))
        in_lot = figure(origin.lpa_in_lot_l, 3)
        assert f"newmakeFennickMoor{item}2013-05-04{pure}{in_lot}{share}" in joined
        assert f"{origin.into.id}{number}/13hogshead{number}oak,refill{share}empty" in joined
        when = squeezed(pour.when)
        volume = figure(pour.volume_l, 3)
        assert f"{when}{pour.entry}{item}B-000008-KAutumnvatting{volume}{kg}61.21{pure}I.H." in joined
        assert f"2025-11-01{800 + number}{item}212.5kg212.41unknown{kg}N-000007-3I.H." in joined
        assert f"newmake{item}2013-05-0412years{number}day" in joined


def test_shares_add_to_one_hundred_and_the_sum_is_exact_not_of_the_printed_digits(read, lot):
    """Three thirds print as 33.3333 each, which would add to 99.9999."""
    values = lot(3)
    thirds = replace(values, origins=tuple(o._replace(share=Fraction(1, 3)) for o in values.origins))
    text = read(dossier(thirds)).joined
    assert text.count("33.3333") >= 3
    assert "Sum231.000100.0000" in text
    short = replace(values, origins=values.origins[:2])
    assert "100.0000" not in read(dossier(replace(short, upstream=(), ages=()))).joined


def test_the_balance_prints_its_difference_and_says_when_it_is_not_nought(read, lot):
    values = lot(3)
    text = read(dossier(values)).joined
    assert "In=out+lost+held,tothemilligram,foreveryitemhere(3)." in text
    assert text.count("0.0000000.000000") == 3
    off = values.balances[1]._replace(out_mg=values.balances[1].out_mg + 1)
    text = read(dossier(replace(values, balances=(values.balances[0], off)))).joined
    assert "−0.000001" in text
    assert f"Doesnotbalance(inisnotout+lost+held):{off.item.id}." in text
    assert "tothemilligram" not in text


def test_a_balance_off_in_pure_alcohol_only_is_said_too(read, lot):
    values = lot(1)
    off = values.balances[0]._replace(lost_lpa_l=1)
    assert "Doesnotbalance" in read(dossier(replace(values, balances=(off,)))).joined


def test_what_was_done_and_said_is_printed_with_its_sums(read, lot, told):
    text = read(dossier(lot(2, **told))).joined
    for said in (
        "2025-11-051004deionisedwaterDW-0925B-000008-KAutumnvatting3194.001M.O.",
        "bottlesflint,TarnGlass,TW88-2",
        "evaporation2120.00072.400",
        "sample140.000−0.020",
        "Sum16120.00072.380",
        "2025-11-03955holdB-000008-KAutumnvattingCloudyatthevalve.M.O.",
        "2025-11-03931927replacedC-000101-Xhogshead1Keyed21.25for212.5.I.H.",
        "P-000009-KŹdźbigniewŚwiętochłowskidespatched",
        "2026-02-021190AshgroveMerchantsDN4471Z.Ś.360",
        "2026-03-011230AshgroveMerchantsRN17Z.Ś.−6",
        "Sum,lessreturns354",
        "Filled720;notdespatched:366.",
        "N-000003-PH-3hydrometerCAL24-72026-01-0131",
        "C-000101-Xhogshead1dryfortifiedwinesulphites",
    ):
        assert said in text


def test_the_first_page_says_what_a_reader_must_know_first_and_is_signed(read, lot, told):
    """Every first page has it, however many casks: what came later may be read later."""
    customers = (
        Customer("Ashgrove Merchants", "", 360, 6, 354, ("DN 4471", "RN 17"), ("095212340000000013",)),
        Customer("Harbour Row", "4 Harbour Row", 30, 0, 30),
    )
    more = {"customers": customers, "lost_bottles": 2, "cautions": ("on hold: C-000101-X",), "warnings": ("pending",)}
    for casks in (1, 60):
        page = "".join(read(dossier(lot(casks, **told | more))).pages[0].text.split())
        for said in (
            "Provisional:pending",
            "Caution:onhold:C-000101-X",
            f"newmakeFennickMoor{casks}100.0000",
            "sulphites:C-000101-Xhogshead1.",
            "931927replacedC-000101-Xhogshead1Keyed21.25for212.5.",
            "AshgroveMerchantsDN4471,RN170952123400000000133606354",
            "HarbourRow4HarbourRow30030",
            "Sum3906384",
            "Bottlesfilled720;withcustomers384;lost,tastedoremptied2;here334.",
            "Preparedbynamesignaturedate",
            "Checkedbynamesignaturedate",
        ):
            assert said in page, f"{said} of {casks}"


def test_the_first_page_names_a_few_and_counts_the_others(read, lot):
    """Four customers and spirits, six items, three corrections, so that all of it fits; the sums are of all.

    Casks have the room that customers and corrections leave.
    """
    customers = tuple(Customer(f"Customer {n}", "", n, 0, n) for n in range(1, 15))
    corrections = tuple(Correction(900 + n, "", n, "voided", cask(n), f"slip {n}", "I. H.") for n in range(8))
    allergens = tuple(Allergen(cask(n), "", "sulphites") for n in range(9))
    values = lot(9, customers=customers, corrections=corrections, allergens=allergens)
    spirits = tuple(values.origins[0]._replace(spirit=f"spirit {n}", share=Fraction(1, 8)) for n in range(8))
    page = "".join(read(dossier(replace(values, origins=spirits))).pages[0].text.split())
    assert "10more:seeDespatches55055" in page
    assert "Sum1050105" in page
    assert "And5more:seeCorrections." in page
    assert "Casks9casks:seeUpstreamitems." in page
    assert "hogshead5and3more." in page
    assert "Checkedbynamesignaturedate" in page
    assert "4more:seeOrigins450.0000" in page


def test_the_first_page_names_the_casks_that_gave_most_where_there_is_room(read, lot):
    """By share, with what their wood held before; fourteen lines for them, spirits and customers."""
    values = lot(20, allergens=(Allergen(cask(19), "dry fortified wine", ""),))
    page = "".join(read(dossier(values)).pages[0].text.split())
    greatest = values.upstream[19]
    assert f"C-000119-X19/13oak,refilldryfortifiedwine{figure(greatest.share * 100, 4)}C-000118-X18/13" in page
    assert "And7more:seeUpstreamitems." in page


def test_address_and_licence_of_the_house_are_on_the_first_page(read, lot, imprint):
    stated = replace(imprint, address="Mill Lane 4, Quillmere", licence="DSP-XX-00000")
    page = "".join(read(dossier(lot(1, imprint=stated))).pages[0].text.split())
    assert "QuillmereDistilleryMillLane4,Quillmere·licenceDSP-XX-00000" in page


def test_casks_that_a_picture_puts_together_are_named_in_the_annex(read, lot):
    """A hundred casks are too many for a page: each is named, once, as part of a group."""
    casks = [
        FlowItem(f"c{n}", "cask", (f"C-{n:06d}-X", f"Row {n}", "oak"), "malt", "oak", "2015", 1, 9.0)
        for n in range(100)
    ]
    edges = tuple(FlowEdge(cask.key, "l", 9.0) for cask in casks)
    flow = Flow("back", "l", (*casks, FlowItem("l", "lot", LOT)), edges)
    text = read(dossier(lot(1, flow=flow))).joined
    annex = text[text.index("Placesthatstandforseveral") : text.rindex("21Journal")]
    assert "100casks·malt·oak·2015" in annex
    assert [annex.count(f"C-{n:06d}-X·Row{n}") for n in range(100)] == [1] * 100


def test_people_by_code_have_no_column_of_names(read, lot, told):
    text = read(dossier(lot(1, **told | {"people_by": "codes", "people": (Person("MA/17", "", "fill 2"),)}))).joined
    assert "codepartMA/17fill2" in text
    assert "onlythehousecanresolveitfromitsjournal" in text


def test_sections_stand_in_order_and_what_is_absent_is_said_to_be(read, imprint):
    text = read(dossier(Dossier(imprint, LOT.id, "L0000054", LOT.name))).joined
    places = [text.index(f"{n}{title.replace(' ', '')}") for n, (title, _) in enumerate(SECTIONS, start=1)]
    assert places == sorted(places)
    facts = 7  # lot mark, two GTINs, declared strength, owner, duty, trial
    assert text.count("nonerecorded") == len(SECTIONS) - 2 + facts, "all but journal and method"
    assert text.count("Nonerecorded.") == 4, "spirits, casks, allergens, corrections"
    assert "Nobottlewasdespatched." in text
    assert "Timeinwoodoftheyoungestspiritunknown" in text
    assert "Bottlesunknown" in text


def test_unknown_ages_and_pending_strengths_are_words(read, lot):
    values = lot(1, youngest=None, mean_age_years=None, warnings=("the strength of entry 900 is pending.",))
    pour = values.pours[0]._replace(strength_vol=None, lpa_l=None, mass_mg=None)
    age = values.ages[0]._replace(wood=None, distilled="", rule="oak up to 700 L")
    text = read(dossier(replace(values, pours=(pour,), ages=(age,)))).joined
    assert "unknownpendingunknownI.H." in text
    assert "hogshead0unknownunknown100.0000" in text
    assert "Timeinwoodoftheyoungestspiritunknown" in text
    ruled = read(dossier(replace(values, pours=(pour,), ages=(age,), age_rule="oak up to 700 L"))).joined
    assert "unknownunknownunknownoakupto700L" in ruled
    assert "notanagestatementunknown" in text
    assert "Provisional:thestrengthofentry900ispending." in text


def test_the_journal_s_head_can_be_read_and_scanned(read, scan, imprint, lot):
    pdf = dossier(lot(2))
    assert imprint.head_hash in read(pdf).text
    symbols = [symbol for page in scan(pdf) for symbol in page]
    assert symbols.count(("QRCode", f"pourbook:head:1284:{imprint.head_hash}")) == 1


def test_the_method_follows_the_basis_of_shares(read, lot):
    assert "partofthislot,bymass,thatcamefromit" in read(dossier(lot(1, share_basis="mass"))).joined


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_sixty_casks_repeat_the_heads_of_tables_and_the_longest_names_are_whole(
    read, squeezed, well_set, lot, polish, greek, told, paper
):
    values = lot(60, name=f"{polish} {greek}", bottled_by=polish, **told | {"flow": None})
    named = tuple(
        pour._replace(source=Named(pour.source.id, (polish, greek)[n % 2]), who=polish[:40])
        for n, pour in enumerate(values.pours)
    )
    printed = read(dossier(replace(values, pours=named), paper))
    assert printed.joined.count(squeezed(polish)) >= 31
    assert printed.joined.count(squeezed(greek)) >= 31
    pages = [page.text for page in printed.pages if "C-0001" in page.text]
    assert len(pages) > 5
    assert all(any(head in page for head in ("share", "volume", "difference")) for page in pages)
    well_set(printed, MARGIN_PT)


def test_no_heading_stands_at_the_foot_of_a_page(read, lot, told):
    """Whatever the length of what stands above: a heading is followed by rows on its own page."""
    headings = {f"{number} {title}" for number, (title, _) in enumerate(SECTIONS, start=1)}
    found: set[str] = set()
    for casks in range(1, 40, 4):
        for page in read(dossier(lot(casks, **told))).pages:
            lines = [" ".join(line.split()) for line in page.text.splitlines()]
            found |= headings & set(lines)
            assert not headings & set(lines[-2:]), f"{casks} casks"
    assert found == headings


def test_a_note_longer_than_a_page_is_printed_whole(read, well_set, lot):
    words = [f"w{number}" for number in range(4000)]
    note = Remark(955, "2025-11-03", "note", BATCH, " ".join(words), "M. O.")
    printed = read(dossier(lot(1, remarks=(note,))))
    assert re.findall(r"\bw\d+", printed.text) == words
    well_set(printed, MARGIN_PT)


def test_equal_dossiers_give_equal_bytes_and_unequal_ones_do_not(lot):
    assert dossier(lot(3)) == dossier(lot(3))
    assert dossier(lot(3)) != dossier(lot(3, ref="WM-2026-02"))


def test_the_decimal_mark_is_the_house_s(read, imprint, lot):
    text = read(dossier(lot(1, imprint=replace(imprint, decimal_mark=",")))).joined
    assert "Volumeat20°C504,000L" in text
    assert "100,0000" in text


def test_a_missing_glyph_is_a_square_and_its_entry_is_named(read, lot):
    values = replace(lot(1), remarks=(Remark(7, "", "note", BATCH, "rice 酒 🥃", ""),))
    assert "rice□□" in read(dossier(values)).joined
    (said,) = unset_on(values)
    assert said.startswith("entry 7 has 酒 (U+9152), 🥃 (U+1F943), which no typeface")
    assert "rice 酒 🥃" in dossier_page(values)
