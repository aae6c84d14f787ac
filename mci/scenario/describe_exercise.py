"""What makes a scenario an exercise, as tables: for designers and controllers, never for players."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.catalogue.mechanisms import load_mechanisms
from mci.scenario.columns import Column, Table, show_moment, show_when
from mci.scenario.exercise import InjectKind
from mci.scenario.mean_mix import mean_patients
from mci.scenario.model import Arrival, Pattern
from mci.units import format_moment, format_pressure

if TYPE_CHECKING:
    from mci.scenario.exercise import Casualties, Exercise, Inject
    from mci.scenario.model import Scenario

__all__ = ["exercise_headline", "exercise_tables", "inject_words"]

_PATTERNS = {Pattern.TOGETHER: "together", Pattern.EVEN: "evenly", Pattern.EARLY: "early", Pattern.WAVES: "waves"}


def exercise_tables(scenario: Scenario) -> tuple[Table, ...]:
    """Return the tables of an exercise, none where the scenario is none."""
    exercise = scenario.exercise
    if exercise is None:
        return ()
    return (
        _casualties(scenario, exercise),
        _times(scenario, exercise),
        _injects(scenario, exercise),
        _objectives(exercise),
    )


def exercise_headline(exercise: Exercise) -> str:
    """Return in one sentence what makes it an exercise."""
    hurt = sum(group.count for group in exercise.casualties)
    parts = []
    if exercise.casualties:
        parts.append(f"{hurt} hurt in {_number(len(exercise.casualties), 'group')}, planned by the mean mix")
    parts.append(_number(len(exercise.injects), "inject") + (" that no plan knows of" if exercise.injects else ""))
    parts.append(_number(len(exercise.objectives), "objective"))
    if exercise.seed is not None:
        parts.append(f"drawn with seed {exercise.seed}")
    if not math.isnan(exercise.difficulty):
        parts.append(f"usual practice loses {100 * exercise.difficulty:.1f} % of what is possible")
    return f"Exercise: {', '.join(parts)}."


def _number(count: int, what: str) -> str:
    return f"{count or 'no'} {what}{'' if count == 1 else 's'}"


def _casualties(scenario: Scenario, exercise: Exercise) -> Table:
    standing = {p.label: p.count for p in scenario.patients if p.label in exercise.casualty_labels}
    rows = []
    for group in exercise.casualties:
        mechanism = load_mechanisms()[group.mechanism]
        planned = sum(standing.get(each.label, 0) for each in mean_patients(group))
        share = 1 - mechanism.no_oxygen
        rows.append((group.label, mechanism.title, group.count, group.children, share, planned))
    columns = (
        Column("group", "group"),
        Column("mechanism", "mechanism"),
        Column("hurt", "hurt_patients", right=True),
        Column("children", "children_share", _per_cent, right=True),
        Column("need oxygen", "need_oxygen_share", _per_cent, right=True),
        Column("planned", "planned_patients", right=True),
    )
    return Table("Casualties of the exercise; mixes are planning assumptions", "casualties", columns, tuple(rows))


def _times(scenario: Scenario, exercise: Exercise) -> Table:
    rows = [
        (
            group.label,
            group.area,
            group.arrival.at,
            group.arrival.over,
            group.arrival.pattern.value,
            _arrive(scenario, group.arrival),
            group.stay,
            group.leave,
            _leave(scenario, group),
        )
        for group in exercise.casualties
    ]
    columns = (
        Column("group", "group"),
        Column("area", "area"),
        Column("", "arrive_from_min"),
        Column("", "arrive_over_min"),
        Column("", "arrive_pattern"),
        Column("arrive", ""),
        Column("", "stay_min"),
        Column("", "leave_min"),
        Column("leave", ""),
    )
    return Table("Casualties of the exercise, when they come and leave", "casualty_times", columns, tuple(rows))


def _per_cent(share: float) -> str:
    return f"{100 * share:.3g} %"


def _arrive(scenario: Scenario, arrival: Arrival) -> str:
    start = show_moment(scenario, arrival.at)
    if arrival.pattern is Pattern.TOGETHER:
        return start
    return f"{start} to {show_moment(scenario, arrival.at + arrival.over)}, {_PATTERNS[arrival.pattern]}"


def _leave(scenario: Scenario, group: Casualties) -> str:
    if math.isfinite(group.stay):
        return f"after {group.stay:g} min"
    return show_moment(scenario, group.leave) if math.isfinite(group.leave) else "never"


def _injects(scenario: Scenario, exercise: Exercise) -> Table:
    rows = [
        (
            inject.at,
            inject.kind.value,
            inject.area,
            inject.thing or ", ".join(each.label for each in inject.patients),
            inject.minutes,
            None if math.isnan(inject.psi) else inject.psi,
            inject_words(scenario, inject),
        )
        for inject in exercise.injects
    ]
    columns = (
        Column("at", "at_min", show_when(scenario)),
        Column("inject", "inject"),
        Column("area", "area"),
        Column("of", "thing"),
        Column("", "lasts_min"),
        Column("", "gauge_psi"),
        Column("what happens", "what"),
    )
    return Table("Injects: what players are not told beforehand, and no plan knows of", "injects", columns, tuple(rows))


def inject_words(scenario: Scenario, inject: Inject) -> str:
    """Say what an inject does, in a few words with its numbers."""
    lasts = f"for {inject.minutes:g} min" if math.isfinite(inject.minutes) else "to the end"
    match inject.kind:
        case InjectKind.REGULATOR_LEAKS:
            return "is of no use any more"
        case InjectKind.CYLINDER_LOW:
            return f"holds {format_pressure(inject.psi, metric=scenario.pressures_in_bar)} only, from the start"
        case InjectKind.WRONG_WASHER:
            return f"seals only after {inject.minutes:g} min"
        case InjectKind.DELIVERY_LATE:
            return f"comes {inject.minutes:g} min later than announced"
        case InjectKind.SECOND_WAVE:
            first, last = (pick(each.arrival.at for each in inject.patients) for pick in (min, max))
            when = format_moment(first) + (f" to {format_moment(last)}" if last > first else "")
            return f"{_number(len(inject.patients), 'more patient')} at {when}"
        case InjectKind.POWER_FAILS:
            return f"no power {lasts}"
        case InjectKind.PATIENT_WORSENS:
            return f"is {inject.category} with {inject.ladder} from then on"
        case InjectKind.AREA_MOVES:
            return f"what is built in stays behind, and nobody changes cylinders {lasts}"


def _objectives(exercise: Exercise) -> Table:
    rows = [
        (each.key, each.measure.value, each.category, each.area, each.minutes, each.share, each.text)
        for each in exercise.objectives
    ]
    columns = (
        Column("key", "key"),
        Column("", "measure"),
        Column("", "category"),
        Column("", "area"),
        Column("", "limit_min"),
        Column("", "asked_share"),
        Column("objective", "text"),
    )
    return Table("Objectives: what is to be shown", "objectives", columns, tuple(rows))
