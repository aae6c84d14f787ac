"""A small invented incident with a network of every kind of place, road, vehicle and stock."""

from __future__ import annotations

__all__ = ["INCIDENT", "NETWORK", "SMALL_NETWORK", "network_text"]

INCIDENT = """\
incident: {name: Quay fire, start: 14:30, horizon: 8 h}
areas: {west: West portal, east: East portal}
patients:
  - {batch: one, count: 3, category: immediate, area: west, ladder: low need, arrive: T+10}
  - {batch: two, count: 6, category: minimal, area: east, ladder: low need, arrive: T+5}
supplies:
  - {cylinder: US E aluminium, count: 5, pressure: 2000 psi, area: west}
  - {cylinder: US M60, count: 2, pressure: full, area: east}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 8, area: west}
  - {regulator: threaded regulator 0-15 L/min, count: 8, area: east}
devices:
  - {device: nasal cannula, count: 30, area: west}
  - {device: nasal cannula, count: unlimited, area: east}
staff: [{people: 2, area: west}, {people: 2, area: east}]
resupply: {cylinder: US M60, regulator: threaded regulator 0-15 L/min}
"""

#: The lines of each part, so that tests can take them in another order, leave one out or change one.
NETWORK = {
    "places": [
        (
            "{depot: valley, title: Valley depot, "
            "open: [{from: T+0, until: T+200}, {from: 5 h}, {from: T+200, until: T+240}]}"
        ),
        "{supplier: gasworks, lead: 3 h}",
        (
            "{fill station: hilltop, fills: [US E], per hour: 12, litres per hour: 6 m3, "
            "open daily: {from: 20:00, until: 06:00}}"
        ),
        "{staging: school yard}",
        "{junction: bridge end}",
    ],
    "roads": [
        "{road: bridge, between: [valley, bridge end], drive: 25 min, closed: [{from: T+60, until: T+120}]}",
        "{road: west road, between: [bridge end, west], drive: 10 min}",
        "{road: hill road, between: [hilltop, valley], drive: 30 min}",
        "{road: quay ramp, from: school yard, to: east, drive: 5 min}",
        "{road: back lane, from: east, to: valley, drive: 50 min}",
        "{road: school road, between: [valley, school yard], drive: 40 min}",
        "{road: works road, between: [gasworks, school yard], drive: 1 h}",
        "{path: footbridge, between: [west, east], walk: 12 min}",
    ],
    "vehicles": [
        "{vehicle: truck 10, at: valley, slots: {US M60: 6}, crew: 1, loading: 15 min, unloading: 20 min}",
        (
            "{vehicle: truck 2, at: valley, slots: {US E: 24, US M60: 2}, payload: 900 kg, crew: 2, "
            "loading: 10 min, unloading: 12 min, from: T+15, until: 22:00}"
        ),
        "{porters: trolley, at: west, slots: {US E: 4}, payload: 80 kg, crew: 2, loading: 2 min, unloading: 3 min}",
    ],
    "stock": [
        "{cylinder: US E, count: 40, pressure: full, at: valley}",
        "{cylinder: US E, count: 3, pressure: full, at: valley}",
        (
            "{cylinder: US E, count: 7, pressure: full, at: school yard, "
            "residual: 300 psi, temperature: 35 C, change: 5 min}"
        ),
        "{cylinder: US M60, count: 12, pressure: full, at: gasworks}",
        "{empty: US E, count: 10, at: hilltop}",
        "{regulator: yoke regulator 0-15 L/min, count: 6, at: valley, ready: T+30}",
        "{device: nasal cannula, count: 50, at: valley}",
    ],
    "lends": ["west"],
}
_REST = "  crews: 6\n  cylinder masses: {US M60: 13 kg}\n"

#: One depot, one road, one truck.
SMALL_NETWORK = {
    "places": ["{depot: valley}"],
    "roads": [
        "{road: west road, between: [valley, west], drive: 10 min}",
        "{road: east road, between: [valley, east], drive: 10 min}",
    ],
    "vehicles": [
        "{vehicle: truck, at: valley, slots: {US E: 24}, payload: 900 kg, crew: 2, loading: 9 min, unloading: 9 min}"
    ],
    "stock": [
        "{cylinder: US E, count: 40, pressure: full, at: valley}",
        "{regulator: yoke regulator 0-15 L/min, count: 6, at: valley}",
    ],
}


def network_text(lines: dict[str, list[str]] = NETWORK, rest: str = _REST) -> str:
    """Return the scenario with a network of these lines."""
    parts = "".join(f"  {part}:\n" + "".join(f"    - {line}\n" for line in rows) for part, rows in lines.items())
    return f"{INCIDENT}network:\n{parts}{rest}"
