"""What a coordinator compares between cases, group by group, from what is known of each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.beside_facts import OURS
from mci.report.beside_page import Group
from mci.report.beside_rows import NOTHING, count_row, lines_row, moment_row, share_row, time_row
from mci.report.compared import BEST
from mci.report.comparison import need_words
from mci.report.series import records, resupply_steps
from mci.report.words import at_most, category_word, share
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.report.beside_facts import Facts
    from mci.report.beside_page import Row
    from mci.report.page import Need
    from mci.report.series import Record
    from mci.report.words import PatientTime

__all__ = ["categories_of", "make_groups", "need_of"]

_MOST_WINDOWS, _MOST_BINDING, _MOST_STEPS, _MOST_REMARKS = 4, 3, 3, 2
_NO_AREA = "no such area"


def make_groups(facts: Sequence[Facts], unit: PatientTime) -> tuple[Group, ...]:
    """Compare what differs, what is reached by each plan, when it is short, what binds and what must come."""
    return (
        _changes(facts),
        *(_covered(facts, plan, unit) for plan in _plans(facts)),
        _short(facts),
        _stock(facts),
        _binding(facts),
        _sent(facts),
    )


def categories_of(facts: Sequence[Facts]) -> tuple[str, ...]:
    """Return the triage categories that occur in any case, most urgent first."""
    return tuple(c for c in CATEGORIES if any(c in each.measured[BEST].coverage for each in facts))


def need_of(facts: Sequence[Facts]) -> str:
    """Name the yardstick of plans: the weighted need, unless all categories weigh the same in every case."""
    words = {need_words(each.run.scenario, each.run.coverage) for each in facts}
    return "weighted need" if len(words) > 1 else words.pop()


def _plans(facts: Sequence[Facts]) -> list[str]:
    """Return the names of the plans of any case: this plan, the bound, usual practice."""
    named = dict.fromkeys(name for each in facts for name in each.measured)
    return sorted(named, key=lambda name: (name != OURS, name != BEST))


def _changes(facts: Sequence[Facts]) -> Group:
    """Show each number that any case changes, in every case."""
    written: dict[str, str] = {}
    for each in facts:
        for path, before, _ in each.case.changes:
            written.setdefault(path, before)
    here = [{path: now for path, _, now in each.case.changes} for each in facts]
    rows = [
        lines_row(path, [(values.get(path, before),) for values in here], long=False)
        for path, before in written.items()
    ]
    nothing = lines_row("Numbers changed", [("none",)] * len(facts), long=False)
    return Group("What differs", tuple(rows) or (nothing,))


def _covered(facts: Sequence[Facts], plan: str, unit: PatientTime) -> Group:
    """Compare what one plan reaches: weighted, per category, of all patients, and patient time without oxygen."""
    need = need_of(facts)
    weighted = [each.weighted(plan) for each in facts]
    rows = [share_row(f"{need[0].upper()}{need[1:]} met", weighted, write=at_most if plan == BEST else share)]
    for category in (*categories_of(facts), "all"):
        rows.append(
            share_row(
                "All patients" if category == "all" else category_word(category),
                [each.reached(plan, category, "coverage") for each in facts],
                category=category,
                splits=[each.split(plan, category) for each in facts],
            )
        )
    without = [each.reached(plan, "all", "without_patient_min") for each in facts]
    return Group(f"Coverage, {plan}", (*rows, time_row("Without oxygen", without, unit)))


def _short(facts: Sequence[Facts]) -> Group:
    """Compare when shortage begins, the worst of it, and its windows."""
    start = [each.run.scenario.start for each in facts]
    planned = [each.run.executable is not None for each in facts]
    ours = [_first(each.windows) if plan else None for each, plan in zip(facts, planned, strict=True)]
    best = [_first(records(each.run.windows)) for each in facts]
    whose = "this plan" if any(planned) else "at best"  # of a case without a plan those at best, as its headline says
    rows = (
        moment_row("First shortage, this plan", ours, start, ["never" if plan else NOTHING for plan in planned]),
        moment_row("First shortage, at best", best, start, ["never"] * len(facts)),
        lines_row("Worst shortage", [each.headline[1:] for each in facts]),
        lines_row(f"Windows of shortage, {whose}", [_windows(each) for each in facts]),
    )
    return Group("When it is short", rows)


def _first(windows: Sequence[Record]) -> float | None:
    return min((float(row["start_min"]) for row in windows), default=None)


def _windows(each: Facts) -> list[str]:
    return _few([row.sentence for row in each.window_rows], _MOST_WINDOWS) or ["none"]


def _few(lines: Sequence[str], most: int) -> list[str]:
    """Return the first lines, and how many there are besides."""
    return [*lines[:most], *([f"{len(lines) - most} more"] if len(lines) > most else [])]


def _stock(facts: Sequence[Facts]) -> Group:
    """Compare when each area's cylinders and vessels are first empty."""
    titles: dict[str, str] = {}
    for each in facts:
        for area in each.run.scenario.areas:
            titles.setdefault(area.key, area.title)
    start = [each.run.scenario.start for each in facts]
    rows = []
    for key, title in titles.items():
        found = [each.empty.get(key, (None, _NO_AREA)) for each in facts]
        rows.append(moment_row(title, [minutes for minutes, _ in found], start, [said for _, said in found]))
    return Group("Cylinders and vessels first empty, at best", tuple(rows))


def _binding(facts: Sequence[Facts]) -> Group:
    """Name what binds, and what one more of which thing is worth most."""
    resources = [list(dict.fromkeys(f"{row.resource}, {row.area}" for row in each.bottlenecks)) for each in facts]
    worth = [[f"{row.gain}: one more {row.one_more}, {row.area}" for row in each.bottlenecks] for each in facts]
    rows = (
        lines_row("What binds", [each[:_MOST_BINDING] or ["nothing by itself"] for each in resources]),
        lines_row("Worth of one more", [each[:_MOST_BINDING] for each in worth]),
    )
    return Group("What binds, at best, most worth first", rows, "Gains are shares of the case's own weighted need.")


def _sent(facts: Sequence[Facts]) -> Group:
    """Compare what more must be where by when, for each goal."""
    rows: list[Row] = []
    for place, key in enumerate(("everyone", "immediate")):  # in the order in which goals are told
        goals = [each.goals[place] if place < len(each.goals) else None for each in facts]
        title = next((goal.title for goal in goals if goal is not None), "")
        if title:
            totals = [None if goal is None else _total(each, key) for each, goal in zip(facts, goals, strict=True)]
            lines = [[] if goal is None else [_needed(n) for n in goal.needs] or [goal.sentence] for goal in goals]
            rows.append(count_row(f"{title}: cylinders", totals))
            rows.append(lines_row(f"{title}: what, by when", lines))
    if any(each.run.resupply_notes for each in facts):
        rows.append(lines_row("Remarks", [_few(each.run.resupply_notes, _MOST_REMARKS) for each in facts]))
    return Group("What more must be there by when, at least", tuple(rows))


def _total(each: Facts, goal: str) -> float:
    """Return how many cylinders a goal takes at all areas."""
    lines = (getattr(steps, goal) or () for steps in resupply_steps(each.run))
    return float(sum(line[-1][1] for line in lines if line))


def _needed(need: Need) -> str:
    """Say one item at one area with its running totals: all where they are few, else the first and the last."""
    steps = [f"{step.total} by {step.when}" for step in need.steps]
    if len(steps) > _MOST_STEPS:
        steps = [steps[0], "…", steps[-1]]
    return f"{need.area}: {need.total} × {need.item}: {', '.join(steps)}"
