"""A debrief made by hand on a small invented incident, for tests of what shows it.

Plans and their verdicts are real: the best plan, usual practice, and a team that begins late, leaves an empty cylinder
on and forgets a patient.  Stretches, causes and decisions only have the shape that a debrief has, and its sums.
"""

from __future__ import annotations

import dataclasses
import functools
import itertools
import math
import tempfile
from pathlib import Path

import pandas as pd
from planned import Planned, plan_all

from mci.drills.debriefed import Cause, Debrief, Missed, Reached, Result, Status
from mci.drills.log import Log, Note, NoteKind
from mci.drills.over_time import over_time
from mci.plan.orders import Action, Order, Plan
from mci.provenance import Provenance
from mci.replay.judge import replay
from mci.replay.judged import Judged
from mci.scenario import read_scenario
from mci.scenario.exercise import Exercise, Inject, InjectKind, Measure, Objective
from mci.scenario.model import Scenario

__all__ = ["HALL", "made_debrief"]

HALL = """\
incident: {name: Market hall smoke, summary: Smoke in a market hall; one treatment area in the car park.,
           start: 14:00, horizon: 100 min}
areas: {field: Car park}
patients:
  - {patient: P01, category: immediate, area: field, ladder: high need, arrive: T+2, stay: 70 min}
  - {patient: P02, category: delayed, area: field, ladder: moderate need, arrive: T+4, stay: 80 min}
  - {patient: P03, category: immediate, area: field, ladder: high need, arrive: T+6, stay: 60 min}
  - {patient: P04, category: minimal, area: field, ladder: low need, arrive: T+8, stay: 60 min}
  - {patient: P05, category: delayed, area: field, ladder: moderate need, arrive: T+10, stay: 75 min}
  - {patient: P06, category: immediate, area: field, ladder: high need, arrive: T+14, stay: 60 min}
  - {patient: P07, category: delayed, area: field, ladder: moderate need, arrive: T+20, stay: 70 min}
  - {patient: P08, category: immediate, area: field, ladder: high need, arrive: T+45, stay: 50 min}
  - {patient: P09, category: delayed, area: field, ladder: moderate need, arrive: T+48, stay: 50 min}
supplies: [{cylinder: US D aluminium, count: 7, pressure: 1800 psi, area: field}]
regulators: [{regulator: yoke regulator 0-15 L/min, count: 5, area: field}]
devices:
  - {device: non-rebreather, count: 6, area: field}
  - {device: partial rebreather, count: 0, area: field}
  - {device: simple mask, count: 6, area: field}
  - {device: nasal cannula, count: 9, area: field}
staff: [{people: 2, area: field}]
deliveries:
  - {delivery: county truck, at: T+60, area: field, brings: [{cylinder: US D aluminium, count: 4, pressure: full}]}
resupply: {cylinder: US E aluminium, regulator: yoke regulator 0-15 L/min}
"""

_REGULATOR = "field yoke regulator 0-15 L/min"
_TIMES = (0.0, 6.0, 14.0, 20.0, 31.0, 46.0, 60.0, 78.0, 100.0)
_LOST = (0.17, 0.22, 0.05, 0.24, 0.12, 0.08, 0.12, 0.0)
_CAUSES = (
    ((Cause.RECOGNITION, 1.0),),
    ((Cause.RECOGNITION, 0.6), (Cause.IDLE_REGULATOR, 0.4)),
    ((Cause.IDLE_OXYGEN, 1.0),),
    ((Cause.EMPTY, 0.7), (Cause.HIGH_FLOW, 0.3)),
    ((Cause.SHORTAGE, 1.0),),
    ((Cause.LEAST_FLOW, 0.5), (Cause.SHORTAGE, 0.5)),
    ((Cause.DELIVERY, 0.8), (Cause.OTHER, 0.2)),
)
_INJECTS = (
    Inject(InjectKind.REGULATOR_LEAKS, 25.0, "field", f"{_REGULATOR} 3"),
    Inject(InjectKind.SECOND_WAVE, 45.0, "field"),
    Inject(InjectKind.DELIVERY_LATE, 50.0, "field", "county truck", 25.0),
)


@functools.cache
def _planned() -> tuple[Scenario, Planned]:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "hall.yaml"
        file.write_text(HALL, encoding="utf-8")
        scenario = read_scenario(file)
    return scenario, plan_all(scenario)


def _poor(orders: tuple[Order, ...]) -> tuple[Order, ...]:
    """Begin six minutes late, leave out the third and the sixth change of cylinder, and never serve P07."""
    changes = [order for order in orders if order.action is Action.CHANGE]
    left_out = {id(order) for order in (changes[2:3] + changes[5:6])}
    made = []
    for order in orders:
        if id(order) in left_out or order.patient == "P07":
            continue
        late = 6.0 if order.minute < 60 else 0.0
        made.append(dataclasses.replace(order, minute=order.minute + late, begin=order.begin + late))
    return tuple(sorted(made, key=lambda order: order.minute))


def _tables(bound: float, reached: float) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    whole = bound - reached
    left = bound - whole * pd.Series([0.0, *itertools.accumulate(_LOST)])
    left.iloc[-1] = reached
    stretches = pd.DataFrame(
        {"start_min": _TIMES[:-1], "end_min": _TIMES[1:], "possible_start": left[:-1].to_numpy(),
         "possible_end": left[1:].to_numpy()}
    )  # fmt: skip
    stretches["lost"] = stretches["possible_start"] - stretches["possible_end"]
    rows = [
        {"start_min": row.start_min, "end_min": row.end_min, "cause": cause, "category": category,
         "lost": row.lost * part * split}
        for row, causes in zip(stretches.itertuples(), _CAUSES, strict=False)
        for cause, part in causes
        for category, split in (("immediate", 0.7), ("delayed", 0.3))
    ]  # fmt: skip
    losses = pd.DataFrame(rows)
    sums = losses.groupby("cause", sort=False)["lost"].sum().sort_values(ascending=False)
    causes = pd.DataFrame({"cause": list(sums.index), "lost": sums.to_numpy()})
    causes["share"] = causes["lost"] / whole
    causes["patient_min"] = [round(value * 1.4, 1) for value in causes["lost"]]
    return stretches, losses, causes


def _missed(scenario: Scenario, stretches: pd.DataFrame, best: Judged, team: Judged) -> tuple[Missed, ...]:
    words = (
        ("R2 stayed on C2, which was empty from T+22; P02 was connected and got nothing.",
         "Change R2 to C6 at T+22, P02 on a simple mask at 6 L/min; P05 on a nasal cannula at 4 L/min."),
        ("P03 and P05 waited without oxygen; R4 and R5 were not in use.",
         "Put R4 on C4 and R5 on C5 at T+6 and connect P03 first, then P05."),
        ("Nobody was connected before T+8.", "Open C1 at T+1 and connect P01 on arrival at 15 L/min."),
    )  # fmt: skip
    causes = (Cause.EMPTY, Cause.IDLE_REGULATOR, Cause.RECOGNITION)
    order = stretches.sort_values("lost", ascending=False).head(3)
    made = []
    for row, (did, better), cause in zip(order.itertuples(), words, causes, strict=True):
        start, end = float(row.start_min), float(row.end_min)
        rows = tuple(n for n, each in enumerate(team.plan.orders, 1) if start <= each.minute < end)
        instead = tuple(each for each in best.plan.orders if start <= each.minute < end)
        made.append(
            Missed(start, end, did, better, rows, instead, float(row.lost), 0.9 * float(row.lost), 12.5, cause,
                   ("P02", "P05"))
        )  # fmt: skip
    assert scenario.horizon == _TIMES[-1]
    return tuple(made)


def _objectives() -> tuple[Reached, ...]:
    return (
        Reached(Objective("O1", "On oxygen within 5 min of arrival: at least 90 % of Immediate patients",
                          Measure.ON_OXYGEN, "immediate", "", 5.0, 0.9), Status.NOT, 0.25,
                "1 of 4 Immediate patients (25.0 %)"),
        Reached(Objective("O2", "Coverage of Immediate patients at least 95 %", Measure.COVERAGE, "immediate", "",
                          math.nan, 0.95), Status.PARTLY, 0.71, "71.0 % of their need"),
        Reached(Objective("O3", "Nobody below the least flow of a mask", Measure.LEAST_FLOW, "", "", 0.0, math.nan),
                Status.MET, 0.0, "0 patient-min"),
    )  # fmt: skip


def _improvements() -> tuple[Result, ...]:
    return (
        Result("A cylinder was empty for 9 min before it was changed.",
               "Read every gauge every 5 min and call the next change when a cylinder has 10 min left.",
               "Nobody is connected to an empty cylinder for more than 2 min in the next drill.", Cause.EMPTY),
        Result("Two regulators lay unused while two patients waited.",
               "Fit every regulator as soon as the area opens.",
               "Regulators not in use while somebody waits: 0 min in the next drill.", Cause.IDLE_REGULATOR),
        Result("The truck came 25 min late and nothing was put in its place.",
               "Agree beforehand from whom cylinders are borrowed.",
               "A second source is asked within 5 min of the news.", Cause.DELIVERY),
    )  # fmt: skip


def _log(orders: tuple[Order, ...]) -> Log:
    notes = (
        Note(NoteKind.CORRECTED, 3, "patient", "p1", "P01", "The only patient that can be meant is P01.", 8.0),
        Note(NoteKind.LEFT_OUT, 5, "supply", "=C9", "", "There is no cylinder '=C9'.", 12.0),
        Note(NoteKind.CORRECTED, 6, "by", "Somebody Real", "field staff 1", "There is no 'Somebody Real'.", 13.0),
        Note(NoteKind.GAP, 9, "", "", "", "P03 is served from C3, and nobody wrote that C3 was opened.", 21.0),
        Note(NoteKind.CONTRADICTION, 12, "time", "14:99", "", "Two lines say where P06 is at T+40.", 40.0),
        Note(NoteKind.GAP, 0, "", "", "", "Nothing is written after T+84.", math.nan),
    )
    return Log("hall-log.csv", orders, tuple(range(2, 2 + len(orders))), notes, len(orders) + 1, 1)


@functools.cache
def made_debrief(*, exercise: bool = True, notes: bool = True) -> Debrief:
    """Return the debrief; without an exercise there are no injects, without notes the log is spotless."""
    scenario, planned = _planned()
    objectives = _objectives()
    if exercise:
        told = tuple(reached.objective for reached in objectives)
        wave = tuple(each for each in scenario.patients if each.label in ("P08", "P09"))
        injects = tuple(
            dataclasses.replace(each, patients=wave) if each.kind is InjectKind.SECOND_WAVE else each
            for each in _INJECTS
        )
        scenario = dataclasses.replace(scenario, exercise=Exercise((), (), injects, told, 3, 0.12))
    poor = _poor(planned.this.plan.orders)
    team = Judged(Plan("the team", poor), replay(scenario, poor))
    best = Judged(Plan("best possible", planned.this.plan.orders), planned.this.verdict)
    stretches, losses, causes = _tables(planned.bound, team.verdict.weighted)
    log = _log(poor)
    return Debrief(
        scenario=scenario,
        log=log if notes else dataclasses.replace(log, notes=(), left_out=0),
        team=team,
        best=best,
        usual=planned.usual,
        bound=planned.bound,
        over_time=over_time(scenario, (team, best, *planned.usual)),
        stretches=stretches,
        losses=losses,
        causes=causes,
        missed=_missed(scenario, stretches, best, team),
        objectives=objectives,
        improvements=_improvements(),
        notes=("Gauges in the log were not used.",),
        provenance=Provenance("hall.yaml", "0" * 64, {"max_period": 10.0}, {"name": "HiGHS"}, {"debrief_s": 1.0}),
    )
