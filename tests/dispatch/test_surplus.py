"""What the plan does not need any more is handed out."""

from __future__ import annotations

import pytest
from incidents import cylinders, ladder, outlet_set, patients, regulator, scenario

from mci.demand.groups import count_demand
from mci.dispatch.follow import Style, follow_plan
from mci.lp.allocate import allocate
from mci.lp.whole import plan_whole
from mci.replay.judge import replay
from mci.scenario.model import Scenario
from mci.settings import Settings

TWO = ladder("l", ("mask", 10, 1.0), ("mask", 5, 0.6))


def _minutes(incident: Scenario, *, planned: bool, generous: bool) -> float:
    """Return credit-minutes of orders that follow the plan, or a plan that serves nobody."""
    demand = count_demand(incident, 10.0)
    whole = plan_whole(allocate(incident, demand, Settings()), Settings())
    rows = slice(None) if planned else slice(0)
    style = Style(generous=generous)
    return replay(incident, follow_plan(incident, demand, whole.service[rows], whole.draw[rows], style)).weighted


def _incident(litres: float, count: int = 1) -> Scenario:
    return scenario(
        horizon=60,
        ladders=[TWO],
        patients=[patients(count, "l")],
        lots=[cylinders(2, litres)],
        regulators=[regulator(2, outlets=outlet_set("reg"))],
    )


@pytest.mark.parametrize(("generous", "minutes"), [(True, 60.0), (False, 0.0)])
def test_nobody_waits_beside_full_cylinders_although_the_plan_serves_nobody(*, generous: bool, minutes: float) -> None:
    """Gas, a regulator and a patient, and a plan that has nothing for him: he gets it all the same."""
    assert _minutes(_incident(700), planned=False, generous=generous) == pytest.approx(minutes, abs=0.1)


def test_what_the_plan_needs_is_not_handed_out() -> None:
    """Two patients on 2 x 300 L: the plan spreads it thin on the lower rung, and keeps to that."""
    assert _minutes(_incident(300, 2), planned=True, generous=True) == pytest.approx(2 * 0.6 * 60, abs=0.1)
