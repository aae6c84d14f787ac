"""``mci resupply``: what it prints and writes, what it refuses, and how it ends."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from mci.cli import cli
from mci.cli._progress import progress

#: A truck brings cylinders and regulators to two areas; the fill station is on a road that no trip needs.
SCENARIO = """
incident: {name: "Barn fire [bold]", horizon: 2 h, start: "08:00"}
areas: {farm: "Farm [red]yard[/red]", lane: Lane}
patients:
  - {batch: a, count: 2, category: immediate, area: farm, ladder: moderate need, arrive: T+0}
  - {batch: b, count: 2, category: delayed, area: lane, ladder: low need, arrive: T+0}
supplies:
  - {cylinder: US E aluminium, count: 2, pressure: full, area: farm}
  - {cylinder: US E aluminium, count: 1, pressure: full, area: lane}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 2, area: farm}
  - {regulator: yoke regulator 0-15 L/min, count: 1, area: lane}
devices:
  - {device: non-rebreather, count: unlimited, area: farm}
  - {device: partial rebreather, count: unlimited, area: farm}
  - {device: simple mask, count: unlimited, area: farm}
  - {device: nasal cannula, count: unlimited, area: farm}
  - {device: nasal cannula, count: unlimited, area: lane}
staff: [{people: 1, area: farm}, {people: 1, area: lane}]
resupply: {cylinder: US E aluminium, regulator: yoke regulator 0-15 L/min}
network:
  places:
    - {depot: store, title: County store}
    - {fill station: filler, title: Filler, fills: [US E aluminium], per hour: 4}
  roads:
    - {road: store road, between: [store, farm], drive: 15 min}
    - {road: field road, between: [farm, lane], drive: 10 min}
    - {road: hill road, between: [filler, lane], drive: 10 min}
  vehicles:
    - {vehicle: truck, at: store, slots: {US E aluminium: 6}, crew: 2, loading: 5 min, unloading: 5 min}
  stock:
    - {cylinder: US E aluminium, count: 4, pressure: full, at: store}
    - {regulator: yoke regulator 0-15 L/min, count: 1, at: store}
"""
QUICK = "--no-losses"


def _run(file: Path, *options: str, columns: int = 80, **environment: str) -> Result:
    return CliRunner(env={"COLUMNS": str(columns), **environment}).invoke(cli, ["resupply", str(file), *options])


@pytest.fixture(scope="module")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four patients at two areas, and one truck."""
    file = tmp_path_factory.mktemp("barn") / "barn.yaml"
    file.write_text(SCENARIO, encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def full(scenario: Path) -> tuple[Result, Path]:
    """Everything asked for and written; half an hour's notice is taken away, so the goal for Delayed cannot be met."""
    folder = scenario.parent / "out"
    options = [
        "--goal",
        "delayed=100%",
        "--goal",
        "Immediate = 0.9",
        "--delay",
        "truck=30min",
        "--without",
        "hill road",
    ]
    return _run(scenario, *options, "-o", str(folder), "--date", "2026-03-02"), folder


def _rows(folder: Path, name: str) -> list[dict[str, str]]:
    with (folder / name).open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_what_was_taken_away_comes_first(full: tuple[Result, Path]) -> None:
    """After the name, before all numbers; names in brackets stay as they are."""
    name, taken, *_ = full[0].stdout.splitlines()
    assert name == "Barn fire [bold]"
    assert taken == "Planned without road hill road and with vehicle truck 30 min late."
    assert "Farm [red]yard[/red]" in full[0].stdout


def test_a_goal_that_cannot_be_met_has_its_own_exit_code(full: tuple[Result, Path]) -> None:
    """Exit code 4; what forbids it, what is missing at best, and what the orders reach are told, and all is written."""
    result, folder = full
    assert result.exit_code == 4, result.output
    words = " ".join(result.stdout.split())
    missing = re.search(
        r"\(immediate 90 % and delayed 100 %\) cannot be met: at best ([\d.]+) patient-minutes of credit", words
    )
    assert missing
    assert float(missing[1]) > 0
    assert "What forbids it: travel time" in words
    assert "Without the limit of travel time: " in words
    assert "The orders miss" in words
    goals = {row["category"]: row for row in _rows(folder, "goals.csv")}
    delayed = goals["delayed"]
    assert float(delayed["orders_patient_min"]) <= float(delayed["at_best_patient_min"]) + 1e-6
    at_best = float(delayed["needed_patient_min"]) - float(delayed["at_best_patient_min"])
    assert at_best >= float(missing[1]) - 0.05  # no trips can miss less than what is told
    assert float(goals["immediate"]["goal_share"]) == 0.9


def test_the_headline_tells_what_orders_reach_and_what_no_plan_can(full: tuple[Result, Path]) -> None:
    """Orders below the best of trips, that below the bound; without trips less; the JSON has the same numbers."""
    result, folder = full
    words = " ".join(result.stdout.split())
    found = re.search(
        r"This plan meets ([\d.]+) % of .*?; no plan can meet more than ([\d.]+) %\. "
        r"1 trip brings \d full cylinders? and can meet at best ([\d.]+) %; without any trip it is at best ([\d.]+) %",
        words,
    )
    assert found
    plan, bound, best, without = map(float, found.groups())
    assert without < plan <= best <= bound
    schedule = json.loads((folder / "resupply.json").read_text(encoding="utf-8"))["schedule"]
    kinds = ("orders", "bound", "at_best", "without_trips")
    weighted = [schedule[f"{kind}_weighted_patient_min"] for kind in kinds]
    need = weighted[1] / bound
    assert [value / need for value in weighted] == pytest.approx([plan, bound, best, without], abs=0.2)


def test_the_departure_has_planned_and_last_safe_time(full: tuple[Result, Path]) -> None:
    """The truck, 30 min late, loads for 5 min: planned at T+35 at the earliest, no later than the table says."""
    result, folder = full
    (row,) = _rows(folder, "departures.csv")
    assert float(row["planned_min"]) >= 35
    assert float(row["leave_by_min"]) == pytest.approx(float(row["planned_min"]) + float(row["margin_min"]))
    (line,) = re.findall(r"truck, trip 1 +T\+(\d+) +T\+(\d+) +T\+\d+ +\d+ min", result.stdout)
    assert [int(each) for each in line] == [int(float(row[key])) for key in ("planned_min", "leave_by_min")]
    assert "truck, trip 1, County store to " in " ".join(result.stdout.split())


def test_losses_name_what_is_needed_and_what_is_not(full: tuple[Result, Path]) -> None:
    """Without the truck or its road much is lost, without the filler nothing; what is gone already is not asked for."""
    rows = {row["key"]: float(row["weighted_lost_patient_min"]) for row in _rows(full[1], "losses.csv")}
    assert set(rows) == {"truck", "store", "filler", "store road", "field road"}
    assert rows["filler"] == 0
    assert min(rows["truck"], rows["store road"]) > 1
    assert "Single points of failure" in full[0].stdout


def test_a_date_makes_the_request_message(full: tuple[Result, Path]) -> None:
    """With a date and a clock start request.xml is written, at T+0 of that day; the page says that nothing is sent."""
    assert "2026-03-02T08:00:00" in (full[1] / "request.xml").read_text(encoding="utf-8")
    assert "Nothing is sent anywhere" in " ".join(full[0].stdout.split())


def test_replay_accepts_what_was_written(full: tuple[Result, Path], tmp_path: Path) -> None:
    """trips.csv and orders.csv are VALID for the same incident with the truck as late."""
    file = tmp_path / "late.yaml"
    file.write_text(SCENARIO.replace("vehicle: truck, at", "vehicle: truck, from: T+30, at"), encoding="utf-8")
    names = [str(full[1] / name) for name in ("orders.csv", "trips.csv")]
    result = CliRunner().invoke(cli, ["replay", str(file), names[0], "--trips", names[1]])
    assert result.exit_code == 0, result.output
    assert "VALID: these trips can be carried out." in result.stdout


def test_existing_results_are_not_replaced_unasked(full: tuple[Result, Path], scenario: Path) -> None:
    """Refused before the work with exit code 2, and --force named; with it, and --quiet, replaced without a word."""
    folder = full[1]
    before = (folder / "resupply.json").read_bytes()
    result = _run(scenario, QUICK, "-o", str(folder))
    assert result.exit_code == 2
    assert "--force" in result.stderr
    assert (folder / "resupply.json").read_bytes() == before
    again = _run(scenario, QUICK, "-o", str(folder), "--force", "--quiet", "--without", "truck")
    assert (again.exit_code, again.output) == (0, "")
    assert json.loads((folder / "resupply.json").read_text("utf-8"))["disruptions"] == ["without vehicle truck"]
    assert not (folder / "request.xml").exists()


@pytest.mark.parametrize("columns", [80, 120])
def test_fits_the_terminal(scenario: Path, columns: int) -> None:
    """No line is wider than the terminal, no word or number is torn, nothing is coloured when piped."""
    result = _run(scenario, QUICK, "--goal", "immediate=90%", columns=columns, NO_COLOR="1")
    assert result.exit_code == 0, result.output
    assert max(map(len, result.stdout.splitlines())) <= columns
    assert "\x1b" not in result.stdout
    words = " ".join(result.stdout.split())
    for whole in ("Leave no", "Planned", "Lost per", "non-rebreather" if "non-reb" in words else "regulator", "County"):
        assert whole in words
    assert re.search(r"Immediate 90 % +Farm", words)
    assert "Single points of failure" not in words
    assert result.stderr == ""


def test_json_is_json_with_units_in_names(scenario: Path) -> None:
    """Valid JSON alone on stdout; numbers of the schedule end in a unit or are counts; what was taken away heads it."""
    result = _run(scenario, QUICK, "--json", "--delay", "store=10 min")
    record = json.loads(result.stdout)
    assert list(record)[:3] == ["format", "format_version", "disruptions"]
    assert record["disruptions"] == ["with place store 10 min late"]
    counts = {"trips", "full_cylinders", "fewest_cylinders", "fewest_trips"}
    amounts = {key for key, value in record["schedule"].items() if isinstance(value, (int, float))}
    assert {key for key in amounts - counts if not key.endswith("_patient_min")} == set()
    assert counts < amounts


def test_no_truck_no_trip(scenario: Path) -> None:
    """A plan without trips is a plan: exit code 0, said in words."""
    result = _run(scenario, QUICK, "--without", "truck")
    assert result.exit_code == 0, result.output
    words = " ".join(result.stdout.split())
    assert "Planned without vehicle truck." in words
    assert "No trip is planned: what is at hand can meet at best" in words


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--goal", "immediate=140%"], "'140%' is not a share"),
        (["--goal", "blue=50%"], "write one of immediate, delayed, minimal, expectant, such as delayed=90%"),
        (["--goal", "immediate"], "such as delayed=90%"),
        (["--goal", "immediate=1", "--goal", "immediate=90%"], "there are two goals for immediate"),
        (["--without", "stroe road"], "no road, place or vehicle 'stroe road'; did you mean 'store road'?"),
        (["--delay", "trukc=5min"], "did you mean 'truck'?"),
        (["--without", "farm"], "there are field road, filler, hill road, store, store road, truck"),
        (["--delay", "store road=30min"], "is a road: name the vehicle or place that is late"),
        (["--delay", "truck"], "write a vehicle or place and its delay, such as 'truck 1=30min'"),
        (["--delay", "truck=30"], "the unit is missing"),
        (["--without", "truck", "--delay", "truck=5min"], "'truck' is named more than once by --without and --delay"),
        (["--without", "truck", "--without", "truck"], "'truck' is named more than once"),
        (["--quiet"], "--quiet needs -o"),
        (["--date", "2026-03-02"], "--date needs -o"),
        (["--date", "2 March", "-o", "out"], "'2 March' is no date: write it as 2026-03-02"),
        (["--time-limit", "60"], "--time-limit"),
    ],
)
def test_wrong_use_is_told(scenario: Path, options: list[str], told: str) -> None:
    """Exit code 2, what is wrong and how it is written, no traceback."""
    result = _run(scenario, *options)
    assert result.exit_code == 2
    assert told in " ".join(result.stderr.split())
    assert "Traceback" not in result.output


def test_without_a_network_another_command_is_named(tmp_path: Path) -> None:
    """Wrong use, with what to do about it."""
    file = tmp_path / "bare.yaml"
    file.write_text(SCENARIO.partition("network:")[0], encoding="utf-8")
    result = _run(file)
    assert result.exit_code == 2
    assert "the scenario has no network: add places, roads and vehicles, or use mci plan" in result.stderr


def test_mistakes_in_the_scenario_are_all_told(tmp_path: Path) -> None:
    """Exit code 3 and every mistake, also those of the network; nothing is written."""
    file = tmp_path / "wrong.yaml"
    file.write_text(SCENARIO.replace("[store, farm]", "[stor, farm]").replace("drive: 10 min", "drive: 10"), "utf-8")
    result = _run(file, "-o", str(tmp_path / "out"))
    assert result.exit_code == 3
    for told in ("stor", "10"):
        assert told in result.stderr
    assert [entry.name for entry in tmp_path.iterdir()] == ["wrong.yaml"]


class _Terminal:
    """A stderr that is a terminal."""

    def __init__(self) -> None:
        self.text = ""

    def isatty(self) -> bool:
        return True

    def write(self, text: str) -> None:
        self.text += text

    def flush(self) -> None:
        pass


def test_progress_is_one_line_that_is_wiped(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a terminal every step replaces the one before, without escape codes; afterwards the line is empty."""
    terminal = _Terminal()
    monkeypatch.setattr("sys.stderr", terminal)
    monkeypatch.setenv("COLUMNS", "40")
    with progress(shown=True) as tell:
        tell("first")
        tell("a second step that is far too long for such a narrow terminal")
    lines = [part for part in terminal.text.split("\r") if part]
    assert [len(line) for line in lines] == [39] * 3
    assert [line.strip()[:10] for line in lines] == ["mci: first", "mci: a sec", ""]
    assert terminal.text.endswith("\r")
    assert not re.search(r"[^\r -~]", terminal.text)
    with progress(shown=False) as tell:
        tell("third")
    assert "third" not in terminal.text
