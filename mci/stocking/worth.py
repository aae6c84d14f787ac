"""What planning for many incidents is worth against planning for the average one, and what knowing would be worth."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from mci.stocking.choose import aim_of
from mci.stocking.frontier import COVERAGE_GAP
from mci.stocking.result import Worth

if TYPE_CHECKING:
    from mci.stocking.study import Entry, Study

__all__ = ["measure_worth"]

#: In so many of the incidents, the first ones, the best list for the known incident is sought.
KNOWN = 24


def measure_worth(study: Study, chosen: Entry, average: Entry | None, budget: float | None) -> Worth:
    """Compare the chosen list with that for the average incident, and with one for each incident known beforehand."""
    study.say("what knowing the incident beforehand would be worth")
    count = min(KNOWN, len(study.sampled.values))
    known = study.asked.known(aim_of(study, budget), range(count), study.gap)
    found = [each for each in known if each is not None]
    same = math.nan
    if average is not None:
        best = study.find(study.targets.most(study.layout, average.cost), COVERAGE_GAP)
        same = math.nan if best is None else -best.upper
    mean = float(np.mean([each.upper for each in found])) if found else math.nan
    return Worth(
        chosen_cost=chosen.cost,
        average_cost=math.nan if average is None else average.cost,
        chosen_coverage=study.weighted(chosen),
        average_coverage=math.nan if average is None else study.weighted(average),
        chosen_goals=sum(study.met(chosen)),
        average_goals=0 if average is None else sum(study.met(average)),
        goals=len(study.targets.goals),
        known_cost=mean if budget is None else math.nan,
        known_coverage=math.nan if budget is None else -mean,
        known_incidents=count,
        known_unmet=count - len(found),
        same_money_coverage=same,
    )
