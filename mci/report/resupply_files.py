"""Writing the results of a resupply plan: whole or not at all, and nothing is sent anywhere."""

from __future__ import annotations

import datetime
import json
from typing import TYPE_CHECKING, Any

from mci.plan.table import orders_text
from mci.plan.trip_table import trips_text
from mci.report.cautions import AID_STATEMENT, read_cautions
from mci.report.data_files import csv_text
from mci.report.files import put_files
from mci.report.request import request_lines
from mci.report.request_xml import request_xml
from mci.report.resupply_html import resupply_html_text
from mci.report.resupply_tables import resupply_tables
from mci.report.target import check_target

if TYPE_CHECKING:
    from pathlib import Path

    from mci.pipeline_resupply import ResupplyRun
    from mci.replay.judged import Judged

__all__ = ["resupply_files", "resupply_json", "write_resupply_results"]


def resupply_files(found: ResupplyRun, day: datetime.date | None = None) -> dict[str, str | bytes]:
    """Make the content of every result file, by name; ``request.xml`` only where a date and something to ask for is.

    Trips that replay finds impossible are not written, nor orders that are not VALID.
    """
    made: dict[str, str | bytes] = {f"{table.name}.csv": csv_text(table) for table in resupply_tables(found)}
    start, judged, schedule = found.scenario.start, found.run.executable, found.schedule
    made["orders.csv"] = orders_text(judged.plan.orders if judged else (), start)
    made["trips.csv"] = trips_text(() if found.findings else schedule.planned, start)
    made["trips_latest.csv"] = trips_text(() if found.findings else schedule.latest, start)
    sent = _sent(found, day)
    if sent is not None and request_lines(found):
        made["request.xml"] = request_xml(found, sent)
    made["resupply.json"] = resupply_json(found)
    made["report.html"] = resupply_html_text(found, notes=(_xml_note("request.xml" in made, sent),))
    return made


def write_resupply_results(
    found: ResupplyRun, folder: Path, *, force: bool = False, day: datetime.date | None = None
) -> Path:
    """Write all result files of a resupply run into a folder, whole or not at all, and return it.

    Parameters
    ----------
    found
        What to write.
    folder
        Where; made where it does not exist.
    force
        Replace earlier results.
    day
        Date of T+0, for ``request.xml``.

    Raises
    ------
    UsageError
        The folder must not be replaced, or the disk refuses.
    """
    check_target(folder.resolve(), force=force)
    return put_files(resupply_files(found, day), folder)


def _sent(found: ResupplyRun, day: datetime.date | None) -> datetime.datetime | None:
    """Return T+0 as date and time, which the request gives as the moment when it is sent."""
    if day is None or found.scenario.start is None:
        return None
    return datetime.datetime.combine(day, datetime.time()) + datetime.timedelta(minutes=found.scenario.start)


def _xml_note(written: bool, sent: datetime.datetime | None) -> str:
    if written and sent is not None:
        return (
            f"request.xml (EDXL-RM 1.0 RequestResource) gives T+0, {sent:%Y-%m-%d %H:%M}, as the time when it is sent; "
            "its times are local, without an offset from UTC. It is a file for people to check; nothing is sent."
        )
    if sent is None:
        return (
            "request.xml is not written: such a message needs a date and a time, so the start of the incident as clock "
            "time and its date."
        )
    return "request.xml is not written: there is nothing to ask for."


def _weighted(judged: Judged | None) -> float | None:
    """Return what orders that can be carried out reach; ``None`` where there are none."""
    return round(judged.verdict.weighted, 6) if judged is not None and judged.verdict.validity else None


def resupply_json(found: ResupplyRun) -> str:
    """Write everything that was found as one JSON text; only ``provenance.timings`` differs between two equal runs."""
    schedule, scenario = found.schedule, found.scenario
    record: dict[str, Any] = {
        "format": "mci resupply",
        "format_version": found.run.provenance.format_version,
        "disruptions": list(found.disruptions),
        "statement": AID_STATEMENT,
        "provenance": found.run.provenance.to_dict(),
        "incident": {
            "name": scenario.name,
            "start_min_after_midnight": scenario.start,
            "horizon_min": scenario.horizon,
            "weights": dict(scenario.weights),
        },
        "findings": [{"law": each.law, "minute_min": each.minute, "reason": each.reason} for each in found.findings],
        "schedule": {
            "bound_weighted_patient_min": round(schedule.bound, 6),
            "at_best_weighted_patient_min": round(schedule.reached, 6),
            "orders_weighted_patient_min": _weighted(found.run.executable),
            "latest_orders_weighted_patient_min": _weighted(found.late),
            "without_trips_weighted_patient_min": round(schedule.without_trips, 6),
            "trips": len(schedule.departures),
            "full_cylinders": schedule.cylinders,
            "fewest_cylinders": schedule.fewest_cylinders,
            "fewest_trips": schedule.fewest_trips,
            "missing_patient_min": round(schedule.missing, 6),
            "obstacles": [
                {"constraint": o.constraint, "missing_patient_min": round(o.missing, 6)} for o in schedule.obstacles
            ],
            "notes": list(schedule.notes),
        },
        "cautions": [
            {"text": c.text, "source": c.source, "basis": c.basis}
            for c in (*read_cautions("transport_cautions.csv"), *read_cautions())
        ],
        "tables": {
            table.name: {"columns": list(table.headers), "rows": [list(row) for row in table.rows]}
            for table in resupply_tables(found)
        },
    }
    return json.dumps(record, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
