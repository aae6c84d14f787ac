"""A small invented incident with a cache for every part of the section ``stocking``, and nothing doubtful about it."""

from __future__ import annotations

__all__ = ["FAIR", "ROADS", "STOCKING", "stocking_text"]

FAIR = """\
incident: {name: County fair, horizon: 4 h}
areas: {field: First aid field, gate: West gate}
patients:
  - {batch: stand, count: 6, category: immediate, area: field, ladder: low need, arrive: T+10}
  - {batch: queue, count: 4, category: minimal, area: gate, ladder: low need, arrive: T+20}
supplies:
  - {cylinder: US E aluminium, count: 40, pressure: full, area: field}
  - {cylinder: US E aluminium, count: 30, pressure: full, area: gate}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 6, area: field}
  - {regulator: yoke regulator 0-15 L/min, count: 4, area: gate}
devices:
  - {device: nasal cannula, count: 6, area: field}
  - {device: nasal cannula, count: 4, area: gate}
staff: [{people: 2, area: field}, {people: 2, area: gate}]
power: [{power: 2 kW, area: field}, {power: 1 kW, area: gate}]
resupply: {cylinder: US E aluminium, regulator: yoke regulator 0-15 L/min}
"""

STOCKING = """\
stocking:
  money: $
  years: 5
  budget: 9000.50
  caches:
    - cache: trailer
      payload: 900 lb
      volume: 2.5 m3
      gas limit: 300 ft3
      slots: {rack: 24, drawer: 2.5}
      owned: {yoke regulator 0-15 L/min: 6, US E: 2}
      stations:
        - {at: north gate, sets off: 5 min, reaches: {field: 10 min, gate: 0}, yearly: 120}
        - {at: fire hall, sets off: T+2, reaches: {field: 20 min}}
    - cache: cupboard
      stations: [{at: field tent, sets off: 0, reaches: {field: 0}}]
  candidates:
    - {cylinder: US E, pressure: 1900 psi, units: 2, buy: 130, yearly: 24, volume: 14 L, slot: rack, bag: rack A}
    - {regulator: yoke regulator 0-15 L/min, buy: 45, weight: 1 lb, volume: 0.5 L, at most: 40}
    - {device: nasal cannula, units: 10, buy: 18, weight: 2 lb, volume: 10 L, slot: drawer, slots: 0.5}
    - {name: few cannulas, device: nasal cannula, units: 2, buy: 5, weight: 0.5 lb, volume: 0}
    - {concentrator: concentrator 5 L/min, yearly: 50, weight: 15 kg, volume: 60 L, change: 4 min}
    - {people: 2, yearly: 400, at most: 3}
  goals:
    - {category: immediate, coverage: 99 %}
    - {category: immediate, without oxygen: 60 min, worst: 5 %}
    - {category: minimal, without oxygen: 2 h}
  rules of thumb:
    - {rule: one each, packs: {trailer: {US E aluminium: 3, nasal cannula: 1}, cupboard: {few cannulas: 2}}}
"""

#: A network over which caches come to areas: the bridge is closed from T+20 to T+50.
ROADS = """\
network:
  places: [{depot: north gate}, {staging: fire hall}, {depot: field tent}, {junction: bridge end}]
  roads:
    - {road: bridge, between: [north gate, bridge end], drive: 10 min, closed: [{from: T+20, until: T+50}]}
    - {road: lane, between: [bridge end, field], drive: 5 min}
    - {road: long way, between: [north gate, field], drive: 40 min}
    - {road: ring, from: fire hall, to: north gate, drive: 8 min}
    - {road: tent road, between: [field tent, field], drive: 1 min}
    - {path: stairs, between: [field, gate], walk: 5 min}
  vehicles:
    - {vehicle: truck, at: north gate, slots: {US E: 4}, crew: 1, loading: 5 min, unloading: 5 min}
  stock: [{cylinder: US E, count: 4, pressure: full, at: north gate}]
"""


def stocking_text(*changes: tuple[str, str], network: bool = False) -> str:
    """Return the scenario with some texts, each of which must be there, replaced by others."""
    text = FAIR + (ROADS if network else "") + STOCKING
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text
