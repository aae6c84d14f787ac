"""The packing list of each cache: bags, lines to tick, sums and limits."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.report.series import records
from mci.report.stock_page import Bag, LimitRow, PackRow, PackSheet
from mci.report.stock_words import litres_words, mass_words, pack_words, place_words, volume_words
from mci.report.study_words import amount
from mci.report.words import moment
from mci.scenario.cache_reach import arrivals

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import pandas as pd

    from mci.report.series import Record
    from mci.scenario.stocking import Cache
    from mci.stocking.result import Stock

__all__ = ["pack_sheets"]

_NO_BAG = "in no bag"
_PEOPLE = "people who come with it"


def pack_sheets(found: Stock) -> tuple[PackSheet, ...]:
    """Return the sheet of each cache, one that stays empty too."""
    packing = found.packing
    return tuple(_sheet(found, cache, packing[packing["cache"] == cache.key]) for cache in found.stocking.caches)


def _sheet(found: Stock, cache: Cache, mine: pd.DataFrame) -> PackSheet:
    usage = found.usage[found.usage["cache"] == cache.key]
    station = next(iter([*mine["station"], *usage["station"]]), cache.stations[0].place)
    bags: dict[str, list[Record]] = {}
    people = sum(row["units"] for row in records(mine) if row["kind"] == "staff")
    for row in records(mine):
        bags.setdefault(row["bag"] or (_PEOPLE if row["kind"] == "staff" else _NO_BAG), []).append(row)
    return PackSheet(
        cache=cache.key,
        station=place_words(found.scenario, str(station)),
        when=_when(found, cache, str(station)),
        bags=tuple(_bag(name, rows) for name, rows in bags.items()),
        total=_bag(_total_words(people), [row for row in records(mine) if row["kind"] != "staff"]),
        weight=mass_words(float(mine["mass_kg"].sum())),
        gas=litres_words(float(mine["gas_l"].sum())),
        limits=tuple(_limit(row) for row in records(usage)),
    )


def _when(found: Stock, cache: Cache, place: str) -> str:
    """Say when the cache is on the road, and at which area it is by when."""
    station = next((each for each in cache.stations if each.place == place), None)
    if station is None:
        return ""
    titles = {area.key: area.title for area in found.scenario.areas}
    start, horizon = found.scenario.start, found.scenario.horizon
    there = [
        f"{titles.get(area, area)} "
        + (f"at {moment(minutes, start)}" if minutes < horizon else "after the end of the plan")
        for area, minutes in arrivals(station, found.scenario.network).items()
    ]
    by = f"Can be there: {'; '.join(there)}." if there else "It gets to no area."
    return f"Sets off at {moment(station.sets_off, start)}. {by}"


def _bag(name: str, rows: Sequence[Record]) -> Bag:
    mass, volume = (float(sum(row[column] for row in rows)) for column in ("mass_kg", "volume_l"))
    return Bag(
        name=name,
        rows=tuple(_row(row) for row in rows),
        packs=amount(float(sum(row["packs"] for row in rows))),
        mass=_some(mass_words(mass, pounds=False), mass),
        volume=_some(volume_words(volume), volume),
    )


def _some(words: str, value: float) -> str:
    """Leave out what weighs nothing and takes no room, such as people."""
    return words if value else ""


def _total_words(people: float) -> str:
    if not people:
        return "packs in all"
    return f"packs in all, and {amount(float(people))} {'person' if people == 1 else 'people'}"


def _row(row: Record) -> PackRow:
    return PackRow(
        packs=amount(float(row["packs"])),
        what=str(row["candidate"]),
        pieces=pack_words(row),
        owned=amount(float(row["owned"])) if row["owned"] else "",
        new=amount(float(row["new"])) if row["new"] else "",
        mass=_some(mass_words(row["mass_kg"], pounds=False), row["mass_kg"]),
        volume=_some(volume_words(row["volume_l"]), row["volume_l"]),
    )


def _limit(row: Record) -> LimitRow:
    used, allowed = float(row["used"]), float(row["allowed"])
    known: dict[str, Callable[[float], str]] = {"kg": mass_words, "L": volume_words, "L of free gas": litres_words}
    words = known.get(row["unit"], amount)
    limited = math.isfinite(allowed)
    part = used / allowed if limited and allowed > 0 else 1.0 if limited and used > 0 else 0.0 if limited else None
    return LimitRow(
        what=_limit_words(str(row["limit"])),
        used=words(used),
        allowed=words(allowed) if limited else "no limit",
        left=words(max(allowed - used, 0.0)) if limited else "",
        part=None if part is None else min(part, 1.0),
    )


def _limit_words(limit: str) -> str:
    kind, _, name = limit.partition(": ")
    return f"Slots, {name}" if kind == "slots" and name else limit[:1].upper() + limit[1:]
