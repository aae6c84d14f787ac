"""Lists as tables: what is packed, what of each limit is used, and lists side by side."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import pandas as pd

from mci.stocking.choose import keeps_limits

if TYPE_CHECKING:
    from mci.scenario.stocking import Cache, Candidate, Station, Stocking
    from mci.stocking.layout import Packed
    from mci.stocking.study import Entry, Study

__all__ = ["contents_table", "lists_table", "packing_table", "usage_table"]


def _held(stocking: Stocking, packed: Packed) -> Iterator[tuple[Cache, Station, Candidate, int]]:
    """Yield what is packed, in the order of caches, bags and candidates."""
    bags = list(dict.fromkeys(candidate.bag for candidate in stocking.candidates))
    in_bags = sorted(stocking.candidates, key=lambda candidate: bags.index(candidate.bag))
    for cache in stocking.caches:
        for station in cache.stations:
            held = packed.get((cache.key, station.place), {})
            for candidate in in_bags:
                if held.get(candidate.key, 0):
                    yield cache, station, candidate, held[candidate.key]


def packing_table(stocking: Stocking, packed: Packed) -> pd.DataFrame:
    """Return the list, one row per thing packed (:attr:`mci.stocking.result.Stock.packing`)."""
    rows = []
    for cache, station, candidate, packs in _held(stocking, packed):
        owned = min(packs, cache.owned.get(candidate.key, 0))
        buy, yearly = candidate.buy * (packs - owned), candidate.yearly * packs
        rows.append(
            {
                "cache": cache.key,
                "station": station.place,
                "bag": candidate.bag,
                "candidate": candidate.key,
                "kind": candidate.kind.value,
                "packs": packs,
                "units": packs * candidate.units,
                "owned": owned,
                "new": packs - owned,
                "buy": buy,
                "yearly": yearly,
                "cost": buy + stocking.years * yearly,
                "mass_kg": packs * candidate.mass_kg,
                "volume_l": packs * candidate.volume_l,
                "slot": candidate.slot,
                "slots": packs * candidate.slots,
                "gas_l": packs * candidate.gas_l,
            }
        )
    columns = [
        "cache",
        "station",
        "bag",
        "candidate",
        "kind",
        "packs",
        "units",
        "owned",
        "new",
        "buy",
        "yearly",
        "cost",
    ]
    return pd.DataFrame(rows, columns=[*columns, "mass_kg", "volume_l", "slot", "slots", "gas_l"])


def usage_table(stocking: Stocking, packed: Packed) -> pd.DataFrame:
    """Return what of each limit of each cache is used (:attr:`mci.stocking.result.Stock.usage`)."""
    rows = []
    for cache in stocking.caches:
        mine = [(candidate, packs) for owner, _, candidate, packs in _held(stocking, packed) if owner is cache]
        place = next((station for key, station in packed if key == cache.key), cache.stations[0].place)
        for limit in cache.limits:
            rows.append(
                {
                    "cache": cache.key,
                    "station": place,
                    "limit": limit.name,
                    "used": float(sum(packs * limit.takes(candidate) for candidate, packs in mine)),
                    "allowed": limit.allowed,
                    "unit": limit.unit,
                }
            )
    return pd.DataFrame(rows)


def lists_table(study: Study, entries: Sequence[Entry]) -> pd.DataFrame:
    """Return lists side by side (:attr:`mci.stocking.result.Stock.lists`)."""
    stocking, rows = study.layout.stocking, []
    for entry in entries:
        packing = packing_table(stocking, entry.packed)
        row = {
            "list": entry.name,
            "cost": entry.cost,
            "buy": float(packing["buy"].sum()),
            "yearly": float(packing["yearly"].sum()) + _standing(stocking, entry.packed),
            "mass_kg": float(packing["mass_kg"].sum()),
            "weighted": study.weighted(entry),
            "limits_kept": keeps_limits(study, entry),
            "goals_met": sum(study.met(entry)),
            "together": study.together(entry),
        }
        rows.append(row | {f"goal_{n}": value for n, value in enumerate(study.reached(entry), start=1)})
    return pd.DataFrame(rows)


def _standing(stocking: Stocking, packed: Packed) -> float:
    """Return what the places cost a year where caches stand [money]; an empty one needs none if it can choose."""
    return math.fsum(
        station.yearly
        for cache in stocking.caches
        for station in cache.stations
        if packed.get((cache.key, station.place)) or len(cache.stations) == 1
    )


def contents_table(stocking: Stocking, entries: Sequence[Entry]) -> pd.DataFrame:
    """Return what is in each list (:attr:`mci.stocking.result.Stock.contents`)."""
    rows = [
        {
            "list": entry.name,
            "cache": cache.key,
            "station": station.place,
            "candidate": candidate.key,
            "packs": packs,
        }
        for entry in entries
        for cache, station, candidate, packs in _held(stocking, entry.packed)
    ]
    return pd.DataFrame(rows, columns=["list", "cache", "station", "candidate", "packs"])
