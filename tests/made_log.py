"""A small exercise in two areas across midnight, and a team's paper log of what was done in it."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from planned import plan

from mci.drills.names import Names
from mci.plan.orders import Action, Order, sort_orders
from mci.scenario.model import Scenario
from mci.scenario.read import read_scenario
from mci.units import format_clock

__all__ = ["COLUMNS", "in_whole_minutes", "log_text", "made_orders", "made_scenario", "paper_rows"]

_TEXT = """
incident: {name: Made up, summary: For tests of logs., start: "23:30", horizon: 2 h}
areas: {field: Field post, hall: Sports hall}
patients:
  - {patient: P01, category: immediate, area: field, ladder: high need, arrive: T+5, stay: 80 min}
  - {patient: P02, category: immediate, area: field, ladder: high need, arrive: T+10, stay: 60 min}
  - {patient: P03, category: delayed, area: field, ladder: moderate need, arrive: T+12, stay: 90 min}
  - {patient: P04, category: delayed, area: field, ladder: moderate need, arrive: T+20, stay: 45 min}
  - {patient: P11, category: minimal, area: hall, ladder: low need, arrive: T+8, stay: 70 min}
  - {patient: P12, category: delayed, area: hall, ladder: moderate need, arrive: T+15, stay: 100 min}
  - {patient: P13, category: immediate, area: hall, ladder: high need, arrive: T+30, stay: 60 min}
supplies:
  - {cylinder: US D aluminium, count: 5, pressure: full, area: field}
  - {cylinder: US E aluminium, count: 2, pressure: full, area: field}
  - {cylinder: US D aluminium, count: 5, pressure: full, area: hall}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 3, area: field}
  - {regulator: yoke regulator 0-15 L/min, count: 2, area: hall}
devices:
  - {device: non-rebreather, count: 5, area: field}
  - {device: simple mask, count: 5, area: field}
  - {device: nasal cannula, count: 9, area: field}
  - {device: partial rebreather, count: 0, area: field}
  - {device: non-rebreather, count: 5, area: hall}
  - {device: simple mask, count: 5, area: hall}
  - {device: nasal cannula, count: 9, area: hall}
  - {device: partial rebreather, count: 0, area: hall}
staff:
  - {people: 2, area: field}
  - {people: 1, area: hall}
resupply: {cylinder: US D aluminium, regulator: "yoke regulator 0-15 L/min"}
"""

COLUMNS = ("Time", "Area", "Action", "Patient", "Device", "Flow", "Cylinder", "Regulator", "Gauge psi", "By", "Remarks")

#: How crews write these; the names of the catalogue are in the tests of names.
_SHORT = {"non-rebreather": "NRB", "simple mask": "SM", "nasal cannula": "NC", "partial rebreather": "PRB"}
_WORDS = {
    Action.CONNECT: "on",
    Action.DISCONNECT: "off",
    Action.CHANGE: "new cylinder",
    Action.STEP_DOWN: "reduce",
    Action.SET_FLOW: "flow",
    Action.MOVE: "move",
}


@cache
def made_scenario() -> Scenario:
    """Return the exercise."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "made.yaml"
        file.write_text(_TEXT, encoding="utf-8")
        return read_scenario(file)


@cache
def made_orders() -> tuple[Order, ...]:
    """Return orders for it, as they were carried out."""
    return plan(made_scenario()).plan.orders


def in_whole_minutes(orders: Iterable[Order]) -> tuple[Order, ...]:
    """Return orders at the minutes of a watch."""
    return sort_orders([replace(each, minute=float(math.floor(each.minute)), begin=-1.0) for each in orders])


def paper_rows(scenario: Scenario, orders: Iterable[Order], *, clock: bool) -> list[dict[str, str]]:
    """Return the lines that a team writes: marks, short forms, and clock times or minutes after T+0."""
    names = Names(scenario)
    return [
        dict(
            zip(
                COLUMNS,
                (
                    format_clock(each.minute, scenario.start).split(" ")[0] if clock else f"T+{each.minute:.10g}",
                    each.area,
                    _WORDS[each.action],
                    each.patient,
                    _SHORT.get(each.device, each.device),
                    f"{each.flow_lpm:.10g}" if each.flow_lpm else "",
                    names.on_paper(each.supply),
                    names.on_paper(each.regulator),
                    "" if each.gauge_psi is None else f"{each.gauge_psi:.0f}",
                    names.on_paper(each.by),
                    each.reason,
                ),
                strict=True,
            )
        )
        for each in orders
    ]


def log_text(rows: Iterable[dict[str, str]], columns: Sequence[str] = COLUMNS, separator: str = ",") -> str:
    """Write lines as CSV, columns in any order."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, columns, extrasaction="ignore", delimiter=separator, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()
