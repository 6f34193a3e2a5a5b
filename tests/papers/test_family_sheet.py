"""The sheet of a family: every trial with its symbol, what it was made of, and which was best."""

import random
from dataclasses import replace

import pytest
from house import HOW, House
from hypothesis import given
from hypothesis import strategies as st

from pourbook.bench.trials import differences
from pourbook.book.contents import NOTHING
from pourbook.book.entries import Stage, Taste
from pourbook.book.items import ItemView
from pourbook.codes.identifiers import write
from pourbook.papers.family.family_marks import laid_out, row_drawn
from pourbook.papers.family.family_sheet import FamilySheet, family_sheet
from pourbook.papers.marks import Outline, Words
from pourbook.paperwork.family_sheet_of import family_sheet_of
from pourbook.queries.traces.made_of import BY_CASK, By
from pourbook.queries.trials.family import Family, Member, family
from pourbook.queries.trials.opinions import Opinion
from pourbook.times import house_zone

MARGIN_PT = 12 / 25.4 * 72 - 0.5
WOODS = ("refill oak hogshead", "virgin ash cask", "chestnut barrel", "heather-wine cask", "virgin mulberry cask")
FOUND = ("round and long", "ends short, wants more wood", "a little dry", "sweet start, thin middle")
TASTERS = ("Isla Farrow", "Tomas Reeve", "M. Aldane")


def grown(count):
    """A house with a family of so many trials of five casks, each a little other than one of those before it."""
    chance, house = random.Random(3), House(currency="EUR")
    for number, wood in enumerate(WOODS, 1):
        house.open(f"C{number}", ref=f"Q {30 + number}", wood=wood)
        house.fill(f"C{number}", "200 l", "60", spirit="malt spirit", cost="3.5", wood_days=0, at="2012-03-01")
        house.draw(f"C{number}", f"V{number}", "2 l", at="2024-02-01")
    parts = {}
    for trial in range(1, count + 1):
        parent = chance.randint(max(1, trial - 5), trial - 1) if trial > 1 else 0
        parts[trial] = list(parts.get(parent, (60, 20, 10, 8, 2)))
        if parent:
            less, more = chance.sample(range(5), 2)
            taken = min(parts[trial][less], chance.randint(1, 5))
            parts[trial][less] -= taken
            parts[trial][more] += taken
        came_from = {"revised_from": house.id(f"T{parent}")} if parent else {}
        house.record(house.opening(f"T{trial}", ref=f"Trial 27-{trial:02d}", **came_from))
        for number, ml in enumerate(parts[trial], 1):
            if ml:
                house.pour(f"V{number}", f"T{trial}", f"{ml} ml")
        for who in TASTERS[: 3 if trial % 4 else 0]:
            note = Taste(
                house.id(f"T{trial}"), who, chance.choice(FOUND),
                {"nose": Stage("", {"pear": str(chance.randint(1, 5))})}, score=str(50 + trial + chance.randint(-3, 3)),
            )  # fmt: skip
            house.book.taste(HOW._replace(confirm=True), note)
    return house


@pytest.fixture(scope="module", params=[1, 5, 25])
def sheet(request):
    """How many trials, their house, and the sheet as printed."""
    with grown(request.param) as house:
        yield request.param, house, family_sheet_of(house.book, family(house.book, house.id("T1")))


def test_every_trial_stands_once_on_the_first_page_and_can_be_scanned(sheet, read, scan):
    """Up to twenty-five: identifier, ref and symbol of each, in the order of the tree."""
    count, house, pdf = sheet
    members = family(house.book, house.id("T1")).members
    assert len(members) == count
    codes = [text for _, text in scan(pdf)[0]]
    assert codes == [house.id("T1"), *(one.name for one in members)], "the head of the page, then the rows"
    text = read(pdf).pages[0].text
    for number in range(1, count + 1):
        assert f"Trial 27-{number:02d}" in text


def without_rules(paper):
    """Lines of the tree and of scores meet what they join: that is no fault of the setting."""
    return replace(paper, pages=[replace(page, rules=[]) for page in paper.pages])


def test_it_is_well_set(sheet, read, well_set):
    """No text lies outside the margins or upon other text."""
    well_set(without_rules(read(sheet[2])), MARGIN_PT)


def test_the_best_is_named_before_the_tree_and_every_note_is_there(sheet, read):
    """What the question says of it, the paper says too."""
    count, house, pdf = sheet
    found, paper = family(house.book, house.id("T1")), read(pdf)
    best = next(one for one in found.members if one.name == found.best.name)
    said = "Best so far" if count > 1 else "The only one with a score"
    assert f"{said}: {best.trial.id[0]}-" in paper.pages[0].text
    assert f"{found.best.mean.mean:.1f}" in paper.pages[0].text
    notes = sum(len(given) for one in found.members for given in one.opinion.scores.values())
    assert paper.text.count("nose: pear") >= notes
    assert f"{notes} note" in paper.text


def test_equal_books_give_equal_bytes(sheet):
    """Nothing depends on the moment of printing."""
    _, house, pdf = sheet
    house.clock.us += 86_400_000_000
    assert family_sheet_of(house.book, family(house.book, house.id("T1"))) == pdf


def member(number, parent, depth, composition=BY_CASK, **more):
    trial = ItemView(name_of(number), "trial", more, NOTHING)
    made = {} if composition is BY_CASK else composition
    return Member(name_of(number), trial, name_of(parent) if parent else "", depth, made, True, (), None, Opinion())


def name_of(number):
    return write("trial", 100 + 40 * number)


@st.composite
def trees(draw):
    """Members of a family in the order of a tree, by parents that come before."""
    parents = [0, *(draw(st.integers(1, number)) for number in range(1, draw(st.integers(1, 14))))]
    children = {}
    for number, parent in enumerate(parents, 1):
        children.setdefault(parent, []).append(number)
    found = []

    def grow(number, parent, depth):
        found.append((number, parent, depth))
        for child in children.get(number, ()):
            grow(child, number, depth + 1)

    grow(1, 0, 0)
    return found


@given(trees())
def test_lines_lead_from_every_member_to_its_parent_without_a_gap(tree):
    """From the dot of a trial along the line to the left, up through every row between, to the dot of its parent."""
    members = tuple(member(*one) for one in tree)
    layout = laid_out(Family(members[0].name, members, By(), {}), 500, 700, "EUR", house_zone("UTC"), ".")
    rows = [row_drawn(layout, number).marks for number in range(len(members))]
    lines = [
        [(*mark.path[0][1:], *mark.path[1][1:]) for mark in row if isinstance(mark, Outline) and mark.what == "branch"]
        for row in rows
    ]
    place = {one.name: index for index, one in enumerate(members)}
    for index, one in enumerate(members):
        if not one.parent:
            continue
        above = place[one.parent]
        x = members[above].depth * layout.step + 3
        assert any(x0 == x and y1 == layout.height for x0, _, _, y1 in lines[above]), "it leaves the parent"
        for between in range(above + 1, index):
            assert (x, 0, x, layout.height) in lines[between]
        ends = [y1 for x0, y0, x1, y1 in lines[index] if (x0, y0, x1) == (x, 0, x)]
        assert ends, "it arrives"
        assert any(x0 == x and y0 == y1 and x1 > x and y0 <= ends[0] for x0, y0, x1, y1 in lines[index])


def test_more_parts_than_columns_are_summed_and_long_families_go_on(imprint, read, well_set, polish, greek):
    """Twelve casks: seven have a column, the others one together; forty in a line, with heads on every page."""
    names = [f"C{number:06d}X" for number in range(1, 13)]
    compositions = [
        {name: (index + 1 + shift) / (78 + 12 * shift) for index, name in enumerate(names)} for shift in (0, 1)
    ]
    members = []
    for number in range(1, 41):
        one = member(number, number - 1, number - 1, compositions[number % 2], ref=polish if number % 2 else greek)
        before = members[-1].composition if members else {}
        members.append(one._replace(changes=differences(before, one.composition) if before else ()))
    called = {one.name: "" for one in members} | dict.fromkeys(names, polish)
    found = Family(members[0].name, tuple(members), By(), called)
    paper = read(family_sheet(FamilySheet(imprint, members[0].name, found, (), "EUR", house_zone("UTC"))))
    well_set(without_rules(paper), MARGIN_PT)
    assert len(paper.pages) == 2
    assert all("rest" in page.text for page in paper.pages)
    layout = laid_out(found, 500, 700, "EUR", house_zone("UTC"), ".")
    row = [mark.text for mark in row_drawn(layout, 0).marks if isinstance(mark, Words)]
    shown = [float(text) for text in row if text.replace(".", "").isdigit()]
    assert sum(shown) == pytest.approx(100, abs=0.5), "what is shown of a trial is all of it"
