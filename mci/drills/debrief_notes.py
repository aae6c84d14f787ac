"""What a reader of a debrief should know, as whole sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.drills.debriefed import Cause
from mci.drills.log_faults import Fault, fault_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

    from mci.replay.judged import Judged
    from mci.scenario.model import Scenario

__all__ = ["debrief_notes"]

_NOISE = 1e-6
#: Share of the casualties without a line from which on the log is called thin.  Assumption.
_MANY = 0.25
_ALWAYS = (
    "What was possible is a yardstick, not a mark to be reached.",
    "The bound counts patients in fractions; even the best orders lose a little against it.",
    (
        "A loss is put where it became certain, not where somebody first went without: gas that is spent too fast is "
        "lost while it is spent."
    ),
)


def debrief_notes(
    scenario: Scenario, team: Judged, bound: float, causes: pd.DataFrame, lateness: float
) -> tuple[str, ...]:
    """Return what holds of every debrief, and what holds of this one.

    Parameters
    ----------
    lateness
        What deliveries that were late cost by that alone [weighted credit-minutes].
    """
    return (
        *_ALWAYS,
        *_of_absent(scenario, team),
        *_of_log(team),
        *_of_losses(team, bound, causes),
        *_of_lateness(causes, lateness),
    )


def _of_absent(scenario: Scenario, team: Judged) -> Iterator[str]:
    """Tell a thin log from poor care, as far as that can be told."""
    written = {order.patient for order in team.plan.orders}
    people = name_people(scenario)
    absent = sum(person.key not in written for person in people)
    if absent > _MANY * len(people):
        yield (
            f"{absent} of {len(people)} casualties do not appear in the log. Whoever got oxygen that nobody wrote down "
            "counts as without: ask the team before anything is made of these losses."
        )


def _of_log(team: Judged) -> Iterator[str]:
    orders = team.plan.orders
    if any(fault_of(each, orders) is Fault.IMPOSSIBLE for each in team.verdict.findings):
        yield (
            "What cannot have been as written was carried out as far as it makes sense; what it gained or cost is a "
            "guess."
        )


def _of_losses(team: Judged, bound: float, causes: pd.DataFrame) -> Iterator[str]:
    lost = dict(zip(causes["cause"], causes["lost"], strict=True))
    if team.verdict.weighted > bound + _NOISE * max(bound, 1.0):
        yield "The log reaches more than is possible: not all of it can have been as written; its losses say little."
    if lost.get(Cause.OTHER, 0.0) > _NOISE:
        yield (
            f"What is {Cause.OTHER} was lost while nobody was seen below what is prescribed: mostly oxygen that was "
            "used then and was missing later."
        )


def _of_lateness(causes: pd.DataFrame, lateness: float) -> Iterator[str]:
    if lateness > _NOISE or Cause.DELIVERY in set(causes["cause"]):
        yield (
            "What came late is part of what happened, so waiting for it is no loss against what was possible; the "
            "minutes in which it was seen are told all the same. Had it come on time, "
            f"{max(lateness, 0.0):.1f} weighted credit-minutes more would have been possible at most."
        )
