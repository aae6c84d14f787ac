"""Goals of a resupply plan in words: what trips can meet at best, what the orders reach, and what forbids more."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.pipeline_resupply import CLOSE
from mci.report.resupply_page import GoalRow
from mci.report.words import at_most, category_word, join_words, share
from mci.resupply.schedule import TOO_FEW

if TYPE_CHECKING:
    from mci.pipeline_resupply import ResupplyRun
    from mci.report.words import PatientTime
    from mci.resupply.schedule import Met

__all__ = ["GOAL_NOTE", "goal_rows", "goal_sentence", "obstacle_sentences", "orders_sentence", "reached_by_orders"]

#: How to read the last column of the table.
GOAL_NOTE = (
    f"Met, yes: the orders reach it but for {100 * CLOSE:g} %, which changing cylinders takes. At best: only with "
    "patients and litres divisible. NO: not even so."
)


def reached_by_orders(found: ResupplyRun) -> dict[tuple[str, str], float]:
    """Return what the orders reach of each goal, per category and area [credit-min]."""
    return {(met.goal.category, met.area): met.reached for met in found.met}


def goal_rows(found: ResupplyRun, unit: PatientTime) -> tuple[GoalRow, ...]:
    """Say each goal at each area: met by the orders (``yes``), only ``at best``, or not even so (``NO``)."""
    titles = {area.key: area.title for area in found.scenario.areas}
    orders = reached_by_orders(found)
    return tuple(
        GoalRow(
            goal=f"{100 * met.goal.share:g} %",
            category=met.goal.category,
            word=category_word(met.goal.category),
            area=titles.get(met.area, met.area),
            needed=unit.write(met.needed),
            best=unit.write(met.reached),
            best_share=_part(met.reached, met.needed),
            orders=unit.write(orders.get((met.goal.category, met.area), 0.0)),
            orders_share=_part(orders.get((met.goal.category, met.area), 0.0), met.needed),
            met=_met(met, orders.get((met.goal.category, met.area), 0.0)),
        )
        for met in found.schedule.met
    )


def _part(reached: float, needed: float) -> str:
    return share(reached / needed if needed > 0 else 1.0)


def _met(best: Met, orders: float) -> str:
    if best.reached < best.needed - TOO_FEW:
        return "NO"
    return "yes" if orders >= (1.0 - CLOSE) * best.needed - TOO_FEW else "at best"


def goal_sentence(found: ResupplyRun, unit: PatientTime) -> str:
    """Say whether the goals can be met and, where not, what forbids it."""
    schedule = found.schedule
    if not schedule.goals:
        return "No goal was asked for: coverage as a whole is as good as trips can make it."
    goals = join_words([f"{goal.category} {100 * goal.share:g} %" for goal in schedule.goals])
    if not schedule.met:
        return f"The goals ({goals}) ask for nothing: nobody of these categories needs oxygen."
    short = [met for met in schedule.met if met.reached < met.needed - TOO_FEW]
    if not schedule.can_meet:
        missing = f"{unit.write(schedule.missing)} {unit.unit} of credit"
        why = join_words([obstacle.constraint for obstacle in schedule.obstacles] or ["what is there in all"])
        return f"The goals ({goals}) cannot be met: at best {missing} are missing. What forbids it: {why}."
    if short:
        places = "one line" if len(short) == 1 else f"{len(short)} lines"
        return (
            f"Nothing forbids the goals ({goals}) where cylinders and trips are divisible, but the whole trips found "
            f"here fall short of them in {places} of the table, even at best."
        )
    if _missed(found):
        return f"The goals ({goals}) are met at every area at best, with patients and litres divisible."
    return f"The goals ({goals}) are met at every area, by the orders to within {100 * CLOSE:g} %."


def orders_sentence(found: ResupplyRun, unit: PatientTime) -> str:
    """Say where the orders miss goals by more than they need for changing cylinders; empty where they do not."""
    missed = _missed(found)
    if not missed:
        return ""
    titles = {area.key: area.title for area in found.scenario.areas}
    worst = max(missed, key=lambda met: met.needed - met.reached)
    goals = f"{len(missed)} of {len(found.met)} goals by area" if len(found.met) > 1 else "the goal"
    gap = worst.needed - worst.reached
    return (
        f"The orders miss {goals} by more than {100 * CLOSE:g} %: "
        f"{'most ' if len(missed) > 1 else ''}{category_word(worst.goal.category)} at "
        f"{titles.get(worst.area, worst.area)}, {unit.write(gap)} of {unit.write(worst.needed)} {unit.unit} "
        f"({at_most(gap / worst.needed)})."
    )


def _missed(found: ResupplyRun) -> list[Met]:
    return [met for met in found.met if met.reached < (1.0 - CLOSE) * met.needed - TOO_FEW]


def obstacle_sentences(found: ResupplyRun, unit: PatientTime) -> tuple[str, ...]:
    """Say for each constraint what would still be missing if it did not bind."""
    return tuple(
        f"Without the limit of {each.constraint}: "
        + (
            "the goals could be met."
            if each.missing <= TOO_FEW
            else f"{unit.write(each.missing)} {unit.unit} still missing."
        )
        for each in found.schedule.obstacles
    )
