"""``mci check``: the scenario said back, mistakes and doubts told, in a terminal and for programs."""

from __future__ import annotations

import json
import pathlib
import re
import subprocess
import sys

import pytest
from click.testing import CliRunner

from mci.cli import cli
from mci.demand.stays import find_stays
from mci.scenario import read_scenario
from mci.scenario.check import doubts
from mci.scenario.describe import describe

BUNDLED = sorted((pathlib.Path(__file__).parents[2] / "scenarios").glob("*.yaml"))

SCENARIO = """\
incident: {name: 'Quay [bold]fire', horizon: 4 h, start: 14:35}
areas: {west: West portal}
patients:
  - {batch: B, count: 4, category: immediate, area: west, ladder: low need, arrive: T+10, stay: 60 min}
supplies:
  - {cylinder: US E, count: 6, pressure: 2000 psi, area: west}
  - {cylinder: US D, count: 1, pressure: 300 psi, area: west}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 6, area: west}
devices:
  - {device: nasal cannula, count: 3, area: west}
staff: [{people: 2, area: west}]
resupply: {cylinder: US M60, regulator: threaded regulator 0-15 L/min}
"""


@pytest.fixture
def scenario(tmp_path):
    """Write a scenario that raises two doubts."""
    path = tmp_path / "quay.yaml"
    path.write_text(SCENARIO, encoding="utf-8")
    return path


@pytest.mark.parametrize("width", ["80", "120"])
def test_says_the_scenario_back(scenario, width):
    """Need, supplies, what is left out, assumptions and doubts are there and fit the terminal."""
    result = CliRunner(env={"COLUMNS": width}).invoke(cli, ["check", str(scenario)])
    assert result.exit_code == 0
    for part in (
        "Quay [bold]fire",
        "4 patients in 1 area over 4 h 00 min",
        "Supplies",
        "published factor",
        "Left out",
        "in-service minimum",
        "Assumptions",
        "It can be planned.",
        "[few-devices]",
        "decides no patient's care",
    ):
        assert part in result.stdout
    assert max(len(line.rstrip()) for line in result.stdout.splitlines()) <= int(width)


@pytest.mark.parametrize("width", [64, 72, 80, 120])
@pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
def test_bundled_scenarios_are_readable(path, width):
    """Nothing is cut: every word of every table and doubt is there whole, no number is torn from its unit."""
    result = CliRunner(env={"COLUMNS": str(width)}).invoke(cli, ["check", str(path)])
    lines = result.stdout.splitlines()
    assert max(map(len, lines)) <= width
    assert "…" not in result.stdout
    scenario = read_scenario(path)
    stays = find_stays(scenario)
    texts = [doubt.what for doubt in doubts(scenario, stays)]
    for table in describe(scenario, stays):
        for column, cells in table.page(hidden=("source",)):
            texts += [column.title, *cells]
            assert not column.right or all(any(cell in line for line in lines) for cell in cells)
    there = {word.rstrip(".") for word in result.stdout.split()} | set(result.stdout.split())
    assert {word for text in texts for word in text.split()} - there == set()
    assert not [line for line in lines if re.search(r"(^|  )\s*(L|L/min|psi|bar|min|kW)(  |$)", line)]


def test_litre_table_orders_service():
    """The planner sees what a litre buys for each category and ladder, the most first."""
    result = CliRunner().invoke(cli, ["check", "--json", str(BUNDLED[0].with_name("by-hand.yaml"))])
    rows = json.loads(result.stdout)["litre"]
    assert [(row["category"], row["rung"], row["draw_lpm"]) for row in rows] == [
        ("delayed", 2, 2),
        ("immediate", 2, 10),
    ]
    assert [row["weight_credit_per_litre"] for row in rows] == pytest.approx([0.15, 0.09])


def test_json_is_for_programs(scenario):
    """Numbers carry their unit in the name, and what has no limit is null."""
    result = CliRunner().invoke(cli, ["check", "--json", str(scenario)])
    data = json.loads(result.stdout)
    assert data["can_be_planned"] is True
    assert data["supplies"][0]["usable_litres"] == pytest.approx(6 * 504)
    assert data["supplies"][0]["until_min"] is None
    assert data["need"][0]["most_at_once_patients"] == 4
    assert {doubt["code"] for doubt in data["doubts"]} >= {"few-devices", "left-out"}


@pytest.mark.parametrize("options", [[], ["--json"]])
def test_all_mistakes_at_once_with_exit_code_3(scenario, options):
    """A misspelt key, a wrong unit, a negative count and a missing file are told together with their lines."""
    text = SCENARIO.replace("horizon", "hroizon").replace("2000 psi", "2000 L").replace("count: 4", "count: -4")
    text = text.replace("supplies:\n", "  - {roster: gone.csv}\nsupplies:\n")
    scenario.write_text(text, encoding="utf-8")
    result = CliRunner().invoke(cli, ["check", *options, str(scenario)])
    assert result.exit_code == 3
    if options:
        told = [(m["line"], m["path"]) for m in json.loads(result.stdout)["mistakes"]]
        assert told == [
            (1, "incident.hroizon"),
            (4, "patients[0].count"),
            (5, "patients[1].roster"),
            (7, "supplies[0].pressure"),
        ]
        return
    assert "4 mistakes" in result.stdout
    for part in ("quay.yaml:1:", "'horizon'", "quay.yaml:4:", "negative", "quay.yaml:5:", "gone.csv", "quay.yaml:7:"):
        assert part in result.stdout
    assert "Traceback" not in result.output


def test_schema_is_printed_for_an_editor():
    """The JSON Schema needs no scenario."""
    result = CliRunner().invoke(cli, ["check", "--schema"])
    assert result.exit_code == 0
    assert json.loads(result.stdout)["title"] == "Oxygen supply scenario"


def test_call_without_scenario_is_a_usage_error():
    """The command says what is missing, with exit code 2."""
    result = CliRunner().invoke(cli, ["check"])
    assert result.exit_code == 2
    assert "SCENARIO" in result.output


def test_sources_are_shown_on_demand(scenario):
    """Every assumption names its source when asked."""
    result = CliRunner(env={"COLUMNS": "160"}).invoke(cli, ["check", "--sources", str(scenario)])
    assert "MD0542" in result.stdout


def test_check_loads_no_heavy_library(scenario):
    """Checking loads neither pandas nor a solver nor a plotting library."""
    code = (
        "import sys; from mci.cli import cli\n"
        f"cli(['check', {str(scenario)!r}], standalone_mode=False)\n"
        "print('HEAVY', [m for m in ('pandas', 'pulp', 'highspy', 'networkx', 'matplotlib') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, encoding="utf-8")
    assert done.stdout.splitlines()[-1] == "HEAVY []"


@pytest.mark.parametrize("width", ["80", "120"])
def test_lists_the_numbers_that_can_be_varied(scenario, width):
    """Every number has a row with its path and what is written, and names in brackets are no style."""
    result = CliRunner(env={"COLUMNS": width}).invoke(cli, ["check", str(scenario), "--numbers"])
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= int(width)
    for path, text in (
        ("patients.B.count", "4"),
        ("supplies.US D at west.pressure", "300 psi"),
        ("staff.share", "100 %"),
    ):
        assert re.search(rf"{re.escape(path)} +{re.escape(text)}", result.output)


def test_lists_the_numbers_for_programs(scenario):
    """The JSON form has path, text, kind, unit and words of each number."""
    rows = json.loads(CliRunner().invoke(cli, ["check", str(scenario), "--numbers", "--json"]).output)["numbers"]
    found = {row["number"]: row for row in rows}
    assert found["patients.B.stay"] == {
        "number": "patients.B.stay", "as_written": "60 min", "kind": "duration", "unit": "min", "what": "duration"
    }  # fmt: skip
