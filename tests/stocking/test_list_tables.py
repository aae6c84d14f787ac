"""Lists as tables: what is packed adds up to limits, cost and contents, whichever list it is."""

from __future__ import annotations

import itertools

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_stocking import stocking_text
from small_stocking import STREETS, draft_of
from small_studies import STAND, TWO, stand, stand_for_budget, two

from mci.scenario.stocking import Stocking
from mci.stocking.layout import Packed, lay_out
from mci.stocking.result import CHOSEN, OWNED, Stock
from mci.stocking.tables import packing_table, usage_table


def _stocking(text: str) -> Stocking:
    found = draft_of(text).scenario().stocking
    assert found is not None
    return found


STOCKINGS = tuple(_stocking(text) for text in (STAND, TWO, STREETS, stocking_text()))
MADE = {"goals": stand, "budget": stand_for_budget, "two": two}


@pytest.fixture(scope="module", params=sorted(MADE))
def found(request: pytest.FixtureRequest) -> Stock:
    """Return a study of caches."""
    return MADE[request.param]()


@st.composite
def lists(draw: st.DrawFn) -> tuple[Stocking, Packed]:
    """Draw a packing list, within its limits or not, with at least what is owned."""
    stocking = draw(st.sampled_from(STOCKINGS))
    packed = {}
    for cache in stocking.caches:
        station = draw(st.sampled_from(cache.stations))
        counts = {j.key: cache.owned.get(j.key, 0) + draw(st.integers(0, 5)) for j in stocking.candidates}
        packed[cache.key, station.place] = {key: count for key, count in counts.items() if count}
    return stocking, packed


@given(lists())
def test_every_pack_is_a_row(case: tuple[Stocking, Packed]) -> None:
    """In the order of caches and, within them, of bags; packs that are owned are not bought."""
    stocking, packed = case
    table = packing_table(stocking, packed)
    rows = table.to_dict("records")
    assert {(r["cache"], r["station"], r["candidate"]): r["packs"] for r in rows} == {
        (*key, name): count for key, held in packed.items() for name, count in held.items()
    }
    caches = {k.key: k for k in stocking.caches}
    candidates = {j.key: j for j in stocking.candidates}
    assert [k for k, _ in itertools.groupby(r["cache"] for r in rows)] == [
        k for k in caches if k in set(table["cache"])
    ]
    for _, mine in table.groupby("cache", sort=False):
        bags = [bag for bag, _ in itertools.groupby(mine["bag"])]
        assert bags == list(dict.fromkeys(j.bag for j in stocking.candidates if j.bag in set(mine["bag"])))
    for row in rows:
        thing = candidates[row["candidate"]]
        assert row["owned"] == caches[row["cache"]].owned.get(thing.key, 0)
        assert row["new"] == row["packs"] - row["owned"] >= 0
        assert row["units"] == row["packs"] * thing.units
        assert row["buy"] == pytest.approx(thing.buy * row["new"])
        assert row["yearly"] == pytest.approx(thing.yearly * row["packs"])
        assert row["cost"] == pytest.approx(row["buy"] + stocking.years * row["yearly"])
        assert (row["kind"], row["bag"], row["slot"]) == (thing.kind.value, thing.bag, thing.slot)


@given(lists())
def test_packing_adds_up_to_what_is_used(case: tuple[Stocking, Packed]) -> None:
    """Of every limit of every cache; more is used than allowed just where the cache says that it is beyond."""
    stocking, packed = case
    packing, usage = packing_table(stocking, packed), usage_table(stocking, packed)
    candidates = {j.key: j for j in stocking.candidates}
    sums = {"payload": "mass_kg", "volume": "volume_l", "oxygen stored": "gas_l"}
    for cache in stocking.caches:
        mine, used = packing[packing["cache"] == cache.key], usage[usage["cache"] == cache.key]
        assert list(used["limit"]) == [*sums, *(f"slots: {slot}" for slot in cache.slots)]
        allowed = [cache.payload_kg, cache.volume_l, cache.gas_l, *cache.slots.values()]
        assert used["allowed"].tolist() == pytest.approx(allowed)
        for row in used.to_dict("records"):
            slot = row["limit"].removeprefix("slots: ")
            there = mine[sums[row["limit"]]] if row["limit"] in sums else mine.loc[mine["slot"] == slot, "slots"]
            assert row["used"] == pytest.approx(there.sum())
        ((place, held),) = [(place, held) for (key, place), held in packed.items() if key == cache.key]
        assert set(used["station"]) == {place}
        over = used["used"] > used["allowed"] * (1 + 1e-9)
        assert over.sum() == len(list(cache.beyond(held, candidates)))


@given(lists())
def test_packing_adds_up_to_the_cost(case: tuple[Stocking, Packed]) -> None:
    """With what places cost that caches are kept at; one without anything in it and with a choice is at none."""
    stocking, packed = case
    places = sum(
        stocking.years * station.yearly
        for cache in stocking.caches
        for station in cache.stations
        if len(cache.stations) == 1 or packed.get((cache.key, station.place))
    )
    layout = lay_out(stocking)
    there = {key: held for key, held in packed.items() if held}
    total = packing_table(stocking, packed)["cost"].sum() + places
    assert layout.cost(layout.decisions(there)) == pytest.approx(total)


def test_cost_of_lists_is_what_is_bought_and_kept(found: Stock) -> None:
    """Over the years; the chosen one is the list that is told in full."""
    lists = found.lists.set_index("list")
    years = found.stocking.years
    assert lists["cost"].to_numpy() == pytest.approx((lists["buy"] + years * lists["yearly"]).to_numpy())
    chosen = lists.loc[CHOSEN]
    assert chosen["buy"] == pytest.approx(found.packing["buy"].sum())
    assert chosen["mass_kg"] == pytest.approx(found.packing["mass_kg"].sum())
    if found.mode == "goals":
        assert chosen["cost"] == pytest.approx(found.upper)
    assert lists.loc[OWNED, "buy"] == 0.0


def test_contents_are_those_of_the_lists(found: Stock) -> None:
    """Names in their order; prices of what is in them make what they cost to buy."""
    names = list(found.lists["list"])
    assert list(dict.fromkeys(found.contents["list"])) == [n for n in names if n in set(found.contents["list"])]
    assert names[0] == CHOSEN
    mine = found.contents[found.contents["list"] == CHOSEN].drop(columns="list").reset_index(drop=True)
    pd.testing.assert_frame_equal(mine, found.packing[list(mine.columns)].reset_index(drop=True))
    prices = {j.key: j.buy for j in found.stocking.candidates}
    owned = sum(prices[key] * count for cache in found.stocking.caches for key, count in cache.owned.items())
    for name, cost in zip(names, found.lists["buy"], strict=True):
        rows = found.contents[found.contents["list"] == name]
        assert sum(prices[r["candidate"]] * r["packs"] for r in rows.to_dict("records")) - owned == pytest.approx(cost)


def test_owned_packs_are_in_every_list(found: Stock) -> None:
    """Never left out, whatever is chosen."""
    for name in found.lists["list"]:
        rows = found.contents[found.contents["list"] == name].groupby(["cache", "candidate"])["packs"].sum()
        for cache in found.stocking.caches:
            for key, count in cache.owned.items():
                assert rows[cache.key, key] >= count


def test_goals_told_are_goals_met(found: Stock) -> None:
    """Goal by goal against its target; all at once needs each; the chosen list keeps limits, and meets all if asked."""
    for row in found.lists.to_dict("records"):
        met = [
            row[f"goal_{n}"] >= goal.coverage - 1e-6
            if goal.coverage is not None
            else row[f"goal_{n}"] <= (goal.without_min or 0.0) + 1e-4
            for n, goal in enumerate(found.stocking.goals, start=1)
        ]
        assert row["goals_met"] == sum(met)
        assert row["together"] <= all(met)
        assert 0 <= row["weighted"] <= 1
    chosen = found.lists.iloc[0]
    assert chosen["limits_kept"]
    assert (found.usage["used"] <= found.usage["allowed"] + 1e-6).all()
    if found.mode == "goals":
        assert chosen["together"]


def test_no_list_beside_it_is_better(found: Stock) -> None:
    """Of those that keep all limits: none that meets all goals is cheaper; for a budget none within it covers more."""
    chosen, *rest = found.lists.to_dict("records")
    for row in rest:
        if not row["limits_kept"]:
            continue
        if found.mode == "goals" and row["together"]:
            assert row["cost"] >= chosen["cost"] * (1 - 0.005)
        if found.mode == "budget" and row["cost"] <= found.budget:
            assert row["weighted"] <= chosen["weighted"] * (1 + 0.005)
