"""The numbers behind the figures of a packing list."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.report.series import records
from mci.report.stock_frontier import curve_categories, curve_rows
from mci.report.stock_words import list_words, money_words
from mci.report.words import category_word, share
from mci.stocking.result import AVERAGE, CHOSEN, OWNED

if TYPE_CHECKING:
    from mci.stocking.result import Stock

__all__ = ["ListMark", "MoneyCurve", "MoneyPanel", "Rounds", "coverage_panels", "list_letters", "mark_words", "rounds"]
__all__ += ["tail_panels"]

_WORST = 0.05  # of incidents, as the columns of the curve have it


@dataclass(frozen=True, slots=True)
class MoneyCurve:
    """What the best lists reach over their cost [money]; each holds until the next one can be paid."""

    name: str
    category: str
    costs: tuple[float, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ListMark:
    """A list as a point: which kind of list, its letter where it is a rule of thumb, cost [money] and value."""

    kind: str
    letter: str
    name: str
    cost: float
    value: float


@dataclass(frozen=True, slots=True)
class MoneyPanel:
    """Curves and lists over money.

    Parameters
    ----------
    bound
        Money, and what no list for so much or less can pass; empty where the curves are none of coverage by weight.
    wanted
        The target of the goal, and its words; NaN where there is none.
    """

    title: str
    shares: bool
    curves: tuple[MoneyCurve, ...]
    bound: tuple[tuple[float, float], ...]
    marks: tuple[ListMark, ...]
    wanted: float
    money: str


@dataclass(frozen=True, slots=True)
class Rounds:
    """How the bounds of the choice closed in, round by round; money, or the missed share of the weighted need."""

    numbers: tuple[int, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    unit: str


def list_letters(found: Stock) -> dict[str, str]:
    """Return the letter of each rule of thumb, in the planner's order."""
    return {rule.key: chr(ord("A") + number % 26) for number, rule in enumerate(found.stocking.rules)}


def _marks(found: Stock, column: str) -> tuple[ListMark, ...]:
    """Return every list as a point."""
    letters, made = list_letters(found), []
    for row in records(found.lists):
        kind = {CHOSEN: "chosen", OWNED: "owned", AVERAGE: "average"}.get(row["list"], "rule")
        value = float(row[column])
        if not math.isnan(value) and not math.isnan(row["cost"]):
            letter = letters.get(row["list"], "") if kind == "rule" else ""
            made.append(ListMark(kind, letter, list_words(row["list"]), row["cost"], value))
    return tuple(made)


def _curve(found: Stock, column: str, name: str, category: str) -> MoneyCurve:
    rows = [row for row in curve_rows(found) if not math.isnan(row[column])]
    costs, values = [float(row["cost"]) for row in rows], [float(row[column]) for row in rows]
    return MoneyCurve(name, category, tuple(costs), tuple(values))


def coverage_panels(found: Stock) -> tuple[MoneyPanel, ...]:
    """Return weighted coverage, and coverage by category, over the money."""
    rows = curve_rows(found)
    if not rows:
        return ()
    bound = tuple(
        (float(row["budget"]), float(row["upper"]))
        for row in records(found.frontier.sort_values("budget", kind="stable"))
        if not math.isnan(row["upper"])
    )
    weighted = _curve(found, "weighted", "best list for the money", "")
    curves = tuple(_curve(found, f"coverage_{c}", category_word(c), c) for c in curve_categories(found))
    first = MoneyPanel(
        "All, by weight", True, (weighted,), bound, _marks(found, "weighted"), math.nan, found.stocking.money
    )
    second = MoneyPanel(
        "By category", True, tuple(c for c in curves if c.costs), (), (), math.nan, found.stocking.money
    )
    return (first, second) if second.curves else (first,)


def tail_panels(found: Stock) -> tuple[MoneyPanel, ...]:
    """Return patient-minutes without oxygen in the mean of the worst incidents, a panel a category, over the money."""
    made = []
    for category in curve_categories(found):
        curve = _curve(found, f"tail_{category}_min", category_word(category), category)
        if not curve.costs or max(curve.values) <= 0:
            continue
        marks: tuple[ListMark, ...] = ()
        wanted = math.nan
        for number, goal in enumerate(found.stocking.goals, start=1):
            if goal.category == category and goal.without_min is not None and abs(goal.worst - _WORST) < 1e-9:
                marks, wanted = _marks(found, f"goal_{number}"), goal.without_min
        made.append(MoneyPanel(category_word(category), False, (curve,), (), marks, wanted, found.stocking.money))
    return tuple(made)


def rounds(found: Stock) -> Rounds | None:
    """Return how the bounds closed in; ``None`` where there are no two rounds."""
    trace = found.trace.dropna(subset=["lower"])
    if len(trace) < 2:
        return None
    lower, upper = (tuple(map(float, trace[name])) for name in ("lower", "upper"))
    unit = "missed" if found.mode == "budget" else found.stocking.money
    return Rounds(tuple(int(number) for number in trace["round"]), lower, upper, unit)


def mark_words(mark: ListMark, panel: MoneyPanel) -> str:
    """Say a mark."""
    value = share(mark.value) if panel.shares else f"{mark.value:.0f} patient-min"
    return f"{mark.name}: {money_words(mark.cost, panel.money)}, {value}"
