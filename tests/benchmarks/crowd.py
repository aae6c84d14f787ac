"""An invented incident of any size: five areas, three ladders, supplies for about two thirds of the need."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from incidents import concentrators, cylinders, ladder, outlet_set, patients, regulator, scenario

from mci.scenario.model import Scenario

__all__ = ["crowd"]

#: Category, share of all patients, ladder, minutes of stay.
MIX = (
    ("immediate", 0.18, "high", 220.0),
    ("immediate", 0.08, "moderate", 180.0),
    ("delayed", 0.12, "moderate", 230.0),
    ("delayed", 0.12, "low", 200.0),
    ("minimal", 0.50, "low", 120.0),
)
TARGET_LPM = {"high": 15.0, "moderate": 8.0, "low": 3.0}


def crowd(
    people: int, *, areas: int = 5, hours: float = 12, step: float = 5, supply: float = 0.65, memory: bool = True
) -> Scenario:
    """Return the incident.

    Parameters
    ----------
    people
        Patients in all.
    areas
        Treatment areas, alike.
    hours
        Horizon [h]; patients arrive over its first five sixths.
    step
        Arrivals are counted in steps of this length [min].
    supply
        Litres supplied as a share of the litres needed at target.
    memory
        Whether single-use masks run short, so that the programme must remember who owns one.
    """
    names = tuple(f"area-{number}" for number in range(areas))
    ladders = [
        ladder("high", ("mask", 15, 1), ("simple", 8, 0.7), ("cannula", 4, 0.4), single_use=True),
        ladder("moderate", ("simple", 8, 1), ("cannula", 4, 0.7), ("prongs", 2, 0.4), single_use=True),
        ladder("low", ("cannula", 3, 1), ("prongs", 1.5, 0.6), single_use=True),
    ]
    batches, lots, regulators = [], [], []
    devices: dict[tuple[str, str], float] = {}
    for area in names:
        need = 0.0
        for category, share, key, stay in MIX:
            count = max(1, round(people / areas * share))
            need += count * stay * TARGET_LPM[key]
            batches.append(patients(count, key, area=area, category=category, over=hours * 50, step=step, stay=stay))
        litres = need * supply
        lots += [
            cylinders(max(1, round(litres * 0.3 / 560)), 560, area=area, key=f"{area} small", change=2),
            cylinders(max(1, round(litres * 0.3 / 560)), 560, area=area, key=f"{area} truck", arrive=180, change=2),
            cylinders(
                max(1, round(litres * 0.4 / 6000)),
                6000,
                area=area,
                key=f"{area} large",
                built_in=outlet_set("manifold", 6, 0, 15, 90),
                change=5,
            ),
            concentrators(max(1, people // areas // 20), area=area, key=f"{area} concentrators"),
        ]
        regulators.append(regulator(max(1, round(people / areas * 0.2)), area=area))
        if memory:
            devices[area, "mask"] = max(1, round(people / areas * 0.12))
            devices[area, "simple"] = max(1, round(people / areas * 0.2))
    return scenario(
        horizon=hours * 60,
        ladders=ladders,
        patients=batches,
        lots=lots,
        regulators=regulators,
        devices=devices,
        staff=dict.fromkeys(names, max(2.0, people / 150)),
        power=dict.fromkeys(names, max(300.0, people * 2.0)),
        areas=names,
    )
