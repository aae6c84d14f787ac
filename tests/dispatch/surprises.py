"""Incidents that turn out otherwise than expected: the same names, other counts, times and contents."""

from __future__ import annotations

import dataclasses
import math

from hypothesis import strategies as st

from mci.scenario.model import Lot, Patients, RegulatorStock, Scenario

__all__ = ["otherwise", "with_batch", "with_lot"]

_SHIFTS = (0.0, 0.0, 10.0, 25.0, math.inf)


def with_batch(scenario: Scenario, number: int, **changes: object) -> Scenario:
    """Return an incident in which one batch differs."""
    batches = list(scenario.patients)
    batches[number] = dataclasses.replace(batches[number], **changes)
    return dataclasses.replace(scenario, patients=tuple(batches))


def with_lot(scenario: Scenario, key: str, **changes: object) -> Scenario:
    """Return an incident in which one lot differs."""
    lots = (dataclasses.replace(lot, **changes) if lot.key == key else lot for lot in scenario.lots)
    return dataclasses.replace(scenario, lots=tuple(lots))


@st.composite
def _other_batch(draw: st.DrawFn, batch: Patients) -> Patients:
    arrival = dataclasses.replace(
        batch.arrival, at=max(0.0, batch.arrival.at + draw(st.sampled_from([0, 0, -10, 7, 20])))
    )
    course = tuple(
        dataclasses.replace(spell, after=spell.after + (draw(st.sampled_from([-5, 0, 10])) if spell.after else 0))
        for spell in batch.course
    )
    return dataclasses.replace(
        batch,
        count=max(1, batch.count + draw(st.sampled_from([-2, -1, 0, 0, 1, 4]))),
        arrival=arrival,
        stay=draw(st.sampled_from([batch.stay, 15.0, 33.0, math.inf])),
        course=course,
    )


@st.composite
def _other_lot(draw: st.DrawFn, lot: Lot) -> Lot:
    share = draw(st.sampled_from([0.3, 0.8, 1.0, 1.0])) if math.isfinite(lot.litres) else 1.0
    begin = lot.available_from + (draw(st.sampled_from(_SHIFTS)) if lot.available_from else 0.0)
    end = draw(st.sampled_from([lot.available_until, 20.0, 50.0, math.inf]))
    return dataclasses.replace(
        lot,
        litres=lot.litres * share,
        available_from=begin,
        available_until=max(end, begin) if lot.built_in else math.inf,
    )


@st.composite
def otherwise(draw: st.DrawFn, scenario: Scenario) -> Scenario:
    """Draw how an incident may turn out: anything that may differ does so now and then."""

    def later(moment: float) -> float:
        return moment + draw(st.sampled_from(_SHIFTS)) if moment else moment

    def regulator(stock: RegulatorStock) -> RegulatorStock:
        end = draw(st.sampled_from([stock.available_until, stock.available_until, 22.0, 48.0]))
        return dataclasses.replace(stock, available_from=later(stock.available_from), available_until=end)

    def window(thing: object) -> object:
        end = draw(st.sampled_from([thing.available_until, thing.available_until, 22.0, 48.0]))
        return dataclasses.replace(thing, available_until=max(end, thing.available_from))

    return dataclasses.replace(
        scenario,
        patients=tuple(draw(_other_batch(batch)) for batch in scenario.patients),
        lots=tuple(draw(_other_lot(lot)) for lot in scenario.lots),
        regulators=tuple(regulator(each) for each in scenario.regulators),
        devices=tuple(
            dataclasses.replace(each, available_from=later(each.available_from)) for each in scenario.devices
        ),
        staff=tuple(window(each) for each in scenario.staff),
        power=tuple(window(each) for each in scenario.power),
    )
