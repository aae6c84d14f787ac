"""``mci duration`` as a user meets it: the answer, the warnings, the mistakes, and the width of a terminal."""

from __future__ import annotations

import json
from typing import Any

import pytest
from click.testing import CliRunner, Result

from mci.catalogue.load import load_catalogue
from mci.cli import cli
from mci.cli.duration import duration
from mci.errors import InputError


def run(*arguments: str, columns: int = 80) -> Result:
    """Call the command in a terminal of a given width."""
    return CliRunner().invoke(duration, arguments, env={"COLUMNS": str(columns), "NO_COLOR": "1"})


def words(*arguments: str) -> str:
    """Return what it prints, as one line."""
    result = run(*arguments)
    assert result.exit_code == 0, result.output
    return " ".join(result.output.split())


def data(*arguments: str) -> Any:
    """Return what it prints with --json."""
    result = run(*arguments, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.output)


def mistakes(*arguments: str) -> str:
    """Return the mistakes that it raises."""
    result = run(*arguments)
    assert isinstance(result.exception, InputError)
    return str(result.exception)


E = ("E", "--pressure", "1500 psi", "--flow", "15")


def test_the_example_prints_minutes_under_each_model() -> None:
    """Litres, minutes, time of change, residual and sources; the letter is said back as a cylinder."""
    text = words(*E)
    assert "US E aluminium (what E means in region US" in text
    assert "published factor * 0.28 L/psi 364 L 24 min T+24" in text
    assert "rated content 680 L at 2015 psi 439 L 29 min T+29" in text
    assert "real gas water volume 4.6 L 433 L 28 min T+28" in text
    assert "when its gauge reads 200 psi; plan for 24 min" in text
    assert "Residual: US Army course MD0542" in text
    assert "factor: US Army course MD0542" in text
    assert "decides no patient's care" in text
    assert "Warnings" not in text


def test_the_clock_says_when_to_change() -> None:
    """With a start, the clock time of the change stands under T+; the next day is marked."""
    assert "T+24 real" not in words(*E, "--start", "14:35")
    assert "14:59" in words(*E, "--start", "14:35")
    assert "00:14 +1 d" in words(*E, "--start", "23:50")


def test_json_holds_numbers_and_no_table() -> None:
    """The same answer for a machine, with the unit in each name."""
    answer = data(*E, "--start", "14:35")
    first = answer["models"][0]
    assert answer["cylinder"] == "US E aluminium"
    assert answer["residual_psi"] == 200
    assert (first["model"], first["usable_litres"], first["minutes"]) == ("published factor", 364.0, 24)
    assert first["change_clock"] == "14:59"
    assert answer["cautions"]


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        ((*E[:3], "--flow", "9", "--device", "non-rebreather"), "below the range of non-rebreather"),
        ((*E[:3], "--flow", "4", "--device", "simple mask"), "below the range of simple mask"),
        ((*E[:3], "--flow", "20"), "more than one flow outlet of the usual yoke regulator 0-15 L/min passes"),
        (("E", "--pressure", "2300 psi", "--flow", "10"), "above that of a full one (2015 psi"),
        (("E", "--pressure", "450 psi", "--flow", "10"), "below 500 psi, the least"),
        (("E", "--pressure", "150 psi", "--flow", "10"), "nothing is left to use"),
        (("E", "--pressure", "30 bar", "--flow", "10", "--metric"), "below 34 bar, the least"),
    ],
)
def test_warnings(arguments: tuple[str, ...], expected: str) -> None:
    """Each doubtful use is told; the flow is not checked against a device that is not named."""
    assert expected in words(*arguments)


def test_below_the_residual_there_are_no_minutes() -> None:
    """0 litres and 0 minutes under every model."""
    answer = data("E", "--pressure", "150 psi", "--flow", "10")
    assert {(m["usable_litres"], m["minutes"]) for m in answer["models"]} == {(0.0, 0)}


def test_options_change_the_question() -> None:
    """Region, model, residual, temperature and bar."""
    assert data("E", "--region", "uk", *E[1:])["cylinder"] == "UK E 137 bar"
    assert [m["model"] for m in data(*E, "--model", "real-gas")["models"]] == ["real gas"]
    assert data(*E, "--residual", "500 psi")["models"][0]["usable_litres"] == pytest.approx(280)
    hot, cold = (data(*E, "--temperature", t)["models"][0]["usable_litres"] for t in ("50 C", "-20 C"))
    assert hot < 364 < cold
    assert "Gauge 103 bar, cylinder at 5 °C" in words(*E, "--metric", "--temperature", "41 F")
    assert "Residual: as given" in words(*E, "--residual", "500 psi")
    assert data(*E[:4], "15 L/min") == data(*E)


def test_full_is_the_full_pressure_as_in_a_scenario() -> None:
    """``full`` reads like the gauge of a full cylinder; of an unknown one only the name is wrong."""
    assert data("E", "--pressure", "full", "--flow", "15") == data("E", "--pressure", "2015 psi", "--flow", "15")
    assert mistakes("no such", "--pressure", "full", "--flow", "15").startswith("1 mistake found")


def test_all_mistakes_are_told_together() -> None:
    """Every bad value in one answer, each with its option and what was found."""
    text = mistakes(
        "[red]E", "--pressure", "1500", "--flow", "15 psi", "--residual", "-1 psi", "--temperature", "warm",
        "--start", "9", "--device", "nonrebreather", "--region", "XX",
    )  # fmt: skip
    assert text.startswith("8 mistakes found")
    assert "--pressure: is not a gauge pressure: the unit is missing" in text
    assert "(found '[red]E')" in text
    assert "near names: non-rebreather" in text


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        ((*E[:3], "--flow", "0"), "--flow: must be above 0 L/min"),
        (("US T", *E[1:], "--model", "real-gas"), "--model: US T steel has no number for this model"),
        (("E", "--pressure", "6000 psi", "--flow", "1"), "--pressure: a pressure of 41.5 MPa is outside"),
        ((*E, "--temperature", "99 C"), "--temperature: a temperature of 99.0 C is outside"),
    ],
)
def test_values_that_cannot_be_used(arguments: tuple[str, ...], expected: str) -> None:
    """Understood, but impossible."""
    assert expected in mistakes(*arguments)


def test_exit_codes_through_the_whole_command_line() -> None:
    """3 for a bad value, 2 for a wrong call, and never a traceback."""
    bad = CliRunner().invoke(cli, ["duration", "E", "--pressure", "1500", "--flow", "15"])
    assert bad.exit_code == 3
    assert "Traceback" not in bad.output
    assert CliRunner().invoke(cli, ["duration", "E"]).exit_code == 2


@pytest.mark.parametrize("columns", [80, 120])
@pytest.mark.parametrize("key", load_catalogue().cylinders)
def test_every_cylinder_fits_the_terminal(key: str, columns: int) -> None:
    """No line is wider than the terminal, and no cell is cut off."""
    for flow in ("0.5", "15"):
        result = run(key, "--pressure", "1900 psi", "--flow", flow, "--start", "23:00", columns=columns)
        assert result.exit_code == 0
        assert max(len(line) for line in result.output.splitlines()) <= columns
        assert "…" not in result.output
