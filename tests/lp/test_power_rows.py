"""Machines run or do not run: power counts in whole units."""

from __future__ import annotations

import pytest
from incidents import concentrators, ladder, patients, scenario

from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.scenario.model import Scenario
from mci.settings import Settings


def bound(incident: Scenario) -> float:
    """Return the optimum."""
    return allocate(incident, count_demand(incident), Settings()).outcome.bound


@pytest.mark.parametrize(("watts", "served"), [(299, 0), (300, 1), (599, 1), (600, 2)])
def test_power_for_part_of_a_machine_is_worth_nothing(watts: float, served: int) -> None:
    """Concentrators of 300 W for two patients, an hour: as many run as the power is enough for."""
    incident = scenario(
        horizon=60,
        ladders=[ladder("l", ("cannula", 5, 1.0))],
        patients=[patients(2, "l")],
        lots=[concentrators(2)],
        power={"a": watts},
    )
    assert bound(incident) == pytest.approx(60 * served)


def test_machines_of_two_powers_share_their_common_measure() -> None:
    """700 W for machines of 300 and 350 W: multiples of 50 W, so all of it counts; 749 W are 700 W."""
    lots = [concentrators(2, key="small", watts=300), concentrators(2, key="large", watts=350)]
    bounds = [
        bound(
            scenario(
                horizon=60,
                ladders=[ladder("l", ("cannula", 5, 1.0))],
                patients=[patients(4, "l")],
                lots=lots,
                power={"a": watts},
            )
        )
        for watts in (700, 749)
    ]
    assert bounds[0] == pytest.approx(bounds[1])
