"""``mci plan``: prints words or JSON, writes when asked, refuses before the work."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner

from mci.cli import cli
from mci.cli.plan import plan
from mci.pipeline import Run, run
from mci.scenario import read_scenario

if TYPE_CHECKING:
    from pathlib import Path

SCENARIO = """
incident: {name: "Shed fire [bold]", start: "14:00", horizon: 60 min}
areas: {yard: "Yard [red]east[/red]"}
patients:
  - {batch: smoke, count: 3, category: immediate, area: yard, ladder: smoke, arrive: T+0}
ladders:
  smoke:
    title: Smoke
    rungs:
      - {device: non-rebreather, flow: 15 L/min, credit: 1}
      - {device: nasal cannula, flow: 4 L/min, credit: 0.5}
supplies:
  - {cylinder: US E aluminium, count: 3, pressure: 2000 psi, area: yard}
regulators: [{regulator: yoke regulator 0-15 L/min, count: 3, area: yard}]
devices:
  - {device: non-rebreather, count: 10, area: yard}
  - {device: nasal cannula, count: unlimited, area: yard}
staff: [{people: 2, area: yard}]
resupply: {cylinder: US E aluminium, regulator: yoke regulator 0-15 L/min}
"""


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    """Three patients, one of whom three cylinders cannot keep at target for an hour."""
    file = tmp_path / "shed.yaml"
    file.write_text(SCENARIO, encoding="utf-8")
    return file


def test_prints_and_writes_nothing_without_output(scenario: Path, tmp_path: Path) -> None:
    """Words on the terminal with names in brackets intact; no file appears."""
    result = CliRunner().invoke(plan, [str(scenario)])
    assert result.exit_code == 0, result.output
    assert "Shed fire [bold]" in result.output
    assert "Yard [red]east[/red]" in result.output
    assert "Immediate below target" in result.output
    assert "planning and training aid" in " ".join(result.output.split())
    assert [entry.name for entry in tmp_path.iterdir()] == ["shed.yaml"]


@pytest.mark.parametrize("columns", [80, 120])
def test_fits_the_terminal(scenario: Path, columns: int) -> None:
    """No line is wider than the terminal and nothing is coloured when piped."""
    result = CliRunner(env={"COLUMNS": str(columns)}).invoke(plan, [str(scenario)])
    assert max(map(len, result.output.splitlines())) <= columns
    assert "\x1b" not in result.output


def test_json_is_the_same_as_the_file(scenario: Path, tmp_path: Path) -> None:
    """--json prints plan.json, timings apart, and nothing else on stdout."""
    printed = json.loads(CliRunner().invoke(plan, [str(scenario), "--json"]).stdout)
    folder = tmp_path / "out"
    assert CliRunner().invoke(plan, [str(scenario), "-o", str(folder), "--quiet"]).output == ""
    written = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    for record in (printed, written):
        del record["provenance"]["timings"]
    assert printed == written
    assert (folder / "report.html").exists()


def test_refuses_existing_results_before_the_work(scenario: Path, tmp_path: Path) -> None:
    """A second run needs --force: exit code 2, in words."""
    arguments = ["plan", str(scenario), "-o", str(tmp_path / "out"), "--quiet"]
    assert CliRunner().invoke(cli, arguments).exit_code == 0
    again = CliRunner().invoke(cli, arguments)
    assert again.exit_code == 2
    assert "--force" in again.output
    assert CliRunner().invoke(cli, [*arguments, "--force"]).exit_code == 0


@pytest.mark.parametrize("option", ["--time-limit", "--whole-time-limit"])
@pytest.mark.parametrize("value", ["60", "5 parsecs", "0"])
def test_times_need_units(scenario: Path, option: str, value: str) -> None:
    """A time limit without a unit, with an unknown one or of nothing is refused with exit code 2."""
    result = CliRunner().invoke(plan, [str(scenario), option, value])
    assert result.exit_code == 2
    assert option in result.output


def test_options_become_settings(scenario: Path) -> None:
    """Limits in seconds and the gap reach the record as they were given, with what was reached."""
    limits = ["--time-limit", "90 s", "--whole-time-limit", "2 min", "--gap", "0.25"]
    record = json.loads(CliRunner().invoke(plan, [str(scenario), "--json", *limits]).stdout)["provenance"]
    given = {"time_limit": 90.0, "whole_time_limit": 120.0, "whole_gap": 0.25}
    assert given.items() <= record["settings"].items()
    assert 0 <= record["solver"]["whole_gap_to_bound"] <= 0.25
    assert record["solver"]["whole_status"] == "optimal"


def test_a_gap_is_a_share(scenario: Path) -> None:
    """More than the whole bound cannot be missing."""
    assert CliRunner().invoke(plan, [str(scenario), "--gap", "1.5"]).exit_code == 2


def test_mistakes_in_the_scenario_have_their_own_exit_code(tmp_path: Path) -> None:
    """A file that is not there is exit code 3, and nothing is written."""
    result = CliRunner().invoke(cli, ["plan", str(tmp_path / "none.yaml"), "-o", str(tmp_path / "out")])
    assert result.exit_code == 3
    assert list(tmp_path.iterdir()) == []


def test_quiet_alone_makes_no_sense(scenario: Path) -> None:
    """--quiet without -o would do the work for nothing."""
    assert CliRunner().invoke(plan, [str(scenario), "--quiet"]).exit_code == 2


def test_an_area_without_any_supply_is_not_told_that_all_is_well(tmp_path: Path) -> None:
    """Nobody has oxygen and no cylinder is there: none can become empty, and the page points to what must come."""
    lines = [line for line in SCENARIO.splitlines() if not line.startswith(("regulators", "supplies", "  - {cylinder"))]
    file = tmp_path / "bare.yaml"
    file.write_text("\n".join(lines), encoding="utf-8")
    result = CliRunner().invoke(plan, [str(file), "-o", str(tmp_path / "out")])
    assert result.exit_code == 0, result.output
    report = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    for words in (" ".join(result.stdout.split()), report):
        assert "Nothing binds" not in words
        assert "not before the end" not in words
        assert "would gain nothing by itself" in words
        assert "none there" in words
    assert "Supplies in the plan" not in report


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """The plan of that scenario, for whoever only prints it."""
    file = tmp_path_factory.mktemp("planned") / "shed.yaml"
    file.write_text(SCENARIO, encoding="utf-8")
    return run(read_scenario(file))


@pytest.mark.parametrize("columns", range(40, 100, 3))
def test_no_number_is_torn_in_a_sentence(
    scenario: Path, planned: Run, columns: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However wide the terminal, the thousands of a number and its unit stay on its line."""
    monkeypatch.setattr("mci.pipeline.run", lambda *_: planned)
    result = CliRunner(env={"COLUMNS": str(columns)}).invoke(plan, [str(scenario)])
    sentences = result.stdout.partition("What more must be where")[2]
    assert "2 700 L" in sentences
    assert not re.search(r"\d\n *(\d{3} L|L|L/min|psi)\b", sentences)


def test_a_large_incident_keeps_every_digit(tmp_path: Path) -> None:
    """Thousands of patients on a narrow terminal: headers wrap before a number of the coverage table is cut."""
    file = tmp_path / "crowd.yaml"
    text = SCENARIO.replace("count: 3, category", "count: 3141, category").replace("60 min", "24 h")
    file.write_text(text, encoding="utf-8")
    printed = CliRunner(env={"COLUMNS": "74"}).invoke(plan, [str(file), "--max-period", "12 h"]).stdout
    table = printed.partition("\nCoverage at best (")[2].partition("When and where")[0]
    assert table.count(" 75 384.0 ") == 2  # 3141 x 24 h
    assert len(re.findall(r" 75 3\d\d\.\d ", table)) == 4  # and nearly all of it without oxygen
    assert len(re.findall(r" 3141 +3141$", table, re.MULTILINE)) == 2


def test_cards_need_a_report(scenario: Path) -> None:
    """Cards are in the report: without a folder for it they are refused with exit code 2."""
    result = CliRunner().invoke(plan, [str(scenario), "--cards"])
    assert result.exit_code == 2
    assert "--cards needs -o" in result.output
