"""The first sentences of a packing list: what to pack, its cost, what it achieves and risks, and how sure that is."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.report.page import KeyFigure
from mci.report.series import records
from mci.report.stock_frontier import chosen_list
from mci.report.stock_validity import fresh_rows, interval_words, verdict
from mci.report.stock_words import (
    goal_met,
    goal_of,
    goal_target,
    goal_value,
    litres_words,
    mass_words,
    measure_of,
    minutes_words,
    money_words,
    place_words,
    without_noise,
    years_words,
)
from mci.report.study_words import amount, plural
from mci.report.words import TIED, at_most, category_word, join_words, share

if TYPE_CHECKING:
    from mci.report.series import Record
    from mci.scenario.stocking import Goal
    from mci.stocking.result import Stock

__all__ = ["goals_reached", "stock_headline", "stock_key_figures"]

_MOST_NAMED = 7
_SAME = 1e-6  # of a bound: the arithmetic of the solver


def goals_reached(found: Stock, row: Record) -> tuple[tuple[Goal, float], ...]:
    """Return each goal with what a list reaches, over the sampled incidents."""
    return tuple((goal, float(row[f"goal_{n}"])) for n, goal in enumerate(found.stocking.goals, start=1))


def _unmet(found: Stock) -> list[tuple[Goal, float]]:
    return [(goal, value) for goal, value in goals_reached(found, chosen_list(found)) if not goal_met(goal, value)]


def stock_headline(found: Stock) -> tuple[str, ...]:
    """Return the sentences of the headline; the first stands alone."""
    said = (_lead(found), *_packed(found), _paid(found), *_fresh(found), _worst(found), _sure(found))
    return tuple(sentence for sentence in said if sentence)


def _lead(found: Stock) -> str:
    row, money = chosen_list(found), found.stocking.money
    cost = f"{money_words(row['cost'], money)} {years_words(found.stocking)}"
    drawn = f"the {plural(found.incidents, 'incident')} drawn"
    goals, unmet = len(found.stocking.goals), len(_unmet(found))
    if found.mode == "budget":
        reached = f"weighted coverage {share(row['weighted'])} in the mean of {drawn}"
        also = f", and {goals - unmet} of {goals} goals met, each by itself" if goals else ""
        return f"For {cost}, out of {money_words(found.budget, money)}: {reached}{also}."
    if not unmet and not row["together"]:
        return f"For {cost} this list meets each of {goals} goals by itself in {drawn}, not all of them at once."
    if unmet:
        return f"For {cost} this list meets {goals - unmet} of {goals} goals in {drawn}, not all of them."
    every = "the goal" if goals == 1 else "both goals" if goals == 2 else f"all {goals} goals"
    return f"For {cost} this list meets {every} in {drawn}."


def _packed(found: Stock) -> tuple[str, ...]:
    """Say what is packed, cache by cache."""
    told = []
    for cache in found.stocking.caches:
        mine = records(found.packing[found.packing["cache"] == cache.key])
        if not mine:
            told.append(f"{cache.key}: nothing is packed.")
            continue
        named = [f"{amount(float(row['packs']))}{TIED}×{TIED}{row['candidate']}" for row in mine[:_MOST_NAMED]]
        more = len(mine) - len(named)
        if more:
            named.append(f"{more} more kind{'' if more == 1 else 's'} of thing")
        told.append(f"{cache.key}, at {place_words(found.scenario, mine[0]['station'])}: {join_words(named)}.")
    return tuple(told)


def _paid(found: Stock) -> str:
    row, money = chosen_list(found), found.stocking.money
    owned = int(found.packing["owned"].sum()) if len(found.packing) else 0
    there = f"; {plural(owned, 'pack')} of it are there already" if owned > 1 else ""
    there = "; 1 pack of it is there already" if owned == 1 else there
    return (
        f"Cost: {money_words(row['buy'], money)} to buy at once and {money_words(row['yearly'], money)} a year to "
        f"keep{there}."
    )


def _fresh(found: Stock) -> tuple[str, ...]:
    """Say what is left of it on incidents that it was not chosen for."""
    told = []
    for policy, incidents, words in (
        ("best", found.validity.incidents, "at best"),
        ("orders", found.validity.judged, "by orders that a crew can carry out"),
    ):
        rows = [row for row in fresh_rows(found, policy) if not math.isnan(row["mean"])]
        rows = [row for row in rows if row["category"] != "weighted"] or rows
        if not rows:
            continue
        parts = [_fresh_words(row, interval=policy == "best") for row in rows]
        intervals = f", means with 95{TIED}% intervals" if policy == "best" else ""
        told.append(f"On {plural(incidents, 'fresh incident')}, {words}{intervals}: {'; '.join(parts)}.")
    return tuple(told)


def _fresh_words(row: Record, *, interval: bool) -> str:
    measure, who = row["measure"], "weighted" if row["category"] == "weighted" else category_word(row["category"])
    what = f"{who} {'coverage' if measure == 'coverage' else 'without oxygen'}"
    if measure != "coverage" and row["worst"] < 1:
        what += f" in the worst {100 * row['worst']:g}{TIED}% of incidents"
    told = [goal_value(measure, row["mean"])]
    if interval and not math.isnan(row["low"] + row["high"]):
        told.append(f"({interval_words(row)})")
    end = f", {verdict(row)}" if verdict(row) else ""
    return f"{what} {' '.join(told)}{end}"


def _worst(found: Stock) -> str:
    rows = records(found.worst)
    if not rows:
        return ""
    worst = rows[0]
    return (
        f"What it leaves open: in the worst incident drawn (number {worst['incident']}) weighted coverage is "
        f"{share(worst['weighted'])}, and {minutes_words(worst['without_min'])} are without oxygen."
    )


def _sure(found: Stock) -> str:
    """Say how far the choice may be from the best."""
    goals, money = found.mode != "budget", found.stocking.money
    if goals and _unmet(found):
        return "Goals that are not met: " + "; ".join(
            f"{goal_of(goal)}, {goal_value(measure_of(goal), value)} instead of {goal_target(goal)}"
            for goal, value in _unmet(found)
        ) + "."  # fmt: skip
    if math.isnan(found.lower) or math.isnan(found.upper):
        return "How far the choice is from the best possible is not known."
    if found.upper - found.lower <= _SAME * max(abs(found.upper), 1.0):
        better = (
            "cheaper list that keeps the limits meets the goals" if goals else "other list for this money does better"
        )
        return f"No {better} in these incidents: that is proven."
    stopped = "" if found.proven else " The search stopped at its time limit."
    if goals:
        dearer = f"{money_words(found.upper - found.lower, money)} ({at_most(found.gap)})"
        return (
            f"No list that meets the goals in these incidents costs less than {money_words(found.lower, money)}: this "
            f"one is at most {dearer} dearer than need be.{stopped}"
        )
    return (
        f"No list for this money covers more than {at_most(1 - found.lower)} of the weighted need in these incidents; "
        f"this one covers {share(1 - found.upper)}.{stopped}"
    )


def stock_key_figures(found: Stock) -> tuple[KeyFigure, ...]:
    """Choose the six numbers that a reader should take away."""
    row, money = chosen_list(found), found.stocking.money
    goals, unmet = len(found.stocking.goals), len(_unmet(found))
    asked = [each for each in fresh_rows(found, "best") if each["met"] is not None and not math.isnan(each["mean"])]
    held = sum(bool(each["met"]) for each in asked)
    worst = records(found.worst)
    gas = float(found.packing["gas_l"].sum()) if len(found.packing) else 0.0
    return (
        KeyFigure(money_words(row["cost"], money), f"cost {years_words(found.stocking)}", short=False),
        KeyFigure(mass_words(row["mass_kg"], pounds=False), "weight of all that is packed", short=False),
        KeyFigure(litres_words(gas).partition(" (")[0], "oxygen stored, as free gas", short=False),
        KeyFigure(f"{goals - unmet} of {goals}", "goals met in the incidents drawn", short=unmet > 0)
        if goals
        else KeyFigure(share(row["weighted"]), "weighted coverage in the incidents drawn", short=False),
        KeyFigure(f"{held} of {len(asked)}", "goals met on fresh incidents, at best", short=held < len(asked))
        if asked
        else _fresh_figure(found),
        KeyFigure(
            amount(without_noise(worst[0]["without_min"])) if worst else "none",
            "patient-minutes without oxygen in the worst incident drawn",
            short=bool(worst) and without_noise(worst[0]["without_min"]) > 0,
        ),
    )


def _fresh_figure(found: Stock) -> KeyFigure:
    weighted = next((row for row in fresh_rows(found, "best") if row["category"] == "weighted"), None)
    told = "–" if weighted is None or math.isnan(weighted["mean"]) else share(weighted["mean"])
    return KeyFigure(told, "weighted coverage on fresh incidents, at best", short=False)
