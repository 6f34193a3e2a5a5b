"""The flow picture of a trace: fills apart where they must be, amounts that add up, and the verb that draws it."""

import pytest
from command import here
from house import moment
from hypothesis import given, settings
from random_books import books, built

from pourbook.codes.identifiers import key_of
from pourbook.errors import Refused
from pourbook.papers.flow.flow_layout import laid_out
from pourbook.papers.flow.flow_table import described
from pourbook.papers.flow.flow_values import ADDED
from pourbook.paperwork.dossier_of import dossier_of
from pourbook.paperwork.flow_of import flow_of
from pourbook.queries.journal.movements import movements
from pourbook.queries.traces.gauged_losses import gauged_losses
from pourbook.words.paper_figures import Notation


def label_of(flow):
    return {item.key: " ".join(item.label[1:] or item.label) for item in flow.items}


def edges_of(flow):
    labels = label_of(flow)
    return {(labels.get(edge.source, edge.kind), labels[edge.target]): edge for edge in flow.edges}


def opened(house, *names):
    house.record(*(house.opening(name, ref=name) for name in names), at="2009-01-01")


def runs_forward(flow):
    """Along every edge the distance from the item traced changes the same way, so no way leads back."""
    far = flow.distances()
    for edge in flow.links:
        near, away = (edge.target, edge.source) if flow.direction == "back" else (edge.source, edge.target)
        assert far[away] > far[near]


def conserved(flow):
    for key, own in flow.amounts().items():
        if key == flow.traced:
            continue
        if flow.direction == "back":
            assert own.own + own.came == pytest.approx(own.went, abs=1e-6 * flow.total_ml + 1e-9)
        else:
            assert own.own + own.came >= own.went - 1e-6 * flow.total_ml - 1e-9


def test_a_refilled_cask_is_a_place_for_each_fill(house):
    """The first fill went to the first vat, the second to the second; both are in the lot, and never mixed."""
    opened(house, "C1", "B1", "B2", "L1")
    house.fill("C1", "100 l", "60", at="2010-01-01", spirit="malt spirit")
    house.pour("C1", "B1", None, at="2015-01-01")
    house.fill("C1", "80 l", "60", at="2016-01-01", spirit="rye spirit")
    house.pour("B1", "B2", None, verb="heel", at="2020-01-01")
    house.pour("C1", "B2", None, at="2020-01-02")
    house.pour("B2", "L1", None, at="2020-01-03")
    flow = flow_of(house.back("L1"))
    edges = edges_of(flow)
    assert {("malt spirit", "C1 fill 1 2010"), ("rye spirit", "C1 fill 2 2016"), ("C1 fill 1 2010", "B1 2015")} < set(
        edges
    )
    assert edges["C1 fill 2 2016", "B2 2020"].ml == pytest.approx(80_000 * 0.6, rel=1e-4)  # 60 % vol of 80 l
    runs_forward(flow)
    conserved(flow)


def test_a_cask_that_was_topped_up_is_one_place(house):
    opened(house, "C1", "V1", "L1")
    house.fill("C1", "100 l", "60", at="2010-01-01", spirit="malt spirit")
    house.draw("C1", "V1", "200 ml", at="2012-01-01")
    house.fill("C1", "10 l", "60", at="2013-01-01", spirit="malt spirit")
    house.pour("C1", "L1", None, at="2020-01-03")
    flow = flow_of(house.back("L1"))
    assert [item.label[1:] for item in flow.items if item.kind == "cask"] == [("C1", "2010")]
    assert {item.kind for item in flow.items} == {"origin", "cask", "lot"}


def test_a_blend_married_in_its_own_casks_is_drawn_from_fill_to_fill(house):
    """What stayed in a cask meanwhile is an edge of its own kind."""
    opened(house, "C1", "B1", "L1")
    house.fill("C1", "100 l", "60", at="2010-01-01", spirit="malt spirit")
    house.pour("C1", "B1", "60 l", at="2015-01-01")
    house.pour("B1", "C1", "30 l", at="2015-01-02")
    house.pour("C1", "L1", None, at="2020-01-03")
    flow = flow_of(house.back("L1"))
    edges = edges_of(flow)
    stayed = edges["C1 fill 1 2010", "C1 fill 2 2015"]
    assert stayed.kind == "carry"
    assert stayed.ml == pytest.approx(40_000 * 0.6, rel=1e-4)
    runs_forward(flow)
    conserved(flow)


def test_water_and_additives_bring_mass_and_no_alcohol(vatted):
    flow = flow_of(vatted.book.trace_back("Lot 24-1"))
    (water,) = [edge for edge in flow.edges if edge.kind in ADDED]
    trace = vatted.book.trace_back("Lot 24-1")
    assert (water.kind, water.name, water.ml) == ("water", "demineralised", 0.0)
    assert water.mass_mg == pytest.approx(next(one.mass_mg for one in trace.origins if one.how == "water"))


def test_amounts_are_those_of_the_trace(vatted):
    trace = vatted.book.trace_back("Lot 24-1")
    flow = flow_of(trace)
    own = {item.label[0]: flow.amounts()[item.key] for item in flow.items}
    assert own["malt spirit"].own == pytest.approx(trace.origins[0].pure_alcohol_ml)
    whole = flow.total_ml
    for other in trace.items:
        (item,) = [item for item in flow.items if item.key.startswith(other.item.id)]
        assert flow.amounts()[item.key].through / whole == pytest.approx(other.share)


def test_forward_what_does_not_go_on_is_the_rest_and_ends_are_places(vatted):
    flow = flow_of(vatted.book.trace_forward("Row 4/02"))
    ends = {item.label for item in flow.items if item.kind == "end"}
    assert {("lost", "filter"), ("despatched", "Harbour Row"), ("lost", "leak")} <= ends
    amounts = flow.amounts()
    cask = amounts[flow.traced]
    held = vatted.book.show("Row 4/02").pure_alcohol_ml
    assert cask.rest == pytest.approx(held)
    assert cask.came == 0
    runs_forward(flow)
    conserved(flow)


@settings(max_examples=12)
@given(operations=books)
def test_random_books_make_pictures_that_conserve_and_never_run_backward(operations):
    """Back: what goes into a place goes on. Forward: no more goes on than came, but where a gauge found more."""
    house, _ = built(operations)
    with house:
        for name in ("B1", "L1", "C1"):
            try:
                trace = house.back(name)
            except Refused:  # nothing was ever poured into it
                continue
            flow = flow_of(trace)
            runs_forward(flow)
            if trace.held.ethanol_mg:
                conserved(flow)
                assert flow.total_ml == pytest.approx(trace.held.ethanol_mg / 789.239, rel=1e-6)  # OIML R 22, 20 °C
            runs_forward(flow_of(house.forward(name)))
            laid_out(flow, 527, 570, Notation())


def test_the_verb_draws_and_says_where(vatted_book, tmp_path):
    for name, start in (("flow.svg", b"<svg"), ("flow.pdf", b"%PDF-")):
        ran = here("trace", "Lot 24-1", "--by", "mass", "--picture", tmp_path / name, book=vatted_book).done()
        assert f"picture: {tmp_path / name}" in ran.err
        assert (tmp_path / name).read_bytes().startswith(start)
    assert b"Lot 24-1" in (tmp_path / "flow.svg").read_bytes()
    first = (tmp_path / "flow.svg").read_bytes()
    here("trace", "Lot 24-1", "--picture", tmp_path / "again.svg", "--json", book=vatted_book).done()
    assert (tmp_path / "again.svg").read_bytes() == first
    assert here("trace", "Row 4/02", "--forward", "--picture", tmp_path / "on.svg", book=vatted_book).status == 0


def test_forward_what_gauges_found_lost_is_no_rest(vatted):
    """What is left in each place is what is held there now, of the item traced (but for what came back); an end."""
    trace = vatted.book.trace_forward("Row 3/12")
    lost = gauged_losses(vatted.book, trace.item.id)
    flow = flow_of(trace, None, lost)
    runs_forward(flow)
    conserved(flow)
    ends = {item.label: flow.amounts()[item.key].came for item in flow.items if item.kind == "end"}
    assert ends["lost, found by gauges",] == pytest.approx(sum(one.ethanol_mg for one in lost) / 789.239)
    assert any(label[0] == "despatched" for label in ends)
    held = {other.item.id: other.item.holding.ethanol_mg * (other.share_now or 0.0) / 789.239 for other in trace.items}
    held[trace.item.id] = trace.held.ethanol_mg / 789.239
    back = [one for one in movements(vatted.book.store, [key_of(vatted.id("L1"))]) if one.how == "return"]
    (share,) = (other.share_now for other in trace.items if other.item.id == vatted.id("L1"))
    held[vatted.id("L1")] -= share * back[0].liquid.ethanol_mg / 789.239
    # A gauge of the vat found more than the book had: what is held is more than what came by the pours.
    for item in flow.items:
        if item.kind not in ("end", "origin", "batch"):
            assert flow.amounts()[item.key].rest == pytest.approx(held[item.key.split()[0]], abs=0.5)


def test_an_old_picture_knows_no_later_gauge(vatted):
    item = vatted.id("C1")
    assert gauged_losses(vatted.book, item, moment("2023-01-01")) == []
    (lost, *_) = gauged_losses(vatted.book, item)
    assert lost.item == item


def test_a_picture_replaces_a_file_only_if_told(vatted_book, tmp_path):
    """As every other output."""
    told = ("trace", "Row 4/02", "--forward", "--picture", tmp_path / "on.svg")
    here(*told, book=vatted_book).done()
    assert here(*told, book=vatted_book).status == 1
    here(*told, "--force", book=vatted_book).done()


def test_the_picture_of_a_dossier_is_of_all_that_was_bottled(vatted):
    """Though some has left since; a trace is of what is there."""
    layout = laid_out(dossier_of(vatted.book, "Lot 24-1").flow, 500, 600, Notation())
    assert "of pure alcohol of L-000001-C" in described(layout, Notation())
    layout = laid_out(flow_of(vatted.book.trace_back("Lot 24-1")), 500, 600, Notation())
    assert "of pure alcohol in L-000001-C" in described(layout, Notation())
