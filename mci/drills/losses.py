"""Where minutes were lost: every lost credit-minute has one stretch of the log, one cause and one category.

**The rule.**  Let V(t) be the best possible of the whole incident, in weighted credit-minutes, with everything that was
done up to t as it was, all that is to come being known.  V(0) is the bound, which no orders can beat; V at the horizon
is what was reached, by replay.  What a stretch from a to b loses is V(a) - V(b): what could still be reached at its
start and no longer at its end.  Stretches follow one another, so their losses sum to the bound less what was reached,
exactly.  Where V rises (orders that no crew can carry out) stretches are joined; nothing is cut off.

Within a stretch the loss is divided among what was seen in it (:mod:`mci.drills.symptoms`), in proportion to weighted
credit-minutes, by cause and category.  Waiting for a delivery that is late loses nothing of what is possible, so it has
no part in it; where nothing else was seen, the loss lies in how things were shared: *nothing left to give*.
A stretch with a loss in which nothing was seen is *not placed*,
divided among categories by the need of those who were there or, if nobody was, of all.

**What it means.**  A loss is put where it became certain, not where it was first felt: gas that is spent too fast is a
loss of that time though somebody goes without only an hour later, and an hour in which somebody goes without for want
of gas is none if nothing could be done about it any more.  *Nothing left to give at that moment* is a loss of a stretch
in which nothing lay idle: it was caused there by how things were shared.  The bound counts patients in fractions and
everybody's hands to the second, so even the best orders have a loss.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import pandas as pd

from mci.demand.people import name_people
from mci.drills.debriefed import Cause

if TYPE_CHECKING:
    from mci.drills.stretches import Stretch
    from mci.drills.symptoms import Symptom
    from mci.scenario.model import Scenario

__all__ = ["cause_table", "divide", "loss_table", "stretch_table"]

_Part = tuple[Cause, str]


def divide(scenario: Scenario, stretch: Stretch, symptoms: Iterable[Symptom]) -> dict[_Part, float]:
    """Divide the loss of a stretch among causes and categories, the largest part first.

    Parameters
    ----------
    symptoms
        Everything seen; what lies outside of the stretch does not count.
    """
    if stretch.lost == 0:
        return {}
    seen: dict[_Part, float] = {}
    for each in symptoms:
        amount = each.rate * each.minutes(stretch.start, stretch.end)
        if amount > 0:
            key = (each.cause, each.category)
            seen[key] = seen.get(key, 0.0) + amount
    seen = {key: amount for key, amount in seen.items() if key[0] is not Cause.DELIVERY} or _shared(seen)
    if not seen:
        needs = _needs(scenario, stretch.start, stretch.end) or _needs(scenario, 0.0, scenario.horizon)
        seen = {(Cause.OTHER, category): need for category, need in needs.items()}
    whole = sum(seen.values())
    parts = ((key, stretch.lost * amount / whole) for key, amount in seen.items())
    return dict(sorted(parts, key=lambda pair: (-abs(pair[1]), pair[0])))


def _shared(seen: dict[_Part, float]) -> dict[_Part, float]:
    """Return what was seen as one cause: how things were shared."""
    shared: dict[_Part, float] = {}
    for (_, category), amount in seen.items():
        shared[Cause.SHORTAGE, category] = shared.get((Cause.SHORTAGE, category), 0.0) + amount
    return shared


def _needs(scenario: Scenario, start: float, end: float) -> dict[str, float]:
    """Return the weighted patient-minutes needed in a stretch by category."""
    needs: dict[str, float] = {}
    for person in name_people(scenario):
        for stay in person.stays:
            minutes = min(stay.end, end) - max(stay.start, start)
            if minutes > 0:
                needs[stay.category] = needs.get(stay.category, 0.0) + scenario.weights[stay.category] * minutes
    return needs


def stretch_table(stretches: Sequence[Stretch]) -> pd.DataFrame:
    """Return one row per stretch, as :class:`mci.drills.debriefed.Debrief` has it."""
    columns = ("start_min", "end_min", "possible_start", "possible_end", "lost")
    rows = [(each.start, each.end, each.possible_start, each.possible_end, each.lost) for each in stretches]
    return pd.DataFrame(rows, columns=list(columns))


def loss_table(scenario: Scenario, stretches: Iterable[Stretch], symptoms: Sequence[Symptom]) -> pd.DataFrame:
    """Return one row per stretch, cause and category with a loss."""
    columns = ("start_min", "end_min", "cause", "category", "lost")
    rows = [
        (stretch.start, stretch.end, cause, category, lost)
        for stretch in stretches
        for (cause, category), lost in divide(scenario, stretch, symptoms).items()
    ]
    return pd.DataFrame(rows, columns=list(columns))


def cause_table(losses: pd.DataFrame, symptoms: Iterable[Symptom]) -> pd.DataFrame:
    """Return one row per cause that was seen or that something was lost to, what lost most first."""
    lost = dict.fromkeys(Cause, 0.0)
    minutes = dict.fromkeys(Cause, 0.0)
    for cause, amount in zip(losses["cause"], losses["lost"], strict=True):
        lost[cause] += amount
    for each in symptoms:
        minutes[each.cause] += each.end - each.start
    whole = sum(lost.values())
    rows = [
        (cause, lost[cause], lost[cause] / whole if whole else 0.0, minutes[cause])
        for cause in sorted(Cause, key=lambda each: (-lost[each], -minutes[each]))
        if lost[cause] or minutes[cause]
    ]
    return pd.DataFrame(rows, columns=["cause", "lost", "share", "patient_min"])
