"""Packing lists side by side: with other goals, other rules, more patients, and in the incidents that break them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.report.series import records
from mci.report.stock_page import Compared, Contents, PatientsRow, TargetBlock, WorstRow
from mci.report.stock_validity import fresh_rows
from mci.report.stock_words import (
    counted,
    goal_met,
    goal_of,
    goal_target,
    goal_value,
    list_words,
    mass_words,
    measure_of,
    minutes_words,
    money_words,
    points,
    target_words,
    yes_no,
)
from mci.report.study_words import amount
from mci.report.words import NOISE, TIED, share
from mci.stocking.result import CHOSEN

if TYPE_CHECKING:
    from mci.report.series import Record
    from mci.scenario.stocking import Goal
    from mci.stocking.result import Stock

__all__ = ["WORST_FOLDER", "compared_lists", "patients_rows", "target_blocks", "worst_files", "worst_rows"]

#: Folder of the scenarios that break the list.
WORST_FOLDER = "worst"
_PACKS = "packs: "


def compared_lists(found: Stock) -> Compared:
    """Put lists side by side, the chosen one first."""
    rows = sorted(records(found.lists), key=lambda row: row["list"] != CHOSEN)
    money, goals = found.stocking.money, found.stocking.goals
    years = f"{found.stocking.years:g}"

    def line(title: str, cells: list[str]) -> tuple[str, tuple[str, ...]]:
        return title, tuple(cells)

    sums = [
        line(f"Cost over {years} year{'' if years == '1' else 's'}", [money_words(r["cost"], money) for r in rows]),
        line("To buy at once", [money_words(r["buy"], money) for r in rows]),
        line("A year to keep", [money_words(r["yearly"], money) for r in rows]),
        line("Weight", [mass_words(r["mass_kg"]) for r in rows]),
        line("Keeps the limits of caches", [yes_no(r["limits_kept"]) for r in rows]),
        line("Weighted coverage", ["–" if math.isnan(r["weighted"]) else share(r["weighted"]) for r in rows]),
    ]
    for number, goal in enumerate(goals, start=1):
        sums.append(
            line(f"{goal_of(goal)} ({goal_target(goal)})", [_reached(goal, float(r[f"goal_{number}"])) for r in rows])
        )
    if goals:
        sums.append(line("Goals met, each by itself", [counted(r["goals_met"], len(goals)) for r in rows]))
        sums.append(line("All goals met at once", [yes_no(r["together"]) for r in rows]))
    names = [row["list"] for row in rows]
    sums += [line(title, cells) for title, cells in _fresh_lines(found, names)]
    contents = tuple(_contents(found, cache.key, names) for cache in found.stocking.caches)
    return Compared(
        names=tuple(list_words(name) for name in names),
        brief=tuple(_brief(found, row) for row in rows),
        sums=tuple(sums),
        contents=tuple(each for each in contents if each.rows),
    )


def _brief(found: Stock, row: Record) -> tuple[str, ...]:
    """Say a list in one line."""
    goals = len(found.stocking.goals)
    fresh = [each for each in fresh_rows(found, "best", row["list"]) if not math.isnan(each["target"])]
    return (
        list_words(row["list"]),
        money_words(row["cost"], found.stocking.money),
        mass_words(row["mass_kg"], pounds=False),
        "–" if math.isnan(row["weighted"]) else share(row["weighted"]),
        yes_no(row["limits_kept"]),
        counted(row["goals_met"], goals),
        yes_no(row["together"]) if goals else "–",
        counted(sum(bool(each["met"]) for each in fresh), len(fresh)),
    )


def _fresh_lines(found: Stock, names: list[str]) -> list[tuple[str, list[str]]]:
    """Say what each list reaches on fresh incidents, at best, where it was asked there."""
    told = {name: fresh_rows(found, "best", name) for name in names}
    if not any(told.values()):
        return []
    weighted = [next((r["mean"] for r in told[n] if r["category"] == "weighted"), math.nan) for n in names]
    lines = [("On fresh incidents: weighted coverage", ["–" if math.isnan(v) else share(v) for v in weighted])]
    if found.stocking.goals:
        met = [[bool(r["met"]) for r in told[n] if not math.isnan(r["target"])] for n in names]
        lines.append(("On fresh incidents: goals met", [counted(sum(m), len(m)) for m in met]))
    return lines


def _reached(goal: Goal, value: float) -> str:
    told = goal_value(measure_of(goal), value)
    return told if math.isnan(value) else f"{told}, {'met' if goal_met(goal, value) else f'not{TIED}met'}"


def _contents(found: Stock, cache: str, names: list[str]) -> Contents:
    packs = {
        (row["list"], row["candidate"]): row["packs"] for row in records(found.contents) if row["cache"] == cache
    }  # fmt: skip
    rows = []
    for candidate in found.stocking.candidates:
        cells = [packs.get((name, candidate.key), 0) for name in names]
        if any(cells):
            rows.append((candidate.key, tuple(amount(float(cell)) if cell else "–" for cell in cells)))
    return Contents(cache, tuple(rows))


def target_blocks(found: Stock) -> tuple[TargetBlock, ...]:
    """Return per goal how the cheapest list changes with its target."""
    made = []
    for number, goal in enumerate(found.stocking.goals, start=1):
        rows = records(found.targets[found.targets["goal"] == number])
        if rows:
            made.append(_block(found, goal, rows))
    return tuple(made)


def _block(found: Stock, goal: Goal, rows: list[Record]) -> TargetBlock:
    written = goal.coverage if goal.coverage is not None else goal.without_min
    packs = [name for name in found.targets.columns if name.startswith(_PACKS)]
    moving, same = [], []
    for name in packs:
        values = [float(row[name]) for row in rows]
        there = {value for value in values if not math.isnan(value)}
        key = name.removeprefix(_PACKS)
        if len(there) > 1:
            moving.append((key, tuple("–" if math.isnan(value) else amount(value) for value in values)))
        elif there and max(there) > 0:
            same.append(f"{amount(max(there))} × {key}")
    return TargetBlock(
        goal=goal_of(goal),
        targets=tuple(
            (target_words(row["target"], measure_of(goal)), abs(row["target"] - (written or 0.0)) <= NOISE)
            for row in rows
        ),
        costs=tuple(
            "no list does" if math.isnan(row["cost"]) else money_words(row["cost"], found.stocking.money)
            for row in rows
        ),
        surely=tuple(_at_least(found, row) for row in rows),
        rows=tuple(moving),
        same="; ".join(same),
    )


def _at_least(found: Stock, row: Record) -> str:
    """Say what no list costs less than."""
    if math.isnan(row["cost"]) or math.isnan(row["lower"]):
        return "–"
    return money_words(row["lower"], found.stocking.money) + ("" if row["proven"] else " (stopped)")


def worst_files(found: Stock) -> dict[str, str]:
    """Return the name of the scenario file of each worst incident, by the incident's name."""
    return {name: f"{WORST_FOLDER}/{next(iter(files))}" for name, files in found.worst_scenarios.items()}


def worst_rows(found: Stock) -> tuple[WorstRow, ...]:
    """Say which incidents break the list, and why."""
    files = worst_files(found)
    return tuple(
        WorstRow(
            name=str(row["name"]),
            file=files.get(str(row["name"]), ""),
            patients=amount(row["patients"]),
            weighted="–" if math.isnan(row["weighted"]) else share(row["weighted"]),
            without=minutes_words(row["without_min"]),
            why=str(row["why"] or "–"),
            one_more=_one_more(row),
            values=str(row["values"] or "as written"),
        )
        for row in records(found.worst)
    )


def _one_more(row: Record) -> str:
    if not row["one_more"]:
        return "nothing that can be packed"
    gain = "" if math.isnan(row["gain"]) else f": {points(row['gain'])}"
    return f"{row['one_more']}{gain}"


def patients_rows(found: Stock) -> tuple[PatientsRow, ...]:
    """Say what the list is with more or fewer patients."""
    goals = found.stocking.goals
    return tuple(
        PatientsRow(
            factor=f"{100 * row['factor']:.4g} %",
            patients=amount(row["patients"]),
            weighted="–" if math.isnan(row["weighted"]) else share(row["weighted"]),
            goals=tuple(_reached(goal, float(row[f"goal_{n}"])) for n, goal in enumerate(goals, start=1)),
            together=yes_no(row["together"]),
            cost="no list does" if math.isnan(row["cost"]) else money_words(row["cost"], found.stocking.money),
            written=abs(row["factor"] - 1) <= NOISE,
        )
        for row in records(found.patients)
    )
