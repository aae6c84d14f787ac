"""A small invented incident with few things to pack, so that every packing list can be tried; and a wider one."""

from __future__ import annotations

import itertools
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
import numpy.typing as npt

from mci.lp.two_stage import Aim, Tail
from mci.scenario.draft import Draft, read_draft
from mci.stocking.goals import Targets
from mci.stocking.layout import Layout
from mci.stocking.spread import Sampled

__all__ = ["POST", "STREETS", "aim_of", "all_lists", "counts", "draft_of", "sampled"]

Floats = npt.NDArray[np.float64]

#: One area and one cache: 4 x 3 x 2 lists.
POST = """\
incident: {name: First aid post, horizon: 90 min}
areas: {field: Field}
patients:
  - {batch: stand, count: 3, category: immediate, area: field, ladder: moderate need, arrive: T+10, stay: 40 min}
  - {batch: queue, count: 3, category: minimal, area: field, ladder: low need, arrive: T+20}
supplies: [{cylinder: US D aluminium, count: 1, pressure: full, area: field}]
regulators: [{regulator: yoke regulator 0-15 L/min, count: 1, area: field}]
devices:
  - {device: simple mask, count: 2, area: field}
  - {device: partial rebreather, count: unlimited, area: field}
  - {device: nasal cannula, count: unlimited, area: field}
staff: [{people: 1, area: field}]
weights: {immediate: 1, delayed: 0.5, minimal: 0.1}
resupply: {cylinder: US E aluminium, regulator: yoke regulator 0-15 L/min}
stocking:
  money: $
  years: 2
  caches:
    - cache: box
      payload: 100 kg
      owned: {yoke regulator 0-15 L/min: 1}
      stations: [{at: gate, sets off: T+5, reaches: {field: 15 min}, yearly: 10}]
  candidates:
    - {cylinder: US D aluminium, pressure: full, units: 2, buy: 120, yearly: 20, at most: 3}
    - {regulator: yoke regulator 0-15 L/min, buy: 60, yearly: 3, weight: 1 kg, at most: 3}
    - {device: simple mask, units: 4, buy: 7, weight: 1 kg, at most: 1}
  goals:
    - {category: immediate, coverage: 90 %}
"""

#: Two areas, two caches of which one may stand at two places, things of every kind.
STREETS = """\
incident: {name: Street fair, horizon: 2 h}
areas: {field: Field, lane: Lane}
patients:
  - {batch: stand, count: 3, category: immediate, area: field, ladder: moderate need, arrive: T+10}
  - batch: queue
    count: 4
    category: minimal
    area: lane
    ladder: low need
    arrive: {from: T+5, over: 30 min, pattern: evenly, step: 15 min}
  - batch: movers
    count: 2
    category: immediate
    area: lane
    ladder: low need
    arrive: T+15
    then: [{after: 30 min, area: field}]
supplies: [{cylinder: US D aluminium, count: 2, pressure: full, area: field}]
regulators: [{regulator: yoke regulator 0-15 L/min, count: 1, area: field}]
devices:
  - {device: simple mask, count: 2, area: field}
  - {device: partial rebreather, count: 1, area: field}
  - {device: nasal cannula, count: 1, area: field}
  - {device: nasal cannula, count: 2, area: lane}
staff: [{people: 1, area: field}, {people: 1, area: lane}]
power: [{power: 400 W, area: lane}]
weights: {immediate: 1, delayed: 0.5, minimal: 0.2}
resupply: {cylinder: US E aluminium, regulator: yoke regulator 0-15 L/min}
stocking:
  money: $
  years: 5
  caches:
    - cache: trailer
      payload: 90 kg
      volume: 300 L
      gas limit: 200 ft3
      slots: {rack: 10}
      owned: {yoke regulator 0-15 L/min: 1, US D aluminium: 1}
      stations:
        - {at: gate, sets off: T+5, reaches: {field: 10 min, lane: 25 min}, yearly: 10}
        - {at: hall, sets off: T+5, reaches: {field: 20 min, lane: 5 min}, yearly: 30}
    - cache: box
      owned: {nasal cannula: 1}
      stations: [{at: kiosk, sets off: T+0, reaches: {lane: 2 min}, yearly: 20}]
  candidates:
    - {cylinder: US D aluminium, pressure: full, buy: 60, yearly: 12, volume: 6 L, slot: rack, at most: 6}
    - {cylinder: US M60, pressure: full, buy: 150, yearly: 25, volume: 20 L, slot: rack, slots: 4, at most: 2}
    - {regulator: yoke regulator 0-15 L/min, buy: 60, yearly: 4, weight: 0.6 kg, volume: 1 L, at most: 5}
    - {regulator: threaded regulator 0-15 L/min, buy: 75, yearly: 4, weight: 0.9 kg, volume: 1 L, at most: 2}
    - {device: simple mask, units: 3, buy: 10, yearly: 3, weight: 0.5 kg, volume: 5 L, at most: 3}
    - {device: nasal cannula, units: 4, buy: 8, yearly: 3, weight: 0.5 kg, volume: 5 L, at most: 3}
    - {concentrator: concentrator 5 L/min, buy: 650, yearly: 30, weight: 23 kg, volume: 70 L, at most: 2}
    - {people: 1, yearly: 100, at most: 2}
  goals:
    - {category: immediate, coverage: 90 %}
    - {category: minimal, without oxygen: 150 min, worst: 30 %}
"""


def draft_of(text: str) -> Draft:
    """Read a scenario that is not in a file."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "made.yaml"
        path.write_text(text, encoding="utf-8")
        return read_draft(path)


def counts(*patients: Sequence[int]) -> tuple[dict[str, str], ...]:
    """Return incidents with so many patients on the stand and in the queue."""
    return tuple({"patients.stand.count": str(one), "patients.queue.count": str(two)} for one, two in patients)


def sampled(text: str, *patients: Sequence[int]) -> Sampled:
    """Return such incidents."""
    return Sampled(draft_of(text), counts(*patients))


def all_lists(layout: Layout) -> Iterator[Floats]:
    """Yield every packing list of caches with one station that keeps what is owned and every limit but the money."""
    plan = layout.plan
    ranges = [range(int(low), int(high) + 1) for low, high in zip(plan.lower, plan.upper, strict=True)]
    for packs in itertools.product(*ranges):
        decisions = np.array(packs, dtype=float)
        if np.all(plan.matrix[:-1] @ decisions <= layout.limits[:-1] + 1e-9):
            yield decisions


def aim_of(layout: Layout, targets: Targets, tails: Sequence[Tail], at_most: Sequence[float]) -> Aim:
    """Return the aim of the least cost that keeps tails of one's own."""
    assert len(tails) == len(at_most)
    return Aim(layout.costs, np.zeros(len(targets.harms)), layout.limits, np.array(at_most), layout.offset)
