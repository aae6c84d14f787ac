"""How many patients need oxygen and how many have it over time, by the services of judged plans."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from mci.demand.people import name_people

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.replay.judged import Judged
    from mci.scenario.model import Scenario

__all__ = ["COLUMNS", "over_time"]

COLUMNS = ("plan", "time_min", "need", "credit", "at_target", "below_target", "without")
#: Moments closer than this are one [min].
_SAME = 1e-6


def over_time(scenario: Scenario, plans: Sequence[Judged], names: Sequence[str] = ()) -> pd.DataFrame:
    """Return who needs and who has oxygen, one row per plan and moment at which anything changes.

    Parameters
    ----------
    scenario
        The incident as it happens.
    plans
        Judged on it.
    names
        What to call them in the table; their own names if not given.

    Returns
    -------
    pandas.DataFrame
        Columns :data:`COLUMNS`: patients, and credit in patient equivalents; a row holds until the next of its plan.
        The first row is at 0, the last at the horizon.
    """
    tables = [
        _one(scenario, plan, name) for plan, name in zip(plans, names or [plan.name for plan in plans], strict=True)
    ]
    return pd.concat(tables, ignore_index=True) if tables else pd.DataFrame(columns=list(COLUMNS))


def _one(scenario: Scenario, judged: Judged, name: str) -> pd.DataFrame:
    services = judged.verdict.services
    spells = [(person.arrive, person.leave) for person in name_people(scenario)]
    served = [(each.start, each.end) for each in services]
    ends = np.array([0.0, scenario.horizon, *(end for pair in (*spells, *served) for end in pair)])
    times = np.unique(np.round(ends[(ends >= 0) & (ends <= scenario.horizon)] / _SAME)) * _SAME
    at_target = np.array([each.at_target for each in services], dtype=float)
    need = _counted(times, spells, np.ones(len(spells)))
    top = _counted(times, served, at_target)
    lower = _counted(times, served, 1.0 - at_target)
    return pd.DataFrame(
        {
            "plan": name,
            "time_min": np.round(times, 6),
            "need": need,
            "credit": _counted(times, served, np.array([each.credit for each in services], dtype=float)),
            "at_target": top,
            "below_target": lower,
            "without": np.maximum(need - top - lower, 0.0),
        }
    )


def _counted(times: np.ndarray, spans: Sequence[tuple[float, float]], amounts: np.ndarray) -> np.ndarray:
    """Return what is going on at each moment: the sum of amounts whose span holds it, its end not included."""
    steps = np.zeros(len(times) + 1)
    if spans:
        starts, ends = (np.searchsorted(times, np.array(side) - _SAME / 2) for side in zip(*spans, strict=True))
        np.add.at(steps, starts, amounts)
        np.add.at(steps, ends, -amounts)
    return np.round(np.cumsum(steps)[:-1], 9) + 0.0
