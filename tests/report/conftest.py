"""One invented run, made by hand: two areas, three categories, a delivery, shortages at both areas."""

from __future__ import annotations

import dataclasses
import itertools
from typing import TYPE_CHECKING, Any

import pandas as pd
import pytest
from made_plans import make_plans, with_regulators

from mci.catalogue.model import Basis, Cylinder, Device, DrawRule, GasModel, Ladder, OutletSet, Rung, Source
from mci.lp.outcome import Outcome, SolverReport, Status
from mci.pipeline import Run
from mci.provenance import Provenance
from mci.scenario.model import (
    Area,
    Arrival,
    Assumption,
    LeftOut,
    Lot,
    LotKind,
    Patients,
    Pattern,
    Resupply,
    Scenario,
    Spell,
)

if TYPE_CHECKING:
    from collections.abc import Callable

INVENTED = Source("invented for the tests", Basis.ASSUMPTION)
EDGES = (0.0, 20.0, 40.0, 60.0, 90.0, 120.0, 180.0)
PERIODS = list(itertools.pairwise(EDGES))
E_WITH = "US E aluminium cylinder, full, with one outlet"
WEIGHTS = {"immediate": 4.0, "delayed": 2.0, "minimal": 1.0}
#: Patients per rung (the last line is without oxygen) in each period, by area and category.
SERVED: dict[tuple[str, str], list[list[float]]] = {
    ("west", "immediate"): [[2, 6, 2, 5, 6, 4], [0, 0, 3, 2, 0, 0], [0, 0, 3, 1, 0, 0]],
    ("west", "delayed"): [[3, 6, 0, 2, 4, 2], [0, 0, 4.5, 4, 0, 0], [0, 0, 1.5, 0, 0, 0]],
    ("east", "immediate"): [[0, 1, 2, 2, 1, 0], [0, 0, 0, 0, 0, 0], [0, 0, 0, 0, 0, 0]],
    ("east", "minimal"): [[0, 4, 4, 4, 1, 0], [0, 0, 0, 0, 0, 0], [0, 0, 0, 0, 3, 2]],
}


def _device(key: str, title: str, low: float, high: float) -> Device:
    return Device(key, title, DrawRule.SET_FLOW, low, high, 0.3, 0.9, True, False, 0.0, "", INVENTED)


_MASK = _device("non-rebreather", "Non-rebreather mask", 10, 15)
_SIMPLE = _device("simple mask", "Simple mask", 5, 10)
_CANNULA = _device("cannula", "Nasal cannula", 0.5, 6)


def _ladder(key: str, *rungs: tuple[Device, float, float]) -> Ladder:
    made = tuple(Rung(device, flow, credit, f"{flow:g} L/min") for device, flow, credit in rungs)
    return Ladder(key, f"{key} need", made, INVENTED)


LADDERS = {
    "immediate": _ladder("high", (_MASK, 15.0, 1.0), (_MASK, 10.0, 0.8)),
    "delayed": _ladder("moderate", (_SIMPLE, 6.0, 1.0), (_CANNULA, 3.0, 0.7)),
    "minimal": _ladder("low", (_CANNULA, 2.0, 1.0), (_CANNULA, 1.0, 0.7)),
}


def _over_time() -> pd.DataFrame:
    rows = []
    for (area, category), lines in SERVED.items():
        target, lower = LADDERS[category].rungs
        for index, (start, end) in enumerate(PERIODS):
            top, low, none = (float(line[index]) for line in lines)
            need = top + low + none
            rows.append((area, category, start, end, need, top, low, none, top + lower.credit * low))
            rows[-1] += (need * target.flow_lpm, top * target.flow_lpm + low * lower.flow_lpm)
    names = "area category start_min end_min need at_target below_target without credit target_lpm delivered_lpm"
    return pd.DataFrame(rows, columns=names.split())


def _coverage(over_time: pd.DataFrame) -> pd.DataFrame:
    length = over_time["end_min"] - over_time["start_min"]
    rows = []
    counts = {"immediate": 10.0, "delayed": 6.0, "minimal": 4.0, "all": 20.0}
    for category, number in counts.items():
        here = over_time if category == "all" else over_time[over_time["category"] == category]
        need, top, low, none, credit = (
            float((here[name] * length).sum()) for name in ("need", "at_target", "below_target", "without", "credit")
        )
        moments = here.groupby("start_min")[["below_target", "without"]].sum()
        worst = float(moments.sum(axis=1).max()), float(moments["without"].max())
        rows.append((category, number, need, credit, credit / need, top, low, none, *worst))
    names = (
        "category patients needed_patient_min credit_min coverage at_target_patient_min below_target_patient_min "
        "without_patient_min most_below_target most_without"
    )
    return pd.DataFrame(rows, columns=names.split())


def _service(over_time: pd.DataFrame) -> pd.DataFrame:
    rows: list[Any] = []
    for row in over_time.to_dict("records"):
        ladder = LADDERS[row["category"]]
        for rung, number in enumerate((row["at_target"], row["below_target"])):
            option = ladder.rungs[rung]
            where = (row["area"], row["category"], ladder.key, rung, option.device.key, option.setting)
            rows.append((*where, option.flow_lpm, option.credit, row["start_min"], row["end_min"], number))
    names = "area category ladder rung device setting flow_lpm credit start_min end_min patients"
    return pd.DataFrame(rows, columns=names.split())


def _draw(over_time: pd.DataFrame) -> pd.DataFrame:
    rows = []
    for area in ("west", "east"):
        for start, end in PERIODS:
            here = over_time[(over_time["area"] == area) & (over_time["start_min"] == start)]
            lot = "west-2" if area == "west" and start >= 60 else f"{area}-1"
            rows.append((lot, area, start, end, float(here["delivered_lpm"].sum()) * (end - start)))
    return pd.DataFrame(rows, columns=["lot", "area", "start_min", "end_min", "litres"])


def _lot(key: str, area: str, label: str, quantity: int, litres: float, start: float, delivery: str) -> Lot:
    times = (start, 180.0, 2.0, 0.0, delivery)
    return Lot(key, label, LotKind.CYLINDER, area, quantity, litres, litres / quantity, "pin index", None, *times)


def _scenario() -> Scenario:
    outlets = OutletSet("one outlet", frozenset({"pin index"}), 1, 0, 25.0, 25.0, INVENTED)
    cylinder = Cylinder(
        "US E aluminium",
        "US",
        "E",
        "aluminium",
        4.6,
        680.0,
        21.1,
        2015.0,
        0.28,
        GasModel.REAL_GAS,
        "pin index",
        None,
        2.0,
        4.5,
        INVENTED,
    )
    people = (("immediate", 10, "high", "west"), ("delayed", 6, "moderate", "west"), ("minimal", 4, "low", "east"))
    return Scenario(
        name="Coach fire at Quarry Road",
        summary="Twenty passengers of a burning coach, treated at a west portal and in an east yard.",
        start=14 * 60,
        horizon=180.0,
        areas=(Area("west", "West portal"), Area("east", "East yard")),
        ladders={ladder.key: ladder for ladder in LADDERS.values()},
        weights=WEIGHTS,
        patients=tuple(
            Patients(
                f"{category} patients",
                number,
                Arrival(Pattern.TOGETHER, 0.0, 0.0, 1.0),
                180.0,
                180.0,
                (Spell(0.0, area, category, ladder),),
            )
            for category, number, ladder, area in people
        ),
        lots=(
            _lot("west-1", "west", "9 x US E aluminium at 1900 psi", 9, 4950.0, 0.0, ""),
            _lot("west-2", "west", "2 x US H steel at 2100 psi", 2, 12000.0, 60.0, "supply truck"),
            _lot("east-1", "east", "7 x US D aluminium at 2000 psi", 7, 2870.0, 0.0, ""),
        ),
        regulators=(),
        devices=(),
        staff=(),
        power=(),
        reserve={"west": 0.0, "east": 0.0},
        resupply=Resupply(cylinder, 600.0, outlets),
        left_out=(LeftOut("1 x US D aluminium, no. D-17", "east", "hydrostatic test out of date (invented)"),),
        assumptions=(
            Assumption("Residual pressure", "200 psi", Source("common EMS teaching value", Basis.PRACTICE)),
            Assumption("Credit of a non-rebreather mask at 10 L/min", "0.8", INVENTED),
        ),
        file="coach-fire.yaml",
        sha256="0f" * 32,
    )


def _windows() -> pd.DataFrame:
    names = "area category start_min end_min most_below_target most_without below_patient_min without_patient_min"
    return pd.DataFrame(
        [
            ("west", "immediate", 40.0, 90.0, 6.0, 3.0, 120.0, 90.0),
            ("west", "delayed", 40.0, 90.0, 6.0, 1.5, 210.0, 30.0),
            ("east", "minimal", 90.0, 180.0, 3.0, 3.0, 0.0, 210.0),
        ],
        columns=names.split(),
    )


def _stock() -> pd.DataFrame:
    west = [4950.0, 3990.0, 1470.0, 12000.0, 8430.0, 5010.0, 690.0]
    east = [2870.0, 2870.0, 2410.0, 1650.0, 510.0, 0.0, 0.0]
    rows: list[Any] = [("west", t, v, 12000.0 if t == 60 else 0.0) for t, v in zip(EDGES, west, strict=True)]
    rows += [("east", t, v, 0.0) for t, v in zip(EDGES, east, strict=True)]
    return pd.DataFrame(rows, columns=["area", "time_min", "litres", "delivered_litres"])


def _worth() -> pd.DataFrame:
    names = "resource area one_more weighted_gain_min gain_share immediate_min delayed_min minimal_min expectant_min"
    rows = [
        ("Regulators", "west", "regulator with one outlet", 96.0, 0.0081, 20.0, 8.0, 0.0, 0.0),
        ("Oxygen in cylinders", "west", "full US E aluminium from the start", 180.0, 0.0152, 42.5, 5.0, 0.0, 0.0),
        ("Oxygen in cylinders", "east", "full US E aluminium from the start", 210.0, 0.0177, 0.0, 0.0, 210.0, 0.0),
        ("Staff who change cylinders", "west", "person from the start", 3.0, 0.0003, 1.5, -1.5, 0.0, 0.0),
    ]
    return pd.DataFrame(rows, columns=names.split())


def _resupply() -> pd.DataFrame:
    none = float("nan")
    rows = [
        ("everyone", "west", 38.0, E_WITH, "cylinder", 4, 4, 2350.0),
        ("everyone", "west", 60.0, E_WITH, "cylinder", 3, 7, 4150.0),
        ("everyone", "west", 40.0, "non-rebreather (single use)", "device", 2, 2, none),
        ("everyone", "east", 88.0, E_WITH, "cylinder", 1, 1, 420.0),
        ("immediate", "west", 40.0, E_WITH, "cylinder", 3, 3, 1650.0),
    ]
    columns = ["goal", "area", "by_min", "item", "unit", "quantity", "total", "litres"]
    return pd.DataFrame(rows, columns=columns)


def build_run() -> Run:
    """Make the invented run anew."""
    over_time = _over_time()
    scenario = _scenario()
    weighted = over_time["credit"] * (over_time["end_min"] - over_time["start_min"])
    achieved = float((weighted * over_time["category"].map(WEIGHTS)).sum())
    need = _service(over_time).drop(columns=["rung", "device", "setting", "flow_lpm", "credit"])
    report = SolverReport("HiGHS 1.15.1", 120, 90, 400, 0.01, 0.01)
    return Run(
        scenario=scenario,
        outcome=Outcome(Status.OPTIMAL, achieved, achieved, _service(over_time), need, _draw(over_time), report),
        coverage=_coverage(over_time),
        over_time=over_time,
        windows=_windows(),
        stock=_stock(),
        first_empty=pd.DataFrame({"area": ["west", "east"], "empty_min": [60.0, 120.0]}),
        worth=_worth(),
        resupply=_resupply(),
        resupply_notes=("East yard: two patients are still present at the end of the plan.",),
        provenance=Provenance(
            "coach-fire.yaml",
            scenario.sha256,
            {"priority": "weighted", "max_period": 10.0},
            {"solver": "HiGHS 1.15.1", "status": "optimal", "columns": 120, "rows": 90},
            {"solve": 0.01},
        ),
    )


@pytest.fixture
def run() -> Run:
    """The invented run."""
    return build_run()


@pytest.fixture
def same_run() -> Run:
    """The invented run, made a second time."""
    return build_run()


@pytest.fixture
def make_run(run: Run) -> Callable[..., Run]:
    """Make the invented run with other words in its scenario, or other tables."""

    def make(**changes: Any) -> Run:
        names = {field.name for field in dataclasses.fields(Run)}
        outer = {key: value for key, value in changes.items() if key in names}
        inner = {key: value for key, value in changes.items() if key not in names}
        return dataclasses.replace(run, scenario=dataclasses.replace(run.scenario, **inner), **outer)

    return make


@pytest.fixture
def calm_run(run: Run) -> Run:
    """The invented run with oxygen enough: nobody short, nothing empty, nothing more needed."""
    over_time = run.over_time.copy()
    over_time["at_target"] = over_time["need"]
    over_time["credit"] = over_time["need"]
    over_time["delivered_lpm"] = over_time["target_lpm"]
    over_time[["below_target", "without"]] = 0.0
    return dataclasses.replace(
        run,
        over_time=over_time,
        coverage=_coverage(over_time),
        windows=run.windows.iloc[:0],
        first_empty=pd.DataFrame({"area": ["west", "east"], "empty_min": [float("nan")] * 2}),
        worth=run.worth.iloc[:0],
        resupply=run.resupply.iloc[:0],
        resupply_notes=(),
    )


@pytest.fixture
def planned_run(run: Run) -> Run:
    """The invented run with this plan and usual practice."""
    plans = make_plans(run.coverage, run.outcome.bound)
    return dataclasses.replace(run, scenario=with_regulators(run.scenario), plans=plans)
