"""Packing lists as decisions: what they cost, which limits they keep, and that they can be read back."""

from __future__ import annotations

import dataclasses
import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_stocking import stocking_text
from small_stocking import POST, STREETS, draft_of

from mci.scenario.stocking import Stocking
from mci.stocking.layout import Layout, Packed, lay_out

E_KEY, D_KEY, YOKE, CANNULA = (
    "US E aluminium",
    "US D aluminium",
    "yoke regulator 0-15 L/min",
    "nasal cannula",
)


def _stocking(text: str) -> Stocking:
    found = draft_of(text).scenario().stocking
    assert found is not None
    return found


STOCKINGS = {"post": _stocking(POST), "streets": _stocking(STREETS), "fair": _stocking(stocking_text())}


@st.composite
def lists(draw: st.DrawFn) -> tuple[Stocking, Packed]:
    """Draw a packing list within what candidates allow, each cache at one of its stations."""
    stocking = STOCKINGS[draw(st.sampled_from(sorted(STOCKINGS)))]
    packed = {}
    for cache in stocking.caches:
        station = draw(st.sampled_from(cache.stations))
        counts = {j.key: draw(st.integers(0, min(j.at_most, 12))) for j in stocking.candidates}
        packed[cache.key, station.place] = {key: count for key, count in counts.items() if count}
    return stocking, packed


def _cost(stocking: Stocking, packed: Packed) -> float:
    """Return by hand what a list costs: all packs but those owned are bought, all are kept, and so is the place."""
    caches, candidates = {k.key: k for k in stocking.caches}, {j.key: j for j in stocking.candidates}
    total = 0.0
    for (key, place), held in packed.items():
        station = next(p for p in caches[key].stations if p.place == place)
        total += stocking.years * station.yearly
        for name, count in held.items():
            candidate = candidates[name]
            total += candidate.buy * count + stocking.years * candidate.yearly * count
        total -= sum(candidates[name].buy * count for name, count in caches[key].owned.items())
    return total


@given(lists())
def test_list_as_decisions_and_back(case: tuple[Stocking, Packed]) -> None:
    """Nothing is lost; a cache in which nothing is stands at its first station."""
    stocking, packed = case
    layout = lay_out(stocking)
    back = layout.packed(layout.decisions(packed))
    first = {cache.key: cache.stations[0].place for cache in stocking.caches}
    assert back == {(key, place if held else first[key]): held for (key, place), held in packed.items()}


@given(lists())
def test_cost_is_what_is_bought_and_kept(case: tuple[Stocking, Packed]) -> None:
    """Over the years, without what is owned already."""
    stocking, packed = case
    layout = lay_out(stocking)
    assert layout.cost(layout.decisions(packed)) == pytest.approx(_cost(stocking, packed))


def _within(layout: Layout, packed: Packed) -> bool:
    """Tell whether decisions keep to bounds and limits, money apart."""
    y, plan = layout.decisions(packed), layout.plan
    return bool(np.all(plan.matrix[:-1] @ y <= layout.limits[:-1] * (1 + 1e-9) + 1e-9) and np.all(y >= plan.lower))


@given(lists())
def test_limits_are_those_of_the_caches(case: tuple[Stocking, Packed]) -> None:
    """A list is within them just where each cache says that nothing is beyond, and what is owned is kept."""
    stocking, packed = case
    candidates = {j.key: j for j in stocking.candidates}
    caches = {k.key: k for k in stocking.caches}
    fits = all(not list(caches[key].beyond(held, candidates)) for (key, _), held in packed.items())
    kept = all(held.get(name, 0) >= n for (key, _), held in packed.items() for name, n in caches[key].owned.items())
    assert _within(lay_out(stocking), packed) == (fits and kept)


@pytest.mark.parametrize(
    ("changes", "within"),
    [
        ({}, True),
        ({D_KEY: 10}, True),
        ({D_KEY: 11}, False),  # slots
        ({D_KEY: 0}, False),  # owned
        ({"people": 9}, True),  # nobody weighs anything
        ({"concentrator 5 L/min": 3}, True),  # 69 kg
        ({"concentrator 5 L/min": 4}, False),
        ({"simple mask": 60}, False),  # 300 L of room, one regulator and a cylinder
        ({"US M60": 2}, True),
        ({"US M60": 2, D_KEY: 2}, True),  # 10 slots, 4328 L
        ({"US M60": 2, D_KEY: 3}, False),
    ],
)
def test_each_limit_binds(changes: dict[str, int], *, within: bool) -> None:
    """Slots, payload and room of the trailer, and what it holds already."""
    made = STOCKINGS["streets"]
    plenty = tuple(dataclasses.replace(j, at_most=99) for j in made.candidates)
    layout = lay_out(dataclasses.replace(made, candidates=plenty))
    names = {name: next(j.key for j in plenty if j.key.startswith(name)) for name in changes}
    held = {D_KEY: 1, YOKE: 1} | {names[name]: count for name, count in changes.items()}
    assert _within(layout, {("trailer", "hall"): held, ("box", "kiosk"): {CANNULA: 1}}) is within


def test_oxygen_stored_counts_all_that_is_in_the_cylinders() -> None:
    """By their contents when they were filled, also what is below the residual; only so much may be kept."""
    made = STOCKINGS["streets"]
    trailer, box = made.caches
    cylinder = next(j for j in made.candidates if j.key == D_KEY)
    packed = {("trailer", "hall"): {D_KEY: 6, YOKE: 1}, ("box", "kiosk"): {CANNULA: 1}}
    for limit, within in ((6.0, True), (5.99, False)):
        tight = dataclasses.replace(trailer, gas_l=limit * cylinder.gas_l)
        assert _within(lay_out(dataclasses.replace(made, caches=(tight, box))), packed) is within


def test_cache_stands_at_one_station() -> None:
    """Things at two stations, or at one that is not chosen, go beyond a limit; so do more than there may be."""
    layout = lay_out(STOCKINGS["streets"])
    right = layout.decisions({("trailer", "hall"): {D_KEY: 1, YOKE: 1}, ("box", "kiosk"): {CANNULA: 1}})
    places = {(k.key, p.place, j.key): n for n, (k, p, j) in enumerate(layout.packs)}
    chosen = np.flatnonzero(np.arange(len(right)) >= len(layout.packs))

    def fits(decisions: np.ndarray) -> bool:
        return bool(np.all(layout.plan.matrix[:-1] @ decisions <= layout.limits[:-1] + 1e-9))

    assert fits(right)
    assert right[chosen].tolist() == [0.0, 1.0]
    split = right.copy()
    split[places["trailer", "hall", YOKE]], split[places["trailer", "gate", YOKE]] = 0.0, 1.0
    assert not fits(split)
    both = split.copy()
    both[chosen] = 1.0
    assert not fits(both)


def test_cache_that_owns_nothing_stands_at_one_station_too() -> None:
    """Or at none where it stays empty; never at two, whatever is in it."""
    made = STOCKINGS["streets"]
    layout = lay_out(dataclasses.replace(made, caches=(dataclasses.replace(made.caches[0], owned={}),)))
    first = len(layout.packs)

    def fits(*chosen: float) -> bool:
        decisions = np.zeros(len(layout.plan.lower))
        decisions[first:] = chosen
        return bool(np.all(layout.plan.matrix[:-1] @ decisions <= layout.limits[:-1] + 1e-9))

    assert [fits(0, 0), fits(1, 0), fits(0, 1), fits(1, 1)] == [True, True, True, False]


def test_money_is_the_last_limit() -> None:
    """The budget less what is paid whatever is packed; without one there is no limit."""
    layout = lay_out(STOCKINGS["fair"])
    assert layout.limits[-1] + layout.offset == pytest.approx(9000.50)
    assert np.array_equal(layout.plan.matrix[-1], layout.costs)
    assert math.isinf(lay_out(STOCKINGS["post"]).limits[-1])


def test_units_are_those_of_packs() -> None:
    """Of two cylinders in a pack, and of two people; each kind of supply is one thing from one station."""
    layout = lay_out(STOCKINGS["fair"])
    packed = {
        ("trailer", "fire hall"): {E_KEY: 3, CANNULA: 2, "people": 1},
        ("cupboard", "field tent"): {E_KEY: 1},
    }
    stock = layout.units @ layout.decisions(packed)
    told = {
        (station.place, candidate.key): units
        for (station, candidate), units in zip(layout.supplies, stock, strict=True)
        if units
    }
    people = next(j.key for j in layout.stocking.candidates if j.key.startswith("people"))
    assert told == {
        ("fire hall", E_KEY): 6,
        ("fire hall", CANNULA): 20,
        ("fire hall", people): 2,
        ("field tent", E_KEY): 2,
    }


def test_caches_that_stand_together_share_a_supply() -> None:
    """The same things from the same place at the same time; from another place or at another time they are apart."""
    stocking = STOCKINGS["post"]
    (box,) = stocking.caches
    station = box.stations[0]
    late = dataclasses.replace(station, sets_off=20.0)
    sizes = []
    for other in (station, late, dataclasses.replace(station, place="elsewhere")):
        second = dataclasses.replace(box, key="second", stations=(other,), owned={})
        layout = lay_out(dataclasses.replace(stocking, caches=(box, second)))
        sizes.append(layout.units.shape)
    assert sizes == [(3, 6), (6, 6), (6, 6)]


def test_supplies_cover_every_cache_station_and_candidate() -> None:
    """A decision for each of them, and a unit of some supply for each decision about packs."""
    for stocking in STOCKINGS.values():
        layout = lay_out(stocking)
        every = [
            (k.key, p.place, j.key)
            for k in stocking.caches
            for p, j in itertools.product(k.stations, stocking.candidates)
        ]
        assert [(k.key, p.place, j.key) for k, p, j in layout.packs] == every
        packs = layout.units[:, : len(every)]
        assert np.count_nonzero(packs, axis=0).tolist() == [1] * len(every)
        assert not layout.units[:, len(every) :].any()
