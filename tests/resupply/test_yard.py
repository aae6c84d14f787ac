"""Stock over time: what is free is what no later trip was promised, and fill stations keep their promises."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_network import ITEMS, network

from mci.resupply.filling import FillQueue
from mci.resupply.yard import Ledger, Yard
from mci.scenario.network import Filling, Network, Window

ALWAYS = (Window(0, math.inf),)
changes = st.lists(st.tuples(st.integers(0, 20), st.integers(-3, 5)), max_size=12)


@given(changes, st.integers(0, 25), st.integers(1, 8))
def test_free_is_the_least_from_then_on(made: list[tuple[int, int]], at: int, quantity: int) -> None:
    """Free at a moment is the least level at it or later; ``when`` is the first moment at which that is enough."""
    ledger = Ledger()
    for moment, change in made:
        ledger.change(moment, change)
    level = [sum(change for moment, change in made if moment <= time) for time in range(40)]
    free = [min(level[time:]) if any(moment <= time for moment, _ in made) else 0 for time in range(40)]
    assert ledger.free(at) == free[at]
    enough = [time for time in range(40) if free[time] >= quantity]
    assert ledger.when(quantity) == (enough[0] if enough else math.inf)


def _two_kinds() -> Network:
    """Return the small network with a station, always open, that fills small (5 min) and large ones (45 min)."""
    made = network(stock=())
    filling = Filling(frozenset({"small", "large"}), per_hour=12, litres_per_hour=6000)
    places = [dataclasses.replace(p, open=ALWAYS, filling=filling) if p.filling else p for p in made.places]
    return dataclasses.replace(made, places=tuple(places))


def test_a_promise_is_kept() -> None:
    """A small one that comes at 20 is full at 25 and promised at 30: a large one at 10 would delay it to 60."""
    yard = Yard(_two_kinds(), (), ())
    assert yard.bring("filling", [("small empty", 1)], 20)
    assert yard.when("filling", "small full", 1) == 25
    assert yard.full_by("filling", [("large empty", 1)], 10) == 55
    yard.take("filling", "small full", 1, 30)
    assert yard.full_by("filling", [("large empty", 1)], 10) == math.inf
    assert not yard.bring("filling", [("large empty", 1)], 10)
    assert yard.bring("filling", [("large empty", 1)], 21)
    assert yard.when("filling", "large full", 1) == 70


@given(st.integers(1, 6), st.integers(1, 30), st.integers(0, 50))
def test_one_after_the_other(count: int, per_hour: int, at: int) -> None:
    """The k-th of those that come together is full 60 k / r min after they came."""
    queue = FillQueue(Filling(frozenset({"small"}), per_hour, math.inf), ALWAYS, ITEMS)
    queue.add(at, [("small empty", count)])
    assert queue.filled()["small full"] == pytest.approx([at + 60 * k / per_hour for k in range(1, count + 1)])


def test_filling_stops_when_the_station_closes() -> None:
    """At 10 min each, open to 25: two are full by 20, the third is begun at 100."""
    queue = FillQueue(Filling(frozenset({"small"}), 6, math.inf), (Window(0, 25), Window(100, 200)), ITEMS)
    queue.add(0, [("small empty", 3)])
    assert queue.filled()["small full"] == [10, 20, 110]
