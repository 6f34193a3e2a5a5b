"""Random books, step by step: what must hold after every entry, whatever was recorded.

The book is compared with an independent replay of its journal (`replay.py`) and with itself
rebuilt; balances are equalities of whole milligrams.
"""

import contextlib
import json
import tempfile
from pathlib import Path
from unittest import mock

import pytest
from house import House, in_folder, moment
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from random_books import ITEMS, Chance, books, built, corrections, liquid_operations, moments
from replay import NOTHING, Replay, every_item, minus, plus

from pourbook import Gauge, Liquid
from pourbook.book import recording, refold
from pourbook.codes.identifiers import of_key
from pourbook.errors import Held, PourbookError
from pourbook.texts import first_unprintable


def assert_rebuilds(house):
    """Every table follows from the journal, row by row."""
    assert house.book.verify().faults == ()


def assert_agrees_with_replay(house):
    """Every item holds, to the milligram, what an independent replay says."""
    replay = Replay(house)
    for identifier in every_item(house.book.store):
        assert tuple(house.book.show(identifier).holding.liquid) == replay.body(identifier).held
    full = [one for one in every_item(house.book.store) if replay.body(one).held[0]]
    assert sorted(view.id for view in house.book.stock()) == sorted(full)
    return replay


def assert_balances(house, replay):
    """In = out + held - gains, per item from the table of flows, and for the whole book."""
    flows = house.book.store.query(
        "SELECT source.item, target.item, flow.how, flow.mass, flow.ethanol, flow.extract,"
        " coalesce(out_mass, mass), coalesce(out_ethanol, ethanol), coalesce(out_extract, extract) FROM flow"
        " LEFT JOIN state AS source ON source.id = flow.source LEFT JOIN state AS target ON target.id = flow.target"
        " WHERE carry = 0 AND how <> 'unexplained'"
    )
    held = NOTHING
    for identifier in every_item(house.book.store):
        key, body = house.key(identifier), replay.body(identifier)
        came_in = total(row[3:6] for row in flows if row[1] == key)
        went_out = total(row[6:9] for row in flows if row[0] == key)
        assert plus(minus(came_in, went_out), body.gained) == body.held
        held = plus(held, body.held)
    gained = total([replay.gained, *(body.gained for body in replay.bodies.values())])
    assert plus(minus(replay.came_in, replay.went_out), gained) == held


def assert_flows_are_what_lines_brought(house):
    """Whatever a pour brought into an item, from another or from outside: the ledger changed by the flow, no more."""
    brought = {
        (line, item): liquid
        for line, item, *liquid in house.book.store.query(
            "SELECT line, item, mass, ethanol, extract FROM flow JOIN state ON state.id = target"
            " WHERE carry = 0 AND how <> 'unexplained'"
        )
    }
    before = {}
    rows = house.book.store.query(
        "SELECT kind, bytes, line, item, mass, ethanol, extract FROM ledger JOIN entry ON entry.number = line / 4096"
        " ORDER BY item, ledger.happened, ledger.place"
    )
    for kind, text, line, item, *held in rows:
        if kind == "pour" and json.loads(text)["body"]["lines"][line % 4096]["to"] == of_key(item):
            came = minus(held, before.get(item, NOTHING))
            assert came == tuple(brought.pop((line, item)))
        before[item] = held
    assert not brought, "and no flow without its line"


def total(liquids):
    """Sum of liquids."""
    whole = NOTHING
    for liquid in liquids:
        whole = plus(whole, liquid)
    return whole


def assert_sealing_order_is_topological(house):
    """Whatever flows, flows from a state sealed earlier into one sealed later or not yet."""
    never = (1 << 62, 0)
    sealed = {
        state: never if happened is None else (happened, place)
        for state, happened, place in house.book.store.query("SELECT id, sealed_happened, sealed_place FROM state")
    }
    for source, target in house.book.store.query("SELECT source, target FROM flow WHERE source <> 0"):
        assert sealed[source] < (sealed[target] if target else never)


def assert_origins_add_to_one(house):
    """By every basis, for every item in which anything ever was."""
    for identifier in every_item(house.book.store):
        for basis in ("alcohol", "mass", "volume"):
            try:
                trace = house.book.trace_back(identifier, basis)
            except PourbookError:
                continue
            assert sum(origin.share for origin in trace.origins) == pytest.approx(1, abs=1e-12)


class BookMachine(RuleBasedStateMachine):
    """Entries in any order, refusals, rehearsals, corrections, holds; the file closed and opened again."""

    def __init__(self):
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.house = in_folder(self.folder.name)
        self.chance = Chance(self.house)

    def teardown(self):
        self.house.book.close()
        self.folder.cleanup()

    @initialize(masses=st.lists(st.integers(1, 900_000), min_size=1, max_size=3))
    def casks_are_filled(self, masses):
        for item, mass in zip(ITEMS, masses, strict=False):
            self.chance.record(("fill", item, mass, 600, 10, 365))

    @rule(operation=liquid_operations | corrections, slot=moments)
    def something_is_recorded(self, operation, slot):
        before, held = self.house.dump_tables(), self.all_held()
        told = self.chance.record(operation, slot)
        if isinstance(told, PourbookError):
            assert self.house.dump_tables() == before, "a refused recording changes nothing"
        elif told is not None:
            now = self.all_held()
            changed = {item: (held[item], now[item]) for item in held if held[item] != now[item]}
            assert {change.id: (change.before, change.after) for change in told.changed} == changed

    def all_held(self):
        return {identifier: self.house.held(identifier) for identifier in every_item(self.house.book.store)}

    @rule(operation=liquid_operations, slot=moments)
    def something_is_rehearsed(self, operation, slot):
        before = self.house.dump_tables()
        drafts = self.chance.drafts(operation, slot, confirmed=True)
        try:
            told = self.house.book.record(*drafts, dry_run=True)
        except PourbookError:
            told = None
        assert self.house.dump_tables() == before, "a rehearsal changes nothing"
        if told and drafts:
            done = self.house.book.record(*drafts)
            assert done == told._replace(is_dry_run=False), "and says what would be done"

    @rule(item=st.sampled_from(ITEMS))
    def an_item_is_held_and_let_go(self, item):
        at = self.chance.at(None)
        self.house.hold(item, at=at)
        with pytest.raises(Held):
            self.house.fill(item, liquid=Liquid(10, 4, 0), at=at + 1)
        self.house.unhold(item, at=at + 2)

    @rule(item=st.sampled_from(ITEMS), text=st.text(max_size=20).filter(lambda text: not first_unprintable(text)))
    def a_note_is_made(self, item, text):
        self.house.note(item, text)
        self.house.facts(item, place=text)

    @rule()
    def the_book_is_closed_and_opened_again(self):
        before, ids = self.house.dump_tables(), self.house.ids
        self.house.book.close()
        self.house = House.reopened(Path(self.folder.name) / "quillmere.pourbook", ids)
        self.chance.house = self.house
        assert self.house.dump_tables() == before

    @invariant()
    def the_tables_follow_from_the_journal(self):
        assert_rebuilds(self.house)

    @invariant()
    def amounts_agree_and_balance(self):
        assert_balances(self.house, assert_agrees_with_replay(self.house))
        assert_flows_are_what_lines_brought(self.house)

    @invariant()
    def the_graph_is_in_order(self):
        assert_sealing_order_is_topological(self.house)
        assert_origins_add_to_one(self.house)


TestBookMachine = BookMachine.TestCase
TestBookMachine.settings = settings(max_examples=max(8, settings().max_examples // 4), stateful_step_count=20)


# -- the order of recording ----------------------------------------------------------------


def is_exact(draft):
    """Whether what is frozen does not depend on what the book held when it was recorded."""
    return not isinstance(draft.entry, Gauge) or draft.entry.strength is draft.entry.mass_fraction is None


def everything_told(house):
    """Holdings and traces, without numbers of entries, which follow the order of recording."""
    told = {}
    for name in ITEMS:
        told[name] = house.held(name)
        for basis in ("alcohol", "mass"):
            try:
                back = house.back(name, basis)
            except PourbookError:
                continue
            told[name, basis] = (
                house.shares(back),
                {(origin.happened_us, origin.line % 4096): origin.share for origin in back.origins},
                house.shares(house.forward(name, basis)),
                house.shares_now(house.forward(name, basis)),
                back.age.youngest_us,
            )
    return told


@given(
    operations=st.lists(st.tuples(liquid_operations, moments), min_size=4, max_size=25),
    order=st.randoms(use_true_random=False),
)
def test_order_of_recording_does_not_matter(operations, order):
    """The same entries, recorded in any order in which the book takes them: same holdings, same traces."""
    with House() as one, House() as other:
        chance = Chance(one)
        drafts = []
        for operation, slot in [(("fill", "C1", 500_000, 600, 10, 365), None), *operations]:
            made = [draft._replace(confirmed=True) for draft in chance.drafts(operation, slot)]
            try:
                if all(map(is_exact, made)):
                    one.book.record(*made)
                    drafts += made
            except PourbookError:
                continue
        Chance(other)
        order.shuffle(drafts)
        while drafts:
            refused = [draft for draft in drafts if not is_recorded(other, draft)]
            if len(refused) == len(drafts):
                other.book.record(*refused)
                break
            drafts = refused
        assert_rebuilds(other)
        assert everything_told(other) == approximately(everything_told(one))


def is_recorded(house, draft):
    """Record a draft; False if it is refused now."""
    try:
        house.book.record(draft)
    except PourbookError:
        return False
    return True


def approximately(told):
    """Shares as approximate numbers, the rest as it is: sums run in another order."""
    if isinstance(told, dict):
        return {key: approximately(value) for key, value in told.items()}
    if isinstance(told, tuple) and type(told) is tuple:
        return tuple(map(approximately, told))
    return pytest.approx(told, abs=1e-12) if isinstance(told, float) else told


@given(operations=st.lists(st.tuples(liquid_operations, st.none()), min_size=1, max_size=12))
def test_one_recording_of_many_entries_is_as_many_recordings(operations):
    """A batch of drafts in order of time gives the same tables as one recording for each."""
    with House() as one, House() as other:
        chance = Chance(one)
        drafts = []
        for operation, slot in [(("fill", "C1", 500_000, 600, 10, 365), None), *operations]:
            made = [draft._replace(confirmed=True) for draft in chance.drafts(operation, slot)]
            try:
                one.book.record(*made)
            except PourbookError:
                continue
            drafts += made
        Chance(other)
        other.book.record(*reversed(drafts))
        assert other.dump_tables() == one.dump_tables()


@given(operations=books, later=st.lists(st.tuples(liquid_operations, moments), min_size=2, max_size=12))
def test_a_large_recording_written_in_parts_is_the_same_recording(operations, later):
    """Rows are flushed in batches, so that memory stays flat: with tiny batches all comes out alike."""
    drafts = possible(operations, later)
    answers = []
    for is_tiny in (False, True):
        house, _ = built(operations)
        with house, tiny_batches() if is_tiny else contextlib.nullcontext():
            try:
                # Behind what is written already nobody can look back.
                told = house.book.record(*drafts)._replace(ancestry=(), is_ancestry_whole=True)
            except PourbookError:
                told = "refused"  # which of several reasons is told may differ
            answers.append((told, house.dump_tables()))
            assert_rebuilds(house)
    assert answers[0] == answers[1]


def possible(operations, later):
    """Drafts that a book takes one after the other; most of them, it then takes together."""
    house, _ = built(operations)
    with house:
        chance = Chance(house, opened=True)
        taken = []
        for operation, slot in later:
            drafts = chance.drafts(operation, slot, confirmed=True)
            taken += [draft for draft in drafts if is_recorded(house, draft)]
        return taken


@contextlib.contextmanager
def tiny_batches():
    """Batches of two or three rows where thousands are usual."""
    with (
        mock.patch.object(refold, "_FLUSH_AT", 3),
        mock.patch.object(refold, "_REMEMBER_AT_MOST", 2),
        mock.patch.object(recording, "_BATCH", 2),
    ):
        yield


@given(operations=st.lists(st.tuples(liquid_operations, st.none()), min_size=1, max_size=12))
def test_recording_in_order_is_recording(operations):
    """The way of an import, which gathers nothing, gives the same tables."""
    with House() as one, House() as other:
        chance = Chance(one)
        drafts = []
        for operation, slot in [(("fill", "C1", 500_000, 600, 10, 365), None), *operations]:
            made = [draft._replace(confirmed=True) for draft in chance.drafts(operation, slot)]
            try:
                one.book.record(*made)
            except PourbookError:
                continue
            drafts += made
        Chance(other)
        with other.book.writing(), tiny_batches():
            recording.record_in_order(other.book.store, drafts, other.clock())
        assert other.dump_tables() == one.dump_tables()


@given(operations=st.lists(st.tuples(liquid_operations | corrections, moments), max_size=20))
def test_back_dating_and_correcting_never_change_an_earlier_hash(operations):
    """The chain only ever grows at its end."""
    house, _ = built([])
    with house:
        chance = Chance(house, opened=True)
        kept = house.book.store.query("SELECT number, bytes, hash FROM entry ORDER BY number")
        for operation, slot in operations:
            chance.record(operation, slot)
            now = house.book.store.query("SELECT number, bytes, hash FROM entry ORDER BY number")
            assert now[: len(kept)] == kept
            kept = now
        assert moment("2030-01-01") == house.clock.us
