"""The decisions that would have gained most: stretches with the largest losses, and what would have been better there.

Each is proven by solving again: what could be reached at most at its start and at its end, and the same by orders that
a crew with a plan gives from both moments on, judged by replay.  Stretches that follow one another and belong to one
wait of the same patients for the same cause are one decision.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.dispatch.resume import orders_from
from mci.drills.debriefed import Cause, Missed
from mci.drills.losses import divide
from mci.drills.missed_words import better_words, did_words
from mci.drills.stretches import Stretch
from mci.drills.trace import SAME
from mci.plan.marks import find_marks
from mci.plan.orders import Action, sort_orders
from mci.replay.judge import replay, stand_at

if TYPE_CHECKING:
    from mci.drills.symptoms import Symptom
    from mci.plan.orders import Order
    from mci.replay.judged import Judged
    from mci.replay.verdict import Verdict
    from mci.scenario.model import Scenario
    from mci.settings import Settings

__all__ = ["MOST", "Wait", "concerning", "find_missed", "waits"]

#: How many decisions are told.
MOST = 3
#: Share of the whole loss, and weighted credit-minutes, below which a stretch is no decision.
_SHARE, _LEAST = 0.01, 0.05
#: A wait is cut off after so long [min]: what is longer is several decisions.
_LONGEST = 20.0


@dataclass(frozen=True, slots=True)
class Wait:
    """Stretches that belong to one wait, their main cause, and the patients in whom it was seen."""

    stretch: Stretch
    cause: Cause
    patients: tuple[str, ...]
    symptoms: tuple[Symptom, ...]


def find_missed(
    scenario: Scenario,
    team: Judged,
    best: Judged,
    stretches: Sequence[Stretch],
    symptoms: Sequence[Symptom],
    settings: Settings,
    say: Callable[[str], None] | None = None,
) -> tuple[Missed, ...]:
    """Return the decisions that would have gained most, the most first.

    Parameters
    ----------
    scenario, team, best
        The incident, what was done, and the best orders with everything known.
    stretches, symptoms
        What was lost when, and what was seen.
    """
    whole = sum(each.lost for each in stretches)
    least = max(_SHARE * whole, _LEAST)
    found = [each for each in waits(scenario, stretches, symptoms) if each.stretch.lost > least]
    largest = sorted(found, key=lambda each: (-each.stretch.lost, each.stretch.start))[:MOST]
    from_then = _FromThen(scenario, team, best, settings)
    made = []
    for each in largest:
        if say is not None:
            say(f"What would have been better from T+{each.stretch.start:.1f} min")
        made.append(_missed(from_then, each))
    return tuple(made)


def waits(scenario: Scenario, stretches: Iterable[Stretch], symptoms: Sequence[Symptom]) -> tuple[Wait, ...]:
    """Return every stretch with a loss, those of one wait joined."""
    made: list[Wait] = []
    for stretch in stretches:
        if stretch.lost <= 0:
            continue
        wait = _wait(scenario, stretch, symptoms)
        if made and _goes_on(made[-1], wait):
            before = made.pop().stretch
            joined = Stretch(before.start, stretch.end, before.possible_start, stretch.possible_end)
            wait = _wait(scenario, joined, symptoms)
        made.append(wait)
    return tuple(made)


def _wait(scenario: Scenario, stretch: Stretch, symptoms: Sequence[Symptom]) -> Wait:
    by_cause: dict[Cause, float] = {}
    for (cause, _), lost in divide(scenario, stretch, symptoms).items():
        by_cause[cause] = by_cause.get(cause, 0.0) + lost
    main = max(by_cause, key=lambda cause: (by_cause[cause], str(cause)))
    mine = [each for each in symptoms if each.cause is main and each.minutes(stretch.start, stretch.end) > SAME]
    amounts: dict[str, float] = {}
    for each in mine:
        amount = each.rate * each.minutes(stretch.start, stretch.end)
        amounts[each.patient] = amounts.get(each.patient, 0.0) + amount
    patients = tuple(sorted(amounts, key=lambda patient: (-amounts[patient], patient)))
    return Wait(stretch, main, patients, tuple(mine))


def _goes_on(before: Wait, after: Wait) -> bool:
    """Tell whether somebody waits for the same cause across the border of two stretches, in all not too long."""
    if before.cause is not after.cause or before.stretch.end < after.stretch.start - SAME:
        return False
    if after.stretch.end - before.stretch.start > _LONGEST:
        return False
    border = after.stretch.start
    ends = {each.patient for each in before.symptoms if each.end >= border - SAME}
    return bool(ends & {each.patient for each in after.symptoms if each.start <= border + SAME})


def concerning(orders: Sequence[Order], earlier: Iterable[Order], patients: Sequence[str]) -> tuple[Order, ...]:
    """Return the orders that some patients are told of: their own, and changes of cylinder on what they are on.

    Parameters
    ----------
    earlier
        Orders before these, in the order of time: they say what the patients are on at first.
    patients
        Whose; all orders are meant where there are none.
    """
    if not patients:
        return tuple(orders)
    last = {each.patient: each for each in earlier if each.patient in patients}
    mine = [each for each in (*last.values(), *orders) if each.patient in patients]
    outlets = {each.regulator or each.supply for each in mine}
    return tuple(
        each
        for each in orders
        if each.patient in patients or (each.action is Action.CHANGE and (each.regulator or each.supply) in outlets)
    )


@dataclass(frozen=True, slots=True)
class _GoneOn:
    """Orders up to a moment as they were, others from then on, and what they reach together."""

    orders: tuple[Order, ...]
    verdict: Verdict

    @property
    def immediate(self) -> float:
        """Credit-minutes of Immediate patients."""
        rows = self.verdict.coverage
        return float(sum(rows.loc[rows["category"] == "immediate", "credit_min"]))


class _FromThen:
    """What a crew with a plan makes of an incident from a moment on; each moment is asked once."""

    def __init__(self, scenario: Scenario, team: Judged, best: Judged, settings: Settings) -> None:
        self.scenario = scenario
        self.team = team
        self.done = sort_orders(list(team.plan.orders))
        self.marks = find_marks(scenario)
        self._settings = settings
        self._known = {
            0.0: _GoneOn(best.plan.orders, best.verdict),
            scenario.horizon: _GoneOn((), team.verdict),
        }

    def at(self, minute: float) -> _GoneOn:
        """Return orders from a moment on, everything before it as it was."""
        if minute not in self._known:
            standing = stand_at(self.scenario, self.done, minute)
            orders = orders_from(self.scenario, standing, self._settings)
            verdict = replay(self.scenario, (*standing.orders, *orders))
            self._known[minute] = _GoneOn(orders, verdict)
        return self._known[minute]


def _missed(from_then: _FromThen, wait: Wait) -> Missed:
    start, end = wait.stretch.start, wait.stretch.end
    then, later = from_then.at(start), from_then.at(end)
    after = -math.inf if start == 0 else start + SAME  # what was done at the start counts as done
    rows = tuple(n for n, each in enumerate(from_then.done, 1) if after < each.minute <= end + SAME)
    better = tuple(each for each in sort_orders(list(then.orders)) if each.minute <= end + SAME)
    earlier = from_then.done[: rows[0] - 1] if rows else [each for each in from_then.done if each.minute <= after]
    done = [from_then.done[row - 1] for row in rows]
    return Missed(
        start=start,
        end=end,
        did=did_words(wait, concerning(done, earlier, wait.patients), from_then.marks),
        better=better_words(concerning(better, earlier, wait.patients) or better, from_then.marks),
        did_rows=rows,
        better_orders=better,
        worth=wait.stretch.lost,
        by_orders=then.verdict.weighted - later.verdict.weighted,
        immediate_min=then.immediate - later.immediate,
        cause=wait.cause,
        patients=wait.patients,
    )
