"""The page of a resupply plan in words: goals, departures, losses, and what must not be shown."""

from __future__ import annotations

import dataclasses
import re
from typing import Any

import pytest
from made_resupply import made_resupply

from mci.pipeline_resupply import ResupplyRun
from mci.replay.verdict import Finding
from mci.report.resupply_build import build_resupply_page
from mci.report.trip_words import lost_words


def _with(**changes: Any) -> ResupplyRun:
    found = made_resupply()
    return dataclasses.replace(found, schedule=dataclasses.replace(found.schedule, **changes))


def test_headline_names_trips_bound_goals_and_the_next_departure() -> None:
    """What the orders reach comes first, with what no plan can pass; then the best of trips, and without any."""
    page = build_resupply_page(made_resupply())
    first, trips, goals, orders, following, request = page.headline
    assert first.startswith("This plan meets ")
    assert trips.startswith("5 trips bring 22 full cylinders and can meet at best ")
    reached, bound = map(float, re.findall(r"([\d.]+) %", first))
    best, without = map(float, re.findall(r"([\d.]+) %", trips))
    assert without < reached <= best <= bound
    assert goals == (
        "The goals (immediate 100 % and delayed 90 %) cannot be met: at best 2.1 patient-hours of credit are missing. "
        "What forbids it: travel time and regulators."
    )
    assert orders == (
        "The orders miss 2 of 4 goals by area by more than 1 %: most Delayed at North portal, 2.5 of 25.5 "
        "patient-hours (9.9 %)."
    )
    assert "van 2, trip 1 from Quarry depot to South portal, no later than T+14 (08:04)" in following
    assert request == "First request to a supplier: by T+104 (09:34), for truck 1, trip 2."


def test_the_least_is_said_where_something_is_needed() -> None:
    """So many cylinders and trips at least; nothing where none are needed."""
    assert "takes at least 20 cylinders and 4 trips." in build_resupply_page(made_resupply()).standing
    assert "at least" not in build_resupply_page(_with(fewest_cylinders=0, fewest_trips=0)).standing


def test_too_little_to_tell_is_not_missing() -> None:
    """Less than a twentieth of a patient-minute is the solver's, of the programme and of trips alike."""
    met = tuple(dataclasses.replace(each, reached=each.needed - 0.01) for each in made_resupply().schedule.met)
    found = dataclasses.replace(_with(missing=0.04, obstacles=(), met=met), met=met)
    assert found.schedule.can_meet
    page = build_resupply_page(found)
    assert "are met at every area, by the orders" in page.goal_sentence
    assert [row.met for row in page.goals] == ["yes"] * 4
    assert not _with(missing=0.06).schedule.can_meet


def test_goals_that_are_met_are_said_to_be() -> None:
    """Nothing missing anywhere: met, by the orders too; only at best where these miss one; one missed is said alone."""
    met = tuple(dataclasses.replace(each, reached=each.needed) for each in made_resupply().schedule.met)
    found = _with(missing=0.0, obstacles=(), met=met)
    page = build_resupply_page(dataclasses.replace(found, met=met))
    assert page.goal_sentence == (
        "The goals (immediate 100 % and delayed 90 %) are met at every area, by the orders to within 1 %."
    )
    assert [row.met for row in page.goals] == ["yes"] * 4
    page = build_resupply_page(dataclasses.replace(found, met=(*found.met[:2], *met[2:3], *found.met[3:])))
    assert page.goal_sentence.startswith("The goals (immediate 100 % and delayed 90 %) are met at every area at best")
    assert page.goal_sentence.endswith(
        "The orders miss 1 of 4 goals by area by more than 1 %: Delayed at South portal, 1.5 of 31.5 "
        "patient-hours (4.8 %)."
    )
    assert [row.met for row in page.goals] == ["yes", "yes", "yes", "at best"]


def test_no_goal_and_no_trip_are_said() -> None:
    """A plan without goals and without trips still has a page."""
    page = build_resupply_page(_with(goals=(), met=(), missing=0.0, obstacles=(), departures=(), losses=()))
    assert page.headline[1].startswith("No trip is planned: what is at hand can meet at best ")
    assert page.goal_sentence.startswith("No goal was asked for")
    assert (page.departures, page.goals, page.losses, page.sheets, page.forms) == ((), (), (), (), ())


def test_the_departure_to_name_is_the_first_that_costs_something() -> None:
    """A tenth of a patient-minute does not make it the one; where no delay costs more, the first of all is named."""
    departures = made_resupply().schedule.departures
    cheap = dataclasses.replace(departures[0], lost={"immediate": 0.1, "minimal": -3.0})
    page = build_resupply_page(_with(departures=(cheap, *departures[1:])))
    assert any("must not be missed: truck 1, trip 1 from Mill Lane" in sentence for sentence in page.headline)
    page = build_resupply_page(_with(departures=(cheap,)))
    assert any("must not be missed: van 2, trip 1" in sentence for sentence in page.headline)


def test_departures_come_in_the_order_of_the_last_safe_one() -> None:
    """The table is in the order of the schedule, with the margin of each; a margin below 30 min is marked."""
    rows = build_resupply_page(made_resupply()).departures
    assert [row.leave_by for row in rows] == ["T+14", "T+38", "T+42", "T+118", "T+157"]
    assert [row.margin for row in rows] == ["9 min", "30 min", "40 min", "37 min", "30 min"]
    assert [row.tight for row in rows] == [True, False, False, False, False]
    assert rows[1].brings == "6 × EU 10L 200 bar, full; 2 × manifold 3 outlets; takes back 5 × EU 5L 200 bar, empty"


@pytest.mark.parametrize(
    ("lost", "words"),
    [
        ({}, "none"),
        ({"delayed": 1e-4}, "none"),
        ({"delayed": 0.03}, "Delayed < 0.1"),
        ({"minimal": -0.5, "immediate": 31.5}, "Immediate 31.5 (Minimal gains 0.5)"),
        ({"minimal": -0.5}, "none (Minimal gains 0.5)"),
    ],
)
def test_losses_in_words(lost: dict[str, float], words: str) -> None:
    """By category, gains in brackets; arithmetic is nothing, what is there never reads as nothing."""
    assert lost_words(lost) == words


def test_single_points_of_failure_come_the_largest_first() -> None:
    """Weighted losses fall; what costs nothing says none; a place has its title."""
    rows = build_resupply_page(made_resupply()).losses
    assert [row.relative for row in rows] == sorted((row.relative for row in rows), reverse=True)
    assert rows[0].relative == 1.0
    assert rows[-1].weighted == rows[-1].lost == "none"
    assert "Mill Lane depot" in {row.what for row in rows}


def test_one_of_a_thing_is_no_plural() -> None:
    """One trip with one cylinder, in the headline and in the figures."""
    page = build_resupply_page(_with(departures=made_resupply().schedule.departures[:1], cylinders=1))
    assert page.headline[1].startswith("1 trip brings 1 full cylinder and can meet")
    assert [figure.label for figure in page.key_figures[:2]] == ["trip", "full cylinder brought"]


def test_the_last_figure_is_what_orders_miss_or_the_bound() -> None:
    """4 + 150 + 90 patient-minutes of the goals; without goals what no plan can pass, as in the headline."""
    *_, last = build_resupply_page(made_resupply()).key_figures
    assert (last.value, last.label, last.short) == ("4.1", "patient-hours of the goals missed by the orders", True)
    page = build_resupply_page(_with(goals=(), met=(), missing=0.0, obstacles=()))
    assert page.headline[0].endswith(f"no plan can meet more than {page.key_figures[-1].value}.")


def test_what_was_taken_away_heads_the_page() -> None:
    """One sentence for all of it; none where nothing was."""
    both = ("without road old bridge", "with vehicle van 2 30 min late")
    page = build_resupply_page(dataclasses.replace(made_resupply(), disruptions=both))
    assert page.disruption == "Planned without road old bridge and with vehicle van 2 30 min late."
    assert build_resupply_page(dataclasses.replace(made_resupply(), disruptions=())).disruption == ""


def test_impossible_trips_are_told_and_not_handed_out() -> None:
    """What replay found is on the page; sheets and request are not."""
    finding = Finding("load", 1, 20.0, "truck 1 carries 950 kg, at most 900 kg")
    page = build_resupply_page(dataclasses.replace(made_resupply(), findings=(finding,)))
    assert page.findings == ("T+20: truck 1 carries 950 kg, at most 900 kg.",)
    assert page.sheets == page.forms == ()
    assert page.headline[0].startswith("These trips cannot be carried out. They would meet at best ")


def test_every_caution_names_its_source() -> None:
    """Cautions of transport come first; each has a source and how far it was checked."""
    cautions = build_resupply_page(made_resupply()).cautions
    assert cautions[0].short == "Secure every cylinder on the vehicle"
    assert any("licensed practice" in caution.short.lower() for caution in cautions)
    assert all(caution.source and caution.basis for caution in cautions)


def test_endless_closures_and_payloads_have_no_infinity_in_words() -> None:
    """No text of the page says inf or nan."""
    page = build_resupply_page(made_resupply())
    text = repr(dataclasses.replace(page, assumptions=()))
    assert re.findall(r"\b(?:inf|nan)\b", text) == []


def test_goals_that_whole_trips_miss_are_not_said_to_be_met() -> None:
    """The divisible programme meets them, these trips do not: said as it is, with the line of the table."""
    page = build_resupply_page(_with(missing=0.0, obstacles=()))
    assert page.goal_sentence.startswith("Nothing forbids the goals (immediate 100 % and delayed 90 %) where ")
    assert "fall short of them in one line of the table, even at best." in page.goal_sentence
    assert [row.met for row in page.goals].count("NO") == 1
