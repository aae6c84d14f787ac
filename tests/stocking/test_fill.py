"""A packing list put into an incident, divided among its areas."""

from __future__ import annotations

import dataclasses
import functools
from collections import Counter
from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_stocking import stocking_text
from small_stocking import POST, STREETS, draft_of

from mci.demand.groups import count_demand
from mci.lp.allocate import allocate, weighted_need
from mci.lp.cache_care import Harm, HarmKind
from mci.scenario.model import Scenario
from mci.settings import Settings
from mci.stocking.fill import Parcels, divide, fill, scaled
from mci.stocking.incidents import load_incident
from mci.stocking.layout import Layout, Packed, lay_out

SAME = 1e-6
WEIGHTED = [Harm(HarmKind.WEIGHTED)]
D_KEY, E_KEY, YOKE, CANNULA = "US D aluminium", "US E aluminium", "yoke regulator 0-15 L/min", "nasal cannula"


@functools.cache
def _made(text: str) -> tuple[Scenario, Layout]:
    scenario = draft_of(text).scenario()
    assert scenario.stocking is not None
    return scenario, lay_out(scenario.stocking)


def _missed(scenario: Scenario) -> float:
    demand = count_demand(scenario)
    return 1 - allocate(scenario, demand, Settings()).outcome.bound / weighted_need(scenario, demand)


def test_each_kind_of_thing_is_there_when_its_cache_is() -> None:
    """A pack's units; cylinders with their litres, people to the end; what was there stays as it was."""
    scenario, layout = _made(stocking_text())
    people = next(j.key for j in layout.stocking.candidates if j.key.startswith("people"))
    parcels: Parcels = {
        ("trailer", "fire hall", "field"): {E_KEY: 4, people: 2},
        ("trailer", "north gate", "gate"): {YOKE: 3},
        ("cupboard", "field tent", "field"): {"few cannulas": 6, "concentrator 5 L/min": 2},
    }
    filled = fill(scenario, layout.stocking, parcels)
    for kind in ("lots", "regulators", "devices", "staff"):
        assert getattr(filled, kind)[: len(getattr(scenario, kind))] == getattr(scenario, kind)
    cylinders, machines = filled.lots[len(scenario.lots) :]
    assert (cylinders.area, cylinders.quantity, cylinders.available_from) == ("field", 4, 22)
    one = next(j.lot for j in layout.stocking.candidates if j.key == E_KEY)
    assert one is not None
    assert cylinders.litres == pytest.approx(4 * one.litres_each)
    assert cylinders.label.startswith("4 x ")
    assert (machines.quantity, machines.available_from) == (2, 0)
    (regulators,) = filled.regulators[len(scenario.regulators) :]
    assert (regulators.area, regulators.quantity, regulators.available_from) == ("gate", 3, 5)
    (devices,) = filled.devices[len(scenario.devices) :]
    assert (devices.device, devices.quantity, devices.available_from) == ("nasal cannula", 6, 0)
    (shift,) = filled.staff[len(scenario.staff) :]
    assert (shift.people, shift.available_from, shift.available_until) == (2, 22, scenario.horizon)
    keys = [each.key for kind in (filled.lots, filled.regulators, filled.devices, filled.staff) for each in kind]
    assert len(set(keys)) == len(keys)
    assert {each.delivery for each in (cylinders, machines, regulators, devices)} == {"trailer", "cupboard"}


def test_one_area_gets_everything() -> None:
    """Also what nobody needs."""
    scenario, layout = _made(POST)
    packed: Packed = {("box", "gate"): {D_KEY: 3, YOKE: 2}}
    assert divide(scenario, layout, packed, WEIGHTED) == {("box", "gate", "field"): {D_KEY: 6, YOKE: 2}}


def test_cache_that_comes_too_late_brings_nothing() -> None:
    """After the end, or to where nobody is."""
    scenario, layout = _made(POST)
    packed: Packed = {("box", "gate"): {D_KEY: 3}}
    assert divide(dataclasses.replace(scenario, horizon=20.0), layout, packed, WEIGHTED) == {}
    (box,) = layout.stocking.caches
    elsewhere = dataclasses.replace(box.stations[0], reaches={"other": 1.0})
    other = dataclasses.replace(layout.stocking, caches=(dataclasses.replace(box, stations=(elsewhere,)),))
    assert divide(scenario, lay_out(other), packed, WEIGHTED) == {}


@st.composite
def lists(draw: st.DrawFn) -> Packed:
    """Draw a packing list for the street fair, limits of the caches apart."""
    stocking = _made(STREETS)[1].stocking
    packed = {}
    for cache in stocking.caches:
        station = draw(st.sampled_from(cache.stations))
        counts = {j.key: draw(st.integers(0, j.at_most)) for j in stocking.candidates}
        packed[cache.key, station.place] = {key: count for key, count in counts.items() if count}
    return packed


def _sums(parcels: Parcels) -> Mapping[tuple[str, str, str], int]:
    """Return units by cache, station and candidate."""
    found: Counter[tuple[str, str, str]] = Counter()
    for (cache, place, _), units in parcels.items():
        for name, count in units.items():
            assert count == int(count) > 0
            found[cache, place, name] += count
    return found


@given(lists(), st.sampled_from([120.0, 25.0]))
@settings(max_examples=25)
def test_division_gives_all_that_is_packed(packed: Packed, horizon: float) -> None:
    """Whole units, each once, only where the cache gets in time and somebody needs it."""
    scenario, layout = _made(STREETS)
    scenario = dataclasses.replace(scenario, horizon=horizon)
    parcels = divide(scenario, layout, packed, WEIGHTED)
    units = {j.key: j.units for j in layout.stocking.candidates}
    stations = {(k.key, p.place): p for k in layout.stocking.caches for p in k.stations}
    expected = {
        (cache, place, name): count * units[name]
        for (cache, place), held in packed.items()
        if min(stations[cache, place].reaches.values()) + stations[cache, place].sets_off < horizon
        for name, count in held.items()
    }
    assert _sums(parcels) == expected
    for cache, place, area in parcels:
        station = stations[cache, place]
        assert station.sets_off + station.reaches[area] < horizon


@given(lists())
@settings(max_examples=12)
def test_division_is_no_better_than_the_best_and_no_worse_than_giving_all_to_one(packed: Packed) -> None:
    """The filled incident, solved as any other, misses what can be missed by that list at least."""
    scenario, layout = _made(STREETS)
    parcels = divide(scenario, layout, packed, WEIGHTED)
    reached = _missed(fill(scenario, layout.stocking, parcels))
    care = load_incident(scenario, layout, WEIGHTED)
    assert reached >= care.least(layout.units @ layout.decisions(packed))[0] - SAME
    stations = {(k.key, p.place): p for k in layout.stocking.caches for p in k.stations}
    for area in ("field", "lane"):
        all_to_one: dict[tuple[str, str, str], dict[str, int]] = {}
        for cache, place, name in (sums := _sums(parcels)):
            if area in stations[cache, place].reaches:
                all_to_one.setdefault((cache, place, area), {})[name] = sums[cache, place, name]
        assert reached <= _missed(fill(scenario, layout.stocking, all_to_one)) * 1.01 + SAME


def test_areas_share_what_both_need() -> None:
    """Enough for either: less is missed than if one had all, and little more than if nothing were whole."""
    scenario, layout = _made(STREETS)
    packed: Packed = {
        ("trailer", "gate"): {D_KEY: 6, YOKE: 5, "simple mask": 1, CANNULA: 2},
        ("box", "kiosk"): {CANNULA: 1},
    }
    parcels = divide(scenario, layout, packed, WEIGHTED)
    for area in ("field", "lane"):
        assert min(parcels["trailer", "gate", area].get(name, 0) for name in (D_KEY, YOKE)) > 0
    reached = _missed(fill(scenario, layout.stocking, parcels))
    everything, box = {D_KEY: 6, YOKE: 5, "simple mask": 3, CANNULA: 8}, {("box", "kiosk", "lane"): {CANNULA: 4}}
    to_one = [
        fill(scenario, layout.stocking, {("trailer", "gate", area): everything, **box}) for area in ("field", "lane")
    ]
    assert reached < 0.9 * min(map(_missed, to_one))
    least = load_incident(scenario, layout, WEIGHTED).least(layout.units @ layout.decisions(packed))[0]
    assert least - SAME <= reached <= 1.1 * least + SAME


@given(st.floats(0.1, 3.0))
@settings(max_examples=50)
def test_scaled_incident_has_so_many_times_the_patients(factor: float) -> None:
    """Off by half a patient at most, batch after batch; nothing else changes."""
    scenario, _ = _made(STREETS)
    made = scaled(scenario, factor)
    sizes = Counter({patients.label: patients.count for patients in made.patients})
    exact = given_out = 0.0
    for patients in scenario.patients:
        exact, given_out = exact + factor * patients.count, given_out + sizes[patients.label]
        assert abs(exact - given_out) <= 0.5 + SAME
    assert dataclasses.replace(made, patients=scenario.patients) == scenario
    assert all(patients.count > 0 for patients in made.patients)


def test_scaled_by_one_is_the_same() -> None:
    """Not even copied."""
    scenario, _ = _made(POST)
    assert scaled(scenario, 1.0) is scenario
