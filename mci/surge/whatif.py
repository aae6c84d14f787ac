"""What-if: the main function of a study of cases side by side."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from mci.lp.worth import worth_of_one_more
from mci.scenario.numbers import NumberKind
from mci.settings import Settings
from mci.surge.breaks import find_breaks
from mci.surge.cases import Case, Role
from mci.surge.combine import How
from mci.surge.means import Means, evaluator
from mci.surge.study import Study, refuse_idle, spread
from mci.surge.swings import add_swings, find_swings
from mci.surge.table import case_table, value_of
from mci.surge.whatif_result import BREAK_COLUMNS, SWING_COLUMNS, WhatIf

if TYPE_CHECKING:
    from mci.scenario.draft import Draft
    from mci.scenario.numbers import Number
    from mci.surge.breaks import Break, Point
    from mci.surge.cases import Row

__all__ = ["HOW_WORDS", "run_whatif"]

#: How cases were made, in words.
HOW_WORDS = {How.ALL: "all combinations", How.PAIRS: "pairs", How.ONE: "one by one"}
_FROM_FILE = "cases of a file"


def run_whatif(
    draft: Draft,
    cases: Sequence[Case],
    how: How | None = How.ALL,
    settings: Settings | None = None,
    *,
    orders: bool = False,
    rolling_every: float | None = None,
    trips: bool = False,
    goal: float = 1.0,
    means: Means | None = None,
) -> WhatIf:
    """Evaluate variants of a scenario side by side, and find what moves coverage and where it breaks.

    Parameters
    ----------
    draft
        The scenario as written.
    cases
        The variants (:func:`mci.surge.combine.combine`, :func:`mci.surge.case_file.read_cases`).
    how
        How they were made; ``None`` where they come from a file.
    settings
        How to plan; the defaults if not given.
    orders
        Whether orders are made for every case and judged, as ``mci plan`` does.
    rolling_every
        How often a crew that expects the scenario as written plans again [min]; ``None`` to leave that out.
    trips
        Whether the trips of the resupply network are planned in every case; else only deliveries that are listed come.
    goal
        Coverage below which a category counts as not covered where breaks are looked for, above 0, at most 1.
    means
        How it is carried out.

    Returns
    -------
    WhatIf
        The same whatever the means.

    Raises
    ------
    UsageError
        A number of the network is varied without trips, or the means cannot be used.
    """
    begin = time.perf_counter()
    means = means or Means()
    settings = settings or Settings()
    paths = list(dict.fromkeys(path for case in cases for path in case.values))
    numbers = {path: draft.find(path) for path in paths}
    refuse_idle(numbers, trips=trips)
    start = draft.scenario().start
    whole = add_swings(cases, numbers, start=start)
    asked = (Role.AS_WRITTEN, Role.CASE)
    with_orders = orders or rolling_every is not None
    whole = tuple(replace(case, orders=with_orders and case.role in asked) for case in whole)
    study = Study(draft, settings, spread([case.values for case in whole]), rolling_every, trips)
    with evaluator(study, whole, means, {"study": "what-if", "goal": goal}) as evaluate:
        rows = evaluate(whole)
        breaks, between, between_rows = find_breaks(numbers, _points(whole, rows, numbers, start), goal, evaluate)
    table = case_table([*whole, *between], [*rows, *between_rows], tuple(numbers.values()), start)
    return WhatIf(
        scenario=study.as_written,
        numbers=tuple(numbers.values()),
        how=_FROM_FILE if how is None else HOW_WORDS[how],
        table=table,
        swings=_swings(table, whole, numbers, start),
        breaks=_break_table(study, breaks, goal),
        notes=study.notes,
        provenance=study.provenance({"cases": len(table), "goal": goal}, time.perf_counter() - begin),
    )


def _points(
    cases: Sequence[Case], rows: Sequence[Row], numbers: Mapping[str, Number], start: int | None
) -> dict[str, list[Point]]:
    """Return by number the cases in which all others are as written, the scenario itself where it is in the range."""
    points: dict[str, list[Point]] = {path: [] for path, n in numbers.items() if n.kind is not NumberKind.WORD}
    asked: dict[str, list[float]] = {path: [] for path in points}
    for case, row in zip(cases, rows, strict=True):
        values = {path: value_of(number, case.values, start) for path, number in numbers.items()}
        other = {path for path, number in numbers.items() if values[path] != value_of(number, {}, start)}
        for path, known in points.items():
            value = values[path]
            if isinstance(value, str):
                continue  # full, which has no place among values
            if path in case.values:
                asked[path].append(value)
            if other <= {path}:
                known.append((value, case.values.get(path, numbers[path].text), row))
    return {
        path: [point for point in known if min(asked[path]) <= point[0] <= max(asked[path])]
        for path, known in points.items()
        if asked[path]
    }


def _swings(
    table: pd.DataFrame, cases: Sequence[Case], numbers: Mapping[str, Number], start: int | None
) -> pd.DataFrame:
    """Return what each number does by itself, the largest swing first."""
    shares = dict(zip(table["case"], table["best_share"], strict=True))
    written = shares[cases[0].key]
    ends: dict[str, list[tuple[float, float]]] = {}
    for swing in find_swings(cases, numbers, start=start):
        if math.isfinite(swing.value):
            ends.setdefault(swing.path, []).append((swing.value, shares[swing.key]))
    rows = []
    for path, found in ends.items():
        (low, at_low), (high, at_high) = min(found), max(found)
        if low < high:
            rows.append((path, low, high, at_low, at_high, written))
    swings = pd.DataFrame(rows, columns=list(SWING_COLUMNS))
    reached = swings[["at_low", "at_high", "as_written"]]
    size = reached.max(axis=1) - reached.min(axis=1)
    return swings.loc[size.sort_values(ascending=False, kind="stable").index].reset_index(drop=True)


def _break_table(study: Study, breaks: Sequence[Break], goal: float) -> pd.DataFrame:
    lost = {
        tuple(each.lost_values.items()): each.lost_values for each in breaks if each.lost_values
    }  # often one for all
    # Several categories are often lost in one case, which need be asked only once.
    worths = {key: worth_of_one_more(study.answer(study.scenario(values))) for key, values in lost.items()}
    rows = [
        (
            each.number,
            each.category,
            goal,
            each.kept_to,
            each.lost_at,
            each.direction,
            _binds(worths.get(tuple(each.lost_values.items())), each.category),
        )
        for each in breaks
    ]
    return pd.DataFrame(rows, columns=list(BREAK_COLUMNS))


def _binds(worth: pd.DataFrame | None, category: str) -> str:
    """Return what a category lacks where its coverage is lost: that of which one more would help it most."""
    if worth is None:
        return ""
    gained = worth["weighted_gain_min" if category == "all" else f"{category}_min"].to_numpy(dtype=float)
    return str(worth["resource"].iloc[int(gained.argmax())]) if gained.max(initial=0.0) > 0 else ""
