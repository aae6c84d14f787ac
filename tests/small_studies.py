"""Small studies of caches for tests, each made once: few incidents, and so few lists that each can be tried."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from small_stocking import POST, all_lists, draft_of

from mci.stocking.result import Stock
from mci.stocking.spread import Sampled, Staff
from mci.stocking.stock import run_stock
from mci.stocking.study import Entry, Study, open_study

__all__ = ["PATIENTS", "STAND", "TWO", "UNCERTAIN", "Tried", "stand", "stand_for_budget", "study_of", "tried", "two"]

Floats = npt.NDArray[np.float64]

UNCERTAIN = """\
uncertain:
  - {number: patients.stand.count, one of: {1: 40 %, 3: 40 %, 5: 20 %}}
  - {number: patients.queue.count, one of: {2: 50 %, 4: 50 %}}
"""

#: The first aid post with two goals that ask for unlike things, and two lists of the planner's own.
STAND = POST.replace(
    "    - {category: immediate, coverage: 90 %}\n",
    "    - {category: immediate, coverage: 80 %}\n"
    "    - {category: minimal, without oxygen: 50 min, worst: 40 %}\n"
    "  rules of thumb:\n"
    "    - {rule: two and two, packs: {box: {US D aluminium: 2, yoke regulator 0-15 L/min: 2}}}\n"
    "    - {rule: too heavy, packs: {box: {US D aluminium: 3, yoke regulator 0-15 L/min: 3, simple mask: 1}}}\n",
).replace("payload: 100 kg", "payload: 21 kg")

#: Two caches of which one stays empty at first, and may stand at two places that cost something.
TWO = """\
incident: {name: Two boxes, horizon: 90 min}
areas: {field: Field}
patients:
  - {batch: stand, count: 2, category: immediate, area: field, ladder: low need, arrive: T+10, stay: 40 min}
supplies: [{cylinder: US D aluminium, count: 1, pressure: full, area: field}]
regulators: [{regulator: yoke regulator 0-15 L/min, count: 1, area: field}]
devices: [{device: nasal cannula, count: unlimited, area: field}]
staff: [{people: 1, area: field}]
resupply: {cylinder: US E aluminium, regulator: yoke regulator 0-15 L/min}
stocking:
  money: $
  years: 2
  caches:
    - cache: box
      slots: {rack: 2}
      owned: {yoke regulator 0-15 L/min: 1}
      stations: [{at: gate, sets off: T+5, reaches: {field: 5 min}, yearly: 10}]
    - cache: crate
      stations:
        - {at: hall, sets off: T+5, reaches: {field: 15 min}, yearly: 30}
        - {at: barn, sets off: T+5, reaches: {field: 15 min}, yearly: 20}
  candidates:
    - {cylinder: US D aluminium, pressure: full, buy: 120, yearly: 20, slot: rack, bag: rack, at most: 3}
    - {regulator: yoke regulator 0-15 L/min, buy: 60, yearly: 3, weight: 1 lb, at most: 3}
  goals: [{category: immediate, coverage: 90 %}]
  rules of thumb:
    - {rule: one each, packs: {box: {US D aluminium: 1}, crate: {US D aluminium: 1}}}
    - {rule: one more, packs: {box: {US D aluminium: 1}, crate: {}}}
uncertain: [{number: patients.stand.count, one of: {1: 40 %, 3: 40 %, 5: 20 %}}]
"""

#: Patients on the stand and in the queue, incident by incident.
PATIENTS = ((1, 2), (3, 4), (5, 2), (1, 4), (2, 2))


def study_of(text: str, patients: Sequence[Sequence[int]] = PATIENTS, gap: float = 1e-6) -> Study:
    """Load a study of incidents with so many on the stand and, where there is one, in the queue."""
    names = ("patients.stand.count", "patients.queue.count")
    values = tuple(dict(zip(names, map(str, each), strict=False)) for each in patients)
    return open_study(Sampled(draft_of(text), values), Staff(), gap, 60.0, lambda _: None)


@dataclass(frozen=True)
class Tried:
    """Every list that fits into the caches, with what it leaves in the incidents: what searches are held to."""

    study: Study
    entries: tuple[Entry, ...]

    def cheapest(self, limits: Sequence[float] | None = None) -> Entry | None:
        """Return the cheapest list that meets goals, those of the study or others, all at once."""
        targets, search = self.study.targets, self.study.search
        asked = targets.limits() if limits is None else np.array(limits)
        for entry in sorted(self.entries, key=lambda each: each.cost):
            if search.meets(entry.plan, asked):
                return entry
        return None

    def most(self, budget: float) -> float:
        """Return the most weighted coverage of any list for a budget."""
        return max(self.study.weighted(each) for each in self.entries if each.cost <= budget + 1e-9)


@functools.cache
def tried(text: str = STAND, patients: Sequence[Sequence[int]] = PATIENTS) -> Tried:
    """Try every list of a study of caches with one station."""
    study = study_of(text, patients)
    return Tried(study, tuple(study.enter(str(n), each) for n, each in enumerate(all_lists(study.layout))))


@functools.cache
def stand() -> Stock:
    """Six incidents of the first aid post: the least cost that meets the goals."""
    return run_stock(draft_of(STAND + UNCERTAIN), None, 6, 1, fresh=12, judged=3)


@functools.cache
def stand_for_budget() -> Stock:
    """The same, and the most for a budget; fewer fresh incidents than say how sure they are."""
    return run_stock(draft_of(STAND + UNCERTAIN), None, 6, 1, budget=300.0, step=40.0, fresh=4, judged=0)


@functools.cache
def two() -> Stock:
    """Six incidents of two caches of which the second may stand at two places."""
    return run_stock(draft_of(TWO), None, 6, 1, fresh=5, judged=5)
