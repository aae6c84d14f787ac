"""A small exercise as text, with casualties in two lines, a planner's own patients, a delivery and a machine."""

from __future__ import annotations

import functools
import tempfile
from pathlib import Path

from mci.scenario.draft import Draft, read_draft
from mci.scenario.model import Scenario

__all__ = ["COURT", "EXERCISE", "read_court", "read_text"]

#: Who is hurt: about one in three of the crushed needs oxygen.
EXERCISE = """\
exercise:
  casualties:
    - {group: crushed, mechanism: crowd crush, hurt: 9, area: court, arrive: {from: T+3, over: 20 min, pattern: early},
       stay: 40 min}
    - {group: smoke, mechanism: smoke, hurt: 6, children: 50 %, area: court,
       arrive: {from: T+5, over: 20 min, pattern: waves}, stay: 30 min}
"""
#: Everything else.
COURT = """\
incident: {name: Fire at the market, start: 10:00, horizon: 70 min, summary: A stall burns; people press to the gate.}
areas: {court: Court}
patients:
  - {patient: old woman, category: delayed, area: court, ladder: low need, arrive: T+2, stay: 50 min}
  - {batch: helpers, count: 3, category: minimal, area: court, ladder: low need, stay: 30 min,
     arrive: {from: T+10, over: 15 min, pattern: evenly, step: 5 min}}
supplies:
  - {cylinder: US D aluminium, count: 5, pressure: 1500 psi, area: court}
  - {concentrator: concentrator 5 L/min, count: 1, area: court}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 4, area: court}
devices:
  - {device: non-rebreather, count: 3, area: court}
  - {device: partial rebreather, count: 1, area: court}
  - {device: simple mask, count: 3, area: court}
  - {device: nasal cannula, count: unlimited, area: court}
  - {device: child non-rebreather, count: 2, area: court}
  - {device: child simple mask, count: 2, area: court}
  - {device: child cannula, count: unlimited, area: court}
staff: [{people: 2, area: court}]
power: [{power: 600 W, area: court}]
deliveries:
  - {delivery: van, at: T+30, area: court, brings: [{cylinder: US D aluminium, count: 2, pressure: full}]}
resupply: {cylinder: US D aluminium, regulator: yoke regulator 0-15 L/min}
"""


def read_text(text: str) -> Draft:
    """Return a draft of a text."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "court.yaml"
        file.write_text(text, encoding="utf-8")
        return read_draft(file)


@functools.cache
def read_court(exercise: str = EXERCISE) -> Scenario:
    """Return the small exercise."""
    return read_text(COURT + exercise).scenario()
