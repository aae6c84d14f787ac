"""A small exercise as a planner writes it, with every part of the language; exercise data, invented."""

from __future__ import annotations

__all__ = ["CASUALTIES", "EXERCISE", "PATIENTS", "exercise_text"]

_HEAD = """\
incident: {name: Bus at the quay, start: 09:10, horizon: 2 h}
areas: {field: Treatment area on the field, hall: Hall}
"""
#: Whoever is listed: singles, one who changes, and a batch.
PATIENTS = """\
patients:
  - {patient: A1, category: immediate, area: field, ladder: high need, arrive: T+4, stay: 60 min}
  - {patient: A2, category: delayed, area: field, ladder: moderate need, arrive: T+12, leave: T+100, mechanism: blast,
     then: [{after: 20 min, ladder: low need}, {at: T+50, area: hall}]}
  - {batch: walking, count: 3, category: minimal, area: hall, ladder: low need, arrive: T+10, mechanism: Smoke}
"""
_THINGS = """\
supplies:
  - {cylinder: US D aluminium, count: 6, pressure: 1900 psi, area: field}
  - {concentrator: concentrator 5 L/min, count: 2, area: hall}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 4, area: field}
  - {regulator: manifold 3 outlets, count: 1, area: field}
devices:
DEVICES
staff: [{people: 2, area: field}, {people: 1, area: hall}]
power: [{power: 2 kW, area: hall}]
deliveries:
  - delivery: county truck
    at: T+60
    area: field
    brings: [{cylinder: US D aluminium, count: 2, pressure: full},
             {regulator: yoke regulator 0-15 L/min, count: 2}]
resupply: {cylinder: US D aluminium, regulator: yoke regulator 0-15 L/min}
"""
#: Two groups, one of them with children.
CASUALTIES = """\
  casualties:
    - {group: school bus, mechanism: road crash, hurt: 40, children: 80 %, area: field,
       arrive: {from: T+5, over: 30 min, pattern: early}, stay: 80 min}
    - {group: passers-by, mechanism: Chlorine, hurt: 10, area: hall, arrive: T+20, leave: T+90}
"""
_INJECTS = """\
  injects:
    - {inject: second wave, at: T+45, patients: [
       {patient: P31, category: delayed, area: field, ladder: moderate need, arrive: T+50, stay: 60 min,
        mechanism: chlorine, then: [{after: 10 min, category: immediate}]}]}
    - {inject: Wrong washer, at: T+5, regulator: field yoke regulator 0-15 L/min 1, found after: 10 min}
    - {inject: cylinder low, at: T+10, supply: field US D aluminium 4, pressure: 300 psi}
    - {inject: regulator leaks, at: T+25, regulator: field yoke regulator 0-15 L/min 3}
    - {inject: delivery late, at: T+60, delivery: county truck, late by: 25 min}
    - {inject: power fails, at: T+40, area: hall, for: 30 min}
    - {inject: power fails, at: T+90, area: hall}
    - {inject: patient worsens, at: T+35, patient: A2, category: immediate}
    - {inject: area moves, at: T+50, area: field, for: 10 min}
"""
_OBJECTIVES = """\
  objectives:
    - {objective: on oxygen within, category: immediate, minutes: 5 min, share: 90 %}
    - {objective: stepped up within, minutes: 5 min, share: 100 %}
    - {objective: coverage at least, category: immediate, area: field, share: 95 %}
    - {objective: without oxygen at most, category: delayed, minutes: 60 min}
    - {objective: on empty at most, minutes: 2 min}
    - {objective: below least flow at most, minutes: 0 min}
"""
#: The whole section.
EXERCISE = f"exercise:\n{CASUALTIES}{_INJECTS}{_OBJECTIVES}  seed: 3\n  difficulty: 12.3 %\n"
_DEVICES = ("non-rebreather", "partial rebreather", "simple mask", "nasal cannula",
            "child non-rebreather", "child simple mask", "child cannula")  # fmt: skip


def exercise_text(exercise: str = EXERCISE, patients: str = PATIENTS) -> str:
    """Return a scenario with a section ``exercise``."""
    areas = ("field", "hall")
    devices = "\n".join(
        f"  - {{device: {each}, count: unlimited, area: {area}}}" for area in areas for each in _DEVICES
    )
    return _HEAD + patients + _THINGS.replace("DEVICES", devices) + exercise
