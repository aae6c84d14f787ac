"""Random things that a cache may bring to an incident, and the incident with some of them in it as deliveries."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

from hypothesis import strategies as st
from incidents import concentrators, cylinders
from random_incidents import FITTED, HORIZON, MANIFOLD, MOMENTS, SINGLE

from mci.demand.groups import count_demand
from mci.lp.cache_care import CacheCare, Harm, HarmKind, Supply
from mci.scenario.model import DeviceStock, Lot, RegulatorStock, Scenario, StaffShift

__all__ = ["HARMS", "KINDS", "MOST", "care_of", "delivered", "supplies"]

#: As many of each supply there may be.
MOST = 3
#: Everything is counted that can be, of categories that may not occur too.
HARMS = [
    Harm(HarmKind.WEIGHTED),
    *(Harm(kind, category) for category in ("immediate", "delayed") for kind in (HarmKind.MISSED, HarmKind.WITHOUT)),
    Harm(HarmKind.WITHOUT),
]


def _one(lot: Lot) -> Lot:
    """Return one unit at no place yet."""
    return dataclasses.replace(lot, key="", area="", quantity=1, litres=lot.litres_each)


KINDS: dict[str, dict[str, object]] = {
    "small": {"lot": _one(cylinders(1, 90, change=2))},
    "large": {"lot": _one(cylinders(1, 400, change=5))},
    "ready": {"lot": _one(cylinders(1, 150, built_in=FITTED))},
    "concentrator": {"lot": _one(concentrators(1, watts=300))},
    "single": {"outlets": SINGLE},
    "manifold": {"outlets": MANIFOLD},
    "mask": {"device": "mask"},
    "cannula": {"device": "cannula"},
    "vent": {"device": "vent"},
    "people": {"people": 1.0},
}


@st.composite
def supplies(draw: st.DrawFn, incident: Scenario) -> list[Supply]:
    """Draw what may come: some kinds twice, at different moments, not to all areas, some only after the end."""
    found = []
    for number, kind in enumerate(draw(st.lists(st.sampled_from(sorted(KINDS)), min_size=1, max_size=5))):
        moments = {area.key: draw(st.sampled_from([*MOMENTS, 20.0, HORIZON])) for area in incident.areas}
        if draw(st.booleans()):
            moments.pop(draw(st.sampled_from(sorted(moments))))
        found.append(Supply(f"{kind} {number}", MOST, moments, **KINDS[kind]))  # type: ignore[arg-type]
    return found


def care_of(incident: Scenario, coming: Sequence[Supply], harms: Sequence[Harm] = HARMS) -> CacheCare:
    """Load the care of an incident where these supplies may come; no reserve is kept."""
    incident = dataclasses.replace(incident, reserve={})
    moments = {moment for supply in coming for moment in supply.arrives.values() if moment < incident.horizon}
    return CacheCare(incident, count_demand(incident, moments=sorted(moments)), coming, harms)


def delivered(incident: Scenario, coming: Sequence[Supply], division: Mapping[tuple[int, str], int]) -> Scenario:
    """Return the incident with so many units of each supply at each area, from when they get there."""
    lots, regulators, devices, staff = (
        [*incident.lots],
        [*incident.regulators],
        [*incident.devices],
        [*incident.staff],
    )
    for (number, area), count in division.items():
        supply, key = coming[number], f"brought {number} {area}"
        moment = supply.arrives.get(area, incident.horizon)
        if moment >= incident.horizon or not count:
            continue
        if supply.lot is not None:
            one = supply.lot
            litres = count * one.litres_each
            lots.append(
                dataclasses.replace(one, key=key, area=area, quantity=count, litres=litres, available_from=moment)
            )
        elif supply.outlets is not None:
            regulators.append(RegulatorStock(key, area, supply.outlets, count, moment, ""))
        elif supply.device:
            devices.append(DeviceStock(key, area, supply.device, float(count), moment, ""))
        else:
            staff.append(StaffShift(key, area, count * supply.people, moment, incident.horizon))
    return dataclasses.replace(
        incident,
        lots=tuple(lots),
        regulators=tuple(regulators),
        devices=tuple(devices),
        staff=tuple(staff),
        reserve={},
    )
