"""Packing lists in words: money, masses, goals, differences of shares; the same on the terminal and on the page."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.report.study_words import amount
from mci.report.words import NOISE, TIED, category_word, share
from mci.stocking.result import AVERAGE, CHOSEN, OWNED
from mci.units import format_litres

if TYPE_CHECKING:
    from mci.report.series import Record
    from mci.scenario.model import Scenario
    from mci.scenario.stocking import Goal, Stocking

__all__ = ["counted", "goal_met", "goal_of", "goal_target", "goal_title", "goal_value", "list_words", "litres_words"]
__all__ += ["mass_words", "measure_of", "minutes_words", "money_words", "pack_words", "place_words", "points"]
__all__ += ["target_words", "volume_words", "without_noise", "years_words", "yes_no"]

_KG_PER_LB = 0.45359237
_L_PER_FT3 = 28.316846592
_WHOLE_FROM = 100.0  # money and masses from which parts no longer matter

#: Kinds of candidates as one thing and as several.
_PIECES = {
    "cylinder": ("cylinder", "cylinders"),
    "machine": ("machine", "machines"),
    "regulator": ("regulator or manifold", "regulators or manifolds"),
    "device": ("piece", "pieces"),
    "staff": ("person", "people"),
}


def money_words(value: float, money: str) -> str:
    """Write an amount of money with its currency behind it: whole from 100 on, to the cent below."""
    if math.isnan(value):
        return "–"
    if math.isinf(value):
        return "no limit" if value > 0 else "–"
    rounded = float(round(value)) if abs(value) >= _WHOLE_FROM else round(value, 2)
    digits = 0 if rounded == round(rounded) else 2
    number = f"{rounded + 0.0:,.{digits}f}".replace(",", TIED).replace("-", "−")
    return f"{number}{TIED}{money}"


def years_words(stocking: Stocking) -> str:
    """Say over how many years keeping is counted: ``over 5 years``."""
    return f"over {stocking.years:g}{TIED}year{'' if stocking.years == 1 else 's'}"


def _whole_or_tenth(value: float) -> str:
    number = f"{value:,.0f}" if abs(value) >= _WHOLE_FROM else f"{round(value, 1) + 0.0:,.10g}"
    return number.replace(",", TIED)


def mass_words(kg: float, *, pounds: bool = True) -> str:
    """Write a mass, in pounds too: ``86.9 kg (192 lb)``."""
    if not math.isfinite(kg):
        return "no limit" if kg > 0 else "–"
    told = f"{_whole_or_tenth(kg)}{TIED}kg"
    return f"{told} ({_whole_or_tenth(kg / _KG_PER_LB)}{TIED}lb)" if pounds else told


def volume_words(litres: float) -> str:
    """Write the room that things take: ``193 L``."""
    if not math.isfinite(litres):
        return "no limit" if litres > 0 else "–"
    return f"{_whole_or_tenth(litres)}{TIED}L"


def litres_words(litres: float) -> str:
    """Write stored oxygen as free gas, in cubic feet too, in which fire codes count: ``13 520 L (477 ft³)``."""
    if not math.isfinite(litres):
        return "no limit" if litres > 0 else "–"
    feet = f"{litres / _L_PER_FT3:,.0f}".replace(",", TIED)
    return f"{format_litres(litres).replace(' ', TIED)} ({feet}{TIED}ft³)"


def minutes_words(value: float) -> str:
    """Write patient-minutes with their unit."""
    if math.isnan(value):
        return "–"
    return f"{amount(without_noise(value))} patient-min".replace(" ", TIED)


def without_noise(value: float) -> float:
    """Return an amount of patient-minutes, nothing where there is only the arithmetic of the solver."""
    return 0.0 if abs(value) <= NOISE else value


def points(difference: float) -> str:
    """Write a difference of shares with its sign: ``+1.2 points``."""
    if math.isnan(difference):
        return "–"
    told = f"{100 * difference:+.1f}".replace("-", "−")
    return f"{'0.0' if told in ('+0.0', '−0.0') else told}{TIED}points"


def yes_no(value: object) -> str:
    """Write a truth, of whatever library; ``None`` and no number are ``–``, what is text stays as it is."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return "–"
    return value if isinstance(value, str) else "yes" if value else "no"


def counted(value: object, goals: int) -> str:
    """Say how many of the goals are met: ``2 of 3``."""
    if not goals or value is None or (isinstance(value, float) and math.isnan(value)):
        return "–"
    return f"{int(float(str(value)))}{TIED}of{TIED}{goals}"


def _worst_words(worst: float) -> str:
    return "mean of all" if worst >= 1 else f"mean of the worst {100 * worst:g}{TIED}%"


def goal_title(category: str, measure: str, worst: float) -> str:
    """Name what a goal or a row of the validity is about."""
    if category == "weighted":
        return "All by weight: coverage"
    if measure == "coverage":
        return f"{category_word(category)}: coverage"
    return f"{category_word(category)}: patient-minutes without oxygen, {_worst_words(worst)}"


def target_words(target: float, measure: str) -> str:
    """Write a target as a planner would: ``at least 98.5 %`` or ``at most 60 patient-min``."""
    if math.isnan(target):
        return "–"
    return f"at least {100 * target:.4g}{TIED}%" if measure == "coverage" else f"at most {minutes_words(target)}"


def measure_of(goal: Goal) -> str:
    """Return which measure a goal is about."""
    return "coverage" if goal.coverage is not None else "without_min"


def goal_of(goal: Goal) -> str:
    """Name a goal."""
    return goal_title(goal.category, measure_of(goal), goal.worst)


def goal_target(goal: Goal) -> str:
    """Write what a goal asks for."""
    wanted = goal.coverage if goal.coverage is not None else goal.without_min
    return target_words(math.nan if wanted is None else wanted, measure_of(goal))


def goal_value(measure: str, value: float) -> str:
    """Write what is reached: shares rounded down, minutes with their unit."""
    if math.isnan(value):
        return "–"
    return share(value) if measure == "coverage" else minutes_words(value)


def goal_met(goal: Goal, value: float) -> bool:
    """Tell whether a value meets a goal, but for the arithmetic of the solver."""
    if goal.coverage is not None:
        return value >= goal.coverage - 1e-6
    return value <= (goal.without_min or 0.0) + 1e-6 * max(1.0, goal.without_min or 0.0)


def list_words(name: str) -> str:
    """Name a list: those of the program in words, rules of thumb by the planner's name."""
    return {CHOSEN: "This list", OWNED: "What is owned", AVERAGE: "For the average incident"}.get(name, name)


def place_words(scenario: Scenario, station: str) -> str:
    """Name a station by the title of its place, where it is one of the network."""
    places = scenario.network.places if scenario.network is not None else ()
    return next((place.title for place in places if place.key == station), station)


def pack_words(row: Record) -> str:
    """Say what packs hold where that is more than one thing each: ``30 pieces``."""
    if row["units"] == row["packs"]:
        return ""
    one, many = _PIECES.get(str(row["kind"]), ("piece", "pieces"))
    return f"{amount(float(row['units']))} {one if row['units'] == 1 else many}"
