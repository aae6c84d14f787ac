"""``mci risk``: what it prints and writes, what it refuses, and that the same seed gives the same incidents."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner, Result

from mci.cli import cli

if TYPE_CHECKING:
    from collections.abc import Sequence

SCENARIO = """
incident: {name: "Barge fire [bold]", horizon: 2 h, start: "08:00"}
areas: {quay: Quay}
patients:
  - {batch: hold, count: 2, category: immediate, area: quay, ladder: moderate need, arrive: T+0}
  - {batch: deck, count: 1, category: delayed, area: quay, ladder: low need, arrive: T+0}
supplies:
  - {cylinder: US E aluminium, count: 2, pressure: full, area: quay}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 3, area: quay}
devices:
  - {device: partial rebreather, count: unlimited, area: quay}
  - {device: simple mask, count: unlimited, area: quay}
  - {device: nasal cannula, count: unlimited, area: quay}
staff: [{people: 1, area: quay}]
deliveries:
  - {delivery: van, at: T+60, area: quay, brings: [{cylinder: US E aluminium, count: 2, pressure: full}]}
resupply: {cylinder: US E aluminium, regulator: yoke regulator 0-15 L/min}
"""
DELAY = "deliveries.van.delay"
COUNT = "patients.hold.count"
UNCERTAIN = f"""
uncertain:
  - {{number: {DELAY}, triangular: [0 min, 15 min, 60 min]}}
  - {{number: {COUNT}, poisson: 2}}
"""
NETWORK = """
network:
  places: [{depot: store, title: County store}]
  roads: [{road: store road, between: [store, quay], drive: 15 min}]
  vehicles: [{vehicle: truck, at: store, slots: {US E aluminium: 6}, crew: 2, loading: 5 min, unloading: 5 min}]
  stock: [{cylinder: US E aluminium, count: 4, pressure: full, at: store}]
"""
FEW = ("--samples", "16", "--seed", "7")


def _run(file: Path, *options: str | Path, columns: int = 80) -> Result:
    return CliRunner(env={"COLUMNS": str(columns)}).invoke(cli, ["risk", str(file), *map(str, options)])


def _written(file: Path, folder: Path, *options: str) -> list[dict[str, str]]:
    """Run a study and return its samples."""
    result = _run(file, *options, "--quiet", "-o", folder)
    assert (result.exit_code, result.output) == (0, "")
    return _rows(folder, "samples.csv")


def _said(result: Result) -> str:
    return " ".join(result.output.split())


def _rows(folder: Path, name: str) -> list[dict[str, str]]:
    with (folder / name).open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def certain(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A scenario that does not say what is uncertain."""
    file = tmp_path_factory.mktemp("certain") / "barge.yaml"
    file.write_text(SCENARIO, encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same, where the van may be late and more or fewer may be hurt."""
    file = tmp_path_factory.mktemp("barge") / "barge.yaml"
    file.write_text(SCENARIO + UNCERTAIN, encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def done(scenario: Path) -> tuple[Result, Path]:
    """Sixteen samples, and which number drives the result; printed as JSON and written."""
    folder = scenario.parent / "out"
    return _run(scenario, *FEW, "--drivers", "8", "--json", "-o", folder), folder


def test_json_is_what_is_written(done: tuple[Result, Path]) -> None:
    """Stdout is the JSON file, without NaN; everything else is told on stderr."""
    result, folder = done
    assert result.exit_code == 0, result.output

    def refuse(word: str) -> float:
        raise AssertionError(word)

    record: dict[str, Any] = json.loads(result.stdout, parse_constant=refuse)
    assert record["format"] == "mci risk"
    assert result.stdout == (folder / "risk.json").read_text(encoding="utf-8")
    assert f"Written to {folder}: report.html" in result.stderr


def test_every_sample_is_a_row(done: tuple[Result, Path]) -> None:
    """Numbers are within what is uncertain, and usual practice never beats the best possible."""
    rows = _rows(done[1], "samples.csv")
    assert [row["case"] for row in rows] == [str(number) for number in range(1, 17)]
    assert {row["status"] for row in rows} == {"planned"}
    delays = [float(row[f"{DELAY} [min]"]) for row in rows]
    assert 0 <= min(delays) < max(delays) <= 60
    assert all(float(row[COUNT]).is_integer() for row in rows)
    assert all(float(row["usual_share"]) <= float(row["best_share"]) + 1e-9 for row in rows)
    assert all(row["orders_share"] == "" for row in rows)


def test_drivers_are_told_of_every_uncertain_number(done: tuple[Result, Path], scenario: Path, tmp_path: Path) -> None:
    """Each with the base points that were asked for, (2 + 2) cases a point; without --drivers there are none."""
    drivers = [row for row in _rows(done[1], "drivers.csv") if row["measure"] == "best_share"]
    assert [row["input"] for row in drivers] == [DELAY, COUNT]
    assert {row["points"] for row in drivers} == {"8"}
    kept = (done[1] / "cases.jsonl").read_text(encoding="utf-8").splitlines()
    assert len(kept) == 1 + 16 + 8 * (2 + 2)
    _written(scenario, tmp_path / "out", *FEW)
    assert _rows(tmp_path / "out", "drivers.csv") == []


@pytest.mark.slow
def test_the_seed_alone_decides(done: tuple[Result, Path], scenario: Path, tmp_path: Path) -> None:
    """The same seed gives the same samples, byte by byte, on two processes too; another seed gives others."""
    folders = [tmp_path / name for name in ("same", "two", "other")]
    _written(scenario, folders[0], *FEW)
    _written(scenario, folders[1], *FEW, "--workers", "2")
    _written(scenario, folders[2], "--samples", "16", "--seed", "8")
    first, same, two, other = ((folder / "samples.csv").read_bytes() for folder in (done[1], *folders))
    assert first == same == two
    assert first != other


def test_more_samples_begin_with_the_same(done: tuple[Result, Path], scenario: Path, tmp_path: Path) -> None:
    """Sample i is the same incident with the same result, rounding apart, however many are drawn."""
    five = _written(scenario, tmp_path / "out", "--samples", "5", "--seed", "7")
    for few, many in zip(five, _rows(done[1], "samples.csv"), strict=False):
        assert [few[name] for name in ("case", f"{DELAY} [min]", COUNT)] == [
            many[name] for name in ("case", f"{DELAY} [min]", COUNT)
        ]
        for name in ("best_share", "usual_share", "best_without_patient_min"):
            assert float(few[name]) == pytest.approx(float(many[name]), abs=1e-9)


def test_plain_points_are_other_incidents(done: tuple[Result, Path], scenario: Path, tmp_path: Path) -> None:
    """Drawn one by one, every sample is a replicate of its own; evenly, sixteen of them share the samples."""
    plain = _written(scenario, tmp_path / "out", *FEW, "--way", "plain")
    even = _rows(done[1], "samples.csv")
    assert [row[f"{DELAY} [min]"] for row in plain] != [row[f"{DELAY} [min]"] for row in even]
    assert "plain random points, seed 7" in _said(
        _run(scenario, *FEW, "--way", "plain", "-o", tmp_path / "out", "--resume")
    )


def test_orders_for_some_of_the_samples(scenario: Path, tmp_path: Path) -> None:
    """--orders 2 makes orders for the first two only; they reach no more than the best possible."""
    rows = _written(scenario, tmp_path / "out", "--samples", "4", "--orders", "2")
    assert [row["orders_share"] != "" for row in rows] == [True, True, False, False]
    assert all(row["rolling_share"] == "" for row in rows)
    assert all(0 < float(row["orders_share"]) <= float(row["best_share"]) + 1e-9 for row in rows[:2])


def test_rolling_judges_a_crew_in_every_sample(scenario: Path, tmp_path: Path) -> None:
    """--rolling makes orders for all samples, those of --orders where that is given, and the page compares them."""
    folder = tmp_path / "out"
    result = _run(scenario, "--samples", "3", "--rolling", "30 min", "-o", folder)
    assert result.exit_code == 0, result.output
    rows = _rows(folder, "samples.csv")
    for policy in ("orders", "rolling"):
        assert all(0 < float(row[f"{policy}_share"]) <= float(row["best_share"]) + 1e-9 for row in rows)
    assert "every 30 min a crew" in _said(result)
    some = _written(scenario, tmp_path / "some", "--samples", "3", "--rolling", "30 min", "--orders", "1")
    assert [row["rolling_share"] != "" for row in some] == [True, False, False]


def test_typed_numbers_add_and_replace(scenario: Path, certain: Path, tmp_path: Path) -> None:
    """--uncertain replaces what the scenario says of a number, adds another, and does without a section."""
    typed = ("--uncertain", f"{DELAY} = uniform 100, 110 min", "--uncertain", "supplies.share=one of 50% 50%, 100% 50%")
    rows = _written(scenario, tmp_path / "both", *FEW, *typed)
    assert all(100 <= float(row[f"{DELAY} [min]"]) <= 110 for row in rows)
    assert {float(row["supplies.share [share]"]) for row in rows} == {0.5, 1}
    assert len({row[COUNT] for row in rows}) > 1
    rows = _written(certain, tmp_path / "typed", *FEW, *typed)
    assert COUNT not in rows[0]
    assert all(100 <= float(row[f"{DELAY} [min]"]) <= 110 for row in rows)


def test_a_sample_without_a_plan_is_a_row(tmp_path: Path) -> None:
    """Its reason stands in the table and on the terminal, the others have results, and the exit code is 0."""
    file, folder = tmp_path / "barge.yaml", tmp_path / "out"
    mate = "  - {patient: mate, category: delayed, area: quay, ladder: low need, arrive: T+0, leave: T+30}\nsupplies:"
    file.write_text(SCENARIO.replace("supplies:", mate, 1), encoding="utf-8")
    result = _run(file, *FEW, "--uncertain", "patients.mate.arrive = uniform T+0, T+60", "-o", folder)
    assert result.exit_code == 0, result.output
    rows = _rows(folder, "samples.csv")
    for row in rows:
        planned = float(row["patients.mate.arrive [min]"]) < 30
        assert (row["status"] == "planned") == planned
        assert (row["best_share"] != "") == planned
    failed = [row for row in rows if row["status"] != "planned"]
    assert 0 < len(failed) < len(rows)
    assert failed[0]["status"] in _said(result).split("Without a result")[1]


@pytest.mark.parametrize("columns", [80, 120])
def test_fits_the_terminal(scenario: Path, tmp_path: Path, columns: int) -> None:
    """No line is wider than the terminal, names in brackets stay as they are, nothing is coloured when piped."""
    result = _run(scenario, "--samples", "3", "--rolling", "1 h", "--drivers", "8", columns=columns)
    assert result.exit_code == 0, result.output
    assert max(map(len, result.stdout.splitlines())) <= columns
    assert "Barge fire [bold]" in result.stdout
    assert "\x1b" not in result.stdout
    assert all(line.startswith("mci: ") for line in result.stderr.splitlines())  # how far it is, on a slow machine
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--uncertain", "deliveries.vna.delay = fixed 5 min"], "Did you mean 'deliveries.van.delay'"),
        (["--uncertain", DELAY], "has no '=': write PATH = poisson MEAN"),
        (["--uncertain", ""], "has no '='"),
        (["--uncertain", f"{DELAY} = sometimes 5 min"], "does not say how the number varies"),
        (["--uncertain", f"{DELAY} = uniform 5 min"], "needs the lowest and the highest value"),
        (["--uncertain", f"{DELAY} = uniform 9, 5 min"], "the first value must be below the second"),
        (["--uncertain", f"{DELAY} = fixed 1 min", "--uncertain", f"{DELAY} = fixed 2 min"], "is named twice"),
        (["--samples", "0"], "0 is not in the range"),
        (["--samples", "many"], "'many' is not a valid integer"),
        (["--seed", "-1"], "-1 is not in the range"),
        (["--way", "other"], "'other' is not one of 'sobol', 'plain'"),
        (["--drivers", "-1"], "-1 is not in the range"),
        (["--orders", "-1"], "-1 is not in the range"),
        (["--rolling", "30 min", "--orders", "0"], "--rolling judges orders: leave out --orders 0."),
        (["--rolling", "0 min"], "must be longer than nothing"),
        (["--trips"], "has no network of which trips could be planned; leave out --trips"),
        (["--quiet"], "--quiet needs -o, and nothing else to print."),
        (["--quiet", "--json", "-o", "OUT"], "--quiet needs -o, and nothing else to print."),
        (["--resume"], "--resume needs -o: the folder of the study that was stopped."),
        (["--resume", "-o", "OUT"], "it has no cases.jsonl."),
        (["--resume", "--force", "-o", "OUT"], "--resume goes on with what is there, --force replaces it"),
        (["--workers", "2", "--cluster", "tcp://127.0.0.1:1"], "give one of them."),
        (["--cluster", "localhost", "-o", "OUT"], "localhost is no address of a cluster"),
    ],
)
def test_what_makes_no_sense_is_refused(
    scenario: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, options: Sequence[str], told: str
) -> None:
    """Exit code 2 and a sentence that says why, before any work is done and without a folder."""
    monkeypatch.setattr("mci.surge.means.run_cases", lambda *_, **__: pytest.fail("work was begun"))
    result = _run(scenario, *(str(tmp_path / "out") if each == "OUT" else each for each in options))
    assert result.exit_code == 2, result.output
    assert told in _said(result)
    assert list(tmp_path.iterdir()) == []


def test_force_replaces_but_not_for_a_study_that_is_refused(scenario: Path, certain: Path, tmp_path: Path) -> None:
    """A second study is refused without --force; one that cannot be is refused with it, and deletes nothing."""
    folder = tmp_path / "out"
    _written(scenario, folder, "--samples", "2")
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    for file, options, told in (
        (scenario, (), "--force to replace them"),
        (certain, ("--force",), "does not say what is uncertain: add a section `uncertain:`, or --uncertain"),
        (scenario, ("--force", "--rolling", "30 min", "--orders", "0"), "leave out --orders 0."),
        (scenario, ("--resume",), "is of another study and cannot be resumed: the cases are not the same"),
    ):
        result = _run(file, *options, "--samples", "3", "-o", folder)
        assert result.exit_code == 2
        assert told in _said(result)
        assert {file.name: file.read_bytes() for file in folder.iterdir()} == before
    assert len(_written(scenario, folder, "--samples", "3", "--force")) == 3


@pytest.mark.parametrize(
    ("good", "bad", "told"),
    [
        ("count: 3, area", "count: -3, area", "must not be negative (found '-3')"),
        ("number: patients.hold", "number: patients.hodl", "Did you mean 'patients.hold.count'"),
        (
            "[0 min, 15 min, 60 min]",
            "[0 min, 15 min, 6 min]",
            "must be the lowest, the most likely and the highest value",
        ),
    ],
)
def test_mistakes_in_the_scenario_are_told(tmp_path: Path, good: str, bad: str, told: str) -> None:
    """Exit code 3 with the line, of what is uncertain too; nothing is written."""
    file = tmp_path / "barge.yaml"
    lines = (SCENARIO + UNCERTAIN).replace(good, bad).splitlines()
    file.write_text("\n".join(lines), encoding="utf-8")
    result = _run(file, "-o", tmp_path / "out")
    assert result.exit_code == 3
    (line,) = (number for number, text in enumerate(lines, start=1) if bad in text)
    assert f"barge.yaml:{line}:" in result.stderr
    assert told in _said(result)
    assert not (tmp_path / "out").exists()


@pytest.mark.slow
def test_a_number_of_the_network_needs_trips(tmp_path: Path) -> None:
    """Refused without --trips, since it would change nothing; with it the samples differ by what can be fetched."""
    file = tmp_path / "barge.yaml"
    file.write_text(SCENARIO.replace("horizon: 2 h", "horizon: 4 h") + NETWORK, encoding="utf-8")
    path = "network.stock.US E aluminium at store.count"
    asked = ("--samples", "4", "--uncertain", f"{path} = one of 1 50 %, 4 50 %")
    refused = _run(file, *asked)
    assert refused.exit_code == 2
    assert f"{path} changes nothing as long as no trips are planned; add --trips" in _said(refused)
    rows = _written(file, tmp_path / "out", *asked, "--trips")
    shares = {count: {row["best_share"] for row in rows if row[path] == count} for count in ("1", "4")}
    assert float(*shares["1"]) < float(*shares["4"])


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
def test_a_stopped_study_goes_on(scenario: Path, tmp_path: Path, how: signal.Signals) -> None:
    """Killed or interrupted in the middle: --resume ends with the tables of an undisturbed run, byte by byte."""
    options = ("--samples", "32", "--seed", "7", "--drivers", "8")
    folder, whole = tmp_path / "out", tmp_path / "whole"
    _written(scenario, whole, *options)
    command = [sys.executable, "-m", "mci", "risk", str(scenario), *options, "-o", str(folder)]
    with subprocess.Popen(command, stdout=-1, stderr=-1, text=True, start_new_session=True) as process:
        journal = folder / "cases.jsonl"
        until = time.monotonic() + 60
        while not (journal.exists() and journal.read_bytes().count(b"\n") > 4):
            assert process.poll() is None, process.communicate()
            assert time.monotonic() < until
            time.sleep(0.02)
        os.killpg(process.pid, how)
        told = "".join(process.communicate())
    assert 1 < journal.read_bytes().count(b"\n") < 1 + 32
    assert "Traceback" not in told
    assert ("the same command with --resume goes on" in told) == (how == signal.SIGINT)
    _written(scenario, folder, *options, "--resume")
    for name in ("samples.csv", "summary.csv", "drivers.csv"):
        assert (folder / name).read_bytes() == (whole / name).read_bytes()
