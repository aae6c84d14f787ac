"""Usual practice, this plan and the best possible side by side, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.report.compared import measure
from mci.report.words import NOISE, PatientTime, at_most, category_word, share
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import pandas as pd

    from mci.replay.judged import Judged
    from mci.report.compared import Measured
    from mci.scenario.model import Scenario

__all__ = ["CompareRow", "Comparison", "compare", "limit_words", "need_words"]


@dataclass(frozen=True, slots=True)
class CompareRow:
    """One measure of every plan; ``category`` where it is the coverage of one category."""

    label: str
    category: str
    cells: tuple[str, ...]
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Comparison:
    """What planning buys in one sentence, and the plans as columns; ``ours`` is the number of this plan's column."""

    sentence: str
    names: tuple[str, ...]
    ours: int
    rows: tuple[CompareRow, ...]
    note: str


_NOTE = (
    "Replay judges every plan by the same laws. A withdrawal takes somebody off oxygen who still needs it. Cylinder "
    "changes include the first cylinder on each regulator. The best possible counts patients and cylinders as "
    "divisible, so it has no orders and no crew can beat it."
)


def compare(
    scenario: Scenario, bound: float, best: pd.DataFrame, plans: Sequence[Judged], *, strict: bool = False
) -> Comparison | None:
    """Put the comparison into words; ``None`` where there is no plan.

    Parameters
    ----------
    bound, best
        Weighted coverage [weighted credit-minutes] and coverage table of the optimum.
    plans
        This plan first, then usual practice.
    strict
        Whether categories are served one after the other, so that the bound is the best by that rule only.
    """
    if not plans:
        return None
    measured = measure(scenario, bound, best, plans)
    names = tuple(f"{one.name[0].upper()}{one.name[1:]}" for one in measured)
    need = need_words(scenario, best)
    return Comparison(
        sentence=_sentence(measured, need, strict=strict),
        names=names,
        ours=len(measured) - 2,
        rows=tuple(_rows(measured, need)),
        note=_NOTE + (" The weighted need counts each category by its weight." if need != "need" else ""),
    )


def need_words(scenario: Scenario, coverage: pd.DataFrame) -> str:
    """Name the yardstick of plans: the weighted need, unless all categories weigh the same."""
    weights = {scenario.weights[category] for category in coverage["category"] if category != "all"}
    return "weighted need" if len(weights) > 1 else "need"


def limit_words(best: Measured, *, strict: bool) -> str:
    """Say what no plan can pass, as the end of a sentence."""
    return f"{'by that rule ' if strict else ''}no plan can meet more than {at_most(best.weighted)}"


def _sentence(measured: Sequence[Measured], need: str, *, strict: bool) -> str:
    *usual, ours, best = measured
    others = "".join(f"; {one.name} {share(one.weighted)}" for one in usual)
    return f"This plan meets {share(ours.weighted)} of the {need}{others}; {limit_words(best, strict=strict)}."


def _gap(one: Measured) -> str:
    if one.is_bound or one.gap <= NOISE:
        return "none"
    return at_most(one.gap)


def _rows(measured: Sequence[Measured], need: str) -> list[CompareRow]:
    def row(label: str, cell: Callable[[Measured], str], category: str = "", *, strong: bool = False) -> CompareRow:
        return CompareRow(label, category, tuple(cell(one) for one in measured), strong)

    def number(name: str) -> Callable[[Measured], str]:
        return lambda one: "–" if one.is_bound else str(getattr(one, name))

    total = measured[-1].coverage["all"]["needed_patient_min"]
    unit = PatientTime.for_total(total)

    def time(name: str) -> Callable[[Measured], str]:
        return lambda one: unit.write(one.coverage["all"][f"{name}_patient_min"])

    rows = [
        row(
            f"{need[0].upper()}{need[1:]} met",
            lambda one: at_most(one.weighted) if one.is_bound else share(one.weighted),
            strong=True,
        ),
        row("Gap to the best possible", _gap),
        row("Coverage, all patients", lambda one: share(one.coverage["all"]["coverage"])),
    ]
    for category in CATEGORIES:
        if category in measured[-1].coverage:

            def covered(one: Measured, category: str = category) -> str:
                return share(one.coverage[category]["coverage"])

            rows.append(row(category_word(category), covered, category))
    rows += [
        row(f"At target, {unit.unit}", time("at_target")),
        row(f"Lower rung, {unit.unit}", time("below_target")),
        row(f"Without, {unit.unit}", time("without")),
        row("Cylinder changes", number("changes")),
        row("Moves to another outlet", number("moves")),
        row("Step-downs", number("step_downs")),
        row("Withdrawals", number("withdrawals")),
    ]
    return rows
