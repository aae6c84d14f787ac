"""The whole resupply run: trips planned together with the allocation, then orders on what they bring."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.pipeline import Run
    from mci.replay.verdict import Finding
    from mci.resupply.schedule import Schedule
    from mci.scenario.model import Scenario

__all__ = ["ResupplyRun"]


@dataclass(frozen=True, slots=True)
class ResupplyRun:
    """Everything known about the resupply of one incident.

    Parameters
    ----------
    scenario
        The incident with its network, as planned: after any disruption that was asked for.
    disruptions
        What was taken away or delayed, in words; empty where nothing was.
    schedule
        The trips, as late as is safe.
    findings
        What the judge of trips found; empty where the trips can be carried out.
    run
        The incident with what the trips bring as deliveries (``run.scenario``), planned to orders and judged;
        ``run.worth`` and ``run.resupply`` are empty tables, since neither is asked for there.
    """

    scenario: Scenario
    disruptions: tuple[str, ...]
    schedule: Schedule
    findings: tuple[Finding, ...]
    run: Run
