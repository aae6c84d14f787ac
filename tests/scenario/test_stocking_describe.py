"""Caches said back: every line of the section, readable at the width of a terminal, and as data with units."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner
from made_stocking import FAIR, stocking_text

from mci.cli import cli
from mci.demand.stays import find_stays
from mci.scenario import read_scenario
from mci.scenario.describe import describe, headline
from mci.scenario.describe_stocking import format_money, stocking_tables


@pytest.fixture
def pages(write):
    """Return the rows of each table as people read them."""
    scenario = read_scenario(write(stocking_text()))
    return {
        table.key: [
            dict(zip([column.title for column, _ in page], row, strict=True))
            for row in zip(*(texts for _, texts in page), strict=True)
        ]
        for table in stocking_tables(scenario)
        for page in [table.page()]
    }


def test_every_cache_is_said_back(pages):
    """Limits with their units, slots, and what it holds already."""
    trailer, cupboard = pages["caches"]
    assert trailer == {
        "cache": "trailer",
        "payload": "408.2 kg",
        "room": "2 500 L",
        "oxygen kept": "8 495 L",
        "slots": "24 rack, 2.5 drawer",
        "packs it holds already": "2 x US E aluminium, 6 x yoke regulator 0-15 L/min",
    }
    assert {cupboard[key] for key in ("payload", "room", "oxygen kept")} == {"no limit"}


def test_every_station_is_said_back(pages):
    """When it sets off and when it is where, and the cost a year."""
    gate, hall, tent = pages["cache_stations"]
    assert gate == {
        "cache": "trailer",
        "may stand at": "north gate",
        "sets off": "T+5",
        "is at an area by": "field T+15, gate T+5",
        "a year": "120 $",
    }
    assert (hall["cache"], hall["is at an area by"], hall["a year"]) == ("", "field T+22", "0 $")
    assert (tent["sets off"], tent["is at an area by"]) == ("start", "field start")


def test_arrival_after_the_end_is_said(write):
    """A cache that comes too late is not said to come at the end."""
    scenario = read_scenario(write(stocking_text(("field: 20 min", "field: 5 h"))))
    (table,) = [table for table in stocking_tables(scenario) if table.key == "cache_stations"]
    assert "field after the end" in {row[5] for row in table.rows}


def test_every_candidate_is_said_back(pages):
    """What a pack is, costs and takes."""
    cylinder, *_, people = pages["candidates"]
    assert cylinder == {
        "thing": "US E aluminium",
        "kind": "cylinder",
        "in a pack": "2",
        "buy": "130 $",
        "a year": "24 $",
        "at most": "99",
    }
    assert (people["thing"], people["kind"], people["in a pack"], people["at most"]) == ("people", "staff", "2", "3")
    cylinder, _, cannula, *_, people = pages["candidate_sizes"]
    assert cylinder == {
        "thing": "US E aluminium",
        "weight": "9.0 kg",
        "room": "14.0 L",
        "oxygen": "1 282 L",
        "slots": "1 rack",
        "bag": "rack A",
    }
    assert cannula["slots"] == "0.5 drawer"
    assert people["weight"] == ""


def test_goals_and_rules_are_said_back(pages):
    """Goals as sentences, packing lists with what stays in the cache."""
    assert [goal["what caches should achieve"] for goal in pages["stocking_goals"]] == [
        "coverage of at least 99 % in the mean of all incidents",
        "at most 60 patient-minutes without oxygen in the mean of the worst 5 % of incidents",
        "at most 120 patient-minutes without oxygen in the mean of all incidents",
    ]
    assert [(row["rule"], row["cache"], row["thing"], row["packs"]) for row in pages["rules_of_thumb"]] == [
        ("one each", "trailer", "US E aluminium", "3"),
        ("", "trailer", "yoke regulator 0-15 L/min", "6"),
        ("", "trailer", "nasal cannula", "1"),
        ("", "cupboard", "few cannulas", "2"),
    ]


def test_stocking_is_one_sentence(write):
    """Caches, candidates, goals and budget; nothing is said where there is no such section."""
    scenario = read_scenario(write(stocking_text()))
    said = headline(scenario, find_stays(scenario))
    sentence = "Stocking: 2 caches, 6 things that may be packed, 3 goals, a budget of 9 000.50 $ over 5 years."
    assert said.endswith(sentence)
    unlimited = read_scenario(write(stocking_text(("  budget: 9000.50\n", ""), ("years: 5", "years: 1"))))
    assert headline(unlimited, find_stays(unlimited)).endswith("3 goals, no budget over 1 year.")


def test_scenario_without_stocking_says_nothing_of_it(write):
    """No table and no sentence."""
    scenario = read_scenario(write(FAIR))
    stays = find_stays(scenario)
    assert "tocking" not in headline(scenario, stays)
    keys = {"caches", "cache_stations", "candidates", "candidate_sizes", "stocking_goals", "rules_of_thumb"}
    assert not keys & {table.key for table in describe(scenario, stays)}


@pytest.mark.parametrize(
    ("amount", "text"), [(0, "0 $"), (1234567, "1 234 567 $"), (0.1 + 0.2, "0.30 $"), (999.995, "1 000.00 $")]
)
def test_money_is_whole_or_to_the_cent(amount, text):
    """Figures are grouped, the currency stands behind."""
    assert format_money(amount, "$").replace("\u2009", " ") == text


def test_check_shows_stocking_at_80_columns(write):
    """The command says it all back and no line is longer than the terminal."""
    result = CliRunner().invoke(cli, ["check", str(write(stocking_text()))], env={"COLUMNS": "80"})
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= 80
    for title in (
        "Caches, and the most",
        "Where caches may stand",
        "What may be packed",
        "Goals of stocking",
        "Packing",
    ):
        assert title in result.output


def test_check_writes_stocking_as_data(write):
    """Programs read the same with units in the names; no limit is null."""
    result = CliRunner().invoke(cli, ["check", "--json", str(write(stocking_text()))])
    data = json.loads(result.output)
    assert [cache["payload_kg"] for cache in data["caches"]] == [pytest.approx(408.2, abs=0.1), None]
    assert data["caches"][0]["owned"] == {"US E aluminium": 2, "yoke regulator 0-15 L/min": 6}
    assert data["cache_stations"][0]["arrives_min"] == {"field": 15, "gate": 5}
    assert data["candidate_sizes"][0]["gas_litres"] == pytest.approx(2 * 680 * 1900 / 2015)
    assert data["stocking_goals"][1]["without_oxygen_patient_min"] == 60
