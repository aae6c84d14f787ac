"""The files of a packing list."""

from __future__ import annotations

import dataclasses
import json
from typing import TYPE_CHECKING, Any

from mci.report.cautions import AID_STATEMENT
from mci.report.data_files import csv_text
from mci.report.stock_build import stock_cautions
from mci.report.stock_html import stock_html_text
from mci.report.stock_lists import WORST_FOLDER, worst_files
from mci.report.stock_tables import stock_tables
from mci.report.workbook import book_bytes

if TYPE_CHECKING:
    from mci.stocking.result import Stock

__all__ = ["stock_files", "stock_json"]


def stock_files(found: Stock) -> dict[str, str | bytes]:
    """Make the content of every result file, by name; the report comes last, so that it is there when all are.

    The worst incidents stand in a folder ``worst``, each as a scenario that can be planned.
    """
    return {
        **{f"{table.name}.csv": csv_text(table) for table in stock_tables(found)},
        **{f"{WORST_FOLDER}/{name}": text for each in found.worst_scenarios.values() for name, text in each.items()},
        "stock.xlsx": _workbook(found),
        "stock.json": stock_json(found),
        "report.html": stock_html_text(found),
    }


def _workbook(found: Stock) -> bytes:
    record = found.provenance
    years = f"{found.stocking.years:g} year{'' if found.stocking.years == 1 else 's'}"
    about = (
        ("What this is", AID_STATEMENT),
        ("Incident", found.scenario.summary),
        ("Chosen for", _chosen_for(found)),
        ("Software", record.software),
        ("Scenario file", record.scenario_file),
        ("Scenario SHA-256", record.scenario_sha256),
        (
            "Units",
            (
                f"in the headers: money in {found.stocking.money}, cost over {years}; "
                "kg; L of room; gas_L litres of free gas; patient_min patient-minutes; share 0 to 1 (shown as %)"
            ),
        ),
    )
    return book_bytes("Packing list", found.scenario.name, about, stock_tables(found))


def _chosen_for(found: Stock) -> str:
    aim = "the most weighted coverage for a budget" if found.mode == "budget" else "the least cost that meets the goals"
    return f"{aim}, over {found.incidents} incidents, seed {found.seed}"


def _number(value: float) -> float | str | None:
    if value != value:  # no number
        return None
    return value if abs(value) != float("inf") else "inf" if value > 0 else "-inf"


def stock_json(found: Stock) -> str:
    """Write everything that was found as one JSON text; only ``provenance.timings`` differs between two equal runs."""
    scenario = found.scenario
    record = found.provenance.to_dict()
    record["timings"] = {**record["timings"], "trace_s": [float(value) for value in found.trace["seconds"]]}
    plain: dict[str, Any] = {
        "format": "mci stock",
        "format_version": found.provenance.format_version,
        "statement": AID_STATEMENT,
        "provenance": record,
        "incident": {
            "name": scenario.name,
            "start_min_after_midnight": scenario.start,
            "horizon_min": scenario.horizon,
            "weights": dict(scenario.weights),
        },
        "choice": {
            "mode": found.mode,
            "money": found.stocking.money,
            "years": found.stocking.years,
            "budget": _number(found.budget),
            "incidents": found.incidents,
            "seed": found.seed,
            "lower": _number(found.lower),
            "upper": _number(found.upper),
            "gap_share": _number(found.gap),
            "proven": bool(found.proven),
            "rounds": found.rounds,
            "cuts": found.cuts,
            "step": _number(found.step),
        },
        "fresh": {"incidents": found.validity.incidents, "judged": found.validity.judged},
        "worth": {name: _number(float(value)) for name, value in dataclasses.asdict(found.worth).items()},
        "worst_files": worst_files(found),
        "notes": list(found.notes),
        "cautions": [{"text": c.text, "source": c.source, "basis": c.basis} for c in stock_cautions()],
        "tables": {
            table.name: {"columns": list(table.headers), "rows": [list(row) for row in table.rows]}
            for table in stock_tables(found)
        },
    }
    return json.dumps(plain, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
