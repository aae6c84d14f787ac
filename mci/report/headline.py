"""The first sentences of a report: how much of the need is met, and the worst that happens."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.lp.outcome import Status
from mci.report.page import KeyFigure
from mci.report.words import NOISE, about, category_word, count, moment, share, span
from mci.units import format_clock, format_moment

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from mci.pipeline import Run
    from mci.report.series import Record
    from mci.report.words import PatientTime

__all__ = ["headline", "is_strict", "key_figures", "standing", "window_sentence"]


def window_sentence(window: Record, titles: Mapping[str, str], start: int | None) -> str:
    """Say one shortage window in words.

    ``T+38 to T+71: 6 Immediate below target, 3 of them without oxygen, at West portal``.
    """
    when = span(window["start_min"], window["end_min"], start)
    below, without = about(window["most_below_target"]), about(window["most_without"])
    dry = window["most_without"] > NOISE
    if dry and below == without:
        what = f"{without} {category_word(window['category'])} without oxygen"
    elif dry:
        what = f"{below} {category_word(window['category'])} below target, {without} of them without oxygen"
    else:
        what = f"{below} {category_word(window['category'])} below target"
    return f"{when}: {what}, at {titles.get(window['area'], window['area'])}"


def _worst(windows: Sequence[Record], weights: Mapping[str, float]) -> Record:
    """Pick the window to name first: oxygen missing before oxygen reduced, weighted by category."""

    def badness(window: Record) -> tuple[float, float]:
        weight = weights.get(window["category"], 1.0)
        return weight * window["without_patient_min"], weight * window["below_patient_min"]

    return max(windows, key=badness)


def headline(run: Run, everyone: Record, windows: Sequence[Record], titles: Mapping[str, str]) -> tuple[str, ...]:
    """Return the sentences of the headline; the first stands alone."""
    scenario = run.scenario
    end = moment(scenario.horizon, scenario.start)
    if not windows:
        return (
            f"Nobody falls below target before {end}, the end of the plan.",
            "Every patient is on the prescribed device and flow throughout.",
        )
    first = f"What is at hand meets {share(everyone['coverage'])} of the need up to {end}."
    worst = _worst(windows, scenario.weights)
    return first, f"Worst: {window_sentence(worst, titles, scenario.start)}."


def is_strict(run: Run) -> bool:
    """Whether the run served category after category instead of trading them by their weights."""
    return run.provenance.settings.get("priority") == "strict"


def standing(run: Run) -> str:
    """Say what the numbers are worth: how the solver ended and that a crew can at best do as well."""
    if run.outcome.status is Status.OPTIMAL:
        rule = "served category after category" if is_strict(run) else "and these weights"
        return (
            f"Best possible for this scenario {rule}, with patients and cylinders counted as divisible: "
            "a crew can at best do as well."
        )
    gap = 1 - run.outcome.achieved / run.outcome.bound if run.outcome.bound > 0 else 0.0
    return (
        f"The solver {run.outcome.status}: this plan can be carried out as far as the model sees, "
        f"but a better one may exist (by at most {100 * gap:.1f} % of weighted coverage)."
    )


def key_figures(
    run: Run, everyone: Record, windows: Sequence[Record], unit: PatientTime, first_empty: Sequence[Record]
) -> tuple[KeyFigure, ...]:
    """Choose the six numbers that a reader should take away."""
    start = run.scenario.start
    starts = [float(window["start_min"]) for window in windows]
    dry = [float(row["empty_min"]) for row in first_empty if row["empty_min"] == row["empty_min"]]
    gas = [
        row for row in run.resupply.to_dict("records") if row["goal"] == "everyone" and row["litres"] == row["litres"]
    ]
    extra = sum(float(row["quantity"]) for row in gas)
    cylinders = f"{'cylinder' if extra == 1 else 'cylinders'} ({run.scenario.resupply.cylinder.key})"
    lower, without = everyone["below_target_patient_min"], everyone["without_patient_min"]
    return (
        KeyFigure(share(everyone["coverage"]), "of the need is met", everyone["coverage"] < 1 and bool(windows)),
        KeyFigure(unit.write(lower), f"{unit.unit} on a lower rung", lower > NOISE),
        KeyFigure(unit.write(without), f"{unit.unit} without oxygen", without > NOISE),
        _first(starts, "shortage", start),
        _first(dry, "area with empty cylinders", start),
        KeyFigure(count(extra), f"more {cylinders} so that nobody is below target", extra > 0),
    )


def _first(moments: Sequence[float], label: str, start: int | None) -> KeyFigure:
    if not moments:
        return KeyFigure("none", f"{label} at any time", short=False)
    clock = format_clock(min(moments), start)
    return KeyFigure(format_moment(min(moments)), f"first {label}" + (f", at {clock}" if clock else ""), short=True)
