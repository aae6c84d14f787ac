"""The best list for every amount of money, in words: what the next money buys, and where the chosen list stands."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from mci.report.series import records
from mci.report.stock_page import FrontierRow
from mci.report.stock_words import minutes_words, money_words, points, without_noise
from mci.report.study_words import amount
from mci.report.words import NOISE, TIED, at_most, category_word, share
from mci.scenario.model import CATEGORIES
from mci.stocking.result import CHOSEN

if TYPE_CHECKING:
    from mci.report.series import Record
    from mci.stocking.result import Stock

__all__ = ["chosen_list", "curve_categories", "curve_rows", "frontier_rows", "next_step"]

_SIGN = {"+": "+", "-": "−"}
_SAME_MONEY = 0.005  # less than a cent


def chosen_list(found: Stock) -> Record:
    """Return the row of the chosen list."""
    return records(found.lists[found.lists["list"] == CHOSEN])[0]


def curve_categories(found: Stock) -> tuple[str, ...]:
    """Return the categories of which the curve says something."""
    return tuple(category for category in CATEGORIES if f"coverage_{category}" in found.frontier.columns)


def curve_rows(found: Stock) -> list[Record]:
    """Return the lists of the curve by cost, each once: several budgets may buy the same list."""
    rows = records(found.frontier.sort_values(["cost", "budget"], kind="stable"))
    kept: list[Record] = []
    for row in rows:
        if math.isnan(row["cost"]) or math.isnan(row["weighted"]):
            continue
        if kept and row["cost"] <= kept[-1]["cost"] + _SAME_MONEY and row["weighted"] <= kept[-1]["weighted"] + NOISE:
            continue
        kept.append(row)
    return kept


def _is_chosen(mine: Record, row: Record) -> bool:
    """Tell whether a list of the curve costs and reaches what the chosen one does."""
    return bool(abs(row["cost"] - mine["cost"]) <= _SAME_MONEY and abs(row["weighted"] - mine["weighted"]) <= NOISE)


def frontier_rows(found: Stock) -> tuple[FrontierRow, ...]:
    """Say each list of the curve; the chosen one stands among them by its cost, where it is none of them."""
    rows = curve_rows(found)
    made, before = [], None
    mine, money = chosen_list(found), found.stocking.money
    outside = rows and not any(_is_chosen(mine, row) for row in rows)
    for row in rows:
        if outside and row["cost"] > mine["cost"]:
            made.append(_outside(found, mine))
            outside = False
        made.append(
            FrontierRow(
                cost=money_words(row["cost"], money),
                weighted=share(row["weighted"]),
                bound="–" if math.isnan(row["upper"]) else at_most(row["upper"]),
                step="" if before is None else points(row["weighted"] - before["weighted"]),
                coverages=tuple(_share(row[f"coverage_{category}"]) for category in curve_categories(found)),
                tails=tuple(_amount(row[f"tail_{category}_min"]) for category in curve_categories(found)),
                added=_changes(row),
                chosen=_is_chosen(mine, row),
            )
        )
        before = row
    return (*made, _outside(found, mine)) if outside else tuple(made)


def _outside(found: Stock, mine: Record) -> FrontierRow:
    """Put the chosen list beside the curve; what it reaches by category stands among its goals."""
    none = ("–",) * len(curve_categories(found))
    cost = money_words(mine["cost"], found.stocking.money)
    words = "This list, chosen for its goals at least cost, not for weighted coverage"
    return FrontierRow(cost, share(mine["weighted"]), "–", "", none, none, words, chosen=True)


def _changes(row: Record) -> str:
    """Write what comes in and goes out, each number on one line with what it counts, with a minus for what goes."""
    return re.sub(r"(?<!\S)([+-])(\d+) ", lambda found: f"{_SIGN[found[1]]}{found[2]}{TIED}", str(row["added"] or ""))


def _share(value: float) -> str:
    return "–" if math.isnan(value) else share(value)


def _amount(value: float) -> str:
    return "–" if math.isnan(value) else amount(without_noise(value))


def next_step(found: Stock) -> str:
    """Say what the next money buys on the curve, from the money of the chosen list on."""
    rows, cost, money = curve_rows(found), chosen_list(found)["cost"], found.stocking.money
    if not rows:
        return ""
    base = next((row for row in reversed(rows) if row["cost"] <= cost + _SAME_MONEY), None)
    least = -math.inf if base is None else base["weighted"] + 5e-4  # what would read as +0.0 points
    after = next((row for row in rows if row["cost"] > cost + _SAME_MONEY and row["weighted"] >= least), None)
    if base is None:
        return ""
    if after is None:
        most = money_words(max(row["cost"] for row in rows), money)
        return f"Up to {most}, as far as was looked, more money buys no more weighted coverage."
    bought = [f"{points(after['weighted'] - base['weighted'])} of weighted coverage"]
    for category in curve_categories(found)[:1]:
        fewer = base[f"tail_{category}_min"] - after[f"tail_{category}_min"]
        if fewer > NOISE:
            who = category_word(category)
            bought.append(f"{minutes_words(fewer)} less without oxygen for {who} in the mean of the worst 5{TIED}%")
    changed = f"; in and out: {_changes(after)}" if after["added"] else ""
    return (
        f"What the next {money_words(after['cost'] - base['cost'], money)} buys, from the best list for "
        f"{money_words(base['cost'], money)} to the best for {money_words(after['cost'], money)}: "
        f"{' and '.join(bought)}{changed}."
    )
