"""From a resupply run to its page in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.build import provenance_rows
from mci.report.cautions import AID_STATEMENT, read_cautions
from mci.report.departures import departure_rows
from mci.report.request import BLOCKS_SOURCE, request_forms
from mci.report.resupply_goals import GOAL_NOTE, goal_rows, goal_sentence, obstacle_sentences, orders_sentence
from mci.report.resupply_headline import (
    disruption_sentence,
    resupply_headline,
    resupply_key_figures,
    resupply_standing,
)
from mci.report.resupply_page import CoveredRow, LossRow, ResupplyPage
from mci.report.series import records
from mci.report.trip_sheets import trip_sheets
from mci.report.trip_words import MINUTES, TripWords, lost_words
from mci.report.words import NOISE, PatientTime, category_word, patients, share
from mci.units import format_moment

if TYPE_CHECKING:
    from mci.pipeline_resupply import ResupplyRun

__all__ = ["build_resupply_page"]

_REQUEST_NOTE = (
    "The request asks for what trips bring from depots, suppliers and fill stations. Priorities are proposed: Urgent "
    "where a delay costs Immediate patients or less than 30 min are left, else Routine."
)


def build_resupply_page(found: ResupplyRun, *, notes: tuple[str, ...] = ()) -> ResupplyPage:
    """Put a resupply run into words, with further notes if wanted."""
    scenario, record = found.scenario, found.run.provenance
    everyone = next(row for row in records(found.run.coverage) if row["category"] == "all")
    unit = PatientTime.for_total(everyone["needed_patient_min"])
    departures = departure_rows(found)
    return ResupplyPage(
        name=scenario.name,
        summary=scenario.summary,
        headline=resupply_headline(found, unit),
        standing=resupply_standing(found),
        disruption=disruption_sentence(found),
        findings=tuple(f"{format_moment(each.minute)}: {each.reason}." for each in found.findings),
        key_figures=resupply_key_figures(found, unit),
        departures=departures,
        asks_supplier=any(row.request_by for row in departures),
        unit=unit.unit,
        goals=goal_rows(found, unit),
        goal_sentence=" ".join(filter(None, (goal_sentence(found, unit), orders_sentence(found, unit)))),
        goal_note=GOAL_NOTE,
        obstacles=obstacle_sentences(found, unit),
        coverage=_coverage(found, unit),
        losses=_losses(found),
        notes=(*found.schedule.notes, _REQUEST_NOTE, *notes),
        sheets=trip_sheets(found),
        forms=request_forms(found),
        blocks_source=BLOCKS_SOURCE,
        assumptions=tuple((a.what, a.value, str(a.source.basis), a.source.text) for a in scenario.assumptions),
        statement=AID_STATEMENT,
        cautions=(*read_cautions("transport_cautions.csv"), *read_cautions()),
        provenance=(*provenance_rows(found.run), ("Solver of the trips", _solver(found))),
        provenance_line=f"{record.software} · scenario {record.scenario_sha256[:12]} · {found.run.outcome.status}",
    )


def _solver(found: ResupplyRun) -> str:
    report = found.schedule.report
    return f"{report.solver}, columns: {report.columns}, rows: {report.rows}, nonzeros: {report.nonzeros}"


def _coverage(found: ResupplyRun, unit: PatientTime) -> tuple[CoveredRow, ...]:
    judged = found.run.executable
    carried = {row["category"]: row for row in records(judged.verdict.coverage)} if judged else {}
    return tuple(
        CoveredRow(
            category=row["category"],
            word="All" if row["category"] == "all" else category_word(row["category"]),
            patients=patients(row["patients"]),
            need=unit.write(row["needed_patient_min"]),
            best=share(row["coverage"]),
            plan=share(carried[row["category"]]["coverage"]) if row["category"] in carried else "none",
        )
        for row in records(found.run.coverage)
    )


def _losses(found: ResupplyRun) -> tuple[LossRow, ...]:
    words = TripWords(found.scenario)
    losses = sorted(found.schedule.losses, key=lambda loss: -loss.weighted)
    largest = max((loss.weighted for loss in losses), default=0.0)
    return tuple(
        LossRow(
            kind=loss.kind,
            what=words.place(loss.key) if loss.kind == "place" else loss.key,
            lost=lost_words(loss.lost),
            weighted=MINUTES.write(loss.weighted) if loss.weighted > NOISE else "none",
            relative=loss.weighted / largest if largest > 0 else 0.0,
        )
        for loss in losses
    )
