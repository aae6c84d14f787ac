"""A small drill as it is played, made without a search: four casualties, three regulators, three injects."""

from __future__ import annotations

import dataclasses
import functools
import tempfile
from collections.abc import Iterable
from pathlib import Path

import pandas as pd
from made_yard import YARD
from planned import plan_all

from mci.drills.cards import make_cards
from mci.drills.events import list_events
from mci.drills.happen import happened
from mci.drills.result import Difficulty, Drill
from mci.drills.table_top import TableTop
from mci.provenance import Provenance
from mci.scenario import read_scenario
from mci.scenario.exercise import Exercise, Inject, InjectKind, Measure, Objective
from mci.scenario.model import Scenario

__all__ = ["INJECTS", "POWER", "WITH_MACHINES", "play", "played_drill"]

_TOOL = "yard yoke regulator 0-15 L/min"
INJECTS = (
    Inject(InjectKind.REGULATOR_LEAKS, 20.0, "yard", f"{_TOOL} 2"),
    Inject(InjectKind.CYLINDER_LOW, 14.0, "yard", "yard US D aluminium 3", psi=600.0),
    Inject(InjectKind.DELIVERY_LATE, 26.0, "yard", "truck", 12.0),
    Inject(InjectKind.WRONG_WASHER, 10.0, "yard", f"{_TOOL} 3", 8.0),
)


#: The same yard with one cylinder, and two concentrators that need power.
WITH_MACHINES = YARD.replace(
    "supplies: [{cylinder: US D aluminium, count: 4, pressure: 1500 psi, area: yard}]",
    "supplies: [{cylinder: US D aluminium, count: 1, pressure: 1500 psi, area: yard},\n"
    "           {concentrator: concentrator 5 L/min, count: 2, area: yard}]\n"
    "power: [{power: 2 kW, area: yard}]",
)
POWER = (Inject(InjectKind.POWER_FAILS, 20.0, "yard", minutes=10.0),)


@functools.cache
def _read(text: str) -> Scenario:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "yard.yaml"
        file.write_text(text, encoding="utf-8")
        return read_scenario(file)


@functools.cache
def played_drill(injects: tuple[Inject, ...] = INJECTS, text: str = YARD) -> Drill:
    """Return a drill with these injects; what nobody needs at the table is left empty."""
    objectives = (Objective("O1", "Nobody is on empty for more than 2 min", Measure.EMPTY, minutes=2.0),)
    told = _read(text)
    briefed = dataclasses.replace(told, exercise=Exercise(injects=injects, objectives=objectives, seed=5))
    actual = happened(briefed, injects)
    planned = plan_all(actual)
    return Drill(
        briefed=briefed,
        actual=actual,
        seed=5,
        casualties=make_cards(briefed, actual, 5),
        events=list_events(briefed, actual, sorted(injects, key=lambda each: each.at), objectives),
        objectives=objectives,
        best=planned.this,
        again=None,
        usual=planned.usual,
        over_time=pd.DataFrame(),
        decisions=(),
        difficulty=Difficulty(None, None, 0.0, 0.0, planned.this.verdict.weighted, planned.bound, 1),
        exercise_text=f"{text}# {len(injects)} injects\n",
        notes=(),
        provenance=Provenance("yard.yaml", "0" * 64, {}, {}, {}),
    )


def play(session: TableTop, lines: Iterable[str]) -> list[tuple[str, ...]]:
    """Type lines; return what each shows."""
    return [session.type_line(line) for line in lines]
