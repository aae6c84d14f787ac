"""Random scarce incidents: supply for 30 to 120 % of the need, outlets for a quarter to half of the patients."""

from __future__ import annotations

import dataclasses
import math
import random

from mci.catalogue.model import Basis, Cylinder, Device, DrawRule, GasModel, Ladder, OutletSet, Rung, Source
from mci.demand.stays import find_stays
from mci.scenario.model import (
    Area,
    Arrival,
    DeviceStock,
    Lot,
    LotKind,
    Patients,
    Pattern,
    PowerSupply,
    RegulatorStock,
    Resupply,
    Scenario,
    Spell,
    StaffShift,
)

__all__ = ["scarce"]

MADE_UP = Source("made up for a benchmark", Basis.ASSUMPTION)
INF = math.inf


def _device(key: str) -> Device:
    return Device(key, key, DrawRule.SET_FLOW, 0, 100, 0.21, 1, False, False, 0, "", MADE_UP)


def _ladder(key: str, *rungs: tuple[str, float, float]) -> Ladder:
    made = tuple(Rung(_device(name), flow, credit, f"{flow:g} L/min") for name, flow, credit in rungs)
    return Ladder(key, key, made, MADE_UP)


LADDERS = {
    "high": _ladder("high", ("reservoir mask", 15, 1.0), ("reservoir mask", 10, 0.85), ("simple mask", 6, 0.55)),
    "middle": _ladder("middle", ("simple mask", 8, 1.0), ("simple mask", 6, 0.85), ("cannula", 4, 0.6)),
    "low": _ladder("low", ("cannula", 4, 1.0), ("cannula", 2, 0.7)),
}
#: Litres when full, outlets of the regulator or manifold, minutes of a change.
SIZES = ((340, 1, 2.0), (560, 1, 2.0), (1800, 3, 3.0), (5000, 6, 5.0))


def _patients(chance: random.Random, horizon: float) -> list[Patients]:
    batches = []
    for number in range(chance.randint(3, 6)):
        category = chance.choice(["immediate", "delayed", "delayed", "minimal"])
        ladder = {"immediate": "high", "delayed": "middle", "minimal": "low"}[category]
        over = chance.choice([20.0, 45.0, 90.0])
        arrival = Arrival(Pattern.EVEN, chance.choice([0.0, 5.0, 15.0, 30.0]), over, 5.0)
        stay = chance.choice([60.0, 90.0, 150.0, INF])
        spell = Spell(0, "a", category, ladder)
        batches.append(Patients(f"batch {number}", chance.randint(4, 10), arrival, min(stay, horizon), INF, (spell,)))
    return batches


def _need(scenario: Scenario) -> float:
    return sum(
        stay.count * (stay.end - stay.start) * scenario.ladders[stay.ladder].rungs[0].flow_lpm
        for stay in find_stays(scenario)
    )


def _outlets(number: int) -> OutletSet:
    return OutletSet(f"{number} outlets", frozenset({f"v{min(number, 2)}"}), number, 0, 15, 15.0 * number, MADE_UP)


def _supplies(
    chance: random.Random, litres: float, outlets: int, horizon: float
) -> tuple[list[Lot], list[RegulatorStock]]:
    """Fill up with cylinders to the litres and with regulators to the outlets; a part may come later."""
    sizes = chance.sample(SIZES, chance.randint(1, 3))
    lots, regulators = [], []
    late = chance.choice([0.0, 0.0, 0.3])
    for number, (full, places, change) in enumerate(sizes):
        share = litres / len(sizes)
        count = max(1, round(share / (full * 0.9)))
        each = share / count
        for part, (part_count, arrive) in enumerate(
            [(count - round(late * count), 0.0), (round(late * count), horizon / 3)]
        ):
            if part_count:
                lots.append(
                    Lot(
                        f"lot {number} {part}", f"lot {number}", LotKind.CYLINDER, "a", part_count, part_count * each,
                        each, f"v{min(places, 2)}", None, arrive, INF, change, 0.0, "truck" if arrive else "",
                    )
                )  # fmt: skip
        kinds = max(1, round(outlets / len(sizes) / places))
        regulators.append(RegulatorStock(f"regulators {number}", "a", _outlets(places), kinds, 0.0, ""))
    return lots, regulators


def scarce(seed: int) -> Scenario:
    """Return one random scarce incident; the same seed gives the same."""
    chance = random.Random(seed)  # noqa: S311
    horizon = chance.choice([180.0, 240.0, 360.0])
    cylinder = Cylinder("X", "X", "X", "", None, 560, 21.1, 2000, 0.28, GasModel.FACTOR, "v1", None, 2, None, MADE_UP)
    batches = _patients(chance, horizon)
    blank = Scenario(
        name=f"scarce {seed}", summary="", start=None, horizon=horizon, areas=(Area("a", "a"),), ladders=LADDERS,
        weights={"immediate": 1.0, "delayed": 0.6, "minimal": 0.3, "expectant": 0.1}, patients=tuple(batches), lots=(),
        regulators=(),
        devices=tuple(DeviceStock(key, "a", key, INF, 0.0, "") for key in ("reservoir mask", "simple mask", "cannula")),
        staff=(StaffShift("crew", "a", float(chance.randint(1, 3)), 0.0, INF),),
        power=(PowerSupply("power", "a", INF, 0.0, INF),), reserve={}, resupply=Resupply(cylinder, 500.0, _outlets(1)),
        left_out=(), assumptions=(), file="made-up.yaml", sha256="0" * 64,
    )  # fmt: skip
    people = sum(batch.count for batch in batches)
    outlets = max(1, round(people * chance.uniform(0.25, 0.5)))
    lots, regulators = _supplies(chance, _need(blank) * chance.uniform(0.3, 1.2), outlets, horizon)
    return dataclasses.replace(blank, lots=tuple(lots), regulators=tuple(regulators))
