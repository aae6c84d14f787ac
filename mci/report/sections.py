"""The sections of a report: from the tables of a run to rows of words."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING

from mci.demand.stays import find_stays
from mci.report.headline import window_sentence
from mci.report.page import (
    Bottleneck,
    CoverageRow,
    Emptying,
    Split,
    SupplyRow,
    TherapyRow,
    WindowRow,
)
from mci.report.series import records
from mci.report.words import NOISE, about, category_word, moment, patients, share, span
from mci.scenario.check import doubts
from mci.scenario.model import CATEGORIES
from mci.units import format_clock, format_litres, format_moment

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from mci.pipeline import Run
    from mci.report.series import Record
    from mci.report.words import PatientTime

__all__ = ["bottlenecks", "coverage_rows", "doubt_rows", "emptyings", "supplies", "therapy", "window_rows"]


def coverage_rows(run: Run, unit: PatientTime) -> tuple[CoverageRow, ...]:
    """Say how well each category is covered, and all of them."""
    rows = []
    for row in records(run.coverage):
        need = row["needed_patient_min"]
        parts = (row["at_target_patient_min"], row["below_target_patient_min"], row["without_patient_min"])
        rows.append(
            CoverageRow(
                category=row["category"],
                word="All" if row["category"] == "all" else category_word(row["category"]),
                patients=patients(row["patients"]),
                need=unit.write(need),
                coverage=share(row["coverage"]),
                at_target=unit.write(parts[0]),
                lower=unit.write(parts[1]),
                without=unit.write(parts[2]),
                most_below=about(row["most_below_target"]),
                most_without=about(row["most_without"]),
                split=Split(*(part / need if need > 0 else 0.0 for part in parts)),
            )
        )
    return tuple(rows)


def window_rows(
    windows: Iterable[Record], titles: Mapping[str, str], unit: PatientTime, start: int | None
) -> tuple[WindowRow, ...]:
    """Say each shortage window in words, in order of time; ``start`` is the clock time of T+0 [min after midnight]."""
    found = sorted(
        windows,
        key=lambda row: (row["start_min"], CATEGORIES.index(row["category"]), titles.get(row["area"], row["area"])),
    )
    rows = []
    for row in found:
        begin, end = row["start_min"], math.ceil(row["end_min"] - NOISE)  # widened to whole minutes, as span does
        when = span(begin, end, None)
        rows.append(
            WindowRow(
                when=when,
                clock="" if start is None else f"{format_clock(begin, start)} to {format_clock(end, start)}",
                category=row["category"],
                word=category_word(row["category"]),
                area=titles.get(row["area"], row["area"]),
                below=about(row["most_below_target"]),
                without=about(row["most_without"]),
                lower_time=unit.write(row["below_patient_min"]),
                without_time=unit.write(row["without_patient_min"]),
                sentence=window_sentence(row, titles, start),
            )
        )
    return tuple(rows)


def emptyings(run: Run, titles: Mapping[str, str]) -> tuple[Emptying, ...]:
    """Say when each area's cylinders and vessels are first empty."""
    rows = []
    stored = {lot.area for lot in run.scenario.lots if math.isfinite(lot.litres)}
    for row in records(run.first_empty):
        dry = row["empty_min"] == row["empty_min"]
        never = "not before the end of the plan" if row["area"] in stored else "none there"
        when = moment(row["empty_min"], run.scenario.start) if dry else never
        rows.append(Emptying(titles.get(row["area"], row["area"]), when, dry))
    return tuple(rows)


def bottlenecks(run: Run, titles: Mapping[str, str], unit: PatientTime) -> tuple[Bottleneck, ...]:
    """Say what binds and what one more would be worth, most worth first."""
    found = sorted(records(run.worth), key=lambda row: (-row["weighted_gain_min"], row["resource"], row["area"]))
    largest = max((row["weighted_gain_min"] for row in found), default=0.0)
    rows = []
    for row in found:
        changes = [
            f"{category_word(category)} {unit.signed(row[f'{category}_min'])}"
            for category in CATEGORIES
            if abs(row[f"{category}_min"]) > max(NOISE, 0.005 * unit.minutes_each)  # else it would read 0.00
        ]
        percent = 100 * row["gain_share"]
        gain = f"+{percent:.{1 if percent >= 1 else 2}f} %" if percent >= 0.005 else "< 0.01 %"
        relative = row["weighted_gain_min"] / largest if largest > 0 else 0.0
        area = titles.get(row["area"], row["area"])
        rows.append(Bottleneck(row["resource"], area, row["one_more"], gain, ", ".join(changes) or "none", relative))
    return tuple(rows)


def therapy(run: Run, titles: Mapping[str, str], unit: PatientTime) -> tuple[TherapyRow, ...]:
    """Sum up who is given which device at which flow."""
    devices = {rung.device.key: rung.device.title for ladder in run.scenario.ladders.values() for rung in ladder.rungs}
    time: dict[tuple[str, int, str, int, float, str, str], float] = defaultdict(float)
    peak: dict[tuple[str, int, str, int, float, str, str], dict[float, float]] = {}
    order = {area.key: index for index, area in enumerate(run.scenario.areas)}
    for row in records(run.outcome.service):
        if row["patients"] <= NOISE:
            continue
        category = CATEGORIES.index(row["category"])
        key = (row["area"], category, row["ladder"], row["rung"], row["credit"], row["device"], row["setting"])
        time[key] += row["patients"] * (row["end_min"] - row["start_min"])
        moments = peak.setdefault(key, {})
        moments[row["start_min"]] = moments.get(row["start_min"], 0.0) + row["patients"]
    rows = []
    for key in sorted(time, key=lambda key: (order.get(key[0], 0), *key[1:4])):
        area, category, _, rung, credit, device, setting = key
        rows.append(
            TherapyRow(
                area=titles.get(area, area),
                category=CATEGORIES[category],
                word=category_word(CATEGORIES[category]),
                device=devices.get(device, device),
                setting=setting,
                rung="target" if rung == 0 else f"lower rung {rung}",
                credit=f"{credit:g}",
                most=patients(max(peak[key].values())),
                patient_time=unit.write(time[key]),
            )
        )
    return tuple(rows)


def supplies(run: Run, titles: Mapping[str, str]) -> tuple[SupplyRow, ...]:
    """Say what each lot holds, what the plan draws from it and what is left."""
    drawn: dict[str, float] = defaultdict(float)
    for row in records(run.outcome.draw):
        drawn[row["lot"]] += row["litres"]
    rows = []
    for lot in run.scenario.lots:
        endless = lot.litres == float("inf")
        taken = drawn[lot.key]
        rows.append(
            SupplyRow(
                area=titles.get(lot.area, lot.area),
                label=lot.label,
                when="from the start" if lot.available_from <= 0 else f"from {format_moment(lot.available_from)}",
                holds="no set limit" if endless else format_litres(lot.litres),
                drawn=format_litres(taken),
                left="" if endless else format_litres(max(lot.litres - taken, 0.0)),
            )
        )
    return tuple(rows)


def doubt_rows(run: Run, titles: Mapping[str, str]) -> tuple[str, ...]:
    """Say what is doubtful about the scenario, as ``mci check`` does; what is left out is listed by itself."""
    found = [doubt for doubt in doubts(run.scenario, find_stays(run.scenario)) if doubt.code != "left-out"]
    return tuple(
        (f"{titles.get(doubt.area, doubt.area)}: " if doubt.area else "") + f"{doubt.what}." for doubt in found
    )
