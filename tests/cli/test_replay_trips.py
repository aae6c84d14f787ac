"""``mci replay --trips``: trips judged, and orders on what they bring."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from mci.cli import cli
from mci.plan.table import HEADERS
from mci.plan.trip_table import TRIP_HEADERS

SCENARIO = Path(__file__).parents[2] / "scenarios" / "by-hand.yaml"
NETWORK = """
network:
  places: [{depot: boathouse}]
  roads: [{road: quay, between: [boathouse, jetty], drive: 10 min}]
  vehicles:
    - {vehicle: van, at: boathouse, slots: {US E aluminium: 4}, crew: 1, loading: 3 min, unloading: 2 min}
  stock: [{cylinder: US E aluminium, count: 3, pressure: full, at: boathouse}]
  cylinder masses: {US E aluminium: 4 kg}
"""
ITEM = "US E aluminium, full"
TRIPS = [f'run,van,1,boathouse,0,,3,,load,"{ITEM}",2,quay', f'run,van,2,jetty,13,,15,,unload,"{ITEM}",2,']
BROUGHT, REGULATOR = "jetty US E aluminium run 2", "jetty yoke regulator 0-15 L/min 1"
#: D, who comes at T+45, breathes from the second cylinder that the van brings.
ORDERS = [
    f"46,,jetty,change cylinder,,,,{BROUGHT},{REGULATOR},,44,anyone,",
    f"46,,jetty,connect,D,non-rebreather,15,{BROUGHT},{REGULATOR},,,,",
]


def _run(tmp_path: Path, trips: list[str], orders: list[str], *options: str, network: str = NETWORK) -> Result:
    files = {
        "scenario.yaml": SCENARIO.read_text(encoding="utf-8") + network,
        "trips.csv": "\n".join([",".join(TRIP_HEADERS), *trips]),
        "orders.csv": "\n".join([",".join(HEADERS), *orders]),
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    paths = [str(tmp_path / name) for name in ("scenario.yaml", "orders.csv")]
    command = ["replay", *paths, "--trips", str(tmp_path / "trips.csv"), *options]
    return CliRunner(env={"COLUMNS": "100"}).invoke(cli, command)


def test_trips_and_orders_are_both_judged(tmp_path: Path) -> None:
    """Both VALID: D has oxygen for 14 min from a cylinder that is only there because it was brought."""
    result = _run(tmp_path, TRIPS, ORDERS)
    assert result.exit_code == 0, result.output
    assert "VALID: these trips can be carried out." in result.stdout
    assert "VALID: these orders can be carried out." in result.stdout
    assert "(14.0 weighted credit-minutes)" in result.stdout


def test_a_cylinder_that_was_not_brought_is_not_there(tmp_path: Path) -> None:
    """The same orders where the van brings one cylinder only."""
    result = _run(tmp_path, [row.replace(",2,", ",1,") if "load" in row else row for row in TRIPS], ORDERS)
    assert result.exit_code == 3


@pytest.mark.parametrize(("arrive", "valid"), [(41, True), (42.0, True), (42.5, False), (60, False)])
def test_nothing_is_used_before_it_is_there(tmp_path: Path, arrive: float, valid: bool) -> None:
    """The change begins at T+44; what arrives at T+42 is unloaded by then, what arrives later is not."""
    late = [TRIPS[0], TRIPS[1].replace("13,,15", f"{arrive},,{arrive + 2}")]
    data = json.loads(_run(tmp_path, late, ORDERS, "--json").stdout)
    assert (data["trips_validity"], data["trips_findings"]) == ("VALID", [])
    assert data["validity"] == ("VALID" if valid else "INVALID")
    if arrive == 42.5:
        assert (data["findings"][0]["law"], data["findings"][0]["row"]) == ("window", 1)


def test_a_trip_that_cannot_be_is_named_with_its_line(tmp_path: Path) -> None:
    """Faster than the road: row, line and law, and the orders are told apart from it."""
    fast = [TRIPS[1].replace("13,,15", "9,,11"), TRIPS[0]]
    result = _run(tmp_path, fast, ORDERS)
    assert result.exit_code == 3
    words = " ".join(result.stdout.split())
    assert "INVALID: these trips cannot be carried out as they stand." in words
    assert "row 1 (line 3), T+3 min [road]: van leaves boathouse at T+3 min and is at jetty by this way not" in words
    assert "The row: run, van, stop 1 at boathouse, load 2 US E aluminium, full." in words
    assert "VALID: these orders can be carried out." in words
    assert "Coverage claimed, though some trips cannot be carried out" in words
    data = json.loads(_run(tmp_path, fast, ORDERS, "--json").stdout)
    assert (data["trips_validity"], data["validity"]) == ("INVALID", "VALID")
    assert [(each["law"], each["row"], each["line"]) for each in data["trips_findings"]] == [("road", 1, 3)]


def test_without_a_network_there_are_no_trips(tmp_path: Path) -> None:
    """Wrong use, told as such."""
    result = _run(tmp_path, TRIPS, ORDERS, network="")
    assert result.exit_code == 2
    assert "--trips needs a scenario with a network" in result.stderr


def test_mistakes_in_the_trips_are_told_in_words(tmp_path: Path) -> None:
    """Exit code 3, file and line, no traceback."""
    result = _run(tmp_path, [TRIPS[0], TRIPS[1].replace("unload", "drop")], ORDERS)
    assert result.exit_code == 3
    assert "trips.csv:3" in result.stderr
