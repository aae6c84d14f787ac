"""From a chosen packing list to its page in words."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

import pandas as pd

from mci.report.cautions import read_cautions
from mci.report.stock_behind import behind_stock_figures
from mci.report.stock_frontier import chosen_list, curve_categories, frontier_rows, next_step
from mci.report.stock_headline import stock_headline, stock_key_figures
from mci.report.stock_lists import compared_lists, patients_rows, target_blocks, worst_rows
from mci.report.stock_page import StockBody
from mci.report.stock_series import list_letters
from mci.report.stock_sheets import pack_sheets
from mci.report.stock_validity import STOCK_POLICIES, fresh_words, policies_judged, valid_rows, worth_words
from mci.report.stock_words import goal_of, goal_target, money_words, years_words
from mci.report.study_page import study_page
from mci.report.study_words import plural
from mci.report.words import at_most, category_word, join_words, share
from mci.stocking.result import AVERAGE, CHOSEN, OWNED

if TYPE_CHECKING:
    from mci.report.cautions import Caution
    from mci.report.study_page import StudyPage
    from mci.stocking.result import Stock

__all__ = ["build_stock_page", "stock_cautions"]

_STANDING = (
    "Fresh incidents are drawn like those that the list was chosen for, but were not used to choose it. At best: "
    "everything known beforehand, patients and cylinders divisible; no crew can beat it. What an incident brings was "
    "drawn from what is written as uncertain; whatever is not written is as in the scenario. The areas' own supplies "
    "are there besides."
)


def stock_cautions() -> tuple[Caution, ...]:
    """Return the cautions of storing oxygen, then those of every result."""
    return (*read_cautions("stock_cautions.csv"), *read_cautions())


def build_stock_page(found: Stock) -> StudyPage[StockBody]:
    """Put a packing list into words."""
    page = study_page(
        "Packing list for oxygen caches",
        found.scenario,
        found.provenance,
        pd.DataFrame({"status": [], "case": []}),
        headline=stock_headline(found),
        standing=_STANDING,
        key_figures=stock_key_figures(found),
        body=_body(found),
        behind=behind_stock_figures(found),
        notes=found.notes,
        more=(("Incidents drawn", str(found.incidents)), ("Fresh incidents", str(found.validity.incidents)),
              ("Seed", str(found.seed))),
    )  # fmt: skip
    return dataclasses.replace(page, cautions=stock_cautions())


def _body(found: Stock) -> StockBody:
    money = found.stocking.money
    row = chosen_list(found)
    return StockBody(
        sheets=pack_sheets(found),
        cost=f"{money_words(row['cost'], money)} {years_words(found.stocking)}",
        categories=tuple((category, category_word(category)) for category in curve_categories(found)),
        marks=_marks(found),
        frontier=frontier_rows(found),
        step=money_words(found.step, money),
        next_step=next_step(found),
        goals=tuple(f"{goal_of(goal)}, {goal_target(goal)}" for goal in found.stocking.goals),
        targets=target_blocks(found),
        compared=compared_lists(found),
        worst=worst_rows(found),
        patients=patients_rows(found),
        policies=tuple((STOCK_POLICIES[p][0], STOCK_POLICIES[p][1]) for p in policies_judged(found)),
        fresh=fresh_words(found),
        validity=valid_rows(found),
        worth=worth_words(found),
        method=_method(found),
    )


def _marks(found: Stock) -> tuple[tuple[str, str, str], ...]:
    """Return how each list is marked in figures: kind, letter, words."""
    there, letters = set(found.lists["list"]), list_letters(found)
    fixed = (("chosen", CHOSEN, "this list"), ("owned", OWNED, "what is owned"),
             ("average", AVERAGE, "list for the average incident"))  # fmt: skip
    made = [(kind, "", words) for kind, name, words in fixed if name in there]
    return (*made, *(("rule", letter, name) for name, letter in letters.items() if name in there))


def _method(found: Stock) -> tuple[tuple[str, str], ...]:
    """Say how the list was found, line by line."""
    uncertainty, money = found.scenario.uncertainty, found.stocking.money
    varies = join_words(list(uncertainty.paths)) if uncertainty is not None and uncertainty.paths else "nothing"
    aim = "the least cost with which every goal is met"
    if found.mode == "budget":
        aim = f"the most weighted coverage in the mean of all incidents for at most {money_words(found.budget, money)}"
    drawn = f"{plural(found.incidents, 'incident')} drawn with seed {found.seed}"
    stopped = "" if found.proven else ", when the search stopped at its time limit"
    return (
        ("Chosen for", f"{aim}; {drawn}."),
        ("What varies", f"{varies}."),
        (
            "How",
            (
                "Whole packs in every cache are the first decision; how each incident then goes at best, with what the "
                "cache brings when it gets there, is the second. Both are one programme, solved in rounds: a list is "
                "tried in all incidents, and what that tells (cuts) bounds every other list."
            ),
        ),
        (
            "How sure",
            f"After {plural(found.rounds, 'round')} and {plural(found.cuts, 'cut')} {_bounds(found)}{stopped}.",
        ),
        (
            "What it cannot know",
            (
                "How likely incidents are that nobody wrote down. Costs, weights, sizes and what is uncertain are the "
                "planner's."
            ),
        ),
    )  # fmt: skip


def _bounds(found: Stock) -> str:
    money = found.stocking.money
    if math.isnan(found.lower) or math.isnan(found.upper):
        return "no bound is known"
    if found.mode == "budget":
        return (
            f"the best list found misses {at_most(found.upper)} of the weighted need, no list misses less than "
            f"{share(found.lower)}"
        )
    return (
        f"the best list found costs {money_words(found.upper, money)}, no list costs less than "
        f"{money_words(found.lower, money)}"
    )
