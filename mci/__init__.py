"""A planner that makes scarce oxygen go as far as it can when many people are hurt at once.

The public names are loaded when they are first used, so ``import mci`` costs next to nothing.

>>> import mci
>>> run = mci.run(mci.read_scenario("scenarios/ferry-fire.yaml"))  # doctest: +SKIP
>>> run.coverage  # doctest: +SKIP
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from mci.drills.debrief import run_debrief
    from mci.drills.debriefed import Debrief
    from mci.drills.drill import run_drill
    from mci.drills.read_log import read_log
    from mci.drills.result import Drill
    from mci.errors import InputError, NoPlanError, PlannerError, SolverLimitError, UsageError
    from mci.pipeline import Run, run
    from mci.pipeline_resupply import ResupplyRun, run_resupply
    from mci.resupply.schedule import Goal
    from mci.scenario.draft import Draft, read_draft
    from mci.scenario.model import Scenario
    from mci.scenario.read import read_scenario
    from mci.settings import Settings
    from mci.stocking.result import Stock
    from mci.stocking.stock import run_stock
    from mci.surge.risk import run_risk
    from mci.surge.risk_result import Risk
    from mci.surge.whatif import run_whatif
    from mci.surge.whatif_result import WhatIf

__all__ = [
    "Debrief",
    "Draft",
    "Drill",
    "Goal",
    "InputError",
    "NoPlanError",
    "PlannerError",
    "ResupplyRun",
    "Risk",
    "Run",
    "Scenario",
    "Settings",
    "SolverLimitError",
    "Stock",
    "UsageError",
    "WhatIf",
    "read_draft",
    "read_log",
    "read_scenario",
    "run",
    "run_debrief",
    "run_drill",
    "run_resupply",
    "run_risk",
    "run_stock",
    "run_whatif",
]

_HOMES = {
    "Debrief": "mci.drills.debriefed",
    "Draft": "mci.scenario.draft",
    "Drill": "mci.drills.result",
    "Goal": "mci.resupply.schedule",
    "InputError": "mci.errors",
    "NoPlanError": "mci.errors",
    "PlannerError": "mci.errors",
    "ResupplyRun": "mci.pipeline_resupply",
    "Risk": "mci.surge.risk_result",
    "Run": "mci.pipeline",
    "Scenario": "mci.scenario.model",
    "Settings": "mci.settings",
    "SolverLimitError": "mci.errors",
    "Stock": "mci.stocking.result",
    "UsageError": "mci.errors",
    "WhatIf": "mci.surge.whatif_result",
    "read_draft": "mci.scenario.draft",
    "read_log": "mci.drills.read_log",
    "read_scenario": "mci.scenario.read",
    "run": "mci.pipeline",
    "run_debrief": "mci.drills.debrief",
    "run_drill": "mci.drills.drill",
    "run_resupply": "mci.pipeline_resupply",
    "run_risk": "mci.surge.risk",
    "run_stock": "mci.stocking.stock",
    "run_whatif": "mci.surge.whatif",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'mci' has no attribute {name!r}")
    return getattr(importlib.import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return __all__
