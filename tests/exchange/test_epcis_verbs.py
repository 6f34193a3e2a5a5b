"""Lineages by the command: exported by one house, taken in by another, and every other form of a lineage."""

import csv
import io
import json

import networkx as nx
import pytest
from command import Desk, here
from epcis_house import ADDRESS, sending_house
from house import House


@pytest.fixture
def desks(tmp_path):
    """Two houses: Quillmere, which has sent a tanker, and Corran, which has an empty book."""
    with sending_house(path=tmp_path / "quillmere.pourbook"):
        pass
    with House(tmp_path / "corran.pourbook"):
        pass
    return [Desk(tmp_path / f"{name}.pourbook", run=here) for name in ("quillmere", "corran")]


def test_a_tanker_goes_from_house_to_house(desks, tmp_path):
    """Exported, rehearsed, taken in, traced: shares there are shares here."""
    quillmere, corran = desks
    said = quillmere.does(f"export epcis B000001Y --customer 'Harbour Row' -o '{tmp_path}/tanker.jsonld'").err
    assert said.startswith("13 events in ")
    corran.does(f"import epcis '{tmp_path}/tanker.jsonld' --ref 'Tanker 8' --dry-run")
    assert corran.asks("stock")["items"] == []
    corran.does(f"import epcis '{tmp_path}/tanker.jsonld' --ref 'Tanker 8' --when 2022-04-02")
    here, there = corran.asks("trace 'Tanker 8'"), quillmere.asks("trace B000001Y")
    shares = [[origin["share"] for origin in trace["origins"]] for trace in (here, there)]
    assert sorted(shares[0]) == pytest.approx(sorted(shares[1]), abs=1e-8)


def test_faults_go_to_a_table(desks, tmp_path):
    """As every import, this one writes its faults to a CSV, and as JSON."""
    (tmp_path / "bad.jsonld").write_text('{"type": "EPCISDocument"}')
    ran = desks[1](f"import epcis '{tmp_path}/bad.jsonld' --json --faults '{tmp_path}/faults.csv'")
    assert ran.status == 1
    rows = list(csv.DictReader(io.StringIO((tmp_path / "faults.csv").read_text("utf-8"))))
    assert [row["column"] for row in rows] == [fault["column"] for fault in ran.json["faults"]]
    assert len(rows) == 4


def test_prov_and_graphml_go_to_standard_output(desks):
    """Without -o the document itself is printed."""
    quillmere = desks[0]
    assert json.loads(quillmere.does("export prov B000001Y").out)["prefix"]["fill"] == f"{ADDRESS}/class/"
    assert len(nx.parse_graphml(quillmere.does("export graphml C000001H --forward").out)) == 7


def test_a_trace_is_a_table(desks):
    """Origins as CSV and as JSON say the same."""
    told = desks[0].does("export trace B000001Y --rows origins").out
    rows = list(csv.DictReader(io.StringIO(told)))
    documents = json.loads(desks[0].does("export trace B000001Y --rows origins --json").out)
    assert [float(row["share"]) for row in rows] == [one["share"] for one in documents]
    assert sum(one["share"] for one in documents) == pytest.approx(1, abs=1e-12)


def test_a_refusal_leaves_no_file(desks, tmp_path):
    """What cannot be told is not half written."""
    assert desks[1](f"export epcis -o '{tmp_path}/none.jsonld'").status == 1
    assert sorted(path.suffix for path in tmp_path.iterdir() if "none" in path.name) == []
