"""Shortages by hand: one patient, one cylinder, one delivery."""

from __future__ import annotations

import dataclasses
import math

import pandas as pd
import pytest
from incidents import cylinders, ladder, outlet_set, patients, scenario, vessel
from published import published

from mci.pipeline import Run, run
from mci.resupply.shortage import first_empty, shortage_windows
from mci.scenario.model import Lot, Scenario
from mci.settings import Settings

OWN = outlet_set("own")


def _planned(*lots: Lot, rungs: tuple[tuple[str, float, float], ...] = (("mask", 10, 1.0),)) -> Run:
    """Plan 60 min for one patient at 10 L/min, in periods of 10 min."""
    incident: Scenario = scenario(
        horizon=60, ladders=[ladder("one", *rungs)], patients=[patients(1, "one")], lots=list(lots)
    )
    return run(incident, Settings(max_period=10))


def test_half_the_gas_is_half_the_coverage() -> None:
    """300 of 600 L: half covered, 30 min without, one patient at most; one window at least says so."""
    made = _planned(cylinders(1, 300, built_in=OWN))
    row = made.coverage.set_index("category").loc["immediate"]
    assert row["coverage"] == pytest.approx(0.5)
    assert row["without_patient_min"] == pytest.approx(30)
    assert made.windows["without_patient_min"].sum() == pytest.approx(30)
    assert made.windows["below_patient_min"].sum() == pytest.approx(0)


def test_the_stock_ends_empty_when_it_is_all_used() -> None:
    """All 300 L are drawn; the area is first empty when the last is."""
    made = _planned(cylinders(1, 300, built_in=OWN))
    last_draw = made.outcome.draw["end_min"].max()
    assert made.first_empty["empty_min"].tolist() == [last_draw]
    assert made.stock["litres"].iloc[-1] == pytest.approx(0, abs=1e-3)  # the bound is held within 1e-7


def test_enough_gas_is_never_empty_and_never_short() -> None:
    """700 L for 600: nobody is short, 100 L are left."""
    made = _planned(cylinders(1, 700, built_in=OWN))
    assert made.windows.empty
    assert math.isnan(made.first_empty["empty_min"].iloc[0])
    assert made.stock["litres"].iloc[-1] == pytest.approx(100)
    assert made.resupply.empty


def test_before_the_first_supply_everybody_is_without() -> None:
    """Gas comes at T+20: one window from T+0 to T+20, and the stock shows the delivery."""
    made = _planned(cylinders(1, 700, built_in=OWN, arrive=20))
    window = made.windows.iloc[0]
    assert (window["start_min"], window["end_min"], window["most_without"]) == (0, 20, pytest.approx(1))
    assert len(made.windows) == 1
    delivered = made.stock.set_index("time_min")["delivered_litres"]
    assert delivered[20] == 700
    assert delivered.sum() == 700


def test_a_lower_rung_is_below_target_not_without() -> None:
    """240 L at 4 L/min reach for the whole hour on the lower rung, which earns more per litre."""
    made = _planned(cylinders(1, 240, built_in=OWN), rungs=(("mask", 10, 1.0), ("cannula", 4, 0.5)))
    row = made.coverage.set_index("category").loc["immediate"]
    assert row["below_target_patient_min"] == pytest.approx(60)
    assert row["without_patient_min"] == pytest.approx(0)
    assert made.windows["most_without"].max() == pytest.approx(0)


def test_a_vessel_that_leaves_takes_its_gas_along() -> None:
    """A vessel of 900 L is taken away at T+30: 300 L are used, nothing is in stock afterwards."""
    made = _planned(dataclasses.replace(vessel(900), available_until=30))
    litres = made.stock.set_index("time_min")["litres"]
    assert litres[20] == pytest.approx(700)
    assert litres[30] == 0


def _cover(*rows: tuple[float, float, float]) -> pd.DataFrame:
    """Return need and delivery of two patients in periods of 10 min, from starts and who is below and without."""
    return pd.DataFrame(
        {
            "area": "a",
            "category": "immediate",
            "start_min": [start for start, _, _ in rows],
            "end_min": [start + 10 for start, _, _ in rows],
            "below_target": [below for _, below, _ in rows],
            "without": [without for _, _, without in rows],
        }
    )


def test_a_window_ends_where_it_gets_worse_better_or_over() -> None:
    """Below target from T+0, one without from T+20, served again from T+40, nobody short at T+50, again at T+60."""
    cover = _cover((0, 2, 0), (10, 1, 0), (20, 1, 1), (30, 0, 2), (40, 2, 0), (50, 0, 0), (60, 1, 0))
    columns = ["start_min", "end_min", "most_below_target", "most_without", "below_patient_min", "without_patient_min"]
    assert shortage_windows(cover)[columns].to_numpy().tolist() == [
        [0, 20, 2, 0, 30, 0],
        [20, 40, 2, 2, 10, 30],
        [40, 50, 2, 0, 20, 0],
        [60, 70, 1, 0, 10, 0],
    ]


def test_flow_wanted_by_a_published_hospital() -> None:
    """Peak need of a hospital, worked out in print: 24 + 9 + 4.8 + 20 = 57.8 m3/h, ward by ward and in all."""
    rows = {row["id"]: row for row in published("hospital_need")}
    wards = [row for row in rows.values() if row["places"]]
    flows = {row["id"]: float(row["flow [L/min]"]) for row in wards}
    incident = scenario(
        horizon=60,
        ladders=[ladder(key, ("outlet", flow, 1.0)) for key, flow in flows.items()],
        patients=[
            patients(round(int(row["places"]) * float(row["share_in_use"])), row["id"], area=row["id"]) for row in wards
        ],
        lots=[],
        areas=tuple(flows),
    )
    wanted = run(incident).over_time.groupby("area")["target_lpm"].max() * 60 / 1000  # m3/h
    for row in wards:
        assert wanted[row["id"]] == pytest.approx(float(row["published [m3/h]"]))
    assert wanted.sum() == pytest.approx(float(rows["WE59"]["published [m3/h]"]))


def _stock(*rows: tuple[float, float, float]) -> pd.DataFrame:
    """Return a stock curve of area ``a`` from moments, litres after a delivery, and what was delivered."""
    times, litres, delivered = zip(*rows, strict=True)
    return pd.DataFrame({"area": "a", "time_min": times, "litres": litres, "delivered_litres": delivered})


@pytest.mark.parametrize(
    ("curve", "empty"),
    [
        ([(0, 500, 0), (30, 700, 700), (60, 100, 0)], 30),  # all gone just as more comes
        ([(0, 500, 0), (30, 710, 700), (60, 100, 0)], math.nan),  # 10 L were left
        ([(0, 0, 0), (30, 700, 700), (60, 0, 0)], 60),  # nothing at first is not running empty
        ([(0, 500, 0), (30, 50, 0)], math.nan),  # little is not nothing
        ([(0, 0, 0), (30, 0, 0)], math.nan),  # never any gas
    ],
)
def test_first_empty(curve: list[tuple[float, float, float]], empty: float) -> None:
    """A stock is empty where nothing is left of what was there, looked at just before any delivery."""
    incident = scenario(horizon=60, ladders=[], patients=[], lots=[])
    assert first_empty(incident, _stock(*curve))["empty_min"].tolist() == pytest.approx([empty], nan_ok=True)
