"""Random injects for random incidents: everything that can happen to them, alone and together."""

from __future__ import annotations

import dataclasses
import math

from hypothesis import strategies as st
from properties.random_incidents import HORIZON, incidents

from mci.catalogue.load import load_catalogue
from mci.catalogue.usable import usable_litres
from mci.demand.people import name_people
from mci.plan.things import find_regulators, find_supplies
from mci.scenario.exercise import Inject, InjectKind
from mci.scenario.model import Arrival, Lot, LotKind, Patients, Scenario, Spell

__all__ = ["WORSE_ONLY", "injects", "named_incidents"]

#: Kinds that only ever take something away.
WORSE_ONLY = tuple(set(InjectKind) - {InjectKind.SECOND_WAVE, InjectKind.PATIENT_WORSENS})
_MOMENTS = st.sampled_from([0.0, 10.0, 17.0, 30.0, 45.0])
_MINUTES = st.sampled_from([5.0, 12.0, 25.0])


def _gauged(lot: Lot, number: int) -> Lot:
    """Return cylinders of the catalogue at a low gauge, so that they run out as those of random incidents do."""
    if lot.kind is not LotKind.CYLINDER:
        return lot
    cylinder, psi = load_catalogue().cylinders["US D aluminium"], (500.0, 700.0, 1200.0)[number % 3]
    each = usable_litres(cylinder, psi, 200)
    return dataclasses.replace(
        lot, cylinder=cylinder, gauge_psi=psi, residual_psi=200, litres_each=each, litres=each * lot.quantity
    )


@st.composite
def named_incidents(draw: st.DrawFn) -> Scenario:
    """Draw an incident whose batches have different labels, and whose cylinders have gauges."""
    made = draw(incidents(memory=True))
    lots = tuple(_gauged(lot, number) for number, lot in enumerate(made.lots))
    batches = tuple(dataclasses.replace(each, label=f"B{number}") for number, each in enumerate(made.patients))
    return dataclasses.replace(made, lots=lots, patients=batches, reserve={})


@st.composite
def _inject(draw: st.DrawFn, incident: Scenario, kind: InjectKind) -> Inject | None:
    at, area = draw(_MOMENTS), draw(st.sampled_from([each.key for each in incident.areas]))
    things = (*incident.lots, *incident.regulators, *incident.devices)
    names = {
        InjectKind.REGULATOR_LEAKS: [each.key for each in find_regulators(incident)],
        InjectKind.WRONG_WASHER: [each.key for each in find_regulators(incident)],
        InjectKind.CYLINDER_LOW: [each.key for each in find_supplies(incident) if each.gauge_psi is not None],
        InjectKind.DELIVERY_LATE: sorted({each.delivery for each in things} - {""}),
        InjectKind.PATIENT_WORSENS: [each.key for each in name_people(incident)],
    }.get(kind, [""])
    if not names:
        return None
    minutes = draw(st.sampled_from([20.0, math.inf]) if kind is InjectKind.POWER_FAILS else _MINUTES)
    inject = Inject(kind, at, area, draw(st.sampled_from(names)), minutes)
    if kind is InjectKind.CYLINDER_LOW:
        return dataclasses.replace(inject, psi=draw(st.sampled_from([100.0, 300.0, 450.0])))
    if kind is InjectKind.PATIENT_WORSENS:
        return dataclasses.replace(inject, category="immediate", ladder=draw(st.sampled_from(["high", "vent"])))
    if kind is InjectKind.SECOND_WAVE:
        spell = Spell(0, area, draw(st.sampled_from(["immediate", "delayed"])), "high")
        arrival = Arrival.together(min(at + 5, HORIZON - 10))
        return dataclasses.replace(inject, patients=(Patients("wave", 2, arrival, math.inf, math.inf, (spell,)),))
    return inject


@st.composite
def injects(
    draw: st.DrawFn, incident: Scenario, kinds: tuple[InjectKind, ...] = tuple(InjectKind)
) -> tuple[Inject, ...]:
    """Draw up to four injects that fit an incident, at most one second wave."""
    chosen = draw(st.lists(st.sampled_from(sorted(kinds)), min_size=1, max_size=4))
    found = [draw(_inject(incident, kind)) for kind in chosen]
    waves = [each for each in found if each is not None and each.kind is InjectKind.SECOND_WAVE]
    return tuple(each for each in found if each is not None and each not in waves[1:])
