"""``mci replay``: orders judged in a terminal and for programs, each verdict with its exit code."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from mci.cli import cli
from mci.plan.table import HEADERS

SCENARIO = Path(__file__).parents[2] / "scenarios" / "by-hand.yaml"
CYLINDER, REGULATOR = "jetty US E aluminium {}", "jetty yoke regulator 0-15 L/min {}"
#: The best plan of the scenario's first comment as far as its second half: C and D with cylinders 1 and 3.
ROWS = [
    f"20,,jetty,change cylinder,,,,{CYLINDER.format(1)},{REGULATOR.format(1)},1450,18,anyone,",
    f"20,,jetty,connect,C,non-rebreather,15,{CYLINDER.format(1)},{REGULATOR.format(1)},,,,",
    "40,,jetty,disconnect,C,,,,,,,,",
    f"47,,jetty,change cylinder,,,,{CYLINDER.format('second ambulance')},{REGULATOR.format(2)},1450,45,anyone,",
    f"47,,jetty,connect,D,non-rebreather,15,{CYLINDER.format('second ambulance')},{REGULATOR.format(2)},,,,",
]


def _run(tmp_path: Path, rows: list[str], *options: str, width: int = 80) -> Result:
    file = tmp_path / "orders.csv"
    file.write_text("\n".join([",".join(HEADERS), *rows]), encoding="utf-8")
    return CliRunner(env={"COLUMNS": str(width)}).invoke(cli, ["replay", str(SCENARIO), str(file), *options])


def _data(tmp_path: Path, rows: list[str]) -> dict[str, object]:
    data: dict[str, object] = json.loads(_run(tmp_path, rows, "--json").stdout)
    return data


@pytest.mark.parametrize("width", [80, 120])
def test_valid_orders_are_scored(tmp_path: Path, width: int) -> None:
    """C has 20 of 20 min, D 13 of 15, the others nothing: 33 weighted minutes; and it fits the terminal."""
    result = _run(tmp_path, ROWS, width=width)
    assert result.exit_code == 0
    assert "VALID: these orders can be carried out." in result.stdout
    assert "(33.0 weighted credit-minutes)" in result.stdout
    assert "decides no patient's care" in result.stdout
    lines = result.stdout.splitlines()
    assert max(len(line.rstrip()) for line in lines if "orders.csv" not in line) <= width  # a path is not broken


def test_a_tampered_row_is_named_with_its_line(tmp_path: Path) -> None:
    """D gets oxygen before it comes with the truck: row in time and line in the file, which is not sorted."""
    tampered = [*ROWS[:3], ROWS[3].replace("47,", "46,", 1).replace(",45,", ",44,"), ROWS[4]][::-1]
    result = _run(tmp_path, tampered)
    assert result.exit_code == 3
    assert "Coverage claimed, though some orders cannot be carried out" in result.stdout
    assert "order 4 (line 3), T+46 min [window]" in result.stdout
    assert "there from T+45 min" in result.stdout
    finding = _data(tmp_path, tampered)["findings"][0]  # type: ignore[index]
    assert (finding["law"], finding["row"], finding["line"]) == ("window", 4, 3)


def test_many_findings_are_cut_on_the_terminal_only(tmp_path: Path) -> None:
    """Twenty are told, and how many more there are; JSON holds all."""
    rows = [f"{minute},,jetty,connect,X{minute},non-rebreather,10,,,,,," for minute in range(25)]
    result = _run(tmp_path, rows)
    assert result.exit_code == 3
    assert "5 more; --json lists all." in result.stdout
    assert result.stdout.count("there is no patient") == 21  # the first one twice
    assert len(_data(tmp_path, rows)["findings"]) == 25  # type: ignore[arg-type]


def test_what_cannot_be_judged_is_a_warning(tmp_path: Path) -> None:
    """No supply is named: UNKNOWN, exit code 0, a line on standard error."""
    result = _run(tmp_path, ["20,,jetty,connect,C,non-rebreather,15,,,,,,", ROWS[2]])
    assert result.exit_code == 0
    assert "UNKNOWN" in result.stdout
    assert "[holds, cannot be judged]" in result.stdout
    assert "Warning: not everything can be judged" in result.stderr


def test_mistakes_in_the_file_are_told_in_words(tmp_path: Path) -> None:
    """Exit code 3, file and line, no traceback."""
    result = _run(tmp_path, ["soon,,jetty,connect,C,non-rebreather,15,,,,,,"])
    assert result.exit_code == 3
    assert "orders.csv:2" in result.stderr


def test_json_names_its_units(tmp_path: Path) -> None:
    """The same numbers for programs: coverage, litres left, and the trace."""
    data = _data(tmp_path, ROWS)
    assert (data["validity"], data["weighted_credit_min"]) == ("VALID", 33.0)
    assert data["left_litres"][CYLINDER.format(1)] == pytest.approx(50)  # type: ignore[index]
    assert [each["patient"] for each in data["services"]] == ["C", "D"]  # type: ignore[attr-defined]


def test_an_order_named_in_a_reason_has_its_line_too(tmp_path: Path) -> None:
    """One person begins a second change while at the first: the order that keeps them busy is named with its line."""
    rows = [row.replace("anyone", "jetty staff 1") for row in ROWS[:3]]
    rows.append(
        rows[0].replace(CYLINDER.format(1), CYLINDER.format(2)).replace(REGULATOR.format(1), REGULATOR.format(2))
    )
    result = _run(tmp_path, rows)
    assert "order 1 (line 2) keeps them busy" in " ".join(result.stdout.split())
