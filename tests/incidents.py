"""Invented incidents built in code, for tests and benchmarks."""

from __future__ import annotations

import math

from mci.catalogue.model import Basis, Device, DrawRule, Ladder, OutletSet, Rung, Source
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

__all__ = [
    "MADE_UP",
    "concentrators",
    "cylinders",
    "device",
    "ladder",
    "outlet_set",
    "patients",
    "piped",
    "regulator",
    "scenario",
    "vessel",
]

MADE_UP = Source("made up for a test", Basis.ASSUMPTION)
INF = math.inf


def device(key: str, *, single_use: bool = False, high_pressure: bool = False) -> Device:
    """Return a device that takes any flow."""
    return Device(key, key, DrawRule.SET_FLOW, 0, 100, 0.21, 1, single_use, high_pressure, 0, "", MADE_UP)


def ladder(key: str, *rungs: tuple[str, float, float], single_use: bool = False, strong: str = "") -> Ladder:
    """Return a ladder of (device, flow, credit); devices named in ``strong`` need high pressure."""
    made = [
        Rung(device(name, single_use=single_use, high_pressure=name == strong), flow, credit, f"{flow:g} L/min")
        for name, flow, credit in rungs
    ]
    return Ladder(key, key, tuple(made), MADE_UP)


def patients(
    count: int,
    ladder_key: str,
    *,
    area: str = "a",
    category: str = "immediate",
    arrive: float = 0,
    over: float = 0,
    step: float = 5,
    stay: float = INF,
    then: tuple[Spell, ...] = (),
) -> Patients:
    """Return a batch."""
    pattern = Pattern.EVEN if over else Pattern.TOGETHER
    first = Spell(0, area, category, ladder_key)
    return Patients("batch", count, Arrival(pattern, arrive, over, step), stay, INF, (first, *then))


def outlet_set(key: str, outlets: int = 1, strong: int = 0, each: float = 15, total: float = 100) -> OutletSet:
    """Return outlets that fit the valve ``v``."""
    return OutletSet(key, frozenset({"v"}), outlets, strong, each, total, MADE_UP)


def cylinders(
    count: int,
    litres: float,
    *,
    area: str = "a",
    key: str = "lot",
    arrive: float = 0,
    built_in: OutletSet | None = None,
    change: float = 0,
) -> Lot:
    """Return a lot of cylinders alike."""
    return Lot(
        key=key,
        label=key,
        kind=LotKind.CYLINDER,
        area=area,
        quantity=count,
        litres=count * litres,
        litres_each=litres,
        valve="" if built_in else "v",
        built_in=built_in,
        available_from=arrive,
        available_until=INF,
        change_min=change,
        watts_each=0,
        delivery="truck" if arrive else "",
    )


def piped(outlets: int, *, area: str = "a", key: str = "pipe", strong: int = 0, total: float = 100) -> Lot:
    """Return piped outlets of one line."""
    own = OutletSet("pipe", frozenset(), outlets, strong, 15, total, MADE_UP)
    return Lot(key, key, LotKind.PIPED, area, 1, INF, INF, "", own, 0, INF, 0, 0, "")


def vessel(litres: float, *, area: str = "a", key: str = "vessel", outlets: int = 4, total: float = 40) -> Lot:
    """Return one liquid vessel."""
    own = OutletSet("vessel", frozenset(), outlets, 0, 15, total, MADE_UP)
    return Lot(key, key, LotKind.LIQUID, area, 1, litres, litres, "", own, 0, INF, 0, 0, "")


def concentrators(count: int, *, area: str = "a", key: str = "conc", flow: float = 5, watts: float = 300) -> Lot:
    """Return concentrators."""
    own = OutletSet("own", frozenset(), 1, 0, flow, flow, MADE_UP)
    return Lot(key, key, LotKind.CONCENTRATOR, area, count, INF, INF, "", own, 0, INF, 0, watts, "")


def regulator(count: int, *, area: str = "a", outlets: OutletSet | None = None, arrive: float = 0) -> RegulatorStock:
    """Return regulators that fit the valve ``v``."""
    kind = outlets or outlet_set("reg")
    return RegulatorStock(f"{area}-{kind.key}", area, kind, count, arrive, "truck" if arrive else "")


def scenario(
    *,
    horizon: float,
    ladders: list[Ladder],
    patients: list[Patients],
    lots: list[Lot],
    regulators: list[RegulatorStock] | None = None,
    devices: dict[tuple[str, str], float] | None = None,
    staff: dict[str, float] | None = None,
    power: dict[str, float] | None = None,
    reserve: dict[str, float] | None = None,
    weights: dict[str, float] | None = None,
    areas: tuple[str, ...] = ("a",),
) -> Scenario:
    """Return a scenario; devices, staff and power that are not given are unlimited."""
    used = {rung.device.key for each in ladders for rung in each.rungs}
    given = devices or {}
    stocks = [
        DeviceStock(f"{area}-{key}", area, key, given.get((area, key), INF), 0, "")
        for area in areas
        for key in sorted(used)
    ]
    return Scenario(
        name="made up",
        summary="",
        start=None,
        horizon=horizon,
        areas=tuple(Area(area, area) for area in areas),
        ladders={each.key: each for each in ladders},
        weights=weights or {"immediate": 1.0, "delayed": 0.5, "minimal": 0.2, "expectant": 0.1},
        patients=tuple(patients),
        lots=tuple(lots),
        regulators=tuple(regulators or []),
        devices=tuple(stocks),
        staff=tuple(StaffShift(f"s-{area}", area, (staff or {}).get(area, INF), 0, INF) for area in areas),
        power=tuple(PowerSupply(f"p-{area}", area, (power or {}).get(area, INF), 0, INF) for area in areas),
        reserve=reserve or {},
        resupply=Resupply(_resupply_cylinder(), 500.0, outlet_set("resupply")),
        left_out=(),
        assumptions=(),
        file="made-up.yaml",
        sha256="0" * 64,
    )


def _resupply_cylinder():  # type: ignore[no-untyped-def]
    from mci.catalogue.model import Cylinder, GasModel

    return Cylinder("X", "X", "X", "", None, 560, 21.1, 2000, 0.28, GasModel.FACTOR, "v", None, 2, None, MADE_UP)
