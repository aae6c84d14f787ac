"""From a run to the page in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from mci.plan.marks import shorten
from mci.report import sections
from mci.report.cards import patient_cards
from mci.report.cautions import AID_STATEMENT, read_cautions
from mci.report.comparison import compare
from mci.report.cylinder_bars import cylinder_sheets
from mci.report.goals import goals as resupply_goals
from mci.report.headline import headline, is_strict, key_figures, standing
from mci.report.order_sheets import order_sheets
from mci.report.page import Page
from mci.report.series import records, windows_of_plan
from mci.report.words import PatientTime
from mci.units import format_litres

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from mci.pipeline import Run
    from mci.report.page import Bottleneck, Emptying, Goal, WindowRow

__all__ = ["build_page", "pairs_words", "provenance_rows"]


def pairs_words(values: Mapping[str, Any]) -> str:
    """Write names and values one after the other."""
    texts = {key: f"{value:.6g}" if isinstance(value, float) else str(value) for key, value in values.items()}
    return ", ".join(f"{key.replace('_', ' ')}: {text}" for key, text in texts.items())


def provenance_rows(run: Run) -> tuple[tuple[str, str], ...]:
    """Say where a run comes from."""
    record = run.provenance
    return (
        ("Software", record.software),
        ("Scenario file", record.scenario_file),
        ("Scenario SHA-256", record.scenario_sha256),
        ("Status", str(run.outcome.status)),
        ("Solver", pairs_words(record.solver)),
        ("Settings", pairs_words(record.settings)),
        ("Weights", pairs_words(run.scenario.weights)),
        ("Weighted coverage", f"{run.outcome.achieved:.6g} of at most {run.outcome.bound:.6g} credit-minutes"),
        ("Format version", str(record.format_version)),
    )


def _unused(run: Run) -> tuple[tuple[str, str], ...]:
    """Name the cylinders that the plan does not use, area by area."""
    sheets = cylinder_sheets(run.scenario, run.executable) if run.executable else ()
    return tuple((sheet.area, shorten(sheet.unused)) for sheet in sheets if sheet.unused)


_MOST_AT_A_GLANCE = 4


def _glance(
    windows: Sequence[WindowRow],
    dry: Sequence[Emptying],
    goals: Sequence[Goal],
    binding: Sequence[Bottleneck],
    *,
    carried: bool,
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Say on the first page what the later sections say in full."""
    short = [f"{row.sentence}." for row in windows[:_MOST_AT_A_GLANCE]]
    if len(windows) > _MOST_AT_A_GLANCE:
        short.append(f"{len(windows) - _MOST_AT_A_GLANCE} more, see “When and where it is short”.")
    stock = [f"{row.area}: first empty at {row.when}." for row in dry if row.empties]
    lines = {
        "Short, this plan" if carried else "Short": short,
        "Stock": stock,
        "Send": [f"{goal.title}: {goal.sentence[0].lower()}{goal.sentence[1:]}" for goal in goals],
        "Worth most": [f"One more {row.one_more} at {row.area} ({row.gain} of weighted need)." for row in binding[:3]],
    }
    return tuple((name, tuple(sentences)) for name, sentences in lines.items() if sentences)


def build_page(run: Run, *, cards: bool = False) -> Page:
    """Put a run into words, with a card for every patient if wanted."""
    scenario, record = run.scenario, run.provenance
    titles = {area.key: area.title for area in scenario.areas}
    best, carried = records(run.windows), records(windows_of_plan(run))
    shown = carried if run.executable else best
    everyone = next(row for row in records(run.coverage) if row["category"] == "all")
    unit = PatientTime.for_total(everyone["needed_patient_min"])
    resupply = scenario.resupply
    best_rows, plan_rows = (sections.window_rows(rows, titles, unit, scenario.start) for rows in (best, carried))
    emptyings = sections.emptyings(run, titles)
    goals, bottlenecks = resupply_goals(run, titles), sections.bottlenecks(run, titles, unit)
    return Page(
        name=scenario.name,
        summary=scenario.summary,
        headline=headline(run, everyone, shown, titles),
        standing=standing(run),
        comparison=compare(
            scenario, run.outcome.bound, run.coverage, run.plans if run.executable else (), strict=is_strict(run)
        ),
        unit=unit.unit,
        key_figures=key_figures(run, everyone, shown, unit, records(run.first_empty)),
        glance=_glance(
            plan_rows if run.executable else best_rows,
            emptyings,
            goals,
            bottlenecks,
            carried=run.executable is not None,
        ),
        coverage=sections.coverage_rows(run, unit),
        plan_windows=plan_rows if run.executable else None,
        windows=best_rows,
        emptyings=emptyings,
        goals=goals,
        resupply_item=f"{resupply.cylinder.key}, {format_litres(resupply.litres_each)} usable each",
        resupply_notes=run.resupply_notes,
        bottlenecks=bottlenecks,
        therapy=sections.therapy(run, titles, unit),
        supplies=sections.supplies(run, titles),
        unused=_unused(run),
        sheets=order_sheets(scenario, run.executable.plan) if run.executable else (),
        cards=patient_cards(scenario, run.executable.plan) if run.executable and cards else (),
        doubts=sections.doubt_rows(run, titles),
        left_out=tuple((item.what, titles.get(item.area, item.area), item.why) for item in scenario.left_out),
        assumptions=tuple(
            (item.what, item.value, str(item.source.basis), item.source.text) for item in scenario.assumptions
        ),
        statement=AID_STATEMENT,
        cautions=read_cautions(),
        provenance=provenance_rows(run),
        provenance_line=f"{record.software} · scenario {record.scenario_sha256[:12]} · {run.outcome.status}",
    )
