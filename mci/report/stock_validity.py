"""A packing list on fresh incidents, and what planning for many of them is worth, in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.report.series import records
from mci.report.stock_page import ValidRow
from mci.report.stock_words import goal_title, goal_value, money_words, points, target_words
from mci.report.study_words import plural
from mci.report.words import NOISE, TIED, category_word, share
from mci.stocking.result import CHOSEN

if TYPE_CHECKING:
    from mci.report.series import Record
    from mci.stocking.result import Stock

__all__ = [
    "STOCK_POLICIES",
    "fresh_rows",
    "fresh_words",
    "interval_words",
    "policies_judged",
    "valid_rows",
    "verdict",
    "worth_words",
]

_NOTHING = 5e-4  # what would read as 0.0 points

#: Whose result it is, by its name in the table: words for a column, and what it means.
STOCK_POLICIES = {
    "best": (
        "best possible",
        "everything is known beforehand, patients and cylinders can be divided; nobody can do better with this list.",
    ),
    "orders": (
        "orders, judged",
        (
            "orders for whole patients and whole cylinders, made with everything known beforehand (with goals by the "
            "priority rule, weights or the categories of the goals first, that misses less of them), carried out and "
            "judged by replay; a well-led crew with a good plan."
        ),
    ),
    "usual": (
        "usual practice",
        (
            "first come, first served at the target flow until the cylinders run out, carried out and judged by "
            "replay; a crew without a plan."
        ),
    ),
}


def fresh_rows(found: Stock, policy: str, name: str = CHOSEN) -> list[Record]:
    """Return what a list reaches on fresh incidents by a policy."""
    table = found.validity.table
    return records(table[(table["list"] == name) & (table["policy"] == policy)])


def policies_judged(found: Stock) -> tuple[str, ...]:
    """Return the policies that have a result, in the order in which they are shown."""
    table = found.validity.table
    return tuple(policy for policy in STOCK_POLICIES if table.loc[table["policy"] == policy, "mean"].notna().any())


def verdict(row: Record) -> str:
    """Say whether a mean meets its target, and whether its whole interval does."""
    if _absent(row["met"]) or math.isnan(row["target"]) or math.isnan(row["mean"]):
        return ""
    if row["met"]:
        return "met for sure" if not _absent(row["sure"]) and row["sure"] else "met, but not for sure"
    better = row["high"] if row["measure"] == "coverage" else row["low"]
    reaches = better >= row["target"] if row["measure"] == "coverage" else better <= row["target"]
    return "not met, but within the interval" if reaches else "not met"


def _absent(value: object) -> bool:
    return value is None or (isinstance(value, float) and math.isnan(value))


def fresh_words(found: Stock) -> str:
    """Say what fresh incidents are."""
    incidents, judged = found.validity.incidents, found.validity.judged
    more = (
        f" For the first {judged} of them orders were made, carried out and judged, and so was usual practice."
        if judged
        else " Orders were not made for them."
    )
    return (
        f"{plural(incidents, 'incident')} drawn anew, which the list was not chosen for: what is met for sure "
        f"here can be expected to hold.{more}"
    )


def valid_rows(found: Stock) -> tuple[ValidRow, ...]:
    """Say each goal, and weighted coverage, with what the chosen list reaches by every policy."""
    rows: dict[tuple[str, str, float, float], dict[str, Record]] = {}
    for row in [each for policy in STOCK_POLICIES for each in fresh_rows(found, policy)]:
        target = math.inf if math.isnan(row["target"]) else row["target"]  # no number equals itself
        key = (row["category"], row["measure"], row["worst"], target)
        rows.setdefault(key, {})[row["policy"]] = row
    policies, made = policies_judged(found), []
    for (category, measure, worst, target), told in rows.items():
        sample = next((row["in_sample"] for row in told.values() if not math.isnan(row["in_sample"])), math.nan)
        made.append(
            ValidRow(
                goal=goal_title(category, measure, worst),
                short=_short_title(category, measure, worst),
                target="–" if math.isinf(target) else target_words(target, measure),
                in_sample=goal_value(measure, sample),
                cells=tuple(_cell(measure, told.get(policy)) for policy in policies),
            )
        )
    return tuple(made)


def _short_title(category: str, measure: str, worst: float) -> str:
    who = "Weighted" if category == "weighted" else category_word(category)
    if measure == "coverage":
        return f"{who} coverage"
    return f"{who} without oxygen{f', worst {100 * worst:g}{TIED}%' if worst < 1 else ''}"


def _cell(measure: str, row: Record | None) -> tuple[str, str, str]:
    if row is None or math.isnan(row["mean"]):
        return "–", "", ""
    return goal_value(measure, row["mean"]), interval_words(row), verdict(row)


def interval_words(row: Record) -> str:
    """Write an interval with its unit once: ``98.3 to 98.9 %``; empty where there is none, or none of any width.

    Shares stay within 0 and 100 %, minutes do not fall below nothing.  A tail mean that hangs on a single incident has
    no interval to speak of.
    """
    low, high, shares = row["low"], row["high"], row["measure"] == "coverage"
    if math.isnan(low + high) or (not shares and high - low <= NOISE < high):
        return ""
    ends = [min(max(end, 0.0), 1.0 if shares else math.inf) for end in (low, high)]
    told = [goal_value(row["measure"], end).removesuffix(f"{TIED}patient-min") for end in ends]
    return f"{told[0].removesuffix(' %')} to {told[1]}"


def worth_words(found: Stock) -> tuple[tuple[str, str], ...]:
    """Say what planning for many incidents is worth, and what knowing would be; each with its name in the trade."""
    told = _known_money(found) if found.mode != "budget" else _known_coverage(found)
    return tuple(each for each in (_many(found), _same_money(found), told) if each[0])


def _many(found: Stock) -> tuple[str, str]:
    worth, money = found.worth, found.stocking.money
    if math.isnan(worth.average_cost) or math.isnan(worth.average_coverage):
        return "For the incident as it is expected no list was found to compare with.", ""
    expected = (
        f"A list made for one incident only, the one that is expected, costs {money_words(worth.average_cost, money)}. "
        f"In the {plural(found.incidents, 'incident')} drawn it reaches {share(worth.average_coverage)} weighted "
        "coverage"
    )
    met = f" and meets {worth.average_goals} of {worth.goals} goals" if worth.goals else ""
    ours = (
        f"this list costs {money_words(worth.chosen_cost, money)}, reaches {share(worth.chosen_coverage)}"
        + (f" and meets {worth.chosen_goals} of {worth.goals}" if worth.goals else "")
    )  # fmt: skip
    return f"{expected}{met}; {ours}. Incidents are rarely as expected, and the bad ones decide.", ""


def _same_money(found: Stock) -> tuple[str, str]:
    """Say what many incidents instead of one gain for the same money."""
    worth, budget = found.worth, found.mode == "budget"
    base, better = worth.average_coverage, worth.chosen_coverage if budget else worth.same_money_coverage
    if math.isnan(base) or math.isnan(better):
        return "", ""
    limit = found.budget if budget else worth.average_cost
    money = f"For the same {'budget' if budget else 'money'} of {money_words(limit, found.stocking.money)}"
    said = (
        f"{money}, the best list for many incidents reaches {share(better)} instead of {share(base)}: "
        f"{points(better - base).removeprefix('+')} more of the weighted need, for no more money, only by looking at "
        "many incidents instead of one."
        if better - base > _NOTHING
        else f"{money}, a list for many incidents does no better than the one for the expected incident."
    )
    return said, "value of the stochastic solution"


def _known_money(found: Stock) -> tuple[str, str]:
    worth, money = found.worth, found.stocking.money
    if math.isnan(worth.known_cost):
        return "", ""
    less = worth.chosen_cost - worth.known_cost
    none = f"; in {worth.known_unmet} of them no list does, and they are left out" if worth.known_unmet else ""
    end = (
        f"The difference, {money_words(less, money)}, is what not knowing costs."
        if less > 0
        else "That is no less than this list costs: the goals ask for the mean of all incidents, and one by itself may "
        "need more."
    )
    said = (
        f"If one knew beforehand which incident comes, and packed so that the goals hold in it, "
        f"{money_words(worth.known_cost, money)} would do on average ({plural(worth.known_incidents, 'incident')} "
        f"looked at{none}). {end}"
    )
    return said, "expected value of perfect information"


def _known_coverage(found: Stock) -> tuple[str, str]:
    worth = found.worth
    if math.isnan(worth.known_coverage):
        return "", ""
    more = max(worth.known_coverage - worth.chosen_coverage, 0.0)
    said = (
        f"If one knew beforehand which incident comes, and packed for it alone, the same money would reach "
        f"{share(worth.known_coverage)} on average ({plural(worth.known_incidents, 'incident')} looked at). Not "
        f"knowing costs about {points(more).removeprefix('+')} of the weighted need: no forecast can be worth more."
    )
    return said, "expected value of perfect information"
