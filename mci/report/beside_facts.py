"""What is known of one case, looked up once for all rows of a page of cases side by side."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.report import sections
from mci.report.compared import BEST, measure
from mci.report.goals import goals
from mci.report.headline import headline
from mci.report.page import Split
from mci.report.series import records, windows_of_plan
from mci.report.words import PatientTime

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from mci.pipeline import Run
    from mci.report.beside_cases import Chosen
    from mci.report.compared import Measured
    from mci.report.page import Bottleneck, Goal, WindowRow
    from mci.report.series import Record

__all__ = ["OURS", "Facts", "find_facts"]

#: Name under which the plan that can be carried out is kept, whatever it is called.
OURS = "this plan"
_PARTS = ("needed", "at_target", "below_target", "without")


@dataclass(frozen=True, slots=True)
class Facts:
    """One case: what its report says of it.

    Parameters
    ----------
    headline
        The sentences that its report begins with.
    measured
        Plans and the bound by name: :data:`OURS`, usual practice, :data:`~mci.report.compared.BEST`.
    windows, window_rows
        Shortage of the plan that can be carried out, or at best where there is none; in numbers and in words.
    empty
        When each area's stock is first empty [min] (``None`` if never) and what to say then, by key of the area.
    """

    case: Chosen
    headline: tuple[str, ...]
    measured: Mapping[str, Measured]
    windows: tuple[Record, ...]
    window_rows: tuple[WindowRow, ...]
    empty: Mapping[str, tuple[float | None, str]]
    bottlenecks: tuple[Bottleneck, ...]
    goals: tuple[Goal, ...]

    @property
    def run(self) -> Run:
        """What was found."""
        return self.case.run

    def weighted(self, plan: str) -> float | None:
        """Return the share of the weighted need that a plan meets; ``None`` where there is no such plan."""
        one = self.measured.get(plan)
        return None if one is None else one.weighted

    def reached(self, plan: str, category: str, name: str) -> float | None:
        """Return one measure of a category, or of ``all``; ``None`` where there is no such plan or nobody."""
        part = self.measured[plan].coverage.get(category) if plan in self.measured else None
        return None if part is None else float(part[name])

    def split(self, plan: str, category: str) -> Split | None:
        """Return the shares of the need of a category, or of ``all``, as they are drawn."""
        need, *parts = (self.reached(plan, category, f"{name}_patient_min") for name in _PARTS)
        return None if need is None else Split(*((part or 0.0) / need if need > 0 else 0.0 for part in parts))


def find_facts(chosen: Sequence[Chosen]) -> tuple[tuple[Facts, ...], PatientTime]:
    """Look up every case, and the unit of patient time that suits them all."""
    most = max(float(_everyone(case.run)["needed_patient_min"]) for case in chosen)
    unit = PatientTime.for_total(most)
    return tuple(_facts(case, unit) for case in chosen), unit


def _everyone(run: Run) -> Record:
    return next(row for row in records(run.coverage) if row["category"] == "all")


def _facts(case: Chosen, unit: PatientTime) -> Facts:
    run = case.run
    titles = {area.key: area.title for area in run.scenario.areas}
    plans = run.plans if run.executable else ()
    measured = measure(run.scenario, run.outcome.bound, run.coverage, plans)
    names = [one.name for one in measured[:-2]] + [OURS, BEST] if plans else [BEST]
    windows = tuple(records(windows_of_plan(run) if run.executable else run.windows))
    words = sections.emptyings(run, titles)
    return Facts(
        case=case,
        headline=headline(run, _everyone(run), windows, titles),
        measured=dict(zip(names, measured, strict=True)),
        windows=windows,
        window_rows=sections.window_rows(windows, titles, unit, run.scenario.start),
        empty={
            row["area"]: (_moment(row["empty_min"]), said.when)
            for row, said in zip(records(run.first_empty), words, strict=True)
        },
        bottlenecks=sections.bottlenecks(run, titles, unit),
        goals=goals(run, titles),
    )


def _moment(minutes: float) -> float | None:
    return None if math.isnan(minutes) else float(minutes)
