"""The network said back: every line of it, readable at the width of a terminal, and as data with units."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner
from made_network import INCIDENT, network_text

from mci.cli import cli
from mci.demand.stays import find_stays
from mci.scenario import read_scenario
from mci.scenario.describe import describe, headline
from mci.scenario.describe_network import network_tables


@pytest.fixture
def scenario(write):
    """Return the scenario with every part of the language."""
    return read_scenario(write(network_text()))


def _pages(scenario):
    return {
        table.key: [
            dict(zip([column.title for column, _ in page], row, strict=True))
            for row in zip(*(texts for _, texts in page), strict=True)
        ]
        for table in network_tables(scenario)
        for page in [table.page()]
    }


def test_every_place_is_said_back(scenario):
    """Hours with the clock, the lead of a supplier and the rates of a fill station."""
    valley, works, hill, *_ = _pages(scenario)["places"]
    assert valley == {
        "place": "valley",
        "kind": "depot",
        "open": "to T+240 (18:30); from T+300 (19:30)",
        "note": "",
    }
    assert works["note"] == "ready 3 h 00 min after a request"
    assert (hill["open"], hill["note"]) == (
        "from T+330 (20:00)",
        "fills US E aluminium: at most 12 an hour and 6 000 L an hour",
    )


def test_every_stock_is_said_back(scenario):
    """What an area lends is marked; litres are of all of them, masses of one."""
    stock = _pages(scenario)["stock"]
    assert [row["note"] for row in stock] == ["lent while unused"] * 3 + [""] * 6
    valley = stock[3]
    assert (valley["place"], valley["thing"], valley["number"]) == ("valley", "US E aluminium, full", "43")
    assert (valley["usable"], valley["kg each"], valley["there"]) == ("21 853 L", "4.5", "from start")
    assert stock[6]["there"] == "from T+180 (17:30)"


def test_every_road_is_said_back_once(scenario):
    """A road that goes both ways is one line, with when it is closed."""
    roads = _pages(scenario)["roads"]
    assert len(roads) == 8
    told = {row["road or path"]: row for row in roads}
    assert told["bridge"]["to"].endswith(" and back")
    assert told["bridge"]["closed"] == "from T+60 (15:30) to T+120 (16:30)"
    assert (told["quay ramp"]["from"], told["quay ramp"]["to"]) == ("school yard", "east")
    assert told["footbridge"]["time"] == "12 min on foot"


def test_every_vehicle_is_said_back(scenario):
    """Slots of each kind, payload, crew, times and from when to when."""
    told = {row["vehicle"]: row for row in _pages(scenario)["vehicles"]}
    assert told["truck 2"] == {
        "vehicle": "truck 2",
        "at": "valley",
        "takes, each kind": "24 US E aluminium, 2 US M60 aluminium",
        "payload": "900 kg",
        "crew": "2",
        "load, unload": "10 min, 12 min",
        "there": "from T+15 (14:45) to T+450 (22:00)",
    }
    assert told["truck 10"]["payload"] == "no limit"


def test_network_is_one_sentence(scenario):
    """Places, vehicles and full cylinders that are not lent; nothing is said where there is no network."""
    said = headline(scenario, find_stays(scenario))
    assert "Network: 5 places besides the areas, 3 vehicles, 62 full cylinders elsewhere with " in said
    assert said.endswith("; 6 people under way at most.")


def test_scenario_without_network_says_nothing_of_it(write):
    """No table and no sentence."""
    scenario = read_scenario(write(INCIDENT))
    stays = find_stays(scenario)
    assert "etwork" not in headline(scenario, stays)
    assert not {"places", "stock", "roads", "vehicles"} & {table.key for table in describe(scenario, stays)}


def test_check_shows_the_network_at_80_columns(write):
    """The command says it all back and no line is longer than the terminal."""
    result = CliRunner().invoke(cli, ["check", str(write(network_text()))], env={"COLUMNS": "80"})
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= 80
    for title in ("Places of the network", "What can be carried", "Roads and paths", "Vehicles, and people on foot"):
        assert title in result.output
    for word in ("gasworks", "hilltop", "footbridge", "trolley", "licensed"):
        assert word in result.output


def test_check_writes_the_network_as_data(write):
    """Programs read the same with units in the names; no limit is null."""
    result = CliRunner().invoke(cli, ["check", "--json", str(write(network_text()))])
    data = json.loads(result.output)
    assert [place["open_min"] for place in data["places"][:2]] == [[[0, 240], [300, None]], [[0, None]]]
    assert data["places"][2]["fills_litres_per_hour"] == 6000
    assert {v["vehicle"]: v["payload_kg"] for v in data["vehicles"]}["truck 10"] is None
    assert data["vehicles"][0]["slots"] == {"US E aluminium": 4}
    assert data["roads"][1]["closed_min"] == [[60, 120]]
    assert data["stock"][0]["lent_from_supply"] == "west US E aluminium"
