"""The judge of trips: drives them again on the network by arithmetic alone.

Nothing comes from whoever planned them; no route is looked for, only the roads that are named are driven.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.plan.deliver import deliver
from mci.replay.laws_store import judge_store
from mci.replay.laws_trip import TRIP_LAWS
from mci.replay.verdict import Finding
from mci.replay.visits import look_up_visits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.plan.trips import Trip
    from mci.replay.verdict import Verdict
    from mci.scenario.model import Scenario

__all__ = ["judge_trips"]


def judge_trips(scenario: Scenario, trips: Sequence[Trip], verdict: Verdict | None = None) -> tuple[Finding, ...]:
    """Judge trips by every law, each for itself: nothing is mended, and nothing that follows is left out.

    Parameters
    ----------
    scenario
        The incident with its network.
    trips
        In any order; findings count their rows as :func:`mci.plan.trip_table.trip_rows` does, from 1.
    verdict
        Of orders on what the trips bring (:func:`mci.plan.deliver.deliver`): it tells which cylinders are empty by
        when.  Without it, empties that areas do not have from the start cannot be judged.

    Returns
    -------
    findings
        None where the trips can be carried out; the first offence first, what cannot be judged last.

    Raises
    ------
    ValueError
        The scenario has no network.
    """
    network = scenario.network
    if network is None:
        msg = "a scenario without a network has no trips"
        raise ValueError(msg)
    visits, faults = look_up_visits(network, trips)
    found = [(law, fault) for law, each in faults.items() for fault in each]
    found += [(law, fault) for law, yields in TRIP_LAWS for fault in yields(visits)]
    found += judge_store(deliver(scenario, trips), network, visits, verdict)
    findings = [Finding(law, fault.row, fault.minute, fault.reason, fault.judged) for law, fault in found]
    return tuple(sorted(findings, key=lambda each: (not each.judged, each.minute, each.row)))
