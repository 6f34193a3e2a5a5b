"""A trial is poured at the station: by scan, by hand, by balance; stopped where it must be; a restart goes on."""

import re
import socket
import threading

import pytest
from bench_of_samples import Bench, Pouring
from stations import Caller, running

from pourbook import Book
from pourbook.actions.happening import Happening
from pourbook.book.entries import RecipePart
from pourbook.queries.people.accounts import accounts


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    return Bench(tmp_path_factory.mktemp("bench") / "bench.pourbook")


@pytest.fixture(scope="module")
def station(bench):
    with running(bench.path) as found:
        yield found


@pytest.fixture
def pouring(bench, station):
    """The page of a new trial, before a technician."""
    return lambda *parts, **more: Pouring(Caller(station.url).sign_in("technician"), bench.trial(*parts, **more))


def test_a_trial_is_poured_by_scan_and_typed_amounts(bench, pouring):
    pour = pouring()
    assert "60.0 ml" in pour.said
    assert "Scan what to pour from" in pour.said
    assert pour(scan=f"http://127.0.0.1/item/{bench['V1']}") == "good"
    assert "pour 60.0 ml" in pour.words
    assert 'class="target">60.0 ml' in pour.page
    assert "within its bounds from 50.0 ml to 70.0 ml more" in pour.said
    assert pour(amount="60 ml") == "good"
    assert pour.words.endswith("as planned.")
    assert "With the rest as planned: " in pour.said
    assert pour(scan=bench["V2"], amount="") == "good"
    assert pour(amount="25 ml") == "good"
    assert pour.words.endswith("15.0 ml to go.")
    assert pour(scan=bench["V2"]) == "good"
    assert pour(amount="15 ml") == "good"
    assert pour(line="done") == "good"
    assert "All of it was poured." in pour.said
    assert "data-task" not in pour.page, "scans lead elsewhere again"


def test_strength_age_and_cost_are_live(bench, pouring):
    """60 % vol at 4.20 a litre of pure alcohol is 2.52 a litre; 60 ml of it are 0.15. Worked by hand."""
    pour = pouring()
    pour(scan=bench["V1"])
    pour(amount="60 ml")
    assert "Strength 60.00 % vol" in pour.said
    assert "Per litre 2.52 " in pour.said
    assert "Cost so far 0.15 " in pour.said
    assert re.search(r"Youngest \d+ years \d+ days", pour.said)


def test_a_wrong_vial_is_stopped_and_nothing_is_recorded(bench, pouring):
    pour = pouring()
    before = bench.entries()
    assert pour(scan=bench["V3"]) == "bad"
    assert "is not in the recipe of" in pour.words
    assert bench["V1"][:7] in pour.words.replace("-", ""), "what is still to pour is named"
    assert pour(amount="10 ml") == "bad"
    assert bench.entries() == before
    assert pour(scan=bench["V3"]) == "bad"
    assert pour(line="confirm") == "good", "whoever knows better may go on"
    assert pour(amount="10 ml") == "good"
    assert "not in the recipe" in pour.said


def test_what_is_no_source_is_stopped(bench, pouring):
    pour = pouring()
    before = bench.entries()
    for code in ("C999999Z", "4006381333931", "", "<script>alert(1)</script>"):
        assert pour(scan=code) == "bad", code
        assert "<script>alert" not in pour.page
    assert pour(scan=pour.address.split("/")[2]) == "repeat"
    assert pour(line="drop table") == "bad"
    assert pour(way="by eye") == "bad"
    assert pour(lost="drunk", amount="3 ml") == "bad"
    assert pour(amount="") == "bad"
    assert pour() == "bad"
    assert bench.entries() == before


def test_a_vial_that_gave_its_part_is_a_repeat(bench, pouring):
    pour = pouring()
    pour(scan=bench["V1"])
    pour(amount="60 ml")
    assert pour(scan=bench["V1"]) == "repeat"
    assert "gave its part already" in pour.words


def test_too_much_says_what_restores_the_proportions_and_undo_takes_it_back(bench, pouring):
    """66 of 60 is a tenth too much: 44 of the other keep the proportions; 34 keep the total. Worked by hand."""
    pour = pouring()
    pour(scan=bench["V1"])
    assert pour(amount="66 ml") == "bad", "it is recorded, and met as what must not be"
    assert "6.0 ml too much." in pour.words
    assert re.search(r"In proportion again with 44\.0 ml V-", pour.said)
    assert re.search(r"To keep the total: 34\.0 ml V-", pour.said)
    held = bench.holds_ml(bench["V1"])
    assert pour(line="undo") == "good"
    assert bench.holds_ml(bench["V1"]) == pytest.approx(held + 66, abs=0.11)
    assert "too much" not in pour.said
    assert pour(line="undo") == "bad"


def test_the_same_pour_again_is_asked_about(bench, pouring):
    pour = pouring()
    pour(scan=bench["V2"])
    pour(amount="10 ml")
    pour(scan=bench["V2"])
    assert pour(amount="10 ml") == "repeat"
    assert "Was it poured twice?" in pour.words
    assert pour(line="again") == "good"
    assert "20.0 ml to go." in pour.words


def test_on_a_balance_that_is_not_tared_it_says_what_it_will_show(bench, pouring):
    """Densities 909.11 and 948.05 kg/m3: alcoholimetric table at 20 °C, second-hand; air of 1.2, weights of 8000."""
    pour = pouring()
    assert pour(way="balance") == "good"
    assert "The empty glass" in pour.said
    assert pour(amount="182.40") == "good"
    assert pour(scan=bench["V1"]) == "good"
    until = float(re.search(r'until the balance shows<br><span class="target">([\d.]+) g', pour.page)[1])
    assert until == pytest.approx(182.40 + 60 * 0.90805, abs=0.011)
    assert "within its bounds from" in pour.said
    assert pour(amount=f"{until:.2f}") == "good"
    assert pour.words.endswith("as planned.")
    assert pour(scan=bench["V2"]) == "good"
    assert pour(amount="100") == "bad", "a balance that went the other way"
    assert pour(zero="yes", amount="0") == "good"
    assert pour(scan=bench["V2"]) == "good"
    assert float(re.search(r'class="target">([\d.]+) g', pour.page)[1]) == pytest.approx(40 * 0.94699, abs=0.011)


def test_on_a_tared_balance_amounts_are_grams_poured(bench, pouring):
    pour = pouring()
    pour(way="tared")
    pour(scan=bench["V1"])
    grams = re.search(r'class="target">([\d.]+) g', pour.page)[1]
    assert pour(amount=grams) == "good"
    assert pour.words.endswith("as planned.")
    pour(scan=bench["V2"])
    assert float(re.search(r'class="target">([\d.]+) g', pour.page)[1]) == pytest.approx(40 * 0.94699, abs=0.011)
    assert pour(lost="tasted", of="", amount="5 ml") == "good"


def test_losses_what_is_left_and_water(bench, pouring):
    pour = pouring()
    pour(scan=bench["V2"])
    pour(amount="40 ml")
    assert pour(lost="spilled", of="", amount="3 ml") == "good"
    assert "Volume 37.0 ml" in pour.said
    assert pour(lost="spilled", of=bench["V3"], amount="3 ml") == "bad", "it is not the glass in hand"
    assert pour(nosing="20") == "good"
    water = re.search(r"([\d.]+) ml of water bring it to 20.00 % vol", pour.words)[1]
    assert pour(water="yes", amount=f"{water} ml") == "good"
    assert re.search(r"Strength (19\.9\d|20\.0\d) % vol", pour.said)
    assert pour(nosing="50") == "bad", "it is weaker than that"
    assert pour(nosing="strong") == "bad"


def test_what_is_really_left_is_recorded(bench, pouring):
    pour = pouring(RecipePart(bench["V3"], "1"), total="20 ml")
    pour(scan=bench["V3"])
    pour(amount="20 ml")
    left = bench.holds_ml(bench["V3"])
    assert pour(left="yes", amount=f"{left - 1:.1f} ml") == "good"
    assert bench.holds_ml(bench["V3"]) == pytest.approx(left - 1, abs=0.05)


def test_a_restart_in_mid_pour_goes_on(tmp_path):
    bench = Bench(tmp_path / "bench.pourbook")
    trial = bench.trial()
    with running(bench.path) as first:
        pour = Pouring(Caller(first.url).sign_in("technician"), trial)
        pour(way="balance")
        pour(amount="182.40")
        pour(scan=bench["V1"])
        until = re.search(r'class="target">([\d.]+) g', pour.page)[1]
    with running(bench.path) as second:
        again = Pouring(Caller(second.url).sign_in("technician"), trial)
        assert re.search(r'class="target">([\d.]+) g', again.page)[1] == until
        assert again(amount=until) == "good"
        assert again.words.endswith("as planned.")
        other = Pouring(Caller(second.url).sign_in("blender"), trial)
        assert "Scan what to pour from" in other.said, "what is in another's hand is not in one's own"
        assert "as planned" in other.said


def test_two_technicians_pour_from_one_vial_and_one_is_told_what_is_left(bench, station):
    """Both have the vial in hand and pour six tenths of it at the same moment; one pour is recorded, one refused."""
    name = "V3"
    left = bench.holds_ml(bench[name])
    whole = f"{left - 1:.0f} ml"
    both = [
        Pouring(Caller(station.url).sign_in(role), bench.trial(RecipePart(bench[name], "1"), total=whole))
        for role in ("technician", "blender")
    ]
    for one in both:
        assert one(scan=bench[name]) == "good"
    amount = f"{left * 0.6:.1f} ml"
    threads = [threading.Thread(target=one, kwargs={"amount": amount}) for one in both]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(one.outcome for one in both) == ["bad", "good"]
    (refused,) = (one for one in both if one.outcome == "bad")
    assert bench.holds_ml(bench[name]) == pytest.approx(left * 0.4, abs=0.2)
    assert f"{bench.holds_ml(bench[name]):.1f}" in refused.said


def test_an_auditor_sees_the_page_and_no_button(bench, station):
    caller = Caller(station.url).sign_in("auditor")
    trial = bench.trial()
    page = caller.get(f"/item/{trial}/pour")
    assert page.status_code == 200
    assert "60.0 ml" in page.text
    assert 'name="amount"' not in page.text
    assert "data-task" not in page.text
    assert caller.post(f"/item/{trial}/pour", {"line": "undo"}).status_code == 403


def test_a_badge_changes_who_pours_and_leads_back(bench, pouring):
    pour = pouring()
    with Book.open(bench.path) as book:
        badges = {one.name: one.person for one in accounts(book)}
    answer = pour.caller.post(pour.address, {"scan": badges["Pankracy Wiżbor"]}, headers={"HX-Request": "true"})
    assert answer.headers["hx-redirect"] == f"/sign-in?name={badges['Pankracy Wiżbor']}&next={pour.address}"
    own = pour.caller.post(pour.address, {"scan": badges["Isla Farrow"]}, headers={"HX-Request": "true"})
    assert own.headers["hx-redirect"] == pour.address


def test_the_bench_sheet_is_printed_and_recorded(bench, station):
    caller = Caller(station.url).sign_in("technician")
    trial = bench.trial()
    before = bench.entries()
    answer = caller.post(f"/item/{trial}/sheet")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    assert bench.kinds(before) == ["paper"]


def test_a_form_of_a_browser_without_scripts_is_taken_too(bench, station):
    caller = Caller(station.url).sign_in("technician")
    trial = bench.trial()
    answer = caller.post(f"/item/{trial}/pour", {"source": bench["V1"]})
    assert (answer.status_code, answer.headers["location"]) == (303, f"/item/{trial}/pour")
    assert "pour 60.0 ml" in caller.get(f"/item/{trial}/pour").text


@pytest.mark.parametrize(("item", "status"), [("C999999Z", 400), ("T999999", 400), ("nothing", 400)])
def test_an_address_that_leads_nowhere(station, item, status):
    assert Caller(station.url).sign_in("technician").get(f"/item/{item}/pour").status_code in (status, 404)


# -- a balance that is read --------------------------------------------------------------------


@pytest.fixture
def balance(bench):
    """A balance of the house on the network, which shows what a test says."""
    listening = socket.create_server(("127.0.0.1", 0))
    with Book.open(bench.path) as book:
        book.change_settings(Happening("M. Aldane"), {"balance": f"tcp://127.0.0.1:{listening.getsockname()[1]}"})
    lines = []

    def shows(text):
        if not lines:
            listening.settimeout(10)
            lines.append(listening.accept()[0])
        lines[0].sendall(f"{text}\r\n".encode())

    yield shows
    for one in (*lines, listening):
        one.close()
    with Book.open(bench.path) as book:
        book.change_settings(Happening("M. Aldane"), {"balance": ""})


def test_what_a_balance_shows_is_taken_once_it_is_stable(bench, pouring, balance):
    pour = pouring()
    pour(way="tared")
    pour(scan=bench["V1"])
    assert 'hx-get="/balance/balance/now"' in pour.page
    weight = pour.caller.get("/balance/balance/now")
    assert "shown nothing yet" in weight.text
    balance("S D      54.30 g")
    assert "moving" in shown_by(pour.caller, "54.30")
    assert pour(live="yes") == "bad", "it does not stand still"
    balance("S S      54.48 g")
    page = shown_by(pour.caller, "54.48")
    taken = re.search(r'name="taken" value="([^"]+)"', page)[1]
    assert pour(live="yes", taken=taken) == "good"
    assert pour.words.endswith("as planned.")
    assert pour(way="tared", scales="-") == "good"
    assert "/balance/" not in pour.page
    assert pour.caller.get("/balance/attic/now").status_code == 404


def shown_by(caller, grams):
    """The part of the page once it shows that weight."""
    for _ in range(500):
        page = caller.get("/balance/balance/now").text
        if grams in page:
            return page
    raise AssertionError(page)
