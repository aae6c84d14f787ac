"""The files of a drill: a sheet for each reader, the exercise as a scenario, and everything as tables."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any

from mci.plan.table import orders_text
from mci.report.cautions import AID_STATEMENT
from mci.report.data_files import csv_text
from mci.report.debrief_tables import DATA_FOLDER
from mci.report.drill_html import cards_html, controllers_html, key_html, players_html
from mci.report.drill_key import lost_words
from mci.report.drill_tables import drill_tables
from mci.report.drill_words import EXERCISE_STATEMENT, handling_cautions
from mci.report.workbook import book_bytes

if TYPE_CHECKING:
    from mci.drills.result import Drill

__all__ = ["drill_files", "drill_json"]


def drill_files(drill: Drill) -> dict[str, str | bytes]:
    """Make the content of every file of a packet, by name; the exercise comes last, when all else is made."""
    tables = {f"{DATA_FOLDER}/{table.name}.csv": csv_text(table) for table in drill_tables(drill)}
    # Written by the room whose reader reads it.
    tables[f"{DATA_FOLDER}/orders.csv"] = orders_text(drill.best.plan.orders, drill.briefed.start)
    return {
        **tables,
        f"{DATA_FOLDER}/results.json": drill_json(drill),
        "packet.xlsx": _workbook(drill),
        "players.html": players_html(drill),
        "cards.html": cards_html(drill),
        "controllers.html": controllers_html(drill),
        "answer-key.html": key_html(drill),
        **drill.exercise_tables,
        "exercise.yaml": drill.exercise_text,
    }


def _workbook(drill: Drill) -> bytes:
    record, hard = drill.provenance, drill.difficulty
    about = (
        ("What this is", EXERCISE_STATEMENT),
        ("Who decides", AID_STATEMENT),
        ("For whom", "controllers only: events, orders and decisions are in it"),
        ("Incident", drill.briefed.summary),
        ("Difficulty", f"usual practice loses {lost_words(hard)} of what the best orders reach"),
        ("Best orders", "made with everything known, every inject too; no crew can know that much"),
        ("Software", record.software),
        ("Scenario file", record.scenario_file),
        ("Scenario SHA-256", record.scenario_sha256),
        ("Seed", str(drill.seed)),
        (
            "Units",
            "in the headers: min minutes after T+0, percent, per_min, psi gauge, L_per_min, share 0 to 1 (shown as %)",
        ),
        ("Read back", "mci replay reads the sheet orders; a log is written on the sheet log-sheet and saved as CSV"),
    )
    return book_bytes("Exercise packet", drill.briefed.name, about, drill_tables(drill))


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None


def drill_json(drill: Drill) -> str:
    """Write everything that was found as one JSON text, without timings, so that equal drills give equal bytes."""
    hard, scenario = drill.difficulty, drill.briefed
    plain: dict[str, Any] = {
        "format": "mci drill",
        "format_version": drill.provenance.format_version,
        "statement": f"{EXERCISE_STATEMENT} {AID_STATEMENT}",
        "provenance": drill.provenance.to_dict(timings=False),
        "incident": {
            "name": scenario.name,
            "start_min_after_midnight": scenario.start,
            "horizon_min": scenario.horizon,
            "weights": dict(scenario.weights),
        },
        "drill": {
            "seed": drill.seed,
            "asked": None if hard.asked is None else hard.asked.value,
            "level": None if hard.level is None else hard.level.value,
            "lost_share": _number(hard.lost),
            "usual_weighted_credit_min": _number(hard.usual),
            "best_weighted_credit_min": _number(hard.best),
            "bound_weighted_credit_min": _number(hard.bound),
            "tried": hard.tried,
        },
        "notes": list(drill.notes),
        "cautions": [{"text": c.text, "source": c.source, "basis": c.basis} for c in handling_cautions()],
        "tables": {
            table.name: {"columns": list(table.headers), "rows": [list(row) for row in table.rows]}
            for table in drill_tables(drill)
        },
    }
    return json.dumps(plain, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
