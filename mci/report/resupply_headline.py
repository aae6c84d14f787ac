"""The first sentences of a resupply plan: what the orders reach, whether goals are met, what must leave first.

“This plan” is the one that can be carried out, “at best” trips with patients and litres divisible.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.comparison import need_words
from mci.report.departures import must_not_be_missed
from mci.report.page import KeyFigure
from mci.report.resupply_goals import goal_sentence, orders_sentence
from mci.report.series import records
from mci.report.trip_words import TripWords, lost_words
from mci.report.words import NOISE, at_most, join_words, moment, share
from mci.units import format_duration, format_moment

if TYPE_CHECKING:
    from mci.pipeline_resupply import ResupplyRun
    from mci.report.words import PatientTime
    from mci.resupply.schedule import Departure

__all__ = ["disruption_sentence", "resupply_headline", "resupply_key_figures", "resupply_standing"]


def _need(found: ResupplyRun) -> float:
    """Return the weighted need [weighted patient-min]."""
    weights = found.scenario.weights
    rows = (row for row in records(found.run.coverage) if row["category"] != "all")
    return sum(weights[row["category"]] * float(row["needed_patient_min"]) for row in rows)


def _share(found: ResupplyRun, weighted: float) -> float:
    need = _need(found)
    return weighted / need if need > 0 else 1.0


def _count(number: int, word: str) -> str:
    return f"{number or 'no'} {word}{'' if number == 1 else 's'}"


def resupply_headline(found: ResupplyRun, unit: PatientTime) -> tuple[str, ...]:
    """Return the sentences of the headline; the first, what the orders meet, stands alone.

    Then what trips can meet at best, whether goals are met, what must leave next.
    """
    said = [_reached(found), _trips(found), goal_sentence(found, unit), orders_sentence(found, unit)]
    said += [_next(must_not_be_missed(found.schedule), found), _first_request(found)]
    return tuple(sentence for sentence in said if sentence)


def _reached(found: ResupplyRun) -> str:
    """Say what the orders meet, with the bound beside it."""
    scenario, judged = found.scenario, found.run.executable
    need, until = need_words(scenario, found.run.coverage), moment(scenario.horizon, scenario.start)
    limit = f"no plan can meet more than {at_most(_share(found, found.schedule.bound))}"
    if found.findings:
        who, met = "These trips cannot be carried out. They would meet at best", found.schedule.reached
    elif judged is None:
        who, met = "These trips can meet at best", found.schedule.reached
    else:
        who, met = "This plan meets", judged.verdict.weighted
    return f"{who} {share(_share(found, met))} of the {need} up to {until}; {limit}."


def _trips(found: ResupplyRun) -> str:
    """Say how many trips there are and what could be met at best, with patients and litres divisible."""
    schedule = found.schedule
    best, without = (share(_share(found, value)) for value in (schedule.reached, schedule.without_trips))
    if not schedule.departures:
        return f"No trip is planned: what is at hand can meet at best {without}."
    trips, cylinders = _count(len(schedule.departures), "trip"), _count(schedule.cylinders, "full cylinder")
    bring = "brings" if len(schedule.departures) == 1 else "bring"
    return (
        f"{trips[0].upper()}{trips[1:]} {bring} {cylinders} and can meet at best {best}; "
        f"without any trip it is at best {without}."
    )


def _first_request(found: ResupplyRun) -> str:
    requests = [each for each in found.schedule.departures if each.request_by is not None]
    if not requests:
        return ""
    soonest = min(requests, key=lambda each: each.request_by or 0.0)
    when = moment(soonest.request_by or 0.0, found.scenario.start)
    return f"First request to a supplier: by {when}, for {soonest.trip.key}."


def _next(departure: Departure | None, found: ResupplyRun) -> str:
    if departure is None:
        return ""
    words, trip = TripWords(found.scenario), departure.trip
    lost = lost_words(departure.lost)
    cost = "10 min later loses nothing" if lost == "none" else f"10 min later loses, in patient-minutes: {lost}"
    return (
        f"The next departure that must not be missed: {trip.key} from {words.comes_from(trip)} to "
        f"{words.goes_to(trip)}, no later than {moment(departure.leave_by, found.scenario.start)}; {cost}."
    )


def resupply_standing(found: ResupplyRun) -> str:
    """Say what can be carried out, and which numbers are at best."""
    schedule, run = found.schedule, found.run
    said = "What trips can meet “at best” counts patients and litres as divisible."
    if run.executable is None:
        said = f"No orders are shown: replay found none that can be carried out. {said}"
    elif not found.findings:
        said = f"Replay finds that these trips and the orders on what they bring can be carried out. {said}"
    if found.late is not None and found.late.verdict.validity:
        late = share(_share(found, found.late.verdict.weighted))
        said += f" With every trip as late as its last safe departure, orders meet {late}."
    if schedule.fewest_cylinders and schedule.fewest_trips:
        fewest = f"{_count(schedule.fewest_cylinders, 'cylinder')} and {_count(schedule.fewest_trips, 'trip')}"
        aim = "To meet the goals" if schedule.goals and schedule.can_meet else "To get as far as can be"
        said += f" {aim} takes at least {fewest}."
    return f"{said} Nothing is sent anywhere: people ask, dispatch and drive."


def resupply_key_figures(found: ResupplyRun, unit: PatientTime) -> tuple[KeyFigure, ...]:
    """Choose the six numbers that a reader should take away."""
    schedule, start = found.schedule, found.scenario.start
    trips, full = len(schedule.departures), schedule.cylinders
    first = next(iter(schedule.departures), None)
    tight = min(schedule.departures, key=lambda each: each.margin, default=None)
    clock = "" if first is None or start is None else f", {moment(first.leave_by, start).split('(')[1].rstrip(')')}"
    return (
        KeyFigure(str(trips), "trip" if trips == 1 else "trips", short=False),
        KeyFigure(str(full), f"full {'cylinder' if full == 1 else 'cylinders'} brought", short=False),
        _met_figure(found),
        KeyFigure("none" if first is None else format_moment(first.leave_by), f"first departure at the latest{clock}",
                  short=first is not None),
        KeyFigure("none" if tight is None else format_duration(tight.margin), "smallest margin of a departure",
                  short=tight is not None and tight.margin < 30),
        _last_figure(found, unit),
    )  # fmt: skip


def _met_figure(found: ResupplyRun) -> KeyFigure:
    judged = found.run.executable
    reached = found.schedule.reached if judged is None else judged.verdict.weighted
    whose = "at best" if judged is None else "in this plan"
    label = f"of the {need_words(found.scenario, found.run.coverage)} is met {whose}"
    return KeyFigure(share(_share(found, reached)), label, short=False)


def _last_figure(found: ResupplyRun, unit: PatientTime) -> KeyFigure:
    """Return what the orders miss of the goals or, without goals, the bound."""
    if found.schedule.goals:
        missed = sum(max(0.0, met.needed - met.reached) for met in found.met)
        return KeyFigure(unit.write(missed), f"{unit.unit} of the goals missed by the orders", missed > NOISE)
    need = need_words(found.scenario, found.run.coverage)
    return KeyFigure(
        at_most(_share(found, found.schedule.bound)), f"of the {need} is all that a plan can meet", short=False
    )


def disruption_sentence(found: ResupplyRun) -> str:
    """Say what the plan does without: ``Planned without road bridge.``; empty where nothing was taken away."""
    return f"Planned {join_words(list(found.disruptions))}." if found.disruptions else ""
