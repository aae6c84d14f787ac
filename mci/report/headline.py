"""The first sentences of a report: how much of the need is met, and the worst that happens.

“This plan” is the one that can be carried out, “at best” the optimum with patients and cylinders divisible.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.lp.outcome import Status
from mci.report.compared import measure
from mci.report.comparison import limit_words, need_words
from mci.report.page import KeyFigure
from mci.report.words import NOISE, about, category_word, count, moment, share, span
from mci.units import format_clock, format_moment

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

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
    """Return the sentences of the headline; the first stands alone.

    Where there is a plan that can be carried out, it comes first, with the bound beside it; ``windows`` are then its
    own, else those at best.
    """
    scenario = run.scenario
    end = moment(scenario.horizon, scenario.start)
    worst = f"{window_sentence(_worst(windows, scenario.weights), titles, scenario.start)}." if windows else ""
    if run.executable is None:
        if not windows:
            return (
                f"At best, nobody falls below target before {end}, the end of the plan.",
                "Every patient is then on the prescribed device and flow throughout.",
            )
        first = f"What is at hand meets at best {share(everyone['coverage'])} of the need up to {end}."
        return first, f"Worst, even at best: {worst}"
    *_, ours, best = measure(scenario, run.outcome.bound, run.coverage, run.plans)
    need, limit = need_words(scenario, run.coverage), limit_words(best, strict=is_strict(run))
    first = f"This plan meets {share(ours.weighted)} of the {need} up to {end}; {limit}."
    if not worst:
        return first, "In this plan, nobody is below target for as long as a minute."
    return first, f"Worst in this plan: {worst}" + (" At best, nobody falls below target." if run.windows.empty else "")


def is_strict(run: Run) -> bool:
    """Whether the run served category after category instead of trading them by their weights."""
    return run.provenance.settings.get("priority") == "strict"


def standing(run: Run) -> str:
    """Say what can be carried out, what is the best possible, and which sections show which."""
    return " ".join(part for part in (_carried_out(run), _best(run), _network(run)) if part)


def _carried_out(run: Run) -> str:
    if run.executable:
        return (
            "Replay finds that this plan can be carried out; the comparison, the shortage, cylinders over time and the "
            "order sheets show it."
        )
    return "No orders are shown: replay found none that can be carried out." if run.plans else ""


def _network(run: Run) -> str:
    if run.scenario.network is None:
        return ""
    return "What vehicles of the network could bring is not counted here: mci resupply plans their trips."


def _best(run: Run) -> str:
    if run.outcome.status is Status.OPTIMAL:
        rule = "category after category" if is_strict(run) else "by these weights"
        return (
            f"What is marked “at best” is the best possible {rule}, with patients and cylinders divisible: "
            "a crew can at most do as well."
        )
    gap = 1 - run.outcome.achieved / run.outcome.bound if run.outcome.bound > 0 else 0.0
    return (
        f"The solver {run.outcome.status}: what is marked “at best”, with patients and cylinders divisible, may still "
        f"be bettered (by at most {100 * gap:.1f} % of weighted coverage)."
    )


def key_figures(
    run: Run, everyone: Record, windows: Sequence[Record], unit: PatientTime, first_empty: Sequence[Record]
) -> tuple[KeyFigure, ...]:
    """Choose the six numbers that a reader should take away: those of the plan to carry out, where there is one."""
    start = run.scenario.start
    starts = [float(window["start_min"]) for window in windows]
    dry = [float(row["empty_min"]) for row in first_empty if row["empty_min"] == row["empty_min"]]
    gas = [
        row for row in run.resupply.to_dict("records") if row["goal"] == "everyone" and row["litres"] == row["litres"]
    ]
    extra = sum(float(row["quantity"]) for row in gas)
    cylinders = f"{'cylinder' if extra == 1 else 'cylinders'} ({run.scenario.resupply.cylinder.key})"
    return (
        *_achieved(run, everyone, unit),
        _first(starts, "shortage", "in this plan" if run.executable else "at best", start),
        _first(dry, "area with empty cylinders", "at best", start),
        KeyFigure(count(extra), f"more {cylinders} at least, so that nobody is below target", extra > 0),
    )


def _achieved(run: Run, everyone: Record, unit: PatientTime) -> Iterator[KeyFigure]:
    if run.executable:
        *_, ours, _ = measure(run.scenario, run.outcome.bound, run.coverage, run.plans)
        met, parts, whose = ours.weighted, ours.coverage["all"], "in this plan"
        need = need_words(run.scenario, run.coverage)
    else:
        met, parts, whose, need = everyone["coverage"], everyone, "at best", "need"
    lower, without = parts["below_target_patient_min"], parts["without_patient_min"]
    yield KeyFigure(share(met), f"of the {need} is met {whose}", met < 1 - NOISE)
    yield KeyFigure(unit.write(lower), f"{unit.unit} on a lower rung {whose}", lower > NOISE)
    yield KeyFigure(unit.write(without), f"{unit.unit} without oxygen {whose}", without > NOISE)


def _first(moments: Sequence[float], label: str, whose: str, start: int | None) -> KeyFigure:
    if not moments:
        return KeyFigure("none", f"{label} at any time, {whose}", short=False)
    clock = format_clock(min(moments), start)
    return KeyFigure(
        format_moment(min(moments)), f"first {label} {whose}" + (f", at {clock}" if clock else ""), short=True
    )
