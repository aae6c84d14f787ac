"""A very small incident and the exercise that is made of it, as a planner writes them; exercise data, invented."""

from __future__ import annotations

__all__ = ["YARD", "YARD_EXERCISE"]

YARD = """\
incident: {name: Smoke in a yard, start: 10:00, horizon: 60 min, summary: A shed burns beside a yard.}
areas: {yard: Yard}
patients:
  - {patient: P01, category: immediate, area: yard, ladder: high need, arrive: T+4, stay: 40 min, mechanism: smoke}
  - {patient: P02, category: delayed, area: yard, ladder: moderate need, arrive: T+6, stay: 40 min, mechanism: smoke}
  - {patient: P03, category: minimal, area: yard, ladder: low need, arrive: T+6, stay: 24 min}
  - {patient: P04, category: delayed, area: yard, ladder: moderate need, arrive: T+12, stay: 60 min}
supplies: [{cylinder: US D aluminium, count: 4, pressure: 1500 psi, area: yard}]
regulators: [{regulator: yoke regulator 0-15 L/min, count: 3, area: yard}]
devices:
  - {device: non-rebreather, count: 2, area: yard}
  - {device: partial rebreather, count: 2, area: yard}
  - {device: simple mask, count: 3, area: yard}
  - {device: nasal cannula, count: unlimited, area: yard}
staff: [{people: 2, area: yard}]
deliveries:
  - {delivery: truck, at: T+30, area: yard, brings: [{cylinder: US D aluminium, count: 2, pressure: full}]}
resupply: {cylinder: US D aluminium, regulator: yoke regulator 0-15 L/min}
"""
#: With injects and an objective of its own, so that nothing is drawn.
YARD_EXERCISE = (
    YARD
    + """\
exercise:
  injects:
    - {inject: wrong washer, at: T+10, regulator: yard yoke regulator 0-15 L/min 3, found after: 8 min}
    - {inject: regulator leaks, at: T+20, regulator: yard yoke regulator 0-15 L/min 2}
    - {inject: delivery late, at: T+26, delivery: truck, late by: 12 min}
  objectives:
    - {objective: on oxygen within, category: immediate, minutes: 5 min, share: 100 %}
"""
)
