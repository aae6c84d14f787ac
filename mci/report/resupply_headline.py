"""The first sentences of a resupply plan: what the trips reach, whether goals are met, what must leave first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.comparison import need_words
from mci.report.departures import must_not_be_missed
from mci.report.page import KeyFigure
from mci.report.series import records
from mci.report.trip_words import TripWords, loading_stop, lost_words
from mci.report.words import NOISE, at_most, join_words, moment, share
from mci.units import format_duration, format_moment

if TYPE_CHECKING:
    from mci.pipeline_resupply import ResupplyRun
    from mci.report.words import PatientTime
    from mci.resupply.schedule import Departure

__all__ = ["goal_sentence", "obstacle_sentences", "resupply_headline", "resupply_key_figures", "resupply_standing"]


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
    """Return the sentences of the headline; the first stands alone."""
    schedule, scenario = found.schedule, found.scenario
    need = need_words(scenario, found.run.coverage)
    best = at_most(_share(found, schedule.bound))
    reached, without = (share(_share(found, value)) for value in (schedule.reached, schedule.without_trips))
    until = moment(scenario.horizon, scenario.start)
    if schedule.departures:
        trips, cylinders = _count(len(schedule.departures), "trip"), _count(schedule.cylinders, "full cylinder")
        first = f"{trips[0].upper()}{trips[1:]}, bringing {cylinders}, can meet {reached} of the {need} up to {until}; "
        first += f"no trips can meet more than {best}, and without any trip it is {without}."
    else:
        first = f"No trip is planned: what is at hand can meet {without} of the {need} up to {until}, at most {best}."
    requests = [each for each in schedule.departures if each.request_by is not None]
    said = [first, goal_sentence(found, unit), _next(must_not_be_missed(schedule), found)]
    if requests:
        soonest = min(requests, key=lambda each: each.request_by or 0.0)
        said.append(
            f"First request to a supplier: by {moment(soonest.request_by or 0.0, scenario.start)}, "
            f"for {soonest.trip.key}."
        )
    return tuple(sentence for sentence in said if sentence)


def goal_sentence(found: ResupplyRun, unit: PatientTime) -> str:
    """Say whether the goals are met and, where not, what forbids it."""
    schedule = found.schedule
    if not schedule.goals:
        return "No goal was asked for: coverage as a whole is as good as trips can make it."
    goals = join_words([f"{goal.category} {100 * goal.share:g} %" for goal in schedule.goals])
    short = [met for met in schedule.met if met.reached < met.needed - NOISE]
    if schedule.missing <= NOISE and not short:
        return f"The goals ({goals}) are met at every area."
    if schedule.missing <= NOISE:
        return (
            f"The goals ({goals}) can be met, but these trips fall short at {_count(len(short), 'place')} of the table."
        )
    missing = f"{unit.write(schedule.missing)} {unit.unit} of credit"
    why = join_words([obstacle.constraint for obstacle in schedule.obstacles] or ["what is there in all"])
    return f"The goals ({goals}) cannot be met: at best {missing} are missing. What forbids it: {why}."


def obstacle_sentences(found: ResupplyRun, unit: PatientTime) -> tuple[str, ...]:
    """Say for each constraint what would still be missing if it did not bind."""
    return tuple(
        f"Without the limit of {each.constraint}: "
        + (
            "the goals could be met."
            if each.missing <= NOISE
            else f"{unit.write(each.missing)} {unit.unit} still missing."
        )
        for each in found.schedule.obstacles
    )


def _next(departure: Departure | None, found: ResupplyRun) -> str:
    if departure is None:
        return ""
    words, start = TripWords(found.scenario), found.scenario.start
    where = words.place(loading_stop(departure.trip).place)
    lost = lost_words(departure.lost)
    cost = "10 min later loses nothing" if lost == "none" else f"10 min later loses, in patient-minutes: {lost}"
    return (
        f"The next departure that must not be missed: {departure.trip.key} from {where} to "
        f"{words.goes_to(departure.trip)}, no later than {moment(departure.leave_by, start)}; {cost}."
    )


def resupply_standing(found: ResupplyRun) -> str:
    """Say what can be carried out and which numbers are at best."""
    schedule, run = found.schedule, found.run
    said = "What the trips can meet counts patients and litres as divisible."
    if run.executable is not None:
        met = share(_share(found, run.executable.verdict.weighted))
        said += f" The orders in orders.csv, which replay finds can be carried out, meet {met}."
    if found.late is not None and found.late.verdict.validity:
        late = share(_share(found, found.late.verdict.weighted))
        said += f" With every trip as late as its last safe departure, orders meet {late}."
    if schedule.fewest_cylinders and schedule.fewest_trips:
        fewest = f"{_count(schedule.fewest_cylinders, 'cylinder')} and {_count(schedule.fewest_trips, 'trip')}"
        aim = "To meet the goals" if schedule.goals and schedule.missing <= NOISE else "To get as far as can be"
        said += f" {aim} takes at least {fewest}."
    return f"{said} Nothing is sent anywhere: people ask, dispatch and drive."


def resupply_key_figures(found: ResupplyRun, unit: PatientTime) -> tuple[KeyFigure, ...]:
    """Choose the six numbers that a reader should take away."""
    schedule, start = found.schedule, found.scenario.start
    first = next(iter(schedule.departures), None)
    tight = min(schedule.departures, key=lambda each: each.margin, default=None)
    clock = "" if first is None or start is None else f", {moment(first.leave_by, start).split('(')[1].rstrip(')')}"
    return (
        KeyFigure(str(len(schedule.departures)), "trips", short=False),
        KeyFigure(str(schedule.cylinders), "full cylinders brought", short=False),
        KeyFigure(share(_share(found, schedule.reached)), "of the need, by weight, can be met", short=False),
        KeyFigure("none" if first is None else format_moment(first.leave_by), f"first departure at the latest{clock}",
                  short=first is not None),
        KeyFigure("none" if tight is None else format_duration(tight.margin), "smallest margin of a departure",
                  short=tight is not None and tight.margin < 30),
        KeyFigure(unit.write(schedule.missing), f"{unit.unit} of the goals missing at best", schedule.missing > NOISE),
    )  # fmt: skip
